"""Lesson 09: probabilities move as physics says, and every exercise knows its wrong turns."""

from __future__ import annotations

from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import InputError, scatter
from sealkit import build as builds
from sealkit.classroom.drawing.scatter_chart import hundred
from sealkit.classroom.lessons import scatter as scatter_lesson
from sealkit.classroom.lessons.scatter import SCENE
from sealkit.classroom.panel import panels
from sealkit.scatter import DAMAGE, GAS_LEAK, Scatter
from sealkit.units import from_si, show
from tests.sheets import LONG_RUN

FOUR = builds.demo("boosted-four")
KNOBS = {k.path: k for k in SCENE.knobs(FOUR)}


def at(path: str, end: str) -> Scatter:
    knob = KNOBS[path]
    value = {"low": knob.low, "high": knob.high}[end]
    found: Scatter = SCENE.work(FOUR.vary({path: from_si(value, knob.kind)}), {})
    return found


def middle(found: Scatter, key: str) -> float:
    return found.quantile(key, 0.5)


def test_more_torque_helps_the_seal_and_hurts_the_fastener() -> None:
    low, high = at("fasteners.torque", "low"), at("fasteners.torque", "high")
    strength = scatter_lesson.find(FOUR).nearest(DAMAGE).key
    lift = "lift-off"
    assert middle(high, lift) > middle(low, lift)
    assert middle(high, strength) < middle(low, strength)
    assert high.groups[DAMAGE].value > low.groups[DAMAGE].value
    assert high.groups[DAMAGE].value > 0.1
    # the small engines: all that were kept fail as often as the study says
    fates = high.fates(scatter_lesson.BUILDS, (DAMAGE,))
    assert fates.count(DAMAGE) == high.groups[DAMAGE].failed and len(fates) == high.count
    drawn, first = hundred(high), fates[:100].count(DAMAGE)
    assert f"{first} damaged" in drawn and drawn.count(">!<") == first + 1 > 1


def test_more_boost_brings_leaks() -> None:
    low, high = at("charge.boost", "low"), at("charge.boost", "high")
    seal = scatter_lesson.find(FOUR).nearest(GAS_LEAK).key
    assert middle(high, seal) < middle(low, seal)


def test_less_scatter_narrows_the_bell_of_strength() -> None:
    low, high = at("fasteners.preload_scatter", "low"), at("fasteners.preload_scatter", "high")
    key = scatter_lesson.find(FOUR).nearest(DAMAGE).key

    def width(found: Scatter) -> float:
        return found.quantile(key, 0.84) - found.quantile(key, 0.16)

    assert width(low) < 0.3 * width(high)
    assert low.groups[DAMAGE].value < high.groups[DAMAGE].value


def test_wider_peaks_widen_the_bell_of_the_seal() -> None:
    low, high = at("burn.peak_variation", "low"), at("burn.peak_variation", "high")
    key = scatter_lesson.find(FOUR).nearest(GAS_LEAK).key
    assert middle(high, key) < middle(low, key)
    spread = [f.watched["highest peak"][1] for f in (low, high)]
    assert spread[1] > 3 * spread[0]


def test_bars_hold_all_builds_that_are_in_view() -> None:
    found = scatter_lesson.find(FOUR)
    for name, group in (("seal", GAS_LEAK), ("strength", DAMAGE)):
        x, y = SCENE.plot.numbers(name, found)  # type: ignore[attr-defined]
        assert len(x) == len(y) == 40
        assert 80.0 < y.sum() <= 100.0 + 1e-9
        # the label stands on the highest bar, and the middle build is not far from it
        (words,) = (c for c in SCENE.plot.traces(found, "metric") if c["meta"] == f"{name} name")
        assert words["text"][0].startswith(name)
        assert words["x"] == x[int(np.argmax(y))] and words["y"] == y.max()
        assert x[int(np.argmax(y))] == pytest.approx(
            100 * middle(found, found.nearest(group).key), abs=20
        )


def test_builds_past_the_end_of_the_axis_are_told() -> None:
    found = scatter_lesson.find(FOUR.vary({"charge.boost": "0 bar"}))
    limit = found.nearest(GAS_LEAK).key
    past = float(np.mean(found.margins[limit] > 1.5))
    assert found.above(limit, 1.5) == pytest.approx(past) and past > 0.5
    (words,) = (c for c in SCENE.plot.traces(found, "metric") if c["meta"] == "seal name")
    assert words["x"][0] == pytest.approx(147.5)
    assert words["text"][0] == f"seal<br>{100 * past:.0f} % higher"
    assert words["textposition"] == "top left"
    drag = builds.demo("methanol-drag").vary(LONG_RUN)
    traces = SCENE.plot.traces(scatter_lesson.find(drag), "metric")
    (words,) = (c for c in traces if c["meta"] == "seal name")
    assert words["text"][0] == "seal<br>100 % lower"


def test_the_same_mean_by_every_way_of_tightening() -> None:
    (pick,) = SCENE.picks(FOUR)
    force = []
    for way in scatter.METHODS:
        build = pick.put(FOUR, way)
        force.append(scatter_lesson.find(build).watched["preload"])
    means, deviations = np.array(force).T
    assert means == pytest.approx(means[0], rel=0.02)
    assert deviations[0] > deviations[1] > deviations[2]
    assert pick.put(FOUR, scatter_lesson.OWN) == FOUR


def test_same_panel_same_numbers() -> None:
    one, other = scatter_lesson.find(FOUR), scatter_lesson.find(FOUR)
    assert SCENE.tables(one, "metric") == SCENE.tables(other, "metric")
    assert str(SCENE.sentence(one, "metric")) == str(SCENE.sentence(other, "metric"))


def test_sentence_counts_the_engine_and_the_bore() -> None:
    found = at("fasteners.torque", "high")
    told = SCENE.sentence(found, "metric")
    assert told.good is False and found.groups[DAMAGE].text() in told.words
    assert found.groups[GAS_LEAK].any_of(4).text() in told.words


def test_one_bore_has_no_engine_question() -> None:
    single = FOUR.vary({"deck": None, "engine.cylinders": 1, "fasteners.on_head": 4})
    with pytest.raises(InputError, match="cylinders"):
        scatter_lesson.EXERCISES.both(2, single)[0]


def test_picture_and_sources() -> None:
    shown = scatter_lesson.picture(FOUR)
    svg = shown.html[shown.html.index("<svg") : shown.html.index("</svg>") + 6]
    root = ElementTree.fromstring(svg)
    room = scatter.room(FOUR)
    for force in (room.gas, room.mean):
        assert show(force, "force", "metric") in str(root.get("aria-label"))
    assert "invented" in scatter_lesson.sources(FOUR).text


def test_buttons_compare_and_sweep() -> None:
    panel = panels.panel("boosted-four", SCENE)
    panel.buttons["Probability over the tightening"].click()
    assert panel.message.value == "" and panel._asked.value.count("<tr>") == 8
    panel.buttons["Three ways of tightening"].click()
    assert all(name in panel._asked.value for name in scatter.METHODS)
