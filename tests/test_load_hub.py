"""The pure parts of the load script: what it reads of processes, and how it plays a browser."""

from __future__ import annotations

import json
import math
import random
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from sealkit.classroom.lessons.whole_joint import SCENE
from sealkit.classroom.panel import panels
from tests.benchmarks import load_hub
from tests.benchmarks.load_hub import Outcome, Slider, Widgets


def opened(widget: Any) -> dict[str, Any]:
    """The message by which a widget opens, as the browser gets it."""
    state = widget.get_state()
    return {
        "comm_id": widget.model_id,
        "data": {"state": json.loads(json.dumps(state, default=str))},
    }


def test_environment_of_a_process() -> None:
    found = load_hub.environ(b"A=1\0B=x=y\0\0odd\0C=\0")
    assert found == {"A": "1", "B": "x=y", "C": ""}


def test_memory_is_read_in_kilobytes() -> None:
    text = "00400000-7fff r--p 00000000 00:00 0  [rollup]\nRss:     2048 kB\nPss:      512 kB\n"
    assert load_hub.kilobytes(text) == {"Rss": 2048, "Pss": 512}


def test_processor_time_of_a_process_with_an_odd_name() -> None:
    rest = "S 1 1 1 0 -1 4194560 100 0 0 0 250 50 7 7 20 0 1 0 100 0 0"
    assert load_hub.ticks(f"12 (a) b ( c) {rest}") == 300


@pytest.mark.skipif(not Path("/proc/self/environ").exists(), reason="no /proc on this system")
def test_processes_of_another_run_are_not_seen() -> None:
    assert load_hub.processes("a mark that nobody carries") == {}


def test_a_slider_goes_step_by_step_and_stays_between_its_ends() -> None:
    slider, draw = Slider("c", 0.0, 0.3, 0.1, 0.1), random.Random(1)
    seen = [slider.value, *(slider.next(draw) for _ in range(200))]
    assert set(seen) == {0.0, 0.1, 0.2, 0.3}
    assert all(abs(abs(b - a) - 0.1) < 1e-9 for a, b in pairwise(seen))


def test_finds_the_sliders_and_the_figure_of_the_panel() -> None:
    panel = panels.panel("boosted-four", SCENE)
    widgets = Widgets()
    old, new = panel.rows[0].slider, panel.rows[1].slider
    for widget in (panel.units, old, new, panel.figure):
        assert widgets.take("comm_open", opened(widget), ()) is None
    assert list(widgets.sliders) == [old.model_id, new.model_id]
    found = widgets.sliders[new.model_id]
    assert (found.low, found.high, found.value) == (new.min, new.max, new.value)
    assert widgets.figure == panel.figure.model_id
    widgets.take("comm_close", {"comm_id": old.model_id}, ())
    assert list(widgets.sliders) == [new.model_id]


def test_only_new_values_of_the_figure_count() -> None:
    widgets = Widgets(figure="f")

    def told(comm: str, state: dict[str, Any], method: str = "update") -> Any:
        data = {"method": method, "state": state}
        return widgets.take("comm_msg", {"comm_id": comm, "data": data}, (b"1",))

    style = {"_py2js_update": {"style_data": {"y": [1]}, "trace_edit_id": 4}}
    assert told("f", {"_py2js_addTraces": {"trace_data": [{"uid": "u"}]}}) is None
    assert told("f", {"_py2js_update": None}) is None
    assert told("f", {"_last_trace_edit_id": 4}) is None
    assert told("other", style) is None and told("f", style, "echo_update") is None
    assert told("f", style) == (style["_py2js_update"], (b"1",))


def test_a_class_is_sound_only_if_every_slider_got_its_figure() -> None:
    good = Outcome(1, 1.0, 0.5, opened=[2.0], times=[0.1, 0.2], pss=[300.0], rss=[400.0])
    assert good.ok and " 2.0 " in good.line()
    faults: list[dict[str, Any]] = [{"lost": 1}, {"same": 1}, {"times": []}]
    for fault in faults:
        other = Outcome(1, 1.0, 0.5, opened=[2.0], pss=[300.0], rss=[400.0])
        other.times = [0.1]
        for name, value in fault.items():
            setattr(other, name, value)
        assert not other.ok


def test_percentiles() -> None:
    assert load_hub.percentile([float(i) for i in range(101)], 95) == pytest.approx(95.0)
    assert math.isnan(load_hub.percentile([], 95))
