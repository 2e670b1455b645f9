"""Lesson 04, five ways to build a gasket: its panel, its pictures and its exercises."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import report as reports
from sealkit.build import Build
from sealkit.classroom.drawing import charts, draw, sections
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Figure, Solved
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.report import Report, ranking
from sealkit.report.seal_view import SealView, seal_view
from sealkit.sealing import constructions, criteria
from sealkit.units import from_si, parse, show, show_unit, show_value, to_si

Array = NDArray[np.float64]

CHECKS = {
    "sheet-tests": ["F36-compressibility", "F36-recovery"],
    "bead": ["B3-stiffness", "B3-plastic", "B3-springback"],
    "criteria": ["B2-push", "B2-safety", "C1-residual", "M1-copper-factor"],
}

ANGLES = (-90.0, 120.0)  # degrees of crank angle shown
_STEP = 2.0
_POINTS = 61


# --------------------------------------------------------------------------- what is shown
@functools.lru_cache(maxsize=24)
def report_of(build: Build) -> Report:
    """The report on a build, kept: the crank angle does not change it."""
    return reports.run(build)


def shot(build: Build, angle: float | None = None) -> SealView:
    """The seal of a gasket on one engine at a crank angle (rad), or where it has least left."""
    return seal_view(report_of(build), angle)


# --------------------------------------------------------------------------- the panel
def _knobs(build: Build) -> Sequence[Knob]:
    low, high = np.radians(ANGLES)
    return (
        Knob("crank_angle", "Crank angle", "angle", float(low), float(low), float(high)),
        controls.boost(build),
        controls.tightening(build),
    )


def _picks(build: Build) -> Sequence[Pick]:
    return (controls.gasket(build),)


def _work(build: Build, free: Free) -> SealView:
    return shot(build, float(free["crank_angle"]))


def _shown(value: Any, kind: str, system: str) -> Array:
    return np.asarray(show_value(value, kind, system), dtype=float)


def _closures(one: SealView) -> Array:
    return np.linspace(0.0, one.top, _POINTS)


_LEAST_LIFT = 12e-6  # m


def _farthest(one: SealView) -> float:
    """Lift up to which the way back is drawn: past where the seal is free, m."""
    return max(1.25 * one.springback, _LEAST_LIFT)


def _lifts(one: SealView) -> Array:
    return np.linspace(0.0, _farthest(one), _POINTS)


def _places(one: SealView) -> NDArray[np.intp]:
    grid = np.degrees(one.crank_angle)
    wanted = np.arange(ANGLES[0], ANGLES[1] + 0.5 * _STEP, _STEP)
    return np.argmin(np.abs(grid[None, :] - wanted[:, None]), axis=1)


_SEAL_LINES = ("pressed", "back", "now", "helper", "lifted", "wrong", "line", "at")


def _lines(one: SealView, system: str) -> dict[str, tuple[Array, Array]]:
    """x and y of every line in the shop's units."""
    seal, kind = one.seal, one.kind

    def load(value: Any) -> Array:
        return _shown(value, kind, system)

    def small(value: Any) -> Array:
        return _shown(value, "lift", system)

    closures, lifts = _closures(one), _lifts(one)
    here = np.array([one.rest - float(one.lift())])
    now = np.array([float(one.left())])
    nothing = np.empty(0)
    helper = nothing
    if one.helpers:
        zone = one.helpers[0]
        # the same closure, counted from where this zone is touched
        helper = zone.loading(closures - (one.seal.stands_proud - zone.stands_proud))
    places = _places(one)
    x = np.degrees(one.crank_angle[places])
    return {
        "pressed": (small(closures), load(seal.loading(closures))),
        "back": (small(closures), load(seal.carried(closures, np.full(_POINTS, one.top)))),
        "helper": (small(closures) if helper.size else nothing, load(helper)),
        "now": (small(np.maximum(here, 0.0)), load(now)),
        "lifted": (small(lifts), load(one.back(lifts))),
        "wrong": (small(lifts), load(seal.loading(one.rest - lifts))),
        "line": (small(lifts[[0, -1]]), load(np.full(2, float(one.wanted())))),
        "at": (small(np.array([min(float(one.lift()), _farthest(one))])), load(now)),
        "left": (x, load(one.left(places))),
        "wanted": (x, load(one.wanted(places))),
        "angle": (np.array([np.degrees(one.angle)]), load(now)),
    }


_WORDS = {
    "pressed": ("pressed on", "seal load", 0, "dash"),
    "back": ("let go", "seal load", 0, "solid"),
    "helper": ("stopper", "clamp", 0, "dashdot"),
    "now": ("now", "lift", 0, "solid"),
    "lifted": ("way back", "seal load", 1, "solid"),
    "wrong": ("NOT the way back", "strength", 1, "dot"),
    "line": ("wanted now", "seal load", 1, "dash"),
    "at": ("now", "lift", 1, "solid"),
    "left": ("left", "seal load", 2, "solid"),
    "wanted": ("wanted", "seal load", 2, "dash"),
    "angle": ("now", "lift", 2, "solid"),
}
_PLACES = {
    "now": (0.0, "top left"),
    "pressed": (0.45, "top left"),
    "helper": (1.0, "middle left"),
    "lifted": (0.35, "bottom left"),
    "wrong": (0.3, "top right"),
    "left": (0.75, "top left"),
    "wanted": (0.40, "top left"),
}


def _labels(
    one: SealView, lines: Mapping[str, tuple[Array, Array]]
) -> dict[str, tuple[float, str]]:
    """Share of the line's length at which each label stands, and on which side of it."""
    x, y = lines["back"]
    half = float(x[int(np.argmax(y >= 0.5 * y[-1]))])
    long = one.springback > 0.6 * _farthest(one)
    return _PLACES | {
        # beside the steep part, off the level at nothing
        "back": ((half - float(x[0])) / (float(x[-1] - x[0]) or 1.0), "top left"),
        # at the end that the way back does not cross
        "line": (0.0, "top right") if long else (1.0, "top left"),
    }


def _traces(one: SealView, system: str) -> list[dict[str, Any]]:
    found = []
    lines = _lines(one, system)
    places = _labels(one, lines)
    for key, (label, colour, chart, dash) in _WORDS.items():
        x, y = lines[key]
        share, place = places.get(key, (None, "top right"))
        at = None
        if share is not None and x.size:
            at = float(x[0] + share * (x[-1] - x[0]))
        marker = key in ("now", "at", "angle")
        if marker and x.size:
            at = float(x[0])
        made = draw.line(key, label, colour, x, y, chart, dash, at, place, True, markers=marker)
        found.append(made)
    return found


def _layout(shots: Sequence[SealView], system: str) -> dict[str, Any]:
    one = shots[0]
    every = [_lines(s, system) for s in shots]
    unit, small = show_unit(one.kind, system), show_unit("lift", system)
    name = "Line load" if one.kind == "line load" else "Stress"

    def of(keys: tuple[str, ...], axis: int) -> list[Array]:
        return [lines[k][axis] for lines in every for k in keys]

    first, second = ("pressed", "back", "helper", "now"), ("lifted", "wrong", "line", "at")
    over = [
        draw.Chart(
            f"{name}, on and off, {unit}",
            draw.span(*of(first, 1)),
            draw.span(*of(first[:2], 0), room=0.03),
            f"Pressed together by, {small}",
        ),
        draw.Chart(
            f"{name} as the head lifts, {unit}",
            draw.span(*of(second, 1)),
            draw.span(*of(second, 0), room=0.03),
            f"Lift at the seal since before firing, {small}",
        ),
        draw.Chart(
            f"{name} left and wanted, {unit}",
            draw.span(*of(("left", "wanted"), 1)),
            ANGLES,
            "Crank angle, ° after firing top dead centre",
            30,
        ),
    ]
    return draw.layout(over, height=880, gap=0.13, hover="closest")


def _values(one: SealView, system: str) -> Values:
    traces: dict[str, dict[str, Any]] = {
        key: {"x": x, "y": y} for key, (x, y) in _lines(one, system).items()
    }
    beyond = float(one.lift()) > _farthest(one)
    traces["at"]["text"] = ["now, farther out" if beyond else "now"]
    return traces


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
    load = functools.partial(show, kind=one.kind, system=system)
    small = functools.partial(show, kind="lift", system=system)
    worst = one.worst
    grid = one.crank_angle
    parts = []
    if one.unseated is not None:
        parts.append(
            f"At assembly the {one.seal.name} got {load(one.unseated.capacity)} and wants "
            f"{load(one.unseated.demand)} to seat."
        )
    touches = "still touches" if float(one.lift()) <= one.springback else "no longer touches"
    parts.append(
        f"At {show(one.angle, 'angle', system, 0)} the gas stands at "
        f"{show(float(one.gas()), 'gauge pressure', system, 1)}; the head has lifted "
        f"{small(float(one.lift()))} and the seal springs back "
        f"{small(one.springback)}: it {touches}. "
        f"Of {load(one.before)} before firing {load(float(one.left()))} is left, and "
        f"{load(float(one.wanted()))} is wanted."
    )
    parts.append(
        f"Worst at {show(float(grid[worst]), 'angle', system, 0)}: "
        f"{load(float(one.left(worst)))} left, {load(float(one.wanted(worst)))} wanted "
        f"(low preload, {one.report.temperature})."
    )
    return Sentence(word, " ".join(parts), good)


def _now_rows(one: SealView, system: str) -> Rows:
    grid = one.crank_angle
    places = {"now": one.place, "at its worst": one.worst}

    def row(words: str, kind: str, value: Any, decimals: int | None = None) -> dict[str, str]:
        return {
            "the seal": words,
            **{k: show(float(value(p)), kind, system, decimals) for k, p in places.items()},
        }

    return [
        row("crank angle", "angle", lambda p: grid[p]),
        row("gas pressure", "gauge pressure", one.gas, 1),
        row("lift of the head at the seal", "lift", one.lift),
        row("seal springs back", "lift", lambda _: one.springback),
        row("load before firing", one.kind, lambda _: one.before),
        row("load left", one.kind, one.left),
        row("load wanted", one.kind, one.wanted),
    ]


def _zone_rows(one: SealView, system: str) -> Rows:
    rows = []
    for zone in one.report.joint.gasket.zones:
        top = float(one.report.sealing.zone_tops[zone.name][0])
        kind = zone.load_kind
        rows.append(
            {
                "zone": zone.name,
                "free thickness": show(zone.free_thickness, "length", system),
                "pressed by": show(top, "lift", system),
                "springs back": show(float(zone.recovery(top)), "lift", system),
                "load before firing": show(
                    float(one.report.sealing.zone_loads[zone.name][0]), kind, system
                ),
                "numbers": zone.status,
            }
        )
    return rows


def _tables(one: SealView, system: str) -> Mapping[str, Rows]:
    return {
        "The seal, now and at its worst": _now_rows(one, system),
        "Zones of this gasket": _zone_rows(one, system),
    }


def opening(one: SealView, system: str = "metric") -> sections.Opening:
    """The section of a shot: lift, springback and what is said below it."""
    lift = float(one.lift())
    state = "still touches" if lift <= one.springback else "no longer touches"
    told = (
        f"At {show(one.angle, 'angle', system, 0)} the head has lifted {show(lift, 'lift', system)}"
        f" here; the seal springs back {show(one.springback, 'lift', system)} and {state}. "
        f"{show(float(one.left()), one.kind, system)} is left. The gap is drawn much too large; "
        "nothing is to scale."
    )
    return sections.Opening(lift, one.springback, told)


def _drawing(one: SealView, system: str) -> str:
    return sections.section(one.name, opening(one, system))


def compare_rows(build: Build, system: str) -> Rows:
    """Every construction at its worst crank angle: how it is pressed, follows and holds."""
    rows = []
    for name in constructions.names():
        one = shot(ranking.with_construction(build, name))
        word, _ = _verdict(one)
        rows.append(
            {
                "gasket": name,
                "load before firing": show(one.before, one.kind, system),
                "head lifts": show(float(one.lift()), "lift", system),
                "springs back": show(one.springback, "lift", system),
                "load left": show(float(one.left()), one.kind, system),
                "load wanted": show(float(one.wanted()), one.kind, system),
                "combustion seal": word.lower(),
            }
        )
    return rows


def _gaskets(build: Build, _: SealView, system: str) -> Mapping[str, Rows]:
    return {
        "Gaskets on this engine, best first": charts.gasket_rows(ranking.rank(build), system),
        "Their combustion seals, each at its worst crank angle": compare_rows(build, system),
    }


SCENE = Scene(
    name="gaskets",
    words="Line load of the combustion seal against how far it is pressed together, the way back "
    "as the head lifts, and the load left and wanted against crank angle",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    play="crank_angle",
    buttons={"Compare all gaskets on this engine": _gaskets},
)


# --------------------------------------------------------------------------- the idea
def picture(build: Build, system: str = "metric") -> Shown:
    """All constructions in section, each at its worst crank angle on this engine."""
    drawn, told = [], []
    for name in sections.SECTIONS:
        seen = opening(shot(ranking.with_construction(build, name)), system)
        drawn.append(
            f"<div style='flex:1 1 300px;max-width:460px'>{sections.section(name, seen)}</div>"
        )
        told.append(f"{name}: {seen.told}")
    return Shown(
        f"<div style='display:flex;flex-wrap:wrap;gap:12px'>{''.join(drawn)}</div>",
        "\n".join(told),
    )


# --------------------------------------------------------------------------- by hand
def parameter(name: str, construction: str = "multi-layer steel") -> Any:
    """A number a construction is made from, with its unit (see the table of constructions)."""
    return parse(constructions.kind(construction).parameters()[name].value, name)


def steel() -> tuple[Any, ...]:
    """Modulus, Poisson's ratio, yield strength, thickness and span of a beaded layer."""
    names = ("modulus", "poisson", "yield_strength", "layer_thickness", "bead_span")
    return tuple(parameter(name) for name in names)


def worst_angle(build: Build) -> Any:
    """Crank angle at which the seal has least over what it wants, as a quantity."""
    return from_si(shot(build).angle, "angle")


def springs(build: Build, system: str = "metric") -> str:
    """What the quotient gives for one layer and for all, and what the head asks for, in words."""
    numbers = _numbers()
    layers, one = numbers["active_layers"], shot(build)
    each, together = (_springback(numbers["layer_thickness"], n) for n in (1.0, layers))
    small = functools.partial(show, kind="lift", system=system)
    return (
        f"{small(each)} a layer, {small(together)} for {layers:.0f} layers\n"
        f"the head of {build.sheet.name} lifts {small(float(one.lift()))} with {one.name}"
    )


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("04")
question, answer = EXERCISES.question, EXERCISES.answer


def _on(build: Build, name: str) -> SealView:
    return shot(ranking.with_construction(build, name))


@EXERCISES.solver("way back")
def _(build: Build, system: str) -> Solved:
    one = _on(build, "fibre composite")
    lift, left, wanted = float(one.lift()), float(one.left()), float(one.wanted())
    return Solved(
        left,
        {
            "pressing curve on the way back": float(one.seal.loading(one.rest - lift)),
            "load stays as tightened": one.before,
            "straight line back": one.before * (1.0 - lift / one.springback),
        },
        {
            "before": (one.before, "line load"),
            "lift": (lift, "lift"),
            "top": (one.top, "lift"),
            "springback": (one.springback, "lift"),
            "wanted": (wanted, "line load"),
        },
        _now_rows(one, system),
        worked="leaks" if left < wanted else "holds",
    )


@EXERCISES.solver("keeps")
def _(build: Build, system: str) -> Solved:
    every = {name: _on(build, name) for name in constructions.names()}
    one = max(every.values(), key=lambda s: s.share_kept)
    most = max(every.values(), key=lambda s: s.before)
    return Solved(
        one.name,
        {
            "crush taken for seal": most.name,
            "thicker taken for safer": max(every, key=lambda n: every[n].seal.free_thickness),
            "least load taken for least lost": min(every, key=lambda n: every[n].before),
        },
        {
            "best": one.name,
            "left": (float(one.left()), one.kind),
            "before": (one.before, one.kind),
            "lift": (float(one.lift()), "lift"),
            "springback": (one.springback, "lift"),
            "most": most.name,
            "load": (most.before, most.kind),
            "kept": (most.share_kept, "fraction", 0),
        },
        compare_rows(build, system),
        options=tuple(every),
    )


_THICKER = 0.30e-3  # m, invented: a thicker layer to compare with


def _springback(thickness: float, layers: float) -> float:
    n = _numbers()
    return float(
        constructions.bead_springback.si(
            n["modulus"], n["poisson"], thickness, n["bead_span"], n["yield_strength"], layers
        )
    )


_KINDS = {
    "modulus": "modulus",
    "poisson": "number",
    "layer_thickness": "length",
    "bead_span": "length",
    "bead_height": "length",
    "yield_strength": "stress",
    "active_layers": "number",
}


def _numbers() -> dict[str, float]:
    """The numbers of the beaded steel layers, plain SI."""
    return {name: float(to_si(parameter(name), kind, name)) for name, kind in _KINDS.items()}


@EXERCISES.solver("thicker")
def _(build: Build, system: str) -> Solved:
    n, legs = _numbers(), constructions.FULL_BEAD_LEGS
    now, layers, span = n["layer_thickness"], n["active_layers"], n["bead_span"]

    def row(thickness: float) -> dict[str, Figure]:
        plastic = constructions.bead_plastic_load.si(thickness, span, n["yield_strength"], legs)
        stiff = constructions.bead_stiffness.si(n["modulus"], n["poisson"], thickness, span, legs)
        return {
            "layer": (thickness, "length"),
            "plastic line load": (float(plastic), "line load"),
            "stiffness": (float(stiff), "modulus", 3),
            "springback, all layers": (_springback(thickness, layers), "lift"),
        }

    return Solved(
        _springback(_THICKER, layers),
        {
            "thicker springs further": _springback(now, layers) * _THICKER / now,
            "one layer for all": _springback(_THICKER, 1.0),
            "whole bead springs back": layers * n["bead_height"],
        },
        {
            "layers": f"{layers:.0f}",
            "now": (now, "length"),
            "springback": (_springback(now, layers), "lift"),
            "thicker": (_THICKER, "length"),
        },
        [row(now), row(_THICKER)],
    )


@EXERCISES.solver("blow-out")
def _(build: Build, system: str) -> Solved:
    one = _on(build, "fibre composite")
    edge: Any = one.report.joint.gasket.edge
    body = next(z for z in one.report.joint.gasket.zones if z.role == "body")
    at = int(np.argmax(one.gas(slice(None))))
    peak = float(one.gas(at))
    left = float(np.asarray(one.report.over_angle.zone_loads[body.name])[at])
    radius = one.report.joint.seal_diameter / 2
    held = criteria.blow_out.si(
        peak, edge.thickness, edge.width, left, edge.friction, edge.tensile_strength, radius
    )
    return Solved(
        float(held.push),
        {
            "width for thickness": peak * edge.width,
            "two faces for one edge": 2.0 * float(held.push),
        },
        {
            "thickness": (edge.thickness, "length"),
            "width": (edge.width, "length"),
            "peak": (peak, "gauge pressure", 1),
            "friction": (float(held.friction_hold), "line load"),
            "left": (left, "stress"),
            "web": (float(held.web_hold), "line load"),
        },
    )


@EXERCISES.solver("used")
def _(build: Build, system: str) -> Solved:
    one = _on(build, "fibre composite")
    free, top = one.seal.free_thickness, one.top
    sprung = float(one.seal.recovery(top))
    return Solved(
        one.used_thickness,
        {"springs back to new": free, "stays as pressed": free - top},
        {
            "free": (free, "length"),
            "top": (top, "lift"),
            "sprung": (sprung, "lift"),
            "stays": (top - sprung, "lift"),
        },
        _zone_rows(one, system),
    )
