"""What a study of many builds comes to."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sealkit.arrays import Array
from sealkit.build import Build
from sealkit.errors import fail, near, quoted
from sealkit.scatter.inputs import Input
from sealkit.scatter.probability import Probability
from sealkit.sealing.limit import Limit

EDGES = np.linspace(-1.0, 3.0, 401)
"""Margins at which the bars of a histogram begin and end; what lies outside is counted apart."""
_NEAR = 0.02  # share of the builds below the margin by which limits that hold are told apart


@dataclass(frozen=True)
class LimitProbability:
    """One limit over all builds."""

    key: str  # of the limit
    # as it stands in the middle of all spreads, or on the sheet; None in a study of your own
    limit: Limit | None
    failure: Probability  # probability of passing it
    # variance share of the margin by name of the input, largest first; what is left over comes from
    # inputs acting together
    shares: tuple[tuple[str, float], ...]

    def title_in(self, system: str = "metric") -> str:
        """What is limited, in the units of this shop; the key where the limit is not there."""
        return self.key if self.limit is None else self.limit.title.text(system)

    @property
    def matters(self) -> list[str]:
        """Up to three inputs that matter most, with their shares."""
        return [f"{name} {100 * x:.0f} %" for name, x in self.shares[:3] if x >= 0.01]

    @property
    def moved_by(self) -> str:
        """The same in words."""
        return ", ".join(self.matters) or "nothing that was varied"


@dataclass(frozen=True)
class Scatter:
    """The result of a study."""

    inputs: tuple[Input, ...]  # what was varied
    limits: tuple[LimitProbability, ...]  # likeliest to fail first
    # groups, members: probability that one or more limits of a group fail, and their keys
    groups: Mapping[str, Probability]
    members: Mapping[str, tuple[str, ...]]
    # (mean, standard deviation) of quantities, such as the preload of one fastener
    watched: Mapping[str, tuple[float, float]]
    count: int  # of the builds
    stopped: bool  # whether it was stopped before all builds asked for
    # numbers, margins: a few builds that were kept: numbers by field, margins by key
    numbers: Mapping[str, Array] = field(repr=False)
    margins: Mapping[str, Array] = field(repr=False)
    # builds by key and bar of `EDGES`, the first and last below and above it
    histograms: Mapping[str, NDArray[np.int64]] = field(repr=False)
    # the sheet, where the study is one of a sheet
    build: Build | None = field(repr=False, default=None)

    def limit(self, key: str) -> LimitProbability:
        """One limit by its key.

        Raises InputError if no limit has this key.
        """
        for row in self.limits:
            if row.key == key:
                return row
        keys = [row.key for row in self.limits]
        raise fail("key", key, f"one of {quoted(keys)}{near(key, keys)}")

    def nearest(self, group: str) -> LimitProbability:
        """The limit of a group that most builds pass; of those alike, the one nearest to it."""
        rows = [row for row in self.limits if row.key in self.members[group]]
        return min(rows, key=lambda r: (-r.failure.failed, self.quantile(r.key, _NEAR)))

    def fates(self, count: int, groups: Iterable[str]) -> list[str]:
        """What became of the first builds that were kept: the first group to fail, "" for none."""
        out = [""] * min(count, *(len(m) for m in self.margins.values()))
        for group in groups:
            for key in self.members.get(group, ()):
                lost = self.margins[key][: len(out)] < 0.0
                out = [was or (group if now else "") for was, now in zip(out, lost, strict=True)]
        return out

    def parts(self, key: str) -> Array:
        """Variance share of the margin of a limit, for each of `inputs`."""
        shares = dict(self.limit(key).shares)
        return np.array([shares[one.name] for one in self.inputs])

    def bars(self, key: str, edges: Array) -> Array:
        """Share of the builds whose margin of a limit lies between edges; each one of `EDGES`."""
        below = np.cumsum(self.histograms[key])[np.searchsorted(EDGES, edges - 1e-9)]
        return np.asarray(np.diff(below) / self.count)

    def above(self, key: str, edge: float) -> float:
        """Share of the builds whose margin of a limit lies above an edge, one of `EDGES`."""
        place = int(np.searchsorted(EDGES, edge - 1e-9))
        return float(np.sum(self.histograms[key][place + 1 :]) / self.count)

    def quantile(self, key: str, share: float) -> float:
        """Margin that this share of the builds stays under, read from the histogram.

        Infinite (with its sign) where it lies outside `EDGES`.
        """
        if not 0.0 < share < 1.0:
            raise fail("share", share, "a share above 0 and below 1")
        self.limit(key)
        total = np.cumsum(self.histograms[key])
        at = share * total[-1]
        if at <= total[0]:
            return -math.inf
        if at > total[-2]:
            return math.inf
        return float(np.interp(at, total[:-1], EDGES))

    def rows(self, system: str = "metric") -> list[dict[str, str]]:
        """The limits as text, likeliest to fail first."""
        return [
            {
                "limit": row.title_in(system),
                "probability of failure": row.failure.text(),
                "what matters most": "; ".join(row.matters),
            }
            for row in self.limits
        ]
