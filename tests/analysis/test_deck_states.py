"""One look at a deck: kept maps are those of the build asked about, and lead to the same state."""

from __future__ import annotations

import numpy as np
import pytest

from sealkit import InputError, analysis, build
from sealkit.analysis import deck_look, load_span
from tests.sealing.forces import balance, contact_force

FOUR = build.demo("boosted-four").vary({"deck.mesh": "14 mm"})  # maps are compared with each other


def from_nothing(one: build.Build, fired: int) -> analysis.DeckLook:
    """A look with no map kept."""
    analysis.deck_states._kept.cache_clear()
    return deck_look(one, fired=fired)


@pytest.mark.parametrize(
    "changes",
    [
        {"fasteners.hole_diameter": "12.9 mm"},
        {"fasteners.bearing_diameter": "26 mm"},
        {"fasteners.washer_diameter": "26 mm"},
        {"deck.pitch": "95 mm"},
        {"deck.mesh": "10 mm"},
        {"head.material": "grey iron"},
        {"gasket.construction": "copper sheet"},
        {"fasteners.torque": "80 N*m", "deck.effective_thickness": "25 mm"},
        {"fasteners.torque": "80 N*m", "head.thickness": "25 mm"},
    ],
)
def test_a_deck_seen_before_lends_its_map_to_no_other(changes: dict[str, str]) -> None:
    other = FOUR.vary(changes)
    fresh = from_nothing(other, 1)
    analysis.deck_states._kept.cache_clear()
    before = deck_look(FOUR, fired=1)
    after = deck_look(other, fired=1)
    assert after.state.weakest().margin == pytest.approx(fresh.state.weakest().margin, rel=1e-6)
    np.testing.assert_allclose(
        after.state.line_load(1)[1], fresh.state.line_load(1)[1], rtol=1e-6, atol=1.0
    )
    assert abs(after.state.weakest().margin - before.state.weakest().margin) > 1e-4


def test_map_and_last_state_are_kept_while_clamp_gas_and_thickness_move() -> None:
    first = from_nothing(FOUR, 1)
    moved = FOUR.vary(
        {
            "fasteners.torque": "95 N*m",
            "charge.boost": "1.2 bar",
            "head.thickness": "38 mm",
        }
    )
    second = deck_look(moved, 10e-6, 1)
    assert second.state.deck.plate.x is first.state.deck.plate.x, "same mesh"
    again = deck_look(FOUR, fired=1)
    assert again.state.newton_steps < first.state.newton_steps + first.standing.newton_steps
    np.testing.assert_allclose(again.state.line_load(1)[1], first.state.line_load(1)[1], rtol=1e-6)
    for one in (first, second, again):
        assert abs(balance(one.state)[0]) < 1e-7 * contact_force(one.state)


def test_what_a_look_says_of_itself() -> None:
    look = deck_look(FOUR, fired=2)
    assert look.bore == 2 and deck_look(FOUR).bore == deck_look(FOUR).state.weakest().bore
    angle, load = look.state.line_load(2)
    x, y = FOUR.layout.bores[2]
    place = np.array(look.weak_place) - (x, y)
    assert np.hypot(*place) == pytest.approx(look.joint.seal_diameter / 2)
    at = angle[int(np.argmin(load))]
    assert place[0] == pytest.approx(look.joint.seal_diameter / 2 * np.cos(at))
    low, high = load_span(look.state)
    assert low <= load.min() and high >= load.max()
    assert look.kind == "line load"


def test_patch_lies_between_two_bores_or_beside_one() -> None:
    x, y = analysis.coat_patch(FOUR)
    one, two = FOUR.layout.bores[:2]
    assert (x, y) == pytest.approx(tuple((one + two) / 2))
    # a bore in the middle shares more of its fasteners
    assert analysis.middle_bore(FOUR) in (1, 2)


def test_a_sheet_without_a_deck_is_told() -> None:
    with pytest.raises(InputError, match=r"no section \[deck\]"):
        deck_look(FOUR.vary({"deck": None}))
