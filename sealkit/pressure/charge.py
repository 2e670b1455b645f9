"""What is in the cylinder at bottom dead centre: boosted air, fuel, residual gas."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from sealkit.errors import fail
from sealkit.pressure import boost as _boost
from sealkit.pressure import gas, gas_data, geometry
from sealkit.pressure.fuels import Mixture
from sealkit.units import field, to_si, with_units

__all__ = ["Charge", "charge", "plain"]

# evaporation is cut off here: a colder charge would stop evaporating fuel (common practice)
COLDEST = 280.0
RESIDUAL_TEMPERATURE = 1000.0  # of the residual gas as it mixes with the fresh charge, K

T = TypeVar("T")


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


def plain(result: T, kind: type | None = None, name: str = "value") -> T:
    """A result dataclass with every quantity as its plain SI number.

    `kind` is the class wanted of the argument called `name`; anything else is an `InputError`.
    """
    if kind is not None and not isinstance(result, kind):
        word = kind.__name__.lower()
        raise fail(name, result, f"a {word}, such as the result of {word}(...)")
    changed: dict[str, Any] = {}
    for f in dataclasses.fields(result):  # type: ignore[arg-type]
        value = getattr(result, f.name)
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            changed[f.name] = plain(value)
        elif hasattr(value, "units") and "kind" in f.metadata:
            changed[f.name] = to_si(value, f.metadata["kind"], f.name)
    return dataclasses.replace(result, **changed) if changed else result  # type: ignore[type-var]


@with_units(
    returns="fields",
    bore="length > 0",
    stroke="length > 0",
    compression_ratio="number > 1",
    ambient_pressure="pressure > 0",
    ambient_temperature="temperature 220..340",
    boost="gauge pressure >= 0",
    compressor_efficiency="fraction > 0",
    intercooler_effectiveness="fraction 0..1",
    volumetric_efficiency="fraction > 0",
    residual_fraction="fraction 0..0.5",
)
def charge(
    mixture: Mixture,
    bore: Any,
    stroke: Any,
    compression_ratio: Any,
    ambient_pressure: Any = 101325.0,
    ambient_temperature: Any = 293.15,
    boost: Any = 0.0,
    compressor_efficiency: Any = 0.7,
    intercooler_effectiveness: Any = 0.0,
    volumetric_efficiency: Any = 0.9,
    residual_fraction: Any = 0.04,
) -> Charge:
    """Charge of one cylinder from the air outside, the boost and the fuel.

    m_air = eta_v rho_manifold Vd. The temperature at bottom dead centre balances the enthalpy of
    manifold air, liquid fuel at 25 degC of which the evaporated share turns to vapour, and
    residual gas of 1000 K; the pressure follows from p = m R T/V.

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
    volumetric_efficiency : air taken in over the air of manifold density that fills the swept
        volume [-]; what evaporating fuel adds to the filling belongs in it
    residual_fraction : mass of residual gas over all mass [-]

    Returns
    -------
    Charge. Where full evaporation would take the charge below 280 K, its mixture comes back with
    the evaporated share that reaches 280 K; the rest stays liquid.

    Raises
    ------
    InputError
        for values out of range, or a charge that is too cold or too hot for the gas table.

    Notes
    -----
    Energy and mass balance; the 280 K are common practice without a source.
    """
    mixture = plain(mixture, Mixture, "mixture")
    manifold_pressure = ambient_pressure + boost
    hot = _boost.compressor_outlet_temperature.si(
        ambient_temperature, manifold_pressure / ambient_pressure, compressor_efficiency
    )
    cooler = _boost.intercooler_outlet_temperature.si
    manifold_temperature = cooler(hot, ambient_temperature, intercooler_effectiveness)
    d = gas_data.data()
    air = np.zeros(len(d.species))
    air[d.index("O2")] = 1.0
    air[d.index("N2")] = gas.AIR_N2
    air /= air @ d.molar_mass
    swept = geometry.swept_volume.si(bore, stroke)
    air_mass = _boost.trapped_mass.si(
        manifold_pressure,
        manifold_temperature,
        swept,
        volumetric_efficiency,
        gas.R * air.sum(),
    )
    volume = swept * compression_ratio / (compression_ratio - 1.0)
    mass = air_mass * (1.0 + 1.0 / mixture.air_fuel_ratio) / (1.0 - residual_fraction)

    # enthalpy per kg of all mass: A(T) + f B(T) = 0, f the evaporated share
    dry = gas.prepare(dataclasses.replace(mixture, evaporated_share=0.0), residual_fraction)
    wet = gas.prepare(dataclasses.replace(mixture, evaporated_share=1.0), residual_fraction)
    moles = dry.unburnt_moles[dry.row]
    vapour = wet.unburnt_moles[wet.row] - moles
    liquid = dry.unburnt_offset[dry.row]
    residual = np.zeros_like(moles)
    n = dry.frozen_moles.shape[1]
    residual[:, :n] = np.reshape(residual_fraction, (-1, 1)) * dry.frozen_moles[dry.row]
    fresh = moles - residual
    tm = np.atleast_1d(np.asarray(manifold_temperature, float))
    tr = np.array([RESIDUAL_TEMPERATURE])
    f0 = np.atleast_1d(np.asarray(mixture.evaporated_share, dtype=float))
    given = np.sum(fresh * gas.molar_enthalpy(tm), axis=-1)
    given = given + np.sum(residual * gas.molar_enthalpy(tr), axis=-1)

    def balance(t: Any) -> tuple[Any, Any]:
        h = gas.molar_enthalpy(t)
        return given - np.sum(moles * h, axis=-1), liquid - np.sum(vapour * h, axis=-1)

    def step(t: Any, f: Any) -> Any:
        (a, b), (a2, b2) = balance(t), balance(t + 0.01)
        return -(a + f * b) / ((a2 - a + f * (b2 - b)) / 0.01)

    t = tm + np.zeros_like(given) + np.zeros_like(f0)
    for _ in range(50):
        move = step(t, f0)
        t = np.clip(t + move, 60.0, 1600.0)
        if np.max(np.abs(move)) < 1e-7:
            break
    cold = t < COLDEST
    f = np.broadcast_to(f0, t.shape)
    if np.any(cold):
        a, b = balance(np.full(t.shape, COLDEST))
        f = np.where(cold, np.where(a > 0.0, np.minimum(-a / np.minimum(b, -1e-9), f0), 0.0), f)
        # a charge already colder than that without any fuel evaporated stays as cold as it is
        t = np.where(cold & (a > 0.0), COLDEST, t)
        if np.any(cold & (a <= 0.0)):
            for _ in range(20):
                t = t + np.where(cold & (f == 0.0), step(t, f), 0.0)
    if np.any(t < 220.0) or np.any(t > 700.0):
        bad = t[(t < 220.0) | (t > 700.0)][0]
        raise fail("charge", f"{bad:.0f} K at bottom dead centre", "220 to 700 K")
    scalar = all(
        np.ndim(x) == 0
        for x in (
            mass,
            volume,
            manifold_temperature,
            f0[0],
            mixture.share,
            mixture.equivalence_ratio,
            mixture.evaporated_share,
        )
    )
    moles_now = moles + f[:, None] * vapour
    r = gas.R * moles_now.sum(axis=1)
    temperature, share, r = (x[0] if scalar else x for x in (t, f, r))
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
        pressure=mass * r * temperature / volume,
        temperature=temperature,
        volume=volume,
    )
