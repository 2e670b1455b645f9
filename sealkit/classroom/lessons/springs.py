"""Lesson 03, springs in a stack: its panel, its pictures, and the solvers of its exercises."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit.analysis.clamp import boss_diameter
from sealkit.analysis.wrench import tighter, with_shank
from sealkit.build import Build
from sealkit.classroom.drawing.joint_springs import Forces, joint_springs
from sealkit.classroom.drawing.plot import CRANK, Axes, Curve, Plot
from sealkit.classroom.drawing.shown import Shown, cells, facts
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons import lesson
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Guess, Knob, Pick, Rows, Scene, Sentence, Tile
from sealkit.errors import fail
from sealkit.report import Report, kept_report
from sealkit.report.joint_diagram import JointDiagram, joint_diagram
from sealkit.units import Q, show
from sealkit.words import Note, note

CHECKS = {
    "load-sharing": ["T2-C", "T2-preload-stress", "T2-stress", "L9-C", "L9-bolts", "L9-clamp"],
    "stiffness": ["J4-kb", "J4-km", "J8-C"],
}
CRANK_ANGLE = "crank angle"
_WAIST = 0.85  # of the thread diameter: a waisted shank
_SHANK = 0.7  # of the clamped length: how much of it is shank
SHANKS = ("as on the sheet", "full shank", "waisted shank")


def find(build: Build | Report, angle: float | None = None) -> JointDiagram:
    """The joint of one bore over the gas load, and at one crank angle; None for the peak's."""
    report = build if isinstance(build, Report) else kept_report(build)
    return joint_diagram(report, report.gas.cycle.peak_angle if angle is None else angle)


# --------------------------------------------------------------------------- knobs and picks
def _knobs(build: Build) -> Sequence[Knob]:
    f = build.fasteners
    shank = sum(part.length for part in f.shank) - f.grip_block
    low = min(max(0.75 * f.grip_head, 1.001 * shank), f.grip_head)
    peak, (first, last) = kept_report(build).gas.cycle.peak_angle, np.radians(CRANK)
    grip, plane = "fasteners.grip_head", "head.load_introduction"
    introduced = build.head.load_introduction
    return (
        Knob(CRANK_ANGLE, "Crank angle", "angle", peak, first, last),
        controls.boost(build),
        controls.tightening(build),
        controls.sheet(grip, "Clamped in the head", "length", f.grip_head, low, 1.5 * f.grip_head),
        controls.sheet(plane, "Load introduction", "fraction", introduced, 0.0, 1.0),
    )


def _longer(build: Build) -> Build:
    return build.vary_si({"fasteners.grip_head": 1.5 * build.fasteners.grip_head})


def _picks(build: Build) -> Sequence[Pick]:
    own = build.fasteners.shank

    def take(now: Build, option: str) -> Build:
        if option == SHANKS[0]:
            return now.vary_si({"fasteners.shank": own})
        return with_shank(now, 1.0 if option == SHANKS[1] else _WAIST, _SHANK)

    return (Pick("shank", "Fastener", SHANKS, SHANKS[0], take),)


# --------------------------------------------------------------------------- the charts
def _view(found: JointDiagram) -> dict[str, Any]:
    n, now, peak, rest = found.bolts, found.now, found.peak, found.rest
    return {
        "bolt": tuple(np.concatenate([[0.0], x]) for x in (found.stretches, found.tensions)),
        "members": (found.stretches, found.clamps),
        "gas peak": (found.stretch(peak), [peak.clamp / n, peak.tension]),
        "gas now": (found.stretch(now), [now.clamp / n, now.tension]),
        "takes": (found.stretch(now), [rest.tension, now.tension]),
        "loses": (found.stretch(now), [now.clamp / n, rest.tension]),
        "triangle": tuple(
            np.concatenate([[0.0], x, [x_end]])
            for x, x_end in ((found.stretches, found.stretches[-1]), (found.clamps, 0.0))
        ),
        "split": (now.tension - rest.tension, rest.tension - now.clamp / n),
    }


def _parts(view: Mapping[str, Any], system: str) -> list[str]:
    """What both parts of the gas load do, where they meet."""
    takes, loses = ((part, "force") for part in view["split"])
    words = "fastener: +{takes}<br>clamp: −{loses}"
    return [note(words, takes=takes, loses=loses).text(system), ""]


_CUT: Any = {"ranged": "", "style": {"cliponaxis": True}}
_BAR: Any = {"line": {"width": 18}, "marker": {"size": 24}}
_FILL: Any = {"fill": "toself", "fillcolor": "rgba(0,158,115,0.13)", "line": {"width": 0},
              "hoverinfo": "skip", "cliponaxis": True}  # fmt: skip
PLOT = Plot(
    charts=(
        Axes("Load on one fastener (orange: gas)", "force", "Stretch of the fastener", "lift",
             x=lambda view: (0.0, 1.7 * float(view["members"][0][-1]))),
    ),
    curves=(
        Curve("triangle", "joint diagram", "clamp", ranged="", style=_FILL),
        Curve("bolt", "fastener tension", "strength", share=0.5, place="top left", **_CUT),
        Curve("members", "clamp left", "clamp", share=1.0, raised=True, ghost=True, **_CUT),
        # the gas load fits between both lines: here split at the tension without gas
        Curve("takes", "the fastener takes", "strength", ranged="y", point=0, style=_BAR,
              raised=True, place="bottom right", text=_parts),
        Curve("loses", "the clamp loses", "clamp", ranged="y", style=_BAR, raised=True),
        Curve("gas now", "gas now", "gas load", marker=True, bare=True, ranged="y"),
        Curve("gas peak", "gas at peak", "gas load", dash="dot", ranged="y", point=0,
              place="bottom left"),
    ),
    height=460,
    view=_view,
)  # fmt: skip


# --------------------------------------------------------------------------- words and tables
def _when(angle: float) -> Note:
    side = "after" if angle >= 0 else "before"
    return note(f"{{angle}} {side} top dead centre", angle=(abs(angle), "angle"))


def _verdict(found: JointDiagram) -> tuple[str, bool]:
    if found.now.clamp <= 0.0:
        return "SEPARATED", False
    if found.now.lift > found.springback:
        return "SEAL LEFT BEHIND", False
    if found.passes:
        return "CLAMPED, BUT GAS PASSES", False
    return "CLAMPED", True


def _sentence(found: JointDiagram, system: str) -> Sentence:
    now = found.now
    words = note(
        "{when} the gas load is {gas}. The fasteners take {taken} of it ({share}), the rest is "
        "taken off the clamp, which falls from {before} to {left}. At the seal the head lifts "
        "{lift}; the seal springs back {back}, with {load} left on it for {wanted} wanted. It "
        "would take a gas load of {off} to lift the head off.",
        when=_when(found.angle),
        gas=(now.gas, "force"),
        taken=(found.taken(now), "force"),
        share=(found.share(now), "fraction", 0),
        before=(found.rest.clamp, "force"),
        left=(now.clamp, "force"),
        lift=(max(now.lift, 0.0), "lift"),
        back=(found.springback, "lift"),
        load=(found.left, found.kind),
        wanted=(found.wanted, found.kind),
        off=(found.separation, "force"),
    )
    word, good = _verdict(found)
    line = note(
        "of {gas} gas load go to the fasteners; the clamp loses the rest.", gas=(now.gas, "force")
    ).text(system)
    return Sentence(word, words.text(system), good, f"{100 * found.share(now):.0f} %", line)


def _tiles(found: JointDiagram) -> Sequence[Tile]:
    now, lift = found.now, max(found.now.lift, 0.0)
    tight = None if found.passes else True  # no tick beside a seal that leaks
    return (
        ("gas load on one bore", (now.gas, "force"), None),
        ("the bore's fasteners take", (found.taken(now), "force"), None),
        ("clamp left on one bore", (now.clamp, "force"), now.clamp > 0.0 and tight),
        ("lift at the bore edge", (lift, "lift"), lift <= found.springback and tight),
        ("left on the seal", (found.left, found.kind), not found.passes),
        ("parts one bore's joint", (found.separation, "force"), None),
    )


def _tables(found: JointDiagram, system: str) -> Mapping[str, Rows]:
    states = [
        {
            "one bore": name,
            "gas load": (state.gas, "force"),
            "fastener tension": (found.forces(state)[0], "force"),
            "clamp left": (state.clamp, "force"),
            "fasteners take": (found.share(state), "fraction", 0),
            "lift": (max(state.lift, 0.0), "lift"),
        }
        for name, state in (("no gas", found.rest), ("now", found.now), ("at peak", found.peak))
    ]
    one, boss = found.springs, boss_diameter(found.report.build)
    introduced = found.report.joint.load_introduction
    row = next(r for r in found.report.limits if r.check == "fatigue")
    stands = {"swing": (row.demand, "stress"), "limit": (row.capacity, "stress")}
    swing = note("{swing} at peak; it stands {limit} ({status})", **stands, status=row.status)
    springs = [
        ("stiffness of one fastener, with its ends", (one.fastener, "stiffness")),
        ("of its members, head and block", (one.members, "stiffness")),
        ("which are no wider than the bolt boss", (boss, "length")),
        ("of its part of the gasket, coming back", (one.gasket, "stiffness")),
        ("load introduction factor (gas acts on the fire deck)", (introduced, "number", 2)),
        ("of the fastener with the head above that plane", (one.upper, "stiffness")),
        ("joint constant of these springs", (one.constant, "number", 3)),
        ("stress in the thread swings up and down by", swing),
        ("fasteners that count for one bore", (found.bolts, "number", 2)),
        ("preload of each, as shown", (found.rest.tension, "force")),
        ("state shown", f"low preload after creep in the heat, {found.report.temperature}"),
        ("gas load that lifts the head off", (found.separation, "force")),
    ]
    return {
        "Who carries the gas load": cells(states, system),
        "The springs": facts(springs, system),
        "The whole joint": facts(lesson.result(found.report).items(), system),
    }


def _row(case: str, found: JointDiagram) -> dict[str, Any]:
    peak, whole = found.peak, lesson.result(found.report)
    return {
        "case": case,
        "preload of one": (found.rest.tension, "force"),
        "one feels of the gas load": (found.taken(peak) / found.bolts, "force"),
        "share": (found.share(peak), "fraction", 0),
        "clamp left": (peak.clamp, "force"),
        "lifts off at": (found.separation, "force"),
        "lift": (max(peak.lift, 0.0), "lift"),
        "margin of strength": whole["smallest margin of strength"],
    }


def _shanks(build: Build, _: JointDiagram, system: str) -> Mapping[str, Rows]:
    cases = {
        "as it stands": build,
        SHANKS[1]: with_shank(build, 1.0, _SHANK),
        SHANKS[2]: with_shank(build, _WAIST, _SHANK),
        "half longer": _longer(build),
    }
    rows = [_row(case, find(one)) for case, one in cases.items()]
    return {"Stiff and soft fasteners (the waist is an invented one)": cells(rows, system)}


# --------------------------------------------------------------------------- pictures
def picture(found: JointDiagram | Build, system: str = "metric") -> Shown:
    """The joint of an engine as springs, tightened and at peak; for a build that is a question."""
    one = find(found) if isinstance(found, Build) else found
    states = {"one bore, tightened": one.rest, "one bore, gas at peak": one.peak}
    drawn = {k: Forces(*one.forces(s)) for k, s in states.items()}
    return joint_springs(drawn, system, asked=one is not found)


def _question(found: JointDiagram) -> Note:
    return note(
        "One fastener pulls {rest}; its share of the gas at peak is {gas}. How hard does it pull "
        "then?",
        rest=(found.rest.tension, "force"),
        gas=(found.peak.gas / found.bolts, "force"),
    )


SCENE = Scene(
    name="springs",
    words="Joint diagram: tension and clamp of one fastener against its stretch",
    knobs=_knobs,
    picks=_picks,
    work=lambda build, free: find(build, float(free[CRANK_ANGLE])),
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    scope="one bore at this crank angle, low preload",
    tiles=_tiles,
    joint=lambda found: found.report,
    play=CRANK_ANGLE,
    buttons={"Compare stiff and soft fasteners": _shanks},
    guess=Guess(_question, "gas peak", "most", "force", ("takes", "loses", "gas now")),
)


# --------------------------------------------------------------------------- worked by hand
def by_hand(found: JointDiagram) -> tuple[Any, Any, Any, Any, Any]:
    """(kb, km, kg, preload, gas load for one fastener) as quantities, parted at the load plane."""
    one = found.springs
    kb, km, kg = (Q(k / 1e6, "kN/mm") for k in (one.upper, one.lower, one.gasket))
    preload, gas = found.rest.tension, found.peak.gas / found.bolts
    return kb, km, kg, Q(preload / 1e3, "kN"), Q(gas / 1e3, "kN")


def by_panel(found: JointDiagram, system: str = "metric") -> str:
    """What the panel has for the same fastener at peak pressure."""
    tension, clamp = (
        show(x, "force", system) for x in (found.peak.tension, found.peak.clamp / found.bolts)
    )
    return (
        f"the panel: tension {tension}, clamp {clamp} for one fastener, although its gasket is no "
        "straight spring and the head bends"
    )


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("03")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("feels")
def _(build: Build, system: str) -> Names:
    found = find(build)
    peak, rest, n = found.peak, found.rest, found.bolts
    share = found.share(peak)
    return locals()


@EXERCISES.solver("lift off")
def _(build: Build, system: str) -> Names:
    found = find(build)
    rest = found.rest
    line = found.springs.parting
    return locals()


@EXERCISES.solver("softer")
def _(build: Build, system: str) -> Names:
    before, after = find(build), find(_longer(build))
    taken = before.taken(before.peak)
    felt = after.taken(after.peak) - taken
    if abs(felt) < 0.01 * taken:
        right = "nothing changes"
    elif felt > 0:
        right = "feels more"
    else:
        right = "less clamp" if after.peak.clamp < before.peak.clamp else "more clamp"
    share_before = before.share(before.peak)
    share_after = after.share(after.peak)
    rows = [_row("as it stands", before), _row("half longer", after)]
    return locals()


@EXERCISES.solver("tighter")
def _(build: Build, system: str) -> Names:
    way = build.fasteners.tightening
    if way == "yield":
        raise fail("fasteners.tightening", way, "a way of tightening that can be raised")
    before, after = find(build), find(tighter(build))
    ratio = after.taken(after.peak) / before.taken(before.peak)
    right = "in proportion" if ratio > 1.05 else "no more" if ratio > 0.3 else "kept away"
    rows = [_row("as it stands", before), _row("a tenth further", after)]
    return locals()
