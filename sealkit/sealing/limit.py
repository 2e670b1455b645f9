"""One limit: a demand against a capacity, and where the capacity comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.arrays import per_build
from sealkit.units import plain
from sealkit.words import Note

__all__ = ["DAMAGE", "GAS_LEAK", "LIQUID_LEAK", "Limit"]

GAS_LEAK, LIQUID_LEAK, DAMAGE = "gas leak", "liquid leak", "damage"


@dataclass(frozen=True)
class Limit:
    """One limit.

    Parameters
    ----------
    key : stable name
    title : what is limited, in words
    part : the part that gives way
    demand, capacity : plain SI or quantities, floats or arrays over pressure or builds; an array of
        one number is kept as that number
    kind : kind of both (`sealkit.units.KINDS`)
    state : temperature, preload and moment, such as "cold, low preload, at peak pressure"
    source, status : of the capacity
    note : what to know about it
    gives : what happens when it is passed
    failure : what kind of failure that is: `GAS_LEAK`, `LIQUID_LEAK` or `DAMAGE`
    """

    key: str
    title: Note | str
    part: str
    demand: Any
    capacity: Any
    kind: str
    state: str
    source: str
    status: str
    note: str = ""
    gives: str = ""
    failure: str = DAMAGE

    def __post_init__(self) -> None:
        for name in ("demand", "capacity"):
            value = getattr(self, name)
            if type(value) is not float:
                object.__setattr__(self, name, per_build(plain(value, self.kind, name)))

    @property
    def what(self) -> str:
        """What is limited, in metric units."""
        return str(self.title)

    def title_in(self, system: str = "metric") -> str:
        """What is limited, in the units of this shop."""
        return self.title.text(system) if isinstance(self.title, Note) else self.title

    @property
    def margin(self) -> Any:
        """Margin of safety, capacity / demand - 1 (float or array; infinite without demand)."""
        if type(self.demand) is float and type(self.capacity) is float:
            return self.capacity / self.demand - 1.0 if self.demand > 0 else np.inf
        demand = np.asarray(self.demand, dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = self.capacity / np.where(demand > 0, demand, 1.0)
        return np.where(demand > 0, ratio, np.inf) - 1.0

    @property
    def holds(self) -> bool:
        """Whether the margin is nowhere below zero."""
        return bool(np.all(np.asarray(self.margin) >= 0.0))
