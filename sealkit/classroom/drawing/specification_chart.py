"""A specification: its margins, pressures and loads; the way from the wish to the joint, drawn."""

from __future__ import annotations

import html
from typing import Any

import numpy as np

from sealkit.classroom.drawing.draw import SMALL
from sealkit.classroom.drawing.plot import Axes, Curve, Plot
from sealkit.drawing.svg import COLOURS, framed
from sealkit.report import percent
from sealkit.report.result import BEFORE
from sealkit.report.specification import Specification
from sealkit.units import show
from sealkit.words import figure_text

_SHOWN = 8  # limits
_LOW, _HIGH = -0.3, 1.5  # margins
_ROOM = 0.8  # above the bars: what the knobs can make of them


def _margins(found: Specification) -> Any:
    return np.clip([float(r.margin) for r in found.limits[:_SHOWN]], _LOW, _HIGH)


def _bars(key: str, label: str, colour: str, chart: int, kind: str, pattern: str = "") -> Curve:
    """Bars of a property of the specification, each with its number."""

    def texts(found: Specification, system: str) -> list[str]:
        none = found.report.gas.ambient if kind == "pressure" else -1.0
        values = getattr(found, key)
        return [show(v, kind, system) if v > none else BEFORE.replace(" ", "<br>") for v in values]

    return Curve(key, label, colour, chart, lambda found: np.array(getattr(found, key)),
                 form="bars", pattern=pattern, text=texts, ghost=True)  # fmt: skip


PLOT = Plot(
    charts=(
        Axes(f"The {_SHOWN} weakest margins, as taken", "number", "Margin, {unit}", "fraction",
             fails=("x", None, 0.0, "fails"),
             x=(_LOW, _HIGH), y=(_SHOWN - 0.5, -0.95), ticks=50, rows=True),
        Axes("Peak pressure, {unit} absolute", "pressure", room=_ROOM,
             names=("average", "design<br>peak", "first<br>failure")),
        Axes("One bore, low preload", "force", room=_ROOM,
             names=("gas<br>load", "clamp", "clamp<br>left")),
    ),
    curves=(
        Curve("margins", "margin", "strength", x=_margins, form="rows", pattern="/",
              style={"hovertemplate": "margin: %{x:.1f} %<extra></extra>"}),
        # they begin at nothing, or at the low end of a bar that fails
        Curve("margin words", "limit", "strength", x=lambda found: np.minimum(_margins(found), 0.0),
              form="words", side="middle right", style={"textfont": {"size": SMALL}},
              text=lambda found, _: [f"{percent(float(r.margin))}  {r.brief}"
                                     for r in found.limits[:_SHOWN]]),
        _bars("pressures", "pressure", "pressure", 1, "pressure"),
        _bars("loads", "load on one bore", "clamp", 2, "force", "."),
    ),
    height=1080,
    first=0.58,
    style={"xaxis": {"zerolinewidth": 2}},
)  # fmt: skip


# --------------------------------------------------------------------------- from wish to joint
_FIRST, _STEP, _HIGH_BOX = 8, 60, 42  # top of the first box, from one to the next, height


def way(found: Specification, system: str) -> tuple[str, str]:
    """The way from the wish to the joint, as boxes with their numbers; and in words."""
    gas_load, clamp, _ = found.loads
    weak = found.report.weakest
    boxes: list[tuple[str, Any, str]] = [
        ("wish", (found.wish, "power"), "strength"),
        ("boost", (found.build.charge.boost, "gauge pressure"), "pressure"),
        ("design peak pressure", (found.report.gas.design_peak, "pressure"), "pressure"),
        ("gas load on a bore", (gas_load, "force"), "gas load"),
        ("clamp on a bore", (clamp, "force"), "clamp"),
        ("least margin", f"{percent(float(weak.margin))}, {weak.brief}", "seal load"),
    ]
    shown = [(what, figure_text(figure, system), colour) for what, figure, colour in boxes]
    told = "; ".join(f"{what}: {value}" for what, value, _ in shown)
    told = f"From the customer's wish to the joint. {told}."
    shapes = []
    for i, (what, value, colour) in enumerate(shown):
        y = _FIRST + _STEP * i
        shapes.append(
            f"<rect x='8' y='{y}' width='624' height='{_HIGH_BOX}' fill='#fff' "
            f"stroke='{COLOURS[colour]}' stroke-width='3'/>"
            f"<text x='20' y='{y + 28}'>{html.escape(what)}</text>"
            f"<text x='620' y='{y + 28}' text-anchor='end'>{html.escape(value)}</text>"
        )
        if i + 1 < len(shown):
            shapes.append(
                f"<path d='M320,{y + 44} V{y + 56} M313,{y + 50} L320,{y + 58} L327,{y + 50}' "
                "fill='none' stroke='#333' stroke-width='2'/>"
            )
    below = "Clamp at the low end of the preload. Power is an estimate."
    return framed(shapes, (640, 364), told, below, font=22), told
