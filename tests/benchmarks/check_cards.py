"""500 cards of each set: pitfalls, answers and plausible mistakes typed in; one engine on a card.

    python -m tests.benchmarks.check_cards [cards of each set]

Exit code 1 if a pitfall or a right answer is not recognised, a mistake counts, or the numbers of a
card contradict each other.
"""

from __future__ import annotations

import sys
from collections import Counter

from sealkit.classroom.homework import cards
from tests.card_checks import contradictions, drawn, faults
from tests.mistakes import judged


def main(count: int) -> int:
    bad = 0
    for name in cards.set_titles():
        every = drawn(name, count)
        engines = {tuple(sorted(c.numbers.items())) for c in every}
        found = [f for card in every for f in (*faults(card), *contradictions(card))]
        asked = sum(1 + len(i.question.pitfalls) for c in every for i in c.items)
        layers: Counter[str] = Counter(f.layer for c in every for _, _, f in judged(c))
        bad += len(found) + layers["right"]
        print(f"{name}: {len(every)} cards, {len(engines)} engines, {asked} answers, ", end="")
        print(f"{len(found)} faults; plausible mistakes: {layers.total()} typed, ", end="")
        print(f"{layers['pitfall']} named, {layers['right']} counted")
        for fault in found[:5]:
            print(f"    {fault}")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 500))
