"""Solvers of the sets 06 to 11: wire rings, heat, thickness, scatter, teardown, capstone."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sealkit.analysis import chain
from sealkit.classroom.homework.questions import Solved
from sealkit.classroom.homework.solvers.common import (
    Array,
    Numbers,
    charted,
    circle,
    gas_force,
    mean_share,
    scale_zero,
    solver,
    torque_slip,
)
from sealkit.classroom.homework.solvers.joint import come_back, zone_of
from sealkit.errors import fail
from sealkit.fastening import losses, stiffness, tightening
from sealkit.fastening.threads import thread
from sealkit.pressure import geometry, variation
from sealkit.sealing import clearances, constructions, flow, grooves, heat, surfaces
from sealkit.sealing import liquids as wet

RARE = 1000.0  # cycles of which one has the rare peak


# --------------------------------------------------------------------------- 06 wire rings
@solver("06/proud")
def _(n: Numbers) -> Solved:
    wrong = {"groove depth for protrusion": n.groove, "added for taken off": n.wire + n.groove}
    return Solved(grooves.protrusion.si(n.wire, n.groove), wrong)


@solver("06/receiver")
def _(n: Numbers) -> Solved:
    right = grooves.receiver_area.si(n.receiver_width, n.receiver_depth)
    wrong = {"round for square": circle(n.receiver_width), "triangle for square": right / 2.0}
    return Solved(right, wrong)


@solver("06/displaced")
def _(n: Numbers) -> Solved:
    r = n.wire / 2.0
    right = flow.displaced_area.si(r, r)
    wrong = {
        "whole wire for the buried half": circle(n.wire),
        "radius for diameter": 4.0 * right,
        "square for circle": n.wire * r,
    }
    return Solved(right, wrong)


@solver("06/forming")
def _(n: Numbers) -> Solved:
    force = n.forming * math.pi * n.wire_ring
    wrong = {
        "diameter for circumference": n.forming * n.wire_ring,
        "radius for diameter": force / 2.0,
        "bore for wire ring": n.forming * math.pi * n.bore,
    }
    return Solved(force, wrong)


@solver("06/share")
def _(n: Numbers) -> Solved:
    right = n.forming * math.pi * n.wire_ring / n.bore_clamp
    if right > 0.9:
        raise fail("forming force", f"{right:.2f} of the clamp", "less than the clamp")
    return Solved(
        right, {"what is left": 1.0 - right, "diameter for circumference": right / math.pi}
    )


@solver("06/chart")
def _(n: Numbers) -> Solved:
    depth = np.linspace(0.0, 0.25 * n.wire, 51)  # as deep as the thin wire goes
    soft, hard, thin = (
        grooves.forming_line_load.si(k * n.wire, depth, temper)
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


# --------------------------------------------------------------------------- 07 hot and cold
@solver("07/growth")
def _(n: Numbers) -> Solved:
    grown = n.aluminium_expansion * n.head_length * n.rise
    on_scale = n.rise + n.cold - scale_zero(n)
    wrong = {
        "steel for aluminium": n.steel_expansion * n.head_length * n.rise,
        "hot temperature for the rise": n.aluminium_expansion * n.head_length * on_scale,
        "degrees of the other scale": 1.8 * grown,
    }
    return Solved(grown, wrong)


@solver("07/mismatch")
def _(n: Numbers) -> Solved:
    def apart(bolt_rise: float) -> float:
        head = (n.head_length, n.aluminium_expansion, n.rise, 0.0, 0.0, 0.0)
        bolt = (n.head_length, n.steel_expansion, bolt_rise)
        return float(heat.differential_expansion.si(*head, *bolt))

    wrong = {"bolt growth forgotten": apart(0.0), "growths added": apart(-n.bolt_rise)}
    return Solved(apart(n.bolt_rise), wrong)


@solver("07/preload-change")
def _(n: Numbers) -> Solved:
    springs = [n.bolt_stiffness, n.member_stiffness]
    wrong = {
        "parts taken as rigid": n.outgrow * n.bolt_stiffness,
        "springs side by side": n.outgrow * stiffness.parallel.si(springs),
    }
    return Solved(n.outgrow * stiffness.series.si(springs), wrong)


@solver("07/hot-clamp")
def _(n: Numbers) -> Solved:
    wrong = {"cold for hot": n.preload, "gain taken off": n.preload - n.hot_gain}
    return Solved(n.preload + n.hot_gain, wrong)


def crept(n: Numbers, preload: float, scatter: float = 0.0) -> float:
    """Low end of a preload after creep."""
    loss = losses.share_loss.si("creep", n.creep, n.creep, "card", "invented")
    return float(losses.preload_range.si(preload, scatter, [loss]).low)


@solver("07/relaxed")
def _(n: Numbers) -> Solved:
    hot = n.preload + n.hot_gain
    wrong = {
        "cold for hot": crept(n, n.preload),
        "creep forgotten": hot,
        "lost part for what is left": hot * n.creep,
    }
    return Solved(crept(n, hot), wrong)


@solver("07/coolant")
def _(n: Numbers) -> Solved:
    wrong = {
        "gasket factor left out": n.coolant,
        "absolute for gauge": wet.needed_stress.si(n.coolant + n.air, n.gasket_factor),
    }
    return Solved(wet.needed_stress.si(n.coolant, n.gasket_factor), wrong)


@solver("07/chart")
def _(n: Numbers) -> Solved:
    rise, iron = np.linspace(0.0, 1.3 * n.rise, 21), 10.8e-6

    def preload(expansion: float) -> Array:
        head = [(expansion, n.head_length, rise)]
        bolt = (n.steel_expansion, n.head_length, 0.7 * rise)
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


# --------------------------------------------------------------------------- 08 thickness
@solver("08/gasket-volume")
def _(n: Numbers) -> Solved:
    volume = clearances.gasket_volume.si
    wrong = {
        "bore for gasket bore": volume(n.bore, n.gasket),
        "radius for diameter": volume(2.0 * n.gasket_bore, n.gasket),
    }
    return Solved(volume(n.gasket_bore, n.gasket), wrong)


@solver("08/ratio")
def _(n: Numbers) -> Solved:
    right = geometry.compression_ratio_from_volumes.si(n.swept, n.clearance)
    return Solved(right, {"without plus one": right - 1.0, "upside down": 1.0 / right})


@solver("08/thicker")
def _(n: Numbers) -> Solved:
    ratio = clearances.ratio_at_thickness.si
    wrong = {
        "thinner for thicker": ratio(n.swept, n.ratio, n.gasket_bore, -n.thicker),
        "nothing changed": n.ratio,
    }
    return Solved(ratio(n.swept, n.ratio, n.gasket_bore, n.thicker), wrong)


@solver("08/squish")
def _(n: Numbers) -> Solved:
    wrong = {"gasket only": n.gasket, "taken off for added": n.gasket - n.deck}
    return Solved(clearances.squish.si(n.gasket, n.deck), wrong)


@solver("08/clearance-volume")
def _(n: Numbers) -> Solved:
    def parts(gasket: float, dish: float) -> Any:
        sizes = (n.bore, n.chamber, n.gasket_bore, gasket, n.deck, dish)
        return geometry.clearance_volume_from_parts.si(*sizes)

    wrong = {
        "gasket forgotten": parts(0.0, n.dish),
        "dish taken off": parts(n.gasket, -n.dish),
        "chamber only": n.chamber,
    }
    return Solved(parts(n.gasket, n.dish), wrong)


@solver("08/running")
def _(n: Numbers) -> Solved:
    rest = clearances.squish.si(n.gasket, n.deck)
    wrong = {
        "at rest for running": rest,
        "gasket only": n.gasket,
        "added for taken off": rest + n.stretch,
    }
    return Solved(clearances.clearance.si(n.gasket, n.deck, n.stretch).running, wrong)


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


# --------------------------------------------------------------------------- 09 scatter
def rare_peak(n: Numbers) -> float:
    """Rare high peak of an engine, absolute."""
    return float(variation.rare_peak_pressure.si(n.mean_peak, n.spread, RARE))


@solver("09/rare-peak")
def _(n: Numbers) -> Solved:
    right = rare_peak(n)
    wrong = {
        "one deviation only": n.mean_peak * (1.0 + n.spread),
        "taken off for added": 2.0 * n.mean_peak - right,
        "mean for the rare one": n.mean_peak,
    }
    return Solved(right, wrong)


@solver("09/low-preload")
def _(n: Numbers) -> Solved:
    kept = losses.preload_range.si(n.preload, n.scatter)
    wrong = {
        "mean for the low end": n.preload,
        "high for the low end": kept.high,
        "divided for taken off": n.preload / (1.0 + n.scatter),
    }
    return Solved(kept.low, wrong)


@solver("09/factor")
def _(n: Numbers) -> Solved:
    wrong = {"high over mean": 1.0 + n.scatter, "mean over low": 1.0 / (1.0 - n.scatter)}
    return Solved(tightening.tightening_factor.si(n.scatter), wrong)


@solver("09/deviation")
def _(n: Numbers) -> Solved:
    five = [n.bolt_1, n.bolt_2, n.bolt_3, n.bolt_4, n.bolt_5]
    mean = sum(five) / 5
    wrong = {
        "divided by the number": np.std(five),
        "highest less lowest": max(five) - min(five),
        "mean of the distances": sum(abs(f - mean) for f in five) / 5,
    }
    return Solved(tightening.preload_sample.si(five).deviation, wrong)


@solver("09/combined")
def _(n: Numbers) -> Solved:
    a, b = n.wrench_spread, n.friction_spread
    return Solved(math.hypot(a, b), {"spreads added up": a + b, "larger one only": max(a, b)})


@solver("09/limit")
def _(n: Numbers) -> Solved:
    above = n.preload - n.preload_wanted
    wrong = {
        "spread left out": above / n.preload,
        "wanted for mean": above / (n.preload_wanted * n.friction_spread),
    }
    return Solved(above / (n.preload * n.friction_spread), wrong)


@solver("09/chart")
def _(n: Numbers) -> Solved:
    from scipy.special import ndtr

    force = n.preload * np.linspace(0.5, 1.5, 101)

    def below(spread: float) -> Array:
        return np.asarray(ndtr((force - n.preload) / (spread * n.preload)), dtype=float)

    mine, finer = below(n.friction_spread), below(0.5 * n.friction_spread)
    share = float(np.interp(n.preload_wanted, force, mine))
    if not 0.08 <= share <= 0.4:
        raise fail("share", f"{share:.3f}", "one that can be read from the chart")
    return charted(
        "Share of the bolts that have less than a preload",
        ("preload", "force"),
        ("share of the bolts", "fraction"),
        force,
        n.preload_wanted,
        [
            ("this wrench", "right", "chance", mine, ""),
            ("a finer wrench", "line of the finer wrench", "chance", finer, "4 3"),
        ],
        {"above for below": 1.0 - share},
    )


# --------------------------------------------------------------------------- 10 teardown
@solver("10/warp")
def _(n: Numbers) -> Solved:
    wrong = {"whole bow for one bore": n.bow, "in proportion": n.bow * n.seal / n.span}
    return Solved(surfaces.local_warp.si(n.bow, n.span, n.seal), wrong)


@solver("10/stretch")
def _(n: Numbers) -> Solved:
    right = n.bolt_grown / n.bolt_limit
    return Solved(right, {"what is left": 1.0 - right, "upside down": 1.0 / right})


@solver("10/lost-clamp")
def _(n: Numbers) -> Solved:
    right = constructions.creep_relaxation.si(n.stretch_then, n.stretch_now)
    lost = (n.stretch_then - n.stretch_now) / n.stretch_now
    return Solved(right, {"what is left": 1.0 - right, "loss over what is left": lost})


@solver("10/cut-volume")
def _(n: Numbers) -> Solved:
    volume = clearances.gasket_volume.si
    wrong = {
        "radius for diameter": volume(2.0 * n.bore, n.cut),
        "square for circle": n.bore**2 * n.cut,
    }
    return Solved(volume(n.bore, n.cut), wrong)


@solver("10/cut-ratio")
def _(n: Numbers) -> Solved:
    changed, clear = clearances.changed_compression_ratio.si, n.swept / (n.ratio - 1.0)
    taken = clearances.gasket_volume.si(n.bore, n.big_cut)
    wrong = {"added for taken off": changed(n.swept, clear, taken), "nothing changed": n.ratio}
    return Solved(changed(n.swept, clear, -taken), wrong)


@solver("10/springback-left")
def _(n: Numbers) -> Solved:
    whole = n.layers * n.bead_back
    left = whole - n.bow_left
    if left < 0.2 * whole:
        raise fail("springback", "used up", "some left")
    return Solved(left, {"gap not taken off": whole, "added for taken off": whole + n.bow_left})


@solver("10/chart")
def _(n: Numbers) -> Solved:
    return come_back(
        zone_of("multi-layer steel", "seal"),
        n.bead_top,
        n.bead_gap,
        ("line load on the bead", "line load"),
        "Line load on a steel bead as the joint opens from its clamp",
    )


# --------------------------------------------------------------------------- 11 capstone
@solver("11/sized-on")
def _(n: Numbers) -> Solved:
    wrong = {
        "mean for the rare one": n.mean_peak,
        "one deviation only": n.mean_peak * (1.0 + n.spread),
    }
    return Solved(rare_peak(n), wrong)


@solver("11/gas-load")
def _(n: Numbers) -> Solved:
    rare = rare_peak(n) - n.air
    wrong = {
        "mean for the rare one": gas_force(n.mean_peak - n.air, n.seal),
        "bore for seal diameter": gas_force(rare, n.bore),
        "radius for diameter": gas_force(rare, 2.0 * n.seal),
    }
    return Solved(gas_force(rare, n.seal), wrong)


@solver("11/preload-wanted")
def _(n: Numbers) -> Solved:
    rule, share = chain.CLAMP_RULE[0], mean_share(n)
    if abs(rule / share - 1.0) < 0.05:
        raise fail("bolts of one bore", f"{share:g}", "another number than the rule's")
    clamp = rule * n.bore_gas
    wrong = {
        "every bolt counted in full": clamp / n.around,
        "one bolt for the whole bore": clamp,
        "rule left out": n.bore_gas / share,
    }
    return Solved(clamp / share, wrong)


@solver("11/torque")
def _(n: Numbers) -> Solved:
    d, torque = thread.si(n.thread).diameter, tightening.torque_short.si
    right = torque(n.preload, n.nut_factor, d)
    wrong = {
        "nut factor left out": torque(n.preload, 1.0, d),
        "radius for diameter": right / 2.0,
        "torque unit": right / torque_slip(n),
    }
    return Solved(right, wrong)


@solver("11/utilisation")
def _(n: Numbers) -> Solved:
    t = thread.si(n.thread)
    right = stiffness.bolt_stress.si(n.preload, 0.0, 0.0, t.stress_area) / n.proof
    wrong = {
        "nominal diameter for stress area": n.preload / circle(t.diameter) / n.proof,
        "margin for utilisation": 1.0 - right,
    }
    return Solved(right, wrong)


@solver("11/low-clamp")
def _(n: Numbers) -> Solved:
    low, share = crept(n, n.preload, n.scatter), mean_share(n)
    wrong = {
        "mean for the low end": crept(n, n.preload) * share,
        "creep forgotten": n.preload * (1.0 - n.scatter) * share,
        "one bolt for the whole bore": low,
    }
    return Solved(low * share, wrong)
