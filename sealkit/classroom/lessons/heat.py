"""Lesson 07, hot and cold, coolant and oil: its panel, its picture and its exercises."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from sealkit import analysis, tables
from sealkit.analysis import HeatStates, Limit, Stand, heat_states
from sealkit.analysis.heat_states import JUDGED
from sealkit.build import Build
from sealkit.classroom.drawing.heat_chart import PLOT, growth, lamps
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.lessons.text import Text, joined
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Knob, Pick
from sealkit.errors import fail
from sealkit.report import percent, ranking
from sealkit.sealing import heat, hot_metal, liquids, surfaces
from sealkit.units import Q, quantify, show
from sealkit.words import Note, apart

TEXT = Text(__file__)
CHECKS = TEXT.checks
WORKSHOP = Q(heat.ASSEMBLED_AT, "K")
HEADS = ("A356-T6", "319-T6", "6061-T6", "grey iron", "ductile iron")


# --------------------------------------------------------------------------- the panel
def _knobs(build: Build) -> Sequence[Knob]:
    creep, pressure = build.gasket.creep_relaxation, build.liquids.coolant_pressure
    if creep is None:
        known, name = tables.load("creep"), build.gasket.construction
        creep = float(known[name]["share"]) if name in known else 0.05
    if pressure is None:
        pressure = float(liquids.circuit.si(liquids.HOT_CIRCUITS[0]).high)
    hot, k = float(analysis.hot_state(build, analysis.FULL_LOAD).coolant), controls.sheet
    cold = build.heat.cold_soak
    return (
        k("heat.coolant_temperature", "Coolant when hot", hot, 313.15, 403.15),
        k("heat.cold_soak", "Cold soak", cold, 233.15, 293.15),
        k("gasket.creep_relaxation", "Creep of body and beads", creep, 0.0, max(0.4, creep)),
        k("liquids.coolant_pressure", "Hot coolant pressure", pressure, 0.5e5, max(6e5, pressure)),
    )


def _heads_of(build: Build) -> tuple[str, ...]:
    own = build.head.material
    return HEADS if own in HEADS else (*HEADS, own)


def _picks(build: Build) -> Sequence[Pick]:
    return (
        controls.gasket(build),
        Pick("head.material", "Head of", _heads_of(build), build.head.material),
        Pick("heat.hot_state", "Hot state", analysis.HOT_STATES, build.heat.hot_state),
    )


# --------------------------------------------------------------------------- in words
def _when(state: str) -> str:
    """A state as it stands in a sentence."""
    return "in the cold soak" if state == "cold soak" else f"when {state}"


def _has_wants(limit: Limit) -> dict[str, Figure]:
    has, wants = apart(float(limit.capacity), float(limit.demand), limit.kind)
    return {"has": has, "wants": wants}


def _told(one: HeatStates) -> Names:
    state, preload = one.warm.state, {s.name: s.preload for s in one.stands}
    least = {name: found for name in JUDGED if (found := one.least(name))}
    seen: list[Names] = [
        {"name": name, "part": name.removeprefix("combustion "), "when": _when(stand.name)}
        | {"limit": limit, "capacity": (float(limit.capacity), limit.kind)}
        for name, (stand, limit) in least.items()
    ]
    said = [
        TEXT.note("least", x | {"name": x["name"].capitalize()} | _has_wants(x["limit"]))
        for x in seen
    ]
    wants, to_seat = None, ""
    if coolant := one.hot_coolant:
        limit, wanted = coolant
        wants, most = (wanted, limit.kind), (float(limit.demand), limit.kind)
        more = bool(limit.demand > wanted)
        to_seat = "; to seat, more" * more
        seated = TEXT.note("seated", {"most": most}, more)
        said.append(TEXT.note("pushes", {"wants": wants, "seated": seated}))
    if one.dry:
        said.append(TEXT.note("dry", {}))
    bad = [x["name"] for x in seen if not x["limit"].holds]
    word = f"NOT TIGHT: {', '.join(bad).upper()}" if bad else "TIGHT HOT AND COLD"
    margin, line = "", Note("")
    if seen:
        low = min(seen, key=lambda x: float(x["limit"].margin))
        margin, line = percent(float(low["limit"].margin)), TEXT.note("worst", _worst(one, low))
    return locals() | {"parts": joined(said), "good": not bad}


def _worst(one: HeatStates, low: Names) -> Names:
    """The least margin, and whether heat mends it."""
    name, limit, later = low["name"], low["limit"], one.at("cold again").limits.get(low["name"])
    mends = not limit.holds and later is not None and later.holds
    figures = {k: (float(x.demand), x.kind) for k, x in (("more", limit), ("less", later)) if x}
    return low | {"worst": name, "later": TEXT.note("later", figures, mends)}


def _cells(one: HeatStates, stand: Stand) -> list[Figure]:
    """What is judged in a state."""
    out: list[Figure] = []
    for name in JUDGED:
        limit = stand.limits.get(name)
        if limit is None:
            out.append("dry deck" if one.dry and name != JUDGED[0] else "engine at rest")
        else:
            holds = "holds" if limit.holds else "DOES NOT HOLD"
            out.append(TEXT.note("cell", {"holds": holds} | _has_wants(limit)))
    return out


def _states(one: HeatStates) -> Names:
    return {"states": [{"stand": s, "cells": _cells(one, s)} for s in one.stands]}


def _behind(one: HeatStates) -> Names:
    """What the tables tell beside."""
    state, high = one.warm.state, one.warm.high
    head = hot_metal.left.si(one.build.head.material, state.head)
    hot = hot_metal.left.si(one.build.fasteners.material, state.fastener)
    hottest, hot_yield = (np.max(x) for x in (high.hot_bolt_force, high.hot_yield_force))
    before, after = one.clamp.before_creep, one.clamp.low
    crept = [
        {
            "zone": zone,
            "load_before": (float(before.zone_loads[zone.name][0]), zone.load_kind),
            "load_after": (float(after.zone_loads[zone.name][0]), zone.load_kind),
            "thinner": after.zone_sets[zone.name][0] - before.zone_sets[zone.name][0],
        }
        for zone in one.joint.gasket.zones
    ]
    return locals() | _states(one)


def _heads(build: Build) -> Names:
    rows = []
    for material in _heads_of(build):
        one = heat_states(build.vary({"head.material": material}))
        cold, hot, soak = (one.preload(state) for state in ("settled", "hot", "cold soak"))
        rows.append(locals() | {"change": f"{100 * (hot / cold - 1):+.0f} %"})
    return {"heads": rows}


def _gaskets(build: Build) -> Names:
    def cell(found: tuple[Stand, Limit] | None) -> str:
        if found is None:
            return "not judged"
        holds = "holds" if found[1].holds else "DOES NOT HOLD"
        return f"{holds}, least {_when(found[0].name)}"

    rows = []
    for gasket in controls.gasket(build).options:
        one = heat_states(ranking.with_construction(build, gasket))
        rows.append({"gasket": gasket, "cells": [cell(one.least(name)) for name in JUDGED]})
    return {"gaskets": rows}


# --------------------------------------------------------------------------- the idea
def picture(build: Build, system: str | None = None) -> Shown:
    """What stack and fastener grow by from the workshop to the hot state."""
    system = system or build.system
    grown = analysis.grown_parts(build)
    told_ = "; ".join(f"{k} grows by {show(v, 'lift', system)}" for k, v in grown.items())
    return Shown(growth(build, system), told_)


def _work(build: Build, _: Any) -> HeatStates:
    """All of it, so that an engine that cannot be judged is refused; a chart takes less."""
    one = heat_states(build)
    _ = one.found
    return one


SCENE = TEXT.scene(
    _told,
    _behind,
    knobs=_knobs,
    picks=_picks,
    work=_work,
    rough=lambda build, _: heat_states(build),
    plot=PLOT,
    drawing=lambda one, _: lamps(one),
    buttons={
        "Compare heads": lambda build, _, system: TEXT.table("heads", _heads(build), system),
        "Compare gaskets, hot and cold": lambda build, _, system: TEXT.table(
            "gaskets", _gaskets(build), system
        ),
    },
)


# --------------------------------------------------------------------------- by hand
def quantities(build: Build) -> tuple[heat.Stack, heat.ThermalState]:
    """The clamped stack and the hot state of a build, with units."""
    return quantify(analysis.stack_of(build)), quantify(analysis.hot_state(build))


def grows(build: Build, part: str) -> Any:
    """How far "head", "block", "gasket" or "fastener" grows to the hot state, with its unit.

    Raises InputError for another part.
    """
    grown = analysis.grown_parts(build)
    if part not in grown:
        raise fail("part", part, f"one of {', '.join(grown)}")
    return Q(grown[part], "m").to("um")


def told(build: Build, system: str | None = None) -> str:
    """Differential expansion, and what it does to one fastener, from the report."""
    one = heat_states(build)
    cold, hot = one.preload("settled"), one.preload("hot")
    return TEXT.note("comes", locals()).text(system or build.system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("07")
answer = EXERCISES.answer


@EXERCISES.solver("hot")
def _(build: Build, system: str) -> Names:
    one = heat_states(build)
    cold, hot = one.preload("settled"), one.preload("hot")
    said = told(build, system)
    again = one.preload("cold again")
    rows = TEXT.rows("states", _states(one))
    return locals()


def _change(build: Build) -> str:
    one = heat_states(build)
    share = one.preload("hot") / one.preload("settled") - 1.0
    return "alike" if abs(share) < 0.1 else "hot is tighter" if share > 0 else "hot is looser"


@EXERCISES.solver("iron")
def _(build: Build, system: str) -> Names:
    """With a head of iron, or of aluminium where it is of iron."""
    iron = surfaces.face_of(build.head.material) == "iron"
    other = build.vary({"head.material": "A356-T6" if iron else "grey iron"})
    right = _change(other)
    all_heads_grow_alike = _change(build)
    rows = TEXT.rows("heads", _heads(build))
    return locals()


@EXERCISES.solver("retorque")
def _(build: Build, system: str) -> Names:
    one = heat_states(build)
    wrench, cold = one.retorqued_hot()
    settled, again = one.preload("settled"), one.preload("cold again")
    gain = one.preload("hot") - settled
    rows = [
        {"retorque": "none", "cold": (again, "force")},
        {"retorque": "hot, slackened first", "cold": (cold, "force")},
        {"retorque": "cold", "cold": (one.preload("retorqued cold"), "force")},
    ]
    return locals()


@EXERCISES.solver("sealant")
def _(build: Build, system: str) -> Names:
    wired = ranking.with_construction(build, "copper with wire ring").vary({"liquids.deck": "wet"})
    sheet = wired.gasket.compressed_thickness
    bare, sealed = heat_states(wired), heat_states(wired.vary({"liquids.facing": "sealant film"}))
    was, least = bare.least("coolant"), sealed.least("coolant")
    right = "sealant cures everything" if least and least[1].holds else "no stress at the holes"
    state = "weeps" if was and not was[1].holds else "is tight"
    rows = [
        {
            "copper at the holes": words,
            "state": stand.name,
            **_has_wants(limit),
            "coolant": "held" if limit.holds else "weeps",
        }
        for words, one in (("dry", bare), ("with sealant film", sealed))
        for stand in one.stands[1:]
        if (limit := stand.limits.get("coolant"))
    ]
    return locals()
