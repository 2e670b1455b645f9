"""Mean effective pressure, torque and power: examples in steps, round trips, bad input."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, Q
from sealkit.pressure import power
from sealkit.pressure.geometry import mean_piston_speed, swept_volume
from sealkit.units import parse
from tests import validation
from tests.validation import gupta, sitthiracha


def _row(id: str) -> tuple[dict[str, Any], Any, Any]:
    row = validation.row("gupta", id)
    return row.arguments(), row.want(), parse(row.tolerance)


def _close(ours: Any, id: str) -> None:
    _, want, limit = _row(id)
    unit = want.units
    value = Q(ours).m_as(unit) if not hasattr(ours, "units") else ours.m_as(unit)
    assert value == pytest.approx(want.magnitude, abs=limit.m_as(unit))


def test_bmep_from_torque() -> None:
    x, _, _ = _row("7.1-bmep")
    vd = swept_volume(x["bore"], x["stroke"], x["cylinders"])
    _close(gupta.mep_from_torque(x["torque"], vd), "7.1-bmep")


def test_morse_test() -> None:
    x, _, _ = _row("7.2-bp")
    arm, speed = x["arm"], x["crank_speed"]
    vd = swept_volume(x["bore"], x["stroke"], x["cylinders"])
    bp = gupta.power_from_torque(gupta.brake_torque(x["load"], arm), speed)
    cut = gupta.power_from_torque(gupta.brake_torque(Q(x["cut_loads"], "N"), arm), speed)
    ip = gupta.morse_indicated_power(bp, cut)
    fuel = parse(str(x["fuel_volume_flow"])) * parse(str(x["fuel_density"]))
    _close(bp, "7.2-bp")
    _close(power.mep_from_power(bp, vd, speed), "7.2-bmep")
    _close(1 / gupta.specific_fuel_work(bp, fuel), "7.2-bsfc")
    _close(ip, "7.2-ip")
    efficiency = gupta.mechanical_efficiency(bp, ip)
    _close(efficiency, "7.2-efficiency")
    _close(power.mep_from_power(ip, vd, speed), "7.2-imep")
    _close(gupta.indicated_mep(power.mep_from_power(bp, vd, speed), efficiency), "7.2-imep")


def test_two_stroke_power() -> None:
    x, _, _ = _row("7.4-power")
    vd = swept_volume(x["bore"], x["stroke"])
    _close(power.power_from_mep(x["imep"], vd, x["crank_speed"], x["strokes"]), "7.4-power")


def test_imep_of_a_supercharged_six() -> None:
    x, _, _ = _row("7.6-imep")
    vd = swept_volume(x["bore"], x["stroke"], x["cylinders"])
    bmep = gupta.mep_from_torque(x["torque"], vd)
    _close(gupta.indicated_mep(bmep, x["mechanical_efficiency"]), "7.6-imep")


@settings(max_examples=40, deadline=None)
@given(
    mep=st.floats(-5e5, 5e6), vd=st.floats(1e-4, 1e-2), n=st.floats(5, 200),
    strokes=st.sampled_from([2, 4]),
)  # fmt: skip
def test_round_trips(mep: float, vd: float, n: float, strokes: int) -> None:
    p = power.power_from_mep.si(mep, vd, n, strokes)
    t = power.torque_from_mep.si(mep, vd, strokes)
    assert power.mep_from_power.si(p, vd, n, strokes) == pytest.approx(mep)
    assert gupta.mep_from_torque.si(t, vd, strokes) == pytest.approx(mep)
    assert gupta.power_from_torque.si(t, n) == pytest.approx(p)
    assert gupta.torque_from_power.si(p, n) == pytest.approx(t)


def test_two_strokes_give_twice_the_power() -> None:
    both = power.power_from_mep.si(1e6, 2e-3, 100.0, np.array([2, 4]))
    assert both[0] == pytest.approx(2 * both[1])
    # torque is work of a cycle over its angle
    assert power.torque_from_mep.si(1e6, 2e-3) == pytest.approx(1e6 * 2e-3 / (4 * np.pi))


def test_shop_units() -> None:
    hp = gupta.power_from_torque("300 lbf*ft", "5252.113 rpm").m_as("hp")
    assert hp == pytest.approx(300, rel=1e-6)
    assert gupta.torque_from_power("300 hp", "5252.113 rpm").m_as("lbf*ft") == pytest.approx(
        300, rel=1e-6
    )


def test_friction() -> None:
    speeds = np.array([1000.0, 3000.0, 6000.0]) / 60
    fmep = sitthiracha.friction_mep_speed.si(speeds)
    assert np.all(np.diff(fmep) > 0)
    assert sitthiracha.friction_mep_speed.si(0.0) == pytest.approx(0.97e5)
    sp = mean_piston_speed.si(0.086, speeds)
    rises = power.friction_mep_chen_flynn.si(np.array([[0.0], [100e5]]), sp)
    assert rises.shape == (2, 3)
    assert rises[1] - rises[0] == pytest.approx([0.5e5] * 3)
    assert gupta.brake_mep("14 bar", "1.9 bar").m_as("bar") == pytest.approx(12.1)


def test_morse_over_many_engines() -> None:
    bp = np.array([20e3, 30e3])
    cut = np.array([[13e3, 13e3, 14e3, 14e3], [20e3, 21e3, 21e3, 20e3]])
    assert gupta.morse_indicated_power.si(bp, cut) == pytest.approx([26e3, 38e3])


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: power.power_from_mep("6 bar", "1 l", "1000 rpm", 3), "strokes"),
        (lambda: power.power_from_mep("6 barg", "1 l", "1000 rpm"), "mep"),
        (lambda: gupta.mep_from_torque("90 J", "1 l"), "torque"),
        (lambda: gupta.mep_from_torque("90 N*m", "0 l"), "swept_volume"),
        (lambda: gupta.torque_from_power("90 kW", "100 Hz"), "crank_speed"),
        (lambda: gupta.torque_from_power("90 kW", "0 rpm"), "crank_speed"),
        (lambda: sitthiracha.friction_mep_speed("-1 rpm"), "crank_speed"),
        (lambda: power.friction_mep_chen_flynn("100 bar", 15), "mean_piston_speed"),
        (lambda: gupta.indicated_mep("5 bar", 0), "mechanical_efficiency"),
        (lambda: gupta.specific_fuel_work("5 kW", "0 kg/s"), "fuel_flow"),
    ],
)
def test_bad_input_names_the_field(call, field) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert [f.field for f in caught.value.faults] == [field]
