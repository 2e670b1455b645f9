"""Small charts to read on a job card: lines over a grid with ticks in the shop's unit, as SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sealkit.arrays import Array
from sealkit.classroom.drawing import draw
from sealkit.drawing import ink
from sealkit.units import show_unit


@dataclass(frozen=True)
class Chart:
    """Lines in plain SI over one pair of axes; each axis is (words, kind of quantity)."""

    title: str
    x: tuple[str, str]
    y: tuple[str, str]
    curves: tuple[ink.Curve, ...]

    def svg(self, system: str = "metric") -> str:
        """The chart in the shop's units, the same bytes for the same numbers."""
        x, xs = _axis(self.x, [c.x for c in self.curves], False, system)
        y, ys = _axis(self.y, [c.y for c in self.curves], True, system)
        curves = [c._replace(x=a, y=b) for c, a, b in zip(self.curves, xs, ys, strict=True)]
        words = f"Chart to read: {self.title}"
        return ink.chart(x, y, curves, words, wide=480.0, high=350.0, read=True)


def _axis(
    of: tuple[str, str], values: Sequence[Array], from_zero: bool, system: str
) -> tuple[ink.Axis, list[Array]]:
    """An axis with ticks at round numbers, and the values in the shop's unit."""
    (words, kind), unit = of, show_unit(of[1], system)
    shown = [draw.shop(v, kind, system) for v in values]
    low, high = min(float(v.min()) for v in shown), max(float(v.max()) for v in shown)
    if from_zero:
        low = min(low, 0.0)
    span, most = high - low, 8.0 if from_zero else 6.5
    power = 10.0 ** math.floor(math.log10(span / 6.0))
    step = next(power * m for m in (1, 2, 5, 10, 20) if span <= most * power * m)
    if from_zero:
        low, high = math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step
    return ink.Axis(f"{words}, {unit}" if unit else words, low, high, step), shown
