"""A bead pressed flat as a plane-strain solid, to check the strip from which the table was made.

Total Lagrangian finite elements of the second order: Green strain, von Mises yield with linear
kinematic hardening by radial return, frictionless plates by penalty on the nodes of both faces.
Nothing is shared with the strip but the shape; the solid shears, stretches and is pinched. Run as a
script it tells the loads with which the strip is compared.

References
----------
[1] J. C. Simo and T. J. R. Hughes, Computational Inelasticity, 1998, section 3.3: radial return and
    its tangent (from memory).
"""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from typing import Any

import numpy as np
import skfem
from numpy.typing import NDArray
from scipy.sparse import diags
from scipy.sparse.linalg import spsolve

Array = NDArray[np.float64]
_SOFT = 2e-4  # mm over which a face comes to bear on a plate


@dataclass
class Solid:
    """Half a full bead with the flat outside its foot, free of stress, lengths in mm, MPa.

    Parameters
    ----------
    thickness, span, height, flat : of sheet, leg, bead, flat outside the foot
    modulus, poisson, yield_strength, hardening : E, nu, Sy, slope past yield over E
    along, through : elements on a leg, through the thickness
    """

    thickness: float
    span: float
    height: float
    flat: float
    modulus: float
    poisson: float
    yield_strength: float
    hardening: float
    along: int = 36
    through: int = 3

    def __post_init__(self) -> None:
        t, span = self.thickness, self.span
        leg = np.linspace(0.0, span, self.along + 1)
        outside = span + np.linspace(0.0, self.flat, round(self.along * self.flat / span) + 1)[1:]
        x, y = np.concatenate([leg, outside]), np.linspace(-t / 2.0, t / 2.0, self.through + 1)
        flat = skfem.MeshQuad2.from_mesh(skfem.MeshQuad.init_tensor(x, y))
        s, d = flat.doflocs
        inside = np.minimum(s / span, 1.0) * np.pi
        rise = self.height / 2.0 * (1.0 + np.cos(inside))
        turn = np.arctan(-self.height / 2.0 * np.pi / span * np.sin(inside))
        self.mesh = skfem.MeshQuad2(
            np.array([s - d * np.sin(turn), rise + d * np.cos(turn)]), flat.t
        )
        self.basis = skfem.Basis(self.mesh, skfem.ElementVector(skfem.ElementQuad2()), intorder=5)
        places = skfem.Basis(flat, skfem.ElementVector(skfem.ElementQuad2()), intorder=5).doflocs
        ours = self.basis.doflocs
        vertical = np.zeros(ours.shape[1], dtype=bool)
        vertical[self.basis.get_dofs(elements=True).all(["u^2"])] = True
        self.faces = [
            np.nonzero(vertical & np.isclose(places[1], side))[0] for side in (t / 2.0, -t / 2.0)
        ]
        crest = ~vertical & np.isclose(places[0], 0.0)
        self.held = np.nonzero(crest)[0]
        self.lever = []
        for face in self.faces:
            order = face[np.argsort(places[0][face])]
            weight = np.zeros(len(order))
            step = np.diff(places[0][order][::2])
            for k, part in enumerate((1.0 / 6.0, 4.0 / 6.0, 1.0 / 6.0)):
                weight[np.arange(len(step)) * 2 + k] += part * step
            self.lever.append((order, weight))
        self.heights = [ours[1][order] for order, _ in self.lever]
        self.u = np.zeros(ours.shape[1])
        shape = self.basis.interpolate(self.u).grad.shape[2:]
        self.plastic = np.zeros((4, *shape))  # xx, yy, zz, xy

    def _stress(self, strain: Array) -> tuple[Array, Array, Array]:
        """Second Piola stress (xx, yy, zz, xy), tangent on (xx, yy, xy) and plastic strain then."""
        shear = self.modulus / 2.0 / (1.0 + self.poisson)
        bulk = self.modulus / 3.0 / (1.0 - 2.0 * self.poisson)
        rise = self.modulus * self.hardening / (1.0 - self.hardening) * 2.0 / 3.0
        volume = strain[:3].sum(axis=0)
        one = np.array([1.0, 1.0, 1.0, 0.0]).reshape(4, *[1] * (strain.ndim - 1))
        trial = 2.0 * shear * (strain - volume / 3.0 * one - self.plastic)
        over = trial - rise * self.plastic
        size = np.sqrt((over[:3] ** 2).sum(axis=0) + 2.0 * over[3] ** 2) + 1e-30
        past = np.maximum(size - np.sqrt(2.0 / 3.0) * self.yield_strength, 0.0)
        step = past / (2.0 * shear + rise)
        way = over / size
        stress = bulk * volume * one + trial - 2.0 * shear * step * way
        keep = 1.0 - 2.0 * shear * step / size
        bar = np.where(past > 0.0, 2.0 * shear / (2.0 * shear + rise), 0.0) - (1.0 - keep)
        pick = [0, 1, 3]
        tangent = np.zeros((3, 3, *strain.shape[1:]))
        for a, i in enumerate(pick):
            for b, j in enumerate(pick):
                both = float(i < 2 and j < 2)
                same = (1.0 if i < 2 else 0.5) if i == j else 0.0
                tangent[a, b] = (
                    both * bulk
                    + 2.0 * shear * keep * (same - both / 3.0)
                    - 2.0 * shear * bar * way[i] * way[j]
                )
        return stress, tangent, self.plastic + step * way

    def _inside(self, u: Array) -> tuple[Array, Any, Array]:
        """Inner forces, their tangent, and plastic strain at these displacements."""
        grad = self.basis.interpolate(u).grad
        f = grad + np.eye(2)[:, :, None, None]
        green = 0.5 * (np.einsum("ki...,kj...->ij...", f, f) - np.eye(2)[:, :, None, None])
        zero = np.zeros_like(green[0, 0])
        strain = np.stack([green[0, 0], green[1, 1], zero, green[0, 1]])
        stress, tangent, plastic = self._stress(strain)
        s = np.stack([np.stack([stress[0], stress[3]]), np.stack([stress[3], stress[1]])])
        number = np.array([[0, 2], [2, 1]])
        c = tangent[number][:, :, number]
        first = np.einsum("ik...,kj...->ij...", f, s)

        @skfem.LinearForm
        def forces(v: Any, _: Any) -> Any:
            return np.einsum("ij...,ij...->...", first, v.grad)

        def stiff() -> Any:
            whole = np.einsum("im...,mjnl...,kn...->ijkl...", f, c, f)
            whole += np.einsum("ik,jl...->ijkl...", np.eye(2), s)

            @skfem.BilinearForm
            def form(du: Any, v: Any, _: Any) -> Any:
                return np.einsum("ijkl...,kl...,ij...->...", whole, du.grad, v.grad)

            return form.assemble(self.basis)

        return forces.assemble(self.basis), stiff, plastic

    def _balance(self, u: Array, plates: tuple[float, float]) -> tuple[Array, Array, Array, Any]:
        """Forces left, stiffness and load of the plates, and of the inside at will."""
        force, stiff, plastic = self._inside(u)
        pressing, more = 25.0 * self.modulus, np.zeros((2, len(u)))
        for i, (dofs, weight) in enumerate(self.lever):
            side = 1.0 - 2.0 * i
            deep = np.maximum(side * (self.heights[i] + u[dofs] - plates[i]) + _SOFT / 2.0, 0.0)
            part = np.minimum(deep / _SOFT, 1.0)
            push = pressing * weight * part * (deep - _SOFT * part / 2.0)
            force[dofs] += side * push
            more[0, dofs] += pressing * weight * part
            more[1, dofs] += push * (1 - i)
        force[self.held] = 0.0
        return force, more, plastic, stiff

    def press(self, gap: float) -> float:
        """Line load of the full bead with the plates so far apart that the middle has this gap.

        Raises
        ------
        ArithmeticError
            where Newton's steps find no balance.
        """
        free = np.setdiff1d(np.arange(len(self.u)), self.held)
        plates = (gap + self.thickness / 2.0, -self.thickness / 2.0)
        u = self.u.copy()
        force, more, plastic, stiff = self._balance(u, plates)
        for _ in range(80):
            if np.abs(force).max() < 1e-8 * self.modulus * self.thickness:
                self.u, self.plastic = u, plastic
                return 2.0 * float(more[1].sum())
            matrix = (stiff() + diags(more[0])).tocsr()
            step = np.zeros(len(u))
            step[free] = spsolve(matrix[free][:, free], -force[free])
            part = min(1.0, 0.1 * self.thickness / np.abs(step).max())
            before = np.linalg.norm(force)
            for _ in range(6):
                force, more, plastic, stiff = self._balance(u + part * step, plates)
                if np.linalg.norm(force) < before:
                    break
                part /= 2.0
            u = u + part * step
        raise ArithmeticError(f"no balance at gap {gap:g} mm, {np.abs(force).max():g} N/mm left")


CASES = [
    (t, strength, round(c, 3))
    for t, strength, step in ((0.25, 965.0, 0.05), (0.25, 193e3, 0.05), (0.12, 193e3, 0.025))
    for c in np.arange(step, 0.955, step)
]
"""Thickness [mm], yield strength [MPa], part of the height that is closed."""


def bead(thickness: float, strength: float) -> Solid:
    """A full bead 0.2 mm high with legs of 1.5 mm, of stainless."""
    return Solid(thickness, 1.5, 0.20, 1.5, 193e3, 0.3, strength, 0.0178)


if __name__ == "__main__":
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["thickness", "strength", "closed", "load", "source", "status"])
    name = f"tests/validation/bead_solid.py, scikit-fem {skfem.__version__}"
    made = {case[:2]: bead(*case[:2]) for case in CASES}
    for t, strength, closed in CASES:
        load = made[t, strength].press(0.20 * (1.0 - closed))
        out.writerow([t, f"{strength:g}", closed, f"{load:.6g}", name, "computed"])
