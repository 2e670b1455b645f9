"""W. J. D. Annand, 1963, as quoted in a public help page on cylinder pressure: wall heat."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units

STEFAN_BOLTZMANN = 5.670374419e-8


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
    """
    t, tw = np.asarray(temperature, dtype=float), np.asarray(wall_temperature, dtype=float)
    reynolds = density * mean_piston_speed * bore / viscosity
    four = (t * t + tw * tw) * (t + tw)
    return a * conductivity / bore * reynolds**0.7 + radiation * STEFAN_BOLTZMANN * four
