"""The widgets of the live panel. Imported only when a panel is made.

Every change only marks the panel as out of date; the work is done a moment later on whatever the
controls say by then, so that fast dragging leaves no queue behind.
"""

from __future__ import annotations

import asyncio
import base64
import html
import itertools
import re
import time
from collections.abc import Callable
from typing import Any

import anywidget
import ipywidgets as widgets
import numpy as np
import plotly.graph_objects as go
import traitlets

from sealkit import build as builds
from sealkit import choice
from sealkit import report as reports
from sealkit.build import Build
from sealkit.classroom import charts
from sealkit.classroom.scene import Knob
from sealkit.errors import Fault, InputError
from sealkit.sealing import constructions
from sealkit.units import from_si, show, show_unit, show_value

OWN = "my own engine"
_PAUSE = 0.04  # seconds between a change and the work on it, at least


def knobs(build: Build) -> tuple[Knob, Knob, Knob]:
    """Boost, compression ratio and what the fastener is tightened by, with their ranges."""
    boost, ratio, f = build.charge.boost, build.compression_ratio, build.fasteners
    known = dict(builds.fields())

    def made(path: str, words: str, kind: str, value: float, low: float, high: float) -> Knob:
        least, most = known[path].limits
        return Knob(path, words, kind, value, max(low, least), min(high, most))

    path, word, kind, value = {
        "torque": ("torque", f"{f.kind.capitalize()} torque", "torque", f.torque),
        "torque and angle": ("angle", "Angle after snug torque", "angle", f.angle),
        "stretch": ("stretch", f"{f.kind.capitalize()} stretch", "lift", f.stretch),
        "yield": ("", "Tightened to yield: nothing to set", "number", 1.0),
    }[f.tightening]
    value = float(value or 0.0)
    return (
        made("charge.boost", "Boost", "gauge pressure", boost, 0.0, max(0.7e5, 1.5 * boost)),
        made(
            "engine.compression_ratio",
            "Compression ratio",
            "number",
            ratio,
            max(ratio - 2.0, 4.0),
            ratio + 2.0,
        ),
        made(f"fasteners.{path}", word, kind, value, 0.65 * value, 1.3 * value)
        if path
        else Knob("", word, kind, value, 0.0, 2.0),
    )


def _live(role: str, body: str) -> str:
    """A line that a screen reader speaks when it changes."""
    manner = "assertive" if role == "alert" else "polite"
    return f'<div role="{role}" aria-live="{manner}" style="line-height:1.4">{body}</div>'


class _Helper(anywidget.AnyWidget):
    """Fits the figure to its column once that has a width, and names the slider handles.

    A figure drawn before its cell is shown does not learn its width by itself, and a slider
    handle has no name for a screen reader.
    """

    _esm = """
    export default {
      render({ model, el }) {
        el.style.width = "100%";
        let width = -1;
        const name = () => {
          const panel = el.closest(".sealkit-panel");
          const handles = panel ? panel.querySelectorAll(".noUi-handle") : [];
          model.get("names").forEach((text, i) => {
            if (handles[i]) handles[i].setAttribute("aria-label", text);
          });
        };
        const watch = new ResizeObserver(() => {
          name();
          if (el.clientWidth > 0 && el.clientWidth !== width) {
            width = el.clientWidth;
            window.dispatchEvent(new Event("resize"));
          }
        });
        watch.observe(el);
        // new sliders take a moment to be there
        const later = () => [50, 300, 1500].forEach((wait) => setTimeout(name, wait));
        model.on("change:made", later);
        later();
        return () => { watch.disconnect(); model.off("change:made", later); };
      }
    };
    """
    names = traitlets.List(traitlets.Unicode()).tag(sync=True)
    made = traitlets.Int().tag(sync=True)


class _Row:
    """A slider with its number box; the box carries the name."""

    def __init__(self) -> None:
        self.box = widgets.FloatText(
            continuous_update=False,
            style={"description_width": "initial"},
            layout=widgets.Layout(width="auto", min_width="0"),
        )
        self.slider = widgets.FloatSlider()
        self.made_for: tuple[float, float, float, bool] | None = None
        self.view = widgets.VBox([self.box])

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
            layout=widgets.Layout(width="auto", min_width="0", margin="0 10px"),
        )
        self.view.children = (self.box, self.slider)


class Panel(widgets.VBox):
    """The whole joint on three sliders.

    Controls: `chooser`, `sheet` with `use`, `gasket`, `units`, three `rows` (each `slider` and
    `box`), `reset`, `compare`, `files`. Shown: `result`, `message`, `figure`, `drawing`, `tables`.
    `report` is the last report that could be worked out, `computed` counts them.
    """

    def __init__(self, build: Build, demo: str | None = None) -> None:
        self.report: reports.Report
        self.build = build
        self.changed: dict[str, float] = {}
        self.computed = 0
        self._quiet = False
        self._timer: asyncio.TimerHandle | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._took = 0.0
        self._ranges: dict[str, tuple[float, float]] = {}
        self._make(demo)
        self._adopt(build)
        super().__init__(self._stack())
        self.add_class("sealkit-panel")

    # ------------------------------------------------------------------ making
    def _make(self, demo: str | None) -> None:
        wide = widgets.Layout(width="auto", min_width="0")
        style = {"description_width": "initial"}
        names = [(builds.demo(n).sheet.name, n) for n in builds.demos()]
        self.chooser = widgets.Dropdown(
            options=[*names, (OWN, OWN)],
            value=demo or OWN,
            description="Engine",
            style=style,
            layout=wide,
        )
        self.sheet = widgets.Textarea(
            value=self.build.dumps(),
            description="Build sheet",
            rows=14,
            style=style,
            layout=wide,
        )
        self.use = widgets.Button(description="Work out this sheet", layout=wide)
        self.faults = widgets.HTML()
        self.own = widgets.VBox([self.sheet, self.use, self.faults])
        self.units = widgets.Dropdown(
            options=[("metric", "metric"), ("inch", "inch")],
            value=self.build.system,
            description="Units",
            style=style,
            layout=wide,
        )
        self.gasket = widgets.Dropdown(
            options=constructions.names(), description="Gasket", style=style, layout=wide
        )
        self.compare = widgets.Button(description="Compare all gaskets on this engine", layout=wide)
        self.rows = (_Row(), _Row(), _Row())
        self.reset = widgets.Button(description="Back to the sheet's values", layout=wide)
        self.files = widgets.Button(description="Make sheet and report to save", layout=wide)
        self.links = widgets.HTML()
        self.message = widgets.HTML()
        self.result = widgets.HTML()
        self.figure = go.FigureWidget()
        self.figure._config = {"displayModeBar": False, "responsive": True, "scrollZoom": False}
        self.helper = _Helper()
        self.drawing = widgets.HTML()
        self.tables = {name: widgets.HTML() for name in ("peaks", "loads", "limits", "gaskets")}

        self.chooser.observe(self._on_choose, "value")
        self.gasket.observe(self._on_gasket, "value")
        self.compare.on_click(lambda _: self._guard(self._compare_gaskets))
        self.use.on_click(lambda _: self._guard(self._use_sheet))
        self.units.observe(self._on_units, "value")
        for place, row in enumerate(self.rows):
            row.box.observe(self._on_box(place), "value")
        self.reset.on_click(lambda _: self._guard(self._back))
        self.files.on_click(lambda _: self._guard(self._make_links))

    def _stack(self) -> list[Any]:
        controls = widgets.VBox(
            [
                self.chooser,
                self.own,
                self.gasket,
                self.units,
                *(row.view for row in self.rows),
                self.reset,
                self.compare,
                self.tables["loads"],
                self.drawing,
                self.files,
                self.links,
            ],
            layout=widgets.Layout(flex="5 1 260px", min_width="0", max_width="100%"),
        )
        shown = widgets.VBox(
            [self.helper, self.figure, self.tables["peaks"]],
            layout=widgets.Layout(flex="8 1 260px", min_width="0", max_width="100%"),
        )
        both = widgets.HBox(
            [controls, shown], layout=widgets.Layout(flex_flow="row wrap", align_items="flex-start")
        )
        # widgets in the size of the charts' lettering, to be read from the back of the room
        size = widgets.HTML("<style>.sealkit-panel{--jp-widgets-font-size:15px}</style>")
        size.layout = widgets.Layout(height="0", margin="0")
        return [
            size,
            self.result,
            self.message,
            both,
            self.tables["gaskets"],
            self.tables["limits"],
        ]

    # ------------------------------------------------------------------ what came from the user
    def _guard(self, action: Callable[[], None]) -> None:
        """Do it; what goes wrong is told in the panel and the last good picture stays."""
        try:
            action()
        except InputError as err:
            self._tell(err.faults)
        except Exception as err:  # an error in a callback would vanish
            self._tell((), f"{type(err).__name__}: {err}")

    def _on_choose(self, _: Any) -> None:
        self._guard(self._choose)

    def _choose(self) -> None:
        own = self.chooser.value == OWN
        self.own.layout.display = "" if own else "none"
        self.faults.value = ""
        if not own:
            self._adopt(builds.demo(self.chooser.value))
            self.sheet.value = self.build.dumps()

    def _use_sheet(self) -> None:
        try:
            build = builds.loads(self.sheet.value)
            self._quietly(self.units, value=build.system)
            self._adopt(build)
        except InputError as err:
            self.result.value = _verdict(
                "NOT WORKED OUT",
                f"The sheet has faults; the charts still show {self.report.build.sheet.name}.",
            )
            number = len(err.faults)
            lines = "".join(f"<li>{html.escape(str(f))}</li>" for f in err.faults)
            self.faults.value = _live(
                "alert", f"<b>{number} to put right on the sheet:</b><ul>{lines}</ul>"
            )
            raise
        self.faults.value = _live("status", "This sheet is worked out.")

    def _on_gasket(self, _: Any) -> None:
        if not self._quiet:
            self._guard(self._take_gasket)

    def _take_gasket(self) -> None:
        """Another construction on the same engine; the sliders stay where they are."""
        kept = self.changed
        try:
            self._adopt(choice.with_construction(self.build, self.gasket.value))
        finally:
            self._show_gasket()
        if kept:
            self.changed = kept
            self._set_rows()
            self._ask()

    def _show_gasket(self) -> None:
        """The construction of the build in the chooser; one of its own is added to the list."""
        name = self.build.gasket.construction
        known = constructions.names()
        self._quietly(self.gasket, options=known if name in known else [*known, name])
        self._quietly(self.gasket, value=name)

    def _compare_gaskets(self) -> None:
        """All constructions on the engine as the controls have it, best first."""
        ranked = choice.rank(self.varied())
        self.tables["gaskets"].value = charts.html_table(
            "Gaskets on this engine, best first", charts.gasket_rows(ranked, self.system)
        )

    def _on_units(self, _: Any) -> None:
        if not self._quiet:
            self._guard(self._dress)

    def _on_slider(self, place: int) -> Callable[[Any], None]:
        def changed(_: Any) -> None:
            if self._quiet:
                return
            knob, row = self.knobs[place], self.rows[place]
            value = round(row.slider.value, 9)
            if self._is_step_of(value, place):
                return  # the browser put the handle on its nearest step; nobody moved it
            self.changed[knob.path] = knob.si(value, self.system)
            self._quietly(row.box, value=value)
            self._ask()

        return changed

    def _is_step_of(self, value: float, place: int) -> bool:
        """Whether this is a step next to the present value, and that one lies between steps."""
        knob = self.knobs[place]
        now = self.changed.get(knob.path, knob.value)
        shown = float(show_value(now, knob.kind, self.system))
        step, (low, _) = knob.step(self.system), knob.ends(self.system)
        places = (shown - low) / step
        between = abs(places - round(places)) > 1e-6
        return between and abs(value - shown) <= 0.5 * step * (1 + 1e-6)

    def _on_box(self, place: int) -> Callable[[Any], None]:
        def changed(_: Any) -> None:
            if self._quiet:
                return
            self._guard(lambda: self._take_box(place))

        return changed

    def _take_box(self, place: int) -> None:
        knob, row = self.knobs[place], self.rows[place]
        low, high = knob.ends(self.system)
        value = row.box.value
        if not low <= value <= high:
            unit = show_unit(knob.kind, self.system)
            wanted = f"from {low:g} to {high:g} {unit}".strip()
            raise InputError(Fault(knob.words, f"{value:g} {unit}".strip(), wanted))
        self.changed[knob.path] = knob.si(value, self.system)
        self._quietly(row.slider, value=value)
        self._ask()

    def _back(self) -> None:
        self.changed = {}
        self._set_rows()
        self._ask()

    # ------------------------------------------------------------------ working it out
    @property
    def system(self) -> str:
        """ "metric" or "inch"."""
        return str(self.units.value)

    def _quietly(self, widget: Any, **values: Any) -> None:
        self._quiet = True
        try:
            for name, value in values.items():
                setattr(widget, name, value)
        finally:
            self._quiet = False

    def _ask(self) -> None:
        """Work out what the controls say: soon where a loop runs, at once where none does."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self.settle()
            return
        if self._timer is not None and self._loop is loop:
            return  # work is due, and reads the newest values when it starts
        self._loop = loop
        self._timer = loop.call_later(max(_PAUSE, self._took), self.settle)

    def settle(self) -> None:
        """Work out what the controls say now."""
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        self._guard(self._work)

    def varied(self) -> Build:
        """The build as the controls have it."""
        kinds = {k.path: k.kind for k in self.knobs}
        return self.build.vary({p: from_si(v, kinds[p]) for p, v in self.changed.items()})

    def _work(self) -> None:
        start = time.perf_counter()
        report = reports.run(self.varied())
        self.computed += 1
        self.report = report
        self._draw()
        self._took = time.perf_counter() - start

    def _adopt(self, build: Build) -> None:
        """Take another build; if it cannot be worked out, nothing changes."""
        report = reports.run(build)
        three = knobs(build)
        self.computed += 1
        found = [report]
        free = [k for k in three if k.path]
        for corner in itertools.product(*((k.low, k.high) for k in free)):
            wish = {k.path: from_si(v, k.kind) for k, v in zip(free, corner, strict=True)}
            try:
                found.append(reports.run(build.vary(wish)))
            except InputError:
                continue  # a corner the gas tables do not reach
        self.build, self.report, self.knobs, self.changed = build, report, three, {}
        self._ranges = charts.ranges_si(found)
        self.own.layout.display = "" if self.chooser.value == OWN else "none"
        self._show_gasket()
        self._dress()

    # ------------------------------------------------------------------ showing
    def _set_rows(self) -> None:
        """Put labels, ends and values on the three rows."""
        for place, (knob, row) in enumerate(zip(self.knobs, self.rows, strict=True)):
            low, high = knob.ends(self.system)
            now = float(show_value(self.changed.get(knob.path, knob.value), knob.kind, self.system))
            step = knob.step(self.system)
            off = not knob.path
            value = round(min(max(now, low), high), 9)
            if (low, high, step, off) == row.made_for:
                self._quietly(row.slider, value=value)
            else:
                row.renew(low, high, step, value, off)
                row.slider.observe(self._on_slider(place), "value")
            self._quietly(
                row.box,
                description=knob.label(self.system),
                value=knob.shown(self.changed.get(knob.path, knob.value), self.system),
                step=step,
                disabled=off,
            )

    def _dress(self) -> None:
        """Everything anew: another build or other units."""
        self._set_rows()
        self.helper.names = [knob.label(self.system) for knob in self.knobs]
        self.helper.made += 1
        traces, layout = charts.parts(self.report, self.system, self._ranges)
        if not self.figure.data:
            self.figure.add_traces(traces)
        with self.figure.batch_update():
            self.figure.update_layout(layout, overwrite=True)
        self._draw()

    def _draw(self) -> None:
        """The newest report, values changed in place."""
        report, system = self.report, self.system
        values = charts.lines(report, system)
        with self.figure.batch_update():
            for trace in self.figure.data:
                trace.y = np.asarray(values[trace.meta], dtype=np.float32)
        word = "HOLDS" if report.holds else "DOES NOT HOLD"
        mark = "✓" if report.holds else "✗"
        words = f"{_rest(report.verdict(system))} {_left(report, system)}"
        self.result.value = _verdict(word, words, mark)
        self.message.value = ""
        self.links.value = ""
        self.tables["gaskets"].value = ""
        self.drawing.value = charts.cross_section(report, system)
        self.tables["peaks"].value = charts.html_table(
            "Pressures", charts.peak_rows(report, system)
        )
        self.tables["loads"].value = charts.html_table(
            "Loads on one bore at peak pressure", charts.load_rows(report, system)
        )
        self.tables["limits"].value = charts.html_table(
            "Limits, weakest first", charts.limit_rows(report, system)
        )

    def _tell(self, faults: tuple[Fault, ...], other: str = "") -> None:
        lines = [*(str(f) for f in faults), *([other] if other else [])]
        self.message.value = _live(
            "alert",
            '<div style="border:2px dashed currentColor;padding:8px 12px;font-size:16px">'
            "<b>Not worked out; the picture below is the last one that was.</b><br>"
            + "<br>".join(html.escape(x) for x in lines)
            + "</div>",
        )

    def _make_links(self) -> None:
        """Sheet and report as links that carry their own content; gone at the next change."""
        name = re.sub(r"[^a-z0-9]+", "-", self.report.build.sheet.name.lower()).strip("-")
        name = name or "build"

        def link(file: str, kind: str, text: str, words: str) -> str:
            data = base64.b64encode(text.encode()).decode()
            return (
                f'<a download="{file}" href="data:{kind};charset=utf-8;base64,{data}" '
                f'style="font-size:16px;text-decoration:underline">{words}</a>'
            )

        self.links.value = (
            link(f"{name}.toml", "text/plain", self.report.build.dumps(), "Save the build sheet")
            + "<br>"
            + link(
                f"{name}-report.html",
                "text/html",
                self.report.page(self.system),
                "Save the report page",
            )
        )


def _verdict(word: str, words: str, mark: str = "") -> str:
    """The result line: the verdict in bold, then the sentence."""
    return _live(
        "status",
        '<div style="border:2px solid currentColor;padding:8px 12px;font-size:16px">'
        f'<span aria-hidden="true">{mark} </span><b>{word}</b>. {html.escape(words)}</div>',
    )


def _left(report: reports.Report, system: str) -> str:
    """Pressure and clamp in one sentence."""
    low = charts.load_rows(report, system)[0]
    peak = show(report.gas.sizing_peak, "pressure", system)
    return (
        f"Sized on {peak}: the gas pushes with {low['gas load']} and leaves {low['clamp left']} of "
        f"{low['clamp']} clamp at low preload."
    )


def _rest(verdict: str) -> str:
    """The verdict without its first word, which stands in bold before it."""
    for head in ("Holds. ", "Does not hold: "):
        if verdict.startswith(head):
            rest = verdict[len(head) :]
            return rest[:1].upper() + rest[1:]
    return verdict
