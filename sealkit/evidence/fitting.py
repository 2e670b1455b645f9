"""The fit: what is not known of a build, moved as far as the evidence says.

Least squares of all residuals and of every parameter's own distance from what the report takes,
each over its standard deviation: the most likely build where all of these are normal. How well it
is known then follows from the slopes there, cov = (JᵀJ)⁻¹, exact where the slopes do not change.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sealkit import tables
from sealkit.analysis import VARIABLE, scatter_of
from sealkit.analysis.carried import Carried
from sealkit.build import Build, Reading
from sealkit.build.evidence import NOT_MEASURED, outlier_of, sample_of, step_of
from sealkit.build.fields import FIELDS
from sealkit.errors import Fault, InputError, fail
from sealkit.evidence.predict import Evidence, Rows, judged_on
from sealkit.evidence.priors import Parameter, at, parameters
from sealkit.evidence.trace import CylinderPressure
from sealkit.units import KINDS, show, show_value

Array = NDArray[np.float64]
MANY = frozenset(VARIABLE)
TOLD = 0.9  # a parameter known no better than this share of before is not told by the evidence
_ALONG = 0.1  # standard deviations from which a parameter that goes along is moved
_FAR = 2.5  # standard deviations of before
_STOPS = 5.0  # standard deviations that a reading is off for good, from which nothing is fitted
_TIED = 0.7  # correlation from which two are known together only
_ODD = 3.0  # standard deviations from which a reading is named as one that does not fit
_SURE = 0.99  # evidence further off than this chance leaves does not fit
_TELLS = 0.1  # of the steepest, from which evidence is named as telling of a parameter
_SCATTER = "fasteners.preload_scatter"
_LOOKED = 3  # readings at the most that are left out one by one
GAIN = 0.05  # of a pressure sensor, for which it is told what it does
DOUBT = "the readings do not fit together: look at them first"
YIELDED = "a fastener that stays longer has yielded: do not use it again"
_STEP = 0.05  # of a parameter's standard deviation, for slopes


@dataclass(frozen=True)
class Misfit:
    """How evidence of one kind fits.

    Parameters
    ----------
    kind : in words
    count : of values that are independent of each other
    before, after : sum of squared residuals before and after the fit
    against : the same against what all else says, how well that is known counted in
    worst : the largest of those after the fit, not squared
    """

    kind: str
    count: int
    before: float
    after: float
    against: float
    worst: float

    @property
    def _far(self) -> float:
        """The worst over the worst that chance leaves of so many."""
        from scipy.special import ndtri

        return self.worst / float(ndtri(1.0 - 0.5 * (1.0 - _SURE) / self.count))

    @property
    def fits(self) -> bool:
        """Whether all of it may be chance, by the chi-squared law, and the worst one too."""
        from scipy.special import gammaincinv

        limit = 2.0 * float(gammaincinv(0.5 * self.count, _SURE))
        return self.against <= limit and self._far <= 1.0

    @property
    def wider(self) -> float:
        """By how much what it tells is widened, so that evidence at odds does not seem sure."""
        return 1.0 if self.fits else max(float(np.sqrt(self.against / self.count)), self._far)


class Read(NamedTuple):
    """A reading beside what the sheet says of it before the fit and after.

    Parameters
    ----------
    reading : of the sheet
    before, after : what the sheet says, plain SI; of a kind without a value a share
    off_before, off_after : reading less that, over the standard deviation of one such reading
    """

    reading: Reading
    before: float
    after: float
    off_before: float
    off_after: float


class Moved(NamedTuple):
    """A field that the fit moved, before and after, each with two standard deviations (plain SI).

    `by` says what tells of it; empty where it goes along with others.
    """

    field: str
    before: float
    half_before: float
    after: float
    half_after: float
    by: str

    @property
    def unit(self) -> str:
        """SI unit of the numbers; empty for a plain one."""
        return KINDS[FIELDS[self.field].kind].si


@dataclass(frozen=True)
class Fit:
    """What a fit found.

    Parameters
    ----------
    build : the sheet before
    evidence : what it was fitted to
    parameters : what it could move
    z : where each came to, in standard deviations of before
    covariance : of z
    slopes : of the residuals of each evidence over z
    off, left : residuals of each evidence before and after
    """

    build: Build
    evidence: tuple[Evidence, ...]
    parameters: tuple[Parameter, ...]
    z: Array
    covariance: Array
    slopes: tuple[Array, ...]
    off: tuple[Array, ...]
    left: tuple[Array, ...]

    @functools.cached_property
    def deviation(self) -> Array:
        """Standard deviation of each parameter, over that of before, which it never passes.

        What evidence tells that does not fit is widened.
        """
        wider = {m.kind: m.wider for m in self.misfits}
        by = [max([1.0, *(wider[k] for k in self.told_by(i))]) for i in range(len(self.z))]
        return np.minimum(np.sqrt(np.diag(self.covariance)) * by, 1.0)

    @property
    def learnt(self) -> list[int]:
        """Places of the parameters that the evidence tells of."""
        return [i for i, wide in enumerate(self.deviation) if wide < TOLD]

    @property
    def moved(self) -> list[int]:
        """Places of those, and of the ones that go along with them though no better known."""
        along = {i for i, z in enumerate(self.z) if abs(z) > _ALONG}
        return sorted(along.union(self.learnt))

    @property
    def along(self) -> list[Parameter]:
        """Parameters that go along with others and are no better known than before."""
        return [self.parameters[i] for i in self.moved if i not in self.learnt]

    @property
    def untold(self) -> list[Parameter]:
        """Parameters of which it says next to nothing: they stay as they were."""
        return [p for i, p in enumerate(self.parameters) if i not in self.moved]

    @property
    def tied(self) -> list[tuple[Parameter, Parameter, float]]:
        """Pairs that are known together only, with their correlation, the closest first."""
        wide = np.sqrt(np.diag(self.covariance))
        pairs = [
            (p, self.parameters[j], float(self.covariance[i, j] / (wide[i] * wide[j])))
            for i, p in enumerate(self.parameters)
            for j in range(i)
        ]
        return sorted((x for x in pairs if abs(x[2]) > _TIED), key=lambda x: -abs(x[2]))

    @functools.cached_property
    def misfits(self) -> list[Misfit]:
        """How each kind of evidence fits."""
        out, every = [], np.linalg.inv(self.covariance)
        for kind in dict.fromkeys(one.kind for one in self.evidence):
            of = [i for i, one in enumerate(self.evidence) if one.kind == kind]
            before, after, rise = (
                np.concatenate([self.evidence[i].together(each[i]) for i in of])
                for each in (self.off, self.left, self.slopes)
            )
            # residuals have the covariance 1 - J P Jᵀ; its inverse by what is known without them
            pull, rest = rise.T @ after, every - rise.T @ rise
            against = after @ after + pull @ np.linalg.solve(rest, pull)
            count = sum(self.evidence[i].values for i in of)
            squares = (float(before @ before), float(after @ after), float(against))
            out.append(Misfit(kind, count, *squares, float(np.abs(after).max())))
        return out

    @property
    def fits(self) -> bool:
        """Whether all of the evidence fits together."""
        return all(m.fits for m in self.misfits) and not (self.contrary or self.outliers)

    @property
    def outliers(self) -> list[tuple[Reading, int]]:
        """Preloads that do not belong to the others at their torque, and how many those are."""
        found = ((outlier_of(one.readings), len(one.readings) - 1) for one in self.rows)
        return [(row, others) for row, others in found if row is not None]

    @functools.cached_property
    def yielded(self) -> list[Read]:
        """Readings of fasteners that stayed longer by more than what the reading may be off."""
        return [x for x in self.read if _stayed_longer(x.reading)]

    @property
    def doubt(self) -> str:
        """What stands against the verdict of the fitted sheet, which may itself mean to yield."""
        if any(x.before < x.reading.deviation for x in self.yielded):
            return YIELDED
        return "" if self.fits else DOUBT

    @functools.cached_property
    def contrary(self) -> list[tuple[Reading, Reading]]:
        """Of each test the least that failed and the most that held, where that is surely more."""
        out, every = [], [row for one in self.rows for row in one.readings if row.row["tells"]]
        for test in dict.fromkeys(row.row["by"] for row in every):
            rows = [row for row in every if row.row["by"] == test]
            failed = min(filter(_failed, rows), key=lambda x: x.at or 0.0, default=None)
            held = max((x for x in rows if not _failed(x)), key=lambda x: x.at or 0.0, default=None)
            if failed and held and failed.at is not None and held.at is not None:
                unsure = np.hypot(failed.at * failed.deviation, held.at * held.deviation)
                if held.at - failed.at > 2.0 * unsure:
                    out.append((failed, held))
        return out

    @property
    def rows(self) -> list[Rows]:
        """The evidence that is readings of the sheet."""
        return [one for one in self.evidence if isinstance(one, Rows)]

    @functools.cached_property
    def read(self) -> list[Read]:
        """Every reading beside what the sheet says of it."""
        out, builds = [], (self.build, at(self.build, list(self.parameters), self.z))
        for one in self.rows:
            says = [np.resize(one.predicted(build), len(one.readings)) for build in builds]
            off = [-one.residuals(build, alone=True) for build in builds]
            each = zip(one.readings, *says, *off, strict=True)
            out += [Read(row, *(float(x) for x in told)) for row, *told in each]
        return out

    @functools.cached_property
    def apart(self) -> list[tuple[Read, float]]:
        """Readings with how far each is from all else, the furthest first.

        In standard deviations, how well all else is known counted in: left out, it takes the square
        of that off the sum of squared residuals.
        """
        far: list[float] = []
        for one, left, rise in zip(self.evidence, self.left, self.slopes, strict=True):
            if isinstance(one, Rows):
                free = 1.0 - np.einsum("ij,jk,ik->i", rise, self.covariance, rise)
                far += (np.abs(left) / np.sqrt(np.maximum(free, 1e-9))).tolist()
        return sorted(zip(self.read, far, strict=True), key=lambda x: -x[1])

    @property
    def odd(self) -> list[tuple[Read, float]]:
        """Those that do not fit."""
        return [x for x in self.apart if x[1] > _ODD]

    @functools.cached_property
    def mending(self) -> list[Reading]:
        """Of the readings that do not fit those without any one of which all the rest does."""
        return _mending(self, len(self.odd), lambda found: not found.fits)

    @functools.cached_property
    def gain(self) -> list[tuple[str, Moved, float]]:
        """What a gain `GAIN` too high of the sensor of each log would mean, which no log tells.

        Name of the log, the field that it moves most, as fitted and as it would then be, and by how
        many standard deviations the log would differ: residuals r + dr of the log put right and
        slopes J move z by -P Jᵀ dr.
        """
        out, here = [], at(self.build, list(self.parameters), self.z)
        for one, steep in zip(self.evidence, self.slopes, strict=True):
            if isinstance(one, CylinderPressure):
                more = one.with_gain(-GAIN / (1.0 + GAIN)).residuals(here) - one.residuals(here)
                turn = -self.covariance @ steep.T @ more
                i = int(np.argmax(np.abs(turn)))
                ends = (self.parameters[i].numbers(z) for z in (self.z[i], self.z[i] + turn[i]))
                (path, now), (_, then) = (next(iter(x.items())) for x in ends)
                worse = float(np.linalg.norm(one.together((more + steep @ turn)[:, None])))
                field = Moved(path, float(now), 0.0, float(then), 0.0, one.kind)
                out.append((one.log.name, field, worse))
        return out

    @property
    def equal(self) -> list[tuple[Reading, int]]:
        """Readings that stand on the sheet more than once, and how often."""
        same: dict[tuple[Any, ...], list[Reading]] = {}
        for r in (r for one in self.rows for r in one.readings):
            same.setdefault((r.kind, r.at, r.spot, r.value, r.note), []).append(r)
        return [(rows[0], len(rows)) for rows in same.values() if len(rows) > 1]

    @property
    def far(self) -> list[tuple[Parameter, float]]:
        """Parameters that came out further off than anybody would have thought, and how far."""
        return [
            (p, float(z)) for p, z in zip(self.parameters, self.z, strict=True) if abs(z) > _FAR
        ]

    def told_by(self, i: int) -> list[str]:
        """Kinds of evidence that tell of a parameter, by its place."""
        steep = [float(np.linalg.norm(rows[:, i])) for rows in self.slopes]
        told = (
            e.kind for e, x in zip(self.evidence, steep, strict=True) if x > _TELLS * max(steep)
        )
        return list(dict.fromkeys(told))

    def _with_files(self, kind: str) -> str:
        """A kind of evidence, with the names of the files it came in."""
        every = [one for one in self.evidence if one.kind == kind]
        files = ", ".join(name for one in every for name in getattr(one, "files", ()))
        return f"{kind} ({files})" if files else kind

    @functools.cached_property
    def scatter(self) -> tuple[float, float, str] | None:
        """Scatter of the preload, its half-width and what tells it, if enough fasteners were read.

        Where each of a head has its stretch the one furthest from the mean, with what the reading
        may be off; else a sample of preloads at a torque, of a sheet tightened by torque.
        """
        for one in self.rows:
            if one.kind == "bolt stretch" and len(one.readings) >= self.build.fasteners.on_head:
                values = np.array([r.value for r in one.readings])
                middle, wide = float(values.mean()), 2.0 * max(r.deviation for r in one.readings)
                furthest = float(np.max(np.abs(values - middle)))
                return (furthest + wide) / middle, wide / middle, f"{one.kind} of every fastener"
        for one in self.rows if self.build.fasteners.tightening == "torque" else ():
            if found := sample_of(one.readings):
                return found.share, found.half, f"{one.kind} of {len(one.readings)} fasteners"
        return None

    @functools.cached_property
    def told(self) -> list[Moved]:
        """Every field that was moved, and the scatter of the preload where that was read."""
        out = []
        for i in self.moved:
            one, wide = self.parameters[i], 2.0 * float(self.deviation[i])
            by = ", ".join(map(self._with_files, self.told_by(i))) if i in self.learnt else ""
            for path, value in one.numbers(self.z[i]).items():
                step, old = one.step[path], one.middle[path]
                out.append(Moved(path, old, 2.0 * step, float(value), wide * step, by))
        if self.scatter is not None:
            before = float(scatter_of(self.build)[0])
            out.append(Moved(_SCATTER, before, 0.0, *self.scatter))
        return out

    @functools.cached_property
    def before(self) -> Build:
        """The sheet with what was not known of the fields that it tells of, as before any reading.

        So that its bands count the same fields as those of `after`. What the report has another
        choice for is there already.
        """
        table = tables.load("alternatives")
        told = [m for m in self.told if m.by and m.half_before and m.field not in table]
        doubt = YIELDED if self.doubt == YIELDED else ""
        rows = ((m.field, m.before, m.half_before, NOT_MEASURED) for m in told)
        return self._written(rows, doubt)

    @functools.cached_property
    def after(self) -> Build:
        """The sheet with every field that was moved, and how well those it tells of are known."""
        return self._written(
            ((m.field, m.after, m.half_after, m.by) for m in self.told), self.doubt
        )

    def _written(self, rows: Iterable[tuple[str, float, float, str]], doubt: str) -> Build:
        """The sheet with other numbers: field, value, half-width and what tells it, if anything."""
        changes: dict[str, Any] = {"evidence.doubt": doubt} if doubt else {}
        known: list[dict[str, str]] = []
        for path, value, half, by in rows:
            kind, limits = FIELDS[path].kind, FIELDS[path].limits
            changes[path] = _text(float(np.clip(value, *limits)), kind, self.build.system, 5)
            if by:
                width = str(_text(half, step_of(kind), self.build.system, 2))
                known.append({"field": path, "half_width": width, "source": by})
        return self.build.vary(changes | ({"evidence.known": known} if known else {}))


def _text(value: float, kind: str, system: str, digits: int) -> Any:
    """A number as it is written on a sheet, rounded to what it is good for."""
    unit = getattr(KINDS[kind], system)[0] if KINDS[kind].si else ""
    if not unit:
        return float(f"{value:.{digits}g}")
    return f"{float(show_value(value, kind, system)):.{digits}g} {unit}"


def residuals(build: Build, evidence: Sequence[Evidence]) -> list[Array]:
    """How far off a build is, over the standard deviation, of each evidence."""
    return [np.atleast_1d(np.asarray(one.residuals(build), dtype=float)) for one in evidence]


def slopes(one: Evidence, build: Build, every: Sequence[Parameter], z: Array) -> Array:
    """Slopes of the residuals of one evidence over all parameters, (residuals, parameters).

    Parameters
    ----------
    build : with the parameters at z
    """
    own = [i for i, p in enumerate(every) if not set(p.middle).isdisjoint(one.moves)]
    (here,) = residuals(build, [one])
    out = np.zeros((len(here), len(every)))
    ends = {i: np.clip([z[i] - _STEP, z[i] + _STEP], *every[i].limits) for i in own}
    beside = [i for i in own if getattr(one, "many", False) and set(every[i].middle) <= MANY]
    if beside:  # both ends of each, all as one array of builds
        numbers: dict[str, Array] = {}
        for k, i in enumerate(beside):
            turns = np.full(2 * len(beside), z[i])
            turns[2 * k : 2 * k + 2] = ends[i]
            numbers |= every[i].numbers(turns)
        found = np.asarray(one.residuals(build.vary_si(numbers)), dtype=float)
        made = np.broadcast_to(found.reshape(len(out), -1), (len(out), 2 * len(beside)))
        out[:, beside] = np.diff(made)[:, ::2] / np.ravel([np.diff(ends[i]) for i in beside])
    for i in set(own).difference(beside):  # to the side that is further from an end of the range
        end = max(ends[i], key=lambda x: abs(x - z[i]))
        (there,) = residuals(build.vary_si(every[i].numbers(end)), [one])
        out[:, i] = (there - here) / (end - z[i])
    return out


def fit(build: Build, evidence: Sequence[Evidence], carried: Carried | None = None) -> Fit:
    """The build that goes best with the evidence and with what was taken for it before.

    Raises InputError where a reading cannot be predicted on this build, or stays so far off that
    no build like this one can have given it.

    Parameters
    ----------
    build : a checked build sheet
    evidence : `predict.gather` of the sheet, or others of that form
    carried : what the map of the deck says over the average joint, where the sheet has one
    """
    found = _solved(build, judged_on(build, evidence, carried))
    if wrong := list(_wrong(found)):
        raise InputError(wrong)
    return found


def _solved(build: Build, evidence: Sequence[Evidence]) -> Fit:
    """The fit to evidence as it is judged on the build, whatever comes out."""
    from scipy.optimize import least_squares

    every = parameters(build, {path for one in evidence for path in one.moves})
    start = np.zeros(len(every))
    off = residuals(at(build, every, start), evidence)
    if bad := [e.kind for e, r in zip(evidence, off, strict=True) if not np.all(np.isfinite(r))]:
        raise fail("evidence.measured", bad[0], "a reading that can be predicted on this build")

    def total(z: Array) -> Array:
        return np.concatenate([*residuals(at(build, every, z), evidence), z])

    def rise(z: Array) -> Array:
        here = at(build, every, z)
        return np.concatenate([*(slopes(e, here, every, z) for e in evidence), np.eye(len(z))])

    z, steep, root = start, np.empty((sum(map(len, off)), 0)), np.empty((0, 0))
    if every:
        bounds = tuple(np.transpose([p.limits for p in every]))
        found = least_squares(total, start, rise, bounds, xtol=1e-3, ftol=1e-4)
        steep = np.asarray(found.jac)
        root = np.asarray(np.linalg.pinv(steep), dtype=float)
        # one step more, since how well evidence fits hangs on a slope that is gone
        z = np.clip(found.x - root @ found.fun, *bounds)
    left = residuals(at(build, every, z), evidence)
    each = np.split(steep, np.cumsum([len(one) for one in off]))[:-1]
    parts = tuple(each), tuple(off), tuple(left)
    return Fit(build, tuple(evidence), tuple(every), z, root @ root.T, *parts)


def _mending(found: Fit, most: int, bad: Callable[[Fit], Any]) -> list[Reading]:
    """Of the readings furthest off those without any one of which the fit to the rest is good.

    What failed is never one of them. None where some were read on the deck: each fit to its map
    takes seconds.
    """
    if any(reading.spot for one in found.rows for reading in one.readings):
        return []
    carried = next((one.carried for one in found.rows), None)

    def without(gone: Reading) -> list[Evidence]:
        kept: list[Evidence] = []
        for one in found.evidence:
            if not isinstance(one, Rows):
                kept.append(one)
            elif rest := tuple(r for r in one.readings if r is not gone):
                kept.append(replace(one, readings=rest))
        return judged_on(found.build, kept, carried)

    rows = [read.reading for read, _ in found.apart[: min(most, _LOOKED)]]
    rows = [row for row in rows if not (_failed(row) or _stayed_longer(row))]
    fewer = ((row, without(row)) for row in rows)
    return [row for row, rest in fewer if rest and not bad(_solved(found.build, rest))]


def _off(found: Fit) -> list[Read]:
    """Readings that no build like this one can have given, or only one that is as far off."""
    read = [one for one in found.read if one not in found.yielded]
    if off := [one for one in read if abs(one.off_after) > _STOPS]:
        return off
    far = (p for p, z in zip(found.parameters, found.z, strict=True) if abs(z) > _STOPS)
    beyond = {path for one in far for path in one.middle}
    return [x for x in read if not beyond.isdisjoint(Rows((x.reading,)).moves)]


def _stayed_longer(row: Reading) -> bool:
    """Whether a fastener stayed longer, by more than what the reading may be off."""
    return row.kind == "permanent stretch" and (row.value or 0.0) > 2.0 * row.deviation


def _failed(row: Reading) -> bool:
    """Whether a reading says that the seal was passed."""
    return row.row["tells"] == "failed"


def _wrong(found: Fit) -> Iterator[Fault]:
    """A fault for every such reading; for those alone, if any, without which the rest fits."""
    if not (off := _off(found)):
        return
    for x in found.yielded:
        yield Fault(x.reading.path, x.reading.said, f"none of it: {YIELDED}")
    for failed, held in found.contrary:
        yield Fault(
            f"{failed.path} and {held.path}",
            f"{failed.said}, and {held.said}",
            "no more that held than what failed: the two contradict each other, and what failed "
            "counts until it is known which is wrong",
        )
    told = ""
    if mending := _mending(found, _LOOKED, _off):
        off = [one for one in found.read if any(one.reading is x for x in mending)]
        told = f"without {'it' if len(mending) == 1 else 'one of these rows'} all others fit: "
    in_pairs = [row for pair in found.contrary for row in pair]
    for one in off:
        if not any(one.reading is row for row in in_pairs):
            words = f"{_nearer(one, found.build.system)}; {told}look at the row, its unit, and the "
            yield Fault(one.reading.path, one.reading.said, f"{words}sheet")


def _nearer(one: Read, system: str) -> str:
    """What a reading would have to be, by what the model comes to."""
    row, times = one.reading, f"{1.0 + one.before:.2g} times the pressure there"
    if kind := str(row.row["value"]):
        model = show(one.after, kind, system)
        if abs(one.off_after) > _STOPS:
            return f"a reading near {model}: whatever is moved, the model reads that there"
        return f"a reading less far off: the model reads {model} there, and has to be moved far"
    if _failed(row):
        return f"no leak: no sound gasket leaks at so little; that of the sheet holds {times}"
    return f"less that held: the gasket of the sheet is passed at {times}"
