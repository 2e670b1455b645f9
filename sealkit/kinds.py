"""Kinds of quantity as they stand in signatures, for `sealkit.units.with_units`.

    from sealkit import kinds as si

    @with_units(returns="area")
    def receiver_area(width: si.Length0, depth: si.Length0) -> Any: ...

A size is above zero (`Length`); one with a 0 behind it may be zero (`Length0`), one with Any before
it may have either sign (`AnyLength`). Every kind of ``units.toml`` has these names, its words in
one: `PlateStiffness`. Inside a function each is a plain SI float or array.
"""

import re
from typing import Any

_OWN = {"Share": "fraction 0..1", "Above1": "number > 1"}


def spec(name: str) -> str:
    """Kind and range of a name, as `with_units` reads them.

    >>> spec("LineLoad0"), spec("AnyLength"), spec("Share")
    ('line load >= 0', 'length', 'fraction 0..1')
    """
    kind = re.sub(r"(?<!^)(?=[A-Z])", " ", name.removeprefix("Any").removesuffix("0")).lower()
    span = "" if name.startswith("Any") else " >= 0" if name.endswith("0") else " > 0"
    return _OWN.get(name, kind + span)


def __getattr__(name: str) -> Any:
    if not name[0].isupper():
        raise AttributeError(name)
    return Any
