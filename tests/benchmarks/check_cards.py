"""Every pitfall and every right answer of 500 cards of each set, typed as a trainee would.

    python -m tests.benchmarks.check_cards [cards of each set]

Exit code 1 if a single one is not recognised.
"""

from __future__ import annotations

import sys

from sealkit.classroom.homework import cards
from tests.card_checks import drawn, faults


def main(count: int) -> int:
    bad = 0
    for name in cards.set_titles():
        every = drawn(name, count)
        engines = {tuple(sorted(c.numbers.items())) for c in every}
        found = [f for card in every for f in faults(card)]
        bad += len(found)
        asked = sum(1 + len(i.question.pitfalls) for c in every for i in c.items)
        print(f"{name}: {len(every)} cards, {len(engines)} engines, {asked} answers, ", end="")
        print(f"{len(found)} not recognised")
        for fault in found[:5]:
            print(f"    {fault}")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 500))
