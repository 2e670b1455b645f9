"""Pitfalls of a question whose numbers come from the engine on the sheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from sealkit.classroom.homework.answers import Pitfall, Question
from sealkit.errors import InputError


def with_pitfalls(question: Question, pitfalls: Iterable[Pitfall]) -> Question:
    """The question with those pitfalls that can be told from its answer and from each other.

    On one engine two wrong routes may end at the same number; then the first of them stays.

    Parameters
    ----------
    question : with its answer
    pitfalls : the most important one first

    Returns
    -------
    Question
    """
    for pitfall in pitfalls:
        try:
            question = replace(question, pitfalls=(*question.pitfalls, pitfall))
        except InputError:
            continue
    return question
