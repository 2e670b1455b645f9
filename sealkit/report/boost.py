"""Up to which boost a build holds, all else as it is: where its peak reaches the first failure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
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
_NEAR = 0.2e5  # Pa, of a gas pressure
_FIRST = (0.5, 0.75, 1.0, 1.15, 1.4)  # of the pressure at which it fails as taken

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

    def words(self, sheet: float, system: str, rare: bool = False) -> tuple[str, ...]:
        """In words, beside the boost of the sheet [Pa over the air outside], and a caution.

        `rare` tells whether the cycle designed for knocks with the boost of the sheet.
        """
        digits = decimals_of(self.boost, KIND, system, 2) if 0 < self.boost < np.inf else None

        def end(boost: float) -> str:
            if boost < 0.0:
                return "none"
            if boost == np.inf:
                more = show(self.reach, KIND, system) if self.reach > sheet else "was looked at"
                return f"more than {more}"
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
            already = ", the cycle designed for already" * (rare and self.knocks > sheet)
            knocks = f"knocks from about {end(self.knocks)}{already}"
            words = f"the mean cycle {knocks}; the joint alone would take {words}"
        elif self.knocks < 0.0:
            words = f"the mean cycle knocks without boost too; the joint alone would take {words}"
        words += f"; all else as on the sheet, which has {has}"
        return (words, BEYOND) if self.boost > sheet else (words,)


def held(
    build: Build,
    gas: Gas,
    order: Iterable[Failure],
    limits: Iterable[Limit],
    bands_at: Callable[[Sequence[float]], Sequence[Bands]],
) -> Held:
    """Up to which boost a build holds.

    `bands_at` gives margins and bands in each state by key, at gas pressures over the air [Pa].
    """
    # what follows from a lost seal comes no sooner
    rows = {row.key: row for row in limits if row.check != "blow-out"}
    first = min((f.pressure for f in order if f.limit.key in rows), default=np.inf)
    top = max(up_to(gas.design_gauge), _WITHOUT)
    least: dict[float, dict[str, float]] = {}
    most: dict[float, dict[str, float]] = {}

    def look(at: Iterable[float]) -> None:
        for p, bands in zip(pressures := sorted(set(at)), bands_at(pressures), strict=True):
            here = {key: [band for _, band in bands[key]] for key in rows if key in bands}
            least[p] = {key: min(band.low for band in x) for key, x in here.items()}
            most[p] = {key: min(band.high for band in x) for key, x in here.items()}

    end = float(np.clip(first, _WITHOUT, top))
    look(np.clip([0.0, *(x * end for x in _FIRST), top], _WITHOUT, top).tolist())
    while True:
        low, below = _where({p: x for p, x in least.items() if p <= end})
        high, above = _where({p: x for p, x in most.items() if p >= end})
        if not (below or above):
            break
        look((*below, *above))
    low = first if low == np.inf or first <= 0.0 else low
    high = np.inf if first >= top else high
    made = {build.charge.boost: gas}
    boost, upper = (boost_where(build, made, lambda g: g.design_gauge, p) for p in (first, high))
    knocks = (
        boost_where(build, made, lambda g: g.knock_integral, 1.0) if gas.knock_judged else np.inf
    )
    lower = boost_where(build, made, lambda g: g.design_gauge + (g.knock_missing or 0.0), low)
    near = least[min(least, key=lambda p: abs(p - low))]
    gives = "" if lower >= 0.0 else rows[min(near, key=lambda key: (near[key], key))].short
    if knocks < np.inf and made[max(knocks, 0.0)].knock_missing != 0.0:
        gives = "knock" if knocks < min(lower, 0.0) else gives
        lower = min(lower, knocks)
    lower, upper = min(lower, boost), max(upper, boost)
    knock = made[boost].knock_integral if boost in made else np.nan
    return Held(boost, lower, upper, knock, knocks, gives, max(made))


def _where(margins: Mapping[float, Mapping[str, float]]) -> tuple[float, list[float]]:
    """Gas pressure, Pa, at which the first of margins that fall is nothing, and where to look next.

    0 or inf outside the pressures at which they are known. Load left over load wanted falls about
    as a/p - b, so a margin times the pressure is drawn straight.
    """
    under = next((p for p in sorted(margins) if min(margins[p].values()) < 0.0), np.inf)
    over = max((p for p in margins if p < under), default=0.0)
    if under == np.inf or not over:
        return under if over else 0.0, []
    shares = []
    for key, margin in margins[under].items():
        left = over * min(margins[over].get(key, 1.0), 1.0)
        shares.append(left / (left - under * margin) if margin < 0.0 else 1.0)
    at = over + min(shares) * (under - over)
    closer = [at - _NEAR / 2.0, at + _NEAR / 2.0, (over + under) / 2.0]
    return at, [p for p in closer if over < p < under] if under - over > _NEAR else []
