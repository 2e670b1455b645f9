"""How far the margins move where another choice of the model is as good as the one taken."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from sealkit import analysis, tables
from sealkit import build as sheets
from sealkit.analysis import margins
from sealkit.analysis.many import moves_the_cycle
from sealkit.build import Build
from sealkit.sealing.limit import Band, Limit


def taken_of(build: Build) -> dict[str, Any]:
    """What the report takes for each field of the table of alternatives."""
    return {
        "burn.wall_coefficient": build.burn.wall_coefficient,
        "head.load_introduction": build.head.load_introduction,
        "gasket.creep_relaxation": analysis.creep_of(build)[0],
        "gasket.seal_creep_relaxation": analysis.seal_creep_of(build),
        "fasteners.embedment": analysis.embedment_of(build)[0],
        "heat.rise_factor": build.heat.rise_factor,
    }


def alternatives(taken: Mapping[str, Any]) -> tuple[tuple[str, str, float], ...]:
    """Other choices that stand beside those of the report, one at a time.

    Parameters
    ----------
    taken : what the report takes (`taken_of`)

    Returns
    -------
    tuple of (what in words, field of the sheet, plain SI number), two for each row of the table
    ``alternatives`` whose ends are not what the report takes
    """
    known, table = dict(sheets.fields()), tables.load("alternatives")
    out = []
    for path in table:
        row = table[path]
        for end in (row["low"], row["high"]):
            value = end * taken[path] if row["how"] == "times" else end
            value = float(np.clip(value, *known[path].limits))
            if value != taken[path]:
                out.append((row["what"], path, value))
    return tuple(out)


def banded(build: Build, rows: Iterable[Limit], peak: float) -> tuple[Limit, ...]:
    """The limits, each with the band of its margin over the alternatives.

    All alternatives are worked out side by side, as builds of one array; each stands alone, with
    everything else as the report takes it, and the scatter of the preload is in its two ends.

    Parameters
    ----------
    rows : its limits at this pressure, one of each key
    peak : gas pressure over the air outside [Pa]

    Returns
    -------
    tuple of `Limit` with `band`
    """
    taken = taken_of(build)
    tried = alternatives(taken)
    numbers = {path: np.full(len(tried), float(taken[path])) for _, path, _ in tried}
    for i, (_, path, value) in enumerate(tried):
        numbers[path][i] = value
    peaks = np.full(len(tried), peak)
    moving = {path: numbers.pop(path) for path in tuple(numbers) if moves_the_cycle(build, [path])}
    if moving:
        at = [i for i, (_, path, _) in enumerate(tried) if path in moving]
        other = analysis.mean_cycle(build.vary_si({path: x[at] for path, x in moving.items()}))
        sized = analysis.sized_on(build, other)
        peaks[at] = analysis.over_air(sized.pressure, other.ambient)
    case = analysis.judged(analysis.with_numbers(build, numbers), peaks).case
    found = {}
    for row in margins.worse(margins.limits(case, peaks)):
        found[row.key] = np.broadcast_to(row.margin, len(tried))
    out = []
    for row in rows:
        others = found.get(row.key)
        if others is None:
            out.append(row)
            continue
        low, high = float(np.min(others)), float(np.max(others))
        band = Band(min(low, row.margin), max(high, row.margin), tried[int(np.argmin(others))][0])
        out.append(dataclasses.replace(row, band=band))
    return tuple(out)
