"""What a live panel shows, without widgets: knobs, picks, and what turns them into a chart.

A lesson writes one `Scene`. The panel (`sealkit.classroom.panel.live`) and the plain figure
(`sealkit.classroom.panel.panels.static`) both draw it. Controls always stand in one order:
engine, own sheet, picks, units, knobs, play, buttons.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sealkit.build import Build
from sealkit.classroom.drawing.plot import Drawn
from sealkit.errors import fail
from sealkit.report import Report
from sealkit.units import KINDS, Q, show_unit, show_value, to_si
from sealkit.words import Note

WHOLE = "the whole joint"
Rows = list[dict[str, str]]
Tile = tuple[str, Any, bool | None]
Free = Mapping[str, Any]


@dataclass(frozen=True)
class Knob:
    """One number the panel can change."""

    # dotted name on the build sheet, or a word of the lesson's own (without a dot) that goes to
    # `Scene.work`; empty where there is nothing to set
    path: str
    words: str  # what it is called
    kind: str  # key of `sealkit.units.KINDS`
    value: float  # where it stands at first, plain SI
    # low, high: ends of the slider, plain SI
    low: float
    high: float

    @property
    def on_sheet(self) -> bool:
        """Whether it is an entry of the build sheet."""
        return "." in self.path

    def step(self, system: str) -> float:
        """Step of the slider in the shop's unit: about a hundredth of its range, a round number."""
        span = float(show_value(self.high, self.kind, system)) - float(
            show_value(self.low, self.kind, system)
        )
        power = 10.0 ** math.floor(math.log10(span / 100))
        return next(power * m for m in (1, 2, 5, 10) if span <= 150 * power * m)

    def ends(self, system: str) -> tuple[float, float]:
        """Ends in the shop's unit, on whole steps inside the range."""
        step = self.step(system)
        low = float(show_value(self.low, self.kind, system)) / step
        high = float(show_value(self.high, self.kind, system)) / step
        return (round(math.ceil(low - 1e-9) * step, 9), round(math.floor(high + 1e-9) * step, 9))

    def at(self, share: float, system: str) -> float:
        """The step at this share of the way from low to high, in the shop's unit."""
        step, (low, high) = self.step(system), self.ends(system)
        return round(min(low + step * round((high - low) * share / step), high), 9)

    def beside(self, step: float, shown: float, system: str) -> bool:
        """Whether `shown` lies between two steps of the slider, and `step` is one of them."""
        size, (low, _) = self.step(system), self.ends(system)
        places = (shown - low) / size
        between = abs(places - round(places)) > 1e-6
        return between and abs(step - shown) <= 0.5 * size * (1 + 1e-6)

    def label(self, system: str) -> str:
        """Words and unit."""
        unit = show_unit(self.kind, system)
        return f"{self.words}, {unit}" if unit else self.words

    def si(self, shown: float, system: str) -> float:
        """The plain SI number of what the shop reads; as the first value is shown, that one."""
        if shown == self.shown(self.value, system):
            return self.value
        unit = getattr(KINDS[self.kind], system)[0]
        return float(to_si(Q(shown, unit) if unit else shown, self.kind, self.words))

    def shown(self, value: float, system: str) -> float:
        """What the shop reads, as its kind is shown: no coarser than the slider, a step finer."""
        step = max(0, -math.floor(math.log10(self.step(system)) + 1e-9))
        digits = max(step, min(step + 1, getattr(KINDS[self.kind], system)[1]))
        return round(float(show_value(value, self.kind, system)), digits)


@dataclass(frozen=True)
class Pick:
    """One choice from a list."""

    # dotted name on the build sheet, or a word of the lesson's own that goes to `Scene.work`
    path: str
    words: str  # what it is called
    options: tuple[str, ...]  # words on screen
    value: str  # the one that stands at first
    # (build, option) -> build, where setting one entry of the sheet is not enough
    take: Callable[[Build, str], Build] | None = None

    def put(self, build: Build, option: str) -> Build:
        """The build with this option on it; the lesson's own picks leave it as it is.

        Raises InputError if there is no such option, or the sheet cannot take it.
        """
        if option not in self.options:
            raise fail(self.words, option, f"one of {', '.join(self.options)}")
        if self.take is not None:
            return self.take(build, option)
        return build.vary({self.path: option}) if "." in self.path else build


@dataclass(frozen=True)
class Sentence:
    """The result in words."""

    word: str  # a short verdict in capitals
    words: str  # all there is to say
    good: bool | None = None  # good, bad or neither
    number: str = ""  # the one that counts
    line: str = ""  # what that number is, in a line; the first of the words if there is none

    def __post_init__(self) -> None:
        if not self.line:
            object.__setattr__(self, "line", f"{self.words.partition('. ')[0].rstrip('.')}.")

    @property
    def spoken(self) -> str:
        """What a screen reader says when it changes."""
        return f"{self.word}. {self.number} {self.line}".replace(".  ", ". ")

    def __str__(self) -> str:
        return f"{self.word}. {self.words}"


@dataclass(frozen=True)
class Guess:
    """What is asked before the chart shows it; the answer is read off the chart."""

    question: Callable[[Any], Note]  # result -> words
    # key of the curve that has the answer, hidden until then (of bars all but the first)
    curve: str
    # its "least" or "most" y (of bars along x, x), the number of its point, or "place" (x and y of
    # its point)
    of: str
    # of the answer, key of `sealkit.units.KINDS`, or result -> that
    kind: str | Callable[[Any], str]
    hides: tuple[str, ...] = ()  # keys of the other curves that would tell it
    # result -> why it is that, told with the answer; nothing where it is None
    why: Callable[[Any], Note] | None = None

    def unit(self, result: Any, system: str) -> str:
        """What the answer is counted in."""
        return show_unit(self.kind(result) if callable(self.kind) else self.kind, system)


@dataclass(frozen=True)
class Scene:
    """What one lesson's panel shows. All functions are pure; none knows a widget or plotly."""

    name: str  # short, for file names: "gas"
    words: str  # what the chart shows, in one sentence, for who cannot see it
    knobs: Callable[[Build], Sequence[Knob]]  # build -> the sliders, in the order they stand
    # (build with its sheet knobs and picks set, the lesson's own knobs (SI) and picks by path) ->
    # result. May raise InputError, which the panel shows
    work: Callable[[Build, Free], Any]
    # what is drawn (`sealkit.classroom.drawing.plot.Plot`); its layout is given the results at the
    # knobs' own values and at the ends of the knobs, and its ranges hold all of them
    plot: Drawn
    sentence: Callable[[Any, str], Sentence]  # (result, system) -> the result in words
    tables: Callable[[Any, str], Mapping[str, Rows]]  # (result, system) -> caption -> rows of text
    picks: Callable[[Build], Sequence[Pick]] = lambda _: ()  # build -> the choices
    scope: str = f"{WHOLE}, by the average joint"  # what the verdict judges
    fitted: str = ""  # what the whole joint has in place of what is judged
    # result -> (what it is, figure as `sealkit.words.figure_text` takes it, good or bad)
    tiles: Callable[[Any], Sequence[Tile]] = lambda _: ()
    # (result, system) -> SVG or HTML beside the controls; None for the moving section of the joint
    drawing: Callable[..., str] | None = None
    # where the drawing is SVG that runs with the crank, or stands `still`, the line below it
    runs: str = ""
    # result -> report of the whole joint, where the result has it; None has it worked out once the
    # controls rest
    joint: Callable[[Any], Report] | None = None
    # result -> why nothing is said yet of the whole joint; "" where there is something to say
    unready: Callable[[Any], str] = lambda _: ""
    play: str = ""  # path of the knob that the play button moves; "" for none
    # words on a button -> (build as set, result, system) -> caption -> rows of text
    buttons: Mapping[str, Callable[[Build, Any, str], Mapping[str, Rows]]] = field(
        default_factory=dict
    )
    # (result, system) -> columns of the file to save, names with units -> numbers; None takes x and
    # y of the traces
    data: Callable[[Any, str], Mapping[str, Any]] | None = None
    # (build as set, result) -> the build that is saved and reported, where the lesson's own knobs
    # change it too
    kept: Callable[[Build, Any], Build] = lambda build, _: build
    # words on a button -> as `work` with a function that is told how far it is
    # (`sealkit.classroom.panel.job.Gone`) and one that says True once it is to stop: long work,
    # whose result takes the place of the one shown
    more: Mapping[str, Callable[[Build, Free, Callable[[Any], None], Callable[[], bool]], Any]] = (
        field(default_factory=dict)
    )
    # as `work`, faster and less exact, for while the controls move, or with the rest worked out
    # when it is asked for; None takes `work`
    rough: Callable[[Build, Free], Any] | None = None
    # where `rough` is less exact, the same as `work` in pieces, for once the controls rest
    finer: Callable[[Build, Free, Callable[[Any], None], Callable[[], bool]], Any] | None = None
    # whether the layout gets the results at all ends of the knobs; a costly lesson says False and
    # gets the first result only
    ends: bool = True
    guess: Guess | None = None  # what the trainee guesses before the chart shows it
