"""One fastener on the wrench: where the torque goes, what stress it makes, what friction does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.analysis.clamp import Clamp, asked, clamp_side, on_the_thread, on_the_wrench, yields_at
from sealkit.arrays import Array
from sealkit.build import Build, ShankPart, fields
from sealkit.build.rules import NEEDED_BY
from sealkit.errors import fail, near, quoted
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
    parts: Array  # of it: stretches the fastener, is lost in the thread, and under the head
    stretching: float  # share of the torque that stretches the fastener
    nut_factor: float  # torque over preload and diameter, as this fastener really has it
    turn: float  # angle of the nut from first touch to the middle preload, rad
    preloads: Array  # as tightened: low, middle, high, N; past its yield a fastener only hardens
    # tension, equivalent, stretches: stress of tension, and of tension with the twist of the
    # wrench, Pa, and elastic stretch as a gauge reads it, m, at those three
    tension: Array
    equivalent: Array
    stretches: Array
    # mean_friction, friction_range: of thread and head, and lowest and highest of the lubricant,
    # the present one inside
    mean_friction: float
    friction_range: tuple[float, float]
    # coefficients, mean of thread and head, with those of the range and the present one among them
    friction: Array
    # given, yielding: preload that the tightening gives at each, and at which the fastener yields
    # on the wrench, N; thread and head get more or less friction in proportion
    given: Array
    yielding: Array

    def short_form(self, nut_factor: float) -> float:
        """Preload that a nut factor would make of the same torque, N."""
        torque, diameter = float(self.split.total), self.clamp.thread.diameter
        return float(tightening.preload_short.si(torque, nut_factor, diameter))

    def long_form(self, torque: float, **friction: float) -> float:
        """Preload at a torque (N·m) as long as nothing yields, N.

        Its own friction, or another `thread_friction` and `head_friction`.
        """
        known = _sizes(self.build, self.clamp) | friction
        return float(torque / tightening.torque_split.si(1.0, **known).total)

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
    p, thread, known = clamp.preload, clamp.thread, _sizes(build, clamp)
    ends = np.array([p.assembly_low, p.assembly, p.assembly_high], dtype=float)
    middle, split = float(p.assembly), tightening.torque_split.si(ends, **known)
    twist, divisor = split.stretching + split.thread, build.fasteners.torsion_divisor
    stress = tightening.tightening_stress.si(ends, twist, clamp.weakest_area, divisor)
    one = tightening.torque_split.si(middle, **known)
    factor = tightening.nut_factor_from_test.si(float(one.total), middle, thread.diameter)
    own, row = (clamp.friction_thread, clamp.friction_head), lubricant_of(build)
    mean, low, high = (
        float(0.5 * (x + y))
        for x, y in (own, (row.thread_low, row.head_low), (row.thread_high, row.head_high))
    )
    span = min(low, mean), max(high, mean)
    shown = (np.linspace(*_SHOWN, 33), np.linspace(*span, 9), [mean])
    friction = np.sort(np.round(np.concatenate(shown), 12)).astype(np.float64)
    # their ratio stays as it is, so the curve passes through what the build is set to
    below, above = (friction * x / mean for x in own)
    at_yield = yields_at(clamp.strength, clamp.weakest_area, thread, below)
    given = np.asarray(asked(build, joint, thread, below, above, at_yield), dtype=float)
    held = on_the_wrench(
        build, joint, np.broadcast_to(given, friction.shape), at_yield, clamp.hardening
    )
    return Tightened(
        build,
        clamp,
        joint,
        row,
        one,
        parts=np.array([one.stretching, one.thread, one.head], dtype=float),
        stretching=float(one.stretching / one.total),
        nut_factor=float(factor),
        turn=float(2.0 * np.pi * joint.advance(middle) / thread.pitch),
        preloads=ends,
        tension=np.asarray(stress.tension, dtype=float),
        equivalent=np.asarray(stress.equivalent, dtype=float),
        stretches=ends / clamp.own_stiffness,
        mean_friction=mean,
        friction_range=span,
        friction=friction,
        given=np.asarray(held, dtype=float),
        yielding=np.asarray(at_yield, dtype=float),
    )


def _sizes(build: Build, clamp: Clamp) -> dict[str, Any]:
    """What the long form takes of a fastener, with its own friction."""
    return on_the_thread(build, clamp.thread, clamp.friction_thread, clamp.friction_head)


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
    torque, `snug_share`. Raises InputError for another method.
    """
    if method not in METHODS:
        raise fail("method", method, f"one of {quoted(METHODS)}{near(method, METHODS)}")
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
