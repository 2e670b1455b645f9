"""Where the torque on the wrench goes, drawn as a stream that loses its friction on the way."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.shown import Shown
from sealkit.drawing.svg import framed
from sealkit.units import show

_TOP, _LEFT, _WIDE = 34.0, 20.0, 150.0


def torque_stream(parts: ArrayLike, preload: float, system: str) -> Shown:
    """The stream, its widths to scale, with the same in words.

    Parameters
    ----------
    parts : torque that stretches the fastener, is lost in the thread, and under the head, N·m
    preload : what the first of them makes, N
    system : "metric" or "inch"
    """
    torques = np.asarray(parts, dtype=float)
    share = torques / torques.sum()
    stretch, thread, head = _WIDE * share
    total = show(float(torques.sum()), "torque", system)
    stretching, in_thread, under_head = (
        f"{show(float(x), 'torque', system)} ({100 * s:.0f} %)"
        for x, s in zip(torques, share, strict=True)
    )
    # the outermost part turns off last, so that the streams do not cross
    shapes = [
        f"<rect x='{_LEFT}' y='{_TOP}' width='560' height='{max(stretch, 2):.1f}' "
        f"fill='{COLOURS['clamp']}'/>",
        _bend(_TOP + stretch + thread, head, 120),
        _bend(_TOP + stretch, thread, 290),
        _word(_LEFT, 24, f"{total} on the wrench"),
        _word(60, 280, "under the head"),
        _word(60, 310, under_head),
        _word(310, 280, "in the thread"),
        _word(310, 310, in_thread),
        _word(600, _TOP + stretch + 32, "stretch", "end"),
        _word(600, _TOP + stretch + 62, stretching, "end"),
    ]
    words = (
        f"Where {total} goes: {under_head} into friction under the head, {in_thread} into friction "
        f"in the thread, {stretching} into stretching the fastener."
    )
    made = show(preload, "force", system)
    caption = f"Drawn to scale: only the green part makes clamp, {made} on one fastener."
    return Shown(framed(shapes, (620, 322), words, caption, font=26), words)


def _bend(y: float, size: float, x: float, down: float = 250) -> str:
    """A part of the stream that turns down and ends there."""
    return (
        f"<path d='M{_LEFT},{y:.1f} H{x} Q{x + size + 24:.1f},{y:.1f} {x + size + 24:.1f},{down} "
        f"H{x + 24:.1f} Q{x + 24:.1f},{y + size:.1f} {x},{y + size:.1f} H{_LEFT} Z' "
        "fill='#b9c0c7' stroke='#555'/>"
    )


def _word(x: float, y: float, text: str, anchor: str = "start") -> str:
    return f"<text x='{x:g}' y='{y:.0f}' text-anchor='{anchor}'>{text}</text>"
