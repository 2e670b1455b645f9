"""What the homework notebooks call.

>>> from sealkit.classroom.homework import desks
>>> desks.trainee()  # doctest: +SKIP
"""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

from sealkit.classroom.drawing.shown import Shown

_MISSING = (
    "This needs ipywidgets (pip install sealkit). Without it, use the commands: "
    "sealkit cards, sealkit grade."
)


def _desk(module: str, *given: Any) -> Any:
    """The desk of a module; without widgets, words about what to do."""
    try:
        return importlib.import_module(f"sealkit.classroom.homework.{module}").Desk(*given)
    except ModuleNotFoundError as err:
        if (err.name or "").partition(".")[0] != "ipywidgets":
            raise
        return Shown(f"<p>{_MISSING}</p>", _MISSING)


def trainee(folder: str | Path | None = ".") -> Any:
    """The trainee's desk; `folder` is where answers are written besides the download."""
    return _desk("trainee", None if folder is None else Path(folder))


def instructor() -> Any:
    """The instructor's desk."""
    return _desk("instructor")
