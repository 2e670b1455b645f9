"""The live panel of a lesson, and the same without widgets.

>>> from sealkit.classroom import panels
>>> panels.panel("boosted-four")  # doctest: +SKIP
"""

from __future__ import annotations

import html
import os
from dataclasses import dataclass, field
from typing import Any

from sealkit import build as builds
from sealkit import report as reports
from sealkit.build import Build
from sealkit.classroom import charts

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
    """Figure, tables and verdict of a build, without widgets.

    `figure` is None where plotly is not installed.
    """

    report: reports.Report
    system: str
    figure: Any
    tables: dict[str, Any]
    sentence: str
    note: str = ""
    _own: dict[str, Any] = field(default_factory=dict, repr=False)

    def html(self) -> str:
        """Verdict, section and tables as HTML, without the figure."""
        note = f"<p>{html.escape(self.note)}</p>" if self.note else ""
        report, system = self.report, self.system
        return (
            f"{note}<p><strong>{html.escape(report.build.sheet.name)}</strong>. "
            f"{html.escape(self.sentence)}</p>"
            + charts.html_table("Pressures", charts.peak_rows(report, system))
            + charts.html_table("Loads on one bore", charts.load_rows(report, system))
            + charts.html_table("Limits, weakest first", charts.limit_rows(report, system))
        )

    def _ipython_display_(self) -> None:
        from IPython.display import HTML, display

        if self.figure is not None:
            display(self.figure)
        display(HTML(self.html()))

    def __str__(self) -> str:
        return self.report.text(self.system)


def static(
    build: Build | str | os.PathLike[str] | None = None,
    system: str | None = None,
    note: str = "",
) -> Static:
    """The same figure and tables as in the panel, for one build, without widgets.

    Parameters
    ----------
    build : a build, the name of a demo build, the path of a sheet, or nothing for the first demo
    system : "metric" or "inch"; None takes the sheet's own
    note : a sentence shown above
    """
    one = as_build(build)
    system = system or one.system
    report = reports.run(one)
    try:
        figure = charts.figure(report, system)
    except ImportError:
        figure = None
        note = f"{note} There is no chart, because plotly is not installed.".strip()
    return Static(
        report, system, figure, charts.tables(report, system), report.verdict(system), note
    )


def panel(build: Build | str | os.PathLike[str] | None = None) -> Any:
    """The live panel: boost, compression and tightening against what the joint stands.

    Parameters
    ----------
    build : a build, the name of a demo build, the path of a sheet, or nothing for the first demo

    Returns
    -------
    a widget to stand as the last line of a cell; where widgets are not installed, a `Static`
    """
    one = as_build(build)
    try:
        from sealkit.classroom.live import Panel
    except ImportError as err:
        name = getattr(err, "name", None) or "a package for widgets"
        return static(
            one,
            note=f"The sliders are not here, because {name} is not installed; this is the same "
            "figure and the same tables for one build.",
        )
    known = build if isinstance(build, str) and build in builds.demos() else None
    return Panel(one, known or (FIRST if build is None else None))
