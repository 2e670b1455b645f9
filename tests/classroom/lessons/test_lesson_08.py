"""Lesson 08: the panel follows the volumes, and every exercise knows its wrong turns."""

from __future__ import annotations

import base64
import functools
import re
from xml.etree import ElementTree

import numpy as np
import pytest

from sealkit import InputError
from sealkit import build as builds
from sealkit.analysis import Refit
from sealkit.build import Build
from sealkit.classroom.lessons import thickness as thickness_lesson
from sealkit.classroom.lessons.thickness import SCENE, find
from sealkit.classroom.panel import panels
from sealkit.pressure import geometry

FOUR = builds.demo("boosted-four")
V8 = builds.demo("na-iron-v8")  # a sheet with its volumes
BY_NAME = {"four": FOUR, "v8": V8}


@functools.cache
def at(name: str, path: str, end: str) -> Refit:
    build = BY_NAME[name]
    knob = next(k for k in SCENE.knobs(build) if k.path == path)
    return find(build, **{path: getattr(knob, end)})


# what grows (+) and what falls (-) as a knob goes from its low to its high end
@pytest.mark.parametrize("name", BY_NAME)
@pytest.mark.parametrize(
    ("path", "ratio", "squish", "running"),
    [
        ("thickness", -1, +1, +1),
        ("cut", +1, 0, 0),
        ("deck", -1, +1, +1),
        ("opening", -1, 0, 0),
        ("allowance", 0, 0, -1),
    ],
)
def test_knobs_move_the_right_way(
    name: str, path: str, ratio: int, squish: int, running: int
) -> None:
    low, high = at(name, path, "low"), at(name, path, "high")
    pairs = [
        (ratio, low.build.compression_ratio, high.build.compression_ratio),
        (ratio, low.after.design_peak, high.after.design_peak),
        (ratio, low.force, high.force),
        (ratio, low.after.knock_integral, high.after.knock_integral),
        (squish, float(low.gap.squish), float(high.gap.squish)),
        (running, float(low.gap.running), float(high.gap.running)),
    ]
    for sign, a, b in pairs:
        if sign:
            assert sign * (b - a) > 0.001 * abs(a)
        else:
            assert b == pytest.approx(a, rel=1e-9)
    assert low.before == high.before, "the sheet stays what it is"
    told = [str(SCENE.sentence(f, "metric")) for f in (low, high)]
    if path != "opening":
        assert told[0] != told[1]


def test_boost_stays_whatever_is_cut() -> None:
    found = find(FOUR, cut=1e-3, deck=-0.2e-3)
    assert found.build.charge.boost == FOUR.charge.boost
    rows = SCENE.tables(found, "metric")["What the joint gets"]
    assert rows[0]["what"] == "boost" and rows[0]["change"] == "none"
    assert all(r["change"].startswith("+") for r in rows[1:])


def test_touch_and_risk_are_told() -> None:
    assert SCENE.sentence(find(V8), "metric").good is True
    close = find(FOUR, thickness=0.5e-3)
    assert SCENE.sentence(close, "metric").word == "RISK OF TOUCH"
    touch = find(FOUR, thickness=0.4e-3, deck=-0.2e-3)
    told = SCENE.sentence(touch, "metric")
    assert told.word == "TOUCHES" and told.good is False and "into the head" in told.words
    assert "flush with the deck" in told.words
    assert "flush" not in SCENE.sentence(find(V8), "metric").words


def test_tiles_are_marked_by_the_limits_of_the_verdict() -> None:
    """A risk of touch is no good squish, and a rare cycle that knocks leaves no good mark."""
    (_, squish, speed, *_, knock), clear = SCENE.tiles(find(FOUR, thickness=0.4e-3)), find(FOUR)
    assert squish[2] is False and speed[2] is None
    assert knock[2] is None and "rare one 1." in knock[0]
    assert [SCENE.tiles(clear)[i][2] for i in (1, 2)] == [True, True]
    assert SCENE.tiles(find(FOUR, thickness=0.4e-3, deck=-0.2e-3))[2][2] is False


@pytest.mark.parametrize("thickness", [0.4e-3, 0.8e-3, 1.8e-3])
def test_words_of_the_section_stand_clear_of_each_other(thickness: float) -> None:
    places = re.findall(
        r"<text x='([\d.]+)' y='([\d.]+)'[^>]*>(squish|at speed|piston)",
        thickness_lesson.picture(find(FOUR, thickness=thickness)).html,
    )
    at = {name: (float(x), float(y)) for x, y, name in places}
    assert at["squish"][1] + 20 < at["at speed"][1] < 325
    assert at["piston"][0] - at["at speed"][0] > 300 or at["piston"][1] > at["at speed"][1] + 20


def test_a_piston_that_leaves_no_room_is_refused() -> None:
    with pytest.raises(InputError):
        find(FOUR, cut=20e-3)


def test_lines_pass_through_the_point_that_is_set() -> None:
    found = find(FOUR, thickness=1.234e-3)
    data = SCENE.plot.values(found, "metric")
    for line in ("ratio", "design"):
        x, y = data[line]["x"], data[line]["y"]
        assert np.all(np.diff(x) >= 0) and np.all(np.diff(y) <= 0)
        now = data[f"{line} now"]
        assert np.interp(now["x"], x, y) == pytest.approx(now["y"])
    rest, speed = data["rest"]["y"], data["speed"]["y"]
    assert min(rest) == pytest.approx(1.234)
    np.testing.assert_allclose(rest - speed, 1e3 * thickness_lesson.ALLOWANCE)
    down = geometry.piston_position.si(np.radians(16.0), FOUR.engine.stroke, FOUR.engine.rod_length)
    assert rest[-1] - min(rest) == pytest.approx(1e3 * float(down))


def test_inch_and_metric_say_the_same() -> None:
    found = find(V8)
    metric, inch = (SCENE.plot.values(found, s) for s in ("metric", "inch"))
    np.testing.assert_allclose(inch["rest"]["y"] * 25.4, metric["rest"]["y"], rtol=1e-9)
    np.testing.assert_allclose(inch["design"]["y"] / 14.503773773, metric["design"]["y"], rtol=1e-9)
    assert "in" in SCENE.tables(found, "inch")["Volume, compression and clearance"][3]["now"]
    assert (
        SCENE.plot.layout([found], "inch")["annotations"][0]["text"] == "<b>Piston to head, in</b>"
    )


def test_saved_sheet_is_the_one_that_is_shown() -> None:
    made = panels.static(V8, SCENE, {"Gasket, compressed": "1.5 mm", "Cut off the head": "0.5 mm"})
    assert made.build.gasket.compressed_thickness == pytest.approx(1.5e-3)
    assert made.build.compression_ratio == pytest.approx(made.result.build.compression_ratio)
    again = builds.loads(made.build.dumps())
    assert again.compression_ratio == pytest.approx(made.result.build.compression_ratio)


def test_buttons_tell_head_and_deck_apart() -> None:
    found = find(FOUR)
    rows = SCENE.buttons["Take ring marks off a face"](FOUR, found, "metric")
    head, deck = next(iter(rows.values()))
    assert head["volume"] == deck["volume"]
    assert head["squish"] == "none" and deck["squish"].startswith("−")
    assert "neither" in head["shown by"]
    both = SCENE.buttons["What it does to the whole joint"](FOUR, find(FOUR, cut=1e-3), "metric")
    before, after = both["The whole joint"]
    assert before["case"] == "as on the sheet" and before["gas load"] != after["gas load"]


@pytest.mark.parametrize("build", [FOUR, V8], ids=["four", "v8"])
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_picture_has_words_and_follows_the_engine(build: Build, system: str) -> None:
    texts = []
    for thick in (build.gasket.compressed_thickness, build.gasket.compressed_thickness + 0.5e-3):
        shown = thickness_lesson.picture(find(build, thickness=thick), system)
        svg = ElementTree.fromstring(re.search(r"<svg.*</svg>", shown.html, re.DOTALL)[0])  # type: ignore[index]
        assert svg.get("role") == "img" and "squish" in str(svg.get("aria-label"))
        assert "nan" not in shown.html
        texts.append(shown.text)
    assert texts[0] != texts[1]


def test_named_misconceptions_are_among_the_pitfalls() -> None:
    asked = [thickness_lesson.EXERCISES.both(n, FOUR)[0] for n in range(1, 6)]
    names = {p.name for question in asked for p in question.pitfalls}
    assert names >= {
        "uncompressed thickness",
        "bore for gasket bore",
        "diameter for radius",
        "head cut counted",
        "milling raises boost",
        "gasket as a cure",
    }


def test_exercise_values_are_the_engines() -> None:
    one = thickness_lesson.EXERCISES.both(1, FOUR)[0].value
    assert one == pytest.approx(np.pi / 4 * FOUR.gasket.bore**2 * 0.3e-3)
    two = thickness_lesson.EXERCISES.both(2, FOUR)[0].value
    assert isinstance(two, float)
    thicker = find(FOUR, thickness=FOUR.gasket.compressed_thickness + two)
    assert thicker.build.compression_ratio == pytest.approx(FOUR.compression_ratio - 0.5)
    assert thickness_lesson.EXERCISES.both(3, FOUR)[0].value == pytest.approx(0.9e-3)


def test_words_beside_the_lesson() -> None:
    assert "panel" in thickness_lesson.told(FOUR)
    assert "from memory" in thickness_lesson.sources(FOUR).text
    assert "invented" in thickness_lesson.sources(FOUR).text


def test_files_of_the_panel_hold_what_the_knobs_made() -> None:
    panel = panels.panel(V8, SCENE)
    place = [k.path for k in panel.knobs].index("cut")
    panel.rows[place].slider.value = panel.rows[place].slider.max
    panel.files.click()
    first = re.findall(r"base64,([^\"]+)\"", panel.links.value)[0]
    saved = builds.loads(base64.b64decode(first).decode())
    assert saved.compression_ratio == pytest.approx(panel.outcome.build.compression_ratio)
    assert saved.compression_ratio > V8.compression_ratio + 0.1
