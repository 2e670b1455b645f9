"""Hooke's law with both sideways strains zero."""

from __future__ import annotations

from typing import Any

from sealkit.sealing import flow
from sealkit.units import with_units


@with_units(
    returns="length",
    stress="stress >= 0",
    thickness="length > 0",
    modulus="modulus > 0",
    poisson="number 0..0.49",
)
def sheet_springback(stress: Any, thickness: Any, modulus: Any, poisson: Any) -> Any:
    """How far a solid sheet between two faces comes back from a stress, sigma t / M [m].

    Parameters
    ----------
    stress, thickness : sigma [Pa], t [m]
    modulus, poisson : E [Pa], nu
    """
    return stress * thickness / flow.confined_modulus.si(modulus, poisson)
