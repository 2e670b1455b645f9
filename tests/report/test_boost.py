"""Up to which boost a build holds: whole reports on both sides of it, and builds that take none."""

from __future__ import annotations

import functools

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import report
from sealkit.report import Report
from sealkit.report.boost import BEYOND, passed


@functools.cache
def of(name: str, boost: float | None = None) -> Report:
    build = builds.demo(name)
    return report.run(build if boost is None else build.vary_si({"charge.boost": boost}))


@pytest.mark.parametrize("name", builds.demos())
def test_a_report_holds_below_and_fails_above(name: str) -> None:
    found = of(name).held
    assert 0.0 < found.boost < np.inf and found.low <= found.boost <= found.high
    for times, holds in ((0.97, True), (1.03, False)):
        other = of(name, times * found.boost)
        first = other.first_failure
        assert first is not None and (first.pressure > other.gas.design_gauge) is holds
    at = of(name, found.boost).gas
    assert at.knock_integral == pytest.approx(found.knock)
    first = of(name).first_failure
    assert first is not None and at.design_gauge == pytest.approx(first.pressure, rel=4e-3)


def test_words_of_more_and_of_less_than_the_sheet() -> None:
    more, caution = of("boosted-four").boost_words("inch")
    assert more.startswith("about ") and "which has 18.0 psi gauge" in more and "knocks" in more
    assert caution == BEYOND and "unsafe side" in caution
    assert "which has none" in of("na-iron-v8").boost_words()[0]
    less = of("boosted-four", 1.2 * of("boosted-four").held.boost)
    assert len(less.boost_words()) == 1, "less boost than the sheet's needs no caution of more"
    assert less.held.boost == pytest.approx(of("boosted-four").held.boost, rel=1e-2)


def test_none_where_it_fails_without_gas_or_without_boost() -> None:
    four = builds.demo("boosted-four")
    bare = report.run(four.vary({"gasket.construction": "copper sheet"}))
    assert bare.first_failure is not None and bare.first_failure.pressure <= 0.0
    loose = report.run(four.vary({"fasteners.torque": "30 N*m"}))
    for one in (bare, loose):
        assert one.held.boost == -np.inf and one.boost_words()[0].startswith("none")
        told = one.to_dict()["boost"]
        assert told["held"] is None and told["words"].startswith("none: as taken it fails without")


@pytest.mark.parametrize(("margin", "at"), [(0.4, 180.0), (-0.3, 70.0)])
def test_other_choices_stand_on_the_side_of_the_peak_that_their_margin_says(
    margin: float, at: float
) -> None:
    assert passed(margin, margin, 100.0, at) == pytest.approx(at)
    assert passed(margin, 0.0, 100.0, at) == pytest.approx(100.0)
    ends = [passed(margin, x, 100.0, at) for x in (-1.0, -0.1, 0.1, 0.5)]
    assert ends == sorted(ends) and ends[0] == 0.0 and ends[1] < 100.0 < ends[2]


def test_what_gas_does_not_touch_turns_at_any_boost_or_at_none() -> None:
    assert passed(0.2, -0.1, 100.0, np.inf) == passed(-0.2, -0.1, 100.0, 0.0) == 0.0
    assert passed(0.2, 0.1, 100.0, np.inf) == passed(-0.2, 0.1, 100.0, 0.0) == np.inf
