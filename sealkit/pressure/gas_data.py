"""The gas table: species, and burnt gas in equilibrium for each family of fuels."""

from __future__ import annotations

import functools
import zipfile
import zlib
from dataclasses import dataclass
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit.errors import broken

Array = NDArray[Any]


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
    try:
        return _read()
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error) as err:
        why = getattr(err, "strerror", None) or "no whole file"
        raise broken("table gas/burnt.npz", why) from err


def _read() -> GasData:
    path = resources.files("sealkit.tables") / "gas" / "burnt.npz"
    with path.open("rb") as handle, np.load(handle) as z:
        names = sorted({k.split("/")[0] for k in z.files if "/" in k})
        families = {}
        for name in names:
            fields = {k: z[f"{name}/{k}"].astype(float) for k in ("share", "phi", "frozen")}
            for key in ("u", "n"):
                low, step = z[f"{name}/{key}_scale"]
                fields[key] = z[f"{name}/{key}"] * step + low
            families[name] = Family(**fields)
        return GasData(
            source=str(z["source"]),
            status=str(z["status"]),
            species=tuple(str(s) for s in z["species"]),
            atoms=z["atoms"],
            molar_mass=z["molar_mass"],
            low=z["low"],
            high=z["high"],
            temperature=z["temperature"],
            pressure=z["pressure"],
            families=families,
        )
