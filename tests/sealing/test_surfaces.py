"""Finish and flatness wanted of a face."""

import pytest

from sealkit import InputError, tables
from sealkit.sealing import constructions
from sealkit.sealing.surfaces import face_of, finish_wanted, flatness_wanted, local_warp, rz_of_ra
from sealkit.sealing.teardown import questions


# --------------------------------------------------------------------------- finish and flatness
def test_texts_on_steel_layers_disagree_and_all_are_shown() -> None:
    out = {
        t.key: t.verdict for t in finish_wanted("multi-layer steel", "aluminium", "55 microinch")
    }
    assert out["steel layers, fine"] == "above"
    assert out["steel layers on aluminium"] == "within"
    assert out["any gasket, opposite view"] == ""
    iron = {t.key for t in finish_wanted("multi-layer steel", "iron")}
    assert "steel layers on iron" in iron
    assert "steel layers on aluminium" not in iron


def test_a_figure_printed_in_both_units_holds_in_both() -> None:
    """20 to 30 microinch is also 0.5 to 0.8 µm: the rounding of a unit refuses nobody."""
    for finish in ("30 microinch", "0.8 um"):
        fine, *_ = finish_wanted("multi-layer steel", "aluminium", finish)
        assert (fine.key, fine.verdict) == ("steel layers, fine", "within")


def test_soft_gaskets_want_grip() -> None:
    texts = finish_wanted("fibre composite", "aluminium", "20 microinch")
    assert [t.verdict for t in texts if t.key == "soft gaskets on aluminium"] == ["below"]
    assert {t.status for t in texts} == {"common practice, no source"}
    assert texts[0].least.to("um").magnitude == pytest.approx(0.762)


def test_rz_range() -> None:
    low, high = rz_of_ra("0.8 um")
    assert (low.to("um").magnitude, high.to("um").magnitude) == pytest.approx((3.2, 5.6))


def test_flatness_limits_worked_out_for_the_span() -> None:
    four = {
        t.key: t.most.to("mm").magnitude
        for t in flatness_wanted("fibre composite", "400 mm", cylinders=4)
    }
    assert four["head and block together, lengthwise"] == pytest.approx(0.102, abs=0.0005)
    assert four["production head, whole"] == pytest.approx(0.15)
    assert four["old rule for composite gaskets"] == pytest.approx(0.0254 * 400 / 304.8)
    assert "head and block together, across" not in four
    three = flatness_wanted("fibre composite", "300 mm", cylinders=3)
    assert three[0].most.to("mm").magnitude == pytest.approx(0.076, abs=0.0005)
    local = {t.key: t.most for t in flatness_wanted("multi-layer steel", "20 mm")}
    assert local["production head, local"].to("mm").magnitude == pytest.approx(0.04)
    assert "production head, whole" not in local
    across = [t.key for t in flatness_wanted("multi-layer steel", "150 mm", 4, across=True)]
    assert "head and block together, across" in across
    assert "head and block together, lengthwise" not in across


def test_copper_wants_two_thou_any_way() -> None:
    texts = flatness_wanted("copper with wire ring", "400 mm", out_of_flat="0.06 mm")
    assert [t.verdict for t in texts if t.key == "copper, any direction"] == ["above"]


@pytest.mark.parametrize("name", constructions.names())
def test_every_construction_has_texts_and_questions(name: str) -> None:
    assert finish_wanted(name, "iron")
    assert flatness_wanted(name, "400 mm", 4)
    asked = [q["key"] for q in questions(name)]
    assert {"permanent_set", "warp", "ring_mark_depth", "burn_through"} <= set(asked)
    assert ("missing_coat" in asked) == name.startswith("multi-layer")


@pytest.mark.parametrize("table", ["finish", "flatness", "teardown"])
def test_tables_name_constructions_that_exist(table: str) -> None:
    known = {"all", *constructions.names()}
    for row in tables.load(table).rows:
        assert set(row["constructions"].split(";")) <= known


def test_a_long_bow_leaves_little_within_a_bore() -> None:
    assert local_warp("0.10 mm", "400 mm", "86 mm").to("um").magnitude == pytest.approx(
        4.6, abs=0.05
    )
    assert local_warp.si(1e-4, 0.05, 0.086) == pytest.approx(1e-4)


def test_bad_faces_and_counts_are_named() -> None:
    with pytest.raises(InputError, match="face"):
        finish_wanted("multi-layer steel", "tin")
    with pytest.raises(InputError, match="cylinders"):
        flatness_wanted("multi-layer steel", "400 mm", cylinders=0)


@pytest.mark.parametrize(
    ("material", "face"),
    [
        ("A356-T6", "aluminium"),
        ("billet aluminium", "aluminium"),
        ("CGI", "iron"),
        ("cast iron", "iron"),
    ],
)
def test_a_face_is_known_by_the_table_and_not_by_its_name(material: str, face: str) -> None:
    assert face_of(material) == face
