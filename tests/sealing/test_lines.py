"""Straight-line tables that are read again and again."""

from __future__ import annotations

import numpy as np
import pytest

from sealkit.sealing.lines import Lines

SEED = 11


@pytest.mark.parametrize("rows", [1, 40])
def test_tracked_rows_read_what_a_fresh_look_up_reads(rows: int) -> None:
    """Over small and large moves, at nodes, equal ones too, before the first, past the last."""
    rng = np.random.default_rng(SEED)
    x = np.sort(rng.integers(0, 12, (rows, 7)) / 4.0, axis=1)
    table = Lines(x, np.cumsum(rng.random((rows, 7)), axis=1))
    tracked, q = table.tracked(), rng.random(40) * 3.0
    for step in (0.0, 0.01, 0.3, 5.0, -9.0, 4.0):
        q = np.round(4.0 * (q + step * rng.random(40))) / 4.0 if step == 0.3 else q + step
        wanted = table.at(q[:, None] if rows > 1 else q)
        for found, one in zip(tracked(q), wanted, strict=True):
            assert np.array_equal(found, one.ravel())


def test_an_earlier_reading_stays_as_it_was() -> None:
    tracked = Lines(np.array([[0.0, 1.0, 2.0]]), np.array([[0.0, 1.0, 4.0]])).tracked()
    _, slope = tracked(np.array([0.5, 0.5]))
    tracked(np.array([1.5, 0.5]))
    assert slope.tolist() == [1.0, 1.0]
