"""What a cell hands back: HTML for the page, with the same as plain text."""

from __future__ import annotations

import html
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sealkit.words import figure_text, minus

_SUMMARY = "<summary style='font-size:16px;cursor:pointer'>{}</summary>"


@dataclass(frozen=True)
class Shown:
    """HTML for a cell, with the same as plain text."""

    html: str
    text: str

    def _repr_html_(self) -> str:
        return self.html

    def __str__(self) -> str:
        return self.text

    __repr__ = __str__


def plain_table(rows: Sequence[Mapping[str, str]]) -> str:
    """Rows of text as a plain table with even columns."""
    columns = list(rows[0])
    width = [max(len(c), *(len(r[c]) for r in rows)) for c in columns]
    lines = [columns, *([r[c] for c in columns] for r in rows)]
    return "\n".join(
        "  ".join(cell.ljust(w) for cell, w in zip(line, width, strict=True)).rstrip()
        for line in lines
    )


_CELL = "padding:3px 9px 3px 0;text-align:left;vertical-align:top;border-bottom:1px solid #bbb"


def html_table(caption: str, rows: list[dict[str, str]]) -> str:
    """Rows of text as an HTML table that scrolls inside itself where it is too wide."""
    head = "".join(f'<th scope="col" style="{_CELL}">{html.escape(k)}</th>' for k in rows[0])
    body = ""
    for row in rows:
        first, *rest = row.values()
        wide = ";min-width:8em" if len(first) > 16 else ""
        body += f'<tr><th scope="row" style="{_CELL};font-weight:normal{wide}">'
        body += f"{html.escape(minus(first))}</th>"
        for value in rest:
            whole = ";white-space:nowrap" if len(value) < 12 else ""
            whole = ";min-width:12em" if len(value) > 40 else whole
            body += f'<td style="{_CELL}{whole}">{html.escape(minus(value))}</td>'
        body += "</tr>"
    table = (
        '<table style="border-collapse:collapse;font-size:14px;line-height:1.35">'
        '<caption style="caption-side:top;text-align:left;font-weight:bold;padding:6px 0">'
        f"{html.escape(caption)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{body}</tbody></table>"
    )
    return scrolling(caption, table, ";contain:inline-size")


def scrolling(label: str, inner: str, style: str = "") -> str:
    """HTML in a box of this name that scrolls inside itself where it is too wide."""
    return (
        f'<div style="overflow-x:auto{style}" tabindex="0" role="region" '
        f'aria-label="{html.escape(label, quote=True)}">{inner}</div>'
    )


def cells(rows: Iterable[Mapping[str, Any]], system: str) -> list[dict[str, str]]:
    """Rows of figures (as `sealkit.words.figure_text` takes them) as rows of text."""
    return [{column: figure_text(cell, system) for column, cell in row.items()} for row in rows]


def folded(title: str, words: str, rows: Sequence[Mapping[str, str]] = ()) -> Shown:
    """An answer that opens when it is asked for, by mouse or keyboard."""
    table = html_table(title, [dict(r) for r in rows]) if rows else ""
    text = "\n".join([title, *([plain_table(rows)] if rows else []), words])
    return Shown(
        f"<details>{_SUMMARY.format(html.escape(title))}{table}<p>{html.escape(words)}</p>"
        "</details>",
        text,
    )
