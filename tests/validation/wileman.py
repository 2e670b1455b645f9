"""J. Wileman, M. Choudhury and I. Green, Journal of Mechanical Design 113 (1991) 432.

Member stiffness of one material as an exponential fit to finite elements: face of 1.5 d, about d/l
0.1 to 2 (range from memory). Between -1 % and +12 % of finite elements with a rigid head, +12 to
+24 % above those with even pressure under the head. Constants A and B as printed in R. G. Budynas
and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-23, Table 8-8.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units

CONSTANTS = {
    "steel": (0.78715, 0.62873),
    "aluminium": (0.7967, 0.63816),
    "copper": (0.79568, 0.63553),
    "grey iron": (0.77871, 0.61616),
    "general": (0.78952, 0.62914),
}


@with_units(returns="stiffness", modulus="modulus > 0", diameter="length > 0", grip="length > 0")
def member_stiffness(modulus: Any, diameter: Any, grip: Any, material: str) -> Any:
    """km = E d A exp(B d / l) [N/m]."""
    a, b = CONSTANTS[material]
    return modulus * diameter * a * np.exp(b * np.asarray(diameter, dtype=float)[()] / grip)
