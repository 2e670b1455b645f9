"""What the wrench does: torque, friction, angle, stretch and the stress while tightening.

References
----------
[1] R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., ch. 5, 8.
[2] Machinery's Handbook, 31st ed., "Torque and tension in fasteners", eq. 22, Table 2.
[3] VDI 2230, Systematic calculation of highly stressed bolted joints (from memory).
[4] F. P. Beer, E. R. Johnston and J. T. DeWolf, Mechanics of Materials, sample problem 2.2.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail
from sealkit.fastening import stiffness
from sealkit.fastening._lists import SECTION, lists
from sealkit.fastening.threads import PITCH_DROP
from sealkit.units import field, with_units

FLANK = np.pi / 6
"""Half of the 60 degree thread angle."""
TORSION = {"elastic": 16.0, "plastic": 12.0}
"""Divisor of pi d^3 in the torsion modulus of a round section."""


# --------------------------------------------------------------------------- friction
@dataclass(frozen=True)
class Friction:
    """Friction of one lubricant state."""

    lubricant: str  # key of the table ``friction``
    # thread_low, thread, thread_high: friction coefficient in the thread
    thread_low: float = field("number")
    thread: float = field("number")
    thread_high: float = field("number")
    # head_low, head, head_high: friction coefficient under the head
    head_low: float = field("number")
    head: float = field("number")
    head_high: float = field("number")
    nut_factor: float | None = field("number")  # K where a source has one, otherwise None
    # source, status, note: of the coefficients
    source: str = ""
    status: str = ""
    note: str = ""
    # nut_factor_source, nut_factor_status: of K
    nut_factor_source: str = ""
    nut_factor_status: str = ""


@with_units(returns="fields")
def friction(lubricant: str) -> Friction:
    """Friction coefficients of a lubricant state, with their range.

    Coefficients are from memory; nut factors carry their own source. Raises InputError for an
    unknown state; the nearest is suggested.

    Parameters
    ----------
    lubricant : key of the table ``friction``, such as "engine oil" or "moly paste"
    """
    row = tables.load("friction").get(lubricant, "lubricant")
    return Friction(**{f.name: row[f.name] for f in dataclasses.fields(Friction)})


# --------------------------------------------------------------------------- short form
@with_units(returns="torque")
def torque_short(preload: si.Force0, nut_factor: si.Number, diameter: si.Length) -> Any:
    """Tightening torque by the short form, T = K F d ([1], eq. 8-27).

    Parameters
    ----------
    preload : F [N]
    nut_factor : K
    diameter : nominal diameter d [m]

    >>> print(round(torque_short("50 kN", 0.18, "11 mm").to("N*m").magnitude, 1))
    99.0
    """
    return preload * np.asarray(nut_factor)[()] * diameter


@with_units(returns="force")
def preload_short(torque: si.Torque0, nut_factor: si.Number, diameter: si.Length) -> Any:
    """Preload from torque by the short form, F = T / (K d) ([1], eq. 8-27).

    Parameters
    ----------
    torque : T [N m]
    nut_factor : K
    diameter : nominal diameter d [m]
    """
    return torque / (np.asarray(nut_factor)[()] * diameter)


@with_units(returns="number")
def nut_factor_from_test(torque: si.Torque0, preload: si.Force, diameter: si.Length) -> Any:
    """Nut factor from measured torque and preload, K = T / (F d) ([1], eq. 8-27).

    Parameters
    ----------
    torque : T [N m]
    preload : F [N]
    diameter : nominal diameter d [m]
    """
    return torque / (np.asarray(preload)[()] * diameter)


# --------------------------------------------------------------------------- long form
@dataclass(frozen=True)
class TorqueSplit:
    """Where a tightening torque goes."""

    stretching: Any = field("torque")  # part that lifts the load up the thread [N m]
    thread: Any = field("torque")  # part lost to thread friction [N m]
    head: Any = field("torque")  # part lost under the head [N m]
    total: Any = field("torque")  # all three [N m]


@with_units(returns="fields", thread_friction="number 0..1", head_friction="number 0..1")
def torque_split(
    preload: si.Force0,
    diameter: si.Length,
    pitch: si.Length,
    thread_friction: Any,
    head_friction: Any,
    pitch_diameter: si.Length = None,
    head_diameter: si.Length = None,
    inner_diameter: si.Length = None,
) -> TorqueSplit:
    """Tightening torque by the long form, part by part ([2], eq. 22).

    T = F [p / (2 pi) + d2 mu1 / (2 cos 30 deg) + (di + b) mu2 / 4]

    ISO 16047 and [3] have the same algebra (from memory). All parts go with the preload:
    that of a torque is the torque over the total of one newton. Raises InputError if the bearing
    face is not larger than its hole.

    Parameters
    ----------
    preload : F [N]
    diameter, pitch : d, p [m]
    thread_friction, head_friction : mu1, mu2, 0 to 1
    pitch_diameter : d2 [m]; basic d - 0.649519 p if not given
    head_diameter : outside of the bearing face b [m]; 1.5 d if not given
    inner_diameter : inside of the bearing face di [m]; d if not given
    """
    p = np.asarray(pitch, dtype=float)[()]
    d2 = diameter - PITCH_DROP * p if pitch_diameter is None else pitch_diameter
    outer = stiffness.FACE * diameter if head_diameter is None else head_diameter
    inner = diameter if inner_diameter is None else inner_diameter
    if np.any(np.asarray(outer) <= inner):
        raise fail("head_diameter", "a face not larger than the hole", "more than inner_diameter")
    force = np.asarray(preload, dtype=float)[()]
    mu1, mu2 = np.asarray(thread_friction)[()], np.asarray(head_friction)[()]
    lead = force * (p / (2 * np.pi))
    thread = force * mu1 * (d2 / (2 * np.cos(FLANK)))
    head = force * mu2 * ((inner + np.asarray(outer)) / 4)
    return TorqueSplit(lead, thread, head, lead + thread + head)


# --------------------------------------------------------------------------- stress
@with_units(returns="stress")
def equivalent_stress(tension: si.AnyStress, shear: si.AnyStress) -> Any:
    """Von Mises stress of tension with shear, sqrt(sigma^2 + 3 tau^2) ([1], eq. 5-15).

    Parameters
    ----------
    tension, shear : sigma, tau [Pa]
    """
    return np.sqrt(np.asarray(tension)[()] ** 2 + 3 * np.asarray(shear)[()] ** 2)


@dataclass(frozen=True)
class TighteningStress:
    """Stress in the thread while the wrench is turning."""

    # tension, shear, equivalent: tension, torsional shear and von Mises stress [Pa]
    tension: Any = field("stress")
    shear: Any = field("stress")
    equivalent: Any = field("stress")


@with_units(returns="fields")
def tightening_stress(
    preload: si.Force0, thread_torque: si.Torque0, stress_area: si.Area, torsion: Any = "elastic"
) -> TighteningStress:
    """Tension and torsion in the thread while tightening.

    sigma = F / At;  tau = TG / Wt,  Wt = pi d0^3 / 16 (elastic) or pi d0^3 / 12 (plastic),
    d0 = sqrt(4 At / pi)

    Textbooks of machine design take the elastic modulus, [3] the plastic one since its edition of
    2003. Raises InputError for another word in `torsion`.

    Parameters
    ----------
    preload : F [N]
    thread_torque : torque carried by the thread TG, stretching and thread parts of `torque_split`
        [N m]
    stress_area : At [m**2]
    torsion : "elastic" (first yield at the skin) or "plastic" (whole section at yield, as in [3]),
        or the divisor of pi d0^3 itself; for the same state the equivalent stress of the elastic
        modulus is some 8 % higher
    """
    if isinstance(torsion, str) and torsion not in TORSION:
        raise fail("torsion", torsion, '"elastic" or "plastic"')
    divisor = TORSION[torsion] if isinstance(torsion, str) else torsion
    d0 = np.sqrt(4 * np.asarray(stress_area, dtype=float)[()] / np.pi)
    tension = preload / np.asarray(stress_area)[()]
    shear = thread_torque * divisor / (np.pi * d0**3)
    return TighteningStress(tension, shear, equivalent_stress.si(tension, shear))


@with_units(returns="force", thread_friction="number 0..1")
def preload_at_utilisation(
    yield_strength: si.Stress,
    utilisation: si.Share,
    stress_area: si.Area,
    pitch: si.Length,
    pitch_diameter: si.Length,
    thread_friction: Any,
) -> Any:
    """Preload at which the stress while tightening is a given share of yield [3].

    F = v Sy At / sqrt(1 + 3 r^2),  r = tau / sigma = (p / (2 pi) + d2 mu / (2 cos 30 deg)) At / Wt

    Plastic torsion modulus. More friction in the thread means less preload at yield.

    Parameters
    ----------
    yield_strength : Sy [Pa]
    utilisation : v, 0 to 1; 0.9 is usual for torque, 1 is tightening to yield
    stress_area : At [m**2]
    pitch, pitch_diameter : p, d2 [m]
    thread_friction : mu, 0 to 1
    """
    arm = np.asarray(pitch, dtype=float)[()] / (2 * np.pi)
    arm = arm + np.asarray(pitch_diameter)[()] * thread_friction / (2 * np.cos(FLANK))
    unit = tightening_stress.si(1.0, arm, stress_area, "plastic")
    return utilisation * np.asarray(yield_strength)[()] / unit.equivalent


@with_units(returns="force")
def preload_of_proof(proof: si.Stress, stress_area: si.Area, share: si.Share = 0.75) -> Any:
    """Recommended preload as a share of the proof load, Fi = share Sp At ([1], eq. 8-31).

    Parameters
    ----------
    proof : proof strength Sp [Pa]
    stress_area : At [m**2]
    share : of the proof load, 0 to 1: 0.75 for reused, 0.90 for permanent connections
    """
    return share * np.asarray(proof)[()] * stress_area


# --------------------------------------------------------------------------- stretch and angle
@with_units(returns="length", segments=lists(SECTION, "length > 0"))
def stretch(preload: si.Force0, segments: Any, modulus: si.Modulus) -> Any:
    """Elastic stretch of a stepped shank under a force, F / kb ([1], eq. 8-17).

    A gauge over the whole fastener also sees head and engaged thread.

    Parameters
    ----------
    preload : F [N]
    segments, modulus : as in `stiffness.bolt_stiffness`
    """
    return preload / stiffness.bolt_stiffness.si(segments, modulus)


@with_units(returns="force")
def preload_from_turn(
    angle: si.Angle0,
    pitch: si.Length,
    bolt_stiffness: si.Stiffness,
    member_stiffness: si.Stiffness = None,
) -> Any:
    """Elastic preload gained by turning the nut, (p angle / (2 pi)) / (1/kb + 1/km) [4].

    Parameters
    ----------
    angle : from the point where the parts bear fully [rad]
    pitch : p [m]
    bolt_stiffness : kb [N/m]
    member_stiffness : km [N/m]; rigid members if not given
    """
    k = bolt_stiffness
    if member_stiffness is not None:
        k = stiffness.series.si([bolt_stiffness, member_stiffness])
    return angle * np.asarray(pitch)[()] / (2 * np.pi) * k


# --------------------------------------------------------------------------- scatter
@with_units(returns=("fraction", "fraction"))
def preload_scatter(method: str) -> Any:
    """Scatter of preload of a tightening method, plus or minus, low and high of the row.

    From [2], Table 2; rows of other sources, which disagree, stand beside it. Returns low, high
    scatter as fractions of the mean preload. Raises InputError for an unknown method; the nearest
    is suggested.

    Parameters
    ----------
    method : key of the table ``scatter``, such as "torque wrench"
    """
    row = tables.load("scatter").get(method, "method")
    return row["low"], row["high"]


@with_units(returns="number", scatter="fraction 0..0.999")
def tightening_factor(scatter: Any) -> Any:
    """Tightening factor, largest over smallest preload, (1 + s) / (1 - s) [3].

    Parameters
    ----------
    scatter : s, plus or minus share of the mean preload, 0 to 0.999

    >>> print(round(tightening_factor("25 %"), 2))
    1.67
    """
    s = np.asarray(scatter, dtype=float)[()]
    return (1 + s) / (1 - s)
