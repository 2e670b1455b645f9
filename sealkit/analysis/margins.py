"""Every limit of the joint as one row, the weakest link, and what gives first as pressure rises.

A row compares a demand with a capacity of the same kind; its margin of safety is
capacity / demand - 1, so that zero just holds and below zero does not. Sealing is judged with the
low end of the preload, strength with the high end.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit.analysis.carried import Carried
from sealkit.analysis.clamp import Clamp
from sealkit.arrays import Array
from sealkit.errors import fail
from sealkit.fastening import fatigue
from sealkit.sealing import criteria
from sealkit.sealing.joint import Assembly, Joint, JointState
from sealkit.sealing.limit import (
    Condition,
    Limit,
    Moment,
    Preload,
    Temperature,
    lesser,
    of_zone,
    one_after_the_other,
)
from sealkit.tables import weakest as least_trusted
from sealkit.words import Note, note

COLD, HOT = Temperature.COLD, Temperature.HOT
LOW, HIGH = Preload.LOW, Preload.HIGH
ASSEMBLY, PEAK = Moment.ASSEMBLY, Moment.PEAK
Origin = tuple[Note | str, str, Note | str]  # source, status, note
Under = Callable[[Assembly], JointState]  # how a joint that stands so stands under gas

FIRST_START = "first start"
"""Name of the state in which the joint is fired before its gasket has crept."""


@dataclass(frozen=True)
class Heated:
    """The joint in a state of the engine; `name` is empty cold in the workshop."""

    # temperature, name: hot or cold, and the state of the table of temperatures
    temperature: Temperature
    name: str
    # low, high: with either end of the preload; None where another state is never better
    low: Assembly | None
    high: Assembly | None
    # the high end after all zones have crept as far as they may; None without `high`
    crept: Assembly | None = None
    gas: float = 1.0  # share of the design peak pressure that the engine meets in it
    # proof, strip, bearing: shares left of the fasteners' proof strength, of the tapped thread's
    # and of the strength of the head under the fasteners
    proof: Any = 1.0
    strip: Any = 1.0
    bearing: Any = 1.0
    trust: str = "computed"  # status of these and of the temperatures


@dataclass(frozen=True, eq=False)
class Case:
    """What the limits are worked out from, in plain SI; numbers may be arrays over builds."""

    clamp: Clamp
    joint: Joint  # of one bore, with the weakest of its fasteners
    first: Assembly  # as assembled with the low end of the preload, before it crept or was ever hot
    # low, high: cold, with the low end after losses and heat, with the high end before losses
    low: Assembly
    high: Assembly
    # the states of the engine in which a limit may be at its worst, beside that of `low`
    heated: tuple[Heated, ...]
    rolled: str  # when the fastener's thread was rolled
    tightening_stress: Any  # combined stress while tightening to the high preload, Pa
    # permanent_stretch, stretch_limit: stretch past yield by tightening, heat and gas, and what is
    # allowed, m
    permanent_stretch: Any
    stretch_limit: float
    stretched_when: str  # state of the engine in which heat and gas stretch them most
    strip_load: Any  # pull that strips the engaged thread, N
    bearing_area: float  # contact under the bolt head or nut, m**2
    bearing_limit: float  # pressure the head's material stands there, Pa
    under: str  # what presses on the head, in words
    # limits that do not change with the gas pressure, such as those of the liquids at rest
    others: tuple[Limit, ...]
    lifted: Callable[[Under], tuple[Limit, ...]]  # limits of the liquids while gas lifts the head
    # (source, status, note) by key "strength", "stretch", "strip", "bearing"
    sources: dict[str, Origin]
    # how the limits are carried over to the weakest place of a deck map, where they are
    carried: Carried | None = None

    def least(self, temperature: Temperature) -> tuple[str, Assembly] | None:
        """State, hot or cold, with the lowest clamp that meets the whole peak pressure."""
        found = [("", self.low)] if temperature is COLD else []
        found += [
            (h.name, h.low)
            for h in self.heated
            if h.low is not None and h.temperature is temperature and h.gas == 1.0
        ]
        return min(found, key=lambda row: float(np.min(row[1].preload)), default=None)


def limits(case: Case, pressure: ArrayLike) -> tuple[Limit, ...]:
    """All limits at a gas pressure over the air outside, Pa (one, or an array of single loads).

    A limit that is looked at in several states comes once for each, with the same key; `worse`
    keeps the one with the least margin. A case of many builds takes one pressure, or one for each.
    """
    p = np.asarray(pressure, dtype=float)
    if not np.all(np.isfinite(p)) or np.any(p < 0):
        raise fail("pressure", p, "gas pressures not below zero")
    builds = len(case.low.preload)
    if builds > 1 and p.shape != (builds,):
        if p.ndim:
            raise fail(
                "pressure", f"an array of shape {p.shape}", f"one for each of {builds} builds"
            )
        p = np.full(builds, float(p))

    @functools.cache
    def under(assembly: Assembly, share: float) -> JointState:
        return case.joint.under_gas(assembly, share * p.reshape(-1, 1))

    def low(end: Assembly, share: float, warm: Temperature, name: str = "") -> list[Limit]:
        return _low(case, p, under(end, share), end, warm, name)

    rows = [*_assembled(case), *low(case.low, 1.0, COLD)]
    if np.any(case.first.seal_load < case.low.seal_load):
        # what the seal takes over as other zones creep, it does not have yet
        rows += [r for r in low(case.first, 1.0, COLD, FIRST_START) if r.check == "residual"]
    for h in case.heated:
        # on the same gasket more clamp is never worse, unless the head bows
        if h.low is not None and np.any(h.low.preload < case.low.preload):
            rows += low(h.low, h.gas, h.temperature, h.name)
        elif h.low is not None and case.carried and (h.temperature, "") in case.carried.spots:
            found = low(h.low, h.gas, h.temperature, h.name)
            rows += [r for r in found if r.check == "residual"]
        if h.high is not None:
            rows += _high(case, h.gas * p, h.high, h)
    rows += [*case.others, *case.lifted(lambda x: under(x, 1.0))]
    return tuple(rows if case.carried is None else map(case.carried.row, rows))


def worse(rows: Iterable[Limit]) -> tuple[Limit, ...]:
    """One row of each key: the one with the smallest margin; build by build for many builds."""
    out: dict[str, Limit] = {}
    for row in rows:
        kept = out.get(row.key)
        out[row.key] = row if kept is None else lesser(kept, row)
    return tuple(out.values())


def _at(p: Array, values: Any) -> Any:
    """Values over the pressures of `p`, as a float where `p` is one pressure."""
    flat = np.asarray(values, dtype=float).reshape(-1)
    return float(flat[0]) if p.ndim == 0 else np.full(p.size, flat).reshape(p.shape)


def _assembled(case: Case) -> list[Limit]:
    """What is decided when the head is tightened."""
    rows = [
        of_zone(
            "seating",
            zone,
            zone.seating,
            case.first.seated_loads[zone.name],
            Condition(COLD, LOW, ASSEMBLY),
            wording="" if zone.role == "seal" else "body seating",
        )
        for zone in case.joint.gasket.zones
        if zone.seating > 0 and zone.role != "liquid"
    ]
    rows += [row for h in case.heated for row in _crush(case, h)]
    if case.clamp.judged_by_stretch:
        state = Condition(HOT, HIGH, PEAK, state=case.stretched_when)
        found = ("permanent stretch", "fasteners", case.permanent_stretch, case.stretch_limit)
        return [*rows, Limit(*found, "length", state, *case.sources["stretch"])]
    told = "on the {section}, nominal friction; the twist goes with the wrench"
    origin = (*case.sources["strength"][:2], note(told, section=case.clamp.weakest_section))
    found = ("tightening", "fasteners", case.tightening_stress, case.clamp.strength.yield_strength)
    return [*rows, Limit(*found, "stress", Condition(COLD, HIGH, ASSEMBLY), *origin)]


def _crush(case: Case, h: Heated) -> list[Limit]:
    """The load of each zone, also where the others have crept and left it theirs."""
    if h.high is None:
        return []
    state = Condition(h.temperature, HIGH, Moment.REST, state=h.name)
    loads = h.high.seated_loads
    if h.crept is not None:
        loads = {k: np.maximum(v, h.crept.seated_loads[k]) for k, v in loads.items()}
    return [
        of_zone("crush", zone, loads[zone.name], zone.crush, state)
        for zone in case.joint.gasket.zones
        if np.isfinite(zone.crush)
    ]


def _low(
    case: Case, p: Array, gas: JointState, assembly: Assembly, temperature: Temperature, name: str
) -> list[Limit]:
    """Sealing, with the low end of the preload that stands under this gas."""
    state = Condition(temperature, LOW, PEAK, state=name)
    held, follows = [], []
    for zone in case.joint.gasket.seals:
        if zone.factor <= 0:
            continue
        wanted, left = zone.required(gas.pressure), gas.zone_loads[zone.name]
        if case.carried is not None:
            left = case.carried.load(state, zone.name, assembly.zone_loads[zone.name], left)
        held.append(of_zone("residual", zone, _at(p, wanted), _at(p, left), state))
        follows.append(
            of_zone(
                "springback",
                zone,
                _at(p, np.maximum(np.asarray(gas.seal_lift, dtype=float), 0.0)),
                case.joint.springback(assembly, zone),
                state,
                kind="lift",
                note="lift at the seal, with the bending of the head between its fasteners",
            )
        )
    rows = [one_after_the_other(r) for r in (held, follows) if r]
    lifts_off = case.joint.separation(assembly) * case.joint.gas_area
    source = "force balance of the joint with its bolt, member and gasket springs"
    trust = least_trusted("computed", *(z.status for z in case.joint.gasket.zones))
    found = ("lift-off", "clamp", _at(p, gas.gas_force), lifts_off)
    rows.append(Limit(*found, "force", state, source, trust))
    if case.joint.gasket.edge is not None:
        rows += _blow_out(case, p, gas, state, [r for r in rows if r.check == "residual"])
    return [*rows, _fatigue(case, p, assembly, gas, state)]


def _fatigue(case: Case, p: Array, assembly: Assembly, gas: Any, state: Condition) -> Limit:
    """The swing of the fastener's tension between no gas and this pressure."""
    rest, thread = assembly.preload, case.clamp.thread
    peak = np.asarray(gas.bolt_force, dtype=float).reshape(-1)
    mean = 0.5 * (rest + peak) / (case.clamp.strength.yield_strength * thread.stress_area)
    endurance = fatigue.endurance_amplitude.si(thread.diameter, case.rolled, mean)
    return Limit(
        "fatigue",
        "fasteners",
        _at(p, fatigue.alternating_stress.si(rest, peak, thread.stress_area)),
        _at(p, endurance),
        "stress",
        state,
        f"{fatigue.SOURCE}, rolled {case.rolled}",
        fatigue.STATUS,
        "as if every cycle reached this pressure; one fastener that has lost its preload takes all "
        "of the gas load",
    )


def edge_hold(case: Case, pressure: Any, stress: Any) -> criteria.BlowOut:
    """The unbacked edge of the body against gas (Pa gauge), with this stress (Pa) left on it."""
    edge = case.joint.gasket.edge
    assert edge is not None
    return criteria.blow_out.si(
        pressure,
        edge.thickness,
        edge.width,
        stress,
        edge.friction,
        edge.tensile_strength,
        case.joint.seal_diameter / 2,
    )


def _blow_out(case: Case, p: Array, gas: Any, state: Condition, held: list[Limit]) -> list[Limit]:
    """An unbacked edge of the body, once gas has passed the armour or ring that backs it."""
    judged = [z for z in case.joint.gasket.seals if z.factor > 0]
    sealed = np.full(np.shape(gas.pressure), not judged)
    for zone in judged:
        sealed |= np.asarray(gas.zone_loads[zone.name]) >= zone.required(gas.pressure)
    for row in held:  # at the weakest place, where that is known
        sealed |= np.reshape(np.asarray(row.margin) >= 0.0, sealed.shape)
    rows = []
    for zone in case.joint.gasket.others:
        if zone.role != "body":
            continue
        hold = edge_hold(case, gas.pressure, gas.zone_loads[zone.name])
        rows.append(
            of_zone(
                "blow-out",
                zone,
                _at(p, np.where(sealed, 0.0, hold.push)),
                _at(p, hold.friction_hold + hold.web_hold),
                state,
                of="",
                kind="line load",
                source="friction on both faces and the web as a hoop: Valve Selection Handbook, "
                "p. 19; hoop term from memory",
                status=least_trusted("from memory", zone.status),
                note="strength and width of the web are those of the construction",
            )
        )
    return rows


def _high(case: Case, p: Array, assembly: Assembly, h: Heated) -> list[Limit]:
    """Strength, with the high end of the preload before anything has settled."""
    state = Condition(h.temperature, HIGH, PEAK, "before losses", h.name)
    strong, c = case.clamp.strong, case.clamp
    tension = np.asarray(strong.under_gas(assembly, p.reshape(-1, 1)).bolt_force)
    # hot they yield sooner; balance holds up to there
    tension = np.minimum(tension.reshape(-1), strong.yield_force * h.proof)
    (source, status, told), strip, bearing = (
        (_hot_source(where, trust, h), least_trusted(trust, h.trust), words)
        for where, trust, words in (case.sources[k] for k in ("strength", "strip", "bearing"))
    )
    strips, bears = _at(p, case.strip_load * h.strip), _at(p, case.bearing_limit * h.bearing)
    pressed, under = _at(p, tension / case.bearing_area), (("under", case.under),)
    found = ("bearing", "head under the fasteners", pressed, bears)
    rows = [
        Limit("threads", "threads in the block", _at(p, tension), strips, "force", state, *strip),
        Limit(*found, "stress", state, *bearing, values=under),
    ]
    if c.judged_by_stretch:
        # one that may be taken to yield pulls no harder than that; there the stretch counts
        return rows
    words = "on the {section}; {told}" if told else "on the {section}"
    where = note(words, section=c.weakest_section, told=told)
    stress, holds = _at(p, tension / c.weakest_area), _at(p, c.strength.proof * h.proof)
    origin = (source, status, where)
    return [Limit("fastener", "fasteners", stress, holds, "stress", state, *origin), *rows]


def _hot_source(where: Note | str, trust: str, h: Heated) -> Note | str:
    """Source of a strength; where heat makes it less trusted, what each of the two is."""
    if least_trusted(trust, h.trust) == trust:
        return where
    words = "{where} ({trust}); the temperatures and what they leave of it are {hot}"
    return note(words, where=where, trust=trust, hot=h.trust)


def weakest(rows: tuple[Limit, ...]) -> Limit:
    """The limit with the smallest margin (at its lowest, where rows are arrays)."""
    return min(rows, key=lambda r: float(np.min(np.asarray(r.margin))))


@dataclass(frozen=True)
class Failure:
    """A limit (over the pressures looked at) and the gas pressure at which it is reached.

    In Pa above the air outside: 0 if it is passed without any gas, infinite if it is not reached.
    """

    limit: Limit
    pressure: float


_CEILING = 300e5  # gas pressure, Pa, far above that of any spark-ignition engine; from memory


def up_to(peak: float) -> float:
    """Gas pressure up to which it is looked at what gives, the more for a design peak, Pa."""
    return max(3.0 * peak, _CEILING)


def order_of_failure(case: Case, up_to: float) -> tuple[Failure, ...]:
    """The limits in the order in which they are reached as peak pressure rises.

    Returns a tuple of `Failure`, lowest pressure first.

    Parameters
    ----------
    up_to : highest gas pressure looked at, Pa
    """
    found = _reached(case, _AT_ONCE * int(np.ceil(up_to / (_AT_ONCE * _STEP))))
    return sooner(f if f.pressure <= up_to else replace(f, pressure=np.inf) for f in found)


_STEP = _CEILING / 640  # from one gas pressure looked at to the next, Pa; lines straight between
_AT_ONCE = 128  # steps by which it is looked further


@functools.lru_cache(maxsize=4)
def _reached(case: Case, steps: int) -> list[Failure]:
    """Where each limit is reached, kept: another gas on the same joint has the same case."""
    pressures = _STEP * np.arange(steps + 1)
    found: list[Failure] = []
    for row in limits(case, pressures):
        demand = np.full(pressures.shape, row.demand)
        lack = demand - row.capacity
        rounding = 1e-9 * max(np.max(lack), 0.0)
        i = int(np.argmax(lack > rounding))
        pressure = 0.0 if lack[i] > rounding else np.inf
        if i > 0:
            (before, after), near = pressures[i - 1 : i + 1], lack[i - 1 : i + 1]
            pressure = float(np.interp(0.0, near, (before, after)))
            if demand[i - 1] <= rounding:
                # blow-out begins with a jump, where the seal is lost
                lost = (f.pressure for f in found if f.limit.check == "residual")
                pressure = next((p for p in lost if before <= p <= after), float(after))
        found.append(Failure(row, pressure))
    return found


def sooner(*orders: Iterable[Failure]) -> tuple[Failure, ...]:
    """Several orders of failure as one: of each limit the lowest pressure, lowest first."""
    out: dict[str, Failure] = {}
    for failure in itertools.chain(*orders):
        kept = out.get(failure.limit.key)
        if kept is None or failure.pressure < kept.pressure:
            out[failure.limit.key] = failure
    return tuple(sorted(out.values(), key=lambda f: f.pressure))
