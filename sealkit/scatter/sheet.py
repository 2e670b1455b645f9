"""Studies of a build sheet: every limit over many builds, and how likely an engine leaks.

Each build draws its own friction, wrench, settling, gasket, temperatures and highest peak, and goes
through the very steps of the report (`sealkit.analysis`), all builds of a chunk in one pass: those
of the average joint, from there to the weakest place of the deck map where the sheet's own map is
at hand (`carried_over`, `sealkit.analysis.carried`).

What the probability leaves out: errors of the model itself, strengths above or below their table
value, a deck that is not flat, a fastener that differs from its neighbours round the same bore.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit import analysis, tables
from sealkit.analysis import margins
from sealkit.analysis.carried import Carried
from sealkit.arrays import Array
from sealkit.build import Build
from sealkit.errors import fail, quoted
from sealkit.report import Report
from sealkit.resources import beside
from sealkit.scatter.carrying import carried_over
from sealkit.scatter.distributions import Highest
from sealkit.scatter.inputs import Input, one_cycle, usual
from sealkit.scatter.probability import Probability
from sealkit.scatter.result import Scatter
from sealkit.scatter.study import CHUNK, Judged, checked, draw, study
from sealkit.sealing.limit import DAMAGE, GAS_LEAK, LIQUID_LEAK, Limit

_WORDS: dict[str, str] = beside(__file__)
ANY = "any limit"
_CYCLE_CHUNK = 256  # builds in one pass where each has a cycle of its own
_FEW = 1024  # builds behind the line of a report
_ONE_IN = "burn.one_cycle_in"
_OF_ALL = "highest peak of all bores"  # one cycle in how many passes it, beside that of one bore


def judge_builds(
    build: Build,
    numbers: Mapping[str, ArrayLike],
    mean: analysis.Mean | None = None,
    carried: Carried | None = None,
) -> tuple[tuple[Limit, ...], dict[str, Array], Callable[[ArrayLike], tuple[Limit, ...]]]:
    """The limits the report judges, for many builds at once, with preload and peak pressure.

    Returns (limits, watched, leaks): one limit of each key (cold or hot, whichever is worse),
    arrays over builds; a limit that is not judged in a build asks for nothing there. "preload" N,
    "highest peak" Pa. `leaks` are those of a gas leak at peaks that one in so many cycles passes;
    the joint is not worked out anew for them: its low end, which leaks, does not depend on the
    peak. Raises InputError for a field that cannot vary, lists of unequal length, or builds
    that cannot be worked out.

    Parameters
    ----------
    mean : mean cycle of the sheet, where it is worked out already
    carried : what the deck map says of the sheet (`carried_over`)
    """
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
    cycle = mean

    def over(builds: Build) -> Array:
        peak = np.asarray(analysis.sized_on(builds, cycle).pressure, dtype=float)
        return np.broadcast_to(np.asarray(analysis.over_air(peak, cycle.ambient)), (count,))

    pressure = over(many)
    case, _ = analysis.judged(many, pressure, carried)

    def leaks(one_in: ArrayLike) -> tuple[Limit, ...]:
        rarer = over(analysis.with_numbers(many, {_ONE_IN: one_in}))
        low = tuple(replace(h, high=None) for h in case.heated)
        sealing = replace(case, heated=low, others=(), lifted=lambda under: ())
        rows = margins.worse(margins.limits(sealing, rarer))
        return tuple(r for r in rows if r.failure == GAS_LEAK)

    rows = margins.worse(margins.limits(case, pressure))
    preload = np.broadcast_to(case.clamp.ends[1], (count,))
    watched = {
        "preload": np.asarray(preload, dtype=float),
        "highest peak": pressure + cycle.ambient,
    }
    return rows, watched, leaks


class _Builds:
    """Judges the builds of one sheet."""

    def __init__(self, build: Build, paths: Sequence[str], carried: Carried | None):
        # each build has one preload of its own: the report's two ends come together
        self.build, self.carried = analysis.with_one_preload(build), carried
        self.mean: analysis.Mean | None = None
        if not analysis.moves_the_cycle(build, paths):
            mean = analysis.kept_cycle(build)
            slim = replace(mean.cycle, peak_pressure=float(mean.cycle.peak_pressure))
            self.mean = replace(mean, cycle=slim)

    def __call__(self, numbers: dict[str, Array]) -> Judged:
        rarer = numbers.pop(_OF_ALL, None)
        rows, watched, leaks = judge_builds(self.build, numbers, self.mean, self.carried)
        groups = {
            name: tuple(r.key for r in rows if r.failure == name)
            for name in (GAS_LEAK, LIQUID_LEAK, DAMAGE)
        }
        groups = {name: keys for name, keys in groups.items() if keys}
        margin = {r.key: np.asarray(r.margin, dtype=float) for r in rows}
        least = {}
        if rarer is not None:
            least[_OF_ALL] = np.min(np.broadcast_arrays(*(r.margin for r in leaks(rarer))), axis=0)
        return Judged(margin, watched, {**groups, ANY: tuple(margin)}, least)

    def middle(self, inputs: Sequence[Input]) -> dict[str, Limit]:
        """The limits by key in the middle of all spreads, from a pair of builds alike."""
        numbers = draw(inputs, np.full((2, len(inputs)), 0.5))
        numbers.pop(_OF_ALL, None)
        rows = judge_builds(self.build, numbers, self.mean, self.carried)[0]
        first = lambda x: float(np.ravel(x)[0])  # noqa: E731
        return {
            r.key: replace(
                r, demand=first(r.demand), capacity=first(r.capacity), missing=first(r.missing)
            )
            for r in rows
        }


def run(
    build: Build,
    inputs: Sequence[Input] | None = None,
    count: int = 16_384,
    seed: int = 1,
    *,
    known: Mapping[str, Limit] | None = None,
    carried: Carried | None = None,
    **how: Any,
) -> Scatter:
    """Probability that each limit of a build is passed, one bore at a time.

    Returns Scatter; its groups are "gas leak", "liquid leak" (wet deck), "damage" and "any limit".
    Raises InputError as `study`, or naming what cannot be worked out.

    Parameters
    ----------
    inputs : what scatters; `usual` if not given
    count, seed, how : as in `study`
    known : limits by key that have the words; where none are given, each is worked out in the
        middle of all spreads too. Of a limit that is not there `limit` is None, its key is told
    carried : what the deck map says of the sheet (`carried_over`); None: the average joint counts
    """
    varied = tuple(usual(build) if inputs is None else inputs)
    checked(varied, count, seed)
    paths = [p for one in varied for p in one.spreads]
    for path in paths:
        if path not in (*analysis.VARIABLE, _OF_ALL):
            raise fail("inputs", path, f"fields out of {quoted(analysis.VARIABLE)}")
    judge = _Builds(build, paths, carried)
    limits = judge.middle(varied) if known is None else known
    how.setdefault("chunk", CHUNK if judge.mean is not None else _CYCLE_CHUNK)
    out = study(judge, varied, count, seed, **how)
    rows = tuple(replace(r, limit=limits.get(r.key)) for r in out.limits)
    return replace(out, limits=rows, build=build)


@dataclass(frozen=True)
class LeakProbability:
    """Probability that one engine leaks gas, from that of its bores."""

    # of the engine, each taken as the worst: with the fewest fasteners, or on the deck map with the
    # weakest place
    bores: int
    bore: Probability  # of one bore
    apart: Probability  # of the engine if every bore scatters for itself
    # of the engine if all bores share friction, wrench, gaskets and temperatures, and only their
    # peaks differ: then the bore with the highest peak decides
    alike: Probability
    scatter: Scatter  # the study of one bore
    mapped: bool  # whether it stands on the deck map, as the verdict does, or on the average joint

    @property
    def each(self) -> list[tuple[str, Probability]]:
        """By name: that of a bore, and where there is more than one those of the engine."""
        engine = [("apart", self.apart), ("alike", self.alike)]
        return [("bore", self.bore), *(engine if self.bores > 1 else [])]

    def rows(self, system: str = "metric") -> list[tuple[str, str]]:
        """(what, in words) for the report."""
        s, w = self.scatter, _WORDS
        keys = {"bore": "one"} if self.bores == 1 else {}
        out = [(w[keys.get(k, k)].format(bores=self.bores), p.text()) for k, p in self.each]
        likely = next((r for r in s.limits if r.failure.failed), None)
        if likely is not None:
            what = f"{likely.title_in(system)}: {likely.failure.text()}"
            out.append((w["likeliest"], f"{what}; what moves it: {likely.moved_by}"))
        varied = ", ".join(one.name for one in s.inputs)
        trust = tables.weakest(*(one.status for one in s.inputs))
        return [
            *out,
            ("stands on", w["mapped" if self.mapped else "average"]),
            (w["varied"], f"{varied} (weakest source: {trust})"),
            ("left out", w["left_out"]),
        ]


def leak_probability(report: Report) -> LeakProbability:
    """Probability that one engine leaks gas, with its interval (a small study, on demand).

    Scatters what `one_cycle` says. Raises InputError as `run`.
    """
    build = report.build
    bores = build.engine.cylinders
    drawn = one_cycle(build)
    if bores > 1:  # beside the highest peak of a bore goes that of all bores
        rare = {x.name: law for x in drawn if isinstance(law := x.spreads.get(_ONE_IN), Highest)}
        of_all = {name: {_OF_ALL: Highest(law.cycles * bores)} for name, law in rare.items()}
        drawn = tuple(replace(x, spreads={**x.spreads, **of_all.get(x.name, {})}) for x in drawn)
    carried = carried_over(report)
    known = {row.key: row for row in report.average.limits}
    one = run(build, drawn, _FEW, known=known, carried=carried)
    bore = one.groups[GAS_LEAK]
    alike = one.groups.get(_OF_ALL, bore)
    return LeakProbability(bores, bore, bore.any_of(bores), alike, one, carried is not None)
