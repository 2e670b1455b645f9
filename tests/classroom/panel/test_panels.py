"""The panel's controls, driven as a user would, without a browser."""

from __future__ import annotations

import asyncio
import base64
import builtins
import csv
import html
import io
import re
from typing import Any

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import paper
from sealkit import report as reports
from sealkit.classroom.drawing.charts import PLOT
from sealkit.classroom.lessons.whole_joint import SCENE
from sealkit.classroom.panel import live, panels
from sealkit.classroom.panel.form import Form
from sealkit.classroom.panel.live import OWN, Panel
from sealkit.classroom.panel.scene import Knob
from sealkit.errors import InputError
from sealkit.report import ranking
from sealkit.report.seal import at_peak
from sealkit.sealing.limit import Outcome
from sealkit.units import show_value
from sealkit.words import minus

BOOST, RATIO, TIGHT = 0, 1, 2
GASKET, COMPARE = "gasket.construction", "Compare all gaskets on this engine"
# by definition of the pound-force and the inch: psi in a bar, lbf in a kN
PSI = 1e5 * 0.0254**2 / 4.4482216152605
LBF = 1e3 / 4.4482216152605


@pytest.fixture
def panel() -> Panel:
    made: Panel = panels.panel("boosted-four", SCENE)
    return made


@pytest.fixture
def wordy(panel: Panel) -> Panel:
    """With its words and tables open."""
    panel.told.value = True
    return panel


def lines(panel: Panel) -> dict[str, np.ndarray[Any, Any]]:
    seen = (t for t in panel.figure.data if t.name != "before")
    return {t.meta: np.array(t.y, dtype=float) for t in seen}


def sealing(panel: Panel) -> float:
    """Smallest margin of the limits judged at peak pressure with the low preload."""
    return min(r.margin for r in panel.outcome.limits if "low preload, at peak" in str(r.state))


def words(html: str) -> str:
    return re.sub(r"<[^>]+>", "", html)


def move(panel: Panel, place: int, end: str) -> None:
    slider = panel.rows[place].slider
    slider.value = getattr(slider, end)


# --------------------------------------------------------------------------- as it opens
def test_opens_on_the_sheets_own_values(wordy: Panel) -> None:
    panel, ours = wordy, reports.run(builds.demo("boosted-four"))
    assert panel.outcome.gas.design_peak == ours.gas.design_peak
    assert panel.stage.moved == {} and panel.message.value == ""
    assert panel.rows[BOOST].box.value == 1.24, "18 psi, as a bar is shown"
    assert str(ours.close[0].title) in panel.words.value
    np.testing.assert_allclose(lines(panel)["clamp"], PLOT.numbers("clamp", ours)[1], rtol=1e-6)


@pytest.mark.parametrize("name", builds.demos())
def test_every_demo_opens(name: str) -> None:
    made = panels.panel(name, SCENE)
    assert made.chooser.value == name and made.message.value == ""
    for knob, row in zip(made.knobs, made.rows, strict=True):
        low, high = knob.ends(made.system)
        shown = float(show_value(knob.value, knob.kind, made.system))
        assert low <= shown <= high and row.slider.min == low and row.slider.max == high
        assert row.box.value == pytest.approx(shown, rel=5e-3, abs=1e-3)


def test_controls_stand_in_one_order_and_have_names(panel: Panel) -> None:
    boxes = [r.box for r in panel.rows]
    first = [panel.chooser, panel.picks[GASKET], panel.units]
    order = [*first, *boxes, panel.reset, panel.buttons[COMPARE], panel.files]
    names = [c.description for c in order]
    assert names == [
        "Engine",
        "Gasket",
        "Units",
        "Boost, bar gauge",
        "Compression ratio",
        "Bolt torque, N·m",
        "Back to the sheet's values",
        "Compare all gaskets on this engine",
        "Make files to save",
    ]
    assert panel.helper.names == names[3:6]


def test_result_and_message_are_live_regions(panel: Panel) -> None:
    told = panel.helper.told
    said = "TOO CLOSE TO CALL"
    assert told.startswith(f"{said}. ") and said in words(panel.result.value)
    move(panel, BOOST, "max")
    assert panel.helper.told != told
    panel.rows[BOOST].box.value = -1.0
    assert 'role="alert"' in panel.message.value


@pytest.mark.parametrize(
    ("name", "label", "path"),
    [
        ("boosted-four", "Bolt torque, N·m", "fasteners.torque"),
        ("boosted-six", "Stud torque, N·m", "fasteners.torque"),
        ("methanol-drag", "Stud stretch, in", "fasteners.stretch"),
    ],
)
def test_third_slider_follows_the_way_of_tightening(name: str, label: str, path: str) -> None:
    made = panels.panel(name, SCENE)
    assert made.rows[TIGHT].box.description == label and made.knobs[TIGHT].path == path


def test_third_slider_for_angle_and_for_yield() -> None:
    four = builds.demo("boosted-four")
    angle = panels.panel(
        four.vary(
            {
                "fasteners.tightening": "torque and angle",
                "fasteners.torque": "30 N*m",
                "fasteners.angle": "60 deg",
            }
        ),
        SCENE,
    )
    assert angle.rows[TIGHT].box.description == "Angle after snug torque, °"
    before = lines(angle)["clamp"].min()
    move(angle, TIGHT, "max")
    assert angle.message.value == "" and lines(angle)["clamp"].min() > before
    held = panels.panel(
        four.vary({"fasteners.tightening": "yield", "fasteners.torque": None}), SCENE
    )
    assert held.rows[TIGHT].slider.disabled and held.rows[TIGHT].box.disabled
    move(held, BOOST, "max")
    assert held.message.value == ""


def test_box_and_slider_do_the_same(panel: Panel) -> None:
    panel.rows[BOOST].box.value = 1.5
    by_box = panel.outcome.gas.design_peak
    panel.reset.click()
    panel.rows[BOOST].slider.value = 1.5
    assert panel.outcome.gas.design_peak == by_box
    assert panel.outcome.build.charge.boost == pytest.approx(1.5e5)


def test_a_handle_put_on_its_step_by_the_browser_changes_nothing(panel: Panel) -> None:
    """A slider shows the nearest step of a value between steps and sends that back."""
    before, slider = panel.outcome.gas.design_peak, panel.rows[BOOST].slider
    slider.value = 1.24
    assert panel.outcome.gas.design_peak == before and panel.stage.moved == {}
    slider.value = 1.26
    assert panel.outcome.gas.design_peak > before
    slider.value = 1.24  # as the sheet's 18 psi is shown
    assert panel.outcome.gas.design_peak == before
    panel.rows[BOOST].box.value = 1.3
    panel.rows[BOOST].box.value = 1.24
    assert panel.outcome.gas.design_peak == before
    panel.rows[BOOST].box.value = 1.25
    for sent in (1.24, 1.26):  # half way, either step may come
        slider.value = sent
        assert panel.outcome.build.charge.boost == pytest.approx(1.25e5)


def test_ends_never_change_under_a_slider(panel: Panel) -> None:
    """A browser answers changed ends with a value of its own, so another slider is made."""
    first = panel.rows[BOOST].slider
    panel.rows[BOOST].box.value = 1.5
    assert panel.rows[BOOST].slider is first
    panel.units.value = "inch"
    assert panel.rows[BOOST].slider is not first and first.comm is None
    assert panel.rows[BOOST].view.children == (panel.rows[BOOST].box, panel.rows[BOOST].slider)


def test_back_leaves_no_slider_that_a_late_value_could_reach(panel: Panel) -> None:
    """Not one that has not moved yet either: the browser may hold its first value back."""
    old = [row.slider for row in panel.rows]
    assert panel.stage.moved == {}
    panel.reset.click()
    assert all(slider.comm is None for slider in old)


# --------------------------------------------------------------------------- physics
def test_more_boost_pushes_harder_and_leaves_less(panel: Panel) -> None:
    seen = []
    slider = panel.rows[BOOST].slider
    for value in np.linspace(slider.min, slider.max, 5):
        slider.value = float(value)
        y = lines(panel)
        seen.append((y["mean"].max(), -y["clamp"].min(), -sealing(panel), y["lift"].max()))
    assert np.all(np.diff(np.array(seen), axis=0) > 0)


def test_more_compression_pushes_harder(panel: Panel) -> None:
    seen = []
    slider = panel.rows[RATIO].slider
    for value in np.linspace(slider.min, slider.max, 5):
        slider.value = float(value)
        y = lines(panel)
        seen.append((y["mean"].max(), y["bound"].max(), y["gas"].max(), -y["clamp"].min()))
    assert np.all(np.diff(np.array(seen), axis=0) > 0)


def test_more_torque_leaves_more_clamp_and_less_strength(panel: Panel) -> None:
    clamp, peak, strength = [], [], []
    slider = panel.rows[TIGHT].slider
    for value in np.linspace(slider.min, slider.max, 5):
        slider.value = float(value)
        clamp.append(lines(panel)["clamp"].min())
        peak.append(lines(panel)["mean"].max())
        strength.append(next(r.margin for r in panel.outcome.limits if r.key == "tightening"))
    assert np.all(np.diff(clamp) > 0) and np.all(np.diff(strength) < 0)
    assert len(set(peak)) == 1  # the wrench does not change the gas


def test_the_answer_to_the_guess_says_where_the_rest_of_the_gas_load_went(panel: Panel) -> None:
    clamp, state = at_peak(panel.outcome)
    assert panel.scene.guess is not None
    told = re.findall(r"([\d.]+) kN", f"{panel.guess.question} {panel.guess.why}")
    whole, gas, eased, more = map(float, told)
    assert (whole, gas) == (round(clamp / 1e3, 1), round(float(state.gas_force) / 1e3, 1))
    assert eased + more == pytest.approx(gas, abs=0.11)
    assert whole - eased == pytest.approx(float(state.clamp) / 1e3, abs=0.11)


def test_the_first_failure_is_named_as_in_the_table_of_the_gaskets(panel: Panel) -> None:
    first = panel.outcome.first_failure
    line = panel.scene.sentence(panel.outcome, "metric").line
    assert f"in the cylinder: {first.limit.consequence.text('metric')}" in line
    compare = panel.scene.buttons["Compare all gaskets on this engine"]
    build = panel.outcome.build
    (table,) = compare(build, panel.outcome, "metric").values()
    own = next(r for r in table if r["gasket"] == build.gasket.construction)
    assert first.limit.consequence.text("metric") in own["fails first as pressure rises"]
    number = panel.scene.sentence(panel.outcome, "metric").number
    assert number.startswith("-5 to") and number in str(own["why"])


def test_verdict_turns_in_words(wordy: Panel) -> None:
    panel = wordy
    move(panel, TIGHT, "max")
    assert not panel.outcome.holds and "DOES NOT HOLD" in words(panel.result.value)
    assert str(panel.outcome.weakest.title) in panel.words.value
    assert "DOES NOT HOLD" in panel.tables["Limits, weakest first"].value
    panel.reset.click()
    assert "DOES NOT HOLD" not in panel.result.value + panel.tables["Limits, weakest first"].value


def test_a_gasket_tried_leaves_nothing_behind(panel: Panel) -> None:
    before, pick = panel.build, panel.picks["gasket.construction"]
    pick.value = "copper with wire ring"
    assert panel.build.gasket.compressed_thickness != before.gasket.compressed_thickness
    pick.value = before.gasket.construction
    assert panel.build == before


# --------------------------------------------------------------------------- units
def test_inch_and_metric_show_the_same_joint(panel: Panel) -> None:
    panel.rows[BOOST].slider.value = 1.5
    metric, report, ratio = lines(panel), panel.outcome, panel.rows[RATIO].box.value
    panel.units.value = "inch"
    inch = lines(panel)
    assert panel.outcome is report and panel.outcome.build.charge.boost == pytest.approx(1.5e5)
    np.testing.assert_allclose(inch["mean"], PSI * metric["mean"], rtol=1e-6)
    np.testing.assert_allclose(inch["clamp"], LBF * metric["clamp"], rtol=1e-6)
    np.testing.assert_allclose(inch["lift"], metric["lift"] / 25.4, rtol=1e-6, atol=1e-9)
    assert panel.rows[BOOST].box.value == pytest.approx(1.5 * PSI, abs=0.05)
    assert panel.rows[RATIO].box.value == ratio
    assert [r.box.description for r in panel.rows] == [
        "Boost, psi gauge",
        "Compression ratio",
        "Bolt torque, lbf·ft",
    ]
    titles = [a.text for a in panel.figure.layout.annotations]
    assert "psi absolute" in titles[0] and "thou" in titles[3]
    assert " psi" in panel.result.value and " bar" not in panel.result.value
    _, high = panel.figure.layout.yaxis.range
    assert high > inch["mean"].max()  # the limit at constant volume may leave the chart
    panel.units.value = "metric"
    for key, y in lines(panel).items():
        np.testing.assert_allclose(y, metric[key], rtol=1e-6)


def test_to_and_fro_between_units_does_not_drift(panel: Panel) -> None:
    peak = panel.outcome.gas.design_peak
    for system in ("inch", "metric") * 5:
        panel.units.value = system
    panel.settle()
    assert panel.outcome.gas.design_peak == peak and panel.stage.moved == {}


# --------------------------------------------------------------------------- engines
def test_chooser_changes_the_engine_and_forgets_changes(panel: Panel) -> None:
    move(panel, BOOST, "max")
    panel.chooser.value = "na-iron-v8"
    ours = reports.run(builds.demo("na-iron-v8"))
    assert panel.outcome.gas.design_peak == ours.gas.design_peak and panel.stage.moved == {}
    assert panel.rows[TIGHT].box.description == "Bolt torque, N·m"  # the units chosen stay
    assert panel.own.layout.display == "none"


def test_bad_sheet_tells_every_fault_beside_its_field_and_keeps_the_picture(panel: Panel) -> None:
    before = lines(panel)
    panel.chooser.value = OWN
    assert panel.own.layout.display == "" and 'bore = "86 mm"' in panel.own.text
    sheet = panel.own.text.replace('"86 mm"', '"86 bar"').replace("cylinders = 4", 'cylinders="x"')
    panel.own.text = sheet.replace('"engine oil"', '"<b>goose fat</b>"')
    told = panel.own.faults
    assert told.keys() == {
        "engine.bore", "engine.stroke", "engine.cylinders", "fasteners.lubricant"
    }  # fmt: skip
    assert told["engine.bore"] == [
        'got "86 bar"; wanted a length from 20 mm to 400 mm, such as "86 mm"'
    ]
    assert "NOT WORKED OUT" in panel.result.value and "HOLDS" not in panel.result.value
    assert "To put right in the form: engine cylinders, engine bore" in panel.result.value
    for key, y in lines(panel).items():
        np.testing.assert_array_equal(y, before[key])
    # the sliders still work on the last good build
    move(panel, BOOST, "max")
    assert panel.message.value == "" and "NOT WORKED OUT" not in panel.result.value


def test_own_sheet_is_taken(panel: Panel) -> None:
    panel.chooser.value = OWN
    own = builds.demo("boosted-four").vary({"charge.boost": "10 psi", "sheet.name": "Shop <mule>"})
    panel.own.text = own.dumps()
    assert panel.outcome.gas.design_peak == reports.run(own).gas.design_peak
    assert panel.build.sheet.name == "Shop <mule>" and panel.message.value == ""
    panel.own.text = "nothing = = here"
    assert "line 1" in panel.own.faults[""][0] and panel.build.sheet.name == "Shop <mule>"
    panel.own.put("engine.bore", "90 mm")  # the entries wait until the text can be split again
    assert panel.own.broken and panel.own.text == "nothing = = here"
    panel.own.text = own.dumps()
    assert panel.own.faults == {} and not panel.own.broken


def test_an_entry_of_the_form_goes_into_the_sheet_whose_comments_stay() -> None:
    four = builds.demo("boosted-four")
    form = Form(four.dumps())
    form.lay_out()
    words = [(g["title"], f["words"]) for g in form.groups for f in g["fields"]]
    assert len(set(words)) == len(words) == len(dict(builds.fields()))
    form.put("charge.boost", " 10 psi ")
    form.put("burn.released_share", "0.96")
    own = four.vary({"charge.boost": "10 psi", "burn.released_share": 0.96})
    assert form.text == own.dumps() and "# positions invented" in form.text
    assert form.values["burn.released_share"] == "0.96"
    form.put("burn.released_share", "")
    assert "burn.released_share" not in form.values
    # the volumes drive out the ratio and the other way round, as they do on a sheet
    for key, volume in (("chamber_volume", "50 cc"), ("deck_clearance", "0 mm")):
        form.put(f"engine.chamber.{key}", volume)
    with pytest.raises(InputError) as err:
        builds.loads(form.text)
    form.tell(err.value.faults)
    assert list(form.faults) == ["engine.chamber.piston_volume"]
    form.put("engine.compression_ratio", "8.5")
    assert builds.loads(form.text) == four.vary({"charge.boost": "10 psi"})
    form.put("deck.bolts", '[["0 mm", "9 bar"]]')
    form.put("deck.holes", "3")
    with pytest.raises(InputError) as err:
        builds.loads(form.text)
    form.tell(err.value.faults)
    assert form.faults["deck.bolts"][0].startswith('deck.bolts[1].y: got "9 bar"')
    assert form.faults["deck.holes"][0].startswith("got 3; wanted a list of tables")


def test_gas_outside_the_tables_is_told(panel: Panel, monkeypatch: pytest.MonkeyPatch) -> None:
    from sealkit.errors import fail

    before = lines(panel)

    def outside(_: Any) -> Any:
        raise fail("temperature", "9000 K", "a gas inside the tables")

    monkeypatch.setattr("sealkit.report.run", outside)
    move(panel, BOOST, "max")
    assert "a gas inside the tables" in panel.message.value
    for key, y in lines(panel).items():
        np.testing.assert_array_equal(y, before[key])
    monkeypatch.setattr("sealkit.report.run", lambda _: 1 / 0)
    move(panel, BOOST, "min")
    assert "ZeroDivisionError" in panel.message.value
    monkeypatch.undo()
    panel.reset.click()
    assert panel.message.value == ""


def test_panel_takes_a_build_a_path_or_nothing(tmp_path: Any) -> None:
    own = builds.demo("na-iron-v8").vary({"charge.boost": "5 psi"})
    path = own.save(tmp_path / "mine.toml")
    for given in (own, path, str(path)):
        made = panels.panel(given, SCENE)
        assert made.chooser.label.endswith(", as given") and made.own.layout.display == "none"
        made.chooser.value = "boosted-four"
        made.chooser.value = made.chooser.options[0][1]
        assert made.build == made.stage.sheet and made.message.value == ""
        assert made.build.charge.boost == pytest.approx(own.charge.boost)
        assert builds.loads(made.own.text).charge.boost == pytest.approx(own.charge.boost)
    assert panels.panel(None, SCENE).chooser.value == panels.FIRST


# --------------------------------------------------------------------------- saving
def test_links_carry_sheet_and_report_and_go_with_the_next_change(panel: Panel) -> None:
    panel.rows[BOOST].slider.value = 1.5
    panel.files.click()
    sheet, page, numbers = (
        base64.b64decode(x).decode() for x in re.findall(r"base64,([^\"]+)\"", panel.links.value)
    )
    rows = list(csv.DictReader(io.StringIO(numbers)))
    mean = [float(r["average cycle: y"]) for r in rows if r["average cycle: y"]]
    np.testing.assert_allclose(mean, lines(panel)["mean"], rtol=1e-6)
    assert builds.loads(sheet).charge.boost == pytest.approx(1.5e5)
    assert page == paper.page(paper.paper_of(panel.outcome), "metric")
    assert 'download="riverbend-four-turbocharged.toml"' in panel.links.value
    move(panel, BOOST, "max")
    assert panel.links.value == ""


# --------------------------------------------------------------------------- one at a time
def test_hundred_changes_under_a_loop_settle_on_the_last(wordy: Panel) -> None:
    panel, done = wordy, wordy.computed

    async def drag() -> None:
        for value in np.linspace(0.0, 1.8, 100):
            panel.rows[BOOST].slider.value = round(float(value), 2)
            await asyncio.sleep(0.001)
        while panel.busy:
            await asyncio.sleep(0.01)

    asyncio.run(drag())
    assert panel.outcome.build.charge.boost == pytest.approx(1.8e5)
    words = panel.scene.sentence(panel.outcome, panel.system).words
    assert html.escape(minus(words)) in panel.words.value
    assert 1 <= panel.computed - done <= 20
    # and a loop that has ended does not hold up the next change
    move(panel, BOOST, "min")
    assert panel.outcome.build.charge.boost == 0.0


def test_pending_work_is_done_once_under_a_second_loop(panel: Panel) -> None:
    async def leave() -> None:
        panel.rows[BOOST].slider.value = 1.0  # the loop ends before the work is due

    asyncio.run(leave())

    async def again() -> None:
        panel.rows[BOOST].slider.value = 0.5
        while panel.busy:
            await asyncio.sleep(0.01)

    asyncio.run(again())
    assert panel.outcome.build.charge.boost == pytest.approx(0.5e5)


def test_a_move_sends_few_points(panel: Panel) -> None:
    sent: list[Any] = []
    panel.figure.observe(lambda c: sent.append(c.new), "_py2js_update")
    panel.figure.observe(lambda c: sent.append(c.new), "_py2js_restyle")
    panel.rows[BOOST].slider.value = 1.5
    assert len([x for x in sent if x]) == 1  # everything in one batch
    lines = [t for t in panel.figure.data if t.name != "before"]
    assert all(121 <= len(t.y) <= 241 or len(t.y) == 2 for t in lines)


def test_a_ghost_stays_where_the_lines_were(panel: Panel, monkeypatch: pytest.MonkeyPatch) -> None:
    """Thin lines of the state before the last change; none before one and after going back."""

    def ghosts() -> dict[str, Any]:
        return {t.meta.removesuffix(" before"): t for t in panel.figure.data if t.name == "before"}

    def none() -> bool:
        return all(len(t.y) == len(t.x) == 0 for t in ghosts().values())

    assert set(ghosts()) == {"mean", "clamp", "left", "lift", "before"} and none()
    start = lines(panel)
    monkeypatch.setattr(live, "_ONE", 0.0)
    for torque in (110.0, 100.0):  # a handle on its way is one change
        panel.rows[TIGHT].slider.value = torque
        monkeypatch.setattr(live, "_ONE", 30.0)
        for key in ("clamp", "left", "lift"):
            seen = ghosts()[key]
            np.testing.assert_allclose(seen.y, start[key], rtol=1e-6, atol=1e-6)
            assert len(seen.x) == len(seen.y)
            assert seen.mode == "lines"
        word = ghosts()["before"]
        assert word.text == ("before",) and word.yaxis == ghosts()["clamp"].yaxis
        assert word.y[0] in ghosts()["clamp"].y and len(word.y) == 1
    assert len(ghosts()["mean"].y) == 0, "the gas has not changed"
    panel.reset.click()
    assert none()


# --------------------------------------------------------------------------- without widgets
@pytest.mark.parametrize("missing", ["ipywidgets", "anywidget"])
def test_without_widgets_the_same_is_shown(missing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    monkeypatch.delitem(sys.modules, "sealkit.classroom.panel.live", raising=False)
    monkeypatch.delitem(sys.modules, missing, raising=False)
    real = builtins.__import__

    def gone(name: str, *args: Any, **kwargs: Any) -> Any:
        if name.partition(".")[0] == missing:
            raise ModuleNotFoundError(f"No module named {missing!r}", name=missing)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", gone)
    shown = panels.panel("boosted-four", SCENE)
    assert isinstance(shown, panels.Static)
    assert missing in shown.note and shown.note in shown.html()
    assert len(shown.figure.data) == len(PLOT.curves)
    assert list(shown.tables) == list(SCENE.tables(shown.result, "metric"))


def test_without_plotly_the_tables_remain(monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(*_: Any) -> Any:
        raise ModuleNotFoundError("No module named 'plotly'", name="plotly")

    monkeypatch.setattr(panels, "_figure", gone)
    shown = panels.static("boosted-four", SCENE)
    assert shown.figure is None and "plotly is not installed" in shown.html()
    assert "Limits, weakest first" in shown.html()


# --------------------------------------------------------------------------- gaskets
def test_every_gasket_can_be_put_on(panel: Panel) -> None:
    from sealkit.sealing import constructions

    panel.rows[BOOST].slider.value = 1.0
    seen = set()
    for name in constructions.names():
        panel.picks[GASKET].value = name
        assert panel.outcome.build.gasket.construction == name, panel.message.value
        assert panel.outcome.build.charge.boost == pytest.approx(1e5), "the slider was moved"
        assert panel.message.value == ""
        seen.add(round(panel.outcome.weakest.margin, 9))
    assert len(seen) > 2
    panel.chooser.value = "na-iron-v8"
    assert panel.picks[GASKET].value == "fibre composite"


def test_all_gaskets_are_compared_best_first(panel: Panel) -> None:
    panel.buttons[COMPARE].click()
    table = words(panel._asked.value)
    ranked = ranking.rank(panel.stage.varied())
    assert [table.find(r.name) for r in ranked[:1]] != [-1]
    assert all(r.name in table for r in ranked)
    assert ("FALLS OUT" in table) == any(r.outcome is Outcome.FAILS for r in ranked)
    panel.rows[BOOST].slider.value = panel.rows[BOOST].slider.min
    assert panel._asked.value == "", "an old comparison is not left standing"


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_steps_of_a_knob(system: str) -> None:
    knob = Knob("crank_angle", "Crank angle", "angle", 0.0, -np.pi / 2, 2 * np.pi / 3)
    low, high = knob.ends(system)
    assert (knob.at(0.0, system), knob.at(1.0, system)) == (low, high) == (-90.0, 120.0)
    step = knob.step(system)
    assert all((knob.at(s, system) - low) % step == 0 for s in np.linspace(0, 1, 73))
    assert knob.beside(low + step, low + 0.6 * step, system)
    assert not knob.beside(low + 3 * step, low + 0.6 * step, system), "that is a move"
    assert not knob.beside(low + step, low + 2 * step, system), "from a step on it is a move"
