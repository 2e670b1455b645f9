"""One limit: a demand against a capacity, and where the capacity comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.units import in_system


@dataclass(frozen=True)
class Limit:
    """One limit.

    Parameters
    ----------
    key : stable name
    what : in words
    part : the part that gives way
    demand, capacity : plain SI, floats or arrays over pressure
    kind : kind of both (`sealkit.units.KINDS`)
    state : temperature, preload and moment, such as "cold, low preload, at peak pressure"
    source, status : of the capacity
    note : what to know about it
    gives : what happens when it is passed
    """

    key: str
    what: str
    part: str
    demand: Any
    capacity: Any
    kind: str
    state: str
    source: str
    status: str
    note: str = ""
    gives: str = ""

    def told(self, system: str = "metric") -> str:
        """What is limited, in the units of this shop; the name of the part stays as it is."""
        name, colon, words = self.what.partition(": ")
        return f"{name}{colon}{in_system(words, system)}" if colon else self.what

    @property
    def margin(self) -> Any:
        """Margin of safety, capacity / demand - 1 (float or array; infinite without demand)."""
        demand = np.asarray(self.demand, dtype=float)
        capacity = np.asarray(self.capacity, dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            margin = np.where(
                demand > 0, capacity / np.where(demand > 0, demand, 1.0) - 1.0, np.inf
            )
        return float(margin) if margin.ndim == 0 else margin

    @property
    def holds(self) -> bool:
        """Whether the margin is nowhere below zero."""
        return bool(np.all(np.asarray(self.margin) >= 0.0))
