"""Verdict, tiles and the line on the whole joint, as HTML in the classes of `panel.css`."""

from __future__ import annotations

import html
from collections.abc import Sequence

from sealkit.classroom.panel.scene import Sentence, Tile
from sealkit.report import Report, percent
from sealkit.sealing.limit import Outcome
from sealkit.words import figure_text

_STATES = {True: "good", False: "bad", None: ""}
MARKS = {True: "✓", False: "✗", None: "≈"}
_GOOD = {Outcome.HOLDS: True, Outcome.FAILS: False, Outcome.CLOSE: None}


def verdict(sentence: Sentence, scope: str, joint: str) -> str:
    """One word with what it judges, one number, one sentence, and the whole joint."""
    number = f'<div class="sk-number">{html.escape(sentence.number)}</div>'
    return (
        f'<div class="sk-verdict {_STATES[sentence.good]}">'
        f'<div class="sk-word"><span aria-hidden="true">{sentence.mark} </span>'
        f"{html.escape(sentence.word)}<small>judged here: {html.escape(scope)}</small></div>"
        f'{number}<div class="sk-line">{html.escape(sentence.line)}</div>'
        f'<div class="sk-whole">{joint}</div></div>'
    )


def whole(report: Report) -> str:
    """Whether the whole joint holds, and its least margin or which limit is too close to call."""
    weak, good = report.weakest, _GOOD[report.outcome]
    least = f"least margin {percent(float(weak.margin))}, {weak.brief}"
    if report.leaves_knock_out:
        least = "only without knock, which is expected"
    elif good is None:
        least = report.close[0].brief
    return (
        f'Whole joint{" (average)" if report.by_what else ""}: <b class="{_STATES[good]}">'
        f'<span aria-hidden="true">{MARKS[good]} </span>'
        f"{html.escape(str(report.outcome))}</b>; <small>{html.escape(least)}</small>"
    )


def tiles(found: Sequence[Tile], system: str) -> str:
    """Figures that stand beside each other, each with what it is of."""
    made = "".join(
        f'<div class="sk-tile {_STATES[good]}"><b>{html.escape(figure_text(figure, system))}</b>'
        f"<span>{'' if good is None else f'<b>{MARKS[good]}</b> '}{html.escape(words)}</span></div>"
        for words, figure, good in found
    )
    return f'<div class="sk-tiles">{made}</div>'
