"""The trainee's desk: a card on screen, boxes for the answers, and the answers file. Has widgets;
`sealkit.classroom.homework.trainee` makes one.
"""

from __future__ import annotations

import datetime
import html
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from sealkit.classroom.homework import card_page, cards, class_files
from sealkit.classroom.homework.answer_box import AnswerBox
from sealkit.classroom.homework.cards import Card
from sealkit.classroom.panel.downloads import link
from sealkit.course import write_whole
from sealkit.errors import InputError, fail

_WIDE = {"width": "auto", "min_width": "0", "max_width": "620px"}
_STYLE = {"description_width": "initial"}


def said(words: str, role: str = "status") -> str:
    """A line that a screen reader speaks; `words` is HTML."""
    manner = "assertive" if role == "alert" else "polite"
    return (
        f'<div role="{role}" aria-live="{manner}" style="font-size:16px;line-height:1.4">'
        f"{words}</div>"
    )


def heading(words: str, level: int = 3) -> Any:
    """A heading inside a desk."""
    size = {2: 20, 3: 17}[level]
    return widgets.HTML(
        f'<h{level} style="font-size:{size}px;margin:10px 0 2px">{html.escape(words)}</h{level}>'
    )


def plain(words: str) -> Any:
    """A line of plain words inside a desk."""
    return widgets.HTML(
        f'<p style="font-size:16px;line-height:1.4;margin:0">{html.escape(words)}</p>'
    )


def lettering(name: str) -> Any:
    """Widgets of a desk in the size of the live panel's lettering."""
    size = widgets.HTML(f"<style>.{name}{{--jp-widgets-font-size:15px}}</style>")
    size.layout = widgets.Layout(height="0", margin="0")
    return size


def guarded(action: Callable[[], str], message: Any) -> None:
    """Do it and show what it says; what goes wrong is told, since a callback's error would vanish.

    `action` returns HTML.
    """
    try:
        message.value = said(action())
    except InputError as err:
        lines = "".join(f"<li>{html.escape(str(f))}</li>" for f in err.faults)
        message.value = said(f"<b>Not done.</b><ul>{lines}</ul>", "alert")
    except Exception as err:
        told = html.escape(f"{type(err).__name__}: {err}")
        message.value = said(f"<b>Not done.</b> {told}", "alert")


def uploaded(change: Any) -> list[tuple[str, bytes]]:
    """Names and contents of what an upload button holds."""
    return [(str(f["name"]), bytes(f["content"])) for f in change]


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
        wide = widgets.Layout(**_WIDE)
        self.opened = widgets.FileUpload(
            accept=".json",
            multiple=True,
            description="Open my card or answers",
            layout=wide,
        )
        self.who = widgets.Text(
            description="Name or id", continuous_update=False, style=_STYLE, layout=wide
        )
        self.set = widgets.Dropdown(
            options=[(f"{k} {v}", k) for k, v in cards.set_titles().items()],
            description="Set",
            style=_STYLE,
            layout=wide,
        )
        self.units = widgets.Dropdown(
            options=["metric", "inch"], description="Units", style=_STYLE, layout=wide
        )
        self.draw = widgets.Button(description="Draw a practice card", layout=wide)
        self.check = widgets.Button(description="Check all answers", layout=wide)
        self.save = widgets.Button(description="Save my answers", layout=wide)
        self.message = widgets.HTML(said(""))
        self.tally = widgets.HTML(said(""))
        self.links = widgets.HTML(said(""))
        self.sheet = widgets.VBox()
        self.opened.observe(self._on_open, "value")
        self.draw.on_click(lambda _: guarded(self._practise, self.message))
        self.check.on_click(lambda _: guarded(self._check, self.tally))
        self.save.on_click(lambda _: guarded(self._save, self.links))
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
