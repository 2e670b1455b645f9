"""Whether everything on a deck face has room: one message names what has none."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
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
    told = functools.partial(show, kind="length", system=system)
    for fault in (_outline_fault(layout.outline, told), *_faults(layout, ring, told)):
        if fault is not None:
            raise InputError(fault)
    return layout


def _outline_fault(corners: Array, told: Callable[[float], str]) -> Fault | None:
    def place(i: int) -> str:
        x, y = corners[i % len(corners)]
        return f"({told(x)}, {told(y)})"

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
    places: Array, size: ArrayLike, others: Array, other_size: ArrayLike
) -> tuple[int, int, float, float] | None:
    """First circle that overlaps one of the others (or an earlier one): both, gap, gap needed."""
    far = distances(places, others)
    sizes = (np.broadcast_to(x, n) for x, n in zip((size, other_size), far.shape, strict=True))
    need = 0.5 * np.add.outer(*sizes)
    bad = far < need - _TOUCH
    if others is places:
        bad &= np.tri(len(places), k=-1, dtype=bool)
    if not np.any(bad):
        return None
    i, j = (int(k) for k in np.argwhere(bad)[0])
    return i, j, float(far[i, j]), float(need[i, j])


def _faults(layout: Layout, ring: float, told: Callable[[float], str]) -> Iterator[Fault]:
    """Faults of bores, bolt holes and liquid holes, each against outline and what came before."""
    seen: dict[str, int] = {}
    for i, hole in enumerate(layout.holes, start=1):
        if seen.setdefault(hole.name, i) != i:
            came = f"{short(hole.name)}, the name of hole {seen[hole.name]}"
            yield Fault(f"holes[{i}].name", came, "a name of its own")
    own = ring == layout.bore
    seal, clear = ("bores", "the bore") if own else ("combustion seals", "the combustion seal")
    liquid = [f"the liquid hole {short(h.name, 24)}" for h in layout.holes]
    groups: list[tuple[str, Array, Any, list[str]]] = [
        ("bore", layout.bores, ring, ["a bore"] * len(layout.bores)),
        ("bolt", layout.bolts, layout.bolt_hole, ["a bolt hole"] * len(layout.bolts)),
        ("hole", layout.hole_places, layout.hole_diameters, liquid),
    ]
    for number, (word, places, size, what) in enumerate(groups, start=1):
        over = over_edge(layout, places, size)
        if over is not None:
            whose = "that" if own or number > 1 else f"whose seal ring, {told(ring)},"
            came = f"{what[over[0]]} {whose} reaches {told(over[1])} over the outline"
            yield Fault(f"{word}s[{over[0] + 1}]", came, "a place inside the outline")
        for other, those, other_size, _ in groups[:number]:
            hit = _too_near(places, size, those, other_size)
            if hit is not None:
                i, j, far, need = hit
                near = f"the centre of {other}" if other == "bore" != word else other
                why = f"the {seal if word == other == 'bore' else 'holes'} do not overlap"
                why = f"it clears {clear}" if other == "bore" != word else why
                came = f"{what[i]} {told(far)} from {near} {j + 1}"
                yield Fault(f"{word}s[{i + 1}]", came, f"at least {told(need)}, so that {why}")
