"""Small charts to read on a job card: lines over a grid with ticks in the shop's unit, as SVG."""

from __future__ import annotations

import html
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit.classroom.drawing.draw import AXIS, INK
from sealkit.drawing.svg import COLOURS
from sealkit.units import show_unit, show_value

_W, _H = 480, 400
_LEFT, _RIGHT, _TOP, _BOTTOM = 84, 24, 12, 122
_GRID = "#ddd"


@dataclass(frozen=True)
class Curve:
    """One line: label, plain SI numbers, key of `svg.COLOURS`, and an SVG dash pattern."""

    label: str
    x: NDArray[np.float64]
    y: NDArray[np.float64]
    colour: str
    dash: str = ""


@dataclass(frozen=True)
class Chart:
    """Lines over one pair of axes; each axis is (words, kind of quantity)."""

    title: str
    x: tuple[str, str]
    y: tuple[str, str]
    curves: tuple[Curve, ...]

    def svg(self, system: str = "metric") -> str:
        """The chart in the shop's units, the same bytes for the same numbers."""
        xs = [np.asarray(show_value(c.x, self.x[1], system), dtype=float) for c in self.curves]
        ys = [np.asarray(show_value(c.y, self.y[1], system), dtype=float) for c in self.curves]
        x_low, x_high, x_ticks = _ticks(xs, False)
        y_low, y_high, y_ticks = _ticks(ys, True)

        def at_x(v: Any) -> Any:
            return _LEFT + (v - x_low) / (x_high - x_low) * (_W - _LEFT - _RIGHT)

        def at_y(v: Any) -> Any:
            return _TOP + (y_high - v) / (y_high - y_low) * (_H - _TOP - _BOTTOM)

        base, side = _H - _BOTTOM, _W - _RIGHT
        out = [
            f"<svg viewBox='0 0 {_W} {_H}' role='img' style='width:100%;max-width:540px;"
            f"height:auto;background:#fff' aria-label='Chart to read: {html.escape(self.title)}' "
            f"font-family='sans-serif' font-size='15' fill='{INK}'>"
        ]
        for v, text in x_ticks:
            x = at_x(v)
            out.append(f"<path d='M{x:.1f} {_TOP}V{base}' stroke='{_GRID}'/>")
            out.append(f"<text x='{x:.1f}' y='{base + 18}' text-anchor='middle'>{text}</text>")
        for v, text in y_ticks:
            y = at_y(v)
            out.append(f"<path d='M{_LEFT} {y:.1f}H{side}' stroke='{_GRID}'/>")
            out.append(f"<text x='{_LEFT - 6}' y='{y + 5:.1f}' text-anchor='end'>{text}</text>")
        out.append(f"<path d='M{_LEFT} {_TOP}V{base}H{side}' fill='none' stroke='{AXIS}'/>")
        for curve, x, y in zip(self.curves, xs, ys, strict=True):
            points = " ".join(
                f"{a:.1f},{b:.1f}" for a, b in zip(at_x(x), at_y(y), strict=True) if b > _TOP - 1
            )
            dash = f" stroke-dasharray='{_dash(curve.dash)}'" if curve.dash else ""
            out.append(
                f"<polyline points='{points}' fill='none' stroke='{COLOURS[curve.colour]}' "
                f"stroke-width='2.5'{dash}/>"
            )
        out.append(self._words(system, base))
        return "".join([*out, "</svg>"])

    def _words(self, system: str, base: int) -> str:
        """Titles of the axes, and what each line is."""
        x_unit, y_unit = show_unit(self.x[1], system), show_unit(self.y[1], system)
        x_title = html.escape(f"{self.x[0]}{f', {x_unit}' if x_unit else ''}")
        y_title = html.escape(f"{self.y[0]}{f', {y_unit}' if y_unit else ''}")
        middle = (_LEFT + _W - _RIGHT) / 2
        up = (_TOP + base) / 2
        out = [
            f"<text x='{middle:.0f}' y='{base + 38}' text-anchor='middle'>{x_title}</text>",
            f"<text x='16' y='{up:.0f}' text-anchor='middle' "
            f"transform='rotate(-90 16 {up:.0f})'>{y_title}</text>",
        ]
        for place, curve in enumerate(self.curves):
            x, y = _LEFT, base + 64 + 22 * place
            dash = f" stroke-dasharray='{_dash(curve.dash)}'" if curve.dash else ""
            out.append(
                f"<path d='M{x} {y - 5}h42' stroke='{COLOURS[curve.colour]}' "
                f"stroke-width='2.5'{dash}/><text x='{x + 48}' y='{y}'>"
                f"{html.escape(curve.label)}</text>"
            )
        return "".join(out)


def _dash(pattern: str) -> str:
    return " ".join(f"{2.5 * float(p):g}" for p in pattern.split())


def _ticks(values: list[NDArray[np.float64]], from_zero: bool) -> tuple[float, float, list[Any]]:
    """Ends and ticks of an axis: round numbers, each with its text."""
    low = min(float(v.min()) for v in values)
    high = max(float(v.max()) for v in values)
    if from_zero:
        low = min(low, 0.0)
    span = high - low
    power = 10.0 ** math.floor(math.log10(span / 6.0))
    most = 8.0 if from_zero else 6.5
    step = next(power * m for m in (1, 2, 5, 10, 20) if span <= most * power * m)
    # lengths and steps of a grid stay in whole steps, so that no rounding shows in the text
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    if from_zero:
        first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
        low, high = first * step, last * step
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    ticks = [(k * step, f"{k * step:,.{places}f}") for k in range(first, last + 1)]
    return low, high, ticks
