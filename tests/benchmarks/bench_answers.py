"""How much longer than a plain answer the worst text takes to be judged.

    python -m tests.benchmarks.bench_answers

Prints ratios only: the slowest of the hostile texts and of 20,000 random ones, each the best of
three, against a plain right answer.
"""

from __future__ import annotations

import random
import timeit

from sealkit.classroom.homework.answers import check
from tests.benchmarks._tools import Ratio, show
from tests.classroom.homework.test_answers import FORCE, ODD, hostile

MOST = 20.0  # times a plain answer that any text may take to be judged


def took(text: str, times: int = 1) -> float:
    return min(timeit.repeat(lambda: check(FORCE, text), number=times, repeat=3)) / times


def rows() -> list[Ratio]:
    check(FORCE, "1 nonsense")
    plain = took("65.9 kN", 200)
    worst = max(hostile(), key=took)
    draw = random.Random("bench")
    texts = ["".join(draw.choices(ODD, k=draw.randrange(1, 200))) for _ in range(20_000)]
    slow = max(texts, key=lambda t: timeit.timeit(lambda: check(FORCE, t), number=1))
    return [
        Ratio(
            "worst hostile text over plain answer",
            took(worst) / plain,
            MOST,
            note=ascii(worst[:30]),
        ),
        Ratio("worst of 20,000 random texts", took(slow) / plain, MOST, note=ascii(slow[:30])),
    ]


if __name__ == "__main__":
    show(rows())
