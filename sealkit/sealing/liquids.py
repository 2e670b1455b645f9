"""Sealing of coolant and oil: circuits, contact stress wanted at their holes, limits hot and cold.

Liquid pressures are small beside gas pressures: m p, what has to stay on the facing, is a few
tenths of a megapascal for an elastomer or a fibre. What decides is whether the facing was ever
pressed hard enough to fill the faces, its seating stress y: about 1.4 MPa for an elastomer coat,
7.6 for fibre, 90 for bare copper. One that has not reached it leaks through its roughness; one
that just has must be kept there; the further it was pressed beyond, the less keeps it tight
afterwards, down to m p. So a fibre facing that was barely seated may weep in the state in which
the clamp is lowest and be tight in the other. Bare copper, which no head joint can seat over a
whole wet deck, weeps; an elastomer needs so little that cold makes no difference.

Weeping is a rate. The gas takes load off the facing for a few hundredths of a cycle, in which next
to nothing seeps that would not seep anyway; so what keeps the facing tight is asked without gas,
and at peak pressure only m p, below which the liquid would open it.

m and y are vessel-design numbers, used here to compare facings; they are not assembly targets.
Over the width of a line contact they are taken in full, not over half of it as for flanges.

References
----------
[1] ASME BPVC VIII-1, Appendix 2: Table 2-5.1 through `criteria.gasket_factors`; 2-5(c)(1), written
    per area of gasket.
[2] J. R. Payne, A. Bazergui and G. F. Leon, New gasket factors, a proposed procedure, Pressure
    Vessels and Piping, ASME, 1985 (from memory): tightness against stress, loading and unloading.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail
from sealkit.sealing import criteria
from sealkit.sealing.criteria import Facing
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.heat import HeatCycle
from sealkit.sealing.joint import Assembly, Joint, JointState
from sealkit.sealing.limit import Condition, Limit, Moment, Temperature, lesser, of_zone
from sealkit.units import field, with_units
from sealkit.words import Note, figure

# circuits looked at in each state; the cap pressure is also that of a pressure test when cold
HOT_CIRCUITS = ("coolant in the head", "oil gallery hot")
COLD_CIRCUITS = ("coolant cap, high pressure", "oil gallery cold")
SOAK_CIRCUITS = ("coolant, cold soak",)
_COLD = Condition(Temperature.COLD)


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


@with_units(returns="fields")
def circuit(name: str) -> Circuit:
    """A circuit of the table, such as "coolant in the head" or "oil gallery cold".

    Raises InputError if the circuit is unknown.

    >>> round(circuit("coolant cap").high.to("psig").magnitude, 1)
    22.9
    """
    row = tables.load("circuits").get(name, "circuit")
    cells = ("circuit", "liquid", "low", "high", "source", "status")
    return Circuit(*(row[c] for c in cells))


@with_units(returns="fields")
def facing(name: str) -> Facing:
    """Gasket factor m and seating stress y of a facing [1].

    Returns Facing; its status is the weaker one of the number and of its use for this facing.
    Raises InputError if the facing is unknown. `name`: "elastomer coat", "fibre", ...
    """
    row = tables.load("facings").get(name, "facing")
    number = criteria.gasket_factors.si(row["gasket"])
    return Facing(
        row["facing"],
        number.factor,
        number.seating,
        f"{row['source']}; {number.source}: {number.name}",
        tables.weakest(row["status"], number.status),
        row["note"] or number.note,
    )


def facing_of(gasket: Gasket) -> Facing | None:
    """The facing of a construction that comes with the kit (SI), None for any other."""
    for row in tables.load("facings").rows:
        if gasket.name in row["constructions"].split(";"):
            return _facing(row["facing"])
    return None


# --------------------------------------------------------------------------- wanted
@with_units(returns="stress")
def needed_stress(pressure: si.GaugePressure0, factor: si.Number0) -> Any:
    """Contact stress that must stay on a facing, m p [Pa] [1]: of a liquid, and its factor m."""
    return factor * np.asarray(pressure, dtype=float)[()]


@dataclass(frozen=True)
class Tightness:
    """Lines of tightness of a seated facing [2]: ln(y/G_b) and ln(y/G_s), and where they are from.

    Of a compressed sheet, taken for the other facings in proportion to their seating stress.
    """

    tightens: float
    forgotten: float
    source: str
    status: str

    @property
    def words(self) -> str:
        """For a note."""
        return f"the lines of tightness are {self.status}: {self.source}"


@functools.cache
def tightness() -> Tightness:
    """The lines of tightness of the table."""
    base, end = (tables.load("tightness")[name] for name in ("G_b", "G_s"))
    y = criteria.gasket_factors.si(base["gasket"])
    status = tables.weakest(base["status"], end["status"], y.status)
    tightens, forgotten = (float(np.log(y.seating / r["stress"])) for r in (base, end))
    return Tightness(tightens, forgotten, base["source"], status)


def seated_load(seating: Any, reached: Any) -> Any:
    """Load that keeps a facing as tight as its seating load made it, after it was pressed harder.

    ln(S/y) = -g + (g + x) b/(b + x), with x = ln(q/y) of the highest load q so far [2]: a line over
    logarithms of load and tightness, from the point where loading stopped to a load G_s at which
    nothing is tight. b = ln(y/G_b), g = ln(y/G_s). Below the seating load y it is y.
    `seating` and `reached` are y and q, in one unit.
    """
    y = np.asarray(seating, dtype=float)
    x = np.log(np.maximum(np.asarray(reached, dtype=float), y) / np.where(y > 0, y, 1.0) + (y <= 0))
    b, g = tightness().tightens, tightness().forgotten
    return y * np.exp(-g + (g + x) * b / (b + x))


def load_wanted(seating: Any, factor: Any, pressure: Any, reached: Any) -> Any:
    """Load wanted at a liquid's pressure: m p, and what keeps the facing seated if more (SI).

    `factor` holds the width of a line contact; `reached` is the highest load so far.
    """
    return np.maximum(factor * pressure, seated_load(seating, reached))


def liquid_zones(gasket: Gasket) -> tuple[Zone, ...]:
    """Zones that keep the liquids in: beads at the holes, else the body round them."""
    beads = tuple(z for z in gasket.zones if z.role == "liquid")
    return beads or tuple(z for z in gasket.zones if z.role == "body")


def zone_wants(
    zone: Zone, given: Facing | None, usual: Facing | None
) -> tuple[float, float, Facing]:
    """Seating load and factor x width of a zone, unit as its load, and where they come from (SI).

    Raises InputError if nothing says what the facing is. `given`: facing that the sheet names, if
    any; it comes before what the zone states itself. `usual`: that of the construction, for a zone
    that states nothing.
    """
    width = zone.width if zone.per == "length" else 1.0
    if given is None and (zone.seating > 0 or zone.factor > 0):
        y = zone.seating / width
        own = Facing(zone.name, zone.factor, y, zone.source, zone.status, zone.note)
        return zone.seating, zone.factor * width, own
    use = given or usual
    if use is None:
        raise fail(
            "facing",
            f"nothing, and {zone.name} states no seating load or factor",
            "one of " + ", ".join(tables.load("facings")),
        )
    return float(use.seating) * width, float(use.factor) * width, use


# --------------------------------------------------------------------------- limits
@with_units()
def liquid_criteria(
    joint: Joint,
    assembly: Assembly,
    circuit: str,
    state: Condition = _COLD,
    facing: str | None = None,
    pressure: si.GaugePressure0 = None,
    gas_pressure: si.GaugePressure0 = 0.0,
) -> tuple[Limit, ...]:
    """Does one circuit stay tight at its holes, in this state of the joint.

    Wanted of a facing: m p, and what keeps it seated after the highest load so far (`seated_load`);
    with gas in the cylinder m p alone, and of the two the one with less margin counts.

    Zones with the role liquid seal the holes; a construction without one seals with its body. A
    gasket with neither seals no liquid, and its row has no capacity. Returns a tuple of Limit, one
    for seating and one for the pressure, for each zone at the holes. Raises InputError if circuit
    or facing is unknown, or nothing says what the facing is.

    Parameters
    ----------
    joint, assembly : the joint and how it stands: as assembled, hot or cold (SI)
    circuit : name in the table of circuits; the high end of its pressure is taken
    state : for the rows
    facing : what touches the deck at the holes; where none is given, the zone's own seating load
        and factor, or the facing of the construction
    pressure : of the liquid over the air outside, instead of the table's [Pa gauge]
    gas_pressure : in the cylinder at the same time, over the air outside [Pa gauge]
    """
    pairs = _rows(joint, assembly, circuit, state, facing, pressure)
    peaks = {}
    if np.any(np.asarray(gas_pressure) > 0.0):
        own = {circuit: pressure}
        gas = np.reshape(np.asarray(gas_pressure, dtype=float), (-1, 1))
        loads = joint.under_gas(assembly, gas).zone_loads
        lifted = _lifted(joint, loads, [circuit], state, facing, own)
        peaks = {row.part: row for row in lifted}
    return tuple(
        row if row.of == "seating" or row.part not in peaks else lesser(row, peaks[row.part])
        for pair in pairs
        for row in pair
        if row is not None
    )


def wet_deck(
    joint: Joint,
    cycle: HeatCycle,
    soak: Assembly | None = None,
    facing: str | None = None,
    pressures: Mapping[str, float] | None = None,
    others: Sequence[Assembly] = (),
) -> tuple[Limit, ...]:
    """All liquid rows of a wet deck without gas: fresh, hot as worked, cold after heat, cold soak.

    Returns a tuple of Limit; the row for seating appears once, with the highest load so far.

    Parameters
    ----------
    joint, cycle : the joint and its heat cycles, with the low end of the preload (SI)
    soak : the joint soaked in cold, such as the cold state of a cycle that ends there
    facing : see `liquid_criteria`
    pressures : of circuits that have one of their own, instead of the table's [Pa gauge]
    others : the joint in other hot states
    """
    parts = _running(cycle, others)
    if soak is not None:
        parts.append((Condition(Temperature.COLD, detail="soaked"), soak, SOAK_CIRCUITS))
    seats: dict[str, Limit] = {}
    holds: list[Limit] = []
    for state, assembly, circuits in parts:
        for name in circuits:
            own = (pressures or {}).get(name)
            for seating, hold in _rows(joint, assembly, name, state, facing, own):
                if seating is not None:
                    seats[seating.part] = seating
                holds.append(hold)
    return (*seats.values(), *holds)


def wet_deck_lifted(
    joint: Joint,
    cycle: HeatCycle,
    under: Callable[[Assembly], JointState],
    facing: str | None = None,
    pressures: Mapping[str, float] | None = None,
    others: Sequence[Assembly] = (),
) -> tuple[Limit, ...]:
    """Rows of a wet deck while gas lifts the head: m times the liquid's pressure, or it weeps.

    Parameters
    ----------
    joint, cycle, facing, pressures, others : see `wet_deck`
    under : the joint that stands so with gas in the cylinder, a row for each build or single load
    """
    own = pressures or {}
    return tuple(
        row
        for state, assembly, circuits in _running(cycle, others)
        for row in _lifted(joint, under(assembly).zone_loads, circuits, state, facing, own)
    )


def _running(
    cycle: HeatCycle, others: Sequence[Assembly]
) -> list[tuple[Condition, Assembly, Sequence[str]]]:
    """The states in which the engine runs, with the circuits that stand under pressure then."""
    cold, hot = Temperature.COLD, Temperature.HOT
    return [
        (Condition(cold, detail="as assembled"), cycle.before, COLD_CIRCUITS),
        *((Condition(hot), stand, HOT_CIRCUITS) for stand in (cycle.worked, *others)),
        (Condition(cold, detail="after heat"), cycle.cold, COLD_CIRCUITS),
    ]


def _lifted(
    joint: Joint,
    loads: Mapping[str, Any],
    circuits: Sequence[str],
    state: Condition,
    facing: str | None,
    pressures: Mapping[str, Any],
) -> list[Limit]:
    """Rows at the holes with these loads of the zones under gas, a row for each build or load."""
    state = dataclasses.replace(state, moment=Moment.PEAK)
    out = []
    for name in circuits:
        row, p = _running_at(name, pressures.get(name))
        note = "while the gas lifts: m times p, or the liquid opens it; " + _of_it(row)
        for zone, _, factor, use in _at_holes(joint, facing):
            left = np.reshape(loads[zone.name], -1)
            wanted, told = np.full(left.shape, factor * p), _told(row.name, p)
            out.append(
                at_hole(zone, use, wanted, left, state, of=row.liquid, note=note, values=told)
            )
    return out


def at_hole(
    zone: Zone, use: Facing, demand: Any, capacity: Any, state: Condition, **more: Any
) -> Limit:
    """A limit of a zone at the liquid holes; source and status are those of its facing."""
    own = {"source": use.source, "status": use.status}
    return of_zone("liquid", zone, demand, capacity, state, **{**own, **more})


def _at_holes(joint: Joint, facing: str | None) -> Iterator[tuple[Zone, Any, Any, Facing]]:
    """Zones at the liquid holes with what each wants: load to seat, factor m, and its facing."""
    chosen = None if facing is None else _facing(facing)
    usual = facing_of(joint.gasket)
    for zone in liquid_zones(joint.gasket):
        yield (zone, *zone_wants(zone, chosen, usual))


def pressure_wants(
    joint: Joint, part: str, circuit: str, facing: str | None, pressure: float | None
) -> float:
    """m p of a circuit at one zone, unit as its load; arguments as of `liquid_criteria` (SI)."""
    p = _running_at(circuit, pressure)[1]
    at = (float(factor) for zone, _, factor, _ in _at_holes(joint, facing) if zone.name == part)
    return p * next(at, 1.0)


def _running_at(circuit: str, pressure: Any) -> tuple[Circuit, float]:
    """A circuit, and its pressure: this one, else the high end of the table's."""
    row = _circuit(circuit)
    return row, float(row.high if pressure is None else pressure)


def _of_it(row: Circuit) -> str:
    return f"the pressure is {row.status}: {row.source}"


def _told(circuit: str, pressure: float) -> tuple[tuple[str, Any], ...]:
    return (("circuit", circuit), ("pressure", pressure_words(pressure)))


def pressure_words(pressure: float) -> Note:
    """A liquid's pressure (Pa over the air outside) as the limits quote it."""
    return figure(pressure, "gauge pressure")


# the arguments of the functions above have the names of these; the tables do not change
_circuit, _facing = functools.cache(circuit.si), functools.cache(facing.si)


def _rows(
    joint: Joint,
    assembly: Assembly,
    circuit: str,
    state: Condition,
    facing: str | None,
    pressure: Any,
) -> Iterator[tuple[Limit | None, Limit]]:
    """Limits of each zone at the holes: for seating, if it has to seat, and for the pressure."""
    row, p = _running_at(circuit, pressure)
    told = _told(row.name, p)
    if not liquid_zones(joint.gasket):
        why = "the construction has neither a bead at the holes nor a body"
        of = (row.source, row.status, why, row.liquid, "liquid open", told)
        yield None, Limit("liquid", "liquid holes", max(p, 1.0), 0.0, "stress", state, *of)
    for zone, seat, factor, use in _at_holes(joint, facing):
        reached = np.asarray(assembly.seated_loads[zone.name], dtype=float)
        why = (
            "seated: the harder it was pressed, the less keeps it tight, but at least m times p"
            if np.all(reached >= seat)
            else "never seated: below its seating stress it touches on high spots only"
        )
        status = use.status
        if seat > 0 and np.any(reached >= seat):
            why += f"; {tightness().words}"
            status = tables.weakest(status, tightness().status)
        what = "at all" if use.name == zone.name else f"{use.name} at the liquid holes"
        hardest = Condition(detail="at the hardest it was pressed so far")
        named = {"of": "seating", "note": use.note, "wording": "liquid seating"}
        seating = at_hole(zone, use, seat, reached, hardest, **named, values=(("facing", what),))
        wanted = load_wanted(seat, factor, p, reached)
        left = np.asarray(assembly.zone_loads[zone.name], dtype=float).reshape(reached.shape)
        said = {"of": row.liquid, "note": f"{why}; {_of_it(row)}", "status": status}
        hold = at_hole(zone, use, wanted, left, state, **said, values=told)
        yield (seating if seat > 0 else None), hold
