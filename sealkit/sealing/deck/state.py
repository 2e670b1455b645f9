"""The deck as assembled or with gas in its cylinders: what it carries, and where it is weakest."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sealkit.arrays import Array
from sealkit.errors import fail
from sealkit.sealing import liquids
from sealkit.sealing.deck import layout as places
from sealkit.sealing.deck.model import HOLE, ROUND, Contact, Model, Wall
from sealkit.sealing.deck.plates import Law, Patch
from sealkit.sealing.gaskets import Zone
from sealkit.sealing.limit import Condition, Limit, of_zone, one_after_the_other
from sealkit.units import field, plain

_ON_MAP = Condition(detail="deck map")
_WEAKEST = Condition(detail="weakest place round the hole")


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
        """Margin of its limit."""
        return float(self.limit.margin)

    @property
    def signed(self) -> float:
        """The same, drawn on below -1 where the seal has lost touch."""
        return float(self.limit.signed)


@dataclass(frozen=True, eq=False)
class HoleLoad:
    """What lies on the gasket round one liquid hole.

    `least`, `mean` and `seated` (the least of the highest so far) are line loads of a bead or
    stresses of the body, as `kind` says; `share` is the least load over the mean of the whole zone.
    """

    name: str
    fluid: str
    drain: bool
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

    load(phi) = sum of contact[k] cos(k (phi - contact_angle[k])) for the gasket's push on the deck;
    `bolts` are the amplitudes of the pull of the bolts on it; order 0 is the mean.

    A first estimate of which shape the clamp pulls the bore into. It is what drives the distortion
    and no diameter: how far the bore gives way depends on the walls, bosses and jackets of the
    block, which this map does not know.
    """

    order: Any
    contact: Any = field("line load")
    contact_angle: Any = field("angle")
    bolts: Any = field("line load")


@dataclass(frozen=True, eq=False)
class State:
    """The deck as assembled, or with gas in its cylinders.

    Parameters
    ----------
    deck : the map it belongs to
    unknowns, assembled : of the plate, now and as assembled
    tops : largest closure so far of every zone at its points, without what it crept, m; of a seal
        without its wall, of others with their column of the block
    sets : by how much every zone has crept thinner at its points, m
    found_by : laws of every zone on the way here, which the plate was in balance with
    advance : of nut or bolt at the points round it, m
    newton_steps : it took
    preload, bolt_force : of each bolt, as assembled and now
    pressure : in each cylinder, over the air outside
    """

    deck: Model = dataclasses.field(repr=False)
    unknowns: Array = dataclasses.field(repr=False)
    assembled: Array = dataclasses.field(repr=False)
    tops: tuple[Array, ...] = dataclasses.field(repr=False)
    sets: tuple[Array, ...] = dataclasses.field(repr=False)
    found_by: tuple[Law, ...] = dataclasses.field(repr=False)
    advance: Array = dataclasses.field(repr=False)
    newton_steps: int
    preload: Any = field("force")
    bolt_force: Any = field("force")
    pressure: Any = field("gauge pressure")

    # ------------------------------------------------------------------ loads at points
    @functools.cached_property
    def every(self) -> list[Contact]:
        """All zones, as thick as they have become; those looked at only come last."""
        every = [*self.deck.contacts, *self.deck.watched]
        return [c.crept(by) for c, by in zip(every, self.sets, strict=True)]

    @functools.cached_property
    def wall(self) -> Wall:
        """What the seals stand on, on the way back from the largest closures so far."""
        return self.deck.wall(self.every, self.tops)

    @functools.cached_property
    def laws(self) -> tuple[Law, ...]:
        """Of every zone, on the way back from the largest closures so far."""
        pairs = list(zip(self.every, self.tops, strict=True))[len(self.wall.laws) :]
        return (*self.wall.laws, *(c.history(top) for c, top in pairs))

    def reached(self, w: Array) -> tuple[Array, ...]:
        """Largest closures once the plate has been there too."""
        closures = self.wall.closures(self.every[0].patch.closure(w))
        closures += [c.closure(w) for c in self.every[len(closures) :]]
        return tuple(np.maximum(top, c) for top, c in zip(self.tops, closures, strict=True))

    @property
    def carrying(self) -> list[tuple[Patch, Law]]:
        """What carries load, with its laws."""
        return [(c.patch, law) for c, law in zip(self.deck.contacts, self.laws, strict=False)]

    @functools.cached_property
    def loads(self) -> list[tuple[Contact, Array, Array]]:
        """Every zone with its load now and the highest so far at its points."""
        return [
            (c, law(c.patch.closure(self.unknowns))[0], c.zone.loading(top))
            for c, law, top in zip(self.every, self.found_by, self.tops, strict=True)
        ]

    # ------------------------------------------------------------------ fields
    @property
    def contact_pressure(self) -> Array:
        """Contact pressure of the gasket body at `deck.points`, Pa."""
        out = np.zeros(len(self.deck.points))
        for c, load, _ in self.loads:
            if c.zone.role == "body" and len(load) == len(out):
                out += load
        return out

    def on_cells(self, values: Array) -> tuple[Array, Array, Array]:
        """Edges of the mesh along both sides [m], and the mean of values at `deck.points` on it.

        NaN where a cell holds next to no gasket.
        """
        deck, edges = self.deck, [self.deck.plate.x, self.deck.plate.y]
        (x, y), weights = deck.points.T, (deck.share * values, deck.share)
        total, part = (np.histogram2d(x, y, edges, weights=w)[0].T for w in weights)
        with np.errstate(divide="ignore", invalid="ignore"):
            mean = np.where(part > 0.05 * part.max(), total / part, np.nan)
        return edges[0], edges[1], mean

    @property
    def mean_pressure(self) -> float:
        """Mean contact pressure of the gasket body, Pa."""
        return float(np.average(self.contact_pressure, weights=self.deck.area.weight))

    @property
    def lift(self) -> Array:
        """How far the head has risen since assembly at `deck.points`, m."""
        out: Array = self.deck.area.closure(self.assembled - self.unknowns)
        return out

    # ------------------------------------------------------------------ round the bores
    @property
    def angle(self) -> Array:
        """Angles of the points round a bore, from the x axis, anticlockwise (rad)."""
        return np.asarray(np.arange(ROUND) * (2.0 * np.pi / ROUND), dtype=float)

    def _bore(self, bore: int) -> slice:
        count = len(self.deck.layout.bores)
        if not 0 <= bore < count:
            raise fail("bore", bore, f"a bore from 0 to {count - 1}")
        return slice(bore * ROUND, (bore + 1) * ROUND)

    def _seals(self, zone: str | None) -> list[int]:
        """Places of the seal zones among all, or of one of them."""
        names = [z.name for z in self.deck.gasket.seals]
        if zone is not None and zone not in names:
            raise fail("zone", zone, "one of " + ", ".join(names))
        return [i for i, name in enumerate(names) if zone in (None, name)]

    def line_load(self, bore: int, zone: str | None = None) -> tuple[Array, Array]:
        """Angle (rad) and line load (N/m) round a bore.

        Parameters
        ----------
        bore : from 0
        zone : one of the seal zones; None: all together
        """
        here = self._bore(bore)
        loads = (self.loads[i][1][here] for i in self._seals(zone))
        return self.angle, sum(loads, np.zeros(ROUND))

    def seal_lift(self, bore: int) -> tuple[Array, Array]:
        """Angle (rad) and rise of the head since assembly (m) round a bore."""
        ring = self.deck.seals[bore if self._bore(bore) else 0]
        return self.angle, ring.closure(self.assembled - self.unknowns)

    def seating(self, bore: int, zone: str | None = None) -> Limit:
        """Load to seat a seal zone against the highest load so far, round a bore."""
        c, _, top = self.loads[self._seals(zone)[0]]
        wanted = np.full(ROUND, c.zone.seating)
        return of_zone("seating", c.zone, wanted, top[self._bore(bore)], _ON_MAP)

    def residual(self, bore: int, zone: str | None = None) -> Limit:
        """Load wanted of a seal zone at the pressure of its bore against the load left on it.

        Returns a Limit whose demand, capacity and margin are arrays over `angle`.

        Parameters
        ----------
        bore : from 0
        zone : one of the seal zones; None: all of which load is wanted, as one seal
        """
        return one_after_the_other([self._residual(bore, i) for i in self._judged(zone)])

    def _residual(self, bore: int, i: int) -> Limit:
        here = self._bore(bore)
        c, load, _ = self.loads[i]
        load, lost = load[here], np.zeros(ROUND)
        if not np.all(load):
            follows = self._springback(bore, i)
            rest = self.found_by[i](c.patch.closure(self.assembled))[0][here]
            slope = np.sum(rest) / max(np.sum(follows.capacity), 1e-300)
            lost = np.maximum(slope * (follows.demand - follows.capacity), 0.0)
            lost[load > 0.0] = 0.0
        wanted = np.full(ROUND, float(c.zone.required(self.pressure[bore])))
        return of_zone("residual", c.zone, wanted, load, _ON_MAP, missing=lost)

    def springback(self, bore: int, zone: str | None = None) -> Limit:
        """Likewise the rise of the head round a bore since assembly against the springback left."""
        return one_after_the_other([self._springback(bore, i) for i in self._judged(zone)])

    def _springback(self, bore: int, i: int) -> Limit:
        here, c = self._bore(bore), self.every[i]
        seals = [replace(x, gap=x.gap[here]) for x in self.every]
        free = self.deck.wall(seals, [top[here] for top in self.tops]).free
        left = np.maximum(c.patch.closure(self.assembled)[here] - free[i], 0.0)
        return replace(
            of_zone("springback", c.zone, np.maximum(self.seal_lift(bore)[1], 0.0), left, _ON_MAP),
            kind="lift",
            note="rise of the head at this place, and springback left there",
        )

    def _judged(self, zone: str | None) -> list[int]:
        """Places of the zones that are looked at: this one, else all of which load is wanted."""
        every = self._seals(zone)
        wanted = [i for i in every if self.every[i].zone.factor > 0]
        return every if zone is not None or not wanted else wanted

    def worst(self, what: str, zone: str | None = None) -> Weakest | None:
        """Bore and angle with the least margin of one kind.

        Returns Weakest; None where nothing is wanted anywhere.

        Parameters
        ----------
        what : "seating", "residual" or "springback"; the last two look at bores that have gas
        zone : one of the seal zones; None: each by itself for seating, else all as one seal
        """
        kinds = {"seating": self.seating, "residual": self.residual, "springback": self.springback}
        if what not in kinds:
            raise fail("what", what, "one of " + ", ".join(kinds))
        each = [z.name for z in self.deck.gasket.seals] if what == "seating" else [None]
        found = []
        for name in each if zone is None else [zone]:
            for bore in range(len(self.deck.layout.bores)):
                if what != "seating" and self.pressure[bore] <= 0:
                    continue
                limit = kinds[what](bore, name)
                if np.any(np.asarray(limit.demand) > 0.0):
                    # of places that mirror each other, and so differ by rounding, the first
                    i = int(np.argmin(np.round(limit.signed, 6)))
                    found.append(self._place(bore, i, limit))
        return min(found, key=lambda w: (round(w.signed, 6), w.load)) if found else None

    def _place(self, bore: int, i: int, limit: Limit) -> Weakest:
        row = np.broadcast_arrays(limit.demand, limit.capacity, limit.missing)
        demand, capacity, missing = (float(x[i]) for x in row)
        here = replace(limit, demand=demand, capacity=capacity, missing=missing)
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
        return tuple(c.zone.name for c in self.deck.contacts)

    def highest(self, zone: str) -> float:
        """Highest load of a zone so far at any place: line load or stress."""
        every = enumerate(self.every)
        loads = [float(np.max(self.loads[i][2])) for i, c in every if c.zone.name == zone]
        if not loads:
            raise fail("zone", zone, "one of " + ", ".join(self.zones))
        return max(loads)

    # ------------------------------------------------------------------ liquid holes
    def holes(self) -> tuple[HoleLoad, ...]:
        """Load round each liquid hole: of its bead, else of the body beside it."""
        zones = liquids.liquid_zones(self.deck.seated)
        rows = []
        for c, load, top in self.loads:
            if c.zone not in zones or len(load) != HOLE * len(self.deck.layout.holes):
                continue
            carrying = next(x for x in self.loads if x[0].zone is c.zone)
            weights, all_loads = carrying[0].patch.weight, carrying[1]
            mean = float(weights @ all_loads / weights.sum())
            for i, hole in enumerate(self.deck.layout.holes):
                here = slice(HOLE * i, HOLE * (i + 1))
                j = int(np.argmin(load[here]))
                least = float(load[here][j])
                loads = (least, float(np.mean(load[here])), float(np.min(top[here])))
                share, angle = least / mean if mean > 0 else 0.0, j * 2.0 * np.pi / HOLE
                own = (hole.name, hole.fluid, hole.drain, c.zone, c.zone.load_kind)
                rows.append(HoleLoad(*own, *loads, share, angle))
        return tuple(rows)

    def liquid(
        self, pressures: Mapping[str, float], facing: str | None = None
    ) -> tuple[Limit, ...]:
        """Does every liquid hole stay tight, at its weakest place; with gas only m p is wanted.

        Returns a tuple of Limit, one for seating and one for the pressure, for each hole whose
        fluid has a pressure. Raises InputError if the facing is unknown, or nothing says what it
        is.

        Parameters
        ----------
        pressures : over the air outside of each fluid, Pa, such as {"coolant": 3.5e5, "oil": 6e5,
            "oil drain": 5e3}
        facing : what touches the deck at the holes; see `liquids.liquid_criteria`
        """
        chosen = None if facing is None else liquids.facing.si(facing)
        usual = liquids.facing_of(self.deck.gasket)
        out = []
        for hole in self.holes():
            runs = f"{hole.fluid} drain" if hole.drain else hole.fluid
            if runs not in pressures:
                continue
            seat, factor, use = liquids.zone_wants(hole.zone, chosen, usual)
            pressure = plain(pressures[runs], "gauge pressure", f"pressures.{runs}")
            fired = bool(np.any(np.asarray(self.pressure) > 0.0))
            wanted = liquids.load_wanted(0.0 if fired else seat, factor, pressure, hole.seated)
            lines = "" if fired or seat <= 0 else liquids.tightness().words
            told = (
                ("hole", hole.name),
                ("fluid", hole.fluid),
                ("facing", use.name),
                ("pressure", liquids.pressure_words(pressure)),
            )
            notes = use.note, "; ".join(filter(None, (use.note, lines)))
            for of, wording, demand, capacity, note in (
                ("seating", "hole seating", float(seat), hole.seated, notes[0]),
                (hole.fluid, "hole", float(wanted), hole.least, notes[1]),
            ):
                said = {"of": of, "note": note, "wording": wording, "values": told}
                out.append(liquids.at_hole(hole.zone, use, demand, capacity, _WEAKEST, **said))
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
        for c, load, _ in self.loads:
            far = places.distances(c.patch.points, lay.bores)
            mine = (far[:, bore] <= far.min(axis=1) * (1 + 1e-9)) & (far[:, bore] <= reach)
            contact += waves(c.patch.points[mine], (c.patch.weight * load)[mine])
        pull = np.asarray(self.bolt_force)[around.bolts] * around.share
        bolts = waves(lay.bolts[around.bolts], pull)
        scale = np.where(k == 0, 1.0, 2.0) / (np.pi * lay.bore)
        angle = np.angle(contact) / np.maximum(k, 1)
        return Orders(k, np.abs(contact) * scale, angle, np.abs(bolts) * scale)


def weakest(states: Iterable[State]) -> Weakest:
    """The weakest place over several states, such as one for each cylinder at its peak."""
    return min((s.weakest() for s in states), key=lambda w: round(w.signed, 6))
