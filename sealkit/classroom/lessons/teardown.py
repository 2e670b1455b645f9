"""Lesson 10, teardown: reading a used gasket, reuse, what failed first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import report as reports
from sealkit import tables
from sealkit.analysis.wrench import tighter
from sealkit.build import Build
from sealkit.classroom.drawing.shown import Shown, cells, source_table
from sealkit.classroom.drawing.teardown_chart import BOW_MOST, PLOT, ROUGH_MOST, bow
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.lessons import lesson
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Guess, Knob, Pick, Rows, Scene, Sentence, Tile
from sealkit.drawing.used import used_gaskets
from sealkit.errors import fail
from sealkit.report import inspection
from sealkit.report.inspection import BOW, ROUGH, SET, Inspection, find
from sealkit.sealing import constructions, surfaces, teardown
from sealkit.sealing.limit import Outcome
from sealkit.units import from_si
from sealkit.words import Note, figure_text, note

CHECKS = {
    "sheet-tests": ["F36-compressibility", "F36-recovery", "F38-relaxation"],
    "angle-stretch": ["A1-stretch", "A1-angle", "A3-bolt"],
    "indentation": ["I1-meyer", "T300-A"],
}


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
_FOUND = (
    "Used gasket: {gasket}. {seal}Face: {face} (Ra {rough}, out of flat by {bow}, {inside} of it "
    "within one bore; {texts}). Design peak pressure: {peak}. {gives}"
)
_GIVES = {
    "rising": "As pressure rises, first at {at}: {what}{average}.",
    "before": "Before firing already: {what}{average}.",
    "nothing": "Nothing fails up to three times this pressure.",
}
_HEADS = {"reuse": "FACE SERVES", "resurface": "RESURFACE", "disputed": "SHOP RULES DISAGREE"}
_WORN = "REPLACE THE SEAL"
_BACK = "Used seal springs back {left}, lift {lift}; carries {local}, {wanted} wanted. "
_INSIDE = "Bow in one bore: {inside}."
_ONCE = "Replace the gasket: {why}."


def _sentence(found: Inspection, system: str) -> Sentence:
    seen, gas, outcome = found.seen, found.report.gas, found.report.outcome
    at, what = next(iter(found.order), (np.inf, ""))
    how = "nothing" if not what else "rising" if at > gas.ambient else "before"
    first = inspection.decides_on_face(seen)
    this = "bow" if first.key == "warp" else "roughness"
    refuse = f"{said} this {this}" if (said := surfaces.refusal(first.texts)) else ""
    face = "disputed" if first.disputed and seen.face == "reuse" else seen.face
    seal, once = inspection.item(seen, "permanent_set"), inspection.fitted_once(seen)
    worn = seal.action == "replace"
    bad = worn or face == "resurface" or outcome is Outcome.FAILS
    sure = face == "reuse" and outcome is Outcome.HOLDS
    good = sure if bad or sure else None
    head = ", ".join([_WORN] * worn + [_HEADS[face]] * (not worn or face == "resurface"))
    if outcome is not Outcome.HOLDS:
        head += f", JOINT {str(outcome).upper()}"
    back = note(
        _BACK if worn else "",
        left=(seal.springback, "lift"),
        lift=(found.springback[2], "lift"),
        local=(seal.local, "line load"),
        wanted=(seal.wanted, "line load"),
    )
    words = note(
        _FOUND,
        gasket=seen.gasket,
        seal=back,
        face="serves" if face == "reuse" else face,
        rough=(found.rough, "roughness"),
        bow=(found.bow, "lift"),
        texts=refuse or f"no shop rule gives a {this} for this gasket",
        inside=(found.inside, "lift"),
        peak=(gas.design_peak, "pressure"),
        gives=note(_GIVES[how], at=(at, "pressure"), what=what, average=found.report.by_what),
    )
    line = back.text(system) + (f"{refuse}. " if refuse else "")
    if not worn:  # of the bow there is a tile
        inside, why = (found.inside, "lift"), once.consequence if once else ""
        line += note(_ONCE if once else _INSIDE, inside=inside, why=why).text(system)
    face_has = (found.bow, "lift") if this == "bow" else (found.rough, "roughness")
    number = (seal.springback, "lift") if worn else face_has
    return Sentence(head, words.text(system), good, figure_text(number, system), line)


def _tiles(found: Inspection) -> Sequence[Tile]:
    rough, bow, seal = (
        inspection.item(found.seen, key) for key in ("roughness", "warp", "permanent_set")
    )
    follows, once = seal.action == "reuse", inspection.fitted_once(found.seen) is not None
    do = (": fitted once, replace it" if once else "") if follows else ": replace it"
    at = next(iter(found.order), (np.inf, ""))[0]
    first = (at, "pressure", 0) if np.isfinite(at) else "none"
    return (
        ("roughness Ra", (found.rough, "roughness"), _served(rough)),
        ("bow within one bore", (found.inside, "lift"), _served(bow)),
        (f"used seal springs back{do}", (seal.springback, "lift"), follows and not once),
        (f"first failure with a new seal{found.report.by_what}", first,
         at > found.report.gas.design_peak),
    )  # fmt: skip


def _served(found: teardown.Finding) -> bool | None:
    """Whether a face serves by this finding; None where shop rules disagree."""
    return None if found.disputed else found.action == "reuse"


_TITLES = {
    "roughness": "roughness of the face",
    "warp": "face out of flat",
    "permanent_set": "seal thinner than new",
}
_VERDICTS = {"below": "too fine", "above": "over it", "within": "within", "": "no figure"}
_WANTS = {
    (True, True): "{what} {least} to {most}",
    (True, False): "{what} from {least}",
    (False, True): "{what} up to {most}",
    (False, False): "no figure",
}


def _text_rows(texts: Sequence[surfaces.SurfaceText], what: str, kind: str) -> list[Any]:
    """What each text wants of a face, and this face."""
    return [
        {
            "shop rule": text.key,
            "wants": note(
                _WANTS[text.least is not None, text.most is not None],
                what=what,
                least=(text.least, kind),
                most=(text.most, kind),
            ),
            "this face": (text.yours, kind),
            "verdict": _VERDICTS[text.verdict],
            "status": text.status,
            "mind": text.note,
        }
        for text in texts
    ]


def _rough_rows(texts: Sequence[surfaces.SurfaceText]) -> list[Any]:
    return _text_rows(texts, "Ra", "roughness")


def _flat_rows(texts: Sequence[surfaces.SurfaceText]) -> list[Any]:
    return _text_rows(texts, "flat", "lift")


def _seen_rows(seen: teardown.Findings) -> list[dict[str, Figure]]:
    return [
        {
            "finding": _TITLES.get(i.key, i.key),
            "measured": i.answer,
            "means": i.consequence,
            "do": "shop rules disagree" if i.disputed else i.action,
            "status": i.status,
        }
        for i in seen.items
    ]


def _tables(found: Inspection, system: str) -> Mapping[str, Rows]:
    report = found.report
    face = [*_rough_rows(found.finish), *_flat_rows(found.flat)]
    order = reports.order_rows(report, system)
    return {
        "What was found, and what follows": cells(_seen_rows(found.seen), system),
        "Shop rules on this face, side by side": cells(face, system),
        f"Order as pressure rises{report.by_what}": [
            {"peak pressure": at, "what gives": what} for at, what in order
        ],
        "Fasteners: use them again?": cells(inspection.fastener_rows(report), system),
    }


def _marks(build: Build) -> list[dict[str, Figure]]:
    """What marks on a gasket of this construction tell."""
    name = build.gasket.construction
    if name not in constructions.names():
        raise fail("gasket.construction", name, "a construction of the kit, for its marks")
    return [
        {
            "look at": q.part,
            "question": q.question,
            "usually tells": q.sign or "nothing by itself: measure it",
            "status": q.status,
        }
        for q in teardown.questions(name)
    ]


def _again(build: Build) -> list[dict[str, Figure]]:
    """Reuse of a sound used gasket, construction by construction."""
    rows: list[dict[str, Figure]] = []
    for one in inspection.used_again(build):
        # no construction has more than one rule
        rule = next((i for i in one.seen.items if i.rule), None)
        says = "{action} ({why})" if rule else "no rule known here"
        rows.append(
            {
                "gasket, taken out sound": one.construction,
                "springs back": "" if one.springback is None else (one.springback, "lift"),
                "curves alone say": one.seen.computed,
                "the trade says": note(
                    says, **({"action": rule.action, "why": rule.consequence} if rule else {})
                ),
                "status of the rule": rule.status if rule else "",
            }
        )
    return rows


_ASKED = (
    "A new seal springs back {new}. This one came out {lost} thinner: how far does it spring back?"
)
_WHY = "One pressing leaves every seal thinner; only what goes beyond that costs springback."


def _question(found: Inspection) -> Note:
    return note(_ASKED, new=(found.springback[0], "lift"), lost=(found.lost, "lift"))


def picture(_: Build | None = None) -> Shown:
    """Used gaskets with their marks, and what each usually tells."""
    return Shown(*used_gaskets())


SCENE = Scene(
    name="teardown",
    words="What fails in which order as peak pressure rises, springback of the seal against lift, "
    "and the roughness and flatness of a face against what shop rules want of it",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    scope="this face and this gasket",
    fitted="new gasket",
    tiles=_tiles,
    joint=lambda found: found.report,
    drawing=lambda found, system: bow(found, system)[0],
    guess=Guess(_question, "spring", "1", "lift", ("spring words",), lambda _: note(_WHY)),
    buttons={
        "What the marks tell": lambda _, found, system: {
            "Look for, and what it usually tells": cells(_marks(found.report.build), system)
        },
        "Which gaskets go back in": lambda build, _, system: {
            "Used again? On this engine, every part sound": cells(_again(build), system)
        },
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
    loads = {k: (float(getattr(item, k)), "line load") for k in ("sound", "local", "wanted")}
    words = "the inspection: {sound} beside it, {local} there, {wanted} wanted"
    return note(words, **loads).text(system)


def sources(found: Inspection) -> Shown:
    """Where the numbers of this lesson come from, with their status."""
    limit = tables.load("strain_limits")["permanent stretch while tightening"]
    rows = [
        *((t.key, t.status, t.source) for t in (*found.finish, *found.flat)),
        (
            "signs and rules of the teardown",
            "common practice, no source",
            "shop notes; see the button on marks for each",
        ),
        (
            "load at a place that stands back, springback left",
            "computed",
            "the gasket's own curves (illustrative sizes)",
        ),
        ("stretch past yield that is let go", limit["status"], limit["source"]),
        ("roughness, bow and set at first", "invented", "this lesson"),
    ]
    return source_table("Sources of the teardown", rows)


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("10")
question, answer = EXERCISES.question, EXERCISES.answer
# round figures of the exercises, m; all invented
_SMOOTH = {"metric": 0.2e-6, "inch": 10 * 0.0254e-6}  # Ra of a polished face
_STEP = {"metric": 100e-6, "inch": 4 * 0.0254e-3}  # bow, and lengthening of a fastener
_FIBRE = "fibre body with steel ring"
_LEFT = 0.4  # of the springback of a new seal
_POLISHED = {
    "within": "smoother is always better",
    "below": "too fine",
    "mixed": "mixed",
    "above": "finer taken for rougher",
}


@EXERCISES.solver("polished")
def _(build: Build, system: str) -> Names:
    ra = _SMOOTH[system]
    gasket = _FIBRE
    texts = surfaces.finish_wanted.si(gasket, "iron", ra)
    low, high = surfaces.rz_of_ra.si(ra)
    right = _POLISHED[inspection.agreed(texts)]
    rows = _rough_rows(texts)
    return locals()


@EXERCISES.solver("bow")
def _(build: Build, system: str) -> Names:
    bow, diameter = _STEP[system], build.gasket.seal_diameter
    found = find(build, bow=bow)
    warp = inspection.item(found.seen, "warp")
    against = sum(t.verdict == "above" for t in found.flat)
    texts = len(found.flat)
    rows = _flat_rows(found.flat)
    return locals()


@EXERCISES.solver("clamp")
def _(build: Build, system: str) -> Names:
    # a new gasket of the same kind is the same joint: what is on the sheet is taken as new
    cases = {
        "as it was, gasket new": reports.run(build),
        "a tenth more tightening": reports.run(tighter(build)),
    }
    leaks = [inspection.leaks_at(report) for report in cases.values()]
    right = "more clamp" if leaks[1] > leaks[0] else "blame the gasket"
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
    worn = inspection.worn(build, _LEFT)
    item, once = inspection.item(worn.seen, "permanent_set"), inspection.fitted_once(worn.seen)
    means = item.consequence
    by_rule = "so by its curves it could go back. The trade says: {why}; so replace it"
    by_rule = by_rule if item.action == "reuse" and once else f"so {worn.seen.gasket} it"
    do = note(by_rule, why=once.consequence if once else "")
    return locals()


@EXERCISES.solver("bolt")
def _(build: Build, system: str) -> Names:
    report, longer = reports.run(build), _STEP[system]
    c = report.clamp
    stretched = float(c.preload.nominal) / c.own_stiffness
    limit = tables.load("strain_limits")["permanent stretch while tightening"]
    rows = inspection.fastener_rows(report)
    return locals()
