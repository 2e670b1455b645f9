"""What a teardown means: a used gasket and its faces, judged.

The questions stand in the table teardown; the consequence of each answer is worked out on the
gasket's own curves and ends in reuse, resurface or replace, with the reason.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from sealkit import tables
from sealkit.errors import Fault, InputError, fail, near, short
from sealkit.sealing import constructions, flow, grooves, surfaces
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.surfaces import SurfaceText, fits, name_of
from sealkit.units import (
    UnitFunction,
    check_range,
    field,
    quantify,
    show,
    to_si,
    with_units,
)

__all__ = ["Finding", "Findings", "LocalLoss", "Question", "inspect", "local_loss", "questions"]

ORDER = ("reuse", "resurface", "replace")
_RULE = "rule of the trade"
_YES = {True: True, False: False, "yes": True, "no": False, "true": True, "false": False}


# --------------------------------------------------------------------------- local loss of load
@dataclass(frozen=True)
class LocalLoss:
    """Load of a zone beside a place that stands back, and at that place (plain SI).

    Parameters
    ----------
    sound, local : load beside and at the place [N/m], of a zone of area [Pa]
    lost : share lost
    wanted : least load wanted there
    holds : True where local reaches wanted
    """

    sound: Any
    local: Any
    lost: Any
    wanted: Any
    holds: Any


@with_units(closure="length >= 0", gap="lift >= 0", pressure="gauge pressure >= 0")
def local_loss(
    zone: Zone, closure: Any, gap: Any, pressure: Any = 0.0, used: bool = True
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


def _closure_at(zone: Zone, load: float) -> float:
    """Least closure at which the loading curve carries this load; its last slope goes on."""
    x, y = zone.closure, zone.load
    if load <= y[0]:
        return float(x[0])
    i = int(np.clip(np.searchsorted(y, load), 1, len(x) - 1))
    rise = y[i] - y[i - 1]
    if not rise > 0.0:
        raise fail("load", f"{load:g}", f"a load that {zone.name} can carry")
    return float(x[i - 1] + (load - y[i - 1]) / rise * (x[i] - x[i - 1]))


# --------------------------------------------------------------------------- questions
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


def _rows(name: str, rules: bool = False) -> list[Mapping[str, Any]]:
    """Rows of the table teardown for a construction: its questions, or the trade's rules."""
    rows = tables.load("teardown").rows
    return [r for r in rows if (r["answer"] == "rule") is rules and fits(r, name)]


def questions(construction: str | Gasket) -> tuple[Question, ...]:
    """Questions of the teardown inspection that fit a construction.

    Parameters
    ----------
    construction : name, or a gasket of the user's own

    Raises
    ------
    InputError
        for an unknown construction.
    """
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
        for row in _rows(name_of(construction))
    )


# --------------------------------------------------------------------------- findings
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
    sound, local, wanted : line load beside the place, at it, and wanted [N/m]; None where the
        finding is no matter of load
    springback, springback_new : left in the used seal and in a new one [m]; None likewise
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


def _answer(key: str, value: Any, row: Mapping[str, Any], zone: Zone) -> Any:
    """One answer as a plain value."""
    where, kind = f"findings.{key}", row["answer"]
    if kind == "yes or no":
        word = value.strip().lower() if isinstance(value, str) else value
        if not isinstance(word, str | bool) or word not in _YES:
            raise InputError(Fault(where, short(value), "yes or no"))
        return _YES[word]
    plain = to_si(value, kind, where)
    if np.ndim(plain):
        raise InputError(Fault(where, "several numbers", "one length, at the worst place"))
    fault = check_range(plain, f"{kind} >= 0", where)
    if fault is None and row["part"] == "gasket" and 0 < zone.free_thickness < plain:
        free = show(zone.free_thickness, "length")
        fault = Fault(where, short(value), f"less than the free {free}")
    if fault is not None:
        raise InputError(fault)
    return plain


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
        try:
            if key not in rows:
                wanted = "one of " + ", ".join(rows) + near(key, rows)
                raise InputError(Fault(f"findings.{key}", "an unknown finding", wanted))
            out[key] = _answer(key, value, rows[key], zone)
        except InputError as err:
            faults += err.faults
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
    face : "aluminium" or "iron", for the finish and for what the face under a wire bears (A356-T6
        or grey iron)
    span, bore : over which warp was measured, and diameter of the seal [m]: a long bow leaves
        little of itself within one bore (`surfaces.local_warp`); None takes all of it as a step
    cylinders : in the bank, for the texts on flatness; those want the span too
    zone : name of the zone to judge; None takes the combustion seal with the highest seating load
    system : "metric" or "inch", the units of the words

    Raises
    ------
    InputError
        listing every bad answer, or for an unknown construction, zone or face.

    Notes
    -----
    Rigid faces beside a gap: the upper figure of the loss. Bolts are not part of this inspection.
    Questions, signs and rules from the table teardown; curves are those of the construction.
    """
    name = name_of(construction)
    gasket = construction if isinstance(construction, Gasket) else constructions.make(name)
    if face not in surfaces.FACES:
        raise fail("face", face, " or ".join(f'"{f}"' for f in surfaces.FACES))
    lines = {z.name: z for z in gasket.zones if z.per == "length"}
    if zone is not None and zone not in lines:
        raise fail("zone", zone, "one of " + ", ".join(lines) + near(str(zone), lines))
    judged = lines[zone] if zone is not None else max(gasket.seals, key=lambda z: z.seating)
    rows = {r["key"]: r for r in _rows(name)}
    answers = _answers(findings, rows, judged)
    if line_load is None:
        line_load = 2.0 * judged.seating if judged.seating > 0 else 0.5 * float(judged.load[-1])
    seal = _Seal(judged, _closure_at(judged, float(line_load)), pressure, lift, system)

    items: list[Finding] = []
    for key, value in answers.items():
        row = rows[key]
        used = row["part"] == "gasket" or not new_gasket
        effect = row["effect"]
        if effect == "gap":
            made = seal.over(value, used)
        elif effect == "warp":
            made = seal.warped(value, used, span, bore)
            if span is not None:
                texts = surfaces.flatness_wanted.si(construction, span, cylinders, False, value)
                made = _with_texts(made, texts, "out of flat")
        elif effect == "set":
            made = seal.set_by(value)
        elif effect == "least":
            least = show(row["limit"], "lift", system=system)
            made = {
                "consequence": f"at least {least} is wanted",
                "bad": value < row["limit"] * (1 - 1e-9),
            }
        elif effect == "finish":
            known = name in constructions.names()
            texts = surfaces.finish_wanted.si(name, face, value) if known else ()
            made = _with_texts({"consequence": "", "bad": False}, texts, "rough")
        elif effect == "hard copper":
            made = _hard_copper(value, {"aluminium": "A356-T6", "iron": "grey iron"}[face], system)
        elif value:
            made = seal.over(seal.closure, True) | {"bad": True}
        else:
            made = {"consequence": "nothing lost", "bad": False}
        yes = row["answer"] == "yes or no"
        said = ("yes" if value else "no") if yes else show(value, "lift", system=system)
        action = row["action"] if made.pop("bad") else "reuse"
        items.append(_finding(row, said, made.pop("consequence"), action, **made))

    computed = _gravest(i.action for i in items)
    if not new_gasket:
        rules = _rows(name, rules=True)
        items += [_finding(row, _RULE, row["sign"], row["action"], sign="") for row in rules]
    on_gasket = "replace" if new_gasket else _gravest(i.action for i in items if i.part == "gasket")
    on_face = _gravest(i.action for i in items if i.part == "face")
    verdict = on_face if new_gasket else _gravest((on_gasket, on_face))
    return Findings(
        on_gasket,
        on_face,
        verdict,
        computed,
        _reason(items, new_gasket),
        tuple(items),
        judged.name,
        seal.closure,
        line_load,
    )


def _finding(
    row: Mapping[str, Any], answer: str, consequence: str, action: str, **more: Any
) -> Finding:
    said = {k: row[k] for k in ("sign", "source", "status", "note")}
    return Finding(row["key"], row["part"], answer, consequence, action, **(said | more))


def _gravest(actions: Iterable[str]) -> str:
    return max(actions, key=ORDER.index, default="reuse")


@dataclass(frozen=True)
class _Seal:
    """The zone that is judged, where it is sound: its closure, what it seals and follows."""

    zone: Zone
    closure: float
    pressure: float
    lift: float
    system: str

    def over(self, gap: float, used: bool) -> dict[str, Any]:
        """Over a place that stands back by a gap."""
        out = local_loss.si(self.zone, self.closure, gap, self.pressure, used)
        loads = {"sound": out.sound, "local": out.local, "wanted": out.wanted}
        full, left, want = (show(v, "line load", self.system) for v in loads.values())
        lost = show(out.lost, "fraction")
        return {
            "consequence": f"{left} of {full} left there ({lost} lost), {want} wanted",
            "bad": not out.holds,
            **{name: float(load) for name, load in loads.items()},
        }

    def warped(self, bow: float, used: bool, span: Any, bore: Any) -> dict[str, Any]:
        """Over a warped face: of a long bow, what is left within the bore."""
        gap = bow
        if span is not None and bore is not None:
            gap = float(surfaces.local_warp.si(bow, span, bore))
        made = self.over(gap, used)
        if gap != bow:
            within = f"{show(gap, 'lift', self.system)} of it within the bore"
            made["consequence"] = f"{within}; {made['consequence']}"
        return made

    def set_by(self, lost: float) -> dict[str, Any]:
        """After a set: springback left, and load where the set is more than a first loading."""
        fresh = float(self.zone.recovery(self.closure))
        made = self.over(max(lost - (self.closure - fresh), 0.0), True)
        left = min(max(self.closure - lost, 0.0), fresh)
        follows = left >= self.lift
        have, usual, way = (show(v, "lift", self.system) for v in (left, fresh, self.lift))
        followed = f", lift {way} {'is' if follows else 'is not'} followed" if self.lift else ""
        back = f"springs back {have} where {usual} is usual after this load{followed}"
        return made | {
            "consequence": f"{back}; {made['consequence']}",
            "springback": left,
            "springback_new": fresh,
            "bad": made["bad"] or not follows,
        }


def _hard_copper(ran: bool, material: str, system: str) -> dict[str, Any]:
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
    all_refuse = bool(judged) and len(refuse) == len(judged)
    if not judged:
        said = "no text gives a figure"
    elif not refuse:
        said = f"within what {'the one text wants' if len(judged) == 1 else 'all texts want'}"
    else:
        why = {"below": "too fine", "above": "too rough" if word == "rough" else f"too far {word}"}
        listed = "; ".join(f"{t.key}: {why[t.verdict]}" for t in refuse)
        said = f"{len(refuse)} of {len(judged)} texts refuse it ({listed})"
        said += "" if all_refuse else ": texts disagree"
    parts = [p for p in (made["consequence"], said) if p]
    return made | {
        "consequence": "; ".join(parts),
        "bad": made["bad"] or all_refuse,
        "texts": texts,
    }


def _reason(items: list[Finding], new_gasket: bool) -> str:
    against = [i for i in items if i.action != "reuse" and not (new_gasket and i.part == "gasket")]
    if not against:
        return "no finding speaks against it"
    return "; ".join(
        f"{i.action} ({i.key.replace('_', ' ')}: {i.consequence}"
        + (f"; {i.sign}" if i.sign and i.answer != _RULE else "")
        + ")"
        for i in sorted(against, key=lambda i: -ORDER.index(i.action))
    )
