"""Builds side by side: what is different on their sheets, and what that does to each limit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import build as sheets
from sealkit.analysis.margins import Limit
from sealkit.build import Build, readable, row_values
from sealkit.errors import fail
from sealkit.report import record
from sealkit.report.record import Entry, Rows, figure, shown
from sealkit.report.result import Report, outcome_words, percent, run
from sealkit.report.tables import first_words, measured
from sealkit.sealing.limit import Outcome
from sealkit.units import KINDS, show, show_value

NAME = "sealkit comparison"
LETTERS = "ABC"
_TURNED = {
    Outcome.HOLDS: "now holds",
    Outcome.CLOSE: "NOW TOO CLOSE TO CALL",
    Outcome.FAILS: "NOW FAILS",
}
_FEW = 3  # rows that are told one by one
_TOLD = ("sheet.name", "sheet.note", "sheet.customer", "sheet.wish")  # no matter for the joint


@dataclass(frozen=True)
class Change:
    """A field that is not the same on all sheets."""

    # path, kind, help: its place on the sheet, kind of quantity and what it is
    path: str
    kind: str
    help: str
    values: tuple[Any, ...]  # plain values
    stated: tuple[bool, ...]  # whether each sheet gives it itself

    def texts(self, system: str = "metric") -> list[str]:
        """The values in the units of the shop, with as many decimals as they and their steps take.

        What a sheet leaves out stands with what is taken for it.
        """
        for more in range(6):
            texts, near = zip(*(self._text(v, system, more) for v in self.values), strict=True)
            if len(set(texts)) > 1 and all(near):
                break
        return [
            text if given else f"left out ({text} taken)" if text else "left out"
            for text, given in zip(texts, self.stated, strict=True)
        ]

    def _text(self, value: Any, system: str, more: int) -> tuple[str, bool]:
        """A value with so many decimals more, and whether that tells it to half a percent."""
        if value is None or value == () or value == "":
            return "", True
        if self.kind in KINDS and KINDS[self.kind].si:
            number = float(show_value(value, self.kind, system))
            places = max(getattr(KINDS[self.kind], system)[1], 0) + more
            near = abs(round(number, places) - number) <= 0.005 * abs(number)
            return show(value, self.kind, system, places if more else None), near
        if isinstance(value, tuple):
            return self._list(value, system), True
        return (f"{value:.{4 + more}g}" if isinstance(value, float) else str(value)), True

    def _list(self, value: tuple[Any, ...], system: str) -> str:
        """How many rows or places, and those that are not on all sheets where they are few."""
        own = [row for row in value if not all(row in (other or ()) for other in self.values)]
        few = "; ".join(self._row(row, system) for row in own)
        if len(own) == len(value) <= _FEW:
            return few
        more = few if len(own) <= _FEW else f"{len(own)} of them not on all sheets"
        return f"{len(value)}{f': {more}' if own and all(self.values) else ''}"

    def _row(self, row: Any, system: str) -> str:
        if self.kind != "rows":
            return " ".join(readable(row, "place", system))
        cells = ((k, readable(v, kind, system)) for k, kind, v in row_values(self.path, row))
        told = ((k, " ".join(v) if isinstance(v, list) else v) for k, v in cells)
        return ", ".join(f"{k} {v}" for k, v in told)


@dataclass(frozen=True)
class Comparison:
    """Two or three reports side by side; the first is what the others are compared with."""

    reports: tuple[Report, ...]
    files: tuple[str, ...] = ()

    @property
    def names(self) -> list[str]:
        """Name of each build, with that of its file where one name stands for two of them."""
        names = [r.build.sheet.name for r in self.reports]
        if len(set(names)) == len(names) or not self.files:
            return names
        return [f"{name} ({file})" for name, file in zip(names, self.files, strict=True)]

    @property
    def changes(self) -> list[Change]:
        """What is different on the sheets, in the order of the sheet."""
        out = []
        for path, spec in sheets.fields():
            if path in _TOLD:
                continue
            values = tuple(_plain(r.build.get(path)) for r in self.reports)
            stated = tuple(r.build.states(path) for r in self.reports)
            # one that no sheet gives differs because of another that stands here
            if any(stated) and any(v != values[0] for v in values):
                out.append(Change(path, spec.kind, spec.help, values, stated))
        return out

    @property
    def limits(self) -> list[tuple[Limit | None, ...]]:
        """Every limit of any of them, None where a build has it not; most moved first."""
        every = [{r.key: r for r in one.banded} for one in self.reports]
        keys = dict.fromkeys(key for limits in every for key in limits)
        rows = [tuple(limits.get(key) for limits in every) for key in keys]
        return sorted(rows, key=lambda row: -_moved(row))

    def change_rows(self, system: str = "metric") -> list[dict[str, str]]:
        """What is different on the sheets, as text; what is measured with how well it is known."""
        own = [dict(measured(r.build, system)) for r in self.reports]
        words = {c.path: c.texts(system) for c in self.changes}
        if "evidence.known" in words:  # told at each field, also where that is the same in all
            del words["evidence.known"]
            for path in dict.fromkeys(path for x in own for path in x):
                words.setdefault(path, ["not measured"] * len(own))
        return [
            {"on the sheet": path}
            | {k: x.get(path, t) for k, x, t in zip(LETTERS, own, texts, strict=False)}
            for path, texts in words.items()
        ]

    def figure_rows(self, system: str = "metric") -> list[dict[str, str]]:
        """Verdict, pressures and clamp of each, as text."""
        told: dict[str, Callable[[Report], str]] = {
            "verdict": lambda r: r.standing(system),
            "design peak": lambda r: shown(r, "pressure.design_peak", system),
            "gives first": lambda r: first_words(r, system),
            "most boost": lambda r: r.boost_words(system)[0],
            "clamp over gas force, low": lambda r: f"{figure(r, 'joint.over_gas_low'):.2f}",
            "knock integral, mean cycle": lambda r: f"{figure(r, 'pressure.knock_integral'):.2f}",
            "power, an estimate": lambda r: shown(r, "pressure.power", system),
        }
        return [
            {"": what} | dict(zip(LETTERS, map(get, self.reports), strict=False))
            for what, get in told.items()
        ]

    def limit_rows(self, system: str = "metric") -> list[dict[str, str]]:
        """Margin of every limit in each build and what it moved by, as text; most moved first."""
        out = []
        for row in self.limits:
            titles = dict.fromkeys(x.title.text(system) for x in row if x is not None)
            told = {"limit": " / ".join(titles)}
            for letter, x in zip(LETTERS, row, strict=False):
                told[letter] = "not there"
                if x is not None:
                    told[letter] = f"{percent(float(x.margin))}, {outcome_words(x.outcome)}"
            for letter, x in zip(LETTERS[1:], row[1:], strict=False):
                told[f"{letter} less A"] = _step(row[0], x)
            out.append(told)
        return out

    def tables(self, system: str = "metric") -> dict[str, list[dict[str, str]]]:
        """All of it by title, as text."""
        changes = self.change_rows(system)
        return {
            "Side by side": self.figure_rows(system),
            "What is different on the sheets": changes or [{"on the sheet": "nothing"}],
            "What that does to each limit, most moved first": self.limit_rows(system),
        }

    def to_dict(self) -> dict[str, Any]:
        """The comparison as JSON takes it."""
        return record.told(TABLE, self)


def _plain(value: Any) -> Any:
    """A value that compares: SI numbers, texts, tuples."""
    value = getattr(value, "magnitude", value)
    if isinstance(value, np.ndarray):
        return tuple(map(tuple, value.tolist()))
    # a value of a sheet written in inches differs from the same in metric in the last figure
    return float(f"{value:.12g}") if isinstance(value, float) else value


def _moved(row: Sequence[Limit | None]) -> float:
    """How much of a limit's margin is gained or lost; less than nothing where one has it not."""
    if any(x is None for x in row):
        return -1.0
    margins = [min(float(x.margin), 10.0) for x in row if x is not None]
    return max(abs(m - margins[0]) for m in margins)


def _step(first: Limit | None, other: Limit | None) -> str:
    """What a margin moved by, in points of a percentage."""
    if first is None or other is None:
        return ""
    before, after = (min(float(x.margin), 10.0) for x in (first, other))
    points = 100.0 * (after - before)
    word = f"{points:+.{1 if abs(points) < 10 else 0}f} points" if abs(points) >= 0.05 else ""
    turned = _TURNED[other.outcome] if first.outcome is not other.outcome else ""
    return ": ".join(filter(None, (word, turned)))


def compare(builds: Sequence[Build], deck: bool = True, files: Sequence[str] = ()) -> Comparison:
    """Two or three builds side by side.

    Raises InputError for less than two or more than three builds, or one that cannot be worked out.
    The others are compared with the first; `files` tell builds of one name apart.
    """
    if not 2 <= len(builds) <= len(LETTERS):
        raise fail("builds", f"{len(builds)} of them", "two or three")
    mapped = deck and all(b.deck is not None for b in builds)
    return Comparison(tuple(run(b, deck=mapped) for b in builds), tuple(files))


TABLE: dict[str, Any] = {
    "schema": Entry("text", "name of this form", lambda c: NAME, (NAME,)),
    "version": Entry("whole", "version of this form", lambda c: record.VERSION, (record.VERSION,)),
    "changes": Rows(
        "what is different on the sheets",
        {
            **record.entries("change"),
            "values": Rows(
                "of each build", Entry("text", "value", str), lambda c: c.texts("metric")
            ),
        },
        "changes"
    ),
    "limits": Rows(
        "every limit, what moves most first",
        {
            "key": Entry("text", "name that stays the same",
                         lambda row: next(x for x in row if x is not None).key),
            "margins": Rows(
                "of each build; null where it has no such limit, or nothing is asked of it",
                Entry("number", "capacity / demand - 1", lambda x: x and x.margin, null=True),
                lambda row: row
            ),
        },
        "limits"
    ),
    "reports": Rows("the whole report of each", record.TABLE, "reports"),
}  # fmt: skip
