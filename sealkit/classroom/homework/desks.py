"""What the homework notebooks call.

>>> from sealkit.classroom.homework import desks
>>> desks.trainee()  # doctest: +SKIP
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sealkit.classroom.drawing.shown import Shown

_MISSING = (
    "This needs ipywidgets (pip install sealkit). Without it, use the commands: "
    "sealkit cards, sealkit grade."
)


def _without(err: ModuleNotFoundError) -> Shown:
    if (err.name or "").partition(".")[0] != "ipywidgets":
        raise err
    return Shown(f"<p>{_MISSING}</p>", _MISSING)


def trainee(folder: str | Path | None = ".") -> Any:
    """The trainee's desk; `folder` is where answers are written besides the download."""
    try:
        from sealkit.classroom.homework.trainee import Desk
    except ModuleNotFoundError as err:
        return _without(err)
    return Desk(None if folder is None else Path(folder))


def instructor() -> Any:
    """The instructor's desk."""
    try:
        from sealkit.classroom.homework.instructor import Desk
    except ModuleNotFoundError as err:
        return _without(err)
    return Desk()
