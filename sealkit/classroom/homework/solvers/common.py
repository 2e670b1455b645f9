"""What the solvers of the job cards share: the register, the test of an engine, charts to read."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit.analysis import chain
from sealkit.classroom.drawing.card_chart import Chart, Curve
from sealkit.classroom.homework.questions import Solved
from sealkit.errors import fail
from sealkit.pressure import geometry
from sealkit.sealing import criteria
from sealkit.units import Q

Array = NDArray[np.float64]
Numbers = SimpleNamespace  # of one engine, plain SI
Solver = Callable[[Numbers], Solved]
Line = tuple[str, str, str, Array, str]  # label, pitfall, colour, numbers, dash

SOLVERS: dict[str, Solver] = {}


def solver(*names: str) -> Callable[[Solver], Solver]:
    """Keep a function as the solver of the questions of these names."""

    def keep(function: Solver) -> Solver:
        SOLVERS.update(dict.fromkeys(names, function))
        return function

    return keep


def sane(n: Numbers) -> None:
    """Refuse an engine that nobody would build; the card is then drawn again.

    Raises
    ------
    InputError
        naming what is out of proportion.
    """
    if geometry.mean_piston_speed.si(n.stroke, n.speed) > 21.0:
        raise fail("mean piston speed", "above 21 m/s", "a slower engine")
    if not 0.8 <= n.bore / n.stroke <= 1.25:
        raise fail("bore over stroke", f"{n.bore / n.stroke:.2f}", "0.8 to 1.25")
    clamp = n.preload * mean_share(n)
    gas = gas_force(n.peak - n.air, n.seal)
    if not 1.5 <= clamp / gas <= 4.0:
        raise fail("clamp over gas force", f"{clamp / gas:.2f}", "1.5 to 4")


# --------------------------------------------------------------------------- numbers
def gas_force(pressure: Any, diameter: float) -> Any:
    """Force of a gauge pressure on a circle."""
    return criteria.gasket_loads.si(pressure, diameter, 1e-3, 0.0, 0.0).pressure_force


def per_length(force: float, diameter: float) -> float:
    """Force spread over a circumference."""
    return force / (math.pi * diameter)


def circle(diameter: float) -> float:
    """Area of a circle."""
    return math.pi / 4.0 * diameter**2


def mean_share(n: Numbers) -> float:
    """Bolts that each bore has, on average over the head."""
    return chain.fastener_shares(n.cylinders, n.around, n.on_head)[1]


def torque_slip(n: Numbers) -> float:
    """What a torque in the wrong unit does: pound-feet for N m, or feet for inches."""
    return float(Q(1.0, "lbf*ft").to("N*m").magnitude) if n.system == "metric" else 1.0 / 12.0


def scale_zero(n: Numbers) -> float:
    """Absolute temperature at which the thermometer of the shop reads nothing."""
    return float(Q(0.0, "degC" if n.system == "metric" else "degF").to("K").magnitude)


# --------------------------------------------------------------------------- charts
def read(at: float, curve: Curve) -> float:
    """Height of a line of a chart."""
    return float(np.interp(at, curve.x, curve.y))


def chart(
    title: str, x: tuple[str, str], y: tuple[str, str], along: Array, lines: Iterable[Line]
) -> Chart:
    """Lines over the same numbers; see `charted`."""
    curves = (Curve(label, along, height, colour, dash) for label, _, colour, height, dash in lines)
    return Chart(title, x, y, tuple(curves))


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
    made = chart(title, x, y, along, every)
    heights = {line[1]: read(at, c) for line, c in zip(every, made.curves, strict=True) if line[1]}
    return Solved(heights.pop("right"), heights | dict(wrong or {}), chart=made)
