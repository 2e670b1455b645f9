"""Axes in the one style of the course, as plain dicts for plotly.

A layout lists its charts from top to bottom; lines name the chart they stand in. Words stand
beside the lines, so that colour alone never tells them apart.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit.arrays import Array
from sealkit.units import show_value

DASHES = ("solid", "dash", "dot", "dashdot")
FONT = 13
SMALL = 12  # of titles and ticks
INK = "#111"
AXIS = "#555"
FAINT = "#888"
# white round the letters, where a line runs behind them
HALO = ", ".join(f"{x}px {y}px 2px #fff" for x in (-1, 1) for y in (-1, 1))


def shop(values: Any, kind: str, system: str) -> Array:
    """Plain SI numbers as those the shop reads."""
    return np.asarray(show_value(np.asarray(values, dtype=float), kind, system), dtype=float)


@dataclass(frozen=True)
class Chart:
    """One pair of axes."""

    title: str  # with the unit of the upright axis, such as "Cylinder pressure, bar absolute"
    y: tuple[float, float]  # (low, high) of the upright axis in the shop's unit
    x: tuple[float, float]  # (low, high) of the level axis
    x_title: str = ""  # with its unit; "" where the chart below carries it
    ticks: float | None = None  # distance of the ticks on the level axis; None lets plotly choose
    # names along the level axis instead of numbers (bars), at 0, 1, 2, ...
    names: tuple[str, ...] = ()


def span(*values: ArrayLike, zero: bool = True, room: float = 0.12) -> tuple[float, float]:
    """Range of an axis that holds all values, from zero where wanted, with room above."""
    every = np.concatenate([np.ravel(np.asarray(v, dtype=float)) for v in values])
    every = every[np.isfinite(every)]
    low = float(every.min()) if every.size else 0.0
    high = float(every.max()) if every.size else 1.0
    if zero:
        low, high = min(low, 0.0), max(high, 0.0)
    wide = (high - low) or abs(high) or 1.0
    return low - (0.02 if low == 0.0 else room / 2) * wide, high + room * wide


STAGE = 372  # px, height of the figure where its charts stand beside each other
_TICKS = 26  # px of the ticks beside a chart in the right column
_TITLE, _NAMES = 34.0, 48.0  # px above a chart, and below one with a title or names along x


@dataclass(frozen=True)
class _Place:
    """Where a chart stands in the figure, as shares of it; whether it has words along x."""

    x: tuple[float, float]
    y: tuple[float, float]
    x_title: str
    words: bool


def _columns(
    charts: Sequence[Chart], shares: Sequence[float], first: float, between: float | None = None
) -> list[_Place]:
    """Charts in two columns: one (this wide) and two, two and two, or one beside the other.

    Where the first is as wide as the figure, all stand below each other. What lies between those
    of a column is a share of the figure; None takes what their titles need.
    """
    count, inner = len(charts), STAGE - _TITLE - _NAMES
    left = list(range(count if first == 1.0 else count // 2 if count != 3 else 1)) or [0]
    edge = first or (0.53 if count == 3 else 0.5)
    ends = {True: (0.0, edge - 0.055), False: (edge + 0.055, 1.0)}
    if len(left) == count:
        ends = {True: (0.0, 1.0)}
    out = []
    for i, chart in enumerate(charts):
        column = left if i in left else list(range(len(left), count))
        row, last = column.index(i), i == column[-1]
        # the chart below carries the title, if there is one
        title = chart.x_title
        if not title and not chart.names and last:
            title = next((c.x_title for c in charts[i:] if c.x_title), "")
        words = bool(title or chart.names)
        gap = _TITLE + (_NAMES if charts[column[0]].names or charts[column[0]].x_title else 0.0)
        gap = gap / inner if between is None else between
        room = (1.0 - (len(column) - 1) * gap) / sum(shares[c] for c in column)
        size = room * shares[i]
        top = 1.0 - room * sum(shares[c] for c in column[:row]) - row * gap
        out.append(_Place(ends[i in left], (max(top - size, 0.0), top), title, words))
    return out


@functools.cache
def _template() -> Any:
    """Of plotly's white template what stands in our charts; all of it takes ten times as long."""
    from plotly.graph_objs.layout import Template
    from plotly.io import templates

    white = templates["plotly_white"].to_plotly_json()
    other = ("coloraxis", "colorscale", "geo", "mapbox", "scene", "ternary")
    return Template(
        layout={k: v for k, v in white["layout"].items() if k not in other},
        data={k: white["data"][k] for k in ("bar", "heatmap", "scatter", "scatterpolar")},
    )


def layout(
    charts: Sequence[Chart],
    height: int | None = None,
    gap: float | None = None,
    hover: str = "x unified",
    shares: Sequence[float] = (),
    first: float = 0.0,
) -> dict[str, Any]:
    """The layout of charts, ranges fixed.

    Parameters
    ----------
    charts : from the top
    height : of the figure, pixels, its charts below each other; None for two columns
    gap : between charts as a share of the figure; None takes what the titles need
    hover : plotly's hover mode
    shares : heights of the charts to one another; all alike if empty
    first : share of the width that the first of two or three charts takes; 0 for about half
    """
    shares = shares or [1.0] * len(charts)
    if height is None:
        height, places = STAGE, _columns(charts, shares, first)
    else:
        titled = sum(bool(c.x_title or c.names) for c in charts[:-1])
        if gap is None:
            gap = (_TITLE + (_NAMES if titled else 0.0)) / (height - 86.0)
        places = _columns(charts, shares, 1.0, gap)
    out: dict[str, Any] = {
        "template": _template(),
        "autosize": True,
        "height": height,
        "showlegend": False,
        "dragmode": False,
        "hovermode": hover,
        "font": {"size": SMALL, "color": INK},
        "margin": {"l": 8, "r": 14, "t": 34, "b": 52},
        "uirevision": "kept",
        "annotations": [],
    }
    both = {
        "fixedrange": True,
        "showline": True,
        "linecolor": AXIS,
        "zeroline": True,
        "zerolinecolor": FAINT,
    }
    for i, (chart, place) in enumerate(zip(charts, places, strict=True)):
        tail = "" if i == 0 else str(i + 1)
        x_axis: dict[str, Any] = both | {
            "anchor": f"y{tail}",
            "domain": list(place.x),
            "range": list(chart.x),
            "ticks": "outside",
            "showticklabels": place.words,
            "title": {"text": place.x_title, "standoff": 8, "font": {"size": SMALL}},
            "tickangle": 0,
        }
        if chart.ticks:
            x_axis["dtick"] = chart.ticks
        if chart.names:
            x_axis |= {
                "tickvals": list(range(len(chart.names))),
                "ticktext": list(chart.names),
                "ticks": "",
                "showgrid": False,
                "zeroline": False,
            }
        out[f"xaxis{tail}"] = x_axis
        out[f"yaxis{tail}"] = {
            "anchor": f"x{tail}",
            "domain": list(place.y),
            "range": list(chart.y),
            "automargin": True,
            "nticks": 5,
            "separatethousands": True,
            "exponentformat": "none",
            **both,
        }
        # over the ticks, which stand clear of the chart on the left
        clear = -_TICKS if place.x[0] > 0.0 else 0
        out["annotations"].append(heading(chart.title, (place.x[0], place.y[1]), 4, clear))
    return out


def heading(words: str, at: tuple[float, float], up: float, aside: float = 0) -> dict[str, Any]:
    """What stands over a chart whose upper left corner is there, with the pixels off it."""
    return {
        "text": f"<b>{words}</b>",
        "xref": "paper",
        "x": at[0],
        "xanchor": "left",
        "xshift": aside,
        "yref": "paper",
        "y": at[1],
        "yanchor": "bottom",
        "yshift": up,
        "showarrow": False,
        "font": {"size": SMALL},
    }
