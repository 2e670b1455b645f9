"""Gasket thickness, cuts and clean-up."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, checks
from sealkit.sealing.clearances import (
    SQUISH_TOUCH,
    SQUISH_USUAL,
    changed_compression_ratio,
    clean_up,
    clearance,
    cuts,
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
    assert out.ratio_change == pytest.approx(0.048, abs=0.0005)
    assert out.ratio_change < 0.05
    assert out.volume_change.to("cm**3").magnitude == pytest.approx(-0.295, abs=0.001)
    assert float(out.pressure_change) == pytest.approx(0.0063, abs=0.0001)
    assert not out.volume_seen
    assert not out.pressure_seen
    assert "too little to measure" in out.words
    assert "0.002 in" in out.words


def test_a_heavy_cut_is_seen() -> None:
    out = clean_up(**ENGINE, extra="0.5 mm", face="deck")
    assert out.volume_seen
    assert out.pressure_seen
    assert "burette and the gauge" in out.words
    assert out.squish_change.to("mm").magnitude == pytest.approx(-0.5508)
    many = clean_up.si(*SI, extra=np.array([0.0, 1e-4, 5e-4]))
    assert many.volume_seen.tolist() == [False, True, True]
    assert many.words == "2 of 3 can be measured"
    with pytest.raises(InputError, match="face"):
        clean_up(**ENGINE, face="sump")


def test_head_cut_leaves_squish_alone_deck_cut_takes_it() -> None:
    head, deck = cuts(**ENGINE, head_cut="0.2 mm"), cuts(**ENGINE, deck_cut="0.2 mm")
    assert head.squish_change.magnitude == 0
    assert deck.squish_change.to("mm").magnitude == pytest.approx(-0.2)
    # a chamber as open as the bore loses as much volume either way
    assert head.volume_change.magnitude == pytest.approx(deck.volume_change.magnitude)
    small = cuts(**ENGINE, head_cut="0.2 mm", chamber_area="40 cm**2")
    assert small.volume_change.to("cm**3").magnitude == pytest.approx(-0.8)
    assert 0 < small.ratio_change < head.ratio_change


def test_a_thicker_gasket_gives_back_what_the_deck_cut_took() -> None:
    out = cuts(**ENGINE, deck_cut="0.2 mm", thickness_change="0.2 mm")
    assert out.squish_change.magnitude == 0
    assert out.ratio_change == pytest.approx(0, abs=1e-12)
    wide = cuts(**ENGINE, deck_cut="0.2 mm", thickness_change="0.2 mm", gasket_bore="88 mm")
    assert wide.ratio_change < 0


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


def test_usual_squish_in_words() -> None:
    low = checks.row("clearances", "Q1-low").want().to("m").magnitude
    high = checks.row("clearances", "Q1-high").want().to("m").magnitude
    assert pytest.approx((low, high)) == SQUISH_USUAL
    for thickness, words in (
        (low, "within"),
        (high, "within"),
        (0.5 * (low + SQUISH_TOUCH), "tighter"),
        (SQUISH_TOUCH - 1e-5, "risk of touch"),
        (high + 1e-4, "wider"),
    ):
        assert words in clearance.si(thickness).words


def test_stretch_takes_from_the_running_clearance_until_the_piston_touches() -> None:
    out = clearance("1.00 mm", "0.05 mm", "0.30 mm")
    assert out.squish.to("mm").magnitude == pytest.approx(1.05)
    assert out.running.to("mm").magnitude == pytest.approx(0.75)
    assert out.piston_to_head == out.running
    assert not out.touches
    hit = clearance("0.60 mm", "-0.35 mm", "0.30 mm")
    assert hit.touches
    assert hit.words.startswith("piston and head touch")


def test_a_dome_is_checked_against_its_recess() -> None:
    out = clearance("1 mm", "0 mm", "0.2 mm", rise="6 mm", recess="5.5 mm")
    assert out.piston_to_head.to("mm").magnitude == pytest.approx(0.3)
    assert clearance("1 mm", "0 mm", "0.2 mm", rise="6 mm", recess="5 mm").touches
    with pytest.raises(InputError, match="recess"):
        clearance("1 mm", rise="6 mm")


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
    with pytest.raises(InputError, match="gasket_bore"):
        cuts(**ENGINE, gasket_bore="80 mm")
    with pytest.raises(InputError, match="chamber_area"):
        cuts(**ENGINE, chamber_area="70 cm**2")
    with pytest.raises(InputError, match="head_cut"):
        cuts(**ENGINE, head_cut="-0.1 mm")
