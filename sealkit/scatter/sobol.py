"""Scrambled Sobol points: even over many dimensions, drawn without SciPy's statistics.

Those take longer to import than a report's study takes; the points are theirs to the last bit.

References
----------
[1] S. Joe and F. Y. Kuo, Constructing Sobol sequences with better two-dimensional projections,
    SIAM J. Sci. Comput. 30 (2008): direction numbers (``tables/sobol.csv``).
[2] J. Matousek, On the L2-discrepancy for anchored boxes, J. Complexity 14 (1998): scrambling.
"""

from __future__ import annotations

import functools

import numpy as np

from sealkit import tables
from sealkit.arrays import Array
from sealkit.errors import fail

_BITS = 30


@functools.cache
def _directions(dimensions: int) -> Array:
    """Bits of the direction numbers, shape (dimensions, bits, numbers), the largest bit first."""
    rows = tables.load("sobol").rows
    if dimensions > len(rows):
        raise fail("inputs", f"{dimensions}", f"at most {len(rows)}")
    out = []
    for row in rows[:dimensions]:
        polynomial, m = int(row["polynomial"]), [int(x) for x in row["numbers"].split()]
        degree = polynomial.bit_length() - 1
        for i in range(len(m), _BITS):
            new = m[i - max(degree, 1)]
            for k in range(1, degree + 1):
                new ^= (polynomial >> (degree - k) & 1) * m[i - k] << k
            m.append(new)
        out.append([x << (_BITS - 1 - i) for i, x in enumerate(m)])
    places = np.arange(_BITS - 1, -1, -1)
    return np.asarray(np.array(out)[:, None, :] >> places[:, None] & 1, dtype=float)


def points(dimensions: int, random: np.random.Generator, start: int, count: int) -> Array:
    """Points `start` to `start + count` of one sequence, scrambled by matrices and a shift [2].

    Returns shape (count, dimensions), from 0 to below 1. Raises InputError beyond the table.
    """
    shift = random.integers(2, size=(dimensions, _BITS), dtype=np.uint32)[:, ::-1]
    mixed = random.integers(2, size=(dimensions, _BITS, _BITS), dtype=np.uint32)
    bits = (np.tril(mixed, -1) + np.eye(_BITS)) @ _directions(dimensions) % 2
    place = np.arange(start, start + count)
    used = (start + count).bit_length()
    chosen = ((place ^ place >> 1)[:, None] >> np.arange(used) & 1).astype(float)
    found = (chosen @ bits.reshape(-1, _BITS)[:, :used].T + shift.ravel()) % 2
    value: Array = found.reshape(count, dimensions, _BITS) @ 2.0 ** -np.arange(1, _BITS + 1)
    return value
