"""Charts of the cards as the data describe them, and solvers of what formulas do not do.

A solver takes the numbers of one engine (plain SI) and hands back the answer, what each wrong
route gives, and the chart to read. Its name is that of the question in the card set:
`solvers.SOLVERS["01/chart"]`.
"""

from __future__ import annotations

import math
import string
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from sealkit.arrays import Array
from sealkit.classroom.drawing.card_chart import Chart
from sealkit.classroom.homework.engines import Numbers
from sealkit.classroom.homework.formulas import evaluate, refused, worked_out, wrong_routes
from sealkit.classroom.homework.questions import Solved, Solvers
from sealkit.drawing.ink import Curve
from sealkit.drawing.svg import COLOURS
from sealkit.errors import fail
from sealkit.pressure import boost, burn, geometry

Line = tuple[str, str, str, Array, str]  # label, pitfall, colour, numbers, dash

SOLVERS = Solvers()
solver = SOLVERS.solver


# --------------------------------------------------------------------------- charts
def charted(
    title: str,
    x: tuple[str, str],
    y: tuple[str, str],
    along: Array,
    at: float,
    lines: Iterable[Line],
    wrong: Mapping[str, float] | None = None,
) -> Solved:
    """A chart that is read at one place.

    Parameters
    ----------
    title : over the chart
    x, y : words of the axis and kind of quantity
    along : numbers over which the lines are drawn
    at : where it is read
    lines : (label, pitfall, colour, numbers, dash pattern) each; the pitfall is that of reading
        this line, "" where none is told, and "right" for the line that has the answer
    wrong : pitfalls that do not come from another line
    """
    every = list(lines)
    curves = tuple(
        Curve(along, height, label, None, dash, colour=COLOURS[colour])
        for label, _, colour, height, dash in every
    )
    heights = {
        pitfall: float(np.interp(at, along, height))
        for _, pitfall, _, height, _ in every
        if pitfall
    }
    right = float(heights.pop("right"))
    return Solved(right, heights | dict(wrong or {}), chart=Chart(title, x, y, curves))


class _Filled(string.Formatter):
    """Texts in whose braces formulas stand."""

    def get_field(self, field_name: str, args: Any, kwargs: Any) -> Any:
        return evaluate(field_name, kwargs), field_name


def drawn(entry: Mapping[str, Any], names: Mapping[str, Any]) -> Solved:
    """A chart that an entry of the data describes, read at one place.

    [question.chart] has `title`, the axes `x` and `y` ([words, kind]), the numbers `along` the
    first, the place `at`, and `lines`: [label, pitfall of reading it ("right" for the answer, ""
    for none), colour, formula, dash pattern]. Formulas may name `along`; those of wrong routes that
    no line gives, `answer`. Braces in title and labels hold formulas.
    """
    told = entry["chart"]
    along = evaluate(told["along"], names)
    known = worked_out(entry, {**names, "along": along})

    def filled(text: str) -> str:
        return _Filled().vformat(text, (), known)

    lines: list[Line] = [
        (filled(label), pitfall, colour, np.broadcast_to(evaluate(f, known), along.shape), dash)
        for label, pitfall, colour, f, dash in told["lines"]
    ]
    x, y = (tuple(told[axis]) for axis in ("x", "y"))
    found = charted(filled(told["title"]), x, y, along, evaluate(told["at"], names), lines)
    known["answer"] = found.value
    refused(entry, known)
    return replace(found, wrong={**found.wrong, **wrong_routes(entry, known)})


# --------------------------------------------------------------------------- the sets
@solver("01/chart")
def _(n: Numbers) -> Solved:
    p, t = n.air + n.boost, 340.0
    full = geometry.swept_volume.si(n.bore, n.stroke) * n.ratio / (n.ratio - 1.0)
    energy = 2.3e6 * float(boost.trapped_mass.si(p, t, full))
    theta = np.radians(np.linspace(-180.0, 180.0, 721))
    volume = geometry.cylinder_volume.si(theta, n.bore, n.stroke, 1.65 * n.stroke, n.ratio)
    angle = np.linspace(math.radians(-90.0), math.radians(120.0), 106)

    def cylinder(heat: float, start: Any) -> Any:
        """d(p V**k) = (k - 1) V**(k - 1) dQ, k = 1.3: no heat to the walls."""
        grown = volume**0.3
        heats = np.diff(heat * burn.wiebe.si(theta, start, math.radians(60.0)), axis=-1)
        added = np.cumsum(0.15 * (grown[1:] + grown[:-1]) * heats, axis=-1)
        return (p * volume[0] ** 1.3 + added) / volume[1:] ** 1.3

    # the burn is timed so that the peak is that of the other questions
    starts = np.radians(np.linspace(-40.0, 2.0, 8))
    peaks = cylinder(energy, starts[:, None]).max(axis=-1)
    if not peaks.min() < n.peak < peaks.max():
        raise fail("peak", f"{n.peak:.4g} Pa", "one that this charge reaches")
    start = float(np.interp(-n.peak, -peaks, starts))

    def line(heat: float) -> Array:
        return np.interp(angle, theta[1:], cylinder(heat, start))

    firing, motored = line(energy), line(0.0)
    return charted(
        "Pressure in the cylinder over crank angle",
        ("crank angle after firing top dead centre", "angle"),
        ("absolute pressure", "pressure"),
        angle,
        n.chart_angle,
        [
            ("firing", "right", "pressure", firing, ""),
            ("not firing", "line without firing", "pressure", motored, "10 7.5"),
        ],
        {"peak for the angle": firing.max()},
    )
