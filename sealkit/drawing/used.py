"""Used gaskets seen from above, each with the mark it carries and what that usually tells."""

from __future__ import annotations

import html
import math
import textwrap

from sealkit import tables
from sealkit.drawing.svg import COLOURS, circle, framed

_WIDE, _HIGH, _PICTURE = 312.0, 262.0, 150.0  # of a tile; height of its gasket
_BORES, _MIDDLE, _RADIUS, _RING = (84.0, 218.0), 75.0, 50.0, 10.0
_BOLTS = tuple((x, y) for x in (14.0, 151.0, 288.0) for y in (16.0, 134.0))
_HOLES = tuple((x, y) for x in (60.0, 112.0, 190.0, 242.0) for y in (11.0, 139.0))
_STEEL, _BODY, _DARK, _SINGED = "#8f979e", "#e2c78f", "#1c1c1c", "#8a4b22"


def _at(bore: int, degrees: float, radius: float) -> str:
    """A place round a bore, 0 to the right, turning upwards."""
    turn = math.radians(degrees)
    x, y = _BORES[bore] + radius * math.cos(turn), _MIDDLE - radius * math.sin(turn)
    return f"{x:.1f},{y:.1f}"


def _arc(bore: int, first: float, last: float, radius: float, style: str) -> str:
    way = f"M{_at(bore, first, radius)}A{radius:g},{radius:g} 0 0 0 {_at(bore, last, radius)}"
    return f"<path d='{way}' fill='none' {style}/>"


def _burnt(way: str) -> str:
    """Burnt away, singed round its edge."""
    return (
        f"<path d='{way}' fill='{_DARK}' stroke='{_SINGED}' stroke-width='7' "
        "stroke-linejoin='round'/>"
    )


_CRACKS = "".join(
    f"<path d='M{_at(0, a, 46)}L{_at(0, a + 2, 53)}L{_at(0, a - 2, 58)}L{_at(0, a + 1, 69)}' "
    f"stroke='{_DARK}' stroke-width='3' fill='none'/>"
    for a in (20, 62, 118, 160)
)
_PIECE_OUT = _arc(0, 82, 100, 55, f"stroke='{_DARK}' stroke-width='{_RING + 2}'")
# from a coolant hole to the outside
_STAIN = "M242,133Q264,128 272,114Q282,98 302,92V113Q284,114 274,126Q262,142 242,145Z"
_WEEP = (
    f"<path d='{_STAIN}' fill='{COLOURS['liquid']}' opacity='0.75'/>"
    f"<path d='{_STAIN}' fill='none' stroke='#fff' stroke-width='2' stroke-dasharray='3 3'/>"
)
# pressed flat and wide over part of its way
_CRUSHED = (
    _arc(0, 25, 155, 57, f"stroke='{_SINGED}' stroke-width='24'")
    + _arc(0, 25, 155, 57, "stroke='#d4d9dd' stroke-width='20'")
    + "".join(
        f"<path d='M{_at(0, a, 49)}L{_at(0, a, 65)}' stroke='#9aa1a7'/>" for a in range(35, 150, 12)
    )
)
_TRACK = _burnt("M37,70L24,69L14,62L2,54V97L13,88L23,82L37,80Z")  # from the ring to the outside
_BRIDGE = _burnt(
    "M127,52L140,60L151,54L163,62L175,52L170,75L176,98L161,90L150,97L139,89L126,98L131,75Z"
)


# name, its drawing, row of the table teardown that tells what it means; else the words
_MARKS: tuple[tuple[str, str, str, str], ...] = (
    ("Sound", "", "", "Ring and body have printed evenly all round."),
    ("Gas track", _TRACK, "burn_through", ""),
    ("Burnt bridge", _BRIDGE, "radial_splits", ""),
    ("Cracked armour", _CRACKS + _PIECE_OUT, "cracked_armour", ""),
    ("Weep line", _WEEP, "", "Too little load round the hole, most often cold."),
    ("Crushed bead", _CRUSHED, "thin_spot", ""),
)


def _gasket(mark: str) -> str:
    """Two bores of a gasket with their rings, holes and what it carries."""
    bores = "".join(circle(x, _MIDDLE, _RADIUS + _RING / 2, "#fff", _STEEL, _RING) for x in _BORES)
    holes = "".join(
        circle(x, y, r, "#fff", colour, 2.0)
        for places, r, colour in ((_BOLTS, 9, "#555"), (_HOLES, 5, COLOURS["liquid"]))
        for x, y in places
    )
    return (
        f"<rect width='302' height='{_PICTURE:g}' rx='6' fill='{_BODY}' stroke='#333'/>"
        f"{bores}{mark}{holes}"
    )


def used_gaskets() -> tuple[str, str]:
    """The marks beside each other, each with its usual cause below; and it in words."""
    rows, shapes, told = tables.load("teardown"), [], []
    for i, (name, mark, key, words) in enumerate(_MARKS):
        cause = words or str(rows[key]["sign"])
        cause = cause[0].upper() + cause[1:].rstrip(".") + "."
        told.append(f"{name}: {cause}")
        lines = "".join(
            f"<text x='2' y='{204 + 23 * j}'>{html.escape(line)}</text>"
            for j, line in enumerate(textwrap.wrap(cause, 31))
        )
        shapes.append(
            f"<g transform='translate({8 + (i % 2) * (_WIDE + 8):g} {8 + (i // 2) * _HIGH:g})'>"
            f"{_gasket(mark)}<text x='2' y='178' font-weight='bold'>{name}</text>{lines}</g>"
        )
    words = " ".join(told)
    drawn = framed(
        shapes,
        (2 * _WIDE + 16, 3 * _HIGH - 4),
        f"Six used gaskets seen from above. {words}",
        "What each mark usually tells: common practice, no source.",
        font=20,
        most=640,
    )
    return drawn, words
