"""Tests of real bolts as a book prints them, put through the fit on an invented engine."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import build, tables
from sealkit.build import Build
from sealkit.build.evidence import Sample, sample_of
from sealkit.evidence.fitting import Fit, Moved, Read, fit
from sealkit.evidence.predict import evidence_of
from sealkit.fastening import threads, tightening
from sealkit.resources import data_file

_AROUND = {"hole_diameter": "0.531 in", "bearing_diameter": "0.75 in"}  # not printed: invented


@dataclass(frozen=True)
class Tested:
    """Bolts of one state, tightened to one torque, and what the fit makes of them (plain SI).

    Parameters
    ----------
    rows : of the table, one for each bolt: its state, preload and torque, source and status
    found : the fit to them; no other part of its sheet has to do with the tests
    """

    rows: tuple[Mapping[str, Any], ...]
    found: Fit

    @property
    def row(self) -> Mapping[str, Any]:
        """What all of them have: state as printed, thread, torque, source, status."""
        return self.rows[0]

    @property
    def mean(self) -> Read:
        """Mean preload by the sheet and by the fit, beside the first bolt."""
        return self.found.read[0]

    @property
    def sample(self) -> Sample:
        """Mean and scatter of the preloads."""
        found = sample_of(self.found.rows[0].readings)
        assert found is not None
        return found

    @property
    def short(self) -> float:
        """How far the fit stops above the mean of the tests [N]."""
        return self.mean.after - self.sample.mean

    @property
    def farthest(self) -> tuple[float, float]:
        """The preload furthest from the mean, and by how many standard deviations."""
        mean, deviation = self.sample.mean, self.sample.deviation
        value = max((float(row["preload"]) for row in self.rows), key=lambda x: abs(x - mean))
        return value, abs(value - mean) / deviation

    @property
    def moved(self) -> dict[str, Moved]:
        """What the fit moved, by the last part of its name."""
        return {one.field.partition(".")[2]: one for one in self.found.told}

    @property
    def half(self) -> float:
        """Two standard deviations of the fitted mean preload, by those of the friction."""
        low, high = (
            {m.field: m.after + sign * m.half_after for m in self.moved.values()}
            for sign in (-1.0, 1.0)
        )
        ends = (self.found.rows[0].predicted(self.found.after.vary_si(x)) for x in (low, high))
        return float(-np.diff(np.ravel([*ends]))[0]) / 2.0

    @property
    def nut_factor(self) -> float:
        """Of the mean of the tests."""
        return self._factor(self.sample.mean)

    def _factor(self, preload: float) -> float:
        diameter = threads.thread.si(str(self.row["thread"])).diameter
        return float(tightening.nut_factor_from_test.si(self.row["torque"], preload, diameter))

    @property
    def factor(self) -> tuple[float, float]:
        """Nut factor by the fit, and two standard deviations of it."""
        value = self._factor(self.mean.after)
        return value, value * self.half / self.mean.after

    @property
    def handbook(self) -> tightening.Friction:
        """What is printed of friction in this state."""
        return tightening.friction.si(self.found.build.fasteners.lubricant)


def _sheet(rows: tuple[Mapping[str, Any], ...]) -> Build:
    """An engine with these bolts, their torque and their preloads as readings."""
    first, torque = rows[0], f"{rows[0]['torque']} N*m"
    own = {"lubricant": first["taken as"], "thread": first["thread"], "torque": torque, **_AROUND}
    changes: dict[str, Any] = {f"fasteners.{key}": value for key, value in own.items()}
    changes |= {"fasteners.preload_scatter": None, "deck": None}
    changes["evidence.measured"] = [
        {"kind": "preload at a torque", "value": f"{row['preload']} N", "at": torque}
        for row in rows
    ]
    return build.demo("na-iron-v8").vary(changes)


@functools.cache
def tested() -> tuple[Tested, ...]:
    """The tests of ``data/measured/preloads.csv``, one for each state."""
    path = data_file("measured", "preloads.csv")
    every = tables.read_csv(path.read_text(encoding="utf-8"), path.name)
    out = []
    for state in dict.fromkeys(row["state"] for row in every):
        rows = tuple(row for row in every if row["state"] == state)
        sheet = _sheet(rows)
        out.append(Tested(rows, fit(sheet, evidence_of(build.readings(sheet.evidence)))))
    return tuple(out)
