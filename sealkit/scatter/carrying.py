"""From a report with its deck map to what carries a study over to the map's weakest place."""

from __future__ import annotations

import numpy as np

from sealkit.analysis import FULL_LOAD, margins
from sealkit.analysis.carried import LEVEL, Carried, Pair, Slopes, Spot, State, place
from sealkit.analysis.warm import COLD_START, across_head
from sealkit.report import Report, band
from sealkit.sealing import deck
from sealkit.sealing.joint import Assembly
from sealkit.sealing.limit import Condition


def carried_over(report: Report) -> Carried | None:
    """What the map of a report says over its average joint; None where it has no map.

    A study with it gives the sheet's own engine, both ends of the preload taken, the margins of the
    report.
    """
    side, case = report.deck, report.case
    if side is None:
        return None
    mapped = {row.key for row in side.limits if row.check != "residual"}
    theirs = {row.key: row for row in report.average.limits}
    across, (slopes, shares) = float(across_head(report.build, FULL_LOAD)), _slopes(report)
    pairs = {
        r.key: Pair(theirs[r.key], r, shares.get(band.place(r), LEVEL))
        for r in report.limits
        if r.key in mapped & set(theirs)
    }
    spots: dict[State, dict[str, Spot]] = {}
    for look in side.looks:
        when, fired = look.when, look.fired
        average, gas = _average(report, when)
        state = case.joint.under_gas(average, gas)
        weak = deck.weakest(fired)
        here = spots.setdefault(place(when), {})
        for zone in (z for z in case.joint.gasket.seals if z.factor > 0):
            angle, rest = look.standing.line_load(weak.bore, zone.name)
            i = int(np.argmin(np.abs(angle - weak.angle)))
            left = float(fired[weak.bore].line_load(weak.bore, zone.name)[1][i])
            before = float(np.ravel(average.zone_loads[zone.name])[0])
            gone = before - float(state.zone_loads[zone.name])
            if min(before, gone) > 0.0:
                bow = slopes.get((place(when), zone.name), LEVEL)
                lost = (float(rest[i]) - left) / gone
                here[zone.name] = Spot(float(rest[i]) / before, lost, bow)
            else:
                here[zone.name] = Spot(0.0, 0.0, own=left)
    return Carried(spots, pairs, across)


def _average(report: Report, when: Condition) -> tuple[Assembly, float]:
    """The average joint in a state that the map looks at, and the gas pressure it meets there."""
    case, peak = report.case, report.gas.design_gauge
    if when.state == margins.FIRST_START:
        return case.first, peak
    if when.state == COLD_START:
        one = next(h for h in case.heated if h.name == COLD_START)
        return one.low or case.low, one.gas * peak
    _, least = case.least(when.temperature or margins.COLD) or ("", case.low)
    return least, peak


def _slopes(report: Report) -> tuple[dict[tuple[State, str], Slopes], dict[band.Place, Slopes]]:
    """What each kelvin across the hot head adds on the map.

    Returns the load left by state and seal [N/(m K)], and the margins by limit and state [1/K].
    """
    side, across = report.deck, float(across_head(report.build, FULL_LOAD))
    # a gradient that the sheet states does not scatter
    if side is None or report.build.head.gradient is not None:
        return {}, {}
    loads: dict[tuple[State, str], Slopes] = {}
    shares: dict[band.Place, Slopes] = {}
    for at, margin in report.other_bow.items():
        row = report.mapped.get(at)
        if row is not None and np.all(np.isfinite([*margin.values(), row.margin])):
            by = {k: (max(x, -1.0) - float(row.margin)) / (k - across) for k, x in margin.items()}
            # with more bow no load may be left that tells; never better than by less bow
            shares[at] = less, more = by[min(by)], min(by.values())
            if row.check == "residual":
                loads[place(row.state), row.part] = row.demand * less, row.demand * more
    return loads, shares
