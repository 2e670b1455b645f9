"""The answer box of an exercise. Imported only when one is made."""

from __future__ import annotations

import html
from typing import Any

import ipywidgets as widgets

from sealkit.classroom.homework.answers import CHOICE, Feedback, Question, check, read_back

_SIZE = "font-size:16px;line-height:1.4"


def said(words: str, role: str = "status") -> str:
    """A line that a screen reader speaks when it changes; `words` is HTML."""
    manner = "assertive" if role == "alert" else "polite"
    return f'<div role="{role}" aria-live="{manner}" style="{_SIZE}">{words}</div>'


def wide() -> Any:
    """Layout of a control: as wide as there is room, and no wider than is good to read."""
    return widgets.Layout(width="auto", min_width="0", max_width="620px")


def field(words: str, kind: Any = widgets.Text, **more: Any) -> Any:
    """A field for text, or another kind of control with its words before it."""
    return kind(description=words, style={"description_width": "initial"}, layout=wide(), **more)


# layer of the feedback -> mark and word; what is not here is not right yet
_VERDICTS = {"right": ("✓", "RIGHT"), "read": ("●", "READ AS"), "empty": ("○", "NO ANSWER YET")}
_VERDICTS |= dict.fromkeys(("type", "dimension"), ("✗", "LOOK AGAIN"))  # nothing judged


def spoken(feedback: Feedback) -> str:
    """Feedback as a line that a screen reader speaks; the verdict is a word, never a colour."""
    mark, word = _VERDICTS.get(feedback.layer, ("✗", "NOT YET"))
    words = "" if feedback.layer in ("right", "empty") else html.escape(feedback.says)
    stop = ":" if feedback.layer == "read" else "."
    return said(
        '<div style="border:2px solid currentColor;padding:6px 10px">'
        f'<span aria-hidden="true">{mark} </span><b>{word}</b>{stop} {words}</div>'
    )


class AnswerBox(widgets.VBox):
    """A question with a box for the answer, a button to check it, and the worked answer folded.

    Enter in the box checks too. `entry` is the box (or the list of a choice), `button` checks,
    `said` shows the feedback and `feedback` holds it; None before the first check.

    Parameters
    ----------
    question : what is asked
    worked : the worked answer as HTML that folds itself; none where empty
    picture : a chart that belongs to the question, as SVG
    number : number of the question on its card; its key is shown where there is none
    judge : whether the answer is judged; if not, only what was read is said, and no button stands
        there
    """

    def __init__(
        self,
        question: Question,
        worked: str = "",
        picture: str = "",
        number: int | None = None,
        judge: bool = True,
    ) -> None:
        self.question = question
        self.judge = judge
        self.feedback: Feedback | None = None
        what = question.key if number is None else f"question {number}"
        name = f"Answer to {what}"
        asked = question.text if number is None else f"{number}. {question.text}"
        self.text = widgets.HTML(
            f'<p style="{_SIZE};margin:4px 0">{html.escape(asked)}</p>{picture}'
        )
        self.entry: Any
        if question.kind == CHOICE:
            options = [("choose one", ""), *((o, o) for o in question.options)]
            self.entry = field(name, widgets.Dropdown, options=options, value="")
        else:
            self.entry = field(name, placeholder="number and unit", continuous_update=False)
        self.button = widgets.Button(description="Check", tooltip=f"Check the answer to {what}")
        self.said = widgets.HTML(said(""))
        self.worked = widgets.HTML(worked)
        # the box was left, or Enter was pressed in it
        self.entry.observe(lambda _: self.check(), "value")
        self.button.on_click(lambda _: self.check())
        row = widgets.HBox(
            [self.entry, self.button] if judge else [self.entry],
            layout=widgets.Layout(flex_flow="row wrap", align_items="center"),
        )
        self.entry.layout.flex = "1 1 260px"
        # lettering in the size of the live panel's
        size = widgets.HTML("<style>.sealkit-answer{--jp-widgets-font-size:15px}</style>")
        size.layout = widgets.Layout(height="0", margin="0")
        super().__init__([size, self.text, row, self.said, *([self.worked] if worked else [])])
        self.add_class("sealkit-answer")

    def check(self) -> Feedback:
        """Judge (or read back) what stands in the box now, and say so."""
        look = check if self.judge else read_back
        self.feedback = look(self.question, self.entry.value)
        self.said.value = spoken(self.feedback)
        return self.feedback
