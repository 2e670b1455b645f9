"""Room between the preload of one fastener as it scatters and its share of the gas force."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from sealkit import analysis
from sealkit.arrays import Array
from sealkit.build import Build
from sealkit.scatter.inputs import one_cycle
from sealkit.scatter.sheet import run


@dataclass(frozen=True)
class Room:
    """Preload of one fastener as tightened, and its share of the gas force. Plain SI."""

    gas: float  # share of the gas force at the design peak pressure, N
    # mean, deviation: of the preload, N
    mean: float
    deviation: float
    deviations: float  # standard deviations between the two
    below: float  # share of the fasteners whose preload is below the gas, if it is normal

    def curve(self) -> tuple[Array, Array]:
        """The normal curve: preload within four deviations, and density over the highest."""
        z = np.linspace(-4.0, 4.0, 81)
        return self.mean + self.deviation * z, np.exp(-0.5 * np.square(z))


def room(build: Build, count: int = 1_024) -> Room:
    """Room of one fastener of a build; what scatters is `one_cycle`.

    Raises InputError as `run`.
    """
    found = analysis.gas_force(build)
    mean, deviation = run(build, one_cycle(build), count, known={}).watched["preload"]
    gas = float(found.force / found.joint.bolts)
    deviations = (mean - gas) / deviation
    return Room(gas, mean, deviation, deviations, NormalDist().cdf(-deviations))
