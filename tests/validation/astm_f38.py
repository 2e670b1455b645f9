"""ASTM F38, Standard Test Methods for Creep Relaxation of a Gasket Material.

How the share lost in the test rig is lost in another joint. The joint takes the share of its table
as it is for now; once it works with the stiffness of its parts, this is the formula.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.units import with_units


@with_units(
    returns="fraction",
    share="fraction 0..1",
    rig_stiffness="stiffness > 0",
    sheet_stiffness="stiffness > 0",
    joint_stiffness="stiffness > 0",
)
def relaxation_in_joint(
    share: Any, rig_stiffness: Any, sheet_stiffness: Any, joint_stiffness: Any
) -> Any:
    """Creep relaxation of the same sheet between parts of another stiffness.

    share (kr + ks)/kr kj/(kj + ks), at most 1: the sheet loses the same thickness, the softer parts
    lose less load by it. Springs in series with a loss of length in one of them, at the same stress
    on the sheet and with all three stiffnesses taken per area of sheet.

    Parameters
    ----------
    share : relaxation in the test rig
    rig_stiffness : kr of the test bolt, 210 to 218 kN/mm for method B [N/m]
    sheet_stiffness : ks of the sheet on unloading, over the area in question [N/m]
    joint_stiffness : kj of bolts and members in series [N/m]
    """
    rig, sheet, joint = (
        np.asarray(v, dtype=float) for v in (rig_stiffness, sheet_stiffness, joint_stiffness)
    )
    return np.minimum(share * (rig + sheet) / rig * joint / (joint + sheet), 1.0)


@with_units(returns="force")
def ring_force(stress: si.Stress, inner_diameter: si.Length, outer_diameter: si.Length) -> Any:
    """Force that puts a stress on a flat ring, sigma pi/4 (D**2 - d**2) [N].

    Method A has 13.8 MPa on a ring of 33.02 by 52.32 mm.

    Parameters
    ----------
    stress : sigma [Pa]
    inner_diameter, outer_diameter : d, D [m]
    """
    if np.any(np.asarray(inner_diameter) >= outer_diameter):
        raise fail("inner_diameter", f"{np.max(inner_diameter):g} m", "below the outer diameter")
    area = np.pi / 4.0 * (np.asarray(outer_diameter, dtype=float) ** 2 - inner_diameter**2)
    return stress * area
