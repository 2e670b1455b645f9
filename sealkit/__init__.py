"""sealkit: how the pressure of a boosted engine is kept inside the cylinder.

For teaching and first estimates. Torque, fasteners and clearances come from the engine's and the
fastener's own data and a qualified builder.

>>> import sealkit
>>> four = sealkit.demo("boosted-four")
>>> sealkit.run(four, deck=True).holds
True
>>> sealkit.run(four.vary({"charge.boost": "40 psi"})).holds
False
"""

from typing import TYPE_CHECKING, Any

from sealkit.errors import Fault, InputError

if TYPE_CHECKING:
    from sealkit.build import Build, demo, load, loads
    from sealkit.report import Report, run
    from sealkit.units import Q, ureg

__version__ = "0.1.0"
__all__ = [
    "Build",
    "Fault",
    "InputError",
    "Q",
    "Report",
    "__version__",
    "demo",
    "load",
    "loads",
    "run",
    "ureg",
]

# where the rest of the face stands; imported when it is asked for
_LATER = {
    "build": ("Build", "demo", "load", "loads"),
    "report": ("Report", "run"),
    "units": ("Q", "ureg"),
}


def __getattr__(name: str) -> Any:
    from importlib import import_module

    for module, names in _LATER.items():
        if name in names:
            return getattr(import_module(f"sealkit.{module}"), name)
    raise AttributeError(f"module 'sealkit' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
