"""How much longer than a plain answer the worst text takes to be judged.

    python -m tests.benchmarks.bench_answers

The slowest of the hostile texts and of 20,000 random ones, each the best of three, against a plain
right answer.
"""

from __future__ import annotations

import random
import timeit

from sealkit.classroom.answers import check
from tests.benchmarks._tools import Ratio, show
from tests.test_answers import FORCE, ODD, hostile


def took(text: str, times: int = 1) -> float:
    return min(timeit.repeat(lambda: check(FORCE, text), number=times, repeat=3)) / times


def rows() -> list[Ratio]:
    """The worst of the hostile texts, and of 20,000 random ones, over a plain answer."""
    check(FORCE, "1 nonsense")
    plain = took("65.9 kN", 200)
    bad = max(hostile(), key=took)
    draw = random.Random("bench")
    texts = ["".join(draw.choices(ODD, k=draw.randrange(1, 200))) for _ in range(20_000)]
    odd = max(texts, key=lambda t: timeit.timeit(lambda: check(FORCE, t), number=1))
    return [
        Ratio("worst hostile text over a plain answer", took(bad) / plain, 40.0),
        Ratio("worst of 20,000 random texts over a plain answer", took(odd) / plain, 40.0),
    ]


if __name__ == "__main__":
    show(rows())
