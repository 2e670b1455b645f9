"""The deck layout: where bores, fasteners and liquid holes stand on the deck face.

Seen from above the head, x runs along the row of bores from front to rear and starts at the first
bore; y runs across, to the inlet side (inline) or to the valley (vee). All lengths are metres;
people count bores and bolts from 1, and so do the messages.

The patterns are invented ones: regular, of the kinds builders speak of, none measured on an
engine. A real deck is entered by its own places. Units stand at the door of the patterns;
everything else takes and gives plain metres.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit.errors import Fault, InputError, fail, near, quoted, short
from sealkit.units import Q, show, to_si, with_units

Array = NDArray[np.float64]

FLUIDS = ("coolant", "oil")
SHARED = 1.10
"""A bolt stands round every bore whose centre is no more than this times as far as the nearest."""
BESIDE = 1.5
"""A bolt this many times farther than a bore's nearest one does not stand round it."""
_MOST = 400  # bolts, corners, liquid holes
_FAR = 100.0  # m
_TOUCH = 1e-9  # m, rounding of places


# --------------------------------------------------------------------------- the layout
@dataclass(frozen=True, eq=False)
class Hole:
    """A liquid hole through the deck face.

    Parameters
    ----------
    name : how it is called, such as "C1"
    x, y : centre, m
    diameter : m
    fluid : one of `FLUIDS`
    """

    name: str
    x: float
    y: float
    diameter: float
    fluid: str


@dataclass(frozen=True, eq=False)
class Layout:
    """Outline, bores, bolts and liquid holes of one deck face.

    Numbers are finite and the corners run anticlockwise; whether everything has room is told by
    `check`.

    Parameters
    ----------
    outline : (n, 2) corners of the deck face, m
    bores : (nb, 2) centres, m
    bore : cylinder bore, m
    bolts : (nf, 2) centres, m
    bolt_hole : diameter of the bolt holes, m
    holes : liquid holes

    Raises
    ------
    InputError
        naming the first corner, bore, bolt or hole that is no place, or the size that is none.
    """

    outline: Array
    bores: Array
    bore: float
    bolts: Array
    bolt_hole: float
    holes: tuple[Hole, ...] = ()

    def __post_init__(self) -> None:
        outline = _places("outline", self.outline, 3, "corners")
        if _signed_area(outline) < 0.0:
            outline = np.ascontiguousarray(outline[::-1])
        held = {
            "outline": outline,
            "bores": _places("bores", self.bores, 1, "bores"),
            "bore": _size("bore", self.bore),
            "bolts": _places("bolts", self.bolts, 3, "bolts"),
            "bolt_hole": _size("bolt_hole", self.bolt_hole),
            "holes": _holes(self.holes),
        }
        for name, value in held.items():
            if isinstance(value, np.ndarray):
                value.setflags(write=False)
            object.__setattr__(self, name, value)

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """Smallest and largest x, smallest and largest y of the outline, m."""
        (x0, y0), (x1, y1) = self.outline.min(axis=0), self.outline.max(axis=0)
        return float(x0), float(x1), float(y0), float(y1)

    @property
    def hole_places(self) -> Array:
        """(nh, 2) centres of the liquid holes, m."""
        return np.array([(h.x, h.y) for h in self.holes], dtype=float).reshape(-1, 2)

    @property
    def hole_diameters(self) -> Array:
        """(nh,) diameters of the liquid holes, m."""
        return np.array([h.diameter for h in self.holes], dtype=float)


def _numbers(name: str, value: Any, wanted: str) -> Array:
    try:
        if isinstance(value, Q):
            value = to_si(value, "length", name)
        return np.array(value, dtype=float)
    except (TypeError, ValueError, OverflowError) as err:
        if isinstance(err, InputError):
            raise
        raise fail(name, value, wanted) from err


def _places(name: str, value: Any, least: int, words: str) -> Array:
    wanted = f"a list of at least {least} {words}, each x and y in metres"
    out = _numbers(name, value, wanted)
    if out.ndim != 2 or out.shape[1] != 2 or len(out) < least:
        came = f"{len(out)} {words}" if out.ndim == 2 and out.shape[1] == 2 else short(value)
        raise InputError(Fault(name, came, wanted))
    if len(out) > _MOST:
        raise InputError(Fault(name, f"{len(out)} {words}", f"at most {_MOST}"))
    bad = ~np.all(np.abs(out) <= _FAR, axis=1)
    if np.any(bad):
        i = int(np.argmax(bad))
        came = f"x = {out[i, 0]:g}, y = {out[i, 1]:g}"
        raise InputError(Fault(f"{name}[{i + 1}]", came, f"two lengths within {_FAR:g} m"))
    return out


def _size(name: str, value: Any) -> float:
    wanted = f"a diameter above zero, at most {_FAR:g} m"
    out = _numbers(name, value, wanted)
    if out.ndim != 0 or not 0.0 < out <= _FAR:
        raise fail(name, value, wanted)
    return float(out)


def _holes(value: Any) -> tuple[Hole, ...]:
    wanted = "a list of liquid holes (Hole)"
    if not isinstance(value, Iterable) or isinstance(value, str | np.ndarray):
        raise fail("holes", value, wanted)
    rows, out = list(itertools.islice(value, _MOST + 1)), []
    if len(rows) > _MOST:
        raise InputError(Fault("holes", f"more than {_MOST}", f"at most {_MOST}"))
    for number, hole in enumerate(rows, start=1):
        path = f"holes[{number}]"
        if not isinstance(hole, Hole):
            raise fail(path, hole, wanted)
        if not isinstance(hole.name, str) or not hole.name.strip():
            raise fail(f"{path}.name", hole.name, 'a name, such as "C1"')
        if hole.fluid not in FLUIDS:
            raise fail(f"{path}.fluid", hole.fluid, f"one of {quoted(FLUIDS)}{_near(hole.fluid)}")
        place = _numbers(path, (hole.x, hole.y), "x and y in metres")
        if place.shape != (2,) or not np.all(np.abs(place) <= _FAR):
            raise fail(path, f"x = {hole.x}, y = {hole.y}", f"two lengths within {_FAR:g} m")
        size = _size(f"{path}.diameter", hole.diameter)
        out.append(Hole(hole.name, float(place[0]), float(place[1]), size, hole.fluid))
    return tuple(out)


def _near(word: Any) -> str:
    return near(word, FLUIDS) if isinstance(word, str) else ""


# --------------------------------------------------------------------------- plane geometry
def _signed_area(corners: Array) -> float:
    x, y = (corners - corners[0]).T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _points(points: ArrayLike) -> Array:
    out = np.asarray(points, dtype=float)
    if out.ndim == 0 or out.shape[-1] != 2:
        raise fail("points", f"an array of shape {out.shape}", "points with x and y, shape (n, 2)")
    return out


def _to_edges(corners: Array, points: Array) -> Array:
    """Distance of points (n, 2) from the nearest edge, above zero inside."""
    a, b = corners, np.roll(corners, -1, axis=0)
    out = np.empty(len(points))
    block = max(1, 2_000_000 // len(corners))
    for start in range(0, len(points), block):
        p = points[start : start + block, None, :]
        d = b - a
        length = np.maximum(np.sum(d * d, axis=1), 1e-300)
        t = np.clip(np.sum((p - a) * d, axis=2) / length, 0.0, 1.0)
        gap = np.min(np.linalg.norm(p - (a + t[..., None] * d), axis=2), axis=1)
        above = (a[:, 1] > p[..., 1]) != (b[:, 1] > p[..., 1])
        rise = np.where(d[:, 1] == 0.0, 1.0, d[:, 1])
        across = a[:, 0] + (p[..., 1] - a[:, 1]) / rise * d[:, 0]
        odd = np.sum(above & (p[..., 0] < across), axis=1) % 2 == 1
        out[start : start + block] = np.where(odd, gap, -gap)
    return out


def edge_distance(layout: Layout, points: ArrayLike) -> Array:
    """Distance of points from the outline, above zero inside it.

    Parameters
    ----------
    layout : the deck face
    points : (..., 2), m

    Returns
    -------
    (...), m
    """
    place = _points(points)
    return _to_edges(layout.outline, place.reshape(-1, 2)).reshape(place.shape[:-1])


def inside(layout: Layout, points: ArrayLike) -> NDArray[np.bool_]:
    """Which points lie inside the outline, holes and bores included.

    Parameters
    ----------
    layout : the deck face
    points : (..., 2), m

    Returns
    -------
    (...) of bool
    """
    return np.asarray(edge_distance(layout, points) > 0.0)


def distances(points: ArrayLike, centres: ArrayLike) -> Array:
    """Distance of every point from every centre.

    Parameters
    ----------
    points : (..., 2), m
    centres : (k, 2), m

    Returns
    -------
    (..., k), m
    """
    place, other = _points(points), _points(centres)
    return np.asarray(np.linalg.norm(place[..., None, :] - other, axis=-1))


def on_gasket(layout: Layout, points: ArrayLike, opening: float | None = None) -> NDArray[np.bool_]:
    """Which points are gasket: inside the outline, beside bores, bolt holes and liquid holes.

    Parameters
    ----------
    layout : the deck face
    points : (..., 2), m
    opening : diameter of the gasket's opening at the bore, m; None: the bore

    Returns
    -------
    (...) of bool
    """
    place = _points(points)
    out = inside(layout, place)
    radius = 0.5 * (layout.bore if opening is None else opening)
    out &= np.all(distances(place, layout.bores) > radius, axis=-1)
    out &= np.all(distances(place, layout.bolts) > 0.5 * layout.bolt_hole, axis=-1)
    if layout.holes:
        beside = distances(place, layout.hole_places) > 0.5 * layout.hole_diameters
        out &= np.all(beside, axis=-1)
    return np.asarray(out)


def gasket_area(layout: Layout, opening: float | None = None) -> float:
    """Area of the gasket: the outline less bores, bolt holes and liquid holes, m**2.

    Holds for a layout that passes `check`, so that nothing overlaps.

    Parameters
    ----------
    layout : the deck face
    opening : diameter of the gasket's opening at the bore, m; None: the bore
    """
    wide = layout.bore if opening is None else opening
    round_ones = len(layout.bores) * wide**2 + len(layout.bolts) * layout.bolt_hole**2
    round_ones += float(np.sum(layout.hole_diameters**2))
    return _signed_area(layout.outline) - 0.25 * math.pi * round_ones


def mirrored(layout: Layout) -> Layout:
    """The same deck face turned front to rear, about the middle between the outermost bores."""
    x = layout.bores[:, 0]
    turn = float(x.min() + x.max())

    def flip(places: Array) -> Array:
        return np.column_stack([turn - places[:, 0], places[:, 1]])

    holes = tuple(dataclasses.replace(h, x=turn - h.x) for h in layout.holes)
    return dataclasses.replace(
        layout,
        outline=flip(layout.outline),
        bores=flip(layout.bores)[::-1],
        bolts=flip(layout.bolts),
        holes=holes,
    )


# --------------------------------------------------------------------------- who stands where
@dataclass(frozen=True, eq=False)
class Around:
    """The bolts that stand round one bore.

    Parameters
    ----------
    bolts : their places in `Layout.bolts`, counted from 0
    share : of each, one over the number of bores it stands round
    """

    bolts: NDArray[np.intp]
    share: Array

    @property
    def effective(self) -> float:
        """Bolts that serve the bore, each shared one counted by its share."""
        return float(np.sum(self.share))


def _standing(layout: Layout) -> NDArray[np.bool_]:
    """(nf, nb): whether a bolt stands round a bore."""
    far = distances(layout.bolts, layout.bores)
    nearest_bore = far.min(axis=1, keepdims=True)
    nearest_bolt = far.min(axis=0, keepdims=True)
    return np.asarray((far <= SHARED * nearest_bore) & (far <= BESIDE * nearest_bolt))


def around_bore(layout: Layout, bore: int) -> Around:
    """Bolts that stand round a bore, and the share of each that serves it.

    A bolt stands round its nearest bore, and round every other whose centre is at most `SHARED`
    times as far; a bolt that is more than `BESIDE` times as far as the bore's nearest one only
    holds the head there.

    Parameters
    ----------
    layout : the deck face
    bore : place in `Layout.bores`, from 0

    Raises
    ------
    InputError
        if there is no such bore.
    """
    count = len(layout.bores)
    if isinstance(bore, bool) or not isinstance(bore, int | np.integer) or not 0 <= bore < count:
        raise fail("bore", bore, f"a whole number from 0 to {count - 1}")
    standing = _standing(layout)
    here = np.nonzero(standing[:, bore])[0]
    return Around(here, 1.0 / np.sum(standing[here], axis=1))


def counts(layout: Layout) -> tuple[int, ...]:
    """How many bolts stand round each bore, shared ones counted in full."""
    return tuple(int(n) for n in np.sum(_standing(layout), axis=0))


def bolt_circle(layout: Layout, bore: int) -> float:
    """Mean diameter of the circle of bolts round a bore, m.

    Parameters
    ----------
    layout : the deck face
    bore : place in `Layout.bores`, from 0
    """
    here = around_bore(layout, bore).bolts
    far = distances(layout.bolts[here], layout.bores[bore : bore + 1])
    return float(2.0 * np.mean(far)) if len(here) else math.nan


# --------------------------------------------------------------------------- has everything room
def check(layout: Layout, seal_diameter: float | None = None, system: str = "metric") -> Layout:
    """The layout itself, if everything on the deck face has room.

    The outline does not cross itself; bores, bolt holes and liquid holes lie inside it and clear
    each other, and all of them clear the combustion seals.

    Parameters
    ----------
    layout : the deck face
    seal_diameter : mean diameter of the combustion seal, m; None: the bore itself
    system : "metric" or "inch", for the message

    Raises
    ------
    InputError
        with one fault, naming the first bore, bolt, hole or stretch of outline that does not fit.
    """
    seal = layout.bore if seal_diameter is None else _size("seal_diameter", seal_diameter)
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
    if not _signed_area(corners) > 0.0:
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


def _over_edge(layout: Layout, places: Array, size: ArrayLike) -> tuple[int, float] | None:
    """The first circle that reaches over the outline and by how much."""
    over = 0.5 * np.broadcast_to(size, len(places)) - _to_edges(layout.outline, places)
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
    over = _over_edge(layout, layout.bores, ring)
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
    over = _over_edge(layout, places, size)
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


# --------------------------------------------------------------------------- patterns
PATTERNS = ("inline", "vee bank")
BOLTS_PER_BORE = (4, 5, 6)


def outline(
    bolts: ArrayLike,
    end_margin: float,
    side_margin: float,
    corner_cut: float = 0.0,
    bank_offset: float = 0.0,
) -> Array:
    """Corners of a deck face that reaches beyond its outermost bolts by margins.

    Parameters
    ----------
    bolts : (nf, 2), m
    end_margin, side_margin : m
    corner_cut : how far the corners are cut, m
    bank_offset : of one bank of a vee before the other, m (`vee_bank`)

    Returns
    -------
    (4, 2) or (8, 2), m
    """
    place = np.asarray(bolts, dtype=float)
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


def _pattern(
    bores: int,
    pitch: float,
    bore: float,
    bolt_hole: float,
    row_distance: float,
    bolts_per_bore: int,
    shared_rows: int,
    front_distance: float | None,
    rear_distance: float | None,
    pair_distance: float | None,
    outer_distance: float | None,
    end_margin: float,
    side_margin: float,
    corner_cut: float,
    coolant_diameter: float | None,
    coolant_distance: float | None,
    coolant_per_gap: int,
    oil_diameter: float | None,
    oil_distance: float | None,
    drains: Sequence[int],
    bank_offset: float,
) -> Layout:
    for name, value, known in (
        ("bores", bores, range(1, 17)),
        ("bolts_per_bore", bolts_per_bore, BOLTS_PER_BORE),
        ("shared_rows", shared_rows, range(3)),
        ("coolant_per_gap", coolant_per_gap, range(1, 5)),
    ):
        if isinstance(value, bool) or not isinstance(value, int | np.integer) or value not in known:
            wanted = "one of " if len(known) < 4 else "a whole number from "
            span = ", ".join(map(str, known)) if len(known) < 4 else f"{known[0]} to {known[-1]}"
            raise fail(name, value, wanted + span)
    lengths = {
        "pitch": pitch, "bore": bore, "bolt_hole": bolt_hole, "row_distance": row_distance,
        "front_distance": front_distance, "rear_distance": rear_distance,
        "pair_distance": pair_distance, "outer_distance": outer_distance,
        "end_margin": end_margin, "side_margin": side_margin,
        "coolant_distance": coolant_distance, "oil_distance": oil_distance,
        "coolant_diameter": coolant_diameter, "oil_diameter": oil_diameter,
    }  # fmt: skip
    for name, length in lengths.items():
        if length is not None and not 0.0 < length <= _FAR:
            raise fail(name, f"{length:g} m", f"a length above zero, at most {_FAR:g} m")
    for name, length in (("corner_cut", corner_cut), ("bank_offset", abs(bank_offset))):
        if not 0.0 <= length <= _FAR:
            raise fail(name, f"{length:g} m", f"a length of at most {_FAR:g} m")
    half, row = 0.5 * pitch, 0.5 * row_distance
    radius = math.hypot(half, row)
    front = half if front_distance is None else front_distance
    rear = half if rear_distance is None else rear_distance
    pair = 2.0 * bolt_hole if pair_distance is None else pair_distance
    outer = radius if outer_distance is None else outer_distance
    if not pair < pitch:
        raise fail("pair_distance", show(pair, "length"), "less than the pitch")
    centres = pitch * np.arange(bores)
    last = float(centres[-1])
    bolts: list[tuple[float, float]] = []
    corners: dict[int, list[list[tuple[float, float]]]] = {}  # side -> bolts beside each bore
    for side in (1, -1):
        if shared_rows == 2 or (shared_rows == 1 and side == 1):
            x = [-front, *(centres[:-1] + half), last + rear]
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

        spots = [(-front, out(1))]
        spots += [(float(v) + half, out(side)) for side in drains for v in centres[:-1]]
        holes += [
            Hole(f"O{n}", x, y, oil_diameter, "oil") for n, (x, y) in enumerate(spots, start=1)
        ]
    line_of_bores = np.column_stack([centres, 0.0 * centres])
    return Layout(corner, line_of_bores, bore, place, bolt_hole, tuple(holes))


_KINDS = {
    "pitch": "length > 0",
    "bore": "length > 0",
    "bolt_hole": "length > 0",
    "row_distance": "length > 0",
    "front_distance": "length > 0",
    "rear_distance": "length > 0",
    "pair_distance": "length > 0",
    "outer_distance": "length > 0",
    "end_margin": "length > 0",
    "side_margin": "length > 0",
    "corner_cut": "length >= 0",
    "coolant_diameter": "length > 0",
    "coolant_distance": "length > 0",
    "oil_diameter": "length > 0",
    "oil_distance": "length > 0",
}


@with_units(**_KINDS)
def inline(
    bores: int,
    pitch: Any,
    bore: Any,
    bolt_hole: Any,
    row_distance: Any,
    end_margin: Any,
    side_margin: Any,
    bolts_per_bore: int = 4,
    shared_rows: int = 2,
    front_distance: Any = None,
    rear_distance: Any = None,
    pair_distance: Any = None,
    outer_distance: Any = None,
    corner_cut: Any = 0.0,
    coolant_diameter: Any = None,
    coolant_distance: Any = None,
    coolant_per_gap: int = 1,
    oil_diameter: Any = None,
    oil_distance: Any = None,
) -> Layout:
    """Deck of an inline engine: bores in a row, bolts in a row on each side.

    Two bolts stand on each side of a bore: halfway between neighbours in a shared row, as pairs
    where each bore has its own. A fifth stands straight off the bore on the exhaust side, a sixth
    on the inlet side. Coolant holes stand in the gaps between the bolts of a bore; oil comes up
    beside the front bolt of the inlet side and drains between the bores on both sides.

    Parameters
    ----------
    bores : number of bores, 1 to 16
    pitch : from bore to bore, m
    bore : m
    bolt_hole : diameter, m
    row_distance : between the two rows of shared bolts, m; bolts of bores of their own stand on
        the same circle round the bore
    end_margin, side_margin : of the deck face beyond the outermost bolts, m
    bolts_per_bore : 4, 5 or 6
    shared_rows : rows whose bolts are shared between neighbours: 2, 1 (the inlet side) or 0
    front_distance, rear_distance : of the end bolts of a shared row beyond the first and the last
        bore, m; None: half the pitch
    pair_distance : of the two bolts between neighbours in a row that is not shared, m; None: two
        bolt holes
    outer_distance : of a fifth or sixth bolt from the bore, m; None: on the circle of the others
    corner_cut : how far the corners of the deck face are cut, m
    coolant_diameter : m; None: no coolant holes
    coolant_distance : from the centre of the bore, m; None: midway from bore edge to bolt circle
    coolant_per_gap : coolant holes between neighbouring bolts of a bore, 1 to 4
    oil_diameter : m; None: no oil holes
    oil_distance : from the line of bores, m; None: midway from the row of bolts to the edge

    Returns
    -------
    Layout, which `check` has not seen yet

    Raises
    ------
    InputError
        naming the argument.

    Invented positions; no published source.
    """
    return _pattern(
        bores, pitch, bore, bolt_hole, row_distance, bolts_per_bore, shared_rows,
        front_distance, rear_distance, pair_distance, outer_distance, end_margin, side_margin,
        corner_cut, coolant_diameter, coolant_distance, coolant_per_gap, oil_diameter,
        oil_distance, drains=(1, -1), bank_offset=0.0,
    )  # fmt: skip


@with_units(**_KINDS, bank_offset="length")
def vee_bank(
    bores: int,
    pitch: Any,
    bore: Any,
    bolt_hole: Any,
    row_distance: Any,
    end_margin: Any,
    side_margin: Any,
    bolts_per_bore: int = 4,
    shared_rows: int = 2,
    front_distance: Any = None,
    rear_distance: Any = None,
    pair_distance: Any = None,
    outer_distance: Any = None,
    corner_cut: Any = 0.0,
    coolant_diameter: Any = None,
    coolant_distance: Any = None,
    coolant_per_gap: int = 1,
    oil_diameter: Any = None,
    oil_distance: Any = None,
    bank_offset: Any = 0.0,
) -> Layout:
    """Deck of one bank of a vee engine.

    As `inline`, with y towards the valley, and two differences. The banks stand offset along the
    crank by the width of a rod while the block is as long for both, so the deck face of the
    forward bank runs on behind its last bolts by that much, and that of the other before its
    first. Oil drains on the outer, lower side only; its feed is on the valley side.

    Parameters
    ----------
    bank_offset : how far this bank stands before the other, m; negative behind it
    others : as for `inline`; for inlet and exhaust side read valley and outer side

    Returns
    -------
    Layout, which `check` has not seen yet

    Raises
    ------
    InputError
        naming the argument.

    Invented positions; no published source.
    """
    return _pattern(
        bores, pitch, bore, bolt_hole, row_distance, bolts_per_bore, shared_rows,
        front_distance, rear_distance, pair_distance, outer_distance, end_margin, side_margin,
        corner_cut, coolant_diameter, coolant_distance, coolant_per_gap, oil_diameter,
        oil_distance, drains=(-1,), bank_offset=bank_offset,
    )  # fmt: skip


# --------------------------------------------------------------------------- steps and warp
@dataclass(frozen=True, eq=False)
class Step:
    """A place where the gasket is thicker, or thinner where a coat is missing.

    Parameters
    ----------
    x, y : middle of the place, m
    extra : thickness added, m; negative where something is missing
    diameter : of a round place, m; None: a rectangle
    size : of a rectangle, along x and along y, m
    """

    x: float
    y: float
    extra: float
    diameter: float | None = None
    size: tuple[float, float] | None = None


def extra_thickness(steps: Iterable[Step], points: ArrayLike) -> Array:
    """Thickness that the steps add at points; where they overlap they add up.

    Parameters
    ----------
    steps : places that are thicker or thinner
    points : (..., 2), m

    Returns
    -------
    (...), m

    Raises
    ------
    InputError
        if a step has neither or both of diameter and size.
    """
    place = _points(points)
    out = np.zeros(place.shape[:-1])
    for number, step in enumerate(steps, start=1):
        if (step.diameter is None) == (step.size is None):
            came = "neither" if step.size is None else "both"
            raise InputError(Fault(f"steps[{number}]", came, "either diameter or size"))
        numbers = (step.x, step.y, step.extra, step.diameter or 0.0, *(step.size or ()))
        if not np.all(np.isfinite(numbers)):
            wanted = "finite place, size and thickness"
            raise InputError(Fault(f"steps[{number}]", "something that is no number", wanted))
        off = np.abs(place - (step.x, step.y))
        if step.size is None:
            here = np.hypot(off[..., 0], off[..., 1]) <= 0.5 * float(step.diameter or 0.0)
        else:
            here = np.all(off <= 0.5 * np.asarray(step.size), axis=-1)
        out += np.where(here, step.extra, 0.0)
    return out


def bow(layout: Layout, points: ArrayLike, lengthwise: float, across: float) -> Array:
    """Gap that a warped face leaves at points before it is pulled down, least gap zero.

    g = l (1 - (2 x / L)**2) + c (1 - (2 y / W)**2), less its least value on the face, with x and
    y from the middle of a face of length L and width W: the shape a straight-edge finds when the
    middle is hollow (or, negative, proud).

    Parameters
    ----------
    layout : the deck face
    points : (..., 2), m
    lengthwise, across : hollow in the middle along the row and across it, l and c, m; negative
        where the middle is proud

    Returns
    -------
    (...), m

    A parabola is the shape of even bending; it is an assumption, no published source.
    """
    place = _points(points)
    x0, x1, y0, y1 = layout.extent
    x = (2.0 * place[..., 0] - x0 - x1) / (x1 - x0)
    y = (2.0 * place[..., 1] - y0 - y1) / (y1 - y0)
    least = min(lengthwise, 0.0) + min(across, 0.0)
    return np.asarray(lengthwise * (1.0 - x**2) + across * (1.0 - y**2) - least)
