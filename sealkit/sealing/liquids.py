"""Coolant and oil: circuits, contact stress wanted at their holes, margins hot and cold.

Liquid pressures are small beside gas pressures: m p, what has to stay on the facing, is a few
tenths of a megapascal for an elastomer or a fibre. What decides is whether the facing was ever
pressed hard enough to fill the faces, its seating stress y: about 1.4 MPa for an elastomer coat,
7.6 for fibre, 90 for bare copper. A facing that has been seated once needs m p afterwards; one
that has not leaks through its roughness wherever the stress of the moment is below y. So bare
copper, which no head joint can seat over a whole wet deck, weeps, and worst when cold, where the
clamp is lowest; an elastomer needs so little that cold makes no difference.

m and y are vessel-design numbers, used here to compare facings; they are not assembly targets.
Over the width of a line contact they are taken in full, not over half of it as for flanges.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.errors import fail
from sealkit.sealing import criteria
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.heat import HeatCycle, one
from sealkit.sealing.joint import Assembly, Joint
from sealkit.sealing.limit import Limit
from sealkit.units import field, with_units

# circuits looked at in each state; the cap pressure is also that of a pressure test when cold
HOT_CIRCUITS = ("coolant in the head", "oil gallery hot")
COLD_CIRCUITS = ("coolant cap, high pressure", "oil gallery cold")
SOAK_CIRCUITS = ("coolant, cold soak",)


# --------------------------------------------------------------------------- circuits and facings
@dataclass(frozen=True)
class Circuit:
    """A coolant or oil circuit and the range of its pressure over the air outside."""

    name: str
    liquid: str
    low: Any = field("gauge pressure")
    high: Any = field("gauge pressure")
    source: str = ""
    status: str = ""
    note: str = ""


@with_units(returns="fields")
def circuit(name: str) -> Circuit:
    """A circuit of the table, such as "coolant in the head" or "oil gallery cold".

    Parameters
    ----------
    name : of the circuit

    Returns
    -------
    Circuit

    Raises
    ------
    InputError
        if the circuit is unknown.
    """
    row = tables.load("circuits").get(name, "circuit")
    return Circuit(
        row["circuit"],
        row["liquid"],
        row["low"],
        row["high"],
        row["source"],
        row["status"],
        row["note"],
    )


@dataclass(frozen=True)
class Facing:
    """What touches the deck at the liquid holes: m, y and where they come from."""

    name: str
    factor: Any = field("number")
    seating: Any = field("stress")
    source: str = ""
    status: str = ""
    note: str = ""


@with_units(returns="fields")
def facing(name: str) -> Facing:
    """Gasket factor m and seating stress y of a facing, such as "bare copper".

    Parameters
    ----------
    name : "elastomer coat", "fibre", "bare copper", "sealant film", ...

    Returns
    -------
    Facing; its status is the weaker one of the number and of its use for this facing

    Raises
    ------
    InputError
        if the facing is unknown.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, Table 2-5.1, through `criteria.gasket_factors`.
    """
    row = tables.load("facings").get(name, "facing")
    number = criteria.gasket_factors.si(row["gasket"])
    order = list(tables.STATUSES)
    taken = f"{row['source']}; {number.source}: {number.gasket}"
    return Facing(
        row["facing"],
        number.factor,
        number.seating_stress,
        taken,
        max(row["status"], number.status, key=order.index),
        row["note"] or number.note,
    )


def facing_of(gasket: Gasket) -> Facing | None:
    """The facing of a construction that comes with the kit (SI), None for any other."""
    for row in tables.load("facings").rows:
        if gasket.name in row["constructions"].split(";"):
            return facing.si(row["facing"])
    return None


# --------------------------------------------------------------------------- wanted
@with_units(returns="stress", pressure="gauge pressure >= 0", factor="number >= 0")
def needed_stress(pressure: Any, factor: Any) -> Any:
    """Contact stress that must stay on a facing, m p.

    Parameters
    ----------
    pressure : of the liquid over the air outside, p, Pa gauge
    factor : gasket factor m

    Returns
    -------
    stress, Pa

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-5(c)(1), written per area of gasket.
    """
    return factor * np.asarray(pressure, dtype=float)[()]


@with_units(returns="force", seating="stress >= 0", area="area > 0")
def seating_force(seating: Any, area: Any) -> Any:
    """Clamp that seats a facing over an area, y A.

    Parameters
    ----------
    seating : seating stress y, Pa
    area : of the deck that is to seal, A, m**2

    Returns
    -------
    force, N

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-5(c)(2), written per area of gasket.
    """
    return seating * np.asarray(area, dtype=float)[()]


# --------------------------------------------------------------------------- margins
def liquid_zones(gasket: Gasket) -> tuple[Zone, ...]:
    """Zones that keep the liquids in: beads at the holes, else the body round them."""
    beads = tuple(z for z in gasket.zones if z.role == "liquid")
    return beads or tuple(z for z in gasket.zones if z.role == "body")


def load_wanted(seating: Any, factor: Any, pressure: Any, reached: Any) -> Any:
    """Load wanted at a liquid's pressure: m p once seated, the larger of y and m p if never.

    `factor` holds the width of a line contact; `reached` is the highest load so far.
    """
    holds = factor * pressure
    return np.where(np.asarray(reached) >= seating, holds, np.maximum(seating, holds))


def zone_wants(
    zone: Zone, given: Facing | None, usual: Facing | None
) -> tuple[float, float, Facing]:
    """Seating load and factor x width of a zone, unit as its load, and where they come from."""
    width = zone.width if zone.per == "length" else 1.0
    if given is None and (zone.seating > 0 or zone.factor > 0):
        own = Facing(
            zone.name, zone.factor, zone.seating / width, zone.source, zone.status, zone.note
        )
        return zone.seating, zone.factor * width, own
    use = given or usual
    if use is None:
        raise fail(
            "facing",
            f"nothing, and {zone.name} states no seating load or factor",
            "one of " + ", ".join(tables.load("facings")),
        )
    return float(use.seating) * width, float(use.factor) * width, use


@with_units(
    pressure="gauge pressure >= 0",
    gas_pressure="gauge pressure >= 0",
    local_share="fraction 0..1",
)
def liquid_criteria(
    joint: Joint,
    assembly: Assembly,
    circuit: str,
    state: str = "cold",
    facing: str | None = None,
    pressure: Any = None,
    gas_pressure: Any = 0.0,
    local_share: Any = 1.0,
) -> tuple[Limit, ...]:
    """Does one circuit stay tight at its holes, in this state of the joint.

    Wanted of a facing that has been seated: m p. Of one that has not: the larger of y and m p.

    Parameters
    ----------
    joint, assembly : the joint and how it stands: as assembled, hot or cold (SI)
    circuit : name in the table of circuits; the high end of its pressure is taken
    state : in words, for the rows
    facing : what touches the deck at the holes; where none is given, the zone's own seating load
        and factor, or the facing of the construction
    pressure : of the liquid over the air outside, Pa, instead of the table's
    gas_pressure : in the cylinder at the same time, over the air outside, Pa
    local_share : stress at the holes over the mean stress of the zone (1 for an even deck)

    Returns
    -------
    tuple of Limit, one for seating and one for the pressure, for each zone at the holes

    Raises
    ------
    InputError
        if circuit or facing is unknown, or nothing says what the facing is.

    Notes
    -----
    Zones with the role liquid seal the holes; a construction without one seals with its body. A
    gasket with neither seals no liquid, and its row has no capacity.
    """
    loads = _loads(joint, assembly, gas_pressure)
    return _rows(joint, assembly, loads, circuit, state, facing, pressure, local_share)


def _loads(joint: Joint, assembly: Assembly, gas_pressure: Any) -> dict[str, Any]:
    """Load of each zone, with gas in the cylinder or without."""
    gas = np.asarray(gas_pressure, dtype=float).reshape(-1, 1)
    if not np.any(gas > 0):
        return assembly.zone_loads
    gas = np.broadcast_to(gas, (len(assembly.preload), 1))
    return joint.under_gas(assembly, gas).zone_loads


def _rows(
    joint: Joint,
    assembly: Assembly,
    loads: dict[str, Any],
    circuit: str,
    state: str,
    facing: str | None,
    pressure: Any,
    local_share: Any,
) -> tuple[Limit, ...]:
    """The rows of `liquid_criteria` at these loads of the zones."""
    row = _circuit(circuit)
    p = float(row.high) if pressure is None else float(pressure)
    chosen = None if facing is None else _facing(facing)
    zones = liquid_zones(joint.gasket)
    if not zones:
        return (
            Limit(
                f"liquid/{row.name}/none",
                f"{row.name}: nothing seals the liquid holes",
                "liquid holes",
                max(p, 1.0),
                0.0,
                "stress",
                state,
                row.source,
                row.status,
                "the construction has neither a bead at the holes nor a body",
                f"{row.liquid} leaks",
            ),
        )
    usual = facing_of(joint.gasket)
    out = []
    for zone in zones:
        seat, factor, use = zone_wants(zone, chosen, usual)
        kind = "line load" if zone.per == "length" else "stress"
        reached = local_share * np.asarray(assembly.seated_loads[zone.name], dtype=float)
        left = local_share * np.asarray(loads[zone.name], dtype=float).reshape(reached.shape)
        seated = reached >= seat
        wanted = load_wanted(seat, factor, p, reached)
        why = (
            "once seated, it needs its factor m times the liquid's pressure only"
            if np.all(seated)
            else "never seated: below its seating stress it touches on high spots only"
        )
        if seat > 0:
            out.append(
                Limit(
                    f"liquid/seating/{zone.name}",
                    f"{zone.name}: load to seat {_named(use, zone)}",
                    zone.name,
                    seat,
                    one(reached),
                    kind,
                    "highest load so far",
                    use.source,
                    use.status,
                    use.note,
                    f"the {zone.name} never fills the faces and weeps",
                )
            )
        out.append(
            Limit(
                f"liquid/{row.name}/{zone.name}",
                f"{zone.name}: load left to hold {row.liquid} ({row.name}, {p / 1e3:.0f} kPa)",
                zone.name,
                one(wanted),
                one(left),
                kind,
                state,
                use.source,
                use.status,
                f"{why}; the pressure is {row.status}: {row.source}",
                f"{row.liquid} weeps past the {zone.name}",
            )
        )
    return tuple(out)


def _named(use: Any, zone: Any) -> str:
    """What is seated, where it is not the zone itself."""
    return "at all" if use.name == zone.name else f"{use.name} at the liquid holes"


# the arguments of the function above have the names of these
_circuit, _facing = circuit.si, facing.si


@with_units(local_share="fraction 0..1", gas_pressure="gauge pressure >= 0")
def wet_deck(
    joint: Joint,
    cycle: HeatCycle,
    soak: Assembly | None = None,
    facing: str | None = None,
    hot: Sequence[str] = HOT_CIRCUITS,
    cold: Sequence[str] = COLD_CIRCUITS,
    local_share: Any = 1.0,
    gas_pressure: Any = 0.0,
) -> tuple[Limit, ...]:
    """All liquid rows of a wet deck: fresh at assembly, hot as worked, cold after heat, cold soak.

    Parameters
    ----------
    joint, cycle : the joint and its heat cycles, with the low end of the preload (SI)
    soak : the joint soaked in cold, such as the cold state of a cycle that ends there
    facing : see `liquid_criteria`
    hot, cold : circuits looked at hot and cold
    local_share : stress at the holes over the mean stress of the zone
    gas_pressure : peak in the cylinder over the air outside, Pa, for hot and cold but not soaked

    Returns
    -------
    tuple of Limit; the row for seating appears once, with the highest load so far
    """
    rows: dict[str, Limit] = {}
    parts: list[tuple[str, Assembly, Sequence[str], float]] = [
        ("as assembled, cold", cycle.before, cold, 0.0),
        ("hot", cycle.worked, hot, gas_pressure),
        ("cold after heat", cycle.cold, cold, gas_pressure),
    ]
    if soak is not None:
        parts.append(("cold soak", soak, SOAK_CIRCUITS, 0.0))
    for state, assembly, circuits, gas in parts:
        loads = _loads(joint, assembly, gas)
        for name in circuits:
            for row in _rows(joint, assembly, loads, name, state, facing, None, local_share):
                seating = row.key.startswith("liquid/seating/")
                key = row.key if seating else f"{row.key}/{state}"
                rows[key] = row if seating else replace(row, key=key)
    return tuple(rows.values())


# --------------------------------------------------------------------------- elastomer bead
@with_units(
    length="length > 0",
    height="length > 0",
    width="length > 0",
    stress="stress > 0",
    permanent="fraction 0..1",
)
def with_bead(
    gasket: Gasket,
    length: Any,
    height: Any = 0.10e-3,
    width: Any = 1.5e-3,
    stress: Any = 3.0e6,
    permanent: Any = 0.3,
) -> Gasket:
    """The same gasket with a bead of soft elastomer printed round the liquid holes.

    The bead stands on the body by its height, carries stress x width when pressed flat to the
    body, in a straight line, and keeps the permanent share of what it was pressed.

    Parameters
    ----------
    gasket : with or without beads of its own (those give way to this one)
    length : of the bead for one bore, m
    height, width : of the bead, m
    stress : contact stress when flat, Pa
    permanent : set over closure reached

    Returns
    -------
    Gasket

    Raises
    ------
    InputError
        if the bead keeps all of its closure and so never springs back.

    Notes
    -----
    Heights, stress and set are illustrative. Gasket factor and seating stress of soft elastomer:
    ASME BPVC VIII-1, Appendix 2, Table 2-5.1.
    """
    if permanent >= 1.0:
        raise fail("permanent", permanent, "a share below 1")
    soft = _facing("soft elastomer bead")
    full = stress * width
    body = [z.stands_proud for z in gasket.zones if z.role == "body"]
    base = max(body) if body else 0.0
    bead = Zone(
        name="elastomer bead at the liquid holes",
        role="liquid",
        per="length",
        closure=np.array([0.0, height]),
        load=np.array([0.0, full]),
        unloading=((np.array([height, permanent * height]), np.array([full, 0.0])),),
        width=float(width),
        free_thickness=float(height),
        stands_proud=float(base + height),
        seating=float(soft.seating) * float(width),
        factor=float(soft.factor),
        extent=float(length),
        source=f"illustrative bead; {soft.source}",
        status="invented",
        note="printed or let-in bead; it takes the liquids over from the bare sheet",
    )
    kept = tuple(z for z in gasket.zones if z.role != "liquid")
    return replace(gasket, zones=(*kept, bead))
