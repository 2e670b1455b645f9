"""What the cells of a lesson call: check tables, sources, comparisons, cautions."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from typing import Any

from sealkit import checks, tables
from sealkit.build import Build
from sealkit.classroom.drawing.shown import Shown, html_table, plain_table
from sealkit.paper import CAUTIONS
from sealkit.report import Report
from sealkit.report.seal import at_peak
from sealkit.sealing.limit import Preload
from sealkit.units import from_si


# --------------------------------------------------------------------------- checks and sources
def check_table(wanted: Mapping[str, Sequence[str]]) -> Shown:
    """Book and ours of check rows, with numbered sources.

    Parameters
    ----------
    wanted : topic -> ids of rows (see `sealkit.checks`)
    """
    rows, sources = [], []
    for one in (checks.row(topic, id) for topic, ids in wanted.items() for id in ids):
        origin = f"{one.source} ({one.status})"
        if origin not in sources:
            sources.append(origin)
        rows.append({"what": f"{one.quantity} [{sources.index(origin) + 1}]", **one.told()})
    origins = [f"[{i}] {s}" for i, s in enumerate(sources, 1)]
    below = "<br>".join(html.escape(s) for s in origins)
    return Shown(
        html_table("Book and ours", rows) + f"<p style='font-size:13px'>{below}</p>",
        "\n".join([plain_table(rows), "", *origins]),
    )


def sources(report: Report) -> Shown:
    """Where the numbers of the limits come from, with their status."""
    seen: dict[str, list[str]] = {}
    for row in report.limits:
        seen.setdefault(f"{row.status}: {row.source}", []).append(str(row.title))
    rows = [{"status and source": k, "used for": "; ".join(v)} for k, v in sorted(seen.items())]
    return Shown(html_table("Sources of the limits", rows), plain_table(rows))


def cautions() -> Shown:
    """What every lesson and report says before anybody picks up a wrench."""
    items = "".join(f"<li>{html.escape(c)}</li>" for c in CAUTIONS)
    return Shown(f"<p><b>Cautions</b></p><ul>{items}</ul>", "\n".join(CAUTIONS))


# --------------------------------------------------------------------------- numbers for prose
def head_modulus(build: Build) -> Any:
    """Modulus of elasticity of the head's material, as a quantity."""
    return from_si(tables.load("materials")[build.head.material]["modulus"], "modulus")


def result(report: Report) -> dict[str, Any]:
    """The few figures by which two builds are compared."""
    _, state = at_peak(report)
    seal = [r.margin for r in report.limits if r.check == "residual"]
    strength = [r.margin for r in report.limits if r.state.preload is Preload.HIGH]
    return {
        "design peak": (report.gas.design_peak, "pressure"),
        "gas load": (float(state.gas_force), "force"),
        "clamp left": (float(state.clamp), "force"),
        "margin of the seal": _percent(min(seal, default=None)),
        "smallest margin of strength": _percent(min(strength, default=None)),
        "verdict": str(report.outcome),
    }


def _percent(margin: float | None) -> str:
    return "none asked" if margin is None else f"{100 * margin:+.0f} %"
