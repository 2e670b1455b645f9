"""Whether the faces of head and block let a construction be offered: finish and flatness.

The texts are shop practice and contradict each other: for layered steel no roughness satisfies all
three. Where a face lies beyond the ranges of all texts together, the construction falls out; where
only some refuse it, or it lies in a gap between their ranges, that is said to be disputed; what
nobody has measured is told as what to work the faces to.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sealkit.build import Build
from sealkit.sealing import constructions, surfaces
from sealkit.sealing.surfaces import SurfaceText
from sealkit.words import Note, note


@dataclass(frozen=True)
class Faces:
    """What the texts say of the faces of a build for one construction."""

    refused: bool = False  # whether a face lies beyond the ranges of all texts together
    words: tuple[Note, ...] = ()  # what speaks against them, and what is not on the sheet

    def text(self, system: str = "metric") -> str:
        """In words; empty where nothing is to be said."""
        return "; ".join(w.text(system) for w in self.words)


def span_of(build: Build) -> float:
    """Length of the face over the bores of one head, as the report takes it [m]."""
    return build.bores_per_head * 1.15 * build.engine.bore


def faces(build: Build, name: str) -> Faces:
    """Finish and flatness of the faces against the texts on a construction.

    What the sheet does not say of its faces is taken as in order; of a construction that is not of
    the kit no text speaks.
    """
    if name not in constructions.names():
        return Faces()
    said: list[tuple[bool, Note]] = []
    unknown: dict[str, Note] = {}
    for part in ("head", "block"):
        side = getattr(build, part)
        metal = surfaces.face_of(side.material)
        texts = surfaces.finish_wanted.si(name, metal, side.finish)
        if side.finish is None:
            unknown |= _work_to(f"Ra of {metal}", texts, "roughness")
        else:
            said += _judged(f"Ra {{found}} of the {part}", side.finish, texts, "roughness")
    flat = build.head.out_of_flat
    if flat is None and build.deck is not None and build.deck.lengthwise_bow:
        flat = abs(build.deck.lengthwise_bow)  # the bow that the deck map reckons with
    known = [x for x in (flat, build.block.out_of_flat) if x is not None]
    texts = surfaces.flatness_wanted.si(
        name, span_of(build), build.bores_per_head, False, sum(known)
    )
    if known:
        said += _judged("{found} out of flat", sum(known), texts, "lift")
    if len(known) < 2:
        unknown |= _work_to("combined flatness", texts, "lift")
    words = [w for _, w in said]
    if unknown:
        told = ", ".join(f"{what} {{{what}}}" for what in unknown)
        words.append(Note(f"faces not on the sheet: work them to {told}", (*unknown.items(),)))
    return Faces(any(refused for refused, _ in said), tuple(words))


def _judged(
    what: str, found: float, texts: Sequence[SurfaceText], kind: str
) -> list[tuple[bool, Note]]:
    """Whether what was found lies beyond all texts, and what is said; empty where none refuses."""
    judged = [t for t in texts if t.verdict]
    against = [t for t in judged if t.verdict != "within"]
    if not against:
        return []
    first = against[0]
    none = len(against) == len(judged)
    every = none and len({t.verdict for t in against}) == 1
    told = f"disputed, {surfaces.refusal(texts)} it"
    if none:
        told = "no shop rule allows it" if every else "disputed, in a gap between shop rules"
    over = first.verdict == "above"
    words = note(
        f"{what}: {told} ({{text}}: {'up to' if over else 'from'} {{end}})",
        found=(found, kind),
        text=first.key,
        end=(float(first.most if over else first.least), kind),
    )
    return [(every, words)]


def _work_to(what: str, texts: Sequence[SurfaceText], kind: str) -> dict[str, Note]:
    """The range that no text refuses; where there is none, that they disagree."""
    least = max((float(t.least) for t in texts if t.least is not None), default=None)
    most = min((float(t.most) for t in texts if t.most is not None), default=None)
    if least is None and most is None:
        return {}
    if least is None or most is None:
        words = "from {least}" if most is None else "up to {most}"
    elif least > most:
        words = "up to {most} or from {least} (shop rules disagree)"
    else:
        words = "{least} to {most}"
    return {what: note(words, least=(least, kind), most=(most, kind))}
