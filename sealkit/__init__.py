"""sealkit: how the pressure of a boosted engine is kept inside the cylinder.

For teaching and first estimates. Torque, fasteners and clearances come from the engine's and the
fastener's own data and a qualified builder.
"""

from sealkit.errors import Fault, InputError
from sealkit.units import Q, ureg

__version__ = "0.1.0"
__all__ = ["Fault", "InputError", "Q", "__version__", "ureg"]
