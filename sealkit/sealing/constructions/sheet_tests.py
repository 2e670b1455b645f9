"""Figures of a gasket sheet as the test standards define them.

Every function refuses numbers not above zero and sizes out of order, such as a sheet that is
thicker under load.

References
----------
[1] ASTM F36, Standard Test Method for Compressibility and Recovery of Gasket Materials.
[2] ASTM F38, Standard Test Methods for Creep Relaxation of a Gasket Material.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.units import with_units


def _thinner(thin: Any, thick: Any, name: str) -> None:
    if np.any(np.asarray(thin) > np.asarray(thick)):
        raise fail(name, f"{np.max(thin):g} m", f"at most {np.min(thick):g} m")


@with_units(returns="fraction")
def compressibility(preloaded: si.Length, loaded: si.Length) -> Any:
    """Compressibility of a gasket sheet, (P - M) / P [1].

    Parameters
    ----------
    preloaded, loaded : thickness P under the preload, M under the total load [m]

    >>> f"{compressibility('0.800 mm', '0.720 mm'):.3f}"
    '0.100'
    """
    _thinner(loaded, preloaded, "loaded")
    return (preloaded - np.asarray(loaded, dtype=float)) / preloaded


@with_units(returns="fraction")
def recovery(preloaded: si.Length, loaded: si.Length, recovered: si.Length) -> Any:
    """Share of the compression of a gasket sheet that comes back, (R - M) / (P - M) [1].

    Parameters
    ----------
    preloaded, loaded : thickness P under the preload, M under the total load [m]
    recovered : thickness R with the major load off [m]
    """
    _thinner(loaded, preloaded, "loaded")
    _thinner(loaded, recovered, "loaded")
    _thinner(recovered, preloaded, "recovered")
    squeezed = np.asarray(preloaded, dtype=float) - loaded
    if np.any(squeezed <= 0):
        raise fail("loaded", "the thickness under preload", "a sheet that was compressed")
    return (np.asarray(recovered, dtype=float) - loaded) / squeezed


@with_units(returns="fraction")
def creep_relaxation(initial: si.Length, final: si.Length0) -> Any:
    """Share of the load lost, from the stretch of the test bolt, (D0 - Df) / D0 [2], method B.

    Formula from memory.

    Parameters
    ----------
    initial : stretch D0 of the bolt just after loading [m]
    final : stretch Df read on loosening [m]
    """
    _thinner(final, initial, "final")
    return (initial - np.asarray(final, dtype=float)) / initial


@with_units(returns="force")
def ring_force(stress: si.Stress, inner_diameter: si.Length, outer_diameter: si.Length) -> Any:
    """Force that puts a stress on a flat ring, sigma pi/4 (D**2 - d**2) [N].

    Method A of [2] has 13.8 MPa on a ring of 33.02 by 52.32 mm.

    Parameters
    ----------
    stress : sigma [Pa]
    inner_diameter, outer_diameter : d, D [m]
    """
    if np.any(np.asarray(inner_diameter) >= outer_diameter):
        raise fail("inner_diameter", f"{np.max(inner_diameter):g} m", "below the outer diameter")
    area = np.pi / 4.0 * (np.asarray(outer_diameter, dtype=float) ** 2 - inner_diameter**2)
    return stress * area
