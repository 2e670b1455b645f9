"""The block under the gasket: it gives way, by kind of deck.

Under each point of the gasket stands a column of metal, in series with the gasket there. A line
load q on a wall of width w and a stress s on a face of which the part f is metal squeeze columns
of depth L by

    b = q L / (E w)        b = s L / (E f)

L is the depth at which the force of the gasket meets that of the fasteners: the threads below a
closed deck, the floor of the jacket where a barrel stands free. Plane bodies, no bending of the
deck between its walls and no pull of one column on the next: an order of size, with sizes of
`sealkit/tables/blocks.csv`. What the fasteners squeeze at their own threads stays with the member
stiffness.

Closure of gasket and column together is closure + b, on loading and unloading alike, so a zone on
a block is a zone again. Seal zones side by side stand on one wall; each is given the part of it
that it loads where the weakest of them ends.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.units import with_units


@dataclass(frozen=True)
class Block:
    """How far the block gives way below the gasket.

    Parameters
    ----------
    line : squeeze per line load [m per N/m]
    face : squeeze per stress [m per Pa]
    """

    line: float = 0.0
    face: float = 0.0

    def under(self, gasket: Gasket) -> Gasket:
        """The gasket as the head feels it, each zone on its column."""
        give = self.give(gasket)
        return replace(gasket, zones=tuple(_on(z, give[z.name]) for z in gasket.zones))

    def give(self, gasket: Gasket) -> dict[str, float]:
        """By name of the zone, squeeze of the column below it per load of the zone."""
        share = _shares([z for z in gasket.seals if z.per == "length"])
        return {
            z.name: (self.line if z.per == "length" else self.face) / share.get(z.name, 1.0)
            for z in gasket.zones
        }


RIGID = Block()


def _shares(zones: list[Zone]) -> dict[str, float]:
    """Part of the load on one wall that each of several zones carries."""
    proud = max((z.stands_proud for z in zones), default=0.0)
    end = min((float(z.closure[-1]) + proud - z.stands_proud for z in zones), default=0.0)
    loads = {z.name: float(z.loading(end - proud + z.stands_proud)) for z in zones}
    total = sum(loads.values())
    return {n: max(q / total, 1e-3) for n, q in loads.items()} if total > 0.0 else {}


def _on(zone: Zone, compliance: float) -> Zone:
    if not compliance:
        return zone
    back = tuple((c + compliance * q, q) for c, q in zone.unloading)
    return replace(zone, closure=zone.closure + compliance * zone.load, unloading=back)


@with_units()
def block(kind: str, modulus: si.Modulus) -> Block:
    """How far a block of this kind gives way: b = q L / (E w) and b = s L / (E f).

    An own estimate from plain columns, no published source; sizes from memory.

    Raises InputError if the kind is not known.

    Parameters
    ----------
    kind : a row of the table of blocks, such as "closed" or "open"
    modulus : of the block [Pa]; a liner is of its own metal
    """
    rows = tables.load("blocks")
    if kind not in rows:
        raise fail("kind", kind, "one of " + ", ".join(map(str, rows)))
    row = rows[kind]
    wall = tables.load("materials")[row["liner"]]["modulus"] if row["liner"] else modulus
    return Block(
        float(row["depth"] / (wall * row["wall"])), float(row["depth"] / (modulus * row["metal"]))
    )
