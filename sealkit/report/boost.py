"""Up to which boost a build holds, all else as it is: where its peak reaches the first failure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from sealkit.analysis import Gas, boost_for_peaks
from sealkit.analysis.margins import Failure, Limit
from sealkit.build import Build
from sealkit.report.record import decimals_of
from sealkit.units import show, show_unit

KIND = "gauge pressure"
BEYOND = "unsafe side: more boost changes fuel, timing, knock and heat"


class Held(NamedTuple):
    """Boost over the air outside, Pa: as taken, and the least and most with other choices.

    Negative where not even an engine without boost holds, infinite where none in reach is too much;
    `knock` is the knock integral of the mean cycle at the first of them.
    """

    boost: float
    low: float
    high: float
    knock: float

    def words(self, sheet: float, system: str) -> tuple[str, ...]:
        """In words, beside the boost of the sheet [Pa over the air outside], and a caution."""
        digits = decimals_of(self.boost, KIND, system, 2) if 0 < self.boost < np.inf else None

        def end(boost: float) -> str:
            if not np.isfinite(boost):
                return "none" if boost < 0.0 else "more than can be reckoned"
            return show(boost, KIND, system, digits)

        words, least, most = (end(x) for x in self[:3])
        unit = f" {show_unit(KIND, system)}"
        least = least.removesuffix(unit) if most.endswith(unit) and least != most else least
        band = f" ({least} to {most} with other choices of the model)" if least != most else ""
        has = show(sheet, KIND, system) if sheet > 0.0 else "none"
        if self.boost < 0.0:
            return (f"none: as taken it fails without boost too{band}; the sheet has {has}",)
        start = "" if digits is None else "about "
        words = f"{start}{words}{band}; all else as on the sheet, which has {has}"
        words += f"; knocks there, integral {self.knock:.2f}" if self.knock >= 1.0 else ""
        return (words, BEYOND) if self.boost > sheet else (words,)


def held(build: Build, gas: Gas, order: Iterable[Failure], limits: Iterable[Limit]) -> Held:
    """Up to which boost a build holds.

    Parameters
    ----------
    build, gas : a checked build sheet and its gas side
    order : what gives as peak pressure rises
    limits : each with the band of its margin
    """
    rows = {row.key: row for row in limits}
    first = low = high = np.inf
    for failure in order:
        at, row = failure.pressure, rows.get(failure.limit.key)
        if row is None:  # blow-out behind a seal that is tight
            continue
        ends = row.band[:2] if row.band is not None else (float(row.margin),) * 2
        least, most = (passed(float(row.margin), x, gas.design_gauge, at) for x in ends)
        first, low, high = min(first, at), min(low, at, least), min(high, max(at, most))
    known = boost_for_peaks(build, gas, (first, low, high))
    boost, knock = known[first]
    return Held(boost, known[low][0], known[high][0], knock)


def passed(margin: float, other: float, peak: float, at: float) -> float:
    """Gas pressure at which a limit is passed where another choice makes its margin `other`.

    Capacity over demand is taken as A/p - B through what is known of it, and another choice as a
    factor on it: an assumption.

    Parameters
    ----------
    margin : at `peak`
    other : there with the other choice
    peak, at : gas pressures, design peak and where the limit is passed [Pa]

    >>> round(passed(0.5, 0.2, 100.0, 150.0))
    120
    >>> passed(0.5, -0.1, 100.0, np.inf)  # no matter of gas
    0.0
    """
    falls = 0.0 if at in (0.0, peak, np.inf) or margin <= -1.0 else margin / (1.0 / peak - 1.0 / at)
    if not 0.0 < falls < np.inf or other <= -1.0:
        return 0.0 if other < 0.0 else np.inf
    over = 1.0 / at + ((1.0 + margin) / (1.0 + other) - 1.0) / falls
    return 1.0 / over if over > 0.0 else np.inf
