"""S. Sitthiracha, An Analytical Model of Spark Ignition Engine for Performance Prediction.

Master's thesis, KMITNB 2006: burn duration (equations 3-4, 3-6, 3-7) and friction (equation 3-22).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.units import with_units


@with_units(returns="angle", crank_speed="crank speed > 0")
def burn_duration(crank_speed: Any) -> Any:
    """Whole Wiebe burn duration of a spark-ignition engine from its crank speed (a = 5, m = 2).

    duration = (-1.6189 n^2 + 19.886 n + 39.951) degrees, n in thousands of turns a minute.
    """
    n = np.asarray(crank_speed, dtype=float) * 60.0 / 1000.0
    outside = (n < 1.0 - 1e-9) | (n > 6.0 + 1e-9)
    if np.any(outside):
        bad = float(n[outside].flat[0]) if n.ndim else float(n)
        raise fail("crank_speed", f"{1000 * bad:g} rpm", '1000 to 6000 rpm, such as "3000 rpm"')
    return np.radians(np.polyval((-1.6189, 19.886, 39.951), n))


@with_units(returns="pressure", crank_speed="crank speed >= 0")
def friction_mep_speed(crank_speed: Any) -> Any:
    """Friction mean effective pressure of a spark-ignition engine by crank speed.

    fmep = (0.97 + 0.15 n + 0.05 n^2) bar, n in thousands of turns a minute.
    """
    return 1e5 * np.polyval((0.05, 0.15, 0.97), np.asarray(crank_speed, dtype=float) * 0.06)
