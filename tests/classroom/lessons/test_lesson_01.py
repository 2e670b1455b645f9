"""Lesson 01: the panel follows the physics, and every exercise knows its wrong turns."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from sealkit import InputError, analysis
from sealkit import build as builds
from sealkit.analysis import GasForce
from sealkit.classroom.lessons import gas as gas_lesson
from sealkit.classroom.lessons.gas import SCENE
from sealkit.classroom.panel import panels
from sealkit.report.specification import with_fuel
from sealkit.units import from_si, show

FOUR = builds.demo("boosted-four")
KNOBS = {k.path: k for k in SCENE.knobs(FOUR)}


def at(path: str, end: str) -> GasForce:
    knob = KNOBS[path]
    value = {"low": knob.low, "high": knob.high}[end]
    return gas_lesson.find(FOUR.vary({path: from_si(value, knob.kind)}))


# what grows (+) and what falls (-) as a knob goes from its low to its high end
@pytest.mark.parametrize(
    ("path", "mean", "bound", "knock"),
    [
        ("charge.boost", +1, +1, +1),
        ("engine.compression_ratio", +1, +1, +1),
        ("burn.ca50", -1, 0, -1),
        ("charge.ambient_temperature", -1, -1, +1),
    ],
)
def test_knobs_move_the_right_way(path: str, mean: int, bound: int, knock: int) -> None:
    low, high = at(path, "low"), at(path, "high")
    ends = [
        (f.gas.mean_peak, float(f.gas.bound.peak_pressure), f.gas.knock_integral)
        for f in (low, high)
    ]
    for sign, a, b in zip((mean, bound, knock), *ends, strict=True):
        if sign:
            assert sign * (b - a) > 0.01 * a
        else:
            assert b == pytest.approx(a, rel=1e-9)
    assert np.sign(high.force - low.force) == mean
    told = [str(SCENE.sentence(f, "metric")) for f in (low, high)]
    assert told[0] != told[1]
    assert show(high.gas.design_peak, "pressure") in told[1]
    lines = [SCENE.plot.values(f, "metric") for f in (low, high)]
    tops = [float(np.max(one["mean"]["y"])) for one in lines]
    assert np.sign(tops[1] - tops[0]) == mean


def test_the_peak_comes_later_with_a_later_burn() -> None:
    low, high = at("burn.ca50", "low"), at("burn.ca50", "high")
    assert low.gas.cycle.peak_angle < high.gas.cycle.peak_angle
    for found in (low, high):
        peak = SCENE.plot.values(found, "metric")["peak"]
        assert peak["x"][0] == pytest.approx(np.degrees(found.gas.cycle.peak_angle))
        half = SCENE.plot.values(found, "metric")["half"]
        assert half["x"][0] == pytest.approx(np.degrees(found.build.burn.ca50))
        # what is burnt in all is the part of the heat that is ever released
        assert half["y"][0] == pytest.approx(50.0 * FOUR.burn.released_share, abs=0.2)


def test_no_late_burn_passes_the_bound() -> None:
    for path in KNOBS:
        for end in ("low", "high"):
            found = at(path, end)
            assert found.gas.mean_peak < float(found.gas.bound.peak_pressure)


def test_lines_in_both_systems_and_inside_their_axes() -> None:
    found = gas_lesson.find(FOUR)
    metric, inch = (SCENE.plot.values(found, s) for s in ("metric", "inch"))
    np.testing.assert_allclose(inch["mean"]["y"], metric["mean"]["y"] * 14.503773773, rtol=1e-9)
    for one in (metric, inch):
        for data in one.values():
            assert all(np.all(np.isfinite(v)) for v in data.values())
    points = sum(np.size(t["y"]) for t in SCENE.plot.traces(found, "metric"))
    assert points <= 800
    assert "psi absolute" in str(SCENE.plot.layout([found], "inch"))


@pytest.mark.parametrize("spread", [{}, {"ca50_variation": "2 deg", "duration_variation": 0.06}])
def test_single_cycles_spread_as_the_sheet_says(spread: dict[str, object]) -> None:
    found = analysis.gas_force(FOUR.vary({f"burn.{k}": v for k, v in spread.items()}))
    turn, pressure = found.singles
    peaks = pressure.max(axis=1)
    assert np.all(np.diff(np.argmax(pressure, axis=1)) > 0) or spread, "the later the lower"
    assert peaks.mean() == pytest.approx(found.gas.mean_peak, rel=0.01)
    # five quantiles of a normal spread have 0.88 of its standard deviation
    assert peaks.std() / peaks.mean() == pytest.approx(0.88 * found.gas.peak_variation, rel=0.15)
    assert pressure.shape == (5, len(turn))


def test_gas_force_is_pressure_over_the_air_outside_on_the_seal() -> None:
    found = gas_lesson.find(FOUR)
    area = np.pi / 4 * FOUR.gasket.seal_diameter**2
    assert found.force == pytest.approx(found.gas.design_gauge * area)


def test_ladder_multiplies_up_to_the_sizing_pressure() -> None:
    found = gas_lesson.find(FOUR)
    steps = [value for _, value in gas_lesson.ladder(found.gas)]
    assert steps == sorted(steps) and steps[-1] == found.gas.design_peak
    rows = SCENE.tables(found, "metric")["From the air outside to the peak"]
    product = np.prod([float(r["times the step before"]) for r in rows[1:5]])
    assert product == pytest.approx(steps[-1] / steps[0], rel=0.02)
    assert "102.4 bar" not in rows[0]["absolute"] and "gauge" in rows[1]["above the air outside"]


def test_fuel_pick_keeps_the_mixture_and_goes_back() -> None:
    pick = SCENE.picks(FOUR)[0]
    for name in pick.options:
        other = pick.put(FOUR, name)
        assert other.fuel.name == name and other.fuel.air_ratio == FOUR.fuel.air_ratio
    assert pick.put(pick.put(FOUR, "methanol"), "gasoline").fuel == FOUR.fuel
    with pytest.raises(InputError, match="one of gasoline"):
        pick.put(FOUR, "lamp oil")
    octane = [gas_lesson.find(pick.put(FOUR, n)).gas for n in ("gasoline", "E85")]
    assert octane[1].knock_integral < octane[0].knock_integral
    rows = SCENE.buttons["Compare fuels on this engine"](FOUR, gas_lesson.find(FOUR), "metric")
    assert [r["case"] for r in next(iter(rows.values()))] == list(gas_lesson.FUELS)


def test_knock_changes_the_verdict() -> None:
    calm, loud = at("charge.boost", "low"), at("charge.boost", "high")
    assert SCENE.sentence(calm, "metric").good is True
    assert loud.gas.knock_integral > 1 and SCENE.sentence(loud, "metric").good is False
    rare = SCENE.sentence(gas_lesson.find(FOUR), "metric")
    assert rare.word == "RARE CYCLES MAY KNOCK" and rare.good is None
    # what is judged stands large: the integral, where rare cycles knock theirs
    assert SCENE.sentence(loud, "metric").number == f"{loud.gas.knock_integral:.2f}"
    assert float(rare.number) >= 1.0 and rare.line.startswith("knock integral in the cycle des")
    calm = gas_lesson.find(FOUR.vary({"burn.ca50": "24 deg"}))
    assert SCENE.sentence(calm, "metric").good is True and (calm.gas.rare_knock or 2.0) < 1.0
    shaken = gas_lesson.find(FOUR.vary({"burn.knock_amplitude": "20 bar"}))
    assert "with knock on top" in SCENE.sentence(shaken, "metric").words
    assert shaken.force > gas_lesson.find(FOUR).force


# --------------------------------------------------------------------------- exercises
def test_exercise_values_are_the_engines() -> None:
    gas = analysis.gas_side(FOUR)
    ratio = float(gas.charge.manifold_pressure) / gas.ambient
    assert gas_lesson.EXERCISES.both(1, FOUR)[0].value == pytest.approx(ratio)
    two = gas_lesson.EXERCISES.both(2, FOUR)[0].value
    assert isinstance(two, float) and 1.3 < two < (1 + 2 * FOUR.charge.boost / gas.ambient) / ratio
    three = gas_lesson.EXERCISES.both(3, FOUR)[0].value
    early, now = at("burn.ca50", "low"), gas_lesson.find(FOUR)
    assert three == pytest.approx(early.force - now.force)
    assert "knock margin grows" in str(gas_lesson.EXERCISES.both(4, FOUR)[0].value)


@pytest.mark.parametrize("name", builds.demos())
def test_what_exercise_4_says_of_every_engine(name: str) -> None:
    fuels = ("gasoline", "E85")
    petrol, blend = (gas_lesson.find(with_fuel(builds.demo(name), fuel)).gas for fuel in fuels)
    assert blend.knock_integral < petrol.knock_integral
    change = blend.mean_peak / petrol.mean_peak - 1.0
    air = blend.charge.air_mass / petrol.charge.air_mass - 1.0
    assert 0.0 < change < 0.12 and air > 0.7 * change


def test_exercises_of_an_engine_without_boost() -> None:
    v8 = builds.demo("na-iron-v8")
    assert gas_lesson.EXERCISES.both(3, v8)[0].unit == "lbf"


def test_sources_have_a_status_each() -> None:
    text = gas_lesson.sources(gas_lesson.find(FOUR)).text
    assert "from memory" in text and "invented" in text and "SAE 780080" in text


def test_hand_work_agrees_with_the_engine() -> None:
    outside, boost = gas_lesson.manifold(FOUR)
    gas = analysis.gas_side(FOUR)
    manifold = float(gas.charge.manifold_pressure)
    assert (outside + boost).to("Pa").magnitude == pytest.approx(manifold, rel=1e-6)
    average, spread, one_in = gas_lesson.spread(FOUR)
    assert (average.to("Pa").magnitude, spread, one_in) == (gas.mean_peak, 0.06, 1000)
    assert show(gas.bound.compression_pressure, "pressure") in gas_lesson.by_panel(
        gas_lesson.find(FOUR)
    )


def test_static_panel_is_the_same_scene() -> None:
    shown = panels.static(FOUR, SCENE, settings={"Boost": "20 psi", "Fuel": "E85"})
    assert "<animate" not in shown.drawing, "nothing there would stop it"
    assert shown.result.build.fuel.name == "E85"
    assert dataclasses.asdict(shown.result.build.charge)["boost"] == pytest.approx(137895, rel=1e-4)
