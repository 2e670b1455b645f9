"""The trainee's desk: a card on screen, boxes for the answers, and the answers file. Has widgets;
`sealkit.classroom.homework.trainee` makes one.
"""

from __future__ import annotations

import datetime
import html
import itertools
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from sealkit.classroom.homework import card_page, cards, class_files, parts
from sealkit.classroom.homework.answer_box import AnswerBox, said
from sealkit.classroom.homework.cards import Card
from sealkit.classroom.homework.parts import guarded, heading, lettering, plain, uploaded
from sealkit.classroom.panel.downloads import link
from sealkit.errors import Fault, InputError, fail
from sealkit.files import write_whole


class Desk(widgets.VBox):
    """A card, its answers, and what is kept of them.

    Controls: `opened` (upload of card and answers files), `who`, `set`, `units` and `draw` for a
    practice card, `check` (practice only), `save`. Shown: `boxes`, `message`, `links`, `tally`.
    `card` is None before there is one. `go_on` takes up the answers file beside the notebook.

    Parameters
    ----------
    folder : where the answers file is written; nothing is written where it is None
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder
        self.card: Card | None = None
        self.kept: dict[str, str] = {}  # answers as they were last saved or opened
        self.warned = False
        self.boxes: dict[str, AnswerBox] = {}
        self.opened = parts.upload("Open my card or answers", ".json", multiple=True)
        self.who = parts.field("Name or id", continuous_update=False)
        self.set, self.units = parts.sets(), parts.units()
        self.message, self.tally, self.links = (widgets.HTML(said("")) for _ in range(3))
        self.draw = parts.button("Draw a practice card", self._practise, self.message)
        self.check = parts.button("Check all answers", self._check, self.tally)
        self.save = parts.button("Save my answers", self._save, self.links)
        self.go_on = parts.button("Go on with my saved answers", self._go_on, self.message)
        self.sheet = widgets.VBox()
        self.opened.observe(self._on_open, "value")
        super().__init__(
            [
                lettering("sealkit-desk"),
                heading("Homework"),
                plain("Open the card file you were given; to go on, open your answers with it."),
                self.opened,
                heading("Practice"),
                plain("Or draw a card to practise on, and check it as you go."),
                self.who,
                self.set,
                self.units,
                self.draw,
                self.message,
                self.sheet,
            ]
        )
        self.add_class("sealkit-desk")

    # ------------------------------------------------------------------ which card
    def _on_open(self, _: Any) -> None:
        if self.opened.value:
            guarded(self._open, self.message)
            self.opened.value = ()  # or the same file, chosen once more, would change nothing

    def _open(self) -> str:
        files = [(n, class_files.decoded(c)) for n, c in uploaded(self.opened.value)]
        words, faults = "", []
        # a card first, since the answers go onto it
        for name, text in sorted(files, key=lambda f: class_files.ANSWERS in f[1][:200]):
            try:
                words = self.take(text)
            except InputError as err:
                faults += [f"{name}: {f}" for f in err.faults]
        if faults:
            lines = "".join(f"<li>{html.escape(f)}</li>" for f in faults)
            words += f"<br><b>Not opened:</b><ul>{lines}</ul>"
        return words

    def take(self, content: bytes | str) -> str:
        """Open a card file or an answers file; says what it was, as HTML.

        Raises InputError if it is neither, or the answers belong to another card.
        """
        text = content if isinstance(content, str) else class_files.decoded(content)
        if class_files.ANSWERS in text[:200]:
            return self._take_answers(class_files.read_answers(text))
        self.show(cards.load(text))
        there = " There is an answers file of yours beside this notebook." if self._there() else ""
        return f"Your card is open.{there}"

    def _take_answers(self, found: class_files.Answers) -> str:
        if found.card.startswith(cards.PRACTICE):
            self.show(cards.practice(found.set, found.trainee, found.card.split()[-1]))
        card = self.card
        if card is None:
            raise fail("answers file", "answers without their card", "your card opened with them")
        if (card.set, card.tag) != (found.set, found.card):
            raise fail("answers file", "answers to another card", f"answers to {card.title}")
        self._ask({k: v for k, v in self.given().items() if v.strip()})
        self.kept = dict(found.answers)
        for key, text in found.answers.items():
            box = self.boxes.get(key)
            if box is not None and (text in box.question.options or not box.question.options):
                box.entry.value = text
        count = len(found.answers)
        return f"Your card is open, with {count} answer{'s' * (count != 1)} from your file."

    def _practise(self) -> str:
        who = self.who.value.strip()
        if not who:
            wanted = "your name; it decides which engine you get"
            stays = "; the card below stays as it is" if self.card else ""
            raise InputError(Fault("name or id", "nothing", wanted, stays))
        self.show(cards.practice(self.set.value, who, self.units.value))
        return "Your practice card is drawn. The same name gives the same card again."

    # ------------------------------------------------------------------ the card
    def show(self, card: Card) -> None:
        """Lay a card on the desk; what stands in the boxes of the same card stays.

        Raises InputError once, where answers to another card are not saved yet.
        """
        same = self.card is not None and (self.card.set, self.card.tag) == (card.set, card.tag)
        typed = {k: v for k, v in self.given().items() if v.strip()}
        if not same:
            self._ask(typed)
            self.kept = {}
        boxes = {}
        for number, item in enumerate(card.items, 1):
            picture = item.chart.svg(card.system) if item.chart else ""
            q = item.question
            boxes[q.key] = AnswerBox(q, "", picture, number, judge=card.practice)
        self.card, self.boxes = card, boxes
        for key, text in typed.items() if same else ():
            boxes[key].entry.value = text
        kind = "Practice card" if card.practice else "Job card"
        top = widgets.HTML(
            f'<h2 style="font-size:20px;margin:14px 0 2px">{kind} {html.escape(card.title)}</h2>'
            f'<p style="font-size:16px;line-height:1.4;margin:0"><b>{html.escape(card.name)}</b>, '
            f"{card.marks} marks. {html.escape(card_page.engine_line(card))} Write a number and "
            "its unit; three figures where nothing else is said.</p>"
        )
        stem = f"{card.set}-{class_files.file_name(card.trainee)}"
        page = link(f"card-{stem}.html", card_page.cards_page([card]), "Card to print")
        self.tally.value = said("")
        self.links.value = said("")
        checks = [self.check, self.tally] if card.practice else []
        self.sheet.children = (
            top,
            widgets.HTML(page),
            *boxes.values(),
            *checks,
            heading("Keep it"),
            *([self.go_on] if self._there() else []),
            self.save,
            self.links,
        )

    def _ask(self, typed: dict[str, str]) -> None:
        """Refuse once to put other answers in the place of those that are not saved."""
        if typed and typed != self.kept and not self.warned:
            self.warned = True
            came = f"{len(typed)} answer{'s' * (len(typed) != 1)} on the desk, not saved"
            wanted = "your answers saved first; or do it again to leave them"
            raise InputError(Fault("card", came, wanted))
        self.warned = False

    def given(self) -> dict[str, str]:
        """What stands in the boxes."""
        return {key: str(box.entry.value) for key, box in self.boxes.items()}

    def _check(self) -> str:
        done = [box.check() for box in self.boxes.values()]
        right = sum(f.right for f in done)
        return f"<b>{right} of {len(done)}</b> are right."

    # ------------------------------------------------------------------ what is kept
    def _file(self) -> str:
        """Name of the answers file of the card on the desk."""
        if self.card is None:
            raise fail("answers", "no card", "a card to answer")
        return f"answers-{self.card.set}-{class_files.file_name(self.card.trainee)}.json"

    def _there(self) -> bool:
        """Whether an answers file of this card lies beside the notebook."""
        return self.folder is not None and (self.folder / self._file()).is_file()

    def _go_on(self) -> str:
        if self.folder is None:
            raise fail("answers", "no folder", "a folder that answers are kept in")
        path = self.folder / self._file()
        try:
            return self.take(path.read_bytes())
        except OSError as err:
            raise fail("answers file", path, f"one that can be read ({err.strerror})") from err

    def _set_aside(self, path: Path, made: class_files.Answers) -> str:
        """Keep an older file that holds what the new one does not; says so, as HTML."""
        if not path.is_file():
            return ""
        try:
            older = class_files.read_answers(path.read_bytes())
            lost = set(older.answers) - set(made.answers)
            if (older.set, older.card) == (made.set, made.card) and not lost:
                return ""
            count = f"an older file with {len(older.answers)} answers"
        except InputError:
            count = "an older file that cannot be read"
        aside = next(
            p
            for i in itertools.count(1)
            if not (p := path.with_name(f"{path.stem}-older-{i}.json")).exists()
        )
        path.rename(aside)
        return f" There was {count}; it is kept as {html.escape(aside.name)}."

    def _save(self) -> str:
        file = self._file()
        assert self.card is not None
        made = class_files.answers_of(self.card, self.given(), datetime.datetime.now(datetime.UTC))
        text = made.dumps()
        count, of = len(made.answers), len(self.boxes)
        words = f"{count} of {of} questions answered. "
        words += link(file, text, f"Download {file}")
        words += "<br>Keep this file: a hosted service forgets everything when it sleeps."
        if self.folder is not None:
            try:
                aside = self._set_aside(self.folder / file, made)
                write_whole(self.folder / file, text.encode())
                words += f"{aside} It also lies beside this notebook as {html.escape(file)}."
            except OSError as err:
                why = html.escape(err.strerror or "no reason given")
                words += f" It could not be written beside this notebook ({why})."
        self.kept = dict(made.answers)
        return words
