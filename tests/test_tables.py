"""Every handbook table: sources, statuses, unique keys, finite numbers."""

import math
from collections import Counter

import pytest

from sealkit import tables
from sealkit.errors import InputError
from tests.sheets import TABLES

MINE = [
    "threads",
    "grades",
    "friction",
    "scatter",
    "embedment",
    "bearing_limits",
    "engagement",
    "materials",
    "gasket_moduli",
]


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_source_and_known_status(name: str) -> None:
    table = tables.load(name)
    assert table.rows
    for row in table.rows:
        assert row["source"].strip()
        assert row["status"] in tables.STATUSES
        assert "note" in row


@pytest.mark.parametrize("name", TABLES)
def test_keys_are_unique(name: str) -> None:
    table = tables.load(name)
    double = [k for k, n in Counter(str(k).lower() for k in table).items() if n > 1]
    assert double == []
    assert all(str(k).strip() for k in table)


@pytest.mark.parametrize("name", TABLES)
def test_numbers_are_finite(name: str) -> None:
    for row in tables.load(name).rows:
        for head, value in row.items():
            if isinstance(value, float):
                assert math.isfinite(value), head


@pytest.mark.parametrize("name", [n for n in MINE if n != "grades"])
def test_other_names_lead_to_one_row(name: str) -> None:
    table = tables.load(name)
    words: Counter[str] = Counter()
    for row in table.rows:
        words.update({row[table.key].lower()})
        words.update(w.strip().lower() for w in row.get("also", "").split(";") if w.strip())
    assert [w for w, n in words.items() if n > 1] == []


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("friction", "thread_low", "thread"),
        ("friction", "thread", "thread_high"),
        ("friction", "head_low", "head"),
        ("friction", "head", "head_high"),
        ("scatter", "low", "high"),
        ("engagement", "low", "high"),
        ("bearing_limits", "low", "high"),
        ("grades", "diameter_low", "diameter_high"),
    ],
)
def test_low_is_not_above_high(name: str, low: str, high: str) -> None:
    for row in tables.load(name).rows:
        assert 0 < row[low] <= row[high]


def test_nut_factors_have_a_source_of_their_own() -> None:
    for row in tables.load("friction").rows:
        if row["nut_factor"] is None:
            assert row["nut_factor_source"] == row["nut_factor_status"] == ""
        else:
            assert row["nut_factor_source"]
            assert row["nut_factor_status"] in tables.STATUSES


def test_tightening_factors_belong_to_their_scatter() -> None:
    for row in tables.load("scatter").rows:
        for end in ("low", "high"):
            s = row[end]
            assert (1 + s) / (1 - s) == pytest.approx(row[f"factor_{end}"], abs=0.005)


def test_materials_are_in_si_and_label_their_expansion() -> None:
    for row in tables.load("materials").rows:
        assert 60e9 < row["modulus"] < 220e9
        assert row["poisson"] is None or 0.2 < row["poisson"] < 0.35
        assert 9e-6 < row["expansion"] < 25e-6
        assert (row["t_low"] is None) == (row["t_high"] is None)
        if row["t_low"] is None:
            assert "range" in str(row["note"])
        else:
            assert 270 < row["t_low"] < row["t_high"] < 1000
        if row["tensile"] is not None and row["yield_strength"] is not None:
            assert row["yield_strength"] < row["tensile"]


def test_the_materials_of_a_joint_are_there() -> None:
    table = tables.load("materials")
    for key in (
        "alloy steel",
        "steel",
        "grey iron",
        "compacted graphite iron",
        "ductile iron",
        "A356-T6",
        "319-T6",
        "6061-T6",
        "301 full hard",
        "304",
        "copper, annealed",
        "copper, hard",
    ):
        assert table[key]["modulus"] > 0


def test_conflicts_stay_visible() -> None:
    assert "190 MPa" in str(tables.load("materials")["A356-T6"]["note"])
    assert "25 %" in tables.load("scatter")["turn of nut"]["note"]
    assert tables.load("scatter")["turn of nut"]["high"] == pytest.approx(0.15)
    assert tables.load("scatter")["turn of nut, NASA-STD-5020B"]["high"] == pytest.approx(0.25)


def test_unknown_key_names_the_nearest() -> None:
    with pytest.raises(InputError, match='did you mean "moly paste"'):
        tables.load("friction").get("moly past", "lubricant")


def test_names_that_hold_a_comma_stand_in_quotes() -> None:
    with pytest.raises(InputError, match='"dry, as received", "dry, cleaned"'):
        tables.load("friction").get("?", "lubricant")


@pytest.mark.parametrize("word", ["pump gas", "Pump Fuel", "petrol"])
def test_trade_words_of_gasoline(word: str) -> None:
    assert tables.load("fuels")[word]["fuel"] == "gasoline"


def test_alcohol_is_no_single_fuel() -> None:
    assert "alcohol" not in tables.load("fuels")


@pytest.mark.parametrize(
    "text",
    [
        "key,source,status,note\na,,published,\n",
        "key,source,status,note\na,book,hearsay,\n",
        "key,x [mm],source,status,note\na,one,book,published,\n",
        "key,source,status,note\na,book,published\n",
    ],
)
def test_a_bad_table_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="demo line 2"):
        tables.read_csv(text, "demo")


def test_what_stands_in_for_a_material_is_a_row() -> None:
    bearing, materials = tables.load("bearing_limits"), tables.load("materials")
    for row in materials.rows:
        assert row["family"] in ("iron", "aluminium", "steel", "copper")
        assert (row["bearing_like"] in bearing) == (row["family"] != "copper")
        if row["strength_like"]:
            assert row["tensile"] is None
            assert materials[row["strength_like"]]["tensile"] is not None
            assert materials[row["strength_like"]]["family"] == row["family"]


def test_the_metal_of_a_construction_is_a_material() -> None:
    assert all(row["metal"] in tables.load("materials") for row in tables.load("creep").rows)
