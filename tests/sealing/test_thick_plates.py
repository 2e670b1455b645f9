"""Plates that shear: against a solid, towards the thin plate, and on the deck map."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from sealkit.errors import InputError
from sealkit.sealing import constructions, deck
from sealkit.sealing.deck import layout, plates
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.joint import plate_stiffness
from tests.sealing.forces import balance
from tests.sealing.test_deck import BAR, BOLT, HEAD, SEAL, four
from tests.validation import solid_plate, solid_rows
from tests.validation.plate_theory import circular_plate, holding, linear, rectangular_plate
from tests.validation.solid_plate import HALF, HARD, MODULUS, POISSON, RADIUS

Array = NDArray[np.float64]


def rows(name: str = "solid_plate.csv") -> list[dict[str, float]]:
    return solid_rows(Path(__file__).with_name(name))


def plate_rise(thickness: float, factor: float, cells: int) -> float:
    """The same quarter of a block as `solid_plate.rise` as a plate [m/Pa]."""
    edge = np.linspace(0.0, HALF, cells + 1)
    bending = plate_stiffness.si(MODULUS, thickness, POISSON)
    shear = factor * MODULUS * thickness / (2.0 * (1.0 + POISSON))
    plate = plates.Plate(edge, edge, bending, POISSON, shear=shear)
    lines = np.arange(cells + 1)
    left, low = plate.per * plate.node(0, lines), plate.per * plate.node(lines, 0)
    t, share = np.polynomial.legendre.leggauss(12)
    r, angle = 0.5 * RADIUS * (t + 1.0), (np.arange(24) + 0.5) * np.pi / 48
    points = np.stack([np.outer(r, f(angle)).ravel() for f in (np.cos, np.sin)], axis=-1)
    gas = plate.patch(points, np.outer(0.5 * RADIUS * share * r, np.full(24, np.pi / 48)).ravel())
    w, _ = plate.solve(
        [
            (plate.area(), linear(HARD)),
            holding(plate, np.concatenate([left + 1, left + 3, low + 2, low + 3])),
        ],
        gas.forces(np.ones(len(points)), plate.size),
    )
    angle = np.linspace(0.02, 0.5 * np.pi - 0.02, 16)
    rim = RADIUS * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    return float(plate.patch(rim).closure(w).mean())


@pytest.mark.parametrize("row", rows("solid_rise.csv"), ids=lambda r: f"{r['thickness']}")
def test_a_plate_that_shears_rises_like_a_solid(row: dict[str, float]) -> None:
    """At the default mesh, 8 mm, within 2 %; half the mesh moves it by less than 0.1 %."""
    thickness, solid = row["thickness"], row["rise"]
    ours = plate_rise(thickness, 5 / 6, 10)
    assert ours == pytest.approx(solid, rel=0.02)
    assert plate_rise(thickness, 5 / 6, 20) == pytest.approx(ours, rel=1e-3)
    thin = plate_rise(thickness, np.inf, 10)
    assert thin < ours or thickness < 0.03
    if thickness == 0.060:
        assert abs(thin / solid - 1.0) > 4 * abs(ours / solid - 1.0)


def mapped(thickness: float, ratio: float, margin: float) -> tuple[deck.DeckMap, Array]:
    """The block of `solid_plate.bolted` as a deck map, and least, highest clamp and lift [m]."""
    bed, x = solid_plate.foundation_of(thickness, ratio), np.array([0.0, 1e-3])
    zones = (
        Zone("body", "body", "area", x, bed * x),
        Zone("feeler", "seal", "length", x, 1e3 * x, width=1e-6, factor=1.0),
    )
    across, along = solid_plate.BOLT
    end = np.array([across + margin, along + margin])
    outline = end * [[-1, -1], [1, -1], [1, 1], [-1, 1]]
    bolts = np.array(solid_plate.BOLT) * [[-1, -1], [1, -1], [1, 1], [-1, 1]]
    face = layout.Layout(outline, np.zeros((1, 2)), 0.086, bolts, 1e-3)
    made = deck.DeckMap(
        face, Gasket("bed", zones), 2.0 * RADIUS, thickness, MODULUS, POISSON, 1.0, 1e12,
        bolt_diameter=2.0 * solid_plate.FACE,
    )  # fmt: skip
    still = made.assemble(50e3)
    up = made.under_gas(still, 1e5)
    closure = still.line_load(0)[1] / 1e3
    return made, np.array([closure.min(), closure.max(), up.seal_lift(0)[1].max()])


@pytest.mark.parametrize(
    "row", rows(), ids=lambda r: f"{r['thickness']}-{r['reach']}-{r['margin']}"
)
def test_the_map_comes_as_near_to_a_solid_as_it_says(row: dict[str, float]) -> None:
    """Bolts on four corners and gas: least and highest closure round the bore, most lift."""
    made, found = mapped(row["thickness"], row["reach"], row["margin"])
    least, highest, lift = found / (50e3, 50e3, 1e5) / (row["least"], row["highest"], row["lift"])
    assert made.reach(1e6) == pytest.approx(row["reach"] * row["thickness"], rel=1e-6)
    told = made.accuracy(1e6)
    assert told.tried
    for ours, share in ((least, told.least), (lift, told.lift), (highest, told.highest)):
        assert 0.99 < 1.0 / ours < 1.0 + share
    # nor is more left than in the solid as gas takes up to half of its least load
    for share in (0.25, 0.5):
        assert least - share * lift < 1.003 - share


def test_a_head_thicker_than_any_that_was_tried_is_told() -> None:
    """In reaches, and over the radius of the seal; a coarser mesh is told as well."""
    made = mapped(0.08, 0.3333, 0.0125)[0]
    stiffer = made.vary(thickness=0.16)
    assert made.reach(1e6) < stiffer.reach(1e6) and not stiffer.accuracy(1e6).tried
    assert not made.vary(thickness=0.02).accuracy(1e6).tried
    assert not made.accuracy(1e6).near and mapped(0.04, 1.2, 0.02)[0].accuracy(1e6).near
    head = {**HEAD, "thickness": 0.02}
    soft = constructions.make("fibre composite")
    told = [deck.DeckMap(four(), soft, SEAL, **head, **BOLT, mesh=m) for m in (8e-3, 16e-3)]
    fine, coarse = (m.accuracy(1e6) for m in told)
    assert fine[:3] == (0.02, 0.02, 0.02) and coarse[:3] == (0.04, 0.04, 0.04)


def bowed(thickness: float, ratio: float) -> Array:
    """The block of `solid_plate.bowed` as a plate, closure per alpha dT near a side and inside."""
    corners = solid_plate.WIDE * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    face = layout.Layout(corners, np.zeros((1, 2)), 0.086, 0.9 * corners, 1e-3)
    warp = layout.thermal_bow.si(face, 1e-5, 1.0, thickness)
    line = np.linspace(-solid_plate.WIDE, solid_plate.WIDE, 41)
    bending = plate_stiffness.si(MODULUS, thickness, POISSON)
    shear = 5 / 6 * MODULUS * thickness / (2.0 * (1.0 + POISSON))
    plate = plates.Plate(line, line, bending, POISSON, shear=shear)
    area, bed = plate.area(), solid_plate.foundation_of(thickness, ratio)
    gap = layout.bow(face, area.points, *warp)
    law = (area, lambda w: (bed * (w - gap), np.full(len(w), bed)))
    w, _ = plate.solve([law], np.zeros(plate.size))
    angle = np.linspace(0.02, 0.5 * np.pi - 0.02, 16)[[0, 8]]
    places = solid_plate.RIM * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    return np.asarray(plate.patch(places).closure(w) - layout.bow(face, places, *warp)) / 1e-5


def test_a_hot_head_bows_like_a_solid_and_a_thicker_one_opens_more() -> None:
    """Near a side the solid opens up to 22 % more; the middle of the plate is pressed more."""
    found = {}
    for row in rows("solid_bow.csv"):
        side, inside = bowed(row["thickness"], row["reach"])
        assert side < 0.0 < row["inside"] < 1.03 * inside
        assert 0.98 < row["side"] / side < 1.22
        # at one curvature alpha dT / h
        found[row["thickness"]] = row["thickness"] * np.array([row["side"], side])
    assert np.all(found[0.1016] < 1.3 * found[0.0762])


def test_the_rows_of_the_solid_are_its_own() -> None:
    row = rows()[10]
    bed = solid_plate.foundation_of(row["thickness"], row["reach"])
    found = solid_plate.bolted(row["thickness"], bed, row["margin"], (6, 6, 2))
    assert found == pytest.approx((row["least"], row["highest"], row["lift"]), rel=0.05)


def test_a_plate_stiff_against_shear_is_a_thin_one() -> None:
    thin = rectangular_plate.si(1.0, 1.0, 1.0, 0.3, pressure=1.0)
    stiff = rectangular_plate.si(1.0, 1.0, 1.0, 0.3, pressure=1.0, shear=1e7)
    assert stiff.deflection == pytest.approx(thin.deflection, rel=1e-5)
    assert stiff.moment_x == pytest.approx(thin.moment_x, rel=1e-5)
    with pytest.raises(InputError, match="shear"):
        plates.Plate([0.0, 1.0], [0.0, 1.0], 1.0, 0.3, shear=0.0)
    with pytest.raises(InputError, match="shear"):
        plates.Plate([0.0, 1.0], [0.0, 1.0], 1.0, 0.3).scaled(2.0, 1.0)


def test_a_head_that_shears_lifts_more_and_most_where_it_is_thick() -> None:
    more = []
    for thickness in (0.025, 0.040, 0.060):
        lift = []
        for factor in (np.inf, 5 / 6):
            made = deck.DeckMap(
                four(), constructions.make("fibre body with steel ring"), SEAL,
                **(HEAD | {"thickness": thickness}), **BOLT, shear=factor,
            )  # fmt: skip
            up = made.under_gas(made.assemble(50e3, 45e3), [0.0, 60 * BAR, 0.0, 0.0])
            assert abs(balance(up)[0]) < 1e-8 * np.sum(up.bolt_force)
            lift.append(float(up.seal_lift(1)[1].max()))
        more.append(lift[1] / lift[0])
    assert min(more) > 1.05


def test_accuracy_at_the_default_mesh_is_as_told() -> None:
    """Closed forms, q a**4/D and q a**2 (Timoshenko and Woinowsky-Krieger, from memory)."""
    made = [
        (rectangular_plate.si(1.0, 1.0, 1.0, 0.3, pressure=1.0), 0.00406235, 0.0478865),
        (
            rectangular_plate.si(1.0, 1.0, 1.0, 0.3, "clamped", pressure=1.0),
            0.00126532,
            0.0229051,
        ),
        (circular_plate.si(1.0, 1.0, 0.3, "clamped", pressure=1.0), 1 / 64, 1.3 / 16),
        (circular_plate.si(1.0, 1.0, 0.3, pressure=1.0), 5.3 / 1.3 / 64, 3.3 / 16),
    ]
    for out, deflection, moment in made:
        assert out.deflection == pytest.approx(deflection, rel=2e-3)
        assert out.moment_x == pytest.approx(moment, rel=0.01)
    assert made[1][0].edge_moment == pytest.approx(-0.0513338, rel=0.015)


def test_no_moment_is_given_below_a_point_load() -> None:
    square = rectangular_plate("1 m", "1 m", "1 N*m", 0.3, point_load="1 N")
    disc = circular_plate("1 m", "1 N*m", 0.3, point_load="1 N")
    for out in (square, disc):
        assert out.moment_x is None and out.moment_y is None and out.deflection.magnitude > 0.0
