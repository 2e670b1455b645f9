"""The report as one self-contained page to print."""

from __future__ import annotations

import html
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sealkit.files import write_whole
from sealkit.paper.content import CAUTIONS, LEAK, ORDER, SCOPE, Paper, paper_of
from sealkit.report import Facts, Report, facts, order_rows, rows, workshop
from sealkit.units import show_unit, show_value

Array = NDArray[np.float64]

_STYLE = """
body{font:11pt/1.4 system-ui,sans-serif;max-width:52rem;margin:1.5rem auto;padding:0 1rem;
color:#111}
h1{font-size:1.4rem;margin-bottom:.2rem}h2{font-size:1.05rem;margin:1.2rem 0 .3rem}
table{border-collapse:collapse;width:100%;font-size:9.5pt}
th,td{text-align:left;vertical-align:top;padding:.2rem .5rem .2rem 0;border-bottom:1px solid #ccc}
.verdict{border:2px solid #111;padding:.6rem .8rem;font-weight:600}
.small{font-size:9pt;color:#444}svg{width:100%;height:auto}
pre{columns:2;column-gap:2rem;white-space:pre-wrap;font-size:8pt;line-height:1.25}
@media print{body{margin:0;font-size:9pt;max-width:none}h1{font-size:14pt}
h2{font-size:11pt;margin:.7rem 0 .2rem}table{font-size:8pt}.small{font-size:7.5pt}svg{width:75%}
h2{break-after:avoid}tr{break-inside:avoid}}
"""


def page(paper: Paper, system: str = "metric") -> str:
    """The report as one self-contained page (HTML)."""
    r = paper.report
    esc = html.escape
    parts = [
        "<!doctype html><html lang='en'><head><meta charset='utf-8'>",
        "<meta name='viewport' content='width=device-width, initial-scale=1'>",
        f"<title>{esc(r.build.sheet.name)}: joint report</title>",
        f"<style>{_STYLE}</style></head><body>",
        f"<h1>{esc(r.build.sheet.name)}</h1>",
        f"<p>{esc(r.build.sheet.note)}</p>" if r.build.sheet.note else "",
        f"<p class='small'>status of the numbers on the sheet: {esc(r.build.sheet.status)}</p>",
        f"<p class='verdict'>{esc(r.verdict(system))}</p>",
        chart(r, system),
    ]
    parts += [group.html() for group in facts(r, system)]
    limits = rows(r, system)
    sources: dict[str, int] = {}
    parts.append("<h2>Limits, weakest first</h2><table><tr>")
    parts += [
        f"<th>{k}</th>"
        for k in ("limit", "needs", "has", "margin", "other choices", "", "number is")
    ]
    parts.append("</tr>")
    for row in limits:
        note = f"{row['source']}. {row['note']}" if row["note"] else row["source"]
        mark = sources.setdefault(note, len(sources) + 1)
        cells = [
            f"{esc(row['limit'])} <span class='small'>({esc(row['state'])})</span>",
            esc(row["needs"]),
            esc(row["has"]),
            esc(row["margin"]),
            esc(row["band"]),
            esc(row["holds"]),
            f"{esc(row['status'])} [{mark}]",
        ]
        parts.append("<tr>" + "".join(f"<td>{c}</td>" for c in cells) + "</tr>")
    parts.append("</table><p class='small'>")
    parts.append("; ".join(f"[{n}] {esc(text)}" for text, n in sources.items()) + "</p>")
    parts.append(Facts("order", ORDER, order_rows(r, system)).html())
    parts.append("<h2>Gasket constructions on this engine, best first</h2><table><tr>")
    parts += [
        f"<th>{k}</th>" for k in ("construction", "margin", "", "why", "strength", "fails first")
    ]
    parts.append("</tr>")
    for row in paper.ranking_rows(system):
        parts.append("<tr>" + "".join(f"<td>{esc(v)}</td>" for v in row.values()) + "</tr>")
    tie = f"{esc(paper.tie)} " if paper.tie else ""
    parts.append(f"</table><p class='small'>{tie}{esc(SCOPE)}</p>")
    parts.append(workshop.page(r, system))
    parts.append(Facts("leak", LEAK, paper.leak_rows(system)).html())
    if r.warnings:
        parts.append("<h2>Worth knowing</h2><ul>")
        parts += [f"<li>{esc(w.text(system))}</li>" for w in r.warnings]
        parts.append("</ul>")
    parts.append("<h2>Cautions</h2><ul>")
    parts += [f"<li>{esc(c)}</li>" for c in CAUTIONS]
    parts.append("</ul>")
    parts.append(f"<h2>The sheet</h2><pre class='small'>{esc(r.build.dumps())}</pre>")
    parts.append("</body></html>")
    return "\n".join(parts)


def chart(r: Report, system: str) -> str:
    """Gas load and clamp left over crank angle, as a drawing in the page itself."""
    angle = np.degrees(r.gas.cycle.crank_angle)
    keep = (angle >= -90) & (angle <= 120)
    x = angle[keep][::4]
    gas = show_value(r.over_angle.gas_force, "force", system)[keep][::4]
    left = show_value(r.over_angle.clamp, "force", system)[keep][::4]
    top = 1.1 * float(max(gas.max(), left.max()))
    w, h, m = 640, 260, 46

    def line(y: Array, dash: str) -> str:
        px = m + (x + 90) / 210 * (w - 2 * m)
        py = h - m - y / top * (h - 2 * m)
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(px, py, strict=True))
        return f"<polyline fill='none' stroke='#111' stroke-width='1.8' {dash} points='{points}'/>"

    ticks = "".join(
        f"<text x='{m + (t + 90) / 210 * (w - 2 * m):.0f}' y='{h - m + 16}' font-size='11' "
        f"text-anchor='middle'>{t}°</text>"
        for t in range(-90, 121, 30)
    )
    unit = show_unit("force", system)
    nice = [n * 10.0**k for k in range(7) for n in (1.0, 2.0, 5.0)]
    step = next(x for x in nice if top / x <= 6)
    steps = np.arange(0.0, top, step)
    marks = "".join(
        f"<text x='{m - 6}' y='{h - m - s / top * (h - 2 * m) + 4:.0f}' font-size='11' "
        f"text-anchor='end'>{s:,.0f}</text>"
        for s in steps
    )
    dashes = "stroke-dasharray='6 4'"
    return (
        f"<svg viewBox='0 0 {w} {h}' role='img' aria-label='gas load and clamp left on the gasket "
        f"over crank angle'><rect x='{m}' y='{m}' width='{w - 2 * m}' height='{h - 2 * m}' "
        "fill='none' stroke='#999'/>"
        f"{line(gas, '')}{line(left, dashes)}{ticks}{marks}"
        f"<text x='{w / 2}' y='{h - 8}' font-size='12' text-anchor='middle'>crank angle after top "
        "dead centre</text>"
        f"<text x='{m}' y='{m - 24}' font-size='12'>{unit} per bore, low preload, "
        f"{r.temperature}, over the design cycle</text>"
        f"<text x='{m}' y='{m - 9}' font-size='12'>solid: gas load; dashed: clamp left on the "
        "gasket</text></svg>"
    )


def save(report: Report, folder: str | Path = ".", system: str | None = None) -> tuple[Path, Path]:
    """Write the build sheet and the report page of a report; the paths of the two.

    Raises
    ------
    InputError
        if they cannot be written there.
    """
    sheet = report.build.save(Path(folder) / "specification.toml")
    path = sheet.with_name("specification-report.html")
    write_whole(path, page(paper_of(report), system or report.build.system).encode("utf-8"))
    return sheet, path
