"""The joint of a build over heat cycles: hot, worked, cold again and soaked in cold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, cast

from sealkit import tables
from sealkit.arrays import per_build
from sealkit.build import Build
from sealkit.sealing import heat
from sealkit.sealing.joint import Assembly, Joint

OWN_METAL = "301 full hard"
"""Row of the materials table that a gasket of unknown metal grows like."""


@dataclass(frozen=True)
class Warm:
    """The joint over heat cycles, with the low and the high end of the preload.

    `state` is the hot state, `differential_expansion` what the stack outgrows the fasteners by (m).
    """

    state: heat.ThermalState
    differential_expansion: Any
    low: heat.HeatCycle
    high: heat.HeatCycle
    soak: heat.HeatCycle


def hot_state(build: Build) -> heat.ThermalState:
    """Temperatures of the joint in the hot state of the sheet."""
    h = build.heat
    state: heat.ThermalState = heat.temperatures.si(
        h.hot_state, h.coolant_temperature, h.rise_factor
    )
    return state


def stack_of(build: Build) -> heat.Stack:
    """The stack that the fasteners of a build clamp (SI).

    The gasket grows as the metal of its construction does; zones of one's own count as steel.
    """
    f, known = build.fasteners, tables.load("creep")
    name = build.gasket.construction
    metal = known[name]["metal"] if name in known else OWN_METAL
    return cast(
        heat.Stack,
        heat.stack.si(
            build.head.material,
            f.grip_head,
            build.block.material,
            f.grip_block,
            f.material,
            None,
            build.gasket.compressed_thickness,
            metal,
        ),
    )


def warm_side(
    build: Build, made: Joint, low: Assembly, high: Assembly, peak: Any, strong: Joint
) -> Warm:
    """Hot, worked and cold-soaked joint at both ends; the high end with the strongest fasteners."""
    stack, hot = stack_of(build), hot_state(build)
    soak = heat.temperatures.si("cold soak", build.heat.cold_soak)
    differential_expansion = per_build(stack.differential_expansion(hot))
    return Warm(
        state=hot,
        differential_expansion=differential_expansion,
        low=heat.after_heat.si(made, low, differential_expansion),
        high=heat.after_heat.si(strong, high, differential_expansion, gas_pressure=peak),
        soak=heat.after_heat.si(
            made, low, differential_expansion, per_build(stack.differential_expansion(soak))
        ),
    )
