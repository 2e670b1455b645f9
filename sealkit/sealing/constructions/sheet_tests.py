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
from sealkit.errors import Fault, InputError, fail
from sealkit.units import with_units
from sealkit.words import figure, note


def _thinner(thin: Any, thick: Any, name: str) -> None:
    if np.any(np.asarray(thin) > np.asarray(thick)):
        wanted = note("at most {it}", it=(float(np.min(thick)), "length"))
        raise InputError(Fault(name, figure(np.max(thin), "length"), wanted))


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
