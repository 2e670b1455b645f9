"""What to measure next: by how much each kind would narrow what the verdict hangs on, for its time.

The margin of that limit and the reading of each kind are taken as straight lines in what is not
known, about what the fit found; a reading as good as is usual for its kind then narrows the margin
by the update of normal distributions, P' = P - P Jᵀ (J P Jᵀ + 1)⁻¹ J P. Kinds that only tell on
which side the seal was are left out: what they will say is not known beforehand; and those that the
model expects to read past where nobody may go.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis, tables
from sealkit.analysis import Limit, margins
from sealkit.analysis.carried import Carried
from sealkit.build import Build, Reading
from sealkit.build.evidence import deviation_of
from sealkit.errors import InputError
from sealkit.evidence.fitting import Fit, slopes
from sealkit.evidence.predict import SPOTS, Evidence, Rows, made_log, sizing_peak, usual
from sealkit.evidence.priors import Parameter, at, parameters
from sealkit.evidence.trace import CylinderPressure

Array = NDArray[np.float64]
_WORTH = 0.01  # share of the width from which a measurement is named
_LEAST_TIME = 900.0  # s, so that what is next to free has a rank
_STEP = 0.25  # of a parameter's standard deviation, for the slope of a margin
_LARGE = 10.0  # margins above count as this


@dataclass(frozen=True)
class Next:
    """A measurement that would tell more.

    Parameters
    ----------
    row : of the table ``measurements``: how it is done, the time it takes, its cautions
    at : what it is read at, plain SI; None where its kind has none
    narrows : share that it takes off the standard deviation of the margin from what is not known
    expects, ceiling : what the model reads there, and the reading past which nobody may go (plain
        SI); None for a kind without such a ceiling
    """

    row: Mapping[str, Any]
    at: float | None
    narrows: float
    expects: float | None = None
    ceiling: float | None = None

    @property
    def worth(self) -> float:
        """Share that it takes off for each hour."""
        return self.narrows / max(self.row["time"], _LEAST_TIME) * 3600.0


def what_next(
    build: Build, limit: Limit, found: Fit | None = None, carried: Carried | None = None
) -> list[Next]:
    """Kinds of measurement that are not on the sheet, what narrows a limit most for its time first.

    Parameters
    ----------
    build : the sheet before the fit
    limit : the one that the verdict hangs on
    found : what a fit found of the readings on the sheet
    carried : what the map of the deck says over the average joint, where the sheet has one; without
        it no kind is named that the map alone predicts
    """
    every = parameters(build)
    z, wide = np.zeros(len(every)), np.eye(len(every))
    if found is not None:
        names = [p.name for p in every]
        own = [names.index(p.name) for p in found.parameters]
        z[own] = found.z
        more = found.deviation / np.sqrt(np.diag(found.covariance))
        wide[np.ix_(own, own)] = found.covariance * np.outer(more, more)
    here = at(build, every, z)
    rise = _rise(here, limit, every, z, carried)
    before = float(rise @ wide @ rise)
    have = set() if found is None else {one.kind for one in found.evidence}
    out = []
    for row in tables.load("measurements").rows:
        one = None if row["kind"] in have or not before > 0.0 else _usual(here, row, carried)
        if one is None:
            continue
        steep = slopes(one, here, every, z)
        gain = wide @ steep.T
        less = gain @ np.linalg.solve(steep @ gain + np.eye(len(steep)), gain.T)
        narrows = 1.0 - np.sqrt(max(1.0 - float(rise @ less @ rise) / before, 0.0))
        if narrows >= _WORTH:
            at_ = one.readings[0].at if isinstance(one, Rows) else None
            out.append(Next(row, at_, float(narrows), *_ceiling(here, one)))
    return sorted(out, key=lambda one: -one.worth)


def _ceiling(build: Build, one: Evidence) -> tuple[float, float] | tuple[()]:
    """What the model reads, and the reading past which nobody may go, of a kind that has one."""
    if not isinstance(one, Rows) or not one.row["ceiling"]:
        return ()
    return float(one.readings[0].value or 0.0), float(sizing_peak(build))


def _usual(build: Build, row: Mapping[str, Any], carried: Carried | None) -> Evidence | None:
    """A reading of this kind as it should come out on this build; None where there is none."""
    if row["kind"] == CylinderPressure.kind:
        return made_log(build)
    if row["tells"] or (row["place"] and carried is None):
        return None
    try:
        where = usual(build, row)
        if row["at"] and where is None:
            return None
        rows = tuple(Reading(row, 0.0, where, 1.0, spot=x) for x in SPOTS[row["place"]](build))
        one = Rows(rows).on(build, carried)
        said = [str(row[key]) for key in ("uncertainty", "value", "kind")]
        read = tuple(
            dataclasses.replace(r, value=x, deviation=deviation_of(said[0], x, *said[1:]))
            for r, x in zip(rows, np.ravel(one.predicted(build)).tolist(), strict=True)
        )
        made = dataclasses.replace(one, readings=read)
        ends = _ceiling(build, made)
        return None if ends and ends[0] > ends[1] else made  # not to be read below its ceiling
    except InputError:  # it has nothing to be read on
        return None


def _rise(
    build: Build, limit: Limit, every: list[Parameter], z: Array, carried: Carried | None
) -> Array:
    """Slope of the margin of a limit over all parameters."""

    def margin(made: Build) -> float:
        peak = sizing_peak(made)
        case, _ = analysis.judged(made, peak, carried)
        rows = [r for r in margins.limits(case, peak) if r.key == limit.key]
        return float(np.clip(min((r.margin for r in rows), default=0.0), -1.0, _LARGE))

    out = []
    for i, one in enumerate(every):
        ends = np.clip([z[i] - _STEP, z[i] + _STEP], *one.limits)
        low, high = (margin(build.vary_si(one.numbers(x))) for x in ends)
        out.append((high - low) / (ends[1] - ends[0]))
    return np.array(out)
