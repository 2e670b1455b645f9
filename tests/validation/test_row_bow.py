"""Bow of a hot head between its fasteners against a plate by finite elements.

A thin plate whose fire side is hotter would bow to a sphere. It is held at points, at the corners
of squares in a row, and free all round. That a row is held flat lengthwise, bows across (1 + nu)
times as much, and what of it is left round a seal in the mean, as `warm.bow_at_seal` has it, is not
put in.
"""

from __future__ import annotations

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementTriMorley, LinearForm, MeshTri, condense
from skfem import solve as solved
from skfem.helpers import dd, ddot, eye, trace

from sealkit import build as builds
from sealkit import tables
from sealkit.analysis.warm import FULL_LOAD, across_head, bow_at_seal

PER_PITCH, MARGIN = 12, 0.25


def mean_bow(bores: int, poisson: float, seal: float) -> float:
    """Mean bow round the seal of the middle bore; pitch and free curvature are 1."""
    beside = np.linspace(0.0, MARGIN, 4)
    along = np.linspace(0.0, bores, bores * PER_PITCH + 1)
    across = np.linspace(-0.5, 0.5, PER_PITCH + 1)
    x = np.unique(np.round(np.concatenate([-beside, along, bores + beside]), 9))
    y = np.unique(np.round(np.concatenate([-0.5 - beside, across, 0.5 + beside]), 9))
    basis = Basis(MeshTri.init_tensor(x, y), ElementTriMorley())

    @BilinearForm
    def stiffness(u, v, _):
        bent = (1.0 - poisson) * dd(u) + poisson * eye(trace(dd(u)), 2)
        return ddot(bent, dd(v))

    @LinearForm
    def heat(v, _):
        return -(1.0 + poisson) * trace(dd(v))

    places = basis.mesh.p
    held = [
        int(np.argmin(np.hypot(places[0] - i, places[1] - side)))
        for i in range(bores + 1)
        for side in (-0.5, 0.5)
    ]
    fixed = basis.nodal_dofs[0, held]
    u = solved(*condense(stiffness.assemble(basis), heat.assemble(basis), D=fixed))
    t = np.linspace(0.0, 2.0 * np.pi, 72, endpoint=False)
    ring = np.vstack([bores // 2 + 0.5 + seal * np.cos(t), seal * np.sin(t)])
    return float(np.mean(basis.probes(ring) @ u))


@pytest.mark.parametrize("name", ["boosted-four", "na-iron-v8"])
@pytest.mark.parametrize("bores", [1, 7])
def test_mean_bow_round_a_seal_in_a_row(name: str, bores: int) -> None:
    row = {"deck": None, "engine.cylinders": bores, "engine.heads": 1}
    around = {"fasteners.around_bore": 4, "fasteners.on_head": 2 * (bores + 1)}
    build = builds.demo(name).vary({**row, **around})
    material = tables.load("materials")[build.head.material]
    # four fasteners at the corners of a square on the bolt circle
    pitch = build.fasteners.bolt_circle / np.sqrt(2.0)
    by_plate = mean_bow(bores, material["poisson"], build.gasket.seal_diameter / 2.0 / pitch)
    curvature = material["expansion"] * across_head(build, FULL_LOAD) / build.fasteners.grip_head
    ours = bow_at_seal(build, FULL_LOAD)
    assert ours == pytest.approx(by_plate * curvature * pitch**2, rel=0.03)
