"""Ideal cycles: examples in steps, the ends of the dual cycle, real air, finite heat release."""

import dataclasses
import inspect
import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from sealkit import InputError, Q
from sealkit.pressure import ideal
from sealkit.pressure.boost import trapped_mass
from sealkit.pressure.geometry import compression_ratio_from_volumes, cylinder_volume, swept_volume
from sealkit.pressure.power import mep_from_power
from sealkit.units import parse
from tests import validation
from tests.validation import cengel, ferguson_kirkpatrick, mathur_sharma

DEG = np.pi / 180


def _close(ours: Any, topic: str, id: str) -> None:
    row = validation.row(topic, id)
    want, limit = row.want(), parse(row.tolerance)
    value = Q(ours).m_as(want.units) if not hasattr(ours, "units") else ours.m_as(want.units)
    assert value == pytest.approx(want.magnitude, abs=limit.m_as(want.units))


def _cycle_of(x: dict[str, object]) -> cengel.IdealCycle:
    known = inspect.signature(cengel.limited_pressure_cycle.si).parameters
    return cengel.limited_pressure_cycle(**{k: v for k, v in x.items() if k in known})


# --------------------------------------------------------------------------- worked examples
def test_otto_work_and_power() -> None:
    x = validation.row("cengel", "2.4-work").arguments()
    ratio = compression_ratio_from_volumes(swept_volume(x["bore"], x["stroke"]), x["clearance"])
    assert ratio == pytest.approx(x["compression_ratio"], abs=5e-5)
    work = _cycle_of(x).mep * swept_volume(x["bore"], x["stroke"])
    _close(work, "cengel", "2.4-work")
    _close(work * parse(str(x["cycles"])), "cengel", "2.4-power")


def test_diesel_work() -> None:
    x = validation.row("cengel", "2.5-work").arguments()
    work = _cycle_of(x).mep * swept_volume(x["bore"], x["stroke"])
    _close(work, "cengel", "2.5-work")


def test_diesel_work_in_inch_units() -> None:
    x = validation.row("cengel", "2.6-work").arguments()
    mass = trapped_mass(
        x["pressure"], x["temperature"], x["volume"], gas_constant=x["gas_constant"]
    )
    _close(_cycle_of(x).work * mass, "cengel", "2.6-work")


def test_actual_mep() -> None:
    x = validation.row("mathur_sharma", "2.10-actual").arguments()
    vd = swept_volume(x["bore"], x["stroke"], x["cylinders"])
    _close(mep_from_power(x["power"], vd, x["crank_speed"]), "mathur_sharma", "2.10-actual")


# --------------------------------------------------------------------------- the cycle
ratios = st.floats(4.0, 20.0)
gammas = st.floats(1.25, 1.45)
heats = st.floats(2e5, 2.5e6)


@settings(max_examples=40, deadline=None)
@given(r=ratios, g=gammas, q=heats)
def test_otto_end(r: float, g: float, q: float) -> None:
    c = cengel.limited_pressure_cycle.si(r, 1e5, 320.0, q, gamma=g)
    assert c.T3 == c.T4 and c.cut_off_ratio == 1.0
    assert c.efficiency == pytest.approx(cengel.otto_efficiency.si(r, g))
    assert c.mep == pytest.approx(c.diagram_mep)
    assert c.p3 == pytest.approx(cengel.otto_peak_pressure.si(r, 1e5, 320.0, q, g))
    assert c.mep == pytest.approx(mathur_sharma.mep_from_pressure_rise.si(c.p3 - c.p2, r, g))
    p2, T2 = ideal.polytropic_state.si(1e5, 320.0, r, g)
    assert (c.p2, c.T2) == pytest.approx((p2, T2))


@settings(max_examples=40, deadline=None)
@given(r=st.floats(12, 22), g=gammas, beta=st.floats(1.05, 4.0))
def test_diesel_end(r: float, g: float, beta: float) -> None:
    c = cengel.limited_pressure_cycle.si(r, 1e5, 320.0, cut_off_ratio=beta, gamma=g)
    assert c.p3 == pytest.approx(c.p2) and c.T3 == c.T2
    closed = 1 - r ** (1 - g) * (beta**g - 1) / (g * (beta - 1))
    assert c.efficiency == pytest.approx(closed)
    again = cengel.limited_pressure_cycle.si(r, 1e5, 320.0, c.heat, pressure_ratio=1.0, gamma=g)
    assert again.cut_off_ratio == pytest.approx(beta)


@settings(max_examples=40, deadline=None)
@given(r=ratios, q=heats, share=st.floats(0.05, 0.95))
def test_dual_lies_between_and_all_ways_to_tell_it_agree(r: float, q: float, share: float) -> None:
    say = cengel.limited_pressure_cycle.si
    otto = say(r, 1e5, 320.0, q)
    limit = otto.p2 + share * (otto.p3 - otto.p2)
    try:
        dual = say(r, 1e5, 320.0, q, peak_pressure=limit)
    except InputError:
        reject()  # cut-off would lie beyond bottom dead centre
    assert dual.p3 == pytest.approx(limit)
    assert dual.efficiency < otto.efficiency
    assert dual.work == pytest.approx(dual.heat - dual.heat_rejected)
    ways = (
        say(r, 1e5, 320.0, q, pressure_ratio=dual.pressure_ratio),
        say(r, 1e5, 320.0, peak_temperature=dual.T4, peak_pressure=limit),
        say(r, 1e5, 320.0, pressure_ratio=dual.pressure_ratio, cut_off_ratio=dual.cut_off_ratio),
        say(r, 1e5, 320.0, q, cut_off_ratio=dual.cut_off_ratio),
        say(r, 1e5, 320.0, peak_temperature=dual.T4, cut_off_ratio=dual.cut_off_ratio),
    )
    for way in ways:
        assert dataclasses.astuple(way) == pytest.approx(dataclasses.astuple(dual), rel=1e-7)


def test_limit_that_is_not_reached_leaves_an_otto_cycle() -> None:
    otto = cengel.limited_pressure_cycle.si(9, 1e5, 320.0, 5e5)
    held = cengel.limited_pressure_cycle.si(9, 1e5, 320.0, 5e5, peak_pressure=300e5)
    assert dataclasses.astuple(held) == pytest.approx(dataclasses.astuple(otto))
    alone = cengel.limited_pressure_cycle.si(9, 1e5, 320.0, peak_pressure=otto.p3)
    assert alone.heat == pytest.approx(5e5)


def test_polytropic_exponent_of_gamma_is_adiabatic() -> None:
    plain = cengel.limited_pressure_cycle.si(9, 1e5, 320.0, 1e6, peak_pressure=50e5)
    same = cengel.limited_pressure_cycle.si(
        9, 1e5, 320.0, 1e6, peak_pressure=50e5, compression_exponent=1.4, expansion_exponent=1.4
    )
    assert dataclasses.astuple(same) == pytest.approx(dataclasses.astuple(plain))
    cooled = cengel.limited_pressure_cycle.si(
        9, 1e5, 320.0, 1e6, compression_exponent=1.3, expansion_exponent=1.45
    )
    assert cooled.work == pytest.approx(cooled.heat_supplied - cooled.heat_rejected)
    assert cooled.mep == pytest.approx(cooled.diagram_mep)


def test_rising_specific_heat() -> None:
    plain = cengel.limited_pressure_cycle.si(9, 1e5, 320.0, 2e6, cv=717.5)
    tiny = cengel.limited_pressure_cycle.si(9, 1e5, 320.0, 2e6, cv=717.5, cv_rise=1e-6)
    assert float(tiny.T5) == pytest.approx(plain.T5, rel=1e-6)
    rising = cengel.limited_pressure_cycle.si(9, 1e5, 320.0, 2e6, cv=717.5, cv_rise=200.0)
    assert rising.p3 < plain.p3 and rising.efficiency < plain.efficiency
    assert rising.mep == pytest.approx(rising.diagram_mep)
    bent = cengel.limited_pressure_cycle.si(
        9, 1e5, 320.0, 2e6, cv=717.5, cv_rise=200.0, compression_exponent=1.3,
        expansion_exponent=1.25,
    )  # fmt: skip
    assert bent.mep == pytest.approx(bent.diagram_mep)


def test_cycle_broadcasts_and_takes_units() -> None:
    r, q = np.array([8.0, 9.0, 10.0]), np.array([[5e5], [1e6]])
    many = cengel.limited_pressure_cycle.si(r, 1e5, 320.0, q, peak_pressure=60e5)
    assert all(np.shape(x) == (2, 3) for x in dataclasses.astuple(many))
    one = cengel.limited_pressure_cycle.si(9.0, 1e5, 320.0, 1e6, peak_pressure=60e5)
    assert [x[1, 1] for x in dataclasses.astuple(many)] == pytest.approx(dataclasses.astuple(one))
    metric = cengel.limited_pressure_cycle(9, "1 bar", "320 K", "1 MJ/kg")
    inch = cengel.limited_pressure_cycle(
        9, Q(1e5, "Pa").to("psi"), Q(320, "K").to("degF"), Q(1e6, "J/kg").to("Btu/lb")
    )
    assert inch.p3.m_as("psi") == pytest.approx(metric.p3.m_as("psi"))
    air = cengel.air_cycle.si(r, 1e5, 320.0, q)
    assert air.T5.shape == (2, 3)
    assert air.p3[1, 1] == pytest.approx(cengel.air_cycle.si(9.0, 1e5, 320.0, 1e6).p3)


# --------------------------------------------------------------------------- real air
def test_air_keeps_its_books() -> None:
    c = cengel.air_cycle.si(10.0, 1e5, 300.0, 1.8e6, peak_pressure=80e5)
    assert c.work == pytest.approx(c.heat - c.heat_rejected)
    assert c.mep == pytest.approx(c.diagram_mep, rel=1e-6)
    cold = cengel.limited_pressure_cycle.si(10.0, 1e5, 300.0, 1.8e6, peak_pressure=80e5)
    assert c.efficiency < cold.efficiency and c.T4 < cold.T4
    # with little heat in cool air the constant 1.4 is right
    near = cengel.air_cycle.si(1.5, 1e5, 250.0, 1e4)
    assert near.efficiency == pytest.approx(cengel.otto_efficiency.si(1.5), rel=5e-3)


@pytest.mark.reference
@pytest.mark.parametrize("ratio", [8.0, 18.0])
def test_air_against_cantera(ratio: float) -> None:
    import cantera as ct

    names = {"O2": 0.21, "N2": 0.78, "AR": 0.01}
    species = [s for s in ct.Species.list_from_file("nasa_gas.yaml") if s.name.upper() in names]
    gas = ct.Solution(thermo="ideal-gas", species=species)
    gas.X = {s.name: names[s.name.upper()] for s in species}
    gas.TP = 290.0, 1e5
    v1, u1 = gas.volume_mass, gas.int_energy_mass
    gas.SV = gas.entropy_mass, v1 / ratio
    T2, p2, u2 = gas.T, gas.P, gas.int_energy_mass
    gas.UV = u2 + 1.2e6, v1 / ratio
    T3, p3 = gas.T, gas.P
    gas.SV = gas.entropy_mass, v1
    work = 1.2e6 - (gas.int_energy_mass - u1)
    c = cengel.air_cycle.si(ratio, 1e5, 290.0, 1.2e6)
    assert (c.T2, c.p2, c.T3, c.p3, c.T5, c.work) == pytest.approx(
        (T2, p2, T3, p3, gas.T, work), rel=2e-6
    )


# --------------------------------------------------------------------------- finite heat release
def _finite(topic_id: str, **more: object) -> ferguson_kirkpatrick.FiniteHeatRelease:
    x = validation.row("ferguson_kirkpatrick", topic_id).arguments()
    if "bore" in x:
        volume = cylinder_volume("180 deg", x["bore"], x["stroke"], "1 m", x["compression_ratio"])
        heat = (parse(str(x["heat"])) / parse(str(x["pressure"])) / volume).m_as("dimensionless")
        x = {k: x[k] for k in ("compression_ratio", "start", "duration")} | {"heat": heat}
    return ferguson_kirkpatrick.finite_heat_release(**(x | more))


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("angle", "peak_angle"),
        ("work", "work"),
        ("efficiency", "efficiency"),
        ("efficiency-ratio", "efficiency_ratio"),
        ("imep", "imep_ratio"),
    ],
)
def test_finite_heat_release_from_an_engine(key: str, name: str) -> None:
    _close(getattr(_finite("3.10-peak"), name), "ferguson_kirkpatrick", f"3.10-{key}")


@pytest.mark.parametrize("row", ["3.6", "3.9", "3.10", "3.11", "3.12"])
def test_pressure_at_the_printed_angle(row: str) -> None:
    f = _finite(f"{row}-peak", points=20000)
    # the outside peak is the largest on a grid of 0.1 degree, told at that angle
    angle = validation.row("ferguson_kirkpatrick", f"{row}-angle").want().m_as("rad")
    here = np.interp(angle, f.crank_angle.m_as("rad"), f.pressure)
    assert here == pytest.approx(
        float(validation.row("ferguson_kirkpatrick", f"{row}-peak").expected), abs=6e-5
    )


@settings(max_examples=6, deadline=None)
@given(
    r=st.floats(6, 14), q=st.floats(5, 30), start=st.floats(-40, 5), h=st.floats(0, 0.4),
    c=st.floats(0, 2), g=st.floats(1.25, 1.4),
)  # fmt: skip
def test_against_a_tight_ode_solution(
    r: float, q: float, start: float, h: float, c: float, g: float
) -> None:
    begin, span, omega = start * DEG, 50 * DEG, 200.0
    f = ferguson_kirkpatrick.finite_heat_release.si(
        r, q, begin, span, g, 5.0, 2.0, h, 1.2, 1.5, c, omega / (2 * np.pi)
    )

    def slope(t: float, y: Any) -> list[float]:
        p, mass, _, _ = y
        v = (1 + (r - 1) / 2 * (1 - np.cos(t))) / r
        dv = (r - 1) / 2 * np.sin(t) / r
        z = max((t - begin) / span, 0.0)
        burn = 15 * z**2 * np.exp(-5 * z**3) / span
        wall = h * (1 + 1.5 * v) * (p * v / mass - 1.2)
        dp = -g * p / v * dv + (g - 1) / v * (q * burn - wall) - g * c / omega * p
        return [dp, -c / omega * mass, p * dv, wall]

    y, ends = [1.0, 1.0, 0.0, 0.0], (-np.pi, begin, np.pi)
    for low, high in itertools.pairwise(ends):
        s = solve_ivp(slope, (low, high), y, method="DOP853", rtol=1e-10, atol=1e-11)
        y = list(s.y[:, -1])
    ours = (f.pressure[-1], f.mass_left, f.work, f.heat_loss)
    assert ours == pytest.approx(tuple(y), rel=1e-6, abs=1e-7)


def test_fast_burn_at_top_dead_centre_comes_near_otto() -> None:
    f = ferguson_kirkpatrick.finite_heat_release.si(10.0, 20.0, -0.5 * DEG, 1.0 * DEG)
    assert f.efficiency_ratio == pytest.approx(1.0, abs=1e-3)
    otto = cengel.limited_pressure_cycle.si(10.0, 1e5, 300.0, 20.0 * 287.0 * 300.0)
    assert f.peak_pressure_ratio == pytest.approx(otto.p3 / 1e5, rel=0.01)
    assert f.heat_loss == 0.0 and f.mass_left == 1.0


def test_finite_heat_release_broadcasts() -> None:
    starts, heats_ = np.array([-30.0, -20.0, -10.0]) * DEG, np.array([[15.0], [20.0]])
    f = ferguson_kirkpatrick.finite_heat_release.si(
        10.0, heats_, starts, 40 * DEG, heat_transfer=0.2
    )
    assert f.work.shape == f.peak_angle.shape == (2, 3)
    assert f.pressure.shape == f.crank_angle.shape == (2, 3, 4001)
    one = ferguson_kirkpatrick.finite_heat_release.si(
        10.0, 20.0, starts[1], 40 * DEG, heat_transfer=0.2
    )
    assert f.work[1, 1] == pytest.approx(one.work)
    assert f.peak_pressure_ratio[1, 1] == pytest.approx(one.peak_pressure_ratio)
    assert np.all(np.diff(f.peak_pressure_ratio, axis=1) < 0)


def test_late_burn_peaks_at_the_compression_peak() -> None:
    f = ferguson_kirkpatrick.finite_heat_release.si(10.0, 1e-9, 60 * DEG, 40 * DEG)
    assert f.peak_angle == pytest.approx(0.0, abs=1e-3)
    assert f.peak_pressure_ratio == pytest.approx(10.0**1.4, rel=1e-6)


# --------------------------------------------------------------------------- bad input
say = cengel.limited_pressure_cycle


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: say(9, "1 bar", "300 K"), "none of them"),
        (
            lambda: say(9, "1 bar", "300 K", "1 MJ/kg", peak_temperature="2500 K"),
            "heat and peak_temperature",
        ),
        (
            lambda: say(9, "1 bar", "300 K", peak_pressure="60 bar", pressure_ratio=2),
            "peak_pressure and pressure_ratio",
        ),
        (
            lambda: say(9, "1 bar", "300 K", "1 MJ/kg", pressure_ratio=2, cut_off_ratio=2),
            "heat and pressure_ratio and cut_off_ratio",
        ),
        (lambda: say(9, "1 bar", "300 K", "1 MJ/kg", peak_pressure="15 bar"), "peak_pressure"),
        (lambda: say(9, "1 bar", "300 K", peak_temperature="500 K"), "peak_temperature"),
        (lambda: say(5, "1 bar", "300 K", cut_off_ratio=6), "cut-off ratio"),
        (lambda: say(1, "1 bar", "300 K", "1 MJ/kg"), "compression_ratio"),
        (lambda: say(9, "1 barg", "300 K", "1 MJ/kg"), "gauge"),
        (lambda: say(9, "1 bar", "300 K", "1 MJ"), "heat"),
        (lambda: say(9, "1 bar", "300 K", "1 MJ/kg", gamma=1), "gamma"),
        (lambda: cengel.air_cycle(9, "1 bar", "300 K", "8 MJ/kg"), "6000 K"),
        (lambda: cengel.air_cycle(9, "1 bar", "150 K", "1 MJ/kg"), "200"),
        (lambda: ferguson_kirkpatrick.finite_heat_release(10, 20, "-190 deg", "40 deg"), "start"),
        (lambda: ferguson_kirkpatrick.finite_heat_release(10, 20, "-20 deg", "40 mm"), "duration"),
        (lambda: cengel.cut_off_ratio_from_stroke("120 %", 16), "share"),
    ],
)
def test_bad_input(call, word) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert word in str(caught.value)


def test_every_bad_argument_is_listed() -> None:
    with pytest.raises(InputError) as caught:
        say(0.5, "1 mm", 300, "1 MJ/kg")
    assert {f.field for f in caught.value.faults} == {
        "compression_ratio",
        "pressure",
        "temperature",
    }
