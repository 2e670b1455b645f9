"""Up to which boost a build holds, all else as it is: where its peak reaches the first failure."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

import numpy as np

from sealkit.analysis import Gas, boost_where
from sealkit.analysis.margins import Failure, Limit, up_to
from sealkit.build import Build
from sealkit.report.record import decimals_of
from sealkit.sealing.limit import Band
from sealkit.units import show, show_unit

KIND = "gauge pressure"
BEYOND = "unsafe side: more boost changes fuel, timing, knock and heat"
_WITHOUT = 1e5  # Pa: what gives at so little gas gives without boost

Bands = Mapping[str, list[tuple[float, Band]]]


class Held(NamedTuple):
    """Boost over the air outside, Pa: as taken, and the least and most with other choices.

    Negative where not even an engine without boost holds, infinite where none in reach is too much;
    the least is with the knock expected there, and no more than where the mean cycle `knocks`, with
    what the sheet does not add. `knock` is its integral at the first of them, `least` what gives
    at the second, `reach` the most boost that was looked at.
    """

    boost: float
    low: float
    high: float
    knock: float
    knocks: float
    least: str
    reach: float

    def words(self, sheet: float, system: str) -> tuple[str, ...]:
        """In words, beside the boost of the sheet [Pa over the air outside], and a caution."""
        digits = decimals_of(self.boost, KIND, system, 2) if 0 < self.boost < np.inf else None

        def end(boost: float) -> str:
            if boost < 0.0:
                return "none"
            if boost == np.inf:
                return f"more than {show(self.reach, KIND, system)}"
            return show(boost, KIND, system, digits)

        words, least, most = (end(x) for x in self[:3])
        unit = f" {show_unit(KIND, system)}"
        least = least.removesuffix(unit) if most.endswith(unit) and least != most else least
        why = f"; without boost too perhaps {self.least}" if self.low < 0.0 else ""
        with_others = f"{least} to {most} with other choices of the model{why}"
        band = f" ({with_others})" if least != most else ""
        has = show(sheet, KIND, system) if sheet > 0.0 else "none"
        if self.boost < 0.0:
            return (f"none: as taken it fails without boost too{band}; the sheet has {has}",)
        words = f"{'about ' * (digits is not None)}{words}{band}"
        if 0.0 <= self.knocks < self.boost:
            words = f"knocks from about {end(self.knocks)}; the joint alone would take {words}"
        elif self.knocks < 0.0:
            words = f"knocks without boost too; the joint alone would take {words}"
        words += f"; all else as on the sheet, which has {has}"
        return (words, BEYOND) if self.boost > sheet else (words,)


def held(
    build: Build,
    gas: Gas,
    order: Iterable[Failure],
    limits: Iterable[Limit],
    bands_at: Callable[[float], Bands],
) -> Held:
    """Up to which boost a build holds.

    Parameters
    ----------
    build, gas : a checked build sheet and its gas side
    order : what gives as peak pressure rises
    limits : all
    bands_at : margins and their bands in each state by key, at a gas pressure, Pa over the air
    """
    # what follows from a lost seal comes no sooner
    rows = {row.key: row for row in limits if row.check != "blow-out"}
    first = min((f.pressure for f in order if f.limit.key in rows), default=np.inf)
    top = up_to(gas.design_gauge)

    def least(at: float) -> tuple[float, str]:
        bands = bands_at(at)
        return min((band.low, key) for key in rows for _, band in bands.get(key, ()))

    def most(at: float) -> float:
        bands = bands_at(at)
        return min(band.high for key in rows for _, band in bands.get(key, ()))

    end = min(first, top)
    low = _where(lambda p: least(p)[0], _WITHOUT, end, 0.7 * end) if first > 0.0 else 0.0
    high = _where(most, max(first, _WITHOUT), top, 1.3 * first) if first < top else np.inf
    low = first if low == np.inf else low
    made = {build.charge.boost: gas}
    boost, upper = (boost_where(build, made, lambda g: g.design_gauge, p) for p in (first, high))
    knocks = (
        boost_where(build, made, lambda g: g.knock_integral, 1.0) if gas.knock_judged else np.inf
    )
    lower = boost_where(build, made, lambda g: g.design_gauge + (g.knock_missing or 0.0), low)
    gives = "" if lower >= 0.0 else rows[least(max(low, _WITHOUT))[1]].short
    if knocks < np.inf and made[max(knocks, 0.0)].knock_missing != 0.0:
        gives = "knock" if knocks < min(lower, 0.0) else gives
        lower = min(lower, knocks)
    lower, upper = min(lower, boost), max(upper, boost)
    knock = made[boost].knock_integral if boost in made else np.nan
    return Held(boost, lower, upper, knock, knocks, gives, max(made))


def _where(margin: Callable[[float], float], start: float, end: float, near: float) -> float:
    """Gas pressure, Pa, at which a margin that falls with it is nothing; 0 or inf outside.

    It is looked for first on the side of `near` on which it lies.
    """
    from scipy.optimize import brentq  # loads linear algebra

    @functools.cache
    def capped(at: float) -> float:
        return min(margin(at), 10.0)

    if start < near < end:
        start, end = (start, near) if capped(near) < 0.0 else (near, end)
    if end <= start or capped(start) < 0.0:
        return 0.0
    return np.inf if capped(end) >= 0.0 else float(brentq(capped, start, end, xtol=0.4e5))
