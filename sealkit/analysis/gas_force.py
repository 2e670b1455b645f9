"""The gas side of a build with what its gas lifts the head with."""

from __future__ import annotations

import functools
from dataclasses import dataclass

from sealkit.analysis.clamp import clamp_side
from sealkit.analysis.gas import Array, Gas, gas_side, single_cycles
from sealkit.build import Build
from sealkit.sealing.joint import Joint


@dataclass(frozen=True)
class GasForce:
    """A build, its gas side, its joint, and the gas force on the head of one bore, N.

    The force is that of the design peak pressure over the air outside, on the circle inside the
    combustion seal.
    """

    build: Build
    gas: Gas
    joint: Joint
    force: float

    @functools.cached_property
    def singles(self) -> tuple[Array, Array]:
        """Crank angle and pressure of single cycles; see `single_cycles`."""
        return single_cycles(self.build, self.gas)


def gas_force(build: Build) -> GasForce:
    """Gas side and gas force of a build; nothing else of the chain is worked out.

    Raises InputError naming what cannot be worked out, such as a gas outside the tables.
    """
    gas = gas_side(build)
    joint = clamp_side(build)[1]
    return GasForce(build, gas, joint, gas.design_gauge * joint.gas_area)
