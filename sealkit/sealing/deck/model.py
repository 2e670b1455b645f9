"""What a deck map is made of: plate, zones of the gasket at their points, bolts and bores."""

from __future__ import annotations

import copy
import dataclasses
import functools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, Self

import numpy as np

from sealkit.arrays import Array
from sealkit.errors import Fault, InputError, fail
from sealkit.sealing.deck import layout as places
from sealkit.sealing.deck import room
from sealkit.sealing.deck.block import RIGID, Block
from sealkit.sealing.deck.layout import Layout, Step
from sealkit.sealing.deck.plates import Law, Patch, Plate, joined
from sealkit.sealing.gaskets import Creep, Gasket, Zone
from sealkit.sealing.joint import plate_stiffness, split_at_load_plane
from sealkit.sealing.lines import Lines, merge
from sealkit.units import KINDS, check_range, field, plain

ROUND = 96  # points round a bore
BOLT = 16  # points round a bolt
HOLE = 16  # points round a liquid hole
_LAND = 2e-3  # m: from the edge of a hole to where body or bead is looked at
MESH = 8e-3  # m: the default
_NEAR = 0.1  # beyond this share the map is not called near to a solid
_BY_MESH = 0.02, 0.01  # at the default mesh: no share told below; less load without gas
_TRIED = 3.05, 0.55, 2.25  # thickness over reach, up to; thickness over radius, from and to


class Accuracy(NamedTuple):
    """By which shares a solid may have more than the map: of least loads, lift, highest loads.

    `mesh` : by which share a finer mesh may leave less load without gas; `tried` : whether a solid
    of this thickness was; if not, the shares are drawn on from others.
    """

    least: float
    lift: float
    highest: float
    mesh: float
    tried: bool

    @property
    def near(self) -> bool:
        """Whether the map is within a tenth of a solid that was tried, in all three."""
        return self.tried and max(self.least, self.lift, self.highest) <= _NEAR


# --------------------------------------------------------------------------- zones at points
@dataclass(frozen=True, eq=False)
class Contact:
    """A zone of the gasket at points of the plate."""

    zone: Zone
    patch: Patch
    gap: Array  # deflection of the plate at which each point is first touched
    give: float = 0.0  # squeeze of its own column of the block per load of the zone

    def closure(self, w: Array) -> Array:
        """Closure of the zone at its points with what the block below gives way."""
        return self.patch.closure(w) - self.gap

    def crept(self, by: Array) -> Contact:
        """The same zone, thinner by this at its points."""
        return replace(self, gap=self.gap + by) if np.any(by) else self

    def set_of(self, creep: Creep, tops: Array, load: Array) -> Array:
        """How far the zone creeps thinner at its points; the block below it does not creep."""
        x, f = self.zone.way_back(tops) or self.zone.path(tops)
        return creep.set_of((x - self.give * f, f), load)

    def loading(self) -> Law:
        """Along the loading curve."""
        gap, curve = self.gap, self.zone.curve.at
        return lambda deflection: curve(deflection - gap)

    def history(self, tops: Array) -> Law:
        """On the way back from the largest closures so far, and along the loading curve beyond."""
        gap, back = self.gap, self.zone.way_back(tops)
        if back is None:
            return self.loading()
        curve, way = self.zone.curve.at, Lines(*back).each

        def law(deflection: Array) -> tuple[Array, Array]:
            closure = deflection - gap
            load, slope = curve(closure)
            low, rise = way(closure)
            down = (closure < tops) & (low < load)
            return np.where(down, low, load), np.where(down, rise, slope)

        return law


class Wall:
    """Seal zones side by side on one wall, which sinks under the sum of their loads.

    Over the deflection of the head at each point: `laws` of the zones, and where each of them is
    `free`, carrying nothing.

    Parameters
    ----------
    give : squeeze of the wall per line load
    seals : the zones, all at the same points
    tops : largest closure of each so far, without that of the wall
    """

    def __init__(self, give: float, seals: Sequence[Contact], tops: Sequence[Array]):
        self._gaps = [c.gap for c in seals]
        paths = [c.zone.path(top) for c, top in zip(seals, tops, strict=True)]
        tables = [(x + gap[:, None], y) for gap, (x, y) in zip(self._gaps, paths, strict=True)]
        faces = merge([x for x, _ in tables])
        loads = [Lines(x, y).at(faces)[0] for x, y in tables]
        head = faces + give * sum(loads)
        self._faces = Lines(head, faces)
        own = [Lines(head, load) for load in loads]
        self.free = [table.first_load() for table in own]
        self.laws: list[Law] = [table.each for table in own]

    def closures(self, deflection: Array) -> list[Array]:
        """Closure of each zone, at least none."""
        faces = self._faces.at(deflection[:, None])[0][:, 0]
        return [np.maximum(faces - gap, 0.0) for gap in self._gaps]


# --------------------------------------------------------------------------- the model
VARIED = (
    "gasket", "block", "thickness", "modulus", "bolt_stiffness", "member_stiffness",
    "load_introduction", "yield_force", "steps", "warp", "body_share", "liquid_share", "thinner",
)  # fmt: skip


@dataclass(eq=False, repr=False)
class Model:
    """A head on its gasket: plate, zones at their points, bolts, bores.

    Plain SI numbers, or quantities. Made of them: `plate`, `area` (where the body lies), `points`
    (n, 2) and `share` (the part of each point that is gasket).

    Raises InputError naming each number of the wrong kind; if something on the deck has no room, or
    the gasket has no combustion seal.

    Parameters
    ----------
    layout : outline, bores, bolts and liquid holes of the deck face
    gasket : its zones; their extents are not used, the layout gives them
    seal_diameter : of the combustion seal, up to which the gas acts [m]
    thickness : effective thickness of the head [m]: of the solid plate that bends and shears as it
        does; walls and roof stiffen a real head, ports and jackets soften it, so that this is not
        the thickness of any part of it
    modulus, poisson : of the head [Pa], nu
    bolt_stiffness, member_stiffness : of one bolt and of its members without gasket [N/m]
    yield_force : at which one bolt yields [N]; infinite: never
    load_introduction : share of the members' give that the gas lets off, as in `Joint`
    steps : places where the gasket is thicker (a coat, a shim) or thinner (a coat missing, a cut
        too deep)
    warp : hollow of the head's face in the middle, along the row and across [m]
    body_share : part of the deck face beside seals and holes that the gasket's body touches
    liquid_share : length of the beads over that of the circles round the liquid holes
    thinner : by name of the zone, how much thinner it is made than the gasket says [m]
    bolt_diameter : of the face with which a bolt presses [m]; None: the edge of its hole
    mesh : largest size of an element [m]
    block : how far the block gives way below the gasket
    shear : correction factor kappa of the plate's shear stiffness kappa G h; infinite: no shear
    """

    layout: Layout
    gasket: Gasket
    seal_diameter: Any = field("length > 0")
    thickness: Any = field("length > 0")
    modulus: Any = field("modulus > 0")
    poisson: Any = field("number 0..0.5")
    bolt_stiffness: Any = field("stiffness > 0")
    member_stiffness: Any = field("stiffness > 0")
    yield_force: Any = field("force > 0", default=np.inf)
    load_introduction: Any = field("fraction 0..1", default=1.0)
    steps: Sequence[Step] = ()
    warp: tuple[float, float] = (0.0, 0.0)
    body_share: Any = field("fraction >= 0", default=1.0)
    liquid_share: Any = field("fraction >= 0", default=1.0)
    thinner: Mapping[str, Any] = dataclasses.field(default_factory=dict)
    bolt_diameter: Any = field("length > 0", default=None)
    mesh: Any = field("length > 0", default=MESH)
    block: Block = RIGID
    shear: Any = field("number > 0", default=5.0 / 6.0)

    def __post_init__(self) -> None:
        if self.bolt_diameter is None:
            self.bolt_diameter = self.layout.bolt_hole
        self.__dict__.update(_read_all(vars(self)))
        room.check(self.layout, self.seal_diameter)
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
            self._stiff[0],
            self.poisson,
            edge if self._cut else None,
            self._stiff[1],
        )
        plate, bores = self.plate, self.layout.bores
        self.seals = [plate.ring(b, self.seal_diameter, ROUND) for b in bores]
        self._sealed = joined(self.seals)
        self.discs = []
        for b in bores:
            disc = plate.disc(b, 0.5 * self.seal_diameter, 6, 48)
            self.discs.append(disc.forces(np.ones(len(disc.points)), plate.size))
        self.area = self._body_patch()
        holes = np.array([(h.x, h.y, h.diameter + 2.0 * _LAND) for h in self.layout.holes])
        self._holes = self._ring(holes[:, :2], holes[:, 2], HOLE) if len(holes) else None
        self._shares: dict[tuple[Patch, float], Patch] = {}
        bolts = self._ring(self.layout.bolts, self.bolt_diameter, BOLT)
        self.bolts = replace(bolts, weight=np.full(len(bolts.points), 1.0 / BOLT))
        self.gas_share = np.zeros((len(bores), len(self.layout.bolts)))
        for i in range(len(bores)):
            here = places.around_bore(self.layout, i).bolts
            here = here if len(here) else np.arange(len(self.layout.bolts))
            self.gas_share[i, here] = 1.0 / len(here)

    @property
    def _stiff(self) -> tuple[float, float]:
        """Stiffness of the head as a plate against bending [N m] and against shear [N/m]."""
        shear = self.shear * self.modulus * self.thickness / (2.0 * (1.0 + self.poisson))
        return float(plate_stiffness.si(self.modulus, self.thickness, self.poisson)), shear

    @functools.cached_property
    def below_bolts(self) -> Patch:
        """Points on which the preloads press, as many for each bolt; weights add up to one.

        From the edge of what presses, the load spreads at 45 degrees down to the middle of the
        head's thickness, as far as there is head on both sides of the bolt.
        """
        out = []
        angle = (np.arange(BOLT) + 0.5) * (2.0 * np.pi / BOLT)
        for b in self.layout.bolts:
            free = places.free_way(self.layout, b, angle) * (1.0 - 1e-9)
            free = np.minimum(free, np.roll(free, BOLT // 2))
            far = np.minimum(0.5 * (self.bolt_diameter + self.thickness), free)
            disc = self.plate.disc(b, far, 2, BOLT)
            out.append(replace(disc, weight=disc.weight / disc.weight.sum()))
        return joined(out)

    def _ring(self, centre: Any, diameter: Any, count: int) -> Patch:
        """Points round circles, drawn in where one would reach over the edge of the deck."""
        free = places.edge_distance(self.layout, centre) * (1.0 - 1e-9)
        return self.plate.ring(centre, np.minimum(diameter, 2.0 * free), count)

    def _body_patch(self) -> Patch:
        """Points of the deck face that are neither bore, seal nor hole, with the part that is."""
        patch = self.plate.area()
        points = patch.points
        cell = np.sqrt(patch.weight)
        circles = [
            (*b, 0.5 * (self.seal_diameter + _widest(self.gasket))) for b in self.layout.bores
        ]
        circles += [(*b, 0.5 * self.layout.bolt_hole) for b in self.layout.bolts]
        circles += [(h.x, h.y, 0.5 * h.diameter) for h in self.layout.holes]
        share = np.ones(len(points))
        for x, y, r in circles:
            near = np.abs(points[:, 0] - x) < r + 0.02
            d = np.hypot(points[near, 0] - x, points[near, 1] - y) - r
            share[near] *= np.clip(0.5 + d / cell[near], 0.0, 1.0)
        if self._cut:
            share *= places.inside(self.layout, points)
        group = patch.group
        kept = np.repeat(share.reshape(-1, group).max(axis=1) > 0.0, group)
        self.points, self.share = points[kept], share[kept]
        return Patch(
            points[kept], (patch.weight * share)[kept], patch.dofs[kept], patch.shape[kept], group
        )

    # ------------------------------------------------------------------ what may be varied
    def _extra(self, points: Array) -> Array:
        """Thickness beyond that of the gasket at points, the bow of the head taken off."""
        out = places.extra_thickness(self.steps, points)
        if any(self.warp):
            out = out - places.bow(self.layout, points, *self.warp)
        return out

    @functools.cached_property
    def seated(self) -> Gasket:
        """The gasket on a block that gives way, but for the wall below its seals."""
        return self.block.under(self.gasket)

    def _contact(self, zone: Zone, patch: Patch, share: float = 1.0) -> Contact:
        proud = max(z.stands_proud for z in self.gasket.zones) - zone.stands_proud
        if share != 1.0:
            key = patch, float(share)
            if key not in self._shares:
                self._shares[key] = replace(patch, weight=patch.weight * share)
            patch = self._shares[key]
        thinner = float(np.max(self.thinner.get(zone.name, 0.0)))
        gap = proud + thinner - self._extra(patch.points)
        return Contact(zone, patch, gap, self.block.give(zone))

    @functools.cached_property
    def contacts(self) -> list[Contact]:
        """All zones that carry load; the seals first, one after the other round every bore."""
        out = [self._contact(z, self._sealed) for z in self.seated.seals]
        for zone in self.seated.others:
            if zone.role == "body":
                out.append(self._contact(zone, self.area, self.body_share))
            elif self._holes:
                out.append(self._contact(zone, self._holes, self.liquid_share))
        return out

    @functools.cached_property
    def watched(self) -> list[Contact]:
        """The body beside the liquid holes, where no bead stands round them: looked at only."""
        if not self._holes or any(z.role == "liquid" for z in self.seated.zones):
            return []
        ring = replace(self._holes, weight=np.zeros(len(self._holes.points)))
        return [self._contact(z, ring) for z in self.seated.others if z.role == "body"]

    def wall(self, every: Sequence[Contact], tops: Sequence[Array]) -> Wall:
        """What the seals, the first of these zones, stand on after their largest closures."""
        count = len(self.gasket.seals)
        return Wall(self.block.line, every[:count], tops[:count])

    @property
    def body_area(self) -> float:
        """Area of the gasket's body for one bore, on average [m**2]."""
        return self.body_share * float(self.area.weight.sum()) / len(self.layout.bores)

    @property
    def liquid_length(self) -> float:
        """Length of the beads round the liquid holes for one bore, on average [m]."""
        length = float(self._holes.weight.sum()) if self._holes else 0.0
        return self.liquid_share * length / len(self.layout.bores)

    def reach(self, stress: float) -> float:
        """How far a load reaches along the plate, (D/k)**(1/4), at this stress of the body [m].

        k is the slope of the body's loading curve there; infinite without a body.
        """
        stress, k = plain(stress, "stress", "stress"), 0.0
        for zone in self.seated.others:
            if zone.role == "body":
                at = float(np.interp(stress, zone.load, zone.closure))
                k += self.body_share * float(zone.curve.at(np.array(max(at, 1e-12)))[1])
        return float((self.plate.stiffness / k) ** 0.25) if k > 0 else float(np.inf)

    def accuracy(self, stress: float) -> Accuracy:
        """How near the map comes to a solid, at this stress of the body.

        0.033 x**5 R/h of the least loads, 0.029 x**2 h/R of the lift and 0.04 x**3 of the highest
        loads, h the thickness, x = h / reach, R half the seal diameter: what bounds all rows of
        ``tests/sealing/solid_plate.csv``, solids of bricks under bolts and gas (computed), with x
        from 0.56 to 3 and h/R from 0.56 to 2.2. The thicker the head and the harder the gasket,
        the less a plate is like a solid, which spreads a load from its top over about its
        thickness.

        No share is told below 2 % at the default mesh of 8 mm, and `mesh` is 1 %; at others in
        proportion. On 6 mm and 4 mm loads on the seals of the four demo engines rise by up to
        1.9 % of those without gas, and what the gas takes off them falls by up to 1.7 %; loads
        without gas fall by up to 0.3 % there and 0.8 % at liquid holes (computed).
        """
        x, ratio = self.thickness / self.reach(stress), 2.0 * self.thickness / self.seal_diameter
        shares = 0.033 * x**5 / ratio, 0.029 * x**2 * ratio, 0.04 * x**3
        floor, mesh = (share * self.mesh / MESH for share in _BY_MESH)
        thickest, low, high = _TRIED
        tried = x <= thickest and low <= ratio <= high
        least, lift, highest = (max(share, floor) for share in shares)
        return Accuracy(least, lift, highest, mesh, tried)

    def vary(self, **changes: Any) -> Self:
        """The same deck with other numbers; mesh, points and stiffness matrix are kept.

        Raises InputError naming each field that is of the wrong kind, or would need another mesh.

        Parameters
        ----------
        changes : of `VARIED`, plain SI or quantities
        """
        for name in changes:
            if name not in VARIED:
                raise fail(name, "a change of it", "one of " + ", ".join(VARIED))
        out = copy.copy(self)
        for name in ("contacts", "watched", "seated"):
            out.__dict__.pop(name, None)
        if "thickness" in changes:
            out.__dict__.pop("below_bolts", None)
        out.__dict__.update(_read_all(changes))
        if _widest(out.gasket) != _widest(self.gasket):
            out.area = out._body_patch()
        if out._stiff != (self.plate.stiffness, self.plate.shear):
            out.plate = self.plate.scaled(*out._stiff)
        return out

    def pulled(self, force: Array) -> Array:
        """Forces on the unknowns of the bolts that pull this hard."""
        each = np.repeat(force, len(self.below_bolts.points) // len(self.layout.bolts))
        return self.below_bolts.forces(each, self.plate.size)

    def bolt_law(self, advance: Array, share: Array, pulled: Array) -> Law:
        """What the bolts at their points pull less than `pulled`, for advance and gas force.

        The change acts round the bolt: spread out, springs would hold the head from tipping there.
        """
        ke, r = split_at_load_plane.si(
            self.bolt_stiffness, self.member_stiffness, self.load_introduction
        )
        most, pulled = self.yield_force, np.repeat(pulled, BOLT)

        def law(deflection: Array) -> tuple[Array, Array]:
            force = (ke * (advance - deflection) + r * share) / (1.0 + r)
            works = (force > 0.0) & (force < most)
            return pulled - np.clip(force, 0.0, most), np.where(works, ke / (1.0 + r), 0.0)

        return law


def _widest(gasket: Gasket) -> float:
    return max(z.width for z in gasket.seals)


# --------------------------------------------------------------------------- numbers at the door
_SPECS = {f.name: f.metadata["spec"] for f in dataclasses.fields(Model) if "spec" in f.metadata}


def _number(name: str, value: Any, spec: str) -> float:
    """A single number as plain SI, in its range."""
    kind = re.split(r"\s*(?:>|-?\d)", spec)[0]
    read = plain(value, kind, name)
    if isinstance(read, bool | np.bool_ | str | bytes | None) or np.ndim(read):
        raise fail(name, value, f"one number: {KINDS[kind].words}")
    number = float(read)
    # a bolt may never yield and a plate not shear; nothing else is without bounds
    if number == np.inf and name in ("yield_force", "shear"):
        return number
    fault = check_range(number, spec, name, value)
    if fault is not None:
        raise InputError(fault)
    return number


def _read(name: str, value: Any) -> Any:
    """One field of a model."""
    if name in _SPECS:
        return _number(name, value, _SPECS[name])
    if name == "gasket":
        if not isinstance(value, Gasket) or not value.seals:
            raise fail(name, getattr(value, "name", value), "a gasket with a combustion seal")
    elif name == "block":
        if not isinstance(value, Block):
            raise fail(name, value, "how far the block gives way (`block.block`)")
    elif name == "warp":
        if not isinstance(value, tuple | list | np.ndarray) or len(value) != 2:
            raise fail(name, value, "two lengths: the bow lengthwise and across")
        return tuple(_number(name, v, "length") for v in value)
    elif name == "steps":
        if not isinstance(value, tuple | list) or not all(isinstance(s, Step) for s in value):
            raise fail(name, value, "a list of places of another thickness (`Step`)")
        return tuple(value)
    return value


def _read_all(given: Mapping[str, Any]) -> dict[str, Any]:
    """All fields; every fault at once."""
    out: dict[str, Any] = {}
    faults: list[Fault] = []
    for name, value in given.items():
        try:
            out[name] = _read(name, value)
        except InputError as err:
            faults += err.faults
    if faults:
        raise InputError(faults)
    return out
