"""The band of every margin: other choices of the model, two at a time, and what they turn."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import paper, report, tables
from sealkit.analysis import gas_side, judged, margins
from sealkit.analysis.margins import FIRST_START
from sealkit.analysis.warm import FULL_LOAD, across_head
from sealkit.build import Build
from sealkit.classroom.panel import looks
from sealkit.report.band import BOW, Place, alternatives, in_proportion, place
from sealkit.sealing.limit import (
    DAMAGE,
    LIQUID_LEAK,
    Band,
    Condition,
    Limit,
    Moment,
    Outcome,
    worst,
)
from tests import sheets

COARSE = {"deck.mesh": "16 mm"}  # maps that are compared with each other
Tried = tuple[float, str, str, float]  # margin, choice, field, value


def margins_of(build: Build, peak: float, changes: dict[str, float]) -> dict[Place, float]:
    """The margins of a build by itself with other values, in every state."""
    # the bow is a choice of its own
    one = build.vary_si({BOW: float(across_head(build, FULL_LOAD)), **changes})
    at = peak
    if any(x.startswith("burn.") for x in changes):
        at *= gas_side(one).design_gauge / gas_side(build).design_gauge
    out: dict[Place, float] = {}
    for row in margins.limits(judged(one, at)[0], at):
        out[place(row)] = min(out.get(place(row), np.inf), float(row.margin))
    return out


def tried_at(build: Build, peak: float) -> tuple[dict[Place, float], dict[Place, list[Tried]]]:
    """Margins at a peak, and what each choice makes of them in a report of its own."""
    usual = margins_of(build, peak, {})
    found: dict[Place, list[Tried]] = {when: [] for when in usual}
    for what, path, value in alternatives(build):
        for when, margin in margins_of(build, peak, {path: value}).items():
            # a state that is looked at with this choice alone
            if when in usual:
                found[when].append((margin, what, path, value))
    return usual, found


def ends_of(
    margin: float, tried: list[Tried], adds_demand: bool
) -> tuple[float, float, list[Tried], list[Tried]]:
    """Low and high end with the two choices that move it most to either side, and these."""
    least: dict[str, Tried] = {}
    most: dict[str, Tried] = {}
    for one in tried:
        least[one[1]] = min(one, least.get(one[1], one))
        most[one[1]] = max(one, most.get(one[1], one))
    worst = sorted(x for x in least.values() if x[0] < margin)[:2]
    best = sorted((x for x in most.values() if x[0] > margin), reverse=True)[:2]
    low = margin - sum(margin - x[0] for x in worst)
    high = margin + sum(x[0] - margin for x in best)
    if adds_demand and margin > -1.0:
        asked = 1.0 / (1.0 + margin)
        low = -1.0
        if all(x[0] > -1.0 for x in worst):
            low = 1.0 / (asked + sum(1.0 / (1.0 + x[0]) - asked for x in worst)) - 1.0
        high = margin
        if np.isfinite(margin):  # of what is asked each leaves a share
            high = (
                float(np.prod([(1.0 + x[0]) / (1.0 + margin) for x in best])) * (1.0 + margin) - 1.0
            )
        low = low if low < 1e9 else np.inf
    elif not np.isfinite(margin):  # nothing is taken off it: the worst choice by itself
        low = worst[0][0] if worst else margin
    return low, high, worst, best


@pytest.mark.parametrize("name", builds.demos())
def test_band_is_that_of_reports_made_one_by_one(name: str) -> None:
    """Many builds in one array against the same sheets, each by itself; the two largest moves.

    In every state by itself, and the lowest counts. What the two worst choices take off together,
    worked out together, is what they take off one by one, within a third.
    """
    build = builds.demo(name)
    whole = report.run(build)
    peak = whole.gas.design_gauge
    rise = whole.gas.knock_missing
    assert rise is not None and (rise > 0.0) == (name == "boosted-four")
    usual, found = tried_at(build, peak)
    knocking = tried_at(build, peak + rise) if rise else (usual, found)
    pairs: dict[tuple[tuple[str, float], ...], dict[Place, float]] = {}
    for row in whole.banded:
        assert row.band is not None and row.band.low <= row.margin <= row.band.high
        adds = row.check == "springback" or row.failure == DAMAGE
        every = {w: ends_of(usual[w], found[w], adds) for w in usual if w[0] == row.key}
        loud = {
            w: ends_of(x, knocking[1][w], adds) for w, x in knocking[0].items() if w[0] == row.key
        }
        high = max(float(row.margin), min(x[1] for x in every.values()))
        low, by = min(
            (min(ends[0] for ends in of.values()), knocks)
            for of, knocks in ((every, False), (loud, True))
        )
        assert row.band[:2] == pytest.approx((max(low, -1.0), high), rel=1e-6, abs=1e-9), row.key
        when = min(loud if by else every, key=lambda w: (loud if by else every)[w][0])
        names = [x[1] for x in (loud if by else every)[when][2]] + ["knock"] * by
        if row.margin <= -1.0:  # nothing is left to lower
            assert row.band.low == -1.0
            continue
        assert row.band.lowest_by == " and ".join(
            filter(None, [", ".join(names[:-1]), *names[-1:]])
        )
        hard = min(every, key=lambda w: (usual[w] >= 0.0, every[w][1]))
        raises = " and ".join(x[1] for x in every[hard][3])
        assert row.band.highest_by == (raises if np.isfinite(row.margin) else "")
        when = min(every, key=lambda w: every[w][0])
        calm, _, worst, _ = every[when]
        # with a bow each presses the hot seal the harder for the other
        if len(worst) == 2 and not any("bow" in x[1] for x in worst):
            two = tuple((path, value) for _, _, path, value in worst)
            if not all(path for path, _ in two):
                continue
            if two not in pairs:
                pairs[two] = margins_of(build, peak, dict(two))
            lost = usual[when] - max(calm, -1.0)
            assert usual[when] - pairs[two][when] == pytest.approx(lost, rel=0.33), row.key


@pytest.mark.parametrize(("name", "ratio"), [("boosted-four", 8.5), ("methanol-drag", 9.5)])
def test_knock_left_out_counts_as_if_it_stood_on_the_sheet(name: str, ratio: float) -> None:
    """The low ends are those of a sheet that adds as much as the end gas can, where it is near."""
    out = report.run(builds.demo(name).vary({"engine.compression_ratio": ratio}))
    rise = out.gas.knock_missing
    assert rise
    added = report.run(out.build.vary_si({"burn.knock_amplitude": rise}))
    assert (out.knock, added.knock) == ("in the bands", "in the loads")
    assert out.outcome is added.outcome
    theirs = {r.key: r for r in added.banded}
    for row in out.banded:
        band, other = row.band, theirs[row.key].band
        assert band is not None and other is not None
        if other.low < 0.35:
            assert band.low == pytest.approx(other.low, abs=0.07), row.key
    # an amplitude on the sheet counts for what it is, also where it is rounded
    for ca50 in (8.5, 16.5):
        timed = builds.demo(name).vary({"burn.ca50": f"{ca50} deg"})
        if rest := report.run(timed).gas.knock_missing:
            stated = timed.vary({"burn.knock_amplitude": f"{rest / 1e5!r} bar"})
            assert report.run(stated).gas.knock_missing == 0.0
    for share in (0.001, 0.5, 0.99):
        made = report.run(out.build.vary_si({"burn.knock_amplitude": share * rise}))
        assert made.knock == "in the bands"
        assert made.gas.knock_missing == pytest.approx((1.0 - share) * rise)
        (lift,) = (r.band for r in made.banded if r.check == "lift-off")
        (whole,) = (r.band for r in out.banded if r.check == "lift-off")
        assert lift and whole and lift.low == pytest.approx(whole.low, abs=0.02)


def test_low_ends_with_knock_are_those_of_a_sheet_that_states_it() -> None:
    """The more of it the sheet adds the less is missing: the same load in the end."""
    calm = builds.demo("boosted-four").vary_si({"head.load_introduction": 0.0})
    rise = report.run(calm).gas.knock_missing
    assert rise
    lows = []
    for share in (0.0, 0.6, 0.95, 1.0001):
        made = report.run(calm.vary_si({"burn.knock_amplitude": share * rise}))
        lows.append([r.band.low for r in sorted(made.banded, key=lambda r: r.key) if r.band])
    assert np.allclose(np.minimum(lows, 1.0), np.minimum(lows[0], 1.0), atol=5e-3)


def test_more_boost_never_raises_the_top_of_a_springback_band() -> None:
    """Also where the average joint asks next to nothing of the seal, and where it has let go."""
    drag = builds.demo("methanol-drag").vary(sheets.LONG_RUN | COARSE)
    tops = []
    for psi in (40, 50, 60):
        made = report.run(drag.vary({"charge.boost": f"{psi} psi"}), deck=True)
        (row,) = (r for r in made.banded if r.check == "springback")
        assert row.band is not None and row.margin < 0.0
        tops.append(row.band.high)
    assert tops == sorted(tops, reverse=True)


def test_a_seal_that_has_lost_touch_has_load_again_only_where_a_map_says_so() -> None:
    """With half the bow and fasteners that lag less, the two choices of the top, on one map."""
    drag = builds.demo("methanol-drag").vary(sheets.LONG_RUN | {"deck.mesh": "12 mm"})
    other = {"head.gradient": 30.0, "heat.warm_up_share": 0.68}
    tried: tuple[tuple[dict[str, Any], bool], ...] = (
        ({}, True),
        ({"charge.boost": "25 psi"}, True),
        ({"charge.boost": "60 psi"}, False),
        ({"head.thickness": "1.0 in"}, False),
        ({"fasteners.stretch": "0.012 in"}, False),
    )
    for sheet, turned in tried:
        made = report.run(drag.vary(sheet), deck=True)
        theirs = report.run(drag.vary(sheet).vary_si(other), deck=True)
        (row,), (own,) = (
            [r for r in rows if r.check == "residual"] for rows in (made.banded, theirs.limits)
        )
        assert row.band is not None and row.margin == -1.0
        assert row.band.high == pytest.approx(float(own.margin), abs=0.1), sheet
        assert (row.outcome is Outcome.CLOSE) == turned
        assert (made.outcome is Outcome.CLOSE) == turned


def test_the_top_of_a_springback_band_has_no_spike_where_the_average_joint_lifts_off() -> None:
    drag = builds.demo("methanol-drag").vary(sheets.LONG_RUN | COARSE)
    tops = []
    for inches in (0.0145, 0.0155, 0.016, 0.0165, 0.0175):
        made = report.run(drag.vary({"fasteners.stretch": f"{inches} in"}), deck=True)
        (row,) = (r for r in made.banded if r.check == "springback")
        assert row.band is not None
        tops.append(row.band.high)
    assert np.all(np.diff(tops) > 0.0) and tops[-1] - tops[0] < 0.3


@pytest.mark.parametrize("name", ["boosted-six", "methanol-drag"])
def test_the_top_of_a_seal_s_band_falls_without_a_jump_as_gas_rises(name: str) -> None:
    """Also where the average joint's seal, or that of the map, has nothing left."""
    made = (sheets.long_run() if name == "methanol-drag" else sheets.printed(name)).report
    peaks = [x * made.gas.design_gauge for x in np.linspace(1.0, 1.6, 61)]
    made.moved(*peaks)
    every = [made.bands_at(p)["residual"] for p in peaks]
    margins = [min(margin for margin, _ in bands) for bands in every]
    tops = np.array([min(band.high for _, band in bands) for bands in every])
    assert margins[-1] <= -1.0 and tops[0] > 0.0 and tops[-1] < 0.0
    assert np.all(np.diff(tops) < 1e-9) and np.all(np.diff(tops) > -0.3)


def test_a_band_is_the_same_just_above_and_at_nothing_left() -> None:
    moved = {"creep": (-1.0, -0.2), "bow": (-1.0, 0.1)}
    just, none = (in_proportion(0.3, (x, moved), "residual") for x in (-1.0 + 1e-9, -1.0))
    for what, ends in just.items():
        assert none[what] == pytest.approx(ends, abs=1e-6)


@pytest.mark.parametrize(
    ("name", "path", "value"),
    [
        ("na-iron-v8", "gasket.body_over_ring", 50e-6),
        ("na-iron-v8", "fasteners.embedment", 6.5e-6),
        ("boosted-six", "gasket.body_over_ring", 50e-6),
        ("boosted-six", "head.load_introduction", 0.0),
    ],
)
def test_the_band_of_a_map_holds_what_a_map_with_another_choice_says(
    name: str, path: str, value: float
) -> None:
    """Ring in a fibre body: the map's seal is far below the average joint's, and above it."""
    changes = {"gasket.construction": "fibre body with steel ring", **COARSE}
    build = builds.demo(name).vary(changes)
    made = report.run(build, deck=True)
    other = report.run(build.vary_si({path: value}), deck=True)
    (row,), (own,) = ([r for r in x if r.check == "residual"] for x in (made.banded, other.limits))
    assert row.band is not None and row.band.low <= own.margin <= row.band.high
    assert abs(own.margin - row.margin) > 0.05, "a choice that counts"


def test_a_head_that_bows_hot_turns_the_average_joint_as_it_does_the_map() -> None:
    """Copper under a hot solid head is pressed thinner than it can follow back, by both.

    The more the head bows the less is left; flat, the seal holds for sure.
    """
    drag = builds.demo("methanol-drag").vary(sheets.LONG_RUN)
    rows: dict[str, list[Limit]] = {}
    for kelvin in (0.0, 15.0, 30.0, 45.0, 60.0):
        made = report.run(drag.vary_si({"head.gradient": kelvin}))
        for row in made.banded:
            rows.setdefault(row.check, []).append(row)
    for check in ("residual", "springback"):
        left = [float(row.margin) for row in rows[check]]
        assert np.all(np.diff(left) <= 0.0) and left[0] > 2.0 and left[-1] < 0.0
        flat, bowed = rows[check][0], rows[check][-1]
        assert flat.outcome is Outcome.HOLDS
        assert bowed.outcome is Outcome.CLOSE and "bow of the hot head" in bowed.turned_by
    with_map = sheets.long_run().report
    for check in ("residual", "springback"):
        here, there = (
            next(r for r in one.banded if r.check == check) for one in (with_map.average, with_map)
        )
        assert here.outcome is there.outcome is Outcome.CLOSE
        assert here.margin == pytest.approx(float(there.margin), abs=0.15)
        begins = [
            next(f.pressure for f in one.order if f.limit.check == check)
            for one in (with_map.average, with_map)
        ]
        assert begins[0] == pytest.approx(begins[1], rel=0.2)


def test_without_a_deck_layout_the_head_as_a_plate_is_a_choice_of_the_model() -> None:
    """What a thinner or thicker plate leaves on the seal lies within the band, and opens it."""
    four = builds.demo("boosted-four")
    bare = four.vary({"deck": None})
    assert "head.thickness" not in {path for _, path, _ in alternatives(four)}
    own = bare.head.thickness
    margin = {}
    for factor in (0.85, 0.93, 1.0, 1.07, 1.15):
        made = report.run(bare.vary_si({"head.thickness": factor * own}))
        margin[factor] = next(r for r in made.banded if r.check == "residual")
    rows = [float(row.margin) for row in margin.values()]
    assert np.all(np.diff(rows) > 0.0)
    band = margin[1.0].band
    assert band is not None and band.low <= rows[0] and rows[-1] <= band.high
    assert "head as a plate" in band.lowest_by
    narrow = next(r for r in report.run(four).banded if r.check == "residual")
    assert narrow.band is not None and band.low < narrow.band.low


def test_the_bow_of_the_band_is_that_of_a_map_of_its_own() -> None:
    """Every state with half as much bow again, against the whole map of such a sheet."""
    changes = {"head.gradient": "36 K", "gasket.body_tolerance": "0 mm", **COARSE}
    build = builds.demo("boosted-six").vary(changes)
    whole, bowed = (
        report.run(build.vary_si({"head.gradient": x}), deck=True) for x in (36.0, 54.0)
    )
    seen = set()
    for when, row in bowed.mapped.items():
        moved = whole.other_bow.get(when)
        if row.state.state == FIRST_START or row.state.moment is Moment.ASSEMBLY:
            assert moved is None
            assert row.margin == pytest.approx(float(whole.mapped[when].margin), abs=1e-6)
        elif moved is not None:
            seen.add(row.check)
            assert min(abs(row.margin - x) for x in moved.values()) < 1e-4 * (1.0 + row.margin)
    assert seen == {"residual", "springback", "crush", "liquid"}
    row = next(r for r in whole.banded if r.check == "residual")
    cold = next(r for r in bowed.mapped.values() if r.key == row.key and not r.state.state)
    assert row.band is not None
    assert row.band.low <= cold.margin and "bow" in row.band.lowest_by


def test_alternatives_stand_in_the_table_with_source_and_status() -> None:
    four, six = (builds.demo(x) for x in ("boosted-four", "boosted-six"))
    others = four.vary({"fasteners.tightening": "yield"}), four.vary({"deck": None})
    tried = [row for sheet in (four, six, *others) for row in alternatives(sheet)]
    table = tables.load("alternatives")
    assert {path for _, path, _ in tried} == set(table)
    assert all(table[path]["source"] and table[path]["status"] for path in table)


def test_a_section_whose_skin_must_not_yield_stands_less_twist() -> None:
    """Handbooks differ: by VDI 2230 all of it may yield on the wrench, elsewhere not its skin."""
    for name in builds.demos():
        build = builds.demo(name)
        rows = [
            next(r for r in report.run(b).banded if r.check == "tightening")
            for b in (build, build.vary({"fasteners.torsion_divisor": 16}))
        ]
        plastic, elastic = rows
        assert elastic.margin < plastic.margin
        assert plastic.band is not None and elastic.band is not None
        assert plastic.band.low == pytest.approx(float(elastic.margin))
        assert elastic.band.high == pytest.approx(float(plastic.margin))
        assert "twist" in plastic.band.lowest_by


def test_threads_that_strip_within_their_own_tolerance_are_too_close_to_call() -> None:
    """Engaged less and less; the loosest thread allowed strips at 85 % of a nominal one."""
    build = builds.demo("methanol-drag")
    full = report.run(build)
    strips = next(r for r in full.banded if r.check == "threads")
    short = build.fasteners.engagement * 1.05 / (1.0 + strips.margin)
    row = next(
        r
        for r in report.run(build.vary_si({"fasteners.engagement": short})).banded
        if r.check == "threads"
    )
    assert row.margin == pytest.approx(0.05, abs=1e-6) and row.band is not None
    assert row.outcome is Outcome.CLOSE and row.band.lowest_by.startswith("play of the threads")
    assert row.band.low < 0.85 * 1.05 - 1.0 < 0.0


def test_load_nearer_the_fasteners_heads_takes_more_of_the_fastener_and_less_of_the_seal() -> None:
    """Textbook direction: a load that enters higher up unloads the members less."""
    build = builds.demo("boosted-four")

    def margin(share: float, key: str) -> float:
        rows = report.run(build.vary_si({"head.load_introduction": share})).limits
        return float(next(r.margin for r in rows if r.key == key))

    fastener = [margin(s, "fastener") for s in (0.0, 0.3, 0.5, 1.0)]
    seal = [margin(s, "residual") for s in (0.0, 0.3, 0.5, 1.0)]
    assert np.all(np.diff(fastener) < 0) and np.all(np.diff(seal) > 0)


def test_from_holds_over_too_close_to_does_not_hold() -> None:
    """More and more torque uses up the fastener; between the two the report does not decide."""
    build = builds.demo("boosted-four").vary({"charge.boost": "15 psi"})
    told = [report.run(build.vary({"fasteners.torque": f"{t} N*m"})) for t in range(115, 150, 3)]
    order = [Outcome.HOLDS, Outcome.CLOSE, Outcome.FAILS]
    seen = [order.index(r.outcome) for r in told]
    assert seen == sorted(seen) and set(seen) == {0, 1, 2}
    told = [r for r in told if r.outcome is Outcome.CLOSE and not r.leaves_knock_out]
    for close, stands in ((told[0], "holds"), (told[-1], "fails")):
        row = next(r for r in close.close if r.key == "fastener")
        assert row.band is not None and not close.holds
        said, first = close.verdict(), close.close[0]
        turns = row.band.lowest_by if stands == "holds" else row.band.highest_by
        assert ": too close to call: " in said and turns
        but_for = f"{stands} but for {turns}"
        assert f"{row.title}, {report.result.band_words(row.band)}, {but_for}" in said
        assert but_for in paper.summary(close)
        assert "TOO CLOSE TO CALL" in {r["holds"] for r in report.rows(close)}
        assert str(first.title) in close.standing() and first.turned_by in close.standing()
        assert first.brief in looks.whole(close)


def test_no_body_is_blown_out_for_sure_where_its_seal_may_hold() -> None:
    """Seal lost as taken, held by two choices that alone do not hold it; and one lost for sure."""
    build = builds.demo("boosted-six")
    for boost, outcome in (("32 psi", Outcome.CLOSE), ("42 psi", Outcome.FAILS)):
        made = report.run(build.vary({"charge.boost": boost}))
        seal, body = (
            next(r for r in made.banded if r.check == x) for x in ("residual", "blow-out")
        )
        assert seal.margin < 0.0 and body.margin < 0.0
        assert seal.outcome is body.outcome is made.outcome is outcome
        assert seal.turned_by == body.turned_by


def test_a_joint_that_fails_is_short_by_what_fails_for_sure() -> None:
    changes = {"charge.boost": "30 psi", "fasteners.engagement": "6 mm"}
    made = report.run(builds.demo("boosted-six").vary(changes))
    sure = [float(r.margin) for r in made.banded if r.outcome is Outcome.FAILS]
    assert made.outcome is Outcome.FAILS and made.weakest.margin < min(sure)
    least, told = min(made.banded, key=lambda r: (r.outcome, r.margin)), made.to_dict()
    short = f"short by {report.percent(-min(sure)).lstrip('+')} ("
    assert least.margin == min(sure) and short in made.standing()
    assert made.standing().endswith(f": {least.title}")
    # one rule: the same limit and number in the data, the verdict and the appendix
    assert (told["weakest"], told["reserve"]) == (least.key, least.margin)
    assert f"What decides: {least.title};" in made.grounds()


def test_a_blow_out_comes_no_sooner_than_the_seal_that_lets_gas_to_it() -> None:
    rows = [
        Limit(check, "a", 100.0, left, "force", Condition(), "", "invented")
        for check, left in (("blow-out", 10.0), ("lift-off", 90.0), ("residual", 40.0))
    ]
    order = ["residual", "blow-out", "lift-off"]
    assert [r.check for r in report.result.ranked(rows)] == order
    assert report.result.deciding(rows).check == "residual"


def test_what_gives_first_and_what_gives_for_sure_go_by_pressure() -> None:
    changes = {"fasteners.torque": "131 N*m", "charge.boost": "3.4 bar"}
    made = report.run(builds.demo("boosted-four").vary(changes))
    first, sure = made.first_failure, made.sure_failure
    assert first is not None and made.unsure(first) and sure is not None
    assert first.pressure < sure.pressure < made.gas.design_gauge
    assert made.order[0] is first and not made.unsure(sure)
    (line,) = (x for x in paper.summary(made).splitlines() if x.startswith("gives first"))
    said, later = line.split("; for sure, ")
    assert f"perhaps {first.limit.consequence}" in said and str(sure.limit.consequence) in later
    assert "gives already" not in paper.summary(made)


def test_coolant_and_oil_carry_their_band() -> None:
    made = report.run(builds.demo("boosted-four").vary({"fasteners.torque": "85 N*m"}))
    oil = next(r for r in made.close if r.failure == LIQUID_LEAK)
    (line,) = (x for x in paper.summary(made).splitlines() if x.startswith("coolant and oil"))
    assert f"too close to call: {oil.title}, {report.result.band_words(oil.band)}" in line
    assert [r.margin for r in made.close] == sorted(r.margin for r in made.close)


def test_both_sides_of_the_tightening_are_told() -> None:
    for torque, short in (("50 N*m", 0), ("160 N*m", 1)):
        made = report.run(builds.demo("boosted-four").vary({"fasteners.torque": torque}))
        sides = report.side_rows(made)
        assert [what for what, _ in sides] == ["too little clamp", "too much clamp"]
        for i, ((_, said), way) in enumerate(zip(sides, ("less", "more"), strict=True)):
            assert said.startswith("-") == (i == short)
            assert said.endswith(f"unsafe side: {way} tightening") and said in paper.summary(made)


@pytest.mark.parametrize("name", builds.demos())
def test_each_side_is_told_by_its_most_doubtful_limit(name: str) -> None:
    made = report.run(builds.demo(name))
    for (end, row), (_, said) in zip(
        report.sides(made).items(), report.side_rows(made), strict=True
    ):
        rows = [r for r in made.banded if r.state.preload is end]
        alike = [r for r in rows if r.outcome is worst(r.outcome for r in rows)]
        ends = [float(r.margin) if r.band is None else r.band.low for r in alike]
        assert row.title == alike[int(np.argmin(ends))].title
        assert f"({report.result.band_words(row.band)} with other choices" in said


def test_the_average_joint_says_that_the_report_judges_by_the_map() -> None:
    sheet = builds.demo("boosted-four")
    bare = dataclasses.replace(sheet, deck=None)
    clause = "average; the report's deck map counts"
    assert clause in looks.whole(report.run(sheet)) and clause not in looks.whole(report.run(bare))


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (-0.0004, 0.0004, ""),
        (-0.003, 0.12, "-0.3 to +12 %"),
        (-0.12, -0.0001, "-12 to 0 %"),
        (0.0, 0.3, "0 to +30 %"),
    ],
)
def test_no_end_of_a_band_is_minus_nought(low: float, high: float, said: str) -> None:
    assert report.result.band_words(Band(low, high, "creep")) == said


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
