"""The deck face seen from above, drawn to scale: plain dicts for plotly.

`outline_traces` draws what stands on the deck, under or over whatever a lesson shows there;
`axes` gives equal axes round it. Bores carry large numbers, fasteners small ones, coolant holes
are open rings and oil holes full discs, each with its name, so that colour alone never tells them
apart.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit.arrays import Array
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import COLOURS, FONT, INK
from sealkit.sealing.deck.layout import Layout
from sealkit.units import show, show_unit, show_value

_SMALL = FONT - 1
_FRAME = 0.04  # room round the deck, of its length
_OFF = 0.008  # of a name below the deck, of its length; above it the letters leave room
_NEAR_EDGE = 0.25  # of the width of the deck
_WIDTH = 480.0  # pixels of a figure on a phone or a little wider
_AROUND = (86.0, 146.0)  # pixels beside the drawing, across and upright
_PAPER = "rgba(255,255,255,0.82)"
_FIRED = "rgba(213,94,0,0.4)"


def _shop(values: ArrayLike, system: str) -> Array:
    return np.asarray(show_value(np.asarray(values, dtype=float), "length", system), dtype=float)


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
    x, y = _shop(places, system).T
    axes = {"x": x, "y": y, "xaxis": "x", "yaxis": "y"}
    return {"type": "scatter", "name": label, "meta": meta, "showlegend": False} | axes


def _shape(
    meta: str,
    label: str,
    places: Array,
    colour: str,
    width: float,
    dash: str,
    fill: str,
    system: str,
) -> dict[str, Any]:
    return trace(meta, label, places, system) | {
        "mode": "lines",
        "line": {"color": colour, "width": width, "dash": dash, "simplify": False},
        "fill": "toself" if fill else "none",
        "fillcolor": fill or "rgba(0,0,0,0)",
        "hoverinfo": "skip",
    }


def disc(
    meta: str,
    label: str,
    centre: ArrayLike,
    diameter: float,
    colour: str,
    dash: str,
    fill: str,
    system: str,
) -> dict[str, Any]:
    """One disc on the deck."""
    ring = _rings(np.asarray(centre, dtype=float)[None], diameter, 48)
    return _shape(meta, label, ring, colour, 2, dash, fill, system)


def _words(
    meta: str,
    label: str,
    places: Array,
    words: list[str],
    told: list[str],
    size: int,
    colour: str,
    system: str,
) -> dict[str, Any]:
    return trace(meta, label, places, system) | {
        "mode": "text",
        "text": words,
        "textposition": "middle center",
        "textfont": {"size": size, "color": colour, "shadow": draw.HALO},
        "cliponaxis": False,
        "hovertext": told,
        "hoverinfo": "text",
    }


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

    def told(what: str, place: Array, size: float) -> str:
        x, y = (show(float(v), "length", system) for v in place)
        return f"{what}: {x} along, {y} across, diameter {show(size, 'length', system)}"

    corners = np.vstack([layout.outline, layout.outline[:1]])
    traces = [
        _shape("outline", "deck face", corners, INK, 2.5, "solid", "", system),
        _shape(
            "bores",
            "bore",
            _rings(layout.bores, layout.bore, 72),
            INK,
            2.5,
            "solid",
            _PAPER,
            system,
        ),
    ]
    if fired is not None:
        fires = (layout.bores[fired], layout.bore, INK, "solid", _FIRED, system)
        traces.append(disc("fired", "fires", *fires))
    if seal_diameter is not None:
        rings = _rings(layout.bores, seal_diameter, 72)
        traces.append(
            _shape("seals", "combustion seal", rings, COLOURS["seal load"], 2, "dash", "", system)
        )
    names = [str(i + 1) for i in range(len(layout.bores))]
    words = [told(f"bore {n}", p, layout.bore) for n, p in zip(names, layout.bores, strict=True)]
    bold = [f"<b>{n}</b>" for n in names]
    traces.append(_words("bores names", "bore", layout.bores, bold, words, FONT + 7, INK, system))
    rings = _rings(layout.bolts, layout.bolt_hole, 24)
    colour = COLOURS["clamp"]
    traces.append(_shape("fasteners", "fastener", rings, colour, 2, "solid", _PAPER, system))
    names = [str(i + 1) for i in range(len(layout.bolts))]
    words = [
        told(f"fastener {n}", p, layout.bolt_hole) for n, p in zip(names, layout.bolts, strict=True)
    ]
    traces.append(
        _words("fasteners names", "fastener", layout.bolts, names, words, _SMALL, INK, system)
    )
    for fluid in ("coolant", "oil"):
        holes = [h for h in layout.holes if h.fluid == fluid]
        if not holes:
            continue
        places = np.array([(h.x, h.y) for h in holes])
        sizes = np.array([h.diameter for h in holes])
        rings = _rings(places, sizes, 24)
        colour = COLOURS["liquid" if fluid == "coolant" else "temperature"]
        fill = _PAPER if fluid == "coolant" else colour
        traces.append(_shape(fluid, f"{fluid} hole", rings, colour, 2, "solid", fill, system))
        words = [
            told(f"{fluid} hole {h.name}", p, h.diameter)
            for h, p in zip(holes, places, strict=True)
        ]
        spots, sides = _beside(layout, places, sizes)
        text = _words(f"{fluid} names", f"{fluid} hole", spots, [h.name for h in holes], words,
                      _SMALL, INK, system)  # fmt: skip
        traces.append(text | {"textposition": sides})
    return traces


def _lines(key: list[str]) -> str:
    """The key in lines short enough for a phone."""
    return "<br>".join(", ".join(key[i : i + 2]) for i in range(0, len(key), 2))


def axes(layout: Layout, system: str = "metric", firing: bool = False) -> dict[str, Any]:
    """The plotly layout round `outline_traces`: equal axes that hold the deck face."""
    x0, x1, y0, y1 = layout.extent
    frame = _FRAME * (x1 - x0)
    x = _shop([x0 - frame, x1 + frame], system)
    y = _shop([y0 - frame, y1 + frame], system)
    unit = show_unit("length", system)
    share = (y[1] - y[0]) / (x[1] - x[0])
    height = int(min(max(share * (_WIDTH - _AROUND[0]), 150.0), 640.0) + _AROUND[1])
    fluids = {h.fluid for h in layout.holes}
    key = ["large numbers: bores", "small: fasteners"]
    key += ["open rings: coolant"] if "coolant" in fluids else []
    key += ["full discs: oil"] if "oil" in fluids else []
    key += ["orange: fires"] if firing else []
    chart = draw.Chart(
        f"Deck face seen from above, {unit}", (float(y[0]), float(y[1])),
        (float(x[0]), float(x[1])), _lines(["front on the left", *key]),
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
    out["margin"] |= {"b": 50 + 18 * (len(key) // 2 + 1)}
    return out
