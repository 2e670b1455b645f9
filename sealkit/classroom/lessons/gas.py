"""Lesson 01, what the gas does: its panel, its picture, and the questions with their answers."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis, tables
from sealkit.analysis import Gas
from sealkit.build import Build
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import html_table
from sealkit.classroom.homework.answers import Pitfall, Question
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons.lesson import Exercises, Shown, folded
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.pressure import fuels, gas_data
from sealkit.report.specification import FUELS, with_fuel
from sealkit.sealing.joint import Joint
from sealkit.units import KINDS, Q, from_si, show, show_unit, show_value

Array = NDArray[np.float64]

CHECKS = {
    "boost": ["5.4-T2", "5.3-T2"],
    "polytropic": ["2.12-T2", "2.12-p2"],
    "heat-release": ["3.3-10", "3.3-50"],
    "variation": ["6.12-1000"],
}
ANGLES = (-90.0, 120.0)  # degrees shown on the charts over crank angle
BURN = (-30.0, 90.0)
_TURN = np.radians(10.0)  # how far the burn can be moved


@dataclass(frozen=True)
class Found:
    """What the panel shows: the gas side of a build, its joint, and the push on the head (N)."""

    build: Build
    gas: Gas
    joint: Joint
    push: float


def push(gas: Gas, joint: Joint) -> float:
    """Force of the gas on the head inside the seal, at the pressure the joint is sized on, N."""
    return gas.design_gauge * joint.gas_area


def find(build: Build) -> Found:
    """The gas side of a build and the push on its head."""
    gas = analysis.gas_side(build)
    joint = analysis.clamp_side(build, analysis.gasket_of(build))[1]
    return Found(build, gas, joint, push(gas, joint))


def _earliest(half: float) -> float:
    """How early the burn may be moved."""
    return float(min(half - 0.2 * _TURN, max(half - _TURN, np.radians(2.0))))


def _boosted(build: Build) -> None:
    if build.charge.boost <= 0:
        raise fail("charge.boost", "no boost", "a boosted engine for this exercise")


# --------------------------------------------------------------------------- knobs and picks
def _knobs(build: Build) -> Sequence[Knob]:
    half, air = build.burn.ca50, build.charge.ambient_temperature
    return (
        controls.boost(build),
        controls.ratio(build),
        controls.sheet(
            "burn.ca50",
            "Half burnt at",
            "angle",
            half,
            _earliest(half),
            half + _TURN,
        ),
        controls.sheet(
            "charge.ambient_temperature",
            "Air outside",
            "temperature",
            air,
            min(air, 263.15),
            max(air, 323.15),
        ),
    )


def _picks(build: Build) -> Sequence[Pick]:
    own = build.fuel

    def take(now: Build, name: str) -> Build:
        if name != own.name:
            return with_fuel(now, name)
        shares = {
            "fuel.ethanol_share": own.ethanol_share,
            "fuel.nitromethane_share": own.nitromethane_share,
        }
        return now.vary({"fuel.name": name, **shares})

    options = FUELS if own.name in FUELS else (*FUELS, own.name)
    return (Pick("fuel.name", "Fuel", options, own.name, take),)


def _work(build: Build, _: Free) -> Found:
    return find(build)


# --------------------------------------------------------------------------- lines
def _places(gas: Gas, low: float, high: float, step: float) -> NDArray[np.intp]:
    """Places on the crank angle grid from low to high, every so many degrees."""
    degrees = np.degrees(np.asarray(gas.cycle.crank_angle))
    on = np.abs(degrees / step - np.round(degrees / step)) < 1e-6
    return np.nonzero((degrees >= low - 1e-6) & (degrees <= high + 1e-6) & on)[0]


def _data(found: Found, system: str) -> dict[str, dict[str, Array]]:
    """x and y of every line in the shop's units."""
    gas = found.gas
    degrees = np.degrees(np.asarray(gas.cycle.crank_angle))
    at = _places(gas, *ANGLES, 2.0)
    burn = _places(gas, *BURN, 1.0)
    loop = _places(gas, -180.0, 180.0, 3.0)

    def pressure(values: Any) -> Array:
        return np.asarray(show_value(values, "pressure", system), dtype=float)

    def volume(values: Any) -> Array:
        return np.asarray(show_value(values, "volume", system), dtype=float)

    half = float(np.degrees(found.build.burn.ca50))
    share = 100.0 * np.asarray(gas.cycle.mass_fraction_burned)
    mean, bound = np.asarray(gas.cycle.pressure), np.asarray(gas.bound.pressure)
    return {
        "bound": {"x": degrees[at], "y": pressure(bound[at])},
        "sized": {"x": np.array(ANGLES), "y": pressure(np.full(2, gas.design_peak))},
        "mean": {"x": degrees[at], "y": pressure(mean[at])},
        "peak": {
            "x": np.degrees([float(gas.cycle.peak_angle)]),
            "y": pressure(np.array([gas.mean_peak])),
        },
        "burnt": {"x": degrees[burn], "y": share[burn]},
        "half": {"x": np.array([half]), "y": np.interp([half], degrees, share)},
        "loop": {"x": volume(gas.cycle.volume[loop]), "y": pressure(mean[loop])},
        "ideal": {"x": volume(gas.bound.volume[loop]), "y": pressure(bound[loop])},
    }


_WORDS = {
    # label, colour, chart, dash, x of the label (None: none), its place
    "bound": ("all burnt at once", "pressure", 0, "dot", 6.0, "top right"),
    "sized": ("joint sized on", "pressure", 0, "dash", -90.0, "top right"),
    "mean": ("average cycle", "pressure", 0, "solid", -20.0, "top left"),
    "burnt": ("burnt", "temperature", 1, "solid", 60.0, "bottom center"),
    "loop": ("average cycle", "pressure", 2, "solid", None, "top right"),
    "ideal": ("all burnt at once", "pressure", 2, "dot", None, "top right"),
}


def _traces(found: Found, system: str) -> list[dict[str, Any]]:
    data = _data(found, system)
    out = [
        draw.line(
            key,
            label,
            colour,
            data[key]["x"],
            data[key]["y"],
            chart,
            dash,
            at,
            place,
            True,
            short="average" if key == "mean" else "",
        )
        for key, (label, colour, chart, dash, at, place) in _WORDS.items()
    ]
    for key, label, colour, chart, place in (
        ("peak", "peak", "pressure", 0, "bottom center"),
        ("half", "half burnt", "temperature", 1, "bottom right"),
    ):
        x = data[key]["x"]
        out.append(
            draw.line(
                key, label, colour, x, data[key]["y"], chart, "solid", x[0], place, False, True
            )
        )
        if key == "peak":
            out[-1]["text"] = ["<br>peak"]  # a line down, where the curve leaves room
    return out


def _layout(all_found: Sequence[Found], system: str) -> dict[str, Any]:
    every = [_data(f, system) for f in all_found]
    pressures = [d[k]["y"] for d in every for k in ("bound", "sized", "mean", "peak", "ideal")]
    volumes = [d[k]["x"] for d in every for k in ("loop", "ideal")]
    unit, size = show_unit("pressure", system), show_unit("volume", system)
    tall = draw.span(*pressures)
    made = [
        draw.Chart(
            f"Cylinder pressure, {unit} absolute",
            tall,
            ANGLES,
            "Crank angle, ° after firing top dead centre",
            30,
        ),
        draw.Chart(
            "Burnt share, %",
            (-3.0, 112.0),
            BURN,
            "Crank angle, ° after firing top dead centre",
            30,
        ),
        draw.Chart(
            f"Pressure over volume, {unit} absolute",
            tall,
            draw.span(*volumes),
            f"Volume above the piston, {size}",
        ),
    ]
    return draw.layout(made, 940, gap=0.115)


def _values(found: Found, system: str) -> Values:
    data = _data(found, system)
    out: dict[str, Any] = {}
    for key, xy in data.items():
        out[key] = {"y": xy["y"]}
        if key in ("peak", "half", "loop", "ideal"):
            out[key]["x"] = xy["x"]
    return out


# --------------------------------------------------------------------------- words
def _sentence(found: Found, system: str) -> Sentence:
    gas, burn = found.gas, found.build.burn
    quiet = gas.knock_integral < 1.0
    after = "before" if float(gas.cycle.peak_angle) < 0 else "after"
    words = (
        f"The average cycle peaks at {show(gas.mean_peak, 'pressure', system)} absolute, "
        f"{show(abs(float(gas.cycle.peak_angle)), 'angle', system)} {after} top dead centre. The "
        f"joint is sized on {show(gas.design_peak, 'pressure', system)} (one cycle in "
        f"{burn.one_cycle_in:g}"
        + (" with knock on top" if burn.knock_amplitude > 0 else "")
        + f"), which pushes the head up with {show(found.push, 'force', system)}. Knock integral "
        f"{gas.knock_integral:.2f}: from 1 on the end gas is expected to light by itself."
    )
    return Sentence("NO KNOCK WARNING" if quiet else "KNOCK WARNING", words, quiet)


def ladder(gas: Gas) -> list[tuple[str, float]]:
    """The steps from the air outside to the pressure the joint is sized on, absolute, Pa."""
    return [
        ("air outside", gas.ambient),
        ("inlet manifold", float(gas.charge.manifold_pressure)),
        ("compressed, not yet burnt", float(gas.bound.compression_pressure)),
        ("peak of the average cycle", gas.mean_peak),
        ("the joint is sized on", gas.design_peak),
    ]


def _tables(found: Found, system: str) -> Mapping[str, Rows]:
    gas, burn = found.gas, found.build.burn
    steps = ladder(gas)
    rows: Rows = []
    before: float | None = None
    for what, value in steps:
        rows.append(
            {
                "step": what,
                "absolute": show(value, "pressure", system),
                "above the air outside": show(value - gas.ambient, "gauge pressure", system),
                "times the step before": "" if before is None else f"{value / before:.2f}",
            }
        )
        before = value
    rows.append(
        {
            "step": "all burnt at once (a bound)",
            "absolute": show(gas.bound.peak_pressure, "pressure", system),
            "above the air outside": show(
                float(gas.bound.peak_pressure) - gas.ambient, "gauge pressure", system
            ),
            "times the step before": "",
        }
    )
    charge = [
        ("manifold temperature", show(gas.charge.manifold_temperature, "temperature", system)),
        ("fresh air in one cylinder", show(gas.charge.air_mass, "mass", system)),
        ("fuel in one cylinder", show(gas.charge.fuel_mass, "mass", system)),
        ("octane number of the fuel", f"{float(gas.charge.mixture.octane_number):.0f}"),
        ("knock integral (1 is the limit)", f"{gas.knock_integral:.2f}"),
        ("spread of the peaks", show(burn.peak_variation, "fraction", system)),
        ("knock added on top", show(burn.knock_amplitude, "stress", system)),
        ("push on the head", show(found.push, "force", system)),
        (
            "power and torque (estimate)",
            f"{show(gas.brake_power, 'power', system)}, {show(gas.brake_torque, 'torque', system)}",
        ),
    ]
    return {
        "From the air outside to the peak": rows,
        "Charge, knock and push": [{"what": k, "value": v} for k, v in charge],
    }


def _row(words: str, found: Found, system: str) -> dict[str, str]:
    gas = found.gas
    return {
        "case": words,
        "average peak": show(gas.mean_peak, "pressure", system),
        "peak at": show(gas.cycle.peak_angle, "angle", system),
        "sized on": show(gas.design_peak, "pressure", system),
        "push on the head": show(found.push, "force", system),
        "knock integral": f"{gas.knock_integral:.2f}",
        "power (estimate)": show(gas.brake_power, "power", system),
    }


def _fuels(build: Build, _: Found, system: str) -> Mapping[str, Rows]:
    names = dict.fromkeys((build.fuel.name, *FUELS))
    return {
        "The same engine on other fuels, nothing else changed": [
            _row(n, find(with_fuel(build, n)), system) for n in names
        ]
    }


# --------------------------------------------------------------------------- the idea
def _drawing(found: Found, system: str) -> str:
    """The ladder of pressures as bars, each with what it is multiplied by."""
    gas = found.gas
    steps = ladder(gas)
    most = max(float(gas.bound.peak_pressure), steps[-1][1])
    doing = ("", "boost", "piston", "burn", "spread")
    short = ("air outside", "manifold", "compressed", "average peak", "sized on")
    wide, bars = 600.0, []
    words = []
    for i, (what, value) in enumerate(steps):
        y = 6 + 74 * i
        size = max(wide * value / most, 2.0)
        number = show(value, "pressure", system)
        times = f", {doing[i]} × {value / steps[i - 1][1]:.3g}" if i else ""
        words.append(f"{what} {number}{times}")
        bars.append(
            f"<text x='4' y='{y + 24}'>{short[i]}: {number}{times}</text>"
            f"<rect x='4' y='{y + 34}' width='{size:.1f}' height='26' "
            f"fill='{COLOURS['pressure']}'/>"
        )
    x = 4 + wide * float(gas.bound.peak_pressure) / most
    bars.append(
        f"<path d='M{x:.1f},186 V372' stroke='{COLOURS['pressure']}' stroke-width='4' "
        "stroke-dasharray='6 6'/>"
    )
    bound = show(gas.bound.peak_pressure, "pressure", system)
    alt = "Steps of absolute pressure. " + "; ".join(words) + f"; all burnt at once {bound}."
    return (
        "<figure style='margin:0;max-width:600px'>"
        "<svg viewBox='0 0 620 378' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(alt, quote=True)}' font-family='sans-serif' font-size='28' "
        f"fill='#111'><title>{html.escape(alt)}</title>"
        f"<rect width='620' height='378' fill='#fff'/>{''.join(bars)}</svg>"
        "<figcaption style='font-size:14px;line-height:1.35'>All pressures absolute, one scale. "
        f"Dashed: the bound, {bound}, if all burnt at once at top dead centre and no heat were "
        "lost.</figcaption></figure>"
    )


def picture(found: Found | Build, system: str = "metric") -> Shown:
    """The steps from the air outside to the peak of an engine, drawn."""
    one = find(found) if isinstance(found, Build) else found
    steps = [f"{what}: {show(value, 'pressure', system)}" for what, value in ladder(one.gas)]
    return Shown(_drawing(one, system), "\n".join(steps))


SCENE = Scene(
    name="gas",
    words="Cylinder pressure and burnt share against crank angle, and pressure over volume",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    buttons={"Compare fuels on this engine": _fuels},
)


# --------------------------------------------------------------------------- worked by hand
def spread(build: Build) -> tuple[Any, Any, Any]:
    """(average peak as a quantity, spread, one cycle in how many) of a build."""
    gas = analysis.gas_side(build)
    return from_si(gas.mean_peak, "pressure"), build.burn.peak_variation, build.burn.one_cycle_in


def told(found: Found, system: str = "metric") -> str:
    """What the panel has for the pressures of the hand calculation."""
    gas = found.gas
    return (
        f"the panel: {show(gas.charge.manifold_pressure, 'pressure', system)} in the manifold, "
        f"{show(gas.charge.pressure, 'pressure', system)} in the cylinder as the valve closes, "
        f"{show(gas.bound.compression_pressure, 'pressure', system)} after compression: the real "
        "charge starts lower, and its heat capacity ratio is higher while it is cold"
    )


def manifold(build: Build) -> tuple[Any, Any]:
    """(pressure outside, boost above it) of a build as plain pressures."""
    gas = analysis.gas_side(build)
    return Q(gas.ambient / 1e5, "bar"), Q(build.charge.boost / 1e5, "bar")


def sources(found: Found) -> Shown:
    """Where the numbers of the gas side come from, with their status."""
    table, fuel = gas_data.data(), found.build.fuel.name
    octane = tables.load("octane")
    known = fuel if fuel in octane else "gasoline"
    own = found.build.sheet.status
    rows = [
        {"what": "gas, burnt and unburnt", "status": table.status, "source": table.source},
        {
            "what": f"fuel ({fuel})",
            "status": str(fuels.fuel_data(fuel)["status"]),
            "source": str(fuels.fuel_data(fuel)["source"]),
        },
        {
            "what": "octane number",
            "status": str(octane[known]["status"]),
            "source": str(octane[known]["note"] or octane[known]["source"]),
        },
        {
            "what": "knock integral",
            "status": "from memory",
            "source": "A. M. Douaud and P. Eyzat, SAE 780080, 1978; J. C. Livengood and P. C. Wu, "
            "5th Symposium on Combustion, 1955",
        },
        {
            "what": "rare peak and knock added together",
            "status": "common practice, no source",
            "source": "normal spread of peaks; sum of the two",
        },
        {"what": "engine, burn, spread", "status": own, "source": "the build sheet"},
    ]
    return Shown(html_table("Sources of the gas side", rows), lesson.plain_table(rows))


# --------------------------------------------------------------------------- exercises


def _absolute(build: Build, system: str) -> tuple[Question, Shown]:
    _boosted(build)
    gas = analysis.gas_side(build)
    boost = show(build.charge.boost, "gauge pressure", system)
    text = (
        f"The boost gauge reads {boost}, the air outside has "
        f"{show(gas.ambient, 'pressure', system, 2)}. How many times as much air as without boost "
        "would fill the cylinder at the same temperature? Give the ratio of absolute pressures."
    )
    right = float(gas.charge.manifold_pressure) / gas.ambient
    made = Question(
        "01-1",
        text,
        "number",
        right,
        digits=2,
        pitfalls=(
            Pitfall(
                "gauge for absolute",
                build.charge.boost / gas.ambient,
                "That is gauge pressure over the air outside. Without boost it would be nothing, "
                "yet the engine runs without boost: start from zero pressure, not from the gauge's "
                "zero.",
            ),
            Pitfall(
                "upside down",
                1.0 / right,
                "That is the ratio the other way round; boost puts more air in, not less.",
            ),
        ),
        hint="Add the air outside to what the gauge reads before you divide.",
    )
    words = (
        f"{boost} is {show(gas.charge.manifold_pressure, 'pressure', system, 2)} absolute, and "
        f"divided by {show(gas.ambient, 'pressure', system, 2)} that is {right:.2f}. "
        f"The charge also comes in warmer ("
        f"{show(gas.charge.manifold_temperature, 'temperature', system)} against "
        f"{show(build.charge.ambient_temperature, 'temperature', system)} outside), so the air it "
        "really holds grows a little less."
    )
    return made, folded("Worked answer", words)


def _double(build: Build, system: str) -> tuple[Question, Shown]:
    _boosted(build)
    start = find(build)
    most = 2.0 * build.charge.boost
    twice = find(build.vary({"charge.boost": from_si(most, "gauge pressure")}))
    before, after = start.gas.mean_peak, twice.gas.mean_peak
    text = (
        f"The average cycle peaks at {show(before, 'pressure', system)}. The owner doubles the "
        f"boost from {show(build.charge.boost, 'gauge pressure', system)} to "
        f"{show(most, 'gauge pressure', system)}. By what factor does the average peak grow? "
        "The slider does not go that far: predict it; two figures are enough."
    )
    absolute = float(twice.gas.charge.manifold_pressure) / float(start.gas.charge.manifold_pressure)
    right = after / before
    made = Question(
        "01-2",
        text,
        "number",
        right,
        digits=2,
        pitfalls=(
            Pitfall(
                "double boost doubles the peak",
                2.0,
                "The gauge reads twice as much, but the cylinder does not start from the gauge's "
                "zero: the air outside was there before and has not doubled.",
            ),
            Pitfall(
                "no change",
                1.0,
                "More air and fuel went in, and all of it is compressed and burnt: the peak grows.",
            ),
        ),
        hint="Compare the absolute pressures in the manifold, then think of the warmer charge.",
    )
    rows = [_row("as it stands", start, system), _row("twice the boost", twice, system)]
    words = (
        f"The manifold goes to {absolute:.2f} times its absolute pressure, the average peak to "
        f"{right:.2f} times: a little less, because a compressor that works harder sends warmer, "
        f"thinner air. The knock integral goes from {start.gas.knock_integral:.2f} to "
        f"{twice.gas.knock_integral:.2f}: the fuel gives up before the arithmetic does."
    )
    return made, folded("Worked answer", words, rows)


def _timing(build: Build, system: str) -> tuple[Question, Shown]:
    start = find(build)
    ahead = _earliest(build.burn.ca50)
    early = find(build.vary({"burn.ca50": from_si(ahead, "angle")}))
    more = early.push - start.push
    text = (
        f"The spark is advanced so that half is burnt "
        f"{show(ahead, 'angle', system)} after top dead centre instead of "
        f"{show(build.burn.ca50, 'angle', system)}; boost stays. By how much does the push "
        "on the head grow at the pressure the joint is sized on? Read it off the panel."
    )
    gas, area = early.gas, start.joint.gas_area
    made = Question(
        "01-3",
        text,
        "force",
        more,
        unit=getattr(KINDS["force"], system)[0],
        pitfalls=(
            Pitfall(
                "whole push",
                early.push,
                "That is the whole push after the change; the question asks how much is added.",
            ),
            Pitfall(
                "average cycle",
                (gas.mean_peak - start.gas.mean_peak) * area,
                "That is the growth of the average peak. The joint has to hold the rare high "
                "cycle, whose peak grows by more.",
            ),
            Pitfall(
                "diameter squared without pi over four",
                more * 4.0 / np.pi,
                "That takes the square round the seal. The gas pushes on the circle.",
            ),
        ),
        hint="Take the push before from the push after; both stand in the line above the charts.",
    )
    rows = [_row("as it stands", start, system), _row("burn earlier", early, system)]
    words = (
        f"From {show(start.push, 'force', system)} to {show(early.push, 'force', system)}: "
        f"{show(more, 'force', system)} more on every bore. Power goes from "
        f"{show(start.gas.brake_power, 'power', system)} to "
        f"{show(early.gas.brake_power, 'power', system)} only (an estimate), the knock integral "
        f"from {start.gas.knock_integral:.2f} to {early.gas.knock_integral:.2f}. A few degrees of "
        "timing load the joint as much as a good deal of boost, and no gauge shows it."
    )
    return made, folded("Worked answer", words, rows)


_CHOICES = (
    "the peak doubles, because the octane number is higher",
    "the peak hardly changes, the knock margin grows",
    "the peak falls by half, because the fuel holds less energy",
    "the peak and the knock margin stay exactly the same",
)


def _octane(build: Build, system: str) -> tuple[Question, Shown]:
    petrol, blend = find(with_fuel(build, "gasoline")), find(with_fuel(build, "E85"))
    change = blend.gas.mean_peak / petrol.gas.mean_peak - 1.0
    calmer = blend.gas.knock_integral < petrol.gas.knock_integral
    right = _CHOICES[1] if abs(change) < 0.1 and calmer else _CHOICES[3]
    says = {
        _CHOICES[0]: "Octane says how long the end gas waits before it lights by itself. It adds "
        "no energy: look at the peak while you change the fuel.",
        _CHOICES[2]: "A kilogram of that fuel holds less energy, but more of it goes to each "
        "kilogram of air. What counts is the energy of the mixture in the cylinder.",
        _CHOICES[3]: "Look at the knock integral while you change the fuel.",
        _CHOICES[1]: "Look at the peak and the knock integral while you change the fuel.",
    }
    wrong = tuple(Pitfall(f"choice {i}", c, says[c]) for i, c in enumerate(_CHOICES) if c != right)
    made = Question(
        "01-4",
        "The tank is changed from gasoline to E85, mixed just as rich; boost and timing stay. What "
        "happens to the peak pressure and to the knock margin? Decide first, then change the fuel "
        "on the panel.",
        "choice",
        right,
        options=_CHOICES,
        pitfalls=wrong,
        hint="Change the fuel and watch the peak and the knock integral.",
    )
    rows = [_row("gasoline", petrol, system), _row("E85", blend, system)]
    words = (
        f"The average peak changes by {100 * change:+.1f} %, the knock integral goes from "
        f"{petrol.gas.knock_integral:.2f} to {blend.gas.knock_integral:.2f}. Octane makes no "
        "pressure. It lets you ask for more boost or an earlier burn, and that makes the pressure "
        "your joint has to hold. The constants of the knock integral are from memory and made for "
        "petrol: with alcohol they show the trend only."
    )
    return made, folded("Worked answer", words, rows)


EXERCISES = Exercises((_absolute, _double, _timing, _octane))
question, answer = EXERCISES.question, EXERCISES.answer
