"""Charts to print: black ink on white, lines told apart by dashes and the words beside them."""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from sealkit.arrays import Array
from sealkit.drawing.svg import circle, framed, line, rect

_LEFT, _RIGHT, _TOP, _BOTTOM = 62.0, 14.0, 30.0, 46.0
_KEY = 300.0  # the key, from the right edge
_DOTTED = " stroke-dasharray='2 3'"
_HALO = "paint-order='stroke' stroke='#fff' stroke-width='4' stroke-linejoin='round'"


class Axis(NamedTuple):
    """Title with its unit, low and high end, distance of the ticks (None: a round one)."""

    title: str
    low: float
    high: float
    step: float | None = None


class Curve(NamedTuple):
    """A line: its points, the words beside it, where along x these stand (None: in a key)."""

    x: Array
    y: Array
    label: str
    at: float | None
    dash: str = ""
    below: bool = False
    anchor: str = "middle"
    colour: str = "#111"


class Mark(NamedTuple):
    """A thin line right across the chart at one value, with words; level or upright.

    The words of a level one stand on it, or `above` everything.
    """

    value: float
    label: str
    level: bool = True
    above: bool = False


def word(
    x: float, y: float, text: str, anchor: str = "middle", size: float = 14, bold: bool = False
) -> str:
    """Words with white round the letters, so that lines behind do not hide them."""
    weight = " font-weight='700'" if bold else ""
    return (
        f"<text x='{x:.1f}' y='{y:.1f}' font-size='{size:g}' text-anchor='{anchor}'{weight} "
        f"{_HALO}>{html.escape(text)}</text>"
    )


def _round_step(span: float, least: float) -> float:
    """The widest round distance of ticks that gives at least so many."""
    size = 10.0 ** np.floor(np.log10(span / least))
    return float(max(s * size for s in (1.0, 2.0, 5.0) if span / (s * size) >= least))


def chart(
    x: Axis,
    y: Axis,
    curves: Sequence[Curve],
    words: str,
    marks: Sequence[Mark] = (),
    between: tuple[Array, Array, Array] | None = None,
    caption: str = "",
    wide: float = 440.0,
    high: float = 270.0,
    dots: Sequence[tuple[float, float, str]] = (),
    read: bool = False,
) -> str:
    """Lines on one pair of axes, as an HTML figure.

    Parameters
    ----------
    x, y : the axes
    curves : the lines
    words : what it shows, for a screen reader
    marks : lines right across
    between : x, lower and upper edge of a shaded area
    caption : the line below
    wide, high : of the drawing
    dots : (x, y, words) of single points
    read : whether numbers are read off it: a grid both ways, and the key below the axes
    """
    floor, ceiling, edge = high - _BOTTOM, _TOP, wide - _RIGHT - 12.0 * read
    high += 22.0 * len(curves) * read

    def px(value: Any) -> Any:
        return _LEFT + (np.asarray(value) - x.low) / (x.high - x.low) * (edge - _LEFT)

    def py(value: Any) -> Any:
        inside = np.clip(value, y.low, y.high)
        return floor - (inside - y.low) / (y.high - y.low) * (floor - ceiling)

    def points(a: Any, b: Any) -> str:
        return " ".join(f"{u:.1f},{v:.1f}" for u, v in zip(px(a), py(b), strict=True))

    out = []
    if between is not None:
        over, low, top = between
        outline = points(np.append(over, over[::-1]), np.append(top, low[::-1]))
        out.append(f"<polygon points='{outline}' fill='#dcdcdc'/>")
    for axis, level in ((x, False), (y, True)):
        step = axis.step or _round_step(axis.high - axis.low, 4.0 if level else 3.0)
        ticks = step * np.arange(np.ceil(axis.low / step - 1e-9), axis.high / step + 1e-9)
        digits = max(0, -int(np.floor(np.log10(step) + 1e-9)))
        for t in ticks:
            said = f"{t + 0.0:,.{digits}f}"
            if level:
                at = py(t)
                out.append(line(f"M{_LEFT:g},{at:.1f} H{edge:g}", "#e3e3e3"))
                out.append(word(_LEFT - 6, at + 5, said, "end"))
            else:
                at = px(t)
                way, grey = (f"V{ceiling:g}", "#e3e3e3") if read else ("v5", "#111")
                out.append(line(f"M{at:.1f},{floor:g} {way}", grey))
                out.append(word(at, floor + 19, said))
    out.append(line(f"M{_LEFT:g},{ceiling:g} V{floor:g} H{edge:g}", "#111"))
    out.append(word((_LEFT + edge) / 2, floor + 38, x.title))
    out.append(word(4, 16, y.title, "start", bold=True))
    for i, mark in enumerate(marks):
        if mark.level:
            at = float(py(mark.value))
            out.append(line(f"M{_LEFT:g},{at:.1f} H{edge:g}", "#111", more=_DOTTED))
            up = ceiling + 10 if mark.above else at - 5
            out.append(word(edge - 4, up, mark.label, "end"))
        else:
            at = float(px(mark.value))
            out.append(line(f"M{at:.1f},{floor:g} V{ceiling:g}", "#111", more=_DOTTED))
            side = "end" if at > 0.6 * wide else "start"
            # one below the other, so that neighbours do not run into each other
            down = ceiling + 12 + 16 * i
            out.append(word(at + (-5 if side == "end" else 5), down, mark.label, side))
    key, keyed = (_LEFT, floor + 42.0) if read else (wide - _KEY, ceiling)
    for c in curves:
        dash = f" stroke-dasharray='{c.dash}'" if c.dash else ""
        out.append(f"<polyline points='{points(c.x, c.y)}' fill='none' stroke='{c.colour}' "
                   f"stroke-width='{1.6 if c.dash else 2.4}'{dash}/>")  # fmt: skip
        if c.at is None:
            keyed += 21.0
            out.append(line(f"M{key:g},{keyed - 5:g} h44", c.colour, 2.4, dash))
            out.append(word(key + 52, keyed, c.label, "start"))
    for c in curves:
        if c.at is None:
            continue
        at = float(py(np.interp(c.at, c.x, c.y))) + (19 if c.below else -8)
        out.append(word(float(px(c.at)), at, c.label, c.anchor))
    for u, v, label in dots:
        a, b = float(px(u)), float(py(v))
        out.append(circle(a, b, 5.0, "#fff", thick=2.4))
        out.append(word(a - 9, b - 10, label, "end"))
    return framed(out, (wide, high), words, caption, font=14, most=1.1 * wide)


def bar(margin: float, band: tuple[float, float] | None = None, close: bool = False) -> str:
    """A margin as a bar from zero: solid to the right where it holds, hatched to the left.

    Dotted on either side where it is too `close` to call. `band` is drawn as a thin line over it;
    what goes beyond 1 ends in a tip.
    """

    def px(value: float) -> float:
        return 60.0 + 130.0 * min(max(value, -0.45), 1.0)

    zero, end = px(0.0), px(margin)
    out = ["<svg viewBox='0 0 200 16' class='bar' aria-hidden='true'>"]
    if close:
        low, wide = min(zero, end), abs(end - zero)
        marks = "".join(f"M{x:.1f},{y:g} h2 " for x in np.arange(low + 1, low + wide - 1, 4.0)
                        for y in (5, 8, 11))  # fmt: skip
        out.append(rect(low, 3.0, wide, 10.0, "#fff", "#111") + line(marks, "#111"))
    elif margin >= 0:
        out.append(rect(zero, 3.0, end - zero, 10.0, "#8a8a8a", "none"))
        if margin > 1.0:
            out.append(f"<path d='M{end:g},3 l7,5 l-7,5 Z' fill='#8a8a8a'/>")
    else:
        marks = "".join(f"M{x:g},13 l6,-10 " for x in np.arange(end, zero - 5, 5.0))
        out.append(rect(end, 3.0, zero - end, 10.0, "#fff", "#111") + line(marks, "#111"))
    if band is not None:
        low, high = px(band[0]), px(band[1])
        out.append(line(f"M{low:.1f},8 H{high:.1f} M{low:.1f},4 v8 M{high:.1f},4 v8", "#111", 1.4))
    return "".join([*out, line(f"M{zero:g},0 V16", "#111", 2.0), "</svg>"])
