"""Lesson 10, teardown: reading a used gasket, reuse, what gave first; panel, picture, questions."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import report as reports
from sealkit import tables
from sealkit.analysis import chain
from sealkit.analysis.margins import Failure
from sealkit.build import Build
from sealkit.classroom.drawing import charts, draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.homework.answers import Pitfall, Question
from sealkit.classroom.homework.pitfalls import with_pitfalls
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons.lesson import Exercises, Shown, folded
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence, Values
from sealkit.errors import fail
from sealkit.report import Report
from sealkit.sealing import constructions, surfaces
from sealkit.sealing.gaskets import Zone
from sealkit.units import KINDS, from_si, show, show_unit, show_value

CHECKS = {
    "sheet-tests": ["F36-compressibility", "F36-recovery", "F38-relaxation"],
    "angle-stretch": ["A1-stretch", "A1-angle", "A3-bolt"],
    "indentation": ["I1-meyer", "T300-A"],
}
ROUGH = 0.8e-6  # m, Ra at first; invented
BOW = 50e-6  # m, out of flat at first; invented
SET = 20e-6  # m, seal thinner than new at first; invented
# round figures of the exercises, m; all invented
_SMOOTH = {"metric": 0.2e-6, "inch": 10 * 0.0254e-6}  # Ra of a polished face
_STEP = {"metric": 100e-6, "inch": 4 * 0.0254e-3}  # bow, and lengthening of a fastener
_SHOWN = 6  # of the order of failure
_TEXTS = 5  # rows of texts on a chart


@dataclass(frozen=True)
class Found:
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
    seen: surfaces.Findings
    finish: tuple[surfaces.SurfaceText, ...]
    flat: tuple[surfaces.SurfaceText, ...]


# --------------------------------------------------------------------------- knobs and work
def _knobs(build: Build) -> Sequence[Knob]:
    return (
        controls.boost(build),
        Knob("rough", "Roughness Ra", "roughness", ROUGH, 0.1e-6, 3.5e-6),
        Knob("bow", "Out of flat", "lift", BOW, 0.0, 250e-6),
        Knob("lost", "Seal thinner than new", "lift", SET, 0.0, 500e-6),
    )


def face_of(build: Build) -> str:
    """What the head's face is made of, as the texts on finish tell faces apart."""
    return "iron" if "iron" in build.head.material else "aluminium"


def _picks(build: Build) -> Sequence[Pick]:
    return controls.gasket(build), Pick("face", "Face", surfaces.FACES, face_of(build))


def span_of(build: Build) -> float:
    """Length of the face over the bores of one head, as the report takes it, m."""
    return build.bores_per_head * 1.15 * build.engine.bore


def seal_of(report: Report) -> Zone | None:
    """The combustion seal that is judged: the one with the highest seating load."""
    lines = [z for z in report.joint.gasket.seals if z.per == "length"]
    return max(lines, key=lambda z: z.seating) if lines else None


def look(
    report: Report, face: str, findings: Mapping[str, Any], system: str = "metric"
) -> surfaces.Findings:
    """Inspection of the used gasket and face of a report.

    The load on the seal is the one as tightened with the low end of the preload.
    """
    build, seal = report.build, seal_of(report)
    name = build.gasket.construction
    own = bool(build.gasket.zones) or name not in constructions.names()
    load = None if seal is None else float(report.case.first.seated_loads[seal.name][0])
    out: surfaces.Findings = surfaces.inspect.si(
        chain.whole_gasket(build) if own else name,
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


def _work(build: Build, free: Free) -> Found:
    return find(
        build, str(free["face"]), float(free["rough"]), float(free["bow"]), float(free["lost"])
    )


def find(
    build: Build,
    face: str | None = None,
    rough: float = ROUGH,
    bow: float = BOW,
    lost: float = SET,
) -> Found:
    """What the panel shows with these findings (plain SI)."""
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
    return Found(
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


# --------------------------------------------------------------------------- charts
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


def short(giving: Failure) -> str:
    """What gives, in a few words."""
    key = giving.limit.key.split("/")[0]
    words = _SHORT.get(key, giving.limit.what)
    return words.format(part=giving.limit.part)


def order(found: Found) -> list[tuple[float, str]]:
    """(absolute peak pressure, what gives) of the first few limits that are reached at all."""
    ambient = found.report.gas.ambient
    return [
        (g.pressure + ambient, short(g)) for g in found.report.order if np.isfinite(g.pressure)
    ][:_SHOWN]


def springback(found: Found) -> tuple[float, float, float]:
    """Springback of a new seal and of this one, and the lift to follow, m."""
    item = next(i for i in found.seen.items if i.key == "permanent_set")
    lift = max(float(np.max(found.report.over_angle.seal_lift)), 0.0)
    return float(item.springback_new), float(item.springback), lift


def _windows(texts: Sequence[surfaces.SurfaceText], top: float) -> dict[str, list[Any]]:
    """Start, length and words of the bars of texts, the open end at the top of the axis."""
    out: dict[str, list[Any]] = {"base": [], "size": [], "words": []}
    for text in texts[:_TEXTS]:
        least = 0.0 if text.least is None else float(text.least)
        most = top if text.most is None else min(float(text.most), top)
        none = text.least is None and text.most is None
        out["base"].append(0.0 if none else least)
        out["size"].append(0.0 if none else most - least)
        out["words"].append(f"{text.key}: no figure" if none else text.key)
    return out


def _tops(found: Found) -> tuple[float, float]:
    """Top of the axes of roughness and of flatness, m."""
    rough, bow = (next(k for k in _knobs(found.report.build) if k.path == p) for p in _OWN)
    return 1.02 * rough.high, 1.02 * bow.high


_OWN = ("rough", "bow")


def _data(found: Found, system: str) -> dict[str, dict[str, Any]]:
    """What changes on every trace, in the shop's units."""

    def shown(values: Any, kind: str) -> np.ndarray[Any, Any]:
        return np.asarray(show_value(np.asarray(values, dtype=float), kind, system), dtype=float)

    steps = order(found)
    places = np.arange(len(steps), dtype=float)
    top_rough, top_bow = _tops(found)
    sized = shown([found.report.gas.design_peak] * 2, "pressure")
    out: dict[str, dict[str, Any]] = {
        "order": {"x": shown([p for p, _ in steps], "pressure"), "y": places},
        "order words": {
            "x": np.zeros(len(steps)),
            "y": places - 0.42,
            "text": [
                f"{show(p, 'pressure', system)}: {words}" if p > found.report.gas.ambient
                else f"before firing: {words}"
                for p, words in steps
            ],
        },
        "sized": {"x": sized, "y": np.array([-0.9, _SHOWN - 0.5])},
    }  # fmt: skip
    spring = springback(found)
    out["spring"] = {
        "y": shown(spring, "lift"),
        "text": [show(v, "lift", system) for v in spring],
    }
    for key, texts, top, mine, kind in (
        ("finish", found.finish, top_rough, found.rough, "roughness"),
        ("flat", found.flat, top_bow, found.bow, "lift"),
    ):
        made = _windows(texts, top)
        at = np.arange(len(made["base"]), dtype=float)
        out[key] = {
            "x": shown(made["size"], kind),
            "base": shown(made["base"], kind),
            "y": at,
        }
        out[f"{key} words"] = {"x": np.zeros(len(at)), "y": at - 0.42, "text": made["words"]}
        out[f"{key} now"] = {
            "x": shown([mine, mine], kind),
            "y": np.array([-0.9, _TEXTS - 0.5]),
        }
    return out


def _bar(meta: str, label: str, colour: str, chart: int, pattern: str = "") -> dict[str, Any]:
    made = draw.bars(meta, label, colour, np.zeros(0), chart, pattern=pattern)
    return made | {
        "orientation": "h",
        "width": 0.34,
        "text": None,
        "hovertemplate": f"{label}: %{{x:.4g}}<extra></extra>",
    }


def _words(meta: str, label: str, chart: int) -> dict[str, Any]:
    made = draw.line(meta, label, "strength", np.zeros(0), np.zeros(0), chart)
    return made | {"mode": "text", "textposition": "middle right", "hoverinfo": "skip"}


def _level(meta: str, label: str, colour: str, chart: int) -> dict[str, Any]:
    made = draw.line(meta, label, colour, np.zeros(2), np.zeros(2), chart, "dash")
    return made | {
        "mode": "lines+text",
        "text": ["", label],
        "textposition": "top right",
        "hovertemplate": f"{label}: %{{x:.4g}}<extra></extra>",
    }


def _traces(found: Found, system: str) -> list[dict[str, Any]]:
    made = [
        _bar("order", "fails at", "pressure", 0),
        _level("sized", "sized on", "gas load", 0),
        _words("order words", "what fails", 0),
        draw.bars("spring", "springback and lift", "seal load", np.zeros(3), 1),
        _bar("finish", "wanted roughness", "clamp", 2, "/"),
        _level("finish now", "this face", "gas load", 2),
        _words("finish words", "text on roughness", 2),
        _bar("flat", "wanted flatness", "strength", 3, "."),
        _level("flat now", "this face", "gas load", 3),
        _words("flat words", "text on flatness", 3),
    ]
    data = _data(found, system)
    return [trace | data[trace["meta"]] for trace in made]


def _layout(all_found: Sequence[Found], system: str) -> dict[str, Any]:
    every = [_data(f, system) for f in all_found]
    reach = draw.span(*(d[k]["x"] for d in every for k in ("order", "sized")))
    top_rough, top_bow = _tops(all_found[0])

    def lift(value: float, kind: str = "lift") -> float:
        return float(show_value(value, kind, system))

    small, fine = show_unit("lift", system), show_unit("roughness", system)
    rows, texts = (_SHOWN - 0.5, -0.95), (_TEXTS - 0.5, -0.95)
    made = [
        draw.Chart(
            "As pressure rises, these fail",
            rows,
            (0.0, reach[1]),
            f"Peak pressure, {show_unit('pressure', system)} absolute",
        ),
        draw.Chart(
            f"Springback against lift, {small}",
            draw.span(*(d["spring"]["y"] for d in every), room=0.2),
            (-0.6, 2.6),
            names=("new seal", "this seal", "lift"),
        ),
        draw.Chart(
            "Roughness Ra that texts want",
            texts,
            (0.0, lift(top_rough, "roughness")),
            f"Ra, {fine}",
        ),
        draw.Chart(
            "Flatness that texts allow", texts, (0.0, lift(top_bow)), f"Out of flat, {small}"
        ),
    ]
    out = draw.layout(made, 1300, hover="closest")
    for tail in ("", "3", "4"):
        out[f"yaxis{tail}"] |= {"showticklabels": False, "showgrid": False, "zeroline": False}
    return out | {"barmode": "overlay"}


def _values(found: Found, system: str) -> Values:
    return Values(_data(found, system))


# --------------------------------------------------------------------------- words
def _sentence(found: Found, system: str) -> Sentence:
    seen, report = found.seen, found.report
    first = order(found)
    gives = (
        f"As pressure rises, first at {show(first[0][0], 'pressure', system)}: {first[0][1]}."
        if first and first[0][0] > report.gas.ambient
        else f"Before firing already: {first[0][1]}."
        if first
        else "Nothing fails up to three times this pressure."
    )
    judged = [t for t in found.finish if t.verdict]
    against = [t for t in judged if t.verdict != "within"]
    if not judged:
        texts = "no text gives a roughness for this gasket"
    else:
        texts = f"{len(against)} of {len(judged)} texts refuse this roughness"
    words = (
        f"Used gasket: {seen.gasket}. Face: {'serves' if seen.face == 'reuse' else seen.face} "
        f"(Ra {_small(found.rough, 'Ra', system)}: {texts}; "
        f"{show(found.inside, 'lift', system)} of the bow lie within one bore). The "
        f"joint is sized on {show(report.gas.design_peak, 'pressure', system)}. {gives}"
    )
    good = seen.face == "reuse" and report.holds
    head = "FACE SERVES" if seen.face == "reuse" else "RESURFACE"
    if not report.holds:
        head += ", JOINT DOES NOT HOLD"
    return Sentence(head, words, good)


def _small(value: float, what: str, system: str) -> str:
    """A small length; roughness in the shop's own unit for it."""
    return show(value, "roughness" if what == "Ra" else "lift", system)


def _text_rows(texts: Sequence[surfaces.SurfaceText], what: str, yours: float, system: str) -> Rows:
    said = {"below": "too fine", "above": "over it", "within": "within", "": "no figure"}
    rows = []
    for text in texts:
        ends = [_small(float(x), what, system) for x in (text.least, text.most) if x is not None]
        if text.least is None and ends:
            ends = [f"up to {ends[0]}"]
        elif text.most is None and ends:
            ends = [f"from {ends[0]}"]
        rows.append(
            {
                "text": text.key,
                "wants": f"{what} {' to '.join(ends)}" if ends else "no figure",
                "this face": _small(yours, what, system),
                "verdict": said[text.verdict],
                "status": text.status,
                "mind": text.note,
            }
        )
    return rows


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


def _tables(found: Found, system: str) -> Mapping[str, Rows]:
    report = found.report
    # the words of the inspection are in the shop's units
    seen = found.seen
    if system != "metric":
        findings = {
            "roughness": from_si(found.rough, "roughness"),
            "warp": from_si(found.bow, "lift"),
            "permanent_set": from_si(found.lost, "lift"),
        }
        seen = look(report, found.face, findings, system)
    titles = {
        "roughness": "roughness of the face",
        "warp": "face out of flat",
        "permanent_set": "seal thinner than new",
    }
    return {
        "What was found, and what follows": [
            {
                "finding": titles.get(i.key, i.key),
                "measured": i.answer,
                "means": i.consequence,
                "do": i.action,
                "status": i.status,
            }
            for i in seen.items
        ],
        "Texts on this face, side by side": [
            *_text_rows(found.finish, "Ra", found.rough, system),
            *_text_rows(found.flat, "flat", found.bow, system),
        ],
        "Order as pressure rises": [
            {"peak pressure": at, "what gives": gives} for at, gives in report.order_rows(system)
        ],
        "Fasteners: use them again?": fastener_rows(report, system),
    }


def _marks(_: Build, found: Found, __: str) -> Mapping[str, Rows]:
    """What marks on a gasket of this construction tell."""
    name = found.report.build.gasket.construction
    if name not in constructions.names():
        raise fail("gasket.construction", name, "a construction of the kit, for its marks")
    return {
        "Look for, and what it usually tells": [
            {
                "look at": q.part,
                "question": q.question,
                "usually tells": q.sign or "nothing by itself: measure it",
                "status": q.status,
            }
            for q in surfaces.questions(name)
        ]
    }


def _again(build: Build, _: Found, system: str) -> Mapping[str, Rows]:
    """Reuse of a sound used gasket, construction by construction."""
    rows = []
    for name in constructions.names():
        report = reports.run(controls.gasket(build).put(build, name))
        seen = look(report, face_of(build), {"permanent_set": from_si(0.0, "lift")}, system)
        seal = seal_of(report)
        back = next(i for i in seen.items if i.key == "permanent_set")
        rule = [i for i in seen.items if i.answer == "rule of the trade"]
        rows.append(
            {
                "gasket, taken out sound": name,
                "springs back": show(back.springback, "lift", system) if seal else "",
                "curves alone say": seen.computed,
                "the trade says": "; ".join(f"{i.action} ({i.consequence})" for i in rule)
                or "no rule known here",
                "status of the rule": "; ".join(i.status for i in rule),
            }
        )
    return {"Used again? On this engine, every part sound": rows}


# --------------------------------------------------------------------------- the picture
def _drawing(found: Found, system: str) -> str:
    """The face along the head under a straight edge, its bow drawn much too large."""
    count = found.report.build.bores_per_head
    wide, left, right, top = 640.0, 20.0, 620.0, 70.0
    deep = min(0.32e6 * found.bow, 90.0)
    long = right - left
    dip = f"M{left},{top} Q{wide / 2},{top + 2 * deep:.1f} {right},{top}"
    bow = show(found.bow, "lift", system)
    inside = show(found.inside, "lift", system)
    reach = show(found.span, "length", system)
    diameter = found.report.build.gasket.seal_diameter
    share = min(diameter / found.span, 1.0)
    alt = (
        f"The face of the head under a straight edge. Over {reach} it is out of flat by {bow}. "
        f"Within one bore {inside} of that is left once the fasteners beside it are home."
    )
    purple, orange = COLOURS["seal load"], COLOURS["gas load"]
    bores = "".join(
        f"<rect x='{left + long * (i + 0.5 - 0.43) / count:.1f}' y='{top + 100:.0f}' "
        f"width='{0.86 * long / count:.1f}' height='16' fill='none' stroke='#333'/>"
        for i in range(count)
    )
    middle = wide / 2
    shapes = (
        f"<rect x='0' y='0' width='{wide:.0f}' height='232' fill='#fff'/>"
        f"<rect x='{left}' y='{top - 22}' width='{long}' height='20' fill='#8f979e' "
        "stroke='#333'/>"
        f"<path d='{dip} V{top + 96:.0f} H{left} Z' fill='#e3e7ea' stroke='#333'/>"
        f"<path d='M{middle},{top} V{top + deep:.1f}' stroke='{orange}' stroke-width='4'/>"
        f"{bores}"
        f"<path d='M{middle - share * long / 2:.1f},{top + 132:.0f} h{share * long:.1f}'"
        f" stroke='{purple}' stroke-width='4'/>"
        f"<text x='{left}' y='36'>straight edge, {reach} long</text>"
        f"<text x='{middle + 8}' y='{top + 24}' fill='{orange}'>{bow}</text>"
        f"<text x='{left + 10}' y='{top + 84}'>face of the head</text>"
        f"<text x='{left}' y='{top + 158}'>within one bore: {inside}</text>"
    )
    return (
        "<figure style='margin:0;max-width:600px'>"
        "<svg viewBox='0 0 640 240' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(alt, quote=True)}' font-family='sans-serif' font-size='22' "
        f"fill='#111'><title>{html.escape(alt)}</title>{shapes}</svg>"
        "<figcaption style='font-size:14px;line-height:1.35'>The gap under the straight edge is "
        f"drawn much too large. {count} bores lie below; a long bow is pulled flat bore by bore."
        "</figcaption></figure>"
    )


def picture(found: Found | Build, system: str = "metric") -> Shown:
    """The bowed face of an engine's head, drawn."""
    one = find(found) if isinstance(found, Build) else found
    made = _drawing(one, system)
    return Shown(made, html.unescape(made.split("<title>")[1].split("</title>")[0]))


SCENE = Scene(
    name="teardown",
    words="What fails in which order as peak pressure rises, springback of the seal against lift, "
    "and the roughness and flatness of a face against what texts want of it",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    traces=_traces,
    layout=_layout,
    values=_values,
    sentence=_sentence,
    tables=_tables,
    drawing=_drawing,
    buttons={"What the marks tell": _marks, "Which gaskets go back in": _again},
)


# --------------------------------------------------------------------------- worked by hand
def bowed(build: Build) -> tuple[Any, Any, Any]:
    """(out of flat, span, diameter of the seal) of the hand calculation."""
    return (
        from_si(BOW, "lift"),
        from_si(span_of(build), "length"),
        build.get("gasket.seal_diameter"),
    )


def told(found: Found, system: str = "metric") -> str:
    """What the inspection makes of that bow."""
    item = next(i for i in found.seen.items if i.key == "warp")
    return (
        f"the inspection: {show(item.sound, 'line load', system)} beside it, "
        f"{show(item.local, 'line load', system)} there, "
        f"{show(item.wanted, 'line load', system)} wanted"
    )


def sources(found: Found) -> Shown:
    """Where the numbers of this lesson come from, with their status."""
    rows = [
        {"what": f"{t.key}", "status": t.status, "source": t.source}
        for t in (*found.finish, *found.flat)
    ]
    limit = tables.load("strain_limits")["permanent stretch while tightening"]
    rows += [
        {
            "what": "signs and rules of the teardown",
            "status": "common practice, no source",
            "source": "shop notes; see the button on marks for each",
        },
        {
            "what": "load at a place that stands back, springback left",
            "status": "computed",
            "source": "the gasket's own curves (illustrative sizes)",
        },
        {
            "what": "stretch past yield that is let go",
            "status": limit["status"],
            "source": limit["source"],
        },
        {
            "what": "roughness, bow and set at first",
            "status": "invented",
            "source": "this lesson",
        },
    ]
    return Shown(charts.html_table("Sources of the teardown", rows), lesson.plain_table(rows))


# --------------------------------------------------------------------------- exercises


_FINER = (
    "fit for all that give a figure",
    "too fine for all that give a figure",
    "too fine for some, fit for others",
    "too rough for some of them",
)
_FIBRE = "fibre body with steel ring"


def _polished(build: Build, system: str) -> tuple[Question, Shown]:
    ra = _SMOOTH[system]
    texts = [t for t in surfaces.finish_wanted.si(_FIBRE, "iron", ra) if t.verdict]
    kinds = {t.verdict for t in texts}
    right = (
        _FINER[0]
        if kinds == {"within"}
        else _FINER[1]
        if kinds == {"below"}
        else _FINER[3]
        if "above" in kinds
        else _FINER[2]
    )
    says = {
        _FINER[0]: (
            "smoother is always better",
            "A soft facing needs teeth to hold it against the creep of head and block. Pick this "
            "gasket and an iron face on the panel and look at the windows.",
        ),
        _FINER[1]: ("too fine", "Look at the lower end of each window."),
        _FINER[2]: ("mixed", "Compare the lower end of each window with this face, one by one."),
        _FINER[3]: (
            "finer taken for rougher",
            "A smaller Ra is a finer face. Look on which side of the windows it lies.",
        ),
    }
    made = Question(
        "10-1",
        f"An iron deck was polished to Ra {_small(ra, 'Ra', system)}. For a {_FIBRE}, what do "
        "the texts in our table say about it?",
        "choice",
        right,
        options=_FINER,
        pitfalls=tuple(Pitfall(says[o][0], o, says[o][1]) for o in _FINER if o != right),
        hint="Put the roughness on the panel, pick the gasket and the face, read the windows.",
    )
    rows = _text_rows(surfaces.finish_wanted.si(_FIBRE, "iron", ra), "Ra", ra, system)
    low, high = (float(x) for x in surfaces.rz_of_ra.si(ra))
    words = (
        f"{right[0].upper()}{right[1:]}. For layers of steel with a thin coat finer is asked, and "
        "one view wants every face as fine as can be: the texts disagree, so ask the maker of the "
        f"gasket. A drawing may give Rz: this Ra is about {_small(low, 'Ra', system)} to "
        f"{_small(high, 'Ra', system)} of it on a milled face (from memory)."
    )
    return made, folded("Worked answer", words, rows)


def _bow(build: Build, system: str) -> tuple[Question, Shown]:
    bow = _STEP[system]
    span, diameter = span_of(build), build.gasket.seal_diameter
    inside = float(surfaces.local_warp.si(bow, span, diameter))
    text = (
        f"A straight edge of {show(span, 'length', system)} along the head shows a smooth bow of "
        f"{show(bow, 'lift', system)}. The seal is {show(diameter, 'length', system)} across. "
        "How much of the bow is left within one bore once the fasteners beside it are home? Take "
        "the face as a shallow arc."
    )
    made = with_pitfalls(
        Question(
            "10-2",
            text,
            "lift",
            inside,
            digits=2,
            unit=str(getattr(KINDS["lift"], system)[0]),
            hint="The height of a shallow arc goes with the square of its length.",
        ),
        (
            Pitfall(
                "whole bow in one bore",
                bow,
                "That is the whole bow. It counts in full only where it is a step, such as a burnt "
                "edge; a long bow is shared by all bores.",
            ),
            Pitfall(
                "share by length",
                bow * diameter / span,
                "The height of an arc falls with the square of its length, not with the length.",
            ),
            Pitfall(
                "radius for diameter",
                inside / 4.0,
                "The arc goes right across the bore: take the diameter.",
            ),
        ),
    )
    found = find(build, bow=bow)
    item = next(i for i in found.seen.items if i.key == "warp")
    words = (
        f"{show(inside, 'lift', system)}. It leaves {show(item.local, 'line load', system)} of "
        f"{show(item.sound, 'line load', system)} there; the texts count the whole bow and "
        f"{sum(t.verdict == 'above' for t in found.flat)} of {len(found.flat)} refuse it. A step "
        "of the same depth would count in full."
    )
    return made, folded("Worked answer", words, _text_rows(found.flat, "flat", bow, system))


def _lost_at(report: Report) -> float:
    """Absolute pressure at which gas first passes a combustion seal."""
    return report.gas.ambient + min(
        (g.pressure for g in report.order if g.limit.key.startswith("residual/")), default=np.inf
    )


def _tighter(build: Build) -> Build:
    knob = controls.tightening(build)
    if not knob.path:
        return build
    return build.vary({knob.path: from_si(1.1 * knob.value, knob.kind)})


_BLAME = (
    "the same gasket, new",
    "a tenth more tightening, if the fasteners stand it",
    "a coat of sealer on the same gasket",
)


def _clamp(build: Build, system: str) -> tuple[Question, Shown]:
    now, tight = reports.run(build), reports.run(_tighter(build))
    # a new gasket of the same kind is the same joint: what is on the sheet is taken as new
    gain = _lost_at(tight) - _lost_at(now)
    right = _BLAME[1] if gain > 0 else _BLAME[0]
    says = {
        _BLAME[0]: (
            "blame the gasket",
            "A new gasket of the same kind in the same joint gets the same clamp and the same gas. "
            "What let the gas pass is still there.",
        ),
        _BLAME[1]: ("more clamp", "Compare where gas first passes before and after."),
        _BLAME[2]: (
            "sealer for clamp",
            "Sealer fills scratches. It carries no line load against gas, and trade notes on "
            "layers of steel say to fit them dry.",
        ),
    }
    made = Question(
        "10-3",
        "The used gasket shows gas tracks at the bore edge all round; faces and fasteners are "
        "sound, and there are no marks of detonation. Which of these raises the pressure at which "
        "gas passes again?",
        "choice",
        right,
        options=_BLAME,
        pitfalls=tuple(Pitfall(says[o][0], o, says[o][1]) for o in _BLAME if o != right),
        hint="What holds the gas is load left on the seal. Where does load come from?",
    )
    rows = [
        {
            "case": case,
            "gas passes at": show(_lost_at(r), "pressure", system)
            if np.isfinite(_lost_at(r))
            else "not reached",
            "smallest margin of strength": lesson.result(r, system)["smallest margin of strength"],
            "first to give": short(r.order[0]),
        }
        for case, r in (("as it was, gasket new", now), ("a tenth more tightening", tight))
    ]
    words = (
        "A new gasket alone puts you back where you were the day before it leaked. More clamp "
        "moves the point, and the fasteners pay for it: the third column says what is left of "
        "them. Ask first why the clamp was low: dirty threads, a washer, oil where the sheet says "
        "paste, a block hole full of coolant, a fastener that has stretched."
    )
    return made, folded("Worked answer", words, rows)


def _spring(build: Build, system: str) -> tuple[Question, Shown]:
    report = reports.run(build)
    seal = seal_of(report)
    if seal is None:
        raise fail("gasket", build.gasket.construction, "a gasket with a seal round the bore")
    sound = _seen(report, 0.0, system)
    closed, fresh = float(sound.closure), float(_item(sound).springback_new)
    lost = closed - 0.4 * fresh
    seen = _seen(report, lost, system)
    item = _item(seen)
    left = float(item.springback)
    text = (
        f"The {seal.name} of the used gasket was squeezed by {show(closed, 'lift', system, 2)} "
        f"when tightened; a new one springs back {show(fresh, 'lift', system, 2)} from there. "
        f"Measured free, this one is {show(lost, 'lift', system, 2)} thinner than new. How far can "
        "it still spring back?"
    )
    made = with_pitfalls(
        Question(
            "10-4",
            text,
            "lift",
            left,
            digits=2,
            unit=str(getattr(KINDS["lift"], system)[0]),
            hint="From where it was squeezed to, it comes back to where it stands free now.",
        ),
        (
            Pitfall(
                "as good as new",
                fresh,
                "That is what a new one springs back. This one has set more than its first "
                "squeeze explains.",
            ),
            Pitfall(
                "set for springback",
                lost,
                "That is what it has lost. What is left is the rest of the squeeze.",
            ),
            Pitfall(
                "squeeze for springback",
                closed,
                "That is how far it was squeezed. Only a part of that comes back.",
            ),
        ),
    )
    lift = max(float(np.max(report.over_angle.seal_lift)), 0.0)
    words = (
        f"{show(left, 'lift', system, 2)}. The head lifts {show(lift, 'lift', system, 2)} there "
        f"at peak pressure. The inspection: {item.consequence}; so {seen.gasket} it. A crushed "
        "bead or a facing that has set looks whole and is finished."
    )
    return made, folded("Worked answer", words)


def _seen(report: Report, lost: float, system: str) -> surfaces.Findings:
    findings = {"permanent_set": from_si(lost, "lift")}
    return look(report, face_of(report.build), findings, system)


def _item(seen: surfaces.Findings) -> surfaces.Finding:
    return next(i for i in seen.items if i.key == "permanent_set")


def _bolt(build: Build, system: str) -> tuple[Question, Shown]:
    report = reports.run(build)
    longer = _STEP[system]
    length, c = report.clamp.free_length, report.clamp
    share = longer / length
    stretched = float(c.preload.nominal) / c.bolt_stiffness
    text = (
        f"A used {build.fasteners.kind} is {show(longer, 'length', system, 3)} longer than a new "
        f"one. The length that stretches is {show(length, 'length', system, 1)}. What share of "
        "that length has it kept?"
    )
    made = with_pitfalls(
        Question(
            "10-5",
            text,
            "fraction",
            share,
            digits=2,
            unit="%",
            hint="Lengthening over the length that stretches, in per cent.",
        ),
        (
            Pitfall(
                "per cent forgotten",
                share / 100.0,
                "The share as a plain number was written with a per cent sign.",
            ),
            Pitfall(
                "over the diameter",
                longer / c.thread.diameter,
                "That divides by the diameter. The length that stretches carries the lengthening.",
            ),
            Pitfall(
                "elastic stretch added",
                (longer + stretched) / length,
                "That adds the stretch under load. On the bench the fastener has let that go.",
            ),
        ),
    )
    limit = float(tables.load("strain_limits")["permanent stretch while tightening"]["share"])
    words = (
        f"{show(share, 'fraction', system, 2)}, against {show(limit, 'fraction', system, 2)} that "
        "is let go from memory for a fastener turned into yield on purpose and used once. One that "
        "was tightened by torque alone should have kept nothing at all: this one has yielded, so "
        "its next preload is anybody's guess. Replace the set, and find out what overloaded it."
    )
    return made, folded("Worked answer", words, fastener_rows(report, system))


EXERCISES = Exercises((_polished, _bow, _clamp, _spring, _bolt))
question, answer = EXERCISES.question, EXERCISES.answer
