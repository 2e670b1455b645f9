"""The report on one build: verdict, limits, order of failure, what it stands on; text and page."""

from __future__ import annotations

import functools
import html
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sealkit import tables
from sealkit.analysis import (
    CLAMP_RULE,
    Clamp,
    Gas,
    Warm,
    deck_side,
    gas_side,
    judged,
    kept,
    margins,
    trade_count,
    whole_gasket,
)
from sealkit.analysis.deck_side import DeckSide
from sealkit.analysis.margins import Case, Failure, Limit
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.fastening import tightening
from sealkit.sealing.joint import Assembly, Joint, JointState
from sealkit.units import in_system, show

if TYPE_CHECKING:
    import pandas as pd


CAUTIONS = (
    "For teaching and first estimates only.",
    "Torque, fasteners and clearances come from the engine's and the fastener's own data and a "
    "qualified builder; local rules and licensed practice come first.",
    "Stretched or yielded fasteners, boosted engines, fuels such as methanol and nitromethane, and "
    "hot coolant can injure.",
    "Temperatures of the parts are estimates from memory; heat changes the clamp.",
)


SCOPE = (
    "Rods, pistons and crank are not judged: with a stronger joint they may be what fails first. "
    "Full load is not assumed on an engine soaked in cold."
)


CHANCE = "Chance of a gas leak at full load, builds scattering"


BEFORE = "before firing"


_TENTH = {"metric": 2, "inch": 1}


def percent(margin: float) -> str:
    """A margin in words; with a decimal where it is near zero."""
    if not np.isfinite(margin):
        return "no demand"
    if margin > 10:
        return "over 10 times"
    return f"{100 * margin:+.{1 if abs(margin) < 0.1 else 0}f} %"


def fails(first: str) -> str:
    """What gives first, as `Ranked.first` has it, as a clause: "fails before firing: ..."."""
    if first.startswith(("nothing", "-")):
        return first
    return f"fails {first}" if first.startswith(BEFORE) else f"fails first at {first}"


@dataclass(frozen=True)
class Report:
    """Everything worked out for one build. Numbers are plain SI; `text` and `page` show them.

    `over_angle` is the joint with the low end of the preload over the cycle it is sized on, at the
    `temperature` (cold or hot) at which its seal stands worse; `sealing` is that joint without gas.
    `deck` is the map of the deck, where it was asked for: of the average joint and the map, the
    worse one counts in `limits` and `order`.
    """

    build: Build
    gas: Gas
    clamp: Clamp
    joint: Joint
    case: Case
    nominal: Assembly
    warm: Warm
    sealing: Assembly
    temperature: str
    over_angle: JointState
    limits: tuple[Limit, ...]
    order: tuple[Failure, ...]
    warnings: tuple[str, ...]
    deck: DeckSide | None = None

    # ------------------------------------------------------------------ verdict
    @property
    def holds(self) -> bool:
        """Whether every limit holds at the pressure the joint is sized on."""
        return all(row.holds for row in self.limits)

    @property
    def weakest(self) -> Limit:
        """The limit with the smallest margin."""
        return margins.weakest(self.limits)

    @property
    def first_failure(self) -> Failure | None:
        """The limit reached first as the peak pressure rises; None if none is in the range."""
        first = self.order[0]
        return first if np.isfinite(first.pressure) else None

    def verdict(self, system: str = "metric") -> str:
        """The verdict in one or two sentences, with its numbers."""
        w = self.weakest
        bad = [r for r in self.limits if not r.holds]
        count = (
            f"{len(bad)} of {len(self.limits)} limits {'is' if len(bad) == 1 else 'are'} exceeded"
        )
        head = "Holds." if not bad else f"Does not hold: {count}."
        line = (
            f"{head} Weakest link: {w.told(system)}; needs {show(w.demand, w.kind, system)}, has "
            f"{show(w.capacity, w.kind, system)}, margin {percent(w.margin)} ({w.state})."
        )
        g = self.gas
        if g.knock_integral >= 1.0 and self.build.burn.knock_amplitude == 0 and not bad:
            line += f" Only without knock: the knock integral is {g.knock_integral:.2f}."
        first = self.first_failure
        if first is None:
            return f"{line} Nothing fails up to three times this pressure."
        if first.pressure <= 0.0:
            more = sum(g.pressure <= 0.0 for g in self.order) - 1
            tied = f" (and {more} more; their order says nothing)" if more else ""
            return f"{line} Already exceeded {BEFORE}: {first.limit.gives}{tied}."
        at = show(first.pressure + self.gas.ambient, "pressure", system)
        return f"{line} As peak pressure rises, this fails first, at {at}: {first.limit.gives}."

    # ------------------------------------------------------------------ tables
    def rows(self, system: str = "metric") -> list[dict[str, str]]:
        """The limits as text, weakest first."""
        return [
            {
                "limit": r.told(system),
                "needs": show(r.demand, r.kind, system),
                "has": show(r.capacity, r.kind, system),
                "margin": percent(r.margin),
                "holds": "holds" if r.holds else "DOES NOT HOLD",
                "state": r.state,
                "source": in_system(r.source, system),
                "status": r.status,
                "note": in_system(r.note, system),
            }
            for r in sorted(self.limits, key=lambda r: r.margin)
        ]

    def frame(self, system: str = "metric") -> pd.DataFrame:
        """The limits as a table, weakest first."""
        import pandas as pd

        return pd.DataFrame(self.rows(system))

    def facts(self, system: str = "metric") -> list[tuple[str, list[tuple[str, str]]]]:
        """What the verdict stands on, in groups of (what, value)."""
        g, c, f, b = self.gas, self.clamp, self.build.fasteners, self.build.burn
        p = c.preload
        low, high, w = self.case.low, self.case.high, self.warm

        def three(low: Any, middle: Any, high: Any, kind: str = "force") -> str:
            return " / ".join(show(float(x), kind, system) for x in (low, middle, high))

        mixture = g.charge.mixture
        kept = (low.preload[0], self.nominal.preload[0], high.preload[0])
        clamp = self.joint.bolts * np.array(kept)
        gas_force = g.design_gauge * self.joint.gas_area
        wrench = {
            "torque": show(f.torque or 0.0, "torque", system),
            "torque and angle": f"{show(f.torque or 0.0, 'torque', system)}, then "
            f"{show(f.angle or 0.0, 'angle', system)}",
            "stretch": show(f.stretch or 0.0, "length", system) + " of stretch",
            "yield": "to yield",
        }[f.tightening]
        outgrows = (
            "the fasteners outgrow the stack"
            if w.differential_expansion < 0
            else "the stack outgrows the fasteners"
        )
        friction = tightening.friction.si(f.lubricant)
        own = f.friction_thread is not None or f.friction_bearing is not None
        lost = [
            (
                f"lost to {t.name}",
                " / ".join(show(float(x), "force", system) for x in (t.low, t.nominal))
                + f" / 0 before losses ({t.status})",
            )
            for t in p.terms
        ]
        return [
            (
                "Pressure in the cylinder (absolute)",
                [
                    ("compression ratio", f"{self.build.compression_ratio:.2f}"),
                    (
                        "fuel",
                        f"{mixture.fuel}, lambda {1.0 / float(mixture.equivalence_ratio):.2f} "
                        f"(equivalence ratio {float(mixture.equivalence_ratio):.2f})",
                    ),
                    (
                        "manifold, before fuel evaporates",
                        f"{show(g.charge.manifold_pressure, 'pressure', system, _TENTH[system])}, "
                        f"{show(g.charge.manifold_temperature, 'temperature', system)}",
                    ),
                    (
                        "peak of the mean cycle",
                        f"{show(g.mean_peak, 'pressure', system)}, "
                        f"{show(g.cycle.peak_angle, 'angle', system)} after top dead centre",
                    ),
                    (
                        f"peak exceeded by one cycle in {b.one_cycle_in:g}",
                        f"{show(g.rare_peak, 'pressure', system)} "
                        f"(spread {show(b.peak_variation, 'fraction', system)})",
                    ),
                    (
                        "the joint is sized on",
                        f"{show(g.design_peak, 'pressure', system)} "
                        + (
                            f"({show(b.knock_amplitude, 'stress', system)} of knock added)"
                            if b.knock_amplitude > 0
                            else "(no knock amplitude on the sheet)"
                        ),
                    ),
                    (
                        "all burnt at once at top dead centre",
                        show(g.bound.peak_pressure, "pressure", system),
                    ),
                    (
                        "estimate of power and torque",
                        f"{show(g.brake_power, 'power', system)}, "
                        f"{show(g.brake_torque, 'torque', system)} (before pumping, accessories "
                        "and compressor drive; friction from memory)",
                    ),
                ],
            ),
            (
                "Preload of one fastener, cold (low / nominal / high)",
                [
                    (
                        "fastener",
                        f"{f.kind} {f.thread}, "
                        f"{f.grade or 'strengths from the sheet'}; weakest section: "
                        f"{in_system(c.weakest_section, system)}",
                    ),
                    (
                        "tightened",
                        f"{wrench}; {f.lubricant}, friction {c.friction_thread:g} in the thread, "
                        f"{c.friction_head:g} under the head "
                        f"({'the build sheet' if own else friction.status})"
                        + (
                            f"; times {f.preload_factor:g}, as tested"
                            if f.preload_factor != 1.0
                            else ""
                        ),
                    ),
                    ("as tightened", three(p.assembly_low, p.assembly, p.assembly_high)),
                    (
                        "scatter of the method",
                        f"±{show(c.scatter, 'fraction', system, 0)} ({c.scatter_source[1]}: "
                        f"{c.scatter_source[0]})",
                    ),
                    *lost,
                    (
                        "left, cold",
                        f"{three(*kept)} (low after losses and heat, nominal after losses, high "
                        "before losses)",
                    ),
                    (
                        f"hot ({w.state.name}, coolant "
                        f"{show(float(w.state.coolant), 'temperature', system, 0)})",
                        f"{show(float(w.low.worked.preload[0]), 'force', system)} / "
                        f"{show(float(w.high.hot.preload[0]), 'force', system)} (low / high; "
                        f"{outgrows} by {show(abs(w.differential_expansion), 'lift', system)}; "
                        f"temperatures {w.state.status})",
                    ),
                    ("yields while tightening at", show(c.yield_preload, "force", system)),
                    (
                        "stiffness of fastener and members",
                        f"{show(c.bolt_stiffness, 'stiffness', system)}, "
                        f"{show(c.member_stiffness, 'stiffness', system)}",
                    ),
                ],
            ),
            (
                "Joint of the bore with the fewest fasteners, cold",
                [
                    (
                        "fasteners that count for it",
                        f"{c.shares[0]:.2f} ({c.shares[1]:.2f} on average; {f.on_head} on the "
                        f"head, {self.build.bores_per_head} bores, {f.around_bore} round each, "
                        "shared with the neighbours)",
                    ),
                    ("clamp (low / nominal / high)", three(*clamp)),
                    ("gas force the joint is sized on", show(gas_force, "force", system)),
                    (
                        "clamp over gas force",
                        " / ".join(f"{x / gas_force:.2f}" for x in clamp)
                        + "; counted as the trade does, "
                        f"{trade_count(self.build, c, gas_force):.2f} (all {f.around_bore} round "
                        f"the bore in full, as tightened; wanted {CLAMP_RULE[0]:g} to "
                        f"{CLAMP_RULE[1]:g}, common practice, no source)",
                    ),
                    (
                        f"head lifts at the seal at peak (low preload, {self.temperature})",
                        show(float(np.max(self.over_angle.seal_lift)), "lift", system),
                    ),
                ],
            ),
            *self._deck_facts(system),
        ]

    def _deck_facts(self, system: str) -> list[tuple[str, list[tuple[str, str]]]]:
        """The average joint and the deck map side by side; nothing without a map."""
        if self.deck is None:
            return []
        head = (
            "head as a plate",
            f"{show(self.deck.deck.thickness, 'length', system)} effective thickness, an estimate: "
            "walls and roof stiffen a head, ports and jackets soften it; block rigid, no warping "
            "by heat, all bolts tightened at once (the order of tightening is left out); the "
            "average joint bends with the thickness in [head], "
            f"{show(self.build.head.thickness, 'length', system)}",
        )
        reach = self.deck.reach
        near = (
            "less than the head is thick: under the bolts the map shows too much, between them too "
            "little"
        )
        far = "more than the head is thick, so that a plate will do"
        spread = (
            "a load reaches along the head",
            f"{show(reach, 'length', system)}, {near if reach < self.deck.deck.thickness else far}",
        )
        average = margins.worse(margins.limits(self.case, self.deck.peak))
        lines = []
        for ours in margins.worse(self.deck.limits):
            theirs = next((r for r in average if r.key == ours.key), None)
            if theirs is not None:
                counts = "map" if ours.margin < theirs.margin else "average joint"
                lines.append(
                    (
                        theirs.told(system),
                        f"average joint {percent(theirs.margin)}, map {percent(ours.margin)} "
                        f"({ours.state}); the {counts} counts",
                    )
                )
        return [("Average joint and deck map side by side (margins)", [head, spread, *lines])]

    def bench(self, system: str = "metric") -> list[tuple[str, list[tuple[str, str]]]]:
        """What it means at the bench: sharing of the clamp, ring, clearances, faces."""
        from sealkit.report import workshop

        return workshop.facts(self, system)

    # ------------------------------------------------------------------ showing
    def text(self, system: str = "metric") -> str:
        """The report as plain text."""
        out = [self.build.sheet.name]
        if self.build.sheet.note:
            out.append(self.build.sheet.note)
        out.append(f"status of the numbers on the sheet: {self.build.sheet.status}")
        for title, facts in self.facts(system):
            out += ["", title]
            width = max(len(k) for k, _ in facts)
            out += [f"  {k:<{width}}  {v}" for k, v in facts]
        out += ["", "Limits, weakest first"]
        for r in self.rows(system):
            out.append(
                f"  {r['margin']:>9}  {r['holds']:<13}  {r['limit']}: needs {r['needs']}, "
                f"has {r['has']} ({r['state']})"
            )
            out.append(f"{'':28}{r['status']}: {r['source']}")
            if r["note"]:
                out.append(f"{'':28}{r['note']}")
        out += ["", "As peak pressure rises, these fail in this order"]
        out += [f"  {a:>12}  {b}" for a, b in self.order_rows(system)]
        out += ["", "Gasket constructions on this engine, best first (strength beside)"]
        for r in self.ranking_rows(system):
            out.append(
                f"  {r['margin']:>8}  {r['holds']:<9}  {r['construction']}; {r['why']}; "
                f"strength {r['strength']}; {fails(r['fails first'])}"
            )
        out += [f"  {self.ranking_tie}"] if self.ranking_tie else []
        out.append(f"  {SCOPE}")
        for title, facts in self.bench(system):
            out += ["", title]
            width = max(len(k) for k, _ in facts)
            out += [f"  {k:<{width}}  {v}" for k, v in facts]
        chance = self.chance_rows(system)
        width = max(len(k) for k, _ in chance)
        out += ["", CHANCE]
        out += [f"  {k:<{width}}  {v}" for k, v in chance]
        if self.warnings:
            out += ["", "Worth knowing"]
            out += [f"  {in_system(w, system)}" for w in self.warnings]
        out += ["", "Verdict", f"  {self.verdict(system)}", ""]
        out += CAUTIONS
        return "\n".join(out)

    @functools.cached_property
    def ranking(self) -> tuple[Any, ...]:
        """All constructions on this build, best first (see `sealkit.report.ranking.rank`)."""
        from sealkit.report import ranking

        return ranking.rank(self.build)

    def ranking_rows(self, system: str = "metric") -> list[dict[str, str]]:
        """The ranking as text, best first."""
        from sealkit.report import ranking

        return ranking.rows(self.ranking, system) + [
            {
                "construction": name,
                "margin": "-",
                "holds": "UNKNOWN",
                "why": f"not worked out: {why}",
                "strength": "-",
                "fails first": "-",
            }
            for name, why in ranking.refused(self.build).items()
        ]

    @property
    def ranking_tie(self) -> str:
        """How constructions of the same margin are put in order; empty where none are."""
        margins = [r.limit.margin for r in self.ranking]
        if len(set(margins)) == len(margins):
            return ""
        return (
            "Of constructions with equal margins, the one that fails at the higher pressure stands "
            "first; of those that fail before firing, the order says nothing."
        )

    @functools.cached_property
    def chance(self) -> Any:
        """Chance that one engine leaks gas (see `sealkit.scatter.chance`); a study on demand."""
        from sealkit import scatter

        return scatter.chance(self)

    def chance_rows(self, system: str = "metric") -> list[tuple[str, str]]:
        """(what, in words) on the chance of a gas leak, or why there is none."""
        try:
            rows: list[tuple[str, str]] = self.chance.rows()
        except InputError as err:
            return [("not worked out, since some builds are out of reach", str(err.faults[0]))]
        return [(what, in_system(words, system)) for what, words in rows]

    def order_rows(self, system: str = "metric") -> list[tuple[str, str]]:
        """(peak pressure, what gives) in the order in which limits are reached.

        Where two fail together, or at pressures that look alike once rounded, the later line says
        why it stands there.
        """
        rows: list[tuple[str, str]] = []
        last = -1.0
        for g in self.order:
            if not np.isfinite(g.pressure):
                continue
            at = (
                BEFORE
                if g.pressure <= 0
                else show(g.pressure + self.gas.ambient, "pressure", system)
            )
            tie = ""
            if rows and rows[-1][0] == at:
                together = g.pressure <= last
                tie = " (together with the line above; the order says nothing)"
                tie = tie if together else " (a little later than the line above)"
            rows.append((at, g.limit.gives + tie))
            last = g.pressure
        return rows or [("", "nothing up to three times the sizing pressure")]

    def page(self, system: str = "metric") -> str:
        """The report as one self-contained page to print."""
        from sealkit.report.page import page_of

        return page_of(self, system)

    def _repr_html_(self) -> str:
        mark = "holds" if self.holds else "does not hold"
        return (
            f"<p><b>{html.escape(self.build.sheet.name)}</b>: {mark}</p>"
            f"<p>{html.escape(self.verdict(self.build.system))}</p>"
        )


def run(build: Build, gas: Gas | None = None, deck: bool = False) -> Report:
    """The whole chain on one build.

    Parameters
    ----------
    build : a checked build sheet
    gas : its gas side, where it is worked out already (as when only the gasket changes)
    deck : whether the map of the deck is worked out too, from the section [deck] of the sheet; it
        takes about a second

    Returns
    -------
    Report

    Raises
    ------
    InputError
        naming what cannot be worked out, such as a gas outside the tables.
    """
    gas = gas_side(build) if gas is None else gas
    peak = gas.design_gauge
    found = judged(build, peak)
    clamp, made, case, warm = found.clamp, found.joint, found.case, found.warm
    p = clamp.preload
    nominal = made.assemble(p.assembly, kept(p.nominal, p.assembly))
    rows = margins.worse(margins.limits(case, peak))
    sealing = [r for r in rows if r.key.startswith(("residual", "springback", "lift-off"))]
    hot = margins.weakest(tuple(sealing)).state.startswith(margins.HOT)
    worst = case.low_hot if hot and case.low_hot is not None else case.low
    order = margins.order_of_failure(case, 3.0 * peak)
    side = None
    if deck:
        side = deck_side.judge_deck(build, made, case, warm, peak)
        rows = margins.worse((*rows, *side.limits))
        order = margins.sooner(order, side.gives)
    return Report(
        build=build,
        gas=gas,
        clamp=clamp,
        joint=made,
        case=case,
        nominal=nominal,
        warm=warm,
        sealing=worst,
        temperature=margins.HOT if hot else margins.COLD,
        over_angle=made.under_gas(worst, gas.sizing),
        limits=rows,
        order=order,
        warnings=tuple(_warnings(build, gas, clamp, case, peak)),
        deck=side,
    )


def _warnings(build: Build, gas: Gas, clamp: Clamp, case: Case, peak: float) -> list[str]:
    out = []
    f = build.fasteners
    ratio = trade_count(build, clamp, peak * case.joint.gas_area)
    if ratio < CLAMP_RULE[0]:
        out.append(
            f"Counted as the trade does (all {f.around_bore} fasteners round the bore in full, as "
            f"tightened), the clamp is {ratio:.1f} times the gas force; it wants "
            f"{CLAMP_RULE[0]:g} to {CLAMP_RULE[1]:g} (common practice, no source)."
        )
    if clamp.asked_high > float(clamp.strength.tensile) * clamp.weakest_area:
        out.append(
            "The high end of this tightening asks for more than the fastener's tensile strength: "
            "it breaks on the wrench."
        )
    if f.thread not in tables.load("threads"):
        out.append(f"{f.thread} stands in no thread table here; make sure that it exists.")
    wet = build.liquids.deck == "wet" and build.gasket.liquid_length == 0
    if wet and any(z.role == "liquid" for z in whole_gasket(build).zones):
        out.append(
            "The sheet gives no length of the beads at the liquid holes (gasket.liquid_length); "
            "without it the gasket is judged as if it had none."
        )
    if f.grip_head < 0.8 * build.head.thickness:
        out.append(
            "The clamped length in the head is less than the head is thick: check both lengths."
        )
    if f.engagement > 3.0 * clamp.thread.diameter:
        out.append("Threads engaged over more than three diameters: check the length.")
    if gas.knock_integral >= 1.0:
        petrol = "" if _petrol(build.fuel.name) else ", and made for petrol"
        added = (
            "the sheet adds a knock amplitude"
            if build.burn.knock_amplitude > 0
            else "the sheet adds no knock amplitude, so the sizing leaves knock out"
        )
        out.append(
            f"Knock integral {gas.knock_integral:.2f}: above 1 the end gas is expected to ignite "
            f"by itself before the flame reaches it (constants from memory{petrol}; a warning, no "
            f"forecast); {added}."
        )
    if gas.mean_peak > float(gas.bound.peak_pressure):
        out.append(
            "The burn is so early that its peak lies above that of all fuel burnt at once at top "
            "dead centre: the piston still compresses what is burnt."
        )
    elif gas.rare_peak > float(gas.bound.peak_pressure):
        out.append(
            "The rare peak lies above that of all fuel burnt at once at top dead centre: the "
            "spread asked for is more than this charge can give."
        )
    if float(gas.charge.pressure) > 1.05 * float(gas.charge.manifold_pressure):
        out.append(
            "Volumetric efficiency and residual fraction together trap more pressure than the "
            "manifold has; one of them is too high."
        )
    if build.charge.boost > 0:
        out.append("Power leaves out what drives the compressor.")
    if float(clamp.preload.low) <= 0:
        out.append("Embedment and creep eat up the whole preload at its low end.")
    if clamp.capped and not clamp.yields_on_purpose:
        out.append(
            "The tightening asked for takes the fastener to yield; its preload is held there."
        )
    if clamp.permanent_stretch > 0:
        out.append("The angle takes the fastener past yield: use it once, and by its own data.")
    if tables.load("materials")[build.head.material]["poisson"] is None:
        out.append(
            f"No Poisson's ratio is known for {build.head.material}; 0.30 is taken for the bending "
            "of the head (from memory)."
        )
    rule = tables.load("engagement")
    for key, word in (("iron", "grey iron"), ("A356", "cast aluminium"), ("319", "cast aluminium")):
        if key in build.block.material:
            need = rule[word]["low"] * clamp.thread.diameter
            if f.engagement < need:
                out.append(
                    f"Thread engagement {f.engagement * 1e3:.0f} mm is less than the "
                    f"{need * 1e3:.0f} mm of the rule of thumb for {word} "
                    "(common practice, no source)."
                )
            break
    return out


def _petrol(fuel: str) -> bool:
    return fuel in ("gasoline", "iso-octane")


@functools.cache
def demo_report(name: str) -> Report:
    """The report on a demo build (kept)."""
    from sealkit import build

    return run(build.demo(name))
