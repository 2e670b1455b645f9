"""What a deck face is worked out to be, to test layouts and maps against."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sealkit.sealing.deck import layout as lay
from sealkit.sealing.deck.layout import Layout


def on_gasket(layout: Layout, points: ArrayLike, opening: float | None = None) -> NDArray[np.bool_]:
    """Which points are gasket: inside the outline, beside bores, bolt holes and liquid holes."""
    place = np.asarray(points, dtype=float)
    radius = 0.5 * (layout.bore if opening is None else opening)
    out = lay.inside(layout, place)
    for centres, size in (
        (layout.bores, radius),
        (layout.bolts, 0.5 * layout.bolt_hole),
        (layout.hole_places, 0.5 * layout.hole_diameters),
    ):
        out &= np.all(lay.distances(place, centres) > size, axis=-1)
    return np.asarray(out)


def gasket_area(layout: Layout, opening: float | None = None) -> float:
    """The outline less bores, bolt holes and liquid holes, of a face on which nothing overlaps."""
    wide = layout.bore if opening is None else opening
    circles = len(layout.bores) * wide**2 + len(layout.bolts) * layout.bolt_hole**2
    circles += float(np.sum(layout.hole_diameters**2))
    return lay.signed_area(layout.outline) - 0.25 * np.pi * circles


def mirrored(layout: Layout) -> Layout:
    """The same deck face turned front to rear, about the middle between the outermost bores."""
    turn = float(layout.bores[:, 0].min() + layout.bores[:, 0].max())
    holes = tuple(dataclasses.replace(h, x=turn - h.x) for h in layout.holes)

    def flip(places: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack([turn - places[:, 0], places[:, 1]])

    return dataclasses.replace(
        layout,
        outline=flip(layout.outline),
        bores=flip(layout.bores)[::-1],
        bolts=flip(layout.bolts),
        holes=holes,
    )
