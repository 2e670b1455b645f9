"""What every benchmark shares: a ratio with its limit, and a clock.

A module ``bench_<name>.py`` beside this one offers ``rows() -> list[Ratio]``; the command
``python -m tests.benchmarks`` finds it by its name. A module that wants a library which is not
there raises `Skipped`. Ratios are made of times taken in one run; processor time is used where one
process works alone, so that other work on the machine does not tilt them.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from typing import Any

import numpy as np

from sealkit.build import Build


class Skipped(Exception):
    """A benchmark that cannot run here, with the reason."""


@dataclass(frozen=True)
class Ratio:
    """One ratio of two times (or sizes).

    Parameters
    ----------
    name : what over what, in words
    ratio : measured
    limit : that the ratio must not pass
    least : True if the ratio must reach the limit, False if it must stay under it
    note : the times behind it
    """

    name: str
    ratio: float
    limit: float
    least: bool = False
    note: str = ""

    @property
    def ok(self) -> bool:
        """Whether the limit is kept."""
        return self.ratio >= self.limit if self.least else self.ratio <= self.limit

    def line(self) -> str:
        """One line of the table."""
        sign = ">=" if self.least else "<="
        mark = "ok" if self.ok else "NOT OK"
        return f"{self.name:<58} {self.ratio:8.2f}  {sign} {self.limit:<6g} {mark:<6}  {self.note}"


def cpu_time(run: Callable[[], Any], repeat: int) -> tuple[float, Any]:
    """Median processor time of one call, s, and the last result; once before to warm up."""
    out = run()
    times = []
    for _ in range(repeat):
        start = time.process_time()
        out = run()
        times.append(time.process_time() - start)
    return median(times), out


def of_others(call: Callable[[Build], Any], sheet: Build, count: int) -> Callable[[], Any]:
    """The call on a build not seen before each time, so that nothing kept of another one helps."""
    bores = sheet.engine.bore * (1.0 + 1e-6 * np.arange(1, count + 2))
    others = iter([sheet.vary_si({"engine.bore": float(bore)}) for bore in bores])
    return lambda: call(next(others))


def show(rows: list[Ratio]) -> None:
    """Print the rows of one module, as when it is run by itself."""
    for row in rows:
        print(row.line())
