"""The report as plain text: what matters in a few lines, or all of it."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

from sealkit.paper.content import CAUTIONS, LEAK, ORDER, SCOPE, Paper
from sealkit.report import (
    Facts,
    Report,
    facts,
    first_words,
    order_rows,
    percent,
    ranking,
    rows,
    side_rows,
    sides,
    workshop,
)
from sealkit.report.comparison import LETTERS, Comparison
from sealkit.report.notes import to_check, wrench_notes
from sealkit.report.record import KNOCK, figure, shown
from sealkit.report.result import band_words, deciding, turned_words
from sealkit.report.tables import measured
from sealkit.sealing.limit import LIQUID_LEAK, Limit, Outcome, Temperature


def summary(report: Report, system: str = "metric") -> str:
    """The verdict and what it hangs on, in about ten lines, with the cautions."""
    over = ", ".join(
        f"{figure(report, f'joint.over_gas{end}'):.2f} {word}"
        for end, word in (("_low", "low"), ("", "nominal"), ("_high", "high"))
    )
    told = list(sides(report).values())
    lines = [
        ("peak pressure", f"{shown(report, 'pressure.mean_peak', system)} on average, "
         f"{shown(report, 'pressure.design_peak', system)} to design for (absolute)"
         + f"; {report.knock_integral}, knock {report.knock}" * (report.knock != KNOCK[0])),
        *(("" if i else "check the sheet", words.text(system))
          for i, words in enumerate(to_check(report.build))),
        *(("" if i else "measured", f"{field}: {words}")
          for i, (field, words) in enumerate(measured(report.build, system))),
        *side_rows(report, system),
        ("gives first, pressure rising", first_words(report, system)),
        *(("" if i else "most boost", words)
          for i, words in enumerate(report.boost_words(system))),
        *(("on the wrench", words.text(system)) for words in wrench_notes(report.clamp)),
        ("clamp over gas force", f"{over} preload, cold"),
        *(("next least margin", f"{percent(r.margin)}: {_where(r, system)}")
          for r in [r for r in report.banded if r not in told][:1]),
        *(("" if i else "too close to call", f"{_where(r, system)}: {turned_words(r)}")
          for i, r in enumerate(report.close)),
        ("coolant and oil", _liquids(report, system)),
        ("power, an estimate", shown(report, "pressure.power", system)),
    ]  # fmt: skip
    word = str(report.outcome)
    more = f"; {report.exceeded}" if report.outcome is Outcome.FAILS else ""
    out = [f"{word.upper()}{report.standing(system)[len(word) :]}{more}"]
    out += [f"{report.build.sheet.name} (numbers on the sheet: {report.build.sheet.status})", ""]
    out += [f"{what:<30}{value}" for what, value in lines]
    return "\n".join([*out, "", *textwrap.wrap(" ".join(CAUTIONS), 96)])


def _where(limit: Limit, system: str) -> str:
    """A limit and the state it is worst in, without the moment and the place."""
    state = ", ".join(filter(None, (limit.state.name, limit.state.preload)))
    return limit.title.text(system) + (f" ({state})" if state else "")


def _liquids(report: Report, system: str) -> str:
    """The least margin of the liquids, cold and hot, and which of them decides, with its band."""
    wet = [r for r in report.everywhere if r.failure == LIQUID_LEAK]
    found = {t: [float(r.margin) for r in wet if r.state.temperature is t] for t in Temperature}
    said = ", ".join(f"{t} {percent(min(margins))}" for t, margins in found.items() if margins)
    if not said:
        return "none at this deck"
    row = deciding(r for r in report.banded if r.failure == LIQUID_LEAK)
    if row.outcome is Outcome.HOLDS:
        return f"{said}; least: {row.title.text(system)}"
    band = f", {words} with other choices of the model" if (words := band_words(row.band)) else ""
    return f"{said} as taken; {row.outcome}: {row.title.text(system)}{band}"


def text(paper: Paper, system: str = "metric") -> str:
    """The report as plain text."""
    report = paper.report
    out = [report.build.sheet.name, "", "Verdict", f"  {report.standing(system)}"]
    out += [f"  {report.grounds(system)}"]
    words = enumerate(report.window.words(system))
    out += ["", *(f"{'' if i else report.window.title:<30}{line}" for i, line in words), ""]
    if report.build.sheet.note:
        out.append(report.build.sheet.note)
    out.append(f"status of the numbers on the sheet: {report.build.sheet.status}")
    for group in facts(report, system):
        out += group.lines()
    out += ["", "Limits, weakest first; other choices of the model: the two that move it most"]
    for r in rows(report, system):
        out.append(
            f"  {r['margin']:>9}  {r['holds']:<17}  {r['limit']}: needs {r['needs']}, "
            f"has {r['has']} ({r['state']})"
            f"{'; ' + r['band'] + ' with other choices' if r['band'] else ''}"
        )
        out.append(f"{'':32}{r['status']}: {r['source']}")
        if r["note"]:
            out.append(f"{'':32}{r['note']}")
    out += ["", ORDER]
    out += [f"  {a:>12}  {b}" for a, b in order_rows(report, system)]
    out += ["", f"{ranking.title(report.build)}; strength beside"]
    for r in paper.ranking_rows(system):
        out.append(
            f"  {r['margin']:>8}  {r['holds']:<17}  {r['construction']}; {r['why']}; "
            f"strength {r['strength']}; fails first: {r['fails first']}"
        )
    out += [f"  {paper.tie}"] if paper.tie else []
    out.append(f"  {SCOPE}")
    for group in [*workshop.facts(report, system), Facts("leak", LEAK, paper.leak_rows(system))]:
        out += group.lines()
    if paper.notes:
        out += ["", "Worth knowing"]
        out += [f"  {w.text(system)}" for w in paper.notes]
    out += ["", *CAUTIONS]
    return "\n".join(out)


def side_by_side(made: Comparison, system: str = "metric") -> str:
    """Builds side by side as text: what is different on the sheets, what it does to each limit."""
    out = [f"{letter}  {name}" for letter, name in zip(LETTERS, made.names, strict=False)]
    for title, table in made.tables(system).items():
        out += ["", title, *columns(table)]
    return "\n".join([*out, "", *textwrap.wrap(" ".join(CAUTIONS), 96)])


_WIDEST = 40  # letters of a column


def columns(rows: Sequence[Mapping[str, str]]) -> list[str]:
    """Rows as even columns, none wider than need be; long values go on below."""
    lines = [{k: k for k in rows[0]}, *rows]
    most = {k: min(max(len(r[k]) for r in lines), _WIDEST) for k in rows[0]}
    out = []
    for row in lines:
        parts = {k: textwrap.wrap(v, most[k]) or [""] for k, v in row.items()}
        for i in range(max(map(len, parts.values()))):
            cells = ((p[i] if i < len(p) else "").ljust(most[k]) for k, p in parts.items())
            out.append("  " + "  ".join(cells).rstrip())
    return out
