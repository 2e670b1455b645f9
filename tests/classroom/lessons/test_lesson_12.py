"""Lesson 12: the panel lays the model over a made log, and every exercise knows its wrong turns."""

from __future__ import annotations

import functools
import itertools
from typing import Any

import numpy as np
import pytest

from sealkit import build as builds
from sealkit.classroom.lessons import measure as measure_lesson
from sealkit.classroom.lessons.measure import SCENE
from sealkit.classroom.panel import panels
from sealkit.evidence import made as bench
from sealkit.evidence.made import Overlay
from sealkit.evidence.trace import held
from sealkit.pressure.ideal import polytropic_offset

FOUR = builds.demo("boosted-four")
KNOBS = {k.path: k for k in SCENE.knobs(FOUR)}
OPEN = {path: knob.value for path, knob in KNOBS.items()}


@functools.cache
def made() -> bench.Made:
    return bench.made(FOUR)


@functools.cache
def truth() -> dict[str, float]:
    apart = {path.partition(".")[2]: held(made().truth, path) for path in bench.APART}
    return {"phase": bench.PHASE, "too_low": -bench.OFFSET, **apart}


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
    found = SCENE.work(FOUR, truth())
    assert found.lies and SCENE.sentence(found, "metric").good is True
    assert SCENE.tiles(found)[0][2] is True
    kept = SCENE.kept(FOUR, found)
    assert kept.burn.ca50 == truth()["ca50"] and kept.fasteners == FOUR.fasteners


@pytest.mark.parametrize("path", list(KNOBS))
def test_every_knob_matters_and_one_alone_is_not_enough(path: str) -> None:
    without = SCENE.work(FOUR, {**truth(), path: OPEN[path]})
    assert without.misfit > SCENE.work(FOUR, truth()).misfit
    assert not laid(**{path: truth()[path]}).lies


def test_what_the_knobs_do_to_the_model() -> None:
    start = laid()
    later = laid(phase=KNOBS["phase"].high)
    assert later.angle[np.argmax(later.model)] > start.angle[np.argmax(start.model)]
    low = laid(too_low=1e5)
    np.testing.assert_allclose(low.model - start.model, -1e5)
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
    blind, freed = bench.without_phase(made())
    true = truth()["ca50"]
    assert abs(freed - true) < np.radians(0.3) < np.radians(0.6) < blind - true


def test_the_zero_by_hand_is_the_logs() -> None:
    one = bench.by_hand(FOUR)
    assert one.offset == pytest.approx(bench.OFFSET, abs=0.05e5)
    first, second, r, n = measure_lesson.zero(FOUR)
    told = measure_lesson.told(polytropic_offset(first, second, r, n), FOUR)
    assert "by hand: 0.36 bar too low" in told and "in truth: 0.35 bar too low" in told


def test_the_fit_and_the_verdicts_are_told() -> None:
    found = laid()
    fit, verdicts = (SCENE.buttons[k](FOUR, found, "metric") for k in SCENE.buttons)
    rows, faults = fit.values()
    assert [r["what"] for r in rows][:2] == ["Log ahead by,\u00a0°", "Log too low,\u00a0bar"]
    assert rows[1]["true"] == "0.35" and "too low" in faults[1]["found"], "sign and words agree"
    assert all(r["fit"].count("±") == 1 for r in rows)
    assert len(rows) == 6 and all(r["true"] != r["sheet"] for r in rows)
    assert len(faults) == 2
    before_after, following, how = verdicts.values()
    sheet, log = (float(before_after[0][k].split()[0]) for k in ("by the sheet", "by the log"))
    assert log > sheet, "the log makes more than the sheet"
    assert all(all(r.values()) for r in (*before_after, *following, *how))
    hours = [max(float(r["takes"].removesuffix(" h")), 0.25) for r in following]
    narrows = [float(r["narrows margin by"].removesuffix(" %")) for r in following]
    worth = [n / h for n, h in zip(narrows, hours, strict=True)]
    assert all(a >= b - 3.0 for a, b in itertools.pairwise(worth)), "as the caption says"


@pytest.mark.parametrize("name", builds.demos())
def test_charts_hold_what_the_sliders_do_or_say_what_leaves(name: str) -> None:
    sheet = builds.demo(name)
    knobs = {k.path: k for k in SCENE.knobs(sheet)}
    opens = {path: k.value for path, k in knobs.items()}
    hard = dict.fromkeys(("filling",), "high") | dict.fromkeys(("ca50", "duration"), "low")
    hard |= {"wall_coefficient": "low", "too_low": "low"}
    first = SCENE.work(sheet, opens)
    layout = SCENE.plot.layout([first], "metric")
    assert not any(SCENE.plot.values(first, "metric")["beyond"]["text"]), "it opens whole"
    tried = [
        {**opens, path: getattr(k, end)} for path, k in knobs.items() for end in ("low", "high")
    ]
    for moved in (*tried, {path: getattr(k, hard.get(path, "high")) for path, k in knobs.items()}):
        values = SCENE.plot.values(SCENE.work(sheet, moved), "metric")
        assert np.max(values["model"]["y"]) < layout["yaxis"]["range"][1]
        (low, high), left = layout["yaxis2"]["range"], values["left"]["y"]
        above, below = values["beyond"]["text"]
        assert above == (f"▲ to {left.max():.0f} bar" if left.max() > high else "")
        assert below == (f"▼ to −{-left.min():.0f} bar" if left.min() < low else "")


def test_nothing_is_said_of_the_joint_before_the_model_lies_on_the_log() -> None:
    panel = panels.panel(FOUR, SCENE)
    assert "Whole joint: the log is not matched yet." in panel.result.value
    assert "holds" not in panel.result.value and "to call" not in panel.result.value
    assert "✗" not in panel.tiles.value, "as neutral as the verdict"
    for knob, row in zip(panel.knobs, panel.rows, strict=True):
        row.box.value = knob.shown(truth()[knob.path.rpartition(".")[2]], panel.system)
    assert "not matched" not in panel.result.value and "Whole joint (" in panel.result.value


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
def test_exercise_values_are_the_logs() -> None:
    one = made().look
    hand, value = bench.by_hand(FOUR), measure_lesson.EXERCISES.both(1, FOUR)[0].value
    assert value == pytest.approx(np.log(hand.second / hand.first) / np.log(hand.ratio))
    assert isinstance(value, float) and value > hand.exponent, "too low a zero looks too steep"
    two = measure_lesson.EXERCISES.both(2, FOUR)[0].value
    assert two == pytest.approx(made().log.peak_angle - one.phase[0], abs=np.radians(0.1))
    three = measure_lesson.EXERCISES.both(3, FOUR)[0].value
    assert isinstance(three, float) and three > made().log.peaks.max() - one.offset[0]


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_real_bolts_stand_beside_the_fit(system: str) -> None:
    shown = measure_lesson.bolts(system)
    assert "✗" not in shown.text and shown.text.count("✓") == 2 and "published" in shown.text
    assert shown.html.count("<circle") == 30
    told = shown.text.partition("What did not match")[2]
    assert "0.21" in told and "0.30" in told and "0.18" in told
    for text in (shown.text, shown.html):
        assert (" kN" in text) is (system == "metric") is not (" lbf" in text)


def test_sources_have_a_status_each() -> None:
    text = measure_lesson.sources(FOUR).text
    assert "invented" in text and "from memory" in text


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_picture_has_words(system: str) -> None:
    shown = measure_lesson.picture(FOUR, system)
    assert "angle ahead" in shown.html and ("psi" in shown.html) is (system == "inch")
