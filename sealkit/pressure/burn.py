"""How the heat comes: the Wiebe burn curve, and the way a tuner speaks of it.

References
----------
[1] C. R. Ferguson and A. T. Kirkpatrick, Internal Combustion Engines: Applied Thermosciences, 3rd
    ed., section 2.5 (I. Wiebe's function).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.units import with_units


def share_place(share: float, a: Any, m: Any) -> Any:
    """Part of the burn duration at which this mass fraction is burned."""
    return (-np.log1p(-share) / a) ** (1.0 / (m + 1.0))


@with_units(returns="number", m="number > -1")
def wiebe(
    crank_angle: si.AnyAngle,
    start: si.AnyAngle,
    duration: si.Angle,
    a: si.Number = 5.0,
    m: Any = 2.0,
) -> Any:
    """Mass fraction burned [1].

    x = 1 - exp(-a z^(m+1)), z = (crank angle - start)/duration; 0 before the start. The curve is
    not cut at z = 1, where it has reached 1 - exp(-a); it runs on towards 1. Returns x [-], 0 to 1.

    Parameters
    ----------
    crank_angle : [rad], 0 at firing top dead centre
    start : start of the burn [rad]
    duration : burn duration, z = 0 to 1 [rad]
    a : efficiency factor [-]; 5 leaves 0.7 % unburnt at z = 1
    m : form factor [-]. Some books give n = m + 1 in its place: m = 2 is n = 3

    >>> round(float(wiebe("10 deg", "-20 deg", "60 deg")), 3)
    0.465
    """
    z = np.maximum((np.asarray(crank_angle, dtype=float) - start) / duration, 0.0)
    return -np.expm1(-a * z ** (m + 1.0))


@with_units(returns=("angle", "angle"), m="number > -1")
def burn_timing(
    ca50: si.AnyAngle, duration_10_90: si.Angle, a: si.Number = 5.0, m: Any = 2.0
) -> Any:
    """Start and whole duration of the Wiebe burn from the two angles a tuner knows.

    z(x) = (-ln(1 - x)/a)^(1/(m+1)); duration = duration_10_90/(z(0.9) - z(0.1));
    start = CA50 - z(0.5) duration.

    From [1], solved for the angle. Returns start, duration [rad].

    Parameters
    ----------
    ca50 : crank angle at which half of the charge is burnt [rad], 0 at firing top dead centre;
        commonly 8 to 10 degrees after it (from memory)
    duration_10_90 : crank angle from 10 % to 90 % burnt [rad]
    a, m : factors of `wiebe` [-]

    >>> [f"{x.to('deg'):.1f~P}" for x in burn_timing("8 deg", "25 deg")]
    ['-18.1 deg', '50.4 deg']
    """
    duration = duration_10_90 / (share_place(0.9, a, m) - share_place(0.1, a, m))
    return ca50 - share_place(0.5, a, m) * duration, duration
