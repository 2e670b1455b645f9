"""A fastener past its yield point: it hardens a little and takes the stretch where it is thinnest.

Up to yield the tension goes with the stretch by kb; past it the section that yields, of area A and
length L, gives way as a softer spring kp in series, until the strain at the highest load is used
up:

    F = Fy + s k,  k = kb kp/(kb + kp),  kp = (Rm - Re)/eu A/L       (s: stretch past that at yield)

References
----------
[1] Straight line from yield to tensile strength over the uniform strain eu (from memory).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.units import with_units

Section = tuple[float, float]  # area, length
_ONE_CUT = 0.01  # of the diameter (common practice, no source)


@with_units(returns="length")
def yielding_length(
    segments: Any,
    yield_strength: si.Stress,
    tensile: si.Stress,
    strain: si.Share,
    tolerance: si.Share = 0.0,
) -> Any:
    """Length of the weakest section that would stretch for good as far as all sections do [1].

    L = sum Li max(0, F/Ai - Re)/(F/A - Re),  F/A = Re + strain (Rm - Re)

    A section nearly as weak as the weakest takes part of the stretch, one much stronger none. Of
    all that may be the weakest one within their tolerance that with the shortest length counts.

    Parameters
    ----------
    segments : list of (area Ai [m**2], length Li [m]), one for each that is made by itself; A is
        the smallest area
    yield_strength, tensile : Re, Rm [Pa]
    strain : that the weakest section is stretched to, over the uniform strain
    tolerance : by which any of the areas may be smaller; one, or one per build

    >>> thread = (72e-6, 0.03)
    >>> for shank in (72e-6, 72.4e-6, 95e-6):
    ...     made = yielding_length.si([thread, (shank, 0.08)], 940e6, 1040e6, 0.1)
    ...     print(round(1e3 * float(made)))
    110
    68
    30
    """
    areas, lengths = np.asarray(segments, dtype=float).T
    # one row for each section that may be the thin one
    thinner = np.reshape(tolerance, (*np.shape(tolerance), 1, 1)) * np.eye(len(areas))
    each = areas * (1.0 - thinner)
    over = strain * _rise(yield_strength, tensile)
    stress = (yield_strength + over) * each.min(axis=-1, keepdims=True) / each
    return np.min(np.maximum(stress - yield_strength, 0.0) @ lengths, axis=-1) / over


def of_one_cut(parts: Sequence[Section], length: Callable[[Sequence[Section]], Any]) -> Any:
    """What stretches (`length`) of a shank whose parts, nearly as thick, count as one cut.

    Diameters within `_ONE_CUT` of each other do so whole, beyond less and less, up to twice that.

    Parameters
    ----------
    parts : (area [m**2], length [m]) of each part of the shank, thinnest first
    length : what stretches of other parts of the shank, each by itself [m]
    """
    steps = [np.sqrt(b[0] / a[0]) - 1.0 for a, b in itertools.pairwise(parts)]
    alike = min(2.0 - min(steps, default=np.inf) / _ONE_CUT, 1.0)
    if alike <= 0.0:
        return length(parts)
    i = int(np.argmin(steps))
    one = (parts[i][0], parts[i][1] + parts[i + 1][1])
    whole = of_one_cut([*parts[:i], one, *parts[i + 2 :]], length)
    return alike * whole + (1.0 - alike) * length(parts)


def _rise(yield_strength: Any, tensile: Any) -> Any:
    """Rm - Re [Pa]; a steel that does not harden at all still has to carry on."""
    return np.maximum(np.asarray(tensile) - yield_strength, 1e-3 * np.asarray(yield_strength))


@with_units(returns="stiffness")
def hardening_stiffness(
    yield_strength: si.Stress,
    tensile: si.Stress,
    area: si.Area,
    length: si.Length,
    uniform_strain: si.Fraction,
) -> Any:
    """Stiffness of the section that yields, kp = (Rm - Re) A / (eu L) [N/m] [1].

    Raises InputError if the tensile strength lies below the yield strength.

    Parameters
    ----------
    yield_strength, tensile : Re, Rm [Pa]
    area, length : A [m**2], L [m] of the section that yields: free and engaged thread, or a neck
    uniform_strain : eu, strain at the highest load
    """
    if np.any(np.asarray(tensile) < yield_strength):
        raise fail("tensile", "less than the yield strength", "at least yield_strength")
    return _rise(yield_strength, tensile) * area / (uniform_strain * length)


@with_units(returns="force")
def stretched(
    elastic: si.Force0, at_yield: si.Force, bolt_stiffness: si.Stiffness, hardening: si.Stiffness
) -> Any:
    """Tension of a fastener that is stretched as far as an elastic one would be for `elastic` [N].

    Parameters
    ----------
    elastic : kb times the stretch [N]
    at_yield : tension at which it yields Fy [N]
    bolt_stiffness, hardening : kb, kp [N/m]
    """
    over = np.maximum(np.asarray(elastic) - at_yield, 0.0) * hardening
    return np.minimum(elastic, at_yield) + over / (np.asarray(bolt_stiffness) + hardening)
