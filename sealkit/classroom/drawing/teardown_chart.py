"""A used gasket: order of failure, springback, the face against shop rules; a bow, drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from sealkit.classroom.drawing.draw import SMALL
from sealkit.classroom.drawing.plot import ABOVE_BARS, Axes, Curve, Plot
from sealkit.drawing.svg import COLOURS, framed, line, rect, word
from sealkit.report.inspection import Inspection
from sealkit.sealing.surfaces import SurfaceText
from sealkit.units import show
from sealkit.words import note

ROUGH_MOST, BOW_MOST = 3.5e-6, 250e-6  # m, the most that the knobs give
_BEYOND = 1.02  # of those, the end of the axes, where windows without an end stop
_STEPS = 5  # of the order of failure
_TEXTS = 5  # on a chart
_THIN: Any = {"width": 0.22}  # bars with a line of words above each


def _windows(texts: Sequence[SurfaceText], end: float) -> dict[str, Any]:
    """Start, length and words of the bars of texts; one without a figure has no length."""
    shown = texts[:_TEXTS]
    starts = [0.0 if t.least is None else float(t.least) for t in shown]
    ends = [
        0.0 if t.least is None and t.most is None else end if t.most is None else t.most
        for t in shown
    ]
    return {
        "start": np.array(starts),
        "size": np.minimum(np.array(ends, dtype=float), end) - np.array(starts),
        "words": [
            f"{t.key}: no figure" if t.least is None and t.most is None else t.key for t in shown
        ],
    }


def _view(found: Inspection) -> dict[str, Any]:
    return {
        "steps": found.order[:_STEPS],
        "ambient": found.report.gas.ambient,
        "peak": found.report.gas.design_peak,
        "spring": np.array(found.springback),
        "rough": found.rough,
        "bow": found.bow,
        "finish": _windows(found.finish, _BEYOND * ROUGH_MOST),
        "flat": _windows(found.flat, _BEYOND * BOW_MOST),
    }


def _gives(view: dict[str, Any], system: str) -> list[str]:
    rest = "nothing else up to 3 × design peak"
    return [
        f"{show(p, 'pressure', system) if p > view['ambient'] else 'without gas'}: {words}"
        for p, words in view["steps"]
    ] + [rest if view["steps"] else rest.replace(" else", "")] * (len(view["steps"]) < _STEPS)


def _ticks(key: str, label: str, chart: int, get: str, rows: str, most: float = np.inf) -> Curve:
    """A tick through every bar of a chart of rows, labelled below them, on the side with room."""

    def count(view: dict[str, Any]) -> int:
        return len(view[rows] if rows == "steps" else view[rows]["words"])

    def places(view: dict[str, Any]) -> tuple[Any, Any]:
        # the label first: plotly loses one whose number changes
        y = np.append((_STEPS if rows == "steps" else count(view)) - 0.4, np.arange(count(view)))
        return np.full(y.size, view[get]), y

    def side(view: dict[str, Any]) -> str:
        return f"middle {'left' if view[get] > 0.6 * most else 'right'}"

    line = {"width": 3, "color": COLOURS["gas load"]}
    return Curve(key, label, "gas load", chart, places, marker=True, side=side,
                 text=lambda view, _: [label, *[""] * count(view)],
                 style={"mode": "markers+text",
                        "marker": {"symbol": "line-ns", "size": 7, "line": line},
                        "hovertemplate": f"{label}: %{{x:.4g}}<extra></extra>"})  # fmt: skip


def _words(key: str, label: str, chart: int, text: Callable[[Any, str], Sequence[str]]) -> Curve:
    return Curve(
        key,
        label,
        "strength",
        chart,
        x=0.0,
        y=lambda view: np.arange(len(text(view, "metric"))) - 0.5,
        form="words",
        side="middle right",
        text=text,
        style={"textfont": {"size": SMALL}},
    )


def _texts(
    chart: int, key: str, what: str, colour: str, pattern: str, mine: str, most: float
) -> list[Curve]:
    """What the shop rules want, this face, and their names."""
    return [
        Curve(key, f"wanted {what}", colour, chart, x=lambda v: v[key]["size"], form="rows",
              base=lambda v: v[key]["start"], pattern=pattern, style=_THIN),
        _ticks(f"{key} now", "this face", chart, mine, key, most),
        _words(f"{key} words", f"shop rule on {what}", chart, lambda v, _: v[key]["words"]),
    ]  # fmt: skip


def _rows(key: str) -> dict[str, Any]:
    """Upright range of a chart of as many rows as there are texts."""
    return {"y": lambda view: (len(view[key]["words"]) + 0.1, -0.95), "rows": True}


PLOT = Plot(
    charts=(
        Axes("New seal, as taken, fails at", "number", "Peak pressure, {unit} absolute",
             "pressure", x=(0.0, None), y=(_STEPS + 0.1, -0.95), rows=True),
        Axes("Springback", "lift", room=0.6, names=("new seal", "this seal", "lift")),
        Axes("Roughness that shop rules want", "number", "Ra", "roughness",
             x=(0.0, _BEYOND * ROUGH_MOST), **_rows("finish")),
        Axes("Flatness that shop rules allow", "number", "Out of flat", "lift",
             x=(0.0, _BEYOND * BOW_MOST), **_rows("flat")),
    ),
    curves=(
        Curve("order", "fails at", "pressure", form="rows", style=_THIN,
              x=lambda view: np.array([p for p, _ in view["steps"]])),
        _ticks("peak", "design peak", 0, "peak", "steps"),
        _words("order words", "what fails", 0, _gives),
        Curve("spring", "springback and lift", "seal load", 1, form="bars", ghost=True),
        Curve("spring words", "springback and lift", "seal load", 1, x=(0.0, 1.0, 2.0),
              y="spring", form="words", side="top center", style=ABOVE_BARS,
              text=lambda view, system: [show(v, "lift", system) for v in view["spring"]]),
        *_texts(2, "finish", "roughness", "clamp", "/", "rough", ROUGH_MOST),
        *_texts(3, "flat", "flatness", "strength", ".", "bow", BOW_MOST),
    ),
    height=1300,
    shares=(1.45, 0.55, 1.0, 1.0),  # five rows want more than three bars
    view=_view,
    style={"barmode": "overlay"},
)  # fmt: skip


# --------------------------------------------------------------------------- the bow
_TOLD = (
    "The face of the head under a straight edge. Over {reach} it is out of flat by {bow}. Within "
    "one bore {inside} of that is left once the fasteners beside it are home."
)
_BELOW = (
    "The gap under the straight edge is drawn much too large. {count} bores lie below; a long bow "
    "is pulled flat bore by bore."
)
_LEFT, _RIGHT, _FACE = 20.0, 620.0, 70.0  # ends of the straight edge, and the face below it
_EXAGGERATED, _DEEPEST, _DEEP = 0.24e6, 90.0, 35.0  # from _DEEP on, words find room in the gap


def bow(found: Inspection, system: str) -> tuple[str, str]:
    """The face along the head under a straight edge, its bow drawn much too large; and in words."""
    build = found.report.build
    count, long = build.bores_per_head, _RIGHT - _LEFT
    deep = min(_EXAGGERATED * found.bow, _DEEPEST)
    within = min(build.gasket.seal_diameter / found.span, 1.0) * long
    figures = {
        "bow": (found.bow, "lift"),
        "inside": (found.inside, "lift"),
        "reach": (found.span, "length", 0 if system == "metric" else 1),
    }
    told = note(_TOLD, **figures).text(system)
    middle, purple, orange = 0.5 * (_LEFT + _RIGHT), COLOURS["seal load"], COLOURS["gas load"]

    def words(x: float, y: float, template: str, colour: str = "#111") -> str:
        return word(x, y, note(template, **figures).text(system), more=f" fill='{colour}'")

    below = deep < _DEEP
    dip = f"M{_LEFT},{_FACE} Q{middle},{_FACE + 2 * deep:.1f} {_RIGHT},{_FACE}"
    shapes = [
        rect(_LEFT, _FACE - 22, long, 20, "#8f979e"),
        f"<path d='{dip} V{_FACE + 96:g} H{_LEFT} Z' fill='#e3e7ea' stroke='#333'/>",
        line(f"M{middle},{_FACE} V{_FACE + deep:.1f}", orange, 4),
        *(
            rect(_LEFT + long * (i + 0.07) / count, _FACE + 100, 0.86 * long / count, 16, "none")
            for i in range(count)
        ),
        line(f"M{middle - within / 2:.1f},{_FACE + 132:g} h{within:.1f}", purple, 4),
        words(_LEFT, 36, "straight edge, {reach} long"),
        words(middle + 8 - 48 * below, _FACE + (deep + 26 if below else 26), "{bow}", orange),
        words(_LEFT + 10, _FACE + 84, "face of the head"),
        words(_LEFT, _FACE + 158, "within one bore: {inside}"),
    ]
    under = note(_BELOW, count=str(count)).text(system)
    return framed(shapes, (640, 240), told, under, font=26), told
