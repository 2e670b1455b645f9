"""Wiebe burn: ends, slope, the tuner's angles and back."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError
from sealkit.pressure.burn import burn_timing, wiebe
from tests.validation.ferguson_kirkpatrick import burn_points, wiebe_rate
from tests.validation.sitthiracha import burn_duration


def test_ends_of_the_burn() -> None:
    share = wiebe.si(np.array([-3.0, -0.3, 0.4, 3.0]), -0.3, 0.7)
    assert share[0] == share[1] == 0.0
    assert share[2] == pytest.approx(1 - np.exp(-5))
    assert share[3] == pytest.approx(1.0)
    assert wiebe_rate.si(np.array([-3.0, -0.3]), -0.3, 0.7) == pytest.approx([0.0, 0.0])


def test_rate_is_the_slope_and_sums_to_the_share() -> None:
    angle = np.linspace(-0.3, 1.0, 20001)
    rate = wiebe_rate.si(angle, -0.3, 0.7, 5.0, 1.5)
    total = float(np.trapezoid(rate, angle))
    assert total == pytest.approx(float(wiebe.si(1.0, -0.3, 0.7, 5.0, 1.5)), rel=1e-6)
    assert rate == pytest.approx(np.gradient(wiebe.si(angle, -0.3, 0.7, 5.0, 1.5), angle), abs=1e-3)
    assert wiebe_rate.si(-0.3, -0.3, 0.7, 5.0, 0.0) == pytest.approx(5 / 0.7)


@settings(max_examples=40, deadline=None)
@given(
    half=st.floats(-0.5, 1.0), span=st.floats(0.05, 2.0), a=st.floats(0.5, 10), m=st.floats(0, 5)
)
def test_there_and_back(half: float, span: float, a: float, m: float) -> None:
    start, duration = burn_timing.si(half, span, a, m)
    back = burn_points.si(start, duration, a, m)
    assert back == pytest.approx((half, span), abs=1e-12)
    assert wiebe.si(half, start, duration, a, m) == pytest.approx(0.5)
    late, early = (_angle(start, duration, a, m, x) for x in (0.9, 0.1))
    assert late - early == pytest.approx(span, rel=1e-6)


def _angle(start: float, duration: float, a: float, m: float, share: float) -> float:
    """The angle of a share by bisection."""
    low, high = start, start + 20 * duration
    for _ in range(80):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if wiebe.si(mid, start, duration, a, m) < share else (low, mid)
    return low


def test_units_and_arrays() -> None:
    start, duration = burn_timing("8 deg", "25 deg")
    assert start.check("") and duration.m_as("deg") == pytest.approx(25 / 0.496026, rel=1e-5)
    share = wiebe.si(np.linspace(-1, 1, 9), np.array([[-0.3], [-0.2]]), 0.7)
    assert share.shape == (2, 9)
    assert np.all(share[0, 3:] > share[1, 3:])
    starts, _ = burn_timing.si(np.array([0.1, 0.2]), 0.4)
    assert starts[1] - starts[0] == pytest.approx(0.1)
    assert burn_duration.si(np.array([50.0, 100.0])).shape == (2,)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: wiebe("0 deg", "-20 deg", "0 deg"), "duration"),
        (lambda: wiebe("0 deg", "-20 deg", "40 mm"), "duration"),
        (lambda: wiebe("0 deg", "-20 deg", "40 deg", a=0), "a"),
        (lambda: wiebe_rate("0 deg", "-20 deg", "40 deg", m=-0.5), "m"),
        (lambda: burn_timing(8, "25 deg"), "ca50"),
        (lambda: burn_duration("900 rpm"), "crank_speed"),
        (lambda: burn_duration("7000 rpm"), "crank_speed"),
        (lambda: burn_duration.si(np.array([50.0, 200.0])), "crank_speed"),
    ],
)
def test_bad_input_names_the_field(call, field) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert [f.field for f in caught.value.faults] == [field]
