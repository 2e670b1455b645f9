"""Gasket thickness, cuts and clean-up."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, checks
from sealkit.sealing.clearances import (
    SQUISH_USUAL,
    changed_compression_ratio,
    clean_up,
    clearance,
    gasket_volume,
    ratio_at_thickness,
    squish,
    thickness_for_ratio,
)

ENGINE = {"swept_volume": "499.557 cc", "clearance_volume": "55.506 cc", "bore": "86 mm"}
SI = (499.557e-6, 55.506e-6, 0.086)


def test_a_typical_v8_loses_about_a_quarter_point_per_ten_thou() -> None:
    # common practice, no source: 0.25; computed 0.18 to 0.28 between ratios of 9 and 11
    row = checks.row("clearances", "E3-practice")
    ratios = np.array([9.0, 10.0, 11.0])
    lost = ratios - ratio_at_thickness(compression_ratio=ratios, **row.arguments())
    assert lost[0] < row.want().magnitude < lost[-1]
    assert lost[1] == pytest.approx(row.want().magnitude, abs=0.05)


def test_a_two_thou_clean_up_does_not_change_compression_measurably() -> None:
    # common practice, no source; computed: 0.30 cm3, 10.00 to 10.05, +0.6 % compression pressure
    row = checks.row("clearances", "U1-clean-up")
    out = clean_up(**row.arguments())
    assert out.compression_ratio - 10.0 == pytest.approx(0.048, abs=0.0005)
    assert out.volume_change.to("cm**3").magnitude == pytest.approx(-0.295, abs=0.001)
    assert float(out.pressure_change) == pytest.approx(0.0063, abs=0.0001)
    assert not out.volume_seen
    assert not out.pressure_seen


def test_a_heavy_cut_is_seen() -> None:
    out = clean_up(**ENGINE, cut="0.55 mm", face="deck")
    assert out.volume_seen
    assert out.pressure_seen
    assert out.squish_change.to("mm").magnitude == pytest.approx(-0.55)
    head = clean_up(**ENGINE, cut="0.55 mm")
    assert head.squish_change.magnitude == 0
    # a chamber as open as the bore loses as much volume either way
    assert head.volume_change == out.volume_change
    many = clean_up.si(*SI, cut=np.array([0.5e-4, 1.5e-4, 5.5e-4]))
    assert many.volume_seen.tolist() == [False, True, True]
    with pytest.raises(InputError, match="face"):
        clean_up(**ENGINE, face="sump")
    with pytest.raises(InputError, match="cut"):
        clean_up(**ENGINE, cut="-0.1 mm")


@settings(max_examples=50, deadline=None)
@given(
    vs=st.floats(1e-4, 1e-3),
    cr=st.floats(7, 14),
    dt=st.floats(-2e-4, 2e-3),
    bore=st.floats(0.07, 0.11),
)
def test_thickness_and_ratio_are_inverse(vs: float, cr: float, dt: float, bore: float) -> None:
    if vs / (cr - 1) + gasket_volume.si(bore, dt) <= 1e-6:
        return
    new = ratio_at_thickness.si(vs, cr, bore, dt)
    assert (new < cr) == (dt > 0) or dt == pytest.approx(0, abs=1e-9)
    assert thickness_for_ratio.si(vs, cr, new, bore) == pytest.approx(dt, rel=1e-6, abs=1e-12)


def test_usual_squish() -> None:
    low = checks.row("clearances", "Q1-low").want().to("m").magnitude
    high = checks.row("clearances", "Q1-high").want().to("m").magnitude
    assert pytest.approx((low, high)) == SQUISH_USUAL


def test_stretch_takes_from_the_running_clearance_until_the_piston_touches() -> None:
    out = clearance("1.00 mm", "0.05 mm", "0.30 mm")
    assert out.squish.to("mm").magnitude == pytest.approx(1.05)
    assert out.running.to("mm").magnitude == pytest.approx(0.75)
    assert not out.touches
    hit = clearance("0.60 mm", "-0.35 mm", "0.30 mm")
    assert hit.touches


def test_arrays_and_inch() -> None:
    t = np.array([0.5e-3, 1.0e-3])
    assert squish.si(t[:, None], np.zeros(3)).shape == (2, 3)
    assert clearance.si(t).touches.shape == (2,)
    inch = ratio_at_thickness("30.4848 in**3", 10, "3.444882 in", "0.01181102 in")
    assert inch == pytest.approx(9.717, abs=0.0005)


def test_bad_input_is_named() -> None:
    with pytest.raises(InputError) as err:
        ratio_at_thickness("499 cc", 1, "87.5", "0.3 kg")
    assert [f.field for f in err.value.faults] == [
        "compression_ratio",
        "gasket_bore",
        "thickness_change",
    ]
    with pytest.raises(InputError, match="volume_change"):
        changed_compression_ratio("500 cc", "55 cc", "-60 cc")
