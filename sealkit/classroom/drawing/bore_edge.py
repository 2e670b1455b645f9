"""A drawn section through the edge of one bore, opening with the lift of the head."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sealkit.classroom.drawing.draw import COLOURS
from sealkit.drawing.svg import framed
from sealkit.report import Report
from sealkit.report.seal import springback
from sealkit.units import show

__all__ = ["DECK", "FACE", "Gap", "bore_edge", "peak_gap"]

DECK, FACE = 270.0, 236.0  # of the drawing: block face; head face at rest
_HIGHEST = 70.0


@dataclass(frozen=True)
class Gap:
    """What the drawn section shows.

    Parameters
    ----------
    lift : how far the head has lifted at the seal since assembly, m
    springback : how far the seal springs back, m
    caption : the line below the drawing
    gas : gas load over the largest there is, 0..1: length of its arrows
    tension : tension of the fasteners over the largest there is, 0..1: length of their arrows
    piston : place of the piston, 0 at top dead centre, 1 at the bottom; None for no piston
    scale : units of the drawing for each micrometre of lift
    """

    lift: float
    springback: float
    caption: str
    gas: float = 1.0
    tension: float = 0.6
    piston: float | None = None
    scale: float = 1.0

    @property
    def head(self) -> float:
        """Where the head face stands at the bore edge in the drawing (y runs down)."""
        return FACE - min(1e6 * self.scale * max(self.lift, 0.0), _HIGHEST)

    @property
    def seal(self) -> float:
        """Where the top of the seal stands: at the head as long as it springs back that far."""
        return max(self.head, FACE - 1e6 * self.scale * max(self.springback, 0.0))


def peak_gap(report: Report, system: str = "metric") -> Gap:
    """The section of a report at its peak pressure."""
    lift = max(float(np.max(report.over_angle.seal_lift)), 0.0)
    back = springback(report)
    back = lift if back is None else back
    state = "the seal still touches" if lift <= back else "the seal no longer touches"
    return Gap(
        lift,
        back,
        f"At peak pressure the head lifts {show(lift, 'lift', system)} here: {state}. "
        "The gap is drawn much too large; nothing is to scale.",
    )


def bore_edge(report: Report | None = None, system: str = "metric", gap: Gap | None = None) -> str:
    """The section as SVG.

    The gap is drawn much too large, as far as the page goes; everything else is not to scale.

    Parameters
    ----------
    report : drawn at its peak pressure
    system : "metric" or "inch"
    gap : what to draw instead, such as the state at one crank angle
    """
    words = (
        "Section through the edge of a bore. The fastener on the right pulls the cylinder head "
        "down on the block and squeezes the gasket. The gas on the left pushes the head up. The "
        "head bends between its fasteners, so the gap opens at the bore edge, and the combustion "
        "seal there has to spring back as far as the head lifts."
    )
    if gap is not None:
        words = f"Section through the edge of a bore. {gap.caption}"
    elif report is not None:
        gap = peak_gap(report, system)
        words = f"Section through the edge of a bore at peak pressure. {gap.caption}"
    else:
        gap = Gap(18e-6, 40e-6, "The gap is drawn much too large; nothing is to scale.")
    return framed(_shapes(gap), (640, 408), words, gap.caption)


def _arrow(x: float, y0: float, y1: float, colour: str) -> str:
    tip = 9 if y1 > y0 else -9
    return (
        f"<path d='M{x},{y0:.1f} V{y1 - tip:.1f} M{x - 7},{y1 - tip:.1f} L{x},{y1:.1f} "
        f"L{x + 7},{y1 - tip:.1f} Z' stroke='{colour}' stroke-width='4' fill='{colour}'/>"
    )


def _word(x: float, y: float, text: str, anchor: str = "start") -> str:
    return f"<text x='{x}' y='{y}' text-anchor='{anchor}'>{text}</text>"


def _shapes(gap: Gap) -> list[str]:
    """Gas, block, head, gasket and fastener."""
    edge = gap.head
    blue, red, green = (COLOURS[k] for k in ("pressure", "gas load", "clamp"))
    low = edge + 12 + 72 * min(max(gap.gas, 0.0), 1.0)
    down = 126 + 40 * min(max(gap.tension, 0.0), 1.0)
    piston = ""
    if gap.piston is not None:
        crown = 330.0 + 90.0 * min(max(gap.piston, 0.0), 1.0)
        piston = (
            f"<rect x='10' y='{crown:.1f}' width='168' height='120' fill='#d5d9dd' stroke='#333'/>"
        )
    return [
        f"<rect x='8' y='{edge:.1f}' width='172' height='{400 - edge:.1f}' fill='#fdebdc'/>",
        piston,
        f"<rect x='180' y='{DECK}' width='452' height='130' fill='#c9ced3' stroke='#333'/>",
        f"<path d='M8,96 H632 V{FACE} H470 L205,{edge:.1f} H8 Z' fill='#e3e7ea' stroke='#333'/>",
        f"<rect x='300' y='{FACE + 3}' width='132' height='{DECK - FACE - 3}' fill='#f0e2b6' "
        "stroke='#333'/>",
        f"<rect x='528' y='{FACE + 3}' width='104' height='{DECK - FACE - 3}' fill='#f0e2b6' "
        "stroke='#333'/>",
        # the seal as one bead of sheet steel
        f"<path d='M190,{DECK} Q214,{2 * gap.seal - DECK:.1f} 238,{DECK}' fill='none' "
        f"stroke='{COLOURS['seal load']}' stroke-width='7'/>",
        "<rect x='461' y='90' width='38' height='282' fill='#8f979e' stroke='#333'/>",
        "<rect x='436' y='52' width='88' height='44' fill='#8f979e' stroke='#333'/>",
        "".join(f"<path d='M461,{y} L499,{y + 7}' stroke='#333'/>" for y in range(290, 366, 9)),
        "".join(_arrow(x, low, edge + 12, red) for x in (40, 90, 140)) if gap.gas > 0.1 else "",
        _arrow(446, 104, down, green),
        _arrow(514, 104, down, green),
        _word(14, 388, "gas pushes up"),
        _word(60, 130, "cylinder head"),
        _word(545, 385, "block"),
        _word(480, 40, "fastener pulls down", "middle"),
        f"<path d='M250,302 L222,{DECK - 4}' stroke='#111'/>",
        _word(240, 322, "combustion seal"),
        _word(366, 261, "gasket", "middle"),
        f"<path d='M180,{DECK} V400' stroke='{blue}' stroke-width='3'/>",
    ]
