"""How the time to grade a class grows with the class, and with broken files in it.

    python -m tests.benchmarks.bench_grade

Prints ratios only.
"""

from __future__ import annotations

from functools import partial

from sealkit.classroom.homework import class_files, class_pages, gradebook
from sealkit.classroom.homework.class_files import Trainee
from tests.benchmarks._tools import Ratio, cpu_time, show
from tests.classroom.homework.test_gradebook import CLASS_KEY, file_of


def rows() -> list[Ratio]:
    people = [Trainee(f"t-{i:03}", f"Trainee {i}", "metric") for i in range(200)]
    key = class_files.make_key(CLASS_KEY, "02", people)
    files = [(f"{c.trainee}.json", file_of(c)) for c in key.cards]

    def took(some: list[tuple[str, bytes]]) -> float:
        return cpu_time(partial(gradebook.grade, some, key), 3)[0]

    few, all_of_them = took(files[:50]), took(files)
    deep = [(f"bad-{i}.json", b"[" * 60_000) for i in range(200)]
    pages, _ = cpu_time(lambda: class_pages.grade_files(gradebook.grade(files, key)), 3)
    note = f"{1e3 * all_of_them:.0f} ms"
    return [
        Ratio("grading of 200 files over 50", all_of_them / few, 6.0, note=note),
        Ratio("200 files and 200 hostile ones over 200", took(files + deep) / all_of_them, 3.0),
        Ratio("grading with all pages and tables over marks only", pages / all_of_them, 3.0),
    ]


if __name__ == "__main__":
    show(rows())
