"""The joint over heat and cold: states and limits are the report's, heat moves it the right way."""

from __future__ import annotations

import pytest

from sealkit import analysis
from sealkit import build as builds
from sealkit import report as reports
from sealkit.analysis import HeatStates, heat_states
from sealkit.analysis.heat_states import JUDGED
from sealkit.analysis.margins import FIRST_START, limits, worse
from sealkit.build import Build

FOUR = builds.demo("boosted-four")
V8 = builds.demo("na-iron-v8")
ENDS = {
    "heat.coolant_temperature": ("40 degC", "130 degC"),
    "heat.cold_soak": ("-40 degC", "20 degC"),
    "gasket.creep_relaxation": ("0 %", "40 %"),
}


def at(path: str, end: str, build: Build = FOUR) -> HeatStates:
    low, high = ENDS[path]
    return heat_states(build.vary({path: low if end == "low" else high}))


def preloads(one: HeatStates) -> dict[str, float]:
    return {s.name: s.preload for s in one.stands}


# --------------------------------------------------------------------------- the states
def test_states_are_the_reports() -> None:
    one = heat_states(FOUR)
    report = reports.run(FOUR)
    p = preloads(one)
    assert p["as tightened"] == pytest.approx(float(report.clamp.preload.assembly_low))
    assert p["settled"] == pytest.approx(float(report.clamp.preload.low))
    assert p["hot"] == pytest.approx(float(report.warm.low.worked.preload[0]))
    assert p["cold again"] == pytest.approx(float(report.case.low.preload[0]))
    assert p["retorqued cold"] == pytest.approx(p["as tightened"])
    assert p["cold soak"] < p["cold again"] <= p["settled"] < p["as tightened"] < p["hot"]


def test_limits_are_the_reports() -> None:
    """The report takes the worst of all hot states; here one is shown at a time."""
    for name in builds.demos():
        report = reports.run(builds.demo(name))
        shown = [heat_states(report.build.vary({"heat.hot_state": n})) for n in analysis.HOT_STATES]
        every = limits(report.case, report.gas.design_gauge)
        rows = {r.key: r for r in worse(r for r in every if r.state.state != FIRST_START)}
        for judged in JUDGED:
            # the report looks at all states but the first and the last, and at the first start
            found = [
                s.limits[judged]
                for one in shown
                for s in one.stands[2 if judged == JUDGED[0] else 1 : -1]
                if judged in s.limits
            ]
            if not found:
                assert report.build.liquids.deck == "dry"
                continue
            least = min(found, key=lambda r: float(r.margin))
            key = least.key if judged == "combustion seal" else f"liquid/{judged}"
            assert float(least.margin) == pytest.approx(float(rows[key].margin), rel=1e-6)


def test_clamped_stack_is_the_reports() -> None:
    for name in builds.demos():
        build = builds.demo(name)
        warm = heat_states(build).warm
        stack, grown = analysis.stack_of(build), analysis.grown_parts(build)
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
    low, high = (
        heat_states(FOUR.vary({"liquids.coolant_pressure": p})) for p in ("0.5 bar", "6 bar")
    )
    cool, hot = (c.at("hot").limits["coolant"] for c in (low, high))
    assert hot.demand > cool.demand
    cold = [c.at("cold again").limits["coolant"] for c in (low, high)]
    assert cold[0] == cold[1]


def test_during_warm_up_the_clamp_is_highest() -> None:
    hot = {
        n: heat_states(FOUR.vary({"heat.hot_state": n})).preload("hot")
        for n in ("warm-up", "warm idle", "hot full load")
    }
    assert hot["warm-up"] > hot["hot full load"] > hot["warm idle"]


def test_least_leaves_out_the_wrench_and_says_where() -> None:
    one = heat_states(FOUR)
    stand, limit = one.least("coolant") or pytest.fail("a wet deck")
    margins = [s.limits["coolant"].margin for s in one.stands[1:] if "coolant" in s.limits]
    assert limit.margin == min(margins) and stand.limits["coolant"] is limit
    assert heat_states(builds.demo("methanol-drag")).least("oil") is None


def test_retorqued_hot_loses_what_heat_had_put_on() -> None:
    one = heat_states(FOUR)
    hot, cold = one.retorqued_hot()
    assert hot == pytest.approx(one.preload("as tightened"))
    assert hot - cold == pytest.approx(one.preload("hot") - one.preload("cold again"), rel=0.02)
    assert one.rigid_gain > one.preload("hot") - one.preload("settled") > 0
