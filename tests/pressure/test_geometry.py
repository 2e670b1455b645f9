"""Slider-crank geometry: limits, closed forms, arrays, units, bad input."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, Q, checks
from sealkit.pressure import geometry as geo
from sealkit.units import parse
from tests.validation import pulkrabek
from tests.validation.cengel import otto_efficiency

ANGLES = np.linspace(-np.pi, np.pi, 181)


def _given(id: str) -> dict[str, object]:
    return checks.row("geometry", id).arguments()


def _expected(id: str) -> tuple[float, float]:
    """Outside value and tolerance, both in SI."""
    row = checks.row("geometry", id)
    want, limit = row.want().to_base_units().magnitude, parse(row.tolerance)
    scale = want if "%" in row.tolerance else 1.0
    return want, limit.to_base_units().magnitude * scale


def test_bore_of_a_square_engine() -> None:
    inputs = _given("1.2-bore")
    bore = (4.0 * Q(str(inputs["swept_volume"])).m_as("m**3") / 6.0 / np.pi) ** (1.0 / 3.0)
    want, limit = _expected("1.2-bore")
    assert geo.swept_volume.si(bore, bore, 6) == pytest.approx(3e-3)
    assert bore == pytest.approx(want, abs=limit)


def test_efficiency_from_bore_stroke_and_clearance() -> None:
    inputs = _given("1.5-efficiency")
    swept = geo.swept_volume(inputs["bore"], inputs["stroke"])
    ratio = geo.compression_ratio_from_volumes(swept, inputs["clearance"])
    want, limit = _expected("1.5-efficiency")
    assert otto_efficiency(ratio) == pytest.approx(want, abs=limit)


def test_dead_centres_and_total_swept_volume() -> None:
    top, bottom = geo.cylinder_volume.si(np.array([0.0, np.pi]), 0.086, 0.086, 0.143, 9.5)
    swept = geo.swept_volume.si(0.086, 0.086)
    assert top == pytest.approx(geo.clearance_volume.si(0.086, 0.086, 9.5))
    assert bottom - top == pytest.approx(swept)
    assert geo.compression_ratio_from_volumes.si(swept, top) == pytest.approx(9.5)
    assert geo.swept_volume.si(0.086, 0.086, 4) == pytest.approx(4 * swept)


def test_position_against_the_textbook_form() -> None:
    throw, rod = 0.043, 0.143
    s = throw * np.cos(ANGLES) + np.sqrt(rod**2 - (throw * np.sin(ANGLES)) ** 2)
    assert geo.piston_position.si(ANGLES, 0.086, rod) == pytest.approx(rod + throw - s, abs=1e-15)


def test_infinitely_long_rod_is_the_limit() -> None:
    pure = 0.043 * (1.0 - np.cos(ANGLES))
    assert geo.piston_position.si(ANGLES, 0.086, np.inf) == pytest.approx(pure, abs=1e-15)
    assert geo.piston_position.si(ANGLES, 0.086, 1e6) == pytest.approx(pure, abs=1e-8)
    mixed = geo.piston_position.si(np.pi / 2, 0.086, np.array([0.143, np.inf]))
    assert mixed[0] > mixed[1] == pytest.approx(0.043)


@settings(max_examples=40, deadline=None)
@given(
    angle=st.floats(-np.pi, np.pi), stroke=st.floats(0.03, 0.3), ratio=st.floats(0.55, 10.0),
    bore=st.floats(0.03, 0.3),
)  # fmt: skip
def test_derivative_is_the_slope_of_the_volume(
    angle: float, stroke: float, ratio: float, bore: float
) -> None:
    rod, step = ratio * stroke, 1e-5
    ahead, behind = (
        geo.cylinder_volume.si(angle + d, bore, stroke, rod, 10.0) for d in (step, -step)
    )
    slope = pulkrabek.volume_derivative.si(angle, bore, stroke, rod)
    assert slope == pytest.approx((ahead - behind) / (2 * step), abs=1e-6 * bore**2 * stroke)


def test_piston_speed_and_its_mean() -> None:
    angles = np.linspace(0.0, np.pi, 20001)
    speed = pulkrabek.piston_speed.si(angles, 0.086, 50.0, 0.143)
    mean = float(np.trapezoid(speed, angles)) / np.pi
    assert mean == pytest.approx(geo.mean_piston_speed.si(0.086, 50.0), rel=1e-7)
    assert geo.mean_piston_speed("86 mm", "3000 rpm").m_as("m/s") == pytest.approx(8.6)
    assert pulkrabek.piston_speed.si(-0.5, 0.086, 50.0, 0.143) == pytest.approx(
        -pulkrabek.piston_speed.si(0.5, 0.086, 50.0, 0.143)
    )


def test_chamber_area_at_dead_centres() -> None:
    crowns = 2 * np.pi / 4 * 0.086**2
    assert geo.chamber_area.si(0.0, 0.086, 0.086, 0.143) == pytest.approx(crowns)
    assert geo.chamber_area.si(np.pi, 0.086, 0.086, 0.143) == pytest.approx(
        crowns + np.pi * 0.086 * 0.086
    )


def test_clearance_volume_from_parts() -> None:
    parts = {"bore": "86 mm", "chamber_volume": "45 cc",
             "gasket_bore": "87 mm", "gasket_thickness": "1.2 mm"}  # fmt: skip
    flat = geo.clearance_volume_from_parts(**parts)
    assert flat.m_as("m**3") == pytest.approx(45e-6 + np.pi / 4 * 0.087**2 * 1.2e-3)
    assert geo.clearance_volume_from_parts(**parts, piston_volume="8 cc") > flat
    assert geo.clearance_volume_from_parts(**parts, piston_volume="-8 cc") < flat
    assert geo.clearance_volume_from_parts(**parts, deck_clearance="0.3 mm") > flat
    assert geo.clearance_volume_from_parts(**parts, deck_clearance="-0.3 mm") < flat
    with pytest.raises(InputError, match="above the piston"):
        geo.clearance_volume_from_parts(**parts, piston_volume="-80 cc")


def test_shop_systems_agree() -> None:
    metric = geo.cylinder_volume("40 deg", "86 mm", "86 mm", "143 mm", 9.5)
    inch = geo.cylinder_volume(
        Q(40, "deg"), Q(86 / 25.4, "in"), Q(86 / 25.4, "in"), Q(143 / 25.4, "in"), 9.5
    )
    assert inch.m_as("cm**3") == pytest.approx(metric.m_as("cm**3"))
    named = geo.cylinder_volume(
        crank_angle="40 deg", bore="86 mm", stroke="86 mm", rod="143 mm", compression_ratio=9.5
    )
    assert named.m_as("m**3") == pytest.approx(metric.m_as("m**3"))


def test_arrays_broadcast() -> None:
    bores = np.array([[0.08], [0.09], [0.1]])
    volume = geo.cylinder_volume.si(ANGLES, bores, 0.09, 0.15, 10.0)
    assert volume.shape == (3, ANGLES.size)
    one = geo.cylinder_volume.si(ANGLES[7], 0.09, 0.09, 0.15, 10.0)
    assert volume[1, 7] == pytest.approx(one)
    rods = geo.piston_position.si(1.0, np.array([0.08, 0.09]), np.array([0.14, 0.15]))
    assert rods.shape == (2,)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: geo.piston_position("20 deg", "86 mm", "43 mm"), "rod"),
        (lambda: geo.cylinder_volume("20 deg", "86 mm", "86 mm", "40 mm", 10), "rod"),
        (lambda: geo.clearance_volume("86 mm", "86 mm", 1.0), "compression_ratio"),
        (lambda: geo.cylinder_volume("20 deg", "86 mm", "86 mm", "1 m", 0.9), "compression_ratio"),
        (lambda: geo.swept_volume("86 psi", "86 mm"), "bore"),
        (lambda: geo.swept_volume(86, "86 mm"), "bore"),
        (lambda: geo.mean_piston_speed("86 mm", "50 Hz"), "crank_speed"),
        (lambda: geo.swept_volume("0 mm", "86 mm"), "bore"),
        (lambda: geo.piston_position(Q(float("nan"), "deg"), "86 mm", "1 m"), "crank_angle"),
    ],
)
def test_bad_input_names_the_field(call, field) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert [f.field for f in caught.value.faults] == [field]


def test_rod_error_tells_both_lengths() -> None:
    with pytest.raises(InputError, match=r"40.00 mm.*43.00 mm"):
        geo.piston_position("20 deg", "86 mm", "40 mm")
