"""A log of torque over angle while one fastener is tightened, as one number: its straight part.

Where the torque rises straight, the joint is seated and nothing yields; the angle from half of a
torque to all of it then tells the friction together with the give of fastener, metal and gasket.
The angle's own zero does not matter.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from sealkit.errors import Fault, InputError, fail
from sealkit.evidence import logs
from sealkit.units import show, to_si

_NAMES = {
    "angle": re.compile(r"(turn(ed)?|angle|rotation)([ _-]?angle)?", re.I),
    "torque": re.compile(r"torque", re.I),
}
_HEADS = '"angle [deg]" and "torque [N*m]"'
_SHARES = np.linspace(0.3, 1.0, 15)  # of the highest torque, at which the slope is looked at
_STRAIGHT = 0.75  # of the slope round the middle, below which something yields; invented
_LEAST = np.radians(5.0)  # of turn on the straight part; invented
_FEW = 6  # samples on it
_PAST = 1.1  # of the torque on the sheet, from which a log has gone past it; invented
_NEAR = 0.03  # share by which a torque may differ from one in another unit; invented


def read(path: Path, full: float | None = None) -> tuple[float, float]:
    """Torque up to which a log is straight [N·m], and the angle from half of it to there [rad].

    A CSV file (UTF-8) with a heading that names an angle and a torque with their units; one
    fastener, tightened in one go and logged until the wrench stops.

    Raises InputError that names the line where it can, for a log that is not of that form, that
    turns back, that goes past `full` or looks as if in another unit, or whose straight part is too
    short to tell.

    Parameters
    ----------
    full : torque to which the fastener is tightened [N·m], where torque alone says that
    """
    name, units, lines, table, _ = logs.columns(path, _NAMES, _HEADS)
    if table.shape[1] != len(_NAMES):
        raise fail(f"{name} line 1", "more than one torque", f"a heading with {_HEADS}")
    factors = []
    for kind, (unit, head) in sorted(units.items()):
        try:
            factors.append(float(to_si(f"1 {unit}", kind)))
        except InputError as err:
            wanted = f"a unit of {kind}: a heading with {_HEADS}"
            raise InputError(Fault(f"{name} line 1", head, wanted, err.faults[0].hint)) from err
    angle, torque = (table * factors).T
    if np.any(back := np.diff(angle) < 0.0):
        at = int(np.argmax(back))
        came = f"{table[at + 1, 0]:g} after {table[at, 0]:g}"
        raise InputError(
            Fault(f"{name} line {lines[at + 1]}, angle", came, "an angle that goes on")
        )
    top = int(np.argmax(torque))
    if torque[top] <= 0.0:
        raise fail(f"{name}, torque", f"at most {table[top, 1]:g}", "a torque that rises")
    if full is not None:
        _to(name, float(torque[top]), full)
    rising = np.maximum.accumulate(torque[: top + 1])
    first = np.flatnonzero(np.diff(rising, prepend=-1.0) > 0.0)
    at_share = np.interp(_SHARES * torque[top], rising[first], angle[first])
    slope = np.diff(_SHARES) / np.maximum(np.diff(at_share), 1e-9)
    middle = float(np.median(slope[3:8]))
    over = np.flatnonzero((slope < _STRAIGHT * middle) & (_SHARES[:-1] >= _SHARES[7]))
    end = float(_SHARES[over[0]] if len(over) else 1.0) * float(torque[top])
    low, high = np.interp([0.5 * end, end], rising[first], angle[first])
    inside = int(np.sum((torque[: top + 1] >= 0.5 * end) & (torque[: top + 1] <= end)))
    if high - low < _LEAST or inside < _FEW:
        came = f"{np.degrees(high - low):.1f} deg in {inside} samples"
        wanted = f"{np.degrees(_LEAST):.0f} deg in {_FEW} samples at least"
        raise InputError(Fault(f"{name}, from half torque on", came, wanted))
    return end, float(high - low)


def _to(name: str, top: float, full: float) -> None:
    """Raise InputError for a log that goes past a torque, or whose unit seems to be another."""
    share, foot = top / full, float(to_si("1 lbf*ft", "torque"))
    if abs(share * foot - 1.0) < _NEAR:
        hint = " (are its numbers in lbf*ft?)"
    elif share > _PAST:
        hint = " (are its numbers in N*m?)" if abs(share / foot - 1.0) < _NEAR else ""
    else:
        return
    came, wanted = (show(x, "torque", "metric") for x in (top, full))
    raise InputError(
        Fault(f"{name}, torque", f"up to {came}", f"up to the {wanted} of the sheet", hint)
    )
