"""Every limit of the joint as one row, the weakest link, and what gives first as pressure rises.

A row compares a demand with a capacity of the same kind; its margin of safety is
capacity / demand - 1, so that zero just holds and below zero does not. Sealing is judged with the
low end of the preload, strength with the high end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit.errors import fail
from sealkit.sealing.joint import Assembly, Joint

Array = NDArray[np.float64]

LOW, HIGH = "low preload", "high preload"
ASSEMBLY, PEAK = "at assembly", "at peak pressure"


@dataclass(frozen=True)
class Limit:
    """One limit.

    Parameters
    ----------
    key : stable name
    what : in words
    part : the part that gives way
    demand, capacity : plain SI, floats or arrays over pressure
    kind : kind of both (`sealkit.units.KINDS`)
    state : preload and moment, such as "low preload, at peak pressure"
    source, status : of the capacity
    note : what to know about it
    gives : what happens when it is passed
    """

    key: str
    what: str
    part: str
    demand: Any
    capacity: Any
    kind: str
    state: str
    source: str
    status: str
    note: str = ""
    gives: str = ""

    @property
    def margin(self) -> Any:
        """Margin of safety, capacity / demand - 1 (float or array; infinite without demand)."""
        demand = np.asarray(self.demand, dtype=float)
        capacity = np.asarray(self.capacity, dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            margin = np.where(
                demand > 0, capacity / np.where(demand > 0, demand, 1.0) - 1.0, np.inf
            )
        return float(margin) if margin.ndim == 0 else margin

    @property
    def holds(self) -> bool:
        """Whether the margin is nowhere below zero."""
        return bool(np.all(np.asarray(self.margin) >= 0.0))


@dataclass(frozen=True)
class Case:
    """What the limits are worked out from, in plain SI.

    Parameters
    ----------
    joint : the joint of one bore
    low, high : the joint as assembled with the low and the high end of the preload
    yields_on_purpose : whether the tightening method takes the fastener to yield
    proof, yield_strength : of the fastener, Pa
    section, area : name and area of its weakest section, m**2
    tightening_stress : combined stress while tightening to the high preload, Pa
    permanent_stretch, stretch_limit : stretch past yield while tightening and what is allowed, m
    strip_load : pull that strips the engaged thread, N
    bearing_area : contact under the bolt head or nut, m**2
    bearing_limit : pressure the head's material stands there, Pa
    under : what presses on the head, in words
    sources : (source, status, note) by key "strength", "stretch", "strip", "bearing"
    """

    joint: Joint
    low: Assembly
    high: Assembly
    yields_on_purpose: bool
    proof: float
    yield_strength: float
    section: str
    area: float
    tightening_stress: float
    permanent_stretch: float
    stretch_limit: float
    strip_load: float
    bearing_area: float
    bearing_limit: float
    under: str
    sources: dict[str, tuple[str, str, str]]


def limits(case: Case, pressure: ArrayLike) -> tuple[Limit, ...]:
    """All limits at a gas pressure over the air outside, Pa (one, or an array of single loads)."""
    p = np.asarray(pressure, dtype=float)
    if not np.all(np.isfinite(p)) or np.any(p < 0):
        raise fail("pressure", p, "gas pressures not below zero")
    shape = p.reshape(-1, 1)
    low = case.joint.under_gas(case.low, shape)
    high = case.joint.under_gas(case.high, shape)

    def at(x: Any) -> Any:
        flat = np.broadcast_to(np.asarray(x, dtype=float).reshape(-1), (shape.size,))
        return float(flat[0]) if p.ndim == 0 else flat.reshape(p.shape)

    one = float
    rows: list[Limit] = []
    seals = case.joint.gasket.seals
    for zone in case.joint.gasket.zones:
        kind = "line load" if zone.per == "length" else "stress"
        seated_low = one(case.low.seated_loads[zone.name][0])
        seated_high = one(case.high.seated_loads[zone.name][0])
        if zone.seating > 0:
            rows.append(
                Limit(
                    f"seating/{zone.name}",
                    f"{zone.name}: load to bed in at assembly",
                    zone.name,
                    zone.seating,
                    seated_low,
                    kind,
                    f"{LOW}, {ASSEMBLY}",
                    zone.source,
                    zone.status,
                    zone.note,
                    f"the {zone.name} never beds in and leaks from the start",
                )
            )
        if np.isfinite(zone.crush):
            rows.append(
                Limit(
                    f"crush/{zone.name}",
                    f"{zone.name}: load against crushing",
                    zone.name,
                    seated_high,
                    zone.crush,
                    kind,
                    f"{HIGH}, {ASSEMBLY}",
                    zone.source,
                    zone.status,
                    zone.note,
                    f"the {zone.name} is crushed when the head is tightened",
                )
            )
        if zone in seals and zone.factor > 0:
            rows.append(
                Limit(
                    f"residual/{zone.name}",
                    f"{zone.name}: load left to hold the gas",
                    zone.name,
                    at(zone.required(low.pressure)),
                    at(low.zone_loads[zone.name]),
                    kind,
                    f"{LOW}, {PEAK}",
                    zone.source,
                    zone.status,
                    zone.note,
                    f"gas passes the {zone.name}",
                )
            )
            left = zone.recovery(case.low.zone_tops[zone.name]) - (
                case.low.zone_tops[zone.name] - _zone_closure(case.joint, zone, case.low)
            )
            rows.append(
                Limit(
                    f"follow/{zone.name}",
                    f"{zone.name}: lift it has to follow against its springback",
                    zone.name,
                    at(np.maximum(np.asarray(low.seal_lift, dtype=float), 0.0)),
                    one(left[0]),
                    "lift",
                    f"{LOW}, {PEAK}",
                    zone.source,
                    zone.status,
                    "lift at the seal, with the bending of the head between its fasteners",
                    f"the head lifts further than the {zone.name} springs back",
                )
            )
    rows.append(
        Limit(
            "lift-off",
            "gas force against the force that takes the last clamp",
            "clamp",
            at(low.gas_force),
            one(case.joint.separation(case.low)[0] * case.joint.gas_area),
            "force",
            f"{LOW}, {PEAK}",
            "force balance of the joint with its bolt, member and gasket springs",
            "computed",
            "",
            "the gas lifts the head off the gasket",
        )
    )
    source, status, note = case.sources["strength"]
    if not case.yields_on_purpose:
        rows.append(
            Limit(
                "tightening",
                "fastener while tightening: pull and twist together",
                "fasteners",
                case.tightening_stress,
                case.yield_strength,
                "stress",
                f"{HIGH}, {ASSEMBLY}",
                source,
                status,
                f"on the {case.section}, nominal friction; twist leaves after tightening",
                "the fastener stretches for good while it is tightened",
            )
        )
    if case.permanent_stretch > 0:
        rows.append(
            Limit(
                "permanent stretch",
                "stretch past yield while tightening",
                "fasteners",
                case.permanent_stretch,
                case.stretch_limit,
                "length",
                f"nominal preload, {ASSEMBLY}",
                *case.sources["stretch"],
                "the fastener is stretched too far to be trusted",
            )
        )
    allowed, word = (
        (case.yield_strength, "yield") if case.yields_on_purpose else (case.proof, "proof strength")
    )
    rows.append(
        Limit(
            "fastener",
            f"fastener pull against its {word}",
            "fasteners",
            at(np.asarray(high.bolt_force) / case.area),
            allowed,
            "stress",
            f"{HIGH}, before losses, {PEAK}",
            source,
            status,
            f"on the {case.section}" + (f"; {note}" if note else ""),
            "the fasteners stretch for good and the clamp is gone afterwards",
        )
    )
    rows.append(
        Limit(
            "threads",
            "fastener pull against stripping of the engaged thread",
            "threads in the block",
            at(high.bolt_force),
            case.strip_load,
            "force",
            f"{HIGH}, before losses, {PEAK}",
            *case.sources["strip"],
            "the threads pull out of the block",
        )
    )
    rows.append(
        Limit(
            "bearing",
            f"pressure under the {case.under}",
            "head under the fasteners",
            at(np.asarray(high.bolt_force) / case.bearing_area),
            case.bearing_limit,
            "stress",
            f"{HIGH}, before losses, {PEAK}",
            *case.sources["bearing"],
            f"the {case.under} sink into the head and the clamp is lost",
        )
    )
    return tuple(rows)


def _zone_closure(joint: Joint, zone: Any, assembly: Assembly) -> Array:
    """Closure of a seal zone after the losses."""
    proud = max(z.stands_proud for z in joint.gasket.zones) - zone.stands_proud
    return np.asarray(assembly.seal_closure - proud, dtype=float)


def weakest(rows: tuple[Limit, ...]) -> Limit:
    """The limit with the smallest margin (at its lowest, where rows are arrays)."""
    return min(rows, key=lambda r: float(np.min(np.asarray(r.margin))))


@dataclass(frozen=True)
class Giving:
    """A limit and the gas pressure (Pa above the air outside) at which it is reached.

    `pressure` is 0 for a limit passed without any gas and infinite for one that is not reached.
    """

    limit: Limit
    pressure: float


def order_of_failure(case: Case, up_to: float, points: int = 161) -> tuple[Giving, ...]:
    """The limits in the order in which they are reached as peak pressure rises.

    Parameters
    ----------
    case : what the limits are worked out from
    up_to : highest gas pressure looked at, Pa
    points : number of pressures looked at; between them the crossing is taken as straight

    Returns
    -------
    tuple of `Giving`, lowest pressure first
    """
    pressures = np.linspace(0.0, up_to, points)
    at_rest = {r.key: r for r in limits(case, 0.0)}
    out = []
    for row in limits(case, pressures):
        short = np.broadcast_to(
            np.asarray(row.demand, dtype=float) - np.asarray(row.capacity, dtype=float),
            pressures.shape,
        )
        over = np.nonzero(short > 0)[0]
        if len(over) == 0:
            pressure = np.inf
        elif over[0] == 0:
            pressure = 0.0
        else:
            i = int(over[0])
            pressure = float(np.interp(0.0, short[i - 1 : i + 1], pressures[i - 1 : i + 1]))
        out.append(Giving(at_rest[row.key], pressure))
    return tuple(sorted(out, key=lambda g: g.pressure))
