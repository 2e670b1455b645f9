"""A wire ring of given sizes on one engine: by itself, and in the joint under gas."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from sealkit import tables
from sealkit.analysis.clamp import clamp_side, zone_creep
from sealkit.analysis.gas import gas_side
from sealkit.analysis.gasket import mating, ring_faces
from sealkit.build import Build
from sealkit.sealing import constructions, grooves
from sealkit.sealing.constructions import CopperWireRing
from sealkit.sealing.grooves import WireRing
from sealkit.units import Q

_POINTS = 41


@dataclass(frozen=True)
class RingInJoint:
    """A wire ring on one engine (plain SI)."""

    build: Build  # the sheet, with a copper gasket and wire ring
    design_peak: float  # pressure the joint is sized on [Pa]
    force: float  # clamp of the fasteners of one bore while tightening, low end [N]
    ring: WireRing  # judged by `sealkit.sealing.grooves.wire_ring`
    curve: WireRing  # the same ring at every groove depth, arrays over protrusion
    clamp: float  # that force per length of wire [N/m]
    lift: float  # how far the head lifts at the wire at peak pressure [m]
    springback: float  # how far wire, copper and faces spring back [m]
    # left, wanted: load left on the wire at peak pressure, and wanted [N/m]
    left: float
    wanted: float
    kept: bool  # whether the copper stands deeper in the receiver than the head lifts
    holds: bool  # whether the load left is what the wire wants


def usual_sizes(build: Build) -> dict[str, float]:
    """Sizes of the ring that the table of constructions has, in the copper of a build [m]."""
    c, copper = CopperWireRing.from_table(), build.gasket.compressed_thickness
    usual = ("wire_diameter", "groove_depth", "receiver_width", "receiver_depth")
    return {name: getattr(c, name) for name in usual} | {"sheet_thickness": copper}


def ring_at(
    build: Build,
    wire_diameter: float,
    groove_depth: float,
    receiver_width: float,
    receiver_depth: float,
    sheet_thickness: float,
    temper: str = "annealed",
) -> RingInJoint:
    """A ring of these sizes on one engine.

    Raises InputError for sizes of which no ring can be made.

    Parameters
    ----------
    wire_diameter, groove_depth : of the wire, and of the groove that holds it by interference [m]
    receiver_width, receiver_depth : of the groove in the other face [m]; 0 for none
    temper : of the copper: "annealed", "half hard" or "hard"
    """
    build = build.vary_si({"gasket.compressed_thickness": sheet_thickness})
    gas, (clamp, joint) = gas_side(build), clamp_side(build)
    preload = clamp.preload
    diameter = joint.seal_diameter
    force = joint.bolts * float(preload.assembly_low)
    held_by = zip(("wire_material", "receiver_material"), ring_faces(build), strict=True)
    faces = {name: getattr(build, part).material for name, part in held_by}
    proud = np.linspace(0.002, 0.499, _POINTS) * wire_diameter
    every: WireRing = grooves.wire_ring.si(
        wire_diameter,
        float(grooves.interference_width.si(wire_diameter)),
        np.append(groove_depth, wire_diameter - proud),
        copper_thickness=sheet_thickness,
        ring_diameter=diameter,
        receiver_width=receiver_width,
        receiver_depth=receiver_depth,
        clamp=force,
        temper=temper,
        **{k: m for k, m in faces.items() if m in tables.load("face_hardness")},
    )
    one = every.of(0)
    made = constructions.make(
        CopperWireRing.name,
        **mating(build),
        temper=f"copper, {temper}",
        wire_diameter=Q(wire_diameter, "m"),
        protrusion=Q(min(float(one.protrusion), 0.5 * wire_diameter), "m"),
        receiver_width=Q(receiver_width, "m"),
        receiver_depth=Q(receiver_depth, "m"),
    )
    g = build.gasket
    sized = made.sized(np.pi * g.seal_diameter, g.body_area, g.liquid_length)
    ringed = dataclasses.replace(joint, gasket=sized)
    before = ringed.assemble(preload.assembly_low, float(clamp.before_creep.preload[0]))
    standing = ringed.relaxed(before, zone_creep(build, sized))
    peak = gas.design_gauge
    under = ringed.under_gas(standing, peak)
    seal = sized.seals[0]
    lift, wanted = max(float(under.seal_lift), 0.0), float(seal.required(peak))
    left = float(under.zone_loads[seal.name])
    return RingInJoint(
        build=build,
        design_peak=float(gas.design_peak),
        force=force,
        ring=one,
        curve=every.of(slice(1, None)),
        clamp=float(force / (np.pi * diameter)),
        lift=lift,
        springback=float(ringed.springback(standing, seal)[0]),
        left=left,
        wanted=wanted,
        kept=float(one.lift_to_leave) > lift,
        holds=left >= wanted,
    )
