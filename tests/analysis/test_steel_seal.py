"""Layered steel in a whole joint: clamp, marks, thickness and stopper all tell on the seal."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sealkit import build, report
from sealkit.analysis import margins
from sealkit.analysis.margins import Case
from sealkit.report import Report, ranking
from sealkit.sealing import constructions, limit, teardown
from sealkit.sealing.joint import Assembly
from sealkit.sealing.limit import Condition, Limit

PLAIN, STOPPED = "multi-layer steel", "multi-layer steel with stopper"
BEAD = "combustion bead"


def of(name: str, **changes: Any) -> Report:
    sheet = ranking.with_construction(build.demo("boosted-four"), name)
    return report.run(sheet.vary({k.replace("__", "."): v for k, v in changes.items()}))


def held(one: Report) -> Limit:
    return next(r for r in one.limits if r.check == "residual")


@pytest.mark.parametrize("name", [PLAIN, STOPPED])
def test_more_clamp_leaves_more_load_on_the_seal(name: str) -> None:
    found = [of(name, fasteners__torque=f"{t} N*m") for t in (75, 85, 95, 105)]
    for loads in (
        [float(r.sealing.zone_loads[BEAD][0]) for r in found],
        [float(r.sealing.seal_load[0]) for r in found],
        [float(np.min(r.over_angle.zone_loads[BEAD])) for r in found],
        [float(held(r).margin) for r in found],
        [next(f.pressure for f in r.order if f.limit.check == "residual") for r in found],
    ):
        assert np.all(np.diff(loads) > 0.0)


@pytest.mark.parametrize("gap", [10e-6, 30e-6, 50e-6])
def test_a_ring_mark_costs_what_the_way_back_says(gap: float) -> None:
    one = of(PLAIN)
    zone = one.joint.gasket.seals[0]
    top = float(one.sealing.zone_tops[BEAD][0])
    loss = teardown.local_loss.si(zone, top, gap)
    c, f = (row[0] for row in zone.path(np.array([top])))
    assert float(loss.local) == pytest.approx(float(np.interp(top - gap, c, f)))
    # far more than a plateau would let go: a line back to nothing at the springback, or less
    assert float(loss.lost) >= gap / float(zone.recovery(top)) - 1e-9


def fitted(name: str, **changes: Any) -> tuple[Case, Assembly]:
    """The case of the engine with other parameters of its gasket, cold, and how it stands."""
    one = of(name)
    zones = {z.role: z.extent for z in one.joint.gasket.zones}
    gasket = constructions.make(name, **changes).sized(
        zones["seal"], zones["body"], zones.get("liquid", 0.0)
    )
    joint = replace(one.joint, gasket=gasket)
    low = joint.assemble(one.case.low.assembly_preload, one.case.low.preload)
    return replace(one.case, joint=joint, low=low, heated=()), low


def left(case: Case) -> Limit:
    return next(r for r in margins.limits(case, 3e6) if r.check == "residual")


def test_a_thicker_stopper_moves_load_from_the_bead_to_itself() -> None:
    found = [
        fitted(STOPPED, stopper_thickness=step)[1]
        for step in ("0.06 mm", "0.09 mm", "0.12 mm", "0.15 mm")
    ]
    for name, sign in ((BEAD, -1.0), ("stopper", 1.0)):
        assert np.all(sign * np.diff([float(a.zone_loads[name][0]) for a in found]) > 0.0)


def test_thickness_of_layer_and_coat_tell() -> None:
    thin, thick = (fitted(PLAIN, layer_thickness=t) for t in ("0.20 mm", "0.28 mm"))
    assert thick[1].seal_load[0] > 1.1 * thin[1].seal_load[0]
    whole, worn = (fitted(PLAIN, coat_missing=m) for m in ("0 um", "20 um"))
    assert worn[1].seal_load[0] < 0.98 * whole[1].seal_load[0]


def test_bead_and_stopper_are_one_seal() -> None:
    rows = [r for r in of(STOPPED).limits if r.check == "residual"]
    assert len(rows) == 1
    whole = left(fitted(STOPPED)[0])
    assert whole.margin > 0.0
    # whichever of the two holds, holds the gas; only where neither does, it passes
    weak_bead = left(fitted(STOPPED, bead_factor=40.0)[0])
    weak_stopper = left(fitted(STOPPED, stopper_factor=40.0)[0])
    neither = left(fitted(STOPPED, bead_factor=40.0, stopper_factor=40.0)[0])
    assert weak_bead.part == "stopper"
    assert weak_stopper.part == BEAD
    # one limit by one key, whichever of the two leads at this load: its bands are kept by that
    assert {row.key for row in (whole, weak_bead, weak_stopper, neither)} == {"residual"}
    assert whole.margin == max(weak_bead.margin, weak_stopper.margin)
    assert not neither.holds


def test_one_after_the_other_takes_the_better_place_by_place() -> None:
    def row(name: str, load: Any) -> Limit:
        return Limit("residual", name, 1.0, load, "line load", Condition(), "", "invented")

    made = limit.one_after_the_other(
        [row("a", np.array([2.0, 0.5])), row("b", np.array([1.0, 3.0]))]
    )
    assert np.asarray(made.capacity) == pytest.approx([2.0, 3.0])
    worst = limit.lesser(row("a", 2.0), row("b", 1.5))
    assert worst.part == "b"
    assert limit.one_after_the_other([row("a", 2.0), row("b", 1.5)]).part == "a"
