"""From a wish to a joint on paper: the boost it needs, single changes, the specification.

The power is that of `sealkit.analysis.boost_for_power`: an estimate, the drive of the
compressor not taken off.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

from sealkit import analysis, tables
from sealkit import report as reports
from sealkit.analysis.margins import Limit
from sealkit.analysis.wrench import tighter
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.fastening import grades, threads, tightening
from sealkit.report import Report, percent, ranking, workshop
from sealkit.sealing.limit import Temperature
from sealkit.units import from_si, show, to_si

WISH = 1.15  # of the power on the sheet: the customer's wish; invented
FUELS = ("gasoline", "E85", "ethanol", "methanol")
STEPS = (0.5, 0.75, 1.0)  # of the torque; common practice, no source
NO_WEIGHT = "common practice, no source"


@dataclass(frozen=True)
class Specification:
    """A specification and what it makes of the wish.

    Parameters
    ----------
    sheet : as the panel has it, with the boost of its sheet
    report : of the specification, with the boost that the wish needs
    wish : power asked, W
    """

    sheet: Build
    report: Report
    wish: float

    @property
    def build(self) -> Build:
        """The specification."""
        return self.report.build

    @property
    def quiet(self) -> bool:
        """Whether there is no knock warning."""
        return self.report.gas.knock_integral < 1.0

    @property
    def meets(self) -> bool:
        """Whether power, margins and knock are as wished."""
        return self.report.holds and self.quiet


@functools.lru_cache(maxsize=32)
def power_of(build: Build) -> float:
    """Power of the sheet as it stands, W."""
    return analysis.gas_side(build).brake_power


def round_power(watts: float, system: str) -> float:
    """A power rounded to five kilowatts or ten horsepower, as somebody would ask for it, W."""
    unit, step = {"metric": ("kW", 5.0), "inch": ("hp", 10.0)}[system]
    number = float(from_si(watts, "power").to(unit).magnitude)
    return float(to_si(f"{step * round(number / step):g} {unit}", "power"))


def wish_of(build: Build) -> float:
    """The invented customer's wish on this engine, W."""
    return round_power(WISH * power_of(build), build.system)


def grades_of(build: Build) -> tuple[str, ...]:
    """Strength grades that come in the diameter of the fasteners."""
    diameter = float(threads.thread.si(build.fasteners.thread).diameter)
    out = []
    for name in grades.grades():
        try:
            grades.strength.si(name, diameter)
        except InputError:
            continue
        out.append(name)
    return tuple(out)


def specify(build: Build, wish: float) -> Specification:
    """The boost that the wish (W) needs on this sheet, and the whole joint with it."""
    made, gas = analysis.boost_for_power(build, wish)
    return Specification(build, reports.run(made, gas), wish)


def find(build: Build) -> Specification:
    """The specification for the customer's wish on this engine."""
    return specify(build, wish_of(build))


def with_fuel(build: Build, name: str) -> Build:
    """The same build on another fuel, just as rich or lean against its own stoichiometric ratio."""
    if name == build.fuel.name:
        return build
    blend = {"fuel.ethanol_share": None, "fuel.nitromethane_share": None}
    return build.vary({"fuel.name": name, **blend})


_BRIEF = {
    "residual": "load left on the seal",
    "springback": "seal follows the lift",
    "lift-off": "clamp against the gas",
    "blow-out": "{part} against blow-out",
    "fastener": "fasteners, proof strength",
    "threads": "threads in the block",
    "bearing": "pressure under the fasteners",
    "seating": "{part} seated",
    "crush": "{part} not crushed",
    "tightening": "fasteners on the wrench",
    "permanent stretch": "stretch past yield",
    "liquid": "liquids at the deck",
}


def brief(limit: Limit) -> str:
    """What is limited, in a few words."""
    return _BRIEF.get(limit.check, str(limit.title)).format(part=limit.part)


def trust(build: Build, *statuses: str) -> str:
    """Status of what is computed from this sheet and from numbers of these statuses."""
    own = build.sheet.status
    # what somebody puts on a sheet of his own is taken as from memory
    return tables.weakest("computed", own if own in tables.STATUSES else "from memory", *statuses)


def procedure(report: Report, system: str) -> list[tuple[str, str, str]]:
    """The tightening procedure of a build as (step, what to do, status)."""
    f, c = report.build.fasteners, report.clamp
    torque = show(f.torque or 0.0, "torque", system)
    friction = tightening.friction.si(f.lubricant)
    out = [
        ("clean", "chase and blow out every hole; no liquid below a bolt", NO_WEIGHT),
        ("lubricate", f"thread and under the head: {f.lubricant}", str(friction.status)),
        ("order", "from the middle outwards, in a spiral, in every step", NO_WEIGHT),
    ]
    own = report.build.sheet.status
    if f.tightening == "torque":
        steps = " / ".join(show(s * float(f.torque or 0.0), "torque", system) for s in STEPS)
        out.append(("torque", f"in {len(STEPS)} steps: {steps}", f"{own}; steps: {NO_WEIGHT}"))
    elif f.tightening == "torque and angle":
        angle = show(f.angle or 0.0, "angle", system)
        out.append(("snug", torque, own))
        out.append(("angle", f"then {angle}, all in the same order, by an angle gauge", own))
    elif f.tightening == "stretch":
        out.append(
            (
                "stretch",
                f"{show(f.stretch or 0.0, 'length', system, 4 if system == 'inch' else 3)} each, "
                "measured over the whole length before and after",
                own,
            )
        )
    else:
        out.append(("yield", "until torque no longer rises with angle; new fasteners only", own))
    p = c.preload
    stretch = float(p.assembly) / c.bolt_stiffness
    out += [
        (
            "expect",
            f"{show(p.assembly, 'force', system)} each ("
            f"{show(p.assembly_low, 'force', system)} to "
            f"{show(p.assembly_high, 'force', system)}), {show(stretch, 'lift', system)} of "
            "stretch",
            trust(report.build, str(friction.status), c.scatter_source[1]),
        ),
        (
            "after the first heat",
            workshop.retorque(report).text(system),
            trust(report.build, *(z.status for z in report.joint.gasket.zones)),
        ),
        (
            "fasteners",
            "used once, by their own data" if c.yields_on_purpose else "measure before using again",
            NO_WEIGHT,
        ),
    ]
    return out


def rows(found: Specification, system: str) -> list[dict[str, str]]:
    """The specification as (item, value, status) rows."""
    report, build = found.report, found.build
    gas, f, g = report.gas, build.fasteners, build.gasket
    own = build.sheet.status
    mixture = gas.charge.mixture
    strength = f.grade or (
        f"proof {show(f.proof_strength or 0.0, 'stress', system)}, from the sheet"
    )
    hot = [r for r in report.limits if r.state.temperature is Temperature.HOT]
    cold = [r for r in report.limits if r.state.temperature is Temperature.COLD]

    def least(what: str, rows: list[Limit]) -> tuple[str, str, str]:
        if not rows:
            return what, "none looked at", own
        low = min(rows, key=lambda r: r.margin)
        return what, f"{percent(float(low.margin))} ({brief(low)})", trust(build, low.status)

    first = report.first_failure
    at, gives = reports.order_rows(report, system)[0]
    fails = f"{gives} at {at}" if at else gives
    last = trust(build, *([first.limit.status] if first else []))

    rows = [
        ("wish", f"{show(found.wish, 'power', system)} at {show(build.engine.speed, 'crank speed', system)}", "invented"),  # noqa: E501
        ("fuel", f"{mixture.fuel}, lambda {1.0 / float(mixture.equivalence_ratio):.2f}", own),
        ("boost", show(build.charge.boost, "gauge pressure", system), trust(build, "from memory")),
        ("compression ratio", f"{build.compression_ratio:.2f}", own),
        ("average peak / sized on", f"{show(gas.mean_peak, 'pressure', system)} / {show(gas.design_peak, 'pressure', system)}", trust(build)),  # noqa: E501
        ("knock integral (limit 1)", f"{gas.knock_integral:.2f}", "from memory"),
        ("fasteners", f"{f.on_head} {f.kind}s {f.thread} on a head, {strength}", report.clamp.strength.status),  # noqa: E501
        ("gasket", f"{g.construction}, {show(g.compressed_thickness, 'length', system)} clamped, opening {show(g.bore, 'length', system)}", own),  # noqa: E501
        ("deck", build.liquids.deck, own),
        least("least margin cold", cold),
        least("least margin hot", hot),
        ("first to give as pressure rises", fails, last),
    ]  # fmt: skip
    return [{"item": a, "specified": b, "status": c} for a, b, c in rows]


def changes(build: Build) -> dict[str, Build]:
    """Single changes that a shop would try, each on its own, the least work first.

    The order is common practice, no source.
    """
    out = {"nothing but boost": build}
    for name in FUELS:
        if name != build.fuel.name:
            out[f"fuel: {name}"] = with_fuel(build, name)
    if build.fasteners.tightening != "yield":
        out["a tenth more tightening"] = tighter(build)
    for name in ("multi-layer steel", "multi-layer steel with stopper"):
        if name != build.gasket.construction:
            out[f"gasket: {name}"] = ranking.with_construction(build, name)
    out["one ratio less"] = build.vary({"engine.compression_ratio": build.compression_ratio - 1.0})
    return out


@functools.lru_cache(maxsize=8)
def tried(build: Build, wish: float) -> tuple[tuple[str, Specification | None], ...]:
    """Every single change with the boost that it needs; None where none makes the power."""
    out: list[tuple[str, Specification | None]] = []
    for words, one in changes(build).items():
        try:
            out.append((words, specify(one, wish)))
        except InputError:
            out.append((words, None))
    return tuple(out)


@functools.lru_cache(maxsize=8)
def most_power(build: Build) -> float:
    """The largest power at which the sheet holds and is quiet, nothing changed but boost, W."""

    def fits(watts: float) -> bool:
        try:
            return specify(build, watts).meets
        except InputError:
            return False

    low, high = 0.3 * power_of(build), 2.0 * power_of(build)
    for _ in range(12):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def met(build: Build) -> Specification:
    """The specification with the first single change that meets the customer's wish.

    Where none does, the wish is brought down to the most power that holds without a knock warning.
    """
    wish = wish_of(build)
    for _, found in tried(build, wish):
        if found is not None and found.meets:
            return found
    return specify(build, most_power(build))
