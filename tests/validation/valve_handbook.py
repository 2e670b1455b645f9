"""Valve Selection Handbook, "Fundamentals", p. 19, eqs 2-3 to 2-5: leak before blow-out."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units


@with_units(returns="length", thickness="length > 0", friction="number > 0", factor="number > 0")
def blow_out_width(thickness: Any, friction: Any = 0.1, factor: Any = 1.0) -> Any:
    """Least width [m] of a sheet that leaks before it blows out, t / (2 mu m).

    `factor` m is the contact stress over pressure at which it starts to leak.
    """
    return np.asarray(thickness, dtype=float) / (2.0 * np.asarray(friction, dtype=float) * factor)
