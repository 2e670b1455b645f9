"""A wire pressed into a sheet: the table against slip lines and finite elements, and directions."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sealkit.errors import InputError
from sealkit.sealing import constructions, flow
from tests.validation import solid_rows, wire_solid
from tests.validation.wire_solid import Strip

COPPER = (530e6, 0.44)
RADIUS, SHEET, GAP = 0.5207e-3, 1.09e-3, 1.4e-3
DEEP = 10e-3  # a receiver without a bottom


def load(depth: float, prestrain: float = 0.0, *opposite: float, sheet: float = SHEET) -> float:
    return float(flow.sheet_line_load.si(depth, RADIUS, *COPPER, prestrain, sheet, *opposite))


POINTS = solid_rows(Path(__file__).with_name("wire_solid.csv"))


def elements(depth: float, receiver: float, floor: float = np.inf, prestrain: float = 0.0) -> Any:
    """Rows of a sheet held sideways and of one free to spread; lengths in mm."""
    at = {"depth": depth, "receiver": receiver, "floor": floor, "prestrain": prestrain}
    found = [r for r in POINTS if all(r[k] == pytest.approx(v) for k, v in at.items())]
    assert [r["held"] for r in found] == [1.0, 0.0]
    return found


@functools.cache
def pressed(receiver: float) -> wire_solid.Strip:
    """The held sheet of two of the points."""
    return wire_solid.pressed(0.0, receiver, np.inf, 0.12, True)


# --------------------------------------------------------------------------- the elements
@pytest.mark.parametrize(("depth", "thickness"), [(0.06, 1.09), (0.12, 1.09)])
def test_a_sheet_that_does_not_harden_follows_the_slip_lines_of_a_strip(
    depth: float, thickness: float
) -> None:
    """A free strip between flat dies mirrors the sheet on its smooth face.

    Mean pressure over 2k = 0.8 + 0.2 h/b, h of the strip, b of the dies: a fit of the slip-line
    solution of R. Hill, The Mathematical Theory of Plasticity, 1950, ch. IX, by R. M. Caddell,
    Deformation and Fracture of Solids, 1980 (both from memory).
    """
    strip = Strip(thickness, 0.5207, 200.0, 0.01, 0.002, size=thickness / 8)
    found = strip.press(depth, step=0.01)
    a = np.sqrt(2.0 * 0.5207 * depth - depth**2)
    shear = 200.0 * (0.2 * a / 0.5207) ** 0.01 / np.sqrt(3.0)
    wanted = 2.0 * a * 2.0 * shear * (0.8 + 0.2 * thickness / a)
    assert found == pytest.approx(wanted, rel=0.06)


def test_a_thick_sheet_that_hardly_hardens_takes_the_load_of_a_flat_punch() -> None:
    """Slip lines under a punch on thick metal; the elements know nothing of them."""
    table = flow.sheet_table()
    assert table.axes[1][-1] == 4.5
    shares = table.values[0, -1, -1, 0, :4]
    assert np.all((shares > 0.85) & (shares < 1.02))


# --------------------------------------------------------------------------- the table
@pytest.mark.parametrize("receiver", [0.0, 1.4])
def test_table_between_its_nodes_is_what_the_elements_give(receiver: float) -> None:
    held, free = elements(0.12, receiver)
    mean = (held["load"] + free["load"]) / 2.0
    assert load(0.12e-3, 0.0, receiver / 1e3, DEEP) / 1e3 == pytest.approx(mean, rel=0.04)
    assert free["load"] < mean < held["load"] < 1.2 * mean
    bulge = 0.5 * (held["bulge"] + free["bulge"])
    at = (0.0, SHEET / RADIUS, receiver / 2e3 / RADIUS, 0.12e-3 / RADIUS)
    table = flow.sheet_table()
    assert 0.12 * float(table.at(*at)[1]) == pytest.approx(bulge, abs=0.006)


def test_a_sheet_that_meets_the_bottom_goes_over_to_a_flat_face() -> None:
    mean = sum(r["load"] for r in elements(0.12, 1.4, 0.05)) / 2.0
    law = load(0.12e-3, 0.0, GAP, 0.05e-3) / 1e3
    assert 0.88 * mean < law < 1.02 * mean


@pytest.mark.parametrize("receiver", [0.0, 1.4])
def test_the_rows_of_the_elements_are_their_own(receiver: float) -> None:
    row, _ = elements(0.12, receiver)
    found = pressed(receiver)
    assert (found.load, found.bulge) == pytest.approx((row["load"], row["bulge"]), rel=1e-3)


def test_a_bridge_over_the_receiver_gives_beside_the_copper_itself() -> None:
    give = []
    for receiver in (1.4, 0.0):
        strip = pressed(receiver)
        strip.penalty = 20.0  # the contact itself must not give
        give.append(1.0 / strip.stiffness(0.0005))
        strip.penalty = 5.0
    wanted = float(flow.bridge_approach.si(1e3, GAP, SHEET, 117e9, 0.343)) * 1e3
    assert give[0] - give[1] == pytest.approx(wanted, rel=0.35)


@pytest.mark.parametrize(("prestrain", "depth"), [(0.0, 0.8), (0.3006, 0.6)])
def test_deeper_and_harder_than_the_table_is_near_what_the_elements_give(
    prestrain: float, depth: float
) -> None:
    """`depth` over the radius; 0.3006 is hard copper."""
    deep = depth * RADIUS
    mean = sum(r["load"] for r in elements(1e3 * deep, 0.0, prestrain=prestrain)) / 2.0
    assert load(deep, prestrain) / 1e3 == pytest.approx(mean, rel=0.12)


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("sheet_thickness", {"sheet_thickness": "0.020 in"}),
        ("sheet_thickness", {"sheet_thickness": "0.125 in"}),
        ("receiver_width", {"receiver_width": "0.090 in"}),
    ],
)
def test_a_sheet_or_receiver_beyond_the_table_is_refused(field: str, change: dict) -> None:
    with pytest.raises(InputError, match=f"^{field}: got .*; wanted .* for a wire of"):
        constructions.make("copper with wire ring", **change)


def test_the_ends_of_the_table_are_taken() -> None:
    ends = [flow.sheet_table().axes[i][[0, -1]] * RADIUS for i in (1, 2)]
    for thickness in ends[0]:
        for half in ends[1]:
            assert load(0.1e-3, 0.0, 2.0 * half, DEEP, sheet=thickness) > 0.0


# --------------------------------------------------------------------------- directions
@pytest.mark.parametrize("prestrain", [0.0, 0.182, 0.3])
def test_directions(prestrain: float) -> None:
    widths = np.linspace(0.0, 2.0e-3, 21)
    loads = [load(0.12e-3, prestrain, w, DEEP) for w in widths]
    assert np.all(np.diff(loads) < 1e-9) and loads[-1] < 0.75 * loads[0]
    depths = np.linspace(0.0, 0.2e-3, 21)
    over = [load(0.15e-3, prestrain, GAP, d) for d in depths]
    assert np.all(np.diff(over) < 1e-9)
    assert over[0] == load(0.15e-3, prestrain) and over[-1] == load(0.15e-3, prestrain, GAP, DEEP)
    deeper = [load(d, prestrain, GAP, 0.15e-3) for d in np.linspace(0.0, RADIUS, 60)]
    assert np.all(np.diff(deeper) > 0.0)
    sheets = [load(0.12e-3, prestrain, GAP, DEEP, sheet=t) for t in np.linspace(0.8e-3, 2e-3, 9)]
    assert np.all(np.diff(sheets) > 0.0)


def test_a_wider_receiver_takes_less_until_the_bulge_meets_its_bottom() -> None:
    widths = np.linspace(0.3e-3, 2.0e-3, 35)
    shallow, deep = (np.array([load(0.15e-3, 0.0, w, d) for w in widths]) for d in (0.06e-3, DEEP))
    met = shallow > deep * (1.0 + 1e-12)
    first = int(np.argmax(met))
    assert 0 < first < len(widths) - 5 and np.all(met[first:])
    fall = -np.diff(np.log(np.stack([shallow, deep])), axis=1)
    assert np.all(fall[0, first:] < 0.8 * fall[1, first:])


def test_arrays_broadcast() -> None:
    many = flow.sheet_line_load.si(
        np.array([0.05e-3, 0.1e-3]), RADIUS, *COPPER, 0.0, SHEET, np.array([[0.0], [GAP]]), 1e-3
    )
    assert many.shape == (2, 2)
    assert many[1, 0] == pytest.approx(load(0.05e-3, 0.0, GAP, 1e-3))
