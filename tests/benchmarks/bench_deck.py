"""Cost of a deck map and of its sliders, over one assembly and factorisation of its matrix.

Run as ``python -m tests.benchmarks.bench_deck``. The map has four cylinders: one state as
assembled, one for each cylinder at its peak. All ratios come out of one run.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.linalg import cholesky_banded

from sealkit import analysis, build, tables
from sealkit.sealing import deck
from sealkit.sealing.deck.layout import Step
from sealkit.sealing.deck.plates import Plate
from tests.benchmarks._tools import Ratio, cpu_time, show

MOST_SCRATCH, MOST_STEP = 12.0, 4.0
PEAK = 85e5


def rows(mesh: float = 8e-3) -> list[Ratio]:
    sheet = build.demo("boosted-four")
    clamp, joint = analysis.clamp_side(sheet)
    head = tables.load("materials")[sheet.head.material]
    numbers = (sheet.plate_thickness, head["modulus"], head["poisson"] or 0.3)
    first, left = clamp.preload.assembly_low, float(clamp.preload.low)

    def make() -> deck.DeckMap:
        return deck.from_joint(joint, sheet.layout, *numbers, mesh=mesh)

    made = make()

    def unit() -> None:
        """The matrix put together and factorised once, on the gasket's slope as assembled."""
        old = made.plate
        plate = Plate(old.x, old.y, old.stiffness, old.poisson, old.edge, old.shear)
        slopes = [law(patch.closure(assembly.unknowns))[1] for patch, law in assembly.carrying]
        lower = plate.tangent([patch for patch, _ in assembly.carrying])(slopes)
        cholesky_banded(lower, overwrite_ab=True, lower=True)

    def scratch() -> Any:
        new = make()
        low = new.assemble(first, left)
        return low, new.firing(low, PEAK)

    assembly, states = scratch()
    one, _ = cpu_time(unit, 7)
    whole, _ = cpu_time(scratch, 7)
    note = f"{1e3 * whole:.0f} ms, {1e3 * one:.0f} ms; {made.plate.size} unknowns"
    out = [Ratio("deck map from scratch over its matrix", whole / one, MOST_SCRATCH, note=note)]

    def step(changes: dict[str, Any], force: float, peak: float) -> Callable[[], Any]:
        def run() -> Any:
            new = made.vary(**changes) if changes else made
            low = assembly
            if changes or force != 1.0:
                low = new.assemble(force * first, force * left, start=assembly)
            return [
                new.under_gas(low, p, start=s)
                for p, s in zip(peak * np.eye(4), states, strict=True)
            ]

        return run

    coat = [Step(0.0, 0.0438, -2e-6, diameter=0.02)]
    for name, run in (
        ("torque 2 % up", step({}, 1.02, PEAK)),
        ("peak pressure 2 bar up", step({}, 1.0, PEAK + 2e5)),
        ("head 1 mm thinner", step({"thickness": numbers[0] - 1e-3}, 1.0, PEAK)),
        ("coat missing at one place", step({"steps": coat}, 1.0, PEAK)),
    ):
        seconds, new = cpu_time(run, 7)
        note = f"{1e3 * seconds:.0f} ms, steps {[s.newton_steps for s in new]}"
        out.append(Ratio(f"deck map, {name}, over its matrix", seconds / one, MOST_STEP, note=note))
    return out


if __name__ == "__main__":
    show(rows())
