"""One limit: a demand against a capacity, as data; its sentences are made from it, once."""

from __future__ import annotations

import functools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, NamedTuple

import numpy as np

from sealkit.arrays import per_build
from sealkit.resources import beside
from sealkit.units import plain
from sealkit.words import Note

GAS_LEAK, LIQUID_LEAK, DAMAGE = "gas leak", "liquid leak", "damage"


class Temperature(StrEnum):
    """Of the joint when it is looked at."""

    COLD = "cold"
    HOT = "hot"


class Preload(StrEnum):
    """End of the preload's range that is worse for the limit."""

    LOW = "low preload"
    HIGH = "high preload"


class Moment(StrEnum):
    """When the limit is looked at."""

    ASSEMBLY = "at assembly"
    REST = "no gas"
    PEAK = "at peak pressure"


@dataclass(frozen=True)
class Condition:
    """Under what a limit is looked at: "cold, low preload, at peak pressure"."""

    # temperature, preload, moment: None where it is not stated
    temperature: Temperature | None = None
    preload: Preload | None = None
    moment: Moment | None = None
    detail: str = ""  # more words, such as a place on the deck
    # which state of the engine, where there are several hot or cold ones; it is told in place of
    # the temperature
    state: str = ""

    @property
    def name(self) -> str:
        """State of the engine, or cold or hot."""
        return self.state or str(self.temperature or "")

    def __str__(self) -> str:
        warm = self.state or self.temperature
        return ", ".join(filter(None, (warm, self.preload, self.moment, self.detail)))


class Outcome(StrEnum):
    """What a margin of safety says, its band taken with it."""

    HOLDS = "holds"
    CLOSE = "too close to call"
    FAILS = "does not hold"


def worst(found: Iterable[Outcome]) -> Outcome:
    """The worst of several outcomes: one that fails, else one too close to call."""
    kinds = set(found)
    return next((x for x in (Outcome.FAILS, Outcome.CLOSE) if x in kinds), Outcome.HOLDS)


class Band(NamedTuple):
    """Margins that other choices of the model give, and which of them give least and most."""

    low: float
    high: float
    lowest_by: str
    highest_by: str = ""


WORDS: dict[str, dict[str, str]] = beside(__file__)
"""What is said of each limit; the file explains it."""


@dataclass(frozen=True)
class Limit:
    """One limit."""

    check: str  # what is looked at, such as "residual"
    part: str  # the part that gives way
    # demand, capacity: plain SI or quantities, floats or arrays over pressure or builds; an array
    # of one number is kept as that number
    demand: Any
    capacity: Any
    kind: str  # kind of both (`sealkit.units.KINDS`)
    state: Condition  # under what it is looked at
    # source, status: of the capacity
    source: Note | str
    status: str
    note: Note | str = ""  # what to know about it
    of: str = ""  # which one, where there are several of a check: a zone, a liquid
    wording: str = ""  # row of `WORDS`, where it is not that of the check
    # what else stands in the sentences, as in `sealkit.words.note`
    values: tuple[tuple[str, Any], ...] = ()
    # load that a seal which has lost touch is short of, on the line it springs back along
    missing: Any = 0.0
    # margins that the two other choices of the model give that move it most to either side, where
    # they were looked at
    band: Band | None = None

    def __post_init__(self) -> None:
        for name in ("demand", "capacity"):
            value = getattr(self, name)
            if type(value) is not float:
                object.__setattr__(self, name, per_build(plain(value, self.kind, name)))

    @property
    def key(self) -> str:
        """Stable name: limits of one key are the same limit, looked at in several conditions."""
        return f"{self.check}/{self.of}" if self.of else self.check

    @property
    def title(self) -> Note:
        """What is limited."""
        return self._note(self._wording["title"])

    @property
    def consequence(self) -> Note:
        """What happens when it is passed."""
        return self._note(self._wording["consequence"])

    @property
    def failure(self) -> str:
        """What kind of failure that is: `GAS_LEAK`, `LIQUID_LEAK` or `DAMAGE`."""
        return self._wording["failure"]

    @property
    def brief(self) -> str:
        """What is limited, in a few words."""
        return self._wording["brief"].format(part=self.part)

    @property
    def short(self) -> str:
        """What gives, in a few words."""
        named = {"part": self.part, "of": self.of, **dict(self.values)}
        return self._wording["short"].format(**named)

    @property
    def _wording(self) -> dict[str, str]:
        return WORDS[self.wording or self.check]

    def _note(self, template: str) -> Note:
        return Note(template, (("part", self.part), ("of", self.of), *self.values))

    @functools.cached_property
    def margin(self) -> Any:
        """Margin of safety, capacity / demand - 1 (float or array; infinite without demand)."""
        if type(self.demand) is float and type(self.capacity) is float:
            return self.capacity / self.demand - 1.0 if self.demand > 0 else np.inf
        demand = np.asarray(self.demand, dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = self.capacity / np.where(demand > 0, demand, 1.0)
        return np.where(demand > 0, ratio, np.inf) - 1.0

    @property
    def signed(self) -> Any:
        """The margin, below -1 where touch is lost: by what is missing, over the demand."""
        if not np.any(self.missing):
            return self.margin
        demand = np.asarray(self.demand, dtype=float)
        return self.margin - self.missing / np.where(demand > 0, demand, np.inf)

    @property
    def holds(self) -> bool:
        """Whether the margin is nowhere below zero."""
        return bool(np.all(np.asarray(self.margin) >= 0.0))

    @property
    def turned_by(self) -> str:
        """The other choices that turn what is too close to call."""
        if self.band is None or self.outcome is not Outcome.CLOSE:
            return ""
        return self.band.lowest_by if self.holds else self.band.highest_by

    @property
    def outcome(self) -> Outcome:
        """Whether it holds; too close to call where another choice of the model turns that."""
        if self.band is not None and self.band.low < 0.0 <= self.band.high:
            return Outcome.CLOSE
        return Outcome.HOLDS if self.holds else Outcome.FAILS


def of_zone(
    check: str, zone: Any, demand: Any, capacity: Any, state: Condition, **more: Any
) -> Limit:
    """A limit of one zone of a gasket; unit, source, status and note are the zone's own.

    Parameters
    ----------
    check : "seating", "residual", "springback", "crush" or "blow-out"
    zone : a `sealkit.sealing.gaskets.Zone`
    demand, capacity, state : as for `Limit`
    **more : other fields that are not the zone's own
    """
    own = {"kind": zone.load_kind, "of": zone.name, "source": zone.source, "note": zone.note}
    if check in ("residual", "springback"):  # seals met one after the other are one limit
        own["of"] = ""
    own["status"] = zone.status
    return Limit(check, zone.name, demand, capacity, state=state, **{**own, **more})


def lesser(kept: Limit, row: Limit) -> Limit:
    """The row with less margin; of two rows of arrays, place by place."""
    return _picked(kept, row, 1.0)


def one_after_the_other(rows: Sequence[Limit]) -> Limit:
    """Rows of contacts that gas has to pass one after the other, as the row of one seal.

    It holds where any of them holds: place by place the row with the most margin.
    """
    kept, *others = rows
    for row in others:
        kept = _picked(kept, row, -1.0)
    return kept


def _picked(kept: Limit, row: Limit, sign: float) -> Limit:
    """The row with less margin times the sign, place by place; named by its worst place."""
    ours, own = np.asarray(kept.signed), np.asarray(row.signed)
    takes = sign * own < sign * ours
    if takes.ndim == 0:
        return row if takes else kept
    named = row if sign * np.min(own) < sign * np.min(ours) else kept
    return replace(
        named,
        demand=np.where(takes, row.demand, kept.demand),
        capacity=np.where(takes, row.capacity, kept.capacity),
        missing=np.where(takes, row.missing, kept.missing),
    )
