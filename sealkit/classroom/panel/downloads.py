"""Links that carry their own file: the only way to keep anything on a service that forgets."""

from __future__ import annotations

import base64
import html
import io
import re
import unicodedata
import zipfile
from collections.abc import Mapping

_TYPES = {
    "html": "text/html;charset=utf-8",
    "csv": "text/csv;charset=utf-8",
    "json": "application/json;charset=utf-8",
    "toml": "text/plain;charset=utf-8",
    "zip": "application/zip",
}


def link(file: str, content: str | bytes, words: str) -> str:
    """A link to save `content` as `file`."""
    data = content.encode("utf-8", "replace") if isinstance(content, str) else content
    mime = _TYPES[file.rpartition(".")[2]]
    return (
        f'<a download="{html.escape(file)}" href="data:{mime};base64,'
        f'{base64.b64encode(data).decode()}" style="font-size:16px;text-decoration:underline">'
        f"{html.escape(words)}</a>"
    )


def defused(text: str) -> str:
    """A cell that no spreadsheet takes for a formula, without control marks.

    What follows a comma or semicolon may become a cell of its own where the file is read with
    another delimiter, so it is looked at too.
    """
    text = "".join(c if c.isprintable() else " " for c in text)
    return "".join(f"'{p}" if _formula(p) else p for p in re.split(r"(?<=[,;|])", text))


def _formula(text: str) -> bool:
    """Whether a spreadsheet would work it out."""
    head = unicodedata.normalize("NFKC", text).lstrip().lstrip('"').lstrip()[:1]
    return head in ("=", "+", "-", "@")


def packed(files: Mapping[str, str]) -> bytes:
    """Files as one ZIP, the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in files.items():
            entry = zipfile.ZipInfo(name)  # dated 1980, on every machine
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, text.encode("utf-8", "replace"))
    return out.getvalue()
