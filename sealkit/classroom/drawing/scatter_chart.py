"""Many builds: how many have which margin, and what that comes from; one fastener's preload."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.classroom.drawing.plot import Axes, Curve, Plot
from sealkit.drawing.svg import COLOURS, framed, line, word
from sealkit.scatter import DAMAGE, GAS_LEAK, LIQUID_LEAK, Room, Scatter
from sealkit.units import show
from sealkit.words import note

_LOW, _HIGH, _WIDE = -0.5, 1.5, 0.05  # margins shown, and width of a bar
_EDGES = np.linspace(_LOW, _HIGH, round((_HIGH - _LOW) / _WIDE) + 1)
_BAR = 0.24  # thickness of a bar; a row is 1 high, its name above the bars
_MARGINS = {"seal": GAS_LEAK, "strength": DAMAGE}
_PAST = {"seal": 39, "strength": 24}  # bars where a name stands if most builds lie past the end


def _view(many: Scatter) -> dict[str, Any]:
    found: dict[str, Any] = {
        "middle": 0.5 * (_EDGES[1:] + _EDGES[:-1]),
        "rows": np.arange(len(many.inputs), dtype=float),
        "names": [one.brief for one in many.inputs],
    }
    for name, group in _MARGINS.items():
        key = many.nearest(group).key
        found[name], found[f"{name} share"] = many.bars(key, _EDGES), many.parts(key)
        found[f"{name} higher"] = many.above(key, _HIGH)
        found[f"{name} lower"] = 1.0 - many.above(key, _LOW)
    return found


def _spot(view: Any, key: str) -> int:
    """The highest point; where most builds lie past the axis, one that no other name stands on."""
    return _PAST[key] if view[f"{key} higher"] > 0.5 else int(np.argmax(view[key]))


def _name(key: str, other: str) -> Curve:
    """A name on the highest point, with how many builds lie past either end of the axis.

    It is a trace of one point: on a line a browser keeps a word for each of its points, and may
    lose one that goes to another.
    """

    def told(view: Any, _: str) -> list[str]:
        words = key
        for what in ("lower", "higher"):
            if (share := 100.0 * view[f"{key} {what}"]) >= 0.5:
                words += f"<br>{share:.0f} % {what}"
        return [words]

    def side(view: Any) -> str:
        """Away from the other name, as far as the chart goes."""
        at = _spot(view, key)
        if at > _spot(view, other):
            return "top right" if at <= 28 else "top center" if at <= 34 else "top left"
        return "top left" if at >= 12 else "top center" if at >= 6 else "top right"

    return Curve(
        f"{key} name",
        f"name of {key}",
        "strength",
        x=lambda view: view["middle"][_spot(view, key)],
        y=lambda view: view[key][_spot(view, key)],
        form="words",
        side=side,
        text=told,
    )


def _part(name: str, colour: str, shift: float, pattern: str = "") -> Curve:
    style = {
        "width": _BAR,
        "constraintext": "none",
        "hovertemplate": f"{name}: %{{x:.0f}} %<extra></extra>",
    }
    key = f"{name} share"
    return Curve(
        key,
        f"{name}: part of its spread",
        colour,
        chart=1,
        y=lambda view: view["rows"] + shift,
        form="rows",
        pattern=pattern,
        style=style,
    )


PLOT = Plot(
    charts=(
        Axes("Builds by margin", "fraction", "Margin, {unit}", "fraction",
             "middle", (_LOW, _HIGH), ticks=50, fails=("x", None, 0.0, "fails"),
             y=lambda view: (0.0, min(2.0 * max(map(np.max, (view[k] for k in _MARGINS))), 1.05))),
        Axes("By input; striped: strength", "number", "Part of each spread",
             "fraction", x=(0.0, 1.05),
             y=lambda view: (len(view["rows"]) - 0.55, -0.7), ticks=50, rows=True),
    ),
    curves=(
        Curve("seal", "seal", "seal load", ghost=True),
        Curve("strength", "strength", "strength", dash="dash"),
        _name("seal", "strength"),
        _name("strength", "seal"),
        Curve("inputs", "what scatters", "probability", 1, lambda view: view["rows"] - 0.33, 0.0,
              form="words", side="middle right", text=lambda view, _: view["names"]),
        _part("seal", "seal load", 0.0),
        _part("strength", "strength", _BAR, "/"),
    ),
    height=820,
    gap=0.12,
    hover="x unified",
    shares=(0.36, 0.52),  # the rows of names and bars want more
    view=_view,
)  # fmt: skip


# --------------------------------------------------------------------------- a hundred builds
_COUNT, _ROW, _APART, _HIGH_ROW = 100, 15, 31.0, 27.0  # engines, of a row, their distances
_PALE = "#e6f3ee"
_FATES = {
    "": ("hold", COLOURS["clamp"], "✓"),
    GAS_LEAK: ("leak gas", COLOURS["gas load"], "✗"),
    LIQUID_LEAK: ("weep", COLOURS["liquid"], "~"),
    DAMAGE: ("damaged", COLOURS["strength"], "!"),
}


def hundred(many: Scatter) -> str:
    """SVG: small engines, one for each of the first hundred builds, with what became of them."""
    fates = many.fates(_COUNT, filter(None, _FATES))
    counts = [
        (number, *look)
        for fate, look in _FATES.items()
        if (number := sum(f == fate for f in fates)) or not fate
    ]
    shapes, x = [], 4.0
    for number, became, colour, mark in counts:
        mark = f"<tspan fill='{colour}'>{mark}</tspan>"
        text = f"{number} {became}"
        shapes.append(f"<text x='{x:g}' y='18' font-weight='bold'>{mark} {text}</text>")
        x += 36 + 10 * len(text)
    for i, fate in enumerate(fates):
        _, colour, mark = _FATES[fate]
        left, top = 4 + _APART * (i % _ROW), 28 + _HIGH_ROW * (i // _ROW)
        # no transforms: a browser draws each of them apart
        way = f"M{left + 5:g},{top:g}h16v5h-16ZM{left + 2:g},{top + 6:g}h22v15h-22Z"
        shapes.append(
            f"<path d='{way}' stroke='{colour}' fill='{colour if fate else _PALE}'/>"
            f"<text x='{left + 13:g}' y='{top + 19:g}' font-size='15' text-anchor='middle' "
            f"fill='{'#fff' if fate else colour}'>{mark}</text>"
        )
    told = "; ".join(f"{number} {became}" for number, became, *_ in counts)
    rows = -(-len(fates) // _ROW)
    over = 4 + _APART * (len(fates) % _ROW)  # what the last row leaves free
    shapes.append(f"<text x='{over:g}' y='{_HIGH_ROW * rows + 20:g}'>the first {len(fates)}</text>")
    words = f"The first {len(fates)} builds of this sheet as small engines: {told}."
    return framed(shapes, (_APART * _ROW + 4, 28 + _HIGH_ROW * rows), words, font=17, most=620)


# --------------------------------------------------------------------------- one fastener
_TOLD = (
    "The preload of one fastener as tightened: mean {mean}, standard deviation {deviation}. Its "
    "share of the gas force at the design peak pressure: {gas}, {steps} standard deviations below "
    "the mean."
)
_BASE, _RISE = 231.0, 170.0  # of the curve


def bell(one: Room, system: str) -> tuple[str, str]:
    """The normal curve of the preload with the gas beside it; and it in words."""
    force, height = one.curve()
    low, high = min(one.gas, force[0]), force[-1]
    room = 0.08 * (high - low)

    def at(value: float) -> float:
        return float(np.interp(value, [low - room, high + room], [20.0, 620.0]))

    told = note(
        _TOLD,
        mean=(one.mean, "force"),
        deviation=(one.deviation, "force", 2),
        gas=(one.gas, "force"),
        steps=(one.deviations, "number", 1),
    ).text(system)
    points = zip(force, _BASE - 1 - _RISE * height, strict=True)
    curve = " ".join(f"{at(f):.1f},{y:.1f}" for f, y in points)
    gas, mean = at(one.gas), at(one.mean)
    purple, red = COLOURS["clamp"], COLOURS["gas load"]

    shapes = [
        f"<polyline points='{curve}' fill='none' stroke='{purple}' stroke-width='4'/>",
        line(f"M10,{_BASE:g} H630", "#333", 2),
        line(f"M{mean:.1f},60 V{_BASE:g}", purple, 3, " stroke-dasharray='6 6'"),
        word(mean, 46, f"preload, {show(one.mean, 'force', system)}", "middle"),
        line(f"M{gas:.1f},120 V{_BASE:g}", red, 4),
        word(max(gas, 12), 108, f"gas, {show(one.gas, 'force', system)}"),
        line(f"M{gas:.1f},250 H{mean:.1f}", "#333", 2),
        word(0.5 * (gas + mean), 274, f"{one.deviations:.1f} standard deviations", "middle"),
    ]
    return framed(shapes, (640, 290), told, told, font=20, most=640), told
