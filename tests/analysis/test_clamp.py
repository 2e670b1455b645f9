"""The fastening side of a build: springs of fastener and members, embedment."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import report, tables
from sealkit.analysis import clamp
from sealkit.analysis.clamp import Clamp, boss_diameter, clamp_side, embedment_of
from sealkit.analysis.wrench import tightened
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.fastening import stiffness
from sealkit.sealing.joint import Joint
from tests.analysis.test_gas import moved_a_little

FOUR = builds.demo("boosted-four")


def side(build: Build) -> Any:
    return clamp_side(build)[0]


def test_a_smaller_boss_is_a_softer_spring() -> None:
    wide, narrow = (FOUR.vary({"fasteners.boss_diameter": x}) for x in ("200 mm", "24 mm"))
    stiff = [clamp_side(b)[1].member_stiffness for b in (wide, FOUR, narrow)]
    assert stiff[0] > 1.5 * stiff[1] > 1.5 * stiff[2]
    f = FOUR.fasteners
    layers = [(72.4e9, f.grip_head), (105e9, f.grip_block)]
    free = stiffness.member_stiffness.si(layers, f.hole_diameter, f.bearing_diameter)
    assert stiff[0] == pytest.approx(free, rel=1e-6)
    assert boss_diameter(FOUR) == pytest.approx(1.4 * f.bearing_diameter)


def test_a_washer_spreads_the_pressure_and_leaves_the_torque_alone() -> None:
    """By hand: 22 mm of head, 26 mm of washer, both round a hole of 13 mm."""
    washer = FOUR.vary({"fasteners.washer_diameter": "26 mm"})
    bare, spread = (report.run(b) for b in (FOUR, washer))
    before, after = (next(r for r in one.limits if r.check == "bearing") for one in (bare, spread))
    assert before.title.text() == "pressure under the bolt heads"
    assert after.title.text() == "pressure under the washers"
    # friction keeps the face of the head, the preload as tightened with it
    tightened_to = [float(one.clamp.preload.assembly) for one in (bare, spread)]
    assert tightened_to[0] == tightened_to[1]
    assert bare.case.bearing_area == pytest.approx(247.4e-6, rel=1e-3)  # pi/4 (22² - 13²) mm²
    assert spread.case.bearing_area == pytest.approx(398.2e-6, rel=1e-3)  # pi/4 (26² - 13²) mm²
    assert float(after.demand / before.demand) == pytest.approx(247.4 / 398.2, rel=0.02)
    # the cones start from the washer and fill a boss of 1.4 times it
    f, sides = washer.fasteners, [clamp_side(b)[1].member_stiffness for b in (FOUR, washer)]
    layers = [(72.4e9, f.grip_head), (105e9, f.grip_block)]
    by_cones = stiffness.member_stiffness.si(layers, 0.013, 0.026, outer_diameter=1.4 * 0.026)
    assert sides[1] == pytest.approx(by_cones, rel=1e-6) and sides[1] > 1.3 * sides[0]
    assert boss_diameter(washer) == pytest.approx(0.0364)
    with pytest.raises(InputError, match="not less than the washer"):
        washer.vary({"fasteners.boss_diameter": "25 mm"})


def test_a_boss_is_no_smaller_than_what_bears_on_it() -> None:
    with pytest.raises(InputError, match="boss_diameter"):
        FOUR.vary({"fasteners.boss_diameter": "20 mm"})
    FOUR.vary({"fasteners.boss_diameter": "22 mm"})


def test_head_and_engaged_thread_soften_the_fastener() -> None:
    f, (clamped, made) = FOUR.fasteners, clamp_side(FOUR)
    area, rest = np.pi / 4 * f.shank[0].diameter ** 2, f.grip_head + f.grip_block - 0.075
    shaft = (0.075 / area + rest / clamped.thread.stress_area) / 205e9
    block = tables.load("materials")[FOUR.block.material]["modulus"]
    head = 0.5 * 0.012 / (area * 205e9)
    thread = 0.5 * 0.012 / (clamped.thread.root_area * 205e9) + 0.33 * 0.012 / (area * block)
    assert made.bolt_stiffness == pytest.approx(1 / (shaft + head + thread), rel=1e-6)
    # a nut on a stud gives more than a forged head, soft threads in the block more than hard ones
    _, stud = clamp_side(FOUR.vary({"fasteners.kind": "stud"}))
    _, soft = clamp_side(FOUR.vary({"block.material": "A356-T6"}))
    assert stud.bolt_stiffness < made.bolt_stiffness > soft.bolt_stiffness


def test_a_stud_has_two_threads_to_settle() -> None:
    stud = FOUR.vary({"fasteners.kind": "stud"})
    assert FOUR.fasteners.roughness == "fine"
    assert embedment_of(FOUR)[0] == pytest.approx(8.5e-6)
    assert embedment_of(stud)[0] == pytest.approx(embedment_of(FOUR)[0] + 3e-6)
    lost = [side(b).preload.terms[0].low for b in (FOUR, stud)]
    assert lost[1] > lost[0]


@pytest.mark.parametrize("name", builds.demos())
def test_balance_of_the_preload_closes_term_by_term(name: str) -> None:
    p = side(builds.demo(name)).preload
    ends = ((p.assembly_low, p.low), (p.assembly, p.nominal), (p.assembly_high, p.high))
    for (start, left), end in zip(ends, ("low", "nominal", "high"), strict=True):
        assert left == pytest.approx(start - sum(getattr(t, end) for t in p.terms))
    assert p.low < p.nominal < p.high
    # the largest loss goes with the low end
    assert p.terms[1].low / p.assembly_low > p.terms[1].high / p.assembly_high


def test_a_tested_preload_moves_the_curve_over_friction_too() -> None:
    one = tightened(FOUR.vary({"fasteners.preload_factor": 0.8}))
    now = np.searchsorted(one.friction, round(one.mean_friction, 12))
    assert one.given[now] == pytest.approx(one.preloads[1], rel=1e-9)


@pytest.mark.parametrize("name", ["boosted-six", "na-iron-v8"])
def test_what_is_kept_of_the_clamp_goes_by_every_field_it_depends_on(name: str) -> None:
    """Each number of the sheet a little up or down: kept and worked out afresh alike."""
    build, changed = builds.demo(name), []

    def told(side: tuple[Clamp, Joint]) -> list[float]:
        one, joint = side
        loads = [float(x[0]) for x in one.low.zone_loads.values()]
        ends = [float(x) for x in (*one.ends, one.strongest_yield, one.permanent_stretch)]
        bends = [joint.bend_load, joint.bend_pressure, joint.bolts, joint.seal_diameter]
        return [*ends, *loads, *bends, float(one.high.seal_load[0]), joint.member_stiffness]

    first = told(clamp_side(build))
    for path, one in moved_a_little(build):
        kept = told(clamp_side(one))
        assert kept == told(clamp._clamp_side(one)), path
        changed += [path] if kept != first else []
    assert {"fasteners.torque", "head.thickness", "gasket.body_area"} <= set(changed)
    assert not any(path.startswith(("charge", "fuel", "burn", "liquids")) for path in changed)
    assert clamp_side(build.vary({"charge.boost": "1 bar"})) is clamp_side(build)
