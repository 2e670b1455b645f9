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
from sealkit.classroom.drawing.shown import Shown, cells, source_table
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.lessons import lesson, tiles
from sealkit.classroom.panel.scene import Guess, Knob, Rows, Scene, Sentence
from sealkit.report import percent
from sealkit.sealing import clearances
from sealkit.units import from_si, show
from sealkit.words import Note, note

CHECKS = {
    "geometry": ["1.3-swept", "1.3-ratio", "1.4-swept", "1.4-ratio"],
    "clearances": ["E1-volume", "E1-ratio", "E3-9", "E3-11"],
}
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
    known = "" if build.engine.chamber is not None else " (0 taken)"
    lowest = max(fit.deck - 0.6e-3, -0.75 * thin)
    widest = min(1.06 * bore, build.gasket.seal_diameter)
    return (
        Knob("thickness", "Gasket, compressed", "length", fit.thickness, thin, thick),
        Knob("cut", "Cut off the head", "length", fit.cut, 0.0, 1e-3),
        Knob("deck", f"Piston below deck{known}", "length", fit.deck, lowest, fit.deck + 1e-3),
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


_SQUISH = {
    "risk": "risk of touch; usual",
    "tight": "tighter than the usual",
    "usual": "within the usual",
    "wide": "wider than the usual",
}


def _usual(found: Refit) -> Note:
    """Where the squish stands against the usual range, from memory."""
    low, high = ((end, "length") for end in clearances.SQUISH_USUAL)
    words = f"{_SQUISH[found.squish_is]} {{low}} to {{high}} {clearances.SQUISH_STATUS}"
    return note(words, low=low, high=high)


_SENTENCE = (
    "Compression {ratio before} on the sheet, {ratio} now. Squish {squish} cold and at rest "
    "({usual}); an allowance of {allowance} {leaves}. The design peak pressure is {peak}: a gas "
    "force of {force} on the head{change}."
)
_FLUSH = " The sheet gives no deck clearance: the piston was taken flush with the deck."


def _sentence(found: Refit, system: str) -> Sentence:
    gap, change = found.gap, found.force - found.before.force
    touches, running = bool(gap.touches), float(gap.running)
    leaves = "runs {gap} into the head" if touches else "leaves {gap} at speed"
    same = abs(change) <= 1e-6 * found.before.force
    words = note(
        _SENTENCE if found.deck_known else _SENTENCE + _FLUSH,
        **_before_after(found, "ratio"),
        squish=(float(gap.squish), "length"),
        usual=_usual(found),
        allowance=(found.allowance, "length"),
        leaves=note(leaves, gap=(abs(running), "length")),
        peak=(found.after.design_peak, "pressure"),
        force=(found.force, "force"),
        change="" if same else note(", {by} against the sheet", by=_by(change, "force")),
    ).text(system)
    line = "piston to head at speed."
    knocks = float(found.after.knock_integral) >= 1.0
    word, good = "CLEAR, BUT KNOCK WARNING" if knocks else "CLEAR", None if knocks else True
    if found.squish_is == "risk":
        word, good = "RISK OF TOUCH", None
    if touches:
        word, good = "TOUCHES", False
    return Sentence(word, words, good, show(running, "length", system), line)


def _before_after(found: Refit, *names: str) -> dict[str, Figure]:
    """Figures on the sheet ("ratio before") and now ("ratio"), plain numbers with two decimals."""
    out: dict[str, Figure] = {}
    for name in names:
        kind, *both = found.sides[name]
        for words, value in zip((f"{name} before", name), both, strict=True):
            out[words] = (value, kind, 2) if kind == "number" else (value, kind)
    return out


# --------------------------------------------------------------------------- tables
_JOINT = "What the joint gets"
_ROWS = {
    "Volume, compression and clearance": {
        "volume above the piston": "clearance",
        "of it in the gasket's opening": "gasket",
        "compression ratio": "ratio",
        "squish, cold and at rest": "squish",
        "the same at speed": "running",
    },
    _JOINT: {
        "boost": "boost",
        "peak of the average cycle": "mean peak",
        "design peak pressure": "design peak",
        "gas force on the head": "force",
        "knock integral (limit 1)": "knock",
        "power (estimate)": "power",
    },
}


def _rows(found: Refit, caption: str) -> list[dict[str, Figure]]:
    """A table of what is on the sheet and what is now, with the change."""
    rows: list[dict[str, Figure]] = []
    for what, name in _ROWS[caption].items():
        kind, before, now = found.sides[name]
        change = _by(now - before, kind)
        rows.append(
            {"what": what, "on the sheet": (before, kind), "now": (now, kind), "change": change}
        )
    return rows


def _tables(found: Refit, system: str) -> Mapping[str, Rows]:
    return {caption: cells(_rows(found, caption), system) for caption in _ROWS}


def _clean_up(_: Build, found: Refit, system: str) -> Mapping[str, Rows]:
    """What a pass over ring marks does, on the head and on the deck."""
    known, bore = analysis.volumes_of(found.build), found.build.engine.bore
    rows: list[dict[str, Figure]] = []
    for face in ("head", "deck"):
        out = clearances.clean_up.si(known.swept, known.clearance, bore, face=face)
        seen = [w for w, s in (("burette", out.volume_seen), ("gauge", out.pressure_seen)) if s]
        rows.append(
            {
                "face": face,
                "cut": (out.cut, "lift"),
                "volume": _by(float(out.volume_change), "volume"),
                "compression": note(
                    "{before} to {after}",
                    before=(found.build.compression_ratio, "number", 2),
                    after=(out.compression_ratio, "number", 2),
                ),
                "squish": _by(float(out.squish_change), "lift"),
                "compression pressure": percent(float(out.pressure_change)),
                "shown by": " and ".join(seen) or "neither burette nor gauge",
            }
        )
    caption = f"A clean-up pass over ring marks (depth: {clearances.RING_MARK_STATUS})"
    return {caption: cells(rows, system)}


def _joint(_: Build, found: Refit, system: str) -> Mapping[str, Rows]:
    """The whole joint on the sheet and now."""
    cases = {"as on the sheet": found.sheet, "now": found.build}
    rows = [{"case": words, **lesson.result(reports.run(build))} for words, build in cases.items()]
    return {"The whole joint": cells(rows, system)}


def picture(found: Refit | Build, system: str = "metric") -> Shown:
    """The section at top dead centre, from the engine's own numbers."""
    return Shown(*section(find(found) if isinstance(found, Build) else found, system))


def _question(found: Refit) -> Note:
    return note(
        "The gasket is {thick} thick, the design peak {peak}. How low does one of {most} bring it?",
        thick=(found.fit.thickness, "length"),
        peak=(found.after.design_peak, "pressure"),
        most=(float(found.thickness[-1]), "length"),
    )


def _why(found: Refit) -> Note:
    return note("Compression falls to {ratio} there.", ratio=(float(found.ratio[-1]), "number", 2))


SCENE = Scene(
    name="thickness",
    words="Compression ratio and peak pressure against compressed gasket thickness, and the gap "
    "between piston and head against crank angle",
    knobs=_knobs,
    work=lambda build, free: find(build, **{name: float(x) for name, x in free.items()}),
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    scope="piston to head, and knock of the mean cycle",
    tiles=tiles.thickness,
    drawing=lambda found, system: section(found, system)[0],
    buttons={"Take ring marks off a face": _clean_up, "What it does to the whole joint": _joint},
    kept=lambda _, found: found.build,
    guess=Guess(_question, "design", "least", "pressure", why=_why),
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
    return note(
        "the panel: {ratio}; squish {squish}; gas force {change} of {before}",
        ratio=(found.build.compression_ratio, "number", 3),
        squish=(float(found.gap.squish), "length"),
        change=_by(found.force - found.before.force, "force"),
        before=(found.before.force, "force"),
    ).text(system)


def sources(build: Build) -> Shown:
    """Where the numbers of this lesson come from, with their status."""
    summed, shop = "sums of volumes and lengths; no number from outside", "shop rule"
    rows = [
        ("volumes, ratio, squish", "computed", summed),
        ("usual squish, risk of touch", clearances.SQUISH_STATUS, "none"),
        ("depth of ring marks", clearances.RING_MARK_STATUS, shop),
        ("what burette and gauge show", "from memory", "none"),
        ("allowance at speed, thicknesses and cuts of the exercises", "invented", "this lesson"),
        ("engine and gasket", build.sheet.status, "the build sheet"),
    ]
    return source_table("Sources of the clearances", rows)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("08")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("volume")
def _(build: Build, system: str) -> Names:
    g, more = build.gasket, MORE[system]
    thick = g.compressed_thickness + more
    box = BOX * thick
    figures = _before_after(_thicker(build, more), "ratio")
    return locals()


@EXERCISES.solver("lower")
def _(build: Build, system: str) -> Names:
    g, ratio, swept = build.gasket, build.compression_ratio, analysis.volumes_of(build).swept
    wanted = ratio - 0.5
    more = float(clearances.thickness_for_ratio.si(swept, ratio, wanted, g.bore))
    area = float(clearances.gasket_volume.si(g.bore, 1.0))
    found = _thicker(build, more)
    usual = _usual(found)
    figures = _before_after(found, "squish", "force")
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
    figures = _before_after(found, "ratio", "design peak", "force")
    rows = _rows(found, _JOINT)
    return locals()


_LATER = np.radians(4.0)  # CA50 later, to compare a gasket with


@EXERCISES.solver("knock")
def _(build: Build, system: str) -> Names:
    build = build.vary({"burn.timing": "fixed"})  # knock would take back what is compared
    found = _thicker(build, MORE[system])
    later, more = _LATER, MORE[system]
    retarded = build.vary_si({"burn.ca50": build.burn.ca50 + later})
    spark = analysis.gas_side(retarded).knock_integral
    start, now = found.before.gas.knock_integral, found.after.knock_integral
    if now >= start:
        right = "nothing at all"
    else:  # a cure would have to take more off than a small change of the spark
        right = "a little" if start - now < start - spark else "gasket as a cure"
    figures = _before_after(found, "knock", "ratio")
    return locals()
