"""Lesson 11, the capstone: specify a build from a customer's wish; panel, picture, questions."""

from __future__ import annotations

import functools
import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from sealkit import report as reports
from sealkit import tables
from sealkit.analysis import chain
from sealkit.analysis.margins import Limit
from sealkit.build import Build
from sealkit.classroom.drawing import charts, draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.homework.answers import Pitfall, Question
from sealkit.classroom.homework.pitfalls import with_pitfalls
from sealkit.classroom.lessons import gas as gas_lesson
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons.lesson import Exercises, Shown, folded
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence, Values
from sealkit.errors import InputError
from sealkit.fastening import grades, threads, tightening
from sealkit.files import write_whole
from sealkit.pressure import geometry
from sealkit.report import Report, percent, ranking, workshop
from sealkit.units import KINDS, from_si, show, show_unit, show_value, to_si

CHECKS = {
    "boost": ["5.4-T2"],
    "power": ["7.7-3"],
    "ideal-cycles": ["2.1-p3"],
    "torque": ["T1-torque", "T3-torque"],
    "load-sharing": ["T2-C", "T2-stress", "L1-n0"],
}
WISH = 1.15  # of the power on the sheet: the customer's wish; invented
FUELS = gas_lesson.FUELS
OWN = "as on the sheet"
STEPS = (0.5, 0.75, 1.0)  # of the torque; common practice, no source
_SHOWN = 8  # limits on the chart
_LOW, _HIGH = -1.0, 1.5  # margins on the chart
_ROOM = 1.6  # of the first bars: what the knobs can make of them
NO_WEIGHT = "common practice, no source"


@dataclass(frozen=True)
class Found:
    """A specification and what it makes of the wish.

    Parameters
    ----------
    sheet : as the panel has it, with the boost of its sheet
    report : of the specification, with the boost that the wish needs
    wish : power asked, W
    """

    sheet: Build
    report: Report
    wish: float

    @property
    def build(self) -> Build:
        """The specification."""
        return self.report.build

    @property
    def quiet(self) -> bool:
        """Whether there is no knock warning."""
        return self.report.gas.knock_integral < 1.0

    @property
    def meets(self) -> bool:
        """Whether power, margins and knock are as wished."""
        return self.report.holds and self.quiet


# --------------------------------------------------------------------------- knobs and picks
@functools.lru_cache(maxsize=32)
def power_of(build: Build) -> float:
    """Power of the sheet as it stands, W."""
    return chain.gas_side(build).brake_power


def round_power(watts: float, system: str) -> float:
    """A power rounded to five kilowatts or ten horsepower, as somebody would ask for it, W."""
    unit, step = {"metric": ("kW", 5.0), "inch": ("hp", 10.0)}[system]
    number = float(from_si(watts, "power").to(unit).magnitude)
    return float(to_si(f"{step * round(number / step):g} {unit}", "power"))


def wish_of(build: Build) -> float:
    """The invented customer's wish on this engine, W."""
    return round_power(WISH * power_of(build), build.system)


def _knobs(build: Build) -> Sequence[Knob]:
    wish = wish_of(build)
    return (
        Knob("wish", "Power wanted", "power", wish, 0.8 * wish, 1.4 * wish),
        controls.ratio(build),
        controls.tightening(build),
    )


def grades_of(build: Build) -> tuple[str, ...]:
    """Strength grades that come in the diameter of the fasteners."""
    diameter = float(threads.thread.si(build.fasteners.thread).diameter)
    out = []
    for name in grades.grades():
        try:
            grades.strength.si(name, diameter)
        except InputError:
            continue
        out.append(name)
    return tuple(out)


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
        Pick("fasteners.grade", "Fasteners", (OWN, *grades_of(build)), OWN, grade),
        Pick("liquids.deck", "Deck", ("wet", "dry"), build.liquids.deck),
    )


def specify(build: Build, wish: float) -> Found:
    """The boost that the wish (W) needs on this sheet, and the whole joint with it."""
    made, gas = chain.boost_for_power(build, wish)
    return Found(build, reports.run(made, gas), wish)


def find(build: Build) -> Found:
    """The specification for the customer's wish on this engine."""
    return specify(build, wish_of(build))


def _work(build: Build, free: Free) -> Found:
    return specify(build, float(free["wish"]))


# --------------------------------------------------------------------------- charts
def weakest(found: Found) -> list[Limit]:
    """The limits with the least margin, weakest first."""
    return sorted(found.report.limits, key=lambda r: r.margin)[:_SHOWN]


def _lost_at(report: Report) -> float:
    """Absolute peak pressure at which the first limit is reached, or the end looked at."""
    top = 3.0 * (report.gas.design_peak - report.gas.ambient)
    return report.gas.ambient + min(report.order[0].pressure, top)


def _data(found: Found, system: str) -> dict[str, dict[str, Any]]:
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
            "text": [f"{percent(float(r.margin))}  {_brief(r)}" for r in limits],
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


_BRIEF = {
    "residual": "load left on the seal",
    "springback": "seal follows the lift",
    "lift-off": "clamp against the gas",
    "blow-out": "{part} against blow-out",
    "fastener": "fasteners, proof strength",
    "threads": "threads in the block",
    "bearing": "pressure under the fasteners",
    "seating": "{part} seated",
    "crush": "{part} not crushed",
    "tightening": "fasteners on the wrench",
    "permanent stretch": "stretch past yield",
    "liquid": "liquids at the deck",
}


def _brief(limit: Limit) -> str:
    words = _BRIEF.get(limit.key.split("/")[0], limit.what)
    return words.format(part=limit.part)


def _traces(found: Found, system: str) -> list[dict[str, Any]]:
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


def _layout(all_found: Sequence[Found], system: str) -> dict[str, Any]:
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


def _values(found: Found, system: str) -> Values:
    return Values(_data(found, system))


# --------------------------------------------------------------------------- words
def _sentence(found: Found, system: str) -> Sentence:
    report, gas = found.report, found.report.gas
    boost = show(found.build.charge.boost, "gauge pressure", system)
    power = show(gas.brake_power, "power", system)
    if gas.brake_power > 1.01 * found.wish:
        need = f"The engine makes {power} without any boost, more than asked."
    else:
        need = f"{show(found.wish, 'power', system)} on {found.build.fuel.name} needs {boost}."
    bad = [r for r in report.limits if not r.holds]
    low = report.weakest
    margin = f"{_brief(low)}, {percent(float(low.margin))}"
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


def trust(build: Build, *statuses: str) -> str:
    """Status of what is computed from this sheet and from numbers of these statuses."""
    own = build.sheet.status
    # what somebody puts on a sheet of his own is taken as from memory
    return tables.weakest("computed", own if own in tables.STATUSES else "from memory", *statuses)


def procedure(report: Report, system: str) -> list[tuple[str, str, str]]:
    """The tightening procedure of a build as (step, what to do, status)."""
    f, c = report.build.fasteners, report.clamp
    torque = show(f.torque or 0.0, "torque", system)
    friction = tightening.friction.si(f.lubricant)
    out = [
        ("clean", "chase and blow out every hole; no liquid below a bolt", NO_WEIGHT),
        ("lubricate", f"thread and under the head: {f.lubricant}", str(friction.status)),
        ("order", "from the middle outwards, in a spiral, in every step", NO_WEIGHT),
    ]
    own = report.build.sheet.status
    if f.tightening == "torque":
        steps = " / ".join(show(s * float(f.torque or 0.0), "torque", system) for s in STEPS)
        out.append(("torque", f"in {len(STEPS)} steps: {steps}", f"{own}; steps: {NO_WEIGHT}"))
    elif f.tightening == "torque and angle":
        angle = show(f.angle or 0.0, "angle", system)
        out.append(("snug", torque, own))
        out.append(("angle", f"then {angle}, all in the same order, by an angle gauge", own))
    elif f.tightening == "stretch":
        out.append(
            (
                "stretch",
                f"{show(f.stretch or 0.0, 'length', system, 4 if system == 'inch' else 3)} each, "
                "measured over the whole length before and after",
                own,
            )
        )
    else:
        out.append(("yield", "until torque no longer rises with angle; new fasteners only", own))
    p = c.preload
    stretch = float(p.assembly) / c.bolt_stiffness
    out += [
        (
            "expect",
            f"{show(p.assembly, 'force', system)} each ("
            f"{show(p.assembly_low, 'force', system)} to "
            f"{show(p.assembly_high, 'force', system)}), {show(stretch, 'lift', system)} of "
            "stretch",
            trust(report.build, str(friction.status), c.scatter_source[1]),
        ),
        (
            "after the first heat",
            next((v for k, v in workshop.shares(report, system) if k.startswith("tightening")), ""),
            trust(report.build, *(z.status for z in report.joint.gasket.zones)),
        ),
        (
            "fasteners",
            "used once, by their own data" if c.yields_on_purpose else "measure before using again",
            NO_WEIGHT,
        ),
    ]
    return out


def spec_rows(found: Found, system: str) -> Rows:
    """The specification as (item, value, status) rows."""
    report, build = found.report, found.build
    gas, f, g = report.gas, build.fasteners, build.gasket
    own = build.sheet.status
    mixture = gas.charge.mixture
    strength = f.grade or (
        f"proof {show(f.proof_strength or 0.0, 'stress', system)}, from the sheet"
    )
    hot = [r for r in report.limits if r.state.startswith("hot")]
    cold = [r for r in report.limits if r.state.startswith("cold")]

    def least(what: str, rows: list[Limit]) -> tuple[str, str, str]:
        if not rows:
            return what, "none looked at", own
        low = min(rows, key=lambda r: r.margin)
        return what, f"{percent(float(low.margin))} ({_brief(low)})", trust(build, low.status)

    first = report.first_failure
    at, gives = report.order_rows(system)[0]
    fails = f"{gives} at {at}" if at else gives
    last = trust(build, *([first.limit.status] if first else []))

    rows = [
        ("wish", f"{show(found.wish, 'power', system)} at {show(build.engine.speed, 'crank speed', system)}", "invented"),  # noqa: E501
        ("fuel", f"{mixture.fuel}, lambda {1.0 / float(mixture.equivalence_ratio):.2f}", own),
        ("boost", show(build.charge.boost, "gauge pressure", system), trust(build, "from memory")),
        ("compression ratio", f"{build.compression_ratio:.2f}", own),
        ("average peak / sized on", f"{show(gas.mean_peak, 'pressure', system)} / {show(gas.design_peak, 'pressure', system)}", trust(build)),  # noqa: E501
        ("knock integral (limit 1)", f"{gas.knock_integral:.2f}", "from memory"),
        ("fasteners", f"{f.on_head} {f.kind}s {f.thread} on a head, {strength}", report.clamp.strength.status),  # noqa: E501
        ("gasket", f"{g.construction}, {show(g.compressed_thickness, 'length', system)} clamped, opening {show(g.bore, 'length', system)}", own),  # noqa: E501
        ("deck", build.liquids.deck, own),
        least("least margin cold", cold),
        least("least margin hot", hot),
        ("first to give as pressure rises", fails, last),
    ]  # fmt: skip
    return [{"item": a, "specified": b, "status": c} for a, b, c in rows]


def _tables(found: Found, system: str) -> Mapping[str, Rows]:
    report = found.report
    bench: Rows = []
    for title, facts in workshop.facts(report, system):
        if title.startswith(("Wire", "Faces", "Clearances")):
            bench += [{"for": title, "what": k, "value": v} for k, v in facts]
    return {
        "The specification": spec_rows(found, system),
        "Tightening procedure": [
            {"step": a, "do": b, "status": c} for a, b, c in procedure(report, system)
        ],
        "Grooves, faces and clearances": bench,
        "Margins, hot and cold, weakest first": charts.limit_rows(report, system),
    }


def _gaskets(_: Build, found: Found, system: str) -> Mapping[str, Rows]:
    ranked = ranking.rank(found.build)
    return {"Gaskets for this wish, best first": charts.gasket_rows(ranked, system)}


# --------------------------------------------------------------------------- one change
def changes(build: Build) -> dict[str, Build]:
    """Single changes that a shop would try, each on its own, the least work first.

    The order is common practice, no source.
    """
    out = {"nothing but boost": build}
    for name in FUELS:
        if name != build.fuel.name:
            out[f"fuel: {name}"] = gas_lesson.with_fuel(build, name)
    knob = controls.tightening(build)
    if knob.path:
        out["a tenth more tightening"] = build.vary(
            {knob.path: from_si(1.1 * knob.value, knob.kind)}
        )
    for name in ("multi-layer steel", "multi-layer steel with stopper"):
        if name != build.gasket.construction:
            out[f"gasket: {name}"] = ranking.with_construction(build, name)
    out["one ratio less"] = build.vary({"engine.compression_ratio": build.compression_ratio - 1.0})
    return out


@functools.lru_cache(maxsize=8)
def tried(build: Build, wish: float) -> tuple[tuple[str, Found | None], ...]:
    """Every single change with the boost that it needs; None where none makes the power."""
    out: list[tuple[str, Found | None]] = []
    for words, one in changes(build).items():
        try:
            out.append((words, specify(one, wish)))
        except InputError:
            out.append((words, None))
    return tuple(out)


_COLUMNS = ("one change", "meets the wish", "boost", "sized on", "knock integral", "least margin")


def _change_rows(build: Build, wish: float, system: str) -> Rows:
    rows = []
    for words, found in tried(build, wish):
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
                "least margin": f"{percent(float(low.margin))} ({_brief(low)})",
            }
        )
    columns = (
        "one change",
        "meets the wish",
        "boost",
        "sized on",
        "knock integral",
        "least margin",
    )
    return [{c: row.get(c, "") for c in columns} for row in rows]


def _one_change(build: Build, found: Found, system: str) -> Mapping[str, Rows]:
    return {
        "One change at a time, each with the boost it needs": _change_rows(
            build, found.wish, system
        )
    }


# --------------------------------------------------------------------------- the picture
def _drawing(found: Found, system: str) -> str:
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
        ("least margin", f"{percent(float(weak.margin))}, {_brief(weak)}", COLOURS["seal load"]),
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


def picture(found: Found | Build, system: str = "metric") -> Shown:
    """The brief, and the way from the wish to the joint of an engine, drawn."""
    one = find(found) if isinstance(found, Build) else found
    asked, made = brief(one.sheet, system), _drawing(one, system)
    words = html.unescape(made.split("<title>")[1].split("</title>")[0])
    return Shown(asked.html + made, f"{asked.text}\n{words}")


SCENE = Scene(
    name="specification",
    words="Margins of a specification, its peak pressures, and the loads on one bore",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    traces=_traces,
    layout=_layout,
    values=_values,
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
def brief(build: Build, system: str | None = None) -> Shown:
    """What the customer asks for; invented."""
    system = system or build.system
    wish, now = wish_of(build), power_of(build)
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


def build_sheet(found: Found, system: str | None = None) -> Shown:
    """The specification to print: what is built, how it is tightened, what it stands on."""
    system = system or found.build.system
    told = str(_sentence(found, system))
    shown = [(c, rows) for c, rows in _tables(found, system).items() if rows][:3]
    made = f"<p><b>{html.escape(found.build.sheet.name)}</b>. {html.escape(told)}</p>"
    made += "".join(charts.html_table(c, rows) for c, rows in shown)
    text = "\n\n".join(
        [f"{found.build.sheet.name}. {told}", *(f"{c}\n{lesson.plain_table(r)}" for c, r in shown)]
    )
    return Shown(made, text)


def mean_pressures(found: Found) -> tuple[Any, Any, Any]:
    """(power wanted, swept volume of the engine, crank speed) of the hand calculation."""
    e = found.build.engine
    swept = geometry.swept_volume.si(e.bore, e.stroke, e.cylinders)
    return (
        from_si(found.wish, "power"),
        from_si(float(swept), "volume"),
        found.build.get("engine.speed"),
    )


def told(found: Found, system: str = "metric") -> str:
    """What the panel has for the hand calculation."""
    gas = found.report.gas
    return (
        f"the cycle gives {show(gas.cycle.imep, 'pressure', system)} before friction, with "
        f"{show(found.build.charge.boost, 'gauge pressure', system)} of boost"
    )


# --------------------------------------------------------------------------- exercises


def _boost(build: Build, system: str) -> tuple[Question, Shown]:
    found, now = find(build), chain.gas_side(build)
    boost, right = build.charge.boost, found.build.charge.boost
    text = (
        f"The sheet has {show(boost, 'gauge pressure', system)} of boost and makes "
        f"{show(now.brake_power, 'power', system)}. Fuel and compression stay. What gauge boost "
        f"makes {show(found.wish, 'power', system)}? Estimate it first, then read it off the panel."
    )
    grown = found.wish / now.brake_power
    made = with_pitfalls(
        Question(
            "11-1",
            text,
            "gauge pressure",
            right,
            digits=3,
            unit={"metric": "bar", "inch": "psi"}[system],
            hint="Power goes about with the air in the cylinder, and that with absolute pressure.",
        ),
        (
            Pitfall(
                "absolute for gauge",
                right + now.ambient,
                "That is the absolute pressure in the manifold. The gauge starts from the air "
                "outside.",
            ),
            Pitfall(
                "boost as on the sheet",
                boost,
                "That is the boost of today, and it makes the power of today.",
            ),
            Pitfall(
                "power scaled down",
                (boost + now.ambient) / grown - now.ambient,
                "That takes pressure off. More power wants more air.",
            ),
            Pitfall(
                "gauge scaled with power",
                boost * grown,
                "That scales the gauge reading with the power. The cylinder does not start from "
                "the gauge's zero: scale the absolute pressure.",
            ),
        ),
    )
    words = (
        f"{show(right, 'gauge pressure', system)}. Absolute manifold pressure goes from "
        f"{show(float(now.charge.manifold_pressure), 'pressure', system)} to "
        f"{show(float(found.report.gas.charge.manifold_pressure), 'pressure', system)}, the "
        f"pressure the joint is sized on from {show(now.design_peak, 'pressure', system)} to "
        f"{show(found.report.gas.design_peak, 'pressure', system)}. The power leaves out what "
        "drives the compressor, so a belt-driven one needs more."
    )
    return made, folded("Worked answer", words)


_NONE = "none of these alone"


def _single(build: Build, system: str) -> tuple[Question, Shown]:
    wish = wish_of(build)
    every = tried(build, wish)
    right = next((words for words, found in every if found is not None and found.meets), _NONE)
    options = (*(words for words, _ in every), _NONE)

    def said(words: str, found: Found | None) -> str:
        if found is None:
            return "No boost makes the power that way. Look at its row."
        if found.meets:
            return "It meets the wish, but a row further up does so with less work."
        if found.report.holds:
            return "The joint holds, but there is a knock warning. What has knock to do with it?"
        return "A limit is exceeded. Look at the last column: who pays for this change?"

    pitfalls = [Pitfall(w, w, said(w, found)) for w, found in every if w != right]
    if right != _NONE:
        pitfalls.append(Pitfall(_NONE, _NONE, "One of them does it. Read the second column."))
    text = (
        f"The customer wants {show(wish, 'power', system)}. The changes below stand in the order "
        "of the work they make (common practice, no source), each with the boost it then needs. "
        "Which is the first that meets the wish by itself: every limit holds, no knock warning?"
    )
    made = Question(
        "11-2",
        text,
        "choice",
        right,
        options=options,
        pitfalls=tuple(pitfalls),
        hint="Press the button that tries one change at a time and read the second column.",
    )
    words = (
        f"{right[0].upper()}{right[1:]}. One change does not make a build: after it, look at what "
        "is weakest now, and whether the customer can live with it (a tank of another fuel, other "
        "nozzles, corrosion)."
    )
    return made, folded("Worked answer", words, _change_rows(build, wish, system))


@functools.lru_cache(maxsize=8)
def most_power(build: Build) -> float:
    """The largest power at which the sheet holds and is quiet, nothing changed but boost, W."""

    def fits(watts: float) -> bool:
        try:
            return specify(build, watts).meets
        except InputError:
            return False

    low, high = 0.3 * power_of(build), 2.0 * power_of(build)
    for _ in range(12):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _less(build: Build, system: str) -> tuple[Question, Shown]:
    most, wish, now = most_power(build), wish_of(build), power_of(build)
    text = (
        "The cheapest change may be to the wish. With nothing changed but boost, what is the most "
        "power at which every limit holds and there is no knock warning? Move the power on the "
        "panel, and read its box."
    )
    made = with_pitfalls(
        Question(
            "11-3",
            text,
            "power",
            most,
            digits=3,
            unit=str(getattr(KINDS["power"], system)[0]),
            hint="Go down from the wish until the line at the top changes.",
        ),
        (
            Pitfall("the wish itself", wish, "That is what the customer asks. Read the verdict."),
            Pitfall(
                "today's power",
                now,
                "That is today's power. There may be room above it, or it may be too much already.",
            ),
            Pitfall(
                "what is missing",
                abs(wish - most),
                "That is the distance to the wish; the power itself is asked.",
            ),
            Pitfall(
                "power of one cylinder",
                most / build.engine.cylinders,
                "That is one cylinder's share. The whole engine is asked.",
            ),
        ),
    )
    edge = specify(build, most)
    beyond = specify(build, 1.02 * most)
    why = (
        f"{_brief(beyond.report.weakest)} gives"
        if not beyond.report.holds
        else "the knock warning comes"
    )
    words = (
        f"{show(most, 'power', system)}, with "
        f"{show(edge.build.charge.boost, 'gauge pressure', system)}. Beyond it {why} first. Tell "
        "the customer this number before you tell them the price of the rest."
    )
    return made, folded("Worked answer", words)


def _first(build: Build, system: str) -> tuple[Question, Shown]:
    found = find(build)
    report = found.report
    gives = [g for g in report.order if np.isfinite(g.pressure)]
    names = list(dict.fromkeys(_brief(g.limit) for g in gives))[:4]
    if len(names) < 3:
        names += [n for n in map(_brief, weakest(found)) if n not in names][: 3 - len(names)]
    right = names[0]
    text = (
        f"Build it for {show(found.wish, 'power', system)} on {build.fuel.name}, nothing else "
        "changed. If the peak pressure rises further, through knock or a lean cylinder, what gives "
        "first?"
    )
    small = _brief(report.weakest)
    made = Question(
        "11-4",
        text,
        "choice",
        right,
        options=tuple(sorted(names)),
        pitfalls=tuple(
            Pitfall(
                "smallest margin today" if n == small else f"later: {n}",
                n,
                "That one has the smallest margin today, but gas pressure adds little to it. Look "
                "at the order of failure, not at the margins."
                if n == small
                else "That gives later. Look at the last line of the specification.",
            )
            for n in names[1:]
        ),
        hint="The specification names it in its last line.",
    )
    rows = [{"peak pressure": a, "what gives": b} for a, b in report.order_rows(system)]
    words = (
        f"{right[0].upper()}{right[1:]}. Choose what gives first: a seal that weeps is a "
        "warning, a fastener that lets go is not."
    )
    return made, folded("Worked answer", words, rows)


def _wrench(build: Build, system: str) -> tuple[Question, Shown]:
    report = reports.run(build)
    f, c = build.fasteners, report.clamp
    other = "moly paste" if f.lubricant != "moly paste" else "engine oil"
    new = tightening.friction.si(other)
    rest = (c.thread.pitch_diameter, f.bearing_diameter, f.hole_diameter)
    preload = float(c.preload.assembly)

    def torque(thread: float, head: float) -> float:
        arms = (c.thread.diameter, c.thread.pitch, thread, head)
        return float(tightening.torque_long.si(preload, *arms, *rest))

    right = torque(float(new.thread), float(new.head))
    same = torque(c.friction_thread, c.friction_head)
    text = (
        f"The sheet tightens its {f.kind}s {f.thread} with {f.lubricant} (friction "
        f"{c.friction_thread:g} in the thread, {c.friction_head:g} under the head) to "
        f"{show(preload, 'force', system)} each, which takes {show(same, 'torque', system)}. The "
        f"shop has only {other} (friction {float(new.thread):g} and {float(new.head):g}). What "
        "torque gives the same preload? Use the long form; two figures are enough."
    )
    made = with_pitfalls(
        Question(
            "11-5",
            text,
            "torque",
            right,
            digits=2,
            unit={"metric": "N*m", "inch": "lbf*ft"}[system],
            hint="Torque goes into the pitch of the thread, its friction, and the friction under "
            "the head.",
        ),
        (
            Pitfall(
                "same torque with another lubricant",
                same,
                "That is the torque for the lubricant on the sheet. With other friction the same "
                "torque makes another preload.",
            ),
            Pitfall(
                "pound-feet for newton-metres",
                right / 1.3558179483,
                "The number fits another unit of torque: newton-metres and pound-feet were mixed.",
            ),
            Pitfall(
                "thread friction only",
                torque(float(new.thread), c.friction_head),
                "That changes the thread and leaves the old friction under the head, where about "
                "half of the torque goes.",
            ),
            Pitfall(
                "upside down",
                same * same / right,
                "That moves the torque the wrong way: ask which of the two rubs less.",
            ),
        ),
    )
    wrong = float(
        tightening.preload_long.si(
            same,
            *(c.thread.diameter, c.thread.pitch, float(new.thread), float(new.head)),
            *rest,
        )
    )
    words = (
        f"{show(right, 'torque', system)}. The old {show(same, 'torque', system)} with {other} "
        f"would have pulled {show(wrong, 'force', system)} instead of "
        f"{show(preload, 'force', system)}; the fastener yields on the wrench at "
        f"{show(c.yield_preload, 'force', system)}. A torque without its lubricant is half a "
        "number. The whole procedure:"
    )
    rows = [{"step": a, "do": b, "status": s} for a, b, s in procedure(report, system)]
    return made, folded("Worked answer", words, rows)


def met(build: Build) -> Found:
    """The specification with the first single change that meets the customer's wish.

    Where none does, the wish is brought down to the most power that holds without a knock warning.
    """
    wish = wish_of(build)
    for _, found in tried(build, wish):
        if found is not None and found.meets:
            return found
    return specify(build, most_power(build))


def save(found: Found, folder: str | Path = ".", system: str | None = None) -> tuple[Path, Path]:
    """Write the build sheet and the report page of a specification; the paths of the two.

    Raises
    ------
    InputError
        if they cannot be written there.
    """
    sheet = found.build.save(Path(folder) / "specification.toml")
    page = sheet.with_name("specification-report.html")
    write_whole(page, found.report.page(system or found.build.system).encode("utf-8"))
    return sheet, page


EXERCISES = Exercises((_boost, _single, _less, _first, _wrench))
question, answer = EXERCISES.question, EXERCISES.answer
