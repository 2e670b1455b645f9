"""Embossed beads: legs as clamped plane-strain strips with yielding ends.

Every function refuses numbers out of the range its decorator states.

References
----------
[1] Beam theory: a strip of plane-strain modulus E' = E / (1 - nu**2), both ends held against
    rotation and moved apart; checked with a general numerical library.
[2] S. Timoshenko, Strength of Materials, part II: elastic-plastic cantilever of rectangular
    section under an end load (from memory; limits checked: first yield and 1.5 times its load).
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit.errors import fail
from sealkit.units import with_units

Array = NDArray[np.float64]

FULL_BEAD_LEGS = 2
HALF_BEAD_LEGS = 1
_LEG = {"thickness": "length > 0", "span": "length > 0"}
_SHEET = {"modulus": "modulus > 0", "poisson": "number 0..0.49", **_LEG}
RATIOS = np.array([1.0, 1.12, 1.25, 1.36, 1.44, 1.49, 1.5])
"""Loads over that of first yield at which the yielding leg has its nodes."""


def strip_modulus(modulus: Any, poisson: Any) -> Any:
    """Plane-strain modulus E' = E / (1 - nu**2) [Pa]."""
    return modulus / (1.0 - np.asarray(poisson, dtype=float) ** 2)


@with_units(returns="modulus", **_SHEET, legs="number > 0")
def bead_stiffness(modulus: Any, poisson: Any, thickness: Any, span: Any, legs: Any = 2) -> Any:
    """Line load of a bead per deflection, k = legs E' t**3 / L**3 [N/m per m] [1].

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    thickness, span : t of the sheet, L of one leg [m]
    legs : 2 for a full bead, 1 for a half bead
    """
    slender = np.asarray(thickness, dtype=float) / span
    return legs * strip_modulus(modulus, poisson) * slender**3


@with_units(returns="line load", **_LEG, yield_strength="stress > 0", legs="number > 0")
def bead_plastic_load(thickness: Any, span: Any, yield_strength: Any, legs: Any = 2) -> Any:
    """Line load at which the legs have yielded through [N/m].

    legs 2 Mp / L, Mp = Sy t**2 / (2 sqrt 3): plastic hinges at both ends, plane-strain flow stress
    2/sqrt(3) Sy.

    Parameters
    ----------
    thickness, span : t, L [m]
    yield_strength : Sy [Pa]
    legs : 2 for a full bead, 1 for a half bead
    """
    moment = 2.0 / np.sqrt(3.0) * yield_strength * np.asarray(thickness, dtype=float) ** 2 / 4.0
    return legs * 2.0 * moment / span


@with_units(returns="length", **_SHEET, yield_strength="stress > 0", layers="number > 0")
def bead_springback(
    modulus: Any, poisson: Any, thickness: Any, span: Any, yield_strength: Any, layers: Any = 1
) -> Any:
    """Springback of a bead from its plastic line load, layers (2 Mp / L) / (E' t**3 / L**3) [m].

    `bead_plastic_load` over `bead_stiffness`; the number of legs cancels.

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    thickness, span : t, L [m]
    yield_strength : Sy [Pa]
    layers : active layers in series
    """
    load = bead_plastic_load.si(thickness, span, yield_strength, 1)
    return layers * load / bead_stiffness.si(modulus, poisson, thickness, span, 1)


@with_units(
    returns="fraction",
    modulus="modulus > 0",
    yield_strength="stress > 0",
    tensile_strength="stress > 0",
    elongation="fraction > 0",
)
def hardening_share(
    modulus: Any, yield_strength: Any, tensile_strength: Any, elongation: Any
) -> Any:
    """Slope of the stress-strain curve past yield over the modulus, (Su - Sy) / (e E).

    Parameters
    ----------
    modulus : E [Pa]
    yield_strength, tensile_strength : Sy, Su [Pa]
    elongation : e

    Returns
    -------
    share of the modulus, not below 0.0001

    Raises
    ------
    InputError
        also for a tensile strength below the yield strength.

    Notes
    -----
    Straight line from proof to tensile strength; engineering values, so a low estimate.
    """
    if np.any(np.asarray(tensile_strength) < yield_strength):
        raise fail(
            "tensile_strength", f"{np.min(tensile_strength):g} Pa", "at least the yield strength"
        )
    rise = (np.asarray(tensile_strength, dtype=float) - yield_strength) / (elongation * modulus)
    return np.maximum(rise, 1e-4)


def yielding_legs(
    stiffness: float, plastic_load: float, hardening: float = 0.0, ratios: Array = RATIOS
) -> tuple[Array, Array]:
    """Deflections [m] and line loads [N/m] of a bead, from rest to its plastic line load [2].

    Half a leg is a cantilever of rectangular section under an end load P; past first yield P1
    w/w1 = (P1/P)**2 (5 - (3 + P/P1) sqrt(3 - 2 P/P1)), up to P = 1.5 P1. Hardening acts beside it
    as an elastic strip of the hardening share of the stiffness.

    Parameters
    ----------
    stiffness, plastic_load : from `bead_stiffness` and `bead_plastic_load`
    hardening : slope past yield over the modulus
    ratios : P/P1 of the nodes, shape (n,), from 1 to 1.5

    Returns
    -------
    deflection, line load : shape (n + 1,)
    """
    first = plastic_load / 1.5
    start = first / (stiffness * (1.0 - hardening))
    w = start * (5.0 - (3.0 + ratios) * np.sqrt(np.maximum(3.0 - 2.0 * ratios, 0.0))) / ratios**2
    w = np.concatenate([[0.0], w])
    return w, np.concatenate([[0.0], first * ratios]) + hardening * stiffness * w


@dataclass(frozen=True)
class Bead:
    """A bead embossed in one layer of sheet, SI.

    Parameters
    ----------
    legs : 2 for a full bead, 1 for a half bead
    thickness, span, height : of the sheet, of one leg, of the bead above the sheet [m]
    modulus, poisson, yield_strength : E [Pa], nu, Sy [Pa]
    hardening : slope past yield over the modulus
    """

    legs: int
    thickness: float
    span: float
    height: float
    modulus: float
    poisson: float
    yield_strength: float
    hardening: float

    @property
    def stiffness(self) -> float:
        """Line load per deflection [N/m per m]."""
        sheet = (self.modulus, self.poisson, self.thickness, self.span)
        return float(bead_stiffness.si(*sheet, self.legs))

    @property
    def plastic_load(self) -> float:
        """Line load at which the legs have yielded through [N/m]."""
        sheet = (self.thickness, self.span, self.yield_strength)
        return float(bead_plastic_load.si(*sheet, self.legs))

    @functools.cached_property
    def way(self) -> tuple[Array, Array]:
        """Deflections [m] and line loads [N/m] from rest until the bead lies flat."""
        k, hard = self.stiffness, self.hardening
        w, v = yielding_legs(k, self.plastic_load, hard)
        last = w[-1] + max(self.height, w[-1])
        w, v = np.append(w, last), np.append(v, v[-1] + hard * k * (last - w[-1]))
        inside = w < self.height * (1.0 - 1e-9)
        flat = float(np.interp(self.height, w, v))
        return np.append(w[inside], self.height), np.append(v[inside], flat)

    @property
    def flat_load(self) -> float:
        """Line load that presses the bead flat [N/m]."""
        return float(self.way[1][-1])

    @property
    def springback(self) -> float:
        """Elastic recovery from flat [m]."""
        return self.flat_load / self.stiffness
