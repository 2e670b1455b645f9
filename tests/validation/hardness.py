"""Hardness numbers the other way round than the kit needs them.

References
----------
[1] D. Tabor, The Hardness of Metals, Oxford, 1951 (constants from memory).
[2] ISO 6506 definition of HBW, as given in open hardness notes.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.sealing.flow import KGF_PER_MM2
from sealkit.units import with_units


@with_units(returns="number", stress="stress > 0", constraint="number > 0")
def tabor(stress: Any, constraint: Any = 3.0) -> Any:
    """Hardness number of a metal from its flow stress, HV = C sigma(8 %) / 9.80665 MPa [1].

    Parameters
    ----------
    stress : flow stress at the representative strain, 8 % for Vickers [Pa]
    constraint : C, 2.8 to 3.0
    """
    return constraint * np.asarray(stress, dtype=float) / KGF_PER_MM2


@with_units(returns="number", load="force > 0", ball="length > 0", dent="length > 0")
def brinell(load: Any, ball: Any, dent: Any) -> Any:
    """Brinell hardness, 2 F / (pi D (D - sqrt(D**2 - d**2))) in kgf/mm**2 [2].

    Parameters
    ----------
    load : F [N]
    ball, dent : diameters D, d [m]; the number holds for d/D of 0.24 to 0.60
    """
    if np.any(np.asarray(dent) >= ball):
        raise fail("dent", f"{np.max(dent):g} m", "a dent smaller than the ball")
    depth = (ball - np.sqrt(np.asarray(ball, dtype=float) ** 2 - np.asarray(dent) ** 2)) / 2.0
    return load / (np.pi * ball * depth) / KGF_PER_MM2
