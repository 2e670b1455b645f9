"""Every check value from outside the project, worked out with the public functions."""

import pytest

from sealkit import checks

ROWS = [r for t in checks.topics() for r in checks.load(t)]


@pytest.mark.parametrize("row", [r for r in ROWS if r.call], ids=lambda r: f"{r.topic}-{r.id}")
def test_outside_value(row: checks.Check) -> None:
    ours, difference, within = row.compare()
    assert within, (
        f"{row.quantity}: ours {ours:.6g}, {row.source} has {row.expected} ({difference:.3%})"
    )


def test_ids_are_unique() -> None:
    keys = [(r.topic, r.id) for r in ROWS]
    assert len(keys) == len(set(keys))
