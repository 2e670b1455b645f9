"""The palette of the course, and the frame of a drawing: SVG on white, with words for who cannot
see it and a line below.
"""

from __future__ import annotations

import html
from collections.abc import Iterable

from sealkit.words import minus

# One colour for each kind of quantity, after the palette of Okabe and Ito, darkened where it is
# too pale on white paper.
COLOURS = {
    "pressure": "#0072B2",
    "gas load": "#D55E00",
    "clamp": "#009E73",
    "seal load": "#9E4784",
    "lift": "#000000",
    "temperature": "#8F6400",
    "strength": "#5F6670",
    "liquid": "#1F7F9C",
    "probability": "#7A3B2E",
}


def rect(
    x: float, y: float, wide: float, high: float, fill: str, edge: str = "#333", thick: float = 1.0
) -> str:
    """A rectangle from its upper left corner."""
    return (
        f"<rect x='{x:.1f}' y='{y:.1f}' width='{wide:.1f}' height='{max(high, 0.0):.1f}' "
        f"fill='{fill}' stroke='{edge}' stroke-width='{thick:g}'/>"
    )


def circle(
    x: float, y: float, radius: float, fill: str, edge: str = "#111", thick: float = 1.0
) -> str:
    """A circle round its centre."""
    return (
        f"<circle cx='{x:.1f}' cy='{y:.1f}' r='{radius:.1f}' fill='{fill}' stroke='{edge}' "
        f"stroke-width='{thick:g}'/>"
    )


def line(way: str, colour: str = "#333", thick: float = 1.0, more: str = "") -> str:
    """A line along an SVG path; `more` are further attributes."""
    return f"<path d='{way}' fill='none' stroke='{colour}' stroke-width='{thick:g}'{more}/>"


def word(x: float, y: float, text: str, anchor: str = "start", more: str = "") -> str:
    """Words, their base line at y; `more` are further attributes."""
    place = f"x='{x:.1f}' y='{y:.1f}' text-anchor='{anchor}'"
    return f"<text {place}{more}>{html.escape(minus(text))}</text>"


def framed(
    shapes: Iterable[str],
    size: tuple[float, float],
    words: str,
    caption: str = "",
    font: float = 24,
    most: float = 600,
) -> str:
    """A drawing as an HTML figure that shrinks with its column.

    Parameters
    ----------
    shapes : SVG elements, in the order they are drawn
    size : width and height of the drawing in its own units
    words : what it shows, for a screen reader
    caption : the line below; "" for none
    font : size of its letters, in the same units
    most : greatest width on the page, pixels
    """
    wide, high = size
    below = f"<figcaption style='font-size:14px;line-height:1.35'>{html.escape(minus(caption))}"
    return (
        f"<figure style='margin:0;max-width:{most:g}px'>"
        f"<svg viewBox='0 0 {wide:g} {high:g}' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(words, quote=True)}' font-family='sans-serif' "
        f"font-size='{font:g}' fill='#111'><title>{html.escape(words)}</title>"
        f"<rect width='{wide:g}' height='{high:g}' fill='#fff'/>{''.join(shapes)}</svg>"
        f"{f'{below}</figcaption>' if caption else ''}</figure>"
    )
