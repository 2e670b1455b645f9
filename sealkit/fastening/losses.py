"""What is left of the preload: scatter of tightening, embedment, creep, heat.

References
----------
[1] VDI 2230, Systematic calculation of highly stressed bolted joints (from memory).
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import Fault, InputError, fail
from sealkit.fastening import stiffness
from sealkit.units import UnitFunction, check_range, field, from_si, to_si, with_units


@dataclass(frozen=True)
class Loss:
    """One cause of preload loss, as put into `preload_range`.

    Parameters
    ----------
    name : in words
    low, high : smallest and largest loss: N, or a share of the assembly preload; a gain is negative
    share : True if `low` and `high` are shares
    source, status : where the numbers come from
    """

    name: str
    low: Any
    high: Any
    share: bool
    source: str
    status: str


@dataclass(frozen=True)
class LossTerm:
    """One line of the preload balance.

    Parameters
    ----------
    name : in words
    low : loss taken off the low end of the assembly preload [N]
    nominal : loss taken off the nominal preload [N]
    high : loss taken off the high end [N]
    source, status : where the numbers come from
    """

    name: str
    low: Any = field("force")
    nominal: Any = field("force")
    high: Any = field("force")
    source: str = ""
    status: str = ""


@dataclass(frozen=True)
class PreloadRange:
    """Preload from its low to its high end, at assembly and after losses.

    Parameters
    ----------
    assembly_low, assembly, assembly_high : preload just after tightening [N]
    low, nominal, high : preload after losses, N; low for sealing, high for strength
    terms : losses one by one; low = assembly_low - sum of their low, unless held at zero
    """

    assembly_low: Any = field("force")
    assembly: Any = field("force")
    assembly_high: Any = field("force")
    low: Any = field("force")
    nominal: Any = field("force")
    high: Any = field("force")
    terms: tuple[LossTerm, ...] = ()


# --------------------------------------------------------------------------- losses
def _checked(name: str, low: Any, high: Any, source: str, status: str) -> None:
    faults = []
    if np.any(np.asarray(low) > high):
        faults.append(Fault("high", "less than low", "the largest loss, not below low"))
    if status not in tables.STATUSES:
        faults.append(Fault("status", str(status), "one of " + "; ".join(tables.STATUSES)))
    if not source:
        faults.append(Fault("source", "nothing", "the source of the loss"))
    if not name:
        faults.append(Fault("name", "nothing", "a name for the loss"))
    if faults:
        raise InputError(faults)


def _loss_with_units(door: UnitFunction) -> UnitFunction:
    """Hands a Loss on with units; the plain function gives plain SI numbers."""

    @functools.wraps(door)
    def outer(*args: Any, **kwargs: Any) -> Loss:
        loss = door(*args, **kwargs)
        kind = "fraction" if loss.share else "force"
        return dataclasses.replace(loss, low=from_si(loss.low, kind), high=from_si(loss.high, kind))

    return cast(UnitFunction, outer)


@_loss_with_units
@with_units()
def share_loss(name: str, low: si.Share, high: si.Share, source: str, status: str) -> Loss:
    """A loss that is a share of the assembly preload, such as gasket creep relaxation.

    Raises InputError if low is above high, or source or status is missing.

    Parameters
    ----------
    name : in words
    low, high : smallest and largest share
    source, status : where the numbers come from
    """
    _checked(name, low, high, source, status)
    return Loss(name, low, high, True, source, status)


def _count(value: Any, name: str) -> int:
    if isinstance(value, bool) or not isinstance(value, (int, np.integer)) or value < 0:
        raise fail(name, value, "a whole number from 0")
    return int(value)


@with_units(returns="lift")
def embedment_depth(
    roughness: str = "10 to 40 um",
    interfaces: int = 1,
    faces: int = 2,
    threads: int = 1,
    shear: bool = False,
) -> Any:
    """Amount by which the surfaces of a joint settle [1].

    fZ = threads x thread + faces x head or nut face + interfaces x inner interface

    Solid metal surfaces; a gasket's own creep comes on top.

    Raises InputError for an unknown class or a count that is not a whole number.

    Parameters
    ----------
    roughness : Rz class of the table ``embedment``: "below 10 um", "10 to 40 um", "40 to 160 um"
    interfaces : inner interfaces
    faces : bearing faces of head and nut; 1 for a screw in a tapped part
    threads : engaged threads
    shear : True for a joint loaded across the bolt
    """
    key = f"{roughness}, {'shear' if shear else 'axial'}"
    row = tables.load("embedment").get(key, "roughness")
    return (
        _count(threads, "threads") * row["thread"]
        + _count(faces, "faces") * row["face"]
        + _count(interfaces, "interfaces") * row["interface"]
    )


@_loss_with_units
@with_units()
def embedment_loss(
    embedment: si.Lift0,
    bolt_stiffness: si.Stiffness,
    member_stiffness: si.Stiffness,
    source: str = "VDI 2230 embedment values",
    status: str = "from memory",
) -> Loss:
    """Preload lost to embedment, fZ / (1/kb + 1/km) [1]: a short stiff bolt loses most.

    Parameters
    ----------
    embedment : fZ (`embedment_depth`) [m]
    bolt_stiffness, member_stiffness : kb, km, gasket in the stack included [N/m]
    source, status : where fZ comes from
    """
    _checked("embedment", 0.0, 0.0, source, status)
    loss = np.asarray(embedment)[()] * stiffness.series.si([bolt_stiffness, member_stiffness])
    return Loss("embedment", loss, loss, False, source, status)


# --------------------------------------------------------------------------- range
@with_units(returns="fields")
def preload_range(
    preload: si.Force0, scatter: si.Share, losses: Sequence[Loss] = ()
) -> PreloadRange:
    """Range of preload after scatter and losses.

    low = F (1 - s) - sum of largest losses;  nominal = F - sum of middle losses;
    high = F (1 + s) - sum of smallest losses;  never below zero

    Low end for sealing, high end for strength. Losses are added, not compounded, as in [1].

    Raises InputError for an entry that is not a Loss, or has no number, known status or right unit.

    Parameters
    ----------
    preload : nominal assembly preload F [N]
    scatter : s, plus or minus share of the preload (`tightening.preload_scatter`)
    losses : list of Loss (`embedment_loss`, `share_loss`); shares count on the assembly preload of
        each end
    """
    nominal = np.asarray(preload, dtype=float)[()]
    s = np.asarray(scatter, dtype=float)[()]
    ends = nominal * (1 - s), nominal, nominal * (1 + s)
    if isinstance(losses, Loss) or not isinstance(losses, (list, tuple)):
        raise fail("losses", type(losses).__name__, "a list of Loss")
    terms = []
    for number, entry in enumerate(losses, start=1):
        if not isinstance(entry, Loss):
            raise fail(f"losses, entry {number}", entry, "a Loss, such as embedment_loss(...)")
        _checked(entry.name, 0.0, 0.0, entry.source, entry.status)
        loss = _in_si(entry)
        middle = (np.asarray(loss.low)[()] + loss.high) / 2
        parts = (loss.high, middle, loss.low)
        if loss.share:
            parts = tuple(p * e for p, e in zip(parts, ends, strict=True))
        terms.append(LossTerm(loss.name, *parts, source=loss.source, status=loss.status))
    left = [
        np.maximum(end - sum(getattr(t, name) for t in terms), 0.0)
        for end, name in zip(ends, ("low", "nominal", "high"), strict=True)
    ]
    return PreloadRange(*ends, left[0], left[1], left[2], tuple(terms))


def _in_si(loss: Loss) -> Loss:
    """Numbers of a Loss in SI; one made by hand may carry units."""
    kind = "fraction 0..1" if loss.share else "force"
    name = f"losses, {loss.name}"
    low, high = (
        to_si(v, kind.split(" ")[0], name) if hasattr(v, "units") or isinstance(v, str) else v
        for v in (loss.low, loss.high)
    )
    faults = [f for f in (check_range(v, kind, name) for v in (low, high)) if f is not None]
    if np.any(np.asarray(low) > high):
        faults.append(Fault(name, "high less than low", "high not below low"))
    if faults:
        raise InputError(faults)
    return dataclasses.replace(loss, low=low, high=high)
