"""The live section through one bore: piston, gas, head, fasteners and seal over one turn.

One SVG that carries its own movement: the browser runs it, nothing is sent while it runs. Its time
is the crank angle, 0 s at bottom dead centre before firing and `TURN` at the next. What moves by
micrometres is drawn up to `TIMES` too large; the piston is to the scale of the bore.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import Any

import numpy as np

from sealkit.classroom.drawing.shown import Shown
from sealkit.drawing.svg import COLOURS
from sealkit.pressure import geometry
from sealkit.report import Report
from sealkit.report.seal import demand_over, shown_seal, springback
from sealkit.units import show

TURN = 6.0  # seconds of a turn of the crank
TIMES = 300  # how much too large the movements of head, fasteners and seal are drawn
_ANGLES = np.array([-180, -140, -100, -70, -45, -30, -15, -5, 0, 5, 10, 15, 20, 25, 30, 35, 40, 50,
                    60, 75, 90, 110, 140, 180.0])  # fmt: skip
_MOST = 34.0  # of the gap at the bore edge, units of the drawing
_FACE, _DECK, _TOP = 150.0, 163.0, 72.0  # head face, block face, top of the head
_LEFT, _RIGHT, _BOLTS = 112.0, 288.0, (52.0, 348.0)  # walls of the bore; fasteners
_THREAD = "l16,5m-16,5" * 5 + "l16,5"
_KEYS = ";".join(f"{t:.3g}" for t in (_ANGLES + 180.0) / 360.0)


def run(
    name: str, values: Sequence[str], kind: str = "", steps: bool = False, keys: str = _KEYS
) -> str:
    """A movement over the turn; a property that does not move gets none.

    Parameters
    ----------
    name : attribute that moves
    values : that it takes
    kind : of a transform
    steps : whether it jumps from one to the next
    keys : when it has each value, shares of the turn; "" for even steps
    """
    if len(set(values)) == 1:
        return ""
    what = f"animateTransform type='{kind}'" if kind else "animate"
    how = " calcMode='discrete'" if steps else ""
    when = f"keyTimes='{keys}' " if keys else ""
    return (
        f"<{what} attributeName='{name}' dur='{TURN:g}s' repeatCount='indefinite' "
        f"{when}values='{';'.join(values)}'{how}/>"
    )


def _head(lift: float) -> str:
    """The head, held by its fasteners and bent up between them by `lift` at the bore edge."""
    bow = lift / 0.324  # of the curve's middle point: the edge lies a fifth of the way along
    return f"M4,{_FACE:g}H52q148,{-bow:.1f} 296,0H396V{_TOP:g}H348q-148,{-bow:.1f} -296,0H4Z"


def _beads(height: float) -> str:
    """One bead each side, this high."""
    top = 2.0 * height
    return f"M86,{_DECK:g}q13,{-top:.1f} 26,0M288,{_DECK:g}q13,{-top:.1f} 26,0"


def _arrows() -> str:
    """The way out of the bore on both sides."""
    return "".join(
        f"<path d='M{x},{_DECK - 8:g}h{40 * s}m{-10 * s},-8l{12 * s},8l{-12 * s},8'/>"
        for s, x in ((-1, 118), (1, 282))
    )


def _named(x: float, y: float, words: str, colour: str = "#222") -> str:
    """A word in the drawing, around this place."""
    return (
        f"<text x='{x:g}' y='{y:g}' text-anchor='middle' font-size='14' stroke='none' "
        f"fill='{colour}'>{words}</text>"
    )


def _times(report: Report) -> float:
    """How much too large movements are drawn: less where they would leave the drawing."""
    pixel = (_RIGHT - _LEFT) / report.build.engine.bore
    most = float(np.max(report.over_angle.seal_lift))
    return float(min(TIMES, _MOST / max(most * pixel, 1e-12)))


def moves(report: Report) -> str:
    """To what scale head, fasteners and seal move."""
    return (
        f"The movements of head, fasteners and seal are drawn {_times(report):.0f} times too large"
    )


def lifts_most(report: Report) -> float:
    """Crank angle, degrees, at which the head lifts most."""
    peak = int(np.argmax(report.over_angle.seal_lift))
    return float(np.degrees(report.gas.cycle.crank_angle[peak]))


def joint_section(report: Report, system: str = "metric", still: float | None = None) -> str:
    """The section as SVG that moves, or at one crank angle (degrees).

    The seal is drawn the darker the more load it has, and an open way is drawn where what is left
    of it is less than it wants. Returns SVG with a sentence for who cannot see it.
    """
    over, gas, engine = report.over_angle, report.gas, report.build.engine
    turn = np.degrees(np.asarray(gas.cycle.crank_angle, dtype=float))
    frames = _ANGLES if still is None else np.array([still])
    at = np.array([int(np.argmin(np.abs(turn - angle))) for angle in frames])
    pixel = (_RIGHT - _LEFT) / engine.bore  # units of the drawing for a metre
    lift = np.maximum(np.asarray(over.seal_lift, dtype=float), 0.0)
    back = springback(report)
    follows = lift if back is None else np.minimum(lift, back)
    seal = np.asarray(over.zone_loads[shown_seal(report).name], dtype=float)
    wanted = demand_over(report, np.arange(len(turn)))
    open_ = (lift > follows + 1e-9) | (seal < wanted if wanted.size else seal <= 0.0)
    load = np.clip(seal / max(float(seal.max()), 1e-9), 0.0, 1.0)
    scale = pixel * _times(report)
    drawn = lift * scale
    top = _DECK - _FACE + follows * scale
    # at the fasteners the head rises by what the joint closes less; the rest of the lift is bending
    closure = np.asarray(over.closure, dtype=float)
    rise = np.minimum((closure.max() - closure) * scale, drawn)
    down = np.asarray(
        geometry.piston_position.si(np.radians(turn), engine.stroke, engine.rod_length), dtype=float
    )
    down = 4.0 + np.minimum(down * pixel, 90.0)
    press = np.clip(np.asarray(gas.sizing, dtype=float) / gas.design_gauge, 0.02, 1.0)

    def values(numbers: Any, form: str) -> list[str]:
        return [form.format(float(numbers[i])) for i in at]

    bent = [_head(drawn[i] - rise[i]) for i in at]
    beads = [_beads(top[i]) for i in at]
    fill, dark = values(press, "{:.2f}"), values(0.25 + 0.75 * load, "{:.2f}")
    way = ["1" if open_[i] else "0" for i in at]
    moved, up = values(down, "0 {:.1f}"), values(-rise, "0 {:.1f}")
    red, purple, steel = COLOURS["gas load"], COLOURS["seal load"], "#8f979e"
    shanks = "".join(
        f"<path d='M{x - 8:g},120h16V262h-16Z' fill='{steel}'/><path d='M{x - 8:g},200{_THREAD}' "
        "fill='none'/>"
        for x in _BOLTS
    )
    tops = "".join(
        f"<path d='M{x - 8:g},60h16V196h-16Z' fill='{steel}'/>"
        f"<rect x='{x - 18:g}' y='{_TOP - 18:g}' width='36' height='18' fill='{steel}'/>"
        for x in _BOLTS
    )
    tops += _named(200, 116, "head") + _named(_BOLTS[0], _TOP - 23, "fastener")
    below = (
        _named(86, 232, "block")
        + _named(93, _DECK + 18, "seal", purple)
        + _named(314, _DECK + 18, "gasket", "#75591a")
    )
    peak = int(np.argmax(lift))
    state = "leaks" if bool(open_.any()) else "follows the head over the whole turn"
    words = (
        f"Section through one bore over a turn of the crank. At most the head lifts "
        f"{show(lift[peak], 'lift', system)} at the bore edge; the seal {state}. "
        f"{moves(report)}."
    )
    return (
        f"<svg viewBox='0 22 400 216' role='img' aria-label='{html.escape(words, quote=True)}' "
        "stroke='#555' stroke-width='1.2' stroke-linejoin='round'>"
        f"<rect x='{_LEFT:g}' y='90' width='176' height='172' stroke='none' fill='{red}' "
        f"opacity='{fill[0]}'>{run('opacity', fill)}</rect>"
        f"<g transform='translate({moved[0]})'>{run('transform', moved, 'translate')}"
        f"<path d='M{_LEFT + 2:g},{_DECK - 6:g}h172v120h-172Z' fill='#aab2b9'/>"
        f"<path d='M{_LEFT + 2:g},176h172m0,9h-172' fill='none'/></g>"
        f"<path d='M4,{_DECK:g}H{_LEFT:g}V262H4ZM{_RIGHT:g},{_DECK:g}H396V262H{_RIGHT:g}Z' "
        "fill='#c3cad0'/>"
        f"<path d='M4,{_FACE - 8:g}h76v{_DECK - _FACE + 8:g}h-76Zm316,0h76v{_DECK - _FACE + 8:g}"
        f"h-76Z' fill='#d9bd84'/>{shanks}{below}"
        f"<g transform='translate({up[0]})'>{run('transform', up, 'translate')}"
        f"<path d='{bent[0]}' fill='#e3e7ea'>{run('d', bent)}</path>{tops}</g>"
        f"<path d='{beads[0]}' fill='none' stroke='{purple}' stroke-width='6' "
        f"opacity='{dark[0]}'>{run('d', beads)}{run('opacity', dark)}</path>"
        f"<g stroke='{red}' stroke-width='5' fill='none' opacity='{way[0]}'>"
        f"{run('opacity', way, steps=True)}{_arrows()}</g></svg>"
    )


def section_picture(report: Report, system: str = "metric") -> Shown:
    """The section where the head lifts most, with a line below it."""
    angle = lifts_most(report)
    drawn = joint_section(report, system, angle)
    below = (
        f"At {angle:.0f}° after top dead centre, where the head lifts most. {moves(report)}; the "
        "darker the seal, the more load it carries."
    )
    return Shown(
        f"<figure class='sealkit-drawing' style='margin:0;max-width:620px'>{drawn}"
        f"<figcaption>{below}</figcaption></figure>",
        below,
    )
