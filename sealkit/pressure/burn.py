"""How the heat comes: the Wiebe burn curve, and the way a tuner speaks of it."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.units import with_units

__all__ = ["burn_duration", "burn_points", "burn_timing", "wiebe", "wiebe_rate"]


def _place(share: float, a: Any, m: Any) -> Any:
    """Part of the burn duration at which this share is burnt."""
    return (-np.log1p(-share) / a) ** (1.0 / (m + 1.0))


@with_units(
    returns="number",
    crank_angle="angle",
    start="angle",
    duration="angle > 0",
    a="number > 0",
    m="number > -1",
)
def wiebe(crank_angle: Any, start: Any, duration: Any, a: Any = 5.0, m: Any = 2.0) -> Any:
    """Share of the charge that is burnt.

    x = 1 - exp(-a z^(m+1)), z = (crank angle - start)/duration; 0 before the start. The curve is
    not cut at z = 1, where it has reached 1 - exp(-a); it runs on towards 1.

    Parameters
    ----------
    crank_angle : [rad], 0 at firing top dead centre
    start : start of the burn [rad]
    duration : burn duration, z = 0 to 1 [rad]
    a : efficiency factor [-]; 5 leaves 0.7 % unburnt at z = 1
    m : form factor [-]. Some books give n = m + 1 in its place: m = 2 is n = 3

    Returns
    -------
    burnt share [-], 0..1

    Raises
    ------
    InputError
        for a duration or `a` that is not above 0, or `m` not above -1.

    Notes
    -----
    I. Wiebe's function in the form of C. R. Ferguson and A. T. Kirkpatrick, Internal Combustion
    Engines: Applied Thermosciences, 3rd ed., section 2.5.
    """
    z = np.maximum((np.asarray(crank_angle, dtype=float) - start) / duration, 0.0)
    return -np.expm1(-a * z ** (m + 1.0))


@with_units(
    returns="number",
    crank_angle="angle",
    start="angle",
    duration="angle > 0",
    a="number > 0",
    m="number >= 0",
)
def wiebe_rate(crank_angle: Any, start: Any, duration: Any, a: Any = 5.0, m: Any = 2.0) -> Any:
    """Burn rate, the slope of the burnt share over crank angle.

    dx/dtheta = a (m+1)/duration z^m exp(-a z^(m+1)); 0 before the start.

    Parameters
    ----------
    crank_angle : [rad], 0 at firing top dead centre
    start : start of the burn [rad]
    duration : burn duration, z = 0 to 1 [rad]
    a : efficiency factor [-]
    m : form factor [-], not below 0

    Returns
    -------
    burnt share per radian [1/rad]

    Raises
    ------
    InputError
        for a duration or `a` that is not above 0, or a negative `m`.

    Notes
    -----
    Derivative of `wiebe`; source there.
    """
    z = (np.asarray(crank_angle, dtype=float) - start) / duration
    on = z >= 0.0
    z = np.where(on, z, 0.0)
    return np.where(on, a * (m + 1.0) / duration * z**m * np.exp(-a * z ** (m + 1.0)), 0.0)[()]


@with_units(
    returns=("angle", "angle"),
    ca50="angle",
    duration_10_90="angle > 0",
    a="number > 0",
    m="number > -1",
)
def burn_timing(ca50: Any, duration_10_90: Any, a: Any = 5.0, m: Any = 2.0) -> Any:
    """Start and whole duration of the Wiebe burn from the two angles a tuner knows.

    z(x) = (-ln(1 - x)/a)^(1/(m+1)); duration = duration_10_90/(z(0.9) - z(0.1));
    start = ca50 - z(0.5) duration.

    Parameters
    ----------
    ca50 : crank angle at which half of the charge is burnt [rad], 0 at firing top dead
        centre; commonly 8 to 10 degrees after it
    duration_10_90 : crank angle from 10 % to 90 % burnt [rad]
    a, m : factors of `wiebe` [-]

    Returns
    -------
    start, duration [rad]

    Raises
    ------
    InputError
        for a duration or `a` that is not above 0, or `m` not above -1.

    Notes
    -----
    `wiebe` solved for the angle; source there.
    """
    duration = duration_10_90 / (_place(0.9, a, m) - _place(0.1, a, m))
    return ca50 - _place(0.5, a, m) * duration, duration


@with_units(
    returns=("angle", "angle"), start="angle", duration="angle > 0", a="number > 0", m="number > -1"
)
def burn_points(start: Any, duration: Any, a: Any = 5.0, m: Any = 2.0) -> Any:
    """Half-burnt angle and 10-90 % duration of a Wiebe burn; the inverse of `burn_timing`.

    ca50 = start + z(0.5) duration; duration_10_90 = (z(0.9) - z(0.1)) duration.

    Parameters
    ----------
    start : start of the burn [rad], 0 at firing top dead centre
    duration : burn duration, z = 0 to 1 [rad]
    a, m : factors of `wiebe` [-]

    Returns
    -------
    ca50, duration_10_90 [rad]

    Raises
    ------
    InputError
        for a duration or `a` that is not above 0, or `m` not above -1.

    Notes
    -----
    `wiebe` solved for the angle; source there.
    """
    return start + _place(0.5, a, m) * duration, (_place(0.9, a, m) - _place(0.1, a, m)) * duration


@with_units(returns="angle", crank_speed="crank speed > 0")
def burn_duration(crank_speed: Any) -> Any:
    """Whole Wiebe burn duration of a spark-ignition engine from its crank speed (a = 5, m = 2).

    duration = (-1.6189 n^2 + 19.886 n + 39.951) degrees, n in thousands of turns a minute.

    Parameters
    ----------
    crank_speed : [rev/s], 1000 to 6000 turns a minute

    Returns
    -------
    burn duration [rad]

    Raises
    ------
    InputError
        for a crank speed outside the range of the fit.

    Notes
    -----
    S. Sitthiracha, An Analytical Model of Spark Ignition Engine for Performance Prediction,
    master's thesis, KMITNB 2006, equations 3-4, 3-6 and 3-7. One engine family; a first guess.
    """
    n = np.asarray(crank_speed, dtype=float) * 60.0 / 1000.0
    outside = (n < 1.0 - 1e-9) | (n > 6.0 + 1e-9)
    if np.any(outside):
        bad = float(n[outside].flat[0]) if n.ndim else float(n)
        raise fail("crank_speed", f"{1000 * bad:g} rpm", '1000 to 6000 rpm, such as "3000 rpm"')
    return np.radians(np.polyval((-1.6189, 19.886, 39.951), n))
