"""From a build sheet to the case that is judged: gas side, clamp side, heat, liquids.

Every part of a build is handed to the floors below; nothing is worked out here that stands there.
Numbers of the sheet named in `VARIABLE` may be arrays over builds (`with_numbers`): the same steps
then work out all builds at once.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import tables
from sealkit.analysis import margins
from sealkit.analysis.margins import Case, Limit
from sealkit.build import Build, fields
from sealkit.errors import InputError, fail, quoted
from sealkit.fastening import grades, losses, stiffness, threads, tightening
from sealkit.pressure import boost as _boost
from sealkit.pressure import burn, charge, cycle, fuels, geometry, power, variation
from sealkit.pressure.charge import Charge
from sealkit.pressure.cycle import Cycle, UpperBound
from sealkit.sealing import constructions, gaskets, grooves, heat, joint, liquids
from sealkit.sealing.heat import one
from sealkit.sealing.joint import Assembly, Joint
from sealkit.units import show

Array = NDArray[np.float64]
ASSEMBLED_AT = heat.ASSEMBLED_AT


# trade rule for the clamp of one bore over the gas force on it
CLAMP_RULE = (2.5, 3.5)


_ROUGHNESS = {"fine": "below 10 um", "medium": "10 to 40 um", "rough": "40 to 160 um"}


_SCATTER_OF = {
    "torque": "torque wrench",
    "torque and angle": "turn of nut",
    "stretch": "elongation",
    "yield": "yield",
}


_DRY = "torque wrench, dry, NASA-STD-5020B"


_SHEAR_OF_TENSILE = 0.6


_ENGAGED = 0.5  # of the diameter: how far into the tapped part the screw still stretches


_CYCLE = (
    "engine.speed",
    "engine.compression_ratio",
    "engine.chamber.chamber_volume",
    "engine.chamber.deck_clearance",
    "engine.chamber.piston_volume",
    "charge.boost",
    "charge.ambient_temperature",
    "charge.compressor_efficiency",
    "charge.intercooler_effectiveness",
    "charge.volumetric_efficiency",
    "charge.residual_fraction",
    "burn.ca50",
    "burn.duration",
    "burn.released_share",
    "burn.wall_temperature",
)
VARIABLE = (
    *_CYCLE,
    "burn.peak_variation",
    "burn.one_cycle_in",
    "burn.knock_amplitude",
    "fasteners.friction_thread",
    "fasteners.friction_bearing",
    "fasteners.torque",
    "fasteners.angle",
    "fasteners.stretch",
    "fasteners.preload_scatter",
    "fasteners.preload_factor",
    "fasteners.embedment",
    "gasket.compressed_thickness",
    "gasket.creep_relaxation",
    "heat.coolant_temperature",
    "heat.rise_factor",
    "heat.cold_soak",
)
"""Fields of the sheet that may be arrays over builds."""


def with_numbers(build: Build, numbers: Mapping[str, Any]) -> Build:
    """The same build with other plain SI numbers, or arrays of them, at these fields.

    Parameters
    ----------
    build : a checked build sheet
    numbers : by dotted name of `VARIABLE`

    Returns
    -------
    Build; with arrays it stands for many builds, and only the steps of this module take it

    Raises
    ------
    InputError
        for a field that cannot be varied so.
    """
    parts: dict[str, dict[str, Any]] = {}
    for path, value in numbers.items():
        if path not in VARIABLE:
            raise fail(str(path), "a field that cannot vary over builds", quoted(VARIABLE))
        section, _, key = path.rpartition(".")
        parts.setdefault(section, {})[key] = value
    if "engine.chamber" in parts:
        if build.engine.chamber is None:
            raise fail("engine.chamber", "nothing", "a sheet that gives the volumes")
        chamber = dataclasses.replace(build.engine.chamber, **parts.pop("engine.chamber"))
        parts.setdefault("engine", {})["chamber"] = chamber
    return dataclasses.replace(
        build, **{k: dataclasses.replace(getattr(build, k), **v) for k, v in parts.items()}
    )


def moves_the_cycle(build: Build, paths: Iterable[str]) -> bool:
    """Whether other numbers at these fields give another mean cycle."""
    names = {*_CYCLE} | ({"gasket.compressed_thickness"} if build.engine.chamber else set())
    return not names.isdisjoint(paths)


@dataclass(frozen=True)
class Gas:
    """The gas side of a build: charge, mean cycle, upper bound and the peaks the joint is sized on.

    `sizing` is the gas pressure above the air outside of the cycle the joint is sized on, over
    crank angle; `mean_peak`, `rare_peak` and `design_peak` are absolute.
    """

    charge: Charge
    cycle: Cycle
    bound: UpperBound
    ambient: float
    mean_peak: float
    rare_peak: float
    design_peak: float
    sizing: Array
    brake_power: float
    brake_torque: float
    knock_integral: float


@dataclass(frozen=True)
class Clamp:
    """The fastening side of a build, per fastener; numbers may be arrays over builds."""

    thread: threads.Thread
    strength: grades.Strength
    friction_thread: Any
    friction_head: Any
    bolt_stiffness: float
    member_stiffness: float
    yield_preload: Any
    scatter: Any
    scatter_source: tuple[str, str]
    preload: losses.PreloadRange
    torque: Any
    capped: Any
    asked_high: Any
    weakest_area: float
    weakest_section: str
    free_length: float
    permanent_stretch: Any
    shares: tuple[float, float]

    @property
    def yields_on_purpose(self) -> Any:
        """Whether the way of tightening is meant to take the fastener to yield, and does."""
        return (self.permanent_stretch > 0.0) | self.by_yield

    by_yield: bool = False


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


Origin = tuple[str, str, str]
Sourced = tuple[Any, str, str]  # value, source, status


@dataclass(frozen=True)
class Mean:
    """Charge and mean cycle of a build, and the pressure of the air outside."""

    charge: Charge
    cycle: Cycle
    ambient: float


def mean_cycle(build: Build) -> Mean:
    """Charge and mean cycle (plain SI; arrays over builds where the sheet has arrays)."""
    e, c, b = build.engine, build.charge, build.burn
    ratio = build.compression_ratio
    phi = build.fuel.equivalence_ratio
    if phi is None:
        phi = float(fuels.equivalence_ratio.si(build.fuel.air_ratio))
    mixture = fuels.mixture.si(
        build.fuel.name,
        phi,
        build.fuel.ethanol_share,
        build.fuel.nitromethane_share,
        c.evaporated_share,
    )
    ambient = c.ambient_pressure
    if ambient is None:
        ambient = float(_boost.standard_pressure.si(c.altitude))
    filled = charge.charge.si(
        mixture,
        e.bore,
        e.stroke,
        ratio,
        ambient,
        c.ambient_temperature,
        c.boost,
        c.compressor_efficiency,
        c.intercooler_effectiveness,
        c.volumetric_efficiency,
        c.residual_fraction,
    )
    start, duration = burn.burn_timing.si(b.ca50, b.duration)
    mean = cycle.cycle.si(
        filled,
        *(e.bore, e.stroke, e.rod_length, ratio),
        e.speed,
        start,
        duration,
        released_share=b.released_share,
        wall_heat=b.heat_transfer,
        wall_temperature=b.wall_temperature,
    )
    return Mean(filled, mean, float(ambient))


def sized_on(build: Build, mean_peak: Any) -> variation.SizingPressure:
    """The peaks a build is sized on, from the peak of its mean cycle (absolute)."""
    b = build.burn
    sized: variation.SizingPressure = variation.sizing_pressure.si(
        mean_peak, b.peak_variation, b.one_cycle_in, b.knock_amplitude
    )
    return sized


def over_air(peak: Any, ambient: float) -> Any:
    """A peak pressure over the air outside, Pa.

    Raises
    ------
    InputError
        if a peak does not rise above the air outside: then nothing pushes the head up.
    """
    if not np.all(np.asarray(peak) > ambient):
        raise fail(
            "engine.compression_ratio, charge, burn",
            f"a peak of {np.min(peak) / 1e5:.2f} bar, no more than the air outside",
            "a cycle whose pressure rises above the air outside",
        )
    return peak - ambient


def gas_side(build: Build) -> Gas:
    """Charge, cycle, bound and peak pressures of one build (plain SI)."""
    e = build.engine
    made = mean_cycle(build)
    filled, mean, ambient = made.charge, made.cycle, made.ambient
    bound = cycle.upper_bound.si(filled, e.bore, e.stroke, e.rod_length, build.compression_ratio)
    mean_peak = float(mean.peak_pressure)
    over_air(np.max(mean.pressure), ambient)
    sized = sized_on(build, mean_peak)
    design_peak = float(sized.pressure)
    above = np.maximum(mean.pressure - ambient, 0.0)
    # the peak lies between two angles of the grid; the cycle shown reaches it on the grid
    sizing = above * (design_peak - ambient) / np.max(above)
    swept = float(geometry.swept_volume.si(e.bore, e.stroke))
    piston_speed = float(geometry.mean_piston_speed.si(e.stroke, e.speed))
    friction = float(power.friction_mep_chen_flynn.si(mean_peak, piston_speed))
    bmep = float(mean.imep) - friction
    all_swept = swept * e.cylinders
    knock = variation.knock_integral.si(
        mean.crank_angle,
        e.speed,
        filled.mixture.octane_number,
        mean.pressure,
        mean.unburnt_temperature,
        mean.mass_fraction_burned,
    )
    return Gas(
        charge=filled,
        cycle=mean,
        bound=bound,
        ambient=ambient,
        mean_peak=mean_peak,
        rare_peak=float(sized.rare),
        design_peak=design_peak,
        sizing=sizing,
        brake_power=float(power.power_from_mep.si(bmep, all_swept, e.speed, e.strokes)),
        brake_torque=float(power.torque_from_mep.si(bmep, all_swept, e.strokes)),
        knock_integral=float(knock),
    )


_NEAR_POWER = 1e-3  # of the power asked


def boost_for_power(build: Build, wanted: float) -> tuple[Build, Gas]:
    """The build with the boost that makes this brake power, and its gas side.

    Power grows almost in proportion to boost, so that a secant through two boosts lands on it in
    a few steps.

    Parameters
    ----------
    build : a checked build sheet; only its boost is changed
    wanted : brake power, W, as `Gas.brake_power` estimates it (the drive of the compressor not
        taken off)

    Returns
    -------
    (build, gas); without boost where the engine makes as much by itself

    Raises
    ------
    InputError
        if no boost that the sheet and the gas tables allow makes it.
    """

    def at(boost: float) -> tuple[Build, Gas]:
        charge = dataclasses.replace(build.charge, boost=boost)
        one = dataclasses.replace(build, charge=charge)
        return one, gas_side(one)

    low, one = 0.0, at(0.0)
    if one[1].brake_power >= wanted:
        return one
    high = max(build.charge.boost, 0.3e5)
    most = dict(fields())["charge.boost"].limits[1]
    for _ in range(12):
        two = at(min(high, most))
        lack = wanted - two[1].brake_power
        if abs(lack) <= _NEAR_POWER * wanted:
            return two
        slope = (two[1].brake_power - one[1].brake_power) / (two[0].charge.boost - low)
        if slope <= 0:
            break
        low, one = two[0].charge.boost, two
        high = low + lack / slope
        if not 0.0 < high <= most:
            break
    raise fail(
        "power",
        show(wanted, "power"),
        f"a power that boost up to {show(most, 'gauge pressure')} makes on this engine and fuel",
    )


def _strength(build: Build, diameter: float) -> grades.Strength:
    f = build.fasteners
    if f.grade is not None:
        return grades.strength.si(f.grade, diameter)
    return grades.custom_strength.si(
        f.yield_strength,
        f.tensile_strength,
        f.proof_strength,
        source="the build sheet",
        status=sheet_status(build),
    )


def _segments(build: Build, thread: threads.Thread) -> list[tuple[float, float]]:
    """(area, length) of shank, free thread and the stretching part of the engaged thread."""
    f = build.fasteners
    grip = f.grip_head + f.grip_block
    parts = [(np.pi / 4 * part.diameter**2, part.length) for part in f.shank]
    rest = grip - sum(length for _, length in parts)
    if rest > 1e-9:
        parts.append((thread.stress_area, rest))
    parts.append((thread.stress_area, _ENGAGED * thread.diameter))
    return parts


def _weakest(build: Build, thread: threads.Thread) -> tuple[float, str]:
    """Smallest section of the fastener and its name."""
    areas = [(float(thread.stress_area), f"stress area of {build.fasteners.thread}")]
    areas += [
        (float(np.pi / 4 * part.diameter**2), f"shank of {part.diameter * 1e3:.1f} mm")
        for part in build.fasteners.shank
    ]
    return min(areas)


def fastener_shares(cylinders: int, around: int, on_head: int) -> tuple[float, float]:
    """Fasteners that count for the bore with the fewest, and on average.

    In a row of n bores with m fasteners round each and N on the head, g = (n m - N)/(n - 1) of them
    stand between two neighbours and serve both. A bore inside the row then has m - g to itself, one
    at the end m - g/2; no bore has more than stand round it.
    """
    mean = on_head / cylinders
    if cylinders == 1:
        return float(min(on_head, around)), float(min(on_head, around))
    between = (cylinders * around - on_head) / (cylinders - 1)
    least = around - between if cylinders > 2 else around - between / 2
    return float(min(least, around)), float(min(mean, around))


def trade_count(build: Build, clamp: Clamp, gas_force: float) -> float:
    """Clamp over gas force as the trade counts it.

    All fasteners round the bore in full, at the preload they are tightened to: sharing between
    bores, scatter and losses are left to the rule's own margin.
    """
    return float(build.fasteners.around_bore * clamp.preload.assembly / gas_force)


def clamp_side(build: Build, sized: gaskets.Gasket) -> tuple[Clamp, Joint]:
    """Preload range of one fastener and the joint of one bore (plain SI)."""
    f = build.fasteners
    thread = threads.thread.si(f.thread)
    strength = _strength(build, thread.diameter)
    friction = tightening.friction.si(f.lubricant)
    mu_thread = friction.thread if f.friction_thread is None else f.friction_thread
    mu_head = friction.head if f.friction_bearing is None else f.friction_bearing
    materials = tables.load("materials")
    bolt_modulus = materials[f.material]["modulus"]
    head, block = materials[build.head.material], materials[build.block.material]

    segments = _segments(build, thread)
    area, section = _weakest(build, thread)
    kb = float(stiffness.bolt_stiffness.si(segments, bolt_modulus))
    layers = [(head["modulus"], f.grip_head)]
    layers.append((block["modulus"], f.grip_block + _ENGAGED * thread.diameter))
    km = float(stiffness.member_stiffness.si(layers, f.hole_diameter, f.bearing_diameter))
    yield_preload = one(
        tightening.preload_at_utilisation.si(
            strength.yield_strength,
            1.0,
            area,
            thread.pitch,
            thread.pitch_diameter,
            mu_thread,
        )
    )
    b = build.fasteners.bolt_circle / 2.0
    s = build.gasket.seal_diameter / 2.0
    poisson = 0.3 if head["poisson"] is None else head["poisson"]
    plate = joint.plate_stiffness.si(head["modulus"], build.head.thickness, poisson)
    shares = fastener_shares(build.bores_per_head, f.around_bore, f.on_head)
    share = shares[0]
    made = Joint(
        gasket=sized,
        bolts=share,
        bolt_stiffness=kb,
        member_stiffness=km,
        yield_force=float(strength.yield_strength * area),
        seal_diameter=build.gasket.seal_diameter,
        bend_pressure=float(joint.bending_by_pressure.si(1.0, s, b, plate, poisson)),
        bend_load=float(joint.bending_by_line_load.si(1.0, s, b, plate, poisson)),
    )

    arms = (thread.diameter, thread.pitch, mu_thread, mu_head, thread.pitch_diameter)
    rest = (f.bearing_diameter, f.hole_diameter)
    torque = permanent = 0.0
    if f.tightening in ("torque", "torque and angle"):
        torque = 0.0 if f.torque is None else f.torque
        wanted = one(tightening.preload_long.si(torque, *arms, *rest))
        if f.tightening == "torque and angle":
            snug = one(np.minimum(wanted, yield_preload))
            turn = thread.pitch * (0.0 if f.angle is None else f.angle) / (2 * np.pi)
            wanted = made.turned(snug, turn)
            past = wanted > yield_preload
            if np.any(past):
                over = made.advance(snug) + turn - made.advance(yield_preload)
                permanent = one(np.where(past, over, 0.0))
    elif f.tightening == "stretch":
        wanted = kb * (0.0 if f.stretch is None else f.stretch)
    else:
        wanted = yield_preload
    wanted = wanted * f.preload_factor
    nominal = one(np.minimum(wanted, yield_preload))
    if f.preload_scatter is not None:
        scatter, origin = f.preload_scatter, ("the build sheet", sheet_status(build))
    else:
        row = scatter_row(build)
        scatter, origin = row["high"], (row["source"], row["status"])
    before = made.assemble(nominal)
    gasket_stiffness = one(made.gasket_stiffness(before)) / share
    depth, *where = embedment_of(build)
    terms = [
        losses.embedment_loss.si(depth, kb, 1.0 / (1.0 / km + 1.0 / gasket_stiffness), *where),
    ]
    creep, source, status = creep_of(build)
    terms.append(losses.share_loss.si("gasket creep relaxation", creep / 2, creep, source, status))
    spread = _range(wanted, scatter, yield_preload, terms)
    return (
        Clamp(
            thread=thread,
            strength=strength,
            friction_thread=one(mu_thread),
            friction_head=one(mu_head),
            bolt_stiffness=kb,
            member_stiffness=km,
            yield_preload=yield_preload,
            scatter=one(scatter),
            scatter_source=origin,
            preload=spread,
            torque=torque,
            capped=wanted > yield_preload * (1 + 1e-12),
            asked_high=one(wanted * (1.0 + scatter)),
            weakest_area=area,
            weakest_section=section,
            free_length=sum(length for _, length in segments),
            permanent_stretch=permanent,
            shares=shares,
            by_yield=f.tightening == "yield",
        ),
        made,
    )


def scatter_row(build: Build) -> Mapping[str, Any]:
    """The row of the table of scatter for the sheet's way of tightening."""
    f = build.fasteners
    method = _SCATTER_OF[f.tightening]
    if f.tightening == "torque" and any(w in f.lubricant for w in ("dry", "gritty")):
        method = _DRY
    return tables.load("scatter")[method]


def embedment_of(build: Build) -> Sourced:
    """How far thread and faces settle (m), and where that comes from."""
    f = build.fasteners
    if f.embedment is not None:
        return f.embedment, "the build sheet", sheet_status(build)
    depth = losses.embedment_depth.si(_ROUGHNESS[f.roughness], interfaces=2, faces=1, threads=1)
    return depth, "VDI 2230 embedment values", "from memory"


def _range(wanted: Any, scatter: Any, most: Any, terms: list[losses.Loss]) -> losses.PreloadRange:
    """Preload with scatter and losses; no end is more than a fastener yields at."""
    ends = [one(np.minimum(wanted * x, most)) for x in (1.0 - scatter, 1.0, 1.0 + scatter)]
    low, middle, high = (losses.preload_range.si(end, 0.0, terms) for end in ends)
    return losses.PreloadRange(
        assembly_low=ends[0],
        assembly=ends[1],
        assembly_high=ends[2],
        low=low.low,
        nominal=middle.nominal,
        high=high.high,
        terms=tuple(
            losses.LossTerm(a.name, a.low, b.nominal, c.high, source=a.source, status=a.status)
            for a, b, c in zip(low.terms, middle.terms, high.terms, strict=True)
        ),
    )


def sheet_status(build: Build) -> str:
    """Status of a number that stands on the sheet: the sheet's own, never better than memory."""
    status = build.sheet.status
    return status if status in tables.STATUSES else "from memory"


def creep_of(build: Build) -> Sourced:
    """Share of the clamp that the gasket loses, and where that comes from."""
    if build.gasket.creep_relaxation is not None:
        return build.gasket.creep_relaxation, "the build sheet", sheet_status(build)
    known = tables.load("creep")
    name = build.gasket.construction
    if name not in known:
        raise fail(
            "gasket.creep_relaxation",
            f"nothing, with zones of your own ({name})",
            'the part of the clamp that the gasket loses as it settles, such as "5 %"',
        )
    row = known[name]
    return row["share"], row["source"], row["status"]


def gasket_of(build: Build) -> gaskets.Gasket:
    """The gasket of a build, sized for one bore."""
    g = build.gasket
    sizes = (np.pi * g.seal_diameter, g.body_area, g.liquid_length)
    if g.zones:
        return whole_gasket(build).sized(*sizes)
    with _faces_named():
        return _sized(g.construction, tuple(mating(build).items()), *sizes)


def whole_gasket(build: Build) -> gaskets.Gasket:
    """The gasket of a build with all its zones, not sized."""
    if build.gasket.zones:
        zones, _ = gaskets.read_zones(build.gasket.zones, "gasket.zones")
        return gaskets.Gasket(build.gasket.construction, zones)
    with _faces_named():
        return constructions.make(build.gasket.construction, **mating(build))


# which part of the sheet a construction's face is
_FACES = {
    "head_material": "head.material",
    "block_material": "block.material",
    "groove_material": "head.material or block.material",
    "receiver_material": "head.material or block.material",
}


@contextlib.contextmanager
def _faces_named() -> Iterator[None]:
    """Faults of a face come out under the name of the sheet's field."""
    try:
        yield
    except InputError as err:
        raise InputError(
            dataclasses.replace(f, field=_FACES.get(f.field, f.field)) for f in err.faults
        ) from err


@functools.lru_cache(maxsize=64)
def _sized(name: str, faces: tuple[tuple[str, str], ...], *sizes: float) -> gaskets.Gasket:
    """A construction on one bore, kept, since its unloading paths take time to prepare."""
    return constructions.make(name, **dict(faces)).sized(*sizes)


def mating(build: Build) -> dict[str, str]:
    """Materials of head and block, as parameters of the constructions that bite into them."""
    name = build.gasket.construction
    wanted = constructions.kind(name).parameters() if name in constructions.names() else {}
    known = tables.load("flow")
    faces = {"head": build.head.material, "block": build.block.material}
    wire, receiver = "head", "block"
    if all(m in tables.load("face_hardness") for m in faces.values()):
        chosen = grooves.groove_faces(**faces)
        wire, receiver = chosen.wire, chosen.receiver
    pairs = {
        "head_material": faces["head"],
        "block_material": faces["block"],
        "groove_material": faces[wire],
        "receiver_material": faces[receiver],
    }
    return {k: v for k, v in pairs.items() if k in wanted and v in known and known[v]["hardness"]}


def hot_state(build: Build) -> heat.ThermalState:
    """Temperatures of the joint in the hot state of the sheet."""
    h = build.heat
    state: heat.ThermalState = heat.temperatures.si(
        h.hot_state, h.coolant_temperature, h.rise_factor
    )
    return state


def warm_side(build: Build, made: Joint, low: Assembly, high: Assembly, peak: Any) -> Warm:
    """Hot, worked and cold-soaked joint at both ends of the preload."""
    f, h = build.fasteners, build.heat
    stack = heat.stack.si(
        build.head.material,
        f.grip_head,
        build.block.material,
        f.grip_block,
        f.material,
        None,
        build.gasket.compressed_thickness,
        "copper, annealed" if "copper" in build.gasket.construction else "301 full hard",
    )
    hot = hot_state(build)
    soak = heat.temperatures.si("cold soak", h.cold_soak)
    differential_expansion = one(stack.differential_expansion(hot))
    # creep has its place among the losses of the preload already, so none is added here
    return Warm(
        state=hot,
        differential_expansion=differential_expansion,
        low=heat.after_heat.si(made, low, differential_expansion),
        high=heat.after_heat.si(made, high, differential_expansion, gas_pressure=peak),
        soak=heat.after_heat.si(
            made, low, differential_expansion, one(stack.differential_expansion(soak))
        ),
    )


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
    tightest = one(np.where(purpose, high.assembly_preload, clamp.asked_high))
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
        tightening_stress=one(stress.equivalent),
        permanent_stretch=clamp.permanent_stretch + one(warm.high.plastic_stretch),
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


def kept(end: Any, first: Any) -> Any:
    """A preload after its losses; one eaten up whole leaves a trace, so that the limits say so."""
    return one(np.minimum(np.maximum(end, 1e-3 * first), first))


def _shear_strength(build: Build) -> tuple[float, Origin]:
    """Shear strength of the tapped material, and where it comes from."""
    name = build.block.material
    part = tables.load("materials")[name]
    profile = "for a thread of nominal size; the loosest one allowed strips at 10 to 15 % less"
    if part["shear_strength"] is not None:
        note = f"{part['note']}; {profile}" if part["note"] else profile
        return float(part["shear_strength"]), (part["source"], part["status"], note)
    used = part
    if part["tensile"] is None:
        word = name.lower()
        stand_in = "grey iron" if "iron" in word else "A356-T6" if "alumin" in word else None
        stand_in = "A356-T6" if name.startswith("319") else stand_in
        if stand_in is None:
            raise fail("block.material", name, "a material whose strength the table holds")
        used = tables.load("materials")[stand_in]
        if used["shear_strength"] is not None:
            note = f"value of {stand_in} taken for {name}; {profile}"
            return float(used["shear_strength"]), (used["source"], "from memory", note)
        note = f"value of {stand_in} taken for {name}; {profile}"
    else:
        note = profile
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
    key = name if name in table else _like(name)
    if key is None:
        raise fail("head.material", name, "a material whose bearing limit the table holds")
    row = table[key]
    note = row["note"] if name in table else f"value of {row['material']} taken for {name}"
    return float(row["low"]), (row["source"], row["status"], note)


def _like(name: str) -> str | None:
    """The row of the bearing table that comes nearest to a material not listed there."""
    word = name.lower()
    if "ductile" in word or "compacted" in word:
        return "ductile iron, GJS-400"
    if "iron" in word:
        return "grey iron, GJL-250"
    if "steel" in word or word.startswith("30"):
        return "mild steel, S235"
    if "319" in word:
        return "AlSi9Cu3, gravity cast"
    if any(x in word for x in ("alumin", "a356", "6061")):
        return "AlSi7Mg-T6"
    return None
