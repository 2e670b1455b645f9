"""What a cell hands back: HTML for the page, with the same as plain text."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sealkit.classroom.drawing import charts

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


def folded(title: str, words: str, rows: Sequence[Mapping[str, str]] = ()) -> Shown:
    """An answer that opens when it is asked for, by mouse or keyboard."""
    table = charts.html_table(title, [dict(r) for r in rows]) if rows else ""
    text = "\n".join([title, *([plain_table(rows)] if rows else []), words])
    return Shown(
        f"<details>{_SUMMARY.format(html.escape(title))}{table}<p>{html.escape(words)}</p>"
        "</details>",
        text,
    )
