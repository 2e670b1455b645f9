"""Fuels and mixtures: heating value, air-fuel ratio, blends, mixture strength.

Heating values are lower ones of the liquid. Air is O2 + 3.76 N2 (28.850 g/mol): its
stoichiometric ratios are about 0.7 % below those with standard air.

References
----------
[1] J. E. Anderson and co-workers, Octane Numbers of Ethanol-Gasoline Blends, SAE 2012-01-1274
    (written from memory).
[2] M. G. Zabetakis, Flammability Characteristics of Combustible Gases and Vapors, US Bureau of
    Mines Bulletin 627, 1965 (rules of mixtures and of temperature from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import Fault, InputError, fail, near
from sealkit.pressure import gas_data
from sealkit.units import field, plain_fields, with_units

# name: (first fuel, name of the share's argument, second fuel, usual volume share)
BLENDS: dict[str, tuple[str, str, str, float]] = {
    "E85": ("gasoline", "ethanol_share", "ethanol", 0.85)
}
_PAIRS = {
    "gasoline": ("ethanol_share", "ethanol"),
    "methanol": ("nitromethane_share", "nitromethane"),
}
_AIR = 28.850e-3  # kg/mol
_LIMIT_FALLS = 7.21e-4  # 1/K, of the lower limit of flammability from 25 degC on [2]


@dataclass(frozen=True)
class Mixture:
    """Fuel and mixture strength of a charge. Numbers may be arrays over builds.

    `parts` are the pure fuels in it.
    """

    fuel: str
    parts: tuple[str, ...]
    family: str
    share: Any = field("fraction")
    equivalence_ratio: Any = field("number")
    evaporated_share: Any = field("fraction")
    stoichiometric_air_fuel_ratio: Any = field("number")
    air_fuel_ratio: Any = field("number")
    lower_heating_value: Any = field("specific energy")
    octane_number: Any = field("number")

    def __post_init__(self) -> None:
        plain_fields(self)


def fuel_names() -> list[str]:
    """Names of all fuels and named blends."""
    return [*tables.load("fuels"), *BLENDS]


def fuel_data(name: str) -> Mapping[str, Any]:
    """The row of one pure fuel in the fuel table, in SI.

    Raises InputError for an unknown fuel; the nearest name is suggested.
    """
    table = tables.load("fuels")
    if name not in table:
        names = fuel_names()
        raise fail("fuel", str(name), f"one of {', '.join(names)}{near(str(name), names)}")
    return table[name]


@with_units(returns="density")
def density(name: str) -> float:
    """Density of a liquid fuel at 20 degC [kg/m3]; see the note of the table ``fuel-density``."""
    row = tables.load("fuel-density").get(fuel_data(name)["fuel"], "fuel")
    return float(row["density"])


@with_units(returns="fields")
def mixture(
    fuel: str,
    equivalence_ratio: si.Number = 1.0,
    ethanol_share: si.Share = None,
    nitromethane_share: si.Share = None,
    evaporated_share: si.Share = 1.0,
    octane_number: si.Number = None,
) -> Mixture:
    """Fuel and mixture strength of a charge.

    A blend's mass share is w = v rho2/(v rho2 + (1 - v) rho1); air-fuel ratio and heating value go
    by mass, the octane number by moles [1]. Raises InputError for an unknown fuel, a share that
    does not belong to it, or a ratio out of range.

    Parameters
    ----------
    fuel : name of a fuel or blend, such as ``"gasoline"`` or ``"E85"``
    equivalence_ratio : phi [-], 0.5 to 2.0 (methanol and nitromethane: to 3.0)
    ethanol_share : volume share of ethanol in gasoline [-]; ``"E85"`` alone means 0.85
    nitromethane_share : volume share of nitromethane in methanol [-]
    evaporated_share : part of the fuel that is vapour before it burns [-]
    octane_number : research octane number [-]; None takes that of the table
    """
    base, usual = str(fuel), None
    for name, (first, argument, _, volume) in BLENDS.items():
        if base.strip().lower() == name.lower():
            base, usual = first, (argument, volume)
    row = fuel_data(base)
    base = row["fuel"]
    given = {"ethanol_share": ethanol_share, "nitromethane_share": nitromethane_share}
    argument, second = _PAIRS.get(base, ("", ""))
    for key, value in given.items():
        if value is not None and key != argument:
            owner = next(k for k, v in _PAIRS.items() if v[0] == key)
            raise fail(key, f"a share with {base}", f"none; this share goes with {owner}")
    volume_share = given.get(argument)
    if volume_share is None and usual is not None:
        volume_share = usual[1]
    octanes = tables.load("octane")
    share: Any = row["share"]
    octane: Any = octanes[base]["octane_number"]
    out = {k: row[k] for k in ("lower_heating_value", "stoichiometric_air_fuel_ratio")}
    parts: tuple[str, ...] = (base,)
    if volume_share is not None:
        parts = (base, second) if np.any(volume_share) else parts
        v = np.asarray(volume_share, dtype=float)[()]
        other = fuel_data(second)
        heavy, light = v * density.si(second), (1.0 - v) * density.si(base)
        share = heavy / (heavy + light)
        out = {k: (1.0 - share) * x + share * other[k] for k, x in out.items()}
        moles = share / other["molar_mass"]
        moles = moles / (moles + (1.0 - share) / row["molar_mass"])
        octane = (1.0 - moles) * octane + moles * octanes[second]["octane_number"]
    phi = np.asarray(equivalence_ratio, dtype=float)[()]
    phi_nodes = gas_data.data().families[row["family"]].phi
    low, high = float(phi_nodes[0]), float(phi_nodes[-1])
    bad = (phi < low) | (phi > high)
    if np.any(bad):
        came = f"{float(np.atleast_1d(phi)[np.atleast_1d(bad)][0]):g}"
        wanted = f"{low:g} to {high:g} for {base}"
        raise InputError(Fault("equivalence_ratio", came, wanted, limits=(low, high)))
    return Mixture(
        fuel=str(fuel),
        parts=parts,
        family=row["family"],
        share=share,
        equivalence_ratio=phi,
        evaporated_share=evaporated_share,
        air_fuel_ratio=out["stoichiometric_air_fuel_ratio"] / phi,
        octane_number=octane if octane_number is None else octane_number,
        **out,
    )


@with_units(returns="number")
def lean_limit(mixture: Mixture, temperature: si.Temperature = 298.15) -> Any:
    """Equivalence ratio below which no flame travels through vapour and air, at 1 atm.

    Le Chatelier's rule for blends, 1/L = sum x/L_i by moles, and L falls by 7.21e-4 for each kelvin
    over 25 degC [2]. Residual gas narrows the limits; spark-ignition engines misfire before.

    Parameters
    ----------
    mixture : its fuel counts, not its strength
    temperature : before the flame comes [K]

    >>> round(lean_limit(mixture("methanol")), 2)
    0.51
    """
    second = mixture.share if len(mixture.parts) > 1 else 0.0
    table, moles, over = tables.load("flammability"), 0.0, 0.0
    for part, share in zip(mixture.parts, (1.0 - second, second), strict=False):
        some = share / fuel_data(part)["molar_mass"]
        moles, over = moles + some, over + some / table[part]["lower_limit"]
    limit = moles / over * (1.0 - _LIMIT_FALLS * (np.asarray(temperature)[()] - 298.15))
    stoichiometric = moles * _AIR / mixture.stoichiometric_air_fuel_ratio
    return limit / (1.0 - limit) / stoichiometric
