"""What a teardown means: a used gasket and its faces, judged.

The questions stand in the table teardown; the consequence of each answer is worked out on the
gasket's own curves and ends in reuse, resurface or replace.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from dataclasses import field as own_field
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import Fault, InputError, fail, near, short
from sealkit.resources import beside
from sealkit.sealing import constructions, flow, grooves, surfaces
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.surfaces import SurfaceText, fits, name_of
from sealkit.units import check_range, field, show, to_si, with_units
from sealkit.words import Note, note

ORDER = ("reuse", "resurface", "replace")
_YES = {True: True, False: False, "yes": True, "no": False, "true": True, "false": False}


# --------------------------------------------------------------------------- local loss of load
@dataclass(frozen=True)
class LocalLoss:
    """Load of a zone beside a place that stands back, and at that place (plain SI)."""

    # sound, local: load beside and at the place [N/m], of a zone of area [Pa]
    sound: Any
    local: Any
    lost: Any  # share lost
    wanted: Any  # least load wanted there
    holds: Any  # True where local reaches wanted


@with_units()
def local_loss(
    zone: Zone, closure: si.Length0, gap: si.Lift0, pressure: si.GaugePressure0 = 0.0
) -> LocalLoss:
    """What a zone carries over a place that stands back by a gap.

    load = carried(c - gap, largest closure c): it was pressed so far there and comes back on its
    unloading path. A new one, on its loading curve, carries no less.

    The faces are taken as rigid beside the place: a head that bends into the gap loses less.

    Parameters
    ----------
    zone : the zone
    closure : c, of the zone beside the place [m]
    gap : by how much less the zone is pressed at the place [m]
    pressure : sealed [Pa gauge]; the load wanted is the larger of seating and residual load
    """
    c, g = np.broadcast_arrays(np.asarray(closure, dtype=float), np.asarray(gap, dtype=float))
    left = np.maximum(c - g, 0.0)
    sound = zone.carried(c, c)
    local = zone.carried(left, c)
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
def _rows(name: str, rules: bool = False) -> list[Mapping[str, Any]]:
    """Rows of the table teardown for a construction: its questions, or the trade's rules."""
    rows = tables.load("teardown").rows
    return [r for r in rows if (r["answer"] == "rule") is rules and fits(r, name)]


def questions(construction: str | Gasket) -> list[Mapping[str, Any]]:
    """Questions of the teardown inspection that fit a construction: rows of the table teardown.

    Raises InputError for an unknown construction, by name or a gasket of the user's own.
    """
    return _rows(name_of(construction))


# --------------------------------------------------------------------------- findings
@dataclass(frozen=True)
class Finding:
    """One finding and its consequence, or a rule of the trade."""

    key: str  # name of the finding
    part: str  # "gasket" or "face"
    answer: Note  # as given
    consequence: Note  # worked out, in words
    action: str  # "reuse", "resurface" or "replace"
    # sound, local, wanted: line load beside the place, at it, and wanted [N/m]; None where the
    # finding is no matter of load
    sound: Any = field("line load", default=None)
    local: Any = field("line load", default=None)
    wanted: Any = field("line load", default=None)
    # springback, springback_new: left in the used seal and in a new one [m]; None likewise
    springback: Any = field("lift", default=None)
    springback_new: Any = field("lift", default=None)
    texts: tuple[SurfaceText, ...] = ()  # what texts want, for finish and flatness
    # sign, source, status, note: as in the table teardown
    sign: Note | str = ""
    source: str = ""
    status: str = ""
    note: str = ""
    rule: bool = False  # whether this is a rule of the trade, which nobody had to answer

    @property
    def disputed(self) -> bool:
        """Whether some texts refuse what it would else be left at, and some do not."""
        within = {t.verdict == "within" for t in self.texts if t.verdict}
        return self.action == "reuse" and len(within) == 2


@dataclass(frozen=True)
class Findings:
    """The outcome of a teardown inspection."""

    items: tuple[Finding, ...]  # the findings one by one, then the trade's rules
    zone: str  # the zone that was judged
    # closure, line_load: of that zone where it is sound
    closure: Any = field("lift")
    line_load: Any = field("line load")

    @property
    def gasket(self) -> str:
        """What to do with the gasket: "reuse" or "replace"."""
        return _gravest(self.items, "gasket")

    @property
    def face(self) -> str:
        """What to do with the face: "reuse" or "resurface"."""
        return _gravest(self.items, "face")

    @property
    def verdict(self) -> str:
        """The graver of the two."""
        return _gravest(self.items)

    @property
    def computed(self) -> str:
        """The verdict on the computed consequences alone, without the trade's rules."""
        return _gravest(i for i in self.items if not i.rule)


def _gravest(items: Iterable[Finding], part: str = "") -> str:
    """The gravest action of these findings, or of those on one part."""
    actions = (i.action for i in items if part in ("", i.part))
    return max(actions, key=ORDER.index, default="reuse")


def _joined(notes: Iterable[Note]) -> Note:
    """Those that say anything, with a semicolon between."""
    said = {f"part {i}": one for i, one in enumerate(notes) if one}
    return Note("; ".join(f"{{{name}}}" for name in said), tuple(said.items()))


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


# --------------------------------------------------------------------------- consequences
_WORDS: dict[str, Any] = beside(__file__)
_FACE_METAL = {"aluminium": "A356-T6", "iron": "grey iron"}  # what is taken for a face
_SHOWN_AS = {"length": "lift", "roughness": "roughness"}  # kind in which an answer is told


@dataclass(frozen=True)
class _Effect:
    """What follows from one answer: words, whether it speaks against use, its numbers."""

    words: Note
    bad: bool = False
    numbers: Mapping[str, Any] = own_field(default_factory=dict)
    texts: tuple[SurfaceText, ...] = ()


@dataclass(frozen=True)
class _Judge:
    """The zone that is judged where it is sound, what it seals and follows, and its face.

    The methods of `_EFFECTS` take (answer, row of the table).
    """

    construction: str | Gasket
    zone: Zone
    closure: float
    pressure: float
    lift: float
    metal: str
    span: float | None
    bore: float | None
    cylinders: int | None

    def over(self, gap: float, _: Mapping[str, Any]) -> _Effect:
        """Over a place that stands back by a gap."""
        out = local_loss.si(self.zone, self.closure, gap, self.pressure)
        loads = {k: float(getattr(out, k)) for k in ("sound", "local", "wanted")}
        told = {k: (load, "line load") for k, load in loads.items()}
        words = note(_WORDS["loads"], **told, lost=(float(out.lost), "fraction"))
        return _Effect(words, not out.holds, loads)

    def warped(self, bow: float, row: Mapping[str, Any]) -> _Effect:
        """Over a warped face: of a long bow, what is left within the bore."""
        if self.span is None:
            return self.over(bow, row)
        gap = bow
        if self.bore is not None:
            gap = float(surfaces.local_warp.si(bow, self.span, self.bore))
        made = self.over(gap, row)
        within = note(_WORDS["within"] if gap != bow else "", gap=(gap, "lift"))
        texts = surfaces.flatness_wanted.si(
            self.construction, self.span, self.cylinders, False, bow
        )
        return _with_texts(made, within, texts, "warp")

    def set_by(self, lost: float, row: Mapping[str, Any]) -> _Effect:
        """After a set: springback left, and load where the set is more than a first loading."""
        fresh = float(self.zone.recovery(self.closure))
        made = self.over(max(lost - (self.closure - fresh), 0.0), row)
        left = min(max(self.closure - lost, 0.0), fresh)
        follows = left >= self.lift
        end = _WORDS["followed" if follows else "not_followed"] if self.lift else ""
        told = {"left": left, "fresh": fresh, "lift": self.lift}
        back = note(_WORDS["back"] + end, **{k: (v, "lift") for k, v in told.items()})
        return _Effect(
            _joined([back, made.words]),
            made.bad or not follows,
            {**made.numbers, "springback": left, "springback_new": fresh},
        )

    def stands(self, height: float, row: Mapping[str, Any]) -> _Effect:
        """Of a height that must not be less than the table says."""
        least = row["limit"]
        return _Effect(note(_WORDS["least"], least=(least, "lift")), height < least * (1 - 1e-9))

    def finish(self, rough: float, _: Mapping[str, Any]) -> _Effect:
        """Of a face this rough, by the texts on the construction."""
        name, texts = name_of(self.construction), ()
        if name in constructions.names():
            face = surfaces.face_of(self.metal)
            texts = surfaces.finish_wanted.si(name, face, rough)
        return _with_texts(_Effect(note("")), note(""), texts, "finish")

    def hard_copper(self, ran: bool, _: Mapping[str, Any]) -> _Effect:
        """Of copper that has run under its wire, or was annealed since."""
        copper = "copper, hard" if ran else "copper, annealed"
        own = float(flow.indentation_pressure.si(copper))
        low, high = (float(x) for x in grooves.face_hardness.si(self.metal)[2:])
        gives = "copper" if own < low else "face" if own > high else "either"
        told = {"own": own, "least": low, "most": high}
        words = note(
            _WORDS["bears"],
            copper=copper,
            face=self.metal,
            gives=_WORDS["gives"][gives],
            **{k: (v, "stress", 0) for k, v in told.items()},
        )
        return _Effect(words, gives != "copper")

    def gone(self, yes: bool, row: Mapping[str, Any]) -> _Effect:
        """Where the seal is gone, nothing is carried."""
        if not yes:
            return _Effect(note(_WORDS["kept"]))
        return dataclasses.replace(self.over(self.closure, row), bad=True)


_EFFECTS: Mapping[str, Callable[[_Judge, Any, Mapping[str, Any]], _Effect]] = {
    "gap": _Judge.over,
    "warp": _Judge.warped,
    "set": _Judge.set_by,
    "least": _Judge.stands,
    "finish": _Judge.finish,
    "hard copper": _Judge.hard_copper,
    "lost": _Judge.gone,
}


def _with_texts(
    made: _Effect, before: Note, texts: tuple[SurfaceText, ...], effect: str
) -> _Effect:
    """An effect with what the texts say of it; bad where every one of them refuses."""
    judged = [t for t in texts if t.verdict]
    refuse = [t for t in judged if t.verdict != "within"]
    all_refuse = bool(judged) and len(refuse) == len(judged)
    if not judged:
        said = "no shop rule gives a figure"
    elif not refuse:
        said = f"within {'the one shop rule' if len(judged) == 1 else 'all shop rules'}"
    else:
        named = _WORDS["refused"][effect]
        listed = "; ".join(f"{t.key}: {named[t.verdict]}" for t in refuse)
        said = f"{surfaces.refusal(texts)} it ({listed})"
        said += "" if all_refuse else ": they disagree"
    words = _joined([before, made.words, note("{said}", said=said)])
    return dataclasses.replace(made, words=words, bad=made.bad or all_refuse, texts=texts)


# --------------------------------------------------------------------------- the inspection
@with_units(returns="fields")
def inspect(
    construction: str | Gasket,
    findings: Mapping[str, Any],
    line_load: si.LineLoad = None,
    pressure: si.GaugePressure0 = 0.0,
    lift: si.Lift0 = 0.0,
    face: str = "aluminium",
    span: si.Length = None,
    bore: si.Length = None,
    cylinders: int | None = None,
    zone: str | None = None,
) -> Findings:
    """Judge a used gasket and its faces: reuse, resurface or replace.

    A place that stands back by g carries what `local_loss` says; a set seal springs back by
    closure - set. It holds if the load there reaches the larger of seating and residual load, and
    if the springback left follows the lift.

    Rigid faces beside a gap: the upper figure of the loss. Bolts are not part of this inspection.
    Questions, signs and rules from the table teardown; curves are those of the construction. Raises
    InputError listing every bad answer, or for an unknown construction, zone or face.

    Parameters
    ----------
    construction : name, or a gasket of the user's own
    findings : answers by the keys of `questions`; lengths with unit, yes or no
    line_load : on the seal where it is sound [N/m]; None takes twice the seating load of the zone
        (illustrative)
    pressure : sealed [Pa gauge]
    lift : of the head that the seal must follow [m]
    face : "aluminium" or "iron", for the finish and for what the face under a wire bears (A356-T6
        or grey iron)
    span, bore : over which warp was measured, and diameter of the seal [m]: a long bow leaves
        little of itself within one bore (`surfaces.local_warp`); None takes all of it as a step
    cylinders : in the bank, for the texts on flatness; those want the span too
    zone : name of the zone to judge; None takes the combustion seal with the highest seating load
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
    closure, metal = _closure_at(judged, float(line_load)), _FACE_METAL[face]
    judge = _Judge(construction, judged, closure, pressure, lift, metal, span, bore, cylinders)
    items = [_finding(judge, rows[key], value) for key, value in answers.items()]
    items += [_rule(row) for row in _rows(name, rules=True)]
    return Findings(tuple(items), judged.name, closure, line_load)


def _finding(judge: _Judge, row: Mapping[str, Any], value: Any) -> Finding:
    """What one answer leads to."""
    made = _EFFECTS[row["effect"]](judge, value, row)
    if row["answer"] == "yes or no":
        said = note("yes" if value else "no")
    else:
        said = note("{value}", value=(value, _SHOWN_AS[row["answer"]]))
    return Finding(
        row["key"],
        row["part"],
        said,
        made.words,
        row["action"] if made.bad else "reuse",
        **made.numbers,
        texts=made.texts,
        **{k: row[k] for k in ("sign", "source", "status", "note")},
    )


def _rule(row: Mapping[str, Any]) -> Finding:
    """A rule of the trade, as it stands in the table."""
    known = {k: row[k] for k in ("key", "part", "action", "source", "status", "note")}
    told: dict[str, Any] = {
        "answer": note("rule of the trade"),
        "consequence": note("{said}", said=row["sign"]),
    }
    return Finding(**known, **told, rule=True)
