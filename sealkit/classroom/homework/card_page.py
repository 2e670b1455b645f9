"""Job cards as pages to print, each trainee's on pages of their own, and the instructor's key."""

from __future__ import annotations

import html
from collections.abc import Iterable

from sealkit.classroom.homework.answers import CHOICE, printed
from sealkit.classroom.homework.cards import Card, Item
from sealkit.paper import CAUTIONS

_STYLE = """
body{font:16px/1.4 sans-serif;color:#111;max-width:190mm;margin:0 auto;padding:8px}
h1{font-size:20px;margin:0 0 4px}h2{font-size:17px;margin:14px 0 4px}
section{break-after:page;padding-bottom:24px}
section:last-of-type{break-after:auto}
ol{padding-left:26px}li{break-inside:avoid;margin:0 0 12px}
li>p{margin:0 0 4px}
ul.options{list-style:lower-alpha;margin:4px 0}ul.options li{margin:0 0 2px}
.line{border-bottom:1px solid #111;height:26px;max-width:95mm}
.marks,.small{font-size:13px;color:#444}.marks{white-space:nowrap}
svg{max-width:130mm!important}
table{border-collapse:collapse;font-size:14px;width:100%}
th,td{border:1px solid #999;padding:3px 6px;text-align:left;vertical-align:top}
.scroll{overflow-x:auto}
.work{height:24mm}
@page{margin:14mm}
@media print{body{padding:0;max-width:none}section{padding-bottom:0}.scroll{overflow:visible}}
"""
_esc = html.escape


def page(title: str, body: str) -> str:
    """A whole page in the style of the cards."""
    return (
        "<!doctype html><html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width,initial-scale=1'>"
        f"<title>{_esc(title)}</title><style>{_STYLE}</style></head><body>{body}</body></html>\n"
    )


def table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A table that scrolls inside itself; cells are HTML with their tags."""
    head = "".join(f"<th>{_esc(h)}</th>" for h in heads)
    body = "".join(f"<tr>{''.join(row)}</tr>" for row in rows)
    return f"<div class='scroll'><table><tr>{head}</tr>{body}</table></div>"


def engine_line(card: Card) -> str:
    """The engine of a card in a sentence or two."""
    n = card.numbers
    counts = n["layout"].split("/")
    return (
        f"Invented engine: {counts[0]} bores of {n['bore']}, stroke {n['stroke']}, "
        f"compression ratio {n['ratio']}. On the head: {counts[1]} bolts, {n['thread']}."
    )


def question_html(item: Item, system: str) -> str:
    """One question with its options and its chart, without a place for the answer."""
    q = item.question
    marks = f"<span class='marks'>({q.marks} mark{'s' * (q.marks > 1)})</span>"
    out = f"<p>{_esc(q.text)} {marks}</p>"
    if item.chart is not None:
        out += item.chart.svg(system)
    if q.kind == CHOICE:
        rows = "".join(f"<li>{_esc(o)}</li>" for o in q.options)
        out += f"<ul class='options'>{rows}</ul>"
    return out


def card_html(card: Card) -> str:
    """One card as a section of a page."""
    line = "<div class='line' role='presentation'></div>"
    rows = ""
    for item in card.items:
        reckoned = item.chart is None and item.question.kind != CHOICE
        room = "<div class='work' role='presentation'></div>" if reckoned else ""
        rows += f"<li>{question_html(item, card.system)}{room}{line}</li>"
    hints = "".join(
        f"<li value='{i}'>{_esc(item.question.hint)}</li>"
        for i, item in enumerate(card.items, 1)
        if item.question.hint
    )
    kind = "Practice card" if card.practice else "Job card"
    return (
        f"<section><h1>{kind} {_esc(card.title)}</h1>"
        f"<p><b>{_esc(card.name)}</b> <span class='small'>({_esc(card.trainee)}), "
        f"{card.marks} marks</span></p>"
        f"<p>{_esc(engine_line(card))}</p>"
        "<p class='small'>Write a number and its unit; three figures where nothing else is "
        f"said.</p><ol>{rows}</ol><h2>Where you are stuck</h2><ol class='small'>{hints}</ol>"
        f"<p class='small'>{_esc(CAUTIONS[0])} {_esc(CAUTIONS[1])}</p>"
        "</section>"
    )


def cards_page(cards: Iterable[Card]) -> str:
    """All cards, each on pages of its own."""
    every = list(cards)
    return page(f"Job cards {every[0].title}", "".join(card_html(c) for c in every))


def key_page(cards: Iterable[Card]) -> str:
    """The answers of all cards, and what each wrong route gives: for the instructor only."""
    every = list(cards)
    parts = [f"<h1>Key to the job cards {_esc(every[0].title)}</h1>"]
    parts.append("<p>For the instructor only.</p>")
    heads = ("no.", "question", "answer", "wrong routes", "marks")
    for card in every:
        rows = (
            (
                f"<td>{i}</td><td>{_esc(q.key.partition('/')[2])}</td>",
                f"<td><b>{_esc(printed(q))}</b></td>",
                f"<td>{_esc('; '.join(f'{p.name}: {printed(q, p.value)}' for p in q.pitfalls))}",
                f"</td><td>{q.marks}</td>",
            )
            for i, q in enumerate((item.question for item in card.items), 1)
        )
        parts.append(
            f"<section><h2>{_esc(card.name)} <span class='small'>({_esc(card.trainee)})</span></h2>"
            f"{table(heads, rows)}</section>"
        )
    return page(f"Key {every[0].title}", "".join(parts))
