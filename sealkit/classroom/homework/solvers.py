"""Solvers of those cards that formulas do not do: charts to read, and what differs by engine.

A solver takes the numbers of one engine (plain SI) and hands back the answer, what each wrong
route gives, and the chart to read. Its name is that of the question in the card set:
`solvers.SOLVERS["02/chart"]`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis
from sealkit.classroom.drawing.card_chart import Chart, Curve
from sealkit.classroom.homework.engines import Numbers
from sealkit.classroom.homework.formulas import gas_force, mean_share
from sealkit.classroom.homework.questions import Solved
from sealkit.errors import fail
from sealkit.fastening import stiffness, tightening
from sealkit.fastening.threads import thread
from sealkit.pressure import boost, cycle, geometry
from sealkit.sealing import clearances, constructions, grooves
from sealkit.sealing.gaskets import Zone
from sealkit.sealing.joint import bending_by_pressure, plate_stiffness

Array = NDArray[np.float64]
Solver = Callable[[Numbers], Solved]
Line = tuple[str, str, str, Array, str]  # label, pitfall, colour, numbers, dash

SOLVERS: dict[str, Solver] = {}


def solver(*names: str) -> Callable[[Solver], Solver]:
    """Keep a function as the solver of the questions of these names."""

    def keep(function: Solver) -> Solver:
        SOLVERS.update(dict.fromkeys(names, function))
        return function

    return keep


# --------------------------------------------------------------------------- charts
def charted(
    title: str,
    x: tuple[str, str],
    y: tuple[str, str],
    along: Array,
    at: float,
    lines: Iterable[Line],
    wrong: Mapping[str, float] | None = None,
) -> Solved:
    """A chart that is read at one place.

    Parameters
    ----------
    title : over the chart
    x, y : words of the axis and kind of quantity
    along : numbers over which the lines are drawn
    at : where it is read
    lines : (label, pitfall, colour, numbers, dash pattern) each; the pitfall is that of reading
        this line, "" where none is told, and "right" for the line that has the answer
    wrong : pitfalls that do not come from another line
    """
    every = list(lines)
    curves = tuple(
        Curve(label, along, height, colour, dash) for label, _, colour, height, dash in every
    )
    heights = {
        pitfall: float(np.interp(at, along, height))
        for _, pitfall, _, height, _ in every
        if pitfall
    }
    right = float(heights.pop("right"))
    return Solved(right, heights | dict(wrong or {}), chart=Chart(title, x, y, curves))


# --------------------------------------------------------------------------- the sets
@solver("00/chart", "11/chart")
def _(n: Numbers) -> Solved:
    clamp, p = n.preload * mean_share(n), np.linspace(0.0, 1.25 * n.read_at, 41)
    load = gas_force(p, n.seal)
    bolts, left = clamp + n.constant * load, clamp - (1.0 - n.constant) * load
    found = charted(
        "Forces on one bore over gas pressure above the air outside",
        ("pressure above the air outside", "gauge pressure"),
        ("force", "force"),
        p,
        n.read_at,
        [
            ("all bolts together", "bolt line", "clamp", bolts, "4 3"),
            ("clamp left on the gasket", "right", "seal load", left, ""),
            ("gas load", "gas line", "gas load", load, "1 4"),
        ],
    )
    if float(found.value) < 0.15 * clamp:
        raise fail("clamp left", "near nothing", "a joint that stays closed")
    return found


@solver("01/chart")
def _(n: Numbers) -> Solved:
    p, t = n.air + n.boost, 340.0
    full = geometry.swept_volume.si(n.bore, n.stroke) * n.ratio / (n.ratio - 1.0)
    energy = 2.3e6 * float(boost.trapped_mass.si(p, t, full))
    shape = (n.bore, n.stroke, 1.65 * n.stroke, n.ratio, n.speed, p, t)
    angle = np.linspace(math.radians(-90.0), math.radians(120.0), 106)

    def cylinder(heat: float, start: Any) -> Any:
        return cycle.simple_cycle.si(*shape, heat, start, math.radians(60.0))

    # the burn is timed so that the peak is that of the other questions
    starts = np.radians(np.linspace(-40.0, 2.0, 8))
    peaks = cylinder(energy, starts).pressure.max(axis=-1)
    if not peaks.min() < n.peak < peaks.max():
        raise fail("peak", f"{n.peak:.4g} Pa", "one that this charge reaches")
    start = float(np.interp(-n.peak, -peaks, starts))

    def line(heat: float) -> Array:
        c = cylinder(heat, start)
        return np.interp(angle, c.crank_angle, c.pressure)

    chart = Chart(
        "Pressure in the cylinder over crank angle",
        ("crank angle after firing top dead centre", "angle"),
        ("absolute pressure", "pressure"),
        (
            Curve("firing", angle, line(energy), "pressure"),
            Curve("not firing", angle, line(0.0), "pressure", "4 3"),
        ),
    )
    firing, motored = chart.curves
    wrong = {
        "line without firing": np.interp(n.chart_angle, angle, motored.y),
        "peak for the angle": firing.y.max(),
    }
    return Solved(np.interp(n.chart_angle, angle, firing.y), wrong, chart=chart)


@solver("02/chart")
def _(n: Numbers) -> Solved:
    d, torque = thread.si(n.thread).diameter, np.linspace(0.0, 1.15 * n.torque, 3)

    def line(name: str, pitfall: str, k: float, dash: str) -> tuple[str, str, str, Array, str]:
        preload = tightening.preload_short.si(torque, n.nut_factor * k, d)
        return f"{name}, K = {n.nut_factor * k:.3f}", pitfall, "clamp", preload, dash

    return charted(
        f"Preload of one {n.thread} bolt over torque",
        ("torque", "torque"),
        ("preload", "force"),
        torque,
        n.torque,
        [
            line("dry", "dry line", 1.45, "4 3"),
            line("engine oil", "right", 1.0, ""),
            line("moly paste", "paste line", 0.7, "1 4"),
        ],
    )


@solver("03/chart")
def _(n: Numbers) -> Solved:
    apart = float(stiffness.separation_load.si(n.preload, n.constant))
    load = np.linspace(0.0, 1.3 * apart, 105)
    closed = load < apart
    bolt = np.where(closed, stiffness.bolt_load.si(n.preload, n.constant, load), load)
    left = np.where(closed, n.preload - (1.0 - n.constant) * load, 0.0)
    return charted(
        "One bolt and its share of the joint over the gas load on it",
        ("gas load on one bolt", "force"),
        ("force", "force"),
        load,
        n.chart_gas,
        [
            ("force in the bolt", "bolt line", "clamp", bolt, ""),
            ("clamp left", "right", "seal load", left, "4 3"),
            ("gas load itself", "gas line", "gas load", load, "1 4"),
        ],
    )


def come_back(zone: Zone, top: float, gap: float, axis: tuple[str, str], title: str) -> Solved:
    """Load left on a zone after the joint has opened by a gap, beside its first loading."""
    reached = float(np.interp(top, zone.load, zone.closure))
    closure, load = (a[0] for a in zone.path(np.array([reached])))
    inside = closure <= reached
    opened = np.linspace(0.0, 1.6 * gap, 65)
    back = np.interp(reached - opened, closure[inside], load[inside])
    first = zone.loading(reached - opened)
    found = charted(
        title,
        ("how far the joint has opened", "lift"),
        axis,
        opened,
        gap,
        [
            ("first loading, to here", "loading curve for unloading", "seal load", first, "4 3"),
            ("coming back", "right", "seal load", back, ""),
        ],
    )
    left, loading = float(found.value), float(found.wrong["loading curve for unloading"])
    if not 0.15 * top < left < 0.75 * loading:
        raise fail("load left", f"{left:.3g}", "less than on first loading, and not nothing")
    wrong = {**found.wrong, "lost part for what is left": top - left}
    if loading < 0.75 * top:
        wrong["clamp for what is left"] = top
    return Solved(left, wrong, chart=found.chart)


def zone_of(construction: str, role: str) -> Zone:
    """A zone of a construction of usual sizes."""
    return next(z for z in constructions.make(construction).zones if z.role == role)


@solver("04/chart")
def _(n: Numbers) -> Solved:
    return come_back(
        zone_of("fibre composite", "body"),
        n.body_stress,
        n.body_gap,
        ("stress on the sheet", "stress"),
        "Stress on a fibre sheet as the joint opens from its clamp",
    )


@solver("10/chart")
def _(n: Numbers) -> Solved:
    return come_back(
        zone_of("multi-layer steel", "seal"),
        n.bead_top,
        n.bead_gap,
        ("line load on the bead", "line load"),
        "Line load on a steel bead as the joint opens from its clamp",
    )


@solver("05/end-share")
def _(n: Numbers) -> Solved:
    least, mean = analysis.fastener_shares(n.cylinders, n.around, n.on_head)
    wrong = {"every bolt counted in full": n.around}
    if abs(least - mean) > 0.05 * mean:
        wrong["mean for the worst bore"] = mean
    else:
        wrong["all bolts for one bore"] = n.on_head
    return Solved(least, wrong)


@solver("05/chart")
def _(n: Numbers) -> Solved:
    p = np.linspace(0.0, 1.25 * n.read_at, 21)

    def rise(thicker: float) -> Any:
        plate = plate_stiffness.si(n.aluminium, thicker * n.head, n.poisson)
        return bending_by_pressure.si(p, n.seal / 2.0, n.bolt_circle / 2.0, plate, n.poisson)

    return charted(
        "Rise of the head at the seal over gas pressure, the head a plate on its bolts",
        ("pressure above the air outside", "gauge pressure"),
        ("rise at the seal", "lift"),
        p,
        n.read_at,
        [
            ("given head", "right", "lift", rise(1.0), ""),
            ("thinner head", "line of the thinner head", "lift", rise(0.85), "4 3"),
            ("thicker head", "line of the thicker head", "lift", rise(1.2), "1 4"),
        ],
    )


@solver("06/chart")
def _(n: Numbers) -> Solved:
    depth = np.linspace(0.0, 0.25 * n.wire, 51)  # as deep as the thin wire goes
    sheet = constructions.CopperWireRing.from_table().sheet_thickness
    soft, hard, thin = (
        grooves.forming_line_load.si(k * n.wire, depth, sheet, temper=temper)
        for k, temper in ((1.0, "annealed"), (1.0, "hard"), (0.5, "annealed"))
    )
    return charted(
        "Line load that presses the wire into the copper over the depth of the furrow",
        ("depth of the furrow", "length"),
        ("line load", "line load"),
        depth,
        n.furrow,
        [
            ("annealed copper", "right", "seal load", soft, ""),
            ("hard copper", "line of hard copper", "seal load", hard, "4 3"),
            ("annealed, wire half as thick", "line of the thin wire", "seal load", thin, "1 4"),
        ],
    )


@solver("07/chart")
def _(n: Numbers) -> Solved:
    rise, iron = np.linspace(0.0, 1.3 * n.rise, 21), 10.8e-6

    def preload(expansion: float) -> Array:
        head = [(expansion, n.head_length, rise)]
        bolt = (n.steel_expansion, n.head_length, n.bolt_rise / n.rise * rise)
        springs = (n.bolt_stiffness, n.member_stiffness)
        change: Array = stiffness.thermal_preload_change.si(head, *bolt, *springs)
        return n.preload + change

    hot, cold = preload(n.aluminium_expansion), np.full_like(rise, n.preload)
    return charted(
        "Preload of one bolt over the temperature rise of the head; the bolt rises 0.7 of that",
        ("temperature rise of the head", "temperature difference"),
        ("preload", "force"),
        rise,
        n.rise,
        [
            ("aluminium head", "right", "clamp", hot, ""),
            ("iron head", "", "clamp", preload(iron), "4 3"),
            ("cold preload", "cold for hot", "clamp", cold, "1 4"),
        ],
        {"gain taken off": 2.0 * n.preload - float(np.interp(n.rise, rise, hot))},
    )


@solver("08/chart")
def _(n: Numbers) -> Solved:
    change = np.linspace(0.0, 1.6 * n.thicker, 33)

    def line(pitfall: str, ratio: float, dash: str) -> tuple[str, str, str, Array, str]:
        less = ratio - clearances.ratio_at_thickness.si(n.swept, ratio, n.gasket_bore, change)
        return f"ratio {ratio:.1f}", pitfall, "lift", less, dash

    return charted(
        "What the compression ratio loses over what the gasket is made thicker",
        ("added thickness", "length"),
        ("loss of compression ratio", "number"),
        change,
        n.thicker,
        [
            line("right", n.ratio, ""),
            line("line above", n.ratio + 2.0, "4 3"),
            line("line below", n.ratio - 2.0, "1 4"),
        ],
    )


@solver("09/chart")
def _(n: Numbers) -> Solved:
    from scipy.special import ndtr

    force = n.preload * np.linspace(0.5, 1.5, 101)

    def below(spread: float) -> Array:
        return np.asarray(ndtr((force - n.preload) / (spread * n.preload)), dtype=float)

    mine, finer = below(n.friction_spread), below(0.5 * n.friction_spread)
    share = float(np.interp(n.preload_wanted, force, mine))
    if not 0.15 <= share <= 0.4:
        raise fail("share", f"{share:.3f}", "one that can be read from the chart")
    return charted(
        "Share of the bolts that have less than a preload",
        ("preload", "force"),
        ("share of the bolts", "fraction"),
        force,
        n.preload_wanted,
        [
            ("this wrench", "right", "probability", mine, ""),
            ("a finer wrench", "line of the finer wrench", "probability", finer, "4 3"),
        ],
        {"above for below": 1.0 - share},
    )
