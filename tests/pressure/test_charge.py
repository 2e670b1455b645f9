"""Charge at bottom dead centre."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError
from sealkit.pressure import charge as ch
from sealkit.pressure import fuels, gas, gas_data, geometry
from tests.charges import charge_at

ENGINE = {"bore": 0.086, "stroke": 0.086, "compression_ratio": 9.5}


def dry(**more: float) -> ch.Charge:
    m = fuels.mixture.si("gasoline", 1.0, evaporated_share=0.0)
    return ch.charge.si(m, **ENGINE, residual_fraction=0.0, **more)


def test_air_mass_follows_manifold_density() -> None:
    c = dry(boost=1e5, intercooler_effectiveness=1.0, volumetric_efficiency=0.95)
    swept = geometry.swept_volume.si(0.086, 0.086)
    r_air = 8.314462618 / 0.028850
    want = 0.95 * 201325.0 * swept / (r_air * 293.15)
    assert c.air_mass == pytest.approx(want, rel=1e-4)
    assert c.manifold_temperature == pytest.approx(293.15)
    # nothing evaporates and nothing is mixed in: the air keeps its temperature
    assert c.temperature == pytest.approx(293.15, abs=1e-6)
    assert c.fuel_mass == pytest.approx(c.air_mass / 14.624, rel=1e-12)


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


def test_cooling_is_limited_and_the_rest_stays_liquid() -> None:
    m = fuels.mixture.si("methanol", 1.6)
    c = ch.charge.si(m, **ENGINE, residual_fraction=0.0)
    assert c.temperature == pytest.approx(ch.COLDEST)
    assert 0.0 < c.mixture.evaporated_share < 0.3
    # enthalpy balance at the limit: heat given by air = heat taken by the part that evaporated
    air = c.air_mass * 1.011e3 * (293.15 - ch.COLDEST)
    taken = c.fuel_mass * c.mixture.evaporated_share * (1176.6e3 - 1.4e3 * 18.0)
    assert taken == pytest.approx(air, rel=0.02)


def test_cold_day_evaporates_nothing() -> None:
    m = fuels.mixture.si("methanol", 1.0)
    c = ch.charge.si(m, **ENGINE, ambient_temperature=260.0, residual_fraction=0.0)
    assert c.mixture.evaporated_share == 0.0
    assert c.temperature == pytest.approx(260.0, abs=1e-4)


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
    back = ch.plain(c)
    assert isinstance(back.pressure, float)
    assert isinstance(back.mixture.lower_heating_value, float)
    assert ch.plain(back) is back or dataclasses.asdict(ch.plain(back)) == dataclasses.asdict(back)


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
