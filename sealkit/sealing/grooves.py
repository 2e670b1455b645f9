"""Wire rings in copper: wire, groove, protrusion, receiver, forming load, and a drawing to scale.

A wire held in a groove of one face stands proud by its protrusion and presses a furrow into
the copper sheet; a receiver groove in the other face takes the copper that is pushed out. Plastic
flow keeps volume, so the displaced area must find room in the receiver. The load is that of a
flat-backed copper sheet (slip-line pressure on the furrow): an upper figure where a receiver lets
the copper bend away, and good to a factor of about 1.5.
"""

from __future__ import annotations

import dataclasses
import functools
import hashlib
import html
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
import pint

from sealkit import tables
from sealkit.errors import Fault, InputError, fail
from sealkit.sealing import flow
from sealkit.units import UnitFunction, field, quantify, show, to_si, with_units

__all__ = [
    "GrooveFaces",
    "Practice",
    "WireRing",
    "drawing",
    "face_hardness",
    "forming_force",
    "forming_line_load",
    "groove_faces",
    "indentation_at",
    "interference_width",
    "practice",
    "protrusion",
    "receiver_area",
    "wire_ring",
]

# how far the model of the forming load is to be trusted, either way
MODEL_SPREAD = 1.5
TEMPERS = ("annealed", "half hard", "hard")
_BALL = 0.010


# --------------------------------------------------------------------------- sizes
@with_units(returns="length", wire_diameter="length > 0", groove_depth="length > 0")
def protrusion(wire_diameter: Any, groove_depth: Any) -> Any:
    """How far the wire stands proud: wire diameter - groove depth.

    Parameters
    ----------
    wire_diameter, groove_depth : [m]

    Returns
    -------
    protrusion [m]; negative if the groove swallows the wire

    Raises
    ------
    InputError
        for a size not above zero.
    """
    return np.asarray(wire_diameter, dtype=float) - groove_depth


@with_units(returns="length", wire_diameter="length > 0")
def interference_width(wire_diameter: Any) -> Any:
    """Width of a groove that holds its wire by interference: middle of the shop's figures.

    Parameters
    ----------
    wire_diameter : [m]

    Returns
    -------
    groove width [m]

    Raises
    ------
    InputError
        for a diameter not above zero.

    References
    ----------
    Row "groove width" of the table grooves: 0.039 to 0.040 in for a wire of 0.041 in.
    """
    row = tables.load("grooves")["groove width"]
    return 0.5 * (row["share_low"] + row["share_high"]) * np.asarray(wire_diameter, dtype=float)


@with_units(returns="area", width="length >= 0", depth="length >= 0")
def receiver_area(width: Any, depth: Any) -> Any:
    """Room in a square-cornered receiver per length: width x depth.

    Parameters
    ----------
    width, depth : [m]

    Returns
    -------
    area [m**2]

    Raises
    ------
    InputError
        for a negative size.
    """
    return np.asarray(width, dtype=float) * depth


# --------------------------------------------------------------------------- load
def _copper(temper: str) -> tuple[float, float, float]:
    """Strength, exponent and prestrain of the flow curve of copper in this temper."""
    if temper not in TEMPERS:
        raise fail("temper", temper, "one of " + ", ".join(TEMPERS))
    row = tables.load("flow")[f"copper, {temper}"]
    strength, exponent = row["strength"], row["exponent"]
    if temper == "annealed":
        return strength, exponent, 0.0
    return (
        strength,
        exponent,
        float(flow.prestrain_of_hardness.si(row["hardness"], strength, exponent)),
    )


@with_units(returns="line load", wire_diameter="length > 0", indentation="length >= 0")
def forming_line_load(wire_diameter: Any, indentation: Any, temper: str = "annealed") -> Any:
    """Load per length of wire to press it into copper to this depth: `flow.wire_line_load`.

    Parameters
    ----------
    wire_diameter : [m]
    indentation : depth of the furrow, at most half the wire diameter [m]
    temper : of the copper: "annealed", "half hard" or "hard" (cold work read from its hardness)

    Returns
    -------
    q [N/m]

    Raises
    ------
    InputError
        for an unknown temper, or an indentation above half the wire diameter.

    Notes
    -----
    For copper backed by a flat face. Good to a factor of about 1.5: a knife edge that makes copper
    tight against helium works at roughly 450 to 600 N/mm.

    References
    ----------
    As in `sealkit.sealing.flow.wire_line_load`; the constants of copper from the table flow.
    """
    radius = 0.5 * np.asarray(wire_diameter, dtype=float)
    return flow.wire_line_load.si(indentation, radius, *_copper(temper))


@with_units(
    returns="force",
    wire_diameter="length > 0",
    indentation="length >= 0",
    ring_diameter="length > 0",
)
def forming_force(
    wire_diameter: Any, indentation: Any, ring_diameter: Any, temper: str = "annealed"
) -> Any:
    """Force to press a whole ring of wire into copper: F = q pi D.

    Parameters
    ----------
    wire_diameter, indentation : [m]
    ring_diameter : D, centre of the wire [m]
    temper : as in `forming_line_load`

    Returns
    -------
    F [N]

    Raises
    ------
    InputError
        as in `forming_line_load`.
    """
    load = forming_line_load.si(wire_diameter, indentation, temper)
    return load * np.pi * np.asarray(ring_diameter, dtype=float)


@with_units(
    returns="length",
    force="force >= 0",
    wire_diameter="length > 0",
    ring_diameter="length > 0",
)
def indentation_at(
    force: Any, wire_diameter: Any, ring_diameter: Any, temper: str = "annealed"
) -> Any:
    """How deep a force presses a ring of wire into copper; the inverse of `forming_force`.

    Parameters
    ----------
    force : [N]
    wire_diameter, ring_diameter : [m]
    temper : as in `forming_line_load`

    Returns
    -------
    indentation [m], at most the radius of the wire

    Raises
    ------
    InputError
        for an unknown temper.

    Notes
    -----
    By halving the interval: the force only rises with depth.
    """
    f, d, ring = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (force, wire_diameter, ring_diameter))
    )
    low, high = np.zeros(f.shape), 0.5 * d
    for _ in range(60):
        middle = 0.5 * (low + high)
        short = forming_force.si(d, middle, ring, temper) < f
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return (0.5 * (low + high))[()]


# --------------------------------------------------------------------------- faces
def _bearing(hardness: Any, load_ratio: Any) -> Any:
    """Mean pressure under a Brinell ball (Pa) from HB and F/D^2 in kgf/mm^2."""
    load = load_ratio * flow.KGF_PER_MM2 * _BALL**2
    return flow.meyer.si(load, flow.brinell_dent.si(hardness, load, _BALL))


@with_units(returns=("number", "number", "stress", "stress"))
def face_hardness(material: str) -> tuple[float, float, float, float]:
    """Brinell hardness of a face and the mean pressure it bears under a ball, low and high.

    Parameters
    ----------
    material : a name of the table face_hardness, such as "A356-T6" or "grey iron"

    Returns
    -------
    HB low, HB high, pressure low [Pa], pressure high [Pa]

    Raises
    ------
    InputError
        for an unknown material.

    References
    ----------
    D. Tabor, The Hardness of Metals, 1951 (Meyer pressure F over the projected area).
    """
    row = tables.load("face_hardness").get(material, "material")
    low, high = row["hardness_low"], row["hardness_high"]
    return (
        low,
        high,
        float(_bearing(low, row["load_ratio"])),
        float(_bearing(high, row["load_ratio"])),
    )


@dataclass(frozen=True)
class GrooveFaces:
    """Which face gets the wire and which the receiver.

    Parameters
    ----------
    wire, receiver : "head" or "block"
    decided : False where the two hardness ranges overlap
    reason : in words
    source, status : of the rule
    """

    wire: str
    receiver: str
    decided: bool
    reason: str
    source: str
    status: str


def groove_faces(head: str, block: str) -> GrooveFaces:
    """The receiver goes into the harder face, the wire into the softer one.

    The corners of the receiver are the seal: copper is pushed against them at every tightening,
    and only a face harder than the copper keeps them. The wire is steel and needs no corner.

    Parameters
    ----------
    head, block : materials of the two faces (block: the sleeve, where there is one), names of the
        table face_hardness

    Returns
    -------
    GrooveFaces

    Raises
    ------
    InputError
        for an unknown material.

    References
    ----------
    Shop rule; hardness from the table face_hardness.
    """
    faults: list[Fault] = []
    rows = {}
    for name, material in (("head", head), ("block", block)):
        try:
            rows[name] = tables.load("face_hardness").get(material, name)
        except InputError as err:
            faults.extend(err.faults)
    if faults:
        raise InputError(faults)

    def middle(name: str) -> float:
        return float(rows[name]["hardness_low"] + rows[name]["hardness_high"])

    softer, harder = ("head", "block") if middle("head") <= middle("block") else ("block", "head")
    decided = bool(rows[harder]["hardness_low"] > rows[softer]["hardness_high"])

    def words(name: str) -> str:
        row = rows[name]
        low, high = row["hardness_low"], row["hardness_high"]
        return f"{row['material']} {low:g}" + (f" to {high:g} HB" if high > low else " HB")

    if decided:
        reason = (
            f"the {harder} is harder ({words(harder)} against {words(softer)}): its receiver "
            f"keeps its edges, so the wire goes into the {softer}"
        )
    elif middle("head") == middle("block"):
        reason = (
            f"both faces are alike ({words(softer)}): either will do, it is a matter of preference "
            "and of what the part costs"
        )
    else:
        reason = (
            f"the hardness ranges overlap ({words('head')}, {words('block')}): measure the faces; "
            f"on the middle of the ranges the receiver goes into the {harder}"
        )
    rule = tables.load("grooves")["where to cut, hardness"]
    return GrooveFaces(softer, harder, decided, reason, rule["source"], rule["status"])


# --------------------------------------------------------------------------- a ring
@dataclass(frozen=True)
class WireRing:
    """A wire ring, its groove and receiver, and what they do to the copper.

    Parameters
    ----------
    wire_diameter, groove_width, groove_depth, copper_thickness, ring_diameter : as given, m
    receiver_width, receiver_depth : as given, m; 0 without a receiver
    protrusion : wire proud of its face, m
    protrusion_share : protrusion over copper thickness
    interference : wire diameter - groove width, m; negative is loose
    wire_length : round the ring at the centre of the wire, m
    displaced_area : copper pushed out per length, m**2
    receiver_area : room for it, m**2
    spare : share of the receiver left empty; nan without a receiver
    forming_pressure : mean pressure on the furrow, Pa
    line_load : to press the wire home, N/m
    forming_force : the same over the ring, N
    clamp_share : forming force over available clamp; nan if no clamp was given
    indentation : reached with the clamp (the whole protrusion if no clamp was given), m
    gap_left : protrusion not pressed home, m
    lift_to_leave : how far the head may lift before the copper leaves the receiver: the height of
        the copper in it, m
    wire_sink : how deep the wire sinks into a flat groove bottom, m: hard end of the face
    wire_sink_soft : the same at the soft end of the face, m
    faults : why the ring will not work, in words
    warnings : what speaks against it, in words
    wire_material, receiver_material, temper : as given
    """

    wire_diameter: Any = field("length")
    groove_width: Any = field("length")
    groove_depth: Any = field("length")
    receiver_width: Any = field("length")
    receiver_depth: Any = field("length")
    copper_thickness: Any = field("length")
    ring_diameter: Any = field("length")
    protrusion: Any = field("length")
    protrusion_share: Any = field("fraction")
    interference: Any = field("length")
    wire_length: Any = field("length")
    displaced_area: Any = field("area")
    receiver_area: Any = field("area")
    spare: Any = field("fraction")
    forming_pressure: Any = field("stress")
    line_load: Any = field("line load")
    forming_force: Any = field("force")
    clamp_share: Any = field("fraction")
    indentation: Any = field("length")
    gap_left: Any = field("lift")
    lift_to_leave: Any = field("lift")
    wire_sink: Any = field("lift")
    wire_sink_soft: Any = field("lift")
    faults: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    wire_material: str = ""
    receiver_material: str = ""
    temper: str = "annealed"


@with_units(
    returns="fields",
    wire_diameter="length > 0",
    groove_width="length > 0",
    groove_depth="length > 0",
    copper_thickness="length > 0",
    ring_diameter="length > 0",
    receiver_width="length >= 0",
    receiver_depth="length >= 0",
    clamp="force > 0",
)
def wire_ring(
    wire_diameter: Any,
    groove_width: Any,
    groove_depth: Any,
    copper_thickness: Any,
    ring_diameter: Any,
    receiver_width: Any = 0.0,
    receiver_depth: Any = 0.0,
    clamp: Any = None,
    wire_material: str = "A356-T6",
    receiver_material: str = "grey iron",
    temper: str = "annealed",
) -> WireRing:
    """Judge a wire ring: room for the copper, load to form it, lift it allows.

    spare = 1 - displaced/receiver area; lift allowed = height of the copper in the receiver,
    min(displaced area / receiver width, receiver depth, protrusion).

    Parameters
    ----------
    wire_diameter, groove_width, groove_depth : of the wire and the groove that holds it [m]
    copper_thickness : of the sheet [m]
    ring_diameter : centre of the wire [m]
    receiver_width, receiver_depth : of the groove in the other face [m]; 0 for none
    clamp : force available round this bore while tightening [N]
    wire_material, receiver_material : of the two faces, names of the table face_hardness
    temper : of the copper: "annealed", "half hard" or "hard"

    Returns
    -------
    WireRing

    Raises
    ------
    InputError
        for a size not above zero, a groove that swallows the wire, an unknown material or temper.

    Notes
    -----
    The lift takes all displaced copper as pushed into the receiver and spread evenly there; copper
    springs back by less than a micrometre and follows no lift by itself. While it stands in the
    receiver the gas must turn two corners, but the line load is gone. The wire sinks into a
    groove bottom that is flat; a bottom cut to the radius of the wire carries more.

    References
    ----------
    As in `forming_line_load`; limits from the table grooves.
    """
    d, gw, gd, t, ring, rw, rd = np.broadcast_arrays(
        *(
            np.asarray(v, dtype=float)
            for v in (
                wire_diameter,
                groove_width,
                groove_depth,
                copper_thickness,
                ring_diameter,
                receiver_width,
                receiver_depth,
            )
        )
    )
    input_faults = []
    if np.any(gd >= d):
        input_faults.append(
            Fault(
                "groove_depth",
                f"{1000 * float(np.max(gd)):.4g} mm",
                f"less than the wire diameter of {1000 * float(np.min(d)):.4g} mm, or the wire "
                "stands proud nowhere",
            )
        )
    ends = {}
    for name, material in (("wire", wire_material), ("receiver", receiver_material)):
        try:
            ends[name] = face_hardness.si(material)
        except InputError as err:
            input_faults += [dataclasses.replace(f, field=f"{name}_material") for f in err.faults]
    if temper not in TEMPERS:
        input_faults.append(Fault("temper", f'"{temper}"', "one of " + ", ".join(TEMPERS)))
    if input_faults:
        raise InputError(input_faults)

    proud = protrusion.si(d, gd)
    # past half the wire the sides are upright: load and furrow no longer grow (a fault below)
    bitten = np.minimum(proud, 0.5 * d)
    area = flow.displaced_area.si(bitten, 0.5 * d)
    room = receiver_area.si(rw, rd)
    has = room > 0
    spare = np.where(has, 1.0 - area / np.where(has, room, 1.0), np.nan)
    half = flow.contact_half_width.si(bitten, 0.5 * d)
    load = forming_line_load.si(d, bitten, temper)
    pressure = load / (2.0 * half)
    force = forming_force.si(d, bitten, ring, temper)
    if clamp is None:
        share, reached = np.full_like(force, np.nan), bitten
    else:
        share = force / np.asarray(clamp, dtype=float)
        reached = np.minimum(indentation_at.si(clamp, d, ring, temper), bitten)
    pushed = flow.displaced_area.si(reached, 0.5 * d)
    height = np.where(has, np.minimum(pushed / np.where(has, rw, 1.0), rd), 0.0)
    height = np.minimum(height, reached)
    sink = flow.bite.si(load, ends["wire"][3], 0.5 * d)
    soft = flow.bite.si(load, ends["wire"][2], 0.5 * d)

    faults, warnings = _judge(
        d, gw, t, rw, rd, proud, half, spare, has, share, ends, pressure, temper
    )
    return WireRing(
        wire_diameter=d[()],
        groove_width=gw[()],
        groove_depth=gd[()],
        receiver_width=rw[()],
        receiver_depth=rd[()],
        copper_thickness=t[()],
        ring_diameter=ring[()],
        protrusion=proud,
        protrusion_share=proud / t,
        interference=d - gw,
        wire_length=np.pi * ring,
        displaced_area=area,
        receiver_area=room,
        spare=spare[()],
        forming_pressure=pressure,
        line_load=load,
        forming_force=force,
        clamp_share=share[()],
        indentation=reached,
        gap_left=proud - reached,
        lift_to_leave=height[()],
        wire_sink=sink,
        wire_sink_soft=soft,
        faults=faults,
        warnings=warnings,
        wire_material=wire_material,
        receiver_material=receiver_material,
        temper=temper,
    )


def _judge(
    d: Any,
    gw: Any,
    t: Any,
    rw: Any,
    rd: Any,
    proud: Any,
    half: Any,
    spare: Any,
    has: Any,
    share: Any,
    ends: dict[str, tuple[float, float, float, float]],
    pressure: Any,
    temper: str,
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Faults and warnings in words; for arrays, each that applies anywhere."""
    rows = tables.load("grooves")
    wide, deep = rows["receiver width"], rows["receiver depth"]
    later, earlier = rows["protrusion, later text"], rows["protrusion, earlier text"]
    of_copper = proud / t
    with np.errstate(invalid="ignore"):
        faults = (
            (gw >= d, "the groove is as wide as the wire or wider: the wire is loose"),
            (proud >= 0.5 * d, "more than half the wire stands proud: the groove cannot hold it"),
            (proud >= t, "the protrusion is no less than the copper thickness: it is cut through"),
            (has & (spare < 0), "the receiver is too small for the displaced copper: the faces "
             "are held apart"),
            (has & (rw <= 2 * half), "the receiver is no wider than the furrow: the copper is "
             "sheared, not pushed in"),
            (has & (rd >= t), "the receiver is as deep as the copper is thick"),
            (share > MODEL_SPREAD, "forming takes more than the clamp there is, even if the load "
             f"is {MODEL_SPREAD:g} times too high: the wire is not pressed home"),
        )  # fmt: skip
        off_width = (rw < wide["share_low"] * d * (1 - 1e-9)) | (
            rw > wide["share_high"] * d * (1 + 1e-9)
        )
        off_depth = (rd < deep["share_low"] * proud * (1 - 1e-9)) | (
            rd > deep["share_high"] * proud * (1 + 1e-9)
        )
        soft_face = ends["receiver"][1] < ends["wire"][0]
        warnings = (
            (~has, "no receiver: the displaced copper must spread sideways, and nothing holds "
             "the copper when the head lifts"),
            (has & off_width, f"receiver width outside the usual {wide['what']}"),
            (has & off_depth, f"receiver depth outside the usual {deep['what']}"),
            (of_copper > later["share_high"] * (1 + 1e-9), "protrusion above 25 % of the copper "
             "thickness, the most that any text gives"),
            ((of_copper > earlier["share_high"] * (1 + 1e-9))
             & (of_copper <= later["share_high"] * (1 + 1e-9)),
             "texts disagree on the protrusion: one has about 10 % of the copper thickness, the "
             "other up to 25 %"),
            ((share > 1) & (share <= MODEL_SPREAD), "forming takes the whole clamp by the model, "
             f"which is good to a factor of {MODEL_SPREAD:g}"),
            (pressure > ends["wire"][2], "the copper resists more than the soft end of the wire's "
             "face bears: on a flat groove bottom the wire sinks into the face"),
            (np.full_like(d, soft_face, dtype=bool), "the receiver is in the softer face: its "
             "edges wear; the harder face keeps them"),
            (np.full_like(d, temper != "annealed", dtype=bool), f"{temper} copper: it wants more "
             "load and may be harder than the face; anneal it"),
        )  # fmt: skip
    return (
        tuple(words for bad, words in faults if np.any(bad)),
        tuple(words for bad, words in warnings if np.any(bad)),
    )


def _plain(ring: WireRing) -> WireRing:
    """The ring with plain SI numbers, whether it came through the units door or not."""
    changes = {
        f.name: to_si(getattr(ring, f.name), f.metadata["kind"], f.name)
        for f in dataclasses.fields(ring)
        if isinstance(getattr(ring, f.name), pint.Quantity)
    }
    return dataclasses.replace(ring, **changes)


# --------------------------------------------------------------------------- shop practice
@dataclass(frozen=True)
class Practice:
    """One shop figure, beside what this ring has.

    Parameters
    ----------
    topic, what : in words
    low, high : the figure worked out for this ring, m; None where it is no number
    yours : what this ring has, m; None where it is no number
    within : "yes", "no: below", "no: above" or ""
    source, status, note : where the figure comes from
    """

    topic: str
    what: str
    low: Any = field("length")
    high: Any = field("length")
    yours: Any = field("length")
    within: str = ""
    source: str = ""
    status: str = ""
    note: str = ""


def each_quantified(door: UnitFunction) -> UnitFunction:
    """Hands on a tuple of results with units; the plain function gives plain SI numbers."""

    @functools.wraps(door)
    def outer(*args: Any, **kwargs: Any) -> Any:
        return tuple(quantify(r) for r in door(*args, **kwargs))

    return cast(UnitFunction, outer)


@each_quantified
@with_units()
def practice(ring: WireRing) -> tuple[Practice, ...]:
    """Shop figures from the table grooves side by side, conflicts included, against this ring.

    Parameters
    ----------
    ring : one ring from `wire_ring`

    Returns
    -------
    tuple of Practice

    Raises
    ------
    InputError
        for a ring made of arrays.
    """
    r = _one(ring)
    mine = {
        "wire diameter": r.wire_diameter,
        "groove width": r.groove_width,
        "protrusion": r.protrusion,
        "receiver width": r.receiver_width,
        "receiver depth": r.receiver_depth,
        "copper thickness": r.copper_thickness,
    }
    out = []
    for row in tables.load("grooves").rows:
        scale = mine[row["of"]] if row["of"] else 0.0
        if row["share_low"] is not None:
            low, high = row["share_low"] * scale, row["share_high"] * scale
        else:
            low, high = row["length_low"], row["length_high"]
        yours = mine.get(row["topic"])
        within = ""
        if yours is not None and low is not None:
            # shop figures are read to a thousandth of an inch: half of one is still the same
            half = 0.5 * 0.0254e-3
            within = (
                "no: below" if yours < low - half else "no: above" if yours > high + half else "yes"
            )
        out.append(
            Practice(
                row["topic"],
                row["what"],
                low,
                high,
                yours,
                within,
                row["source"],
                row["status"],
                row["note"],
            )
        )
    return tuple(out)


def _one(ring: WireRing) -> WireRing:
    plain = _plain(ring)
    if np.ndim(plain.protrusion):
        raise fail("ring", f"{np.size(plain.protrusion)} rings at once", "one ring")
    return plain


# --------------------------------------------------------------------------- drawing
def drawing(groove: WireRing, system: str = "metric", wire_in: str = "head") -> str:
    """Section through wire, groove, copper and receiver as SVG, to scale, dimensioned.

    Parameters
    ----------
    groove : one ring from `wire_ring`
    system : "metric" or "inch", the units of the dimensions
    wire_in : "head" (drawn above) or "block"

    Returns
    -------
    SVG text; lines and letters take the colour of the page, a description stands in for the
    picture, and parts are named in words and told apart by hatching

    Raises
    ------
    InputError
        for a ring made of arrays, an unknown system or face.
    """
    r = _one(groove)
    if wire_in not in ("head", "block"):
        raise fail("wire_in", wire_in, '"head" or "block"')

    def size(value: float) -> str:
        return show(value, "length", system)

    d, t, gd, gw = r.wire_diameter, r.copper_thickness, r.groove_depth, r.groove_width
    rw, rd, proud, fill = r.receiver_width, r.receiver_depth, r.protrusion, r.lift_to_leave
    other = "block" if wire_in == "head" else "head"
    top, bottom = max(1.7 * gd, gd + 0.5 * d), max(2.2 * rd, 0.8 * t)
    half = max(1.35 * d, 1.1 * rw)
    scale = 360.0 / (2 * half)
    margin, head_room = 178.0, 44.0
    width = 2 * margin + 2 * half * scale
    body = (top + t + bottom) * scale
    height = body + 2 * head_room + 40.0
    centre = width / 2

    def x(value: float) -> float:
        return round(centre + value * scale, 2)

    # v is counted from the wire's face: into that face positive, into the copper negative
    def y(value: float) -> float:
        down = (top - value) * scale
        return round(head_room + (down if wire_in == "head" else body - down), 2)

    def path(points: list[tuple[float, float]]) -> str:
        return "M" + " L".join(f"{x(a)},{y(b)}" for a, b in points) + " Z"

    upper = path(
        [(-half, top), (half, top), (half, 0), (gw / 2, 0), (gw / 2, gd), (-gw / 2, gd),
         (-gw / 2, 0), (-half, 0)]
    )  # fmt: skip
    lower = path(
        [(-half, -t), (-rw / 2, -t), (-rw / 2, -t - rd), (rw / 2, -t - rd), (rw / 2, -t),
         (half, -t), (half, -t - bottom), (-half, -t - bottom)]
    )  # fmt: skip
    copper = path(
        [(-half, 0), (half, 0), (half, -t), (rw / 2, -t), (rw / 2, -t - fill),
         (-rw / 2, -t - fill), (-rw / 2, -t), (-half, -t)]
    )  # fmt: skip
    parts = [
        ("wire", size(d)),
        ("groove width", size(gw)),
        ("groove depth", size(gd)),
        ("protrusion", size(proud)),
        ("copper", size(t)),
    ]
    if rw > 0 and rd > 0:
        parts += [("receiver width", size(rw)), ("receiver depth", size(rd))]
    ring = f"ring diameter {size(r.ring_diameter)}"
    listed = ", ".join(f"{name} {value}" for name, value in parts)
    said = (
        f"Section to scale. Wire in the {wire_in} ({r.wire_material}), "
        + (
            f"receiver in the {other} ({r.receiver_material})"
            if rw > 0 and rd > 0
            else f"no receiver in the {other} ({r.receiver_material})"
        )
        + f". {listed}; {ring}."
    )
    uid = "ring" + hashlib.sha256(f"{said}{system}".encode()).hexdigest()[:10]
    esc = html.escape
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'role="img" aria-labelledby="{uid}t {uid}d" font-family="sans-serif" font-size="20" '
        f'style="max-width:100%;height:auto" fill="currentColor">',
        f'<title id="{uid}t">Wire ring and receiver in section</title>',
        f'<desc id="{uid}d">{esc(said)}</desc>',
        "<defs>",
    ]
    for name, angle in (("a", 45), ("b", -45)):
        out.append(
            f'<pattern id="{uid}{name}" width="9" height="9" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate({angle})"><line x1="0" y1="0" x2="0" y2="9" '
            'stroke="currentColor" stroke-opacity="0.45" stroke-width="1.2"/></pattern>'
        )
    out.append("</defs>")
    out.append(
        f'<path d="{copper}" fill="#b87333" fill-opacity="0.75" stroke="currentColor" '
        'stroke-width="1"/>'
    )
    for shape, name in ((upper, "a"), (lower, "b")):
        out.append(f'<path d="{shape}" fill="url(#{uid}{name})" stroke="currentColor"/>')
    out.append(
        f'<circle cx="{x(0)}" cy="{y(gd - d / 2)}" r="{round(d / 2 * scale, 2)}" fill="#8a8f98" '
        'stroke="currentColor" stroke-width="1.3"/>'
    )

    def text(px: float, py: float, words: str, anchor: str) -> str:
        return f'<text x="{px:.1f}" y="{py + 7:.1f}" text-anchor="{anchor}">{esc(words)}</text>'

    def two_lines(px: float, py: float, name: str, value: str, anchor: str) -> str:
        return (
            f'<text x="{px:.1f}" y="{py - 4:.1f}" text-anchor="{anchor}"><tspan>{esc(name)}</tspan>'
            f'<tspan x="{px:.1f}" dy="22"> {esc(value)}</tspan></text>'
        )

    def line(x1: float, y1: float, x2: float, y2: float, thin: bool = False) -> str:
        style = ' stroke-opacity="0.6" stroke-dasharray="3 3"' if thin else ""
        return (
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
            f'stroke="currentColor"{style}/>'
        )

    def upright(v1: float, v2: float, feature: float, side: int, name: str, value: str) -> None:
        edge = x(side * half) + side * 14
        for v in (v1, v2):
            out.append(line(x(feature), y(v), edge + side * 5, y(v), thin=True))
        out.append(line(edge, y(v1), edge, y(v2)))
        out.append(
            two_lines(edge + side * 9, (y(v1) + y(v2)) / 2, name, value,
                      "start" if side > 0 else "end")
        )  # fmt: skip

    def level(width_: float, v: float, name: str, value: str, beyond: float) -> None:
        at = y(beyond)
        for end in (-0.5, 0.5):
            out.append(line(x(end * width_), y(v), x(end * width_), at, thin=True))
        out.append(line(x(-width_ / 2), at, x(width_ / 2), at))
        out.append(text(x(0), at + (-13 if at < height / 2 else 13), f"{name} {value}", "middle"))

    upright(0, gd, -gw / 2, -1, "groove depth", size(gd))
    upright(0, -proud, 0, -1, "protrusion", size(proud))
    upright(0, -t, half, 1, "copper", size(t))
    level(gw, gd, "groove width", size(gw), top * 0.83)
    if rw > 0 and rd > 0:
        upright(-t, -t - rd, rw / 2, 1, "receiver depth", size(rd))
        level(rw, -t - rd, "receiver width", size(rw), -t - max(1.25 * rd, 0.35 * bottom))
    out.append(line(x(0), y(gd - d / 2), x(half) + 14, y(gd * 0.75)))
    out.append(two_lines(x(half) + 18, y(gd * 0.75), "wire", size(d), "start"))
    for v, face, material in (
        (top, wire_in, r.wire_material),
        (-t - bottom, other, r.receiver_material),
    ):
        at = y(v) + (-15 if (face == "head") else 17)
        out.append(text(centre, at, f"{face}: {material}", "middle"))
    out.append(text(centre, height - 14, f"{ring}; drawn to scale", "middle"))
    out.append("</svg>")
    return "\n".join(out)
