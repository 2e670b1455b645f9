"""Inspection of a used gasket and its faces on the engine of a report, and what failed first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import analysis, tables
from sealkit import report as reports
from sealkit.analysis.margins import Failure
from sealkit.build import Build
from sealkit.report import Report
from sealkit.sealing import constructions, surfaces, teardown
from sealkit.sealing.gaskets import Zone
from sealkit.units import from_si, show

Rows = list[dict[str, str]]
ROUGH = 0.8e-6  # m, Ra at first; invented
BOW = 50e-6  # m, out of flat at first; invented
SET = 20e-6  # m, seal thinner than new at first; invented


@dataclass(frozen=True)
class Inspection:
    """A report, the faces and the used gasket as found, and what the texts want.

    Parameters
    ----------
    report : of the build
    face : "aluminium" or "iron"
    rough, bow, lost : Ra, out of flat over the span, seal thinner than new, m
    span : length of the face over the bores, m
    inside : what is left of the bow within one bore, m
    seen : outcome of the inspection
    finish, flat : what the texts want of the face
    """

    report: Report
    face: str
    rough: float
    bow: float
    lost: float
    span: float
    inside: float
    seen: teardown.Findings
    finish: tuple[surfaces.SurfaceText, ...]
    flat: tuple[surfaces.SurfaceText, ...]


def face_of(build: Build) -> str:
    """What the head's face is made of, as the texts on finish tell faces apart."""
    return surfaces.face_of(build.head.material)


def span_of(build: Build) -> float:
    """Length of the face over the bores of one head, as the report takes it, m."""
    return build.bores_per_head * 1.15 * build.engine.bore


def seal_of(report: Report) -> Zone | None:
    """The combustion seal that is judged: the one with the highest seating load."""
    lines = [z for z in report.joint.gasket.seals if z.per == "length"]
    return max(lines, key=lambda z: z.seating) if lines else None


def look(
    report: Report, face: str, findings: Mapping[str, Any], system: str = "metric"
) -> teardown.Findings:
    """Inspection of the used gasket and face of a report.

    The load on the seal is the one as tightened with the low end of the preload.
    """
    build, seal = report.build, seal_of(report)
    name = build.gasket.construction
    own = bool(build.gasket.zones) or name not in constructions.names()
    load = None if seal is None else float(report.case.first.seated_loads[seal.name][0])
    out: teardown.Findings = teardown.inspect.si(
        analysis.whole_gasket(build) if own else name,
        findings,
        line_load=load if load and load > 0 else None,
        pressure=report.gas.design_peak - report.gas.ambient,
        lift=max(float(np.max(report.over_angle.seal_lift)), 0.0),
        face=face,
        span=span_of(build),
        bore=build.gasket.seal_diameter,
        cylinders=build.bores_per_head,
        zone=None if seal is None or own else seal.name,
        system=system,
    )
    return out


def seen_with_set(report: Report, lost: float, system: str = "metric") -> teardown.Findings:
    """Inspection of a gasket whose seal is thinner than new by `lost` (m), all else sound."""
    findings = {"permanent_set": from_si(lost, "lift")}
    return look(report, face_of(report.build), findings, system)


def item(seen: teardown.Findings, key: str) -> teardown.Finding:
    """One finding of an inspection, by its key."""
    return next(i for i in seen.items if i.key == key)


def find(
    build: Build,
    face: str | None = None,
    rough: float = ROUGH,
    bow: float = BOW,
    lost: float = SET,
) -> Inspection:
    """The used gasket of a build with these findings (plain SI)."""
    face = face or face_of(build)
    report = reports.run(build)
    name, span = build.gasket.construction, span_of(build)
    known = name in constructions.names()
    seal = seal_of(report)
    most = 0.95 * seal.free_thickness if seal is not None and seal.free_thickness > 0 else lost
    lost = min(lost, most)
    findings = {
        "roughness": from_si(rough, "roughness"),
        "warp": from_si(bow, "lift"),
        "permanent_set": from_si(lost, "lift"),
    }
    finish = surfaces.finish_wanted.si(name, face, rough) if known else ()
    flat = (
        surfaces.flatness_wanted.si(name, span, build.bores_per_head, False, bow) if known else ()
    )
    return Inspection(
        report=report,
        face=face,
        rough=rough,
        bow=bow,
        lost=lost,
        span=span,
        inside=float(surfaces.local_warp.si(bow, span, build.gasket.seal_diameter)),
        seen=look(report, face, findings),
        finish=finish,
        flat=flat,
    )


_SHORT = {
    "residual": "gas passes the seal",
    "springback": "seal no longer follows",
    "lift-off": "head lifts off",
    "blow-out": "{part} blown out",
    "fastener": "fasteners past proof",
    "threads": "threads strip",
    "bearing": "fasteners sink in",
    "seating": "{part} never seats",
    "crush": "{part} crushed",
    "tightening": "fastener yields on the wrench",
    "permanent stretch": "fastener stretched too far",
}


def short(failure: Failure) -> str:
    """What fails, in a few words."""
    limit = failure.limit
    return _SHORT.get(limit.check, str(limit.title)).format(part=limit.part)


def order(found: Inspection) -> list[tuple[float, str]]:
    """(absolute peak pressure, what gives) of the limits that are reached at all."""
    ambient = found.report.gas.ambient
    return [(g.pressure + ambient, short(g)) for g in found.report.order if np.isfinite(g.pressure)]


def springback(found: Inspection) -> tuple[float, float, float]:
    """Springback of a new seal and of this one, and the lift to follow, m."""
    seal = item(found.seen, "permanent_set")
    lift = max(float(np.max(found.report.over_angle.seal_lift)), 0.0)
    return float(seal.springback_new), float(seal.springback), lift


def leaks_at(report: Report) -> float:
    """Absolute pressure at which gas first passes a combustion seal."""
    return report.gas.ambient + min(
        (g.pressure for g in report.order if g.limit.check == "residual"), default=np.inf
    )


def fastener_rows(report: Report, system: str) -> Rows:
    """Whether the fasteners of a report can be used again."""
    f, c = report.build.fasteners, report.clamp
    limit = tables.load("strain_limits")["permanent stretch while tightening"]
    own = report.build.sheet.status
    made = tables.weakest(
        "computed", own if own in tables.STATUSES else "from memory", c.strength.status
    )
    after = "past yield: used once, by its own data" if c.yields_on_purpose else (
        "stays elastic: measure it against a new one"
    )  # fmt: skip
    strained = [r for r in report.limits if r.key in ("tightening", "fastener")]
    used = max((float(r.demand) / float(r.capacity) for r in strained), default=1.0)
    return [
        {
            "what": "tightened by",
            "value": f.tightening,
            "status": report.build.sheet.status,
        },
        {
            "what": "of its strength used, high preload",
            "value": show(used, "fraction", system, 0),
            "status": made,
        },
        {"what": "what it does to the fastener", "value": after, "status": made},
        {
            "what": "stretch past yield (tightening, heat and gas)",
            "value": show(report.case.permanent_stretch, "lift", system),
            "status": made,
        },
        {
            "what": "longer than new that is let go",
            "value": f"{show(report.case.stretch_limit, 'lift', system)} "
            f"({show(float(limit['share']), 'fraction', system)} of "
            f"{show(c.free_length, 'length', system)})",
            "status": limit["status"],
        },
        {
            "what": "a shop's own rule",
            "value": "throw it out at any lengthening, necking or rough thread",
            "status": "common practice, no source",
        },
    ]
