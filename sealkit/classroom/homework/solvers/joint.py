"""Solvers of the sets 00 to 05: the whole joint, gas, wrench, springs, gaskets, deck."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sealkit.analysis import chain
from sealkit.classroom.drawing.card_chart import Chart, Curve
from sealkit.classroom.homework.questions import Solved
from sealkit.classroom.homework.solvers.common import (
    Array,
    Numbers,
    charted,
    circle,
    gas_force,
    mean_share,
    per_length,
    read,
    scale_zero,
    solver,
    torque_slip,
)
from sealkit.errors import fail
from sealkit.fastening import stiffness, tightening
from sealkit.fastening.threads import thread
from sealkit.pressure import boost, cycle, geometry, ideal
from sealkit.sealing import constructions, criteria
from sealkit.sealing.gaskets import Zone
from sealkit.sealing.joint import bending_by_pressure, plate_stiffness


# --------------------------------------------------------------------------- 00 the whole joint
@solver("00/gas-load")
def _(n: Numbers) -> Solved:
    p = n.peak - n.air
    wrong = {
        "bore for seal diameter": gas_force(p, n.bore),
        "radius for diameter": gas_force(p, 2.0 * n.seal),
        "square for circle": p * n.seal**2,
    }
    return Solved(gas_force(p, n.seal), wrong)


@solver("00/preload", "02/preload")
def _(n: Numbers) -> Solved:
    d, preload = thread.si(n.thread).diameter, tightening.preload_short.si
    right = preload(n.torque, n.nut_factor, d)
    wrong = {
        "nut factor left out": preload(n.torque, 1.0, d),
        "radius for diameter": preload(n.torque, n.nut_factor, d / 2.0),
        "torque unit": right * torque_slip(n),
    }
    return Solved(right, wrong)


@solver("00/clamp", "05/mean-clamp")
def _(n: Numbers) -> Solved:
    wrong = {
        "every bolt counted in full": n.preload * n.around,
        "one bolt for the whole bore": n.preload,
        "all bolts for one bore": n.preload * n.on_head,
    }
    return Solved(n.preload * mean_share(n), wrong)


@solver("00/clamp-ratio")
def _(n: Numbers) -> Solved:
    ratio = n.bore_clamp / n.bore_gas
    return Solved(ratio, {"upside down": 1.0 / ratio, "what is left": ratio - 1.0})


@solver("00/line-load")
def _(n: Numbers) -> Solved:
    left = stiffness.member_load.si(n.bore_clamp, 0.0, n.bore_gas)
    wrong = {
        "gas load not taken off": per_length(n.bore_clamp, n.seal),
        "diameter for circumference": left / n.seal,
        "gas load only": per_length(n.bore_gas, n.seal),
    }
    return Solved(per_length(left, n.seal), wrong)


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


# --------------------------------------------------------------------------- 01 the gas
@solver("01/swept")
def _(n: Numbers) -> Solved:
    v = geometry.swept_volume.si(n.bore, n.stroke)
    wrong = {
        "radius for diameter": geometry.swept_volume.si(2.0 * n.bore, n.stroke),
        "whole engine for one cylinder": n.cylinders * v,
        "square for circle": n.bore**2 * n.stroke,
    }
    return Solved(v, wrong)


@solver("01/clearance")
def _(n: Numbers) -> Solved:
    v = geometry.clearance_volume.si(n.bore, n.stroke, n.ratio)
    swept = v * (n.ratio - 1.0)
    wrong = {
        "ratio without minus one": swept / n.ratio,
        "whole volume for clearance": swept + v,
        "radius for diameter": 4.0 * v,
    }
    return Solved(v, wrong)


@solver("01/compression-end")
def _(n: Numbers) -> Solved:
    def end(p: float, exponent: float) -> float:
        return float(ideal.polytropic_state.si(p, 300.0, n.ratio, exponent)[0])

    p = n.air + n.boost
    wrong = {
        "gauge for absolute": end(n.boost, n.exponent),
        "boost left out": end(n.air, n.exponent),
        "exponent left out": end(p, 1.0),
    }
    return Solved(end(p, n.exponent), wrong)


@solver("01/gas-load")
def _(n: Numbers) -> Solved:
    p = n.peak - n.air
    wrong = {
        "radius for diameter": gas_force(p, 2.0 * n.bore),
        "square for circle": p * n.bore**2,
        "all cylinders for one": n.cylinders * gas_force(p, n.bore),
    }
    return Solved(gas_force(p, n.bore), wrong)


@solver("01/compressor")
def _(n: Numbers) -> Solved:
    outlet, ratio = boost.compressor_outlet_temperature.si, (n.air + n.boost) / n.air
    zero = scale_zero(n)
    # the number on the thermometer, taken as if it counted from nothing
    on_scale = outlet(n.inlet - zero, ratio, n.compressor)
    wrong = {
        "gauge for absolute": outlet(n.inlet, n.boost / n.air, n.compressor),
        "efficiency left out": outlet(n.inlet, ratio, 1.0),
        "scale for absolute temperature": zero + on_scale,
    }
    return Solved(outlet(n.inlet, ratio, n.compressor), wrong)


@solver("01/piston-speed")
def _(n: Numbers) -> Solved:
    right = geometry.mean_piston_speed.si(n.stroke, n.speed)
    wrong = {
        "one stroke a turn": right / 2.0,
        "crank circle": math.pi * n.stroke * n.speed,
        "four strokes a turn": 2.0 * right,
    }
    return Solved(right, wrong)


@solver("01/chart")
def _(n: Numbers) -> Solved:
    p, t = n.air + n.boost, 340.0
    full = geometry.swept_volume.si(n.bore, n.stroke) * n.ratio / (n.ratio - 1.0)
    energy = 2.3e6 * float(boost.trapped_mass.si(p, t, full))
    shape = (n.bore, n.stroke, 1.65 * n.stroke, n.ratio, n.speed, p, t)
    angle = np.linspace(math.radians(-90.0), math.radians(120.0), 106)

    def pressure(heat: float) -> Array:
        c = cycle.simple_cycle.si(*shape, heat, math.radians(-18.0), math.radians(60.0))
        return np.interp(angle, c.crank_angle, c.pressure)

    chart = Chart(
        "Pressure in the cylinder over crank angle",
        ("crank angle after firing top dead centre", "angle"),
        ("absolute pressure", "pressure"),
        (
            Curve("firing", angle, pressure(energy), "pressure"),
            Curve("not firing", angle, pressure(0.0), "pressure", "4 3"),
        ),
    )
    firing, motored = chart.curves
    wrong = {
        "line without firing": motored.y.max(),
        "pressure at top dead centre": read(0.0, firing),
    }
    return Solved(firing.y.max(), wrong, chart=chart)


# --------------------------------------------------------------------------- 02 the wrench
@solver("02/stress-area")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    wrong = {
        "nominal diameter for stress area": circle(t.diameter),
        "root for stress area": t.root_area,
        "radius for diameter": 4.0 * t.stress_area,
    }
    return Solved(t.stress_area, wrong)


@solver("02/stress")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    wrong = {
        "nominal diameter for stress area": n.preload / circle(t.diameter),
        "root for stress area": n.preload / t.root_area,
    }
    return Solved(stiffness.bolt_stress.si(n.preload, 0.0, 0.0, t.stress_area), wrong)


@solver("02/torque")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    sizes = (t.pitch_diameter, n.bearing, n.hole)
    whole = tightening.torque_split.si(
        n.preload, t.diameter, t.pitch, n.thread_friction, n.head_friction, *sizes
    )
    wrong = {
        "thread friction forgotten": whole.total - whole.thread,
        "head friction forgotten": whole.total - whole.head,
        "stretching part only": whole.stretching,
    }
    return Solved(whole.total, wrong)


@solver("02/useful-share")
def _(n: Numbers) -> Solved:
    right = n.stretch_torque / n.torque
    wrong = {"share lost for share used": 1.0 - right, "part over the rest": right / (1.0 - right)}
    return Solved(right, wrong)


@solver("02/turn")
def _(n: Numbers) -> Solved:
    pitch, turn = thread.si(n.thread).pitch, tightening.preload_from_turn.si
    both = stiffness.parallel.si([n.bolt_stiffness, n.member_stiffness])
    wrong = {
        "parts taken as rigid": turn(n.angle, pitch, n.bolt_stiffness),
        "springs side by side": turn(n.angle, pitch, both),
        "a whole turn": turn(2.0 * math.pi, pitch, n.bolt_stiffness, n.member_stiffness),
    }
    return Solved(turn(n.angle, pitch, n.bolt_stiffness, n.member_stiffness), wrong)


@solver("02/chart")
def _(n: Numbers) -> Solved:
    d, torque = thread.si(n.thread).diameter, np.linspace(0.0, 1.3 * n.torque, 3)

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


# --------------------------------------------------------------------------- 03 springs in a stack
@solver("03/bolt-stiffness")
def _(n: Numbers) -> Solved:
    t, spring = thread.si(n.thread), stiffness.bolt_stiffness.si
    shank, free = (circle(t.diameter), n.shank), (float(t.stress_area), n.free_thread)
    parts = [spring([part], n.steel) for part in (shank, free)]
    whole = (circle(t.diameter), n.shank + n.free_thread)
    wrong = {
        "shank alone": parts[0],
        "springs side by side": stiffness.parallel.si(parts),
        "nominal diameter all along": spring([whole], n.steel),
    }
    return Solved(spring([shank, free], n.steel), wrong)


@solver("03/constant")
def _(n: Numbers) -> Solved:
    right = stiffness.joint_constant.si(n.bolt_stiffness, n.member_stiffness)
    over = n.bolt_stiffness / n.member_stiffness
    return Solved(right, {"share of the parts": 1.0 - right, "bolt over parts": over})


@solver("03/bolt-load")
def _(n: Numbers) -> Solved:
    wrong = {
        "all gas load on the bolt": n.preload + n.bolt_gas,
        "no gas load on the bolt": n.preload,
        "share of the parts": n.preload + (1.0 - n.constant) * n.bolt_gas,
    }
    return Solved(stiffness.bolt_load.si(n.preload, n.constant, n.bolt_gas), wrong)


@solver("03/clamp-left")
def _(n: Numbers) -> Solved:
    wrong = {
        "all gas load off the clamp": n.preload - n.bolt_gas,
        "share of the bolt": n.preload - n.constant * n.bolt_gas,
    }
    return Solved(stiffness.member_load.si(n.preload, n.constant, n.bolt_gas), wrong)


@solver("03/separation")
def _(n: Numbers) -> Solved:
    wrong = {
        "preload for separation load": n.preload,
        "share of the bolt": n.preload / n.constant,
        "share taken off": n.preload * (1.0 - n.constant),
    }
    return Solved(stiffness.separation_load.si(n.preload, n.constant), wrong)


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


# --------------------------------------------------------------------------- 04 five constructions
@solver("04/compressibility")
def _(n: Numbers) -> Solved:
    wrong = {
        "thin for thick": (n.sheet - n.sheet_loaded) / n.sheet_loaded,
        "what is left": n.sheet_loaded / n.sheet,
    }
    return Solved(constructions.compressibility.si(n.sheet, n.sheet_loaded), wrong)


@solver("04/recovery")
def _(n: Numbers) -> Solved:
    wrong = {
        "share of the thickness": (n.sheet_back - n.sheet_loaded) / n.sheet,
        "what stays": (n.sheet - n.sheet_back) / (n.sheet - n.sheet_loaded),
    }
    return Solved(constructions.recovery.si(n.sheet, n.sheet_loaded, n.sheet_back), wrong)


@solver("04/edge-push")
def _(n: Numbers) -> Solved:
    p = n.peak - n.air
    wrong = {"width for thickness": p * n.web, "radius of the edge": p * n.bore / 2.0}
    return Solved(criteria.blow_out.si(p, n.sheet, n.web, 1e6).push, wrong)


@solver("04/residual")
def _(n: Numbers) -> Solved:
    p, line = n.peak - n.air, criteria.residual_line_load.si
    wrong = {
        "gasket factor left out": line(p, 1.0, n.seal_width),
        "half the width": line(p, n.gasket_factor, n.seal_width / 2.0),
    }
    return Solved(line(p, n.gasket_factor, n.seal_width), wrong)


@solver("04/seating")
def _(n: Numbers) -> Solved:
    force, outside = constructions.ring_force.si, n.seal + 2.0 * n.seal_width
    wrong = {
        "width on one side only": force(n.seating, n.seal, n.seal + n.seal_width),
        "whole circle for the ring": n.seating * circle(outside),
    }
    return Solved(force(n.seating, n.seal, outside), wrong)


@solver("04/springback")
def _(n: Numbers) -> Solved:
    wrong = {
        "one layer for all": n.bead_back,
        "layers share the springback": n.bead_back / n.layers,
    }
    return Solved(n.bead_back * n.layers, wrong)


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


# --------------------------------------------------------------------------- 05 the deck
@solver("05/end-share")
def _(n: Numbers) -> Solved:
    least, mean = chain.fastener_shares(n.cylinders, n.around, n.on_head)
    wrong = {"every bolt counted in full": n.around}
    if abs(least - mean) > 0.05 * mean:
        wrong["mean for the worst bore"] = mean
    else:
        wrong["all bolts for one bore"] = n.on_head
    return Solved(least, wrong)


@solver("05/line-load")
def _(n: Numbers) -> Solved:
    right = per_length(n.bore_clamp, n.seal)
    wrong = {
        "diameter for circumference": n.bore_clamp / n.seal,
        "radius for diameter": 2.0 * right,
    }
    return Solved(right, wrong)


@solver("05/plate")
def _(n: Numbers) -> Solved:
    right = plate_stiffness.si(n.aluminium, n.head, n.poisson)
    wrong = {
        "sideways contraction left out": plate_stiffness.si(n.aluminium, n.head, 0.0),
        "beam without the twelve": 12.0 * right,
    }
    return Solved(right, wrong)


@solver("05/thicker")
def _(n: Numbers) -> Solved:
    thin, thick = (plate_stiffness.si(n.aluminium, h, n.poisson) for h in (n.head, n.head_thick))
    ratio = n.head_thick / n.head
    wrong = {"in proportion": ratio, "square for cube": ratio**2, "upside down": ratio**-3}
    return Solved(thick / thin, wrong)


@solver("05/least-clamp")
def _(n: Numbers) -> Solved:
    least = n.preload_low * mean_share(n)
    wrong = {
        "every bolt counted in full": per_length(n.preload_low * n.around, n.seal),
        "one bolt for the whole bore": per_length(n.preload_low, n.seal),
        "diameter for circumference": least / n.seal,
    }
    return Solved(per_length(least, n.seal), wrong)


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
