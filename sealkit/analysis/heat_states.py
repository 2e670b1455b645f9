"""The joint of a build in every state from the wrench through heat and cold to the retorque.

With the low end of the preload. In each state the combustion seal is judged at peak pressure, and
coolant and oil where the deck is wet.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

from sealkit.analysis.case import judged
from sealkit.analysis.clamp import Clamp, clamp_side
from sealkit.analysis.gas import gas_side
from sealkit.analysis.margins import Case, Limit, limits, weakest
from sealkit.analysis.warm import COLD_SOAK, Warm, hot_state, kept_still, stack_of
from sealkit.build import Build
from sealkit.sealing import heat, liquids
from sealkit.sealing.joint import Assembly, Joint
from sealkit.sealing.limit import Condition, Moment, of_zone, one_after_the_other

STATES = ("as tightened", "settled", "hot", "cold again", "cold soak", "retorqued cold")
JUDGED = ("combustion seal", "coolant", "oil")


@dataclass(frozen=True)
class Stand:
    """The joint in one state."""

    name: str  # one of `STATES`
    assembly: Assembly  # how the joint stands
    # what is judged here, by name (`JUDGED`); the engine rests in the cold soak, so there is no gas
    # to hold
    limits: dict[str, Limit]

    @property
    def preload(self) -> float:
        """Of one fastener [N]."""
        return float(self.assembly.preload[0])


@dataclass(frozen=True)
class HeatStates:
    """A joint from the wrench through heat and cold to the retorque (plain SI).

    `peak` is the pressure it is judged at, over the air outside.
    """

    build: Build
    clamp: Clamp
    joint: Joint
    peak: float
    stands: tuple[Stand, ...]

    @functools.cached_property
    def found(self) -> tuple[Case, Warm]:
        """What it is judged by, the high end of the preload with it; worked out when asked for."""
        return judged(self.build, self.peak)

    @property
    def warm(self) -> Warm:
        """The joint in its warm states."""
        return self.found[1]

    @functools.cached_property
    def weakest(self) -> Limit:
        """The limit with the least margin, of all states of the engine."""
        return weakest(limits(self.found[0], self.peak))

    @property
    def dry(self) -> bool:
        """Whether no liquid passes the gasket."""
        return self.build.liquids.deck == "dry"

    def at(self, name: str) -> Stand:
        """One state by its name."""
        return next(s for s in self.stands if s.name == name)

    def preload(self, name: str) -> float:
        """Of one fastener in a state [N]."""
        return self.at(name).preload

    def least(self, name: str) -> tuple[Stand, Limit] | None:
        """The state after settling in which one of `JUDGED` has its least margin, and the limit."""
        rows = [(s, s.limits[name]) for s in self.stands[1:] if name in s.limits]
        return min(rows, key=lambda r: float(r[1].margin)) if rows else None

    @property
    def hot_coolant(self) -> tuple[Limit, float] | None:
        """The limit of the hot coolant, and what its pressure alone wants; None on a dry deck."""
        limit, own = self.at("hot").limits.get("coolant"), self.build.liquids
        if limit is None:
            return None
        of = (liquids.HOT_CIRCUITS[0], own.facing, own.coolant_pressure)
        return limit, liquids.pressure_wants(self.joint, limit.part, *of)

    @property
    def rigid_gain(self) -> float:
        """What heat would add to one fastener if nothing but the fastener gave way [N]."""
        return self.joint.bolt_stiffness * float(self.warm.differential_expansion)

    def retorqued_hot(self) -> tuple[float, float]:
        """Preload of a fastener slackened and tightened again hot: then, and once cold [N]."""
        again = heat.retorque(self.joint, self.warm.low.worked)
        cold = -float(self.warm.still.at_low[self.warm.state.name])
        cooled = heat.after_heat.si(self.joint, again, 0.0, cold, bow=again.bow)
        return float(again.preload[0]), float(cooled.cold.preload[0])


@functools.lru_cache(maxsize=16)
def heat_states(build: Build) -> HeatStates:
    """The joint of a build in every state, with the low end of the preload.

    Raises InputError naming what cannot be worked out, as the report does.
    """
    peak = float(gas_side(build).design_gauge)
    clamp, joint = clamp_side(build)
    still = kept_still(build, joint, clamp)
    assemblies = (
        joint.assemble(clamp.preload.assembly_low),
        still.first.before,
        still.stands(build.heat.hot_state),
        still.first.cold,
        still.stands(COLD_SOAK),
        heat.retorque(joint, still.first.cold),
    )
    stands = tuple(
        Stand(name, assembly, _limits(build, joint, name, assembly, peak))
        for name, assembly in zip(STATES, assemblies, strict=True)
    )
    return HeatStates(build, clamp, joint, peak, stands)


def _limits(
    build: Build, joint: Joint, name: str, assembly: Assembly, peak: float
) -> dict[str, Limit]:
    soaked, hot = name == "cold soak", name == "hot"
    found: dict[str, Limit] = {}
    seals = [] if soaked else [z for z in joint.gasket.seals if z.factor > 0]
    if seals:
        loads, state = joint.under_gas(assembly, peak).zone_loads, Condition(moment=Moment.PEAK)
        found["combustion seal"] = one_after_the_other(
            [
                of_zone("residual", z, float(z.required(peak)), float(loads[z.name]), state)
                for z in seals
            ]
        )
    if build.liquids.deck == "wet":
        circuits = liquids.HOT_CIRCUITS if hot else liquids.COLD_CIRCUITS
        for circuit in liquids.SOAK_CIRCUITS if soaked else circuits:
            liquid = str(liquids.circuit.si(circuit).liquid)
            own = build.liquids.coolant_pressure if hot and liquid == "coolant" else None
            state, gas = Condition(detail=name), 0.0 if soaked else peak
            rows = liquids.liquid_criteria.si(
                joint, assembly, circuit, state, build.liquids.facing, own, gas
            )
            found[liquid] = weakest(tuple(r for r in rows if r.of != "seating"))
    return found


def grown_parts(build: Build) -> dict[str, float]:
    """How far "head", "block", "gasket" and "fastener" grow from workshop to hot state [m].

    Each by itself: expansion x length x rise of temperature.
    """
    stack, state = stack_of(build), hot_state(build)
    parts = {
        "head": (stack.head_length, stack.head_expansion, state.head),
        "block": (stack.block_length, stack.block_expansion, state.block),
        "gasket": (stack.gasket_thickness, stack.gasket_expansion, state.gasket),
        "fastener": (stack.bolt_length, stack.bolt_expansion, state.fastener),
    }
    return {
        name: float(expansion * length * (hot - heat.ASSEMBLED_AT))
        for name, (length, expansion, hot) in parts.items()
    }
