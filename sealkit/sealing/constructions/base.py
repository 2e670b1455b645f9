"""What all constructions share: how they are read, their curves, their materials."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Self

import numpy as np

from sealkit import tables
from sealkit.arrays import Array
from sealkit.errors import Fault, InputError, fail, near, short
from sealkit.sealing import criteria
from sealkit.sealing.gaskets import Gasket
from sealkit.units import field, plain_fields, read_fields
from sealkit.words import figure, note

Down = Callable[[Array, float], Array]
FROM_DATA = "m and y from the data of the construction"
RING_JOINT = "on the width of a ring joint, b0 = w/8 (ASME BPVC VIII-1, Table 2-5.2, sketch 6)"


def count(spec: str) -> Any:
    """A dataclass field that holds a whole number in this range."""
    number = field(spec)
    number.metadata = {**number.metadata, "whole": True}
    return number


def _number_or_text(cell: str) -> Any:
    try:
        return float(cell)
    except ValueError:
        return cell


@dataclass(frozen=True, kw_only=True)
class Construction:
    """Sizes and materials of a gasket construction, in SI.

    Each kind is a dataclass of its own; its fields state the kind and range of each parameter, the
    table ``constructions`` the value, source and status. Quantities and text with unit are read by
    their unit.
    """

    name: ClassVar[str]
    note: ClassVar[str]

    @classmethod
    @functools.cache
    def parameters(cls) -> dict[str, Mapping[str, Any]]:
        """Rows of the table, by the name of the parameter."""
        rows = tables.load("constructions").rows
        return {r["parameter"]: r for r in rows if cls.name in r["constructions"].split(";")}

    @classmethod
    def from_table(cls, **changes: Any) -> Self:
        """The construction with the values of the table, some of them changed.

        Raises InputError for an unknown parameter, listing every value that is no single quantity
        of its kind and range, or naming the first that does not go with the others.

        Parameters
        ----------
        **changes : parameters, as quantities, text with unit or names of materials
        """
        rows = cls.parameters()
        faults = [
            Fault(k, short(v), f"a parameter of {cls.name}: {', '.join(rows)}{near(k, rows)}")
            for k, v in changes.items()
            if k not in rows
        ]
        if faults:
            raise InputError(faults)
        cells = {key: _number_or_text(row["value"]) for key, row in rows.items()}
        values = read_fields(cls, cells | changes)
        for f in dataclasses.fields(cls):
            if "whole" in f.metadata and values[f.name] != int(values[f.name]):
                raise fail(f.name, f"{values[f.name]:g}", "a whole number")
        return cls(**values)

    def __post_init__(self) -> None:
        plain_fields(self)

    def gasket(self) -> Gasket:
        """The gasket with its zones worked out.

        Raises InputError for an unknown material, or sizes that do not go together.
        """
        raise NotImplementedError


def most(name: str, value: float, limit: float, what: str) -> None:
    """Refuse a size above a limit."""
    if value > limit:
        wanted = note(f"at most {what}, {{limit}}", limit=(float(limit), "length"))
        raise InputError(Fault(name, figure(value, "length"), wanted))


# --------------------------------------------------------------------------- curves
def curves(loads: Array, closure: Array, down: Down) -> dict[str, Any]:
    """Loading and unloading tables out of closure against load.

    `down(levels, top)` is the closure at loads on the way back from the load `top`. All paths have
    their nodes at the loads of the loading curve and one path starts at each, so that straight
    pieces cross no more than the curves do.
    """
    out = []
    for i in range(1, len(loads)):
        c = np.maximum(down(loads[: i + 1], float(loads[i])), closure[: i + 1])
        c[i] = closure[i]
        out.append((c[::-1].copy(), loads[i::-1].copy()))
    return {"closure": closure, "load": loads, "unloading": tuple(out)}


def elastic_return(loads: Array, closure: Array, give: float) -> dict[str, Any]:
    """Curves of a zone that flows as it is loaded and comes back by `give` per load."""

    def down(levels: Array, top: float) -> Array:
        return float(np.interp(top, loads, closure)) - give * (top - levels)

    return curves(loads, closure, down)


def over_width(stresses: dict[str, Any], width: float) -> dict[str, Any]:
    """Line loads from stresses on a width."""
    return {
        "closure": stresses["closure"],
        "load": stresses["load"] * width,
        "unloading": tuple((c, f * width) for c, f in stresses["unloading"]),
    }


def seating_line_load(stress: float, width: float) -> float:
    """Line load that seats a facing of this seating stress y on a contact of this width."""
    b = criteria.effective_width.si(criteria.basic_width.si(width))
    return float(criteria.seating_line_load.si(stress, b))


# --------------------------------------------------------------------------- materials
def elastic(material: str, argument: str) -> tuple[float, float]:
    """Modulus and Poisson's ratio of a row of the table of materials."""
    row = tables.load("materials").get(material, argument)
    if row["poisson"] is None:
        raise fail(argument, material, "a material with a Poisson's ratio in the materials table")
    return float(row["modulus"]), float(row["poisson"])
