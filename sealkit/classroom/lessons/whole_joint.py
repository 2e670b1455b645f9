"""Lesson 00, the whole joint: its panel, its picture and the answers to its exercises."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sealkit import build as builds
from sealkit import report as reports
from sealkit.analysis import CLAMP_RULE, trade_count
from sealkit.analysis.wrench import tighter
from sealkit.build import Build
from sealkit.classroom.drawing import charts
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Figure, Solved
from sealkit.classroom.lessons.lesson import compare
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.fastening import tightening
from sealkit.report import Report, ranking
from sealkit.units import show

CHECKS = {
    "polytropic": ["2.12-T2", "2.12-p2"],
    "torque": ["T1-torque", "T3-torque"],
    "load-sharing": ["T2-C", "T2-stress", "L9-bolts"],
}


# --------------------------------------------------------------------------- the panel
def _knobs(build: Build) -> Sequence[Knob]:
    return controls.boost(build), controls.ratio(build), controls.tightening(build)


def _picks(build: Build) -> Sequence[Pick]:
    return (controls.gasket(build),)


def _work(build: Build, _: Free) -> Report:
    return reports.run(build)


def _traces(report: Report, system: str) -> list[dict[str, Any]]:
    return charts.parts(report, system)[0]


def _layout(found: Sequence[Report], system: str) -> dict[str, Any]:
    return charts.parts(found[0], system, charts.ranges_si(found))[1]


def _values(report: Report, system: str) -> Values:
    return {key: {"y": y} for key, y in charts.lines(report, system).items()}


def _sentence(report: Report, system: str) -> Sentence:
    low = charts.load_rows(report, system)[0]
    peak = show(report.gas.design_peak, "pressure", system)
    words = (
        f"{report.grounds(system)} Sized on {peak}: the gas pushes with {low['gas load']} "
        f"and leaves {low['clamp left']} of {low['clamp']} clamp at low preload."
    )
    return Sentence("HOLDS" if report.holds else "DOES NOT HOLD", words, report.holds)


def _tables(report: Report, system: str) -> Mapping[str, Rows]:
    return {
        "Pressures": charts.peak_rows(report, system),
        "Loads on one bore at peak pressure": charts.load_rows(report, system),
        "Limits, weakest first": charts.limit_rows(report, system),
    }


def _gaskets(build: Build, _: Report, system: str) -> Mapping[str, Rows]:
    ranked = ranking.rank(build)
    return {"Gaskets on this engine, best first": charts.gasket_rows(ranked, system)}


SCENE = Scene(
    name="whole-joint",
    words="Cylinder pressure, load on one bore, load on the combustion seal and lift at the seal "
    "against crank angle",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    drawing=charts.cross_section,
    buttons={"Compare all gaskets on this engine": _gaskets},
)


# --------------------------------------------------------------------------- the idea
def picture(report: Report | None = None, system: str = "metric") -> Shown:
    """The section through the edge of a bore; with a report, at its peak pressure."""
    return Shown(
        charts.cross_section(report, system),
        "Section through the edge of a bore: the fastener pulls the head down, the gas pushes it "
        "up, the seal at the bore edge has to follow.",
    )


def nut_factor(build: Build) -> float:
    """The nut factor K of the lubricant on the sheet.

    Raises
    ------
    InputError
        if the friction table has none for it.
    """
    row = tightening.friction.si(build.fasteners.lubricant)
    if row.nut_factor is None:
        raise fail("fasteners.lubricant", row.lubricant, "a lubricant with a nut factor")
    return float(row.nut_factor)


def wrench(build: Build, system: str = "metric") -> str:
    """What the wrench does on one fastener, in words: torque, thread and nut factor."""
    f = build.fasteners
    torque = show(f.torque or 0.0, "torque", system)
    return f"{torque} on {f.thread}, {f.lubricant}, K = {nut_factor(build):g}:"


def told(report: Report, system: str = "metric") -> str:
    """Short form by hand against the long form of the report, and the trade's rule."""
    clamp = report.joint.bolts * report.clamp.preload.assembly
    low, high = CLAMP_RULE
    gas = report.gas.design_gauge * report.joint.gas_area
    count = trade_count(report.build, report.clamp, gas)
    around = report.build.fasteners.around_bore
    return (
        f"the report, by the long form: {show(clamp, 'force', system)} as tightened, "
        f"{show(report.joint.bolts * report.clamp.preload.low, 'force', system)} at the low end "
        f"after losses\nthe trade counts all {around} round the bore in full, as tightened: "
        f"{count:.1f} times the gas force, and wants {low:g} to {high:g} (common practice, no "
        "source); sharing, scatter and losses are left to that rule's own margin"
    )


def _left(report: Report) -> float:
    """Clamp left on one bore at the sizing pressure, low preload, N."""
    peak = report.gas.design_gauge
    return float(report.joint.under_gas(report.sealing, peak).clamp)


EXERCISES = Exercises("00")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("boost")
def _(build: Build, system: str) -> Solved:
    boost = build.get("charge.boost")
    if not boost.magnitude > 0:
        raise fail("charge.boost", "no boost", "a boosted engine for this exercise")
    more = 1.5 * boost
    one, other = reports.run(build), reports.run(build.vary({"charge.boost": more}))
    ratio = other.gas.design_peak / one.gas.design_peak
    rows = compare(build, {"as it stands": {}, "half more boost": {"charge.boost": more}}, system)
    before, after = rows
    return Solved(
        ratio,
        {
            "gauge for absolute": 1.5,
            "upside down": 1.0 / ratio,
            "clamp left for pressure": _left(other) / _left(one),
        },
        {
            "boost": (build.charge.boost, "gauge pressure"),
            "more": (1.5 * build.charge.boost, "gauge pressure"),
            **{f"{column} before": cell for column, cell in before.items()},
            **after,
        },
        rows,
    )


@EXERCISES.solver("torque or compression")
def _(build: Build, system: str) -> Solved:
    if build.fasteners.torque is None:
        raise fail("fasteners.torque", "nothing", "a build tightened by torque")
    changes: dict[str, dict[str, Any]] = {
        "a tenth more torque": {"fasteners.torque": 1.1 * build.get("fasteners.torque")},
        "one ratio less": {"engine.compression_ratio": build.compression_ratio - 1.0},
    }
    rows = compare(build, {"as it stands": {}, **changes}, system)
    tight, low = (_left(reports.run(build.vary(change))) for change in changes.values())
    return Solved(
        "more torque" if tight > low else "less compression",
        figures={
            f"{column} {case}": cell
            for case, row in zip(("before", "torque", "ratio"), rows, strict=True)
            for column, cell in row.items()
        },
        rows=rows,
    )


@EXERCISES.solver("first failure")
def _(build: Build, system: str) -> Solved:
    rows: list[dict[str, Figure]] = []
    for one in [build, *(b for n in builds.demos() if (b := builds.demo(n)) != build)]:
        report = reports.run(one)
        at, what = reports.order_rows(report, system)[0]
        further = reports.run(tighter(one))
        rows.append(
            {
                "engine": one.sheet.name,
                "sized on": (report.gas.design_peak, "pressure"),
                "weakest link today": report.weakest.title.text(system),
                "fails first as pressure rises": f"{what}, at {at}",
                "with a tenth more tightening": "holds"
                if further.holds
                else f"does not hold: {further.weakest.title.text(system)}",
            }
        )
    report = reports.run(build)
    limits = (report.order[0].limit, report.weakest, *(f.limit for f in report.order[1:]))
    first, weakest, *others = (r.title.text(system) for r in (*limits, *report.limits))
    options = tuple(dict.fromkeys((first, weakest, *others)))[:4]
    return Solved(
        first,
        {
            "weakest link today" if option == weakest else f"later: {option}": option
            for option in options
            if option != first
        },
        rows=rows,
        options=tuple(sorted(options)),
    )
