"""A sleeve pressed between two rigid washers, by axisymmetric finite elements (scikit-fem).

Independent of the pressure cones: linear elasticity on a quarter of the section, quadratic
elements, the washer's face held flat. Stiffness from the force it takes.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import skfem


def stiffness(
    hole: float, face: float, outer: float, length: float, modulus: float, poisson: float,
    cells: int = 24,
) -> float:  # fmt: skip
    """Stiffness of the whole sleeve [N/m]; diameters of hole, washer and sleeve, length [m]."""
    inner, edge, rim = hole / 2, face / 2, outer / 2
    beyond = max(4, int(cells * (rim - edge) / (edge - inner)))
    r = [np.linspace(inner, edge, cells + 1), np.linspace(edge, rim, beyond + 1)]
    z = length / 2 * (1.0 - np.linspace(1.0, 0.0, cells + 1) ** 1.5)  # finer at the washer
    mesh = skfem.MeshQuad.init_tensor(np.unique(np.concatenate(r)), z)
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementQuad2()), intorder=4)
    lame = modulus * poisson / ((1 + poisson) * (1 - 2 * poisson))
    shear = modulus / (2 * (1 + poisson))

    @skfem.BilinearForm
    def form(u: Any, v: Any, w: Any) -> Any:
        radius = w.x[0]

        def strains(a: Any) -> Any:
            g = a.grad
            return g[0][0], g[1][1], a[0] / radius, (g[0][1] + g[1][0]) / np.sqrt(2)

        one, two = strains(u), strains(v)
        work = 2 * shear * sum(a * b for a, b in zip(one, two, strict=True))
        return (work + lame * sum(one[:3]) * sum(two[:3])) * 2 * np.pi * radius

    matrix = form.assemble(basis)
    middle = basis.get_dofs(lambda x: np.isclose(x[1], 0.0)).all("u^2")
    washer = basis.get_dofs(
        lambda x: np.isclose(x[1], length / 2) & (x[0] <= edge * (1 + 1e-9))
    ).all("u^2")
    moved = np.zeros(matrix.shape[0])
    moved[washer] = -1.0
    held = np.concatenate([middle, washer])
    moved = skfem.solve(*skfem.condense(matrix, x=moved, D=held))
    return float(-(matrix @ moved)[washer].sum()) / 2  # half of the length was pressed
