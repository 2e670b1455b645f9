"""Open textbook companion to T. H. Wentzell, Machine Design, ex. 6.3."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units


@with_units(
    returns="temperature difference",
    stretch="length >= 0",
    length="length > 0",
    expansion="expansion > 0",
)
def heating_for_stretch(stretch: Any, length: Any, expansion: Any) -> Any:
    """Temperature rise [K] that stretches a free bolt by a given amount, delta / (a L)."""
    return stretch / (np.asarray(length)[()] * expansion)
