"""From a build sheet to the map of its deck, and the limits that the map tells.

The map stands on the same joint as the average of one bore: same gasket, preloads, stiffnesses and
gas pressure. The two differ by what the average leaves out, and agree without that: with all
cylinders at their peaks at once, gas takes from the seal of an inner bore in the mean of its places
what it takes from the average joint's, within a twentieth. One at its peak alone is helped by its
neighbours and loses a quarter less; between bolts a ring has 10 to 60 % less than its mean. So of a
limit that both know the map counts, whatever the head; how near its plate comes to a solid is known
(`Model.accuracy`) and stands in the band of every margin.
"""

from __future__ import annotations

import dataclasses
import functools
import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.analysis.clamp import Clamp, kept, poisson_of, zone_creep
from sealkit.analysis.margins import (
    ASSEMBLY,
    COLD,
    FIRST_START,
    HIGH,
    HOT,
    LOW,
    PEAK,
    Case,
    Failure,
    Limit,
    limits,
    sooner,
    up_to,
    worse,
)
from sealkit.analysis.warm import COLD_SOAK, COLD_START, HOT_STATES, Warm, across_head
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.sealing import deck, liquids
from sealkit.sealing.deck import DeckMap, State, Weakest, block
from sealkit.sealing.deck.layout import thermal_bow
from sealkit.sealing.deck.model import Accuracy
from sealkit.sealing.joint import Joint
from sealkit.sealing.limit import Band, Condition, Moment, Preload, of_zone

_NEAR = 1.5  # times the worst state's load left over load wanted; beyond, it cannot be the worst
_PASSED = ("residual", "springback")  # whose gas pressure is found at which they are passed
_SURE = 1e-5  # of peak or load, to which the pressure is found at which a seal is passed


@dataclass(frozen=True)
class Look:
    """The deck in one state of the engine, with what is left of the low end of the preload.

    Parameters
    ----------
    when : the state, at the peak that a cylinder meets in it
    deck : the map there, bowed where the head is hot
    standing : without gas
    share : of the peak that the engine meets in it
    fired : one state for each cylinder at that peak
    """

    when: Condition
    deck: DeckMap
    standing: State
    share: float = 1.0
    fired: tuple[State, ...] = ()

    def worst(self, check: str) -> Weakest | None:
        """Bore and angle with the least margin of a check, any cylinder at its peak."""
        # what springs back later does so at the first start too
        if check == "springback" and self.when.state == FIRST_START:
            return None
        found = [w for s in self.fired if (w := s.worst(check)) is not None]
        return min(found, key=lambda w: round(w.signed, 6), default=None)


@dataclass(frozen=True)
class DeckSide:
    """The deck of a build.

    Parameters
    ----------
    deck : its map
    fresh : tightened to the low end, before any loss
    crept, worked : after losses, and after the warm states that press and bow it most
    looks : the states in which a seal may be at its worst, the cold one first
    tight, high : tightened to the high end, and that in the state of the engine that tightens it
        most, crept or not; None where no seal can be crushed
    peak : the peak the joint is sized on, over the air outside, Pa
    limits : what the map knows of the limits of the average joint, with the same keys
    failures : the gas pressure at which a seal is passed at its weakest place
    """

    deck: DeckMap
    fresh: State
    crept: State
    worked: State
    looks: tuple[Look, ...]
    tight: State | None
    high: State | None
    peak: float
    limits: tuple[Limit, ...]
    failures: tuple[Failure, ...]

    @property
    def worst(self) -> Look:
        """Where the seals have the least margin."""
        return min(self.looks, key=lambda look: deck.weakest(look.fired).margin)

    @property
    def reach(self) -> float:
        """How far a load reaches along the head, at the mean stress of the body (m)."""
        return self.deck.reach(self.fresh.mean_pressure)

    @property
    def accuracy(self) -> Accuracy:
        """How near its loads come to those of a solid, at the mean stress of the body."""
        return self.deck.accuracy(self.fresh.mean_pressure)

    @property
    def weakest(self) -> Weakest:
        """Bore and angle with the least margin at peak pressure of any cylinder."""
        return deck.weakest(self.worst.fired)

    @property
    def known(self) -> set[str]:
        """Keys of the limits that the map judges in the place of the average joint."""
        seals = [row for row in self.limits if row.check == "residual"]
        # blow-out begins where the seal is lost, and the map may say that it is not
        tight = bool(seals) and all(row.holds for row in seals)
        return {row.key for row in self.limits} | ({"blow-out"} if tight else set())

    def counting(self, average: Iterable[Limit]) -> tuple[Limit, ...]:
        """All rows of the map, and those of the average joint that it does not know."""
        known = self.known
        return (*(row for row in average if row.key not in known), *self.limits)

    @functools.cached_property
    def falls(self) -> dict[tuple[Any, ...], tuple[float, float]]:
        """How the margins of what is passed fall with gas, by limit, state and moment.

        Capacity over demand is taken as a/p - b, an assumption, through that at the sheet's peak
        and the pressure at which the limit is passed in the state that is worst; where nothing is
        left at the peak, a is that of the load without gas. Returns the margin at the peak, below
        -1 where gas took more than there is, and b.
        """
        passed = {f.limit.key: f for f in self.failures if f.limit.state.moment is PEAK}
        out: dict[tuple[Any, ...], tuple[float, float]] = {}
        for look, worst in ((x, w) for x in self.looks for c in _PASSED if (w := x.worst(c))):
            row, when, first = worst.limit, look.when, passed.get(worst.limit.key)
            if first is None or not 0.0 < first.pressure < np.inf or first.pressure == self.peak:
                continue
            margin, at = float(row.signed), first.pressure / self.peak
            if first.limit.margin > -1.0:
                b = float(first.limit.margin) / (at - 1.0) - 1.0
            elif row.check == "residual":
                load = float(np.min(look.standing.line_load(worst.bore, row.part)[1]))
                a = load / row.demand
                b = a - 1.0 - margin
                if look.when.name == first.limit.state.name:
                    b = a / at - 1.0
                    margin = min(a - b - 1.0, -1.0)
            else:
                continue
            out[row.key, when.temperature, when.state, when.moment] = margin, b
        return out

    def fallen(self, when: tuple[Any, ...], margin: float, peak: float) -> float:
        """A margin at the sheet's peak as it is at another gas pressure; of -1 nothing is known."""
        if peak == self.peak or margin == -1.0:
            return margin
        b = self.falls[when][1]
        return (1.0 + margin + b) * self.peak / peak - b - 1.0

    def order(self, average: Iterable[Failure]) -> tuple[Failure, ...]:
        """Likewise the order of failure; what follows from a lost seal comes no sooner."""
        known = {f.limit.key for f in self.failures}
        lost = min((f.pressure for f in self.failures if f.limit.check == "residual"), default=0.0)
        others = [
            dataclasses.replace(f, pressure=max(f.pressure, lost))
            if f.limit.check == "blow-out"
            else f
            for f in average
            if f.limit.key not in known
        ]
        # at the same pressure the loss of the seal comes before what follows from it
        return sooner(self.failures, others)


def deck_of(build: Build, made: Joint, like: DeckMap | None = None) -> DeckMap:
    """The map of the deck of a build that has a section [deck].

    Raises InputError if it has none. `like` is one of the same sheet, but for numbers of joint,
    gasket and head: its mesh is kept.
    """
    lay, sheet = build.layout, build.deck
    assert sheet is not None
    if like is not None:
        alike = like.gasket == made.gasket
        return like.vary(
            **({} if alike else {"gasket": made.gasket}),
            thickness=build.plate_thickness,
            bolt_stiffness=made.bolt_stiffness,
            member_stiffness=made.member_stiffness,
            load_introduction=made.load_introduction,
            yield_force=made.yield_force,
            thinner=made.thinner,
            steps=build.gasket_steps,
            warp=(sheet.lengthwise_bow, sheet.across_bow),
        )
    materials = tables.load("materials")
    head = materials[build.head.material]
    return deck.from_joint(
        made,
        lay,
        build.plate_thickness,
        head["modulus"],
        poisson_of(build.head.material),
        steps=build.gasket_steps,
        warp=(sheet.lengthwise_bow, sheet.across_bow),
        bolt_diameter=build.contact_diameter,
        mesh=sheet.mesh,
        block=block.block.si(build.block.deck, materials[build.block.material]["modulus"]),
    )


def bowed(build: Build, made_deck: DeckMap, name: str) -> DeckMap:
    """The deck in a state of the engine: warm, a head that is hotter on the fire side bows."""
    across = float(across_head(build, name)) if name in HOT_STATES else 0.0
    if not across:
        return made_deck
    expansion = tables.load("materials")[build.head.material]["expansion"]
    hot = thermal_bow.si(made_deck.layout, expansion, across, build.fasteners.grip_head)
    return made_deck.vary(warp=np.add(made_deck.warp, hot))


def settled_and_crept(
    build: Build, made_deck: DeckMap, clamp: Clamp, fresh: State, start: State | None = None
) -> tuple[State, State]:
    """The deck tightened to the low end after embedment, as started first; and crept on top."""
    settled = made_deck.at_preload(fresh, _held(made_deck, clamp.before_creep.preload))
    creep = zone_creep(build, made_deck.gasket)
    if not creep:
        return settled, settled
    left = _held(made_deck, clamp.low.preload)
    return settled, made_deck.at_preload(settled, left, creep, start)


def judge_deck(
    build: Build,
    clamp: Clamp,
    made: Joint,
    case: Case,
    warm: Warm,
    peak: float,
    told: Callable[[str], object] | None = None,
) -> DeckSide:
    """Map of a deck as assembled, hot and cold, and with each cylinder at its peak (plain SI).

    `told` is called with each state that is worked out next, in words.
    """
    say = told or (lambda _: None)
    say("tightened")
    made_deck = deck_of(build, made)
    fresh = made_deck.assemble(_held(made_deck, case.first.assembly_preload))
    settled, crept = settled_and_crept(build, made_deck, clamp, fresh)
    worked = pressed_hot(build, made_deck, crept, warm)
    seal = [row for row in limits(case, peak) if row.check == "residual"]
    most = _NEAR * (1.0 + min((row.margin for row in seal), default=0.0))
    near = {row.state.state for row in seal if 1.0 + row.margin <= most}
    found, soaked = _standing(build, made_deck, case, warm, near, crept, worked, say=say)
    if FIRST_START in near:
        found.append(Look(Condition(COLD, LOW, PEAK, state=FIRST_START), made_deck, settled))
    looks: list[Look] = []
    for look in found:
        say(f"{look.when.state or look.when.temperature}, each cylinder at its peak")
        like = looks[0].fired if looks else ()
        starts = [_likewise(look.standing, found[0].standing, other) for other in like]
        fired = look.deck.firing(look.standing, look.share * peak, starts)
        looks.append(dataclasses.replace(look, fired=fired))
    accuracy = made_deck.accuracy(fresh.mean_pressure)
    tight, high = None, None
    crushed: list[Limit] = []
    if any(np.isfinite(zone.crush) for zone in made_deck.gasket.seals):
        say("highest preload")
        strong = made_deck.vary(yield_force=case.clamp.strong.yield_force)
        tight = strong.assemble(float(np.ravel(case.high.assembly_preload)[0]), start=fresh)
        hottest = _likewise(tight, crept, worked)
        high, crushed = _crushed(build, made_deck, case, tight, hottest, accuracy)
    rows = [
        *_seated(fresh, accuracy),
        *crushed,
        *_fired(looks, accuracy),
        *_liquid(build, fresh, looks, soaked, accuracy),
    ]
    say("pressure at which the seal is passed")
    return DeckSide(
        deck=made_deck,
        fresh=fresh,
        crept=crept,
        worked=worked,
        looks=tuple(looks),
        tight=tight,
        high=high,
        peak=peak,
        limits=tuple(rows),
        failures=_failures(looks, peak, worse(rows)),
    )


def _standing(
    build: Build,
    made_deck: DeckMap,
    case: Case,
    warm: Warm,
    near: set[str],
    crept: State,
    worked: State,
    like: Sequence[Look] = (),
    say: Callable[[str], object] = lambda _: None,
) -> tuple[list[Look], State | None]:
    """The deck without gas cold and hot, once it has been hot; soaked in cold where that counts.

    Parameters
    ----------
    near : states in which the seal may be as bad as in the worst
    crept, worked : as in `DeckSide`
    like : looks at much the same deck: which state is the hot one, and to start the solutions from
    """
    out: list[Look] = []
    for temperature in (COLD, HOT):
        least = case.least(temperature)
        if least is None:
            continue
        say(f"{temperature}, without gas")
        now = dict([least])
        if temperature is HOT and like:
            now = {n: warm.still.stands(n) for n in HOT_STATES if n in {x.when.state for x in like}}
        elif temperature is HOT:
            # with more clamp only a state in which the head bows further may be worse
            bow = across_head(build, least[0])
            hot = {n: warm.still.stands(n) for n in HOT_STATES if across_head(build, n) > bow}
            for most in sorted({float(across_head(build, n)) for n in hot}):
                alike = [n for n in hot if across_head(build, n) == most]
                name = min(alike, key=lambda n: _held(made_deck, hot[n].preload))
                now[name] = hot[name]
        first = out[0].standing if out else crept
        found = []
        for name, average in now.items():
            when = Condition(temperature, LOW, PEAK, state=name)
            there = bowed(build, made_deck, name)
            start = first if there is made_deck else worked
            start = next((look.standing for look in like if look.when == when), start)
            force = kept(_held(there, average.preload), float(worked.preload[0]))
            found.append(Look(when, there, there.at_preload(worked, force, start=start)))
        bores = range(len(made_deck.layout.bores))
        out.append(min(found, key=lambda x: min(np.min(x.standing.line_load(i)[1]) for i in bores)))
    if build.liquids.deck == "dry" and COLD_START not in near:
        return out, None
    cold = warm.still.stands(COLD_SOAK).preload
    soaked = made_deck.at_preload(out[0].standing, _held(made_deck, cold))
    if COLD_START in near:
        when = Condition(COLD, LOW, PEAK, state=COLD_START)
        share = next(
            (h.gas for h in case.heated if h.name == COLD_START and h.low is not None), 0.0
        )
        out.append(Look(when, made_deck, soaked, share))
    return out, soaked


def _crushed(
    build: Build, made_deck: DeckMap, case: Case, tight: State, start: State, accuracy: Accuracy
) -> tuple[State, list[Limit]]:
    """The deck as its seals are pressed most, and how far their highest places are from crushed.

    Parameters
    ----------
    tight : tightened to the high end, cold
    start : to start the solution from where the tightest state is a warm one
    """
    high, hottest = tight, made_deck.vary(yield_force=case.clamp.strong.yield_force)
    tightest = max(
        case.heated, key=lambda h: 0.0 if h.high is None else _held(made_deck, h.high.preload)
    )
    when = Condition(COLD, HIGH, Moment.REST)
    most = _held(made_deck, case.high.preload)
    if tightest.high is not None and _held(made_deck, tightest.high.preload) > most:
        hottest = bowed(build, hottest, tightest.name)
        high = hottest.at_preload(high, float(np.ravel(tightest.high.preload)[0]), start=start)
        when = Condition(tightest.temperature, HIGH, Moment.REST, state=tightest.name)
    if tightest.crept is not None:
        # what the body creeps out of, the seal takes over
        left, creep = _held(made_deck, tightest.crept.preload), zone_creep(build, made_deck.gasket)
        seals = [zone.name for zone in made_deck.gasket.seals]
        each = (high, hottest.at_preload(high, left, creep))
        high = max(each, key=lambda state: sum(map(state.highest, seals)))
    state, rows = dataclasses.replace(when, detail="deck map, highest place"), []
    for zone in high.deck.gasket.seals:
        if np.isfinite(zone.crush):
            row = of_zone("crush", zone, high.highest(zone.name), zone.crush, state)
            rows.append(_within(row, accuracy.highest * row.capacity, 0.0))
    return high, rows


def with_other_bow(build: Build, side: DeckSide, case: Case, warm: Warm) -> tuple[Limit, ...]:
    """The limits of the map whose head bows otherwise when hot, in every state that knows of it.

    What is fresh or fired for the first time does not; liquids are looked at without gas.

    Parameters
    ----------
    build, case, warm : the same sheet but for the bow, such as `head.gradient`
    side : what was worked out for the sheet itself; in each state only the bore that is weakest
        there is fired anew
    """
    worked = pressed_hot(build, side.deck, side.crept, warm, side.worked)
    near = {look.when.state for look in side.looks}
    found, soaked = _standing(build, side.deck, case, warm, near, side.crept, worked, side.looks)
    looks = [
        _fired_anew(look, then, side.peak) for look, then in zip(found, side.looks, strict=False)
    ]
    crushed = [row for row in side.limits if row.check == "crush"]
    if side.tight and side.high and any(row.state.temperature is HOT for row in crushed):
        _, crushed = _crushed(build, side.deck, case, side.tight, side.high, side.accuracy)
    return (
        *crushed,
        *_fired(looks, side.accuracy),
        *_liquid(build, None, found, soaked, side.accuracy),
    )


def tightened_anew(
    build: Build,
    side: DeckSide,
    clamp: Clamp,
    case: Case,
    warm: Warm,
    end: Preload,
    loud: float,
) -> DeckSide:
    """The same deck tightened otherwise: its limits with one end of the preload.

    Parameters
    ----------
    build, clamp, case, warm : the same sheet but for the tightening
    side : what was worked out for the sheet itself: in the same states of the engine, and in each
        the bore that is weakest there is fired anew
    end : of the preload
    loud : a peak over the air outside, up to which it is told how the limits fall, Pa
    """
    tight, high, now = side.tight, side.high, side.deck
    if end is HIGH:
        if tight is None or high is None:
            return dataclasses.replace(side, limits=())
        strong = now.vary(yield_force=case.clamp.strong.yield_force)
        tight = strong.assemble(float(np.ravel(case.high.assembly_preload)[0]), start=tight)
        high, rows = _crushed(build, now, case, tight, high, side.accuracy)
        return dataclasses.replace(side, tight=tight, high=high, limits=tuple(rows), failures=())
    fresh = now.assemble(_held(now, case.first.assembly_preload), start=side.fresh)
    settled, crept = settled_and_crept(build, now, clamp, fresh, side.crept)
    worked = pressed_hot(build, now, crept, warm, side.worked)
    near = {look.when.state for look in side.looks}
    found, soaked = _standing(build, now, case, warm, near, crept, worked, side.looks)
    first = [look for look in side.looks if look.when.state == FIRST_START]
    found += [dataclasses.replace(look, standing=settled) for look in first]
    pairs = list(zip(found, side.looks, strict=True))
    looks = tuple(_fired_anew(look, then, side.peak) for look, then in pairs)
    fired, failures = _fired(looks, side.accuracy), []
    if loud > side.peak:
        louder = [_fired_anew(look, then, loud) for look, then in pairs]
        then = {row.key: float(row.margin) for row in worse(_fired(louder, side.accuracy))}
        for row in worse(fired):
            fall = (row.margin - then[row.key]) / (1.0 / side.peak - 1.0 / loud)
            rest = 1.0 / side.peak - row.margin / fall if fall > 0.0 else 0.0
            failures.append(Failure(row, 1.0 / rest if rest > 0.0 else np.inf))
    wet = _liquid(build, fresh, looks, soaked, side.accuracy)
    return dataclasses.replace(
        side,
        fresh=fresh,
        crept=crept,
        worked=worked,
        looks=looks,
        limits=(*_seated(fresh, side.accuracy), *fired, *wet),
        failures=tuple(failures),
    )


def _fired_anew(look: Look, then: Look, peak: float) -> Look:
    """A look with the bore alone at its peak that is weakest in a look at much the same deck."""
    bore = deck.weakest(then.fired).bore
    pressure = look.share * peak * np.eye(len(then.fired))[bore]
    start = _likewise(look.standing, then.standing, then.fired[bore])
    return dataclasses.replace(look, fired=(look.deck.under_gas(look.standing, pressure, start),))


def pressed_hot(
    build: Build, made_deck: DeckMap, crept: State, warm: Warm, start: State | None = None
) -> State:
    """The deck after what the warm states press most: the tightest, and the one that bows most."""
    bows = {name: float(across_head(build, name)) for name in HOT_STATES}
    most = max(bows, key=lambda name: bows[name])
    state, tightest = crept, warm.still.tightest
    for name in dict.fromkeys((most if bows[most] else tightest, tightest)):
        force = _held(made_deck, warm.still.stands(name).preload)
        if bows[name] or force > float(crept.preload[0]):
            state = bowed(build, made_deck, name).at_preload(state, force, start=start)
    return state


def _held(made_deck: DeckMap, preload: Any) -> float:
    """The preload of one fastener, as far as the deck takes it (N); of none a trace is left."""
    least, most = 1e-4 * made_deck.yield_force, made_deck.yield_force * (1.0 - 1e-9)
    return min(max(float(np.asarray(preload, dtype=float).ravel()[0]), least), most)


def _likewise(state: State, before: State, after: State) -> State:
    """Where to start the solution from for what follows a state as `after` follows `before`."""
    return dataclasses.replace(after, unknowns=state.unknowns + after.unknowns - before.unknowns)


def _within(row: Limit, less: float, more: float) -> Limit:
    """The row with the band that so much less and more capacity makes of its margin."""
    if not np.isfinite(row.margin):
        return row
    left = row.capacity - row.missing
    low, high = ((left + x) / row.demand - 1.0 for x in (-less, more))
    return dataclasses.replace(row, band=Band(low, high, "a head that bends unlike a plate"))


def _at_place(found: Weakest, state: Condition) -> Limit:
    place = f"deck map, bore {found.bore + 1} at {np.degrees(found.angle):.0f}°"
    return dataclasses.replace(found.limit, state=dataclasses.replace(state, detail=place))


def _seated(fresh: State, accuracy: Accuracy) -> list[Limit]:
    """Seating where the load is lowest, but of the seals alone.

    Holes and edges that the mesh does not resolve would judge the body.
    """
    rows = []
    for zone in fresh.deck.gasket.seals:
        found = fresh.worst("seating", zone.name)
        if found is not None:
            row = _at_place(found, Condition(COLD, LOW, ASSEMBLY))
            less, more = accuracy.mesh * row.capacity, accuracy.least * row.capacity
            rows.append(_within(row, less, more))
    return rows


def _fired(looks: Iterable[Look], accuracy: Accuracy) -> list[Limit]:
    """Load left and springback at the weakest place, any cylinder at its peak."""
    rows = []
    for look in looks:
        if all(zone.factor <= 0 for zone in look.deck.gasket.seals):
            continue
        for check in _PASSED:
            worst = look.worst(check)
            if worst is not None:
                row, more = _at_place(worst, look.when), 0.0
                moved = row.capacity
                if check == "residual":
                    angle, load = look.standing.line_load(worst.bore, row.part)
                    at_rest = float(load[int(np.argmin(np.abs(angle - worst.angle)))])
                    moved = at_rest - row.capacity + row.missing
                    # of the load left, not of that at rest: a solid that has more lifts more too,
                    # and what has lost touch gets none of it
                    more = accuracy.least * row.capacity
                rows.append(_within(row, accuracy.lift * moved, more))
    return rows


def _liquid(
    build: Build,
    fresh: State | None,
    looks: Sequence[Look],
    soaked: State | None,
    accuracy: Accuracy,
) -> list[Limit]:
    """Every liquid hole at its weakest place, without gas and with any cylinder at its peak.

    An oil hole is a feed under gallery pressure, unless it is a drain.
    """
    if build.liquids.deck == "dry" or soaked is None or not soaked.holes():
        return []
    place = "deck map, weakest place"
    states: list[tuple[Sequence[str], Condition, State]] = []
    if fresh is not None:
        states.append((liquids.COLD_CIRCUITS, Condition(COLD, LOW, ASSEMBLY, place), fresh))
    rest = Condition(COLD, LOW, Moment.REST, f"soaked, {place}")
    states.append((liquids.SOAK_CIRCUITS, rest, soaked))
    for look in looks:
        if look.when.state in (FIRST_START, COLD_START):
            continue
        hot = look.when.temperature is HOT
        circuits = liquids.HOT_CIRCUITS if hot else liquids.COLD_CIRCUITS
        here = dataclasses.replace(look.when, detail=place)
        states.append((circuits, dataclasses.replace(here, moment=Moment.REST), look.standing))
        states += [(circuits, here, s) for s in look.fired]
    trust = {z.name: z.status for z in soaked.deck.gasket.zones}
    rows = []
    for names, condition, state in states:
        known = [liquids.circuit.si(name) for name in names]
        pressures = {circuit.liquid: float(circuit.high) for circuit in known}
        if "oil" in pressures:
            pressures["oil drain"] = float(liquids.circuit.si("oil drain").high)
        if condition.temperature is HOT and build.liquids.coolant_pressure is not None:
            pressures["coolant"] = build.liquids.coolant_pressure
        less = accuracy.lift if condition.moment is PEAK else accuracy.mesh
        for row in state.liquid(pressures, build.liquids.facing):
            status = tables.weakest(row.status, trust[row.part])
            row = dataclasses.replace(row, state=condition, status=status)
            rows.append(_within(row, less * row.capacity, accuracy.least * row.capacity))
    return rows


def _failures(looks: Sequence[Look], peak: float, limits: Iterable[Limit]) -> tuple[Failure, ...]:
    """Gas pressure at which seal and springback are passed at the place that is weakest at peak.

    What does not hold without gas is passed before firing, what does not at peak at least there.
    """
    out = [
        Failure(r, np.inf if r.holds else peak if r.state.moment is PEAK else 0.0)
        for r in limits
        if r.check not in _PASSED or not r.holds
    ]
    looked: dict[tuple[Condition, int], dict[float, State | None]] = {}
    for check in _PASSED:
        found = [(w, look) for look in looks if (w := look.worst(check)) is not None]
        if found:
            weak, look = min(found, key=lambda x: x[0].margin)
            gas: dict[float, State | None] = {0.0: look.standing}
            known = looked.setdefault((look.when, weak.bore), gas)
            known[peak] = look.fired[weak.bore]
            pressure = _given_up(look, check, weak, peak, known)
            out.append(Failure(_at_place(weak, look.when), pressure))
    return tuple(out)


def _given_up(
    look: Look,
    check: str,
    weak: Weakest,
    peak: float,
    known: dict[float, State | None],
) -> float:
    """Peak pressure at which a check of a bore is passed; `known` are states by that pressure."""
    now, share = look.deck, look.share
    gas_area = np.pi / 4.0 * now.seal_diameter**2
    top = min(up_to(peak), 0.999 * now.yield_force * len(now.layout.bolts) / gas_area / share)

    def start(at: float) -> State:
        """Drawn on from the two nearest states."""
        near = sorted((x for x in known if known[x]), key=lambda x: abs(x - at))[:2]
        (p, one), (q, two) = ((x, known[x]) for x in near)
        assert one is not None and two is not None
        on = (at - p) / (q - p) * (two.unknowns - one.unknowns)
        return dataclasses.replace(one, unknowns=one.unknowns + on)

    def left(at: float) -> float:
        """What is left over that wanted, where there is least of it."""
        if at not in known:
            p = np.zeros(len(now.layout.bores))
            p[weak.bore] = share * at
            try:
                known[at] = now.under_gas(look.standing, p, start(at))
            except InputError:  # no balance: the gas has taken the head off this bore
                known[at] = None
        state = known[at]
        if state is None:
            return float(-weak.limit.demand * at / peak)
        limit = state.residual(weak.bore) if check == "residual" else state.springback(weak.bore)
        return float(np.min(limit.capacity - limit.demand))

    rest = {p: left(p) for p in known}
    if rest[0.0] < 0.0:
        return 0.0
    for step in itertools.count():
        high = min((p for p in rest if rest[p] < 0.0), default=np.inf)
        low = max(p for p in rest if p < high)
        # the pressure as a cubic of what is left; halves where that leads outside, and now and then
        near = sorted(rest, key=lambda p: abs(rest[p]))[:4]
        drawn = np.polyval(np.polyfit([rest[p] for p in near], near, len(near) - 1), 0.0)
        if abs(rest[near[0]]) <= _SURE * rest[0.0] or high - low <= _SURE * peak:
            return float(np.clip(drawn, low, high))
        if low >= top:
            break
        at = min(float(drawn), top)
        if step % 4 == 3 or not low < at < high:
            at = 0.5 * (low + min(high, top))
        rest[at] = left(at)
    return np.inf
