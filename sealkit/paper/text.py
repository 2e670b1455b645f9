"""The report as plain text."""

from __future__ import annotations

from sealkit.paper.content import CAUTIONS, LEAK, SCOPE, Paper
from sealkit.report import facts, first_clause, order_rows, rows, workshop
from sealkit.units import in_system


def text(paper: Paper, system: str = "metric") -> str:
    """The report as plain text."""
    report = paper.report
    out = [report.build.sheet.name]
    if report.build.sheet.note:
        out.append(report.build.sheet.note)
    out.append(f"status of the numbers on the sheet: {report.build.sheet.status}")
    for title, group in facts(report, system):
        out += ["", title]
        width = max(len(k) for k, _ in group)
        out += [f"  {k:<{width}}  {v}" for k, v in group]
    out += ["", "Limits, weakest first"]
    for r in rows(report, system):
        out.append(
            f"  {r['margin']:>9}  {r['holds']:<13}  {r['limit']}: needs {r['needs']}, "
            f"has {r['has']} ({r['state']})"
        )
        out.append(f"{'':28}{r['status']}: {r['source']}")
        if r["note"]:
            out.append(f"{'':28}{r['note']}")
    out += ["", "As peak pressure rises, these fail in this order"]
    out += [f"  {a:>12}  {b}" for a, b in order_rows(report, system)]
    out += ["", "Gasket constructions on this engine, best first (strength beside)"]
    clauses = [first_clause(r.result, system) for r in paper.ranked]
    clauses += ["-"] * len(paper.refused)
    for r, clause in zip(paper.ranking_rows(system), clauses, strict=True):
        out.append(
            f"  {r['margin']:>8}  {r['holds']:<9}  {r['construction']}; {r['why']}; "
            f"strength {r['strength']}; {clause}"
        )
    out += [f"  {paper.tie}"] if paper.tie else []
    out.append(f"  {SCOPE}")
    for title, group in workshop.facts(report, system):
        out += ["", title]
        width = max(len(k) for k, _ in group)
        out += [f"  {k:<{width}}  {v}" for k, v in group]
    leak = paper.leak_rows(system)
    width = max(len(k) for k, _ in leak)
    out += ["", LEAK]
    out += [f"  {k:<{width}}  {v}" for k, v in leak]
    if report.warnings:
        out += ["", "Worth knowing"]
        out += [f"  {in_system(w, system)}" for w in report.warnings]
    out += ["", "Verdict", f"  {report.verdict(system)}", ""]
    out += CAUTIONS
    return "\n".join(out)
