"""A charge of known pressure and temperature, for tests of the cycle at a given state."""

from __future__ import annotations

from typing import Any

from sealkit.pressure import gas
from sealkit.pressure.charge import Charge
from sealkit.pressure.fuels import Mixture


def charge_at(
    mixture: Mixture, pressure: Any, temperature: Any, volume: Any, residual: Any = 0.0
) -> Charge:
    """The charge at bottom dead centre, m = p V/(R T); plain SI numbers or arrays over builds."""
    c = gas.prepare(mixture, residual)
    r = c.gas_constant[c.row]
    mass = pressure * volume / ((r if len(r) > 1 else r[0]) * temperature)
    fuel = mass * (1.0 - residual) / (1.0 + mixture.air_fuel_ratio)
    return Charge(
        mixture=mixture,
        manifold_pressure=pressure,
        manifold_temperature=temperature,
        air_mass=mass * (1.0 - residual) - fuel,
        fuel_mass=fuel,
        mass=mass,
        residual_fraction=residual,
        pressure=pressure,
        temperature=temperature,
        volume=volume,
    )
