"""The joint of one bore: fasteners, clamped parts, gasket zones and gas, in equilibrium.

At assembly the fasteners press the gasket along its loading curves. Under gas force the head
moves up, the gasket comes back along its unloading paths and the fasteners stretch a little more.
With bolt stiffness kb and member stiffness km per fastener, n fasteners per bore, closure c of the
gasket at the bolt circle, gasket force G and gas force P

    n kb (a - c) = (1 + kb/km) G(c, p) + P          (a: nut advance that gave the preload)

which for straight gasket lines is the textbook joint: C = kb/(kb + km'), Fb = Fi + C P/n,
Fm = Fi - (1 - C) P/n, with km' the members and the gasket in series [1].

That has the gas act right under the fastener's head. It acts on the fire deck, so only a share s
(the load introduction factor, n in [3]) of the members' give 1/km lies between the two planes at
which the load enters, together with the whole gasket, and is let off by it. The rest is squeezed by
the full tension of the fastener, T = (G + P)/n, in series with it:

    a = c + T/kb + (1 - s) T/km + s (G/n)/km
    n ke (a - c) = (1 + s ke/km) G + P              with 1/ke = 1/kb + (1 - s)/km

So a joint with s below 1 is the textbook joint of a softer fastener ke and stiffer members km/s, of
the same give without gas. Straight lines give T = Fi + phi P/n with
phi = (s/km + 1/kg)/(1/kb + 1/km + 1/kg), kg being the gasket of one fastener; without a gasket that
is s kb/(kb + km) [3].

Between the fasteners the head bends. It is taken as a circular plate on the bolt circle, of an
effective thickness that has to be stated, loaded by gas over the seal diameter and by the line
load of the seal itself; shear of the plate and the webs of the casting are left out. The seal
therefore opens earlier than the average of the joint, and a ring or stopper bends the head up
before the gas does. A head that is hotter on its fire side bows down there instead, by a length w
that has to be stated: hot it presses the seal that much further, cold it is flat again.

References
----------
[1] R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eqs. 8-23 to
    8-30.
[2] S. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed.
[3] VDI 2230, Systematic calculation of highly stressed bolted joints (from memory).
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import kinds as si
from sealkit.arrays import Array, per_build
from sealkit.errors import Fault, InputError, fail
from sealkit.sealing.gaskets import Creep, Gasket, Zone
from sealkit.sealing.lines import Builds, Lines, Nodes, merge
from sealkit.units import field, plain, plain_fields, with_units
from sealkit.words import figure, note

# load over closure of each zone by name
Paths = dict[str, Lines]
Sets = dict[str, Array]


# --------------------------------------------------------------------------- load plane
@with_units(returns=("stiffness", "number"))
def split_at_load_plane(
    bolt_stiffness: si.Stiffness, member_stiffness: si.Stiffness, load_introduction: si.Share = 1.0
) -> Any:
    """The members of a joint parted at the plane where the load enters [3].

    1/ke = 1/kb + (1 - s)/km;  r = s ke/km

    Returns ke, the fastener in series with the members that its tension squeezes [N/m], and r, that
    over the stiffness of those which the load lets off (0 where there are none).

    Parameters
    ----------
    bolt_stiffness, member_stiffness : kb, and km of the members without gasket [N/m]
    load_introduction : s, share of the members' give between the planes at which the load enters;
        1 under the fastener's head, as in textbooks, 0 at the gasket

    >>> stiffness, ratio = split_at_load_plane("200 kN/mm", "800 kN/mm", 0.5)
    >>> print(f"{stiffness.to('kN/mm').magnitude:.1f} {ratio:.4f}")
    177.8 0.1111
    """
    upper = 1.0 / (1.0 / bolt_stiffness + (1.0 - load_introduction) / member_stiffness)
    return upper, load_introduction * upper / member_stiffness


# --------------------------------------------------------------------------- bending of the head
@with_units(returns="plate stiffness", poisson="number 0..0.5")
def plate_stiffness(modulus: si.Modulus, thickness: si.Length, poisson: Any) -> Any:
    """Flexural stiffness of a plate, D = E h**3 / (12 (1 - nu**2)) [N m] [2], eq. (3).

    Parameters
    ----------
    modulus, poisson : elastic modulus E [Pa], nu
    thickness : h [m]

    >>> round(plate_stiffness("72 GPa", "30 mm", 0.33).to("kN*m").magnitude)
    182
    """
    return modulus * thickness**3 / (12.0 * (1.0 - poisson**2))


def _inside(seal_radius: Any, bolt_radius: Any) -> None:
    if np.any(np.asarray(seal_radius) > np.asarray(bolt_radius)):
        most = (float(np.min(bolt_radius)), "length")
        wanted = note("a radius inside the bolt circle, at most {most}", most=most)
        raise InputError(Fault("seal_radius", figure(np.max(seal_radius), "length"), wanted))


@with_units(returns="length", poisson="number 0..0.5")
def bending_by_line_load(
    line_load: si.AnyLineLoad,
    seal_radius: si.Length,
    bolt_radius: si.Length,
    plate: si.PlateStiffness,
    poisson: Any,
) -> Any:
    """Rise of a plate at a ring of line load, over its support on the bolt circle [m] [2], sec. 17.

    w = (q b / 4D) {(a**2 - b**2) [1 + (1-nu)/(1+nu) (a**2-b**2)/(2 a**2)] + 2 b**2 ln(b/a)}

    From memory; checked against a numerical solution. Raises InputError if the seal lies outside
    the bolt circle.

    Parameters
    ----------
    line_load : q on the radius b [N/m]
    seal_radius : b [m]
    bolt_radius : radius a of the bolt circle, where the plate is simply supported [m]
    plate, poisson : flexural stiffness D [N m], nu
    """
    _inside(seal_radius, bolt_radius)
    a, b = bolt_radius, seal_radius
    k = (1.0 - poisson) / (1.0 + poisson)
    ring = a**2 - b**2
    shape = ring * (1.0 + 0.5 * k * ring / a**2) + 2.0 * b**2 * np.log(b / a)
    return line_load * b / (4.0 * plate) * shape


@with_units(returns="length", poisson="number 0..0.5")
def bending_by_pressure(
    pressure: si.AnyPressure,
    seal_radius: si.Length,
    bolt_radius: si.Length,
    plate: si.PlateStiffness,
    poisson: Any,
) -> Any:
    """Rise of a plate at the edge of a pressurised circle, over its support on the bolt circle [m].

    w = (p b**2 / 4D) {(a**2-b**2) [1/2 + (1-nu)/(1+nu) (1/4 - b**2/(8 a**2))] + (3/4) b**2 ln(b/a)}
    The ring load of `bending_by_line_load`, integrated over the circle; arguments and refusal are
    those, with the pressure p over the circle of radius b [Pa].
    """
    _inside(seal_radius, bolt_radius)
    a, b = bolt_radius, seal_radius
    k = (1.0 - poisson) / (1.0 + poisson)
    ring = (a**2 - b**2) * (0.5 + 0.5 * k * (0.5 - b**2 / (4.0 * a**2)))
    return pressure * b**2 / (4.0 * plate) * (ring + 0.75 * b**2 * np.log(b / a))


# --------------------------------------------------------------------------- results
@dataclass(frozen=True)
class JointState:
    """The joint under gas; arrays over pressure (crank angle).

    Fields: gas pressure and gas force, force of one fastener, clamp left on the gasket, line load
    of the combustion seal (all seal zones together), closure at the seal and at the bolt circle,
    how far the seal has opened since assembly. Where the gas
    overcomes the yielded fasteners the state is the one at which they give way.
    """

    loads: Callable[[], dict[str, Any]] = dataclasses.field(repr=False)
    pressure: Any = field("gauge pressure")
    gas_force: Any = field("force")
    bolt_force: Any = field("force")
    clamp: Any = field("force")
    seal_load: Any = field("line load")
    seal_closure: Any = field("length")
    closure: Any = field("length")
    seal_lift: Any = field("length")
    plastic_stretch: Any = field("length")

    @functools.cached_property
    def zone_loads(self) -> dict[str, Any]:
        """What each zone carries, worked out when asked for."""
        return self.loads()


@dataclass(frozen=True, eq=False)
class Assembly:
    """The joint as tightened: preloads, closures reached, what each zone carries.

    `assembly_preload` is what the wrench gave, `preload` what is left after the losses; arrays
    broadcast over builds. `zone_sets` is by how much each zone is made or has crept thinner (m),
    `zone_tops` its largest closure without that, `bow` how far the head bows down by heat.
    """

    zone_loads: dict[str, Any]
    zone_tops: dict[str, Any]
    zone_sets: dict[str, Any]
    seated_loads: dict[str, Any]
    paths: Paths = dataclasses.field(repr=False)
    nodes: Nodes = dataclasses.field(repr=False)
    assembly_preload: Any = field("force")
    preload: Any = field("force")
    closure: Any = field("length")
    seal_closure: Any = field("length")
    seal_load: Any = field("line load")
    bow: Any = field("length")

    def of(self, builds: Builds) -> Assembly:
        """The joints of some of the builds, or of one several times."""
        return self.each(
            lambda values: values[builds],
            paths={k: path.of(builds) for k, path in self.paths.items()},
            nodes=self.nodes.of(builds),
        )

    def each(self, change: Callable[[Any], Any], **tables: Any) -> Assembly:
        """The same with every number that is one for each build changed; other paths and nodes."""
        new: dict[str, Any] = {"paths": self.paths, "nodes": self.nodes} | tables
        for name, value in vars(self).items():
            if name not in new:
                zones = isinstance(value, dict)
                new[name] = {k: change(x) for k, x in value.items()} if zones else change(value)
        return Assembly(**new)


@dataclass(frozen=True)
class Joint:
    """The joint of one bore; plain SI numbers or quantities."""

    gasket: Gasket  # `Gasket` sized for one bore
    bolts: float = field("number")  # fasteners per bore (the share of one bore; need not be whole)
    # bolt_stiffness, member_stiffness: of one fastener and of its members without gasket, N/m; the
    # latter one or one per build
    bolt_stiffness: float = field("stiffness")
    member_stiffness: Any = field("stiffness")
    yield_force: float = field("force")  # force at which one fastener yields, N
    seal_diameter: float = field("length")  # diameter up to which the gas acts, m
    # rise of the head at the seal per gas pressure, m/Pa (0: rigid head)
    bend_pressure: float = field("number", default=0.0)
    # rise of the head at the seal per line load of the seal, m/(N/m)
    bend_load: float = field("number", default=0.0)
    # share of the members' give that the gas lets off (1: it acts under the fastener's head, 0: at
    # the gasket); one or one per build
    load_introduction: Any = field("fraction", default=1.0)
    # by name of the zone, how much thinner it is made than the gasket says, m; one or one per build
    thinner: Mapping[str, Any] = dataclasses.field(default_factory=dict)

    def __post_init__(self) -> None:
        plain_fields(self)
        for name in ("bolts", "bolt_stiffness", "member_stiffness", "yield_force", "seal_diameter"):
            if not np.all(np.asarray(getattr(self, name)) > 0):
                raise fail(name, getattr(self, name), "a number above zero")
        for name in ("bend_pressure", "bend_load"):
            if not np.all(np.asarray(getattr(self, name)) >= 0):
                raise fail(name, getattr(self, name), "a number not below zero")
        if not np.all((np.asarray(self.load_introduction) >= 0) & (self.load_introduction <= 1)):
            raise fail("load_introduction", self.load_introduction, "a share from 0 to 1")
        if not self.gasket.seals:
            raise fail("gasket", self.gasket.name, "a gasket with a combustion seal")

    def of(self, builds: Builds) -> Joint:
        """That of some of the builds, or of one several times."""
        own = (self.load_introduction, self.member_stiffness, *self.thinner.values())
        if max(map(np.size, own)) == 1:
            return self
        return dataclasses.replace(
            self,
            load_introduction=_of(self.load_introduction, builds),
            member_stiffness=_of(self.member_stiffness, builds),
            thinner={name: _of(x, builds) for name, x in self.thinner.items()},
        )

    @property
    def gas_area(self) -> float:
        """Area that the gas acts on [m**2]."""
        return float(np.pi / 4.0 * self.seal_diameter**2)

    @property
    def upper_stiffness(self) -> Any:
        """Of a fastener with the members above the load plane [N/m]."""
        return per_build(self._split[0])

    @property
    def lower_stiffness(self) -> Any:
        """Of the members below the load plane [N/m]; infinite with the load at the gasket."""
        upper, ratio = self._split
        with np.errstate(divide="ignore"):
            return per_build(upper / ratio)

    @functools.cached_property
    def _split(self) -> tuple[Array, Array]:
        """Stiffness and ratio of `split_at_load_plane`, a row per build."""
        share, members = (
            np.atleast_1d(np.asarray(x, dtype=float))[:, None]
            for x in (self.load_introduction, self.member_stiffness)
        )
        upper, ratio = split_at_load_plane.si(self.bolt_stiffness, members, share)
        return upper, ratio

    # ------------------------------------------------------------------ tables
    @functools.cached_property
    def _gaps(self) -> dict[str, float]:
        """Closure of the whole gasket at which each zone is first touched."""
        most = max(z.stands_proud for z in self.gasket.zones)
        return {z.name: most - z.stands_proud for z in self.gasket.zones}

    @functools.cached_property
    def _made(self) -> Sets:
        """Sets of a gasket that has not crept: what its zones are made thinner by."""
        return {
            z.name: np.atleast_1d(np.asarray(self.thinner.get(z.name, 0.0), dtype=float))
            for z in self.gasket.zones
        }

    def _paths(self, tops: dict[str, Array]) -> Paths:
        """The path of each zone after its largest closure."""
        return {z.name: Lines(*z.path(tops[z.name])) for z in self.gasket.zones}

    @functools.cached_property
    def _fresh(self) -> Nodes:
        """Nodes of the gasket on first loading; one row that serves any number of builds."""
        return self._nodes({z.name: z.curve for z in self.gasket.zones}, self._made)

    def _nodes(self, paths: Paths, sets: Sets) -> Nodes:
        """Tables of the whole gasket on these paths, each zone thinner by its set.

        Line load of all seal zones against closure plus bending; force of all other zones against
        closure at the bolt circle.
        """
        seals, others = self.gasket.seals, self.gasket.others

        def make() -> tuple[Lines, Lines]:
            closure, load = self._together(seals, [1.0] * len(seals), paths, sets)
            body = np.array([[0.0, 1.0]]), np.zeros((1, 2))
            if others:
                body = self._together(others, [z.extent for z in others], paths, sets)
            return Lines(closure + self.bend_load * load, load), Lines(*body)

        return Nodes(make)

    def _together(
        self, zones: Sequence[Zone], extents: Sequence[float], paths: Paths, sets: Sets
    ) -> tuple[Array, Array]:
        """Closures of the whole gasket, and load x extent of these zones there."""
        tables = [
            (self._gaps[z.name] + sets[z.name][:, None] + paths[z.name].x, paths[z.name].y)
            for z in zones
        ]
        if len(tables) == 1:
            ((x, y),) = tables
            return x, np.broadcast_to(extents[0] * y, x.shape)
        closure = merge([x for x, _ in tables])
        total = np.zeros_like(closure)
        for extent, (x, y) in zip(extents, tables, strict=True):
            total = total + extent * np.maximum(Lines(x, y).at(closure)[0], 0.0)
        return closure, total

    def clamped_thickness(self, standing: Assembly) -> float | None:
        """Thickness of the gasket at its thickest seal without gas [m].

        None where no zone of its own says how thick it is before.
        """
        seals = [z for z in self.gasket.seals if z.free_thickness > 0.0]
        left = [z.free_thickness - float(self.zone_closure(standing, z)[0]) for z in seals]
        return max(left, default=None)

    @property
    def _seal_length(self) -> float:
        return self.gasket.seals[0].extent

    def _solve(
        self,
        nodes: Nodes,
        applied: Array,
        shift: Array,
        stiff: Array | float,
        advance: Array | float,
        ratio: Array | float,
        start: Array | float = 0.0,
    ) -> tuple[Array, Array, Array, Array]:
        """Closure c with ratio*G(c) + applied = stiff*(advance - c); also G, seal load and closure.

        Monotone and made of straight lines, so Newton with a bracket ends after a few steps.
        """
        seal, body = nodes.seal, nodes.body
        length = self._seal_length
        c = start + np.zeros_like(applied)
        low, high, at_low, at_high = map(np.asarray, (-np.inf, np.inf, -1.0, 1.0))
        enough = 1e-12 * (np.maximum(np.abs(applied), np.abs(stiff * advance)) + 1.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            for _ in range(200):
                q, dq = seal.at(c - shift)
                f, df = body.at(c)
                residual = ratio * (length * q + f) + applied - stiff * (advance - c)
                if (np.abs(residual) <= enough).all():
                    break
                over = residual > 0
                # the end that stays gets half its weight, so that both ends close in
                at_low = np.where(over, 0.5 * at_low, residual)
                at_high = np.where(over, residual, 0.5 * at_high)
                high = np.where(over, c, high)
                low = np.where(over, low, c)
                slope = ratio * (length * dq + df) + stiff
                step = c - residual / slope
                if not (slope > 0).all():
                    step = np.where(slope > 0, step, c - np.sign(residual) * 1e-3)
                outside = (step <= low) | (step >= high)
                if outside.any():
                    between = (low * at_high - high * at_low) / (at_high - at_low)
                    step = np.where(outside & np.isfinite(between), between, step)
                c = step
            else:
                q, _ = seal.at(c - shift)
                f, _ = body.at(c)
        return c, length * q + f, q, c - shift - self.bend_load * q

    # ------------------------------------------------------------------ assembly
    def assemble(self, assembly_preload: Any, preload: Any = None) -> Assembly:
        """Tighten to `assembly_preload` (N per fastener), then let it fall to `preload`.

        The gasket is pressed along its loading curves by the first and then stands on its unloading
        path at the second: what embedment takes away comes off the same path. Raises InputError if
        a preload is not a positive number, or rises after assembly.
        """
        first = _forces(assembly_preload, "assembly_preload")
        second = first if preload is None else _forces(preload, "preload")
        each = (np.atleast_1d(x) for x in (self.load_introduction, self.member_stiffness))
        first, second, *_ = np.broadcast_arrays(first, second, *each, *self._made.values())
        if not (np.all(np.isfinite(first)) and np.all(first > 0) and np.all(second > 0)):
            raise fail("preload", _least(second), "a clamp force above zero")
        if first.ndim != 1:
            raise fail("preload", f"an array of {first.ndim} dimensions", "one preload per build")
        c, _, q, seal_c = self._balance(self._fresh, self.bolts * first)
        sets = {k: np.full(first.shape, v) for k, v in self._made.items()}
        tops = self._tops(c, seal_c, sets)
        paths = self._paths(tops)
        seated = self._zone_loads(c, seal_c, paths, sets)
        pressed = Assembly(
            assembly_preload=first,
            preload=first,
            **_reached(c, q, seal_c),
            bow=np.zeros(first.shape),
            zone_loads=seated,
            zone_tops=tops,
            zone_sets=sets,
            seated_loads=seated,
            paths=paths,
            nodes=self._nodes(paths, sets),
        )
        return pressed if preload is None else self.eased(pressed, second)

    def eased(self, assembly: Assembly, preload: Array) -> Assembly:
        """The joint once its preload has fallen to this (N per fastener, one per build).

        Raises InputError if that is more than at assembly.
        """
        if np.any(preload > assembly.assembly_preload * (1 + 1e-12)):
            raise fail("preload", "more than at assembly", "at most the assembly preload")
        c, _, q, seal_c = self._balance(assembly.nodes, self.bolts * preload)
        return dataclasses.replace(
            assembly,
            preload=preload,
            **_reached(c, q, seal_c),
            zone_loads=self._zone_loads(c, seal_c, assembly.paths, assembly.zone_sets),
        )

    def advance(self, preload: Any) -> Any:
        """How far nut or bolt has moved on, from first touch to this preload at assembly (m).

        The sum of fastener stretch, member squeeze and gasket closure, fastener still elastic.
        One preload, or an array over builds.
        """
        preload = plain(preload, "force", "preload")
        c, _, _, _ = self._balance(self._fresh, np.atleast_1d(self.bolts * np.asarray(preload)))
        closure = float(c[0, 0]) if np.ndim(preload) == 0 else c[:, 0]
        return closure + preload / self.member_stiffness + preload / self.bolt_stiffness

    def zone_closure(self, assembly: Assembly, zone: Zone) -> Array:
        """How far one zone is closed on its own path (m), one per build."""
        c, seal_c = assembly.closure[:, None], assembly.seal_closure[:, None]
        return self._closure_of(zone, c, seal_c, assembly.zone_sets)[:, 0]

    def springback(self, assembly: Assembly, zone: Zone) -> Array:
        """How far one zone can still follow a head that lifts (m), one per build."""
        top = assembly.zone_tops[zone.name]
        left = zone.recovery(top) - (top - self.zone_closure(assembly, zone))
        return np.maximum(left, 0.0)

    def advance_of(self, assembly: Assembly) -> Array:
        """Nut advance (m) of the joint as it stands: closure, squeeze of members, bolt stretch."""
        give = 1.0 / self.member_stiffness + 1.0 / self.bolt_stiffness
        return np.asarray(assembly.closure + assembly.preload * give, dtype=float)

    # ------------------------------------------------------------------ as it has become
    def closure_at(self, assembly: Assembly, preload: Any, bow: Any = 0.0) -> Array:
        """Closure (m) at which the gasket as pressed so far carries this preload (N), per build.

        `bow` as of `moved`. Raises InputError if it never does, because its curves end level.
        """
        force = self.bolts * _forces(preload, "preload")
        return self._balance(assembly.nodes, force, bow)[0][:, 0]

    def moved(self, assembly: Assembly, advance: Any, bow: Any = 0.0) -> Assembly:
        """The joint at another nut advance (m, one per build), on the gasket as pressed so far.

        By `bow` (m) the head bows down by heat at the seal, from the bolt circle, if it is free.
        """
        wanted = np.asarray(plain(advance, "length", "advance"), dtype=float)
        start = assembly.closure[:, None]
        bow = np.broadcast_to(np.asarray(bow, dtype=float), assembly.preload.shape)
        return self._stands(assembly, bow, *self._at(assembly.nodes, wanted, start, bow))

    def _at(
        self, nodes: Nodes, advance: Array, start: Array | float = 0.0, bow: Any = 0.0
    ) -> tuple[Array, Array, Array, Array]:
        """The balance at a nut advance without gas; see `_solve`."""
        upper, ratio = self._split
        zero = np.zeros((max(advance.size, len(ratio)), 1))
        stiff, shift = self.bolts * upper, zero - np.reshape(bow, (-1, 1))
        return self._solve(nodes, zero, shift, stiff, advance.reshape(-1, 1), 1.0 + ratio, start)

    def tightened_again(self, assembly: Assembly, preload: Any) -> Assembly:
        """The joint tightened to this preload (N, one per build) on the gasket as pressed so far.

        Raises InputError if the gasket never carries it, because its curves end level.
        """
        preload = _forces(preload, "preload")
        force = self.bolts * preload
        c, _, q, seal_c = self._balance(assembly.nodes, force, assembly.bow)
        state = self._stands(assembly, assembly.bow, c, force[:, None], q, seal_c)
        return dataclasses.replace(state, assembly_preload=preload, preload=preload)

    def _stands(
        self, assembly: Assembly, bow: Array, c: Array, total: Array, q: Array, seal_c: Array
    ) -> Assembly:
        """How the joint stands at this closure; the gasket keeps the largest closure so far."""
        sets = assembly.zone_sets
        reached = self._tops(c, seal_c, sets)
        tops = {k: np.maximum(v, reached[k]) for k, v in assembly.zone_tops.items()}
        paths, nodes = assembly.paths, assembly.nodes
        if any(np.any(tops[k] > v) for k, v in assembly.zone_tops.items()):
            paths = self._paths(tops)
            nodes = self._nodes(paths, sets)
        loads = self._zone_loads(c, seal_c, paths, sets)
        return dataclasses.replace(
            assembly,
            paths=paths,
            nodes=nodes,
            zone_loads=loads,
            zone_tops=tops,
            seated_loads={k: np.maximum(v, loads[k]) for k, v in assembly.seated_loads.items()},
            preload=total[:, 0] / self.bolts,
            **_reached(c, q, seal_c),
            bow=bow,
        )

    def relaxed(self, assembly: Assembly, creep: Mapping[str, Creep]) -> Assembly:
        """The joint after its zones have crept thinner, each by its set (`Creep`).

        Head and fasteners follow until all is in balance again at the same nut advance: other zones
        take over what one has lost, and the fasteners lose what their shortening costs. Raises
        InputError for a name that is no zone.

        Parameters
        ----------
        assembly : how the joint stands
        creep : by name of the zone; zones not named do not creep
        """
        unknown = sorted(set(creep) - set(assembly.zone_loads))
        if unknown:
            raise fail("creep", ", ".join(unknown), "zones of " + ", ".join(assembly.zone_loads))
        sets = dict(assembly.zone_sets)
        for zone in self.gasket.zones:
            if zone.name in creep:
                load = np.asarray(assembly.zone_loads[zone.name])
                path = assembly.paths[zone.name]
                more = creep[zone.name].set_of((path.x, path.y), load)
                sets[zone.name] = sets[zone.name] + more
        crept = dataclasses.replace(
            assembly, zone_sets=sets, nodes=self._nodes(assembly.paths, sets)
        )
        return self.moved(crept, self.advance_of(assembly), assembly.bow)

    def separation(self, assembly: Assembly) -> Array:
        """Gas pressure at which the last clamp is gone, one per build (Pa).

        n ke (a - c) = P with the gasket just free; no fastener's tension is above its yield force.
        """
        nodes = assembly.nodes
        n, ke = self.bolts, self._split[0][:, 0]
        a = self.advance_of(assembly)
        free = nodes.seal.first_load() - assembly.bow
        pressure = n * ke * (a - free) / (self.gas_area + n * ke * self.bend_pressure)
        if np.any(nodes.body.y > 0):
            body = n * ke * (a - nodes.body.first_load()) / self.gas_area
            pressure = np.maximum(pressure, body)
        return np.clip(pressure, 0.0, n * self.yield_force / self.gas_area)

    def turned(self, snug: Any, advance: Any) -> Any:
        """Preload (N per fastener) after the nut or bolt has moved on by `advance` (m) from snug.

        The turn stretches the fastener, squeezes the members and presses the gasket on along its
        loading curves. One of each, or arrays over builds.
        """
        more = plain(advance, "length", "advance")
        whole = np.asarray(self.advance(snug) + more, dtype=float)
        _, total, _, _ = self._at(self._fresh, whole)
        force = total[:, 0] / self.bolts
        return per_build(force) if whole.ndim == 0 else force

    def gasket_stiffness(self, assembly: Assembly) -> Array:
        """Stiffness of the whole gasket of one bore as it comes back from assembly (N/m)."""
        force = self.bolts * assembly.preload
        below, _, _, _ = self._balance(assembly.nodes, 0.99 * force, assembly.bow)
        return 0.01 * force / (assembly.closure - below[:, 0])

    def _balance(
        self, nodes: Nodes, force: Array, bow: Any = 0.0
    ) -> tuple[Array, Array, Array, Array]:
        """The balance without gas where the gasket carries this force, or refusal; see `_solve`."""
        wanted = force[:, None]
        shift = np.zeros_like(wanted) - np.reshape(bow, (-1, 1))
        start = nodes.closure(self._seal_length, wanted)
        balance = self._solve(nodes, -wanted, shift, 0.0, 0.0, 1.0, start)
        short = np.abs(balance[1][:, 0] - force) > 1e-6 * force
        if np.any(short):
            raise fail(
                "gasket",
                f"{self.gasket.name}, which never carries {np.max(force[short]) / 1e3:.0f} kN",
                "loading curves that rise to the clamp of the joint, also past their last point",
            )
        return balance

    def _closure_of(self, zone: Zone, c: Array, seal_c: Array, sets: Sets) -> Array:
        """Closure of one zone, on its own path, at these closures of the gasket."""
        here = seal_c if zone.role == "seal" else c
        return here - self._gaps[zone.name] - sets[zone.name][:, None]

    def _tops(self, c: Array, seal_c: Array, sets: Sets) -> dict[str, Array]:
        each = {z.name: self._closure_of(z, c, seal_c, sets)[:, 0] for z in self.gasket.zones}
        return {name: np.maximum(closure, 0.0) for name, closure in each.items()}

    def _zone_loads(self, c: Array, seal_c: Array, paths: Paths, sets: Sets) -> dict[str, Any]:
        out = {}
        for z in self.gasket.zones:
            here = self._closure_of(z, c, seal_c, sets)
            out[z.name] = np.maximum(paths[z.name].at(here)[0], 0.0)
        return {k: v[:, 0] if v.shape[1] == 1 else v for k, v in out.items()}

    # ------------------------------------------------------------------ under gas
    def under_gas(self, assembly: Assembly, pressure: Any) -> JointState:
        """The joint at each gas pressure over the air outside (Pa).

        Returns JointState with arrays (m,) for one build, else (rows, m).

        Parameters
        ----------
        assembly : result of `assemble`, one row per build
        pressure : shape (m,) for all builds, or (rows, m); each row is one history, such as an
            engine cycle: where the fasteners yield, they stretch for good at its highest pressure.
            For one build, shape (m, 1) gives m histories of one load each.
        """
        p = np.asarray(plain(pressure, "gauge pressure", "pressure"), dtype=float)
        if not np.all(np.isfinite(p)):
            raise fail("pressure", "a pressure that is not finite", "finite gas pressures")
        single = p.ndim < 2 and len(assembly.preload) == 1
        scalar = p.ndim == 0
        rows = len(assembly.preload)
        p = np.atleast_2d(p)
        p = np.broadcast_to(p, (max(rows, p.shape[0]), p.shape[1]))
        n, (ke, ratio) = self.bolts, self._split
        advance = self.advance_of(assembly)[:, None]
        nodes = assembly.nodes
        limit = n * self.yield_force
        held = np.minimum(p, limit / self.gas_area)
        gas = held * self.gas_area
        shift = self.bend_pressure * held - assembly.bow[:, None]
        stiff = n * ke
        rest = assembly.closure[:, None]

        c, total, q, seal_c = self._solve(nodes, gas, shift, stiff, advance, 1.0 + ratio, rest)
        force = (total + gas) / n
        yielded = force > self.yield_force
        plastic = np.zeros((len(p), 1))
        if np.any(yielded):
            # at yield the clamp is what the yielded fasteners leave over the gas
            cy, ty, _, _ = self._solve(nodes, gas - limit, shift, 0.0, 0.0, 1.0, rest)
            stretch = advance - cy - ratio * ty / stiff - self.yield_force / ke
            plastic = np.max(
                np.where(yielded, np.maximum(stretch, 0.0), 0.0), axis=1, keepdims=True
            )
            c, total, q, seal_c = self._solve(
                nodes, gas, shift, stiff, advance - plastic, 1.0 + ratio, rest
            )

        def out(x: NDArray[Any]) -> Any:
            y = x if x.shape == p.shape else np.broadcast_to(x, p.shape)
            return (y[0, 0].item() if scalar else y[0]) if single else y

        def loads() -> dict[str, Any]:
            found = self._zone_loads(c, seal_c, assembly.paths, assembly.zone_sets)
            return {k: out(v if v.ndim == 2 else v[:, None]) for k, v in found.items()}

        return JointState(
            loads=loads,
            pressure=out(p),
            gas_force=out(p * self.gas_area),
            bolt_force=out((total + gas) / n),
            clamp=out(total),
            seal_load=out(q),
            seal_closure=out(seal_c),
            closure=out(c),
            seal_lift=out(assembly.seal_closure[:, None] - seal_c),
            plastic_stretch=plastic[:, 0],
        )


def _reached(c: Array, q: Array, seal_c: Array) -> dict[str, Any]:
    return {"closure": c[:, 0], "seal_closure": seal_c[:, 0], "seal_load": q[:, 0]}


def _of(values: Any, builds: Builds) -> Any:
    """Numbers of some of the builds; one for all stays."""
    return values[builds] if np.size(values) > 1 else values


def _forces(value: Any, name: str) -> Array:
    """Forces, one per build, of plain numbers or a quantity."""
    return np.atleast_1d(np.asarray(plain(value, "force", name), dtype=float))


def _least(x: Array) -> str:
    """The smallest force of an array, for messages."""
    return f"{np.nanmin(x):g} N" if np.any(np.isfinite(x)) else "no number"
