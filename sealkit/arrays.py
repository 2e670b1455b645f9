"""Numbers of one build and arrays over many."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def per_build(values: ArrayLike) -> Any:
    """A float where there is one build, else the array over builds.

    >>> per_build([3.0]), per_build([3.0, 4.0]).tolist()
    (3.0, [3.0, 4.0])
    """
    flat = np.asarray(values, dtype=float)
    return float(flat.reshape(-1)[0]) if flat.size == 1 else flat
