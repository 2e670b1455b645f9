"""The deck map: where on the deck the clamp goes, and where the gas opens the joint first.

The head is a thin plate of one effective thickness. A real head is a box of floor, roof, walls and
ports; its floor alone is far softer, the whole casting far stiffer than a plate of the thickness
written on the sheet. The effective thickness is therefore an argument that has to be stated, and
the first thing to vary. The block is a rigid plane.

    plate bending + gasket loads (closure, largest closure so far) = bolt forces - gas forces

Gasket. Every zone of the gasket is a one-sided foundation at points: the combustion seal on its
circle round each bore, the body on all of the deck face that is neither seal nor hole, the beads on
circles round the liquid holes. The closure of a zone at a point is the deflection of the plate plus
the local extra thickness less what the zone lies below the proudest zone. At assembly each point
follows its loading curve; the closure reached there is where it turns, and from then on it comes
back on the unloading path that starts there, or goes on along the loading curve beyond it.

Bolts. Each bolt pulls on a circle: the edge of its hole, or as wide as its head bears. While
tightening its force is the preload that is given: all bolts at once, the effect of a bolt sequence
is out of scope. Afterwards it is a spring:
with bolt stiffness kb, member stiffness km, deflection w of the plate at the bolt, advance a of
the nut or bolt, and the share g of the gas force that falls to this bolt

    F = (kb (a - w) + (kb/km) g) / (1 + kb/km)

The members are squeezed by the clamp F - g, not by the bolt force, since the gas pushes on the head
past the gasket; bolt stretch is then a - w - (F - g)/km, and F = kb times that gives the line
above. Summed over the bolts of a stiff head it is n kb (a - c) = (1 + kb/km) G + P, the balance of
`joint.Joint`. The gas force of a bore is shared equally between the bolts that stand round it. A
bolt pulls no harder than it yields and never pushes; stretch that stays is not remembered.

Gas pushes on the disc inside the seal diameter of each bore, cylinder by cylinder.

Left out, besides what `plates` leaves out: bending of the block, warping by heat, openings in the
plate, the order of tightening. A load reaches about (D/k)**(1/4) along a plate on a body of
stiffness k (`DeckMap.reach`). Where that is less than the head is thick, as on hard layers and
copper, a real head spreads a bolt's load further than the plate: the map then shows too much right
under the bolts and too little between them.
"""

from __future__ import annotations

import copy
import dataclasses
import functools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit.errors import Fault, InputError, fail, short
from sealkit.sealing import layout as places
from sealkit.sealing import liquids
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.joint import Joint, plate_stiffness
from sealkit.sealing.layout import Layout, Step
from sealkit.sealing.limit import Limit
from sealkit.sealing.lines import interp_rows
from sealkit.sealing.plates import Law, Patch, Plate
from sealkit.units import field, quantify, with_units

Array = NDArray[np.float64]
Extra = Callable[[Array], Array]

_ROUND = 96  # points round a bore
_BOLT = 8  # points round a bolt hole
_HOLE = 16  # points round a liquid hole
_LAND = 2e-3  # m: from the edge of a hole to where body or bead is looked at


# --------------------------------------------------------------------------- zones at points
@dataclass(frozen=True, eq=False)
class _Contact:
    """A zone of the gasket at points of the plate."""

    zone: Zone
    patch: Patch
    gap: Array  # deflection of the plate at which each point is first touched

    def closure(self, w: Array) -> Array:
        return self.patch.closure(w) - self.gap

    def loading(self) -> Law:
        """Along the loading curve."""
        gap, curve = self.gap, _Curve(self.zone)
        return lambda deflection: curve(deflection - gap)

    def history(self, tops: Array) -> Law:
        """On the way back from the largest closures so far, and along the loading curve beyond."""
        gap, curve, back = self.gap, _Curve(self.zone), self.zone.way_back(tops)
        if back is None:
            return self.loading()
        nodes, loads = back

        def law(deflection: Array) -> tuple[Array, Array]:
            closure = deflection - gap
            load, slope = curve(closure)
            down = np.nonzero(closure < tops)[0]
            if len(down):
                low, rise = interp_rows(nodes[down], loads[down], closure[down, None])
                less = low[:, 0] < load[down]
                load[down] = np.where(less, low[:, 0], load[down])
                slope[down] = np.where(less, rise[:, 0], slope[down])
            return load, slope

        return law


class _Curve:
    """Load and slope of a loading curve; past its last point the last slope goes on."""

    def __init__(self, zone: Zone):
        self.x, self.y = zone.closure, zone.load
        self.rise = np.diff(self.y) / np.diff(self.x)

    def __call__(self, closure: Array) -> tuple[Array, Array]:
        i = np.clip(np.searchsorted(self.x, closure, side="right") - 1, 0, len(self.rise) - 1)
        slope = np.where(closure > 0.0, self.rise[i], 0.0)
        return np.where(closure > 0.0, self.y[i] + slope * (closure - self.x[i]), 0.0), slope


# --------------------------------------------------------------------------- what may vary
_ABOVE_ZERO = ("thickness", "modulus", "bolt_stiffness", "member_stiffness", "yield_force")
_SHARES = ("body_share", "liquid_share")


def _is_number(value: Any) -> bool:
    """Whether this is one plain number (text, True and arrays are none)."""
    if isinstance(value, bool | np.bool_ | str | bytes) or np.ndim(value):
        return False
    try:
        return not np.isnan(float(value))
    except (TypeError, ValueError, OverflowError):
        return False


def _fault(name: str, value: Any) -> Fault | None:
    """What is wrong with a changed field of a deck map; None if nothing."""
    if name in _ABOVE_ZERO:
        # a force at yield may be out of reach, nothing else is without bounds
        good = _is_number(value) and value > 0 and (np.isfinite(value) or name == "yield_force")
        wanted = "a number above zero (SI)"
    elif name in _SHARES:
        good = _is_number(value) and 0 <= value < np.inf
        wanted = "a number not below zero"
    elif name == "gasket":
        good, wanted = isinstance(value, Gasket), "a gasket, as `sealkit.sealing.gaskets` has it"
    elif name == "warp":
        good = isinstance(value, tuple | list | np.ndarray) and len(value) == 2
        good = good and all(_is_number(v) and np.isfinite(v) for v in value)
        wanted = "two numbers: the bow lengthwise and across, m"
    elif name == "extra":
        good, wanted = value is None or callable(value), "a function of the points (n, 2), or None"
    else:
        good = isinstance(value, tuple | list) and all(isinstance(s, Step) for s in value)
        wanted = "a list of places of another thickness (`Step`)"
    return None if good else Fault(name, short(value), wanted)


# --------------------------------------------------------------------------- the map
class DeckMap:
    """A head on its gasket: plate, zones at their points, bolts, bores (plain SI).

    Make one with `deck_map` or `from_joint`, change one with `vary`.

    Attributes
    ----------
    layout, gasket, seal_diameter, thickness, modulus, poisson, bolt_stiffness, member_stiffness,
    yield_force, steps, warp, extra, body_share, liquid_share, bolt_diameter, mesh : as given
    plate : the plate
    points, share : where the body is looked at (n, 2), and the part of each point that is gasket
    seal_length, body_area, liquid_length : extents of the zones for one bore on average, such as
        `Gasket.sized` takes them
    """

    def __init__(
        self,
        layout: Layout,
        gasket: Gasket,
        seal_diameter: float,
        thickness: float,
        modulus: float,
        poisson: float,
        bolt_stiffness: float,
        member_stiffness: float,
        yield_force: float = np.inf,
        steps: Iterable[Step] = (),
        warp: tuple[float, float] = (0.0, 0.0),
        extra: Extra | None = None,
        body_share: float = 1.0,
        liquid_share: float = 1.0,
        bolt_diameter: float | None = None,
        mesh: float = 8e-3,
    ):
        if not gasket.seals:
            raise fail("gasket", gasket.name, "a gasket with a combustion seal")
        self.layout = places.check(layout, seal_diameter)
        self.gasket = gasket
        self.seal_diameter = float(seal_diameter)
        self.thickness, self.modulus, self.poisson = (
            float(thickness),
            float(modulus),
            float(poisson),
        )
        self.bolt_stiffness = float(bolt_stiffness)
        self.member_stiffness = float(member_stiffness)
        self.yield_force = float(yield_force)
        self.steps, self.warp, self.extra = tuple(steps), warp, extra
        if not (np.isfinite(mesh) and mesh > 0):
            raise fail("mesh", mesh, "a size above zero")
        self.body_share, self.liquid_share = float(body_share), float(liquid_share)
        self.bolt_diameter = layout.bolt_hole if bolt_diameter is None else float(bolt_diameter)
        self.mesh = float(mesh)
        self._prepare()

    # ------------------------------------------------------------------ what does not change
    def _prepare(self) -> None:
        """Mesh, points and forces, none of which depends on stiffness, gasket or loads."""
        x0, x1, y0, y1 = self.layout.extent
        cells = [max(4, int(np.ceil((b - a) / self.mesh - 1e-9))) for a, b in ((x0, x1), (y0, y1))]
        x, y = self.layout.outline.T
        corners = (np.isclose(x, x0) | np.isclose(x, x1)) & (np.isclose(y, y0) | np.isclose(y, y1))
        self._cut = not bool(corners.all())

        def edge(x: Array, y: Array) -> Array:
            return places.edge_distance(self.layout, np.stack([x, y], axis=-1))

        self.plate = Plate(
            np.linspace(x0, x1, cells[0] + 1),
            np.linspace(y0, y1, cells[1] + 1),
            float(plate_stiffness.si(self.modulus, self.thickness, self.poisson)),
            self.poisson,
            edge if self._cut else None,
        )
        plate, bores = self.plate, self.layout.bores
        self._seals = [plate.ring(b, self.seal_diameter, _ROUND) for b in bores]
        self._discs = []
        for b in bores:
            disc = plate.disc(b, self.seal_diameter, 6, 48)
            self._discs.append(disc.forces(np.ones(len(disc.points)), plate.size))
        self._area = self._body_patch()
        self._rings = []
        for hole in self.layout.holes:
            self._rings.append(self._ring((hole.x, hole.y), hole.diameter + 2.0 * _LAND, _HOLE))
        bolts = [self._ring(b, self.bolt_diameter, _BOLT) for b in self.layout.bolts]
        self._bolts = _joined([replace(p, weight=np.full(_BOLT, 1.0 / _BOLT)) for p in bolts])
        self._gas_share = np.zeros((len(bores), len(bolts)))
        for i in range(len(bores)):
            here = places.around_bore(self.layout, i).bolts
            here = here if len(here) else np.arange(len(bolts))
            self._gas_share[i, here] = 1.0 / len(here)

    def _ring(self, centre: Any, diameter: float, count: int) -> Patch:
        """Points round a circle, drawn in where it would reach over the edge of the deck."""
        free = float(places.edge_distance(self.layout, centre)) * (1.0 - 1e-9)
        return self.plate.ring(centre, min(diameter, 2.0 * free), count)

    def _body_patch(self) -> Patch:
        """Points of the deck face that are neither bore, seal nor hole, with the part that is."""
        patch = self.plate.area()
        points = patch.points
        cell = np.sqrt(patch.weight)
        widest = max(z.width for z in self.gasket.seals)
        circles = [(*b, 0.5 * (self.seal_diameter + widest)) for b in self.layout.bores]
        circles += [(*b, 0.5 * self.layout.bolt_hole) for b in self.layout.bolts]
        circles += [(h.x, h.y, 0.5 * h.diameter) for h in self.layout.holes]
        share = np.ones(len(points))
        for x, y, r in circles:
            near = np.abs(points[:, 0] - x) < r + 0.02
            d = np.hypot(points[near, 0] - x, points[near, 1] - y) - r
            share[near] *= np.clip(0.5 + d / cell[near], 0.0, 1.0)
        if self._cut:
            share *= places.inside(self.layout, points)
        kept = np.repeat(share.reshape(-1, 16).max(axis=1) > 0.0, 16)
        self.points, self.share = points[kept], share[kept]
        return Patch(
            points[kept], (patch.weight * share)[kept], patch.dofs[kept], patch.shape[kept], 16
        )

    # ------------------------------------------------------------------ what may be varied
    @functools.cached_property
    def _extra_at(self) -> Callable[[Array], Array]:
        def extra(points: Array) -> Array:
            out = places.extra_thickness(self.steps, points)
            if any(self.warp):
                out = out - places.bow(self.layout, points, *self.warp)
            if self.extra is not None:
                out = out + self.extra(points)
            if not np.all(np.isfinite(out)):
                raise fail("extra", "a thickness that is no number", "finite lengths everywhere")
            return np.asarray(out)

        return extra

    def _contact(self, zone: Zone, patch: Patch, share: float = 1.0) -> _Contact:
        proud = max(z.stands_proud for z in self.gasket.zones) - zone.stands_proud
        if share != 1.0:
            patch = replace(patch, weight=patch.weight * share)
        return _Contact(zone, patch, proud - self._extra_at(patch.points))

    @functools.cached_property
    def _contacts(self) -> list[_Contact]:
        """All zones that carry load; the seals first, one after the other round every bore."""
        out = [self._contact(z, _joined(self._seals)) for z in self.gasket.seals]
        for zone in self.gasket.others:
            if zone.role == "body":
                out.append(self._contact(zone, self._area, self.body_share))
            elif self._rings:
                out.append(self._contact(zone, _joined(self._rings), self.liquid_share))
        return out

    @functools.cached_property
    def _watched(self) -> list[_Contact]:
        """The body beside the liquid holes, where no bead stands round them: looked at only."""
        if not self._rings or any(z.role == "liquid" for z in self.gasket.zones):
            return []
        ring = replace(_joined(self._rings), weight=np.zeros(_HOLE * len(self._rings)))
        return [self._contact(z, ring) for z in self.gasket.others if z.role == "body"]

    @property
    def seal_length(self) -> float:
        return float(np.pi * self.seal_diameter)

    @property
    def body_area(self) -> float:
        return self.body_share * float(self._area.weight.sum()) / len(self.layout.bores)

    @property
    def liquid_length(self) -> float:
        length = sum(float(r.weight.sum()) for r in self._rings)
        return self.liquid_share * length / len(self.layout.bores)

    def reach(self, stress: float) -> float:
        """How far a load reaches along the plate, (D/k)**(1/4), at this stress of the body (m).

        k is the slope of the body's loading curve there; infinite without a body.
        """
        k = 0.0
        for zone in self.gasket.others:
            if zone.role == "body":
                at = float(np.interp(stress, zone.load, zone.closure))
                k += self.body_share * float(_Curve(zone)(np.array([max(at, 1e-12)]))[1][0])
        return float((self.plate.stiffness / k) ** 0.25) if k > 0 else float(np.inf)

    def vary(self, **changes: Any) -> DeckMap:
        """The same deck with other numbers; mesh, points and stiffness matrix are kept.

        Parameters
        ----------
        changes : `gasket`, `thickness`, `modulus`, `bolt_stiffness`, `member_stiffness`,
            `yield_force`, `steps`, `warp`, `extra`, `body_share`, `liquid_share` (SI)

        Raises
        ------
        InputError
            naming each field that is of the wrong kind, or would need another mesh.
        """
        known = (
            "gasket", "thickness", "modulus", "bolt_stiffness", "member_stiffness", "yield_force",
            "steps", "warp", "extra", "body_share", "liquid_share",
        )  # fmt: skip
        for name in changes:
            if name not in known:
                raise fail(name, "a change of it", "one of " + ", ".join(known))
        faults = [f for n, v in changes.items() if (f := _fault(n, v)) is not None]
        if faults:
            raise InputError(faults)
        out = copy.copy(self)
        for name in ("_extra_at", "_contacts", "_watched"):
            out.__dict__.pop(name, None)
        for name, value in changes.items():
            if name == "steps":
                value = tuple(value)
            elif name == "warp":
                value = (float(value[0]), float(value[1]))
            elif name in _ABOVE_ZERO or name in _SHARES:
                value = float(value)
            setattr(out, name, value)
        if "gasket" in changes:
            if not out.gasket.seals:
                raise fail("gasket", out.gasket.name, "a gasket with a combustion seal")
            out._area = out._body_patch()
        d = float(plate_stiffness.si(out.modulus, out.thickness, out.poisson))
        if d != self.plate.stiffness:
            out.plate = self.plate.scaled(d)
        return out

    # ------------------------------------------------------------------ assembly
    def _preload(self, name: str, preload: ArrayLike) -> Array:
        force = np.asarray(preload, dtype=float)
        if force.shape not in ((), (len(self.layout.bolts),)):
            wanted = f"one force, or one for each of {len(self.layout.bolts)} bolts"
            raise fail(name, f"an array of shape {force.shape}", wanted)
        if not (np.all(np.isfinite(force)) and np.all(force > 0)):
            raise fail(name, force, "a clamp force above zero")
        if np.any(force > self.yield_force):
            raise fail(name, force, f"at most the force at yield, {self.yield_force:g} N")
        return np.broadcast_to(force, (len(self.layout.bolts),)).copy()

    def _pull(self, force: Array) -> Array:
        return self._bolts.forces(np.repeat(force, _BOLT), self.plate.size)

    def _flat(self, force: float) -> Array:
        """The closure of a rigid head under this clamp, as a start."""
        low, high = 0.0, 1e-3
        contacts = self._contacts

        def carried(level: float) -> float:
            return sum(
                float(c.zone.loading(level - np.median(c.gap))) * float(c.patch.weight.sum())
                for c in contacts
            )

        while carried(high) < force and high < 1.0:
            high *= 2.0
        for _ in range(40):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if carried(middle) < force else (low, middle)
        return high * self.plate.unit

    def _solved(
        self,
        name: str,
        value: Array,
        laws: list[tuple[Patch, Law]],
        push: Array,
        start: Array | None,
    ) -> tuple[Array, int]:
        """The balance of the plate, or in words which load or thickness it is not found at."""
        try:
            return self.plate.solve(laws, push, start)
        except InputError as err:
            most = float(np.max(value))
            came = f"up to {most:.3g} {'Pa' if name == 'pressure' else 'N'}"
            came += f" on a head of {1e3 * self.thickness:.3g} mm"
            wanted = "loads and a thickness of the head at which the deck comes to balance"
            raise InputError(Fault(name, came, wanted)) from err

    def _start(self, start: State | None) -> Array | None:
        if start is None:
            return None
        if start.unknowns.shape != (self.plate.size,):
            raise fail("start", "a state on another mesh", "a state on the mesh of this deck")
        return start.unknowns

    def assemble(
        self,
        assembly_preload: ArrayLike,
        preload: ArrayLike | None = None,
        start: State | None = None,
    ) -> State:
        """Tighten all bolts to `assembly_preload`, then let them fall to `preload`.

        Parameters
        ----------
        assembly_preload : N, one for all bolts or one for each
        preload : what is left after the losses, N; None: all of it
        start : a state of this deck, or of one it was varied from, to start the solution from

        Returns
        -------
        State

        Raises
        ------
        InputError
            if a preload is not above zero, beyond yield, or rises after assembly.
        """
        first = self._preload("assembly_preload", assembly_preload)
        second = first if preload is None else self._preload("preload", preload)
        if np.any(second > first * (1 + 1e-12)):
            raise fail("preload", "more than at assembly", "at most the assembly preload")
        w = self._start(start)
        if w is None:
            w = self._flat(float(first.sum()))
        laws = [(c.patch, c.loading()) for c in self._contacts]
        w, steps = self._solved("assembly_preload", first, laws, self._pull(first), w)
        every = [*self._contacts, *self._watched]
        state = State(
            deck=self,
            unknowns=w,
            assembled=w,
            tops=tuple(np.maximum(c.closure(w), 0.0) for c in every),
            advance=np.zeros(0),
            newton_steps=steps,
            preload=second,
            bolt_force=second,
            pressure=np.zeros(len(self.layout.bores)),
        )
        if preload is not None:
            w, more = self._solved("preload", second, state.laws, self._pull(second), w)
            # a place beside a bolt may close further as its neighbours let go
            pairs = zip(state.tops, every, strict=True)
            tops = tuple(np.maximum(t, c.closure(w)) for t, c in pairs)
            state = replace(state, unknowns=w, assembled=w, tops=tops, newton_steps=steps + more)
        ratio = 1.0 + self.bolt_stiffness / self.member_stiffness
        stretch = np.repeat(second, _BOLT) * ratio / self.bolt_stiffness
        return replace(state, advance=self._bolts.closure(w) + stretch)

    # ------------------------------------------------------------------ gas
    def _bolt_law(self, advance: Array, share: Array) -> Law:
        kb, r = self.bolt_stiffness, self.bolt_stiffness / self.member_stiffness
        most = self.yield_force

        def law(deflection: Array) -> tuple[Array, Array]:
            force = (kb * (advance - deflection) + r * share) / (1.0 + r)
            works = (force > 0.0) & (force < most)
            return -np.clip(force, 0.0, most), np.where(works, kb / (1.0 + r), 0.0)

        return law

    def under_gas(self, state: State, pressure: ArrayLike, start: State | None = None) -> State:
        """The deck with gas in its cylinders, from the history that a state carries.

        Parameters
        ----------
        state : as assembled, or after other pressures
        pressure : Pa over the air outside, one for all cylinders or one for each
        start : a state to start the solution from; None: `state`

        Returns
        -------
        State

        Raises
        ------
        InputError
            if a pressure is below zero, or if the gas overcomes the yielding bolts.
        """
        count = len(self.layout.bores)
        p = np.asarray(pressure, dtype=float)
        if p.shape not in ((), (count,)):
            wanted = f"one pressure, or one for each of {count} cylinders"
            raise fail("pressure", f"an array of shape {p.shape}", wanted)
        if not (np.all(np.isfinite(p)) and np.all(p >= 0)):
            raise fail("pressure", p, "gas pressures not below zero")
        p = np.broadcast_to(p, (count,)).copy()
        gas = p * np.pi / 4.0 * self.seal_diameter**2
        if gas.sum() >= self.yield_force * len(self.layout.bolts):
            raise fail("pressure", p, "a pressure that the yielding bolts can hold")
        share = np.repeat(gas @ self._gas_share, _BOLT)
        bolts = self._bolt_law(state.advance, share)
        push = np.zeros(self.plate.size)
        for at, disc in zip(p, self._discs, strict=True):
            push -= at * disc
        w = self._start(start)
        w, steps = self._solved(
            "pressure",
            p,
            [*state.laws, (self._bolts, bolts)],
            push,
            state.unknowns if w is None else w,
        )
        force = -bolts(self._bolts.closure(w))[0].reshape(-1, _BOLT).mean(axis=1)
        every = [*self._contacts, *self._watched]
        tops = tuple(np.maximum(t, c.closure(w)) for t, c in zip(state.tops, every, strict=True))
        return replace(
            state,
            deck=self,
            unknowns=w,
            tops=tops,
            newton_steps=steps,
            bolt_force=force,
            pressure=p,
        )

    def firing(
        self,
        assembly: State,
        peak: float,
        others: float = 0.0,
        last: Sequence[State] | None = None,
    ) -> tuple[State, ...]:
        """One state for each cylinder at its peak pressure, the others at `others`.

        Parameters
        ----------
        assembly : as assembled
        peak, others : Pa over the air outside
        last : the states of an earlier call, to start from

        Returns
        -------
        tuple of State, one for each cylinder
        """
        count = len(self.layout.bores)
        out = []
        for i in range(count):
            p = np.full(count, float(others))
            p[i] = peak
            out.append(self.under_gas(assembly, p, None if last is None else last[i]))
        return tuple(out)


# --------------------------------------------------------------------------- states and results
@dataclass(frozen=True, eq=False)
class Weakest:
    """Where the seals have the least margin.

    `bore` counts from 0; `angle` from the x axis, anticlockwise; `limit` holds demand, capacity and
    margin there; `pressure` is that of each cylinder at this moment.
    """

    bore: int
    limit: Limit
    angle: Any = field("angle")
    load: Any = field("line load")
    pressure: Any = field("gauge pressure")

    @property
    def margin(self) -> float:
        return float(self.limit.margin)

    def quantities(self) -> Weakest:
        """The same with units on every field."""
        return quantify(self)


@dataclass(frozen=True, eq=False)
class HoleLoad:
    """What lies on the gasket round one liquid hole.

    `least`, `mean` and `seated` (the least of the highest so far) are line loads of a bead or
    stresses of the body, as `kind` says; `share` is the least load over the mean of the whole zone.
    """

    name: str
    fluid: str
    zone: Zone = dataclasses.field(repr=False)
    kind: str
    least: float
    mean: float
    seated: float
    share: float
    angle: Any = field("angle")


@dataclass(frozen=True, eq=False)
class Orders:
    """Harmonics of the clamp round one bore, orders 0, 1, 2, ..., over the bore's circumference.

    load(phi) = sum of amplitude[k] cos(k (phi - angle[k])) for `contact`, the gasket's push on the
    deck, and likewise for `bolts`, the pull of the bolts on it; order 0 is the mean.

    A first estimate of which shape the clamp pulls the bore into. It is what drives the distortion
    and no diameter: how far the bore gives way depends on the walls, bosses and jackets of the
    block, which this map does not know.
    """

    order: Any
    contact: Any = field("line load")
    contact_angle: Any = field("angle")
    bolts: Any = field("line load")
    bolts_angle: Any = field("angle")

    def quantities(self) -> Orders:
        """The same with units on every field."""
        return quantify(self)


@dataclass(frozen=True, eq=False)
class State:
    """The deck as assembled, or with gas in its cylinders.

    Parameters
    ----------
    deck : the map it belongs to
    unknowns, assembled : of the plate, now and as assembled
    tops : largest closure so far of every zone at its points, m
    advance : of nut or bolt at the points round the bolt holes, m
    newton_steps : it took
    preload, bolt_force : of each bolt, as assembled and now
    pressure : in each cylinder, over the air outside
    """

    deck: DeckMap = dataclasses.field(repr=False)
    unknowns: Array = dataclasses.field(repr=False)
    assembled: Array = dataclasses.field(repr=False)
    tops: tuple[Array, ...] = dataclasses.field(repr=False)
    advance: Array = dataclasses.field(repr=False)
    newton_steps: int
    preload: Any = field("force")
    bolt_force: Any = field("force")
    pressure: Any = field("gauge pressure")

    def quantities(self) -> State:
        """The same with units on every field."""
        return quantify(self)

    # ------------------------------------------------------------------ loads at points
    @functools.cached_property
    def laws(self) -> list[tuple[Patch, Law]]:
        """What carries load, on the way back from the largest closures so far."""
        return [(c.patch, law) for c, law in zip(self.deck._contacts, self._every, strict=False)]

    @functools.cached_property
    def _every(self) -> list[Law]:
        every = [*self.deck._contacts, *self.deck._watched]
        return [c.history(top) for c, top in zip(every, self.tops, strict=True)]

    @functools.cached_property
    def _loads(self) -> list[tuple[_Contact, Array, Array]]:
        """Every zone with its load now and the highest so far at its points."""
        every = [*self.deck._contacts, *self.deck._watched]
        return [
            (c, law(c.patch.closure(self.unknowns))[0], c.zone.loading(top))
            for c, law, top in zip(every, self._every, self.tops, strict=True)
        ]

    @property
    def contact_force(self) -> float:
        """Force of the whole gasket, N."""
        return float(sum(c.patch.weight @ load for c, load, _ in self._loads))

    @property
    def gas_force(self) -> float:
        """Force of the gas on the head, N."""
        area = np.pi / 4.0 * self.deck.seal_diameter**2
        return float(np.sum(self.pressure) * area)

    @property
    def balance(self) -> tuple[float, float, float]:
        """Contact and gas less bolts: force (N) and moments about both axes (N*m)."""
        deck = self.deck
        out = np.zeros(3)
        for c, load, _ in self._loads:
            f, (x, y) = c.patch.weight * load, c.patch.points.T
            out += [f.sum(), f @ y, f @ x]
        gas = np.asarray(self.pressure) * np.pi / 4.0 * deck.seal_diameter**2
        x, y = deck.layout.bores.T
        out += [gas.sum(), gas @ y, gas @ x]
        f = self._bolt_points
        x, y = deck._bolts.points.T
        out -= [f.sum(), f @ y, f @ x]
        return float(out[0]), float(out[1]), float(out[2])

    @property
    def _bolt_points(self) -> Array:
        """Force at each point round the bolt holes."""
        deck = self.deck
        gas = np.asarray(self.pressure) * np.pi / 4.0 * deck.seal_diameter**2
        law = deck._bolt_law(self.advance, np.repeat(gas @ deck._gas_share, _BOLT))
        return np.asarray(-law(deck._bolts.closure(self.unknowns))[0] / _BOLT)

    # ------------------------------------------------------------------ fields
    @property
    def contact_pressure(self) -> Array:
        """Contact pressure of the gasket body at `deck.points`, Pa."""
        out = np.zeros(len(self.deck.points))
        for c, load, _ in self._loads:
            if c.zone.role == "body" and len(load) == len(out):
                out += load
        return out

    @property
    def mean_pressure(self) -> float:
        """Mean contact pressure of the gasket body, Pa."""
        return float(np.average(self.contact_pressure, weights=self.deck._area.weight))

    @property
    def lift(self) -> Array:
        """How far the head has risen since assembly at `deck.points`, m."""
        out: Array = self.deck._area.closure(self.assembled - self.unknowns)
        return out

    @property
    def gap(self) -> Array:
        """Open gap over the gasket body at `deck.points`, m; 0 where it touches.

        Over a body that has taken a set the gap begins where its springback ends.
        """
        out: Array = np.full(len(self.deck.points), np.inf)
        for c, top in zip(self.deck._contacts, self.tops, strict=False):
            if c.zone.role == "body":
                free = np.maximum(top - c.zone.recovery(top), 0.0)
                np.minimum(out, np.maximum(free - c.closure(self.unknowns), 0.0), out=out)
        out[np.isinf(out)] = 0.0
        return out

    # ------------------------------------------------------------------ round the bores
    @property
    def angle(self) -> Array:
        """Angles of the points round a bore, from the x axis, anticlockwise (rad)."""
        return np.asarray(np.arange(_ROUND) * (2.0 * np.pi / _ROUND), dtype=float)

    def _bore(self, bore: int) -> slice:
        count = len(self.deck.layout.bores)
        if not 0 <= bore < count:
            raise fail("bore", bore, f"a bore from 0 to {count - 1}")
        return slice(bore * _ROUND, (bore + 1) * _ROUND)

    def _seal(self, zone: str | None) -> list[tuple[Zone, Array, Array]]:
        """Loads now and highest so far of the seal zones, or of one of them."""
        names = [z.name for z in self.deck.gasket.seals]
        if zone is not None and zone not in names:
            raise fail("zone", zone, "one of " + ", ".join(names))
        out = [(c.zone, load, top) for c, load, top in self._loads if c.zone.role == "seal"]
        return [row for row in out if zone in (None, row[0].name)]

    def line_load(self, bore: int, zone: str | None = None) -> tuple[Array, Array]:
        """Angle (rad) and line load (N/m) round a bore.

        Parameters
        ----------
        bore : from 0
        zone : one of the seal zones; None: all together
        """
        here = self._bore(bore)
        total = sum((load[here] for _, load, _ in self._seal(zone)), np.zeros(_ROUND))
        return self.angle, total

    def seal_lift(self, bore: int) -> tuple[Array, Array]:
        """Angle (rad) and rise of the head since assembly (m) round a bore."""
        ring = self.deck._seals[bore if self._bore(bore) else 0]
        return self.angle, ring.closure(self.assembled - self.unknowns)

    def seating(self, bore: int, zone: str | None = None) -> Limit:
        """Load to seat a seal zone against the highest load so far, round a bore."""
        here = self._bore(bore)
        z, _, top = self._seal(zone)[0]
        return _seal_limit("seating", z, bore, np.full(_ROUND, z.seating), top[here])

    def residual(self, bore: int, zone: str | None = None) -> Limit:
        """Load wanted of a seal zone at the pressure of its bore against the load left on it.

        Parameters
        ----------
        bore : from 0
        zone : one of the seal zones; None: the first

        Returns
        -------
        Limit whose demand, capacity and margin are arrays over `angle`
        """
        here = self._bore(bore)
        z, load, _ = self._seal(zone)[0]
        wanted = np.full(_ROUND, float(z.required(self.pressure[bore])))
        return _seal_limit("residual", z, bore, wanted, load[here])

    def springback(self, bore: int, zone: str | None = None) -> Limit:
        """Rise of the head round a bore since assembly against the springback left in a seal zone.

        Parameters
        ----------
        bore : from 0
        zone : one of the seal zones; None: the first

        Returns
        -------
        Limit whose demand, capacity and margin are arrays over `angle`
        """
        here = self._bore(bore)
        name = self._seal(zone)[0][0].name
        i = [z.name for z in self.deck.gasket.seals].index(name)
        c, top = self.deck._contacts[i], self.tops[i][here]
        closure = c.closure(self.assembled)[here]
        left = np.maximum(c.zone.recovery(top) - (top - closure), 0.0)
        return replace(
            _seal_limit("springback", c.zone, bore, np.maximum(self.seal_lift(bore)[1], 0.0), left),
            kind="lift",
            note="rise of the head at this place, and springback left there",
        )

    def worst(self, what: str, zone: str | None = None) -> Weakest | None:
        """Bore and angle with the least margin of one kind.

        Parameters
        ----------
        what : "seating", "residual" or "springback"; the last two look at bores that have gas
        zone : one of the seal zones; None: all

        Returns
        -------
        Weakest; None where nothing is wanted anywhere
        """
        kinds = {"seating": self.seating, "residual": self.residual, "springback": self.springback}
        if what not in kinds:
            raise fail("what", what, "one of " + ", ".join(kinds))
        found = []
        for z in self.deck.gasket.seals:
            for bore in range(len(self.deck.layout.bores)):
                if zone not in (None, z.name) or (what != "seating" and self.pressure[bore] <= 0):
                    continue
                limit = kinds[what](bore, z.name)
                if np.any(np.asarray(limit.demand) > 0.0):
                    # of equal margins, as where no load is left, the least capacity counts
                    i = int(np.lexsort((limit.capacity, limit.margin))[0])
                    found.append(self._place(bore, i, limit))
        return min(found, key=lambda w: (w.margin, w.load)) if found else None

    def _place(self, bore: int, i: int, limit: Limit) -> Weakest:
        here = replace(limit, demand=float(limit.demand[i]), capacity=float(limit.capacity[i]))
        load = float(self.line_load(bore, limit.part)[1][i])
        return Weakest(bore, here, float(self.angle[i]), load, self.pressure)

    def weakest(self) -> Weakest:
        """Bore and angle with the least margin of load, over all seal zones.

        With gas: load left against the load wanted, round the bores that have gas. Without gas, or
        where no zone wants a load: highest load so far against the seating load; where there is
        none either, the least load.
        """
        found = self.worst("residual") or self.worst("seating")
        if found is not None:
            return found
        bores, name = range(len(self.deck.layout.bores)), self.deck.gasket.seals[0].name
        loads = [self.line_load(b, name)[1] for b in bores]
        bore = int(np.argmin([np.min(x) for x in loads]))
        return self._place(bore, int(np.argmin(loads[bore])), self.seating(bore, name))

    @property
    def zones(self) -> tuple[str, ...]:
        """Names of the zones that lie on this deck."""
        return tuple(c.zone.name for c in self.deck._contacts)

    def highest(self, zone: str) -> float:
        """Highest load of a zone so far at any place: line load or stress."""
        loads = [float(np.max(top)) for c, _, top in self._loads if c.zone.name == zone]
        if not loads:
            raise fail("zone", zone, "one of " + ", ".join(self.zones))
        return max(loads)

    # ------------------------------------------------------------------ liquid holes
    def holes(self) -> tuple[HoleLoad, ...]:
        """Load round each liquid hole: of its bead, else of the body beside it."""
        zones = liquids.liquid_zones(self.deck.gasket)
        rows = []
        for c, load, top in self._loads:
            if c.zone not in zones or len(load) != _HOLE * len(self.deck.layout.holes):
                continue
            carrying = next(x for x in self._loads if x[0].zone is c.zone)
            weights, all_loads = carrying[0].patch.weight, carrying[1]
            mean = float(weights @ all_loads / weights.sum())
            for i, hole in enumerate(self.deck.layout.holes):
                here = slice(_HOLE * i, _HOLE * (i + 1))
                j = int(np.argmin(load[here]))
                least = float(load[here][j])
                rows.append(
                    HoleLoad(
                        hole.name,
                        hole.fluid,
                        c.zone,
                        "line load" if c.zone.per == "length" else "stress",
                        least,
                        float(np.mean(load[here])),
                        float(np.min(top[here])),
                        least / mean if mean > 0 else 0.0,
                        j * 2.0 * np.pi / _HOLE,
                    )
                )
        return tuple(rows)

    def liquid(
        self, pressures: Mapping[str, float], facing: str | None = None
    ) -> tuple[Limit, ...]:
        """Does every liquid hole stay tight, at its weakest place.

        Parameters
        ----------
        pressures : over the air outside of each fluid, Pa, such as {"coolant": 3.5e5, "oil": 6e5}
        facing : what touches the deck at the holes; see `liquids.liquid_criteria`

        Returns
        -------
        tuple of Limit, one for seating and one for the pressure, for each hole whose fluid has a
        pressure

        Raises
        ------
        InputError
            if the facing is unknown, or nothing says what it is.
        """
        chosen = None if facing is None else liquids.facing.si(facing)
        usual = liquids.facing_of(self.deck.gasket)
        out = []
        for hole in self.holes():
            if hole.fluid not in pressures:
                continue
            seat, factor, use = liquids.zone_wants(hole.zone, chosen, usual)
            wanted = float(liquids.load_wanted(seat, factor, pressures[hole.fluid], hole.seated))
            for key, what, demand, capacity in (
                ("seating", f"load to seat the {use.name}", float(seat), hole.seated),
                (hole.fluid, f"load left to hold {hole.fluid}", wanted, hole.least),
            ):
                out.append(
                    Limit(
                        f"map/liquid/{key}/{hole.name}",
                        f"{hole.fluid} hole {hole.name}: {what}",
                        hole.zone.name,
                        demand,
                        capacity,
                        hole.kind,
                        "weakest place round the hole",
                        use.source,
                        use.status,
                        use.note,
                        f"{hole.fluid} weeps at the {hole.fluid} hole {hole.name}",
                    )
                )
        return tuple(out)

    # ------------------------------------------------------------------ bore distortion
    def orders(self, bore: int, up_to: int = 4) -> Orders:
        """Harmonics of the clamp round a bore, a first estimate of what distorts it.

        Everything that is nearer to this bore than to another and no farther from it than the
        outermost bolt round it counts; a bolt shared between bores counts by its share.

        Parameters
        ----------
        bore : from 0
        up_to : highest order

        Returns
        -------
        Orders
        """
        self._bore(bore)
        lay = self.deck.layout
        around = places.around_bore(lay, bore)
        centre = lay.bores[bore]
        far_bolt = np.max(places.distances(lay.bolts[around.bolts], centre[None]), initial=0.0)
        reach = max(float(far_bolt) + 0.5 * lay.bolt_hole, 0.51 * self.deck.seal_diameter)
        k = np.arange(up_to + 1)

        def waves(points: Array, force: Array) -> Array:
            off = points - centre
            angle = np.arctan2(off[:, 1], off[:, 0])
            return np.exp(1j * k[:, None] * angle) @ force

        contact = np.zeros(up_to + 1, dtype=complex)
        for c, load, _ in self._loads:
            far = places.distances(c.patch.points, lay.bores)
            mine = (far[:, bore] <= far.min(axis=1) * (1 + 1e-9)) & (far[:, bore] <= reach)
            contact += waves(c.patch.points[mine], (c.patch.weight * load)[mine])
        pull = np.asarray(self.bolt_force)[around.bolts] * around.share
        bolts = waves(lay.bolts[around.bolts], pull)
        scale = np.where(k == 0, 1.0, 2.0) / (np.pi * lay.bore)
        turn = np.maximum(k, 1)
        return Orders(
            k,
            np.abs(contact) * scale,
            np.angle(contact) / turn,
            np.abs(bolts) * scale,
            np.angle(bolts) / turn,
        )


def _seal_limit(key: str, zone: Zone, bore: int, demand: Array, capacity: Array) -> Limit:
    what = {
        "seating": "load to seat it",
        "residual": "load left to hold the gas",
        "springback": "lift it has to follow against its springback",
    }[key]
    return Limit(
        f"map/{key}/{zone.name}",
        f"{zone.name} round bore {bore + 1}: {what}",
        zone.name,
        demand,
        capacity,
        "line load" if zone.per == "length" else "stress",
        "deck map",
        zone.source,
        zone.status,
        zone.note,
        f"gas passes the {zone.name} at its weakest place",
    )


def lowest_load(states: Iterable[State], bore: int, zone: str | None = None) -> tuple[Array, Array]:
    """Angle (rad) and least line load (N/m) round a bore over several states.

    Parameters
    ----------
    states : such as one for each cylinder at its peak
    bore : from 0
    zone : one of the seal zones; None: all together
    """
    rows = [s.line_load(bore, zone) for s in states]
    return rows[0][0], np.min([load for _, load in rows], axis=0)


def weakest(states: Iterable[State]) -> Weakest:
    """The weakest place over several states, such as one for each cylinder at its peak."""
    return min((s.weakest() for s in states), key=lambda w: w.margin)


def _joined(patches: Sequence[Patch]) -> Patch:
    """Several patches of single points as one."""
    return Patch(
        np.concatenate([p.points for p in patches]),
        np.concatenate([p.weight for p in patches]),
        np.concatenate([p.dofs for p in patches]),
        np.concatenate([p.shape for p in patches]),
    )


# --------------------------------------------------------------------------- making one
@with_units(
    seal_diameter="length > 0",
    thickness="length > 0",
    modulus="modulus > 0",
    poisson="number 0..0.5",
    bolt_stiffness="stiffness > 0",
    member_stiffness="stiffness > 0",
    yield_force="force > 0",
    body_share="fraction > 0",
    liquid_share="fraction > 0",
    bolt_diameter="length > 0",
    mesh="length > 0",
)
def deck_map(
    layout: Layout,
    gasket: Gasket,
    seal_diameter: Any,
    thickness: Any,
    modulus: Any,
    poisson: Any,
    bolt_stiffness: Any,
    member_stiffness: Any,
    yield_force: Any = None,
    steps: Iterable[Step] = (),
    warp: tuple[float, float] = (0.0, 0.0),
    extra: Extra | None = None,
    body_share: Any = 1.0,
    liquid_share: Any = 1.0,
    bolt_diameter: Any = None,
    mesh: Any = 8e-3,
) -> DeckMap:
    """The map of a deck: a head as a plate on the zones of its gasket.

    Parameters
    ----------
    layout : outline, bores, bolts and liquid holes of the deck face (SI)
    gasket : its zones; their extents are not used, the layout gives them
    seal_diameter : of the combustion seal, up to which the gas acts, m
    thickness : effective thickness of the head as a plate, m; walls and roof stiffen a real head,
        ports and jackets soften it, so that this is not the thickness of any part of it
    modulus, poisson : of the head, Pa and nu
    bolt_stiffness, member_stiffness : of one bolt and of its members without gasket, N/m
    yield_force : at which one bolt yields, N; None: never
    steps : places where the gasket is thicker (a coat, a shim) or thinner (a coat missing, a cut
        too deep)
    warp : hollow of the head's face in the middle, along the row and across, m
    extra : any other extra thickness, points (n, 2) in m -> m
    body_share : part of the deck face beside seals and holes that the gasket's body touches
    liquid_share : length of the beads over that of the circles round the liquid holes
    bolt_diameter : of the circle on which a bolt presses, m; None: the edge of its hole
    mesh : largest size of an element, m

    Returns
    -------
    DeckMap

    Raises
    ------
    InputError
        if something on the deck has no room, or the gasket has no combustion seal.

    Notes
    -----
    A first estimate: thin plate, rigid block, no warping by heat, all bolts tightened at once.
    """
    return DeckMap(
        layout, gasket, seal_diameter, thickness, modulus, poisson, bolt_stiffness,
        member_stiffness, np.inf if yield_force is None else yield_force, steps, warp, extra,
        body_share, liquid_share, bolt_diameter, mesh,
    )  # fmt: skip


def from_joint(
    joint: Joint,
    layout: Layout,
    thickness: float,
    modulus: float,
    poisson: float,
    same_gasket: bool = True,
    **more: Any,
) -> DeckMap:
    """The map of the deck to which the joint of one bore belongs (SI).

    Parameters
    ----------
    joint : gasket sized for one bore, stiffness of bolts and members, seal diameter
    layout : of the deck face
    thickness, modulus, poisson : of the head as a plate
    same_gasket : spread the body area and bead length of the joint over the deck face, so that
        map and joint have the same gasket; False: the body covers the whole deck face, and beads
        are as long as the circles round the liquid holes
    more : steps, warp, extra, bolt_diameter, mesh as for `deck_map`

    Returns
    -------
    DeckMap
    """
    out = DeckMap(
        layout, joint.gasket, joint.seal_diameter, thickness, modulus, poisson,
        joint.bolt_stiffness, joint.member_stiffness, joint.yield_force, **more,
    )  # fmt: skip
    if not same_gasket:
        return out
    shares = {}
    for role, name, extent in (
        ("body", "body_share", out.body_area),
        ("liquid", "liquid_share", out.liquid_length),
    ):
        zones = [z for z in joint.gasket.zones if z.role == role]
        if zones and extent > 0:
            shares[name] = zones[0].extent / extent
    return out.vary(**shares)
