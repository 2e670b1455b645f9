"""Lesson 07, hot and cold, coolant and oil: its panel, its picture and its exercises."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import analysis, tables
from sealkit.analysis import HeatStates, Limit, Stand, heat_states
from sealkit.analysis.heat_states import JUDGED
from sealkit.build import Build
from sealkit.classroom.drawing.heat_chart import PLOT, growth, lamps
from sealkit.classroom.drawing.shown import Shown, cells
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Guess, Knob, Pick, Rows, Scene, Sentence, Tile
from sealkit.errors import fail
from sealkit.report import percent, ranking
from sealkit.sealing import heat, hot_metal, liquids, surfaces
from sealkit.units import Q, quantify, show
from sealkit.words import Note, apart, note

CHECKS = {
    "thermal": ["H1", "H4-force"],
    "heat": ["M12-differential"],
    "liquids": ["cap-low", "cap-high", "coolant-mp", "coat-y", "fibre-m", "copper-y"],
}
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
        k("heat.coolant_temperature", "Coolant when hot", "temperature", hot, 313.15, 403.15),
        k("heat.cold_soak", "Cold soak", "temperature", cold, 233.15, 293.15),
        k("gasket.creep_relaxation", "Creep of body and beads", "fraction", creep, 0.0,
          max(0.4, creep)),
        k("liquids.coolant_pressure", "Hot coolant pressure", "gauge pressure", pressure,
          0.5e5, max(6e5, pressure)),
    )  # fmt: skip


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
_FORCES = (
    "Each fastener: {as tightened} as tightened (low end), {settled} settled, {hot} hot ({state}, "
    "coolant {coolant}), {cold again} cold again, {cold soak} at {soak}. "
)
_PUSHES = "Hot, the coolant's pressure wants {wants} at its holes"
_SEATED = "; to stay seated the facing wants {most}, whatever that pressure"
_LEAST = "{name} has least {when}: {has} for {wants} wanted."


def _when(state: str) -> str:
    """A state as it stands in a sentence."""
    return "in the cold soak" if state == "cold soak" else f"when {state}"


def _sentence(one: HeatStates, system: str) -> Sentence:
    state = one.warm.state
    forces = note(
        _FORCES,
        state=state.name,
        coolant=(float(state.coolant), "temperature", 0),
        soak=(one.build.heat.cold_soak, "temperature", 0),
        **{s.name: (s.preload, "force") for s in one.stands},
    )
    least = {name: found for name in JUDGED if (found := one.least(name))}
    parts = [
        note(_LEAST, name=name.capitalize(), when=_when(stand.name), **_has_wants(limit))
        for name, (stand, limit) in least.items()
    ]
    if coolant := one.hot_coolant:
        limit, wants = coolant
        told = {"wants": (wants, limit.kind), "most": (float(limit.demand), limit.kind)}
        parts.append(note(f"{_PUSHES}{_SEATED * bool(limit.demand > wants)}.", **told))
    if one.dry:
        parts.append(note("The deck is dry: no liquid passes the gasket."))
    words = forces.text(system) + " ".join(part.text(system) for part in parts)
    bad = [name for name, (_, limit) in least.items() if not limit.holds]
    word = f"NOT TIGHT: {', '.join(bad).upper()}" if bad else "TIGHT HOT AND COLD"
    if not least:
        return Sentence(word, words, not bad)
    worst, (stand, limit) = min(least.items(), key=lambda item: float(item[1][1].margin))
    line = f"is the least margin of all: the {worst}, {_when(stand.name)}."
    later = one.at("cold again").limits.get(worst)
    if not limit.holds and later is not None and later.holds:
        line += note(
            " Heat then seats it: cold again it wants {less}, not {more}.",
            less=(float(later.demand), limit.kind),
            more=(float(limit.demand), limit.kind),
        ).text(system)
    return Sentence(word, words, not bad, percent(float(limit.margin)), line)


def _tiles(one: HeatStates) -> Sequence[Tile]:
    states, coolant = ("hot", "cold soak"), one.hot_coolant
    seen = [
        (f"{name.removeprefix('combustion ')}, {_when(stand.name)}",
         (float(limit.capacity), limit.kind), bool(limit.holds))
        for name in JUDGED if (found := one.least(name)) for stand, limit in (found,)
    ]  # fmt: skip
    out: list[Tile] = [(f"a fastener, {s}", (one.preload(s), "force"), None) for s in states]
    if coolant is not None:
        limit, wants = coolant
        more = "; to seat, more" * bool(limit.demand > wants)
        out.append((f"needed for hot coolant{more}", (wants, limit.kind), None))
    return [*out, *seen]


def _has_wants(limit: Limit) -> dict[str, Figure]:
    has, wants = apart(float(limit.capacity), float(limit.demand), limit.kind)
    return {"has": has, "wants": wants}


def _state_cell(one: HeatStates, name: str, limit: Limit | None) -> Figure:
    if limit is None:
        return "dry deck" if one.dry and name != JUDGED[0] else "engine at rest"
    holds = "holds" if limit.holds else "DOES NOT HOLD"
    return note(f"{holds}: {{has}} of {{wants}}", **_has_wants(limit))


def _state_rows(one: HeatStates) -> list[dict[str, Figure]]:
    return [
        {
            "state": stand.name,
            "preload of one fastener": (stand.preload, "force"),
            **{name: _state_cell(one, name, stand.limits.get(name)) for name in JUDGED},
        }
        for stand in one.stands
    ]


def _outgrows(one: HeatStates) -> Figure:
    return float(one.warm.differential_expansion), "lift"


def _temperature_rows(one: HeatStates) -> list[dict[str, Figure]]:
    state, high = one.warm.state, one.warm.high
    head = hot_metal.left.si(one.build.head.material, state.head)
    hot = hot_metal.left.si(one.build.fasteners.material, state.fastener)
    hottest = note(
        "{force}; yields at {limit}",
        force=(float(np.max(high.hot_bolt_force)), "force"),
        limit=(float(np.max(high.hot_yield_force)), "force"),
    )
    parts = {
        "coolant": state.coolant,
        "head, mean over the clamped length": state.head,
        "block, likewise": state.block,
        "fasteners": state.fastener,
        "gasket body": state.gasket,
        "gasket at the bore": state.bore_edge,
    }
    rows: list[tuple[str, Figure, str]] = [
        *((words, (float(at), "temperature", 0), state.status) for words, at in parts.items()),
        ("stack outgrows the fasteners by", _outgrows(one), "computed"),
        ("left of the head's stiffness", (float(head.modulus), "fraction"), head.status),
        ("left of the fasteners' strength", (float(hot.yield_strength), "fraction"), hot.status),
        ("hot fastener at the high end, at peak pressure", hottest, "computed"),
        (
            "of all states decides",
            note("{t} ({s})", t=one.weakest.title, s=str(one.weakest.state)),
            one.weakest.status,
        ),
    ]
    column = f"in the state {state.name}"
    return [{column: words, "value": value, "status": status} for words, value, status in rows]


def _creep_rows(one: HeatStates) -> list[dict[str, Figure]]:
    before, after = one.clamp.before_creep, one.clamp.low
    return [
        {
            "zone": zone.name,
            "load before": (float(before.zone_loads[zone.name][0]), zone.load_kind),
            "load after": (float(after.zone_loads[zone.name][0]), zone.load_kind),
            "crept thinner by": (
                float(after.zone_sets[zone.name][0] - before.zone_sets[zone.name][0]),
                "lift",
            ),
        }
        for zone in one.joint.gasket.zones
    ]


def _tables(one: HeatStates, system: str) -> Mapping[str, Rows]:
    return {
        "State by state, low end of the preload": cells(_state_rows(one), system),
        "What crept in the heat cycles, and who took over": cells(_creep_rows(one), system),
        "Temperatures and growth": cells(_temperature_rows(one), system),
    }


def _head_rows(build: Build) -> list[dict[str, Figure]]:
    rows: list[dict[str, Figure]] = []
    for material in _heads_of(build):
        one = heat_states(build.vary({"head.material": material}))
        cold, hot = one.preload("settled"), one.preload("hot")
        rows.append(
            {
                "head of": material,
                "stack outgrows the fasteners by": _outgrows(one),
                "cold": (cold, "force"),
                "hot": (hot, "force"),
                "change": f"{100 * (hot / cold - 1):+.0f} %",
                "cold soak": (one.preload("cold soak"), "force"),
            }
        )
    return rows


def _gasket_rows(build: Build) -> list[dict[str, Figure]]:
    def cell(found: tuple[Stand, Limit] | None) -> str:
        if found is None:
            return "not judged"
        holds = "holds" if found[1].holds else "DOES NOT HOLD"
        return f"{holds}, least {_when(found[0].name)}"

    rows: list[dict[str, Figure]] = []
    for pick in controls.gasket(build).options:
        one = heat_states(ranking.with_construction(build, pick))
        rows.append({"gasket": pick, **{name: cell(one.least(name)) for name in JUDGED}})
    return rows


# --------------------------------------------------------------------------- the idea
def picture(build: Build, system: str | None = None) -> Shown:
    """What stack and fastener grow by from the workshop to the hot state."""
    system = system or build.system
    grown = analysis.grown_parts(build)
    told_ = "; ".join(f"{k} grows by {show(v, 'lift', system)}" for k, v in grown.items())
    return Shown(growth(build, system), told_)


def _question(one: HeatStates) -> Note:
    return note(
        "A fastener pulls {cold} as tightened. The engine warms up: how hard does it pull hot?",
        cold=(one.preload("as tightened"), "force"),
    )


def _work(build: Build, _: Any) -> HeatStates:
    """All of it, so that an engine that cannot be judged is refused; a chart takes less."""
    one = heat_states(build)
    _ = one.found
    return one


SCENE = Scene(
    name="heat",
    words="Preload of one fastener in six states from the wrench to the retorque, and what "
    "combustion seal, coolant and oil want there of what they have",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    rough=lambda build, _: heat_states(build),
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    scope="seal, coolant and oil, hot and cold",
    tiles=_tiles,
    drawing=lambda one, _: lamps(one),
    guess=Guess(_question, "preload", "2", "force", ("preload words", "seal", "coolant", "oil")),
    buttons={
        "Compare heads": lambda build, _, system: {
            "Preload of one fastener under other heads": cells(_head_rows(build), system)
        },
        "Compare gaskets, hot and cold": lambda build, _, system: {
            "Where each gasket has least": cells(_gasket_rows(build), system)
        },
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
    return note(
        "with head and block rigid this would add {rigid}; they and the gasket give way, so {gain} "
        "comes: {cold} cold, {hot} hot",
        rigid=(one.rigid_gain, "force"),
        gain=(hot - cold, "force"),
        cold=(cold, "force"),
        hot=(hot, "force"),
    ).text(system or build.system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("07")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("hot")
def _(build: Build, system: str) -> Names:
    one = heat_states(build)
    cold, hot = one.preload("settled"), one.preload("hot")
    said = told(build, system)
    again = one.preload("cold again")
    rows = _state_rows(one)
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
    rows = _head_rows(build)
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
