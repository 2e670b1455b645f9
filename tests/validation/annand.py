"""W. J. D. Annand, 1963: wall heat transfer, as a public help page quotes it."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.pressure.cycle import STEFAN_BOLTZMANN
from sealkit.units import with_units


@with_units(
    returns="heat transfer",
    bore="length > 0",
    density="density > 0",
    mean_piston_speed="speed > 0",
    viscosity="number > 0",
    conductivity="conductivity > 0",
    temperature="temperature > 0",
    wall_temperature="temperature > 0",
    a="number > 0",
    radiation="number >= 0",
)
def annand_heat_transfer(
    bore: Any,
    density: Any,
    mean_piston_speed: Any,
    viscosity: Any,
    conductivity: Any,
    temperature: Any,
    wall_temperature: Any,
    a: Any = 0.49,
    radiation: Any = 0.075,
) -> Any:
    """Heat transfer coefficient from gas to wall after Annand, convection and radiation.

    h = a (k/B) Re^0.7 + c sigma (T^4 - Tw^4)/(T - Tw), Re = rho Sp B/mu

    Parameters
    ----------
    bore : B [m]
    density : rho of the gas [kg/m3]
    mean_piston_speed : Sp [m/s]
    viscosity : mu of the gas, in Pa s [-]
    conductivity : k of the gas [W/(m K)]
    temperature, wall_temperature : T, Tw [K]
    a : 0.35 to 0.8 [-]
    radiation : c [-], 0.075 for a spark-ignition engine, 0 in compression

    Returns
    -------
    h [W/(m2 K)]

    Raises
    ------
    InputError
        for values that are not above 0.

    Notes
    -----
    W. J. D. Annand, 1963, as quoted in a public help page on cylinder pressure.
    """
    t, tw = np.asarray(temperature, dtype=float), np.asarray(wall_temperature, dtype=float)
    reynolds = density * mean_piston_speed * bore / viscosity
    four = (t * t + tw * tw) * (t + tw)
    return a * conductivity / bore * reynolds**0.7 + radiation * STEFAN_BOLTZMANN * four
