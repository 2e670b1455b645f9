"""From a wish to a joint on paper: the boost it needs, single changes, the specification.

The power is that of `sealkit.analysis.boost_for_power`: an estimate.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import analysis
from sealkit import report as reports
from sealkit.analysis.margins import Limit
from sealkit.analysis.wrench import tighter
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.fastening import grades, threads
from sealkit.report import Report, percent, ranking, workshop
from sealkit.report.seal import at_peak
from sealkit.resources import beside
from sealkit.sealing.limit import Outcome, Temperature
from sealkit.units import from_si, to_si
from sealkit.words import note

WISH = 1.15  # of the power on the sheet: the customer's wish; invented
OWN = "as on the sheet"
_ITEMS: dict[str, str] = beside(__file__)
FUELS = ("gasoline", "E85", "ethanol", "methanol")


@dataclass(frozen=True)
class Specification:
    """A specification and what it makes of the wish."""

    sheet: Build  # as the panel has it, with the boost of its sheet
    report: Report  # of the specification, with the boost that the wish needs
    wish: float  # power asked, W

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

    @property
    def outcome(self) -> str:
        """What it makes of the wish: a key of `OUTCOMES`."""
        if self.report.outcome is Outcome.FAILS:
            return "fails"
        if self.report.leaves_knock_out or (self.report.holds and not self.quiet):
            return "knocks"
        return "meets" if self.report.holds else "close"

    @functools.cached_property
    def pressures(self) -> tuple[float, float, float]:
        """Average and design peak pressure, and that at which the first limit is reached [Pa].

        Absolute; the last no higher than the order of failure is looked at.
        """
        report, gas = self.report, self.report.gas
        reached = min(report.order[0].pressure, _LOOKED_AT * gas.design_gauge)
        return gas.mean_peak, gas.design_peak, gas.ambient + reached

    @functools.cached_property
    def loads(self) -> tuple[float, float, float]:
        """Gas load, clamp, and clamp left on one bore, low end of the preload [N]."""
        clamp, state = at_peak(self.report)
        return float(state.gas_force), clamp, max(float(state.clamp), 0.0)

    @functools.cached_property
    def limits(self) -> list[Limit]:
        """The limits, weakest first."""
        return sorted(self.report.limits, key=lambda r: r.margin)

    @property
    def giving(self) -> list[str]:
        """What gives first, second, ... as pressure rises, in a few words: three or four.

        Where fewer are reached, those with the least margin make them up.
        """
        reached = (g.limit.brief for g in self.report.order if np.isfinite(g.pressure))
        names = list(dict.fromkeys(reached))[:4]
        weak = [r.brief for r in self.limits[:8] if r.brief not in names]
        return names + weak[: max(3 - len(names), 0)]


OUTCOMES = {
    "meets": "yes",
    "close": str(Outcome.CLOSE),
    "knocks": "holds, but may knock",
    "fails": str(Outcome.FAILS),
}
_LOOKED_AT = 3.0  # of the design peak pressure, gauge, in the order of failure


def power_of(build: Build) -> float:
    """Power of the sheet as it stands, W."""
    return analysis.gas_side(build).brake_power


def wish_of(build: Build) -> float:
    """The invented customer's wish on this engine, W: to five kilowatts or ten horsepower."""
    unit, step = {"metric": ("kW", 5.0), "inch": ("hp", 10.0)}[build.system]
    number = float(from_si(WISH * power_of(build), "power").to(unit).magnitude)
    return float(to_si(f"{step * round(number / step):g} {unit}", "power"))


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


def with_grade(build: Build, name: str, own: Build) -> Build:
    """The same build with fasteners of a strength grade, or with those of `own` (name `OWN`)."""
    if name != OWN:
        return build.vary({"fasteners.grade": name})
    if own.fasteners.grade is not None:
        return build.vary({"fasteners.grade": own.fasteners.grade})
    kinds = (f"fasteners.{k}_strength" for k in ("proof", "yield", "tensile"))
    return build.vary({k: own.get(k) for k in kinds})


def specify(build: Build, wish: float) -> Specification:
    """The boost that the wish (W) needs on this sheet, and the whole joint with it."""
    made, gas = analysis.boost_for_power(build, wish)
    return Specification(build, reports.run(made, gas), wish)


def sheet_of(found: Specification) -> Build:
    """The specification as a build sheet to keep: the boost a round number, the wish told."""
    build, boost = found.build, found.build.charge.boost
    told = note(
        "Specified for {wish} on {fuel} with the boost that takes; from the sheet of {name}. "
        "Status of its numbers: {status}.",
        wish=(found.wish, "power", 0),
        fuel=build.fuel.blend,
        name=build.sheet.name,
        status=build.sheet.status,
    ).text(build.system)
    return build.vary_si({"charge.boost": round(boost, -1), "sheet.note": told})


def with_fuel(build: Build, name: str) -> Build:
    """The same build on another fuel, just as rich or lean against its own stoichiometric ratio."""
    if name == build.fuel.name:
        return build
    of_its_own = ("ethanol_share", "nitromethane_share", "octane_number")
    return build.vary({"fuel.name": name, **{f"fuel.{k}": None for k in of_its_own}})


def rows(found: Specification, system: str) -> list[dict[str, Any]]:
    """The specification in figures: item, what is specified, status."""
    report, build = found.report, found.build
    gas, f, g, own = report.gas, build.fasteners, build.gasket, build.sheet.status
    first, (at, gives) = report.first_failure, reports.order_rows(report, system)[0]
    drive = build.charge.compressor_drive if build.charge.boost > 0 else "none"
    if gas.drive_power > 0:
        drive = note("{it}, which gives {power}", it=drive, power=(gas.drive_power, "power"))

    def computed(*statuses: str) -> str:
        worst = workshop.trust(build, *statuses)
        return worst if worst == "computed" else f"computed; numbers {worst}"

    def least(temperature: Temperature) -> tuple[str, str]:
        limits = [r for r in report.limits if r.state.temperature is temperature]
        if not limits:
            return "none looked at", own
        low = min(limits, key=lambda r: r.margin)
        return f"{percent(float(low.margin))} ({low.brief})", computed(low.status)

    (cold, of_cold), (hot, of_hot) = (least(t) for t in (Temperature.COLD, Temperature.HOT))
    values: dict[str, Any] = {
        "power": (found.wish, "power", 0),
        "speed": (build.engine.speed, "crank speed"),
        "blend": build.fuel.blend,
        "ratio": f"{1.0 / float(gas.charge.mixture.equivalence_ratio):.2f}",
        "boost": (build.charge.boost, "gauge pressure"),
        "drive": drive,
        "compression": f"{build.compression_ratio:.2f}",
        "average": (gas.mean_peak, "pressure"),
        "design": (gas.design_peak, "pressure"),
        "ca50": (gas.ca50, "angle"),
        "knock": f"{gas.knock_integral:.2f}",
        "count": str(f.on_head),
        "kind": f.kind,
        "thread": f.thread,
        "strength": f.grade
        or note("proof {proof}, from the sheet", proof=(f.proof_strength or 0.0, "stress")),
        "name": g.construction,
        "thick": (g.compressed_thickness, "length"),
        "bore": (g.bore, "length"),
        "deck": build.liquids.deck,
        "cold": cold,
        "hot": hot,
        "first": f"{gives} at {at}{report.by_what}" if at else gives,
    }
    status = {
        "wish": "invented",
        "boost": computed("from memory"),
        "average peak / design peak": computed(),
        "knock integral (limit 1)": "from memory",
        "fasteners": report.clamp.strength.status,
        "least margin cold": of_cold,
        "least margin hot": of_hot,
        "first to give as pressure rises": computed(*([first.limit.status] if first else [])),
    }
    return [
        {"item": item, "specified": note(words, **values), "status": status.get(item, own)}
        for item, words in _ITEMS.items()
    ]


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

    Where none does, the wish is brought down: to the most power that holds without a knock warning,
    else by tenths to where a change does all the same. The last of these, if nothing meets.
    """
    wish, most = wish_of(build), None
    for share in (1.0, 0.9, 0.8):
        for _, found in tried(build, share * wish):
            if found is not None and found.meets:
                return found
        most = most or specify(build, most_power(build))
        if most.meets:
            break
    assert most is not None
    return most
