"""How a number scatters: distributions, each given for shares 0 to 1 of all builds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from sealkit.arrays import Array
from sealkit.errors import Fault, InputError


class Distribution(Protocol):
    """How a number scatters: `at` gives it for shares 0..1 of all builds, lowest first."""

    def at(self, share: Array) -> Array: ...

    def score(self, share: Array) -> Array:
        """A measure of the draw in which effects are nearly straight."""
        ...


def _normal(share: Array) -> Array:
    from scipy.special import ndtri

    return np.asarray(ndtri(share), dtype=float)


@dataclass(frozen=True)
class Normal:
    """Normal, by mean and standard deviation."""

    mean: float
    deviation: float

    def __post_init__(self) -> None:
        _finite(self, deviation=self.deviation >= 0)

    def at(self, share: Array) -> Array:
        return self.mean + self.deviation * _normal(share)

    def score(self, share: Array) -> Array:
        return _normal(share)


@dataclass(frozen=True)
class Uniform:
    """Any number between two ends alike."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _finite(self, high=self.high >= self.low)

    def at(self, share: Array) -> Array:
        return self.low + (self.high - self.low) * share

    def score(self, share: Array) -> Array:
        return math.sqrt(3.0) * (2.0 * share - 1.0)


@dataclass(frozen=True)
class Triangular:
    """Most likely at one number, falling in straight lines to two ends."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        _finite(self, likely=self.low <= self.likely, high=self.likely <= self.high)

    def at(self, share: Array) -> Array:
        width = self.high - self.low
        if width == 0.0:
            return np.full(share.shape, self.low)
        rise, fall = self.likely - self.low, self.high - self.likely
        return np.where(
            share < rise / width,
            self.low + np.sqrt(share * width * rise),
            self.high - np.sqrt((1.0 - share) * width * fall),
        )

    def score(self, share: Array) -> Array:
        a, b, c = self.low, self.likely, self.high
        deviation = math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18.0)
        return (self.at(share) - (a + b + c) / 3.0) / (deviation or 1.0)


@dataclass(frozen=True)
class LogNormal:
    """Positive, its logarithm normal; by median and the deviation of the logarithm."""

    median: float
    deviation: float

    def __post_init__(self) -> None:
        _finite(self, median=self.median > 0, deviation=self.deviation >= 0)

    def at(self, share: Array) -> Array:
        return self.median * np.exp(self.deviation * _normal(share))

    def score(self, share: Array) -> Array:
        s2 = self.deviation**2
        spread = math.sqrt(math.exp(s2) * math.expm1(s2)) or 1.0
        return (self.at(share) / self.median - math.exp(s2 / 2.0)) / spread


@dataclass(frozen=True)
class Highest:
    """How rare the highest of so many cycles is: one in n passes it (`burn.one_cycle_in`).

    All cycles stay below the one that one in n passes with probability (1 - 1/n)**cycles.
    """

    cycles: float

    def __post_init__(self) -> None:
        _finite(self, cycles=self.cycles >= 1)

    def at(self, share: Array) -> Array:
        return np.asarray(-1.0 / np.expm1(np.log(share) / self.cycles), dtype=float)

    def score(self, share: Array) -> Array:
        return -_normal(1.0 / self.at(share))


def _finite(shape: Any, **rules: bool) -> None:
    """Refuse a shape with a number that is not finite, or one that breaks its rule."""
    faults = [
        Fault(name, f"{value}", "a finite number in its place (low, middle, high; spread from 0)")
        for name, value in vars(shape).items()
        if not np.isfinite(value) or not rules.get(name, True)
    ]
    if faults:
        raise InputError(faults)
