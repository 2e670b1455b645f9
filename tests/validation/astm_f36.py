"""ASTM F36, Standard Test Method for Compressibility and Recovery of Gasket Materials."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units


@with_units(returns="fraction", loaded="length > 0", recovered="length > 0")
def resiliency(loaded: Any, recovered: Any) -> Any:
    """What comes back of a gasket sheet as share of its compressed thickness, (R - M) / M.

    Parameters
    ----------
    loaded, recovered : thickness M under the total load, R with the major load off [m]
    """
    return (np.asarray(recovered, dtype=float) - loaded) / loaded
