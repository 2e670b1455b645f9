"""Words of the report: an inch report is inch throughout, ties are told, clauses read well."""

from __future__ import annotations

import dataclasses
import math
import re
from typing import Any

import pytest

from sealkit import build, paper, report
from sealkit.report import kept_report, workshop
from sealkit.sealing.surfaces import flatness_wanted
from tests.sheets import printed, without_map

METRIC = re.compile(
    r"(?<![A-Za-z0-9.])[+-]?[0-9][0-9.,]* ?"
    r"(?:mm|µm|um|cm|m|kPa|MPa|GPa|Pa|bar|kN|MN|N|°C|degC|K|kW|W|J|kJ|kg|g|cm³|mm²|L)(?![A-Za-z])"
)
# what may stay: none is needed today; a note that quotes a standard's own class would stand here
ALLOWED: tuple[str, ...] = ()
DEMOS = build.demos()


def _metric(text: str) -> list[str]:
    for words in ALLOWED:
        text = text.replace(words, "")
    return [text[max(m.start() - 40, 0) : m.end() + 20] for m in METRIC.finditer(text)]


def in_order(made: report.Report, order: tuple[Any, ...]) -> report.Report:
    """The report with its limits reached in this order."""
    other = dataclasses.replace(made)
    other.__dict__["order"] = order  # where the cached property keeps it
    return other


def test_the_scan_sees_metric_quantities() -> None:
    for text in ("350 kPa", "(0.051 mm", "-0.41 cm³", "250 MPa", "3 N/mm", "20 °C", "1.5 mm,"):
        assert _metric(text), text
    for text in ("M12x1.5", "0.41 in³", "51 psi", "lambda 0.82", "4 bores", "25.2°"):
        assert not _metric(text), text


@pytest.mark.parametrize("name", DEMOS)
def test_an_inch_report_holds_no_metric_unit(name: str) -> None:
    told = printed(name, False)
    text, page = paper.text(told, "inch"), paper.page(told, "inch")
    assert _metric(text) == []
    assert _metric(re.sub(r"(?s)<style>.*?</style>|<pre.*?</pre>|<svg.*?</svg>", "", page)) == []
    assert "µin" in text or told.report.build.gasket.construction.startswith("copper")


@pytest.mark.parametrize("name", DEMOS)
def test_an_inch_report_with_its_deck_map_holds_no_metric_unit(name: str) -> None:
    text = paper.text(printed(name), "inch")
    assert _metric(text) == []
    assert "hole C" not in text.replace("coolant hole C", "")


def test_what_fails_first_is_told_in_one_form() -> None:
    made = kept_report(build.demo("boosted-four"))
    first = made.order[0]

    def words(pressure: float) -> str:
        order = (dataclasses.replace(first, pressure=pressure),)
        return report.first_words(in_order(made, order), "inch")

    assert words(0.0).startswith("without gas: ")
    assert words(130e5).startswith("1,900 psi: ")
    assert words(math.inf).startswith("nothing up to three times")
    for name in DEMOS:
        text = paper.text(printed(name, False), "inch")
        assert "first at before" not in text and "first at nothing" not in text


@pytest.mark.parametrize("name", DEMOS)
def test_who_outgrows_whom_is_told_without_a_minus(name: str) -> None:
    told = printed(name, False)
    text = paper.text(told, "inch")
    assert "by -" not in text
    behind = "the fasteners outgrow the stack by"
    assert (behind in text) == (told.report.warm.differential_expansion < 0)


def test_a_tie_in_the_order_of_failure_says_so() -> None:
    made = kept_report(build.demo("na-iron-v8"))
    first = made.order[0]
    other = dataclasses.replace(made.order[1], pressure=first.pressure)
    together = in_order(made, (first, other))
    assert [b.partition(" (")[2] for _, b in report.order_rows(together)] == [
        "",
        "together with the line above; the order says nothing)",
    ]
    later = dataclasses.replace(other, pressure=first.pressure * (1 + 1e-7))
    close = in_order(made, (first, later))
    assert report.order_rows(close)[1][1].endswith("(a little later than the line above)")
    apart = dataclasses.replace(other, pressure=first.pressure * 1.2)
    assert "(" not in report.order_rows(in_order(made, (first, apart)))[1][1]
    # two limits with one consequence: told once
    twice = dataclasses.replace(first, pressure=first.pressure * 1.2)
    assert len(report.order_rows(in_order(made, (first, twice)))) == 1
    before = dataclasses.replace(first, pressure=0.0)
    several = in_order(made, (before, before, before))
    assert "and 2 more; their order says nothing" in several.verdict()


def test_constructions_that_fail_before_firing_are_told_not_to_be_in_order() -> None:
    told = printed("na-iron-v8", False)
    assert sum(r.lost_at == 0.0 for r in told.ranked) > 1 and "says nothing" in told.tie
    assert told.tie in paper.text(told) and told.tie in paper.page(told)


def test_stiffness_has_no_more_figures_than_it_is_worth() -> None:
    groups = {g.key: g.rows for g in report.facts(kept_report(build.demo("na-iron-v8")), "inch")}
    found = dict(groups["preload"])
    for part in ("fastener", "members"):
        assert found[f"stiffness of {part}"].partition(", with")[0].endswith(",000 lbf/in")


@pytest.mark.parametrize("name", DEMOS)
def test_the_flatness_to_work_to_is_the_strictest_and_each_text_says_for_whom(name: str) -> None:
    faces = next(
        g.rows for g in workshop.facts(kept_report(build.demo(name)), "inch") if g.key == "faces"
    )
    limits = [v for k, v in faces if k == "head and deck, flatness"]
    work = next(v for k, v in faces if k.endswith("flatness: work to"))
    wanted = min(float(v.split()[2]) for v in limits)
    assert float(work.split()[0]) == wanted
    assert all("for any gasket" in v or "for this kind of gasket" in v for v in limits)
    assert any("for any gasket" in v for v in limits)


def test_small_words_of_the_shop() -> None:
    """One bore is no bores; what starts at nothing goes up to; a burette reads cc in any shop."""
    one = build.loads(without_map()).vary(
        {"engine.cylinders": 1, "fasteners.around_bore": 4, "fasteners.on_head": 4}
    )
    joint = dict(next(g.rows for g in report.facts(report.run(one)) if g.key == "joint"))
    assert "1 bore, " in joint["fasteners that count for it"]
    drag = printed("methanol-drag", False)
    ring = dict(workshop.ring_facts(drag.report, "inch"))
    assert not any(words.startswith("0.000 in") for words in ring.values())
    assert re.search(r"\d in³ \(\d+\.\d cc\)", paper.page(printed("na-iron-v8", False), "inch"))
    clean = dict(workshop.clearance_facts(drag.report, "inch"))
    assert any(re.search(r"volume -[\d.]+ in³ \(-0.\d cc\)", words) for words in clean.values())
    # a rule of so much to the foot asks no more of a shorter face
    foot = {t.key: t.most for t in flatness_wanted.si("fibre composite", 0.3048)}
    short = {t.key: t.most for t in flatness_wanted.si("fibre composite", 0.095)}
    rule = "old rule for composite gaskets"
    assert short[rule] == pytest.approx(foot[rule], rel=1e-12)
