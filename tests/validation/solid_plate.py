"""A head as a three-dimensional elastic solid, to check plates with shear against.

A block on an even linear foundation that also pulls, lifted by gas on a disc in the middle of its
lower face, pressed down by four bolts on its upper one, or hotter on its lower face: a quarter of
it, mirrors on two faces, bricks of twenty-seven nodes from scikit-fem. No plate theory enters. Run
as a script it makes ``tests/sealing/solid_plate.csv`` anew (two minutes), with an argument
"bow" or "rise" ``tests/sealing/solid_bow.csv`` or ``solid_rise.csv``.
"""

from __future__ import annotations

import csv
import sys
from importlib.metadata import version
from typing import Any

import numpy as np

MODULUS, POISSON = 72.4e9, 0.33
HALF, RADIUS, CELLS = 0.08, 0.045, 10  # m, m: half a side, radius of the gas
HARD = 5e11  # Pa/m: foundation of hard layers


BOLT, HOLE, FACE = (0.0465, 0.0425), 0.0065, 0.011  # m: place of a bolt, radii of its face
WIDE, RIM = 0.16, 0.135  # m: half a side of a block that bows, radius on which it is looked at


def rise(thickness: float, foundation: float) -> float:
    """Mean rise of the lower face round the disc per gas pressure [m/Pa]."""
    across = np.linspace(0.0, HALF, CELLS + 1)
    block = _block(across, across, np.linspace(0.0, thickness, 4), foundation, 0.0)
    return float(np.mean(block(_gas, 0.0)))


def bolted(
    thickness: float, foundation: float, margin: float, cells: tuple[int, int, int] = (9, 9, 3)
) -> tuple[float, float, float]:
    """Closure round the disc per bolt force, least and highest [m/N]; most lift per gas [m/Pa].

    The foundation leaves out the disc; the block ends at `margin` from the bolts.
    """
    ends = (BOLT[0] + margin, BOLT[1] + margin, thickness)
    lines = [np.linspace(0.0, e, n + 1) for e, n in zip(ends, cells, strict=True)]
    x, y, z = lines
    block = _block(x, y, z, foundation, RADIUS)
    closure, lift = -block(_bolt, thickness, -1.0), block(_gas, 0.0, 0.25 * np.pi * RADIUS**2)
    return float(closure.min()), float(closure.max()), float(lift.max())


def bowed(
    thickness: float, foundation: float, cells: tuple[int, int, int] = (12, 12, 3)
) -> tuple[float, float]:
    """Closure that an even gradient makes, per alpha dT [m]: near a side, and further in.

    The lower face is hotter by dT than the upper one; none is left out of the foundation.
    """
    ends = (WIDE, WIDE, thickness)
    lines = [np.linspace(0.0, e, n + 1) for e, n in zip(ends, cells, strict=True)]
    x, y, z = lines
    block = _block(x, y, z, foundation, 0.0, RIM)
    closure = -block(lambda at: 0.5 - at[2] / thickness, None)
    return float(closure[0]), float(closure[len(closure) // 2])


def _gas(x: Any) -> Any:
    return np.hypot(x[0], x[1]) < RADIUS


def _bolt(x: Any) -> Any:
    r = np.hypot(x[0] - BOLT[0], x[1] - BOLT[1])
    return (r > HOLE) & (r < FACE)


def _block(x: Any, y: Any, z: Any, foundation: float, free: float, radius: float = RADIUS) -> Any:
    """Rise on a circle under an even load on part of a face, of a total force if given.

    Without a face it is what grows the block inside: expansion times temperature.
    """
    from scipy.sparse.linalg import splu
    from skfem import (
        Basis,
        BilinearForm,
        ElementHex2,
        ElementVector,
        FacetBasis,
        LinearForm,
        MeshHex,
    )
    from skfem.helpers import ddot, eye, sym_grad, trace

    mesh = MeshHex.init_tensor(x, y, z)
    element = ElementVector(ElementHex2())
    basis = Basis(mesh, element, intorder=4)
    mu = MODULUS / (2 * (1 + POISSON))
    lam = MODULUS * POISSON / ((1 + POISSON) * (1 - 2 * POISSON))

    def elastic(u: Any, v: Any, _: Any) -> Any:
        e = sym_grad(u)
        return ddot(2 * mu * e + lam * eye(trace(e), 3), sym_grad(v))

    def spring(u: Any, v: Any, at: Any) -> Any:
        return foundation * (np.hypot(at.x[0], at.x[1]) >= free) * u[2] * v[2]

    def face(height: float) -> Any:
        facets = mesh.facets_satisfying(lambda p: np.isclose(p[2], height))
        return FacetBasis(mesh, element, facets=facets, intorder=12)

    k = BilinearForm(elastic).assemble(basis) + BilinearForm(spring).assemble(face(0.0))
    held = [
        basis.get_dofs(mesh.facets_satisfying(lambda p, i=i: np.isclose(p[i], 0.0))).all(
            f"u^{i + 1}"
        )
        for i in (0, 1)
    ]
    moves = np.setdiff1d(np.arange(basis.N), np.concatenate(held))
    factor = splu(k.tocsc()[moves][:, moves])
    angle = np.linspace(0.02, 0.5 * np.pi - 0.02, 16)
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle), np.full(16, 1e-9)])
    probes = basis.probes(points)

    def solved(where: Any, height: float | None, total: float | None = None) -> Any:
        if height is None:
            grown = 3.0 * lam + 2.0 * mu
            load = LinearForm(lambda v, at: grown * where(at.x) * trace(sym_grad(v)))
            load = load.assemble(basis)
        else:
            load = LinearForm(lambda v, at: where(at.x) * v[2]).assemble(face(height))
        if total is not None:
            up = basis.zeros()
            for dofs in (basis.nodal_dofs, basis.edge_dofs, basis.facet_dofs, basis.interior_dofs):
                up[dofs[2]] = 1.0
            load = load * (total / float(load @ up))
        u = basis.zeros()
        u[moves] = factor.solve(load[moves])
        return (probes @ u).reshape(3, -1)[2]

    return solved


ROWS = [(h, x, m) for h, of in {
    0.025: (1.8,), 0.04: (1.2, 0.8, 0.58, 0.47), 0.06: (0.47, 0.4, 0.3333),
    0.08: (0.58, 0.47, 0.4, 0.3333), 0.1: (0.4,),
}.items() for x in of for m in (0.0125, 0.02, 0.0325)]  # fmt: skip
"""Thickness [m], reach over thickness, margin [m]."""

BOWED = [(0.04, 0.8), (0.0762, 0.47), (0.1016, 0.437)]
"""Thickness [m], reach over thickness; of the last two on the same foundation."""


def foundation_of(thickness: float, ratio: float) -> float:
    """Stiffness of a foundation along which a load reaches this many thicknesses [Pa/m]."""
    bending = MODULUS * thickness**3 / (12.0 * (1.0 - POISSON**2))
    return float(bending / (ratio * thickness) ** 4)


if __name__ == "__main__":
    out = csv.writer(sys.stdout)
    name = f"tests/validation/solid_plate.py, scikit-fem {version('scikit-fem')}"
    if sys.argv[1:] == ["bow"]:
        out.writerow(["thickness", "reach", "side", "inside", "source", "status"])
        for h, x in BOWED:
            found = bowed(h, foundation_of(h, x))
            out.writerow([h, x, *(f"{v:.4g}" for v in found), name, "computed"])
    elif sys.argv[1:] == ["rise"]:
        out.writerow(["thickness", "rise", "source", "status"])
        for h in (0.025, 0.04, 0.06):
            out.writerow([h, f"{rise(h, HARD):.4g}", name, "computed"])
    else:
        out.writerow(
            ["thickness", "reach", "margin", "least", "highest", "lift", "source", "status"]
        )
        for h, x, m in ROWS:
            pressed = bolted(h, foundation_of(h, x), m)
            out.writerow([h, x, m, *(f"{v:.4g}" for v in pressed), name, "computed"])
