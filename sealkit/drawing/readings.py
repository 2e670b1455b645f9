"""What was measured beside what the sheet says of it before a fit and after: charts to print."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.arrays import Array
from sealkit.build import Build
from sealkit.drawing.ink import Axis, Curve, Mark, chart
from sealkit.evidence.fitting import Fit
from sealkit.evidence.predict import Rows
from sealkit.evidence.trace import CylinderPressure
from sealkit.units import show, show_unit, show_value

_EDGE = 6.0  # standard deviations at which a chart of residuals ends at the most
_FEW = 3  # readings of one kind that are drawn in their own unit
_OFF = ("off_before", "off_after")
_BEFORE, _AFTER = ("by the sheet", "6 4"), ("by the fit", "")


def _pair(x: Array, ys: tuple[Any, Any], at: tuple[float, float], anchor: str) -> list[Curve]:
    """Before and after, each a line with its words at a place along x."""
    upper = int(np.max(ys[1]) > np.max(ys[0]))
    return [
        Curve(x, np.broadcast_to(y, x.shape), *words, below=i != upper, anchor=anchor)
        for i, (y, words) in enumerate(
            (y, (label, place, dash))
            for y, (label, dash), place in zip(ys, (_BEFORE, _AFTER), at, strict=True)
        )
    ]


def _named(one: Rows, system: str) -> str:
    """Its kind, and what it was read at."""
    at = one.readings[0].at
    return one.kind if at is None else f"{one.kind} ({show(at, str(one.row['at']), system)})"


def of_kind(found: Fit, one: Rows, system: str = "metric") -> str:
    """Readings of one kind, the lowest first, with what the sheet says and the fit.

    Nineteen readings of twenty should lie in the grey: the fitted number and two standard
    deviations of a reading, with the scatter from fastener to fastener.
    """
    kind = str(one.row["value"])
    rows = [x for x in found.read if any(x.reading is own for own in one.readings)]
    rows.sort(key=lambda x: x.reading.value or 0.0)
    wide = 2.0 * np.hypot(max(r.deviation for r in one.readings), np.max(np.abs(one.scatter)))
    read, before, after = ([x.reading.value for x in rows], *([getattr(x, k) for x in rows]
                           for k in ("before", "after")))  # fmt: skip
    told = [f"{show(min(x), kind, system)} to {show(max(x), kind, system)}" if min(x) < max(x)
            else show(x[0], kind, system) for x in (read, before, after)]  # fmt: skip
    words = f"{len(rows)} readings of {_named(one, system)}, {told[0]}; by the sheet {told[1]}, "
    words += f"by the fit {told[2]}. Nineteen of twenty should lie in the grey."
    edges = (np.pad(y, 1, "edge") for y in (before, after, np.add(after, -wide), after + wide))
    lines = [np.asarray(show_value(y, kind, system), dtype=float) for y in edges]
    dots = np.asarray(show_value(np.array(read), kind, system), dtype=float)
    low, high = (f([f(y) for y in (*lines, dots)]) for f in (np.min, np.max))
    room = 0.1 * (high - low)
    x = np.arange(len(rows) + 2.0)
    return chart(
        Axis("reading, the lowest first", 0.0, x[-1], max(1.0, round(len(rows) / 5))),
        Axis(f"{_named(one, system)}, {show_unit(kind, system)}",
             low - room if low < 0.0 else max(low - room, 0.0), high + room),
        _pair(x, (lines[0], lines[1]), (x[-1] - 0.1,) * 2, "end"),
        words,
        between=(x, lines[2], lines[3]),
        caption=words,
        dots=[(i, float(y), "") for i, y in enumerate(dots, 1)],
    )  # fmt: skip


def apart(found: Fit) -> str:
    """Each reading less what the sheet says, over its standard deviation, before and after."""
    if not found.read:
        return ""
    old, new = (np.array([getattr(one, x) for one in found.read]) for x in _OFF)
    most = float(np.max(np.abs([*old, *new])))
    edge = min(max(most + 0.5, 3.0), _EDGE)
    beyond = int(np.sum(np.abs(old) > edge))
    words = "Each reading less what the sheet says of it, over its standard deviation, in the "
    words += "order of the table: the line from before the fit, the ring after it."
    words += f" {beyond} of the lines go on beyond the chart." if beyond else ""
    lines = [
        Curve(np.array([i, i], dtype=float), np.array([a, b]), "", float(i), "3 2")
        for i, (a, b) in enumerate(zip(old, new, strict=True), 1)
    ]
    return chart(
        Axis("reading", 0.0, len(old) + 1.0, max(1.0, round(len(old) / 8))),
        Axis("Reading less sheet, standard deviations", -edge, edge, 2.0),
        [*lines, Curve(np.array([0.0, len(old) + 1.0]), np.zeros(2), "", 0.0)],
        words,
        [Mark(2.0, ""), Mark(-2.0, "")],
        caption=words,
        dots=[(i, float(np.clip(y, -edge, edge)), "") for i, y in enumerate(new, 1)],
    )


def trace(log: CylinderPressure, before: Build, after: Build, system: str = "metric") -> str:
    """Log less model over crank angle, before the fit and after."""
    angle = np.degrees(log.angle)
    left = [np.asarray(show_value(log.left(b), "pressure", system)) for b in (before, after)]
    edge, unit = 1.15 * float(np.max(np.abs(left))), show_unit("pressure", system)
    worst = [show(float(np.max(np.abs(log.left(b)))), "pressure", system) for b in (before, after)]
    words = f"{log.log.name} less the model's mean cycle: {worst[0]} at most by the sheet, "
    words += f"{worst[1]} by the fit; phase, zero and gain of the log at their best for each."
    places = [float(angle[np.argmax(np.abs(line))]) for line in left]
    return chart(
        Axis("crank angle after top dead centre, °", float(angle[0]), float(angle[-1]), 50.0),
        Axis(f"Log less model, {unit}", -edge, edge),
        _pair(angle, (left[0], left[1]), (min(places[0], 40.0), -90.0), "start"),
        words,
        caption=words,
    )


def pictures(found: Fit, system: str = "metric") -> list[str]:
    """All charts of a fit: of every reading, of kinds with some readings, of logs."""
    out = [apart(found)]
    for one in found.evidence:
        if isinstance(one, CylinderPressure):
            out.append(trace(one, found.build, found.after, system))
        elif isinstance(one, Rows) and one.valued and len(one.readings) >= _FEW:
            out.append(of_kind(found, one, system))
    return [picture for picture in out if picture]
