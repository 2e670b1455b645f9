"""The deck face seen from above, to scale, in black ink: fasteners by number, clamp in greys."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from typing import Any, NamedTuple

import numpy as np

from sealkit.arrays import Array
from sealkit.drawing.ink import word
from sealkit.drawing.svg import circle, framed, rect
from sealkit.sealing.deck.layout import Hole, Layout

_WIDE, _EDGE = 640.0, 22.0
GREYS = ("#ffffff", "#e6e6e6", "#cfcfcf", "#b4b4b4", "#969696", "#767676")


class Greys(NamedTuple):
    """What the greys show: edges of the cells [m], a number on each, ends of the steps, words."""

    x: Array
    y: Array
    values: Array
    ends: Array
    labels: Sequence[str]


def plan(
    layout: Layout,
    words: str,
    caption: str = "",
    numbers: Sequence[int] = (),
    greys: Greys | None = None,
    cross: tuple[float, float] | None = None,
    side: str = "",
    named: Collection[str] = (),
) -> str:
    """The deck face as an HTML figure; the front of the engine is at the left.

    Parameters
    ----------
    layout : what stands on the deck
    words : what it shows, for a screen reader
    caption : the line below
    numbers : number of each fastener; none: plain circles
    greys : colours the face
    cross : a place to mark [m]
    side : what lies above the upper long edge
    named : liquid holes that are called by their name
    """
    x0, x1, y0, y1 = layout.extent
    scale = (_WIDE - 2 * _EDGE) / (x1 - x0)
    legend = 34.0 if greys is not None else 0.0
    deep = (y1 - y0) * scale
    high = deep + _EDGE + 6.0 + legend

    def px(x: float) -> float:
        return _EDGE + (x - x0) * scale

    def py(y: float) -> float:
        return _EDGE + (y1 - y) * scale

    out = []
    if greys is not None:
        out += _shades(greys, px, py)
    corners = " ".join(f"{px(x):.1f},{py(y):.1f}" for x, y in layout.outline)
    out.append(f"<polygon points='{corners}' fill='none' stroke='#111' stroke-width='2'/>")
    for i, (x, y) in enumerate(layout.bores):
        out.append(circle(px(x), py(y), 0.5 * layout.bore * scale, "#fff", thick=1.5))
        out.append(word(px(x), py(y) + 9, str(i + 1), size=26, bold=True))
    for hole in layout.holes:
        fill = "#555" if hole.fluid == "oil" else "#fff"
        out.append(circle(px(hole.x), py(hole.y), 0.5 * hole.diameter * scale, fill))
    for i, (x, y) in enumerate(layout.bolts):
        if numbers:
            out.append(circle(px(x), py(y), 14.0, "#fff", thick=2.0))
            out.append(word(px(x), py(y) + 6, str(numbers[i]), size=15.5, bold=True))
        else:
            out.append(circle(px(x), py(y), 0.5 * layout.bolt_hole * scale, "#fff", thick=2.0))
    for hole in layout.holes:
        if hole.name in named:
            x, y = _beside(hole, layout, px, py)
            out.append(f"<g stroke='#fff' stroke-width='4' paint-order='stroke'>"
                       f"{word(x, y, hole.name, size=14, bold=True)}</g>")  # fmt: skip
    if cross is not None:
        cx, cy = px(cross[0]), py(cross[1])
        out.append(f"<circle cx='{cx:.1f}' cy='{cy:.1f}' r='11' fill='#fff' fill-opacity='0.8' "
                   f"stroke='#111' stroke-width='2'/><path d='M{cx - 6:.1f},{cy - 6:.1f} l12,12 "
                   "m0,-12 l-12,12' stroke='#111' stroke-width='3'/>")  # fmt: skip
    middle = _EDGE + deep / 2
    out.append(f"<text transform='translate(14,{middle:.1f}) rotate(-90)' text-anchor='middle' "
               "font-size='14'>front of the engine</text>")  # fmt: skip
    if side:
        out.append(word(_WIDE / 2, 15, side))
    if greys is not None:
        step = (_WIDE - 2 * _EDGE) / len(GREYS)
        for i, (fill, label) in enumerate(zip(GREYS, greys.labels, strict=True)):
            x, y = _EDGE + i * step, high - 34.0
            out.append(rect(x, y, step, 14.0, fill, "#111"))
            out.append(word(x + step / 2, y + 29, label, size=13))
    return framed(out, (_WIDE, high), words, caption, font=14, most=680)


def _beside(
    hole: Hole, layout: Layout, px: Callable[[Any], Any], py: Callable[[Any], Any]
) -> tuple[float, float]:
    """Where the name of a hole stands: on that of its four sides that has the most room."""
    wide = px(hole.x + 0.5 * hole.diameter) - px(hole.x)
    x, y = float(px(hole.x)), float(py(hole.y))
    middle = 0.5 * (layout.extent[2] + layout.extent[3])
    inwards = 1.0 if hole.y > middle else -1.0
    sides = [(x, y + inwards * (wide + 9)), (x + wide + 14, y), (x - wide - 14, y)]
    sides.append((x, y - inwards * (wide + 9)))
    others = [*layout.bolts, *((h.x, h.y) for h in layout.holes if h is not hole)]

    def off(at: tuple[float, float], of: Any) -> float:
        return math.hypot(px(of[0]) - at[0], py(of[1]) - at[1])

    def room(at: tuple[float, float]) -> float:
        radius = 0.5 * float(px(layout.bore) - px(0.0))
        edges = (abs(off(at, bore) - radius) + 12.0 for bore in layout.bores)
        return min((*edges, *(off(at, other) for other in others)))

    # the first that is clear, else the clearest
    u, v = next((s for s in sides if room(s) > 24), max(sides, key=room))
    return u, v + 5


def _shades(greys: Greys, px: Callable[[Any], Any], py: Callable[[Any], Any]) -> list[str]:
    """One path for each grey; cells of a row that are alike are joined."""
    level = np.clip(np.searchsorted(greys.ends, greys.values, side="right"), 0, len(GREYS) - 1)
    level = np.where(np.isnan(greys.values), -1, level)
    ways: dict[int, list[str]] = {}
    for j, row in enumerate(level):
        top, deep = py(greys.y[j + 1]), py(greys.y[j]) - py(greys.y[j + 1])
        starts = np.flatnonzero(np.append(True, row[1:] != row[:-1]))
        for a, b in zip(starts, np.append(starts[1:], len(row)), strict=True):
            left, right = px(greys.x[a]), px(greys.x[b])
            way = f"M{left:.1f},{top:.1f}H{right:.1f}v{deep + 0.3:.1f}H{left:.1f}Z"
            ways.setdefault(int(row[a]), []).append(way)
    return [
        f"<path d='{''.join(way)}' fill='{GREYS[i]}'/>" for i, way in sorted(ways.items()) if i >= 0
    ]
