"""Lesson 09, how sure can you be: its panel, its picture, questions and answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import analysis, scatter
from sealkit.build import Build
from sealkit.classroom.drawing.scatter_chart import PLOT, bell, hundred
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows
from sealkit.errors import fail
from sealkit.scatter import DAMAGE, GAS_LEAK, Scatter
from sealkit.units import from_si

TEXT = Text(__file__)
CHECKS = TEXT.checks
BUILDS = 1024  # of one step of the panel
ROUGH = 64  # while a slider moves
MANY = 131_072  # on demand
OWN = "as on the sheet"
SAFE = 0.01  # probability of failure that the verdict asks for
_MOST = 0.30  # largest scatter on the slider


def find(build: Build, count: int = BUILDS, **how: Any) -> Scatter:
    """Many builds of one sheet; `count` and `how` as `sealkit.scatter.run` takes them."""
    return scatter.run(build, scatter.one_cycle(build), count=count, **how)


# --------------------------------------------------------------------------- knobs and picks
def preload_scatter(build: Build) -> float:
    """Scatter of the preload, as the sheet states it or as its way of tightening has it."""
    return float(analysis.scatter_of(build)[0])


def _knobs(build: Build) -> Sequence[Knob]:
    now, k = preload_scatter(build), controls.sheet
    spread = float(analysis.kept_cycle(build).peak_variation)
    widest = max(0.12, 1.5 * spread)
    return (
        controls.tightening(build),
        controls.boost(build),
        k("fasteners.preload_scatter", "Preload scatter ±", min(now, _MOST), 0.02, _MOST),
        k("burn.peak_variation", "Peak spread", spread, 0.01, widest),
    )


def _picks(build: Build) -> Sequence[Pick]:
    def take(now: Build, way: str) -> Build:
        return build if way == OWN else scatter.by_method(build, way)

    return (Pick("way", "Tightened by", (OWN, *scatter.METHODS), OWN, take),)


def _rough(build: Build, _: Free) -> Scatter:
    """A few builds, and of them what the charts show: no coolant and oil, no words."""
    dry = build.vary_si({"liquids.deck": "dry"})
    return scatter.run(dry, scatter.one_cycle(build), ROUGH, known={})


def _in_pieces(count: int, chunk: int, build: Build, _: Free, told: Any, stop: Any) -> Scatter:
    """Work on so many builds that tells how far it is, and can be stopped."""
    return find(build, count, progress=told, cancel=stop, chunk=chunk)


# --------------------------------------------------------------------------- words
def _told(many: Scatter) -> Names:
    leak, damage = many.groups[GAS_LEAK], many.groups[DAMAGE]
    bores = 1 if many.build is None else many.build.engine.cylinders
    seal, strength = (many.nearest(group).limit for group in (GAS_LEAK, DAMAGE))
    count, full, safe = f"{many.count:,}", f"{BUILDS:,}", SAFE
    stopped = TEXT.note("stopped", {}, many.stopped)
    leaks, damaged, any = leak.text(), damage.text(), leak.any_of(bores).text()
    engine = TEXT.note("engine", locals(), bores > 1)
    nearest = TEXT.note("rough" if seal is None or strength is None else "nearest", locals())
    both = [(leak.value, "leak"), (damage.value, "are damaged")]
    (worse, what), (better, other) = sorted(both, key=lambda one: -one[0])  # the worse first
    most, less = f"{100 * worse:.1f} %", f"{100 * better:.1f} %"
    # surely rare or not; None where so many builds cannot tell
    rare = [
        {
            "group": group,
            "value": p.value,
            "good": None if p.low < SAFE <= p.high else p.high < SAFE,
        }
        for group, p in ((GAS_LEAK, leak), (DAMAGE, damage))
    ]
    goods = [one["good"] for one in rare]
    good = False if False in goods else None if None in goods else True
    word = {True: "LEAK AND DAMAGE BOTH RARE", False: "NOT BOTH RARE", None: "NOT SURE"}[good]
    preload, peak = many.watched["preload"], many.watched["highest peak"]
    matters = many.inputs[int(np.argmax(many.parts(many.nearest(GAS_LEAK).key)))].brief
    return locals()


def _tables(many: Scatter, system: str) -> Mapping[str, Rows]:
    limits = {f"Limits over {many.count:,} builds, likeliest to fail first": many.rows(system)}
    names = _told(many)
    shares = [(d / m, "fraction", 1) if m else "" for m, d in (names["preload"], names["peak"])]
    return limits | TEXT.tables(names | {"shares": shares, "inputs": many.inputs}, system)


def _method_rows(ways: Mapping[str, Scatter]) -> Names:
    """The same mean preload by torque, by torque and angle, by stretch."""
    texts = {"leak": GAS_LEAK, "damage": DAMAGE}
    rows = [
        {"way": way, "many": many, **{k: many.groups[g].text() for k, g in texts.items()}}
        for way, many in ways.items()
    ]
    return {"ways": rows}


def _ways(build: Build, _: Scatter, system: str) -> Mapping[str, Rows]:
    return TEXT.table("ways", _method_rows(scatter.compare_methods(build, count=BUILDS)), system)


def _swept(build: Build, _: Scatter, system: str) -> Mapping[str, Rows]:
    """Probability of failure over the tightening, all with the same draws."""
    knob = controls.tightening(build)
    if not knob.path:
        raise fail("fasteners.tightening", "tightened to yield", "a way with a number to set")
    values = np.linspace(knob.low, knob.high, 7)
    swept = scatter.sweep(build, knob.path, [from_si(v, knob.kind) for v in values], count=512)
    rows = [
        {"value": v, "leak": groups[GAS_LEAK].value, "damage": groups[DAMAGE].value}
        for v, groups in zip(values, swept, strict=True)
    ]
    told = {"swept": rows, "knob": knob.words.lower(), "kind": knob.kind}
    return TEXT.table("swept", told, system)


SCENE = TEXT.scene(
    _told,
    knobs=_knobs,
    picks=_picks,
    work=lambda build, _: find(build),
    plot=PLOT,
    tables=_tables,
    buttons={"Three ways of tightening": _ways, "Probability over the tightening": _swept},
    more={f"Work out {MANY:,} builds": lambda *given: _in_pieces(MANY, 4096, *given)},
    drawing=lambda many, _: hundred(many),
    rough=_rough,
    # small enough for the controls to stay alive
    finer=lambda *given: _in_pieces(BUILDS, 2 * ROUGH, *given),
    ends=False,
)


# --------------------------------------------------------------------------- the idea
def picture(build: Build, system: str = "metric") -> Shown:
    """What the fasteners leave as a normal curve, and what the gas wants of it."""
    return Shown(*bell(scatter.room(build, BUILDS), system))


def sources(build: Build) -> Shown:
    """Where the spreads come from, with their status."""
    return TEXT.shown("sources", {"inputs": scatter.one_cycle(build)})


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("09")
answer = EXERCISES.answer


@EXERCISES.solver("deviations")
def _(build: Build, system: str) -> Names:
    one = scatter.room(build, BUILDS)
    return locals()


@EXERCISES.solver("bores")
def _(build: Build, system: str) -> Names:
    bores = build.engine.cylinders
    if bores < 2:
        raise fail("engine.cylinders", bores, "an engine with two cylinders or more")
    leaks = 0.03  # of one bore; invented
    engine = scatter.any_of(leaks, bores)
    return locals()


@EXERCISES.solver("matters")
def _(build: Build, system: str) -> Names:
    many = find(build)
    names = [one.brief for one in many.inputs]
    near = many.nearest(GAS_LEAK)
    seal, strength = many.parts(near.key), many.parts(many.nearest(DAMAGE).key)
    most, hard = np.argsort(-seal)[:4], int(np.argmax(strength))
    first = int(most[0])
    options = tuple(names[i] for i in sorted(most))
    title = near.title_in(system)
    rows = TEXT.rows("parts", {"parts": [*zip(names, seal, strength, strict=True)]})
    wrong = {f"not the most: {name}": name for name in options if name != names[first]}
    return locals()


@EXERCISES.solver("methods")
def _(build: Build, system: str) -> Names:
    ways = scatter.compare_methods(build, count=BUILDS)
    torque, stretch = (ways[way].watched["preload"][1] for way in ("torque", "stretch"))
    ratio = torque / stretch
    rows = TEXT.rows("ways", _method_rows(ways))
    return locals()
