"""Plates and beams of the books, solved as the deck map solves its head.

References
----------
[1] S. P. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells (equation from memory;
    plates on foundations in chapter 8).
[2] Civil Engineering Handbook, 2nd ed., section 47: closed forms of circular plates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.sealing.deck.plates import Law, Patch, Plate
from sealkit.units import field, with_units

Array = NDArray[Any]
EDGES = ("supported", "clamped", "two clamped")  # the latter: those across the length
_HELD = 1e6  # stiffness of what is held over that of the plate there


def linear(stiffness: ArrayLike) -> Law:
    """Law of a spring that also pulls: load = stiffness closure."""
    k = np.asarray(stiffness, dtype=float)
    return lambda closure: (k * closure, np.broadcast_to(k, closure.shape))


def holding(plate: Plate, unknowns: Array) -> tuple[Patch, Law]:
    """Springs, as good as rigid, that hold unknowns of the plate at zero."""
    which = np.unique(unknowns)
    dofs, one = which[:, None], np.ones(len(which))
    stiff = _HELD * plate.matrix.diagonal()[which]
    return Patch(np.zeros((len(which), 2)), one, dofs, one[:, None]), linear(stiff)


def edge_unknowns(plate: Plate, edges: str) -> Array:
    """Unknowns that the edges of a rectangle hold (`EDGES`)."""
    if edges not in EDGES:
        raise fail("edges", edges, "one of " + ", ".join(EDGES))
    out = []
    for lines, clamped, slope in (
        (plate.x, edges != "supported", 2),
        (plate.y, edges == "clamped", 1),
    ):
        across = np.arange(len(plate.y if slope == 2 else plate.x))
        for end in (0, len(lines) - 1):
            node = plate.node(end, across) if slope == 2 else plate.node(across, end)
            kept = (0, 1, 2, 3) if clamped else (0, slope)
            out += [plate.per * node + k for k in (*kept, *range(4, plate.per))]
    return np.unique(np.concatenate(out))


def slopes(plate: Plate, points: Array, normal: Array, weight: ArrayLike) -> Patch:
    """Points at which a law sees the slope of a thin plate along `normal`, not its closure."""
    step = 1e-4 * float(np.ptp(plate.x)) * normal
    ahead, behind = plate.patch(points), plate.patch(points - step)
    per = 1.0 / np.linalg.norm(step, axis=1)[:, None]
    dofs = np.concatenate([ahead.dofs, behind.dofs], axis=1)
    shape = np.concatenate([per * ahead.shape, -per * behind.shape], axis=1)
    return Patch(points, np.broadcast_to(weight, len(points)).astype(float), dofs, shape)


def moments(plate: Plate, w: Array, point: Sequence[float]) -> tuple[float, float]:
    """Bending moments per length about both axes, M_x = -D (w_xx + nu w_yy), at a point."""
    bent = w.copy()
    if plate.per == 5:  # sections turn with bending alone
        bent[4::5] = 0.0
    curvature = []
    for lines, along in ((plate.x, (1.0, 0.0)), (plate.y, (0.0, 1.0))):
        step = 1e-3 * float(np.diff(lines).min())
        spot = np.asarray(point, dtype=float)
        if spot @ along - step < lines[0]:  # at an edge, from inside
            places = spot + step * np.outer([0.0, 1.0, 2.0], along)
        else:
            places = spot + step * np.outer([-1.0, 0.0, 1.0], along)
        low, middle, high = plate.patch(places).closure(bent)
        curvature.append((low - 2.0 * middle + high) / step**2)
    xx, yy = curvature
    nu = plate.poisson
    return -plate.stiffness * (xx + nu * yy), -plate.stiffness * (yy + nu * xx)


@dataclass(frozen=True)
class PlateResult:
    """Deflection [m] at the middle, moments per length [N m/m] there and at mid-edge (or rim).

    `moment_x` and `moment_y` are None under a point load, where no plate has a finite one.
    """

    deflection: Any = field("length")
    moment_x: Any = field("force")
    moment_y: Any = field("force")
    edge_moment: Any = field("force")


@with_units(returns="fields", poisson="number 0..0.5")
def rectangular_plate(
    length: si.Length,
    width: si.Length,
    plate: si.PlateStiffness,
    poisson: Any,
    edges: str = "supported",
    pressure: si.AnyStress = 0.0,
    point_load: si.AnyForce = 0.0,
    foundation: si.Number0 = 0.0,
    elements: int = 16,
    shear: si.Stiffness = np.inf,
) -> PlateResult:
    """Middle of a rectangular plate under uniform pressure and a point load in its middle [1].

    D (w_xxxx + 2 w_xxyy + w_yyyy) + k w = q, with `foundation` k width**4 / D; `elements` along
    each side, an even number; `shear` stiffness S [N/m].
    """
    x, y = np.linspace(0.0, length, elements + 1), np.linspace(0.0, width, elements + 1)
    model = Plate(x, y, plate, poisson, shear=shear)
    area, middle = model.area(), (0.5 * length, 0.5 * width)
    point = model.patch(middle)
    push = area.forces(np.full(len(area.points), float(pressure)), model.size)
    push += point.forces(np.array([float(point_load)]), model.size)
    laws = [holding(model, edge_unknowns(model, edges))]
    if foundation:
        laws.append((area, linear(foundation * plate / width**4)))
    w, _ = model.solve(laws, push)
    mx, my = (None if point_load else m for m in moments(model, w, middle))
    edge, _ = moments(model, w, (0.0, 0.5 * width))
    return PlateResult(float(point.closure(w)[0]), mx, my, edge)


@with_units(returns="fields", poisson="number 0..0.5")
def circular_plate(
    radius: si.Length,
    plate: si.PlateStiffness,
    poisson: Any,
    edge: str = "supported",
    pressure: si.AnyStress = 0.0,
    point_load: si.AnyForce = 0.0,
    elements: int = 16,
    shear: si.Stiffness = np.inf,
) -> PlateResult:
    """Middle of a circular plate under uniform pressure and a point load in its middle [1, 2].

    The plate lies in a square mesh of so many elements; its rim is held by stiff springs on the
    circle. `edge_moment` is the mean radial moment at the rim, 0 where it is supported.
    """
    lines = np.linspace(-radius, radius, elements + 1)
    model = Plate(lines, lines, plate, poisson, lambda x, y: radius - np.hypot(x, y), shear)
    h = 2.0 * radius / elements
    rim = model.ring((0.0, 0.0), 2.0 * radius * (1.0 - 1e-12), 8 * elements)
    disc = model.disc((0.0, 0.0), radius, 2 * elements, 8 * elements)
    push = disc.forces(np.full(len(disc.points), float(pressure)), model.size)
    push += model.patch((0.0, 0.0)).forces(np.array([float(point_load)]), model.size)
    laws, held = [(rim, linear(1e3 * plate / h**3))], 0.0
    turning = slopes(model, rim.points, rim.points / radius, rim.weight)
    if model.per == 5:  # sections turn with bending alone
        bending = np.arange(turning.shape.shape[1]) % 20 < 16
        turning = replace(turning, shape=turning.shape * bending)
    if edge == "clamped":
        laws.append((turning, linear(1e3 * plate / h)))
    w, _ = model.solve(laws, push)
    if edge == "clamped":
        held = float(np.mean(1e3 * plate / h * turning.closure(w)))
    middle = float(model.patch((0.0, 0.0)).closure(w)[0])
    mx, my = (None if point_load else m for m in moments(model, w, (0.0, 0.0)))
    return PlateResult(middle, mx, my, held)
