"""What the deck map says of one engine, carried over to engines that are much like it.

The map takes a second and a study wants a thousand engines. So each of them goes through the
average joint, and from there to the weakest place of the map by what both say of the sheet's own
engine, for which it is exact. Of a seal with the load L0 without gas and L at peak on the average
joint, what is left at the weakest place is

    h L0 - g (L0 - L) + b X

h, the share of the load that arrives there; g, that of what the gas takes away; b, what the map
loses or gains for each kelvin X that the fire side of the hot head is hotter than that of the
sheet, while the average joint keeps the bow of that. h, g and b are those of the state of the
engine. Any other limit that the map judges keeps its proportion, capacity over demand, to that of
the average joint, but for what each kelvin X adds to it.

That assumes that the weakest place stays the weakest and that its shares stay: the plate is linear
between changes of contact, the gasket under it is not. Where the sheet's own engine has no load
left on the map, how far it is from any is not known, and builds come out better than they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sealkit.sealing.limit import Condition, Limit, Temperature

State = tuple[Temperature | None, str]
Slopes = tuple[float, float]
"""What each kelvin across the hot head adds where that is less than the sheet's, and more."""

LEVEL: Slopes = (0.0, 0.0)


def _bowed(by: Slopes, hotter: Any) -> Any:
    return np.where(np.less(hotter, 0.0), *by) * hotter


@dataclass(frozen=True)
class Spot:
    """One seal at its weakest place in one state of the engine."""

    # held, lost, bow: h, g and b [N/(m K)]
    held: float
    lost: float
    bow: Slopes = LEVEL
    own: float = 0.0  # load left there where the average joint has none to go by [N/m]


@dataclass(frozen=True)
class Pair:
    """Any other limit of the sheet's own engine."""

    # average, there: of the average joint and of the map
    average: Limit
    there: Limit
    bow: Slopes = LEVEL  # what the bow adds to the margin on the map [1/K]


@dataclass(frozen=True)
class Carried:
    """From the average joint to the map."""

    spots: Mapping[State, Mapping[str, Spot]]  # by state of the engine (`place`) and seal
    pairs: Mapping[str, Pair]  # the other limits that the map judges, by key
    # how much hotter the fire side of the sheet's head is than its top, at full load [K]
    across: float
    hotter: Any = 0.0  # X, one or one per build [K]

    def to(self, across: Any) -> Carried:
        """For builds whose heads are this much hotter on the fire side [K]."""
        return replace(self, hotter=np.asarray(across, dtype=float) - self.across)

    def load(self, when: Condition, seal: str, rest: Any, gas: Any) -> Any:
        """Load left on a seal at the weakest place [N/m].

        Parameters
        ----------
        rest, gas : L0 (a row per build) and L
        """
        # a state that the map did not look at, since others are worse, is much like the cold one
        spots = self.spots.get(place(when)) or next(iter(self.spots.values()), {})
        if seal not in spots:
            return gas
        spot, rest = spots[seal], np.reshape(rest, (-1, 1))
        bow = _bowed(spot.bow, np.reshape(self.hotter, (-1, 1)))
        return np.maximum(spot.held * rest - spot.lost * (rest - gas) + bow + spot.own, 0.0)

    def row(self, row: Limit) -> Limit:
        """Any other limit, at the place where the map has the least of it."""
        if row.key not in self.pairs:
            return row
        pair = self.pairs[row.key]
        average, there = pair.average, pair.there
        if not -1.0 < average.margin < np.inf:
            return replace(row, demand=there.demand, capacity=there.capacity)
        bowed = np.maximum(1.0 + there.margin + _bowed(pair.bow, self.hotter), 0.0)
        more = bowed / (1.0 + average.margin)
        if row.check == "crush":
            return replace(row, demand=row.demand / more)
        return replace(row, capacity=row.capacity * more)


def place(when: Condition) -> State:
    """The state of the engine; of warm ones the map judges one alone, whichever is worst."""
    return when.temperature, "" if when.temperature is Temperature.HOT else when.state
