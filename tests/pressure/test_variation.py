"""Rare cycles, knock and the design peak pressure."""

from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, checks
from sealkit.pressure import geometry, variation
from tests.validation import draper


@pytest.mark.parametrize("row", [r for r in checks.load("knock") if not r.call], ids=lambda r: r.id)
def test_knock_integral_of_a_motored_trace(row: checks.Check) -> None:
    a = row.arguments()
    end = 0.0 if a["until"] == "tdc" else np.pi
    theta = np.linspace(-np.pi, end, 40001)
    v = geometry.cylinder_volume.si(theta, 0.1, 0.1, 0.15, a["compression_ratio"])
    squeeze = v[0] / v
    ours = variation.knock_sum(
        theta,
        a["crank_speed"] / 60.0,
        a["octane_number"],
        a["pressure"] * 101325.0 * squeeze**1.32,
        a["temperature"] * squeeze**0.32,
    )[-1]
    assert ours == pytest.approx(row.want().magnitude, abs=1e-7)


def test_constant_state_knocks_after_one_delay() -> None:
    """Livengood and Wu: with a constant state the integral is 1 after tau."""
    tau = variation.ignition_delay.si(95.0, 30 * 101325.0, 850.0)
    assert tau == pytest.approx(4.00077e-3, abs=5e-9)
    theta = np.linspace(0.0, 2 * np.pi * 50.0 * tau, 11)
    one = np.ones(11)
    found = variation.knock_sum(theta, 50.0, 95.0, 30 * 101325.0 * one, 850.0 * one)
    assert found[-1] == pytest.approx(1.0)


def test_integral_stops_with_the_burn_and_takes_builds() -> None:
    theta = np.linspace(-0.5, 0.5, 101)
    p, t = np.full((3, 101), 50e5), np.full((3, 101), 850.0)
    speed = np.array([25.0, 50.0, 100.0])
    call = partial(variation.knock_sum, theta, speed, 95.0, p, t)
    full = call()[:, -1]
    assert full.shape == (3,)
    assert full[0] == pytest.approx(2 * full[1])
    share = np.broadcast_to(np.linspace(0.0, 1.0, 101), (3, 101))
    part = call(share)[:, -1]
    assert np.all(part < 0.92 * full)
    assert np.all(part > 0.88 * full)


def test_knock_modes() -> None:
    f = [draper.knock_frequency("950 m/s", "100 mm", mode=m).to("Hz").magnitude for m in (1, 2, 3)]
    assert f[1] / f[0] == pytest.approx(3.054237 / 1.841184, rel=1e-6)
    assert f[2] / f[0] == pytest.approx(3.831706 / 1.841184, rel=1e-6)
    with pytest.raises(InputError, match="mode"):
        draper.knock_frequency("950 m/s", "100 mm", mode=4)


def test_knock_classes() -> None:
    names = [draper.knock_class(f"{a} bar", "30 bar") for a in (0.5, 1.0, 7.4, 7.5)]
    assert names == ["none", "borderline", "standard", "heavy"]


def test_design_peak_adds_knock_to_the_rare_cycle() -> None:
    s = variation.design_peak("70 bar", "8 %", 1000, "15 bar")
    assert s.rare.to("bar").magnitude == pytest.approx(87.31, abs=5e-3)
    assert s.pressure.to("bar").magnitude == pytest.approx(102.31, abs=5e-3)
    assert s.pressure.to("psi").magnitude == pytest.approx(1483.8, abs=0.1)


def test_faults_are_named() -> None:
    with pytest.raises(InputError) as err:
        variation.rare_peak_pressure("70 barg", 1.2, 1000)
    assert {f.field for f in err.value.faults} == {"mean", "coefficient_of_variation"}
    with pytest.raises(InputError, match="one_in"):
        variation.rare_peak_pressure("70 bar", 0.1, 1.0)


@settings(max_examples=50, deadline=None)
@given(cov=st.floats(0.0, 0.3), n=st.floats(2.0, 1e8), k=st.floats(1.0, 100.0))
def test_rarer_is_higher(cov: float, n: float, k: float) -> None:
    low = variation.rare_peak_pressure.si(70e5, cov, n)
    high = variation.rare_peak_pressure.si(70e5, cov, n * k)
    assert high >= low * (1 - 1e-12) >= 70e5 * (1 - 1e-9)


def test_no_spread_is_the_mean() -> None:
    p = variation.rare_peak_pressure.si(np.array([70e5, 90e5]), 0.0, 1e4)
    assert p == pytest.approx([70e5, 90e5])
