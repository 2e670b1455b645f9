"""Scatter: many builds of one sheet at once, and the chance that a limit is passed.

Each build draws its own friction, wrench, settling, gasket, temperatures and highest peak, and goes
through the very steps of the report (`sealkit.analysis`), all builds of a chunk in
one pass. What is varied stands in the `inputs` of a result, each with source and status.

The draws are scrambled Sobol points in several independent scrambles. The spread of the scrambles
gives the interval of each chance; where few builds fail (or few hold) it is the exact interval of
as many independent builds instead, so that a chance of which nothing was seen has a bound.

What the chance leaves out: errors of the model itself, strengths above or below their table value,
a deck that is not flat, a fastener that differs from its neighbours round the same bore.
"""

from __future__ import annotations

import functools
import math
import time
from collections import deque
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit import analysis, tables
from sealkit import build as sheets
from sealkit.analysis import margins
from sealkit.analysis.margins import Limit
from sealkit.build import Build
from sealkit.errors import Fault, InputError, fail, near, quoted
from sealkit.fastening import tightening
from sealkit.report import Report
from sealkit.sealing import heat
from sealkit.units import to_si

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

METHODS = ("torque", "torque and angle", "stretch")
GAS, LIQUID, DAMAGE, ANY = "gas leak", "liquid leak", "damage", "any limit"
EDGES = np.linspace(-1.0, 3.0, 401)
"""Margins at which the bars of a histogram begin and end; what lies outside is counted apart."""

_FEW = 50  # failures (or builds that hold) below which the exact interval is taken
_CHUNK, _CYCLE_CHUNK = 1024, 256  # builds in one pass; fewer where each has a cycle of its own
_SCRAMBLES = 16
_CLIP = 10.0  # margins above count as this in the shares
_POWERS = 3
_LARGEST = 10_000_000
_SNUG = 0.3  # of the torque, before an angle
_LINE = 1024  # builds behind the line of a report
_GROUP = "group: "


# --------------------------------------------------------------------------- distributions
class Distribution(Protocol):
    """How a number scatters: `at` gives it for shares 0..1 of all builds, lowest first."""

    def at(self, share: Array) -> Array: ...

    def score(self, share: Array) -> Array:
        """A measure of the draw in which effects are nearly straight."""
        ...


def _normal(share: Array) -> Array:
    from scipy.special import ndtri

    return np.asarray(ndtri(share), dtype=float)


@dataclass(frozen=True)
class Normal:
    """Normal, by mean and standard deviation."""

    mean: float
    deviation: float

    def __post_init__(self) -> None:
        _finite(self, deviation=self.deviation >= 0)

    def at(self, share: Array) -> Array:
        return self.mean + self.deviation * _normal(share)

    def score(self, share: Array) -> Array:
        return _normal(share)


@dataclass(frozen=True)
class Uniform:
    """Any number between two ends alike."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _finite(self, high=self.high >= self.low)

    def at(self, share: Array) -> Array:
        return self.low + (self.high - self.low) * share

    def score(self, share: Array) -> Array:
        return math.sqrt(3.0) * (2.0 * share - 1.0)


@dataclass(frozen=True)
class Triangular:
    """Most likely at one number, falling in straight lines to two ends."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        _finite(self, likely=self.low <= self.likely, high=self.likely <= self.high)

    def at(self, share: Array) -> Array:
        width = self.high - self.low
        if width == 0.0:
            return np.full(share.shape, self.low)
        rise, fall = self.likely - self.low, self.high - self.likely
        return np.where(
            share < rise / width,
            self.low + np.sqrt(share * width * rise),
            self.high - np.sqrt((1.0 - share) * width * fall),
        )

    def score(self, share: Array) -> Array:
        a, b, c = self.low, self.likely, self.high
        deviation = math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18.0)
        return (self.at(share) - (a + b + c) / 3.0) / (deviation or 1.0)


@dataclass(frozen=True)
class LogNormal:
    """Positive, its logarithm normal; by median and the deviation of the logarithm."""

    median: float
    deviation: float

    def __post_init__(self) -> None:
        _finite(self, median=self.median > 0, deviation=self.deviation >= 0)

    def at(self, share: Array) -> Array:
        return self.median * np.exp(self.deviation * _normal(share))

    def score(self, share: Array) -> Array:
        s2 = self.deviation**2
        spread = math.sqrt(math.exp(s2) * math.expm1(s2)) or 1.0
        return (self.at(share) / self.median - math.exp(s2 / 2.0)) / spread


@dataclass(frozen=True)
class Listed:
    """One of a list of measured values, each as likely as the others (a bootstrap)."""

    values: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.values or not np.all(np.isfinite(self.values)):
            raise fail("values", self.values, "a list of numbers")

    def at(self, share: Array) -> Array:
        rows = np.sort(np.asarray(self.values, dtype=float))
        return rows[np.minimum((share * len(rows)).astype(int), len(rows) - 1)]

    def score(self, share: Array) -> Array:
        rows = np.asarray(self.values, dtype=float)
        return (self.at(share) - rows.mean()) / (float(rows.std()) or 1.0)


@dataclass(frozen=True)
class Highest:
    """How rare the highest of so many cycles is: one in n passes it (`burn.one_cycle_in`).

    All cycles stay below the one that one in n passes with chance (1 - 1/n)**cycles.
    """

    cycles: float

    def __post_init__(self) -> None:
        _finite(self, cycles=self.cycles >= 1)

    def at(self, share: Array) -> Array:
        return np.asarray(-1.0 / np.expm1(np.log(share) / self.cycles), dtype=float)

    def score(self, share: Array) -> Array:
        return -_normal(1.0 / self.at(share))


def _finite(shape: Any, **rules: bool) -> None:
    """Refuse a shape with a number that is not finite, or one that breaks its rule."""
    faults = [
        Fault(name, f"{value}", "a finite number in its place (low, middle, high; spread from 0)")
        for name, value in vars(shape).items()
        if not np.isfinite(value) or not rules.get(name, True)
    ]
    if faults:
        raise InputError(faults)


@dataclass(frozen=True)
class Input:
    """One thing that scatters from build to build.

    Parameters
    ----------
    name : in words
    spreads : distribution by field of the sheet (plain SI); several fields share one draw
    source, status, note : where the distribution comes from
    """

    name: str
    spreads: Mapping[str, Distribution]
    source: str
    status: str
    note: str = ""

    def __post_init__(self) -> None:
        if not self.spreads:
            raise fail("spreads", "nothing", "a distribution by field")
        if not self.source or self.status not in tables.STATUSES:
            raise fail(
                f"{self.name}, status",
                f"{self.source}, {self.status}",
                f"a source and one of {quoted(tables.STATUSES)}",
            )


_SHAPES: dict[str, tuple[Callable[..., Distribution], int]] = {
    "normal": (Normal, 2),
    "uniform": (Uniform, 2),
    "triangular": (Triangular, 3),
    "log-normal": (LogNormal, 2),
}


def spread(
    path: str,
    shape: str,
    *numbers: Any,
    name: str = "",
    source: str = "your own",
    status: str = "invented",
) -> Input:
    """A field of the sheet that scatters.

    Parameters
    ----------
    path : dotted name of the field, one of `sealkit.analysis.VARIABLE`
    shape : "normal" (mean, standard deviation), "uniform" (low, high), "triangular" (low, most
        likely, high), "log-normal" (median, deviation of the logarithm) or "list" (the values)
    numbers : as on the sheet, with units
    name : in words; the field's name if not given
    source, status : where the distribution comes from

    Returns
    -------
    Input

    Raises
    ------
    InputError
        for an unknown field or shape, a wrong count of numbers, or a number out of order.
    """
    known = dict(sheets.fields())
    if path not in analysis.VARIABLE:
        raise fail(
            "path", path, f"one of {quoted(analysis.VARIABLE)}{near(path, analysis.VARIABLE)}"
        )
    kind = known[path].kind
    bare = lambda x: isinstance(x, (int, float)) and not isinstance(x, bool)  # noqa: E731

    def plain(value: Any, of: str) -> float:
        unit = "number" if of == "fraction" and bare(value) else of
        return float(to_si(value, unit, path))

    if shape == "list":
        made: Distribution = Listed(tuple(plain(x, kind) for x in numbers))
        return Input(name or path, {path: made}, source, status)
    if shape not in _SHAPES:
        raise fail("shape", shape, f"one of {quoted((*_SHAPES, 'list'))}{near(shape, _SHAPES)}")
    make, wanted = _SHAPES[shape]
    if len(numbers) != wanted:
        raise fail("numbers", f"{len(numbers)} numbers", f"{wanted} for a {shape} spread")
    kinds = [kind] * wanted
    if shape == "normal" and kind == "temperature":
        kinds[1] = "temperature difference"
    if shape == "log-normal":
        kinds[1] = "number"
    values = [plain(x, k) for x, k in zip(numbers, kinds, strict=True)]
    return Input(name or path, {path: make(*values)}, source, status)


def usual(build: Build, preload: str | None = None) -> tuple[Input, ...]:
    """What usually scatters on this sheet; the widths stand in the table ``spread``.

    Parameters
    ----------
    build : a checked build sheet
    preload : "parts": friction and wrench (or angle gauge, or stretch reading) apart; "method": one
        factor with the scatter of the way of tightening; if not given, "method" where the sheet
        states its scatter and "parts" where it does not

    Returns
    -------
    tuple of Input

    Raises
    ------
    InputError
        for another word in `preload`.
    """
    if preload not in (None, "parts", "method"):
        raise fail("preload", preload, '"parts" or "method"')
    b, f, h = build.burn, build.fasteners, build.heat
    rows = tables.load("spread")
    own = analysis.sheet_status(build)
    parts = preload == "parts" or (preload is None and f.preload_scatter is None)
    out = []

    def add(key: str, name: str, spreads: Mapping[str, Distribution], *trust: str) -> None:
        row = rows[key]
        status = tables.weakest(row["status"], *trust)
        out.append(Input(name, spreads, row["source"], status, row["note"]))

    def round_(value: float, half: float) -> Normal:
        return Normal(value, 0.5 * abs(half))

    if parts and f.tightening in ("torque", "torque and angle"):
        row = tightening.friction.si(f.lubricant)
        stated = {
            "thread": (f.friction_thread, row.thread_low, row.thread, row.thread_high),
            "bearing": (f.friction_bearing, row.head_low, row.head, row.head_high),
        }
        spreads = {}
        for place, (given, low, mean, high) in stated.items():
            scale = 1.0 if given is None else given / mean
            spreads[f"fasteners.friction_{place}"] = Triangular(
                low * scale, mean * scale, high * scale
            )
        add("friction", f"friction ({f.lubricant})", spreads, row.status)
        torque = f.torque or 0.0
        add(
            "wrench",
            "wrench",
            {"fasteners.torque": round_(torque, rows["wrench"]["share"] * torque)},
        )
        if f.tightening == "torque and angle":
            gauge = {"fasteners.angle": round_(f.angle or 0.0, rows["angle"]["angle"])}
            add("angle", "angle gauge", gauge)
    else:
        if f.preload_scatter is not None and not parts:
            width, status, word = f.preload_scatter, own, "as the sheet states"
        else:
            found = analysis.scatter_row(build)
            width, status, word = found["high"], found["status"], found["method"]
        factor = {"fasteners.preload_factor": round_(f.preload_factor, width * f.preload_factor)}
        add("method", f"preload ({word})", factor, status)
    depth, _, status = analysis.embedment_of(build)
    share = rows["embedment"]["share"]
    add(
        "embedment",
        "embedment",
        {"fasteners.embedment": Triangular((1 - share) * depth, depth, (1 + share) * depth)},
        status,
    )
    creep, _, status = analysis.creep_of(build)
    add(
        "creep",
        "creep of the gasket",
        {"gasket.creep_relaxation": Uniform((1 - rows["creep"]["share"]) * creep, creep)},
        status,
    )
    thick = build.gasket.compressed_thickness
    add(
        "thickness",
        "gasket thickness",
        {"gasket.compressed_thickness": round_(thick, rows["thickness"]["share"] * thick)},
    )
    if b.peak_variation > 0:
        add("peak", "highest peak", {"burn.one_cycle_in": Highest(b.one_cycle_in)}, own)
    if b.knock_amplitude > 0:
        law = LogNormal(b.knock_amplitude, rows["knock"]["share"])
        add("knock", "knock amplitude", {"burn.knock_amplitude": law}, own)
    state = analysis.hot_state(build)
    add(
        "coolant",
        "coolant, hot",
        {"heat.coolant_temperature": round_(float(state.coolant), rows["coolant"]["step"])},
        state.status,
    )
    share = rows["rise"]["share"] * h.rise_factor
    add(
        "rise",
        "rise of the hot parts",
        {
            "heat.rise_factor": Triangular(
                h.rise_factor - share, h.rise_factor, h.rise_factor + share
            )
        },
        state.status,
    )
    if build.liquids.deck == "wet" and h.cold_soak < heat.ASSEMBLED_AT:
        add("cold soak", "cold soak", {"heat.cold_soak": Uniform(h.cold_soak, heat.ASSEMBLED_AT)})
    return tuple(out)


# --------------------------------------------------------------------------- many builds at once
def limits_of(
    build: Build, numbers: Mapping[str, ArrayLike], mean: analysis.Mean | None = None
) -> tuple[Limit, ...]:
    """The limits the report judges, for many builds at once.

    Parameters
    ----------
    build : a checked build sheet
    numbers : plain SI numbers, one per build, by field of the sheet (`analysis.VARIABLE`)
    mean : mean cycle of the sheet, where it is worked out already

    Returns
    -------
    tuple of Limit, one of each key (cold or hot, whichever is worse), arrays over builds. A limit
    that is not judged in a build asks for nothing there.

    Raises
    ------
    InputError
        for a field that cannot vary, lists of unequal length, or builds that cannot be worked out.
    """
    return _limits_and_more(build, numbers, mean)[0]


def _limits_and_more(
    build: Build, numbers: Mapping[str, ArrayLike], mean: analysis.Mean | None
) -> tuple[tuple[Limit, ...], dict[str, Array]]:
    given = {k: np.atleast_1d(np.asarray(v, dtype=float)) for k, v in numbers.items()}
    sizes = {v.size for v in given.values()} - {1} or {1}
    if len(sizes) > 1 or any(v.ndim > 1 for v in given.values()):
        shapes = ", ".join(f"{k} {v.shape}" for k, v in given.items())
        raise fail("numbers", shapes, "one number of each field per build")
    (count,) = sizes
    given.setdefault("fasteners.preload_factor", np.array([build.fasteners.preload_factor]))
    many = analysis.with_numbers(build, {k: np.broadcast_to(v, (count,)) for k, v in given.items()})
    if mean is None or analysis.moves_the_cycle(build, given):
        mean = analysis.mean_cycle(many)
    peak = analysis.sized_on(many, mean.cycle.peak_pressure).pressure
    peak = np.broadcast_to(np.asarray(peak, dtype=float), (count,))
    over = analysis.over_air(peak, mean.ambient)
    found = analysis.judged(many, over)
    rows = margins.worse(margins.limits(found.case, over))
    preload = np.broadcast_to(found.clamp.preload.assembly, (count,))
    return rows, {"preload": np.asarray(preload, dtype=float), "peak pressure": peak}


Judge = Callable[[dict[str, Array]], tuple[dict[str, Array], dict[str, Array]]]


class _Builds:
    """Judges the builds of one sheet; travels to other processes."""

    def __init__(self, build: Build, paths: Sequence[str]):
        # each build has one preload of its own: the report's two ends come together
        self.build = analysis.with_numbers(build, {"fasteners.preload_scatter": 0.0})
        self.mean: analysis.Mean | None = None
        if not analysis.moves_the_cycle(build, paths):
            mean = analysis.mean_cycle(build)
            slim = replace(mean.cycle, peak_pressure=float(mean.cycle.peak_pressure))
            self.mean = replace(mean, cycle=slim)

    def __call__(self, numbers: dict[str, Array]) -> tuple[dict[str, Array], dict[str, Array]]:
        rows, watched = _limits_and_more(self.build, numbers, self.mean)
        return {row.key: np.asarray(row.margin, dtype=float) for row in rows}, watched

    def words(self, inputs: Sequence[Input]) -> tuple[Limit, ...]:
        """The limits in words, from two builds in the middle of all spreads."""
        numbers = _draw(inputs, np.full((2, len(inputs)), 0.5))
        return _limits_and_more(self.build, numbers, self.mean)[0]


def _draw(inputs: Sequence[Input], shares: Array) -> dict[str, Array]:
    """Numbers by field; those of the sheet are held within what it allows."""
    known = dict(sheets.fields())
    out: dict[str, Array] = {}
    for column, one in enumerate(inputs):
        for path, law in one.spreads.items():
            values = law.at(shares[:, column])
            if path in known:
                values = np.clip(values, *known[path].limits)
            out[path] = values
    return out


# --------------------------------------------------------------------------- chance
@dataclass(frozen=True)
class Chance:
    """A chance and how sure it is.

    Parameters
    ----------
    failed, count : builds that fail, and all builds
    chance : estimate
    low, high : interval that holds the true chance with the confidence
    confidence : such as 0.95
    exact : whether the interval is the exact one of so many independent builds (few failed, or
        nearly all), not that of the scrambles
    """

    failed: int
    count: int
    chance: float
    low: float
    high: float
    confidence: float
    exact: bool

    def text(self) -> str:
        """In words, such as ``0.42 % (95 % sure: 0.30 to 0.54 %)``."""
        sure = f"{100 * self.confidence:g} % sure"
        if self.failed == 0:
            return f"none of {self.count:,} builds; under {_share(self.high)} ({sure})"
        if self.failed == self.count:
            return f"all of {self.count:,} builds; over {_share(self.low)} ({sure})"
        low = _share(self.low).removesuffix(" %")
        return f"{_share(self.chance)} ({sure}: {low} to {_share(self.high)})"

    def any_of(self, bores: int) -> Chance:
        """The chance that one or more of so many fail, each for itself: 1 - (1 - p)**n."""
        if isinstance(bores, bool) or not isinstance(bores, int) or bores < 1:
            raise fail("bores", bores, "a whole number from 1")

        def one_of(p: float) -> float:
            return 1.0 if p >= 1.0 else -math.expm1(bores * math.log1p(-p))

        return replace(
            self, chance=one_of(self.chance), low=one_of(self.low), high=one_of(self.high)
        )


def _share(p: float) -> str:
    """A chance as a percentage with two figures, more near all or nothing."""
    percent = 100.0 * p
    edge = min(percent, 100.0 - percent)
    if edge <= 0.0:
        return f"{percent:.0f} %"
    digits = min(max(1 - math.floor(math.log10(edge)), 0), 6)
    return f"{percent:.{digits}f} %"


def chance_of(failed: ArrayLike, counts: ArrayLike, confidence: float = 0.95) -> Chance:
    """Chance and interval from failures and builds in each of several independent scrambles.

    mean of the scrambles plus or minus t s/sqrt(R); with few failures (or few that hold) the exact
    binomial interval; with none, high = 1 - (1 - confidence)**(1/n)

    Parameters
    ----------
    failed, counts : builds that failed and all builds, one number for each scramble
    confidence : above 0 and below 1

    Returns
    -------
    Chance

    Raises
    ------
    InputError
        for counts that do not fit or a confidence out of range.

    Notes
    -----
    Exact interval: Clopper and Pearson, Biometrika 26 (1934) 404, from memory; it counts the builds
    as independent draws. Interval of the scrambles: Student's t over independent replicates.
    """
    bad, all_ = (np.atleast_1d(np.asarray(x, dtype=float)) for x in (failed, counts))
    if not 0.0 < confidence < 1.0:
        raise fail("confidence", confidence, "a share above 0 and below 1")
    if bad.shape != all_.shape or np.any(bad < 0) or np.any(bad > all_) or all_.sum() < 1:
        raise fail("failed", f"{bad.sum():g} of {all_.sum():g}", "failures among builds")
    k, n = float(bad.sum()), float(all_.sum())
    p = k / n
    used = all_ > 0
    scrambles = int(used.sum())
    exact = min(k, n - k) < _FEW or scrambles < 2
    if exact:
        low, high = _exact(k, n, confidence)
    else:
        from scipy.special import stdtrit

        weight = all_[used] / n
        rest = bad[used] / all_[used] - p
        error = math.sqrt(float(np.sum((weight * rest) ** 2)) * scrambles / (scrambles - 1))
        reach = float(stdtrit(scrambles - 1, 0.5 + confidence / 2)) * error
        low, high = max(p - reach, 0.0), min(p + reach, 1.0)
    return Chance(int(k), int(n), p, low, high, confidence, exact)


def _exact(k: float, n: float, confidence: float) -> tuple[float, float]:
    from scipy.special import betaincinv

    tail = 1.0 - confidence
    if k == 0:
        return 0.0, 1.0 - tail ** (1.0 / n)
    if k == n:
        return float(tail ** (1.0 / n)), 1.0
    low = float(betaincinv(k, n - k + 1, tail / 2))
    return low, float(betaincinv(k + 1, n - k, 1.0 - tail / 2))


# --------------------------------------------------------------------------- the study
@dataclass(frozen=True)
class Progress:
    """How far a study is: builds done and wanted, seconds gone, and left (about)."""

    done: int
    count: int
    seconds: float
    left: float


@dataclass(frozen=True)
class LimitChance:
    """One limit over all builds.

    Parameters
    ----------
    key, what : of the limit
    limit : as it stands in the middle of all spreads; None in a study of your own
    chance : of passing it
    shares : variance share of the margin by name of the input, largest first; what is left over
        comes from inputs acting together
    """

    key: str
    what: str
    limit: Limit | None
    chance: Chance
    shares: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Scatter:
    """The result of a study.

    Parameters
    ----------
    inputs : what was varied
    limits : likeliest to fail first
    groups : chance that one or more limits of a group fail
    watched : (mean, standard deviation) of quantities, such as the preload of one fastener
    count, scrambles, seed : how the builds were drawn
    stopped : whether it was stopped before all builds asked for
    numbers, margins : a few builds that were kept: numbers by field, margins by key
    histograms : builds by key and bar of `EDGES`, the first and last below and above it
    seconds : how long it took
    build : the sheet, where the study is one of a sheet
    """

    inputs: tuple[Input, ...]
    limits: tuple[LimitChance, ...]
    groups: Mapping[str, Chance]
    watched: Mapping[str, tuple[float, float]]
    count: int
    scrambles: int
    seed: int
    stopped: bool
    numbers: Mapping[str, Array] = field(repr=False)
    margins: Mapping[str, Array] = field(repr=False)
    histograms: Mapping[str, NDArray[np.int64]] = field(repr=False)
    seconds: float = field(compare=False, default=0.0)
    build: Build | None = field(repr=False, default=None)

    def limit(self, key: str) -> LimitChance:
        """One limit by its key.

        Raises
        ------
        InputError
            if no limit has this key.
        """
        for row in self.limits:
            if row.key == key:
                return row
        keys = [row.key for row in self.limits]
        raise fail("key", key, f"one of {quoted(keys)}{near(key, keys)}")

    def histogram(self, key: str) -> tuple[Array, NDArray[np.int64]]:
        """(edges, builds between them) of the margin of a limit; outside the edges not shown."""
        self.limit(key)
        return EDGES.copy(), self.histograms[key][1:-1].copy()

    def quantile(self, key: str, share: float) -> float:
        """Margin that this share of the builds stays under, read from the histogram.

        Infinite (with its sign) where it lies outside `EDGES`.
        """
        if not 0.0 < share < 1.0:
            raise fail("share", share, "a share above 0 and below 1")
        self.limit(key)
        total = np.cumsum(self.histograms[key])
        at = share * total[-1]
        if at <= total[0]:
            return -math.inf
        if at > total[-2]:
            return math.inf
        return float(np.interp(at, total[:-1], EDGES))

    def sample(self, number: int) -> Build:
        """The sheet of one of the builds that were kept, to be looked at by the report."""
        kept = len(next(iter(self.numbers.values())))
        if self.build is None:
            raise fail("build", "nothing", "a study of a sheet")
        if isinstance(number, bool) or not isinstance(number, int) or not 0 <= number < kept:
            raise fail("number", number, f"a whole number from 0 to {kept - 1}")
        numbers = {k: float(v[number]) for k, v in self.numbers.items()}
        return analysis.with_numbers(self.build, {"fasteners.preload_scatter": 0.0, **numbers})

    def rows(self) -> list[dict[str, str]]:
        """The limits as text, likeliest to fail first."""
        return [
            {
                "limit": row.what,
                "chance": row.chance.text(),
                "what matters most": "; ".join(
                    f"{name} {100 * share:.0f} %" for name, share in row.shares[:3] if share >= 0.01
                ),
            }
            for row in self.limits
        ]

    def frame(self) -> pd.DataFrame:
        """The limits as a table."""
        import pandas as pd

        return pd.DataFrame(self.rows())

    def text(self) -> str:
        """The study as plain text."""
        asked = " (stopped before its end)" if self.stopped else ""
        out = [f"{self.count:,} builds{asked}, {self.scrambles} scrambles, seed {self.seed}"]
        out += [f"  {name}: {found.text()}" for name, found in self.groups.items()]
        out += ["", "Limits"]
        out += [f"  {r['limit']}: {r['chance']}; {r['what matters most']}" for r in self.rows()]
        out += ["", "What was varied"]
        out += [f"  {one.name} ({one.status}: {one.source})" for one in self.inputs]
        return "\n".join(out)


@dataclass(frozen=True)
class _Tally:
    """What a chunk adds up to; failures by name, one number for each of its scrambles."""

    scrambles: range
    each: int
    failed: dict[str, NDArray[np.int64]]
    groups: dict[str, NDArray[np.int64]]
    bars: dict[str, NDArray[np.int64]]
    watched: dict[str, Array]
    gram: Array
    moment: dict[str, Array]
    square: dict[str, Array]
    kept: tuple[dict[str, Array], dict[str, Array]] | None

    @property
    def count(self) -> int:
        return self.each * len(self.scrambles)


Groups = Mapping[str, tuple[str, ...]]
Grouping = Groups | Callable[[Iterable[str]], Groups]  # or made of the keys there are


@dataclass(frozen=True)
class _Task:
    """Everything a chunk needs but its number."""

    judge: Judge
    inputs: tuple[Input, ...]
    groups: Grouping
    seed: int
    scrambles: int
    size: int  # builds of one scramble
    block: int  # builds of one scramble in one chunk
    beside: int  # scrambles in one chunk
    keep: int  # builds kept

    @property
    def rounds(self) -> int:
        return math.ceil(self.scrambles / self.beside)

    @property
    def chunks(self) -> int:
        return self.rounds * (self.size // self.block)

    def chunk(self, number: int) -> _Tally:
        """Judge one chunk; the scrambles take turns, so that a study cut short stays even."""
        part, turn = divmod(number, self.rounds)
        first = turn * self.beside
        scrambles = range(first, min(first + self.beside, self.scrambles))
        shares = np.concatenate(
            [
                _points(len(self.inputs), self.seed, r, part * self.block, self.block)
                for r in scrambles
            ]
        )
        numbers = _draw(self.inputs, shares)
        found, watched = self.judge(numbers)
        found = {k: np.broadcast_to(v, (len(shares),)) for k, v in found.items()}
        for key, values in found.items():
            if np.any(np.isnan(values)):
                raise fail(key, "a margin that is no number", "builds that can be worked out")
        lost = {k: v < 0.0 for k, v in found.items()}
        groups = self.groups(found) if callable(self.groups) else self.groups
        basis = _basis(self.inputs, shares)
        heads = {k: np.clip(v, -_CLIP, _CLIP) for k, v in found.items()}

        def each(these: NDArray[np.bool_]) -> NDArray[np.int64]:
            return np.sum(these.reshape(len(scrambles), -1), axis=1, dtype=np.int64)

        return _Tally(
            scrambles=scrambles,
            each=self.block,
            failed={k: each(v) for k, v in lost.items()},
            groups={
                name: each(np.any([lost[k] for k in keys], axis=0)) for name, keys in groups.items()
            },
            bars={k: _bars(v) for k, v in found.items()},
            watched={k: np.array([np.sum(v), np.sum(v * v)]) for k, v in watched.items()},
            gram=basis.T @ basis,
            moment={k: basis.T @ v for k, v in heads.items()},
            square={k: np.array([np.sum(v), np.sum(v * v)]) for k, v in heads.items()},
            kept=(numbers, found) if number * self.beside * self.block < self.keep else None,
        )


_SMALL = 64  # points of one scramble that are kept for the next study of the same seed


def _points(dimensions: int, seed: int, scramble: int, start: int, count: int) -> Array:
    """Points `start` to `start + count` of one scrambled Sobol sequence."""
    if count <= _SMALL and start == 0:
        return _kept_points(dimensions, seed, scramble, count)
    return _drawn(dimensions, seed, scramble, start, count)


@functools.lru_cache(maxsize=128)
def _kept_points(dimensions: int, seed: int, scramble: int, count: int) -> Array:
    out = _drawn(dimensions, seed, scramble, 0, count)
    out.setflags(write=False)
    return out


def _drawn(dimensions: int, seed: int, scramble: int, start: int, count: int) -> Array:
    from scipy.stats import qmc

    random = np.random.default_rng([seed, scramble])
    try:
        engine = qmc.Sobol(dimensions, scramble=True, rng=random)
    except TypeError:  # before SciPy 1.15
        engine = qmc.Sobol(dimensions, scramble=True, seed=random)
    if start:
        engine.fast_forward(start)
    tiny = 2.0**-40
    return np.clip(engine.random(count), tiny, 1.0 - tiny)


def _basis(inputs: Sequence[Input], shares: Array) -> Array:
    """One, and powers of the score of each input."""
    columns = [np.ones(len(shares))]
    for i, one in enumerate(inputs):
        score = next(iter(one.spreads.values())).score(shares[:, i])
        columns += [score, score**2 - 1.0, score**3 - 3.0 * score]
    return np.stack(columns, axis=1)


def _bars(margin: Array) -> NDArray[np.int64]:
    place = np.searchsorted(EDGES, margin, side="right")
    return np.bincount(place, minlength=len(EDGES) + 1).astype(np.int64)


def _shares(gram: Array, moment: Array, square: Array, count: int) -> Array:
    """First-order variance shares from sums over builds, one per input.

    The margin is fitted by a sum of cubics, one of each input; the inputs are independent, so the
    variance of each cubic over that of the margin is its share.
    """
    mean = gram[0] / count
    cov = gram[1:, 1:] / count - np.outer(mean[1:], mean[1:])
    y = square[0] / count
    variance = square[1] / count - y * y
    together = moment[1:] / count - mean[1:] * y
    n = len(together) // _POWERS
    if variance <= 1e-18 * max(y * y, 1.0):
        return np.zeros(n)
    factor = np.linalg.lstsq(cov, together, rcond=1e-10)[0]
    out = np.empty(n)
    for i in range(n):
        part = slice(i * _POWERS, (i + 1) * _POWERS)
        out[i] = factor[part] @ cov[part, part] @ factor[part] / variance
    return np.maximum(out, 0.0)


def _layout(count: int, most: int) -> tuple[int, int, int, int]:
    """Scrambles, builds of each (a power of two), and of these builds and scrambles in a chunk."""
    size = 1 << max(int(math.log2(count / _SCRAMBLES)), 0) if count >= _SCRAMBLES else 1
    scrambles, block = math.ceil(count / size), min(size, most)
    return scrambles, size, block, min(most // block, scrambles)


def study(
    judge: Judge,
    inputs: Sequence[Input],
    count: int = 16_384,
    seed: int = 1,
    *,
    groups: Grouping | None = None,
    confidence: float = 0.95,
    processes: int = 1,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    keep: int = 1_024,
    chunk: int = _CHUNK,
) -> Scatter:
    """Chance that the margins of any model fall below zero while its inputs scatter.

    Parameters
    ----------
    judge : takes arrays by field, gives (margins by key, other quantities by name); with more than
        one process it must be a function of a module, or picklable
    inputs : what scatters
    count : builds wanted; taken up to the next whole number of scrambles
    seed : same seed, same numbers, on any number of processes
    groups : keys that count together, by name of the group; or a function of all keys that gives
        them
    confidence : of the intervals
    processes : 1, or more for processes of their own
    progress : called with `Progress` after each chunk
    cancel : asked between chunks; once it says True, what is done is kept and returned
    keep : builds whose numbers and margins are kept
    chunk : largest number of builds in one pass; a power of two

    Returns
    -------
    Scatter

    Raises
    ------
    InputError
        for bad arguments, builds that cannot be worked out, or a cancel before anything is done.
    """
    _checked(inputs, count, seed, processes, chunk)
    chance_of([0], [1], confidence)
    task = _Task(judge, tuple(inputs), groups or {}, seed, *_layout(count, chunk), min(keep, count))
    whole = task.scrambles * task.size
    began = time.perf_counter()
    total: _Sum | None = None
    stopped = False
    walk = _here(task) if processes == 1 else _apart(task, processes)
    try:
        if cancel is not None and cancel():
            raise fail("cancel", "a stop before anything was done", "one chunk at least")
        for tally in walk:
            total = _Sum(tally) if total is None else total.add(tally)
            gone = time.perf_counter() - began
            left = gone * (whole - total.count) / total.count
            if progress is not None:
                progress(Progress(total.count, whole, gone, left))
            if cancel is not None and total.count < whole and cancel():
                stopped = True
                break
    except KeyboardInterrupt:
        if total is None:
            raise
        stopped = True
    finally:
        walk.close()
    assert total is not None
    return total.result(task, confidence, stopped, time.perf_counter() - began)


def _checked(inputs: Sequence[Input], count: int, seed: int, processes: int, chunk: int) -> None:
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
        ("processes", processes, 1, 64),
        ("chunk", chunk, 1, 65_536),
    ):
        whole = isinstance(value, (int, np.integer)) and not isinstance(value, bool)
        if not whole or not low <= value <= high:
            faults.append(Fault(name, f"{value}", f"a whole number from {low} to {high}"))
        elif name == "chunk" and value & (value - 1):
            faults.append(Fault(name, f"{value}", "a power of two"))
    if faults:
        raise InputError(faults)


def _here(task: _Task) -> Generator[_Tally, None, None]:
    for number in range(task.chunks):
        yield task.chunk(number)


_mine: _Task | None = None


def _start(task: _Task) -> None:
    global _mine
    _mine = task


def _chunk(number: int) -> _Tally:
    assert _mine is not None
    return _mine.chunk(number)


def _apart(task: _Task, processes: int) -> Generator[_Tally, None, None]:
    """The chunks in their order, worked out in processes of their own, a few ahead."""
    import multiprocessing
    from concurrent.futures import Future, ProcessPoolExecutor

    with ProcessPoolExecutor(
        processes, multiprocessing.get_context("spawn"), initializer=_start, initargs=(task,)
    ) as pool:
        waiting: deque[Future[_Tally]] = deque()
        try:
            for number in range(task.chunks):
                waiting.append(pool.submit(_chunk, number))
                if len(waiting) >= 2 * processes:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


class _Sum:
    """Tallies added up in the order of their chunks."""

    def __init__(self, first: _Tally):
        self.tally = first
        self.count = 0
        self.by: dict[int, _Counts] = {}
        self.kept: list[tuple[dict[str, Array], dict[str, Array]]] = []
        self._place(first)

    def _place(self, t: _Tally) -> None:
        self.count += t.count
        if t.kept:
            self.kept.append(t.kept)
        for place, scramble in enumerate(t.scrambles):
            here = self.by.setdefault(scramble, _Counts())
            here.count += t.each
            for name, values in (
                *t.failed.items(),
                *((f"{_GROUP}{k}", v) for k, v in t.groups.items()),
            ):
                here.failed[name] = here.failed.get(name, 0) + int(values[place])

    def add(self, t: _Tally) -> _Sum:
        a = self.tally
        self.tally = replace(
            a,
            bars={k: a.bars[k] + t.bars[k] for k in a.bars},
            watched={k: a.watched[k] + t.watched[k] for k in a.watched},
            gram=a.gram + t.gram,
            moment={k: a.moment[k] + t.moment[k] for k in a.moment},
            square={k: a.square[k] + t.square[k] for k in a.square},
            kept=None,
        )
        self._place(t)
        return self

    def chance(self, name: str, confidence: float) -> Chance:
        """Of a key, or of a group (with its mark before the name)."""
        order = sorted(self.by)
        return chance_of(
            [self.by[r].failed[name] for r in order],
            [self.by[r].count for r in order],
            confidence,
        )

    def result(self, task: _Task, confidence: float, stopped: bool, seconds: float) -> Scatter:
        t = self.tally
        names = [one.name for one in task.inputs]
        limits = []
        for key in t.failed:
            part = _shares(t.gram, t.moment[key], t.square[key], self.count)
            order = sorted(zip(names, map(float, part), strict=True), key=lambda x: -x[1])
            limits.append(LimitChance(key, key, None, self.chance(key, confidence), tuple(order)))
        limits.sort(key=lambda r: (-r.chance.chance, _lower(t.bars[r.key])))
        watched = {}
        for key, (total, squares) in t.watched.items():
            mean = float(total / self.count)
            spread_ = max(float(squares / self.count) - mean * mean, 0.0)
            watched[key] = (mean, math.sqrt(spread_ * self.count / max(self.count - 1, 1)))
        return Scatter(
            inputs=task.inputs,
            limits=tuple(limits),
            groups={k: self.chance(f"{_GROUP}{k}", confidence) for k in t.groups},
            watched=watched,
            count=self.count,
            scrambles=len(self.by),
            seed=task.seed,
            stopped=stopped,
            numbers=_joined([k[0] for k in self.kept]),
            margins=_joined([k[1] for k in self.kept]),
            histograms=t.bars,
            seconds=seconds,
        )


class _Counts:
    def __init__(self) -> None:
        self.count = 0
        self.failed: dict[str, int] = {}


def _lower(bars: NDArray[np.int64]) -> float:
    """Mean place of the bars: rows that never fail are told nearest to failing first."""
    return float(np.sum(bars * np.arange(len(bars))) / np.sum(bars))


def _joined(parts: list[dict[str, Array]]) -> dict[str, Array]:
    return {k: np.concatenate([p[k] for p in parts]) for k in parts[0]}


# --------------------------------------------------------------------------- studies of a sheet
def run(
    build: Build,
    inputs: Sequence[Input] | None = None,
    count: int = 16_384,
    seed: int = 1,
    *,
    middle: bool = True,
    **how: Any,
) -> Scatter:
    """Chance that each limit of a build is passed, one bore at a time.

    Parameters
    ----------
    build : a checked build sheet
    inputs : what scatters; `usual` if not given
    count, seed, how : as in `study`
    middle : whether to work out each limit in the middle of all spreads too, with its words; False
        saves that pass, and leaves `limit` None and the key in place of the words

    Returns
    -------
    Scatter; its groups are "gas leak", "liquid leak" (wet deck), "damage" and "any limit"

    Raises
    ------
    InputError
        as `study`, or naming what cannot be worked out.
    """
    made = tuple(usual(build) if inputs is None else inputs)
    _checked(made, count, seed, 1, 1)
    paths = [p for one in made for p in one.spreads]
    for path in paths:
        if path not in analysis.VARIABLE:
            raise fail("inputs", path, f"fields out of {quoted(analysis.VARIABLE)}")
    judge = _Builds(build, paths)
    words = judge.words(made) if middle else ()
    how.setdefault("chunk", _CHUNK if judge.mean is not None else _CYCLE_CHUNK)
    out = study(judge, made, count, seed, groups=_ByWhatFails(build), **how)
    if not middle:
        return replace(out, build=build)
    by = {row.key: _middle(row) for row in words}
    limits = tuple(replace(r, what=by[r.key].what, limit=by[r.key]) for r in out.limits)
    return replace(out, limits=limits, build=build)


def _middle(row: Limit) -> Limit:
    """A limit with the numbers of one build, out of a pair alike."""
    demand, capacity = (float(np.ravel(x)[0]) for x in (row.demand, row.capacity))
    return replace(row, demand=demand, capacity=capacity)


class _ByWhatFails:
    """Sorts the keys of limits into gas leak, liquid leak and damage; goes to other processes."""

    def __init__(self, build: Build):
        self.seals = {z.name for z in analysis.gasket_of(build).seals}

    def __call__(self, keys: Iterable[str]) -> dict[str, tuple[str, ...]]:
        keys = tuple(keys)
        out: dict[str, tuple[str, ...]] = {GAS: (), LIQUID: (), DAMAGE: ()}
        for key in keys:
            head, _, tail = key.partition("/")
            if head == "liquid":
                name = LIQUID
            elif head in ("residual", "springback", "lift-off", "blow-out") or (
                head == "seating" and tail in self.seals
            ):
                name = GAS
            else:
                name = DAMAGE
            out[name] += (key,)
        found = {k: v for k, v in out.items() if v}
        return {**found, ANY: keys}


def groups(build: Build, keys: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """The keys of limits by what happens where they fail: names of the groups of `run`."""
    return _ByWhatFails(build)(keys)


@dataclass(frozen=True)
class EngineChance:
    """Chance that one engine leaks gas, from that of its bores.

    Parameters
    ----------
    bores : of the engine, each taken as the one with the fewest fasteners
    bore : of one bore
    apart : of the engine if every bore scatters for itself
    alike : of the engine if all bores share friction, wrench, gaskets and temperatures, and only
        their peaks differ: then the bore with the highest peak decides
    scatter : the study of one bore
    """

    bores: int
    bore: Chance
    apart: Chance
    alike: Chance
    scatter: Scatter

    def text(self) -> str:
        """In one line."""
        if self.bores == 1:
            return self.bore.text()
        return (
            f"{self.apart.text()} if each of {self.bores} bores scatters for itself; "
            f"{self.alike.text()} if all have one friction, wrench and gasket batch"
        )

    def rows(self) -> list[tuple[str, str]]:
        """(what, in words) for the report."""
        s = self.scatter
        trust = tables.weakest(*(one.status for one in s.inputs))
        out = [("one bore", self.bore.text())]
        if self.bores > 1:
            out += [
                (f"engine, each of {self.bores} bores for itself", self.apart.text()),
                ("engine, all bores of one friction, wrench and gasket batch", self.alike.text()),
            ]
        likely = next((r for r in s.limits if r.chance.failed), None)
        if likely is not None:
            parts = [f"{n} {100 * x:.0f} %" for n, x in likely.shares[:3] if x >= 0.01]
            what = f"{likely.what}: {likely.chance.text()}"
            out.append(("likeliest of all limits", "; ".join([what, *parts])))
        varied = ", ".join(one.name for one in s.inputs)
        return [
            *out,
            ("varied from build to build", f"{varied} (weakest source: {trust})"),
            (
                "left out",
                "errors of the model, strengths other than the table's, a deck that is not flat, "
                "fasteners round one bore that differ",
            ),
        ]


def chance(
    report: Report, count: int = _LINE, seed: int = 1, inputs: Sequence[Input] | None = None
) -> EngineChance:
    """Chance that one engine leaks gas, with its interval (a small study, on demand).

    Parameters
    ----------
    report : of the build
    count, seed : as in `study`
    inputs : what scatters; if not given, `usual` but for the gasket's thickness where that gives
        each build a cycle of its own

    Returns
    -------
    EngineChance

    Raises
    ------
    InputError
        as `run`.
    """
    build = report.build
    bores = build.engine.cylinders
    made = tuple(usual(build) if inputs is None else inputs)
    if inputs is None:
        made = tuple(x for x in made if not analysis.moves_the_cycle(build, x.spreads))
    one = run(build, made, count, seed)
    bore = one.groups[GAS]
    alike = bore if bores == 1 else run(build, _peaks_of(made, bores), count, seed).groups[GAS]
    return EngineChance(bores, bore, bore.any_of(bores), alike, one)


def _peaks_of(inputs: Sequence[Input], bores: int) -> tuple[Input, ...]:
    """The same inputs with the highest peak of all bores instead of one."""

    def more(law: Distribution) -> Distribution:
        return Highest(law.cycles * bores) if isinstance(law, Highest) else law

    return tuple(
        replace(one, spreads={k: more(v) for k, v in one.spreads.items()}) for one in inputs
    )


# --------------------------------------------------------------------------- side by side
def by_method(build: Build, method: str) -> Build:
    """The same build tightened another way to the same mean preload.

    Parameters
    ----------
    build : a checked build sheet
    method : "torque", "torque and angle" (snug at 0.3 of the torque) or "stretch"

    Returns
    -------
    Build that states no scatter, so that the method's own holds

    Raises
    ------
    InputError
        for another method.
    """
    if method not in METHODS:
        raise fail("method", method, f"one of {quoted(METHODS)}{near(method, METHODS)}")
    clamp, joint = analysis.clamp_side(build, analysis.gasket_of(build))
    f = build.fasteners
    force = float(clamp.preload.assembly) / f.preload_factor
    t = clamp.thread
    torque = float(
        tightening.torque_long.si(
            force,
            t.diameter,
            t.pitch,
            clamp.friction_thread,
            clamp.friction_head,
            t.pitch_diameter,
            f.bearing_diameter,
            f.hole_diameter,
        )
    )
    changes: dict[str, Any] = {"tightening": method, "preload_scatter": None}
    changes |= {"torque": None, "angle": None, "stretch": None}
    if method == "stretch":
        changes["stretch"] = force / clamp.bolt_stiffness
    elif method == "torque":
        changes["torque"] = torque
    else:
        turn = joint.advance(force) - joint.advance(_SNUG * force)
        changes["torque"] = _SNUG * torque
        changes["angle"] = float(2 * np.pi * turn / t.pitch)
    return build.vary_si({f"fasteners.{key}": value for key, value in changes.items()})


def compare_methods(
    build: Build,
    methods: Sequence[str] = METHODS,
    count: int = 4_096,
    seed: int = 1,
    preload: str = "parts",
    **how: Any,
) -> dict[str, Scatter]:
    """The same mean preload reached in several ways: chance of every limit, spread of the preload.

    Parameters
    ----------
    build : a checked build sheet
    methods : ways of tightening (`by_method`)
    count, seed, how : as in `study`
    preload : as in `usual`

    Returns
    -------
    Scatter by method; ``watched["preload"]`` has mean and standard deviation
    """
    made = {m: by_method(build, m) for m in methods}
    return {m: run(b, usual(b, preload), count, seed, **how) for m, b in made.items()}


@dataclass(frozen=True)
class Swept:
    """Chances of a group over a field of the sheet: `values` plain SI, arrays of one length."""

    path: str
    values: Array
    chance: Mapping[str, Array]
    low: Mapping[str, Array]
    high: Mapping[str, Array]


def sweep(
    build: Build,
    path: str,
    values: Sequence[Any],
    count: int = 2_048,
    seed: int = 1,
    preload: str | None = None,
    **how: Any,
) -> Swept:
    """Chance of gas leak, liquid leak, damage and any limit over a field, such as the torque.

    All points use the same draws, so that the curve shows the field and not the draw.

    Parameters
    ----------
    build : a checked build sheet
    path : dotted name of a field of the sheet
    values : as written on the sheet, such as ``["100 N*m", "120 N*m"]``
    count, seed, how : as in `study`
    preload : as in `usual`

    Returns
    -------
    Swept
    """
    if not len(values):
        raise fail("values", "nothing", f"values of {path}, as on the sheet")
    made = [build.vary({path: value}) for value in values]
    found = [run(b, usual(b, preload), count, seed, **how).groups for b in made]
    names = [k for k in found[0] if all(k in g for g in found)]
    return Swept(
        path,
        np.array([_plain(b.get(path)) for b in made]),
        *({k: np.array([getattr(g[k], end) for g in found]) for k in names} for end in _ENDS),
    )


_ENDS = ("chance", "low", "high")


def _plain(value: Any) -> float:
    return float(getattr(value, "magnitude", value))
