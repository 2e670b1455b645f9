"""What is worth knowing about a build beside its limits."""

from __future__ import annotations

import math

from sealkit import tables
from sealkit.analysis import CLAMP_RULE, Clamp, Gas, trade_count, whole_gasket
from sealkit.analysis.margins import Case
from sealkit.build import Build
from sealkit.build.rules import NEEDED_BY
from sealkit.pressure import fuels
from sealkit.words import Note, note

# by how much gasket and sheet may differ in thickness unnoticed (no source)
_AS_THICK = 0.1
# row of the table engagement for the family of the block's material
_ENGAGEMENT = {"iron": "grey iron", "aluminium": "cast aluminium"}


def to_check(build: Build) -> list[Note]:
    """What on a sheet is at odds with itself, or not used."""
    out: list[Note] = []
    f = build.fasteners
    # what lies between the seal and the square round the fasteners of one bore
    most = f.bolt_circle**2 - 0.25 * math.pi * build.gasket.seal_diameter**2
    if build.gasket.body_area > most:
        out.append(
            note(
                "The gasket's body is {area}, more than the {most} between the seal and a square "
                "round its fasteners: gasket.body_area is that of one bore.",
                area=(build.gasket.body_area, "area", 1),
                most=(most, "area", 1),
            )
        )
    if f.grip_head < 0.8 * build.head.thickness:
        words = "The clamped length in the head is less than the head is thick: check both lengths."
        out.append(note(words))
    for key, of in (("torque", "torque"), ("angle", "angle"), ("stretch", "stretch")):
        value = getattr(f, key)
        if value is not None and key not in NEEDED_BY[f.tightening]:
            words = "fasteners.{key}, {value}, is not used: tightening is by {by}."
            out.append(note(words, key=key, value=(value, of), by=f.tightening))
    return out


def notes_on(build: Build, gas: Gas, clamp: Clamp, case: Case, peak: float) -> tuple[Note, ...]:
    """What is worth knowing about a build, from its gas side, clamp side and case."""
    out: list[Note | str] = []
    f = build.fasteners
    ratio = trade_count(build, clamp, peak * case.joint.gas_area)
    if ratio < CLAMP_RULE[0]:
        out.append(
            f"Counted as the trade does (all {f.around_bore} fasteners round the bore in full, as "
            f"tightened), the clamp is {ratio:.1f} times the gas force; it wants "
            f"{CLAMP_RULE[0]:g} to {CLAMP_RULE[1]:g} (common practice, no source)."
        )
    out += wrench_notes(clamp)
    if f.thread not in tables.load("threads"):
        out.append(f"{f.thread} stands in no thread table here; make sure that it exists.")
    wet = build.liquids.deck == "wet" and build.gasket.liquid_length == 0
    if wet and any(z.role == "liquid" for z in whole_gasket(build).zones):
        out.append(
            "The sheet gives no length of the beads at the liquid holes (gasket.liquid_length); "
            "without it the gasket is judged as if it had none."
        )
    if build.liquids.deck == "dry" and build.heat.coolant_temperature is None:
        out.append(
            "No coolant runs through this deck, but the temperatures of head, block and fasteners "
            "are the table's for an engine with coolant. What air cools may run far hotter, with "
            "less strength and clamp left: give heat.coolant_temperature so that they come right."
        )
    made = case.joint.clamped_thickness(case.low)
    thick = build.gasket.compressed_thickness
    if made is not None and abs(made - thick) > _AS_THICK * thick:
        out.append(
            note(
                "The sheet clamps the gasket to {thick}; this construction, as it stands in the "
                "table of constructions, comes to {made} at the bore. Compression and growth in "
                "heat go by the sheet, what seals by the table.",
                thick=(thick, "length"),
                made=(made, "length"),
            )
        )
    out += to_check(build)
    if f.engagement > 3.0 * clamp.thread.diameter:
        out.append("Threads engaged over more than three diameters: check the length.")
    if gas.leanest > gas.charge.mixture.equivalence_ratio:
        out.append(too_lean(gas))
    if gas.ca50 > build.burn.ca50:
        out.append(held_back(build, gas))
    if gas.knock_integral >= 1.0 or (gas.knock_missing != 0.0 and (gas.rare_knock or 0.0) >= 1.0):
        out.append(knocks(build, gas))
    if gas.mean_peak > float(gas.bound.peak_pressure):
        out.append(
            "The burn is so early that its peak lies above that of all fuel burnt at once at top "
            "dead centre: the piston still compresses what is burnt."
        )
    elif gas.rare_peak > float(gas.bound.peak_pressure):
        out.append(
            "The rare peak lies above that of all fuel burnt at once at top dead centre: the "
            "spread asked for is more than this charge can give."
        )
    if build.charge.filling > 1.05:
        out.append(
            "The cylinder holds more pressure than the manifold as the inlet valve closes; only a "
            "tuned inlet near its best speed does that."
        )
    if float(gas.charge.mixture.evaporated_share) < build.charge.evaporated_share - 1e-6:
        out.append(
            note(
                "Of the fuel {asked} is to evaporate before the inlet valve closes; at {cold} the "
                "air can hold the vapour of {held}.",
                asked=(build.charge.evaporated_share, "fraction"),
                cold=(gas.charge.temperature, "temperature"),
                held=(gas.charge.mixture.evaporated_share, "fraction"),
            )
        )
    if build.charge.boost > 0:
        out.append(driven(gas))
    if float(clamp.preload.low) <= 0:
        out.append("Embedment and creep eat up the whole preload at its low end.")
    materials = tables.load("materials")
    if materials[build.head.material]["poisson"] is None:
        out.append(
            f"No Poisson's ratio is known for {build.head.material}; 0.30 is taken for the bending "
            "of the head (from memory)."
        )
    rule = _ENGAGEMENT.get(materials[build.block.material]["family"])
    if rule is not None:
        need = tables.load("engagement")[rule]["low"] * clamp.thread.diameter
        if f.engagement < need:
            out.append(
                note(
                    "Thread engagement {has} is less than the {need} of the rule of thumb for "
                    f"{rule} (common practice, no source).",
                    has=(f.engagement, "length"),
                    need=(need, "length"),
                )
            )
    return tuple(n if isinstance(n, Note) else note("{words}", words=n) for n in out)


def wrench_notes(clamp: Clamp) -> tuple[str, ...]:
    """What this tightening does to the weakest fastener: it yields, is stretched, breaks."""
    told = {
        "The high end of this tightening asks for more than the weakest fastener's tensile "
        "strength: it breaks on the wrench.": clamp.breaks,
        "The tightening asked for takes the fastener to yield; its preload is held "
        "there.": clamp.capped and not (clamp.yields_on_purpose or clamp.breaks),
        "The high end of this tightening takes the fastener past yield: use it once, and by "
        "its own data.": clamp.permanent_stretch > 0,
    }
    return tuple(words for words, so in told.items() if so)


def knocks(build: Build, gas: Gas) -> Note:
    """That knock is expected, what it may add to the peak, and how far that is in the loads."""
    mean, rare, added = gas.knock_integral, gas.rare_knock, build.burn.knock_amplitude
    which = f"Knock integral {mean:.2f}"
    if mean < 1.0:
        which += (
            f" in the mean cycle, but {rare:.2f} in the one the joint is sized on, taken for one "
            "that burns early"
        )
    burnt, sheet = "", "no knock amplitude, so the sizing leaves knock out"
    if gas.knock_rise is not None:
        burnt = "Burnt at once, what is left of it adds up to {rise} to that peak. "
    if added > 0:
        sheet = "a knock amplitude of {added}"
    if gas.knock_missing:
        sheet += "; the bands reach on to the rest of it"
    return note(
        f"{which}: above 1 the end gas is expected to ignite by itself before the flame reaches "
        f"it. {burnt}The sheet adds {sheet}. A warning, no forecast: the constants are from "
        f"memory, {'{law}' if gas.knock_judged else 'and not judged with this fuel: {law}'}.",
        rise=(gas.knock_rise or 0.0, "pressure"),
        added=(added, "pressure"),
        law=gas.knock_law,
    )


def too_lean(gas: Gas) -> Note:
    """That a mixture is leaner than its vapour burns in air, cold or even as hot as it is."""
    mixture, hot = gas.charge.mixture, gas.before_burn
    own, cold, warm = (
        f"{1.0 / float(x):.2g}"
        for x in (mixture.equivalence_ratio, gas.leanest, fuels.lean_limit.si(mixture, hot))
    )
    words = (
        f"Lambda {own} is leaner than vapour of this fuel burns in air: up to about {cold} at room "
        f"temperature (handbooks), about {warm} at the {{hot}} by the burn (a rule from memory). "
    )
    end = "Engines misfire sooner than that."
    if mixture.equivalence_ratio < fuels.lean_limit.si(mixture, hot):
        end = "It would misfire: pressure and power worked out here would not come."
    return note(words + end, hot=(hot, "temperature", 0))


def held_back(build: Build, gas: Gas) -> Note:
    """How far knock retards the timing of a build, and which limit it meets."""
    if gas.ca50 <= build.burn.ca50:
        return note("Knock does not retard the timing.")
    at = {"angle": (gas.ca50, "angle"), "asked": (build.burn.ca50, "angle")}
    if gas.knock_integral < 1.0:
        return note(
            "Timing retarded by knock: CA50 at {angle} instead of {asked}, where the knock "
            "integral comes to its limit of 1.",
            **at,
        )
    return note(
        "Timing retarded by knock to the latest CA50 of the sheet, {angle} instead of {asked}; it "
        "knocks there still.",
        **at,
    )


def driven(gas: Gas) -> Note:
    """What the power of a boosted engine has to do with its compressor."""
    if gas.drive_power > 0:
        return note(
            "The compressor takes {power} off the crankshaft, which the power is less by; its belt "
            "or gears take more.",
            power=(gas.drive_power, "power"),
        )
    return note("A turbine drives the compressor; what it holds the exhaust back by is left out.")
