"""Figures that stand above the charts of several lessons: (what it is, figure, good or bad)."""

from __future__ import annotations

from collections.abc import Sequence

from sealkit.analysis import Refit, RingInJoint
from sealkit.analysis.wrench import Tightened
from sealkit.classroom.drawing.deck_map import DeckView
from sealkit.classroom.panel.scene import Tile
from sealkit.report import Report
from sealkit.report.seal import at_peak, shown_seal, springback


def joint(report: Report) -> Sequence[Tile]:
    """The figures that every joint is judged by, at its design peak, low end of the preload."""
    _, state = at_peak(report)
    seal, back = shown_seal(report), springback(report)
    lift, left = float(state.seal_lift), float(state.zone_loads[seal.name])
    clamp = float(state.clamp)
    wanted = float(seal.required(report.gas.design_gauge)) if seal.factor > 0 else None
    tight = wanted is None or left >= wanted or None  # no tick beside a seal that leaks
    # a fastener tightened to yield has no limit of proof
    proof = [
        ("of proof, worst bolt", (r.demand / r.capacity, "fraction", 0), bool(r.holds))
        for r in report.limits
        if r.check == "fastener"
    ]
    return (
        ("design peak pressure", (report.gas.design_peak, "pressure", 0), None),
        ("gas load on one bore", (float(state.gas_force), "force"), None),
        ("clamp left on the gasket", (clamp, "force"), clamp > 0.0 and tight),
        ("left on the seal", (left, seal.load_kind), None if wanted is None else bool(tight)),
        ("lift at the bore edge", (lift, "lift"), None if back is None else lift <= back and tight),
        *proof[:1],
    )  # fmt: skip


def wrench(found: Tightened) -> Sequence[Tile]:
    """One fastener, as tightened."""
    ends = zip(("low end", "middle", "high end"), found.preloads, strict=True)
    together, strength = float(found.equivalent[2]), found.clamp.strength
    yields, proof = float(strength.yield_strength), float(strength.proof)
    good = together <= yields and (together <= proof or None)
    return (
        *((f"preload, {end}", (force, "force"), None) for end, force in ends),
        ("of the torque stretches", (found.stretching, "fraction", 0), None),
        ("high end, with twist", (together, "stress", 0), good),
        ("yield strength", (yields, "stress", 0), None),
    )


def deck(found: DeckView) -> Sequence[Tile]:
    """The seal at the weakest place of the deck."""
    weak = found.state.weakest()
    hole = min(found.state.holes(), key=lambda h: h.share, default=None)
    lift = found.around(weak.bore)[1].lift
    return (
        ("least on the seal", (weak.load, found.kind), bool(weak.limit.holds)),
        ("wanted there", (found.wanted, found.kind), None),
        ("the average joint", (found.average, found.kind), found.average_holds),
        ("head has risen there", (lift, "lift"), None),
        *([(f"least at {hole.name}, of mean", (hole.share, "fraction", 0), None)] if hole else []),
    )


def thickness(found: Refit) -> Sequence[Tile]:
    """What another thickness or cut makes of the engine."""
    gap, after, risk = found.gap, found.after, found.squish_is == "risk"
    knock, rare = float(after.knock_integral), after.rare_knock or 0.0
    quiet = knock < 1.0 and (rare < 1.0 or None)
    beside = f" (rare one {rare:.2f})" if rare else ""
    return (
        ("compression ratio", (found.sides["ratio"][2], "number", 2), None),
        ("squish, cold", (float(gap.squish), "length"), not risk),
        ("left at speed", (float(gap.running), "length"), not gap.touches and (not risk or None)),
        ("design peak", (after.design_peak, "pressure", 0), None),
        ("gas force on the head", (found.force, "force"), None),
        (f"knock, mean cycle{beside}, limit 1", (knock, "number", 2), quiet),
    )


def ring(one: RingInJoint) -> Sequence[Tile]:
    """A wire ring, pressed home and at peak."""
    ring, stands, spare = one.ring, float(one.ring.lift_to_leave), float(one.ring.spare)
    sound = not ring.faults or None  # no tick beside a fault
    return (
        ("presses it home", (float(ring.line_load), "line load"), None),
        ("clamp there is", (one.clamp, "line load"), float(ring.clamp_share) <= 1.0),
        ("the head lifts", (one.lift, "lift"), None),
        ("copper stands", (stands, "lift"), one.kept and sound),
        ("left on the wire", (one.left, "line load"), one.holds and sound),
        *(
            [("room to spare", (spare, "fraction", 0), spare >= 0 and sound)]
            if ring.receiver_area > 0
            else []
        ),
    )
