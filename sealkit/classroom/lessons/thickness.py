"""Lesson 08, thickness, compression and clearance: its panel, its picture, and the questions."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import analysis
from sealkit import report as reports
from sealkit.analysis import Fit, Refit
from sealkit.build import Build
from sealkit.classroom.drawing.clearance_chart import PLOT, section
from sealkit.classroom.drawing.shown import Shown, cells
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel.scene import Knob, Rows
from sealkit.report import percent
from sealkit.sealing import clearances
from sealkit.units import from_si
from sealkit.words import Note, note

TEXT = Text(__file__)
CHECKS = TEXT.checks
ALLOWANCE = 0.25e-3  # m; invented, the builder's own figure takes its place
BOX = 1.3  # free thickness over compressed thickness in the exercises; invented
# round figures of the exercises, m; all invented
MORE = {"metric": 0.30e-3, "inch": 0.012 * 0.0254}  # of compressed thickness
CUT = {"metric": 0.25e-3, "inch": 0.010 * 0.0254}  # off the head
DECKED = {"metric": 0.20e-3, "inch": 0.008 * 0.0254}  # off the deck
_POINTS = 3  # of the lines over thickness, beside the one that is set


# --------------------------------------------------------------------------- knobs and work
def _thicknesses(build: Build) -> tuple[float, float]:
    """Ends of the knob of compressed thickness, m."""
    thick = build.gasket.compressed_thickness
    return 0.5 * thick, thick + 1e-3


def _knobs(build: Build) -> Sequence[Knob]:
    fit, bore = analysis.fit_of(build), build.engine.bore
    thin, thick = _thicknesses(build)
    unsaid = "" if build.engine.chamber is not None else " (0 taken)"
    lowest = max(fit.deck - 0.6e-3, -0.75 * thin)
    widest = min(1.06 * bore, build.gasket.seal_diameter)
    return (
        Knob("thickness", "Gasket, compressed", "length", fit.thickness, thin, thick),
        Knob("cut", "Cut off the head", "length", fit.cut, 0.0, 1e-3),
        Knob("deck", f"Piston below deck{unsaid}", "length", fit.deck, lowest, fit.deck + 1e-3),
        Knob("opening", "Opening of the gasket", "length", fit.opening, bore, widest),
        Knob("allowance", "Stretch, play, rock", "length", ALLOWANCE, 0.0, 1e-3),
    )


def find(build: Build, allowance: float = ALLOWANCE, **own: float) -> Refit:
    """What the panel shows with these settings (plain SI); the sheet's where none is given."""
    fit: Fit = dataclasses.replace(analysis.fit_of(build), **own)
    return analysis.refit(build, fit, allowance, np.linspace(*_thicknesses(build), _POINTS))


# --------------------------------------------------------------------------- words
def _by(change: float, kind: str) -> Note:
    """A change with its sign."""
    if abs(change) <= 1e-12:
        return note("none")
    return note(f"{'+' if change > 0 else '−'}{{by}}", by=(abs(change), kind))


def _usual(found: Refit) -> Note:
    """Where the squish stands against the usual range, from memory."""
    (low, high), status = clearances.SQUISH_USUAL, clearances.SQUISH_STATUS
    return TEXT.note(found.squish_is, {"usual": TEXT.note("range", locals())})


def _told(found: Refit) -> Names:
    gap, after, sides, risk = found.gap, found.after, found.sides, found.squish_is == "risk"
    change = found.force - found.before.force
    moved = abs(change) > 1e-6 * found.before.force
    against = TEXT.note("against", {"change": _by(change, "force")}, moved)
    touches, usual = bool(gap.touches), _usual(found)
    leaves = TEXT.note("touches" if touches else "leaves", {"gap": gap})
    flush = TEXT.note("flush", {}, not found.deck_known)
    knock, rare = float(after.knock_integral), after.rare_knock or 0.0
    quiet = knock < 1.0 and (rare < 1.0 or None)
    beside = f" (rare one {rare:.2f})" if rare else ""
    safe, free = not risk, not touches and (not risk or None)
    word, good = ("CLEAR, BUT KNOCK WARNING", None) if knock >= 1.0 else ("CLEAR", True)
    if risk:
        word, good = "RISK OF TOUCH", None
    if touches:
        word, good = "TOUCHES", False
    most, lowest = found.thickness[-1], found.ratio[-1]
    return locals()


# --------------------------------------------------------------------------- tables
_VOLUMES = {
    "volume above the piston": "clearance",
    "of it in the gasket's opening": "gasket",
    "compression ratio": "ratio",
    "squish, cold and at rest": "squish",
    "the same at speed": "running",
}
_JOINT = {
    "boost": "boost",
    "peak of the average cycle": "mean peak",
    "design peak pressure": "design peak",
    "gas force on the head": "force",
    "knock integral (limit 1)": "knock",
    "power (estimate)": "power",
}


def _behind(found: Refit) -> Names:
    """What is on the sheet and what is now, with the change."""

    def rows(names: Mapping[str, str]) -> list[Names]:
        every = ((what, *found.sides[name]) for what, name in names.items())
        return [
            {"what": what, "kind": kind, "before": was, "now": now, "change": _by(now - was, kind)}
            for what, kind, was, now in every
        ]

    return {"volumes": rows(_VOLUMES), "joint": rows(_JOINT)}


def _clean_up(_: Build, found: Refit, system: str) -> Mapping[str, Rows]:
    """What a pass over ring marks does, on the head and on the deck."""
    volumes, bore = analysis.volumes_of(found.build), found.build.engine.bore
    cleaned = []
    for face in ("head", "deck"):
        out = clearances.clean_up.si(volumes.swept, volumes.clearance, bore, face=face)
        seen = [w for w, s in (("burette", out.volume_seen), ("gauge", out.pressure_seen)) if s]
        changes = {
            "volume": _by(float(out.volume_change), "volume"),
            "squish": _by(float(out.squish_change), "lift"),
            "pressure": percent(float(out.pressure_change)),
            "shown": " and ".join(seen) or "neither burette nor gauge",
        }
        cleaned.append(changes | {"face": face, "out": out})
    status = clearances.RING_MARK_STATUS
    return TEXT.table("cleaned", locals(), system)


def _joint(_: Build, found: Refit, system: str) -> Mapping[str, Rows]:
    """The whole joint on the sheet and now."""
    cases = {"as on the sheet": found.sheet, "now": found.build}
    rows = [{"case": words, **lesson.result(reports.run(build))} for words, build in cases.items()]
    return {"The whole joint": cells(rows, system)}


def picture(found: Refit | Build, system: str = "metric") -> Shown:
    """The section at top dead centre, from the engine's own numbers."""
    return Shown(*section(find(found) if isinstance(found, Build) else found, system))


SCENE = TEXT.scene(
    _told,
    _behind,
    knobs=_knobs,
    work=lambda build, free: find(build, **{name: float(x) for name, x in free.items()}),
    plot=PLOT,
    drawing=lambda found, system: section(found, system)[0],
    buttons={"Take ring marks off a face": _clean_up, "What it does to the whole joint": _joint},
    kept=lambda _, found: found.build,
)


# --------------------------------------------------------------------------- worked by hand
def parts(build: Build) -> tuple[Any, Any, Any]:
    """(swept volume, opening of the gasket, thicker by) of the hand calculation."""
    swept = from_si(analysis.volumes_of(build).swept, "volume")
    return swept, build.get("gasket.bore"), from_si(MORE[build.system], "length")


def _thicker(build: Build, more: float) -> Refit:
    return find(build, thickness=build.gasket.compressed_thickness + more)


def told(build: Build, system: str = "metric") -> str:
    """What the panel has for the hand calculation, and what it means for the joint."""
    found = _thicker(build, MORE[build.system])
    change = _by(found.force - found.before.force, "force")
    return TEXT.note("panel", _told(found) | {"change": change}).text(system)


def sources(build: Build) -> Shown:
    """Where the numbers of this lesson come from, with their status."""
    squish, marks = clearances.SQUISH_STATUS, clearances.RING_MARK_STATUS
    return TEXT.shown("sources", locals())


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("08")
answer = EXERCISES.answer


@EXERCISES.solver("volume")
def _(build: Build, system: str) -> Names:
    g, more = build.gasket, MORE[system]
    thick = g.compressed_thickness + more
    box = BOX * thick
    found = _thicker(build, more)
    return locals()


@EXERCISES.solver("lower")
def _(build: Build, system: str) -> Names:
    g, ratio, swept = build.gasket, build.compression_ratio, analysis.volumes_of(build).swept
    wanted = ratio - 0.5
    more = float(clearances.thickness_for_ratio.si(swept, ratio, wanted, g.bore))
    area = float(clearances.gasket_volume.si(g.bore, 1.0))
    found = _thicker(build, more)
    usual = _usual(found)
    return locals()


@EXERCISES.solver("squish")
def _(build: Build, system: str) -> Names:
    fit = analysis.fit_of(build)
    cut, more, off = DECKED[system], MORE[system], CUT[system]
    squish = float(clearances.squish.si(fit.thickness + more, fit.deck - cut))
    known = build.engine.chamber is not None
    flush = "" if known else " (taken; the sheet does not say)"
    return locals()


@EXERCISES.solver("milled")
def _(build: Build, system: str) -> Names:
    off = CUT[system]
    found = find(build, cut=off)
    old, new = found.before.gas, found.after
    if old.charge.manifold_pressure != new.charge.manifold_pressure:
        right = "milling raises boost"
    else:
        higher = new.design_peak > old.design_peak
        right = "all with compression" if higher else "joint does not notice"
    rows = TEXT.rows("joint", _behind(found))
    return locals()


@EXERCISES.solver("knock")
def _(build: Build, system: str) -> Names:
    build = build.vary({"burn.timing": "fixed"})  # knock would take back what is compared
    found = _thicker(build, MORE[system])
    later, more = np.radians(4.0), MORE[system]  # CA50 later, to compare a gasket with
    retarded = build.vary_si({"burn.ca50": build.burn.ca50 + later})
    spark = analysis.gas_side(retarded).knock_integral
    start, now = found.before.gas.knock_integral, found.after.knock_integral
    if now >= start:
        right = "nothing at all"
    else:  # a cure would have to take more off than a small change of the spark
        right = "a little" if start - now < start - spark else "gasket as a cure"
    return locals()
