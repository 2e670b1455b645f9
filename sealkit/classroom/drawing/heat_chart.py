"""Heat and cold: bars and lamps by state; stack and fastener as heat makes them grow."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import analysis
from sealkit.analysis import HeatStates, Limit
from sealkit.analysis.heat_states import JUDGED, STATES
from sealkit.build import Build
from sealkit.classroom.drawing.plot import ABOVE_BARS, Axes, Curve, Plot
from sealkit.drawing.svg import COLOURS, framed, line, rect, word
from sealkit.units import show, show_value
from sealkit.words import note

# --------------------------------------------------------------------------- bars by state
# a line for each word, and a long one parted
_NAMES = tuple(n.replace(" ", "<br>").replace("retorqued", "re-<br>torqued") for n in STATES)
_HIGHEST = 200.0  # per cent wanted of what there is; longer bars are cut there
_COLOURS = dict(zip(JUDGED, ("seal load", "liquid", "temperature"), strict=True))
_KEYS = dict(zip(JUDGED, ("seal", "coolant", "oil"), strict=True))


def _share(limit: Limit | None) -> float:
    """What is wanted of what there is, per cent, cut to what the chart shows."""
    if limit is None or not float(limit.demand) > 0:
        return 0.0
    has = float(limit.capacity)
    return min(100.0 * float(limit.demand) / has, _HIGHEST) if has > 0 else _HIGHEST


def _forces(one: HeatStates) -> Any:
    return np.array([s.preload for s in one.stands])


def _preloads(one: HeatStates, system: str) -> list[str]:
    decimals = 1 if system == "metric" else 0
    shown = (float(show_value(s.preload, "force", system)) for s in one.stands)
    return [f"{v:,.{decimals}f}" for v in shown]


def _used(name: str, pattern: str) -> Curve:
    """Bars of what is used."""

    def shares(one: HeatStates) -> Any:
        return np.array([_share(s.limits.get(name)) for s in one.stands])

    return Curve(_KEYS[name], name, _COLOURS[name], 1, shares, form="bars", pattern=pattern)


PLOT = Plot(
    charts=(
        Axes("Preload, low end", "force", room=0.3, x=(-0.6, len(_NAMES) - 0.4)),
        Axes("Used, %: seal, coolant, oil", y=(-2.0, _HIGHEST),
             names=_NAMES, fails=("y", 100.0, None, "leaks")),
    ),
    curves=(
        Curve("preload", "preload of one fastener", "clamp", form="bars", ghost=True, y=_forces),
        Curve("preload words", "preload of one fastener", "clamp", y=_forces, form="words",
              x=lambda one: np.arange(len(one.stands)), side="top center", text=_preloads,
              style=ABOVE_BARS),
        *map(_used, JUDGED, ("", "/", ".")),
    ),
    height=560,
    first=1.0,
    shares=(0.8, 1.0),
    still=True,
    style={"xaxis": {"zeroline": False, "showgrid": False, "ticks": ""}},
)  # fmt: skip


# --------------------------------------------------------------------------- lamps
_ROW, _FIRST_ROW = 42, 60  # from one state to the next, and the middle of the first
_COLUMNS = dict(zip(JUDGED, (190, 285, 380), strict=True))
_LIT = {True: (COLOURS["clamp"], "✓", "tight"), False: (COLOURS["gas load"], "✗", "leaks")}
_TINTS = {"hot": "#fbe3d3", "cold soak": "#dcebf7"}


def lamps(one: HeatStates) -> str:
    """SVG: one lamp for each state and each of what is sealed, with its mark and word."""
    shapes, told = [], []
    for name, x in _COLUMNS.items():
        word = name.removeprefix("combustion ")
        shapes.append(f"<text x='{x}' y='26' text-anchor='middle' font-weight='bold'>{word}</text>")
    for i, stand in enumerate(one.stands):
        y = _FIRST_ROW + _ROW * i
        tint = _TINTS.get(stand.name, "#f5f5f5")
        shapes += [
            f"<rect x='4' y='{y - 19}' width='432' height='38' fill='{tint}'/>",
            f"<text x='12' y='{y + 6}'>{stand.name}</text>",
        ]
        for name, x in _COLUMNS.items():
            limit = stand.limits.get(name)
            # nothing is judged where no liquid passes, or the engine stands still
            rests = "dry" if one.dry and name != JUDGED[0] else "rest"
            colour, mark, word = _LIT[limit.holds] if limit else ("#fff", "", rests)
            share = _share(limit)
            used = f"{'>' if share >= _HIGHEST else ''}{share:.0f} %" if limit else ""
            told.append(f"{name} {stand.name}: {word} {used}".rstrip())
            shapes += [
                "<g class='sk-told'>",
                f"<circle cx='{x - 22}' cy='{y}' r='13' fill='{colour}' stroke='#555'/>",
                f"<text x='{x - 22}' y='{y + 6}' text-anchor='middle' fill='#fff'>{mark}</text>",
                f"<text x='{x - 4}' y='{y - 1 if used else y + 6}'>{word}</text>",
                f"<text x='{x - 4}' y='{y + 16}' font-size='15'>{used}</text>" if used else "",
                "</g>",
            ]
    size = (440, _FIRST_ROW + _ROW * len(one.stands) - 20)
    return framed(
        shapes, size, f"What is tight when, and how much is used. {'; '.join(told)}.", font=18
    )


# --------------------------------------------------------------------------- growth
_EXAGGERATED = 250.0
_GROWS = (
    "From the workshop to {state} (coolant {coolant}) the clamped stack of {head} on {block} grows "
    "by {pile}, the fastener by {fastener}. The difference, {difference}, acts as if the nut had "
    "been turned on by that length"
)


def growth(build: Build, system: str = "metric") -> str:
    """SVG: what stack and fastener would grow by if nothing held them together."""
    stack, grown = analysis.stack_of(build), analysis.grown_parts(build)
    state = analysis.hot_state(build)
    fastener = grown["fastener"]
    pile = grown["head"] + grown["block"] + grown["gasket"]
    told = note(
        _GROWS + ("." if pile >= fastener else ", backwards."),
        state=state.name,
        coolant=(float(state.coolant), "temperature", 0),
        head=build.head.material,
        block=build.block.material,
        pile=(pile, "lift"),
        fastener=(fastener, "lift"),
        difference=(pile - fastener, "lift"),
    ).text(system)
    scale = 210.0 / float(stack.bolt_length)

    def tall(length: Any, growth: float) -> float:
        return scale * (float(length) + _EXAGGERATED * growth)

    base = 350.0
    block = base - tall(stack.block_length, grown["block"])
    head = block - tall(stack.head_length, grown["head"])
    bolt = base - tall(stack.bolt_length, fastener)
    top = base - tall(stack.bolt_length, 0.0)

    shapes = [
        rect(60, head, 170, block - head, "#e3e7ea"),
        rect(60, block, 170, base - block, "#c9ced3"),
        rect(330, bolt, 46, base - bolt, "#8f979e"),
        rect(308, bolt - 26, 90, 26, "#8f979e"),
        line(f"M40,{top:.1f} H420", "#555", more=" stroke-dasharray='6 5'"),
        line(f"M40,{head:.1f} H470", COLOURS["temperature"], 3),
        line(f"M300,{bolt:.1f} H470", COLOURS["clamp"], 3),
        line(f"M455,{head:.1f} V{bolt:.1f}", "#111", 3),
        word(145, (head + block) / 2 + 8, "head", "middle"),
        word(240, base - 8, "block"),
        word(145, min(head, top) - 14, show(pile, "lift", system), "middle"),
        word(386, bolt + 34, show(fastener, "lift", system)),
        word(353, 384, "fastener", "middle"),
        word(145, 384, "stack", "middle"),
        word(476, (head + bolt) / 2 - 6, "difference"),
        word(476, (head + bolt) / 2 + 22, show(pile - fastener, "lift", system)),
    ]
    return framed(
        shapes,
        (640, 400),
        f"Growth by heat of the clamped stack and of the fastener beside it. {told}",
        f"{told} Growth is drawn {_EXAGGERATED:.0f} times too large; the dashed line is the "
        "workshop.",
    )
