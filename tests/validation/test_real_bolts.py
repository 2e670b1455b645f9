"""Printed tests of real bolts, put through the fit that a sheet's readings go through.

R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., Tables 8-13 and
8-14, pp. 438-439: preloads of 20 unlubricated and 10 lubricated bolts 1/2-20 UNF at 800 lbf in
(tests of Blake and Kurtz). Nut factors of its Table 8-15. Engine and bearing face are invented.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sealkit import build, cli, evidence, tables
from sealkit.build.evidence import measured_fields
from sealkit.evidence import bolts
from sealkit.evidence.priors import at
from tests import validation

DRY, OILED = bolts.tested()
BOTH = pytest.mark.parametrize(("one", "key"), [(DRY, "dry"), (OILED, "oiled")], ids=["dry", "oil"])


@BOTH
def test_the_table_is_the_printed_one(one: bolts.Tested, key: str) -> None:
    """Against the rows that check mean and deviation, typed in by themselves."""
    printed = validation.row("shigley", f"BK-{key}-mean").arguments()["preloads"]
    assert [f"{row['preload'] / 1e3:.1f} kN" for row in one.rows] == printed
    for row in one.rows:
        assert row["status"] == "published" != tables.MEASURED and "Table 8-1" in row["source"]
    for path, value in (("mean", one.sample.mean), ("deviation", one.sample.deviation)):
        check = validation.row("shigley", f"BK-{key}-{path}")
        assert value == pytest.approx(check.want().to("N").magnitude, abs=50.0)


@BOTH
def test_the_fit_gives_back_preload_and_nut_factor_within_what_it_says(
    one: bolts.Tested, key: str
) -> None:
    """The sheet alone is far off, and the fit comes from there most of the way."""
    book = 0.2075  # 34.3 kN, 800 lbf in, 12.70 mm: row BK-K-inch of scatter.csv
    factor, wide = one.factor
    assert abs(factor - book) < wide < 0.08 * book
    assert abs(one.mean.before - one.sample.mean) > 5e3 > 4.0 * abs(one.short)
    assert abs(one.short) < one.half
    (fits,) = one.found.misfits
    assert fits.fits and fits.count == len(one.rows) and not one.found.odd


@BOTH
def test_many_bolts_are_not_one(one: bolts.Tested, key: str) -> None:
    """s / sqrt(n), by Student's t, with half the variance of the load cell's 3 % in common."""
    n, sample = len(one.rows), one.sample
    alone = sample.deviation / np.sqrt(n)
    assert alone < one.half / 2.0 < 1.3 * alone
    one_bolt = evidence.fit(one.found.build, [_first(one)])
    assert one_bolt.deviation[0] > 1.8 * one.found.deviation[0]


def _first(one: bolts.Tested) -> evidence.Rows:
    return evidence.Rows(one.found.rows[0].readings[9:10])


@BOTH
def test_the_scatter_is_the_samples(one: bolts.Tested, key: str) -> None:
    """Coefficients of variation 14.3 and 8.4 %; of the next bolt t s sqrt(1 + 1/n), with Student's
    t of 19 and 9 degrees of freedom, 2.093 and 2.262 (printed tables).
    """
    n, student = (20, 2.093) if key == "dry" else (10, 2.262)
    variation = validation.row("shigley", f"BK-{key}-variation").want().magnitude
    scatter = one.moved["preload_scatter"]
    share, half = scatter.after, scatter.half_after
    assert one.sample.deviation / one.sample.mean == pytest.approx(variation, abs=5e-4)
    assert share == pytest.approx(student * variation * np.sqrt(1.0 + 1.0 / n), rel=0.004)
    assert half == pytest.approx(2.0 * share / np.sqrt(2.0 * (n - 1.0)), rel=0.01)
    assert share < scatter.before, "narrower than the handbook's"
    (known,) = (x for x in measured_fields(one.found.after) if x[0].endswith("_scatter"))
    assert known[3] == f"preload at a torque of {n} fasteners"


def test_two_hundred_made_samples_cover_friction_scatter_and_the_next_bolt() -> None:
    """Ten bolts whose friction, scatter of 10 % and load cell are drawn, the cell's error half in
    common: of what is said to two standard deviations 95 % holds, give or take three of theirs.
    One sample in a hundred has an outlier by chance, and its scatter is not taken.
    """
    one, draw = OILED.found.rows[0], np.random.default_rng(4)
    held = []
    for _ in range(200):
        truth = draw.standard_normal(1)
        true = at(OILED.found.build, list(OILED.found.parameters), truth)
        mean = float(np.ravel(one.predicted(true))[0])
        cell = 0.015 * mean * np.sqrt(0.5)
        read = mean + 0.1 * mean * draw.standard_normal(len(OILED.rows))
        read += cell * (draw.standard_normal() + draw.standard_normal(len(read)))
        rows = [
            replace(row, value=float(x), deviation=0.015 * float(x))
            for row, x in zip(one.readings, read, strict=True)
        ]
        found = evidence.fit(OILED.found.build, [evidence.Rows(tuple(rows))])
        after = mean * (1.0 + 0.1 * draw.standard_normal())
        if found.outliers:
            continue
        (scatter,) = (m for m in found.told if m.field == "fasteners.preload_scatter")
        held.append(
            (
                abs(found.z[0] - truth[0]) < 2.0 * found.deviation[0],
                abs(after - read.mean()) < scatter.after * read.mean(),
                abs(scatter.after - 0.2) < scatter.half_after,
            )
        )
    assert 200 - len(held) <= 6  # 2, and three standard deviations
    assert np.mean(held, axis=0) == pytest.approx(0.95, abs=3.0 * np.sqrt(0.95 * 0.05 / 200))


def test_nine_bolts_keep_the_handbooks_scatter() -> None:
    found = evidence.fit(DRY.found.build, [evidence.Rows(DRY.found.rows[0].readings[:9])])
    assert "fasteners.preload_scatter" not in build.half_widths(found.after.evidence)


def test_what_does_not_match() -> None:
    """Both states have one nut factor; the book's own table has 0.30 and 0.18."""
    factors = [one.nut_factor for one in (DRY, OILED)]
    assert factors[0] == pytest.approx(factors[1], rel=0.005)
    assert [one.handbook.nut_factor for one in (DRY, OILED)] == [0.30, 0.18]
    assert DRY.short < 0.0 < OILED.short, "each stops on the side of what the sheet says"
    assert [round(one.farthest[1], 1) for one in (DRY, OILED)] == [2.2, 2.2]


@pytest.mark.parametrize("face", ["0.70 in", "0.80 in"])
def test_the_size_of_the_bearing_face_moves_the_friction_and_not_the_nut_factor(face: str) -> None:
    sheet = DRY.found.build.vary({"fasteners.bearing_diameter": face})
    other = bolts.Tested(DRY.rows, evidence.fit(sheet, DRY.found.evidence))
    assert other.factor[0] == pytest.approx(DRY.factor[0], rel=0.005)
    friction = [one.moved["friction_thread"].after for one in (other, DRY)]
    assert abs(friction[0] / friction[1] - 1.0) > 0.01


def test_the_command_says_the_same(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bolts.toml"
    path.write_text(OILED.found.build.dumps(), encoding="utf-8")
    assert cli.main(["fit", str(path), "--out", str(tmp_path / "fitted.toml")]) in (0, 1)
    assert "preload at a torque of 10 fasteners" in capsys.readouterr().out
    after = build.load(tmp_path / "fitted.toml")
    assert after.fasteners.friction_thread == OILED.found.after.fasteners.friction_thread
