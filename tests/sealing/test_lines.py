"""Straight-line tables that are read again and again."""

from __future__ import annotations

import numpy as np
import pytest

from sealkit.sealing.lines import Lines

SEED = 11


@pytest.mark.parametrize("rows", [1, 40])
def test_every_row_is_read_as_by_itself(rows: int) -> None:
    """Between nodes, at them, equal ones too, before the first, past the last."""
    rng = np.random.default_rng(SEED)
    x = np.sort(rng.integers(0, 12, (rows, 7)) / 4.0, axis=1)
    y = np.cumsum(rng.random((rows, 7)), axis=1)
    for q in (np.linspace(-1.0, 4.0, 40), np.round(rng.random(40) * 12.0) / 4.0):
        value, slope = Lines(x, y).each(q) if rows > 1 else Lines(x, y).at(q)
        for i, at in enumerate(q):
            one, own = (x[i], y[i]) if rows > 1 else (x[0], y[0])
            found = Lines(one[None], own[None]).at(np.array([at]))
            assert (value[i], slope[i]) == (found[0][0], found[1][0])
            if one[0] <= at <= one[-1] and len(set(one)) == len(one):
                assert value[i] == pytest.approx(np.interp(at, one, own), rel=1e-12)
