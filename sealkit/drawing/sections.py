"""Drawn sections through the edge of a bore, one for each gasket construction, opening with lift.

The gasket is drawn as it sits between head and block. Where the head lifts, the gap opens on the
drawing by a fixed number of points per micrometre, and the part that seals comes up with it as far
as it springs back. Nothing else is to scale.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass

from sealkit.drawing.svg import COLOURS, circle, framed, line, rect, word

PER_MICROMETRE = 3.0
_HIGHEST = 66.0  # of the opening, points of the drawing
_DECK, _FACE = 290.0, 226.0  # face of the block; face of the head at rest
_EDGE = 150.0  # edge of the bore
_SEAL = COLOURS["seal load"]
Drawn = tuple[list[str], list[str]]  # parts, labels
_STEEL, _FIBRE, _COPPER, _HEAD, _BLOCK = "#8f979e", "#dcb98a", "#c98a52", "#e3e7ea", "#c9ced3"


@dataclass(frozen=True)
class Opening:
    """How far the head has lifted at the seal, and what is said about it."""

    lift: float = 0.0  # of the head at the seal, m
    springback: float = 0.0  # how far the seal springs back, m
    told: str = ""  # the sentence below the drawing

    @property
    def up(self) -> float:
        """How far the head stands higher on the drawing."""
        return min(PER_MICROMETRE * 1e6 * max(self.lift, 0.0), _HIGHEST)

    @property
    def followed(self) -> float:
        """How far the top of the seal comes up with it."""
        return min(self.up, PER_MICROMETRE * 1e6 * max(self.springback, 0.0))

    @property
    def touches(self) -> bool:
        """Whether the seal still reaches the head."""
        return self.lift <= self.springback


# --------------------------------------------------------------------------- pieces
def _pointer(x0: float, y0: float, x1: float, y1: float) -> str:
    return line(f"M{x0:g},{y0:g} L{x1:g},{y1:.1f}", "#111")


# --------------------------------------------------------------------------- constructions
def _fibre_body(left: float) -> list[str]:
    """Soft facing on both sides of a steel core, from `left` to the fastener."""
    high = (_DECK - _FACE) / 2 - 4
    return [
        rect(left, _FACE, 560 - left, high, _FIBRE),
        rect(left, _FACE + high, 560 - left, 8, _STEEL),
        rect(left, _FACE + high + 8, 560 - left, high, _FIBRE),
    ]


def _fibre_composite(opening: Opening) -> Drawn:
    """Fibre facing on a steel core, its bore edge folded in sheet steel."""
    top = _FACE - opening.followed
    parts = _fibre_body(250)
    parts += [
        rect(170, top + 4, 84, _DECK - top - 8, _FIBRE),
        line(f"M272,{top + 4:.1f} H166 V{_DECK - 4:g} H272", _SEAL, 8),
    ]
    labels = [
        word(232, 340, "armoured edge"),
        _pointer(244, 322, 214, _DECK - 2),
        word(330, _FACE + 22, "fibre body"),
    ]
    return parts, labels


def _layers(opening: Opening, stopper: bool = False) -> Drawn:
    """Two beaded layers of spring steel, crest to crest over a spacer.

    With a `stopper`, a folded layer at the bore, which takes clamp and keeps the bead from flat.
    """
    top = _FACE - opening.followed
    middle = (top + _DECK) / 2
    flat = (_FACE + _DECK) / 2
    left = 205.0 if stopper else 165.0
    parts = [rect(300, _FACE + 2, 260, _DECK - _FACE - 4, "#b3b9bf")]
    # each active layer: flat foot, leg, crest on its face, leg, foot on the spacer
    for crest, foot in ((top + 4, -7.0), (_DECK - 4, 7.0)):
        parts.append(
            line(
                f"M{left:g},{middle + foot:.1f} H{left + 12:g} L{left + 38:g},{crest:.1f} "
                f"H{left + 58:g} L{left + 84:g},{middle + foot:.1f} H300 L330,{flat + foot:g} H560",
                _SEAL,
                7,
            )
        )
    parts.append(
        line(f"M{160 if stopper else left:g},{middle:.1f} H300 L330,{flat:g} H560", "#333", 5)
    )
    if stopper:
        # the folded layer is hard: it comes back by a few micrometres only
        parts.append(rect(160, _FACE + 3, 30, _DECK - _FACE - 6, "#5f6670"))
    labels = [
        word(left + 74, 340, "bead"),
        _pointer(left + 84, 322, left + 58, _DECK - 4),
        word(400, 340, "flat layers"),
        _pointer(444, 320, 430, _DECK - 8),
    ]
    if stopper:
        labels += [word(158, 340, "stopper"), _pointer(176, 322, 176, _DECK - 8)]
    return parts, labels


def _fibre_steel_ring(opening: Opening) -> Drawn:
    """Fibre body with a solid ring at the bore, whose ridges bite into both faces."""
    top = _FACE - opening.followed
    left, right, bite = 166.0, 250.0, 7.0
    wide = (right - left) / 3
    up = "".join(
        f" L{left + (i + 0.5) * wide:.1f},{top - bite:.1f} L{left + (i + 1) * wide:.1f},{top:.1f}"
        for i in range(3)
    )
    down = "".join(
        f" L{right - (i + 0.5) * wide:.1f},{_DECK + bite:.1f} "
        f"L{right - (i + 1) * wide:.1f},{_DECK:g}"
        for i in range(3)
    )
    ring = (
        f"<path d='M{left:g},{top:.1f}{up} L{right:g},{_DECK:g}{down} Z' fill='{_STEEL}' "
        f"stroke='{_SEAL}' stroke-width='4'/>"
    )
    labels = [
        word(226, 340, "ridged steel ring"),
        _pointer(240, 322, 212, _DECK - 6),
        word(330, _FACE + 22, "fibre body"),
    ]
    return [*_fibre_body(262), ring], labels


def _copper_sheet(opening: Opening) -> Drawn:
    """A copper sheet between plain faces."""
    top = _FACE - opening.followed
    parts = [
        f"<path d='M160,{top:.1f} H300 L330,{_FACE:g} H560 V{_DECK:g} H160 Z' fill='{_COPPER}' "
        "stroke='#333'/>",
        line(f"M160,{top + 2:.1f} H260", _SEAL, 5),
        line(f"M160,{_DECK - 2:g} H260", _SEAL, 5),
    ]
    labels = [
        word(250, 340, "copper at the bore"),
        _pointer(262, 322, 236, _DECK - 3),
        word(330, _FACE + 40, "copper sheet"),
    ]
    return parts, labels


def _copper_wire_ring(opening: Opening) -> Drawn:
    """Copper sheet with a wire ring in the head and a receiver groove in the block."""
    up, lost = opening.up, opening.up - opening.followed
    x, radius, pressed, depth = 230.0, 30.0, 18.0, 22.0
    roof = _FACE - up - (2 * radius - pressed)
    wire = _FACE + pressed - radius - lost
    groove = (
        f"<path d='M{x - radius:g},{_FACE - up + 1:.1f} V{roof:.1f} H{x + radius:g} "
        f"V{_FACE - up + 1:.1f}' fill='#fff' stroke='#333'/>"
    )
    receiver = rect(x - 42, _DECK - 1, 84, depth + 12, "#fff")
    half = (radius**2 - (radius - pressed) ** 2) ** 0.5
    copper = (
        f"<path d='M160,{_FACE:g} H{x - half:.1f} A{radius:g},{radius:g} 0 0 0 {x + half:.1f},"
        f"{_FACE:g} H560 V{_DECK:g} H{x + 42:g} V{_DECK + depth:g} H{x - 42:g} V{_DECK:g} H160 Z' "
        f"fill='{_COPPER}' stroke='#333'/>"
    )
    ring = circle(x, wire, radius, _STEEL, _SEAL, 4.0)
    labels = [
        word(330, 168, "wire in its groove"),
        _pointer(326, 164, x + 24, wire - 12),
        word(330, _FACE + 40, "copper sheet"),
        word(284, 346, "copper in the receiver"),
        _pointer(282, 336, x + 20, _DECK + 12),
    ]
    return [receiver, groove, copper, ring], labels


def _own_gasket(opening: Opening) -> Drawn:
    """A gasket of the sheet's own, of which only its zones are known."""
    top = _FACE - opening.followed
    parts = [
        rect(280, _FACE, 280, _DECK - _FACE, "#f0e2b6"),
        rect(165, top, 90, _DECK - top, "#f0e2b6", _SEAL, 4),
    ]
    labels = [word(240, 340, "combustion seal"), _pointer(252, 322, 224, _DECK - 4)]
    return parts, labels


SECTIONS: dict[str, Callable[[Opening], Drawn]] = {
    "fibre composite": _fibre_composite,
    "multi-layer steel": _layers,
    "multi-layer steel with stopper": functools.partial(_layers, stopper=True),
    "fibre body with steel ring": _fibre_steel_ring,
    "copper with wire ring": _copper_wire_ring,
    "copper sheet": _copper_sheet,
}


def section(construction: str, opening: Opening) -> str:
    """The section of a construction; one that is not among the kit's is drawn as plain blocks.

    Returns HTML with an SVG that carries its description: gas, block, head and fastener round the
    parts of the gasket.
    """
    name = construction if construction in SECTIONS else "gasket of the sheet's own"
    parts, labels = SECTIONS.get(construction, _own_gasket)(opening)
    edge = _FACE - opening.up
    red, green = COLOURS["gas load"], COLOURS["clamp"]
    state = (
        "at rest"
        if opening.up == 0
        else "open, and the seal still touches"
        if opening.touches
        else "open, and the seal no longer touches"
    )
    words = (
        f"Section through the edge of a bore with the construction {name}. The gas stands on the "
        f"left, the fastener on the right. The joint is {state}. {opening.told}"
    )
    arrows = "".join(
        f"<path d='M{x},{edge + 62:.1f} V{edge + 19:.1f} M{x - 7},{edge + 19:.1f} L{x},"
        f"{edge + 10:.1f} L{x + 7},{edge + 19:.1f} Z' stroke='{red}' stroke-width='4' "
        f"fill='{red}'/>"
        for x in (30, 67, 104)
    )
    pull = (
        f"<path d='M561,104 V140 M554,140 L561,150 L568,140 Z' stroke='{green}' stroke-width='4' "
        f"fill='{green}'/>"
    )
    foot = f"M{_EDGE - 24:g},{{:.1f}} h16".format
    gap = line(f"M{_EDGE - 16:g},{_FACE:g} V{edge:.1f} {foot(_FACE)} {foot(edge)}", "#111", 2)
    shapes = [
        rect(8, edge, _EDGE - 8, 400 - edge, "#fdebdc", "none"),
        rect(_EDGE, _DECK, 632 - _EDGE, 110, _BLOCK),
        f"<path d='M8,70 H632 V{_FACE:g} H520 L300,{edge:.1f} H8 Z' fill='{_HEAD}' stroke='#333'/>",
        *parts,
        rect(574, 64, 34, 316, _STEEL),
        rect(552, 36, 78, 34, _STEEL),
        arrows,
        gap if opening.up > 8 else "",
        pull,
        word(14, 388, "gas"),
        word(60, 108, "cylinder head"),
        word(170, 392, "block"),
        *labels,
    ]
    return framed([word(14, 28, name), *shapes], (640, 408), words, opening.told, font=26)
