"""The widgets of the live panel. Imported only when a panel is made.

A change only marks the panel as out of date. The first is worked out at once; while changes keep
coming, the next is due as long after the last as that took, on whatever the controls say by then,
so that fast dragging leaves no queue behind. The chart goes out first, words and tables right
behind it. A scene that is costly shows a rougher result while the controls move and its full one
once they rest.
"""

from __future__ import annotations

import asyncio
import csv
import html
import io
import re
import sys
import threading
import time
from collections.abc import Callable, Mapping
from itertools import zip_longest
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets as widgets
import numpy as np
import plotly.graph_objects as go
import traitlets
from IPython.display import HTML, display
from plotly.basedatatypes import Undefined
from plotly.offline import get_plotlyjs_version

from sealkit import build as builds
from sealkit import paper
from sealkit import report as reports
from sealkit.build import Build
from sealkit.classroom.drawing.joint_section import TURN, joint_section, lifts_most, moves
from sealkit.classroom.drawing.shown import html_table
from sealkit.classroom.panel import looks
from sealkit.classroom.panel.downloads import defused, link
from sealkit.classroom.panel.form import Form
from sealkit.classroom.panel.job import Background, Job
from sealkit.classroom.panel.scene import WHOLE, Knob, Scene, Sentence
from sealkit.classroom.panel.stage import Stage
from sealkit.errors import InputError
from sealkit.report.specification import Specification
from sealkit.units import show_unit
from sealkit.words import minus

OWN = "my own engine"
_GIVEN = "given"  # the build that the notebook hands over
_PAUSE = 0.04  # seconds between two pieces of work, at least
_BEHIND = 0.05  # seconds from a chart to its words, at least
_SHARE, _LONGEST = 4.0, 0.5  # words wait this many times what they took, seconds at most
_ONE = 1.5  # seconds without a change after which the next one is another
_REST = 0.3  # seconds without a change after which a rough result is made a full one
_FRAMES = 72  # of the play button over the whole slider
_FRAME = 150  # ms
_WORKING = "Whole joint: being worked out …"
_WIDE: Any = {"layout": {"width": "auto", "min_width": "0"}}
_NAMED: Any = {"style": {"description_width": "initial"}, **_WIDE}  # the whole name is shown


def _classed(box: Any, name: str) -> Any:
    """A box of this class of `panel.css`."""
    box.add_class(name)
    return box


_ASLEEP = (
    '<div class="sealkit-asleep"><b>This panel sleeps.</b> To wake it: menu <b>Run</b>, then '
    "<b>Run All Cells</b>.</div>"
)


def _beside(name: str) -> str:
    return (Path(__file__).parent / name).read_text(encoding="utf-8")


class _Helper(anywidget.AnyWidget):
    """What the browser has to do for a panel.

    It fits the figure to its column once that has a width (a figure drawn before its cell is shown
    does not learn it by itself), names slider handles and tells their value with its unit, speaks
    the result from one region that stays, keeps keys from the notebook's shortcuts, hides the line
    for a panel that sleeps, and brings what a button opened to
    the top (it is sent the class of that).
    """

    _esm = _beside("panel.js")
    _css = _beside("panel.css")
    names = traitlets.List(traitlets.Unicode()).tag(sync=True)
    units = traitlets.List(traitlets.Unicode()).tag(sync=True)
    told = traitlets.Unicode().tag(sync=True)
    made = traitlets.Int().tag(sync=True)
    narrow = traitlets.Bool(False).tag(sync=True)


class _Section(anywidget.AnyWidget):
    """The moving section of the joint, or at the crank angle `at` (degrees).

    While a slider moves it stands at the angle `most`, where there is most to see.
    """

    _esm = _beside("section.js")
    value = traitlets.Unicode().tag(sync=True)
    below = traitlets.Unicode().tag(sync=True)
    at = traitlets.Float(None, allow_none=True).tag(sync=True)
    most = traitlets.Float(15.0).tag(sync=True)
    turn = traitlets.Float(TURN).tag(sync=True)


def _figure_widget() -> Any:
    """`plotly.graph_objects.FigureWidget`, in a quarter of its time.

    It imports jsonschema, and that builds forty grammars for addresses with letters of all
    scripts, which a figure never asks for; without that package it leaves this one check out.
    """
    grammars = "rfc3987_syntax"
    if grammars in sys.modules:
        return go.FigureWidget
    sys.modules[grammars] = None  # type: ignore[assignment]  # as if it were not installed
    try:
        return go.FigureWidget
    finally:
        del sys.modules[grammars]


_FigureWidget: Any = _figure_widget()

# what plotly fills in by itself, it works out and tells with each drawing: nobody asks for it here
_BUNDLE = re.sub(
    r"(_send(?:TraceDeltas|LayoutDelta)\(\w+\)\{)", r"\1return;", str(_FigureWidget._esm)
)
_OF_PAGE = "exports=window.Plotly"
# plotly's script without the library in it, 0.1 MB of 5: that is the page's own (see `chart.js`)
SCRIPT = re.sub(
    r"\(\w+,(\w+)\)=>\{\(function\(.*return window\.Plotly=(\w+),\2\}\)\}",
    rf"(_,\1)=>{{\1.{_OF_PAGE}}}",
    _BUNDLE,
    count=1,
    flags=re.DOTALL,
)


class _Charts(_FigureWidget):
    """The charts; `drawn` counts how often a browser has made them (see `chart.js`).

    `script` wants this version of the `library` in the page; one without it asks for the `whole`.
    Charts are told whole too: a browser may lose what is sent to one that it is still making.
    """

    _esm = _beside("chart.js")
    script = traitlets.Unicode(SCRIPT).tag(sync=True)
    library = traitlets.Unicode(get_plotlyjs_version() if _OF_PAGE in SCRIPT else "").tag(sync=True)
    whole = traitlets.Bool(False).tag(sync=True)
    drawn = traitlets.Int().tag(sync=True)

    @traitlets.observe("whole")
    def _send_all(self, _: Any) -> None:
        self.script = _BUNDLE

    def __init__(self, traces: Any, layout: Any, config: Mapping[str, Any]) -> None:
        self._whole = False
        super().__init__(traces, layout)
        self._config = dict(config)
        self._whole = True
        self.open()

    def open(self) -> None:
        """Tell the browser, once there is all to tell."""
        if self._whole:
            super().open()


class _Guess(anywidget.AnyWidget):
    """A question in place of the verdict, answered on the chart; the browser does it all."""

    _esm = _beside("guess.js")
    question = traitlets.Unicode().tag(sync=True)
    why = traitlets.Unicode().tag(sync=True)
    curve = traitlets.Unicode().tag(sync=True)
    of = traitlets.Unicode().tag(sync=True)
    unit = traitlets.Unicode().tag(sync=True)
    hides = traitlets.Tuple().tag(sync=True)
    asking = traitlets.Bool(False).tag(sync=True)
    asked = traitlets.Int().tag(sync=True)


class _Row:
    """A slider with its number box on one line; the box carries the name."""

    def __init__(self) -> None:
        self.box = widgets.FloatText(continuous_update=False)
        self.slider = widgets.FloatSlider()
        self.made_for: tuple[float, float, float, bool] | None = None
        self.view = _classed(widgets.Box([self.box]), "sk-row")

    def renew(self, low: float, high: float, step: float, value: float, off: bool) -> None:
        """A new slider for other ends.

        A slider whose ends change under it sends a value of its own back from the browser.
        """
        self.slider.close()
        self.made_for = (low, high, step, off)
        self.slider = widgets.FloatSlider(
            value=value,
            min=low,
            max=high,
            step=step,
            disabled=off,
            readout=False,
            layout=_WIDE["layout"],
        )
        self.view.children = (self.box, self.slider)


class Panel(widgets.VBox):
    """A lesson's scene with its controls.

    Controls: `chooser`, `own` (a form), `picks` (path -> drop-down), `units`, `rows` (each
    `slider` and `box`), `play` (None where nothing plays), `reset`, `buttons` (words -> button),
    `more` (the same for long work) with `job`, `files`. Shown: `result`, `message`, `figure`,
    `drawing`, `tables` (caption -> HTML). `stage` holds the engine and `outcome` the last result
    that could be worked out; `computed` counts them.
    """

    def __init__(self, build: Build, scene: Scene, demo: str | None = None) -> None:
        self.scene = scene
        self.stage = Stage(scene, build)
        self.computed = 1
        self._quiet = False
        self._turn = threading.RLock()  # one thread at a time
        self._timer: asyncio.TimerHandle | None = None
        self._words: asyncio.TimerHandle | None = None
        self._full: asyncio.TimerHandle | None = None
        self._later: asyncio.TimerHandle | None = None
        self._whole = ""
        self._finer = Background()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._took = 0.0
        self._told, self._telling = 0.0, 0.0  # when words were last told, how long it took
        self._before: Any = None  # the result before the last change
        self._touched = -_ONE  # when a control was last changed
        self._shown: dict[str, Mapping[str, Any]] = {}  # what the charts have been sent
        self._ended = 0.0
        self._make(demo)
        self._dress()
        self._changed = False  # since the charts were made
        super().__init__(self._stack())
        self.add_class("sealkit-panel")

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """The panel, below a line for who opens the notebook without a kernel."""
        display(HTML(_ASLEEP))
        return super()._repr_mimebundle_(**kwargs)

    # ------------------------------------------------------------------ what stands there
    @property
    def outcome(self) -> Any:
        """The last result that could be worked out."""
        return self.stage.result

    @property
    def build(self) -> Build:
        """The engine with its picks, knobs as on the sheet."""
        return self.stage.build

    @property
    def knobs(self) -> tuple[Knob, ...]:
        """What the rows change."""
        return self.stage.knobs

    @property
    def system(self) -> str:
        """ "metric" or "inch"."""
        return str(self.units.value)

    # ------------------------------------------------------------------ making
    def _make(self, demo: str | None) -> None:
        names = [(builds.demo(n).sheet.name, n) for n in builds.demos()]
        self._given = self.build
        if demo is None:
            names.insert(0, (f"{self.build.sheet.name}, as given", _GIVEN))
        self.chooser = widgets.Dropdown(
            options=[*names, (OWN, OWN)], value=demo or _GIVEN, description="Engine", **_NAMED
        )
        self.own = Form(self.build.dumps())
        self.own.observe(self._on(self._use_sheet), "text")
        self.units = widgets.Dropdown(
            options=[("metric", "metric"), ("inch", "inch")],
            value=self.build.system,
            description="Units",
            **_NAMED,
        )
        self.picks: dict[str, Any] = {}
        self._picks = _classed(widgets.HBox(), "sk-picks")
        self.rows: list[_Row] = []
        self._rows = widgets.VBox()
        self.play: Any = None
        if self.scene.play:
            self.play = widgets.Play(
                min=0,
                max=_FRAMES,
                step=1,
                interval=_FRAME,
                description="Turn the crank",
                show_repeat=False,
                **_WIDE,
            )
            self.play.observe(self._on(self._play_on), "value")
        self.reset = _button("Back to the sheet's values", self._on(self._back))
        self.buttons = {w: _button(w, self._on(self._answer, w)) for w in self.scene.buttons}
        self.more = {w: _button(w, self._on(self._begin, w)) for w in self.scene.more}
        self.job = Job()
        self.files = _button("Make files to save", self._on(self._make_links))
        self.links = _classed(widgets.HTML(), "sk-links")
        self.message = widgets.HTML()
        self.result = widgets.HTML()
        self.helper = _Helper()
        self.guess = _Guess(asking=self.scene.guess is not None)
        self.again = _classed(_button("Guess first", self._on(self._ask_first)), "sk-again")
        config = {
            "displaylogo": False,
            "modeBarButtons": [["toImage"]],
            "toImageButtonOptions": {"format": "png", "scale": 2, "filename": self.scene.name},
            "responsive": True,
            "scrollZoom": False,
        }
        self.figure = _Charts(*self._picture(), config)
        self.figure.observe(self._on(self._drawn), "drawn")
        self.helper.observe(self._on(self._arrange), "narrow")
        self.tiles = widgets.HTML()
        still = self.scene.drawing is not None and not self.scene.runs
        self.drawing = widgets.HTML() if still else _Section(below=self.scene.runs)
        self.told = widgets.ToggleButton(description="In words and tables", **_WIDE)
        self.told.observe(self._on(self._open_words), "value")
        self.words = _classed(widgets.HTML(), "sk-words")
        self.tables: dict[str, Any] = {}
        self._tables = widgets.VBox()
        self._asked = _classed(widgets.HTML(), "sk-asked")

        self.chooser.observe(self._on(self._choose), "value")
        self.units.observe(self._on(self._dress), "value")

    def _stack(self) -> list[Any]:
        """The one layout of all lessons; `panel.css` says where what stands."""
        play = [self.play] if self.play is not None else []
        bar = _classed(widgets.HBox([self.chooser, self._picks, self.units]), "sk-bar")
        moved = _classed(widgets.HBox([*play, self.reset]), "sk-buttons")
        side = _classed(widgets.VBox([self._rows, moved, self.drawing]), "sk-side")
        main = _classed(widgets.VBox([self.helper, self.tiles, self.figure]), "sk-main")
        both = _classed(widgets.Box([side, main]), "sk-stage")
        guess = [] if self.scene.guess is None else [self.again]
        asking = [*guess, *self.buttons.values(), *self.more.values(), self.files, self.told]
        buttons = _classed(widgets.HBox(asking), "sk-buttons")
        job = [self.job] if self.more else []
        below = [buttons, *job, self.links, self._asked, self.words, self._tables]
        return [bar, self.own, self.guess, self.result, self.message, both, *below]

    # ------------------------------------------------------------------ what came from the user
    def _on(self, action: Callable[..., None], *given: Any) -> Callable[[Any], None]:
        """What a control calls; nothing happens where the panel itself sets it."""

        def unless_quiet() -> None:
            if not self._quiet:
                action(*given)

        return lambda _: self._guard(unless_quiet)

    def _guard(self, action: Callable[..., None], *given: Any) -> None:
        """Do it; what goes wrong is told in the panel and the last good picture stays."""
        with self._turn:  # JupyterLab gives widgets a thread of their own a moment late
            try:
                action(*given)
            except Exception as err:  # an error in a callback would vanish
                self._tell(err)

    def _choose(self) -> None:
        own = self.chooser.value == OWN
        self.own.layout.display = "" if own else "none"
        if own:
            self.own.lay_out()
        else:
            given = self.chooser.value == _GIVEN
            self._adopt(self._given if given else builds.demo(self.chooser.value))
            self._quietly(self.own, text=self.build.dumps())
            self.own.tell(())

    def _use_sheet(self) -> None:
        try:
            build = builds.loads(self.own.text)
            self._quietly(self.units, value=build.system)
            self._adopt(build)
            self.own.tell(())
        except InputError as err:
            self.own.tell(err.faults)
            right, name = ", ".join(self.own.wrong) or "the sheet", self.stage.sheet.sheet.name
            words = f"To put right in the form: {right}; the charts still show {name}."
            self._whole = ""
            self._state(Sentence("NOT WORKED OUT", words))
        finally:
            self.guess.asking = False  # who writes a sheet is not asked after every entry

    def _adopt(self, build: Build) -> None:
        """Take another build; if it cannot be worked out, nothing changes."""
        self.stage.adopt(build)
        self._before = None
        self._show_all()
        self.guess.asking = False
        self._ask_first()

    def _ask_first(self) -> None:
        """Hide the answer until the trainee has guessed it."""
        self.guess.asking = self.scene.guess is not None

    def _take_pick(self, path: str) -> None:
        """Another choice on the same engine; the sliders stay where they are."""
        before = self.stage.result
        try:
            self.stage.pick(path, self.picks[path].value)
        finally:
            self._quietly(self.picks[path], value=self.stage.picked[path])
        self.guess.asking = False
        self._before = before
        self._show_all()

    def _show_all(self) -> None:
        """The stage has worked out everything, in full: nothing is due any more."""
        self._drop()
        self.computed += 1
        self._dress()

    def _answer(self, words: str) -> None:
        """The tables behind a button."""
        rows = self.scene.buttons[words](self.stage.varied(), self.outcome, self.system)
        shown = "".join(html_table(c, r) for c, r in rows.items() if r)
        self._asked.value = f'<div class="sealkit-asked">{shown}</div>'
        self.helper.send("sk-asked")

    def _begin(self, words: str) -> None:
        """Long work behind a button, drawn as soon as it is there."""
        self.settle()
        self._start(self.job, self.scene.more[words], self._take_result)

    def _start(
        self, where: Background | Job, work: Callable[..., Any], take: Callable[[Any], None]
    ) -> None:
        """Long work on what the controls say now, its result taken once it is there."""
        build, free = self.stage.varied(), self.stage.free()
        where.start(
            lambda told, stop: work(build, free, told, stop),
            lambda result: self._guard(take, result),
            self._tell,
        )

    def _take_result(self, result: Any) -> None:
        self.stage.result = result
        self.computed += 1
        self._draw()

    def _play_on(self) -> None:
        """One frame on: a step of the slider it moves."""
        place = next(i for i, k in enumerate(self.knobs) if k.path == self.scene.play)
        share = self.play.value / _FRAMES
        self.rows[place].slider.value = self.knobs[place].at(share, self.system)

    def _take_slider(self, place: int) -> None:
        knob, row = self.knobs[place], self.rows[place]
        value = round(row.slider.value, 9)
        beside = knob.beside(value, self.stage.shown(knob, self.system), self.system)
        if beside or value == row.box.value:
            return  # the browser put the handle on its nearest step; nobody moved it
        self.stage.move(knob, knob.si(value, self.system))
        self._quietly(row.box, value=value)
        self._ask()

    def _take_box(self, place: int) -> None:
        row = self.rows[place]
        self.stage.take(self.knobs[place], row.box.value, self.system)
        self._quietly(row.slider, value=row.box.value)
        self._ask()

    def _back(self) -> None:
        # values of a slider may still be on their way from the browser, the first of them too: they
        # go to a closed slider
        for row in self.rows:
            row.made_for = None
        if self.stage.picked != {p.path: p.value for p in self.stage.picks}:
            self._adopt(self.stage.sheet)
            self.guess.asking = False
            return
        self.stage.back()
        self._set_rows()
        self.helper.made += 1
        self._before, self._touched = None, time.perf_counter()
        self._ask()

    # ------------------------------------------------------------------ working it out
    def _quietly(self, widget: Any, **values: Any) -> None:
        before, self._quiet = self._quiet, True
        try:
            for name, value in values.items():
                setattr(widget, name, value)
        finally:
            self._quiet = before

    def _ask(self) -> None:
        """Work out what the controls say: as soon as it is due, at once where no loop runs."""
        self.guess.asking = False
        now = time.perf_counter()
        if now - self._touched > _ONE:
            self._before = self.stage.result
        self._touched = now
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self.settle()
            return
        if self._loop is not loop:
            self._drop()
            self._loop = loop
        if self._full is not None:
            self._full.cancel()
            self._full = None
        self._finer.drop()
        if self._timer is not None:
            return  # work is due, and reads the newest values when it starts
        due = self._ended + max(_PAUSE, self._took)
        self._timer = loop.call_later(max(0.0, due - time.perf_counter()), self._step)

    def _drop(self) -> None:
        """Nothing is due any more."""
        for timer in (self._timer, self._words, self._full, self._later):
            if timer is not None:
                timer.cancel()
        self._timer = self._words = self._full = self._later = None
        self._finer.drop()

    @property
    def busy(self) -> bool:
        """Whether work or words are still due."""
        due = any(t is not None for t in (self._timer, self._words, self._full, self._later))
        return due or self._finer.running

    def settle(self) -> None:
        """Work out what the controls say now, in full, with all words."""
        self._drop()
        self._guard(lambda: self._take_result(self.stage.work()))

    def _step(self) -> None:
        """The chart of what the controls say now; words and the full result come later."""
        self._timer = None
        assert self._loop is not None
        try:
            self._guard(self._sketch)
        finally:
            if self.scene.finer is not None:
                self._full = self._loop.call_later(_REST, self._finish)

    def _sketch(self) -> None:
        assert self._loop is not None
        start = time.perf_counter()
        try:
            self.stage.work(rough=True)
        except Exception:
            if self._words is not None:  # what went wrong stays to be read
                self._words.cancel()
                self._words = None
            raise
        self.computed += 1
        self._redraw()
        self._clear()
        self._ended = time.perf_counter()
        if self._words is None:
            due = self._told + min(_SHARE * self._telling, _LONGEST) - self._ended
            self._words = self._loop.call_later(max(_BEHIND, due), self._tell_all)
        self._took = self._ended - start

    def _tell_all(self) -> None:
        """Words behind the chart; tables wait for a full result."""
        self._words = None
        start = time.perf_counter()
        self._guard(self._say if self.scene.finer is None else self._say_roughly)
        self._told = time.perf_counter()
        self._telling = self._told - start

    def _say_roughly(self) -> None:
        """Verdict and tiles of a rough result; what waits for the full one is marked."""
        self._whole = self._whole and _WORKING
        self.add_class("sk-working")
        self._say_result()

    def _finish(self) -> None:
        """The full result in place of a rough one; meanwhile the controls stay alive."""
        self._full = None
        assert self.scene.finer is not None
        self._start(self._finer, self.scene.finer, self._refine)

    def _refine(self, result: Any) -> None:
        self.stage.result = result
        self._redraw()
        self._say()

    # ------------------------------------------------------------------ showing
    def _set_picks(self) -> None:
        """One drop-down for each pick of the scene."""
        wanted = {p.path: p for p in self.stage.picks}
        if list(wanted) != list(self.picks):
            self.picks = {}
            for path, pick in wanted.items():
                box = widgets.Dropdown(
                    options=pick.options,
                    value=self.stage.picked[path],
                    description=pick.words,
                    **_NAMED,
                )
                box.observe(self._on(self._take_pick, path), "value")
                self.picks[path] = box
            self._picks.children = tuple(self.picks.values())
        for path, pick in wanted.items():
            box = self.picks[path]
            if tuple(box.options) != pick.options:
                self._quietly(box, options=pick.options)
            self._quietly(box, value=self.stage.picked[path])

    def _set_rows(self) -> None:
        """Put labels, ends and values on the rows."""
        while len(self.rows) < len(self.knobs):
            row = _Row()
            row.box.observe(self._on(self._take_box, len(self.rows)), "value")
            self.rows.append(row)
        for row in self.rows[len(self.knobs) :]:
            row.slider.close()
        del self.rows[len(self.knobs) :]
        for place, (knob, row) in enumerate(zip(self.knobs, self.rows, strict=True)):
            low, high = knob.ends(self.system)
            now = self.stage.shown(knob, self.system)
            step = knob.step(self.system)
            off = not knob.path
            value = round(min(max(now, low), high), 9)
            if (low, high, step, off) == row.made_for:
                self._quietly(row.slider, value=value)
            else:
                row.renew(low, high, step, value, off)
                row.slider.observe(self._on(self._take_slider, place), "value")
            self._quietly(
                row.box,
                description=knob.label(self.system),
                value=knob.shown(self.stage.now(knob), self.system),
                step=step,
                disabled=off,
            )
        views = tuple(row.view for row in self.rows)
        if self._rows.children != views:
            self._rows.children = views

    def _dress(self) -> None:
        """Everything anew: another build, another pick or other units."""
        self.own.layout.display = "" if self.chooser.value == OWN else "none"
        self._set_picks()
        self._set_rows()
        self.helper.names = [knob.label(self.system) for knob in self.knobs]
        self.helper.units = [show_unit(knob.kind, self.system) for knob in self.knobs]
        self.helper.made += 1
        if self.computed > 1 or self.system != self._drawn_in:
            self._draw_anew()
        self._draw()
        self.guess.asked += 1

    def _draw_anew(self) -> None:
        """All traces and the layout."""
        traces, layout = self._picture()
        self.figure.data, self._shown = (), {}
        self.figure.add_traces(traces)
        with self.figure.batch_update():
            self.figure.update_layout(layout, overwrite=True)

    def _drawn(self) -> None:
        """A browser has made the charts as they were at first; what came since was lost on it."""
        if self._changed:
            self._draw_anew()
            self._redraw()

    def _picture(self) -> tuple[Any, Any]:
        """Traces and layout of the engine and units that stand."""
        self._drawn_in = self.system
        plot = self.scene.plot
        traces = [*plot.grey(), *plot.traces(self.outcome, self.system)]
        return traces, plot.layout(self.stage.found, self.system, self.helper.narrow)

    def _arrange(self) -> None:
        """Charts beside or below each other, as the panel is wide."""
        self._changed = True
        with self.figure.batch_update():
            self.figure.update_layout(self._picture()[1])
        self.helper.made += 1

    def _draw(self) -> None:
        """The newest result, values changed in place."""
        self._redraw()
        self._clear()
        self._say(at_once=True)

    def _say_result(self) -> None:
        self._state(self.scene.sentence(self.outcome, self.system))
        self.tiles.value = looks.tiles(self.scene.tiles(self.outcome), self.system)

    def _state(self, sentence: Sentence) -> None:
        """The result, shown and spoken."""
        self.result.value = looks.verdict(sentence, self.scene.scope, self._whole)
        self.helper.told = sentence.spoken

    def _clear(self) -> None:
        """What was told of the result before goes, and work on it ends."""
        self.job.drop()
        self.message.value = ""
        self.links.value = ""
        self._asked.value = ""

    def _say(self, at_once: bool = False) -> None:
        """The newest result in words, tiles, drawing and, where they are wanted, tables."""
        result, system = self.outcome, self.system
        self._rest(at_once)
        self._say_result()
        self._set_question()
        self.remove_class("sk-working")
        if self.scene.drawing is not None:
            drawn = self.scene.drawing(result, system)
            still = f'<div class="sealkit-drawing">{drawn}</div>'
            self.drawing.value = drawn if self.scene.runs else still
        self._tell_more()

    def _set_question(self) -> None:
        """What is asked of the engine that stands."""
        if (guess := self.scene.guess) is None:
            return
        with self.guess.hold_sync():
            self.guess.curve, self.guess.of, self.guess.hides = guess.curve, guess.of, guess.hides
            self.guess.unit = guess.unit(self.outcome, self.system)
            self.guess.question = guess.question(self.outcome).text(self.system)
            self.guess.why = guess.why(self.outcome).text(self.system) if guess.why else ""

    def _open_words(self) -> None:
        self._tell_more()
        if self.told.value:
            self.helper.send("sk-words")

    def _tell_more(self) -> None:
        """Words and tables, as long as they are wanted."""
        sentence = self.scene.sentence(self.outcome, self.system)
        self.words.value = f"<p>{html.escape(minus(str(sentence)))}</p>" if self.told.value else ""
        tables = self.scene.tables(self.outcome, self.system) if self.told.value else {}
        found = {caption: rows for caption, rows in tables.items() if rows}
        if list(found) != list(self.tables):
            self.tables = {caption: widgets.HTML() for caption in found}
            self._tables.children = tuple(self.tables.values())
        for caption, rows in found.items():
            self.tables[caption].value = html_table(caption, rows)

    def _rest(self, at_once: bool) -> None:
        """The whole joint: soon where the result has its report, else once controls rest."""
        if self.scene.joint is not None:
            self._take_joint(self.scene.joint(self.outcome))
        elif at_once or self._loop is None:
            self._work_joint()
        else:
            self._whole = self._whole and _WORKING
            if self._later is not None:
                self._later.cancel()
            self._later = self._loop.call_later(_REST, self._guard, self._end_rest)

    def _end_rest(self) -> None:
        self._later = None
        self._work_joint()
        self._say_result()

    def _work_joint(self) -> None:
        try:
            self._take_joint(
                reports.kept_report(self.scene.kept(self.stage.varied(), self.outcome))
            )
        except InputError:
            self._whole = "Whole joint: cannot be worked out here."

    def _take_joint(self, report: Any) -> None:
        """What the whole joint says, and its section."""
        why = self.scene.unready(self.outcome)
        told = f"Whole joint: {why}." if why else looks.whole(report, self.scene.fitted)
        self._whole = "" if self.scene.scope.startswith(WHOLE) else told
        if self.scene.drawing is None:
            with self.drawing.hold_sync():
                self.drawing.value = joint_section(report, self.system)
                self.drawing.below = f"{moves(report)}."
                self.drawing.most = lifts_most(report)
                if self.scene.play:
                    now = self.stage.now(self.stage.knob(self.scene.play))
                    self.drawing.at = float(np.degrees(now))

    def _redraw(self) -> None:
        """What changes of the traces, in one message.

        A property that one of them gets is sent for each that has it: else it would lose its own.
        """
        self._changed = True
        plot = self.scene.plot
        ghosts = plot.ghosts(self._before, self.outcome, self.system)
        every = {**plot.values(self.outcome, self.system), **ghosts}
        moved = {k: _moved(v, self._shown.get(k, {})) for k, v in every.items()}
        values = {k: v for k, v in every.items() if moved[k]} or every
        self._shown |= values
        names = set().union(*moved.values()) or set().union(*values.values())
        style: dict[str, list[Any]] = {name: [] for name in sorted(names)}
        places = [i for i, trace in enumerate(self.figure.data) if trace.meta in values]
        for trace in (self.figure.data[i] for i in places):
            new = values[trace.meta]
            for name, column in style.items():
                kept = trace[name] if name in trace else Undefined  # noqa: SIM401 (not a dict)
                column.append(_light(new[name]) if name in new else kept)
        self.figure.plotly_update(style, None, places)

    def _tell(self, err: Exception) -> None:
        """What went wrong, in the panel."""
        faults = err.faults if isinstance(err, InputError) else ()
        lines = [str(f) for f in faults] or [f"{type(err).__name__}: {err}"]
        told = "<br>".join(html.escape(line) for line in lines)
        self.message.value = (
            '<div role="alert" aria-live="assertive" style="line-height:1.4"><div class="sk-fault">'
            "<b>Not worked out; the picture below is the last one that was.</b><br>"
            f"{told}</div></div>"
        )

    # ------------------------------------------------------------------ saving
    def _make_links(self) -> None:
        """Sheet, numbers and report as links that carry their own content.

        They go with the next change, so that nothing old is saved.
        """
        build = self.scene.kept(self.stage.varied(), self.outcome)
        name = re.sub(r"[^a-z0-9]+", "-", build.sheet.name.lower()).strip("-") or "build"
        wished = isinstance(self.outcome, Specification)
        printed = paper.paper_of(self.outcome if wished else reports.run(build))
        page = paper.page(printed, self.system)
        links = [
            link(f"{name}.toml", build.dumps(), "Save the build sheet"),
            link(f"{name}-report.html", page, "Save the report page"),
            link(f"{name}-{self.scene.name}.csv", self.numbers(), "Save the numbers of the charts"),
            "The camera above the charts saves them as a picture.",
        ]
        self.links.value = "<br>".join(links)
        self.helper.send("sk-links")

    def numbers(self) -> str:
        """The numbers of the charts as CSV, one column each."""
        if self.scene.data is not None:
            columns = dict(self.scene.data(self.outcome, self.system))
        else:
            columns = {}
            for trace in self.figure.data[len(self.scene.plot.grey()) :]:
                if "line" in trace and trace.line.width == 0:
                    continue  # only shades
                for one, other in (("x", "y"), ("theta", "r")):
                    if one in trace and other in trace and trace[other] is not None:
                        columns[f"{trace.name}: {one}"] = trace[one]
                        columns[f"{trace.name}: {other}"] = trace[other]
                words = (
                    [re.sub("<[^>]+>", " ", t) for t in trace.text or ()] if "text" in trace else []
                )
                if len(words) > 1 and all(words):
                    columns[f"{trace.name}: words"] = words
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(columns)
        for row in zip_longest(*columns.values(), fillvalue=""):
            writer.writerow(defused(v) if isinstance(v, str) else f"{float(v):.7g}" for v in row)
        return out.getvalue()


def _moved(new: Mapping[str, Any], old: Mapping[str, Any]) -> set[str]:
    """Of the values of a trace those that it has not yet."""
    return {k for k, v in new.items() if k not in old or not np.array_equal(v, old[k])}


def _light(value: Any) -> Any:
    """Numbers in single precision: half the bytes on the wire."""
    if isinstance(value, np.ndarray) and value.dtype == np.float64:
        return value.astype(np.float32)
    return value


def _button(words: str, pressed: Callable[[Any], None]) -> widgets.Button:
    made = widgets.Button(description=words, **_WIDE)
    made.on_click(pressed)
    return made
