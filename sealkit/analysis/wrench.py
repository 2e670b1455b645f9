"""One fastener on the wrench: where the torque goes, what stress it makes, what friction does."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.analysis.clamp import Clamp, asked, clamp_side, on_the_thread, on_the_wrench, yields_at
from sealkit.arrays import Array
from sealkit.build import Build, ShankPart, fields
from sealkit.build.rules import NEEDED_BY
from sealkit.fastening import threads, tightening
from sealkit.fastening.tightening import Friction, TorqueSplit
from sealkit.sealing.joint import Joint
from sealkit.units import from_si

METHODS = ("torque", "torque and angle", "stretch", "yield")
_SHOWN = (0.04, 0.36)  # friction, wide enough for every lubricant of the table
_SNUG = 1.0 / 3.0  # of the torque, where a snug torque has to be chosen


@dataclass(frozen=True)
class Tightened:
    """One fastener of a build while it is tightened. Plain SI."""

    # build, clamp, joint: the build and its fastening side
    build: Build
    clamp: Clamp
    joint: Joint
    lubricant: Friction  # its row of the friction table
    split: TorqueSplit  # where the torque goes at the middle preload, N·m
    preloads: Array  # as tightened: low, middle, high, N; past its yield a fastener only hardens
    # tension, equivalent: stress of tension, and of tension with the twist of the wrench, at those
    # three, Pa
    tension: Array
    equivalent: Array
    # coefficients, mean of thread and head, with those of the lubricant's range and the present one
    # among them
    friction: Array
    # given, yielding: preload that the tightening gives at each, and at which the fastener yields
    # on the wrench, N
    given: Array
    yielding: Array

    @property
    def mean_friction(self) -> float:
        """Mean of the friction in the thread and under the head."""
        return float(0.5 * (self.clamp.friction_thread + self.clamp.friction_head))

    @property
    def friction_range(self) -> tuple[float, float]:
        """Lowest and highest mean friction of the lubricant, the present one inside."""
        row, now = self.lubricant, self.mean_friction
        low = 0.5 * (row.thread_low + row.head_low)
        high = 0.5 * (row.thread_high + row.head_high)
        return float(min(low, now)), float(max(high, now))

    @property
    def parts(self) -> Array:
        """Torque that stretches the fastener, is lost in the thread, and under the head, N·m."""
        return np.array([self.split.stretching, self.split.thread, self.split.head], dtype=float)

    @property
    def stretching(self) -> float:
        """Share of the torque that stretches the fastener."""
        return float(self.split.stretching / self.split.total)

    @property
    def stretches(self) -> Array:
        """Elastic stretch at the three preloads, as a gauge reads it, m."""
        return self.preloads / self.clamp.own_stiffness

    @property
    def turn(self) -> float:
        """Angle of the nut from first touch to the middle preload, rad."""
        moved = self.joint.advance(float(self.preloads[1]))
        return float(2.0 * np.pi * moved / self.clamp.thread.pitch)

    @property
    def nut_factor(self) -> float:
        """Torque over preload and diameter: the nut factor this fastener really has."""
        return float(
            tightening.nut_factor_from_test.si(
                float(self.split.total), float(self.preloads[1]), self.clamp.thread.diameter
            )
        )

    def short_form(self, nut_factor: float) -> float:
        """Preload that a nut factor would make of the same torque, N."""
        torque, diameter = float(self.split.total), self.clamp.thread.diameter
        return float(tightening.preload_short.si(torque, nut_factor, diameter))

    def long_form(self, torque: float, **friction: float) -> float:
        """Preload at a torque (N·m) as long as nothing yields, N.

        Its own friction, or another `thread_friction` and `head_friction`.
        """
        known = _sizes(self.build, self.clamp) | friction
        return float(tightening.preload_long.si(torque, **known))

    def torque_for(self, **friction: float) -> float:
        """Torque for the middle preload, N·m; friction as of `long_form`."""
        known = _sizes(self.build, self.clamp) | friction
        return float(tightening.torque_split.si(float(self.preloads[1]), **known).total)


def lubricant_of(build: Build) -> Friction:
    """The row of the friction table for the lubricant on the sheet."""
    return tightening.friction.si(build.fasteners.lubricant)


def tightened(build: Build) -> Tightened:
    """One fastener of a build on the wrench.

    Raises InputError naming what cannot be worked out.
    """
    clamp, joint = clamp_side(build)
    p, known = clamp.preload, _sizes(build, clamp)
    ends = np.array([p.assembly_low, p.assembly, p.assembly_high], dtype=float)
    split = tightening.torque_split.si(ends, **known)
    stress = tightening.tightening_stress.si(
        ends, split.stretching + split.thread, clamp.weakest_area, build.fasteners.torsion_divisor
    )
    one = Tightened(
        build,
        clamp,
        joint,
        lubricant_of(build),
        tightening.torque_split.si(float(p.assembly), **known),
        ends,
        np.asarray(stress.tension, dtype=float),
        np.asarray(stress.equivalent, dtype=float),
        *(np.empty(0) for _ in range(3)),
    )
    shown = (np.linspace(*_SHOWN, 33), np.linspace(*one.friction_range, 9), [one.mean_friction])
    friction = np.sort(np.round(np.concatenate(shown), 12)).astype(np.float64)
    given, yielding = _over_friction(one, friction)
    return dataclasses.replace(one, friction=friction, given=given, yielding=yielding)


def _sizes(build: Build, clamp: Clamp) -> dict[str, Any]:
    """What the long form takes of a fastener, with its own friction."""
    return on_the_thread(build, clamp.thread, clamp.friction_thread, clamp.friction_head)


def _over_friction(one: Tightened, friction: Array) -> tuple[Array, Array]:
    """(preload given, preload at yield) where thread and head both get more or less friction.

    Their ratio stays as it is, so the curve passes through what the build is set to.
    """
    clamp = one.clamp
    thread, head = (
        friction * own / one.mean_friction for own in (clamp.friction_thread, clamp.friction_head)
    )
    at_yield = yields_at(clamp.strength, clamp.weakest_area, clamp.thread, thread)
    given = asked(one.build, one.joint, clamp.thread, thread, head, at_yield)
    elastic = np.broadcast_to(np.asarray(given, dtype=float), friction.shape)
    held = on_the_wrench(one.build, one.joint, elastic, at_yield, clamp.hardening)
    return np.asarray(held, dtype=float), np.asarray(at_yield, dtype=float)


def with_lubricant(build: Build, name: str) -> Build:
    """The same build with another lubricant, friction by the table."""
    if name == build.fasteners.lubricant:
        return build
    return build.vary(
        {
            "fasteners.lubricant": name,
            "fasteners.friction_thread": None,
            "fasteners.friction_bearing": None,
        }
    )


def with_method(build: Build, method: str) -> Build:
    """The same build tightened another way, `retightened` from a third of the torque."""
    return build if method == build.fasteners.tightening else retightened(build, method, _SNUG)


def retightened(build: Build, method: str, snug_share: float) -> Build:
    """The same build tightened in one of `METHODS` to the same middle preload.

    It states no scatter, so that the method's own holds. The angle counts after a share of the
    torque, `snug_share`.
    """
    clamp, joint = clamp_side(build)
    known = _sizes(build, clamp)
    target = float(clamp.preload.assembly) / build.fasteners.preload_factor
    snug = snug_share * target
    advance = joint.advance(target) - joint.advance(snug)
    set_to: dict[str, dict[str, Any]] = {
        "torque": {"torque": tightening.torque_split.si(target, **known).total},
        "torque and angle": {
            "torque": tightening.torque_split.si(snug, **known).total,
            "angle": 2.0 * np.pi * advance / clamp.thread.pitch,
        },
        "stretch": {"stretch": target / clamp.own_stiffness},
        "yield": {},
    }
    none = dict.fromkeys(("torque", "angle", "stretch", "preload_scatter"))
    new = {"tightening": method, **none, **set_to[method]}
    return build.vary_si(
        {f"fasteners.{k}": float(v) if k in set_to[method] else v for k, v in new.items()}
    )


def set_by(build: Build) -> tuple[str, str, float] | None:
    """What the fasteners are tightened by: (field of the sheet, its kind, plain SI value).

    None for a fastener that is tightened to yield: there is nothing to set.
    """
    *_, field = ("", *NEEDED_BY[build.fasteners.tightening])
    if not field:
        return None
    path = f"fasteners.{field}"
    return path, dict(fields())[path].kind, float(getattr(build.fasteners, field) or 0.0)


def tighter(build: Build) -> Build:
    """The same build with a tenth more torque, angle or stretch; one tightened to yield stays."""
    found = set_by(build)
    if found is None:
        return build
    field, kind, value = found
    return build.vary({field: from_si(1.1 * value, kind)})


def with_shank(build: Build, width: float, length: float) -> Build:
    """The same build with a shank this wide over its thread and long over its clamped length."""
    f = build.fasteners
    diameter = width * threads.thread.si(f.thread).diameter
    part = ShankPart(diameter=diameter, length=length * (f.grip_head + f.grip_block))
    return build.vary_si({"fasteners.shank": (part,)})
