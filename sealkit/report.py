"""The whole chain on one build: pressure, preload, joint, limits, verdict; text and page to print.

`run` takes a `sealkit.build.Build` and hands every part of it to the floors below; nothing is
worked out here that stands there.
"""

from __future__ import annotations

import dataclasses
import functools
import html
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sealkit import margins, tables
from sealkit.build import Build
from sealkit.errors import fail
from sealkit.fastening import grades, losses, stiffness, threads, tightening
from sealkit.margins import Case, Giving, Limit
from sealkit.pressure import boost as _boost
from sealkit.pressure import burn, charge, cycle, fuels, geometry, power, variation
from sealkit.pressure.charge import Charge
from sealkit.pressure.cycle import Cycle, UpperBound
from sealkit.sealing import constructions, gaskets, grooves, heat, joint, liquids
from sealkit.sealing.joint import Assembly, Joint, JointState
from sealkit.units import show

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

CAUTIONS = (
    "For teaching and first estimates only.",
    "Torque, fasteners and clearances come from the engine's and the fastener's own data and a "
    "qualified builder; local rules and licensed practice come first.",
    "Stretched or yielded fasteners, boosted engines, fuels such as methanol and nitromethane, and "
    "hot coolant can injure.",
    "Temperatures of the parts are estimates from memory; heat changes the clamp.",
)
SCOPE = (
    "Rods, pistons and crank are not judged: with a stronger joint they may be what fails first. "
    "Full load is not assumed on an engine soaked in cold."
)
# trade rule for the clamp of one bore over the gas force on it
CLAMP_RULE = (2.5, 3.5)

_TENTH = {"metric": 2, "inch": 1}
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


@dataclass(frozen=True)
class Gas:
    """The gas side of a build: charge, mean cycle, upper bound and the peaks the joint is sized on.

    `sizing` is the gas pressure above the air outside of the cycle the joint is sized on, over
    crank angle; `mean_peak`, `rare_peak` and `sizing_peak` are absolute.
    """

    charge: Charge
    cycle: Cycle
    bound: UpperBound
    ambient: float
    mean_peak: float
    rare_peak: float
    sizing_peak: float
    sizing: Array
    brake_power: float
    brake_torque: float
    knock_integral: float


@dataclass(frozen=True)
class Clamp:
    """The fastening side of a build, per fastener."""

    thread: threads.Thread
    strength: grades.Strength
    friction_thread: float
    friction_head: float
    bolt_stiffness: float
    member_stiffness: float
    yield_preload: float
    scatter: float
    scatter_source: tuple[str, str]
    preload: losses.PreloadRange
    torque: float
    capped: bool
    asked_high: float
    weakest_area: float
    weakest_section: str
    free_length: float
    permanent_stretch: float
    shares: tuple[float, float]

    @property
    def yields_on_purpose(self) -> bool:
        """Whether the way of tightening is meant to take the fastener to yield, and does."""
        return self.permanent_stretch > 0.0 or self.by_yield

    by_yield: bool = False


def gas_side(build: Build) -> Gas:
    """Charge, cycle, bound and peak pressures of a build (plain SI)."""
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
    start, duration = burn.burn_timing.si(b.half_burnt, b.duration)
    shape = (e.bore, e.stroke, e.rod_length, ratio)
    mean = cycle.cycle.si(
        filled,
        *shape,
        e.speed,
        start,
        duration,
        released_share=b.released_share,
        wall_heat=b.heat_transfer,
        wall_temperature=b.wall_temperature,
    )
    bound = cycle.upper_bound.si(filled, *shape)
    mean_peak = float(mean.peak_pressure)
    sized = variation.sizing_pressure.si(
        mean_peak, b.peak_variation, b.one_cycle_in, b.knock_amplitude
    )
    sizing_peak = float(sized.pressure)
    above = np.maximum(mean.pressure - ambient, 0.0)
    # the peak lies between two angles of the grid; the cycle shown reaches it on the grid
    sizing = above * (sizing_peak - ambient) / np.max(above)
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
        mean.burnt_share,
    )
    return Gas(
        charge=filled,
        cycle=mean,
        bound=bound,
        ambient=float(ambient),
        mean_peak=mean_peak,
        rare_peak=float(sized.rare),
        sizing_peak=sizing_peak,
        sizing=sizing,
        brake_power=float(power.power_from_mep.si(bmep, all_swept, e.speed, e.strokes)),
        brake_torque=float(power.torque_from_mep.si(bmep, all_swept, e.strokes)),
        knock_integral=float(knock),
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
        status=_sheet_status(build),
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
    yield_preload = float(
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
        torque = float(f.torque or 0.0)
        wanted = float(tightening.preload_long.si(torque, *arms, *rest))
        if f.tightening == "torque and angle":
            snug = min(wanted, yield_preload)
            turn = thread.pitch * float(f.angle or 0.0) / (2 * np.pi)
            wanted = made.turned(snug, turn)
            if wanted > yield_preload:
                permanent = made.advance(snug) + turn - made.advance(yield_preload)
    elif f.tightening == "stretch":
        wanted = kb * float(f.stretch or 0.0)
    else:
        wanted = yield_preload
    nominal = min(wanted, yield_preload)
    if f.preload_scatter is not None:
        scatter, origin = f.preload_scatter, ("the build sheet", _sheet_status(build))
    else:
        method = _SCATTER_OF[f.tightening]
        if f.tightening == "torque" and any(w in f.lubricant for w in ("dry", "gritty")):
            method = _DRY
        row = tables.load("scatter")[method]
        scatter, origin = row["high"], (row["source"], row["status"])
    depth = losses.embedding_depth.si(_ROUGHNESS[f.roughness], interfaces=2, faces=1, threads=1)
    before = made.assemble(nominal)
    gasket_stiffness = float(made.gasket_stiffness(before)[0]) / share
    terms = [
        losses.embedding_loss.si(depth, kb, 1.0 / (1.0 / km + 1.0 / gasket_stiffness)),
    ]
    creep, source, status = _creep(build)
    terms.append(losses.share_loss.si("gasket creep relaxation", creep / 2, creep, source, status))
    spread = _range(wanted, float(scatter), yield_preload, terms)
    return (
        Clamp(
            thread=thread,
            strength=strength,
            friction_thread=float(mu_thread),
            friction_head=float(mu_head),
            bolt_stiffness=kb,
            member_stiffness=km,
            yield_preload=yield_preload,
            scatter=float(scatter),
            scatter_source=origin,
            preload=spread,
            torque=torque,
            capped=wanted > yield_preload * (1 + 1e-12),
            asked_high=float(wanted * (1.0 + scatter)),
            weakest_area=area,
            weakest_section=section,
            free_length=sum(length for _, length in segments),
            permanent_stretch=float(permanent),
            shares=shares,
            by_yield=f.tightening == "yield",
        ),
        made,
    )


def _range(
    wanted: float, scatter: float, most: float, terms: list[losses.Loss]
) -> losses.PreloadRange:
    """Preload with scatter and losses; no end is more than a fastener yields at."""
    ends = [min(wanted * x, most) for x in (1.0 - scatter, 1.0, 1.0 + scatter)]
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


def _sheet_status(build: Build) -> str:
    """Status of a number that stands on the sheet: the sheet's own, never better than memory."""
    status = build.sheet.status
    return status if status in tables.STATUSES else "from memory"


def _creep(build: Build) -> tuple[float, str, str]:
    if build.gasket.creep_relaxation is not None:
        return build.gasket.creep_relaxation, "the build sheet", _sheet_status(build)
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
        return _whole(build).sized(*sizes)
    return _sized(g.construction, tuple(mating(build).items()), *sizes)


def _whole(build: Build) -> gaskets.Gasket:
    """The gasket of a build with all its zones, not sized."""
    if build.gasket.zones:
        zones, _ = gaskets.read_zones(build.gasket.zones, "gasket.zones")
        return gaskets.Gasket(build.gasket.construction, zones)
    return constructions.make(build.gasket.construction, **mating(build))


@functools.lru_cache(maxsize=64)
def _sized(name: str, faces: tuple[tuple[str, str], ...], *sizes: float) -> gaskets.Gasket:
    """A construction on one bore, kept, since its unloading paths take time to prepare."""
    return constructions.make(name, **dict(faces)).sized(*sizes)


def mating(build: Build) -> dict[str, str]:
    """Materials of head and block, as parameters of the constructions that bite into them."""
    name = build.gasket.construction
    wanted = constructions.parameters(name) if name in constructions.names() else {}
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


def percent(margin: float) -> str:
    """A margin in words; with a decimal where it is near zero."""
    if not np.isfinite(margin):
        return "no demand"
    if margin > 10:
        return "over 10 times"
    return f"{100 * margin:+.{1 if abs(margin) < 0.1 else 0}f} %"


@dataclass(frozen=True)
class Report:
    """Everything worked out for one build. Numbers are plain SI; `text` and `page` show them.

    `over_angle` is the joint with the low end of the preload over the cycle it is sized on, at the
    `temperature` (cold or hot) at which its seal stands worse; `sealing` is that joint without gas.
    """

    build: Build
    gas: Gas
    clamp: Clamp
    joint: Joint
    case: Case
    nominal: Assembly
    warm: Warm
    sealing: Assembly
    temperature: str
    over_angle: JointState
    limits: tuple[Limit, ...]
    order: tuple[Giving, ...]
    warnings: tuple[str, ...]

    # ------------------------------------------------------------------ verdict
    @property
    def holds(self) -> bool:
        """Whether every limit holds at the pressure the joint is sized on."""
        return all(row.holds for row in self.limits)

    @property
    def weakest(self) -> Limit:
        """The limit with the smallest margin."""
        return margins.weakest(self.limits)

    @property
    def first_to_give(self) -> Giving | None:
        """The limit reached first as the peak pressure rises; None if none is in the range."""
        first = self.order[0]
        return first if np.isfinite(first.pressure) else None

    def verdict(self, system: str = "metric") -> str:
        """The verdict in one or two sentences, with its numbers."""
        w = self.weakest
        bad = [r for r in self.limits if not r.holds]
        count = (
            f"{len(bad)} of {len(self.limits)} limits {'is' if len(bad) == 1 else 'are'} exceeded"
        )
        head = "Holds." if not bad else f"Does not hold: {count}."
        line = (
            f"{head} Weakest link: {w.what}; needs {show(w.demand, w.kind, system)}, has "
            f"{show(w.capacity, w.kind, system)}, margin {percent(w.margin)} ({w.state})."
        )
        g = self.gas
        if g.knock_integral >= 1.0 and self.build.burn.knock_amplitude == 0 and not bad:
            line += f" Only without knock: the knock integral is {g.knock_integral:.2f}."
        first = self.first_to_give
        if first is None:
            return f"{line} Nothing fails up to three times this pressure."
        if first.pressure <= 0.0:
            return f"{line} Already exceeded before firing: {first.limit.gives}."
        at = show(first.pressure + self.gas.ambient, "pressure", system)
        return f"{line} As peak pressure rises, this fails first, at {at}: {first.limit.gives}."

    # ------------------------------------------------------------------ tables
    def rows(self, system: str = "metric") -> list[dict[str, str]]:
        """The limits as text, weakest first."""
        return [
            {
                "limit": r.what,
                "needs": show(r.demand, r.kind, system),
                "has": show(r.capacity, r.kind, system),
                "margin": percent(r.margin),
                "holds": "holds" if r.holds else "DOES NOT HOLD",
                "state": r.state,
                "source": r.source,
                "status": r.status,
                "note": r.note,
            }
            for r in sorted(self.limits, key=lambda r: r.margin)
        ]

    def frame(self, system: str = "metric") -> pd.DataFrame:
        """The limits as a table, weakest first."""
        import pandas as pd

        return pd.DataFrame(self.rows(system))

    def facts(self, system: str = "metric") -> list[tuple[str, list[tuple[str, str]]]]:
        """What the verdict stands on, in groups of (what, value)."""
        g, c, f, b = self.gas, self.clamp, self.build.fasteners, self.build.burn
        p = c.preload
        low, high, w = self.case.low, self.case.high, self.warm

        def three(low: Any, middle: Any, high: Any, kind: str = "force") -> str:
            return " / ".join(show(float(x), kind, system) for x in (low, middle, high))

        mixture = g.charge.mixture
        kept = (low.preload[0], self.nominal.preload[0], high.preload[0])
        clamp = self.joint.bolts * np.array(kept)
        gas_force = (g.sizing_peak - g.ambient) * self.joint.gas_area
        wrench = {
            "torque": show(f.torque or 0.0, "torque", system),
            "torque and angle": f"{show(f.torque or 0.0, 'torque', system)}, then "
            f"{show(f.angle or 0.0, 'angle', system)}",
            "stretch": show(f.stretch or 0.0, "length", system) + " of stretch",
            "yield": "to yield",
        }[f.tightening]
        friction = tightening.friction.si(f.lubricant)
        own = f.friction_thread is not None or f.friction_bearing is not None
        lost = [
            (
                f"lost to {t.name}",
                " / ".join(show(float(x), "force", system) for x in (t.low, t.nominal))
                + f" / 0 before losses ({t.status})",
            )
            for t in p.terms
        ]
        return [
            (
                "Pressure in the cylinder (absolute)",
                [
                    ("compression ratio", f"{self.build.compression_ratio:.2f}"),
                    (
                        "fuel",
                        f"{mixture.fuel}, lambda {1.0 / float(mixture.equivalence_ratio):.2f} "
                        f"(equivalence ratio {float(mixture.equivalence_ratio):.2f})",
                    ),
                    (
                        "manifold, before fuel evaporates",
                        f"{show(g.charge.manifold_pressure, 'pressure', system, _TENTH[system])}, "
                        f"{show(g.charge.manifold_temperature, 'temperature', system)}",
                    ),
                    (
                        "peak of the mean cycle",
                        f"{show(g.mean_peak, 'pressure', system)}, "
                        f"{show(g.cycle.peak_angle, 'angle', system)} after top dead centre",
                    ),
                    (
                        f"peak exceeded by one cycle in {b.one_cycle_in:g}",
                        f"{show(g.rare_peak, 'pressure', system)} "
                        f"(spread {show(b.peak_variation, 'fraction', system)})",
                    ),
                    (
                        "the joint is sized on",
                        f"{show(g.sizing_peak, 'pressure', system)} "
                        + (
                            f"({show(b.knock_amplitude, 'stress', system)} of knock added)"
                            if b.knock_amplitude > 0
                            else "(no knock amplitude on the sheet)"
                        ),
                    ),
                    (
                        "all burnt at once at top dead centre",
                        show(g.bound.peak_pressure, "pressure", system),
                    ),
                    (
                        "estimate of power and torque",
                        f"{show(g.brake_power, 'power', system)}, "
                        f"{show(g.brake_torque, 'torque', system)} (before pumping, accessories "
                        "and compressor drive; friction from memory)",
                    ),
                ],
            ),
            (
                "Preload of one fastener, cold (low / nominal / high)",
                [
                    (
                        "fastener",
                        f"{f.kind} {f.thread}, "
                        f"{f.grade or 'strengths from the sheet'}; weakest section: "
                        f"{c.weakest_section}",
                    ),
                    (
                        "tightened",
                        f"{wrench}; {f.lubricant}, friction {c.friction_thread:g} in the thread, "
                        f"{c.friction_head:g} under the head "
                        f"({'the build sheet' if own else friction.status})",
                    ),
                    ("as tightened", three(p.assembly_low, p.assembly, p.assembly_high)),
                    (
                        "scatter of the method",
                        f"±{show(c.scatter, 'fraction', system, 0)} ({c.scatter_source[1]}: "
                        f"{c.scatter_source[0]})",
                    ),
                    *lost,
                    (
                        "left, cold",
                        f"{three(*kept)} (low after losses and heat, nominal after losses, high "
                        "before losses)",
                    ),
                    (
                        f"hot ({w.state.name}, coolant "
                        f"{show(float(w.state.coolant), 'temperature', system, 0)})",
                        f"{show(float(w.low.worked.preload[0]), 'force', system)} / "
                        f"{show(float(w.high.hot.preload[0]), 'force', system)} (low / high; the "
                        f"stack outgrows the fasteners by {show(w.mismatch, 'lift', system)}; "
                        f"temperatures {w.state.status})",
                    ),
                    ("yields while tightening at", show(c.yield_preload, "force", system)),
                    (
                        "stiffness of fastener and members",
                        f"{show(c.bolt_stiffness, 'stiffness', system)}, "
                        f"{show(c.member_stiffness, 'stiffness', system)}",
                    ),
                ],
            ),
            (
                "Joint of the bore with the fewest fasteners, cold",
                [
                    (
                        "fasteners that count for it",
                        f"{c.shares[0]:.2f} ({c.shares[1]:.2f} on average; {f.on_head} on the "
                        f"head, {self.build.bores_per_head} bores, {f.around_bore} round each, "
                        "shared with the neighbours)",
                    ),
                    ("clamp (low / nominal / high)", three(*clamp)),
                    ("gas force the joint is sized on", show(gas_force, "force", system)),
                    (
                        "clamp over gas force",
                        " / ".join(f"{x / gas_force:.2f}" for x in clamp)
                        + "; counted as the trade does, "
                        f"{trade_count(self.build, c, gas_force):.2f} (all {f.around_bore} round "
                        f"the bore in full, as tightened; wanted {CLAMP_RULE[0]:g} to "
                        f"{CLAMP_RULE[1]:g}, common practice, no source)",
                    ),
                    (
                        f"head lifts at the seal at peak (low preload, {self.temperature})",
                        show(float(np.max(self.over_angle.seal_lift)), "lift", system),
                    ),
                ],
            ),
        ]

    def bench(self, system: str = "metric") -> list[tuple[str, list[tuple[str, str]]]]:
        """What it means at the bench: sharing of the clamp, ring, clearances, faces."""
        from sealkit import benchwork

        return benchwork.facts(self, system)

    # ------------------------------------------------------------------ showing
    def text(self, system: str = "metric") -> str:
        """The report as plain text."""
        out = [self.build.sheet.name]
        if self.build.sheet.note:
            out.append(self.build.sheet.note)
        out.append(f"status of the numbers on the sheet: {self.build.sheet.status}")
        for title, facts in self.facts(system):
            out += ["", title]
            width = max(len(k) for k, _ in facts)
            out += [f"  {k:<{width}}  {v}" for k, v in facts]
        out += ["", "Limits, weakest first"]
        for r in self.rows(system):
            out.append(
                f"  {r['margin']:>9}  {r['holds']:<13}  {r['limit']}: needs {r['needs']}, "
                f"has {r['has']} ({r['state']})"
            )
            out.append(f"{'':28}{r['status']}: {r['source']}")
            if r["note"]:
                out.append(f"{'':28}{r['note']}")
        out += ["", "As peak pressure rises, these fail in this order"]
        out += [f"  {a:>12}  {b}" for a, b in self.order_rows(system)]
        out += ["", "Gasket constructions on this engine, best first (strength beside)"]
        for r in self.ranking_rows(system):
            out.append(
                f"  {r['margin']:>8}  {r['holds']:<9}  {r['construction']}; {r['why']}; "
                f"strength {r['strength']}; fails first at {r['fails first']}"
            )
        out.append(f"  {SCOPE}")
        for title, facts in self.bench(system):
            out += ["", title]
            width = max(len(k) for k, _ in facts)
            out += [f"  {k:<{width}}  {v}" for k, v in facts]
        if self.warnings:
            out += ["", "Worth knowing"]
            out += [f"  {w}" for w in self.warnings]
        out += ["", "Verdict", f"  {self.verdict(system)}", ""]
        out += CAUTIONS
        return "\n".join(out)

    @functools.cached_property
    def ranking(self) -> tuple[Any, ...]:
        """All constructions on this build, best first (see `sealkit.choice.rank`)."""
        from sealkit import choice

        return choice.rank(self.build)

    def ranking_rows(self, system: str = "metric") -> list[dict[str, str]]:
        """The ranking as text, best first."""
        from sealkit import choice

        return choice.rows(self.ranking, system)

    def order_rows(self, system: str = "metric") -> list[tuple[str, str]]:
        """(peak pressure, what gives) in the order in which limits are reached."""
        rows = []
        for g in self.order:
            if not np.isfinite(g.pressure):
                continue
            at = (
                "before firing"
                if g.pressure <= 0
                else show(g.pressure + self.gas.ambient, "pressure", system)
            )
            rows.append((at, g.limit.gives))
        return rows or [("", "nothing up to three times the sizing pressure")]

    def page(self, system: str = "metric") -> str:
        """The report as one self-contained page to print."""
        return _page(self, system)

    def _repr_html_(self) -> str:
        mark = "holds" if self.holds else "does not hold"
        return (
            f"<p><b>{html.escape(self.build.sheet.name)}</b>: {mark}</p>"
            f"<p>{html.escape(self.verdict(self.build.system))}</p>"
        )


def run(build: Build, gas: Gas | None = None) -> Report:
    """The whole chain on one build.

    Parameters
    ----------
    build : a checked build sheet
    gas : its gas side, where it is worked out already (as when only the gasket changes)

    Returns
    -------
    Report

    Raises
    ------
    InputError
        naming what cannot be worked out, such as a gas outside the tables.
    """
    gas = gas_side(build) if gas is None else gas
    clamp, made = clamp_side(build, gasket_of(build))
    p = clamp.preload

    def left(end: Any, first: Any) -> float:
        # a preload that the losses eat up whole leaves a trace, so that the limits can say so
        return float(min(max(end, 1e-3 * first), first))

    low = made.assemble(p.assembly_low, left(p.low, p.assembly_low))
    nominal = made.assemble(p.assembly, left(p.nominal, p.assembly))
    # strength is judged before anything has settled; no fastener keeps more than it yields at
    high = made.assemble(min(float(p.assembly_high), clamp.yield_preload))
    peak = gas.sizing_peak - gas.ambient
    warm = _warm(build, made, low, high, peak)
    case = _case(build, clamp, made, low, high, warm, peak)
    rows = margins.worse(margins.limits(case, peak))
    sealing = [r for r in rows if r.key.startswith(("residual", "follow", "lift-off"))]
    hot = margins.weakest(tuple(sealing)).state.startswith(margins.HOT)
    worst = case.low_hot if hot and case.low_hot is not None else case.low
    return Report(
        build=build,
        gas=gas,
        clamp=clamp,
        joint=made,
        case=case,
        nominal=nominal,
        warm=warm,
        sealing=worst,
        temperature=margins.HOT if hot else margins.COLD,
        over_angle=made.under_gas(worst, gas.sizing),
        limits=rows,
        order=margins.order_of_failure(case, 3.0 * peak),
        warnings=tuple(_warnings(build, gas, clamp, case, peak)),
    )


@dataclass(frozen=True)
class Warm:
    """The joint over heat cycles, with the low and the high end of the preload.

    `state` is the hot state, `mismatch` what the stack outgrows the fasteners by (m).
    """

    state: heat.ThermalState
    mismatch: float
    low: heat.HeatCycle
    high: heat.HeatCycle
    soak: heat.HeatCycle


def _warm(build: Build, made: Joint, low: Assembly, high: Assembly, peak: float) -> Warm:
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
    hot = heat.temperatures.si(h.hot_state, h.coolant_temperature)
    soak = heat.temperatures.si("cold soak", h.cold_soak)
    mismatch = float(stack.mismatch(hot))
    # creep has its place among the losses of the preload already, so none is added here
    return Warm(
        state=hot,
        mismatch=mismatch,
        low=heat.after_heat.si(made, low, mismatch),
        high=heat.after_heat.si(made, high, mismatch, gas_pressure=peak),
        soak=heat.after_heat.si(made, low, mismatch, float(stack.mismatch(soak))),
    )


def _wet(build: Build, made: Joint, warm: Warm, peak: float) -> tuple[Limit, ...]:
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
    out: dict[str, Limit] = {}
    for row in rows:
        trust = [z.status for z in made.gasket.zones if z.name == row.part]
        limit = dataclasses.replace(
            row, key=_liquid_key(row.key), status=tables.weakest(row.status, *trust)
        )
        kept = out.get(limit.key)
        if kept is None or limit.margin < kept.margin:
            out[limit.key] = limit
    return tuple(out.values())


def _liquid_key(key: str) -> str:
    for word in ("seating", "oil", "coolant"):
        if word in key:
            return f"liquid/{word}"
    return key


def _case(
    build: Build,
    clamp: Clamp,
    made: Joint,
    low: Assembly,
    high: Assembly,
    warm: Warm,
    peak: float,
) -> Case:
    f, thread, strength = build.fasteners, clamp.thread, clamp.strength
    purpose = clamp.yields_on_purpose
    tightest = float(high.assembly_preload[0]) if purpose else clamp.asked_high
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
        tightening_stress=float(stress.equivalent),
        permanent_stretch=clamp.permanent_stretch + float(np.max(warm.high.plastic_stretch)),
        stretch_limit=float(stretch["share"]) * clamp.free_length,
        strip_load=float(strip.load),
        bearing_area=float(np.pi / 4 * (f.bearing_diameter**2 - f.hole_diameter**2)),
        bearing_limit=bearing,
        under="nuts" if f.kind == "stud" else "bolt heads",
        edge=getattr(made.gasket, "edge", None),
        others=_wet(build, made, warm, peak),
        sources={
            "strength": (strength.source, strength.status, strength.note),
            "stretch": (stretch["source"], stretch["status"], stretch["note"]),
            "strip": strip_source,
            "bearing": bearing_source,
        },
    )


Origin = tuple[str, str, str]


def _shear_strength(build: Build) -> tuple[float, Origin]:
    """Shear strength of the tapped material, and where it comes from."""
    name = build.block.material
    part = tables.load("materials")[name]
    profile = "basic thread profile, 10 to 15 % better than the worst in tolerance"
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


def _warnings(build: Build, gas: Gas, clamp: Clamp, case: Case, peak: float) -> list[str]:
    out = []
    f = build.fasteners
    ratio = trade_count(build, clamp, peak * case.joint.gas_area)
    if ratio < CLAMP_RULE[0]:
        out.append(
            f"Counted as the trade does (all {f.around_bore} fasteners round the bore in full, as "
            f"tightened), the clamp is {ratio:.1f} times the gas force; it wants "
            f"{CLAMP_RULE[0]:g} to {CLAMP_RULE[1]:g} (common practice, no source)."
        )
    if clamp.asked_high > float(clamp.strength.tensile) * clamp.weakest_area:
        out.append(
            "The high end of this tightening asks for more than the fastener's tensile strength: "
            "it breaks on the wrench."
        )
    if f.thread not in tables.load("threads"):
        out.append(f"{f.thread} stands in no thread table here; make sure that it exists.")
    wet = build.liquids.deck == "wet" and build.gasket.liquid_length == 0
    if wet and any(z.role == "liquid" for z in _whole(build).zones):
        out.append(
            "The sheet gives no length of the beads at the liquid holes (gasket.liquid_length); "
            "without it the gasket is judged as if it had none."
        )
    if f.grip_head < 0.8 * build.head.thickness:
        out.append(
            "The clamped length in the head is less than the head is thick: check both lengths."
        )
    if f.engagement > 3.0 * clamp.thread.diameter:
        out.append("Threads engaged over more than three diameters: check the length.")
    if gas.knock_integral >= 1.0:
        petrol = "" if _petrol(build.fuel.name) else ", and made for petrol"
        added = (
            "the sheet adds a knock amplitude"
            if build.burn.knock_amplitude > 0
            else "the sheet adds no knock amplitude, so the sizing leaves knock out"
        )
        out.append(
            f"Knock integral {gas.knock_integral:.2f}: above 1 the end gas is expected to ignite "
            f"by itself before the flame reaches it (constants from memory{petrol}; a warning, no "
            f"forecast); {added}."
        )
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
    if float(gas.charge.pressure) > 1.05 * float(gas.charge.manifold_pressure):
        out.append(
            "Volumetric efficiency and residual fraction together trap more pressure than the "
            "manifold has; one of them is too high."
        )
    if build.charge.boost > 0:
        out.append("Power leaves out what drives the compressor.")
    if float(clamp.preload.low) <= 0:
        out.append("Embedding and creep eat up the whole preload at its low end.")
    if clamp.capped and not clamp.yields_on_purpose:
        out.append(
            "The tightening asked for takes the fastener to yield; its preload is held there."
        )
    if clamp.permanent_stretch > 0:
        out.append("The angle takes the fastener past yield: use it once, and by its own data.")
    if tables.load("materials")[build.head.material]["poisson"] is None:
        out.append(
            f"No Poisson's ratio is known for {build.head.material}; 0.30 is taken for the bending "
            "of the head (from memory)."
        )
    rule = tables.load("engagement")
    for key, word in (("iron", "grey iron"), ("A356", "cast aluminium"), ("319", "cast aluminium")):
        if key in build.block.material:
            need = rule[word]["low"] * clamp.thread.diameter
            if f.engagement < need:
                out.append(
                    f"Thread engagement {f.engagement * 1e3:.0f} mm is less than the "
                    f"{need * 1e3:.0f} mm of the rule of thumb for {word} "
                    "(common practice, no source)."
                )
            break
    return out


def trade_count(build: Build, clamp: Clamp, gas_force: float) -> float:
    """Clamp over gas force as the trade counts it.

    All fasteners round the bore in full, at the preload they are tightened to: sharing between
    bores, scatter and losses are left to the rule's own margin.
    """
    return float(build.fasteners.around_bore * clamp.preload.assembly / gas_force)


def _petrol(fuel: str) -> bool:
    return fuel in ("gasoline", "iso-octane")


# --------------------------------------------------------------------------- the page
_STYLE = """
body{font:11pt/1.4 system-ui,sans-serif;max-width:52rem;margin:1.5rem auto;padding:0 1rem;
color:#111}
h1{font-size:1.4rem;margin-bottom:.2rem}h2{font-size:1.05rem;margin:1.2rem 0 .3rem}
table{border-collapse:collapse;width:100%;font-size:9.5pt}
th,td{text-align:left;vertical-align:top;padding:.2rem .5rem .2rem 0;border-bottom:1px solid #ccc}
.verdict{border:2px solid #111;padding:.6rem .8rem;font-weight:600}
.small{font-size:9pt;color:#444}svg{width:100%;height:auto}
@media print{body{margin:0}h2{break-after:avoid}tr{break-inside:avoid}}
"""


def _page(r: Report, system: str) -> str:
    from sealkit import benchwork

    esc = html.escape
    parts = [
        "<!doctype html><html lang='en'><head><meta charset='utf-8'>",
        "<meta name='viewport' content='width=device-width, initial-scale=1'>",
        f"<title>{esc(r.build.sheet.name)}: joint report</title>",
        f"<style>{_STYLE}</style></head><body>",
        f"<h1>{esc(r.build.sheet.name)}</h1>",
        f"<p>{esc(r.build.sheet.note)}</p>" if r.build.sheet.note else "",
        f"<p class='small'>status of the numbers on the sheet: {esc(r.build.sheet.status)}</p>",
        f"<p class='verdict'>{esc(r.verdict(system))}</p>",
        _chart(r, system),
    ]
    for title, facts in r.facts(system):
        parts.append(f"<h2>{esc(title)}</h2><table>")
        parts += [f"<tr><td>{esc(k)}</td><td>{esc(v)}</td></tr>" for k, v in facts]
        parts.append("</table>")
    rows = r.rows(system)
    sources: dict[str, int] = {}
    parts.append("<h2>Limits, weakest first</h2><table><tr>")
    parts += [f"<th>{k}</th>" for k in ("limit", "needs", "has", "margin", "", "number is")]
    parts.append("</tr>")
    for row in rows:
        note = f"{row['source']}. {row['note']}" if row["note"] else row["source"]
        mark = sources.setdefault(note, len(sources) + 1)
        cells = [
            f"{esc(row['limit'])} <span class='small'>({esc(row['state'])})</span>",
            esc(row["needs"]),
            esc(row["has"]),
            esc(row["margin"]),
            esc(row["holds"]),
            f"{esc(row['status'])} [{mark}]",
        ]
        parts.append("<tr>" + "".join(f"<td>{c}</td>" for c in cells) + "</tr>")
    parts.append("</table><p class='small'>")
    parts.append("; ".join(f"[{n}] {esc(text)}" for text, n in sources.items()) + "</p><table>")
    parts.append("</table><h2>As peak pressure rises, these fail in this order</h2><table>")
    parts += [f"<tr><td>{esc(a)}</td><td>{esc(b)}</td></tr>" for a, b in r.order_rows(system)]
    parts.append("</table><h2>Gasket constructions on this engine, best first</h2><table><tr>")
    parts += [
        f"<th>{k}</th>" for k in ("construction", "margin", "", "why", "strength", "fails first")
    ]
    parts.append("</tr>")
    for row in r.ranking_rows(system):
        parts.append("<tr>" + "".join(f"<td>{esc(v)}</td>" for v in row.values()) + "</tr>")
    parts.append(f"</table><p class='small'>{esc(SCOPE)}</p>")
    parts.append(benchwork.page(r, system))
    if r.warnings:
        parts.append("<h2>Worth knowing</h2><ul>")
        parts += [f"<li>{esc(w)}</li>" for w in r.warnings]
        parts.append("</ul>")
    parts.append(f"<h2>The sheet</h2><pre class='small'>{esc(r.build.dumps())}</pre>")
    parts.append("<h2>Cautions</h2><ul>")
    parts += [f"<li>{esc(c)}</li>" for c in CAUTIONS]
    parts.append("</ul></body></html>")
    return "\n".join(parts)


def _chart(r: Report, system: str) -> str:
    """Gas load and clamp left over crank angle, as a drawing in the page itself."""
    from sealkit.units import show_unit, show_value

    angle = np.degrees(r.gas.cycle.crank_angle)
    keep = (angle >= -90) & (angle <= 120)
    x = angle[keep][::4]
    gas = show_value(r.over_angle.gas_force, "force", system)[keep][::4]
    left = show_value(r.over_angle.clamp, "force", system)[keep][::4]
    top = 1.1 * float(max(gas.max(), left.max()))
    w, h, m = 640, 260, 46

    def line(y: Array, dash: str) -> str:
        px = m + (x + 90) / 210 * (w - 2 * m)
        py = h - m - y / top * (h - 2 * m)
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(px, py, strict=True))
        return f"<polyline fill='none' stroke='#111' stroke-width='1.8' {dash} points='{points}'/>"

    ticks = "".join(
        f"<text x='{m + (t + 90) / 210 * (w - 2 * m):.0f}' y='{h - m + 16}' font-size='11' "
        f"text-anchor='middle'>{t}°</text>"
        for t in range(-90, 121, 30)
    )
    unit = show_unit("force", system)
    nice = [n * 10.0**k for k in range(7) for n in (1.0, 2.0, 5.0)]
    step = next(x for x in nice if top / x <= 6)
    steps = np.arange(0.0, top, step)
    marks = "".join(
        f"<text x='{m - 6}' y='{h - m - s / top * (h - 2 * m) + 4:.0f}' font-size='11' "
        f"text-anchor='end'>{s:,.0f}</text>"
        for s in steps
    )
    dashes = "stroke-dasharray='6 4'"
    return (
        f"<svg viewBox='0 0 {w} {h}' role='img' aria-label='gas load and clamp left on the gasket "
        f"over crank angle'><rect x='{m}' y='{m}' width='{w - 2 * m}' height='{h - 2 * m}' "
        "fill='none' stroke='#999'/>"
        f"{line(gas, '')}{line(left, dashes)}{ticks}{marks}"
        f"<text x='{w / 2}' y='{h - 8}' font-size='12' text-anchor='middle'>crank angle after top "
        "dead centre</text>"
        f"<text x='{m}' y='{m - 24}' font-size='12'>{unit} per bore, low preload, "
        f"{r.temperature}, over the cycle the joint is sized on</text>"
        f"<text x='{m}' y='{m - 9}' font-size='12'>solid: gas load; dashed: clamp left on the "
        "gasket</text></svg>"
    )


@functools.cache
def demo_report(name: str) -> Report:
    """The report on a demo build (kept)."""
    from sealkit import build

    return run(build.demo(name))
