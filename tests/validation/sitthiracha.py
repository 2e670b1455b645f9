"""S. Sitthiracha, An Analytical Model of Spark Ignition Engine: mean pressure of friction."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units


@with_units(returns="pressure", crank_speed="crank speed >= 0")
def friction_mep_speed(crank_speed: Any) -> Any:
    """Friction mean effective pressure of a spark-ignition engine by crank speed.

    fmep = (0.97 + 0.15 n + 0.05 n^2) bar, n in thousands of turns a minute.

    Parameters
    ----------
    crank_speed : [rev/s]

    Returns
    -------
    friction mean effective pressure [Pa]

    Raises
    ------
    InputError
        for a negative crank speed.

    Notes
    -----
    S. Sitthiracha, An Analytical Model of Spark Ignition Engine for Performance Prediction,
    master's thesis, KMITNB 2006, equation 3-22. Fit to older four-cylinder engines, wide open
    throttle; no load in it.
    """
    return 1e5 * np.polyval((0.05, 0.15, 0.97), np.asarray(crank_speed, dtype=float) * 0.06)
