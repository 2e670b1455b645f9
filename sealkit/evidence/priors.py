"""What is not known of a build before anything is measured: each as a normal spread."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import build as sheets
from sealkit import tables
from sealkit.build import Build
from sealkit.build.evidence import deviation_of
from sealkit.build.fields import FIELDS
from sealkit.errors import fail
from sealkit.report.band import alternatives, taken
from sealkit.scatter import usual
from sealkit.scatter.distributions import Normal, Triangular

_OF_WRENCH = ("fasteners.friction_thread", "fasteners.preload_factor")
_OTHERS = ("heat.coolant_temperature", "gasket.compressed_thickness")


@dataclass(frozen=True)
class Parameter:
    """Something that is not known, in its own standard deviations: z is 0 as the report takes it.

    Parameters
    ----------
    name : in words
    middle, step : plain SI, by field of the sheet; one draw serves all its fields
    status : of its spread
    """

    name: str
    middle: dict[str, float]
    step: dict[str, float]
    status: str

    def numbers(self, z: Any) -> dict[str, Any]:
        """The fields at z, an array or a number, within what the sheet allows."""
        return {
            path: np.clip(middle + z * self.step[path], *FIELDS[path].limits)
            for path, middle in self.middle.items()
        }

    @property
    def limits(self) -> tuple[float, float]:
        """Least and largest z that the sheet allows in each of its fields."""
        ends = [
            [(end - self.middle[path]) / step for end in FIELDS[path].limits]
            for path, step in self.step.items()
        ]
        low, high = np.transpose(ends)
        return float(max(low)), float(min(high))


def parameters(build: Build, paths: Collection[str] | None = None) -> list[Parameter]:
    """What is not known of a build, those that move one of these fields; all if none are named.

    The ends of the tables ``alternatives``, ``spread`` and ``unsure`` count as two standard
    deviations round what the report takes; of two ends the farther.
    """
    out: list[Parameter] = []

    def add(name: str, middle: dict[str, float], step: dict[str, float], status: str) -> None:
        old = {path for one in out for path in one.middle}
        wanted = paths is None or not set(paths).isdisjoint(middle)
        if wanted and all(x > 0.0 for x in step.values()) and old.isdisjoint(middle):
            out.append(Parameter(name, middle, step, status))

    table, known = tables.load("alternatives"), taken(build)
    ends: dict[str, list[float]] = {}
    for _, path, value in alternatives(build):
        ends.setdefault(path, []).append(value)
    for path, values in ends.items():
        now = float(known[path])
        wide = max(abs(value - now) for value in values) / 2.0
        add(str(table[path]["what"]), {path: now}, {path: wide}, str(table[path]["status"]))
    for one in usual(build, "parts"):
        if not set(one.spreads).isdisjoint((*_OF_WRENCH, *_OTHERS)):
            laws = {path: _spread(law) for path, law in one.spreads.items()}
            middle, step = ({path: x[i] for path, x in laws.items()} for i in (0, 1))
            add(one.name, middle, step, one.status)
    rows = tables.load("unsure")
    for path in rows:
        now = sheets.held(build, path)
        now = rows[path]["middle"] if now is None else now
        if now is None:
            continue
        wide = deviation_of(str(rows[path]["half_width"]), now, FIELDS[path].kind, path)
        add(str(rows[path]["what"]), {path: now}, {path: wide}, str(rows[path]["status"]))
    return out


def _spread(law: Any) -> tuple[float, float]:
    """Middle of a law, and a quarter of what 95 % of all builds lie in."""
    if not isinstance(law, Normal | Triangular):
        raise fail("spread", type(law).__name__, "a spread round a number")
    low, high = law.at(np.array([0.025, 0.975]))
    middle = law.mean if isinstance(law, Normal) else law.likely
    return float(middle), float(high - low) / 4.0


def at(build: Build, every: list[Parameter], z: Any) -> Build:
    """The build with its parameters at z, one number each."""
    return build.vary_si(
        {k: v for p, x in zip(every, z, strict=True) for k, v in p.numbers(x).items()}
    )
