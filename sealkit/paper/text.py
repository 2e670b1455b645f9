"""The report as plain text."""

from __future__ import annotations

from sealkit.paper.content import CAUTIONS, LEAK, ORDER, SCOPE, Paper
from sealkit.report import Facts, facts, first_clause, order_rows, rows, workshop


def text(paper: Paper, system: str = "metric") -> str:
    """The report as plain text."""
    report = paper.report
    out = [report.build.sheet.name]
    if report.build.sheet.note:
        out.append(report.build.sheet.note)
    out.append(f"status of the numbers on the sheet: {report.build.sheet.status}")
    for group in facts(report, system):
        out += group.lines()
    out += ["", "Limits, weakest first"]
    for r in rows(report, system):
        out.append(
            f"  {r['margin']:>9}  {r['holds']:<17}  {r['limit']}: needs {r['needs']}, "
            f"has {r['has']} ({r['state']})"
            f"{'; ' + r['band'] + ' with other choices of the model' if r['band'] else ''}"
        )
        out.append(f"{'':32}{r['status']}: {r['source']}")
        if r["note"]:
            out.append(f"{'':32}{r['note']}")
    out += ["", ORDER]
    out += [f"  {a:>12}  {b}" for a, b in order_rows(report, system)]
    out += ["", "Gasket constructions on this engine, best first (strength beside)"]
    clauses = [first_clause(r.result, system) for r in paper.ranked]
    clauses += ["-"] * len(paper.refused)
    for r, clause in zip(paper.ranking_rows(system), clauses, strict=True):
        out.append(
            f"  {r['margin']:>8}  {r['holds']:<17}  {r['construction']}; {r['why']}; "
            f"strength {r['strength']}; {clause}"
        )
    out += [f"  {paper.tie}"] if paper.tie else []
    out.append(f"  {SCOPE}")
    for group in [*workshop.facts(report, system), Facts("leak", LEAK, paper.leak_rows(system))]:
        out += group.lines()
    if report.warnings:
        out += ["", "Worth knowing"]
        out += [f"  {w.text(system)}" for w in report.warnings]
    out += ["", "Verdict", f"  {report.verdict(system)}", ""]
    out += CAUTIONS
    return "\n".join(out)
