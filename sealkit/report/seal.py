"""The combustion seal that is shown of a report, and the loads of one bore at its design peak."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sealkit.analysis import margins
from sealkit.arrays import Array
from sealkit.report.result import Report
from sealkit.sealing.gaskets import Zone
from sealkit.sealing.joint import JointState
from sealkit.sealing.limit import Limit

ENDS = ("low", "nominal", "high")


def shown_seal(report: Report) -> Zone:
    """The combustion seal with the least left to hold the gas."""
    seals = report.joint.gasket.seals
    held = tuple(r for r in report.limits if r.check == "residual")
    name = margins.weakest(held).part if held else seals[0].name
    return next(z for z in report.joint.gasket.zones if z.name == name)


def springback(report: Report) -> float | None:
    """How far that seal springs back against the lift, m; None where no limit asks for it."""
    seal = shown_seal(report)
    if seal.factor <= 0:
        return None
    return float(report.joint.springback(report.sealing, seal)[0])


def on_map(report: Report, check: str) -> Limit | None:
    """What the deck map judges of that seal: "residual" or "springback"; None where it does not."""
    name = shown_seal(report).name
    rows = (r for r in report.limits if r.check == check and r.part == name)
    return next(rows, None) if report.deck is not None else None


def demand_over(report: Report, places: NDArray[np.intp]) -> Array:
    """Load that seal wants at these places of the cycle, N/m or Pa; empty where none is asked."""
    seal = shown_seal(report)
    if seal.factor <= 0:
        return np.empty(0)
    return np.asarray(seal.required(report.gas.sizing[places]), dtype=float)


def at_peak(report: Report, preload: str = "low") -> tuple[float, JointState]:
    """Clamp of one bore without gas (N) and joint at the design peak, at this end of `ENDS`."""
    ends = (report.sealing, report.nominal, report.case.high)
    assembly = ends[ENDS.index(preload)]
    state = report.joint.under_gas(assembly, report.gas.design_gauge)
    return float(report.bore_clamp(assembly.preload[0])), state
