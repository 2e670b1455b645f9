"""Lesson 03, springs in a stack: its panel, its pictures, and the questions with their answers."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import report as reports
from sealkit.analysis.wrench import set_by, tighter
from sealkit.build import Build, ShankPart
from sealkit.classroom.drawing import charts, draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Solved
from sealkit.classroom.lessons import lesson
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.fastening import stiffness
from sealkit.pressure import geometry
from sealkit.report import Report
from sealkit.units import Q, from_si, show, show_unit, show_value

Array = NDArray[np.float64]

CHECKS = {
    "load-sharing": ["T2-C", "T2-preload-stress", "T2-stress", "L9-C", "L9-bolts", "L9-clamp"],
    "stiffness": ["J4-kb", "J4-km", "J8-C"],
}
CRANK = "crank angle"
ANGLES = (-90.0, 120.0)
_OPEN = 20.0  # where the panel opens, degrees after top dead centre
_SCALE = 3.0  # units of the drawing for each micrometre of lift
_WAIST = 0.85  # of the thread diameter: a waisted shank
_SHANK = 0.7  # of the clamped length: how much of it is shank
SHANKS = ("as on the sheet", "full shank", "waisted shank")


# --------------------------------------------------------------------------- the numbers
@dataclass(frozen=True)
class State:
    """The joint of one bore at one gas load (N, m): pull is that of one fastener."""

    gas: float
    pull: float
    clamp: float
    lift: float


@dataclass(frozen=True)
class Found:
    """What the panel shows.

    Parameters
    ----------
    report : the whole chain; its `sealing` joint is the one shown (low preload, cold or hot)
    angle : crank angle shown, rad
    rest, now, peak : without gas, at that angle, at the peak of the cycle the joint is sized on
    pulls, stretches, clamps : of one fastener as the gas load rises from nothing (N, m, N)
    separation : gas load of one bore at which the last clamp is gone, N
    """

    report: Report
    angle: float
    rest: State
    now: State
    peak: State
    pulls: Array
    stretches: Array
    clamps: Array
    separation: float

    @property
    def bolts(self) -> float:
        """Fasteners that count for one bore."""
        return float(self.report.joint.bolts)

    def taken(self, state: State) -> float:
        """What the fasteners of one bore take of the gas load, N."""
        return self.bolts * (state.pull - self.rest.pull)

    def share(self, state: State) -> float:
        """The same as a share of the gas load; 0 without gas."""
        return self.taken(state) / state.gas if state.gas > 1.0 else 0.0


_kept: list[tuple[Build, Report]] = []


def _report(build: Build) -> Report:
    """The report of a build; the last two are kept, since the crank angle changes none of it."""
    for one, made in _kept:
        if one is build:
            return made
    made = reports.run(build)
    _kept.insert(0, (build, made))
    del _kept[2:]
    return made


def _states(report: Report, pressures: Any) -> tuple[Any, Array]:
    """(state of the joint at each gas pressure by itself, stretch of a fastener there)."""
    joint = report.joint
    p = np.asarray(pressures, dtype=float).reshape(-1, 1)
    state = joint.under_gas(report.sealing, p)
    stretch = np.asarray(state.bolt_force)[:, 0] / joint.bolt_stiffness + state.plastic_stretch
    return state, stretch


def find(build: Build | Report, angle: float = np.radians(_OPEN)) -> Found:
    """The joint of one bore over the gas load, and at one crank angle."""
    report = build if isinstance(build, Report) else _report(build)
    joint, gas, over = report.joint, report.gas, report.over_angle
    place = int(np.argmin(np.abs(np.asarray(gas.cycle.crank_angle) - angle)))
    top = int(np.argmax(gas.sizing))

    def at(i: int) -> State:
        return State(
            float(over.gas_force[i]),
            float(over.bolt_force[i]),
            float(over.clamp[i]),
            float(over.seal_lift[i]),
        )

    separation = float(joint.separation(report.sealing)[0])
    most = 1.08 * max(separation, float(gas.sizing[top]))
    most = min(most, joint.bolts * joint.yield_force / joint.gas_area)
    state, stretch = _states(report, np.linspace(0.0, most, 41))
    return Found(
        report,
        angle,
        State(0.0, float(state.bolt_force[0, 0]), float(state.clamp[0, 0]), 0.0),
        at(place),
        at(top),
        np.asarray(state.bolt_force)[:, 0],
        stretch,
        np.asarray(state.clamp)[:, 0] / joint.bolts,
        separation * joint.gas_area,
    )


# --------------------------------------------------------------------------- knobs and picks
def _knobs(build: Build) -> Sequence[Knob]:
    f = build.fasteners
    shank = sum(part.length for part in f.shank) - f.grip_block
    low = min(max(0.75 * f.grip_head, 1.001 * shank), f.grip_head)
    return (
        Knob(
            CRANK,
            "Crank angle",
            "angle",
            np.radians(_OPEN),
            np.radians(ANGLES[0]),
            np.radians(ANGLES[1]),
        ),
        controls.boost(build),
        controls.tightening(build),
        controls.sheet(
            "fasteners.grip_head",
            "Clamped length in the head",
            "length",
            f.grip_head,
            low,
            1.5 * f.grip_head,
        ),
    )


def with_shank(build: Build, diameter: float) -> Build:
    """The same build with a shank of this share of the thread diameter over most of its length."""
    f = build.fasteners
    thread = _report(build).clamp.thread.diameter
    length = _SHANK * (f.grip_head + f.grip_block)
    part = ShankPart(diameter=diameter * thread, length=length)
    return build.vary_si({"fasteners.shank": (part,)})


def _picks(build: Build) -> Sequence[Pick]:
    own = build.fasteners.shank

    def take(now: Build, option: str) -> Build:
        if option == SHANKS[0]:
            return now.vary_si({"fasteners.shank": own})
        return with_shank(now, 1.0 if option == SHANKS[1] else _WAIST)

    return (Pick("shank", "Fastener", SHANKS, SHANKS[0], take),)


def _work(build: Build, free: Free) -> Found:
    return find(build, float(free[CRANK]))


# --------------------------------------------------------------------------- lines
def _data(found: Found, system: str) -> dict[str, dict[str, Array]]:
    report, n = found.report, found.bolts
    degrees, places = charts.angles(report)
    degrees, places = degrees[::2], places[::2]
    over = report.over_angle

    def force(x: Any) -> Array:
        return np.atleast_1d(np.asarray(show_value(x, "force", system), dtype=float))

    def small(x: Any) -> Array:
        return np.atleast_1d(np.asarray(show_value(x, "lift", system), dtype=float))

    now = np.degrees(found.angle)
    stretch = np.interp(
        [found.now.pull, found.peak.pull],
        found.pulls,
        found.stretches,
    )
    springback = charts.peak_gap(report, system).springback
    lift = np.maximum(np.asarray(over.seal_lift)[places], 0.0)
    return {
        "bolt": {
            "x": small(np.concatenate([[0.0], found.stretches])),
            "y": force(np.concatenate([[0.0], found.pulls])),
        },
        "members": {"x": small(found.stretches), "y": force(found.clamps)},
        "gas peak": {
            "x": small(np.repeat(stretch[1], 2)),
            "y": force([found.peak.clamp / n, found.peak.pull]),
        },
        "gas now": {
            "x": small(np.repeat(stretch[0], 2)),
            "y": force([found.now.clamp / n, found.now.pull]),
        },
        "pull": {"x": degrees, "y": force(n * np.asarray(over.bolt_force)[places])},
        "clamp": {"x": degrees, "y": force(np.asarray(over.clamp)[places])},
        "gas": {"x": degrees, "y": force(np.asarray(over.gas_force)[places])},
        "here": {
            "x": np.full(3, now),
            "y": force([found.now.gas, found.now.clamp, n * found.now.pull]),
        },
        "springback": {"x": np.array(ANGLES), "y": small(np.full(2, springback))},
        "lift": {"x": degrees, "y": small(lift)},
        "lift here": {"x": np.array([now]), "y": small([max(found.now.lift, 0.0)])},
    }


def _traces(found: Found, system: str) -> list[dict[str, Any]]:
    d = _data(found, system)
    x = {k: v["x"] for k, v in d.items()}
    y = {k: v["y"] for k, v in d.items()}

    def one(key: str, label: str, colour: str, chart: int, **more: Any) -> dict[str, Any]:
        return draw.line(key, label, colour, x[key], y[key], chart, **more)

    # at the upper end of its bar, where neither line runs through it
    now = one("gas now", "gas now", "gas load", 0, at=float(x["gas now"][0]), markers=True,
              place="bottom right")  # fmt: skip
    now["text"] = ["", "gas now"]
    return [
        one("bolt", "fastener pulls", "strength", 0, at=float(x["bolt"][-1]), place="top left"),
        one("members", "clamp left", "clamp", 0, at=float(x["members"][-1]), place="top right",
            level=True),
        one("gas peak", "gas at peak", "gas load", 0, dash="dot"),
        now,
        one("pull", "fasteners pull", "strength", 1, at=-88.0, place="top right", level=True),
        one("clamp", "clamp left", "clamp", 1, at=-20.0, place="bottom left", level=True),
        one("gas", "gas pushes", "gas load", 1, dash="dash", at=62.0, place="top right",
            level=True),
        one("here", "now", "gas load", 1, markers=True, dash="dot"),
        one("springback", "seal springs back", "lift", 2, dash="dash", at=-90.0, place="top right",
            level=True),
        one("lift", "lift", "lift", 2, at=44.0, place="top right", level=True),
        one("lift here", "now", "lift", 2, markers=True),
    ]  # fmt: skip


def _layout(all_found: Sequence[Found], system: str) -> dict[str, Any]:
    every = [_data(f, system) for f in all_found]
    force, small = show_unit("force", system), show_unit("lift", system)

    def hold(*keys: str, axis: str = "y") -> tuple[float, float]:
        return draw.span(*(d[k][axis] for d in every for k in keys))

    turn = "Crank angle, ° after firing top dead centre"
    made = [
        draw.Chart(
            f"Load on one fastener, {force}",
            hold("bolt", "members", "gas now", "gas peak"),
            hold("bolt", axis="x"),
            f"Stretch of the fastener, {small}",
        ),
        draw.Chart(f"Forces on one bore, {force}", hold("pull", "clamp", "gas"), ANGLES, turn, 30),
        draw.Chart(
            f"Lift of the head at the seal, {small}", hold("springback", "lift"), ANGLES, turn, 30
        ),
    ]
    return draw.layout(made, 940, gap=0.115, hover="closest")


def _values(found: Found, system: str) -> Values:
    return _data(found, system)


# --------------------------------------------------------------------------- words
def _when(angle: float, system: str) -> str:
    side = "after" if angle >= 0 else "before"
    return f"{show(abs(angle), 'angle', system)} {side} top dead centre"


def _sentence(found: Found, system: str) -> Sentence:
    now, rest = found.now, found.rest
    springback = charts.peak_gap(found.report, system).springback
    force = {
        k: show(v, "force", system)
        for k, v in {
            "gas": now.gas,
            "taken": found.taken(now),
            "before": rest.clamp,
            "left": now.clamp,
            "off": found.separation,
        }.items()
    }
    if now.clamp <= 0.0:
        word, good = "SEPARATED", False
    elif now.lift > springback:
        word, good = "SEAL LEFT BEHIND", False
    else:
        word, good = "CLAMPED", True
    words = (
        f"{_first(_when(found.angle, system))} the gas pushes with {force['gas']}. The fasteners "
        f"take {force['taken']} of it ({100 * found.share(now):.0f} %), the rest is taken off the "
        f"clamp, which falls from {force['before']} to {force['left']}. At the seal the head lifts "
        f"{show(max(now.lift, 0.0), 'lift', system)}; the seal springs back "
        f"{show(springback, 'lift', system)}. The gas would have to push with "
        f"{force['off']} to lift "
        "the head off."
    )
    return Sentence(word, words, good)


def _first(words: str) -> str:
    return words[:1].upper() + words[1:]


def springs(report: Report) -> tuple[float, float, float, float]:
    """Stiffness of one fastener, of its members, of its part of the gasket; joint constant."""
    joint = report.joint
    gasket = float(joint.gasket_stiffness(report.sealing)[0]) / joint.bolts
    stack = float(stiffness.series.si([joint.member_stiffness, gasket]))
    constant = float(stiffness.joint_constant.si(joint.bolt_stiffness, stack))
    return joint.bolt_stiffness, joint.member_stiffness, gasket, constant


def _tables(found: Found, system: str) -> Mapping[str, Rows]:
    rows: Rows = []
    for name, state in (("no gas", found.rest), ("now", found.now), ("at peak", found.peak)):
        rows.append(
            {
                "one bore": name,
                "gas pushes": show(state.gas, "force", system),
                "fasteners pull": show(found.bolts * state.pull, "force", system),
                "clamp left": show(state.clamp, "force", system),
                "fasteners take": f"{100 * found.share(state):.0f} %",
                "lift": show(max(state.lift, 0.0), "lift", system),
            }
        )
    kb, km, kg, constant = springs(found.report)
    facts = [
        ("stiffness of one fastener", show(kb, "stiffness", system)),
        ("of its members, head and block", show(km, "stiffness", system)),
        ("of its part of the gasket, coming back", show(kg, "stiffness", system)),
        ("joint constant of these three", f"{constant:.3f}"),
        ("fasteners that count for one bore", f"{found.bolts:.2f}"),
        ("preload of each, as shown", show(found.rest.pull, "force", system)),
        ("state shown", f"low preload, {found.report.temperature}"),
        ("gas that lifts the head off", show(found.separation, "force", system)),
    ]
    whole = lesson.result(found.report, system)
    return {
        "Who carries the gas": rows,
        "The springs": [{"what": k, "value": v} for k, v in facts],
        "The whole joint": [{"what": k, "value": v} for k, v in whole.items()],
    }


def _row(words: str, found: Found, system: str) -> dict[str, str]:
    peak = found.peak
    return {
        "case": words,
        "preload of one": show(found.rest.pull, "force", system),
        "one feels of the gas": show(found.taken(peak) / found.bolts, "force", system),
        "share": f"{100 * found.share(peak):.0f} %",
        "clamp left": show(peak.clamp, "force", system),
        "lifts off at": show(found.separation, "force", system),
        "lift": show(max(peak.lift, 0.0), "lift", system),
        "margin of strength": lesson.result(found.report, system)["smallest margin of strength"],
    }


def _shanks(build: Build, _: Found, system: str) -> Mapping[str, Rows]:
    cases = {
        "as it stands": build,
        SHANKS[1]: with_shank(build, 1.0),
        SHANKS[2]: with_shank(build, _WAIST),
        "half longer": _longer(build),
    }
    rows = [_row(k, find(b), system) for k, b in cases.items()]
    return {"Stiff and soft fasteners (the waist is an invented one)": rows}


def _longer(build: Build) -> Build:
    return build.vary({"fasteners.grip_head": from_si(1.5 * build.fasteners.grip_head, "length")})


# --------------------------------------------------------------------------- pictures
def gap(found: Found, system: str = "metric") -> charts.Gap:
    """The drawn section at the crank angle shown."""
    report, now = found.report, found.now
    at_peak = charts.peak_gap(report, system)
    engine = report.build.engine
    place = float(geometry.piston_position.si(found.angle, engine.stroke, engine.rod_length))
    lift = max(now.lift, 0.0)
    touch = "still touches" if lift <= at_peak.springback else "no longer touches"
    told = (
        f"{_first(_when(found.angle, system))} the head has lifted {show(lift, 'lift', system)} "
        f"at the bore edge and the seal {touch}. The gap is drawn much too large; nothing is to "
        "scale."
    )
    most = max(found.peak.gas, 1.0)
    return charts.Gap(
        lift,
        at_peak.springback,
        told,
        now.gas / most,
        min(found.bolts * now.pull / (2.0 * most), 1.0),
        place / engine.stroke,
        _SCALE,
    )


def _drawing(found: Found, system: str) -> str:
    return charts.cross_section(found.report, system, gap(found, system))


def _spring(x: float, top: float, bottom: float, width: float, colour: str) -> str:
    turns = 7
    ys = np.linspace(top, bottom, 2 * turns + 2)
    xs = [x + (0 if i in (0, 2 * turns + 1) else width * (-1) ** i) for i in range(2 * turns + 2)]
    path = " ".join(
        f"{'L' if i else 'M'}{a:.1f},{b:.1f}" for i, (a, b) in enumerate(zip(xs, ys, strict=True))
    )
    return f"<path d='{path}' fill='none' stroke='{colour}' stroke-width='4'/>"


def _scheme(found: Found, system: str) -> str:
    """Two joints of springs beside each other: tightened, and with the gas at its peak."""
    grey, green, red = (COLOURS[k] for k in ("strength", "clamp", "gas load"))
    most = max(found.peak.pull * found.bolts, found.peak.gas, found.rest.clamp)
    moved = 14.0
    shapes, words = [], []
    for i, (name, state) in enumerate((("tightened", found.rest), ("gas at peak", found.peak))):
        x = 16.0 + 310.0 * i
        head = 96.0 - (moved if i else 0.0)
        pull, clamp, gas = (
            show(v, "force", system) for v in (found.bolts * state.pull, state.clamp, state.gas)
        )
        words.append(f"{name}: fasteners pull {pull}, clamp {clamp}, gas {gas}")
        shapes += [
            f"<text x='{x}' y='26' font-weight='bold'>{name}</text>",
            f"<rect x='{x}' y='{head}' width='270' height='34' fill='#e3e7ea' stroke='#333'/>",
            f"<rect x='{x}' y='270' width='270' height='26' fill='#c9ced3' stroke='#333'/>",
            _spring(x + 235, head + 34, 270, 16, grey),
            _spring(x + 40, head + 34, 270, 24, green),
            f"<text x='{x + 74}' y='166'>pull</text>",
            f"<text x='{x + 74}' y='190' fill='{grey}'>{html.escape(pull)}</text>",
            f"<text x='{x + 74}' y='222'>clamp</text>",
            f"<text x='{x + 74}' y='246' fill='{green}'>{html.escape(clamp)}</text>",
            f"<rect x='{x}' y='320' width='{260 * found.bolts * state.pull / most:.1f}' "
            f"height='16' fill='{grey}'/>",
            f"<rect x='{x}' y='342' width='{260 * state.clamp / most:.1f}' height='16' "
            f"fill='{green}'/>",
        ]
        if state.gas > 0:
            shapes += [
                f"<rect x='{x + 260 * state.clamp / most:.1f}' y='342' "
                f"width='{260 * state.gas / most:.1f}' height='16' fill='{red}'/>",
                f"<path d='M{x + 206},268 V{head + 58} M{x + 197},{head + 58} L{x + 206},"
                f"{head + 40} L{x + 215},{head + 58} Z' stroke='{red}' stroke-width='5' "
                f"fill='{red}'/>",
                f"<text x='{x + 60}' y='{head + 24}'>gas {html.escape(gas)}</text>",
            ]
        else:
            shapes.append(f"<text x='{x + 60}' y='{head + 24}'>head</text>")
    alt = "The joint as springs, one bore. " + "; ".join(words) + "."
    return (
        "<figure style='margin:0;max-width:640px'>"
        "<svg viewBox='0 0 620 366' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(alt, quote=True)}' font-family='sans-serif' font-size='23' "
        f"fill='#111'><title>{html.escape(alt)}</title>"
        f"<rect width='620' height='366' fill='#fff'/>{''.join(shapes)}</svg>"
        "<figcaption style='font-size:14px;line-height:1.35'>Grey: the fasteners, pulled. Green: "
        "head, block and gasket, squeezed. Bars to one scale: pull equals clamp, and with gas "
        "pull equals clamp and gas (orange) together. Movement drawn much too large.</figcaption>"
        "</figure>"
    )


def picture(found: Found | Build, system: str = "metric") -> Shown:
    """The joint of an engine as springs, tightened and at peak pressure."""
    one = find(found) if isinstance(found, Build) else found
    text = "\n".join(
        f"{name}: fasteners pull {show(one.bolts * s.pull, 'force', system)}, clamp "
        f"{show(s.clamp, 'force', system)}, gas {show(s.gas, 'force', system)}"
        for name, s in (("tightened", one.rest), ("gas at peak", one.peak))
    )
    return Shown(_scheme(one, system), text)


SCENE = Scene(
    name="springs",
    words="Joint diagram of one fastener, forces on one bore against crank angle, and the lift of "
    "the head at the seal against crank angle",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    play=CRANK,
    buttons={"Compare stiff and soft fasteners": _shanks},
)


# --------------------------------------------------------------------------- worked by hand
def by_hand(found: Found) -> tuple[Any, Any, Any, Any, Any]:
    """(kb, km, kg, preload, gas load for one fastener) as quantities."""
    kb, km, kg, _ = (Q(k / 1e6, "kN/mm") for k in springs(found.report))
    preload = Q(found.rest.pull / 1e3, "kN")
    return kb, km, kg, preload, Q(found.peak.gas / found.bolts / 1e3, "kN")


def told(found: Found, system: str = "metric") -> str:
    """What the panel has for the same fastener at peak pressure."""
    peak, n = found.peak, found.bolts
    return (
        f"the panel: pull {show(peak.pull, 'force', system)}, clamp "
        f"{show(peak.clamp / n, 'force', system)} for one fastener, although its gasket is no "
        "straight spring and the head bends"
    )


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("03")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("feels")
def _(build: Build, system: str) -> Solved:
    found = find(build)
    peak, rest, n = found.peak, found.rest, found.bolts
    return Solved(
        peak.pull,
        {
            "gas added to preload": rest.pull + peak.gas / n,
            "gas alone": peak.gas / n,
            "whole bore": n * peak.pull,
        },
        {
            "fasteners": f"{n:g}",
            "preload": (rest.pull, "force"),
            "gas": (peak.gas, "force"),
            "more": (peak.pull - rest.pull, "force"),
            "share": (found.share(peak), "fraction", 0),
            "gone": (rest.clamp - peak.clamp, "force"),
            "left": (peak.clamp, "force"),
            "clamp": (rest.clamp, "force"),
        },
    )


@EXERCISES.solver("lift off")
def _(build: Build, system: str) -> Solved:
    found = find(build)
    rest = found.rest
    *_, constant = springs(found.report)
    line = found.bolts * float(stiffness.separation_load.si(rest.pull, constant))
    return Solved(
        found.separation,
        {"clamp as limit": rest.clamp, "straight springs": line},
        {"clamp": (rest.clamp, "force"), "line": (line, "force")},
    )


@EXERCISES.solver("softer")
def _(build: Build, system: str) -> Solved:
    before, after = find(build), find(_longer(build))
    taken = before.taken(before.peak)
    felt = after.taken(after.peak) - taken
    if abs(felt) < 0.01 * taken:
        right = "nothing changes"
    elif felt > 0:
        right = "feels more"
    else:
        right = "less clamp" if after.peak.clamp < before.peak.clamp else "more clamp"
    return Solved(
        right,
        figures={
            "before": (before.share(before.peak), "fraction", 0),
            "after": (after.share(after.peak), "fraction", 0),
        },
        rows=[_row("as it stands", before, system), _row("half longer", after, system)],
    )


_TIGHT = {"the same": 1.0, "in proportion": 1.1, "half": 0.5, "kept away": 0.1}


@EXERCISES.solver("tighter")
def _(build: Build, system: str) -> Solved:
    if set_by(build) is None:
        way = build.fasteners.tightening
        raise fail("fasteners.tightening", way, "a way of tightening that can be raised")
    before, after = find(build), find(tighter(build))
    ratio = after.taken(after.peak) / before.taken(before.peak)
    return Solved(
        min(_TIGHT, key=lambda name: abs(_TIGHT[name] - ratio)),
        figures={
            "ratio": (ratio, "number", 2),
            "before": (before.peak.clamp, "force"),
            "after": (after.peak.clamp, "force"),
        },
        rows=[_row("as it stands", before, system), _row("a tenth further", after, system)],
    )
