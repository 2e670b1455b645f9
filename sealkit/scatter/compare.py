"""Studies side by side: ways of tightening, and values of a field."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from typing import Any

from sealkit.analysis.wrench import retightened
from sealkit.build import Build
from sealkit.errors import fail
from sealkit.scatter.inputs import usual
from sealkit.scatter.probability import Probability
from sealkit.scatter.result import Scatter
from sealkit.scatter.sheet import run

METHODS = ("torque", "torque and angle", "stretch")
_SNUG = 0.5  # of the torque, before an angle (invented): beads lie nearly flat by then


by_method = functools.partial(retightened, snug_share=_SNUG)
"""The same build tightened another way to the same mean preload."""


def compare_methods(build: Build, count: int = 4_096) -> dict[str, Scatter]:
    """The same mean preload reached in several ways: every limit, spread of the preload.

    Returns Scatter by method; ``watched["preload"]`` has mean and standard deviation.
    """
    sheets = {m: by_method(build, m) for m in METHODS}
    return {m: run(b, usual(b, "parts"), count) for m, b in sheets.items()}


def sweep(
    build: Build, path: str, values: Sequence[Any], count: int = 2_048
) -> list[Mapping[str, Probability]]:
    """Probability of gas leak, liquid leak, damage and any limit over a field, such as the torque.

    All points use the same draws, so that the curve shows the field and not the draw. Returns the
    groups of `run`, for each value. Values are as written on the sheet, such as ``["100 N*m", "120
    N*m"]``.
    """
    if not len(values):
        raise fail("values", "nothing", f"values of {path}, as on the sheet")
    varied = [build.vary({path: value}) for value in values]
    return [run(b, None, count, known={}).groups for b in varied]
