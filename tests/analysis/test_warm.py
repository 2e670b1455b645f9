"""Every state of the engine is judged: the worst decides and is named."""

from __future__ import annotations

import numpy as np
import pytest

from sealkit import analysis, report, tables
from sealkit import build as builds
from sealkit.analysis import margins
from sealkit.build import Build
from sealkit.sealing import heat, hot_metal

FOUR = builds.demo("boosted-four")


def alone(build: Build, name: str, peak: float) -> dict[str, float]:
    """Margins of the fastener side in one hot state, from the joint itself."""
    found = analysis.judged(build, peak)
    state = analysis.hot_state(build, name)
    u = float(analysis.stack_of(build).differential_expansion(state))
    u -= float(found.high.preload[0] * analysis.softer(build, found.joint, state))
    hot = heat.after_heat.si(found.joint, found.high, u).hot
    tension = float(found.joint.under_gas(hot, peak).bolt_force)
    case = found.case
    bolt = hot_metal.left.si(build.fasteners.material, state.fastener).yield_strength
    block = hot_metal.left.si(build.block.material, state.block).tensile
    return {
        "fastener": case.proof * bolt * case.area / tension - 1,
        "threads": case.strip_load * block / tension - 1,
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


@pytest.mark.parametrize("name", ["boosted-four", "na-iron-v8", "methanol-drag"])
def test_warm_up_takes_the_fasteners_past_proof_and_is_named(name: str) -> None:
    weakest = report.run(builds.demo(name)).weakest
    assert weakest.check == "fastener" and weakest.margin < 0
    assert "hot (warm-up)" in str(weakest.state)


def test_warm_up_is_the_growth_worked_out_by_hand() -> None:
    """Growth from the table's temperatures; force from springs in series, gasket included."""
    peak = report.run(FOUR).gas.design_gauge
    found = analysis.judged(FOUR, peak)
    rows, metals = tables.load("temperatures"), tables.load("materials")
    at, f = rows["warm-up"], FOUR.fasteners
    over = at["coolant"] - 293.15
    lengths = np.array([f.grip_head, f.grip_block, -(f.grip_head + f.grip_block)])
    names = (FOUR.head.material, FOUR.block.material, f.material)
    growth = np.array([metals[n]["expansion"] for n in names])
    rises = over + np.array([at["head"], at["block"], at["fastener"]])
    by_hand = float(np.sum(lengths * growth * rises))
    state = analysis.hot_state(FOUR, "warm-up")
    stack = analysis.stack_of(FOUR)
    gasket = stack.gasket_thickness * (
        stack.gasket_expansion * (state.gasket - 293.15)
        - stack.bolt_expansion * (state.fastener - 293.15)
    )
    u = float(stack.differential_expansion(state))
    assert u == pytest.approx(by_hand + gasket, rel=1e-9)
    (warm,) = (h for h in found.case.heated if h.name == "warm-up" and h.high is not None)
    assert warm.high is not None
    joint, high = found.joint, found.high
    u -= float(high.preload[0] * analysis.softer(FOUR, joint, state))
    members = 1 / joint.bolt_stiffness + 1 / joint.member_stiffness
    gain = float(warm.high.preload[0] - high.preload[0])
    assert 0.8 * u / members < gain < u / members  # the gasket gives way a little


def test_softer_metal_takes_clamp_away() -> None:
    joint = report.run(FOUR).joint
    give = [float(analysis.softer(FOUR, joint, s)) for s in analysis.states_of(FOUR)]
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


def test_many_builds_have_the_worst_state_of_each() -> None:
    torque = {"heat.rise_factor": np.array([0.5, 1.0, 1.6])}
    peak = report.run(FOUR).gas.design_gauge
    many = analysis.judged(analysis.with_numbers(FOUR, torque), np.full(3, peak))
    found = {r.key: r for r in margins.worse(margins.limits(many.case, np.full(3, peak)))}
    for i, factor in enumerate(torque["heat.rise_factor"]):
        build = FOUR.vary_si({"heat.rise_factor": float(factor)})
        case = analysis.judged(build, peak).case
        for row in margins.worse(margins.limits(case, peak)):
            assert np.broadcast_to(found[row.key].margin, 3)[i] == pytest.approx(
                float(row.margin), rel=1e-6
            ), row.key
