"""The moving section of the joint: it draws what the report says, to the scale it states."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import report as reports
from sealkit.classroom.drawing import joint_section
from sealkit.report import Report


def section(report: Report, still: float | None = None) -> ElementTree.Element:
    return ElementTree.fromstring(joint_section.joint_section(report, still=still))


def lifted(report: Report, angle: float) -> float:
    """Lift at the bore edge, micrometres, measured on the drawing."""
    svg = section(report, angle)
    group = next(g for g in svg.iter("g") if any(p.get("fill") == "#e3e7ea" for p in g))
    up = -float(re.findall(r"-?[\d.]+", group.get("transform", ""))[1])
    head = next(p.get("d", "") for p in group if p.get("fill") == "#e3e7ea")
    middle = -float(re.findall(r"q148,(-?[\d.]+)", head)[0])
    # a quadratic curve a fifth of the way along: 2 * 0.2 * 0.8 of its middle point
    at_edge = up + 2 * 0.2 * 0.8 * middle
    times = float(re.findall(r"drawn (\d+) times", str(svg.get("aria-label")))[0])
    walls = 288.0 - 112.0
    return at_edge / walls * report.build.engine.bore / times * 1e6


@pytest.mark.parametrize("torque", ["156 N*m", "120 N*m", "70 N*m"])
def test_head_stands_as_high_as_the_report_says(torque: str) -> None:
    report = reports.run(builds.demo("boosted-four").vary({"fasteners.torque": torque}))
    turn = np.degrees(np.asarray(report.gas.cycle.crank_angle))
    for angle in (-90.0, 10.0, 26.0):
        lift = 1e6 * float(report.over_angle.seal_lift[np.argmin(np.abs(turn - angle))])
        assert lifted(report, angle) == pytest.approx(max(lift, 0.0), rel=0.03, abs=0.3)


def test_a_way_out_is_drawn_where_too_little_is_left() -> None:
    four = builds.demo("boosted-four")
    for torque, leaks in (("120 N*m", False), ("60 N*m", True)):
        report = reports.run(four.vary({"fasteners.torque": torque}))
        seal = next(r for r in report.limits if r.check == "residual")
        assert bool(seal.holds) is not leaks
        ways = [g for g in section(report, 26.0).iter("g") if g.get("stroke-width") == "5"]
        assert [g.get("opacity") for g in ways] == ["1" if leaks else "0"]
        told = str(section(report).get("aria-label"))
        assert ("the seal leaks" in told) is leaks


@pytest.mark.parametrize("name", builds.demos())
def test_it_moves_and_stays_on_the_page(name: str) -> None:
    report = reports.run(builds.demo(name))
    text = joint_section.joint_section(report, "inch")
    svg = ElementTree.fromstring(text)
    moved = [a for tag in ("animate", "animateTransform") for a in svg.iter(tag)]
    assert len(moved) >= 5 and "nan" not in text and len(text) < 9_000
    for one in moved:
        keys, values = (str(one.get(k)).split(";") for k in ("keyTimes", "values"))
        assert len(keys) == len(values) and keys[0] == "0" and keys[-1] == "1"
        assert one.get("dur") == f"{joint_section.TURN:g}s"
    assert "thou" in str(svg.get("aria-label"))
