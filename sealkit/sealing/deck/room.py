"""Whether everything on a deck face has room: one message names what has none."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit.arrays import Array
from sealkit.errors import Fault, InputError, short
from sealkit.sealing.deck.layout import Layout, diameter_of, distances, signed_area, to_edges
from sealkit.units import show

_TOUCH = 1e-9  # m, rounding of places


def check(layout: Layout, seal_diameter: float | None = None, system: str = "metric") -> Layout:
    """The layout itself, if everything on the deck face has room.

    The outline does not cross itself; bores, bolt holes and liquid holes lie inside it and clear
    each other, and all of them clear the combustion seals.

    Raises InputError with one fault, naming the first bore, bolt, hole or stretch of outline that
    does not fit.

    Parameters
    ----------
    layout : the deck face
    seal_diameter : mean diameter of the combustion seal [m]; None: the bore itself
    system : "metric" or "inch", for the message
    """
    seal = layout.bore if seal_diameter is None else diameter_of("seal_diameter", seal_diameter)
    ring = max(seal, layout.bore)
    fault = (
        _outline_fault(layout.outline, system)
        or _bore_fault(layout, ring, system)
        or _bolt_fault(layout, ring, system)
        or _hole_fault(layout, ring, system)
    )
    if fault is not None:
        raise InputError(fault)
    return layout


def _told(value: float, system: str) -> str:
    return show(value, "length", system)


def _outline_fault(corners: Array, system: str) -> Fault | None:
    def place(i: int) -> str:
        x, y = corners[i % len(corners)]
        return f"({_told(x, system)}, {_told(y, system)})"

    count = len(corners)
    d = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(*d.T)
    if np.any(length <= _TOUCH):
        i = int(np.argmin(length))
        came = f"the corner {place(i)} twice"
        return Fault("outline", came, "corners that differ, the first not repeated at the end")
    back = np.roll(d, 1, axis=0)
    turn = back[:, 0] * d[:, 1] - back[:, 1] * d[:, 0]
    along = np.sum(back * d, axis=1)
    spike = (np.abs(turn) <= 1e-12 * length * np.roll(length, 1)) & (along < 0.0)
    wanted = "an outline that does not cross or touch itself"
    if np.any(spike):
        i = int(np.argmax(spike))
        return Fault("outline", f"an edge that turns back on itself at {place(i)}", wanted)
    a, b = corners, np.roll(corners, -1, axis=0)
    # edges touch or cross where the ends of each lie on both sides of the other
    side = np.sign(_crossed(a[:, None], b[:, None], np.stack([a, b], axis=1)[None]))
    apart = side[..., 0] * side[..., 1] > 0
    crossing = ~apart & ~apart.T & _boxes_meet(a, b)
    gap = np.abs(np.arange(count)[:, None] - np.arange(count))
    crossing[(gap <= 1) | (gap == count - 1)] = False
    if np.any(crossing):
        i, j = (int(k) for k in np.argwhere(crossing)[0])
        came = f"edges that meet, from {place(i)} to {place(i + 1)} and from {place(j)} to"
        return Fault("outline", f"{came} {place(j + 1)}", wanted)
    if not signed_area(corners) > 0.0:
        return Fault("outline", "an outline without area", "the corners of the deck face in order")
    return None


def _crossed(a: Array, b: Array, p: Array) -> Array:
    """(m, m, 2): on which side of each edge a-b the ends p of each other one lie."""
    d = b - a
    out = d[..., None, 0] * (p[..., 1] - a[..., None, 1])
    return np.asarray(out - d[..., None, 1] * (p[..., 0] - a[..., None, 0]))


def _boxes_meet(a: Array, b: Array) -> NDArray[np.bool_]:
    low, high = np.minimum(a, b), np.maximum(a, b)
    return np.asarray(np.all((low[:, None] <= high) & (low <= high[:, None]), axis=-1))


def over_edge(layout: Layout, places: Array, size: ArrayLike) -> tuple[int, float] | None:
    """The first circle that reaches over the outline and by how much."""
    over = 0.5 * np.broadcast_to(size, len(places)) - to_edges(layout.outline, places)
    if not np.any(over > _TOUCH):
        return None
    i = int(np.argmax(over > _TOUCH))
    return i, float(over[i])


def _too_near(
    places: Array, size: ArrayLike, others: Array | None = None, other_size: ArrayLike = 0.0
) -> tuple[int, int, float, float] | None:
    """First circle that overlaps one of the others (or an earlier one): both, gap, gap needed."""
    own = others is None
    far = distances(places, places if others is None else others)
    size = np.broadcast_to(size, len(places))
    need = 0.5 * (size[:, None] + (size if own else np.broadcast_to(other_size, far.shape[1])))
    bad = far < need - _TOUCH
    if own:
        bad &= np.tri(len(places), k=-1, dtype=bool)
    if not np.any(bad):
        return None
    i, j = (int(k) for k in np.argwhere(bad)[0])
    return i, j, float(far[i, j]), float(need[i, j])


def _bore_fault(layout: Layout, ring: float, system: str) -> Fault | None:
    wide = _told(ring, system)
    what = "bores" if ring == layout.bore else "combustion seals"
    over = over_edge(layout, layout.bores, ring)
    if over is not None:
        i, reach = over
        came = f"a bore whose seal ring, {wide}, reaches {_told(reach, system)} over the outline"
        if ring == layout.bore:
            came = f"a bore that reaches {_told(reach, system)} over the outline"
        return Fault(f"bores[{i + 1}]", came, "a place well inside the outline")
    hit = _too_near(layout.bores, ring)
    if hit is not None:
        i, j, far, need = hit
        came = f"a bore {_told(far, system)} from bore {j + 1}"
        wanted = f"at least {_told(need, system)}, so that the {what} do not overlap"
        return Fault(f"bores[{i + 1}]", came, wanted)
    return None


def _circle_fault(
    layout: Layout, ring: float, system: str, places: Array, size: Any, names: list[str],
    what: list[str],
) -> Fault | None:  # fmt: skip
    """Fault of bolt holes or liquid holes against outline and bores."""
    over = over_edge(layout, places, size)
    if over is not None:
        i, reach = over
        came = f"{what[i]} that reaches {_told(reach, system)} over the outline"
        return Fault(names[i], came, "a place inside the outline")
    hit = _too_near(places, size, layout.bores, ring)
    if hit is not None:
        i, j, far, need = hit
        clear = "the bore" if ring == layout.bore else "the combustion seal"
        came = f"{what[i]} {_told(far, system)} from the centre of bore {j + 1}"
        return Fault(names[i], came, f"at least {_told(need, system)}, so that it clears {clear}")
    return None


def _bolt_fault(layout: Layout, ring: float, system: str) -> Fault | None:
    names = [f"bolts[{i + 1}]" for i in range(len(layout.bolts))]
    what = ["a bolt hole"] * len(names)
    fault = _circle_fault(layout, ring, system, layout.bolts, layout.bolt_hole, names, what)
    hit = None if fault else _too_near(layout.bolts, layout.bolt_hole)
    if hit is not None:
        i, j, far, need = hit
        came = f"a bolt {_told(far, system)} from bolt {j + 1}"
        return Fault(
            names[i], came, f"at least {_told(need, system)}, so that the holes do not overlap"
        )
    return fault


def _hole_fault(layout: Layout, ring: float, system: str) -> Fault | None:
    if not layout.holes:
        return None
    names = [f"holes[{i + 1}]" for i in range(len(layout.holes))]
    seen: dict[str, int] = {}
    for i, hole in enumerate(layout.holes):
        if hole.name in seen:
            came = f"{short(hole.name)}, the name of hole {seen[hole.name] + 1}"
            return Fault(f"{names[i]}.name", came, "a name of its own")
        seen[hole.name] = i
    places, size = layout.hole_places, layout.hole_diameters
    what = [f"the liquid hole {short(h.name, 24)}" for h in layout.holes]
    fault = _circle_fault(layout, ring, system, places, size, names, what)
    if fault is not None:
        return fault
    for others, other_size, word in (
        (layout.bolts, layout.bolt_hole, "bolt"),
        (None, 0.0, "hole"),
    ):
        hit = _too_near(places, size, others, other_size)
        if hit is not None:
            i, j, far, need = hit
            came = f"{what[i]} {_told(far, system)} from {word} {j + 1}"
            wanted = f"at least {_told(need, system)}, so that the holes do not overlap"
            return Fault(names[i], came, wanted)
    return None
