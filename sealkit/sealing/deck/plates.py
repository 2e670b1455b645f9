"""Plates on foundations: the plate behind the deck map.

A head is taken as a plate that bends and shears. Its deflection is the sum of a part by bending
and a part by shear, w = b + s, with the energy

    D/2 ((1 - nu) b,ij b,ij + nu (b,kk)**2) + S/2 s,i s,i        S = kappa G h, kappa = 5/6

and all loads on w: Mindlin's plate with sections that turn by the slope of b, without the edge
layer of twisting sections. Bending and shear have shapes of their own (Bogner-Fox-Schmit rectangles
and bilinear ones on the same structured mesh, put together by scikit-fem), so that nothing locks:
as S grows, s vanishes and the thin plate is left [1, 2]. Everything that presses on the plate acts
at points: a law gives load and slope there against closure. Closure is the deflection of the plate
towards the block. Laws of any kind (linear, one-sided, with load history) are solved together by
Newton's method with a line search; since no law falls with closure, the balance has one answer.
The factor of a tangent is kept, over steps and from one solution to the next, as long as steps
with it, put right by what they have told, bring the balance near (limited-memory BFGS [3]).

The plate model leaves out: squeezing through its thickness, stretching in its plane, friction and
shear on the faces, holes in the plate. Under a load on a point the moment of a plate is without
bounds, and with shear its deflection too; loads are spread on circles and faces instead.

References
----------
[1] S. P. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells (equation from memory;
    plates on foundations in chapter 8).
[2] C. M. Wang, J. N. Reddy and K. H. Lee, Shear Deformable Beams and Plates, Elsevier 2000 (thick
    plates from thin ones, from memory).
[3] J. Nocedal and S. J. Wright, Numerical Optimization, 2nd ed., Springer 2006, algorithm 7.4
    (from memory).
"""

from __future__ import annotations

import copy
import functools
import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit import kinds as si
from sealkit.arrays import Array
from sealkit.errors import fail
from sealkit.units import plain, with_units

Law = Callable[[Array], tuple[Array, Array]]

Edge = Callable[[Array, Array], Array]
_Together = tuple[NDArray[np.intp], NDArray[np.intp]]
Tangent = Callable[[Sequence[Array]], Array]

_OUTSIDE = 1e-6  # stiffness left to the part of a mesh beside the outline, which keeps it solvable
_STEPS = 120
_SLOW = 0.25  # two steps that leave more than this of the imbalance ask for a new factor
_KEPT = 8  # sets of patches whose places are kept
_SEARCH = 30
_BALANCE = 1e-9  # of all forces on the plate: loads and margins to five digits
_ROUNDING = 2e-15
_LOST = 1e-6  # rounding of this share of all forces: the plate flies away


@dataclass(frozen=True, eq=False)
class Patch:
    """Points of a plate at which something presses.

    Parameters
    ----------
    points : (n, 2) [m]
    weight : what one point stands for: an area [m**2], a length [m], or 1 for a point load
    dofs, shape : (n, 16 or 20), unknowns of the element round each point, deflection per unknown
    group : points that follow each other in one element, placed alike in elements of one size
    """

    points: Array
    weight: Array
    dofs: NDArray[np.intp]
    shape: Array
    group: int = 1

    @functools.cached_property
    def _rows(self) -> Any:
        """`shape` as a matrix of compressed rows, points over all unknowns up to the last one."""
        from scipy.sparse import csr_array

        ends = np.arange(len(self.dofs) + 1) * self.dofs.shape[1]
        size = int(self.dofs.max(initial=-1)) + 1
        return csr_array((self.shape.ravel(), self.dofs.ravel(), ends), (len(self.dofs), size))

    @functools.cached_property
    def _columns(self) -> Any:
        return self._rows.T

    @functools.cached_property
    def _elements(self) -> NDArray[np.intp]:
        return self.dofs[:: self.group].copy()

    def closure(self, w: Array) -> Array:
        """Closure at the points for the unknowns `w`."""
        if self.group > 1:
            return np.asarray(w.take(self._elements) @ self.shape[: self.group].T).ravel()
        return np.asarray(self._rows @ w[: self._rows.shape[1]])

    def forces(self, load: Array, size: int) -> Array:
        """Forces on the unknowns of `load` (per weight) at the points."""
        if self.group > 1:
            each = (self.weight * load).reshape(-1, self.group) @ self.shape[: self.group]
            return np.asarray(np.bincount(self._elements.ravel(), each.ravel(), size), float)
        total = np.zeros(size)
        total[: self._rows.shape[1]] = self._columns @ (self.weight * load)
        return total

    @functools.cached_property
    def _below(self) -> NDArray[np.bool_]:
        """Which pairs of unknowns lie on or below the diagonal."""
        return np.asarray(self._elements[:, :, None] >= self._elements[:, None, :])

    @functools.cached_property
    def _products(self) -> Array:
        """Of the shape for those pairs, point by point."""
        shape = self.shape[: self.group] if self.group > 1 else self.shape
        each = shape[:, :, None] * shape[:, None, :]
        below = self._below[:1] if self.group > 1 else self._below
        return each[np.broadcast_to(below, each.shape)].reshape(len(shape), -1)

    @functools.cached_property
    def pairs(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Column and distance from the diagonal of the entries of `tangent`."""
        dofs = self._elements
        row, column = np.broadcast_arrays(dofs[:, :, None], dofs[:, None, :])
        return column[self._below], (row - column)[self._below]

    def tangent(self, slope: Array) -> Array:
        """Matrix of `slope` (load per closure and weight) at the points, on or below the diagonal.

        One entry for each element (or single point) and pair of unknowns, to be added up where
        `pairs` says.
        """
        stiff = self.weight * slope
        if self.group > 1:
            return np.asarray(stiff.reshape(-1, self.group) @ self._products).ravel()
        return np.asarray(stiff[:, None] * self._products).ravel()


def joined(patches: Sequence[Patch]) -> Patch:
    """Several patches as one of single points."""
    return Patch(
        np.concatenate([p.points for p in patches]),
        np.concatenate([p.weight for p in patches]),
        np.concatenate([p.dofs for p in patches]),
        np.concatenate([p.shape for p in patches]),
    )


def _fine_rule(cells: int = 4) -> tuple[Array, Array]:
    """Integration points and weights on the unit square, fine enough for cut elements."""
    t, share = np.polynomial.legendre.leggauss(2)
    x = ((np.arange(cells)[:, None] + 0.5 * (t + 1.0)) / cells).ravel()
    w = np.tile(0.5 * share / cells, cells)
    px, py = np.meshgrid(x, x, indexing="ij")
    return np.stack([px.ravel(), py.ravel()]), np.outer(w, w).ravel()


def _hermite(t: Array, h: Array) -> Array:
    """Cubics for value and slope at both ends of an interval of length h, at share t of it.

    Shape (n, 4): value and slope at the start, value and slope at the end.
    """
    square, cube = t**2, t**3
    rows = [
        1.0 - 3.0 * square + 2.0 * cube,
        h * (t - 2.0 * square + cube),
        3.0 * square - 2.0 * cube,
        h * (cube - square),
    ]
    return np.stack(rows, axis=-1)


class Plate:
    """A plate with free edges, on lines of a structured mesh.

    Parameters
    ----------
    x, y : mesh lines, rising [m]
    stiffness : flexural stiffness D, above zero [N m]
    poisson : nu
    edge : distance of a place (x, y) from the outline, above zero inside; None for a rectangle
    shear : shear stiffness S = kappa G h [N/m]; infinite for a thin plate

    The unknowns of each node are deflection by bending, both its slopes and its twist, and where
    the plate shears its deflection by shear, in this order. A plate that
    is no rectangle lies in a rectangular mesh: elements cut by its outline are integrated over
    the part inside, what lies outside keeps a millionth of the stiffness.
    """

    def __init__(
        self,
        x: ArrayLike,
        y: ArrayLike,
        stiffness: float,
        poisson: float,
        edge: Edge | None = None,
        shear: float = np.inf,
    ):
        self.x = np.asarray(plain(x, "length", "x"), dtype=float)
        self.y = np.asarray(plain(y, "length", "y"), dtype=float)
        stiffness = plain(stiffness, "plate stiffness", "stiffness")
        for name, lines in (("x", self.x), ("y", self.y)):
            if lines.ndim != 1 or len(lines) < 2 or not np.all(np.diff(lines) > 0):
                raise fail(name, lines, "two or more mesh lines that rise")
        if not stiffness > 0:
            raise fail("stiffness", stiffness, "a flexural stiffness above zero")
        self.stiffness = float(stiffness)
        self.poisson = float(poisson)
        self.edge = edge
        self.shear = float(plain(shear, "stiffness", "shear"))
        if not self.shear > 0:
            raise fail("shear", shear, "a shear stiffness above zero")
        self.per = 4 if np.isinf(self.shear) else 5
        self.size = self.per * len(self.x) * len(self.y)
        short_side = min(len(self.x), len(self.y))
        self.band = self.per * (short_side + 1) + self.per - 1
        self._known: dict[tuple[Patch, ...], _Together] = {}
        # of the last tangent with so many laws, the first guess of the next
        self._factors: dict[int, Array] = {}
        self.unit = np.full(self.size, 0.0)
        self.unit[0 :: self.per] = 1.0

    def node(self, i: Any, j: Any) -> Any:
        """Number of the node on mesh lines x[i], y[j]; neighbours on the short side are near."""
        if len(self.x) >= len(self.y):
            return i * len(self.y) + j
        return j * len(self.x) + i

    @functools.cached_property
    def _units(self) -> list[Any]:
        """Matrices (compressed rows) of bending and shear for stiffnesses of one, scikit-fem's."""
        from scipy.sparse import coo_array
        from skfem import Basis, BilinearForm, Dofs, ElementQuad1, ElementQuadBFS, MeshQuad
        from skfem.helpers import dd, ddot, dot, eye, grad, trace
        from skfem.quadrature import get_quadrature

        mesh = MeshQuad.init_tensor(self.x, self.y)
        nu, edge = self.poisson, self.edge

        def bending(u: Any, v: Any, at: Any) -> Any:
            k = dd(u)
            return at["counts"] * ddot((1.0 - nu) * k + nu * eye(trace(k), 2), dd(v))

        def shearing(u: Any, v: Any, at: Any) -> Any:
            return at["counts"] * dot(grad(u), grad(v))

        # by points and weights: a rule for what is whole, and behind it a fine one for what is cut
        rule, part = get_quadrature(mesh.elem.refdom, 6), np.zeros(0, dtype=int)
        few, inside = len(rule[1]), np.zeros((0, 0))
        if edge is not None:
            reach = edge(*mesh.p[:, mesh.t].mean(axis=1))
            half = 0.5 * np.hypot(*(mesh.p[:, mesh.t[2]] - mesh.p[:, mesh.t[0]]))
            near_it, fine = np.nonzero(reach < half)[0], _fine_rule()
            far = edge(*mesh.mapping().F(fine[0], tind=near_it))
            cut = (far < 0.0).any(axis=1)
            part, inside = near_it[cut], np.where(far[cut] >= 0.0, 1.0, _OUTSIDE)
            rule = tuple(np.concatenate(x, axis=-1) for x in zip(rule, fine, strict=True))
        whole = np.setdiff1d(np.arange(mesh.nelements), part)
        # elements of one size are alike: one of each is integrated, the nearest to the origin as
        # the polynomials of the element, in plate coordinates, are the better conditioned there
        whole = whole[np.argsort(np.hypot(*mesh.p[:, mesh.t[:, whole]].mean(axis=1)))]
        sides = mesh.p[:, mesh.t[2, whole]] - mesh.p[:, mesh.t[0, whole]]
        size = np.round(sides / sides.max(axis=1, initial=0.0, keepdims=True), 9)
        _, one, alike = np.unique(size, axis=1, return_index=True, return_inverse=True)
        counts = np.zeros((len(one) + len(part), len(rule[1])))
        counts[: len(one), :few], counts[len(one) :, few:] = 1.0, inside
        like = np.concatenate([alike.ravel(), len(one) + np.arange(len(part))])
        elements = np.concatenate([whole, part])
        node = self.node(np.searchsorted(self.x, mesh.p[0]), np.searchsorted(self.y, mesh.p[1]))
        out = []
        for element, form, first_dof in (
            (ElementQuadBFS, bending, 0),
            (ElementQuad1, shearing, 4),
        ):
            if first_dof >= self.per:
                break
            basis = Basis(
                mesh.restrict(np.concatenate([whole[one], part])), element(), quadrature=rule
            )
            local = BilinearForm(form).coo_data(basis, counts=counts).tolocal()[like]
            dofs = Dofs(mesh, element())
            own = np.empty(dofs.N, dtype=np.intp)
            for number, of_nodes in enumerate(dofs.nodal_dofs):
                own[of_nodes] = self.per * node + first_dof + number
            of_element = own[dofs.element_dofs[:, elements]].T
            rows, columns = np.broadcast_arrays(of_element[:, :, None], of_element[:, None, :])
            places = (rows.ravel(), columns.ravel())
            k = coo_array((local.ravel(), places), shape=(self.size, self.size))
            out.append(k.tocsr())
        if self.per == 5:
            # bending may trade an even deflection with shear: held by a spring that carries nothing
            held = ([1.0], ([self.per - 1], [self.per - 1]))
            out[1] = (out[1] + coo_array(held, shape=(self.size, self.size))).tocsr()
        return out

    @property
    def _stiffnesses(self) -> tuple[float, ...]:
        return (self.stiffness, self.shear)[: self.per - 3]

    @functools.cached_property
    def matrix(self) -> Any:
        """Stiffness matrix of the plate (compressed rows)."""
        out: Any = 0
        for stiffness, unit in zip(self._stiffnesses, self._units, strict=True):
            out = out + stiffness * unit
        return out

    @functools.cached_property
    def _sizes(self) -> Any:
        return abs(self.matrix)

    @functools.cached_property
    def _lower(self) -> Array:
        k = self.matrix.tocoo()
        low = k.row >= k.col
        out = np.zeros((self.band + 1, self.size), order="F")
        out[(k.row - k.col)[low], k.col[low]] = k.data[low]
        return out

    def tangent(self, patches: Sequence[Patch]) -> Tangent:
        """Lower band of the matrix of the plate with these patches, for their slopes.

        Column after column in memory, as the factorisation reads it.

        Parameters
        ----------
        patches : on this plate; a slope is load per closure and weight at each of their points
        """
        wide, bare = self.band + 1, self._lower.T.ravel()
        places, entries = self._together(tuple(patches))
        out = np.empty(bare.size)  # for every step: fresh memory costs more than the sum

        def lower(slopes: Sequence[Array]) -> Array:
            np.copyto(out, bare)
            if patches:
                parts = [p.tangent(slope) for p, slope in zip(patches, slopes, strict=True)]
                out[entries] += np.bincount(places, np.concatenate(parts), len(entries))
            return out.reshape(-1, wide).T

        return lower

    def _together(self, patches: tuple[Patch, ...]) -> _Together:
        """Which entry each pair of the unknowns of patches adds to, and where entries lie."""
        if patches not in self._known:
            pairs = [column * (self.band + 1) + down for column, down in (p.pairs for p in patches)]
            flat = np.concatenate([np.zeros(0, dtype=np.intp), *pairs])
            used = np.zeros(self.size * (self.band + 1), dtype=bool)
            used[flat] = True
            if len(self._known) >= _KEPT:
                self._known.clear()
            entries, number = np.flatnonzero(used), np.empty(used.size, dtype=np.intp)
            number[entries] = np.arange(len(entries))
            self._known[patches] = number[flat], entries
        return self._known[patches]

    @functools.cached_property
    def _scale(self) -> Array:
        """What makes forces out of the entries of a residual."""
        hx, hy = float(np.mean(np.diff(self.x))), float(np.mean(np.diff(self.y)))
        one = [1.0, 1.0 / hx, 1.0 / hy, 1.0 / (hx * hy), 1.0]
        return np.tile(one[: self.per], self.size // self.per)

    def scaled(self, stiffness: float, shear: float = np.inf) -> Plate:
        """The same plate with other stiffnesses (N*m, N/m); what is worked out is kept."""
        if not stiffness > 0:
            raise fail("stiffness", stiffness, "a flexural stiffness above zero")
        if np.isinf(shear) != (self.per == 4):
            raise fail("shear", shear, "thin as before, or shearing as before")
        self._units  # noqa: B018  kept by both
        out = copy.copy(self)
        out.stiffness, out.shear = float(stiffness), float(shear)
        for name in ("matrix", "_sizes", "_lower"):
            out.__dict__.pop(name, None)
        return out

    # ------------------------------------------------------------------ places
    def _rows(self, points: Array) -> tuple[NDArray[np.intp], Array]:
        i = np.clip(np.searchsorted(self.x, points[:, 0], side="right") - 1, 0, len(self.x) - 2)
        j = np.clip(np.searchsorted(self.y, points[:, 1], side="right") - 1, 0, len(self.y) - 2)
        hx, hy = np.diff(self.x)[i], np.diff(self.y)[j]
        fx = _hermite((points[:, 0] - self.x[i]) / hx, hx)
        fy = _hermite((points[:, 1] - self.y[j]) / hy, hy)
        dofs, shape = [], []
        for (a, b), (sx, sy) in itertools.product(
            itertools.product((0, 1), repeat=2), ((0, 0), (1, 0), (0, 1), (1, 1))
        ):
            dofs.append(self.per * self.node(i + a, j + b) + sx + 2 * sy)
            shape.append(fx[:, 2 * a + sx] * fy[:, 2 * b + sy])
        if self.per == 5:
            tx, ty = (points[:, 0] - self.x[i]) / hx, (points[:, 1] - self.y[j]) / hy
            for a, b in itertools.product((0, 1), repeat=2):
                dofs.append(self.per * self.node(i + a, j + b) + 4)
                shape.append((tx if a else 1.0 - tx) * (ty if b else 1.0 - ty))
        return np.stack(dofs, axis=-1), np.stack(shape, axis=-1)

    def patch(self, points: ArrayLike, weight: ArrayLike = 1.0) -> Patch:
        """Single points, with the area or length that each stands for.

        Raises InputError if a point lies beside the plate.
        """
        place = np.atleast_2d(np.asarray(plain(points, "length", "points"), dtype=float))
        outside = (
            (place[:, 0] < self.x[0])
            | (place[:, 0] > self.x[-1])
            | (place[:, 1] < self.y[0])
            | (place[:, 1] > self.y[-1])
        )
        if np.any(outside):
            raise fail("points", place[outside][0], "points on the plate")
        return Patch(
            place, np.broadcast_to(np.asarray(weight, float), len(place)).copy(), *self._rows(place)
        )

    def ring(self, centre: ArrayLike, diameter: ArrayLike, count: int) -> Patch:
        """Points round one circle or each of many, from the x direction; weights are lengths."""
        angle = np.arange(count) * (2.0 * np.pi / count)
        d = np.full(len(np.atleast_2d(centre)), diameter, dtype=float)
        round_it = 0.5 * d[:, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
        points = np.atleast_2d(centre)[:, None] + round_it
        return self.patch(points.reshape(-1, 2), np.repeat(np.pi * d / count, count))

    def disc(self, centre: Sequence[float], radius: ArrayLike, rings: int, count: int) -> Patch:
        """Points over a disc whose weights add up to its area.

        `radius` may be an array of `count`, how far it reaches in each direction.
        """
        t, share = np.polynomial.legendre.leggauss(rings)
        half = 0.5 * np.broadcast_to(np.asarray(radius, dtype=float), count)
        r = half * (t[:, None] + 1.0)
        angle = (np.arange(count) + 0.5) * (2.0 * np.pi / count)
        x, y = centre[0] + r * np.cos(angle), centre[1] + r * np.sin(angle)
        weight = half * share[:, None] * r * (2.0 * np.pi / count)
        return self.patch(np.stack([x.ravel(), y.ravel()], axis=-1), weight.ravel())

    def area(self) -> Patch:
        """Nine integration points in every element of the plate."""
        t, share = np.polynomial.legendre.leggauss(3)
        lines = []
        for edge in (self.x, self.y):
            h = np.diff(edge)
            lines.append((edge[:-1, None] + 0.5 * h[:, None] * (t + 1.0), 0.5 * h[:, None] * share))
        (px, wx), (py, wy) = lines
        shape = (len(px), len(py), 3, 3)
        x = np.broadcast_to(px[:, None, :, None], shape).ravel()
        y = np.broadcast_to(py[None, :, None, :], shape).ravel()
        weight = (wx[:, None, :, None] * wy[None, :, None, :]).ravel()
        points = np.stack([x, y], axis=-1)
        even = all(np.ptp(np.diff(lines)) < 1e-9 * np.ptp(lines) for lines in (self.x, self.y))
        return Patch(points, weight, *self._rows(points), group=9 if even else 1)

    # ------------------------------------------------------------------ balance
    def solve(
        self,
        laws: Sequence[tuple[Patch, Law]],
        push: Array,
        start: Array | None = None,
    ) -> tuple[Array, int]:
        """Unknowns at which plate, laws and forces balance, and the steps it took.

        Raises InputError if nothing holds the plate.

        Parameters
        ----------
        laws : patches with their laws, closure -> (load, slope), load resisting the closure and
            never falling with it
        push : forces on the unknowns, towards more closure
        start : unknowns to start from
        """
        from scipy.linalg.lapack import dpbtrs

        w = np.zeros(self.size) if start is None else start.copy()
        patches = [patch for patch, _ in laws]
        pushed = float(np.abs(push[0 :: self.per]).sum())

        def closures(w: Array) -> list[Array]:
            return [patch.closure(w) for patch in patches]

        def balance(w: Array, c: list[Array]) -> tuple[Array, list[Array], float]:
            """What is left of all forces on the unknowns, slopes, and the size of the forces."""
            r, slopes, size = self.matrix @ w - push, [], pushed
            for (patch, law), closure in zip(laws, c, strict=True):
                load, slope = law(closure)
                slopes.append(slope)
                r += patch.forces(load, self.size)
                size += float(np.abs(patch.weight * load).sum())
            return r, slopes, size

        factor = self._factors.get(len(laws))
        tangent = self.tangent(patches)
        moved: list[tuple[Array, Array]] = []  # by steps of this factor, and what they changed
        c = closures(w)
        r, slopes, scale = balance(w, c)
        earlier, before, noise = np.inf, np.inf, 0.0
        for step in range(_STEPS):
            left = float(np.max(np.abs(r * self._scale)))
            slow = left > _SLOW * earlier
            if slow:
                # the balance cannot be better than the rounding of the plate's own forces
                noise = float(np.max((self._sizes @ np.abs(w)) * self._scale)) * _ROUNDING
                if noise > _LOST * scale:
                    break
            if left <= max(_BALANCE * scale, noise):
                return w, step
            if factor is None or slow:
                factor, moved = self._factored(tangent(slopes)), []
                self._factors[len(laws)] = factor
                left = np.inf  # of steps with it nothing is known yet
            earlier, before, move, parts = before, left, -r, []
            # the factor is put right by what the steps with it have told (limited-memory BFGS)
            for s, y in reversed(moved):
                parts.append(float(s @ move) / float(s @ y))
                move -= parts[-1] * y
            move, _ = dpbtrs(factor, move, lower=True)
            for s, y in moved:
                move += (parts.pop() - float(y @ move) / float(s @ y)) * s
            dc = closures(move)
            low, high, at_start = 0.0, np.inf, float(move @ r)
            # a plate that has lost all contact would fly far beyond the place where it finds it
            reach, furthest = (max((np.abs(x).max() for x in at), default=0.0) for at in (c, dc))
            share = min(1.0, reach / furthest) if reach > 0.0 and furthest > 0.0 else 1.0
            for _ in range(_SEARCH):
                went, at = share, [x + share * dx for x, dx in zip(c, dc, strict=True)]
                now, slopes, scale = balance(w + went * move, at)
                gain = float(move @ now)
                if abs(gain) <= 0.5 * abs(at_start):
                    break
                low, high = (share, high) if gain < 0 else (low, share)
                share = 0.5 * (low + high) if np.isfinite(high) else 4.0 * share
            s, y = went * move, now - r
            if float(s @ y) > 0.0:
                moved.append((s, y))
            w, c, r = w + s, at, now
        raise fail(
            "laws",
            f"a residual of {np.max(np.abs(r * self._scale)) / scale:.1e} of the forces",
            "a plate that comes to balance",
        )

    def followed(self, laws: Sequence[tuple[Patch, Law]], w: Array, sunk: Array) -> Array:
        """Unknowns, to first order, once what lies below the patches has sunk by so much.

        Parameters
        ----------
        laws : patches with their laws as they are now
        w : unknowns before
        sunk : at the points of all patches [m]
        """
        from scipy.linalg.lapack import dpbtrs

        patches = [patch for patch, _ in laws]
        ends = np.cumsum([len(patch.points) for patch in patches])[:-1]
        push, slopes = np.zeros(self.size), []
        for (patch, law), by in zip(laws, np.split(sunk, ends), strict=True):
            slopes.append(law(patch.closure(w) + by)[1])
            push += patch.forces(slopes[-1] * by, self.size)
        factor = self._factors.get(len(laws))
        if factor is None:
            factor = self._factored(self.tangent(patches)(slopes))
        out: Array = w + dpbtrs(factor, push, lower=True)[0]
        return out

    def _factored(self, lower: Array) -> Array:
        """Cholesky factor of a tangent; its memory is used up."""
        from scipy.linalg import cholesky_banded

        # a trace of support everywhere keeps the step finite where nothing touches yet
        lower[0] += 1e-13 * float(np.max(lower[0, 0 :: self.per])) * self.unit
        try:
            return np.asarray(cholesky_banded(lower, True, lower=True, check_finite=False))
        except np.linalg.LinAlgError as err:
            raise fail("laws", "a plate that nothing holds", "a plate that is held") from err


@with_units(returns="length", poisson="number 0..0.5")
def supported_plate(
    length: si.Length,
    width: si.Length,
    plate: si.PlateStiffness,
    poisson: Any,
    pressure: si.AnyStress = 0.0,
    point_load: si.AnyForce = 0.0,
    foundation: si.Number0 = 0.0,
    shear: si.Stiffness = np.inf,
    elements: int = 16,
) -> float:
    """Deflection in the middle of a rectangular plate on supported edges [m], as books print it.

    D (w_xxxx + 2 w_xxyy + w_yyyy) + k w = q [1]: the elements of the deck map on a plate whose
    answer is known.

    Parameters
    ----------
    plate, shear : stiffness D [N m] and S [N/m]
    pressure, point_load : q [Pa], and a force in the middle [N]
    foundation : k width**4 / D
    elements : along each side, an even number
    """
    x, y = np.linspace(0.0, length, elements + 1), np.linspace(0.0, width, elements + 1)
    model = Plate(x, y, plate, poisson, shear=shear)
    area, middle = model.area(), model.patch((0.5 * length, 0.5 * width))
    push = area.forces(np.full(len(area.points), float(pressure)), model.size)
    push += middle.forces(np.array([float(point_load)]), model.size)
    along = np.linspace(0.0, 1.0, 4 * elements + 1)[:, None] * (length, width)
    sides = [
        along * (1, 0),
        along * (1, 0) + (0, width),
        along * (0, 1),
        along * (0, 1) + (length, 0),
    ]
    rim = model.patch(np.concatenate(sides))
    rigid, soft = 1e6 * plate * (elements / width) ** 2, foundation * plate / width**4
    laws: list[tuple[Patch, Law]] = [
        (rim, lambda closure: (rigid * closure, np.full_like(closure, rigid))),
        (area, lambda closure: (soft * closure, np.full_like(closure, soft))),
    ]
    w, _ = model.solve(laws, push)
    return float(middle.closure(w)[0])
