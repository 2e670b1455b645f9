"""What is printed of one report: all constructions ranked beside it, and how likely it leaks."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from sealkit.build import Build
from sealkit.errors import Fault, InputError
from sealkit.report import Report, ranking, record
from sealkit.report.ranking import Ranked
from sealkit.report.record import Rows, entries, shown
from sealkit.report.specification import OUTCOMES, Specification, sheet_of
from sealkit.resources import beside
from sealkit.scatter import LeakProbability, leak_probability
from sealkit.sealing.limit import DAMAGE, GAS_LEAK, Outcome, worst
from sealkit.units import show
from sealkit.words import Note, note

_WORDS: dict[str, Any] = beside(__file__)
CAUTIONS: tuple[str, ...] = tuple(_WORDS["cautions"])
SCOPE, ORDER, LEAK = (str(_WORDS[key]) for key in ("scope", "order", "leak"))
_SELDOM = 0.05  # of the engines that leak (invented): beyond, no seal is called one that holds


@dataclass(frozen=True)
class Paper:
    """A report with what is printed beside it.

    Parameters
    ----------
    report : of the build
    ranked : all constructions on the same build, best first
    refused : constructions that cannot be made here, and why
    leak : probability of a gas leak, or the fault that stands in its way
    made : the day it was made
    specified : the wish it is specified for, where there is one
    """

    report: Report
    ranked: tuple[Ranked, ...]
    refused: dict[str, str]
    leak: LeakProbability | Fault
    made: datetime.date
    specified: Specification | None = None

    @property
    def sheet(self) -> Build:
        """The build sheet to keep."""
        return self.report.build if self.specified is None else sheet_of(self.specified)

    def wish(self, system: str = "metric") -> str:
        """What the customer asks for, and what the engine makes of it by our estimate."""
        found, build = self.specified, self.report.build
        boosted = "boost {boost}" if build.charge.boost > 0 else "without boost"
        makes = note(
            f"{{power}} from {{size}} at {{speed}} on {{fuel}}, {boosted}",
            size=shown(self.report, "engine.displacement", system, 0),
            power=shown(self.report, "pressure.power", system),
            speed=(build.engine.speed, "crank speed"),
            fuel=build.fuel.blend,
            boost=(build.charge.boost, "gauge pressure"),
        ).text(system)
        if found is not None:
            asked = show(found.wish, "power", system, 0)
            return f"{asked}. Met: {OUTCOMES[found.outcome]}; the build makes {makes}."
        asked = build.sheet.wish or "none on the sheet"
        return f"{asked}; this build makes about {makes}"

    def why(self, system: str = "metric") -> str:
        """How the gasket of the sheet stands among all kinds on this engine."""
        names = [r.name for r in self.ranked]
        own = self.report.build.gasket.construction
        if own not in names:
            return "a gasket of the sheet's own"
        place, best = names.index(own), self.ranked[0]
        outcomes, kinds = {r.outcome for r in self.ranked}, f"{len(names)} gaskets tried"
        if Outcome.HOLDS not in outcomes:
            sure = " for sure" if Outcome.CLOSE in outcomes else ""
            said = f"none of the {kinds} holds here{sure}"
        elif place == 0:
            said = f"the best of {kinds} on this engine"
        else:
            said = f"number {place + 1} of {kinds} on this engine; first is {best.name}"
        beside = self.ranked[place].on_map(system)
        by = f", by the {record.AVERAGE}; this gasket {beside}" if beside else ""
        return f"{said} (fasteners judged separately){by}"

    def ranking_rows(self, system: str = "metric") -> list[dict[str, str]]:
        """The ranking as text, best first."""
        return ranking.rows(self.ranked, system) + [
            {
                "construction": name,
                "margin": "-",
                "holds": "UNKNOWN",
                "why": f"not worked out: {why}",
                "strength": "-",
                "fails first": "-",
            }
            for name, why in self.refused.items()
        ]

    @property
    def tie(self) -> str:
        """What the order does not say; empty where it says all."""
        if sum(r.lost_at <= 0.0 for r in self.ranked) < 2:
            return ""
        return "Of constructions that fail without gas, the order says nothing."

    @property
    def notes(self) -> tuple[Note, ...]:
        """What is worth knowing: that of the report, and where verdict and study are at odds."""
        if isinstance(self.leak, Fault):
            return self.report.warnings
        seals = worst(r.outcome for r in self.report.banded if r.failure == GAS_LEAK)
        leaks = "many" if self.leak.apart.value > _SELDOM else "few"
        story = _WORDS["stories"].get(f"{seals}, {leaks}")
        if story is None:
            return self.report.warnings
        nearest = self.leak.scatter.limit(self.leak.scatter.nearest(GAS_LEAK).key)
        close = next((r for r in self.report.close if r.failure == GAS_LEAK), None)
        told = note(
            story,
            limit="" if close is None else close.title,
            turns="" if close is None else close.turned_by,
            apart=self.leak.apart.text(),
            enough=self.report.well_enough,
            matters=nearest.moved_by,
        )
        return (*self.report.warnings, told)

    def chance(self, system: str = "metric") -> str:
        """How many engines leak gas, and for what; the rest stands in `leak_rows`."""
        if isinstance(self.leak, Fault):
            return "not worked out, since some builds are out of reach"
        told, scatter = f"{self.leak.apart.text()}, each bore taken on its own", self.leak.scatter
        damage = scatter.groups[DAMAGE]
        if damage.failed:
            what = scatter.nearest(DAMAGE).title_in(system)
            share = f"{damage.failed:,} of {damage.count:,}"
            told += f", as long as nothing else gives first (in {share} bores: {what})"
        if any(r.failure == GAS_LEAK for r in self.report.close):
            told += "; of the model as taken: the verdict adds other choices"
        sure = self.report.sure_failure
        if sure is not None and sure.limit.failure != GAS_LEAK:
            told = f"fails otherwise first ({sure.limit.title.text(system)}); of gas leaks, {told}"
        return f"{told}; no promise"

    def leak_rows(self, system: str = "metric") -> list[tuple[str, str]]:
        """(what, in words) on the probability of a gas leak."""
        if isinstance(self.leak, Fault):
            return [("not worked out, since some builds are out of reach", str(self.leak))]
        return self.leak.rows(system)

    def to_dict(self) -> dict[str, Any]:
        """Report, ranking and probability as JSON takes them (`TABLE`)."""
        return self.report.to_dict() | record.told(_BESIDE, self)


_BESIDE: dict[str, Any] = {
    "tightening": entries("tightening"),
    "notes": record.TABLE["notes"]._replace(get="notes"),
    "ranking": Rows(
        "constructions on this build, best first",
        {
            **entries("ranking"),
            "knock": record.TABLE["pressure"]["knock"]._replace(get="result.knock"),
            "order": record.TABLE["order"]._replace(get=lambda x: record.failures(x.result)),
        },
        "ranked",
    ),
    "refused": Rows(
        "constructions that cannot be made here",
        entries("refused"),
        lambda p: p.refused.items(),
    ),
    "leak": Rows(
        "probability of a gas leak: of a bore, of an engine whose bores scatter apart or alike; "
        "nothing where some builds are out of reach",
        entries("probability"),
        lambda p: [] if isinstance(p.leak, Fault) else p.leak.each,
    ),
}

TABLE = record.TABLE | _BESIDE


def paper_of(found: Report | Specification) -> Paper:
    """What is printed of a report, or of a specification with its wish.

    Ranking and scatter are worked out here, once.
    """
    specified = found if isinstance(found, Specification) else None
    report = found.report if isinstance(found, Specification) else found
    leak: LeakProbability | Fault
    try:
        leak = leak_probability(report)
    except InputError as err:
        leak = err.faults[0]
    build = report.build
    ranked, refused = ranking.rank(build, own=report), ranking.refused(build)
    return Paper(report, ranked, refused, leak, datetime.date.today(), specified)
