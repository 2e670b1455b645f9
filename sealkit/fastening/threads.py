"""Screw threads: metric and unified, by designation.

The two systems take different roots for the stress area: metric threads the root of the ISO
profile, d - 1.226869 p, unified threads the sharp root d - 1.299038 p. One constant for both
would be wrong by about 1 %.

References
----------
[1] R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., Tables 8-1,
    8-2.
[2] Machinery's Handbook, 31st ed., eq. 9.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.errors import InputError, fail, near, short
from sealkit.units import field, with_units

_INCH = 0.0254
PITCH_DROP = 3 * np.sqrt(3) / 8  # 0.649519: d - d2 over p
MINOR_DROP = 5 * np.sqrt(3) / 8  # 1.082532: d - D1 over p
_ROOT_DROP = {"metric": 17 * np.sqrt(3) / 24, "unified": 3 * np.sqrt(3) / 4}  # 1.226869, 1.299038
_STRESS_DROP = {"metric": 0.938194, "unified": 0.9743}

_METRIC = re.compile(
    r"m\s*(\d+(?:[.,]\d+)?)(?:\s*[x×*]\s*(\d+(?:[.,]\d+)?))?(?:\s*-?\s*\d[a-h])*\Z"
)
_UNIFIED = re.compile(
    r"(?:(?:(\d+)[\s-]+)?(\d+)/(\d+)|(\d+|\d*\.\d+))"
    r"(?:\s*-\s*(\d+(?:\.\d+)?))?\s*-?\s*(unc|unf|unef|uns|un)?(?:\s*-?\s*\d[ab])?\Z"
)


@dataclass(frozen=True)
class Thread:
    """Size and areas of one external thread on its basic profile."""

    designation: str  # the designation in full
    system: str  # "metric" or "unified"
    diameter: Any = field("length")  # nominal (major) diameter d [m]
    pitch: Any = field("length")  # p [m]
    pitch_diameter: Any = field("length")  # d2 = d - 0.649519 p [m]
    # basic minor diameter of the tapped hole D1 = d - 1.082532 p [m]
    minor_diameter: Any = field("length")
    # d3 = d - 1.226869 p (metric) or d - 1.299038 p (unified) [m]
    root_diameter: Any = field("length")
    stress_area: Any = field("area")  # tensile stress area [m**2]
    root_area: Any = field("area")  # area at the root diameter [m**2]


@functools.cache
def _series() -> dict[tuple[str, float], dict[str, float]]:
    """Pitch of each series, by system and diameter rounded far below any tolerance."""
    out: dict[tuple[str, float], dict[str, float]] = {}
    for row in tables.load("threads").rows:
        size = out.setdefault((row["system"], round(row["diameter"], 8)), {})
        size.setdefault(row["series"], row["pitch"])
    return out


def _nearest(text: str) -> str:
    """' (did you mean "x"?)' for the listed thread nearest in writing, else nearest in size."""
    names = list(tables.load("threads"))
    squeezed = "".join(text.upper().split()).replace("X", "x").replace(",", ".")
    if "/" in squeezed:  # 7/16x20
        squeezed = squeezed.replace("x", "-")
    for name in names:
        if squeezed and name.replace(" ", "").startswith((squeezed + "x", squeezed + "-")):
            return f' (did you mean "{name}"?)'
    hint = near(squeezed, names) or near(text, names)
    size = re.match(r"M(\d+(?:\.\d+)?)", squeezed)
    if size is None:
        return hint
    rows = [r for r in tables.load("threads").rows if r["system"] == "metric"]
    d = float(size[1]) * 1e-3
    same = [r["designation"] for r in rows if abs(r["diameter"] - d) < 1e-9]
    if same:
        return near(squeezed, same) or f' (did you mean "{same[0]}"?)'
    best = min(rows, key=lambda r: abs(r["diameter"] - d))
    return f' (did you mean "{best["designation"]}"?)'


def _refuse(designation: object, why: str) -> InputError:
    hint = _nearest(short(designation).strip('"'))
    return fail("designation", designation, f'{why}, such as "M11x1.5" or "7/16-20 UNF"{hint}')


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _read_metric(designation: str, match: re.Match[str]) -> tuple[str, float, float]:
    d_mm = _number(match[1])
    if not 4 <= d_mm <= 36:
        raise _refuse(designation, "a metric thread from M4 to M36")
    if match[2] is None:
        series = _series().get(("metric", round(d_mm * 1e-3, 8)), {})
        if "coarse" not in series:
            raise _refuse(designation, f"a pitch, as no coarse pitch is listed for M{d_mm:g}")
        p_mm = series["coarse"] * 1e3
    else:
        p_mm = _number(match[2])
    return f"M{d_mm:g}x{p_mm:g}", d_mm * 1e-3, p_mm * 1e-3


def _read_unified(designation: str, match: re.Match[str]) -> tuple[str, float, float]:
    whole, top, bottom, decimal, per_inch, series = match.groups()
    if bottom is None:
        size = Fraction(decimal)
    elif int(bottom) == 0:
        raise _refuse(designation, "a size in inches and threads per inch")
    else:
        size = int(whole or 0) + Fraction(int(top), int(bottom))
    d_in = float(size)
    if not 0.25 <= d_in <= 1.5:
        raise _refuse(designation, "a unified thread from 1/4 to 1 1/2 inch")
    listed = _series().get(("unified", round(d_in * _INCH, 8)), {})
    series = (series or "").upper()
    if per_inch is None:
        if series not in listed:
            raise _refuse(designation, "threads per inch or a listed series (UNC, UNF)")
        n = round(_INCH / listed[series], 3)
    else:
        n = float(per_inch)
    if n <= 0:
        raise _refuse(designation, "a number of threads per inch above 0")
    for name, pitch in listed.items():
        same = abs(_INCH / pitch - n) < 1e-6
        if same and not series:
            series = name
        if series == name and not same:
            raise _refuse(designation, f"{_INCH / pitch:g} threads per inch for {series}")
    words = str(size) if size.denominator < 100 else f"{d_in:g}"
    if size > 1 and size.denominator > 1:
        words = f"{int(size)} {size - int(size)}"
    return f"{words}-{n:g} {series}".strip(), d_in * _INCH, _INCH / n


@with_units(returns="fields")
def thread(designation: str) -> Thread:
    """Diameters and areas of a thread from its designation [1, 2].

    d2 = d - 0.649519 p;  metric At = pi/4 (d - 0.938194 p)^2;  unified At = pi/4 (d - 0.9743/n)^2

    Basic profile; real threads lie below it by their tolerance. Raises InputError for a designation
    that cannot be read, is out of range (M4 to M36, 1/4 to 1 1/2 inch) or names a pitch no screw of
    that size has; the nearest listed thread is suggested.

    Parameters
    ----------
    designation : "M11x1.5", "M12" (coarse pitch from the table), "7/16-20 UNF", "7/16-20",
        "1/2 UNC"; a tolerance class behind it is allowed and ignored

    >>> print(round(thread("M11x1.5").stress_area.to("mm**2").magnitude, 2))
    72.27
    """
    if not isinstance(designation, str):
        raise _refuse(designation, "a thread designation")
    text = " ".join(designation.lower().split())
    if len(text) > 40:
        raise _refuse(designation, "a thread designation")
    metric, unified = _METRIC.match(text), _UNIFIED.match(text)
    if metric:
        system, (name, d, p) = "metric", _read_metric(designation, metric)
    elif unified:
        system, (name, d, p) = "unified", _read_unified(designation, unified)
    else:
        raise _refuse(designation, "a thread designation")
    if not 0.025 <= p / d <= 0.21:
        raise _refuse(designation, "a pitch that fits the diameter")
    root = d - _ROOT_DROP[system] * p
    return Thread(
        designation=name,
        system=system,
        diameter=d,
        pitch=p,
        pitch_diameter=d - PITCH_DROP * p,
        minor_diameter=d - MINOR_DROP * p,
        root_diameter=root,
        stress_area=np.pi / 4 * (d - _STRESS_DROP[system] * p) ** 2,
        root_area=np.pi / 4 * root**2,
    )
