"""The pages beside the lessons, which are notebooks of words alone."""

from __future__ import annotations

from pathlib import Path

import nbformat

FOLDER = Path(__file__).resolve().parents[1] / "notebooks"


def text(name: str) -> str:
    """All words of a page, as Markdown."""
    page = nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)
    return "\n\n".join(cell.source for cell in page.cells)
