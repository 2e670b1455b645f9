"""A wire ring on one engine: sizes move it the right way, table sizes give the report's ring."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from sealkit import analysis, build
from sealkit import report as reports
from sealkit.analysis import RingInJoint, ring_at
from sealkit.report import ranking
from sealkit.sealing.constructions import CopperWireRing

DRAG = build.demo("methanol-drag")
TABLE = CopperWireRing.from_table()
INCH = 0.0254
USUAL = {
    "wire_diameter": TABLE.wire_diameter,
    "groove_depth": TABLE.wire_diameter - TABLE.protrusion,
    "receiver_width": TABLE.receiver_width,
    "receiver_depth": TABLE.receiver_depth,
    "sheet_thickness": TABLE.sheet_thickness,
}
ENDS = {
    "wire_diameter": (0.036, 0.052),
    "groove_depth": (0.027, 0.0355),
    "receiver_width": (0.030, 0.075),
    "receiver_depth": (0.0, 0.012),
    "sheet_thickness": (0.032, 0.080),
}


def ring(one: build.Build, **changes: Any) -> RingInJoint:
    return ring_at(ranking.with_construction(one, CopperWireRing.name), **USUAL | changes)


def at(path: str, share: float) -> RingInJoint:
    low, high = ENDS[path]
    return ring(DRAG, **{path: (low + share * (high - low)) * INCH})


def numbers(one: RingInJoint) -> dict[str, float]:
    r = one.ring
    return {
        "proud": float(r.protrusion),
        "load": float(r.line_load),
        "pushed": float(r.displaced_area),
        "room": float(r.receiver_area),
        "height": float(r.lift_to_leave),
        "share": float(r.protrusion_share),
    }


# what grows (+), falls (-) or stays (0) as a knob rises
@pytest.mark.parametrize(
    ("path", "signs"),
    [
        ("wire_diameter", {"proud": 1, "load": 1, "pushed": 1, "room": 0, "height": 1}),
        ("groove_depth", {"proud": -1, "load": -1, "pushed": -1, "room": 0, "height": -1}),
        ("receiver_width", {"proud": 0, "load": -1, "pushed": 0, "room": 1, "height": -1}),
        ("receiver_depth", {"proud": 0, "load": -1, "pushed": 0, "room": 1}),
        ("sheet_thickness", {"proud": 0, "load": 1, "pushed": 0, "room": 0, "share": -1}),
    ],
)
def test_knobs_move_the_right_way(path: str, signs: dict[str, int]) -> None:
    # a receiver that is full holds no more copper: stay where it is not
    low, high = at(path, 0.55 if path == "receiver_width" else 0.2), at(path, 0.9)
    a, b = numbers(low), numbers(high)
    for name, sign in signs.items():
        if sign:
            assert sign * (b[name] - a[name]) > 0, name
        else:
            assert b[name] == pytest.approx(a[name]), name


def test_deeper_groove_bites_less_at_peak() -> None:
    shallow, deep = at("groove_depth", 0.5), at("groove_depth", 1.0)
    assert deep.left < shallow.left


def test_same_seal_as_the_report_at_the_table_sizes_in_the_sheets_own_copper() -> None:
    one = ring(DRAG, **analysis.usual_sizes(DRAG))
    report = reports.run(DRAG)
    row = next(r for r in report.limits if r.key == "residual")
    cold = report.joint.under_gas(report.clamp.low, report.gas.design_gauge)
    assert one.wanted == pytest.approx(float(row.demand), rel=1e-6)
    assert one.left == pytest.approx(float(cold.zone_loads["wire in copper"]), rel=1e-3)
    assert one.lift == pytest.approx(float(cold.seal_lift), rel=1e-3)
    force = report.joint.bolts * report.clamp.preload.assembly_low
    assert one.clamp * np.pi * report.joint.seal_diameter == pytest.approx(force)


def test_copper_that_leaves_the_receiver_is_told() -> None:
    # shallow and wide, on a head that lifts far
    weak = DRAG.vary({"charge.boost": "60 psi"})
    one = ring(weak, receiver_depth=0.0004 * 0.0254)
    assert one.ring.lift_to_leave < one.lift and not one.kept


@pytest.mark.parametrize(("soft", "hard"), [("annealed", "half hard"), ("half hard", "hard")])
def test_copper_that_was_not_annealed_takes_more_and_is_pressed_less(soft: str, hard: str) -> None:
    a, b = ring(DRAG, temper=soft), ring(DRAG, temper=hard)
    assert b.ring.line_load > a.ring.line_load and b.ring.indentation <= a.ring.indentation
    assert any("anneal it" in w for w in b.ring.warnings)


def test_the_softer_face_holds_the_wire() -> None:
    four = build.demo("boosted-four")
    assert analysis.ring_faces(four) == ("head", "block")
    turned = four.vary({"head.material": "grey iron", "block.material": "6061-T6"})
    assert analysis.ring_faces(turned) == ("block", "head")
    assert ring(turned).ring.wire_material == "6061-T6"
    assert ring(turned).ring.receiver_material == "grey iron"
