"""The sections of a build as frozen dataclasses: plain SI numbers, angles in radians, crank speed
in turns per second. What each number is stands in the table of fields; it is added to the
docstrings here, so that ``help(Engine)`` shows kinds and ranges."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from sealkit.build.fields import TABLE, Spec
from sealkit.build.toml import toml
from sealkit.sealing.gaskets import Zone
from sealkit.units import KINDS

T = TypeVar("T")


def _of(name: str) -> Callable[[type[T]], type[T]]:
    """Checks a dataclass against its rows of the table, and puts them into its docstring."""

    def finish(cls: type[T]) -> type[T]:
        specs = {spec.attribute: spec for spec in TABLE[name].values()}
        have = [f.name for f in dataclasses.fields(cls)]  # type: ignore[arg-type]
        if [a for a in have if a in specs] != list(specs):
            raise TypeError(f"[{name}] of the table and {cls.__name__} differ")
        lines = [f"{attribute} : {_told(spec)}" for attribute, spec in specs.items()]
        cls.__doc__ = "\n".join([cls.__doc__ or "", "", "Parameters", "----------", *lines])
        return cls

    return finish


def _told(spec: Spec) -> str:
    """A field in one line: kind, unit inside, range, help."""
    unit = f" in {KINDS[spec.kind].si}" if spec.kind in KINDS and KINDS[spec.kind].si else ""
    span = f", {spec.span}" if spec.range else ""
    words = f", one of {', '.join(map(toml, spec.choices))}" if spec.choices else ""
    return f"{spec.kind}{unit}{span}{words}; {spec.help}"


@_of("sheet")
@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What the sheet is called and how far it is to be trusted."""

    name: str
    note: str
    status: str


@_of("engine.chamber")
@dataclass(frozen=True, kw_only=True)
class Chamber:
    """The volumes the compression ratio is built up from."""

    chamber_volume: float
    deck_clearance: float
    piston_volume: float


@_of("engine")
@dataclass(frozen=True, kw_only=True)
class Engine:
    """The crank train and the compression ratio."""

    cylinders: int
    heads: int
    strokes: int
    bore: float
    stroke: float
    rod_length: float
    speed: float
    compression_ratio: float | None
    chamber: Chamber | None = None


@_of("charge")
@dataclass(frozen=True, kw_only=True)
class Charge:
    """The air that goes in."""

    boost: float
    altitude: float | None
    ambient_pressure: float | None
    ambient_temperature: float
    compressor_efficiency: float
    intercooler_effectiveness: float
    volumetric_efficiency: float
    residual_fraction: float
    evaporated_share: float


@_of("fuel")
@dataclass(frozen=True, kw_only=True)
class Fuel:
    """The fuel and how much of it."""

    name: str
    ethanol_share: float | None
    nitromethane_share: float | None
    equivalence_ratio: float | None
    air_ratio: float | None


@_of("burn")
@dataclass(frozen=True, kw_only=True)
class Burn:
    """The burn as a tuner thinks of it, the walls, and the spread from cycle to cycle."""

    ca50: float
    duration: float
    released_share: float
    wall_temperature: float
    heat_transfer: str
    peak_variation: float
    one_cycle_in: float
    knock_amplitude: float


@_of("fasteners.shank")
@dataclass(frozen=True, kw_only=True)
class ShankPart:
    """One length of the shank, of one diameter."""

    diameter: float
    length: float


@_of("fasteners")
@dataclass(frozen=True, kw_only=True)
class Fasteners:
    """Head bolts or studs and how they are tightened."""

    kind: str
    thread: str
    grade: str | None
    proof_strength: float | None
    yield_strength: float | None
    tensile_strength: float | None
    material: str
    around_bore: int
    on_head: int
    shank: tuple[ShankPart, ...]
    grip_head: float
    grip_block: float
    engagement: float
    hole_diameter: float
    bearing_diameter: float
    bolt_circle: float
    lubricant: str
    friction_thread: float | None
    friction_bearing: float | None
    tightening: str
    torque: float | None
    angle: float | None
    stretch: float | None
    preload_scatter: float | None
    preload_factor: float
    embedment: float | None
    roughness: str


@_of("head")
@dataclass(frozen=True, kw_only=True)
class Head:
    """The cylinder head as a plate."""

    material: str
    thickness: float


@_of("block")
@dataclass(frozen=True, kw_only=True)
class Block:
    """The block below the deck."""

    material: str
    thickness: float | None


@_of("gasket")
@dataclass(frozen=True, kw_only=True)
class Gasket:
    """The head gasket."""

    construction: str
    bore: float
    seal_diameter: float
    body_area: float
    liquid_length: float
    compressed_thickness: float
    creep_relaxation: float | None
    zones: tuple[Zone, ...]


@_of("liquids")
@dataclass(frozen=True, kw_only=True)
class Liquids:
    """Coolant and oil at the deck."""

    deck: str
    coolant_pressure: float | None
    facing: str | None


@_of("heat")
@dataclass(frozen=True, kw_only=True)
class Heat:
    """How hot the joint gets and how cold."""

    hot_state: str
    coolant_temperature: float | None
    rise_factor: float
    cold_soak: float


@_of("deck.holes")
@dataclass(frozen=True, kw_only=True)
class DeckHole:
    """A coolant or oil hole of the deck face."""

    name: str
    fluid: str
    place: tuple[float, float]
    diameter: float


@_of("deck.thickness")
@dataclass(frozen=True, kw_only=True)
class DeckStep:
    """A place where the gasket is thicker, or thinner where a coat is missing."""

    place: tuple[float, float]
    extra: float
    diameter: float | None = None
    size: tuple[float, float] | None = None


@_of("deck")
@dataclass(frozen=True, kw_only=True)
class Deck:
    """Where bores, fasteners and liquid holes stand on the deck face, for the deck map.

    Places are two lengths: along the row of bores from the first bore to the rear, and across it
    to the inlet side (inline) or to the valley (vee). What is listed replaces what the pattern
    would put there.
    """

    pattern: str | None
    pitch: float | None
    bolts_per_bore: int | None
    shared_rows: int | None
    row_distance: float | None
    front_distance: float | None
    rear_distance: float | None
    pair_distance: float | None
    outer_distance: float | None
    end_margin: float | None
    side_margin: float | None
    corner_cut: float | None
    bank_offset: float | None
    coolant_diameter: float | None
    coolant_distance: float | None
    coolant_per_gap: int | None
    oil_diameter: float | None
    oil_distance: float | None
    bores: tuple[tuple[float, float], ...]
    bolts: tuple[tuple[float, float], ...]
    outline: tuple[tuple[float, float], ...]
    effective_thickness: float | None
    mesh: float
    lengthwise_bow: float
    across_bow: float
    holes: tuple[DeckHole, ...]
    thickness: tuple[DeckStep, ...]


def first_line(section: type) -> str:
    """What a section is, in one line."""
    return (section.__doc__ or "").splitlines()[0]


SECTIONS: dict[str, type] = {
    "sheet": Sheet,
    "engine": Engine,
    "engine.chamber": Chamber,
    "charge": Charge,
    "fuel": Fuel,
    "burn": Burn,
    "fasteners": Fasteners,
    "head": Head,
    "block": Block,
    "gasket": Gasket,
    "liquids": Liquids,
    "heat": Heat,
    "deck": Deck,
}
"""Dataclass of each section, in the order in which they are written."""
