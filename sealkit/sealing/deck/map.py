"""The map of a deck: tightened, let down, and with gas in its cylinders."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit.arrays import Array
from sealkit.errors import Fault, InputError, fail
from sealkit.sealing.deck.layout import Layout
from sealkit.sealing.deck.model import BOLT, Model
from sealkit.sealing.deck.plates import Law, Patch
from sealkit.sealing.deck.state import State
from sealkit.sealing.gaskets import Creep
from sealkit.sealing.joint import Joint
from sealkit.units import plain


class DeckMap(Model):
    """A deck that can be tightened and fired: see `Model` for its numbers, `vary` to change one.

    >>> from sealkit.sealing import constructions
    >>> from sealkit.sealing.deck import layout, patterns
    >>> face = patterns.pattern.si(1, 0.096, 0.086, 0.013, 0.096, 0.025, 0.025)
    >>> gasket = constructions.make("copper sheet")
    >>> deck = DeckMap(face, gasket, "89.5 mm", "40 mm", "72 GPa", 0.33, "180 kN/mm", "900 kN/mm")
    >>> state = deck.assemble("60 kN")
    >>> round(state.bolt_force.sum())
    240000
    """

    # ------------------------------------------------------------------ assembly
    def _preload(self, name: str, preload: ArrayLike) -> Array:
        force = np.asarray(plain(preload, "force", name), dtype=float)
        if force.shape not in ((), (len(self.layout.bolts),)):
            wanted = f"one force, or one for each of {len(self.layout.bolts)} bolts"
            raise fail(name, f"an array of shape {force.shape}", wanted)
        if not (np.all(np.isfinite(force)) and np.all(force > 0)):
            raise fail(name, force, "a clamp force above zero")
        if np.any(force > self.yield_force):
            raise fail(name, force, f"at most the force at yield, {self.yield_force:g} N")
        return np.broadcast_to(force, (len(self.layout.bolts),)).copy()

    def _flat(self, force: float) -> Array:
        """The closure of a rigid head under this clamp, as a start."""

        def carried(level: Array) -> Array:
            each = [(level - np.median(c.gap), c.zone, c.patch.weight.sum()) for c in self.contacts]
            return np.asarray(sum(zone.loading(closed) * extent for closed, zone, extent in each))

        high = 1e-3
        while carried(np.array(high)) < force and high < 1.0:
            high *= 2.0
        levels = np.linspace(0.0, high, 512)
        level = np.interp(force, carried(levels), levels)
        return level * self.plate.unit

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

        Raises InputError if a preload is not above zero, beyond yield, or rises after assembly.

        Parameters
        ----------
        assembly_preload : one for all bolts or one for each [N]
        preload : what is left after the losses [N]; None: all of it
        start : a state of this deck, or of one it was varied from, to start the solution from
        """
        first = self._preload("assembly_preload", assembly_preload)
        second = first if preload is None else self._preload("preload", preload)
        if np.any(second > first * (1 + 1e-12)):
            raise fail("preload", "more than at assembly", "at most the assembly preload")
        w = self._start(start)
        if w is None:
            w = self._flat(float(first.sum()))
        new = self.laid_on()
        laws = [(c.patch, law) for c, law in zip(self.contacts, new.found_by, strict=False)]
        w, steps = self._solved("assembly_preload", first, laws, self.pulled(first), w)
        state = replace(
            new,
            unknowns=w,
            assembled=w,
            tops=new.reached(w),
            advance=self._advance(w, first),
            newton_steps=steps,
            preload=first,
            bolt_force=first,
        )
        if preload is None:
            return state
        left = self.at_preload(state, second)
        return replace(left, newton_steps=steps + left.newton_steps)

    def _advance(self, w: Array, force: Array) -> Array:
        ratio = 1.0 + self.bolt_stiffness / self.member_stiffness
        stretch = np.repeat(force, BOLT) * ratio / self.bolt_stiffness
        return np.asarray(self.bolts.closure(w) + stretch)

    def at_preload(
        self,
        state: State,
        preload: ArrayLike,
        creep: Mapping[str, Creep] | None = None,
        start: State | None = None,
    ) -> State:
        """The deck without gas and with this preload, on the gasket as it has become.

        Parameters
        ----------
        state : how it stands
        preload : one for all bolts or one for each [N]
        creep : by name of the zone, what creeps thinner first under the loads of `state`
        start : a state to start the solution from; None: `state`
        """
        force = self._preload("preload", preload)
        crept = state
        if creep or state.deck is not self:  # else what is worked out of the gasket is kept
            sets = list(state.sets)
            for i, (c, load, _) in enumerate(state.loads if creep else ()):
                if creep and c.zone.name in creep:
                    sets[i] = sets[i] + c.set_of(creep[c.zone.name], state.tops[i], load)
            crept = replace(state, deck=self, sets=tuple(sets))
        begin = state if start is None else start
        w = self._start(begin)
        if w is not None and begin.deck.warp != self.warp:
            pairs = zip(self.contacts, crept.every, begin.every, strict=False)
            sunk = np.concatenate([now.gap - then.gap for _, now, then in pairs])
            w = self.plate.followed(crept.carrying, w, sunk)
        w, steps = self._solved("preload", force, crept.carrying, self.pulled(force), w)
        return self._standing(crept, w, steps, force, self._advance(w, force))

    def _standing(self, before: State, w: Array, steps: int, force: Array, advance: Array) -> State:
        """How the deck stands without gas with these forces of its bolts.

        A place beside a bolt may close further as its neighbours let go.
        """
        return replace(
            before,
            deck=self,
            unknowns=w,
            assembled=w,
            tops=before.reached(w),
            found_by=before.laws,
            advance=advance,
            newton_steps=steps,
            preload=force,
            bolt_force=force,
            pressure=np.zeros(len(self.layout.bores)),
        )

    def laid_on(self) -> State:
        """The head laid on a new gasket, every bolt loose."""
        every, count = [*self.contacts, *self.watched], len(self.layout.bolts)
        w, none = np.zeros(self.plate.size), np.zeros(count)
        zeros = tuple(np.zeros(len(c.gap)) for c in every)
        advance = np.full(count * BOLT, -np.inf)
        off = np.zeros(len(self.layout.bores))
        wall = self.wall(every, zeros)
        laws = (*wall.laws, *(c.loading() for c in every[len(wall.laws) :]))
        return State(self, w, w, zeros, zeros, laws, advance, 0, none, none, off)

    def tighten(self, state: State, bolt: int, preload: float) -> State:
        """One bolt turned on until it carries `preload`, the nuts of the others held.

        A bolt that carries as much or more stays as it is: a wrench that clicks turns no nut back.

        Parameters
        ----------
        state : without gas, how it stands
        bolt : from 0
        preload : of this bolt [N]
        """
        count = len(self.layout.bolts)
        if not 0 <= bolt < count:
            raise fail("bolt", bolt, f"a bolt from 0 to {count - 1}")
        force = float(self._preload("preload", float(plain(preload, "force", "preload")))[bolt])
        if state.bolt_force[bolt] >= force:
            return state
        here = slice(bolt * BOLT, (bolt + 1) * BOLT)
        base = np.array(state.bolt_force, dtype=float)
        base[bolt] = force
        springs = self.bolt_law(state.advance, np.zeros(count * BOLT), base)

        def law(deflection: Array) -> tuple[Array, Array]:
            load, slope = springs(deflection)
            load[here], slope[here] = 0.0, 0.0
            return load, slope

        w = state.unknowns if np.any(state.bolt_force) else self._flat(force)
        each = np.array([force])
        laws = [*state.carrying, (self.bolts, law)]
        w, steps = self._solved("preload", each, laws, self.pulled(base), w)
        forces = base - law(self.bolts.closure(w))[0].reshape(-1, BOLT).mean(axis=1)
        advance = state.advance.copy()
        advance[here] = self._advance(w, forces)[here]
        return self._standing(state, w, steps, forces, advance)

    def under_gas(self, state: State, pressure: ArrayLike, start: State | None = None) -> State:
        """The deck with gas in its cylinders, from the history that a state carries.

        Raises InputError if a pressure is below zero, or if the gas overcomes the yielding bolts.

        Parameters
        ----------
        state : as assembled, or after other pressures
        pressure : over the air outside, one for all cylinders or one for each [Pa]
        start : a state to start the solution from; None: `state`
        """
        count = len(self.layout.bores)
        p = np.asarray(plain(pressure, "gauge pressure", "pressure"), dtype=float)
        if p.shape not in ((), (count,)):
            wanted = f"one pressure, or one for each of {count} cylinders"
            raise fail("pressure", f"an array of shape {p.shape}", wanted)
        if not (np.all(np.isfinite(p)) and np.all(p >= 0)):
            raise fail("pressure", p, "gas pressures not below zero")
        p = np.broadcast_to(p, (count,)).copy()
        gas = p * np.pi / 4.0 * self.seal_diameter**2
        if gas.sum() >= self.yield_force * len(self.layout.bolts):
            raise fail("pressure", p, "a pressure that the yielding bolts can hold")
        share = np.repeat(gas @ self.gas_share, BOLT)
        preload = np.asarray(state.preload)
        bolts = self.bolt_law(state.advance, share, preload)
        push = self.pulled(preload)
        for at, disc in zip(p, self.discs, strict=True):
            push -= at * disc
        w = self._start(start)
        w = state.unknowns if w is None else w
        laws = [*state.carrying, (self.bolts, bolts)]
        w, steps = self._solved("pressure", p, laws, push, w)
        force = preload - bolts(self.bolts.closure(w))[0].reshape(-1, BOLT).mean(axis=1)
        return replace(
            state,
            deck=self,
            unknowns=w,
            tops=state.reached(w),
            found_by=state.laws,
            newton_steps=steps,
            bolt_force=force,
            pressure=p,
        )

    def firing(
        self, assembly: State, peak: float, starts: Sequence[State] = ()
    ) -> tuple[State, ...]:
        """One state for each cylinder at its peak pressure, the others without gas.

        Parameters
        ----------
        assembly : as assembled
        peak : over the air outside [Pa]
        starts : a state for each cylinder to start the solution from; left out: `assembly`
        """
        each = plain(peak, "gauge pressure", "peak") * np.eye(len(self.layout.bores))
        begins = starts or (None,) * len(each)
        return tuple(self.under_gas(assembly, *row) for row in zip(each, begins, strict=True))


def from_joint(
    joint: Joint, layout: Layout, thickness: float, modulus: float, poisson: float, **more: Any
) -> DeckMap:
    """The map of the deck to which the joint of one bore belongs, with the same gasket.

    The body area and bead length of the joint are spread over the deck face.

    Parameters
    ----------
    joint : gasket sized for one bore, stiffness of bolts and members, load introduction, seal
        diameter
    layout : of the deck face
    thickness, modulus, poisson : of the head as a plate [m], [Pa], nu
    more : steps, warp, bolt_diameter, mesh as for `DeckMap`
    """
    out = DeckMap(
        layout, joint.gasket, joint.seal_diameter, thickness, modulus, poisson,
        joint.bolt_stiffness, joint.member_stiffness, joint.yield_force, joint.load_introduction,
        thinner=joint.thinner,
        **more,
    )  # fmt: skip
    shares = {}
    for role, name, extent in (
        ("body", "body_share", out.body_area),
        ("liquid", "liquid_share", out.liquid_length),
    ):
        zones = [z for z in joint.gasket.zones if z.role == role]
        if zones and extent > 0:
            shares[name] = zones[0].extent / extent
    return out.vary(**shares)
