"""From which to which torque, angle or stretch a build holds, all else as it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from typing import NamedTuple

import numpy as np

from sealkit.analysis.margins import Limit
from sealkit.errors import InputError
from sealkit.report.record import decimals_of
from sealkit.sealing.limit import Band, Preload
from sealkit.units import KINDS, show_unit, show_value

BY_MODEL = "by this model, all else as on the sheet"
_REACH = np.geomspace(0.08, 2.2, 12)  # times what takes the fastener to yield
_NEAR = 1.015  # between two tightenings beside one another lines are straight

Bands = Mapping[str, list[tuple[float, Band]]]
Look = dict[str, tuple[float, float]]
"""By key of limit, the ends of the band of its margin."""


class End(NamedTuple):
    """A tightening, plain SI, and the limit that turns there; infinite where none in reach does."""

    value: float
    limit: Limit


class Window(NamedTuple):
    """The tightening with which a build holds, and with which it does not fail for sure."""

    # field, kind, sheet: what is set, its kind and what the sheet has, plain SI; empty where it is
    # tightened to yield and nothing is set
    field: str
    kind: str
    sheet: float
    # holds, open: the ends with which every limit holds whatever choice of the model is taken, and
    # with which none fails for sure: none does where the first is beyond the second
    holds: tuple[End, End] | None = None
    open: tuple[End, End] | None = None
    knocks: bool = False  # whether the mean cycle knocks, which is in no load

    @property
    def inside(self) -> float | None:
        """A tightening that does not fail for sure, where the sheet's is far from any that does."""
        if self.open is None:
            return None
        least, most = (end.value for end in self.open)
        far = not 0.8 * least <= self.sheet <= 1.25 * most
        return math.sqrt(least * most) if far and 0.0 < least < most < math.inf else None

    @property
    def what(self) -> str:
        """What is set: "torque", "angle", "stretch" or "nothing"."""
        return self.field.rpartition(".")[2] or "nothing"

    @property
    def unit(self) -> str:
        """Unit of the plain figures."""
        return KINDS[self.kind].si if self.kind else ""

    @property
    def title(self) -> str:
        """What its words are told of."""
        return f"{self.what if self.field else 'torque'} that holds"

    @property
    def rests(self) -> str:
        """What its words rest on."""
        return BY_MODEL + ", its knock left out: the unsafe side" * self.knocks

    def words(self, system: str = "metric") -> tuple[str, ...]:
        """In words, rounded to the safe side; what they rest on comes last."""
        if self.holds is None or self.open is None:
            return "none to choose, since it is tightened until it yields", self.rests
        unit = show_unit(self.kind, system)
        unit = unit if unit == "°" else f" {unit}"

        def figure(value: float, up: bool) -> str:
            shop = float(show_value(value, self.kind, system))
            figures = 3 if self.kind == "stretch" else 2
            places = max(decimals_of(value, self.kind, system, figures), 0)
            whole = (math.ceil if up else math.floor)(round(shop * 10**places, 6))
            return f"{whole / 10**places:,.{places}f}{unit}"

        def turns(ends: tuple[End, End], perhaps: str = "") -> str:
            out = []
            for (value, limit), where, up in zip(
                ends, ("below", "above"), (True, False), strict=True
            ):
                if np.isfinite(value):
                    out.append(f"{perhaps}{limit.short} {where} {figure(value, up)}")
                elif up is (value > 0.0):  # never holds
                    out.append(f"{perhaps}{limit.short} at any that was looked at")
            return ", ".join(out)

        (low, high), (least, most) = self.holds, self.open
        sure = turns(self.open)
        if least.value > most.value or np.inf in (least.value, -most.value):
            return f"none: {sure}", self.rests
        words = f"none for sure: {turns(self.holds, 'perhaps ')}"
        if low.value <= high.value and low.value < np.inf and high.value > -np.inf:
            words = " ".join(
                f"{word} {figure(end.value, up)} ({where}, perhaps {end.limit.short})"
                if np.isfinite(end.value)
                else f"{word} the {most} looked at"
                for end, word, where, most, up in (
                    (low, "from", "below", "least", True),
                    (high, "to", "above", "most", False),
                )
            )
        return words, f"for sure, {sure}", self.rests


def window(
    setting: tuple[str, str, float],
    limits: Iterable[Limit],
    here: Sequence[Bands],
    alone: Callable[[Sequence[float]], Sequence[Sequence[Bands]]],
    mapped: Callable[[float, Preload], Sequence[Bands]] | None,
    ends: tuple[float, float],
    yields: float,
) -> Window:
    """The window of a build.

    Parameters
    ----------
    setting : field, kind and value of what it is tightened by
    limits : all
    here : margins and bands in each state by key, at each peak that is looked at
    alone : the same at other tightenings, of what no map judges
    mapped : the same at one tightening of what the map judges with that end of the preload; None
        without a map
    ends : least and most that a sheet may have
    yields : about what takes the fastener to yield, which the search goes by
    """
    # what follows from a lost seal comes no sooner
    rows = {row.key: row for row in limits if row.check != "blow-out"}

    def look(bands: Sequence[Bands]) -> Look:
        out: Look = {}
        for key in rows:
            calm, *loud = [b[key] for b in bands if key in b] or [[]]
            if calm:
                low = min(band.low for every in (calm, *loud) for _, band in every)
                margin = min(margin for margin, _ in calm)
                out[key] = low, max(margin, min(band.high for _, band in calm))
        return out

    field, kind, value = setting
    sheet = look(here)
    tried = {float(x): Look() for x in np.clip(yields * _REACH, *ends)}
    by_map: dict[Preload, dict[float, Look]] = {end: {value: sheet} for end in Preload}

    def add(values: Iterable[float]) -> None:
        new = sorted(values)
        tried.update(zip(new, map(look, alone(new)), strict=True))

    add(tried)
    sides = [(end, which) for which in (0, 1) for end in (Preload.LOW, Preload.HIGH)]
    for _ in range(3):
        near = {x for end, which in sides for x in _closer(_line(tried, rows, end, which), end)}
        if not near:
            break
        add(near)
    own = set(sheet).difference(*tried.values())

    def with_map(end: Preload, at: float) -> Look:
        try:
            return look(mapped(at, end)) if mapped else {}
        except InputError:  # no balance: it holds nothing
            return dict.fromkeys(own, (-1.0, -1.0))

    found = {side: _end(_line(tried, rows, *side), side[0], rows) for side in sides}
    for end, which in sides:
        if mapped and any(rows[key].state.preload is end for key in own):
            known, at = by_map[end], found[end, which]
            if end is Preload.LOW and at.value == np.inf:
                # what fails worst with as much clamp as may be
                most = max(value, found[Preload.HIGH, which].value)
                look_at = most if np.isfinite(most) else value
                known[look_at] = known.get(look_at) or with_map(end, look_at)
                there = {k: known[look_at][k][which] for k in own if rows[k].state.preload is end}
                there[at.limit.key] = sheet[at.limit.key][which]
                found[end, which] = End(at.value, rows[min(there, key=lambda k: (there[k], k))])
                continue
            at = _with_map(at, known, partial(with_map, end), rows, (end, which), own)
            found[end, which] = at
    holds, opens = ((found[Preload.LOW, i], found[Preload.HIGH, i]) for i in (0, 1))
    return Window(field, kind, value, holds, opens)


Line = dict[float, dict[str, float]]
"""By tightening and key the margins of one side."""


def _line(looks: Mapping[float, Look], rows: Mapping[str, Limit], end: Preload, which: int) -> Line:
    return {
        x: {k: ends[which] for k, ends in look.items() if rows[k].state.preload is end}
        for x, look in sorted(looks.items())
    }


def _bracket(line: Line, end: Preload) -> tuple[float, float]:
    """The tightening with which this side does not hold, and the next one with which it does.

    Endless where it never holds, the second, or where it always does, the first.
    """
    failing = [x for x in line if min(line[x].values(), default=np.inf) < 0.0]
    never, always = (np.inf, -np.inf) if end is Preload.LOW else (-np.inf, np.inf)
    if end is Preload.LOW:
        held = min((x for x in line if x not in failing), default=never)
        return max((x for x in failing if x < held), default=always), held
    out = min(failing, default=always)
    return out, max((x for x in line if x < out), default=never)


def _end(line: Line, end: Preload, rows: Mapping[str, Limit]) -> End:
    """Where a side turns, straight between the two tightenings beside it."""
    out, held = _bracket(line, end)
    if not (np.isfinite(out) and np.isfinite(held)):
        at = held if np.isfinite(out) else out
        margins = line[out if np.isfinite(out) else held]
        return End(at, rows[min(margins, key=lambda k: (margins[k], k))])
    shares = _shares(line[out], line[held])
    key = max(shares, key=lambda k: (shares[k], k))
    return End(out + shares[key] * (held - out), rows[key])


def _shares(out: Mapping[str, float], held: Mapping[str, float]) -> dict[str, float]:
    """Part of the way from where a side fails to where it holds at which each margin is nothing."""
    return {key: x / (x - held.get(key, -x)) for key, x in out.items() if x < 0.0}


def _closer(line: Line, end: Preload) -> list[float]:
    """Where to look next for where a side turns."""
    out, held = _bracket(line, end)
    if not (np.isfinite(out) and np.isfinite(held)) or max(out / held, held / out) < _NEAR:
        return []
    at = out + max(_shares(line[out], line[held]).values()) * (held - out)
    near = [at * _NEAR**-0.45, at * _NEAR**0.45, (out + held) / 2.0]
    return [x for x in near if min(out, held) < x < max(out, held)]


def _with_map(
    alone: End,
    looks: dict[float, Look],
    look: Callable[[float], Look],
    rows: Mapping[str, Limit],
    side: tuple[Preload, int],
    own: set[str],
) -> End:
    """Where a side turns by the map too, which is looked at where it may.

    Parameters
    ----------
    alone : where it turns by what no map judges
    looks, look : with the map, as far as they are known; and at a tightening
    side : which end of the preload, and of the bands
    own : keys of what the map judges
    """
    end, which = side
    if not np.isfinite(alone.value):
        return alone

    def line() -> Line:
        known = _line(looks, rows, end, which)
        return {x: {k: m for k, m in of.items() if k in own} for x, of in known.items()}

    def left(x: float) -> float:
        if x not in looks:
            looks[x] = look(x)
        return min(line()[x].values(), default=np.inf)

    if left(alone.value) >= 0.0:
        return alone
    step, at = (1.25 if end is Preload.LOW else 0.8), alone.value
    while not np.isfinite(_bracket(line(), end)[1]):
        if not 0.1 < at / alone.value < 5.0:
            break
        at = step * _bracket(line(), end)[0]
        left(at)
    else:
        from scipy.optimize import brentq  # loads linear algebra

        out, held = _bracket(line(), end)
        # where the map seldom counts, less sure
        brentq(left, out, held, xtol=_SURE[which] * held, rtol=1e-3)
    return _end(line(), end, rows)


_SURE = (0.015, 0.03)  # of the tightening at which a seal on the map turns
