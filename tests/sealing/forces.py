"""Forces on a deck or on one bore, added up from what lies on it: whether it stands in balance."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.sealing.deck import State
from sealkit.sealing.deck.model import BOLT
from sealkit.sealing.joint import Assembly, Joint, JointState


def out_of_balance(joint: Joint, assembly: Assembly, state: JointState) -> Any:
    """Force of all fasteners by their stretch, less that of gasket and gas on them, N."""
    upper, lower = joint.upper_stiffness, joint.lower_stiffness
    stretch = joint.advance_of(assembly) - state.plastic_stretch - state.closure
    by_stretch = upper * stretch - upper / lower * state.clamp / joint.bolts
    return joint.bolts * (by_stretch - state.bolt_force)


def contact_force(state: State) -> float:
    """Force of the whole gasket, N."""
    return float(sum(c.patch.weight @ load for c, load, _ in state.loads))


def gas_force(state: State) -> float:
    """Force of the gas on the head, N."""
    return float(np.sum(state.pressure) * np.pi / 4.0 * state.deck.seal_diameter**2)


def balance(state: State) -> tuple[float, float, float]:
    """Contact and gas less bolts: force (N) and moments about both axes (N*m)."""
    deck = state.deck
    out = np.zeros(3)
    for c, load, _ in state.loads:
        f, (x, y) = c.patch.weight * load, c.patch.points.T
        out += [f.sum(), f @ y, f @ x]
    gas = np.asarray(state.pressure) * np.pi / 4.0 * deck.seal_diameter**2
    x, y = deck.layout.bores.T
    out += [gas.sum(), gas @ y, gas @ x]
    # preloads spread evenly round their bolts, what gas changes does not
    share, preload = np.repeat(gas @ deck.gas_share, BOLT), np.asarray(state.preload)
    less = deck.bolt_law(state.advance, share, preload)(deck.bolts.closure(state.unknowns))[0]
    f = np.concatenate([preload, -less / BOLT])
    x, y = np.concatenate([deck.layout.bolts, deck.bolts.points]).T
    out -= [f.sum(), f @ y, f @ x]
    return float(out[0]), float(out[1]), float(out[2])
