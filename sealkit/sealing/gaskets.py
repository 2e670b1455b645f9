"""A gasket as a set of zones, each with loading curve, unloading paths and load history.

A zone is a stretch of gasket that works as one: the combustion seal (a line round the bore), the
body (an area), a bead round the liquid holes. Its loading curve gives line load or stress against
closure (how far the two faces have come together since first touch). Once loaded it comes back on
an unloading path that starts where loading stopped, so what it carries depends on the largest
closure it has seen. A zone that stands proud is loaded first. Gaskets carry no tension.

The form of the model (closure as variable, loading curve, unloading curves started at points of
the loading curve, initial gap) is that of gasket elements in general finite-element codes.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from sealkit.arrays import Array
from sealkit.errors import Fault, short
from sealkit.sealing.lines import Builds, Lines
from sealkit.units import field, plain, plain_fields, show

PER = {"length": "line load", "area": "stress"}
ROLE_PER = {"seal": "length", "body": "area", "liquid": "length"}
_LOADS = ("load", "seating", "crush")


@dataclass(frozen=True, eq=False)
class Zone:
    """One zone of a gasket.

    Plain SI numbers or quantities, in the methods too. Two zones are equal when all of this is.
    `check` tells what is wrong with one.
    """

    name: str  # in trade words
    # "seal" (combustion seal round the bore), "body" (on the deck) or "liquid" (bead round liquid
    # holes)
    role: str
    per: str  # "length" (loads are line loads [N/m]) or "area" (loads are stresses [Pa])
    # closure, load: loading curve from (0, 0), shape (n,); closure [m] rising, load never falling
    closure: Array
    load: Array
    # curves (closure, load) that start on the loading curve and come back to no load; empty for a
    # zone that comes back the way it went (elastic)
    unloading: tuple[tuple[Array, Array], ...] = ()
    width: float = field("length", default=0.0)  # of the contact that seals [m]
    free_thickness: float = field("length", default=0.0)  # before assembly [m]
    # by how much the zone is thicker than the reference plane of the gasket [m]
    stands_proud: float = field("length", default=0.0)
    seating: float = 0.0  # least load at assembly for the zone to seal at all (unit as `load`)
    # residual contact stress wanted per gas or liquid pressure (the m of vessel practice)
    factor: float = field("number", default=0.0)
    crush: float = np.inf  # load at which the zone is damaged (unit as `load`)
    extent: float = 1.0  # length [m] or area [m**2] of the zone round one bore
    source: str = ""
    status: str = "invented"
    note: str = ""

    def __post_init__(self) -> None:
        plain_fields(self)
        kind = self.load_kind
        read: dict[str, Any] = {k: plain(getattr(self, k), kind, k) for k in _LOADS}
        read["closure"] = plain(self.closure, "length", "closure")
        read["extent"] = plain(self.extent, "area" if self.per == "area" else "length", "extent")
        read["unloading"] = tuple(
            (plain(c, "length", "unloading"), plain(f, kind, "unloading"))
            for c, f in self.unloading
        )
        for name, value in read.items():
            object.__setattr__(self, name, value)

    @property
    def load_kind(self) -> str:
        """Kind of quantity of its load: "line load" or "stress"."""
        return PER.get(self.per, "line load")

    @functools.cached_property
    def _values(self) -> tuple[Any, ...]:
        rest = tuple(v for k, v in vars(self).items() if k in _PLAIN)
        curves = (self.closure, self.load, *itertools.chain(*self.unloading))
        return rest + tuple(tuple(c.tolist()) for c in curves)

    def __eq__(self, other: object) -> bool:
        return self._values == other._values if isinstance(other, Zone) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._values)

    def check(self) -> list[Fault]:
        """Every fault of the zone, by field: curves that no gasket can have, what does not fit."""
        faults = []
        if self.per != ROLE_PER[self.role]:
            wanted = f'"{ROLE_PER[self.role]}" for a {self.role}'
            faults.append(Fault("per", f'"{self.per}"', wanted))
        if self.per == "length" and self.factor > 0 and self.width == 0:
            faults.append(Fault("width", "nothing", 'the width of the contact, such as "1.2 mm"'))
        bad = [_not_a_curve(*c) for c in (("closure", self.closure), ("load", self.load))]
        for i, (c, f) in enumerate(self.unloading, start=1):
            bad += [_not_a_curve(f"unloading[{i}].closure", c)]
            bad += [_not_a_curve(f"unloading[{i}].load", f)]
        wrong = [b for b in bad if b] or _wrong_loading(self.closure, self.load)
        return faults + (wrong or _wrong_unloading(self))

    # ------------------------------------------------------------------ loading
    def loading(self, closure: Any) -> Array:
        """Load on first loading at this closure [m]; past the last point the last slope goes on."""
        return self.curve.at(_closure(closure))[0]

    @functools.cached_property
    def curve(self) -> Lines:
        """The loading curve."""
        return Lines(self.closure[None], self.load[None])

    @functools.cached_property
    def _family(self) -> tuple[Array, Array, Array, Array, Array, Array, float] | None:
        """Unloading paths between neighbouring starts, all on one set of nodes.

        Returns starts (0 first), loads there, and per interval and node, from no load up: closure
        on the lower path, how much more on the upper one, load up to that of the lower start, share
        of the load above it; last, the slope at the top of the last path.
        """
        if not self.unloading:
            return None
        curves = [(0.0, 0.0, np.zeros(1), np.zeros(1))]
        for closure, load in sorted(self.unloading, key=lambda u: float(u[0][0])):
            last = int(np.argmax(load <= 0.0)) + 1
            top = float(self.loading(closure[0]))
            f = load[:last] * (top / load[0])
            curves.append((float(closure[0]), top, closure[:last][::-1], f[::-1]))
        parts = []
        for (_, f0, c0, l0), (_, f1, c1, l1) in itertools.pairwise(curves):
            levels = np.unique(np.concatenate([l0, l1]))
            share = np.maximum(levels - f0, 0.0) / (f1 - f0 if f1 > f0 else 1.0)
            parts.append(
                (
                    np.interp(levels, l0, c0),
                    np.interp(levels, l1, c1),
                    np.minimum(levels, f0),
                    share,
                )
            )
        most = max(len(part[0]) for part in parts) + 1  # the last for where unloading began
        low_c, high_c, low_f, rise = (
            np.array([part[i].take(np.arange(most), mode="clip") for part in parts])
            for i in range(4)
        )
        starts = np.array([c[0] for c in curves])
        tops = np.array([c[1] for c in curves])
        c, f = curves[-1][2:]
        slope = max(
            float((f[-1] - f[-2]) / (c[-1] - c[-2])), 1e-9 * float(self.load[-1] / self.closure[-1])
        )
        return starts, tops, low_c, high_c - low_c, low_f, rise, slope

    def _down(self, reached: Array) -> tuple[Array, Array]:
        """Nodes of the unloading path from `reached`, from no load up.

        Between two starts, closures at equal load are interpolated on the closure where unloading
        began; above the load of the lower start the path is that of the upper start drawn
        smaller. Past the last start its path moves along, with its first slope down to it.
        """
        assert self._family is not None
        starts, tops, low_c, wide, low_f, rise, slope = self._family
        place = np.minimum(np.maximum(starts.searchsorted(reached) - 1, 0), len(starts) - 2)
        share = np.minimum((reached - starts[place]) / np.diff(starts)[place], 1.0)[..., None]
        beyond = reached - np.minimum(reached, starts[-1])
        full = self.loading(reached)
        held = np.minimum(full, tops[-1]) - tops[place]
        back = np.minimum(np.maximum(full - tops[-1], 0.0) / slope, beyond)
        c = wide.take(place, 0)
        c *= share
        c += low_c.take(place, 0)
        c += (beyond - back)[..., None]
        np.minimum(c, reached[..., None], out=c)
        f = rise.take(place, 0)
        f *= held[..., None]
        f += low_f.take(place, 0)
        c[..., -1], f[..., -1] = reached, full
        return c, f

    def path(self, max_closure: Any) -> tuple[Array, Array]:
        """Nodes of the path that the zone follows after `max_closure` was reached.

        Returns closure, load : arrays of shape (..., n), closure rising from 0 through full
        recovery to `max_closure` and on along the loading curve; straight between the nodes.
        """
        top = _closure(max_closure)
        if self._family is None:
            shape = (*top.shape, len(self.closure))
            return (
                np.broadcast_to(self.closure, shape).copy(),
                np.broadcast_to(self.load, shape).copy(),
            )
        reached = np.maximum(top, 0.0)
        if top.size > _FEW and self._stays_below:
            return self._plain_path(reached)
        return self._clipped_path(reached)

    @functools.cached_property
    def _stays_below(self) -> bool:
        """Whether no unloading path comes above the loading curve, so that none is to be clipped.

        As far as paths from many places tell: from between all nodes, and beyond the last.
        """
        nodes = np.union1d(self.closure, self._family[0]) if self._family else self.closure
        middle = 0.5 * (nodes[1:] + nodes[:-1])
        reached = np.concatenate([nodes[1:], middle, nodes[-1] * np.array([1.2, 1.5])])
        x, y = self._clipped_path(reached)
        plain = Lines(*self._plain_path(reached)).at(x)[0]
        return bool(np.all(np.abs(plain - y) <= 1e-9 * self.load[-1]))

    def _plain_path(self, reached: Array) -> tuple[Array, Array]:
        """Nodes of a path that stays below the loading curve up to where it meets it."""
        c, f = self._down(reached)
        down = c.shape[-1]
        on = slice(int(self.closure.searchsorted(np.min(reached))), None)
        far = np.maximum(self.closure[-1], reached) + self.closure[-1]
        x = np.empty((*reached.shape, down + len(self.closure[on]) + 1))
        y = np.empty_like(x)
        x[..., :down], y[..., :down] = c, f
        np.maximum(self.closure[on], reached[..., None], out=x[..., down:-1])
        np.maximum(self.load[on], f[..., -1:], out=y[..., down:-1])
        x[..., -1], y[..., -1] = far, self.loading(far)
        return x, y

    def _clipped_path(self, reached: Array) -> tuple[Array, Array]:
        """Nodes of a path that may come above the loading curve: there it follows that."""
        n = len(self.closure)
        down_c, down_f = self._down(reached)
        x = np.empty((*reached.shape, down_c.shape[-1] + n + 1))
        x[..., : -n - 1], x[..., -n - 1 : -1] = down_c, self.closure
        x[..., -1] = np.maximum(self.closure[-1], reached) + self.closure[-1]
        x.sort(-1)
        flat = (-1, x.shape[-1])
        nodes = (-1, down_c.shape[-1])
        y, _ = Lines(down_c.reshape(nodes), down_f.reshape(nodes)).at(x.reshape(flat))
        first = self.loading(x)
        # an unloading path never lies above the loading curve: no load cycle gives work
        y = np.minimum(np.maximum(y.reshape(x.shape), 0.0), first)
        return x, np.where(x >= reached[..., None], first, y)

    def carried(self, closure: Any, max_closure: Any) -> Array:
        """Load at this closure after `max_closure` was the largest so far (line load or stress)."""
        c, top = np.broadcast_arrays(_closure(closure), _closure(max_closure))
        x, y = self.path(np.maximum(top, c).ravel())
        value, _ = Lines(x, y).at(c.reshape(-1, 1))
        return np.maximum(value[:, 0], 0.0).reshape(c.shape)

    def way_back(self, max_closure: Any) -> tuple[Array, Array] | None:
        """Nodes of the unloading path alone, where it may still lie above the loading curve.

        Returns closure, load : arrays of shape (..., n), from no load up to `max_closure`; None for
        an elastic zone. What the zone carries is the smaller one of this and its loading curve.
        """
        if self._family is None:
            return None
        return self._down(np.maximum(_closure(max_closure), 0.0))

    def recovery(self, max_closure: Any) -> Array:
        """How far the zone springs back from `max_closure` until it carries nothing [m]."""
        reached = np.maximum(_closure(max_closure), 0.0)
        if self._family is None:
            return np.asarray(reached)
        return reached - self._down(reached)[0][..., 0]

    def required(self, pressure: Any) -> Array:
        """Residual load wanted at this pressure over the air outside [Pa].

        Factor x pressure, for a line load x width.
        """
        p = np.asarray(plain(pressure, "gauge pressure", "pressure"), dtype=float)
        return self.factor * p * (self.width if self.per == "length" else 1.0)


def _closure(value: Any) -> Array:
    return np.asarray(plain(value, "length", "closure"), dtype=float)


@dataclass(frozen=True, eq=False)
class Creep:
    """How far a zone creeps under load, as a relaxation test of its sheet tells.

    In the test the load f of the specimen falls to (1 - r) f. The specimen springs back by what its
    unloading path says and the frame of the test follows by r f / K; the sum is the set s of the
    sheet: s = c(f) - c((1 - r) f) + r f / K. Between faces that cannot follow, as beside a steel
    ring, the same set costs more than r; under soft fasteners less. Set in step with the load is
    an assumption.
    """

    share: Any = field("fraction 0..1")  # r; one, or one per build
    # K, stiffness of the frame per area or length of the zone, load per closure [Pa/m or N/m per
    # m]; infinite where the test holds the sheet still
    frame: float = np.inf

    def __post_init__(self) -> None:
        plain_fields(self)

    def of(self, builds: Builds) -> Creep:
        """That of some of the builds, or of one several times."""
        return replace(self, share=self.share[builds]) if np.size(self.share) > 1 else self

    def set_of(self, path: tuple[Array, Array], load: Array) -> Array:
        """Set of places on this path (`Zone.path`) under these loads, one for each row [m]."""
        x, f = path
        loads = np.stack(np.broadcast_arrays(load, load * (1.0 - np.asarray(self.share))), axis=-1)
        closure = Lines(f, x).at(loads)[0]
        back = closure[:, 0] - closure[:, 1] + (loads[:, 0] - loads[:, 1]) / self.frame
        return np.where(loads[:, 0] > 0.0, np.maximum(back, 0.0), 0.0)


@dataclass(frozen=True)
class Edge:
    """The unbacked edge of a soft gasket, for the blow-out check."""

    thickness: float = field("length")  # free [m]
    width: float = field("length")  # of the web to the next opening [m]
    friction: float = field("number")  # on each face
    tensile_strength: float = field("stress")  # of the sheet [Pa]

    def __post_init__(self) -> None:
        plain_fields(self)


_FEW = 8  # paths that are not worth to find out what a zone's paths are like
_PLAIN = {f.name for f in fields(Zone)} - {"closure", "load", "unloading"}


def _not_a_curve(name: str, values: Array) -> Fault | None:
    if values.ndim == 1 and len(values) > 1 and np.all(np.isfinite(values)):
        return None
    return Fault(name, short(values.tolist()), "a list of two or more numbers")


def _wrong_loading(closure: Array, load: Array) -> list[Fault]:
    if len(closure) != len(load):
        wanted = f"{len(closure)} points, as many as closure"
        return [Fault("load", f"{len(load)} points", wanted)]
    faults = []
    if closure[0] != 0 or load[0] != 0:
        faults.append(Fault("closure", "a first point away from zero", "a start at 0, 0"))
    if np.any(np.diff(closure) <= 0):
        faults.append(Fault("closure", "points that do not rise", "closures that rise"))
    if np.any(np.diff(load) < 0):
        faults.append(Fault("load", "a load that falls", "loads that never fall"))
    elif load[-1] <= 0:
        faults.append(Fault("load", "no load at all", "loads that rise above zero"))
    return faults


def _wrong_unloading(zone: Zone) -> list[Fault]:
    """Faults of each unloading curve by itself; without any, those of one against another."""
    faults: list[Fault] = []
    for i, (c, f) in enumerate(zone.unloading, start=1):
        came = wanted = ""
        stays = np.diff(f) >= 0
        start = float(zone.loading(c[0]))
        if len(c) != len(f):
            came, wanted = f"{len(c)} closures and {len(f)} loads", "as many of both"
        elif not np.isclose(f[0], start, rtol=0.01) or f[0] <= 0:
            kind = PER[zone.per]
            came = f"a start at {show(f[0], kind)}"
            wanted = f"a start on the loading curve, {show(start, kind)}"
        elif np.any(np.diff(c) >= 0) or np.any(stays & (f[:-1] > 0)) or c[-1] < 0 or f[-1] != 0:
            came, wanted = "a path that does not come back", "falling points down to load 0"
        elif np.any(f > zone.loading(c) + 0.01 * f[0]):
            came = "points above the loading curve"
            wanted = "a path on or below the loading curve"
        if came:
            faults.append(Fault(f"unloading[{i}]", came, wanted))
    return faults or _crossings(zone.unloading)


def _crossings(unloading: Sequence[tuple[Array, Array]]) -> list[Fault]:
    """Faults of unloading curves that start at one place or cross (a load cycle would give work).

    A zone that was pressed further stands further in at every load.
    """
    order = sorted(range(len(unloading)), key=lambda i: float(unloading[i][0][0]))
    faults = []
    for lower, upper in itertools.pairwise(order):
        (c0, f0), (c1, f1) = unloading[lower], unloading[upper]
        label, other = f"unloading[{upper + 1}]", f"unloading[{lower + 1}]"
        if c0[0] == c1[0]:
            faults.append(Fault(label, f"the start of {other}", "a start of its own"))
            continue
        last0, last1 = int(np.argmax(f0 <= 0.0)) + 1, int(np.argmax(f1 <= 0.0)) + 1
        levels = np.unique(np.concatenate([f0[:last0], f1[:last1]]))
        levels = levels[levels <= min(f0[0], f1[0])]
        ahead = np.interp(levels, f1[:last1][::-1], c1[:last1][::-1]) - np.interp(
            levels, f0[:last0][::-1], c0[:last0][::-1]
        )
        if np.any(ahead < -1e-9 * c1[0]):
            wanted = "a larger closure at every load than a path that started earlier"
            faults.append(Fault(label, f"a path that crosses {other}", wanted))
    return faults


@dataclass(frozen=True)
class Gasket:
    """A gasket as a set of zones."""

    name: str  # of its construction
    zones: tuple[Zone, ...]  # at least one with the role "seal" for a joint
    note: str = ""  # in words
    edge: Edge | None = None  # unbacked edge of a soft gasket; None where metal backs it

    def sized(self, seal_length: Any, body_area: Any, liquid_length: Any = 0.0) -> Gasket:
        """The same construction on one bore.

        Parameters
        ----------
        seal_length, liquid_length : of the zones with these roles [m]
        body_area : of the body [m**2]; a zone without extent is left out
        """
        extent = {
            "seal": plain(seal_length, "length", "seal_length"),
            "body": plain(body_area, "area", "body_area"),
            "liquid": plain(liquid_length, "length", "liquid_length"),
        }
        zones = tuple(replace(z, extent=extent[z.role]) for z in self.zones)
        return replace(self, zones=tuple(z for z in zones if z.extent > 0))

    @functools.cached_property
    def seals(self) -> tuple[Zone, ...]:
        """The zones that seal the bore."""
        return tuple(z for z in self.zones if z.role == "seal")

    @functools.cached_property
    def others(self) -> tuple[Zone, ...]:
        """The zones that carry load and seal nothing."""
        return tuple(z for z in self.zones if z.role != "seal")
