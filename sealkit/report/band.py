"""How far the margins move where another choice of the model is as good as the one taken."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from sealkit import analysis, tables
from sealkit import build as sheets
from sealkit.analysis import margins
from sealkit.analysis.clamp import boss_diameter
from sealkit.analysis.many import VARIABLE, moves_the_cycle
from sealkit.analysis.warm import FULL_LOAD, across_head
from sealkit.build import Build
from sealkit.sealing.limit import Band, Limit

Moves = dict[str, tuple[float, float]]
"""By choice in words, the least and the most margin that it gives."""


def taken_of(build: Build) -> dict[str, Any]:
    """What the report takes for each field of the table; None where there is no other choice."""
    f, share = build.fasteners, build.heat.warm_up_share
    usual = tables.load("temperatures")["warm-up"]["fastener"]
    return {
        "burn.wall_coefficient": build.burn.wall_coefficient,
        "head.gradient": across_head(build, FULL_LOAD),
        "head.load_introduction": build.head.load_introduction,
        "gasket.creep_relaxation": analysis.creep_of(build)[0],
        "gasket.seal_creep_relaxation": analysis.seal_creep_of(build),
        "fasteners.embedment": analysis.embedment_of(build)[0],
        # one on the sheet is a size that was measured
        "fasteners.boss_diameter": None if f.boss_diameter is not None else boss_diameter(build),
        "heat.rise_factor": build.heat.rise_factor,
        "heat.warm_up_share": usual if share is None else share,
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
        if taken[path] is None:
            continue
        row = table[path]
        for end in (row["low"], row["high"]):
            value = end * taken[path] if row["how"] == "times" else end
            value = float(np.clip(value, *known[path].limits))
            if value != taken[path]:
                out.append((row["what"], path, value))
    return tuple(out)


def moves(build: Build, rows: Iterable[Limit], peak: float) -> dict[str, Moves]:
    """The margins of the average joint that the alternatives give, one at a time.

    All are worked out side by side, as builds of one array; each stands alone, with everything else
    as the report takes it, and the scatter of the preload is in its two ends. What only the map of
    the deck knows is left out.

    Returns (least, most) by key of the limit and by choice in words.

    Parameters
    ----------
    rows : its limits at this pressure, one of each key
    peak : gas pressure over the air outside [Pa]
    """
    taken = taken_of(build)
    tried = [row for row in alternatives(taken) if row[1] in VARIABLE]
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
    known = {row.key for row in rows}
    out: dict[str, Moves] = {}
    for row in margins.worse(margins.limits(case, peaks)):
        if row.key in known:
            each = np.broadcast_to(row.margin, len(tried))
            own = out.setdefault(row.key, {})
            for (what, _, _), margin in zip(tried, each, strict=True):
                low, high = own.get(what, (margin, margin))
                own[what] = (min(low, float(margin)), max(high, float(margin)))
    return out


def banded(row: Limit, other: Moves) -> Limit:
    """The limit with the band of its margin over the alternatives.

    To either side the band reaches as far as the two choices that move the margin most move it
    together: what each moves it alone is added up.

    >>> from sealkit.sealing.limit import Condition
    >>> row = Limit("residual", "bead", 100.0, 110.0, "line load", Condition(), "", "computed")
    >>> band = banded(row, {"a": (0.04, 0.12), "b": (0.03, 0.1), "c": (0.09, 0.15)}).band
    >>> print(f"{band.low:.2f} {band.high:.2f} {band.lowest_by}")
    -0.03 0.17 b with a
    """
    margin = float(row.margin)
    drops = sorted(((low, what) for what, (low, _) in other.items() if low < margin))
    rises = sorted((high for _, high in other.values() if high > margin), reverse=True)
    low, high = margin, margin
    if drops:
        # from a limit without demand nothing is left to add to
        low = drops[0][0] if np.isinf(margin) else margin - sum(margin - x for x, _ in drops[:2])
    if rises:
        high = margin + sum(x - margin for x in rises[:2])
    return dataclasses.replace(
        row, band=Band(max(low, min(margin, -1.0)), high, " with ".join(w for _, w in drops[:2]))
    )
