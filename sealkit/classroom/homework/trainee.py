"""The trainee's desk: a card on screen, boxes for the answers, and the answers file. Has widgets;
`sealkit.classroom.homework.trainee` makes one.
"""

from __future__ import annotations

import datetime
import html
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from sealkit.classroom.homework import card_page, cards, class_files, parts
from sealkit.classroom.homework.answer_box import AnswerBox, said
from sealkit.classroom.homework.cards import Card
from sealkit.classroom.homework.parts import guarded, heading, lettering, plain, uploaded
from sealkit.classroom.panel.downloads import link
from sealkit.errors import InputError, fail
from sealkit.files import write_whole


class Desk(widgets.VBox):
    """A card, its answers, and what is kept of them.

    Controls: `opened` (upload of card and answers files), `who`, `set`, `units` and `draw` for a
    practice card, `check` (practice only), `save`. Shown: `boxes`, `message`, `links`, `tally`.
    `card` is None before there is one.

    Parameters
    ----------
    folder : where the answers file is written; nothing is written where it is None
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder
        self.card: Card | None = None
        self.boxes: dict[str, AnswerBox] = {}
        self.opened = parts.upload("Open my card or answers", ".json", multiple=True)
        self.who = parts.field("Name or id", continuous_update=False)
        self.set, self.units = parts.sets(), parts.units()
        self.message, self.tally, self.links = (widgets.HTML(said("")) for _ in range(3))
        self.draw = parts.button("Draw a practice card", self._practise, self.message)
        self.check = parts.button("Check all answers", self._check, self.tally)
        self.save = parts.button("Save my answers", self._save, self.links)
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

    def _open(self) -> str:
        files, faults = uploaded(self.opened.value), []
        words = ""
        # a card first, since the answers go onto it
        for name, content in sorted(files, key=lambda f: b"sealkit-answers" in f[1][:200]):
            try:
                words = self.take(content)
            except InputError as err:
                faults += [f"{name}: {f}" for f in err.faults]
        if faults:
            lines = "".join(f"<li>{html.escape(f)}</li>" for f in faults)
            words += f"<br><b>Not opened:</b><ul>{lines}</ul>"
        return words

    def take(self, content: bytes | str) -> str:
        """Open a card file or an answers file; says what it was, as HTML.

        Raises
        ------
        InputError
            if it is neither, or the answers belong to another card.
        """
        mark = "sealkit-answers" if isinstance(content, str) else b"sealkit-answers"
        if mark in content[:200]:  # type: ignore[operator]
            return self._take_answers(class_files.read_answers(content))
        self.show(cards.load(content))
        return "Your card is open."

    def _take_answers(self, found: class_files.Answers) -> str:
        if found.card.startswith(cards.PRACTICE):
            self.show(cards.practice(found.set, found.trainee, found.card.split()[-1]))
        card = self.card
        if card is None:
            raise fail("answers file", "answers without their card", "your card opened with them")
        if (card.set, card.tag) != (found.set, found.card):
            raise fail("answers file", "answers to another card", f"answers to {card.title}")
        for key, text in found.answers.items():
            box = self.boxes.get(key)
            if box is not None and (text in box.question.options or not box.question.options):
                box.entry.value = text
        count = len(found.answers)
        return f"Your card is open, with {count} answer{'s' * (count != 1)} from your file."

    def _practise(self) -> str:
        who = self.who.value.strip()
        if not who:
            raise fail("name or id", "nothing", "your name; it decides which engine you get")
        self.show(cards.practice(self.set.value, who, self.units.value))
        return "Your practice card is drawn. The same name gives the same card again."

    # ------------------------------------------------------------------ the card
    def show(self, card: Card) -> None:
        """Lay a card on the desk, with empty boxes."""
        boxes = {}
        for number, item in enumerate(card.items, 1):
            picture = item.chart.svg(card.system) if item.chart else ""
            q = item.question
            boxes[q.key] = AnswerBox(q, "", picture, number, judge=card.practice)
        self.card, self.boxes = card, boxes
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
            self.save,
            self.links,
        )

    def given(self) -> dict[str, str]:
        """What stands in the boxes."""
        return {key: str(box.entry.value) for key, box in self.boxes.items()}

    def _check(self) -> str:
        done = [box.check() for box in self.boxes.values()]
        right = sum(f.right for f in done)
        return f"<b>{right} of {len(done)}</b> are right."

    def _save(self) -> str:
        if self.card is None:
            raise fail("answers", "no card", "a card to answer")
        made = class_files.answers_of(self.card, self.given(), datetime.datetime.now(datetime.UTC))
        file = f"answers-{self.card.set}-{class_files.file_name(self.card.trainee)}.json"
        text = made.dumps()
        count, of = len(made.answers), len(self.boxes)
        words = f"{count} of {of} questions answered. "
        words += link(file, text, f"Download {file}")
        words += "<br>Keep this file: a hosted service forgets everything when it sleeps."
        if self.folder is not None:
            try:
                write_whole(self.folder / file, text.encode())
                words += f" It is also in the folder of this notebook as {html.escape(file)}."
            except OSError as err:
                why = html.escape(err.strerror or "no reason given")
                words += f" It could not be written beside this notebook ({why})."
        return words
