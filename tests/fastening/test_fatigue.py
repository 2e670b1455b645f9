"""Endurance of a fastener's thread, against the Goodman line of a textbook.

Endurance strengths of rolled threads, SAE 5 and 8, ISO 8.8 to 12.9: R. G. Budynas and
J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., Table 8-17, and the Goodman line of
a preloaded bolt, eq. 8-38 (both from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from sealkit import InputError, Q
from sealkit.fastening import fatigue, grades

ENDURANCE = {"8.8": 129e6, "9.8": 140e6, "10.9": 162e6, "12.9": 190e6}


def goodman(endurance: float, tensile: float, preload_stress: float) -> float:
    """Amplitude that a bolt on top of its preload stands, Se (Sut - si) / (Sut + Se)."""
    return endurance * (tensile - preload_stress) / (tensile + endurance)


@pytest.mark.parametrize("grade", ENDURANCE)
@pytest.mark.parametrize("diameter", [0.010, 0.012, 0.014])
def test_amplitude_lies_near_and_not_above_the_goodman_line(grade: str, diameter: float) -> None:
    """Preloaded to 0.75 of proof; the textbook knows no size and more strength helps a little."""
    s = grades.strength.si(grade, diameter)
    book = goodman(ENDURANCE[grade], float(s.tensile), 0.75 * float(s.proof))
    assert 0.65 < fatigue.endurance_amplitude.si(diameter) / book < 1.05


@pytest.mark.parametrize(("mm", "mpa"), [(8, 54.2), (10, 51.0), (12, 48.9), (16, 46.2)])
def test_amplitude_by_size(mm: float, mpa: float) -> None:
    """Worked by hand from the formula."""
    assert fatigue.endurance_amplitude.si(mm * 1e-3) == pytest.approx(mpa * 1e6, abs=0.05e6)
    assert fatigue.endurance_amplitude(f"{mm} mm").to("MPa").magnitude == pytest.approx(
        mpa, abs=0.05
    )


def test_rolled_after_heat_treatment_stands_more_the_less_it_is_preloaded() -> None:
    before = fatigue.endurance_amplitude.si(0.012, mean=np.array([0.3, 0.7, 1.0]))
    after = fatigue.endurance_amplitude.si(
        0.012, "after heat treatment", np.array([0.1, 0.7, 1.0, 1.2])
    )
    assert np.ptp(before) == 0.0
    assert after / before[0] == pytest.approx([1.7, 1.3, 1.0, 1.0])
    with pytest.raises(InputError, match="rolled"):
        fatigue.endurance_amplitude.si(0.012, "cut")


def test_alternating_stress_is_half_the_swing() -> None:
    assert fatigue.alternating_stress(Q(50, "kN"), Q(54.22, "kN"), Q(84.4, "mm**2")).to(
        "MPa"
    ).magnitude == (pytest.approx(25.0))
