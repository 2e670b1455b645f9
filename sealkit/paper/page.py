"""The report as one file to print: a sheet for the customer, one for the bench, then the rest."""

from __future__ import annotations

import datetime
import html
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from sealkit import __version__
from sealkit.build.evidence import measured_fields
from sealkit.drawing.ink import bar
from sealkit.drawing.ring import drawing
from sealkit.files import write_whole
from sealkit.paper import pictures
from sealkit.paper.content import CAUTIONS, LEAK, ORDER, SCOPE, Paper, paper_of
from sealkit.report import (
    Report,
    facts,
    first_words,
    grid,
    order_rows,
    ranking,
    rows,
    workshop,
)
from sealkit.report.comparison import LETTERS, Comparison
from sealkit.report.notes import to_check
from sealkit.report.result import band_words, most_doubtful, percent
from sealkit.report.specification import Specification
from sealkit.report.tables import under
from sealkit.resources import beside
from sealkit.sealing.limit import Outcome
from sealkit.units import show, show_unit
from sealkit.words import figure_text, note

_STYLE = "\n" + beside(__file__, ".css")


def _esc(words: Any) -> str:
    return html.escape(str(words))


def _bound(words: str) -> str:
    """A percentage that no line breaks."""
    return words.replace(" %", "\u00a0%")


def _css(words: str) -> str:
    """Words for a string of a style sheet; what is no letter or number as its code."""
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in words)


def _table(
    rows: Sequence[Mapping[str, Any]], style: str = "", raw: Iterable[str] = (), head: bool = True
) -> str:
    """Rows as a table; columns named in `raw` hold HTML."""
    if not rows:
        return ""
    held = set(raw)
    top = "".join(f"<th scope='col'>{_esc(k)}</th>" for k in rows[0]) if head else ""
    out = [f"<table class='{style}'>", f"<thead><tr>{top}</tr></thead>" if head else "", "<tbody>"]
    for row in rows:
        cells = (
            f"<td data-of='{_esc(k)}'>{v if k in held else _esc(v)}</td>" for k, v in row.items()
        )
        out.append(f"<tr>{''.join(cells)}</tr>")
    return "".join([*out, "</tbody></table>"])


def _pairs(pairs: Iterable[tuple[str, Any]]) -> str:
    """(what, value) as a table without a heading."""
    return _table([{"": f"<b>{_esc(a)}</b>", " ": _esc(b)} for a, b in pairs], "pairs",
                  raw=("", " "), head=False)  # fmt: skip


def _group(title: str, pairs: Iterable[tuple[str, str]]) -> str:
    """Pairs under a heading."""
    cells = [{"": a, " ": b} for a, b in pairs]
    return f"<h2>{_esc(title)}</h2>{_table(cells, head=False)}"


def page(paper: Paper, system: str = "metric", window: bool = False) -> str:
    """The report as one self-contained page (HTML), which prints on A4 and Letter.

    With its `window` of tightening on the sheet for the bench, which takes a while to work out.
    """
    name, day = paper.report.build.sheet.name, f"{paper.made.day} {paper.made:%B %Y}"
    sheets = {
        "For the customer": _customer(paper, system),
        "For the bench": _bench(paper, system, window),
        "For the bench: ring and receiver": _ring(paper.report, system),
        "What stands behind it": _behind(paper, system),
        _LAST: _appendix(paper, system),
    }
    parts = []
    for title, told in sheets.items():
        if told:
            parts += [f"<section class='sheet{' follows' * (title == _LAST)}'>"]
            parts += [_head(paper, title, day), *told, "</section>"]
    return _whole(f"{name}: joint report", name, paper.made, parts)


_LAST = "Appendix: all limits, sources, and the sheet"


def _whole(title: str, name: str, day: datetime.date, parts: Iterable[str]) -> str:
    """A whole page; its foot has the name, the day and the version."""
    foot = f"{name} · {day.day} {day:%B %Y} · sealkit {__version__}"
    return "\n".join(
        [
            "<!doctype html><html lang='en'><head><meta charset='utf-8'>",
            "<meta name='viewport' content='width=device-width, initial-scale=1'>",
            f"<title>{_esc(title)}</title>",
            f"<style>{_STYLE.replace('LEFT', _css(foot))}</style></head><body>",
            *parts,
            "</body></html>",
        ]
    )


class Part(NamedTuple):
    """A part of a page: its title, a table, sentences below and pictures (HTML)."""

    title: str
    rows: Sequence[Mapping[str, str]]
    words: Sequence[str] = ()
    pictures: Sequence[str] = ()


def compared(made: Comparison, system: str = "metric", fit: Sequence[Part] = ()) -> str:
    """Builds side by side as one self-contained page (HTML), below what a `fit` of them found."""
    sheets = [r.build.sheet for r in made.reports]
    day = datetime.date.today()
    names = " and ".join(made.names)
    head = f"{len(sheets)} builds side by side"
    if fit:
        head = f"{sheets[0].name}: what was measured, and what to measure next"
    told = (f"{n} (numbers: {s.status})" for n, s in zip(made.names, sheets, strict=True))
    body = [
        f"<div class='head'><div><h1>{_esc(head)}</h1></div>"
        f"<div class='small'>{day.day} {day:%B %Y} · sealkit {__version__}</div></div>",
        _pairs(zip(LETTERS, told, strict=False)),
    ]
    for part in (*fit, *(Part(*one) for one in made.tables(system).items())):
        cells = [{k: _bound(v) for k, v in row.items()} for row in part.rows]
        body.append(f"<h2>{_esc(part.title)}</h2>{_table(cells, 'wide')}")
        body += (f"<p>{_esc(words)}</p>" for words in part.words)
        body.append(f"<div class='two'>{''.join(part.pictures)}</div>" if part.pictures else "")
    body.append(f"<p class='small'>{_esc(' '.join(CAUTIONS))}</p>")
    title = head if fit else f"{names}: side by side"
    return _whole(title, names, day, [f"<section>{''.join(body)}</section>"])


def _head(paper: Paper, title: str, day: str) -> str:
    sheet = paper.report.build.sheet
    who = sheet.customer or "________________"
    many = len(measured_fields(paper.report.build))
    known = f"; {many} of them measured" if many else ""
    return (
        f"<div class='head'><div><h1>{_esc(sheet.name)}</h1><b>{_esc(title)}</b></div>"
        f"<div class='small'>customer: {_esc(who)}<br>{_esc(day)} · sealkit {__version__}<br>"
        f"numbers on the sheet: {_esc(sheet.status)}{known}</div></div>"
    )


def _signed(*who: str) -> str:
    return f"<div class='sign'>{''.join(f'<span>{_esc(w)}</span>' for w in who)}</div>"


# --------------------------------------------------------------------------- for the customer
def _customer(paper: Paper, system: str) -> list[str]:
    r = paper.report
    g = r.build.gasket
    said = f"<p class='small'>{_esc(r.build.sheet.note)}</p>" if r.build.sheet.note else ""
    thick, opening = (show(x, "length", system) for x in (g.compressed_thickness, g.bore))
    failing = r.sure_failure or r.first_failure
    check = [("check the sheet", words.text(system)) for words in to_check(r.build)]
    pairs = [
        *check,
        ("wish", paper.wish(system)),
        ("gasket", f"{g.construction}, {thick} clamped, opening {opening}"),
        ("why", paper.why(system)),
    ]
    boost = ("most boost", "; ".join(r.boost_words(system)))
    pairs += [("chance of a gas leak", paper.chance(system)), boost]
    if failing is not r.first_failure:
        pairs.append(("gives first", first_words(r, system)))
    if failing is not None:
        pairs.append(("what failing costs", workshop.costs(r, failing.limit.failure)))
    return [
        said,
        _verdict(r, f"{r.standing(system)}.", r.in_short(system)),
        _pairs(pairs),
        "<div class='two'>",
        f"<div><h2>The seal at peak pressure</h2>{pictures.section(r, system)}</div>",
        f"<div><h2>Cylinder pressure</h2>{pictures.trace(r, system)}</div></div>",
        "<div class='keep'><h2>Smallest margins: what is left before it gives</h2>",
        _bars(r, system),
        "</div>",
        f"<p class='small cards'>{_esc(' '.join(CAUTIONS))} {_esc(SCOPE)}</p>",
        _signed("customer, date", "builder, date"),
    ]


def _verdict(r: Report, first: str, more: str) -> str:
    fails = " fails" if r.outcome is Outcome.FAILS else ""
    return f"<div class='verdict{fails}'><b>{_esc(first)}</b> {_esc(more)}</div>"


def _bars(r: Report, system: str) -> str:
    made = []
    every = most_doubtful(r.banded)
    unsure = [x for x in every if x.outcome is not Outcome.HOLDS]
    most = 5 if unsure else 7
    for x in every[:most]:
        margin = float(x.margin)
        band = (x.band.low, x.band.high) if x.band is not None and band_words(x.band) else None
        close = x.outcome is Outcome.CLOSE
        state = ", ".join(filter(None, (x.state.name, x.state.preload)))
        made.append(
            {
                "limit": _esc(x.title.text(system))
                + (f" <span class='small'>({_esc(state)})</span>" if state else ""),
                "": bar(margin, band, close),
                "margin": f"<b>{_bound(percent(margin))}</b>"
                f"{' too close to call' if close else ''}",
            }
        )
    more, bad = len(every[most:]), len(unsure[most:])
    which = f" ({bad} of them not sure to hold)" if bad else ""
    cut = f"And {more} more in the appendix{which}. " if more else ""
    return (
        f"{_table(made, raw=('limit', '', 'margin'), head=False)}<p class='small'>{cut}First what "
        "does not hold, then what is too close to call, then what holds, each by the low end of "
        "the thin line: other choices of the model. Bars to the right hold, hatched ones do not, "
        "dotted ones are too close to call; a tip: more than is shown.</p>"
    )


# --------------------------------------------------------------------------- for the bench
_BUILD_TO_IT = {
    Outcome.HOLDS: "",
    Outcome.CLOSE: "Do not build yet: settle what decides first.",
    Outcome.FAILS: "Do not build to this sheet.",
}


def _bench(paper: Paper, system: str, window: bool) -> list[str]:
    r, f = paper.report, paper.report.build.fasteners
    steps = [
        {"": f"{i}", "step": row["step"], "do": figure_text(row["do"], system)}
        for i, row in enumerate(workshop.procedure(r, system), 1)
    ]
    pattern = pictures.bolts(r) or (
        "<p>The sheet gives no places of the fasteners (section [deck]): number them on a sketch, "
        f"{workshop.order(r.build)}.</p>"
    )
    wanted = [*workshop.work_to(r, system), *_sizes(r, system)]
    holds = ""
    if window:
        *words, by_model = r.window.words(system)
        title = _esc(r.window.title.capitalize())
        holds = f" <b>{title}</b>, {_esc(by_model)}: {_esc('; '.join(words))}."
    cleared = "" if r.outcome is Outcome.HOLDS else ", as the sheet stands: not cleared to be built"
    return [
        _verdict(r, _BUILD_TO_IT[r.outcome], f"{r.standing(system)}."),
        f"<p>{f.on_head} {_esc(f.kind)}s {_esc(f.thread)} on a head"
        f"{' (a copy of this sheet for each)' if r.build.engine.heads > 1 else ''}, "
        f"{_esc(f.grade or 'strength by the sheet')}; {_esc(f.lubricant)} on thread and "
        f"{under(r.build)}; gasket: {_esc(r.build.gasket.construction)}."
        f"{holds}</p>",
        "<div class='keep'><h2>Faces and clearances to work to: measured first</h2>",
        _table([row | {"measured": ""} for row in wanted], "wide"),
        "<p class='small'>The strictest of the shop rules; what comes with the gasket "
        "goes first. All stand side by side in the appendix.</p></div>",
        f"<div class='keep pattern'><h2>Order of tightening</h2>{pattern}</div>",
        f"<h2>Step by step{cleared}</h2>{_table(steps, head=False)}",
        f"<div class='keep'><h2>Ticked off, fastener by fastener{cleared}</h2>"
        f"{_ticks(r, system)}</div>",
        f"<p class='small cards'>{_esc(CAUTIONS[1])} {_esc(CAUTIONS[2])}</p>",
        _signed("built by, date", "checked by, date"),
    ]


def _ring(r: Report, system: str) -> list[str]:
    if not workshop.has_ring(r):
        return []
    rows_ = [{"what": a, "value": b} for a, b in workshop.ring_facts(r, system)]
    drawn = drawing(workshop.ring(r), system)
    return [f"<figure class='keep'>{drawn}</figure>", _table(rows_, head=False)]


def _sizes(r: Report, system: str) -> list[dict[str, str]]:
    """What is measured as the engine goes together, and what the report reckons with."""
    e, g = r.build.engine, r.build.gasket
    out = [("gasket, clamped", show(g.compressed_thickness, "length", system))]
    if e.chamber is not None:
        out.append(("piston below the deck", show(e.chamber.deck_clearance, "length", system)))
        out += workshop.squish_fact(r, system)
        chamber = workshop.by_burette(e.chamber.chamber_volume, system)
        out.append(("chamber in the head", chamber))
    out.append(("compression ratio", f"{r.build.compression_ratio:.2f}"))
    return [{"what": a, "work to": b, "from": "this build"} for a, b in out]


def _ticks(r: Report, system: str) -> str:
    """A box for each fastener and step; by stretch a line for each, with the lengths."""
    f = r.build.fasteners
    places = range(1, f.on_head + 1)
    mind = "" if r.outcome is Outcome.HOLDS else " (not cleared)"
    if f.tightening == "stretch":
        now = workshop.settings(r, system)
        unit = show_unit("length", system)
        wanted = note("{least} to {most}", **now).text(system)
        empty = dict.fromkeys((f"length before, {unit}", f"length after, {unit}"), "")
        again = {"after the first heat, if instructed": ""} if workshop.tightened_again(r) else {}
        each = empty | {f"stretch wanted{mind}": wanted, "stretch": ""} | again
        return _table([{f.kind: n} | each for n in places], "lengths")
    boxes = "".join(f"<span class='box'>{n}</span>" for n in places)
    passes = [_esc(p.text(system) + mind) for p in workshop.ticked(r, system)]
    found = [{"step": step, "fastener": boxes} for step in passes]
    return _table(found, "wide", ("step", "fastener"), head=False)


# --------------------------------------------------------------------------- what stands behind
def _behind(paper: Paper, system: str) -> list[str]:
    r = paper.report
    columns, cells = grid(r, system)
    cells = [{k: v if k == "limit" else _bound(v) for k, v in row.items()} for row in cells]
    mapped = pictures.clamp_map(r, system)
    head = "<div class='keep'><h2>Where the clamp lies on the deck</h2>"
    return [
        *([f"{head}{mapped}</div>"] if mapped else []),
        "<div class='two'>",
        f"<div><h2>Does the seal keep the gas in?</h2>{pictures.sealing(r, system)}</div>",
        f"<div><h2>Joint of one bore</h2>{pictures.joint(r, system)}</div></div>",
        f"<h2>Hot and cold: margin of every limit in {len(columns)} states</h2>",
        _table(cells, "wide grid"),
        "<p class='small'>A star marks the least of a line; in a state left empty it is not looked "
        "at, since another one is worse or it does not arise.</p>",
        f"<div class='keep'>{_group(LEAK, paper.leak_rows(system))}</div>",
    ]


# --------------------------------------------------------------------------- appendix
def _appendix(paper: Paper, system: str) -> list[str]:
    r = paper.report
    sources: dict[str, int] = {}
    limits = []
    for row in rows(r, system):
        said = f"{row['source']}. {row['note']}" if row["note"] else row["source"]
        mark = sources.setdefault(said, len(sources) + 1)
        limits.append(
            {
                "limit": f"{row['limit']} ({row['state']})",
                "needs": row["needs"],
                "has": row["has"],
                "margin": row["margin"],
                "with the two other choices that move it most": row["band"],
                "verdict": row["holds"],
                "number is": f"{row['status']} [{mark}]",
            }
        )
    ranked = [
        dict(zip(("gasket", "margin", "verdict", "why", "strength", "fails first"), row.values(),
                 strict=True))
        for row in paper.ranking_rows(system)
    ]  # fmt: skip
    tie = f"{paper.tie} " if paper.tie else ""
    out = [
        f"<p>{_esc(r.verdict(system))}</p>",
        f"<h2>Limits, weakest first</h2>{_table(limits, 'wide')}",
        "<p class='small'>" + "; ".join(f"[{n}] {_esc(t)}" for t, n in sources.items()) + "</p>",
        _group(ORDER, order_rows(r, system)),
        f"<h2>{_esc(ranking.title(r.build))}</h2>{_table(ranked, 'wide')}",
        f"<p class='small'>{_esc(tie)}{_esc(SCOPE)}</p>",
    ]
    groups = [*facts(r, system), *workshop.facts(r, system)]
    out += [_group(x.title, x.rows) for x in groups if x.key != "ring"]
    lists = {"Worth knowing": [w.text(system) for w in paper.notes], "Cautions": CAUTIONS}
    for title, items in lists.items():
        if items:
            out += [f"<h2>{title}</h2><ul>", *(f"<li>{_esc(x)}</li>" for x in items), "</ul>"]
    return [*out, f"<h2>The sheet</h2><pre class='small'>{_esc(paper.sheet.dumps())}</pre>"]


def save(found: Report | Specification, folder: str | Path = ".") -> tuple[Path, Path]:
    """Write the build sheet and the page of a report or a specification; the paths of the two.

    Raises InputError if they cannot be written there.
    """
    paper = paper_of(found)
    sheet = paper.sheet.save(Path(folder) / "specification.toml")
    path = sheet.with_name("specification-report.html")
    write_whole(path, page(paper, paper.sheet.system).encode("utf-8"))
    return sheet, path
