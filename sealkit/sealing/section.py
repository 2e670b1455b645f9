"""Section through wire, groove, copper and receiver as a drawing to scale."""

from __future__ import annotations

import hashlib
import html

from sealkit.errors import fail
from sealkit.sealing.grooves import WireRing
from sealkit.units import show


def drawing(groove: WireRing, system: str = "metric", wire_in: str = "head") -> str:
    """Section through wire, groove, copper and receiver as SVG, to scale, dimensioned.

    Returns SVG text; lines and letters take the colour of the page, a description stands in for the
    picture, and parts are named in words and told apart by hatching. Raises InputError for a ring
    made of arrays, an unknown system or face.

    Parameters
    ----------
    groove : one ring from `wire_ring`
    system : "metric" or "inch", the units of the dimensions
    wire_in : "head" (drawn above) or "block"
    """
    r = groove.alone()
    if wire_in not in ("head", "block"):
        raise fail("wire_in", wire_in, '"head" or "block"')

    def size(value: float) -> str:
        return show(value, "length", system)

    d, t, gd, gw = r.wire_diameter, r.copper_thickness, r.groove_depth, r.groove_width
    rw, rd, proud, fill = r.receiver_width, r.receiver_depth, r.protrusion, r.lift_to_leave
    other = "block" if wire_in == "head" else "head"
    top, bottom = gd + 0.42 * d, max(rd + 0.4 * d, 0.5 * t)
    half = max(2.0 * d, 1.3 * rw)
    margin, head_room, across, high = 126.0, 30.0, 400.0, 340.0
    scale = min(across / (2 * half), high / (top + t + bottom))
    width = 2 * margin + across
    body = (top + t + bottom) * scale
    height = body + 2 * head_room
    centre = width / 2

    def x(value: float) -> float:
        return round(centre + value * scale, 2)

    # v is counted from the wire's face: into that face positive, into the copper negative
    def y(value: float) -> float:
        down = (top - value) * scale
        return round(head_room + (down if wire_in == "head" else body - down), 2)

    def path(points: list[tuple[float, float]]) -> str:
        return "M" + " L".join(f"{x(a)},{y(b)}" for a, b in points) + " Z"

    upper = path(
        [(-half, top), (half, top), (half, 0), (gw / 2, 0), (gw / 2, gd), (-gw / 2, gd),
         (-gw / 2, 0), (-half, 0)]
    )  # fmt: skip
    lower = path(
        [(-half, -t), (-rw / 2, -t), (-rw / 2, -t - rd), (rw / 2, -t - rd), (rw / 2, -t),
         (half, -t), (half, -t - bottom), (-half, -t - bottom)]
    )  # fmt: skip
    copper = path(
        [(-half, 0), (half, 0), (half, -t), (rw / 2, -t), (rw / 2, -t - fill),
         (-rw / 2, -t - fill), (-rw / 2, -t), (-half, -t)]
    )  # fmt: skip
    parts = [
        ("wire", size(d)),
        ("groove width", size(gw)),
        ("groove depth", size(gd)),
        ("protrusion", size(proud)),
        ("copper", size(t)),
    ]
    if rw > 0 and rd > 0:
        parts += [("receiver width", size(rw)), ("receiver depth", size(rd))]
    ring = f"ring diameter {size(r.ring_diameter)}"
    listed = ", ".join(f"{name} {value}" for name, value in parts)
    said = (
        f"Section to scale. Wire in the {wire_in} ({r.wire_material}), "
        + (
            f"receiver in the {other} ({r.receiver_material})"
            if rw > 0 and rd > 0
            else f"no receiver in the {other} ({r.receiver_material})"
        )
        + f". {listed}; {ring}."
    )
    uid = "ring" + hashlib.sha256(f"{said}{system}".encode()).hexdigest()[:10]
    esc = html.escape
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'role="img" aria-labelledby="{uid}t {uid}d" font-family="sans-serif" font-size="20" '
        f'style="max-width:100%;height:auto" fill="currentColor">',
        f'<title id="{uid}t">Wire ring and receiver in section</title>',
        f'<desc id="{uid}d">{esc(said)}</desc>',
        "<defs>",
    ]
    for name, angle in (("a", 45), ("b", -45)):
        out.append(
            f'<pattern id="{uid}{name}" width="9" height="9" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate({angle})"><line x1="0" y1="0" x2="0" y2="9" '
            'stroke="currentColor" stroke-opacity="0.45" stroke-width="1.2"/></pattern>'
        )
    out.append("</defs>")
    out.append(
        f'<path d="{copper}" fill="#b87333" fill-opacity="0.75" stroke="currentColor" '
        'stroke-width="1"/>'
    )
    for shape, name in ((upper, "a"), (lower, "b")):
        out.append(f'<path d="{shape}" fill="url(#{uid}{name})" stroke="currentColor"/>')
    out.append(
        f'<circle cx="{x(0)}" cy="{y(gd - d / 2)}" r="{round(d / 2 * scale, 2)}" fill="#8a8f98" '
        'stroke="currentColor" stroke-width="1.3"/>'
    )

    def text(px: float, py: float, words: str, anchor: str) -> str:
        return f'<text x="{px:.1f}" y="{py + 7:.1f}" text-anchor="{anchor}">{esc(words)}</text>'

    def two_lines(px: float, py: float, name: str, value: str, anchor: str) -> str:
        return (
            f'<text x="{px:.1f}" y="{py - 4:.1f}" text-anchor="{anchor}"><tspan>{esc(name)}</tspan>'
            f'<tspan x="{px:.1f}" dy="22"> {esc(value)}</tspan></text>'
        )

    def line(x1: float, y1: float, x2: float, y2: float, thin: bool = False) -> str:
        style = ' stroke-opacity="0.6" stroke-dasharray="3 3"' if thin else ""
        return (
            f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
            f'stroke="currentColor"{style}/>'
        )

    def upright(v1: float, v2: float, feature: float, side: int, name: str, value: str) -> None:
        edge = x(side * half) + side * 14
        for v in (v1, v2):
            out.append(line(x(feature), y(v), edge + side * 5, y(v), thin=True))
        out.append(line(edge, y(v1), edge, y(v2)))
        out.append(
            two_lines(edge + side * 9, (y(v1) + y(v2)) / 2, name, value,
                      "start" if side > 0 else "end")
        )  # fmt: skip

    def level(width_: float, v: float, name: str, value: str, beyond: float) -> None:
        at = y(beyond)
        for end in (-0.5, 0.5):
            out.append(line(x(end * width_), y(v), x(end * width_), at, thin=True))
        out.append(line(x(-width_ / 2), at, x(width_ / 2), at))
        out.append(text(x(0), at + (-13 if at < height / 2 else 13), f"{name} {value}", "middle"))

    upright(0, gd, -gw / 2, -1, "deep", size(gd))
    upright(0, -proud, 0, -1, "proud", size(proud))
    upright(0, -t, half, 1, "copper", size(t))
    level(gw, gd, "groove", f"{size(gw)} wide", gd + 0.3 * (top - gd))
    if rw > 0 and rd > 0:
        upright(-t, -t - rd, rw / 2, 1, "deep", size(rd))
        level(rw, -t - rd, "receiver", f"{size(rw)} wide", -t - rd - 0.2 * (bottom - rd))
    out.append(line(x(0), y(gd - d / 2), x(half) + 14, y(gd * 0.75)))
    out.append(two_lines(x(half) + 18, y(gd * 0.75), "wire", size(d), "start"))
    for v, face, material in (
        (top, wire_in, r.wire_material),
        (-t - bottom, other, r.receiver_material),
    ):
        at, more = (-13, "") if face == "head" else (17, f"; {ring}")
        out.append(text(centre, y(v) + at, f"{face}: {material}{more}", "middle"))
    out.append("</svg>")
    return "\n".join(out)
