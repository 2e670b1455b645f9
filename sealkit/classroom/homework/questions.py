"""One form of question, for the exercises of a lesson and for job cards: text as data, a solver.

The text stands in ``data/exercises/06.toml`` (``data/cards/06.toml``), one table a question::

    [[question]]
    key = "deeper"                      # the name of its solver
    kind = "line load"                  # of `sealkit.units.KINDS`, or "choice"
    digits = 2                          # figures asked for; 3 if left out
    unit = { metric = "N/mm", inch = "lbf/in" }    # or one text; the shop's unit if left out
    text = "The wire took {before} in a groove {depth} deep. What does it take {0.1 mm} deeper?"
    hint = "First say how far the wire stands proud now."
    worked = "{answer}. Bite is set by protrusion."
    answer = "now.line_load"            # a formula of what the solver has worked out
    [question.pitfalls]                 # those that `cards/pitfalls.toml` has need not stand here
    "in proportion" = "That takes load in proportion to protrusion."
    [question.wrong]                    # pitfall -> what it gives; the most important one first
    "in proportion" = "before * share"
    [question.figures]                  # name in braces -> kind[, decimals][: formula]
    before = "line load"                # the solver's own `before`
    depth = "length, 3: now.ring.groove_depth"

A choice has ``[question.options]`` instead: ``"text of the option" = ["name", "what to say where
it is chosen wrongly"]`` (the name alone where no pitfall leads there); its answer is the name of
the option that is right, or ``right`` has the text of an option that always is.

The lesson works out what the formulas name, and holds no sentence. A solver gives its locals; of
these `rows` is the table of the worked answer (column -> figure), and `wrong`, `figures`,
`options`, `kind` and `worked` (which of the words in a table ``[question.worked]``) add what
differs by engine::

    EXERCISES = Exercises("06")
    answer = EXERCISES.answer

    @EXERCISES.solver("deeper")
    def _(build: Build, system: str) -> Names:
        now, before = ring_of(build), ...
        rows = [{"ring": "as usual", "takes": (before, "line load")}]
        return locals()

On a card the formulas name the numbers of its engine; `sealkit.classroom.homework.formulas` tells
what else a formula may hold.

A figure (or a cell) is (plain SI number, kind[, decimals]), a `sealkit.words.Note` or plain text;
texts are filled in the shop's units. The kind "text" takes a text, a count or such a figure as it
is; a kind in brackets is a formula. ``{answer}`` (of a choice, its text) and ``{engine}`` (name of
the sheet) are there without being given, as is every metric quantity in braces. Exercises are
numbered in the order of the file. A pitfall that one engine cannot tell from the answer, or from a
pitfall named before it, is left out there.
"""

from __future__ import annotations

import functools
import html
import string
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from sealkit import resources
from sealkit.build import Build
from sealkit.classroom.drawing.card_chart import Chart
from sealkit.classroom.drawing.shown import Shown, cells, folded
from sealkit.classroom.homework.formulas import COMMON, evaluate, refused, worked_out, wrong_routes
from sealkit.classroom.homework.pitfalls import CHOICE, Pitfall, Question, with_pitfalls
from sealkit.drawing.ink import Curve
from sealkit.drawing.svg import COLOURS
from sealkit.errors import broken, fail
from sealkit.units import KINDS
from sealkit.words import Note

# plain SI number, kind of quantity, and decimals if not the shop's; a note; plain text
Figure = tuple[float, str] | tuple[float, str, int] | Note | str


@dataclass(frozen=True)
class Solved:
    """What a solver found."""

    value: Any  # the answer: plain SI number; of a choice the name (or text) of the right option
    # pitfall -> what it gives: plain SI number or option; the most important one first
    wrong: Mapping[str, Any] = field(default_factory=dict)
    # name -> figure that stands for it in the texts
    figures: Mapping[str, Figure] = field(default_factory=dict)
    # table of the worked answer: column -> figure, for each row
    rows: Sequence[Mapping[str, Figure]] = ()
    options: tuple[str, ...] = ()  # of a choice whose options depend on the engine
    kind: str = ""  # of a question whose kind depends on the engine
    chart: Chart | None = None  # to read the answer from
    worked: str = ""  # which words of the worked answer, where there are several


def figure_of(told: str, names: Mapping[str, Any], name: str = "") -> Figure | None:
    """A figure as the data tell it, "kind[, decimals][: formula]"; None where it comes to that."""
    what, _, formula = told.partition(":")
    kind, _, decimals = what.partition(", ")
    value = evaluate(formula.strip() or name, names)
    if value is None or isinstance(value, Note | tuple):
        return value
    if kind.startswith("("):
        kind = evaluate(kind, names)
    if kind != "text":
        return (float(value), kind, int(decimals)) if decimals else (float(value), kind)
    return f"{value:g}" if isinstance(value, float) else str(value)


def by_formulas(entry: Mapping[str, Any], found: Mapping[str, Any]) -> Solved:
    """What the formulas of an entry make of the names that its solver worked out, or of an engine.

    Raises InputError for a formula that cannot be worked out, or an engine that is unfit for the
    question.
    """
    names = worked_out(entry, {**COMMON, **found})
    refused(entry, names)
    figures: dict[str, Figure] = dict(found.get("figures", {}))
    for name, told in entry.get("figures", {}).items():
        figures[name] = figure_of(told, names, name) or ""
    return Solved(
        names["answer"],
        {**wrong_routes(entry, names), **found.get("wrong", {})},
        figures,
        **{k: found[k] for k in ("rows", "options", "kind", "worked") if k in found},
    )


class _Filled(string.Formatter):
    """Texts in whose braces formulas stand."""

    def get_field(self, field_name: str, args: Any, kwargs: Any) -> Any:
        return evaluate(field_name, kwargs), field_name


def drawn(entry: Mapping[str, Any], names: Mapping[str, Any]) -> Solved:
    """A chart that an entry of the data describes, read at one place.

    [question.chart] has `title`, the axes `x` and `y` ([words, kind]), the numbers `along` the
    first, the place `at`, and `lines`: [label, pitfall of reading it ("right" for the answer, ""
    for none), colour, formula, dash pattern]. Formulas may name `along`; those of wrong routes that
    no line gives, `answer`. Braces in title and labels hold formulas.
    """
    told = entry["chart"]
    along, at = (evaluate(told[key], names) for key in ("along", "at"))
    known = worked_out(entry, {**names, "along": along})

    def filled(text: str) -> str:
        return _Filled().vformat(text, (), known)

    curves, heights = [], {}
    for label, pitfall, colour, formula, dash in told["lines"]:
        height = np.broadcast_to(evaluate(formula, known), along.shape)
        curves.append(Curve(along, height, filled(label), None, dash, colour=COLOURS[colour]))
        if pitfall:
            heights[pitfall] = float(np.interp(at, along, height))
    known["answer"] = heights.pop("right")
    refused(entry, known)
    chart = Chart(filled(told["title"]), tuple(told["x"]), tuple(told["y"]), tuple(curves))
    return Solved(known["answer"], {**heights, **wrong_routes(entry, known)}, chart=chart)


# --------------------------------------------------------------------------- the data
@functools.cache
def read_data(folder: str, name: str, *parts: str) -> dict[str, Any]:
    """A file of ``data/exercises`` or ``data/cards``, which must hold these parts.

    Raises InputError where it cannot be read, a part is missing, or a question lacks what each must
    have.
    """
    file = f"data file {folder}/{name}"
    path = resources.data_file(folder, name)
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as err:
        raise broken(file, str(err)) from err
    if missing := [p for p in parts if p not in found]:
        raise broken(file, f"nothing under {missing[0]}")
    for entry in found.get("question", ()):
        choice = ("right", "options") if entry.get("kind") == CHOICE and folder == "cards" else ()
        if missing := [p for p in ("key", "kind", "text", *choice) if p not in entry]:
            raise broken(file, f"a question without {missing[0]}")
    return found


def _saying(entry: Mapping[str, Any], pitfall: str) -> str:
    """What is said about a pitfall; one named "later: seal" is a "later"."""
    for known in (entry.get("pitfalls", {}), read_data("cards", "pitfalls.toml")):
        for name in (pitfall, pitfall.partition(": ")[0]):
            if name in known:
                return str(known[name])
    raise broken("data file cards/pitfalls.toml", f"nothing under {pitfall}")


# --------------------------------------------------------------------------- a question
def ask(
    key: str,
    entry: Mapping[str, Any],
    solved: Solved,
    figures: Mapping[str, Figure],
    system: str,
    strict: bool = False,
) -> Question:
    """The question of an entry of the data, as it was solved.

    Raises InputError if the entry does not fit what was solved, or `strict` and a pitfall meets the
    answer.

    Parameters
    ----------
    strict : refuse a pitfall that cannot be told from the answer instead of leaving it out
    """

    def filled(text: str) -> str:
        return Note(text, tuple(figures.items())).text(system)

    kind = solved.kind or entry["kind"]
    common = {
        "key": key,
        "text": filled(entry["text"]),
        "kind": kind,
        "hint": filled(entry.get("hint", "")),
        "marks": entry.get("marks", 1),
    }
    offered = entry.get("options", {}) if kind == CHOICE else {}
    names = {name: option for option, (name, *_) in offered.items()}
    wrong = [
        Pitfall(n, names.get(str(v), _plain(v)), filled(_saying(entry, n)))
        for n, v in solved.wrong.items()
    ]
    if kind == CHOICE:
        fixed = (entry["right"],) if "right" in entry else ()
        right = names.get(str(solved.value), solved.value)
        wrong += [
            Pitfall(name, option, filled(says[0]))
            for option, (name, *says) in offered.items()
            if says and option != right
        ]
        question = Question(value=right, options=solved.options or (*fixed, *offered), **common)
    else:
        unit = entry.get("unit", "")
        if not isinstance(unit, str):
            unit = unit[system]
        question = Question(
            value=_plain(solved.value),
            digits=entry.get("digits", 3),
            unit=unit or getattr(KINDS[kind], system)[0],
            **common,
        )
    if strict:
        return replace(question, pitfalls=tuple(wrong))
    return with_pitfalls(question, wrong)


def _plain(value: Any) -> float | str:
    """A number (or an array of one) as a float; an option as it is."""
    return value if isinstance(value, str) else float(value)


def exercise(question: Question, shown: Shown | None = None) -> Any:
    """A question with a box to answer it in; question and folded answer without widgets.

    Returns `sealkit.classroom.homework.answer_box.AnswerBox`, or `Shown` where ipywidgets is not
    installed.
    """
    shown = shown or Shown("", "")
    try:
        from sealkit.classroom.homework.answer_box import AnswerBox
    except ModuleNotFoundError as err:
        if (err.name or "").partition(".")[0] != "ipywidgets":
            raise
        options = [f"{chr(97 + i)}) {o}" for i, o in enumerate(question.options)]
        text = "\n".join([question.text, *options])
        lines = "".join(f"<p>{html.escape(line)}</p>" for line in text.splitlines())
        return Shown(lines + shown.html, f"{text}\n\n{shown.text}".strip())
    return AnswerBox(question, shown.html)


# --------------------------------------------------------------------------- the exercises
Names = dict[str, Any]


class Exercises(dict[str, Callable[[Build, str], Names]]):
    """The exercises of one lesson, numbered from 1 in the order of its data file: key -> solver.

    Parameters
    ----------
    lesson : number of the lesson, such as "06"
    fits : raises InputError for a build that these exercises cannot be asked about
    names : build -> what formulas may name of a question that has no solver
    """

    def __init__(
        self,
        lesson: str,
        fits: Callable[[Build], None] = lambda _: None,
        names: Callable[[Build], Names] = lambda _: {},
    ) -> None:
        self.lesson, self.fits, self.names = lesson, fits, names

    def solver(self, key: str) -> Callable[[Any], Any]:
        """Keep a function as the solver of the question of this key."""

        def keep(function: Any) -> Any:
            self[key] = function
            return function

        return keep

    @property
    def entries(self) -> list[dict[str, Any]]:
        """The questions in the data file."""
        return list(read_data("exercises", f"{self.lesson}.toml", "question")["question"])

    def answer(self, number: int, build: Build, system: str | None = None) -> Any:
        """An exercise, as `both` finds it: the question with its box, the worked answer below."""
        return exercise(*self.both(number, build, system))

    def both(self, number: int, build: Build, system: str | None = None) -> tuple[Question, Shown]:
        """The question of an exercise and its worked answer, in the sheet's units if none are said.

        Raises InputError if there is no such exercise, or the build does not fit it.
        """
        system = system or build.system
        if number not in range(1, len(self.entries) + 1):
            raise fail("number", number, f"an exercise from 1 to {len(self.entries)}")
        self.fits(build)
        entry = self.entries[number - 1]
        solver = self.get(entry["key"], lambda one, _: self.names(one))
        solved = by_formulas(entry, solver(build, system))
        figures: dict[str, Figure] = {"engine": build.sheet.name, **solved.figures}
        question = ask(f"{self.lesson}-{number}", entry, solved, figures, system)
        right = question.value
        if not isinstance(right, str):
            figures.setdefault("answer", (right, question.kind))
        else:
            figures.setdefault("answer", f"{right[:1].upper()}{right[1:]}")

        def filled(text: str) -> str:
            return Note(text, tuple(figures.items())).text(system)

        rows = cells(solved.rows, system)
        worked = entry.get("worked", "")
        if not isinstance(worked, str):
            worked = worked[solved.worked]
        return question, folded("Worked answer", filled(worked), rows)
