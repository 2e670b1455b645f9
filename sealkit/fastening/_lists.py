"""Lists of quantities at the door of a public function, such as layers or bolt segments."""

from __future__ import annotations

import functools
import inspect
import re
from collections.abc import Callable, Iterable
from typing import Any, cast

import numpy as np

from sealkit.errors import Fault, InputError, fail
from sealkit.units import UnitFunction, check_range, parse, to_si

SECTION = "area or diameter"


def _kind(spec: str) -> str:
    return re.split(r"\s*(?:>|-?\d)", spec)[0]


def _read(value: Any, spec: str, name: str) -> Any:
    """One entry as a plain SI number or array, checked against its range."""
    if spec == SECTION:
        quantity = parse(value, name) if isinstance(value, str) else value
        if hasattr(quantity, "check") and quantity.check("[length]"):
            plain = np.pi / 4 * to_si(quantity, "length", name) ** 2
        else:
            plain = to_si(quantity, "area", name)
        fault = check_range(plain, "area > 0", name)
    else:
        plain = to_si(value, _kind(spec), name)
        fault = check_range(plain, spec, name)
    if fault is not None:
        raise InputError(fault)
    return plain


def read_list(values: Any, spec: str | tuple[str, ...], name: str) -> list[Any]:
    """A list of entries (or of tuples of entries) in SI.

    Raises
    ------
    InputError
        listing every bad entry, each named by its place in the list.
    """
    row = (spec,) if isinstance(spec, str) else spec
    wanted = f"a list of {', '.join(_kind(s) for s in row)}"
    if isinstance(values, str) or not isinstance(values, Iterable):
        raise fail(name, values, wanted)
    out: list[Any] = []
    faults: list[Fault] = []
    entries = list(values)
    if not entries:
        raise fail(name, "an empty list", wanted)
    for number, entry in enumerate(entries, start=1):
        where = f"{name}, entry {number}"
        cells = (entry,) if isinstance(spec, str) else entry
        if not isinstance(cells, (tuple, list)) or len(cells) != len(row):
            faults.append(Fault(where, str(entry), ", ".join(_kind(s) for s in row)))
            continue
        read: list[Any] = []
        for cell, s in zip(cells, row, strict=True):
            try:
                read.append(_read(cell, s, where))
            except InputError as err:
                faults.extend(err.faults)
        out.append(read[0] if isinstance(spec, str) and read else tuple(read))
    if faults:
        raise InputError(faults)
    return out


def with_lists(**specs: str | tuple[str, ...]) -> Callable[[UnitFunction], UnitFunction]:
    """Stands above `with_units`: reads the named arguments as lists of quantities.

    Parameters
    ----------
    **specs : one kind (with range) for a plain list, a tuple of kinds for a list of tuples.
        "area or diameter" takes either and hands on the area.
    """

    def decorate(door: UnitFunction) -> UnitFunction:
        signature = inspect.signature(door)

        @functools.wraps(door)
        def outer(*args: Any, **kwargs: Any) -> Any:
            bound = signature.bind(*args, **kwargs)
            faults: list[Fault] = []
            for name, spec in specs.items():
                if bound.arguments.get(name) is None:
                    continue
                try:
                    bound.arguments[name] = read_list(bound.arguments[name], spec, name)
                except InputError as err:
                    faults.extend(err.faults)
            if faults:
                for name, spec in door.kinds.items():
                    if bound.arguments.get(name) is not None:
                        try:
                            _read(bound.arguments[name], spec, name)
                        except InputError as err:
                            faults.extend(err.faults)
                raise InputError(faults)
            return door(*bound.args, **bound.kwargs)

        return cast(UnitFunction, outer)

    return decorate
