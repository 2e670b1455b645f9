"""Lesson 05, where the clamp goes on the deck: its panel, its picture, questions and answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from sealkit import analysis, tables
from sealkit.analysis import BoreLook
from sealkit.build import Build
from sealkit.classroom.drawing import deck_map
from sealkit.classroom.drawing.deck_map import LIFT, PRESSURE, DeckView
from sealkit.classroom.drawing.shown import Shown, cells, source_table
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.lessons import tiles
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Guess, Knob, Pick, Rows, Scene, Sentence
from sealkit.report import percent, ranking
from sealkit.sealing.deck import layout as places
from sealkit.units import as_shown, from_si, show
from sealkit.words import Note, note

CHECKS = {
    "deck": [
        "square-uniform", "square-centre", "clamped-centre-edge", "circle-clamped",
        "circle-supported", "foundation-100-centre", "foundation-10000-uniform",
    ]
}  # fmt: skip
NONE = "none, as assembled"
HARD = "fibre body with steel ring"
_COAT = 30e-6  # m, the most that the knob adds or takes away
_THICKER = 1.2
_MISSING = 20e-6  # m


def find(
    build: Build, coat: float = 0.0, fired: int | None = None, field: str = PRESSURE
) -> DeckView:
    """The deck of a build as `sealkit.analysis.deck_look` finds it."""
    return DeckView(**vars(analysis.deck_look(build, coat, fired)), field=field)


# --------------------------------------------------------------------------- the panel
def _thickness(build: Build) -> tuple[str, str]:
    """Field and words of the head's thickness: of the map alone where the sheet has one for it."""
    if build.deck is not None and build.deck.effective_thickness is not None:
        return "deck.effective_thickness", "Thickness of the map's plate"
    return "head.thickness", "Head thickness"


def _knobs(build: Build) -> Sequence[Knob]:
    now, (path, words) = build.plate_thickness, _thickness(build)
    return (
        controls.tightening(build),
        controls.boost(build),
        controls.sheet(path, words, "length", now, 0.6 * now, 1.6 * now),
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


_STANDING = "as assembled, low end of the preload, is the least round any bore: {place}. "
_FIRED = "with cylinder {cylinder} at {peak} is the least round any bore: {place}. "
_ASKED = "Where round the bores has the seal least load? Set the mark on the deck."
_WANTED = "Wanted there: {wanted}. The average joint says {mean}."
_SOLID = " Without gas a solid head may have up to {more} more there than this plate."
_VERDICTS = (
    ("DOES NOT SEAT", "SEATS", "SEATS BY THE MAP ALONE"),
    ("GAS PASSES HERE", "SEALS ALL ROUND", "SEALS BY THE MAP ALONE"),
)
_TOLD = 0.1  # a share below this is not
_LEAST = "is the least, at {place}; {wanted} wanted."
_DIFFER = " Average joint, a bore by itself: {mean}; the map counts."


def _sentence(found: DeckView, system: str) -> Sentence:
    weak, gas = found.state.weakest(), found.fired is not None
    place = note("{angle} of bore {bore}", angle=(weak.angle, "angle", 0), bore=f"{weak.bore + 1}")
    wanted, mean = (found.wanted, found.kind), (found.average, found.kind)
    more = found.solid_has_more
    words = note(
        f"{_FIRED if gas else _STANDING}{_WANTED}{_SOLID * (more > _TOLD)}",
        place=place,
        wanted=wanted,
        mean=mean,
        cylinder=str((found.fired or 0) + 1),
        peak=(found.gas.design_peak, "pressure"),
        more=(more, "fraction", 0),
    ).text(system)
    holds, least = bool(weak.limit.holds), show(weak.load, found.kind, system)
    differ = holds is not found.average_holds
    told = _LEAST + _DIFFER if differ else _LEAST
    line = note(told, place=place, wanted=wanted, mean=mean)
    alone = holds and differ
    word, good = _VERDICTS[gas][2 if alone else holds], None if alone else holds
    return Sentence(word, f"{least} {words}", good, least, line.text(system))


def _where(one: BoreLook) -> Figure:
    return "even all round" if one.angle is None else (one.angle, "angle", 0)


def _bores(found: DeckView) -> list[dict[str, Figure]]:
    """Every bore: least load as assembled and now, and at which angle."""
    return [
        {
            "bore": str(bore + 1),
            "least as assembled": (before.least, found.kind),
            "at": _where(before),
            "most as assembled": (before.most, found.kind),
            "least now": (now.least, found.kind),
            "at angle": _where(now),
            "lift here": (now.lift, "lift"),
        }
        for bore in range(len(found.build.layout.bores))
        for before, now in (found.around(bore),)
    ]


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
    shape = (
        f"What makes bore {found.bore + 1} out of round, by the number of lobes (a first estimate: "
        "the block gives way under the gasket, not round its bores)"
    )
    return {
        f"Seal round every bore ({gas})": cells(_bores(found), system),
        "Liquid holes, least load first": cells(_holes(found), system),
        shape: cells(_orders(found), system),
    }


def every_cylinder(build: Build, coat: float, system: str) -> Rows:
    """Each cylinder at its peak in turn: where its seal has least."""
    every = [find(build, coat, i) for i in range(len(build.layout.bores))]
    rows = [
        {
            "at its peak": f"cylinder {i}",
            "least left": (weak.load, found.kind),
            "at": (weak.angle, "angle", 0),
            "wanted": (found.wanted, found.kind),
            "margin": percent(weak.margin),
            "average joint": (found.average, found.kind),
        }
        for i, found in enumerate(every, 1)
        for weak in (found.state.weakest(),)
    ]
    return cells(rows, system)


def one_by_one(_: Build, found: DeckView, system: str) -> Mapping[str, Rows]:
    """Tightened from the middle outwards: what is left in the fasteners after each pass."""
    heads = {"tightened to": "share", "least of it": "least", "most": "most", "mean": "mean"}
    rows = [
        {words: (getattr(one, key), "fraction") for words, key in heads.items()}
        for one in analysis.passes(found)
    ]
    return {"Tightened in order: what is left in each fastener": cells(rows, system)}


def _question(found: DeckView) -> Note:
    if found.fired is None:
        return note(f"No gas yet. {_ASKED}")
    return note("Cylinder {cylinder} fires. " + _ASKED, cylinder=str(found.fired + 1))


SCENE = Scene(
    name="deck-map",
    words="The deck face from above with the pressure on the gasket in colours, and the load round "
    "one bore against the angle",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=deck_map.PICTURE,
    scope="combustion seal round every bore, before any heat",
    tiles=tiles.deck,
    sentence=_sentence,
    tables=_tables,
    buttons={
        "Fire every cylinder in turn": lambda build, found, system: {
            "Each cylinder at its peak in turn": every_cylinder(build, found.coat, system)
        },
        "Tighten in order": one_by_one,
    },
    data=deck_map.numbers,
    ends=False,
    guess=Guess(_question, "weakest", "place", "length", ("map", "before", "now")),
)


# --------------------------------------------------------------------------- the cells
def picture(build: Build, system: str = "metric") -> Shown:
    """The deck from above, each fastener joined to the bores it stands round."""
    return Shown(*deck_map.sharing(build.layout))


_OF_HARD = (
    "{still}. This seal carries more where it is pressed more, so the pattern of the fasteners "
    "shows as soon as they are tight.\n{gas}."
)
_OF_SOFT = (
    "{still}, nearly the same everywhere. This seal is soft against the head: pressed a little "
    "more or less, it carries nearly the same, and that hides the pattern of the fasteners.\n"
    "{gas}: {shows}.\nA hard seal shows the pattern as assembled (choose the gasket {hard}, and no "
    "gas)."
)
_THIN = "the head lifts more here than there, most of all a thin one (move Head thickness)"


def told(build: Build, system: str = "metric") -> str:
    """How evenly the seals are pressed, as assembled and with gas, and why, in words."""
    one = analysis.evenness(build)
    return note(
        _OF_HARD if one.uneven else _OF_SOFT,
        still=_carry("As assembled, the seals of all bores", one.still, one.kind, system),
        gas=_carry(f"With {_fires(one.fired)} they", one.gas, one.kind, system),
        shows=_THIN if one.gas_shows else "even gas hardly changes that",
        hard=HARD,
    ).text(system)


def _carry(who: str, ends: tuple[float, float], kind: str, system: str) -> Note:
    low, high = ends
    same = show(low, kind, system) == show(high, kind, system)
    words = "{low} all round" if same else "between {low} and {high}"
    return note(f"{who} carry {words}", low=(low, kind), high=(high, kind))


def sources(build: Build, system: str = "metric") -> Shown:
    """Where the numbers of the map come from, with their status."""
    plates = "finite elements of a general library; checked in this lesson against handbook plates"
    estimate = "the build sheet: an estimate of the solid plate that gives way as the head does"
    zones = analysis.gasket_of(build).zones
    below = tables.load("blocks")[build.block.deck]
    rows = [
        ("plate on a one-sided foundation", "computed", plates),
        ("effective thickness of the head", build.sheet.status, estimate),
        ("deck face", build.sheet.status, "the build sheet"),
        (f"{build.block.deck} block below the gasket", below["status"], below["source"]),
        *((zone.name, zone.status, zone.source) for zone in zones),
    ]
    return source_table("Sources of the deck map", rows)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("05")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("sharing")
def _(build: Build, system: str) -> Names:
    lay, bore = build.layout, analysis.middle_bore(build)
    every = [places.around_bore(lay, i) for i in range(len(lay.bores))]
    worth, count = float(every[bore].effective), len(every[bore].bolts)
    bolts, bores = len(lay.bolts), len(lay.bores)
    each = bolts / bores
    rows = [
        {
            "bore": str(i),
            "fasteners round it": str(len(around.bolts)),
            "worth": (around.effective, "number", 2),
        }
        for i, around in enumerate(every, 1)
    ]
    return locals()


@EXERCISES.solver("even")
def _(build: Build, system: str) -> Names:
    bore = analysis.middle_bore(build)
    clamp, joint = analysis.clamp_side(build)
    # as the text gives them, so that it and the answer agree to the last figure
    one = as_shown(float(clamp.preload.low), "force", system)
    diameter = as_shown(joint.seal_diameter, "length", system)
    worth = round(float(places.around_bore(build.layout, bore).effective), 2)
    length = np.pi * diameter
    said = " ".join(told(build, system).splitlines())
    return locals()


@EXERCISES.solver("stiffer")
def _(build: Build, system: str) -> Names:
    now, fired = build.plate_thickness, analysis.middle_bore(build)
    thicker = _THICKER
    more = thicker * now
    deck = find(build).standing.deck
    factor = deck.vary(thickness=more).plate.stiffness / deck.plate.stiffness
    stiffer = build.vary({_thickness(build)[0]: from_si(more, "length")})

    def row(head: str, one: Build) -> dict[str, Figure]:
        found = find(one, fired=fired)
        bore = found.around(fired)[1]
        return {
            "head": head,
            "thickness": (one.plate_thickness, "length"),
            "least load at peak": (bore.least, found.kind),
            "at": _where(bore),
            "lift at the seal": (bore.lift, "lift"),
        }

    rows = [row("as it stands", build), row("stiffer", stiffer)]
    return locals()


_SIDE_BY_SIDE = ("multi-layer steel", HARD, "copper sheet")
_MOVES = {
    "between": "between these bores",
    "all round": "all round",
    "more": "more load",
    "nothing": "same torque",
}


@EXERCISES.solver("coat")
def _(build: Build, system: str) -> Names:
    found = {
        name: analysis.missing_patch(ranking.with_construction(build, name), _MISSING)
        for name in _SIDE_BY_SIDE
    }
    hard, missing = HARD, _MISSING
    near, beyond = found[hard].changes
    here, far = f"{100 * near:+.0f} %", f"{100 * beyond:+.1f} %"
    right = _MOVES[found[hard].moves]
    rows = [
        {
            "gasket": name,
            "towards bore 2, coat all over": (one.here[0], one.kind),
            "patch missing": (one.here[1], one.kind),
            "far side, coat all over": (one.far[0], one.kind),
            "far side, patch missing": (one.far[1], one.kind),
        }
        for name, one in found.items()
    ]
    return locals()
