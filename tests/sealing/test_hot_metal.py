"""What is left of a metal when hot: printed values, directions, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from sealkit import tables
from sealkit.errors import InputError
from sealkit.sealing import hot_metal

C = 273.15


@pytest.mark.parametrize(
    ("cold", "hot", "celsius"),
    [(940, 875, 100), (940, 790, 200), (940, 745, 250), (940, 705, 300),
     (1100, 1020, 100), (1100, 925, 200), (640, 590, 100), (640, 540, 200)],
)  # fmt: skip
def test_yield_of_fastener_steel_is_that_of_the_standard(
    cold: float, hot: float, celsius: float
) -> None:
    """ISO 898-1 (1999), Annex A, classes 10.9, 12.9 and 8.8 (from memory), MPa."""
    share = hot_metal.left.si("alloy steel", celsius + C).yield_strength
    assert share == pytest.approx(hot / cold, abs=0.012)


@pytest.mark.parametrize(
    ("celsius", "modulus"), [(50, 69.3), (100, 67.9), (150, 65.1), (200, 60.2)]
)
def test_modulus_of_aluminium_is_that_of_the_standard(celsius: float, modulus: float) -> None:
    """EN 1999-1-2, Table 2 (from memory), GPa, of 70 at room temperature."""
    share = hot_metal.left.si("A356-T6", celsius + C).modulus
    assert share == pytest.approx(modulus / 70.0, abs=0.001)


@pytest.mark.parametrize("material", ["alloy steel", "grey iron", "A356-T6", "copper"])
def test_hotter_is_never_stronger_or_stiffer(material: str) -> None:
    found = hot_metal.left.si(material, np.linspace(230.0, 560.0, 200))
    for share in (found.modulus, found.yield_strength, found.tensile):
        assert np.all(np.diff(share) <= 0) and share[0] == 1.0 and share[-1] < 1.0


def test_every_metal_of_the_table_of_materials_is_known() -> None:
    for name in tables.load("materials"):
        assert 0 < hot_metal.left.si(name, 400.0).yield_strength <= 1
    with pytest.raises(InputError, match="material"):
        hot_metal.left("balsa", "20 degC")
