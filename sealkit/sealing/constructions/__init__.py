"""Gasket constructions worked out from their geometry and materials.

Each construction turns its own sizes and materials into the zones of a gasket: a fibre body from
its test-sheet figures, an embossed bead from its legs as clamped strips, a stopper as added
thickness, a ridged ring and a wire by indentation, a copper sheet by its flow curve. A zone can
also be measured. All parameters stand in the table ``constructions``, each with source and status;
most sizes are illustrative, so the curves show how a construction works and are no data of any
gasket.

A curve is worked out as closure against load: parts in series add their closures at one load.
Unloading takes back what is elastic and leaves what has flowed.
"""

from __future__ import annotations

import csv
import dataclasses
import functools
import inspect
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit import tables
from sealkit.errors import Fault, InputError, fail, near, short
from sealkit.sealing import criteria, flow
from sealkit.sealing.gaskets import Gasket, Zone, read_zones
from sealkit.units import Q, UnitFunction, field, to_si, with_units

Array = NDArray[np.float64]

FULL_BEAD_LEGS = 2
HALF_BEAD_LEGS = 1
_MOST_ROWS = 2000
_MOST_BYTES = 1_000_000


# --------------------------------------------------------------------------- test-sheet figures
@with_units(returns="fraction", preloaded="length > 0", loaded="length > 0")
def compressibility(preloaded: Any, loaded: Any) -> Any:
    """Compressibility of a gasket sheet, (P - M) / P.

    Parameters
    ----------
    preloaded : thickness P under the preload [m]
    loaded : thickness M under the total load [m]

    Returns
    -------
    share of the thickness under preload

    Raises
    ------
    InputError
        for a thickness not above zero, or a sheet thicker under load.

    References
    ----------
    ASTM F36.
    """
    _thinner(loaded, preloaded, "loaded")
    return (preloaded - np.asarray(loaded, dtype=float)) / preloaded


@with_units(returns="fraction", preloaded="length > 0", loaded="length > 0", recovered="length > 0")
def recovery(preloaded: Any, loaded: Any, recovered: Any) -> Any:
    """Recovery of a gasket sheet, (R - M) / (P - M).

    Parameters
    ----------
    preloaded : thickness P under the preload [m]
    loaded : thickness M under the total load [m]
    recovered : thickness R with the major load off [m]

    Returns
    -------
    share of the compression that comes back

    Raises
    ------
    InputError
        for a thickness not above zero, or thicknesses out of order.

    References
    ----------
    ASTM F36.
    """
    _thinner(loaded, preloaded, "loaded")
    _thinner(loaded, recovered, "loaded")
    _thinner(recovered, preloaded, "recovered")
    squeezed = np.asarray(preloaded, dtype=float) - loaded
    if np.any(squeezed <= 0):
        raise fail("loaded", "the thickness under preload", "a sheet that was compressed")
    return (np.asarray(recovered, dtype=float) - loaded) / squeezed


@with_units(returns="fraction", loaded="length > 0", recovered="length > 0")
def resiliency(loaded: Any, recovered: Any) -> Any:
    """Resiliency of a gasket sheet, (R - M) / M.

    Parameters
    ----------
    loaded : thickness M under the total load [m]
    recovered : thickness R with the major load off [m]

    Returns
    -------
    what comes back as share of the compressed thickness

    Raises
    ------
    InputError
        for a thickness not above zero, or a sheet that comes back thinner.

    References
    ----------
    ASTM F36.
    """
    _thinner(loaded, recovered, "loaded")
    return (np.asarray(recovered, dtype=float) - loaded) / loaded


def _thinner(thin: Any, thick: Any, name: str) -> None:
    if np.any(np.asarray(thin) > np.asarray(thick)):
        raise fail(name, f"{np.max(thin):g} m", f"at most {np.min(thick):g} m")


@with_units(returns="fraction", initial="length > 0", final="length >= 0")
def creep_relaxation(initial: Any, final: Any) -> Any:
    """Creep relaxation from the stretch of the test bolt, (D0 - Df) / D0.

    Parameters
    ----------
    initial : stretch D0 of the bolt just after loading [m]
    final : stretch Df read on loosening [m]

    Returns
    -------
    share of the load that is lost

    Raises
    ------
    InputError
        for a stretch out of range, or one that grew.

    References
    ----------
    ASTM F38, method B (formula from memory).
    """
    _thinner(final, initial, "final")
    return (initial - np.asarray(final, dtype=float)) / initial


@with_units(
    returns="force", stress="stress > 0", inner_diameter="length > 0", outer_diameter="length > 0"
)
def ring_force(stress: Any, inner_diameter: Any, outer_diameter: Any) -> Any:
    """Force that puts a stress on a flat test ring, sigma pi/4 (D**2 - d**2).

    Parameters
    ----------
    stress : sigma [Pa]
    inner_diameter, outer_diameter : d, D [m]

    Returns
    -------
    force [N]

    Raises
    ------
    InputError
        for a number not above zero, or diameters the wrong way round.

    References
    ----------
    ASTM F38, method A: 13.8 MPa on a ring of 33.02 by 52.32 mm.
    """
    if np.any(np.asarray(inner_diameter) >= outer_diameter):
        raise fail("inner_diameter", f"{np.max(inner_diameter):g} m", "below the outer diameter")
    area = np.pi / 4.0 * (np.asarray(outer_diameter, dtype=float) ** 2 - inner_diameter**2)
    return stress * area


@with_units(
    returns="fraction",
    share="fraction 0..1",
    rig_stiffness="stiffness > 0",
    sheet_stiffness="stiffness > 0",
    joint_stiffness="stiffness > 0",
)
def relaxation_in_joint(
    share: Any, rig_stiffness: Any, sheet_stiffness: Any, joint_stiffness: Any
) -> Any:
    """Creep relaxation of the same sheet between parts of another stiffness.

    share (kr + ks)/kr kj/(kj + ks): the sheet loses the same thickness, the softer parts lose
    less load by it.

    Parameters
    ----------
    share : relaxation in the test rig
    rig_stiffness : kr of the test bolt, 210 to 218 kN/mm for method B [N/m]
    sheet_stiffness : ks of the sheet on unloading, over the area in question [N/m]
    joint_stiffness : kj of bolts and members in series [N/m]

    Returns
    -------
    share of the load lost in the joint, at most 1

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Springs in series with a loss of length in one of them, at the same stress on the sheet and
    with all three stiffnesses taken per area of sheet.
    """
    rig, sheet, joint = (
        np.asarray(v, dtype=float) for v in (rig_stiffness, sheet_stiffness, joint_stiffness)
    )
    return np.minimum(share * (rig + sheet) / rig * joint / (joint + sheet), 1.0)


# --------------------------------------------------------------------------- bead legs
def _strip_modulus(modulus: Any, poisson: Any) -> Any:
    return modulus / (1.0 - np.asarray(poisson, dtype=float) ** 2)


@with_units(
    returns="modulus",
    modulus="modulus > 0",
    poisson="number 0..0.49",
    thickness="length > 0",
    span="length > 0",
    legs="number > 0",
)
def bead_stiffness(modulus: Any, poisson: Any, thickness: Any, span: Any, legs: Any = 2) -> Any:
    """Stiffness of a bead per length of bead, k = legs E' t**3 / L**3, E' = E / (1 - nu**2).

    Each leg is a plane-strain strip, both ends held against rotation and moved apart.

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    thickness : t of the sheet [m]
    span : L of one leg [m]
    legs : 2 for a full bead, 1 for a half bead

    Returns
    -------
    line load per deflection [N/m per m]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Beam theory; checked with a general numerical library.
    """
    return (
        legs * _strip_modulus(modulus, poisson) * (np.asarray(thickness, dtype=float) / span) ** 3
    )


@with_units(
    returns="length",
    modulus="modulus > 0",
    poisson="number 0..0.49",
    thickness="length > 0",
    span="length > 0",
    yield_strength="stress > 0",
)
def bead_first_yield(
    modulus: Any, poisson: Any, thickness: Any, span: Any, yield_strength: Any
) -> Any:
    """Deflection at which the surface of a leg reaches the yield strength, Sy L**2 / (3 E' t).

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    thickness, span : t, L [m]
    yield_strength : Sy [Pa]

    Returns
    -------
    deflection [m]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Beam theory. Plane strain lets the surface carry up to 2/sqrt(3) Sy, so this is early.
    """
    stiff = 3.0 * _strip_modulus(modulus, poisson) * thickness
    return yield_strength * np.asarray(span, dtype=float) ** 2 / stiff


@with_units(
    returns="line load",
    thickness="length > 0",
    span="length > 0",
    yield_strength="stress > 0",
    legs="number > 0",
)
def bead_plastic_load(thickness: Any, span: Any, yield_strength: Any, legs: Any = 2) -> Any:
    """Line load at which the legs have yielded through, legs 2 Mp / L, Mp = Sy t**2 / (2 sqrt 3).

    Parameters
    ----------
    thickness, span : t, L [m]
    yield_strength : Sy [Pa]
    legs : 2 for a full bead, 1 for a half bead

    Returns
    -------
    line load [N/m]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Plastic hinges at both ends; plane-strain flow stress 2/sqrt(3) Sy.
    """
    moment = 2.0 / np.sqrt(3.0) * yield_strength * np.asarray(thickness, dtype=float) ** 2 / 4.0
    return legs * 2.0 * moment / span


@with_units(
    returns="length",
    modulus="modulus > 0",
    poisson="number 0..0.49",
    thickness="length > 0",
    span="length > 0",
    yield_strength="stress > 0",
    layers="number > 0",
)
def bead_springback(
    modulus: Any, poisson: Any, thickness: Any, span: Any, yield_strength: Any, layers: Any = 1
) -> Any:
    """Elastic recovery of a bead from its plastic line load, layers (2 Mp / L) / (E' t**3 / L**3).

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    thickness, span : t, L [m]
    yield_strength : Sy [Pa]
    layers : active layers in series

    Returns
    -------
    springback [m]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    `bead_plastic_load` over `bead_stiffness`; the number of legs cancels.
    """
    load = bead_plastic_load.si(thickness, span, yield_strength, 1)
    return layers * load / bead_stiffness.si(modulus, poisson, thickness, span, 1)


@with_units(
    returns="fraction",
    modulus="modulus > 0",
    yield_strength="stress > 0",
    tensile_strength="stress > 0",
    elongation="fraction > 0",
)
def hardening_share(
    modulus: Any, yield_strength: Any, tensile_strength: Any, elongation: Any
) -> Any:
    """Slope of the stress-strain curve past yield over the modulus, (Su - Sy) / (e E).

    Parameters
    ----------
    modulus : E [Pa]
    yield_strength, tensile_strength : Sy, Su [Pa]
    elongation : e

    Returns
    -------
    share of the modulus, not below 0.0001

    Raises
    ------
    InputError
        for a number out of range, or a tensile strength below the yield strength.

    References
    ----------
    Straight line from proof to tensile strength; engineering values, so a low estimate.
    """
    if np.any(np.asarray(tensile_strength) < yield_strength):
        raise fail(
            "tensile_strength", f"{np.min(tensile_strength):g} Pa", "at least the yield strength"
        )
    rise = (np.asarray(tensile_strength, dtype=float) - yield_strength) / (elongation * modulus)
    return np.maximum(rise, 1e-4)


_RATIOS = np.array([1.0, 1.12, 1.25, 1.36, 1.44, 1.49, 1.5])


def _strip_nodes(stiffness: float, plastic: float, hardening: float, ratios: Array) -> Any:
    """Deflections and loads of clamped elastic-plastic legs, up to the plastic line load.

    Half a leg is a cantilever of rectangular section under an end load P; past first yield P1
    w/w1 = (P1/P)**2 (5 - (3 + P/P1) sqrt(3 - 2 P/P1)), up to P = 1.5 P1. Hardening acts beside it
    as an elastic strip of the hardening share of the stiffness.
    """
    first = plastic / 1.5
    start = first / (stiffness * (1.0 - hardening))
    w = start * (5.0 - (3.0 + ratios) * np.sqrt(np.maximum(3.0 - 2.0 * ratios, 0.0))) / ratios**2
    w = np.concatenate([[0.0], w])
    return w, np.concatenate([[0.0], first * ratios]) + hardening * stiffness * w


@with_units(
    returns="line load",
    deflection="length >= 0",
    stiffness="modulus > 0",
    plastic_load="line load > 0",
    hardening="fraction 0..0.9",
)
def bead_load(deflection: Any, stiffness: Any, plastic_load: Any, hardening: Any = 0.0) -> Any:
    """Line load of a bead on first loading, elastic, then with yielding ends.

    Parameters
    ----------
    deflection : of one layer [m]
    stiffness : k from `bead_stiffness` [N/m per m]
    plastic_load : from `bead_plastic_load` [N/m]
    hardening : slope past yield over the modulus

    Returns
    -------
    line load [N/m]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Elastic-plastic cantilever of rectangular section under an end load, S. Timoshenko, Strength
    of Materials, part II (from memory; limits checked: first yield and 1.5 times its load).
    """
    w, v = _strip_nodes(stiffness, plastic_load, hardening, np.linspace(1.0, 1.5, 400))
    d = np.asarray(deflection, dtype=float)
    beyond = np.maximum(d - w[-1], 0.0) * hardening * stiffness
    return np.interp(d, w, v) + beyond


# --------------------------------------------------------------------------- results
@dataclass(frozen=True)
class Edge:
    """The unbacked edge of a soft gasket, for the blow-out check.

    Parameters
    ----------
    thickness : free, m
    width : of the web to the next opening, m
    friction : on each face
    tensile_strength : of the sheet, Pa
    """

    thickness: Any = field("length")
    width: Any = field("length")
    friction: Any = field("number")
    tensile_strength: Any = field("stress")


@dataclass(frozen=True)
class Made(Gasket):
    """A gasket worked out from its parameters.

    Parameters
    ----------
    name, zones, note : as in `Gasket`
    edge : unbacked edge of a soft gasket; None where metal backs it
    figures : numbers met on the way, in SI, by name with unit
    """

    edge: Edge | None = None
    figures: Mapping[str, float] = dataclasses.field(default_factory=dict, compare=False)


# --------------------------------------------------------------------------- curves
Down = Callable[[Array, float], Array]


def _curves(loads: Array, closure: Array, down: Down) -> dict[str, Any]:
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


def _single(function: Callable[..., Made]) -> Callable[..., Made]:
    """Refuse arrays where a gasket is built: one value for each parameter."""

    @functools.wraps(function)
    def checked(*args: Any, **kwargs: Any) -> Made:
        bound = inspect.signature(function).bind(*args, **kwargs)
        for name, value in bound.arguments.items():
            if np.ndim(value) > 0:
                raise fail(name, f"{np.size(value)} values", "one value")
        return function(*args, **kwargs)

    return checked


def _whole(value: float, name: str) -> int:
    if value != int(value):
        raise fail(name, f"{value:g}", "a whole number")
    return int(value)


def _material(name: str, argument: str) -> tuple[float, float]:
    """Modulus and Poisson's ratio out of the table of materials."""
    row = tables.load("materials").get(name, argument)
    if row["poisson"] is None:
        raise fail(argument, name, "a material with a Poisson's ratio in the materials table")
    return float(row["modulus"]), float(row["poisson"])


# --------------------------------------------------------------------------- fibre
_Sheet = tuple[float, float, float, float, float]


def _fibre(
    thickness: float,
    share: float,
    back: float,
    at: float,
    exponent: float,
    fall: float,
    crush: float,
) -> dict[str, Any]:
    """Stress curves of a fibre sheet through its test point."""
    if fall < exponent * back:
        raise fail(
            "unloading_exponent",
            f"{fall:g}",
            f"at least loading_exponent x recovery, {exponent * back:.3g}; "
            "the path would lie above the loading curve",
        )
    crushed = (crush / at) ** (1.0 / exponent)
    if share * crushed > 0.9:
        raise fail(
            "compressibility",
            f"{share:g}",
            f"at most {0.9 / crushed:.3g}: nothing would be left of the sheet at the crush stress",
        )
    most = min((1.6 * crush / at) ** (1.0 / exponent), 0.95 / share)
    # the test point itself is a node
    part = np.concatenate([np.linspace(0.0, 1.0, 8), np.linspace(1.0, most, 5)[1:]])
    if most <= 1.05:
        part = np.linspace(0.0, most, 12)
    part = np.insert(part, 1, 0.3 * part[1])
    closure = share * thickness * part
    loads = at * part**exponent

    def down(levels: Array, top: float) -> Array:
        reached = share * thickness * (top / at) ** (1.0 / exponent)
        return reached * (1.0 - back * (1.0 - (levels / top) ** (1.0 / fall)))

    return _curves(loads, closure, down)


_FIBRE_KINDS = {
    "body_thickness": "length > 0",
    "compressibility": "fraction 0.001..0.9",
    "recovery": "fraction 0.001..1",
    "test_stress": "stress > 0",
    "loading_exponent": "number 1..6",
    "unloading_exponent": "number 1..12",
    "body_crush": "stress > 0",
    "web_width": "length > 0",
    "web_friction": "number >= 0",
    "web_strength": "stress >= 0",
}


@with_units(
    **_FIBRE_KINDS,
    armour_thickness="length >= 0",
    armour_width="length > 0",
    factor="number >= 0",
    seating_stress="stress >= 0",
    edge_crush="stress > 0",
)
@_single
def fibre_composite(
    body_thickness: Any,
    armour_thickness: Any,
    armour_width: Any,
    compressibility: Any,
    recovery: Any,
    test_stress: Any,
    loading_exponent: Any,
    unloading_exponent: Any,
    body_crush: Any,
    edge_crush: Any,
    factor: Any,
    seating_stress: Any,
    web_width: Any,
    web_friction: Any,
    web_strength: Any,
) -> Made:
    """Fibre composite with an armoured bore edge.

    Body: stress S (e/e0)**n through the point (e0, S) of the compressibility test; back by the
    recovery share of the closure reached, stress falling as (1 - part come back)**k. The armour
    is folded over the body, stands proud by two thicknesses of its sheet and presses the same
    body on its width.

    Parameters
    ----------
    body_thickness : of the facing with its core, under preload [m]
    armour_thickness : of the sheet of the armour [m]
    armour_width : of the fold on the face [m]
    compressibility, recovery : shares as ASTM F36 defines them
    test_stress : S of that test [Pa]
    loading_exponent, unloading_exponent : n, k
    body_crush, edge_crush : stress at which the body, and the armoured edge, is damaged [Pa]
    factor : m
    seating_stress : y [Pa]
    web_width, web_friction, web_strength : web behind an unbacked edge [m], friction on each
        face, tensile strength of the sheet [Pa]

    Returns
    -------
    Made

    Raises
    ------
    InputError
        for a number out of range, or an unloading path above the loading curve.

    References
    ----------
    Definitions: ASTM F36. The shape of both curves is an assumption. Armour bending is left out.
    """
    sheet = (compressibility, recovery, test_stress, loading_exponent, unloading_exponent)
    edge = _fibre(body_thickness, *sheet, edge_crush)
    proud = 2.0 * armour_thickness
    seal = Zone(
        "armoured bore edge",
        "seal",
        "length",
        **_times(edge, armour_width),
        width=armour_width,
        free_thickness=body_thickness + proud,
        stands_proud=proud,
        seating=_seating(seating_stress, armour_width),
        factor=factor,
        crush=edge_crush * armour_width,
        source="body of the fibre composite under the width of the armour; "
        "m and y from the data of the construction",
    )
    body = _fibre_body(body_thickness, sheet, body_crush, 0.0)
    web = Edge(body_thickness, web_width, web_friction, web_strength)
    figures = {"closure at the test stress, m": compressibility * body_thickness}
    return Made("fibre composite", (seal, body), edge=web, figures=figures)


def _times(curves: dict[str, Any], width: float) -> dict[str, Any]:
    """Line loads from stresses on a width."""
    return {
        "closure": curves["closure"],
        "load": curves["load"] * width,
        "unloading": tuple((c, f * width) for c, f in curves["unloading"]),
    }


def _seating(stress: float, width: float) -> float:
    b = criteria.effective_width.si(criteria.basic_width.si(width))
    return float(criteria.seating_line_load.si(stress, b))


def _fibre_body(thickness: float, sheet: _Sheet, crush: float, proud: float) -> Zone:
    return Zone(
        "fibre body",
        "body",
        "area",
        **_fibre(thickness, *sheet, crush),
        free_thickness=thickness,
        stands_proud=proud,
        crush=crush,
        source="power law through the compressibility test (ASTM F36), its recovery on unloading",
    )


# --------------------------------------------------------------------------- steel layers
def _coat_strain(stress: Any, modulus: float, most: float) -> Any:
    """Strain of the coat: stress / (modulus + stress / greatest strain)."""
    s = np.asarray(stress, dtype=float)
    return s / (modulus + s / most)


@dataclass(frozen=True)
class _Stack:
    """Steel layers with their coats, as they lie on each other without any bead."""

    modulus: float
    poisson: float
    steel: float
    coat: float
    coat_modulus: float
    coat_most: float
    coat_back: float

    @property
    def thickness(self) -> float:
        return self.steel + self.coat

    def up(self, stress: Any) -> Any:
        steel = stress * self.steel / _strip_modulus(self.modulus, self.poisson)
        return steel + self.coat * _coat_strain(stress, self.coat_modulus, self.coat_most)

    def down(self, stress: Any, top: float) -> Any:
        steel = stress * self.steel / _strip_modulus(self.modulus, self.poisson)
        now, reached = (_coat_strain(s, self.coat_modulus, self.coat_most) for s in (stress, top))
        return steel + self.coat * (reached - self.coat_back * (reached - now))


def _bead_zone(
    name: str,
    role: str,
    stack: _Stack,
    legs: int,
    layers: int,
    thickness: float,
    span: float,
    height: float,
    strength: float,
    hardening: float,
    width: float,
) -> tuple[Zone, dict[str, float]]:
    stiffness = float(bead_stiffness.si(stack.modulus, stack.poisson, thickness, span, legs))
    plastic = float(bead_plastic_load.si(thickness, span, strength, legs))
    w, v = _strip_nodes(stiffness, plastic, hardening, _RATIOS)
    last = w[-1] + max(height, w[-1])
    w, v = np.append(w, last), np.append(v, v[-1] + hardening * stiffness * (last - w[-1]))
    flat = float(np.interp(height, w, v))
    inside = w < height * (1.0 - 1e-9)
    loads = np.concatenate([v[inside], flat * np.array([1.0, 1.25, 2.0, 4.0, 10.0, 30.0])])
    deflection = np.append(w[inside], height)
    known = np.append(v[inside], flat)

    def legs_at(load: Any) -> Any:
        return np.interp(load, known, deflection)

    closure = layers * legs_at(loads) + stack.up(loads / width)

    def down(levels: Array, top: float) -> Array:
        held = min(top, flat)
        back = np.maximum(held - levels, 0.0) / stiffness
        return layers * (legs_at(held) - back) + stack.down(levels / width, top / width)

    curves = _curves(loads, closure, down)
    zone = Zone(
        name,
        role,
        "length",
        **curves,
        width=width,
        free_thickness=stack.thickness + layers * height,
        stands_proud=layers * height,
        source="legs as clamped plane-strain strips with yielding ends, layers in series, "
        "coat and steel pressed flat after that",
    )
    figures = {
        "stiffness of one layer, N/m per m": stiffness,
        "plastic line load, N/m": plastic,
        "line load when flat, N/m": flat,
        "springback of all layers from flat, m": layers * flat / stiffness,
    }
    return zone, figures


def _flat_zone(stack: _Stack, crush: float) -> Zone:
    loads = crush * np.array([0.0, 0.01, 0.03, 0.08, 0.18, 0.4, 1.0, 1.3])
    curves = _curves(loads, stack.up(loads), stack.down)
    return Zone(
        "flat layers",
        "body",
        "area",
        **curves,
        free_thickness=stack.thickness,
        crush=crush,
        source="coat and steel layers pressed flat",
    )


_STEEL_KINDS = {
    "modulus": "modulus > 0",
    "poisson": "number 0..0.49",
    "yield_strength": "stress > 0",
    "tensile_strength": "stress > 0",
    "elongation": "fraction 0.001..1",
    "active_layers": "number 1..6",
    "layer_thickness": "length > 0",
    "spacer_thickness": "length >= 0",
    "bead_span": "length > 0",
    "bead_height": "length > 0",
    "bead_contact": "length > 0",
    "bead_factor": "number >= 0",
    "bead_seating": "line load >= 0",
    "half_bead_span": "length > 0",
    "half_bead_height": "length > 0",
    "half_bead_contact": "length > 0",
    "half_bead_factor": "number >= 0",
    "half_bead_seating": "line load >= 0",
    "coats": "number 0..20",
    "coat_thickness": "length >= 0",
    "coat_modulus": "modulus > 0",
    "coat_compressibility": "fraction 0.001..1",
    "coat_recovery": "fraction 0..1",
    "coat_missing": "length >= 0",
    "body_crush": "stress > 0",
}


def _steel_layers(name: str, stopper: tuple[float, float, float] | None, **p: Any) -> Made:
    layers = _whole(p["active_layers"], "active_layers")
    coats = _whole(p["coats"], "coats")
    coat = coats * p["coat_thickness"]
    if p["coat_missing"] > coat:
        raise fail(
            "coat_missing", f"{p['coat_missing']:g} m", f"at most all of the coat, {coat:g} m"
        )
    hardening = float(
        hardening_share.si(
            p["modulus"], p["yield_strength"], p["tensile_strength"], p["elongation"]
        )
    )
    stack = _Stack(
        p["modulus"],
        p["poisson"],
        layers * p["layer_thickness"] + p["spacer_thickness"],
        coat,
        p["coat_modulus"],
        p["coat_compressibility"],
        p["coat_recovery"],
    )
    worn = replace(stack, coat=coat - p["coat_missing"])
    sheet = (layers, p["layer_thickness"])
    steel = (p["yield_strength"], hardening)
    bead, figures = _bead_zone(
        "combustion bead",
        "seal",
        worn,
        FULL_BEAD_LEGS,
        *sheet,
        p["bead_span"],
        p["bead_height"],
        *steel,
        p["bead_contact"],
    )
    half, _ = _bead_zone(
        "half bead at the liquid holes",
        "liquid",
        stack,
        HALF_BEAD_LEGS,
        *sheet,
        p["half_bead_span"],
        p["half_bead_height"],
        *steel,
        p["half_bead_contact"],
    )
    lost = p["coat_missing"]
    bead = replace(
        bead,
        stands_proud=bead.stands_proud - lost,
        seating=p["bead_seating"],
        factor=p["bead_factor"],
    )
    half = replace(half, seating=p["half_bead_seating"], factor=p["half_bead_factor"])
    zones = [bead]
    if stopper is not None:
        added, width, crush = stopper
        if added >= layers * p["bead_height"]:
            raise fail(
                "stopper_thickness",
                f"{added:g} m",
                f"less than the beads stand up, {layers * p['bead_height']:g} m",
            )
        thick = replace(worn, steel=worn.steel + added)
        loads = crush * np.array([0.0, 0.01, 0.04, 0.1, 0.25, 0.5, 1.0, 1.3])
        curves = _curves(loads, thick.up(loads), thick.down)
        zones.append(
            Zone(
                "stopper",
                "seal",
                "length",
                **_times(curves, width),
                width=width,
                free_thickness=thick.thickness,
                stands_proud=added - lost,
                crush=crush * width,
                source="coat and steel layers with the fold pressed flat",
            )
        )
        figures["closure left to the bead before the stopper takes load, m"] = (
            layers * p["bead_height"] - added
        )
    return Made(name, (*zones, _flat_zone(stack, p["body_crush"]), half), figures=figures)


@with_units(**_STEEL_KINDS)
@_single
def multi_layer_steel(
    modulus: Any,
    poisson: Any,
    yield_strength: Any,
    tensile_strength: Any,
    elongation: Any,
    active_layers: Any,
    layer_thickness: Any,
    spacer_thickness: Any,
    bead_span: Any,
    bead_height: Any,
    bead_contact: Any,
    bead_factor: Any,
    bead_seating: Any,
    half_bead_span: Any,
    half_bead_height: Any,
    half_bead_contact: Any,
    half_bead_factor: Any,
    half_bead_seating: Any,
    coats: Any,
    coat_thickness: Any,
    coat_modulus: Any,
    coat_compressibility: Any,
    coat_recovery: Any,
    body_crush: Any,
    coat_missing: Any = 0.0,
) -> Made:
    """Multi-layer embossed steel with an elastomer coat.

    Every active layer carries the whole line load and their closures add. A bead is elastic, then
    yields at the ends of its legs, then lies flat at its height; after that coat and steel are
    pressed. Back from there each layer springs by its line load over its stiffness.

    Parameters
    ----------
    modulus, poisson, yield_strength, tensile_strength, elongation : of the spring steel
    active_layers : layers with beads
    layer_thickness, spacer_thickness : of one active layer, of all plain layers together [m]
    bead_span, bead_height : span of one leg, height of one bead [m]
    bead_contact : width of the contact along the crest [m]
    bead_factor : residual contact stress wanted over gas pressure
    bead_seating : line load at which the bead seals at all [N/m]
    half_bead_... : the same of the half beads at the liquid holes
    coats, coat_thickness : coated faces in the stack, thickness on one face [m]
    coat_modulus, coat_compressibility : stress over strain at first [Pa], greatest strain
    coat_recovery : share of the coat's strain that comes back
    body_crush : stress at which flat layers and coat are damaged [Pa]
    coat_missing : coat lost from the stack at the bore, all faces together [m]

    Returns
    -------
    Made

    Raises
    ------
    InputError
        for a number out of range, or more coat missing than there is.

    References
    ----------
    `bead_load`, `bead_stiffness`; the coat's law is an assumption.
    """
    return _steel_layers("multi-layer steel", None, **_given(locals()))


@with_units(
    **_STEEL_KINDS,
    stopper_thickness="length > 0",
    stopper_width="length > 0",
    stopper_crush="stress > 0",
)
@_single
def stopper_steel(
    modulus: Any,
    poisson: Any,
    yield_strength: Any,
    tensile_strength: Any,
    elongation: Any,
    active_layers: Any,
    layer_thickness: Any,
    spacer_thickness: Any,
    bead_span: Any,
    bead_height: Any,
    bead_contact: Any,
    bead_factor: Any,
    bead_seating: Any,
    half_bead_span: Any,
    half_bead_height: Any,
    half_bead_contact: Any,
    half_bead_factor: Any,
    half_bead_seating: Any,
    coats: Any,
    coat_thickness: Any,
    coat_modulus: Any,
    coat_compressibility: Any,
    coat_recovery: Any,
    body_crush: Any,
    stopper_thickness: Any,
    stopper_width: Any,
    stopper_crush: Any,
    coat_missing: Any = 0.0,
) -> Made:
    """Multi-layer embossed steel with a folded stopper layer at the bore.

    As `multi_layer_steel`; the fold adds thickness next to the bead, takes clamp as soon as the
    bead has come down to it, and leaves the bead only part of its height to work in.

    Parameters
    ----------
    stopper_thickness : thickness that the fold adds [m]
    stopper_width : width of the fold [m]
    stopper_crush : stress at which the fold is damaged [Pa]
    others : as `multi_layer_steel`

    Returns
    -------
    Made

    Raises
    ------
    InputError
        for a number out of range, or a stopper as thick as the beads are high.

    References
    ----------
    As `multi_layer_steel`.
    """
    given = _given(locals())
    stopper = tuple(given.pop(f"stopper_{k}") for k in ("thickness", "width", "crush"))
    return _steel_layers("multi-layer steel with stopper", stopper, **given)


def _given(names: Mapping[str, Any]) -> dict[str, Any]:
    return {k: v if isinstance(v, str) else float(v) for k, v in names.items()}


# --------------------------------------------------------------------------- ridged ring
@with_units(
    **_FIBRE_KINDS,
    ring_thickness="length > 0",
    ring_width="length > 0",
    ridges="number 1..12",
    ridge_radius="length > 0",
    ridge_height="length > 0",
    seating_bite="length > 0",
    deck_depth="length > 0",
    factor="number >= 0",
)
@_single
def fibre_steel_ring(
    body_thickness: Any,
    ring_thickness: Any,
    ring_width: Any,
    ridges: Any,
    ridge_radius: Any,
    ridge_height: Any,
    ring_material: str,
    head_material: str,
    block_material: str,
    deck_depth: Any,
    seating_bite: Any,
    factor: Any,
    compressibility: Any,
    recovery: Any,
    test_stress: Any,
    loading_exponent: Any,
    unloading_exponent: Any,
    body_crush: Any,
    web_width: Any,
    web_friction: Any,
    web_strength: Any,
) -> Made:
    """Fibre body with a solid ridged steel ring at the bore.

    Each ridge bites at the mean indentation pressure of the softer of ring and face,
    q = ridges 2 a H; both faces and the elastic parts are in series. Only the elastic part (under
    the ridges, under the ring as a strip, and of the ring itself) comes back. The body is thicker
    than the ring and works as a cushion.

    Parameters
    ----------
    body_thickness, ring_thickness : free; ring over its ridges [m]
    ring_width : [m]
    ridges, ridge_radius, ridge_height : on each face; radius of the tip and height [m]
    ring_material, head_material, block_material : rows of the flow table
    deck_depth : depth of metal behind each face that the line load squeezes [m]
    seating_bite : bite into the harder contact that fills the roughness [m]
    factor : m, on the width of the buried ridges
    others : of the body, as `fibre_composite`

    Returns
    -------
    Made

    Raises
    ------
    InputError
        for a number out of range, ridges higher than their radius, or an unknown material.

    References
    ----------
    `flow.bite`, `flow.elastic_approach`. Crush is the load at which the ridges of the softer
    contact are buried.
    """
    count = _whole(ridges, "ridges")
    for name, value, most, what in (
        ("ridge_height", ridge_height, ridge_radius, "the radius of the tip"),
        ("ridge_height", 2.0 * ridge_height, ring_thickness, "the thickness of the ring"),
        ("seating_bite", seating_bite, ridge_height, "the height of the ridges"),
    ):
        if value > most:
            raise fail(name, f"{value:g} m", f"at most {what}, {most:g} m")
    ring = flow.indentation_pressure.si(ring_material)
    faces = {
        "head_material": head_material,
        "block_material": block_material,
    }
    hard = [min(flow.indentation_pressure.si(m), ring) for m in faces.values()]
    buried = float(flow.contact_half_width.si(ridge_height, ridge_radius))
    full = [count * 2.0 * buried * h for h in hard]
    last = min(full)
    modulus, poisson = _material("steel", "ring_material")
    give = ring_thickness / (ring_width * _strip_modulus(modulus, poisson))
    for argument, material in faces.items():
        elastic = _material(material, argument)
        give += flow.elastic_approach.si(1.0 / count, buried, ring_width / count / 2.0, *elastic)
        give += flow.elastic_approach.si(1.0, ring_width / 2.0, deck_depth, *elastic)
    loads = last * np.array([0.0, 0.08, 0.18, 0.3, 0.42, 0.55, 0.68, 0.8, 0.9, 1.0, 1.4])
    bites = sum(flow.bite.si(np.minimum(loads, last) / count, h, ridge_radius) for h in hard)
    closure = np.asarray(bites, dtype=float) + give * loads

    def down(levels: Array, top: float) -> Array:
        return float(np.interp(top, loads, closure)) - give * (top - levels)

    curves = _curves(loads, closure, down)
    seat = count * 2.0 * float(flow.contact_half_width.si(seating_bite, ridge_radius)) * max(hard)
    contact = count * 2.0 * buried
    seal = Zone(
        "steel ring",
        "seal",
        "length",
        **curves,
        width=contact,
        free_thickness=ring_thickness,
        stands_proud=0.0,
        seating=min(seat, 0.95 * last),
        factor=factor,
        crush=last,
        source="bite of round ridges at constant indentation pressure; "
        "m from the data of the construction",
    )
    sheet = (compressibility, recovery, test_stress, loading_exponent, unloading_exponent)
    body = _fibre_body(body_thickness, sheet, body_crush, body_thickness - ring_thickness)
    figures = {
        "indentation pressure at the head, Pa": hard[0],
        "indentation pressure at the block, Pa": hard[1],
        "line load that buries the ridges, N/m": last,
        "springback at that load, m": give * last,
    }
    edge = Edge(body_thickness, web_width, web_friction, web_strength)
    return Made("fibre body with steel ring", (seal, body), edge=edge, figures=figures)


# --------------------------------------------------------------------------- copper
def _copper(temper: str) -> tuple[float, float, float, float, float]:
    """Strength, exponent, cold work, indentation pressure and tensile strength of a temper."""
    row = tables.load("flow").get(temper, "temper")
    if row["strength"] is None or row["hardness_scale"] != "HV":
        raise fail("temper", temper, "a copper with flow curve and hardness in the flow table")
    k, n = float(row["strength"]), float(row["exponent"])
    cold = float(flow.prestrain_of_hardness.si(row["hardness"], k, n))
    return k, n, cold, flow.indentation_pressure.si(temper), float(row["tensile"])


def _sheet_curves(thickness: float, roughness: float, temper: str) -> dict[str, Any]:
    """Stress curves of a solid copper sheet between two faces.

    The high spots of the faces press in; the share of area in contact grows with the square of
    the closure, at the indentation pressure. The sheet itself only gives elastically.
    """
    hard, tensile = _copper(temper)[3:]
    give = thickness / flow.confined_modulus.si(*_material("copper, annealed", "temper"))
    loads = tensile * np.array([0.0, 0.01, 0.04, 0.1, 0.2, 0.35, 0.6, 1.0, 1.3])
    closure = roughness * np.sqrt(loads / hard) + give * loads

    def down(levels: Array, top: float) -> Array:
        return float(np.interp(top, loads, closure)) - give * (top - levels)

    return _curves(loads, closure, down)


def _copper_body(thickness: float, roughness: float, temper: str) -> Zone:
    return Zone(
        "copper sheet",
        "body",
        "area",
        **_sheet_curves(thickness, roughness, temper),
        free_thickness=thickness,
        crush=_copper(temper)[4],
        source="high spots pressed in at the indentation pressure, elastic sheet; "
        "crush at the tensile strength",
    )


@with_units(
    sheet_thickness="length > 0",
    roughness="length > 0",
    land_width="length > 0",
    factor="number >= 0",
    seating_stress="stress >= 0",
)
@_single
def copper_sheet(
    sheet_thickness: Any,
    temper: str,
    roughness: Any,
    land_width: Any,
    factor: Any,
    seating_stress: Any,
) -> Made:
    """Solid copper sheet, bare.

    The faces' high spots press into the copper; what comes back is elastic only, below a
    micrometre.

    Parameters
    ----------
    sheet_thickness : [m]
    temper : row of the flow table, such as "copper, annealed" or "copper, hard"
    roughness : of both faces together, peak to valley [m]
    land_width : width round the bore that counts as seal [m]
    factor, seating_stress : m, y [Pa]

    Returns
    -------
    Made

    Raises
    ------
    InputError
        for a number out of range, or an unknown temper.

    References
    ----------
    `flow.indentation_pressure`, `flow.confined_modulus`; how the contact grows is an assumption.
    """
    hard, tensile = _copper(temper)[3:]
    seal = Zone(
        "copper at the bore",
        "seal",
        "length",
        **_times(_sheet_curves(sheet_thickness, roughness, temper), land_width),
        width=land_width,
        free_thickness=sheet_thickness,
        seating=_seating(seating_stress, land_width),
        factor=factor,
        crush=tensile * land_width,
        source="copper sheet on the land round the bore; m and y from the data of the construction",
    )
    body = _copper_body(sheet_thickness, roughness, temper)
    return Made("copper sheet", (seal, body), figures={"indentation pressure, Pa": hard})


@with_units(
    sheet_thickness="length > 0",
    roughness="length > 0",
    wire_diameter="length > 0",
    protrusion="length > 0",
    receiver_width="length >= 0",
    receiver_depth="length >= 0",
    pile_up="area >= 0",
    deck_depth="length > 0",
    formed_share="fraction 0.01..1",
    factor="number >= 0",
)
@_single
def copper_wire_ring(
    sheet_thickness: Any,
    temper: str,
    roughness: Any,
    wire_diameter: Any,
    protrusion: Any,
    groove_material: str,
    receiver_material: str,
    deck_depth: Any,
    receiver_width: Any,
    receiver_depth: Any,
    pile_up: Any,
    formed_share: Any,
    factor: Any,
) -> Made:
    """Copper sheet with a wire ring in one face and a receiver groove in the other.

    The wire flows into the copper at q = 2 a C sigma and beds into the bottom of its groove at
    the face's indentation pressure; both in series. Copper pushed out has to find room in the
    receiver and beside the wire; once that is full the sheet can only give elastically. Copper
    and both faces come back elastically; the load reaches the face opposite through the sheet.

    Parameters
    ----------
    sheet_thickness : [m]
    temper : row of the flow table, such as "copper, annealed" or "copper, hard"
    roughness : of both faces together, peak to valley [m]
    wire_diameter, protrusion : of the wire, and how far it stands out of its face [m]
    groove_material, receiver_material : of the face that holds the wire and of the face
        opposite, rows of the flow table
    deck_depth : depth of metal behind each face that the line load squeezes [m]
    receiver_width, receiver_depth : of the groove opposite; 0 for none [m]
    pile_up : cross-section of copper that finds room beside the wire [m**2]
    formed_share : part of the protrusion that has to be formed for the ring to seal
    factor : m, on the width of the contact

    Returns
    -------
    Made

    Raises
    ------
    InputError
        for a number out of range, a wire that stands out by more than its radius, no room for
        copper at all, or an unknown material.

    References
    ----------
    `flow.wire_line_load`, `flow.bite`, `flow.displaced_area`. Crush is the load at which the wire
    is half buried in copper or groove. Bending of the sheet into the receiver is left out.
    """
    radius = wire_diameter / 2.0
    if protrusion > radius:
        raise fail("protrusion", f"{protrusion:g} m", f"at most half the wire, {radius:g} m")
    k, n, cold, _, _ = _copper(temper)
    face = flow.indentation_pressure.si(groove_material)
    held = 2.0 * radius * face
    room = receiver_width * receiver_depth + pile_up
    if room <= 0:
        raise fail("pile_up", "0 m**2 and no receiver", "room for the copper that is pushed out")
    depth = radius * np.linspace(0.0, 1.0, 600) ** 2
    area = flow.displaced_area.si(depth, radius)
    load = flow.wire_line_load.si(depth, radius, k, n, cold)
    filled = float(np.interp(room, area, depth)) if room < area[-1] else float("inf")
    # the copper gives until its room is full, the wire is half in, or the groove gives way
    deepest = min(filled, radius)
    if load[-1] > 0.999 * held:
        deepest = min(deepest, float(np.interp(0.999 * held, load, depth)))
    half = float(flow.contact_half_width.si(min(deepest, protrusion), radius))
    copper = _material("copper, annealed", "temper")
    give = flow.elastic_approach.si(1.0, half, sheet_thickness, *copper)
    give += flow.elastic_approach.si(
        1.0, half, deck_depth, *_material(groove_material, "groove_material")
    )
    give += flow.elastic_approach.si(
        1.0, half + sheet_thickness, deck_depth, *_material(receiver_material, "receiver_material")
    )
    d = deepest * np.array([0.0, 0.004, 0.02, 0.06, 0.13, 0.24, 0.38, 0.54, 0.72, 0.88, 1.0])
    q = flow.wire_line_load.si(d, radius, k, n, cold)
    closure = d + flow.bite.si(q, face, radius) + give * q
    end = float(q[-1])
    last = end
    if filled <= deepest:
        # no room left: the sheet under the wire is pressed as it is, the groove bites on
        last = max(0.999 * held, 1.001 * end)
        more = np.linspace(end, last, 7)[1:]
        stiff = flow.confined_modulus.si(*copper) * 2.0 * half / sheet_thickness
        bites = flow.bite.si(more, face, radius) - flow.bite.si(end, face, radius)
        closure = np.append(closure, closure[-1] + bites + (more - end) * (1.0 / stiff + give))
        q = np.append(q, more)
    # wire or groove gives way at this load until the faces meet
    closure = np.append(closure, closure[-1] + radius)
    q = np.append(q, 1.01 * last)
    q[0] = closure[0] = 0.0

    def down(levels: Array, top: float) -> Array:
        return float(np.interp(top, q, closure)) - give * (top - levels)

    curves = _curves(q, closure, down)
    crush = min(held, float(load[-1]))
    seat = float(np.interp(formed_share * protrusion, closure, q))
    seal = Zone(
        "wire in copper",
        "seal",
        "length",
        **curves,
        width=2.0 * half,
        free_thickness=sheet_thickness + protrusion,
        stands_proud=protrusion,
        seating=min(seat, 0.95 * crush),
        factor=factor,
        crush=crush,
        source="wire into copper by its flow curve and into its groove by hardness, in series; "
        "m from the data of the construction",
    )
    formed = float(np.interp(protrusion, closure[: len(d)], d))
    pushed = float(flow.displaced_area.si(formed, radius))
    figures = {
        "line load with the faces together, N/m": float(np.interp(protrusion, closure, q)),
        "copper formed with the faces together, m": formed,
        "wire bedded into its groove, m": protrusion - formed,
        "displaced area, m**2": pushed,
        "receiver area, m**2": receiver_width * receiver_depth,
        "room filled, share": pushed / room,
        "springback at that load, m": give * float(np.interp(protrusion, closure, q)),
    }
    body = _copper_body(sheet_thickness, roughness, temper)
    return Made("copper with wire ring", (seal, body), figures=figures)


# --------------------------------------------------------------------------- by name
_BUILDERS: dict[str, UnitFunction] = {
    "fibre composite": fibre_composite,
    "multi-layer steel": multi_layer_steel,
    "multi-layer steel with stopper": stopper_steel,
    "fibre body with steel ring": fibre_steel_ring,
    "copper with wire ring": copper_wire_ring,
    "copper sheet": copper_sheet,
}


_NOTES = {
    "fibre composite": "soft fibre facing on a steel core, folded armour at the bore edge",
    "multi-layer steel": "embossed spring-steel layers with elastomer coat, no stopper",
    "multi-layer steel with stopper": "as multi-layer steel, with a folded layer at the bore that "
    "takes clamp and keeps the bead from being flattened",
    "fibre body with steel ring": "soft body that cushions, solid ridged steel ring at the bore "
    "that bites",
    "copper with wire ring": "copper sheet, wire ring in one face and receiver groove in the other",
    "copper sheet": "solid copper sheet between plain faces",
}


@dataclass(frozen=True)
class Parameter:
    """One parameter of a construction, as the table has it."""

    name: str
    value: str
    source: str
    status: str
    note: str


def names() -> list[str]:
    """Names of the constructions that can be worked out."""
    return sorted(_BUILDERS)


@functools.cache
def parameters(name: str) -> dict[str, Parameter]:
    """Parameters of a construction by name, each with value, source and status.

    Raises
    ------
    InputError
        if no construction has this name.
    """
    _builder(name)
    out = {}
    for row in tables.load("constructions").rows:
        if row["construction"] == name:
            out[row["parameter"]] = Parameter(
                row["parameter"], row["value"], row["source"], row["status"], row["note"]
            )
    return out


def _builder(name: str) -> UnitFunction:
    if name not in _BUILDERS:
        raise fail(
            "gasket.construction", name, "one of " + ", ".join(names()) + near(name, _BUILDERS)
        )
    return _BUILDERS[name]


def make(name: str, **overrides: Any) -> Made:
    """A construction worked out from the table of parameters, with some of them changed.

    Parameters
    ----------
    name : such as "multi-layer steel"
    **overrides : parameters of the construction, as quantities or text with unit

    Returns
    -------
    Made; its zones carry the weakest status among the parameters taken from the table

    Raises
    ------
    InputError
        for an unknown construction or parameter, or a value out of range.

    References
    ----------
    Table ``constructions``.
    """
    changes = tuple(sorted(overrides.items()))
    try:
        hash(changes)
    except TypeError:  # a value that cannot be kept
        return _make.__wrapped__(name, changes)
    return _make(name, changes)


@functools.lru_cache(maxsize=128)
def _make(name: str, changes: tuple[tuple[str, Any], ...]) -> Made:
    builder = _builder(name)
    rows = parameters(name)
    faults = [
        Fault(key, short(value), f"a parameter of {name}: {', '.join(rows)}{near(key, rows)}")
        for key, value in changes
        if key not in rows
    ]
    if faults:
        raise InputError(faults)
    given = {key: _read(row.value) for key, row in rows.items()} | dict(changes)
    made: Made = builder(**given)
    changed = {key for key, _ in changes}
    order = list(tables.STATUSES)
    weakest = max(
        [
            order.index("computed"),
            *(order.index(r.status) for k, r in rows.items() if k not in changed),
        ]
    )
    zones = tuple(replace(z, status=order[weakest]) for z in made.zones)
    return replace(made, zones=zones, note=_NOTES[name])


def _read(text: str) -> Any:
    """A cell of the table: a plain number as such, anything else as text."""
    try:
        return float(text)
    except ValueError:
        return text


# --------------------------------------------------------------------------- measured
_HEAD = re.compile(r"\s*(closure|load)\s*[\[(]\s*(.+?)\s*[\])]\s*\Z", re.IGNORECASE)


def measured(
    points: Any,
    load: ArrayLike | None = None,
    *,
    unloading: Sequence[tuple[ArrayLike, ArrayLike]] = (),
    closure_unit: str | None = None,
    load_unit: str | None = None,
    name: str = "measured",
    role: str | None = None,
    source: str = "own measurement",
    status: str = "invented",
    **fields: Any,
) -> Zone:
    """A zone from load-deflection points of one's own, with hysteresis.

    Parameters
    ----------
    points : path of a CSV file, its text, or the closures of the loading branch. The file has the
        columns ``closure [um]``, ``load [N/mm]`` (any unit of length; a line load or a stress)
        and, for hysteresis, ``branch``: "loading", "unloading", or "unloading 1", "unloading 2"
        and so on, each in the order in which it was run
    load : loads of the loading branch, where `points` are closures
    unloading : pairs of closures and loads, each on the way back
    closure_unit, load_unit : units of lists without units
    name, role : of the zone; role "seal" for a line load and "body" for a stress if not given
    source, status : where the points come from
    **fields : further fields of a zone: width, free_thickness, stands_proud (text with unit),
        seating, crush (in the unit of the load), factor, note

    Returns
    -------
    Zone; without an unloading branch it comes back the way it went

    Raises
    ------
    InputError
        naming the first thing wrong: too few points, points out of order, wrong or missing units,
        an unloading branch that does not belong to the loading curve.

    Notes
    -----
    A first point at 0, 0 is added if it is missing. An unloading branch that starts below the
    last loading point is joined to it; one that ends above load 0 goes on straight to it.
    """
    if isinstance(points, (str, Path)):
        if load is not None:
            raise fail("load", "loads beside a file", "loads in the file, or closures as a list")
        up, back, closure_unit, load_unit = _read_points(points)
    else:
        if load is None:
            raise fail("load", "nothing", "as many loads as closures")
        c, closure_unit = _plain(points, closure_unit, "closure")
        f, load_unit = _plain(load, load_unit, "load")
        up = (c, f)
        back = [
            (_plain(x, closure_unit, "unloading")[0], _plain(y, load_unit, "unloading")[0])
            for x, y in unloading
        ]
    per = _per(load_unit)
    c, f = up
    if len(c) != len(f):
        raise fail("load", f"{len(f)} loads", f"{len(c)}, as many as closures")
    if len(c) < 2:
        raise fail("closure", f"{len(c)} point", "two or more points of the loading branch")
    if not (np.all(np.isfinite(c)) and np.all(np.isfinite(f))):
        raise fail("closure", "a point that is not a number", "numbers only")
    if np.any(np.diff(c) <= 0):
        i = int(np.argmax(np.diff(c) <= 0)) + 1
        raise fail(
            "closure",
            f"{c[i]:g} after {c[i - 1]:g} {closure_unit}",
            "closures that rise on the loading branch; put the way back under unloading",
        )
    if np.any(np.diff(f) < 0):
        i = int(np.argmax(np.diff(f) < 0)) + 1
        raise fail("load", f"{f[i]:g} after {f[i - 1]:g} {load_unit}", "loads that never fall")
    if c[0] < 0 or f[0] < 0:
        raise fail("closure", f"a first point at {c[0]:g}, {f[0]:g}", "points from 0, 0 on")
    if c[0] == 0 and f[0] > 0:
        raise fail("load", f"{f[0]:g} {load_unit} at closure 0", "a loading branch from 0, 0 on")
    if c[0] > 0:
        c, f = np.append(0.0, c), np.append(0.0, f)
    if f[-1] <= 0:
        raise fail("load", "no load at all", "loads above zero")
    raw: dict[str, Any] = {
        "name": name,
        "role": role or ("seal" if per == "length" else "body"),
        "per": per,
        "closure_unit": closure_unit,
        "load_unit": load_unit,
        "closure": c.tolist(),
        "load": f.tolist(),
        "unloading": [
            dict(zip(("closure", "load"), _whole_way(x, y, c, f, len(back) == 1), strict=True))
            for x, y in back
        ],
        "source": source,
        "status": status,
        **fields,
    }
    zones, faults = read_zones([raw], name)
    if not zones:
        first = faults[0]
        raise InputError(Fault(first.field.replace(f"{name}[1].", ""), first.came, first.wanted))
    return zones[0]


def _whole_way(x: Array, y: Array, c: Array, f: Array, alone: bool) -> tuple[Any, Any]:
    """An unloading branch from the loading curve down to no load."""
    if len(x) != len(y) or len(x) < 1:
        raise fail("unloading", f"{len(x)} closures and {len(y)} loads", "as many of both")
    on = float(np.interp(x[0], c, f))
    if alone and x[0] < c[-1] and not np.isclose(y[0], on, rtol=0.01):
        x, y = np.append(c[-1], x), np.append(f[-1], y)
    if y[-1] > 0:
        slope = (y[-2] - y[-1]) / (x[-2] - x[-1]) if len(x) > 1 and x[-2] > x[-1] else 0.0
        end = x[-1] - y[-1] / slope if slope > 0 else -1.0
        if end < 0:
            raise fail("unloading", f"a last load of {y[-1]:g}", "a branch that comes down to 0")
        x, y = np.append(x, end), np.append(y, 0.0)
    return x.tolist(), y.tolist()


def _plain(values: Any, unit: str | None, what: str) -> tuple[Array, str]:
    """Numbers and their unit; quantities bring their own."""
    if hasattr(values, "units"):
        own = f"{values.units:~}"
        if unit is None:
            return np.atleast_1d(np.asarray(values.magnitude, dtype=float)), own
        try:
            values = values.to(unit).magnitude
        except Exception as err:
            raise fail(what, f"numbers in {own}", f"numbers in {unit}") from err
    if unit is None:
        example = '"um"' if what == "closure" else '"N/mm" or "MPa"'
        raise fail(f"{what}_unit", "nothing", f"the unit of the {what}, such as {example}")
    try:
        out = np.asarray(values, dtype=float)
    except (TypeError, ValueError) as err:
        raise fail(what, short(values), "a list of numbers") from err
    if out.ndim != 1:
        raise fail(what, short(values), "a list of numbers")
    return out, unit


def _per(unit: str) -> str:
    """Whether a unit is a line load or a stress."""
    for kind, per in (("line load", "length"), ("stress", "area")):
        try:
            to_si(Q(1.0, unit), kind)
        except InputError:
            continue
        except Exception:
            break
        return per
    raise fail("load", f'the unit "{unit}"', 'a line load such as "N/mm" or a stress such as "MPa"')


def _read_points(given: str | Path) -> tuple[Any, Any, str, str]:
    """Loading branch, unloading branches and units of a CSV file or its text."""
    text = str(given)
    if isinstance(given, Path) or not {"\n", "\r"} & set(text):
        try:
            path = Path(given)
            if path.stat().st_size > _MOST_BYTES:
                raise fail("points", str(given), f"a file of at most {_MOST_BYTES} bytes")
            text = path.read_text(encoding="utf-8-sig")
        except InputError:
            raise
        except (OSError, ValueError) as err:
            raise fail("points", str(given), "a CSV file that can be read") from err
    try:
        rows = [
            r for r in csv.reader(io.StringIO(text, newline="")) if any(cell.strip() for cell in r)
        ]
    except csv.Error as err:
        raise fail("points", short(text, 30), "plain CSV text") from err
    if len(rows) > _MOST_ROWS:
        raise fail("points", f"{len(rows)} rows", f"at most {_MOST_ROWS}")
    heads = rows[0] if rows else []
    units: dict[str, tuple[int, str]] = {}
    branch = None
    for i, head in enumerate(heads):
        match = _HEAD.match(head)
        if match:
            units[match[1].lower()] = (i, match[2])
        elif head.strip().lower() == "branch":
            branch = i
    for want, example in (("closure", "closure [um]"), ("load", "load [N/mm]")):
        if want not in units:
            raise fail(
                "points", ", ".join(heads) or "an empty file", f'a column headed "{example}"'
            )
    found: dict[str, list[tuple[float, float]]] = {}
    for number, row in enumerate(rows[1:], start=2):
        word = "loading"
        try:
            pair = (float(row[units["closure"][0]]), float(row[units["load"][0]]))
            if branch is not None:
                word = " ".join(row[branch].lower().split()) or "loading"
        except (ValueError, IndexError) as err:
            raise fail(f"points line {number}", ", ".join(row), "a closure and a load") from err
        if word != "loading" and not re.fullmatch(r"unloading( \d+)?", word):
            raise fail(f"points line {number}, branch", word, '"loading" or "unloading"')
        found.setdefault(word, []).append(pair)
    up = np.array(found.pop("loading", []), dtype=float).reshape(-1, 2)
    back = [(np.array(p)[:, 0], np.array(p)[:, 1]) for p in found.values()]
    unit = units["closure"][1]
    try:
        to_si(Q(1.0, unit), "length")
    except Exception as err:
        raise fail("closure", f'the unit "{unit}"', 'a length such as "um"') from err
    return (up[:, 0], up[:, 1]), back, unit, units["load"][1]
