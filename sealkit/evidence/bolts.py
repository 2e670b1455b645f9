"""Tests of real bolts as a book prints them, put through the fit on an invented engine."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import analysis, build, tables
from sealkit.build import Build
from sealkit.build.evidence import Sample, sample_of
from sealkit.evidence.fitting import Fit, fit
from sealkit.evidence.predict import Rows, evidence_of
from sealkit.fastening import threads, tightening
from sealkit.resources import data_file

_ENGINE = "na-iron-v8"
_AROUND = {"hole_diameter": "0.531 in", "bearing_diameter": "0.75 in"}  # not printed: invented


@dataclass(frozen=True)
class Tested:
    """Bolts of one state, tightened to one torque, and what the fit makes of them (plain SI).

    Parameters
    ----------
    rows : of the table, one for each bolt
    found : the fit to them; no other part of its sheet has to do with the tests
    """

    rows: tuple[Mapping[str, Any], ...]
    found: Fit

    @property
    def state(self) -> str:
        """As it is printed."""
        return str(self.rows[0]["state"])

    @property
    def status(self) -> str:
        """Of what is printed."""
        return str(self.rows[0]["status"])

    @property
    def readings(self) -> Rows:
        """The preloads, as the fit took them."""
        (one,) = self.found.evidence
        assert isinstance(one, Rows)
        return one

    @property
    def sample(self) -> Sample:
        """Mean and scatter of the preloads."""
        found = sample_of(self.readings.readings)
        assert found is not None
        return found

    @property
    def farthest(self) -> tuple[float, float]:
        """The preload furthest from the mean, and by how many standard deviations."""
        mean, deviation = self.sample.mean, self.sample.deviation
        value = max((float(row["preload"]) for row in self.rows), key=lambda x: abs(x - mean))
        return value, abs(value - mean) / deviation

    def known(self, path: str) -> tuple[float, float]:
        """A field as it was fitted, and two standard deviations of it."""
        half = build.known(self.found.after.evidence)[path]
        return float(build.held(self.found.after, path)), half

    @property
    def before(self) -> float:
        """Preload that the sheet makes of the torque."""
        return float(np.ravel(self.readings.predicted(self.found.build))[0])

    @property
    def after(self) -> float:
        """The same once fitted."""
        return float(np.ravel(self.readings.predicted(self.found.after))[0])

    @property
    def short(self) -> float:
        """How far the fit stops from the mean of the tests, above it [N]."""
        return self.after - self.sample.mean

    @property
    def half(self) -> float:
        """Two standard deviations of `after`, by those of the friction."""
        ends = []
        for sign in (-1.0, 1.0):
            friction = {
                path: value + sign * half
                for path, (value, half) in ((p, self.known(p)) for p in _FRICTION)
            }
            ends.append(self.readings.predicted(self.found.after.vary_si(friction)))
        return float(np.ravel(ends[0] - ends[1])[0]) / 2.0

    def nut_factor(self, preload: float) -> float:
        """Of a preload at the torque of the tests."""
        diameter = threads.thread.si(str(self.rows[0]["thread"])).diameter
        return float(tightening.nut_factor_from_test.si(self.rows[0]["torque"], preload, diameter))

    @property
    def factor(self) -> tuple[float, float]:
        """Nut factor by the fit, and two standard deviations of it."""
        value = self.nut_factor(self.after)
        return value, value * self.half / self.after

    @property
    def scatter(self) -> float:
        """What the handbook says of it: preload up or down from its mean, a share."""
        return float(analysis.scatter_of(self.found.build)[0])

    @property
    def handbook(self) -> tightening.Friction:
        """What is printed of friction in this state."""
        return tightening.friction.si(self.found.build.fasteners.lubricant)


_FRICTION = ("fasteners.friction_thread", "fasteners.friction_bearing")


def _sheet(rows: tuple[Mapping[str, Any], ...]) -> Build:
    """The engine with these bolts, their torque and their preloads as readings."""
    first, base = rows[0], build.demo(_ENGINE)
    torque = f"{first['torque']} N*m"
    own = {"lubricant": first["lubricant"], "thread": first["thread"], "torque": torque, **_AROUND}
    changes: dict[str, Any] = {f"fasteners.{key}": value for key, value in own.items()}
    changes |= {"fasteners.preload_scatter": None, "deck": None}
    changes["evidence.measured"] = [
        {"kind": "preload at a torque", "value": f"{row['preload']} N", "at": torque}
        for row in rows
    ]
    return base.vary(changes)


@functools.cache
def tested() -> tuple[Tested, ...]:
    """The tests of ``data/measured/preloads.csv``, one for each state."""
    path = data_file("measured", "preloads.csv")
    every = tables.read_csv(path.read_text(encoding="utf-8"), path.name)
    out = []
    for state in dict.fromkeys(row["state"] for row in every):
        rows = tuple(row for row in every if row["state"] == state)
        sheet = _sheet(rows)
        found = fit(sheet, evidence_of(build.readings(sheet.evidence)))
        out.append(Tested(rows, found))
    return tuple(out)
