"""What is worth knowing about a build beside its limits; the words stand in ``notes.toml``."""

from __future__ import annotations

import math
from typing import Any

from sealkit import tables
from sealkit.analysis import CLAMP_RULE, Clamp, Gas, trade_count, whole_gasket
from sealkit.analysis.margins import Case
from sealkit.build import Build
from sealkit.build.rules import NEEDED_BY
from sealkit.pressure import fuels
from sealkit.resources import beside
from sealkit.words import Note, note

_WORDS: dict[str, str] = beside(__file__)
# by how much gasket and sheet may differ in thickness unnoticed (no source)
_AS_THICK = 0.1
# row of the table engagement for the family of the block's material
_ENGAGEMENT = {"iron": "grey iron", "aluminium": "cast aluminium"}


def _note(key: str, /, **values: Any) -> Note:
    return note(_WORDS[key], **values)


def to_check(build: Build) -> list[Note]:
    """What on a sheet is at odds with itself, or not used."""
    out: list[Note] = []
    f, area = build.fasteners, build.gasket.body_area
    # what lies between the seal and the square round the fasteners of one bore
    most = f.bolt_circle**2 - 0.25 * math.pi * build.gasket.seal_diameter**2
    if area > most:
        out.append(_note("body_area", area=(area, "area", 1), most=(most, "area", 1)))
    if f.grip_head < 0.8 * build.head.thickness:
        out.append(_note("grip_head"))
    for key, of in (("torque", "torque"), ("angle", "angle"), ("stretch", "stretch")):
        value = getattr(f, key)
        if value is not None and key not in NEEDED_BY[f.tightening]:
            out.append(_note("not_used", key=key, value=(value, of), by=f.tightening))
    return out


def notes_on(build: Build, gas: Gas, clamp: Clamp, case: Case, peak: float) -> tuple[Note, ...]:
    """What is worth knowing about a build, from its gas side, clamp side and case."""
    out: list[Note] = []
    f, (least, most) = build.fasteners, CLAMP_RULE
    ratio = trade_count(build, clamp, peak * case.joint.gas_area)
    if ratio < least:
        told = {"ratio": f"{ratio:.1f}", "low": f"{least:g}", "high": f"{most:g}"}
        out.append(_note("trade_count", around=str(f.around_bore), **told))
    out += wrench_notes(clamp)
    if f.thread not in tables.load("threads"):
        out.append(_note("thread", thread=f.thread))
    wet = build.liquids.deck == "wet" and build.gasket.liquid_length == 0
    if wet and any(z.role == "liquid" for z in whole_gasket(build).zones):
        out.append(_note("liquid_length"))
    if build.liquids.deck == "dry" and build.heat.coolant_temperature is None:
        out.append(_note("air_cooled"))
    made = case.joint.clamped_thickness(case.low)
    thick = build.gasket.compressed_thickness
    if made is not None and abs(made - thick) > _AS_THICK * thick:
        out.append(_note("thickness", thick=(thick, "length"), made=(made, "length")))
    out += to_check(build)
    if f.engagement > 3.0 * clamp.thread.diameter:
        out.append(_note("long_thread"))
    if gas.leanest > gas.charge.mixture.equivalence_ratio:
        out.append(too_lean(gas))
    if gas.ca50 > build.burn.ca50:
        out.append(held_back(build, gas))
    if gas.knock_integral >= 1.0 or (gas.knock_missing != 0.0 and (gas.rare_knock or 0.0) >= 1.0):
        out.append(knocks(build, gas))
    if gas.mean_peak > float(gas.bound.peak_pressure):
        out.append(_note("early_burn"))
    elif gas.rare_peak > float(gas.bound.peak_pressure):
        out.append(_note("wide_spread"))
    if build.charge.filling > 1.05:
        out.append(_note("tuned_inlet"))
    asked, held = build.charge.evaporated_share, gas.charge.mixture.evaporated_share
    if float(held) < asked - 1e-6:
        cold = (gas.charge.temperature, "temperature")
        shares = {"asked": (asked, "fraction"), "held": (held, "fraction")}
        out.append(_note("saturated", cold=cold, **shares))
    if build.charge.boost > 0:
        out.append(driven(gas))
    if float(clamp.preload.low) <= 0:
        out.append(_note("eaten_up"))
    materials = tables.load("materials")
    if materials[build.head.material]["poisson"] is None:
        out.append(_note("poisson", head=build.head.material))
    rule = _ENGAGEMENT.get(materials[build.block.material]["family"])
    if rule is not None:
        need = tables.load("engagement")[rule]["low"] * clamp.thread.diameter
        if f.engagement < need:
            both = {"has": (f.engagement, "length"), "need": (need, "length")}
            out.append(_note("engagement", rule=rule, **both))
    return tuple(out)


def wrench_notes(clamp: Clamp) -> list[Note]:
    """What this tightening does to the weakest fastener: it yields, is stretched, breaks."""
    told = {
        "breaks": clamp.breaks,
        "capped": clamp.capped and not (clamp.yields_on_purpose or clamp.breaks),
        "past_yield": clamp.permanent_stretch > 0,
    }
    return [_note(key) for key, so in told.items() if so]


def knocks(build: Build, gas: Gas) -> Note:
    """That knock is expected, what it may add to the peak, and how far that is in the loads."""
    mean, added, w = gas.knock_integral, build.burn.knock_amplitude, _WORDS
    which = f"Knock integral {mean:.2f}"
    if mean < 1.0:
        which += w["rare_knock"].format(rare=f"{gas.rare_knock:.2f}")
    rise = (gas.knock_rise or 0.0, "pressure")
    sheet = _note("amplitude", added=(added, "pressure")) if added > 0 else _note("no_amplitude")
    return _note(
        "knocks",
        which=which,
        burnt="" if gas.knock_rise is None else _note("burnt_at_once", rise=rise),
        sheet=note("{it}{more}", it=sheet, more=w["rest_in_bands"] * bool(gas.knock_missing)),
        judged="" if gas.knock_judged else w["not_judged"],
        law=gas.knock_law,
    )


def too_lean(gas: Gas) -> Note:
    """That a mixture is leaner than its vapour burns in air, cold or even as hot as it is."""
    mixture, hot = gas.charge.mixture, gas.before_burn
    limit = fuels.lean_limit.si(mixture, hot)
    ratios = {"own": mixture.equivalence_ratio, "cold": gas.leanest, "warm": limit}
    told = {name: f"{1.0 / float(x):.2g}" for name, x in ratios.items()}
    end = "would_misfire" if mixture.equivalence_ratio < limit else "misfires_sooner"
    return _note("too_lean", hot=(hot, "temperature", 0), end=_WORDS[end], **told)


def held_back(build: Build, gas: Gas) -> Note:
    """How far knock retards the timing of a build, and which limit it meets."""
    if gas.ca50 <= build.burn.ca50:
        return _note("not_retarded")
    key = "retarded" if gas.knock_integral < 1.0 else "latest"
    return _note(key, angle=(gas.ca50, "angle"), asked=(build.burn.ca50, "angle"))


def driven(gas: Gas) -> Note:
    """What the power of a boosted engine has to do with its compressor."""
    if gas.drive_power > 0:
        return _note("crank_driven", power=(gas.drive_power, "power"))
    return _note("turbine_driven")
