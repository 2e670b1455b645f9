"""The deck layout: where bores, fasteners and liquid holes stand on the deck face.

Seen from above the head, x runs along the row of bores from front to rear and starts at the first
bore; y runs across, to the inlet side (inline) or to the valley (vee). All lengths are metres;
people count bores and bolts from 1, and so do the messages.

Everything here takes and gives plain metres, but for `thermal_bow`; a quantity is read with its
unit.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit import kinds as si
from sealkit.arrays import Array
from sealkit.errors import Fault, InputError, fail, near, quoted, short
from sealkit.units import field, plain, plain_fields, with_units

FLUIDS = ("coolant", "oil")
SHARED = 1.10
"""A bolt stands round every bore whose centre is no more than this times as far as the nearest."""
BESIDE = 1.5
"""A bolt this many times farther than a bore's nearest one does not stand round it."""
_MOST = 400  # bolts, corners, liquid holes
FAR = 100.0  # m


# --------------------------------------------------------------------------- the layout
@dataclass(frozen=True, eq=False)
class Hole:
    """A liquid hole through the deck face.

    Parameters
    ----------
    name : how it is called, such as "C1"
    x, y : centre [m]
    diameter : [m]
    fluid : one of `FLUIDS`
    drain : whether it runs back without pressure
    """

    name: str
    x: float
    y: float
    diameter: float
    fluid: str
    drain: bool = False

    def __post_init__(self) -> None:
        for name in ("x", "y", "diameter"):
            object.__setattr__(self, name, plain(getattr(self, name), "length", name))


@dataclass(frozen=True, eq=False)
class Layout:
    """Outline, bores, bolts and liquid holes of one deck face.

    Numbers are finite and the corners run anticlockwise; whether everything has room is told by
    `room.check`.

    Raises InputError naming the first corner, bore, bolt or hole that is no place, or the size that
    is none.

    Parameters
    ----------
    outline : (n, 2) corners of the deck face [m]
    bores : (nb, 2) centres [m]
    bore : cylinder bore [m]
    bolts : (nf, 2) centres [m]
    bolt_hole : diameter of the bolt holes [m]
    holes : liquid holes
    """

    outline: Array
    bores: Array
    bore: float
    bolts: Array
    bolt_hole: float
    holes: tuple[Hole, ...] = ()

    def __post_init__(self) -> None:
        outline = _places("outline", self.outline, 3, "corners")
        if signed_area(outline) < 0.0:
            outline = np.ascontiguousarray(outline[::-1])
        held = {
            "outline": outline,
            "bores": _places("bores", self.bores, 1, "bores"),
            "bore": diameter_of("bore", self.bore),
            "bolts": _places("bolts", self.bolts, 3, "bolts"),
            "bolt_hole": diameter_of("bolt_hole", self.bolt_hole),
            "holes": _holes(self.holes),
        }
        for name, value in held.items():
            if isinstance(value, np.ndarray):
                value.setflags(write=False)
            object.__setattr__(self, name, value)

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """Smallest and largest x, smallest and largest y of the outline [m]."""
        (x0, y0), (x1, y1) = self.outline.min(axis=0), self.outline.max(axis=0)
        return float(x0), float(x1), float(y0), float(y1)

    @property
    def hole_places(self) -> Array:
        """(nh, 2) centres of the liquid holes [m]."""
        return np.array([(h.x, h.y) for h in self.holes], dtype=float).reshape(-1, 2)

    @property
    def hole_diameters(self) -> Array:
        """(nh,) diameters of the liquid holes [m]."""
        return np.array([h.diameter for h in self.holes], dtype=float)


def _numbers(name: str, value: Any, wanted: str) -> Array:
    try:
        return np.array(plain(value, "length", name), dtype=float)
    except InputError:
        raise
    except (TypeError, ValueError, OverflowError) as err:
        raise fail(name, value, wanted) from err


def _places(name: str, value: Any, least: int, words: str) -> Array:
    wanted = f"a list of at least {least} {words}, each x and y in metres"
    out = _numbers(name, value, wanted)
    if out.ndim != 2 or out.shape[1] != 2 or len(out) < least:
        came = f"{len(out)} {words}" if out.ndim == 2 and out.shape[1] == 2 else short(value)
        raise InputError(Fault(name, came, wanted))
    if len(out) > _MOST:
        raise InputError(Fault(name, f"{len(out)} {words}", f"at most {_MOST}"))
    bad = ~np.all(np.abs(out) <= FAR, axis=1)
    if np.any(bad):
        i = int(np.argmax(bad))
        came = f"x = {out[i, 0]:g}, y = {out[i, 1]:g}"
        raise InputError(Fault(f"{name}[{i + 1}]", came, f"two lengths within {FAR:g} m"))
    return out


def diameter_of(name: str, value: Any) -> float:
    """A diameter [m], read and checked."""
    wanted = f"a diameter above zero, at most {FAR:g} m"
    out = _numbers(name, value, wanted)
    if out.ndim != 0 or not 0.0 < out <= FAR:
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
            hint = near(hole.fluid, FLUIDS) if isinstance(hole.fluid, str) else ""
            raise fail(f"{path}.fluid", hole.fluid, f"one of {quoted(FLUIDS)}{hint}")
        place = _numbers(path, (hole.x, hole.y), "x and y in metres")
        if place.shape != (2,) or not np.all(np.abs(place) <= FAR):
            raise fail(path, f"x = {hole.x}, y = {hole.y}", f"two lengths within {FAR:g} m")
        across = diameter_of(f"{path}.diameter", hole.diameter)
        out.append(
            Hole(hole.name, float(place[0]), float(place[1]), across, hole.fluid, hole.drain)
        )
    return tuple(out)


# --------------------------------------------------------------------------- plane geometry
def signed_area(corners: Array) -> float:
    """Area of a polygon, above zero where its corners run anticlockwise."""
    x, y = (corners - corners[0]).T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _points(points: ArrayLike) -> Array:
    out = np.asarray(plain(points, "length", "points"), dtype=float)
    if out.ndim == 0 or out.shape[-1] != 2:
        raise fail("points", f"an array of shape {out.shape}", "points with x and y, shape (n, 2)")
    return out


def to_edges(corners: Array, points: Array) -> Array:
    """Distance of points (n, 2) from the nearest edge, above zero inside."""
    at, along = corners.T[:, :, None], (np.roll(corners, -1, axis=0) - corners).T[:, :, None]
    (dx, dy), length = along, np.maximum((along * along).sum(axis=0), 1e-300)
    out = np.empty(len(points))
    block = max(1, 2_000_000 // len(corners))
    for start in range(0, len(points), block):
        p = points[start : start + block].T[:, None]
        x, y = p - at
        t = np.clip((x * dx + y * dy) / length, 0.0, 1.0)
        gap = np.hypot(x - t * dx, y - t * dy).min(axis=0)
        above = at[1] > p[1]
        crossed = (above != np.roll(above, -1, axis=0)) & (x < y / np.where(dy == 0, 1.0, dy) * dx)
        odd = np.sum(crossed, axis=0) % 2 == 1
        out[start : start + block] = np.where(odd, gap, -gap)
    return out


def on_rim(layout: Layout, place: ArrayLike) -> Array:
    """The place (2,) of the outline that is nearest to a place (2,) [m]."""
    off = np.asarray(place, dtype=float) - layout.outline
    side = np.roll(layout.outline, -1, axis=0) - layout.outline
    length = np.maximum((side * side).sum(axis=1), 1e-300)
    along = np.clip((off * side).sum(axis=1) / length, 0.0, 1.0)[:, None] * side
    nearest = np.argmin(np.hypot(*(off - along).T))
    return np.asarray((layout.outline + along)[nearest])


def free_way(layout: Layout, centre: ArrayLike, angle: ArrayLike) -> Array:
    """How far it is from a place inside to the outline in directions (n,) [m]."""
    corners = layout.outline - np.asarray(centre, dtype=float)
    side = np.roll(corners, -1, axis=0) - corners
    way = np.stack([np.cos(angle), np.sin(angle)], axis=-1)[:, None]

    def cross(a: Array, b: Array) -> Array:
        return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])

    with np.errstate(divide="ignore", invalid="ignore"):
        along, share = (
            cross(corners, side) / cross(way, side),
            cross(corners, way) / cross(way, side),
        )
    hit = (along > 0.0) & (share >= -1e-12) & (share <= 1.0 + 1e-12)
    return np.min(np.where(hit, along, np.inf), axis=1)


def edge_distance(layout: Layout, points: ArrayLike) -> Array:
    """Distance (...) of points (..., 2) from the outline, above zero inside it [m]."""
    place = _points(points)
    return to_edges(layout.outline, place.reshape(-1, 2)).reshape(place.shape[:-1])


def inside(layout: Layout, points: ArrayLike) -> NDArray[np.bool_]:
    """Which points (..., 2) lie inside the outline, holes and bores included."""
    return np.asarray(edge_distance(layout, points) > 0.0)


def distances(points: ArrayLike, centres: ArrayLike) -> Array:
    """Distance (..., k) of every point (..., 2) from every centre (k, 2) [m]."""
    place, other = _points(points), _points(centres)
    return np.asarray(np.linalg.norm(place[..., None, :] - other, axis=-1))


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

    Raises InputError if there is no such bore.

    Parameters
    ----------
    layout : the deck face
    bore : place in `Layout.bores`, from 0
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
    """Mean diameter of the circle of bolts round a bore, counted from 0 [m]."""
    here = around_bore(layout, bore).bolts
    far = distances(layout.bolts[here], layout.bores[bore : bore + 1])
    return float(2.0 * np.mean(far)) if len(here) else math.nan


# --------------------------------------------------------------------------- steps and warp
@dataclass(frozen=True, eq=False)
class Step:
    """A place where the gasket is thicker, or thinner where a coat is missing.

    Parameters
    ----------
    x, y : middle of the place [m]
    extra : thickness added [m]; negative where something is missing
    diameter : of a round place [m]; None: a rectangle
    size : of a rectangle, along x and along y [m]
    """

    x: float = field("length")
    y: float = field("length")
    extra: float = field("length")
    diameter: float | None = field("length", default=None)
    size: tuple[float, float] | None = field("length", default=None)

    def __post_init__(self) -> None:
        plain_fields(self)


def extra_thickness(steps: Iterable[Step], points: ArrayLike) -> Array:
    """Thickness (...) that the steps add at points (..., 2) [m]; where they overlap they add up.

    Raises InputError if a step has neither or both of diameter and size.
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

    A parabola is the shape of even bending; it is an assumption, no published source.

    Returns the gap (...) [m].

    Parameters
    ----------
    layout : the deck face
    points : (..., 2) [m]
    lengthwise, across : hollow in the middle along the row and across it, l and c [m]; negative
        where the middle is proud
    """
    place = _points(points)
    x0, x1, y0, y1 = layout.extent
    x = (2.0 * place[..., 0] - x0 - x1) / (x1 - x0)
    y = (2.0 * place[..., 1] - y0 - y1) / (y1 - y0)
    least = min(lengthwise, 0.0) + min(across, 0.0)
    return np.asarray(lengthwise * (1.0 - x**2) + across * (1.0 - y**2) - least)


@with_units("lift")
def thermal_bow(
    layout: Layout,
    expansion: si.AnyExpansion,
    gradient: si.AnyTemperatureDifference,
    height: si.Length,
) -> Any:
    """How far a free head bows, along the row and across, where its fire side is hotter.

    A temperature that falls evenly over the height of a free body bends it to a sphere of curvature
    k = alpha dT / H without any stress, whatever its shape: walls, roof and jacket change how
    stiff it is, and not how far it bows. The fire side grows longer and becomes the convex one: the
    middle stands proud of the ends by k L**2 / 8 lengthwise and by k W**2 / 8 across.

    Returns the bow (2,) lengthwise and across as for `bow`, negative: the middle is proud [m].

    Parameters
    ----------
    layout : the deck face, of length L and width W
    expansion : alpha of the head [1/K]
    gradient : dT, fire side less top side [K]
    height : H of the head, over which the temperature falls [m]

    References
    ----------
    1. S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., art. 14 (plate);
       B. A. Boley, J. H. Weiner, Theory of Thermal Stresses, 1960 (a free body); both from memory.
    """
    x0, x1, y0, y1 = layout.extent
    size = np.array([x1 - x0, y1 - y0])
    return -expansion * gradient / height * size**2 / 8.0
