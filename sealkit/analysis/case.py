"""From the sheet and its design pressure to the case that is judged."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.analysis import margins
from sealkit.analysis.clamp import Clamp, clamp_side, kept
from sealkit.analysis.gasket import gasket_of
from sealkit.analysis.margins import Case, Limit
from sealkit.analysis.warm import Warm, warm_side
from sealkit.arrays import per_build
from sealkit.build import Build
from sealkit.errors import fail
from sealkit.fastening import stiffness, tightening
from sealkit.sealing import liquids
from sealkit.sealing.joint import Assembly, Joint

_SHEAR_OF_TENSILE = 0.6


Origin = tuple[str, str, str]


def wet_rows(build: Build, made: Joint, warm: Warm, peak: Any) -> tuple[Limit, ...]:
    """Coolant and oil at a wet deck; of each kind the row with the least margin."""
    if build.liquids.deck == "dry":
        return ()
    rows = liquids.wet_deck.si(
        made, warm.low, warm.soak.cold, build.liquids.facing, gas_pressure=peak
    )
    if build.liquids.coolant_pressure is not None:
        rows = tuple(r for r in rows if "coolant in the head" not in r.key)
        rows += liquids.liquid_criteria.si(
            made,
            warm.low.worked,
            "coolant in the head",
            "hot",
            build.liquids.facing,
            build.liquids.coolant_pressure,
            peak,
        )
    named = []
    for row in rows:
        trust = [z.status for z in made.gasket.zones if z.name == row.part]
        named.append(
            dataclasses.replace(
                row, key=_liquid_key(row.key), status=tables.weakest(row.status, *trust)
            )
        )
    return margins.worse(named)


def _liquid_key(key: str) -> str:
    for word in ("seating", "oil", "coolant"):
        if word in key:
            return f"liquid/{word}"
    return key


def case_of(
    build: Build,
    clamp: Clamp,
    made: Joint,
    low: Assembly,
    high: Assembly,
    warm: Warm,
    peak: Any,
) -> Case:
    """What the limits are worked out from."""
    f, thread, strength = build.fasteners, clamp.thread, clamp.strength
    purpose = clamp.yields_on_purpose
    tightest = per_build(np.where(purpose, high.assembly_preload, clamp.asked_high))
    arms = (thread.diameter, thread.pitch, clamp.friction_thread, clamp.friction_head)
    split = tightening.torque_split.si(
        tightest, *arms, thread.pitch_diameter, f.bearing_diameter, f.hole_diameter
    )
    twist = split.stretching + split.thread
    stress = tightening.tightening_stress.si(tightest, twist, clamp.weakest_area, "plastic")
    shear, strip_source = _shear_strength(build)
    strip = stiffness.stripping.si(
        f.engagement, thread.diameter, thread.pitch, thread.stress_area, strength.tensile, shear
    )
    bearing, bearing_source = _bearing(build)
    stretch = tables.load("strain_limits")["permanent stretch while tightening"]
    return Case(
        joint=made,
        first=low,
        low=warm.low.cold,
        high=high,
        low_hot=warm.low.worked,
        high_hot=warm.high.hot,
        yields_on_purpose=purpose,
        proof=float(strength.proof),
        yield_strength=float(strength.yield_strength),
        section=clamp.weakest_section,
        area=clamp.weakest_area,
        tightening_stress=per_build(stress.equivalent),
        permanent_stretch=clamp.permanent_stretch + per_build(warm.high.plastic_stretch),
        stretch_limit=float(stretch["share"]) * clamp.free_length,
        strip_load=float(strip.load),
        bearing_area=float(np.pi / 4 * (f.bearing_diameter**2 - f.hole_diameter**2)),
        bearing_limit=bearing,
        under="nuts" if f.kind == "stud" else "bolt heads",
        edge=made.gasket.edge,
        others=wet_rows(build, made, warm, peak),
        sources={
            "strength": (strength.source, strength.status, strength.note),
            "stretch": (stretch["source"], stretch["status"], stretch["note"]),
            "strip": strip_source,
            "bearing": bearing_source,
        },
    )


@dataclass(frozen=True)
class Judged:
    """The clamp side of a build and the case that is judged."""

    clamp: Clamp
    joint: Joint
    low: Assembly
    high: Assembly
    warm: Warm
    case: Case


def judged(build: Build, peak: Any) -> Judged:
    """From the sheet and its sizing pressure over the air outside (Pa) to the case."""
    clamp, made = clamp_side(build, gasket_of(build))
    p = clamp.preload
    low = made.assemble(p.assembly_low, kept(p.low, p.assembly_low))
    # strength is judged before anything has settled; no fastener keeps more than it yields at
    high = made.assemble(np.minimum(p.assembly_high, clamp.yield_preload))
    warm = warm_side(build, made, low, high, peak)
    case = case_of(build, clamp, made, low, high, warm, peak)
    return Judged(clamp, made, low, high, warm, case)


def _shear_strength(build: Build) -> tuple[float, Origin]:
    """Shear strength of the tapped material, and where it comes from."""
    name = build.block.material
    part = tables.load("materials")[name]
    profile = "for a thread of nominal size; the loosest one allowed strips at 10 to 15 % less"
    if part["shear_strength"] is not None:
        note = f"{part['note']}; {profile}" if part["note"] else profile
        return float(part["shear_strength"]), (part["source"], part["status"], note)
    used, note = part, profile
    if part["tensile"] is None:
        if not part["strength_like"]:
            raise fail("block.material", name, "a material whose strength the table holds")
        used = tables.load("materials")[part["strength_like"]]
        note = f"value of {used['material']} taken for {name}; {profile}"
        if used["shear_strength"] is not None:
            return float(used["shear_strength"]), (used["source"], "from memory", note)
    return (
        _SHEAR_OF_TENSILE * float(used["tensile"]),
        (
            f"{_SHEAR_OF_TENSILE:g} of the tensile strength {used['tensile'] / 1e6:.0f} MPa",
            "from memory",
            note,
        ),
    )


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
