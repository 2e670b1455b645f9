"""Many builds at once: the same numbers as the report, known probabilities, honest intervals.

Outside values: normal spread of peaks (SciPy, ``data/checks/variation.csv``) and the measured
preloads of Blake and Kurtz as printed in Budynas and Nisbett, Shigley's Mechanical Engineering
Design, 9th ed., Tables 8-13 and 8-14 (``tests/validation/shigley.csv``). Two normal spreads against
each other: z = (mean capacity - mean demand)/sqrt(sum of variances), the textbook's measure of
reliability, from memory.
"""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import analysis, build, checks, paper, report, scatter
from sealkit.analysis import margins
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.fastening import tightening
from sealkit.scatter import (
    ANY,
    DAMAGE,
    GAS_LEAK,
    LIQUID_LEAK,
    Highest,
    Input,
    Judged,
    LogNormal,
    Normal,
    Triangular,
    Uniform,
    sobol,
)
from sealkit.scatter.result import EDGES
from sealkit.units import Q
from tests import sheets, validation

DEMOS = build.demos()
ANGLE = {
    "fasteners.tightening": "torque and angle",
    "fasteners.torque": "60 N*m",
    "fasteners.angle": "150 deg",
}
VOLUMES = {
    "engine.chamber": {
        "chamber_volume": "52 cc",
        "deck_clearance": "0.3 mm",
        "piston_volume": "6 cc",
    }
}
SHEETS: dict[str, tuple[str, dict[str, Any]]] = {
    **{name: (name, {}) for name in DEMOS},
    "turned past yield": ("boosted-four", ANGLE),
    "turned": ("na-iron-v8", {**ANGLE, "fasteners.torque": "20 N*m", "fasteners.angle": "60 deg"}),
    "to yield": ("boosted-six", {"fasteners.tightening": "yield"}),
    "knock": ("boosted-four", {"burn.knock_amplitude": "20 bar"}),
    "dry deck": ("boosted-four", {"liquids.deck": "dry"}),
    "volumes": ("boosted-four", VOLUMES),
    "copper": ("boosted-four", {"gasket.construction": "copper sheet"}),
}


def sheet(name: str) -> Build:
    demo, changes = SHEETS[name]
    return build.demo(demo).vary(changes)


def one(name: str, law: scatter.Distribution) -> Input:
    return Input(name, {name: law}, "this test", "invented")


# --------------------------------------------------------------------------- the report's numbers
@pytest.mark.parametrize("name", SHEETS)
def test_builds_at_the_sheet_have_the_margins_of_the_report(name: str) -> None:
    b = sheet(name)
    usual = scatter.usual(b, "parts")
    paths = [p for x in usual for p in x.spreads]
    held = {p: nominal(b, p) for p in paths}
    rows, *_ = scatter.judge_builds(b, {p: np.full(3, v) for p, v in held.items()})
    wanted = {r.key: r for r in report.run(b).limits}
    assert wanted.keys() <= {r.key for r in rows}
    for row in rows:
        margins = np.broadcast_to(row.margin, (3,))
        if row.key in wanted:
            assert list(margins) == pytest.approx([wanted[row.key].margin] * 3, rel=1e-12), row.key
        else:
            assert np.all(np.isinf(margins)), row.key


def nominal(b: Build, path: str) -> float:
    if path.startswith("fasteners.friction"):
        f = tightening.friction.si(b.fasteners.lubricant)
        given = getattr(b.fasteners, path.split(".")[1])
        return given or (f.thread if path.endswith("thread") else f.head)
    if path == "fasteners.embedment":
        return float(analysis.embedment_of(b)[0])
    if path == "gasket.creep_relaxation":
        return float(analysis.creep_of(b)[0])
    if path == "gasket.seal_creep_relaxation":
        return float(analysis.seal_creep_of(b))
    if path == "gasket.body_over_ring":
        return float(analysis.body_over_ring(b))
    if path == "heat.coolant_temperature":
        return float(analysis.hot_state(b, analysis.FULL_LOAD).coolant)
    value = b.get(path)
    return float(b._held(path) if hasattr(value, "units") else value)


@pytest.mark.parametrize("preload", ["parts", "method"])
@pytest.mark.parametrize("name", SHEETS)
def test_each_build_is_the_report_on_its_own_sheet(name: str, preload: str) -> None:
    b = sheet(name)
    out = scatter.run(b, scatter.usual(b, preload), 64, seed=5)
    for i in (0, 7, 23, 48):
        by = {r.key: r.margin for r in report.run(sheets.sample(out, i)).limits}
        assert by.keys() <= out.margins.keys()
        for key, found in out.margins.items():
            want = by.get(key, np.inf)
            assert found[i] == pytest.approx(want, rel=1e-9, abs=1e-11), key


def test_a_sample_can_be_looked_at_by_the_report() -> None:
    b = build.demo("boosted-six")
    out = scatter.run(b, count=512)
    worst = int(np.argmin(out.margins["residual"]))
    # the body of this one is as thick as it was drawn
    leaks = report.run(sheets.sample(out, worst).vary({"gasket.body_tolerance": "0 mm"}))
    assert not leaks.holds and "does not hold" in leaks.verdict().lower()
    assert leaks.clamp.preload.assembly_low == leaks.clamp.preload.assembly_high


# --------------------------------------------------------------------------- known probabilities
def normal_peaks(x: dict[str, Any]) -> Judged:
    return Judged({"holds": LIMIT / x["peak"] - 1.0})


LIMIT = float(checks.row("variation", "6.12-100").want().to("Pa").magnitude)


def test_normal_peaks_pass_their_one_in_a_hundred_limit_once_in_a_hundred() -> None:
    inputs = checks.row("variation", "6.12-100").arguments()
    mean = float(Q(inputs["mean"]).to("Pa").magnitude)
    wanted = 1.0 / inputs["one_in"]
    law = one("peak", Normal(mean, 0.08 * mean))
    found = scatter.study(normal_peaks, [law], 16_384).limits[0].failure
    assert found.low <= wanted <= found.high
    fine = scatter.study(normal_peaks, [law], 131_072).limits[0].failure
    assert fine.value == pytest.approx(wanted, rel=0.01)
    assert fine.high - fine.low < found.high - found.low


def load_and_clamp(x: dict[str, Any]) -> Judged:
    return Judged({"holds": x["clamp"] / x["load"] - 1.0}, {"clamp": x["clamp"]})


def phi(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


@pytest.mark.parametrize("load", [26e3, 28e3, 30e3])
def test_measured_preloads_taken_as_normal_against_a_fixed_load(load: float) -> None:
    mean, deviation = (
        float(validation.row("shigley", f"BK-dry-{x}").want().to("N").magnitude)
        for x in ("mean", "deviation")
    )
    inputs = [one("clamp", Normal(mean, deviation)), one("load", Normal(load, 0.0))]
    found = scatter.study(load_and_clamp, inputs, 16_384)
    wanted = phi((load - mean) / deviation)
    assert found.limits[0].failure.low <= wanted <= found.limits[0].failure.high
    assert found.watched["clamp"] == pytest.approx((mean, deviation), rel=2e-3)


def test_intervals_hold_the_true_probability_as_often_as_they_say() -> None:
    """95 % intervals of many seeds, likely to rare; at least 90 of 100 must hold it."""
    for beta, count in ((0.5, 1024), (2.0, 4096), (3.1, 1024)):
        load = 100.0 - beta * math.hypot(5.0, 3.0)
        inputs = [one("clamp", Normal(100.0, 5.0)), one("load", Normal(load, 3.0))]
        hit = 0
        for seed in range(100):
            c = scatter.study(load_and_clamp, inputs, count, seed).limits[0].failure
            hit += c.low <= phi(-beta) <= c.high
        assert hit >= 90, (beta, count, hit)


def test_no_failure_seen_has_the_bound_of_as_many_independent_builds() -> None:
    found = scatter.probability_of([0] * 16, [256] * 16)
    assert found.value == 0.0 and found.low == 0.0
    # the rule of three: 3/n at 95 %
    assert found.high == pytest.approx(3.0 / 4096, rel=2e-3)
    assert (1.0 - found.high) ** 4096 == pytest.approx(0.05)
    assert "none of 4,096 builds; under 0.073 %" in found.text()
    every = scatter.probability_of([256] * 16, [256] * 16)
    assert every.low == pytest.approx(1.0 - found.high) and "all of 4,096" in every.text()


@pytest.mark.parametrize(("failed", "count"), [(1, 100), (7, 1024), (40, 64), (63, 64)])
def test_few_failures_have_the_exact_binomial_interval(failed: int, count: int) -> None:
    from scipy.stats import binomtest

    found = scatter.probability_of([failed], [count], 0.9)
    wanted = binomtest(failed, count).proportion_ci(0.9, method="exact")
    assert (found.low, found.high) == pytest.approx((wanted.low, wanted.high), rel=1e-9)


def test_interval_of_the_scrambles_is_students() -> None:
    from scipy import stats

    failed = np.array([20, 31, 25, 28])
    found = scatter.probability_of(failed, [100] * 4)
    reach = stats.t.ppf(0.975, 3) * stats.sem(failed / 100)
    assert (found.low, found.high) == pytest.approx((0.26 - reach, 0.26 + reach))
    # scrambles cut short weigh by their builds
    uneven = scatter.probability_of([20, 31, 25, 28, 40], [100, 100, 100, 100, 200])
    assert uneven.value == pytest.approx(144 / 600) and uneven.low < 0.24 < uneven.high


@dataclasses.dataclass(frozen=True)
class Listed(scatter.Distribution):
    """One of a list of measured values, each as likely as the others (a bootstrap)."""

    values: tuple[float, ...]

    def __post_init__(self) -> None:
        assert np.all(np.isfinite(self.values))

    def at(self, share: Any) -> Any:
        rows = np.sort(np.asarray(self.values))
        return rows[np.minimum((share * len(rows)).astype(int), len(rows) - 1)]


@pytest.mark.parametrize("kind", ["dry", "oiled"])
def test_measured_preloads_drawn_again_keep_mean_and_deviation(kind: str) -> None:
    """Blake and Kurtz's lists as a bootstrap; the printed s counts n - 1."""
    row = validation.row("shigley", f"BK-{kind}-mean")
    forces = tuple(float(Q(x).to("N").magnitude) for x in row.arguments()["preloads"])
    inputs = [one("clamp", Listed(forces)), one("load", Normal(28e3, 0.0))]
    found = scatter.study(load_and_clamp, inputs, 65_536, keep=65_536)
    mean, deviation = found.watched["clamp"]
    n = len(forces)
    assert mean == pytest.approx(float(row.want().to("N").magnitude), abs=60.0)
    printed = validation.row("shigley", f"BK-{kind}-deviation").want().to("N").magnitude
    assert deviation * math.sqrt(n / (n - 1)) == pytest.approx(float(printed), rel=3e-3)
    assert set(np.unique(found.numbers["clamp"])) == set(forces)
    low = sum(f < 28e3 for f in forces) / n
    assert found.limits[0].failure.value == pytest.approx(low, abs=1e-3)


def test_highest_of_many_cycles_is_the_highest_of_many_normal_peaks() -> None:
    """One draw of `Highest` against the maximum of so many plain draws."""
    from scipy.special import ndtri

    cycles, rng = 200, np.random.default_rng(8)
    drawn = rng.standard_normal((20_000, cycles)).max(axis=1)
    share = np.array([0.05, 0.25, 0.5, 0.75, 0.95])
    ours = -ndtri(1.0 / Highest(cycles).at(share))
    assert ours == pytest.approx(np.quantile(drawn, share), abs=0.02)


# --------------------------------------------------------------------------- what matters most
FACTORS = {"a": 3.0, "b": -2.0, "c": 1.0, "d": 0.5}


def straight(x: dict[str, Any]) -> Judged:
    return Judged({"sum": 5.0 + sum((f * x[k] for k, f in FACTORS.items()), 0.0 * x["a"])})


def test_variance_shares_of_a_straight_sum_are_exact() -> None:
    laws: dict[str, tuple[scatter.Distribution, float]] = {
        "a": (Normal(0.0, 0.1), 0.1**2),
        "b": (Uniform(-0.3, 0.3), 0.36 / 12),
        "c": (Triangular(-0.2, 0.1, 0.4), (0.04 + 0.01 + 0.16 + 0.02 + 0.08 - 0.04) / 18),
        "d": (LogNormal(0.5, 0.4), 0.25 * math.exp(0.16) * math.expm1(0.16)),
    }
    whole = {k: FACTORS[k] ** 2 * v for k, (_, v) in laws.items()}
    found = scatter.study(straight, [one(k, law) for k, (law, _) in laws.items()], 16_384)
    shares = dict(found.limits[0].shares)
    assert list(shares) == sorted(whole, key=lambda k: -whole[k])
    for name, variance in whole.items():
        assert shares[name] == pytest.approx(variance / sum(whole.values()), rel=0.02), name
    assert sum(shares.values()) == pytest.approx(1.0, abs=0.01)


def product(x: dict[str, Any]) -> Judged:
    return Judged({"product": x["a"] * x["b"]})


def test_inputs_that_act_together_leave_a_rest() -> None:
    """y = a b with means 0 has no first-order share at all; with means 1 each has its own."""
    apart = [one("a", Normal(0.0, 0.2)), one("b", Normal(0.0, 0.2))]
    assert sum(dict(scatter.study(product, apart, 8192).limits[0].shares).values()) < 0.02
    near = [one("a", Normal(1.0, 0.2)), one("b", Normal(1.0, 0.1))]
    shares = dict(scatter.study(product, near, 16_384).limits[0].shares)
    variance = 0.04 + 0.01 + 0.0004
    assert shares["a"] == pytest.approx(0.04 / variance, rel=0.02)
    assert shares["b"] == pytest.approx(0.01 / variance, rel=0.03)


def test_friction_matters_most_to_a_torqued_fastener_and_its_clamp_to_a_bead() -> None:
    b = build.demo("boosted-four")
    out = scatter.run(b, scatter.usual(b, "parts"), 2048)
    assert out.limit("fastener").shares[0][0] == "friction (engine oil)"
    assert [name for name, _ in out.limit("residual").shares[:2]] == [
        "friction (engine oil)",
        "highest peak",
    ]


# --------------------------------------------------------------------------- running
def same(a: scatter.Scatter, b: scatter.Scatter) -> None:
    assert a.rows() == b.rows() and a.count == b.count
    assert a.limits == b.limits and a.groups == b.groups and a.watched == b.watched
    for x, y in ((a.numbers, b.numbers), (a.margins, b.margins), (a.histograms, b.histograms)):
        assert x.keys() == y.keys()
        assert all(np.asarray(x[k]).tobytes() == np.asarray(y[k]).tobytes() for k in x)


def test_the_same_seed_gives_the_same_bytes() -> None:
    b = build.demo("boosted-six")
    one_, two = (scatter.run(b, count=2048, seed=7, chunk=256) for _ in range(2))
    same(one_, two)
    other = scatter.run(b, count=2048, seed=8, chunk=256)
    assert other.groups[GAS_LEAK] != one_.groups[GAS_LEAK]


def test_a_stop_keeps_what_is_done() -> None:
    b = build.demo("boosted-six")
    seen: list[scatter.Progress] = []
    out = scatter.run(b, count=2048, chunk=256, progress=seen.append, cancel=lambda: len(seen) >= 6)
    assert out.stopped and out.count == 6 * 256 and out.groups[ANY].count == out.count
    assert [p.done for p in seen] == [256 * k for k in range(1, 7)]
    assert all(p.count == 2048 and p.left > 0 for p in seen)
    whole = scatter.run(b, count=2048, chunk=256, seed=1, keep=6 * 256)
    key = "residual"
    assert out.margins[key][:1024].tobytes() == whole.margins[key][:1024].tobytes()
    assert not whole.stopped and whole.count == 2048
    with pytest.raises(InputError, match="cancel"):
        scatter.run(b, count=512, cancel=lambda: True)


def test_a_stop_by_the_keyboard_keeps_what_is_done() -> None:
    b = build.demo("boosted-six")
    calls: list[int] = []

    def halt(p: scatter.Progress) -> None:
        calls.append(p.done)
        if len(calls) == 3:
            raise KeyboardInterrupt

    out = scatter.run(b, count=8192, chunk=256, progress=halt)
    assert out.stopped and out.count == 3 * 256
    done: list[int] = []
    cancelled = scatter.run(
        b, count=8192, chunk=256, progress=lambda p: done.append(p.done),
        cancel=lambda: len(done) >= 3,
    )  # fmt: skip
    same(out, cancelled)


def test_time_left_ends_at_nothing() -> None:
    seen: list[scatter.Progress] = []
    laws = [one("clamp", Normal(1.0, 0.1)), one("load", Normal(0.9, 0.1))]
    out = scatter.study(load_and_clamp, laws, 5000, chunk=512, progress=seen.append)
    assert seen[-1].left == 0.0 and seen[-1].done == seen[-1].count == out.count >= 5000
    assert seen[-1].seconds > 0


# --------------------------------------------------------------------------- direction
@settings(max_examples=6, deadline=None)
@given(st.floats(0.02, 0.15), st.floats(1.2, 3.0))
def test_more_scatter_more_failures(width: float, times: float) -> None:
    b = build.demo("boosted-six")

    def failing(w: float) -> scatter.Probability:
        law = one("fasteners.preload_factor", Normal(1.0, w))
        return scatter.run(b, [law], 256).groups[ANY]

    assert failing(width).failed <= failing(width * times).failed


def test_more_torque_less_leak_and_more_damage() -> None:
    b = build.demo("boosted-six")
    out = scatter.sweep(b, "fasteners.torque", ["90 N*m", "120 N*m", "140 N*m", "240 N*m"], 512)
    leak, damage = ([p[name].value for p in out] for name in (GAS_LEAK, DAMAGE))
    # with next to no clamp the fasteners carry all of the gas, and break by fatigue now and then
    assert np.all(np.diff(leak) <= 0) and np.all(np.diff(damage[1:]) >= 0)
    assert leak[0] > 0.9 and damage[-1] > damage[0]
    assert all(p[ANY].low <= p[ANY].value <= p[ANY].high for p in out)
    with pytest.raises(InputError, match="values"):
        scatter.sweep(b, "fasteners.torque", [])


def test_ways_of_tightening_side_by_side() -> None:
    """Same mean preload; the published scatter of each way, 25, 15 and 5 %, read as two sigma."""
    b = build.demo("boosted-six")
    ways = {m: scatter.by_method(b, m) for m in scatter.METHODS}
    out = {m: scatter.run(x, scatter.usual(x, "method"), 1024) for m, x in ways.items()}
    spread = {m: s.watched["preload"][1] / s.watched["preload"][0] for m, s in out.items()}
    assert spread["torque"] == pytest.approx(0.125, rel=0.05)
    assert spread["torque and angle"] == pytest.approx(0.075, rel=0.05)
    assert spread["stretch"] == pytest.approx(0.025, rel=0.05)
    leaks = [out[m].groups[GAS_LEAK].value for m in scatter.METHODS]
    assert leaks == sorted(leaks, reverse=True) and leaks[0] > leaks[-1]
    nominal_ = report.run(b).clamp.preload.assembly
    for method in scatter.METHODS:
        other = report.run(scatter.by_method(b, method)).clamp
        assert other.preload.assembly == pytest.approx(float(nominal_), rel=1e-9)
    parts = scatter.compare_methods(b, count=512)
    spreads = [parts[m].watched["preload"][1] for m in ("torque", "torque and angle")]
    assert spreads[0] > 1.5 * spreads[1]
    with pytest.raises(InputError, match="method"):
        scatter.by_method(b, "by ear")


# --------------------------------------------------------------------------- engine and report
def test_engine_from_its_bores() -> None:
    result = report.run(build.demo("boosted-six"))
    found = scatter.leak_probability(result)
    assert found.bores == 6 and found.bore.failed > 0
    assert found.apart.value == pytest.approx(1.0 - (1.0 - found.bore.value) ** 6)
    assert found.apart.low == pytest.approx(1.0 - (1.0 - found.bore.low) ** 6)
    assert found.bore.value <= found.alike.value <= found.apart.value
    assert scatter.leak_probability(result).rows() == found.rows()
    with pytest.raises(InputError, match="bores"):
        found.bore.any_of(0)


@pytest.mark.parametrize("name", build.demos())
def test_study_of_the_sheet_s_own_engine_has_the_margins_of_the_verdict(name: str) -> None:
    made = sheets.printed(name)
    result, leak = made.report, made.leak
    carried = scatter.carried_over(result)
    case = dataclasses.replace(result.case, carried=carried)
    rows = margins.worse(margins.limits(case, result.gas.design_gauge))
    found = {row.key: float(row.margin) for row in rows}
    for row in result.limits:
        assert found[row.key] == pytest.approx(float(row.margin), rel=1e-9), row.key
    assert isinstance(leak, scatter.LeakProbability) and leak.mapped


def test_scattered_engines_are_carried_over_to_where_the_map_finds_them() -> None:
    """Engines through the whole map: load left over load wanted, of a wire that is steep.

    The bow of the head moves it by more than half either way; what is carried over lies within a
    third of the load wanted. Springback: an eighth.
    """
    b = build.demo("methanol-drag").vary({"head.gradient": None})
    within = {"residual": (0.8, 0.33), "springback": (0.2, 0.125)}
    carried = scatter.carried_over(report.run(b, deck=True))
    many = scatter.run(b, scatter.one_cycle(b), 64, seed=3, known={}, carried=carried)
    engines = [report.run(sheets.sample(many, i), deck=True).limits for i in range(4)]
    for key, (wide, off) in within.items():
        found = np.array([float(r.margin) for rows in engines for r in rows if r.key == key])
        assert np.ptp(found) > wide
        assert many.margins[key][:4] == pytest.approx(found, abs=off)


def test_one_bore_is_its_own_engine() -> None:
    b = build.demo("boosted-four").vary(
        {"engine.cylinders": 1, "fasteners.on_head": 4, "fasteners.torque": "60 N*m"}
    )
    found = scatter.leak_probability(report.run(b))
    assert found.bores == 1 and found.apart == found.bore == found.alike
    assert found.rows()[0] == ("one bore", found.bore.text())


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_text_and_page_tell_the_probability(system: str) -> None:
    result = report.run(build.demo("boosted-six"))
    line = scatter.leak_probability(result).apart.text()
    printed = paper.paper_of(result)
    for words in (paper.text(printed, system), paper.page(printed, system)):
        assert paper.LEAK in words and line in words
    assert "left out" in paper.text(printed, system) and "invented" in str(printed.leak_rows())


def test_groups_say_what_the_limits_say() -> None:
    b = build.demo("boosted-four").vary({"fasteners.torque": "150 N*m"})
    out = scatter.run(b, count=1024)
    assert set(out.groups) == {GAS_LEAK, LIQUID_LEAK, DAMAGE, ANY}
    lost = np.any([m < 0 for m in out.margins.values()], axis=0)
    assert out.groups[ANY].failed == lost.sum() > 0
    dry = scatter.run(b.vary({"liquids.deck": "dry"}), count=64)
    assert LIQUID_LEAK not in dry.groups
    assert len(out.rows()) == len(out.limits)
    assert [r.failure.value for r in out.limits] == sorted(
        (r.failure.value for r in out.limits), reverse=True
    )


def test_histogram_and_quantile_tell_the_kept_margins() -> None:
    out = scatter.run(build.demo("boosted-four"), count=1024, keep=1024)
    margins, bars = out.margins["fastener"], out.histograms["fastener"][1:-1]
    assert bars.sum() == len(margins) == out.count
    assert list(bars) == list(np.histogram(margins, EDGES)[0])
    for share in (0.1, 0.5, 0.9):
        assert out.quantile("fastener", share) == pytest.approx(
            float(np.quantile(margins, share)), abs=0.011
        )
    assert out.quantile("crush/flat layers", 0.5) == np.inf
    for bad in (0.0, 1.0, 2.0):
        with pytest.raises(InputError, match="share"):
            out.quantile("fastener", bad)
    with pytest.raises(InputError, match="residual"):
        out.quantile("residual/no such seal", 0.5)


def test_bars_and_parts_are_those_of_the_kept_builds() -> None:
    out = scatter.run(build.demo("boosted-four"), count=1024, keep=1024)
    row = out.nearest(DAMAGE)
    margins = out.margins[row.key]
    edges = np.array([-0.5, 0.0, 0.25, 1.5])
    bars = out.bars(row.key, edges)
    assert bars * out.count == pytest.approx(np.histogram(margins, edges)[0])
    assert bars[0] == pytest.approx(row.failure.value)
    parts = out.parts(row.key)
    assert list(parts) == [dict(row.shares)[one.name] for one in out.inputs]
    # what matters most by its share is what the margin goes with most
    goes = [
        max(abs(np.corrcoef(out.numbers[path], margins)[0, 1]) for path in one.spreads)
        for one in out.inputs
    ]
    assert int(np.argmax(parts)) == int(np.argmax(goes))


def test_nearest_limit_is_passed_most_or_has_least() -> None:
    out = scatter.run(build.demo("boosted-four"), count=1024, keep=1024)
    for group in (GAS_LEAK, DAMAGE):
        rows = {key: out.margins[key] for key in out.members[group]}
        failed = {key: int(np.sum(m < 0)) for key, m in rows.items()}
        near = out.nearest(group).key
        assert failed[near] == max(failed.values())
        alike = [key for key in rows if failed[key] == failed[near]]
        least = min(float(np.quantile(rows[key], 0.02)) for key in alike)
        assert float(np.quantile(rows[near], 0.02)) == pytest.approx(least, abs=0.02)


def test_room_is_that_of_the_report() -> None:
    from scipy.stats import norm

    b = build.demo("boosted-four")
    one, result = scatter.room(b), report.run(b)
    clamp = result.clamp
    assert one.mean == pytest.approx(float(clamp.preload.assembly), rel=5e-3)
    # plus or minus is read as two standard deviations
    assert one.deviation / one.mean == pytest.approx(0.5 * clamp.scatter, rel=0.02)
    each = result.gas.design_gauge * math.pi / 4 * b.gasket.seal_diameter**2 / result.joint.bolts
    assert one.gas == pytest.approx(each) and one.gas < one.mean
    assert one.below == pytest.approx(float(norm.cdf(one.gas, one.mean, one.deviation)))
    force, height = one.curve()
    density = norm.pdf(force, one.mean, one.deviation)
    assert height == pytest.approx(density / density.max())


# --------------------------------------------------------------------------- distributions
@pytest.mark.parametrize(
    ("law", "name", "how"),
    [
        (Normal(3.0, 2.0), "norm", (3.0, 2.0)),
        (Uniform(-1.0, 4.0), "uniform", (-1.0, 5.0)),
        (Triangular(1.0, 2.0, 5.0), "triang", (0.25, 1.0, 4.0)),
        (Triangular(1.0, 1.0, 5.0), "triang", (0.0, 1.0, 4.0)),
        (LogNormal(2.0, 0.7), "lognorm", (0.7, 0.0, 2.0)),
    ],
)
def test_shapes_against_scipy(law: Any, name: str, how: tuple[float, ...]) -> None:
    from scipy import stats

    share = np.linspace(0.001, 0.999, 333)
    wanted = getattr(stats, name)(*how)
    assert law.at(share) == pytest.approx(wanted.ppf(share), rel=1e-9)
    fine = (np.arange(200_000) + 0.5) / 200_000
    score = law.score(fine)
    assert np.mean(score) == pytest.approx(0.0, abs=1e-3)
    assert np.std(score) == pytest.approx(1.0, rel=5e-3)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Normal(1.0, -0.1), "deviation"),
        (lambda: Normal(math.nan, 0.1), "mean"),
        (lambda: Uniform(2.0, 1.0), "high"),
        (lambda: Triangular(1.0, 0.5, 2.0), "likely"),
        (lambda: LogNormal(0.0, 1.0), "median"),
        (lambda: Highest(0.5), "cycles"),
        (lambda: Input("x", {}, "s", "invented"), "spreads"),
        (lambda: Input("x", {"a": Normal(0, 1)}, "", "invented"), "status"),
        (lambda: Input("x", {"a": Normal(0, 1)}, "s", "certain"), "status"),
        (lambda: scatter.usual(build.demo("boosted-four"), "all"), "preload"),
        (lambda: scatter.probability_of([2], [1]), "failed"),
        (lambda: scatter.probability_of([0], [0]), "failed"),
        (lambda: scatter.probability_of([0], [5], 1.0), "confidence"),
    ],
)
def test_bad_input_is_named(make: Any, field: str) -> None:
    with pytest.raises(InputError, match=field):
        make()


@pytest.mark.parametrize(
    ("how", "field"),
    [
        ({"count": 0}, "count"),
        ({"count": 2.5}, "count"),
        ({"count": True}, "count"),
        ({"count": 10**9}, "count"),
        ({"seed": -1}, "seed"),
        ({"chunk": 3}, "chunk"),
        ({"inputs": []}, "inputs"),
        ({"inputs": [one("sheet.name", Normal(0, 1))]}, "sheet.name"),
        ({"inputs": [one("fasteners.torque", Normal(90, 1))] * 2}, "twice"),
    ],
)
def test_bad_arguments_of_a_study_are_named(how: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError, match=field):
        scatter.run(build.demo("boosted-four"), **{"count": 64, **how})


@pytest.mark.parametrize(
    ("numbers", "field"),
    [
        ({"fasteners.torque": [90.0, -5.0]}, "fasteners.torque"),
        ({"fasteners.torque": [np.nan]}, "fasteners.torque"),
        ({"fasteners.friction_thread": [0.0]}, "fasteners.friction_thread"),
        ({"gasket.creep_relaxation": [2.0]}, "gasket.creep_relaxation"),
        ({"engine.bore": [0.09]}, "engine.bore"),
        ({"fasteners.torque": [90.0, 91.0], "heat.rise_factor": [1.0, 1.0, 1.0]}, "numbers"),
        ({"fasteners.torque": [[90.0, 91.0]]}, "numbers"),
        ({"engine.chamber.chamber_volume": [5e-5]}, "engine.chamber"),
    ],
)
def test_absurd_builds_are_named(numbers: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError, match=field):
        scatter.judge_builds(build.demo("boosted-four"), numbers)


def not_a_number(x: dict[str, Any]) -> Judged:
    return Judged({"holds": np.where(x["a"] > 0.0, 1.0, np.nan)})


def test_a_margin_that_is_no_number_is_an_error() -> None:
    with pytest.raises(InputError, match="no number"):
        scatter.study(not_a_number, [one("a", Normal(0.0, 1.0))], 64)


def test_builds_far_out_still_end_in_margins_or_a_named_error() -> None:
    """Ten times the usual spread of everything: some builds hardly clamp at all."""
    b = build.demo("boosted-four")
    wild = [
        one("fasteners.preload_factor", Uniform(0.1, 3.0)),
        one("fasteners.embedment", Uniform(0.0, 200e-6)),
        one("gasket.creep_relaxation", Uniform(0.0, 0.9)),
        one("heat.rise_factor", Uniform(0.0, 3.0)),
        one("burn.knock_amplitude", Uniform(0.0, 300e5)),
    ]
    out = scatter.run(b, wild, 512)
    assert not any(np.any(np.isnan(m)) for m in out.margins.values())
    assert 0.1 < out.groups[GAS_LEAK].value < 1.0
    for i in (3, 77, 300):
        by = {r.key: r.margin for r in report.run(sheets.sample(out, i)).limits}
        for key, want in by.items():
            assert out.margins[key][i] == pytest.approx(want, rel=1e-8, abs=1e-9), key


def test_every_input_has_a_source_and_none_is_better_than_its_numbers() -> None:
    for name in SHEETS:
        for x in (*scatter.usual(sheet(name), "parts"), *scatter.usual(sheet(name), "method")):
            assert x.source and x.status in (
                "invented",
                "from memory",
                "common practice, no source",
            )


def test_numbers_are_drawn_within_what_the_sheet_allows() -> None:
    law = one("fasteners.preload_factor", Normal(1.0, 5.0))
    out = scatter.run(build.demo("boosted-four"), [law], 256)
    drawn = out.numbers["fasteners.preload_factor"]
    assert drawn.min() == 0.1 and drawn.max() == 3.0


def test_no_interval_without_the_status_of_its_inputs() -> None:
    """The interval counts the draws alone; that the widths are invented stands beside it."""
    b = build.demo("boosted-four")
    drawn = Input("factor", {"fasteners.preload_factor": Normal(1.0, 0.1)}, "test", "from memory")
    assert "95 % sure with inputs from memory" in scatter.run(b, [drawn], 256).groups[ANY].text()
    printed = scatter.leak_probability(report.run(b))
    assert "with inputs invented" in printed.bore.text()


@pytest.mark.parametrize(("dimensions", "start", "count"), [(1, 0, 64), (13, 0, 64), (64, 96, 37)])
def test_points_are_those_of_scipy(dimensions: int, start: int, count: int) -> None:
    from scipy.stats import qmc

    engine = qmc.Sobol(dimensions, rng=np.random.default_rng(7))
    if start:
        engine.fast_forward(start)
    ours = sobol.points(dimensions, np.random.default_rng(7).spawn(1)[0], start, count)
    assert np.array_equal(ours, engine.random(count))


def test_points_end_with_the_table() -> None:
    with pytest.raises(InputError, match="at most 64"):
        sobol.points(65, np.random.default_rng(7), 0, 2)
