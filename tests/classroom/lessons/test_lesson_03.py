"""Lesson 03: the panel follows the physics, and every exercise knows its wrong turns."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import InputError
from sealkit import build as builds
from sealkit import report as reports
from sealkit.analysis import wrench
from sealkit.classroom.lessons import springs as springs_lesson
from sealkit.classroom.lessons.springs import CRANK_ANGLE, SCENE
from sealkit.classroom.panel import panels
from sealkit.fastening import stiffness
from sealkit.report.joint_diagram import JointDiagram
from sealkit.units import from_si, show

FOUR = builds.demo("boosted-four")
KNOBS = {k.path: k for k in SCENE.knobs(FOUR)}
SHANK = SCENE.picks(FOUR)[0]


def at(path: str, end: str) -> JointDiagram:
    knob = KNOBS[path]
    value = {"low": knob.low, "high": knob.high}[end]
    if path == CRANK_ANGLE:
        return springs_lesson.find(FOUR, value)
    return springs_lesson.find(FOUR.vary({path: from_si(value, knob.kind)}))


# what grows (+) and what falls (-) as a knob goes from its low to its high end
@pytest.mark.parametrize(
    ("path", "gas", "left", "share", "off"),
    [
        ("charge.boost", +1, -1, None, 0),
        ("fasteners.torque", 0, +1, None, +1),
        # a long fastener takes less of the gas, so that more of it comes off the clamp
        ("fasteners.grip_head", 0, -1, -1, -1),
        ("head.load_introduction", 0, +1, +1, +1),
    ],
)
def test_knobs_move_the_right_way(path: str, gas: int, left: int, share: Any, off: int) -> None:
    low, high = at(path, "low"), at(path, "high")
    for sign, pick in (
        (gas, lambda f: f.peak.gas),
        (left, lambda f: f.peak.clamp),
        (share, lambda f: f.share(f.peak)),
        (off, lambda f: f.separation),
    ):
        a, b = pick(low), pick(high)
        if sign is None:
            continue
        if sign:
            assert sign * (b - a) > 0.005 * abs(a)
        else:
            assert b == pytest.approx(a, rel=2e-3)
    told = [str(SCENE.sentence(f, "metric")) for f in (low, high)]
    assert told[0] != told[1] and show(high.separation, "force") in told[1]


def test_crank_angle_moves_only_the_markers_and_the_drawing() -> None:
    early, peak = springs_lesson.find(FOUR, np.radians(-90)), springs_lesson.find(FOUR)
    one, two = (SCENE.plot.values(f, "metric") for f in (early, peak))
    for key in ("bolt", "members", "gas peak", "triangle"):
        np.testing.assert_array_equal(one[key]["y"], two[key]["y"])
    assert np.ptp(two["gas now"]["y"]) > 10 * np.ptp(one["gas now"]["y"]) > 0
    assert SCENE.play == CRANK_ANGLE and CRANK_ANGLE in KNOBS


def test_forces_balance_everywhere() -> None:
    for name in builds.demos():
        found = springs_lesson.find(builds.demo(name))
        for state in (found.rest, found.now, found.peak):
            pulls = found.bolts * state.tension
            assert pulls == pytest.approx(state.clamp + state.gas, rel=1e-6)
        assert 0 < found.share(found.peak) < 0.5
        assert found.share(found.rest) == 0.0
        assert np.all(np.diff(found.tensions) > 0) and np.all(np.diff(found.stretches) > 0)
        assert np.all(np.diff(found.clamps) <= 1e-6 * found.clamps[0])


def test_the_green_line_ends_where_the_head_lifts_off() -> None:
    found = springs_lesson.find(FOUR)
    gas = found.bolts * (found.tensions - found.clamps)
    assert np.all(found.clamps[gas > 1.001 * found.separation] <= 1e-6)
    assert np.all(found.clamps[gas < 0.98 * found.separation] > 0)
    # once the head is off, all of the gas goes into the fasteners
    assert found.bolts * found.tensions[-1] == pytest.approx(gas[-1])


def test_gas_bar_fits_between_the_lines() -> None:
    data = SCENE.plot.values(springs_lesson.find(FOUR), "metric")
    bolt, members = data["bolt"], data["members"]
    for key in ("gas now", "gas peak"):
        x, (low, high) = data[key]["x"][0], data[key]["y"]
        assert np.interp(x, bolt["x"], bolt["y"]) == pytest.approx(high, rel=1e-3)
        assert np.interp(x, members["x"], members["y"]) == pytest.approx(low, rel=0.02)
    # and is split where the tension stood without gas
    takes, loses = data["takes"]["y"], data["loses"]["y"]
    assert loses[1] == takes[0] == pytest.approx(bolt["y"][1])
    assert [loses[0], takes[1]] == pytest.approx(list(data["gas now"]["y"]))
    told = data["takes"]["text"][0].split("<br>")  # lines of one label, which cannot overlap
    assert told[0] == f"fastener: +{takes[1] - takes[0]:.1f} kN"
    assert told[1] == f"clamp: −{loses[1] - loses[0]:.1f} kN" and "text" not in data["loses"]


def test_numbers_are_those_of_the_report() -> None:
    whole = reports.run(FOUR)
    found = springs_lesson.find(whole)
    assert found.peak.clamp == pytest.approx(float(np.min(whole.over_angle.clamp)))
    assert found.peak.lift == pytest.approx(float(np.max(whole.over_angle.seal_lift)))
    rows = SCENE.tables(found, "metric")
    assert rows["Who carries the gas load"][2]["clamp left"] == show(found.peak.clamp, "force")
    springs = found.springs
    give = {k: 1 / getattr(springs, k) for k in ("fastener", "members", "gasket")}
    let_off = FOUR.head.load_introduction * give["members"] + give["gasket"]
    assert springs.constant == pytest.approx(let_off / sum(give.values()))
    # near rest the joint shares as the springs say
    small = float(whole.joint.under_gas(whole.sealing, 1e5).bolt_force) - found.rest.tension
    assert small * found.bolts / (1e5 * whole.joint.gas_area) == pytest.approx(
        springs.constant, rel=0.1
    )


def test_shanks() -> None:
    full, waist = (springs_lesson.find(SHANK.put(FOUR, o)) for o in springs_lesson.SHANKS[1:])
    assert waist.report.joint.bolt_stiffness < full.report.joint.bolt_stiffness
    assert waist.share(waist.peak) < full.share(full.peak)
    back = SHANK.put(SHANK.put(FOUR, "waisted shank"), "as on the sheet")
    assert back.fasteners == FOUR.fasteners
    with pytest.raises(InputError, match="one of"):
        SHANK.put(FOUR, "rubber")
    rows = SCENE.buttons["Compare stiff and soft fasteners"](FOUR, full, "inch")
    made = next(iter(rows.values()))
    assert len(made) == 4 and "lbf" in made[0]["clamp left"]


def test_verdicts_at_one_angle() -> None:
    firm = SCENE.sentence(springs_lesson.find(FOUR), "metric")
    assert firm.good is True and firm.word == "CLAMPED"
    loose = springs_lesson.find(FOUR.vary({"fasteners.torque": "20 N*m"}))
    said = SCENE.sentence(loose, "metric")
    assert said.good is False and said.word == "SEPARATED" and loose.now.clamp == 0.0
    # without any clamp every newton of the gas goes into the fasteners
    assert loose.bolts * loose.now.tension == pytest.approx(loose.now.gas)


def test_a_seal_that_gas_passes_is_not_ticked_while_it_follows_the_lift() -> None:
    found = springs_lesson.find(FOUR.vary({"fasteners.torque": "77 N*m"}))
    said = SCENE.sentence(found, "metric")
    assert said.good is False and said.word == "CLAMPED, BUT GAS PASSES"
    assert 0.0 < found.left < found.wanted and found.now.lift < found.springback
    marks = {words: good for words, _, good in SCENE.tiles(found)}
    assert True not in marks.values() and marks["left on the seal"] is False
    # at the peak it is what the report judges
    judged = next(r for r in found.report.average.limits if r.check == "residual")
    assert (found.left, found.wanted) == pytest.approx((judged.capacity, judged.demand), rel=1e-3)
    early = springs_lesson.find(found.report, np.radians(-90))
    assert SCENE.sentence(early, "metric").word == "CLAMPED", "there the gas wants less"


def test_tightened_further_a_fastener_takes_no_more_of_the_gas() -> None:
    """Straight springs share it as before; this gasket is stiffer the harder it is pressed."""
    before, after = (springs_lesson.find(b) for b in (FOUR, wrench.tighter(FOUR)))
    ratio = after.taken(after.peak) / before.taken(before.peak)
    assert 0.8 < ratio < 0.85
    told = springs_lesson.EXERCISES.both(4, FOUR)[1].text
    assert f"{ratio:.2f} times as much" in told and "stiffer the harder it is pressed" in told


def test_lines_in_both_systems() -> None:
    found = springs_lesson.find(FOUR)
    metric, inch = (SCENE.plot.values(found, s) for s in ("metric", "inch"))
    np.testing.assert_allclose(inch["bolt"]["x"], metric["bolt"]["x"] / 25.4, rtol=1e-9)
    np.testing.assert_allclose(inch["bolt"]["y"], metric["bolt"]["y"] * 224.80894, rtol=1e-6)
    for one in (metric, inch):
        for data in one.values():
            assert all(np.all(np.isfinite(data[axis])) for axis in "xy")
    points = sum(np.size(t["y"]) for t in SCENE.plot.traces(found, "metric"))
    assert points <= 800
    assert "thou" in str(SCENE.plot.layout([found], "inch"))


def _svg(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(re.search(r"<svg.*</svg>", text, re.DOTALL)[0])  # type: ignore[index]


@pytest.mark.parametrize("name", builds.demos())
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_pictures_have_words_and_no_holes(name: str, system: str) -> None:
    found = springs_lesson.find(builds.demo(name))
    shown = springs_lesson.picture(found, system)
    svg = _svg(shown.html)
    assert svg.get("role") == "img"
    assert show(found.peak.clamp, "force", system) in str(svg.get("aria-label"))
    assert "nan" not in shown.html and len(shown.text.splitlines()) == 2


def test_the_opening_picture_does_not_answer_what_the_panel_asks() -> None:
    found = springs_lesson.find(FOUR)
    opens, answer = springs_lesson.picture(FOUR), springs_lesson.picture(found)
    for force in (found.peak.clamp, found.forces(found.peak)[0]):
        assert show(force, "force") in answer.html
        assert show(force, "force") not in opens.html + opens.text
    assert answer.html.count("<rect") == opens.html.count("<rect") + 3
    assert "one bore" in opens.html and show(found.peak.gas, "force") in opens.html


# --------------------------------------------------------------------------- exercises
def test_exercise_values_are_the_engines() -> None:
    found = springs_lesson.find(FOUR)
    assert springs_lesson.EXERCISES.both(1, FOUR)[0].value == pytest.approx(found.peak.tension)
    two = springs_lesson.EXERCISES.both(2, FOUR)[0]
    assert two.value == pytest.approx(found.separation)
    constant = found.springs.constant
    line = float(stiffness.separation_load.si(found.rest.tension, constant)) * found.bolts
    assert two.pitfalls[1].value == pytest.approx(line)
    assert springs_lesson.EXERCISES.both(3, FOUR)[0].value == (
        "each feels less of the gas, and less clamp is left"
    )
    assert str(springs_lesson.EXERCISES.both(4, FOUR)[0].value).startswith("no more")


def test_exercise_four_wants_something_to_tighten() -> None:
    yielding = FOUR.vary({"fasteners.tightening": "yield", "fasteners.torque": None})
    with pytest.raises(InputError, match=r"fasteners\.tightening"):
        springs_lesson.EXERCISES.both(4, yielding)[0]


def test_hand_work_is_near_the_joint() -> None:
    found = springs_lesson.find(FOUR)
    kb, km, kg, preload, gas = springs_lesson.by_hand(found)
    share = stiffness.joint_constant(kb, stiffness.series([km, kg]))
    pull = stiffness.bolt_load(preload, share, gas).to("N").magnitude
    # springs that stay straight: the gasket softens on the way back, so the fastener gets more
    assert 0.95 * found.peak.tension < pull < found.peak.tension
    assert show(found.peak.tension, "force") in springs_lesson.by_panel(found)


def test_static_panel_is_the_same_scene() -> None:
    shown = panels.static(FOUR, SCENE, settings={CRANK_ANGLE: "0 deg", "Fastener": "waisted shank"})
    assert shown.result.angle == pytest.approx(0.0)
    assert shown.result.report.build.fasteners.shank[0].diameter == pytest.approx(0.0102)
