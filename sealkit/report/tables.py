"""The numbers of a report as rows of text, in the units of the shop."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sealkit.analysis import CLAMP_RULE, HOT_STATES, margins
from sealkit.analysis.margins import Failure
from sealkit.analysis.warm import COLD_START, FULL_LOAD, across_head, hot_state
from sealkit.build import Build, fields, half_widths
from sealkit.build.evidence import measured_fields, step_of
from sealkit.fastening import tightening
from sealkit.report import record
from sealkit.report.result import BEFORE, Report, band_words, most_doubtful, outcome_words, percent
from sealkit.sealing.limit import Limit, Outcome, Preload
from sealkit.units import show, show_value
from sealkit.words import Note, figure_text, note

Rows = list[tuple[str, str]]
NOTHING = "nothing up to three times the design peak pressure"
_TENTH = {"metric": 2, "inch": 1}


def rows(report: Report, system: str = "metric") -> list[dict[str, str]]:
    """The limits as text, weakest first."""
    return [
        {
            "limit": r.title.text(system),
            **dict(zip(("needs", "has"), record.needs_has(r, system), strict=True)),
            "margin": percent(r.margin),
            "band": band_words(r.band),
            "holds": outcome_words(r.outcome),
            "state": str(r.state),
            "source": figure_text(r.source, system),
            "status": r.status,
            "note": figure_text(r.note, system),
        }
        for r in report.banded
    ]


def places_of(half: float, kind: str, system: str) -> int:
    """Decimals that show half a width, of a difference of this kind, to two figures."""
    return max(1 - math.floor(math.log10(float(show_value(half, step_of(kind), system)))), 0)


def known_words(value: float, half: float, path: str, system: str = "metric") -> str:
    """A field with half the width that it is known to, to two figures of that (plain SI)."""
    kind = dict(fields())[path].kind
    places = places_of(half, kind, system)
    return f"{show(value, kind, system, places)} ± {show(half, step_of(kind), system, places)}"


def measured(build: Build, system: str = "metric") -> Rows:
    """What is known of the sheet by measurement: (field, its number and by what)."""
    return [
        (path, f"{known_words(value, half, path, system)}, by {source}")
        for path, value, half, source in measured_fields(build)
    ]


def tightened_by(build: Build) -> Note:
    """What the fasteners are tightened by: torque, torque and angle, stretch, or "to yield"."""
    f = build.fasteners
    words = {
        "torque": "{torque}",
        "torque and angle": "{torque}, then {angle}",
        "stretch": "{stretch} of stretch",
        "yield": "to yield",
    }[f.tightening]
    return note(
        words,
        torque=(f.torque or 0.0, "torque"),
        angle=(f.angle or 0.0, "angle"),
        stretch=(f.stretch or 0.0, "stretch"),
    )


def under(build: Build) -> str:
    """Where a fastener of the sheet is turned: under its nut or its head."""
    return "under the nut" if build.fasteners.kind == "stud" else "under the bolt head"


class Facts(NamedTuple):
    """A group of (what, value) under a title; `key` is its stable name."""

    key: str
    title: str
    rows: Rows

    def lines(self) -> list[str]:
        """As plain text, after an empty line."""
        width = max(len(what) for what, _ in self.rows)
        return ["", self.title, *(f"  {what:<{width}}  {value}" for what, value in self.rows)]


def facts(report: Report, system: str = "metric") -> list[Facts]:
    """What the verdict stands on, in groups of (what, value).

    Their keys: "measured" where something is, "pressure", "preload", "joint", and with a deck map
    "deck".
    """
    preload = "Preload of one fastener, cold (low / nominal / high)"
    joint = "Joint of the bore with the fewest fasteners, cold"
    pressure = _pressure(report, system)
    told = measured(report.build, system)
    return [
        *([Facts("measured", "Measured, with two standard deviations", told)] if told else []),
        Facts("pressure", "Pressure in the cylinder (absolute)", [*pressure.items()]),
        Facts("preload", preload, [*_preload(report, system).items()]),
        Facts("joint", joint, [*_joint(report, system).items()]),
        *_deck_facts(report, system),
    ]


def _three(report: Report, name: str, system: str) -> str:
    """A number of the report at the low end, in the middle, and at the high end."""
    return " / ".join(record.shown(report, f"{name}{x}", system) for x in ("_low", "", "_high"))


def _pressure(report: Report, system: str) -> dict[str, str]:
    g, b, mixture = report.gas, report.build.burn, report.gas.charge.mixture
    phi = float(mixture.equivalence_ratio)

    def at(name: str, decimals: int | None = None) -> str:
        return record.shown(report, f"pressure.{name}", system, decimals)

    spread = show(g.peak_variation, "fraction", system)
    spread += "" if b.ca50_variation is None else ", by the spread of the burn"
    knock = "no knock amplitude on the sheet"
    if b.knock_amplitude > 0:
        knock = f"{show(b.knock_amplitude, 'stress', system)} of knock added"
    rare = ""
    if g.rare_knock is not None:
        rare = (
            f"; {g.rare_knock:.2f} in the cycle with the rare peak, whose end gas, burnt "
            f"at once where it comes to 1, adds {at('knock_rise')}"
        )
    late = f", retarded by knock from {show(b.ca50, 'angle', system)}" if g.ca50 > b.ca50 else ""
    return {
        "displacement": record.shown(report, "engine.displacement", system, 0),
        "compression ratio": f"{report.build.compression_ratio:.2f}",
        "fuel": f"{report.build.fuel.blend}, lambda {1.0 / phi:.2f} (equivalence ratio {phi:.2f})",
        "manifold, before fuel evaporates": f"{at('manifold_pressure', _TENTH[system])}, "
        f"{at('manifold_temperature')}",
        "half burnt (CA50)": f"{show(g.ca50, 'angle', system)} after top dead centre{late}",
        "peak of the mean cycle": f"{at('mean_peak')}, {at('peak_angle')} after top dead centre",
        f"peak exceeded by one cycle in {b.one_cycle_in:g}": f"{at('rare_peak')} (spread {spread})",
        "design peak pressure": f"{at('design_peak')} ({knock})",
        "constant-volume limit (all burned at top dead centre)": at("constant_volume"),
        "most boost": "; ".join(report.boost_words(system)),
        "knock integral (limit 1)": f"{g.knock_integral:.2f} in the mean cycle{rare} (from memory, "
        f"{g.knock_law})",
        "estimate of power and torque": f"{at('power')}, {at('torque')} (before pumping and "
        "accessories; friction from memory)",
    }


def _preload(report: Report, system: str) -> dict[str, str]:
    c, f, w = report.clamp, report.build.fasteners, report.warm

    def at(name: str) -> str:
        return record.shown(report, f"fastener.{name}", system)

    friction, half = tightening.friction.si(f.lubricant), half_widths(report.build.evidence)

    def rubs(value: float, where: str) -> str:
        path = f"fasteners.friction_{where}"
        return known_words(value, half[path], path, system) if path in half else f"{value:g}"

    own = f.friction_thread is not None or f.friction_bearing is not None
    trust = "measured" if "fasteners.friction_thread" in half else "the build sheet"
    tested = f"; times {f.preload_factor:g}, as tested" if f.preload_factor != 1.0 else ""
    coolant = show(float(w.state.coolant), "temperature", system, 0)
    base = "metal base" if report.build.liquids.deck == "dry" else "coolant"
    outgrows = "the stack outgrows the fasteners"
    if w.differential_expansion < 0:
        outgrows = "the fasteners outgrow the stack"
    mates = "nut and tapped part" if f.kind == "stud" else "the tapped part"
    read = "; the stretch is that between its own ends, without it" * (f.tightening == "stretch")
    lost = {
        f"lost to {t.name}": " / ".join(show(float(x), "force", system) for x in (t.low, t.nominal))
        + f" / 0 before losses ({t.status})"
        for t in c.preload.terms
    }
    return {
        "fastener": f"{f.kind} {f.thread}, {f.grade or 'strengths from the sheet'}; weakest "
        f"section: {c.weakest_section.text(system)}",
        "tightened": f"{tightened_by(report.build).text(system)}; {f.lubricant}, friction "
        f"{rubs(c.friction_thread, 'thread')} in the thread, {rubs(c.friction_head, 'bearing')} "
        f"{under(report.build)} ({trust if own else friction.status}){tested}",
        "as tightened": _three(report, "fastener.tightened", system),
        "scatter of the method": f"{c.scatter_words} "
        f"({c.scatter_source[1]}: {c.scatter_source[0]})",
        **lost,
        "left, cold": f"{_three(report, 'fastener.left', system)} (low after losses and heat, "
        "nominal after losses, high before losses)",
        f"hot ({w.state.name}, {base} {coolant})": f"{at('hot_low')} / {at('hot_high')} (low / "
        f"high; {outgrows} by {show(abs(w.differential_expansion), 'lift', system)}; temperatures "
        f"{w.state.status})",
        "yields while tightening at": at("yields_at"),
        "stiffness of fastener": f"{at('stiffness')}, with the give of {mates}{read}",
        "stiffness of members": at("members"),
    }


def _joint(report: Report, system: str) -> dict[str, str]:
    c, f = report.clamp, report.build.fasteners
    *over, trade = (
        f"{record.figure(report, f'joint.over_gas{x}'):.2f}"
        for x in ("_low", "", "_high", "_trade")
    )
    low, high = CLAMP_RULE
    bores = report.build.bores_per_head
    return {
        "fasteners that count for it": f"{c.shares[0]:.2f} ({c.shares[1]:.2f} on average; "
        f"{f.on_head} on the head, {bores} bore{'s' * (bores > 1)}, {f.around_bore} round "
        f"{'each, shared with the neighbours' if bores > 1 else 'it'})",
        "clamp (low / nominal / high)": _three(report, "joint.clamp", system),
        "gas force at the design peak": record.shown(report, "joint.gas_force", system),
        "clamp over gas force": f"{' / '.join(over)}; counted as the trade does, {trade} (all "
        f"{f.around_bore} round the bore in full, as tightened; wanted {low:g} to {high:g}, common "
        "practice, no source)",
        f"head lifts at the seal at peak (low preload, {report.temperature})": record.shown(
            report, "joint.lift", system
        ),
    }


def _deck_facts(report: Report, system: str) -> list[Facts]:
    """The average joint and the deck map side by side; nothing without a map."""
    if report.deck is None:
        return []
    across, own = across_head(report.build, FULL_LOAD), report.build.head.gradient
    cooled = f"of a head with coolant, {hot_state(report.build, FULL_LOAD).status}"
    trust = "the build sheet" if own is not None else cooled
    head = (
        "head as a plate",
        f"{show(report.deck.deck.thickness, 'length', system)} effective thickness, an estimate: "
        "walls and roof stiffen a head, ports and jackets soften it; deck of the block: "
        f"{report.build.block.deck}; fire side hotter than the top by "
        f"{show(across, 'temperature difference', system)} at full load ({trust}); all "
        "fasteners tightened at once (the order of tightening is left out); the average "
        "joint bends with the thickness in [head], "
        f"{show(report.build.head.thickness, 'length', system)}",
    )
    more = report.deck.accuracy
    least, lift, highest = (show(x, "fraction", system, 0) for x in more[:3])
    solid = (
        "and comes near solids of this thickness: they have"
        if more.near
        else "though solids of this thickness differ from it: they may have"
    )
    spread = (
        "a load reaches along the head",
        f"{show(report.deck.reach, 'length', system)}; the map counts for what it judges, since it "
        f"resolves the deck, {solid} up to {least} more of the least loads, {lift} more lift and "
        f"{highest} more of the highest loads (in the bands, which cover a finer mesh too)"
        + ("" if more.tried else "; drawn on from others: no solid of this thickness was tried"),
    )
    average = {r.key: r for r in report.average.limits}
    lines = [
        (
            average[ours.key].title.text(system),
            f"average joint {percent(average[ours.key].margin)}, map {percent(ours.margin)} "
            f"({ours.state}), which counts",
        )
        for ours in margins.worse(report.deck.limits)
        if ours.key in average
    ]
    title = "Average joint and deck map side by side (margins)"
    return [Facts("deck", title, [head, spread, *lines])]


def order_rows(report: Report, system: str = "metric") -> list[tuple[str, str]]:
    """(peak pressure, what gives) in the order in which limits are reached.

    Where two fail together, or at pressures that look alike once rounded, the later line says
    why it stands there. What gives by two limits, such as a hole that weeps, is told once.
    """
    rows: list[tuple[str, str]] = []
    last, told = -1.0, set()
    for g in report.order:
        gives = g.limit.consequence.text(system)
        if not np.isfinite(g.pressure) or gives in told:
            continue
        told.add(gives)
        at, what = _gives(report, g, system)
        tie = ""
        if rows and rows[-1][0] == at:
            together = g.pressure <= last
            tie = " (together with the line above; the order says nothing)"
            tie = tie if together else " (a little later than the line above)"
        rows.append((at, what + tie))
        last = g.pressure
    return rows or [("", NOTHING)]


def grid(report: Report, system: str = "metric") -> tuple[list[str], list[dict[str, str]]]:
    """States of the engine, and the margin of every limit in each in which it is looked at.

    Average joint and deck map together; weakest limit first; the least of a row has a star.
    """
    least: dict[str, dict[str, float]] = {}
    titles: dict[str, str] = {}
    for row in sorted(report.everywhere, key=lambda r: float(r.margin)):
        if np.isfinite(row.margin):
            titles.setdefault(row.key, row.title.text(system))
            state = row.state.name or "cold"
            least.setdefault(row.key, {}).setdefault(state, float(row.margin))
    found = {state for of in least.values() for state in of}
    columns = [s for s in ("cold", COLD_START, *HOT_STATES, "hot") if s in found]

    def told(of: dict[str, float], state: str) -> str:
        if state not in of:
            return ""
        return percent(of[state]) + "*" * (of[state] == min(of.values()))

    return columns, [
        {"limit": titles[key]} | {state: told(of, state) for state in columns}
        for key, of in least.items()
    ]


def _gives(report: Report, g: Failure, system: str) -> tuple[str, str]:
    """Peak pressure at which a limit is reached, and what happens."""
    what = f"{'perhaps ' * report.unsure(g)}{g.limit.consequence.text(system)}"
    if g.pressure > 0:
        return show(g.pressure + report.gas.ambient, "pressure", system), what
    return BEFORE, f"{what} ({g.limit.state.name})" if g.limit.state.name else what


def first_words(report: Report, system: str = "metric") -> str:
    """What fails first as peak pressure rises, and what for sure: "120 bar: perhaps ..."."""
    first, sure = report.first_failure, report.sure_failure
    told = [x for x in (first, sure if sure is not first else None) if x is not None]
    words = [": ".join(_gives(report, x, system)) for x in told]
    return "; for sure, ".join(words) or NOTHING


def sides(report: Report) -> dict[Preload, Limit]:
    """The most doubtful limit with too little clamp, and with too much."""
    return {
        end: most_doubtful(r for r in report.banded if r.state.preload is end)[0]
        for end in (Preload.LOW, Preload.HIGH)
    }


def side_rows(report: Report, system: str = "metric") -> Rows:
    """The same in words, with the unsafe side of each."""
    out = []
    ways = ("too little", "less"), ("too much", "more")
    for row, (much, way) in zip(sides(report).values(), ways, strict=True):
        call = "" if row.outcome is Outcome.HOLDS else f", {row.outcome}"
        ends = band_words(row.band)
        band = f" ({ends} with other choices of the model)" if ends else ""
        told = f"{percent(row.margin)}{call}{band}: {row.title.text(system)}"
        out.append((f"{much} clamp", f"{told}; unsafe side: {way} tightening"))
    return out
