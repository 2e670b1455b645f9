"""The joint of a build over heat cycles: hot, worked, cold again and soaked in cold."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.analysis.clamp import Clamp, poisson_of, zone_creep
from sealkit.analysis.margins import COLD, HOT, Heated
from sealkit.arrays import per_build
from sealkit.build import Build
from sealkit.sealing import heat, hot_metal
from sealkit.sealing.gaskets import Creep
from sealkit.sealing.joint import Assembly, Joint

HOT_STATES = ("warm-up", "warm idle", "hot full load", "heat soak")
"""Rows of the table of temperatures in which the engine is warm; all are judged."""

FULL_LOAD = "hot full load"

COLD_SOAK = "cold soak"
"""Row of the table of temperatures in which the engine is soaked in cold."""

COLD_START = "start after the cold soak"
"""Name of the state in which the cold soaked engine fires."""

WORKSHOP = ""
"""Name of the cold state in which the joint is tightened and first fired."""

Shares = tuple[float, Any, Any, Any, str]
"""Gas, share of the peak; left of fasteners, block and head; status: as `Heated` has them."""

_WHOLE: Shares = (1.0, 1.0, 1.0, 1.0, "computed")

OWN_METAL = "301 full hard"
"""Row of the materials table that a gasket of unknown metal grows like."""


@dataclass(frozen=True)
class Warm:
    """The joint over heat cycles, with the low and the high end of the preload.

    `state` is the hot state that is shown, `differential_expansion` what the stack outgrows the
    fasteners by there (m). `low.worked` and `high.hot` stand in it, and `low.hot` is the tightest
    one. `heated` are the states in which a limit may be at its worst, `weak_stretch` is what the
    weakest fasteners stretch for good at the high end, most in the state `stretched_when`.
    """

    state: heat.ThermalState
    differential_expansion: Any
    still: Still
    low: heat.HeatCycle
    high: heat.HotJoint
    heated: tuple[Heated, ...]
    weak_stretch: Any
    stretched_when: str


def hot_state(build: Build, name: str | None = None) -> heat.ThermalState:
    """Temperatures of the joint in a warm state; in the one that the sheet shows, if none is named.

    The coolant of the sheet is that at full load; the other states lie as far from it as in the
    table. During warm-up it is no hotter than in the table.
    """
    h, known = build.heat, tables.load("temperatures")
    name, own = name or h.hot_state, h.coolant_temperature
    if own is not None:
        usual = known[name]["coolant"]
        moved = usual + (own - known[FULL_LOAD]["coolant"])
        own = np.minimum(own, usual) if name == "warm-up" else moved
    followed = h.warm_up_share if name == "warm-up" else None
    return heat.temperatures.si(name, own, h.rise_factor, followed)


def across_head(build: Build, name: str) -> Any:
    """How much hotter the head is on the fire side than at its top, in a warm state (K).

    What the sheet gives is that at full load; in the other states it is more or less by the factor
    of the table.
    """
    own = build.head.gradient
    if own is None:
        return hot_state(build, name).across
    known = tables.load("temperatures")
    return own * known[name]["across"] / known[FULL_LOAD]["across"]


def bow_at_seal(build: Build, name: str) -> Any:
    """How far the hot head bows down at the seal, from the bolt circle, if nothing stops it (m).

    w = r k (b**2 - s**2)/2 with k = alpha dT/H, between bolt circle b and seal s

    r is 1 for a head of one bore, which bows to a sphere. In a row the fasteners hold the head flat
    lengthwise, so that it bows across alone, (1 + nu) times as much (a plate without moment across,
    [1]): round the seal, with four fasteners at the corners of a square, r = (1 + nu)/2 in the
    mean. Between two bores it is more; places are left to the map of the deck.

    Parameters
    ----------
    build, name : the sheet, and one of the warm states

    References
    ----------
    1. S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., art. 14 (from
       memory).
    """
    material = tables.load("materials")[build.head.material]
    curvature = material["expansion"] * across_head(build, name) / build.fasteners.grip_head
    outside = build.fasteners.bolt_circle**2 - build.gasket.seal_diameter**2
    part = 1.0 if build.bores_per_head == 1 else 0.5 * (1.0 + poisson_of(build.head.material))
    return per_build(part * curvature * outside / 8.0)


def stack_of(build: Build) -> heat.Stack:
    """The stack that the fasteners of a build clamp (SI).

    The gasket grows as the metal of its construction does; zones of one's own count as steel.
    """
    f, known = build.fasteners, tables.load("creep")
    name = build.gasket.construction
    metal = known[name]["metal"] if name in known else OWN_METAL
    return heat.stack.si(
        build.head.material,
        f.grip_head,
        build.block.material,
        f.grip_block,
        f.material,
        None,
        build.gasket.compressed_thickness,
        metal,
    )


def softer(build: Build, made: Joint, state: heat.ThermalState) -> Any:
    """Stretch and squeeze that one fastener's force gains as the moduli fall with heat (m/N).

    1/kb (1/eb - 1) + 1/km (1/em - 1), e the shares left of the moduli; head and block count with
    their length over modulus.
    """
    f, materials = build.fasteners, tables.load("materials")
    layers = ((build.head.material, f.grip_head, state.head),
              (build.block.material, f.grip_block, state.block))  # fmt: skip
    give = [length / materials[name]["modulus"] for name, length, _ in layers]
    more = [1.0 / hot_metal.left.si(name, t).modulus - 1.0 for name, _, t in layers]
    members = sum(g * m for g, m in zip(give, more, strict=True)) / sum(give)
    bolt = 1.0 / hot_metal.left.si(f.material, state.fastener).modulus - 1.0
    return bolt / made.bolt_stiffness + members / made.member_stiffness


def warm_side(build: Build, made: Joint, clamp: Clamp, peak: Any) -> Warm:
    """The joint in the states of the engine that may be the worst, at both ends of the preload.

    In one heat cycle the gasket is pressed as hard as the tightest state presses it and the
    fasteners stretch as the worst one stretches them; all other states follow. At the high end
    stand the strongest fasteners, but those that stretch most for good are the weakest.
    """
    high, shown, still = clamp.high, build.heat.hot_state, kept_still(build, made, clamp)
    first, shares = still.first, still.shares
    names = tuple(dict.fromkeys((*still.worst, shown)))
    ends = [(still.at_high[n], shares[n][1], still.bows[n]) for n in names]
    (rows,) = np.broadcast_shapes(
        high.preload.shape, np.shape(peak), *(np.shape(x) for end in ends for x in end)
    )
    # all states side by side, as builds of one array
    turn = np.tile(np.broadcast_to(np.arange(len(high.preload)), rows), len(names))
    advance, left, bow = (
        np.concatenate([np.full(rows, x) for x in each]) for each in zip(*ends, strict=True)
    )
    strong, gas = clamp.strong.of(turn), np.tile(np.full(rows, peak), len(names))
    warmed, crept, heated = still.kept if rows == 1 and still.kept else (None, None, None)
    every = heat.heated.si(strong, high.of(turn), advance, gas, left, warmed, bow)
    if still.creep and (crept is None or every.hot is not warmed):
        crept = strong.relaxed(every.hot, {k: c.of(turn) for k, c in still.creep.items()})
    of = {name: slice(i * rows, (i + 1) * rows) for i, name in enumerate(names)}
    if heated is None or every.hot is not warmed:
        heated = still.least
        cold_ones = {WORKSHOP: WORKSHOP, COLD_SOAK: COLD_START}
        for name in still.worst:
            when = (COLD, cold_ones[name]) if name in cold_ones else (HOT, name)
            stand = high if name == WORKSHOP else every.hot.of(of[name])
            later = None if crept is None else crept.of(of[name])
            heated += (Heated(*when, None, stand, later, *shares[name]),)
    if rows == 1 and not np.any(every.plastic_stretch):
        still.kept[:] = every.hot, crept, heated
    force = {name: every.hot_bolt_force[of[name]] for name in names if name != WORKSHOP}
    weak = _weak_stretch(made, clamp.weak_high, force, still, peak)
    most = max(weak, key=lambda n: float(np.max(weak[n])))
    stretch = functools.reduce(np.maximum, (every.plastic_stretch[of[name]] for name in force))
    stretched = functools.reduce(np.maximum, weak.values())
    return Warm(
        state=hot_state(build),
        differential_expansion=still.expansion[shown],
        still=still,
        low=replace(first, worked=still.stands(shown)),
        high=replace(every.of(of[shown]), plastic_stretch=stretch),
        heated=heated,
        weak_stretch=stretched,
        stretched_when=most if np.any(stretched > 0) else "",
    )


@dataclass(frozen=True)
class Still:
    """What no gas changes of the warm states.

    By state: differential `expansion` (m), what it advances the nut by at the low and the high end
    (m), and how far the head bows at the seal (m).
    `first` is the heat cycle at the low end, `stands` how that end stands in a state, `least` where
    it holds least and `slack` where the liquids may, `tightest` the hot one with the highest clamp;
    `worst` are the states that none outdoes at the high end; `creep` is that of the zones, `kept`
    how the high end of one build stands in all of them before and after it, and all in which a
    limit may be at its worst.
    """

    expansion: dict[str, Any]
    at_low: dict[str, Any]
    at_high: dict[str, Any]
    bows: dict[str, Any]
    shares: dict[str, Shares]
    first: heat.HeatCycle
    stands: Callable[[str], Assembly]
    slack: tuple[Assembly, ...]
    least: tuple[Heated, ...]
    tightest: str
    worst: tuple[str, ...]
    creep: dict[str, Creep]
    kept: list[Any]


def kept_still(build: Build, made: Joint, clamp: Clamp) -> Still:
    """`_still`, kept with its clamp as long as the heat is the same."""
    try:
        found = clamp.warmed.get(build.heat)
    except TypeError:  # arrays cannot be looked up
        return _still(build, made, clamp)
    if found is None:
        clamp.warmed.clear()
        found = clamp.warmed[build.heat] = _still(build, made, clamp)
    return found


def _still(build: Build, made: Joint, clamp: Clamp) -> Still:
    low, high = clamp.low, clamp.high
    stack, states = stack_of(build), tuple(hot_state(build, name) for name in HOT_STATES)
    soak = heat.temperatures.si(COLD_SOAK, build.heat.cold_soak)
    gas = build.heat.cold_start_gas
    every = (*states, soak)
    u = {s.name: per_build(stack.differential_expansion(s)) for s in every}
    give = {s.name: softer(build, made, s) for s in every}
    bows = {s.name: bow_at_seal(build, s.name) for s in states} | {COLD_SOAK: 0.0, WORKSHOP: 0.0}
    shares = {s.name: _shares(build, s, gas if s is soak else 1.0) for s in every}

    # taken at the force of the tightened fastener
    def advances(end: Assembly) -> dict[str, Any]:
        force = per_build(end.preload)
        return {name: per_build(u[name] - force * give[name]) for name in u}

    at_low, at_high = advances(low), advances(high)
    first = _hottest(made, low, at_low, shares, bows)
    start = made.advance_of(low) - first.plastic_stretch

    @functools.cache
    def stands(name: str) -> Assembly:
        return made.moved(first.worked, start + at_low[name], bows[name])

    # the bow presses the seal and lifts the head off the rest
    loose, slack = (
        _not_outdone({s.name: (-at_low[s.name], sign * bows[s.name]) for s in states})
        for sign in (-1.0, 1.0)
    )
    least = [Heated(HOT, name, stands(name), None) for name in dict.fromkeys((*loose, *slack))]
    if np.any(at_low[COLD_SOAK] < 0):
        least.append(Heated(COLD, COLD_START, stands(COLD_SOAK), None, gas=gas))
    at_high[WORKSHOP], shares[WORKSHOP] = 0.0, _WHOLE
    weaker = {n: [-np.asarray(x) for x in left] for n, (_, *left, _) in shares.items()}
    worst = _not_outdone({n: (at_high[n], bows[n], shares[n][0], *weaker[n]) for n in at_high})

    return Still(
        expansion=u,
        at_low=at_low,
        at_high=at_high,
        bows=bows,
        shares=shares,
        first=first,
        stands=stands,
        slack=tuple(stands(name) for name in slack),
        least=tuple(least),
        tightest=HOT_STATES[_usual_least([-at_low[s.name] for s in states])],
        worst=worst,
        creep=zone_creep(build, made.gasket),
        kept=[],
    )


def _shares(build: Build, state: heat.ThermalState, gas: float) -> Shares:
    """Left: yield of the fasteners, tensile strength in the block, yield in the head; status."""
    bolt = hot_metal.left.si(build.fasteners.material, state.fastener)
    block = hot_metal.left.si(build.block.material, state.block)
    head = hot_metal.left.si(build.head.material, state.head)
    trust = tables.weakest(state.status, bolt.status, block.status, head.status)
    return gas, bolt.yield_strength, block.tensile, head.yield_strength, trust


def _weak_stretch(
    made: Joint, preload: Any, forces: dict[str, Any], still: Still, peak: Any
) -> dict[str, Any]:
    """By state, what the weakest fasteners at this preload stretch for good by heat and gas (m).

    `forces` are those of the strongest, which pull at least as hard.
    """
    out: dict[str, Any] = {}
    for name, force in forces.items():
        share = still.shares[name][1]
        if not np.any(force > made.yield_force * share):
            out[name] = np.zeros_like(force)
            continue
        ends = (made, made.assemble(preload), still.at_high[name])
        how = {"gas_pressure": peak, "hot_yield": share, "bow": still.bows[name]}
        out[name] = heat.after_heat.si(*ends, **how).plastic_stretch
    return out


def _hottest(
    made: Joint,
    end: Assembly,
    advances: dict[str, Any],
    shares: dict[str, Shares],
    bows: dict[str, Any],
) -> heat.HeatCycle:
    """The heat cycle through the tightest state; the fasteners yield as in the worst one."""
    tightest = np.maximum(functools.reduce(np.maximum, (advances[n] for n in HOT_STATES)), 0.0)
    bow = functools.reduce(np.maximum, bows.values())
    weak = {name: shares[name][1] for name in HOT_STATES}
    least = functools.reduce(np.minimum, weak.values())
    worst = heat.after_heat.si(made, end, tightest, hot_yield=least, bow=bow)
    if not np.any(worst.plastic_stretch > 0):
        return worst
    # something may yield: each state with its own strength, the largest stretch in each build
    each = [
        heat.after_heat.si(made, end, advances[n], hot_yield=weak[n], bow=bows[n])
        for n in HOT_STATES
    ]
    most = functools.reduce(np.maximum, (c.plastic_stretch for c in each))
    start = made.advance_of(worst.before) - most
    worked = made.moved(worst.before, start + tightest, bow)
    return replace(worst, worked=worked, cold=made.moved(worked, start), plastic_stretch=most)


def _usual_least(values: list[Any]) -> int:
    """Which of several values is the least in most builds."""
    place = np.argmin(np.stack(np.broadcast_arrays(*values)), axis=0)
    return int(np.bincount(np.ravel(place), minlength=len(values)).argmax())


def _not_outdone(each: dict[str, tuple[Any, ...]]) -> tuple[str, ...]:
    """States that no other one outdoes in every respect alike, in every build.

    The most is the worst of each respect, and what is worst of the first comes first.
    """
    kept: list[str] = []
    for name in sorted(each, key=lambda n: -float(np.max(each[n][0]))):
        here = each[name]
        if not any(
            all(np.all(x >= y) for x, y in zip(each[other], here, strict=True)) for other in kept
        ):
            kept.append(name)
    return tuple(kept)
