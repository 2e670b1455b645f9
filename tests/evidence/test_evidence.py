"""Measurements on an engine: readings, what they tell, what they leave open."""

from __future__ import annotations

import dataclasses
import json
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray

from sealkit import analysis, cli, evidence, paper, report, scatter, tables
from sealkit import build as sheets
from sealkit.build import Build
from sealkit.build.evidence import outlier_of, sample_of
from sealkit.errors import InputError
from sealkit.evidence import evidence_of, fit, parameters, predict, what_next
from sealkit.evidence.priors import at
from sealkit.evidence.trace import CylinderPressure
from sealkit.paper import measured
from sealkit.paper.measured import Fitted
from sealkit.report import band, ranking, record
from sealkit.report.comparison import Comparison
from sealkit.units import show

Array = NDArray[np.float64]
SIX = sheets.demo("boosted-six")  # fibre body with steel ring, invented
BARE, COARSE = SIX.vary({"deck": None}), SIX.vary({"deck.mesh": "16 mm"})  # no map, a quick one


def with_rows(build: Build, *rows: dict[str, str]) -> Build:
    return build.vary({"evidence.measured": list(rows)})


def fitted(build: Build, *rows: dict[str, str]) -> evidence.Fit:
    sheet = with_rows(build, *rows)
    return fit(sheet, evidence_of(sheets.readings(sheet.evidence)))


def z_of(found: evidence.Fit, path: str) -> float:
    return next(
        float(z) for p, z in zip(found.parameters, found.z, strict=True) if path in p.middle
    )


def field(build: Build, path: str) -> Any:
    section, _, key = path.partition(".")
    return getattr(getattr(build, section), key)


# --------------------------------------------------------------------------- made data
MADE = (
    {"kind": "bolt stretch"},
    {"kind": "stretch after settling"},
    {"kind": "preload at a torque", "at": "122 N*m"},  # that of the sheet
    {"kind": "body over ring"},
    {"kind": "press on the body", "at": "0.14 mm"},
    {"kind": "fastener temperature"},
    {"kind": "coolant temperature"},
    {"kind": "head temperature difference"},
)
ANY = {
    "stretch": "0.3 mm",
    "force": "60 kN",
    "stress": "5 MPa",
    "length": "0.1 mm",
    "temperature": "90 degC",
    "temperature difference": "30 K",
}


ONE = {"bolt stretch", "preload at a torque"}  # first readings of a fastener


def test_made_data_give_back_their_truth_as_often_as_the_intervals_say() -> None:
    """200 engines drawn from what is not known, each read with noise: 95 % intervals.

    The fasteners that are read are drawn too, by the preload scatter on the sheet: 8 %, two
    standard deviations. What is read again is read on the same one.
    """
    known = tables.load("measurements")
    sheet = with_rows(SIX, *({**row, "value": ANY[known[row["kind"]]["value"]]} for row in MADE))
    rows = sheets.readings(sheet.evidence)
    every = parameters(sheet, {path for one in evidence_of(rows) for path in one.moves})
    numbers = len(every) + len(rows) + len(ONE)
    drawn = np.random.default_rng(18).standard_normal((200, numbers))
    inside: list[Array] = []
    scores: list[float] = []
    for truth, noise in zip(drawn[:, : len(every)], drawn[:, len(every) :], strict=True):
        true = at(sheet, every, truth)
        made, fastener, more = [], true, iter(noise)
        for one in evidence_of(rows):
            (row,) = one.readings
            if row.kind in ONE:
                factor = true.fasteners.preload_factor * (1.0 + 0.04 * next(more))
                fastener = true.vary_si({"fasteners.preload_factor": factor})
            read = float(np.ravel(one.predicted(fastener if one.row["each"] else true))[0])
            read += row.deviation * next(more)
            made.append(evidence.Rows((dataclasses.replace(row, value=read),)))
        found = fit(sheet, made)
        assert [p.name for p in found.parameters] == [p.name for p in every]
        learnt = np.array(found.learnt)
        off = (found.z - truth) / found.deviation
        inside.append(np.abs(off[learnt]) < 1.96)
        scores += off[learnt].tolist()
    share = float(np.mean(np.concatenate(inside)))
    assert 0.93 < share < 0.975
    assert abs(np.mean(scores)) < 0.1 and np.std(scores) == pytest.approx(1.0, abs=0.1)


@dataclass(frozen=True)
class Straight:
    """Evidence that is a straight line in two fields, for the closed form."""

    rise: Array
    read: Array
    values: int = 3
    kind: str = "straight line"
    moves: tuple[str, ...] = ("heat.rise_factor", "fasteners.embedment")

    def residuals(self, build: Build) -> Array:
        x = np.array([build.heat.rise_factor, build.fasteners.embedment / 1e-5])
        return np.asarray(self.rise @ x - self.read)

    def together(self, rows: Array) -> Array:
        return rows


def test_a_straight_line_is_the_update_of_normal_distributions() -> None:
    rise = np.array([[6.0, 2.0], [1.0, -4.0], [0.5, 0.5]])
    read = np.array([7.5, -4.0, 1.4])
    found = fit(SIX, [Straight(rise, read)])
    names = [next(iter(p.middle)) for p in found.parameters]
    order = [names.index(p) for p in ("heat.rise_factor", "fasteners.embedment")]
    scale = np.array([1.0, 1e5])
    middle = np.array([next(iter(found.parameters[i].middle.values())) for i in order]) * scale
    step = np.array([next(iter(found.parameters[i].step.values())) for i in order]) * scale
    # Gaussian update in the fields themselves
    prior = np.diag(step**2)
    gain = prior @ rise.T @ np.linalg.inv(rise @ prior @ rise.T + np.eye(3))
    mean, covariance = middle + gain @ (read - rise @ middle), prior - gain @ rise @ prior
    ours = middle + step * found.z[order]
    assert ours == pytest.approx(mean, rel=1e-6)
    ours_cov = found.covariance[np.ix_(order, order)] * np.outer(step, step)
    assert ours_cov == pytest.approx(covariance, rel=1e-6, abs=1e-12)


def test_without_news_nothing_moves() -> None:
    """A reading of what the sheet says already, too poor to tell, and a bound that it keeps."""
    poor = {"kind": "body over ring", "value": "0.1 mm", "uncertainty": "1 mm"}
    found = fitted(SIX, poor, {"kind": "held at boost", "at": "0.1 bar"})
    assert np.abs(found.z).max() < 1e-6 and found.deviation == pytest.approx(1.0, abs=2e-3)
    assert not found.moved and found.after.dumps() == found.build.dumps()


@pytest.mark.parametrize("name", sheets.demos())
def test_what_is_not_known_stands_where_the_report_takes_it(name: str) -> None:
    build = sheets.demo(name)
    every = parameters(build)
    here = at(build, every, np.zeros(len(every)))
    peak = analysis.gas_side(build).design_gauge
    assert analysis.gas_side(here).design_gauge == pytest.approx(peak, rel=1e-12)
    for ours, theirs in zip(
        analysis.margins.limits(analysis.judged(here, peak)[0], peak),
        analysis.margins.limits(analysis.judged(build, peak)[0], peak),
        strict=True,
    ):
        assert ours.key == theirs.key and ours.margin == pytest.approx(theirs.margin, rel=1e-9)


# --------------------------------------------------------------------------- directions
def stretch(millimetres: float) -> dict[str, str]:
    return {"kind": "bolt stretch", "value": f"{millimetres} mm"}


@pytest.mark.parametrize(
    ("row", "path", "sign"),
    [
        (stretch(0.30), "fasteners.friction_thread", 1),
        (stretch(0.40), "fasteners.friction_thread", -1),
        ({"kind": "preload at a torque", "value": "60 kN", "at": "122 N*m"},
         "fasteners.friction_thread", 1),
        ({"kind": "fastener temperature", "value": "120 degC"}, "heat.rise_factor", 1),
        ({"kind": "seal share of the clamp", "value": "0.60", "at": "122 N*m"},
         "gasket.body_over_ring", 1),
        ({"kind": "line load on the seal", "value": "450 N/mm", "at": "122 N*m"},
         "gasket.body_over_ring", -1),
        ({"kind": "press on the seal", "value": "420 N/mm", "at": "37 um"},
         "gasket.seal_load_factor", 1),
        ({"kind": "press on the body", "value": "4 MPa", "at": "0.145 mm"},
         "gasket.body_load_factor", -1),
        ({"kind": "body over ring", "value": "0.12 mm"}, "gasket.body_over_ring", 1),
        ({"kind": "stretch after heat", "value": "0.29 mm"}, "gasket.creep_relaxation", 1),
        ({"kind": "peak pressure", "value": "140 bar"}, "charge.filling", 1),
        ({"kind": "peak pressure", "value": "140 bar"}, "burn.ca50", -1),
        ({"kind": "brake power", "value": "520 kW"}, "charge.filling", 1),
        ({"kind": "opens at a pressure", "value": "100 bar"}, "gasket.body_over_ring", 1),
        ({"kind": "bubbles in a leak-down", "at": "150 bar"}, "gasket.body_over_ring", 1),
        ({"kind": "no bubbles in a leak-down", "at": "200 bar"}, "gasket.body_over_ring", -1),
        ({"kind": "pushed water at boost", "at": "0.5 bar"}, "gasket.body_over_ring", 1),
        ({"kind": "held at boost", "at": "3.5 bar"}, "gasket.body_over_ring", -1),
    ],
    ids=lambda x: x.get("kind") if isinstance(x, dict) else str(x),
)  # fmt: skip
def test_a_reading_moves_what_it_tells_of_the_right_way(
    row: dict[str, str], path: str, sign: int
) -> None:
    found = fitted(SIX, row)
    assert sign * z_of(found, path) > 0.0
    (misfit,) = found.misfits
    assert misfit.after < misfit.before


def test_a_pressed_seal_scales_its_curve_and_nothing_else() -> None:
    at = {"kind": "press on the seal", "value": "1 N/mm", "at": "37 um"}
    (one,) = evidence_of(sheets.readings(with_rows(SIX, at).evidence))
    value = 1.2 * float(one.predicted(SIX))
    found = fitted(SIX, {**at, "value": f"{value} N/m", "uncertainty": "1 %"})
    assert found.after.gasket.seal_load_factor == pytest.approx(1.2, abs=0.01)
    before, after = analysis.gasket_of(SIX), analysis.gasket_of(found.after)
    for old, new in zip(before.zones, after.zones, strict=True):
        by = found.after.gasket.seal_load_factor if old.role == "seal" else 1.0
        assert new.load == pytest.approx(by * old.load)
        assert [f for _, f in new.unloading] == [pytest.approx(by * f) for _, f in old.unloading]
        assert (new.seating, new.crush, new.width) == (old.seating, old.crush, old.width)
    other = ranking.with_construction(found.after, "multi-layer steel")
    assert analysis.gasket_of(other) == analysis.gasket_of(
        ranking.with_construction(SIX, "multi-layer steel")
    )


def test_shop_air_tells_of_a_leak_but_nothing_of_a_good_seal() -> None:
    four = sheets.demo("boosted-four")
    assert not fitted(four, {"kind": "no bubbles in a leak-down", "at": "7 bar"}).moved
    with pytest.raises(InputError, match="no sound gasket leaks at so little"):
        fitted(four, {"kind": "bubbles in a leak-down", "at": "7 bar"})


def test_a_reading_that_moves_a_number_far_does_not_fit_and_widens_nothing_past_before() -> None:
    found = fitted(SIX, stretch(0.6))
    assert [p.name for p, _ in found.far] == ["friction (moly paste)"]
    assert [m.fits for m in found.misfits] == [False]
    (raw,) = np.sqrt(np.diag(found.covariance))
    assert 3.0 * raw < found.deviation[0] <= 1.0
    assert [read.reading.path for read, _ in found.odd] == ["evidence.measured[1]"]


def test_absurd_readings_stop_the_fit() -> None:
    slip = {"kind": "peak pressure", "value": "50 psi", "note": "first run"}
    with pytest.raises(InputError, match=r"measured\[2\]: got .*peak pressure, 50 psi, first run"):
        fitted(SIX, stretch(0.347), slip)


@pytest.mark.parametrize("value", ["0.012 mm", "0.1 mm"])
def test_a_fastener_that_stays_longer_has_yielded_and_is_no_slip_of_the_pen(value: str) -> None:
    """Told first, near the model and far from it; the good row beside it is kept."""
    stayed = {"kind": "permanent stretch", "value": value}
    odd, result = fitted(SIX, stayed, stretch(0.31)), report.run(SIX)
    said = "fastener that stays longer has yielded: do not use it again"
    text = Fitted(odd, Comparison((result, result)), []).text()
    assert text.startswith(f"A {said}.") and "all the rest fits" not in text
    for end in (odd.before, odd.after):
        assert report.run(end).standing().endswith(said)
    assert not fitted(SIX, {**stayed, "value": "0.009 mm"}, stretch(0.31)).doubt
    with pytest.raises(InputError) as told:  # where another row stops the fit too
        fitted(SIX, stretch(0.31), {"kind": "peak pressure", "value": "50 psi"}, stayed)
    first, second = told.value.faults
    assert said in str(first) and "the model reads that there" in str(second)


@pytest.mark.parametrize(
    ("failed", "at", "held", "most"),
    [
        ("pushed water at boost", "0.8 bar", "held at boost", "1.3 bar"),
        ("bubbles in a leak-down", "0.5 bar", "no bubbles in a leak-down", "7 bar"),
    ],
)
def test_what_held_at_more_than_what_failed_contradicts_it(
    failed: str, at: str, held: str, most: str
) -> None:
    """Both rows are named together; leaving the one out that failed is never advised."""
    four = sheets.demo("boosted-four").vary({"deck": None})
    try:
        found = fitted(four, {"kind": failed, "at": at}, {"kind": held, "at": most})
        assert not found.fits and found.mending == [] and found.doubt
        result = report.run(four)
        told = Fitted(found, Comparison((result, result)), []).text()
    except InputError as err:
        told = str(err)
    told = " ".join(told.split())
    assert "measured[1]" in told.split("measured[2]")[0] and "what failed counts" in told.lower()
    assert "ll others fit" not in told and "ll the rest fits" not in told
    if "boost" in failed:  # within what the gauge may be off
        near = fitted(four, {"kind": failed, "at": "1.1 bar"}, {"kind": held, "at": "1.2 bar"})
        assert not near.contrary


def test_the_row_without_which_all_else_fits_is_named_alone() -> None:
    """Good rows beside a bad one; of two that contradict each other both are named."""
    good = [{"kind": "body over ring", "value": v, "uncertainty": "4 um"}
            for v in ("0.098 mm", "0.100 mm", "0.101 mm")]  # fmt: skip
    bad = {"kind": "body over ring", "value": "0.200 mm", "uncertainty": "4 um"}
    with pytest.raises(InputError) as told:
        fitted(SIX, *good, bad, stretch(0.35))
    (fault,) = told.value.faults
    assert fault.field == "evidence.measured[4]" and "without it all others fit" in str(fault)
    with pytest.raises(InputError, match="without one of these rows all others fit") as told:
        fitted(SIX, good[0], bad)
    assert [f.field[-2] for f in told.value.faults] == ["1", "2"]
    with pytest.raises(InputError) as told:
        fitted(SIX, *good, bad, {**bad, "value": "0.010 mm"})
    assert len(told.value.faults) > 1 and "all others fit" not in str(told.value)


def test_one_fastener_is_not_all_of_them() -> None:
    """Read at the ends of their scatter of 8 %: the mean of n is sqrt(n) times as sure, but for
    half the variance of the reading, which their one instrument gives to all.
    """
    (reads,) = evidence_of(sheets.readings(with_rows(SIX, stretch(0.3)).evidence))
    predicted = 1e3 * float(np.ravel(reads.predicted(SIX))[0])
    own = reads.readings[0].deviation * 1e3
    one = fitted(SIX, stretch(predicted))
    step = one.parameters[0].numbers(0.1) | {"fasteners.preload_scatter": 0.08}
    moved = 1e3 * float(np.ravel(reads.predicted(SIX.vary_si(step)))[0])
    rise = (predicted - moved) / 0.1  # for one deviation
    for n in (1, 4, 14):
        wide = np.hypot(own * np.sqrt(0.5 + 0.5 / n), 0.04 * predicted / np.sqrt(n))
        found = fitted(SIX, *[stretch(predicted)] * n)
        assert found.deviation[0] == pytest.approx((1 + (rise / wide) ** 2) ** -0.5, rel=0.03)
    four = [stretch(predicted * (1 + 0.04 * x)) for x in (-1.9, -0.6, 0.5, 2.0)]
    assert all(m.fits for m in fitted(SIX, *four).misfits)


def test_what_is_read_again_on_one_fastener_is_compared_with_itself() -> None:
    """One at the end of its scatter tells the embedment, and little of the friction."""
    sure = {"uncertainty": "1 um"}
    again = {"kind": "stretch after settling", "value": "0.361 mm", **sure}
    settled = fitted(SIX, {**stretch(0.372), **sure}, again)
    path = "fasteners.embedment"
    (i,) = (i for i, p in enumerate(settled.parameters) if path in p.middle)
    alone = fitted(SIX, again)
    (j,) = (i for i, p in enumerate(alone.parameters) if path in p.middle)
    assert settled.deviation[i] < 0.5 < alone.deviation[j]


def test_readings_by_one_instrument_share_its_error() -> None:
    """Of a number of the sheet, the closed form: n readings are worth 1 / (1/2 + 1/(2 n)) of one.

    And 200 draws of eight with a common error and one of their own: the intervals cover.
    """
    row = {"kind": "body over ring", "value": "0.1 mm", "uncertainty": "0.1 mm"}
    one, many = (fitted(SIX, *[row] * n) for n in (1, 400))
    for n, found in ((1, one), (400, many)):
        wide = 50e-6 * np.sqrt(0.5 + 0.5 / n)  # of the mean; 25 um before
        assert found.deviation[0] == pytest.approx(wide / np.hypot(25e-6, wide), rel=1e-3)
    random, off = np.random.default_rng(5), []
    (group,) = evidence_of(sheets.readings(with_rows(SIX, *[row] * 8).evidence))
    for _ in range(200):
        truth = random.standard_normal()
        error = np.sqrt(0.5) * (random.standard_normal() + random.standard_normal(8))
        read = 100e-6 + 25e-6 * truth + 50e-6 * error
        rows = (
            dataclasses.replace(r, value=float(x))
            for r, x in zip(group.readings, read, strict=True)
        )
        found = fit(SIX, [evidence.Rows(tuple(rows))])
        off.append((found.z[0] - truth) / found.deviation[0])
    assert 0.91 < np.mean(np.abs(off) < 1.96) < 0.985 and 0.9 < np.std(off) < 1.1


def test_equal_rows_are_named() -> None:
    found = fitted(SIX, *[stretch(0.35)] * 3, stretch(0.34))
    assert [(row.path, n) for row, n in found.equal] == [("evidence.measured[1]", 3)]


def test_the_head_bends_by_its_thickness_to_the_third() -> None:
    build = SIX.vary({"deck": None})
    at_100 = {"kind": "press on the bare head", "value": "3 um", "at": "100 kN"}
    found = fitted(build, {**at_100, "uncertainty": "0.1 um"})
    (press,) = found.rows
    thin = build.vary({"head.thickness": build.get("head.thickness") / 2})
    assert press.predicted(thin) == pytest.approx(8.0 * press.predicted(build), rel=1e-12)
    assert np.sign(z_of(found, "head.thickness")) == np.sign(press.predicted(build) - 3e-6)


def test_a_stretch_is_that_of_the_fastener_itself() -> None:
    """What nut and tapped block give is in none of its ends: a stud of 14 mm by hand."""
    clamp, _ = analysis.clamp_side(analysis.with_one_preload(SIX))
    d, root, steel, pull = 0.014, clamp.thread.root_area, 205e9, clamp.ends[1]
    shank, thread = 70.0 / (np.pi / 4 * 14.0**2), 40.0 / (1e6 * clamp.thread.stress_area)
    ends = 2 * 0.5 * 1e3 * d / (1e6 * root)  # half a diameter of engaged thread each (VDI 2230)
    modulus = tables.load("materials")[SIX.fasteners.material]["modulus"]
    assert modulus == pytest.approx(steel, rel=0.03)
    longer = 1e3 * pull * (shank + thread + ends) / modulus
    (row,) = evidence_of(sheets.readings(with_rows(SIX, stretch(0.3)).evidence))
    assert np.ravel(row.predicted(SIX)) == pytest.approx(longer, rel=1e-6)
    # and a sheet that is tightened by that stretch has that preload
    by_stretch = {"tightening": "stretch", "stretch": f"{1e3 * float(longer)} mm", "torque": None}
    drawn = SIX.vary({f"fasteners.{k}": v for k, v in by_stretch.items()})
    found, _ = analysis.clamp_side(analysis.with_one_preload(drawn))
    assert found.ends[1] == pytest.approx(pull, rel=1e-6)


def test_a_pushed_seal_is_carried_over_to_the_weakest_place_of_the_map() -> None:
    """The pressure that passes it is that of the report's map, with fasteners alike."""
    made = report.run(analysis.with_one_preload(SIX), deck=True)
    passed = min(f.pressure for f in made.order if f.limit.check == "residual")
    row = sheets.readings(
        with_rows(SIX, {"kind": "opens at a pressure", "value": "200 bar"}).evidence
    )
    (average,) = evidence_of(row)
    mapped = dataclasses.replace(average, carried=scatter.carried_over(made))
    assert mapped.predicted(SIX) == pytest.approx(passed, rel=0.03)
    assert average.predicted(SIX) != pytest.approx(passed, rel=0.03)


# --------------------------------------------------------------------------- what comes out
ROWS = (
    stretch(0.30),
    {"kind": "body over ring", "value": "0.09 mm", "uncertainty": "5 um", "note": "first sheet"},
    {"kind": "fastener temperature", "value": "100 degC"},
)


@pytest.fixture(scope="module")
def found() -> evidence.Fit:
    return fitted(SIX, *ROWS)


def test_the_fitted_sheet_keeps_its_words_and_says_how_well_fields_are_known(
    found: evidence.Fit,
) -> None:
    text, before = found.after.dumps(), found.build.dumps()
    assert sheets.loads(text) == found.after
    comments = [line.partition("#")[2] for line in before.splitlines() if "#" in line]
    assert comments and all(f"#{words}" in text for words in comments)
    half = sheets.half_widths(found.after.evidence)
    # 25 um of prior and 2.5 um of reading, standard deviations: 2 x 2.4876 um
    assert half["gasket.body_over_ring"] == pytest.approx(2 * 25e-6 / np.sqrt(101.0), rel=0.02)
    assert found.after.gasket.body_over_ring == pytest.approx(90.1e-6, abs=0.1e-6)


def test_the_report_says_what_was_measured_and_how_well(found: evidence.Fit) -> None:
    result = report.run(found.after)
    printed = paper.paper_of(result)
    path, words = "gasket.body_over_ring", "by body over ring"
    half = sheets.half_widths(found.after.evidence)[path]
    for text in (paper.summary(result), paper.text(printed), paper.page(printed)):
        assert words in text and "0.0901 mm ± 0.0050 mm" in text
    assert "of them measured" in paper.page(printed)
    (row,) = (x for x in printed.to_dict()["measured"] if x["field"] == path)
    assert row["half_width"] == half and row["source"] == "body over ring"
    rubs = dict(next(g for g in report.facts(result) if g.key == "preload").rows)["tightened"]
    assert "0.08" in rubs and "± 0.0" in rubs and "(measured)" in rubs
    before = report.run(found.build)
    assert "measured" not in paper.summary(before)
    beside = {r["on the sheet"]: r["B"] for r in Comparison((before, result)).change_rows()}
    assert beside[path] == f"0.0901 mm ± 0.0050 mm, {words}" and "evidence.known" not in beside


def test_what_is_known_on_one_sheet_only_is_told_in_words(found: evidence.Fit) -> None:
    """Not as a count of rows, though the numbers are the same."""
    plain = found.after.vary({"evidence.known": None})
    beside = Comparison((report.run(plain), report.run(found.after))).change_rows()
    (row,) = (r for r in beside if r["on the sheet"] == "gasket.body_over_ring")
    assert row["A"] == "not measured" and row["B"] == "0.0901 mm ± 0.0050 mm, by body over ring"
    assert not any(r["on the sheet"] == "evidence.known" for r in beside)


def test_other_choices_and_scatter_reach_as_far_as_is_known(found: evidence.Fit) -> None:
    now, half = band.taken(found.after), sheets.half_widths(found.after.evidence)
    ends: dict[str, list[float]] = {}
    for _, path, value in band.alternatives(found.after):
        ends.setdefault(path, []).append(value)
    friction = {"fasteners.friction_thread", "fasteners.friction_bearing"}
    assert half and set(half) - friction <= set(ends) and friction.isdisjoint(ends)
    for path in set(half) - friction:
        assert ends[path] == pytest.approx([now[path] - half[path], now[path] + half[path]])
    (over,) = (x for x in scatter.usual(found.after) if x.name == "body over ring")
    wide = np.diff(over.spreads["gasket.body_over_ring"].at(np.array([0.025, 0.975])))[0]
    assert wide == pytest.approx(2 * half["gasket.body_over_ring"], rel=0.03)
    # and without evidence as before
    assert band.alternatives(SIX) == band.alternatives(found.build)


@pytest.mark.parametrize(
    "row",
    [
        {"kind": "preload at a torque", "at": "90 N*m"},
        {"kind": "peak pressure"},
        {"kind": "brake power"},
    ],
    ids=lambda row: row["kind"],
)
def test_a_reading_that_is_what_the_sheet_says_makes_no_verdict_less_sure(
    row: dict[str, str],
) -> None:
    """A fit counts what it tells of before any reading as well: bands narrow, or stay."""
    four = sheets.demo("boosted-four")
    any_value = {"preload at a torque": "41 kN", "peak pressure": "90 bar", "brake power": "200 kW"}
    sheet = with_rows(four, {**row, "value": any_value[row["kind"]]})
    (one,) = sheets.readings(sheet.evidence)
    exact = float(np.ravel(evidence_of([one])[0].predicted(sheet))[0])
    found = fit(sheet, evidence_of([dataclasses.replace(one, value=exact)]))
    before, after = (report.run(b) for b in (found.before, found.after))
    for old, new in zip(before.banded, after.banded, strict=True):
        if old.band is not None and new.band is not None and old.key == new.key:
            assert new.band.low >= old.band.low - 0.02
    assert not sheets.status_of(found.before.evidence, "charge.filling")


def test_a_status_rises_for_what_was_measured_alone() -> None:
    sure = {"uncertainty": "1 um"}
    settled = {"kind": "stretch after settling", "value": "0.336 mm", **sure}
    found = fitted(SIX, {**stretch(0.347), **sure}, settled)
    after = found.after
    assert "fasteners.embedment" in sheets.half_widths(after.evidence)
    assert analysis.embedment_of(after)[2] == "measured"
    assert analysis.creep_of(after)[2] == analysis.creep_of(SIX)[2] != "measured"
    assert analysis.sheet_status(after) == analysis.sheet_status(SIX)
    spec = dict(sheets.fields())["sheet.status"]
    assert tables.MEASURED not in spec.choices  # nobody claims it by hand


def test_once_every_fastener_is_read_their_spread_counts() -> None:
    n = SIX.fasteners.on_head
    values = np.linspace(0.34, 0.36, n)
    after = fitted(SIX, *(stretch(float(f"{x:.4f}")) for x in values)).after
    # 0.01 mm off the mean of 0.35 mm, and 0.01 mm of the reading
    assert after.fasteners.preload_scatter == pytest.approx(0.02 / 0.35, rel=1e-3)
    one_less = fitted(SIX, *(stretch(float(f"{x:.4f}")) for x in values[1:])).after
    assert one_less.fasteners.preload_scatter == SIX.fasteners.preload_scatter


def test_a_preload_that_does_not_belong_to_the_others_hides_in_no_scatter() -> None:
    """The longest of ten by Grubbs at 1 %: 2.482 deviations, as two-sided tables print it."""
    kilo = [41.0, 39.5, 42.1, 40.3, 40.8, 39.9, 41.7, 40.1, 41.2]

    def of(*more: float) -> tuple[dict[str, str], ...]:
        row = {"kind": "preload at a torque", "at": "90 N*m"}
        return tuple({**row, "value": f"{x:.6f} kN"} for x in (*kilo, *more))

    good, bad = (sheets.readings(with_rows(SIX, *of(x)).evidence) for x in (40.6, 14.0))
    assert outlier_of(good) is None and sample_of(good) is not None
    assert outlier_of(bad) is bad[-1] and sample_of(bad) is None
    assert outlier_of(bad[:-1]) is None  # too few to be a sample
    rest = np.array([4.0, -4.0] * 4 + [0.0])
    for deviations, out in ((2.47, False), (2.50, True)):  # off the mean of all ten
        last = np.linspace(0.0, 100.0, 100_001)
        wide = np.sqrt((np.sum(rest**2) + 0.9 * last**2) / 9.0)
        value = float(np.interp(deviations, 0.9 * last / wide, last))
        rows = [{"kind": "preload at a torque", "at": "90 N*m", "value": f"{40.0 + x:.6f} kN"}
                for x in (*rest, value)]  # fmt: skip
        assert bool(outlier_of(sheets.readings(with_rows(SIX, *rows).evidence))) == out
    found, result = fitted(SIX, *of(34.0)), report.run(SIX)
    text = " ".join(Fitted(found, Comparison((result, result)), []).text().split())
    assert "measured[10], preload at a torque, 34.000000 kN" in text and found.doubt
    assert "DOES NOT FIT the 9 others" in text and found.scatter is None


def test_evidence_at_odds_is_named_and_widens_what_it_tells() -> None:
    rows = [{"kind": "body over ring", "value": v, "uncertainty": "4 um"}
            for v in ("0.095 mm", "0.105 mm")]  # fmt: skip
    other = {"kind": "fastener temperature", "value": "100 degC"}
    odd, sure = fitted(SIX, *rows, other), fitted(SIX, rows[0], rows[0], other)
    assert [m.fits for m in odd.misfits] == [False, True]
    wide, before = (sheets.half_widths(one.after.evidence) for one in (odd, sure))
    path, rise = "gasket.body_over_ring", "heat.rise_factor"
    assert wide[path] > 2.4 * before[path]  # sqrt(12.5 / 2), of two rows 2.5 off each
    assert wide[rise] == before[rise]  # and of nothing else
    with pytest.raises(InputError, match=r"measured\[1\]"):
        fitted(SIX, *({**row, "uncertainty": "1 um"} for row in rows))


def test_pairs_that_are_known_together_only_are_named() -> None:
    found = fitted(SIX, {"kind": "fastener temperature", "value": "100 degC",
                         "uncertainty": "1 K"})  # fmt: skip
    ((one, other, by),) = found.tied
    assert {one.name, other.name} >= {"coolant, hot"} and by < -0.9


def test_what_to_measure_next(found: evidence.Fit) -> None:
    fresh = report.run(COARSE, deck=True)
    best = what_next(COARSE, fresh.decides, None, scatter.carried_over(fresh))
    assert best[0].row["kind"] == "body over ring"  # what most moves its steel ring
    assert [x.worth for x in best] == sorted((x.worth for x in best), reverse=True)
    assert all(0.0 < x.narrows < 1.0 for x in best)
    on_the_deck = {"dial under one fastener", "thickness of the used gasket"}
    assert on_the_deck <= {x.row["kind"] for x in best}
    later = what_next(COARSE, fresh.decides, found, scatter.carried_over(fresh))
    measured = {row["kind"] for row in ROWS}
    assert not measured & {x.row["kind"] for x in later}


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_it_is_told_in_the_units_of_the_shop(found: evidence.Fit, system: str) -> None:
    before, after = report.run(found.build), report.run(found.after)
    following = what_next(found.build, after.decides, found)
    text = Fitted(found, Comparison((before, after)), following).text(system)
    assert "gasket.body_over_ring" in text and "What it tells" in text
    for unit in ("mm", "µm", "kN", "N·m", "°C"):
        assert (f" {unit}" in text) <= (system == "metric")


def test_a_row_that_does_not_fit_is_told_with_what_the_sheet_says() -> None:
    odd = fitted(SIX, stretch(0.39), stretch(0.32), stretch(0.32))
    result = report.run(SIX)
    text = " ".join(Fitted(odd, Comparison((result, result)), []).text("inch").split())
    assert (
        "DOES NOT FIT" in text and "evidence.measured[2], bolt stretch, 0.32 mm: stands 2" in text
    )
    (read, off), *_ = odd.odd
    place = read.reading.path
    assert f"{place}, bolt stretch, 0.39 mm: {off:.1f} standard deviations" in text
    assert f"the fitted sheet says {read.after / 25.4e-3:.4f} in." in text
    assert f"Without {place} all the rest fits" in text


def test_a_report_from_before_the_fit_has_the_numbers_of_its_sheet() -> None:
    """Written with how little was known, the sheet gives the same margins and bands anew."""
    found = fitted(SIX, stretch(0.33), {"kind": "coolant temperature", "value": "99 degC"})
    assert found.before != SIX
    kept = dataclasses.replace(report.run(found.build), build=found.before)
    for ours, anew in zip(kept.limits, report.run(found.before).limits, strict=True):
        assert ours.key == anew.key and ours.margin == pytest.approx(anew.margin, abs=1e-4)
        assert (ours.band is None) == (anew.band is None)
    assert kept.standing() == report.run(found.before).standing()


def test_a_report_says_that_it_was_measured_and_stays_of_its_form(found: evidence.Fit) -> None:
    before, after = report.run(SIX), report.run(found.after)
    assert "nobody has measured here" in before.verdict()
    assert "nobody has measured well enough here" in after.verdict()
    jsonschema.validate(after.to_dict(), record.schema())
    jsonschema.validate(tomllib.loads(found.after.dumps()), sheets.json_schema())


# --------------------------------------------------------------------------- the command
def sheet_file(folder: Path, *rows: str) -> Path:
    return file_of(SIX, folder, *rows)


def file_of(build: Build, folder: Path, *rows: str) -> Path:
    text = build.dumps() + "".join(f"\n[[evidence.measured]]\n{row}\n" for row in rows)
    path = folder / "six.toml"
    path.write_text(text, encoding="utf-8")
    return path


GOOD = 'kind = "body over ring"  # with a micrometer\nvalue = "0.09 mm"'


def test_the_command_writes_a_sheet_that_compares(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path, out = file_of(BARE, tmp_path, GOOD), tmp_path / "fitted.toml"
    before, run, builds = path.read_bytes(), report.run, []

    def counted(build: Build, **more: Any) -> Any:
        builds.append(build)
        return run(build, **more)

    monkeypatch.setattr(report, "run", counted)
    assert cli.main(["fit", str(path), "--out", str(out)]) in (0, 1) and len(builds) == 2
    text = capsys.readouterr().out
    assert "What to measure next" in text and "Side by side" in text
    assert path.read_bytes() == before and "# with a micrometer" in out.read_text()
    assert sheets.load(out).gasket.body_over_ring == pytest.approx(90.4e-6, abs=1e-6)
    for again in ([str(path), "--out", str(out)], [str(out)]):  # never over a file, never twice
        assert cli.main(["fit", *again]) == 2
    told = capsys.readouterr().err
    assert "left alone" in told and "none may count twice" in told
    assert sorted(p.name for p in tmp_path.iterdir()) == ["fitted.toml", "six.toml"]


def test_the_command_as_json_and_as_a_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, page, form = (
        file_of(COARSE, tmp_path, GOOD),
        tmp_path / "fit.html",
        tmp_path / "fit.json",
    )
    assert cli.main(["fit", str(path), "--json", "--page", str(page)]) in (0, 1)
    told = json.loads(capsys.readouterr().out)
    assert cli.main(["sheet", str(form), "--fit-schema"]) == 0
    schema = json.loads(form.read_text(encoding="utf-8"))
    assert schema == record.schema(measured.TABLE, measured.NAME)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(told, schema)
    (row,), (moved, *_) = told["readings"], told["moved"]
    assert row["place"] == "evidence.measured[1]" and (row["unit"], row["value"]) == ("m", 9e-5)
    assert moved["field"] == "gasket.body_over_ring" and moved["by"] == "body over ring"
    off = (row["value"] - row["after"]) / row["deviation"]
    assert row["off_after"] == pytest.approx(off) and abs(off) < abs(row["off_before"])
    text = page.read_text(encoding="utf-8")
    for words in ("Every reading beside the sheet", "standard deviations", "<svg", "next: by how"):
        assert words in text


def test_before_any_reading_it_is_told_what_to_measure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    four, out, page = sheets.demo("boosted-four"), tmp_path / "f.toml", tmp_path / "f.html"
    path = file_of(four.vary({"deck": None}), tmp_path)
    assert cli.main(["fit", str(path), "--out", str(out), "--page", str(page)]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Nothing was measured yet") and not out.exists()
    assert f"no readings yet: {out} is not written" in text
    note, listed = text.split("What to measure next")[1].split("  1. ")
    assert "the standard deviation of that margin" in note and "may stay as wide" in note
    assert "% narrower" in listed and "Side by side" not in text
    assert "What to measure next" in page.read_text(encoding="utf-8")
    assert cli.main(["fit", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    jsonschema.validate(told, record.schema(measured.TABLE, measured.NAME))
    film = next(x for x in told["next"] if x["kind"] == "line load on the seal")
    assert film["at"] == {"value": four.fasteners.torque / 2.0, "unit": "N*m"}  # as its how says
    assert film["time"] == {"value": 4 * 3600.0, "unit": "s"} and film["ceiling"] is None


@pytest.mark.parametrize(
    ("row", "counted"),
    [
        ('kind = "preload at a torque"\nvalue = "50 kN"\nat = "117 N*m"', False),
        ('kind = "coolant temperature"\nvalue = "99 degC"', True),
    ],
    ids=["friction", "coolant"],
)
def test_the_band_of_before_is_explained_where_it_counts_more_than_that_of_a_report(
    row: str, counted: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Friction is in no band, before or after: it is in the two ends of the preload."""
    four = sheets.demo("boosted-four").vary({"deck": None})
    assert cli.main(["fit", str(file_of(four, tmp_path, row))]) in (0, 1)
    text = " ".join(capsys.readouterr().out.split())
    assert "What it tells" in text and " ± " in text
    said = "the band of the first also counts how far off heat.coolant_temperature may have been"
    assert (said in text) == counted


def test_a_pressure_test_names_its_pressure_and_where_to_stop() -> None:
    """Never proposed where the model expects the seal to hold past the design peak pressure."""
    four = sheets.demo("boosted-four").vary({"deck": None})
    weak = four.vary_si({"fasteners.torque": 70.0})
    first, result = (report.run(build) for build in (four, weak))
    assert "opens at a pressure" not in {x.row["kind"] for x in what_next(four, first.decides)}
    every = what_next(weak, result.decides)
    (one,) = (x for x in every if x.row["kind"] == "opens at a pressure")
    assert one.expects is not None and one.ceiling is not None and one.expects < one.ceiling
    assert one.ceiling == pytest.approx(float(evidence.predict.sizing_peak(weak)))
    text = " ".join(Fitted(fit(weak, []), Comparison((result,)), every).text().split())
    model, top = (show(x, "gauge pressure", "metric") for x in (one.expects, one.ceiling))
    assert f"The model expects {model}; stop at {top}" in text


def test_what_does_not_fit_stands_against_the_verdict_wherever_it_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The joint holds, before and after; the code says that this is not to be trusted."""
    rows = (f'kind = "coolant temperature"\nvalue = "{x} degC"\nuncertainty = "2 K"'
            for x in (92, 97))  # fmt: skip
    path = file_of(sheets.demo("na-iron-v8").vary({"deck": None}), tmp_path, *rows)
    out, page = tmp_path / "f.toml", tmp_path / "f.html"
    assert cli.main(["fit", str(path), "--json", "--out", str(out), "--page", str(page)]) == 1
    told = json.loads(capsys.readouterr().out)
    before, after = told["builds"][0]["reports"]
    doubt = "; but the readings do not fit together: look at them first"
    assert told["fits"] is False and after["standing"].endswith(doubt)
    assert doubt not in before["standing"] and doubt in page.read_text(encoding="utf-8")
    again = report.run(sheets.load(out))
    assert again.holds and again.standing().endswith(doubt)
    assert doubt in paper.text(paper.paper_of(again))
    assert cli.main(["fit", str(out)]) == 2  # never twice, whatever it found


@pytest.mark.parametrize(
    ("row", "field", "wanted"),
    [
        ('kind = "body over rings"', "kind", 'did you mean "body over ring"?'),
        ('kind = "bolt stretch"', "value", "a stretch"),
        ('kind = "bolt stretch"\nvalue = "3 bar"', "value", "a stretch"),
        ('kind = "bolt stretch"\nvalue = "0.3"', "value", "a stretch"),
        ('kind = "bolt stretch"\nvalue = "nan mm"', "value", "a finite number"),
        ('kind = "preload at a torque"\nat = "90 N*m"\nvalue = "0 kN"', "value", "above zero"),
        ('kind = "bolt stretch"\nvalue = "1e999 mm"', "value", ""),
        ('kind = "bolt stretch"\nvalue = 0.3', "value", "a text"),
        ('kind = "bolt stretch"\nvalue = "0.3 mm"\nat = "3 bar"', "at", "nothing"),
        ('kind = "bolt stretch"\nvalue = "0.3 mm"\nuncertainty = "0 mm"', "uncertainty", "above"),
        ('kind = "bolt stretch"\nvalue = "0.3 mm"\nuncertainty = "-2 %"', "uncertainty", "above"),
        ('kind = "bolt stretch"\nvalue = "0.3 mm"\nuncertainty = "1 bar"', "uncertainty", ""),
        ('kind = "bolt stretch"\nvalue = "0.3 mm"\nfile = "log.csv"', "file", "no file"),
        ('kind = "cylinder pressure"\nfile = "../log.csv"', "file", "beside the sheet"),
        ('kind = "cylinder pressure"\nfile = "C:/log.csv"', "file", "beside the sheet"),
        ('kind = "cylinder pressure"\nvalue = "80 bar"', "file", "beside the sheet"),
        ('kind = "bolt stretch"\nvalue = "-0.3 mm"', "value", "a stretch not below zero"),
        ('kind = "held at boost"\nat = "-0.3 bar"', "at", "a gauge pressure"),
        ('kind = "held at boost"\nat = "20 bar"', "at", "from 0 bar to 10 bar"),
        ('kind = "no bubbles in a leak-down"\nat = "0 bar"', "at", "above zero"),
        ('kind = "body over ring"\nvalue = "30 mm"', "value", "a length"),
        ('kind = "torque at the end of the angle"\nvalue = "90 N*m"', "kind",
         'fasteners.tightening = "torque and angle"'),
        ('kind = "cylinder pressure"\nfile = "nope.csv"', "file", "beside the sheet"),
        ('kind = "held at boost"', "at", "a gauge pressure"),
        ('kind = "held at boost"\nat = "1 bar"\nuncertainty = "2 mm"', "uncertainty", "percentage"),
        ('kind = "bolt stretch"\nvalues = "0.3 mm"', "values", 'did you mean "value"?'),
    ],
    ids=lambda x: x.replace("\n", ", ") if "kind" in x else x or "any",
)  # fmt: skip
def test_a_bad_row_ends_in_a_named_fault_and_nothing_is_written(
    row: str, field: str, wanted: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, out = sheet_file(tmp_path, GOOD, row), tmp_path / "fitted.toml"
    assert cli.main(["fit", str(path), "--out", str(out)]) == 2
    told = capsys.readouterr().err
    line = next(x for x in told.splitlines() if f"evidence.measured[2].{field}" in x)
    assert wanted in line and not out.exists()


@pytest.mark.parametrize(
    "rows",
    [
        ('kind = "body over ring"\nvalue = "0.09 mm"',) * 401,
        ('kind = "held at boost"\nat = "20 bar"',),  # more than a sheet may have
        ('kind = "peak pressure"\nvalue = "1e-9 Pa"',),  # slopes beyond what numbers hold
    ],
    ids=["too many", "outside", "next to nothing"],
)
def test_what_cannot_be_fitted_is_refused(rows: tuple[str, ...], tmp_path: Path) -> None:
    path, out = sheet_file(tmp_path, *rows), tmp_path / "fitted.toml"
    assert cli.main(["fit", str(path), "--out", str(out)]) == 2 and not out.exists()


@pytest.mark.parametrize(
    ("row", "named"),
    [
        ({"field": "gasket.body_over_rings", "half_width": "1 um"}, "gasket.body_over_ring"),
        ({"field": "sheet.name", "half_width": "1 um"}, "a number on the sheet"),
        ({"field": "gasket.body_over_ring", "half_width": "1 bar"}, "half_width"),
        ({"field": "gasket.body_over_ring", "half_width": "-1 um"}, "not below zero"),
    ],
    ids=["unknown", "no number", "unit", "sign"],
)
def test_what_is_known_is_a_width_of_a_number(row: dict[str, str], named: str) -> None:
    with pytest.raises(InputError, match=r"evidence\.known\[1\]") as told:
        SIX.vary({"evidence.known": [{**row, "source": "bench"}]})
    assert named in str(told.value)


@pytest.mark.parametrize(
    ("demo", "row", "wanted"),
    [
        ("methanol-drag", {"kind": "pushed water at boost", "at": "2 bar"}, 'liquids.deck = "wet"'),
        ("methanol-drag", {"kind": "body over ring", "value": "0.1 mm"}, "gasket.body_over_ring"),
        (
            "methanol-drag",
            {"kind": "coolant temperature", "value": "90 degC"},
            'liquids.deck = "wet"',
        ),
    ],
    ids=["no water", "no ring", "no coolant"],
)
def test_what_a_build_cannot_show_is_refused_by_its_row(
    demo: str, row: dict[str, str], wanted: str, tmp_path: Path
) -> None:
    sheet = with_rows(sheets.demo(demo), row)
    with pytest.raises(InputError, match=r"measured\[1\]\.kind: got .*" + wanted):
        evidence.gather(sheet, tmp_path)


def test_a_folder_that_is_not_there_is_refused_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sheet_file(tmp_path, GOOD)
    assert cli.main(["fit", str(path), "--out", str(tmp_path / "nowhere" / "x.toml")]) == 2
    told = capsys.readouterr()
    assert "a folder that is there" in told.err and not told.out


def test_every_kind_is_predicted_and_told() -> None:
    known = {path for path, _ in sheets.fields()}
    for row in tables.load("measurements").rows:
        if row["kind"] != CylinderPressure.kind:
            assert callable(getattr(predict, f"_{row['by']}")), row["kind"]
            assert row["moves"] and set(predict.fields_of(row["moves"])) <= known, row["kind"]
            assert bool(row["value"]) != bool(row["tells"]), row["kind"]


def test_a_log_beside_the_sheet_is_evidence_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Made on an engine that burns later than the sheet says; then with a wrong phase."""
    true = SIX.vary_si({"burn.ca50": SIX.burn.ca50 + np.radians(3.0)})
    cycle = analysis.mean_cycle(true).cycle
    angle, pressure = np.degrees(cycle.crank_angle), np.asarray(cycle.pressure) / 1e5
    path = file_of(BARE, tmp_path, GOOD, 'kind = "cylinder pressure"\nfile = "log.csv"')

    def fit_it(shift: float) -> int:
        rows = zip(angle + shift, pressure, strict=True)
        lines = [f"{x:.2f},{p:.4f},0" for x, p in rows]
        text = "\n".join(["crank angle [deg],pressure [bara],knock", *lines])
        (tmp_path / "log.csv").write_text(text, encoding="utf-8")
        return cli.main(["fit", str(path), "--out", str(tmp_path / f"{shift}.toml")])

    assert fit_it(0.0) in (0, 1)
    assert "log.csv: not read: knock." in capsys.readouterr().out
    after = sheets.load(tmp_path / "0.0.toml")
    assert after.burn.ca50 == pytest.approx(true.burn.ca50, abs=np.radians(0.5))
    assert sheets.half_widths(after.evidence)["burn.ca50"] < np.radians(3.0)
    capsys.readouterr()
    assert fit_it(6.0) == 2 and not (tmp_path / "6.0.toml").exists()
    assert "log.csv" in capsys.readouterr().err
    (tmp_path / "log.csv").unlink()
    assert cli.main(["fit", str(path)]) == 2
