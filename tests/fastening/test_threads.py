"""Threads by designation."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, tables
from sealkit.fastening.threads import thread


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("M11x1.5", "M11x1.5"),
        ("M11x1.25", "M11x1.25"),
        ("m11 X 1,5", "M11x1.5"),
        ("M12", "M12x1.75"),
        ("M12×1.25", "M12x1.25"),
        ("M10x1.5-6g", "M10x1.5"),
        ("7/16-20 UNF", "7/16-20 UNF"),
        ("7/16-20", "7/16-20 UNF"),
        ("7/16 UNF", "7/16-20 UNF"),
        ("0.4375-20", "7/16-20 UNF"),
        ("1/2-13 UNC", "1/2-13 UNC"),
        ("1/2-13 UNC-2A", "1/2-13 UNC"),
        ("1/2-28 UNEF", "1/2-28 UNEF"),
        ("1-8", "1-8 UNC"),
        ("1 1/4-12", "1 1/4-12 UNF"),
        ("1-1/4-12 UNF", "1 1/4-12 UNF"),
    ],
)
def test_ways_to_write_a_thread(text: str, name: str) -> None:
    assert thread(text).designation == name


@pytest.mark.parametrize("name", list(tables.load("threads")))
def test_every_listed_thread_is_read_back(name: str) -> None:
    t = thread.si(name)
    row = tables.load("threads")[name]
    assert t.designation == name
    assert t.diameter == pytest.approx(row["diameter"], rel=1e-9)
    assert t.pitch == pytest.approx(row["pitch"], rel=1e-9)
    for kind, ours in (("stress", t.stress_area), ("root", t.root_area)):
        for end in ("", "_inch"):
            printed = row[f"printed_{kind}_area{end}"]
            if printed is not None:
                assert ours == pytest.approx(printed, rel=0.007)


@pytest.mark.parametrize("name", list(tables.load("threads")))
def test_order_of_the_diameters(name: str) -> None:
    t = thread.si(name)
    assert t.root_diameter < t.minor_diameter < t.pitch_diameter < t.diameter
    assert t.root_area < t.stress_area < math.pi / 4 * t.diameter**2


def test_the_two_systems_have_their_own_root() -> None:
    inch, metric = thread.si("1/2-13"), thread.si("M12x1.75")
    wrong = math.pi / 4 * (inch.diameter - 0.938194 * inch.pitch) ** 2
    assert 1.008 < wrong / inch.stress_area < 1.014
    assert wrong / 0.0254**2 == pytest.approx(0.14376, abs=5e-6)
    assert (metric.diameter - metric.root_diameter) / metric.pitch == pytest.approx(1.226869)
    assert (inch.diameter - inch.root_diameter) / inch.pitch == pytest.approx(1.299038)


def test_stress_area_is_the_circle_between_pitch_and_root() -> None:
    for name in ("M8x1.25", "M14x1.5"):
        t = thread.si(name)
        mean = (t.pitch_diameter + t.root_diameter) / 2
        assert t.stress_area == pytest.approx(math.pi / 4 * mean**2, rel=1e-6)


def test_units_at_the_door() -> None:
    t = thread("M10x1.5")
    assert t.diameter.to("mm").magnitude == pytest.approx(10)
    assert t.stress_area.to("in**2").magnitude == pytest.approx(57.99 / 645.16, rel=1e-4)


@given(d=st.integers(4, 36), share=st.floats(0.03, 0.2))
@settings(max_examples=30, deadline=None)
def test_any_sensible_metric_pitch(d: int, share: float) -> None:
    p = round(d * share, 3)
    t = thread.si(f"M{d}x{p:g}")
    assert t.diameter == pytest.approx(d * 1e-3)
    assert t.pitch == pytest.approx(p * 1e-3)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("M11", "M11x1.5"),
        ("M11x15", "M11x1.5"),
        ("M13", "M14x2"),
        ("M10x", "M10x1"),
        ("7/16", "7/16-14 UNC"),
        ("7/16-20 UNC", "7/16-20 UNF"),
        ("7/16-21 UNF", "7/16-20 UNF"),
        ("1/2-200", "1/2-20 UNF"),
        ("M40x3", "M36x4"),
        ("7/16 x 20", "7/16-20 UNF"),
    ],
)
def test_bad_designation_suggests_the_nearest(text: str, hint: str) -> None:
    with pytest.raises(InputError, match="designation: got") as err:
        thread(text)
    assert f'did you mean "{hint}"' in str(err.value)


@pytest.mark.parametrize(
    "text", ["", "foo", "M", "M3", "1/0-20", "9/16-0", "3-4", 10, None, "M10x1.5 -", "x" * 300]
)
def test_nonsense_is_refused(text: object) -> None:
    with pytest.raises(InputError, match="wanted"):
        thread(text)
