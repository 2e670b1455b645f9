"""Charge at bottom dead centre."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, build
from sealkit.analysis import gas_side
from sealkit.pressure import charge as ch
from sealkit.pressure import evaporation, fuels, gas, gas_data, geometry
from tests.charges import charge_at

ENGINE = {"bore": 0.086, "stroke": 0.086, "compression_ratio": 9.5}


def dry(**more: float) -> ch.Charge:
    m = fuels.mixture.si("gasoline", 1.0, evaporated_share=0.0)
    return ch.charge.si(m, **ENGINE, residual_fraction=0.0, **more)


def test_mass_from_pressure_and_from_filling_agree() -> None:
    """Nothing evaporates and nothing is mixed in: the cylinder holds air of the manifold."""
    c = dry(boost=1e5, intercooler_effectiveness=1.0, filling=0.95)
    volume = geometry.swept_volume.si(0.086, 0.086) * 9.5 / 8.5
    r_air = 8.314462618 / 0.028850
    assert c.manifold_temperature == pytest.approx(293.15)
    assert c.temperature == pytest.approx(293.15, abs=1e-6)
    assert c.pressure == pytest.approx(0.95 * 201325.0)
    assert c.air_mass == pytest.approx(0.95 * 201325.0 * volume / (r_air * 293.15), rel=1e-4)
    assert c.fuel_mass == pytest.approx(c.air_mass / 14.624, rel=1e-12)
    assert c.mass == pytest.approx(c.air_mass + c.fuel_mass, rel=1e-12)


@pytest.mark.reference
def test_mixing_against_cantera() -> None:
    """Hot burnt gas and air mixed at one pressure with Cantera, and all fuel evaporated."""
    ct = pytest.importorskip("cantera")
    library = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    names = ["O2", "N2", "CO2", "H2O", "CH3OH"]
    phase = ct.Solution(thermo="ideal-gas", species=[library[n] for n in names])
    m = fuels.mixture.si("methanol", 1.0)
    c = ch.charge.si(
        m, **ENGINE, ambient_temperature=318.15, boost=2.5e5, filling=0.9, residual_fraction=0.05
    )
    assert c.mixture.evaporated_share == 1.0
    air, burnt, vapour = (ct.Quantity(phase, constant="HP") for _ in range(3))
    air.TPX, air.mass = (c.manifold_temperature, c.pressure, "O2:1, N2:3.76"), c.air_mass
    burnt.TPX, burnt.mass = (1000.0, c.pressure, "CO2:1, H2O:2, N2:5.64"), 0.05 * c.mass
    vapour.TPX, vapour.mass = (298.15, c.pressure, "CH3OH:1"), c.fuel_mass
    heat = c.fuel_mass * 1176.6e3
    mix = air + burnt + vapour
    mix.HP = mix.h - heat / mix.mass, c.pressure
    assert c.temperature == pytest.approx(mix.T, abs=0.3)
    assert c.mass == pytest.approx(mix.density * c.volume, rel=1e-3)


def test_ideal_gas_law_and_mass_sum() -> None:
    m = fuels.mixture.si("E85", 1.2, evaporated_share=0.6)
    c = ch.charge.si(m, **ENGINE, boost=0.8e5, residual_fraction=0.05)
    assert c.air_mass + c.fuel_mass == pytest.approx(0.95 * c.mass, rel=1e-12)
    again = charge_at(c.mixture, c.pressure, c.temperature, c.volume, 0.05)
    assert again.mass == pytest.approx(c.mass, rel=2e-4)


def test_full_evaporation_cools_by_latent_heat_over_heat_capacity() -> None:
    """Iso-octane at stoichiometry into air alone: 20 K by the simple ratio hfg/AFR/cp."""
    m = fuels.mixture.si("iso-octane", 1.0)
    wet = ch.charge.si(m, **ENGINE, ambient_temperature=300.0, residual_fraction=0.0)
    drop = 300.0 - wet.temperature
    # the vapour takes part of the cooling: 307.3/(15.03*1.005 + 1.7) with cp of the vapour
    assert drop == pytest.approx(307.3 / (15.028 * 1.012 + 1.66), rel=0.03)
    assert drop < 307.3 / 15.028 / 1.005


def test_a_warm_port_thins_the_charge() -> None:
    """Dry air without residual gas comes in just as much warmer, and its mass goes with 1/T."""
    m = fuels.mixture.si("gasoline", 1.1, evaporated_share=0.0)
    more = np.array([0.0, 10.0, 20.0])
    fresh = ch.charge.si(m, **ENGINE, boost=1e5, residual_fraction=0.0, intake_heating=more)
    assert fresh.temperature - fresh.temperature[0] == pytest.approx(more, abs=1e-4)
    whole = fresh.mass * fresh.temperature
    assert whole == pytest.approx(whole[0], rel=1e-9)
    assert np.ptp(fresh.pressure) == 0.0
    # of what is in the cylinder one part in five hot residual gas is not warmed
    mixed = ch.charge.si(m, **ENGINE, boost=1e5, residual_fraction=0.2, intake_heating=more)
    assert 0.7 < np.diff(mixed.temperature)[0] / 10.0 < 0.85
    warm, cool = (
        gas_side(build.demo("na-iron-v8").vary({"charge.intake_heating": t}))
        for t in ("20 K", "0 K")
    )
    assert warm.mean_peak < cool.mean_peak and warm.knock_integral > cool.knock_integral
    assert warm.volumetric_efficiency < 0.96 * cool.volumetric_efficiency


@pytest.mark.reference
@pytest.mark.parametrize("fuel, name", [("methanol", "Methanol"), ("ethanol", "Ethanol")])
@pytest.mark.parametrize("outside", [255.0, 273.0, 293.0, 320.0])
def test_vapour_stays_below_saturation(fuel: str, name: str, outside: float) -> None:
    """Its partial pressure against CoolProp: at saturation where fuel is left, else below."""
    props = pytest.importorskip("CoolProp.CoolProp")
    m = fuels.mixture.si(fuel, 1.6)
    c = ch.charge.si(m, **ENGINE, ambient_temperature=outside, residual_fraction=0.0)
    moles = c.fuel_mass * c.mixture.evaporated_share / (0.03204 if fuel == "methanol" else 0.04607)
    part = c.pressure * moles / (moles + c.air_mass / 0.028850)
    limit = props.PropsSI("P", "T", c.temperature, "Q", 0, name)
    assert 0.0 < c.mixture.evaporated_share < 1.0
    assert part == pytest.approx(limit, rel=0.06)
    # enthalpy balance: heat given by the air = heat taken by the part that evaporated
    air = c.air_mass * 1.011e3 * (outside - c.temperature)
    warm = 1176.6e3 if fuel == "methanol" else 921.7e3
    taken = c.fuel_mass * c.mixture.evaporated_share * (warm - 1.4e3 * (298.15 - c.temperature))
    assert taken == pytest.approx(air, rel=0.03)


@pytest.mark.reference
@pytest.mark.parametrize("fuel, name", [("methanol", "Methanol"), ("ethanol", "Ethanol")])
def test_saturation_pressure_against_coolprop(fuel: str, name: str) -> None:
    props = pytest.importorskip("CoolProp.CoolProp")
    c = gas.prepare(fuels.mixture.si(fuel, 1.0), 0.0)
    for t in (275.0, 300.0, 340.0, 370.0):
        ours = evaporation.saturation(c.vapour_moles)(np.array([t]))
        assert ours[0] == pytest.approx(props.PropsSI("P", "T", t, "Q", 0, name), rel=0.025)


def test_colder_air_holds_less_vapour() -> None:
    m = fuels.mixture.si("methanol", 1.0)
    days = [
        ch.charge.si(m, **ENGINE, ambient_temperature=t, residual_fraction=0.02)
        for t in (258.0, 275.0, 293.0, 310.0)
    ]
    shares = [c.mixture.evaporated_share for c in days]
    assert shares == sorted(shares) and 0.0 < shares[0] < shares[-1] < 1.0
    # a gas needs no evaporation, and what is asked is kept where the air can hold it
    for name, share in (("methane", 1.0), ("gasoline", 0.5)):
        kept = ch.charge.si(fuels.mixture.si(name, 1.0, evaporated_share=share), **ENGINE)
        assert kept.mixture.evaporated_share == share


def test_residual_gas_takes_the_place_of_fresh_charge() -> None:
    m = fuels.mixture.si("gasoline", 1.1, evaporated_share=0.5)
    few, many = (ch.charge.si(m, **ENGINE, residual_fraction=x) for x in (0.04, 0.20))
    assert many.pressure == few.pressure and many.temperature > few.temperature
    assert many.air_mass < 0.84 * few.air_mass
    hotter = ch.charge.si(m, **ENGINE, residual_fraction=0.04, residual_temperature=1200.0)
    assert hotter.air_mass < few.air_mass


def test_residual_gas_warms() -> None:
    m = fuels.mixture.si("gasoline", evaporated_share=0.0)
    cold = ch.charge.si(m, **ENGINE, residual_fraction=0.0)
    warm = ch.charge.si(m, **ENGINE, residual_fraction=0.05)
    assert 25.0 < warm.temperature - cold.temperature < 55.0


def test_hotter_without_a_cooler() -> None:
    assert dry(boost=1e5).air_mass < dry(boost=1e5, intercooler_effectiveness=0.7).air_mass


def test_arrays_equal_scalars() -> None:
    boosts = np.array([0.0, 0.5e5, 1.5e5])
    m = fuels.mixture.si("E85", np.array([1.0, 1.1, 1.3]), evaporated_share=0.5)
    many = ch.charge.si(m, **ENGINE, boost=boosts)
    for k, b in enumerate(boosts):
        one = ch.charge.si(
            fuels.mixture.si("E85", [1.0, 1.1, 1.3][k], evaporated_share=0.5), **ENGINE, boost=b
        )
        for key in ("pressure", "temperature", "mass", "fuel_mass"):
            assert getattr(many, key)[k] == pytest.approx(getattr(one, key), rel=1e-10), key


def test_quantities_at_the_door_and_back() -> None:
    m = fuels.mixture("gasoline", 1.1)
    c = ch.charge(m, "86 mm", "3.385827 in", 9.5, boost="14.5038 psig", residual_fraction="4 %")
    plain = ch.charge.si(fuels.mixture.si("gasoline", 1.1), **ENGINE, boost=1e5)
    assert c.pressure.to("Pa").magnitude == pytest.approx(plain.pressure, rel=1e-5)
    back = ch.plain(c, ch.Charge)
    assert isinstance(back.pressure, float)
    assert isinstance(back.mixture.lower_heating_value, float)
    assert dataclasses.asdict(ch.plain(back, ch.Charge)) == dataclasses.asdict(back)


def test_faults_are_named() -> None:
    m = fuels.mixture("gasoline")
    with pytest.raises(InputError) as err:
        ch.charge(m, "86 mm", "86 bar", 9.5, boost="2 bara", residual_fraction=0.9)
    assert {f.field for f in err.value.faults} == {"stroke", "boost", "residual_fraction"}
    with pytest.raises(InputError, match="efficiency"):
        ch.charge(m, "86 mm", "86 mm", 9.5, boost="1 barg", compressor_efficiency=1.2)
    with pytest.raises(InputError, match="a mixture"):
        ch.charge("gasoline", "86 mm", "86 mm", 9.5)


@settings(max_examples=30, deadline=None)
@given(boost=st.floats(0.0, 3e5), more=st.floats(1e3, 1e5), cooler=st.floats(0.0, 1.0))
def test_more_boost_brings_more_air(boost: float, more: float, cooler: float) -> None:
    low = dry(boost=boost, intercooler_effectiveness=cooler)
    high = dry(boost=boost + more, intercooler_effectiveness=cooler)
    assert high.air_mass > low.air_mass
    assert high.pressure > low.pressure


def test_unburnt_moles_hold_the_right_mass() -> None:
    d = gas_data.data()
    c = gas.prepare(fuels.mixture.si("E85", 1.2), 0.06)
    assert c.unburnt_moles[0] @ d.molar_mass == pytest.approx(1.0, rel=1e-4)
    frozen = c.frozen_moles[0] @ d.molar_mass[: c.frozen_moles.shape[1]]
    assert frozen == pytest.approx(1.0, rel=1e-4)
