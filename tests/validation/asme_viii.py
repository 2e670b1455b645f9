"""ASME BPVC VIII-1, Appendix 2, 2-5(c)(2), written per area of gasket."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units


@with_units(returns="force", seating="stress >= 0", area="area > 0")
def seating_force(seating: Any, area: Any) -> Any:
    """Clamp that seats a facing over an area, y A [N].

    Parameters
    ----------
    seating : seating stress y [Pa]
    area : of the deck that is to seal, A [m**2]
    """
    return seating * np.asarray(area, dtype=float)[()]
