"""Many builds of any model at once: drawn, judged chunk by chunk, added up.

The draws are scrambled Sobol points in several independent scrambles. The spread of the scrambles
gives the interval of each probability; where few builds fail (or few hold) it is the exact interval
of as many independent builds instead, so that a failure that was never seen has a bound.
"""

from __future__ import annotations

import dataclasses
import functools
import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import build as sheets
from sealkit import tables
from sealkit.arrays import Array
from sealkit.errors import Fault, InputError, fail, quoted
from sealkit.scatter import sobol
from sealkit.scatter.inputs import Input
from sealkit.scatter.probability import Probability, probability_of
from sealkit.scatter.result import EDGES, LimitProbability, Scatter

CHUNK = 1024  # builds in one pass
_SCRAMBLES = 16
_SMALL = 64  # points of one scramble that are kept; not to be written to
_CLIP = 10.0  # margins above count as this in the shares
_POWERS = 3
_LARGEST = 10_000_000


@dataclass(frozen=True)
class Judged:
    """Builds that have been worked out."""

    margins: Mapping[str, Array]  # by key, one number per build; below zero a build fails
    # other quantities to be averaged, by name
    watched: Mapping[str, Array] = field(default_factory=dict)
    # keys that count together, by name of the group
    groups: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    # least margin of groups whose limits stand in none of these keys, by name of the group
    least: Mapping[str, Array] = field(default_factory=dict)


Judge = Callable[[dict[str, Array]], Judged]


@dataclass(frozen=True)
class Progress:
    """How far a study is: builds done and wanted, seconds gone, and left (about)."""

    done: int
    count: int
    seconds: float
    left: float


def draw(inputs: Sequence[Input], shares: Array) -> dict[str, Array]:
    """Numbers by field for shares (builds, inputs); those of the sheet within what it allows."""
    known = dict(sheets.fields())
    out: dict[str, Array] = {}
    for column, one in enumerate(inputs):
        for path, law in one.spreads.items():
            values = law.at(shares[:, column])
            if path in known:
                values = np.clip(values, *known[path].limits)
            out[path] = values
    return out


def _points(dimensions: int, seed: int, scramble: int, start: int, count: int) -> Array:
    """Points `start` to `start + count` of one scrambled Sobol sequence."""
    random = np.random.default_rng([seed, scramble]).spawn(1)[0]
    tiny = 2.0**-40
    return np.clip(sobol.points(dimensions, random, start, count), tiny, 1.0 - tiny)


_few_points = functools.lru_cache(maxsize=128)(_points)  # for the next study of the same seed


def _basis(inputs: Sequence[Input], shares: Array) -> Array:
    """One, and powers of the score of each input."""
    columns = [np.ones(len(shares))]
    for i, one in enumerate(inputs):
        score = next(iter(one.spreads.values())).score(shares[:, i])
        columns += [score, score**2 - 1.0, score**3 - 3.0 * score]
    return np.stack(columns, axis=1)


def _moments(values: Array) -> Array:
    """Sum, and sum of squares."""
    return np.array([np.sum(values), np.sum(values * values)])


def _bars(margin: Array) -> NDArray[np.int64]:
    place = np.searchsorted(EDGES, margin, side="right")
    return np.bincount(place, minlength=len(EDGES) + 1).astype(np.int64)


def _shares(gram: Array, moment: Array, square: Array, count: int) -> Array:
    """First-order variance shares of several margins from sums over builds, (margins, inputs).

    The margin is fitted by a sum of cubics, one of each input; the inputs are independent, so the
    variance of each cubic over that of the margin is its share.
    """
    mean = gram[0] / count
    cov = gram[1:, 1:] / count - np.outer(mean[1:], mean[1:])
    y = square[:, 0] / count
    variance = square[:, 1] / count - y * y
    together = moment[:, 1:] / count - mean[1:] * y[:, None]
    factor = np.linalg.lstsq(cov, together.T, rcond=1e-10)[0]
    n = len(cov) // _POWERS
    own = np.kron(np.eye(n), np.ones((_POWERS, _POWERS))) * cov  # of each cubic with itself
    of_each = (factor * (own @ factor)).reshape(n, _POWERS, -1).sum(axis=1).T
    moves = (variance > 1e-18 * np.maximum(y * y, 1.0))[:, None]
    return np.maximum(np.where(moves, of_each / np.where(moves, variance[:, None], 1.0), 0.0), 0.0)


class _Study:
    """A study as far as it is done: what its chunks add up to, in their order.

    A scramble has `size` builds, a chunk `block` builds of `beside` scrambles; `keep` builds are
    kept.
    """

    def __init__(self, judge: Judge, inputs: Sequence[Input], seed: int, count: int, most: int):
        self.judge, self.inputs, self.seed = judge, tuple(inputs), seed
        self.size = 1 << max(int(math.log2(count / _SCRAMBLES)), 0) if count >= _SCRAMBLES else 1
        self.scrambles, self.block = math.ceil(count / self.size), min(self.size, most)
        self.beside = min(most // self.block, self.scrambles)
        self.rounds = math.ceil(self.scrambles / self.beside)
        self.chunks = self.rounds * (self.size // self.block)
        self.counts = np.zeros(self.scrambles, dtype=np.int64)
        # failures of each scramble, by ("limit", key) and ("group", name)
        self.failed: dict[tuple[str, str], NDArray[np.int64]] = {}
        self.groups: Mapping[str, tuple[str, ...]] = {}  # keys by name of the group
        self.sums: dict[tuple[str, str], NDArray[Any]] = {}  # over all builds, by (what, name)
        self.kept: list[tuple[Mapping[str, Array], Mapping[str, Array]]] = []  # numbers, margins

    @property
    def count(self) -> int:
        return int(self.counts.sum())

    def add(self, number: int, keep: int) -> None:
        """Judge one chunk; the scrambles take turns, so that a study cut short stays even."""
        part, turn = divmod(number, self.rounds)
        first = turn * self.beside
        scrambles = range(first, min(first + self.beside, self.scrambles))
        start, dimensions = part * self.block, len(self.inputs)
        points = _few_points if self.block <= _SMALL else _points
        shares = np.concatenate(
            [points(dimensions, self.seed, r, start, self.block) for r in scrambles]
        )
        numbers = draw(self.inputs, shares)
        judged = self.judge(numbers)
        found = {k: np.broadcast_to(v, (len(shares),)) for k, v in judged.margins.items()}
        for key, values in found.items():
            if np.any(np.isnan(values)):
                raise fail(key, "a margin that is no number", "builds that can be worked out")
        lost = {k: v < 0.0 for k, v in found.items()}
        here = slice(scrambles.start, scrambles.stop)

        def count(name: tuple[str, str], these: NDArray[np.bool_]) -> None:
            each = np.sum(these.reshape(len(scrambles), -1), axis=1, dtype=np.int64)
            self.failed.setdefault(name, np.zeros_like(self.counts))[here] += each

        def add(name: tuple[str, str], value: NDArray[Any]) -> None:
            self.sums[name] = self.sums[name] + value if name in self.sums else value

        for key, these in lost.items():
            count(("limit", key), these)
        for name, keys in judged.groups.items():
            count(("group", name), np.any([lost[k] for k in keys], axis=0))
        for name, values in judged.least.items():
            count(("group", name), values < 0.0)
        basis = _basis(self.inputs, shares)
        add(("gram", ""), basis.T @ basis)
        for name, values in judged.watched.items():
            add(("watched", name), _moments(values))
        for key, values in found.items():
            head = np.clip(values, -_CLIP, _CLIP)
            add(("bars", key), _bars(values))
            add(("moment", key), basis.T @ head)
            add(("square", key), _moments(head))
        self.counts[here] += self.block
        self.groups = judged.groups
        if number * self.beside * self.block < keep:
            self.kept.append((numbers, found))

    def of(self, what: str) -> dict[str, NDArray[Any]]:
        """The sums of one sort, by name."""
        return {name: value for (sort, name), value in self.sums.items() if sort == what}

    def result(self, stopped: bool) -> Scatter:
        count, names = self.count, [one.name for one in self.inputs]
        bars, moment, square = self.of("bars"), self.of("moment"), self.of("square")
        trust = tables.weakest(*(one.status for one in self.inputs))

        def failure(sort: str, name: str) -> Probability:
            found = probability_of(self.failed[sort, name], self.counts)
            return dataclasses.replace(found, inputs=trust)

        moments, squares = (np.array(list(sums.values())) for sums in (moment, square))
        parts = _shares(self.sums["gram", ""], moments, squares, count)
        limits = []
        for key, part in zip(bars, parts, strict=True):
            order = sorted(zip(names, map(float, part), strict=True), key=lambda x: -x[1])
            limits.append(LimitProbability(key, None, failure("limit", key), tuple(order)))
        # those that never fail are told nearest to failing first, by the mean place of their bars
        lie = {key: np.average(np.arange(len(x)), weights=x) for key, x in bars.items()}
        limits.sort(key=lambda r: (-r.failure.value, lie[r.key]))
        watched = {}
        for name, (total, squares) in self.of("watched").items():
            mean = float(total / count)
            spread = max(float(squares / count) - mean * mean, 0.0)
            watched[name] = (mean, math.sqrt(spread * count / max(count - 1, 1)))
        numbers, margins = (
            {k: np.concatenate([part[k] for part in parts]) for k in parts[0]}
            for parts in zip(*self.kept, strict=True)
        )
        return Scatter(
            inputs=self.inputs,
            limits=tuple(limits),
            groups={name: failure(sort, name) for sort, name in self.failed if sort == "group"},
            members=self.groups,
            watched=watched,
            count=count,
            stopped=stopped,
            numbers=numbers,
            margins=margins,
            histograms=bars,
        )


def study(
    judge: Judge,
    inputs: Sequence[Input],
    count: int = 16_384,
    seed: int = 1,
    *,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    keep: int = 1_024,
    chunk: int = CHUNK,
) -> Scatter:
    """Probability that the margins of any model fall below zero while its inputs scatter.

    Raises InputError for bad arguments, builds that cannot be worked out, or a cancel before
    anything is done.

    Parameters
    ----------
    judge : takes arrays by field, gives `Judged`
    inputs : what scatters
    count : builds wanted; taken up to the next whole number of scrambles
    seed : same seed, same numbers
    progress : called with `Progress` after each chunk
    cancel : asked between chunks; once it says True, what is done is kept and returned
    keep : builds whose numbers and margins are kept
    chunk : largest number of builds in one pass; a power of two
    """
    checked(inputs, count, seed, chunk)
    made, began, stopped = _Study(judge, inputs, seed, count, chunk), time.perf_counter(), False
    whole = made.scrambles * made.size
    try:
        if cancel is not None and cancel():
            raise fail("cancel", "a stop before anything was done", "one chunk at least")
        for number in range(made.chunks):
            made.add(number, min(keep, count))
            gone = time.perf_counter() - began
            left = gone * (whole - made.count) / made.count
            if progress is not None:
                progress(Progress(made.count, whole, gone, left))
            if cancel is not None and made.count < whole and cancel():
                stopped = True
                break
    except KeyboardInterrupt:
        if not made.count:
            raise
        stopped = True
    return made.result(stopped)


def checked(inputs: Sequence[Input], count: int, seed: int, chunk: int = 1) -> None:
    """Refuse bad arguments of a study, all at once."""
    faults = []
    if not inputs or not all(isinstance(x, Input) for x in inputs):
        faults.append(Fault("inputs", "nothing that scatters", "a list of Input"))
    else:
        paths = [p for x in inputs for p in x.spreads]
        twice = sorted({p for p in paths if paths.count(p) > 1})
        names = [x.name for x in inputs]
        if twice or len(set(names)) < len(names):
            faults.append(Fault("inputs", f"{quoted(twice or names)} twice", "each once"))
    for name, value, low, high in (
        ("count", count, 2, _LARGEST),
        ("seed", seed, 0, 2**63),
        ("chunk", chunk, 1, 65_536),
    ):
        whole = isinstance(value, (int, np.integer)) and not isinstance(value, bool)
        if not whole or not low <= value <= high:
            faults.append(Fault(name, f"{value}", f"a whole number from {low} to {high}"))
        elif name == "chunk" and value & (value - 1):
            faults.append(Fault(name, f"{value}", "a power of two"))
    if faults:
        raise InputError(faults)
