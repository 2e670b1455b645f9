"""What the report means at the bench: how it is tightened, faces, ring and receiver, clearances.

Facts in words and numbers, taken from the floors below for the gasket of one report.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

from sealkit import tables
from sealkit.analysis import mating
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.fastening import tightening
from sealkit.pressure import geometry
from sealkit.report import Report
from sealkit.report.faces import span_of
from sealkit.report.notes import wrench_notes
from sealkit.report.record import decimals_of
from sealkit.report.tables import Facts, Rows, under
from sealkit.resources import beside
from sealkit.sealing import clearances, constructions, grooves, heat, surfaces
from sealkit.sealing.deck.sequence import STEPS
from sealkit.units import show, show_unit, show_value, to_si
from sealkit.words import Note, note

THICKER = 0.25e-3  # m, for the line that says what a thicker gasket does
RING = "copper with wire ring"
NO_WEIGHT = "common practice, no source"
_WORDS: dict[str, Any] = beside(__file__)


def facts(report: Report, system: str = "metric") -> list[Facts]:
    """Groups of (what, value) about the gasket of a report, in the shop's units.

    Their keys: "clamp", "ring", "clearances", "faces".
    """
    groups = [
        Facts(
            "clamp", "How the clamp is shared on the gasket (low preload)", shares(report, system)
        ),
        Facts("clearances", "Clearances and compression", clearance_facts(report, system)),
        Facts("faces", "Faces this gasket wants", face_facts(report, system)),
    ]
    if has_ring(report):
        groups.insert(1, Facts("ring", "Wire ring and receiver", ring_facts(report, system)))
    return [group for group in groups if group.rows]


def has_ring(report: Report) -> bool:
    """Whether the gasket is the construction of copper with a wire ring."""
    return report.build.gasket.construction == RING and not report.build.gasket.zones


def shares(report: Report, system: str) -> Rows:
    """Share of each zone in the clamp at assembly and at peak pressure; retorque."""
    joint = report.joint
    peak = joint.under_gas(report.sealing, report.gas.design_gauge)
    first = report.case.first
    rest = {z.name: z.extent * float(first.seated_loads[z.name][0]) for z in joint.gasket.zones}
    last = {z.name: z.extent * float(peak.zone_loads[z.name]) for z in joint.gasket.zones}
    out = []
    for z in joint.gasket.zones:
        kept = last[z.name] / rest[z.name] if rest[z.name] > 0 else 0.0
        out.append(
            (
                z.name,
                f"{share(rest, z.name)} of the clamp as tightened, {share(last, z.name)} at peak "
                f"({report.temperature}, after heat cycles); keeps {100 * kept:.0f} % of its load",
            )
        )
    again, more = "tightening again, cold, after the first heat", tightened_again(report)
    allowed = ", where the gasket's and the fastener's instructions allow it"
    return [
        *out,
        (again, f"{retorque(report, system).text(system)}{allowed}" if more else _ONCE),
    ]


def tightened_again(report: Report) -> bool:
    """Whether these fasteners are tightened again at all: not those that the wrench makes yield."""
    by_yield, c = report.build.fasteners.tightening == "yield", report.clamp
    return not (by_yield or c.yields_on_purpose or c.breaks or c.capped or c.permanent_stretch > 0)


def retorque(report: Report, system: str) -> Note:
    """What tightening again, cold, after the first heat would do to the low end."""
    cold = report.case.low
    held, again = (float(x.preload[0]) for x in (cold, heat.retorque(report.joint, cold)))
    places = decimals_of(held, "force", system, 3)
    return note(
        "would lift the low end from {held} to {again} per fastener",
        held=(held, "force", places),
        again=(again, "force", places),
    )


def share(loads: dict[str, float], name: str) -> str:
    """One zone's part of all loads, in percent."""
    whole = sum(loads.values())
    return f"{100 * loads[name] / whole:.0f} %" if whole > 0 else "none"


def ring(report: Report) -> grooves.WireRing:
    """Wire, groove and receiver of a copper gasket as its construction states them."""
    c = constructions.CopperWireRing.from_table(**mating(report.build))
    return grooves.wire_ring.si(
        c.wire_diameter,
        grooves.interference_width.si(c.wire_diameter),
        c.groove_depth,
        c.sheet_thickness,
        report.build.gasket.seal_diameter,
        c.receiver_width,
        c.receiver_depth,
        float(report.bore_clamp(report.case.first.assembly_preload[0])),
        c.groove_material,
        c.receiver_material,
        c.temper.removeprefix("copper, "),
    )


def ring_facts(report: Report, system: str) -> Rows:
    """What the ring does to the copper and what the shop says of it."""
    r = ring(report)
    seated = constructions.CopperWireRing.from_table(**mating(report.build)).seated
    known = ((f.name, f.metadata["kind"]) for f in dataclasses.fields(r) if f.metadata)
    told: dict[str, Any] = {k: (getattr(r, k), kind) for k, kind in known}
    told |= {k: (getattr(seated, k), "length") for k in ("formed", "bedded")}
    told |= {"seated": (seated.line_load, "line load")}
    told |= {k: (*told[k], 0) for k in ("protrusion_share", "spare")}
    out = [(what, note(words, **told).text(system)) for what, words in _WORDS["ring"].items()]

    def length(x: Any) -> str:
        return show(float(to_si(x, "length") if hasattr(x, "units") else x), "length", system)

    try:
        faces = grooves.groove_faces(report.build.head.material, report.build.block.material)
        out.append(("which face gets which", faces.reason))
    except InputError:
        out.append(("which face gets which", "hardness of these faces is not in the table"))
    for p in grooves.practice(r):
        if p.low is None or p.yours is None:
            continue
        ends = dict.fromkeys(length(x) for x in (p.low, p.high) if x is not None)
        ends = ends if p.low else {f"up to {length(p.high)}": None}
        out.append(
            (
                f"{p.topic} in shops: {p.what}",
                f"{' to '.join(ends)}; here {length(p.yours)} ({p.status})",
            )
        )
    out += [("mind", text) for text in (*r.faults, *r.warnings)]
    return out


def by_burette(volume: float, system: str) -> str:
    """A volume (m**3), also as a burette reads it, in cc in any shop."""
    in_cc = "" if system == "metric" else f" ({1e6 * volume:.1f} cc)"
    return f"{show(volume, 'volume', system)}{in_cc}"


def clearance_facts(report: Report, system: str) -> Rows:
    """What a thicker gasket and a clean-up pass do; squish where the deck clearance is known."""
    e, g = report.build.engine, report.build.gasket
    swept = float(geometry.swept_volume.si(e.bore, e.stroke))
    ratio = report.build.compression_ratio
    thicker = clearances.ratio_at_thickness.si(swept, ratio, g.bore, THICKER)
    clean = clearances.clean_up.si(swept, swept / (ratio - 1.0), e.bore)
    tools = (("burette", clean.volume_seen), ("gauge", clean.pressure_seen))
    seen = [name for name, sees in tools if sees]
    told = {
        "thicker": (THICKER, "length"),
        "was": f"{ratio:.2f}",
        "thick": f"{float(thicker):.2f}",
        "cut": (clean.cut, "lift"),
        "clean": f"{float(clean.compression_ratio):.2f}",
        "volume": by_burette(float(clean.volume_change), system),
        "pressure": f"{100 * float(clean.pressure_change):+.1f} %",
        "seen": f"shown by the {' and the '.join(seen)}" if seen else "too little to measure",
    }
    made = {k: note(words, **told).text(system) for k, words in _WORDS["clearances"].items()}
    heads = (note(words, **told).text(system) for words in made)
    return [*zip(heads, made.values(), strict=True), *squish_fact(report, system)]


def squish_fact(report: Report, system: str) -> Rows:
    """The squish clearance; nothing where the sheet gives no deck clearance."""
    chamber, thick = report.build.engine.chamber, report.build.gasket.compressed_thickness
    if chamber is None:
        return []
    gap = float(clearances.squish.si(thick, chamber.deck_clearance))
    return [("squish clearance, cold and at rest", show(gap, "length", system))]


def face_facts(report: Report, system: str) -> Rows:
    """Finish and flatness that the texts want, conflicts side by side."""
    name = report.build.gasket.construction
    if name not in constructions.names():
        return []
    out = []
    parts: dict[str, str] = {}
    for part in ("head", "block"):
        face = surfaces.face_of(getattr(report.build, part).material)
        parts[face] = f"{parts[face]} and {part}" if face in parts else part
    for face, part in parts.items():
        for text in surfaces.finish_wanted.si(name, face):
            out.append((f"{part} ({face}), finish Ra", _wanted(text, "finish", system)))
    flat = surfaces.flatness_wanted.si(name, span_of(report.build), report.build.bores_per_head)
    what = "head and deck, flatness"
    if len(flat) > 1:
        strict = min(flat, key=lambda text: float(text.most))
        out.append(
            (
                f"{what}: work to",
                f"{_shop(float(strict.most), 'lift', system)}, strictest shop rule below "
                f"({strict.key}); the instructions of the gasket come first",
            )
        )
    out += [(what, _wanted(text, "flatness", system)) for text in flat]
    return out


def _wanted(text: surfaces.SurfaceText, table: str, system: str) -> str:
    """What a text wants, and whether it speaks of this kind of gasket or of any."""
    kind = "roughness" if table == "finish" else "lift"
    ends = [_shop(float(x), kind, system) for x in (text.least, text.most) if x is not None]
    if text.least is None and ends:
        ends = [f"up to {ends[0]}"]
    elif text.most is None and ends:
        ends = [f"from {ends[0]}"]
    words = " to ".join(ends) or text.note
    every = tables.load(table)[text.key]["constructions"] == "all"
    return f"{words} ({text.key}; for {'any' if every else 'this kind of'} gasket; {text.status})"


def work_to(report: Report, system: str = "metric") -> list[dict[str, str]]:
    """One number for each face, the strictest of the texts, and the text it comes from."""
    name = report.build.gasket.construction
    if name not in constructions.names():
        return []
    out = []
    for part in ("head", "block"):
        face = surfaces.face_of(getattr(report.build, part).material)
        found = surfaces.finish_wanted.si(name, face)
        out.append(_strictest(f"{_FACE[part]}, finish Ra", found, "roughness", system))
    flat = surfaces.flatness_wanted.si(name, span_of(report.build), report.build.bores_per_head)
    strict = min(flat, key=lambda text: float(text.most))
    overall = tables.load("flatness")[strict.key]["measure"] == "overall"
    way = "in any direction" if overall else "lengthwise"
    out.append(_strictest(f"both faces, flat {way} within", [strict], "lift", system))
    return out


_FACE = {"head": "face of the head", "block": "deck of the block"}


def _shop(value: float, kind: str, system: str) -> str:
    """A shop's figure; of a small length no more than two figures are meant."""
    if kind != "lift":
        return show(value, kind, system)
    return show(value, kind, system, decimals_of(value, kind, system, 2))


def _strictest(
    what: str, texts: Sequence[surfaces.SurfaceText], kind: str, system: str
) -> dict[str, str]:
    """The lowest figure that a text allows at most, else the highest it asks at least."""
    most = [t for t in texts if t.most is not None]
    least = [t for t in texts if t.least is not None]
    if most:
        text = min(most, key=lambda t: float(t.most))
        number = f"{_shop(float(text.most), kind, system)} or less"
        if text.least is not None:
            number += f", not under {show(float(text.least), kind, system)}"
    elif least:
        text = max(least, key=lambda t: float(t.least))
        number = f"{show(float(text.least), kind, system)} or rougher, no upper figure given"
    else:
        # what is said of this kind of gasket before what is said of any
        text = max(texts, key=lambda t: tables.load("finish")[t.key]["constructions"] != "all")
        number = "no figure given"
    return {"what": what, "work to": number, "from": f"{text.key} ({text.status})"}


def order(build: Build) -> str:
    """In which order the fasteners of a head are tightened: common practice, no source."""
    one = build.bores_per_head == 1
    return "crosswise" if one else "from the middle outwards, in a spiral"


def costs(report: Report, failure: str) -> str:
    """What a failure of this kind costs; of coolant only where the deck has any."""
    return str(_WORDS["costs"][report.build.liquids.deck][failure])


# --------------------------------------------------------------------------- tightening
_STEPS = f"in {len(STEPS)} steps: " + " / ".join(f"{{{i}}}" for i in range(len(STEPS)))
_ONCE = "not tightened again: replaced or measured"
_AFTER = {False: "used once, by their own data", True: "measure before using again"}
_WRENCH = 5.0  # N·m or lbf·ft: the steps before the last are round numbers of the wrench


def steps_of(build: Build, system: str = "metric") -> list[Any]:
    """Stretch of the steps, or their torques as a wrench is set: round, the last by the sheet."""
    if build.fasteners.tightening == "stretch":
        stretch = build.fasteners.stretch or 0.0
        return [(share * stretch, "stretch") for share in STEPS]
    torque = float(show_value(build.fasteners.torque or 0.0, "torque", system))
    unit = show_unit("torque", system)
    steps = [_WRENCH * round(share * torque / _WRENCH) for share in STEPS[:-1]]
    return [f"{value:.0f} {unit}" for value in (*steps, torque)]


def settings(report: Report, system: str = "metric") -> dict[str, Any]:
    """What wrench, gauge and micrometer are set to or read, by name, each a figure."""
    f, c = report.build.fasteners, report.clamp
    preload = c.preload
    ends = {"least": preload.assembly_low, "mean": preload.assembly, "most": preload.assembly_high}
    steps = {str(i): step for i, step in enumerate(steps_of(report.build, system))}
    return {
        "torque": (float(f.torque or 0.0), "torque", 0),
        "angle": (f.angle or 0.0, "angle", 0),
        "stretch": (f.stretch or 0.0, "stretch"),
        **{k: (float(v) / c.own_stiffness, "stretch") for k, v in ends.items()},
        "steps": note(_STEPS, **steps),
        **steps,
    }


def ticked(report: Report, system: str = "metric") -> list[Note]:
    """What is ticked off at every fastener, step by step."""
    way, now = report.build.fasteners.tightening, settings(report, system)
    again = _WORDS["ticked_again"].get(way, []) if tightened_again(report) else []
    return [note(words, **now) for words in (*_WORDS["ticked"][way], *again)]


def procedure(report: Report, system: str = "metric") -> list[dict[str, Any]]:
    """The tightening procedure of a build, in figures: step, what to do, status."""
    f, c, own = report.build.fasteners, report.clamp, report.build.sheet.status
    friction, p = tightening.friction.si(f.lubricant), c.preload
    now = settings(report, system)
    status = f"{own}; steps: {NO_WEIGHT}" if f.tightening in ("torque", "stretch") else own
    middle, low, high = (float(x) for x in (p.assembly, p.assembly_low, p.assembly_high))
    places = decimals_of(middle, "force", system, 3)
    expect = note(
        "{middle} each ({low} to {high}), {mean} of stretch{mind}",
        mind="".join(f". {words.text().rstrip('.')}" for words in wrench_notes(c)),
        **{k: (x, "force", places) for k, x in (("middle", middle), ("low", low), ("high", high))},
        mean=now["mean"],
    )
    goes_on = "ring and receiver measured against their own sheet, then the gasket on"
    after: tuple[str, Any, str] = ("after the first heat", _ONCE, NO_WEIGHT)
    if tightened_again(report):
        words = _WORDS["again"][f.tightening] + ": this {gain}"
        after = (
            after[0],
            note(words, **now, gain=retorque(report, system)),
            trust(report.build, *(z.status for z in report.joint.gasket.zones)),
        )
    rows: list[tuple[str, Any, str]] = [
        ("measure", "faces, fasteners and clearances, and write down what is found", NO_WEIGHT),
        ("clean", f"chase and blow out every hole; no liquid below a {f.kind}", NO_WEIGHT),
        (
            "gasket",
            goes_on if has_ring(report) else "the gasket on, as its instructions say",
            NO_WEIGHT,
        ),
        ("lubricate", f"thread and {under(report.build)}: {f.lubricant}", str(friction.status)),
        ("order", f"{order(report.build)}, in every step", NO_WEIGHT),
        *((step, note(how, **now), status) for step, how in _WORDS["how"][f.tightening].items()),
        ("expect", expect, trust(report.build, str(friction.status), c.scatter_source[1])),
        after,
        (f"{f.kind}s", _AFTER[tightened_again(report)], NO_WEIGHT),
    ]
    return [{"step": step, "do": do, "status": said} for step, do, said in rows]


def trust(build: Build, *statuses: str) -> str:
    """Status of what is computed from this sheet and from numbers of these statuses."""
    own = build.sheet.status
    # what somebody puts on a sheet of his own is taken as from memory
    return tables.weakest("computed", own if own in tables.STATUSES else "from memory", *statuses)
