"""The four charts of one report over crank angle, and its tables as rows of text."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.build import Build
from sealkit.classroom.drawing.plot import BELOW, FAILS, Curve, Plot, crank_places, over_crank
from sealkit.classroom.drawing.shown import cells
from sealkit.report import Report, ranking
from sealkit.report.seal import ENDS, at_peak, demand_over, shown_seal, springback
from sealkit.report.tables import facts
from sealkit.report.tables import rows as limit_texts

Rows = list[dict[str, str]]


def _view(report: Report) -> dict[str, Any]:
    """Numbers of the curves, one each degree."""
    gas, joint, seal = report.gas, report.over_angle, shown_seal(report)
    turn = np.asarray(gas.cycle.crank_angle, dtype=float)
    at = crank_places(turn)
    back = springback(report)
    return {
        "turn": turn[at],
        "per": "line load" if seal.per == "length" else "stress",
        "bound": np.asarray(gas.bound.pressure)[at],
        "sized": gas.design_peak,
        "mean": np.asarray(gas.cycle.pressure)[at],
        "clamp": np.asarray(joint.clamp)[at],
        "gas": np.asarray(joint.gas_force)[at],
        "left": np.asarray(joint.zone_loads[seal.name])[at],
        "wanted": demand_over(report, at),
        "springback": np.empty(0) if back is None else back,
        "beyond": np.empty(0) if back is None else 50.0 * back,  # above the chart
        "lift": np.asarray(joint.seal_lift)[at],
    }


_LEFT: Any = {"side": "top left"}
_BEYOND: Any = {
    "ranged": "",
    "style": {
        "fill": "tonexty",
        "fillcolor": FAILS,
        "line": {"width": 0},
        "hoverinfo": "skip",
        "cliponaxis": True,
    },
}
PLOT = Plot(
    charts=tuple(
        over_crank(title, kind, "turn", titled=title.startswith("Lift"))
        for title, kind in (
            ("Cylinder pressure, {unit} absolute", "pressure"),
            ("Load on one bore", "force"),
            ("Load on the combustion seal", lambda view: view["per"]),
            ("Lift at the seal", "lift"),
        )
    ),
    curves=(
        Curve("bound", "constant-volume limit", "pressure", dash="dot", at=16.0, raised=True,
              short="constant volume", ranged="", style={"cliponaxis": True}),
        Curve("sized", "design peak", "pressure", dash="dash", at=-90.0, level=True),
        Curve("mean", "average cycle", "pressure", at=-16.0, short="average", ghost=True, **_LEFT),
        Curve("clamp", "clamp left", "clamp", 1, at=-88.0, ghost=True),
        Curve("gas", "gas load", "gas load", 1, dash="dash", at=-18.0, **_LEFT),
        Curve("left", "left on the seal", "seal load", 2, at=-88.0, ghost=True),
        Curve("wanted", "wanted", "seal load", 2, dash="dash", at=-18.0, **_LEFT, **BELOW),
        Curve("springback", "seal springs back", "lift", 3, dash="dash", at=-90.0, level=True),
        Curve("beyond", "lifts too far", "lift", 3, dash="dot", level=True, **_BEYOND),
        Curve("lift", "lift", "lift", 3, at=-18.0, ghost=True, **_LEFT),
    ),
    hover="x unified",
    view=_view,
    still=True,
)  # fmt: skip


def peak_rows(report: Report, system: str) -> Rows:
    """The pressures, as text."""
    _, title, pairs = facts(report, system)[0]
    return [{title.lower(): what, "value": value} for what, value in pairs]


def load_rows(report: Report, system: str) -> Rows:
    """Clamp, gas load and clamp left of one bore at the low, middle and high preload, as text."""
    rows = [
        {
            "preload": name,
            "clamp": (clamp, "force"),
            "gas load": (float(state.gas_force), "force"),
            "clamp left": (float(state.clamp), "force"),
            "seal lift": (float(state.seal_lift), "lift"),
        }
        for name in ENDS
        for clamp, state in [at_peak(report, name)]
    ]
    return cells(rows, system)


def limit_rows(report: Report, system: str) -> Rows:
    """The limits, weakest first, as text (without their sources)."""
    return [
        {
            "limit": f"{r['limit']} ({r['state']})",
            "margin": r["margin"],
            "with the two other choices that move it most": r["band"],
            "verdict": r["holds"],
            "needs": r["needs"],
            "has": r["has"],
            "status of the number": r["status"],
        }
        for r in limit_texts(report, system)
    ]


def gaskets(build: Build, system: str, what: str = "Gaskets on this engine") -> dict[str, Rows]:
    """The ranking of the constructions, best first, as text, by its heading."""
    rows = [
        {
            "gasket": r["construction"],
            "verdict": r["holds"],
            "least margin of gasket and clamp": r["margin"],
            "why": r["why"],
            "least margin of fasteners, threads, head": r["strength"],
            "fails first as pressure rises": r["fails first"],
        }
        for r in ranking.rows(ranking.rank(build), system)
    ]
    return {ranking.title(build, what): rows}
