"""The page: a sheet for the customer, one for the bench, and what stands behind them."""

from __future__ import annotations

import dataclasses
import html
import re
from collections.abc import Sequence
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import build, paper, report
from sealkit.build import Build
from sealkit.drawing import ink
from sealkit.errors import Fault
from sealkit.paper import pictures
from sealkit.report import kept_report, specification, workshop
from sealkit.report.notes import to_check, wrench_notes
from sealkit.sealing import surfaces
from sealkit.sealing.deck.sequence import outwards
from sealkit.sealing.limit import DAMAGE, GAS_LEAK, Outcome
from sealkit.units import show
from sealkit.words import figure_text
from tests.sheets import long_run, printed, without_map

DEMOS = build.demos()
LONG = "drag engine after a long run"


def sheets(page: str) -> list[str]:
    """The sheets of a page, in words."""
    body = page.partition("</style>")[2]
    parts = re.split(r"<section class='sheet[a-z ]*'>", body)[1:]
    return [html.unescape(re.sub(r"<svg.*?</svg>|<[^>]+>", " ", p, flags=re.S)) for p in parts]


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_each_reader_has_a_sheet(name: str, system: str) -> None:
    made = printed(name)
    r = made.report
    page = paper.page(made, system)
    customer, bench, *_, behind, appendix = sheets(page)
    assert f"{r.standing(system)}." in customer and r.in_short(system) in customer
    assert r.grounds(system) in appendix
    assert made.wish(system) in customer and made.why(system) in customer
    assert "what failing costs" in customer and "customer, date" in customer
    assert all(c in customer for c in paper.CAUTIONS) and paper.SCOPE in customer
    assert f"{r.standing(system)}." in bench and made.chance(system) in customer
    for step in workshop.procedure(r, system):
        assert step["step"] in bench
    measured, _, told = bench.partition("Step by step")
    steps = [told.index(f" {x['step']} ") for x in workshop.procedure(r, system)]
    assert steps == sorted(steps) and "face of the head" in measured
    for face in workshop.work_to(r, system):
        assert all(words in bench for words in face.values())
    assert r.build.fasteners.lubricant in bench and "checked by, date" in bench
    assert "qualified builder" in bench
    for title in ("Where the clamp lies", "Joint of one bore", "Hot and cold", paper.LEAK):
        assert title in behind
    for row in report.rows(r, system):
        assert row["source"] in appendix and row["limit"] in appendix
    assert all(line.strip() in appendix for line in r.build.dumps().splitlines())
    assert ("ring and receiver" in page) == (r.build.gasket.construction == workshop.RING)


def test_the_page_brings_everything_with_it() -> None:
    page = paper.page(printed("boosted-six"))
    assert not re.search(r"<script|<link|<img|url\(|@import|https?:(?!//www\.w3\.org)", page)
    assert "counter(page)" in page and "counter(pages)" in page and "@page" in page
    for svg in re.findall(r"<svg.*?</svg>", page, re.S):
        ElementTree.fromstring(svg)


def test_customer_and_wish_stand_on_the_sheet() -> None:
    own = build.loads(without_map()).vary(
        {"sheet.customer": 'A. "Rivers" </style>', "sheet.wish": "300 hp on pump fuel"}
    )
    assert build.loads(own.dumps()).sheet.customer == 'A. "Rivers" </style>'
    page = paper.page(paper.paper_of(kept_report(own)))
    assert "customer: A. &quot;Rivers&quot; &lt;/style&gt;" in page
    assert "300 hp on pump fuel; this build makes about" in page
    assert page.count("</style>") == 1


def test_a_name_does_not_get_out_of_the_foot_of_the_page() -> None:
    own = build.loads(without_map()).vary({"sheet.name": 'a";} </style><script>'})
    page = paper.page(paper.paper_of(kept_report(own)))
    assert page.count("</style>") == 1 and "<script" not in page and 'a";' not in page


def test_a_specification_is_printed_with_its_wish() -> None:
    four = build.demo("boosted-four")
    found = specification.specify(four, 240e3)
    words = paper.paper_of(found).wish("metric")
    assert words.startswith("240 kW. Met: ") and specification.OUTCOMES[found.outcome] in words
    plain = paper.paper_of(found.report).wish("metric")
    assert plain.startswith("none on the sheet; ")


# --------------------------------------------------------------------------- at the bench
@pytest.mark.parametrize("name", DEMOS)
def test_every_fastener_has_its_number_and_its_boxes(name: str) -> None:
    r = printed(name).report
    count = r.build.fasteners.on_head
    drawn = pictures.bolts(r)
    numbers = [int(n) for n in re.findall(r"font-size='15.5'[^>]*>(\d+)<", drawn)]
    assert sorted(numbers) == list(range(1, count + 1))
    # the first is the one nearest to the middle of the bolts
    bolts = r.build.layout.bolts
    off = np.hypot(*(bolts - 0.5 * (bolts.min(axis=0) + bolts.max(axis=0))).T)
    assert off[outwards(r.build.layout)[0]] == pytest.approx(off.min(), abs=1e-3)
    page = paper.page(printed(name))
    steps = len(re.findall(r"<span class='box'>1</span>", page))
    if r.build.fasteners.tightening == "stretch":
        assert steps == 0 and [int(n) for n in re.findall(r"data-of='stud'>(\d+)<", page)] == [
            *range(1, count + 1)
        ]
        unit = "in" if "in" in page.partition("length before, ")[2][:3] else "mm"
        assert page.count(f"data-of='length before, {unit}'") == count
    else:
        assert steps == 4 and len(re.findall("class='box'", page)) == steps * count


@pytest.mark.parametrize(
    ("changes", "says", "boxes"),
    [
        ({"fasteners.tightening": "yield"}, "not tightened again", ["snug", "to yield"]),
        (
            {
                "fasteners.tightening": "torque and angle",
                "fasteners.torque": "40 N*m",
                "fasteners.angle": "60 deg",
            },
            "only if the gasket's instructions allow it and the fastener's give a figure: ",
            ["40 N·m", "then 60°", "after the first heat, if instructed, to ______"],
        ),
        (
            {},
            "only if the gasket's and the fastener's instructions allow it, again to 117 N·m, cold",
            ["60 N·m", "90 N·m", "117 N·m", "after the first heat, if instructed: 117 N·m"],
        ),
    ],
)
def test_only_what_may_be_tightened_again_is(
    changes: dict[str, str], says: str, boxes: list[str]
) -> None:
    r = kept_report(build.demo("boosted-four").vary(changes))
    steps = {s["step"]: figure_text(s["do"]) for s in workshop.procedure(r)}
    assert says in steps["after the first heat"]
    ticked = [t.text() for t in workshop.ticked(r)]
    assert all(b in ticked for b in boxes)
    assert any("first heat" in t for t in ticked) == ("not tightened again" not in says)
    shares = dict(next(g.rows for g in workshop.facts(r) if g.key == "clamp"))
    again = shares["tightening again, cold, after the first heat"]
    assert ("not tightened again" in again) == ("not tightened again" in says)


@pytest.mark.parametrize("name", DEMOS)
def test_words_are_those_of_the_fastener_and_the_deck(name: str) -> None:
    r = printed(name).report
    customer, bench, *_ = sheets(paper.page(printed(name)))
    stud = r.build.fasteners.kind == "stud"
    assert ("under the nut" in bench) == stud and ("under the bolt head" in bench) != stud
    assert ("coolant" in workshop.costs(r, GAS_LEAK)) == (r.build.liquids.deck == "wet")
    if r.build.liquids.deck == "dry":
        assert "coolant out" not in customer


def test_a_failing_sheet_says_how_many_and_shows_what_is_close() -> None:
    weak = build.loads(without_map()).vary({"fasteners.torque": "70 N*m"})
    made = paper.paper_of(report.run(weak))
    r = made.report
    page = paper.page(made)
    customer = sheets(page)[0]
    bad = sum(x.outcome is Outcome.FAILS for x in r.banded)
    assert bad and r.close
    assert f"{bad} of {len(r.limits)} limits" in customer
    assert f"exceeded, {len(r.close)} more too close to call" in customer
    first = page.partition("For the bench")[0]
    assert first.count("class='bar'") == 5 and "customer, date" in customer
    close = min(len(r.close), 5 - bad)
    assert close > 0 and first.count("</b> too close") == close
    assert made.why() == "none of the 6 gaskets tried holds here (fasteners judged separately)"
    assert "at before" not in customer
    bench = sheets(page)[1]
    assert bench.index("Do not build to this sheet.") < bench.index("Step by step")


@pytest.mark.parametrize("name", DEMOS)
def test_what_may_not_hold_is_among_the_bars_and_not_cleared(name: str) -> None:
    made = printed(name)
    r = made.report
    customer, bench, *_ = sheets(paper.page(made))
    bars = customer.partition("Smallest margins")[2].partition(" more in the appendix. ")[0]
    bars, _, more = bars.rpartition(" And ")
    unsure = [x for x in r.banded if x.outcome is not Outcome.HOLDS]
    assert all(x.title.text() in bars for x in unsure)
    least = min(r.banded, key=lambda x: x.band.low if x.band else np.inf).title.text()
    assert unsure or bars.partition("before it gives")[2].strip().startswith(least)
    assert int(more) == len(r.banded) - (5 if unsure else 7)
    assert ("Step by step, as the sheet stands: not cleared to be built" in bench) != r.holds
    turned = any(x.failure == GAS_LEAK for x in r.close)
    assert (
        made.chance().endswith("of the model as taken: the verdict adds other choices; no promise")
        == turned
    )


def test_a_fastener_that_breaks_on_the_wrench_is_told_where_it_is_tightened() -> None:
    hard = build.loads(without_map()).vary({"fasteners.torque": "260 N*m"})
    made = paper.paper_of(kept_report(hard))
    told = [words.text() for words in wrench_notes(made.report.clamp)]
    assert any("it breaks on the wrench" in words for words in told)
    expect = next(s for s in workshop.procedure(made.report) if s["step"] == "expect")
    for words in told:
        assert words.rstrip(".") in figure_text(expect["do"])
        assert words in paper.summary(made.report) and words in paper.text(made)
    assert not wrench_notes(printed("boosted-four").report.clamp)
    # a study that lets the fasteners hold counts leaks alone
    assert not isinstance(made.leak, Fault)
    damage = made.leak.scatter.groups[DAMAGE]
    assert f"nothing else gives first (in {damage.failed:,} of 1,024 bores: " in made.chance()
    assert damage.failed and "gives first" not in printed("boosted-four").chance()
    assert made.chance().startswith("fails otherwise first (")
    assert "otherwise" not in printed("boosted-four").chance()


def test_verdict_and_scatter_that_tell_different_stories_are_named() -> None:
    """With the side that is unsafe; in text, page and JSON alike. Where both agree nothing is."""
    calm = printed("boosted-four")
    leak = calm.leak
    assert not isinstance(leak, Fault) and calm.report.holds and leak.apart.value < 0.05
    often = dataclasses.replace(leak, apart=dataclasses.replace(leak.apart, value=0.3))
    usual = dataclasses.replace(calm, leak=often)
    thin = build.demo("boosted-four").vary({"fasteners.torque": "60 N*m"})
    fails = dataclasses.replace(calm, report=report.run(thin))
    for made, words in ((usual, "believe the scatter"), (fails, "believe the verdict")):
        told = [w.text() for w in made.notes if "different stories" in w.text()]
        assert len(told) == 1 and words in told[0]
        assert told[0] in paper.text(made) and told[0] in html.unescape(paper.page(made))
        assert told[0] in made.to_dict()["notes"]
    assert calm.notes == calm.report.warnings


def test_what_is_too_close_to_call_has_its_story_beside_the_scatter() -> None:
    """Under a head that bows far all engines leak, with the model as it stands; that turns it."""
    drag = long_run()
    assert not isinstance(drag.leak, Fault) and drag.report.outcome is Outcome.CLOSE
    (close, *_) = (r for r in drag.report.close if r.failure == GAS_LEAK)
    calm = dataclasses.replace(drag.leak, apart=dataclasses.replace(drag.leak.apart, value=0.01))
    told = [
        [w.text() for w in made.notes if "different stories" in w.text()]
        for made in (drag, dataclasses.replace(drag, leak=calm))
    ]
    for (words,), side in zip(told, ("", "unsafe side"), strict=True):
        assert f"{close.title} is too close to call" in words and close.turned_by in words
        assert side in words
    assert drag.leak.apart.text().startswith("all of 1,024 builds; nearly 100 % (95 % sure")
    # where all leak, no share tells what moves the seal
    assert "what moves the seal there: nothing that was varied." in told[0][0]
    likeliest = dict(drag.leak_rows())["likeliest of all limits"]
    assert likeliest.endswith("what moves it: nothing that was varied")


def test_a_sheet_at_odds_with_itself_is_told_on_the_first_lines() -> None:
    odd = {"gasket.body_area": "600 cm**2", "fasteners.stretch": "0.5 mm"}
    bare = build.loads(without_map())
    for made, faults in ((bare, 0), (bare.vary(odd), 2)):
        whole = paper.paper_of(report.run(made))
        customer = sheets(paper.page(whole))[0]
        told = [w.text() for w in to_check(made)]
        assert len(told) == faults and ("check the sheet" in customer) == bool(faults)
        for words in told:
            assert words in html.unescape(customer) and words in paper.summary(whole.report)
    assert "fasteners.stretch, 0.50 mm, is not used: tightening is by torque." in told


@pytest.mark.parametrize(
    ("name", "cleared"),
    [("boosted-four", True), ("boosted-six", False), ("methanol-drag", True), (LONG, False)],
)
def test_what_is_ticked_off_is_no_order_where_the_joint_is_not_cleared(
    name: str, cleared: bool
) -> None:
    whole = long_run() if name == LONG else printed(name)
    ticks = paper.page(whole).split("<h2>Ticked off")[1].split("</table>")[0]
    ticks = re.sub(r" data-of='[^']*'", "", ticks)  # for a phone, where each cell has its head
    assert ("not cleared" in ticks) is not cleared
    told = max(len(workshop.ticked(whole.report)), 1)  # by stretch the head of its column
    assert ticks.count("(not cleared)") == (0 if cleared else told)


@pytest.mark.parametrize(("torque", "sure"), [("133 N*m", False), ("135 N*m", True)])
def test_what_is_exceeded_without_gas_names_its_state(torque: str, sure: bool) -> None:
    """Warm-up stretches these fasteners without gas; perhaps, where it is too close to call."""
    hard = build.loads(without_map()).vary({"fasteners.torque": torque})
    r = report.run(hard)
    first = r.first_failure
    assert first is not None and first.pressure <= 0.0 and first.limit.state.name == "warm-up"
    assert "before firing" not in paper.text(paper.paper_of(r))
    assert ("Perhaps exceeded already without gas, warm-up: " in r.verdict()) != sure
    assert ("; perhaps " in r.in_short()) != sure and "already without gas (" in r.in_short()
    told = report.order_rows(r)[0][1]
    assert told.startswith("perhaps ") != sure and told.endswith("(warm-up)")


KNOCKS = {
    "charge.boost": "8 psi",
    "charge.intercooler_effectiveness": 0.0,
    "burn.ca50": "6 deg",
}


def test_holding_without_knock_says_so_first() -> None:
    four = {"fuel.name": "gasoline", "burn.knock_amplitude": "0 bar"}
    r = kept_report(build.demo("boosted-four").vary(four | KNOCKS))
    assert r.leaves_knock_out and r.gas.knock_integral >= 1.0
    mean = f"knock integral {r.gas.knock_integral:.2f} in the mean cycle"
    words = f": holds only without knock ({mean})"
    assert r.standing().startswith(f"Too close to call{words}")
    told = r.to_dict()
    assert told["standing"] == r.standing() and told["outcome"] == "too close to call"
    assert not r.holds and not r.close
    assert f"{len(r.limits)} of {len(r.limits)} limits hold, but knock" in r.verdict()
    assert paper.summary(r).startswith(f"TOO CLOSE TO CALL{words}")
    little = kept_report(r.build.vary({"burn.knock_amplitude": "0.01 bar"}))
    assert little.knock == "left out" and "only without knock" in little.standing()
    assert r.gas.knock_rise
    with_knock = kept_report(r.build.vary_si({"burn.knock_amplitude": 1.01 * r.gas.knock_rise}))
    assert with_knock.knock == "in the loads" and "only without knock" not in with_knock.standing()


@pytest.mark.parametrize(("torque", "last"), [("61.3 lbf*ft", "61 lbf·ft"), ("83 N*m", "83 N·m")])
def test_the_wrench_is_set_to_round_values(torque: str, last: str) -> None:
    system = "inch" if "lbf" in torque else "metric"
    steps = workshop.steps_of(build.demo("boosted-four").vary({"fasteners.torque": torque}), system)
    values = [float(s.split()[0]) for s in steps]
    assert steps[-1] == last and values == sorted(values)
    assert all(v % 5 == 0 for v in values[:-1])
    assert values[0] == pytest.approx(0.5 * values[-1], abs=3)


def test_a_stretch_is_reached_in_steps_as_a_torque_is() -> None:
    made = printed("methanol-drag")
    steps = {s["step"]: figure_text(s["do"]) for s in workshop.procedure(made.report)}
    assert steps["stretch"].startswith("in 3 steps: 0.25 mm / 0.38 mm / 0.51 mm each")
    assert "instructions allow it, again to 0.51 mm" in steps["after the first heat"]
    assert "after the first heat, if instructed" in paper.page(made)


@pytest.mark.parametrize("name", DEMOS)
def test_one_number_for_each_face_and_the_text_it_comes_from(name: str) -> None:
    r = printed(name).report
    faces = workshop.work_to(r)
    assert [f["what"].split(",")[0] for f in faces] == [
        "face of the head",
        "deck of the block",
        "both faces",
    ]
    made = r.build.gasket.construction
    known = {t.key for face in surfaces.FACES for t in surfaces.finish_wanted.si(made, face)}
    known |= {t.key for t in surfaces.flatness_wanted.si(made, 0.4, r.build.bores_per_head)}
    assert all(f["from"].split(" (")[0] in known for f in faces)
    way = "in any direction" if "any direction" in faces[2]["from"] else "lengthwise"
    assert faces[2]["what"] == f"both faces, flat {way} within"


def test_the_strictest_text_counts() -> None:
    def text(key: str, least: float | None, most: float | None) -> surfaces.SurfaceText:
        return surfaces.SurfaceText(key, least, most, None, "", "s", "published", "")

    def found(*texts: surfaces.SurfaceText) -> str:
        row = workshop._strictest("x", texts, "roughness", "metric")
        return f"{row['work to']} {row['from']}"

    a, b, c = text("a", None, 2e-6), text("b", 0.3e-6, 1e-6), text("c", 0.5e-6, None)
    assert found(a, b, c) == "1.00 µm or less, not under 0.30 µm b (published)"
    assert found(a, c) == "2.00 µm or less a (published)"
    assert found(c) == "0.50 µm or rougher, no upper figure given c (published)"


# --------------------------------------------------------------------------- pictures
def ways(svg: str) -> list[np.ndarray]:
    """Points of every line of a chart."""
    found = re.findall(r"<polyline points='([^']*)'", svg)
    return [np.array([[float(v) for v in p.split(",")] for p in w.split()]) for w in found]


@pytest.mark.parametrize("name", [*DEMOS, LONG])
def test_the_seal_is_drawn_above_what_it_needs_where_it_holds(name: str) -> None:
    """On average it stands above what it needs all over the cycle; the map's place beside.

    Copper that the bow of the hot head has pressed thin does so on neither.
    """
    r = (long_run() if name == LONG else printed(name)).report
    drawn, opened = pictures.sealing(r, "metric"), pictures.section(r, "metric")
    has, needs = ways(drawn)
    over = all(x.holds for x in r.average.limits if x.check == "residual")
    assert over is (name != LONG)
    assert np.all(has[:, 1] <= needs[:, 1]) == over, "upwards counts down in a drawing"
    assert ("falls short" in drawn) is not over and "everywhere" not in drawn
    row, lift = (next(x for x in r.limits if x.check == c) for c in ("residual", "springback"))
    held, wanted = (f"{1e-3 * x:,.0f}" for x in (row.capacity, row.demand))
    assert f"at the weakest place it has {held} and needs {wanted} N/mm" in drawn
    assert (", and gas passes (" in drawn) == (not row.holds)
    assert show(lift.demand, "lift") in opened and show(lift.capacity, "lift") in opened
    assert ("it no longer touches" in opened) == (not lift.holds)
    assert ("seal still touches" in opened) == lift.holds


def test_a_seal_that_is_passed_is_drawn_and_told_so() -> None:
    weak = build.loads(without_map()).vary({"fasteners.torque": "35 N*m"})
    made = report.run(weak)
    assert any(r.check == "residual" and not r.holds for r in made.limits)
    drawn = pictures.sealing(made, "metric")
    has, needs = ways(drawn)
    assert np.any(has[:, 1] > needs[:, 1]) and "it falls short and gas passes" in drawn


@pytest.mark.parametrize("name", DEMOS)
def test_pull_less_clamp_is_the_gas_force(name: str) -> None:
    """Balance of the joint on the drawing itself: the two lines lie the gas force apart."""
    drawn = pictures.joint(printed(name).report, "metric")
    pull, clamp = ways(drawn)
    x = pull[:, 0]
    apart = clamp[:, 1] - pull[:, 1]
    fit = np.polyfit(x, apart, 1)
    np.testing.assert_allclose(np.polyval(fit, x), apart, atol=1.0)
    assert fit[0] > 0.1


@pytest.mark.parametrize(
    ("margin", "hatched", "tip"), [(0.2, False, False), (-0.3, True, False), (4.0, False, True)]
)
def test_bars_tell_which_side_they_are_on_without_colour(
    margin: float, hatched: bool, tip: bool
) -> None:
    drawn = ink.bar(margin, (margin - 0.1, margin + 0.1))
    assert ("l6,-10" in drawn) == hatched and ("l7,5" in drawn) == tip


def test_the_page_has_no_map_and_no_pattern_without_a_deck() -> None:
    bare: Build = build.loads(without_map())
    bare = dataclasses.replace(bare, deck=None)
    page = paper.page(paper.paper_of(kept_report(bare)))
    assert "Where the clamp lies" not in page and "number them on a sketch" in page


def test_why_names_the_place_among_the_kinds() -> None:
    calm = build.demo("boosted-four").vary({"charge.boost": "15 psi"})
    four = paper.paper_of(report.run(calm))

    def words(names: Sequence[str], own: str) -> str:
        by_name = {r.name: r for r in four.ranked}
        made = dataclasses.replace(four, ranked=tuple(by_name[n] for n in names))
        assert four.report.build.gasket.construction == own
        return made.why()

    own, other = "multi-layer steel", "fibre composite"
    assert words([own, other], own).startswith("the best of 2 gaskets")
    second = words([other, own], own)
    assert second.startswith(f"number 2 of 2 gaskets tried on this engine; first is {other}")


@pytest.mark.parametrize("name", DEMOS)
def test_holes_a_limit_names_are_named_on_the_plan(name: str) -> None:
    r = printed(name).report
    assert r.build.deck is not None
    told = {m for x in r.limits for m in re.findall(r"hole (\w+):", x.title.text())}
    for drawn, named in ((pictures.bolts(r), set()), (pictures.clamp_map(r, "metric"), told)):
        # where fasteners have numbers, no name may hide one
        assert set(re.findall(r">([CO]\d+)</text>", drawn)) == named
        assert ("the front is at the right" in drawn) == (r.build.deck.pattern == "vee bank")
        fluids = {h.fluid for h in r.build.layout.holes}
        assert ("dark: oil" in drawn) == ("oil" in fluids)
        assert ("white: coolant" in drawn) == ("coolant" in fluids)
