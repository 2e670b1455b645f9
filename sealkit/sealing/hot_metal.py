"""What is left of strength and modulus of a metal at a temperature.

References
----------
[1] Sources stand in the table of hot metal, row by row; between its temperatures the shares go
    straight, outside they stay.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail
from sealkit.units import field, with_units

_PARTS = ("modulus", "yield_strength", "tensile")


@dataclass(frozen=True)
class Left:
    """Shares of the values at room temperature; `status` is that of the weakest row."""

    modulus: Any = field("fraction")
    yield_strength: Any = field("fraction")
    tensile: Any = field("fraction")
    status: str = "from memory"


@functools.cache
def _family(name: str) -> tuple[NDArray[np.float64], dict[str, NDArray[np.float64]], str]:
    rows = [r for r in tables.load("hot_metal").rows if r["family"] == name]
    at = np.array([r["temperature"] for r in rows])
    shares = {part: np.array([r[part] for r in rows]) for part in _PARTS}
    return at, shares, tables.weakest(*(r["status"] for r in rows)) if rows else ""


@with_units(returns="fields")
def left(material: str, temperature: si.Temperature) -> Left:
    """Shares of modulus, yield and tensile strength that a material keeps when hot [1].

    Raises InputError if the material or its family is unknown.

    Parameters
    ----------
    material : of the materials table; its family decides
    temperature : of the part, one or an array [K]

    >>> round(float(left("alloy steel", "100 degC").yield_strength), 3)
    0.931
    """
    family = tables.load("materials").get(material, "material")["family"]
    at, shares, status = _family(family)
    if not len(at):
        raise fail("material", material, "a metal of a family in the table of hot metal")
    found = {part: np.interp(np.asarray(temperature), at, shares[part])[()] for part in _PARTS}
    return Left(**found, status=status)
