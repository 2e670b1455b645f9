"""Formulas of books and references that serve only to check ours: one module for each."""

import csv
from pathlib import Path

from sealkit import checks


def row(reference: str, id: str) -> checks.Check:
    """One row of the values of a reference."""
    path = Path(__file__).with_name(f"{reference}.csv")
    return next(r for r in checks.read(path, "tests.validation") if r.id == id)


def solid_rows(path: Path) -> list[dict[str, float]]:
    """What a solid of this folder gave, without its source."""
    told = ("source", "status")
    with path.open(encoding="utf-8") as lines:
        return [
            {k: float(v) for k, v in row.items() if k not in told} for row in csv.DictReader(lines)
        ]
