"""Lesson 02, what the wrench does: its panel, its picture, and the solvers of its exercises."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from typing import Any

from sealkit import tables
from sealkit.analysis import wrench
from sealkit.analysis.case import strip_load
from sealkit.analysis.clamp import embedment_of, thread_pairs
from sealkit.analysis.wrench import Tightened, tighter
from sealkit.build import Build
from sealkit.classroom.drawing.bolt import torque_on_bolt
from sealkit.classroom.drawing.draw import HALO, SMALL
from sealkit.classroom.drawing.plot import Axes, Curve, Plot
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Knob, Pick, Rows
from sealkit.errors import fail
from sealkit.report.tables import tightened_by
from sealkit.units import Q, show_unit, show_value

TEXT = Text(__file__)
CHECKS = TEXT.checks
ENDS = ("low end", "middle", "high end")

find = functools.lru_cache(maxsize=32)(wrench.tightened)


# --------------------------------------------------------------------------- knobs and picks
def _turned(build: Build) -> str:
    """What the wrench turns."""
    return "nut" if build.fasteners.kind == "stud" else "head"


def _knobs(build: Build) -> Sequence[Knob]:
    f, row = build.fasteners, wrench.lubricant_of(build)
    out, under = [controls.tightening(build)], f"under the {_turned(build)}"
    for path, words, own, usual, low, high in (
        ("thread", "in the thread", f.friction_thread, row.thread, row.thread_low, row.thread_high),
        ("bearing", under, f.friction_bearing, row.head, row.head_low, row.head_high),
    ):
        now = usual if own is None else own
        ends = (min(low, now), max(high, now))
        path = f"fasteners.friction_{path}"
        out.append(controls.sheet(path, f"Friction {words}", now, *ends))
    return out


def _picks(build: Build) -> Sequence[Pick]:
    own, lubricants = build.fasteners, tuple(tables.load("friction"))

    def as_on_sheet(now: Build, *names: str) -> Build:
        return now.vary_si({f"fasteners.{name}": getattr(own, name) for name in names})

    def lubricate(now: Build, name: str) -> Build:
        if name != own.lubricant:
            return wrench.with_lubricant(now, name)
        return as_on_sheet(now, "lubricant", "friction_thread", "friction_bearing")

    def tighten(now: Build, method: str) -> Build:
        # every other way starts from the sheet's own, so that going round changes nothing
        set_to = ("tightening", "torque", "angle", "stretch", "preload_scatter")
        return wrench.with_method(as_on_sheet(now, *set_to), method)

    return (
        Pick("fasteners.lubricant", "Lubricant", lubricants, own.lubricant, lubricate),
        Pick("fasteners.tightening", "Tightened by", wrench.METHODS, own.tightening, tighten),
    )


# --------------------------------------------------------------------------- the charts
def _view(found: Tightened) -> dict[str, Any]:
    low, high = found.friction_range
    inside = (found.friction >= low) & (found.friction <= high)
    strength = found.clamp.strength
    return {
        "friction": found.friction,
        "gives": found.given,
        "yields": found.yielding,
        "state": (found.friction[inside], found.given[inside]),
        "now": (found.mean_friction, found.preloads[1]),
        "tension": found.tension,
        "together": found.equivalent,
        "proof": strength.proof,
        "yield": strength.yield_strength,
    }


def _figures(key: str) -> Any:
    """Stresses on their bars; the unit stands in the title."""
    return lambda view, system: [
        f"{float(show_value(v, 'stress', system)):,.0f}" for v in view[key]
    ]


_SIDES: Any = {"chart": 1, "x": (-0.5, 2.5), "at": -0.5, "level": True}
# within the bars, clear of the lines of proof and yield
_WITHIN = {
    "textposition": "inside",
    "insidetextanchor": "end",
    "textangle": 0,
    "constraintext": "none",
    "textfont": {"size": SMALL, "shadow": HALO},
}
_BIG = {"marker": {"size": 15, "line": {"color": "#fff", "width": 2}}}
PLOT = Plot(
    charts=(
        Axes("Preload of one fastener", "force", "Friction, mean of thread and head",
             grid="friction", x=(0.04, 0.36)),
        Axes("Stress; striped: with twist", "stress", names=ENDS),
    ),
    curves=(
        Curve("yields", "yields", "strength", dash="dash", at=0.28, raised=True),
        Curve("gives", "preload", "clamp", at=0.2, side="bottom left", raised=True, ghost=True),
        Curve("state", "this lubricant", "clamp", style={"line": {"width": 9}}),
        Curve("now", "now", "clamp", marker=True, ghost=True, style=_BIG),
        Curve("tension", "tension", "clamp", 1, form="bars", text=_figures("tension"),
              style=_WITHIN),
        Curve("together", "tension and twist", "clamp", 1, form="bars", pattern="/",
              text=_figures("together"), style=_WITHIN),
        Curve("proof", "proof", "strength", dash="dot", side="bottom right", **_SIDES),
        Curve("yield", "yield", "strength", dash="dash", **_SIDES),
    ),
    height=640,
    gap=0.17,
    first=0.56,
    style={"bargap": 0.1},
    view=_view,
)  # fmt: skip


# --------------------------------------------------------------------------- in words
def _verdict(found: Tightened) -> tuple[str, bool | None]:
    c = found.clamp
    asked = c.asked_high > c.yield_preload * (1 + 1e-9)
    if c.yields_on_purpose:
        return "AT YIELD ON PURPOSE", None
    if c.capped or asked or found.equivalent[2] > float(c.strength.yield_strength):
        return "CAN YIELD ON THE WRENCH", False
    if found.tension[2] > float(c.strength.proof):
        return "CAN PASS PROOF", False
    if found.equivalent[2] > float(c.strength.proof):
        return "BELOW PROOF BUT FOR THE TWIST", None
    return "BELOW PROOF ON THE WRENCH", True


def _told(found: Tightened) -> Names:
    f, c, row, preloads = found.build.fasteners, found.clamp, found.lubricant, found.preloads
    strength, together = c.strength, float(found.equivalent[2])
    yields = together > float(strength.yield_strength)
    below = not yields and (together <= float(strength.proof) or None)
    to, by = "" if f.tightening == "yield" else "to ", tightened_by(found.build)
    word, good = _verdict(found)
    return locals()


def _behind(found: Tightened) -> Names:
    """What the tables tell beside."""
    ends = [{"i": i, "end": end} for i, end in enumerate(ENDS)]
    row, settles = found.lubricant, embedment_of(found.build)[0]
    threads = "at both its threads" if thread_pairs(found.build) == 2 else "at its thread"
    factor = "none in the table" if row.nut_factor is None else row.nut_factor
    factor_status = row.nut_factor_status or "no source"
    strips, (_, strips_status, _) = strip_load(found.build, found.clamp)
    return locals()


def _cases(every: Mapping[str, Tightened]) -> Names:
    return {"cases": [(case, one, _verdict(one)[0].lower()) for case, one in every.items()]}


def _lubricants(build: Build, _: Tightened, system: str) -> Mapping[str, Rows]:
    every = {name: find(wrench.with_lubricant(build, name)) for name in tables.load("friction")}
    return TEXT.table("cases", _cases(every), system)


def _methods(build: Build, _: Tightened, system: str) -> Mapping[str, Rows]:
    ways = {method: find(wrench.with_method(build, method)) for method in wrench.METHODS}
    return TEXT.table("methods", _cases(ways), system)


# --------------------------------------------------------------------------- the idea
def picture(found: Tightened | Build, system: str = "metric") -> Shown:
    """Where the torque of a build goes, drawn."""
    one = find(found) if isinstance(found, Build) else found
    return torque_on_bolt(one.parts, float(one.preloads[1]), system, _turned(one.build))


SCENE = TEXT.scene(
    _told,
    _behind,
    knobs=_knobs,
    picks=_picks,
    work=lambda build, _: find(build),
    plot=PLOT,
    drawing=lambda found, system: picture(found, system).html,
    buttons={"Compare lubricants": _lubricants, "Compare ways of tightening": _methods},
)


# --------------------------------------------------------------------------- worked by hand
def arms(build: Build) -> tuple[Any, Any, Any]:
    """Lever arms of lead, thread friction and head friction, as quantities."""
    found = find(build)
    lead, thread, head = (Q(float(x), "mm") for x in 1e3 * found.parts / found.preloads[1])
    return lead, thread, head


def stiffness(build: Build) -> Any:
    """Stiffness of one fastener by itself as a quantity."""
    return Q(find(build).clamp.own_stiffness / 1e6, "kN/mm")


def by_table(found: Tightened, system: str = "metric") -> str:
    """What the short form of the table makes of the same torque."""
    row, ours = found.lubricant, f"{found.nut_factor:.3f}"
    none = row.nut_factor is None
    short = None if row.nut_factor is None else found.short_form(row.nut_factor)
    return TEXT.note("no factor" if none else "factor", locals()).text(system)


def sources(found: Tightened) -> Shown:
    """Where the numbers of the fastening side come from, with their status."""
    row = found.lubricant
    nut_status, nut_source = row.nut_factor_status or "none", row.nut_factor_source or "none"
    return TEXT.shown("sources", _told(found) | locals())


# --------------------------------------------------------------------------- exercises
def _by_torque(build: Build) -> None:
    way = build.fasteners.tightening
    if way != "torque":
        raise fail("fasteners.tightening", way, "a build tightened by torque")


EXERCISES = Exercises("02", _by_torque, lambda build: _told(find(build)))
answer = EXERCISES.answer


@EXERCISES.solver("wrong scale")
def _(build: Build, system: str) -> Names:
    start = find(build)
    torque = float(build.fasteners.torque or 0.0)
    other = "inch" if system == "metric" else "metric"
    factor = float(show_value(1.0, "torque", system) / show_value(1.0, "torque", other))
    right, wanted, back = (start.long_form(torque * x) for x in (factor, 1.0, 1.0 / factor))
    unit = show_unit("torque", other)
    figure = f"{show_value(torque, 'torque', system):.0f}"
    return locals()


@EXERCISES.solver("paste")
def _(build: Build, system: str) -> Names:
    own = build.fasteners.lubricant
    other = "moly paste" if own != "moly paste" else "engine oil"
    start, paste = find(build), find(wrench.with_lubricant(build, other))
    torque = float(build.fasteners.torque or 0.0)
    before, after = start.long_form(torque), paste.long_form(torque)
    rows = TEXT.rows("cases", _cases({own: start, other: paste}))
    return locals()


@EXERCISES.solver("low end")
def _(build: Build, system: str) -> Names:
    start, feel = find(build), tables.load("scatter")["by feel"]["high"]
    cases = {
        "more torque": find(tighter(build)),
        "moly paste": find(wrench.with_lubricant(build, "moly paste")),
        "stretch measured": find(wrench.with_method(build, "stretch")),
        "by feel": find(build.vary({"fasteners.preload_scatter": feel})),
    }
    low, _, high = start.preloads
    fits = [
        name
        for name, found in cases.items()
        if found.preloads[2] <= high * (1 + 1e-9) and found.preloads[0] > low
    ]
    if not fits:
        raise fail("fasteners", build.fasteners.lubricant, "a build that one of the ways helps")
    right = max(fits, key=lambda name: float(cases[name].preloads[0]))
    rows = TEXT.rows("cases", _cases({"as it stands": start, **cases}))
    return locals()
