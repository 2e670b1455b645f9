"""What is in the cylinder at bottom dead centre: boosted air, fuel, residual gas."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.pressure import boost as _boost
from sealkit.pressure import gas, geometry
from sealkit.pressure.evaporation import room, root, saturation
from sealkit.pressure.fuels import Mixture
from sealkit.units import field, plain_fields, with_units

T = TypeVar("T", "Charge", Mixture)


@dataclass(frozen=True)
class Charge:
    """Charge of one cylinder at bottom dead centre, valves shut. Numbers may be arrays."""

    mixture: Mixture
    manifold_pressure: Any = field("pressure")
    manifold_temperature: Any = field("temperature")
    air_mass: Any = field("mass")
    fuel_mass: Any = field("mass")
    mass: Any = field("mass")
    residual_fraction: Any = field("fraction")
    pressure: Any = field("pressure")
    temperature: Any = field("temperature")
    volume: Any = field("volume")

    def __post_init__(self) -> None:
        plain_fields(self)
        object.__setattr__(self, "mixture", plain(self.mixture, Mixture))

    @property
    def state(self) -> dict[str, Any]:
        """What a cycle starts from, plain SI: the gas at bottom dead centre and its fuel."""
        mixture = self.mixture
        return {
            **{k: getattr(self, k) for k in ("pressure", "temperature", "residual_fraction")},
            "share": mixture.share,
            "phi": mixture.equivalence_ratio,
            "evaporated": mixture.evaporated_share,
        }


def plain(result: T, kind: type[T]) -> T:
    """A charge or mixture with every quantity as its plain SI number; no other `kind`."""
    if not isinstance(result, kind):
        word = kind.__name__.lower()
        raise fail(word, result, f"a {word}, such as the result of {word}(...)")
    return dataclasses.replace(result)


@with_units(
    returns="fields",
    ambient_temperature="temperature 220..340",
    residual_fraction="fraction 0..0.5",
    residual_temperature="temperature 300..2000",
)
def charge(
    mixture: Mixture,
    bore: si.Length,
    stroke: si.Length,
    compression_ratio: si.Above1,
    ambient_pressure: si.Pressure = 101325.0,
    ambient_temperature: Any = 293.15,
    boost: si.GaugePressure0 = 0.0,
    compressor_efficiency: si.Fraction = 0.7,
    intercooler_effectiveness: si.Share = 0.0,
    filling: si.Fraction = 0.92,
    residual_fraction: Any = 0.04,
    residual_temperature: Any = 1000.0,
    intake_heating: si.AnyTemperatureDifference = 0.0,
) -> Charge:
    """Charge of one cylinder from the air outside, the boost and the fuel.

    p = filling p_manifold; the temperature at bottom dead centre balances the enthalpy of manifold
    air, of liquid fuel at 25 degC of which a share turns to vapour, and of residual gas; the masses
    follow from m = p V/(R T). Fuel evaporates only as far as its vapour stays below saturation.

    Energy and mass balance of filling at constant pressure; saturation by
    `sealkit.pressure.evaporation.saturation`. Returns Charge. Where the air cannot hold the vapour
    asked for, its mixture comes back with the evaporated share that saturates it; the rest stays
    liquid. Raises InputError for values out of range, or a charge that is too cold or too hot for
    the gas table.

    Parameters
    ----------
    mixture : from `sealkit.pressure.fuels.mixture`
    bore, stroke : [m]
    compression_ratio : [-]
    ambient_pressure : absolute [Pa]
    ambient_temperature : [K]
    boost : manifold pressure above ambient pressure, gauge [Pa]
    compressor_efficiency : isentropic [-], up to 1
    intercooler_effectiveness : [-], 0 without a cooler; the air outside cools it
    filling : pressure in the cylinder at bottom dead centre, valves shut, over that of the
        manifold [-]: what the cylinder holds over what it would hold at manifold pressure, both
        after evaporation and mixing
    residual_fraction : mass of residual gas over all mass [-]
    residual_temperature : of that gas as it mixes with the fresh charge [K]
    intake_heating : what port, valve and walls warm the air by on its way in [K]
    """
    mixture = plain(mixture, Mixture)
    manifold_pressure = ambient_pressure + boost
    hot = _boost.compressor_outlet_temperature.si(
        ambient_temperature, manifold_pressure / ambient_pressure, compressor_efficiency
    )
    cooler = _boost.intercooler_outlet_temperature.si
    manifold_temperature = cooler(hot, ambient_temperature, intercooler_effectiveness)
    warmed = manifold_temperature + intake_heating
    swept = geometry.swept_volume.si(bore, stroke)
    volume = swept * compression_ratio / (compression_ratio - 1.0)
    pressure = filling * manifold_pressure

    # enthalpy per kg of all mass: given - h(T) + f (liquid - vapour(T)) = 0, f the evaporated share
    dry = gas.prepare(dataclasses.replace(mixture, evaporated_share=0.0), residual_fraction)
    moles, vapour = dry.unburnt_moles[dry.row], dry.vapour_moles[dry.row]
    liquid = dry.liquid_enthalpy[dry.row]
    residual = np.zeros_like(moles)
    n = dry.frozen_moles.shape[1]
    residual[:, :n] = np.reshape(residual_fraction, (-1, 1)) * dry.frozen_moles[dry.row]
    tm, tr, p, asked = (
        np.atleast_1d(np.asarray(x, dtype=float))
        for x in (warmed, residual_temperature, pressure, mixture.evaporated_share)
    )
    given = np.sum((moles - residual) * gas.molar_enthalpy(tm), axis=-1)
    given = given + np.sum(residual * gas.molar_enthalpy(tr), axis=-1)
    gas_moles, all_vapour = moles.sum(axis=-1), vapour.sum(axis=-1)

    saturated = saturation(vapour)

    def evaporated(t: Any) -> Any:
        return np.minimum(asked, room(p, saturated(t), all_vapour, gas_moles))

    def over(t: Any) -> Any:
        h = gas.molar_enthalpy(t)
        rest = given - np.sum(moles * h, axis=-1)
        return rest + evaporated(t) * (liquid - np.sum(vapour * h, axis=-1))

    t = tm + np.zeros_like(given * p * asked)
    t = root(over, t, np.full(t.shape, 100.0), np.full(t.shape, 1800.0), 1e-7)
    if np.any(t < 220.0) or np.any(t > 700.0):
        bad = t[(t < 220.0) | (t > 700.0)][0]
        raise fail("charge", f"{bad:.0f} K at bottom dead centre", "220 to 700 K")
    f = np.broadcast_to(evaporated(t), t.shape)
    r = gas.R * (gas_moles + f * all_vapour)
    given_as = (pressure, volume, warmed, residual_temperature, residual_fraction, mixture.share)
    shares = (mixture.equivalence_ratio, mixture.evaporated_share)
    scalar = all(np.ndim(x) == 0 for x in (*given_as, *shares))
    temperature, share, r = (x[0] if scalar else x for x in (t, f, r))
    mass = pressure * volume / (r * temperature)
    mixture = dataclasses.replace(mixture, evaporated_share=share)
    fresh_mass = mass * (1.0 - residual_fraction)
    fuel_mass = fresh_mass / (1.0 + mixture.air_fuel_ratio)
    return Charge(
        mixture=mixture,
        manifold_pressure=manifold_pressure,
        manifold_temperature=manifold_temperature,
        air_mass=fresh_mass - fuel_mass,
        fuel_mass=fuel_mass,
        mass=mass,
        residual_fraction=residual_fraction,
        pressure=pressure,
        temperature=temperature,
        volume=volume,
    )
