"""The seal at one crank angle: on its way back, and at its worst what the report judges."""

from __future__ import annotations

import numpy as np
import pytest

from sealkit import build
from sealkit import report as reports
from sealkit.analysis import margins
from sealkit.report import ranking
from sealkit.report.seal_view import SealView, seal_on, seal_view
from sealkit.sealing import constructions

FOUR = build.demo("boosted-four")
NAMES = constructions.names()


def of(name: str) -> SealView:
    return seal_view(reports.run(ranking.with_construction(FOUR, name)))


@pytest.mark.parametrize("name", NAMES)
def test_working_point_lies_on_the_way_back(name: str) -> None:
    one = of(name)
    lift = float(one.lift())
    on_curve = float(one.seal.carried(one.rest - lift, one.top))
    assert float(one.left()) == pytest.approx(on_curve, rel=1e-6, abs=1e-6)
    judged = [
        r.capacity
        for r in margins.limits(one.report.case, one.report.gas.design_peak)
        if r.key == "springback" and one.report.temperature is r.state.temperature
    ]
    # the first start is judged for its load alone
    first = one.report.sealing is one.report.case.first
    assert first or any(one.springback == pytest.approx(left) for left in judged)


def test_worst_angle_is_where_the_report_judges() -> None:
    for name in NAMES:
        one = of(name)
        row = next(r for r in one.report.limits if r.key == "residual")
        assert float(one.left()) == pytest.approx(float(row.capacity), rel=0.01, abs=10.0)
        assert float(one.wanted()) == pytest.approx(float(row.demand), rel=0.01)


def test_way_back_starts_at_the_load_before_firing_and_ends_where_it_springs_back() -> None:
    one = of("multi-layer steel")
    load = one.back(np.array([0.0, 0.5 * one.springback, 1.01 * one.springback]))
    assert load[0] == pytest.approx(one.before) and load[0] > load[1] > load[2] == 0
    assert one.share_kept == pytest.approx(float(one.left()) / one.before) and one.holds()
    assert one.used_thickness < one.seal.free_thickness


def test_angle_asked_for_is_the_nearest_on_the_grid() -> None:
    report = reports.run(FOUR)
    one = seal_view(report, np.radians(10.0))
    assert one.angle == pytest.approx(np.radians(10.0), abs=np.radians(1.0))
    assert one.place == int(np.argmin(np.abs(one.crank_angle - np.radians(10.0))))
    assert seal_view(report).place == one.worst


def test_reports_are_kept_and_angle_or_gasket_is_as_asked_for() -> None:
    here, there = seal_on(FOUR, angle=0.0), seal_on(FOUR, angle=0.5)
    assert here.report is there.report and here.place < there.place
    assert seal_on(FOUR, "copper sheet").name == "copper sheet"
    assert seal_on(FOUR).name == FOUR.gasket.construction


@pytest.mark.parametrize("name", NAMES)
def test_curves_on_and_off_meet_at_the_top(name: str) -> None:
    one = of(name)
    assert one.pressed[-1] == pytest.approx(one.let_go[-1], rel=1e-3)
    assert np.all(one.let_go <= one.pressed * (1 + 1e-9) + 1e-9)
    assert one.farthest > one.springback
    np.testing.assert_allclose(one.back(one.lifts)[0], one.before, rtol=1e-6)
    assert len(one.helper) == (len(one.closures) if one.helpers else 0)


def test_gas_pushes_the_bare_edge_with_pressure_times_thickness() -> None:
    one = of("fibre composite")
    edge, held = one.report.joint.gasket.edge, one.blow_out()
    assert edge is not None
    peak = float(np.max(one.report.gas.sizing))
    assert held.push == pytest.approx(peak * edge.thickness, rel=1e-3)
    assert held.friction_hold == pytest.approx(2 * edge.friction * one.body_left * edge.width)
    radius = one.report.joint.seal_diameter / 2
    web = edge.tensile_strength * edge.width * edge.thickness / radius
    assert held.web_hold == pytest.approx(web)
