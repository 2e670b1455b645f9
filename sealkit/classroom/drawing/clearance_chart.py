"""Compression, peak pressure and the gap over the piston: their charts, and the section at TDC."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.analysis import Refit
from sealkit.classroom.drawing.plot import CRANK_TITLE, Axes, Curve, Plot
from sealkit.drawing.svg import COLOURS, framed, line, rect, word
from sealkit.sealing.clearances import SQUISH_USUAL
from sealkit.units import show
from sealkit.words import note

_ENDS = (float(np.radians(-16.0)), float(np.radians(16.0)))
_TURN = np.linspace(*_ENDS, 33)


def _view(found: Refit) -> dict[str, Any]:
    thick, gaps = found.fit.thickness, found.gaps(_TURN)
    return {
        "thickness": found.thickness,
        "ratio": found.ratio,
        "ratio now": (thick, found.build.compression_ratio),
        "design": found.design_peak,
        "design now": (thick, found.after.design_peak),
        "sheet": found.before.gas.design_peak,
        "rest": gaps.squish,
        "speed": gaps.running,
    }


_OVER: Any = {
    "x_title": "Gasket, compressed",
    "x_kind": "length",
    "grid": "thickness",
    "zero": False,
    "x_zero": False,
}
PLOT = Plot(
    charts=(
        Axes("Piston to head", "length", CRANK_TITLE, "angle", lambda _: _TURN, _ENDS, ticks=8,
             fails=("y", None, 0.0, "touches")),
        Axes("Compression ratio", **_OVER),
        Axes("Design peak, {unit} absolute", "pressure", room=0.2, **_OVER),
    ),
    curves=(
        Curve("usual low", "usual from", "strength", 0, SQUISH_USUAL[0], dash="dot", level=True),
        Curve("usual high", "usual to", "strength", 0, SQUISH_USUAL[1], dash="dot", level=True,
              at=16.0, short="usual", side="top left",
              style={"fill": "tonexty", "fillcolor": "rgba(95,102,112,0.13)"}),
        Curve("rest", "at rest", "clamp", 0, at=13.0, side="top left", ghost=True),
        Curve("speed", "at speed", "gas load", 0, dash="dash", at=4.0, side="bottom right"),
        Curve("ratio", "ratio", "strength", 1),
        Curve("ratio now", "now", "strength", 1, marker=True, ghost=True),
        Curve("design", "design peak", "pressure", 2),
        Curve("sheet", "as on the sheet", "pressure", 2, dash="dash", share=1.0, short="sheet",
              side="top left", level=True),
        Curve("design now", "now", "pressure", 2, marker=True, ghost=True),
    ),
    height=940,
    hover="x unified",
    view=_view,
)  # fmt: skip


# --------------------------------------------------------------------------- top dead centre
_TOLD = (
    "Section at top dead centre. Gasket {thick} compressed, piston {deck} {side} the deck, squish "
    "{squish} cold and at rest, at speed {running}. The opening of the gasket stands back from the "
    "cylinder wall by {step}."
)
_SCALE, _MOST = 60e3, 90.0  # pixels for a metre of gap, and for gasket and deck together
_SIZE = _WIDE, _TALL = 640.0, 330.0
_FACE, _WALL = 150.0, 380.0  # of the head, of the cylinder


def section(found: Refit, system: str) -> tuple[str, str]:
    """Piston, gasket and head at top dead centre with the gaps between them; and it in words."""
    thick, deck, gap = found.fit.thickness, found.fit.deck, found.gap
    step = max(found.fit.opening - found.build.engine.bore, 0.0) / 2
    figures: dict[str, Any] = {
        "thick": (thick, "length"),
        "deck": (abs(deck), "length"),
        "side": "below" if deck >= 0 else "above",
        "squish": (float(gap.squish), "length"),
        "running": (float(gap.running), "length"),
        "step": (step, "length"),
    }
    scale = min(_SCALE, _MOST / max(thick + abs(deck), 1e-6))
    top = _FACE + scale * thick  # of the deck
    crown = top + scale * deck
    edge = min(_WALL + scale * step, _WALL + 90.0)  # of the gasket
    green, red = COLOURS["clamp"], COLOURS["gas load"]

    def words(x: float, y: float, text: str, anchor: str = "start", more: str = "") -> str:
        return word(x, y, note(text, **figures).text(system), anchor, more)

    shapes = [
        # head with its chamber
        f"<path d='M8,30 H632 V{_FACE} H250 Q180,60 110,60 H8 Z' fill='#e3e7ea' stroke='#333'/>",
        rect(_WALL, top, 632 - _WALL, _TALL - 14 - top, "#c9ced3"),
        rect(edge, _FACE, 632 - edge, top - _FACE, "#f0e2b6"),
        rect(8, crown, _WALL - 14, _TALL - 14 - crown, "#d8d2c4"),
        line(f"M290,{_FACE} V{crown:.1f} M283,{_FACE} h14 M283,{crown:.1f} h14", green, 3),
        words(20, 52, "cylinder head"),
        words(_WALL - 26, _TALL - 28, "piston", "end"),
        words(_WALL + 14, _TALL - 28, "block"),
        words(620, _FACE - 12, "gasket {thick}", "end"),
        words(20, crown + 26, "squish {squish} at rest"),
        words(20, crown + 56, "at speed {running}", more=f" fill='{red}'"),
    ]
    told = note(_TOLD, **figures).text(system)
    below = f"Piston {show(abs(deck), 'length', system)} {figures['side']} the deck."
    caption = f"{below} Gaps to one scale, all else not; the shape of the chamber is only sketched."
    return framed(shapes, _SIZE, told, caption, font=26), told
