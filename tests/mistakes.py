"""Mistakes that people plausibly make on the job cards, each worked out with arithmetic of its own.

Nothing here comes from the formulas of the cards: a mistake is what somebody would type who went
wrong with the numbers printed on the card. The tests ask that none of them ever counts, and how
many are named.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

from sealkit.classroom.homework import engines
from sealkit.classroom.homework.answers import check, written
from sealkit.classroom.homework.cards import Card
from sealkit.fastening.threads import thread

PI = math.pi


def area(d: float) -> float:
    return PI * d * d / 4.0


def numbers(card: Card) -> Any:
    """What stands on a card, plain SI, and the thread's sizes from its table."""
    n = SimpleNamespace(**vars(engines.plain(card.numbers, card.system)))
    size = thread.si(n.thread)
    n.d, n.p, n.d2, n.root, n.stress_area = (
        *(size.diameter, size.pitch, size.pitch_diameter, size.root_diameter),
        size.stress_area,
    )
    n.share = n.on_head / n.cylinders
    return n


def _long_form(n: Any, thread_arm: float, head_arm: float, flank: float = 1.0) -> float:
    friction = n.thread_friction * thread_arm / flank + n.head_friction * head_arm
    return float(n.preload * (n.p / (2.0 * PI) + friction))


def _head_arm(n: Any) -> float:
    return float((n.bearing + n.hole) / 4.0)


def _rare(n: Any) -> float:
    return float(n.mean_peak * (1.0 + 3.09 * n.spread))


def _ratio(swept: float, clear: float) -> float:
    return (swept + clear) / clear


COS30 = math.cos(math.radians(30.0))
Mistake = Callable[[Any, float], float]  # numbers, right answer -> what is typed
MISTAKES: dict[tuple[str, str], Mistake] = {
    # the whole joint
    ("00/gas-load", "absolute for gauge"): lambda n, r: n.peak * area(n.seal),
    ("00/gas-load", "air added"): lambda n, r: (n.peak + n.air) * area(n.seal),
    ("00/gas-load", "bore for seal"): lambda n, r: (n.peak - n.air) * area(n.bore),
    ("00/gas-load", "bore and absolute"): lambda n, r: n.peak * area(n.bore),
    ("00/gas-load", "pi forgotten"): lambda n, r: r / PI,
    ("00/preload", "nut factor multiplied"): lambda n, r: n.torque * n.nut_factor / n.d,
    ("00/preload", "pitch diameter"): lambda n, r: n.torque / (n.nut_factor * n.d2),
    ("00/clamp", "every bolt a half"): lambda n, r: n.preload * n.around / 2.0,
    ("00/line-load", "bore for seal"): lambda n, r: r * n.seal / n.bore,
    ("00/line-load", "gas added"): lambda n, r: (n.bore_clamp + n.bore_gas) / (PI * n.seal),
    # the gas
    ("01/swept", "bore and stroke swapped"): lambda n, r: n.cylinders * area(n.stroke) * n.bore,
    ("01/swept", "pi forgotten"): lambda n, r: r / PI,
    ("01/clearance", "bore and stroke swapped"): lambda n, r: (
        area(n.stroke) * n.bore / (n.ratio - 1.0)
    ),
    ("01/clearance", "one added to the ratio"): lambda n, r: (
        area(n.bore) * n.stroke / (n.ratio + 1.0)
    ),
    ("01/compression-end", "gauge at the end"): lambda n, r: r - n.air,
    ("01/compression-end", "gauge in, air added after"): lambda n, r: (
        n.boost * n.ratio**n.exponent + n.air
    ),
    ("01/compression-end", "exponent less one"): lambda n, r: r / n.ratio,
    ("01/compressor", "efficiency multiplied"): lambda n, r: (
        n.inlet + (r - n.inlet) * n.compressor**2
    ),
    ("01/gas-load", "absolute for gauge"): lambda n, r: n.peak * area(n.bore),
    ("01/gas-load", "air added"): lambda n, r: (n.peak + n.air) * area(n.bore),
    ("01/piston-speed", "bore for stroke"): lambda n, r: 2.0 * n.bore * n.speed,
    ("01/piston-speed", "turns a minute"): lambda n, r: 60.0 * r,
    # the wrench
    ("02/preload", "nut factor multiplied"): lambda n, r: n.torque * n.nut_factor / n.d,
    ("02/preload", "pitch diameter"): lambda n, r: n.torque / (n.nut_factor * n.d2),
    ("02/stress-area", "pitch diameter"): lambda n, r: area(n.d2),
    ("02/stress", "pitch diameter"): lambda n, r: n.preload / area(n.d2),
    ("02/stress", "root"): lambda n, r: n.preload / area(n.root),
    ("02/torque", "flank factor"): lambda n, r: _long_form(n, n.d2 / 2.0, _head_arm(n)),
    ("02/torque", "nominal for pitch diameter"): lambda n, r: _long_form(
        n, n.d / 2.0, _head_arm(n), COS30
    ),
    ("02/torque", "diameters for radii"): lambda n, r: _long_form(
        n, n.d2, 2.0 * _head_arm(n), COS30
    ),
    ("02/torque", "outside of the head"): lambda n, r: _long_form(
        n, n.d2 / 2.0, n.bearing / 2.0, COS30
    ),
    ("02/turn", "stiffness of the parts alone"): lambda n, r: (
        n.angle / (2.0 * PI) * n.p * n.member_stiffness
    ),
    # springs
    ("03/bolt-stiffness", "stress area all along"): lambda n, r: (
        n.steel * n.stress_area / (n.shank + n.free_thread)
    ),
    ("03/bolt-load", "its share alone"): lambda n, r: n.constant * n.bolt_gas,
    ("03/bolt-load", "taken off"): lambda n, r: n.preload - n.constant * n.bolt_gas,
    ("03/clamp-left", "added"): lambda n, r: n.preload + (1.0 - n.constant) * n.bolt_gas,
    # gaskets
    ("04/edge-push", "absolute for gauge"): lambda n, r: n.peak * n.sheet,
    ("04/residual", "absolute for gauge"): lambda n, r: (
        2.0 * n.seal_width * n.gasket_factor * n.peak
    ),
    ("04/seating", "inner circle times width"): lambda n, r: n.seating * PI * n.seal * n.seal_width,
    ("04/recovery", "thickness over thickness"): lambda n, r: n.sheet_back / n.sheet,
    # deck
    ("05/mean-clamp", "every bolt a half"): lambda n, r: n.preload * n.around / 2.0,
    ("05/plate", "Poisson's ratio not squared"): lambda n, r: (
        n.aluminium * n.head**3 / 12.0 / (1.0 - n.poisson)
    ),
    # wire
    ("06/share", "bore for the ring"): lambda n, r: n.forming * PI * n.bore / n.bore_clamp,
    # heat
    ("07/mismatch", "one rise for both"): lambda n, r: (
        (n.aluminium_expansion - n.steel_expansion) * n.head_length * n.rise
    ),
    ("07/mismatch", "one expansion for both"): lambda n, r: (
        n.aluminium_expansion * n.head_length * (n.rise - n.bolt_rise)
    ),
    ("07/preload-change", "stiffness of the parts alone"): lambda n, r: (
        n.outgrow * n.member_stiffness
    ),
    ("07/relaxed", "creep off the preload only"): lambda n, r: (
        n.preload * (1.0 - n.creep) + n.hot_gain
    ),
    ("07/relaxed", "creep off the gain only"): lambda n, r: (
        n.preload + n.hot_gain * (1.0 - n.creep)
    ),
    # thickness
    ("08/gasket-volume", "bore for gasket bore"): lambda n, r: area(n.bore) * n.gasket,
    ("08/clearance-volume", "bore for gasket bore"): lambda n, r: (
        r - (area(n.gasket_bore) - area(n.bore)) * n.gasket
    ),
    ("08/clearance-volume", "deck clearance forgotten"): lambda n, r: r - area(n.bore) * n.deck,
    ("08/thicker", "bore for gasket bore"): lambda n, r: _ratio(
        n.swept, n.swept / (n.ratio - 1.0) + area(n.bore) * n.thicker
    ),
    ("08/thicker", "ratio without minus one"): lambda n, r: _ratio(
        n.swept, n.swept / n.ratio + area(n.gasket_bore) * n.thicker
    ),
    ("08/ratio", "over the swept volume"): lambda n, r: (n.swept + n.clearance) / n.swept,
    ("08/running", "deck clearance forgotten"): lambda n, r: n.gasket - n.stretch,
    # scatter
    ("09/rare-peak", "deviations alone"): lambda n, r: 3.09 * n.spread * n.mean_peak,
    ("09/low-preload", "half the scatter"): lambda n, r: n.preload * (1.0 - n.scatter / 2.0),
    ("09/factor", "twice the scatter"): lambda n, r: 1.0 + 2.0 * n.scatter,
    ("09/combined", "mean of both"): lambda n, r: (n.wrench_spread + n.friction_spread) / 2.0,
    # teardown
    ("10/warp", "radius for diameter"): lambda n, r: r / 4.0,
    ("10/cut-ratio", "ratio without minus one"): lambda n, r: _ratio(
        n.swept, n.swept / n.ratio - area(n.bore) * n.big_cut
    ),
    # specification
    ("11/gas-load", "absolute for gauge"): lambda n, r: _rare(n) * area(n.seal),
    ("11/torque", "pitch diameter"): lambda n, r: n.nut_factor * n.preload * n.d2,
    ("11/utilisation", "root"): lambda n, r: n.preload / area(n.root) / n.proof,
    ("11/low-clamp", "losses added up"): lambda n, r: (
        n.preload * (1.0 - n.scatter - n.creep) * n.share
    ),
    # a log
    ("12/zero", "plain ratio"): lambda n, r: abs(
        (n.log_second - n.log_ratio * n.log_first) / (n.log_ratio - 1.0)
    ),
    ("12/zero", "less one forgotten"): lambda n, r: (
        n.log_first - n.log_second / n.log_ratio**n.exponent
    ),
    ("12/zero", "true pressure"): lambda n, r: n.log_first - r,
    ("12/dead-centre", "added"): lambda n, r: n.log_half + n.log_ahead,
    ("12/dead-centre", "camshaft"): lambda n, r: n.log_half - n.log_ahead / 2.0,
    ("12/gauge", "as it reads"): lambda n, r: n.log_start,
    ("12/noise", "over the number"): lambda n, r: n.log_noise / n.log_cycles,
    ("12/spread", "three deviations"): lambda n, r: 3.09 * n.log_deviation / n.mean_peak,
    ("12/sized-on", "mean peak"): lambda n, r: n.mean_peak,
    ("12/sized-on", "one deviation"): lambda n, r: n.mean_peak + n.log_deviation,
    ("12/together", "plain mean"): lambda n, r: (n.sheet_half + n.log_half) / 2.0,
    ("12/together", "weights not squared"): lambda n, r: (
        (n.sheet_half / n.sheet_wide + n.log_half / n.log_wide)
        / (1.0 / n.sheet_wide + 1.0 / n.log_wide)
    ),
}


def judged(card: Card) -> Iterator[tuple[str, str, Any]]:
    """Question, mistake and what is said about it, typed with five figures."""
    questions = {i.question.key: i.question for i in card.items}
    n = numbers(card)
    for (key, name), mistake in MISTAKES.items():
        if key in questions:
            q = questions[key]
            text = written(replace(q, digits=5, pitfalls=()), mistake(n, float(q.value)))
            yield key, name, check(q, text)
