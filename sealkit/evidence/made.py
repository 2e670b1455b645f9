"""A made log whose truth is known: of an engine that is not quite what its sheet says.

For learning: the sheet's model is laid over the log by hand, then by the fit. Truth, noise and the
faults of the log are invented.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from sealkit.build import Build, held
from sealkit.build.fields import FIELDS
from sealkit.evidence.fitting import Fit, fit
from sealkit.evidence.following import Next, what_next
from sealkit.evidence.logs import Array, Log
from sealkit.evidence.trace import CylinderPressure, Look, as_run, curves
from sealkit.pressure import geometry, ideal
from sealkit.report import Report, kept_report

PHASE, OFFSET = float(np.radians(1.4)), -0.35e5  # rad, Pa, of the log
APART = {
    "burn.ca50": (1.0, float(np.radians(-3.5))),
    "burn.duration": (0.88, 0.0),
    "charge.filling": (1.05, 0.0),
    "burn.wall_coefficient": (1.2, 0.0),
}
"""Field -> times and plus by which the truth differs from the sheet."""
_CYCLES, _NOISE, _STEP = 30, 0.15e5, 0.02e5  # Pa, of a sample and of the converter
_SPREAD = float(np.radians(1.5)), 0.04  # of CA50, and of the duration over its mean
_ANGLE = np.radians(np.arange(-180.0, 180.0))
_SHARE = 0.01  # of the pressure, within which the model lies on the log


@dataclass(frozen=True)
class Made:
    """A log, and the truth behind it."""

    sheet: Build
    truth: Build
    evidence: CylinderPressure

    @property
    def log(self) -> Log:
        """The log."""
        return self.evidence.log

    @property
    def spread(self) -> float:
        """Standard deviation of the logged peaks, over their mean."""
        return float(self.log.peaks.std(ddof=1) / self.log.peaks.mean())

    @functools.cached_property
    def found(self) -> Fit:
        """What the fit makes of it."""
        return fit(self.sheet, [self.evidence])

    @functools.cached_property
    def look(self) -> Look:
        """What is wrong with it."""
        return self.evidence.look(self.sheet)

    @functools.cached_property
    def following(self) -> list[Next]:
        """What to measure next for the limit that decides then."""
        return what_next(self.sheet, self.reports[1].decides, self.found)

    @functools.cached_property
    def reports(self) -> tuple[Report, Report]:
        """Of the sheet, and of what the fit makes of it, by the average joint."""
        return kept_report(self.sheet), kept_report(self.found.after)


@functools.lru_cache(maxsize=8)
def made(sheet: Build) -> Made:
    """A log of an engine a little off its sheet, the same for the same sheet."""
    base = as_run(sheet)
    truth = {
        path: float(np.clip(times * held(base, path) + plus, *FIELDS[path].limits))
        for path, (times, plus) in APART.items()
    }
    draw = np.random.default_rng(12)
    ca50 = truth["burn.ca50"] + _SPREAD[0] * draw.standard_normal(_CYCLES)
    brief = truth["burn.duration"] * (1.0 + _SPREAD[1] * draw.standard_normal(_CYCLES))
    real = base.vary_si(truth)
    each, _ = curves(real.vary_si({"burn.ca50": ca50, "burn.duration": brief}))
    pressure = np.array([one(_ANGLE - PHASE) for one in each]) + OFFSET
    pressure += _NOISE * draw.standard_normal(pressure.shape)
    log = Log("made log", _ANGLE, np.round(pressure / _STEP) * _STEP, "absolute", "bar")
    return Made(sheet, real, CylinderPressure(log))


@dataclass(frozen=True)
class Overlay:
    """The model laid over a log by hand (plain SI).

    Parameters
    ----------
    made : the log
    tried : the sheet with the burn that was set
    phase, offset : that were set
    angle, logged, model, left : angles, mean of the log, model as the log would read it, and what
        is left between them, over the angles with both valves shut
    """

    made: Made
    tried: Build
    phase: float
    offset: float
    angle: Array
    logged: Array
    model: Array

    @property
    def settings(self) -> list[tuple[str, float, float]]:
        """Phase, offset and fields: their names, by the sheet and as they are set."""
        own = [("phase", 0.0, self.phase), ("offset", 0.0, self.offset)]
        return own + [(p, held(self.made.sheet, p), held(self.tried, p)) for p in APART]

    @property
    def left(self) -> Array:
        """Log less model [Pa]."""
        return self.logged - self.model

    @property
    def farthest(self) -> tuple[float, float]:
        """Where they are furthest apart [rad], and by how much [Pa]."""
        at = int(np.argmax(np.abs(self.left)))
        return float(self.angle[at]), float(self.left[at])

    @property
    def edge(self) -> float:
        """Where a chart of what is left ends, up and down [Pa]: a fifth of the log's peak."""
        return float(0.2 * self.logged.max())

    @property
    def misfit(self) -> float:
        """Root mean square of what is left [Pa]."""
        return float(np.sqrt(np.mean(np.square(self.left))))

    @property
    def allowed(self) -> float:
        """The same of a model off by a hundredth of the pressure everywhere, and of the noise."""
        noise = self.made.log.noise / np.sqrt(self.made.log.cycles)
        return float(np.sqrt(np.mean(np.square(_SHARE * self.logged)) + noise**2))

    @property
    def lies(self) -> bool:
        """Whether the model lies on the log."""
        return self.misfit <= self.allowed

    @property
    def peaks(self) -> tuple[float, float]:
        """Mean peak of the cycles as logged, and of the model as the log would read it."""
        return float(self.made.log.peaks.mean()), float(self.model.max())


def lay(sheet: Build, burn: Mapping[str, Any], phase: float, offset: float) -> Overlay:
    """The model with a burn of one's own over the made log of a sheet.

    Parameters
    ----------
    burn : field of the sheet -> plain SI number
    phase, offset : of the log as they are set [rad], [Pa]
    """
    one = made(sheet)
    tried = sheet.vary_si(burn)
    (curve,), _ = curves(as_run(tried))
    angle, logged = one.evidence.angle, one.evidence.logged
    return Overlay(one, tried, phase, offset, angle, logged, curve(angle - phase) + offset)


class Telling(NamedTuple):
    """One number by the sheet, by hand, by the fit (with two standard deviations) and in truth.

    Plain SI; `path` is the field, or "phase" or "offset" of the log.
    """

    path: str
    sheet: float
    hand: float
    fitted: float
    wide: float
    truth: float


def tellings(found: Overlay) -> list[Telling]:
    """Phase and offset of the log, and the fields that its truth differs in."""
    one, look = found.made, found.made.look
    fitted = {"phase": look.phase, "offset": look.offset}
    for parameter, z, sd in zip(
        one.found.parameters, one.found.z, one.found.deviation, strict=True
    ):
        for path, value in parameter.numbers(z).items():
            fitted[path] = float(value), float(sd) * parameter.step[path]
    truth = {"phase": PHASE, "offset": OFFSET} | {path: held(one.truth, path) for path in APART}
    return [
        Telling(path, sheet, hand, fitted[path][0], 2.0 * fitted[path][1], truth[path])
        for path, sheet, hand in found.settings
    ]


class Hand(NamedTuple):
    """The zero of a log from two readings on its compression (plain SI)."""

    first: float
    second: float
    ratio: float
    exponent: float
    offset: float


def by_hand(sheet: Build) -> Hand:
    """How far the made log reads too high, from its means 90 and 40 degrees before top dead centre.

    The angles are put right first; the exponent is that of the model between them.
    """
    one, e = made(sheet), sheet.engine
    turn = np.radians([-90.0, -40.0])
    first, second = np.interp(turn + one.look.phase[0], one.log.angle, one.log.mean)
    sizes = (e.bore, e.stroke, e.rod_length, sheet.compression_ratio)
    volume = geometry.cylinder_volume.si(turn, *sizes)
    (curve,), _ = curves(as_run(sheet))
    ratio, model = float(volume[0] / volume[1]), curve(turn)
    exponent = float(np.log(model[1] / model[0]) / np.log(ratio))
    offset = float(ideal.polytropic_offset.si(first, second, ratio, exponent))
    return Hand(float(first), float(second), ratio, exponent, offset)


def without_phase(one: Made) -> tuple[float, float]:
    """CA50 by a fit that takes the log's angle for right, and by the one that does not [rad]."""
    blind = replace(one.evidence, phase_sd=float(np.radians(0.01)))
    return blind.look(one.sheet).near.burn.ca50, one.look.near.burn.ca50


def faults(sheet: Build) -> tuple[Array, list[Array]]:
    """The mean cycle [Pa] as it is, with the angle 8 degrees ahead and with 8 bar too much, over
    the log's angle [rad]: overdone.
    """
    (curve,), _ = curves(as_run(sheet))
    angle = np.radians(np.arange(-90.0, 60.5, 1.5))
    return angle, [curve(angle), curve(angle - np.radians(8.0)), curve(angle) + 8e5]
