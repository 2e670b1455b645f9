"""A head as a three-dimensional elastic solid, to check plates with shear against.

A square block on an even linear foundation that also pulls, lifted by gas on a disc in the middle
of its lower face: a quarter of it, mirrors on two faces, bricks of twenty-seven nodes from
scikit-fem. No plate theory enters.
"""

from __future__ import annotations

from typing import Any

import numpy as np

MODULUS, POISSON = 72.4e9, 0.33
HALF, RADIUS, CELLS = 0.08, 0.045, 10  # m, m: half a side, radius of the gas


def rise(thickness: float, foundation: float) -> float:
    """Mean rise of the lower face round the disc per gas pressure [m/Pa]."""
    from skfem import (
        Basis,
        BilinearForm,
        ElementHex2,
        ElementVector,
        FacetBasis,
        LinearForm,
        MeshHex,
        condense,
        solve,
    )
    from skfem.helpers import ddot, eye, sym_grad, trace

    across = np.linspace(0.0, HALF, CELLS + 1)
    mesh = MeshHex.init_tensor(across, across, np.linspace(0.0, thickness, 4))
    element = ElementVector(ElementHex2())
    basis = Basis(mesh, element, intorder=4)
    mu = MODULUS / (2 * (1 + POISSON))
    lam = MODULUS * POISSON / ((1 + POISSON) * (1 - 2 * POISSON))

    def elastic(u: Any, v: Any, _: Any) -> Any:
        e = sym_grad(u)
        return ddot(2 * mu * e + lam * eye(trace(e), 3), sym_grad(v))

    def spring(u: Any, v: Any, _: Any) -> Any:
        return foundation * u[2] * v[2]

    def gas(v: Any, at: Any) -> Any:
        return (np.hypot(at.x[0], at.x[1]) < RADIUS) * v[2]

    low = mesh.facets_satisfying(lambda x: np.isclose(x[2], 0.0))
    below = FacetBasis(mesh, element, facets=low, intorder=12)
    k = BilinearForm(elastic).assemble(basis) + BilinearForm(spring).assemble(below)
    held = [
        basis.get_dofs(mesh.facets_satisfying(lambda x, i=i: np.isclose(x[i], 0.0))).all(
            f"u^{i + 1}"
        )
        for i in (0, 1)
    ]
    u = solve(*condense(k, LinearForm(gas).assemble(below), D=np.unique(np.concatenate(held))))
    angle = np.linspace(0.02, 0.5 * np.pi - 0.02, 16)
    points = np.stack([RADIUS * np.cos(angle), RADIUS * np.sin(angle), np.full(16, 1e-9)])
    matrix = basis.probes(points)
    return float(np.mean((matrix @ u).reshape(3, -1)[2]))
