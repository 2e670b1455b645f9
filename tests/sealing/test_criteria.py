"""Seating and residual criteria, flange loads, assembly stress, blow-out."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, Q, tables
from sealkit.sealing.criteria import (
    basic_width,
    blow_out,
    effective_width,
    gasket_factors,
    residual_line_load,
    seating_line_load,
)
from tests import validation
from tests.validation.asme_pcc_1 import assembly_stress
from tests.validation.asme_viii import (
    design_load,
    effective_gasket,
    gasket_loads,
    required_bolt_area,
)
from tests.validation.valve_handbook import blow_out_width

MPA = 1e6


def test_ring_joint_example_runs_through_to_the_bolt_stress() -> None:
    row = validation.row("asme_viii", "R1-operating")
    loads = gasket_loads(**row.arguments())
    area = required_bolt_area(
        loads.operating, loads.seating, **validation.row("asme_viii", "R1-area").arguments()
    )
    want = validation.row("asme_viii", "R1-area").want()
    assert area.to("in**2").magnitude == pytest.approx(want.magnitude, abs=0.000005)
    there = validation.row("asme_viii", "R1-bolt-stress").arguments()["actual_area"]
    w = design_load(area, there, "87150 psi")
    assert w.to("lbf").magnitude == pytest.approx(1546967, abs=0.5)
    stress = w / Q(22.784, "in**2")
    want = validation.row("asme_viii", "R1-bolt-stress").want()
    assert stress.to("psi").magnitude == pytest.approx(want.magnitude, abs=0.5)


def test_operating_load_governs_the_bolts_of_the_ring_joint_not_seating() -> None:
    loads = gasket_loads(**validation.row("asme_viii", "R1-operating").arguments())
    assert loads.operating > 20 * loads.seating
    assert loads.operating == loads.pressure_force + loads.compression_force


def test_copper_ring_asks_for_more_than_the_gas_force() -> None:
    loads = gasket_loads(**validation.row("asme_viii", "C1-operating").arguments())
    assert (loads.operating / loads.pressure_force).to("").magnitude == pytest.approx(
        1.64, abs=0.005
    )
    ring = effective_gasket("86 mm", "92 mm")
    per_length = loads.compression_force / (np.pi * ring.reaction_diameter)
    line = residual_line_load("10 MPa", 4.75, ring.effective_width)
    assert per_length.to("N/mm").magnitude == pytest.approx(line.to("N/mm").magnitude)


def test_effective_width_changes_over_at_a_quarter_inch_without_a_step() -> None:
    b0 = np.array([0.1, 0.25, 0.25 + 1e-9, 1.0, 4.0]) * 0.0254
    b = effective_width.si(b0)
    assert b[:2] == pytest.approx(b0[:2])
    assert b[2] == pytest.approx(b[1], rel=1e-6)
    assert b[3:] / 0.0254 == pytest.approx([0.5, 1.0])
    # metric text: 2.52 sqrt(b0) in millimetres
    assert 1000 * effective_width.si(0.025) == pytest.approx(2.52 * 5.0, rel=2e-4)


def test_wide_gasket_acts_near_its_outer_edge() -> None:
    wide = effective_gasket.si(0.3, 0.4)
    assert wide.reaction_diameter == pytest.approx(0.4 - 2 * wide.effective_width)
    both = effective_gasket.si(np.array([0.086, 0.3]), np.array([0.092, 0.4]))
    assert both.reaction_diameter == pytest.approx([0.089, wide.reaction_diameter])


def test_facings() -> None:
    assert basic_width("8 mm").to("mm").magnitude == pytest.approx(4)
    assert basic_width("8 mm", "ring joint").to("mm").magnitude == pytest.approx(1)
    with pytest.raises(InputError, match="facing"):
        basic_width("8 mm", "groove")


def test_code_constants_are_a_little_below_exact_ones() -> None:
    args = (10 * MPA, 0.089, 0.0015, 4.75, 89.6 * MPA)
    exact, code = gasket_loads.si(*args), gasket_loads.si(*args, constants="code")
    assert code.operating / exact.operating == pytest.approx(0.9995, abs=2e-4)


def test_pipe_flange_example_stands_between_its_limits() -> None:
    out = assembly_stress(**validation.row("asme_pcc_1", "P1-selected").arguments())
    assert out.gasket_stress.to("MPa").magnitude == pytest.approx(250)
    assert max(out.seating_limit, out.operating_limit) < out.selected
    # target stress equals the crush stress in the sheet: at the limit, not beyond
    assert out.selected.m_as("Pa") == pytest.approx(out.crush_limit.m_as("Pa"), rel=1e-12)


@pytest.mark.parametrize("row", tables.load("factors_m_y").rows, ids=lambda r: r["gasket"])
def test_every_gasket_of_the_table_gives_factors(row: dict) -> None:
    out = gasket_factors(row["gasket"])
    assert 0 <= out.factor <= 6.5
    assert 0 <= out.seating.to("psi").magnitude <= 26000 * (1 + 1e-12)
    assert out.status in tables.STATUSES
    assert out.status != "published"  # seen in copies, not in the code itself


def test_conflict_of_the_two_copies_is_shown_and_the_larger_used() -> None:
    out = gasket_factors("flat metal-jacketed, stainless")
    assert out.seating.to("psi").magnitude == pytest.approx(9000)
    assert "9000 psi" in out.note and "7600 psi" in out.note
    assert gasket_factors("solid copper").note == ""
    with pytest.raises(InputError, match="did you mean"):
        gasket_factors("vegetable fiber")


def test_blow_out_pressure_is_where_the_hold_runs_out() -> None:
    args = {"thickness": "1.2 mm", "width": "4 mm", "residual_stress": "25 MPa"}
    edge = blow_out("60 bar", **args)
    assert edge.push.to("N/mm").magnitude == pytest.approx(7.2)  # 60 bar on 1.2 mm
    at = blow_out(edge.pressure, **args)
    assert at.friction_hold.magnitude == pytest.approx(at.push.to("N/m").magnitude)


def test_web_strength_helps_and_wants_a_radius() -> None:
    plain = blow_out.si(6e6, 1.2e-3, 4e-3, 25e6)
    web = blow_out.si(6e6, 1.2e-3, 4e-3, 25e6, 0.1, 15e6, 0.045)
    assert web.web_hold == pytest.approx(15e6 * 4e-3 * 1.2e-3 / 0.045)
    assert web.pressure > plain.pressure
    assert plain.web_hold == 0
    with pytest.raises(InputError, match="radius"):
        blow_out("60 bar", "1.2 mm", "4 mm", "25 MPa", tensile_strength="15 MPa")


@settings(max_examples=50, deadline=None)
@given(
    t=st.floats(2e-4, 3e-3),
    mu=st.floats(0.05, 0.3),
    m=st.floats(0.5, 4),
    p=st.floats(1e5, 2e7),
)
def test_at_the_least_width_leak_and_blow_out_come_together(
    t: float, mu: float, m: float, p: float
) -> None:
    w = blow_out_width.si(t, mu, m)
    # stress at which it just leaks: m p; there the friction just holds the push
    assert blow_out.si(p, t, w, m * p, mu).pressure == pytest.approx(p)


def test_arrays_broadcast_and_inch_agrees() -> None:
    p = np.linspace(2e6, 12e6, 6)[:, None]
    w = np.array([2e-3, 3e-3, 5e-3])
    assert blow_out.si(p, 1e-3, w, 60e6 + 0.0 * p).pressure.shape == (6, 3)
    assert blow_out.si(0.0, 1e-3, 3e-3, 60e6).push == 0.0
    loads = gasket_loads.si(p, 0.089, w / 2, 4.75, 89.6e6)
    assert loads.operating.shape == (6, 3)
    inch = gasket_loads("1450.3774 psi", "3.5039370 in", "0.0590551 in", 4.75, "12995.38 psi")
    metric = gasket_loads("10 MPa", "89 mm", "1.5 mm", 4.75, "89.6 MPa")
    assert inch.operating.to("kN").magnitude == pytest.approx(
        metric.operating.to("kN").magnitude, rel=1e-6
    )
    assert seating_line_load("13000 psi", "0.059 in").to("lbf/in").magnitude == pytest.approx(767)


def test_wrong_inputs_are_all_named() -> None:
    with pytest.raises(InputError) as err:
        residual_line_load("10 kN", -1, "1.5")
    assert [f.field for f in err.value.faults] == ["pressure", "factor", "effective_width"]
    with pytest.raises(InputError, match="pressure"):
        residual_line_load("10 bara", 4.75, "1.5 mm")
