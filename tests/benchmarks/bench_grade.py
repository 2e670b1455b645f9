"""How the time to grade a class grows with the class, and with broken files in it.

    python -m tests.benchmarks.bench_grade

Prints ratios only.
"""

from __future__ import annotations

import timeit

from sealkit.classroom import gradebook
from sealkit.classroom.gradebook import Trainee
from tests.test_gradebook import CLASS_KEY, file_of


def main() -> None:
    people = [Trainee(f"t-{i:03}", f"Trainee {i}", "metric") for i in range(200)]
    key = gradebook.make_key(CLASS_KEY, "02", people)
    files = [(f"{c.trainee}.json", file_of(c)) for c in key.cards]

    def took(some: list[tuple[str, bytes]]) -> float:
        return min(timeit.repeat(lambda: gradebook.grade(some, key), number=1, repeat=3))

    few, all_of_them = took(files[:50]), took(files)
    print(f"200 files / 50 files: {all_of_them / few:.1f}")
    deep = [(f"bad-{i}.json", b"[" * 60_000) for i in range(200)]
    print(f"200 files and 200 hostile ones / 200 files: {took(files + deep) / all_of_them:.1f}")
    pages = min(
        timeit.repeat(
            lambda: gradebook.grade_files(gradebook.grade(files, key)), number=1, repeat=3
        )
    )
    print(f"with all pages and tables / marks only: {pages / all_of_them:.1f}")


if __name__ == "__main__":
    main()
