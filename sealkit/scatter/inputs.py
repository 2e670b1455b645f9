"""What scatters from build to build, each with its source and status."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sealkit import analysis, tables
from sealkit import build as sheets
from sealkit.build import Build
from sealkit.errors import fail, quoted
from sealkit.fastening import tightening
from sealkit.scatter.distributions import (
    Distribution,
    Highest,
    LogNormal,
    Normal,
    Triangular,
    Uniform,
)
from sealkit.sealing import heat


@dataclass(frozen=True)
class Input:
    """One thing that scatters from build to build."""

    name: str  # in words
    # distribution by field of the sheet (plain SI); several fields share one draw
    spreads: Mapping[str, Distribution]
    source: str
    status: str
    note: str = ""
    short: str = ""  # the name on a chart, where it differs

    @property
    def brief(self) -> str:
        """The name on a chart."""
        return self.short or self.name

    def __post_init__(self) -> None:
        if not self.spreads:
            raise fail("spreads", "nothing", "a distribution by field")
        if not self.source or self.status not in tables.STATUSES:
            raise fail(
                f"{self.name}, status",
                f"{self.source}, {self.status}",
                f"a source and one of {quoted(tables.STATUSES)}",
            )


def usual(build: Build, preload: str | None = None) -> tuple[Input, ...]:
    """What usually scatters on this sheet; the widths stand in the table ``spread``.

    Raises InputError for another word in `preload`.

    Parameters
    ----------
    preload : "parts": friction and wrench (or angle gauge, or stretch reading) apart; "method": one
        factor with the scatter of the way of tightening; if not given, "method" where the sheet
        states its scatter and "parts" where it does not
    """
    if preload not in (None, "parts", "method"):
        raise fail("preload", preload, '"parts" or "method"')
    b, f, h, g = build.burn, build.fasteners, build.heat, build.gasket
    rows = tables.load("spread")
    own, known = analysis.sheet_status(build), sheets.half_widths(build.evidence)
    parts = preload == "parts" or (preload is None and f.preload_scatter is None)
    out = []

    def add(key: str, spreads: Mapping[str, Distribution], *trust: str, of: str = "") -> None:
        row = rows[key]
        spreads = {path: narrowed(law, known.get(path)) for path, law in spreads.items()}
        name = f"{row['name']} ({of})" if of else row["name"]
        status = tables.weakest(row["status"], *trust)
        out.append(Input(name, spreads, row["source"], status, row["note"], row["short"]))

    def round_(value: float, half: float) -> Normal:
        return Normal(value, 0.5 * abs(half))

    def share(key: str) -> float:
        return float(rows[key]["share"])

    if parts and f.tightening in ("torque", "torque and angle"):
        row = tightening.friction.si(f.lubricant)
        stated = {
            "thread": (f.friction_thread, row.thread_low, row.thread, row.thread_high),
            "bearing": (f.friction_bearing, row.head_low, row.head, row.head_high),
        }
        spreads = {}
        for place, (given, *three) in stated.items():
            scale = 1.0 if given is None else given / three[1]
            spreads[f"fasteners.friction_{place}"] = Triangular(*(x * scale for x in three))
        add("friction", spreads, row.status, of=f.lubricant)
        torque = f.torque or 0.0
        add("wrench", {"fasteners.torque": round_(torque, share("wrench") * torque)})
        if f.tightening == "torque and angle":
            add("angle", {"fasteners.angle": round_(f.angle or 0.0, rows["angle"]["angle"])})
    else:
        if f.preload_scatter is not None and not parts:
            width, status, word = f.preload_scatter, own, "as the sheet states"
        else:
            found = analysis.scatter_row(build)
            width, status, word = found["high"], found["status"], found["method"]
        factor = round_(f.preload_factor, width * f.preload_factor)
        add("method", {"fasteners.preload_factor": factor}, status, of=word)
    depth, _, status = analysis.embedment_of(build)
    part = share("embedment")
    settled = Triangular((1 - part) * depth, depth, (1 + part) * depth)
    add("embedment", {"fasteners.embedment": settled}, status)
    creep, _, status = analysis.creep_of(build)
    seal, least = analysis.seal_creep_of(build), 1 - share("creep")
    creeps = {"gasket.creep_relaxation": creep, "gasket.seal_creep_relaxation": seal}
    add("creep", {k: Uniform(least * most, most) for k, most in creeps.items() if most > 0}, status)
    over = analysis.body_over_ring(build)
    if over is not None and g.body_tolerance > 0:
        add("body over ring", {"gasket.body_over_ring": round_(over, g.body_tolerance)}, own)
    if not analysis.of_one_sheet(build):
        thick = round_(g.compressed_thickness, share("thickness") * g.compressed_thickness)
        add("thickness", {"gasket.compressed_thickness": thick})
    if b.peak_variation != 0:
        add("peak", {"burn.one_cycle_in": Highest(b.one_cycle_in)}, own)
    if b.knock_amplitude > 0:
        law = LogNormal(b.knock_amplitude, share("knock"))
        add("knock", {"burn.knock_amplitude": law}, own)
    state = analysis.hot_state(build, analysis.FULL_LOAD)
    coolant = round_(float(state.coolant), rows["coolant"]["step"])
    add("coolant", {"heat.coolant_temperature": coolant}, state.status)
    rise, half = h.rise_factor, share("rise") * h.rise_factor
    add("rise", {"heat.rise_factor": Triangular(rise - half, rise, rise + half)}, state.status)
    if build.liquids.deck == "wet" and h.cold_soak < heat.ASSEMBLED_AT:
        add("cold soak", {"heat.cold_soak": Uniform(h.cold_soak, heat.ASSEMBLED_AT)})
    return tuple(out)


def narrowed(law: Distribution, half: float | None) -> Distribution:
    """A spread no wider than measurements leave open: `half`, two standard deviations, or None."""
    if half is None:
        return law
    low, middle, high = (float(x) for x in law.at(np.array([0.025, 0.5, 0.975])))
    return law if high - low <= 2.0 * half else Normal(middle, half / 2.0)


def one_cycle(build: Build) -> tuple[Input, ...]:
    """What usually scatters, but for what would give each build a mean cycle of its own."""
    return tuple(x for x in usual(build) if not analysis.moves_the_cycle(build, x.spreads))
