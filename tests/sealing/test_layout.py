"""The deck layout: patterns, who stands where, what is gasket, and what has no room."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sealkit.errors import InputError
from sealkit.sealing.deck import layout as lay
from sealkit.sealing.deck import patterns, room
from sealkit.sealing.deck.layout import Hole, Layout
from sealkit.units import Q
from tests.sealing.faces import gasket_area, mirrored, on_gasket

FOUR: dict[str, Any] = {
    "bores": 4, "pitch": 0.093, "bore": 0.086, "bolt_hole": 0.013, "row_distance": 0.085,
    "end_margin": 0.016, "side_margin": 0.022,
}  # fmt: skip
WET = {"coolant_diameter": 0.010, "oil_diameter": 0.008}


def four(**changes: Any) -> Layout:
    return patterns.pattern.si(**{**FOUR, **changes})


def fault(call: Any, *args: Any, **more: Any) -> tuple[str, str]:
    """(field, whole line) of the one fault that `call` raises."""
    with pytest.raises(InputError) as caught:
        call(*args, **more)
    assert len(caught.value.faults) == 1
    return caught.value.faults[0].field, str(caught.value)


def moved(layout: Layout, bolt: int, to: tuple[float, float]) -> Layout:
    bolts = layout.bolts.copy()
    bolts[bolt] = to
    return dataclasses.replace(layout, bolts=bolts)


# --------------------------------------------------------------------------- patterns
@pytest.mark.parametrize(
    ("bores", "per_bore", "shared", "on_head"),
    [
        (4, 4, 2, 10),
        (6, 4, 2, 14),
        (4, 5, 1, 17),
        (4, 5, 2, 14),
        (4, 6, 2, 18),
        (4, 6, 0, 24),
        (3, 4, 1, 10),
        (3, 4, 0, 12),
        (1, 4, 2, 4),
        (1, 6, 0, 6),
    ],
)
def test_patterns_have_the_bolts_they_say(
    bores: int, per_bore: int, shared: int, on_head: int
) -> None:
    deck = room.check(four(bores=bores, bolts_per_bore=per_bore, shared_rows=shared), 0.0895)
    assert len(deck.bolts) == on_head
    assert lay.counts(deck) == (per_bore,) * bores
    everyone = [lay.around_bore(deck, b) for b in range(bores)]
    assert sum(a.effective for a in everyone) == pytest.approx(on_head, rel=1e-12)
    assert set(np.concatenate([a.bolts for a in everyone])) == set(range(on_head))


def test_shared_bolts_stand_halfway_between_the_bores() -> None:
    deck = four()
    assert deck.bores.tolist() == pytest.approx(np.array([[0.093 * i, 0] for i in range(4)]))
    x = sorted({round(float(v), 9) for v in deck.bolts[:, 0]})
    assert x == pytest.approx([-0.0465, 0.0465, 0.1395, 0.2325, 0.3255])
    assert sorted({round(float(v), 9) for v in deck.bolts[:, 1]}) == pytest.approx(
        [-0.0425, 0.0425]
    )
    inner, outer = lay.around_bore(deck, 1), lay.around_bore(deck, 0)
    assert inner.share == pytest.approx([0.5] * 4)
    assert sorted(outer.share) == pytest.approx([0.5, 0.5, 1.0, 1.0])
    assert lay.bolt_circle(deck, 2) == pytest.approx(math.hypot(0.093, 0.085))


def test_all_bolts_of_a_bore_stand_on_one_circle_unless_told() -> None:
    deck = four(bolts_per_bore=6, shared_rows=1)
    for b in range(4):
        here = lay.around_bore(deck, b).bolts
        far = np.linalg.norm(deck.bolts[here] - deck.bores[b], axis=1)
        assert far == pytest.approx(0.5 * math.hypot(0.093, 0.085), rel=1e-12)
    wide = four(bolts_per_bore=5, outer_distance=0.07)
    assert wide.bolts[:, 1].min() == pytest.approx(-0.07)
    pairs = four(shared_rows=0, pair_distance=0.03)
    x = np.sort(pairs.bolts[pairs.bolts[:, 1] > 0][:, 0])
    assert x[2] - x[1] == pytest.approx(0.03)


def test_end_distances_of_their_own() -> None:
    deck = four(front_distance=0.050, rear_distance=0.055)
    assert deck.bolts[:, 0].min() == pytest.approx(-0.050)
    assert deck.bolts[:, 0].max() == pytest.approx(3 * 0.093 + 0.055)
    assert lay.counts(deck) == (4, 4, 4, 4)
    assert deck.extent == pytest.approx((-0.066, 0.279 + 0.071, -0.0645, 0.0645))


def test_margins_and_cut_corners_make_the_outline() -> None:
    deck = four(corner_cut=0.010)
    assert len(deck.outline) == 8
    full = four()
    assert full.extent == deck.extent
    assert gasket_area(full) - gasket_area(deck) == pytest.approx(4 * 0.5 * 0.010**2)


def test_a_bank_of_a_vee_differs_from_inline() -> None:
    plain = {**FOUR, **WET}
    line, bank = (
        patterns.pattern.si(**plain),
        patterns.pattern.si(**plain, vee=True, bank_offset=0.02),
    )
    other = patterns.pattern.si(**plain, vee=True, bank_offset=-0.02)
    assert bank.bolts == pytest.approx(line.bolts)
    assert bank.extent[1] == pytest.approx(line.extent[1] + 0.02)
    assert bank.extent[0] == line.extent[0]
    assert other.extent[0] == pytest.approx(line.extent[0] - 0.02)
    oil = {d: [h for h in d.holes if h.fluid == "oil"] for d in (line, bank)}
    assert len(oil[line]) == 1 + 2 * 3
    assert len(oil[bank]) == 1 + 3
    assert all(h.y < 0 for h in oil[bank][1:]), "drains on the lower side"
    assert room.check(bank, 0.0895) is bank


@pytest.mark.parametrize("per_bore", [4, 5, 6])
@pytest.mark.parametrize("shared", [0, 1, 2])
@pytest.mark.parametrize("gap", [1, 2])
def test_liquid_holes_of_every_pattern_have_room(per_bore: int, shared: int, gap: int) -> None:
    size = 0.010 if per_bore == 4 else 0.006
    deck = four(
        bolts_per_bore=per_bore, shared_rows=shared, coolant_per_gap=gap, coolant_diameter=size,
        oil_diameter=0.006, oil_distance=0.060,
    )  # fmt: skip
    room.check(deck, 0.0895)
    coolant = [h for h in deck.holes if h.fluid == "coolant"]
    assert len(coolant) == 4 * gap * (per_bore - 2)
    assert len({h.name for h in deck.holes}) == len(deck.holes)


@pytest.mark.parametrize("vee", [False, True])
def test_symmetrical_decks_are_their_own_mirror_image(vee: bool) -> None:
    deck = four(vee=vee, bolts_per_bore=6, coolant_diameter=0.008)
    turned = mirrored(deck)
    for one, two in ((deck.bolts, turned.bolts), (deck.hole_places, turned.hole_places)):
        assert np.min(lay.distances(one, two), axis=1) == pytest.approx(0.0, abs=1e-12)
    assert turned.extent == pytest.approx(deck.extent)
    assert turned.bores == pytest.approx(deck.bores)
    lop = four(front_distance=0.055)
    assert mirrored(lop).bolts[:, 0].max() == pytest.approx(3 * 0.093 + 0.055)
    assert mirrored(mirrored(lop)).outline == pytest.approx(lop.outline)


def test_units_at_the_door() -> None:
    inch = patterns.pattern(
        vee=True, bores=4, pitch="4.4 in", bore="4 in", bolt_hole="0.469 in", row_distance="3.7 in",
        end_margin="0.6 in", side_margin="0.75 in", bolts_per_bore=5, shared_rows=1,
    )  # fmt: skip
    assert inch.bores[1, 0] == pytest.approx(4.4 * 0.0254)
    assert len(inch.bolts) == 17
    bad = {**{k: f"{v} m" if isinstance(v, float) else v for k, v in FOUR.items()}, "pitch": 93}
    assert fault(patterns.pattern, **bad)[0] == "pitch"
    assert fault(patterns.pattern, **{**bad, "pitch": "93 N"})[0] == "pitch"
    good = {**bad, "pitch": "93 mm"}
    for name, length in (("pitch", math.nan), ("oil_diameter", math.inf), ("corner_cut", -0.01)):
        assert fault(patterns.pattern, **{**good, name: Q(length, "m")})[0] == name


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"bores": 0}, "bores"),
        ({"bores": 2.5}, "bores"),
        ({"bolts_per_bore": 3}, "bolts_per_bore"),
        ({"shared_rows": 3}, "shared_rows"),
        ({"coolant_per_gap": 0}, "coolant_per_gap"),
        ({"pair_distance": 0.093, "shared_rows": 0}, "pair_distance"),
    ],
)
def test_patterns_that_do_not_exist(changes: dict[str, Any], field: str) -> None:
    assert fault(four, **changes)[0] == field


# --------------------------------------------------------------------------- who stands where
def test_a_bolt_far_away_stands_round_no_bore() -> None:
    deck = four(side_margin=0.08)
    extra = dataclasses.replace(deck, bolts=np.vstack([deck.bolts, [[0.14, 0.11]]]))
    room.check(extra)
    assert lay.counts(extra) == (4, 4, 4, 4)


def test_a_moved_bolt_is_no_longer_shared() -> None:
    deck = four()
    at = int(np.argmin(np.linalg.norm(deck.bolts - (0.0465, 0.0425), axis=1)))
    assert at in lay.around_bore(deck, 0).bolts and at in lay.around_bore(deck, 1).bolts
    near = moved(deck, at, (0.036, 0.0525))
    assert lay.counts(near) == (4, 3, 4, 4)


@pytest.mark.parametrize("bore", [-1, 4, 1.0, True, None])
def test_a_bore_that_is_not_there(bore: Any) -> None:
    assert fault(lay.around_bore, four(), bore)[0] == "bore"


# --------------------------------------------------------------------------- masks
def test_what_is_gasket() -> None:
    deck = four(**WET)
    hole = deck.holes[0]
    points = [
        (0.0, 0.0),  # bore
        (0.0, 0.0434),  # opening of the gasket, beside the bore
        (0.0465, 0.0425),  # bolt
        (hole.x, hole.y),
        (0.0465, 0.0),  # between bores
        (-0.06, 0.0),  # before the first bore
        (-0.07, 0.0),  # beside the deck
    ]
    assert on_gasket(deck, points).tolist() == [0, 1, 0, 0, 1, 1, 0]
    assert on_gasket(deck, points, 0.0875).tolist() == [0, 0, 0, 0, 1, 1, 0]
    assert lay.inside(deck, points).tolist() == [1, 1, 1, 1, 1, 1, 0]
    assert on_gasket(deck, np.array(points).reshape(7, 1, 2)).shape == (7, 1)
    assert on_gasket(deck, (0.0465, 0.0)).shape == ()
    assert fault(lay.inside, deck, [1.0, 2.0, 3.0])[0] == "points"


def test_area_of_the_gasket_is_what_the_mask_covers() -> None:
    deck = room.check(four(**WET, corner_cut=0.012), 0.0895)
    x0, x1, y0, y1 = deck.extent
    x = x0 + (x1 - x0) * (np.arange(800) + 0.5) / 800
    y = y0 + (y1 - y0) * (np.arange(260) + 0.5) / 260
    mask = on_gasket(deck, np.stack(np.meshgrid(x, y), axis=-1), 0.0875)
    assert mask.mean() * (x1 - x0) * (y1 - y0) == pytest.approx(gasket_area(deck, 0.0875), rel=2e-3)


def test_distance_from_the_edge() -> None:
    square = Layout(
        np.array([(0, 0), (0, 1), (1, 1), (1, 0)]), np.array([(0.5, 0.5)]), 0.1,
        np.array([(0.2, 0.2), (0.8, 0.2), (0.5, 0.8)]), 0.01,
    )  # fmt: skip
    assert lay.signed_area(square.outline) == 1.0, "clockwise corners are turned round"
    points = [(0.5, 0.5), (0.1, 0.5), (-0.3, 0.5), (2.0, 2.0), (0.5, 1.25)]
    wanted = [0.5, 0.1, -0.3, -math.sqrt(2), -0.25]
    assert lay.edge_distance(square, points) == pytest.approx(wanted)
    notch = dataclasses.replace(
        square, outline=np.array([(0, 0), (1, 0), (1, 1), (0.5, 0.25), (0, 1)])
    )
    assert lay.inside(notch, [(0.5, 0.3), (0.5, 0.2), (0.1, 0.7)]).tolist() == [False, True, True]


# --------------------------------------------------------------------------- no room
def with_holes(*holes: Hole) -> Layout:
    return dataclasses.replace(four(), holes=holes)


@pytest.mark.parametrize(
    ("deck", "field", "words"),
    [
        (moved(four(), 2, (0.14, 0.09)), "bolts[3]", ["over the outline", "inside"]),
        (moved(four(), 2, (0.093, 0.045)), "bolts[3]", ["45.00 mm", "bore 2", "51.25 mm"]),
        (moved(four(), 2, (0.0465, 0.0505)), "bolts[3]", ["8.00 mm from bolt 2", "13.00 mm"]),
        (four(pitch=0.088, row_distance=0.09), "bores[2]", ["88.00 mm from bore 1", "89.50 mm"]),
        (four(end_margin=0.001, pitch=0.0895, row_distance=0.14), "bolts[1]", ["5.50 mm over"]),
        (
            dataclasses.replace(four(), bores=np.array([[0.0, 0.0], [0.34, 0.0]])),
            "bores[2]",
            ["over the outline"],
        ),
        (with_holes(Hole("C1", 0.0, 0.062, 0.01, "coolant")), "holes[1]", ["over the outline"]),
        (with_holes(Hole("C1", 0.0, 0.049, 0.01, "coolant")), "holes[1]", ["combustion seal"]),
        (with_holes(Hole("O1", 0.0465, 0.053, 0.01, "oil")), "holes[1]", ["from bolt 2"]),
        (
            with_holes(
                Hole("C1", 0.0, 0.055, 0.01, "coolant"), Hole("C2", 0.009, 0.055, 0.01, "coolant")
            ),
            "holes[2]",
            ["9.00 mm from hole 1", "10.00 mm"],
        ),
        (
            with_holes(
                Hole("C1", 0.0, 0.055, 0.01, "coolant"), Hole("C1", 0.02, 0.055, 0.01, "coolant")
            ),
            "holes[2].name",
            ["the name of hole 1"],
        ),
    ],
)
def test_one_message_names_what_has_no_room(deck: Layout, field: str, words: list[str]) -> None:
    found, line = fault(room.check, deck, 0.0895)
    assert found == field
    for word in words:
        assert word in line, line


def test_messages_in_inches() -> None:
    deck = moved(four(), 2, (0.093, 0.045))
    assert "1.772 in" in fault(room.check, deck, 0.0895, "inch")[1]
    assert fault(room.check, deck, math.nan)[0] == "seal_diameter"
    assert fault(room.check, deck)[1].endswith("so that it clears the bore")


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        ([(-0.1, -0.1), (0.4, 0.1), (0.4, -0.1), (-0.1, 0.1)], "edges that meet"),
        ([(-0.1, -0.1), (0.4, -0.1), (0.4, 0.1), (-0.1, 0.1), (-0.1, -0.1)], "twice"),
        ([(-0.1, -0.1), (0.4, -0.1), (0.9, -0.1), (0.4, -0.1), (0.4, 0.1)], "turns back"),
        ([(-0.1, -0.1), (0.4, -0.1), (0.9, -0.1)], "turns back"),
        (
            [(-0.1, -0.1), (0.4, -0.1), (0.4, 0.1), (0.2, -0.1), (-0.1, 0.1)],
            "edges that meet",
        ),
    ],
)
def test_outlines_that_cross_themselves(outline: Any, words: str) -> None:
    deck = dataclasses.replace(four(), outline=np.array(outline))
    field, line = fault(room.check, deck)
    assert field == "outline" and words in line


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"bolts": np.zeros((2, 2))}, "bolts"),
        ({"bolts": np.zeros((3, 3))}, "bolts"),
        ({"bolts": [(0.0, 0.0), (0.1, math.nan), (0.0, 0.1)]}, "bolts[2]"),
        ({"bolts": [(0.0, 0.0), (0.1, math.inf), (0.0, 0.1)]}, "bolts[2]"),
        ({"bolts": "M11"}, "bolts"),
        ({"bolts": [(0.0, 0.0), (0.1,)]}, "bolts"),
        ({"bolts": Q(np.zeros((3, 2)), "N")}, "bolts"),
        ({"bolts": np.zeros((401, 2))}, "bolts"),
        ({"bores": np.zeros((0, 2))}, "bores"),
        ({"bores": None}, "bores"),
        ({"bore": 0.0}, "bore"),
        ({"bore": -1.0}, "bore"),
        ({"bore": math.nan}, "bore"),
        ({"bolt_hole": [0.1, 0.2]}, "bolt_hole"),
        ({"outline": [(0.0, 0.0), (1.0, 0.0)]}, "outline"),
        ({"outline": [(0.0, 0.0), (1.0, 0.0), (1e9, 1.0)]}, "outline[3]"),
        ({"holes": 5}, "holes"),
        ({"holes": [("C1", 0.0, 0.0)]}, "holes[1]"),
        ({"holes": [Hole("", 0.0, 0.0, 0.01, "oil")]}, "holes[1].name"),
        ({"holes": [Hole("C1", 0.0, 0.0, 0.01, "water")]}, "holes[1].fluid"),
        ({"holes": [Hole("C1", 0.0, math.nan, 0.01, "oil")]}, "holes[1]"),
        ({"holes": [Hole("C1", 0.0, 0.0, -0.01, "oil")]}, "holes[1].diameter"),
    ],
)
def test_places_that_are_none(change: dict[str, Any], field: str) -> None:
    assert fault(dataclasses.replace, four(), **change)[0] == field


def test_quantities_are_taken_and_arrays_do_not_change() -> None:
    deck = dataclasses.replace(four(), bolts=Q(np.array([(0, 50), (100, 50), (0, -50)]), "mm"))  # type: ignore[arg-type]
    assert deck.bolts[1].tolist() == pytest.approx([0.1, 0.05])
    with pytest.raises(ValueError):
        deck.bolts[0, 0] = 1.0
    own = np.zeros((3, 2))
    held = dataclasses.replace(four(), bolts=own)
    own[:] = 7.0
    assert np.all(held.bolts == 0.0)


# random decks: a layout in which everything has room, or one named fault, never anything else
_ANY = st.one_of(
    st.floats(-0.12, 0.4), st.floats(allow_nan=True, allow_infinity=True), st.just(math.nan)
)
_NEAR = st.floats(-0.12, 0.4)


@st.composite
def decks(draw: st.DrawFn, number: st.SearchStrategy[float]) -> dict[str, Any]:
    place = st.tuples(number, number)
    return {
        "outline": draw(st.lists(place, min_size=0, max_size=7)),
        "bores": draw(st.lists(place, min_size=0, max_size=4)),
        "bore": draw(number),
        "bolts": draw(st.lists(place, min_size=0, max_size=6)),
        "bolt_hole": draw(st.sampled_from([0.001, 0.013, -1.0, math.nan])),
        "holes": [
            Hole(draw(st.sampled_from(["C1", "C2", ""])), *draw(place), draw(number), fluid)
            for fluid in draw(st.lists(st.sampled_from(["oil", "coolant", "air"]), max_size=3))
        ],
    }


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(parts=decks(_ANY) | decks(_NEAR), seal=st.none() | _ANY)
def test_any_deck_is_a_layout_or_one_named_fault(parts: dict[str, Any], seal: Any) -> None:
    try:
        deck = room.check(Layout(**parts), seal)
    except InputError as err:
        assert len(err.faults) == 1
        field = err.faults[0].field
        assert field.split("[")[0] in {*parts, "seal_diameter"}
        assert str(err).isprintable()
    else:
        assert len(lay.counts(deck)) == len(deck.bores)


@settings(max_examples=200, deadline=None)
@given(
    off=st.lists(st.tuples(*[st.floats(-0.008, 0.008)] * 2), min_size=1, max_size=8),
    size=st.floats(0.002, 0.014),
)
def test_whatever_passes_really_clears(off: list[tuple[float, float]], size: float) -> None:
    base = four(**WET).hole_places
    spots = [(x + dx, y + dy) for (x, y), (dx, dy) in zip(base, off, strict=False)]
    holes = [Hole(f"C{i}", x, y, size, "coolant") for i, (x, y) in enumerate(spots)]
    deck = dataclasses.replace(four(), holes=tuple(holes))
    try:
        room.check(deck, 0.0895)
    except InputError:
        return
    angle = np.linspace(0.0, 2 * np.pi, 24, endpoint=False)
    rim = 0.5 * size * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    bare = dataclasses.replace(deck, holes=())
    # a hair inside the rim, every point lies on the gasket of a deck without the holes
    rims = deck.hole_places[:, None, :] + 0.999 * rim
    assert np.all(on_gasket(bare, rims, 0.0895))
    assert gasket_area(deck) == pytest.approx(
        gasket_area(bare) - len(spots) * math.pi / 4 * size**2
    )


@settings(max_examples=60, deadline=None)
@given(
    bores=st.integers(1, 6),
    per_bore=st.sampled_from([4, 5, 6]),
    shared=st.sampled_from([0, 1, 2]),
    stretch=st.floats(1.08, 1.35),
    wide=st.floats(0.95, 1.3),
)
def test_every_pattern_keeps_its_counts(
    bores: int, per_bore: int, shared: int, stretch: float, wide: float
) -> None:
    deck = four(
        bores=bores, bolts_per_bore=per_bore, shared_rows=shared, pitch=0.086 * stretch,
        row_distance=0.086 * wide, bolt_hole=0.011, pair_distance=0.026,
    )  # fmt: skip
    room.check(deck, 0.0865)
    assert lay.counts(deck) == (per_bore,) * bores
    assert len(deck.bolts) == bores * per_bore - shared * (bores - 1)


# --------------------------------------------------------------------------- steps and warp
def test_steps_add_up_where_they_overlap() -> None:
    steps = [
        lay.Step(0.0, 0.05, -25e-6, diameter=0.02),
        lay.Step(0.0, 0.05, 10e-6, size=(0.04, 0.01)),
    ]
    points = [(0.0, 0.05), (0.0, 0.058), (0.015, 0.05), (0.015, 0.058), (0.1, 0.0)]
    wanted = [-15e-6, -25e-6, 10e-6, 0.0, 0.0]
    assert lay.extra_thickness(steps, points) == pytest.approx(wanted, abs=1e-15)
    assert np.all(lay.extra_thickness([], points) == 0.0)
    assert fault(lay.extra_thickness, [lay.Step(0, 0, 1e-6)], points)[0] == "steps[1]"
    both = lay.Step(0, 0, 1e-6, diameter=0.1, size=(0.1, 0.1))
    assert fault(lay.extra_thickness, [both], points)[0] == "steps[1]"


def test_a_hollow_face_gapes_in_the_middle_and_a_proud_one_at_the_ends() -> None:
    deck = four()
    x0, x1, y0, y1 = deck.extent
    middle, end, corner = ((x0 + x1) / 2, 0.0), (x0, 0.0), (x1, y1)
    hollow = lay.bow(deck, [middle, end, corner], 60e-6, 0.0)
    assert hollow == pytest.approx([60e-6, 0.0, 0.0], abs=1e-15)
    proud = lay.bow(deck, [middle, end, corner], -60e-6, -20e-6)
    assert proud == pytest.approx([0.0, 60e-6, 80e-6], abs=1e-15)
    mixed = lay.bow(deck, [middle, end, (middle[0], y0)], -60e-6, 20e-6)
    assert mixed == pytest.approx([20e-6, 80e-6, 0.0], abs=1e-15)
