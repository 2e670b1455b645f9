"""What a fit to measurements found: as text, as a page to print, and as JSON."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sealkit.build import Reading
from sealkit.drawing import readings
from sealkit.evidence import Fit, Next
from sealkit.evidence.fitting import GAIN, YIELDED, Misfit, Moved
from sealkit.evidence.trace import CylinderPressure
from sealkit.paper.page import Part, compared
from sealkit.paper.text import columns, side_by_side
from sealkit.report import comparison, record
from sealkit.report.band import alternatives
from sealkit.report.comparison import Comparison
from sealkit.report.record import Entry, entries
from sealkit.report.record import Rows as Many
from sealkit.report.tables import known_words, places_of
from sealkit.resources import beside
from sealkit.units import KINDS, show
from sealkit.words import figure_text

NAME = "sealkit fit"
_WIDE = 96
_WORDS: dict[str, str] = beside(__file__)


@dataclass(frozen=True)
class Fitted:
    """A fit with what follows from it.

    Parameters
    ----------
    found : the fit
    made : the sheet before and after, side by side
    following : what to measure next, the best first
    """

    found: Fit
    made: Comparison
    following: Sequence[Next]

    def text(self, system: str = "metric") -> str:
        """What moved, how far, what the evidence cannot tell, the verdict before and after."""
        *parts, last = self._parts(system)
        out: list[str] = []
        for part in parts:
            out += [part.title, *(columns(part.rows) if part.rows else [])]
            out += [line for words in part.words for line in textwrap.wrap(words, _WIDE)]
            out.append("")
        out += textwrap.wrap(last.title, _WIDE)
        for place, words in enumerate(last.words):
            first, others = (f"{place:>3}. ", "     ") if place else ("", "")
            out += textwrap.wrap(words, _WIDE, initial_indent=first, subsequent_indent=others)
        beside = ["", side_by_side(self.made, system)] if self.found.evidence else []
        return "\n".join([*out, *beside])

    def page(self, system: str = "metric") -> str:
        """The same as one page to print (HTML), with every reading and what is left of it."""
        if not self.found.evidence:
            return compared(self.made, system, self._parts(system))
        *first, second, third = self._parts(system)
        pictures = readings.pictures(self.found, system)
        each = Part("Every reading beside the sheet", self._readings(system), (), pictures)
        return compared(self.made, system, (*first, each, second, third))

    def to_dict(self) -> dict[str, Any]:
        """The same as JSON takes it (`TABLE`)."""
        return record.told(TABLE, self)

    @property
    def logs(self) -> list[CylinderPressure]:
        """Its cylinder-pressure logs."""
        return [one for one in self.found.evidence if isinstance(one, CylinderPressure)]

    def _parts(self, system: str) -> tuple[Part, ...]:
        found, decides = self.found, self.made.reports[-1].decides.title.text(system)
        moved = [_moved(one, system) for one in found.told]
        following = [_next(one, system) for one in self.following]
        said = _WORDS["narrows" if following else "nothing"]
        last = Part(_WORDS["next"].format(decides=decides), [], [said, *following])
        if not found.evidence:
            stands = [f"{self.made.reports[0].standing(system)}."]
            return Part("Nothing was measured yet; the verdict of the sheet", [], stands), last
        ends = zip(("before", "after"), self.made.reports, strict=True)
        stands = [f"{end}: {report.standing(system)}." for end, report in ends]
        yielded = f"{YIELDED.capitalize()}." * bool(found.yielded)
        return (
            Part(yielded or "The verdict, before the fit and after", [], stands),
            Part(
                "What was measured, and how far off it was",
                [_misfit(one) for one in found.misfits],
                list(self._at_odds(system)),
            ),
            Part(
                "What it tells, with two standard deviations",
                moved or [{"field": "nothing that was not known"}],
                list(self._untold(system)),
            ),
            last,
        )

    def _at_odds(self, system: str) -> Iterator[str]:
        """What is to be looked at before the fit is trusted."""
        found = self.found
        yield _said("against")
        yield from (_said("contrary", failed=failed, held=held) for failed, held in found.contrary)
        yield from (_said("outlier", row=row, others=others) for row, others in found.outliers)
        if not found.fits:
            yield _said("not_fit")
        for log in self.logs:
            said = [*log.log.notes, *(f.text.text(system) for f in log.look(found.build).findings)]
            yield from (f"{log.log.name}: {words}." for words in said)
        for read, off in found.odd:
            after = _reads(read.after, read.reading, system)
            fitted = _said("fitted", says=after) if after else ""
            yield _said("odd", row=read.reading, off=off, fitted=fitted)
        if found.mending:
            yield _said("mending", places=" or ".join(row.path for row in found.mending))
        yield from (_said("equal", row=row, often=often) for row, often in found.equal)

    def _untold(self, system: str) -> Iterator[str]:
        """What the evidence cannot tell."""
        found = self.found
        for key, which in (("along", found.along), ("untold", found.untold)):
            if which:
                yield _said(key, names="; ".join(p.name for p in which))
        own = {path for _, path, _ in alternatives(found.build)}
        more = dict.fromkeys(path for _, path, _ in alternatives(found.before) if path not in own)
        if fields := " and ".join(more):
            yield _said("before", fields=fields)
        yield from (_said("far", first=first, z=abs(z)) for first, z in found.far)
        yield from (_said("tied", first=one, other=other, by=by) for one, other, by in found.tied)
        for log, moved, worse in found.gain:
            now, then = (_value(x, moved.field, system) for x in (moved.before, moved.after))
            told = {"log": log, "gain": 100 * GAIN, "moved": moved, "worse": worse}
            yield _said("gain", now=now, then=then, **told)

    def _readings(self, system: str) -> list[dict[str, str]]:
        """Every reading, what the sheet says of it, and what is left."""
        out = []
        for n, one in enumerate(self.found.read, 1):
            row, at = one.reading, ""
            if row.at is not None:
                at = f" at {show(row.at, row.row['at'], system)}"
            out.append(
                {
                    "no.": str(n),
                    "reading": f"{row.kind}{at}",
                    "read": _reads(row.value, row, system),
                    "by the sheet": _reads(one.before, row, system),
                    "by the fit": _reads(one.after, row, system),
                    "off before, standard deviations": f"{one.off_before:+.1f}",
                    "after": f"{one.off_after:+.1f}",
                }
            )
        return out


def _reads(value: float | None, reading: Reading, system: str) -> str:
    """What a reading reads, or should; empty for a kind without a value.

    As fine as two figures of what it may be off, one figure of more than 3.5.
    """
    kind = str(reading.row["value"])
    if not kind or value is None:
        return ""
    return show(value, kind, system, places_of(2.0 * reading.deviation * 10 / 3.55, kind, system))


def _said(key: str, **told: Any) -> str:
    return _WORDS[key].format(**told)


def _value(value: float, path: str, system: str) -> str:
    """A field to about a hundredth of itself."""
    return known_words(value, 0.05 * abs(value) or 1.0, path, system).partition(" ± ")[0]


def _misfit(m: Misfit) -> dict[str, str]:
    return {
        "kind": m.kind,
        "values": str(m.count),
        "off before": f"{math.sqrt(m.before / m.count):.1f} standard deviations",
        "after": f"{math.sqrt(m.after / m.count):.1f}",
        "worst": f"{m.worst:.1f}",
        "against all else": f"{math.sqrt(m.against / m.count):.1f}",
        "fit": "fits" if m.fits else "DOES NOT FIT",
    }


def _moved(one: Moved, system: str) -> dict[str, str]:
    before = _value(one.before, one.field, system)
    if one.half_before:
        before = known_words(one.before, one.half_before, one.field, system)
    after = known_words(one.after, one.half_after, one.field, system)
    return {
        "field": one.field,
        "before": before,
        "after": after,
        "told by": one.by or "moves with others",
    }


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
    if one.expects is not None and one.ceiling is not None:
        model, top = (show(x, str(row["value"]), system) for x in (one.expects, one.ceiling))
        words += f" The model expects {model}; stop at {top}, the design peak pressure."
    return f"{words} Caution: {row['cautions']}" if row["cautions"] else words


def _left(told: tuple[Fitted, CylinderPressure]) -> list[tuple[float, float, float]]:
    """Angle, log less model by the sheet and by the fit."""
    one, log = told
    left = (log.left(build) for build in (one.found.build, one.found.after))
    return list(zip(log.angle, *left, strict=True))


_NAME = Entry("text", "its name", "name")
TABLE: dict[str, Any] = {
    "schema": Entry("text", "name of this form", lambda x: NAME, (NAME,)),
    "version": Entry("whole", "version of this form", lambda x: record.VERSION, (record.VERSION,)),
    "fits": Entry("flag", "whether all of the evidence fits together", "found.fits"),
    "yielded": Many("readings of fasteners that have yielded and are not to be used again",
                    Entry("text", "row on the sheet", "reading.path"), "found.yielded"),
    "evidence": Many("each kind of evidence", entries("misfit"), "found.misfits"),
    "readings": Many("each reading of the sheet", entries("read"), "found.read"),
    "logs": Many(
        "each cylinder-pressure log",
        {
            "name": Entry("text", "its file", "1.log.name"),
            "findings": Many(
                "what was found about it",
                Entry("text", "in words", "text.text()"),
                lambda x: x[1].look(x[0].found.build).findings,
            ),
            "left": Many(
                "log less model, its phase, zero and gain at their best",
                {
                    "angle": Entry("angle", "crank angle after firing top dead centre", "0"),
                    "before": Entry("pressure", "by the sheet", "1"),
                    "after": Entry("pressure", "by the fit", "2"),
                },
                _left,
            ),
        },
        lambda x: [(x, log) for log in x.logs],
    ),
    "at_odds": Many("readings without any one of which all else fits",
                    Entry("text", "row on the sheet", "path"), "found.mending"),
    "moved": Many("fields that were moved", entries("moved"), "found.told"),
    "along": Many("moved along, no better known than before", _NAME, "found.along"),
    "untold": Many("of which the evidence says nothing", _NAME, "found.untold"),
    "tied": Many(
        "pairs that are known together only",
        {
            "first": Entry("text", "its name", "0.name"),
            "second": Entry("text", "its name", "1.name"),
            "correlation": Entry("number", "of the two", "2"),
        },
        "found.tied",
    ),
    "next": Many(
        "what to measure next, most per hour first",
        {
            **entries("following"),
            "at": {
                "value": Entry("number", "what it is read at; null where nothing", "at", null=True),
                "unit": Entry("text", "of that", lambda x: KINDS[x.row["at"]].si if x.at else ""),
            },
            "time": {
                "value": Entry("number", "about how long it takes", "row.time"),
                "unit": Entry("text", "of that", lambda x: "s", ("s",)),
            },
        },
        "following",
    ),
    "builds": Many("before and after", comparison.TABLE, lambda x: [x.made]),
}  # fmt: skip
