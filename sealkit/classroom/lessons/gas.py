"""Lesson 01, what the gas does: its panel, its picture, and the solvers of its exercises."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.analysis import Gas, GasForce, gas_force, gas_side
from sealkit.build import Build, fields
from sealkit.classroom.drawing.crank import crank
from sealkit.classroom.drawing.plot import Curve, Plot, crank_places, over_crank
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Knob, Pick, Rows
from sealkit.errors import fail
from sealkit.pressure import fuels, gas_data
from sealkit.report.notes import held_back
from sealkit.report.specification import FUELS, with_fuel
from sealkit.units import Q, from_si
from sealkit.words import note

TEXT = Text(__file__)
CHECKS = TEXT.checks
_TURN = np.radians(10.0)  # how far the burn can be moved

find = functools.lru_cache(maxsize=16)(gas_force)


# --------------------------------------------------------------------------- knobs and picks
def _earliest(ca50: float) -> float:
    """How early the burn may be moved."""
    return float(min(ca50 - 0.2 * _TURN, max(ca50 - _TURN, np.radians(2.0))))


def _knobs(build: Build) -> Sequence[Knob]:
    ca50, air = build.burn.ca50, build.charge.ambient_temperature
    low, high = min(air, 263.15), max(air, 323.15)
    return (
        controls.boost(build),
        controls.ratio(build),
        controls.sheet("burn.ca50", "CA50 at", ca50, _earliest(ca50), ca50 + _TURN),
        controls.sheet("charge.ambient_temperature", "Air outside", air, low, high),
    )


def _picks(build: Build) -> Sequence[Pick]:
    own = build.fuel

    def take(now: Build, name: str) -> Build:
        if name != own.name:
            return with_fuel(now, name)
        of_its_own = ("ethanol_share", "nitromethane_share", "octane_number")
        return now.vary({"fuel.name": name, **{f"fuel.{k}": getattr(own, k) for k in of_its_own}})

    options = FUELS if own.name in FUELS else (*FUELS, own.name)
    timings = dict(fields())["burn.timing"].choices
    return (
        Pick("fuel.name", "Fuel", options, own.name, take),
        Pick("burn.timing", "Timing", timings, build.burn.timing),
    )


# --------------------------------------------------------------------------- the charts
def _view(found: GasForce) -> dict[str, Any]:
    """Numbers of the curves: over crank angle and over the burn."""
    gas = found.gas
    turn, share = np.asarray(gas.cycle.crank_angle), np.asarray(gas.cycle.mass_fraction_burned)
    mean, limit = np.asarray(gas.cycle.pressure), np.asarray(gas.bound.pressure)
    shown, burn = crank_places(turn, step=2.0), crank_places(turn, (-30.0, 90.0))
    return {
        "found": found,
        "turn": turn[shown],
        "burn": turn[burn],
        "limit": limit[shown],
        "design": gas.design_peak,
        "mean": mean[shown],
        "burned": share[burn],
        "peak": (gas.cycle.peak_angle, gas.mean_peak),
        "half": (gas.ca50, 0.5 * found.build.burn.released_share),
    }


def _singles(view: Mapping[str, Any]) -> tuple[Any, Any]:
    """The single cycles there and back again, as one line."""
    turn, pressure = view["found"].singles
    at = crank_places(turn, (-30.0, 90.0), 3.0)
    there = [(turn[at], one[at]) for one in pressure]
    ways = [(x, y) if i % 2 else (x[::-1], y[::-1]) for i, (x, y) in enumerate(there)]
    return tuple(np.concatenate(part) for part in zip(*ways, strict=True))  # type: ignore


PLOT = Plot(
    charts=(
        over_crank("Cylinder pressure, {unit} absolute", "pressure", "turn"),
        over_crank("Mass fraction burned", "fraction", "burn", (-30.0, 90.0), y=(-0.03, 1.12)),
    ),
    curves=(
        Curve("singles", "single cycles", "pressure", y=_singles, ranged="", at=42.0, raised=True,
              style={"line": {"width": 0.6}, "hoverinfo": "skip"}),
        Curve("limit", "constant-volume limit", "pressure", dash="dot", at=16.0, raised=True,
              short="constant volume", ranged="", style={"cliponaxis": True}),
        Curve("design", "design peak", "pressure", dash="dash", at=-90.0, level=True),
        Curve("mean", "average cycle", "pressure", at=-20.0, side="top left", short="average",
              raised=True, ghost=True),
        Curve("burned", "burned", "temperature", 1, at=60.0, side="bottom center", raised=True),
        Curve("peak", "peak", "pressure", marker=True, bare=True),
        Curve("half", "CA50", "temperature", 1, side="bottom right", marker=True),
    ),
    height=640,
    gap=0.17,
    hover="x unified",
    first=0.66,
    view=_view,
)  # fmt: skip


# --------------------------------------------------------------------------- in words
def _told(found: GasForce) -> Names:
    gas, burn = found.gas, found.build.burn
    turn = float(gas.cycle.peak_angle)
    side = "before" if turn < 0 else "after"
    rare = gas.rare_knock or gas.knock_integral
    knock = ", with knock on top" if burn.knock_amplitude > 0 else ""
    timing = note(" {held}", held=held_back(found.build, gas))
    timing = timing if burn.timing == "knock limited" else note("")
    good = False if gas.knock_integral >= 1.0 else None if rare >= 1.0 else True
    word = {True: "NO KNOCK WARNING", None: "RARE CYCLES MAY KNOCK", False: "KNOCK WARNING"}[good]
    judged, cycle = gas.knock_integral, "mean cycle"
    if good is None:
        judged, cycle = rare, "cycle designed for"
    return locals()


def ladder(gas: Gas) -> list[tuple[str, float]]:
    """The steps from the air outside to the design peak pressure, absolute, Pa."""
    return [
        ("air outside", gas.ambient),
        ("inlet manifold", float(gas.charge.manifold_pressure)),
        ("compressed, not yet burnt", float(gas.bound.compression_pressure)),
        ("peak of the average cycle", gas.mean_peak),
        ("design peak of the joint", gas.design_peak),
    ]


def _behind(found: GasForce) -> Names:
    """What the tables tell beside."""
    steps = ladder(found.gas)
    times = ["", *(f"{b / a:.2f}" for (_, a), (_, b) in itertools.pairwise(steps)), ""]
    steps.append(("constant-volume limit (a bound)", float(found.gas.bound.peak_pressure)))
    rows = zip(steps, times, strict=True)
    return {"steps": [{"what": w, "value": v, "ratio": ratio} for (w, v), ratio in rows]}


def _fuels(build: Build, _: GasForce, system: str) -> Mapping[str, Rows]:
    names = dict.fromkeys((build.fuel.name, *FUELS))
    cases = [(name, find(with_fuel(build, name))) for name in names]
    return TEXT.table("cases", {"cases": cases}, system)


SCENE = TEXT.scene(
    _told,
    _behind,
    knobs=_knobs,
    picks=_picks,
    work=lambda build, _: find(build),
    plot=PLOT,
    drawing=crank,
    buttons={"Compare fuels on this engine": _fuels},
)


# --------------------------------------------------------------------------- worked by hand
def spread(build: Build) -> tuple[Any, Any, Any]:
    """(average peak as a quantity, spread, one cycle in how many) of a build."""
    gas = gas_side(build)
    return from_si(gas.mean_peak, "pressure"), gas.peak_variation, build.burn.one_cycle_in


def by_panel(found: GasForce, system: str = "metric") -> str:
    """What the panel has for the pressures of the hand calculation."""
    return TEXT.note("panel", _told(found)).text(system)


def manifold(build: Build) -> tuple[Any, Any]:
    """(pressure outside, boost above it) of a build as plain pressures."""
    return Q(gas_side(build).ambient / 1e5, "bar"), Q(build.charge.boost / 1e5, "bar")


def sources(found: GasForce) -> Shown:
    """Where the numbers of the gas side come from, with their status."""
    table, name = gas_data.data(), found.build.fuel.name
    fuel, known = fuels.fuel_data(name), tables.load("octane")
    octane = known[name if name in known else "gasoline"]
    said = octane["note"] or octane["source"]
    return TEXT.shown("sources", locals())


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("01")
answer = EXERCISES.answer


def _boosted(build: Build) -> Gas:
    if build.charge.boost <= 0:
        raise fail("charge.boost", "no boost", "a boosted engine for this exercise")
    return find(build).gas


@EXERCISES.solver("absolute")
def _(build: Build, system: str) -> Names:
    gas, boost = _boosted(build), build.charge.boost
    ratio = float(gas.charge.manifold_pressure) / gas.ambient
    return locals()


@EXERCISES.solver("double")
def _(build: Build, system: str) -> Names:
    now, boost = _boosted(build), build.charge.boost
    start, twice = find(build), find(build.vary_si({"charge.boost": 2.0 * boost}))
    then = twice.gas
    factor = then.mean_peak / now.mean_peak
    filled = float(then.charge.manifold_pressure) / float(now.charge.manifold_pressure)
    rows = TEXT.rows("cases", {"cases": [("as it stands", start), ("twice the boost", twice)]})
    return locals()


@EXERCISES.solver("timing")
def _(build: Build, system: str) -> Names:
    build = build.vary({"burn.timing": "fixed"})  # knock would take the advance back
    ahead = _earliest(build.burn.ca50)
    start, early = find(build), find(build.vary_si({"burn.ca50": ahead}))
    more = early.force - start.force
    rows = TEXT.rows("cases", {"cases": [("as it stands", start), ("burn earlier", early)]})
    return locals()


@EXERCISES.solver("octane")
def _(build: Build, system: str) -> Names:
    petrol, blend = (find(with_fuel(build, fuel)) for fuel in ("gasoline", "E85"))
    change = f"{100 * (blend.gas.mean_peak / petrol.gas.mean_peak - 1.0):+.1f} %"
    rows = TEXT.rows("cases", {"cases": [("gasoline", petrol), ("E85", blend)]})
    return locals()
