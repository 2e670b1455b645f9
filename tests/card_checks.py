"""What is checked on every drawn card, in the suite on a few and in a benchmark on all."""

from __future__ import annotations

from sealkit.classroom.homework import cards
from sealkit.classroom.homework.answers import CHOICE, check, written
from sealkit.classroom.homework.cards import Card

CLASS_KEY = "a class key for tests"


def drawn(name: str, count: int) -> list[Card]:
    """Cards of a set, every other one in inches."""
    systems = ("metric", "inch")
    return [cards.draw(CLASS_KEY, name, f"t-{i:03}", system=systems[i % 2]) for i in range(count)]


def faults(card: Card) -> list[str]:
    """Right answers and wrong routes, typed as a trainee would, that are not told apart."""
    out = []
    for item in card.items:
        q = item.question
        said = check(q, written(q))
        if not said.right or said.pitfall:
            out.append(f"{q.key} {card.trainee}: right answer {written(q)} is {said}")
        if len(q.pitfalls) < 2:
            out.append(f"{q.key} {card.trainee}: fewer than two pitfalls")
        for p in q.pitfalls:
            said = check(q, written(q, p.value))
            if said.right or said.pitfall != p.name:
                out.append(f"{q.key} {card.trainee}: {p.name} {written(q, p.value)} is {said}")
        if q.kind != CHOICE and item.chart is not None and q.digits != 2:
            out.append(f"{q.key}: a chart is read to two figures")
    return out
