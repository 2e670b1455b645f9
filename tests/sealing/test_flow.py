"""Flow curves, hardness and bite: outside values, limits, and bad input.

Check values: ``data/checks/copper.csv`` and ``indentation.csv`` (rows with a call are run in
test_checks). The wire model and its table follow slip-line pressure and Tabor's strain.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import checks, tables
from sealkit.errors import InputError
from sealkit.sealing import flow
from sealkit.units import Q
from tests.validation import considere, hardness, johnson_cook

RADIUS = 0.0205 * 25.4e-3
COPPER = (530e6, 0.44)
REJECTED = (315e6, 0.54)


def want(id: str, unit: str = "") -> tuple[float, float]:
    """Outside value and its tolerance, in `unit`."""
    row = checks.row("copper", id)
    tolerance = Q(float(row.tolerance.split()[0]), row.tolerance.partition(" ")[2])
    return float(row.want().to(unit).magnitude), float(tolerance.to(unit).magnitude)


# --------------------------------------------------------------------------- wire table
@pytest.mark.parametrize("n", range(1, 6))
def test_wire_table_step_by_step(n: int) -> None:
    inputs = checks.row("copper", f"W{n}-stress").arguments()
    depth = float(Q(inputs["depth"]).to("m").magnitude)
    a = flow.contact_half_width.si(depth, RADIUS)
    stress = flow.flow_stress.si(0.2 * a / RADIUS, *COPPER)
    value, tolerance = want(f"W{n}-stress", "MPa")
    assert stress / 1e6 == pytest.approx(value, abs=tolerance)
    value, tolerance = want(f"W{n}-pressure", "MPa")
    assert flow.PLANE_STRAIN * stress / 1e6 == pytest.approx(value, abs=tolerance)
    load = flow.wire_line_load.si(depth, RADIUS, *COPPER)
    assert load == pytest.approx(2.0 * a * flow.PLANE_STRAIN * stress)
    value, tolerance = want(f"W{n}-force", "kN")
    assert load * np.pi * 0.090 / 1e3 == pytest.approx(value, abs=tolerance)


def test_plane_strain_constraint() -> None:
    assert pytest.approx(2.968, abs=0.0005) == flow.PLANE_STRAIN


def test_both_receivers_hold_what_the_largest_protrusion_pushes_out() -> None:
    pushed = flow.displaced_area.si(0.010 * 25.4e-3, RADIUS)
    spare = []
    for id in ("R1-area", "R2-area"):
        sizes = checks.row("copper", id).arguments()
        area = float((Q(sizes["width"]) * Q(sizes["depth"])).to("m**2").magnitude)
        value, tolerance = want(id, "mm**2")
        assert area * 1e6 == pytest.approx(value, abs=tolerance)
        spare.append(1.0 - pushed / area)
    assert spare == pytest.approx([0.25, 0.48], abs=0.006)


def test_segment_area_at_the_ends() -> None:
    assert flow.displaced_area.si(0.0, RADIUS) == 0.0
    assert flow.displaced_area.si(RADIUS, RADIUS) == pytest.approx(np.pi / 2 * RADIUS**2)
    depth = np.linspace(0.0, RADIUS, 2001)
    width = 2.0 * flow.contact_half_width.si(depth, RADIUS)
    by_strips = np.concatenate([[0.0], np.cumsum(0.5 * (width[1:] + width[:-1]) * np.diff(depth))])
    assert flow.displaced_area.si(depth, RADIUS) == pytest.approx(by_strips, abs=1e-4 * RADIUS**2)


# --------------------------------------------------------------------------- the copper law
def tabor(pair: tuple[float, float]) -> float:
    return float(hardness.tabor.si(flow.flow_stress.si(flow.REPRESENTATIVE_STRAIN, *pair)))


def test_one_pair_fits_strength_and_hardness_and_the_other_is_rejected() -> None:
    strength, vickers = want("M-tensile", "MPa")[0], want("M-hardness")[0]
    for id, pair in (("H1", COPPER), ("H2", REJECTED)):
        value, tolerance = want(f"{id}-hardness")
        assert tabor(pair) == pytest.approx(value, abs=tolerance)
    assert considere.tensile_strength.si(*COPPER) / 1e6 == pytest.approx(strength, rel=0.12)
    assert tabor(COPPER) == pytest.approx(vickers, rel=0.12)
    # the other pair misses both by more than a third
    assert considere.tensile_strength.si(*REJECTED) / 1e6 < 0.65 * strength
    assert tabor(REJECTED) < 0.65 * vickers


def test_the_table_keeps_the_rejected_pair_apart() -> None:
    table = tables.load("flow")
    assert (table["copper"]["strength"], table["copper"]["exponent"]) == COPPER
    other = table["copper, annealed, rejected pair"]
    assert (other["strength"], other["exponent"]) == REJECTED
    assert other["status"] == "from memory"
    assert "rejected" in other["note"]
    with pytest.raises(InputError, match="hardness"):
        flow.indentation_pressure("copper, annealed, rejected pair")


def test_considere_is_the_top_of_the_engineering_curve() -> None:
    strain = np.linspace(1e-4, 1.5, 200_001)
    for pair in (COPPER, REJECTED):
        engineering = flow.flow_stress.si(strain, *pair) * np.exp(-strain)
        assert considere.tensile_strength.si(*pair) == pytest.approx(engineering.max(), rel=1e-8)
        assert strain[engineering.argmax()] == pytest.approx(pair[1], abs=1e-4)
    engineering = johnson_cook.johnson_cook.si(strain, 90e6, 292e6, 0.31) * np.exp(-strain)
    neck, strength = johnson_cook.necking.si(90e6, 292e6, 0.31)
    assert strength == pytest.approx(engineering.max(), rel=1e-8)
    assert neck == pytest.approx(strain[engineering.argmax()], abs=1e-4)


def test_shear_stress_of_the_printed_example() -> None:
    stress = johnson_cook.johnson_cook.si(0.17, 90e6, 292e6, 0.31, 0.025, 170.0)
    value, tolerance = want("JC-shear", "MPa")
    assert stress / np.sqrt(3.0) / 1e6 == pytest.approx(value, abs=tolerance)


def test_johnson_cook_softens_with_heat_to_nothing_at_the_melting_point() -> None:
    row = tables.load("flow")["copper, high strain rate"]
    law = [row[k] for k in ("initial", "strength", "exponent", "rate_factor")]
    law += [1.0, row["softening"]]
    cold, warm, melted = johnson_cook.johnson_cook.si(
        0.1, *law, np.array([298.0, 500.0, 1356.0]), 298.0, row["melting"]
    )
    assert cold == pytest.approx(90e6 + 292e6 * 0.1**0.31)
    assert 0.0 < warm < cold
    assert melted == 0.0
    with pytest.raises(InputError, match="melting"):
        johnson_cook.johnson_cook(0.1, "90 MPa", "292 MPa", 0.31, melting="200 K")


def test_hard_copper_hardness_over_strength() -> None:
    row = tables.load("flow")["hard copper"]
    value, tolerance = want("M-hard-ratio")
    ratio = flow.indentation_pressure.si("hard copper") / row["tensile"]
    assert ratio == pytest.approx(value, abs=tolerance)


def test_cold_work_gives_back_its_hardness() -> None:
    table = tables.load("flow")
    before = 0.0
    for temper in ("copper, half hard", "copper, hard"):
        number = table[temper]["hardness"]
        cold = float(flow.prestrain_of_hardness.si(number, *COPPER))
        assert cold > before
        before = cold
        again = flow.flow_stress.si(flow.REPRESENTATIVE_STRAIN, *COPPER, cold)
        assert hardness.tabor.si(again) == pytest.approx(number)
    assert flow.prestrain_of_hardness.si(table["copper"]["hardness"], *COPPER) == 0.0


# --------------------------------------------------------------------------- hardness and bite
@settings(max_examples=60, deadline=None)
@given(share=st.floats(0.05, 0.95), load=st.floats(10.0, 1e5))
def test_brinell_and_its_dent_are_inverse(share: float, load: float) -> None:
    ball = 0.010
    number = hardness.brinell.si(load, ball, share * ball)
    assert flow.brinell_dent.si(number, load, ball) == pytest.approx(share * ball, rel=1e-9)
    # the projected dent is smaller than its surface
    assert flow.meyer.si(load, share * ball) > number * flow.KGF_PER_MM2


def test_annealed_copper_yields_first_and_hard_copper_pushes_the_wire_into_aluminium() -> None:
    aluminium, iron, soft, hard = (
        flow.bite.si(300e3, flow.indentation_pressure.si(m), RADIUS)
        for m in ("A356-T6", "grey iron", "copper, annealed", "copper, hard")
    )
    assert iron < aluminium < soft
    assert hard < aluminium


@settings(max_examples=60, deadline=None)
@given(part=st.floats(0.0, 1.0), hardness=st.floats(1e8, 4e9))
def test_bite_carries_its_load_at_the_hardness(part: float, hardness: float) -> None:
    load = part * 2.0 * RADIUS * hardness
    depth = flow.bite.si(load, hardness, RADIUS)
    assert 2.0 * flow.contact_half_width.si(depth, RADIUS) * hardness == pytest.approx(
        load, rel=1e-6, abs=1e-6 * RADIUS * hardness
    )


def test_bite_stops_at_the_full_width() -> None:
    assert flow.bite.si(2.0 * RADIUS * 5e8 * 3.0, 5e8, RADIUS) == RADIUS


def test_elastic_approach_is_linear_and_falls_with_width() -> None:
    one = flow.elastic_approach.si(100e3, 0.3e-3, 1.09e-3, 117e9, 0.343)
    assert flow.elastic_approach.si(200e3, 0.3e-3, 1.09e-3, 117e9, 0.343) == pytest.approx(2 * one)
    assert 0.0 < flow.elastic_approach.si(100e3, 0.5e-3, 1.09e-3, 117e9, 0.343) < one
    assert flow.elastic_approach.si(100e3, 5e-3, 1e-3, 117e9, 0.343) > 0.0  # wider than deep


def test_confined_modulus_limits() -> None:
    assert flow.confined_modulus.si(117e9, 0.0) == 117e9
    assert flow.confined_modulus.si(117e9, 0.49) > 10.0 * 117e9
    per_closure = flow.confined_modulus("117 GPa", 0.343) / Q(1.09, "mm")
    assert float(per_closure.to("GPa/mm").magnitude) == pytest.approx(167.0, abs=0.5)


# --------------------------------------------------------------------------- doors
def test_array_scalar_and_inch_agree() -> None:
    depths = Q(np.array([0.003, 0.006, 0.010]), "in")
    many = flow.wire_line_load(depths, "0.0205 in", "530 MPa", 0.44)
    for d, q in zip([0.0762, 0.1524, 0.254], many, strict=True):
        one = flow.wire_line_load(f"{d} mm", f"{RADIUS * 1e3} mm", "76.87 ksi", 0.44)
        assert float(one.to("N/mm").magnitude) == pytest.approx(
            float(q.to("N/mm").magnitude), rel=1e-4
        )


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: flow.contact_half_width("0.6 mm", "0.5 mm"), "depth"),
        (lambda: flow.bite("300 N", "800 MPa", "0.5 mm"), "line_load"),
        (lambda: flow.bite("300 N/mm", "800 MPa", "-0.5 mm"), "radius"),
        (lambda: flow.bite("300 N/mm", "800 MPa", 0.5), "radius"),
        (lambda: hardness.brinell("1000 kgf", "10 mm", "11 mm"), "dent"),
        (lambda: flow.brinell_dent(1.0, "3000 kgf", "10 mm"), "hardness"),
        (lambda: flow.flow_stress(float("nan"), "530 MPa", 0.44), "strain"),
        (lambda: flow.flow_stress(0.1, "530 mm", 0.44), "strength"),
        (lambda: flow.confined_modulus("117 GPa", 0.5), "poisson"),
        (lambda: flow.indentation_pressure("A356"), "A356-T6"),
    ],
)
def test_bad_input_names_the_argument(call: object, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        call()  # type: ignore[operator]
    assert len(caught.value.faults) == 1
