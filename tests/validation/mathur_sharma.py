"""M. L. Mathur and R. P. Sharma, Internal Combustion Engine, ch. 2: mep of an Otto cycle."""

from __future__ import annotations

from typing import Any

from sealkit.units import with_units
from tests.validation.cengel import otto_efficiency


@with_units(
    returns="pressure",
    pressure_rise="pressure >= 0",
    compression_ratio="number > 1",
    gamma="number > 1",
)
def mep_from_pressure_rise(pressure_rise: Any, compression_ratio: Any, gamma: Any = 1.4) -> Any:
    """Mean effective pressure of the Otto cycle from the pressure rise in combustion.

    mep = (p3 - p2) (1 - r^(1-gamma))/((gamma - 1)(r - 1)).
    """
    return (
        pressure_rise
        * otto_efficiency.si(compression_ratio, gamma)
        / ((gamma - 1.0) * (compression_ratio - 1.0))
    )
