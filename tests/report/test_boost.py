"""Up to which boost a build holds: whole reports on both sides of it, and builds that take none."""

from __future__ import annotations

import functools

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import report
from sealkit.report import Report, boost
from sealkit.report.boost import BEYOND
from sealkit.sealing.limit import Outcome


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
    assert "take about " in more and "which has 18.0 psi gauge" in more and "knocks" in more
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


def test_it_promises_no_boost_with_which_the_verdict_is_open() -> None:
    """Whatever boost the sheet has: the least is where the verdict turns, the rest the same."""
    least = [of("boosted-four", x).held.low for x in (0.0, 0.34e5, 0.97e5, 1.24e5, 1.4e5)]
    assert np.ptp(least) < 0.02e5
    assert of("boosted-four", least[0] - 0.02e5).outcome is Outcome.HOLDS
    assert of("boosted-four", least[0] + 0.02e5).outcome is Outcome.CLOSE


def test_more_boost_than_the_mean_cycle_bears_is_told_as_that_of_the_joint_alone() -> None:
    one = of("boosted-four", 0.34e5)
    found = one.held
    assert found.low <= found.knocks < found.boost and found.knock > 1.0
    assert of("boosted-four", found.knocks).gas.knock_integral == pytest.approx(1.0, abs=2e-3)
    words = one.boost_words()[0]
    knocks = "the mean cycle knocks from about 1.4 bar gauge"
    assert words.startswith(f"{knocks}; the joint alone would take about 1.9")
    loud = of("boosted-four", 1.24e5)
    assert loud.gas.knock_integral < 1.0 <= (loud.gas.rare_knock or 0.0)
    assert loud.boost_words()[0].startswith(f"{knocks}, the cycle designed for already; the joint")
    told = one.to_dict()["boost"]
    assert told["knocks_from"]["value"] == found.knocks and told["knocks_from_is"] == "told"


def test_a_little_less_boost_on_the_sheet_makes_none_endless() -> None:
    bare, some = (of("boosted-four", x).held for x in (0.0, 0.05e5))
    assert bare.boost == pytest.approx(some.boost, rel=0.02) and np.isfinite(bare.high)


def test_what_may_give_without_boost_too_is_named() -> None:
    six = of("boosted-six", 1.0e5)
    crushed = report.run(six.build.vary({"gasket.body_tolerance": "0.12 mm"}))
    told = crushed.to_dict()["boost"]
    assert told["held_low"] is None and told["held_low_is"].startswith("none")
    assert told["least"] and f"without boost too perhaps {told['least']}" in told["words"]


def test_an_engine_that_knocks_without_boost_is_promised_none() -> None:
    loud = of("boosted-four", 0.0).build.vary(
        {"fuel.octane_number": 60.0, "engine.compression_ratio": 11.0}
    )
    made = report.run(loud)
    assert made.gas.knock_integral > 1.0 and made.outcome is not Outcome.HOLDS
    assert made.held.knocks == made.held.low == -np.inf and made.held.least == "knock"
    assert made.boost_words()[0].startswith("the mean cycle knocks without boost too; ")


def test_no_bound_is_told_that_is_no_more_than_the_sheet_has() -> None:
    """Nothing gives up to three times the design peak, and no more boost was worked out."""
    for sheet, reach in ((0.0, 0.0), (0.2e5, 0.2e5)):
        found = boost.Held(np.inf, -np.inf, np.inf, np.nan, -np.inf, "knock", reach)
        words = found.words(sheet, "metric")[0]
        assert "take more than was looked at (none to more than was looked at" in words
    assert "more than 0.50 bar" in found._replace(reach=0.5e5).words(0.2e5, "metric")[0]
