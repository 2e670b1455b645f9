"""The drawings on the page: what is taken from a report for each of them."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np

from sealkit.drawing import ink, plan, sections
from sealkit.drawing.ink import Axis, Curve, Mark
from sealkit.report import Report, percent
from sealkit.report.joint_diagram import joint_diagram
from sealkit.report.record import figure, shown
from sealkit.report.seal import on_map, shown_seal, springback
from sealkit.sealing.deck.sequence import outwards
from sealkit.sealing.limit import Limit
from sealkit.units import show, show_unit, show_value

_SPAN = (-90.0, 150.0)  # degrees of crank angle that are drawn
_ABOVE, _BELOW = (40.0, 34.0, 48.0), (52.0, 60.0, 44.0)  # where words may stand beside the curves


def _angle(report: Report) -> tuple[Any, Any]:
    """Crank angles that are drawn, and which of the grid they are."""
    angle = np.degrees(np.asarray(report.gas.cycle.crank_angle))
    keep = np.flatnonzero((angle >= _SPAN[0]) & (angle <= _SPAN[1]))[::3]
    return angle[keep], keep


def trace(report: Report, system: str) -> str:
    """Cylinder pressure over the crank angle, with the pressure at which something gives."""
    x, keep = _angle(report)
    over = report.gas.ambient
    mean = show_value(np.asarray(report.gas.cycle.pressure)[keep], "pressure", system)
    rare = show_value(report.gas.sizing[keep] + over, "pressure", system)
    first = report.first_failure
    top, marks, at = float(np.max(rare)), [], np.inf
    if first is not None and 0.0 < first.pressure < 2.0 * report.gas.design_gauge:
        at = float(show_value(first.pressure + over, "pressure", system))
        crosses = at < top
        what = f"{'perhaps ' * report.unsure(first)}{first.limit.short}"
        # where the line crosses the curves its words stand above them
        marks = [Mark(at, f"{'dotted: ' * crosses}here {what}", above=crosses)]
        top = max(top, at)

    def clear(line: Any, places: tuple[float, ...], up: float) -> float:
        """Of these angles the first at which words beside a line are clear of the dotted one."""
        away = [abs(float(np.interp(place, x, line)) / top + up - at / top) for place in places]
        return next((p for p, far in zip(places, away, strict=True) if far > 0.09), places[0])

    unit = show_unit("pressure", system)
    told = (
        f"Cylinder pressure over crank angle: on average up to "
        f"{shown(report, 'pressure.mean_peak', system)}, to design for up to "
        f"{shown(report, 'pressure.design_peak', system)}."
    )
    return ink.chart(
        Axis("crank angle after top dead centre, °", *_SPAN, 60.0),
        Axis(f"Pressure in the cylinder, {unit} absolute", 0.0, 1.12 * top),
        [
            Curve(x, mean, "average", clear(mean, _BELOW, -0.08), "6 4", True, "end"),
            Curve(x, rare, "the peak to design for", clear(rare, _ABOVE, 0.05), "", False, "start"),
        ],
        told,
        marks,
        high=330.0,
    )


def sealing(report: Report, system: str) -> str:
    """What the seal has at every crank angle over what it needs to hold the gas: the reserve."""
    x, keep = _angle(report)
    seal = shown_seal(report)
    unit = show_unit(seal.load_kind, system)
    has = np.asarray(report.over_angle.zone_loads[seal.name])[keep]
    needs = np.asarray(seal.required(report.gas.sizing[keep]), dtype=float)
    has, needs = (show_value(v, seal.load_kind, system) for v in (has, needs))
    short = bool(np.any(has < needs))
    least = int(np.argmin(has - needs))
    told = (
        f"Load on the {seal.name}, on average round the bore: it has {has[least]:,.0f} {unit} and "
        f"needs {needs[least]:,.0f} {unit} where the two are closest"
        f"{': it falls short and gas passes' if short else ''}."
    )
    row, dots = on_map(report, "residual"), []
    if row is not None:
        held, wanted = (show_value(v, row.kind, system) for v in (row.capacity, row.demand))
        dots = [(float(x[int(np.argmax(needs))]), float(held), "weakest place")]
        told += (
            f" The deck map counts: at the weakest place it has {held:,.0f} and needs "
            f"{wanted:,.0f} {unit}{'' if row.holds else ', and gas passes'} ({_where(row)})."
        )
    return ink.chart(
        Axis("crank angle after top dead centre, °", *_SPAN, 60.0),
        Axis(
            f"Load on the {seal.name}, {unit}", 0.0, 1.15 * float(max(np.max(has), np.max(needs)))
        ),
        [
            Curve(x, has, "load it has", 95.0),
            Curve(x, needs, "load it needs to stay tight", 148.0, "6 4", False, "end"),
        ],
        told,
        [Mark(float(x[least]), "closest", level=False)],
        (x, np.minimum(has, needs), has),
        f"{told} The grey band between the lines is the reserve of the average.",
        dots=dots,
    )


def _where(row: Limit) -> str:
    """State of the engine and place on the deck of a limit."""
    return f"{row.state.name}, {row.state.detail}"


def section(report: Report, system: str) -> str:
    """The gasket at the edge of the bore, at peak pressure: by the map at its weakest place."""
    row = on_map(report, "springback")
    if row is not None:
        lift, found, where = row.demand, row.capacity, _where(row)
    else:
        lift, found, where = figure(report, "joint.lift"), springback(report), "average joint"
    follows = found if found is not None else max(lift, 0.0)
    place = "at the seal" if row is None else "at the seal's weakest place"
    words = f"At peak pressure the head lifts {show(lift, 'lift', system)} {place}"
    if found is not None:
        touches = "" if lift <= found else ", so it no longer touches"
        words += f"; the seal follows up to {show(found, 'lift', system)}{touches}"
    words += f" ({where}). The opening is drawn much too large; nothing else is to scale."
    return sections.section(
        report.build.gasket.construction, sections.Opening(lift, follows, words)
    )


def _side(report: Report) -> str:
    pattern = report.build.deck.pattern if report.build.deck is not None else None
    return {"inline": "inlet side", "vee bank": "valley"}.get(pattern or "", "")


def _about(report: Report) -> str:
    """What is said of any plan: its holes, and of a vee which bank it is."""
    fluids = {hole.fluid for hole in report.build.layout.holes}
    colours = {"coolant": "white", "oil": "dark"}
    said = [f"{colour}: {fluid}" for fluid, colour in colours.items() if fluid in fluids]
    out = f" Liquid holes, {', '.join(said)}." if said else ""
    if _side(report) == "valley":
        out += " This bank; on the other, valley up, the front is at the right."
    return out


def bolts(report: Report) -> str:
    """The fasteners by number, in the order in which they are tightened; empty without a deck."""
    if report.build.deck is None:
        return ""
    layout = report.build.layout
    numbers = [0] * len(layout.bolts)
    for n, bolt in enumerate(outwards(layout), 1):
        numbers[bolt] = n
    told = (
        "The head from above. In the small circles: the order of tightening, from the middle "
        f"outwards. Large numbers: the cylinders.{_about(report)}"
    )
    return plan.plan(layout, told, told, numbers, side=_side(report))


def clamp_map(report: Report, system: str) -> str:
    """Pressure on the gasket body without gas, low preload; empty without a map."""
    side = report.deck
    if side is None:
        return ""
    when, state = side.worst.when, side.worst.standing
    x, y, mean = state.on_cells(state.contact_pressure)
    top = float(np.nanpercentile(mean, 98))
    shade = np.asarray(show_value(mean, "stress", system))
    ends = np.linspace(0.0, float(show_value(top, "stress", system)), len(plan.GREYS) + 1)[1:-1]
    digits = 1 if ends[-1] < 20 else 0
    said = [f"{e:.{digits}f}" for e in ends]
    unit = show_unit("stress", system)
    labels = [f"below {said[0]}", *(f"{a} to {b}" for a, b in itertools.pairwise(said))]
    labels.append(f"over {said[-1]} {unit}")
    weak = side.weakest
    radius = 0.5 * side.deck.seal_diameter
    middle = side.deck.layout.bores[weak.bore]
    cross = middle + radius * np.array([np.cos(weak.angle), np.sin(weak.angle)])
    told = (
        f"Clamp on the body of the gasket without gas, {when.state or when.temperature}, low "
        f"preload, {unit}: the darker, the more. The cross is where the seal has least at peak "
        "pressure: cylinder "
        f"{weak.bore + 1}, margin {percent(weak.margin)}."
        f"{_about(report)}"
    )
    greys = plan.Greys(x, y, shade, ends, labels)
    at = (float(cross[0]), float(cross[1]))
    # the liquid holes of which a limit speaks
    named = {str(of["hole"]) for of in (dict(r.values) for r in report.limits) if "hole" in of}
    above = _side(report)
    return plan.plan(side.deck.layout, told, told, (), greys, at, above, named)


def joint(report: Report, system: str) -> str:
    """Pull of the fasteners and clamp on the gasket of one bore over the gas force on it."""
    made = joint_diagram(report, report.gas.cycle.peak_angle)
    # each pressure of the diagram is a gas load of one bore
    gas = made.bolts * (made.tensions - made.clamps)
    tension, clamp = made.bolts * made.tensions, made.bolts * made.clamps
    x, pull, left = (show_value(v, "force", system) for v in (gas, tension, clamp))
    now = float(show_value(made.peak.gas, "force", system))
    parts = float(show_value(made.separation, "force", system))
    unit = show_unit("force", system)
    marks = [Mark(now, "design peak", level=False)]
    if parts < float(x[-1]):
        marks.append(Mark(parts, "head comes off", level=False))
    told = (
        f"Joint of one bore, low preload, {report.temperature}: at the design peak the gas pushes "
        f"with {show(made.peak.gas, 'force', system)}, the fasteners pull with "
        f"{show(made.forces(made.peak)[0], 'force', system)} and "
        f"{show(made.peak.clamp, 'force', system)} of clamp still lie on the gasket; none is left "
        f"from {show(made.separation, 'force', system)} on."
    )
    high = float(np.max(pull))
    return ink.chart(
        Axis(f"gas force on one bore, {unit}", 0.0, float(x[-1])),
        Axis(f"Force of one bore, {unit}", 0.0, 1.25 * high),
        [
            Curve(x, pull, "pull of its fasteners", 0.3 * float(x[-1]), "", True),
            Curve(x, left, "clamp on its gasket", 0.36 * float(x[-1]), "6 4", False, "start"),
        ],
        told,
        marks,
        caption=told,
    )
