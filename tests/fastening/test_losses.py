"""Preload after scatter and losses."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, Q, checks, tables
from sealkit.fastening.losses import (
    Loss,
    embedment_depth,
    embedment_loss,
    preload_range,
    share_loss,
)

CREEP = share_loss.si("gasket creep relaxation", 0.05, 0.15, "demonstration", "invented")


def force_loss(name: str, low: object, high: object) -> Loss:
    """A loss given as a force, with its unit."""
    return Loss(name, low, high, False, "demonstration", "invented")


HEAT = force_loss("heat", -6e3, -4e3)


def test_embedding_of_the_through_bolt_example() -> None:
    want = checks.row("scatter", "FZ-loss").want()
    depth = embedment_depth("10 to 40 um", interfaces=1)
    loss = embedment_loss(depth, "466.8 MN/m", "1379 MN/m")
    assert loss.low == loss.high
    assert loss.high.to("kN").magnitude == pytest.approx(want.magnitude, abs=0.005)
    out = preload_range("37.9 kN", 0, [loss])
    assert (1 - out.nominal / out.assembly).magnitude == pytest.approx(0.101, abs=5e-4)


@pytest.mark.parametrize("row", tables.load("embedment").rows, ids=lambda r: r["key"])
def test_embedding_adds_up_surface_by_surface(row: dict) -> None:
    roughness, load = row["key"].split(", ")
    depth = embedment_depth.si(roughness, interfaces=3, faces=1, shear=load == "shear")
    assert depth == pytest.approx(row["thread"] + row["face"] + 3 * row["interface"])
    none = embedment_depth.si(roughness, interfaces=0, faces=0, threads=0)
    assert none == 0


@settings(max_examples=50, deadline=None)
@given(
    f=st.floats(2e4, 1e5),
    s=st.floats(0, 0.35),
    low=st.floats(0, 0.1),
    more=st.floats(0, 0.1),
    heat=st.floats(-3e3, 3e3),
)
def test_balance_closes_term_by_term(
    f: float, s: float, low: float, more: float, heat: float
) -> None:
    losses = [
        share_loss.si("creep", low, low + more, "demonstration", "invented"),
        force_loss("heat", heat, heat + 500),
        embedment_loss.si(8e-6, 3e8, 9e8),
    ]
    out = preload_range.si(f, s, losses)
    assert out.assembly_low == pytest.approx(f * (1 - s))
    assert out.assembly_high == pytest.approx(f * (1 + s))
    for end, start in (
        ("low", out.assembly_low),
        ("nominal", out.assembly),
        ("high", out.assembly_high),
    ):
        left = max(start - sum(getattr(t, end) for t in out.terms), 0)
        assert getattr(out, end) == pytest.approx(left)
    assert out.low <= out.nominal + 1e-6
    assert out.nominal <= out.high + 1e-6
    assert [t.name for t in out.terms] == ["creep", "heat", "embedment"]


def test_nothing_in_nothing_lost() -> None:
    out = preload_range("50 kN", 0)
    assert out.low == out.nominal == out.high == Q(50e3, "N")
    assert out.terms == ()


def test_shares_count_on_each_end_and_a_gain_is_a_negative_loss() -> None:
    out = preload_range.si(50e3, 0.2, [CREEP, HEAT])
    assert out.low == pytest.approx(40e3 * 0.85 + 4e3)
    assert out.high == pytest.approx(60e3 * 0.95 + 6e3)
    assert out.nominal == pytest.approx(50e3 * 0.90 + 5e3)
    assert out.terms[1].low == pytest.approx(-4e3)


def test_preload_never_falls_below_zero() -> None:
    out = preload_range.si(10e3, 0.3, [force_loss("x", 8e3, 9e3)])
    assert out.low == 0
    assert out.high == pytest.approx(5e3)


def test_arrays_of_preload_scatter_and_loss() -> None:
    f = np.linspace(2e4, 6e4, 5)[:, None]
    s = np.array([0.1, 0.25, 0.35])
    many = share_loss.si(
        "creep", np.zeros(3), np.array([0.1, 0.2, 0.3]), "demonstration", "invented"
    )
    out = preload_range.si(f, s, [many, embedment_loss.si(8e-6, 3e8, 9e8)])
    assert out.low.shape == out.high.shape == (5, 3)
    one = preload_range.si(
        f[2, 0],
        s[1],
        [
            share_loss.si("creep", 0.0, 0.2, "demonstration", "invented"),
            embedment_loss.si(8e-6, 3e8, 9e8),
        ],
    )
    assert out.low[2, 1] == pytest.approx(one.low)


def test_units_at_the_door_and_inch_agrees() -> None:
    terms = [
        force_loss("heat", "200 lbf", "400 lbf"),
        share_loss("creep", "5 %", "10 %", "demonstration", "invented"),
    ]
    out = preload_range("10000 lbf", "25 %", terms)
    assert out.low.to("lbf").magnitude == pytest.approx(7500 * 0.9 - 400)
    assert out.terms[0].low.to("lbf").magnitude == pytest.approx(400)
    assert out.terms[1].high.to("lbf").magnitude == pytest.approx(12500 * 0.05)
    assert {t.status for t in out.terms} == {"invented"}


def test_every_wrong_input_is_named() -> None:
    with pytest.raises(InputError) as err:
        preload_range("50 N*m", 1.5)
    assert [f.field for f in err.value.faults] == ["preload", "scatter"]
    for bad in (CREEP, "creep", [0.1], 3):
        with pytest.raises(InputError, match="losses"):
            preload_range("50 kN", 0.1, bad)
    for loss in (
        Loss("x", 0.1, 0.2, True, "", "invented"),
        Loss("x", 0.1, 0.2, True, "book", "hearsay"),
        Loss("x", 0.1, 1.2, True, "book", "invented"),
        Loss("x", 2e3, 1e3, False, "book", "invented"),
        Loss("x", "2 mm", "3 mm", False, "book", "invented"),
        Loss("x", float("nan"), 1.0, False, "book", "invented"),
    ):
        with pytest.raises(InputError):
            preload_range("50 kN", 0.1, [loss])
    with pytest.raises(InputError, match="high"):
        share_loss("creep", 0.2, 0.1, "book", "invented")
    with pytest.raises(InputError, match="status"):
        share_loss("creep", 0.1, 0.2, "book", "rumour")
    with pytest.raises(InputError, match="roughness"):
        embedment_depth("mirror")
    for count in (-1, 1.5, True):
        with pytest.raises(InputError, match="interfaces"):
            embedment_depth(interfaces=count)
    with pytest.raises(InputError, match="embedment"):
        embedment_loss("11 kN", "466 MN/m", "1379 MN/m")
