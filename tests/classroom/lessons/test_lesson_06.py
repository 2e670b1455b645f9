"""Lesson 06: five sizes move the ring the right way, exercises know wrong turns."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import InputError
from sealkit import build as builds
from sealkit.analysis import RingInJoint
from sealkit.classroom.lessons import rings as rings_lesson
from sealkit.classroom.lessons.rings import SCENE, standard
from sealkit.classroom.panel import panels
from sealkit.report import kept_report, ranking, workshop
from sealkit.sealing import flow, grooves
from sealkit.units import show

DRAG = builds.demo("methanol-drag")
FOUR = builds.demo("boosted-four")
KNOBS = {k.path: k for k in SCENE.knobs(DRAG)}


def at(path: str, share: float) -> RingInJoint:
    knob = KNOBS[path]
    return standard(DRAG, "annealed", **{path: knob.low + share * (knob.high - knob.low)})


def test_ring_stands_on_its_curves() -> None:
    one = standard(DRAG)
    x, y = one.curve.protrusion, one.curve.line_load
    assert float(one.ring.line_load) == pytest.approx(
        np.interp(float(one.ring.protrusion), x, y), rel=1e-3
    )
    for line, point in (("pushed", "pushed now"), ("height", "height now")):
        (x,), (y,) = rings_lesson.PLOT.numbers(point, one)
        assert y == pytest.approx(
            float(np.interp(x, *rings_lesson.PLOT.numbers(line, one))), rel=0.02
        )


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"receiver_width": 0.031 * 0.0254}, "THE RING DOES NOT WORK"),
        ({"wire_diameter": 0.052 * 0.0254}, "NO ROOM FOR THE COPPER"),
        ({"receiver_depth": 0.0}, "NO RECEIVER HOLDS THE COPPER"),
        ({"sheet_thickness": 0.080 * 0.0254}, "THE RING WORKS BEFORE HEAT"),
        ({"receiver_depth": 0.012 * 0.0254}, "WORKS BEFORE HEAT, WITH A WARNING"),
    ],
)
def test_verdict_words(changes: dict[str, float], word: str) -> None:
    said = SCENE.sentence(standard(DRAG, "annealed", **changes), "inch")
    assert said.word == word
    assert said.good is {
        "THE RING WORKS BEFORE HEAT": True,
        "WORKS BEFORE HEAT, WITH A WARNING": None,
    }.get(word, False)


def test_what_fails_is_told_beside_the_verdict_and_marked() -> None:
    full = at("wire_diameter", 1.0)
    assert full.ring.faults[0] in SCENE.sentence(full, "inch").line
    marks = {words: good for words, _, good in SCENE.tiles(full)}
    assert marks["room to spare"] is False
    no_wider = {words: good for words, _, good in SCENE.tiles(at("receiver_width", 0.02))}
    assert no_wider["room to spare"] is not True
    none = [words for words, *_ in SCENE.tiles(at("receiver_depth", 0.0))]
    assert "room to spare" not in none


def test_the_groove_goes_deeper_than_the_exercise_asks() -> None:
    knob = KNOBS["groove_depth"]
    assert knob.high > knob.value + 0.004 * 0.0254
    assert SCENE.sentence(at("groove_depth", 1.0), "inch").good is None


def test_warning_and_shop_figures_agree_on_the_receiver() -> None:
    for depth in np.linspace(0.028, 0.039, 23) * 0.0254:
        one = standard(DRAG, groove_depth=float(depth))
        warned = any("receiver depth outside" in w for w in one.ring.warnings)
        (row,) = (p for p in grooves.practice.si(one.ring) if p.topic == "receiver depth")
        assert warned is (row.within != "yes")


def test_a_thinner_head_leaves_too_little_load() -> None:
    thin = DRAG.vary({"head.thickness": "1.5 in"})
    assert SCENE.sentence(standard(thin), "inch").word == "TOO LITTLE LOAD LEFT"


def drawn(one: Any, system: str) -> str:
    assert SCENE.drawing is not None
    return SCENE.drawing(one, system)


def test_wire_goes_into_the_softer_face() -> None:
    turned = FOUR.vary({"head.material": "grey iron", "block.material": "6061-T6"})
    one = standard(turned)
    assert one.ring.wire_material == "6061-T6"
    assert "Wire in the block" in drawn(one, "metric")


def test_both_systems_and_few_points() -> None:
    one = standard(DRAG)
    metric, inch = (SCENE.plot.values(one, s) for s in ("metric", "inch"))
    np.testing.assert_allclose(inch["load"]["y"], metric["load"]["y"] * 5.710147, rtol=1e-5)
    np.testing.assert_allclose(inch["load"]["x"], metric["load"]["x"] / 25.4, rtol=1e-9)
    traces = SCENE.plot.traces(one, "metric")
    assert sum(np.size(t["y"]) for t in traces) <= 800
    assert all(np.all(np.isfinite(t["y"])) for t in traces)


def test_tables_and_button() -> None:
    one = standard(DRAG, "hard")
    tables = SCENE.tables(one, "inch")
    said = tables["Faults and warnings"]
    assert said[-1]["what is said"].startswith("shop rules disagree")
    rows = {r["the ring"]: r["value"] for r in tables["This ring on this engine"]}
    assert rows["wire stands proud"] == "0.0080 in"
    assert rows["load left at peak"] == show(one.left, "line load", "inch")
    figures = SCENE.buttons["Compare with shop figures"](DRAG, standard(DRAG), "inch")
    inside = [r["inside"] for r in figures["Shop figures, conflicts included"]]
    assert "yes" in inside and "no: above" in inside
    # without a word to say the table goes
    assert SCENE.tables(at("sheet_thickness", 1.0), "inch")["Faults and warnings"] == []


def test_drawing_is_the_ring_as_set() -> None:
    thin, thick = (drawn(at("sheet_thickness", s), "inch") for s in (0.0, 1.0))
    assert thin != thick and "0.080 in" in thick
    found = re.search(r"<svg.*</svg>", thick, re.DOTALL)
    assert found
    svg = ElementTree.fromstring(found[0])
    assert svg.get("role") == "img" and "nan" not in thick
    assert "THE RING" in rings_lesson.picture(DRAG).text or "WORKS" in (
        rings_lesson.picture(DRAG).text
    )


def test_wrong_values_are_told() -> None:
    with pytest.raises(InputError, match="Wire diameter"):
        panels.static(DRAG, SCENE, {"Wire diameter": "3 mm"})
    with pytest.raises(InputError, match="Copper is"):
        panels.static(DRAG, SCENE, {"Copper is": "brass"})
    with pytest.raises(InputError, match="groove_depth"):
        standard(DRAG, groove_depth=0.060 * 0.0254)


# --------------------------------------------------------------------------- exercises
def test_exercise_values_are_the_rings() -> None:
    ring = standard(DRAG).ring
    one = rings_lesson.EXERCISES.both(1, DRAG)[0].value
    # the wire is pressed home on this engine: what is pushed out, spread over the width
    assert one == pytest.approx(float(ring.displaced_area / ring.receiver_width))
    two = rings_lesson.EXERCISES.both(2, DRAG)[0]
    assert float(two.value) < float(ring.line_load)
    assert {p.name for p in two.pitfalls} >= {"deeper groove, more bite", "in proportion"}
    deeper = next(p for p in two.pitfalls if p.name == "deeper groove, more bite")
    assert float(deeper.value) > float(ring.line_load)
    three = rings_lesson.EXERCISES.both(3, DRAG)[0]
    assert float(three.value) > 1.2 * float(ring.line_load)
    four = rings_lesson.EXERCISES.both(4, FOUR)[0]
    assert four.value == "wire in the head, receiver in the block"
    turned = FOUR.vary({"head.material": "grey iron", "block.material": "6061-T6"})
    four = rings_lesson.EXERCISES.both(4, turned)[0]
    assert four.value == "wire in the block, receiver in the head"


# --------------------------------------------------------------------------- cells
def test_hand_work_agrees_with_the_ring() -> None:
    wire, depth, sheet, width, deep = rings_lesson.sizes(DRAG)
    ring = standard(DRAG).ring
    proud = grooves.protrusion(wire, depth)
    assert proud.to("m").magnitude == pytest.approx(float(ring.protrusion))
    room = grooves.receiver_area(width, deep).to("m**2").magnitude
    assert room == pytest.approx(float(ring.receiver_area))
    pushed = flow.displaced_area(proud, wire / 2).to("m**2").magnitude
    assert pushed == pytest.approx(float(ring.displaced_area))
    load = grooves.forming_line_load(wire, proud, sheet, width, deep).to("N/m").magnitude
    assert load == pytest.approx(float(ring.line_load))
    share = show(float(ring.clamp_share), "fraction", "inch", 0)
    assert f"takes {share} of it" in rings_lesson.told(DRAG)


@pytest.mark.parametrize("name", builds.demos())
def test_workshop_notes_and_lesson_hold_the_wire_in_one_groove(name: str) -> None:
    one = standard(builds.demo(name))
    width = float(workshop.ring(kept_report(rings_lesson.on(builds.demo(name)))).groove_width)
    assert float(one.ring.groove_width) == width
    assert 0.039 / 0.041 < width / float(one.ring.wire_diameter) < 0.040 / 0.041


def test_engine_gets_copper_with_wire_ring_and_nothing_else_changes() -> None:
    build = rings_lesson.on(FOUR)
    assert build == ranking.with_construction(FOUR, "copper with wire ring")
    assert build.engine == FOUR.engine and build.gasket.construction == "copper with wire ring"
