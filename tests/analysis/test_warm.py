"""Every state of the engine is judged: the worst decides and is named."""

from __future__ import annotations

import numpy as np
import pytest

from sealkit import analysis, report, tables
from sealkit import build as builds
from sealkit.analysis import gas_side, margins
from sealkit.analysis.warm import across_head, bow_at_seal
from sealkit.build import Build
from sealkit.sealing import heat, hot_metal
from tests.validation.carslaw_jaeger import even_fall, warming

FOUR = builds.demo("boosted-four")


def alone(build: Build, name: str, peak: float) -> dict[str, float]:
    """Margins of the fastener side in one hot state, from the joint itself."""
    found, _ = analysis.judged(build, peak)
    state = analysis.hot_state(build, name)
    u = float(analysis.stack_of(build).differential_expansion(state))
    u -= float(found.clamp.high.preload[0] * analysis.softer(build, found.joint, state))
    bow = bow_at_seal(build, name)
    hot = heat.after_heat.si(found.joint, found.clamp.high, u, bow=bow).hot
    tension = float(found.joint.under_gas(hot, peak).bolt_force)
    strength = found.clamp.strength
    bolt = hot_metal.left.si(build.fasteners.material, state.fastener).yield_strength
    block = hot_metal.left.si(build.block.material, state.block).tensile
    return {
        "fastener": strength.proof * bolt * found.clamp.weakest_area / tension - 1,
        "threads": found.strip_load * block / tension - 1,
    }


@pytest.mark.parametrize("name", builds.demos())
def test_worst_state_is_no_better_than_any_single_one(name: str) -> None:
    one = report.run(builds.demo(name))
    rows = {r.key: r for r in one.limits}
    each = {s: alone(one.build, s, one.gas.design_gauge) for s in analysis.HOT_STATES}
    for key in ("fastener", "threads"):
        for state in analysis.HOT_STATES:
            assert rows[key].margin <= each[state][key] + 1e-9, (key, state)
        if rows[key].state.state:  # and it is that of the state it names
            assert rows[key].margin == pytest.approx(each[rows[key].state.state][key], rel=1e-9)


@pytest.mark.parametrize("name", builds.demos())
def test_warm_up_pulls_hardest_and_a_hot_state_is_the_worst(name: str) -> None:
    """In warm-up the tension is highest; later it is less, and so is the strength."""
    one = report.run(builds.demo(name))
    tension = {h.name: float(h.high.preload[0]) for h in one.case.heated if h.high is not None}
    proof = {h.name: float(h.proof) for h in one.case.heated}
    assert max(tension, key=lambda n: tension[n]) == "warm-up"
    assert all(proof[n] < proof["warm-up"] for n in tension if n != "warm-up")
    row = next(r for r in one.limits if r.key == "fastener")
    assert row.state.state in str(row.state)
    cold = float(one.joint.under_gas(one.case.high, one.gas.design_gauge).bolt_force)
    assert row.margin < one.clamp.strength.proof * one.clamp.weakest_area / cold - 1


def test_fasteners_past_proof_in_warm_up_only_do_not_hold() -> None:
    """The drag engine tightened a little further: warm-up is named, cold they would hold."""
    changes = {"fasteners.stretch": "0.02336 in", "head.gradient": "0 K"}
    one = report.run(builds.demo("methanol-drag").vary(changes))
    assert [r.key for r in one.limits if not r.holds] == ["fastener"]
    assert not one.holds and "(warm-up, " in one.verdict()
    cold = float(one.joint.under_gas(one.case.high, one.gas.design_gauge).bolt_force)
    assert one.clamp.strength.proof * one.clamp.weakest_area > cold


def test_share_of_warm_up_is_that_of_a_bar_that_trails_its_head() -> None:
    """A bar with time constant tau in a head that rises evenly for t is behind by tau of the rise.

    share = 1 - tau/t (1 - exp(-t/tau)). Through the air round a stud of 14 mm with 0.5 mm about it
    tau = rho c d/(4 h), h = k/gap; through both ends of a bar of 0.13 m L**2/(pi**2 a). The two
    bound the table's 150 s.
    """
    air = 7850 * 480 * 0.014 / (4 * 0.027 / 0.5e-3)
    ends = 0.13**2 / (np.pi**2 * 1.2e-5)
    assert 1 / (1 / air + 1 / ends) < 150 < air

    def share(seconds: float) -> float:
        return 1.0 - seconds / 180.0 * (1.0 - np.exp(-180.0 / seconds))

    row = tables.load("temperatures")["warm-up"]
    assert row["fastener"] == pytest.approx(share(150.0), abs=0.03)  # rounded to one figure
    other = tables.load("alternatives")["heat.warm_up_share"]
    assert (other["low"], other["high"]) == pytest.approx((share(300.0), share(60.0)), abs=0.005)


def test_fasteners_that_lag_further_are_pulled_harder() -> None:
    def margin(share: float) -> float:
        rows = report.run(builds.demo("methanol-drag").vary({"heat.warm_up_share": share})).limits
        return float(next(r.margin for r in rows if r.key == "fastener"))

    usual = float(tables.load("temperatures")["warm-up"]["fastener"])
    assert margin(0.2) < margin(usual) < margin(0.6)


def test_fire_side_over_top_is_twice_the_rise_of_an_even_fall() -> None:
    """Mean over the height of a fall from the deck to the coolant's temperature at the top."""
    rows = tables.load("temperatures")
    for name in ("warm idle", "hot full load"):
        fall = np.linspace(rows[name]["across"], 0.0, 101)
        assert np.mean(fall) == pytest.approx(rows[name]["head"])
    most = max(rows[name]["across"] for name in rows)
    assert rows["hot full load"]["across"] == rows["warm-up"]["across"] == most
    assert not any(rows[n]["across"] for n in ("cold start", "cold soak", "heat soak"))
    given = FOUR.vary({"head.gradient": "45 K"})
    for name in analysis.HOT_STATES:
        assert across_head(given, name) == pytest.approx(1.5 * across_head(FOUR, name))


def flux_of(build: Build) -> float:
    """Heat of the chamber that goes into the head, over the whole face [W/m**2]."""
    gas, bore = gas_side(build), build.engine.bore
    face = np.pi / 4 * bore**2
    share = face / (2.0 * face + 4.0 * gas.cycle.volume / bore)
    heat_flow = np.gradient(gas.cycle.wall_heat, gas.cycle.crank_angle)
    to_head = np.trapezoid(heat_flow * share, gas.cycle.crank_angle) * build.engine.speed / 2.0
    x0, x1, y0, y1 = build.layout.extent
    return float(to_head * len(build.layout.bores) / ((x1 - x0) * (y1 - y0)))


def test_the_heat_that_flows_makes_about_that_difference() -> None:
    """From the cycle's own wall heat, by the deck of a cooled head, q (t/(2 k) + 1/h).

    Heat of the chamber over the whole face, a deck of 10 mm, film of the coolant 10 kW/(m2 K),
    k of cast aluminium and iron, all from memory; the roof is as cold as the coolant. Good to a
    factor of two.
    """
    for name, conductivity in (
        ("boosted-four", 150.0),
        ("boosted-six", 150.0),
        ("na-iron-v8", 48.0),
    ):
        build = builds.demo(name)
        q = flux_of(build)
        assert 1e5 < q < 1e6
        over = q * (0.010 / (2.0 * conductivity) + 1e-4)
        assert 0.5 < over / across_head(build, "hot full load") < 2.0


def test_a_solid_head_bows_by_the_heat_of_a_run() -> None:
    """The drag sheet's own figure: three seconds at full load, and no heat leaves the head.

    From the cycle's wall heat and conduction in a slab, whose own figures are those of half a
    solid without end soon after the start, and of its parabola q H/(2 k) long after.
    """
    build = builds.demo("methanol-drag")
    height, metal = build.fasteners.grip_head, tables.load("materials")[build.head.material]
    k, a = metal["conductivity"], metal["conductivity"] / (2700.0 * 896.0)  # aluminium, from memory
    heated = (flux_of(build), 3.0, height, k, a)
    assert across_head(build, "hot full load") == pytest.approx(even_fall(*heated), rel=0.05)
    deep = (heated[0], 0.5, height, k, a)
    start = 2.0 * heated[0] / k * np.sqrt(a * 0.5 / np.pi)  # half a solid without end
    assert warming(height, *deep) == pytest.approx(start, rel=1e-2)
    late = (1.0, 1e5 * height**2 / a, height, 1.0, a)
    assert even_fall(*late) == pytest.approx(0.5 * height, rel=1e-3)


def test_warm_up_is_the_growth_worked_out_by_hand() -> None:
    """Growth from the table's temperatures; force from springs in series, gasket included."""
    peak = report.run(FOUR).gas.design_gauge
    found, _ = analysis.judged(FOUR, peak)
    rows, metals = tables.load("temperatures"), tables.load("materials")
    at, f = rows["warm-up"], FOUR.fasteners
    over = at["coolant"] - 293.15
    lengths = np.array([f.grip_head, f.grip_block, -(f.grip_head + f.grip_block)])
    names = (FOUR.head.material, FOUR.block.material, f.material)
    growth = np.array([metals[n]["expansion"] for n in names])
    head = over + at["head"]
    rises = np.array([head, over + at["block"], at["fastener"] * head])
    by_hand = float(np.sum(lengths * growth * rises))
    state = analysis.hot_state(FOUR, "warm-up")
    stack = analysis.stack_of(FOUR)
    gasket = stack.gasket_thickness * (
        stack.gasket_expansion * (state.gasket - 293.15)
        - stack.bolt_expansion * (state.fastener - 293.15)
    )
    u = float(stack.differential_expansion(state))
    assert u == pytest.approx(by_hand + gasket, rel=1e-9)
    (warm,) = (h for h in found.heated if h.name == "warm-up" and h.high is not None)
    assert warm.high is not None
    joint, high = found.joint, found.clamp.high
    u -= float(high.preload[0] * analysis.softer(FOUR, joint, state))
    members = 1 / joint.bolt_stiffness + 1 / joint.member_stiffness
    gain = float(warm.high.preload[0] - high.preload[0])
    assert 0.8 * u / members < gain < u / members  # the gasket gives way a little


def test_softer_metal_takes_clamp_away() -> None:
    joint = report.run(FOUR).joint
    states = (analysis.hot_state(FOUR, name) for name in analysis.HOT_STATES)
    give = [float(analysis.softer(FOUR, joint, s)) for s in states]
    assert all(g > 0 for g in give)
    cold = heat.temperatures.si("cold start")
    assert float(analysis.softer(FOUR, joint, cold)) == 0.0
    bolt = 1 / 0.98 - 1  # a bolt at 100 degC in members that stay cold, ASME II-D (from memory)
    state = heat.temperatures.si("cold start")
    hot_bolt = type(state)(**{**vars(state), "fastener": 373.15})
    assert float(analysis.softer(FOUR, joint, hot_bolt)) == pytest.approx(
        bolt / joint.bolt_stiffness, rel=1e-9
    )


def test_hotter_engine_never_makes_fastener_or_thread_stronger() -> None:
    def rows(coolant: str) -> dict[str, margins.Limit]:
        one = report.run(FOUR.vary({"heat.coolant_temperature": coolant}))
        return {r.key: r for r in one.limits}

    cool, hot = rows("70 degC"), rows("130 degC")
    for key in ("fastener", "threads", "bearing"):
        assert hot[key].margin <= cool[key].margin


def test_cold_soaked_engine_is_judged_and_colder_is_worse() -> None:
    def seal(soak: str) -> margins.Limit:
        case = report.run(FOUR.vary({"heat.cold_soak": soak})).case
        rows = [
            r for r in margins.limits(case, 6e6)
            if r.check == "residual" and "cold soak" in r.state.state
        ]  # fmt: skip
        return rows[0]

    assert seal("-40 degC").capacity < seal("-10 degC").capacity


def test_more_gas_at_the_cold_start_leaves_less_margin_there_alone() -> None:
    def found(share: float) -> dict[str, list[float]]:
        case = report.run(FOUR.vary({"heat.cold_start_gas": share})).case
        rows = [r for r in margins.limits(case, 6e6) if r.check == "residual"]
        cold = ["cold soak" in r.state.state for r in rows]
        return {
            k: [float(r.margin) for r, c in zip(rows, cold, strict=True) if c == (k == "cold")]
            for k in ("cold", "other")
        }

    shares = [found(s) for s in (0.2, 0.5, 0.8, 1.0)]
    cold = np.array([f["cold"] for f in shares])
    assert cold.size and np.all(np.diff(cold, axis=0) < 0)
    assert all(f["other"] == shares[0]["other"] and f["other"] for f in shares)
    assert found(0.5) == found(FOUR.heat.cold_start_gas)


def test_many_builds_have_the_worst_state_of_each() -> None:
    torque = {"heat.rise_factor": np.array([0.5, 1.0, 1.6])}
    peak = report.run(FOUR).gas.design_gauge
    many, _ = analysis.judged(analysis.with_numbers(FOUR, torque), np.full(3, peak))
    found = {r.key: r for r in margins.worse(margins.limits(many, np.full(3, peak)))}
    for i, factor in enumerate(torque["heat.rise_factor"]):
        build = FOUR.vary_si({"heat.rise_factor": float(factor)})
        case, _ = analysis.judged(build, peak)
        for row in margins.worse(margins.limits(case, peak)):
            assert np.broadcast_to(found[row.key].margin, 3)[i] == pytest.approx(
                float(row.margin), rel=1e-6
            ), row.key
