"""Lesson 11, the capstone: specify a build from a customer's wish."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from typing import Any

from sealkit import analysis, paper
from sealkit import report as reports
from sealkit.analysis import wrench
from sealkit.analysis.margins import Limit
from sealkit.build import Build
from sealkit.classroom.drawing import charts
from sealkit.classroom.drawing.shown import Shown, cells, html_table
from sealkit.classroom.drawing.specification_chart import PLOT, way
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons import gas as gas_lesson
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Knob, Pick, Rows
from sealkit.fastening import tightening
from sealkit.paper import save as save
from sealkit.pressure import geometry
from sealkit.report import margin_words, percent, specification, workshop
from sealkit.report.comparison import compare
from sealkit.report.notes import driven
from sealkit.report.result import turned_words
from sealkit.report.specification import OUTCOMES, OWN, Specification, specify, wish_of
from sealkit.report.specification import met as met
from sealkit.sealing.limit import Outcome
from sealkit.units import from_si, to_si

TEXT = Text(__file__)
CHECKS = TEXT.checks


def find(build: Build) -> Specification:
    """The specification for the customer's wish on this engine."""
    return specify(build, wish_of(build))


# --------------------------------------------------------------------------- the panel
def _knobs(build: Build) -> Sequence[Knob]:
    wish = wish_of(build)
    return (
        Knob("wish", "Power wanted", "power", wish, 0.8 * wish, 1.3 * wish),
        controls.ratio(build),
        controls.tightening(build),
    )


def _picks(build: Build) -> Sequence[Pick]:
    grades = (OWN, *specification.grades_of(build))

    def graded(now: Build, name: str) -> Build:
        return specification.with_grade(now, name, build)

    return (
        next(p for p in gas_lesson.SCENE.picks(build) if p.path == "fuel.name"),
        controls.gasket(build),
        Pick("fasteners.grade", "Fasteners", grades, OWN, graded),
        Pick("liquids.deck", "Deck", ("wet", "dry"), build.liquids.deck),
    )


# --------------------------------------------------------------------------- in words
_VERDICTS = {
    "meets": "MEETS THE WISH",
    "close": "TOO CLOSE TO CALL",
    "knocks": "HOLDS ONLY WITHOUT KNOCK",
    "fails": "DOES NOT MEET THE WISH",
}


def _which(row: Limit) -> str:
    """A limit that does not hold for sure: its margin, and what turns it."""
    why = turned_words(row)
    return f"{row.brief}, {percent(float(row.margin))}{f' ({why})' if why else ''}"


def _told(found: Specification) -> Names:
    report, build, gas, low = found.report, found.build, found.report.gas, found.report.decides
    bad = [r for r in report.banded if r.outcome is not Outcome.HOLDS]
    need = TEXT.note("enough" if gas.brake_power > 1.01 * found.wish else "needs", locals())
    which = "; ".join(_which(r) for r in sorted(bad, key=lambda r: r.margin))
    amiss, count, (margin, what) = len(bad), len(report.limits), margin_words(low)
    part = low.brief.capitalize()
    held = TEXT.note("exceeded" if bad else "hold", locals())
    knock = "below 1, no warning" if found.quiet else "above 1, the end gas is expected to light"
    word = _VERDICTS[found.outcome]
    good = None if found.outcome in ("close", "knocks") else found.meets
    load, _, left = found.loads
    clamped = left > 0.0 and (found.outcome != "fails" or None)
    return locals()


def _tables(found: Specification, system: str) -> Mapping[str, Rows]:
    report = found.report
    sizes = [
        {"what": what, "value": value}
        for group in workshop.facts(report, system)
        if group.key in ("ring", "clearances")
        for what, value in group.rows
    ]
    return {
        "The specification": cells(specification.rows(found, system), system),
        "Tightening procedure": cells(workshop.procedure(report, system), system),
        "Faces to work to": workshop.work_to(report, system),
        "Grooves and clearances": sizes,
        "Margins, hot and cold, weakest first": charts.limit_rows(report, system),
    }


def _changes(build: Build, wish: float) -> Names:
    """Single changes, each with the boost that the wish then needs."""
    rows: list[Names] = []
    for words, found in specification.tried(build, wish):
        row: Names = dict.fromkeys(("boost", "peak", "knock", "least"), "")
        row |= {"words": words, "meets": "no boost makes this power"}
        if found is not None:
            gas, low = found.report.gas, found.report.weakest
            row |= {
                "meets": OUTCOMES[found.outcome],
                "boost": (found.build.charge.boost, "gauge pressure"),
                "peak": (gas.design_peak, "pressure"),
                "knock": f"{gas.knock_integral:.2f}",
                "least": f"{percent(float(low.margin))} ({low.brief})",
            }
        rows.append(row)
    return {"changes": rows}


SCENE = TEXT.scene(
    _told,
    knobs=_knobs,
    picks=_picks,
    work=lambda build, free: specify(build, float(free["wish"])),
    plot=PLOT,
    tables=_tables,
    joint=lambda found: found.report,
    buttons={
        "Compare all gaskets": lambda _, found, system: charts.gaskets(
            found.build, system, "Gaskets for this wish"
        ),
        "Limits before and after": lambda build, found, system: compare(
            [build, found.build], deck=False
        ).tables(system),
        "One change at a time": lambda build, found, system: TEXT.table(
            "changes", _changes(build, found.wish), system
        ),
    },
    ends=False,
    kept=lambda _, found: specification.sheet_of(found),
)


# --------------------------------------------------------------------------- brief and sheet
def asked(build: Build, system: str | None = None) -> Shown:
    """What the customer asks for; invented."""
    now, wish = specification.power_of(build), wish_of(build)
    words = TEXT.note("brief", locals()).text(system or build.system)
    return Shown(f"<p><b>The brief.</b> {html.escape(words)}</p>", words)


def picture(found: Specification | Build, system: str = "metric") -> Shown:
    """The brief, and the way from the wish to the joint of an engine, drawn."""
    one = find(found) if isinstance(found, Build) else found
    words, (made, drawn) = asked(one.sheet, system), way(one, system)
    return Shown(words.html + made, f"{words.text}\n{drawn}")


def build_sheet(found: Specification, system: str | None = None) -> Shown:
    """The page to print, with the wish: in a frame of its own, so that its style stays its own."""
    printed, system = paper.paper_of(found), system or found.build.system
    page = html.escape(paper.page(printed, system), quote=True)
    return Shown(
        f'<iframe title="The specification" srcdoc="{page}" '
        'style="width:100%;height:75vh;border:1px solid #555"></iframe>',
        f"{printed.wish(system)}\n\n{paper.text(printed, system)}",
    )


def compared(build: Build, found: Specification, system: str | None = None) -> Shown:
    """The customer's engine and the specification side by side."""
    made, system = compare([build, found.build], deck=False), system or build.system
    tables = made.tables(system)
    return Shown(
        "".join(html_table(title, rows) for title, rows in tables.items()),
        paper.side_by_side(made, system),
    )


def mean_pressures(found: Specification) -> tuple[Any, Any, Any]:
    """(power wanted, swept volume of the engine, crank speed) of the hand calculation."""
    build = found.build
    bore, stroke, speed = (build.get(f"engine.{k}") for k in ("bore", "stroke", "speed"))
    swept = geometry.swept_volume(bore, stroke, build.engine.cylinders)
    return from_si(found.wish, "power"), swept, speed


def told(found: Specification, system: str = "metric") -> str:
    """What the panel has for the hand calculation."""
    return TEXT.note("cycle", _told(found)).text(system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("11")
answer = EXERCISES.answer
_NONE = "none of these alone"
_OVERLOOKED = {
    "meets": "more work than needed",
    "close": "what the model leaves open overlooked",
    "knocks": "knock overlooked",
    "fails": "limit overlooked",
}


@EXERCISES.solver("boost")
def _(build: Build, system: str) -> Names:
    found, now = find(build), analysis.gas_side(build)
    boost, right, then = build.charge.boost, found.build.charge.boost, found.report.gas
    grown = found.wish / now.brake_power
    drives = driven(then)
    return locals()


@EXERCISES.solver("single")
def _(build: Build, system: str) -> Names:
    wish = wish_of(build)
    every = dict(specification.tried(build, wish))
    right = next((words for words, one in every.items() if one is not None and one.meets), _NONE)
    wrong = {
        f"{_OVERLOOKED[one.outcome] if one else 'no boost makes it'}: {words}": words
        for words, one in every.items()
        if words != right
    }
    if right != _NONE:
        wrong["one of them does"] = _NONE
    rows = TEXT.rows("changes", _changes(build, wish))
    options = (*every, _NONE)
    return locals()


@EXERCISES.solver("less")
def _(build: Build, system: str) -> Names:
    most, wish = specification.most_power(build), wish_of(build)
    beyond = specify(build, 1.02 * most).report
    today, boost = specification.power_of(build), specify(build, most).build.charge.boost
    holds = beyond.holds or beyond.leaves_knock_out
    why = "knock comes" if holds else f"{beyond.weakest.brief} gives"
    return locals()


@EXERCISES.solver("first")
def _(build: Build, system: str) -> Names:
    found = find(build)
    first, *others = found.giving
    small = found.report.weakest.brief
    order = reports.order_rows(found.report, system)
    rows = [{"peak pressure": at, "what gives": what} for at, what in order]
    options = tuple(sorted(found.giving))
    wrong = {("smallest margin today" if n == small else f"later: {n}"): n for n in others}
    return locals()


@EXERCISES.solver("wrench")
def _(build: Build, system: str) -> Names:
    report, one, f = reports.run(build), wrench.tightened(build), build.fasteners
    clamp = one.clamp
    other = "moly paste" if f.lubricant != "moly paste" else "engine oil"
    row = tightening.friction.si(other)
    thread = {"thread_friction": float(row.thread)}
    new = thread | {"head_friction": float(row.head)}
    right, same = one.torque_for(**new), one.torque_for()
    otherwise = one.long_form(same, **new)
    foot_pound, thread_only = to_si("1 lbf*ft", "torque"), one.torque_for(**thread)
    fasteners = f"{f.kind}s {f.thread}"
    rows = workshop.procedure(report, system)
    return locals()
