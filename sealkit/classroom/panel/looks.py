"""Verdict, tiles and the line on the whole joint, as HTML in the classes of `panel.css`."""

from __future__ import annotations

import html
from collections.abc import Sequence

from sealkit.classroom.panel.scene import Sentence, Tile
from sealkit.report import Report, percent
from sealkit.report.record import COUNTS
from sealkit.sealing.limit import Outcome
from sealkit.words import figure_text, minus

_CLASSES = {True: "good", False: "bad", None: ""}
MARKS = {True: "✓", False: "✗", None: "≈"}
_GOOD = {Outcome.HOLDS: True, Outcome.FAILS: False, Outcome.CLOSE: None}


def _on_page(words: str) -> str:
    return html.escape(minus(words).replace(" %", "\u00a0%"))


def verdict(sentence: Sentence, scope: str, joint: str) -> str:
    """One word with what it judges, one number, one sentence, and the whole joint."""
    number = f'<div class="sk-number">{_on_page(sentence.number)}</div>'
    return (
        f'<div class="sk-verdict {_CLASSES[sentence.good]}">'
        f'<div class="sk-word"><span aria-hidden="true">{MARKS[sentence.good]} </span>'
        f"{_on_page(sentence.word)}<small>judged here: {_on_page(scope)}</small></div>"
        f'{number}<div class="sk-line">{_on_page(sentence.line)}</div>'
        f'<div class="sk-whole">{joint}</div></div>'
    )


def whole(report: Report, fitted: str = "") -> str:
    """Whether the whole joint, with what is fitted, holds: least margin, or what is too close."""
    weak, good = report.weakest, _GOOD[report.outcome]
    least = f"least margin {percent(float(weak.margin))}, {weak.brief}"
    if good is False:
        least = ", ".join(filter(None, (least, weak.state.name, weak.state.preload)))
    if report.leaves_knock_out:
        least = "only without the knock expected"
    elif good is None:
        least = report.close[0].brief
    average = f"average; {COUNTS}" if report.by_what else ""
    which = ", ".join(filter(None, (fitted, average)))
    return (
        f'Whole joint{f" ({which})" if which else ""}: <b class="{_CLASSES[good]}">'
        f'<span aria-hidden="true">{MARKS[good]} </span>'
        f"{_on_page(str(report.outcome))}</b>; <small>{_on_page(least)}</small>"
    )


def tiles(found: Sequence[Tile], system: str) -> str:
    """Figures that stand beside each other, each with what it is of."""
    made = "".join(
        f'<div class="sk-tile {_CLASSES[good]}"><b>{_on_page(figure_text(figure, system))}</b>'
        f"<span>{'' if good is None else f'<b>{MARKS[good]}</b> '}{_on_page(words)}</span></div>"
        for words, figure, good in found
    )
    return f'<div class="sk-tiles">{made}</div>'
