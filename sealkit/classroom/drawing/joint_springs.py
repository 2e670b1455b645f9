"""The joint of one bore as springs: tightened, and with the gas at its peak."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sealkit.classroom.drawing.shown import Shown
from sealkit.drawing.svg import COLOURS, framed, line, rect, word
from sealkit.units import show

_MOVED = 14.0  # how far the gas lifts the drawn head
_WIDE = 260.0  # of the longest bar


Forces = tuple[float, float, float]  # on one bore, N: tension of its fasteners, clamp, gas load


def joint_springs(states: Mapping[str, Forces], system: str, asked: bool = False) -> Shown:
    """The states beside each other, bars of their forces to one scale.

    If asked, what the gas leaves of tension and clamp is to be guessed.
    """
    most = max(map(max, states.values()))
    shapes, words = [], []
    for i, (name, forces) in enumerate(states.items()):
        tension, clamp, gas = (show(force, "force", system) for force in forces)
        if asked and forces[2] > 0:
            tension, clamp = "?", "?"
        words.append(f"{name}: fasteners pull {tension}, clamp {clamp}, gas {gas}")
        shapes += _one(16.0 + 310.0 * i, name, forces, (tension, clamp, gas), most)
    drawn = framed(
        shapes,
        (620, 366),
        f"The joint as springs, one bore. {'; '.join(words)}.",
        "Grey: the fasteners, stretched. Green: head, block and gasket, squeezed. Bars to one "
        "scale: tension equals clamp, and with gas tension equals clamp and gas (orange) together. "
        "Movement drawn much too large.",
        font=23,
        most=640,
    )
    return Shown(drawn, "\n".join(words))


def _one(
    x: float, name: str, forces: Forces, texts: tuple[str, str, str], most: float
) -> list[str]:
    """One joint, its left edge at x."""
    grey, green, red = (COLOURS[k] for k in ("strength", "clamp", "gas load"))
    tension, clamp, gas = (_WIDE * f / most for f in forces)
    head = 96.0 - (_MOVED if gas > 0 else 0.0)

    shapes = [
        word(x, 26, name, more=" font-weight='bold'"),
        rect(x, head, 270, 34, "#e3e7ea"),
        rect(x, 270, 270, 26, "#c9ced3"),
        _spring(x + 235, head + 34, 270, 16, grey),
        _spring(x + 40, head + 34, 270, 24, green),
        word(x + 74, 166, "tension"),
        word(x + 74, 190, texts[0], more=f" fill='{grey}'"),
        word(x + 74, 222, "clamp"),
        word(x + 74, 246, texts[1], more=f" fill='{green}'"),
    ]
    if "?" not in texts:
        shapes += [
            rect(x, 320, tension, 16, grey, "none"),
            rect(x, 342, clamp, 16, green, "none"),
            rect(x + clamp, 342, gas, 16, red, "none"),
        ]
    if gas <= 0:
        return [*shapes, word(x + 60, head + 24, "head")]
    return [
        *shapes,
        f"<path d='M{x + 206},268 V{head + 58} M{x + 197},{head + 58} L{x + 206},{head + 40} "
        f"L{x + 215},{head + 58} Z' stroke='{red}' stroke-width='5' fill='{red}'/>",
        word(x + 60, head + 24, f"gas {texts[2]}"),
    ]


def _spring(x: float, top: float, bottom: float, width: float, colour: str) -> str:
    turns = 7
    ys = np.linspace(top, bottom, 2 * turns + 2)
    xs = [x + (0 if i in (0, 2 * turns + 1) else width * (-1) ** i) for i in range(2 * turns + 2)]
    path = " ".join(
        f"{'L' if i else 'M'}{a:.1f},{b:.1f}" for i, (a, b) in enumerate(zip(xs, ys, strict=True))
    )
    return line(path, colour, 4)
