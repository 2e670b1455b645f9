"""Every control of every lesson's panel, driven in plain Python: default, both ends, wrong values.

What a lesson's figures do as physics says is tested with the lesson; here is what all have in
common: nothing fails, nothing is shown that is no number, ranges hold the lines, every control has
a name, and what was moved can be moved back.
"""

from __future__ import annotations

import functools
import importlib
import math
import pkgutil
import re
from typing import Any

import numpy as np
import pytest

from sealkit import build as builds
from sealkit.classroom import lessons
from sealkit.classroom.panel import panels
from sealkit.classroom.panel.live import Panel
from sealkit.classroom.panel.scene import Scene
from sealkit.drawing.svg import COLOURS
from sealkit.units import show_value
from tests.sheets import printed_once  # noqa: F401 (fixture)


def scenes() -> dict[str, Scene]:
    """All scenes of the course, by module."""
    found = {}
    for module in pkgutil.iter_modules(lessons.__path__):
        scene = getattr(importlib.import_module(f"{lessons.__name__}.{module.name}"), "SCENE", None)
        if isinstance(scene, Scene):
            found[module.name] = scene
    assert len(found) == 13
    return found


SCENES = scenes()
KNOBS = [
    (name, place)
    for name, scene in SCENES.items()
    for place, knob in enumerate(scene.knobs(builds.demo("boosted-four")))
    if knob.path
]
PICKS = [
    (name, pick.path)
    for name, scene in SCENES.items()
    for pick in scene.picks(builds.demo("boosted-four"))
]


@functools.cache
def shared(name: str) -> Panel:
    made: Panel = panels.panel("boosted-four", SCENES[name])
    made.told.value = True
    return made


@pytest.fixture
def panel(request: pytest.FixtureRequest) -> Panel:
    """The lesson's panel on the demo engine, every control as it opens."""
    made = shared(request.param)
    fresh = {p.path: p.value for p in made.scene.picks(made.stage.sheet)}
    stands = not made.stage.moved and made.stage.picked == fresh and not made.message.value
    if not stands or made.units.value != "metric":
        made.stage.adopt(made.stage.sheet)
        made._quietly(made.units, value="metric")
        made._dress()
    assert made.stage.picked == fresh and not made.stage.moved
    return made


def every(panel: Panel) -> dict[str, Any]:
    """All numbers of the figure by trace and attribute."""
    out = {}
    for trace in panel.figure.data:
        for name in ("x", "y", "z", "r", "theta"):
            value = getattr(trace, name, None)
            if value is not None:
                # open cells of a map are nothing, words stay words
                made = np.array(value, dtype=float) if name == "z" else np.array(value)
                out[f"{trace.meta}.{name}"] = made
    return out


def sound(panel: Panel) -> None:
    """Nothing on screen that is no number, nothing outside its axes."""
    assert panel.message.value == ""
    shown = [
        panel.result.value,
        panel.tiles.value,
        panel.words.value,
        panel.drawing.value,
        *(t.value for t in panel.tables.values()),
    ]
    for text in shown:
        # the words themselves, not parts of others such as "finance"
        assert not re.search(r"\b(nan|inf|None)\b", re.sub(r"<[^>]+>", " ", text)), text[:200]
    cut = {c.key for c in getattr(panel.scene.plot, "curves", ()) if not c.ranged}
    for trace in panel.figure.data:
        if trace.type not in ("scatter", "bar") or trace.y is None or trace.name == "before":
            continue
        if trace.meta in cut and trace.cliponaxis is not False:
            continue  # it stops at the edge of its chart
        axis = (trace.yaxis or "y").replace("y", "yaxis")
        made = panel.figure.layout[axis].range
        y = np.array([v for v in trace.y if v is not None], dtype=float)
        y = y[np.isfinite(y)]
        if made is not None and y.size and panel.scene.ends:
            low, high = sorted(made)
            slack = 1e-6 * (high - low)
            assert low - slack <= y.min() and y.max() <= high + slack, (trace.meta, made)


@pytest.mark.parametrize("panel", SCENES, indirect=True)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_opens_with_names_units_and_labels(panel: Panel, system: str) -> None:
    panel.units.value = system
    sound(panel)
    sentence = panel.scene.sentence(panel.outcome, system)
    assert panel.helper.told == sentence.spoken and sentence.number and sentence.line
    assert 4 <= len(panel.scene.tiles(panel.outcome)) <= 6
    assert panel.scene.scope in panel.result.value
    boxes = [r.box.description for r in panel.rows]
    names = [*boxes, *(b.description for b in panel.picks.values())]
    names += [*(b.description for b in panel.buttons.values())]
    assert all(names) and len(set(names)) == len(names)
    assert panel.helper.names == boxes
    assert panel.scene.words.strip()
    if guess := panel.scene.guess:
        known = {trace.meta for trace in panel.figure.data}
        assert {guess.curve, *guess.hides} <= known and panel.guess.question.endswith(("?", "."))
        told = {k for k in known if k == f"{guess.curve} words"}
        assert told <= set(guess.hides), "the number above a bar would tell it"
    for trace in panel.figure.data:
        assert trace.meta and trace.name, "every trace has a name in words"
    titles = [a.text for a in panel.figure.layout.annotations if a.text]
    assert titles or panel.figure.layout.title.text
    panel.units.value = "metric"


@pytest.mark.parametrize("panel", SCENES, indirect=True)
def test_few_points_and_one_palette(panel: Panel) -> None:
    points = sum(np.size(v) for k, v in every(panel).items() if k.endswith((".y", ".z", ".r")))
    assert points <= 12_000 if not panel.scene.ends else points <= 2_000
    allowed = {c.lower() for c in COLOURS.values()} | {"#111", "#fff", "#333", "#555", "#888"}
    for trace in panel.figure.data:
        if trace.type == "scatter" and trace.line.color:
            assert trace.line.color.lower() in allowed, trace.meta


def shown(panel: Panel) -> tuple[str, str]:
    """All numbers of the figure as they are sent, and all that is told of them."""
    numbers = {
        key: value.astype(np.float32 if value.dtype.kind == "f" else value.dtype).tolist()
        for key, value in every(panel).items()
    }
    tables = "".join(t.value for t in panel.tables.values())
    told = panel.result.value + panel.tiles.value + panel.drawing.value + tables
    return str(numbers), told


@pytest.mark.parametrize("panel", SCENES, indirect=True)
def test_each_knob_to_both_ends_and_back(panel: Panel) -> None:
    """To the one end in metric units, to the other in inch units."""
    knobs = [(place, knob) for place, knob in enumerate(panel.knobs) if knob.path]
    moved = set()
    for system, which in (("metric", "max"), ("inch", "min")):
        panel.units.value = system
        start, numbers = shown(panel), every(panel)
        for place, knob in knobs:
            row = panel.rows[place]
            end = getattr(row.slider, which)
            row.slider.value = end
            sound(panel)
            now = float(show_value(panel.stage.now(knob), knob.kind, system))
            assert now == pytest.approx(end), knob.path
            assert row.box.value == row.slider.value == pytest.approx(end), knob.path
            figure, told = shown(panel)
            moved |= {
                (knob.path, "chart", figure != start[0]),
                (knob.path, "words", told != start[1]),
            }
            panel.reset.click()
            assert shown(panel)[1] == start[1], knob.path
            back = every(panel)
            assert back.keys() == numbers.keys()
            for key, value in numbers.items():
                if value.dtype.kind == "f":  # the map starts from what it solved last
                    np.testing.assert_allclose(back[key], value, 5e-5, 2e-4, err_msg=knob.path)
                else:
                    np.testing.assert_array_equal(back[key], value, err_msg=knob.path)
    panel.units.value = "metric"
    for _, knob in knobs:
        assert (knob.path, "chart", True) in moved, "the chart follows the knob"
        assert (knob.path, "words", True) in moved, "so do the words"


@pytest.mark.parametrize(("panel", "place"), KNOBS, indirect=["panel"])
def test_wrong_number_is_told_and_picture_stays(panel: Panel, place: int) -> None:
    before, slider = every(panel), panel.rows[place].slider.value
    low, high = panel.knobs[place].ends("metric")
    for wrong in (1e9, -1e9, math.nan, math.inf):
        panel.rows[place].box.value = wrong
        assert 'role="alert"' in panel.message.value
        assert panel.knobs[place].words in panel.message.value
        assert f"from {low:g} to {high:g}" in panel.message.value
        assert panel.rows[place].slider.value == slider
        for key, value in every(panel).items():
            np.testing.assert_array_equal(value, before[key])
    panel.reset.click()
    assert panel.message.value == ""


@pytest.mark.parametrize(("panel", "path"), PICKS, indirect=["panel"])
def test_every_option_can_be_picked(panel: Panel, path: str) -> None:
    told: set[tuple[str, bytes]] = set()
    for option in panel.picks[path].options:
        panel.picks[path].value = option
        assert panel.picks[path].value == option, panel.message.value
        sound(panel)
        tables = "".join(t.value for t in panel.tables.values())
        shown = b"".join(v.tobytes() for v in every(panel).values())
        told.add((panel.words.value + panel.drawing.value + tables, shown))
    assert len(told) > 1


@pytest.mark.parametrize("panel", SCENES, indirect=True)
def test_buttons_answer(panel: Panel) -> None:
    for words, button in panel.buttons.items():
        button.click()
        assert panel.message.value == "", words
        assert "<table" in panel._asked.value
    panel.files.click()
    assert panel.message.value == "" and panel.links.value.count("download=") == 3
    assert panel.numbers().count("\n") > 2


@pytest.mark.parametrize("panel", SCENES, indirect=True)
def test_play_runs_through_the_slider(panel: Panel) -> None:
    if panel.play is None:
        assert not panel.scene.play
        return
    knob = panel.stage.knob(panel.scene.play)
    low, high = knob.ends("metric")
    seen = []
    panel.play.value = panel.play.max  # so that the first frame is a change too
    for frame in range(panel.play.min, panel.play.max + 1, 8):
        panel.play.value = frame
        sound(panel)
        seen.append(float(show_value(panel.stage.now(knob), knob.kind, "metric")))
    assert seen == sorted(seen) and len(set(seen)) > 5
    assert low <= seen[0] and seen[-1] <= high
    panel.play.value = panel.play.min


@pytest.mark.parametrize("scene", SCENES)
@pytest.mark.parametrize("name", [n for n in builds.demos() if n != "boosted-four"])
def test_opens_on_every_demo(scene: str, name: str) -> None:
    made = panels.panel(name, SCENES[scene])
    sound(made)
    if name == "boosted-six":
        plain = panels.static(name, SCENES[scene])
        assert plain.figure is not None and plain.tables
        assert str(plain.sentence) in str(plain)


@pytest.mark.parametrize("panel", SCENES, indirect=True)
def test_own_sheet_with_faults_is_told(panel: Panel) -> None:
    panel.chooser.value = "my own engine"
    panel.own.text = panel.own.text.replace("[engine]", "[engine]\ncam = 3")
    assert "engine.cam" in panel.own.faults[""][0] and "NOT WORKED OUT" in panel.result.value
    panel.chooser.value = "boosted-four"
    sound(panel)
