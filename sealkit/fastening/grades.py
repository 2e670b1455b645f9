"""Strength of screws, bolts and studs, by standard grade or from own data.

References
----------
[1] R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., Tables 8-9,
    8-11, eq. 8-32.
[2] ISO 898-1, Mechanical properties of fasteners.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import Fault, InputError, fail, near
from sealkit.units import field, with_units

PROOF_OF_YIELD = 0.85
"""Proof over yield strength where no table gives the proof strength ([1], eq. 8-32)."""
YIELD_OF_TENSILE = 0.90
"""Yield over tensile strength of quenched and tempered studs known by tensile level (memory)."""

_EDGE = 1e-6


@dataclass(frozen=True)
class Strength:
    """Strength of a fastener."""

    proof: Any = field("stress")  # proof strength Sp [Pa]
    yield_strength: Any = field("stress")  # yield or 0.2 % proof stress [Pa]
    tensile: Any = field("stress")  # tensile strength [Pa]
    # source, status, note: where the numbers come from; conflicts stand in the note
    source: str = ""
    status: str = ""
    note: str = ""


def _plain(word: str) -> str:
    return "".join(word.lower().split())


@functools.cache
def _by_name() -> dict[str, list[Mapping[str, Any]]]:
    out: dict[str, list[Mapping[str, Any]]] = {}
    for row in tables.load("grades").rows:
        for word in (row["grade"], *row["also"].split(";")):
            if word.strip():
                out.setdefault(_plain(word), []).append(row)
    return out


def grades() -> list[str]:
    """Names of the grades in the table ``grades``."""
    return list(dict.fromkeys(r["grade"] for r in tables.load("grades").rows))


def _value(row: Mapping[str, Any], name: str) -> float | None:
    metric = row[name]
    return metric if metric is not None else row[f"{name}_inch"]


@with_units(returns="fields")
def strength(grade: str, diameter: si.Length) -> Strength:
    """Strength of a standard grade in the size asked for [1, 2]; status row by row.

    where the table has no proof strength: Sp = 0.85 Sy;  no yield strength: Sy = 0.90 Sut

    Raises InputError for an unknown grade (the nearest is suggested) or a diameter outside its size
    ranges.

    Parameters
    ----------
    grade : "10.9", "SAE 8", "alloy socket-head", "4140, 425 C temper", "stud 190 ksi", ...
    diameter : nominal diameter [m]; an array must lie in one size range of the grade

    >>> print(strength("10.9", "11 mm").proof.to("MPa").magnitude)
    830.0
    """
    rows = _by_name().get(_plain(str(grade)))
    if rows is None:
        raise fail("grade", str(grade), f"one of {', '.join(grades())}{near(str(grade), grades())}")
    d = np.asarray(diameter, dtype=float)
    for row in rows:
        low, high = row["diameter_low"], row["diameter_high"]
        if np.all((d >= low - _EDGE) & (d <= high + _EDGE)):
            break
    else:
        spans = "; ".join(
            f"{r['diameter_low'] * 1e3:g} to {r['diameter_high'] * 1e3:g} mm" for r in rows
        )
        came = f"{float(np.ravel(d)[0]) * 1e3:g} mm" if d.ndim == 0 else "an array of diameters"
        raise fail("diameter", came, f"a size range of {rows[0]['grade']}: {spans}")
    tensile = _value(row, "tensile")
    assert tensile is not None
    yields = _value(row, "yield_strength")
    yields = YIELD_OF_TENSILE * tensile if yields is None else yields
    proof = _value(row, "proof")
    proof = PROOF_OF_YIELD * yields if proof is None else proof
    return Strength(proof, yields, tensile, row["source"], row["status"], row["note"])


@with_units(returns="fields")
def custom_strength(
    yield_strength: si.Stress,
    tensile: si.Stress,
    proof: si.Stress = None,
    source: str = "own data",
    status: str = "from memory",
) -> Strength:
    """Strength from own data, such as a test certificate.

    Sp = 0.85 Sy where no proof strength is given ([1], eq. 8-32)

    Raises InputError unless proof <= yield <= tensile and the status is a known one.

    Parameters
    ----------
    yield_strength, tensile : yield and tensile strength [Pa]
    proof : proof strength [Pa]
    source, status : where the numbers come from
    """
    proof = PROOF_OF_YIELD * np.asarray(yield_strength)[()] if proof is None else proof
    faults = []
    if np.any(np.asarray(yield_strength) > tensile):
        faults.append(Fault("yield_strength", "more than the tensile strength", "at most tensile"))
    if np.any(np.asarray(proof) > yield_strength):
        faults.append(Fault("proof", "more than the yield strength", "at most yield_strength"))
    if status not in tables.STATUSES:
        faults.append(Fault("status", str(status), "one of " + "; ".join(tables.STATUSES)))
    if faults:
        raise InputError(faults)
    return Strength(proof, yield_strength, tensile, source, status)
