"""A rigid cylinder pressed into a strip of metal as a plane-strain solid: the wire's load.

Finite elements of eight nodes and four points, multiplicative plasticity in logarithmic strains,
von Mises yield on Hollomon's curve; cylinder, backing and the rounded corner of the receiver touch
without friction, by penalty along the facets. Run as a script it makes the package's table
``wire_in_sheet.csv`` anew (half an hour), and with the word ``points`` loads and bulges between its
nodes and beyond them, with which the table is compared; slip-line theory checks it.

References
----------
[1] J. C. Simo, Algorithms for static and dynamic multiplicative plasticity that preserve the
    classical return mapping schemes of the infinitesimal theory, Comput. Methods Appl. Mech. Eng.
    99 (1992) 61 (from memory).
"""

from __future__ import annotations

import csv
import itertools
import sys
from dataclasses import dataclass
from typing import Any

import numpy as np
import skfem
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

Array = NDArray[np.float64]
_SMALL = 1e-7


@dataclass
class Strip:
    """Half a strip under a cylinder, mirrored at x = 0; lengths in mm, stresses in MPa.

    Parameters
    ----------
    thickness, length : of the strip, and of its half from the wire to its end
    radius : of the cylinder
    strength, exponent, prestrain : Hollomon's curve K (eps0 + eps)**n
    receiver : half the width of the gap in the backing; 0 for a flat one
    corner : radius of its edge
    held : whether the end of the strip can move sideways (False) or not (True)
    bonded : whether the flat backing lets the strip slide (False) or not (True)
    size : of the elements under the wire
    """

    thickness: float
    radius: float
    strength: float
    exponent: float
    prestrain: float = 0.002
    receiver: float = 0.0
    receiver_depth: float = np.inf
    corner: float = 0.05
    length: float = 3.0
    held: bool = False
    bonded: bool = False
    size: float = 0.06
    modulus: float = 117e3
    poisson: float = 0.343
    penalty: float = 5.0
    load: float = 0.0

    def __post_init__(self) -> None:
        fine = max(self.receiver + 0.15, 0.75 * self.radius, 0.6)
        near = np.linspace(0.0, fine, round(fine / self.size) + 1)
        far = [near[-1]]
        step = self.size
        while far[-1] < self.length:
            step = min(1.25 * step, 4.0 * self.size)
            far.append(far[-1] + step)
        out = np.array(far[1:]) - near[-1]
        out = near[-1] + out * (self.length - near[-1]) / out[-1]
        n = round(self.thickness / self.size)
        y = np.linspace(0.0, self.thickness, n + 1)
        mesh = skfem.MeshQuad.init_tensor(np.concatenate([near, out]), y)
        element = skfem.ElementVector(skfem.ElementQuadS2())
        rule = skfem.quadrature.get_quadrature(skfem.refdom.RefQuad, 3)
        assert len(rule[1]) == 4
        self.basis = skfem.Basis(mesh, element, quadrature=rule)
        t = self.thickness
        top = mesh.facets_satisfying(lambda x: np.isclose(x[1], t))
        under = mesh.facets_satisfying(lambda x: np.isclose(x[1], 0.0))
        self.top = skfem.FacetBasis(mesh, element, facets=top, intorder=4)
        self.under = skfem.FacetBasis(mesh, element, facets=under, intorder=4)
        self.slopes = np.stack(
            [b[0].grad.reshape(4, *self.basis.dx.shape) for b in self.basis.basis]
        )
        self.slopes = self.slopes.transpose(2, 3, 1, 0).copy()  # element, point, ij, function
        self.above, self.below = (
            np.stack([np.asarray(b[0]) for b in side.basis]).transpose(2, 3, 1, 0).copy()
            for side in (self.top, self.under)
        )
        hold = [self.basis.get_dofs(lambda x: np.isclose(x[0], 0.0)).all(["u^1"])]
        if self.held:
            hold.append(self.basis.get_dofs(lambda x: np.isclose(x[0], self.length)).all(["u^1"]))
        if self.bonded:
            hold.append(self.basis.get_dofs(lambda x: np.isclose(x[1], 0.0)).all())
        self.fixed = np.unique(np.concatenate(hold))
        self.u = np.zeros(self.basis.N)
        shape = self.basis.dx.shape
        self.inverse = np.zeros((3, *shape))  # xx, yy, xy of the inverse of Cp
        self.inverse[:2] = 1.0
        self.across = np.ones(shape)
        self.plastic = np.zeros(shape)
        self.depth = 0.0

    # ----------------------------------------------------------------- metal
    def _flow(self, strain: Array) -> tuple[Array, Array]:
        total = self.prestrain + strain
        stress = self.strength * total**self.exponent
        return stress, self.exponent * stress / total

    def _metal(self, f: Array) -> tuple[Array, Any]:
        """First Piola stress and the state there, for deformation gradients (2, 2, ...)."""
        shear = self.modulus / 2.0 / (1.0 + self.poisson)
        bulk = self.modulus / 3.0 / (1.0 - 2.0 * self.poisson)
        c = self.inverse
        cp = np.array([[c[0], c[2]], [c[2], c[1]]])
        b = np.einsum("ij...,jk...,lk...->il...", f, cp, f)
        middle, half = (b[0, 0] + b[1, 1]) / 2.0, (b[0, 0] - b[1, 1]) / 2.0
        size = np.sqrt(half**2 + b[0, 1] ** 2) + 1e-300
        det = b[0, 0] * b[1, 1] - b[0, 1] ** 2
        large = middle + size
        strain = 0.5 * np.log(np.stack([large, det / large, self.across]))
        volume = strain.sum(axis=0)
        trial = strain - volume / 3.0
        q = np.sqrt(1.5 * (trial**2).sum(axis=0)) * 2.0 * shear + 1e-30
        step = np.zeros_like(q)
        over = q > self._flow(self.plastic)[0]
        for _ in range(25):
            stress, rise = self._flow(self.plastic + step)
            change = (q - 3.0 * shear * step - stress) / (3.0 * shear + rise)
            step = np.where(over, np.maximum(step + change, 0.0), 0.0)
            if np.abs(np.where(over, change, 0.0)).max() < 1e-14:
                break
        keep = trial * (1.0 - 3.0 * shear * step / q)
        tau = 2.0 * shear * keep + bulk * volume
        left = np.exp(2.0 * (keep + volume / 3.0))
        way = np.array([[half, b[0, 1]], [b[0, 1], -half]]) / size

        def turned(values: Array) -> Array:
            mean, part = (values[0] + values[1]) / 2.0, (values[0] - values[1]) / 2.0
            return mean * np.eye(2).reshape(2, 2, *[1] * mean.ndim) + part * way

        jacobian = f[0, 0] * f[1, 1] - f[0, 1] * f[1, 0]
        inverse = np.array([[f[1, 1], -f[0, 1]], [-f[1, 0], f[0, 0]]]) / jacobian
        piola = np.einsum("ij...,kj...->ik...", turned(tau), inverse)
        new = np.einsum("ij...,jk...,lk...->il...", inverse, turned(left), inverse)
        state = (np.stack([new[0, 0], new[1, 1], new[0, 1]]), left[2], self.plastic + step)
        return piola, state

    def _inside(self, u: Array) -> tuple[Array, Any, Any]:
        """Inner forces, their tangent, and the state of the metal at these displacements."""
        slopes, dofs, weight = self.slopes, self.basis.element_dofs, self.basis.dx
        grad = np.einsum("eqgi,ie->geq", slopes, u[dofs], optimize=True)
        f = grad.reshape(2, 2, *weight.shape) + np.eye(2)[:, :, None, None]
        piola, state = self._metal(f)
        force = np.einsum("eqgi,geq->ie", slopes, piola.reshape(4, *weight.shape) * weight)
        tangent = np.zeros((*weight.shape, 4, 4))
        for k in range(4):
            more = f.copy()
            more[divmod(k, 2)] += _SMALL
            change = (self._metal(more)[0] - piola).reshape(4, *weight.shape) / _SMALL
            tangent[..., k] = np.moveaxis(change * weight, 0, -1)
        stiff = (slopes.swapaxes(2, 3) @ tangent @ slopes).sum(axis=1)
        return self._whole(force, dofs), self._matrix(stiff, dofs), state

    def _whole(self, values: Array, dofs: Any) -> Array:
        whole = np.bincount(dofs.ravel(), weights=values.ravel(), minlength=self.basis.N)
        return np.asarray(whole, dtype=float)

    def _matrix(self, stiff: Array, dofs: Any) -> Any:
        rows = np.broadcast_to(dofs.T[:, :, None], stiff.shape).ravel()
        columns = np.broadcast_to(dofs.T[:, None, :], stiff.shape).ravel()
        return coo_matrix((stiff.ravel(), (rows, columns)), shape=(self.basis.N,) * 2).tocsr()

    # ----------------------------------------------------------------- contact
    def _touch(self, u: Array, depth: float) -> tuple[Array, Any, float]:
        """Forces on the strip, their stiffness, and the load of the whole cylinder."""
        press, force, whole, load = self.penalty * self.modulus, np.zeros(self.basis.N), 0, 0.0
        for basis, shapes in ((self.top, self.above), (self.under, self.below)):
            if basis is self.under and self.bonded:
                continue
            dofs = basis.element_dofs
            moved = np.einsum("eqgi,ie->geq", shapes, u[dofs], optimize=True)
            at = np.asarray(basis.global_coordinates()) + moved
            if basis is self.under:
                centre = np.array([self.receiver + self.corner, -self.corner])
                radius = self.corner
                flat = (at[0] > centre[0]) | (self.receiver == 0.0)
            else:
                centre = np.array([0.0, self.thickness - depth + self.radius])
                radius, flat = self.radius, np.zeros(at.shape[1:], dtype=bool)
            way = at - centre[:, None, None]
            far = np.sqrt((way**2).sum(axis=0))
            deep = np.where(flat, -at[1], radius - far)
            if basis is self.under:
                low = -at[1] - self.receiver_depth
                floor = ~flat & (low > deep)
                deep, flat = np.where(floor, low, deep), flat | floor
            normal = np.where(flat, np.array([0.0, 1.0])[:, None, None], way / far)
            root = np.hypot(deep, 3e-4)
            along = basis.dx * (1.0 + deep / root) / 2.0
            deep = basis.dx * (deep + root) / 2.0
            turn = np.where(flat, 0.0, deep / far)
            push = -press * deep * normal
            force += self._whole(np.einsum("eqgi,geq->ie", shapes, push), dofs)
            both = np.einsum("geq,heq->eqgh", normal * (along + turn), normal)
            both -= turn[..., None, None] * np.eye(2)
            stiff = press * (shapes.swapaxes(2, 3) @ both @ shapes).sum(axis=1)
            whole = whole + self._matrix(stiff, dofs)
            if basis is self.top:
                load = 2.0 * float(push[1].sum())
        return force, whole, load

    # ----------------------------------------------------------------- steps
    def press(self, depth: float, step: float = 0.004) -> float:
        """Line load [N/mm] with the cylinder pressed in to this depth, in steps.

        Raises
        ------
        ArithmeticError
            where Newton's steps find no balance.
        """
        load = 0.0
        while self.depth < depth - 1e-12:
            size = min(step, depth - self.depth)
            for _ in range(6):
                found = self._balance(self.depth + size)
                if found is not None:
                    break
                size /= 2.0
            else:
                raise ArithmeticError(f"no balance at depth {self.depth + size:g} mm")
            load = found
            self.depth += size
        return load

    def _balance(self, depth: float) -> float | None:
        free = np.setdiff1d(np.arange(self.basis.N), self.fixed)
        u, part, change, before = self.u.copy(), 0.0, np.zeros(self.basis.N), np.inf
        for _ in range(60):
            inner, stiff, state = self._inside(u + part * change)
            outer, touch, load = self._touch(u + part * change, depth)
            force = (inner + outer)[free]
            after = float(np.linalg.norm(force))
            if not after < before and part > 0.02:
                part /= 2.0
                continue
            u, before = u + part * change, after
            if part and np.abs(force).max() < 1e-4 * max(abs(load), 1.0):
                self.u = u
                self.inverse, self.across, self.plastic = state
                return load
            matrix = (stiff + touch).tocsr()
            change = np.zeros(len(u))
            change[free] = spsolve(matrix[free][:, free], -force)
            big = np.abs(change).max()
            if not np.isfinite(big):
                return None
            part = min(1.0, 0.5 * self.size / big)
        return None

    @property
    def bulge(self) -> float:
        """How far the sheet has gone into the gap under the cylinder [mm]."""
        middle = int(np.argmin((self.basis.mesh.p**2).sum(axis=0)))
        return -float(self.u[self.basis.nodal_dofs[1, middle]])

    def stiffness(self, back: float) -> float:
        """Line load per way as the cylinder is drawn back by this much, once [N/mm per mm]."""
        top, low = self._balance(self.depth), self._balance(self.depth - back)
        assert top is not None and low is not None
        return (top - low) / back


# --------------------------------------------------------------------------- the table
STRENGTH, EXPONENT, RADIUS = 530.0, 0.44, 0.52  # of copper in MPa; wire in mm
WORK = {"annealed": 0.0, "cold worked": 0.182}  # half hard copper; hard copper differs by 2 %
THICKNESS, GAP = (1.2, 2.1, 3.0, 4.5), (0.0, 0.5, 0.95, 1.4, 2.1)
DEPTH = np.array([0.05, 0.1, 0.17, 0.25, 0.33, 0.42])


def thick(depth: Array, prestrain: float) -> Array:
    """Slip lines under a flat punch as wide as the contact, on thick metal [N/mm]."""
    a = RADIUS * np.sqrt(2.0 * depth - depth**2)
    stress = STRENGTH * (prestrain + 0.2 * a / RADIUS) ** EXPONENT
    return np.asarray(2.0 * a * (2.0 + np.pi) / np.sqrt(3.0) * stress)


def row(prestrain: float, thickness: float, gap: float) -> tuple[Array, Array]:
    """Share of the load on thick metal and bulge over depth: mean of a strip held and free."""
    loads, bulges = [], []
    for held in (True, False):
        size = thickness * RADIUS / np.clip(round(thickness * RADIUS / 0.12), 8, 12)
        metal = (STRENGTH, EXPONENT, max(prestrain, 0.002))
        strip = Strip(thickness * RADIUS, RADIUS, *metal, gap * RADIUS, held=held, size=size)
        for depth in DEPTH * RADIUS:
            loads.append(strip.press(depth, step=0.01))
            bulges.append(strip.bulge / depth)
    share = np.reshape(loads, (2, -1)).mean(axis=0) / thick(DEPTH, prestrain)
    return share, np.clip(np.reshape(bulges, (2, -1)).mean(axis=0), 0.0, 1.0)


SHEET, WIRE, COARSE = 1.09, 0.5207, 1.09 / 8  # of the points; elements under the wire, mm
POINTS = [
    *itertools.product([0.0], [0.0, 1.4], [np.inf], [0.12]),
    (0.0, 1.4, 0.05, 0.12),
    (0.0, 0.0, np.inf, 0.8 * WIRE),
    (0.3006, 0.0, np.inf, 0.6 * WIRE),  # hard copper
]
"""Cold work, width and depth of a receiver [mm], depth of the furrow [mm]."""


def pressed(prestrain: float, receiver: float, floor: float, depth: float, held: bool) -> Strip:
    """The strip of a point, pressed; its `load` is the line load [N/mm]."""
    metal = (STRENGTH, EXPONENT, max(prestrain, 0.002))
    strip = Strip(SHEET, WIRE, *metal, receiver / 2.0, floor, held=held, size=COARSE)
    strip.load = strip.press(depth, step=0.01)
    return strip


def points() -> None:
    out = csv.writer(sys.stdout, lineterminator="\n")
    groups = ("prestrain", "receiver", "floor", "depth", "held")
    out.writerow([*groups, "load", "bulge", "source", "status"])
    source = f"tests/validation/wire_solid.py, scikit-fem {skfem.__version__}"
    for point, held in itertools.product(POINTS, (True, False)):
        strip = pressed(*point, held)
        numbers = (f"{strip.load:.6g}", f"{strip.bulge:.4g}")
        out.writerow([*(f"{x:g}" for x in point), int(held), *numbers, source, "computed"])


def main() -> None:
    heads = [f"{what} {d:g} []" for what in ("share", "bulge") for d in DEPTH]
    out = csv.writer(sys.stdout, lineterminator="\n")
    groups = ("prestrain []", "thickness []", "gap []")
    out.writerow(["sheet", *groups, *heads, "source", "status", "note"])
    source = f"tests/validation/wire_solid.py, scikit-fem {skfem.__version__}"
    for temper, t, gap in itertools.product(WORK, THICKNESS, GAP):
        share, bulge = row(WORK[temper], t, gap)
        numbers = [*(f"{x:.3f}" for x in share), *(f"{x:.2f}" for x in bulge)]
        below = f"gap {2.0 * gap:g} radii wide" if gap else "backed"
        what = f"{temper}, {t:g} radii thick, {below}"
        out.writerow([what, f"{WORK[temper]:g}", t, gap, *numbers, source, "computed", ""])


if __name__ == "__main__":
    points() if sys.argv[1:] == ["points"] else main()
