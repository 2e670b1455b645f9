"""Every check value from outside the project, worked out with the public functions.

Formulas of books that only serve to check others stand in ``tests/validation``, one module for each
book or reference, with their rows in a CSV file beside them.
"""

from pathlib import Path

import pytest

from sealkit import checks

VALIDATION = Path(__file__).parent / "validation"
DATA = Path(__file__).parents[1] / "data" / "checks"
ROWS = [r for p in sorted(DATA.glob("*.csv")) for r in checks.load(p.stem)]
ROWS += [r for p in sorted(VALIDATION.glob("*.csv")) for r in checks.read(p, "tests.validation")]


@pytest.mark.parametrize("row", [r for r in ROWS if r.call], ids=lambda r: f"{r.topic}-{r.id}")
def test_outside_value(row: checks.Check) -> None:
    ours, difference, within = row.compare()
    assert within, (
        f"{row.quantity}: ours {ours:.6g}, {row.source} has {row.expected} ({difference:.3%})"
    )


def test_ids_are_unique() -> None:
    keys = [(r.topic, r.id) for r in ROWS]
    assert len(keys) == len(set(keys))
