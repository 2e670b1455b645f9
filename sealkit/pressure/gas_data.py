"""The gas table: species, and burnt gas in equilibrium for each family of fuels."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

from sealkit import tables
from sealkit.arrays import Array


@dataclass(frozen=True)
class Family:
    """Equilibrium table of a fuel family over share, equivalence ratio, temperature, pressure."""

    share: Array
    phi: Array
    frozen: Array
    u: Array
    n: Array


@dataclass(frozen=True)
class GasData:
    """Everything in the gas table; see the script beside it."""

    source: str
    status: str
    species: tuple[str, ...]
    atoms: Array
    molar_mass: Array
    low: Array
    high: Array
    temperature: Array
    pressure: Array
    families: dict[str, Family]

    def index(self, name: str) -> int:
        """Place of a species."""
        return self.species.index(name)


@functools.cache
def data() -> GasData:
    """The gas table.

    Raises InputError if it is not there or damaged.
    """
    return tables.arrays("gas/burnt", _made)


def _made(z: Any) -> GasData:
    families = {}
    for name in sorted({k.split("/")[0] for k in z.files if "/" in k}):
        fields = {k: z[f"{name}/{k}"].astype(float) for k in ("share", "phi", "frozen")}
        for key in ("u", "n"):
            low, step = z[f"{name}/{key}_scale"]
            fields[key] = z[f"{name}/{key}"] * step + low
        families[name] = Family(**fields)
    source, status, species = str(z["source"]), str(z["status"]), tuple(map(str, z["species"]))
    atoms, molar_mass, low, high = (z[k] for k in ("atoms", "molar_mass", "low", "high"))
    nodes = z["temperature"], z["pressure"]
    return GasData(source, status, species, atoms, molar_mass, low, high, *nodes, families)
