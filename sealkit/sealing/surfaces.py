"""Faces: finish and flatness wanted.

Both are shop practice, and shops disagree: every text is shown beside the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail, near
from sealkit.sealing import constructions
from sealkit.sealing.gaskets import Gasket
from sealkit.units import field, with_units

FACES = ("aluminium", "iron")


def face_of(material: str) -> str:
    """What a face of this material counts as in the texts on finish: one of `FACES`.

    They tell iron from aluminium and know no other metal.
    """
    family = tables.load("materials").get(material, "material")["family"]
    return "iron" if family == "iron" else "aluminium"


def fits(row: Mapping[str, Any], construction: str) -> bool:
    """Whether a row of a table is about this construction."""
    names = [n.strip() for n in row["constructions"].split(";")]
    return names == ["all"] or construction in names


def name_of(construction: str | Gasket) -> str:
    """Name of a construction of the kit, or of a gasket of the user's own."""
    if isinstance(construction, Gasket):
        return construction.name
    known = constructions.names()
    if construction not in known:
        raise fail(
            "construction",
            construction,
            "one of " + ", ".join(known) + near(str(construction), known),
        )
    return construction


# --------------------------------------------------------------------------- finish and flatness
@dataclass(frozen=True)
class SurfaceText:
    """What one text wants of a face."""

    key: str  # name of the row
    # least, most: range wanted [m]; None where the text has no figure
    least: Any = field("lift")
    most: Any = field("lift")
    yours: Any = field("lift")  # what was measured [m]; None if nothing was given
    verdict: str = ""  # "", "within", "below" (too fine) or "above" (too rough, or out of flat)
    # source, status, note: where the figure comes from; conflicts are in the note
    source: str = ""
    status: str = ""
    note: str = ""


def _text(
    row: Mapping[str, Any], least: float | None, most: float | None, yours: float | None
) -> SurfaceText:
    verdict = ""
    if yours is not None and not (least is None and most is None):
        low = least is not None and yours < least * (1 - 1e-9)
        high = most is not None and yours > most * (1 + 1e-9)
        verdict = "below" if low else "above" if high else "within"
    said = (row["source"], row["status"], row["note"])
    return SurfaceText(row["key"], least, most, yours, verdict, *said)


def refusal(texts: Iterable[SurfaceText]) -> str:
    """How many texts refuse a face, up to the verb; nothing where none gives a figure."""
    judged = [t.verdict for t in texts if t.verdict]
    against = len(judged) - judged.count("within")
    words = f"{against} of {len(judged)} shop rules refuse{'s' if against == 1 else ''}"
    return words if judged else ""


@with_units(returns="fields")
def finish_wanted(
    construction: str, face: str = "aluminium", roughness: si.Roughness0 = None
) -> tuple[SurfaceText, ...]:
    """Surface finish (Ra) that the texts want for a construction, side by side.

    Table finish; all of it shop practice. Raises InputError for an unknown construction or face.

    Parameters
    ----------
    construction : name of a construction
    face : "aluminium" or "iron"
    roughness : Ra measured [m], such as "30 microinch" or "0.8 um"; None for the figures alone
    """
    name = name_of(construction)
    if face not in FACES:
        raise fail("face", face, " or ".join(f'"{f}"' for f in FACES))
    return tuple(
        _text(row, row["least"], row["most"], roughness)
        for row in tables.load("finish").rows
        if fits(row, name) and row["face"] in ("any", face)
    )


@with_units(returns=("roughness", "roughness"))
def rz_of_ra(roughness: si.Roughness0) -> tuple[Any, Any]:
    """Rz low and high [m] that go with an Ra on milled faces: 4 to 7 times Ra.

    From memory; the ratio depends on the cutter.

    Parameters
    ----------
    roughness : Ra [m]

    >>> [float(round(rz.to("um").magnitude, 1)) for rz in rz_of_ra("0.8 um")]
    [3.2, 5.6]
    """
    ra = np.asarray(roughness, dtype=float)
    return 4.0 * ra, 7.0 * ra


@with_units(returns="fields")
def flatness_wanted(
    construction: str | Gasket,
    span: si.Length,
    cylinders: int | None = None,
    across: bool = False,
    out_of_flat: si.Lift0 = None,
) -> tuple[SurfaceText, ...]:
    """Flatness that the texts want for a construction, side by side.

    Table flatness: shop practice, and one workshop manual. Raises InputError for an unknown
    construction or a span not above zero.

    Parameters
    ----------
    construction : name of a construction, or a gasket of the user's own
    span : length over which the face was measured [m]
    cylinders : in the bank, for the texts that count them; None leaves those out
    across : measured across the head, not lengthwise
    out_of_flat : measured [m]; None for the limits for this span alone
    """
    name = name_of(construction)
    if cylinders is not None and (isinstance(cylinders, bool) or cylinders < 1):
        raise fail("cylinders", cylinders, "the number of cylinders in the bank")
    out = []
    for row in tables.load("flatness").rows:
        low, high = row["span_low"] or 0.0, row["span_high"] or np.inf
        if not fits(row, name) or not low < span <= high:
            continue
        most = row["limit"]
        if row["measure"] == "per cylinder":
            if cylinders is None or across:
                continue
            most *= cylinders
        elif row["measure"] == "per span":
            most *= max(span / row["per_span"], 1.0)  # no less on a shorter face
        elif row["measure"] == "across" and not across:
            continue
        out.append(_text(row, None, most, out_of_flat))
    return tuple(out)


@with_units(returns="lift")
def local_warp(out_of_flat: si.Lift0, span: si.Length, bore: si.Length) -> Any:
    """Gap under the middle of a bore that a long smooth bow leaves [m]: w (D/L)^2, at most w.

    A parabola over the span, once the bolts beside the bore are tight. A step, a burnt edge or a
    mark is no bow: there the whole depth counts.

    Parameters
    ----------
    out_of_flat : w, over the span [m]
    span : L [m]
    bore : D, diameter of the seal [m]
    """
    share = np.minimum(np.asarray(bore, dtype=float) / span, 1.0)
    return np.asarray(out_of_flat, dtype=float) * share**2
