"""From the sheet and its design pressure to the case that is judged."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.analysis.carried import Carried
from sealkit.analysis.clamp import Clamp, clamp_side, on_the_thread
from sealkit.analysis.margins import Case, Limit, Origin, Under
from sealkit.analysis.warm import COLD_SOAK, FULL_LOAD, Warm, across_head, warm_side
from sealkit.arrays import per_build
from sealkit.build import Build
from sealkit.errors import fail
from sealkit.fastening import stiffness, tightening
from sealkit.sealing import liquids
from sealkit.sealing.joint import Joint
from sealkit.words import Note, note

_SHEAR_OF_TENSILE = 0.6


def wet_rows(
    build: Build, made: Joint, warm: Warm
) -> tuple[tuple[Limit, ...], Callable[[Under], tuple[Limit, ...]]]:
    """Coolant and oil at a wet deck: without gas, and while gas lifts the head.

    In every state in which they are looked at.
    """
    if build.liquids.deck == "dry":
        return (), lambda under: ()
    own, facing = build.liquids.coolant_pressure, build.liquids.facing
    pressures = None if own is None else {"coolant in the head": own}
    first, *others = warm.still.slack
    cycle = dataclasses.replace(warm.low, worked=first)
    trust = {z.name: z.status for z in made.gasket.zones}

    def trusted(rows: Iterable[Limit]) -> tuple[Limit, ...]:
        each = ((r, tables.weakest(r.status, trust.get(r.part, r.status))) for r in rows)
        return tuple(r if s == r.status else dataclasses.replace(r, status=s) for r, s in each)

    def lifted(under: Under) -> tuple[Limit, ...]:
        return trusted(liquids.wet_deck_lifted(made, cycle, under, facing, pressures, others))

    soaked = warm.still.stands(COLD_SOAK)
    at_rest = liquids.wet_deck(made, cycle, soaked, facing, pressures, others)
    return trusted(at_rest), lifted


def case_of(build: Build, clamp: Clamp, made: Joint, warm: Warm) -> Case:
    """What the limits are worked out from."""
    at_rest, lifted = wet_rows(build, made, warm)
    f, thread, strength = build.fasteners, clamp.thread, clamp.strength
    tightest = per_build(clamp.asked_high)
    sizes = on_the_thread(build, thread, clamp.friction_thread, clamp.friction_head)
    split = tightening.torque_split.si(tightest, **sizes)
    twist = split.stretching + split.thread
    stress = tightening.tightening_stress.si(tightest, twist, clamp.weakest_area, f.torsion_divisor)
    strip, strip_source = strip_load(build, clamp)
    bearing, bearing_source = _bearing(build)
    stretch = tables.load("strain_limits")["permanent stretch while tightening"]
    return Case(
        clamp=clamp,
        joint=made,
        first=clamp.before_creep,
        low=warm.low.cold,
        high=clamp.high,
        heated=warm.heated,
        rolled=f.threads_rolled,
        tightening_stress=per_build(stress.equivalent),
        permanent_stretch=clamp.permanent_stretch + per_build(warm.weak_stretch),
        stretched_when=warm.stretched_when,
        stretch_limit=float(stretch["share"]) * clamp.yielding_length,
        strip_load=strip,
        bearing_area=float(np.pi / 4 * (build.contact_diameter**2 - f.hole_diameter**2)),
        bearing_limit=bearing,
        under="washers" if f.washer_diameter else "nuts" if f.kind == "stud" else "bolt heads",
        others=at_rest,
        lifted=lifted,
        sources={
            "strength": (strength.source, strength.status, strength.note),
            "stretch": (stretch["source"], stretch["status"], stretch["note"]),
            "strip": strip_source,
            "bearing": bearing_source,
        },
    )


_FEW = 64  # builds, as a band has


def judged(build: Build, peak: Any, carried: Carried | None = None) -> tuple[Case, Warm]:
    """From the sheet and its sizing pressure over the air outside (Pa) to the case.

    Returns it and its warm states. At the weakest place of the map of the deck, where `carried`
    says what that makes of it.
    """
    if carried is not None:  # what another bow does, the map tells
        case, warm = judged(build.vary_si({"head.gradient": carried.across}), peak)
        there = carried.to(across_head(build, FULL_LOAD))
        return dataclasses.replace(case, carried=there), warm
    clamp, made = clamp_side(build)
    # strength is judged before anything has settled, with the strongest fasteners of the grade
    warm = warm_side(build, made, clamp, peak)
    # as long as nothing yields it is the same at any pressure
    liquids, case = clamp.warmed.get("judged", (None, None))
    yields = np.any(warm.weak_stretch)
    if yields or case is None or case.heated is not warm.heated or liquids != build.liquids:
        case = case_of(build, clamp, made, warm)
        # the two then hold each other, and many builds would stay until garbage is collected
        if not yields and np.size(clamp.low.preload) <= _FEW:
            clamp.warmed["judged"] = build.liquids, case
    return case, warm


def strip_load(build: Build, clamp: Clamp) -> tuple[Any, Origin]:
    """Tension at which the engaged thread strips (N), and where the shear strength comes from."""
    thread, (shear, source) = clamp.thread, _shear_strength(build)
    sizes = (build.fasteners.engagement, thread.diameter, thread.pitch, thread.stress_area)
    return stiffness.stripping.si(*sizes, clamp.strength.tensile, shear).load, source


def _shear_strength(build: Build) -> tuple[float, Origin]:
    """Shear strength of the tapped material, and where it comes from."""
    name = build.block.material
    part = used = tables.load("materials")[name]
    told: Note | str = (profile := "for a thread of nominal size")
    if part["shear_strength"] is None and part["tensile"] is None:
        if not part["strength_like"]:
            raise fail("block.material", name, "a material whose strength the table holds")
        used = tables.load("materials")[part["strength_like"]]
        told = f"value of {used['material']} taken for {name}; {profile}"
    if used["shear_strength"] is not None:
        strength, status = float(used["shear_strength"]), "from memory"
        if used is part:
            status = part["status"]
            if part["note"]:
                told = note("{told}; {profile}", told=part["note"], profile=profile)
        return strength, (used["strength_source"] or used["source"], status, told)
    tensile = float(used["tensile"])
    source = Note(f"{_SHEAR_OF_TENSILE:g} of the tensile strength {{{tensile / 1e6:.0f} MPa}}")
    return _SHEAR_OF_TENSILE * tensile, (source, "from memory", told)


def _bearing(build: Build) -> tuple[float, Origin]:
    """Pressure the head's material stands under a bolt head or nut, and where it comes from."""
    table = tables.load("bearing_limits")
    name = build.head.material
    key = name if name in table else tables.load("materials")[name]["bearing_like"]
    if not key:
        raise fail("head.material", name, "a material whose bearing limit the table holds")
    row = table[key]
    note = row["note"] if name in table else f"value of {row['material']} taken for {name}"
    return float(row["low"]), (row["source"], row["status"], note)
