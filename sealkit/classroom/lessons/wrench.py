"""Lesson 02, what the wrench does: its panel, its picture, and the questions with their answers."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis, tables
from sealkit.analysis import Clamp
from sealkit.build import Build
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown, html_table, plain_table
from sealkit.classroom.homework.questions import Exercises, Solved
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.fastening import tightening
from sealkit.fastening.tightening import TorqueSplit
from sealkit.sealing.joint import Joint
from sealkit.units import Q, from_si, show, show_unit, show_value

Array = NDArray[np.float64]

CHECKS = {
    "torque": ["T1-torque", "T3-preload", "T3-torque", "T3-torque-ft", "T9-K0.30", "T9-K0.10"],
    "angle-stretch": ["A1-stretch", "A1-angle"],
}
METHODS = ("torque", "torque and angle", "stretch", "yield")
FRICTION = (0.04, 0.36)  # friction shown, wide enough for every lubricant of the table
_SNUG = 1.0 / 3.0  # of the torque, where a lesson's own snug torque is needed
ENDS = ("low end", "middle", "high end")


@dataclass(frozen=True)
class Found:
    """One fastener on the wrench.

    Parameters
    ----------
    build, clamp, joint : the build and its fastening side
    split : where the torque goes at the middle preload
    preloads : as tightened, low, middle and high, N; no fastener pulls harder than it yields at
    pull, together : tension, and tension with twist while the wrench turns, at those three, Pa
    friction : friction coefficients shown on the first chart
    gives : preload the tightening gives at each, N
    yields : preload at which the fastener yields on the wrench at each, N
    """

    build: Build
    clamp: Clamp
    joint: Joint
    split: TorqueSplit
    preloads: Array
    pull: Array
    together: Array
    friction: Array
    gives: Array
    yields: Array

    @property
    def mean_friction(self) -> float:
        """Mean of the friction in the thread and under the head."""
        return 0.5 * (self.clamp.friction_thread + self.clamp.friction_head)


def sizes(build: Build, clamp: Clamp) -> dict[str, float]:
    """What the long form wants to know of a fastener, SI, friction included."""
    f, t = build.fasteners, clamp.thread
    return {
        "diameter": t.diameter,
        "pitch": t.pitch,
        "thread_friction": clamp.friction_thread,
        "head_friction": clamp.friction_head,
        "pitch_diameter": t.pitch_diameter,
        "head_diameter": f.bearing_diameter,
        "inner_diameter": f.hole_diameter,
    }


def _side(build: Build) -> tuple[Clamp, Joint]:
    return analysis.clamp_side(build, analysis.gasket_of(build))


def find(build: Build) -> Found:
    """One fastener of a build on the wrench."""
    clamp, joint = _side(build)
    p = clamp.preload
    known = sizes(build, clamp)
    ends = np.array([p.assembly_low, p.assembly, p.assembly_high], dtype=float)
    split = tightening.torque_split.si(ends, **known)
    stress = tightening.tightening_stress.si(
        ends, split.stretching + split.thread, clamp.weakest_area, "plastic"
    )
    friction = np.linspace(*FRICTION, 33)
    gives, yields = _over_friction(build, clamp, joint, friction)
    return Found(
        build,
        clamp,
        joint,
        tightening.torque_split.si(float(p.assembly), **known),
        ends,
        np.asarray(stress.tension, dtype=float),
        np.asarray(stress.equivalent, dtype=float),
        friction,
        gives,
        yields,
    )


def _over_friction(
    build: Build, clamp: Clamp, joint: Joint, friction: Array
) -> tuple[Array, Array]:
    """(preload given, preload at yield) where thread and head both get more or less friction.

    Their ratio stays as it is, so the curve passes through what the panel is set to.
    """
    f, t = build.fasteners, clamp.thread
    mean = 0.5 * (clamp.friction_thread + clamp.friction_head)
    thread, head = (friction * x / mean for x in (clamp.friction_thread, clamp.friction_head))
    known = {**sizes(build, clamp), "thread_friction": thread, "head_friction": head}
    yields = np.asarray(
        tightening.preload_at_utilisation.si(
            clamp.strength.yield_strength,
            1.0,
            clamp.weakest_area,
            t.pitch,
            t.pitch_diameter,
            thread,
        ),
        dtype=float,
    )
    if f.tightening == "yield":
        return yields, yields
    if f.tightening == "stretch":
        gives = np.full(len(friction), clamp.bolt_stiffness * float(f.stretch or 0.0))
    else:
        gives = np.asarray(tightening.preload_long.si(float(f.torque or 0.0), **known), dtype=float)
        if f.tightening == "torque and angle":
            turn = t.pitch * float(f.angle or 0.0) / (2.0 * np.pi)
            snug = np.minimum(gives, yields)
            # nearly straight in the snug preload: a few points are enough
            few = np.linspace(snug.min(), snug.max(), 4)
            gives = np.interp(snug, few, [joint.turned(float(s), turn) for s in few])
    return np.minimum(gives, yields), yields


# --------------------------------------------------------------------------- knobs and picks
def _knobs(build: Build) -> Sequence[Knob]:
    f = build.fasteners
    row = tightening.friction.si(f.lubricant)
    out = [controls.tightening(build)]
    for path, words, own, mean, low, high in (
        (
            "fasteners.friction_thread",
            "Friction in the thread",
            f.friction_thread,
            row.thread,
            row.thread_low,
            row.thread_high,
        ),
        (
            "fasteners.friction_bearing",
            "Friction under the head",
            f.friction_bearing,
            row.head,
            row.head_low,
            row.head_high,
        ),
    ):
        now = mean if own is None else own
        out.append(controls.sheet(path, words, "number", now, min(low, now), max(high, now)))
    return out


def with_lubricant(build: Build, name: str) -> Build:
    """The same build with another lubricant, friction by the table."""
    if name == build.fasteners.lubricant:
        return build
    return build.vary(
        {
            "fasteners.lubricant": name,
            "fasteners.friction_thread": None,
            "fasteners.friction_bearing": None,
        }
    )


def with_method(build: Build, method: str) -> Build:
    """The same build tightened another way to the same middle preload; scatter by the table."""
    if method == build.fasteners.tightening:
        return build
    clamp, joint = _side(build)
    target = float(clamp.preload.assembly)
    known = sizes(build, clamp)
    changes: dict[str, Any] = {
        "fasteners.tightening": method,
        "fasteners.torque": None,
        "fasteners.angle": None,
        "fasteners.stretch": None,
        "fasteners.preload_scatter": None,
    }
    if method == "torque":
        changes["fasteners.torque"] = from_si(tightening.torque_long.si(target, **known), "torque")
    elif method == "torque and angle":
        snug = _SNUG * target
        turn = joint.advance(target) - joint.advance(snug)
        changes["fasteners.torque"] = from_si(tightening.torque_long.si(snug, **known), "torque")
        changes["fasteners.angle"] = from_si(2.0 * np.pi * turn / clamp.thread.pitch, "angle")
    elif method == "stretch":
        changes["fasteners.stretch"] = from_si(target / clamp.bolt_stiffness, "lift")
    return build.vary(changes)


def _picks(build: Build) -> Sequence[Pick]:
    own = build.fasteners
    names = [str(row["lubricant"]) for row in tables.load("friction").rows]

    def lubricate(now: Build, name: str) -> Build:
        if name != own.lubricant:
            return with_lubricant(now, name)
        return now.vary(
            {
                "fasteners.lubricant": name,
                "fasteners.friction_thread": own.friction_thread,
                "fasteners.friction_bearing": own.friction_bearing,
            }
        )

    def back(now: Build) -> Build:
        held = {"torque": "torque", "angle": "angle", "stretch": "lift"}
        changes: dict[str, Any] = {
            "fasteners.tightening": own.tightening,
            "fasteners.preload_scatter": own.preload_scatter,
        }
        for key, kind in held.items():
            value = getattr(own, key)
            changes[f"fasteners.{key}"] = None if value is None else from_si(value, kind)
        return now.vary(changes)

    def tighten(now: Build, method: str) -> Build:
        # every other way starts from the sheet's own, so that going round changes nothing
        start = back(now)
        return start if method == own.tightening else with_method(start, method)

    return (
        Pick("fasteners.lubricant", "Lubricant", tuple(names), own.lubricant, lubricate),
        Pick("fasteners.tightening", "Tightened by", METHODS, own.tightening, tighten),
    )


def _work(build: Build, _: Free) -> Found:
    return find(build)


# --------------------------------------------------------------------------- lines
_PARTS = ("stretch", "thread", "head")


def _shares(found: Found) -> Array:
    s = found.split
    return np.array([s.stretching, s.thread, s.head], dtype=float)


def _data(found: Found, system: str) -> dict[str, dict[str, Any]]:
    def force(x: Any) -> Array:
        return np.atleast_1d(np.asarray(show_value(x, "force", system), dtype=float))

    def stress(x: Any) -> Array:
        return np.atleast_1d(np.asarray(show_value(x, "stress", system), dtype=float))

    def figures(x: Array) -> list[str]:
        # the unit stands in the title
        return [f"{v:,.0f}" for v in stress(x)]

    parts = _shares(found)
    row = tightening.friction.si(found.build.fasteners.lubricant)
    low = min(0.5 * (row.thread_low + row.head_low), found.mean_friction)
    high = max(0.5 * (row.thread_high + row.head_high), found.mean_friction)
    span = np.linspace(low, high, 9)
    c = found.clamp
    sides = np.array([-0.5, 2.5])
    return {
        "gives": {"x": found.friction, "y": force(found.gives)},
        "yields": {"x": found.friction, "y": force(found.yields)},
        "state": {"x": span, "y": force(np.interp(span, found.friction, found.gives))},
        "now": {
            "x": np.array([found.mean_friction]),
            "y": force(found.preloads[1]),
        },
        "parts": {
            "y": np.asarray(show_value(parts, "torque", system), dtype=float),
            "text": [f"{100 * x / parts.sum():.0f} %" for x in parts],
        },
        "pull": {"y": stress(found.pull), "text": figures(found.pull)},
        "together": {
            "y": stress(found.together),
            "text": figures(found.together),
        },
        "proof": {"x": sides, "y": stress(np.full(2, float(c.strength.proof)))},
        "yield": {"x": sides, "y": stress(np.full(2, float(c.strength.yield_strength)))},
    }


def _traces(found: Found, system: str) -> list[dict[str, Any]]:
    d = _data(found, system)
    state, now = d["state"], d["now"]
    thick = draw.line(
        "state", "this lubricant", "clamp", state["x"], state["y"], 0, at=None, place="top right"
    )
    thick["line"] = {**thick["line"], "width": 9}
    here = draw.line(
        "now",
        "now",
        "clamp",
        now["x"],
        now["y"],
        0,
        at=now["x"][0],
        place="top right",
        markers=True,
    )
    here["marker"] = {"size": 15, "opacity": 1, "line": {"color": "#fff", "width": 2}}
    parts = draw.bars("parts", "torque", "clamp", d["parts"]["y"], 1, d["parts"]["text"])
    # only the first part makes clamp
    colours = [COLOURS["clamp"], COLOURS["strength"], COLOURS["strength"]]
    parts["marker"] = {**parts["marker"], "color": colours}
    return [
        draw.line(
            "yields", "yields", "strength", *_xy(d, "yields"), 0, "dash", 0.28, "top right", True
        ),
        draw.line(
            "gives", "preload", "clamp", *_xy(d, "gives"), 0, "solid", 0.28, "top right", True
        ),
        thick,
        here,
        parts,
        draw.bars("pull", "pull", "clamp", d["pull"]["y"], 2, d["pull"]["text"]),
        draw.bars(
            "together",
            "pull and twist",
            "clamp",
            d["together"]["y"],
            2,
            d["together"]["text"],
            "/",
        ),
        draw.line(
            "proof", "proof", "strength", *_xy(d, "proof"), 2, "dot", -0.5, "top right", True
        ),
        draw.line(
            "yield", "yield", "strength", *_xy(d, "yield"), 2, "dash", -0.5, "top right", True
        ),
    ]


def _xy(data: Mapping[str, Mapping[str, Any]], key: str) -> tuple[Any, Any]:
    return data[key]["x"], data[key]["y"]


def _layout(all_found: Sequence[Found], system: str) -> dict[str, Any]:
    every = [_data(f, system) for f in all_found]
    force, torque, stress = (show_unit(k, system) for k in ("force", "torque", "stress"))
    made = [
        draw.Chart(
            f"Preload of one fastener, {force}",
            draw.span(*(d[k]["y"] for d in every for k in ("gives", "yields", "now", "state"))),
            FRICTION,
            "Friction, mean of thread and head",
        ),
        draw.Chart(
            f"Where the torque goes, {torque}",
            draw.span(*(d["parts"]["y"] for d in every), room=0.2),
            (-0.6, 2.6),
            names=("stretch", "in thread", "under head"),
        ),
        draw.Chart(
            f"Pull; striped: with twist, {stress}",
            draw.span(*(d[k]["y"] for d in every for k in ("pull", "together", "proof", "yield"))),
            (-0.6, 2.6),
            names=ENDS,
        ),
    ]
    return draw.layout(made, 940, gap=0.115, hover="closest")


def _values(found: Found, system: str) -> Values:
    return _data(found, system)


# --------------------------------------------------------------------------- words
def wrench(build: Build, system: str) -> str:
    """How the fastener is tightened, in words."""
    f = build.fasteners
    return {
        "torque": show(f.torque or 0.0, "torque", system),
        "torque and angle": f"{show(f.torque or 0.0, 'torque', system)} and then "
        f"{show(f.angle or 0.0, 'angle', system)}",
        "stretch": f"{show(f.stretch or 0.0, 'lift', system)} of stretch",
        "yield": "tightening to yield",
    }[f.tightening]


def _sentence(found: Found, system: str) -> Sentence:
    c = found.clamp
    share = float(found.split.stretching / found.split.total)
    low, middle, high = (show(x, "force", system) for x in found.preloads)
    proof, strength = float(c.strength.proof), float(c.strength.yield_strength)
    asked = c.asked_high > c.yield_preload * (1 + 1e-9)
    if c.yields_on_purpose:
        word, good = "AT YIELD ON PURPOSE", None
    elif c.capped or asked or found.together[2] > strength:
        word, good = "CAN YIELD ON THE WRENCH", False
    elif found.pull[2] > proof:
        word, good = "CAN PASS PROOF", False
    else:
        word, good = "BELOW PROOF", True
    words = (
        f"{_first(wrench(found.build, system))} on {found.build.fasteners.thread} with "
        f"{found.build.fasteners.lubricant} gives {middle}, from {low} to {high}. "
        f"{100 * share:.0f} % of the torque stretches the fastener, the rest is friction. At the "
        f"high end the pull is {show(found.pull[2], 'stress', system)}, with the twist of the "
        f"wrench {show(found.together[2], 'stress', system)}; proof is "
        f"{show(proof, 'stress', system)}, yield {show(strength, 'stress', system)}."
    )
    return Sentence(word, words, good)


def _first(words: str) -> str:
    return words[:1].upper() + words[1:]


def nut_factor(found: Found) -> float:
    """The nut factor that this fastener really has: torque over preload and diameter."""
    return float(
        tightening.nut_factor_from_test.si(
            float(found.split.total), float(found.preloads[1]), found.clamp.thread.diameter
        )
    )


def _tables(found: Found, system: str) -> Mapping[str, Rows]:
    c = found.clamp
    row = tightening.friction.si(found.build.fasteners.lubricant)
    ends: Rows = []
    for i, name in enumerate(ENDS):
        ends.append(
            {
                "preload": name,
                "as tightened": show(found.preloads[i], "force", system),
                "stretch": show(found.preloads[i] / c.bolt_stiffness, "lift", system),
                "of proof load": f"{100 * found.pull[i] / float(c.strength.proof):.0f} %",
                "pull with twist": show(found.together[i], "stress", system),
            }
        )
    turn = found.joint.advance(float(found.preloads[1])) / c.thread.pitch
    factor = "none in the table" if row.nut_factor is None else f"{row.nut_factor:g}"
    facts = [
        ("torque that is needed", show(found.split.total, "torque", system)),
        ("nut factor of this fastener", f"{nut_factor(found):.3f}"),
        ("nut factor of the table", f"{factor} ({row.nut_factor_status or 'no source'})"),
        (
            "friction of the lubricant, thread",
            f"{row.thread_low:g} to {row.thread_high:g} ({row.status})",
        ),
        (
            "friction of the lubricant, head",
            f"{row.head_low:g} to {row.head_high:g} ({row.status})",
        ),
        (
            "scatter of the method",
            f"±{show(c.scatter, 'fraction', system, 0)} ({c.scatter_source[1]})",
        ),
        ("turned from first touch", show(2.0 * np.pi * turn, "angle", system)),
        ("yields while tightening at", show(c.yield_preload, "force", system)),
    ]
    return {
        "One fastener, as tightened": ends,
        "What stands behind it": [{"what": k, "value": v} for k, v in facts],
    }


def _row(words: str, found: Found, system: str) -> dict[str, str]:
    low, middle, high = (show(x, "force", system) for x in found.preloads)
    return {
        "case": words,
        "torque": show(found.split.total, "torque", system),
        "low end": low,
        "middle": middle,
        "high end": high,
        "stretching": f"{100 * float(found.split.stretching / found.split.total):.0f} %",
        "pull with twist, high end": show(found.together[2], "stress", system),
        "verdict": _sentence(found, system).word.lower(),
    }


def _lubricants(build: Build, _: Found, system: str) -> Mapping[str, Rows]:
    names = [str(row["lubricant"]) for row in tables.load("friction").rows]
    return {
        "The same wrench with other lubricants (friction from memory)": [
            _row(n, find(with_lubricant(build, n)), system) for n in names
        ]
    }


def _methods(build: Build, _: Found, system: str) -> Mapping[str, Rows]:
    rows = []
    for method in METHODS:
        found = find(with_method(build, method))
        row = _row(method, found, system)
        row["scatter"] = f"±{100 * found.clamp.scatter:.0f} % ({found.clamp.scatter_source[1]})"
        rows.append(row)
    return {"Ways of tightening to the same middle preload (yield: to its own)": rows}


# --------------------------------------------------------------------------- the idea
def _drawing(found: Found, system: str) -> str:
    """Where the torque goes, as a stream that loses its friction on the way."""
    parts = _shares(found)
    share = parts / parts.sum()
    wide = 150.0
    stretch, thread, head = share * wide
    top, left = 34.0, 20.0
    grey, green = "#b9c0c7", COLOURS["clamp"]
    total = show(float(parts.sum()), "torque", system)
    told = [
        f"{show(x, 'torque', system)} ({100 * s:.0f} %)" for x, s in zip(parts, share, strict=True)
    ]
    alt = (
        f"Where {total} goes: {told[2]} into friction under the head, {told[1]} into friction in "
        f"the thread, {told[0]} into stretching the fastener."
    )

    def bend(y: float, size: float, x: float, down: float) -> str:
        # a part of the stream that turns down and ends there
        return (
            f"<path d='M{left},{y:.1f} H{x} Q{x + size + 24:.1f},{y:.1f} {x + size + 24:.1f},"
            f"{down} H{x + 24:.1f} Q{x + 24:.1f},{y + size:.1f} {x},{y + size:.1f} H{left} Z' "
            f"fill='{grey}' stroke='#555'/>"
        )

    # the outermost part turns off last, so that the streams do not cross
    shapes = [
        f"<rect x='{left}' y='{top}' width='560' height='{max(stretch, 2):.1f}' fill='{green}'/>",
        bend(top + stretch + thread, head, 120, 250),
        bend(top + stretch, thread, 290, 250),
        f"<text x='{left}' y='24'>{html.escape(total)} on the wrench</text>",
        "<text x='60' y='280'>under the head</text>",
        f"<text x='60' y='310'>{html.escape(told[2])}</text>",
        "<text x='310' y='280'>in the thread</text>",
        f"<text x='310' y='310'>{html.escape(told[1])}</text>",
        f"<text x='600' y='{top + stretch + 32:.0f}' text-anchor='end'>stretch</text>",
        f"<text x='600' y='{top + stretch + 62:.0f}' text-anchor='end'>"
        f"{html.escape(told[0])}</text>",
    ]
    clamp = show(found.preloads[1], "force", system)
    return (
        "<figure style='margin:0;max-width:600px'>"
        "<svg viewBox='0 0 620 322' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(alt, quote=True)}' font-family='sans-serif' font-size='26' "
        f"fill='#111'><title>{html.escape(alt)}</title>"
        f"<rect width='620' height='322' fill='#fff'/>{''.join(shapes)}</svg>"
        "<figcaption style='font-size:14px;line-height:1.35'>Drawn to scale: only the green part "
        f"makes clamp, {clamp} on one fastener.</figcaption></figure>"
    )


def picture(found: Found | Build, system: str = "metric") -> Shown:
    """Where the torque of a build goes, drawn."""
    one = find(found) if isinstance(found, Build) else found
    s = one.split
    text = (
        f"{show(s.total, 'torque', system)}: {show(s.head, 'torque', system)} under the head, "
        f"{show(s.thread, 'torque', system)} in the thread, "
        f"{show(s.stretching, 'torque', system)} stretches the fastener"
    )
    return Shown(_drawing(one, system), text)


SCENE = Scene(
    name="wrench",
    words="Preload against friction, where the torque goes, and the stress in the fastener at the "
    "low end, the middle and the high end of its preload",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    buttons={"Compare lubricants": _lubricants, "Compare ways of tightening": _methods},
)


# --------------------------------------------------------------------------- worked by hand
def arms(build: Build) -> tuple[Any, Any, Any]:
    """Lever arms of lead, thread friction and head friction, as quantities."""
    clamp, _ = _side(build)
    one = tightening.torque_split.si(1.0, **sizes(build, clamp))
    lead, thread, head = (Q(1e3 * float(x), "mm") for x in (one.stretching, one.thread, one.head))
    return lead, thread, head


def stiffness(build: Build) -> Any:
    """Stiffness of one fastener as a quantity."""
    return Q(_side(build)[0].bolt_stiffness / 1e6, "kN/mm")


def told(found: Found, system: str = "metric") -> str:
    """What the short form of the table makes of the same torque."""
    row = tightening.friction.si(found.build.fasteners.lubricant)
    ours = f"nut factor of this fastener {nut_factor(found):.3f}"
    if row.nut_factor is None:
        return f"{ours}; the table has none for {row.lubricant}"
    force = tightening.preload_short.si(
        float(found.split.total), row.nut_factor, found.clamp.thread.diameter
    )
    return (
        f"{ours}; the table says {row.nut_factor:g} for {row.lubricant}, which would make "
        f"{show(force, 'force', system)}"
    )


def sources(found: Found) -> Shown:
    """Where the numbers of the fastening side come from, with their status."""
    f, c = found.build.fasteners, found.clamp
    row = tightening.friction.si(f.lubricant)
    rows = [
        {"what": f"friction ({f.lubricant})", "status": row.status, "source": row.source},
        {
            "what": "nut factor",
            "status": row.nut_factor_status or "none",
            "source": row.nut_factor_source or "none",
        },
        {
            "what": f"scatter ({f.tightening})",
            "status": c.scatter_source[1],
            "source": c.scatter_source[0],
        },
        {"what": "strength", "status": c.strength.status, "source": c.strength.source},
        {
            "what": "long form of the torque",
            "status": "published",
            "source": "Machinery's Handbook, 31st ed., eq. 22",
        },
        {
            "what": "stress while tightening",
            "status": "from memory",
            "source": "VDI 2230, plastic torsion modulus",
        },
        {
            "what": "engine and fastener",
            "status": found.build.sheet.status,
            "source": "the build sheet",
        },
    ]
    return Shown(html_table("Sources of the fastening side", rows), plain_table(rows))


# --------------------------------------------------------------------------- exercises
def _by_torque(build: Build) -> None:
    if build.fasteners.tightening != "torque":
        raise fail(
            "fasteners.tightening", build.fasteners.tightening, "a build tightened by torque"
        )


EXERCISES = Exercises("02", _by_torque)
question, answer = EXERCISES.question, EXERCISES.answer


def _at_torque(build: Build, torque: float) -> Found:
    return find(build.vary({"fasteners.torque": from_si(torque, "torque")}))


def _long_form(found: Found, torque: float) -> float:
    """Middle preload of one fastener by the long form, N."""
    return float(tightening.preload_long.si(torque, **sizes(found.build, found.clamp)))


@EXERCISES.solver("wrong scale")
def _(build: Build, system: str) -> Solved:
    start = find(build)
    torque = float(build.fasteners.torque or 0.0)
    other = "inch" if system == "metric" else "metric"
    factor = float(show_value(1.0, "torque", system) / show_value(1.0, "torque", other))
    right, wanted, back = (_long_form(start, torque * x) for x in (factor, 1.0, 1.0 / factor))
    return Solved(
        right,
        {"scale not looked at": wanted, "converted the wrong way": back},
        {
            "torque": (torque, "torque"),
            "unit": show_unit("torque", other),
            "figure": f"{show_value(torque, 'torque', system):.0f}",
            "set": (torque * factor, "torque"),
            "wanted": (wanted, "force"),
            "high": (right * (1 + start.clamp.scatter), "force"),
            "yields": (start.clamp.yield_preload, "force"),
        },
    )


@EXERCISES.solver("share")
def _(build: Build, system: str) -> Solved:
    stretch, thread, head = _shares(find(build))
    total = stretch + thread + head
    return Solved(
        stretch / total,
        {
            "head friction only": (stretch + thread) / total,
            "head left out": stretch / (stretch + thread),
            "friction for stretch": (thread + head) / total,
        },
        {
            "total": (total, "torque"),
            "stretch": (stretch, "torque"),
            "share": (stretch / total, "fraction", 0),
            "head": (head / total, "fraction", 0),
            "thread": (thread / total, "fraction", 0),
        },
    )


@EXERCISES.solver("paste")
def _(build: Build, system: str) -> Solved:
    own = build.fasteners.lubricant
    other = "moly paste" if own != "moly paste" else "engine oil"
    start, paste = find(build), find(with_lubricant(build, other))
    torque = float(build.fasteners.torque or 0.0)
    before, after = _long_form(start, torque), _long_form(paste, torque)
    return Solved(
        after / before,
        {"the lubricant changes nothing": 1.0, "upside down": before / after},
        {
            "torque": (torque, "torque"),
            "own": own,
            "other": other,
            "before": (before, "force"),
            "after": (after, "force"),
            "factor": (after / before, "number", 2),
            "nut factor": (nut_factor(start), "number", 3),
            "other nut factor": (nut_factor(paste), "number", 3),
        },
        [_row(own, start, system), _row(other, paste, system)],
    )


@EXERCISES.solver("low end")
def _(build: Build, system: str) -> Solved:
    start = find(build)
    cases = {
        "more torque": _at_torque(build, 1.1 * float(build.fasteners.torque or 0.0)),
        "moly paste": find(with_lubricant(build, "moly paste")),
        "stretch measured": find(with_method(build, "stretch")),
        "by feel": find(
            build.vary({"fasteners.preload_scatter": tables.load("scatter")["by feel"]["high"]})
        ),
    }
    low, _, high = start.preloads
    fits = [
        name
        for name, found in cases.items()
        if found.preloads[2] <= high * (1 + 1e-9) and found.preloads[0] > low
    ]
    if not fits:
        raise fail("fasteners", build.fasteners.lubricant, "a build that one of the ways helps")
    return Solved(
        max(fits, key=lambda name: float(cases[name].preloads[0])),
        rows=[
            _row(name, found, system) for name, found in {"as it stands": start, **cases}.items()
        ],
    )
