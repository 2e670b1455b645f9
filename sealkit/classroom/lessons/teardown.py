"""Lesson 10, teardown: reading a used gasket, reuse, what failed first."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import report as reports
from sealkit import tables
from sealkit.analysis.wrench import tighter
from sealkit.build import Build
from sealkit.classroom.drawing import draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown, html_table, plain_table
from sealkit.classroom.homework.questions import Exercises, Solved
from sealkit.classroom.lessons import lesson
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.report import inspection
from sealkit.report.inspection import BOW, ROUGH, SET, Inspection, find, look
from sealkit.sealing import constructions, surfaces, teardown
from sealkit.units import from_si, show, show_unit, show_value

CHECKS = {
    "sheet-tests": ["F36-compressibility", "F36-recovery", "F38-relaxation"],
    "angle-stretch": ["A1-stretch", "A1-angle", "A3-bolt"],
    "indentation": ["I1-meyer", "T300-A"],
}
# round figures of the exercises, m; all invented
_SMOOTH = {"metric": 0.2e-6, "inch": 10 * 0.0254e-6}  # Ra of a polished face
_STEP = {"metric": 100e-6, "inch": 4 * 0.0254e-3}  # bow, and lengthening of a fastener
_SHOWN = 6  # of the order of failure
_TEXTS = 5  # rows of texts on a chart


# --------------------------------------------------------------------------- knobs and work
def _knobs(build: Build) -> Sequence[Knob]:
    return (
        controls.boost(build),
        Knob("rough", "Roughness Ra", "roughness", ROUGH, 0.1e-6, 3.5e-6),
        Knob("bow", "Out of flat", "lift", BOW, 0.0, 250e-6),
        Knob("lost", "Seal thinner than new", "lift", SET, 0.0, 500e-6),
    )


def _picks(build: Build) -> Sequence[Pick]:
    return controls.gasket(build), Pick("face", "Face", surfaces.FACES, inspection.face_of(build))


def _work(build: Build, free: Free) -> Inspection:
    return find(
        build, str(free["face"]), float(free["rough"]), float(free["bow"]), float(free["lost"])
    )


# --------------------------------------------------------------------------- charts
def order(found: Inspection) -> list[tuple[float, str]]:
    """The first few of the order of failure."""
    return inspection.order(found)[:_SHOWN]


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


def _tops(found: Inspection) -> tuple[float, float]:
    """Top of the axes of roughness and of flatness, m."""
    rough, bow = (next(k for k in _knobs(found.report.build) if k.path == p) for p in _OWN)
    return 1.02 * rough.high, 1.02 * bow.high


_OWN = ("rough", "bow")


def _data(found: Inspection, system: str) -> dict[str, dict[str, Any]]:
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
    spring = inspection.springback(found)
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


def _traces(found: Inspection, system: str) -> list[dict[str, Any]]:
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


def _layout(all_found: Sequence[Inspection], system: str) -> dict[str, Any]:
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


def _values(found: Inspection, system: str) -> Values:
    return _data(found, system)


# --------------------------------------------------------------------------- words
def _sentence(found: Inspection, system: str) -> Sentence:
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


def _tables(found: Inspection, system: str) -> Mapping[str, Rows]:
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
            {"peak pressure": at, "what gives": gives}
            for at, gives in reports.order_rows(report, system)
        ],
        "Fasteners: use them again?": inspection.fastener_rows(report, system),
    }


def _marks(_: Build, found: Inspection, __: str) -> Mapping[str, Rows]:
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
            for q in teardown.questions(name)
        ]
    }


def _again(build: Build, _: Inspection, system: str) -> Mapping[str, Rows]:
    """Reuse of a sound used gasket, construction by construction."""
    rows = []
    for name in constructions.names():
        report = reports.run(controls.gasket(build).put(build, name))
        seen = inspection.seen_with_set(report, 0.0, system)
        seal = inspection.seal_of(report)
        back = inspection.item(seen, "permanent_set")
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
def _drawing(found: Inspection, system: str) -> str:
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


def picture(found: Inspection | Build, system: str = "metric") -> Shown:
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
    plot=ByHand(_traces, _layout, _values),
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
        from_si(inspection.span_of(build), "length"),
        build.get("gasket.seal_diameter"),
    )


def told(found: Inspection, system: str = "metric") -> str:
    """What the inspection makes of that bow."""
    item = inspection.item(found.seen, "warp")
    return (
        f"the inspection: {show(item.sound, 'line load', system)} beside it, "
        f"{show(item.local, 'line load', system)} there, "
        f"{show(item.wanted, 'line load', system)} wanted"
    )


def sources(found: Inspection) -> Shown:
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
    return Shown(html_table("Sources of the teardown", rows), plain_table(rows))


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("10")
question, answer = EXERCISES.question, EXERCISES.answer
_FIBRE = "fibre body with steel ring"


@EXERCISES.solver("polished")
def _(build: Build, system: str) -> Solved:
    ra = _SMOOTH[system]
    texts = surfaces.finish_wanted.si(_FIBRE, "iron", ra)
    verdicts = {t.verdict for t in texts if t.verdict}
    fit = "above" if "above" in verdicts else "mixed" if len(verdicts) > 1 else verdicts.pop()
    low, high = (float(x) for x in surfaces.rz_of_ra.si(ra))
    return Solved(
        {"within": "smoother is always better", "below": "too fine", "mixed": "mixed"}.get(
            fit, "finer taken for rougher"
        ),
        figures={
            "ra": (ra, "roughness"),
            "gasket": _FIBRE,
            "low": (low, "roughness"),
            "high": (high, "roughness"),
        },
        rows=_text_rows(texts, "Ra", ra, system),
    )


@EXERCISES.solver("bow")
def _(build: Build, system: str) -> Solved:
    bow, diameter = _STEP[system], build.gasket.seal_diameter
    found = find(build, bow=bow)
    warp = inspection.item(found.seen, "warp")
    return Solved(
        found.inside,
        {
            "whole bow in one bore": bow,
            "share by length": bow * diameter / found.span,
            "radius for diameter": found.inside / 4.0,
        },
        {
            "bow": (bow, "lift"),
            "span": (found.span, "length"),
            "diameter": (diameter, "length"),
            "local": (warp.local, "line load"),
            "sound": (warp.sound, "line load"),
            "against": str(sum(t.verdict == "above" for t in found.flat)),
            "texts": str(len(found.flat)),
        },
        _text_rows(found.flat, "flat", bow, system),
    )


@EXERCISES.solver("clamp")
def _(build: Build, system: str) -> Solved:
    now, tight = reports.run(build), reports.run(tighter(build))
    # a new gasket of the same kind is the same joint: what is on the sheet is taken as new
    gain = inspection.leaks_at(tight) > inspection.leaks_at(now)
    rows = []
    for case, one in (("as it was, gasket new", now), ("a tenth more tightening", tight)):
        at = inspection.leaks_at(one)
        rows.append(
            {
                "case": case,
                "gas passes at": (at, "pressure") if np.isfinite(at) else "not reached",
                "smallest margin of strength": lesson.result(one)["smallest margin of strength"],
                "first to give": inspection.short(one.order[0]),
            }
        )
    return Solved("more clamp" if gain else "blame the gasket", rows=rows)


@EXERCISES.solver("spring")
def _(build: Build, system: str) -> Solved:
    report = reports.run(build)
    seal = inspection.seal_of(report)
    if seal is None:
        raise fail("gasket", build.gasket.construction, "a gasket with a seal round the bore")
    sound = inspection.seen_with_set(report, 0.0)
    closed, fresh = (
        float(sound.closure),
        float(inspection.item(sound, "permanent_set").springback_new),
    )
    lost = closed - 0.4 * fresh
    seen = inspection.seen_with_set(report, lost, system)
    used = inspection.item(seen, "permanent_set")
    return Solved(
        float(used.springback),
        {
            "as good as new": fresh,
            "set for springback": lost,
            "squeeze for springback": closed,
        },
        {
            "seal": seal.name,
            "closed": (closed, "lift", 2),
            "fresh": (fresh, "lift", 2),
            "lost": (lost, "lift", 2),
            "answer": (float(used.springback), "lift", 2),
            "lift": (max(float(np.max(report.over_angle.seal_lift)), 0.0), "lift", 2),
            "means": used.consequence,
            "do": seen.gasket,
        },
    )


@EXERCISES.solver("bolt")
def _(build: Build, system: str) -> Solved:
    report, longer = reports.run(build), _STEP[system]
    c = report.clamp
    stretched = float(c.preload.nominal) / c.bolt_stiffness
    limit = tables.load("strain_limits")["permanent stretch while tightening"]
    return Solved(
        longer / c.free_length,
        {
            "per cent forgotten": longer / c.free_length / 100.0,
            "over the diameter": longer / c.thread.diameter,
            "elastic stretch added": (longer + stretched) / c.free_length,
        },
        {
            "fastener": build.fasteners.kind,
            "longer": (longer, "length", 3),
            "length": (c.free_length, "length", 1),
            "answer": (longer / c.free_length, "fraction", 2),
            "limit": (float(limit["share"]), "fraction", 2),
        },
        inspection.fastener_rows(report, system),
    )
