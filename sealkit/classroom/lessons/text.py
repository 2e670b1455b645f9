"""What a lesson says, as data: a file of texts beside its module, with figures in the braces.

    name = "springs"                       # of its `Scene`, as all up to `checks`
    words = "Joint diagram: tension and clamp of one fastener against its stretch"
    scope = "one bore at this crank angle, low preload"
    guess = { curve = "gas peak", of = "most", kind = "force", hides = ["takes"] }
    checks.stiffness = ["J4-kb", "J4-km", "J8-C"]           # topic -> rows of `sealkit.checks`
    tables = ["states", "stiffness"]       # of those below, those on the panel
    tiles = [["clamp left on one bore", "force: now.clamp", "clamped"]]   # last: good, bad or None

    [text]                                 # the verdict's, and others
    said = "The gas load is {force: now.gas}; faces within {0.05 mm}."
    number = "{fraction, 0: share}"
    line = "of {force: now.gas} gas load go to the fasteners; {rest}"
    question = "How hard does it pull then?"

    [stiffness]
    caption = "The springs"
    heads = ["what", "value"]              # these, if left out
    rows = [["stiffness of one fastener", "stiffness: springs.fastener"]]

    [states]
    caption = "Who carries the gas load"
    each = "states"                        # what its rows are made of
    [states.columns]
    "one bore" = "{case}"
    "lift" = "lift: max(state.lift, 0)"

Formulas name what the lesson hands over, mostly its locals (`word` and `good` are the verdict);
those of columns also the `row`, or what it holds where it is a mapping. A figure has the form that
exercises have (see `sealkit.classroom.homework.questions`): "kind[, decimals]: formula". Anything
else is a text: its braces hold such a figure, a formula of a text, or a metric quantity. A tile or
a row with a figure that comes to None is left out;
`{ each = "zones", has = ["{row.name}", "length: row.thickness"] }` stands for many.
"""

from __future__ import annotations

import functools
import string
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from sealkit.classroom.drawing.shown import Shown, cells, html_table, plain_table
from sealkit.classroom.homework.formulas import evaluate
from sealkit.classroom.homework.questions import Figure, figure_of
from sealkit.classroom.panel.scene import Guess, Rows, Scene, Sentence, Tile
from sealkit.resources import beside
from sealkit.units import KINDS
from sealkit.words import Note

Names = dict[str, Any]


@functools.cache
def parts(template: str) -> tuple[tuple[str, str], ...]:
    """Words of a template with what stands in the braces behind them, as a figure tells it."""
    return tuple(
        (words, f"{name}:{formula}" if formula else name or "")
        for words, name, formula, _ in string.Formatter().parse(template)
    )


def told(template: str, names: Mapping[str, Any]) -> Note:
    """A text with the figures that its braces name."""
    words, values = "", []
    for said, inside in parts(template):
        words += said
        if inside and not inside[0].isdigit():
            values.append(figure_of(inside if ":" in inside else f"text: {inside}", names))
            inside = f"{len(values)}"
        if inside:
            words += f"{{{inside}}}"
    return Note(words, tuple((f"{i}", value) for i, value in enumerate(values, 1)))


@functools.cache
def is_figure(said: str) -> bool:
    """Whether a cell is a figure, not a text."""
    kind = said.partition(":")[0].partition(", ")[0]
    return ":" in said and (kind in KINDS or kind == "text" or kind.startswith("("))


def _cell(said: str, names: Names) -> Figure | None:
    return figure_of(said, names) if is_figure(said) else told(said, names)


class Text:
    """The texts of one lesson; `module` is the file of its module."""

    def __init__(self, module: str) -> None:
        self.data = beside(module)
        self.checks: Mapping[str, list[str]] = self.data["checks"]

    # ------------------------------------------------------------------ the panel
    def scene(
        self,
        names: Callable[[Any], Names],
        behind: Callable[[Any], Names] = lambda _: {},
        **parts: Any,
    ) -> Scene:
        """The scene of these texts.

        Parameters
        ----------
        names : result -> what the formulas may name
        behind : result -> what those of the tables name beside
        parts : further parts of `Scene`
        """
        last: list[Any] = [None, {}]

        def known(result: Any) -> Names:
            if last[0] is not result:
                last[:] = result, names(result)
            return dict(last[1])

        def asks(key: str) -> Callable[[Any], Note]:
            return lambda result: self.note(key, known(result))

        made: dict[str, Any] = {
            "sentence": lambda result, system: self.sentence(known(result), system),
            "tables": lambda r, system: self.tables(known(r) | behind(r), system),
            "tiles": lambda result: self.tiles(known(result)),
        }
        if guess := dict(self.data.get("guess", {})):
            kind = guess["kind"]
            if kind not in KINDS:
                guess["kind"] = lambda result: evaluate(kind, known(result))
            why = asks("why") if "why" in self.data["text"] else None
            made["guess"] = Guess(asks("question"), **guess, why=why)
        plain = {k: self.data[k] for k in _PLAIN if k in self.data}
        return Scene(**plain, **made | parts)

    def sentence(self, names: Names, system: str) -> Sentence:
        """The verdict."""
        texts = self.data["text"]
        said, number, line = (
            told(texts.get(key, ""), names).text(system) for key in ("said", "number", "line")
        )
        return Sentence(names["word"], said, names["good"], number, line)

    def tiles(self, names: Names) -> list[Tile]:
        """What stands above the charts."""
        made = [
            (told(words, known).text(), _cell(figure, known), *(evaluate(g, known) for g in good))
            for (words, figure, *good), known in _entries(self.data["tiles"], names)
        ]
        return [(words, f, *(good or (None,))) for words, f, *good in made if f is not None]

    def tables(self, names: Names, system: str) -> dict[str, Rows]:
        """The tables of the panel, by caption."""
        keys = self.data["tables"]
        return dict(one for key in keys for one in self.table(key, names, system).items())

    # ------------------------------------------------------------------ by name
    def note(self, key: str, names: Mapping[str, Any], holds: bool = True) -> Note:
        """The text of this name; nothing where it does not hold."""
        return told(self.data["text"][key], names) if holds else Note("")

    def table(self, key: str, names: Names, system: str) -> dict[str, Rows]:
        """The table of this name, by caption."""
        caption = told(self.data[key]["caption"], names).text(system)
        return {caption: cells(self.rows(key, names), system)}

    def shown(self, key: str, names: Names, system: str = "metric") -> Shown:
        """The same for a cell."""
        ((caption, rows),) = self.table(key, names, system).items()
        return Shown(html_table(caption, rows), plain_table(rows))

    def rows(self, key: str, names: Names) -> list[dict[str, Figure]]:
        """Its rows as figures."""
        return _rows(self._named(key), names)

    def _named(self, key: str) -> dict[str, Any]:
        """A table by its name; one that is `like` another has its columns and more."""
        one = dict(self.data[key])
        if "like" in one:
            base = self._named(one["like"])
            one = base | one | {"columns": base["columns"] | one.get("columns", {})}
        return one


_PLAIN = ("name", "words", "scope", "fitted", "runs", "play")


def _each(every: str, names: Names) -> Iterator[Names]:
    """What may be named of each row."""
    for row in evaluate(every, names):
        yield names | (dict(row) if isinstance(row, Mapping) else {"row": row})


def _entries(entries: Iterable[Any], names: Names) -> Iterator[tuple[list[str], Names]]:
    """Entries of a list, those that stand for many one by one, each with what it may name."""
    for one in entries:
        if isinstance(one, Mapping):
            yield from ((one["has"], known) for known in _each(one["each"], names))
        else:
            yield one, names


def _rows(one: Mapping[str, Any], names: Names) -> list[dict[str, Figure]]:
    if "each" in one:
        made = [
            {told(head, names).text(): _cell(c, known) for head, c in one["columns"].items()}
            for known in _each(one["each"], names)
        ]
    else:
        heads = [told(h, names).text() for h in one.get("heads", ("what", "value"))]
        found = ([_cell(c, n) for c in row] for row, n in _entries(one["rows"], names))
        made = [dict(zip(heads, row, strict=True)) for row in found]
    return [row for row in made if None not in row.values()]  # type: ignore[misc]


def joined(parts: Iterable[Note]) -> Note:
    """Sentences as one."""
    values = tuple((f"{i}", part) for i, part in enumerate(parts))
    return Note(" ".join(f"{{{name}}}" for name, _ in values), values)
