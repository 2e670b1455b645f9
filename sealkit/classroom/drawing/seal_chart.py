"""A combustion seal as it is pressed, as the head lifts, and over the crank angle."""

from __future__ import annotations

from collections.abc import Callable
from operator import attrgetter
from typing import Any

from sealkit.classroom.drawing.plot import Axes, Curve, Plot, crank_places, over_crank
from sealkit.report.seal_view import SealView

_STEP = 2.0  # degrees of crank angle


def _title(words: str) -> Callable[[SealView], str]:
    return lambda one: f"{'Line load' if one.kind == 'line load' else 'Stress'}{words}"


def _over(what: Callable[..., Any]) -> Callable[[SealView], Any]:
    """What a seal has at the crank angles that are shown."""
    return lambda one: what(one, crank_places(one.crank_angle, step=_STEP))


def _now(chart: int, key: str, x: Callable[[SealView], float], **more: Any) -> Curve:
    """The point of this crank angle."""
    return Curve(key, "now", "lift", chart, lambda one: float(one.left()), x, marker=True,
                 **more)  # fmt: skip


PLOT = Plot(
    charts=(
        Axes(_title(", on and off"), attrgetter("kind"), "Pressed together by", "lift", "closures",
             x_room=0.03),
        Axes(_title(" over the lift"), attrgetter("kind"), "Lift since before firing", "lift",
             "lifts", x_room=0.03),
        over_crank(_title(" over the cycle"), attrgetter("kind"),
                   _over(lambda one, at: one.crank_angle[at])),
    ),
    curves=(
        Curve("pressed", "pressed on", "seal load", dash="dash", share=0.45, side="top left",
              raised=True),
        Curve("back", "let go", "seal load", y="let_go", share=0.25, side="top center",
              raised=True),
        Curve("helper", "beside it", "clamp", dash="dashdot", share=1.0, side="middle left",
              raised=True, ranged="y"),
        _now(0, "now", lambda one: max(one.rest - float(one.lift()), 0.0), side="top left",
             raised=True, ranged="y"),
        Curve("lifted", "way back", "seal load", 1, lambda one: one.back(one.lifts), share=0.15,
              side="middle right", raised=True),
        Curve("wrong", "NOT the way back", "strength", 1, "on_the_pressing_curve", dash="dot",
              share=0.12, raised=True),
        Curve("line", "wanted now", "seal load", 1, lambda one: float(one.wanted()), dash="dash",
              share=0.0, level=True, side="bottom right"),
        _now(1, "at", lambda one: min(float(one.lift()), one.farthest), side="top left",
             text=lambda one, _: ["farther out" if float(one.lift()) > one.farthest else ""]),
        Curve("left", "left", "seal load", 2, _over(SealView.left), share=0.05, raised=True,
              ghost=True),
        Curve("wanted", "wanted", "seal load", 2, _over(SealView.wanted), dash="dash", share=0.4,
              side="top left", raised=True),
        _now(2, "angle", lambda one: one.angle, ranged="", bare=True),
    ),
    height=880,
    gap=0.13,
)  # fmt: skip
