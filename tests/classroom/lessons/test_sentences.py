"""What a lesson says stays true wherever its sliders stand.

Each row quotes the lesson. A statement is judged with every slider at its start and at both ends; a
change over the slider it speaks of, at its ends, its start and its middle. A sentence that is
written anew has to be judged anew: the quotation is looked for in the notebook.
"""

from __future__ import annotations

import dataclasses
import functools
import importlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sealkit import build as builds
from sealkit.classroom import lessons
from sealkit.classroom.panel.scene import Scene
from sealkit.classroom.panel.stage import Stage
from sealkit.report.seal import at_peak
from sealkit.report.seal_view import SealView, seal_on

ROOT = Path(__file__).resolve().parents[3]
MODULES = {"00": "whole_joint", "01": "gas", "02": "wrench", "03": "springs", "04": "gaskets",
           "06": "rings", "07": "heat", "08": "thickness", "11": "capstone",
           "12": "measure"}  # fmt: skip
RISES, FALLS, STAYS = 1, -1, 0


@functools.cache
def words(number: str) -> str:
    """The prose of a lesson."""
    (path,) = (ROOT / "notebooks").glob(f"{number}-*.ipynb")
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return "\n".join("".join(c["source"]) for c in cells if c["cell_type"] == "markdown")


@functools.cache
def stage(number: str) -> Stage:
    module = importlib.import_module(f"{lessons.__name__}.{MODULES[number]}")
    scene: Scene = module.SCENE
    return Stage(dataclasses.replace(scene, ends=False), builds.demo("boosted-four"))


@functools.cache
def at(number: str, path: str, value: float) -> Any:
    """What the lesson works out with one slider moved there."""
    one = stage(number)
    one.back()
    if path:
        one.move(one.knob(path), value)
    return one.work()


def everywhere(number: str) -> list[Any]:
    """As the lesson opens, and with each slider at both ends."""
    ends = [(k.path, v) for k in stage(number).knobs if k.path for v in (k.low, k.high)]
    return [at(number, path, value) for path, value in [("", 0.0), *ends]]


def _clamps(report: Any) -> tuple[float, float]:
    clamp, state = at_peak(report)
    return float(clamp), float(state.clamp)


def _springback(one: SealView, construction: str) -> float:
    return float(seal_on(one.report.build, construction).springback)


STATEMENTS: list[tuple[str, str, Callable[[Any], Any]]] = [
    ("00", "what the gas takes, the **seal** loses", lambda r: _clamps(r)[1] < _clamps(r)[0]),
    ("00", "Sealing lives on the **low** end of the preload, fasteners and threads on the **high**",
     lambda r: r.clamp.preload.low < r.clamp.preload.assembly < r.clamp.preload.high),
    ("01", "all burnt at top dead centre, no heat lost, a bound",
     lambda g: np.max(g.gas.bound.pressure) > g.gas.mean_peak),
    ("01", "The joint has to hold the rare high cycle, not the average one",
     lambda g: g.gas.rare_peak > g.gas.mean_peak),
    ("02", "Friction takes most of the torque", lambda t: t.stretching < 0.5),
    ("03", "the bolt pulls a little more and the squeezed parts press less",
     lambda d: d.peak.tension > d.rest.tension and d.peak.clamp < d.rest.clamp
     and d.share(d.peak) < 0.5),
    ("04", "**Copper**, bare or with wire ring and receiver: it flows to shape and hardly springs "
     "back", lambda v: _springback(v, "copper sheet") < 0.5 * _springback(v, "multi-layer steel")),
    ("06", "Copper keeps its volume: what is pushed out needs **room**",
     lambda r: r.ring.displaced_area > 0),
    ("07", "An aluminium head under steel fasteners is tightest hot and loosest on a cold morning",
     # a soak at the workshop's own temperature is no colder
     lambda h: h.preload("cold soak") <= h.preload("cold again") < h.preload("hot")),
]  # fmt: skip
CHANGES: list[tuple[str, str, str, dict[int, Callable[[Any], float]]]] = [
    ("00", "Tightening harder moves both", "fasteners.torque",
     {RISES: lambda r: r.clamp.preload.low}),
    ("00", "Tightening harder moves both", "fasteners.torque",
     {RISES: lambda r: r.clamp.preload.high}),
    ("00", "The **gas** lifts the head", "charge.boost", {FALLS: lambda r: _clamps(r)[1]}),
    ("01", "each **multiply** the pressure they are given", "charge.boost",
     {RISES: lambda g: g.gas.mean_peak}),
    ("01", "each **multiply** the pressure they are given", "engine.compression_ratio",
     {RISES: lambda g: g.gas.mean_peak}),
    ("01", "no gauge shows the peak an early burn makes", "burn.ca50",
     {FALLS: lambda g: g.gas.mean_peak}),
    ("01", "Cold air: more peak, less knock", "charge.ambient_temperature",
     {FALLS: lambda g: g.gas.mean_peak, RISES: lambda g: g.gas.knock_integral}),
    ("03", "what is clamped above it counts into $k_b$", "head.load_introduction",
     {RISES: lambda d: d.share(d.peak)}),
    ("06", "cut the groove deeper", "groove_depth", {FALLS: lambda r: float(r.ring.protrusion)}),
    ("08", "Cut the **head**: the chamber gets smaller, squish stays", "cut",
     {RISES: lambda f: f.build.compression_ratio, STAYS: lambda f: float(f.gap.squish)}),
    ("08", "Cut the **deck**: both get smaller", "deck",
     {FALLS: lambda f: f.build.compression_ratio, RISES: lambda f: float(f.gap.squish)}),
    ("11", "The **wish** sets the boost", "wish", {RISES: lambda s: s.build.charge.boost}),
    ("11", "boost and fuel set the peak", "wish",
     {RISES: lambda s: s.report.gas.design_peak}),
    ("11", "What is left over is the margin", "wish", {FALLS: lambda s: _clamps(s.report)[1]}),
    ("12", "so phase and zero show there", "phase", {FALLS: lambda o: float(o.model[40])}),
    ("12", "so phase and zero show there", "too_low", {FALLS: lambda o: float(o.model[40])}),
]  # fmt: skip


@pytest.mark.parametrize(("number", "quoted", "true"), STATEMENTS)
def test_a_statement_holds_wherever_the_sliders_stand(
    number: str, quoted: str, true: Callable[[Any], Any]
) -> None:
    assert quoted in words(number)
    assert all(bool(true(result)) for result in everywhere(number))


@pytest.mark.parametrize(("number", "quoted", "path", "moved"), CHANGES)
def test_a_change_goes_the_way_that_is_said(
    number: str, quoted: str, path: str, moved: dict[int, Callable[[Any], float]]
) -> None:
    assert quoted in words(number)
    knob = stage(number).knob(path)
    places = sorted({knob.low, knob.value, 0.5 * (knob.low + knob.high), knob.high})
    results = [at(number, path, place) for place in places]
    for way, of in moved.items():
        steps = np.diff([float(of(r)) for r in results])
        assert np.all(way * steps > 0) if way else np.allclose(steps, 0.0), (path, steps)
