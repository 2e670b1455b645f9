"""The deck face seen from above, drawn to scale: plain dicts for plotly.

`outline_traces` draws what stands on the deck, under or over whatever a lesson shows there;
`axes` gives equal axes round it. Bores carry large numbers, fasteners small ones, coolant holes
are open rings and oil holes full discs, each with its name, so that colour alone never tells them
apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit.arrays import Array
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import FONT, INK
from sealkit.drawing.svg import COLOURS
from sealkit.sealing.deck.layout import Layout
from sealkit.units import show, show_unit

_SMALL = FONT - 1
_FRAME = 0.04  # room round the deck, of its length
_OFF = 0.008  # of a name below the deck, of its length; above it the letters leave room
_NEAR_EDGE = 0.25  # of the width of the deck
_WIDTH = 480.0  # pixels of a figure on a phone or a little wider
_AROUND = (86.0, 146.0)  # pixels beside the drawing, across and upright
_PAPER = "rgba(255,255,255,0.82)"
_FIRED = "rgba(213,94,0,0.4)"


def _rings(centres: Array, diameter: ArrayLike, corners: int) -> Array:
    """Closed rings with a gap after each, (n, 2)."""
    angle = np.linspace(0.0, 2.0 * np.pi, corners + 1)
    shape = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    radius = 0.5 * np.broadcast_to(diameter, len(centres))
    rings = centres[:, None, :] + radius[:, None, None] * shape
    gap = np.full((len(centres), 1, 2), np.nan)
    return np.concatenate([rings, gap], axis=1).reshape(-1, 2)


def trace(meta: str, label: str, places: Array, system: str) -> dict[str, Any]:
    """What a trace at these places on the deck, (n, 2), has in common with the others."""
    x, y = draw.shop(places, "length", system).T
    axes = {"x": x, "y": y, "xaxis": "x", "yaxis": "y"}
    return {"type": "scatter", "name": label, "meta": meta, "showlegend": False} | axes


def _shape(
    colour: str = INK, width: float = 2, dash: str = "solid", fill: str = ""
) -> dict[str, Any]:
    """How a line looks, and what it encloses."""
    return {
        "mode": "lines",
        "line": {"color": colour, "width": width, "dash": dash, "simplify": False},
        "fill": "toself" if fill else "none",
        "fillcolor": fill or "rgba(0,0,0,0)",
        "hoverinfo": "skip",
    }


def disc(
    meta: str, label: str, centre: ArrayLike, diameter: float, system: str, **look: Any
) -> dict[str, Any]:
    """One disc on the deck; `look` as `_shape` takes it."""
    ring = _rings(np.asarray(centre, dtype=float)[None], diameter, 48)
    return trace(meta, label, ring, system) | _shape(**look)


def _beside(layout: Layout, places: Array, sizes: Array) -> tuple[Array, list[str]]:
    """Where the names of liquid holes stand: over the long edge next to them, else at their right.

    The holes are small and other things stand close to them; beyond the edge there is room.
    """
    y0, y1 = layout.extent[2:]
    y = places[:, 1]
    top, bottom = y1 - y < _NEAR_EDGE * (y1 - y0), y - y0 < _NEAR_EDGE * (y1 - y0)
    spots = places + np.stack([0.5 * sizes, 0.0 * sizes], axis=-1)
    spots[top | bottom, 0] = places[top | bottom, 0]
    off = _OFF * (layout.extent[1] - layout.extent[0])
    spots[bottom, 1], spots[top, 1] = y0 - off, y1
    sides = np.where(top, "top center", np.where(bottom, "bottom center", "middle right"))
    return spots, [str(side) for side in sides]


def outline_traces(
    layout: Layout,
    system: str = "metric",
    seal_diameter: float | None = None,
    fired: int | None = None,
) -> list[dict[str, Any]]:
    """Outline, bores, fasteners and liquid holes of a deck face as plotly traces.

    Returns a list of traces, `meta` telling which is which: "outline", "bores", "seals",
    "fasteners", "coolant", "oil", and the same with " names".

    Parameters
    ----------
    seal_diameter : mean diameter of the combustion seal, m; None draws no seal
    fired : number of the bore that fires, from 0
    """

    traces: list[dict[str, Any]] = []

    def add(meta: str, label: str, places: Array, **look: Any) -> None:
        traces.append(trace(meta, label, places, system) | _shape(**look))

    def names(
        meta: str, what: str, at: Array, words: Sequence[str], sizes: Any, **more: Any
    ) -> None:
        """Words at these places, with where each thing stands and how wide it is."""
        told = []
        for word, place, size in zip(words, at, np.broadcast_to(sizes, len(at)), strict=True):
            x, y, wide = (show(float(v), "length", system) for v in (*place, size))
            told.append(f"{what} {word}: {x} along, {y} across, diameter {wide}")
        font = {"size": _SMALL, "color": INK, "shadow": draw.HALO}
        text = {"mode": "text", "text": words, "textposition": "middle center",
                "textfont": font, "cliponaxis": False}  # fmt: skip
        text |= {"hovertext": told, "hoverinfo": "text"}
        traces.append(trace(f"{meta} names", what, more.pop("spots", at), system) | text | more)

    add("outline", "deck face", np.vstack([layout.outline, layout.outline[:1]]), width=2.5)
    bores = _rings(layout.bores, layout.bore, 72)
    add("bores", "bore", bores, width=2.5, fill=_PAPER)
    if fired is not None:
        at = layout.bores[fired]
        traces.append(disc("fired", "fires", at, layout.bore, system, fill=_FIRED))
    if seal_diameter is not None:
        rings = _rings(layout.bores, seal_diameter, 72)
        add("seals", "combustion seal", rings, colour=COLOURS["seal load"], dash="dash")
    numbers = [str(i + 1) for i in range(len(layout.bores))]
    names("bores", "bore", layout.bores, numbers, layout.bore)
    traces[-1]["text"] = [f"<b>{n}</b>" for n in numbers]
    traces[-1]["textfont"] |= {"size": FONT + 7}
    rings = _rings(layout.bolts, layout.bolt_hole, 24)
    add("fasteners", "fastener", rings, colour=COLOURS["clamp"], fill=_PAPER)
    numbers = [str(i + 1) for i in range(len(layout.bolts))]
    names("fasteners", "fastener", layout.bolts, numbers, layout.bolt_hole)
    for fluid, kind in (("coolant", "liquid"), ("oil", "temperature")):
        holes = [h for h in layout.holes if h.fluid == fluid]
        if not holes:
            continue
        places, sizes = np.array([(h.x, h.y) for h in holes]), np.array([h.diameter for h in holes])
        colour, what = COLOURS[kind], f"{fluid} hole"
        fill = _PAPER if fluid == "coolant" else colour
        add(fluid, what, _rings(places, sizes, 24), colour=colour, fill=fill)
        spots, sides = _beside(layout, places, sizes)
        names(fluid, what, places, [h.name for h in holes], sizes, spots=spots, textposition=sides)
    return traces


def axes(layout: Layout, system: str = "metric", firing: bool = False) -> dict[str, Any]:
    """The plotly layout round `outline_traces`: equal axes that hold the deck face."""
    x0, x1, y0, y1 = layout.extent
    frame = _FRAME * (x1 - x0)
    x = draw.shop([x0 - frame, x1 + frame], "length", system)
    y = draw.shop([y0 - frame, y1 + frame], "length", system)
    unit = show_unit("length", system)
    share = (y[1] - y[0]) / (x[1] - x[0])
    height = int(min(max(share * (_WIDTH - _AROUND[0]), 150.0), 640.0) + _AROUND[1])
    fluids = {h.fluid for h in layout.holes}
    key = ["front on the left", "large numbers: bores", "small: fasteners"]
    key += ["open rings: coolant"] if "coolant" in fluids else []
    key += ["full discs: oil"] if "oil" in fluids else []
    key += ["orange: fires"] if firing else []
    # in lines short enough for a phone
    told = "<br>".join(", ".join(key[i : i + 2]) for i in range(0, len(key), 2))
    chart = draw.Chart(
        f"Deck face seen from above, {unit}", (float(y[0]), float(y[1])),
        (float(x[0]), float(x[1])), told,
    )  # fmt: skip
    out = draw.layout([chart], height=height, hover="closest")
    out["yaxis"] |= {
        "scaleanchor": "x",
        "scaleratio": 1,
        "constrain": "domain",
        "constraintoward": "top",
        "zeroline": False,
    }
    out["xaxis"] |= {"constrain": "domain", "zeroline": False}
    out["xaxis"]["title"]["standoff"] = 24  # below the names of the holes
    for axis in ("xaxis", "yaxis"):  # nobody reads a place off them; it stands under the pointer
        out[axis] |= {"showticklabels": False, "ticks": "", "showline": False, "showgrid": False}
    out["margin"] |= {"b": 50 + 18 * ((len(key) + 1) // 2)}
    return out
