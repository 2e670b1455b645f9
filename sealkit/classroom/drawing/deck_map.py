"""The deck map as a picture: colours on the deck face, and the load round one bore below."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.analysis import DeckLook
from sealkit.arrays import Array
from sealkit.classroom.drawing import deck_chart, draw
from sealkit.classroom.drawing.draw import FONT, HALO, INK, SMALL, STAGE
from sealkit.classroom.drawing.plot import Drawn, Values
from sealkit.drawing.svg import COLOURS, framed
from sealkit.sealing.deck import layout as places
from sealkit.sealing.deck.layout import Layout
from sealkit.units import show_unit

PRESSURE, LIFT = "pressure on the gasket body", "lift of the head since assembly"
_POLAR = {
    "before": ("as assembled", "seal load", "dot"),
    "now": ("left now", "seal load", "solid"),
    "wanted": ("wanted", "gas load", "dash"),
    "average": ("average joint", "clamp", "dashdot"),
}
_POLAR_HEIGHT = 420
_BAR = 40  # pixels for the colour bar over the map
_WEAKEST = "least load on this seal"
_DIAMOND = {"symbol": "diamond", "size": 13, "color": INK, "line": {"color": "#fff", "width": 2}}
# light, for what is drawn on them; finer where most of a deck lies, below its few hard corners
_COLOURS = [
    [0.0, "#fffbe0"], [0.05, "#d9efb6"], [0.15, "#8fd3b6"], [0.3, "#45b4c2"], [0.5, "#2382b8"],
    [0.75, "#24459a"], [1.0, "#0b1d58"],
]  # fmt: skip


@dataclass(frozen=True)
class DeckView(DeckLook):
    """The deck in one state, and what the colours show (`PRESSURE` or `LIFT`)."""

    field: str = PRESSURE

    @property
    def field_kind(self) -> str:
        """Kind of quantity that the colours show."""
        return "stress" if self.field == PRESSURE else "lift"


def _rounded(v: Array) -> Array:
    """Five figures: what is left of the solver's start cannot be seen."""
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = 10.0 ** (4 - np.floor(np.log10(np.nanmax(np.abs(v), initial=1e-12))))
    return np.asarray(np.round(v * scale) / scale)


def cells(view: DeckView, system: str) -> tuple[Array, Array, Array]:
    """Centres of the mesh cells along both sides, and the mean of the field on each of them."""
    state = view.state
    x, y, mean = state.on_cells(state.contact_pressure if view.field == PRESSURE else state.lift)
    z = _rounded(draw.shop(mean, view.field_kind, system))
    along, across = (draw.shop(0.5 * (e[1:] + e[:-1]), "length", system) for e in (x, y))
    return along, across, z


def _open(z: Array) -> list[list[float | None]]:
    """The cells as they go to the browser: nothing where there is no gasket."""
    return [[None if np.isnan(v) else float(v) for v in row] for row in z]


def _loads(view: DeckView, system: str) -> dict[str, tuple[Array, Array]]:
    """Angle (degrees) and load of each line of the polar plot, closed."""
    angle, now = view.state.line_load(view.bore)
    theta = np.degrees(np.append(angle, 2.0 * np.pi))
    loads: Mapping[str, Any] = {
        "before": view.standing.line_load(view.bore)[1],
        "now": now,
        "wanted": view.wanted,
        "average": view.average,
    }
    out = {}
    for key, load in loads.items():
        shown = np.broadcast_to(draw.shop(load, view.kind, system), angle.shape)
        out[key] = theta, _rounded(np.append(shown, shown[0]))
    return out


def numbers(view: DeckView, system: str) -> dict[str, Any]:
    """Load round every bore against the angle, as assembled and as shown: head -> column."""
    unit = show_unit(view.kind, system)
    out: dict[str, Any] = {"angle, °": np.degrees(view.state.angle)}
    for bore in range(len(view.build.layout.bores)):
        for words, state in (("as assembled", view.standing), ("now", view.state)):
            load = draw.shop(state.line_load(bore)[1], view.kind, system)
            out[f"bore {bore + 1} {words}, {unit}"] = load
    return out


def _colours(view: DeckView, system: str, across: tuple[float, float]) -> dict[str, Any]:
    """Colours of the map, and their bar between these shares of the figure's width."""
    top = float(np.nanmax(np.abs(cells(view, system)[2]))) or 1.0
    return {
        "colorscale": _COLOURS,
        "cmin": 0.0,
        "cmax": top * (1.3 if view.field == PRESSURE else 2.0),
        "colorbar": {
            "orientation": "h",
            "x": (across[0] + across[1]) / 2,
            "xanchor": "center",
            "y": 1.0,
            "yanchor": "bottom",
            "thickness": 12,
            "len": 0.9 * (across[1] - across[0]),
        },
    }


class _Picture(Drawn):
    """The map and the loads round one bore."""

    def traces(self, view: DeckView, system: str) -> list[dict[str, Any]]:
        """The map with what stands on the deck, and the loads round one bore."""
        x, y, z = cells(view, system)
        unit = show_unit(view.field_kind, system)
        title = f"{view.field}, {unit}"
        colours = {
            "type": "heatmap",
            "meta": "map",
            "name": title,
            "x": x,
            "y": y,
            "z": _open(z),
            "zsmooth": False,
            "coloraxis": "coloraxis",
            "xaxis": "x",
            "yaxis": "y",
            "hovertemplate": "%{z:.3g} " + unit + "<extra></extra>",
        }
        weakest = deck_chart.trace("weakest", _WEAKEST, np.array([view.weak_place]), system) | {
            "mode": "markers+text",
            "text": ["<b>least</b>"],
            "textposition": "bottom center",
            "textfont": {"size": SMALL, "color": INK, "shadow": HALO},
            "cliponaxis": False,
            "marker": _DIAMOND,
            "hovertemplate": f"{_WEAKEST}<extra></extra>",
        }
        round_bore = []
        for key, (theta, r) in _loads(view, system).items():
            words, colour, dash = _POLAR[key]
            round_bore.append(
                {
                    "type": "scatterpolar",
                    "meta": key,
                    "name": words,
                    "mode": "lines",
                    "theta": theta,
                    "r": r,
                    "line": {"color": COLOURS[colour], "dash": dash, "width": 3},
                    "hovertemplate": f"{words}: %{{r:.3g}} at %{{theta:.0f}}°<extra></extra>",
                    "showlegend": True,
                }
            )
        deck, (place, size) = view.build.layout, view.patch
        outline = deck_chart.outline_traces(deck, system, view.joint.seal_diameter, view.fired)
        patch = deck_chart.disc("patch", "coat patch", place, size, system, dash="dot")
        return [colours, *outline, patch, weakest, *round_bore]

    def layout(
        self, views: Sequence[DeckView], system: str, narrow: bool = False
    ) -> dict[str, Any]:
        """The map above, the loads below it or beside it."""
        view = views[0]
        out = deck_chart.axes(view.build.layout, system, view.fired is not None)
        field = f"{view.field[0].upper()}{view.field[1:]}, {show_unit(view.field_kind, system)}"
        out["annotations"][0]["text"] = f"<b>{field}</b>"
        margin = out["margin"]
        above, below = margin["t"] + _BAR, 34
        inner = out["height"] - margin["t"] + _POLAR_HEIGHT
        share = _POLAR_HEIGHT / inner
        out["yaxis"]["domain"] = [share + 112.0 / inner, 1.0]
        out["height"] = above + inner + below
        margin |= {"t": above, "b": below}
        out["annotations"][0] |= {"yref": "paper", "y": 1.0, "yshift": _BAR}
        loads = _loads(view, system)
        most = 1.3 * max(float(np.max(loads[key][1])) for key in ("before", "wanted"))
        # wider only where a load of another setting would be cut
        radial = {
            "rangemode": "tozero",
            "autorangeoptions": {"include": most},
            "angle": 45,
            "nticks": 4,
        }
        # upright: it counts from the axis
        radial |= {"tickangle": 45, "tickfont": {"size": FONT - 1}}
        out["polar"] = {
            "domain": {"x": [0.12, 0.9], "y": [0.0, share - 104.0 / inner]},
            "radialaxis": radial,
            "angularaxis": {"dtick": 90, "ticksuffix": "°", "tickfont": {"size": FONT - 1}},
        }
        out["showlegend"] = True
        place = {"orientation": "h", "x": 0.0, "xanchor": "left", "yanchor": "top"}
        out["legend"] = place | {"y": share - 4.0 / inner, "font": {"size": FONT - 1}}
        out["coloraxis"] = _colours(view, system, (0.0, 1.0 if narrow else 0.6))
        at, up = (0.0, share), 0.0
        if narrow:
            out["xaxis"]["title"]["standoff"] = 44
        else:
            # the loads beside the map, the bar of the colours below it
            out["height"], margin["t"] = STAGE, 34
            margin["b"] = 10
            out["annotations"][0]["yshift"] = 4
            out["coloraxis"]["colorbar"]["y"] = 0.13
            # a wide figure has a tall map: the key below it ends above the bar
            out["xaxis"]["domain"], out["yaxis"]["domain"] = [0.0, 0.6], [0.44, 1.0]
            out["polar"]["domain"] = {"x": [0.65, 0.98], "y": [0.08, 0.95]}
            out["legend"] |= {"y": 0.0, "yanchor": "bottom", "entrywidth": 105}
            at, up = (0.64, 1.0), 4.0
        unit = show_unit(view.kind, system)
        words = f"Seal round bore {view.bore + 1}, {unit}"
        out["annotations"].append(draw.heading(words, at, up))
        return out

    def values(self, view: DeckView, system: str) -> Values:
        """Colours, the weakest place and the loads."""
        wx, wy = draw.shop(view.weak_place, "length", system)
        out: dict[str, dict[str, Any]] = {
            "map": {"z": _open(cells(view, system)[2])},
            "weakest": {"x": np.array([wx]), "y": np.array([wy])},
        }
        return out | {key: {"r": r} for key, (_, r) in _loads(view, system).items()}


PICTURE = _Picture()


# --------------------------------------------------------------------------- who shares what
def sharing(layout: Layout) -> tuple[str, str]:
    """The deck from above, each fastener joined to the bores it stands round; and it in words."""
    x0, x1, y0, y1 = layout.extent
    wide = 620.0
    scale = (wide - 20.0) / (x1 - x0)
    high = (y1 - y0) * scale + 20.0
    green = COLOURS["clamp"]

    def at(place: Any) -> tuple[float, float]:
        return 10.0 + (float(place[0]) - x0) * scale, high - 10.0 - (float(place[1]) - y0) * scale

    def disc(place: Any, radius: float, style: str) -> str:
        x, y = at(place)
        return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='{radius:.1f}' {style}/>"

    corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in map(at, layout.outline))
    shapes = [f"<polygon points='{corners}' fill='#f0e2b6' stroke='#333' stroke-width='2'/>"]
    joins, numbers, shares = [], [], []
    for i, bore in enumerate(layout.bores):
        x, y = at(bore)
        around = places.around_bore(layout, i)
        radius = 0.5 * layout.bore * scale
        shapes.append(disc(bore, radius, "fill='#fff' stroke='#333' stroke-width='2'"))
        for bx, by in (at(layout.bolts[bolt]) for bolt in around.bolts):
            way = f"M{x:.1f},{y:.1f} L{bx:.1f},{by:.1f}"
            joins.append(f"<path d='{way}' stroke='{green}' stroke-width='3'/>")
        numbers += [
            disc(bore, 17.0, "fill='#fff' stroke='#333'"),
            f"<text x='{x:.1f}' y='{y + 8:.1f}' text-anchor='middle'>{i + 1}</text>",
        ]
        shares.append(f"bore {i + 1}: {len(around.bolts)} fasteners, worth {around.effective:.2f}")
    radius = 0.5 * layout.bolt_hole * scale
    bolts = [disc(b, radius, f"fill='{green}' stroke='#333'") for b in layout.bolts]
    each = "; ".join(shares)
    told = (
        "Each line joins a fastener to a bore it stands round; one with two lines gives each bore "
        f"half. {each}."
    )
    words = f"Deck face from above; lines join each fastener to the bores it stands round. {each}."
    drawn = framed([*shapes, *joins, *bolts, *numbers], (wide, round(high)), words, told, most=700)
    return drawn, told
