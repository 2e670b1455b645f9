"""The band of every margin: other choices of the model, one at a time, and what they turn."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import report, tables
from sealkit.analysis import gas_side, judged, margins
from sealkit.report.band import alternatives, taken_of
from sealkit.sealing.limit import Band, Outcome


@pytest.mark.parametrize("name", builds.demos())
def test_band_is_that_of_reports_made_one_by_one(name: str) -> None:
    """Many builds in one array against the same sheets, each by itself."""
    build = builds.demo(name)
    whole = report.run(build)
    peak = whole.gas.design_gauge
    found: dict[str, list[float]] = {row.key: [float(row.margin)] for row in whole.limits}
    for _, path, value in alternatives(taken_of(build)):
        one = build.vary_si({path: value})
        at = gas_side(one).design_gauge if path.startswith("burn.") else peak
        for row in margins.worse(margins.limits(judged(one, at).case, at)):
            found[row.key].append(float(row.margin))
    for row in whole.banded:
        assert row.band is not None
        wanted = min(found[row.key]), max(found[row.key])
        assert row.band[:2] == pytest.approx(wanted, rel=1e-6, abs=1e-9), row.key
        assert row.band.low <= row.margin <= row.band.high


def test_alternatives_stand_in_the_table_with_source_and_status() -> None:
    tried = alternatives(taken_of(builds.demo("boosted-four")))
    table = tables.load("alternatives")
    assert {path for _, path, _ in tried} == set(table)
    assert all(table[path]["source"] and table[path]["status"] for path in table)


def test_load_nearer_the_fasteners_heads_takes_more_of_the_fastener_and_less_of_the_seal() -> None:
    """Textbook direction: a load that enters higher up unloads the members less."""
    build = builds.demo("boosted-four")

    def margin(share: float, key: str) -> float:
        rows = report.run(build.vary_si({"head.load_introduction": share})).limits
        return float(next(r.margin for r in rows if r.key == key))

    fastener = [margin(s, "fastener") for s in (0.0, 0.3, 0.5, 1.0)]
    seal = [margin(s, "residual/combustion bead") for s in (0.0, 0.3, 0.5, 1.0)]
    assert np.all(np.diff(fastener) < 0) and np.all(np.diff(seal) > 0)


def test_from_holds_over_too_close_to_does_not_hold() -> None:
    """More and more torque uses up the fastener; between the two the report does not decide."""
    build = builds.demo("boosted-four")
    told = [report.run(build.vary({"fasteners.torque": f"{t} N*m"})) for t in range(115, 150, 3)]
    order = [Outcome.HOLDS, Outcome.CLOSE, Outcome.FAILS]
    seen = [order.index(r.outcome) for r in told]
    assert seen == sorted(seen) and set(seen) == {0, 1, 2}
    close = next(r for r in told if r.outcome is Outcome.CLOSE)
    row = next(r for r in close.banded if r.outcome is Outcome.CLOSE)
    assert row.key == "fastener" and row.band is not None
    assert not close.holds
    said = close.verdict()
    assert said.startswith("Too close to call: ") and row.band.lowest_by in said
    named = f"{row.title}, {report.result.band_words(row.band)}"
    assert close.close == (row,) and named in said and str(row.title) in close.standing
    assert "TOO CLOSE TO CALL" in {r["holds"] for r in report.rows(close)}


@pytest.mark.parametrize(
    ("demand", "band", "outcome"),
    [
        (100.0, None, Outcome.HOLDS),
        (100.0, Band(0.0, 0.2, "creep"), Outcome.HOLDS),
        (100.0, Band(-0.01, 0.2, "creep"), Outcome.CLOSE),
        (120.0, Band(-0.2, 0.01, "creep"), Outcome.CLOSE),
        (120.0, Band(-0.2, -0.01, "creep"), Outcome.FAILS),
        (120.0, None, Outcome.FAILS),
    ],
)
def test_outcome_of_one_limit(demand: float, band: Band | None, outcome: Outcome) -> None:
    limit = report.run(builds.demo("boosted-four")).limits[0]
    row = dataclasses.replace(limit, demand=demand, capacity=110.0, band=band)
    assert row.outcome is outcome
