"""Lesson 08, thickness, compression and clearance: its panel, its picture, and the questions."""

from __future__ import annotations

import dataclasses
import functools
import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis
from sealkit import report as reports
from sealkit.analysis import Gas
from sealkit.build import Build
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown, cells, html_table, plain_table
from sealkit.classroom.homework.questions import Exercises, Solved
from sealkit.classroom.lessons import lesson
from sealkit.classroom.panel.scene import Free, Knob, Rows, Scene, Sentence
from sealkit.pressure import geometry
from sealkit.sealing import clearances
from sealkit.units import from_si, show, show_unit, show_value

Array = NDArray[np.float64]

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
_ANGLES = (-16.0, 16.0)
_POINTS = 3


@dataclass(frozen=True)
class Found:
    """A build with another gasket and cuts, beside the build as its sheet has it.

    Parameters
    ----------
    sheet : as the sheet has it
    build : with the changes
    before, after : gas side of the two
    area : inside the combustion seal, m**2
    cut : taken off the head, m
    deck : deck clearance now, m
    known : whether the sheet has a deck clearance; else the piston is taken flush with the deck
    gap : clearances at top dead centre
    allowance : for stretch, play and rock at speed, m
    thickness, ratio, sized : the lines over compressed thickness
    """

    sheet: Build
    build: Build
    before: Gas
    after: Gas
    area: float
    cut: float
    deck: float
    known: bool
    gap: clearances.Clearance
    allowance: float
    thickness: Array
    ratio: Array
    sized: Array

    @property
    def push(self) -> tuple[float, float]:
        """Force of the gas on the head before and after, N."""
        one, two = (g.design_gauge * self.area for g in (self.before, self.after))
        return one, two


# --------------------------------------------------------------------------- knobs and work
def deck_of(build: Build) -> float:
    """Deck clearance on the sheet, m; flush where the sheet gives a ratio and no volumes."""
    return build.engine.chamber.deck_clearance if build.engine.chamber is not None else 0.0


def _knobs(build: Build) -> Sequence[Knob]:
    thick, deck, opening = build.gasket.compressed_thickness, deck_of(build), build.gasket.bore
    least = 0.5 * thick
    known = "" if build.engine.chamber is not None else " (0 taken)"
    widest = min(1.06 * build.engine.bore, build.gasket.seal_diameter)
    return (
        Knob("thickness", "Gasket, compressed", "length", thick, least, thick + 1e-3),
        Knob("cut", "Cut off the head", "length", 0.0, 0.0, 1e-3),
        Knob(
            "deck",
            f"Piston below deck{known}",
            "length",
            deck,
            max(deck - 0.6e-3, -0.75 * least),
            deck + 1e-3,
        ),
        Knob("opening", "Opening of the gasket", "length", opening, build.engine.bore, widest),
        Knob("allowance", "Stretch, play, rock", "length", ALLOWANCE, 0.0, 1e-3),
    )


def swept(build: Build) -> float:
    """Swept volume of one cylinder, m**3."""
    return float(geometry.swept_volume.si(build.engine.bore, build.engine.stroke))


def volume_change(build: Build, thickness: float, cut: float, deck: float, opening: float) -> float:
    """Change of the volume above the piston against the sheet, m**3.

    The chamber is taken as wide as the bore at the face, the most that a cut can take.
    """
    g, bore = build.gasket, build.engine.bore
    gasket = clearances.gasket_volume.si
    return float(
        gasket(opening, thickness)
        - gasket(g.bore, g.compressed_thickness)
        + gasket(bore, deck - deck_of(build))
        - gasket(bore, cut)
    )


def ratio_of(build: Build, thickness: float, cut: float, deck: float, opening: float) -> float:
    """Compression ratio with another gasket and cuts."""
    e = build.engine
    clearance = geometry.clearance_volume.si(e.bore, e.stroke, build.compression_ratio)
    change = volume_change(build, thickness, cut, deck, opening)
    return float(clearances.changed_compression_ratio.si(swept(build), clearance, change))


def changed(build: Build, thickness: float, cut: float, deck: float, opening: float) -> Build:
    """The build with another gasket and cuts, on its volumes where it has them.

    Raises
    ------
    InputError
        where no volume is left, or the sheet cannot take it.
    """
    changes: dict[str, Any] = {
        "gasket.compressed_thickness": from_si(thickness, "length"),
        "gasket.bore": from_si(opening, "length"),
    }
    c = build.engine.chamber
    if c is not None:
        less = float(clearances.gasket_volume.si(build.engine.bore, cut))
        changes |= {
            "engine.chamber.chamber_volume": from_si(c.chamber_volume - less, "volume"),
            "engine.chamber.deck_clearance": from_si(deck, "length"),
        }
    else:
        changes["engine.compression_ratio"] = ratio_of(build, thickness, cut, deck, opening)
    return build.vary(changes)


def _gas_at(build: Build, ratio: float) -> Gas:
    engine = dataclasses.replace(build.engine, compression_ratio=ratio, chamber=None)
    return analysis.gas_side(dataclasses.replace(build, engine=engine))


def _work(build: Build, free: Free) -> Found:
    thick, cut, deck, opening = (float(free[k]) for k in ("thickness", "cut", "deck", "opening"))
    allowance = float(free["allowance"])
    now = changed(build, thick, cut, deck, opening)
    after = analysis.gas_side(now)
    knob = _knobs(build)[0]
    line = np.linspace(knob.low, knob.high, _POINTS)
    ratios = [ratio_of(build, t, cut, deck, opening) for t in line]
    sized = [_gas_at(build, r).design_peak for r in ratios]
    # the line goes through the point that is set
    place = int(np.searchsorted(line, thick))
    return Found(
        sheet=build,
        build=now,
        before=_before(build),
        after=after,
        area=analysis.clamp_side(build, analysis.gasket_of(build))[1].gas_area,
        cut=cut,
        deck=deck,
        known=build.engine.chamber is not None,
        gap=clearances.clearance.si(thick, deck, allowance),
        allowance=allowance,
        thickness=np.insert(line, place, thick),
        ratio=np.insert(ratios, place, now.compression_ratio),
        sized=np.insert(sized, place, after.design_peak),
    )


@functools.lru_cache(maxsize=4)
def _before(build: Build) -> Gas:
    """Gas side of the sheet, kept, since it does not change while sliders move."""
    return analysis.gas_side(build)


def find(build: Build, **own: float) -> Found:
    """What the panel shows with these settings (plain SI); the sheet's where none is given."""
    return _work(build, {k.path: k.value for k in _knobs(build)} | own)


# --------------------------------------------------------------------------- charts
def _data(found: Found, system: str) -> dict[str, dict[str, Array]]:
    """x and y of every line in the shop's units."""

    def shown(values: Any, kind: str) -> Array:
        return np.atleast_1d(np.asarray(show_value(values, kind, system), dtype=float))

    e, thick = found.build.engine, found.build.gasket.compressed_thickness
    degrees = np.linspace(*_ANGLES, 33)
    down = geometry.piston_position.si(np.radians(degrees), e.stroke, e.rod_length)
    x, ends = shown(found.thickness, "length"), np.array(_ANGLES)
    low, high = clearances.SQUISH_USUAL
    return {
        "ratio": {"x": x, "y": found.ratio},
        "ratio now": {"x": shown(thick, "length"), "y": np.array([found.build.compression_ratio])},
        "sized": {"x": x, "y": shown(found.sized, "pressure")},
        "sized now": {
            "x": shown(thick, "length"),
            "y": shown(found.after.design_peak, "pressure"),
        },
        "sheet": {
            "x": x[[0, -1]],
            "y": shown(np.full(2, found.before.design_peak), "pressure"),
        },
        "rest": {"x": degrees, "y": shown(found.gap.squish + down, "length")},
        "speed": {"x": degrees, "y": shown(found.gap.running + down, "length")},
        "usual low": {"x": ends, "y": shown(np.full(2, low), "length")},
        "usual high": {"x": ends, "y": shown(np.full(2, high), "length")},
    }


def _traces(found: Found, system: str) -> list[dict[str, Any]]:
    data = _data(found, system)
    first = float(data["ratio"]["x"][0])
    words: dict[str, tuple[Any, ...]] = {
        # label, colour, chart, dash, x of the label, its place, level, markers
        "ratio": ("ratio", "strength", 0, "solid", None, "top right", False, False),
        "ratio now": ("now", "strength", 0, "solid", 0.0, "top right", False, True),
        "sized": ("sized on", "pressure", 1, "solid", None, "top right", False, False),
        "sheet": ("as on the sheet", "pressure", 1, "dash", first, "bottom right", True, False),
        "sized now": ("now", "pressure", 1, "solid", 0.0, "top right", False, True),
        "rest": ("at rest", "clamp", 2, "solid", -11.0, "top right", False, False),
        "speed": ("at speed", "gas load", 2, "dash", 6.0, "bottom right", False, False),
        "usual low": ("usual from", "strength", 2, "dot", -16.0, "bottom right", True, False),
        "usual high": ("usual to", "strength", 2, "dashdot", 0.0, "top center", True, False),
    }
    return [
        draw.line(
            key, label, colour, data[key]["x"], data[key]["y"], chart, dash, at, place, level, mark
        )
        for key, (label, colour, chart, dash, at, place, level, mark) in words.items()
    ]


def _layout(all_found: Sequence[Found], system: str) -> dict[str, Any]:
    every = [_data(f, system) for f in all_found]

    def values(*keys: str) -> list[Array]:
        return [d[k]["y"] for d in every for k in keys]

    length = show_unit("length", system)
    wide = draw.span(every[0]["ratio"]["x"], zero=False, room=0.04)
    gaps = draw.span(*values("rest", "speed", "usual high"))
    made = [
        draw.Chart(
            "Compression ratio",
            draw.span(*values("ratio", "ratio now"), zero=False),
            wide,
            f"Compressed thickness of the gasket, {length}",
        ),
        draw.Chart(
            f"Joint sized on, {show_unit('pressure', system)} absolute",
            draw.span(*values("sized", "sized now", "sheet"), zero=False, room=0.2),
            wide,
            f"Compressed thickness of the gasket, {length}",
        ),
        draw.Chart(
            f"Piston to head, {length}",
            gaps,
            _ANGLES,
            "Crank angle, ° after firing top dead centre",
            4,
        ),
    ]
    return draw.layout(made, 940)


def _values(found: Found, system: str) -> Values:
    data = _data(found, system)
    over_thickness = ("ratio", "ratio now", "sized", "sized now")
    return {
        k: {n: d[n] for n in (("x", "y") if k in over_thickness else ("y",))}
        for k, d in data.items()
    }


# --------------------------------------------------------------------------- words
def _signed(value: float, kind: str, system: str) -> str:
    return ("+" if value >= 0 else "−") + show(abs(value), kind, system)


def _sentence(found: Found, system: str) -> Sentence:
    touch = bool(found.gap.touches)
    risk = float(found.gap.squish) < clearances.SQUISH_TOUCH
    before, after = found.push
    more = f", {_signed(after - before, 'force', system)} against the sheet"
    running, flush = float(found.gap.running), ""
    if not found.known:
        flush = " The sheet gives no deck clearance: the piston was taken flush with the deck."
    if touch:
        left = f"runs {show(-running, 'length', system)} into the head"
    else:
        left = f"leaves {show(running, 'length', system)} at speed"
    words = (
        f"Compression {found.sheet.compression_ratio:.2f} on the sheet, "
        f"{found.build.compression_ratio:.2f} now. Squish "
        f"{show(found.gap.squish, 'length', system)} cold and at rest "
        f"({_usual(found, system)}); an allowance of "
        f"{show(found.allowance, 'length', system)} {left}. The joint is sized on "
        f"{show(found.after.design_peak, 'pressure', system)}: push "
        f"{show(after, 'force', system)}{more if abs(after - before) > 1e-6 * before else ''}."
        f"{flush}"
    )
    if touch:
        return Sentence("TOUCHES", words, False)
    return Sentence("RISK OF TOUCH", words, None) if risk else Sentence("CLEAR", words, True)


def _usual(found: Found, system: str) -> str:
    """Where the squish stands against the usual range, from memory."""
    low, high = clearances.SQUISH_USUAL
    ends = f"{show(low, 'length', system)} to {show(high, 'length', system)} from memory"
    squish = float(found.gap.squish)
    if squish < clearances.SQUISH_TOUCH:
        return f"risk of touch; usual {ends}"
    if squish < low:
        return f"tighter than the usual {ends}"
    return f"{'within' if squish <= high else 'wider than'} the usual {ends}"


def _tables(found: Found, system: str) -> Mapping[str, Rows]:
    old, new = found.sheet, found.build
    before, after = found.push

    def row(what: str, kind: str, a: float, b: float) -> dict[str, str]:
        return {
            "what": what,
            "on the sheet": show(a, kind, system),
            "now": show(b, kind, system),
            "change": _signed(b - a, kind, system) if abs(b - a) > 1e-12 else "none",
        }

    def volume(build: Build) -> float:
        e = build.engine
        return float(geometry.clearance_volume.si(e.bore, e.stroke, build.compression_ratio))

    def gasket(build: Build) -> float:
        g = build.gasket
        return float(clearances.gasket_volume.si(g.bore, g.compressed_thickness))

    still = float(clearances.squish.si(old.gasket.compressed_thickness, deck_of(old)))
    ratio = row("compression ratio", "number", old.compression_ratio, new.compression_ratio)
    gas, now = found.before, found.after
    return {
        "Volume, compression and clearance": [
            row("volume above the piston", "volume", volume(old), volume(new)),
            row("of it in the gasket's opening", "volume", gasket(old), gasket(new)),
            ratio,
            row("squish, cold and at rest", "length", still, float(found.gap.squish)),
            row("the same at speed", "length", still - found.allowance, float(found.gap.running)),
        ],
        "What the joint gets": [
            row(
                "boost",
                "gauge pressure",
                old.charge.boost,
                new.charge.boost,
            ),
            row("peak of the average cycle", "pressure", gas.mean_peak, now.mean_peak),
            row("peak the joint is sized on", "pressure", gas.design_peak, now.design_peak),
            row("push on the head", "force", before, after),
            row("knock integral (limit 1)", "number", gas.knock_integral, now.knock_integral),
            row("power (estimate)", "power", gas.brake_power, now.brake_power),
        ],
    }


def _clean_up(_: Build, found: Found, system: str) -> Mapping[str, Rows]:
    """What a pass over ring marks does, on the head and on the deck."""
    e = found.build.engine
    volume = float(geometry.clearance_volume.si(e.bore, e.stroke, found.build.compression_ratio))
    rows: Rows = []
    for face in ("head", "deck"):
        out = clearances.clean_up.si(swept(found.build), volume, e.bore, face=face)
        seen = [w for w, s in (("burette", out.volume_seen), ("gauge", out.pressure_seen)) if s]
        rows.append(
            {
                "face": face,
                "cut": show(out.cut, "lift", system),
                "volume": _signed(float(out.volume_change), "volume", system),
                "compression": f"{out.compression_ratio - out.ratio_change:.2f} to "
                f"{out.compression_ratio:.2f}",
                "squish": _signed(float(out.squish_change), "lift", system),
                "compression pressure": f"{100 * out.pressure_change:+.1f} %",
                "shown by": " and ".join(seen) or "neither burette nor gauge",
            }
        )
    return {"A clean-up pass over ring marks (depth: common practice, no source)": rows}


def _joint(_: Build, found: Found, system: str) -> Mapping[str, Rows]:
    """The whole joint on the sheet and now."""
    cases = {"as on the sheet": found.sheet, "now": found.build}
    rows = [{"case": words, **lesson.result(reports.run(build))} for words, build in cases.items()]
    return {"The whole joint": cells(rows, system)}


# --------------------------------------------------------------------------- the picture
def _drawing(found: Found, system: str) -> str:
    """Section at top dead centre: piston, gasket and head with the gaps between them."""
    thick, deck = found.build.gasket.compressed_thickness, found.deck
    step = max(found.build.gasket.bore - found.build.engine.bore, 0.0) / 2
    # 60 px for a millimetre, less where that would leave the page
    scale = min(60e3, 130.0 / max(thick + abs(deck), 1e-6))
    face = 150.0  # of the head
    top = face + scale * thick  # of the deck
    crown = top + scale * deck
    tall, wide = 330.0, 640.0
    wall = 380.0
    edge = min(wall + scale * step, wall + 90.0)
    inside = show(found.gap.squish, "length", system)
    rest = f"squish {inside}"
    speed = f"at speed {show(found.gap.running, 'length', system)}"
    gasket = f"gasket {show(thick, 'length', system)}"
    low = f"piston {show(abs(deck), 'length', system)} {'below' if deck >= 0 else 'above'} the deck"
    alt = (
        f"Section at top dead centre. {gasket[0].upper()}{gasket[1:]} compressed, {low}, {rest} "
        f"cold and at rest, {speed}. The opening of the gasket stands back from the cylinder wall "
        f"by {show(step, 'length', system)}."
    )
    orange, green = COLOURS["gas load"], COLOURS["clamp"]
    shapes = [
        f"<rect x='0' y='0' width='{wide}' height='{tall}' fill='#fff'/>",
        # head with its chamber
        f"<path d='M8,30 H632 V{face} H250 Q180,60 110,60 H8 Z' fill='#e3e7ea' stroke='#333'/>",
        f"<rect x='{wall}' y='{top:.1f}' width='{632 - wall}' height='{tall - 14 - top:.1f}' "
        "fill='#c9ced3' stroke='#333'/>",
        f"<rect x='{edge:.1f}' y='{face}' width='{632 - edge:.1f}' height='{top - face:.1f}' "
        "fill='#f0e2b6' stroke='#333'/>",
        f"<rect x='8' y='{crown:.1f}' width='{wall - 14}' height='{tall - 14 - crown:.1f}' "
        "fill='#d8d2c4' stroke='#333'/>",
        f"<path d='M290,{face} V{crown:.1f} M283,{face} H297 M283,{crown:.1f} H297' "
        f"stroke='{green}' stroke-width='3'/>",
        "<text x='20' y='52'>cylinder head</text>",
        f"<text x='20' y='{tall - 28}'>piston</text>",
        f"<text x='{wall + 14}' y='{tall - 28}'>block</text>",
        f"<text x='620' y='{face - 12}' text-anchor='end'>{gasket}</text>",
        f"<text x='20' y='{crown + 26:.1f}'>{rest} at rest</text>",
        f"<text x='20' y='{crown + 52:.1f}' fill='{orange}'>{speed}</text>",
    ]
    return (
        "<figure style='margin:0;max-width:600px'>"
        f"<svg viewBox='0 0 {wide:.0f} {tall:.0f}' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(alt, quote=True)}' font-family='sans-serif' font-size='22' "
        f"fill='#111'><title>{html.escape(alt)}</title>{''.join(shapes)}</svg>"
        "<figcaption style='font-size:14px;line-height:1.35'>"
        f"{html.escape(low[0].upper() + low[1:])}. Gaps to one scale, all else not; the shape of "
        "the chamber is only sketched.</figcaption></figure>"
    )


def picture(found: Found | Build, system: str = "metric") -> Shown:
    """The section at top dead centre, from the engine's own numbers."""
    one = find(found) if isinstance(found, Build) else found
    made = _drawing(one, system)
    words = html.unescape(made.split("<title>")[1].split("</title>")[0])
    return Shown(made, words)


SCENE = Scene(
    name="thickness",
    words="Compression ratio and peak pressure against compressed gasket thickness, and the gap "
    "between piston and head against crank angle",
    knobs=_knobs,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    buttons={
        "Take ring marks off a face": _clean_up,
        "What it does to the whole joint": _joint,
    },
    kept=lambda _, found: found.build,
)


# --------------------------------------------------------------------------- worked by hand
def parts(build: Build) -> tuple[Any, Any, Any]:
    """(swept volume, opening of the gasket, thicker by) of the hand calculation."""
    more = from_si(MORE[build.system], "length")
    return from_si(swept(build), "volume"), build.get("gasket.bore"), more


def told(build: Build, system: str = "metric") -> str:
    """What the panel has for the hand calculation, and what it means for the joint."""
    found = find(build, thickness=build.gasket.compressed_thickness + MORE[build.system])
    before, after = found.push
    return (
        f"the panel: {found.build.compression_ratio:.3f}; squish "
        f"{show(found.gap.squish, 'length', system)}; push "
        f"{_signed(after - before, 'force', system)} of {show(before, 'force', system)}"
    )


def sources(build: Build) -> Shown:
    """Where the numbers of this lesson come from, with their status."""
    rows = [
        {
            "what": "volumes, ratio, squish",
            "status": "computed",
            "source": "sums of volumes and lengths; no number from outside",
        },
        {
            "what": "usual squish, risk of touch",
            "status": clearances.SQUISH_STATUS,
            "source": "none",
        },
        {
            "what": "depth of ring marks",
            "status": clearances.RING_MARK_STATUS,
            "source": "shop rule",
        },
        {
            "what": "what burette and gauge show",
            "status": "from memory",
            "source": "none",
        },
        {
            "what": "allowance at speed, thicknesses and cuts of the exercises",
            "status": "invented",
            "source": "this lesson",
        },
        {"what": "engine and gasket", "status": build.sheet.status, "source": "the build sheet"},
    ]
    return Shown(html_table("Sources of the clearances", rows), plain_table(rows))


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("08")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("volume")
def _(build: Build, system: str) -> Solved:
    g, e, more = build.gasket, build.engine, MORE[system]
    thick = g.compressed_thickness + more
    box = BOX * thick
    volume = clearances.gasket_volume.si
    added, boxed = float(volume(g.bore, more)), float(volume(g.bore, box - g.compressed_thickness))
    return Solved(
        added,
        {
            "uncompressed thickness": boxed,
            "diameter for radius": 4.0 * added,
            "whole gasket": volume(g.bore, thick),
            "bore for gasket bore": volume(e.bore, more),
        },
        {
            "now": (g.compressed_thickness, "length"),
            "opening": (g.bore, "length"),
            "bore": (e.bore, "length"),
            "box": (box, "length"),
            "thick": (thick, "length"),
            "more": (more, "length"),
            "before": (build.compression_ratio, "number", 2),
            "after": (find(build, thickness=thick).build.compression_ratio, "number", 2),
            "boxed": (boxed, "volume"),
        },
    )


@EXERCISES.solver("lower")
def _(build: Build, system: str) -> Solved:
    g, ratio = build.gasket, build.compression_ratio
    wanted = ratio - 0.5
    more = float(clearances.thickness_for_ratio.si(swept(build), ratio, wanted, g.bore))
    area = float(clearances.gasket_volume.si(g.bore, 1.0))
    found = find(build, thickness=g.compressed_thickness + more)
    before, after = found.push
    return Solved(
        more,
        {
            "ratio without less one": swept(build) * (1.0 / wanted - 1.0 / ratio) / area,
            "whole thickness": g.compressed_thickness + more,
            "diameter for radius": more / 4.0,
        },
        {
            "ratio": (ratio, "number", 2),
            "opening": (g.bore, "length"),
            "swept": (swept(build), "volume"),
            "wanted": (wanted, "number", 2),
            "squish before": (found.gap.squish - more, "length"),
            "squish": (found.gap.squish, "length"),
            "usual": _usual(found, system),
            "push before": (before, "force"),
            "push": (after, "force"),
        },
    )


@EXERCISES.solver("squish")
def _(build: Build, system: str) -> Solved:
    thick, deck = build.gasket.compressed_thickness, deck_of(build)
    cut, more, off = DECKED[system], MORE[system], CUT[system]
    squish = float(clearances.squish.si(thick + more, deck - cut))
    known = build.engine.chamber is not None
    return Solved(
        squish,
        {
            "head cut counted": squish - off,
            "cut the wrong way": squish + 2 * cut,
            "change only": more - cut,
        },
        {
            "thick": (thick, "length"),
            "deck": (deck, "length"),
            "flush": "" if known else " (taken; the sheet does not say)",
            "cut": (cut, "length"),
            "off": (off, "length"),
            "more": (more, "length"),
        },
    )


@EXERCISES.solver("milled")
def _(build: Build, system: str) -> Solved:
    off = CUT[system]
    found = find(build, cut=off)
    same = found.after.charge.manifold_pressure == found.before.charge.manifold_pressure
    higher = found.after.design_peak > found.before.design_peak
    if same:
        right = "all with compression" if higher else "joint does not notice"
    else:
        right = "milling raises boost"
    before, after = found.push
    return Solved(
        right,
        figures={
            "off": (off, "length"),
            "boost": (build.charge.boost, "gauge pressure"),
            "ratio before": (build.compression_ratio, "number", 2),
            "ratio": (found.build.compression_ratio, "number", 2),
            "peak before": (found.before.design_peak, "pressure"),
            "peak": (found.after.design_peak, "pressure"),
            "push before": (before, "force"),
            "push": (after, "force"),
        },
        rows=_tables(found, system)["What the joint gets"],
    )


_LATER = np.radians(4.0)  # CA50 later, to compare a gasket with


@EXERCISES.solver("knock")
def _(build: Build, system: str) -> Solved:
    more = MORE[system]
    thicker = find(build, thickness=build.gasket.compressed_thickness + more)
    later = from_si(build.burn.ca50 + _LATER, "angle")
    spark = analysis.gas_side(build.vary({"burn.ca50": later})).knock_integral
    start, now = thicker.before.knock_integral, thicker.after.knock_integral
    if now >= start:
        right = "nothing at all"
    else:  # a cure would have to take more off than a small change of the spark
        right = "a little" if start - now < start - spark else "gasket as a cure"
    return Solved(
        right,
        figures={
            "more": (more, "length"),
            "start": (start, "number", 2),
            "now": (now, "number", 2),
            "ratio before": (build.compression_ratio, "number", 2),
            "ratio": (thicker.build.compression_ratio, "number", 2),
            "later": (_LATER, "angle", 0),
            "spark": (spark, "number", 2),
            "squish": (thicker.gap.squish, "length"),
        },
    )
