"""Lesson 05, where the clamp goes on the deck: its panel, its picture, questions and answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from sealkit import analysis, tables
from sealkit.analysis import BoreLook
from sealkit.build import Build
from sealkit.classroom.drawing import deck_map
from sealkit.classroom.drawing.deck_map import LIFT, PRESSURE, DeckView
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows
from sealkit.report import percent, ranking
from sealkit.sealing.deck import layout as places
from sealkit.units import as_shown, from_si, show
from sealkit.words import Note

TEXT = Text(__file__)
CHECKS = TEXT.checks
NONE = "none, as assembled"
HARD = "fibre body with steel ring"
_COAT = 30e-6  # m, the most that the knob adds or takes away


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
        controls.sheet(path, words, now, 0.6 * now, 1.6 * now),
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


_VERDICTS = (
    ("DOES NOT SEAT", "SEATS", "SEATS BY THE MAP ALONE"),
    ("GAS PASSES HERE", "SEALS ALL ROUND BEFORE HEAT", "SEALS BY THE MAP ALONE"),
)
_TOLD = 0.1  # a share below this is not


def _told(found: DeckView) -> Names:
    weak, gas, kind = found.state.weakest(), found.fired is not None, found.kind
    least, wanted, mean = ((x, kind) for x in (weak.load, found.wanted, found.average))
    bore, cylinder, more = weak.bore + 1, (found.fired or 0) + 1, found.solid_has_more
    place = TEXT.note("place", locals())
    state = TEXT.note("fired" if gas else "standing", locals())
    solid = TEXT.note("solid", locals(), more > _TOLD)
    holds = bool(weak.limit.holds)
    differs = holds is not found.average_holds
    differ = TEXT.note("differ", locals(), differs)
    alone = holds and differs
    word, good = _VERDICTS[gas][2 if alone else holds], None if alone else holds
    holes = sorted(found.state.holes(), key=lambda h: h.share)
    fewest, risen = holes[:1], found.around(weak.bore)[1].lift
    gas_now = f"Cylinder {cylinder} fires." if gas else "No gas yet."
    return locals()


def _where(one: BoreLook) -> Figure:
    return "even all round" if one.angle is None else (one.angle, "angle", 0)


_LOBES = ("mean, pressed evenly", "pushed to one side", "oval", "three lobes", "four lobes")


def _behind(found: DeckView) -> Names:
    """What the tables tell beside."""
    gas_is = "no gas" if found.fired is None else _fires(found.fired)
    looks = (found.around(bore) for bore in range(len(found.build.layout.bores)))
    bores = [
        locals() | {"bore": i, "before_at": _where(before), "now_at": _where(now)}
        for i, (before, now) in enumerate(looks, 1)
    ]
    number, made = found.bore + 1, found.standing.orders(found.bore)
    orders = [
        {"order": int(k), "lobes": _LOBES[int(k)], "contact": c, "bolts": b}
        for k, c, b in zip(made.order, made.contact, made.bolts, strict=True)
    ]
    return locals()


def every_cylinder(build: Build, coat: float, system: str) -> Mapping[str, Rows]:
    """Each cylinder at its peak in turn: where its seal has least."""
    every = [find(build, coat, i) for i in range(len(build.layout.bores))]
    rows = [
        {"i": i, "found": found, "weak": weak, "margin": percent(weak.margin)}
        for i, found in enumerate(every, 1)
        for weak in (found.state.weakest(),)
    ]
    return TEXT.table("cylinders", {"cylinders": rows}, system)


def one_by_one(_: Build, found: DeckView, system: str) -> Mapping[str, Rows]:
    """Tightened from the middle outwards: what is left in the fasteners after each pass."""
    return TEXT.table("passes", {"passes": analysis.passes(found)}, system)


SCENE = TEXT.scene(
    _told,
    _behind,
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=deck_map.PICTURE,
    buttons={
        "Fire every cylinder in turn": lambda build, found, system: every_cylinder(
            build, found.coat, system
        ),
        "Tighten in order": one_by_one,
    },
    data=deck_map.numbers,
    ends=False,
)


# --------------------------------------------------------------------------- the cells
def picture(build: Build, system: str = "metric") -> Shown:
    """The deck from above, each fastener joined to the bores it stands round."""
    return Shown(*deck_map.sharing(build.layout))


def told(build: Build, system: str = "metric") -> str:
    """How evenly the seals are pressed, as assembled and with gas, and why, in words."""
    one, hard = analysis.evenness(build), HARD
    still = _carry("As assembled, the seals of all bores", one.still, one.kind, system)
    gas = _carry(f"With {_fires(one.fired)} they", one.gas, one.kind, system)
    shows = TEXT.note("thin" if one.gas_shows else "even", {})
    return TEXT.note("hard" if one.uneven else "soft", locals()).text(system)


def _carry(who: str, ends: tuple[float, float], kind: str, system: str) -> Note:
    low, high = ends
    same = show(low, kind, system) == show(high, kind, system)
    return TEXT.note("same" if same else "between", locals())


def sources(build: Build) -> Shown:
    """Where the numbers of the map come from, with their status."""
    zones, below = analysis.gasket_of(build).zones, tables.load("blocks")[build.block.deck]
    return TEXT.shown("sources", locals())


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("05")
answer = EXERCISES.answer


@EXERCISES.solver("sharing")
def _(build: Build, system: str) -> Names:
    lay, bore = build.layout, analysis.middle_bore(build)
    every = [places.around_bore(lay, i) for i in range(len(lay.bores))]
    worth, count = float(every[bore].effective), len(every[bore].bolts)
    bolts, bores = len(lay.bolts), len(lay.bores)
    each = bolts / bores
    shares = [{"i": i, "row": around} for i, around in enumerate(every, 1)]
    rows = TEXT.rows("sharing", locals())
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
    thicker = 1.2
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
    hard, missing = HARD, 20e-6  # m, of the coat
    found = {
        name: analysis.missing_patch(ranking.with_construction(build, name), missing)
        for name in _SIDE_BY_SIDE
    }
    near, beyond = found[hard].changes
    here, far = f"{100 * near:+.0f} %", f"{100 * beyond:+.1f} %"
    right = _MOVES[found[hard].moves]
    rows = TEXT.rows("coats", {"coats": [*found.items()]})
    return locals()
