"""Constructions by name, filled from the table of their parameters."""

from __future__ import annotations

import functools
from dataclasses import replace
from typing import Any

from sealkit import tables
from sealkit.errors import fail, near
from sealkit.sealing.constructions.base import Construction
from sealkit.sealing.constructions.copper_sheet import CopperSheet
from sealkit.sealing.constructions.fibre import FibreComposite
from sealkit.sealing.constructions.layered_steel import LayeredSteel
from sealkit.sealing.constructions.steel_ring import FibreSteelRing
from sealkit.sealing.constructions.stopper import StopperSteel
from sealkit.sealing.constructions.wire_ring import CopperWireRing
from sealkit.sealing.gaskets import Gasket

_CLASSES: dict[str, type[Construction]] = {
    c.name: c
    for c in (
        FibreComposite,
        LayeredSteel,
        StopperSteel,
        FibreSteelRing,
        CopperWireRing,
        CopperSheet,
    )
}


def names() -> list[str]:
    """Names of the constructions that can be worked out."""
    return sorted(_CLASSES)


def kind(name: str) -> type[Construction]:
    """The class of a construction.

    Raises InputError if no construction has this name.

    >>> round(kind("multi-layer steel").from_table(active_layers=3).active_layers)
    3
    """
    if name not in _CLASSES:
        raise fail(
            "gasket.construction", name, "one of " + ", ".join(names()) + near(name, _CLASSES)
        )
    return _CLASSES[name]


def make(name: str, **changes: Any) -> Gasket:
    """The gasket of a construction, its parameters from the table where not changed.

    Returns Gasket; its zones carry the weakest status among the parameters taken from the table.
    Raises InputError for an unknown construction, parameter or material, or values that do not go
    together.

    Parameters
    ----------
    name : such as "multi-layer steel"
    **changes : see `Construction.from_table`
    """
    given = tuple(sorted(changes.items()))
    try:
        hash(given)
    except TypeError:  # a value that cannot be kept
        return _make.__wrapped__(name, given)
    return _make(name, given)


@functools.lru_cache(maxsize=128)
def _make(name: str, given: tuple[tuple[str, Any], ...]) -> Gasket:
    changes = dict(given)
    cls = kind(name)
    gasket = cls.from_table(**changes).gasket()
    kept = [row["status"] for key, row in cls.parameters().items() if key not in changes]
    status = tables.weakest("computed", *kept)
    return replace(gasket, zones=tuple(replace(z, status=status) for z in gasket.zones))
