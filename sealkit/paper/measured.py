"""What a fit to measurements found, as text."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from sealkit.analysis import scatter_of
from sealkit.evidence import Fit, Next
from sealkit.evidence.fitting import SCATTER
from sealkit.evidence.trace import CylinderPressure
from sealkit.paper.text import columns, side_by_side
from sealkit.report.comparison import Comparison
from sealkit.report.tables import known_words, places_of
from sealkit.units import show
from sealkit.words import figure_text

_WIDE = 96


def fitted(found: Fit, made: Comparison, following: Sequence[Next], system: str = "metric") -> str:
    """What moved, how far, what the evidence cannot tell, the verdict before and after, what next.

    Parameters
    ----------
    found : the fit
    made : the sheet before and after, side by side
    following : what to measure next, the best first
    """
    out = ["What was measured, and how far off it was", *columns(_misfits(found))]
    if not all(m.fits for m in found.misfits):
        told = "What does not fit is at odds with the rest, with the sheet or with the model. What "
        told += "it tells is taken as less sure, by that much. Look at it before you trust the fit."
        out += textwrap.wrap(told, _WIDE)
    for log in (e for e in found.evidence if isinstance(e, CylinderPressure)):
        said = [*log.log.notes, *(f.text.text(system) for f in log.look(found.build).findings)]
        out += [x for words in said for x in textwrap.wrap(f"{log.log.name}: {words}.", _WIDE)]
    for row, says, off in found.odd:
        told = f"{row.place}, {row.said}: {off:.1f} standard deviations from all else"
        if kind := str(row.row["value"]):
            places = places_of(2.0 * row.deviation, kind, system)
            told += f"; the fitted sheet says {show(says, kind, system, places)}"
        out += textwrap.wrap(f"{told}.", _WIDE)
    for row, often in found.equal:
        told = f"{row.place}, {row.said}: stands {often} times and counts as {often} readings. Is "
        told += "each of its own?"
        out += textwrap.wrap(told, _WIDE)
    out += ["", "What it tells, with two standard deviations"]
    out += columns(_moved(found, system)) if found.moved else ["  nothing that was not known"]
    for told, which in (
        ("Moved along with others, and no better known than before", found.along),
        ("It cannot tell, so these stay as they were", found.untold),
    ):
        if which:
            names = "; ".join(p.name for p in which)
            out += textwrap.wrap(f"{told}: {names}.", _WIDE)
    for first, z in found.far:
        told = f"Far off: {first.name} came out {abs(z):.1f} standard deviations from what was "
        told += "taken. Look at the readings that tell of it, and at the sheet."
        out += textwrap.wrap(told, _WIDE)
    for first, other, by in found.tied:
        told = f"Known together only: {first.name} with {other.name} (correlation {by:+.2f})."
        out += textwrap.wrap(told, _WIDE)
    head = "What to measure next: by how much it narrows the margin of what decides "
    head += f"({made.reports[-1].decides.title.text(system)}), most per hour first"
    out += ["", side_by_side(made, system), "", *textwrap.wrap(head, _WIDE)]
    if not following:
        return "\n".join([*out, "  nothing known here would narrow what the verdict hangs on"])
    for place, one in enumerate(following, start=1):
        out += textwrap.wrap(_next(one, system), _WIDE, initial_indent=f"{place:>3}. ",
                             subsequent_indent="     ")  # fmt: skip
    return "\n".join(out)


def _misfits(found: Fit) -> list[dict[str, str]]:
    return [
        {
            "kind": m.kind,
            "values": str(m.count),
            "off before": f"{(m.before / m.count) ** 0.5:.1f} standard deviations",
            "after": f"{(m.after / m.count) ** 0.5:.1f}",
            "worst": f"{m.worst:.1f}",
            "against all else": f"{(m.against / m.count) ** 0.5:.1f}",
            "": "fits" if m.fits else "DOES NOT FIT",
        }
        for m in found.misfits
    ]


def _moved(found: Fit, system: str) -> list[dict[str, str]]:
    out = []
    for i in found.moved:
        one, wide = found.parameters[i], float(found.deviation[i])
        for path, value in one.numbers(found.z[i]).items():
            step = one.step[path]
            out.append(
                {
                    "field": path,
                    "before": known_words(one.middle[path], 2.0 * step, path, system),
                    "after": known_words(float(value), 2.0 * step * wide, path, system),
                    "told by": ", ".join(found.told_by(i)),
                }
            )
    if found.scatter is not None:
        value, half, source = found.scatter
        before = show(scatter_of(found.build)[0], "fraction", system)
        after = known_words(value, half, SCATTER, system)
        out.append({"field": SCATTER, "before": before, "after": after, "told by": source})
    return out


def _next(one: Next, system: str) -> str:
    row = one.row
    at = ""
    if one.at is not None:
        at = f" at {show(one.at, str(row['at']), system)}"
    hours = row["time"] / 3600.0
    words = (
        f"{row['kind']}{at}: {100 * one.narrows:.0f} % narrower, in about {hours:g} h "
        f"(hours {row['status']}). {figure_text(row['how'], system)}"
    )
    return f"{words} Caution: {row['cautions']}" if row["cautions"] else words
