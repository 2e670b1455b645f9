"""From a build sheet to the map of its deck, and the limits that the map tells.

The map stands on the same joint as the average of one bore: same gasket, preloads, stiffnesses and
gas pressure. Of a limit that both know the map counts, since it resolves the deck: places between
the bolts, holes, and neighbours that help a firing bore. Where a load reaches less far than the
head is thick a plate will not do; there neither is sure, and the worse one counts.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.analysis.clamp import Clamp, kept, zone_creep
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
    sooner,
    worse,
)
from sealkit.analysis.warm import COLD_START, HOT_STATES, Warm, across_head
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.sealing import deck, liquids
from sealkit.sealing.deck import DeckMap, State, Weakest, block
from sealkit.sealing.deck.layout import Step, thermal_bow
from sealkit.sealing.joint import Assembly, Joint
from sealkit.sealing.limit import Condition, Moment, Temperature, of_zone

_POISSON = 0.30  # where none is known, as for the average joint
_NOT_MAPPED = (FIRST_START, COLD_START)
_UP_TO = 3.0  # times the peak, as for the average joint


@dataclass(frozen=True)
class DeckSide:
    """The deck of a build.

    Parameters
    ----------
    deck : its map
    fresh : tightened to the low end, before any loss
    crept, worked : after losses, and after the warm states that press and bow it most
    standing : with what is left of the low end after losses and heat, by temperature
    named : by temperature, the state of the engine that is judged
    high : tightened to the high end, in the state of the engine that tightens it most, crept or not
    fired : by temperature, one state for each cylinder at the peak the joint is sized on
    peak : that pressure over the air outside, Pa
    limits : what the map knows of the limits of the average joint, with the same keys
    failures : the gas pressure at which a seal is passed at its weakest place
    """

    deck: DeckMap
    fresh: State
    crept: State
    worked: State
    standing: dict[Temperature, State]
    named: dict[Temperature | None, str]
    high: State
    fired: dict[Temperature, tuple[State, ...]]
    peak: float
    limits: tuple[Limit, ...]
    failures: tuple[Failure, ...]

    @property
    def resolves(self) -> bool:
        """Whether a plate will do for this head on this gasket, so that the map counts."""
        return self.reach >= self.deck.thickness

    @property
    def temperature(self) -> Temperature:
        """Cold or hot: where the seals have the least margin."""
        return min(self.fired, key=lambda t: deck.weakest(self.fired[t]).margin)

    @property
    def reach(self) -> float:
        """How far a load reaches along the head, at the mean stress of the body (m)."""
        return self.deck.reach(self.fresh.mean_pressure)

    @property
    def weakest(self) -> Weakest:
        """Bore and angle with the least margin at peak pressure of any cylinder."""
        return deck.weakest(self.fired[self.temperature])


def counting(side: DeckSide, average: Iterable[Limit]) -> tuple[Limit, ...]:
    """The rows that count, out of those of the map and of the average joint, in all states.

    The first start and one after the cold soak are no states of the map; there the average joint
    still speaks.

    Parameters
    ----------
    side : the map
    average : all rows of the average joint, in all its states
    """
    known = {row.key for row in side.limits} if side.resolves else set()
    residuals = [row for row in side.limits if row.check == "residual"]
    if known and residuals and all(row.holds for row in residuals):
        known.add("blow-out")  # it begins where the seal is lost, and the map says that it is not
    others = (r for r in average if r.key not in known or r.state.state in _NOT_MAPPED)
    return (*others, *side.limits)


def counting_order(side: DeckSide, average: Iterable[Failure]) -> tuple[Failure, ...]:
    """Likewise the order of failure; what follows from a lost seal comes no sooner than that."""
    if not side.resolves:
        return sooner(average, side.failures)
    known = {f.limit.key for f in side.failures}
    lost = min((f.pressure for f in side.failures if f.limit.check == "residual"), default=0.0)
    others = []
    for f in average:
        if f.limit.check in ("springback", "blow-out"):
            others.append(dataclasses.replace(f, pressure=max(f.pressure, lost)))
        elif f.limit.key not in known or f.limit.state.state in _NOT_MAPPED:
            others.append(f)
    # at the same pressure the loss of the seal comes before what follows from it
    return sooner(side.failures, others)


def deck_of(build: Build, made: Joint) -> DeckMap:
    """The map of the deck of a build that has a section [deck].

    Raises
    ------
    InputError
        if the sheet has no section [deck].
    """
    lay, sheet = build.layout, build.deck
    assert sheet is not None
    materials = tables.load("materials")
    head = materials[build.head.material]
    return deck.from_joint(
        made,
        lay,
        build.plate_thickness,
        head["modulus"],
        _POISSON if head["poisson"] is None else head["poisson"],
        steps=[Step(*s.place, s.extra, s.diameter, s.size) for s in sheet.thickness],
        warp=(sheet.lengthwise_bow, sheet.across_bow),
        bolt_diameter=build.fasteners.bearing_diameter,
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


def after_losses(
    build: Build, made_deck: DeckMap, clamp: Clamp, fresh: State, start: State | None = None
) -> State:
    """The deck tightened to the low end, after embedment and creep of its zones."""
    most = made_deck.yield_force * (1.0 - 1e-9)
    before, after = (min(float(a.preload[0]), most) for a in (clamp.before_creep, clamp.low))
    settled = made_deck.at_preload(fresh, before)
    creep = zone_creep(build, made_deck.gasket)
    return made_deck.at_preload(settled, after, creep, start) if creep else settled


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
    force = functools.partial(_held, made_deck)
    fresh = made_deck.assemble(force(case.first.assembly_preload))
    crept = after_losses(build, made_deck, clamp, fresh)
    worked = pressed_hot(build, made_deck, crept, warm)
    standing: dict[Temperature, State] = {}
    fired: dict[Temperature, tuple[State, ...]] = {}
    named: dict[Temperature | None, str] = {}
    used: dict[Temperature, DeckMap] = {}
    for temperature in (COLD, HOT):
        least = case.least(temperature)
        if least is None:
            continue
        say(f"{temperature}, without gas")
        now = dict([least])
        if temperature is HOT:
            # with more clamp only a state in which the head bows further may be worse
            bow = across_head(build, least[0])
            hot = {n: warm.stands(n) for n in HOT_STATES if across_head(build, n) > bow}
            for most in sorted({float(across_head(build, n)) for n in hot}):
                alike = [n for n in hot if across_head(build, n) == most]
                name = min(alike, key=lambda n: force(hot[n].preload))
                now[name] = hot[name]
        decks = {n: bowed(build, made_deck, n) for n in now}
        start = {n: standing.get(COLD, crept) if decks[n] is made_deck else worked for n in now}
        stands = {n: _stand(decks[n], worked, now[n], start[n]) for n in now}
        name = min(stands, key=lambda n: _least_load(stands[n]))
        named[temperature], standing[temperature] = name, stands[name]
        say(f"{temperature}, each cylinder at its peak")
        cold = [(standing[COLD], state) for state in fired.get(COLD, ())]
        starts = [_likewise(stands[name], *each) for each in cold]
        fired[temperature] = decks[name].firing(stands[name], peak, starts)
        used[temperature] = decks[name]
    say("highest preload")
    hottest = strong = made_deck.vary(yield_force=case.strong.yield_force)
    high = strong.assemble(float(np.ravel(case.high.assembly_preload)[0]), start=fresh)
    tightest = max(case.heated, key=lambda h: 0.0 if h.high is None else force(h.high.preload))
    pressed_when = Condition(COLD, HIGH, Moment.REST)
    if tightest.high is not None and force(tightest.high.preload) > force(case.high.preload):
        hottest = bowed(build, strong, tightest.name)
        start_hot = _likewise(high, crept, worked)
        high = hottest.at_preload(high, float(np.ravel(tightest.high.preload)[0]), start=start_hot)
        pressed_when = Condition(tightest.temperature, HIGH, Moment.REST, state=tightest.name)
    if tightest.crept is not None:
        # what the body creeps out of, the seal takes over
        left, creep = force(tightest.crept.preload), zone_creep(build, made_deck.gasket)
        high = max(high, hottest.at_preload(high, left, creep), key=_pressed)
    soaked = made_deck.at_preload(standing[COLD], force(warm.soak.cold.preload))
    limits = [*_assembled(fresh, high, pressed_when), *_fired(fired)]
    limits += _liquid(build, fresh, standing, fired, soaked)
    limits = [_named(row, named) for row in limits]
    say("pressure at which the seal is passed")
    failures = tuple(
        dataclasses.replace(f, limit=_named(f.limit, named))
        for f in _failures(used, standing, fired, peak, worse(limits))
    )
    return DeckSide(
        deck=made_deck,
        fresh=fresh,
        crept=crept,
        worked=worked,
        standing=standing,
        named=named,
        high=high,
        fired=fired,
        peak=peak,
        limits=tuple(limits),
        failures=failures,
    )


def with_other_bow(build: Build, side: DeckSide, case: Case, warm: Warm) -> Limit | None:
    """The load left on the seals at their weakest bore, of a head that bows otherwise when hot.

    Parameters
    ----------
    build : the same sheet but for the bow, such as `head.gradient`
    side, case, warm : what was worked out for the sheet itself; of all states and cylinders only
        the weakest is looked at anew
    """
    temperature, bore = side.temperature, side.weakest.bore
    name = side.named[temperature]
    least = case.least(temperature)
    assert least is not None
    average = warm.stands(name) if name in HOT_STATES else least[1]
    worked = pressed_hot(build, side.deck, side.crept, warm, side.worked)
    now = bowed(build, side.deck, name)
    before, gas = side.standing[temperature], side.fired[temperature][bore]
    stand = _stand(now, worked, average, before)
    pressure = side.peak * np.eye(len(side.deck.layout.bores))[bore]
    fired: dict[Temperature, tuple[State, ...]] = {}
    fired[temperature] = (now.under_gas(stand, pressure, _likewise(stand, before, gas)),)
    return next((row for row in _fired(fired) if row.check == "residual"), None)


def pressed_hot(
    build: Build, made_deck: DeckMap, crept: State, warm: Warm, start: State | None = None
) -> State:
    """The deck after what the warm states press most: the tightest, and the one that bows most."""
    bows = {name: float(across_head(build, name)) for name in HOT_STATES}
    most = max(bows, key=lambda name: bows[name])
    state = crept
    for name in dict.fromkeys((most if bows[most] else warm.tightest, warm.tightest)):
        force = _held(made_deck, warm.stands(name).preload)
        if bows[name] or force > float(crept.preload[0]):
            state = bowed(build, made_deck, name).at_preload(state, force, start=start)
    return state


def _stand(now: DeckMap, worked: State, average: Assembly, start: State | None = None) -> State:
    """The deck in a state of the engine, with the preload of the average joint there."""
    force = kept(_held(now, average.preload), float(worked.preload[0]))
    return now.at_preload(worked, force, start=start)


def _held(made_deck: DeckMap, preload: Any) -> float:
    """The preload of one fastener, as far as the deck takes it (N)."""
    most = made_deck.yield_force * (1.0 - 1e-9)
    return min(float(np.asarray(preload, dtype=float).ravel()[0]), most)


def _likewise(state: State, before: State, after: State) -> State:
    """Where to start the solution from for what follows a state as `after` follows `before`."""
    return dataclasses.replace(after, unknowns=state.unknowns + after.unknowns - before.unknowns)


def _least_load(state: State) -> float:
    """Load on the seals where it is least [N/m or Pa]."""
    return min(float(np.min(state.line_load(i)[1])) for i in range(len(state.deck.layout.bores)))


def _at_place(found: Weakest, state: Condition) -> Limit:
    place = f"deck map, bore {found.bore + 1} at {np.degrees(found.angle):.0f}°"
    return dataclasses.replace(found.limit, state=dataclasses.replace(state, detail=place))


def _named(row: Limit, named: dict[Temperature | None, str]) -> Limit:
    """The row with the state of the engine, where the low end is looked at after assembly."""
    if row.state.preload is not LOW or row.state.moment is ASSEMBLY:
        return row
    name = named.get(row.state.temperature, "")
    return dataclasses.replace(row, state=dataclasses.replace(row.state, state=name))


def _pressed(state: State) -> float:
    """The highest load of the seals (N/m), to tell which of two states presses them more."""
    return sum(state.highest(zone.name) for zone in state.deck.gasket.seals)


def _assembled(fresh: State, high: State, when: Condition) -> list[Limit]:
    """Seating and crushing where the load is lowest and highest."""
    rows = []
    # not of the body: right under a bolt a thin plate spreads the load too little to judge it
    for zone in fresh.deck.gasket.seals:
        found = fresh.worst("seating", zone.name)
        if found is not None:
            rows.append(_at_place(found, Condition(COLD, LOW, ASSEMBLY)))
        if np.isfinite(zone.crush):
            state = dataclasses.replace(when, detail="deck map, highest place")
            rows.append(of_zone("crush", zone, high.highest(zone.name), zone.crush, state))
    return rows


def _fired(fired: dict[Temperature, tuple[State, ...]]) -> list[Limit]:
    """Load left and springback at the weakest place, any cylinder at its peak."""
    rows = []
    for temperature, states in fired.items():
        if all(zone.factor <= 0 for zone in states[0].deck.gasket.seals):
            continue
        for check in ("residual", "springback"):
            found = [w for s in states if (w := s.worst(check)) is not None]
            if found:
                worst = min(found, key=lambda w: w.margin)
                rows.append(_at_place(worst, Condition(temperature, LOW, PEAK)))
    return rows


def _liquid(
    build: Build,
    fresh: State,
    standing: dict[Temperature, State],
    fired: dict[Temperature, tuple[State, ...]],
    soaked: State,
) -> list[Limit]:
    """Every liquid hole at its weakest place, without gas and with any cylinder at its peak.

    Each oil hole is taken for a feed under gallery pressure; a drain needs next to nothing.
    """
    if build.liquids.deck == "dry" or not fresh.holes():
        return []
    place = "deck map, weakest place"
    states: list[tuple[Sequence[str], Condition, State]] = [
        (liquids.COLD_CIRCUITS, Condition(COLD, LOW, ASSEMBLY, place), fresh),
        (liquids.SOAK_CIRCUITS, Condition(COLD, LOW, Moment.REST, f"soaked, {place}"), soaked),
    ]
    for temperature, state in standing.items():
        circuits = liquids.HOT_CIRCUITS if temperature is HOT else liquids.COLD_CIRCUITS
        states.append((circuits, Condition(temperature, LOW, Moment.REST, place), state))
        peak = Condition(temperature, LOW, PEAK, place)
        states += [(circuits, peak, s) for s in fired[temperature]]
    trust = {z.name: z.status for z in fresh.deck.gasket.zones}
    rows = []
    for names, condition, state in states:
        known = [liquids.circuit.si(name) for name in names]
        pressures = {circuit.liquid: float(circuit.high) for circuit in known}
        if condition.temperature is HOT and build.liquids.coolant_pressure is not None:
            pressures["coolant"] = build.liquids.coolant_pressure
        for row in state.liquid(pressures, build.liquids.facing):
            status = tables.weakest(row.status, trust[row.part])
            rows.append(dataclasses.replace(row, state=condition, status=status))
    return rows


def _least_left(state: State, bore: int) -> float:
    """Load left over that wanted round a bore, where there is least of it [N/m]."""
    limit = state.residual(bore)
    return float(np.min(limit.capacity - limit.demand))


def _failures(
    decks: dict[Temperature, DeckMap],
    standing: dict[Temperature, State],
    fired: dict[Temperature, tuple[State, ...]],
    peak: float,
    limits: Iterable[Limit],
) -> tuple[Failure, ...]:
    """Gas pressure at which the seal is passed at the place that is weakest at peak.

    What does not hold without gas is passed before firing, what does not at peak at least there.
    """
    from scipy.optimize import brentq

    out = [
        Failure(r, np.inf if r.holds else peak if r.state.moment is PEAK else 0.0)
        for r in limits
        if r.check not in ("residual", "springback") or not r.holds
    ]
    found = [
        (w.margin, t, w)
        for t, states in fired.items()
        for s in states
        if (w := s.worst("residual")) is not None
    ]
    if not found:
        return tuple(out)
    _, temperature, weak = min(found, key=lambda row: row[0])
    made_deck = decks[temperature]
    gas_area = np.pi / 4.0 * made_deck.seal_diameter**2
    bolts = len(made_deck.layout.bolts)
    top = min(_UP_TO * peak, 0.999 * made_deck.yield_force * bolts / gas_area)
    rest, gas = standing[temperature], fired[temperature][weak.bore]
    known: dict[float, float] = {peak: _least_left(gas, weak.bore)}

    def left(at: float) -> float:
        """Load left over that wanted, where there is least of it [N/m]."""
        nonlocal gas
        if at not in known:
            # as if the head moved with the pressure
            more = (at / gas.pressure[weak.bore]) * (gas.unknowns - rest.unknowns)
            start = dataclasses.replace(gas, unknowns=rest.unknowns + more)
            p = np.zeros(len(made_deck.layout.bores))
            p[weak.bore] = at
            try:
                now = made_deck.under_gas(rest, p, start=start)
                known[at] = _least_left(now, weak.bore)
                gas = now if at > 0.0 else gas
            except InputError:  # no balance: the gas has taken the head off this bore
                known[at] = -weak.limit.demand * at / peak
        return known[at]

    pressure = np.inf
    if known[peak] < 0.0 or left(top) < 0.0:
        low, high = (0.0, peak) if known[peak] < 0.0 else (peak, top)
        pressure = brentq(left, low, high, xtol=1e-3 * peak)
    return (*out, Failure(_at_place(weak, Condition(temperature, LOW, PEAK)), pressure))
