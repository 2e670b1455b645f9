"""Lesson 05, where the clamp goes on the deck: its panel, its picture, questions and answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis
from sealkit.build import Build
from sealkit.classroom.drawing import deck_map
from sealkit.classroom.drawing.deck_map import LIFT, PRESSURE, DeckView
from sealkit.classroom.drawing.shown import Shown, cells, source_table
from sealkit.classroom.homework.questions import Exercises, Figure, Solved
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.report import percent, ranking
from sealkit.sealing.deck import layout as places
from sealkit.units import from_si, parse, show, show_unit, show_value, to_si
from sealkit.words import Note, note

Array = NDArray[np.float64]

CHECKS = {
    "deck": [
        "square-uniform",
        "square-centre",
        "clamped-centre-edge",
        "circle-clamped",
        "circle-supported",
        "foundation-100-centre",
        "foundation-10000-uniform",
    ]
}
NONE = "none, as assembled"
HARD = "fibre body with steel ring"
_COAT = 30e-6  # m, the most that the knob adds or takes away
_EVEN = 0.01  # share by which a load may differ round a bore before its least place says anything
_NEARLY = 0.05  # share by which a load may differ over the deck and still be told as even
_THICKER = 1.2
_MISSING = 20e-6  # m


def find(
    build: Build, coat: float = 0.0, fired: int | None = None, field: str = PRESSURE
) -> DeckView:
    """The deck of a build as `sealkit.analysis.deck_look` finds it."""
    return DeckView(**vars(analysis.deck_look(build, coat, fired)), field=field)


# --------------------------------------------------------------------------- the panel
def _knobs(build: Build) -> Sequence[Knob]:
    now, path = build.plate_thickness, "deck.effective_thickness"
    return (
        controls.tightening(build),
        controls.boost(build),
        controls.sheet(path, "Head as a plate", "length", now, 0.6 * now, 1.6 * now),
        Knob("coat", "Extra coat at the patch", "lift", 0.0, -_COAT, _COAT),
    )


def _fires(number: int) -> str:
    return f"cylinder {number + 1} at its peak"


def _picks(build: Build) -> Sequence[Pick]:
    count = build.bores_per_head if build.deck is None else len(build.layout.bores)
    fires = (NONE, *(_fires(i) for i in range(count)))
    return (
        controls.gasket(build),
        Pick("fired", "Gas", fires, fires[min(2, count)]),
        Pick("field", "Colours show", (PRESSURE, LIFT), PRESSURE),
    )


def _work(build: Build, free: Free) -> DeckView:
    chosen = str(free["fired"])
    fired = None if chosen == NONE else int(chosen.split()[1]) - 1
    return find(build, float(free["coat"]), fired, str(free["field"]))


_STANDING = (
    "As assembled at the low end of the preload the seal has its least load at {angle} of bore "
    "{bore}: {least}, where {wanted} are wanted to seat it. The average joint says {mean}."
)
_FIRED = (
    "With cylinder {cylinder} at {peak} the seal has its least margin at {angle} of bore {bore}: "
    "{least} left, {wanted} wanted. The average joint says {mean}. The head has risen by up to "
    "{lift} there since assembly."
)


def _sentence(found: DeckView, system: str) -> Sentence:
    weak, gas = found.state.weakest(), found.fired is not None
    words = note(
        _FIRED if gas else _STANDING,
        angle=(weak.angle, "angle", 0),
        bore=str(weak.bore + 1),
        least=(weak.load, found.kind),
        wanted=(found.wanted, found.kind),
        mean=(found.average, found.kind),
        cylinder=str((found.fired or 0) + 1),
        peak=(found.gas.design_peak, "pressure"),
        lift=(float(np.max(found.state.seal_lift(weak.bore)[1])), "lift"),
    )
    good = bool(weak.limit.holds)
    verdicts = ("GAS PASSES HERE", "SEALS ALL ROUND") if gas else ("DOES NOT SEAT", "SEATS")
    return Sentence(verdicts[good], words.text(system), good)


def _where(angle: Array, load: Array) -> Figure:
    """At which angle a load is least; a load that hardly differs has no such place."""
    if float(np.max(load)) <= (1.0 + _EVEN) * float(np.min(load)):
        return "even all round"
    return float(angle[int(np.argmin(load))]), "angle", 0


def _bores(found: DeckView) -> list[dict[str, Figure]]:
    """Every bore: least load as assembled and now, and at which angle."""
    rows: list[dict[str, Figure]] = []
    for bore in range(len(found.build.layout.bores)):
        angle, before = found.standing.line_load(bore)
        now = found.state.line_load(bore)[1]
        rows.append(
            {
                "bore": str(bore + 1),
                "least as assembled": (float(np.min(before)), found.kind),
                "at": _where(angle, before),
                "most as assembled": (float(np.max(before)), found.kind),
                "least now": (float(np.min(now)), found.kind),
                "at angle": _where(angle, now),
                "lift here": (float(np.max(found.state.seal_lift(bore)[1])), "lift"),
            }
        )
    return rows


def _holes(found: DeckView) -> list[dict[str, Figure]]:
    return [
        {
            "liquid hole": f"{h.name} ({h.fluid})",
            "least round it": (h.least, h.kind),
            "mean round it": (h.mean, h.kind),
            "of the zone's mean": (h.share, "fraction"),
        }
        for h in sorted(found.state.holes(), key=lambda h: h.share)
    ]


_LOBES = ("mean, pressed evenly", "pushed to one side", "oval", "three lobes", "four lobes")


def _orders(found: DeckView) -> list[dict[str, Figure]]:
    """What the clamp does to the shape of the bore, as a first estimate."""
    orders = found.standing.orders(found.bore)
    return [
        {
            "order": f"{int(k)} ({_LOBES[int(k)]})",
            "clamp of the gasket": (float(c), "line load"),
            "pull of the fasteners": (float(b), "line load"),
        }
        for k, c, b in zip(orders.order, orders.contact, orders.bolts, strict=True)
    ]


def _tables(found: DeckView, system: str) -> Mapping[str, Rows]:
    gas = "no gas" if found.fired is None else _fires(found.fired)
    round_ = (
        f"What pulls bore {found.bore + 1} out of round, by the number of lobes (a first estimate: "
        "how far the block gives way is not known)"
    )
    return {
        f"Seal round every bore ({gas})": cells(_bores(found), system),
        "Liquid holes, least load first": cells(_holes(found), system),
        round_: cells(_orders(found), system),
    }


def every_cylinder(build: Build, coat: float, system: str) -> Rows:
    """Each cylinder at its peak in turn: where its seal has least."""
    rows = []
    for i in range(len(build.layout.bores)):
        found = find(build, coat, i)
        weak = found.state.weakest()
        rows.append(
            {
                "at its peak": f"cylinder {i + 1}",
                "least left": (weak.load, found.kind),
                "at": (weak.angle, "angle", 0),
                "wanted": (found.wanted, found.kind),
                "margin": percent(weak.margin),
                "average joint": (found.average, found.kind),
            }
        )
    return cells(rows, system)


def _each(build: Build, found: DeckView, system: str) -> Mapping[str, Rows]:
    return {"Each cylinder at its peak in turn": every_cylinder(build, found.coat, system)}


def _numbers(found: DeckView, system: str) -> Mapping[str, Any]:
    """Load round every bore against the angle, as assembled and as shown."""
    unit = show_unit(found.kind, system)
    out: dict[str, Any] = {"angle, °": np.degrees(found.state.angle)}
    for bore in range(len(found.build.layout.bores)):
        for words, state in (("as assembled", found.standing), ("now", found.state)):
            load = show_value(state.line_load(bore)[1], found.kind, system)
            out[f"bore {bore + 1} {words}, {unit}"] = np.asarray(load)
    return out


SCENE = Scene(
    name="deck-map",
    words="The deck face from above with the pressure on the gasket in colours, and the load round "
    "one bore against the angle",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=deck_map.PICTURE,
    sentence=_sentence,
    tables=_tables,
    buttons={"Fire every cylinder in turn": _each},
    data=_numbers,
    ends=False,
)


# --------------------------------------------------------------------------- the cells
def picture(build: Build, system: str = "metric") -> Shown:
    """The deck from above, each fastener joined to the bores it stands round."""
    return Shown(*deck_map.sharing(build.layout))


_OF_HARD = (
    "{still}. This seal is hard against the head, so the pattern of the fasteners shows as soon as "
    "they are tight.\n{gas}."
)
_OF_SOFT = (
    "{still}, nearly the same everywhere. This seal is soft against the head: pressed a little "
    "more or less, it carries nearly the same, and that hides the pattern of the fasteners.\n"
    "{gas}: {shows}.\nA hard seal shows the pattern as assembled (choose the gasket {hard}, and no "
    "gas)."
)
_THIN = (
    "the head lifts more in one place than in another, most of all a thin one (move Head as a "
    "plate)"
)


def told(build: Build, system: str = "metric") -> str:
    """How evenly the seals are pressed, as assembled and with gas, and why, in words."""
    bore, still = analysis.middle_bore(build), find(build)
    low, high = analysis.load_span(still.state)
    gas_low, gas_high = analysis.load_span(find(build, fired=bore).state)
    kind = still.kind
    return note(
        _OF_HARD if high > (1.0 + _NEARLY) * low else _OF_SOFT,
        still=_carry("As assembled, the seals of all bores", low, high, kind, system),
        gas=_carry(f"With {_fires(bore)} they", gas_low, gas_high, kind, system),
        shows=_THIN if gas_high - gas_low > 5.0 * (high - low) else "even gas hardly changes that",
        hard=HARD,
    ).text(system)


def _carry(who: str, low: float, high: float, kind: str, system: str) -> Note:
    same = show(low, kind, system) == show(high, kind, system)
    words = "{low} everywhere" if same else "between {low} and {high}"
    return note(f"{who} carry {words}", low=(low, kind), high=(high, kind))


def sources(build: Build, system: str = "metric") -> Shown:
    """Where the numbers of the map come from, with their status."""
    plates = "finite elements of a general library; checked in this lesson against handbook plates"
    estimate = (
        "the build sheet: an estimate, walls and roof stiffen a head, ports and jackets soften it"
    )
    zones = analysis.gasket_of(build).zones
    rows = [
        ("plate on a one-sided foundation", "computed", plates),
        ("effective thickness of the head", build.sheet.status, estimate),
        ("deck face", build.sheet.status, "the build sheet"),
        *((zone.name, zone.status, zone.source) for zone in zones),
    ]
    return source_table("Sources of the deck map", rows)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("05")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("sharing")
def _(build: Build, system: str) -> Solved:
    lay, bore = build.layout, analysis.middle_bore(build)
    every = [places.around_bore(lay, i) for i in range(len(lay.bores))]
    worth, count = float(every[bore].effective), len(every[bore].bolts)
    each = len(lay.bolts) / len(lay.bores)
    return Solved(
        worth,
        {
            "shared fasteners counted in full": count,
            "average over the head": each,
            "one fastener": worth / count,
        },
        {
            "bore": str(bore + 1),
            "count": str(count),
            "worth": (worth, "number", 2),
            "bolts": str(len(lay.bolts)),
            "bores": str(len(lay.bores)),
            "each": (each, "number", 2),
        },
        [
            {
                "bore": str(i),
                "fasteners round it": str(len(around.bolts)),
                "worth": (around.effective, "number", 2),
            }
            for i, around in enumerate(every, 1)
        ],
    )


def _as_shown(value: float, kind: str, system: str) -> float:
    """A number as the text gives it, in SI."""
    return float(to_si(parse(show(value, kind, system).replace(",", "")), kind, kind))


@EXERCISES.solver("even")
def _(build: Build, system: str) -> Solved:
    bore = analysis.middle_bore(build)
    clamp, joint = analysis.clamp_side(build, analysis.gasket_of(build))
    # as the text gives them, so that it and the answer agree to the last figure
    one = _as_shown(float(clamp.preload.low), "force", system)
    diameter = _as_shown(joint.seal_diameter, "length", system)
    worth = round(float(places.around_bore(build.layout, bore).effective), 2)
    length = np.pi * diameter
    return Solved(
        one * worth / length,
        {
            "radius for diameter": one * worth / (0.5 * length),
            "one fastener for the whole bore": one / length,
            "diameter for the way round": one * worth / diameter,
        },
        {
            "one": (one, "force"),
            "bore": str(bore + 1),
            "worth": (worth, "number", 2),
            "diameter": (diameter, "length"),
            "length": (length, "length"),
            "told": " ".join(told(build, system).splitlines()),
        },
    )


@EXERCISES.solver("stiffer")
def _(build: Build, system: str) -> Solved:
    now, fired = build.plate_thickness, analysis.middle_bore(build)
    more = _THICKER * now
    deck = find(build).standing.deck
    factor = deck.vary(thickness=more).plate.stiffness / deck.plate.stiffness

    def row(head: str, one: Build) -> dict[str, Figure]:
        found = find(one, fired=fired)
        angle, load = found.state.line_load(fired)
        return {
            "head": head,
            "thickness": (one.plate_thickness, "length"),
            "least load at peak": (float(load.min()), found.kind),
            "at": (float(angle[int(np.argmin(load))]), "angle", 0),
            "lift at the seal": (float(found.state.seal_lift(fired)[1].max()), "lift"),
        }

    return Solved(
        factor,
        {"in proportion": _THICKER, "squared": _THICKER**2},
        {
            "now": (now, "length"),
            "more": (more, "length"),
            "factor": (factor, "number", 2),
            "bore": str(fired + 1),
        },
        [
            row("as it stands", build),
            row("stiffer", build.vary({"deck.effective_thickness": from_si(more, "length")})),
        ],
    )


_SIDE_BY_SIDE = ("multi-layer steel", HARD, "copper sheet")


@EXERCISES.solver("coat")
def _(build: Build, system: str) -> Solved:
    if len(build.layout.bores) < 2:
        raise fail("deck.bores", "one bore", "a deck with two bores or more for this exercise")
    rows: list[dict[str, Figure]] = []
    here, far = 0.0, 0.0
    for name in _SIDE_BY_SIDE:
        one = ranking.with_construction(build, name)
        sound, bare = find(one), find(one, -_MISSING)
        before, after = (f.standing.line_load(0)[1] for f in (sound, bare))
        kind, half = sound.kind, len(before) // 2
        if name == HARD:
            here, far = (float(after[i] / before[i] - 1.0) for i in (0, half))
        rows.append(
            {
                "gasket": name,
                "towards bore 2, coat all over": (float(before[0]), kind),
                "patch missing": (float(after[0]), kind),
                "far side, coat all over": (float(before[half]), kind),
                "far side, patch missing": (float(after[half]), kind),
            }
        )
    if here < -0.05 and abs(far) < 0.2 * abs(here):
        right = "between these bores"
    elif here > 0.05:
        right = "more load"
    else:
        right = "same torque" if abs(here) < 0.05 else "all round"
    return Solved(
        right,
        figures={
            "hard": HARD,
            "missing": (_MISSING, "lift"),
            "here": f"{100 * here:+.0f} %",
            "far": f"{100 * far:+.1f} %",
        },
        rows=rows,
    )
