"""The sections of a build as frozen dataclasses: plain SI numbers, angles in radians, crank speed
in turns per second. What each number is stands in the table of fields; it is added to the
docstrings here, so that ``help(Engine)`` shows kinds and ranges.

>>> ShankPart(diameter="10 mm", length=0.06)  # plain SI or a quantity
ShankPart(diameter=0.01, length=0.06)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from sealkit.build.fields import TABLE, Spec
from sealkit.build.toml import toml
from sealkit.sealing.gaskets import Zone
from sealkit.units import KINDS, plain

T = TypeVar("T")

SECTIONS: dict[str, type] = {}
"""Dataclass of each section, and of each row of a list of tables, by its dotted name."""


def _of(name: str) -> Callable[[type[T]], type[T]]:
    """Makes a class hold the fields of one section of the table.

    Its attributes are checked against the table, its docstring gets a line for each, and
    quantities given to it are read by their unit.
    """
    specs = {spec.attribute: spec for spec in TABLE[name].values()}
    kinds = {a: s.kind for a, s in specs.items() if s.kind in KINDS}

    def quantities(self: Any) -> None:
        for attribute, kind in kinds.items():
            value = getattr(self, attribute)
            if type(value) is not float and value is not None:
                object.__setattr__(self, attribute, plain(value, kind, attribute))

    def finish(cls: type[T]) -> type[T]:
        if [a for a in cls.__annotations__ if a in specs] != list(specs):
            raise TypeError(f"[{name}] of the table and {cls.__name__} differ")
        lines = [f"{attribute} : {_told(spec)}" for attribute, spec in specs.items()]
        cls.__doc__ = "\n".join([cls.__doc__ or "", "", "Parameters", "----------", *lines])
        cls.__post_init__ = quantities  # type: ignore[attr-defined]
        SECTIONS[name] = cls
        return cls

    return finish


def _told(spec: Spec) -> str:
    """A field in one line: kind, unit inside, range, help."""
    unit = f" in {KINDS[spec.kind].si}" if spec.kind in KINDS and KINDS[spec.kind].si else ""
    span = f", {spec.span}" if spec.range else ""
    words = f", one of {', '.join(map(toml, spec.choices))}" if spec.choices else ""
    return f"{spec.kind}{unit}{span}{words}; {spec.help}"


@dataclass(frozen=True, kw_only=True)
@_of("sheet")
class Sheet:
    """What the sheet is called and how far it is to be trusted."""

    name: str
    note: str
    customer: str
    wish: str
    status: str


@dataclass(frozen=True, kw_only=True)
@_of("engine.chamber")
class Chamber:
    """The volumes the compression ratio is built up from."""

    chamber_volume: float
    deck_clearance: float
    piston_volume: float


@dataclass(frozen=True, kw_only=True)
@_of("engine")
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


@dataclass(frozen=True, kw_only=True)
@_of("charge")
class Charge:
    """The air that goes in."""

    boost: float
    altitude: float | None
    ambient_pressure: float | None
    ambient_temperature: float
    compressor_drive: str
    compressor_efficiency: float
    intercooler_effectiveness: float
    filling: float
    residual_fraction: float
    residual_temperature: float
    intake_heating: float
    evaporated_share: float
    evaporated_in_compression: float
    late_cooling: float


@dataclass(frozen=True, kw_only=True)
@_of("fuel")
class Fuel:
    """The fuel and how much of it."""

    name: str
    ethanol_share: float | None
    nitromethane_share: float | None
    octane_number: float | None
    equivalence_ratio: float | None
    air_ratio: float | None


@dataclass(frozen=True, kw_only=True)
@_of("burn")
class Burn:
    """The burn as a tuner thinks of it, the walls, and the spread from cycle to cycle."""

    ca50: float
    timing: str
    latest_ca50: float
    duration: float
    released_share: float
    wall_temperature: float
    heat_transfer: str
    wall_coefficient: float
    peak_variation: float | None
    ca50_variation: float | None
    duration_variation: float
    one_cycle_in: float
    knock_amplitude: float


@dataclass(frozen=True, kw_only=True)
@_of("fasteners.shank")
class ShankPart:
    """One length of the shank, of one diameter."""

    diameter: float
    length: float


@dataclass(frozen=True, kw_only=True)
@_of("fasteners")
class Fasteners:
    """Head bolts or studs and how they are tightened."""

    kind: str
    thread: str
    grade: str | None
    proof_strength: float | None
    yield_strength: float | None
    tensile_strength: float | None
    yield_spread: float
    material: str
    around_bore: int
    on_head: int
    shank: tuple[ShankPart, ...]
    grip_head: float
    grip_block: float
    engagement: float
    hole_diameter: float
    bearing_diameter: float
    boss_diameter: float | None
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
    threads_rolled: str


@dataclass(frozen=True, kw_only=True)
@_of("head")
class Head:
    """The cylinder head as a plate."""

    material: str
    thickness: float
    load_introduction: float
    gradient: float | None
    finish: float | None
    out_of_flat: float | None


@dataclass(frozen=True, kw_only=True)
@_of("block")
class Block:
    """The block below the deck."""

    material: str
    thickness: float | None
    deck: str
    finish: float | None
    out_of_flat: float | None


@dataclass(frozen=True, kw_only=True)
@_of("gasket")
class Gasket:
    """The head gasket."""

    construction: str
    bore: float
    seal_diameter: float
    body_area: float
    liquid_length: float
    compressed_thickness: float
    creep_relaxation: float | None
    seal_creep_relaxation: float | None
    body_over_ring: float | None
    body_tolerance: float
    zones: tuple[Zone, ...]


@dataclass(frozen=True, kw_only=True)
@_of("liquids")
class Liquids:
    """Coolant and oil at the deck."""

    deck: str
    coolant_pressure: float | None
    facing: str | None


@dataclass(frozen=True, kw_only=True)
@_of("heat")
class Heat:
    """How hot the joint gets and how cold."""

    hot_state: str
    coolant_temperature: float | None
    rise_factor: float
    warm_up_share: float | None
    cycles: int
    cold_soak: float
    cold_start_gas: float


@dataclass(frozen=True, kw_only=True)
@_of("deck.holes")
class DeckHole:
    """A coolant or oil hole of the deck face."""

    name: str
    fluid: str
    place: tuple[float, float]
    diameter: float


@dataclass(frozen=True, kw_only=True)
@_of("deck.thickness")
class DeckStep:
    """A place where the gasket is thicker, or thinner where a coat is missing."""

    place: tuple[float, float]
    extra: float
    diameter: float | None = None
    size: tuple[float, float] | None = None


@dataclass(frozen=True, kw_only=True)
@_of("deck")
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
