"""Answers and wrong routes of the job cards, each worked out by the public package.

A solver takes the numbers of one engine (plain SI) and hands back the answer, what each wrong
route gives, and the chart where one is to be read. Its name is that of the question in the card
set: `solvers.SOLVERS["02/preload"]`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import numpy as np

from sealkit.analysis import chain
from sealkit.classroom.drawing.card_chart import Chart, Curve
from sealkit.errors import fail
from sealkit.fastening import losses, stiffness, tightening
from sealkit.fastening.threads import thread
from sealkit.pressure import boost, cycle, geometry, ideal, variation
from sealkit.sealing import (
    clearances,
    constructions,
    criteria,
    flow,
    grooves,
    heat,
    joint,
    surfaces,
)
from sealkit.sealing import liquids as wet
from sealkit.sealing.gaskets import Zone

Numbers = SimpleNamespace


@dataclass(frozen=True)
class Solved:
    """What a solver found: the answer, wrong route -> its result, the chart to read."""

    value: float | str
    wrong: Mapping[str, float | str] = field(default_factory=dict)
    chart: Chart | None = None


Solver = Callable[[Numbers], Solved]
SOLVERS: dict[str, Solver] = {}


def solver(name: str) -> Callable[[Solver], Solver]:
    def keep(function: Solver) -> Solver:
        SOLVERS[name] = function
        return function

    return keep


def sane(n: Numbers) -> None:
    """Refuse an engine that nobody would build; the card is then drawn again.

    Raises
    ------
    InputError
        naming what is out of proportion.
    """
    if geometry.mean_piston_speed.si(n.stroke, n.speed) > 21.0:
        raise fail("mean piston speed", "above 21 m/s", "a slower engine")
    if not 0.8 <= n.bore / n.stroke <= 1.25:
        raise fail("bore over stroke", f"{n.bore / n.stroke:.2f}", "0.8 to 1.25")
    clamp = n.preload * _mean_share(n)
    gas = push(n.peak - n.air, n.seal)
    if not 1.5 <= clamp / gas <= 4.0:
        raise fail("clamp over gas load", f"{clamp / gas:.2f}", "1.5 to 4")


# --------------------------------------------------------------------------- helpers
def push(pressure: float, diameter: float) -> float:
    """Force of a gauge pressure on a circle, as in `criteria.gasket_loads`."""
    return float(criteria.gasket_loads.si(pressure, diameter, 1e-3, 0.0, 0.0).pressure_force)


def per_length(force: float, diameter: float) -> float:
    """Force spread over a circumference."""
    return force / (math.pi * diameter)


def _mean_share(n: Numbers) -> float:
    return chain.fastener_shares(n.cylinders, n.around, n.on_head)[1]


def _area(diameter: float) -> float:
    return math.pi / 4.0 * diameter**2


def _slip(n: Numbers) -> float:
    """What a torque in the wrong unit does: pound-feet for N m, or feet for inches."""
    return 1.3558179483314004 if n.system == "metric" else 1.0 / 12.0


def _zero(n: Numbers) -> float:
    """Absolute temperature at which the thermometer of the shop reads nothing."""
    return 273.15 if n.system == "metric" else 459.67 / 1.8


def _read(x: float, curve: Curve) -> float:
    return float(np.interp(x, curve.x, curve.y))


# --------------------------------------------------------------------------- 00 the whole joint
@solver("00/gas-load")
def _(n: Numbers) -> Solved:
    p = n.peak - n.air
    return Solved(
        push(p, n.seal),
        {
            "bore for seal diameter": push(p, n.bore),
            "radius for diameter": push(p, 2.0 * n.seal),
            "square for circle": p * n.seal**2,
        },
    )


@solver("00/preload")
@solver("02/preload")
def _(n: Numbers) -> Solved:
    d = thread.si(n.thread).diameter
    right = float(tightening.preload_short.si(n.torque, n.nut_factor, d))
    return Solved(
        right,
        {
            "nut factor left out": float(tightening.preload_short.si(n.torque, 1.0, d)),
            "radius for diameter": float(
                tightening.preload_short.si(n.torque, n.nut_factor, d / 2)
            ),
            "torque unit": right * _slip(n),
        },
    )


@solver("00/clamp")
@solver("05/mean-clamp")
def _(n: Numbers) -> Solved:
    return Solved(
        n.preload * _mean_share(n),
        {
            "every bolt counted in full": n.preload * n.around,
            "one bolt for the whole bore": n.preload,
            "all bolts for one bore": n.preload * n.on_head,
        },
    )


@solver("00/clamp-ratio")
def _(n: Numbers) -> Solved:
    ratio = n.bore_clamp / n.bore_gas
    return Solved(
        ratio,
        {
            "upside down": 1.0 / ratio,
            "what is left": ratio - 1.0,
        },
    )


@solver("00/line-load")
def _(n: Numbers) -> Solved:
    left = float(stiffness.member_load.si(n.bore_clamp, 0.0, n.bore_gas))
    return Solved(
        per_length(left, n.seal),
        {
            "gas load not taken off": per_length(n.bore_clamp, n.seal),
            "diameter for circumference": left / n.seal,
            "gas load only": per_length(n.bore_gas, n.seal),
        },
    )


def _joint_chart(clamp: float, constant: float, gas: Callable[[Any], Any], most: float) -> Chart:
    p = np.linspace(0.0, most, 41)
    load = gas(p)
    return Chart(
        "Forces on one bore over gas pressure above the air outside",
        ("pressure above the air outside", "gauge pressure"),
        ("force", "force"),
        (
            Curve("all bolts together", p, clamp + constant * load, "clamp", "4 3"),
            Curve("clamp left on the gasket", p, clamp - (1.0 - constant) * load, "seal load"),
            Curve("gas load", p, load, "gas load", "1 4"),
        ),
    )


@solver("00/chart")
@solver("11/chart")
def _(n: Numbers) -> Solved:
    def gas(p: Any) -> Any:
        return criteria.gasket_loads.si(p, n.seal, 1e-3, 0.0, 0.0).pressure_force

    clamp = n.preload * _mean_share(n)
    chart = _joint_chart(clamp, n.constant, gas, 1.25 * n.read_at)
    bolts, left, load = chart.curves
    if _read(n.read_at, left) < 0.15 * clamp:
        raise fail("clamp left", "near nothing", "a joint that stays closed")
    return Solved(
        _read(n.read_at, left),
        {"bolt line": _read(n.read_at, bolts), "gas line": _read(n.read_at, load)},
        chart,
    )


# --------------------------------------------------------------------------- 01 the gas
@solver("01/swept")
def _(n: Numbers) -> Solved:
    v = float(geometry.swept_volume.si(n.bore, n.stroke))
    return Solved(
        v,
        {
            "radius for diameter": float(geometry.swept_volume.si(2.0 * n.bore, n.stroke)),
            "whole engine for one cylinder": n.cylinders * v,
            "square for circle": n.bore**2 * n.stroke,
        },
    )


@solver("01/clearance")
def _(n: Numbers) -> Solved:
    v = float(geometry.clearance_volume.si(n.bore, n.stroke, n.ratio))
    swept = v * (n.ratio - 1.0)
    return Solved(
        v,
        {
            "ratio without minus one": swept / n.ratio,
            "whole volume for clearance": swept + v,
            "radius for diameter": 4.0 * v,
        },
    )


@solver("01/compression-end")
def _(n: Numbers) -> Solved:
    def end(p: float, exponent: float) -> float:
        return float(ideal.polytropic_state.si(p, 300.0, n.ratio, exponent)[0])

    p = n.air + n.boost
    return Solved(
        end(p, n.exponent),
        {
            "gauge for absolute": end(n.boost, n.exponent),
            "boost left out": end(n.air, n.exponent),
            "exponent left out": end(p, 1.0),
        },
    )


@solver("01/gas-load")
def _(n: Numbers) -> Solved:
    p = n.peak - n.air
    return Solved(
        push(p, n.bore),
        {
            "radius for diameter": push(p, 2.0 * n.bore),
            "square for circle": p * n.bore**2,
            "all cylinders for one": n.cylinders * push(p, n.bore),
        },
    )


@solver("01/compressor")
def _(n: Numbers) -> Solved:
    def out(ratio: float, efficiency: float = n.compressor, start: float = n.inlet) -> float:
        return float(boost.compressor_outlet_temperature.si(start, ratio, efficiency))

    ratio = (n.air + n.boost) / n.air
    zero = _zero(n)
    on_scale = n.inlet - zero  # the number on the thermometer, taken as if it counted from nothing
    return Solved(
        out(ratio),
        {
            "gauge for absolute": out(n.boost / n.air),
            "efficiency left out": out(ratio, 1.0),
            "scale for absolute temperature": zero + out(ratio, start=on_scale),
        },
    )


@solver("01/piston-speed")
def _(n: Numbers) -> Solved:
    right = float(geometry.mean_piston_speed.si(n.stroke, n.speed))
    return Solved(
        right,
        {
            "one stroke a turn": right / 2.0,
            "crank circle": math.pi * n.stroke * n.speed,
            "four strokes a turn": 2.0 * right,
        },
    )


@solver("01/chart")
def _(n: Numbers) -> Solved:
    p, t = n.air + n.boost, 340.0
    swept = float(geometry.swept_volume.si(n.bore, n.stroke))
    full = swept * n.ratio / (n.ratio - 1.0)
    energy = 2.3e6 * float(boost.trapped_mass.si(p, t, full))
    shape = (n.bore, n.stroke, 1.65 * n.stroke, n.ratio, n.speed, p, t)
    firing = cycle.simple_cycle.si(*shape, energy, math.radians(-18.0), math.radians(60.0))
    motored = cycle.simple_cycle.si(*shape, 0.0, math.radians(-18.0), math.radians(60.0))
    angle = np.linspace(math.radians(-90.0), math.radians(120.0), 106)

    def over(c: Any) -> Any:
        return np.interp(angle, c.crank_angle, c.pressure)

    chart = Chart(
        "Pressure in the cylinder over crank angle",
        ("crank angle after firing top dead centre", "angle"),
        ("absolute pressure", "pressure"),
        (
            Curve("firing", angle, over(firing), "pressure"),
            Curve("not firing", angle, over(motored), "pressure", "4 3"),
        ),
    )
    return Solved(
        float(np.max(chart.curves[0].y)),
        {
            "line without firing": float(np.max(chart.curves[1].y)),
            "pressure at top dead centre": _read(0.0, chart.curves[0]),
        },
        chart,
    )


# --------------------------------------------------------------------------- 02 the wrench
@solver("02/stress-area")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    return Solved(
        float(t.stress_area),
        {
            "nominal diameter for stress area": _area(t.diameter),
            "root for stress area": float(t.root_area),
            "radius for diameter": 4.0 * float(t.stress_area),
        },
    )


@solver("02/stress")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    right = float(stiffness.bolt_stress.si(n.preload, 0.0, 0.0, t.stress_area))
    return Solved(
        right,
        {
            "nominal diameter for stress area": n.preload / _area(t.diameter),
            "root for stress area": n.preload / float(t.root_area),
        },
    )


def _long(n: Numbers, thread_friction: float, head_friction: float) -> Any:
    t = thread.si(n.thread)
    return tightening.torque_split.si(
        n.preload,
        t.diameter,
        t.pitch,
        thread_friction,
        head_friction,
        t.pitch_diameter,
        n.bearing,
        n.hole,
    )


@solver("02/torque")
def _(n: Numbers) -> Solved:
    whole = _long(n, n.thread_friction, n.head_friction)
    return Solved(
        float(whole.total),
        {
            "thread friction forgotten": float(whole.total - whole.thread),
            "head friction forgotten": float(whole.total - whole.head),
            "stretching part only": float(whole.stretching),
        },
    )


@solver("02/useful-share")
def _(n: Numbers) -> Solved:
    right = float(n.stretch_torque / n.torque)
    return Solved(
        right,
        {
            "share lost for share used": 1.0 - right,
            "part over the rest": right / (1.0 - right),
        },
    )


@solver("02/turn")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    turn = tightening.preload_from_turn.si
    both = float(stiffness.parallel.si([n.bolt_stiffness, n.member_stiffness]))
    return Solved(
        float(turn(n.angle, t.pitch, n.bolt_stiffness, n.member_stiffness)),
        {
            "parts taken as rigid": float(turn(n.angle, t.pitch, n.bolt_stiffness)),
            "springs side by side": float(turn(n.angle, t.pitch, both)),
            "a whole turn": float(
                turn(2.0 * math.pi, t.pitch, n.bolt_stiffness, n.member_stiffness)
            ),
        },
    )


@solver("02/chart")
def _(n: Numbers) -> Solved:
    d = thread.si(n.thread).diameter
    torque = np.linspace(0.0, 1.3 * n.torque, 3)
    states = {"dry": 1.45, "engine oil": 1.0, "moly paste": 0.7}
    curves = tuple(
        Curve(
            f"{name}, K = {n.nut_factor * k:.3f}",
            torque,
            tightening.preload_short.si(torque, n.nut_factor * k, d),
            "clamp",
            dash,
        )
        for (name, k), dash in zip(states.items(), ("4 3", "", "1 4"), strict=True)
    )
    chart = Chart(
        f"Preload of one {n.thread} bolt over torque",
        ("torque", "torque"),
        ("preload", "force"),
        curves,
    )
    dry, oil, paste = (_read(n.torque, c) for c in curves)
    return Solved(oil, {"dry line": dry, "paste line": paste}, chart)


# --------------------------------------------------------------------------- 03 springs in a stack
@solver("03/bolt-stiffness")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    shank = (_area(t.diameter), n.shank)
    free = (float(t.stress_area), n.free_thread)
    spring = stiffness.bolt_stiffness.si
    parts = [float(spring([part], n.steel)) for part in (shank, free)]
    return Solved(
        float(spring([shank, free], n.steel)),
        {
            "shank alone": parts[0],
            "springs side by side": float(stiffness.parallel.si(parts)),
            "nominal diameter all along": float(
                spring([(_area(t.diameter), n.shank + n.free_thread)], n.steel)
            ),
        },
    )


@solver("03/constant")
def _(n: Numbers) -> Solved:
    right = float(stiffness.joint_constant.si(n.bolt_stiffness, n.member_stiffness))
    return Solved(
        right,
        {
            "share of the parts": 1.0 - right,
            "bolt over parts": n.bolt_stiffness / n.member_stiffness,
        },
    )


@solver("03/bolt-load")
def _(n: Numbers) -> Solved:
    return Solved(
        float(stiffness.bolt_load.si(n.preload, n.constant, n.bolt_gas)),
        {
            "all gas load on the bolt": n.preload + n.bolt_gas,
            "no gas load on the bolt": n.preload,
            "share of the parts": n.preload + (1.0 - n.constant) * n.bolt_gas,
        },
    )


@solver("03/clamp-left")
def _(n: Numbers) -> Solved:
    return Solved(
        float(stiffness.member_load.si(n.preload, n.constant, n.bolt_gas)),
        {
            "all gas load off the clamp": n.preload - n.bolt_gas,
            "share of the bolt": n.preload - n.constant * n.bolt_gas,
        },
    )


@solver("03/separation")
def _(n: Numbers) -> Solved:
    return Solved(
        float(stiffness.separation_load.si(n.preload, n.constant)),
        {
            "preload for separation load": n.preload,
            "share of the bolt": n.preload / n.constant,
            "share taken off": n.preload * (1.0 - n.constant),
        },
    )


@solver("03/chart")
def _(n: Numbers) -> Solved:
    apart = float(stiffness.separation_load.si(n.preload, n.constant))
    load = np.linspace(0.0, 1.3 * apart, 105)
    closed = load < apart
    bolt = np.where(closed, stiffness.bolt_load.si(n.preload, n.constant, load), load)
    left = np.where(closed, n.preload - (1.0 - n.constant) * load, 0.0)
    chart = Chart(
        "One bolt and its share of the joint over the gas load on it",
        ("gas load on one bolt", "force"),
        ("force", "force"),
        (
            Curve("force in the bolt", load, bolt, "clamp"),
            Curve("clamp left", load, left, "seal load", "4 3"),
            Curve("gas load itself", load, load, "gas load", "1 4"),
        ),
    )
    bolt_line, clamp_line, gas_line = (_read(n.chart_gas, c) for c in chart.curves)
    return Solved(clamp_line, {"bolt line": bolt_line, "gas line": gas_line}, chart)


# --------------------------------------------------------------------------- 04 five constructions
@solver("04/compressibility")
def _(n: Numbers) -> Solved:
    squeezed = n.sheet - n.sheet_loaded
    return Solved(
        float(constructions.compressibility.si(n.sheet, n.sheet_loaded)),
        {
            "thin for thick": squeezed / n.sheet_loaded,
            "what is left": n.sheet_loaded / n.sheet,
        },
    )


@solver("04/recovery")
def _(n: Numbers) -> Solved:
    back = n.sheet_back - n.sheet_loaded
    return Solved(
        float(constructions.recovery.si(n.sheet, n.sheet_loaded, n.sheet_back)),
        {
            "share of the thickness": back / n.sheet,
            "what stays": (n.sheet - n.sheet_back) / (n.sheet - n.sheet_loaded),
        },
    )


@solver("04/edge-push")
def _(n: Numbers) -> Solved:
    p = n.peak - n.air
    return Solved(
        float(criteria.blow_out.si(p, n.sheet, n.web, 1e6).push),
        {
            "width for thickness": p * n.web,
            "radius of the edge": p * n.bore / 2.0,
        },
    )


@solver("04/residual")
def _(n: Numbers) -> Solved:
    p, line = n.peak - n.air, criteria.residual_line_load.si
    return Solved(
        float(line(p, n.gasket_factor, n.seal_width)),
        {
            "gasket factor left out": float(line(p, 1.0, n.seal_width)),
            "half the width": float(line(p, n.gasket_factor, n.seal_width / 2.0)),
        },
    )


@solver("04/seating")
def _(n: Numbers) -> Solved:
    right = float(constructions.ring_force.si(n.seating, n.seal, n.seal + 2.0 * n.seal_width))
    return Solved(
        right,
        {
            "width on one side only": float(
                constructions.ring_force.si(n.seating, n.seal, n.seal + n.seal_width)
            ),
            "whole circle for the ring": n.seating * _area(n.seal + 2.0 * n.seal_width),
        },
    )


@solver("04/springback")
def _(n: Numbers) -> Solved:
    return Solved(
        n.bead_back * n.layers,
        {
            "one layer for all": n.bead_back,
            "layers share the springback": n.bead_back / n.layers,
        },
    )


def _come_back(zone: Zone, top: float, gap: float, axis: tuple[str, str], title: str) -> Solved:
    """Load left on a zone after the joint has opened by a gap, beside its first loading."""
    reached = float(np.interp(top, zone.load, zone.closure))
    closure, load = (a[0] for a in zone.path(np.array([reached])))
    inside = closure <= reached
    opened = np.linspace(0.0, 1.6 * gap, 65)
    chart = Chart(
        title,
        ("how far the joint has opened", "lift"),
        axis,
        (
            Curve(
                "first loading, to here", opened, zone.loading(reached - opened), "seal load", "4 3"
            ),
            Curve(
                "coming back",
                opened,
                np.interp(reached - opened, closure[inside], load[inside]),
                "seal load",
            ),
        ),
    )
    loading, left = (_read(gap, c) for c in chart.curves)
    if not 0.15 * top < left < 0.75 * loading:
        raise fail("load left", f"{left:.3g}", "less than on first loading, and not nothing")
    wrong = {"loading curve for unloading": loading, "lost part for what is left": top - left}
    if loading < 0.75 * top:
        wrong["clamp for what is left"] = top
    return Solved(left, wrong, chart)


def _zone(construction: str, role: str) -> Zone:
    return next(z for z in constructions.make(construction).zones if z.role == role)


@solver("04/chart")
def _(n: Numbers) -> Solved:
    return _come_back(
        _zone("fibre composite", "body"),
        n.body_stress,
        n.body_gap,
        ("stress on the sheet", "stress"),
        "Stress on a fibre sheet as the joint opens from its clamp",
    )


@solver("10/chart")
def _(n: Numbers) -> Solved:
    return _come_back(
        _zone("multi-layer steel", "seal"),
        n.bead_top,
        n.bead_gap,
        ("line load on the bead", "line load"),
        "Line load on a steel bead as the joint opens from its clamp",
    )


# --------------------------------------------------------------------------- 05 the deck
@solver("05/end-share")
def _(n: Numbers) -> Solved:
    least, mean = chain.fastener_shares(n.cylinders, n.around, n.on_head)
    return Solved(
        least,
        {"every bolt counted in full": float(n.around), "mean for the worst bore": mean}
        if abs(least - mean) > 0.05 * mean
        else {"every bolt counted in full": float(n.around), "all bolts for one bore": n.on_head},
    )


@solver("05/line-load")
def _(n: Numbers) -> Solved:
    return Solved(
        per_length(n.bore_clamp, n.seal),
        {
            "diameter for circumference": n.bore_clamp / n.seal,
            "radius for diameter": 2.0 * per_length(n.bore_clamp, n.seal),
        },
    )


@solver("05/plate")
def _(n: Numbers) -> Solved:
    def plate(h: float, poisson: float) -> float:
        return float(joint.plate_stiffness.si(n.aluminium, h, poisson))

    return Solved(
        plate(n.head, n.poisson),
        {
            "sideways contraction left out": plate(n.head, 0.0),
            "beam without the twelve": 12.0 * plate(n.head, n.poisson),
        },
    )


@solver("05/thicker")
def _(n: Numbers) -> Solved:
    def plate(h: float) -> float:
        return float(joint.plate_stiffness.si(n.aluminium, h, n.poisson))

    ratio = n.head_thick / n.head
    return Solved(
        plate(n.head_thick) / plate(n.head),
        {"in proportion": ratio, "square for cube": ratio**2, "upside down": ratio**-3},
    )


@solver("05/least-clamp")
def _(n: Numbers) -> Solved:
    least = n.preload_low * _mean_share(n)
    return Solved(
        per_length(least, n.seal),
        {
            "every bolt counted in full": per_length(n.preload_low * n.around, n.seal),
            "one bolt for the whole bore": per_length(n.preload_low, n.seal),
            "diameter for circumference": least / n.seal,
        },
    )


@solver("05/chart")
def _(n: Numbers) -> Solved:
    p = np.linspace(0.0, 1.25 * n.read_at, 21)

    def rise(h: float) -> Any:
        plate = joint.plate_stiffness.si(n.aluminium, h, n.poisson)
        return joint.bending_by_pressure.si(p, n.seal / 2.0, n.bolt_circle / 2.0, plate, n.poisson)

    heads = (("given head", 1.0, ""), ("thinner head", 0.85, "4 3"), ("thicker head", 1.2, "1 4"))
    chart = Chart(
        "Rise of the head at the seal over gas pressure, the head a plate on its bolts",
        ("pressure above the air outside", "gauge pressure"),
        ("rise at the seal", "lift"),
        tuple(Curve(name, p, rise(k * n.head), "lift", dash) for name, k, dash in heads),
    )
    given, thin, thick = (_read(n.read_at, c) for c in chart.curves)
    return Solved(
        given, {"line of the thinner head": thin, "line of the thicker head": thick}, chart
    )


# --------------------------------------------------------------------------- 06 wire rings
@solver("06/proud")
def _(n: Numbers) -> Solved:
    return Solved(
        float(grooves.protrusion.si(n.wire, n.groove)),
        {
            "groove depth for protrusion": n.groove,
            "added for taken off": n.wire + n.groove,
        },
    )


@solver("06/receiver")
def _(n: Numbers) -> Solved:
    right = float(grooves.receiver_area.si(n.receiver_width, n.receiver_depth))
    return Solved(
        right,
        {
            "round for square": _area(n.receiver_width),
            "triangle for square": right / 2.0,
        },
    )


@solver("06/displaced")
def _(n: Numbers) -> Solved:
    r = n.wire / 2.0
    return Solved(
        float(flow.displaced_area.si(r, r)),
        {
            "whole wire for the buried half": _area(n.wire),
            "radius for diameter": 4.0 * float(flow.displaced_area.si(r, r)),
            "square for circle": n.wire * r,
        },
    )


@solver("06/forming")
def _(n: Numbers) -> Solved:
    force = n.forming * math.pi * n.wire_ring
    return Solved(
        force,
        {
            "diameter for circumference": n.forming * n.wire_ring,
            "radius for diameter": force / 2.0,
            "bore for wire ring": n.forming * math.pi * n.bore,
        },
    )


@solver("06/share")
def _(n: Numbers) -> Solved:
    force = n.forming * math.pi * n.wire_ring
    right = force / n.bore_clamp
    if right > 0.9:
        raise fail("forming force", f"{right:.2f} of the clamp", "less than the clamp")
    return Solved(
        right,
        {
            "what is left": 1.0 - right,
            "diameter for circumference": right / math.pi,
        },
    )


@solver("06/chart")
def _(n: Numbers) -> Solved:
    given = (
        ("annealed copper", 1.0, "annealed", ""),
        ("hard copper", 1.0, "hard", "4 3"),
        ("annealed, wire half as thick", 0.5, "annealed", "1 4"),
    )
    depth = np.linspace(0.0, 0.25 * n.wire, 51)  # as deep as the thin wire goes
    curves = tuple(
        Curve(
            name, depth, grooves.forming_line_load.si(k * n.wire, depth, temper), "seal load", dash
        )
        for name, k, temper, dash in given
    )
    chart = Chart(
        "Line load that presses the wire into the copper over the depth of the furrow",
        ("depth of the furrow", "length"),
        ("line load", "line load"),
        curves,
    )
    soft, hard, thin = (_read(n.furrow, c) for c in curves)
    return Solved(soft, {"line of hard copper": hard, "line of the thin wire": thin}, chart)


# --------------------------------------------------------------------------- 07 hot and cold
@solver("07/growth")
def _(n: Numbers) -> Solved:
    grown = n.aluminium_expansion * n.head_length * n.rise
    return Solved(
        grown,
        {
            "steel for aluminium": n.steel_expansion * n.head_length * n.rise,
            "hot temperature for the rise": n.aluminium_expansion
            * n.head_length
            * (n.rise + n.cold - _zero(n)),
            "degrees of the other scale": 1.8 * grown,
        },
    )


@solver("07/mismatch")
def _(n: Numbers) -> Solved:
    head = n.aluminium_expansion * n.head_length * n.rise
    right = float(
        heat.differential_expansion.si(
            *(n.head_length, n.aluminium_expansion, n.rise, 0.0, 0.0, 0.0),
            *(n.head_length, n.steel_expansion, n.bolt_rise),
        )
    )
    bolt = n.steel_expansion * n.head_length * n.bolt_rise
    return Solved(right, {"bolt growth forgotten": head, "growths added": head + bolt})


@solver("07/preload-change")
def _(n: Numbers) -> Solved:
    both = float(stiffness.series.si([n.bolt_stiffness, n.member_stiffness]))
    return Solved(
        n.outgrow * both,
        {
            "parts taken as rigid": n.outgrow * n.bolt_stiffness,
            "springs side by side": n.outgrow * (n.bolt_stiffness + n.member_stiffness),
        },
    )


@solver("07/hot-clamp")
def _(n: Numbers) -> Solved:
    return Solved(
        n.preload + n.hot_gain,
        {"cold for hot": n.preload, "gain taken off": n.preload - n.hot_gain},
    )


@solver("07/relaxed")
def _(n: Numbers) -> Solved:
    hot = n.preload + n.hot_gain
    loss = losses.share_loss.si("creep", n.creep, n.creep, "card", "invented")
    left = float(losses.preload_range.si(hot, 0.0, [loss]).low)
    return Solved(
        left,
        {
            "cold for hot": n.preload * (1.0 - n.creep),
            "creep forgotten": hot,
            "lost part for what is left": hot * n.creep,
        },
    )


@solver("07/coolant")
def _(n: Numbers) -> Solved:
    right = float(wet.needed_stress.si(n.coolant, n.gasket_factor))
    return Solved(
        right,
        {
            "gasket factor left out": n.coolant,
            "absolute for gauge": float(wet.needed_stress.si(n.coolant + n.air, n.gasket_factor)),
        },
    )


@solver("07/chart")
def _(n: Numbers) -> Solved:
    rise = np.linspace(0.0, 1.3 * n.rise, 21)
    iron = 10.8e-6

    def over(expansion: float) -> Any:
        change = stiffness.thermal_preload_change.si(
            [(expansion, n.head_length, rise)],
            n.steel_expansion,
            n.head_length,
            0.7 * rise,
            n.bolt_stiffness,
            n.member_stiffness,
        )
        return n.preload + change

    chart = Chart(
        "Preload of one bolt over the temperature rise of the head; the bolt rises 0.7 of that",
        ("temperature rise of the head", "temperature difference"),
        ("preload", "force"),
        (
            Curve("aluminium head", rise, over(n.aluminium_expansion), "clamp"),
            Curve("iron head", rise, over(iron), "clamp", "4 3"),
            Curve("cold preload", rise, np.full_like(rise, n.preload), "clamp", "1 4"),
        ),
    )
    hot, cold = _read(n.rise, chart.curves[0]), _read(n.rise, chart.curves[2])
    return Solved(hot, {"cold for hot": cold, "gain taken off": 2.0 * cold - hot}, chart)


# --------------------------------------------------------------------------- 08 thickness
@solver("08/gasket-volume")
def _(n: Numbers) -> Solved:
    volume = clearances.gasket_volume.si
    return Solved(
        float(volume(n.gasket_bore, n.gasket)),
        {
            "bore for gasket bore": float(volume(n.bore, n.gasket)),
            "radius for diameter": float(volume(2.0 * n.gasket_bore, n.gasket)),
        },
    )


@solver("08/ratio")
def _(n: Numbers) -> Solved:
    right = float(geometry.compression_ratio_from_volumes.si(n.swept, n.clearance))
    return Solved(
        right,
        {"without plus one": right - 1.0, "upside down": 1.0 / right},
    )


@solver("08/thicker")
def _(n: Numbers) -> Solved:
    ratio = clearances.ratio_at_thickness.si
    swept = n.swept
    return Solved(
        float(ratio(swept, n.ratio, n.gasket_bore, n.thicker)),
        {
            "thinner for thicker": float(ratio(swept, n.ratio, n.gasket_bore, -n.thicker)),
            "nothing changed": n.ratio,
        },
    )


@solver("08/squish")
def _(n: Numbers) -> Solved:
    return Solved(
        float(clearances.squish.si(n.gasket, n.deck)),
        {
            "gasket only": n.gasket,
            "taken off for added": n.gasket - n.deck,
        },
    )


@solver("08/clearance-volume")
def _(n: Numbers) -> Solved:
    parts = geometry.clearance_volume_from_parts.si
    given = (n.chamber, n.gasket_bore, n.gasket, n.deck)
    return Solved(
        float(parts(n.bore, *given, n.dish)),
        {
            "gasket forgotten": float(parts(n.bore, n.chamber, n.gasket_bore, 0.0, n.deck, n.dish)),
            "dish taken off": float(parts(n.bore, *given, -n.dish)),
            "chamber only": n.chamber,
        },
    )


@solver("08/running")
def _(n: Numbers) -> Solved:
    given = (n.gasket, n.deck)
    return Solved(
        float(clearances.clearance.si(*given, n.stretch).running),
        {
            "at rest for running": float(clearances.squish.si(*given)),
            "gasket only": n.gasket,
            "added for taken off": float(clearances.squish.si(*given)) + n.stretch,
        },
    )


@solver("08/chart")
def _(n: Numbers) -> Solved:
    change = np.linspace(0.0, 1.6 * n.thicker, 33)

    def lost(ratio: float) -> Any:
        return ratio - clearances.ratio_at_thickness.si(n.swept, ratio, n.gasket_bore, change)

    chart = Chart(
        "What the compression ratio loses over what the gasket is made thicker",
        ("added thickness", "length"),
        ("loss of compression ratio", "number"),
        (
            Curve(f"ratio {n.ratio:.1f}", change, lost(n.ratio), "lift"),
            Curve(f"ratio {n.ratio + 2.0:.1f}", change, lost(n.ratio + 2.0), "lift", "4 3"),
            Curve(f"ratio {n.ratio - 2.0:.1f}", change, lost(n.ratio - 2.0), "lift", "1 4"),
        ),
    )
    mine, above, below = (_read(n.thicker, c) for c in chart.curves)
    return Solved(mine, {"line above": above, "line below": below}, chart)


# --------------------------------------------------------------------------- 09 scatter
@solver("09/rare-peak")
def _(n: Numbers) -> Solved:
    right = float(variation.rare_peak_pressure.si(n.mean_peak, n.spread, 1000.0))
    return Solved(
        right,
        {
            "one deviation only": n.mean_peak * (1.0 + n.spread),
            "taken off for added": 2.0 * n.mean_peak - right,
            "mean for the rare one": n.mean_peak,
        },
    )


@solver("09/low-preload")
def _(n: Numbers) -> Solved:
    kept = losses.preload_range.si(n.preload, n.scatter)
    return Solved(
        float(kept.low),
        {
            "mean for the low end": n.preload,
            "high for the low end": float(kept.high),
            "divided for taken off": n.preload / (1.0 + n.scatter),
        },
    )


@solver("09/factor")
def _(n: Numbers) -> Solved:
    return Solved(
        float(tightening.tightening_factor.si(n.scatter)),
        {"high over mean": 1.0 + n.scatter, "mean over low": 1.0 / (1.0 - n.scatter)},
    )


@solver("09/deviation")
def _(n: Numbers) -> Solved:
    five = [n.bolt_1, n.bolt_2, n.bolt_3, n.bolt_4, n.bolt_5]
    s = tightening.preload_sample.si(five)
    mean = sum(five) / 5
    return Solved(
        float(s.deviation),
        {
            "divided by the number": float(np.std(five)),
            "highest less lowest": max(five) - min(five),
            "mean of the distances": sum(abs(f - mean) for f in five) / 5,
        },
    )


@solver("09/combined")
def _(n: Numbers) -> Solved:
    a, b = n.wrench_spread, n.friction_spread
    return Solved(
        math.hypot(a, b),
        {"spreads added up": a + b, "larger one only": max(a, b)},
    )


@solver("09/limit")
def _(n: Numbers) -> Solved:
    deviation = n.preload * n.friction_spread
    return Solved(
        (n.preload - n.preload_wanted) / deviation,
        {
            "spread left out": (n.preload - n.preload_wanted) / n.preload,
            "wanted for mean": (n.preload - n.preload_wanted)
            / (n.preload_wanted * n.friction_spread),
        },
    )


@solver("09/chart")
def _(n: Numbers) -> Solved:
    from scipy.special import ndtr

    def below(force: Any, spread: float) -> Any:
        return ndtr((force - n.preload) / (spread * n.preload))

    force = n.preload * np.linspace(0.5, 1.5, 101)
    chart = Chart(
        "Share of the bolts that have less than a preload",
        ("preload", "force"),
        ("share of the bolts", "fraction"),
        (
            Curve("this wrench", force, below(force, n.friction_spread), "chance"),
            Curve("a finer wrench", force, below(force, 0.5 * n.friction_spread), "chance", "4 3"),
        ),
    )
    mine, fine = (_read(n.preload_wanted, c) for c in chart.curves)
    if not 0.08 <= mine <= 0.4:
        raise fail("share", f"{mine:.3f}", "one that can be read from the chart")
    return Solved(mine, {"line of the finer wrench": fine, "above for below": 1.0 - mine}, chart)


# --------------------------------------------------------------------------- 10 teardown
@solver("10/warp")
def _(n: Numbers) -> Solved:
    return Solved(
        float(surfaces.local_warp.si(n.bow, n.span, n.seal)),
        {
            "whole bow for one bore": n.bow,
            "in proportion": n.bow * n.seal / n.span,
        },
    )


@solver("10/stretch")
def _(n: Numbers) -> Solved:
    right = n.bolt_grown / n.bolt_limit
    return Solved(
        right,
        {"what is left": 1.0 - right, "upside down": 1.0 / right},
    )


@solver("10/lost-clamp")
def _(n: Numbers) -> Solved:
    right = float(constructions.creep_relaxation.si(n.stretch_then, n.stretch_now))
    return Solved(
        right,
        {
            "what is left": 1.0 - right,
            "loss over what is left": (n.stretch_then - n.stretch_now) / n.stretch_now,
        },
    )


@solver("10/cut-volume")
def _(n: Numbers) -> Solved:
    volume = clearances.gasket_volume.si
    return Solved(
        float(volume(n.bore, n.cut)),
        {
            "radius for diameter": float(volume(2.0 * n.bore, n.cut)),
            "square for circle": n.bore**2 * n.cut,
        },
    )


@solver("10/cut-ratio")
def _(n: Numbers) -> Solved:
    changed = clearances.changed_compression_ratio.si
    taken = float(clearances.gasket_volume.si(n.bore, n.big_cut))
    clear = n.swept / (n.ratio - 1.0)
    return Solved(
        float(changed(n.swept, clear, -taken)),
        {
            "added for taken off": float(changed(n.swept, clear, taken)),
            "nothing changed": n.ratio,
        },
    )


@solver("10/springback-left")
def _(n: Numbers) -> Solved:
    left = n.layers * n.bead_back - n.bow_left
    if left < 0.2 * n.layers * n.bead_back:
        raise fail("springback", "used up", "some left")
    return Solved(
        left,
        {
            "gap not taken off": n.layers * n.bead_back,
            "added for taken off": n.layers * n.bead_back + n.bow_left,
        },
    )


# --------------------------------------------------------------------------- 11 capstone
@solver("11/sized-on")
def _(n: Numbers) -> Solved:
    right = float(variation.rare_peak_pressure.si(n.mean_peak, n.spread, 1000.0))
    return Solved(
        right,
        {
            "mean for the rare one": n.mean_peak,
            "one deviation only": n.mean_peak * (1.0 + n.spread),
        },
    )


@solver("11/gas-load")
def _(n: Numbers) -> Solved:
    rare = float(variation.rare_peak_pressure.si(n.mean_peak, n.spread, 1000.0)) - n.air
    return Solved(
        push(rare, n.seal),
        {
            "mean for the rare one": push(n.mean_peak - n.air, n.seal),
            "bore for seal diameter": push(rare, n.bore),
            "radius for diameter": push(rare, 2.0 * n.seal),
        },
    )


@solver("11/preload-wanted")
def _(n: Numbers) -> Solved:
    rule = chain.CLAMP_RULE[0]
    if abs(rule / _mean_share(n) - 1.0) < 0.05:
        raise fail("bolts of one bore", f"{_mean_share(n):g}", "another number than the rule's")
    clamp = rule * n.bore_gas
    return Solved(
        clamp / _mean_share(n),
        {
            "every bolt counted in full": clamp / n.around,
            "one bolt for the whole bore": clamp,
            "rule left out": n.bore_gas / _mean_share(n),
        },
    )


@solver("11/torque")
def _(n: Numbers) -> Solved:
    d = thread.si(n.thread).diameter
    right = float(tightening.torque_short.si(n.preload, n.nut_factor, d))
    return Solved(
        right,
        {
            "nut factor left out": float(tightening.torque_short.si(n.preload, 1.0, d)),
            "radius for diameter": right / 2.0,
            "torque unit": right / _slip(n),
        },
    )


@solver("11/utilisation")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    stress = float(stiffness.bolt_stress.si(n.preload, 0.0, 0.0, t.stress_area))
    right = stress / n.proof
    return Solved(
        right,
        {
            "nominal diameter for stress area": n.preload / _area(t.diameter) / n.proof,
            "margin for utilisation": 1.0 - right,
        },
    )


@solver("11/low-clamp")
def _(n: Numbers) -> Solved:
    loss = losses.share_loss.si("creep", n.creep, n.creep, "card", "invented")
    kept = losses.preload_range.si(n.preload, n.scatter, [loss])
    share = _mean_share(n)
    return Solved(
        float(kept.low) * share,
        {
            "mean for the low end": n.preload * (1.0 - n.creep) * share,
            "creep forgotten": n.preload * (1.0 - n.scatter) * share,
            "one bolt for the whole bore": float(kept.low),
        },
    )
