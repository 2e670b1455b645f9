"""Which gasket construction for this engine: all of them tried on one build, best first.

A construction is judged by what it can change: its zones, the clamp against the gas, coolant and
oil; hot and cold, low and high preload, wet or dry deck. Those that hold stand first, then those
too close to call; among them counts the peak pressure at which the first of these limits is
reached, since margins of unlike limits do not compare. Fasteners, threads and the head under the
bolt heads hardly depend on it; their smallest margin stands beside. Finish and flatness of the
faces are a gate: what no text on a construction allows, lets it fall out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sealkit import analysis
from sealkit.analysis import of_one_sheet
from sealkit.analysis.margins import Limit, weakest
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.report.faces import Faces, faces
from sealkit.report.record import AVERAGE, MAP, needs_has
from sealkit.report.result import Report, band_words, deciding, outcome_words, percent, run
from sealkit.report.tables import first_words
from sealkit.sealing import constructions
from sealkit.sealing.limit import Outcome, worst

STRENGTH = ("fasteners", "threads in the block", "head under the fasteners")


@dataclass(frozen=True)
class Ranked:
    """One construction on one build.

    All are ranked by the average joint, so that like is compared with like: each would want a map
    of its own.
    """

    name: str  # of the construction
    result: Report  # its whole report
    limit: Limit  # the limit of gasket, clamp or liquids that decides
    strength: Limit  # the limit of fasteners, threads or head with the least margin
    faces: Faces  # what the texts say of the faces for it
    # whether the construction itself holds, on these faces; the fasteners are judged apart
    outcome: Outcome
    # outcome and deciding limit by the deck map, of the sheet's own gasket where it has one
    mapped: tuple[Outcome, Limit] | None = None

    @property
    def lost_at(self) -> float:
        """Gas pressure at which the construction itself first fails, Pa over the air outside."""
        return min(
            (g.pressure for g in self.result.order if g.limit.part not in STRENGTH),
            default=float("inf"),
        )

    def reason(self, system: str = "metric") -> str:
        """Why it falls out, or what is least sure about it."""
        r, faces = self.limit, self.faces.text(system)
        word = "falls out by" if r.outcome is Outcome.FAILS else "least sure"
        needs, has = needs_has(r, system)
        limit = f"{word}: {r.title.text(system)}; needs {needs}, has {has} ({r.state})"
        if r.outcome is Outcome.CLOSE:
            limit += f", {band_words(r.band)} with other choices of the model"
        if self.faces.refused:
            words = f"falls out by its faces: {faces}; {limit}"
        else:
            words = f"{limit}; {faces}" if faces else limit
        return f"{words}; this gasket {self.on_map(system)}" if self.mapped else words

    def on_map(self, system: str = "metric") -> str:
        """What the deck map says of it, which counts in the verdict; empty where there is none."""
        if self.mapped is None:
            return ""
        outcome, least = self.mapped
        return (
            f"by the {MAP}, which counts: {outcome} ({least.title.text(system)}, "
            f"{percent(least.margin)})"
        )


_OWN = (
    *("gasket.creep_relaxation", "gasket.seal_creep_relaxation", "gasket.body_over_ring"),
    *("gasket.seal_load_factor", "gasket.body_load_factor"),
)


def with_construction(build: Build, name: str) -> Build:
    """The same build with another construction and nothing of the old one's own data.

    A sheet of copper comes in its own thickness, the table's.
    """
    if name == build.gasket.construction:
        return build
    gone: dict[str, Any] = dict.fromkeys((*_OWN, "liquids.facing")) | {"gasket.zones": ()}
    made = build.vary_si({"gasket.construction": name, **gone})
    if of_one_sheet(made) and not of_one_sheet(build):
        sheet = constructions.kind(name).parameters()["sheet_thickness"]["value"]
        made = made.vary({"gasket.compressed_thickness": sheet})
    return made


def title(build: Build, what: str = "Gaskets on this engine") -> str:
    """Heading of the ranking; where the sheet has a deck, it says that its map is left aside."""
    aside = "" if build.deck is None else f", on the {AVERAGE} without the {MAP}"
    return f"{what}, best first{aside}: by outcome, then by the pressure at which one first fails"


def rank(build: Build, own: Report | None = None) -> tuple[Ranked, ...]:
    """All constructions on this build; of those that hold, the one that fails last comes first.

    One that cannot be made between this head and block is left out (`refused` says why). Returns a
    tuple of `Ranked`.

    Parameters
    ----------
    build : a checked build sheet; its deck, seal diameter, areas and compressed thickness (and so
        its compression) hold for every construction, its facing and creep for its own only
    own : the report on the build itself, where it is there
    """
    gas = analysis.gas_side(build) if own is None else own.gas
    without, out = refused(build), []
    for name in (x for x in _candidates(build) if x not in without):
        full = own if name == build.gasket.construction else None
        full = full or run(with_construction(build, name), gas)
        result, gate = full.average, faces(build, name)
        strength = tuple(r for r in result.limits if r.part in STRENGTH)
        outcome, least = _itself(result, gate)
        mapped = None if full.deck is None else _itself(full, gate)
        out.append(Ranked(name, result, least, weakest(strength), gate, outcome, mapped))
    order = list(Outcome)
    return tuple(sorted(out, key=lambda r: (order.index(r.outcome), -r.lost_at, -r.limit.margin)))


def _itself(report: Report, gate: Faces) -> tuple[Outcome, Limit]:
    """Whether the gasket of a report holds itself, and which limit of it decides."""
    # blow-out comes after the seal is lost: the loss is judged, not what follows from it
    its = tuple(r for r in report.banded if r.part not in STRENGTH and r.key != "blow-out")
    return Outcome.FAILS if gate.refused else worst(r.outcome for r in its), deciding(its)


def refused(build: Build) -> dict[str, str]:
    """Constructions that cannot be made between this head and block, and why."""
    out = {}
    for name in _candidates(build):
        if name != build.gasket.construction:
            try:
                analysis.gasket_of(with_construction(build, name))
            except InputError as err:
                out[name] = str(err.faults[0].told_in(build.system))
    return out


def _candidates(build: Build) -> tuple[str, ...]:
    """All constructions of the kit, and the sheet's own gasket where it is none of them."""
    known = tuple(constructions.names())
    own = build.gasket.construction
    return known if own in known else (own, *known)


def rows(ranked: tuple[Ranked, ...], system: str = "metric") -> list[dict[str, str]]:
    """The ranking as text, best first."""
    return [
        {
            "construction": r.name,
            "margin": percent(r.limit.margin),
            "holds": "FALLS OUT" if r.outcome is Outcome.FAILS else outcome_words(r.outcome),
            "why": r.reason(system),
            "strength": percent(r.strength.margin),
            "fails first": first_words(r.result, system),
        }
        for r in ranked
    ]
