"""Lesson 07: heat moves the preload the right way, liquids weep where they should."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import InputError
from sealkit import build as builds
from sealkit import report as reports
from sealkit.classroom.homework import answers
from sealkit.classroom.lessons import heat as heat_lesson
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons.heat import SCENE, Course, course
from sealkit.classroom.panel import panels
from sealkit.report import ranking
from sealkit.sealing import heat
from sealkit.units import Q, from_si, show

FOUR = builds.demo("boosted-four")
V8 = builds.demo("na-iron-v8")
KNOBS = {k.path: k for k in SCENE.knobs(FOUR)}


def at(path: str, end: str, build: Any = FOUR) -> Course:
    knob = KNOBS[path]
    value = {"low": knob.low, "high": knob.high}[end]
    return course(build.vary({path: from_si(value, knob.kind)}))


def preloads(one: Course) -> dict[str, float]:
    return {s.name: s.preload for s in one.stands}


# --------------------------------------------------------------------------- the states
def test_states_are_the_reports() -> None:
    one = course(FOUR)
    report = reports.run(FOUR)
    p = preloads(one)
    assert p["as tightened"] == pytest.approx(float(report.clamp.preload.assembly_low))
    assert p["settled"] == pytest.approx(float(report.clamp.preload.low))
    assert p["hot"] == pytest.approx(float(report.warm.low.worked.preload[0]))
    assert p["cold again"] == pytest.approx(float(report.case.low.preload[0]))
    assert p["retorqued cold"] == pytest.approx(p["as tightened"])
    assert p["cold soak"] < p["cold again"] <= p["settled"] < p["as tightened"] < p["hot"]


def test_limits_are_the_reports() -> None:
    for name in builds.demos():
        report = course(builds.demo(name)).report
        one = course(builds.demo(name))
        rows = {r.key: r for r in report.limits}
        seal = min(
            (s.seal for s in one.stands if s.name in ("hot", "cold again") and s.seal),
            key=lambda r: float(r.margin),
        )
        assert float(seal.margin) == pytest.approx(float(rows[seal.key].margin), rel=1e-6)
        for liquid in ("coolant", "oil"):
            if f"liquid/{liquid}" not in rows:
                assert report.build.liquids.deck == "dry"
                continue
            # the report looks at all states but the first and the last
            least = min(
                float(s.limits[liquid].margin)
                for s in one.stands
                if liquid in s.limits and s.name not in ("as tightened", "retorqued cold")
            )
            assert least == pytest.approx(float(rows[f"liquid/{liquid}"].margin), rel=1e-6)


def test_clamped_stack_is_the_reports() -> None:
    for name in builds.demos():
        build = builds.demo(name)
        warm = course(build).report.warm
        stack, grown = heat_lesson._growth(build)
        assert float(stack.differential_expansion(warm.state)) == pytest.approx(
            warm.differential_expansion
        )
        pile = grown["head"] + grown["block"] + grown["gasket"]
        assert pile - grown["fastener"] == pytest.approx(warm.differential_expansion)


# --------------------------------------------------------------------------- directions
def test_hotter_coolant_tightens_aluminium_and_slackens_iron() -> None:
    low, high = at("heat.coolant_temperature", "low"), at("heat.coolant_temperature", "high")
    assert high.at("hot").preload > 1.1 * low.at("hot").preload
    assert high.at("settled").preload == pytest.approx(low.at("settled").preload)
    iron = FOUR.vary({"head.material": "grey iron"})
    low, high = (at("heat.coolant_temperature", e, iron) for e in ("low", "high"))
    assert high.at("hot").preload < low.at("hot").preload
    assert high.at("hot").preload < high.at("settled").preload


def test_colder_soak_slackens_aluminium_and_tightens_iron() -> None:
    low, high = at("heat.cold_soak", "low"), at("heat.cold_soak", "high")
    assert low.at("cold soak").preload < high.at("cold soak").preload
    assert low.at("hot").preload == high.at("hot").preload
    iron = FOUR.vary({"head.material": "grey iron"})
    low, high = (at("heat.cold_soak", e, iron) for e in ("low", "high"))
    assert low.at("cold soak").preload > high.at("cold soak").preload


def test_creep_takes_preload_from_every_state_but_the_wrenchs() -> None:
    none, much = at("gasket.creep_relaxation", "low"), at("gasket.creep_relaxation", "high")
    a, b = preloads(none), preloads(much)
    for name in ("settled", "hot", "cold again", "cold soak"):
        assert b[name] < a[name]
    for name in ("as tightened", "retorqued cold"):
        assert b[name] == pytest.approx(a[name])


def test_coolant_pressure_asks_more_when_hot_only() -> None:
    fibre = ranking.with_construction(V8, "fibre composite")
    low, high = (course(fibre.vary({"liquids.coolant_pressure": p})) for p in ("0.5 bar", "6 bar"))
    hot = [c.at("hot").coolant for c in (low, high)]
    assert hot[0] and hot[1] and hot[1].demand > hot[0].demand
    cold = [c.at("cold again").coolant for c in (low, high)]
    assert cold[0] == cold[1]


def test_during_warm_up_the_clamp_is_highest() -> None:
    pick = SCENE.picks(FOUR)[2]
    hot = {n: course(pick.put(FOUR, n)).at("hot").preload for n in pick.options}
    assert hot["warm-up"] > hot["hot full load"] > hot["warm idle"]


def test_bare_copper_weeps_and_coated_steel_does_not() -> None:
    copper = course(ranking.with_construction(FOUR, "copper sheet"))
    assert all(not s.coolant.holds for s in copper.stands if s.coolant)
    said = SCENE.sentence(copper, "metric")
    assert said.good is False and "COOLANT" in said.word
    steel = SCENE.sentence(course(FOUR), "metric")
    assert steel.good and steel.word == "TIGHT HOT AND COLD"


def test_dry_deck_has_no_liquids() -> None:
    one = course(builds.demo("methanol-drag"))
    assert all(s.coolant is None and s.oil is None for s in one.stands)
    assert "dry" in SCENE.sentence(one, "inch").words
    texts = SCENE.plot.values(one, "inch")["coolant words"]["text"]
    assert set(texts) == {"dry"}


# --------------------------------------------------------------------------- what is shown
def test_bars_say_what_the_limits_say() -> None:
    one = course(ranking.with_construction(FOUR, "fibre composite"))
    traces = SCENE.plot.values(one, "metric")
    for key, name in (("seal", "combustion seal"), ("coolant", "coolant"), ("oil", "oil")):
        for bar, words, stand in zip(
            traces[key]["y"], traces[f"{key} words"]["text"], one.stands, strict=True
        ):
            limit = stand.limits.get(name)
            if limit is None:
                assert words == "rest" and bar == 0
                continue
            assert words.startswith("holds") == limit.holds == (bar <= 100.0)
            share = 100 * float(limit.demand) / float(limit.capacity)
            assert bar == pytest.approx(min(share, 200.0))
            assert words.split("<br>")[1].startswith(">") == (share >= 200.0)


def test_both_systems() -> None:
    one = course(FOUR)
    metric, inch = (SCENE.plot.values(one, s) for s in ("metric", "inch"))
    np.testing.assert_allclose(inch["preload"]["y"], metric["preload"]["y"] * 224.808943, rtol=1e-6)
    assert inch["seal"]["y"].tolist() == metric["seal"]["y"].tolist()
    assert metric["preload"]["text"][0] == "43.6"
    assert "lbf" in str(SCENE.plot.layout([one], "inch"))
    for trace in SCENE.plot.traces(one, "metric"):
        assert np.all(np.isfinite(trace["y"]))


def test_tables_and_buttons() -> None:
    one = course(FOUR)
    rows = SCENE.tables(one, "metric")["State by state, low end of the preload"]
    assert [r["state"] for r in rows] == list(heat_lesson.STATES)
    assert rows[4]["oil"] == "engine at rest"
    heads = SCENE.buttons["Compare heads"](FOUR, one, "metric")
    changes = {r["head of"]: int(r["change"].split()[0]) for r in next(iter(heads.values()))}
    assert changes["6061-T6"] > changes["A356-T6"] > 10 > 0 > changes["grey iron"]
    gaskets = SCENE.buttons["Compare gaskets, hot and cold"](FOUR, one, "metric")
    told = {r["gasket"]: r["coolant"] for r in next(iter(gaskets.values()))}
    assert told["copper sheet"].startswith("DOES NOT HOLD")
    assert told["multi-layer steel"].startswith("holds")


@pytest.mark.parametrize("name", builds.demos())
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_picture_has_words_and_no_holes(name: str, system: str) -> None:
    build = builds.demo(name)
    shown = heat_lesson.picture(build, system)
    found = re.search(r"<svg.*</svg>", shown.html, re.DOTALL)
    assert found and "nan" not in shown.html
    svg = ElementTree.fromstring(found[0])
    words = str(svg.get("aria-label"))
    assert svg.get("role") == "img"
    assert show(course(build).report.warm.differential_expansion, "lift", system) in words
    assert ("backwards" in words) == (course(build).report.warm.differential_expansion < 0)


def test_wrong_values_are_told() -> None:
    with pytest.raises(InputError, match="Cold soak"):
        panels.static(FOUR, SCENE, {"Cold soak": "60 degC"})
    with pytest.raises(InputError, match="Head of"):
        panels.static(FOUR, SCENE, {"Head of": "bronze"})
    with pytest.raises(InputError, match="one of head, block"):
        heat_lesson.grows(FOUR, "washer")


# --------------------------------------------------------------------------- exercises
@pytest.mark.parametrize("number", [1, 2, 3, 4])
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_exercises_know_right_and_wrong(number: int, system: str) -> None:
    made = heat_lesson.question(number, FOUR, system)
    assert len(made.pitfalls) >= 2
    assert answers.check(made, answers.written(made)).right
    for pitfall in made.pitfalls:
        got = answers.check(made, answers.written(made, pitfall.value))
        assert not got.right and got.pitfall == pitfall.name
    assert answers.check(made, "plenty").right is False


@pytest.mark.parametrize("name", builds.demos())
@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_exercises_work_on_every_demo(name: str, number: int) -> None:
    assert heat_lesson.answer(number, builds.demo(name)) is not None


def test_exercise_values_are_the_engines() -> None:
    one = course(FOUR)
    assert heat_lesson.question(1, FOUR).value == pytest.approx(one.at("hot").preload)
    assert heat_lesson.question(2, FOUR).value == "it changes by less than a tenth"
    assert heat_lesson.question(2, V8).value == "it rises by more than a tenth"
    # what is tightened hot to the wrench's preload loses what heat had put on
    three = float(heat_lesson.question(3, FOUR).value)
    assert three < one.at("cold again").preload < one.at("as tightened").preload
    gain = one.at("hot").preload - one.at("cold again").preload
    assert one.at("as tightened").preload - three == pytest.approx(gain, rel=0.02)
    assert str(heat_lesson.question(4, FOUR).value).startswith("no: hardly")
    assert str(heat_lesson.question(4, builds.demo("methanol-drag")).value).startswith("yes")


def test_there_is_no_fifth() -> None:
    with pytest.raises(InputError, match="an exercise from 1 to 4"):
        heat_lesson.answer(5, FOUR)


# --------------------------------------------------------------------------- cells
def test_hand_work_agrees_with_the_engine() -> None:
    stack, hot = heat_lesson.quantities(FOUR)
    warm = course(FOUR).report.warm
    head = stack.head_expansion * stack.head_length * (hot.head - heat_lesson.WORKSHOP)
    bolt = stack.bolt_expansion * stack.bolt_length * (hot.fastener - heat_lesson.WORKSHOP)
    rest = heat_lesson.grows(FOUR, "block") + heat_lesson.grows(FOUR, "gasket")
    assert head.to("um").magnitude == pytest.approx(heat_lesson.grows(FOUR, "head").magnitude)
    assert bolt.to("um").magnitude == pytest.approx(heat_lesson.grows(FOUR, "fastener").magnitude)
    assert (head + rest - bolt).to("m").magnitude == pytest.approx(
        float(warm.differential_expansion)
    )
    assert Q(heat.ASSEMBLED_AT, "K") == heat_lesson.WORKSHOP
    assert show(course(FOUR).at("hot").preload, "force") in heat_lesson.told(FOUR)


def test_checks_are_rows_and_within() -> None:
    text = lesson.check_table(heat_lesson.CHECKS)
    assert "NO" not in text and text.count(" yes ") == 9
