"""The joint of one bore as springs: its diagram over the gas load, and one crank angle on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sealkit.arrays import Array
from sealkit.fastening import stiffness
from sealkit.report.result import Report
from sealkit.report.seal import shown_seal, springback


@dataclass(frozen=True)
class JointAt:
    """The joint of one bore at one gas load: gas load, clamp (N), tension of one fastener (N), lift
    of the head at the seal (m)."""

    gas: float
    tension: float
    clamp: float
    lift: float


@dataclass(frozen=True)
class Springs:
    """Stiffness of one fastener, of its members, of its part of the gasket (N/m); joint constant.

    `upper` is the fastener with the members above the load plane, `lower` the members below it.
    The gasket is taken as it comes back from the clamp; `parting` is the gas load of one bore (N)
    at which springs that stay straight would part.
    """

    fastener: float
    members: float
    upper: float
    lower: float
    gasket: float
    constant: float
    parting: float


@dataclass(frozen=True)
class JointDiagram:
    """The joint of a report over the gas load, and at one crank angle."""

    report: Report  # its `sealing` joint is the one shown (low preload, cold or hot)
    angle: float  # crank angle, rad
    bolts: float  # fasteners that count for one bore
    # rest, now, peak: without gas, at that angle, at the peak of the cycle of the design peak
    rest: JointAt
    now: JointAt
    peak: JointAt
    # tensions, stretches, clamps: of one fastener as the gas load rises from nothing (N, m, N)
    tensions: Array
    stretches: Array
    clamps: Array
    separation: float  # gas load of one bore at which the last clamp is gone, N
    springback: float  # how far the seal springs back, m
    # left, wanted: on the seal at that angle, and to hold the gas there [`kind`]; 0 where none is
    left: float
    wanted: float
    kind: str
    passes: bool  # whether gas passes the seal at that angle

    @property
    def springs(self) -> Springs:
        """The joint as three springs; of a gasket without load there are none."""
        joint = self.report.joint
        gasket = float(joint.gasket_stiffness(self.report.sealing)[0]) / joint.bolts
        upper, lower = joint.upper_stiffness, joint.lower_stiffness
        stack = float(stiffness.series.si([lower, gasket]))
        constant = float(stiffness.joint_constant.si(upper, stack))
        parting = float(stiffness.separation_load.si(self.rest.tension, constant))
        kb, km = joint.bolt_stiffness, joint.member_stiffness
        return Springs(kb, km, upper, lower, gasket, constant, self.bolts * parting)

    def forces(self, state: JointAt) -> tuple[float, float, float]:
        """Tension of the fasteners of one bore, clamp and gas load there, N."""
        return self.bolts * state.tension, state.clamp, state.gas

    def taken(self, state: JointAt) -> float:
        """What the fasteners of one bore take of the gas load, N."""
        return self.bolts * (state.tension - self.rest.tension)

    def share(self, state: JointAt) -> float:
        """The same as a share of the gas load; 0 without gas."""
        return self.taken(state) / state.gas if state.gas > 1.0 else 0.0

    def stretch(self, state: JointAt) -> float:
        """Stretch of a fastener there, m."""
        return float(np.interp(state.tension, self.tensions, self.stretches))


def joint_diagram(report: Report, angle: float) -> JointDiagram:
    """The joint of one bore over the gas load, and at one crank angle (rad)."""
    joint, gas, over = report.joint, report.gas, report.over_angle
    place = int(np.argmin(np.abs(np.asarray(gas.cycle.crank_angle) - angle)))
    top = int(np.argmax(gas.sizing))

    def at(i: int) -> JointAt:
        each = (over.gas_force, over.bolt_force, over.clamp, over.seal_lift)
        return JointAt(*(float(values[i]) for values in each))

    separation = float(joint.separation(report.sealing)[0])
    most = 1.08 * max(separation, float(gas.sizing[top]))
    most = min(most, joint.bolts * joint.yield_force / joint.gas_area)
    # each pressure as a history of its own
    state = joint.under_gas(report.sealing, np.linspace(0.0, most, 41).reshape(-1, 1))
    tensions, clamps = np.asarray(state.bolt_force)[:, 0], np.asarray(state.clamp)[:, 0]
    found, seal = springback(report), shown_seal(report)
    wanted = float(seal.required(gas.sizing[place])) if seal.factor > 0 else 0.0
    left = float(over.zone_loads[seal.name][place])
    return JointDiagram(
        report,
        angle,
        float(joint.bolts),
        JointAt(0.0, float(tensions[0]), float(clamps[0]), 0.0),
        at(place),
        at(top),
        tensions,
        tensions / joint.bolt_stiffness + state.plastic_stretch,
        clamps / joint.bolts,
        separation * joint.gas_area,
        max(at(top).lift, 0.0) if found is None else found,
        left,
        wanted,
        seal.load_kind,
        left < wanted,
    )
