"""B. J. McBride, S. Gordon and M. A. Reno, NASA TM-4513, 1993: the species of the gas table.

Heat capacities, heats of formation, and what follows from them for pure fuels; nitromethane from
CRC values.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit.errors import fail, near
from sealkit.pressure.fuels import fuel_data
from sealkit.pressure.gas import AIR_N2, fuel_moles, molar_enthalpy
from sealkit.pressure.gas_data import data
from sealkit.units import Q, with_units

Array = NDArray[Any]


def _place(species: str) -> int:
    d = data()
    if species not in d.species:
        raise fail("species", species, f"one of {', '.join(d.species)}{near(species, d.species)}")
    return d.index(species)


@with_units(returns="number", temperature="temperature 200..5000")
def heat_capacity(species: str, temperature: Any) -> Any:
    """Molar heat capacity at constant pressure of one gas, over the gas constant.

    cp/R = a1 + a2 T + a3 T^2 + a4 T^3 + a5 T^4, two ranges that meet at 1000 K
    """
    d, k = data(), _place(species)
    t = np.asarray(temperature, dtype=float)
    a = np.where((t < 1000.0)[..., None], d.low[k], d.high[k])
    return np.sum(a[..., :5] * t[..., None] ** np.arange(5), axis=-1)[()]


@with_units(returns=None)
def formation_enthalpy(species: str) -> Any:
    """Molar enthalpy of formation of one gas at 298.15 K, as a quantity [J/mol].

    h = R (a6 + a1 T + a2 T^2/2 + ...) at 298.15 K; 0 for the elements
    """
    return Q(float(molar_enthalpy(298.15)[_place(species)]), "J/mol")


def _pure(name: str) -> tuple[Array, float, float]:
    """Moles per kg of a pure fuel, oxygen it needs [mol/kg], latent heat [J/kg]."""
    row = fuel_data(name)
    moles, latent = fuel_moles(row["family"], np.array([row["share"]]))
    c, h, o, _ = moles[0] @ data().atoms
    return moles[0], float(c + h / 4 - o / 2), float(latent[0])


@with_units(returns="number")
def stoichiometric_ratio(fuel: str) -> float:
    """Stoichiometric air-fuel ratio by mass, out of the atoms; air is O2 + 3.76 N2.

    (C + H/4 - O/2) (M_O2 + 3.76 M_N2) for each kg of fuel
    """
    d = data()
    air = d.molar_mass[d.index("O2")] + AIR_N2 * d.molar_mass[d.index("N2")]
    return float(_pure(fuel)[1] * air)


@with_units(returns="specific energy")
def lower_heating_value(fuel: str) -> float:
    """Lower heating value of a liquid fuel, out of the heats of formation of the gas table.

    h_fuel - n_CO2 h_CO2 - n_H2O h_H2O at 298.15 K, less the latent heat
    """
    d = data()
    moles, _, latent = _pure(fuel)
    h = molar_enthalpy(298.15)
    c, hydrogen, _, _ = moles @ d.atoms
    burnt = c * h[d.index("CO2")] + hydrogen / 2 * h[d.index("H2O")]
    return float(moles @ h - burnt - latent)


@with_units(returns="number", temperature="temperature 200..1800", equivalence_ratio="number > 0")
def unburnt_gamma(fuel: str, temperature: Any, equivalence_ratio: Any = 1.0) -> Any:
    """Heat capacity ratio of unburnt vapour and air.

    gamma = cp/(cp - R), molar means over the mixture
    """
    d = data()
    moles, need, _ = _pure(fuel)
    t = np.asarray(temperature, dtype=float)
    mix = np.broadcast_to(moles, (*np.shape(equivalence_ratio), len(moles))).copy()
    mix[..., d.index("O2")] += need / equivalence_ratio
    mix[..., d.index("N2")] += AIR_N2 * need / equivalence_ratio
    cp = np.stack([heat_capacity.si(s, t) for s in d.species], axis=-1)
    mean = np.sum(mix * cp, axis=-1) / np.sum(mix, axis=-1)
    return mean / (mean - 1.0)
