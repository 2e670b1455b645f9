"""Sections as a cell shows them: side by side, or scrolling where a screen is narrow."""

from __future__ import annotations

from collections.abc import Mapping

from sealkit.classroom.drawing.shown import Shown, scrolling
from sealkit.drawing.sections import Opening, section
from sealkit.sealing.grooves import WireRing
from sealkit.sealing.section import drawing


def gallery(openings: Mapping[str, Opening]) -> Shown:
    """The sections of several constructions side by side."""
    drawn = (
        f"<div style='flex:1 1 300px;max-width:460px'>{section(name, opening)}</div>"
        for name, opening in openings.items()
    )
    return Shown(
        f"<div style='display:flex;flex-wrap:wrap;gap:12px'>{''.join(drawn)}</div>",
        "\n".join(f"{name}: {opening.told}" for name, opening in openings.items()),
    )


def ring_section(ring: WireRing, system: str, wire_in: str) -> str:
    """A wire ring to scale; on a narrow screen it scrolls, so that its sizes can be read."""
    drawn = drawing(ring, system, wire_in)
    return scrolling("Section of the ring", f"<div style='min-width:280px'>{drawn}</div>")
