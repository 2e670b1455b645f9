"""Lesson 06, wire rings and receiver grooves: its panel, its picture and its exercises."""

from __future__ import annotations

import dataclasses
import functools
import html
from collections.abc import Mapping, Sequence
from typing import Any

from sealkit import analysis, tables
from sealkit.analysis import RingInJoint
from sealkit.build import Build
from sealkit.classroom.drawing.gallery import ring_section
from sealkit.classroom.drawing.plot import Axes, Curve, Plot
from sealkit.classroom.drawing.shown import Shown, cells
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.lessons import tiles
from sealkit.classroom.panel.scene import Guess, Knob, Pick, Rows, Scene, Sentence
from sealkit.report import kept_report, ranking
from sealkit.sealing import grooves
from sealkit.sealing.constructions import CopperWireRing
from sealkit.sealing.grooves import WireRing
from sealkit.units import from_si, to_si
from sealkit.words import Note, note

CHECKS = {
    "indentation": ["I1-meyer"],
    "copper": ["W4-width", "F-0.10", "W4-load"],
    "grooves": ["S-flat-load", "S-receiver-load", "W10-area", "V-small-spare", "V-large-spare"],
}
TEMPERS = tuple(grooves.TEMPERS)
_RECEIVER = ("receiver_width", "receiver_depth")


@functools.lru_cache(maxsize=8)
def on(build: Build) -> Build:
    """The same engine with a copper gasket and wire ring."""
    return ranking.with_construction(build, CopperWireRing.name)


def standard(build: Build, temper: str = TEMPERS[0], **changes: float) -> RingInJoint:
    """The ring of the shop's usual sizes on this engine, with some of them changed (m)."""
    return analysis.ring_at(on(build), **analysis.usual_sizes() | changes, temper=temper)


# --------------------------------------------------------------------------- the panel
_ENDS = {
    "wire_diameter": ("Wire diameter", "0.036 in", "0.052 in"),
    "groove_depth": ("Groove depth", "0.027 in", "0.039 in"),
    "receiver_width": ("Receiver width", "0.030 in", "0.075 in"),
    "receiver_depth": ("Receiver depth", "0 in", "0.012 in"),
    "sheet_thickness": ("Copper thickness", "0.032 in", "0.080 in"),
}


def _knobs(build: Build) -> Sequence[Knob]:
    usual = analysis.usual_sizes()
    return tuple(
        Knob(name, words, "length", usual[name], *(float(to_si(end, "length")) for end in ends))
        for name, (words, *ends) in _ENDS.items()
    )


_PROUD: Any = {"x_kind": "length", "grid": "curve.protrusion", "x_room": 0.03}
_HERE = "ring.protrusion"


def _stands(one: RingInJoint, _: str) -> list[str]:
    """The name at the end of its line; where there is no receiver, none."""
    name = "copper stands" if float(one.ring.receiver_area) > 0 else ""
    return [""] * (len(one.curve.protrusion) - 1) + [name]


PLOT = Plot(
    charts=(
        Axes("Load to form copper", "line load", **_PROUD),
        Axes("Copper and its room", "area", **_PROUD),
        Axes("Copper in the receiver", "lift", "Wire stands proud by", **_PROUD),
    ),
    curves=(
        Curve("load", "to press it home", "seal load", 0, "curve.line_load", share=1.0,
              place="top left", ghost=True),
        Curve("clamp", "clamp there is", "clamp", 0, dash="dash", share=0.0, level=True),
        Curve("load now", "this ring", "lift", 0, "ring.line_load", _HERE, marker=True,
              place="top left"),
        Curve("pushed", "pushed out", "seal load", 1, "curve.displaced_area", share=0.85,
              place="top left"),
        Curve("room", "room", "strength", 1, "ring.receiver_area", dash="dash", share=0.0,
              level=True),
        Curve("pushed now", "this ring", "lift", 1, "ring.displaced_area", _HERE, marker=True,
              bare=True),
        Curve("height", "copper stands", "seal load", 2, "curve.lift_to_leave", share=1.0,
              raised=True, place="top left", text=_stands),
        Curve("lift", "head lifts at peak", "lift", 2, dash="dash", share=1.0, place="top left",
              level=True, short="head lifts"),
        Curve("height now", "this ring", "lift", 2, "ring.lift_to_leave", _HERE, marker=True,
              bare=True),
    ),
    height=760,
)  # fmt: skip


# --------------------------------------------------------------------------- in words
_DECIMALS = {"length": {"metric": 3, "inch": 4}, "area": {"metric": 3, "inch": 6}}


def _small(value: Any, kind: str, system: str) -> Figure:
    """A small size as a figure, a decimal or two further than the shop reads a bore."""
    return float(value), kind, _DECIMALS[kind][system]


_TAKEN = "{share} of it, good to a factor of {spread} ({low} to {high})"
_UNSURE = ", so it may not go home"


def _taken(ring: WireRing) -> Note:
    """Share of the clamp that pressing the wire home takes, and how sure that is."""
    low, high = ring.clamp_share_range
    return note(
        _TAKEN + (_UNSURE if ring.seating_unsure else ""),
        share=(float(ring.clamp_share), "fraction", 0),
        spread=f"{grooves.MODEL_SPREAD:g}",
        low=(float(low), "fraction", 0),
        high=(float(high), "fraction", 0),
    )


_HOME = (
    "The wire stands proud by {proud}. Pressing it home takes {load} of the {clamp} there is: "
    "{taken}."
)
_PUSHED = "It pushes out {pushed} of copper into {room} of receiver."
_HELD = (
    "At peak the head lifts {lift}; the copper stands {height} deep in the receiver. {left} is "
    "left on the wire, {wanted} is wanted."
)


def _verdict(one: RingInJoint) -> tuple[str, bool | None]:
    ring = one.ring
    if ring.faults:
        crowded = float(ring.spare) < 0
        return "NO ROOM FOR THE COPPER" if crowded else "THE RING DOES NOT WORK", False
    if not one.holds:
        return "TOO LITTLE LOAD LEFT", False
    if not float(ring.receiver_area) > 0:
        return "NO RECEIVER HOLDS THE COPPER", False
    if not one.kept:
        return "THE COPPER LEAVES THE RECEIVER", False
    if ring.warnings:
        return "WORKS, WITH A WARNING", None
    return "THE RING WORKS", True


def _sentence(one: RingInJoint, system: str) -> Sentence:
    ring, (word, good) = one.ring, _verdict(one)
    parts = [_HOME, _PUSHED] if float(ring.receiver_area) > 0 else [_HOME]
    parts = ["{fault}.", *parts] if ring.faults else [*parts, _HELD]
    if good is None:
        parts.append("Warning: {warning}.")
    fault = "; ".join(ring.faults)
    at_peak: Any = {"left": (one.left, "line load"), "wanted": (one.wanted, "line load")}
    words = note(
        " ".join(parts),
        fault=f"{fault[:1].upper()}{fault[1:]}",
        warning="".join(ring.warnings[:1]),
        proud=_small(ring.protrusion, "length", system),
        load=(float(ring.line_load), "line load"),
        clamp=(one.clamp, "line load"),
        taken=_taken(ring),
        pushed=_small(ring.displaced_area, "area", system),
        room=_small(ring.receiver_area, "area", system),
        lift=(one.lift, "lift"),
        height=(float(ring.lift_to_leave), "lift"),
        **at_peak,
    )
    line = note(
        "of the clamp presses the wire home"
        + (", but {fault}." if fault else ". At peak {left} is left, {wanted} wanted."),
        fault=" and ".join((*ring.faults[:1], *(["more"] if ring.faults[1:] else []))),
        **at_peak,
    ).text(system)
    number = f"{100 * float(ring.clamp_share):.0f} %"
    return Sentence(word, words.text(system), good, number, line)


def _ring_rows(one: RingInJoint, system: str) -> list[dict[str, Figure]]:
    r = one.ring
    peak = note("at {peak}", peak=(one.design_peak, "pressure"))
    rows: list[tuple[str, Figure, Figure]] = [
        ("wire stands proud", _small(r.protrusion, "length", system), ""),
        ("of the copper thickness", (float(r.protrusion_share), "fraction"), ""),
        ("groove narrower than the wire by", (float(r.interference), "lift"), "held by friction"),
        ("line load to press it home", (float(r.line_load), "line load"), _taken(r)),
        ("clamp per length, low end", (one.clamp, "line load"), "while tightening"),
        ("pressed in with that clamp", _small(r.indentation, "length", system), ""),
        ("copper pushed out", _small(r.displaced_area, "area", system), "per length of wire"),
        ("room in the receiver", _small(r.receiver_area, "area", system), "per length of wire"),
        ("lift before the copper leaves", (float(r.lift_to_leave), "lift"), ""),
        ("head lifts at peak", (one.lift, "lift"), peak),
        ("faces and copper spring back", (one.springback, "lift"), ""),
        ("load left at peak", (one.left, "line load"), ""),
        ("load wanted at peak", (one.wanted, "line load"), ""),
        ("cut the wire to", (float(r.wire_length), "length"), "round the ring, ends butting"),
    ]
    return [{"the ring": words, "value": value, "note": told} for words, value, told in rows]


def _tables(one: RingInJoint, system: str) -> Mapping[str, Rows]:
    said = [("fault", w) for w in one.ring.faults] + [("warning", w) for w in one.ring.warnings]
    return {
        "Faults and warnings": [{"what is said": w, "weight": weight} for weight, w in said],
        "This ring on this engine": cells(_ring_rows(one, system), system),
    }


def _practice(build: Build, one: RingInJoint, system: str) -> Mapping[str, Rows]:
    rows: list[dict[str, Figure]] = [
        {
            "size": p.topic,
            "shop figure": p.what,
            "for this ring": note(
                "{low} to {high}", low=(p.low, "length"), high=(p.high, "length")
            ),
            "yours": (p.yours, "length"),
            "inside": p.within,
            "status": p.status,
        }
        for p in grooves.practice.si(one.ring)
        if p.within
    ]
    return {"Shop figures, conflicts included": cells(rows, system)}


def _drawing(one: RingInJoint, system: str) -> str:
    return ring_section(one.ring, system, analysis.ring_faces(one.build)[0])


def _told(one: RingInJoint, system: str) -> str:
    """The drawing with the warning that the verdict speaks of below it."""
    drawn = _drawing(one, system)
    if _verdict(one)[1] is not None:
        return drawn
    below = f"<figcaption>Warning: {html.escape(one.ring.warnings[0])}.</figcaption>"
    return f"<figure style='margin:0'>{drawn}{below}</figure>"


def _question(one: RingInJoint) -> Note:
    return note(
        "The wire stands proud by {proud}, and the clamp has {clamp}. How much of it does pressing "
        "the wire home take?",
        proud=(float(one.ring.protrusion), "length"),
        clamp=(one.clamp, "line load"),
    )


def _why(one: RingInJoint) -> Note:
    return note("That is {taken}.", taken=_taken(one.ring))


SCENE = Scene(
    name="rings",
    words="Load to press the wire home, copper pushed out against the room in the receiver, and "
    "copper standing in the receiver against lift, over how far the wire stands proud",
    knobs=_knobs,
    picks=lambda build: (Pick("temper", "Copper is", TEMPERS, TEMPERS[0]),),
    work=lambda build, free: analysis.ring_at(
        on(build), **{name: float(free[name]) for name in _ENDS}, temper=str(free["temper"])
    ),
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    scope="the wire ring",
    joint=lambda one: kept_report(one.build),
    tiles=tiles.ring,
    drawing=_told,
    buttons={"Compare with shop figures": _practice},
    guess=Guess(_question, "load now", "0", "line load", ("load",), _why),
)


# --------------------------------------------------------------------------- the cells
def picture(build: Build, system: str | None = None) -> Shown:
    """The ring of the shop's usual sizes in section, to scale."""
    one, system = standard(build), system or build.system
    drawn = f"<div style='max-width:640px'>{_drawing(one, system)}</div>"
    return Shown(drawn, str(_sentence(one, system)))


def sizes() -> tuple[Any, ...]:
    """Usual wire, depth of its groove, copper, width and depth of the receiver, with units."""
    usual = analysis.usual_sizes()
    names = ("wire_diameter", "groove_depth", "sheet_thickness", *_RECEIVER)
    return tuple(from_si(usual[name], "length").to("in") for name in names)


_CLAMP = (
    "{force} of clamp at the low end, over {length} of wire: {clamp} there is; forming takes "
    "{taken}. It is the largest single share of the clamp on this deck, and the least sure number "
    "here"
)


def told(build: Build, system: str | None = None) -> str:
    """The clamp there is for the wire, and what the ring of usual sizes takes of it."""
    one = standard(build)
    return note(
        _CLAMP,
        force=(one.force, "force"),
        length=(float(one.ring.wire_length), "length"),
        clamp=(one.clamp, "line load"),
        taken=_taken(one.ring),
    ).text(system or build.system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("06")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("leave")
def _(build: Build, system: str) -> Names:
    one = standard(build)
    ring = one.ring
    pushed = _small(ring.displaced_area, "area", system)
    width = _small(ring.receiver_width, "length", system)
    depth = _small(ring.receiver_depth, "length", system)
    return locals()


_DEEPER = float(to_si("0.004 in", "length"))  # invented: groove cut deeper by this


@EXERCISES.solver("deeper")
def _(build: Build, system: str) -> Names:
    now = standard(build)
    then = standard(build, groove_depth=float(now.ring.groove_depth) + _DEEPER)
    ring, load = now.ring, float(now.ring.line_load)
    prouder = ring.protrusion + _DEEPER
    deeper = _small(_DEEPER, "length", system)
    rows = [
        {
            "ring": words,
            "wire stands proud": _small(one.ring.protrusion, "length", system),
            "to press it home": (float(one.ring.line_load), "line load"),
            "load left at peak": (one.left, "line load"),
            "load wanted": (one.wanted, "line load"),
            "copper in the receiver": (float(one.ring.lift_to_leave), "lift"),
        }
        for words, one in (("groove as usual", now), ("groove deeper", then))
    ]
    return locals()


def _proof(temper: str) -> float:
    return float(tables.load("flow")[f"copper, {temper}"]["proof"])


@EXERCISES.solver("hard")
def _(build: Build, system: str) -> Names:
    tempers = {temper: standard(build, temper=temper) for temper in TEMPERS}
    soft = float(tempers["annealed"].ring.line_load)
    by_strength_where_it_begins = soft * _proof("hard") / _proof("annealed")
    rows = [
        {
            "copper": temper,
            "to press the wire home": (float(one.ring.line_load), "line load"),
            "of the clamp there is": _taken(one.ring),
            "pressed in": _small(one.ring.indentation, "length", system),
            "what is said": (*one.ring.faults, *one.ring.warnings, "nothing")[0],
        }
        for temper, one in tempers.items()
    ]
    return locals()


@EXERCISES.solver("where")
def _(build: Build, system: str) -> Names:
    head, block = _pair(build)
    chosen = grooves.groove_faces(head, block)
    right = f"wire in the {chosen.wire}"
    figures = dataclasses.asdict(chosen)
    return locals()


def _pair(build: Build) -> tuple[str, str]:
    """Two faces to choose between: those of the build, or where both are alike, a usual pair."""
    known = tables.load("face_hardness")
    head, block = build.head.material, build.block.material
    if head in known and block in known and grooves.groove_faces(head, block).decided:
        return head, block
    return "A356-T6", "grey iron"
