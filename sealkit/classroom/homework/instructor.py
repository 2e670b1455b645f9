"""The instructor's desk: cards for a class, and its gradebook. Has widgets;
`sealkit.classroom.homework.instructor` makes one.
"""

from __future__ import annotations

import datetime
import html
from pathlib import Path

import ipywidgets as widgets

from sealkit import resources
from sealkit.classroom.drawing.shown import html_table
from sealkit.classroom.homework import (
    cards,
    class_files,
    class_pages,
    gradebook,
    parts,
    policy,
    term_book,
)
from sealkit.classroom.homework.answer_box import said
from sealkit.classroom.homework.class_files import Key
from sealkit.classroom.homework.gradebook import Grades
from sealkit.classroom.homework.parts import heading, lettering, plain, uploaded
from sealkit.classroom.panel.downloads import link, packed
from sealkit.errors import fail

_SOLUTIONS = ("none", "once no file can count any more", "now")


class Desk(widgets.VBox):
    """Cards out, answers in.

    Controls of the cards: `roster`, `set`, `units`, `due`, `term`, `class_key`, `draw`; of the
    gradebook: `key_file`, `answers`, `class_file` (uploads), `folder` (or a folder on this
    machine), `late`, `solutions`, `delimiter`, `grade`, `sample`; of the term: `books` (uploads),
    `add`. Shown: `drawn`, `graded`, `tables`, `added`. `key` and `grades` hold the last results.
    """

    def __init__(self) -> None:
        self.key: Key | None = None
        self.grades: Grades | None = None
        self.drawn, self.graded, self.added = (widgets.HTML(said("")) for _ in range(3))
        self.roster = parts.upload("Roster (CSV)", ".csv,.txt")
        self.set, self.units = parts.sets(), parts.units()
        self.due = parts.field("Due", placeholder="2026-12-01T18:00")
        self.term = parts.field("Term", value=str(datetime.date.today().year))
        self.class_key = parts.field("Class key", widgets.Password)
        self.draw = parts.button("Draw the cards", self._draw, self.drawn)

        self.key_file = parts.upload("Key file", ".json")
        self.answers = parts.upload("Answers files", ".json", multiple=True)
        self.folder = parts.field("Folder")
        self.class_file = parts.upload("Class file", ".toml")
        self.delimiter = parts.field("Tables are divided by", widgets.Dropdown, options=[",", ";"])
        self.late = parts.field("Count late files too", widgets.Checkbox, indent=False)
        self.solutions = parts.field("Solution sheets", widgets.Dropdown, options=_SOLUTIONS)
        self.grade = parts.button("Grade", self._grade, self.graded)
        self.sample = parts.button("Try it on the sample class", self._sample, self.graded)
        self.tables = widgets.VBox()
        self.books = parts.upload("Gradebooks (CSV)", ".csv", multiple=True)
        self.add = parts.button("Add up the term", self._add, self.added)
        super().__init__(
            [
                lettering("sealkit-desk"),
                heading("Cards for a class", 2),
                plain(
                    "These units count where the roster says none. The time when answers are due "
                    "may stay empty. Another term has other cards. An empty class key makes a new "
                    "one; use it for all sets of a class."
                ),
                *(self.roster, self.set, self.units, self.due, self.term, self.class_key),
                *(self.draw, self.drawn),
                heading("Gradebook", 2),
                plain("Answers come as uploads, or from a folder on the machine this runs on."),
                *(self.key_file, self.answers, self.folder, self.class_file, self.late),
                *(self.solutions, self.delimiter, self.grade, self.sample),
                *(self.graded, self.tables),
                heading("Term book", 2),
                plain("The gradebooks of several sets, trainee by trainee."),
                *(self.books, self.add, self.added),
            ]
        )
        self.add_class("sealkit-desk")

    # ------------------------------------------------------------------ cards
    def _draw(self) -> str:
        files = uploaded(self.roster.value)
        if not files:
            raise fail("roster", "nothing", "a CSV file with a heading: id, name")
        people = class_files.roster(class_files.decoded(files[-1][1]), self.units.value)
        own = self.class_key.value.strip()
        secret = own or cards.new_key()
        due, term = self.due.value.strip(), self.term.value.strip()
        self.key = class_files.make_key(secret, self.set.value, people, due, term)
        made = class_pages.card_files(self.key)
        name, due = self.key.set, self.key.due
        due = html.escape(class_files.past(due) or f"They are due {due}") + "." if due else ""
        hand_out = {k: v for k, v in made.items() if k.startswith("hand-out/")}
        lines = [
            f"<b>{len(self.key.cards)} cards of set {name} are drawn.</b> {due}",
            link(f"cards-{name}.html", made[f"cards-{name}.html"], "Cards to print"),
            link(f"hand-out-{name}.zip", packed(hand_out), "Card files to hand out"),
            link(f"key-{name}.json", made[f"key-{name}.json"], "Key file, to grade with"),
            link(f"key-{name}.html", made[f"key-{name}.html"], "Answers, for you only"),
            "Save the key file before you close this page; without it nothing can be graded.",
        ]
        if not own:
            lines.append(f"Class key made for you: <code>{secret}</code>. Keep it to yourself.")
        return "<br>".join(lines)

    # ------------------------------------------------------------------ gradebook
    def _grade(self) -> str:
        keys = uploaded(self.key_file.value)
        key = class_files.load_key(keys[-1][1]) if keys else self.key
        if key is None:
            raise fail("key file", "nothing", "the key file that was made with the cards")
        files: list[tuple[str, bytes | str]] = list(uploaded(self.answers.value))
        if where := self.folder.value.strip():
            files += class_files.read_folder(Path(where).expanduser())
        if not files:
            raise fail("answers", "nothing", "answers files, or a folder of them")
        own = uploaded(self.class_file.value)
        decided = policy.load(own[-1][1]) if own else policy.NOTHING
        grades = gradebook.grade(files, key, self.late.value, decided)
        if self.solutions.value == _SOLUTIONS[0]:
            return self.show(grades)
        now = self.solutions.value == _SOLUTIONS[2]
        sheets = packed(class_pages.solution_files(grades, decided, now))
        kept = link(f"solutions-{key.set}.zip", sheets, "Solution sheets")
        return f"{self.show(grades)}<br>{kept}"

    def _sample(self) -> str:
        key = class_files.load_key(resources.data_file("sample-class", "key-02.json").read_bytes())
        folder = resources.data_file("sample-class", "roster.csv").parent / "answers"
        found = gradebook.grade(class_files.read_folder(folder), key)
        return "The sample class is invented. " + self.show(found)

    def _add(self) -> str:
        files = uploaded(self.books.value)
        if not files:
            raise fail("gradebooks", "nothing", "the gradebook of each set, as it was saved")
        books = [term_book.read(content, name) for name, content in files]
        text = term_book.add_up(books, self.delimiter.value)
        sets = f"<b>{len(books)} set{'s' * (len(books) != 1)} added up.</b>"
        return f"{sets}<br>{link('term-book.csv', text, 'Term book')}"

    def show(self, grades: Grades) -> str:
        """Show a graded set; says how to keep it, as HTML."""
        self.grades = grades
        made = class_pages.grade_files(grades, self.delimiter.value)
        told = _told(grades)
        tables = [html_table("Files not counted, and remarks", told)] if told else []
        tables += [html_table("Marks", _marks(grades)), class_pages.class_tables(grades)]
        self.tables.children = tuple(map(widgets.HTML, tables))
        name = grades.key.set
        nobody = class_pages.defused(grades.nobody)
        back = {k: v for k, v in made.items() if k.startswith("feedback/")}
        return "<br>".join(
            [
                *([f"<b>{html.escape(grades.another_key)}</b>"] if grades.another_key else []),
                f"<b>{len(grades.done)} of {len(grades.results)} trainees graded.</b>",
                *(f"<b>Not followed.</b> {html.escape(str(f))}" for f in grades.faults),
                *([f"Nobody could be graded: {html.escape(nobody)}."] if nobody else []),
                link(f"gradebook-{name}.csv", made["gradebook.csv"], "Gradebook"),
                link(f"files-{name}.csv", made["files.csv"], "What became of each file"),
                link(f"not-named-{name}.csv", made["not-named.csv"], "Wrong numbers not named"),
                link(f"class-{name}.html", made["class.html"], "Class page"),
                link(f"feedback-{name}.zip", packed(back), "Feedback pages"),
            ]
        )


def _marks(grades: Grades) -> list[dict[str, str]]:
    """Marks of each trainee, as text."""
    return [
        {
            "trainee": f"{r.card.name} ({r.card.trainee})",
            "marks": f"{r.total:g} of {r.card.marks}" if r.feedback else "none",
            "file": r.file or grades.why(r),
        }
        for r in grades.results
    ]


def _told(grades: Grades) -> list[dict[str, str]]:
    """Files about which there is something to say, as text."""
    return [
        {
            "file": class_pages.defused(f.file[:60]),
            "counted": "yes" if f.counted else "no",
            "reason": class_pages.defused(f.reason),
        }
        for f in grades.files
        if f.reason
    ]
