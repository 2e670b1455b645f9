"""From which to which tightening a build holds: whole reports at its ends, and builds without."""

from __future__ import annotations

import functools
from typing import Any

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import paper, report
from sealkit.report import Report
from sealkit.report.window import BY_MODEL, End
from sealkit.sealing.limit import Outcome
from tests.sheets import LONG_RUN

ANGLE = {
    "fasteners.tightening": "torque and angle",
    "fasteners.torque": "30 N*m",
    "fasteners.angle": "110 deg",
    "fasteners.preload_scatter": None,
}

COARSE = (("deck.mesh", "16 mm"),)  # maps that are compared with each other


@functools.cache
def of(name: str, deck: bool = False, changes: tuple[tuple[str, Any], ...] = ()) -> Report:
    return report.run(builds.demo(name).vary(dict(changes)), deck=deck)


def at(one: Report, value: float) -> Report:
    field = one.window.field
    return report.run(one.build.vary_si({field: value}), deck=one.deck is not None)


def band(one: Report, end: End) -> tuple[float, float]:
    """The band of the limit that turns at an end."""
    row = next(r for r in one.banded if r.key == end.limit.key)
    assert row.band is not None
    return row.band.low, max(row.band.high, float(row.margin))


@pytest.mark.parametrize("changes", [(), tuple(ANGLE.items())], ids=["torque", "angle"])
@pytest.mark.parametrize("name", ["na-iron-v8", "boosted-four"])
def test_whole_reports_at_the_ends_have_margins_about_zero(
    name: str, changes: tuple[tuple[str, Any], ...]
) -> None:
    one = of(name, changes=changes)
    w = one.window
    assert w.holds is not None and w.open is not None
    for ends, which in ((w.holds, 0), (w.open, 1)):
        for end in ends:
            if np.isfinite(end.value):
                assert band(at(one, end.value), end)[which] == pytest.approx(0.0, abs=0.02)
    (low, high), (least, most) = w.holds, w.open
    assert least.value <= low.value and high.value <= most.value
    if low.value < high.value:
        assert at(one, 0.5 * (low.value + high.value)).outcome is Outcome.HOLDS
    for value in (0.95 * least.value, 1.05 * most.value):
        if np.isfinite(value) and w.field == "fasteners.torque":
            assert at(one, value).outcome is Outcome.FAILS


def test_on_the_map_too() -> None:
    """Lower end a seal on the map, upper end too: the place that is weakest moves little."""
    one = of("na-iron-v8", True, COARSE)
    w = one.window
    assert w.holds is not None
    low, high = w.holds
    assert low.limit.key == "residual" and high.limit.check == "crush"
    for end in (low, high):
        assert band(at(one, end.value), end)[0] == pytest.approx(0.0, abs=0.04)


def test_what_fails_worst_at_any_tightening_is_named() -> None:
    """Gas passes at any, as taken; fatigue, which may fail too, is not what decides."""
    w = of("methanol-drag", True, (*LONG_RUN.items(), *COARSE)).window
    assert w.holds is not None and w.holds[0].value == np.inf
    assert w.words()[0].startswith("none for sure: perhaps gas passes the seal at any")


def test_a_build_that_holds_nowhere_says_what_each_side_wants() -> None:
    bare = of("boosted-four", changes=(("gasket.construction", "copper sheet"),))
    w = bare.window
    assert w.open is not None and w.open[0].value > w.open[1].value
    words, rests = w.words()
    assert words.startswith("none: ") and rests == BY_MODEL
    assert w.open[0].limit.short in words and w.open[1].limit.short in words
    assert " N·m" in words and " lbf·ft" in w.words("inch")[0]


@pytest.mark.parametrize("torque", ["30 N*m", "250 N*m"])
def test_it_is_the_same_whatever_torque_the_sheet_has(torque: str) -> None:
    usual, other = (
        of("na-iron-v8", changes=x).window for x in ((), (("fasteners.torque", torque),))
    )
    assert usual.holds is not None and other.holds is not None
    for one, two in zip(usual.holds, other.holds, strict=True):
        assert two.value == pytest.approx(one.value, rel=0.01) and two.limit.key == one.limit.key


def test_tightened_to_yield_there_is_nothing_to_set() -> None:
    changes = {"fasteners.tightening": "yield", "fasteners.torque": None}
    one = of("boosted-four", changes=(*changes.items(), ("fasteners.preload_scatter", None)))
    assert one.window.holds is None and one.window.what == "nothing"
    assert one.window.words()[0].startswith("none to choose")


def test_text_page_and_data_tell_the_same() -> None:
    made = paper.paper_of(of("na-iron-v8"))
    w, told = made.report.window, made.to_dict()["tightening"]
    assert w.holds is not None
    low, high = w.holds
    assert (told["by"], told["unit"]) == ("torque", "N*m")
    assert (told["holds_from"], told["holds_to"]) == (low.value, high.value)
    assert (told["holds_from_limit"], told["holds_to_limit"]) == (low.limit.key, high.limit.key)
    assert told["words"] == "; ".join(w.words())
    page, text = paper.page(made, "inch", window=True), paper.text(made, "inch")
    for words in w.words("inch"):
        assert words in page and words in text
    for quick in (paper.summary(made.report, "inch"), paper.page(made, "inch")):
        assert w.words("inch")[0] not in quick, "which does not wait"


def test_a_map_is_made_anew_where_the_sheet_is_far_outside() -> None:
    """By a map made with a third of the torque nothing held for sure."""
    usual = of("boosted-four", True, COARSE).window.holds
    far = of("boosted-four", True, (("fasteners.torque", "35 N*m"), *COARSE)).window
    assert far.sheet == pytest.approx(35.0) and far.holds is not None and usual is not None
    for one, two in zip(far.holds, usual, strict=True):
        assert one.value == pytest.approx(two.value, rel=0.03) and one.limit.key == two.limit.key
