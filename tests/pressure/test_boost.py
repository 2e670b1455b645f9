"""Boost: worked examples in steps, real air, limits, units, bad input."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, Q, checks
from sealkit.pressure import boost
from sealkit.pressure.geometry import swept_volume
from sealkit.units import parse
from tests import validation
from tests.validation import gupta


def _row(id: str) -> tuple[dict[str, object], float, float]:
    """Inputs, outside value and absolute tolerance in SI."""
    row = (
        validation.row("gupta", id) if id in ("5.4-share", "5.5-gain") else checks.row("boost", id)
    )
    want = row.want().to_base_units().magnitude
    return row.arguments(), want, parse(row.tolerance).to_base_units().magnitude


def _si(value: object) -> float:
    return float(parse(str(value)).to_base_units().magnitude)


def test_share_of_turbine_work() -> None:
    x, want, limit = _row("5.4-share")
    hot = boost.compressor_outlet_temperature.si(
        290.0, x["pressure_ratio"], x["efficiency"], exponent=x["exponent"]
    )
    cold = gupta.turbine_outlet_temperature.si(
        850.0, x["expansion_ratio"], x["turbine_efficiency"], 1.33
    )
    exhaust = 1.0 + 1.0 / float(str(x["air_fuel_ratio"]))
    need = gupta.compressor_power.si(1.0, 290.0, hot, _si(x["cp"]))
    have = gupta.turbine_power.si(exhaust, 850.0, cold, _si(x["exhaust_cp"]))
    assert need / have == pytest.approx(want, abs=limit)


def test_gain_by_a_blower() -> None:
    x, want, limit = _row("5.5-gain")
    p, t1, pi = _si(x["pressure"]), _si(x["temperature"]), float(str(x["pressure_ratio"]))
    swept = 3e-3 * 3500 / 60 / 2
    # the book goes on with the isentropic temperature rounded up
    ideal = boost.compressor_outlet_temperature.si(t1, pi)
    assert np.ceil(ideal) == _si(x["isentropic_temperature"])
    exponent = np.log(_si(x["isentropic_temperature"]) / t1) / np.log(pi)
    t2 = boost.compressor_outlet_temperature.si(t1, pi, x["efficiency"], exponent=exponent)
    air = gupta.air_mass_flow.si(pi * p, t2, 3e-3, 3500 / 60)
    free = air * 287.0 * t1 / p
    specific = 14e3 * 60.0
    more = specific * (free - float(str(x["volumetric_efficiency"])) * swept) + (pi - 1) * p * swept
    drive = gupta.compressor_power.si(air, t1, t2, mechanical_efficiency=x["mechanical_efficiency"])
    gain = float(str(x["mechanical_efficiency"])) * more - drive
    assert gain == pytest.approx(want, abs=limit)


def test_drive_of_a_blower_is_the_book_s_power_per_swept_volume() -> None:
    """Against the power of the book's example, with its cp of 1.005 kJ/(kg K)."""
    swept, turns, t1 = 3e-3, 3500 / 60, 300.0
    t2 = boost.compressor_outlet_temperature.si(t1, 1.7, 0.75)
    flow = gupta.air_mass_flow.si(1.7e5, t2, swept, turns)
    mep = boost.compressor_mep.si(flow / (turns / 2), t1, t2, swept)
    wanted = gupta.compressor_power.si(flow, t1, t2)
    assert mep * swept * turns / 2 == pytest.approx(wanted, rel=1e-3)


@pytest.mark.reference
@pytest.mark.parametrize("ratio", ["1.5", "2", "2.5", "3", "4"])
def test_compressor_against_real_air(ratio: str) -> None:
    from CoolProp.CoolProp import PropsSI

    _, want, limit = _row(f"5.6-real-{ratio}")
    t1, p1, pi = 298.15, 101325.0, float(ratio)
    h1, s1 = (PropsSI(k, "T", t1, "P", p1, "Air") for k in "HS")
    h2s = PropsSI("H", "S", s1, "P", pi * p1, "Air")
    real = PropsSI("T", "H", h1 + (h2s - h1) / 0.70, "P", pi * p1, "Air")
    assert real == pytest.approx(want, abs=limit)
    ours = boost.compressor_outlet_temperature.si(t1, pi, 0.70)
    # constant specific heat runs hot, by no more than 1.1 % of the rise
    assert 0.0 < ours - real < 0.011 * (real - t1)


def test_trapped_mass_and_air_flow_are_one() -> None:
    vd = float(swept_volume.si(0.086, 0.086, 4))
    mass = boost.trapped_mass.si(1e5, 300.0, vd, 0.9)
    assert gupta.air_mass_flow.si(1e5, 300.0, vd, 100.0, 0.9) == pytest.approx(50 * mass)
    assert gupta.air_mass_flow.si(1e5, 300.0, vd, 100.0, 0.9, strokes=2) == pytest.approx(
        100 * mass
    )
    assert boost.trapped_mass("1 bar", "300 K", "1 m**3").m_as("kg") == pytest.approx(
        1e5 / 287 / 300
    )


def test_atmosphere() -> None:
    heights = np.linspace(-1000, 11000, 50)
    p = boost.standard_pressure.si(heights)
    assert np.all(np.diff(p) < 0)
    # hydrostatic balance
    t = 288.15 - 0.0065 * heights
    slope = np.gradient(p, heights, edge_order=2)
    assert slope == pytest.approx(-p * 9.80665 / (287.05287 * t), rel=2e-3)
    feet = boost.standard_pressure(Q(5000, "ft")).m_as("psi")
    assert feet == pytest.approx(boost.standard_pressure("1524 m").m_as("psi"))


@settings(max_examples=40, deadline=None)
@given(
    pi=st.floats(1.0, 6.0), eta=st.floats(0.3, 1.0), t=st.floats(230, 400), eps=st.floats(0.0, 1.0)
)
def test_limits(pi: float, eta: float, t: float, eps: float) -> None:
    hot = boost.compressor_outlet_temperature.si(t, pi, eta)
    assert hot >= boost.compressor_outlet_temperature.si(t, pi) - 1e-9 >= t - 2e-9
    # a loss-free turbine undoes a loss-free compressor
    ideal = boost.compressor_outlet_temperature.si(t, pi, exponent=0.33 / 1.33)
    assert gupta.turbine_outlet_temperature.si(ideal, pi) == pytest.approx(t)
    cool = boost.intercooler_outlet_temperature.si(hot + 1.0, t, eps)
    assert t - 1e-9 <= cool <= hot + 1.0 + 1e-9
    assert gupta.intercooler_effectiveness.si(hot + 1.0, cool, t) == pytest.approx(eps, abs=1e-9)


def test_exponent_stands_for_gamma() -> None:
    by_gamma = boost.compressor_outlet_temperature("20 degC", 2.2, "72 %")
    by_exponent = boost.compressor_outlet_temperature("68 degF", 2.2, 0.72, exponent=0.4 / 1.4)
    assert by_exponent.m_as("degF") == pytest.approx(by_gamma.m_as("degF"))
    hot = gupta.turbine_outlet_temperature("900 K", 1.8, 0.7, exponent=0.33 / 1.33)
    assert hot.m_as("K") == pytest.approx(gupta.turbine_outlet_temperature.si(900, 1.8, 0.7))


def test_arrays_broadcast() -> None:
    pi, eta = np.linspace(1, 3, 5), np.array([[0.6], [0.8]])
    out = boost.compressor_outlet_temperature.si(300.0, pi, eta)
    assert out.shape == (2, 5)
    assert out[:, 0] == pytest.approx([300.0, 300.0])
    assert gupta.intercooler_heat.si(0.1, out, 300.0).shape == (2, 5)
    flows = gupta.air_mass_flow.si(1e5, 300.0, 2e-3, 50.0, strokes=np.array([2, 4]))
    assert flows[0] == pytest.approx(2 * flows[1])


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: boost.compressor_outlet_temperature("20 degC", 0.9), "pressure_ratio"),
        (lambda: boost.compressor_outlet_temperature("20 degC", 2, 1.2), "efficiency"),
        (lambda: boost.compressor_outlet_temperature("20 degC", 2, 0), "efficiency"),
        (lambda: gupta.turbine_outlet_temperature("900 K", 2, 1.2), "efficiency"),
        (lambda: boost.intercooler_outlet_temperature("120 degC", "20 degC", 1.1), "effectiveness"),
        (
            lambda: gupta.intercooler_effectiveness("20 degC", "20 degC", "20 degC"),
            "coolant_temperature",
        ),
        (lambda: boost.standard_pressure("12 km"), "altitude"),
        (lambda: boost.standard_pressure("12 psi"), "altitude"),
        (lambda: boost.trapped_mass("1 barg", "300 K", "500 cc"), "pressure"),
        (lambda: boost.trapped_mass("1 bar", 300, "500 cc"), "temperature"),
        (
            lambda: gupta.air_mass_flow("1 bar", "300 K", "2 l", "3000 rpm", strokes=3),
            "strokes",
        ),
        (
            lambda: gupta.compressor_power(
                "0.1 kg/s", "300 K", "350 K", mechanical_efficiency="120 %"
            ),
            "mechanical_efficiency",
        ),
    ],
)
def test_bad_input_names_the_field(call, field) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert [f.field for f in caught.value.faults] == [field]
