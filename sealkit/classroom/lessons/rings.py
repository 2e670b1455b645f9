"""Lesson 06, wire rings and receiver grooves: its panel, its picture and its exercises."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis, tables
from sealkit import report as reports
from sealkit.analysis import RingInJoint
from sealkit.build import Build
from sealkit.classroom.drawing.plot import Axes, Curve, Plot
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Figure, Solved
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.report import Report, ranking
from sealkit.sealing import constructions, grooves, section
from sealkit.sealing.grooves import WireRing
from sealkit.units import Q, show, to_si

Array = NDArray[np.float64]

CHECKS = {
    "indentation": ["I1-meyer"],
    "copper": ["W4-width", "F-0.10"],
    "grooves": ["W8-line-load", "W8-force", "W10-area", "V-small-spare", "V-large-spare"],
}

NAME = "copper with wire ring"
_TEMPERS = tuple(grooves.TEMPERS)
_IN = 0.0254


# --------------------------------------------------------------------------- what is worked out
def on(build: Build) -> Build:
    """The same engine with a copper gasket and wire ring."""
    return ranking.with_construction(build, NAME)


@functools.lru_cache(maxsize=8)
def report_of(build: Build) -> Report:
    """The report on the engine with a copper gasket and wire ring, kept."""
    return reports.run(on(build))


_DECIMALS = {"length": {"metric": 3, "inch": 4}, "area": {"metric": 3, "inch": 6}}


def _fine(value: Any, kind: str, system: str) -> str:
    """A small size as text, a decimal or two further than the shop reads a bore."""
    return show(float(value), kind, system, _DECIMALS.get(kind, {}).get(system))


def _weighed(ring: WireRing) -> tuple[str, ...]:
    """Warnings, those on which the texts only disagree last."""
    return tuple(sorted(ring.warnings, key=lambda w: w.startswith("texts disagree")))


# --------------------------------------------------------------------------- the panel
def _usual(name: str) -> float:
    from sealkit.units import parse

    value = constructions.kind(NAME).parameters()[name].value
    return float(to_si(parse(value, name), "length", name))


def _knobs(build: Build) -> Sequence[Knob]:
    wire, proud = _usual("wire_diameter"), _usual("protrusion")
    return (
        Knob("wire_diameter", "Wire diameter", "length", wire, 0.036 * _IN, 0.052 * _IN),
        Knob("groove_depth", "Groove depth", "length", wire - proud, 0.027 * _IN, 0.0355 * _IN),
        Knob(
            "receiver_width",
            "Receiver width",
            "length",
            _usual("receiver_width"),
            0.030 * _IN,
            0.075 * _IN,
        ),
        Knob(
            "receiver_depth",
            "Receiver depth",
            "length",
            _usual("receiver_depth"),
            0.0,
            0.012 * _IN,
        ),
        Knob(
            "sheet_thickness",
            "Copper thickness",
            "length",
            _usual("sheet_thickness"),
            0.032 * _IN,
            0.080 * _IN,
        ),
    )


def _picks(build: Build) -> Sequence[Pick]:
    return (Pick("temper", "Copper is", _TEMPERS, _TEMPERS[0]),)


_SIZES = ("wire_diameter", "groove_depth", "receiver_width", "receiver_depth", "sheet_thickness")


def _work(build: Build, free: Free) -> RingInJoint:
    sizes = {name: float(free[name]) for name in _SIZES}
    return analysis.ring_at(on(build), **sizes, temper=str(free["temper"]))


def standard(build: Build, temper: str = "annealed", **changes: float) -> RingInJoint:
    """The ring of the shop's usual sizes on this engine, with some of them changed (m)."""
    sizes = {knob.path: knob.value for knob in _knobs(build)}
    sizes |= changes
    return analysis.ring_at(on(build), **sizes, temper=temper)


_PROUD: Any = {"x_kind": "length", "grid": "curve.protrusion", "x_room": 0.03}
_HERE = "ring.protrusion"
PLOT = Plot(
    charts=(
        Axes("Load to form copper", "line load", **_PROUD),
        Axes("Copper and its room", "area", **_PROUD),
        Axes("Copper in the receiver", "lift", "Wire stands proud by", **_PROUD),
    ),
    curves=(
        Curve("load", "to press it home", "seal load", 0, "curve.line_load", share=1.0,
              place="top left"),
        Curve("clamp", "clamp there is", "clamp", 0, dash="dash", share=0.0, level=True),
        Curve("load now", "this ring", "lift", 0, "ring.line_load", _HERE, marker=True,
              place="bottom right"),
        Curve("pushed", "pushed out", "seal load", 1, "curve.displaced_area", share=0.85,
              place="top left"),
        Curve("room", "room", "strength", 1, "ring.receiver_area", dash="dash", share=0.0,
              level=True),
        Curve("pushed now", "this ring", "lift", 1, "ring.displaced_area", _HERE, marker=True,
              place="bottom right"),
        Curve("height", "copper stands", "seal load", 2, "curve.lift_to_leave", share=1.0,
              place="top left"),
        Curve("lift", "head lifts at peak", "lift", 2, dash="dash", share=0.98, place="top left",
              level=True),
        Curve("height now", "this ring", "lift", 2, "ring.lift_to_leave", _HERE, marker=True,
              place="top left"),
    ),
    height=760,
)  # fmt: skip


def _sentence(one: RingInJoint, system: str) -> Sentence:
    ring = one.ring
    load = functools.partial(show, kind="line load", system=system)
    small = functools.partial(show, kind="lift", system=system)
    sizes = (
        f"The wire stands proud by {_fine(ring.protrusion, 'length', system)}. Pressing it "
        f"home takes {load(float(ring.line_load))} of the {load(one.clamp)} there is: "
        f"{_taken(ring)}. "
    )
    if float(ring.receiver_area) > 0:
        sizes += (
            f"It pushes out {_fine(ring.displaced_area, 'area', system)} of copper into "
            f"{_fine(ring.receiver_area, 'area', system)} of receiver. "
        )
    held = (
        f"At peak the head lifts {small(one.lift)}; the copper stands "
        f"{small(float(ring.lift_to_leave))} deep in the receiver. "
        f"{load(one.left)} is left on the wire, {load(one.wanted)} is wanted."
    )
    if ring.faults:
        first = ring.faults[0]
        return Sentence("THE RING DOES NOT WORK", f"{first[:1].upper()}{first[1:]}. {sizes}", False)
    if not one.holds:
        return Sentence("TOO LITTLE LOAD LEFT", sizes + held, False)
    if float(ring.receiver_area) == 0:
        return Sentence("NO RECEIVER HOLDS THE COPPER", sizes + held, False)
    if not one.kept:
        return Sentence("THE COPPER LEAVES THE RECEIVER", sizes + held, False)
    if ring.warnings:
        return Sentence(
            "WORKS, WITH A WARNING", f"{sizes}{held} Warning: {_weighed(ring)[0]}.", None
        )
    return Sentence("THE RING WORKS", sizes + held, True)


def _taken(ring: Any) -> str:
    """Share of the clamp that pressing the wire home takes, and how sure that is."""
    share, spread = float(ring.clamp_share), grooves.MODEL_SPREAD
    low, high = (show(x, "fraction", decimals=0) for x in (share / spread, share * spread))
    words = (
        f"{show(share, 'fraction', decimals=0)} of it, good to a factor of {spread:g} "
        f"({low} to {high})"
    )
    if share / spread <= 1.0 < share * spread:
        words += ", so it may not go home"
    return words


def _ring_rows(one: RingInJoint, system: str) -> Rows:
    r = one.ring
    room = float(r.receiver_area)
    named: list[tuple[str, float, str, str]] = [
        ("wire stands proud", float(r.protrusion), "length", ""),
        ("of the copper thickness", float(r.protrusion_share), "fraction", ""),
        ("groove narrower than the wire by", float(r.interference), "lift", "held by friction"),
        ("line load to press it home", float(r.line_load), "line load", _taken(r)),
        ("clamp per length, low end", one.clamp, "line load", "while tightening"),
        ("pressed in with that clamp", float(r.indentation), "length", ""),
        ("copper pushed out", float(r.displaced_area), "area", "per length of wire"),
        ("room in the receiver", room, "area", "per length of wire"),
        ("lift before the copper leaves", float(r.lift_to_leave), "lift", ""),
        ("head lifts at peak", one.lift, "lift", f"{one.design_peak / 1e5:.0f} bar"),
        ("faces and copper spring back", one.springback, "lift", ""),
        ("load left at peak", one.left, "line load", ""),
        ("load wanted at peak", one.wanted, "line load", ""),
        ("cut the wire to", float(r.wire_length), "length", "round the ring, ends butting"),
    ]
    peak = show(one.design_peak, "pressure", system)
    return [
        {
            "the ring": words,
            "value": show(value, kind, system)
            if words == "cut the wire to"
            else _fine(value, kind, system),
            "note": f"at {peak}" if words == "head lifts at peak" else note,
        }
        for words, value, kind, note in named
    ]


def _word_rows(one: RingInJoint, system: str) -> Rows:
    rows = [{"what is said": w, "weight": "fault"} for w in one.ring.faults]
    return [*rows, *({"what is said": w, "weight": "warning"} for w in _weighed(one.ring))]


def _practice(build: Build, one: RingInJoint, system: str) -> Mapping[str, Rows]:
    rows = []
    for p in grooves.practice.si(one.ring):
        if p.low is None or p.yours is None:
            continue
        rows.append(
            {
                "size": p.topic,
                "shop figure": p.what,
                "for this ring": f"{show(p.low, 'length', system)} to "
                f"{show(p.high, 'length', system)}",
                "yours": show(p.yours, "length", system),
                "inside": p.within,
                "status": p.status,
            }
        )
    return {"Shop figures, conflicts included": rows}


def _tables(one: RingInJoint, system: str) -> Mapping[str, Rows]:
    return {
        "Faults and warnings": _word_rows(one, system),
        "This ring on this engine": _ring_rows(one, system),
    }


def _drawing(one: RingInJoint, system: str) -> str:
    drawn = section.drawing(one.ring, system, analysis.ring_faces(one.build)[0])
    # on a narrow screen the drawing scrolls, so that its dimensions can be read
    return (
        "<div style='overflow-x:auto' tabindex='0' role='region' aria-label='Section of the ring'>"
        f"<div style='min-width:280px'>{drawn}</div></div>"
    )


SCENE = Scene(
    name="rings",
    words="Load to press the wire home, copper pushed out against the room in the receiver, and "
    "copper standing in the receiver against lift, over how far the wire stands proud",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    buttons={"Compare with shop figures": _practice},
)


# --------------------------------------------------------------------------- the idea
def picture(build: Build, system: str | None = None) -> Shown:
    """The ring of the shop's usual sizes in section, to scale."""
    one = standard(build)
    system = system or build.system
    told = str(_sentence(one, system))
    return Shown(f"<div style='max-width:640px'>{_drawing(one, system)}</div>", told)


# --------------------------------------------------------------------------- by hand
def sizes() -> tuple[Any, Any, Any, Any]:
    """Usual wire diameter, groove depth, receiver width and receiver depth, with units."""
    wire, proud = (Q(_usual(n), "m").to("in") for n in ("wire_diameter", "protrusion"))
    width, deep = (Q(_usual(n), "m").to("in") for n in ("receiver_width", "receiver_depth"))
    return wire, wire - proud, width, deep


def told(build: Build, system: str | None = None) -> str:
    """The clamp there is for the wire, and what the ring of usual sizes takes of it."""
    one = standard(build)
    system = system or build.system
    return (
        f"{show(one.force, 'force', system)} of clamp at the low end, over "
        f"{show(float(one.ring.wire_length), 'length', system)} of wire: "
        f"{show(one.clamp, 'line load', system)} there is; forming takes {_taken(one.ring)}. It is "
        "the largest single share of the clamp on this deck, and the least sure number here"
    )


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("06")
question, answer = EXERCISES.question, EXERCISES.answer


def _small(value: Any, kind: str, system: str) -> Figure:
    """A small size as a figure, a decimal or two further than the shop reads a bore."""
    return float(value), kind, _DECIMALS[kind][system]


@EXERCISES.solver("leave")
def _(build: Build, system: str) -> Solved:
    one = standard(build)
    ring = one.ring
    return Solved(
        float(ring.lift_to_leave),
        {
            "depth of the receiver": float(ring.receiver_depth),
            "receiver as wide as the wire": float(ring.displaced_area / ring.wire_diameter),
            "springback": one.springback,
            "protrusion of the wire": float(ring.protrusion),
        },
        {
            "pushed": _small(ring.displaced_area, "area", system),
            "width": _small(ring.receiver_width, "length", system),
            "depth": _small(ring.receiver_depth, "length", system),
            "lift": (one.lift, "lift"),
            "springback": (one.springback, "lift"),
            "spare": (float(ring.spare), "fraction", 0),
        },
    )


_DEEPER = 0.004 * _IN  # m, invented: groove cut deeper by this


@EXERCISES.solver("deeper")
def _(build: Build, system: str) -> Solved:
    now = standard(build)
    then = standard(build, groove_depth=float(now.ring.groove_depth) + _DEEPER)
    ring, load = now.ring, float(now.ring.line_load)
    prouder = float(ring.protrusion) + _DEEPER
    return Solved(
        float(then.ring.line_load),
        {
            "deeper groove, more bite": float(
                grooves.forming_line_load.si(float(ring.wire_diameter), prouder)
            ),
            "groove depth does not matter": load,
            "in proportion": load * float(then.ring.protrusion / ring.protrusion),
        },
        {"deeper": _small(_DEEPER, "length", system), "before": (load, "line load")},
        [
            {
                "ring": words,
                "wire stands proud": _small(one.ring.protrusion, "length", system),
                "to press it home": (float(one.ring.line_load), "line load"),
                "load left at peak": (one.left, "line load"),
                "load wanted": (one.wanted, "line load"),
                "copper in the receiver": (float(one.ring.lift_to_leave), "lift"),
            }
            for words, one in (("groove as usual", now), ("groove deeper", then))
        ],
    )


def _strength(temper: str) -> float:
    return float(tables.load("flow")[f"copper, {temper}"]["hardness"])


@EXERCISES.solver("hard")
def _(build: Build, system: str) -> Solved:
    tempers = {temper: standard(build, temper=temper) for temper in _TEMPERS}
    soft = float(tempers["annealed"].ring.line_load)
    return Solved(
        float(tempers["hard"].ring.line_load),
        {
            "annealing forgotten": soft,
            "by strength where it begins": soft * _strength("hard") / _strength("annealed"),
        },
        {"annealed": (soft, "line load")},
        [
            {
                "copper": temper,
                "to press the wire home": (float(one.ring.line_load), "line load"),
                "of the clamp there is": _taken(one.ring),
                "pressed in": _small(one.ring.indentation, "length", system),
                "what is said": (*one.ring.faults, *_weighed(one.ring), "nothing")[0],
            }
            for temper, one in tempers.items()
        ],
    )


@EXERCISES.solver("where")
def _(build: Build, system: str) -> Solved:
    head, block = _pair(build)
    chosen = grooves.groove_faces(head, block)
    return Solved(
        f"wire in the {chosen.wire}",
        figures={"head": head, "block": block, **dataclasses.asdict(chosen)},
    )


def _pair(build: Build) -> tuple[str, str]:
    """Two faces to choose between: those of the build, or where both are alike, a usual pair."""
    known = tables.load("face_hardness")
    head, block = build.head.material, build.block.material
    if head in known and block in known and grooves.groove_faces(head, block).decided:
        return head, block
    return "A356-T6", "grey iron"
