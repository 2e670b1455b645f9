"""Section through wire, groove, copper and receiver, to scale."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sealkit.drawing.svg import framed, line, word
from sealkit.errors import fail
from sealkit.sealing.grooves import WireRing
from sealkit.units import show

_MARGIN, _HEAD_ROOM, _ACROSS, _HIGH = 126.0, 30.0, 400.0, 340.0
_THIN = " stroke-opacity='0.6' stroke-dasharray='3 3'"
_HATCH = "".join(
    f"<pattern id='ring-{face}' width='9' height='9' patternUnits='userSpaceOnUse' "
    f"patternTransform='rotate({angle})'><line x1='0' y1='0' x2='0' y2='9' stroke='#999' "
    "stroke-width='1.2'/></pattern>"
    for face, angle in (("wire", 45), ("receiver", -45))
)


def drawing(groove: WireRing, system: str = "metric", wire_in: str = "head") -> str:
    """Section through wire, groove, copper and receiver, to scale, dimensioned.

    Parts are named in words and told apart by hatching. Raises InputError for a ring made of
    arrays, an unknown system or face.

    Parameters
    ----------
    groove : one ring from `grooves.wire_ring`
    system : "metric" or "inch", the units of the dimensions
    wire_in : "head" (drawn above) or "block"
    """
    r = groove.alone()
    if wire_in not in ("head", "block"):
        raise fail("wire_in", wire_in, '"head" or "block"')
    d, t, gd, gw = r.wire_diameter, r.copper_thickness, r.groove_depth, r.groove_width
    rw, rd, proud, fill = r.receiver_width, r.receiver_depth, r.protrusion, r.lift_to_leave
    other, has = "block" if wire_in == "head" else "head", rw > 0 and rd > 0
    top, bottom = gd + 0.42 * d, max(rd + 0.4 * d, 0.5 * t)
    half = max(2.0 * d, 1.3 * rw)
    scale = min(_ACROSS / (2 * half), _HIGH / (top + t + bottom))
    width, body = 2 * _MARGIN + _ACROSS, (top + t + bottom) * scale
    height = body + 2 * _HEAD_ROOM

    def size(value: float) -> str:
        return show(value, "length", system)

    def x(value: float) -> float:
        return width / 2 + value * scale

    # v is counted from the wire's face: into that face positive, into the copper negative
    def y(value: float) -> float:
        down = (top - value) * scale
        return _HEAD_ROOM + (down if wire_in == "head" else body - down)

    def way(points: Iterable[tuple[float, float]]) -> str:
        return "M" + " L".join(f"{x(a):.2f},{y(b):.2f}" for a, b in points)

    def outline(right: Sequence[tuple[float, float]], paint: str) -> str:
        """Both halves of a part, from the points of its right one down."""
        corners = [*right, *((-a, b) for a, b in reversed(right))]
        return f"<path d='{way(corners)} Z' {paint} stroke='#333'/>"

    out = [
        f"<defs>{_HATCH}</defs>",
        outline(
            [(half, 0), (half, -t), (rw / 2, -t), (rw / 2, -t - fill)],
            "fill='#b87333' fill-opacity='0.75'",
        ),
        outline([(half, top), (half, 0), (gw / 2, 0), (gw / 2, gd)], "fill='url(#ring-wire)'"),
        outline(
            [(rw / 2, -t - rd), (rw / 2, -t), (half, -t), (half, -t - bottom)],
            "fill='url(#ring-receiver)'",
        ),
        f"<circle cx='{x(0):.2f}' cy='{y(gd - d / 2):.2f}' r='{d / 2 * scale:.2f}' fill='#8a8f98' "
        "stroke='#333' stroke-width='1.3'/>",
    ]

    def straight(*ends: tuple[float, float], more: str = "") -> None:
        out.append(line("M" + " L".join(f"{a:.1f},{b:.1f}" for a, b in ends), more=more))

    def upright(v1: float, v2: float, feature: float, side: int, name: str, value: str) -> None:
        edge, anchor = x(side * half) + side * 14, "start" if side > 0 else "end"
        for v in (v1, v2):
            straight((x(feature), y(v)), (edge + side * 5, y(v)), more=_THIN)
        straight((edge, y(v1)), (edge, y(v2)))
        named(edge + side * 9, (y(v1) + y(v2)) / 2, name, value, anchor)

    def named(px: float, py: float, name: str, value: str, anchor: str) -> None:
        out.append(word(px, py - 4, name, anchor) + word(px, py + 18, value, anchor))

    def level(wide: float, v: float, name: str, beyond: float) -> None:
        at, ends = y(beyond), (x(-wide / 2), x(wide / 2))
        for end in ends:
            straight((end, y(v)), (end, at), more=_THIN)
        straight(*((end, at) for end in ends))
        below = at + (-6 if at < height / 2 else 20)
        out.append(word(x(0), below, f"{name} {size(wide)} wide", "middle"))

    upright(0, gd, -gw / 2, -1, "deep", size(gd))
    upright(0, -proud, 0, -1, "proud", size(proud))
    upright(0, -t, half, 1, "copper", size(t))
    level(gw, gd, "groove", gd + 0.3 * (top - gd))
    parts = {"wire": d, "groove width": gw, "groove depth": gd, "protrusion": proud, "copper": t}
    if has:
        upright(-t, -t - rd, rw / 2, 1, "deep", size(rd))
        level(rw, -t - rd, "receiver", -t - rd - 0.2 * (bottom - rd))
        parts |= {"receiver width": rw, "receiver depth": rd}
    straight((x(0), y(gd - d / 2)), (x(half) + 14, y(gd * 0.75)))
    named(x(half) + 18, y(gd * 0.75), "wire", size(d), "start")
    ring = f"ring diameter {size(r.ring_diameter)}"
    for v, face, material in (
        (top, wire_in, r.wire_material),
        (-t - bottom, other, r.receiver_material),
    ):
        below, more = (-6, "") if face == "head" else (24, f"; {ring}")
        out.append(word(width / 2, y(v) + below, f"{face}: {material}{more}", "middle"))
    listed = ", ".join(f"{name} {size(value)}" for name, value in parts.items())
    said = (
        f"Wire ring and receiver in section, to scale. Wire in the {wire_in} ({r.wire_material}), "
        f"{'' if has else 'no '}receiver in the {other} ({r.receiver_material}). {listed}; {ring}."
    )
    return framed(out, (width, height), said, font=20, most=width)
