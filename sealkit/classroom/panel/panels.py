"""The live panel of a lesson, and the same without widgets.

>>> from sealkit.classroom.lessons.gas import SCENE
>>> from sealkit.classroom.panel import panels
>>> panels.panel("boosted-four", SCENE)  # doctest: +SKIP
"""

from __future__ import annotations

import html
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sealkit import build as builds
from sealkit.build import Build
from sealkit.classroom.drawing.joint_section import section_picture
from sealkit.classroom.drawing.shown import html_table, plain_table
from sealkit.classroom.panel.scene import Rows, Scene, Sentence
from sealkit.classroom.panel.stage import Stage
from sealkit.report import kept_report

FIRST = "boosted-four"


def as_build(build: Build | str | os.PathLike[str] | None) -> Build:
    """A build from a build, the name of a demo, a file, or nothing (the first demo)."""
    if isinstance(build, Build):
        return build
    if build is None:
        return builds.demo(FIRST)
    if isinstance(build, str) and build in builds.demos():
        return builds.demo(build)
    return builds.load(build)


@dataclass(frozen=True)
class Static:
    """Figure, drawing, tables and result of a scene on one engine, without widgets.

    `figure` is None where plotly is not installed; `result` is what the scene worked out.
    """

    build: Build
    result: Any
    system: str
    figure: Any
    drawing: str
    tables: dict[str, Rows]
    sentence: Sentence
    note: str = ""

    def html(self) -> str:
        """Result, drawing and tables as HTML, without the figure."""
        note = f"<p>{html.escape(self.note)}</p>" if self.note else ""
        return (
            f"{note}<p><strong>{html.escape(self.build.sheet.name)}</strong>. "
            f"{html.escape(str(self.sentence))}</p>{self.drawing}"
            + "".join(html_table(caption, rows) for caption, rows in self.tables.items())
        )

    def _ipython_display_(self) -> None:
        from IPython.display import HTML, display

        if self.figure is not None:
            # plotly's own way asks for nbformat, which a kernel need not have
            drawn = json.loads(self.figure.to_json())
            display({"application/vnd.plotly.v1+json": drawn, "text/plain": str(self)}, raw=True)
        display(HTML(self.html()))

    def __str__(self) -> str:
        tables = [f"{caption}\n{plain_table(rows)}" for caption, rows in self.tables.items()]
        return "\n\n".join([f"{self.build.sheet.name}. {self.sentence}", *tables])


def static(
    build: Build | str | os.PathLike[str] | None,
    scene: Scene,
    settings: Mapping[str, Any] | None = None,
    system: str | None = None,
    note: str = "",
) -> Static:
    """The same figure and tables as in the panel, for one engine, without widgets.

    Raises InputError for a sheet or a setting that does not fit.

    Parameters
    ----------
    settings : controls of the panel by their words, such as {"Boost": "1.5 bar gauge"}
    system : "metric" or "inch"; None takes the sheet's own
    """
    stage = Stage(scene, as_build(build))
    if settings:
        stage.put(settings)
    result = stage.result
    one = scene.kept(stage.varied(), result)
    system = system or one.system
    try:
        figure = _figure(stage, system)
    except ImportError:
        figure = None
        note = f"{note} There is no chart, because plotly is not installed.".strip()
    tables = {c: rows for c, rows in scene.tables(result, system).items() if rows}
    return Static(
        one,
        result,
        system,
        figure,
        _drawing(scene, one, result, system),
        tables,
        scene.sentence(result, system),
        note,
    )


def _drawing(scene: Scene, build: Build, result: Any, system: str) -> str:
    if scene.drawing is not None:
        return scene.drawing(result, system, **({"still": True} if scene.runs else {}))
    report = kept_report(build) if scene.joint is None else scene.joint(result)
    return section_picture(report, system).html


def _figure(stage: Stage, system: str) -> Any:
    import plotly.graph_objects as go

    scene, result = stage.scene, stage.result
    return go.Figure(scene.plot.traces(result, system), scene.plot.layout(stage.found, system))


def panel(build: Build | str | os.PathLike[str] | None, scene: Scene) -> Any:
    """The live panel of a lesson.

    Returns a widget to stand as the last line of a cell; where widgets are not installed, a
    `Static`. Raises InputError for a sheet that does not fit.
    """
    one = as_build(build)
    try:
        from sealkit.classroom.panel.live import Panel
    except ImportError as err:
        name = getattr(err, "name", None) or "a package for widgets"
        return static(
            one,
            scene,
            note=f"The sliders are not here, because {name} is not installed; this is the same "
            "figure and the same tables for one build.",
        )
    return Panel(one, scene, next((n for n in builds.demos() if builds.demo(n) == one), None))
