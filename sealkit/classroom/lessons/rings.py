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
from sealkit.classroom.drawing.plot import Axes, Curve, Plot
from sealkit.classroom.drawing.shown import Shown, scrolling
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons.text import Text, joined
from sealkit.classroom.panel.scene import Knob, Pick, Rows
from sealkit.drawing.ring import drawing
from sealkit.report import kept_report, ranking
from sealkit.sealing import grooves
from sealkit.sealing.constructions import CopperWireRing
from sealkit.sealing.grooves import WireRing
from sealkit.units import from_si, to_si
from sealkit.words import Note

TEXT = Text(__file__)
CHECKS = TEXT.checks
TEMPERS = tuple(grooves.TEMPERS)


@functools.lru_cache(maxsize=8)
def on(build: Build) -> Build:
    """The same engine with a copper gasket and wire ring."""
    return ranking.with_construction(build, CopperWireRing.name)


def standard(build: Build, temper: str = TEMPERS[0], **changes: float) -> RingInJoint:
    """The ring of the shop's usual sizes in this engine's copper, with some changed (m)."""
    return analysis.ring_at(on(build), **analysis.usual_sizes(on(build)) | changes, temper=temper)


# --------------------------------------------------------------------------- the panel
_ENDS = {
    "wire_diameter": ("Wire diameter", "0.036 in", "0.052 in"),
    "groove_depth": ("Groove depth", "0.027 in", "0.039 in"),
    "receiver_width": ("Receiver width", "0.030 in", "0.075 in"),
    "receiver_depth": ("Receiver depth", "0 in", "0.012 in"),
    "sheet_thickness": ("Copper thickness", "0.032 in", "0.080 in"),
}


def _knobs(build: Build) -> Sequence[Knob]:
    knobs = []
    for name, now in analysis.usual_sizes(on(build)).items():
        words, *ends = _ENDS[name]
        low, _, high = sorted([now, *(float(to_si(end, "length")) for end in ends)])
        knobs.append(Knob(name, words, "length", now, low, high))
    return tuple(knobs)


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
              side="top left", ghost=True),
        Curve("clamp", "clamp there is", "clamp", 0, dash="dash", share=0.0, level=True),
        Curve("load now", "this ring", "lift", 0, "ring.line_load", _HERE, marker=True,
              side="top left"),
        Curve("pushed", "pushed out", "seal load", 1, "curve.displaced_area", share=0.85,
              side="top left"),
        Curve("room", "room", "strength", 1, "ring.receiver_area", dash="dash", share=0.0,
              level=True),
        Curve("pushed now", "this ring", "lift", 1, "ring.displaced_area", _HERE, marker=True,
              bare=True),
        Curve("height", "copper stands", "seal load", 2, "curve.lift_to_leave", share=1.0,
              raised=True, side="top left", text=_stands),
        Curve("lift", "head lifts at peak", "lift", 2, dash="dash", share=1.0, side="top left",
              level=True, short="head lifts"),
        Curve("height now", "this ring", "lift", 2, "ring.lift_to_leave", _HERE, marker=True,
              bare=True),
    ),
    height=760,
)  # fmt: skip


# --------------------------------------------------------------------------- in words
def _taken(ring: WireRing) -> Note:
    """Share of the clamp that pressing the wire home takes, and how sure that is."""
    spread = grooves.MODEL_SPREAD
    unsure = ", so it may not go home" if ring.seating_unsure else ""
    return TEXT.note("taken", locals())


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
        return "WORKS BEFORE HEAT, WITH A WARNING", None
    return "THE RING WORKS BEFORE HEAT", True


def _told(one: RingInJoint) -> Names:
    ring, (word, good) = one.ring, _verdict(one)
    taken, receiver = _taken(ring), float(ring.receiver_area) > 0
    every = "; ".join(ring.faults)
    faults = f"{every[:1].upper()}{every[1:]}"
    first = f"{ring.faults[0]} and more" if ring.faults[1:] else every
    parts = ["home", "pushed"] if receiver else ["home"]
    parts = ["fault", *parts] if ring.faults else [*parts, "held"]
    parts += ["warning"] if good is None else []
    known = locals()
    said = joined(TEXT.note(part, known) for part in parts)
    rest = TEXT.note("but" if ring.faults else "left", locals())
    sound = not ring.faults or None  # no tick beside a fault
    presses, stays, enough = float(ring.clamp_share) <= 1.0, one.kept and sound, one.holds and sound
    spare, fits = float(ring.spare) if receiver else None, float(ring.spare) >= 0 and sound
    return locals()


def _behind(one: RingInJoint) -> Names:
    """What the tables tell beside."""
    ring = one.ring
    return {"told": [("fault", w) for w in ring.faults] + [("warning", w) for w in ring.warnings]}


def _rings(every: Mapping[str, RingInJoint]) -> Names:
    rows = [
        {"words": words, "one": one, "ring": one.ring, "taken": _taken(one.ring)}
        | {"first": (*one.ring.faults, *one.ring.warnings, "nothing")[0]}
        for words, one in every.items()
    ]
    return {"rings": rows}


def _practice(build: Build, one: RingInJoint, system: str) -> Mapping[str, Rows]:
    practice = [p for p in grooves.practice.si(one.ring) if p.within]
    return TEXT.table("practice", locals(), system)


def _drawing(one: RingInJoint, system: str) -> str:
    """The ring to scale; on a narrow screen it scrolls, so that its sizes can be read."""
    drawn = drawing(one.ring, system, analysis.ring_faces(one.build)[0])
    return scrolling("Section of the ring", f"<div style='min-width:280px'>{drawn}</div>")


def _shown(one: RingInJoint, system: str) -> str:
    """The drawing with the warning that the verdict speaks of below it."""
    drawn = _drawing(one, system)
    if _verdict(one)[1] is not None:
        return drawn
    below = f"<figcaption>Warning: {html.escape(one.ring.warnings[0])}.</figcaption>"
    return f"<figure style='margin:0'>{drawn}{below}</figure>"


SCENE = TEXT.scene(
    _told,
    _behind,
    knobs=_knobs,
    picks=lambda build: (Pick("temper", "Copper is", TEMPERS, TEMPERS[0]),),
    work=lambda build, free: analysis.ring_at(
        on(build), **{name: float(free[name]) for name in _ENDS}, temper=str(free["temper"])
    ),
    plot=PLOT,
    joint=lambda one: kept_report(one.build),
    drawing=_shown,
    buttons={"Compare with shop figures": _practice},
)


# --------------------------------------------------------------------------- the cells
def picture(build: Build, system: str | None = None) -> Shown:
    """The ring of the shop's usual sizes in section, to scale."""
    one, system = standard(build), system or build.system
    drawn = f"<div style='max-width:640px'>{_drawing(one, system)}</div>"
    return Shown(drawn, str(SCENE.sentence(one, system)))


def sizes(build: Build) -> tuple[Any, ...]:
    """Usual wire, depth of its groove, copper, width and depth of the receiver, with units."""
    usual = analysis.usual_sizes(on(build))
    names = ("wire_diameter", "groove_depth", "sheet_thickness", "receiver_width", "receiver_depth")
    return tuple(from_si(usual[name], "length").to("in") for name in names)


def told(build: Build, system: str | None = None) -> str:
    """The clamp there is for the wire, and what the ring of usual sizes takes of it."""
    one = standard(build)
    return TEXT.note("clamp", _told(one)).text(system or build.system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("06", names=lambda build: _told(standard(build)))
answer = EXERCISES.answer


@EXERCISES.solver("deeper")
def _(build: Build, system: str) -> Names:
    now, deeper = standard(build), float(to_si("0.004 in", "length"))  # invented
    then = standard(build, groove_depth=float(now.ring.groove_depth) + deeper)
    ring, load = now.ring, float(now.ring.line_load)
    prouder = ring.protrusion + deeper
    rows = TEXT.rows("deeper", _rings({"groove as usual": now, "groove deeper": then}))
    return locals()


@EXERCISES.solver("hard")
def _(build: Build, system: str) -> Names:
    tempers = {temper: standard(build, temper=temper) for temper in TEMPERS}
    soft = float(tempers["annealed"].ring.line_load)
    proof = {temper: tables.load("flow")[f"copper, {temper}"]["proof"] for temper in TEMPERS}
    by_strength_where_it_begins = soft * proof["hard"] / proof["annealed"]
    rows = TEXT.rows("tempers", _rings(tempers))
    return locals()


@EXERCISES.solver("where")
def _(build: Build, system: str) -> Names:
    hardness, head, block = tables.load("face_hardness"), build.head.material, build.block.material
    if not {head, block} <= set(hardness) or not grooves.groove_faces(head, block).decided:
        head, block = "A356-T6", "grey iron"  # a usual pair to choose between
    chosen = grooves.groove_faces(head, block)
    right = f"wire in the {chosen.wire}"
    figures = dataclasses.asdict(chosen)
    return locals()
