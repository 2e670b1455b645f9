"""Lists of quantities at the door of a public function, such as layers or bolt segments."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from sealkit.errors import Fault, InputError, fail
from sealkit.units import parse, plain_within

SECTION = "area or diameter"


def _kind(spec: str) -> str:
    return re.split(r"\s*(?:>|-?\d)", spec)[0]


def _read(value: Any, spec: str, name: str) -> Any:
    """One entry as a plain SI number or array."""
    if spec != SECTION:
        return plain_within(value, spec, name)
    quantity = parse(value, name) if isinstance(value, str) else value
    if hasattr(quantity, "check") and quantity.check("[length]"):
        return np.pi / 4 * plain_within(quantity, "length > 0", name) ** 2
    return plain_within(quantity, "area > 0", name)


def lists(*row: str) -> Callable[[Any, str], list[Any]]:
    """What `with_units` reads a list of quantities with: of one kind, or of rows of several.

    Returns a function of the values and the argument's name that gives them in SI; its `InputError`
    lists every bad entry, each named by its place in the list.

    Parameters
    ----------
    *row : kinds with range, as in `with_units`; "area or diameter" takes either and hands on the
        area
    """
    kinds = ", ".join(map(_kind, row))

    def read(values: Any, name: str) -> list[Any]:
        wanted = f"a list of {kinds}"
        if isinstance(values, str) or not isinstance(values, Iterable):
            raise fail(name, values, wanted)
        out: list[Any] = []
        faults: list[Fault] = []
        entries = list(values)
        if not entries:
            raise fail(name, "an empty list", wanted)
        for number, entry in enumerate(entries, start=1):
            where = f"{name}, entry {number}"
            cells = (entry,) if len(row) == 1 else entry
            if not isinstance(cells, tuple | list) or len(cells) != len(row):
                faults.append(Fault(where, str(entry), kinds))
                continue
            cells_read: list[Any] = []
            for cell, spec in zip(cells, row, strict=True):
                try:
                    cells_read.append(_read(cell, spec, where))
                except InputError as err:
                    faults.extend(err.faults)
            out.append(cells_read[0] if len(row) == 1 and cells_read else tuple(cells_read))
        if faults:
            raise InputError(faults)
        return out

    return read
