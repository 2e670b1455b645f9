"""Wire rings in copper: wire, groove, protrusion, receiver, forming load.

A wire held in a groove of one face stands proud by its protrusion and presses a furrow into
the copper sheet; a receiver groove in the other face takes the copper that is pushed out. Plastic
flow keeps volume, so the displaced area must find room in the receiver. The load is that of a
sheet as thick as it is, which bulges into its receiver; friction and how the sheet is held leave
it good to a factor of about 1.3.

References
----------
[1] `sealkit.sealing.flow.sheet_line_load`; constants of copper from the table flow.
[2] D. Tabor, The Hardness of Metals, 1951 (Meyer pressure, force over the projected area).
[3] Shop practice from the table grooves; hardness from the table face_hardness.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import Fault, InputError, fail
from sealkit.resources import beside
from sealkit.sealing import flow
from sealkit.units import field, plain_fields, with_units
from sealkit.words import figure, note

_WORDS: dict[str, dict[str, str]] = beside(__file__)
_IN_WORDS = ("faults", "warnings")
# how far the model of the forming load is to be trusted, either way
MODEL_SPREAD = 1.3
TEMPERS = ("annealed", "half hard", "hard")
_BALL = 0.010
_PARTS, _CUTS = 128, 6
_READ = 0.5 * 0.0254e-3  # m: shop figures are read to a thousandth of an inch


# --------------------------------------------------------------------------- sizes
@with_units(returns="length")
def protrusion(wire_diameter: si.Length, groove_depth: si.Length) -> Any:
    """How far the wire stands proud [m]: wire diameter - groove depth.

    Parameters
    ----------
    wire_diameter, groove_depth : [m]

    >>> print(round(protrusion("0.041 in", "0.033 in").to("thou").magnitude, 3))
    8.0
    """
    return np.asarray(wire_diameter, dtype=float) - groove_depth


@with_units(returns="length")
def interference_width(wire_diameter: si.Length) -> Any:
    """Width [m] of a groove that holds its wire by interference: middle of the shop's figures.

    Row "groove width" of the table grooves: 0.039 to 0.040 in for a wire of 0.041 in [3].

    Parameters
    ----------
    wire_diameter : [m]
    """
    row = tables.load("grooves")["groove width"]
    return 0.5 * (row["share_low"] + row["share_high"]) * np.asarray(wire_diameter, dtype=float)


@with_units(returns="area")
def receiver_area(width: si.Length0, depth: si.Length0) -> Any:
    """Room in a square-cornered receiver per length [m**2]: width x depth.

    Parameters
    ----------
    width, depth : [m]
    """
    return np.asarray(width, dtype=float) * depth


# --------------------------------------------------------------------------- load
@with_units(returns="line load")
def forming_line_load(
    wire_diameter: si.Length,
    indentation: si.Length0,
    copper_thickness: si.Length,
    receiver_width: si.Length0 = 0.0,
    receiver_depth: si.Length0 = 0.0,
    temper: str = "annealed",
) -> Any:
    """Load per length of wire to press it into a copper sheet to this depth [N/m] [1].

    Good to a factor of about 1.3: a sheet held sideways takes up to a fifth more than the mean, one
    free to spread as much less, a rough flat face a third more. Raises InputError for an unknown
    temper, or an indentation above half the wire diameter.

    Parameters
    ----------
    wire_diameter : [m]
    indentation : depth of the furrow, at most half the wire diameter [m]
    copper_thickness : of the sheet [m]
    receiver_width, receiver_depth : of the groove in the other face [m]; 0 for none
    temper : of the copper: "annealed", "half hard" or "hard" (cold work read from its hardness)
    """
    radius = 0.5 * np.asarray(wire_diameter, dtype=float)
    opposite = (copper_thickness, receiver_width, receiver_depth)
    if temper not in TEMPERS:
        raise fail("temper", temper, "one of " + ", ".join(TEMPERS))
    copper = flow.Copper.of(f"copper, {temper}")
    metal = (copper.strength, copper.exponent, copper.prestrain)
    return flow.sheet_line_load.si(indentation, radius, *metal, *opposite)


@with_units(returns="length")
def indentation_at(
    line_load: si.LineLoad0,
    wire_diameter: si.Length,
    copper_thickness: si.Length,
    receiver_width: si.Length0 = 0.0,
    receiver_depth: si.Length0 = 0.0,
    temper: str = "annealed",
) -> Any:
    """How deep a load presses a wire into copper [m], at most the radius of the wire.

    The inverse of `forming_line_load`: its range is cut into equal parts, again and again.

    Parameters
    ----------
    line_load : per length of wire [N/m]
    wire_diameter : [m]
    copper_thickness, receiver_width, receiver_depth, temper : as in `forming_line_load`
    """
    sheet = (copper_thickness, receiver_width, receiver_depth)
    load, d, *rest = (x[..., None] for x in np.broadcast_arrays(line_load, wire_diameter, *sheet))
    low, high = np.zeros(load.shape), 0.5 * d
    for _ in range(_CUTS):
        part = (high - low) / _PARTS
        depths = low + part * np.arange(1, _PARTS)
        short = forming_line_load.si(d, depths, *rest, temper) < load
        low = low + part * np.sum(short, axis=-1, keepdims=True)
        high = low + part
    return np.where(load > 0.0, high, 0.0)[..., 0][()]


# --------------------------------------------------------------------------- faces
def _bearing(hardness: Any, load_ratio: Any) -> Any:
    """Mean pressure under a Brinell ball (Pa) from HB and F/D^2 in kgf/mm^2."""
    load = load_ratio * flow.KGF_PER_MM2 * _BALL**2
    return flow.meyer.si(load, flow.brinell_dent.si(hardness, load, _BALL))


@with_units(returns=("number", "number", "stress", "stress"))
def face_hardness(material: str) -> tuple[float, float, float, float]:
    """Brinell hardness of a face and the mean pressure it bears under a ball, low and high.

    Returns HB low, HB high, pressure low [Pa], pressure high [Pa] [2]. Raises InputError for an
    unknown material.

    Parameters
    ----------
    material : a name of the table face_hardness, such as "A356-T6" or "grey iron"
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
    """Which face gets the wire and which the receiver."""

    # wire, receiver: "head" or "block"
    wire: str
    receiver: str
    decided: bool  # False where the two hardness ranges overlap
    reason: str  # in words
    source: str
    status: str


def groove_faces(head: str, block: str) -> GrooveFaces:
    """The receiver goes into the harder face, the wire into the softer one [3].

    The corners of the receiver are the seal: copper is pushed against them at every tightening, and
    only a face harder than the copper keeps them. The wire is steel and needs no corner. Raises
    InputError for an unknown material.

    Parameters
    ----------
    head, block : materials of the two faces (block: the sleeve, where there is one), names of the
        table face_hardness
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

    Plain SI numbers; quantities are read.
    """

    # wire_diameter, groove_width, groove_depth, copper_thickness, ring_diameter: as given [m]
    wire_diameter: Any = field("length")
    groove_width: Any = field("length")
    groove_depth: Any = field("length")
    # receiver_width, receiver_depth: as given [m]; 0 without a receiver
    receiver_width: Any = field("length")
    receiver_depth: Any = field("length")
    copper_thickness: Any = field("length")
    ring_diameter: Any = field("length")
    protrusion: Any = field("length")  # wire proud of its face [m]
    protrusion_share: Any = field("fraction")  # protrusion over copper thickness
    interference: Any = field("length")  # wire diameter - groove width [m]; negative is loose
    wire_length: Any = field("length")  # round the ring at the centre of the wire [m]
    displaced_area: Any = field("area")  # copper pushed out per length [m**2]
    receiver_area: Any = field("area")  # room for it [m**2]
    spare: Any = field("fraction")  # share of the receiver left empty; nan without a receiver
    forming_pressure: Any = field("stress")  # mean pressure on the furrow [Pa]
    line_load: Any = field("line load")  # to seat the wire fully [N/m]
    # forming force over available clamp; nan if no clamp was given
    clamp_share: Any = field("fraction")
    # reached with the clamp [m] (the whole protrusion if no clamp was given)
    indentation: Any = field("length")
    # how far the head may lift before the copper leaves the receiver: the height of the copper in
    # it [m]
    lift_to_leave: Any = field("lift")
    faults: tuple[str, ...] = ()  # why the ring will not work, in words
    # what speaks against it, in words; what texts only disagree on comes last
    warnings: tuple[str, ...] = ()
    # wire_material, receiver_material, temper: as given
    wire_material: str = ""
    receiver_material: str = ""
    temper: str = "annealed"

    def __post_init__(self) -> None:
        plain_fields(self)

    @property
    def clamp_share_range(self) -> tuple[Any, Any]:
        """`clamp_share` as low and as high as the model is good to."""
        return self.clamp_share / MODEL_SPREAD, self.clamp_share * MODEL_SPREAD

    @property
    def seating_unsure(self) -> Any:
        """Whether the wire goes home at the low end of that range and not at the high end."""
        low, high = self.clamp_share_range
        return (low <= 1.0) & (high > 1.0)

    def of(self, rings: int | slice) -> WireRing:
        """One ring, or some of them, judged by themselves."""
        arrays = {k: x[rings] for k, x in vars(self).items() if np.ndim(x) and k not in _IN_WORDS}
        return _judged(dataclasses.replace(self, **arrays))

    def alone(self) -> WireRing:
        """This ring in plain SI numbers.

        Raises InputError for a ring made of arrays.
        """
        plain = dataclasses.replace(self)
        if np.ndim(plain.protrusion):
            raise fail("ring", f"{np.size(plain.protrusion)} rings at once", "one ring")
        return plain


@with_units(returns="fields")
def wire_ring(
    wire_diameter: si.Length,
    groove_width: si.Length,
    groove_depth: si.Length,
    copper_thickness: si.Length,
    ring_diameter: si.Length,
    receiver_width: si.Length0 = 0.0,
    receiver_depth: si.Length0 = 0.0,
    clamp: si.Force = None,
    wire_material: str = "A356-T6",
    receiver_material: str = "grey iron",
    temper: str = "annealed",
) -> WireRing:
    """Judge a wire ring: room for the copper, load to form it, lift it allows.

    spare = 1 - displaced/receiver area; lift allowed = height of the copper in the receiver,
    min(displaced area / receiver width, receiver depth, protrusion).

    The lift takes all displaced copper as pushed into the receiver and spread evenly there; copper
    springs back by less than a micrometre and follows no lift by itself. While it stands in the
    receiver the gas must turn two corners, but the line load is gone. Limits from [3]. Raises
    InputError for a size not above zero, a groove that swallows the wire, an unknown material or
    temper.

    Parameters
    ----------
    wire_diameter, groove_width, groove_depth : of the wire and the groove that holds it [m]
    copper_thickness : of the sheet [m]
    ring_diameter : centre of the wire [m]
    receiver_width, receiver_depth : of the groove in the other face [m]; 0 for none
    clamp : force available round this bore while tightening [N]
    wire_material, receiver_material : of the two faces, names of the table face_hardness
    temper : of the copper: "annealed", "half hard" or "hard"
    """
    wire, sheet = (wire_diameter, groove_width, groove_depth), (copper_thickness, ring_diameter)
    given = (*wire, *sheet, receiver_width, receiver_depth)
    d, gw, gd, t, ring, rw, rd = np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in given))
    faults = []
    if np.any(gd >= d):
        faults.append(
            Fault(
                "groove_depth",
                figure(np.max(gd), "length"),
                note(
                    "less than the wire diameter of {wire}, or the wire stands proud nowhere",
                    wire=(float(np.min(d)), "length"),
                ),
            )
        )
    for name, material in (("wire", wire_material), ("receiver", receiver_material)):
        try:
            face_hardness.si(material)
        except InputError as err:
            faults += [dataclasses.replace(f, field=f"{name}_material") for f in err.faults]
    if temper not in TEMPERS:
        faults.append(Fault("temper", f'"{temper}"', "one of " + ", ".join(TEMPERS)))
    if faults:
        raise InputError(faults)

    proud = protrusion.si(d, gd)
    # past half the wire the sides are upright: load and furrow no longer grow (a fault below)
    bitten = np.minimum(proud, 0.5 * d)
    area = flow.displaced_area.si(bitten, 0.5 * d)
    room = receiver_area.si(rw, rd)
    has = room > 0
    half = flow.contact_half_width.si(bitten, 0.5 * d)
    load = forming_line_load.si(d, bitten, t, rw, rd, temper)
    if clamp is None:
        share, reached = np.full_like(load, np.nan), bitten
    else:
        there = np.asarray(clamp, dtype=float) / (np.pi * np.asarray(ring_diameter))
        share = load / there
        opposite = (copper_thickness, receiver_width, receiver_depth)
        most = indentation_at.si(there, wire_diameter, *opposite, temper)
        reached = np.minimum(most, bitten)
    pushed = flow.displaced_area.si(reached, 0.5 * d)
    height = np.where(has, np.minimum(pushed / np.where(has, rw, 1.0), rd), 0.0)
    made = WireRing(
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
        spare=np.where(has, 1.0 - area / np.where(has, room, 1.0), np.nan)[()],
        forming_pressure=load / (2.0 * half),
        line_load=load,
        clamp_share=share[()],
        indentation=reached,
        lift_to_leave=np.minimum(height, reached)[()],
        wire_material=wire_material,
        receiver_material=receiver_material,
        temper=temper,
    )
    return _judged(made)


def _judged(r: WireRing) -> WireRing:
    """The ring with its faults and warnings in words; for arrays, each that applies anywhere."""
    (softest, _, bears, _), (_, hardest, _, _) = (
        face_hardness.si(material) for material in (r.wire_material, r.receiver_material)
    )
    rows = tables.load("grooves")
    wide, deep = rows["receiver width"], rows["receiver depth"]
    later, earlier = (
        rows[f"protrusion, {text} text"]["share_high"] * (1 + 1e-9) for text in ("later", "earlier")
    )
    d, rw, rd, proud = r.wire_diameter, r.receiver_width, r.receiver_depth, r.protrusion
    share, has, of_copper = r.clamp_share, r.receiver_area > 0, r.protrusion_share
    half = flow.contact_half_width.si(np.minimum(proud, 0.5 * d), 0.5 * d)

    def beyond(value: Any, row: Any, of: Any) -> Any:
        low, high = row["share_low"] * of - _READ, row["share_high"] * of + _READ
        return has & ((value < low) | (value > high))

    with np.errstate(invalid="ignore"):
        found = {
            "loose": r.interference <= 0,
            "not_held": proud >= 0.5 * d,
            "cut_through": proud >= r.copper_thickness,
            "no_room": has & (r.spare < 0),
            "sheared": has & (rw <= 2 * half),
            "too_deep": has & (rd >= r.copper_thickness),
            "not_seated": share > MODEL_SPREAD,
            "no_receiver": ~has,
            "width": beyond(rw, wide, d),
            "depth": beyond(rd, deep, proud),
            "proud": of_copper > later,
            "whole_clamp": (share > 1) & (share <= MODEL_SPREAD),
            "sinks": r.forming_pressure > bears,
            "soft": hardest < softest,
            "temper": r.temper != "annealed",
            "disputed": (of_copper > earlier) & (of_copper <= later),
        }
    named = {"spread": f"{MODEL_SPREAD:g}", "wide": wide["what"], "deep": deep["what"]}
    against, mind = (
        tuple(
            words.format(temper=r.temper, **named)
            for name, words in _WORDS[sort].items()
            if np.any(found[name])
        )
        for sort in _IN_WORDS
    )
    return dataclasses.replace(r, faults=against, warnings=mind)


# --------------------------------------------------------------------------- shop practice
@dataclass(frozen=True)
class Practice:
    """One shop figure, beside what this ring has."""

    # topic, what: in words
    topic: str
    what: str
    # low, high: the figure worked out for this ring [m]; None where it is no number
    low: Any = field("length")
    high: Any = field("length")
    yours: Any = field("length")  # what this ring has [m]; None where it is no number
    within: str = ""  # "yes", "no: below", "no: above" or ""
    source: str = ""
    status: str = ""
    note: str = ""


@with_units(returns="fields")
def practice(ring: WireRing) -> tuple[Practice, ...]:
    """Shop figures from the table grooves side by side, conflicts included, against this ring [3].

    Raises InputError for a ring made of arrays.

    Parameters
    ----------
    ring : one ring from `wire_ring`
    """
    r = ring.alone()
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
            below, above = yours < low - _READ, yours > high + _READ
            within = "no: below" if below else "no: above" if above else "yes"
        said = (row["source"], row["status"], row["note"])
        out.append(Practice(row["topic"], row["what"], low, high, yours, within, *said))
    return tuple(out)
