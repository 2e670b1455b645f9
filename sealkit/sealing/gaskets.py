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
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit.errors import Fault, InputError, fail, near, short
from sealkit.tables import STATUSES
from sealkit.units import to_si

Array = NDArray[np.float64]

ROLES = {
    "seal": "combustion seal round the bore",
    "body": "gasket body on the deck",
    "liquid": "bead round liquid holes",
}
PER = {"length": "line load", "area": "stress"}

_KEYS = {
    "name", "role", "per", "width", "free_thickness", "stands_proud", "closure", "load",
    "closure_unit", "load_unit", "unloading", "seating", "factor", "crush", "source", "status",
    "note",
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Zone:
    """One zone of a gasket.

    Parameters
    ----------
    name : in trade words
    role : "seal", "body" or "liquid"
    per : "length" (loads are line loads, N/m) or "area" (loads are stresses, Pa)
    closure, load : loading curve, from (0, 0); closure in m, rising; load never falling
    unloading : curves (closure, load) that start on the loading curve and come back to no load;
        empty for a zone that comes back the way it went (elastic)
    width : width of the contact that seals, m
    free_thickness : before assembly, m
    stands_proud : by how much the zone is thicker than the reference plane of the gasket, m
    seating : least load at assembly for the zone to seal at all (unit as `load`)
    factor : residual contact stress wanted per gas or liquid pressure (the m of vessel practice)
    crush : load at which the zone is damaged
    extent : length (m) or area (m**2) of the zone round one bore
    source, status, note : where the numbers come from
    """

    name: str
    role: str
    per: str
    closure: Array
    load: Array
    unloading: tuple[tuple[Array, Array], ...] = ()
    width: float = 0.0
    free_thickness: float = 0.0
    stands_proud: float = 0.0
    seating: float = 0.0
    factor: float = 0.0
    crush: float = np.inf
    extent: float = 1.0
    source: str = ""
    status: str = "invented"
    note: str = ""

    # ------------------------------------------------------------------ loading
    def loading(self, closure: ArrayLike) -> Array:
        """Load on first loading at this closure (m); past the last point the last slope goes on."""
        return _line(self.closure, self.load, np.asarray(closure, dtype=float))

    @functools.cached_property
    def _family(self) -> tuple[Array, Array, Array] | None:
        """Load ratios f (falling from 1 to 0), start closures, recovery u[start, f]."""
        if not self.unloading:
            return None
        ratios = {0.0, 1.0}
        curves = []
        for closure, load in self.unloading:
            f = load / load[0]
            u = closure[0] - closure
            last = int(np.argmax(f <= 0.0))
            f, u = f[: last + 1], u[: last + 1]
            ratios.update(float(x) for x in f)
            curves.append((closure[0], f, u))
        curves.sort(key=lambda c: c[0])
        grid = np.array(sorted(ratios, reverse=True))
        starts = np.array([c[0] for c in curves])
        recovery = np.array([np.interp(-grid, -f, u) for _, f, u in curves])
        return grid, starts, recovery

    def path(self, max_closure: ArrayLike) -> tuple[Array, Array]:
        """Nodes of the path that the zone follows after `max_closure` was reached.

        Returns
        -------
        closure, load : arrays of shape (..., n), closure rising from full recovery to
            `max_closure` and on along the loading curve; straight between the nodes.
        """
        top = np.asarray(max_closure, dtype=float)
        n = len(self.closure)
        family = self._family
        if family is None:
            shape = (*top.shape, n)
            return (
                np.broadcast_to(self.closure, shape).copy(),
                np.broadcast_to(self.load, shape).copy(),
            )
        grid, starts, recovery = family
        reached = np.maximum(top, 0.0)
        place = np.clip(np.searchsorted(starts, reached) - 1, 0, max(len(starts) - 2, 0))
        if len(starts) > 1:
            share = np.clip((reached - starts[place]) / np.diff(starts)[place], 0.0, 1.0)
            u = (
                recovery[place]
                + (recovery[np.minimum(place + 1, len(starts) - 1)] - recovery[place])
                * share[..., None]
            )
        else:
            u = np.broadcast_to(recovery[0], (*top.shape, len(grid))).copy()
        # before the first curve the path shrinks with the closure reached
        u = u * np.minimum(1.0, reached / starts[0])[..., None]
        start = self.loading(reached)
        down_c = (reached[..., None] - u)[..., ::-1]
        # an unloading path never lies above the loading curve: no load cycle gives work
        down_f = np.minimum((start[..., None] * grid)[..., ::-1], self.loading(down_c))
        up_c = np.maximum(self.closure, reached[..., None])
        up_f = self.loading(up_c)
        return np.concatenate([down_c, up_c], -1), np.concatenate([down_f, up_f], -1)

    def carried(self, closure: ArrayLike, max_closure: ArrayLike) -> Array:
        """Load at this closure after `max_closure` was the largest so far (line load or stress)."""
        c, top = np.broadcast_arrays(
            np.asarray(closure, dtype=float), np.asarray(max_closure, dtype=float)
        )
        x, y = self.path(np.maximum(top, c).ravel())
        value, _ = interp_rows(x, y, c.reshape(-1, 1))
        return np.maximum(value[:, 0], 0.0).reshape(c.shape)

    def recovery(self, max_closure: ArrayLike) -> Array:
        """How far the zone springs back from `max_closure` until it carries nothing (m)."""
        top = np.asarray(max_closure, dtype=float)
        if self._family is None:
            return np.maximum(top, 0.0)
        x, _ = self.path(top)
        return top - x[..., 0]

    def required(self, pressure: ArrayLike) -> Array:
        """Residual load wanted at this pressure (Pa): factor x pressure (x width for a line)."""
        width = self.width if self.per == "length" else 1.0
        return self.factor * np.asarray(pressure, dtype=float) * width


@dataclass(frozen=True)
class Gasket:
    """A construction: its zones and where its numbers come from."""

    name: str
    zones: tuple[Zone, ...]
    note: str = ""

    def sized(self, seal_length: float, body_area: float, liquid_length: float = 0.0) -> Gasket:
        """The same construction on one bore: extents in m and m**2."""
        extent = {"seal": seal_length, "body": body_area, "liquid": liquid_length}
        zones = tuple(replace(z, extent=extent[z.role]) for z in self.zones)
        return replace(self, zones=tuple(z for z in zones if z.extent > 0))

    @property
    def seals(self) -> tuple[Zone, ...]:
        return tuple(z for z in self.zones if z.role == "seal")

    @property
    def others(self) -> tuple[Zone, ...]:
        return tuple(z for z in self.zones if z.role != "seal")


# --------------------------------------------------------------------------- straight-line tables
def _line(x: Array, y: Array, q: Array) -> Array:
    i = np.clip(np.searchsorted(x, q, side="right") - 1, 0, len(x) - 2)
    value = y[i] + (y[i + 1] - y[i]) / (x[i + 1] - x[i]) * (q - x[i])
    return np.where(q <= 0.0, 0.0, value)


def interp_rows(x: Array, y: Array, q: Array) -> tuple[Array, Array]:
    """Row by row, value and slope at `q` of the straight-line table (x, y).

    Shapes (rows or 1, n), (rows or 1, n), (rows, m) -> (rows, m) twice. Before the first node the
    value stays (slope 0), after the last node the last rising slope goes on.
    """
    n = x.shape[-1]
    if x.shape[0] == 1:
        nodes, values = x[0], y[0]
        place = np.searchsorted(nodes, q, side="right") - 1
        width = nodes[1:] - nodes[:-1]
        rise = (values[1:] - values[:-1]) / np.where(width > 0, width, np.inf)
        inside = np.minimum(np.maximum(place, 0), n - 2)
        slope = np.where(place < 0, 0.0, rise[inside])
        return values[inside] + slope * (q - nodes[inside]), slope
    place = (x[:, None, :] <= q[:, :, None]).sum(-1) - 1
    inside = np.clip(place, 0, n - 2)
    rows = np.arange(x.shape[0])[:, None]
    x0, x1, y0, y1 = x[rows, inside], x[rows, inside + 1], y[rows, inside], y[rows, inside + 1]
    width = x1 - x0
    slope = np.where(width > 0, (y1 - y0) / np.where(width > 0, width, 1.0), 0.0)
    slope = np.where(place < 0, 0.0, slope)
    return y0 + slope * (q - x0), slope


# --------------------------------------------------------------------------- reading
def read_zones(raw: Sequence[Mapping[str, Any]], path: str) -> tuple[tuple[Zone, ...], list[Fault]]:
    """Zones from the mappings of a data file or build sheet, with every fault found.

    Parameters
    ----------
    raw : one mapping per zone; lists `closure` and `load` are in `closure_unit` and `load_unit`,
        `seating` and `crush` in `load_unit`, lengths are text with unit
    path : where the mappings stand, for messages

    Returns
    -------
    zones, faults
    """
    zones: list[Zone] = []
    faults: list[Fault] = []
    for number, entry in enumerate(raw, start=1):
        where = f"{path}[{number}]"
        try:
            zones.append(_read_zone(entry, where))
        except InputError as err:
            faults.extend(err.faults)
    if not faults and not any(z.role == "seal" for z in zones):
        faults.append(Fault(path, "no zone with the role seal", "at least one combustion seal"))
    return tuple(zones), faults


def _read_zone(raw: Mapping[str, Any], where: str) -> Zone:
    faults: list[Fault] = []
    if not isinstance(raw, Mapping):
        raise fail(where, raw, "a table of fields")
    for key in raw:
        if key not in _KEYS:
            faults.append(
                Fault(f"{where}.{key}", "an unknown field", "a zone field" + near(key, _KEYS))
            )

    def text(key: str, allowed: Mapping[str, str] | None = None, default: str | None = None) -> str:
        value = raw.get(key, default)
        if not isinstance(value, str) or (allowed is not None and value not in allowed):
            want = f"one of {', '.join(allowed)}" if allowed else "a text"
            faults.append(
                Fault(f"{where}.{key}", "nothing" if value is None else short(value), want)
            )
            return ""
        return value

    def number(key: str, kind: str, default: float = 0.0, factor: float | None = None) -> float:
        value = raw.get(key)
        if value is None:
            return default
        try:
            plain = float(value) * factor if factor is not None else float(to_si(value, kind, key))
        except (InputError, TypeError, ValueError):
            faults.append(
                Fault(f"{where}.{key}", short(value), f"a {kind}, such as a positive number")
            )
            return default
        if not np.isfinite(plain) or plain < 0:
            faults.append(Fault(f"{where}.{key}", short(value), "a number not below zero"))
        return plain

    name = text("name", default=f"zone {where}")
    role = text("role", ROLES)
    per = text("per", PER)
    load_kind = {"length": "line load", "area": "stress"}.get(per, "stress")
    scale: dict[str, float] = {}
    for key, kind in (("closure_unit", "length"), ("load_unit", load_kind)):
        unit = raw.get(key)
        try:
            scale[key] = float(to_si(f"1 {unit}", kind, f"{where}.{key}"))
        except InputError as err:
            faults.extend(err.faults)
            scale[key] = 1.0

    def column(values: Any, unit: str, label: str) -> Array:
        try:
            out = np.asarray(values, dtype=float) * scale[unit]
        except (TypeError, ValueError):
            out = np.array([np.nan])
        if out.ndim != 1 or len(out) < 2 or not np.all(np.isfinite(out)):
            faults.append(Fault(label, short(values), "a list of two or more numbers"))
            return np.array([0.0, 1.0])
        return out

    closure = column(raw.get("closure"), "closure_unit", f"{where}.closure")
    load = column(raw.get("load"), "load_unit", f"{where}.load")
    if len(closure) != len(load):
        faults.append(
            Fault(
                f"{where}.load", f"{len(load)} points", f"{len(closure)} points, as many as closure"
            )
        )
    elif not faults:
        if closure[0] != 0 or load[0] != 0:
            faults.append(
                Fault(f"{where}.closure", "a first point away from zero", "a start at 0, 0")
            )
        if np.any(np.diff(closure) <= 0):
            faults.append(
                Fault(f"{where}.closure", "points that do not rise", "closures that rise")
            )
        if np.any(np.diff(load) < 0):
            faults.append(Fault(f"{where}.load", "a load that falls", "loads that never fall"))
    unloading = []
    for i, curve in enumerate(raw.get("unloading", ()), start=1):
        label = f"{where}.unloading[{i}]"
        if not isinstance(curve, Mapping):
            faults.append(Fault(label, short(curve), "closure and load lists"))
            continue
        c = column(curve.get("closure"), "closure_unit", f"{label}.closure")
        f = column(curve.get("load"), "load_unit", f"{label}.load")
        if faults:
            continue
        if len(c) != len(f):
            faults.append(Fault(label, f"{len(c)} closures and {len(f)} loads", "as many of both"))
            continue
        on_curve = float(_line(closure, load, np.array(c[0])))
        if not np.isclose(f[0], on_curve, rtol=0.01) or f[0] <= 0:
            faults.append(
                Fault(
                    label,
                    f"a start at {f[0] / scale['load_unit']:g}",
                    f"a start on the loading curve, {on_curve / scale['load_unit']:g}",
                )
            )
        if np.any(np.diff(c) >= 0) or np.any(np.diff(f) > 0) or f[-1] != 0:
            faults.append(
                Fault(label, "a path that does not come back", "falling points down to load 0")
            )
        elif np.any(f > _line(closure, load, c) + 0.01 * f[0]):
            faults.append(
                Fault(
                    label, "points above the loading curve", "a path on or below the loading curve"
                )
            )
        unloading.append((c, f))
    status = text("status", STATUSES, "invented")
    source = text("source", default="the build sheet")
    zone = Zone(
        name=name,
        role=role,
        per=per,
        closure=closure,
        load=load,
        unloading=tuple(unloading),
        width=number("width", "length"),
        free_thickness=number("free_thickness", "length"),
        stands_proud=number("stands_proud", "length"),
        seating=number("seating", load_kind, factor=scale["load_unit"]),
        factor=number("factor", "number"),
        crush=number("crush", load_kind, np.inf, factor=scale["load_unit"]),
        source=source,
        status=status,
        note=text("note", default=""),
    )
    if faults:
        raise InputError(faults)
    return zone


def constructions() -> list[str]:
    """Names of the constructions that come with the kit."""
    return sorted(_files())


@functools.cache
def _files() -> dict[str, dict[str, Any]]:
    out = {}
    for entry in (resources.files("sealkit.tables") / "gaskets").iterdir():
        if entry.name.endswith(".toml"):
            data = tomllib.loads(entry.read_text(encoding="utf-8"))
            out[str(data["name"])] = data
    return out


@functools.cache
def construction(name: str) -> Gasket:
    """A construction by name, such as ``"multi-layer steel"``.

    Raises
    ------
    InputError
        if no construction has this name (the nearest one is suggested).
    """
    files = _files()
    if name not in files:
        raise fail(
            "gasket.construction", name, "one of " + ", ".join(sorted(files)) + near(name, files)
        )
    data = files[name]
    zones, faults = read_zones(data["zone"], f"gaskets/{name}.zone")
    if faults:
        raise InputError(faults)
    return Gasket(name, zones, str(data.get("note", "")))
