"""From the sheet to the deck map: same numbers as the report, and the map counts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sealkit import analysis, build, paper, report
from sealkit.analysis import deck_side, margins
from sealkit.analysis.margins import FIRST_START
from sealkit.analysis.warm import COLD_START
from sealkit.build import Build, sections
from sealkit.errors import InputError
from sealkit.report import Report
from sealkit.report.result import percent
from sealkit.report.tables import facts
from sealkit.sealing.limit import Outcome
from tests import sheets
from tests.sealing.forces import balance, contact_force


def both(name: str) -> tuple[Report, Report]:
    return sheets.printed(name, False).report, sheets.printed(name).report


def soft(name: str = "boosted-four", **changes: Any) -> Build:
    """A demonstration build with another [deck]."""
    sheet = build.demo(name)
    assert sheet.deck is not None
    return replace(sheet, deck=replace(sheet.deck, **changes))


@pytest.mark.parametrize("name", build.demos())
def test_the_map_stands_on_the_numbers_of_the_report(name: str) -> None:
    plain, mapped = both(name)
    side = mapped.deck
    assert side is not None and plain.deck is None
    made, joint = side.deck, plain.joint
    for field in ("bolt_stiffness", "member_stiffness", "load_introduction"):
        assert getattr(made, field) == getattr(joint, field)
    assert made.load_introduction == plain.build.head.load_introduction < 1
    body = [z for z in joint.gasket.zones if z.role == "body"]
    assert made.body_area == pytest.approx(body[0].extent)
    bolts = len(made.layout.bolts)
    low = float(plain.case.low.preload[0])
    cold = side.looks[0].standing
    assert contact_force(cold) == pytest.approx(bolts * low, rel=1e-7)
    first = float(plain.case.first.assembly_preload[0])
    assert contact_force(side.fresh) == pytest.approx(bolts * first, rel=1e-7)
    peak = plain.gas.design_gauge
    for states in (look.fired for look in side.looks):
        assert [int(np.argmax(s.pressure)) for s in states] == list(range(len(states)))
        for state in states:
            assert np.max(state.pressure) == pytest.approx(peak)
            assert abs(balance(state)[0]) < 1e-7 * np.sum(state.bolt_force)


@pytest.mark.parametrize("name", build.demos())
def test_the_map_counts_for_all_that_it_judges(name: str) -> None:
    plain, mapped = both(name)
    side = mapped.deck
    assert side is not None
    ours = {r.key: r for r in margins.worse(side.limits)}
    assert set(ours) & {r.key for r in plain.limits}
    counted = {r.key: r for r in mapped.limits}
    # blow-out begins where the seal is lost, and the map says that it is not
    assert set(counted) | {"blow-out"} == {r.key for r in plain.limits} | set(ours) | {"blow-out"}
    for row in plain.limits:
        if row.key in counted:
            assert counted[row.key] is ours.get(row.key, counted[row.key])
            assert row.key in ours or counted[row.key] == row
    assert [g.pressure for g in mapped.order] == sorted(g.pressure for g in mapped.order)
    checks = [g.limit.check for g in mapped.order]
    assert "blow-out" not in checks[: checks.index("residual")]
    assert (mapped.order[0].pressure < plain.gas.design_gauge) == (mapped.weakest.margin < 0.0)


def judged(name: str, thickness: float) -> tuple[deck_side.DeckSide, dict[str, float]]:
    """The map of a demonstration on a coarse mesh, with load left over load wanted of what counts.

    All else comes from the report with the thickness of the sheet.
    """
    sheet = soft(name, effective_thickness=thickness, mesh=16e-3)
    r = both(name)[0]
    peak = r.gas.design_gauge
    side = deck_side.judge_deck(sheet, r.clamp, r.joint, r.case, r.warm, peak)
    rows = margins.worse(side.counting(margins.limits(r.case, peak)))
    return side, {row.key: 1.0 + row.margin for row in rows if np.isfinite(row.margin)}


@pytest.mark.parametrize("name", build.demos())
def test_no_limit_jumps_with_the_thickness_of_the_head(name: str) -> None:
    """Nor where a load reaches just as far as the head is thick."""
    own = build.demo(name).plate_thickness
    made = both(name)[1].deck
    assert made is not None
    as_thick = made.reach**4 / own**3  # reach goes with thickness**(3/4)
    for thickness in (own, as_thick):
        if 0.02 < thickness < 0.1:
            thinner, thicker = (judged(name, x * thickness) for x in (0.995, 1.005))
            if thickness == as_thick:
                reach = [x[0].reach / x[0].deck.thickness for x in (thinner, thicker)]
                assert reach[0] > 1.0 > reach[1]
            for key, share in thinner[1].items():
                assert thicker[1][key] == pytest.approx(share, rel=0.05)
            if thickness == own:
                # direction: a thicker head is bent less by its bolts
                key = next(k for k in thicker[1] if k.startswith("seating"))
                assert thicker[1][key] > thinner[1][key]


def test_states_far_from_the_worst_stay_with_the_average_joint() -> None:
    """Weakest at its first start, under a head without bow; after a cold soak at half the peak."""
    six = build.demo("boosted-six").vary({"head.gradient": "0 K"})
    plain, mapped = report.run(six), report.run(six, deck=True)
    side = mapped.deck
    assert side is not None
    states = {look.when.state for look in side.looks}
    assert FIRST_START in states and COLD_START not in states
    row = next(r for r in mapped.limits if r.check == "residual")
    assert row in side.limits and row.state.state == FIRST_START
    # before the body creeps the ring carries less, on the map too
    crept = [r for r in side.limits if r.key == row.key and r.state.state != FIRST_START]
    assert all(r.margin > row.margin for r in crept)
    starts = [r for r in margins.limits(plain.case, side.peak) if r.state.state == COLD_START]
    left = [1.0 + r.margin for r in starts if r.check == "residual"]
    assert not left or min(left) > 1.5 * (1.0 + row.margin)


def test_what_the_plate_cannot_tell_stands_in_the_band() -> None:
    """The stiff layers of the four: a load reaches half as far as the head is thick."""
    mapped = both("boosted-four")[1]
    side = mapped.deck
    assert side is not None
    assert side.accuracy == side.deck.accuracy(side.fresh.mean_pressure)
    row = next(r for r in side.limits if r.check == "seating")
    assert row.band is not None and row.band.lowest_by == "a head that bends unlike a plate"
    share = (1.0 + row.band.high) / (1.0 + row.margin)
    assert share == pytest.approx(1.0 + side.accuracy.least)
    share = (1.0 + row.band.low) / (1.0 + row.margin)
    assert share == pytest.approx(1.0 - side.accuracy.mesh) and side.accuracy.mesh < 0.02


def test_near_to_solids_is_said_only_where_they_were_tried_and_agree() -> None:
    six, drag = (both(name)[1] for name in ("boosted-six", "methanol-drag"))
    assert six.deck is not None
    # as thick as no solid that was tried
    side = replace(six.deck, deck=six.deck.deck.vary(thickness=0.15))
    said = []
    for mapped in (six, drag, replace(six, deck=side)):
        (deck_facts,) = [f for f in facts(mapped) if f.key == "deck"]
        said.append(dict(deck_facts.rows)["a load reaches along the head"])
    near = [("comes near" in words, "was tried" in words) for words in said]
    assert near == [(True, False), (False, False), (False, True)]
    assert drag.deck is not None and f"{100 * drag.deck.accuracy.least:.0f} % more" in said[1]


def test_the_bands_of_the_map_cover_a_finer_mesh() -> None:
    """Of an iron head that comes near a solid: its shares are little more than the mesh takes."""
    side = both("na-iron-v8")[1].deck
    fine = report.run(build.demo("na-iron-v8").vary({"deck.mesh": "6 mm"}), deck=True).deck
    assert side is not None and fine is not None and side.accuracy.near
    theirs = {row.key: row.margin for row in margins.worse(fine.limits)}
    known = {row.key: row for row in margins.worse(side.limits)}
    assert {row.check for row in known.values()} >= {"residual", "springback", "seating", "crush"}
    for key, row in known.items():
        assert row.band is not None
        assert row.band.low < theirs[key] < row.band.high + 0.01, key


@pytest.mark.parametrize("mesh", ["6 mm", "12 mm", "16 mm"])
def test_on_no_mesh_does_the_wire_of_the_drag_engine_let_go(mesh: str) -> None:
    """What is asked of a wire is a small part of its load, so that its margin is steep."""
    made = both("methanol-drag")[1]
    other = report.run(made.build.vary({"deck.mesh": mesh}), deck=True)
    assert made.holds and other.holds and other.deck is not None
    bands = {row.key: row.band for row in made.banded}
    for row in margins.worse(other.deck.limits):
        band = bands[row.key]
        assert band is not None and band.low <= row.margin <= band.high, row.key


def test_the_springback_gives_out_where_the_map_says() -> None:
    mapped = sheets.long_run().report
    side = mapped.deck
    assert side is not None
    gives = [f for f in side.failures if f.limit.check == "springback"]
    giving = min(gives, key=lambda f: f.pressure)
    (theirs,) = [f for f in mapped.average.order if f.limit.check == "springback"]
    assert giving.pressure < theirs.pressure
    assert giving in mapped.order
    look = next(x for x in side.looks if str(giving.limit.state).startswith(str(x.when)))
    for share, holds in ((0.97, True), (1.03, False)):
        state = side.deck.firing(look.standing, share * giving.pressure)
        worst = [s.worst("springback") for s in state]
        assert (min(w.margin for w in worst if w is not None) >= 0.0) == holds


@pytest.mark.parametrize("name", ["boosted-four", "boosted-six"])
def test_with_all_cylinders_at_their_peaks_an_inner_bore_is_an_average_joint(name: str) -> None:
    """A ring in a fibre body: what the map leaves out of the average is neighbours and places."""
    made = report.run(
        build.demo(name).vary({"gasket.construction": "fibre body with steel ring"}), deck=True
    )
    side, peak = made.deck, made.gas.design_gauge
    assert side is not None
    cold, bores = side.looks[0], len(side.deck.layout.bores)
    rest = cold.standing.line_load(1)[1]
    every = cold.deck.under_gas(cold.standing, np.full(bores, peak)).line_load(1)[1]
    alone = cold.fired[1].line_load(1)[1]
    average = made.case.low.seal_load[0]
    lost = average - made.joint.under_gas(made.case.low, peak).seal_load
    assert np.mean(rest) == pytest.approx(average, rel=0.06)
    assert np.mean(rest - every) == pytest.approx(lost, rel=0.05)
    assert 0.7 < np.mean(rest - alone) / lost < 0.85
    assert 0.4 < np.min(rest) / np.mean(rest) < 0.9


def test_the_map_takes_the_band_of_the_average_joint_in_proportion() -> None:
    plain, mapped = both("boosted-six")
    key = "crush/steel ring"
    theirs, ours = (next(r for r in x.banded if r.key == key) for x in (plain, mapped))
    own = next(r for r in mapped.limits if r.key == key).band
    assert theirs.band is not None and ours.band is not None and own is not None
    low = (1.0 + theirs.band.low) / (1.0 + theirs.margin) * (1.0 + ours.margin) - 1.0
    # and its accuracy is one more choice of the model
    assert ours.band.low <= min(low, own.low) + 1e-9 and own.low < ours.margin


def test_the_map_is_tightest_in_the_warm_up() -> None:
    plain, mapped = both("na-iron-v8")
    key = "crush/armoured bore edge"
    theirs, ours = (next(r for r in x.limits if r.key == key) for x in (plain, mapped))
    assert theirs.state.state == ours.state.state == "warm-up"
    assert ours.margin < theirs.margin


def test_coolant_at_the_bore_edge_is_judged_without_gas() -> None:
    """Holes a millimetre from the seal: the gas lifts the head there, but for a moment only."""
    mapped = both("na-iron-v8")[1]
    side = mapped.deck
    assert side is not None
    row = next(r for r in mapped.limits if r.key == "liquid/coolant")
    assert row.holds and row.state.moment is not margins.PEAK
    hot = next(look for look in side.looks if look.when.temperature is margins.HOT)
    rest, peak = (
        min(h.least for s in states for h in s.holes() if h.fluid == "coolant")
        for states in ((hot.standing,), hot.fired)
    )
    assert peak < 0.5 * rest


def test_oil_drains_carry_no_pressure() -> None:
    """The pattern's O1 comes up under gallery pressure, the others run back; so on the sheet."""
    mapped = both("boosted-six")[1]
    side, holes = mapped.deck, mapped.build.layout.holes
    assert side is not None
    assert [h.name for h in holes if h.fluid == "oil" and not h.drain] == ["O1"]
    rows = {str(r.title): r for r in side.worst.fired[0].liquid({"oil": 9e5, "oil drain": 5e3})}
    feed, drain = (next(r for t, r in rows.items() if f"{n}: load left" in t) for n in ("O1", "O2"))
    assert feed.demand == pytest.approx(180 * drain.demand, rel=0.01)
    assert {dict(r.values)["hole"] for r in side.limits if r.key == "liquid/oil"} >= {"O1", "O2"}
    own = {"name": "D", "place": ["0 mm", "58 mm"], "diameter": "8 mm", "fluid": "oil drain"}
    (hole,) = build.demo("boosted-six").vary({"deck.holes": [own]}).layout.holes
    assert (hole.fluid, hole.drain) == ("oil", True)


def test_limits_of_the_map_are_those_of_its_states() -> None:
    side = both("boosted-six")[1].deck
    assert side is not None and side.high is not None
    rows = {r.key: r for r in margins.worse(side.limits)}
    weakest = side.weakest
    assert rows["residual"].margin == pytest.approx(weakest.margin)
    assert f"bore {weakest.bore + 1} at" in str(rows["residual"].state)
    ring = side.deck.gasket.seals[0]
    assert rows["crush/steel ring"].demand == side.high.highest(ring.name)
    assert rows["crush/steel ring"].capacity == ring.crush
    least = min(np.min(side.fresh.line_load(b)[1]) for b in range(6))
    assert rows["seating/steel ring"].capacity == pytest.approx(least)
    holes = [h.least for h in side.fresh.holes()]
    assert rows["liquid/seating"].capacity == pytest.approx(min(holes))


def test_a_seal_gives_where_its_margin_is_gone() -> None:
    side = both("na-iron-v8")[1].deck
    assert side is not None
    giving = next(f for f in side.failures if f.limit.check == "residual")
    weak = side.weakest
    p = np.zeros(4)
    margin = []
    for share in (0.97, 1.03):
        p[weak.bore] = share * giving.pressure
        state = side.deck.under_gas(side.worst.standing, p)
        margin.append(float(np.min(state.residual(weak.bore).margin)))
    assert margin[0] > 0.0 > margin[1]


def test_side_by_side_in_text_and_page() -> None:
    alone, printed = sheets.printed("boosted-six", False), sheets.printed("boosted-six")
    plain, mapped = alone.report, printed.report
    title = "Average joint and deck map side by side"
    assert title not in paper.text(alone) and title in paper.text(printed)
    assert title in paper.page(printed)
    group = next(group.rows for group in report.facts(mapped) if group.key == "deck")
    assert "effective thickness" in group[0][1] and "order of tightening" in group[0][1]
    assert "42.00 mm" in group[0][1]
    assert "the map counts for what it judges" in group[1][1]
    lines = dict(group[2:])
    line = next(v for k, v in lines.items() if "seat it at assembly" in k)
    average = next(r.margin for r in plain.limits if r.key == "seating/steel ring")
    assert f"average joint {percent(average)}" in line and line.endswith("which counts")


def test_a_hotter_fire_side_bows_the_head_when_hot() -> None:
    """Bores pressed more as the bowed rim opens, and less once it is flat again."""
    hot = both("boosted-four")[1].deck
    usual = report.run(build.demo("boosted-four").vary({"head.gradient": "0 K"}), deck=True).deck
    assert usual is not None and hot is not None
    assert np.array_equal(hot.fresh.unknowns, usual.fresh.unknowns)
    assert hot.deck.warp == usual.deck.warp
    when = {x.when.temperature: x.when for x in hot.looks if x.when.state != FIRST_START}
    assert when[margins.HOT].state == "warm idle"
    pairs = [(hot.worked, usual.worked, 1.0)]
    for temperature in (margins.HOT, margins.COLD):
        now, then = (
            next(look.standing for look in x.looks if look.when.temperature is temperature)
            for x in (hot, usual)
        )
        pairs.append((now, then, -1.0))
    for now, then, sign in pairs:
        # the bow presses the fasteners of the average joint, whose preload the map takes, a little
        assert contact_force(now) == pytest.approx(contact_force(then), rel=2e-3)
        for bore in range(4):
            change = np.mean(now.line_load(bore)[1]) - np.mean(then.line_load(bore)[1])
            assert sign * change > 0.0
    lost = [
        next(f.pressure for f in x.failures if f.limit.check == "residual") for x in (hot, usual)
    ]
    assert lost[0] < lost[1]


def test_thinner_head_and_missing_coat_come_from_the_sheet() -> None:
    thin = report.run(soft(effective_thickness=0.020), deck=True)
    usual = both("boosted-four")[1]
    assert thin.deck is not None and usual.deck is not None
    assert thin.deck.deck.thickness == 0.020 != usual.deck.deck.thickness
    assert thin.deck.weakest.margin < usual.deck.weakest.margin
    step = sections.SECTIONS["deck.thickness"](place=(0.0, 0.0448), extra=-3e-6, diameter=0.02)
    bare = report.run(soft(thickness=(step,), lengthwise_bow=5e-6, mesh=10e-3), deck=True)
    assert bare.deck is not None
    assert (bare.deck.deck.warp, bare.deck.deck.mesh) == ((5e-6, 0.0), 10e-3)
    assert bare.deck.deck.steps[0].extra == -3e-6


def test_a_dry_deck_has_no_liquid_rows() -> None:
    side = both("methanol-drag")[1].deck
    assert side is not None
    assert not [r for r in side.limits if r.key.startswith("liquid")]


def test_without_a_deck_on_the_sheet() -> None:
    bare = replace(build.demo("boosted-four"), deck=None)
    with pytest.raises(InputError) as err:
        report.run(bare, deck=True)
    assert [f.field for f in err.value.faults] == ["deck"]
    assert report.run(bare).deck is None


def test_preloads_stay_within_yield() -> None:
    """A joint tightened to yield and heated keeps its force at yield in the map."""
    sheet = build.demo("boosted-six")
    made = deck_side.deck_of(sheet, both("boosted-six")[0].joint)
    with pytest.raises(InputError):
        made.assemble(1.01 * made.yield_force)
    side = both("boosted-six")[1].deck
    assert side is not None and side.high is not None
    assert np.all(side.high.bolt_force <= made.yield_force)


@pytest.mark.parametrize("torque", ["5 N*m", "12 N*m"])
def test_fasteners_that_heat_or_cold_leave_loose_do_not_hold(torque: str) -> None:
    changes = {"fasteners.torque": torque, "deck.mesh": "16 mm"}
    for mapped in (False, True):
        made = report.run(build.demo("boosted-four").vary(changes), deck=mapped)
        assert made.outcome is Outcome.FAILS and made.first_failure is not None
        assert made.first_failure.pressure <= 0.0


def test_no_balance_is_told_in_words() -> None:
    """A head like foil on stiff beads finds no balance; the message names load and thickness."""
    four = build.demo("boosted-four")
    clamp, joint = analysis.clamp_side(four)
    foil = deck_side.deck_of(four, joint).vary(thickness=1e-4)
    with pytest.raises(InputError, match=r"assembly_preload: got up to .* on a head of 0\.1 mm"):
        foil.assemble(float(clamp.preload.assembly_low))


def test_the_seal_is_lost_before_what_follows_from_it() -> None:
    order = both("boosted-six")[1].order
    checks = [f.limit.check for f in order]
    assert checks[0] == "residual" and checks.index("blow-out") > 0
    assert [f.pressure for f in order] == sorted(f.pressure for f in order)
