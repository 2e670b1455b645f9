"""Many builds at once: other plain SI numbers, or arrays of them, at fields of one sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sealkit.build import Build, fields
from sealkit.errors import fail, quoted

_CYCLE = {path for path, spec in fields() if spec.varies == "cycle"}
VARIABLE = tuple(path for path, spec in fields() if spec.varies)
"""Fields of the sheet that may be arrays over builds."""


def with_numbers(build: Build, numbers: Mapping[str, Any]) -> Build:
    """The same build with other plain SI numbers, or arrays, at these fields (of `VARIABLE`).

    With arrays it stands for many builds, and only the steps of this room take it. Raises
    InputError for a field that cannot be varied so, or a number out of the sheet's range.
    """
    for path in numbers:
        if path not in VARIABLE:
            raise fail(str(path), "a field that cannot vary over builds", quoted(VARIABLE))
    return build.vary_si(numbers)


def with_one_preload(build: Build) -> Build:
    """The same build with fasteners alike: no scatter of the preload and one yield strength."""
    return build.vary_si({"fasteners.preload_scatter": 0.0, "fasteners.yield_spread": 0.0})


def moves_the_cycle(build: Build, paths: Iterable[str]) -> bool:
    """Whether other numbers at these fields give another mean cycle."""
    names = _CYCLE | ({"gasket.compressed_thickness"} if build.engine.chamber else set())
    return not names.isdisjoint(paths)
