"""One look at the deck of a build: as assembled, or with one cylinder at its peak.

Cold, with the low end of the preload. A coat may be thicker or missing at one patch. Of a deck
looked at before, mesh and stiffness matrix are kept, and a state is solved from the last one.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.analysis.clamp import Clamp, clamp_side
from sealkit.analysis.deck_side import deck_of, settled_and_crept
from sealkit.analysis.gas import Gas, gas_side
from sealkit.build import Build
from sealkit.errors import fail
from sealkit.sealing.deck import State
from sealkit.sealing.deck import layout as places
from sealkit.sealing.deck.layout import Step
from sealkit.sealing.deck.sequence import STEPS, in_order, outwards
from sealkit.sealing.joint import Joint

_PATCH = 0.35  # diameter of the coat patch over the bore
_DECKS = 3  # looked at before, that are kept
_EVEN = 0.01  # share by which a load may differ round a bore before its least place says anything
_HARDLY = 0.05  # share by which a load may change or differ and still count as the same
_MUCH_MORE = 5.0  # times the span of the load as assembled, to say that gas makes it uneven
_FAR = 0.2  # of the change at the patch; more on the far side is a change all round


@dataclass(frozen=True)
class BoreLook:
    """The seal round one bore in one state (plain SI)."""

    least: float  # load on it [N/m or Pa], and the `most`
    most: float
    angle: float | None  # where it is least [rad]; None where it hardly differs
    lift: float  # largest, since assembly [m]


@dataclass(frozen=True)
class DeckLook:
    """The deck of a build in one state (plain SI)."""

    build: Build
    gas: Gas  # with `clamp` and `joint` of the average joint
    clamp: Clamp
    joint: Joint
    coat: float  # extra thickness at the patch [m]
    fired: int | None  # number of the cylinder at its peak, from 0; None as assembled
    standing: State  # as assembled with the low end of the preload
    state: State
    patch: tuple[tuple[float, float], float]  # where the coat patch lies, and its diameter [m]
    bore: int  # the one to look at: the fired one, else the weakest
    kind: str  # of quantity that the seals carry
    # average, wanted: load on the seal of the average joint at the same pressure, and what is
    # wanted in this state [N/m or Pa]
    average: float
    wanted: float
    # by what share a solid head may have more of the least load than the map's plate
    solid_has_more: float

    @property
    def average_holds(self) -> bool:
        """Whether the average joint has what is wanted."""
        return self.average >= self.wanted

    def around(self, bore: int) -> tuple[BoreLook, BoreLook]:
        """The seal round a bore (from 0) as assembled, and in this state."""
        return _bore_look(self.standing, bore), _bore_look(self.state, bore)

    @property
    def weak_place(self) -> tuple[float, float]:
        """Where the seal of `bore` has its least load, along and across the deck [m]."""
        angle, load = self.state.line_load(self.bore)
        at = float(angle[int(np.argmin(load))])
        x, y = self.build.layout.bores[self.bore]
        r = 0.5 * self.joint.seal_diameter
        return float(x + r * np.cos(at)), float(y + r * np.sin(at))


def _bore_look(state: State, bore: int) -> BoreLook:
    """The seal round one bore in a state of the deck."""
    angle, load = state.line_load(bore)
    least, most = float(np.min(load)), float(np.max(load))
    at = None if most <= (1.0 + _EVEN) * least else float(angle[int(np.argmin(load))])
    return BoreLook(least, most, at, float(np.max(state.seal_lift(bore)[1])))


@functools.lru_cache(maxsize=_DECKS)
def _kept(_: Build) -> dict[Any, Any]:
    """A deck's map ("deck"), and by the cylinder fired the last states found on it."""
    return {}


# what a kept map is given anew each time, or does not depend on; all else tells two decks apart
_ANEW = {
    "charge.boost": 0.0,
    "fasteners.torque": None,
    "fasteners.angle": None,
    "fasteners.stretch": None,
    "head.thickness": 0.04,
    "deck.effective_thickness": None,
}


def deck_look(build: Build, coat: float = 0.0, fired: int | None = None) -> DeckLook:
    """The deck of a build with the low end of its preload, cold, and one cylinder at its peak.

    Raises InputError if the sheet has no section [deck], or the gas is more than the fasteners
    hold. `coat`: extra thickness at the patch (`coat_patch`) [m]; below zero where coat is
    missing; `fired`: number of the cylinder at its peak, from 0; None for the deck as assembled.
    """
    if build.deck is None:
        raise fail("deck", "no section [deck]", "a sheet that says where bores and fasteners stand")
    gas = gas_side(build)
    clamp, joint = clamp_side(build)
    kept = _kept(build.vary_si(_ANEW))
    kept["deck"] = deck = deck_of(build, joint, kept.get("deck"))
    patch = coat_patch(build), _PATCH * build.engine.bore
    if coat:
        deck = deck.vary(steps=[*build.gasket_steps, Step(*patch[0], coat, patch[1])])
    peak = gas.design_gauge
    fresh, first, last = kept.get(fired, (None, None, None))
    fresh = deck.assemble(float(clamp.preload.assembly_low), start=fresh)
    _, standing = settled_and_crept(build, deck, clamp, fresh, first)
    state = standing
    if fired is not None:
        pressure = np.zeros(len(build.layout.bores))
        pressure[fired] = peak
        state = deck.under_gas(standing, pressure, start=last)
    kept[fired] = (fresh, standing, state)
    average, weak = joint.under_gas(clamp.low, 0.0 if fired is None else peak), state.weakest()
    seal = joint.gasket.seals[0]
    load = float(np.ravel(average.zone_loads[seal.name])[0])
    bore, wanted = weak.bore if fired is None else fired, float(np.max(weak.limit.demand))
    more = deck.accuracy(standing.mean_pressure).least
    told = (patch, bore, seal.load_kind, load, wanted, more)
    return DeckLook(build, gas, clamp, joint, coat, fired, standing, state, *told)


def coat_patch(build: Build) -> tuple[float, float]:
    """Where the coat patch lies: between the first two bores, or beside a single one [m]."""
    lay = build.layout
    if len(lay.bores) > 1:
        middle = 0.5 * (lay.bores[0] + lay.bores[1])
    else:
        middle = lay.bores[0] + np.array([0.0, 0.55 * lay.bore])
    return float(middle[0]), float(middle[1])


def middle_bore(build: Build) -> int:
    """The bore that shares most of its fasteners with others, from 0."""
    lay = build.layout
    worth = [places.around_bore(lay, i).effective for i in range(len(lay.bores))]
    return int(np.argmin(worth))


def load_span(state: State) -> tuple[float, float]:
    """Least and most load on the seals of all bores [N/m or Pa]."""
    loads = [state.line_load(i)[1] for i in range(len(state.deck.layout.bores))]
    return float(min(x.min() for x in loads)), float(max(x.max() for x in loads))


@dataclass(frozen=True)
class Evenness:
    """Least and most load on the seals of all bores of a deck (plain SI)."""

    kind: str  # of quantity that the seals carry
    fired: int  # number of the cylinder whose gas it is, from 0
    still: tuple[float, float]  # (least, most) as assembled [N/m or Pa]
    gas: tuple[float, float]  # the same with that cylinder at its peak
    uneven: bool  # whether the pattern of the fasteners shows as soon as they are tight
    gas_shows: bool  # whether gas makes the load differ much more


def evenness(build: Build) -> Evenness:
    """How evenly the seals of a deck are pressed, as assembled and with the middle bore fired."""
    fired = middle_bore(build)
    looks = deck_look(build), deck_look(build, fired=fired)
    still, gas = (load_span(look.state) for look in looks)
    uneven = still[1] > (1.0 + _HARDLY) * still[0]
    shows = gas[1] - gas[0] > _MUCH_MORE * (still[1] - still[0])
    return Evenness(looks[0].kind, fired, still, gas, uneven, shows)


@dataclass(frozen=True)
class Patch:
    """The first bore of a deck as assembled, coat all over and missing at a patch (plain SI)."""

    kind: str  # of quantity that the seal carries
    here: tuple[float, float]  # load on it towards the patch, with coat and without [N/m or Pa]
    far: tuple[float, float]  # the same on the far side
    changes: tuple[float, ...]  # of the load here and there, as shares

    @property
    def moves(self) -> str:
        """What the missing coat does: "between", "all round", "more" or "nothing"."""
        here, far = self.changes
        if here > _HARDLY:
            return "more"
        if abs(here) < _HARDLY:
            return "nothing"
        return "between" if abs(far) < _FAR * abs(here) else "all round"


def missing_patch(build: Build, missing: float) -> Patch:
    """What becomes of the load round the first bore where coat is missing beside it.

    Raises InputError for a deck with one bore. `missing`: thickness of the coat that is missing at
    the patch (`coat_patch`) [m].
    """
    if len(build.layout.bores) < 2:
        raise fail("deck.bores", "one bore", "a deck with two bores or more")
    sound, bare = deck_look(build), deck_look(build, -missing)
    before, after = (one.standing.line_load(0)[1] for one in (sound, bare))
    ends = [(float(before[i]), float(after[i])) for i in (0, len(before) // 2)]
    here, far = ends
    return Patch(sound.kind, here, far, tuple(bare / coated - 1.0 for coated, bare in ends))


@dataclass(frozen=True)
class Pass:
    """What the fasteners keep after one time round, as shares of what they were tightened to."""

    share: float  # of the whole preload, to which each was tightened
    least: float  # of all fasteners at the end, as `most` and `mean`
    most: float
    mean: float


def passes(look: DeckLook) -> tuple[Pass, ...]:
    """The fasteners of a deck tightened one after the other, from the middle outwards.

    In the steps of the shop, the last of them twice, to the low end of the preload.
    """
    deck, shares = look.standing.deck, np.array([*STEPS, STEPS[-1]])
    whole = float(look.clamp.preload.assembly_low)
    left = in_order.si(deck, whole, outwards(deck.layout), shares) / (whole * shares[:, None])
    found = zip(shares, left, strict=True)
    return tuple(Pass(float(s), float(x.min()), float(x.max()), float(x.mean())) for s, x in found)
