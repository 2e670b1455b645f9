"""Lesson 12: the panel lays the model over a made log, and every exercise knows its wrong turns."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from sealkit import build as builds
from sealkit.classroom.homework import answers
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons import measure as measure_lesson
from sealkit.classroom.lessons.measure import SCENE
from sealkit.evidence import made as bench
from sealkit.evidence.made import Overlay
from sealkit.evidence.trace import held

FOUR = builds.demo("boosted-four")
KNOBS = {k.path: k for k in SCENE.knobs(FOUR)}
OPEN = {path: knob.value for path, knob in KNOBS.items()}
MADE = bench.made(FOUR)
TRUTH = {
    "phase": bench.PHASE,
    "offset": bench.OFFSET,
    **{path.partition(".")[2]: held(MADE.truth, path) for path in bench.APART},
}


def laid(**moved: float) -> Overlay:
    found = SCENE.work(FOUR, {**OPEN, **moved})
    assert isinstance(found, Overlay)
    return found


def test_it_opens_with_the_sheet_off_the_log() -> None:
    found = laid()
    assert not found.lies and found.misfit > 5.0 * found.allowed
    assert found.peaks[0] > 1.1 * found.peaks[1], "the log stands above the model"
    said = SCENE.sentence(found, "metric")
    assert said.word == "NOT ON THE LOG YET" and said.good is None and said.number.endswith("bar")
    assert "psi" in SCENE.sentence(found, "inch").words


def test_with_all_of_the_truth_the_model_lies_on_the_log() -> None:
    found = SCENE.work(FOUR, TRUTH)
    assert found.lies and SCENE.sentence(found, "metric").good is True
    assert SCENE.tiles(found)[0][2] is True
    kept = SCENE.kept(FOUR, found)
    assert kept.burn.ca50 == TRUTH["ca50"] and kept.fasteners == FOUR.fasteners


@pytest.mark.parametrize("path", list(KNOBS))
def test_every_knob_matters_and_one_alone_is_not_enough(path: str) -> None:
    without = SCENE.work(FOUR, {**TRUTH, path: OPEN[path]})
    assert without.misfit > SCENE.work(FOUR, TRUTH).misfit
    assert not laid(**{path: TRUTH[path]}).lies


def test_what_the_knobs_do_to_the_model() -> None:
    start = laid()
    later = laid(phase=KNOBS["phase"].high)
    assert later.angle[np.argmax(later.model)] > start.angle[np.argmax(start.model)]
    high = laid(offset=1e5)
    np.testing.assert_allclose(high.model - start.model, 1e5)
    assert laid(filling=KNOBS["filling"].high).peaks[1] > start.peaks[1]
    assert laid(ca50=KNOBS["ca50"].low).peaks[1] > laid(ca50=KNOBS["ca50"].high).peaks[1]
    assert laid(wall_coefficient=KNOBS["wall_coefficient"].high).peaks[1] < start.peaks[1]
    np.testing.assert_array_equal(later.logged, start.logged, "the log stays as it is")


@pytest.mark.parametrize("name", builds.demos())
def test_the_fit_finds_the_truth_of_every_demo(name: str) -> None:
    one = bench.made(builds.demo(name))
    look = one.look
    assert {f.name for f in look.findings if f.wrong} == {"phase", "offset"}
    knobs = {k.path: k.value for k in SCENE.knobs(one.sheet)}
    for told in bench.tellings(SCENE.work(one.sheet, knobs)):
        assert abs(told.fitted - told.truth) < 1.25 * told.wide, (name, told)
        assert told.wide < 2.0 * abs(told.truth - told.sheet), (name, told)


def test_without_the_phase_the_burn_is_blamed() -> None:
    blind, freed = bench.without_phase(MADE)
    truth = TRUTH["ca50"]
    assert abs(freed - truth) < np.radians(0.3) < np.radians(0.6) < blind - truth


def test_the_zero_by_hand_is_the_logs() -> None:
    one = bench.by_hand(FOUR)
    assert one.offset == pytest.approx(bench.OFFSET, abs=0.05e5)
    assert "the truth: -0.35 bar" in measure_lesson.told(FOUR)


def test_the_fit_and_the_verdicts_are_told() -> None:
    found = laid()
    fit, verdicts = (SCENE.buttons[k](FOUR, found, "metric") for k in SCENE.buttons)
    rows, faults = fit.values()
    assert [r["what"] for r in rows][:2] == ["Log angle ahead", "Log too high"]
    assert len(rows) == 6 and all(r["truth"] != r["sheet"] for r in rows)
    assert len(faults) == 2
    before_after, following = verdicts.values()
    peaks = [float(r["design peak"].split()[0]) for r in before_after]
    assert peaks[1] > peaks[0], "the log makes more than the sheet"
    assert all(r["with other choices of the model"] for r in before_after)
    assert following and all(r["how"] for r in following)


def test_where_nothing_would_narrow_it_that_is_told() -> None:
    drag = builds.demo("methanol-drag")
    knobs = {k.path: k.value for k in SCENE.knobs(drag)}
    found = SCENE.work(drag, knobs)
    rows = list(SCENE.buttons["Verdict, and what next"](drag, found, "metric").values())[1]
    assert len(rows) >= 1


def test_few_points_in_both_systems() -> None:
    found = laid()
    for system in ("metric", "inch"):
        values: Any = SCENE.plot.values(found, system)
        assert all(np.all(np.isfinite(v["y"])) for v in values.values())
    assert sum(np.size(t["y"]) for t in SCENE.plot.traces(found, "metric")) <= 800


# --------------------------------------------------------------------------- exercises
@pytest.mark.parametrize("number", [1, 2, 3, 4])
@pytest.mark.parametrize("system", ["metric", "inch"])
@pytest.mark.parametrize("name", ["boosted-four", "na-iron-v8"])
def test_exercises_know_right_and_wrong(number: int, system: str, name: str) -> None:
    made = measure_lesson.question(number, builds.demo(name), system)
    assert len(made.pitfalls) >= 2
    assert answers.check(made, answers.written(made)).right
    for pitfall in made.pitfalls:
        got = answers.check(made, answers.written(made, pitfall.value))
        assert not got.right and got.pitfall == pitfall.name
    assert answers.check(made, "plenty").right is False


def test_exercise_values_are_the_logs() -> None:
    one = MADE.look
    assert measure_lesson.question(1, FOUR).value == pytest.approx(-bench.by_hand(FOUR).offset)
    two = measure_lesson.question(2, FOUR).value
    assert two == pytest.approx(MADE.log.peak_angle - one.phase[0])
    three = measure_lesson.question(3, FOUR).value
    assert isinstance(three, float) and three > MADE.log.peaks.max() - one.offset[0]


def test_checks_are_rows_and_within() -> None:
    text = lesson.check_table(measure_lesson.CHECKS).text
    assert "✗" not in text and text.count("✓") == 4


def test_sources_have_a_status_each() -> None:
    text = measure_lesson.sources(FOUR).text
    assert "invented" in text and "from memory" in text


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_picture_has_words(system: str) -> None:
    shown = measure_lesson.picture(FOUR, system)
    assert "angle ahead" in shown.html and ("psi" in shown.html) is (system == "inch")
