"""What a cylinder-pressure log tells of the build, and what is wrong with the log.

A log's `phase` is by how much its angle runs ahead of the crank, its `offset` what its pressure
reads above the true absolute one.

References
----------
[1] P. Tunestål, Model-based estimation of cylinder pressure sensor offset using least-squares
    methods (abstract read): offset by least squares over the compression. Here the gas model's
    compression stands in place of a polytropic one.
[2] U. Žvar Baškovič and co-workers, A New Method for Simultaneous Determination of the TDC Offset
    and the Pressure Offset in Fired Cylinders, Energies 10, 2017 (abstract read): compression and
    expansion together tell phase from offset.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis
from sealkit.build import Build, held
from sealkit.build.fields import FIELDS
from sealkit.errors import Fault, InputError
from sealkit.evidence.logs import Array, Log
from sealkit.units import to_si
from sealkit.words import Note, note

MOVES = (
    *("burn.ca50", "burn.duration", "burn.released_share", "burn.wall_coefficient"),
    *("charge.filling", "charge.intake_heating"),
)
"""Fields of the sheet that the shape of the mean trace tells of."""
_WIDE = (np.radians(8.0), np.radians(8.0), 0.02, 0.15, 0.1, 10.0)  # before, one deviation; invented
_WINDOW = np.radians([-100.0, 100.0])  # both valves shut; common practice, no source
_TOGETHER = np.radians(10.0)  # over which what the model leaves out goes one way; invented
_LEAST = np.radians(0.3), 0.1e5  # phase and offset below which nothing is said; invented
_SURE = 2.5  # standard deviations from which something is said
_NOISY = 0.005  # of the peak; invented
_MISFIT = 4.0  # standard deviations from which the shape is told; invented
_UNLIKE = 2.5  # times the model's compression: another unit; invented
_OR_RATIO = ", or the compression ratio on the sheet is"
_UNITS = ("bar", "psi", "kPa", "MPa", "Pa", "mbar")


@dataclass(frozen=True)
class Finding:
    """Something found about a log.

    Parameters
    ----------
    name : "phase", "offset", "kind", "noise" or "shape"
    value : plain SI
    text : in words
    wrong : whether it has to be put right before the log is believed
    """

    name: str
    value: float
    text: Note
    wrong: bool


@dataclass(frozen=True)
class Look:
    """What a log shows against the model's cycle.

    Parameters
    ----------
    phase, offset : found [rad], [Pa], each with its standard deviation
    kind : what its pressure counts from, as said or as found
    near : the build with the burn, filling and wall heat that go with them
    findings : what is said about it
    """

    phase: tuple[float, float]
    offset: tuple[float, float]
    kind: str
    near: Build
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class CylinderPressure:
    """A log as evidence: residuals of its mean trace against the mean cycle of a build.

    Phase, offset and gain of the log are found anew for each build, with their priors, so that a
    fit need not know of them. What the model leaves out counts as a share of the pressure that goes
    one way over ten degrees: a finer log does not make the model truer.

    Parameters
    ----------
    log : from `read`
    phase_sd : how well top dead centre was set [rad]; invented
    offset_sd : how well the sensor holds its zero [Pa], where its zero is told; invented
    gain_sd : how well the sensor's gain is known, a share; invented
    model_share : what the model may be off by, over the pressure [-]; invented
    """

    log: Log
    phase_sd: float = float(np.radians(2.0))
    offset_sd: float = 0.3e5
    gain_sd: float = 0.02
    model_share: float = 0.01

    kind = "cylinder pressure"
    many = True

    @property
    def files(self) -> tuple[str, ...]:
        """Names of the files that it came in."""
        return (self.log.name,)

    @property
    def moves(self) -> tuple[str, ...]:
        """Fields of the sheet that it tells of; from ten cycles on the spread of the peaks too."""
        return MOVES if self.log.peak_variation is None else (*MOVES, "burn.peak_variation")

    def residuals(self, build: Build) -> Array:
        """Log less model, over the uncertainty, then phase, offset, gain and spread over theirs.

        Of shape (values,), or (values, builds) for a build that is an array.
        """
        every, ambient = curves(build)
        out = np.array([self._laid(curve, ambient) for curve in every]).T
        if self.log.peak_variation is not None:
            value, sd = self.log.peak_variation
            off = (
                value - np.asarray(0.0 if (spread := build.burn.peak_variation) is None else spread)
            ) / sd
            out = np.append(out, np.broadcast_to(off, (1, len(every))), axis=0)
        return out if len(every) > 1 else out[:, 0]

    def look(self, build: Build) -> Look:
        """What is wrong with the log, by the model's cycle of a build [1, 2].

        The fields of `MOVES` are free: a burn that is not the sheet's does not
        pass for a wrong phase. Raises InputError for a pressure in another unit than is told.
        """
        base = as_run(build)
        self._check_unit(base)
        middle, wide = self._prior(ambient := curves(base)[1])
        first = np.array([*(held(base, path) for path in MOVES), 0.0, middle])
        spread = np.array([*_WIDE, self.phase_sd, wide])
        ends = np.transpose([*(FIELDS[path].limits for path in MOVES), *[(-np.inf, np.inf)] * 2])

        def near(x: Array) -> Build:
            return base.vary_si(dict(zip(MOVES, x, strict=False)))

        def off(x: Array) -> Array:
            (curve,), _ = curves(near(x))
            return (self.logged - curve(self.angle - x[-2]) - x[-1]) / self._sigma

        x, sd, _ = _least(off, first, spread, 0.02, ends)
        kind = self.log.kind
        if not kind:
            apart = {"absolute": abs(x[-1]), "gauge": abs(x[-1] + ambient), "relative": 0.4e5}
            kind = min(apart, key=lambda k: apart[k])
        found = Look((float(x[-2]), float(sd[-2])), (float(x[-1]), float(sd[-1])), kind, near(x))
        return dataclasses.replace(found, findings=tuple(self._findings(found, ambient)))

    # ------------------------------------------------------------------- how it is worked out
    @functools.cached_property
    def _in(self) -> NDArray[np.bool_]:
        return (self.log.angle >= _WINDOW[0]) & (self.log.angle <= _WINDOW[1])

    def with_gain(self, gain: float) -> CylinderPressure:
        """The same from a sensor whose gain is this share higher."""
        pressure = self.log.pressure * (1.0 + gain)
        return dataclasses.replace(self, log=dataclasses.replace(self.log, pressure=pressure))

    def left(self, build: Build) -> Array:
        """Log less model over `angle` [Pa]; phase, offset and gain at their best."""
        (curve,), ambient = curves(build)
        return np.asarray(self._laid(curve, ambient)[: len(self.angle)] * self._sigma)

    @functools.cached_property
    def angle(self) -> Array:
        """Angles with both valves shut [rad]."""
        return self.log.angle[self._in]

    @functools.cached_property
    def logged(self) -> Array:
        """Mean of the log there [Pa]."""
        return self.log.mean[self._in]

    @functools.cached_property
    def _crowd(self) -> float:
        """How many samples go one way together."""
        return max(float(_TOGETHER) / self.log.step, 1.0)

    @functools.cached_property
    def _sigma(self) -> Array:
        """Standard deviation of each sample of the mean [Pa]; those that go together count once."""
        log = self.log
        alike = np.square(self.model_share * np.maximum(self.logged, 1e5))
        alike += np.square(log.between[self._in]) / log.cycles
        return np.sqrt(log.noise**2 / log.cycles + self._crowd * alike)

    @functools.cached_property
    def _starts(self) -> NDArray[np.int_]:
        """First sample of every ten degrees, and what follows the samples."""
        own = np.arange(0, len(self.angle), round(self._crowd))
        rest = 3 + (self.log.peak_variation is not None)
        return np.concatenate([own, len(self.angle) + np.arange(rest)])

    @property
    def values(self) -> int:
        """How many independent numbers it comes to: phase, offset and gain are found of them."""
        return len(self._starts) - 3

    def together(self, rows: Array) -> Array:
        """Rows of residuals, or of their slopes, one for every ten degrees."""
        many = np.diff(np.append(self._starts, len(rows)))
        summed = np.add.reduceat(rows, self._starts)
        return np.asarray((summed.T / np.sqrt(many)).T)

    def _prior(self, ambient: float) -> tuple[float, float]:
        """Offset before the log is looked at, and its standard deviation [Pa]."""
        middle = {"absolute": 0.0, "gauge": -ambient}.get(self.log.kind)
        return (-0.5 * ambient, 20e5) if middle is None else (middle, self.offset_sd)

    def _laid(self, curve: Any, ambient: float) -> Array:
        """Residuals of one cycle with phase, offset and gain at their best."""
        middle, wide = self._prior(ambient)
        spread = np.array([self.phase_sd, wide, self.gain_sd])

        def off(x: Array) -> Array:
            model = (1.0 + x[2]) * curve(self.angle - x[0])
            return (self.logged - model - x[1]) / self._sigma

        return _least(off, np.array([0.0, middle, 0.0]), spread, 1e-4)[2]

    def _check_unit(self, build: Build) -> None:
        """Raise InputError where the compression rises as no filling could make it."""
        ends = np.radians([-90.0, -40.0])
        rise = np.diff(np.interp(ends, self.angle, self.logged))[0]
        ratio = float(rise / np.diff(curves(build)[0][0](ends))[0])
        if 1.0 / _UNLIKE < ratio < _UNLIKE:
            return
        came, hint = f"a compression {ratio:.3g} times as high as the sheet's engine makes it", ""
        if ratio > 0.0:
            here = float(to_si(f"1 {self.log.unit}", "pressure"))
            off = {u: ratio * float(to_si(f"1 {u}", "pressure")) / here for u in _UNITS}
            unit = min(off, key=lambda u: abs(np.log(off[u])))
            hint = f" (are the numbers in {unit}?)" if 1 / _UNLIKE < off[unit] < _UNLIKE else ""
        wanted = f"cylinder pressure of that engine in {self.log.unit}"
        raise InputError(Fault(f"{self.log.name}, pressure", came, wanted, hint))

    def _findings(self, look: Look, ambient: float) -> Iterator[Finding]:
        """What was found, in words."""
        log, (phase, phase_sd), (offset, offset_sd) = self.log, look.phase, look.offset
        if abs(phase) > max(_LEAST[0], _SURE * phase_sd):
            way = "ahead of the crank" if phase > 0.0 else "behind the crank"
            text = note(
                "the log's angle runs {off} {way}, give or take {sd}: top dead centre is set wrong",
                off=(abs(phase), "angle"),
                way=way,
                sd=(2.0 * phase_sd, "angle"),
            )
            yield Finding("phase", phase, text, True)
        zero = -ambient if look.kind == "gauge" else 0.0
        off = offset - zero
        if look.kind != "relative" and abs(off) > max(_LEAST[1], _SURE * offset_sd):
            other = "absolute" if look.kind == "gauge" else "gauge"
            mistaken = abs(abs(off) - ambient) < 0.3 * ambient and (off < 0.0) == (zero == 0.0)
            text = note(
                "the pressure, taken as {kind}, reads {off} too {way}, give or take {sd}: "
                + ("it is {other} pressure" if mistaken else "its zero is off" + _OR_RATIO),
                kind=look.kind,
                other=other,
                way="high" if off > 0.0 else "low",
                off=(abs(off), "pressure", 2),
                sd=(2.0 * offset_sd, "pressure", 2),
            )
            yield Finding("kind" if mistaken else "offset", off, text, True)
        if log.noise > _NOISY * log.mean.max():
            text = note("noise of {sd} on each sample", sd=(log.noise, "pressure", 2))
            yield Finding("noise", log.noise, text, False)
        left = self.residuals(look.near)[: len(self.angle)]
        worst = int(np.argmax(np.abs(left)))
        if abs(left[worst]) * np.sqrt(self._crowd) > _MISFIT:
            off, angle = float(left[worst] * self._sigma[worst]), float(self.angle[worst])
            way = "above" if off > 0.0 else "below"
            text = note(
                "at {angle} the log stays {off} {way} the model, whatever its burn",
                angle=(angle, "angle"),
                off=(abs(off), "pressure", 2),
                way=way,
            )
            yield Finding("shape", off, text, False)


def _least(
    off: Callable[[Array], Array],
    first: Array,
    wide: Array,
    step: float,
    ends: Any = (-np.inf, np.inf),
) -> tuple[Array, Array, Array]:
    """Unknowns with the least sum of squares, their standard deviations, and what is then left.

    Parameters
    ----------
    off : of the unknowns, the residuals over their deviations
    first, wide : the unknowns before, and one standard deviation of each; rows of their own
    step : of that, for slopes
    ends : least and largest of each
    """
    from scipy.optimize import approx_fprime, least_squares

    def every(z: Array) -> Array:
        return np.append(off(first + z * wide), z)

    def rise(z: Array) -> Array:
        return np.asarray(approx_fprime(z, every, step))

    low, high = (ends[0] - first) / wide, (ends[1] - first) / wide - step
    found = least_squares(every, np.clip(0.0, low, high), rise, (low, high))
    steep = np.asarray(found.jac)
    deviation = np.sqrt(np.diag(np.linalg.inv(steep.T @ steep)))
    return first + found.x * wide, deviation * wide, np.asarray(found.fun)


def as_run(build: Build) -> Build:
    """The build with the timing that ran, and one mean cycle alone."""
    calm = dataclasses.replace(build.burn, timing="fixed", ca50_variation=None)
    return dataclasses.replace(build, burn=calm)


def curves(build: Build) -> tuple[list[Any], float]:
    """Pressure over crank angle of each build's mean cycle, and the air outside [Pa]."""
    from scipy.interpolate import CubicSpline

    mean = analysis.kept_cycle(as_run(build))
    angle = mean.cycle.crank_angle
    rows = np.reshape(mean.cycle.pressure, (-1, len(angle)))
    return [CubicSpline(angle, row) for row in rows], mean.ambient
