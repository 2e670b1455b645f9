"""What is checked on every drawn card, in the suite on a few and in a benchmark on all."""

from __future__ import annotations

import math

from sealkit.classroom.homework import cards
from sealkit.classroom.homework.answers import CHOICE, check, printed, written
from sealkit.classroom.homework.cards import Card
from tests.mistakes import numbers

CLASS_KEY = "5eed" * 8


def drawn(name: str, count: int) -> list[Card]:
    """Cards of a set, every other one in inches."""
    systems = ("metric", "inch")
    return [cards.draw(CLASS_KEY, name, f"t-{i:03}", system=systems[i % 2]) for i in range(count)]


def faults(card: Card) -> list[str]:
    """Right answers and wrong routes, typed as a trainee would, that are not told apart."""
    out = []
    for item in card.items:
        q = item.question
        said = check(q, printed(q))
        if not said.right:
            out.append(f"{q.key} {card.trainee}: as printed, {printed(q)} is {said}")
        said = check(q, written(q))
        if not said.right or said.pitfall:
            out.append(f"{q.key} {card.trainee}: right answer {written(q)} is {said}")
        if len(q.pitfalls) < 2:
            out.append(f"{q.key} {card.trainee}: fewer than two pitfalls")
        for p in q.pitfalls:
            said = check(q, written(q, p.value))
            if said.right or said.pitfall != p.name:
                out.append(f"{q.key} {card.trainee}: {p.name} {written(q, p.value)} is {said}")
        if q.kind != CHOICE and item.chart is not None and q.digits != 2:
            out.append(f"{q.key}: a chart is read to two figures")
    return out


def contradictions(card: Card) -> list[str]:
    """Where the numbers of a card, its answers and its chart are not those of one engine.

    Worked out here from what is printed, with arithmetic of its own.
    """
    n = numbers(card)
    values = {i.question.key.partition("/")[2]: i.question.value for i in card.items}
    system = ("metric", "inch").index(card.system)
    out = []

    def ask(what: str, holds: bool) -> None:
        if not holds:
            out.append(f"{card.set} {card.trainee}: {what}")

    # the strongest bolt there is in the table of engines; a card that prints its own has that
    proof = getattr(n, "proof", (970e6, 140 * 6894757.3)[system]) * n.stress_area
    pulls = [getattr(n, x, 0.0) for x in ("preload", "preload_wanted", "preload_low")]
    pulls += [getattr(n, f"bolt_{i}", 0.0) for i in range(1, 6)]
    if hasattr(n, "torque"):
        pulls.append(n.torque / (n.nut_factor * n.d))
        pulls.append(n.torque / (0.7 * n.nut_factor * n.d))  # with the paste of the chart
    pulls += [float(values[k]) for k in ("turn", "bolt-load", "hot-clamp") if k in values]
    if card.set in ("03", "07", "11"):
        pulls += [float(values[k]) for k in ("separation", "preload-wanted") if k in values]
    ask("a bolt above its proof load", max(pulls) < proof)
    ask("preload near nothing", not getattr(n, "preload", 0.0) or n.preload > 0.4 * proof)

    if hasattr(n, "peak") and hasattr(n, "seal"):
        gas = (n.peak - n.air) * math.pi / 4.0 * n.seal**2
        ask("another gas load", not hasattr(n, "bore_gas") or 0.69 < n.bore_gas / gas < 0.91)
    if hasattr(n, "mean_peak") and hasattr(n, "bore_gas"):
        gas = (n.mean_peak * (1 + 3.09 * n.spread) - n.air) * math.pi / 4.0 * n.seal**2
        ask("another gas load", 0.69 < n.bore_gas / gas < 0.91)
    if hasattr(n, "bore_clamp") and hasattr(n, "preload"):
        ask("another clamp", 0.78 < n.bore_clamp / (n.preload * n.share) < 0.94)
    if card.set == "01":
        chart = next(i.chart for i in card.items if i.chart is not None)
        ask("the chart has another peak", abs(chart.curves[0].y.max() / n.peak - 1.0) < 0.02)
    if card.set == "02":
        share = n.p / (2.0 * math.pi * n.nut_factor * n.d)
        ask("another useful share", abs(n.stretch_torque / n.torque / share - 1.0) < 0.025)
    if card.set == "03":
        ask("the gasket made it stiffer", n.constant > 1.05 * float(values["constant"]))
    if card.set == "07":
        expansion = n.aluminium_expansion * n.rise - n.steel_expansion * n.bolt_rise
        k = n.bolt_stiffness * n.member_stiffness / (n.bolt_stiffness + n.member_stiffness)
        full, hot = n.head_length * expansion, float(values["chart"])
        ask("another misfit", abs(full / float(values["mismatch"]) - 1.0) < 1e-6)
        ask("it outgrows more than in full heat", 0.3 < n.outgrow / full < 0.65)
        ask("it gains more than in full heat", 0.55 < n.hot_gain / (full * k) < 0.95)
        ask("the chart has another engine", abs(hot / (n.preload + full * k) - 1.0) < 0.01)
    if card.set == "08":
        clear = n.swept / (n.ratio - 1.0)
        ask("another clearance", abs(float(values["clearance-volume"]) / clear - 1.0) < 0.01)
        ask("the flat piston", abs((n.clearance + n.dish) / clear - 1.0) < 0.01)
        ask("another swept volume", abs(n.swept / (math.pi / 4 * n.bore**2 * n.stroke) - 1) < 0.01)
    return out
