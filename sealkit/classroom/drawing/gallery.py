"""Sections as a cell shows them: side by side, or scrolling where a screen is narrow."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.shown import Shown
from sealkit.drawing.ink import Axis, Curve, chart
from sealkit.drawing.sections import Opening, section
from sealkit.drawing.svg import COLOURS
from sealkit.report.seal_view import SealView
from sealkit.units import show, show_unit, show_value


def gallery(
    openings: Mapping[str, Opening],
    views: Mapping[str, SealView],
    verdicts: Mapping[str, tuple[str, bool]],
    system: str,
) -> Shown:
    """The sections of several constructions side by side, each with its verdict; all on one chart.

    Each opening comes with what is said below it, each view at its worst crank angle, each verdict
    with whether it is good.
    """
    marks = {name: f"{'✓' if good else '✗'} {word}" for name, (word, good) in verdicts.items()}
    drawn = (
        f"<div style='flex:1 1 300px;max-width:460px'><b>{marks[name]}</b>"
        f"{section(name, opening)}</div>"
        for name, opening in openings.items()
    )
    told = (f"{name}: {marks[name]}. {opening.told}" for name, opening in openings.items())
    scale = "Gaps are drawn much too large; nothing is to scale."
    return Shown(
        f"<div style='display:flex;flex-wrap:wrap;gap:12px'>{''.join(drawn)}</div><p>{scale}</p>"
        f"<div class='sealkit-drawing'>{_overlay(views, marks, system)}</div>",
        "\n".join(told),
    )


_LINES = {"strength": "", "seal load": "9 4", "pressure": "3 3", "clamp": "9 3 2 3",
          "temperature": "14 4", "gas load": "5 5"}  # fmt: skip


def _overlay(views: Mapping[str, SealView], marks: Mapping[str, str], system: str) -> str:
    """How all of them let go as the head lifts: load left, of that before firing."""
    most = max(one.springback for one in views.values())
    curves = []
    lifts = np.linspace(0.0, most, 81)
    x = draw.shop(lifts, "lift", system)
    for (name, one), (colour, dash) in zip(views.items(), _LINES.items(), strict=True):
        share = 100.0 * one.back(lifts) / (one.before or np.inf)
        label = f"{marks[name][0]} {name}"
        curves.append(Curve(x, share, label, None, dash, colour=COLOURS[colour]))
    ends = (0.0, float(show_value(1.05 * most, "lift", system)))
    return chart(
        Axis(f"lift of the head at the seal, {show_unit('lift', system)}", *ends),
        Axis("load left, % of that before firing", 0.0, 100.0),
        curves,
        "How each seal lets go as the head lifts: "
        + "; ".join(
            f"{name} springs back {show(one.springback, 'lift', system)}, {marks[name]}"
            for name, one in views.items()
        ),
        wide=600.0,
        high=360.0,
    )
