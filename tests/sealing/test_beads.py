"""Beads pressed flat: closed limits, a solid beside the strip, the table, springback, refusals.

The strip from which the table was made is compared with hand formulas where those hold, with its
own energy balance, and with a plane-strain solid that shares nothing with it but the shape.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sealkit import tables
from sealkit.errors import InputError
from sealkit.sealing import constructions as con
from sealkit.sealing.constructions import beads
from tests.validation import bead_solid, solid_rows
from tests.validation.make_beads import Leg

E, NU, SY, RISE = 193e9, 0.3, 965e6, 0.0178
BEAD = beads.Bead(2, 0.25e-3, 1.5e-3, 0.20e-3, E, NU, SY, RISE)


def strip(bead: beads.Bead, closed: np.ndarray, formed: bool) -> np.ndarray:
    """Line loads of the strip at these parts of the height closed [N/m]."""
    states = Leg(*bead.groups, formed=formed).press(closed)
    return 4.0 * bead.stiffness * bead.height * np.array([s.load for s in states])


# --------------------------------------------------------------------------- closed limits
def test_first_stiffness_is_that_of_a_leg_free_to_turn_at_its_foot() -> None:
    state = Leg(0.25, 1e-4, 0.01, formed=False).press(np.array([0.01]))[0]
    assert state.load / 0.01 == pytest.approx(1.0 / 4.0, rel=0.01)
    load = strip(BEAD, np.array([0.01]), True)[0]
    assert load / (0.01 * BEAD.height) == pytest.approx(BEAD.stiffness, rel=0.03)


def test_plateau_is_the_load_of_a_plastic_hinge_at_the_crest() -> None:
    closed = np.linspace(0.01, 0.2, 20)
    loads = np.array([s.load for s in Leg(16.0, 1e-4, 0.01, formed=False).press(closed)])
    # Mp / L in the units of the table; where the crest lies flat the arm gets shorter
    hinge = 1.0 / (4.0 * 16.0)
    assert loads[:5] == pytest.approx(closed[:5] / 4.0, rel=0.3)
    assert loads[(closed > 0.08) & (closed < 0.155)] == pytest.approx(hinge, rel=0.06)
    for thickness in (0.2e-3, 0.3e-3):
        one = replace(BEAD, thickness=thickness)
        hinge = con.bead_plastic_load.si(thickness, one.span, SY)
        unit = 4.0 * one.stiffness * one.height
        assert hinge == pytest.approx(unit / (4.0 * one.groups[0]))


@pytest.mark.parametrize("formed", [False, True])
@pytest.mark.parametrize("yielding", [0.3, 4.0])
def test_plates_put_in_what_the_leg_takes_up(yielding: float, formed: bool) -> None:
    leg = Leg(yielding, 0.02, 0.13, formed=formed)
    closed = np.arange(0.04, 0.951, 0.04)
    states = leg.press(closed)
    loads = np.array([0.0, *(s.load for s in states)])
    put_in = 12.0 * leg.slope**2 * np.trapezoid(loads, np.concatenate([[0.0], closed]))
    assert states[-1].work == pytest.approx(put_in, rel=0.01)


def test_elastic_leg_gives_all_of_it_back_and_a_yielding_one_little() -> None:
    closed = np.arange(0.04, 0.881, 0.04)
    for yielding, least, most in ((0.2, 0.97, 1.0), (8.0, 0.0, 0.2)):
        leg = Leg(yielding, 1e-4, 0.05, formed=False)
        states = leg.press(closed)
        back = leg.back(closed[-1], states[-1])
        assert np.all(np.diff(back) > 0.0)
        assert least <= back[-1] / closed[-1] <= most


# --------------------------------------------------------------------------- a solid beside it
SOLID = solid_rows(Path(__file__).with_name("bead_solid.csv"))


def solid(thickness: float, strength: float) -> np.ndarray:
    """Parts of the height closed and line loads [N/m] there; mm and MPa."""
    at = (thickness, strength)
    rows = [r for r in SOLID if (r["thickness"], r["strength"]) == at]
    return np.array([(r["closed"], 1e3 * r["load"]) for r in rows]).T


@pytest.mark.parametrize(
    ("thickness", "strength", "most"),
    # the strip does not shear, which tells in a thick leg that stays elastic
    [(0.25, 965.0, 0.06), (0.25, 193e3, 0.15), (0.12, 193e3, 0.05)],
    ids=["yielding", "elastic", "elastic and thin"],
)
def test_strip_against_a_solid(thickness: float, strength: float, most: float) -> None:
    bead = replace(BEAD, yield_strength=strength * 1e6, thickness=thickness * 1e-3)
    closed, loads = solid(thickness, strength)
    assert len(closed) >= 19 and closed[-1] == 0.95
    assert np.max(np.abs(strip(bead, closed, False) / loads - 1.0)) < most


def test_the_rows_of_the_solid_are_its_own() -> None:
    closed, loads = solid(0.25, 965.0)
    made = bead_solid.bead(0.25, 965.0)
    found = [1e3 * made.press(0.20 * (1.0 - c)) for c in closed[:6]]
    assert found == pytest.approx(loads[:6], rel=1e-4) and made.plastic.max() > 0.0


# --------------------------------------------------------------------------- the table
@pytest.mark.parametrize("groups", [(4.23, 0.0216, 0.133), (1.4, 0.01, 0.08), (9.0, 0.03, 0.3)])
def test_table_gives_what_the_strip_gives(groups: tuple[float, float, float]) -> None:
    table = beads.table()
    load, back = table.at(groups)
    leg = Leg(*groups)
    states = leg.press(table.closed)
    assert load == pytest.approx([s.load for s in states], rel=0.08, abs=0.015 * load[-1])
    last = leg.back(float(table.closed[-1]), states[-1])
    assert back[-1][:-1] == pytest.approx(last[:-1], abs=0.03)
    assert back[-1][-1] == pytest.approx(last[-1], abs=0.08)  # where the last touch is lost


def test_table_says_where_it_comes_from() -> None:
    assert beads.table().status in tables.STATUSES
    assert "make_beads.py" in beads.table().source
    assert np.all(np.diff(beads.table().load) >= 0.0)


# --------------------------------------------------------------------------- the bead
def test_forming_costs_load() -> None:
    closed = np.array([0.3, 0.5, 0.75, 0.9])
    formed, fresh = strip(BEAD, closed, True), strip(BEAD, closed, False)
    assert np.all(formed < fresh)
    assert np.interp(closed * BEAD.height, *BEAD.way) == pytest.approx(formed, rel=0.08)


def test_half_bead_is_one_leg() -> None:
    half = replace(BEAD, legs=1)
    assert half.flat_load == pytest.approx(BEAD.flat_load / 2.0)
    assert half.springback == pytest.approx(BEAD.springback)


def test_bead_rises_to_flat_and_comes_back_on_a_lower_way() -> None:
    w, v = BEAD.way
    assert np.all(np.diff(w) > 0.0)
    assert np.all(np.diff(v) > 0.0)
    assert w[-1] < BEAD.height
    for i, path in enumerate(BEAD.paths):
        back = path[: i + 1]
        assert np.all(np.diff(back) > 0.0)
        assert np.all(back >= w[: i + 1] * (1.0 - 1e-12))
        assert np.all(back[:i] >= BEAD.paths[max(i - 1, 0)][:i])
        assert back[-1] == w[i]
    assert 0.0 < BEAD.springback < BEAD.height


def test_thicker_and_stronger_beads_press_harder_when_flat() -> None:
    for other in (replace(BEAD, thickness=0.3e-3), replace(BEAD, yield_strength=1.2e9)):
        assert other.flat_load > BEAD.flat_load
    assert replace(BEAD, span=1.8e-3).flat_load < BEAD.flat_load


@pytest.mark.parametrize(
    ("name", "value"),
    [("bead_height", "0.8 mm"), ("elongation", "1 %"), ("layer_thickness", "1.2 mm")],
)
def test_beads_beyond_the_table_are_refused_by_name(name: str, value: str) -> None:
    with pytest.raises(InputError, match=name):
        con.make("multi-layer steel", **{name: value})
