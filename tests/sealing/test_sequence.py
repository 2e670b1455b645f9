"""Bolts tightened one after the other, against an interaction matrix by hand, and by direction."""

from __future__ import annotations

import functools
from typing import Any

import numpy as np
import pytest

from sealkit.errors import InputError
from sealkit.sealing import constructions, deck
from sealkit.sealing.deck import patterns, sequence
from sealkit.sealing.deck.layout import Layout
from sealkit.sealing.gaskets import Gasket, Zone
from tests.sealing.forces import balance

SIDE = 0.30
AT = np.array([[0.03, 0.0], [-0.02, 0.02], [-0.01, -0.03]])  # one alone tips the head nowhere open
BOLT: dict[str, Any] = {"bolt_stiffness": 180e6, "member_stiffness": 900e6, "yield_force": 97e3}
SPRING = 1.0 / (1.0 / 180e6 + 1.0 / 900e6)
FULL = 40e3


@functools.cache
def rigid(bed: float) -> deck.DeckMap:
    """A rigid square head with three bolts on an even elastic bed [Pa/m], its bore next to nil."""
    reach = np.array([0.0, 5e-3])
    zones = (
        Zone("thread", "seal", "length", reach, np.array([0.0, 1e-3]), width=1e-4),
        Zone("bed", "body", "area", reach, bed * reach),
    )
    corners = 0.5 * SIDE * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    face = Layout(corners, np.zeros((1, 2)), 0.002, AT, 0.001)
    head: dict[str, Any] = {"thickness": 0.05, "modulus": 1e15, "poisson": 0.3}
    return deck.DeckMap(face, Gasket("bed", zones), 0.003, **head, **BOLT, mesh=0.03)


def by_hand(bed: float, order: tuple[int, ...], passes: tuple[float, ...]) -> Any:
    """The same with springs and a rigid square: sinking and tipping under F at x, y by statics.

    w_i = sum_j F_j (1 + 12 (x_i x_j + y_i y_j) / L**2) / (k L**2), F_i = K (a_i - w_i)
    """
    sink = (1.0 + 12.0 * AT @ AT.T / SIDE**2) / (bed * SIDE**2)
    force, tight, out = np.zeros(3), np.zeros(3, dtype=bool), []
    advance = np.zeros(3)
    for share in passes:
        for i in order:
            if force[i] < share * FULL:
                tight[i] = True
                others = tight.copy()
                others[i] = False
                # F_i is given; the others: F + K sink F = K a
                rows = np.eye(3) + SPRING * sink * others[:, None]
                rows[~others] = np.eye(3)[~others]
                given = np.where(others, SPRING * advance, 0.0)
                given[i] = share * FULL
                force = np.linalg.solve(rows, given)
                advance[i] = force[i] / SPRING + sink[i] @ force
        out.append(force)
    return np.array(out)


@pytest.mark.parametrize("bed", [3e9, 3e10])
@pytest.mark.parametrize("order", [(0, 1, 2), (2, 0, 1)])
def test_three_bolts_against_an_interaction_matrix(bed: float, order: tuple[int, ...]) -> None:
    passes = (1 / 3, 2 / 3, 1.0, 1.0)
    want = by_hand(bed, order, passes)
    got = sequence.in_order.si(rigid(bed), FULL, order, passes)
    assert got == pytest.approx(want, rel=2e-3)
    # the first has let go, or the case tells nothing
    assert want[0, order[0]] < 0.97 * FULL / 3


def test_the_last_keeps_its_target_and_a_soft_bed_costs_the_first_more() -> None:
    left = [sequence.in_order.si(rigid(bed), FULL, (0, 1, 2), (1.0,))[0] for bed in (3e9, 3e10)]
    for one in left:
        assert one[2] == pytest.approx(FULL, rel=1e-9)
        assert one[0] < FULL and one[1] < FULL
    assert left[0][0] < left[1][0] and left[0][1] < left[1][1]


@functools.cache
def two(name: str) -> deck.DeckMap:
    face = patterns.pattern.si(2, 0.096, 0.086, 0.013, 0.096, 0.018, 0.018)
    head: dict[str, Any] = {"thickness": 0.04, "modulus": 72.4e9, "poisson": 0.33}
    return deck.DeckMap(face, constructions.make(name), 0.0895, **head, **BOLT, mesh=12e-3)


@pytest.mark.parametrize("name", ["multi-layer steel", "fibre composite"])
def test_more_passes_even_it_out(name: str) -> None:
    """A pass on an evener deck moves it less, so that what is lost in it is less each time."""
    made = two(name)
    order = sequence.outwards(made.layout)
    left = sequence.in_order.si(made, 50e3, order, (1.0,) * 4) / 50e3
    lost = 1.0 - left.min(axis=1)
    assert lost[0] > 0.01
    assert np.all(np.diff(lost) <= 0.0) and lost[-1] < 0.1 * lost[0]
    steps = sequence.in_order.si(made, 50e3, order, (1 / 3, 2 / 3, 1.0)) / 50e3
    assert steps[-1].min() > left[0].min()


def test_many_passes_come_to_all_at_once() -> None:
    """On an elastic bed the way does not matter, only the preload in the end."""
    made = rigid(3e9)
    state = made.laid_on()
    for _ in range(12):
        for bolt in range(3):
            state = made.tighten(state, bolt, FULL)
    once = made.assemble(FULL)
    assert state.bolt_force == pytest.approx(once.bolt_force, rel=1e-6)
    assert state.contact_pressure == pytest.approx(once.contact_pressure, rel=1e-5)
    assert balance(state)[0] == pytest.approx(0.0, abs=1e-6 * FULL)


def test_a_wrench_turns_no_nut_back() -> None:
    made = rigid(3e9)
    state = made.tighten(made.laid_on(), 0, FULL)
    assert made.tighten(state, 0, 0.5 * FULL) is state
    assert list(state.bolt_force) == [FULL, 0.0, 0.0]


def test_outwards_in_a_spiral() -> None:
    """The middle pair first, then each round further out."""
    face = patterns.pattern.si(4, 0.096, 0.086, 0.013, 0.096, 0.018, 0.018)
    order = sequence.outwards(face)
    far = np.hypot(*(face.bolts - face.bolts.mean(axis=0)).T)[list(order)]
    assert sorted(order) == list(range(10)) and np.all(np.diff(far) > -1e-3)


@pytest.mark.parametrize("bolts", [4, 6, 8])
def test_crosswise_round_one_bore(bolts: int) -> None:
    turn = 2.0 * np.pi * np.arange(bolts) / bolts + 0.3
    ring = np.column_stack((np.cos(turn), np.sin(turn)))
    corners = 3.0 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    order = list(sequence.outwards(Layout(corners, np.zeros((1, 2)), 0.5, ring, 0.1)))
    assert sorted(order) == list(range(bolts))
    assert ring[order[::2]] == pytest.approx(-ring[order[1::2]])


@pytest.mark.parametrize(
    ("order", "passes", "preload", "field"),
    [
        ((0, 1), (1.0,), FULL, "order"),
        ((0, 1, 1), (1.0,), FULL, "order"),
        ((0, 1, 2), (), FULL, "passes"),
        ((0, 1, 2), (0.5, 1.2), FULL, "passes"),
        ((0, 1, 2), (np.nan,), FULL, "passes"),
        ((0, 1, 2), (1.0,), 98e3, "preload"),
    ],
)
def test_bad_input_is_named(order: Any, passes: Any, preload: float, field: str) -> None:
    with pytest.raises(InputError) as err:
        sequence.in_order.si(rigid(3e9), preload, order, passes)
    assert err.value.faults[0].field == field
    with pytest.raises(InputError, match="bolt"):
        rigid(3e9).tighten(rigid(3e9).laid_on(), 3, FULL)
