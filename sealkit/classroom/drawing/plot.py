"""One plot for every lesson: charts and curves as data, from plain SI numbers.

A lesson lists its charts from top to bottom and its curves in drawing order::

    PLOT = Plot(
        charts=(Axes("Preload", "force", "Friction", x=(0.04, 0.36), grid="friction"), ...),
        curves=(
            Curve("gives", "preload", "clamp", at=0.28),              # y is found.gives
            Curve("proof", "proof", "strength", y="clamp.strength.proof", level=True, dash="dot"),
            Curve("now", "now", "lift", x="mean_friction", y=_middle, marker=True),   # one point
            Curve("shares", "torque", "clamp", 1, form="bars", text=_percent), ...
        ),
        height=940,
    )

and gives it to `Scene(plot=PLOT)`. Where numbers come from is said by a `Get`: a name of the
result ("clamp.strength.proof", attributes or keys of a mapping; `Plot.view` may first turn the
result into something handier), a function of it, or a number. They are plain SI in the kind of the
axis; the plot turns them into the shop's units, makes traces, layout and changed values from them,
and ranges that hold the results at all ends of the knobs. x left out: `Axes.grid`; of a level the
ends of its chart; of bars 0, 1, 2. A y may also give (x, y) at once. `text` is a function of
(view, system).
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from sealkit.arrays import Array
from sealkit.classroom.drawing import draw
from sealkit.drawing.svg import COLOURS
from sealkit.units import show_unit
from sealkit.words import minus

Get = str | float | tuple[float, ...] | Callable[[Any], Any]
Range = tuple[float | None, float | None]
Values = Mapping[str, Mapping[str, Any]]

_ABOVE = 0.42  # from the middle of a row to the words above it

CRANK = (-90.0, 120.0)  # degrees of crank angle shown
_TICKS = 60.0  # degrees
FAILS = "rgba(213,94,0,0.13)"  # where something fails
BELOW: Any = {"style": {"fill": "tozeroy", "fillcolor": FAILS}}  # all below a curve
# of words above bars that change while a slider moves: those on bars a browser measures anew
ABOVE_BARS: Any = {"mode": "markers+text"}  # its unseen marks keep them off the bars
CRANK_TITLE = "{unit} after firing top dead centre"


class Drawn(Protocol):
    """What a scene needs of its picture; one that is no plot of lines and bars has no ghosts."""

    def traces(self, result: Any, system: str, /) -> list[dict[str, Any]]:
        """Traces as plotly takes them, each with a `meta` of its own."""

    def layout(
        self, results: Sequence[Any], system: str, narrow: bool = False, /
    ) -> dict[str, Any]:
        """Layout, charts below each other where it is narrow.

        The first result is the one that opens; ranges hold all of them.
        """

    def values(self, result: Any, system: str, /) -> Values:
        """What changes on the traces: `meta` -> attributes."""

    def grey(self) -> list[dict[str, Any]]:
        """Traces of the state before the last change, if there are any."""
        return []

    def ghosts(self, before: Any, result: Any, system: str, /) -> Values:
        """What changes on them."""
        return {}


@dataclass(frozen=True)
class Axes:
    """One chart."""

    # words; the unit comes behind a comma, or in place of "{unit}"
    title: str | Callable[[Any], str]
    kind: str | Callable[[Any], str] = "number"  # of the upright axis, key of `sealkit.units.KINDS`
    x_title: str = ""  # of the level axis, as `title`; "" where the chart below carries it
    x_kind: str = "number"  # of the level axis
    grid: Get | None = None  # x of the curves that have none of their own
    # x, y: (low, high) in plain SI, where they do not come from the curves (None: that end does); a
    # function is given the view of the first result
    x: Range | Callable[[Any], Range] | None = None
    y: Range | Callable[[Any], Range] | None = None
    # zero, room: whether y starts at zero, and the room above, as a share (see `draw.span`)
    zero: bool = True
    room: float = 0.12
    # x_zero, x_room: the same of x
    x_zero: bool = True
    x_room: float = 0.12
    ticks: float | None = None  # distance of the ticks along x, in the shop's unit
    names: tuple[str, ...] = ()  # under bars at 0, 1, 2, ...
    rows: bool = False  # whether y only numbers rows: nothing is written on it
    # axis along which something fails, where that begins and ends (plain SI; None: the end of the
    # axis), and a word for it: shaded
    fails: tuple[str, float | None, float | None, str] | None = None


def over_crank(
    title: str | Callable[[Any], str],
    kind: str | Callable[[Any], str],
    grid: Get,
    ends: tuple[float, float] = CRANK,
    titled: bool = True,
    **more: Any,
) -> Axes:
    """A chart over crank angle.

    Parameters
    ----------
    title, kind, grid : as of `Axes`
    ends : of the level axis, degrees
    titled : whether it carries the title of the level axis; otherwise the chart below does
    more : further parameters of `Axes`
    """
    low, high = np.radians(ends)
    words = CRANK_TITLE if titled else ""
    return Axes(title, kind, words, "angle", grid, (low, high), ticks=_TICKS, **more)


def crank_places(
    crank_angle: Any, ends: tuple[float, float] = CRANK, step: float = 1.0
) -> NDArray[np.intp]:
    """Places on a grid of crank angles (rad) between these ends, every `step`; both in degrees."""
    degrees = np.degrees(np.asarray(crank_angle, dtype=float))
    on = np.abs(degrees / step - np.round(degrees / step)) < 1e-6
    return np.nonzero((degrees >= ends[0] - 1e-6) & (degrees <= ends[1] + 1e-6) & on)[0]


@dataclass(frozen=True)
class Curve:
    """What stands in a chart: a line, a point, bars, or words in rows."""

    key: str  # its `meta` on the figure; also where y comes from, if `y` does not say it
    label: str  # words beside it and in the box under the pointer
    colour: str  # key of `sealkit.drawing.svg.COLOURS`
    chart: int = 0  # number of its chart
    # y, x: where the numbers come from, plain SI
    y: Get | None = None
    x: Get | None = None
    dash: str = "solid"  # one of `draw.DASHES`
    at: float | None = None  # where along x the label stands, in the shop's unit; None for no label
    # instead, the same as a share of its own length
    share: float | Callable[[Any], float] | None = None
    # instead, the number of the point that is labelled; 0 where points are marked
    point: int | None = None
    side: str | Callable[[Any], str] = "top right"  # where the label stands, from the line
    short: str = ""  # words on the chart, where `label` is too long for a phone
    level: bool = False  # whether it is one height from end to end
    raised: bool = False  # whether the label is kept off the line (a level's always is)
    marker: bool = False  # whether its points are marked
    bare: bool = False  # whether it has no label although its points are marked
    # "line"; "bars"; "rows", bars along x (`key` says x, y is 0, 1, 2, ...); "words", text at (x,
    # y), if these are left out above rows 0, 1, 2, ... of such bars
    form: str = "line"
    pattern: str = ""  # fill of bars: "/", "x", "."
    base: Get | None = None  # where bars along x start
    # (view, system) -> words on bars, on the points of a line, or in rows
    text: Callable[[Any, str], Sequence[str]] | None = None
    ranged: str = "xy"  # axes whose range holds it: "xy", "x", "y" or ""
    ghost: bool = False  # whether a thin grey line stays where this one was before the last change
    # further attributes of the trace, mappings merged
    style: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Plot:
    """Charts below each other and what stands in them."""

    charts: tuple[Axes, ...]  # from the top
    curves: tuple[Curve, ...]  # in the order they are drawn
    height: int = 720  # of the figure, pixels
    gap: float | None = None  # between charts, share of the figure; None takes what the titles need
    hover: str = "closest"  # "closest", or "x unified"
    shares: tuple[float, ...] = ()  # heights of the charts to one another; all alike if empty
    # share of the width that the first of two or three takes where the others stand beside it; 0
    # for about half, 1 for all below each other
    first: float = 0.0
    # result -> what the curves take their numbers from
    view: Callable[[Any], Any] = lambda result: result
    still: bool = False  # whether no x moves with the knobs; then it is not sent again
    style: Mapping[str, Any] = field(default_factory=dict)  # further layout, mappings merged
    _kept: list[tuple[Any, str, Any, dict[str, dict[str, Any]]]] = field(
        default_factory=list, init=False, repr=False, compare=False
    )

    def _found(self, result: Any, system: str) -> tuple[Any, dict[str, dict[str, Any]]]:
        """View of a result and numbers of the curves by key, kept for the last two: now, before."""
        for one in self._kept:
            if one[0] is result and one[1] == system:
                break
        else:
            view = self.view(result)
            found = {c.key: self._numbers(c, view, system) for c in self.curves}
            one = (result, system, view, found)
        self._kept[:] = [one, *(other for other in self._kept if other is not one)][:2]
        return one[2:]

    # ------------------------------------------------------------------ the three of a picture
    def traces(self, result: Any, system: str) -> list[dict[str, Any]]:
        """Traces as plotly takes them."""
        view = self.view(result)
        return [self._trace(c, view, system) for c in self.curves]

    def grey(self) -> list[dict[str, Any]]:
        """Traces of the ghosts and of their word, below all others: empty until something changes.

        The word has a trace of its own: on a line a browser makes one for each of its points.
        """
        made = [_grey(c) for c in self.curves if c.ghost]
        word = {"meta": _WORD, "mode": "markers+text", "text": ["before"], "marker": {"opacity": 0}}
        return made and [*made, {**made[0], **word, "cliponaxis": made[0]["cliponaxis"]}]

    def values(self, result: Any, system: str) -> Values:
        """What changes: the numbers of every curve, and words that are worked out."""
        left = ("x",) if self.still else ()
        found = self._found(result, system)[1]
        return {key: {k: v for k, v in one.items() if k not in left} for key, one in found.items()}

    def ghosts(self, before: Any, result: Any, system: str) -> Values:
        """Where curves that keep a ghost stood before, if they have moved and are of one kind.

        None for no ghosts.
        """
        out: dict[str, Mapping[str, Any]] = {}
        word: dict[str, Any] = {}  # one in the figure
        now, news = self._found(result, system)
        then, olds = (now, news) if before is None else self._found(before, system)
        for curve in (c for c in self.curves if c.ghost):
            kind = self.charts[curve.chart].kind
            old, new = olds[curve.key], news[curve.key]
            moved = any(
                old[k].shape != new[k].shape or not np.allclose(old[k], new[k], rtol=1e-3)
                for k in "xy"
            )
            shown = moved and _own(kind, then) == _own(kind, now)
            ghost = {k: old[k] if shown else np.empty(0) for k in "xy"}
            if curve.form == "bars" and shown:  # in the gap on the left, clear of all numbers
                gone = ~np.isclose(old["y"], new["y"], rtol=1e-3)
                ghost = {"x": old["x"][gone] - 0.47, "y": old["y"][gone]}
                word = word or _word(curve, ghost, new["y"][gone])
            elif shown:
                word = word or _word(curve, old, new["y"])
            out[_before(curve)] = ghost
        return out | {_WORD: word or {k: np.empty(0) for k in "xy"}} if out else out

    def layout(self, results: Sequence[Any], system: str, narrow: bool = False) -> dict[str, Any]:
        """Layout whose ranges hold all results; titles are those of the first."""
        views = [self.view(r) for r in results]
        held: list[dict[str, list[Array]]] = [{"x": [], "y": []} for _ in self.charts]
        for view in views:
            for curve in self.curves:
                found = self._numbers(curve, view, system) if curve.ranged else {}
                for axis in curve.ranged:
                    held[curve.chart][axis].append(found[axis])
        made = [
            _chart(axes, views[0], one, system) for axes, one in zip(self.charts, held, strict=True)
        ]
        height = self.height if narrow else None
        out = draw.layout(made, height, self.gap, self.hover, self.shares, self.first)
        for i, axes in enumerate(self.charts):
            if axes.rows:
                bare = {"showticklabels": False, "showgrid": False, "zeroline": False}
                out[f"yaxis{i + 1 if i else ''}"] |= bare
            if axes.fails:
                _shade(out, axes, i + 1 if i else "", system)
        return _merged(out, self.style)

    def numbers(self, key: str, result: Any, system: str = "metric") -> tuple[Array, Array]:
        """x and y of a curve in the shop's units."""
        found = self._found(result, system)[1][key]
        return found["x"], found["y"]

    # ------------------------------------------------------------------ one curve
    def _numbers(self, curve: Curve, view: Any, system: str) -> dict[str, Any]:
        """What moves of a curve: x, y, of bars along x also base, and words worked out."""
        axes = self.charts[curve.chart]
        words = None if curve.text is None else [minus(w) for w in curve.text(view, system)]
        x: Any = None if curve.x is None else _got(view, curve.x)
        y: Any = curve.y
        if curve.form == "rows":
            x = _got(view, curve.key) if x is None else x
            y = np.arange(np.size(x)) if y is None else _got(view, y)
        elif curve.form == "words" and y is None:
            x = 0.0 if x is None else x
            y = np.arange(len(words or ())) - _ABOVE
        else:
            y = _got(view, curve.key if y is None else y)
            if isinstance(y, tuple):
                x, y = y
        y = np.atleast_1d(np.asarray(y, dtype=float))
        if x is None and curve.form == "bars":
            x = np.arange(len(y))
        elif x is None and curve.level and axes.x is not None:
            x = _own(axes.x, view)
        elif x is None and axes.grid is not None:
            x = np.asarray(_got(view, axes.grid))
            x = x[[0, -1]] if curve.level else x
        x = np.atleast_1d(np.asarray(x, dtype=float)) if y.size else y
        x, y = np.broadcast_arrays(x, y)
        found: dict[str, Any] = {
            "x": draw.shop(x, axes.x_kind, system),
            "y": draw.shop(y, _own(axes.kind, view), system),
        }
        if curve.base is not None:
            found["base"] = draw.shop(_got(view, curve.base), axes.x_kind, system)
        if words is not None:
            found["text"] = words
        if callable(curve.side):
            found["textposition"] = curve.side(view)
        return found

    def _trace(self, curve: Curve, view: Any, system: str) -> dict[str, Any]:
        found = self._numbers(curve, view, system)
        made = _bars(curve) if curve.form in ("bars", "rows") else _line(curve, view, found["x"])
        return _merged(made | found, curve.style)


def _common(curve: Curve) -> dict[str, Any]:
    """What a trace of bars and one of a line have in common."""
    tail = "" if curve.chart == 0 else str(curve.chart + 1)
    along = "x" if curve.form == "rows" else "y"
    return {
        "name": curve.label,
        "meta": curve.key,
        "xaxis": f"x{tail}",
        "yaxis": f"y{tail}",
        "cliponaxis": False,
        "hovertemplate": f"{curve.label}: %{{{along}:.4g}}<extra></extra>",
    }


def _bars(curve: Curve) -> dict[str, Any]:
    """Bars, or rows of them, with words on them."""
    pattern = {"shape": curve.pattern, "fgcolor": "#fff", "solidity": 0.3}
    return _common(curve) | {
        "type": "bar",
        "text": None,
        "textposition": "outside",
        "textfont": {"size": draw.FONT, "color": draw.INK},
        "marker": {"color": COLOURS[curve.colour], "pattern": pattern},
        **({"orientation": "h", "width": 0.34} if curve.form == "rows" else {}),
    }


def _line(curve: Curve, view: Any, x: Array) -> dict[str, Any]:
    """A line with its label, points, or words."""
    at, point = curve.at, curve.point
    if curve.share is not None and x.size:
        at = float(x[0] + _own(curve.share, view) * (x[-1] - x[0]))
    elif at is None and curve.marker and not curve.bare:
        point = point or 0
    labelled, text = at is not None or point is not None, [""] * len(x)
    if at is not None and len(x):
        point = int(np.argmin(np.abs(x - at)))
    if point is not None and len(x):
        text[point] = curve.short or curve.label
    # the unseen markers of a level keep its label off the line
    marks = "lines+markers" if curve.level or curve.raised or curve.marker else "lines"
    thick = 2 if curve.dash != "solid" else 3
    shape = {"color": COLOURS[curve.colour], "dash": curve.dash, "width": thick}
    return _common(curve) | {
        "type": "scatter",
        "mode": "text" if curve.form == "words" else marks + ("+text" if labelled else ""),
        "marker": {"size": 9, "opacity": 1} if curve.marker else {"size": 5, "opacity": 0},
        "text": text,
        "textposition": _own(curve.side, view),
        "textfont": {"size": draw.FONT, "color": draw.INK, "shadow": draw.HALO},
        "line": {**shape, "simplify": False},
        **({"hoverinfo": "skip"} if curve.form == "words" else {}),
    }


def _shade(out: dict[str, Any], axes: Axes, tail: int | str, system: str) -> None:
    """Where something fails, shaded, with its word in the corner."""
    assert axes.fails is not None
    along, *ends, word = axes.fails
    kind = axes.x_kind if along == "x" else axes.kind
    shown = [
        limit if end is None else float(draw.shop(end, str(kind), system))
        for end, limit in zip(ends, out[f"{along}axis{tail}"]["range"], strict=True)
    ]
    across = "y" if along == "x" else "x"
    where = {f"{along}ref": f"{along}{tail}", f"{across}ref": f"{across}{tail} domain"}
    zone = {f"{along}0": shown[0], f"{along}1": shown[1], f"{across}0": 0, f"{across}1": 1}
    shape = {"type": "rect", "layer": "below", "line": {"width": 0}, "fillcolor": FAILS}
    out.setdefault("shapes", []).append({**shape, **where, **zone})
    corner = {"x": shown[1], "y": 0.0} if along == "x" else {"x": 1.0, "y": shown[1]}
    side = {"xanchor": "right", "yanchor": "bottom" if along == "x" else "top"}
    font = {"size": draw.SMALL, "color": COLOURS["gas load"]}
    out["annotations"].append(
        {"text": word, "showarrow": False, "font": font, **where, **corner, **side}
    )


def _before(curve: Curve) -> str:
    return f"{curve.key} before"


_WORD = "before"


def _word(curve: Curve, old: Mapping[str, Array], new: Array) -> dict[str, Any]:
    """The word of a ghost: on its right half, on the side where the line now is not."""
    y = old["y"]
    off = y - new if y.shape == new.shape else np.ones(y.size)
    if curve.form == "bars":  # over its bar, clear of the number above that
        at = int(np.argmax(np.abs(off)))
        clear = 0.2 * max(y.max(), new.max())
        above, side = off[at] > clear or y[at] < clear, "right"
    else:
        low = int(0.7 * y.size)
        at = low + int(np.argmax(np.abs(off[low : int(0.8 * y.size) or 1])))
        if y[at] <= 0.01 * y.max():  # on the axis: to where it stands highest
            at = int(np.argmax(y))
        above, rises = off[at] > 0 or y[at] == 0.0, bool(y[at] > y[at - 1])
        side = "left" if above == rises else "right"
    tail = "" if curve.chart == 0 else str(curve.chart + 1)
    return {
        **{k: old[k][at : at + 1] for k in "xy"},
        "xaxis": f"x{tail}",
        "yaxis": f"y{tail}",
        "textposition": f"{'top' if above else 'bottom'} {side}",
        "marker.size": _size(curve),
    }


def _size(curve: Curve) -> float:
    """Of a ghost's marks, pixels."""
    return 8.0 if curve.form == "bars" else 9.0 if curve.marker else 0.0


def _grey(curve: Curve) -> dict[str, Any]:
    """The trace of a ghost."""
    bars = curve.form == "bars"
    plain = Curve(_before(curve), "before", curve.colour, curve.chart, bare=True,
                  marker=bars or curve.marker)  # fmt: skip
    made = _line(plain, None, np.empty(0)) | {"x": np.empty(0), "y": np.empty(0)}
    mark = {"symbol": "line-ew", "line": {"width": 3, "color": draw.FAINT}}
    return _merged(
        made,
        {
            "mode": "markers" if bars else made["mode"],
            "textfont": {"color": draw.AXIS},
            "line": {"color": draw.FAINT, "width": 1.5},
            "marker": {"size": _size(curve), **(mark if bars else {"color": draw.FAINT})},
            **({} if bars else {"hoverinfo": "skip", "hovertemplate": None}),
        },
    )


def _chart(axes: Axes, view: Any, held: Mapping[str, list[Array]], system: str) -> draw.Chart:
    """The axes of a chart whose curves hold these numbers (in the shop's units)."""
    kind = _own(axes.kind, view)

    def ends(fixed: Any, one: str, kind: str, zero: bool, room: float) -> tuple[float, float]:
        low, high = _own(fixed, view) or (None, None)
        first, last = draw.span(*held[one], zero=zero, room=room) if held[one] else (0.0, 1.0)
        return (
            first if low is None else float(draw.shop(low, kind, system)),
            last if high is None else float(draw.shop(high, kind, system)),
        )

    x = (-0.6, len(axes.names) - 0.4) if axes.names else axes.x
    return draw.Chart(
        _titled(_own(axes.title, view), kind, system),
        ends(axes.y, "y", kind, axes.zero, axes.room),
        ends(x, "x", axes.x_kind, axes.x_zero, axes.x_room),
        _titled(axes.x_title, axes.x_kind, system),
        axes.ticks,
        axes.names,
    )


def _got(view: Any, get: Get) -> Any:
    """A number of the view."""
    if callable(get):
        return get(view)
    if isinstance(get, str):
        return view[get] if isinstance(view, Mapping) else operator.attrgetter(get)(view)
    return get


def _own(value: Any, view: Any) -> Any:
    """A value that may be a function of the view."""
    return value(view) if callable(value) else value


def _titled(words: str, kind: str, system: str) -> str:
    unit = show_unit(kind, system)
    if not words or "{unit}" in words:
        return words.replace("{unit}", unit)
    return f"{words}, {unit}" if unit else words


def _merged(one: dict[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    """Mappings inside one another merged."""
    for key, value in more.items():
        both = isinstance(value, Mapping) and isinstance(one.get(key), Mapping)
        one[key] = _merged(dict(one[key]), value) if both else value
    return one
