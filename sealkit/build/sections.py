"""The sections of a build as frozen dataclasses: plain SI numbers, angles in radians, crank speed
in turns per second. Their fields are those of the table of fields: attributes, kinds, ranges and
defaults stand there alone, and ``help(Engine)`` shows them.

>>> ShankPart(diameter="10 mm", length=0.06)  # plain SI or a quantity
ShankPart(diameter=0.01, length=0.06)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from sealkit.build.fields import TABLE, Spec
from sealkit.build.toml import toml
from sealkit.units import KINDS, plain, show


class Section:
    """A section of the sheet, or a row of a list of tables on it."""

    if TYPE_CHECKING:
        __dataclass_fields__: ClassVar[dict[str, Any]]

        def __init__(self, **values: Any) -> None: ...

        def __getattr__(self, name: str) -> Any: ...


T = TypeVar("T", bound=Section)

SECTIONS: dict[str, type[Section]] = {}
"""Dataclass of each section, and of each row of a list of tables, by its dotted name."""


def _of(name: str) -> Callable[[type[T]], type[T]]:
    """Makes a class a dataclass of the fields of one section of the table.

    A field that the sheet may leave out has its default there; quantities are read by their unit.
    """
    specs = {spec.attribute: spec for spec in TABLE[name].values()}
    kinds = {a: s.kind for a, s in specs.items() if s.kind in KINDS}

    def quantities(self: Any) -> None:
        for attribute, kind in kinds.items():
            value = getattr(self, attribute)
            if type(value) is not float and value is not None:
                object.__setattr__(self, attribute, plain(value, kind, attribute))

    def finish(cls: type[T]) -> type[T]:
        cls.__annotations__ = {a: _type(s) for a, s in specs.items()} | cls.__annotations__
        for attribute, spec in specs.items():
            if not spec.required:
                setattr(cls, attribute, spec.held)
        lines = [f"{attribute} : {_told(spec)}" for attribute, spec in specs.items()]
        cls.__doc__ = "\n".join([cls.__doc__ or "", "", "Parameters", "----------", *lines])
        cls.__post_init__ = quantities  # type: ignore[attr-defined]
        SECTIONS[name] = made = dataclass(frozen=True, kw_only=True)(cls)
        return made

    return finish


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


@_of("sheet")
class Sheet(Section):
    """What the sheet is called and how far it is to be trusted."""


@_of("engine.chamber")
class Chamber(Section):
    """The volumes the compression ratio is built up from."""


@_of("engine")
class Engine(Section):
    """The crank train and the compression ratio."""

    chamber: Chamber | None = None


@_of("charge")
class Charge(Section):
    """The air that goes in."""


@_of("fuel")
class Fuel(Section):
    """The fuel and how much of it."""

    @property
    def blend(self) -> str:
        """The fuel with the share that is blended in: "methanol with 90 % nitromethane"."""
        for share, of in (
            (self.ethanol_share, "ethanol"),
            (self.nitromethane_share, "nitromethane"),
        ):
            if share:
                return f"{self.name} with {show(share, 'fraction', decimals=0)} {of}"
        return str(self.name)


@_of("burn")
class Burn(Section):
    """The burn as a tuner thinks of it, the walls, and the spread from cycle to cycle."""


@_of("fasteners.shank")
class ShankPart(Section):
    """One length of the shank, of one diameter."""


@_of("fasteners")
class Fasteners(Section):
    """Head bolts or studs and how they are tightened."""


@_of("head")
class Head(Section):
    """The cylinder head as a plate."""


@_of("block")
class Block(Section):
    """The block below the deck."""


@_of("gasket")
class Gasket(Section):
    """The head gasket."""


@_of("liquids")
class Liquids(Section):
    """Coolant and oil at the deck."""


@_of("heat")
class Heat(Section):
    """How hot the joint gets and how cold."""


@_of("deck.holes")
class DeckHole(Section):
    """A coolant or oil hole of the deck face."""


@_of("deck.thickness")
class DeckStep(Section):
    """A place where the gasket is thicker, or thinner where a coat is missing."""


@_of("deck")
class Deck(Section):
    """Where bores, fasteners and liquid holes stand on the deck face, for the deck map.

    Places are two lengths: along the row of bores from the first bore to the rear, and across it
    to the inlet side (inline) or to the valley (vee). What is listed replaces what the pattern
    would put there.
    """


@_of("evidence.measured")
class Measured(Section):
    """One reading taken on this engine."""


@_of("evidence.known")
class Known(Section):
    """A field that measurements have narrowed down."""


@_of("evidence")
class Evidence(Section):
    """What was measured on this engine, and what it narrows down."""


def first_line(section: type) -> str:
    """What a section is, in one line."""
    return (section.__doc__ or "").splitlines()[0]
