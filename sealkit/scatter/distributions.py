"""How a number scatters: distributions, each given for shares 0 to 1 of all builds."""

from __future__ import annotations

import abc
import math
from dataclasses import dataclass

import numpy as np

from sealkit.arrays import Array
from sealkit.errors import Fault, InputError

_EVERY = (np.arange(4096) + 0.5) / 4096
_LEAST = {"deviation": 0.0, "median": math.ulp(0.0), "cycles": 1.0}


class Distribution(abc.ABC):
    """How a number scatters: `at` gives it for shares 0..1 of all builds, lowest first."""

    def __post_init__(self) -> None:
        faults, before = [], -math.inf
        for name, value in vars(self).items():
            least = _LEAST.get(name, before if name in ("likely", "high") else -math.inf)
            if not (math.isfinite(value) and value >= least):
                wanted = "a finite number in its place (low, middle, high; spread from 0)"
                faults.append(Fault(name, f"{value}", wanted))
            before = value
        if faults:
            raise InputError(faults)

    @abc.abstractmethod
    def at(self, share: Array) -> Array:
        """The numbers at these shares of all builds."""

    def score(self, share: Array) -> Array:
        """A measure of the draw in which effects are nearly straight, of mean 0, deviation 1."""
        every = self.at(_EVERY)
        return np.asarray((self.at(share) - np.mean(every)) / (np.std(every) or 1.0))


def _normal(share: Array) -> Array:
    from scipy.special import ndtri

    return np.asarray(ndtri(share), dtype=float)


@dataclass(frozen=True)
class Normal(Distribution):
    """Normal, by mean and standard deviation."""

    mean: float
    deviation: float

    def at(self, share: Array) -> Array:
        return self.mean + self.deviation * _normal(share)

    def score(self, share: Array) -> Array:
        return _normal(share)


@dataclass(frozen=True)
class Uniform(Distribution):
    """Any number between two ends alike."""

    low: float
    high: float

    def at(self, share: Array) -> Array:
        return self.low + (self.high - self.low) * share


@dataclass(frozen=True)
class Triangular(Distribution):
    """Most likely at one number, falling in straight lines to two ends."""

    low: float
    likely: float
    high: float

    def at(self, share: Array) -> Array:
        width = self.high - self.low
        rise, fall = self.likely - self.low, self.high - self.likely
        return np.where(
            share * width < rise,
            self.low + np.sqrt(share * width * rise),
            self.high - np.sqrt((1.0 - share) * width * fall),
        )


@dataclass(frozen=True)
class LogNormal(Distribution):
    """Positive, its logarithm normal; by median and the deviation of the logarithm."""

    median: float
    deviation: float

    def at(self, share: Array) -> Array:
        return self.median * np.exp(self.deviation * _normal(share))


@dataclass(frozen=True)
class Highest(Distribution):
    """How rare the highest of so many cycles is: one in n passes it (`burn.one_cycle_in`).

    All cycles stay below the one that one in n passes with probability (1 - 1/n)**cycles.
    """

    cycles: float

    def at(self, share: Array) -> Array:
        return np.asarray(-1.0 / np.expm1(np.log(share) / self.cycles), dtype=float)

    def score(self, share: Array) -> Array:
        return -_normal(1.0 / self.at(share))
