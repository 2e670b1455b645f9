"""Bolts tightened one after the other: elastic interaction, what each keeps of its preload."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.sealing.deck.layout import Layout
from sealkit.sealing.deck.map import DeckMap
from sealkit.units import with_units

STEPS = (0.5, 0.75, 1.0)  # of the last torque; common practice, no source
_SAME = 1e-3  # m: bolts as far from the middle as this count as one round of the spiral


def outwards(layout: Layout) -> tuple[int, ...]:
    """Bolts from the middle of the deck outwards, in a spiral: common practice, no source.

    Round one bore alone they go crosswise: each is followed by the one across from it.
    """
    off = layout.bolts - 0.5 * (layout.bolts.min(axis=0) + layout.bolts.max(axis=0))
    angle, rounds = np.arctan2(off[:, 1], off[:, 0]), np.round(np.hypot(*off.T) / _SAME)
    if len(layout.bores) == 1:
        half = max(len(off) // 2, 1)
        across, first = np.divmod(np.argsort(np.argsort(angle)), half)
        return tuple(int(i) for i in np.lexsort((across, first)))
    return tuple(int(i) for i in np.lexsort((angle, rounds)))


@with_units("force")
def in_order(
    deck: DeckMap, preload: si.Force, order: Sequence[int], passes: Iterable[float] = STEPS
) -> Any:
    """Preload left in every bolt after each pass, tightened one after the other.

    Each bolt in turn is brought to its share of the preload with a wrench that shows force. The
    nuts of the others stay where they are: as the head sinks under this bolt, those beside it let
    go, F = (ke (a - w))/(1 + r) (see `sealkit.sealing.deck`). The gasket keeps the largest closure
    of every place.

    Left out: settling of thread and faces, creep between passes, torque that scatters.

    Returns the preload (passes, bolts) left at the end of each pass [N]. Raises InputError if
    `order` does not name each bolt once, a share is not above 0 and at most 1, or the preload is
    more than the bolts hold.

    Parameters
    ----------
    deck : the map
    preload : of every bolt in the end [N]
    order : bolts, from 0, each once
    passes : shares of the preload, one for each time round

    References
    ----------
    1. J. H. Bickford, An Introduction to the Design and Behavior of Bolted Joints, 3rd ed.: elastic
       interactions (from memory).
    """
    count, shares = len(deck.layout.bolts), [float(p) for p in passes]
    if sorted(order) != list(range(count)):
        raise fail("order", list(order), f"each bolt from 0 to {count - 1} once")
    if not shares or not all(0.0 < p <= 1.0 for p in shares):
        raise fail("passes", shares, "shares of the preload above 0, at most 1")
    state, out = deck.laid_on(), []
    for share in shares:
        for bolt in order:
            state = deck.tighten(state, bolt, share * preload)
        out.append(state.bolt_force)
    return np.array(out)
