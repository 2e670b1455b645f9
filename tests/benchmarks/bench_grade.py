"""How the time to grade a class grows with the class, and with broken files in it.

python -m tests.benchmarks.bench_grade
"""

from __future__ import annotations

import timeit

from sealkit.classroom import gradebook
from sealkit.classroom.gradebook import Trainee
from tests.benchmarks._tools import Ratio, show
from tests.test_gradebook import CLASS_KEY, file_of


def rows() -> list[Ratio]:
    """Growth with the class, and with hostile files in the folder."""
    people = [Trainee(f"t-{i:03}", f"Trainee {i}", "metric") for i in range(200)]
    key = gradebook.make_key(CLASS_KEY, "02", people)
    files = [(f"{c.trainee}.json", file_of(c)) for c in key.cards]

    def took(some: list[tuple[str, bytes]]) -> float:
        return min(timeit.repeat(lambda: gradebook.grade(some, key), number=1, repeat=3))

    few, everybody = took(files[:50]), took(files)
    deep = [(f"bad-{i}.json", b"[" * 60_000) for i in range(200)]
    return [
        Ratio("grading 200 files over 50 files", everybody / few, 6.0),
        Ratio("200 files and 200 hostile ones over 200 files", took(files + deep) / everybody, 2.0),
    ]


if __name__ == "__main__":
    show(rows())
