"""How far the margins move where another choice of the model is as good as the one taken.

Knock that may come in the cycle designed for is a load that the sheet leaves out: the low ends are
those with it, as if it stood on the sheet.

That the two choices which move a margin most are at their worst at once, with all of that knock,
and the others as taken, is a rule (common practice, no source) and no probability: how they are
spread is not known. What they take off is added up, whatever they do to one another: worked out
together, two take off the four demos what they take one by one, within a third, but for a bow of
the hot head, which may take all. All at once would reach further.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis, tables
from sealkit import build as sheets
from sealkit.analysis import Gas, margins
from sealkit.analysis.clamp import boss_diameter
from sealkit.analysis.many import VARIABLE, moves_the_cycle
from sealkit.analysis.warm import FULL_LOAD, across_head
from sealkit.build import Build
from sealkit.sealing.limit import DAMAGE, WORDS, Band, Limit, Moment, Temperature

Array = NDArray[np.float64]

Moves = dict[str, tuple[float, float]]
"""By choice in words, the least and the most margin that it gives."""

HEAD = "head.thickness"
"""Field of the sheet that makes another joint; on a map a band of its own stands in its place."""

BOW = "head.gradient"
"""Field of the sheet whose other choices the map of the deck works out by itself."""

_IN_PRELOAD = tuple(
    f"fasteners.{key}" for key in ("friction_thread", "friction_bearing", "preload_factor")
)

Place = tuple[str, Temperature | None, str, Moment | None]
"""Key of a limit, temperature, state of the engine and moment in which it is looked at."""


def place(row: Limit) -> Place:
    """The limit, and when it is looked at."""
    return row.key, row.state.temperature, row.state.state, row.state.moment


def taken(build: Build) -> dict[str, Any]:
    """What the report takes for each field of the table; None where there is no other choice.

    And for the fields that measurements have moved.
    """
    measured = {path: sheets.held(build, path) for path in sheets.half_widths(build.evidence)}
    f, share, step = build.fasteners, build.heat.warm_up_share, build.gasket.body_tolerance
    usual = tables.load("temperatures")["warm-up"]["fastener"]
    return measured | {
        "burn.wall_coefficient": build.burn.wall_coefficient,
        BOW: across_head(build, FULL_LOAD),
        "head.load_introduction": build.head.load_introduction,
        HEAD: None if build.deck is not None else build.head.thickness,
        "gasket.body_over_ring": analysis.body_over_ring(build) if step > 0 else None,
        "gasket.creep_relaxation": analysis.creep_of(build)[0],
        "gasket.seal_creep_relaxation": analysis.seal_creep_of(build),
        "fasteners.engagement": f.engagement,
        "fasteners.torsion_divisor": f.torsion_divisor,
        "fasteners.section_tolerance": None if f.tightening == "torque" else f.section_tolerance,
        "fasteners.embedment": analysis.embedment_of(build)[0],
        # one on the sheet is a size that was measured
        "fasteners.boss_diameter": None if f.boss_diameter is not None else boss_diameter(build),
        "heat.rise_factor": build.heat.rise_factor,
        "heat.warm_up_share": usual if share is None else share,
    }


def alternatives(build: Build) -> tuple[tuple[str, str, float], ...]:
    """Other choices that stand beside those of the report, one at a time.

    Returns a tuple of (what in words, field of the sheet, plain SI number), two for each row of the
    table ``alternatives`` whose ends are not what the report takes. For a field whose half-width is
    on the sheet they are that far off, whether the table has it or not; friction, though, is in the
    two ends of the preload already.
    """
    now, half = taken(build), sheets.half_widths(build.evidence)
    known, table = dict(sheets.fields()), tables.load("alternatives")
    out = []
    for path in dict.fromkeys((*table, *half)):
        if now[path] is None or path in _IN_PRELOAD:
            continue
        if path in half:
            what = table[path]["what"] if path in table else _words(path, build.evidence)
            ends = [now[path] - half[path], now[path] + half[path]]
        else:
            row = table[path]
            what, ends = row["what"], [row["low"], row["high"]]
            if row["how"] == "times":
                ends = [end * now[path] for end in ends]
            elif row["how"] == "tolerances":
                ends = [now[path] + end * build.gasket.body_tolerance for end in ends]
        for end in ends:
            value = float(np.clip(end, *known[path].limits))
            if value != now[path]:
                out.append((what, path, value))
    return tuple(out)


def _words(path: str, evidence: Any) -> str:
    """A field of the sheet whose half-width is on it, in words."""
    rows = tables.load("unsure")
    name = rows[path]["what"] if path in rows else path.rpartition(".")[2].replace("_", " ")
    return f"{name} as {'measured' if sheets.status_of(evidence, path) else 'estimated'}"


def moves(
    build: Build, gas: Gas, peaks: Sequence[float], own: Mapping[str, Sequence[float]] | None = None
) -> list[dict[Place, tuple[float, Moves]]]:
    """The margins of the average joint that the alternatives give, one at a time.

    All are worked out side by side, as builds of one array, with what the report takes as the last;
    each stands alone, with everything else as the report takes it, and the scatter of the preload
    is in its two ends. Without a deck layout a thinner and a thicker head are two more.

    Returns for each peak the margin as the report takes it and what the choices make of it, for
    every limit in every state in which it may be at its worst.

    Parameters
    ----------
    build : a checked build sheet
    gas : its gas side
    peaks : gas pressures over the air outside that it is looked at with, Pa
    own : by field of the sheet, a number of its own for each of these, plain SI
    """
    now, every = taken(build), alternatives(build)
    tried = [row for row in every if row[1] in VARIABLE]
    shape = len(peaks), len(tried) + 1
    numbers = {path: np.full(shape, float(now[path])) for _, path, _ in tried}
    pressure = np.repeat(np.reshape(peaks, (-1, 1)), shape[1], axis=1)
    for i, (_, path, value) in enumerate(tried):
        if moves_the_cycle(build, [path]):
            numbers.pop(path, None)
            other = analysis.kept_cycle(build.vary_si({path: value}))
            over = analysis.over_air(analysis.sized_on(build, other).pressure, other.ambient)
            pressure[:, i] *= over / gas.design_gauge
        else:
            numbers[path][:, i] = value
    each = {path: np.asarray(x, dtype=float) for path, x in (own or {}).items()}
    numbers |= {path: np.repeat(x[:, None], shape[1], axis=1) for path, x in each.items()}
    many = analysis.with_numbers(build, {path: x.ravel() for path, x in numbers.items()})
    least = _least(many, pressure.ravel())
    # a head of another thickness is another joint, no number of this one
    heads = [
        _least(analysis.with_numbers(build.vary_si({path: value}), each), pressure[:, -1])
        for _, path, value in every
        if path == HEAD
    ]
    head = tables.load("alternatives")[HEAD]["what"]
    # the ends of one choice stand side by side
    ends = [what for what, _, _ in tried]
    whats = list(dict.fromkeys(ends))
    starts = [ends.index(what) for what in whats]
    table = np.stack(list(least.values())).reshape(-1, *shape)
    lows, highs = (f.reduceat(table[..., :-1], starts, -1) for f in (np.minimum, np.maximum))
    out: list[dict[Place, tuple[float, Moves]]] = [{} for _ in peaks]
    for k, found in enumerate(out):
        here: list[list[Any]] = [x[:, k].tolist() for x in (table[..., -1], lows, highs)]
        for when, margin, low, high in zip(least, *here, strict=True):
            moved: Moves = dict(zip(whats, zip(low, high, strict=True), strict=True))
            if own_head := [float(there[when][k]) for there in heads if when in there]:
                moved[head] = min(own_head), max(own_head)
            found[when] = margin, moved
    return out


def _least(build: Build, pressure: Array) -> dict[Place, Array]:
    """The least margin of the average joint at each place, one for each gas pressure (Pa)."""
    out: dict[Place, Array] = {}
    for row in margins.limits(analysis.judged(build, pressure)[0], pressure):
        margin = np.broadcast_to(row.margin, pressure.shape)
        out[place(row)] = np.minimum(out.get(place(row), np.inf), margin)
    return out


def in_proportion(margin: float, average: tuple[float, Moves], check: str = "") -> Moves:
    """The moves of a margin, as those of the average joint's about load left over load wanted.

    What a seal springs back (`check`) may ask of the average joint next to nothing, and no ratio to
    that is evidence: no choice takes more off what is asked than it takes off there. Likewise the
    load that gas leaves on a seal ("residual"), of which the average joint may have none: a choice
    adds as much over load wanted as it adds there, and takes as much, or as large a share if that
    is more. Maps of their own with one other choice each make 0 to 0.9 of it.
    """
    theirs, moved = average
    if not np.isfinite(theirs) or not np.isfinite(margin):
        return {}
    if theirs <= -1.0:
        # where the average joint has nothing, nobody knows what a choice takes here
        turns = {k: high for k, (_, high) in moved.items() if high > -1.0} or moved
        held = check == "residual"
        return {k: (min(margin, -1.0), margin + moved[k][1] + 1.0) for k in turns} if held else {}
    scale = (1.0 + margin) / (1.0 + theirs)
    sinks, rises = (max(scale, 1.0), 1.0) if check == "residual" else (scale, scale)

    def taken(up: float) -> float:
        most = margin + rises * (up - theirs)
        if check != "springback" or up <= theirs:
            return most
        return min(most, _left(_asked(margin) + _asked(up) - _asked(theirs)))

    return {
        k: (margin + (sinks if low < theirs else rises) * (low - theirs), taken(high))
        for k, (low, high) in moved.items()
    }


def band_of(margin: float, other: Moves, check: str = "", load: str = "") -> Band:
    """The band of a margin over the alternatives.

    To either side it reaches as far as the two choices that move the margin most move it together:
    what each moves it alone is added up. Of what damages, and of what a seal has to spring back,
    that is the demand for each unit of capacity (`check`), not the margin that is left; of that two
    leave the product of their shares. A `load` that all of these margins are with is named with
    what lowers them.

    >>> band = band_of(0.1, {"a": (0.04, 0.12), "b": (0.03, 0.1), "c": (0.09, 0.15)})
    >>> print(f"{band.low:.2f} {band.high:.2f} {band.lowest_by}; {band.highest_by}")
    -0.03 0.17 b and a; c and a
    """
    if check and margin > -1.0 and (check == "springback" or WORDS[check]["failure"] == DAMAGE):
        asked = {what: (_asked(x), _asked(y)) for what, (x, y) in other.items()}
        least, _, drops, rises = _reach(_asked(margin), asked)
        low, high = _left(least), margin
        for what in rises:
            high = (
                (1.0 + high) * _asked(margin) / asked[what][1] - 1.0 if asked[what][1] else np.inf
            )
    else:
        low, high, drops, rises = _reach(margin, other)
    drops += [load] if load else []
    return Band(max(low, -1.0), max(high, -1.0), _listed(drops), _listed(rises))


def _asked(margin: float) -> float:
    """Less the demand for each unit of capacity, which grows with the margin as that does."""
    return -1.0 / (1.0 + margin) if margin > -1.0 else -np.inf


def _left(asked: float) -> float:
    return -1.0 / asked - 1.0 if asked < 0.0 else np.inf


def _reach(margin: float, other: Moves) -> tuple[float, float, list[str], list[str]]:
    """The ends of `band_of` and what takes it there."""
    drops = sorted((x, what) for what, (x, _) in other.items() if x < margin)[:2]
    rises = sorted(
        ((high, what) for what, (_, high) in other.items() if high > margin), reverse=True
    )[:2]
    low, high = margin, margin
    if drops:
        # from a limit without demand nothing is left to add to
        low = drops[0][0] if np.isinf(margin) else margin - sum(margin - x for x, _ in drops)
    if rises:
        high = margin + sum(x - margin for x, _ in rises)
    return low, high, [what for _, what in drops], [what for _, what in rises]


def _listed(names: list[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def banded(row: Limit, bands: Iterable[tuple[float, Band]]) -> Limit:
    """The limit with the band of its margin over all states: it is no better than in any of them.

    What raises it is told of the state that is hardest to turn, of those that fail where any does.

    Parameters
    ----------
    bands : margin and band in each state

    >>> from sealkit.sealing.limit import Condition
    >>> row = Limit("residual", "bead", 100.0, 110.0, "line load", Condition(), "", "computed")
    >>> states = [(0.1, Band(0.05, 0.3, "creep", "bow")), (-0.01, Band(-0.02, 0.6, "bow", "wear"))]
    >>> banded(row, states).band
    Band(low=-0.02, high=0.3, lowest_by='bow', highest_by='wear')
    >>> banded(row, [(-0.1, Band(-0.2, np.inf, "creep", "bow"))]).band.highest_by
    'bow'
    """
    every = sorted(bands, key=lambda one: (one[0] >= 0.0, one[1].high))
    every.append((row.margin, Band(row.margin, np.inf, "")))
    least = min((band for _, band in every), key=lambda band: band.low)
    high = max(row.margin, min(band.high for _, band in every))
    by = every[0][1].highest_by
    return dataclasses.replace(row, band=Band(least.low, high, least.lowest_by, by))


def with_knock(calm: Iterable[Limit], loud: Iterable[Limit]) -> tuple[Limit, ...]:
    """The limits with the low ends of their bands with the load that knock adds (`loud`)."""

    def lower(row: Limit, other: Limit) -> Limit:
        if not row.band or not other.band or other.band.low >= row.band.low:
            return row
        band = row.band._replace(low=other.band.low, lowest_by=other.band.lowest_by)
        return dataclasses.replace(row, band=band)

    return tuple(map(lower, calm, loud))


def with_the_seal(rows: Iterable[Limit]) -> tuple[Limit, ...]:
    """The limits; where other choices make every seal hold, no gas is there to blow the body out.

    Two choices together may turn the seal that neither turns alone, which a blow-out begins with.
    """
    out = tuple(rows)
    seals = [row.band for row in out if row.check == "residual" and row.band is not None]
    if not seals or min(band.high for band in seals) < 0.0:
        return out
    by = min(seals, key=lambda band: band.high).highest_by

    def held(row: Limit) -> Limit:
        if row.check != "blow-out" or row.band is None or row.band.high >= 0.0:
            return row
        return dataclasses.replace(row, band=row.band._replace(high=np.inf, highest_by=by))

    return tuple(map(held, out))
