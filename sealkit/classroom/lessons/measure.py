"""Lesson 12, measure your own: a log, the model laid over it by hand, then by the fit."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from sealkit.build import Build
from sealkit.classroom.drawing.plot import Curve, Plot, over_crank
from sealkit.classroom.drawing.shown import Shown, cells, html_table, plain_table
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Rows
from sealkit.drawing import ink, readings
from sealkit.evidence import made as bench
from sealkit.evidence.bolts import tested
from sealkit.evidence.made import Overlay
from sealkit.pressure import variation
from sealkit.report.result import band_words, percent
from sealkit.units import from_si, show_unit, show_value, to_si

TEXT = Text(__file__)
CHECKS = TEXT.checks
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
    sheet = (controls.sheet(path, _BURN[path][0], *ends[path]) for path in ends)
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
        Curve("logged", "log, mean of the cycles", "gas load", at=28.0, side="top right",
              raised=True, dash="dot", short="log"),
        Curve("model", "model as set", "pressure", at=-30.0, side="top left", raised=True,
              ghost=True),
        Curve("left", "log less model", "temperature", 1, ranged="", style={"cliponaxis": True}),
        Curve("beyond", "beyond the chart", "temperature", 1, x=(float(np.radians(-96.0)),) * 2,
              y=lambda found: np.array([0.93 * found.edge, -0.93 * found.edge]), form="words",
              text=_beyond, side="middle right", ranged=""),
    ),
    height=640,
    hover="x unified",
    first=0.6,
    still=True,
)  # fmt: skip


# --------------------------------------------------------------------------- in words
def _told(found: Overlay) -> Names:
    (angle, off), (logged, model), good = found.farthest, found.peaks, found.lies or None
    off, way = abs(off), "higher" if off > 0 else "lower"
    word = "MODEL LIES ON THE LOG" if good else "NOT ON THE LOG YET"
    return locals()


def _figure(value: float, path: str, system: str) -> str:
    """Its number as the slider has it: a log that reads too high is too low by less than none."""
    kind = (_BURN | _LOG)[path][1]
    places = 2 if kind == "number" or (kind, system) == ("pressure", "metric") else 1
    shown = float(show_value(-value if path == "offset" else value, kind, system))
    return f"{shown + 0.0:.{places}f}"


def _row(path: str, system: str, **values: float) -> dict[str, str]:
    """One of the six: what it is, with its unit, and its numbers."""
    words, kind = (_BURN | _LOG)[path]
    unit = (words.removesuffix(" coefficient"), show_unit(kind, system))
    figures = {key: _figure(value, path, system) for key, value in values.items()}
    return {"what": ",\u00a0".join(filter(None, unit)), **figures}


def _tables(found: Overlay, system: str) -> Mapping[str, Rows]:
    rows = [_row(path, system, sheet=sheet, hand=hand) for path, sheet, hand in found.settings]
    return TEXT.tables({"settings": rows}, system)


def _fit(_: Build, found: Overlay, system: str) -> Mapping[str, Rows]:
    """What the fit finds, beside what was set by hand and the truth."""
    rows = [_row(system=system, **one._asdict()) for one in bench.tellings(found)]
    for row in rows:
        row["wide"] = row["wide"].lstrip("-")
    names = {"tellings": rows, "found": found}
    return TEXT.table("fit", names, system) | TEXT.table("faults", names, system)


def _verdicts(_: Build, found: Overlay, system: str) -> Mapping[str, Rows]:
    """The joint before and after the evidence, and what to measure next."""
    (before, after), following = found.made.reports, found.made.following
    margins = [percent(one.decides.margin) for one in (before, after)]
    bands = [band_words(one.decides.band) for one in (before, after)]
    made, worth = locals(), "next" if following else "nothing"
    return {
        k: v for key in ("verdicts", worth, "how") for k, v in TEXT.table(key, made, system).items()
    }


SCENE = TEXT.scene(
    _told,
    knobs=_knobs,
    work=_work,
    plot=PLOT,
    tables=_tables,
    kept=lambda _, found: found.tried,
    unready=lambda found: "" if found.lies else "the log is not matched yet",
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
        TEXT.note("faults", {}).text(system),
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

    def reads(off: float) -> str:
        return TEXT.note("high" if off > 0.0 else "low", locals()).text(system)

    offset, wide = bench.made(build).look.offset
    fitted = TEXT.note("known", {"said": reads(offset), "wide": wide}).text(system)
    hand, truth = reads(float(to_si(zero, "pressure"))), reads(bench.OFFSET)
    return f"by hand: {hand}\nby the fit: {fitted}\nin truth: {truth}"


# --------------------------------------------------------------------------- real bolts
def bolts(system: str = "metric") -> Shown:
    """Printed tests of real bolts, what sheet and fit make of them, and what does not match."""
    states, drawn = {str(t.row["state"]): t for t in tested()}, ""
    rows: list[dict[str, str]] = []
    for state, t in states.items():
        names: Names = {"t": t, "within": "✓" if abs(t.short) <= t.half else "✗"}
        names |= {key: t.moved[path] for key, path in _MOVED.items()}
        made = cells(TEXT.rows("bolts", names), system)
        rows = [old | {state: new["value"]} for old, new in zip(rows or made, made, strict=True)]
        picture = readings.of_kind(t.found, t.found.rows[0], system)
        drawn += f"<div style='flex:1 1 20rem'><b>{html.escape(state)}</b>{picture}</div>"
    rows = [{key: row[key] for key in ("what", *states)} for row in rows]
    both = dict(zip(("dry", "oiled"), states.values(), strict=True))
    told = [TEXT.note(key, both).text(system) for key in ("same", "short", "face", "outside")]
    items = "".join(f"<li>{html.escape(words)}</li>" for words in told)
    source = "; ".join(f"{t.row['source']} ({t.row['status']})" for t in states.values())
    return Shown(
        f"<div style='display:flex;flex-wrap:wrap;gap:1rem'>{drawn}</div>"
        + html_table(TEXT.data["bolts"]["caption"], rows)
        + f"<p><b>What did not match</b></p><ul>{items}</ul>"
        f"<p style='font-size:13px'>{html.escape(source)}</p>",
        "\n".join([plain_table(rows), "", "What did not match", *told, "", source]),
    )


_MOVED = {"friction": "friction_thread", "scatter": "preload_scatter"}


def sources(build: Build) -> Shown:
    """Where the numbers of this lesson come from, with their status."""
    return TEXT.shown("sources", {"build": build, "tests": [{"row": t.row} for t in tested()]})


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("12")
answer = EXERCISES.answer


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
