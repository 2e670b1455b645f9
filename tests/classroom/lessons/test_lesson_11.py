"""Lesson 11: the specification follows the wish, and every exercise knows its wrong turns."""

from __future__ import annotations

import functools
import html
import itertools
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import InputError, analysis, report
from sealkit import build as builds
from sealkit.build import Build
from sealkit.classroom.drawing.shown import cells
from sealkit.classroom.lessons import capstone as capstone_lesson
from sealkit.classroom.lessons.capstone import SCENE, find
from sealkit.classroom.panel import panels
from sealkit.classroom.panel.scene import Knob
from sealkit.report import specification, workshop
from sealkit.report.specification import Specification, specify
from sealkit.units import from_si, show

FOUR = builds.demo("boosted-four")
DRAG = builds.demo("methanol-drag")


def knob(build: Build, place: int) -> Knob:
    return SCENE.knobs(build)[place]


@functools.cache
def at(place: int, end: str) -> Specification:
    one = knob(FOUR, place)
    value = getattr(one, end)
    if one.on_sheet:
        return specify(FOUR.vary({one.path: from_si(value, one.kind)}), knob(FOUR, 0).value)
    return specify(FOUR, value)


# --------------------------------------------------- the boost for a power (sealkit.analysis)
@pytest.mark.parametrize("name", builds.demos())
@pytest.mark.parametrize("share", [0.8, 1.0, 1.25, 1.5])
def test_boost_makes_the_power(name: str, share: float) -> None:
    build = builds.demo(name)
    wanted = share * analysis.gas_side(build).brake_power
    made, gas = analysis.boost_for_power(build, wanted)
    if made.charge.boost == 0.0:
        assert gas.brake_power >= wanted * (1 - 1e-9)
    else:
        assert gas.brake_power == pytest.approx(wanted, rel=1.01e-3)
    assert analysis.gas_side(made).brake_power == pytest.approx(gas.brake_power)
    assert made.vary({"charge.boost": build.get("charge.boost")}) == build, "nothing else changes"


def test_boost_of_today_makes_the_power_of_today() -> None:
    made, _ = analysis.boost_for_power(FOUR, analysis.gas_side(FOUR).brake_power)
    assert made.charge.boost == pytest.approx(FOUR.charge.boost, rel=1e-3)


def test_no_boost_for_a_power_out_of_reach() -> None:
    with pytest.raises(InputError, match="power"):
        analysis.boost_for_power(FOUR, 5e6)


# --------------------------------------------------------------------------- panel
def test_more_power_more_boost_more_load() -> None:
    low, high = at(0, "low"), at(0, "high")
    assert high.build.charge.boost > low.build.charge.boost
    assert high.report.gas.design_peak > low.report.gas.design_peak
    assert high.report.weakest.margin < low.report.weakest.margin
    assert low.meets and not high.meets
    bars = [SCENE.plot.values(f, "metric") for f in (low, high)]
    assert bars[1]["loads"]["y"][0] > bars[0]["loads"]["y"][0]
    assert bars[1]["pressures"]["y"][1] > bars[0]["pressures"]["y"][1]
    told = [SCENE.sentence(f, "metric") for f in (low, high)]
    assert told[0].word == "MEETS THE WISH" and told[0].good
    assert told[1].good is False and told[0].words != told[1].words


def test_less_compression_wants_more_boost_and_is_quieter() -> None:
    low, high = at(1, "low"), at(1, "high")
    assert low.build.charge.boost > high.build.charge.boost
    assert low.report.gas.knock_integral < high.report.gas.knock_integral
    for found in (low, high):
        assert found.report.gas.brake_power == pytest.approx(found.wish, rel=2e-3)


def test_tightening_moves_seal_and_fasteners_apart() -> None:
    low, high = at(2, "low"), at(2, "high")
    margins = [{r.key: float(r.margin) for r in f.report.limits} for f in (low, high)]
    assert margins[1]["residual"] > margins[0]["residual"]
    assert margins[1]["fastener"] < margins[0]["fastener"]
    assert SCENE.sentence(high, "metric").word == "DOES NOT MEET THE WISH"


def test_holding_with_knock_is_not_the_wish() -> None:
    found = find(FOUR)
    assert found.report.leaves_knock_out and not found.quiet
    said = SCENE.sentence(found, "metric")
    assert said.word == "HOLDS ONLY WITHOUT KNOCK" and said.good is None
    close = found.report.close
    names = SCENE.plot.values(found, "metric")["margin words"]["text"]
    for row in close:  # which, and why
        assert f"{row.brief}, {report.percent(float(row.margin))} (" in said.words
        assert row.turned_by and row.turned_by in said.words
        assert any(row.brief in name for name in names)
    status = {r["item"]: r["status"] for r in specification.rows(found, "metric")}
    assert status["least margin hot"].startswith("computed; numbers "), status


def test_picks_change_the_specification() -> None:
    fuel, gasket, grade, deck = SCENE.picks(FOUR)
    wish = specification.wish_of(FOUR)
    rows = {}
    for words, build in (
        ("now", FOUR),
        ("fuel", fuel.put(FOUR, "E85")),
        ("gasket", gasket.put(FOUR, "multi-layer steel with stopper")),
        ("grade", grade.put(FOUR, "stud 220 ksi")),
        ("deck", deck.put(FOUR, "dry")),
    ):
        rows[words] = specify(build, wish)
    assert rows["fuel"].quiet and rows["fuel"].meets
    strength = {k: v.report.clamp.strength.proof for k, v in rows.items()}
    assert strength["grade"] > strength["now"]
    liquid = {k: any("liquid" in r.key for r in v.report.limits) for k, v in rows.items()}
    assert liquid["now"] and not liquid["deck"]
    assert rows["gasket"].build.gasket.construction.endswith("stopper")
    assert grade.put(grade.put(FOUR, "stud 220 ksi"), "as on the sheet").fasteners == FOUR.fasteners
    six = builds.demo("boosted-six")
    own = next(p for p in SCENE.picks(six) if p.path == "fasteners.grade")
    assert own.put(own.put(six, "ISO 10.9"), "as on the sheet").fasteners == six.fasteners


@pytest.mark.parametrize("name", builds.demos())
def test_bars_stay_inside_their_axes_at_all_corners(name: str) -> None:
    build = builds.demo(name)
    knobs = SCENE.knobs(build)
    layout = SCENE.plot.layout([find(build)], "metric")
    for ends in itertools.product(*((k.low, k.high) for k in knobs)):
        changes = {
            k.path: from_si(v, k.kind) for k, v in zip(knobs, ends, strict=True) if k.on_sheet
        }
        try:
            found = specify(build.vary(changes), ends[0])
        except InputError:
            continue
        data = SCENE.plot.values(found, "metric")
        for key, axis in (("pressures", "yaxis2"), ("loads", "yaxis3")):
            low, high = sorted(layout[axis]["range"])
            assert low <= min(data[key]["y"]) and max(data[key]["y"]) <= high, key
        assert min(data["margins"]["x"]) >= -100 and max(data["margins"]["x"]) <= 150


def test_margins_are_the_reports_weakest_first() -> None:
    found = find(FOUR)
    words = SCENE.plot.values(found, "metric")["margin words"]["text"]
    rows = report.rows(found.report, "metric")
    assert words[0].startswith(rows[0]["margin"])
    x = SCENE.plot.values(found, "metric")["margins"]["x"]
    assert list(x) == sorted(x)


def test_specification_names_every_choice_with_its_status() -> None:
    for build in (FOUR, DRAG):
        found = find(build)
        for system in ("metric", "inch"):
            tables = SCENE.tables(found, system)
            spec = {r["item"]: r["specified"] for r in tables["The specification"]}
            assert show(found.wish, "power", system, 0) in spec["wish"]
            assert show(found.build.charge.boost, "gauge pressure", system) == spec["boost"]
            assert build.gasket.construction in spec["gasket"]
            assert build.fasteners.thread in spec["fasteners"]
            assert all(r["status"] for r in tables["The specification"])
            assert all(r["status"] and r["do"] for r in tables["Tightening procedure"])
    drag = SCENE.tables(find(DRAG), "inch")["Grooves and clearances"]
    assert any(r["what"] == "wire and groove" for r in drag)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "in 3 steps"),
        (
            {
                "fasteners.tightening": "torque and angle",
                "fasteners.torque": "60 N*m",
                "fasteners.angle": "60 deg",
            },
            "angle gauge",
        ),
        ({"fasteners.tightening": "stretch", "fasteners.stretch": "0.25 mm"}, "measured over"),
        ({"fasteners.tightening": "yield"}, "no longer rises"),
    ],
)
def test_procedure_for_every_way_of_tightening(changes: dict[str, str], words: str) -> None:
    found = find(FOUR.vary(changes))
    steps = cells(workshop.procedure(found.report), "metric")
    assert any(words in s["do"] for s in steps)
    assert any("each" in s["do"] and "kN" in s["do"] for s in steps)


def test_no_status_is_better_than_what_it_is_made_of() -> None:
    spec = SCENE.tables(find(FOUR), "metric")["The specification"]
    by_item = {r["item"]: r["status"] for r in spec}
    for item in ("boost", "average peak / design peak", "least margin hot", "least margin cold"):
        assert by_item[item] == "computed; numbers invented", (
            "the sheet is invented, and so is what it makes"
        )
    own = FOUR.vary({"sheet.status": "own build"})
    assert workshop.trust(own) == workshop.trust(own, "published") == "from memory"
    assert workshop.trust(own, "invented") == "invented"


def test_torque_steps_end_at_the_torque() -> None:
    steps = cells(workshop.procedure(find(FOUR).report), "metric")
    do = next(s["do"] for s in steps if s["step"] == "torque")
    values = [float(x) for x in re.findall(r"([\d.]+) N·m", do)]
    assert values == sorted(values) and values[-1] == pytest.approx(117.0)


def test_saved_sheet_is_the_specification(tmp_path: Path) -> None:
    made = panels.static(FOUR, SCENE, {"Fuel": "E85", "Power wanted": "240 kW"})
    # the boost on the sheet is a round number, the note says for what it is
    assert made.build.charge.boost == pytest.approx(made.result.build.charge.boost, abs=5.0)
    assert "pascal" not in made.build.dumps()
    assert made.build.fuel.name == "E85" and "240 kW on E85" in made.build.sheet.note
    sheet, page = capstone_lesson.save(made.result, tmp_path)
    again = builds.load(sheet)
    assert analysis.gas_side(again).brake_power == pytest.approx(240e3, rel=2e-3)
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    with pytest.raises(InputError):
        capstone_lesson.save(made.result, tmp_path / "missing")
    # the same page, shown and saved, with the wish, the steps and the fuel of the specification
    shown = capstone_lesson.build_sheet(made.result)
    words = page.read_text(encoding="utf-8")
    assert html.unescape(shown.html).count(words) == 1 and "<iframe" in shown.html
    for asked in ("240 kW. Met: ", "on E85", "Order of tightening", "117 N·m"):
        assert asked in words
    assert "240 kW. Met: " in shown.text


def test_the_wish_is_no_matter_of_the_fuel() -> None:
    made = panels.panel("boosted-four", SCENE)
    wish = made.knobs[0]
    asked = made.stage.now(wish)
    made.picks["fuel.name"].value = "E85"
    assert made.knobs[0].value != wish.value, "the wish that this fuel's power would make"
    assert made.stage.now(made.knobs[0]) == asked == made.outcome.wish
    made.reset.click()
    assert made.picks["fuel.name"].value == made.stage.sheet.fuel.name
    assert made.stage.now(made.knobs[0]) == asked
    numbers = made.numbers().splitlines()
    assert "limit: words" in numbers[0] and "fasteners, proof strength" in numbers[1]


@pytest.mark.parametrize("name", builds.demos())
def test_the_last_sheet_meets_what_it_says(name: str) -> None:
    done = capstone_lesson.met(builds.demo(name))
    assert done.meets
    assert SCENE.sentence(done, "metric").word == "MEETS THE WISH"


def test_buttons_compare() -> None:
    found = find(FOUR)
    wished = SCENE.buttons["Limits before and after"](FOUR, found, "metric")
    (change,) = wished["What is different on the sheets"]
    assert change["on the sheet"] == "charge.boost"
    shown = capstone_lesson.compared(FOUR, found)
    assert "charge.boost" in shown.html and "charge.boost" in shown.text
    one = SCENE.buttons["One change at a time"](FOUR, found, "metric")
    rows = next(iter(one.values()))
    assert rows[0]["one change"] == "nothing but boost"
    by_name = {r["one change"]: r["meets the wish"] for r in rows}
    assert by_name["fuel: E85"] == "yes"
    # no clamp cures knock
    assert by_name["a tenth more tightening"] in (
        "does not hold",
        "too close to call",
        "holds, but may knock",
    )
    all_gaskets = SCENE.buttons["Compare all gaskets"](FOUR, found, "metric")
    assert len(next(iter(all_gaskets.values()))) == 6


@pytest.mark.parametrize("name", builds.demos())
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_picture_has_words_and_the_brief_is_invented(name: str, system: str) -> None:
    build = builds.demo(name)
    shown = capstone_lesson.picture(build, system)
    svg = ElementTree.fromstring(re.search(r"<svg.*</svg>", shown.html, re.DOTALL)[0])  # type: ignore[index]
    assert svg.get("role") == "img" and "least margin" in str(svg.get("aria-label"))
    assert "invented" in capstone_lesson.asked(build, system).text
    assert show(specification.wish_of(build), "power", system) in shown.text


# --------------------------------------------------------------------------- exercises
def test_exercise_values_are_the_engines() -> None:
    found = find(FOUR)
    assert capstone_lesson.EXERCISES.both(1, FOUR)[0].value == found.build.charge.boost
    assert capstone_lesson.EXERCISES.both(2, FOUR)[0].value == "fuel: E85"
    most = capstone_lesson.EXERCISES.both(3, FOUR)[0].value
    assert isinstance(most, float)
    assert specify(FOUR, 0.99 * most).meets and not specify(FOUR, 1.01 * most).meets
    first = found.report.order[0].limit
    assert first.key.startswith("residual") and "load left" in str(
        capstone_lesson.EXERCISES.both(4, FOUR)[0].value
    )
    torque = capstone_lesson.EXERCISES.both(5, FOUR)[0].value
    assert isinstance(torque, float) and FOUR.fasteners.torque is not None
    assert torque < FOUR.fasteners.torque, "paste rubs less than oil"
    drag = capstone_lesson.EXERCISES.both(5, DRAG)[0].value
    assert np.isfinite(drag)


def test_words_beside_the_lesson() -> None:
    assert "boost" in capstone_lesson.told(find(FOUR))
