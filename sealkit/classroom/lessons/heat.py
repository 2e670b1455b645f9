"""Lesson 07, hot and cold, coolant and oil: its panel, its picture and its exercises."""

from __future__ import annotations

import functools
import html
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis, tables
from sealkit.analysis import HeatStates, Limit, heat_states
from sealkit.analysis.heat_states import JUDGED, STATES
from sealkit.build import Build
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Solved
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.report import ranking
from sealkit.sealing import heat, liquids, surfaces
from sealkit.units import Q, quantify, show, show_unit, show_value

Array = NDArray[np.float64]

CHECKS = {
    "thermal": ["H1", "H4-force"],
    "heat": ["M12-differential"],
    "liquids": ["cap-low", "cap-high", "coolant-mp", "coat-y", "fibre-m", "copper-y"],
}

WORKSHOP = Q(heat.ASSEMBLED_AT, "K")

HEADS = ("A356-T6", "319-T6", "6061-T6", "grey iron", "ductile iron")
_HIGHEST = 200.0  # per cent wanted of what there is; longer bars are cut there


_SHORT = {
    "as tightened": "tight-<br>ened",
    "settled": "settled",
    "hot": "hot",
    "cold again": "cold<br>again",
    "cold soak": "cold<br>soak",
    "retorqued cold": "re-<br>torqued",
}


# --------------------------------------------------------------------------- the panel
def _knobs(build: Build) -> Sequence[Knob]:
    state = analysis.hot_state(build)
    creep = build.gasket.creep_relaxation
    if creep is None:
        known = tables.load("creep")
        name = build.gasket.construction
        creep = float(known[name]["share"]) if name in known else 0.05
    pressure = build.liquids.coolant_pressure
    if pressure is None:
        pressure = float(liquids.circuit.si(liquids.HOT_CIRCUITS[0]).high)
    k = controls.sheet
    return (
        k(
            "heat.coolant_temperature",
            "Coolant when hot",
            "temperature",
            float(state.coolant),
            313.15,
            403.15,
        ),
        k("heat.cold_soak", "Cold soak", "temperature", build.heat.cold_soak, 233.15, 293.15),
        k(
            "gasket.creep_relaxation",
            "Creep relaxation of the gasket",
            "fraction",
            creep,
            0.0,
            max(0.4, creep),
        ),
        k(
            "liquids.coolant_pressure",
            "Coolant pressure when hot",
            "gauge pressure",
            pressure,
            0.5e5,
            max(6e5, pressure),
        ),
    )


def _picks(build: Build) -> Sequence[Pick]:
    own = build.head.material
    heads = HEADS if own in HEADS else (*HEADS, own)
    states = ("warm-up", "warm idle", "hot full load")
    return (
        controls.gasket(build),
        Pick("head.material", "Head of", heads, own),
        Pick("heat.hot_state", "Hot state", states, build.heat.hot_state),
    )


def _work(build: Build, _: Free) -> HeatStates:
    return heat_states(build)


_CHARTS = {
    "seal": ("combustion seal", "seal load", "leaks", "Combustion seal"),
    "coolant": ("coolant", "liquid", "weeps", "Coolant"),
    "oil": ("oil", "temperature", "weeps", "Oil"),
}
_LEVELS = (-0.5, len(STATES) - 0.5)


def _share(limit: Limit | None) -> float:
    """What is wanted of what there is, per cent, cut to what the chart shows."""
    if limit is None or not float(limit.demand) > 0:
        return 0.0
    has = float(limit.capacity)
    return min(100.0 * float(limit.demand) / has, _HIGHEST) if has > 0 else _HIGHEST


def _told_share(limit: Limit | None, bad: str, nothing: str) -> str:
    if limit is None:
        return nothing
    share = _share(limit)
    number = f">{share:.0f} %" if share >= _HIGHEST else f"{share:.0f} %"
    return f"{'holds' if limit.holds else bad}<br>{number}"


def _bars(one: HeatStates, system: str) -> dict[str, tuple[Array, list[str]]]:
    preload = [float(show_value(s.preload, "force", system)) for s in one.stands]
    decimals = 1 if system == "metric" else 0
    out = {"preload": (np.array(preload), [f"{v:,.{decimals}f}" for v in preload])}
    dry = one.build.liquids.deck == "dry"
    for key, (name, _, bad, _) in _CHARTS.items():
        limits = [s.limits.get(name) for s in one.stands]
        nothing = "dry" if dry and key != "seal" else "rest"
        out[key] = (
            np.array([_share(x) for x in limits]),
            [_told_share(x, bad, nothing) for x in limits],
        )
    return out


def _traces(one: HeatStates, system: str) -> list[dict[str, Any]]:
    bars = _bars(one, system)
    y, words = bars["preload"]
    found = [draw.bars("preload", "preload of one fastener", "clamp", y, 0, words)]
    places = np.arange(len(STATES), dtype=float)
    for chart, (key, (name, colour, _, _)) in enumerate(_CHARTS.items(), start=1):
        y, words = bars[key]
        found.append(draw.bars(key, name, colour, y, chart))
        ends = np.array(_LEVELS)
        found.append(
            draw.line(f"{key} wanted", "wanted", "lift", ends, np.full(2, 100.0), chart, "dash")
        )
        # the words stand in one row over the bars, clear of the line
        row = draw.line(
            f"{key} words",
            f"{name} in words",
            "lift",
            places,
            np.full(len(STATES), 1.08 * _HIGHEST),
            chart,
            at=0.0,
            place="top center",
        )
        found.append(row | {"mode": "text", "text": words, "hoverinfo": "skip"})
    return found


def _layout(courses: Sequence[HeatStates], system: str) -> dict[str, Any]:
    preload = [_bars(c, system)["preload"][0] for c in courses]
    names = tuple(_SHORT.values())
    over = [
        draw.Chart(
            f"Preload, low end, {show_unit('force', system)}",
            draw.span(*preload, room=0.22),
            _LEVELS,
            names=names,
        )
    ]
    for _, _, _, title in _CHARTS.values():
        over.append(
            draw.Chart(
                f"{title}: used, %",
                (-0.02 * _HIGHEST, 1.7 * _HIGHEST),
                _LEVELS,
                names=names,
            )
        )
    return draw.layout(over, height=1100, gap=0.09, hover="closest")


def _values(one: HeatStates, system: str) -> Values:
    bars = _bars(one, system)
    y, words = bars.pop("preload")
    traces: dict[str, dict[str, Any]] = {"preload": {"y": y, "text": words}}
    for key, (ratio, words) in bars.items():
        traces[key] = {"y": ratio}
        traces[f"{key} words"] = {"text": words}
    return traces


def _sentence(one: HeatStates, system: str) -> Sentence:
    force = functools.partial(show, kind="force", system=system)
    state, soak = one.warm.state, one.build.heat.cold_soak
    words = (
        f"Each fastener: {force(one.preload('as tightened'))} as tightened (low end), "
        f"{force(one.preload('settled'))} settled, {force(one.preload('hot'))} hot ({state.name}, "
        f"coolant {show(float(state.coolant), 'temperature', system, 0)}), "
        f"{force(one.preload('cold again'))} cold again, {force(one.preload('cold soak'))} at "
        f"{show(soak, 'temperature', system, 0)}. "
    )
    bad, parts = [], []
    for name in JUDGED:
        least = one.least(name)
        if least is None:
            continue
        stand, limit = least
        if not limit.holds:
            bad.append(name)
        parts.append(
            f"{name[:1].upper()}{name[1:]} has least {_when(stand.name)}: "
            f"{show(float(limit.capacity), limit.kind, system)} for "
            f"{show(float(limit.demand), limit.kind, system)} wanted."
        )
    if one.build.liquids.deck == "dry":
        parts.append("The deck is dry: no liquid passes the gasket.")
    told = words + " ".join(parts)
    if not bad:
        return Sentence("TIGHT HOT AND COLD", told, True)
    return Sentence(f"NOT TIGHT: {', '.join(bad).upper()}", told, False)


def _when(state: str) -> str:
    """A state as it stands in a sentence."""
    return {"cold soak": "in the cold soak", "settled": "when settled", "hot": "when hot"}.get(
        state, f"when {state}"
    )


def _state_rows(one: HeatStates, system: str) -> Rows:
    rows = []
    dry = one.build.liquids.deck == "dry"
    for stand in one.stands:
        row = {"state": stand.name, "preload of one fastener": show(stand.preload, "force", system)}
        for name in JUDGED:
            limit = stand.limits.get(name)
            nothing = "dry deck" if dry and name != "combustion seal" else "engine at rest"
            row[name] = (
                nothing
                if limit is None
                else f"{'holds' if limit.holds else 'DOES NOT HOLD'}: "
                f"{show(float(limit.capacity), limit.kind, system)} of "
                f"{show(float(limit.demand), limit.kind, system)}"
            )
        rows.append(row)
    return rows


def _temperature_rows(one: HeatStates, system: str) -> Rows:
    warm = one.warm
    state = warm.state
    parts = {
        "coolant": state.coolant,
        "head, mean over the clamped length": state.head,
        "block, likewise": state.block,
        "fasteners": state.fastener,
        "gasket body": state.gasket,
        "gasket at the bore": state.bore_edge,
    }
    rows = [
        {
            f"in the state {state.name}": words,
            "value": show(float(value), "temperature", system, 0),
            "status": state.status,
        }
        for words, value in parts.items()
    ]
    rows.append(
        {
            f"in the state {state.name}": "stack outgrows the fasteners by",
            "value": show(float(warm.differential_expansion), "lift", system),
            "status": "computed",
        }
    )
    rows.append(
        {
            f"in the state {state.name}": "hot fastener at the high end, at peak pressure",
            "value": f"{show(float(np.max(warm.high.hot_bolt_force)), 'force', system)}; yields at "
            f"{show(float(warm.high.hot_yield_force), 'force', system)}",
            "status": "computed",
        }
    )
    return rows


def _tables(one: HeatStates, system: str) -> Mapping[str, Rows]:
    return {
        "State by state, low end of the preload": _state_rows(one, system),
        "Temperatures and growth": _temperature_rows(one, system),
    }


def _heads(build: Build, _: HeatStates, system: str) -> Mapping[str, Rows]:
    rows = []
    own = build.head.material
    for material in HEADS if own in HEADS else (*HEADS, own):
        one = heat_states(build.vary({"head.material": material}))
        cold, hot = one.preload("settled"), one.preload("hot")
        rows.append(
            {
                "head of": material,
                "stack outgrows the fasteners by": show(
                    float(one.warm.differential_expansion), "lift", system
                ),
                "cold": show(cold, "force", system),
                "hot": show(hot, "force", system),
                "change": f"{100 * (hot / cold - 1):+.0f} %",
                "cold soak": show(one.preload("cold soak"), "force", system),
            }
        )
    return {"Preload of one fastener under other heads": rows}


def _gaskets(build: Build, _: HeatStates, system: str) -> Mapping[str, Rows]:
    rows = []
    for pick in controls.gasket(build).options:
        one = heat_states(ranking.with_construction(build, pick))
        row = {"gasket": pick}
        for name in JUDGED:
            least = one.least(name)
            row[name] = (
                "not judged"
                if least is None
                else f"{'holds' if least[1].holds else 'DOES NOT HOLD'}, least "
                f"{_when(least[0].name)}"
            )
        rows.append(row)
    return {"Where each gasket has least": rows}


# --------------------------------------------------------------------------- the idea
_EXAGGERATED = 250.0


def growth(build: Build, system: str = "metric") -> str:
    """SVG: what stack and fastener would grow by if nothing held them together."""
    stack, grown = analysis.stack_of(build), analysis.grown_parts(build)
    state = analysis.hot_state(build)
    length = float(stack.bolt_length)
    scale = 210.0 / length

    def tall(value: float) -> float:
        return _EXAGGERATED * scale * value

    small = functools.partial(show, kind="lift", system=system)
    pile = grown["head"] + grown["block"] + grown["gasket"]
    base = 350.0
    block = float(stack.block_length) * scale + tall(grown["block"])
    head = base - block - (float(stack.head_length) * scale + tall(grown["head"]))
    bolt = base - length * scale - tall(grown["fastener"])
    top = base - length * scale
    told = (
        f"From the workshop to {state.name} (coolant "
        f"{show(float(state.coolant), 'temperature', system, 0)}) the clamped stack of "
        f"{build.head.material} on {build.block.material} grows by {small(pile)}, the fastener by "
        f"{small(grown['fastener'])}. The difference, {small(pile - grown['fastener'])}, acts as "
        "if the nut had been turned on by that length"
        + ("." if pile >= grown["fastener"] else ", backwards.")
    )
    words = f"Growth by heat of the clamped stack and of the fastener beside it. {told}"
    green, brown = COLOURS["clamp"], COLOURS["temperature"]
    shapes = [
        f"<rect x='60' y='{head:.1f}' width='170' height='{base - block - head:.1f}' "
        "fill='#e3e7ea' stroke='#333'/>",
        f"<rect x='60' y='{base - block:.1f}' width='170' height='{block:.1f}' fill='#c9ced3' "
        "stroke='#333'/>",
        f"<rect x='330' y='{bolt:.1f}' width='46' height='{base - bolt:.1f}' fill='#8f979e' "
        "stroke='#333'/>",
        f"<rect x='308' y='{bolt - 26:.1f}' width='90' height='26' fill='#8f979e' stroke='#333'/>",
        f"<path d='M40,{top:.1f} H420' stroke='#555' stroke-dasharray='6 5' fill='none'/>",
        f"<path d='M40,{head:.1f} H470' stroke='{brown}' stroke-width='3' fill='none'/>",
        f"<path d='M300,{bolt:.1f} H470' stroke='{green}' stroke-width='3' fill='none'/>",
        f"<path d='M455,{head:.1f} V{bolt:.1f}' stroke='#111' stroke-width='3' fill='none'/>",
        f"<text x='145' y='{(head + base - block) / 2 + 8:.1f}' text-anchor='middle'>head</text>",
        f"<text x='240' y='{base - 8:g}'>block</text>",
        f"<text x='145' y='{min(head, top) - 14:.1f}' text-anchor='middle'>"
        f"{html.escape(small(pile))}</text>",
        f"<text x='386' y='{bolt + 34:.1f}'>{html.escape(small(grown['fastener']))}</text>",
        "<text x='353' y='384' text-anchor='middle'>fastener</text>",
        "<text x='145' y='384' text-anchor='middle'>stack</text>",
        f"<text x='476' y='{(head + bolt) / 2 - 6:.1f}'>difference</text>",
        f"<text x='476' y='{(head + bolt) / 2 + 22:.1f}'>"
        f"{html.escape(small(pile - grown['fastener']))}</text>",
    ]
    return (
        "<figure style='margin:0;max-width:600px'>"
        "<svg viewBox='0 0 640 400' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(words, quote=True)}' font-family='sans-serif' font-size='24' "
        f"fill='#111'><title>{html.escape(words)}</title><rect width='640' height='400' "
        f"fill='#fff'/>{''.join(shapes)}</svg>"
        f"<figcaption style='font-size:14px;line-height:1.35'>{html.escape(told)} Growth is drawn "
        f"{_EXAGGERATED:.0f} times too large; the dashed line is the workshop.</figcaption>"
        "</figure>"
    )


def picture(build: Build, system: str | None = None) -> Shown:
    """What stack and fastener grow by from the workshop to the hot state."""
    grown = analysis.grown_parts(build)
    system = system or build.system
    told = "; ".join(f"{k} grows by {show(v, 'lift', system)}" for k, v in grown.items())
    return Shown(growth(build, system), told)


def _drawing(one: HeatStates, system: str) -> str:
    return growth(one.build, system)


SCENE = Scene(
    name="heat",
    words="Preload of one fastener in six states from the wrench to the retorque, and what "
    "combustion seal, coolant and oil want there of what they have",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    buttons={"Compare heads": _heads, "Compare gaskets, hot and cold": _gaskets},
)


# --------------------------------------------------------------------------- by hand
def quantities(build: Build) -> tuple[heat.Stack, heat.ThermalState]:
    """The clamped stack and the hot state of a build, with units."""
    state = analysis.hot_state(build)
    return quantify(analysis.stack_of(build)), quantify(state)


def grows(build: Build, part: str) -> Any:
    """How far "head", "block", "gasket" or "fastener" grows to the hot state, with its unit.

    Raises
    ------
    InputError
        for another part.
    """
    grown = analysis.grown_parts(build)
    if part not in grown:
        raise fail("part", part, f"one of {', '.join(grown)}")
    return Q(grown[part], "m").to("um")


def told(build: Build, system: str | None = None) -> str:
    """Mismatch, and what it does to one fastener, from the report."""
    one = heat_states(build)
    system = system or build.system
    cold, hot = one.preload("settled"), one.preload("hot")
    force = functools.partial(show, kind="force", system=system)
    rigid = one.rigid_gain
    return (
        f"with head and block rigid this would add {force(rigid)}; they and the gasket give way, "
        f"so {force(hot - cold)} comes: {force(cold)} cold, {force(hot)} hot"
    )


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("07")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("hot")
def _(build: Build, system: str) -> Solved:
    one = heat_states(build)
    cold, hot = one.preload("settled"), one.preload("hot")
    grown = float(one.warm.differential_expansion)
    return Solved(
        hot,
        {
            "hot is looser": 2.0 * cold - hot,
            "rigid head and block": cold + one.rigid_gain,
            "heat changes nothing": cold,
        },
        {
            "cold": (cold, "force"),
            "grown": (grown, "lift"),
            "told": told(build, system),
            "again": (one.preload("cold again"), "force"),
        },
        _state_rows(one, system),
    )


def _change(build: Build) -> str:
    one = heat_states(build)
    share = one.preload("hot") / one.preload("settled") - 1.0
    return "alike" if abs(share) < 0.1 else "hot is tighter" if share > 0 else "hot is looser"


@EXERCISES.solver("iron")
def _(build: Build, system: str) -> Solved:
    """With a head of iron, or of aluminium where it is of iron."""
    iron = surfaces.face_of(build.head.material) == "iron"
    other = build.vary({"head.material": "A356-T6" if iron else "grey iron"})
    return Solved(
        _change(other),
        {"all heads grow alike": _change(build)},
        {
            "head": other.head.material,
            "block": build.block.material,
            "fasteners": build.fasteners.material,
        },
        _heads(build, heat_states(build), system)["Preload of one fastener under other heads"],
    )


@EXERCISES.solver("retorque")
def _(build: Build, system: str) -> Solved:
    one = heat_states(build)
    wrench, cold = one.retorqued_hot()
    settled, again = one.preload("settled"), one.preload("cold again")
    return Solved(
        cold,
        {
            "the wrench says so": wrench,
            "as before the retorque": again,
            "settled as at first": settled,
        },
        {
            "wrench": (wrench, "force"),
            "again": (again, "force"),
            "heat": (one.preload("hot") - settled, "force"),
        },
        [
            {"retorque": "none", "cold": (again, "force")},
            {"retorque": "hot, slackened first", "cold": (cold, "force")},
            {"retorque": "cold", "cold": (one.preload("retorqued cold"), "force")},
        ],
    )


@EXERCISES.solver("sealant")
def _(build: Build, system: str) -> Solved:
    wired = ranking.with_construction(build, "copper with wire ring").vary({"liquids.deck": "wet"})
    bare, sealed = heat_states(wired), heat_states(wired.vary({"liquids.facing": "sealant film"}))
    was, least = bare.least("coolant"), sealed.least("coolant")
    return Solved(
        "sealant cures everything" if least and least[1].holds else "no stress at the holes",
        figures={"state": "weeps" if was and not was[1].holds else "is tight"},
        rows=[
            {
                "copper at the holes": words,
                "state": stand.name,
                "has": (float(limit.capacity), limit.kind),
                "wants": (float(limit.demand), limit.kind),
                "coolant": "held" if limit.holds else "weeps",
            }
            for words, one in (("dry", bare), ("with sealant film", sealed))
            for stand in one.stands[1:]
            if (limit := stand.limits.get("coolant"))
        ],
    )
