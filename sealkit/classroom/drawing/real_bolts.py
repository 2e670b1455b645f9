"""Lesson 12's printed tests of real bolts: every bolt, and the fit to them."""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import Any

from sealkit.classroom.drawing.shown import Shown, cells, html_table, plain_table
from sealkit.drawing import readings
from sealkit.evidence.bolts import Tested, tested
from sealkit.words import Note, note

_OF_BOLTS = (
    "bolts",
    "mean preload, tests",
    "mean preload by the sheet",
    "mean preload by the fit",
    "nut factor, tests",
    "nut factor by the fit",
    "friction by the sheet",
    "friction by the fit",
    "standard deviation over mean, tests",
    "preload up or down by the sheet",
    "preload of the next bolt up or down by the fit",
)


def bolts(system: str = "metric") -> Shown:
    """Printed tests of real bolts, what sheet and fit make of them, and what does not match."""
    columns: dict[str, Sequence[Any]] = {"what": _OF_BOLTS}
    for t in tested():
        known = (t.known(f"fasteners.{x}") for x in ("friction_thread", "preload_scatter"))
        (friction, wide), (share, half) = known
        columns[t.state] = [
            str(len(t.rows)),
            (t.sample.mean, "force"),
            (t.before, "force"),
            note(
                "{mid} ± {wide} {mark}",
                mid=(t.after, "force"),
                wide=(t.half, "force"),
                mark="✓" if abs(t.short) <= t.half else "✗",
            ),
            f"{t.nut_factor(t.sample.mean):.3f}",
            "{:.3f} ± {:.3f}".format(*t.factor),
            f"{t.handbook.thread:.2f}",
            f"{friction:.3f} ± {wide:.3f}",
            (t.sample.deviation / t.sample.mean, "fraction", 1),
            (t.scatter, "fraction", 0),
            note("{mid} ± {wide}", mid=(share, "fraction", 0), wide=(half, "fraction", 0)),
        ]
    rows = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
    made = cells(rows, system)
    source = "; ".join(dict.fromkeys(f"{t.rows[0]['source']} ({t.status})" for t in tested()))
    drawn = "".join(
        f"<div style='flex:1 1 20rem'><b>{html.escape(t.state)}</b>"
        f"{readings.of_kind(t.readings, t.found.build, t.found.after, system)}</div>"
        for t in tested()
    )
    told = [words.text(system) for words in _unlike(*tested())]
    items = "".join(f"<li>{html.escape(words)}</li>" for words in told)
    return Shown(
        f"<div style='display:flex;flex-wrap:wrap;gap:1rem'>{drawn}</div>"
        + html_table("Real bolts, and the fit; ± two standard deviations, ✓: the mean is in", made)
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
