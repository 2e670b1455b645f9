"""Inspection of a used gasket and its faces on the engine of a report, and what failed first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import analysis, tables
from sealkit import report as reports
from sealkit.build import Build
from sealkit.errors import fail
from sealkit.report import Report, ranking, workshop
from sealkit.report.faces import span_of
from sealkit.sealing import constructions, surfaces, teardown
from sealkit.sealing.gaskets import Zone
from sealkit.units import from_si
from sealkit.words import note

ROUGH = 0.8e-6  # m, Ra at first; invented
BOW = 50e-6  # m, out of flat at first; invented
SET = 20e-6  # m, seal thinner than new at first; invented


@dataclass(frozen=True)
class Inspection:
    """A report, the faces and the used gasket as found (plain SI)."""

    report: Report  # of the build
    face: str  # "aluminium" or "iron"
    # rough, bow, lost: Ra, out of flat over the span, seal thinner than new [m]
    rough: float
    bow: float
    lost: float
    span: float  # length of the face over the bores [m]
    inside: float  # what is left of the bow within one bore [m]
    seen: teardown.Findings  # outcome of the inspection
    # finish, flat: what the texts want of the roughness, and allow out of flat
    finish: tuple[surfaces.SurfaceText, ...]
    flat: tuple[surfaces.SurfaceText, ...]
    # springback of a new seal and of this one, and the lift to follow [m]
    springback: tuple[float, float, float]

    @property
    def order(self) -> list[tuple[float, str]]:
        """(absolute peak pressure, what gives) of the limits that are reached at all."""
        ambient = self.report.gas.ambient
        reached = (g for g in self.report.order if np.isfinite(g.pressure))
        return [(g.pressure + ambient, g.limit.short) for g in reached]


@dataclass(frozen=True)
class Again:
    """A construction on an engine, every part taken out sound: can it be used again?"""

    construction: str  # its name
    springback: float | None  # of its combustion seal [m]; None without one
    seen: teardown.Findings  # outcome of the inspection


@dataclass(frozen=True)
class Worn:
    """A seal that has set so far that part of its springback is left (plain SI, m)."""

    seal: str  # its name
    closed: float  # by how much it was squeezed when tightened
    fresh: float  # springback of a new one from there
    lost: float  # by how much it is thinner than new
    left: float  # springback left
    lift: float  # of the head, to follow
    seen: teardown.Findings  # outcome of the inspection


def face_of(build: Build) -> str:
    """What the head's face is made of, as the texts on finish tell faces apart."""
    return surfaces.face_of(build.head.material)


def seal_of(report: Report) -> Zone | None:
    """The combustion seal that is judged: the one with the highest seating load."""
    lines = [z for z in report.joint.gasket.seals if z.per == "length"]
    return max(lines, key=lambda z: z.seating) if lines else None


def _lift(report: Report) -> float:
    """Lift at the seal at its largest over the cycle, m."""
    return max(float(np.max(report.over_angle.seal_lift)), 0.0)


def _look(report: Report, face: str, findings: Mapping[str, Any]) -> teardown.Findings:
    """Inspection of the used gasket and face of a report.

    The load on the seal is the one as tightened with the low end of the preload.
    """
    build, seal = report.build, seal_of(report)
    name = build.gasket.construction
    own = bool(build.gasket.zones) or name not in constructions.names()
    load = None if seal is None else float(report.case.first.seated_loads[seal.name][0])
    return teardown.inspect.si(
        analysis.whole_gasket(build) if own else name,
        findings,
        line_load=load if load and load > 0 else None,
        pressure=report.gas.design_gauge,
        lift=_lift(report),
        face=face,
        span=span_of(build),
        bore=build.gasket.seal_diameter,
        cylinders=build.bores_per_head,
        zone=None if seal is None or own else seal.name,
    )


def _with_set(report: Report, lost: float) -> teardown.Findings:
    """Inspection of a gasket whose seal is thinner than new by `lost` (m), all else sound."""
    return _look(report, face_of(report.build), {"permanent_set": from_si(lost, "lift")})


def item(seen: teardown.Findings, key: str) -> teardown.Finding:
    """One finding of an inspection, by its key."""
    return next(i for i in seen.items if i.key == key)


def decides_on_face(seen: teardown.Findings) -> teardown.Finding:
    """What decides on the face: the graver of roughness and bow."""
    of_face = (item(seen, key) for key in ("roughness", "warp"))
    return max(of_face, key=lambda i: (i.action != "reuse", i.disputed))


def fitted_once(seen: teardown.Findings) -> teardown.Finding | None:
    """The rule of the trade that replaces even a sound gasket, if there is one."""
    return next((i for i in seen.items if i.rule and i.action == "replace"), None)


def find(
    build: Build, face: str | None = None, rough: float = ROUGH, bow: float = BOW, lost: float = SET
) -> Inspection:
    """The used gasket of a build with these findings (plain SI).

    A seal cannot be thinner than new by more than nearly all of its own thickness.
    """
    face, report, span = face or face_of(build), reports.kept_report(build), span_of(build)
    seal = seal_of(report)
    if seal is not None and seal.free_thickness > 0:
        lost = min(lost, 0.95 * seal.free_thickness)
    inside = float(surfaces.local_warp.si(bow, span, build.gasket.seal_diameter))
    findings = {
        "roughness": from_si(rough, "roughness"),
        "warp": from_si(bow, "lift"),
        "permanent_set": from_si(lost, "lift"),
    }
    seen = _look(report, face, findings)
    finish, flat, thinner = (item(seen, key) for key in findings)
    back = float(thinner.springback_new), float(thinner.springback), _lift(report)
    told = (seen, finish.texts, flat.texts, back)
    return Inspection(report, face, rough, bow, lost, span, inside, *told)


def used_again(build: Build) -> list[Again]:
    """Every construction on this engine, taken out sound."""
    out = []
    for name in constructions.names():
        report = reports.kept_report(ranking.with_construction(build, name))
        seen = _with_set(report, 0.0)
        back = float(item(seen, "permanent_set").springback)
        out.append(Again(name, None if seal_of(report) is None else back, seen))
    return out


def worn(build: Build, share: float) -> Worn:
    """The seal of a build that has set so far that this share of its springback is left.

    Raises InputError for a gasket without a seal round the bore.
    """
    report = reports.kept_report(build)
    seal = seal_of(report)
    if seal is None:
        raise fail("gasket", build.gasket.construction, "a gasket with a seal round the bore")
    sound = _with_set(report, 0.0)
    closed, fresh = float(sound.closure), float(item(sound, "permanent_set").springback_new)
    lost = closed - share * fresh
    seen = _with_set(report, lost)
    left = float(item(seen, "permanent_set").springback)
    return Worn(seal.name, closed, fresh, lost, left, _lift(report), seen)


def agreed(texts: Iterable[surfaces.SurfaceText]) -> str:
    """What the texts that give a figure say of a face: "within", "below", "above" or "mixed".

    One that finds it above its range is enough for "above".
    """
    verdicts = {t.verdict for t in texts if t.verdict}
    return "above" if "above" in verdicts else verdicts.pop() if len(verdicts) == 1 else "mixed"


def leaks_at(report: Report) -> float:
    """Absolute pressure at which gas first passes a combustion seal."""
    return report.gas.ambient + min(
        (g.pressure for g in report.order if g.limit.check == "residual"), default=np.inf
    )


def fastener_rows(report: Report) -> list[dict[str, Any]]:
    """Whether the fasteners of a report can be used again: what, value (a figure), status."""
    f, c, case = report.build.fasteners, report.clamp, report.case
    limit = tables.load("strain_limits")["permanent stretch while tightening"]
    made = workshop.trust(report.build, c.strength.status)
    strained = [r for r in report.limits if r.key in ("tightening", "fastener")]
    used = max((float(r.demand) / float(r.capacity) for r in strained), default=1.0)
    let_go = note(
        "{stretch} ({share} of {length})",
        stretch=(case.stretch_limit, "lift"),
        share=(float(limit["share"]), "fraction"),
        length=(c.yielding_length, "length"),
    )
    rows = [
        ("tightened by", f.tightening, report.build.sheet.status),
        ("of its strength used, high preload", (used, "fraction", 0), made),
        ("what it does to the fastener", _AFTER[bool(c.yields_on_purpose)], made),
        (
            "stretch past yield (tightening, heat and gas)",
            (float(case.permanent_stretch), "lift"),
            made,
        ),
        ("longer than new that is let go", let_go, limit["status"]),
        (
            "a shop's own rule",
            "throw it out at any lengthening, necking or rough thread",
            "common practice, no source",
        ),
    ]
    return [{"what": what, "value": value, "status": status} for what, value, status in rows]


_AFTER = {
    True: "past yield: used once, by its own data",
    False: "stays elastic: measure it against a new one",
}
