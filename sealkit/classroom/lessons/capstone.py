"""Lesson 11, the capstone: specify a build from a customer's wish."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import analysis
from sealkit import report as reports
from sealkit.build import Build
from sealkit.classroom.drawing import charts, draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown, html_table, plain_table
from sealkit.classroom.homework.questions import Exercises, Solved
from sealkit.classroom.lessons import gas as gas_lesson
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.fastening import tightening
from sealkit.paper import save
from sealkit.pressure import geometry
from sealkit.report import Report, percent, ranking, specification, workshop
from sealkit.report.specification import Specification, brief, met, specify, wish_of
from sealkit.units import from_si, show, show_unit, show_value

__all__ = ["CHECKS", "EXERCISES", "SCENE", "answer", "asked", "build_sheet", "find"]
__all__ += ["mean_pressures", "met", "picture", "question", "save", "told"]

CHECKS = {
    "boost": ["5.4-T2"],
    "power": ["7.8-fmep"],
    "polytropic": ["2.12-p2"],
    "torque": ["T1-torque", "T3-torque"],
    "load-sharing": ["T2-C", "T2-stress", "L9-bolts"],
}
OWN = "as on the sheet"
_SHOWN = 8  # limits on the chart
_LOW, _HIGH = -1.0, 1.5  # margins on the chart
_ROOM = 1.6  # of the first bars: what the knobs can make of them


def find(build: Build) -> Specification:
    """The specification for the customer's wish on this engine."""
    return specify(build, wish_of(build))


def _knobs(build: Build) -> Sequence[Knob]:
    wish = wish_of(build)
    return (
        Knob("wish", "Power wanted", "power", wish, 0.8 * wish, 1.4 * wish),
        controls.ratio(build),
        controls.tightening(build),
    )


def _picks(build: Build) -> Sequence[Pick]:
    own = build.fasteners

    def grade(now: Build, name: str) -> Build:
        if name != OWN:
            return now.vary({"fasteners.grade": name})
        if own.grade is not None:
            return now.vary({"fasteners.grade": own.grade})
        kinds = ("proof_strength", "yield_strength", "tensile_strength")
        return now.vary({f"fasteners.{k}": build.get(f"fasteners.{k}") for k in kinds})

    fuel = next(p for p in gas_lesson.SCENE.picks(build) if p.path == "fuel.name")
    return (
        fuel,
        controls.gasket(build),
        Pick("fasteners.grade", "Fasteners", (OWN, *specification.grades_of(build)), OWN, grade),
        Pick("liquids.deck", "Deck", ("wet", "dry"), build.liquids.deck),
    )


def _work(build: Build, free: Free) -> Specification:
    return specify(build, float(free["wish"]))


# --------------------------------------------------------------------------- charts
def weakest(found: Specification) -> list[Any]:
    """The limits with the least margin, weakest first."""
    return sorted(found.report.limits, key=lambda r: r.margin)[:_SHOWN]


def _lost_at(report: Report) -> float:
    """Absolute peak pressure at which the first limit is reached, or the end looked at."""
    top = 3.0 * (report.gas.design_peak - report.gas.ambient)
    return report.gas.ambient + min(report.order[0].pressure, top)


def _data(found: Specification, system: str) -> dict[str, dict[str, Any]]:
    """What changes on every trace, in the shop's units."""
    report = found.report
    limits = weakest(found)
    margins = np.array([min(max(float(r.margin), _LOW), _HIGH) for r in limits])
    places = np.arange(len(limits), dtype=float)
    peak = report.gas.design_peak - report.gas.ambient
    low = report.joint.under_gas(report.sealing, peak)
    clamp = report.joint.bolts * float(report.sealing.preload[0])
    loads = [float(low.gas_force), clamp, max(float(low.clamp), 0.0)]
    pressures = [report.gas.mean_peak, report.gas.design_peak, _lost_at(report)]
    return {
        "margins": {"x": 100.0 * margins, "y": places},
        "margin words": {
            "x": np.full(len(limits), 100.0 * _LOW),
            "y": places - 0.42,
            "text": [f"{percent(float(r.margin))}  {brief(r)}" for r in limits],
        },
        "pressures": {
            "y": np.asarray(show_value(np.array(pressures), "pressure", system), dtype=float),
            "text": [show(p, "pressure", system) for p in pressures],
        },
        "loads": {
            "y": np.asarray(show_value(np.array(loads), "force", system), dtype=float),
            "text": [show(x, "force", system) for x in loads],
        },
    }


def _traces(found: Specification, system: str) -> list[dict[str, Any]]:
    bar = draw.bars("margins", "margin", "strength", np.zeros(0), 0, pattern="/")
    words = draw.line("margin words", "limit", "strength", np.zeros(0), np.zeros(0), 0)
    made = [
        bar
        | {
            "orientation": "h",
            "width": 0.34,
            "text": None,
            "hovertemplate": "margin: %{x:.1f} %<extra></extra>",
        },
        words | {"mode": "text", "textposition": "middle right", "hoverinfo": "skip"},
        draw.bars("pressures", "pressure", "pressure", np.zeros(3), 1),
        draw.bars("loads", "load on one bore", "clamp", np.zeros(3), 2, pattern="."),
    ]
    data = _data(found, system)
    return [trace | data[trace["meta"]] for trace in made]


def _layout(all_found: Sequence[Specification], system: str) -> dict[str, Any]:
    every = [_data(f, system) for f in all_found]
    made = [
        draw.Chart(
            "Margins, weakest first",
            (_SHOWN - 0.5, -0.95),
            (100.0 * _LOW, 100.0 * _HIGH),
            "Margin, % (below 0 it does not hold)",
            50,
        ),
        draw.Chart(
            f"Peak pressure, {show_unit('pressure', system)} absolute",
            draw.span(*(_ROOM * d["pressures"]["y"] for d in every)),
            (-0.6, 2.6),
            names=("average", "sized on", "first fails"),
        ),
        draw.Chart(
            f"Load on one bore, low preload, {show_unit('force', system)}",
            draw.span(*(_ROOM * d["loads"]["y"] for d in every)),
            (-0.6, 2.6),
            names=("gas load", "clamp", "clamp left"),
        ),
    ]
    out = draw.layout(made, 1080, hover="closest")
    out["yaxis"] |= {"showticklabels": False, "showgrid": False, "zeroline": False}
    out["xaxis"] |= {"zerolinewidth": 2}
    return out


def _values(found: Specification, system: str) -> Values:
    return _data(found, system)


# --------------------------------------------------------------------------- words
def _sentence(found: Specification, system: str) -> Sentence:
    report, gas = found.report, found.report.gas
    boost = show(found.build.charge.boost, "gauge pressure", system)
    power = show(gas.brake_power, "power", system)
    if gas.brake_power > 1.01 * found.wish:
        need = f"The engine makes {power} without any boost, more than asked."
    else:
        need = f"{show(found.wish, 'power', system)} on {found.build.fuel.name} needs {boost}."
    bad = [r for r in report.limits if not r.holds]
    low = report.weakest
    margin = f"{brief(low)}, {percent(float(low.margin))}"
    if bad:
        held = f"{len(bad)} of {len(report.limits)} limits exceeded; worst: {margin}."
    else:
        held = f"All {len(report.limits)} limits hold; least margin: {margin}."
    knock = f"Knock integral {gas.knock_integral:.2f}: " + (
        "below 1, no warning." if found.quiet else "above 1, the end gas is expected to light."
    )
    if found.meets:
        word, good = "MEETS THE WISH", True
    elif report.holds:
        word, good = "HOLDS, BUT KNOCKS", False
    else:
        word, good = "DOES NOT MEET THE WISH", False
    return Sentence(word, f"{need} {held} {knock}", good)


def _tables(found: Specification, system: str) -> Mapping[str, Rows]:
    report = found.report
    bench: Rows = []
    for key, title, facts in workshop.facts(report, system):
        if key in ("ring", "faces", "clearances"):
            bench += [{"for": title, "what": k, "value": v} for k, v in facts]
    return {
        "The specification": specification.rows(found, system),
        "Tightening procedure": [
            {"step": a, "do": b, "status": c} for a, b, c in specification.procedure(report, system)
        ],
        "Grooves, faces and clearances": bench,
        "Margins, hot and cold, weakest first": charts.limit_rows(report, system),
    }


def _gaskets(_: Build, found: Specification, system: str) -> Mapping[str, Rows]:
    ranked = ranking.rank(found.build)
    return {"Gaskets for this wish, best first": charts.gasket_rows(ranked, system)}


_COLUMNS = ("one change", "meets the wish", "boost", "sized on", "knock integral", "least margin")


def _change_rows(build: Build, wish: float, system: str) -> Rows:
    rows = []
    for words, found in specification.tried(build, wish):
        if found is None:
            rows.append({"one change": words, "meets the wish": "no boost makes this power"})
            continue
        low = found.report.weakest
        rows.append(
            {
                "one change": words,
                "meets the wish": "yes"
                if found.meets
                else "holds, but knocks"
                if found.report.holds
                else "does not hold",
                "boost": show(found.build.charge.boost, "gauge pressure", system),
                "sized on": show(found.report.gas.design_peak, "pressure", system),
                "knock integral": f"{found.report.gas.knock_integral:.2f}",
                "least margin": f"{percent(float(low.margin))} ({brief(low)})",
            }
        )
    return [{c: row.get(c, "") for c in _COLUMNS} for row in rows]


def _one_change(build: Build, found: Specification, system: str) -> Mapping[str, Rows]:
    return {
        "One change at a time, each with the boost it needs": _change_rows(
            build, found.wish, system
        )
    }


# --------------------------------------------------------------------------- the picture
def _drawing(found: Specification, system: str) -> str:
    """The way from the wish to the joint, as boxes with their numbers."""
    report, gas = found.report, found.report.gas
    peak = gas.design_peak - gas.ambient
    low = report.joint.under_gas(report.sealing, peak)
    clamp = report.joint.bolts * float(report.sealing.preload[0])
    weak = report.weakest
    boxes = [
        ("wish", show(found.wish, "power", system), COLOURS["strength"]),
        ("boost", show(found.build.charge.boost, "gauge pressure", system), COLOURS["pressure"]),
        ("joint sized on", show(gas.design_peak, "pressure", system), COLOURS["pressure"]),
        ("gas load on a bore", show(float(low.gas_force), "force", system), COLOURS["gas load"]),
        ("clamp on a bore", show(clamp, "force", system), COLOURS["clamp"]),
        ("least margin", f"{percent(float(weak.margin))}, {brief(weak)}", COLOURS["seal load"]),
    ]
    told = "; ".join(f"{a}: {b}" for a, b, _ in boxes)
    alt = f"From the customer's wish to the joint. {told}."
    shapes = []
    for i, (what, value, colour) in enumerate(boxes):
        y = 8 + 60 * i
        shapes.append(
            f"<rect x='8' y='{y}' width='624' height='42' fill='#fff' stroke='{colour}' "
            f"stroke-width='3'/><text x='20' y='{y + 28}'>{html.escape(what)}</text>"
            f"<text x='620' y='{y + 28}' text-anchor='end'>{html.escape(value)}</text>"
        )
        if i + 1 < len(boxes):
            shapes.append(
                f"<path d='M320,{y + 44} V{y + 56} M313,{y + 50} L320,{y + 58} L327,{y + 50}' "
                "fill='none' stroke='#333' stroke-width='2'/>"
            )
    return (
        "<figure style='margin:0;max-width:600px'>"
        "<svg viewBox='0 0 640 364' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(alt, quote=True)}' font-family='sans-serif' font-size='22' "
        f"fill='#111'><title>{html.escape(alt)}</title>"
        f"<rect width='640' height='364' fill='#fff'/>{''.join(shapes)}</svg>"
        "<figcaption style='font-size:14px;line-height:1.35'>Clamp at the low end of the preload. "
        "Power leaves out what drives the compressor.</figcaption></figure>"
    )


def picture(found: Specification | Build, system: str = "metric") -> Shown:
    """The brief, and the way from the wish to the joint of an engine, drawn."""
    one = find(found) if isinstance(found, Build) else found
    words, made = asked(one.sheet, system), _drawing(one, system)
    drawn = html.unescape(made.split("<title>")[1].split("</title>")[0])
    return Shown(words.html + made, f"{words.text}\n{drawn}")


SCENE = Scene(
    name="specification",
    words="Margins of a specification, its peak pressures, and the loads on one bore",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    buttons={
        "Compare all gaskets for this wish": _gaskets,
        "Try one change at a time": _one_change,
    },
    ends=False,
    kept=lambda _, found: found.build,
)


# --------------------------------------------------------------------------- brief and sheet
def asked(build: Build, system: str | None = None) -> Shown:
    """What the customer asks for; invented."""
    system = system or build.system
    wish, now = wish_of(build), specification.power_of(build)
    words = (
        f"The customer (invented) owns the {build.sheet.name}: "
        f"{show(now, 'power', system)} by our estimate at "
        f"{show(build.engine.speed, 'crank speed', system)}, boost "
        f"{show(build.charge.boost, 'gauge pressure', system)}, {build.fuel.name}, "
        f"{build.liquids.deck} deck. The wish: {show(wish, 'power', system)} at the same speed, no "
        "knock warning, every margin on the right side, hot and cold. The customer can change "
        "fuel, but would rather not pull the pistons."
    )
    return Shown(f"<p><b>The brief.</b> {html.escape(words)}</p>", words)


def build_sheet(found: Specification, system: str | None = None) -> Shown:
    """The specification to print: what is built, how it is tightened, what it stands on."""
    system = system or found.build.system
    told = str(_sentence(found, system))
    shown = [(c, rows) for c, rows in _tables(found, system).items() if rows][:3]
    made = f"<p><b>{html.escape(found.build.sheet.name)}</b>. {html.escape(told)}</p>"
    made += "".join(html_table(c, rows) for c, rows in shown)
    text = "\n\n".join(
        [f"{found.build.sheet.name}. {told}", *(f"{c}\n{plain_table(r)}" for c, r in shown)]
    )
    return Shown(made, text)


def mean_pressures(found: Specification) -> tuple[Any, Any, Any]:
    """(power wanted, swept volume of the engine, crank speed) of the hand calculation."""
    e = found.build.engine
    swept = geometry.swept_volume.si(e.bore, e.stroke, e.cylinders)
    return (
        from_si(found.wish, "power"),
        from_si(float(swept), "volume"),
        found.build.get("engine.speed"),
    )


def told(found: Specification, system: str = "metric") -> str:
    """What the panel has for the hand calculation."""
    gas = found.report.gas
    return (
        f"the cycle gives {show(gas.cycle.imep, 'pressure', system)} before friction, with "
        f"{show(found.build.charge.boost, 'gauge pressure', system)} of boost"
    )


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("11")
question, answer = EXERCISES.question, EXERCISES.answer
_NONE = "none of these alone"


@EXERCISES.solver("boost")
def _(build: Build, _: str) -> Solved:
    found, now = find(build), analysis.gas_side(build)
    boost, right, then = build.charge.boost, found.build.charge.boost, found.report.gas
    grown = found.wish / now.brake_power
    return Solved(
        right,
        {
            "absolute for gauge": right + now.ambient,
            "boost as on the sheet": boost,
            "power scaled down": (boost + now.ambient) / grown - now.ambient,
            "gauge scaled with power": boost * grown,
        },
        {
            "boost": (boost, "gauge pressure"),
            "power": (now.brake_power, "power"),
            "wish": (found.wish, "power"),
            "manifold": (float(now.charge.manifold_pressure), "pressure"),
            "manifold_then": (float(then.charge.manifold_pressure), "pressure"),
            "peak": (now.design_peak, "pressure"),
            "peak_then": (then.design_peak, "pressure"),
        },
    )


@EXERCISES.solver("single")
def _(build: Build, system: str) -> Solved:
    wish = wish_of(build)
    every = specification.tried(build, wish)
    right = next((words for words, one in every if one is not None and one.meets), _NONE)

    def pitfall(one: Specification | None) -> str:
        if one is None:
            return "no boost makes it"
        if one.meets:
            return "more work than needed"
        return "knock overlooked" if one.report.holds else "limit overlooked"

    wrong = {f"{pitfall(one)}: {words}": words for words, one in every if words != right}
    if right != _NONE:
        wrong["one of them does"] = _NONE
    return Solved(
        right,
        wrong,
        {"wish": (wish, "power")},
        _change_rows(build, wish, system),
        options=(*(words for words, _ in every), _NONE),
    )


@EXERCISES.solver("less")
def _(build: Build, _: str) -> Solved:
    most, wish = specification.most_power(build), wish_of(build)
    beyond = specify(build, 1.02 * most).report
    return Solved(
        most,
        {
            "the wish itself": wish,
            "today's power": specification.power_of(build),
            "what is missing": abs(wish - most),
            "power of one cylinder": most / build.engine.cylinders,
        },
        {
            "boost": (specify(build, most).build.charge.boost, "gauge pressure"),
            "why": "the knock warning comes" if beyond.holds else f"{brief(beyond.weakest)} gives",
        },
    )


@EXERCISES.solver("first")
def _(build: Build, system: str) -> Solved:
    found = find(build)
    report = found.report
    names = list(dict.fromkeys(brief(g.limit) for g in report.order if np.isfinite(g.pressure)))[:4]
    if len(names) < 3:
        names += [n for n in map(brief, weakest(found)) if n not in names][: 3 - len(names)]
    small = brief(report.weakest)
    return Solved(
        names[0],
        {("smallest margin today" if n == small else f"later: {n}"): n for n in names[1:]},
        {"wish": (found.wish, "power"), "fuel": build.fuel.name},
        [{"peak pressure": a, "what gives": b} for a, b in reports.order_rows(report, system)],
        options=tuple(sorted(names)),
    )


@EXERCISES.solver("wrench")
def _(build: Build, system: str) -> Solved:
    report = reports.run(build)
    f, c = build.fasteners, report.clamp
    other = "moly paste" if f.lubricant != "moly paste" else "engine oil"
    new = tightening.friction.si(other)
    rest = (c.thread.pitch_diameter, f.bearing_diameter, f.hole_diameter)
    preload = float(c.preload.assembly)

    def torque(thread: float, head: float) -> float:
        arms = (c.thread.diameter, c.thread.pitch, thread, head)
        return float(tightening.torque_long.si(preload, *arms, *rest))

    thread, head = float(new.thread), float(new.head)
    right, same = torque(thread, head), torque(c.friction_thread, c.friction_head)
    arms = (c.thread.diameter, c.thread.pitch, thread, head)
    return Solved(
        right,
        {
            "same torque with another lubricant": same,
            "pound-feet for newton-metres": right / 1.3558179483,
            "thread friction only": torque(thread, c.friction_head),
            "upside down": same * same / right,
        },
        {
            "fasteners": f"{f.kind}s {f.thread}",
            "lubricant": f.lubricant,
            "other": other,
            "mu_thread": f"{c.friction_thread:g}",
            "mu_head": f"{c.friction_head:g}",
            "other_thread": f"{thread:g}",
            "other_head": f"{head:g}",
            "preload": (preload, "force"),
            "same": (same, "torque"),
            "otherwise": (float(tightening.preload_long.si(same, *arms, *rest)), "force"),
            "yields": (float(c.yield_preload), "force"),
        },
        [{"step": a, "do": b, "status": s} for a, b, s in specification.procedure(report, system)],
    )
