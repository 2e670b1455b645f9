"""The build sheet: one engine, its fasteners, deck and gasket, as a text file with units.

A sheet is a TOML file of sections; a value with a unit stands in quotes (``bore = "86 mm"``).
`load` reads and checks it, `Build.vary` changes it, `Build.save` writes it. Every fault of a sheet
is told at once, one line each, by its dotted name (``fasteners.torque``). Inside a `Build` all
numbers are plain SI; angles in radians, crank speed in turns per second.

>>> four = demo("boosted-four")
>>> round(four.vary({"charge.boost": "22 psi"}).charge.boost)
151685
"""

from __future__ import annotations

import copy
import dataclasses
import datetime
import functools
import html
import itertools
import math
import os
import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pint

from sealkit import resources, tables
from sealkit.errors import (
    AS_IT_CAME,
    Fault,
    InputError,
    fail,
    near,
    nearest,
    quoted,
    short,
    short_path,
)
from sealkit.files import write_whole
from sealkit.sealing import layout as layouts
from sealkit.units import KINDS, Q, from_si, parse, show, show_like, show_value, to_si, ureg

__all__ = [
    "SECTIONS",
    "Block",
    "Build",
    "Burn",
    "Chamber",
    "Charge",
    "Deck",
    "DeckHole",
    "DeckStep",
    "Engine",
    "Fasteners",
    "Fuel",
    "Gasket",
    "Head",
    "Heat",
    "Liquids",
    "ShankPart",
    "Sheet",
    "Spec",
    "demo",
    "demos",
    "fields",
    "from_dict",
    "load",
    "loads",
    "template",
]

_LARGEST = 1_000_000  # bytes of a sheet; a real one has a few thousand
_LONGEST = 2_000  # characters of a text
_LONGEST_LIST = 400  # places of a list


# --------------------------------------------------------------------------- what a field is
def _si(raw: Any, kind: str, path: str = "value") -> Any:
    """The SI number of a value on the sheet.

    A number that had to be converted is rounded to 15 digits, so that "86 mm" and "8.6 cm" are
    the same value; one that came in the SI unit is kept to the last digit.
    """
    if type(raw) is str:
        try:
            return _text_si(raw, kind)
        except InputError:
            pass  # told again below, with the field's own name
    return _rounded(raw, kind, path)


@functools.lru_cache(maxsize=4096)
def _text_si(raw: str, kind: str) -> Any:
    """The same of a good text; a sheet that varies reads most of its texts again."""
    return _rounded(raw, kind, "value")


def _rounded(raw: Any, kind: str, path: str) -> Any:
    value = to_si(raw, kind, path)
    quantity = parse(raw, path) if isinstance(raw, str) else raw
    if isinstance(quantity, pint.Quantity) and isinstance(value, float):
        unit = KINDS[kind].si or "dimensionless"
        if quantity.units != ureg.Unit(unit):
            return float(f"{value:.15g}")
    return value


class _Required:
    def __repr__(self) -> str:
        return "REQUIRED"


REQUIRED = _Required()


@dataclass(frozen=True)
class Spec:
    """What one field of the sheet is.

    Parameters
    ----------
    kind : key of `sealkit.units.KINDS`, or "text", "whole" (a whole number), "rows", "place" (two
        lengths, along and across), "places" (a list of them)
    help : one line for the template, the docs and the messages
    example : how to write one
    default : as it would be written on the sheet; `REQUIRED`; None if it may be left out
    low, high : allowed range, as written on the sheet
    low_open : whether `low` itself is outside
    choices : the words (or whole numbers) allowed
    key : the name on the sheet
    condition : when the field is needed, in words
    words : what messages call the value; empty: the words of its kind
    too_high : what is said about a value above `high`
    """

    kind: str
    help: str
    example: Any
    default: Any
    low: Any
    high: Any
    low_open: bool
    choices: tuple[Any, ...]
    key: str
    condition: str
    words: str = ""
    too_high: str = ""

    @property
    def required(self) -> bool:
        """Whether the sheet must have the field whatever else it has."""
        return self.default is REQUIRED

    @functools.cached_property
    def limits(self) -> tuple[float, float]:
        """The allowed range in SI."""
        kind = _NUMBER_OF.get(self.kind, self.kind)
        low = -math.inf if self.low is None else _si(self.low, kind)
        high = math.inf if self.high is None else _si(self.high, kind)
        return low, high

    @functools.cached_property
    def range(self) -> str:
        """The allowed range in words, in the units of the sheet; empty without one."""
        if self.low is None and self.high is None:
            return ""
        if self.high is None:
            return f"{'above' if self.low_open else 'not below'} {self.low}"
        return f"{'above' if self.low_open else 'from'} {self.low} to {self.high}"

    @functools.cached_property
    def wanted(self) -> str:
        """What is accepted, in words, with an example."""
        if self.choices:
            return "one of " + ", ".join(_toml(c) for c in self.choices)
        return self._wanted(self.range)

    def _wanted(self, span: str) -> str:
        words = self.words or _WORDS.get(self.kind, "") or KINDS[self.kind].words
        example = f'"{self.example}"' if isinstance(self.example, str) else _toml(self.example)
        return f"{words}{' ' * bool(span)}{span}, such as {example}"

    def wanted_of(self, raw: Any, value: float) -> str:
        """What is accepted instead of a number out of range, in the unit of `raw` as well."""
        if self.choices or self.kind not in KINDS:
            return self.wanted
        span, hint = self.range, ""
        low, high = self.limits
        given = parse(raw) if isinstance(raw, str) else raw
        if isinstance(given, pint.Quantity) and KINDS[self.kind].si:
            ends = [e for e in (self.low, self.high) if e is not None]
            if ends and all(given.units != parse(str(e)).units for e in ends):
                own = [show_like(x, self.kind, given) for x in (low, high) if math.isfinite(x)]
                span += f" ({' to '.join(own)})"
            number = float(given.magnitude)
            other = _OTHER_UNIT.get(str(given.units), "")
            if other and math.isfinite(number):
                try:
                    fits = low <= to_si(Q(number, other), self.kind) <= high
                except InputError:
                    fits = False
                hint = f" (did you mean {number:g} {other}?)" if fits else ""
        note = f"; {self.too_high}" if self.too_high and value > high else ""
        return self._wanted(span) + note + hint


_WORDS = {
    "text": "a text",
    "whole": "a whole number",
    "rows": "a list",
    "place": "two lengths, along and across, each",
    "places": "a list of places, each two lengths, along and across,",
}
_NUMBER_OF = {"whole": "number", "place": "length", "places": "length"}
_PLACES = ("place", "places")

# the unit a number out of range was perhaps meant in
_OTHER_UNIT = {"millimeter": "in", "inch": "mm", "bar": "psi"}


def _held(default: Any, kind: str) -> Any:
    """A default as it is held: SI for numbers with units."""
    plain = default is None or kind in ("text", "whole", "rows", *_PLACES)
    return default if plain else _si(default, kind)


def entry(
    kind: str,
    help: str,
    example: Any,
    default: Any = REQUIRED,
    between: tuple[Any, Any] | None = None,
    above: Any = None,
    choices: Iterable[Any] = (),
    key: str = "",
    condition: str = "",
    words: str = "",
    too_high: str = "",
) -> Any:
    """A dataclass field of the sheet; `above` is a lower bound that is itself outside."""
    low, high = between or (None, None)
    spec = Spec(
        kind,
        help,
        example,
        default,
        low if above is None else above,
        high,
        above is not None,
        tuple(choices),
        key,
        condition,
        words,
        too_high,
    )
    if default is REQUIRED:
        return dataclasses.field(metadata={"spec": spec})
    return dataclasses.field(default=_held(default, kind), metadata={"spec": spec})


# --------------------------------------------------------------------------- the sections
@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What the sheet is called and how far it is to be trusted."""

    name: str = entry("text", "what you call this build", "my engine")
    note: str = entry("text", "anything worth knowing about it", "as taken apart in May", "")
    status: str = entry(
        "text",
        "where the numbers come from",
        "own build",
        "own build",
        choices=("own build", *tables.STATUSES),
    )


@dataclass(frozen=True, kw_only=True)
class Chamber:
    """The volumes the compression ratio is built up from."""

    chamber_volume: float = entry(
        "volume", "chamber in the head, as measured", "50 cc", between=("1 cc", "2000 cc")
    )
    deck_clearance: float = entry(
        "length",
        "piston crown below the deck at top dead centre; negative if it stands proud",
        "0.25 mm",
        between=("-5 mm", "20 mm"),
    )
    piston_volume: float = entry(
        "volume",
        "dish of the piston crown; negative for a dome",
        "4 cc",
        between=("-1000 cc", "1000 cc"),
    )


@dataclass(frozen=True, kw_only=True)
class Engine:
    """The crank train and the compression ratio."""

    cylinders: int = entry("whole", "number of cylinders", 4, between=(1, 16))
    heads: int = entry("whole", "number of cylinder heads", 1, 1, between=(1, 4))
    strokes: int = entry("whole", "strokes of one working cycle", 4, 4, choices=(2, 4))
    bore: float = entry("length", "cylinder bore", "86 mm", between=("20 mm", "400 mm"))
    stroke: float = entry("length", "piston stroke", "86 mm", between=("20 mm", "500 mm"))
    rod_length: float = entry(
        "length", "connecting rod, centre to centre", "143 mm", between=("20 mm", "1500 mm")
    )
    speed: float = entry(
        "crank speed", "crank speed of this load point", "6500 rpm", between=("50 rpm", "20000 rpm")
    )
    compression_ratio: float | None = entry(
        "number",
        "geometric compression ratio",
        9.0,
        None,
        between=(None, 25),
        above=1,
        condition="either this or the section [engine.chamber]",
    )
    chamber: Chamber | None = None


@dataclass(frozen=True, kw_only=True)
class Charge:
    """The air that goes in."""

    boost: float = entry(
        "gauge pressure",
        "boost in the inlet manifold, above the air outside",
        "18 psi",
        "0 bar",
        between=("0 bar", "10 bar"),
    )
    altitude: float | None = entry(
        "length",
        "height of the place above sea level",
        "300 m",
        None,
        between=("-500 m", "6000 m"),
        condition="either this or ambient_pressure",
    )
    ambient_pressure: float | None = entry(
        "pressure",
        "pressure of the air outside",
        "101325 Pa",
        "101325 Pa",
        between=("30000 Pa", "120000 Pa"),
        condition="either this or altitude",
    )
    ambient_temperature: float = entry(
        "temperature",
        "temperature of the air outside",
        "20 degC",
        "20 degC",
        between=("-50 degC", "60 degC"),
    )
    compressor_efficiency: float = entry(
        "fraction", "isentropic efficiency of the compressor", 0.70, 0.70, between=(0.3, 1)
    )
    intercooler_effectiveness: float = entry(
        "fraction",
        "part of the heating by compression that the intercooler takes out",
        0.7,
        0.0,
        between=(0, 1),
    )
    volumetric_efficiency: float = entry(
        "fraction",
        "fresh charge over what the manifold state would fill",
        0.9,
        0.9,
        between=(0.2, 1.5),
    )
    residual_fraction: float = entry(
        "fraction", "burnt gas left from the last cycle, by mass", 0.04, 0.04, between=(0, 0.2)
    )
    evaporated_share: float = entry(
        "fraction",
        "part of the fuel that evaporates before the inlet valve closes",
        0.5,
        0.5,
        between=(0, 1),
    )


@dataclass(frozen=True, kw_only=True)
class Fuel:
    """The fuel and how much of it."""

    name: str = entry("text", "fuel, a name of the fuels table", "gasoline")
    ethanol_share: float | None = entry(
        "fraction", "ethanol in the fuel, by volume", 0.8, None, between=(0, 1)
    )
    nitromethane_share: float | None = entry(
        "fraction", "nitromethane in the fuel, by volume", 0.2, None, between=(0, 1)
    )
    equivalence_ratio: float | None = entry(
        "number",
        "fuel over the stoichiometric fuel; above 1 is rich",
        1.2,
        None,
        between=(0.2, 5),
        condition="either this or lambda",
    )
    air_ratio: float | None = entry(
        "number",
        "air over the stoichiometric air; below 1 is rich",
        0.83,
        None,
        between=(0.2, 5),
        key="lambda",
        condition="either this or equivalence_ratio",
        words="a lambda",
        too_high="this is air over stoichiometric air, not an air-fuel ratio",
    )


@dataclass(frozen=True, kw_only=True)
class Burn:
    """The burn as a tuner thinks of it, the walls, and the spread from cycle to cycle."""

    ca50: float = entry(
        "angle",
        "crank angle after top dead centre at which half of the fuel is burnt",
        "8 deg",
        between=("-20 deg", "60 deg"),
    )
    duration: float = entry(
        "angle", "crank angle from 10 % to 90 % burnt", "25 deg", between=("5 deg", "90 deg")
    )
    released_share: float = entry(
        "fraction", "part of the releasable heat that is released", 0.97, 0.97, between=(0.3, 1)
    )
    wall_temperature: float = entry(
        "temperature",
        "mean temperature of the chamber walls",
        "450 K",
        "450 K",
        between=("250 K", "900 K"),
    )
    heat_transfer: str = entry(
        "text",
        "wall heat correlation",
        "Woschni",
        "Woschni",
        choices=("Woschni", "Hohenberg", "none"),
    )
    peak_variation: float = entry(
        "fraction",
        "standard deviation of the peak pressure from cycle to cycle, over its mean",
        0.06,
        0.06,
        between=(0, 0.5),
    )
    one_cycle_in: float = entry(
        "number",
        "size the joint on the peak that one cycle in so many exceeds",
        1000,
        1000,
        between=(2, 1_000_000_000),
    )
    knock_amplitude: float = entry(
        "stress",
        "pressure added by knock on top of the peak",
        "0 Pa",
        "0 Pa",
        between=("0 bar", "300 bar"),
    )


@dataclass(frozen=True, kw_only=True)
class ShankPart:
    """One length of the shank, of one diameter."""

    diameter: float = entry(
        "length", "diameter of this length of the shank", "10 mm", between=("2 mm", "60 mm")
    )
    length: float = entry("length", "how long it is", "60 mm", between=("0.1 mm", "800 mm"))


@dataclass(frozen=True, kw_only=True)
class Fasteners:
    """Head bolts or studs and how they are tightened."""

    kind: str = entry("text", "bolt or stud", "bolt", choices=("bolt", "stud"))
    thread: str = entry("text", "thread designation", "M11x1.5")
    grade: str | None = entry(
        "text",
        "strength grade",
        "10.9",
        None,
        condition="either this or the three strengths",
    )
    proof_strength: float | None = entry(
        "stress",
        "proof strength",
        "830 MPa",
        None,
        between=("50 MPa", "3000 MPa"),
        condition="instead of grade",
    )
    yield_strength: float | None = entry(
        "stress",
        "yield strength (0.2 %)",
        "940 MPa",
        None,
        between=("50 MPa", "3000 MPa"),
        condition="instead of grade",
    )
    tensile_strength: float | None = entry(
        "stress",
        "tensile strength",
        "1040 MPa",
        None,
        between=("50 MPa", "3000 MPa"),
        condition="instead of grade",
    )
    material: str = entry("text", "a name of the materials table", "alloy steel", "alloy steel")
    around_bore: int = entry("whole", "fasteners that stand around one bore", 4, between=(1, 24))
    on_head: int = entry("whole", "fasteners of one head", 10, between=(1, 100))
    shank: tuple[ShankPart, ...] = entry(
        "rows",
        "lengths of the shank that are not thread; left out: full thread diameter",
        [{"diameter": "10 mm", "length": "60 mm"}],
        (),
    )
    grip_head: float = entry(
        "length", "clamped length in and above the head", "95 mm", between=("1 mm", "500 mm")
    )
    grip_block: float = entry(
        "length",
        "free length below the head face, inside the block",
        "10 mm",
        "0 mm",
        between=("0 mm", "500 mm"),
    )
    engagement: float = entry(
        "length", "length of thread engaged in the block", "22 mm", between=("1 mm", "200 mm")
    )
    hole_diameter: float = entry(
        "length", "clearance hole in the head", "12 mm", between=("2 mm", "80 mm")
    )
    bearing_diameter: float = entry(
        "length",
        "outer diameter of the contact under the bolt head or nut",
        "20 mm",
        between=("3 mm", "150 mm"),
    )
    bolt_circle: float = entry(
        "length",
        "diameter of the circle of fasteners round one bore",
        "118 mm",
        between=("20 mm", "800 mm"),
    )
    lubricant: str = entry("text", "a name of the friction table", "engine oil")
    friction_thread: float | None = entry(
        "number",
        "friction coefficient in the thread, instead of the table's",
        0.12,
        None,
        between=(0.02, 0.6),
    )
    friction_bearing: float | None = entry(
        "number",
        "friction coefficient under the head, instead of the table's",
        0.12,
        None,
        between=(0.02, 0.6),
    )
    tightening: str = entry(
        "text",
        "how the fastener is tightened",
        "torque",
        choices=("torque", "torque and angle", "stretch", "yield"),
    )
    torque: float | None = entry(
        "torque",
        "tightening torque; with an angle, the snug torque before it",
        "90 N*m",
        None,
        between=("0.5 N*m", "3000 N*m"),
        condition='with tightening "torque" or "torque and angle"',
    )
    angle: float | None = entry(
        "angle",
        "angle turned after the snug torque",
        "90 deg",
        None,
        between=("1 deg", "720 deg"),
        condition='with tightening "torque and angle"',
    )
    stretch: float | None = entry(
        "lift",
        "how much longer the fastener gets",
        "0.20 mm",
        None,
        between=("0.005 mm", "5 mm"),
        condition='with tightening "stretch"',
    )
    preload_scatter: float | None = entry(
        "fraction",
        "preload up or down from its mean, instead of the table's",
        0.25,
        None,
        between=(0, 0.9),
    )
    preload_factor: float = entry(
        "number",
        "preload that a test shows over the one worked out from the tightening",
        1,
        1,
        between=(0.1, 3),
    )
    embedment: float | None = entry(
        "lift",
        "how far thread and clamped faces settle, instead of the table's",
        "11 um",
        None,
        between=("0 um", "200 um"),
    )
    roughness: str = entry(
        "text",
        "roughness Rz of the clamped faces: fine below 10 um, medium 10 to 40, rough 40 to 160",
        "medium",
        "medium",
        choices=("fine", "medium", "rough"),
    )


@dataclass(frozen=True, kw_only=True)
class Head:
    """The cylinder head as a plate."""

    material: str = entry("text", "a name of the materials table", "A356-T6")
    thickness: float = entry(
        "length",
        "thickness of the plate that bends like the head",
        "40 mm",
        between=("3 mm", "400 mm"),
    )


@dataclass(frozen=True, kw_only=True)
class Block:
    """The block below the deck."""

    material: str = entry("text", "a name of the materials table", "grey iron")
    thickness: float | None = entry(
        "length",
        "thickness of the deck that carries the threads; left out: the engaged length",
        "25 mm",
        None,
        between=("3 mm", "600 mm"),
    )


_ZONE = {
    "name": "bead",
    "role": "seal",
    "per": "length",
    "width": "1.2 mm",
    "closure_unit": "um",
    "load_unit": "N/mm",
    "closure": [0, 100, 200],
    "load": [0, 60, 150],
    "unloading": [{"closure": [200, 190, 180], "load": [150, 60, 0]}],
    "seating": 40,
    "factor": 2.0,
}
"""A small complete zone, to show how one is written."""


@dataclass(frozen=True, kw_only=True)
class Gasket:
    """The head gasket.

    `zones` holds the rows as they were written, for `sealkit.sealing.gaskets.read_zones`.
    """

    construction: str = entry("text", "how the gasket is built", "multi-layer steel")
    bore: float = entry("length", "opening at the bore", "87.5 mm", between=("20 mm", "450 mm"))
    seal_diameter: float = entry(
        "length", "mean diameter of the combustion seal", "89.5 mm", between=("20 mm", "500 mm")
    )
    body_area: float = entry(
        "area",
        "area of the gasket body that serves one bore",
        "60 cm**2",
        between=("0.1 cm**2", "5000 cm**2"),
    )
    liquid_length: float = entry(
        "length",
        "length of the beads round liquid holes that serve one bore",
        "300 mm",
        "0 mm",
        between=("0 mm", "5000 mm"),
    )
    compressed_thickness: float = entry(
        "length", "thickness when clamped", "0.8 mm", between=("0.05 mm", "10 mm")
    )
    creep_relaxation: float | None = entry(
        "fraction",
        "part of the clamp lost as the gasket settles, instead of the construction's",
        0.05,
        None,
        between=(0, 0.9),
    )
    zones: tuple[dict[str, Any], ...] = dataclasses.field(
        default=(),
        compare=False,
        metadata={
            "spec": Spec(
                "rows",
                "zones of your own, each a [[gasket.zones]] table, instead of the construction's",
                [_ZONE],
                (),
                None,
                None,
                False,
                (),
                "",
                "",
            )
        },
    )
    _zone_values: Any = dataclasses.field(default=(), repr=False)


@dataclass(frozen=True, kw_only=True)
class Liquids:
    """Coolant and oil at the deck."""

    deck: str = entry(
        "text",
        "wet: coolant and oil pass through the gasket; dry: none do",
        "wet",
        "wet",
        choices=("wet", "dry"),
    )
    coolant_pressure: float | None = entry(
        "gauge pressure",
        "coolant pressure in the head, instead of the table's",
        "24 psi",
        None,
        between=("0 psi", "10 bar"),
    )
    facing: str | None = entry(
        "text",
        "what touches the deck at the liquid holes, a name of the facings table, instead of the "
        "construction's",
        "sealant film",
        None,
    )


@dataclass(frozen=True, kw_only=True)
class Heat:
    """How hot the joint gets and how cold."""

    hot_state: str = entry(
        "text",
        "hot state of the engine, a name of the temperatures table",
        "hot full load",
        "hot full load",
        choices=("warm-up", "warm idle", "hot full load"),
    )
    coolant_temperature: float | None = entry(
        "temperature",
        "coolant when hot, instead of the table's",
        "95 degC",
        None,
        between=("20 degC", "140 degC"),
    )
    rise_factor: float = entry(
        "number",
        "rise of the hot parts over the coolant, over that of the table",
        1,
        1,
        between=(0, 3),
    )
    cold_soak: float = entry(
        "temperature",
        "coldest the engine stands",
        "-20 degC",
        "-20 degC",
        between=("-60 degC", "40 degC"),
    )


_POSITION = ("-3 m", "3 m")


@dataclass(frozen=True, kw_only=True)
class DeckHole:
    """A coolant or oil hole of the deck face."""

    name: str = entry("text", "what the hole is called", "C1")
    fluid: str = entry("text", "what flows in it", "coolant", choices=("coolant", "oil"))
    place: tuple[float, float] = entry(
        "place", "centre of the hole", ["0 mm", "53 mm"], between=_POSITION
    )
    diameter: float = entry("length", "diameter of the hole", "10 mm", between=("0.5 mm", "150 mm"))


@dataclass(frozen=True, kw_only=True)
class DeckStep:
    """A place where the gasket is thicker, or thinner where a coat is missing."""

    place: tuple[float, float] = entry(
        "place", "middle of the place", ["0 mm", "53 mm"], between=_POSITION
    )
    extra: float = entry(
        "lift",
        "thickness added there; negative where something is missing",
        "-25 um",
        between=("-3 mm", "3 mm"),
    )
    diameter: float | None = entry(
        "length",
        "diameter of a round place",
        "30 mm",
        None,
        between=("1 mm", "3 m"),
        condition="either this or size",
    )
    size: tuple[float, float] | None = entry(
        "place",
        "length and width of a rectangular place",
        ["30 mm", "12 mm"],
        None,
        between=("1 mm", "3 m"),
        condition="either this or diameter",
    )


@dataclass(frozen=True, kw_only=True)
class Deck:
    """Where bores, fasteners and liquid holes stand on the deck face, for the deck map.

    Places are two lengths: along the row of bores from the first bore to the rear, and across it
    to the inlet side (inline) or to the valley (vee). What is listed replaces what the pattern
    would put there.
    """

    pattern: str | None = entry(
        "text",
        "regular pattern of the deck",
        "inline",
        None,
        choices=("inline", "vee bank"),
        condition="either this with its pitch and margins or bores, bolts and outline",
    )
    pitch: float | None = entry(
        "length",
        "from bore to bore",
        "93 mm",
        None,
        between=("20 mm", "800 mm"),
        condition="with a pattern",
    )
    bolts_per_bore: int | None = entry(
        "whole",
        "fasteners round one bore; left out: around_bore of [fasteners]",
        4,
        None,
        choices=(4, 5, 6),
    )
    shared_rows: int | None = entry(
        "whole",
        "rows whose fasteners are shared between neighbours; left out: what on_head tells",
        2,
        None,
        choices=(0, 1, 2),
    )
    row_distance: float | None = entry(
        "length",
        "between the two rows of shared fasteners; left out: what bolt_circle tells",
        "85 mm",
        None,
        between=("10 mm", "800 mm"),
    )
    front_distance: float | None = entry(
        "length",
        "end fasteners of a shared row before the first bore; left out: half the pitch",
        "46.5 mm",
        None,
        between=("5 mm", "800 mm"),
    )
    rear_distance: float | None = entry(
        "length",
        "end fasteners of a shared row behind the last bore; left out: half the pitch",
        "46.5 mm",
        None,
        between=("5 mm", "800 mm"),
    )
    pair_distance: float | None = entry(
        "length",
        "between the two fasteners beside each other in a row that is not shared; left out: two "
        "fastener holes",
        "26 mm",
        None,
        between=("5 mm", "400 mm"),
    )
    outer_distance: float | None = entry(
        "length",
        "a fifth or sixth fastener from its bore; left out: on the circle of the others",
        "63 mm",
        None,
        between=("10 mm", "800 mm"),
    )
    end_margin: float | None = entry(
        "length",
        "deck face beyond the outermost fasteners at both ends",
        "15 mm",
        None,
        between=("1 mm", "300 mm"),
        condition="with a pattern, unless the outline is listed",
    )
    side_margin: float | None = entry(
        "length",
        "deck face beyond the outermost fasteners at both sides",
        "20 mm",
        None,
        between=("1 mm", "300 mm"),
        condition="with a pattern, unless the outline is listed",
    )
    corner_cut: float | None = entry(
        "length",
        "how far the corners of the deck face are cut; left out: square corners",
        "8 mm",
        None,
        between=("0.1 mm", "200 mm"),
    )
    bank_offset: float | None = entry(
        "length",
        "how far this bank stands before the other, negative behind it; left out: not at all",
        "22 mm",
        None,
        between=("-200 mm", "200 mm"),
        condition='only with pattern "vee bank"',
    )
    coolant_diameter: float | None = entry(
        "length",
        "coolant holes of the pattern; left out: none",
        "10 mm",
        None,
        between=("0.5 mm", "100 mm"),
    )
    coolant_distance: float | None = entry(
        "length",
        "coolant holes from the centre of the bore; left out: midway to the fasteners",
        "53 mm",
        None,
        between=("10 mm", "800 mm"),
    )
    coolant_per_gap: int | None = entry(
        "whole",
        "coolant holes between neighbouring fasteners of a bore; left out: one",
        1,
        None,
        between=(1, 4),
    )
    oil_diameter: float | None = entry(
        "length",
        "oil feed and oil drains of the pattern; left out: none",
        "8 mm",
        None,
        between=("0.5 mm", "100 mm"),
    )
    oil_distance: float | None = entry(
        "length",
        "oil holes from the line of bores; left out: midway from fasteners to side margin",
        "56 mm",
        None,
        between=("10 mm", "800 mm"),
    )
    bores: tuple[tuple[float, float], ...] = entry(
        "places",
        "centres of the bores, instead of the pattern's",
        [["0 mm", "0 mm"], ["93 mm", "0 mm"]],
        (),
        between=_POSITION,
    )
    bolts: tuple[tuple[float, float], ...] = entry(
        "places",
        "centres of the fasteners, instead of the pattern's",
        [["-46.5 mm", "42.5 mm"], ["46.5 mm", "42.5 mm"], ["0 mm", "-63 mm"]],
        (),
        between=_POSITION,
    )
    outline: tuple[tuple[float, float], ...] = entry(
        "places",
        "corners of the deck face in order, instead of the pattern's",
        [["-62 mm", "-63 mm"], ["341 mm", "-63 mm"], ["341 mm", "63 mm"], ["-62 mm", "63 mm"]],
        (),
        between=_POSITION,
    )
    effective_thickness: float | None = entry(
        "length",
        "thickness of the plate that bends like the head; left out: thickness of [head]",
        "40 mm",
        None,
        between=("3 mm", "400 mm"),
    )
    mesh: float = entry(
        "length", "size of one element of the plate", "8 mm", "8 mm", between=("2 mm", "50 mm")
    )
    lengthwise_bow: float = entry(
        "lift",
        "warp along the head: how far its middle stands off a straight-edge; negative if proud",
        "40 um",
        "0 um",
        between=("-2 mm", "2 mm"),
    )
    across_bow: float = entry(
        "lift",
        "warp across the head: how far its middle stands off a straight-edge; negative if proud",
        "10 um",
        "0 um",
        between=("-2 mm", "2 mm"),
    )
    holes: tuple[DeckHole, ...] = entry(
        "rows",
        "coolant and oil holes, each a [[deck.holes]] table, instead of the pattern's",
        [{"name": "C1", "fluid": "coolant", "place": ["0 mm", "53 mm"], "diameter": "10 mm"}],
        (),
    )
    thickness: tuple[DeckStep, ...] = entry(
        "rows",
        "places where the gasket is thicker or thinner, each a [[deck.thickness]] table",
        [{"place": ["0 mm", "53 mm"], "extra": "-25 um", "diameter": "30 mm"}],
        (),
    )


_PATTERN_ONLY = (
    "pitch", "bolts_per_bore", "shared_rows", "row_distance", "front_distance", "rear_distance",
    "pair_distance", "outer_distance", "end_margin", "side_margin", "corner_cut", "bank_offset",
    "coolant_diameter", "coolant_distance", "coolant_per_gap", "oil_diameter", "oil_distance",
)  # fmt: skip
_MOST_ELEMENTS = 20_000
_CIRCLE_WITHIN = 0.10  # of the bolt circle on the sheet


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
_TOP = tuple(s for s in SECTIONS if "." not in s)
_OPTIONAL = ("engine.chamber", "deck")
_ROWS: dict[str, type] = {
    "fasteners.shank": ShankPart,
    "deck.holes": DeckHole,
    "deck.thickness": DeckStep,
}
_TABLES = ("gasket.zones", "deck.holes", "deck.thickness")
"""Rows that are written as tables of their own."""

# of each pair only one may stand on a sheet; a new one drives out the old one in `vary`
_PAIRS: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("engine.compression_ratio",), ("engine.chamber",)),
    (("charge.altitude",), ("charge.ambient_pressure",)),
    (("fuel.equivalence_ratio",), ("fuel.lambda",)),
    (
        ("fasteners.grade",),
        (
            "fasteners.proof_strength",
            "fasteners.yield_strength",
            "fasteners.tensile_strength",
        ),
    ),
)
_NEEDED_BY = {
    "torque": ("torque",),
    "torque and angle": ("torque", "angle"),
    "stretch": ("stretch",),
    "yield": (),
}


@functools.cache
def _specs(section: type) -> dict[str, tuple[str, Spec]]:
    """Key on the sheet -> (attribute, spec) of a section, in order."""
    out: dict[str, tuple[str, Spec]] = {}
    for f in dataclasses.fields(section):
        if "spec" in f.metadata:
            spec: Spec = f.metadata["spec"]
            key = spec.key or f.name
            out[key] = (f.name, dataclasses.replace(spec, key=key))
    return out


@functools.cache
def _all_specs() -> dict[str, Spec]:
    return {
        f"{name}.{key}": spec
        for name, section in SECTIONS.items()
        for key, (_, spec) in _specs(section).items()
    }


def fields() -> Iterator[tuple[str, Spec]]:
    """Every field of the sheet: its dotted name and what it is."""
    return iter(_all_specs().items())


# --------------------------------------------------------------------------- look-ups
def _key_of(table: str, word: str, path: str) -> str:
    """The table's own name for this word."""
    found = tables.load(table)
    return str(found.get(word, path)[found.key])


def _thread(designation: str, path: str) -> Any:
    from sealkit.fastening import threads

    return _named(path, lambda: threads.thread.si(designation))


def _grade(grade: str, diameter: float, path: str) -> Any:
    from sealkit.fastening import grades

    plain = _squeezed(grade)
    other: dict[str, list[str]] = {}
    for row in tables.load("grades").rows:
        every = (row["grade"], *(w.strip() for w in row["also"].split(";") if w.strip()))
        other.setdefault(row["grade"], []).extend(every)
    if not any(plain == _squeezed(w) for words in other.values() for w in words):
        # "8" is the last word of "SAE 8" and the first number of "8.8"
        last = {name: name.split()[-1] for name in other}
        hits = [n for n in other if last[n].casefold() == plain]
        hits += [n for n in other if last[n].casefold().startswith(f"{plain}.")]
        hints = [f'"{min(other[n], key=len)}"' for n in hits]
        hint = f" (did you mean {' or '.join(hints)}?)" if hints else near(grade, other)
        raise fail(path, grade, f"one of {quoted(other)}{hint}")
    return _named(path, lambda: grades.strength.si(grade, diameter))


def _squeezed(word: str) -> str:
    return "".join(word.casefold().split())


def _fuel(word: str, path: str) -> str:
    from sealkit.pressure import fuels

    for blend in fuels.BLENDS:
        if blend.casefold() == word.casefold():
            return blend
    known = tables.load("fuels")
    if word in known:
        return str(known[word]["fuel"])
    if _squeezed(word) in ("alcohol", "racealcohol", "racingalcohol"):
        raise fail(path, word, 'the name of the alcohol: "methanol" or "ethanol"')
    names = fuels.fuel_names()
    raise fail(path, word, f"one of {quoted(names)}{near(word, names)}")


def _mixture(
    fuel: str, ratio: float, ethanol: float | None, nitromethane: float | None, ratio_path: str
) -> None:
    from sealkit.pressure import fuels

    try:
        fuels.mixture.si(fuel, ratio, ethanol, nitromethane)
    except InputError as err:
        faults = []
        for f in err.faults:
            if f.limits and ratio_path == "fuel.lambda":
                # rounded inwards, so that what is told is allowed
                low, high = math.ceil(1000 / f.limits[1]), math.floor(1000 / f.limits[0])
                wanted = f"a lambda from {low / 1000:g} to {high / 1000:g} for {fuel}"
                faults.append(Fault(ratio_path, f"{1 / ratio:.6g}", wanted))
            elif f.limits:
                came = f"an equivalence ratio of {f.came}"
                faults.append(Fault(ratio_path, came, f"an equivalence ratio of {f.wanted}"))
            elif f.wanted == AS_IT_CAME:
                faults.append(f)
            else:
                faults.append(Fault(f"fuel.{f.field}", f.came, f.wanted))
        raise InputError(faults) from err


def _named(path: str, call: Callable[[], Any]) -> Any:
    """The result of `call`; its faults come out under the name of the sheet's field."""
    try:
        return call()
    except InputError as err:
        raise InputError(
            f if f.wanted == AS_IT_CAME else Fault(path, f.came, f.wanted) for f in err.faults
        ) from err


# what the trade calls the constructions, without spaces and hyphens
_TRADE_WORDS = {
    "mls": "multi-layer steel",
    "multilayeredsteel": "multi-layer steel",
    "mlswithstopper": "multi-layer steel with stopper",
    "composite": "fibre composite",
    "fibercomposite": "fibre composite",
    "copperoring": "copper with wire ring",
    "copperwithoring": "copper with wire ring",
    "copperwithorings": "copper with wire ring",
    "copperandoring": "copper with wire ring",
    "copperandorings": "copper with wire ring",
    "copperwithwire": "copper with wire ring",
    "firering": "fibre body with steel ring",
    "fibrewithfirering": "fibre body with steel ring",
    "fiberbodywithsteelring": "fibre body with steel ring",
}


def _trade(word: str) -> str:
    return _squeezed(word).replace("-", "")


def _construction(word: str) -> str:
    from sealkit.sealing import constructions

    known = constructions.names()
    for name in known:
        if name.casefold() == word.casefold():
            return name
    trade = _TRADE_WORDS.get(_trade(word))
    if trade in known:
        return trade
    wanted = f"one of {quoted(known)}, or zones of your own{near(word, known)}"
    raise fail("gasket.construction", word, wanted)


def _zone_faults(rows: list[dict[str, Any]], path: str) -> list[Fault]:
    from sealkit.sealing import gaskets

    found = gaskets.read_zones(copy.deepcopy(rows), path)[1]
    return [dataclasses.replace(f, field=short(f.field, 120)[1:-1]) for f in found]


_LOOK_UPS: dict[str, Callable[[str, str], str]] = {
    "fuel.name": _fuel,
    "fasteners.thread": lambda word, path: str(_thread(word, path).designation),
    "fasteners.material": lambda word, path: _key_of("materials", word, path),
    "fasteners.lubricant": lambda word, path: _key_of("friction", word, path),
    "head.material": lambda word, path: _key_of("materials", word, path),
    "block.material": lambda word, path: _key_of("materials", word, path),
    "liquids.facing": lambda word, path: _key_of("facings", word, path),
}


# --------------------------------------------------------------------------- one value
def _text(spec: Spec, raw: Any, path: str) -> str:
    if not isinstance(raw, str):
        raise fail(path, _came(raw), spec.wanted)
    text = raw.strip()
    if spec.choices:
        for choice in spec.choices:
            if text.casefold() == choice.casefold():
                return str(choice)
        raise fail(path, raw, spec.wanted + near(text, spec.choices))
    if not text and spec.default != "":
        raise fail(path, raw, spec.wanted)
    if len(text) > _LONGEST:
        raise fail(path, raw, f"a text of at most {_LONGEST} characters")
    if any(0xD800 <= ord(c) <= 0xDFFF for c in text):
        raise InputError(Fault(path, "broken characters", spec.wanted))
    return text


def _place(spec: Spec, raw: Any, path: str) -> tuple[float, ...]:
    """Two lengths; their faults are told as ``path.x`` and ``path.y``."""
    if isinstance(raw, pint.Quantity | np.ndarray) and np.ndim(raw) == 1:
        raw = list(raw)
    example = spec.example if spec.kind == "place" else spec.example[0]
    if not isinstance(raw, list | tuple) or len(raw) != 2:
        came = f"a list of {len(raw)}" if isinstance(raw, list | tuple) else short(_came(raw))
        words = f"{_WORDS['place'].removesuffix(', each')}, such as {_toml(example)}"
        raise InputError(Fault(path, came, words))
    out: list[float] = []
    faults: list[Fault] = []
    for axis, value, shown in zip("xy", raw, example, strict=True):
        number = dataclasses.replace(spec, kind="length", example=shown)
        try:
            out.append(_number(number, value, f"{path}.{axis}"))
        except InputError as err:
            faults.extend(err.faults)
    if faults:
        raise InputError(faults)
    return tuple(out)


def _list_of_places(spec: Spec, raw: Any, path: str) -> tuple[tuple[float, ...], ...]:
    if isinstance(raw, pint.Quantity | np.ndarray) and np.ndim(raw) == 2:
        raw = list(raw)
    if not isinstance(raw, list | tuple):
        raise fail(path, _came(raw), spec.wanted)
    if len(raw) > _LONGEST_LIST:
        raise InputError(Fault(path, f"{len(raw)} places", f"at most {_LONGEST_LIST}"))
    out: list[tuple[float, ...]] = []
    faults: list[Fault] = []
    for number, place in enumerate(raw, start=1):
        try:
            out.append(_place(spec, place, f"{path}[{number}]"))
        except InputError as err:
            faults.extend(err.faults)
    if faults:
        raise InputError(faults)
    return tuple(out)


def _number(spec: Spec, raw: Any, path: str) -> float | int:
    kind = "number" if spec.kind == "whole" else spec.kind
    if isinstance(raw, Mapping | list | tuple):
        raise fail(path, _came(raw), spec.wanted)
    try:
        value = _si(raw, kind, path)
    except OverflowError as err:
        raise fail(path, "a number too large", spec.wanted) from err
    except InputError as err:
        faults = []
        for f in err.faults:
            faults.append(dataclasses.replace(f, field=path, wanted=spec.wanted))
        raise InputError(faults) from err
    if not isinstance(value, float):
        raise fail(path, _came(raw), f"one value, {spec.wanted}")
    low, high = spec.limits
    bad = not math.isfinite(value) or value < low or value > high
    bad = bad or (spec.low_open and value == low)
    if spec.kind == "whole":
        bad = bad or value != int(value) or bool(spec.choices and value not in spec.choices)
    if bad:
        raise fail(path, _came(raw), spec.wanted_of(raw, value))
    return int(value) if spec.kind == "whole" else value


def _came(raw: Any) -> Any:
    """A raw value for a message."""
    if isinstance(raw, pint.Quantity):
        return _InWords(f"{raw:~}")
    if isinstance(raw, Mapping):
        return _InWords("a table")
    if isinstance(raw, list | tuple):
        return _InWords("a list")
    return raw


class _InWords:
    """Words that are shown without quotes."""

    def __init__(self, words: str):
        self.words = words

    def __str__(self) -> str:
        return self.words


def _value(spec: Spec, raw: Any, path: str) -> Any:
    if spec.kind in _PLACES:
        return (_place if spec.kind == "place" else _list_of_places)(spec, raw, path)
    return _text(spec, raw, path) if spec.kind == "text" else _number(spec, raw, path)


def _kept(spec: Spec, raw: Any, value: Any) -> Any:
    """What is kept of a raw value so that it is written back as it came."""
    if spec.kind in _PLACES:
        inner = dataclasses.replace(spec, kind="length" if spec.kind == "place" else "place")
        return [_kept(inner, r, v) for r, v in zip(raw, value, strict=True)]
    if isinstance(raw, str):
        return raw
    if type(raw) in (int, float):
        return raw
    return _written(value, spec.kind)


def _written(value: Any, kind: str) -> Any:
    """A held value as it is written on a sheet; reading it gives exactly the same number."""
    if kind in _PLACES:
        return [_written(v, "length" if kind == "place" else "place") for v in value]
    if kind in ("text", "whole") or not KINDS[kind].si:
        return value
    for system in ("metric", "inch"):
        unit = getattr(KINDS[kind], system)[0]
        number = float(show_value(value, kind, system))
        for digits in (6, 9, 12, 15, 17):
            text = f"{number:.{digits}g} {unit}"
            if _si(text, kind) == value:
                return text
    return f"{value!r} {KINDS[kind].si}"


def _writable(raw: Any, path: str) -> Any:
    """A copy of a raw zone in which quantities are text and arrays are lists."""
    if isinstance(raw, Mapping):
        return {str(k): _writable(v, f"{path}.{_word(k)}") for k, v in raw.items() if v is not None}
    if isinstance(raw, pint.Quantity):
        return (
            f"{float(raw.magnitude)!r} {raw.units}"
            if np.ndim(raw.magnitude) == 0
            else [_writable(v, path) for v in raw]
        )
    if isinstance(raw, np.ndarray | np.generic):
        return raw.tolist()
    if isinstance(raw, list | tuple):
        return [_writable(v, f"{path}[{n}]") for n, v in enumerate(raw, start=1)]
    if isinstance(raw, str | int | float | datetime.date | datetime.time):
        return raw
    raise fail(path, type(raw).__name__, "text, numbers, lists and tables of them")


def _zone_value(raw: Any) -> Any:
    """A raw zone as something that compares by value: units reduced, order of keys gone."""
    if isinstance(raw, Mapping):
        return tuple(sorted((str(k), _zone_value(v)) for k, v in raw.items()))
    if isinstance(raw, list | tuple):
        return tuple(_zone_value(v) for v in raw)
    if isinstance(raw, str):
        try:
            base = parse(raw).to_base_units()
        except InputError:
            return ("text", raw)
        return ("quantity", f"{float(base.magnitude):.12g}", str(base.units))
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        return ("number", float(raw))
    return (type(raw).__name__, str(raw))


# --------------------------------------------------------------------------- the reader
def _word(key: object) -> str:
    """A key for a message, cut and without control marks."""
    return short(str(key), 40)[1:-1]


class _Reader:
    """Reads a nested raw mapping; collects values by dotted name, kept texts and faults."""

    def __init__(self, raw: Mapping[str, Any]):
        self.faults: list[Fault] = []
        self.values: dict[str, Any] = {}
        self.given: dict[str, Any] = {}
        self.absent: set[str] = set()
        self.misspelt: set[str] = set()  # fields that stand there under a name near to theirs
        for key in raw:
            if key not in _TOP:
                wanted = f"one of the sections {quoted(_TOP)}{near(str(key), _TOP)}"
                self.faults.append(Fault(_word(key), "an unknown section", wanted))
        for name in _TOP:
            self._section(name, raw.get(name))
        self._pairs()
        self._look_up()
        self._cross()

    # -- reading
    def _section(self, name: str, raw: Any) -> None:
        specs = _specs(SECTIONS[name])
        must = [key for key, (_, spec) in specs.items() if spec.required]
        if raw is None:
            if name in _OPTIONAL:
                return
            if must:
                wanted = f"the section [{name}] with {quoted(must)}"
                self.faults.append(Fault(name, "nothing", wanted))
                self.absent.add(name)
                return
            raw = {}
        if not isinstance(raw, Mapping):
            self.faults.append(fail(name, _came(raw), f"a section [{name}]").faults[0])
            self.absent.add(name)
            return
        if name in _OPTIONAL:
            self.values[name] = True
        inner = [s.rpartition(".")[2] for s in SECTIONS if s.startswith(f"{name}.")]
        known = [*specs, *inner]
        attributes = {attribute: key for key, (attribute, _) in specs.items()}
        for key in raw:
            if key not in known:
                word = attributes.get(str(key), "") or nearest(str(key), known)
                hint = f' (did you mean "{word}"?)' if word else f": {quoted(known)}"
                wanted = f"a field of [{name}]{hint}"
                if word and raw.get(word) is None:
                    self.misspelt.add(f"{name}.{word}")
                self.faults.append(Fault(f"{name}.{_word(key)}", "an unknown field", wanted))
        for key, (_, spec) in specs.items():
            self._field(f"{name}.{key}", spec, raw.get(key))
        for key in inner:
            self._section(f"{name}.{key}", raw.get(key))

    def _field(self, path: str, spec: Spec, raw: Any) -> None:
        if raw is None:
            if spec.required:
                self._missing(path, spec)
            else:
                self.values[path] = _held(spec.default, spec.kind)
            return
        if spec.kind == "rows":
            self._rows(path, spec, raw)
            return
        try:
            value = _value(spec, raw, path)
        except InputError as err:
            self.faults.extend(err.faults)
            return
        self.values[path] = value
        self.given[path] = _kept(spec, raw, value)

    def _missing(self, path: str, spec: Spec) -> None:
        if path in self.misspelt:
            return
        self.faults.append(Fault(path, "nothing", f"{spec.wanted} ({spec.help})"))

    def _rows(self, path: str, spec: Spec, raw: Any) -> None:
        if not isinstance(raw, list | tuple) or not all(isinstance(r, Mapping) for r in raw):
            came = "a table" if isinstance(raw, Mapping) else raw
            wanted = f"a list of tables, such as {_toml(spec.example)}"
            self.faults.append(Fault(path, short(_came(came)), wanted))
            return
        before = len(self.faults)
        if path == "gasket.zones":
            rows: list[dict[str, Any]] = []
            try:
                rows = _writable(raw, path)
            except InputError as err:
                self.faults.extend(err.faults)
            self.faults.extend(_zone_faults(rows, path) if rows else ())
            if len(self.faults) == before:
                self.values[path] = tuple(rows)
                self.given[path] = rows
            return
        parts, kept = [], []
        row_class = _ROWS[path]
        specs = _specs(row_class)
        if len(raw) > _LONGEST_LIST:
            self.faults.append(Fault(path, f"{len(raw)} rows", f"at most {_LONGEST_LIST}"))
            return
        for number, row in enumerate(raw, start=1):
            place = f"{path}[{number}]"
            for key in row:
                if key not in specs:
                    word = nearest(str(key), specs)
                    if word and row.get(word) is None:
                        self.misspelt.add(f"{place}.{word}")
                    wanted = f"{_and(specs)}{near(str(key), specs)}"
                    self.faults.append(Fault(f"{place}.{_word(key)}", "an unknown field", wanted))
            part, text = {}, {}
            for key, (attribute, inner) in specs.items():
                if row.get(key) is None:
                    if inner.required:
                        self._missing(f"{place}.{key}", inner)
                    else:
                        part[attribute] = _held(inner.default, inner.kind)
                    continue
                try:
                    part[attribute] = _value(inner, row[key], f"{place}.{key}")
                    text[key] = _kept(inner, row[key], part[attribute])
                except InputError as err:
                    self.faults.extend(err.faults)
            if len(part) == len(specs):
                parts.append(row_class(**part))
                kept.append(text)
        if len(self.faults) == before:
            self.values[path] = tuple(parts)
            self.given[path] = kept

    # -- what belongs together
    def _tried(self, path: str) -> bool:
        """Whether the sheet has the field, good or bad."""
        return path in self.given or any(
            f.field == path or f.field.startswith((f"{path}.", f"{path}[")) for f in self.faults
        )

    def _pairs(self) -> None:
        chamber = "engine.chamber" in self.values or self._tried("engine.chamber")
        ratio = self._tried("engine.compression_ratio")
        meant = self.misspelt & {"engine.chamber", "engine.compression_ratio"}
        if "engine" not in self.absent and chamber == ratio and (chamber or not meant):
            self.faults.append(
                Fault(
                    "engine.compression_ratio",
                    "both it and [engine.chamber]" if chamber else "nothing",
                    "either compression_ratio, such as 9.0, or the section [engine.chamber]",
                )
            )
        if self._tried("charge.altitude"):
            if self._tried("charge.ambient_pressure"):
                self.faults.append(
                    Fault("charge.altitude", "both it and ambient_pressure", "one of the two")
                )
            self.values["charge.ambient_pressure"] = None
        rich, lean = self._tried("fuel.equivalence_ratio"), self._tried("fuel.lambda")
        meant = self.misspelt & {"fuel.equivalence_ratio", "fuel.lambda"}
        if "fuel" not in self.absent and rich == lean and (rich or not meant):
            self.faults.append(
                Fault(
                    "fuel.equivalence_ratio",
                    "both it and lambda" if rich else "nothing",
                    "either equivalence_ratio, such as 1.2, or lambda, such as 0.83",
                )
            )
        if "fasteners" in self.absent:
            return
        strengths = _PAIRS[3][1]
        have = [p for p in strengths if self._tried(p)]
        if self._tried("fasteners.grade"):
            if have:
                names = ", ".join(p.partition(".")[2] for p in have)
                self.faults.append(
                    Fault("fasteners.grade", f"both it and {names}", "a grade or the strengths")
                )
        elif not have and self.misspelt & {"fasteners.grade", *strengths}:
            pass
        elif not have:
            wanted = 'a grade, such as "10.9", or proof_strength, yield_strength and'
            self.faults.append(Fault("fasteners.grade", "nothing", f"{wanted} tensile_strength"))
        else:
            for path in strengths:
                if path not in have:
                    self._missing(path, _specs(Fasteners)[path.partition(".")[2]][1])
        for key in _NEEDED_BY.get(self.values.get("fasteners.tightening", ""), ()):
            if not self._tried(f"fasteners.{key}"):
                self._missing(f"fasteners.{key}", _specs(Fasteners)[key][1])

    # -- tables
    def _look_up(self) -> None:
        for path, look in _LOOK_UPS.items():
            word = self.values.get(path)
            if word is not None:
                self._try(path, functools.partial(look, word, path))
        construction = self.values.get("gasket.construction")
        if construction is not None and not self._tried("gasket.zones"):
            self._try("gasket.construction", functools.partial(_construction, construction))
        thread = self.values.get("fasteners.thread")
        if thread is not None:
            self.values["thread"] = _thread(thread, "fasteners.thread")
        grade = self.values.get("fasteners.grade")
        if grade is not None:
            # an unknown grade is told even where the thread is not known; 12 mm stands in
            size = float(self.values["thread"].diameter) if "thread" in self.values else 0.012
            self._try("", lambda: _grade(grade, size, "fasteners.grade"))
        self._strength_of_mixture()

    def _strength_of_mixture(self) -> None:
        """The fuel's own range of mixture strength and its shares."""
        v = self.values
        rich, lean = v.get("fuel.equivalence_ratio"), v.get("fuel.lambda")
        if v.get("fuel.name") is None or (rich is None) == (lean is None):
            return
        ratio = float(rich or 0) if lean is None else 1 / lean
        path = "fuel.equivalence_ratio" if lean is None else "fuel.lambda"
        shares = v.get("fuel.ethanol_share"), v.get("fuel.nitromethane_share")
        self._try("", lambda: _mixture(v["fuel.name"], ratio, *shares, path))

    def _try(self, path: str, call: Callable[[], Any]) -> None:
        try:
            result = call()
        except InputError as err:
            self.faults.extend(err.faults)
            self.values.pop(path, None)
            return
        if path:
            self.values[path] = result

    # -- one against another
    def _cross(self) -> None:
        v = self.values

        def has(*paths: str) -> bool:
            return all(v.get(p) is not None for p in paths)

        def limit(value: float, path: str) -> str:
            return self._like(value, path)

        def larger(path: str, than: str, words: str, equal: bool = False) -> None:
            if has(path, than) and not (v[path] > v[than] or (equal and v[path] == v[than])):
                least = f"{words}, {limit(v[than], path)}"
                wanted = f"{'not less than' if equal else 'more than'} {least}"
                self.faults.append(Fault(path, self._shown(path), wanted))

        if has("engine.cylinders", "engine.heads") and v["engine.cylinders"] % v["engine.heads"]:
            wanted = f"a number that divides the {v['engine.cylinders']} cylinders evenly"
            self.faults.append(Fault("engine.heads", str(v["engine.heads"]), wanted))
        if has("engine.rod_length", "engine.stroke") and not (
            v["engine.rod_length"] > v["engine.stroke"] / 2
        ):
            rod = "engine.rod_length"
            wanted = f"more than half the stroke, {limit(v['engine.stroke'] / 2, rod)}"
            self.faults.append(Fault(rod, self._shown(rod), wanted))
        around, on = "fasteners.around_bore", "fasteners.on_head"
        if has(around, on) and v[around] > v[on]:
            wanted = f"not more than on_head, {v[on]}"
            self.faults.append(Fault(around, str(v[around]), wanted))
        elif has(around, on, "engine.cylinders", "engine.heads") and not (
            v["engine.cylinders"] % v["engine.heads"]
        ):
            # between two bores at most half of those round one stand in common
            bores = v["engine.cylinders"] // v["engine.heads"]
            most = bores * v[around]
            least = most - (bores - 1) * (v[around] // 2)
            if not least <= v[on] <= most:
                wanted = (
                    f"{least} to {most} for {bores} bore{'s' * (bores > 1)} with {v[around]} round "
                    "each, neighbours sharing"
                )
                self.faults.append(Fault(on, str(v[on]), wanted))
        larger("gasket.bore", "engine.bore", "the cylinder bore", equal=True)
        larger("gasket.seal_diameter", "engine.bore", "the cylinder bore", equal=True)
        larger("gasket.seal_diameter", "gasket.bore", "the opening of the gasket", equal=True)
        larger("fasteners.bolt_circle", "gasket.seal_diameter", "the seal diameter")
        larger("fasteners.bearing_diameter", "fasteners.hole_diameter", "the hole")
        if has("thread"):
            v["nominal"] = float(v["thread"].diameter)
            larger("fasteners.hole_diameter", "nominal", "the thread")
        grip = ("fasteners.grip_head", "fasteners.grip_block")
        shank = v.get("fasteners.shank") or ()
        if shank and has(*grip):
            total, whole = sum(p.length for p in shank), v[grip[0]] + v[grip[1]]
            if total > whole * (1 + 1e-9):
                own = "fasteners.shank[1].length"
                wanted = f"not more than grip_head and grip_block together, {limit(whole, own)}"
                came = f"{limit(total, own)} in all"
                self.faults.append(Fault("fasteners.shank", came, wanted))
        hole = v.get("fasteners.hole_diameter")
        for number, part in enumerate(shank, start=1):
            if hole is not None and part.diameter >= hole:
                path = f"fasteners.shank[{number}].diameter"
                wanted = f"less than the hole, {limit(hole, path)}"
                self.faults.append(Fault(path, limit(part.diameter, path), wanted))
        names = ("proof_strength", "yield_strength", "tensile_strength")
        for lower, upper in itertools.pairwise(names):
            low, high = f"fasteners.{lower}", f"fasteners.{upper}"
            if has(low, high) and v[low] > v[high]:
                wanted = f"not more than {upper}, {limit(v[high], low)}"
                self.faults.append(Fault(low, self._shown(low), wanted))
        self._volumes(has)
        if "deck" in v:
            self._deck(has)

    def _volumes(self, has: Callable[..., bool]) -> None:
        v = self.values
        clearance, thickness = "engine.chamber.deck_clearance", "gasket.compressed_thickness"
        if has(clearance, thickness) and v[clearance] + v[thickness] <= 0:
            least = self._like(v[thickness], clearance)
            wanted = f"a piston that stands proud by less than the gasket, {least}"
            self.faults.append(Fault(clearance, self._shown(clearance), wanted))
            return
        parts = (
            "engine.bore",
            "engine.stroke",
            "engine.chamber.chamber_volume",
            "gasket.bore",
            thickness,
            clearance,
            "engine.chamber.piston_volume",
        )
        if not has(*parts):
            return
        wanted = "volumes that make a compression ratio above 1 to 25"
        try:
            ratio = _ratio_from_parts(*(v[p] for p in parts))
        except (InputError, ZeroDivisionError):
            ratio = math.nan
        if not 1 < ratio <= 25:
            came = f"{ratio:.3g}" if ratio > 0 else "volumes that leave no room above the piston"
            self.faults.append(Fault("engine.chamber", came, wanted))

    def _deck(self, has: Callable[..., bool]) -> None:
        """What the deck needs, and whether it fits the engine, the fasteners and the gasket."""
        v, before = self.values, len(self.faults)
        patterned, lists = self._tried("deck.pattern"), ("bores", "bolts", "outline")
        missing = [k for k in lists if not self._tried(f"deck.{k}")]
        missing += [k for k in lists if v.get(f"deck.{k}") == () and k not in missing]
        specs = _specs(Deck)
        if patterned:
            margins = ("end_margin", "side_margin") if "outline" in missing else ()
            for key in ("pitch", *margins):
                if not self._tried(f"deck.{key}"):
                    self._missing(f"deck.{key}", specs[key][1])
            if has("deck.oil_diameter") and not any(
                self._tried(f"deck.{k}") for k in ("side_margin", "oil_distance")
            ):
                self._missing("deck.oil_distance", specs["oil_distance"][1])
            offset = v.get("deck.bank_offset")
            if offset is not None and v.get("deck.pattern") == "inline":
                shown = self._shown("deck.bank_offset")
                wanted = 'nothing, or the pattern "vee bank"'
                self.faults.append(Fault("deck.bank_offset", shown, wanted))
        elif not any(m.startswith("deck.") for m in self.misspelt):
            if len(missing) == len(lists):
                wanted = f"{specs['pattern'][1].wanted}, with its pitch and margins, or the lists "
                wanted += "bores, bolts and outline"
                self.faults.append(Fault("deck.pattern", "nothing", wanted))
            for key in missing if len(missing) < len(lists) else ():
                self._missing(f"deck.{key}", specs[key][1])
            for key in _PATTERN_ONLY if len(missing) < len(lists) else ():
                if has(f"deck.{key}"):
                    shown = self._shown(f"deck.{key}")
                    wanted = "nothing, since no pattern is given"
                    self.faults.append(Fault(f"deck.{key}", shown, wanted))
        for number, step in enumerate(v.get("deck.thickness") or (), start=1):
            if (step.diameter is None) == (step.size is None):
                came = "neither diameter nor size" if step.size is None else "diameter and size"
                path = f"deck.thickness[{number}]"
                self.faults.append(Fault(path, came, "either diameter or size"))
        own = any(f.field.startswith("deck") for f in self.faults)
        fits = (
            "engine.cylinders", "engine.heads", "engine.bore", "gasket.seal_diameter",
            "gasket.compressed_thickness", *(f"fasteners.{n}" for n in _DECK_FASTENERS),
        )  # fmt: skip
        same = ("engine", "fasteners.around_bore", "fasteners.on_head", "fasteners.bolt_circle")
        if own or not has(*fits) or any(f.field.startswith(same) for f in self.faults[:before]):
            return
        deck = Deck(**{a: v[f"deck.{k}"] for k, (a, _) in specs.items()})
        system = _system(self.given.get("engine.bore"))
        bores = v["engine.cylinders"] // v["engine.heads"]
        hole, around, on_head, circle = (v[f"fasteners.{n}"] for n in _DECK_FASTENERS)
        self._try("", lambda: _checked_layout(
            deck, bores, v["engine.bore"], hole, around, on_head, circle,
            v["gasket.seal_diameter"], v["gasket.compressed_thickness"], system,
        ))  # fmt: skip

    def _like(self, value: float, path: str) -> str:
        """An SI number in the unit in which this field is written, else in the sheet's own."""
        shank = re.match(r"fasteners\.shank\[(\d+)\]\.(\w+)", path)
        if shank:
            kind, given = "length", self.given["fasteners.shank"][int(shank[1]) - 1].get(shank[2])
        else:
            kind, given = _all_specs()[path].kind, self.given.get(path)
        if given is None:
            return show(value, kind, _system(self.given.get("engine.bore")))
        return show_like(value, kind, given)

    def _shown(self, path: str) -> str:
        if path in self.given:
            return short(self.given[path])
        return short(_all_specs()[path].default)

    # -- out
    def build(self) -> Build:
        if self.faults:
            raise InputError(self.faults)
        parts: dict[str, Any] = {}
        for name in reversed(SECTIONS):
            if name in _OPTIONAL and name not in self.values:
                continue
            section = SECTIONS[name]
            held = {a: self.values[f"{name}.{k}"] for k, (a, _) in _specs(section).items()}
            if name == "gasket":
                held["_zone_values"] = _zone_value(held["zones"])
            if name == "engine":
                held["chamber"] = parts.pop("engine.chamber", None)
            parts[name] = section(**held)
        return Build(**parts, _given=self.given)


_DECK_FASTENERS = ("hole_diameter", "around_bore", "on_head", "bolt_circle")
"""What the deck takes from [fasteners]."""


def _deck_layout(
    deck: Deck, bores: int, bore: float, hole: float, around: int, on_head: int, circle: float,
    system: str,
) -> layouts.Layout:  # fmt: skip
    """The layout of a [deck] section; faults by dotted name."""
    holes = tuple(layouts.Hole(h.name, *h.place, h.diameter, h.fluid) for h in deck.holes)
    listed: dict[str, Any] = {
        "bores": deck.bores,
        "bolts": deck.bolts,
        "outline": deck.outline,
        "holes": holes,
    }
    listed = {k: v for k, v in listed.items() if v}
    if deck.pattern is None:
        return layouts.Layout(bore=bore, bolt_hole=hole, **listed)
    pitch = float(deck.pitch or 0.0)
    per_bore, rows = deck.bolts_per_bore, deck.shared_rows
    if deck.bolts:  # of the pattern only liquid holes are left
        per_bore = per_bore or (around if around in layouts.BOLTS_PER_BORE else 4)
        rows = 2 if rows is None else rows
    if per_bore is None and around not in layouts.BOLTS_PER_BORE:
        wanted = "4, 5 or 6 in a pattern; otherwise list the bolts (deck.bolts)"
        raise InputError(Fault("deck.pattern", f"around_bore {around}", wanted))
    per_bore = per_bore or around
    if rows is None and bores > 1:
        shared = bores * per_bore - on_head
        rows = shared // (bores - 1)
        if shared % (bores - 1) or rows not in range(3):
            known = [bores * per_bore - (bores - 1) * k for k in (2, 1, 0)]
            wanted = f"{known[0]}, {known[1]} or {known[2]} in a pattern of {bores} bores with "
            wanted += f"{per_bore} round each; otherwise list the bolts (deck.bolts)"
            raise InputError(Fault("deck.pattern", f"on_head {on_head}", wanted))
    row = deck.row_distance
    if row is None:
        if not circle > pitch:
            wanted = f"a distance, since bolt_circle, {show(circle, 'length', system)}, is not "
            raise InputError(Fault("deck.row_distance", "nothing", wanted + "above the pitch"))
        row = math.sqrt(circle**2 - pitch**2)
    more: dict[str, Any] = {
        name: getattr(deck, name)
        for name in (
            "front_distance", "rear_distance", "pair_distance", "outer_distance",
            "coolant_diameter", "coolant_distance", "oil_diameter", "oil_distance",
        )
    }  # fmt: skip
    offset = deck.bank_offset or 0.0
    if deck.pattern == "vee bank":
        more["bank_offset"] = offset
    draw = layouts.vee_bank if deck.pattern == "vee bank" else layouts.inline
    # of a listed outline the pattern's own is not used
    margins = [hole if m is None else m for m in (deck.end_margin, deck.side_margin)]
    cut = deck.corner_cut or 0.0
    made: layouts.Layout = draw.si(
        bores, pitch, bore, hole, row, *margins, per_bore, 2 if rows is None else rows,
        corner_cut=cut, coolant_per_gap=deck.coolant_per_gap or 1, **more,
    )  # fmt: skip
    if deck.bolts and not deck.outline:
        listed["outline"] = layouts.outline(deck.bolts, margins[0], margins[1], cut, offset)
    return dataclasses.replace(made, **listed) if listed else made


def _checked_layout(
    deck: Deck, bores: int, bore: float, hole: float, around: int, on_head: int, circle: float,
    seal: float, thickness: float, system: str,
) -> layouts.Layout:  # fmt: skip
    """The layout of a [deck] section that fits engine, fasteners and gasket; else one fault."""

    def told(value: float) -> str:
        return show(value, "length", system)

    if deck.pattern and deck.bolts_per_bore not in (None, around) and not deck.bolts:
        wanted = f"around_bore of [fasteners], {around}"
        raise InputError(Fault("deck.bolts_per_bore", str(deck.bolts_per_bore), wanted))
    if deck.bores and len(deck.bores) != bores:
        wanted = f"{bores}, the bores under one head"
        raise InputError(Fault("deck.bores", f"{len(deck.bores)} bores", wanted))
    try:
        made = _deck_layout(deck, bores, bore, hole, around, on_head, circle, system)
        if len(made.bolts) != on_head:
            field, came = "bolts", f"{len(made.bolts)} bolts"
            if not deck.bolts:
                field, came = "shared_rows", f"{deck.shared_rows}, which makes {came} on the head"
            raise InputError(Fault(field, came, f"on_head of [fasteners], {on_head}"))
        layouts.check(made, seal, system)
    except InputError as err:
        fault = err.faults[0]
        field = fault.field.removeprefix("deck.")
        if field.startswith("bores[") and not deck.bores:
            field = "pitch"
        if field.startswith("outline") and not deck.outline:
            field = "pattern"
        raise InputError(dataclasses.replace(fault, field=f"deck.{field}")) from err
    found = layouts.counts(made)
    if min(found) != around:
        came = f"{', '.join(map(str, found))} round the bores in turn"
        wanted = f"around_bore of [fasteners], {around}, round the bore with the fewest"
        raise InputError(Fault("deck.bolts", came, wanted))
    mean = sum(layouts.bolt_circle(made, b) for b in range(bores)) / bores
    if abs(mean - circle) > _CIRCLE_WITHIN * circle:
        field = "deck.bolts" if deck.bolts or deck.row_distance is None else "deck.row_distance"
        wanted = f"within {100 * _CIRCLE_WITHIN:g} % of bolt_circle of [fasteners], {told(circle)}"
        raise InputError(Fault(field, f"a mean bolt circle of {told(mean)}", wanted))
    x0, x1, y0, y1 = made.extent
    count = math.ceil((x1 - x0) / deck.mesh) * math.ceil((y1 - y0) / deck.mesh)
    if count > _MOST_ELEMENTS:
        least = math.sqrt((x1 - x0) * (y1 - y0) / _MOST_ELEMENTS)
        wanted = f"above {told(least)}, at most {_MOST_ELEMENTS} elements on this deck"
        raise InputError(Fault("deck.mesh", told(deck.mesh), wanted))
    for number, step in enumerate(deck.thickness, start=1):
        path = f"deck.thickness[{number}]"
        if not layouts.inside(made, step.place):
            raise InputError(Fault(f"{path}.place", "a place beside the deck face", "one on it"))
        if thickness + step.extra <= 0.0:
            wanted = f"less missing than the compressed thickness, {told(thickness)}"
            raise InputError(Fault(f"{path}.extra", told(step.extra), wanted))
    return made


def _ratio_from_parts(*parts: float) -> float:
    from sealkit.pressure import geometry

    ratio = geometry.compression_ratio_from_parts.si(*parts)
    return float(ratio) if np.ndim(ratio) == 0 else ratio


def _system(bore: Any) -> str:
    """The shop system of a sheet, told by how its bore is written."""
    if isinstance(bore, str):
        try:
            if str(parse(bore).units) in ("inch", "thou", "foot"):
                return "inch"
        except InputError:
            pass
    return "metric"


# --------------------------------------------------------------------------- the build
@dataclass(frozen=True, kw_only=True)
class Build:
    """One build: every section of the sheet, in plain SI.

    Made by `load`, `loads`, `from_dict` or `demo`, never half valid. Two builds are equal when
    their values are, however the values are written. A build never changes: `vary` gives a new one.
    """

    sheet: Sheet
    engine: Engine
    charge: Charge
    fuel: Fuel
    burn: Burn
    fasteners: Fasteners
    head: Head
    block: Block
    gasket: Gasket
    liquids: Liquids
    heat: Heat
    deck: Deck | None = None
    _given: dict[str, Any] = dataclasses.field(default_factory=dict, compare=False, repr=False)

    @property
    def compression_ratio(self) -> float:
        """Geometric compression ratio, as given or from the volumes of [engine.chamber].

        The gasket's opening and compressed thickness come from [gasket].
        """
        e, c = self.engine, self.engine.chamber
        if e.compression_ratio is not None:
            return e.compression_ratio
        if c is None:
            raise fail("engine.compression_ratio", _InWords("nothing"), "a ratio or the volumes")
        return _ratio_from_parts(
            e.bore,
            e.stroke,
            c.chamber_volume,
            self.gasket.bore,
            self.gasket.compressed_thickness,
            c.deck_clearance,
            c.piston_volume,
        )

    @property
    def bores_per_head(self) -> int:
        """Number of bores under one head."""
        return self.engine.cylinders // self.engine.heads

    @functools.cached_property
    def layout(self) -> layouts.Layout:
        """The deck face of one head, from [deck].

        Raises
        ------
        InputError
            if the sheet has no section [deck].
        """
        if self.deck is None:
            wanted = "the section [deck], with a pattern or with the places of bores and bolts"
            raise InputError(Fault("deck", "nothing", wanted))
        f = self.fasteners
        return _deck_layout(
            self.deck, self.bores_per_head, self.engine.bore, f.hole_diameter, f.around_bore,
            f.on_head, f.bolt_circle, self.system,
        )  # fmt: skip

    @property
    def gasket_steps(self) -> tuple[layouts.Step, ...]:
        """Places where the gasket is thicker or thinner, from [[deck.thickness]]."""
        rows = () if self.deck is None else self.deck.thickness
        return tuple(layouts.Step(*r.place, r.extra, r.diameter, r.size) for r in rows)

    @property
    def plate_thickness(self) -> float:
        """Thickness of the plate that bends like the head: that of [deck], else of [head]."""
        own = None if self.deck is None else self.deck.effective_thickness
        return self.head.thickness if own is None else own

    @property
    def odd_thread(self) -> bool:
        """Whether no row of the threads table has the diameter and pitch of the fasteners."""
        own = _thread(self.fasteners.thread, "fasteners.thread")
        return not any(
            math.isclose(own.diameter, row["diameter"], rel_tol=1e-6)
            and math.isclose(own.pitch, row["pitch"], rel_tol=1e-6)
            for row in tables.load("threads").rows
        )

    @property
    def system(self) -> str:
        """ "inch" if the sheet gives its bore in inches, else "metric"."""
        return _system(self._given.get("engine.bore"))

    def get(self, path: str) -> Any:
        """The value of a field by its dotted name: a quantity, a plain number, a text or None.

        Raises
        ------
        InputError
            if there is no such field.
        """
        known = _all_specs()
        if path not in known:
            raise fail(str(path), _InWords("an unknown field"), _dotted(str(path)))
        kind = known[path].kind
        value = self._held(path)
        if kind in _PLACES and value:
            return from_si(np.array(value), "length")
        return from_si(value, kind) if kind in KINDS and value is not None else value

    def _held(self, path: str) -> Any:
        name, _, key = path.rpartition(".")
        part: Any = self
        for step in name.split("."):
            part = getattr(part, step)
        return None if part is None else getattr(part, _specs(SECTIONS[name])[key][0])

    def _raw(self) -> dict[str, dict[str, Any]]:
        """The sheet as nested raw values: own text where it still holds, defaults left out."""
        out: dict[str, dict[str, Any]] = {}
        for path, spec in fields():
            name, _, key = path.rpartition(".")
            value = self._held(path)
            raw = self._text_of(path, spec, value)
            if raw is None:
                continue
            place: dict[str, Any] = out
            for step in name.split("."):
                place = place.setdefault(step, {})
            place[key] = raw
        return out

    def _text_of(self, path: str, spec: Spec, value: Any) -> Any:
        kept = self._given.get(path)
        if path == "gasket.zones":
            return copy.deepcopy(list(value)) or None
        if value is None:
            return None
        if spec.kind == "rows":
            return self._row_text(_ROWS[path], value, kept) or None
        if kept is not None:
            same = _value(spec, kept, path)
            if path in _LOOK_UPS:
                same = _LOOK_UPS[path](same, path)
            if path == "gasket.construction" and not self.gasket.zones:
                same = _TRADE_WORDS.get(_trade(same), same.casefold())
            if same == value:
                return kept
        default = spec.default
        if default is not None and not spec.required and value == _value(spec, default, path):
            return None
        return _written(value, spec.kind)

    @staticmethod
    def _row_text(row_class: type, value: tuple[Any, ...], kept: Any) -> list[dict[str, Any]]:
        rows = []
        specs = _specs(row_class)
        for number, part in enumerate(value):
            row = {}
            for key, (attribute, spec) in specs.items():
                held = getattr(part, attribute)
                if held is None:
                    continue
                own = kept[number].get(key) if kept and number < len(kept) else None
                if own is not None and _value(spec, own, key) == held:
                    row[key] = own
                else:
                    row[key] = _written(held, spec.kind)
            rows.append(row)
        return rows

    # -- changing
    def vary(self, changes: Mapping[str, Any] | None = None, /, **more: Any) -> Build:
        """A new build with some fields changed.

        Parameters
        ----------
        changes : dotted name -> text, quantity or (for plain kinds) number; None takes the field
            off the sheet, so that its default holds again. Of two fields that exclude each other
            (``fuel.lambda`` and ``fuel.equivalence_ratio``), the one changed drives out the other.

        Returns
        -------
        Build

        Raises
        ------
        InputError
            listing every fault, by dotted name, as `load` does.
        """
        wishes = {**(changes or {}), **more}
        raw = self._raw()
        faults: list[Fault] = []
        for one, other in _PAIRS:
            for new, old in ((one, other), (other, one)):
                if _touches(wishes, new) and not _touches(wishes, old):
                    for path in old:
                        _put(raw, path, None)
        for path, value in wishes.items():
            known = "." in path or path in _OPTIONAL
            if not known or path.split(".")[0] not in _TOP or not _put(raw, path, value):
                faults.append(Fault(_word(path), "an unknown field", _dotted(path)))
        try:
            build = _Reader(raw).build()
        except InputError as err:
            raise InputError([*faults, *err.faults]) from None
        if faults:
            raise InputError(faults)
        return build

    # -- writing
    def dumps(self) -> str:
        """The sheet as TOML text. Fields that stand at their default and were not given are left
        out; given fields keep their own text. Comments are not kept."""
        lines: list[str] = []
        raw = self._raw()
        for name in SECTIONS:
            part: Any = raw
            for step in name.split("."):
                part = part.get(step) if part else None
            if not part:
                continue
            apart = [k for k in part if f"{name}.{k}" in _TABLES]
            plain = {k: v for k, v in part.items() if not isinstance(v, dict) and k not in apart}
            if plain:
                lines += ["", f"[{name}]"]
                for k, v in plain.items():
                    lines += _entry_lines(f"{name}.{k}", k, v)
            for key in apart:
                for row in part[key]:
                    lines += ["", f"[[{name}.{key}]]"]
                    lines += [f"{_toml_key(k)} = {_toml(v)}" for k, v in row.items()]
        return "\n".join(lines[1:]) + "\n"

    def save(self, path: str | os.PathLike[str]) -> Path:
        """Write the sheet; the file is either the old one or the whole new one, never a part.

        Returns
        -------
        the path written

        Raises
        ------
        InputError
            if the file cannot be written.
        """
        text = self.dumps()
        target = Path(path).expanduser()
        shown = short_path(str(path))
        if target.is_dir():
            raise InputError(Fault("file", f"the folder {shown}", "the name of a file"))
        try:
            return write_whole(target, text.encode())
        except (OSError, ValueError) as err:
            reason = getattr(err, "strerror", None) or str(err)
            wanted = "a file in a folder that can be written to"
            raise InputError(Fault("file", f"{shown} ({reason})", wanted)) from err

    # -- showing
    def to_dict(self, system: str = "metric") -> dict[str, Any]:
        """The whole sheet, defaults included, as nested text in the shop's units.

        Rounded for reading; fields that are not used are left out. Zones stay as written.
        """
        out: dict[str, Any] = {}
        for path, spec in fields():
            value = self._held(path)
            if value is None:
                continue
            name, _, key = path.rpartition(".")
            place = out
            for step in name.split("."):
                place = place.setdefault(step, {})
            if path == "gasket.zones":
                place[key] = copy.deepcopy(list(value))
            elif spec.kind == "rows":
                place[key] = [
                    {
                        k: _readable(getattr(p, a), s.kind, system)
                        for k, (a, s) in _specs(_ROWS[path]).items()
                        if getattr(p, a) is not None
                    }
                    for p in value
                ]
            else:
                place[key] = _readable(value, spec.kind, system)
        return out

    def html(self, system: str | None = None) -> str:
        """A small table of the build; in the sheet's own shop system unless one is given."""
        d = self.to_dict(system or self.system)
        e, f, g, c = d["engine"], d["fasteners"], d["gasket"], d["charge"]
        mixture = (
            f"lambda {d['fuel']['lambda']}"
            if "lambda" in d["fuel"]
            else f"equivalence ratio {d['fuel']['equivalence_ratio']}"
        )
        how = [f["tightening"]] + [f[k] for k in _NEEDED_BY[f["tightening"]]]
        rows = {
            "engine": f"{e['cylinders']} cylinders, {e['strokes']}-stroke, "
            f"{e['bore']} × {e['stroke']}, compression {self.compression_ratio:.2f}:1",
            "load point": f"{e['speed']}, boost {c['boost']}",
            "fuel": f"{d['fuel']['name']}, {mixture}",
            "burn": f"half burnt {d['burn']['ca50']} after top dead centre, "
            f"10 to 90 % in {d['burn']['duration']}",
            "fasteners": f"{f['on_head']} {f['kind']}s {f['thread']} on a head, "
            f"{f['around_bore']} around a bore; {', '.join(how)}",
            "head and block": f"{d['head']['material']}, {d['block']['material']}",
            "gasket": f"{g['construction']}, seal diameter {g['seal_diameter']}, "
            f"{g['compressed_thickness']} compressed",
            "numbers": d["sheet"]["status"],
        }
        if d["sheet"]["note"]:
            rows["note"] = d["sheet"]["note"]
        cells = "".join(
            f'<tr><th scope="row">{html.escape(k)}</th><td>{html.escape(v)}</td></tr>'
            for k, v in rows.items()
        )
        name = html.escape(d["sheet"]["name"])
        return f"<table><caption>{name}</caption><tbody>{cells}</tbody></table>"

    def _repr_html_(self) -> str:
        return self.html()


def _readable(value: Any, kind: str, system: str) -> Any:
    if kind in _PLACES:
        return [_readable(v, "length" if kind == "place" else "place", system) for v in value]
    if kind in ("text", "whole"):
        return str(value)
    return f"{value:.6g}" if kind == "number" else show(value, kind, system)


def _touches(wishes: Mapping[str, Any], paths: tuple[str, ...]) -> bool:
    return any(
        value is not None and any(w == p or w.startswith(f"{p}.") for p in paths)
        for w, value in wishes.items()
    )


def _put(raw: dict[str, Any], path: str, value: Any) -> bool:
    """Set (or with None take away) a raw value; False if the way leads through a value."""
    *steps, key = path.split(".")
    place: Any = raw
    for step in steps:
        if not isinstance(place, dict):
            return False
        if step not in place:
            if value is None:
                return True
            place[step] = {}
        place = place[step]
    if not isinstance(place, dict):
        return False
    if value is None:
        place.pop(key, None)
    else:
        place[key] = value
    return True


def _dotted(path: str) -> str:
    """What a dotted name should be, with the nearest one."""
    known = list(_all_specs())
    last = path.rpartition(".")[2]
    same = [p for p in known if p.rpartition(".")[2] == last]
    hint = f' (did you mean "{same[0]}"?)' if same else near(path, known)
    return f'the dotted name of a field, such as "charge.boost"{hint}'


# --------------------------------------------------------------------------- the writer
_BARE = re.compile(r"[A-Za-z0-9_-]+\Z")


def _toml_key(key: str) -> str:
    return key if _BARE.match(key) else _toml(key)


def _entry_lines(path: str, key: str, value: Any) -> list[str]:
    """A field as lines of TOML; of a list of places each has its own line."""
    if _all_specs()[path].kind == "places" and value:
        return [f"{_toml_key(key)} = [", *(f"  {_toml(v)}," for v in value), "]"]
    return [f"{_toml_key(key)} = {_toml(value)}"]


def _and(names: Iterable[str]) -> str:
    """Names as "a, b and c"."""
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


def _toml(value: Any) -> str:
    """A value as TOML on one line."""
    if isinstance(value, str):
        body = value.replace("\\", "\\\\").replace('"', '\\"')
        body = body.replace("\n", "\\n").replace("\t", "\\t").replace("\r", "\\r")
        return '"' + re.sub(r"[\x00-\x1f\x7f]", lambda m: f"\\u{ord(m[0]):04X}", body) + '"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(int(value))
    if isinstance(value, float):
        return repr(float(value))
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_toml_key(str(k))} = {_toml(v)}" for k, v in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_toml(v) for v in value)}]"
    raise TypeError(f"a sheet cannot hold {type(value).__name__}")


# --------------------------------------------------------------------------- reading sheets
def from_dict(raw: Mapping[str, Any]) -> Build:
    """A build from nested mappings: section -> field -> text, quantity or plain number.

    Raises
    ------
    InputError
        listing every fault by dotted name.
    """
    if not isinstance(raw, Mapping):
        raise fail("sheet", _came(raw), "sections with fields")
    return _Reader(raw).build()


def loads(text: str) -> Build:
    """A build from the text of a sheet.

    Raises
    ------
    InputError
        listing every fault by dotted name, or the line that is not TOML.
    """
    if not isinstance(text, str):
        raise fail("sheet", _came(text), "the text of a build sheet")
    if len(text) > _LARGEST:
        raise InputError(Fault("sheet", "more than a million characters", "a build sheet"))
    text = text.removeprefix("\ufeff")
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise InputError(_syntax(text, str(err))) from err
    except RecursionError as err:
        raise InputError(Fault("sheet", "lists nested too deep", "a build sheet")) from err
    except ValueError as err:
        raise InputError(Fault("sheet", "a number too long or a bad date", "valid TOML")) from err
    return _Reader(raw).build()


def _syntax(text: str, message: str) -> Fault:
    place = re.search(r"\s*\(at line (\d+), column (\d+)\)", message)
    lines = text.splitlines()
    hint = 'a value with a unit stands in quotes, such as bore = "86 mm"'
    if place is None:
        what = message.replace("(at end of document)", "at the end of the sheet").lower()
        return Fault("sheet", what, f"valid TOML; {hint}")
    number = int(place[1])
    line = lines[number - 1].strip() if number <= len(lines) else ""
    what = message[: place.start()].lower()
    wanted = f"valid TOML ({what}, column {place[2]}); {hint}"
    twice = re.match(r"cannot (overwrite|declare)|duplicate inline table key (.*)", what)
    if twice:
        key = (twice[2] or line.partition("=")[0]).strip(" '\"") or "a field"
        before = _first(lines[: number - 1], key)
        wanted = f"each field once; {_word(key)} stands here twice{before}"
    elif re.search("[\u2018-\u201f\u00ab\u00bb\u2032\u2033]", line):
        wanted = f'valid TOML; use straight quotes ("), such as {hint.rpartition("such as ")[2]}'
    return Fault(f"line {number}", short(line), wanted)


def _first(lines: list[str], key: str) -> str:
    """Where a field, or a section such as "[engine]", stands before, in words."""
    for number in range(len(lines), 0, -1):
        line = lines[number - 1].strip()
        if line.partition("=")[0].strip(" '\"") == key:
            return f" (before in line {number})"
        if line.startswith("[") and not key.startswith("["):
            break
    return ""


def load(path: str | os.PathLike[str]) -> Build:
    """A build from a sheet on disk.

    Raises
    ------
    InputError
        if there is no such file, it cannot be read or is not UTF-8 text; otherwise as `loads`.
    """
    shown = short_path(str(path))
    wanted = 'a build sheet, a TOML text file such as "four.toml"'
    try:
        file = Path(path).expanduser()
        if file.is_dir():
            raise InputError(Fault("file", f"the folder {shown}", wanted))
        with file.open("rb") as handle:
            data = handle.read(_LARGEST + 1)
    except FileNotFoundError as err:
        wanted += _demo_words(str(path))
        raise InputError(Fault("file", f"{shown}, which is not there", wanted)) from err
    except InputError:
        raise
    except (OSError, ValueError, TypeError, RuntimeError) as err:
        reason = getattr(err, "strerror", None) or str(err)
        raise InputError(Fault("file", f"{shown} ({reason})", wanted)) from err
    if len(data) > _LARGEST:
        raise InputError(Fault("file", f"{shown}, more than a million bytes", wanted))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as err:
        line = data[: err.start].count(b"\n") + 1
        came = f"{shown}, which is not UTF-8 text (line {line})"
        raise InputError(Fault("file", came, wanted + ", saved as UTF-8")) from err
    return loads(text)


def _demo_words(path: str) -> str:
    """The names of the demonstration builds, with the one nearest to the file asked for."""
    try:
        known = demos()
    except InputError:  # the course's data are not there; the sheet asked for is what matters
        return ""
    name = re.split(r"[/\\]", path)[-1].removesuffix(".toml")
    return f"; demonstration builds are {quoted(known)}{near(name, known)}" if known else ""


def demos() -> list[str]:
    """Names of the demonstration builds."""
    return sorted(p.stem for p in (resources.course_root() / "data" / "builds").glob("*.toml"))


def demo(name: str) -> Build:
    """A demonstration build by its name; its numbers are invented.

    Raises
    ------
    InputError
        if there is none of this name.
    """
    known = demos()
    if name not in known:
        raise fail("demo", str(name), f"one of {quoted(known)}{near(str(name), known)}")
    return load(resources.data_file("builds", f"{name}.toml"))


def _grades() -> list[str]:
    from sealkit.fastening import grades

    return grades.grades()


def _fuels() -> list[str]:
    from sealkit.pressure import fuels

    return fuels.fuel_names()


def _constructions() -> list[str]:
    from sealkit.sealing import constructions

    return constructions.names()


_NAMES: dict[str, Callable[[], list[str]]] = {
    "fuel.name": _fuels,
    "fasteners.grade": _grades,
    "fasteners.lubricant": lambda: list(tables.load("friction")),
    "fasteners.material": lambda: list(tables.load("materials")),
    "head.material": lambda: list(tables.load("materials")),
    "block.material": lambda: list(tables.load("materials")),
    "gasket.construction": _constructions,
    "liquids.facing": lambda: list(tables.load("facings")),
}
"""The fields whose values are names, and where the names come from."""


def _wrapped(head: str, words: list[str], width: int = 88) -> list[str]:
    """Words as comment lines; no word is broken, whatever it holds."""
    lines = [f"# {head}"]
    for number, word in enumerate(words, start=1):
        text = word + "," * (number < len(words))
        if len(lines[-1]) + len(text) > width:
            lines.append("#   ")
        lines[-1] += f"{text} "
    return [line.rstrip() for line in lines]


def template() -> str:
    """An empty build sheet to fill in: every field as a comment, with what it is and its range."""
    lines = [
        "# Build sheet. Take away the # in front of a line and put in your own value.",
        '# A value with a unit stands in quotes, such as "86 mm" or "3.386 in".',
    ]
    for name, section in SECTIONS.items():
        heading = f"[{name}]"
        lines += ["", f"# {(section.__doc__ or '').splitlines()[0]}"]
        if name in _OPTIONAL:
            why = "Instead of engine.compression_ratio" if "." in name else "May be left out"
            lines.append(f"# {why}; take away the # of the heading.")
            heading = f"# {heading}"
        lines += [heading, ""]
        for key, (_, spec) in _specs(section).items():
            if spec.required:
                need = "required"
            elif spec.condition:
                need = spec.condition
            elif spec.default in (None, "", ()):
                need = "" if "left out: " in spec.help else "may be left out"
            else:
                need = f"{_toml(spec.default)} if left out"
            if spec.condition and spec.default is not None:
                need += f"; {_toml(spec.default)} if both are left out"
            lines.append(f"# {spec.help}{'; ' * bool(need)}{need}")
            if spec.choices:
                lines.append(f"# {spec.wanted}")
            elif spec.range:
                lines.append(f"# {spec.range}")
            path = f"{name}.{key}"
            if path in _NAMES:
                lines += _wrapped("known: ", [f'"{n}"' for n in _NAMES[path]()])
            if path == "gasket.zones":
                lines.append("# fields of a zone: see sealkit.sealing.gaskets.read_zones")
            if path in _TABLES:
                lines.append(f"# [[{path}]]")
                inner = _specs(_ROWS[path]) if path in _ROWS else {}
                for k, v in spec.example[0].items():
                    note = f"  # {inner[k][1].help}" if k in inner else ""
                    lines.append(f"# {k} = {_toml(v)}{note}")
            else:
                lines.append(f"# {key} = {_toml(spec.example)}")
    return "\n".join(lines) + "\n"
