"""What is printed of one report: all constructions ranked beside it, and how likely it leaks."""

from __future__ import annotations

from dataclasses import dataclass

from sealkit.errors import Fault, InputError
from sealkit.report import Report, ranking
from sealkit.report.ranking import Ranked
from sealkit.scatter import LeakProbability, leak_probability

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


ORDER = "As peak pressure rises, these fail in this order"
LEAK = "Probability of a gas leak at full load, builds scattering"


@dataclass(frozen=True)
class Paper:
    """A report with what is printed beside it.

    Parameters
    ----------
    report : of the build
    ranked : all constructions on the same build, best first
    refused : constructions that cannot be made here, and why
    leak : probability of a gas leak, or the fault that stands in its way
    """

    report: Report
    ranked: tuple[Ranked, ...]
    refused: dict[str, str]
    leak: LeakProbability | Fault

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
        return "Of constructions that fail before firing, the order says nothing."

    def leak_rows(self, system: str = "metric") -> list[tuple[str, str]]:
        """(what, in words) on the probability of a gas leak."""
        if isinstance(self.leak, Fault):
            return [("not worked out, since some builds are out of reach", str(self.leak))]
        return self.leak.rows(system)


def paper_of(report: Report) -> Paper:
    """What is printed of a report; ranking and scatter are worked out here, once."""
    leak: LeakProbability | Fault
    try:
        leak = leak_probability(report)
    except InputError as err:
        leak = err.faults[0]
    build = report.build
    return Paper(report, ranking.rank(build), ranking.refused(build), leak)
