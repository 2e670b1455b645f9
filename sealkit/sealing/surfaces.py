"""Faces and used gaskets: finish and flatness wanted, and what a teardown means.

Finish and flatness are shop practice, and shops disagree: every text is shown beside the others.
The questions of a teardown stand in the table teardown; the consequence of each answer is worked
out on the gasket's own curves and ends in reuse, resurface or replace, with the reason.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from sealkit import tables
from sealkit.errors import Fault, InputError, fail, near, short
from sealkit.sealing import constructions, flow, grooves
from sealkit.sealing.gaskets import PER, Gasket, Zone
from sealkit.sealing.grooves import each_quantified
from sealkit.units import (
    UnitFunction,
    check_range,
    field,
    from_si,
    quantify,
    show,
    to_si,
    with_units,
)

__all__ = [
    "Finding",
    "Findings",
    "LocalLoss",
    "Question",
    "SurfaceText",
    "closure_at",
    "face_of",
    "finish_wanted",
    "flatness_wanted",
    "inspect",
    "local_loss",
    "local_warp",
    "questions",
    "rz_of_ra",
]

FACES = ("aluminium", "iron")
ORDER = ("reuse", "resurface", "replace")
_KIND = {"length": "length", "roughness": "roughness"}
_YES = {True: True, False: False, "yes": True, "no": False, "true": True, "false": False}


def face_of(material: str) -> str:
    """What a face of this material counts as in the texts on finish: one of `FACES`.

    They tell iron from aluminium and know no other metal.
    """
    family = tables.load("materials").get(material, "material")["family"]
    return "iron" if family == "iron" else "aluminium"


def _fits(row: Mapping[str, Any], construction: str) -> bool:
    names = [n.strip() for n in row["constructions"].split(";")]
    return names == ["all"] or construction in names


def _name(construction: str | Gasket) -> str:
    if isinstance(construction, Gasket):
        return construction.name
    known = constructions.names()
    if construction not in known:
        raise fail(
            "construction",
            construction,
            "one of " + ", ".join(known) + near(str(construction), known),
        )
    return construction


# --------------------------------------------------------------------------- finish and flatness
@dataclass(frozen=True)
class SurfaceText:
    """What one text wants of a face.

    Parameters
    ----------
    key : name of the row
    least, most : range wanted, m; None where the text has no figure
    yours : what was measured, m; None if nothing was given
    verdict : "", "within", "below" (too fine) or "above" (too rough, or out of flat)
    source, status, note : where the figure comes from; conflicts are in the note
    """

    key: str
    least: Any = field("lift")
    most: Any = field("lift")
    yours: Any = field("lift")
    verdict: str = ""
    source: str = ""
    status: str = ""
    note: str = ""


def _verdict(least: float | None, most: float | None, yours: float | None) -> str:
    if yours is None or (least is None and most is None):
        return ""
    if least is not None and yours < least * (1 - 1e-9):
        return "below"
    return "above" if most is not None and yours > most * (1 + 1e-9) else "within"


@each_quantified
@with_units(roughness="roughness >= 0")
def finish_wanted(
    construction: str, face: str = "aluminium", roughness: Any = None
) -> tuple[SurfaceText, ...]:
    """Surface finish (Ra) that the texts want for a construction, side by side.

    Parameters
    ----------
    construction : name of a construction
    face : "aluminium" or "iron"
    roughness : Ra measured [m], such as "30 microinch" or "0.8 um"; None for the figures alone

    Returns
    -------
    tuple of SurfaceText

    Raises
    ------
    InputError
        for an unknown construction or face.

    References
    ----------
    Table finish; all of it shop practice.
    """
    name = _name(construction)
    if face not in FACES:
        raise fail("face", face, " or ".join(f'"{f}"' for f in FACES))
    return tuple(
        SurfaceText(
            row["key"],
            row["least"],
            row["most"],
            roughness,
            _verdict(row["least"], row["most"], roughness),
            row["source"],
            row["status"],
            row["note"],
        )
        for row in tables.load("finish").rows
        if _fits(row, name) and row["face"] in ("any", face)
    )


@with_units(returns=("roughness", "roughness"), roughness="roughness >= 0")
def rz_of_ra(roughness: Any) -> tuple[Any, Any]:
    """Range of Rz that goes with an Ra on milled faces: 4 to 7 times Ra.

    Parameters
    ----------
    roughness : Ra [m]

    Returns
    -------
    Rz low, Rz high [m]

    Raises
    ------
    InputError
        for a negative roughness.

    Notes
    -----
    From memory; the ratio depends on the cutter.
    """
    ra = np.asarray(roughness, dtype=float)
    return 4.0 * ra, 7.0 * ra


@each_quantified
@with_units(span="length > 0", out_of_flat="lift >= 0")
def flatness_wanted(
    construction: str,
    span: Any,
    cylinders: int | None = None,
    across: bool = False,
    out_of_flat: Any = None,
) -> tuple[SurfaceText, ...]:
    """Flatness that the texts want for a construction, side by side.

    Parameters
    ----------
    construction : name of a construction
    span : length over which the face was measured [m]
    cylinders : in the bank, for the texts that count them; None leaves those out
    across : measured across the head, not lengthwise
    out_of_flat : measured [m]; None for the figures alone

    Returns
    -------
    tuple of SurfaceText, limits worked out for this span

    Raises
    ------
    InputError
        for an unknown construction or a span not above zero.

    References
    ----------
    Table flatness: shop practice, and one workshop manual.
    """
    name = _name(construction)
    if cylinders is not None and (isinstance(cylinders, bool) or cylinders < 1):
        raise fail("cylinders", cylinders, "the number of cylinders in the bank")
    return _flatness(name, span, cylinders, across, out_of_flat)


def _flatness(
    name: str, span: float, cylinders: int | None, across: bool, measured: float | None
) -> tuple[SurfaceText, ...]:
    out = []
    for row in tables.load("flatness").rows:
        low, high = row["span_low"] or 0.0, row["span_high"] or np.inf
        if not _fits(row, name) or not low < span <= high:
            continue
        most = row["limit"]
        if row["measure"] == "per cylinder":
            if cylinders is None or across:
                continue
            most *= cylinders
        elif row["measure"] == "per span":
            most *= span / row["per_span"]
        elif row["measure"] == "across" and not across:
            continue
        out.append(
            SurfaceText(
                row["key"],
                None,
                most,
                measured,
                _verdict(None, most, measured),
                row["source"],
                row["status"],
                row["note"],
            )
        )
    return tuple(out)


# --------------------------------------------------------------------------- local loss of load
@dataclass(frozen=True)
class LocalLoss:
    """Load of a zone beside a place that stands back, and at that place.

    Parameters
    ----------
    sound, local : line load beside and at the place, N/m (stress, Pa, for a zone of area)
    lost : share lost
    wanted : least load wanted there
    holds : True where local reaches wanted
    """

    sound: Any
    local: Any
    lost: Any = field("fraction")
    wanted: Any = 0.0
    holds: Any = True


def _closure_at(zone: Zone, load: Any) -> Any:
    want = np.asarray(load, dtype=float)
    low = np.zeros(want.shape)
    high = np.full(want.shape, float(zone.closure[-1]))
    for _ in range(60):
        short_of = zone.loading(high) < want
        if not np.any(short_of):
            break
        high = np.where(short_of, 2.0 * high, high)
    else:
        raise fail("load", f"{float(np.max(want)):g}", f"a load that {zone.name} can carry")
    for _ in range(60):
        middle = 0.5 * (low + high)
        under = zone.loading(middle) < want
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return high[()]


_CLOSURE_AT = {
    per: with_units(returns="length", load=f"{kind} >= 0")(_closure_at) for per, kind in PER.items()
}


def closure_at(zone: Zone, load: Any) -> Any:
    """Closure at which a zone carries this load on first loading.

    Parameters
    ----------
    zone : the zone
    load : line load [N/m], or stress [Pa] for a zone of area

    Returns
    -------
    closure [m]

    Raises
    ------
    InputError
        for a negative load, or one that the loading curve does not reach.
    """
    return _CLOSURE_AT[zone.per](zone, load)


def _zone_loads(door: UnitFunction) -> UnitFunction:
    """Gives the loads of a local loss the unit of its zone; the plain function stays plain."""

    @functools.wraps(door)
    def outer(zone: Zone, *args: Any, **kwargs: Any) -> LocalLoss:
        out = door(zone, *args, **kwargs)
        loads = {n: from_si(getattr(out, n), PER[zone.per]) for n in ("sound", "local", "wanted")}
        return cast(LocalLoss, quantify(dataclasses.replace(out, **loads)))

    return cast(UnitFunction, outer)


@_zone_loads
@with_units(closure="length >= 0", gap="lift >= 0", pressure="gauge pressure >= 0")
def local_loss(
    zone: Zone,
    closure: Any,
    gap: Any,
    pressure: Any = 0.0,
    used: bool = True,
) -> LocalLoss:
    """What a zone carries over a place that stands back by a gap.

    load = carried(c - gap, largest closure): a used zone has seen c there and comes back on its
    unloading path; a new one has seen c - gap only and is on its loading curve.

    Parameters
    ----------
    zone : the zone
    closure : c, of the zone beside the place [m]
    gap : by how much less the zone is pressed at the place [m]
    pressure : sealed [Pa gauge]; the load wanted is the larger of seating and residual load
    used : the zone was pressed to c there before

    Returns
    -------
    LocalLoss

    Raises
    ------
    InputError
        for a negative gap or closure.

    Notes
    -----
    The faces are taken as rigid beside the place: a head that bends into the gap loses less.
    """
    c, g = np.broadcast_arrays(np.asarray(closure, dtype=float), np.asarray(gap, dtype=float))
    left = np.maximum(c - g, 0.0)
    sound = zone.carried(c, c)
    local = zone.carried(left, c if used else left)
    lost = np.where(sound > 0, 1.0 - local / np.where(sound > 0, sound, 1.0), 0.0)
    wanted = np.maximum(zone.seating, zone.required(pressure))
    return LocalLoss(sound[()], local[()], lost[()], wanted[()], (local >= wanted)[()])


@with_units(returns="lift", out_of_flat="lift >= 0", span="length > 0", bore="length > 0")
def local_warp(out_of_flat: Any, span: Any, bore: Any) -> Any:
    """What a long smooth bow leaves within one bore: w (D/L)^2, at most w.

    Parameters
    ----------
    out_of_flat : w, over the span [m]
    span : L [m]
    bore : D, diameter of the seal [m]

    Returns
    -------
    gap under the middle of the bore once the bolts beside it are home [m]

    Raises
    ------
    InputError
        for a negative bow, or a length not above zero.

    Notes
    -----
    A parabola over the span. A step, a burnt edge or a mark is no bow:
    there the whole depth counts.

    References
    ----------
    Geometry of a shallow arc.
    """
    share = np.minimum(np.asarray(bore, dtype=float) / span, 1.0)
    return np.asarray(out_of_flat, dtype=float) * share**2


# --------------------------------------------------------------------------- teardown
@dataclass(frozen=True)
class Question:
    """One question of a teardown inspection.

    Parameters
    ----------
    key : name of the finding
    question : in words
    answer : "length", "roughness" or "yes or no"
    example : how to write the answer
    part : "gasket" or "face"
    sign : what it usually tells, or ""
    source, status, note : of the question and its consequence
    """

    key: str
    question: str
    answer: str
    example: str
    part: str
    sign: str
    source: str
    status: str
    note: str


_EXAMPLE = {"length": '"0.05 mm" or "2 thou"', "roughness": '"30 microinch"', "yes or no": "yes"}


def questions(construction: str | Gasket) -> tuple[Question, ...]:
    """Questions of the teardown inspection that fit a construction.

    Parameters
    ----------
    construction : name, or a gasket of the user's own

    Returns
    -------
    tuple of Question

    Raises
    ------
    InputError
        for an unknown construction.
    """
    name = _name(construction)
    return tuple(
        Question(
            row["key"],
            row["question"],
            row["answer"],
            _EXAMPLE[row["answer"]],
            row["part"],
            row["sign"],
            row["source"],
            row["status"],
            row["note"],
        )
        for row in tables.load("teardown").rows
        if row["answer"] != "rule" and _fits(row, name)
    )


@dataclass(frozen=True)
class Finding:
    """One finding and its consequence.

    Parameters
    ----------
    key : name of the finding
    part : "gasket" or "face"
    answer : as given, in words
    consequence : worked out, in words
    action : "reuse", "resurface" or "replace"
    sound, local, wanted : line load beside the place, at it, and wanted, N/m; None where the
        finding is no matter of load
    springback, springback_new : left in the used seal and in a new one, m; None likewise
    texts : what texts want, for finish and flatness
    sign, source, status, note : as in the table teardown
    """

    key: str
    part: str
    answer: str
    consequence: str
    action: str
    sound: Any = field("line load", default=None)
    local: Any = field("line load", default=None)
    wanted: Any = field("line load", default=None)
    springback: Any = field("lift", default=None)
    springback_new: Any = field("lift", default=None)
    texts: tuple[SurfaceText, ...] = ()
    sign: str = ""
    source: str = ""
    status: str = ""
    note: str = ""


@dataclass(frozen=True)
class Findings:
    """The outcome of a teardown inspection.

    Parameters
    ----------
    gasket : "reuse" or "replace"
    face : "reuse" or "resurface"
    verdict : the graver of the two
    computed : the verdict on the computed consequences alone, without the trade's rules
    reason : why, in words
    items : the findings one by one
    zone : the zone that was judged
    closure, line_load : of that zone where it is sound
    open_questions : keys that were not answered
    """

    gasket: str
    face: str
    verdict: str
    computed: str
    reason: str
    items: tuple[Finding, ...]
    zone: str
    closure: Any = field("lift")
    line_load: Any = field("line load")
    open_questions: tuple[str, ...] = ()


def _inspect_with_units(door: UnitFunction) -> UnitFunction:
    """Hands the findings on with units; the plain function gives plain SI numbers."""

    @functools.wraps(door)
    def outer(*args: Any, **kwargs: Any) -> Findings:
        out = door(*args, **kwargs)
        items = tuple(
            dataclasses.replace(quantify(i), texts=tuple(quantify(t) for t in i.texts))
            for i in out.items
        )
        return cast(Findings, quantify(dataclasses.replace(out, items=items)))

    return cast(UnitFunction, outer)


def _answers(
    findings: Mapping[str, Any], rows: Mapping[str, Mapping[str, Any]], zone: Zone
) -> dict[str, Any]:
    """Every answer as a plain value; all faults at once."""
    if not isinstance(findings, Mapping):
        raise fail("findings", findings, 'answers by name, such as {"warp": "0.05 mm"}')
    if not findings:
        raise fail("findings", "no answer", "at least one of " + ", ".join(rows))
    faults: list[Fault] = []
    out: dict[str, Any] = {}
    for key, value in findings.items():
        where = f"findings.{key}"
        if key not in rows:
            faults.append(
                Fault(where, "an unknown finding", "one of " + ", ".join(rows) + near(key, rows))
            )
            continue
        answer = rows[key]["answer"]
        if answer == "yes or no":
            word = value.strip().lower() if isinstance(value, str) else value
            if not isinstance(word, (str, bool)) or word not in _YES:
                faults.append(Fault(where, short(value), "yes or no"))
            else:
                out[key] = _YES[word]
            continue
        try:
            plain = to_si(value, _KIND[answer], where)
        except InputError as err:
            faults += err.faults
            continue
        if np.ndim(plain):
            faults.append(Fault(where, "several numbers", "one length, at the worst place"))
            continue
        fault = check_range(plain, f"{_KIND[answer]} >= 0", where)
        if fault is None and rows[key]["part"] == "gasket" and 0 < zone.free_thickness < plain:
            fault = Fault(
                where, short(value), f"less than the free {show(zone.free_thickness, 'length')}"
            )
        if fault is not None:
            faults.append(fault)
        out[key] = plain
    if faults:
        raise InputError(faults)
    return out


@_inspect_with_units
@with_units(
    line_load="line load > 0",
    pressure="gauge pressure >= 0",
    lift="lift >= 0",
    span="length > 0",
    bore="length > 0",
)
def inspect(
    construction: str | Gasket,
    findings: Mapping[str, Any],
    line_load: Any = None,
    pressure: Any = 0.0,
    lift: Any = 0.0,
    new_gasket: bool = False,
    face: str = "aluminium",
    face_material: str | None = None,
    span: Any = None,
    bore: Any = None,
    cylinders: int | None = None,
    zone: str | None = None,
    system: str = "metric",
) -> Findings:
    """Judge a used gasket and its faces: reuse, resurface or replace, with the reason.

    A place that stands back by g carries what `local_loss` says; a set seal springs back by
    closure - set. It holds if the load there reaches the larger of seating and residual load, and
    if the springback left follows the lift.

    Parameters
    ----------
    construction : name, or a gasket of the user's own
    findings : answers by the keys of `questions`; lengths with unit, yes or no
    line_load : on the seal where it is sound [N/m]; None takes twice the seating load of the zone
        (illustrative)
    pressure : sealed [Pa gauge]
    lift : of the head that the seal must follow [m]
    new_gasket : a new gasket goes on these faces; findings on the old one are told all the same
    face : "aluminium" or "iron", for the finish
    face_material : of the face under the wire, a name of the table face_hardness; None takes
        A356-T6 or grey iron by `face`
    span, bore : over which warp was measured, and diameter of the seal [m]: a long bow leaves
        little of itself within one bore (`local_warp`); None takes all of it as a step
    cylinders : in the bank, for the texts on flatness; those want the span too
    zone : name of the zone to judge; None takes the combustion seal with the highest seating load
    system : "metric" or "inch", the units of the words

    Returns
    -------
    Findings

    Raises
    ------
    InputError
        listing every bad answer, or for an unknown construction, zone or face.

    Notes
    -----
    Rigid faces beside a gap: the upper figure of the loss. Bolts are not part of this inspection.

    References
    ----------
    Questions, signs and rules: table teardown. Curves: those of the construction.
    """
    name = _name(construction)
    gasket = construction if isinstance(construction, Gasket) else constructions.make(name)
    if face not in FACES:
        raise fail("face", face, " or ".join(f'"{f}"' for f in FACES))
    material = face_material or {"aluminium": "A356-T6", "iron": "grey iron"}[face]
    lines = {z.name: z for z in gasket.zones if z.per == "length"}
    if zone is not None and zone not in lines:
        raise fail("zone", zone, "one of " + ", ".join(lines) + near(str(zone), lines))
    judged = lines[zone] if zone is not None else max(gasket.seals, key=lambda z: z.seating)
    rows = {
        r["key"]: r
        for r in tables.load("teardown").rows
        if r["answer"] != "rule" and _fits(r, name)
    }
    answers = _answers(findings, rows, judged)
    if line_load is None:
        line_load = 2.0 * judged.seating if judged.seating > 0 else 0.5 * float(judged.load[-1])
    closure = float(_closure_at(judged, line_load))

    items: list[Finding] = []
    for key, value in answers.items():
        row = rows[key]
        used = row["part"] == "gasket" or not new_gasket
        base = {
            "key": key,
            "part": row["part"],
            "sign": row["sign"],
            "source": row["source"],
            "status": row["status"],
            "note": row["note"],
        }
        if row["answer"] == "yes or no":
            base["answer"] = "yes" if value else "no"
        else:
            base["answer"] = show(value, "lift", system=system)
        effect = row["effect"]
        if effect in ("gap", "warp"):
            gap = value
            if effect == "warp" and span is not None and bore is not None:
                gap = float(local_warp.si(value, span, bore))
            made = _of_gap(judged, closure, gap, pressure, used, system)
            if gap != value:
                made["consequence"] = (
                    f"{show(gap, 'lift', system)} of it within the bore; {made['consequence']}"
                )
            if effect == "warp" and span is not None:
                texts = _flatness(name, span, cylinders, False, value)
                made = _with_texts(made, texts, "out of flat")
        elif effect == "set":
            made = _of_set(judged, closure, value, pressure, lift, system)
        elif effect == "least":
            bad = value < row["limit"] * (1 - 1e-9)
            made = {
                "consequence": f"at least {show(row['limit'], 'lift', system=system)} is wanted",
                "bad": bad,
            }
        elif effect == "finish":
            texts = finish_wanted.si(construction, face, value) if name in _known() else ()
            made = _with_texts({"consequence": "", "bad": False}, texts, "rough")
        elif effect == "hard copper":
            made = _of_hard_copper(value, material, system)
        else:
            made = _of_loss(judged, closure, value, pressure, system)
        action = row["action"] if made.pop("bad") else "reuse"
        items.append(Finding(action=action, **base, **made))

    computed = _gravest(i.action for i in items)
    if not new_gasket:
        for row in tables.load("teardown").rows:
            if row["answer"] == "rule" and _fits(row, name):
                items.append(
                    Finding(
                        row["key"],
                        row["part"],
                        "rule of the trade",
                        row["sign"],
                        row["action"],
                        source=row["source"],
                        status=row["status"],
                        note=row["note"],
                    )
                )
    on_gasket = "replace" if new_gasket else _gravest(i.action for i in items if i.part == "gasket")
    on_face = _gravest(i.action for i in items if i.part == "face")
    verdict = on_face if new_gasket else _gravest((on_gasket, on_face))
    return Findings(
        on_gasket,
        on_face,
        verdict,
        computed,
        _reason(items, verdict, new_gasket),
        tuple(items),
        judged.name,
        closure,
        line_load,
        tuple(k for k in rows if k not in answers),
    )


def _known() -> list[str]:
    return constructions.names()


def _gravest(actions: Any) -> str:
    return max(actions, key=ORDER.index, default="reuse")


def _of_gap(
    zone: Zone, closure: float, gap: float, pressure: float, used: bool, system: str
) -> dict[str, Any]:
    out = local_loss.si(zone, closure, gap, pressure, used)
    left, full, want = (show(v, "line load", system) for v in (out.local, out.sound, out.wanted))
    return {
        "consequence": (
            f"{left} of {full} left there ({show(out.lost, 'fraction')} lost), {want} wanted"
        ),
        "bad": not out.holds,
        "sound": float(out.sound),
        "local": float(out.local),
        "wanted": float(out.wanted),
    }


def _of_set(
    zone: Zone, closure: float, lost: float, pressure: float, lift: float, system: str
) -> dict[str, Any]:
    fresh = float(zone.recovery(closure))
    left = float(np.clip(closure - lost, 0.0, None))
    # set that the first loading explains costs no load; more than that is a gap
    beyond = max(lost - (closure - fresh), 0.0)
    made = _of_gap(zone, closure, beyond, pressure, True, system)
    left = min(left, fresh)
    follows = left >= lift
    have, usual, way = (show(v, "lift", system) for v in (left, fresh, lift))
    made["consequence"] = (
        f"springs back {have} where {usual} is usual after this load"
        + (f", lift {way} {'is' if follows else 'is not'} followed" if lift else "")
        + f"; {made['consequence']}"
    )
    made |= {"springback": left, "springback_new": fresh, "bad": made["bad"] or not follows}
    return made


def _of_loss(
    zone: Zone, closure: float, lost: bool, pressure: float, system: str
) -> dict[str, Any]:
    if not lost:
        return {"consequence": "nothing lost", "bad": False}
    return _of_gap(zone, closure, closure, pressure, True, system) | {"bad": True}


def _of_hard_copper(ran: bool, material: str, system: str) -> dict[str, Any]:
    copper = "copper, hard" if ran else "copper, annealed"
    bears = float(flow.indentation_pressure.si(copper))
    low, high = grooves.face_hardness.si(material)[2:]
    own, least, most = (show(v, "stress", system, decimals=0) for v in (bears, low, high))
    said = f"{copper} bears {own} under the wire, {material} {least} to {most}: "
    if bears < low:
        return {"consequence": said + "the copper gives way, as it should", "bad": False}
    gives = "the face gives way" if bears > high else "a soft casting gives way before the copper"
    return {"consequence": said + gives + "; anneal it and judge again", "bad": True}


def _with_texts(made: dict[str, Any], texts: tuple[SurfaceText, ...], word: str) -> dict[str, Any]:
    judged = [t for t in texts if t.verdict]
    refuse = [t for t in judged if t.verdict != "within"]
    if not judged:
        said = "no text gives a figure"
    elif not refuse:
        said = f"within what {'the one text wants' if len(judged) == 1 else 'all texts want'}"
    else:
        said = f"{len(refuse)} of {len(judged)} texts refuse it (" + "; ".join(
            f"{t.key}: too {'fine' if t.verdict == 'below' else word}"
            if word == "rough"
            else f"{t.key}: too far {word}"
            for t in refuse
        )
        said += ")" if len(refuse) == len(judged) else "): texts disagree"
    parts = [p for p in (made["consequence"], said) if p]
    bad = made["bad"] or (bool(judged) and len(refuse) == len(judged))
    return made | {"consequence": "; ".join(parts), "bad": bad, "texts": texts}


def _reason(items: list[Finding], verdict: str, new_gasket: bool) -> str:
    against = [i for i in items if i.action != "reuse" and not (new_gasket and i.part == "gasket")]
    if not against:
        return "no finding speaks against it"
    order = sorted(against, key=lambda i: -ORDER.index(i.action))
    return "; ".join(
        f"{i.action} ({i.key.replace('_', ' ')}: {i.consequence}"
        + (f"; {i.sign}" if i.sign and i.answer != "rule of the trade" else "")
        + ")"
        for i in order
    )
