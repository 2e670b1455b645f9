"""The sections of a build as frozen dataclasses: plain SI numbers, angles in radians, crank speed
in turns per second. Their fields are those of the table of fields: attributes, kinds, ranges and
defaults stand there alone, and ``help(SECTIONS["engine"])`` shows them.

>>> ShankPart(diameter="10 mm", length=0.06)  # plain SI or a quantity
FastenersShank(diameter=0.01, length=0.06)
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any, ClassVar

from sealkit.build.fields import ABOUT, TABLE, Spec
from sealkit.build.toml import toml
from sealkit.units import KINDS, field, plain_fields, show


class Section:
    """A section of the sheet, or a row of a list of tables on it."""

    if TYPE_CHECKING:
        __dataclass_fields__: ClassVar[dict[str, Any]]

        def __init__(self, **values: Any) -> None: ...

        def __getattr__(self, name: str) -> Any: ...


def _blend(fuel: Section) -> str:
    """The fuel with the share that is blended in: "methanol with 90 % nitromethane"."""
    for share, of in (
        (fuel.ethanol_share, "ethanol"),
        (fuel.nitromethane_share, "nitromethane"),
    ):
        if share:
            return f"{fuel.name} with {show(share, 'fraction', decimals=0)} {of}"
    return str(fuel.name)


def _made(name: str) -> type[Section]:
    """The dataclass of the fields of one section of the table.

    A field that the sheet may leave out has its default there; quantities are read by their unit.
    """
    specs = {spec.attribute: spec for spec in TABLE[name].values()}
    fields: list[tuple[str, Any, Any]] = []
    for attribute, spec in specs.items():
        default = {} if spec.required else {"default": spec.held}
        made = field(spec.kind, **default) if spec.kind in KINDS else dataclasses.field(**default)
        fields.append((attribute, _type(spec), made))
    if name == "engine":
        fields.append(("chamber", "Section | None", dataclasses.field(default=None)))
    lines = [f"{attribute} : {_told(spec)}" for attribute, spec in specs.items()]
    own: dict[str, Any] = {"__module__": __name__, "__post_init__": plain_fields}
    own["__doc__"] = "\n".join([ABOUT[name], "", "Parameters", "----------", *lines])
    if name == "fuel":
        own["blend"] = property(_blend)
    return dataclasses.make_dataclass(
        name.title().replace(".", ""),
        fields,
        bases=(Section,),
        namespace=own,
        frozen=True,
        kw_only=True,
    )


def _type(spec: Spec) -> str:
    """Type of a field as its section holds it."""
    word = {"text": "str", "whole": "int", "place": "tuple[float, float]"}.get(spec.kind, "float")
    word = "tuple[Any, ...]" if spec.kind in ("rows", "places") else word
    return word if spec.required or spec.held is not None else f"{word} | None"


def _told(spec: Spec) -> str:
    """A field in one line: kind, unit inside, range, help."""
    unit = f" in {KINDS[spec.kind].si}" if spec.kind in KINDS and KINDS[spec.kind].si else ""
    span = f", {spec.span}" if spec.range else ""
    words = f", one of {', '.join(map(toml, spec.choices))}" if spec.choices else ""
    return f"{spec.kind}{unit}{span}{words}; {spec.help}"


SECTIONS: dict[str, type[Section]] = {name: _made(name) for name in ABOUT}
"""Dataclass of each section, and of each row of a list of tables, by its dotted name."""
globals().update({section.__name__: section for section in SECTIONS.values()})  # to be pickled
ShankPart = SECTIONS["fasteners.shank"]
