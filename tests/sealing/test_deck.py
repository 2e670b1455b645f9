"""The deck map: balance, symmetry, mesh, the stiff-head limit, history, steps, liquids."""

from __future__ import annotations

import functools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit.errors import InputError
from sealkit.sealing import constructions, deck, liquids
from sealkit.sealing.deck import layout, model, patterns
from sealkit.sealing.deck.layout import Hole, Layout, Step
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.joint import (
    Joint,
    bending_by_line_load,
    bending_by_pressure,
    plate_stiffness,
)
from sealkit.units import Q, quantify
from tests.sealing.faces import gasket_area
from tests.sealing.forces import balance, contact_force, gas_force

SEAL = 0.0895
HEAD: dict[str, Any] = {"thickness": 0.04, "modulus": 72.4e9, "poisson": 0.33}
BOLT: dict[str, Any] = {
    "bolt_stiffness": 180e6,
    "member_stiffness": 900e6,
    "yield_force": 97e3,
}
BAR = 1e5
BALANCED = 1e-7  # of all forces: what the solver leaves at single unknowns may add up to this


def four(holes: bool = True, **changes: Any) -> Layout:
    """Four bores, ten bolts, coolant holes; the same from all sides."""
    more = {"coolant_diameter": 0.010} if holes else {}
    return patterns.pattern.si(4, 0.096, 0.086, 0.013, 0.096, 0.018, 0.018, **(more | changes))


@functools.cache
def four_map(construction: str = "multi-layer steel", mesh: float = 8e-3) -> deck.DeckMap:
    gasket = constructions.make(construction)
    return deck.DeckMap(four(), gasket, SEAL, **HEAD, **BOLT, mesh=mesh)


@functools.cache
def assembled(construction: str = "multi-layer steel", mesh: float = 8e-3) -> deck.State:
    return four_map(construction, mesh).assemble(50e3, 45e3)


@functools.cache
def fired(
    construction: str = "multi-layer steel", mesh: float = 8e-3, bar: float = 100.0
) -> tuple[deck.State, ...]:
    return four_map(construction, mesh).firing(assembled(construction, mesh), bar * BAR)


def joint_of(made: deck.DeckMap) -> Joint:
    """The joint of one bore with the same gasket, bolts and a rigid head."""
    lay = made.layout
    gasket = made.gasket.sized(np.pi * made.seal_diameter, made.body_area, made.liquid_length)
    bolts = len(lay.bolts) / len(lay.bores)
    more = {"load_introduction": made.load_introduction}
    return Joint(gasket, bolts, 180e6, 900e6, made.yield_force, made.seal_diameter, **more)


# --------------------------------------------------------------------------- history
@pytest.mark.parametrize("name", constructions.names())
def test_points_follow_the_paths_of_their_zone(name: str) -> None:
    """Load at a point, worked out from one way back each, against the zone's own paths."""
    rng = np.random.default_rng(5)
    plate = four_map().plate
    for zone in constructions.make(name).zones:
        top = rng.uniform(0.0, 1.3 * zone.closure[-1], 600)
        top[:200] = rng.uniform(0.0, 2.0 * zone.closure[1], 200)
        closure = top * np.concatenate([rng.uniform(-0.2, 1.3, 300), rng.uniform(0.9, 1.02, 300)])
        patch = plate.patch(np.tile([[0.1, 0.0]], (600, 1)))
        law = model.Contact(zone, patch, np.zeros(600)).history(top)
        load, slope = law(closure)
        want = zone.carried(closure, top)
        assert np.allclose(load, want, rtol=1e-9, atol=1e-9 * zone.load[-1])
        assert np.all(slope >= 0.0)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.05, 1.3), st.floats(0.0, 1.0))
def test_slope_of_a_law_is_that_of_its_load(top: float, share: float) -> None:
    zone = constructions.make("fibre composite").zones[0]
    patch = four_map().plate.patch([[0.1, 0.0]])
    reached = np.array([top * zone.closure[-1]])
    law = model.Contact(zone, patch, np.zeros(1)).history(reached)
    c, h = share * reached, 1e-9 * zone.closure[-1]
    up, down = law(c + h)[0][0], law(c - h)[0][0]
    slopes = [law(c + x)[1][0] for x in (-2 * h, 2 * h)]
    assert min(slopes) * (1 - 1e-3) - 1.0 <= (up - down) / (2 * h)
    assert (up - down) / (2 * h) <= max(slopes) * (1 + 1e-3) + 1e-6 * zone.load[-1] / h


def test_losses_come_off_the_unloading_path() -> None:
    """After 50 kN let down to 45 kN the gasket carries less than after 45 kN, more set."""
    full = four_map().assemble(50e3)
    low, once = assembled(), four_map().assemble(45e3)
    for state, force in ((full, 50e3), (low, 45e3), (once, 45e3)):
        assert contact_force(state) == pytest.approx(10 * force, rel=BALANCED)
    assert all(np.allclose(a, b) for a, b in zip(low.tops, full.tops, strict=True))
    assert np.max(low.tops[1]) > np.max(once.tops[1])


def test_pressure_put_on_and_taken_off_leaves_the_assembly() -> None:
    """All on the way back: without gas everything is where it was."""
    made, start = four_map(), assembled()
    up = made.under_gas(start, 60 * BAR)
    back = made.under_gas(replace(up, tops=start.tops), 0.0)
    assert np.allclose(back.line_load(0)[1], start.line_load(0)[1], rtol=1e-6)
    assert np.allclose(back.bolt_force, 45e3, rtol=1e-6)


def test_gas_presses_some_places_further_than_assembly_and_they_keep_it() -> None:
    state = fired()[0]
    more = [np.max(t - t0) for t, t0 in zip(state.tops, assembled().tops, strict=True)]
    assert max(more) > 0.0 and min(more) > -1e-12
    after = four_map().under_gas(state, 0.0)
    assert not np.allclose(after.contact_pressure, assembled().contact_pressure, rtol=1e-6)
    assert balance(after)[0] == pytest.approx(0.0, abs=BALANCED * 450e3)


# --------------------------------------------------------------------------- balance
@pytest.mark.parametrize("name", constructions.names())
def test_forces_and_moments_balance(name: str) -> None:
    states = (assembled(name), *fired(name))
    for state in states:
        total = float(np.sum(state.bolt_force))
        force, about_x, about_y = balance(state)
        assert abs(force) <= BALANCED * total
        assert abs(about_x) <= BALANCED * total * 0.1 and abs(about_y) <= BALANCED * total * 0.4
        sum_of = contact_force(state) + gas_force(state)
        assert sum_of == pytest.approx(total, rel=BALANCED)
    assert gas_force(fired(name)[0]) == pytest.approx(100 * BAR * np.pi / 4 * SEAL**2)


def test_no_place_pulls() -> None:
    for state in (assembled(), *fired()):
        assert np.all(state.contact_pressure >= 0.0)
        assert all(np.all(state.line_load(b)[1] >= 0.0) for b in range(4))


# --------------------------------------------------------------------------- symmetry
def test_symmetric_deck_gives_a_symmetric_map() -> None:
    """Turned front to rear and side to side, without gas and with all cylinders alike."""
    for state in (assembled(), four_map().under_gas(assembled(), 80 * BAR)):
        for bore in range(4):
            load = state.line_load(bore)[1]
            across = load[-np.arange(96) % 96]
            along = state.line_load(3 - bore)[1][(48 - np.arange(96)) % 96]
            assert np.allclose(load, across, rtol=1e-6)
            assert np.allclose(load, along, rtol=1e-6)
        assert np.allclose(state.bolt_force, np.asarray(state.bolt_force)[[4, 3, 2, 1, 0] * 2])


def test_the_first_cylinder_and_the_last_are_mirrors() -> None:
    first, last = fired()[0], fired()[3]
    turned = first.line_load(0)[1][(48 - np.arange(96)) % 96]
    assert np.allclose(last.line_load(3)[1], turned, rtol=1e-6)
    assert first.weakest().margin == pytest.approx(last.weakest().margin, rel=1e-5)
    assert deck.weakest(fired()).margin == min(s.weakest().margin for s in fired())


# --------------------------------------------------------------------------- mesh
@pytest.mark.parametrize("name", ["multi-layer steel", "fibre body with steel ring"])
def test_a_finer_mesh_moves_the_least_line_load_little(name: str) -> None:
    """From 8 mm to 4 mm by less than 5 % is wanted, also where the gas has left an eighth of it."""
    least = []
    for mesh in (8e-3, 4e-3):
        state = fired(name, mesh)[1]
        least.append([float(np.min(s.line_load(1)[1])) for s in (assembled(name, mesh), state)])
    change = np.abs(np.array(least[1]) / np.array(least[0]) - 1.0)
    assert np.all(change < 0.05), change
    assert change[0] < 0.005, change


def test_extents_are_those_of_the_deck() -> None:
    made = four_map()
    opening = SEAL + made.gasket.seals[0].width
    for mesh in (8e-3, 4e-3):
        area = 4 * four_map(mesh=mesh).body_area
        assert area == pytest.approx(gasket_area(four(), opening), rel=0.005)
    assert 4 * made.liquid_length == pytest.approx(len(four().holes) * np.pi * 0.014)


# --------------------------------------------------------------------------- stiff head
@pytest.mark.parametrize("share", [1.0, 0.2])
@pytest.mark.parametrize("name", constructions.names())
def test_a_stiff_head_is_the_average_joint(name: str, share: float) -> None:
    """Within 1 % of the joint of one bore, as assembled and with gas in all cylinders."""
    made = four_map(name).vary(modulus=72.4e9 * 1e6, load_introduction=share)
    low = made.assemble(50e3, 45e3)
    gas = made.under_gas(low, 70 * BAR)
    joint = joint_of(made)
    first = joint.assemble(50e3, 45e3)
    second = joint.under_gas(first, 70 * BAR)
    for bore in range(4):
        assert low.line_load(bore)[1] == pytest.approx(float(first.seal_load[0]), rel=0.01)
        assert gas.line_load(bore)[1] == pytest.approx(float(second.seal_load), rel=0.01)
        assert gas.seal_lift(bore)[1] == pytest.approx(float(second.seal_lift), rel=0.01)
    assert np.mean(gas.bolt_force) == pytest.approx(float(second.bolt_force), rel=0.01)
    body = [z.name for z in made.gasket.zones if z.role == "body"]
    if body:
        assert gas.mean_pressure == pytest.approx(float(second.zone_loads[body[0]]), rel=0.01)


def test_gas_on_the_fire_deck_leaves_less_on_the_seal() -> None:
    """On a head that bends, as in the average joint."""
    loads, tensions = [], []
    for share in (1.0, 0.5, 0.0):
        made = four_map().vary(load_introduction=share)
        state = made.under_gas(made.assemble(50e3, 45e3), [0.0, 100 * BAR, 0.0, 0.0])
        loads.append(np.min(state.line_load(1)[1]))
        tensions.append(np.max(state.bolt_force))
    assert loads[0] > loads[1] > loads[2]
    assert tensions[0] > tensions[1] > tensions[2] > 45e3


def test_a_softer_head_seals_worse_between_the_bolts() -> None:
    margins = []
    for thickness in (0.06, 0.04, 0.02):
        made = four_map().vary(thickness=thickness)
        state = made.under_gas(made.assemble(50e3, 45e3), [0.0, 100 * BAR, 0.0, 0.0])
        margins.append(state.weakest().margin)
    assert margins[0] > margins[1] > margins[2]


def test_the_mean_of_the_map_is_near_the_average_joint() -> None:
    """Both models of the head, this one and a plate on a bolt circle, lift by the same order.

    The plate on its circle is free to turn there, the head goes on beyond: it lifts less, as long
    as it only bends, as the plate on its circle does. With shear it lifts more.
    """
    plate = plate_stiffness.si(HEAD["modulus"], HEAD["thickness"], HEAD["poisson"])
    circle = (SEAL / 2, layout.bolt_circle(four(), 1) / 2, plate, HEAD["poisson"])
    joint = replace(
        joint_of(four_map()),
        bend_pressure=float(bending_by_pressure.si(1.0, *circle)),
        bend_load=float(bending_by_line_load.si(1.0, *circle)),
    )
    average = float(joint.under_gas(joint.assemble(50e3, 45e3), 100 * BAR).seal_lift)
    thin = deck.DeckMap(four(), four_map().gasket, SEAL, **HEAD, **BOLT, shear=np.inf)
    bent = thin.under_gas(thin.assemble(50e3, 45e3), [0.0, 100 * BAR, 0.0, 0.0])
    ours = float(np.mean(bent.seal_lift(1)[1]))
    assert average / 3.0 < ours < average
    assert ours < float(np.mean(fired()[1].seal_lift(1)[1])) < 3.0 * average


# --------------------------------------------------------------------------- bolts
def test_the_bolts_round_the_firing_bore_take_its_gas() -> None:
    gain = np.asarray(fired()[0].bolt_force) - 45e3
    here = layout.around_bore(four(), 0).bolts
    others = np.setdiff1d(np.arange(10), here)
    assert np.all(gain[here] > 10 * np.max(np.abs(gain[others])))


def test_a_bolt_pulls_no_harder_than_it_yields() -> None:
    made = four_map().vary(yield_force=46.5e3)
    state = made.under_gas(made.assemble(45e3), [120 * BAR, 0.0, 0.0, 0.0])
    force = np.asarray(state.bolt_force)
    elastic = four_map().under_gas(four_map().assemble(45e3), [120 * BAR, 0.0, 0.0, 0.0])
    assert np.max(force) <= 46.5e3 and np.max(elastic.bolt_force) > 46.5e3
    assert np.isclose(np.max(force), 46.5e3)
    assert abs(balance(state)[0]) < BALANCED * force.sum()
    assert state.weakest().margin < elastic.weakest().margin


def test_one_slack_bolt_shows_beside_it() -> None:
    force = np.full(10, 45e3)
    force[0] = 20e3
    state = four_map().assemble(force)
    assert contact_force(state) == pytest.approx(force.sum(), rel=BALANCED)
    near = np.hypot(*(four_map().points - four().bolts[0]).T) < 0.015
    ratio = state.contact_pressure[near].mean() / assembled().contact_pressure[near].mean()
    assert ratio < 0.7


# --------------------------------------------------------------------------- thickness
def test_the_same_everywhere_changes_nothing() -> None:
    made = four_map().vary(steps=[Step(0.144, 0.0, 30e-6, size=(1.0, 1.0))])
    assert made.assemble(50e3, 45e3).line_load(1)[1] == pytest.approx(
        assembled().line_load(1)[1], rel=1e-6
    )


@pytest.mark.parametrize(
    ("name", "step"), [("copper sheet", 1e-6), ("fibre body with steel ring", 10e-6)]
)
def test_missing_and_thicker_coat(name: str, step: float) -> None:
    """A coat missing on one side of a bore unloads the seal there, a thicker one loads it."""
    at = (0.096 + 0.5 * SEAL, 0.0)
    plain = assembled(name).line_load(1)[1][0]
    loads = []
    for extra in (-step, step):
        made = four_map(name).vary(steps=[Step(*at, extra, diameter=0.02)])
        loads.append(made.assemble(50e3, 45e3).line_load(1)[1])
        assert loads[-1][48] == pytest.approx(assembled(name).line_load(1)[1][48], rel=0.05)
    assert loads[0][0] < plain < loads[1][0]
    assert np.argmin(loads[0]) in (*range(13), *range(84, 96))


def test_a_hollow_head_bears_at_its_ends() -> None:
    made = four_map("copper sheet").vary(warp=(60e-6, 0.0))
    state = made.assemble(50e3)
    flat = four_map("copper sheet").assemble(50e3)
    x = made.points[:, 0]
    change = state.contact_pressure - flat.contact_pressure
    assert np.mean(change[np.abs(x - 0.144) < 0.05]) < 0.0
    assert np.mean(change[(x < -0.05) | (x > 0.338)]) > 0.0
    assert np.mean(state.line_load(1)[1]) < np.mean(flat.line_load(1)[1])
    assert contact_force(state) == pytest.approx(500e3, rel=BALANCED)


# --------------------------------------------------------------------------- bowed by heat
EXPANSION, GRADIENT = 21.5e-6, 40.0  # 1/K, K


def hot_map(made: deck.DeckMap, gradient: float = GRADIENT) -> deck.DeckMap:
    """The same deck, its fire side hotter than the top by `gradient`."""
    warp = layout.thermal_bow.si(made.layout, EXPANSION, gradient, made.thickness)
    return made.vary(warp=warp)


def test_a_free_plate_bows_as_the_book_says() -> None:
    """alpha dT r**2 / (2 h) from the middle (Timoshenko & Woinowsky-Krieger, art. 14)."""
    face, h = four(), 0.04
    x0, x1, y0, y1 = face.extent
    bow = layout.thermal_bow(face, Q(21.5e-6, "1/K"), "40 K", "40 mm").to("m").magnitude
    for x, y in ((x0, 0.5 * (y0 + y1)), (x1, y1), (0.1, 0.02)):
        r2 = (x - 0.5 * (x0 + x1)) ** 2 + (y - 0.5 * (y0 + y1)) ** 2
        gap = float(layout.bow(face, [x, y], *bow))
        assert gap == pytest.approx(21.5e-6 * 40.0 * r2 / (2.0 * h), rel=1e-9)


def test_a_stiff_hot_head_keeps_its_bow() -> None:
    """A head too stiff to be bent back closes the gasket by its free shape, tilt apart."""
    stiff = four_map("fibre composite").vary(modulus=72.4e9 * 1e5)
    flat, bowed = stiff.assemble(50e3), hot_map(stiff).assemble(50e3)
    i = next(i for i, c in enumerate(stiff.contacts) if c.zone.role == "body")
    more = [s.deck.contacts[i].closure(s.unknowns) for s in (flat, bowed)]
    x, y = stiff.points.T
    x0, x1, y0, y1 = stiff.layout.extent
    r2 = (x - 0.5 * (x0 + x1)) ** 2 + (y - 0.5 * (y0 + y1)) ** 2
    free = -EXPANSION * GRADIENT * r2 / (2.0 * 0.04)
    rest = more[1] - more[0] - free
    plane = np.column_stack([np.ones_like(x), x, y])
    off = rest - plane @ np.linalg.lstsq(plane, rest, rcond=None)[0]
    assert np.max(np.abs(off)) < 1e-3 * np.ptp(free)


@pytest.mark.parametrize("name", ["fibre composite", "multi-layer steel"])
def test_a_hot_head_opens_at_its_rim(name: str) -> None:
    """The hotter fire side is the longer, so the convex one: the rim rises off the gasket.

    Gasket and bolts bend the rest flat again. Bolts at the same preload carry the same force, so
    that what the rim loses is gained inside it, where the bores are. A head twice as hot moves it
    further, one hotter on top the other way.
    """
    made = four_map(name)
    flat = made.assemble(50e3)
    x0, x1, y0, y1 = made.layout.extent
    x, y = made.points.T
    in_from = np.min([x - x0, x1 - x, y - y0, y1 - y], axis=0)
    rim, inside = in_from < 0.006, in_from > 0.045
    moved = []
    for gradient in (-GRADIENT, GRADIENT, 2.0 * GRADIENT):
        state = hot_map(made, gradient).assemble(50e3)
        assert contact_force(state) == pytest.approx(contact_force(flat), rel=BALANCED)
        change = state.contact_pressure - flat.contact_pressure
        seals = np.mean([state.line_load(i)[1] - flat.line_load(i)[1] for i in range(4)])
        moved.append((np.mean(change[rim]), np.mean(change[inside]), seals))
    top, fire, twice = np.array(moved)
    assert top[0] > 0.0 > fire[0] > twice[0]
    # where the body lies open inside the rim it has nothing to lose
    assert top[1] <= 0.0 > top[2] and np.all(fire[1:] > 0.0) and np.all(twice[1:] > fire[1:])


def _pair(u: Any) -> tuple[Any, Any]:
    return np.cosh(u) * np.cos(u), np.sinh(u) * np.sin(u)


def test_the_rim_rises_as_a_strip_on_a_foundation_does() -> None:
    """What heat changes on an even elastic bed, against a closed solution from no program.

    D w'''' + k w = 0 with w'' = -kappa and w''' = 0 at the free ends, half a length from the
    middle: w = A cosh u cos u + B sinh u sin u with u = b x and b**4 = k/(4 D). With nu = 0 the
    two directions do not feel each other and their changes add. A small bore in the middle, where
    nothing moves, and four small bolts, whose pull is the same, drop out.
    """
    side, h, modulus, kappa, b = 0.30, 0.010, 72e9, 4e-5, 15.0
    k = 4.0 * modulus * h**3 / 12.0 * b**4
    reach = np.array([0.0, 1e-3])
    zones = (
        Zone("thread", "seal", "length", reach, np.array([0.0, 1.0]), width=1e-3),
        Zone("bed", "body", "area", reach, k * reach),
    )
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    face = Layout(0.5 * side * corners, np.zeros((1, 2)), 0.006, 0.08 * corners, 0.003)
    head: dict[str, Any] = {"thickness": h, "modulus": modulus, "poisson": 0.0, "shear": np.inf}
    flat = deck.DeckMap(face, Gasket("bed", zones), 0.007, **head, **BOLT, mesh=7.5e-3)
    warp = layout.thermal_bow.si(face, 20e-6, kappa * h / 20e-6, h)
    load = [m.assemble(40e3).contact_pressure for m in (flat, flat.vary(warp=warp))]
    bed = flat.share > 0.0
    assert np.min(np.array(load)[:, bed]) > 0.0  # nowhere open
    u = 0.5 * b * side
    (cc, ss), sc, cs = _pair(u), np.sinh(u) * np.cos(u), np.cosh(u) * np.sin(u)
    ends = 2.0 * np.array([[-ss, cc], [-(cs + sc), sc - cs]])
    first, second = np.linalg.solve(ends, [-kappa / b**2, 0.0])
    pairs = [_pair(b * at) for at in flat.points.T]
    want = sum(first * cc + second * ss for cc, ss in pairs)
    got = (load[1] - load[0]) / k
    assert np.max(np.abs(got - want)[bed]) < 0.02 * np.max(np.abs(want))


def test_cold_assembled_then_hot_keeps_its_history() -> None:
    """A deck heated after assembly lies on the gasket as the cold head has pressed it.

    Cold again, the seals that the heat has pressed further come back on a lower path.
    """
    cold = four_map().assemble(50e3)
    hot = hot_map(four_map()).at_preload(cold, 50e3)
    again = four_map().at_preload(hot, 50e3)
    for now, was in zip(hot.tops, cold.tops, strict=True):
        assert np.all(now >= was)
    for bore in range(4):
        before, then, after = (np.mean(s.line_load(bore)[1]) for s in (cold, hot, again))
        assert after < before < then
    assert contact_force(again) == pytest.approx(contact_force(cold), rel=BALANCED)


def test_a_thin_head_lifts_off() -> None:
    made = four_map("copper sheet").vary(thickness=0.012)
    low = made.assemble(20e3)
    state = made.under_gas(low, [0.0, 70 * BAR, 0.0, 0.0])
    assert np.max(state.lift) > 20e-6
    assert np.sum(state.contact_pressure == 0.0) > np.sum(low.contact_pressure == 0.0)
    assert np.max(assembled("copper sheet").lift) == 0.0


# --------------------------------------------------------------------------- from the last state
def test_from_the_last_state_is_the_same_as_from_scratch() -> None:
    last, states = assembled(), fired()
    made = four_map().vary(thickness=0.035, steps=[Step(0.05, 0.0, -5e-6, size=(0.02, 0.02))])
    warm = made.assemble(52e3, 47e3, start=last)
    each = 110 * BAR * np.eye(4)
    hot = [made.under_gas(warm, p, start=s) for p, s in zip(each, states, strict=True)]
    gasket = constructions.make("multi-layer steel")
    anew = deck.DeckMap(
        four(), gasket, SEAL, **(HEAD | {"thickness": 0.035}), **BOLT, steps=made.steps
    )
    cold = anew.assemble(52e3, 47e3)
    again = anew.firing(cold, 110 * BAR)
    for a, b in zip((warm, *hot), (cold, *again), strict=True):
        assert np.allclose(a.line_load(0)[1], b.line_load(0)[1], rtol=1e-6)
        assert np.allclose(a.contact_pressure, b.contact_pressure, atol=1e-4 * 1e6)
    off = np.abs(anew.plate.matrix.data - made.plate.matrix.data)
    assert np.max(off) < 1e-12 * np.max(made.plate.matrix.data)


def test_another_gasket_on_the_same_deck() -> None:
    copper = four_map().vary(gasket=constructions.make("copper sheet"))
    want = assembled("copper sheet").line_load(2)[1]
    ours = copper.assemble(50e3, 45e3, start=assembled()).line_load(2)[1]
    assert ours == pytest.approx(want, rel=1e-6)
    assert copper.body_area == four_map("copper sheet").body_area
    with pytest.raises(InputError):
        four_map().vary(gasket=Gasket("none", ()))


def test_a_load_reaches_further_along_a_thicker_head() -> None:
    made = four_map()
    body = next(z for z in made.gasket.zones if z.role == "body")
    k = body.load[1] / body.closure[1]
    assert made.reach(0.5 * body.load[1]) == pytest.approx((made.plate.stiffness / k) ** 0.25)
    thick = made.vary(thickness=0.08)
    assert thick.reach(1e7) == pytest.approx(made.reach(1e7) * 2**0.75)
    seal = made.gasket.sized(1.0, 0.0)
    assert made.vary(gasket=seal).reach(1e7) == np.inf


def test_steps_from_the_last_state_are_few() -> None:
    near = four_map().assemble(50.5e3, start=four_map().assemble(50e3))
    far = four_map().assemble(50.5e3)
    assert near.newton_steps < far.newton_steps <= 15


# --------------------------------------------------------------------------- margins
def test_margin_is_that_of_the_zone() -> None:
    state = fired()[2]
    zone = four_map().gasket.seals[0]
    limit = state.residual(2)
    load = state.line_load(2)[1]
    assert limit.margin == pytest.approx(load / zone.required(100 * BAR) - 1.0)
    found = state.weakest()
    assert found.bore == 2 and found.load == pytest.approx(load.min())
    assert (found.limit.key, found.limit.part) == ("residual", zone.name)
    # a place and its mirror image have the same load but for rounding
    there = load[np.isclose(state.angle, found.angle)]
    assert there == pytest.approx([load.min()], rel=1e-9)
    cold = assembled().weakest()
    assert cold.limit.demand == zone.seating and cold.limit.check == "seating"


def test_springback_left_is_that_of_the_zone() -> None:
    low, state = assembled(), fired()[1]
    zone = four_map().gasket.seals[0]
    limit = state.springback(1)
    top, closure = state.tops[0][96:192], four_map().contacts[0].closure(low.unknowns)[96:192]
    assert limit.capacity == pytest.approx(closure - (top - zone.recovery(top)))
    assert limit.demand == pytest.approx(state.seal_lift(1)[1])
    found = state.worst("springback")
    assert found is not None and found.margin == pytest.approx(np.min(limit.margin))
    assert low.worst("springback") is None and low.worst("residual") is None
    # lift beyond the springback is a seal without load, and the other way round
    open_one = four_map("fibre body with steel ring").vary(thickness=0.02)
    far = open_one.under_gas(open_one.assemble(12e3), [0.0, 90 * BAR, 0.0, 0.0])
    gone = far.line_load(1)[1] <= 0.0
    assert np.any(gone) and np.array_equal(gone, np.asarray(far.springback(1).margin) <= 0.0)
    with pytest.raises(InputError):
        state.worst("torque")


def test_highest_load_of_a_zone() -> None:
    state = assembled()
    assert state.highest("combustion bead") == pytest.approx(
        max(np.max(state.seating(b).capacity) for b in range(4))
    )
    assert state.highest("flat layers") > np.max(state.contact_pressure)
    with pytest.raises(InputError):
        state.highest("wire")


def test_stopper_and_bead_are_told_apart() -> None:
    state = fired("multi-layer steel with stopper")[0]
    names = [z.name for z in state.deck.gasket.seals]
    assert len(names) == 2
    parts = sum(state.line_load(0, n)[1] for n in names)
    assert np.allclose(parts, state.line_load(0)[1])
    with pytest.raises(InputError):
        state.line_load(0, "wire")
    with pytest.raises(InputError):
        state.line_load(4)


def test_liquid_holes_of_a_stiff_head_are_those_of_the_average_joint() -> None:
    for name in ("multi-layer steel", "fibre composite"):
        made = four_map(name).vary(modulus=72.4e9 * 2000)
        joint = joint_of(made)
        first = joint.assemble(50e3, 45e3)
        want = liquids.liquid_criteria.si(joint, first, "coolant in the head")
        rows = made.assemble(50e3, 45e3).liquid({"coolant": 350e3})
        assert len(rows) == 2 * len(four().holes)
        for mine, theirs in zip(rows[:2], want, strict=True):
            assert mine.demand == pytest.approx(theirs.demand, rel=2e-3)
            assert mine.capacity == pytest.approx(theirs.capacity, rel=0.01)
            assert (mine.kind, mine.status) == (theirs.kind, theirs.status)
        assert made.assemble(50e3).liquid({"oil": 5e5}) == ()


def test_holes_far_from_bolts_have_less() -> None:
    """Bare copper seals a hole with its body: the share tells how even the deck is."""
    holes = assembled("copper sheet").holes()
    assert {h.kind for h in holes} == {"stress"}
    assert min(h.share for h in holes) < 0.9
    assert all(h.least <= h.mean for h in holes)
    with pytest.raises(InputError):
        assembled("copper sheet").liquid({"coolant": 1e5}, facing="chewing gum")


# --------------------------------------------------------------------------- orders
def test_four_bolts_pull_a_bore_into_the_fourth_order() -> None:
    """One bore in a square of four bolts: order 4 and no other below it."""
    square = patterns.pattern.si(1, 0.096, 0.086, 0.013, 0.096, 0.025, 0.025)
    made = deck.DeckMap(square, constructions.make("copper sheet"), SEAL, **HEAD, **BOLT)
    orders = made.assemble(60e3).orders(0)
    mean = 4 * 60e3 / (np.pi * 0.086)
    assert orders.bolts[0] == pytest.approx(mean)
    assert orders.bolts[4] == pytest.approx(2 * mean)
    assert orders.bolts[1:4] == pytest.approx(0.0, abs=1e-6 * mean)
    assert orders.contact[1:4] == pytest.approx(0.0, abs=1e-3 * mean)
    assert orders.contact[4] > 0.05 * orders.contact[0]
    assert np.cos(4 * (orders.contact_angle[4] - np.pi / 4)) == pytest.approx(1.0, abs=1e-3)


def test_a_five_bolt_bore_shows_a_fifth_order() -> None:
    turn = 2 * np.pi * np.arange(5) / 5
    bolts = 0.068 * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    box = np.array([[-0.09, -0.09], [0.09, -0.09], [0.09, 0.09], [-0.09, 0.09]])
    lay = Layout(box, np.zeros((1, 2)), 0.086, bolts, 0.013)
    made = deck.DeckMap(lay, constructions.make("copper sheet"), SEAL, **HEAD, **BOLT)
    orders = made.assemble(60e3).orders(0, up_to=6)
    assert np.argmax(orders.bolts[1:]) + 1 == 5
    assert quantify(orders).bolts[5].to("N/mm").magnitude == pytest.approx(orders.bolts[5] / 1e3)


# --------------------------------------------------------------------------- outline
def test_a_deck_face_with_cut_corners() -> None:
    """Cut corners take area away and leave the rest of the map nearly as it was."""
    cut = four(corner_cut=0.012)
    made = deck.DeckMap(cut, constructions.make("multi-layer steel"), SEAL, **HEAD, **BOLT)
    opening = SEAL + made.gasket.seals[0].width
    assert 4 * made.body_area == pytest.approx(gasket_area(cut, opening), rel=0.01)
    state = made.assemble(50e3, 45e3)
    assert abs(balance(state)[0]) < BALANCED * 450e3
    assert state.line_load(1)[1] == pytest.approx(assembled().line_load(1)[1], rel=0.02)


# --------------------------------------------------------------------------- the door
def test_units_at_the_door_of_the_map() -> None:
    made = deck.DeckMap(
        four(),
        constructions.make("multi-layer steel"),
        "3.5236 in",
        "40 mm",
        "72.4 GPa",
        0.33,
        "180 kN/mm",
        Q(900e6, "N/m"),
        yield_force="97 kN",
        body_share="100 %",
    )
    ours = made.assemble(50e3, 45e3)
    assert ours.line_load(0)[1] == pytest.approx(assembled().line_load(0)[1], rel=1e-3)
    shown = quantify(ours)
    assert shown.bolt_force[0].to("kN").magnitude == pytest.approx(45.0)
    assert quantify(ours.weakest()).angle.to("deg").magnitude < 360.0


def test_from_the_joint_of_one_bore() -> None:
    joint = replace(joint_of(four_map()), gasket=four_map().gasket.sized(0.281, 0.006, 0.35))
    same = deck.from_joint(joint, four(), **HEAD, shear=np.inf)
    assert same.body_area == pytest.approx(0.006) and same.liquid_length == pytest.approx(0.35)
    low = same.assemble(50e3, 45e3)
    # the head of the map bends between its bolts, that of this joint does not: a bead feels it
    rigid = float(joint.assemble(50e3, 45e3).seal_load[0])
    assert 0.9 * rigid < low.line_load(0)[1].mean() < rigid
    # one that shears as well is softer still
    soft = deck.from_joint(joint, four(), **HEAD).assemble(50e3, 45e3)
    assert 0.8 * rigid < soft.line_load(0)[1].mean() < low.line_load(0)[1].mean()


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"thickness": "2 kg"}, "thickness"),
        ({"poisson": 0.7}, "poisson"),
        ({"mesh": "0 mm"}, "mesh"),
        ({"bolt_stiffness": "3 N"}, "bolt_stiffness"),
        ({"gasket": Gasket("none", ())}, "gasket"),
    ],
)
def test_wrong_input_to_the_map(changes: dict[str, Any], field: str) -> None:
    good: dict[str, Any] = {
        "layout": four(),
        "gasket": constructions.make("copper sheet"),
        "seal_diameter": "89.5 mm",
        "thickness": "40 mm",
        "modulus": "72 GPa",
        "poisson": 0.33,
        "bolt_stiffness": "180 kN/mm",
        "member_stiffness": "900 kN/mm",
    }
    with pytest.raises(InputError) as err:
        deck.DeckMap(**(good | changes))
    assert [f.field for f in err.value.faults] == [field]


def test_quantities_to_a_state_are_those_of_plain_numbers() -> None:
    made, low = four_map(), assembled()
    again = made.assemble("50 kN", Q(45, "kN"))
    assert np.allclose(again.unknowns, low.unknowns, rtol=0.0, atol=1e-8)
    one, two = made.under_gas(low, 100 * BAR), made.under_gas(low, Q(100, "bar"))
    assert np.allclose(one.unknowns, two.unknowns, rtol=0.0, atol=1e-8)
    thick = made.vary(thickness="50 mm", warp=(Q(20, "um"), 0.0))
    assert (thick.thickness, thick.warp) == (pytest.approx(0.05), (pytest.approx(20e-6), 0.0))


def test_wrong_input_to_a_state() -> None:
    made, low = four_map(), assembled()
    for call, name in (
        (lambda: made.assemble("50 kg"), "assembly_preload"),
        (lambda: made.assemble([Q(50, "kN")] * 10), "assembly_preload"),
        (lambda: made.under_gas(low, Q(5, "kN")), "pressure"),
        (lambda: made.assemble(-1.0), "assembly_preload"),
        (lambda: made.assemble([1e3, 2e3]), "assembly_preload"),
        (lambda: made.assemble(98e3), "assembly_preload"),
        (lambda: made.assemble(40e3, 41e3), "preload"),
        (lambda: made.under_gas(low, -1.0), "pressure"),
        (lambda: made.under_gas(low, [1.0, 2.0]), "pressure"),
        (lambda: made.under_gas(low, 600 * BAR), "pressure"),
        (lambda: made.assemble(40e3, start=assembled(mesh=4e-3)), "start"),
        (lambda: made.vary(mesh=1.0), "mesh"),
    ):
        with pytest.raises(InputError) as err:
            call()
        assert [f.field for f in err.value.faults] == [name]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"warp": (np.nan, 0.0)}, "warp"),
        ({"steps": [Step(0.0, 0.0, np.nan, diameter=0.02)]}, "steps[1]"),
        ({"steps": [Step(np.nan, 0.0, 1e-6, diameter=0.02)]}, "steps[1]"),
    ],
)
def test_thickness_that_is_no_number_is_refused(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as err:
        four_map().vary(**changes).assemble(50e3)
    assert [f.field for f in err.value.faults] == [field]


ABOVE_ZERO = ("bolt_stiffness", "member_stiffness", "thickness", "modulus", "yield_force")
SHARES = ("body_share", "liquid_share")


@pytest.mark.parametrize(
    ("field", "bad"),
    [
        *((f, v) for f in ABOVE_ZERO for v in (0, -1.0, np.nan, "8 kg", None, [1.0, 2.0], True)),
        *((f, v) for f in SHARES for v in (-1, np.inf, np.nan, "all", None)),
        *(("warp", v) for v in (3, None, (1e-6,), (1e-6, 0, 0), "ab", (1e-6, "x"), (np.inf, 0.0))),
        *(("steps", v) for v in (3, None, "ab", [1.0], [Step(0.0, 0.0, 1e-6, diameter=0.02), 2])),
        *(("gasket", v) for v in (None, "copper sheet", 3)),
        *((f, np.inf) for f in ("bolt_stiffness", "thickness")),
    ],
)  # fmt: skip
def test_vary_names_the_field_that_is_of_the_wrong_kind(field: str, bad: Any) -> None:
    with pytest.raises(InputError) as err:
        four_map().vary(**{field: bad})
    assert [f.field for f in err.value.faults] == [field]


def test_vary_tells_every_wrong_field_at_once_and_takes_good_ones() -> None:
    made = four_map()
    with pytest.raises(InputError) as err:
        made.vary(bolt_stiffness=0, body_share=-1, warp=3)
    assert [f.field for f in err.value.faults] == ["bolt_stiffness", "body_share", "warp"]
    free = made.vary(yield_force=np.inf, warp=[1e-6, 0.0], steps=[], body_share=1.5)
    assert free.warp == (1e-6, 0.0) and free.steps == () and np.isinf(free.yield_force)


def test_a_mesh_that_is_no_number_is_refused() -> None:
    with pytest.raises(InputError) as err:
        deck.DeckMap(four(), constructions.make("copper sheet"), SEAL, **HEAD, **BOLT, mesh=np.nan)
    assert [f.field for f in err.value.faults] == ["mesh"]


def test_a_bolt_in_a_bore_is_refused() -> None:
    lay = four(holes=False)
    bolts = lay.bolts.copy()
    bolts[0] = lay.bores[0]
    with pytest.raises(InputError):
        deck.DeckMap(
            replace(lay, bolts=bolts), constructions.make("copper sheet"), SEAL, **HEAD, **BOLT
        )


def test_a_gasket_of_ones_own() -> None:
    """One elastic seal and nothing else; a hole without a bead or body has no row."""
    seal = Zone("ring", "seal", "length", np.array([0.0, 1e-4]), np.array([0.0, 2e5]))
    lay = replace(four(holes=False), holes=(Hole("C1", 0.048, 0.030, 0.008, "coolant"),))
    made = deck.DeckMap(lay, Gasket("own", (seal,)), SEAL, **HEAD, **BOLT)
    state = made.assemble(20e3)
    assert contact_force(state) == pytest.approx(200e3, rel=BALANCED)
    assert state.holes() == () and np.all(state.contact_pressure == 0.0)
    again = made.under_gas(made.under_gas(state, 20 * BAR), 0.0)
    assert np.allclose(again.line_load(0)[1], state.line_load(0)[1], rtol=1e-6)


def test_a_head_let_down_until_it_hardly_touches_still_balances() -> None:
    """A thin head on a stiff wire let down to two fifths, then far more gas than clamp."""
    made = four_map("copper with wire ring", 12e-3).vary(thickness=0.0152)
    low = made.assemble(4369.0, 1812.0)
    state = made.under_gas(low, [0.0, 188 * BAR, 0.0, 23 * BAR])
    for each in (low, state):
        assert abs(balance(each)[0]) < BALANCED * np.sum(each.bolt_force)
        assert each.newton_steps < 30
    assert np.min(state.bolt_force) >= 0.0 and np.max(state.lift) > 0.2e-3
