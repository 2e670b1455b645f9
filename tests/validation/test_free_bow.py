"""Bow of a hollow head by heat against a finite element solution of the whole body.

A lengthwise cut through a head with deck, roof and four walls round jackets, in plane stress, free
all round, warmed so that its temperature falls evenly from deck to roof. Solved as an elastic body
with eigenstrain alpha T; that it bends as `thermal_bow` says, with the height of the body and no
stiffness, is not put in.
"""

from __future__ import annotations

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, LinearForm, MeshQuad, condense
from skfem import solve as solved
from skfem.helpers import ddot, sym_grad, trace

from sealkit.sealing.deck import layout, patterns

EXPANSION, ACROSS, HEIGHT, LENGTH = 21.4e-6, 30.0, 0.095, 0.400
MODULUS, POISSON = 72.4e9, 0.33


def head() -> MeshQuad:
    """Deck of 10 mm, roof of 6 mm, five walls of 10 mm."""
    x = np.unique([c + s for c in np.linspace(0.005, LENGTH - 0.005, 5) for s in (-0.005, 0.005)])
    y = np.array([0.0, 0.010, 0.050, 0.089, HEIGHT])
    grid = MeshQuad.init_tensor(x, y)
    cx, cy = grid.p[:, grid.t].mean(axis=1)
    wall = np.min(np.abs(cx[:, None] - np.linspace(0.005, LENGTH - 0.005, 5)), axis=1) < 1e-6
    return grid.restrict(np.flatnonzero(wall | (cy < 0.010) | (cy > 0.089)))


def test_a_hollow_body_bows_by_its_height_alone() -> None:
    basis = Basis(head(), ElementVector(ElementQuad2()))
    shear = MODULUS / (2.0 * (1.0 + POISSON))
    bulk = MODULUS * POISSON / (1.0 - POISSON**2)

    @BilinearForm
    def stiffness(u, v, _):
        e, d = sym_grad(u), sym_grad(v)
        return 2.0 * shear * ddot(e, d) + bulk * trace(e) * trace(d)

    @LinearForm
    def heat(v, w):
        warm = EXPANSION * ACROSS * (1.0 - w.x[1] / HEIGHT)
        return (2.0 * shear + 2.0 * bulk) * warm * trace(sym_grad(v))

    x, y = basis.mesh.p
    deck = np.flatnonzero(y == 0.0)
    ends = deck[np.argsort(x[deck])[[0, -1]]]
    held = np.array([*basis.nodal_dofs[:, ends[0]], basis.nodal_dofs[1, ends[1]]])
    u = solved(*condense(stiffness.assemble(basis), heat.assemble(basis), D=held))
    # from the ends, at the feet of the walls
    ours = u[basis.nodal_dofs[1, deck]]

    face = patterns.pattern.si(1, 0.096, 0.086, 0.013, 0.096, 0.025, 0.025)
    x0, x1, _, _ = face.extent
    bow, _ = layout.thermal_bow.si(face, EXPANSION, ACROSS, HEIGHT)
    full = bow * (LENGTH / (x1 - x0)) ** 2
    there = full * (1.0 - (2.0 * x[deck] / LENGTH - 1.0) ** 2)
    assert ours == pytest.approx(there, rel=1e-6, abs=1e-12) and np.min(ours) < 0.99 * full
