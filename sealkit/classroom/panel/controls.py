"""Knobs and picks that several lessons share, with their ranges from the build sheet."""

from __future__ import annotations

from sealkit import build as builds
from sealkit.analysis.wrench import set_by
from sealkit.build import Build
from sealkit.classroom.panel.scene import Knob, Pick
from sealkit.report import ranking
from sealkit.sealing import constructions


def sheet(path: str, words: str, value: float, low: float, high: float) -> Knob:
    """A knob on an entry of the sheet, its ends kept inside what the sheet allows (plain SI)."""
    entry = dict(builds.fields())[path]
    least, most = entry.limits
    return Knob(path, words, entry.kind, value, max(low, least), min(high, most))


def boost(build: Build) -> Knob:
    """Gauge boost, from none to three quarters more than on the sheet: to where a joint fails."""
    now = build.charge.boost
    return sheet("charge.boost", "Boost", now, 0.0, max(0.7e5, 1.75 * now))


def ratio(build: Build) -> Knob:
    """Compression ratio, two up and two down."""
    now = build.compression_ratio
    low = max(now - 2.0, 4.0)
    return sheet("engine.compression_ratio", "Compression ratio", now, low, now + 2.0)


def tightening(build: Build) -> Knob:
    """What the fasteners are tightened by: torque, angle or stretch; nothing to set at yield."""
    f = build.fasteners
    found = set_by(build)
    if found is None:
        return Knob("", "Tightened to yield: nothing to set", "number", 1.0, 0.0, 2.0)
    path, _, now = found
    what = path.rpartition(".")[2]
    words = "Angle after snug torque" if what == "angle" else f"{f.kind.capitalize()} {what}"
    return sheet(path, words, now, 0.65 * now, 1.3 * now)


def gasket(build: Build) -> Pick:
    """The gasket construction; one of the sheet's own is added to the list."""
    name, known = build.gasket.construction, tuple(constructions.names())
    return Pick(
        "gasket.construction",
        "Gasket",
        known if name in known else (*known, name),
        name,
        ranking.with_construction,
    )
