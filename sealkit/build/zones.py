"""Zones of one's own, from the rows of [[gasket.zones]] to SI and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from sealkit.errors import Fault, InputError
from sealkit.sealing.gaskets import PER, ROLE_PER, Zone
from sealkit.units import to_si


def zone_of(row: Mapping[str, Any], name: str) -> tuple[Zone | None, list[Fault]]:
    """The zone of a row, and its faults by field.

    Returns the zone (None without its loading curve), faults.

    Parameters
    ----------
    row : values of the row as they were read, loads and closures in the units that stand in it;
        a field whose own fault is told already is not there
    name : what the zone is called where the row does not tell
    """
    per = row.get("per") or ROLE_PER.get(row.get("role", ""), "length")
    role = row.get("role") or next(r for r, p in ROLE_PER.items() if p == per)
    scale: dict[str, float] = {}
    faults: list[Fault] = []
    for key, kind in (("closure_unit", "length"), ("load_unit", PER[per])):
        scale[key] = 1.0
        if key in row and (key == "closure_unit" or "per" in row):
            try:
                scale[key] = float(to_si(f"1 {row[key]}", kind, key))
            except InputError as err:
                faults += err.faults
    long, hard = scale["closure_unit"], scale["load_unit"]
    if "closure" not in row or "load" not in row:
        return None, faults
    own = {
        "name": row.get("name") or f"zone {name}",
        "role": role,
        "per": per,
        "closure": _scaled(row["closure"], long),
        "load": _scaled(row["load"], hard),
        "unloading": tuple(
            (_scaled(c, long), _scaled(f, hard)) for c, f in row.get("unloading", ())
        ),
        "seating": row.get("seating", 0.0) * hard,
        # without a width that could be read it is not told that one is wanted
        "factor": row.get("factor", 0.0) if "width" in row else 0.0,
        "crush": np.inf if row.get("crush") is None else row["crush"] * hard,
    }
    zone = Zone(**{key: row[key] for key in _ALIKE if key in row} | own)
    return zone, faults + zone.check()


def _scaled(numbers: tuple[float, ...], scale: float) -> np.ndarray:
    """A column in SI; rounded to 15 digits as every converted number of a sheet."""
    return np.array([float(f"{x * scale:.15g}") if scale != 1.0 else x for x in numbers])


def row_of(zone: Zone) -> dict[str, Any]:
    """A zone as the values of a row, loads and closures in SI units."""
    row = {k: getattr(zone, k) for k in _ALIKE}
    row["closure_unit"], row["load_unit"] = "m", "N/m" if zone.per == "length" else "Pa"
    row["closure"], row["load"] = tuple(zone.closure.tolist()), tuple(zone.load.tolist())
    row["unloading"] = tuple((tuple(c.tolist()), tuple(f.tolist())) for c, f in zone.unloading)
    row["crush"] = zone.crush if np.isfinite(zone.crush) else None
    return row


_ALIKE = (
    "name", "role", "per", "width", "free_thickness", "stands_proud", "seating", "factor",
    "source", "status", "note",
)  # fmt: skip
