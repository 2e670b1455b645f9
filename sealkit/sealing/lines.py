"""Straight-line tables: of many rows at once, of the whole gasket of a joint."""

from __future__ import annotations

import functools
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from sealkit.arrays import Array

Builds = slice | NDArray[np.intp]


class Lines:
    """Straight-line tables, one per row or one for all rows, to be read many times.

    Before the first node the value stays (slope 0), after the last node the last slope goes on.

    Parameters
    ----------
    x, y : shape (rows or 1, n), x not falling; n is 2 or more
    """

    def __init__(self, x: Array, y: Array):
        self.x, self.y = x, y

    @functools.cached_property
    def _table(self) -> tuple[Array, Array, NDArray[np.intp]]:
        """Nodes; node, value and slope by place among all rows; first place of each row."""
        rows, n = self.x.shape
        x, y = self.x.ravel(), self.y.ravel() if len(self.y) == rows else np.tile(self.y[0], rows)
        width = x[1:] - x[:-1]
        # an entry for what lies before the first node, and one for each segment; the last goes on
        parts = np.empty((3, rows * n))
        parts[0, 1:], parts[1, 1:] = x[:-1], y[:-1]
        np.divide(y[1:] - y[:-1], np.where(width > 0, width, np.inf), out=parts[2, 1:])
        parts[0, ::n], parts[1, ::n], parts[2, ::n] = self.x[:, 0], self.y[:, 0], 0.0
        nodes = self.x[0, :-1] if rows == 1 else np.ascontiguousarray(self.x[:, :-1].T)[:, :, None]
        return nodes, parts, np.arange(rows)[:, None] * n

    def at(self, q: Array) -> tuple[Array, Array]:
        """Value and slope at `q`, shape (rows, m) (of one row, any) -> the same twice."""
        nodes, parts, start = self._table
        if nodes.ndim == 1:
            place = nodes.searchsorted(q, side="right")
        else:
            passed = (nodes <= q).view(np.uint8)
            small = np.uint8 if len(nodes) < 256 else np.intp
            place = np.add.reduce(passed, axis=0, dtype=small) + start
        x, y, slope = parts.take(place, axis=1)
        return y + slope * (q - x), slope

    def each(self, q: Array) -> tuple[Array, Array]:
        """`at` for one value of each row, shape (rows,)."""
        value, slope = self.at(q[:, None])
        return value[:, 0], slope[:, 0]

    def of(self, rows: Builds) -> Lines:
        """The tables of some of the rows."""
        return Lines(self.x[rows], self.y[rows]) if len(self.x) > 1 else self

    def first_load(self) -> Array:
        """The last node of each row that carries nothing yet."""
        last = np.maximum((self.y <= 0.0).sum(axis=1) - 1, 0)
        return np.asarray(self.x[np.arange(len(self.x)), last])


def merge(nodes: list[Array]) -> Array:
    """All nodes of several tables, row by row, rising, with one more far out."""
    joined = np.concatenate(nodes, axis=1)
    joined.sort(axis=1)
    far = joined[:, -1:] + np.maximum(joined[:, -1:] - joined[:, :1], 1e-6)
    return np.concatenate([joined, far], axis=1)


class Nodes:
    """Straight-line tables of the whole gasket, one row per build or one for all.

    Parameters
    ----------
    make : gives them once they are read: line load of all seal zones over closure plus bending,
        and force of all other zones over closure
    """

    def __init__(self, make: Callable[[], tuple[Lines, Lines]]):
        self._make = make

    @functools.cached_property
    def _both(self) -> tuple[Lines, Lines]:
        return self._make()

    @property
    def seal(self) -> Lines:
        """Line load of all seal zones over closure plus bending."""
        return self._both[0]

    @property
    def body(self) -> Lines:
        """Force of all other zones over closure."""
        return self._both[1]

    def of(self, builds: Builds) -> Nodes:
        """The tables of some of the builds."""
        return Nodes(lambda: (self.seal.of(builds), self.body.of(builds)))

    def closure(self, length: float, force: Array) -> Array:
        """Closure at which seal (of this length) and body carry this force without gas.

        Read from one table of both, so it may be off by rounding; where each build has tables of
        its own, from those of the first, so it is near.
        """
        first = self.of(slice(1))
        x = np.concatenate([first.seal.x, first.body.x], axis=1)
        x.sort(axis=1)
        total = length * first.seal.at(x)[0] + first.body.at(x)[0]
        return Lines(total, x).at(force)[0]
