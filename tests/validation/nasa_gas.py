"""Gas data of NASA TM-4513 (McBride, Gordon and Reno, 1993), as in Cantera's nasa_gas.yaml."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.pressure.gas import AIR_N2, _place, _pure, _standard_enthalpy, heat_capacity
from sealkit.pressure.gas_data import data
from sealkit.units import Q, with_units


@with_units(returns=None)
def formation_enthalpy(species: str) -> Any:
    """Molar enthalpy of formation of one gas at 298.15 K, as a quantity [J/mol].

    h = R (a6 + a1 T + a2 T^2/2 + ...) at 298.15 K; 0 for the elements

    Parameters
    ----------
    species : such as ``"CO2"`` or ``"ethanol"``

    Returns
    -------
    quantity [J/mol]

    Raises
    ------
    InputError
        for an unknown species.

    Notes
    -----
    B. J. McBride, S. Gordon and M. A. Reno, NASA TM-4513, 1993; nitromethane from CRC values.
    """
    return Q(float(_standard_enthalpy()[_place(species)]), "J/mol")


@with_units(returns="number")
def stoichiometric_ratio(fuel: str) -> float:
    """Stoichiometric air-fuel ratio by mass, out of the atoms; air is O2 + 3.76 N2.

    (C + H/4 - O/2) (M_O2 + 3.76 M_N2) for each kg of fuel

    Parameters
    ----------
    fuel : name of a pure fuel

    Returns
    -------
    ratio [-]

    Raises
    ------
    InputError
        for an unknown fuel.

    Notes
    -----
    Mass balance.
    """
    d = data()
    air = d.molar_mass[d.index("O2")] + AIR_N2 * d.molar_mass[d.index("N2")]
    return float(_pure(fuel)[1] * air)


@with_units(returns="number", temperature="temperature 200..1800", equivalence_ratio="number > 0")
def unburnt_gamma(fuel: str, temperature: Any, equivalence_ratio: Any = 1.0) -> Any:
    """Heat capacity ratio of unburnt vapour and air.

    gamma = cp/(cp - R), molar means over the mixture

    Parameters
    ----------
    fuel : name of a pure fuel
    temperature : [K]
    equivalence_ratio : phi [-]

    Returns
    -------
    gamma [-]

    Raises
    ------
    InputError
        for an unknown fuel or a temperature out of range.

    Notes
    -----
    B. J. McBride, S. Gordon and M. A. Reno, NASA TM-4513, 1993.
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
