"""Regular decks: bores in a row, bolts in a row on each side, liquid holes between them.

The patterns are invented ones, of the kinds builders speak of, none measured on an engine and
without a published source. A real deck is entered by its own places.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.sealing.deck.layout import Array, Hole, Layout
from sealkit.units import plain, show, with_units

BOLTS_PER_BORE = (4, 5, 6)

Place = tuple[float, float]


def outline(
    bolts: ArrayLike,
    end_margin: float,
    side_margin: float,
    corner_cut: float = 0.0,
    bank_offset: float = 0.0,
) -> Array:
    """Corners, (4, 2) or (8, 2) [m], of a deck face that reaches beyond its outermost bolts.

    Parameters
    ----------
    bolts : (nf, 2) [m]
    end_margin, side_margin : [m]
    corner_cut : how far the corners are cut [m]
    bank_offset : of one bank of a vee before the other [m] (`pattern`)
    """
    place = np.asarray(plain(bolts, "length", "bolts"), dtype=float)
    (x0, y0), (x1, y1) = place.min(axis=0), place.max(axis=0)
    # the block is as long for both banks, so the deck of the forward one runs on behind it
    x0, x1 = x0 - end_margin + min(bank_offset, 0.0), x1 + end_margin + max(bank_offset, 0.0)
    y0, y1, c = y0 - side_margin, y1 + side_margin, corner_cut
    if not c > 0.0:
        return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    return np.array([
        (x0 + c, y0), (x1 - c, y0), (x1, y0 + c), (x1, y1 - c),
        (x1 - c, y1), (x0 + c, y1), (x0, y1 - c), (x0, y0 + c),
    ])  # fmt: skip


def _check(**counts: tuple[Any, Any]) -> None:
    for name, (value, known) in counts.items():
        if isinstance(value, bool) or not isinstance(value, int | np.integer) or value not in known:
            wanted = "one of " if len(known) < 4 else "a whole number from "
            span = ", ".join(map(str, known)) if len(known) < 4 else f"{known[0]} to {known[-1]}"
            raise fail(name, value, wanted + span)


@with_units()
def pattern(
    bores: int,
    pitch: si.Length,
    bore: si.Length,
    bolt_hole: si.Length,
    row_distance: si.Length,
    end_margin: si.Length,
    side_margin: si.Length,
    bolts_per_bore: int = 4,
    shared_rows: int = 2,
    front_distance: si.Length = None,
    rear_distance: si.Length = None,
    pair_distance: si.Length = None,
    outer_distance: si.Length = None,
    corner_cut: si.Length0 = 0.0,
    coolant_diameter: si.Length = None,
    coolant_distance: si.Length = None,
    coolant_per_gap: int = 1,
    oil_diameter: si.Length = None,
    oil_distance: si.Length = None,
    vee: bool = False,
    bank_offset: si.AnyLength = 0.0,
) -> Layout:
    """Deck of an inline engine, or of one bank of a vee engine.

    Two bolts stand on each side of a bore: halfway between neighbours in a shared row, as pairs
    where each bore has its own. A fifth stands straight off the bore on the exhaust side, a sixth
    on the inlet side. Coolant holes stand in the gaps between the bolts of a bore; oil comes up
    beside the front bolt of the inlet side and drains between the bores on both sides.

    On a vee bank y runs to the valley: for inlet and exhaust side read valley and outer side. Oil
    drains on the outer, lower side only. The banks stand offset along the crank by the width of a
    rod while the block is as long for both: the deck face of the forward bank runs on behind its
    last bolts by that much, that of the other before its first.

    Returns Layout, which `room.check` has not seen yet. Raises InputError naming the argument.

    Parameters
    ----------
    bores : number of bores, 1 to 16
    pitch : from bore to bore [m]
    bore : [m]
    bolt_hole : diameter [m]
    row_distance : between the two rows of shared bolts [m]; bolts of bores of their own stand on
        the same circle round the bore
    end_margin, side_margin : of the deck face beyond the outermost bolts [m]
    bolts_per_bore : 4, 5 or 6
    shared_rows : rows whose bolts are shared between neighbours: 2, 1 (the inlet side) or 0
    front_distance, rear_distance : of the end bolts of a shared row beyond the first and the last
        bore [m]; None: half the pitch
    pair_distance : of the two bolts between neighbours in a row that is not shared [m]; None: two
        bolt holes
    outer_distance : of a fifth or sixth bolt from the bore [m]; None: on the circle of the others
    corner_cut : how far the corners of the deck face are cut [m]
    coolant_diameter : [m]; None: no coolant holes
    coolant_distance : from the centre of the bore [m]; None: midway from bore edge to bolt circle
    coolant_per_gap : coolant holes between neighbouring bolts of a bore, 1 to 4
    oil_diameter : [m]; None: no oil holes
    oil_distance : from the line of bores [m]; None: midway from the row of bolts to the edge
    vee : one bank of a vee
    bank_offset : how far this bank stands before the other [m]; negative behind it
    """
    _check(
        bores=(bores, range(1, 17)),
        bolts_per_bore=(bolts_per_bore, BOLTS_PER_BORE),
        shared_rows=(shared_rows, range(3)),
        coolant_per_gap=(coolant_per_gap, range(1, 5)),
    )
    half, row = 0.5 * pitch, 0.5 * row_distance
    radius = math.hypot(half, row)
    front = half if front_distance is None else front_distance
    rear = half if rear_distance is None else rear_distance
    pair = 2.0 * bolt_hole if pair_distance is None else pair_distance
    outer = radius if outer_distance is None else outer_distance
    if not pair < pitch:
        raise fail("pair_distance", show(pair, "length"), "less than the pitch")
    centres = pitch * np.arange(bores)
    bolts: list[Place] = []
    corners: dict[int, list[list[Place]]] = {}  # side -> bolts beside each bore
    for side in (1, -1):
        if shared_rows == 2 or (shared_rows == 1 and side == 1):
            x = [-front, *(centres[:-1] + half), float(centres[-1]) + rear]
            line = [(float(v), side * row) for v in x]
            beside = [[line[i], line[i + 1]] for i in range(bores)]
        else:
            near_x = 0.5 * (pitch - pair)
            y = side * math.sqrt(max(radius**2 - near_x**2, 0.0))
            beside = [[(float(c) - near_x, y), (float(c) + near_x, y)] for c in centres]
            line = [b for two in beside for b in two]
        if bolts_per_bore == 6 or (bolts_per_bore == 5 and side == -1):
            for c, two in zip(centres, beside, strict=True):
                two.insert(1, (float(c), side * outer))
                line.append(two[1])
        corners[side] = beside
        bolts += sorted(line)
    place = np.array(bolts, dtype=float)
    corner = outline(place, end_margin, side_margin, corner_cut, bank_offset)
    holes: list[Hole] = []
    if coolant_diameter:
        reach = 0.5 * (0.5 * bore + radius) if coolant_distance is None else coolant_distance
        for side, i in itertools.product((1, -1), range(bores)):
            angle = [math.atan2(abs(y), x - centres[i]) for x, y in corners[side][i]]
            for a, b in itertools.pairwise(angle):
                for k in range(1, coolant_per_gap + 1):
                    t = a + (b - a) * k / (coolant_per_gap + 1)
                    at = float(centres[i]) + reach * math.cos(t), side * reach * math.sin(t)
                    holes.append(Hole(f"C{len(holes) + 1}", *at, coolant_diameter, "coolant"))
    if oil_diameter:

        def out(side: int) -> float:
            own = max(abs(y) for two in corners[side] for y in (two[0][1], two[-1][1]))
            edge = float(np.max(side * corner[:, 1]))
            middle = 0.5 * (own + 0.5 * bolt_hole + edge)
            return side * (middle if oil_distance is None else oil_distance)

        drains = (-1,) if vee else (1, -1)
        spots = [(-front, out(1))]
        spots += [(float(v) + half, out(side)) for side in drains for v in centres[:-1]]
        holes += [
            Hole(f"O{n}", x, y, oil_diameter, "oil", drain=n > 1)
            for n, (x, y) in enumerate(spots, start=1)
        ]
    line_of_bores = np.column_stack([centres, 0.0 * centres])
    return Layout(corner, line_of_bores, bore, place, bolt_hole, tuple(holes))
