"""Lesson 12's printed tests of real bolts: every bolt, and the fit to them."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sealkit.classroom.drawing.shown import Shown, cells, html_table, plain_table
from sealkit.drawing import readings
from sealkit.evidence.bolts import Tested, tested
from sealkit.words import Note, note


def _give(mid: Any, wide: Any, *kind: Any) -> Note:
    return note("{mid} ± {wide}", mid=(mid, *kind), wide=(wide, *kind))


_ROWS: Mapping[str, Callable[[Tested], Any]] = {
    "bolts": lambda t: str(len(t.rows)),
    "mean preload, tests": lambda t: (t.sample.mean, "force"),
    "mean preload by the sheet": lambda t: (t.mean.before, "force"),
    "mean preload by the fit": lambda t: _give(t.mean.after, t.half, "force"),
    "is that of the tests within?": lambda t: "✓" if abs(t.short) <= t.half else "✗",
    "nut factor, tests": lambda t: f"{t.nut_factor(t.sample.mean):.3f}",
    "nut factor by the fit": lambda t: _give(*t.factor, "number", 3),
    "friction by the sheet": lambda t: f"{t.moved['friction_thread'].before:.2f}",
    "friction by the fit": lambda t: _give(*t.moved["friction_thread"][3:5], "number", 3),
    "standard deviation over mean, tests": lambda t: (
        t.sample.deviation / t.sample.mean,
        "fraction",
        1,
    ),
    "preload up or down by the sheet": lambda t: (t.moved["preload_scatter"].before, "fraction", 0),
    "preload of the next bolt up or down by the fit": lambda t: _give(
        *t.moved["preload_scatter"][3:5], "fraction", 0
    ),
}


def bolts(system: str = "metric") -> Shown:
    """Printed tests of real bolts, what sheet and fit make of them, and what does not match."""
    states = {t.row["state"]: t for t in tested()}
    rows = (
        {"what": what} | {state: of(t) for state, t in states.items()} for what, of in _ROWS.items()
    )
    made = cells(rows, system)
    source = "; ".join(f"{t.row['source']} ({t.row['status']})" for t in states.values())
    drawn = "".join(
        f"<div style='flex:1 1 20rem'><b>{html.escape(state)}</b>"
        f"{readings.of_kind(t.found.rows[0], t.found.build, t.found.after, system)}</div>"
        for state, t in states.items()
    )
    told = [words.text(system) for words in _unlike(*states.values())]
    items = "".join(f"<li>{html.escape(words)}</li>" for words in told)
    return Shown(
        f"<div style='display:flex;flex-wrap:wrap;gap:1rem'>{drawn}</div>"
        + html_table("Real bolts, and the fit; ± two standard deviations", made)
        + f"<p><b>What did not match</b></p><ul>{items}</ul>"
        f"<p style='font-size:13px'>{html.escape(source)}</p>",
        "\n".join([plain_table(made), "", "What did not match", *told, "", source]),
    )


def _unlike(dry: Tested, oiled: Tested) -> Sequence[Note]:
    """What the tests and their sheets do not agree in."""
    (low, below), (high, above) = dry.farthest, oiled.farthest
    return (
        note(
            "Both states have the same mean, {a} and {b}, a nut factor of {ours}. The book's own "
            "table has {dry} for dry and {oiled} for lubricated bolts: neither is theirs. Which "
            "lubricant it was is not printed.",
            a=(dry.sample.mean, "force"),
            b=(oiled.sample.mean, "force"),
            ours=f"{dry.nut_factor(dry.sample.mean):.2f}",
            dry=f"{dry.handbook.nut_factor:.2f}",
            oiled=f"{oiled.handbook.nut_factor:.2f}",
        ),
        note(
            "The fit stops {a} below the unlubricated mean and {b} above the lubricated one: what "
            "the sheet's lubricant may have for friction still counts.",
            a=(-dry.short, "force"),
            b=(oiled.short, "force"),
        ),
        note(
            "Thread and bearing face are moved as one. The size of that face is not printed and "
            "invented here, so the nut factor is these bolts', the friction is not."
        ),
        note(
            "Furthest from their mean stand {low} unlubricated, by {below} standard deviations, "
            "and {high} lubricated, by {above}: none lies outside, but two of the lubricated "
            "stand well above the rest, and the fit takes them as normal.",
            low=(low, "force"),
            below=f"{below:.1f}",
            high=(high, "force"),
            above=f"{above:.1f}",
        ),
    )
