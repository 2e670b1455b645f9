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
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Knob, Rows
from sealkit.drawing import sections
from sealkit.report.seal_view import SealView, seal_on
from sealkit.sealing import constructions
from sealkit.sealing.constructions.layered_steel import LayeredSteel
from sealkit.units import from_si, parse

TEXT = Text(__file__)
CHECKS = TEXT.checks
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


def _told(one: SealView) -> Names:
    (word, good), worst = _verdict(one), _figures(_at_worst(one))
    seating, thicker = one.unseated, analysis.body_over_ring(one.report.build)
    unseated = TEXT.note("unseated", locals(), seating is not None)
    over = TEXT.note("over", locals(), thicker is not None)
    or_worst = TEXT.note("no worse" if one.place == one.worst else "worst", locals())
    sound = (seating is None and one.holds()) or None
    follows, enough = one.touches and sound, one.holds() and sound
    risen, kept = float(_at_worst(one).lift()), _at_worst(one).share_kept
    why = TEXT.note("farther" if risen >= one.springback else "part", locals())
    return _figures(one) | locals()


def _zones(one: SealView) -> Names:
    sealing = one.report.sealing
    tops = {name: float(top[0]) for name, top in sealing.zone_tops.items()}
    crept, first = sealing.zone_sets, one.report.clamp.before_creep.zone_sets
    zones = [
        {
            "zone": zone,
            "pressed": tops[zone.name],
            "back": zone.recovery(tops[zone.name]),
            "thinner": crept[zone.name][0] - first[zone.name][0],
            "load": (float(sealing.zone_loads[zone.name][0]), zone.load_kind),
        }
        for zone in one.report.joint.gasket.zones
    ]
    return {"zones": zones}


def _opening(one: SealView, system: str, more: str = "") -> sections.Opening:
    """The section of a seal, with what is said below it."""
    said = TEXT.note("below", _figures(one) | {"more": more}).text(system)
    return sections.Opening(float(one.lift()), one.springback, said)


def _compared(build: Build) -> Names:
    """Every construction at its worst crank angle: how it is pressed, follows and holds."""
    views = {name: seal_on(build, name) for name in constructions.names()}
    seals = [
        {"name": name, "verdict": _verdict(one)[0].lower(), **_figures(one)}
        for name, one in views.items()
    ]
    return {"seals": seals}


def _gaskets(build: Build, _: SealView, system: str) -> Mapping[str, Rows]:
    return charts.gaskets(build, system) | TEXT.table("compared", _compared(build), system)


_SCALE = " The gap is drawn much too large; nothing is to scale."
SCENE = TEXT.scene(
    _told,
    _zones,
    knobs=_knobs,
    picks=lambda build: (controls.gasket(build),),
    work=lambda build, free: seal_on(build, angle=float(free["crank_angle"])),
    plot=PLOT,
    drawing=lambda one, system: sections.section(one.name, _opening(one, system, _SCALE)),
    joint=lambda one: one.report,
    buttons={"Compare all gaskets on this engine": _gaskets},
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
    return tuple(parse(table[name]["value"], name) for name in names)


def worst_angle(build: Build) -> Any:
    """Crank angle at which the seal has least over what it wants, as a quantity."""
    return from_si(seal_on(build).angle, "angle")


def springs(build: Build, system: str = "metric") -> str:
    """What the quotient gives, what a bead does pressed flat, what the head asks for, in words."""
    beads, one = LayeredSteel.from_table(), seal_on(build)
    layer, lift, engine = replace(beads, active_layers=1.0).springback, one.lift(), build.sheet.name
    return TEXT.note("springs", locals()).text(system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("04")
answer = EXERCISES.answer


@EXERCISES.solver("way back")
def _(build: Build, system: str) -> Names:
    one = seal_on(build, FIBRE)
    lift = float(one.lift())
    left = one.left()
    pressing_curve_on_the_way_back = float(one.seal.loading(one.rest - lift))
    figures = _figures(one)
    rows = TEXT.rows("now", _told(one))
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
    rows = TEXT.rows("compared", _compared(build))
    options = tuple(every)
    return locals()


@EXERCISES.solver("thicker")
def _(build: Build, system: str) -> Names:
    now = LayeredSteel.from_table()
    thicker = 0.30e-3  # m, invented: a thicker layer to compare with
    then = replace(now, layer_thickness=thicker)
    one_layer_for_all = replace(then, active_layers=1.0).springback
    rows = TEXT.rows("thicker", {"layers": (now, then)})
    return locals()


@EXERCISES.solver("blow-out")
def _(build: Build, system: str) -> Names:
    one = seal_on(build, FIBRE)
    edge, peak, held = one.report.joint.gasket.edge, float(one.gas(one.at_peak)), one.blow_out()
    pushed = float(held.push)
    return locals()


@EXERCISES.solver("used")
def _(build: Build, system: str) -> Names:
    one = seal_on(build, FIBRE)
    free, top = one.seal.free_thickness, one.top
    sprung = float(one.seal.recovery(top))
    rows = TEXT.rows("zones", _zones(one))
    return locals()
