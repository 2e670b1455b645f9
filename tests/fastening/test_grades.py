"""Strength grades."""

import numpy as np
import pytest

from sealkit import InputError, Q, tables
from sealkit.fastening.grades import custom_strength, grades, strength


@pytest.mark.parametrize("row", tables.load("grades").rows, ids=lambda r: r["row"])
def test_every_row_is_reached_and_in_order(row: dict) -> None:
    middle = (row["diameter_low"] + row["diameter_high"]) / 2
    s = strength.si(row["grade"], middle)
    assert (s.source, s.status, s.note) == (row["source"], row["status"], row["note"])
    assert 0 < s.proof < s.yield_strength < s.tensile
    for word in row["also"].split(";"):
        if word:
            assert strength.si(word, middle) == s


def test_size_ranges_are_honoured() -> None:
    assert strength("8.8", "12 mm").proof.to("MPa").magnitude == pytest.approx(580)
    at_edge = strength("8.8", "16 mm")
    assert at_edge.proof.to("MPa").magnitude == pytest.approx(580)
    above = strength("8.8", "18 mm")
    assert above.proof.to("MPa").magnitude == pytest.approx(600)
    assert "580" in str(above.note)
    assert "600" in str(at_edge.note)
    for grade, d in (("SAE 5", "1.05 in"), ("9.8", "18 mm"), ("alloy socket-head", "14 mm")):
        with pytest.raises(InputError, match=r"diameter: got .* size range"):
            strength(grade, d)


def test_array_of_diameters_in_one_range() -> None:
    s = strength.si("10.9", np.array([0.010, 0.011, 0.012]))
    assert s.proof == pytest.approx(830e6)
    with pytest.raises(InputError, match="diameter"):
        strength.si("8.8", np.array([0.010, 0.020]))


def test_inch_and_metric_diameters_agree() -> None:
    assert strength.si("SAE 8", 0.5 * 0.0254) == strength.si("SAE 8", 0.0127)
    assert strength("SAE 8", "0.5 in").tensile.to("ksi").magnitude == pytest.approx(150)


@pytest.mark.parametrize("level", [180, 190, 200, 220, 260])
def test_stud_levels_follow_the_stated_rule(level: int) -> None:
    s = strength(f"stud {level} ksi", "11 mm")
    assert s.tensile.to("ksi").magnitude == pytest.approx(level)
    assert s.yield_strength.to("ksi").magnitude == pytest.approx(0.90 * level)
    assert s.proof.to("ksi").magnitude == pytest.approx(0.85 * 0.90 * level)
    assert s.status == "from memory"
    assert "rule" in str(s.note)


def test_unknown_grade_names_the_nearest() -> None:
    with pytest.raises(InputError, match='did you mean "stud 190 ksi"'):
        strength("stud 191 ksi", "11 mm")
    with pytest.raises(InputError, match="grade"):
        strength(8.8j, "11 mm")
    assert "ISO 10.9" in grades()


def test_wrong_dimension() -> None:
    with pytest.raises(InputError, match="diameter"):
        strength("10.9", "12 N")
    with pytest.raises(InputError, match="diameter"):
        strength("10.9", 12)


def test_custom_strength() -> None:
    s = custom_strength(yield_strength="1200 MPa", tensile="1310 MPa")
    assert s.proof.to("MPa").magnitude == pytest.approx(1020)
    own = custom_strength("170 ksi", "190 ksi", "150 ksi", source="certificate", status="published")
    assert own.proof.to("ksi").magnitude == pytest.approx(150)
    assert own.source == "certificate"
    many = custom_strength(Q(np.array([900.0, 1100.0]), "MPa"), Q(1250.0, "MPa"))
    assert many.proof.to("MPa").magnitude == pytest.approx([765, 935])


def test_custom_strength_lists_every_fault() -> None:
    with pytest.raises(InputError) as err:
        custom_strength("900 MPa", "800 MPa", "950 MPa", status="rumour")
    assert [f.field for f in err.value.faults] == ["yield_strength", "proof", "status"]
