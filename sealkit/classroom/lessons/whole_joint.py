"""Lesson 00, the whole joint: its panel and the solvers of its exercises."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sealkit import build as builds
from sealkit import report as reports
from sealkit.analysis import CLAMP_RULE, trade_count
from sealkit.analysis.wrench import lubricant_of, tighter
from sealkit.build import Build
from sealkit.classroom.drawing import charts
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Rows
from sealkit.errors import fail
from sealkit.report import Report, margin_words
from sealkit.report.record import COUNTS
from sealkit.report.seal import at_peak, shown_seal, springback
from sealkit.report.tables import order_rows
from sealkit.sealing.limit import Outcome
from sealkit.units import show

TEXT = Text(__file__)
CHECKS = TEXT.checks


# --------------------------------------------------------------------------- the panel
def _told(report: Report) -> Names:
    (clamp, state), low, fails = at_peak(report), report.decides, report.first_failure
    seal, back = shown_seal(report), springback(report)
    left, lift = float(state.zone_loads[seal.name]), float(state.seal_lift)
    wanted = float(seal.required(report.gas.design_gauge)) if seal.factor > 0 else None
    holds = None if wanted is None else left >= wanted
    tight = holds is not False or None  # no tick beside a seal that leaks
    clamped, follows = float(state.clamp) > 0.0 and tight, None
    if back is not None:
        follows = lift <= back and tight
    # a fastener tightened to yield has no limit of proof
    proof = [r for r in report.limits if r.check == "fastener"][:1]
    word, good = str(report.outcome).upper(), _GOOD.get(report.outcome)
    part, (margin, what) = low.brief.capitalize(), margin_words(low)
    knock = " It holds only without knock." if report.leaves_knock_out else ""
    average = report.by_what and f"{report.by_what}; {COUNTS}"
    first = TEXT.note("nothing" if fails is None else "first", locals())
    eased = clamp - state.clamp
    return locals()


_GOOD = {Outcome.HOLDS: True, Outcome.FAILS: False}


def _tables(report: Report, system: str) -> Mapping[str, Rows]:
    return {
        "Pressures": charts.peak_rows(report, system),
        "Loads on one bore at peak pressure": charts.load_rows(report, system),
        "Limits, weakest first": charts.limit_rows(report, system),
    }


SCENE = TEXT.scene(
    _told,
    knobs=lambda build: (controls.boost(build), controls.ratio(build), controls.tightening(build)),
    picks=lambda build: (controls.gasket(build),),
    work=lambda build, _: reports.run(build),
    plot=charts.PLOT,
    sentence=lambda report, system: TEXT.sentence(
        _told(report) | {"grounds": report.grounds(system)}, system
    ),
    tables=_tables,
    joint=lambda report: report,
    buttons={
        "Compare all gaskets on this engine": lambda build, _, system: charts.gaskets(build, system)
    },
)


# --------------------------------------------------------------------------- the idea, by hand
def nut_factor(build: Build) -> float:
    """The nut factor K of the lubricant on the sheet.

    Raises InputError if the friction table has none for it.
    """
    row = lubricant_of(build)
    if row.nut_factor is None:
        raise fail("fasteners.lubricant", row.lubricant, "a lubricant with a nut factor")
    return float(row.nut_factor)


def wrench(build: Build, system: str = "metric") -> str:
    """What the wrench does on one fastener, in words: torque, thread and nut factor."""
    f = build.fasteners
    torque = show(f.torque or 0.0, "torque", system)
    return f"{torque} on {f.thread}, {f.lubricant}, K = {nut_factor(build):g}:"


def by_report(report: Report, system: str = "metric") -> str:
    """Short form by hand against the long form of the report, and the trade's rule."""
    gas, rule = float(at_peak(report)[1].gas_force), CLAMP_RULE
    preload, count = report.clamp.preload, trade_count(report.build, report.clamp, gas)
    tightened, low = report.bore_clamp(preload.assembly), report.bore_clamp(preload.low)
    return TEXT.note("report", locals()).text(system)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("00")
answer = EXERCISES.answer


def _left(report: Report) -> float:
    """Clamp left on one bore at the design peak pressure, low preload, N."""
    return float(at_peak(report)[1].clamp)


def _row(case: str, report: Report) -> dict[str, Any]:
    return {"case": case, **lesson.result(report)}


@EXERCISES.solver("boost")
def _(build: Build, system: str) -> Names:
    boost = build.charge.boost
    if not boost > 0:
        raise fail("charge.boost", "no boost", "a boosted engine for this exercise")
    one = reports.kept_report(build)
    other = reports.kept_report(build.vary_si({"charge.boost": 1.5 * boost}))
    factor = other.gas.design_peak / one.gas.design_peak
    before, after = _row("as it stands", one), _row("half more boost", other)
    clamp_left_for_pressure = _left(other) / _left(one)
    figures = {f"{column} before": figure for column, figure in before.items()} | after
    rows = [before, after]
    return locals()


@EXERCISES.solver("torque or compression")
def _(build: Build, system: str) -> Names:
    torque = build.fasteners.torque
    if torque is None:
        raise fail("fasteners.torque", "nothing", "a build tightened by torque")
    ratio = {"engine.compression_ratio": build.compression_ratio - 1.0}
    tight = reports.kept_report(tighter(build))
    low = reports.kept_report(build.vary_si(ratio))
    cases = {
        "before": _row("as it stands", reports.kept_report(build)),
        "torque": _row("a tenth more torque", tight),
        "ratio": _row("one ratio less", low),
    }
    right = "torque" if _left(tight) > _left(low) else "compression"
    figures = {
        f"{column} {which}": figure
        for which, row in cases.items()
        for column, figure in row.items()
    }
    rows = [*cases.values()]
    return locals()


@EXERCISES.solver("first failure")
def _(build: Build, system: str) -> Names:
    rows: list[dict[str, Any]] = []
    for one in [build, *(b for n in builds.demos() if (b := builds.demo(n)) != build)]:
        report, tight = reports.kept_report(one), reports.kept_report(tighter(one))
        at, what = order_rows(report, system)[0]
        weak = "" if tight.holds else f": {tight.decides.title.text(system)}"
        rows.append(
            {
                "engine": one.sheet.name,
                "design peak": (report.gas.design_peak, "pressure"),
                "today": str(report.outcome),
                "least margin today": report.weakest.title.text(system),
                "fails first as pressure rises": f"{what}, at {at}",
                "with a tenth more tightening": f"{tight.outcome}{weak}",
            }
        )
    report = reports.kept_report(build)
    weakest = report.weakest.title.text(system)
    order = [failure.limit.title.text(system) for failure in report.order]
    others = (limit.title.text(system) for limit in report.limits)
    options = tuple(dict.fromkeys((order[0], weakest, *order[1:], *others)))[:4]
    wrong = {
        "weakest link today" if option == weakest else f"later: {option}": option
        for option in options
        if option != order[0]
    }
    options = tuple(sorted(options))
    return locals()
