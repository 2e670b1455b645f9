"""The whole chain on one build: pressure, preload, joint, limits, verdict; text and page to print.

`run` takes a `sealkit.build.Build` and hands every part of it to the floors below; nothing is
worked out here that stands there.
"""

from __future__ import annotations

import functools
import html
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sealkit import margins, tables
from sealkit.build import Build
from sealkit.fastening import grades, losses, stiffness, threads, tightening
from sealkit.margins import Case, Giving, Limit
from sealkit.pressure import boost as _boost
from sealkit.pressure import burn, charge, cycle, fuels, geometry, power, variation
from sealkit.pressure.charge import Charge
from sealkit.pressure.cycle import Cycle, UpperBound
from sealkit.sealing import gaskets, joint
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
)
# trade rule for the clamp of one bore over the gas force on it
CLAMP_RULE = (2.5, 3.5)

_ROUGHNESS = {"fine": "below 10 um", "medium": "10 to 40 um", "rough": "40 to 160 um"}
_SCATTER_OF = {
    "torque": "torque wrench",
    "torque and angle": "turn of nut",
    "stretch": "elongation",
    "yield": "yield",
}
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
    sizing = above * (sizing_peak - ambient) / (mean_peak - ambient)
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
        f.yield_strength, f.tensile_strength, f.proof_strength, source="the build sheet"
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
    kb = float(stiffness.bolt_stiffness.si(segments, bolt_modulus))
    layers = [(head["modulus"], f.grip_head)]
    layers.append((block["modulus"], f.grip_block + _ENGAGED * thread.diameter))
    km = float(stiffness.member_stiffness.si(layers, f.hole_diameter, f.bearing_diameter))
    yield_preload = float(
        tightening.preload_at_utilisation.si(
            strength.yield_strength,
            1.0,
            thread.stress_area,
            thread.pitch,
            thread.pitch_diameter,
            mu_thread,
        )
    )
    b = build.fasteners.bolt_circle / 2.0
    s = build.gasket.seal_diameter / 2.0
    poisson = 0.3 if head["poisson"] is None else head["poisson"]
    plate = joint.plate_stiffness.si(head["modulus"], build.head.thickness, poisson)
    share = f.on_head / build.bores_per_head
    made = Joint(
        gasket=sized,
        bolts=share,
        bolt_stiffness=kb,
        member_stiffness=km,
        yield_force=float(strength.yield_strength * thread.stress_area),
        seal_diameter=build.gasket.seal_diameter,
        bend_pressure=float(joint.bending_by_pressure.si(1.0, s, b, plate, poisson)),
        bend_load=float(joint.bending_by_line_load.si(1.0, s, b, plate, poisson)),
    )

    arms = (thread.diameter, thread.pitch, mu_thread, mu_head, thread.pitch_diameter)
    rest = (f.bearing_diameter, f.hole_diameter)
    torque = 0.0
    if f.tightening in ("torque", "torque and angle"):
        torque = float(f.torque or 0.0)
        wanted = float(tightening.preload_long.si(torque, *arms, *rest))
        if f.tightening == "torque and angle":
            wanted = made.turned(wanted, thread.pitch * float(f.angle or 0.0) / (2 * np.pi))
    elif f.tightening == "stretch":
        wanted = kb * float(f.stretch or 0.0)
    else:
        wanted = yield_preload
    nominal = min(wanted, yield_preload)
    if f.preload_scatter is not None:
        scatter, origin = f.preload_scatter, ("the build sheet", build.sheet.status)
    else:
        row = tables.load("scatter")[_SCATTER_OF[f.tightening]]
        scatter, origin = row["high"], (row["source"], row["status"])
    depth = losses.embedding_depth.si(_ROUGHNESS[f.roughness], interfaces=2, faces=1, threads=1)
    before = made.assemble(nominal)
    gasket_stiffness = float(made.gasket_stiffness(before)[0]) / share
    terms = [
        losses.embedding_loss.si(depth, kb, 1.0 / (1.0 / km + 1.0 / gasket_stiffness)),
    ]
    creep, source, status = _creep(build)
    terms.append(losses.share_loss.si("gasket creep relaxation", creep / 2, creep, source, status))
    spread = losses.preload_range.si(nominal, scatter, terms)
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
        ),
        made,
    )


def _creep(build: Build) -> tuple[float, str, str]:
    if build.gasket.creep_relaxation is not None:
        status = build.sheet.status if build.sheet.status in tables.STATUSES else "from memory"
        return build.gasket.creep_relaxation, "the build sheet", status
    row = tables.load("creep").get(build.gasket.construction, "gasket.construction")
    return row["share"], row["source"], row["status"]


def gasket_of(build: Build) -> gaskets.Gasket:
    """The gasket of a build, sized for one bore."""
    g = build.gasket
    sizes = (np.pi * g.seal_diameter, g.body_area, g.liquid_length)
    if g.zones:
        zones, _ = gaskets.read_zones(g.zones, "gasket.zones")
        return gaskets.Gasket(g.construction, zones).sized(*sizes)
    return _sized(g.construction, *sizes)


@functools.lru_cache(maxsize=64)
def _sized(name: str, *sizes: float) -> gaskets.Gasket:
    """A construction on one bore, kept, since its unloading paths take time to prepare."""
    return gaskets.construction(name).sized(*sizes)


@dataclass(frozen=True)
class Report:
    """Everything worked out for one build. Numbers are plain SI; `text` and `page` show them."""

    build: Build
    gas: Gas
    clamp: Clamp
    joint: Joint
    case: Case
    nominal: Assembly
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
        head = (
            "Holds."
            if not bad
            else f"Does not hold: {len(bad)} of {len(self.limits)} limits are passed."
        )
        line = (
            f"{head} Weakest link: {w.what}, {show(w.demand, w.kind, system)} against "
            f"{show(w.capacity, w.kind, system)}, margin {100 * w.margin:+.0f} % ({w.state})."
        )
        first = self.first_to_give
        if first is None:
            return f"{line} Nothing gives up to three times this pressure."
        if first.pressure <= 0.0:
            return f"{line} It is passed without any gas pressure: {first.limit.gives}."
        at = show(first.pressure + self.gas.ambient, "pressure", system)
        return f"{line} As peak pressure rises, this gives first, at {at}: {first.limit.gives}."

    # ------------------------------------------------------------------ tables
    def rows(self, system: str = "metric") -> list[dict[str, str]]:
        """The limits as text, weakest first."""
        return [
            {
                "limit": r.what,
                "demand": show(r.demand, r.kind, system),
                "capacity": show(r.capacity, r.kind, system),
                "margin": f"{100 * r.margin:+.0f} %" if np.isfinite(r.margin) else "no demand",
                "holds": "holds" if r.holds else "DOES NOT HOLD",
                "state": r.state,
                "source": r.source,
                "status": r.status,
            }
            for r in sorted(self.limits, key=lambda r: r.margin)
        ]

    def frame(self, system: str = "metric") -> pd.DataFrame:
        """The limits as a table, weakest first."""
        import pandas as pd

        return pd.DataFrame(self.rows(system))

    def facts(self, system: str = "metric") -> list[tuple[str, list[tuple[str, str]]]]:
        """What the verdict stands on, in groups of (what, value)."""
        g, c = self.gas, self.clamp
        peak_angle = show(g.cycle.peak_angle, "angle", system)
        p = c.preload

        def three(low: Any, middle: Any, high: Any, kind: str = "force") -> str:
            return " / ".join(show(x, kind, system) for x in (low, middle, high))

        clamp = self.joint.bolts * np.array([p.low, p.nominal, p.high])
        gas_force = (g.sizing_peak - g.ambient) * self.joint.gas_area
        lost = [
            (f"lost to {t.name}", f"{three(t.low, t.nominal, t.high)} ({t.status})")
            for t in p.terms
        ]
        return [
            (
                "Pressure in the cylinder (absolute)",
                [
                    ("compression ratio", f"{self.build.compression_ratio:.2f}"),
                    (
                        "manifold",
                        f"{show(g.charge.manifold_pressure, 'pressure', system)}, "
                        f"{show(g.charge.manifold_temperature, 'temperature', system)}",
                    ),
                    (
                        "peak of the mean cycle",
                        f"{show(g.mean_peak, 'pressure', system)}, {peak_angle} after top dead "
                        "centre",
                    ),
                    (
                        f"peak exceeded by one cycle in {self.build.burn.one_cycle_in:g}",
                        show(g.rare_peak, "pressure", system),
                    ),
                    ("with knock: the joint is sized on", show(g.sizing_peak, "pressure", system)),
                    (
                        "upper bound: all burnt at once at top dead centre",
                        show(g.bound.peak_pressure, "pressure", system),
                    ),
                    (
                        "estimate of brake power and torque",
                        f"{show(g.brake_power, 'power', system)}, "
                        f"{show(g.brake_torque, 'torque', system)}",
                    ),
                ],
            ),
            (
                "Preload of one fastener (low / nominal / high)",
                [
                    ("as tightened", three(p.assembly_low, p.assembly, p.assembly_high)),
                    (
                        "scatter of the method",
                        f"±{show(c.scatter, 'fraction', system, 0)} ({c.scatter_source[1]}: "
                        f"{c.scatter_source[0]})",
                    ),
                    *lost,
                    ("left", three(p.low, p.nominal, p.high)),
                    ("yields while tightening at", show(c.yield_preload, "force", system)),
                    (
                        "stiffness of fastener and members",
                        f"{show(c.bolt_stiffness, 'stiffness', system)}, "
                        f"{show(c.member_stiffness, 'stiffness', system)}",
                    ),
                ],
            ),
            (
                "Joint of one bore",
                [
                    (
                        "fasteners that count for one bore",
                        f"{self.joint.bolts:.2f} ({self.build.fasteners.on_head} on the head, "
                        f"{self.build.bores_per_head} bores; {self.build.fasteners.around_bore} "
                        "stand around one bore and are shared)",
                    ),
                    ("clamp (low / nominal / high)", three(*clamp)),
                    ("gas force the joint is sized on", show(gas_force, "force", system)),
                    (
                        "clamp over gas force",
                        " / ".join(f"{x / gas_force:.2f}" for x in clamp)
                        + " (the trade wants about 3; common practice, no source)",
                    ),
                    (
                        "seal opens at peak (low preload)",
                        show(float(np.max(self.over_angle.seal_lift)), "lift", system),
                    ),
                ],
            ),
        ]

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
                f"  {r['margin']:>9}  {r['holds']:<13}  {r['limit']}: {r['demand']} against "
                f"{r['capacity']} ({r['state']})"
            )
            out.append(f"{'':28}{r['status']}: {r['source']}")
        out += ["", "As peak pressure rises, these give in this order"]
        out += [f"  {a:>12}  {b}" for a, b in self.order_rows(system)]
        if self.warnings:
            out += ["", "Worth knowing"]
            out += [f"  {w}" for w in self.warnings]
        out += ["", "Verdict", f"  {self.verdict(system)}", ""]
        out += CAUTIONS
        return "\n".join(out)

    def order_rows(self, system: str = "metric") -> list[tuple[str, str]]:
        """(peak pressure, what gives) in the order in which limits are reached."""
        rows = []
        for g in self.order:
            if not np.isfinite(g.pressure):
                continue
            at = (
                "no gas"
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


def run(build: Build) -> Report:
    """The whole chain on one build.

    Parameters
    ----------
    build : a checked build sheet

    Returns
    -------
    Report

    Raises
    ------
    InputError
        naming what cannot be worked out, such as a gas outside the tables.
    """
    gas = gas_side(build)
    clamp, made = clamp_side(build, gasket_of(build))
    p = clamp.preload
    low = made.assemble(p.assembly_low, np.minimum(p.low, p.assembly_low))
    nominal = made.assemble(p.assembly, np.minimum(p.nominal, p.assembly))
    # no fastener keeps more than it yields at
    top = min(float(p.assembly_high), clamp.yield_preload)
    high = made.assemble(top, min(float(p.high), top))
    f, thread, strength = build.fasteners, clamp.thread, clamp.strength
    purpose = f.tightening in ("torque and angle", "yield")
    materials = tables.load("materials")
    arms = (thread.diameter, thread.pitch, clamp.friction_thread, clamp.friction_head)
    tightest = top if purpose else float(p.assembly_high)
    split = tightening.torque_split.si(
        tightest, *arms, thread.pitch_diameter, f.bearing_diameter, f.hole_diameter
    )
    stress = tightening.tightening_stress.si(
        tightest, split.stretching + split.thread, thread.stress_area, "plastic"
    )
    part = materials[build.block.material]
    shear, shear_status, shear_note = _shear_strength(part)
    strip = stiffness.stripping.si(
        f.engagement, thread.diameter, thread.pitch, thread.stress_area, strength.tensile, shear
    )
    bearing, bearing_source = _bearing(build)
    case = Case(
        joint=made,
        low=low,
        high=high,
        yields_on_purpose=purpose,
        proof=float(strength.proof),
        yield_strength=float(strength.yield_strength),
        stress_area=float(thread.stress_area),
        tightening_stress=float(stress.equivalent),
        strip_load=float(strip.load),
        bearing_area=float(np.pi / 4 * (f.bearing_diameter**2 - f.hole_diameter**2)),
        bearing_limit=bearing,
        sources={
            "strength": (strength.source, strength.status),
            "strip": (f"{part['source']}{shear_note}", shear_status),
            "bearing": bearing_source,
        },
    )
    peak = gas.sizing_peak - gas.ambient
    over_angle = made.under_gas(low, gas.sizing)
    return Report(
        build=build,
        gas=gas,
        clamp=clamp,
        joint=made,
        case=case,
        nominal=nominal,
        over_angle=over_angle,
        limits=margins.limits(case, peak),
        order=margins.order_of_failure(case, 3.0 * peak),
        warnings=tuple(_warnings(build, gas, clamp, made, low)),
    )


def _shear_strength(part: Any) -> tuple[float, str, str]:
    if part["shear_strength"] is not None:
        return float(part["shear_strength"]), part["status"], ""
    share = 0.6
    if part["tensile"] is None:
        part = tables.load("materials")["grey iron"]
    return (
        share * float(part["tensile"]),
        "from memory",
        "; shear strength taken as 0.6 of tensile strength, from memory",
    )


def _bearing(build: Build) -> tuple[float, tuple[str, str]]:
    table = tables.load("bearing_limits")
    name = build.head.material
    row = table[name] if name in table else table[_like(name)]
    note = "" if name in table else f", taken for {name}"
    return float(row["low"]), (row["source"] + note, row["status"])


def _like(name: str) -> str:
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
    return "AlSi7Mg-T6"


def _warnings(build: Build, gas: Gas, clamp: Clamp, made: Joint, low: Assembly) -> list[str]:
    out = []
    if gas.knock_integral >= 1.0:
        out.append(
            f"Knock integral {gas.knock_integral:.2f}: above 1 the end gas is expected to ignite "
            "by itself before the flame reaches it (constants from memory; a warning, no forecast)."
        )
    if tables.load("materials")[build.head.material]["poisson"] is None:
        out.append(
            f"No Poisson's ratio is known for {build.head.material}; 0.30 is taken for the bending "
            "of the head (from memory)."
        )
    if clamp.capped:
        out.append(
            "The tightening asked for takes the fastener to yield; its preload is held there."
        )
    if clamp.preload.assembly_high > clamp.yield_preload and not clamp.capped:
        out.append("The high end of the scatter yields the fastener while it is tightened.")
    low_, high_ = tables.load("engagement"), build.fasteners
    for key, word in (("iron", "grey iron"), ("A356", "cast aluminium"), ("319", "cast aluminium")):
        if key in build.block.material:
            need = low_[word]["low"] * clamp.thread.diameter
            if high_.engagement < need:
                out.append(
                    f"Thread engagement {high_.engagement * 1e3:.0f} mm is less than the "
                    f"{need * 1e3:.0f} mm of the rule of thumb for {word} "
                    "(common practice, no source)."
                )
            break
    if gas.rare_peak > float(gas.bound.peak_pressure):
        out.append(
            "The rare peak lies above the upper bound of the charge: the spread asked for is more "
            "than this charge can give."
        )
    return out


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
    parts.append("<h2>Limits, weakest first</h2><table><tr>")
    parts += [f"<th>{esc(k)}</th>" for k in rows[0]]
    parts.append("</tr>")
    for row in rows:
        parts.append("<tr>" + "".join(f"<td>{esc(v)}</td>" for v in row.values()) + "</tr>")
    parts.append("</table><h2>As peak pressure rises, these give in this order</h2><table>")
    parts += [f"<tr><td>{esc(a)}</td><td>{esc(b)}</td></tr>" for a, b in r.order_rows(system)]
    parts.append("</table>")
    if r.warnings:
        parts.append("<h2>Worth knowing</h2><ul>")
        parts += [f"<li>{esc(w)}</li>" for w in r.warnings]
        parts.append("</ul>")
    parts.append("<h2>The sheet</h2>" + r.build.html(system))
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
    steps = np.linspace(0, top, 5)[1:-1]
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
        f"<text x='{m}' y='{m - 10}' font-size='12'>{unit} per bore, low preload, the cycle the "
        "joint is sized on: solid gas load, dashed clamp left on the gasket</text></svg>"
    )


@functools.cache
def demo_report(name: str) -> Report:
    """The report on a demo build (kept)."""
    from sealkit import build

    return run(build.demo(name))
