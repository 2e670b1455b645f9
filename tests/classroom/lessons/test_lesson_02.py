"""Lesson 02: the panel follows the physics, and every exercise knows its wrong turns."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import InputError, analysis
from sealkit import build as builds
from sealkit.analysis import wrench
from sealkit.analysis.wrench import Tightened
from sealkit.classroom.lessons import wrench as wrench_lesson
from sealkit.classroom.lessons.wrench import PLOT, SCENE
from sealkit.classroom.panel import looks, panels
from sealkit.fastening import tightening
from sealkit.report import kept_report
from sealkit.units import from_si, show

FOUR = builds.demo("boosted-four")
KNOBS = {k.path: k for k in SCENE.knobs(FOUR)}
LUBRICANT, METHOD = SCENE.picks(FOUR)


def at(path: str, end: str) -> Tightened:
    knob = KNOBS[path]
    value = {"low": knob.low, "high": knob.high}[end]
    return wrench_lesson.find(FOUR.vary({path: from_si(value, knob.kind)}))


# what grows (+) and what falls (-) as a knob goes from its low to its high end
@pytest.mark.parametrize(
    ("path", "preload", "share", "head"),
    [
        ("fasteners.torque", +1, 0, 0),
        ("fasteners.friction_thread", -1, -1, -1),
        ("fasteners.friction_bearing", -1, -1, +1),
    ],
)
def test_knobs_move_the_right_way(path: str, preload: int, share: int, head: int) -> None:
    low, high = at(path, "low"), at(path, "high")
    for sign, pick in (
        (preload, lambda f: f.preloads[1]),
        (share, lambda f: f.split.stretching / f.split.total),
        (head, lambda f: f.split.head / f.split.total),
    ):
        a, b = float(pick(low)), float(pick(high))
        if sign:
            assert sign * (b - a) > 0.01 * a
        else:
            assert b == pytest.approx(a)
    told = [str(SCENE.sentence(f, "metric")) for f in (low, high)]
    assert told[0] != told[1] and show(high.preloads[1], "force") in told[1]
    drawn = [SCENE.drawing(f, "metric") for f in (low, high)]  # type: ignore[misc]
    assert drawn[0] != drawn[1] and show(float(low.split.total), "torque") in drawn[0]


def test_knobs_of_friction_run_over_the_lubricant() -> None:
    row = tightening.friction.si("engine oil")
    knob = KNOBS["fasteners.friction_thread"]
    assert (knob.low, knob.value, knob.high) == (row.thread_low, row.thread, row.thread_high)
    own = FOUR.vary({"fasteners.friction_thread": 0.2})
    assert SCENE.knobs(own)[1].high == 0.2  # a sheet's own value is always in reach


def test_curve_passes_through_where_the_panel_stands() -> None:
    for found in (wrench_lesson.find(FOUR), at("fasteners.friction_thread", "high")):
        here = np.interp(found.mean_friction, found.friction, found.given)
        assert here == pytest.approx(found.preloads[1], rel=1e-6)
        assert np.all(np.diff(found.given) <= 0) and np.all(np.diff(found.yielding) <= 0)
        assert np.all(found.given <= found.yielding * (1 + 1e-12))


@pytest.mark.parametrize("name", builds.demos())
@pytest.mark.parametrize("method", ["torque", "torque and angle", "stretch", "yield"])
def test_now_lies_on_the_curve_for_any_friction(name: str, method: str) -> None:
    """A snug torque that comes near to yield makes a step in the curve, and none in the dot."""
    build = wrench.with_method(builds.demo(name), method)
    for friction in (0.06, 0.09, 0.12, 0.15, 0.2, 0.3):
        change = {"fasteners.friction_thread": friction, "fasteners.friction_bearing": friction}
        found = wrench_lesson.find(build.vary(change))
        (x,), (y,) = PLOT.numbers("now", found)
        on_curve = np.interp(x, *PLOT.numbers("gives", found))
        assert on_curve == pytest.approx(y, rel=1e-6)


def test_curve_of_each_method() -> None:
    stretch = wrench_lesson.find(METHOD.put(FOUR, "stretch"))
    assert np.ptp(stretch.given[:20]) == pytest.approx(0.0, abs=1.0)  # no word of friction
    angle = wrench_lesson.find(METHOD.put(FOUR, "torque and angle"))
    torque = wrench_lesson.find(FOUR)
    inside = slice(5, 15)
    fall = [f.given[inside][0] / f.given[inside][-1] for f in (stretch, angle, torque)]
    assert fall[0] < fall[1] < fall[2]
    to_yield = wrench_lesson.find(METHOD.put(FOUR, "yield"))
    np.testing.assert_array_equal(to_yield.given, to_yield.yielding)
    assert SCENE.sentence(to_yield, "metric").word == "AT YIELD ON PURPOSE"
    low, middle, high = to_yield.preloads
    said = to_yield.clamp.scatter_words
    assert said.startswith(f"{100 * (low / middle - 1):.0f} to +{100 * (high / middle - 1):.0f} %")
    assert torque.clamp.scatter_words.startswith("±")


def test_nothing_is_green_that_stands_over_the_line_of_proof() -> None:
    """Over proof by the twist alone, and over it hot, which the whole joint tells."""
    tight = FOUR.vary({"fasteners.torque": "152 N*m"})
    found = wrench_lesson.find(tight)
    assert found.tension[2] < found.clamp.strength.proof < found.equivalent[2]
    said = SCENE.sentence(found, "metric")
    assert said.good is None and "BUT FOR THE TWIST" in said.word and "cold" in said.line
    marks = {words: good for words, _, good in SCENE.tiles(found)}
    assert marks["high end, with twist"] is None
    whole = looks.whole(kept_report(tight))
    assert "fasteners, proof strength, hot full load, high preload" in whole
    assert SCENE.sentence(wrench_lesson.find(FOUR), "metric").good is True


def test_other_methods_start_from_the_same_middle() -> None:
    middle = wrench_lesson.find(FOUR).preloads[1]
    widths = {}
    for method in ("torque", "torque and angle", "stretch"):
        found = wrench_lesson.find(METHOD.put(FOUR, method))
        assert found.preloads[1] == pytest.approx(middle, rel=1e-3)
        widths[method] = found.preloads[2] - found.preloads[0]
    assert widths["stretch"] < widths["torque and angle"] < widths["torque"]


def test_picks_go_round_and_come_back() -> None:
    there = METHOD.put(FOUR, "stretch")
    assert there.fasteners.torque is None and there.fasteners.preload_scatter is None
    assert METHOD.put(METHOD.put(there, "yield"), "torque").fasteners == FOUR.fasteners
    slippery = LUBRICANT.put(FOUR, "moly paste")
    assert METHOD.put(slippery, "stretch").fasteners.lubricant == "moly paste"
    assert LUBRICANT.put(slippery, "engine oil").fasteners == FOUR.fasteners
    with pytest.raises(InputError, match="one of"):
        LUBRICANT.put(FOUR, "marmalade")
    with pytest.raises(InputError, match="one of"):
        METHOD.put(FOUR, "hammer")


def test_slippery_lubricant_gives_more_and_can_yield() -> None:
    found = wrench_lesson.find(LUBRICANT.put(FOUR, "moly paste"))
    assert found.preloads[1] > wrench_lesson.find(FOUR).preloads[1]
    said = SCENE.sentence(found, "metric")
    assert said.good is False and said.word == "CAN YIELD ON THE WRENCH"
    assert SCENE.sentence(wrench_lesson.find(FOUR), "metric").good is True


def test_stress_is_that_of_the_limits() -> None:
    from sealkit import report

    found = wrench_lesson.find(FOUR)
    whole = report.run(FOUR)
    assert found.equivalent[2] == pytest.approx(whole.case.tightening_stress)
    assert np.all(found.equivalent > found.tension)
    assert found.tension * found.clamp.weakest_area == pytest.approx(found.preloads)


def test_lines_in_both_systems() -> None:
    found = wrench_lesson.find(FOUR)
    metric, inch = (SCENE.plot.values(found, s) for s in ("metric", "inch"))
    np.testing.assert_allclose(inch["gives"]["y"], metric["gives"]["y"] * 224.80894, rtol=1e-6)
    for one in (metric, inch):
        for data in one.values():
            assert np.all(np.isfinite(data["y"]))
    assert "lbf" in str(SCENE.plot.layout([found], "inch"))
    assert sum(np.size(t["y"]) for t in SCENE.plot.traces(found, "metric")) <= 200


def test_tables_and_buttons() -> None:
    found = wrench_lesson.find(FOUR)
    rows = SCENE.tables(found, "metric")["One fastener, as tightened"]
    assert [r["preload"] for r in rows] == list(wrench_lesson.ENDS)
    assert rows[1]["as tightened"] == show(found.clamp.preload.assembly, "force")
    for words, button in SCENE.buttons.items():
        made = next(iter(button(FOUR, found, "inch").values()))
        assert len(made) >= 4 and all(r["case"] for r in made), words
        assert any("lbf" in v for v in made[0].values())


@pytest.mark.parametrize(
    ("name", "words"), [("boosted-four", "its thread"), ("methanol-drag", "both its threads")]
)
def test_a_bolt_settles_at_one_thread_and_a_stud_at_two(name: str, words: str) -> None:
    found = wrench_lesson.find(builds.demo(name))
    rows = SCENE.tables(found, "metric")["What stands behind it"]
    assert f"settles afterwards, at {words}" in [r["what"] for r in rows]


def test_curves_keep_their_number_of_points_and_so_their_labels() -> None:
    """Plotly loses the label of a line whose number of points changes."""
    moved = (at("fasteners.friction_thread", end) for end in ("low", "high"))
    assert len({one.friction.size for one in (wrench_lesson.find(FOUR), *moved)}) == 1


@pytest.mark.parametrize("name", builds.demos())
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_picture_has_words_and_scale(name: str, system: str) -> None:
    build = builds.demo(name)
    shown = wrench_lesson.picture(build, system)
    svg = ElementTree.fromstring(re.search(r"<svg.*</svg>", shown.html, re.DOTALL)[0])  # type: ignore[index]
    found = wrench_lesson.find(build)
    assert svg.get("role") == "img"
    assert show(found.split.stretching, "torque", system) in str(svg.get("aria-label"))
    assert "nan" not in shown.html and shown.text
    bars = [float(r.get("width", 0)) for r in svg.iter("rect") if r.get("height") == "14"]
    # under the head, stretch, thread
    assert bars[1] / sum(bars) == pytest.approx(found.stretching, abs=0.003)
    assert bars[1] == min(bars)


# --------------------------------------------------------------------------- exercises
def test_exercise_values_are_the_engines() -> None:
    clamp, _ = analysis.clamp_side(FOUR)
    one = wrench_lesson.EXERCISES.both(1, FOUR)[0].value
    assert one == pytest.approx(clamp.preload.assembly * 1.3558179, rel=1e-6)
    found = wrench_lesson.find(FOUR)
    two = wrench_lesson.EXERCISES.both(2, FOUR)[0].value
    assert two == pytest.approx(float(found.split.stretching / found.split.total))
    paste = wrench_lesson.find(wrench.with_lubricant(FOUR, "moly paste"))
    three = wrench_lesson.EXERCISES.both(3, FOUR)[0].value
    assert three == pytest.approx(paste.preloads[1] / found.preloads[1])
    four = wrench_lesson.EXERCISES.both(4, FOUR)[0].value
    assert four == "stretch measured, to the same middle preload"


def test_exercise_one_on_an_inch_sheet_asks_the_other_scale() -> None:
    v8 = builds.demo("na-iron-v8")
    made = wrench_lesson.EXERCISES.both(1, v8)[0]
    assert made.unit == "lbf" and "scale in N·m" in made.text
    right, wanted = made.value, made.pitfalls[0].value
    assert isinstance(right, float) and isinstance(wanted, float) and right < wanted


def test_hand_work_agrees_with_the_engine() -> None:
    arms = wrench_lesson.arms(FOUR)
    pull = (FOUR.get("fasteners.torque") / sum(arms[1:], arms[0])).to("N").magnitude
    found = wrench_lesson.find(FOUR)
    assert pull == pytest.approx(found.preloads[1])
    stretch = (from_si(pull, "force") / wrench_lesson.stiffness(FOUR)).to("m").magnitude
    assert stretch == pytest.approx(found.preloads[1] / found.clamp.own_stiffness)
    assert f"{found.nut_factor:.3f}" in wrench_lesson.by_table(found)
    phosphate = wrench_lesson.find(wrench.with_lubricant(FOUR, "phosphated and oiled"))
    assert "the table has none" in wrench_lesson.by_table(phosphate)


def test_sources_have_a_status_each() -> None:
    text = wrench_lesson.sources(wrench_lesson.find(FOUR)).text
    assert "from memory" in text and "published" in text and "the build sheet" in text


def test_static_panel_is_the_same_scene() -> None:
    shown = panels.static(
        FOUR, SCENE, settings={"Lubricant": "anti-seize", "Bolt torque": "90 N*m"}
    )
    assert shown.result.build.fasteners.lubricant == "anti-seize"
    assert shown.result.build.fasteners.torque == pytest.approx(90.0)
