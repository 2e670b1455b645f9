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
a column of its own is a zone again. Seal zones side by side stand on one wall, which sinks under
the sum of their loads (`model.Wall`).
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
        """The gasket as the head feels it, each zone on its column but the seals on their wall."""
        return replace(gasket, zones=tuple(_on(z, self.give(z)) for z in gasket.zones))

    def give(self, zone: Zone) -> float:
        """Squeeze of the column below a zone alone per load of it; none below a seal."""
        return 0.0 if zone.role == "seal" else self.line if zone.per == "length" else self.face


RIGID = Block()


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
