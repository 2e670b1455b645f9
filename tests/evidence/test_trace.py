"""Cylinder-pressure logs as evidence: made logs of known truth, and traces from outside."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import numpy as np
import pytest

from sealkit import Build, InputError, analysis, demo
from sealkit.evidence import fit, logs, parameters
from sealkit.evidence.priors import at
from sealkit.evidence.trace import MOVES, CylinderPressure, Look, held
from sealkit.pressure import burn
from tests.benchmarks.bench_two_zone import DURATION, SHAPE, START, two_zones

ANGLE = np.radians(np.arange(-180.0, 180.0, 1.0))
BAR, DEGREE = 1e5, float(np.radians(1.0))
TRUTH = demo("boosted-four")
NOT_THE_TRUTH = TRUTH.vary_si(
    {"burn.ca50": np.radians(13.0), "burn.duration": np.radians(29.0), "charge.filling": 0.87}
)
WIDE = np.array([np.radians(2.5), np.radians(3.75), 0.02, 0.1, 0.046, 10.0])
"""How well the fields of `MOVES` are known before, standard deviations; invented."""


@cache
def pressure_of(build: Build = TRUTH) -> Any:
    """The model's own cycle, between its angles too."""
    from scipy.interpolate import CubicSpline

    made = analysis.kept_cycle(build).cycle
    return CubicSpline(made.crank_angle, made.pressure)


def made(
    phase: float = 0.0,
    offset: float = 0.0,
    noise: float = 0.05 * BAR,
    cycles: int = 20,
    kind: str = "absolute",
    seed: int = 1,
    step: float = 0.0,
    gain: float = 0.0,
) -> logs.Log:
    """A log of the truth [rad, Pa], with white noise, and a converter of this step.

    Parameters
    ----------
    gain : share by which the sensor's is too high
    """
    draw = np.random.default_rng(seed)
    pressure = (1.0 + gain) * pressure_of()(ANGLE - phase) + offset
    pressure = pressure + noise * draw.standard_normal((cycles, len(ANGLE)))
    if step:
        pressure = np.round(pressure / step) * step
    return logs.Log("made", ANGLE, pressure, kind, "bar")


def found(look: Look) -> dict[str, float]:
    return {one.name: one.value for one in look.findings if one.wrong}


# ------------------------------------------------------------------- what does not fit
@pytest.mark.parametrize("noise", [0.05, 3.0])
@pytest.mark.parametrize(("bump", "fits"), [(0.0, True), (0.12, False)])
def test_a_heat_release_that_the_model_has_not_widens_what_the_log_tells(
    bump: float, fits: bool, noise: float
) -> None:
    """Share of the pressure by which the log is higher about 60 degrees."""
    log = made(noise=noise * BAR)
    shape = 1.0 + bump * np.exp(-(((ANGLE - 60 * DEGREE) / (12 * DEGREE)) ** 2))
    one = CylinderPressure(dataclasses.replace(log, pressure=log.pressure * shape))
    assert one.values == 201 // 10 + 1 + 1  # ten degrees one way together, and the spread
    found = fit(TRUTH, [one])
    assert [m.fits for m in found.misfits] == [fits]
    raw = np.sqrt(np.diag(found.covariance))
    assert np.any(found.deviation > 1.4 * raw) != fits


# ------------------------------------------------------------------- wrong logs are found
@pytest.mark.parametrize("phase", [-1.0, 1.0])
@pytest.mark.parametrize("offset", [-0.3, 0.3])
def test_one_degree_and_a_third_of_a_bar_are_found(phase: float, offset: float) -> None:
    """On a sheet whose CA50, duration and filling are wrong too."""
    one = CylinderPressure(made(phase * DEGREE, offset * BAR))
    look = one.look(NOT_THE_TRUTH)
    assert set(found(look)) == {"phase", "offset"}
    assert abs(look.phase[0] - phase * DEGREE) < 2.0 * look.phase[1] < 0.7 * DEGREE
    assert abs(look.offset[0] - offset * BAR) < 2.0 * look.offset[1] < 0.2 * BAR
    assert look.near.burn.ca50 == pytest.approx(TRUTH.burn.ca50, abs=0.2 * DEGREE)
    words = str(look.findings[0].text)
    assert ("ahead of" if phase > 0.0 else "behind") in words
    assert "psi" in look.findings[1].text.text("inch")


@pytest.mark.parametrize("noise", [0.0, 0.05, 0.3])
@pytest.mark.parametrize("step", [0.0, 0.1])
def test_a_good_log_passes(noise: float, step: float) -> None:
    look = CylinderPressure(made(noise=noise * BAR, step=step * BAR)).look(NOT_THE_TRUTH)
    assert not found(look) and look.kind == "absolute"


@pytest.mark.parametrize(
    ("offset", "kind", "wrong"),
    [
        (0.0, "absolute", set()), (-1.01325, "gauge", set()), (4.0, "relative", set()),
        (-1.01325, "absolute", {"kind"}), (0.0, "gauge", {"kind"}), (0.6, "gauge", {"offset"}),
        (-0.2, "", {"offset"}),
    ],
)  # fmt: skip
def test_what_the_pressure_counts_from(offset: float, kind: str, wrong: set[str]) -> None:
    look = CylinderPressure(made(offset=offset * BAR, kind=kind)).look(NOT_THE_TRUTH)
    if offset != 0.6:
        assert set(found(look)) == wrong
    else:
        assert wrong < {*found(look), "kind"}
    assert look.offset[0] == pytest.approx(offset * BAR, abs=0.15 * BAR)


@pytest.mark.parametrize(
    ("offset", "kind"), [(0.0, "absolute"), (-1.01, "gauge"), (5.0, "relative")]
)
def test_the_kind_is_found_where_nobody_says(offset: float, kind: str) -> None:
    assert CylinderPressure(made(offset=offset * BAR, kind="")).look(NOT_THE_TRUTH).kind == kind


@pytest.mark.parametrize(
    ("factor", "unit", "hint"),
    [(14.5038, "bar", "psi"), (10.0, "MPa", "bar"), (100.0, "bar", "kPa"), (0.1, "bar", "MPa")],
)
def test_another_unit_is_named(factor: float, unit: str, hint: str) -> None:
    log = made()
    log = dataclasses.replace(log, pressure=log.pressure * factor, unit=unit)
    with pytest.raises(InputError, match=f"are the numbers in {hint}") as caught:
        CylinderPressure(log).look(TRUTH)
    assert "made, pressure" in str(caught.value)


def test_pressure_upside_down_is_named() -> None:
    log = made()
    log = dataclasses.replace(log, pressure=-log.pressure)
    with pytest.raises(InputError, match="compression"):
        CylinderPressure(log).look(TRUTH)


def test_a_log_of_another_engine_is_told() -> None:
    """No burn makes the trace of two points more compression; a stuck sensor likewise."""
    look = CylinderPressure(made()).look(TRUTH.vary_si({"engine.compression_ratio": 10.5}))
    assert {"shape", "offset", "phase"} & {one.name for one in look.findings}
    stuck = made()
    bent = stuck.pressure - 6.0 * BAR * (ANGLE > 0.6)
    look = CylinderPressure(dataclasses.replace(stuck, pressure=bent)).look(TRUTH)
    assert "shape" in {one.name for one in look.findings}


# ------------------------------------------------------------------- what it tells, known truth
def test_two_hundred_logs_cover_the_truth() -> None:
    """Noise, phase, offset, gain and what was taken before drawn as it is said of them: each field
    lies within two of its standard deviations in 95 % of the logs, give or take.

    The fit is the one step of Gauss and Newton from the truth, where the slopes are worked out;
    `test_the_whole_fit` shows that the fit from another sheet comes to the same.
    """
    draw = np.random.default_rng(18)
    quiet = CylinderPressure(made(cycles=5), model_share=0.0)
    slopes = slopes_of(quiet)
    covariance = np.linalg.inv(slopes.T @ slopes + np.diag(WIDE**-2))
    sd = np.sqrt(np.diag(covariance))
    assert np.all(sd[:2] < 0.15 * WIDE[:2]) and np.all(sd < WIDE)
    off = []
    for seed in range(200):
        phase, offset, gain = draw.standard_normal(3) * [2.0 * DEGREE, 0.3 * BAR, 0.02]
        log = made(phase, offset, cycles=5, seed=seed, gain=gain)
        one = CylinderPressure(log, model_share=0.0)
        before = draw.standard_normal(len(MOVES)) * WIDE
        pull = slopes.T @ one.residuals(TRUTH) - before / WIDE**2
        off.append(-covariance @ pull / sd)
    inside = np.mean(np.abs(off) < 2.0, axis=0)
    assert np.all((inside > 0.91) & (inside < 0.99)), inside
    assert np.all(np.abs(np.std(off, axis=0) - 1.0) < 0.15)


@pytest.mark.parametrize("seed", range(4))
def test_the_whole_fit(seed: int) -> None:
    """From a sheet that is wrong by what is not known of it, a log of nine cycles: the truth lies
    within what the fit says, and where the one step from the truth puts it.
    """
    draw = np.random.default_rng(100 + seed)
    phase, offset, gain = draw.standard_normal(3) * [2.0 * DEGREE, 0.3 * BAR, 0.02]
    log = made(phase, offset, cycles=9, seed=seed, gain=gain)
    one = CylinderPressure(log, model_share=0.0)
    known = parameters(TRUTH, one.moves)
    sheet = at(TRUTH, known, draw.standard_normal(len(known)))
    found = fit(sheet, [one])
    step = fit(TRUTH, [one])
    for parameter, z, sd in zip(found.parameters, found.z, found.deviation, strict=True):
        for path, value in parameter.numbers(z).items():
            wide = float(sd) * parameter.step[path]
            assert abs(float(value) - held(TRUTH, path)) < 3.5 * wide, path
    ours = [held(f.after, "burn.ca50") for f in (found, step)]
    assert ours[0] == pytest.approx(ours[1], abs=0.3 * DEGREE)


def test_a_gain_that_is_off_passes_for_filling_and_that_is_told() -> None:
    """All pressures grow with the charge: 8 % of gain is nearly 8 % of filling, and fits."""
    found = fit(TRUTH, [CylinderPressure(made(gain=0.08))])
    (misfit,) = found.misfits
    (filling,) = (one for one in found.told if one.field == "charge.filling")
    assert misfit.fits and 1.05 < filling.after / filling.before < 1.085
    assert filling.half_after > 1.8 * 0.02 * filling.after, "hardly better known than the gain"
    ((name, moved, worse),) = found.gain
    assert (name, moved.field, moved.before) == ("made", "charge.filling", filling.after)
    assert 0.03 < 1.0 - moved.after / moved.before < 0.05 and worse < 2.0
    right = fit(TRUTH, [CylinderPressure(made(gain=0.08 / 1.05 - 0.05 / 1.05))])
    (held_,) = (one for one in right.told if one.field == "charge.filling")
    assert moved.after == pytest.approx(held_.after, rel=0.005)


def slopes_of(one: CylinderPressure, build: Build = TRUTH) -> np.ndarray:
    """Slopes of the residuals over the fields of `MOVES`, builds side by side."""
    step = 0.02 * WIDE
    here = np.array([getattr(getattr(build, a), b) for a, b in (p.split(".") for p in MOVES)])
    many = here + np.concatenate([np.diag(step), -np.diag(step)])
    rows = one.residuals(build.vary_si(dict(zip(MOVES, many.T, strict=True))))
    return np.asarray((rows[:, : len(step)] - rows[:, len(step) :]) / (2.0 * step))


def test_builds_side_by_side_read_as_one_by_one() -> None:
    one = CylinderPressure(made(0.5 * DEGREE, 0.2 * BAR))
    early = TRUTH.vary_si({"burn.ca50": np.radians([14.0, 18.0, 22.0])})
    many = one.residuals(early)
    for i, ca50 in enumerate((14.0, 18.0, 22.0)):
        alone = one.residuals(TRUTH.vary_si({"burn.ca50": np.radians(ca50)}))
        np.testing.assert_allclose(many[:, i], alone, atol=1e-4)
    assert np.sum(many[:, 1] ** 2) < np.min(np.sum(many[:, [0, 2]] ** 2, axis=0))


def test_a_finer_log_does_not_make_the_model_truer() -> None:
    coarse, fine = (
        logs.Log("made", a, np.array([pressure_of()(a)]), "absolute", "bar")
        for a in (ANGLE, np.radians(np.arange(-180.0, 180.0, 0.2)))
    )
    sd = [CylinderPressure(log).look(TRUTH).phase[1] for log in (coarse, fine)]
    assert sd[1] == pytest.approx(sd[0], rel=0.05)


def test_timing_held_back_by_knock_is_the_timing_that_ran() -> None:
    """The log shows the burn as it was; what knock would allow is another question."""
    held = TRUTH.vary({"burn.timing": "knock limited", "burn.ca50": "6 deg"})
    one = CylinderPressure(made())
    early = one.residuals(TRUTH.vary({"burn.ca50": "6 deg"}))
    np.testing.assert_allclose(one.residuals(held), early)


def test_the_spread_of_the_peaks_is_told_from_ten_cycles_on() -> None:
    draw = np.random.default_rng(3)
    log = made(cycles=200)
    wild = dataclasses.replace(
        log, pressure=log.pressure * (1.0 + 0.08 * draw.standard_normal((200, 1)))
    )
    one = CylinderPressure(wild)
    assert one.moves == (*MOVES, "burn.peak_variation")
    last = [
        float(one.residuals(TRUTH.vary_si({"burn.peak_variation": x}))[-1]) for x in (0.08, 0.06)
    ]
    assert abs(last[0]) < 2.5 < last[1]
    alone = dataclasses.replace(wild, pressure=wild.pressure[:9])
    assert CylinderPressure(alone).moves == MOVES
    apart = TRUTH.vary({"burn.ca50_variation": "2 deg"})
    assert one.residuals(apart).shape == one.residuals(TRUTH).shape


def test_cycles_that_differ_are_less_sure() -> None:
    draw = np.random.default_rng(4)
    log = made(cycles=30)
    spread = dataclasses.replace(
        log, pressure=log.pressure * (1.0 + 0.1 * draw.standard_normal((30, 1)))
    )
    sure, less = (CylinderPressure(x, model_share=0.0).look(TRUTH).phase[1] for x in (log, spread))
    assert less > 2.0 * sure


# ------------------------------------------------------------------- traces from outside
def outside() -> Build:
    """The engine of `two_zones` on a sheet; boost and cooler for its 2 bar and 330 K."""
    sizes = dict(zip(("bore", "stroke", "rod_length", "compression_ratio"), SHAPE, strict=True))
    changes: dict[str, Any] = {f"engine.{k}": v for k, v in sizes.items()}
    changes |= {"engine.speed": 50.0}
    changes |= {"charge.boost": 1.2e5, "charge.intercooler_effectiveness": 0.45}
    changes |= {"charge.residual_fraction": 0.0, "charge.evaporated_share": 1.0}
    changes |= {
        "fuel.name": "iso-octane",
        "fuel.equivalence_ratio": 1.0,
        "burn.ca50": np.radians(8.0),
    }
    return TRUTH.vary_si({**changes, "burn.heat_transfer": "none"})


@pytest.mark.reference
def test_a_two_zone_cycle_on_cantera() -> None:
    """Cantera 3.2.0, another code with other gas data, no wall heat: CA50, duration, phase and
    offset come back within what is said of them, though the model is not the truth.
    """
    import cantera as ct
    from scipy.interpolate import CubicSpline

    angle = np.radians(np.arange(-180.0, 180.25, 0.5))
    trace = two_zones(ct)
    share = [burn.share_place(x, 5.0, 2.0) * DURATION for x in (0.1, 0.5, 0.9)]
    phase, offset = 1.0 * DEGREE, -0.3 * BAR
    draw = np.random.default_rng(2)
    logged = CubicSpline(angle, trace)(angle - phase) + offset
    logged = logged + 0.05 * BAR * draw.standard_normal((20, len(angle)))
    one = CylinderPressure(logs.Log("outside", angle, logged, "absolute", "bar"))
    look = one.look(outside())
    assert set(found(look)) == {"phase", "offset"}
    assert abs(look.phase[0] - phase) < look.phase[1] < 0.5 * DEGREE
    assert abs(look.offset[0] - offset) < look.offset[1] < 0.1 * BAR
    assert look.near.burn.ca50 == pytest.approx(START + share[1], abs=0.3 * DEGREE)
    assert look.near.burn.duration == pytest.approx(share[2] - share[0], abs=0.5 * DEGREE)
    inside, logged = one.angle, one.logged
    laid = pressure_of(look.near)(inside - look.phase[0]) + look.offset[0]
    assert np.std(laid - logged) < 0.001 * trace.max()
    # a charge 26 K too cold on the sheet: still within what is said, but no longer near
    cold = one.look(outside().vary({"charge.intercooler_effectiveness": 0.7}))
    assert 0.3 * DEGREE < phase - cold.phase[0] < 2.0 * cold.phase[1]
    assert abs(cold.offset[0] - offset) < 2.0 * cold.offset[1]
