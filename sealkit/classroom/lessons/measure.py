"""Lesson 12, measure your own: a log, the model laid over it by hand, then by the fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from sealkit.build import Build
from sealkit.classroom.drawing.plot import Curve, Plot, over_crank
from sealkit.classroom.drawing.real_bolts import bolts as bolts
from sealkit.classroom.drawing.shown import Shown, cells, source_table
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Guess, Knob, Rows, Scene, Sentence, Tile
from sealkit.drawing import ink
from sealkit.evidence import made as bench
from sealkit.evidence.bolts import tested
from sealkit.evidence.made import Overlay
from sealkit.pressure import variation
from sealkit.report.result import band_words, percent
from sealkit.units import from_si, show, show_unit, show_value, to_si
from sealkit.words import note

CHECKS = {
    "polytropic": ["2.12-p2", "O-0.3", "O-gauge"],
    "variation": ["6.12-1000"],
    "scatter": ["BK-K-inch"],
}
_BURN = {
    "burn.ca50": ("CA50", "angle"),
    "burn.duration": ("10-90 % burn", "angle"),
    "charge.filling": ("Filling", "fraction"),
    "burn.wall_coefficient": ("Wall heat coefficient", "number"),
}
_LOG = {"phase": ("Log ahead by", "angle"), "offset": ("Log too low", "pressure")}
_SHOWN = (-100.0, 100.0)


# --------------------------------------------------------------------------- the panel
def _own(path: str) -> str:
    """The word of a knob: the sheet stays as it is, since the log belongs to it."""
    return path.rpartition(".")[2]


def _knobs(build: Build) -> Sequence[Knob]:
    burn, turn = build.burn, np.radians(10.0)
    now, coefficient = build.charge.filling, burn.wall_coefficient
    ends = {
        "burn.ca50": (burn.ca50, burn.ca50 - turn, burn.ca50 + turn),
        "burn.duration": (burn.duration, 0.7 * burn.duration, 1.3 * burn.duration),
        "charge.filling": (now, now - 0.12, now + 0.12),
        "burn.wall_coefficient": (coefficient, coefficient - 0.2, coefficient + 0.3),
    }
    sheet = (controls.sheet(path, *_BURN[path], *ends[path]) for path in ends)
    return (
        Knob("phase", *_LOG["phase"], 0.0, np.radians(-3.0), np.radians(3.0)),
        Knob("too_low", *_LOG["offset"], 0.0, -1.2e5, 1.2e5),
        *(replace(knob, path=_own(knob.path)) for knob in sheet),
    )


def _work(build: Build, free: Free) -> Overlay:
    burn = {path: float(free[_own(path)]) for path in _BURN}
    return bench.lay(build, burn, float(free["phase"]), -float(free["too_low"]))


def _beyond(found: Overlay, system: str) -> Sequence[str]:
    """How far what is left goes where it leaves its chart, above and below."""
    unit, (above, below) = show_unit("pressure", system), (found.left.max(), found.left.min())
    far = [f"{show_value(one, 'pressure', system):.0f} {unit}" for one in (above, below)]
    return (
        f"▲ to {far[0]}" if above > found.edge else "",
        f"▼ to {far[1]}" if below < -found.edge else "",
    )


PLOT = Plot(
    charts=(
        over_crank("Cylinder pressure as logged", "pressure", "angle", _SHOWN,
                   y=lambda found: (None, 1.4 * float(found.logged.max()))),
        over_crank("Log less model", "pressure", "angle", _SHOWN,
                   y=lambda found: (-found.edge, found.edge)),
    ),
    curves=(
        Curve("logged", "log, mean of the cycles", "gas load", at=28.0, place="top right",
              raised=True, dash="dot", short="log"),
        Curve("model", "model as set", "pressure", at=-30.0, place="top left", raised=True,
              ghost=True),
        Curve("left", "log less model", "temperature", 1, ranged="", style={"cliponaxis": True}),
        Curve("beyond", "beyond the chart", "temperature", 1, x=(float(np.radians(-96.0)),) * 2,
              y=lambda found: np.array([0.93 * found.edge, -0.93 * found.edge]), form="words",
              text=_beyond, place="middle right", ranged=""),
    ),
    height=640,
    hover="x unified",
    first=0.6,
    still=True,
)  # fmt: skip


# --------------------------------------------------------------------------- in words
_WORDS = (
    "The {cycles} cycles of the log peak at {logged} on average, the model as set at {model}. They "
    "are furthest apart at {angle}, where the log is {off} {way}. Root mean square (rms) of the "
    "difference: {misfit}; {allowed} would be near enough, a hundredth of the pressure all along."
)


def _sentence(found: Overlay, system: str) -> Sentence:
    angle, off = found.farthest
    logged, model = found.peaks
    words = note(
        _WORDS,
        cycles=str(found.made.log.cycles),
        logged=(logged, "pressure"),
        model=(model, "pressure"),
        angle=(angle, "angle", 0),
        off=(abs(off), "pressure"),
        way="higher" if off > 0 else "lower",
        misfit=(found.misfit, "pressure", 2),
        allowed=(found.allowed, "pressure", 2),
    )
    head = "MODEL LIES ON THE LOG" if found.lies else "NOT ON THE LOG YET"
    line = note("rms difference between log and model; {near} is near enough.",
                near=(found.allowed, "pressure", 2)).text(system)  # fmt: skip
    number = show(found.misfit, "pressure", system, 2)
    return Sentence(head, words.text(system), found.lies or None, number, line)


def _tiles(found: Overlay) -> Sequence[Tile]:
    angle, off = found.farthest
    return (
        ("rms difference", (found.misfit, "pressure", 2), found.lies or None),
        ("largest difference", (abs(off), "pressure"), None),
        ("crank angle of the largest", (angle, "angle", 0), None),
        ("mean peak of the log", (found.peaks[0], "pressure"), None),
        ("peak of the model", (found.peaks[1], "pressure"), None),
        ("spread of the logged peaks", (found.made.spread, "fraction"), None),
    )


def _label(path: str, system: str) -> str:
    """What one of the six is, with its unit."""
    words, kind = (_BURN | _LOG)[path]
    shown = (words.removesuffix(" coefficient"), show_unit(kind, system))
    return ",\u00a0".join(filter(None, shown))


def _figure(value: float, path: str, system: str) -> str:
    """Its number as the slider has it: a log that reads too high is too low by less than none."""
    kind = (_BURN | _LOG)[path][1]
    places = 2 if kind == "number" or (kind, system) == ("pressure", "metric") else 1
    shown = float(show_value(-value if path == "offset" else value, kind, system))
    return f"{shown + 0.0:.{places}f}"


def _tables(found: Overlay, system: str) -> Mapping[str, Rows]:
    rows = [
        {
            "what": _label(path, system),
            "on the sheet": _figure(sheet, path, system),
            "as set": _figure(hand, path, system),
        }
        for path, sheet, hand in found.settings
    ]
    return {"What is set": rows}


def _fit(_: Build, found: Overlay, system: str) -> Mapping[str, Rows]:
    """What the fit finds, beside what was set by hand and the truth."""
    rows = [
        {
            "what": _label(one.path, system),
            "sheet": _figure(one.sheet, one.path, system),
            "hand": _figure(one.hand, one.path, system),
            "fit": f"{_figure(one.fitted, one.path, system)} ±"
            + _figure(one.wide, one.path, system).lstrip("-"),
            "true": _figure(one.truth, one.path, system),
        }
        for one in bench.tellings(found)
    ]
    faults: list[dict[str, Figure]] = [
        {"fault": one.name, "found": one.text} for one in found.made.look.findings
    ]
    return {
        "Sheet, hand, fit ± two standard deviations, and truth": rows,
        "What is wrong with the log": cells(faults, system),
    }


def _verdicts(_: Build, found: Overlay, system: str) -> Mapping[str, Rows]:
    """The joint before and after the evidence, and what to measure next."""
    names = ("design peak", "the joint", "what decides", "its margin", "by other choices")
    figures: list[tuple[Figure, ...]] = [
        (
            (report.gas.design_peak, "pressure"),
            str(report.outcome),
            report.decides.brief,
            percent(report.decides.margin),
            band_words(report.decides.band),
        )
        for report in found.made.reports
    ]
    columns, following = ("average joint", "by the sheet", "by the log"), found.made.following
    rows = [dict(zip(columns, row, strict=True)) for row in zip(names, *figures, strict=True)]
    worth: list[dict[str, Figure]] = [
        {
            "measure": one.row["kind"],
            "narrows margin by": (one.narrows, "fraction", 0),
            "takes": f"{one.row['time'] / 3600.0:g} h",
        }
        for one in following
    ]
    how = [(one.row["kind"], f"{one.row['how']} {one.row['cautions']}") for one in following]
    nothing: list[dict[str, Figure]] = [{"measure": "nothing known here narrows it"}]
    return {
        "Before and after the evidence": cells(rows, system),
        "What to measure next, most for each hour first": cells(worth or nothing, system),
        "How it is done": [{"measure": kind, "how, and what to mind": told} for kind, told in how],
    }


_ASKED = "The log is of this engine, the model of its sheet. How far apart are they at most?"
_WHY = "Part of it is the engine's and part the log's: its angle and its zero are off."
_HIDES = ("logged", "beyond")


SCENE = Scene(
    name="measure",
    words="Cylinder pressure over crank angle, as logged and by the model, and what is left",
    knobs=_knobs,
    work=_work,
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    scope="model against a made log",
    tiles=_tiles,
    kept=lambda _, found: found.tried,
    unready=lambda found: "" if found.lies else "the log is not matched yet",
    guess=Guess(lambda _: note(_ASKED), "left", "most", "pressure", _HIDES, lambda _: note(_WHY)),
    buttons={"Let the fit do it": _fit, "Verdict, and what next": _verdicts},
)


# --------------------------------------------------------------------------- the idea
_FAULTS = (("as it is", ""), ("angle ahead", "7 4"), ("zero too high", "2 3"))


def picture(build: Build, system: str = "metric") -> Shown:
    """A compression as it is, with the angle wrong and with the zero wrong."""
    unit, (angle, cycles) = show_unit("pressure", system), bench.faults(build)
    shown = [np.asarray(show_value(one, "pressure", system), dtype=float) for one in cycles]
    curves = [
        ink.Curve(np.degrees(angle), y, label, None, dash)
        for y, (label, dash) in zip(shown, _FAULTS, strict=True)
    ]
    drawn = ink.chart(
        ink.Axis("° of the log", -90.0, 60.0, 30.0),
        ink.Axis(f"pressure, {unit}", 0.0, 1.15 * float(np.max(shown))),
        curves,
        "One cycle as it is, with the log's angle ahead and with its zero too high",
    )
    return Shown(drawn, "a wrong angle moves the cycle sideways, a wrong zero lifts all of it")


# --------------------------------------------------------------------------- worked by hand
def zero(build: Build) -> tuple[Any, Any, float, float]:
    """Two readings on the compression, as quantities, and ratio and exponent between them."""
    one = bench.by_hand(build)
    first, second = (from_si(p, "pressure").to("bar") for p in (one.first, one.second))
    return first, second, one.ratio, one.exponent


def told(zero: Any, build: Build, system: str = "metric") -> str:
    """What a zero worked out by hand, a quantity, comes to, the same by the fit and in truth."""

    def reads(offset: float) -> str:
        words = "{off} too high" if offset > 0.0 else "{off} too low"
        return note(words, off=(abs(offset), "pressure", 2)).text(system)

    offset, wide = bench.made(build).look.offset
    fitted = f"{reads(offset)}, give or take {show(2.0 * wide, 'pressure', system, 2)}"
    hand, truth = reads(to_si(zero, "pressure")), reads(bench.OFFSET)
    return f"by hand: {hand}\nby the fit: {fitted}\nin truth: {truth}"


def sources(build: Build) -> Shown:
    """Where the numbers of this lesson come from, with their status."""
    return source_table(
        "Sources of the log",
        [
            ("log, its truth, noise and faults", "invented", "this lesson"),
            ("model", "computed", "the cycle of lesson 01"),
            ("how far the model may be off, priors, time to measure", "invented", "the kit"),
            (
                "offset from the compression",
                "from memory",
                "G. Hohenberg and I. Killmann, FISITA 82126, 1982",
            ),
            *(
                (f"bolts, {t.row['state']}", str(t.row["status"]), str(t.row["source"]))
                for t in tested()
            ),
            ("engine round the bolts", "invented", "this lesson"),
            ("engine", build.sheet.status, "the build sheet"),
        ],
    )


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("12")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("zero")
def _(build: Build, system: str) -> Names:
    one = bench.by_hand(build)
    times = one.second / one.first
    believed = float(np.log(times) / np.log(one.ratio))
    return locals()


@EXERCISES.solver("dead-centre")
def _(build: Build, system: str) -> Names:
    one = bench.made(build)
    ahead, peak = np.radians(np.degrees([one.look.phase[0], one.log.peak_angle]).round(1))
    return locals()


@EXERCISES.solver("sized")
def _(build: Build, system: str) -> Names:
    one = bench.made(build)
    mean = float(one.log.peaks.mean()) - one.look.offset[0]
    highest = float(one.log.peaks.max()) - one.look.offset[0]
    spread, often, cycles = one.spread, build.burn.one_cycle_in, one.log.cycles
    rare = float(variation.rare_peak_pressure.si(mean, spread, often))
    return locals()


@EXERCISES.solver("blamed")
def _(build: Build, system: str) -> Names:
    blind, freed = bench.without_phase(bench.made(build))
    truth = "too late" if blind > freed else "too early"
    return locals()
