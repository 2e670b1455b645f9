"""A fastener past yield, against a bar of many slices of a bilinear steel, solved by bisection."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from sealkit import InputError, report
from sealkit import build as builds
from sealkit.analysis.clamp import clamp_side, on_the_wrench
from sealkit.fastening import stiffness, yielding

STEEL = {"modulus": 205e9, "yields": 940e6, "tensile": 1040e6, "uniform": 0.05}
SHANK, THREAD = (95e-6, 0.070), (72.3e-6, 0.035)


def elongation(force: float, parts: Any, yields: float = STEEL["yields"]) -> float:
    """Stretch of a stepped bar, slice by slice."""
    hard = (STEEL["tensile"] - STEEL["yields"]) / STEEL["uniform"]
    total = 0.0
    for area, length in parts:
        for _ in range(20):
            stress = force / area
            strain = stress / STEEL["modulus"] + max(stress - yields, 0.0) / hard
            total += strain * length / 20
    return total


def springs() -> tuple[float, float, float]:
    kb = float(stiffness.bolt_stiffness.si([SHANK, THREAD], STEEL["modulus"]))
    args = (STEEL["yields"], STEEL["tensile"], *THREAD, STEEL["uniform"])
    return kb, float(yielding.hardening_stiffness.si(*args)), STEEL["yields"] * THREAD[0]


@pytest.mark.parametrize("times", [0.5, 0.99, 1.0, 1.01, 1.5, 3.0])
def test_a_stretched_fastener_is_the_bar(times: float) -> None:
    kb, kp, at_yield = springs()
    elastic = times * at_yield
    wanted = brentq(lambda f: elongation(f, [SHANK, THREAD]) - elastic / kb, 1.0, 1e6, xtol=1e-9)
    assert yielding.stretched.si(elastic, at_yield, kb, kp) == pytest.approx(wanted, rel=1e-9)


@settings(deadline=None, max_examples=30)
@given(a=st.floats(0.1, 4.0), b=st.floats(0.1, 4.0))
def test_more_stretch_more_tension_and_never_a_jump(a: float, b: float) -> None:
    kb, kp, at_yield = springs()
    low, high = sorted((a, b))
    f, g = (yielding.stretched.si(x * at_yield, at_yield, kb, kp) for x in (low, high))
    assert 0.0 <= g - f <= (high - low) * at_yield * (1 + 1e-9)


def test_arrays_units_and_refusals() -> None:
    kb, kp, at_yield = springs()
    elastic = np.array([0.5, 2.0]) * at_yield
    one = [yielding.stretched.si(float(x), at_yield, kb, kp) for x in elastic]
    assert yielding.stretched.si(elastic, at_yield, kb, kp) == pytest.approx(one)
    assert yielding.hardening_stiffness("940 MPa", "1040 MPa", "72 mm**2", "35 mm", "5 %").check(
        "N/m"
    )
    with pytest.raises(InputError, match="tensile"):
        yielding.hardening_stiffness.si(1000e6, 900e6, 72e-6, 0.035, 0.05)


@pytest.mark.parametrize("name", ["boosted-four", "na-iron-v8"])
@pytest.mark.parametrize("times", [0.9, 1.05, 1.4])
def test_a_turn_past_yield_against_bisection(name: str, times: float) -> None:
    """Head, block and gasket as they are; the thread yields: the turn is the sum of all gives."""
    sheet = builds.demo(name).vary(
        {"fasteners.tightening": "torque and angle", "fasteners.angle": "60 deg"}
    )
    clamp, joint = clamp_side(sheet)
    at_yield = float(clamp.yield_preload)
    elastic = times * at_yield
    turn = float(joint.advance(elastic))

    def short(force: float) -> float:
        past = max(force - at_yield, 0.0) / clamp.hardening
        return float(joint.advance(force)) + past - turn

    wanted = brentq(short, 1.0, 2 * elastic, xtol=1e-6)
    found = on_the_wrench(sheet, joint, elastic, at_yield, clamp.hardening)
    assert float(found) == pytest.approx(wanted, rel=1e-6)
    several = on_the_wrench(
        sheet, joint, np.array([elastic, 0.5 * at_yield]), at_yield, clamp.hardening
    )
    assert several == pytest.approx([wanted, 0.5 * at_yield], rel=1e-6)


def test_the_free_thread_yields_not_the_shank() -> None:
    four = builds.demo("boosted-four")
    clamp, _ = clamp_side(four)
    assert clamp.yielding_length == pytest.approx(0.095 + 0.015 - 0.075 + 0.5 * 0.012)
    neck = four.vary({"fasteners.shank": [{"diameter": "8 mm", "length": "30 mm"}]})
    assert clamp_side(neck)[0].yielding_length == pytest.approx(0.030)


@pytest.mark.parametrize("share", [0.98, 0.995, 1.0, 1.002, 1.008, 1.1])
def test_sections_nearly_as_weak_share_the_stretch_of_the_bar(share: float) -> None:
    """What a bar keeps, slice by slice, once its weakest section is stretched to the limit."""
    parts = [THREAD, (share * THREAD[0], 0.080)]
    stress = (STEEL["yields"], STEEL["tensile"])
    weak = min(area for area, _ in parts)
    force = weak * (stress[0] + 0.1 * (stress[1] - stress[0]))
    kept = elongation(force, parts) - elongation(force, parts, np.inf)
    found = yielding.yielding_length.si(parts, *stress, 0.1)
    assert 0.1 * STEEL["uniform"] * found == pytest.approx(kept, rel=1e-9)


@pytest.mark.parametrize("tolerance", [0.0, 0.02])
def test_no_jump_where_the_shank_is_as_weak_as_the_thread(tolerance: float) -> None:
    """A shank turned down little by little: from its thread to the shank, and no step between.

    Just as weak both yield, as the sheet has them; within their tolerances the shorter may.
    """
    four = builds.demo("boosted-four").vary({"fasteners.section_tolerance": tolerance})
    thread = clamp_side(four)[0].weakest_area
    steps = np.sqrt(4.0 / np.pi * thread * np.linspace(0.94, 1.02, 161))
    lengths = []
    for diameter in steps:
        sheet = four.vary({"fasteners.shank": [{"diameter": f"{diameter} m", "length": "75 mm"}]})
        lengths.append(clamp_side(sheet)[0].yielding_length)
    assert lengths[0] == pytest.approx(0.075) and lengths[-1] == pytest.approx(0.041)
    assert np.max(np.abs(np.diff(lengths))) < 0.004
    assert np.all(np.diff(lengths) <= 1e-9) == (tolerance > 0.0)
    assert max(lengths) == pytest.approx(0.075 if tolerance else 0.116, abs=1e-3)


def test_parts_of_a_shank_nearly_as_thick_are_one_cut() -> None:
    """One turned thicker little by little: with its neighbour up to a hundredth, then by itself."""
    four = builds.demo("boosted-four")
    lengths = []
    for more in np.linspace(0.0, 0.03, 61):
        thin, thick = ("8.77 mm", "30 mm"), (f"{8.77 * (1.0 + more)} mm", "45 mm")
        shank = [{"diameter": d, "length": x} for d, x in (thin, thick)]
        sheet = four.vary({"fasteners.shank": shank})
        lengths.append(clamp_side(sheet)[0].yielding_length)
    assert lengths[:21] == pytest.approx([0.075] * 21) and lengths[-1] == pytest.approx(0.030)
    assert np.all(np.diff(lengths) <= 1e-12) and np.min(np.diff(lengths)) > -0.003


def test_tolerance_of_the_sections_stands_in_the_band() -> None:
    """A shank turned to the weight of its thread: as taken both yield, with a tolerance one."""
    angle = {"fasteners.tightening": "torque and angle", "fasteners.angle": "60 deg"}
    four = builds.demo("boosted-four").vary(
        angle | {"fasteners.shank": [{"diameter": "10.6 mm", "length": "75 mm"}]}
    )
    made = report.run(four)
    row = next(r for r in made.banded if r.check == "permanent stretch")
    alone = report.run(four.vary({"fasteners.section_tolerance": 0.02}))
    least = next(r for r in alone.limits if r.check == "permanent stretch")
    assert row.band is not None and row.band.low <= least.margin < row.margin
    assert "tolerance of thread and shank" in row.band.lowest_by
    by_torque = report.run(builds.demo("boosted-four"))
    words = [r.band.lowest_by for r in by_torque.banded if r.band]
    assert not any("tolerance of thread and shank" in w for w in words)


def test_a_shank_in_two_rows_is_one() -> None:
    four = builds.demo("boosted-four")
    split = [{"diameter": "8 mm", "length": "30 mm"}, {"diameter": "8 mm", "length": "45 mm"}]
    whole = [{"diameter": "8 mm", "length": "75 mm"}]
    assert len({
        clamp_side(s)[0].yielding_length
        for s in (four.vary({"fasteners.shank": parts}) for parts in (split, whole))
    }) == 1  # fmt: skip
