"""Lesson 04: seals follow the way back, sections open with lift, exercises know wrong turns."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import InputError, resources
from sealkit import build as builds
from sealkit.classroom.homework.pitfalls import Pitfall, Question, with_pitfalls
from sealkit.classroom.lessons import gaskets as gaskets_lesson
from sealkit.classroom.lessons.gaskets import PLOT, SCENE
from sealkit.classroom.panel import panels
from sealkit.drawing import sections
from sealkit.report import ranking
from sealkit.report.seal_view import SealView, seal_on
from sealkit.sealing import constructions
from sealkit.sealing.constructions.layered_steel import LayeredSteel
from sealkit.units import from_si, show

FOUR = builds.demo("boosted-four")
NAMES = constructions.names()


def test_the_question_counts_the_gaskets_of_the_list() -> None:
    notebook = next((resources.course_root() / "notebooks").glob("04-*.ipynb"))
    assert len(NAMES) == 6
    assert "**Six gaskets on the counter fit this engine" in notebook.read_text("utf-8")


def of(name: str, **changes: float) -> SealView:
    return seal_on(FOUR.vary(changes) if changes else FOUR, name)


# --------------------------------------------------------------------------- the scene
@pytest.mark.parametrize("name", NAMES)
def test_way_back_lies_below_the_pressing_curve_and_meets_it_at_the_top(name: str) -> None:
    one = of(name)
    x, back = PLOT.numbers("lifted", one)
    _, wrong = PLOT.numbers("wrong", one)
    assert np.all(back <= wrong * (1 + 1e-9) + 1e-9)
    assert np.all(np.diff(back) <= 1e-9), "load only falls as the head lifts"
    assert back[0] == pytest.approx(float(one.before) / 1e3)
    # past its springback the seal carries nothing
    free = x > 1e6 * one.springback * 1.001
    assert np.any(free) and np.all(back[free] < 1e-3 * max(back[0], 1e-9))
    pressed, way = PLOT.numbers("pressed", one), PLOT.numbers("back", one)
    assert way[1][-1] == pytest.approx(np.interp(way[0][-1], *pressed), rel=0.02)


def test_crank_angle_lifts_and_lets_down() -> None:
    grid = {a: seal_on(FOUR, angle=np.radians(a)) for a in (-90.0, 0.0, 25.0, 120.0)}
    lift = {a: float(s.lift()) for a, s in grid.items()}
    left = {a: float(s.left()) for a, s in grid.items()}
    assert lift[-90.0] < lift[0.0] < lift[25.0] > lift[120.0] > 0
    assert left[-90.0] > left[0.0] > left[25.0] < left[120.0]
    assert len({str(SCENE.sentence(s, "metric")) for s in grid.values()}) == 4


@pytest.mark.parametrize("name", NAMES)
def test_boost_takes_load_and_torque_gives_it(name: str) -> None:
    base = ranking.with_construction(FOUR, name)
    knobs = {k.path: k for k in SCENE.knobs(base)}

    def at(path: str, value: float) -> SealView:
        return seal_on(base.vary({path: from_si(value, knobs[path].kind)}))

    boost, torque = knobs["charge.boost"], knobs["fasteners.torque"]
    calm, loud = at("charge.boost", boost.low), at("charge.boost", boost.high)
    assert float(loud.wanted()) > float(calm.wanted())
    assert float(loud.lift()) > float(calm.lift())
    assert float(loud.left()) <= float(calm.left())
    loose, tight = (at("fasteners.torque", v) for v in (torque.low, torque.high))
    # a bead pressed flat carries no more for more torque
    assert tight.before >= 0.98 * loose.before and tight.top > loose.top
    assert float(tight.left()) >= float(loose.left())


def test_verdict_words() -> None:
    said = {name: SCENE.sentence(of(name), "metric") for name in NAMES}
    assert said["multi-layer steel"].good and said["multi-layer steel"].word == "THE SEAL HOLDS"
    assert said["copper sheet"].word == "LEAKS FROM THE START"
    assert said["fibre composite"].word == "GAS PASSES HERE"
    early = seal_on(FOUR, "fibre composite", -1.0)
    assert SCENE.sentence(early, "metric").word == "HOLDS HERE, NOT OVER THE WHOLE CYCLE"
    assert "no longer touches" in said["copper sheet"].words


def test_stopper_takes_load_and_lifts_less() -> None:
    plain, stopped = of("multi-layer steel"), of("multi-layer steel with stopper")
    assert not plain.helpers and [z.name for z in stopped.helpers] == ["stopper"]
    assert float(stopped.lift()) < float(plain.lift())
    assert stopped.top < plain.top, "the stopper keeps the bead from being pressed as far"
    _, y = PLOT.numbers("helper", stopped)
    assert y.max() > 2 * stopped.before / 1e3
    assert PLOT.numbers("helper", plain)[1].size == 0


def test_both_systems_and_few_points() -> None:
    one = seal_on(FOUR)
    metric, inch = (SCENE.plot.values(one, s) for s in ("metric", "inch"))
    np.testing.assert_allclose(inch["left"]["y"], metric["left"]["y"] * 5.710147, rtol=1e-5)
    np.testing.assert_allclose(inch["lifted"]["x"], metric["lifted"]["x"] / 25.4, rtol=1e-9)
    np.testing.assert_array_equal(inch["left"]["x"], metric["left"]["x"])
    traces = SCENE.plot.traces(one, "metric")
    assert sum(np.size(t["y"]) for t in traces) <= 800
    assert all(np.all(np.isfinite(t["y"])) for t in traces)
    assert "lbf/in" in str(SCENE.plot.layout([one], "inch"))


def test_far_lift_is_cut_and_said() -> None:
    weak = FOUR.vary({"charge.boost": "2 bar", "fasteners.torque": "80 N*m"})
    one = seal_on(weak, "copper with wire ring")
    at = SCENE.plot.values(one, "metric")["at"]
    far = float(one.lift()) > one.farthest
    assert far and at["text"] == ["farther out"]
    assert at["x"][0] == pytest.approx(1e6 * one.farthest)
    near = SCENE.plot.values(seal_on(FOUR), "metric")["at"]
    assert near["text"] == [""]


def test_tables_and_button() -> None:
    tables = SCENE.tables(seal_on(FOUR), "metric")
    now = tables["The seal, now and at its worst"]
    assert now[0]["now"] == now[0]["at its worst"] == "25.5°"
    zones = tables["Zones of this gasket"]
    assert [r["zone"] for r in zones] == [z.name for z in seal_on(FOUR).report.joint.gasket.zones]
    asked = SCENE.buttons["Compare all gaskets on this engine"](FOUR, None, "metric")
    ranked, seals = asked.values()
    assert sorted(r["gasket"] for r in ranked) == sorted(r["gasket"] for r in seals) == NAMES
    falls = [r for r in ranked if r["verdict"] == "FALLS OUT"]
    assert falls and all(r["why"].startswith("falls out by") for r in falls)


def test_wrong_angle_is_told() -> None:
    with pytest.raises(InputError, match="Crank angle"):
        panels.static(FOUR, SCENE, {"Crank angle": "300 deg"})
    with pytest.raises(InputError, match="Gasket"):
        panels.static(FOUR, SCENE, {"Gasket": "cork"})


# --------------------------------------------------------------------------- the sections
def drawn(text: str) -> ElementTree.Element:
    found = re.search(r"<svg.*</svg>", text, re.DOTALL)
    assert found
    return ElementTree.fromstring(found[0])


@pytest.mark.parametrize("name", [*sections.SECTIONS, "one of my own"])
@pytest.mark.parametrize("micrometres", [0.0, 5.0, 60.0])
def test_section_has_words_and_no_holes(name: str, micrometres: float) -> None:
    text = sections.section(name, sections.Opening(1e-6 * micrometres, 10e-6, "Said below."))
    svg = drawn(text)
    words = str(svg.get("aria-label"))
    assert svg.get("role") == "img" and "Said below." in words
    state = {0.0: "at rest", 5.0: "still touches", 60.0: "no longer touches"}[micrometres]
    assert state in words
    assert "nan" not in text and "Said below." in text.split("</svg>")[1]
    for mark in svg.iter():
        for axis in ("y", "cy"):
            if mark.get(axis):
                assert 0 <= float(str(mark.get(axis))) <= 408


def test_sections_cover_every_construction() -> None:
    assert sorted(sections.SECTIONS) == NAMES


@pytest.mark.parametrize("name", sections.SECTIONS)
def test_section_opens_with_lift_and_the_seal_follows(name: str) -> None:
    texts = [
        sections.section(name, sections.Opening(lift, springback))
        for lift, springback in ((0.0, 0.0), (8e-6, 20e-6), (8e-6, 0.0))
    ]
    assert len(set(texts)) == 3, "lift moves the head, springback moves the seal"


def test_opening_is_exaggerated_alike_and_ends() -> None:
    assert sections.Opening(10e-6, 0.0).up == pytest.approx(30.0)
    assert sections.Opening(10e-6, 4e-6).followed == pytest.approx(12.0)
    assert sections.Opening(1.0, 1.0).up == sections.Opening(1e-3, 1.0).up < 100
    assert sections.Opening(-1e-6, 0.0).up == 0.0


def test_picture_has_all_six_at_their_worst() -> None:
    shown = gaskets_lesson.picture(FOUR)
    # and one chart of them all
    assert shown.html.count("<svg") - 1 == len(NAMES) == len(shown.text.splitlines())
    assert shown.html.count("<polyline") == len(NAMES)
    assert shown.html.count("<b>✓ the seal holds") == sum(of(name).holds() for name in NAMES)
    one = of("fibre composite")
    assert show(float(one.lift()), "lift") in shown.text


def test_own_gasket_is_shown() -> None:
    zone = {
        "name": "my bead",
        "role": "seal",
        "per": "length",
        "width": "1 mm",
        "closure_unit": "um",
        "load_unit": "N/mm",
        "closure": [0, 100, 200],
        "load": [0, 100, 400],
        "factor": 2,
        "source": "own test",
        "status": "invented",
    }
    own = FOUR.vary(
        {
            "gasket.construction": "one of my own",
            "gasket.zones": [zone],
            "gasket.creep_relaxation": 0.05,
            "liquids.deck": "dry",
        }
    )
    plain = panels.static(own, SCENE, {"Crank angle": "20 deg"})
    assert "my bead" in str(plain) and "gasket of the sheet" in plain.drawing


# --------------------------------------------------------------------------- exercises
def test_exercise_values_are_the_engines() -> None:
    edge = of("fibre composite")
    assert gaskets_lesson.EXERCISES.both(1, FOUR)[0].value == pytest.approx(float(edge.left()))
    assert gaskets_lesson.EXERCISES.both(2, FOUR)[0].value == "multi-layer steel with stopper"
    # springback goes with one over thickness
    three = gaskets_lesson.EXERCISES.both(3, FOUR)[0]
    modulus, poisson, strength, thickness, span = gaskets_lesson.steel()
    back = constructions.bead_springback(modulus, poisson, thickness, span, strength, 2)
    now = back.to("m").magnitude
    assert three.value == pytest.approx(now * 0.25 / 0.30)
    peak = edge.report.gas.design_gauge
    assert gaskets_lesson.EXERCISES.both(4, FOUR)[0].value == pytest.approx(peak * 1.3e-3, rel=1e-3)
    five = gaskets_lesson.EXERCISES.both(5, FOUR)[0].value
    zone = edge.seal
    assert zone.free_thickness - edge.top < float(five) < zone.free_thickness


def test_pitfalls_that_meet_are_left_out() -> None:
    asked = Question("x", "How long?", "length", 1.0)
    says = "Look again."
    made = with_pitfalls(
        asked,
        [
            Pitfall("far", 2.0, says),
            Pitfall("the answer itself", 1.001, says),
            Pitfall("the first again", 2.001, says),
            Pitfall("farther", 3.0, says),
        ],
    )
    assert [p.name for p in made.pitfalls] == ["far", "farther"]
    assert replace(made, pitfalls=()) == asked


# --------------------------------------------------------------------------- cells
def test_hand_work_agrees_with_the_engine() -> None:
    modulus, poisson, strength, thickness, span = gaskets_lesson.steel()
    k = constructions.bead_stiffness(modulus, poisson, thickness, span)
    q = constructions.bead_plastic_load(thickness, span, strength)
    each = (q / k).to("um").magnitude
    assert f"{each:.1f} µm a layer" in gaskets_lesson.springs(FOUR)
    bead = LayeredSteel.from_table().bead
    assert bead.stiffness == pytest.approx(k.to("Pa").magnitude)
    assert f"{bead.flat_load / 1e3:.1f} N/mm" in gaskets_lesson.springs(FOUR)
    assert f"{1e6 * bead.springback:.1f} µm" in gaskets_lesson.springs(FOUR)
    assert bead.flat_load > 3.0 * q.to("N/m").magnitude
    assert gaskets_lesson.worst_angle(FOUR).to("degree").magnitude == pytest.approx(25.0, abs=1.0)
