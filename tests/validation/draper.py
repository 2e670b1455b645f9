"""Knock: C. S. Draper's frequency (from memory), and classes of amplitude.

The classes are from an excerpt of a paper on knock at 2000 rpm and 1.4 bar inlet pressure, authors
not shown there.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.units import with_units

KNOCK_CLASSES = ((0.02, "none"), (0.05, "borderline"), (0.25, "standard"))


# first zero of the slope of the Bessel functions J1, J2 and J0: the first three gas oscillations
MODES = (1.8411837813406593, 3.0542369282271403, 3.8317059702075125)


@with_units(returns="frequency", sound_speed="speed > 0", bore="length > 0")
def knock_frequency(sound_speed: Any, bore: Any, mode: int = 1) -> Any:
    """Frequency of the gas oscillation that knock sets off.

    f = alpha c/(pi B), alpha = 1.841, 3.054, 3.832 for the first three modes
    """
    if mode not in (1, 2, 3):
        raise fail("mode", mode, "1, 2 or 3")
    return MODES[mode - 1] * np.asarray(sound_speed, dtype=float) / (np.pi * bore)


@with_units(amplitude="pressure >= 0", motored_pressure="pressure > 0")
def knock_class(amplitude: Any, motored_pressure: Any) -> str:
    """Class of knock by its amplitude over the motored pressure at top dead centre.

    under 2 % none, to 5 % borderline, to 25 % standard, above heavy
    """
    share = float(amplitude) / float(motored_pressure)
    for limit, name in KNOCK_CLASSES:
        if share < limit:
            return name
    return "heavy"
