"""Where the torque on the wrench goes: wrench, fastener and thread with what each takes of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from sealkit.classroom.drawing.shown import Shown
from sealkit.drawing.svg import COLOURS, framed
from sealkit.units import show

_LABELS, _WIDE = 338.0, 274.0  # left end of the labels, and of all the torque as a bar
_LOST, _STEEL, _HEAD, _BLOCK = COLOURS["gas load"], "#8f979e", "#e3e7ea", "#c3cad0"
_FLANKS = "".join(
    f"M{x},{y}l{d},7l{-d},7" for y in range(256, 340, 14) for x, d in ((142, 9), (178, -9))
)


def torque_on_bolt(parts: ArrayLike, preload: float, system: str, under: str = "head") -> Shown:
    """The fastener under the wrench, what each place takes to scale, and the same in words.

    `parts`: torque that stretches the fastener, is lost in the thread and under what is turned
    [N·m]; the first makes `preload` [N].
    """
    torques = np.asarray(parts, dtype=float)
    shares = torques / torques.sum()
    total = show(float(torques.sum()), "torque", system)
    stretching, in_thread, under_head = (show(float(x), "torque", system) for x in torques)
    stretching += f" ({100 * shares[0]:.0f} %)"  # parts that are rounded need not add up
    clamp = COLOURS["clamp"]

    def label(y: float, place: str, value: str, share: float, colour: str, end: str) -> str:
        """What one place takes, with a line to it."""
        return (
            f"<path d='M{end}L{_LABELS - 10:g},{y - 9:g}' stroke='#555' fill='none'/>"
            f"<text x='{_LABELS:g}' y='{y:g}'>{place}</text>"
            f"<text x='{_LABELS:g}' y='{y + 30:g}' font-weight='bold'>{value}</text>"
            f"<rect x='{_LABELS:g}' y='{y + 40:g}' width='{max(_WIDE * share, 2):.1f}' height='14' "
            f"fill='{colour}'/>"
        )

    shapes = [
        f"<path d='M30,122H142V236H30ZM178,122H290V236H178Z' fill='{_HEAD}' stroke='#333'/>",
        "<path d='M30,236H142V244H30ZM178,236H290V244H178Z' fill='#d9bd84' stroke='#333'/>",
        f"<path d='M30,244H290V346H30Z' fill='{_BLOCK}' stroke='#333'/>",
        f"<path d='M142,112H178V342H142Z' fill='{_STEEL}' stroke='#333'/>",
        f"<path d='{_FLANKS}' stroke='{_LOST}' stroke-width='4' fill='none'/>",
        # head of the fastener, socket and handle of the wrench
        f"<path d='M112,82H208V112H112Z' fill='{_STEEL}' stroke='#333'/>",
        "<path d='M104,56H216V98H104ZM6,36H190V56H6Z' fill='#5b6670' stroke='#333'/>",
        f"<path d='M108,117H142M178,117H212' stroke='{_LOST}' stroke-width='9'/>",
        "<path d='M160,140V226M151,150L160,132L169,150ZM151,216L160,234L169,216Z' stroke='#fff' "
        "stroke-width='9' fill='#fff'/>",
        f"<path d='M160,146V220M153,150L160,137L167,150ZM153,216L160,229L167,216Z' "
        f"stroke='{clamp}' stroke-width='4' fill='{clamp}'/>",
        f"<text x='6' y='26'>{total} on the wrench</text>",
        label(84, f"under the {under}", under_head, shares[2], _LOST, "212,117"),
        label(176, "stretch: clamp", stretching, shares[0], clamp, "178,182"),
        label(268, "in the thread", in_thread, shares[1], _LOST, "178,290"),
    ]
    words = (
        f"Where {total} goes: {under_head} into friction under the {under}, {in_thread} into "
        f"friction in the thread, {stretching} into stretching the fastener."
    )
    made = show(preload, "force", system)
    caption = f"Bars to scale: only the green part makes clamp, {made} on one fastener."
    return Shown(framed(shapes, (620, 350), words, caption, font=26), words)
