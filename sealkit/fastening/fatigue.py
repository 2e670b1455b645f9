"""How far the stress in a fastener's thread may swing for ever.

References
----------
[1] VDI 2230, Systematic calculation of highly stressed bolted joints (from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.units import with_units

ROLLED = ("before heat treatment", "after heat treatment")
"""When the thread was rolled."""
SOURCE = "VDI 2230, endurance limit of rolled threads"
STATUS = "from memory"
_SIZE, _BASE = 150e-3, 45.0  # m, and MPa at a diameter without end
_MPA = 0.85e6


@with_units(returns="stress")
def alternating_stress(low: si.AnyForce, high: si.AnyForce, stress_area: si.Area) -> Any:
    """Half the swing of the tension in the thread, (Fmax - Fmin) / (2 At) [Pa] [1].

    For a joint on straight springs that is phi F / (2 At), with phi the share of the gas load F of
    one fastener that it feels.

    Parameters
    ----------
    low, high : tension of one fastener without gas and at peak pressure [N]
    stress_area : At [m**2]
    """
    return (np.asarray(high)[()] - low) / (2 * np.asarray(stress_area)[()])


@with_units(returns="stress")
def endurance_amplitude(
    diameter: si.Length, rolled: str = ROLLED[0], mean: si.Fraction0 = 0.7
) -> Any:
    """Amplitude that a rolled thread of 8.8 to 12.9 stands for two million cycles [Pa] [1].

    before heat treatment: sD = 0.85 (150 mm/d + 45) MPa;  after: sD (2 - Fm/F0.2)

    The strength of the fastener does not help: stronger steel feels its notches more. Raises
    InputError for another word in `rolled`.

    Parameters
    ----------
    diameter : nominal diameter d [m]
    rolled : one of `ROLLED`; rolling a hardened thread leaves pressure in its roots
    mean : mean tension over that at yield Fm/F0.2; taken from 0.3 to 1

    >>> print(round(endurance_amplitude("12 mm").to("MPa").magnitude))
    49
    """
    if rolled not in ROLLED:
        raise fail("rolled", rolled, " or ".join(ROLLED))
    plain = _MPA * (_SIZE / np.asarray(diameter)[()] + _BASE)
    if rolled == ROLLED[0]:
        return plain + 0.0 * np.asarray(mean)[()]
    return plain * (2.0 - np.clip(mean, 0.3, 1.0))
