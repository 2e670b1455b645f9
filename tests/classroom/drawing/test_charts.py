"""Charts and tables show what the report says, in the unit they name."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import paper
from sealkit import report as reports
from sealkit.classroom.drawing import charts
from sealkit.classroom.drawing.charts import PLOT
from sealkit.classroom.drawing.plot import crank_places
from sealkit.classroom.drawing.shown import html_table
from sealkit.classroom.lessons import lesson, whole_joint
from sealkit.classroom.panel import panels
from sealkit.drawing.svg import COLOURS
from sealkit.errors import InputError
from sealkit.report import Report

CURVES = {curve.key: curve for curve in PLOT.curves}
SHORT = {"mean": "average", "bound": "constant volume"}  # on the chart
# by definition of the pound-force and the inch: psi in a bar, lbf in a kN
PSI = 1e5 * 0.0254**2 / 4.4482216152605
LBF = 1e3 / 4.4482216152605


@pytest.fixture(scope="module", params=builds.demos())
def report(request: pytest.FixtureRequest) -> Report:
    return reports.run(builds.demo(request.param))


def test_lines_are_the_reports_own_values(report: Report) -> None:
    x, _ = PLOT.numbers("mean", report)
    at = crank_places(report.gas.cycle.crank_angle)
    assert 121 <= len(x) <= 241 and x[0] == pytest.approx(-90) and x[-1] == pytest.approx(120)
    y = PLOT.view(report)
    assert set(y) >= set(CURVES)
    np.testing.assert_array_equal(y["mean"], report.gas.cycle.pressure[at])
    np.testing.assert_array_equal(y["clamp"], report.over_angle.clamp[at])
    # a degree apart, the peak is met within a tenth of a percent
    assert y["mean"].max() == pytest.approx(report.gas.mean_peak, rel=1e-3)
    assert y["bound"].max() == pytest.approx(float(report.gas.bound.peak_pressure), rel=1e-3)
    assert y["sized"] == report.gas.design_peak


def test_seal_line_ends_where_the_limit_table_does(report: Report) -> None:
    y = PLOT.view(report)
    rows = [r for r in report.everywhere if r.check == "residual"]  # in each state that is judged
    wanted, left = y["wanted"].max(), y["left"].min()
    assert any(
        wanted == pytest.approx(float(r.demand), rel=2e-3)
        and left == pytest.approx(float(r.capacity), rel=2e-3)
        for r in rows
    )


def titles(report: Report, system: str) -> list[str]:
    notes = PLOT.layout([report], system)["annotations"]
    return [note["text"].removeprefix("<b>").removesuffix("</b>") for note in notes]


def test_units_are_converted_and_named(report: Report) -> None:
    metric, inch = (
        {key: PLOT.numbers(key, report, system)[1] for key in CURVES}
        for system in ("metric", "inch")
    )
    np.testing.assert_allclose(metric["mean"] * PSI, inch["mean"], rtol=1e-9)
    np.testing.assert_allclose(metric["gas"] * LBF, inch["gas"], rtol=1e-9)
    np.testing.assert_allclose(metric["left"] * 0.0254 * LBF, inch["left"], rtol=1e-9)
    np.testing.assert_allclose(metric["lift"] / 25.4, inch["lift"], rtol=1e-9)
    assert titles(report, "metric") == [
        "Cylinder pressure, bar absolute",
        "Load on one bore, kN",
        "Load on the combustion seal, N/mm",
        "Lift at the seal, µm",
    ]
    assert [t.rpartition(", ")[2] for t in titles(report, "inch")] == [
        "psi absolute",
        "lbf",
        "lbf/in",
        "thou",
    ]


def test_ranges_keep_every_line_in_view(report: Report) -> None:
    layout = PLOT.layout([report], "inch")
    for key, curve in CURVES.items():
        if not curve.ranged:  # a bound that may leave the chart, and what is shaded
            continue
        low, high = layout[f"yaxis{curve.chart + 1 if curve.chart else ''}"]["range"]
        _, y = PLOT.numbers(key, report, "inch")
        assert low <= y.min() and y.max() < high


def test_figure_is_plain_and_readable(report: Report) -> None:
    figure = panels.static(report.build, whole_joint.SCENE, system="inch").figure
    assert type(figure).__name__ == "Figure"
    assert len(figure.data) == len(CURVES)
    assert figure.layout.font.size >= 12 and figure.layout.autosize
    assert figure.layout.width is None
    for trace in figure.data:
        label = CURVES[trace.meta].label
        shades = trace.meta == "beyond"
        assert [t for t in trace.text if t] == [SHORT.get(trace.meta, label)] * (not shades)
        assert trace.name == label
    # lines of one colour in one chart differ in their dashes
    seen = [(t.yaxis, t.line.color, t.line.dash) for t in figure.data]
    assert len(set(seen)) == len(seen)
    assert [a.text.strip("<b>/") for a in figure.layout.annotations] == titles(report, "inch")


def _contrast(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 1.05 / (0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05)


def test_colours_stand_out_on_white() -> None:
    """WCAG 2.1, 1.4.11: lines need a contrast of 3 to 1."""
    assert len(set(COLOURS.values())) == len(COLOURS)
    assert all(_contrast(c) >= 3.0 for c in COLOURS.values())


def test_tables_follow_the_report(report: Report) -> None:
    limits, loads = charts.limit_rows(report, "metric"), charts.load_rows(report, "metric")
    assert len(limits) == len(report.limits)
    assert limits[0]["limit"].startswith(str(report.weakest.title))
    assert {row["verdict"] for row in limits} <= {"holds", "TOO CLOSE TO CALL", "DOES NOT HOLD"}
    assert [row["preload"] for row in loads] == ["low", "nominal", "high"]
    clamp, left = (
        [float(row[column].split()[0].replace(",", "")) for row in loads]
        for column in ("clamp", "clamp left")
    )
    assert left == sorted(left) and all(a < b for a, b in zip(left, clamp, strict=True))
    assert left[0] == pytest.approx(report.over_angle.clamp.min() / 1e3, abs=0.051)  # to a tenth


def test_html_is_escaped() -> None:
    text = html_table('a "b" <c>', [{"<x>": "<script>", "y & z": "1"}])
    assert "<script>" not in text and "&lt;script&gt;" in text and "y &amp; z" in text
    ElementTree.fromstring(text)


def test_static_shows_figure_tables_and_verdict() -> None:
    shown = panels.static("na-iron-v8", whole_joint.SCENE)
    assert shown.system == "inch" and str(shown.result.weakest.title) in str(shown.sentence)
    assert len(shown.figure.data) == len(CURVES)
    assert "psi" in shown.html() and shown.build.sheet.name in shown.html()
    for text in (shown.html(), str(shown)):
        assert "Limits, weakest first" in text and shown.result.weakest.status in text


def test_static_takes_the_panels_controls() -> None:
    plain = panels.static("boosted-four", whole_joint.SCENE)
    more = panels.static(
        "boosted-four",
        whole_joint.SCENE,
        settings={"Boost": "1.8 bar gauge", "Gasket": "fibre composite"},
    )
    assert more.result.gas.design_peak > plain.result.gas.design_peak
    assert more.build.gasket.construction == "fibre composite"
    for wrong, part in (
        ({"Boost": "99 bar gauge"}, "from 0"),
        ({"Boost": "9 mm"}, "gauge"),
        ({"Bost": "1 bar gauge"}, "Boost"),
        ({"Gasket": "cardboard"}, "fibre composite"),
    ):
        with pytest.raises(InputError, match=part):
            panels.static("boosted-four", whole_joint.SCENE, settings=wrong)


# --------------------------------------------------------------------------- lesson 00
def test_answers_are_worked_out_on_the_build_given() -> None:
    four = builds.demo("boosted-four")
    other = four.vary({"charge.boost": "10 psi"})
    for number in (1, 2, 3):
        (one, first), (two, second) = (
            whole_joint.EXERCISES.both(number, b, "metric") for b in (four, other)
        )
        assert one.key == two.key == f"00-{number}"
        assert first.html.startswith("<details><summary") and first.html != second.html
        assert re.search(r"\d+\.\d+ (bar|kN)", first.text)


def test_answer_one_agrees_with_the_report() -> None:
    four = builds.demo("boosted-four")
    more = reports.run(four.vary({"charge.boost": 1.5 * four.get("charge.boost")}))
    asked, shown = whole_joint.EXERCISES.both(1, four, "metric")
    text = shown.text
    assert asked.value == pytest.approx(
        more.gas.design_peak / reports.run(four).gas.design_peak, rel=1e-12
    )
    assert f"{more.gas.design_peak / 1e5:.1f} bar" in text
    assert f"{more.over_angle.clamp.min() / 1e3:.1f} kN" in text


def test_nut_factor_is_the_tables() -> None:
    four = builds.demo("boosted-four")
    assert whole_joint.nut_factor(four) == 0.18
    with pytest.raises(InputError, match="nut factor"):
        whole_joint.nut_factor(four.vary({"fasteners.lubricant": "phosphated and oiled"}))


def test_check_table_shows_book_ours_and_source() -> None:
    shown = lesson.check_table(whole_joint.CHECKS)
    lines = shown.text.splitlines()
    assert lines[0].split() == ["what", "book", "ours"]
    assert shown.text.count("✓") == sum(map(len, whole_joint.CHECKS.values()))
    assert "short form [2]" in shown.text and "3750 lbf·in  3750 ✓" in shown.text
    assert "(published)" in shown.html


def test_sources_name_every_limit() -> None:
    report = reports.kept_report(builds.demo("boosted-four"))
    told = lesson.sources(report)
    for row in report.limits:
        assert str(row.title) in told.text and row.status in told.text
    assert all(c in lesson.cautions().text for c in paper.CAUTIONS)
