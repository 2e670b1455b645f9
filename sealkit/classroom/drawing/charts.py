"""Pictures and tables of one report: plain figures, a drawn section, rows of text.

What is drawn comes from `sealkit.report`; here it is only turned into the shop's units, put into
lines and labelled. One colour stands for one kind of quantity in every lesson, and dashes and
words tell lines of one colour apart.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sealkit.analysis import margins
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.svg import framed
from sealkit.report import Report
from sealkit.report.tables import facts
from sealkit.report.tables import rows as limit_texts
from sealkit.units import show, show_unit, show_value

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

ANGLES = (-90.0, 120.0)  # degrees of crank angle shown
_STEP = 1.0


@dataclass(frozen=True)
class Line:
    """One line of a chart.

    Parameters
    ----------
    chart : key of `CHARTS`
    label : words beside the line
    colour : key of `COLOURS`
    dash : plotly dash name
    at : crank angle of the label, degrees
    place : where the label stands, as plotly says it
    level : whether the line is one height over all crank angles
    """

    chart: str
    label: str
    colour: str
    dash: str
    at: float
    place: str
    level: bool = False


CHARTS = {
    "pressure": "Cylinder pressure",
    "load": "Load on one bore",
    "seal": "Load on the combustion seal",
    "lift": "Lift at the seal",
}
LINES = {
    "bound": Line("pressure", "constant-volume limit", "pressure", "dot", 6.0, "top right"),
    "sized": Line("pressure", "design peak", "pressure", "dash", -90.0, "top right", True),
    "mean": Line("pressure", "average cycle", "pressure", "solid", -16.0, "top left"),
    "clamp": Line("load", "clamp left", "clamp", "solid", -88.0, "top right"),
    "gas": Line("load", "gas load", "gas load", "dash", -18.0, "top left"),
    "left": Line("seal", "left on the seal", "seal load", "solid", -88.0, "top right"),
    "wanted": Line("seal", "wanted", "seal load", "dash", -18.0, "top left"),
    "springback": Line("lift", "seal springs back", "lift", "dash", -90.0, "top right", True),
    "lift": Line("lift", "lift", "lift", "solid", -18.0, "top left"),
}
X_TITLE = "Crank angle, ° after firing top dead centre"


# --------------------------------------------------------------------------- numbers of the lines
def kinds(report: Report) -> dict[str, str]:
    """The kind of quantity of each chart."""
    seal = _seal(report)
    zone = next(z for z in report.joint.gasket.zones if z.name == seal)
    return {
        "pressure": "pressure",
        "load": "force",
        "seal": zone.load_kind,
        "lift": "lift",
    }


def titles(report: Report, system: str) -> dict[str, str]:
    """Titles of the charts with the unit of their upright axis."""
    out = {}
    for chart, kind in kinds(report).items():
        unit = show_unit(kind, system) + (" absolute" if chart == "pressure" else "")
        out[chart] = f"{CHARTS[chart]}, {unit}"
    return out


def _limit(report: Report, key: str) -> margins.Limit | None:
    return next((r for r in report.limits if r.key == key), None)


def _seal(report: Report) -> str:
    """Name of the combustion seal that is shown: the one with the least left to hold the gas."""
    held = [r for r in report.limits if r.check == "residual"]
    return margins.weakest(tuple(held)).part if held else report.joint.gasket.seals[0].name


@functools.lru_cache(maxsize=8)
def _picked(grid: tuple[float, ...]) -> NDArray[np.intp]:
    degrees = np.degrees(np.asarray(grid))
    steps = np.round(degrees / _STEP)
    inside = (degrees >= ANGLES[0] - 1e-6) & (degrees <= ANGLES[1] + 1e-6)
    return np.nonzero(inside & (np.abs(degrees - steps * _STEP) < 1e-6))[0]


def angles(report: Report) -> tuple[Array, NDArray[np.intp]]:
    """(degrees shown, their places on the crank angle grid of the report)."""
    grid = np.asarray(report.gas.cycle.crank_angle, dtype=float)
    places = _picked(tuple(grid))
    return np.degrees(grid[places]), places


def lines_si(report: Report) -> dict[str, Array]:
    """Plain SI values of every line of `LINES`; empty where the gasket has no such limit."""
    _, at = angles(report)
    gas, joint = report.gas, report.over_angle
    seal = _seal(report)
    nothing = np.empty(0)
    springback = _limit(report, f"springback/{seal}")
    # each angle as a load of its own: what the seal wants does not depend on what came before
    wanted = next(
        (
            np.asarray(r.demand, dtype=float)
            for r in margins.limits(report.case, gas.sizing[at])
            if r.key == f"residual/{seal}"
        ),
        nothing,
    )
    return {
        "bound": np.asarray(gas.bound.pressure)[at],
        "sized": np.full(2, gas.design_peak),
        "mean": np.asarray(gas.cycle.pressure)[at],
        "clamp": np.asarray(joint.clamp)[at],
        "gas": np.asarray(joint.gas_force)[at],
        "left": np.asarray(joint.zone_loads[seal])[at],
        "wanted": wanted,
        "springback": np.full(2, float(springback.capacity)) if springback else nothing,
        "lift": np.asarray(joint.seal_lift)[at],
    }


def lines(report: Report, system: str) -> dict[str, Array]:
    """The lines in the shop's units."""
    kind = kinds(report)
    return {
        key: np.asarray(show_value(y, kind[LINES[key].chart], system), dtype=float)
        for key, y in lines_si(report).items()
    }


def ranges_si(reports: Iterable[Report]) -> dict[str, tuple[float, float]]:
    """(low, high) of each chart, plain SI, so that all these reports stay in view."""
    low: dict[str, float] = dict.fromkeys(CHARTS, 0.0)
    high: dict[str, float] = dict.fromkeys(CHARTS, 0.0)
    for report in reports:
        for key, y in lines_si(report).items():
            if y.size:
                chart = LINES[key].chart
                low[chart] = min(low[chart], float(y.min()))
                high[chart] = max(high[chart], float(y.max()))
    return {
        c: (low[c] - 0.02 * (high[c] - low[c]), low[c] + 1.12 * (high[c] - low[c])) for c in low
    }


# --------------------------------------------------------------------------- the figure
def parts(
    report: Report, system: str, ranges: Mapping[str, tuple[float, float]] | None = None
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Traces and layout of the figure, as plotly takes them."""
    span = ranges or ranges_si([report])
    kind = kinds(report)
    named = titles(report, system)
    x, _ = angles(report)
    values = lines(report, system)
    order = list(CHARTS)
    traces = [
        draw.line(
            key,
            line.label,
            line.colour,
            np.array(ANGLES) if line.level else x,
            values[key],
            order.index(line.chart),
            line.dash,
            line.at,
            line.place,
            line.level,
            short="average" if key == "mean" else "",
        )
        for key, line in LINES.items()
    ]
    charts = [
        draw.Chart(
            named[chart],
            (
                float(show_value(span[chart][0], kind[chart], system)),
                float(show_value(span[chart][1], kind[chart], system)),
            ),
            ANGLES,
            X_TITLE if chart == order[-1] else "",
            30,
        )
        for chart in order
    ]
    return traces, draw.layout(charts)


def figure(
    report: Report, system: str = "metric", ranges: Mapping[str, tuple[float, float]] | None = None
) -> Any:
    """The four charts of a report as a plain plotly figure.

    Parameters
    ----------
    report : result of `sealkit.report.run`
    system : "metric" or "inch"
    ranges : (low, high) of each chart in SI, as `ranges_si` gives them; None fits this report
    """
    import plotly.graph_objects as go

    traces, layout = parts(report, system, ranges)
    return go.Figure(data=traces, layout=layout)


# --------------------------------------------------------------------------- tables
def peak_rows(report: Report, system: str) -> list[dict[str, str]]:
    """The pressures, as text."""
    _, title, rows = facts(report, system)[0]
    return [{title.lower(): k, "value": v} for k, v in rows]


def load_rows(report: Report, system: str) -> list[dict[str, str]]:
    """Clamp, gas load and clamp left of one bore at the low, middle and high preload, as text."""
    peak = report.gas.design_gauge
    out = []
    for name, assembly in (
        ("low", report.sealing),
        ("nominal", report.nominal),
        ("high", report.case.high),
    ):
        state = report.joint.under_gas(assembly, peak)
        force = functools.partial(show, kind="force", system=system)
        out.append(
            {
                "preload": name,
                "clamp": force(report.joint.bolts * float(assembly.preload[0])),
                "gas load": force(float(state.gas_force)),
                "clamp left": force(float(state.clamp)),
                "seal lift": show(float(state.seal_lift), "lift", system),
            }
        )
    return out


def limit_rows(report: Report, system: str) -> list[dict[str, str]]:
    """The limits, weakest first, as text (without their sources)."""
    return [
        {
            "limit": f"{r['limit']} ({r['state']})",
            "margin": r["margin"],
            "verdict": r["holds"],
            "needs": r["needs"],
            "has": r["has"],
            "status of the number": r["status"],
        }
        for r in limit_texts(report, system)
    ]


def gasket_rows(ranked: Any, system: str) -> list[dict[str, str]]:
    """The ranking of the constructions, best first, as text."""
    from sealkit.report import ranking

    return [
        {
            "gasket": r["construction"],
            "verdict": r["holds"],
            "smallest margin": r["margin"],
            "why": r["why"],
            "margin of strength": r["strength"],
            "fails first as pressure rises": r["fails first"],
        }
        for r in ranking.rows(ranked, system)
    ]


def tables(report: Report, system: str = "metric") -> dict[str, pd.DataFrame]:
    """The numbers beside the charts: "peaks", "loads" and "limits", as text."""
    import pandas as pd

    return {
        "peaks": pd.DataFrame(peak_rows(report, system)),
        "loads": pd.DataFrame(load_rows(report, system)),
        "limits": pd.DataFrame(limit_rows(report, system)),
    }


# --------------------------------------------------------------------------- the drawn section
DECK, FACE = 270.0, 236.0  # of the drawing: block face; head face at rest
_HIGHEST = 70.0


@dataclass(frozen=True)
class Gap:
    """What the drawn section shows.

    Parameters
    ----------
    lift : how far the head has lifted at the seal since assembly, m
    springback : how far the seal springs back, m
    told : the line below the drawing
    push : gas load over the largest there is, 0..1: length of its arrows
    pull : pull of the fasteners over the largest there is, 0..1: length of their arrows
    piston : place of the piston, 0 at top dead centre, 1 at the bottom; None for no piston
    scale : units of the drawing for each micrometre of lift
    """

    lift: float
    springback: float
    told: str
    push: float = 1.0
    pull: float = 0.6
    piston: float | None = None
    scale: float = 1.0

    @property
    def head(self) -> float:
        """Where the head face stands at the bore edge in the drawing (y runs down)."""
        return FACE - min(1e6 * self.scale * max(self.lift, 0.0), _HIGHEST)

    @property
    def seal(self) -> float:
        """Where the top of the seal stands: at the head as long as it springs back that far."""
        return max(self.head, FACE - 1e6 * self.scale * max(self.springback, 0.0))


def bead(gap: Gap) -> str:
    """The seal of the drawing as one bead of sheet steel."""
    purple = COLOURS["seal load"]
    return (
        f"<path d='M190,{DECK} Q214,{2 * gap.seal - DECK:.1f} 238,{DECK}' fill='none' "
        f"stroke='{purple}' stroke-width='7'/>"
    )


def peak_gap(report: Report, system: str = "metric") -> Gap:
    """The section of a report at its peak pressure."""
    limit = _limit(report, f"springback/{_seal(report)}")
    metres = max(float(np.max(report.over_angle.seal_lift)), 0.0)
    springback = float(limit.capacity) if limit else metres
    state = "the seal still touches" if metres <= springback else "the seal no longer touches"
    return Gap(
        metres,
        springback,
        f"At peak pressure the head lifts {show(metres, 'lift', system)} here: {state}. "
        "The gap is drawn much too large; nothing is to scale.",
    )


def cross_section(
    report: Report | None = None,
    system: str = "metric",
    gap: Gap | None = None,
    seal: str | None = None,
) -> str:
    """A drawn section through the edge of one bore.

    The gap is drawn much too large, as far as the page goes; everything else is not to scale.

    Parameters
    ----------
    report : drawn at its peak pressure
    system : "metric" or "inch"
    gap : what to draw instead, such as the state at one crank angle
    seal : SVG of the seal between x = 182 and 298, block face at y = `DECK`, its top at
        `Gap.seal`; a bead if not given
    """
    words = (
        "Section through the edge of a bore. The fastener on the right pulls the cylinder head "
        "down on the block and squeezes the gasket. The gas on the left pushes the head up. The "
        "head bends between its fasteners, so the gap opens at the bore edge, and the combustion "
        "seal there has to spring back as far as the head lifts."
    )
    if gap is not None:
        words = f"Section through the edge of a bore. {gap.told}"
    elif report is not None:
        gap = peak_gap(report, system)
        words = f"Section through the edge of a bore at peak pressure. {gap.told}"
    else:
        gap = Gap(18e-6, 40e-6, "The gap is drawn much too large; nothing is to scale.")
    edge = gap.head
    blue, red, green = (COLOURS[k] for k in ("pressure", "gas load", "clamp"))

    def arrow(x: float, y0: float, y1: float, colour: str) -> str:
        tip = 9 if y1 > y0 else -9
        return (
            f"<path d='M{x},{y0:.1f} V{y1 - tip:.1f} M{x - 7},{y1 - tip:.1f} L{x},{y1:.1f} "
            f"L{x + 7},{y1 - tip:.1f} Z' stroke='{colour}' stroke-width='4' fill='{colour}'/>"
        )

    def word(x: float, y: float, text: str, anchor: str = "start") -> str:
        return f"<text x='{x}' y='{y}' text-anchor='{anchor}'>{text}</text>"

    low = edge + 12 + 72 * min(max(gap.push, 0.0), 1.0)
    down = 126 + 40 * min(max(gap.pull, 0.0), 1.0)
    piston = ""
    if gap.piston is not None:
        crown = 330.0 + 90.0 * min(max(gap.piston, 0.0), 1.0)
        piston = (
            f"<rect x='10' y='{crown:.1f}' width='168' height='120' fill='#d5d9dd' stroke='#333'/>"
        )
    shapes = [
        f"<rect x='8' y='{edge:.1f}' width='172' height='{400 - edge:.1f}' fill='#fdebdc'/>",
        piston,
        f"<rect x='180' y='{DECK}' width='452' height='130' fill='#c9ced3' stroke='#333'/>",
        f"<path d='M8,96 H632 V{FACE} H470 L205,{edge:.1f} H8 Z' fill='#e3e7ea' stroke='#333'/>",
        f"<rect x='300' y='{FACE + 3}' width='132' height='{DECK - FACE - 3}' fill='#f0e2b6' "
        "stroke='#333'/>",
        f"<rect x='528' y='{FACE + 3}' width='104' height='{DECK - FACE - 3}' fill='#f0e2b6' "
        "stroke='#333'/>",
        bead(gap) if seal is None else seal,
        "<rect x='461' y='90' width='38' height='282' fill='#8f979e' stroke='#333'/>",
        "<rect x='436' y='52' width='88' height='44' fill='#8f979e' stroke='#333'/>",
        "".join(f"<path d='M461,{y} L499,{y + 7}' stroke='#333'/>" for y in range(290, 366, 9)),
        "".join(arrow(x, low, edge + 12, red) for x in (40, 90, 140)) if gap.push > 0.1 else "",
        arrow(446, 104, down, green),
        arrow(514, 104, down, green),
        word(14, 388, "gas pushes up"),
        word(60, 130, "cylinder head"),
        word(545, 385, "block"),
        word(480, 40, "fastener pulls down", "middle"),
        f"<path d='M250,302 L222,{DECK - 4}' stroke='#111'/>",
        word(240, 322, "combustion seal"),
        word(366, 261, "gasket", "middle"),
    ]
    shapes.append(f"<path d='M180,{DECK} V400' stroke='{blue}' stroke-width='3'/>")
    return framed(shapes, (640, 408), words, gap.told)
