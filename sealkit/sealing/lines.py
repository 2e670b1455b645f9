"""Straight-line tables: of one zone, of many rows at once, of the whole gasket of a joint."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def line(x: Array, y: Array, q: Array) -> Array:
    """Value at `q` of one straight-line table: 0 before 0, past the end the last slope goes on."""
    i = np.clip(np.searchsorted(x, q, side="right") - 1, 0, len(x) - 2)
    value = y[i] + (y[i + 1] - y[i]) / (x[i + 1] - x[i]) * (q - x[i])
    return np.where(q <= 0.0, 0.0, value)


class Lines:
    """Straight-line tables, one per row or one for all rows, to be read many times.

    Before the first node the value stays (slope 0), after the last node the last slope goes on.

    Parameters
    ----------
    x, y : shape (rows or 1, n), x not falling; n is 2 or more
    """

    __slots__ = ("_count", "_nodes", "_one", "_parts", "_start")

    def __init__(self, x: Array, y: Array):
        rows, n = x.shape
        width = x[:, 1:] - x[:, :-1]
        rise = (y[:, 1:] - y[:, :-1]) / np.where(width > 0, width, np.inf)
        # one more entry in front, for what lies before the first node; the last node is read from
        # the one before it
        parts = np.empty((3, rows, n + 1))
        for part, values in zip(parts, (x, y), strict=False):
            part[:, 0] = values[:, 0]
            part[:, 1:n] = values[:, :-1]
            part[:, n] = values[:, n - 2]
        parts[2, :, 0] = 0.0
        parts[2, :, 1:n] = rise
        parts[2, :, n] = rise[:, n - 2]
        self._parts = parts.reshape(3, -1)
        self._one = rows == 1
        self._count = n
        self._nodes = x[0] if self._one else np.ascontiguousarray(x.T)[:, :, None]
        self._start = np.arange(rows)[:, None] * (n + 1)

    def at(self, q: Array) -> tuple[Array, Array]:
        """Value and slope at `q`, shape (rows, m) -> (rows, m) twice."""
        if self._one:
            place = self._nodes.searchsorted(q, side="right")
        else:
            passed = (self._nodes <= q).view(np.uint8)
            small = np.uint8 if self._count < 256 else np.intp
            place = np.add.reduce(passed, axis=0, dtype=small) + self._start
        x, y, slope = self._parts.take(place, axis=1)
        return y + slope * (q - x), slope


def interp_rows(x: Array, y: Array, q: Array) -> tuple[Array, Array]:
    """Row by row, value and slope at `q` of the straight-line table (x, y), read once.

    Shapes (rows or 1, n), (rows or 1, n), (rows, m) -> (rows, m) twice; see `Lines`.
    """
    if x.shape[0] > 1:
        return Lines(x, y).at(q)
    nodes, values = x[0], y[0]
    place = nodes.searchsorted(q, side="right") - 1
    inside = np.minimum(np.maximum(place, 0), len(nodes) - 2)
    x0, y0 = nodes.take(inside), values.take(inside)
    inside += 1
    width = nodes.take(inside) - x0
    slope = (values.take(inside) - y0) / np.where(width > 0, width, np.inf)
    slope = np.where(place < 0, 0.0, slope)
    return y0 + slope * (q - x0), slope


def first_load(x: Array, y: Array) -> Array:
    """The last node of each row that carries nothing yet."""
    last = np.maximum((y <= 0.0).sum(axis=1) - 1, 0)
    return np.asarray(x[np.arange(len(x)), last])


def some_rows(table: Array, rows: slice) -> Array:
    """Some rows of a table that has one for each build, or one for all of them."""
    return table[rows] if len(table) > 1 else table


def merge(nodes: list[Array]) -> Array:
    """All nodes of several tables, row by row, rising, with one more far out."""
    joined = np.concatenate(nodes, axis=1)
    joined.sort(axis=1)
    far = joined[:, -1:] + np.maximum(joined[:, -1:] - joined[:, :1], 1e-6)
    return np.concatenate([joined, far], axis=1)


@dataclass(frozen=True, eq=False)
class Nodes:
    """Straight-line tables of the whole gasket, one row per build or one for all.

    Parameters
    ----------
    seal_x : closure plus bending, and `seal_q` the line load of all seal zones and `seal_c` the
        closure at the seal there, shape (rows or 1, n)
    body_x : closure, and `body_f` the force of all other zones there, shape (rows or 1, m)
    """

    seal_x: Array
    seal_q: Array
    seal_c: Array
    body_x: Array
    body_f: Array

    @functools.cached_property
    def seal(self) -> Lines:
        """Line load of the seal zones over closure plus bending."""
        return Lines(self.seal_x, self.seal_q)

    @functools.cached_property
    def seal_closure(self) -> Lines:
        """Closure at the seal over closure plus bending."""
        return Lines(self.seal_x, self.seal_c)

    @functools.cached_property
    def body(self) -> Lines:
        """Force of the other zones over closure."""
        return Lines(self.body_x, self.body_f)

    def of(self, builds: slice) -> Nodes:
        """The tables of some of the builds."""
        tables = (self.seal_x, self.seal_q, self.seal_c, self.body_x, self.body_f)
        return Nodes(*(some_rows(table, builds) for table in tables))

    def closure(self, length: float, force: Array) -> Array:
        """Closure at which seal (of this length) and body carry this force without gas.

        Read from one table of both, so it may be off by rounding; 0 where each build has tables
        of its own, as making theirs would take longer than it saves.
        """
        if max(len(self.seal_x), len(self.body_x)) > 1:
            return np.zeros_like(force)
        x = np.concatenate([self.seal_x, self.body_x], axis=1)
        x.sort(axis=1)
        total = length * self.seal.at(x)[0] + self.body.at(x)[0]
        return interp_rows(total, x, force)[0]
