"""Lesson 09, how sure can you be: its panel, its picture, questions and answers."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis, scatter
from sealkit.build import Build
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown, html_table, plain_table
from sealkit.classroom.homework.questions import Exercises, Solved
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.scatter import DAMAGE, GAS_LEAK, Input, LimitProbability, Scatter
from sealkit.units import from_si, show

Array = NDArray[np.float64]

CHECKS = {
    "scatter": ["by-feel", "torque-wrench", "turn-of-nut", "elongation", "factor-0.35"],
    "variation": ["6.12-100", "6.12-1000", "6.12-10000"],
}
BUILDS = 1024  # of one step of the panel
ROUGH = 128  # while a slider moves
MANY = 131_072  # on demand
OWN = "as on the sheet"
_WIDE = 0.05  # of a bar, in margin
_SHOWN = (-0.5, 1.5)
_MOST = 0.30  # largest scatter on the slider
_BAR = 0.24  # thickness of a bar; a row is 1 high, its name above the bars


@dataclass(frozen=True)
class Found:
    """What the panel shows: many builds of one sheet."""

    build: Build
    many: Scatter
    seal: LimitProbability
    strength: LimitProbability


def inputs(build: Build) -> tuple[Input, ...]:
    """What scatters, but for what would give each build a cycle of its own."""
    return tuple(x for x in scatter.usual(build) if not analysis.moves_the_cycle(build, x.spreads))


def find(build: Build, count: int = BUILDS, **how: Any) -> Found:
    """Many builds of one sheet, and the limits of seal and strength that are likeliest to fail.

    Parameters
    ----------
    build : a checked build sheet
    count, how : as `sealkit.scatter.run` takes them
    """
    many = scatter.run(build, inputs(build), count=count, **how)

    def first(group: str) -> LimitProbability:
        rows = [r for r in many.limits if r.key in many.members[group]]
        return min(rows, key=lambda r: (-r.failure.failed, many.quantile(r.key, 0.02)))

    return Found(build, many, first(GAS_LEAK), first(DAMAGE))


# --------------------------------------------------------------------------- knobs and picks
def preload_scatter(build: Build) -> float:
    """Scatter of the preload, as the sheet states it or as its way of tightening has it."""
    stated = build.fasteners.preload_scatter
    return float(analysis.scatter_row(build)["high"] if stated is None else stated)


def _knobs(build: Build) -> Sequence[Knob]:
    spread = build.burn.peak_variation
    return (
        controls.tightening(build),
        controls.boost(build),
        controls.sheet(
            "fasteners.preload_scatter",
            "Preload scatter ±",
            "fraction",
            min(preload_scatter(build), _MOST),
            0.02,
            _MOST,
        ),
        controls.sheet(
            "burn.peak_variation",
            "Peak spread",
            "fraction",
            spread,
            0.01,
            max(0.12, 1.5 * spread),
        ),
    )


def _picks(build: Build) -> Sequence[Pick]:
    def take(now: Build, way: str) -> Build:
        return build if way == OWN else scatter.by_method(build, way)

    return (Pick("way", "Tightened by", (OWN, *scatter.METHODS), OWN, take),)


def _work(build: Build, _: Free) -> Found:
    return find(build)


def _rough(build: Build, _: Free) -> Found:
    """Fewer builds, and no words of their limits."""
    return find(build, ROUGH, middle=False)


def _finer(
    build: Build, _: Free, told: Callable[[scatter.Progress], None], stop: Callable[[], bool]
) -> Found:
    """As `_work`, in pieces small enough for the controls to stay alive."""
    return find(build, BUILDS, progress=told, cancel=stop, chunk=ROUGH)


def _many(
    build: Build, _: Free, told: Callable[[scatter.Progress], None], stop: Callable[[], bool]
) -> Found:
    return find(build, MANY, progress=told, cancel=stop, chunk=4096)


# --------------------------------------------------------------------------- the charts
_LINES = {
    # words, colour, dash, place of the label
    "seal": ("seal", "seal load", "solid", "top right"),
    "strength": ("strength", "strength", "dash", "top left"),
}


def _bars(found: Found) -> dict[str, tuple[Array, Array]]:
    """Middle of each bar in percent of margin, and the share of the builds in it, percent."""
    out = {}
    edges = np.arange(_SHOWN[0], _SHOWN[1] + 0.5 * _WIDE, _WIDE)
    for key, row in (("seal", found.seal), ("strength", found.strength)):
        fine, count = found.many.histogram(row.key)
        middle = 0.5 * (fine[1:] + fine[:-1])
        share = 100.0 * np.histogram(middle, edges, weights=count)[0] / found.many.count
        out[key] = 50.0 * (edges[1:] + edges[:-1]), share
    return out


def _shares(found: Found) -> tuple[list[str], Array, Array]:
    """Names of what scatters, and the part of each in the spread of both margins, percent."""
    seal, strength = dict(found.seal.shares), dict(found.strength.shares)
    names = [one.name for one in found.many.inputs]
    short = [n.split(" (")[0].split(",")[0] for n in names]
    return (
        short,
        np.array([100.0 * max(seal.get(n, 0.0), 0.0) for n in names]),
        np.array([100.0 * max(strength.get(n, 0.0), 0.0) for n in names]),
    )


def _traces(found: Found, system: str) -> list[dict[str, Any]]:
    out = []
    for key, (x, y) in _bars(found).items():
        words, colour, dash, place = _LINES[key]
        at = float(x[int(np.argmax(y))])
        out.append(draw.line(key, words, colour, x, y, 0, dash, at, place))
    names, seal, strength = _shares(found)
    places = np.arange(len(seal), dtype=float)
    told = draw.line("inputs", "what scatters", "probability", 0.0 * places, places - 0.33, 1)
    out.append(
        told | {"mode": "text", "text": names, "textposition": "middle right", "hoverinfo": "skip"}
    )
    for key, y, shift, pattern in (
        ("seal share", seal, 0.0, ""),
        ("strength share", strength, _BAR, "/"),
    ):
        name = key.split()[0]
        bar = draw.bars(
            key, f"{name}: part of its spread", _LINES[name][1], places + shift, 1,
            _on_bars(name, y), pattern, y,
        )  # fmt: skip
        out.append(
            bar
            | {
                "orientation": "h",
                "width": _BAR,
                "constraintext": "none",
                "hovertemplate": f"{name}: %{{x:.0f}} %<extra></extra>",
            }
        )
    return out


def _on_bars(name: str, share: Array) -> list[str]:
    """Words on the longest bar only."""
    return [name if i == int(np.argmax(share)) else "" for i in range(len(share))]


def _layout(all_found: Sequence[Found], system: str) -> dict[str, Any]:
    found = all_found[0]
    tall = max(float(np.max(y)) for _, y in _bars(found).values())
    rows = len(_shares(found)[0])
    made = [
        draw.Chart(
            "Builds in a hundred, by margin",
            (0.0, min(2.0 * tall, 105.0)),
            (100 * _SHOWN[0], 100 * _SHOWN[1]),
            "Margin, % (below 0: passed)",
            50,
        ),
        draw.Chart(
            "Where it comes from",
            (rows - 0.55, -0.7),
            (0.0, 130.0),
            "Part of each spread, %",
            50,
        ),
    ]
    out = draw.layout(made, 820, gap=0.12)
    share = 0.36  # of the figure for the bells; the rows of names and bars want the rest
    out["yaxis"]["domain"] = [1.0 - share, 1.0]
    out["yaxis2"]["domain"] = [0.0, 1.0 - share - 0.12]
    out["annotations"][1]["y"] = 1.0 - share - 0.12
    out["yaxis2"] |= {"showticklabels": False, "showgrid": False, "zeroline": False}
    return out


def _values(found: Found, system: str) -> Values:
    traces: dict[str, dict[str, Any]] = {}
    for key, (x, y) in _bars(found).items():
        words = [""] * len(x)
        words[int(np.argmax(y))] = _LINES[key][0]
        traces[key] = {"y": y, "text": words}
    _, seal, strength = _shares(found)
    for key, y in (("seal share", seal), ("strength share", strength)):
        name = key.split()[0]
        traces[key] = {"x": y, "text": _on_bars(name, y)}
    return traces


# --------------------------------------------------------------------------- words
def _sentence(found: Found, system: str) -> Sentence:
    many, bores = found.many, found.build.engine.cylinders
    leak, damage = many.groups[GAS_LEAK], many.groups[DAMAGE]
    engine = leak.any_of(bores)
    worked_out = found.seal.limit is not None
    words = (
        f"Of {many.count:,} builds with full load"
        + (" (stopped before all were done)" if many.stopped else "")
        + f": gas passes a bore in {leak.text()}"
        + (f"; an engine of {bores} leaks in {engine.text()}" if bores > 1 else "")
        + f"; something is overstressed in {damage.text()}. "
        + (
            f"Nearest to leaking: {found.seal.title_in(system)}; nearest to damage: "
            f"{found.strength.title_in(system)}."
            if worked_out
            else f"Rough while a slider moves; {BUILDS:,} builds follow."
        )
    )
    safe = leak.high < 0.01 and damage.high < 0.01
    word = "BOTH CHANCES BELOW ONE IN A HUNDRED" if safe else "NOT BELOW ONE IN A HUNDRED"
    return Sentence(word, words, safe)


def _tables(found: Found, system: str) -> Mapping[str, Rows]:
    many = found.many
    watched = {k: v for k, v in many.watched.items() if k in ("preload", "peak pressure")}
    kinds = {"preload": "force", "peak pressure": "pressure"}
    spreads = [
        {
            "what": f"{name} (mean, standard deviation)",
            "mean": show(mean, kinds[name], system),
            "standard deviation": show(deviation, kinds[name], system, 2),
            "of the mean": f"{100 * deviation / mean:.1f} %" if mean else "",
        }
        for name, (mean, deviation) in watched.items()
    ]
    return {
        f"Limits over {many.count:,} builds, likeliest to fail first": many.rows(system),
        "What came out": spreads,
        "What was varied": [
            {"what": x.name, "status": x.status, "source": x.source} for x in many.inputs
        ],
    }


def method_rows(build: Build, system: str, count: int = BUILDS) -> Rows:
    """The same mean preload by torque, by torque and angle, by stretch."""
    rows = []
    for name, many in scatter.compare_methods(build, count=count).items():
        mean, deviation = many.watched["preload"]
        rows.append(
            {
                "tightened by": name,
                "mean preload": show(mean, "force", system),
                "standard deviation": show(deviation, "force", system, 2),
                "gas leak": many.groups[GAS_LEAK].text(),
                "damage": many.groups[DAMAGE].text(),
            }
        )
    return rows


def _ways(build: Build, _: Found, system: str) -> Mapping[str, Rows]:
    return {"Three ways of tightening": method_rows(build, system)}


def _swept(build: Build, _: Found, system: str) -> Mapping[str, Rows]:
    """Chances over the tightening, all with the same draws."""
    knob = controls.tightening(build)
    if not knob.path:
        raise fail("fasteners.tightening", "tightened to yield", "a way with a number to set")
    values = np.linspace(knob.low, knob.high, 7)
    swept = scatter.sweep(build, knob.path, [from_si(v, knob.kind) for v in values], count=512)
    rows = [
        {
            knob.words.lower(): show(float(v), knob.kind, system),
            "gas leak": f"{100 * groups[GAS_LEAK].value:.1f} %",
            "damage": f"{100 * groups[DAMAGE].value:.1f} %",
        }
        for v, groups in zip(values, swept, strict=True)
    ]
    return {"Chances over the tightening, the same draws at each": rows}


# --------------------------------------------------------------------------- the idea
def picture(build: Build, system: str = "metric") -> Shown:
    """Two bells on one line: what the fasteners leave, and what the gas wants."""
    need, mean, deviation = by_hand(build)
    low, high = min(need, mean - 4 * deviation), mean + 4 * deviation
    room = 0.08 * (high - low)
    low, high = low - room, high + room

    def at(force: float) -> float:
        return 20.0 + 600.0 * (force - low) / (high - low)

    force = np.linspace(mean - 4 * deviation, mean + 4 * deviation, 81)
    bell = np.exp(-0.5 * ((force - mean) / deviation) ** 2)
    path = " ".join(
        f"{at(float(f)):.1f},{230 - 170 * float(b):.1f}" for f, b in zip(force, bell, strict=True)
    )
    steps = (mean - need) / deviation
    told = (
        f"The preload of one fastener as tightened: mean {show(mean, 'force', system)}, standard "
        f"deviation {show(deviation, 'force', system, 2)}. Its share of the gas at the sizing "
        f"pressure: {show(need, 'force', system)}, {steps:.1f} standard deviations below the mean."
    )
    purple, red = COLOURS["clamp"], COLOURS["gas load"]
    svg = (
        "<figure style='margin:0;max-width:640px'>"
        "<svg viewBox='0 0 640 290' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(told, quote=True)}' font-family='sans-serif' font-size='20' "
        f"fill='#111'><title>{html.escape(told)}</title>"
        "<rect width='640' height='290' fill='#fff'/>"
        f"<polyline points='{path}' fill='none' stroke='{purple}' stroke-width='4'/>"
        "<path d='M10,231 H630' stroke='#333' stroke-width='2'/>"
        f"<path d='M{at(mean):.1f},60 V231' stroke='{purple}' stroke-dasharray='6 6' "
        "stroke-width='3'/>"
        f"<text x='{at(mean):.1f}' y='46' text-anchor='middle'>"
        f"preload, {html.escape(show(mean, 'force', system))}</text>"
        f"<path d='M{at(need):.1f},120 V231' stroke='{red}' stroke-width='4'/>"
        f"<text x='{max(at(need), 12):.1f}' y='108' text-anchor='start'>"
        f"gas, {html.escape(show(need, 'force', system))}</text>"
        f"<path d='M{at(need):.1f},250 H{at(mean):.1f}' stroke='#333' stroke-width='2'/>"
        f"<text x='{0.5 * (at(need) + at(mean)):.1f}' y='274' text-anchor='middle'>"
        f"{steps:.1f} standard deviations</text></svg>"
        f"<figcaption style='font-size:14px;line-height:1.35'>{html.escape(told)}</figcaption>"
        "</figure>"
    )
    return Shown(svg, told)


def by_hand(build: Build) -> tuple[float, float, float]:
    """(gas force for one fastener, mean and standard deviation of its preload as tightened), N.

    The gas force is that of the sizing pressure, shared by the fasteners round one bore.
    """
    gas = analysis.gas_side(build)
    _, joint = analysis.clamp_side(build, analysis.gasket_of(build))
    need = gas.design_gauge * joint.gas_area / joint.bolts
    mean, deviation = scatter.run(build, inputs(build), count=BUILDS).watched["preload"]
    return float(need), float(mean), float(deviation)


def sources(build: Build) -> Shown:
    """Where the spreads come from, with their status."""
    rows = [
        {"what": x.name, "status": x.status, "source": x.source, "note": x.note}
        for x in inputs(build)
    ]
    return Shown(html_table("Sources of the spreads", rows), plain_table(rows))


SCENE = Scene(
    name="scatter",
    words="How many builds out of a hundred have which margin, for seal and strength, and what the "
    "spread comes from",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    buttons={
        "Three ways of tightening": _ways,
        "Chances over the tightening": _swept,
    },
    more={f"Work out {MANY:,} builds": _many},
    rough=_rough,
    finer=_finer,
    ends=False,
)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("09")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("deviations")
def _(build: Build, system: str) -> Solved:
    need, mean, deviation = by_hand(build)
    between = (mean - need) / deviation
    return Solved(
        between,
        {
            "mean over deviation": mean / deviation,
            "ratio of the forces": mean / need,
            "plus or minus for one deviation": between / 2.0,
        },
        {
            "mean": (mean, "force"),
            "deviation": (deviation, "force", 2),
            "need": (need, "force"),
            "room": (mean - need, "force"),
            "between": (between, "number", 1),
            "one in": (1 / max(NormalDist().cdf(-between), 1e-12), "number", 0),
        },
    )


_CHANCE = 0.03


@EXERCISES.solver("bores")
def _(build: Build, system: str) -> Solved:
    bores = build.engine.cylinders
    if bores < 2:
        raise fail("engine.cylinders", bores, "an engine with two cylinders or more")
    hold = (1.0 - _CHANCE) ** bores
    return Solved(
        1.0 - hold,
        {"added up": bores * _CHANCE, "one bore only": _CHANCE, "all at once": _CHANCE**bores},
        {"chance": (_CHANCE, "fraction"), "bores": str(bores), "hold": (hold, "fraction")},
    )


@EXERCISES.solver("matters")
def _(build: Build, system: str) -> Solved:
    found = find(build)
    names, seal, strength = _shares(found)
    most = [int(i) for i in np.argsort(-seal)[:4]]
    hard = int(np.argmax(strength))
    first = names[most[0]]
    options = tuple(names[i] for i in sorted(most))
    return Solved(
        first,
        {f"not the most: {name}": name for name in options if name != first},
        {
            "seal": found.seal.title_in(system),
            "first": first,
            "part": f"{seal[most[0]]:.0f} %",
            "other": names[hard],
            "other part": f"{strength[hard]:.0f} %",
        },
        [
            {
                "what scatters": n,
                "part for the seal": f"{a:.0f} %",
                "part for strength": f"{b:.0f} %",
            }
            for n, a, b in zip(names, seal, strength, strict=True)
        ],
        options,
    )


@EXERCISES.solver("methods")
def _(build: Build, system: str) -> Solved:
    many = scatter.compare_methods(build, count=BUILDS)
    torque, stretch = (many[way].watched["preload"][1] for way in ("torque", "stretch"))
    ratio = torque / stretch
    return Solved(
        ratio,
        {"upside down": 1.0 / ratio, "variances": ratio**2},
        {
            "torque": (torque, "force", 2),
            "stretch": (stretch, "force", 2),
            "ratio": (ratio, "number", 1),
        },
        method_rows(build, system),
    )
