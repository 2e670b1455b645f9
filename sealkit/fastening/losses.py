"""What is left of the preload: scatter of tightening, embedment, creep, heat.

References
----------
[1] VDI 2230, Systematic calculation of highly stressed bolted joints (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail
from sealkit.fastening import stiffness
from sealkit.units import field, with_units


@dataclass(frozen=True)
class LossTerm:
    """One line of the preload balance."""

    name: str  # in words
    low: Any = field("force")  # loss taken off the low end of the assembly preload [N]
    nominal: Any = field("force")  # loss taken off the nominal preload [N]
    high: Any = field("force")  # loss taken off the high end [N]
    source: str = ""
    status: str = ""


@dataclass(frozen=True)
class PreloadRange:
    """Preload from its low to its high end, at assembly and after losses."""

    # assembly_low, assembly, assembly_high: preload just after tightening [N]
    assembly_low: Any = field("force")
    assembly: Any = field("force")
    assembly_high: Any = field("force")
    # low, nominal, high: preload after losses, N; low for sealing, high for strength
    low: Any = field("force")
    nominal: Any = field("force")
    high: Any = field("force")
    # losses one by one; low = assembly_low - sum of their low, unless held at zero
    terms: tuple[LossTerm, ...] = ()


# --------------------------------------------------------------------------- embedment
def _count(value: Any, name: str) -> int:
    if isinstance(value, bool) or not isinstance(value, (int, np.integer)) or value < 0:
        raise fail(name, value, "a whole number from 0")
    return int(value)


@with_units(returns="lift")
def embedment_depth(
    roughness: str = "10 to 40 um",
    interfaces: int = 1,
    faces: int = 2,
    threads: int = 1,
    shear: bool = False,
) -> Any:
    """Amount by which the surfaces of a joint settle [1].

    fZ = threads x thread + faces x head or nut face + interfaces x inner interface

    Solid metal surfaces; a gasket's own creep comes on top. Raises InputError for an unknown class
    or a count that is not a whole number.

    Parameters
    ----------
    roughness : Rz class of the table ``embedment``: "below 10 um", "10 to 40 um", "40 to 160 um"
    interfaces : inner interfaces
    faces : bearing faces of head and nut; 1 for a screw in a tapped part
    threads : engaged threads
    shear : True for a joint loaded across the bolt
    """
    key = f"{roughness}, {'shear' if shear else 'axial'}"
    row = tables.load("embedment").get(key, "roughness")
    return (
        _count(threads, "threads") * row["thread"]
        + _count(faces, "faces") * row["face"]
        + _count(interfaces, "interfaces") * row["interface"]
    )


@with_units(returns="force")
def embedment_loss(
    embedment: si.Lift0, bolt_stiffness: si.Stiffness, member_stiffness: si.Stiffness
) -> Any:
    """Preload lost to embedment, fZ / (1/kb + 1/km) [1]: a short stiff bolt loses most.

    Parameters
    ----------
    embedment : fZ (`embedment_depth`) [m]
    bolt_stiffness, member_stiffness : kb, km, gasket in the stack included [N/m]
    """
    return np.asarray(embedment)[()] * stiffness.series.si([bolt_stiffness, member_stiffness])
