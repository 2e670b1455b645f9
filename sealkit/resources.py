"""Where notebooks and data lie: beside the package in a checkout, inside it in a wheel."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from sealkit.errors import fail

_PACKAGE = Path(__file__).resolve().parent


def beside(module: str, end: str = ".toml") -> Any:
    """What the file of a module's name beside it holds: TOML read, any other as text.

    `module` is its ``__file__``.
    """
    text = Path(module).with_suffix(end).read_text(encoding="utf-8")
    return tomllib.loads(text) if end == ".toml" else text


def course_root() -> Path:
    """The folder that holds ``notebooks/`` and ``data/``.

    Raises InputError if neither the checkout nor the installed package holds them.
    """
    for root in (_PACKAGE / "_course", _PACKAGE.parent):
        if (root / "notebooks").is_dir() and (root / "data").is_dir():
            return root
    raise fail("course files", "no notebooks and data beside the package", "a full installation")


def data_file(*parts: str) -> Path:
    """A file under ``data/``, such as ``data_file("checks", "threads.csv")``."""
    path = course_root().joinpath("data", *parts)
    if not path.is_file():
        raise fail("data file", "/".join(parts), "a file of the course's data folder")
    return path
