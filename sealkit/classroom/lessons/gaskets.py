"""Lesson 04, five ways to build a gasket: its panel, its pictures and its exercises."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from sealkit import analysis
from sealkit.build import Build
from sealkit.classroom.drawing import charts
from sealkit.classroom.drawing.gallery import gallery
from sealkit.classroom.drawing.plot import CRANK
from sealkit.classroom.drawing.seal_chart import PLOT
from sealkit.classroom.drawing.shown import Shown, cells
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Guess, Knob, Rows, Scene, Sentence, Tile
from sealkit.drawing import sections
from sealkit.report import ranking
from sealkit.report.seal_view import SealView, seal_on
from sealkit.sealing import constructions
from sealkit.sealing.constructions.layered_steel import LayeredSteel
from sealkit.units import from_si, parse
from sealkit.words import Note, figure_text, note

CHECKS = {
    "sheet-tests": ["F36-compressibility", "F36-recovery"],
    "bead": ["B3-stiffness", "B3-plastic", "B3-springback"],
    "criteria": ["B2-push", "B2-friction", "C1-residual", "M1-copper-factor"],
}
FIBRE = "fibre composite"


# --------------------------------------------------------------------------- the panel
def _knobs(build: Build) -> Sequence[Knob]:
    low, high = (float(end) for end in np.radians(CRANK))
    worst = min(max(seal_on(build).angle, low), high)
    return (
        Knob("crank_angle", "Crank angle", "angle", worst, low, high),
        controls.boost(build),
        controls.tightening(build),
    )


def _figures(one: SealView) -> dict[str, Figure]:
    """What the sentences on a seal quote."""
    return {
        "angle": (one.angle, "angle"),
        "gas": (float(one.gas()), "gauge pressure", 1),
        "lift": (float(one.lift()), "lift"),
        "springback": (one.springback, "lift"),
        "state": "still touches" if one.touches else "no longer touches",
        "before": (one.before, one.kind),
        "left": (float(one.left()), one.kind),
        "wanted": (float(one.wanted()), one.kind),
    }


_UNSEATED = "At assembly the {seal} got {got} and wants {wants} to seat. "
_HERE = (
    "At {angle} the gas stands at {gas}; the head has lifted {lift} and the seal springs back "
    "{springback}: it {state}. Of {before} before firing {left} is left, and {wanted} is wanted. "
)
_WORST = "Worst at {angle}: {left} left, {wanted} wanted (low preload, {temperature})."
_NOW_WORST = "Nowhere in the cycle is the reserve smaller."
_OVER_RING = (
    " The body is made {over} thicker than the ring, within {tolerance}: thicker still, "
    "and it takes the clamp from the ring."
)
_BELOW = (
    "At {angle} the head has lifted {lift} here; the seal springs back {springback} and {state}. "
    "{left} is left, {wanted} wanted."
)
_SCALE = " The gap is drawn much too large; nothing is to scale."


def _at_worst(one: SealView) -> SealView:
    return replace(one, place=one.worst, angle=float(one.crank_angle[one.worst]))


def _verdict(one: SealView) -> tuple[str, bool]:
    if one.unseated is not None:
        return "LEAKS FROM THE START", False
    if not one.holds():
        return "GAS PASSES HERE", False
    if not one.holds(one.worst):
        return "HOLDS HERE, NOT OVER THE WHOLE CYCLE", False
    return "THE SEAL HOLDS", True


def _sentence(one: SealView, system: str) -> Sentence:
    word, good = _verdict(one)
    worst = _at_worst(one)
    parts = [
        note(_HERE, **_figures(one)),
        note(_WORST, temperature=str(one.report.temperature), **_figures(worst)),
    ]
    seating = one.unseated
    if seating is not None:
        got, wants = ((float(v), one.kind) for v in (seating.capacity, seating.demand))
        parts.insert(0, note(_UNSEATED, seal=one.seal.name, got=got, wants=wants))
    over = analysis.body_over_ring(one.report.build)
    if over is not None:
        tolerance = one.report.build.gasket.body_tolerance
        parts.append(note(_OVER_RING, over=(over, "length"), tolerance=(tolerance, "length")))
    line = note(
        "left, {wanted} wanted. "
        + (_NOW_WORST if one.place == one.worst else "Worst at {angle}: {left}, {least} wanted."),
        wanted=_figures(one)["wanted"],
        angle=_figures(worst)["angle"],
        left=_figures(worst)["left"],
        least=_figures(worst)["wanted"],
    ).text(system)
    number = figure_text(_figures(one)["left"], system)
    return Sentence(word, "".join(part.text(system) for part in parts), good, number, line)


def _tiles(one: SealView) -> Sequence[Tile]:
    told, sound = _figures(one), (one.unseated is None and one.holds()) or None
    return (
        ("gas now", told["gas"], None),
        ("the head lifts", told["lift"], one.touches and sound),
        ("the seal springs back", told["springback"], None),
        ("before firing", told["before"], None),
        ("load left", told["left"], one.holds() and sound),
        ("load wanted", told["wanted"], None),
    )


def _now_rows(one: SealView) -> list[dict[str, Figure]]:
    columns = {"now": one.place, "at its worst": one.worst}
    rows: list[tuple[str, Any, tuple[Any, ...]]] = [
        ("crank angle", lambda at: one.crank_angle[at], ("angle",)),
        ("gas pressure", one.gas, ("gauge pressure", 1)),
        ("lift of the head at the seal", one.lift, ("lift",)),
        ("seal springs back", lambda _: one.springback, ("lift",)),
        ("load before firing", lambda _: one.before, (one.kind,)),
        ("load left", one.left, (one.kind,)),
        ("load wanted", one.wanted, (one.kind,)),
    ]
    return [
        {"the seal": words, **{k: (float(get(at)), *kind) for k, at in columns.items()}}
        for words, get, kind in rows
    ]


def _zone_rows(one: SealView) -> list[dict[str, Figure]]:
    sealing = one.report.sealing
    tops = {name: float(top[0]) for name, top in sealing.zone_tops.items()}
    crept, first = sealing.zone_sets, one.report.clamp.before_creep.zone_sets
    return [
        {
            "zone": zone.name,
            "free thickness": (zone.free_thickness, "length"),
            "pressed by": (tops[zone.name], "lift"),
            "springs back": (float(zone.recovery(tops[zone.name])), "lift"),
            "crept thinner by": (float(crept[zone.name][0] - first[zone.name][0]), "lift"),
            "load before firing": (float(sealing.zone_loads[zone.name][0]), zone.load_kind),
            "numbers": zone.status,
        }
        for zone in one.report.joint.gasket.zones
    ]


def _tables(one: SealView, system: str) -> Mapping[str, Rows]:
    return {
        "The seal, now and at its worst": cells(_now_rows(one), system),
        "Zones of this gasket": cells(_zone_rows(one), system),
    }


def _opening(one: SealView, system: str, more: str = "") -> sections.Opening:
    """The section of a seal, with what is said below it."""
    told = note(_BELOW + more, **_figures(one)).text(system)
    return sections.Opening(float(one.lift()), one.springback, told)


def _compared(build: Build) -> list[dict[str, Figure]]:
    """Every construction at its worst crank angle: how it is pressed, follows and holds."""
    rows: list[dict[str, Figure]] = []
    for name in constructions.names():
        one = seal_on(build, name)
        told = _figures(one)
        rows.append(
            {
                "gasket": name,
                "load before firing": told["before"],
                "head lifts": told["lift"],
                "springs back": told["springback"],
                "load left": told["left"],
                "load wanted": told["wanted"],
                "combustion seal": _verdict(one)[0].lower(),
            }
        )
    return rows


def _gaskets(build: Build, _: SealView, system: str) -> Mapping[str, Rows]:
    return {
        ranking.title(build): charts.gasket_rows(ranking.rank(build), system),
        "Their combustion seals, each at its worst crank angle": cells(_compared(build), system),
    }


def _question(one: SealView) -> Note:
    return note(
        "Before firing the seal carries {before}. It springs back {springback}, and the head lifts "
        "{lift}. How much is left on it?",
        **_figures(_at_worst(one)),
    )


def _why(one: SealView) -> Note:
    worst = _at_worst(one)
    risen = float(worst.lift())
    if risen >= worst.springback:
        return note("The head lifts farther than the seal springs back.")
    return note(
        "{part} of the springback is used up, and {gone} of the load with it.",
        part=(risen / worst.springback, "fraction", 0),
        gone=(1.0 - worst.share_kept, "fraction", 0),
    )


SCENE = Scene(
    name="gaskets",
    words="Line load of the combustion seal against how far it is pressed together, the way back "
    "as the head lifts, and the load left and wanted against crank angle",
    knobs=_knobs,
    picks=lambda build: (controls.gasket(build),),
    work=lambda build, free: seal_on(build, angle=float(free["crank_angle"])),
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    drawing=lambda one, system: sections.section(one.name, _opening(one, system, _SCALE)),
    scope="the combustion seal alone, now",
    tiles=_tiles,
    joint=lambda one: one.report,
    play="crank_angle",
    buttons={"Compare all gaskets on this engine": _gaskets},
    guess=Guess(
        _question,
        "left",
        "least",
        lambda one: one.kind,
        ("back", "now", "lifted", "at", "angle"),
        _why,
    ),
)


# --------------------------------------------------------------------------- the cells
def picture(build: Build, system: str = "metric") -> Shown:
    """All constructions in section, each at its worst crank angle on this engine."""
    views = {name: seal_on(build, name) for name in sections.SECTIONS}
    verdicts = {
        name: (word.lower(), good) for name, one in views.items() for word, good in (_verdict(one),)
    }
    openings = {name: _opening(one, system) for name, one in views.items()}
    return gallery(openings, views, verdicts, system)


def steel() -> tuple[Any, ...]:
    """Modulus, Poisson's ratio, yield strength, thickness and span of a beaded layer."""
    table = LayeredSteel.parameters()
    names = ("modulus", "poisson", "yield_strength", "layer_thickness", "bead_span")
    return tuple(parse(table[name].value, name) for name in names)


def worst_angle(build: Build) -> Any:
    """Crank angle at which the seal has least over what it wants, as a quantity."""
    return from_si(seal_on(build).angle, "angle")


_SPRINGS = (
    "{each} a layer, {all} for {layers} layers\n"
    "pressed flat a bead carries {flat}; from there a layer comes back {back}\n"
    "the head of {engine} lifts {lift} with {gasket}"
)


def springs(build: Build, system: str = "metric") -> str:
    """What the quotient gives, what a bead does pressed flat, what the head asks for, in words."""
    beads, one = LayeredSteel.from_table(), seal_on(build)
    return note(
        _SPRINGS,
        each=(replace(beads, active_layers=1.0).springback, "lift"),
        all=(beads.springback, "lift"),
        layers=f"{beads.active_layers:.0f}",
        flat=(beads.bead.flat_load, "line load"),
        back=(beads.bead.springback, "lift"),
        engine=build.sheet.name,
        lift=(float(one.lift()), "lift"),
        gasket=one.name,
    ).text(system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("04")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("way back")
def _(build: Build, system: str) -> Names:
    one = seal_on(build, FIBRE)
    lift = float(one.lift())
    left = one.left()
    pressing_curve_on_the_way_back = float(one.seal.loading(one.rest - lift))
    figures = _figures(one)
    rows = _now_rows(one)
    worked = "holds" if one.holds() else "leaks"
    return locals()


@EXERCISES.solver("keeps")
def _(build: Build, system: str) -> Names:
    every = {name: seal_on(build, name) for name in constructions.names()}
    one = max(every.values(), key=lambda s: s.share_kept)
    most = max(every.values(), key=lambda s: s.before)
    thicker_taken_for_safer = max(every, key=lambda n: every[n].seal.free_thickness)
    least_load_taken_for_least_lost = min(every, key=lambda n: every[n].before)
    figures: dict[str, Figure] = {**_figures(one), "load": (most.before, most.kind)}
    rows = _compared(build)
    options = tuple(every)
    return locals()


_THICKER = 0.30e-3  # m, invented: a thicker layer to compare with


@EXERCISES.solver("thicker")
def _(build: Build, system: str) -> Names:
    now = LayeredSteel.from_table()
    thicker = _THICKER
    then = replace(now, layer_thickness=thicker)
    one_layer_for_all = replace(then, active_layers=1.0).springback
    rows = [
        {
            "layer": (one.layer_thickness, "length"),
            "plastic line load": (one.bead.plastic_load, "line load"),
            "stiffness": (one.bead.stiffness, "modulus", 3),
            "springback, all layers": (one.springback, "lift"),
        }
        for one in (now, then)
    ]
    return locals()


@EXERCISES.solver("blow-out")
def _(build: Build, system: str) -> Names:
    one = seal_on(build, FIBRE)
    edge, peak, held = one.report.case.edge, float(one.gas(one.at_peak)), one.blow_out()
    pushed = float(held.push)
    return locals()


@EXERCISES.solver("used")
def _(build: Build, system: str) -> Names:
    one = seal_on(build, FIBRE)
    free, top = one.seal.free_thickness, one.top
    sprung = float(one.seal.recovery(top))
    rows = _zone_rows(one)
    return locals()
