"""Lesson 10, teardown: reading a used gasket, reuse, what failed first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import report as reports
from sealkit import tables
from sealkit.analysis.wrench import tighter
from sealkit.build import Build
from sealkit.classroom.drawing.shown import Shown, cells
from sealkit.classroom.drawing.teardown_chart import BOW_MOST, PLOT, ROUGH_MOST, bow
from sealkit.classroom.homework.questions import Exercises, Names
from sealkit.classroom.lessons import lesson
from sealkit.classroom.lessons.text import Text
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows
from sealkit.drawing.used import used_gaskets
from sealkit.errors import fail
from sealkit.report import inspection
from sealkit.report.inspection import BOW, ROUGH, SET, Inspection, find
from sealkit.sealing import constructions, surfaces, teardown
from sealkit.sealing.limit import Outcome
from sealkit.units import from_si
from sealkit.words import note

TEXT = Text(__file__)
CHECKS = TEXT.checks


# --------------------------------------------------------------------------- the panel
def _knobs(build: Build) -> Sequence[Knob]:
    return (
        controls.boost(build),
        Knob("rough", "Roughness Ra", "roughness", ROUGH, 0.1e-6, ROUGH_MOST),
        Knob("bow", "Out of flat", "lift", BOW, 0.0, BOW_MOST),
        Knob("lost", "Seal thinner than new", "lift", SET, 0.0, 500e-6),
    )


def _picks(build: Build) -> Sequence[Pick]:
    return controls.gasket(build), Pick("face", "Face", surfaces.FACES, inspection.face_of(build))


def _work(build: Build, free: Free) -> Inspection:
    rough, out_of_flat, lost = (float(free[k]) for k in ("rough", "bow", "lost"))
    return find(build, str(free["face"]), rough, out_of_flat, lost)


# --------------------------------------------------------------------------- in words
_HEADS = {"reuse": "FACE SERVES", "resurface": "RESURFACE", "disputed": "SHOP RULES DISAGREE"}
_WORN = "REPLACE THE SEAL"


def _told(found: Inspection) -> Names:
    seen, gas, outcome = found.seen, found.report.gas, found.report.outcome
    rough, bow, seal = (
        inspection.item(seen, key) for key in ("roughness", "warp", "permanent_set")
    )
    at, what = next(iter(found.order), (np.inf, ""))
    how = "nothing" if not what else "rising" if at > gas.ambient else "before"
    gives = TEXT.note(how, locals())
    decides, once = inspection.decides_on_face(seen), inspection.fitted_once(seen)
    this = "bow" if decides.key == "warp" else "roughness"
    refuse = f"{said} this {this}" if (said := surfaces.refusal(decides.texts)) else ""
    texts = refuse or f"no shop rule gives a {this} for this gasket"
    refused = f"{refuse}. " if refuse else ""
    verdict = "disputed" if decides.disputed and seen.face == "reuse" else seen.face
    face = "serves" if verdict == "reuse" else verdict
    follows, worn = seal.action == "reuse", seal.action == "replace"
    bad = worn or verdict == "resurface" or outcome is Outcome.FAILS
    sure = verdict == "reuse" and outcome is Outcome.HOLDS
    good = sure if bad or sure else None
    word = ", ".join([_WORN] * worn + [_HEADS[verdict]] * (not worn or verdict == "resurface"))
    if outcome is not Outcome.HOLDS:
        word += f", JOINT {str(outcome).upper()}"
    back = TEXT.note("back", locals(), worn)
    # of the bow there is a tile
    rest = TEXT.note("once" if once else "inside", locals(), not worn)
    face_has = (found.bow, "lift") if this == "bow" else (found.rough, "roughness")
    number = (seal.springback, "lift") if worn else face_has
    do = (": fitted once, replace it" if once else "") if follows else ": replace it"
    smooth, even, goes_back = _served(rough), _served(bow), follows and once is None
    fails_at = (at, "pressure", 0) if np.isfinite(at) else "none"
    return locals()


def _served(found: teardown.Finding) -> bool | None:
    """Whether a face serves by this finding; None where shop rules disagree."""
    return None if found.disputed else found.action == "reuse"


_TITLES = {
    "roughness": "roughness of the face",
    "warp": "face out of flat",
    "permanent_set": "seal thinner than new",
}
_VERDICTS = {"below": "too fine", "above": "over it", "within": "within", "": "no figure"}


def _wants(texts: Sequence[surfaces.SurfaceText], what: str, kind: str) -> list[Names]:
    """What each text wants of a face, and this face."""
    rows = []
    for text in texts:
        ends = [name for name in ("least", "most") if getattr(text, name) is not None]
        wants: Any = "no figure"
        if ends:
            figures = TEXT.note("both" if len(ends) == 2 else ends[0], locals())
            wants = note(f"{what} {{figures}}", figures=figures)
        rows.append(locals() | {"verdict": _VERDICTS[text.verdict]})
    return rows


def _rough(texts: Sequence[surfaces.SurfaceText]) -> list[Names]:
    return _wants(texts, "Ra", "roughness")


def _flat(texts: Sequence[surfaces.SurfaceText]) -> list[Names]:
    return _wants(texts, "flat", "lift")


def _tables(found: Inspection, system: str) -> Mapping[str, Rows]:
    report = found.report
    findings = [
        {
            "item": i,
            "title": _TITLES.get(i.key, i.key),
            "do": "shop rules disagree" if i.disputed else i.action,
        }
        for i in found.seen.items
    ]
    face = [*_rough(found.finish), *_flat(found.flat)]
    order = [
        {"peak pressure": at, "what gives": what} for at, what in reports.order_rows(report, system)
    ]
    return TEXT.tables(locals(), system) | {
        f"Order as pressure rises{report.by_what}": order,
        "Fasteners: use them again?": cells(inspection.fastener_rows(report), system),
    }


def _marks(build: Build) -> Names:
    """What marks on a gasket of this construction tell."""
    name = build.gasket.construction
    if name not in constructions.names():
        raise fail("gasket.construction", name, "a construction of the kit, for its marks")
    none = "nothing by itself: measure it"
    return {"marks": [{**q, "sign": q["sign"] or none} for q in teardown.questions(name)]}


def _again(build: Build) -> Names:
    """Reuse of a sound used gasket, construction by construction."""
    rows = []
    for one in inspection.used_again(build):
        # no construction has more than one rule
        rule = next((i for i in one.seen.items if i.rule), None)
        back = "" if one.springback is None else (one.springback, "lift")
        says = TEXT.note("rule" if rule else "no rule", locals())
        rows.append(locals() | {"status": rule.status if rule else ""})
    return {"again": rows}


def picture(_: Build | None = None) -> Shown:
    """Used gaskets with their marks, and what each usually tells."""
    return Shown(*used_gaskets())


SCENE = TEXT.scene(
    _told,
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=PLOT,
    tables=_tables,
    joint=lambda found: found.report,
    drawing=lambda found, system: bow(found, system)[0],
    buttons={
        "What the marks tell": lambda _, found, system: TEXT.table(
            "marks", _marks(found.report.build), system
        ),
        "Which gaskets go back in": lambda build, _, system: TEXT.table(
            "again", _again(build), system
        ),
    },
)


# --------------------------------------------------------------------------- worked by hand
def bowed(build: Build) -> tuple[Any, Any, Any]:
    """(out of flat, span, diameter of the seal) of the hand calculation."""
    span = from_si(inspection.span_of(build), "length")
    return from_si(BOW, "lift"), span, build.get("gasket.seal_diameter")


def told(found: Inspection, system: str = "metric") -> str:
    """What the inspection makes of that bow."""
    item = inspection.item(found.seen, "warp")
    return TEXT.note("bowed", locals()).text(system)


def sources(found: Inspection) -> Shown:
    """Where the numbers of this lesson come from, with their status."""
    limit = tables.load("strain_limits")["permanent stretch while tightening"]
    return TEXT.shown("sources", {"texts": (*found.finish, *found.flat), "limit": limit})


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("10")
answer = EXERCISES.answer
# round figures of the exercises, m; all invented
_SMOOTH = {"metric": 0.2e-6, "inch": 10 * 0.0254e-6}  # Ra of a polished face
_STEP = {"metric": 100e-6, "inch": 4 * 0.0254e-3}  # bow, and lengthening of a fastener
_POLISHED = {
    "within": "smoother is always better",
    "below": "too fine",
    "mixed": "mixed",
    "above": "finer taken for rougher",
}


@EXERCISES.solver("polished")
def _(build: Build, system: str) -> Names:
    ra = _SMOOTH[system]
    gasket = "fibre body with steel ring"
    texts = surfaces.finish_wanted.si(gasket, "iron", ra)
    low, high = surfaces.rz_of_ra.si(ra)
    right = _POLISHED[inspection.agreed(texts)]
    rows = TEXT.rows("face", {"face": _rough(texts)})
    return locals()


@EXERCISES.solver("bow")
def _(build: Build, system: str) -> Names:
    bow, diameter = _STEP[system], build.gasket.seal_diameter
    found = find(build, bow=bow)
    warp = inspection.item(found.seen, "warp")
    against = sum(t.verdict == "above" for t in found.flat)
    texts = len(found.flat)
    rows = TEXT.rows("face", {"face": _flat(found.flat)})
    return locals()


@EXERCISES.solver("clamp")
def _(build: Build, system: str) -> Names:
    # a new gasket of the same kind is the same joint: what is on the sheet is taken as new
    cases = {
        "as it was, gasket new": reports.run(build),
        "a tenth more tightening": reports.run(tighter(build)),
    }
    leaks = [inspection.leaks_at(report) for report in cases.values()]
    if not leaks[1] > leaks[0]:
        raise fail("gasket", build.gasket.construction, "a seal that holds more with more clamp")
    rows = [
        {
            "case": case,
            "gas passes at": (at, "pressure") if np.isfinite(at) else "not reached",
            (margin := "smallest margin of strength"): lesson.result(report)[margin],
            "first to give": report.order[0].limit.short,
        }
        for (case, report), at in zip(cases.items(), leaks, strict=True)
    ]
    return locals()


@EXERCISES.solver("spring")
def _(build: Build, system: str) -> Names:
    worn = inspection.worn(build, 0.4)  # of the springback of a new seal is left
    item, once = inspection.item(worn.seen, "permanent_set"), inspection.fitted_once(worn.seen)
    means = item.consequence
    back = item.action == "reuse" and once
    do = TEXT.note("goes", locals()) if back else f"so {worn.seen.gasket} it"
    return locals()


@EXERCISES.solver("bolt")
def _(build: Build, system: str) -> Names:
    report, longer = reports.run(build), _STEP[system]
    c = report.clamp
    stretched = float(c.preload.nominal) / c.own_stiffness
    limit = tables.load("strain_limits")["permanent stretch while tightening"]
    rows = inspection.fastener_rows(report)
    return locals()
