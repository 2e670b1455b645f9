"""Lesson 03, springs in a stack: its panel, its pictures, and the solvers of its exercises."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit.analysis.clamp import boss_diameter
from sealkit.analysis.wrench import tighter, with_shank
from sealkit.build import Build
from sealkit.classroom.drawing.joint_springs import joint_springs
from sealkit.classroom.drawing.plot import CRANK, Axes, Curve, Plot
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Knob, Pick, Rows
from sealkit.errors import fail
from sealkit.report import Report, kept_report
from sealkit.report.joint_diagram import JointDiagram, joint_diagram
from sealkit.units import Q

TEXT = Text(__file__)
CHECKS = TEXT.checks
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
        controls.sheet(grip, "Clamped in the head", f.grip_head, low, 1.5 * f.grip_head),
        controls.sheet(plane, "Load introduction", introduced, 0.0, 1.0),
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
    return [TEXT.note("parts", view).text(system), ""]


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
        Curve("bolt", "fastener tension", "strength", share=0.5, side="top left", **_CUT),
        Curve("members", "clamp left", "clamp", share=1.0, raised=True, ghost=True, **_CUT),
        # the gas load fits between both lines: here split at the tension without gas
        Curve("takes", "the fastener takes", "strength", ranged="y", point=0, style=_BAR,
              raised=True, side="bottom right", text=_parts),
        Curve("loses", "the clamp loses", "clamp", ranged="y", style=_BAR, raised=True),
        Curve("gas now", "gas now", "gas load", marker=True, bare=True, ranged="y"),
        Curve("gas peak", "gas at peak", "gas load", dash="dot", ranged="y", point=0,
              side="bottom left"),
    ),
    height=460,
    view=_view,
)  # fmt: skip


# --------------------------------------------------------------------------- in words
def _told(found: JointDiagram) -> Names:
    now, peak, rest, springs = found.now, found.peak, found.rest, found.springs
    at, side = abs(found.angle), "after" if found.angle >= 0 else "before"
    taken, share, lift = found.taken(now), found.share(now), max(now.lift, 0.0)
    left, wanted = (found.left, found.kind), (found.wanted, found.kind)
    tight, clamped, follows = not found.passes, now.clamp > 0.0, lift <= found.springback
    good, word = False, "CLAMPED, BUT GAS PASSES"
    if not clamped:
        word = "SEPARATED"
    elif not follows:
        word = "SEAL LEFT BEHIND"
    elif tight:
        good, word = True, "CLAMPED"
    sound = tight or None  # no tick beside a seal that leaks
    return locals() | {"clamped": clamped and sound, "follows": follows and sound}


def _behind(found: JointDiagram) -> Names:
    """What the tables tell beside."""
    cases = {"no gas": found.rest, "now": found.now, "at peak": found.peak}
    states = [
        {"case": k, "state": s, "share": found.share(s), "tension": found.forces(s)[0]}
        for k, s in cases.items()
    ]
    boss = boss_diameter(found.report.build)
    swing = next(r for r in found.report.limits if r.check == "fatigue")
    whole = lesson.result(found.report).items()
    return locals()


def _compared(cases: Mapping[str, JointDiagram]) -> Names:
    strength = "smallest margin of strength"
    rows = [
        {
            "case": case,
            "found": one,
            "taken": one.taken(one.peak),
            "share": one.share(one.peak),
            "strength": lesson.result(one.report)[strength],
        }
        for case, one in cases.items()
    ]
    return {"cases": rows}


def _shanks(build: Build, _: JointDiagram, system: str) -> Mapping[str, Rows]:
    cases = {
        "as it stands": build,
        SHANKS[1]: with_shank(build, 1.0, _SHANK),
        SHANKS[2]: with_shank(build, _WAIST, _SHANK),
        "half longer": _longer(build),
    }
    return TEXT.table("cases", _compared({k: find(one) for k, one in cases.items()}), system)


# --------------------------------------------------------------------------- pictures
def picture(found: JointDiagram | Build, system: str = "metric") -> Shown:
    """The joint of an engine as springs, tightened and at peak; for a build that is a question."""
    one = find(found) if isinstance(found, Build) else found
    states = {"one bore, tightened": one.rest, "one bore, gas at peak": one.peak}
    drawn = {k: one.forces(s) for k, s in states.items()}
    return joint_springs(drawn, system, asked=one is not found)


SCENE = TEXT.scene(
    _told,
    _behind,
    knobs=_knobs,
    picks=_picks,
    work=lambda build, free: find(build, float(free[CRANK_ANGLE])),
    plot=PLOT,
    joint=lambda found: found.report,
    buttons={"Compare stiff and soft fasteners": _shanks},
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
    return TEXT.note("panel", _told(found)).text(system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("03", names=lambda build: _told(find(build)))
answer = EXERCISES.answer


@EXERCISES.solver("softer")
def _(build: Build, system: str) -> Names:
    before, after = find(build), find(_longer(build))
    if after.rest.tension < 0.9 * before.rest.tension:
        way = build.fasteners.tightening
        raise fail("fasteners.tightening", way, "a way that pulls a longer fastener as hard")
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
    rows = TEXT.rows("cases", _compared({"as it stands": before, "half longer": after}))
    return locals()


@EXERCISES.solver("tighter")
def _(build: Build, system: str) -> Names:
    way = build.fasteners.tightening
    if way == "yield":
        raise fail("fasteners.tightening", way, "a way of tightening that can be raised")
    before, after = find(build), find(tighter(build))
    ratio = after.taken(after.peak) / before.taken(before.peak)
    right = "in proportion" if ratio > 1.05 else "no more" if ratio > 0.3 else "kept away"
    rows = TEXT.rows("cases", _compared({"as it stands": before, "a tenth further": after}))
    return locals()
