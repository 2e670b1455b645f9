"""A slab heated evenly on one face, the other insulated.

H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., Oxford 1959, section 3.8,
equation (3) (from memory): z from the insulated face, a the diffusivity, k the conductivity,

    T = q a t/(k H) + q H/k ((3 z**2 - H**2)/(6 H**2)
        - 2/pi**2 sum_n (-1)**n/n**2 exp(-a n**2 pi**2 t/H**2) cos(n pi z/H))
"""

from __future__ import annotations

from typing import Any

import numpy as np


def warming(z: Any, flux: float, time: float, height: float, k: float, a: float) -> Any:
    """Rise of temperature at z after that time [K]."""
    z, n = np.asarray(z)[..., None] / height, np.arange(1, 200)
    fades = np.exp(-a * (n * np.pi / height) ** 2 * time)
    waves = np.sum((-1.0) ** n / n**2 * fades * np.cos(n * np.pi * z), axis=-1)
    still = (3.0 * z[..., 0] ** 2 - 1.0) / 6.0
    return flux * (a * time / height + height * (still - 2.0 / np.pi**2 * waves)) / k


def even_fall(flux: float, time: float, height: float, k: float, a: float) -> float:
    """The even fall over the height that bows a free slab as this heat does [K].

    12/H**2 times the first moment of the temperature about the middle.
    """
    z = (np.arange(400) + 0.5) / 400 * height
    rise = warming(z, flux, time, height, k, a)
    return float(12.0 / height * np.mean(rise * (z - 0.5 * height)))
