"""What the wrench does: torque, friction, angle, stretch and the stress while tightening."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.errors import fail
from sealkit.fastening._lists import SECTION, with_lists
from sealkit.fastening.stiffness import bolt_stiffness as _bolt_stiffness
from sealkit.fastening.stiffness import series as _series
from sealkit.units import field, with_units

__all__ = [
    "Friction",
    "PowerScrew",
    "PreloadSample",
    "TighteningStress",
    "TorqueAngle",
    "TorqueSplit",
    "equivalent_stress",
    "friction",
    "friction_from_test",
    "heating_for_stretch",
    "nut_factor",
    "nut_factor_from_test",
    "power_screw",
    "preload_at_utilisation",
    "preload_from_stretch",
    "preload_from_turn",
    "preload_long",
    "preload_of_proof",
    "preload_sample",
    "preload_scatter",
    "preload_short",
    "scatter_from_factor",
    "stretch",
    "tightening_factor",
    "tightening_stress",
    "torque_angle",
    "torque_long",
    "torque_short",
    "torque_split",
    "turn_angle",
]

_FLANK = np.pi / 6  # half of the 60 degree thread angle
_PITCH_DROP = 3 * np.sqrt(3) / 8
_FACE = 1.5  # bearing face over nominal diameter where none is given
TORSION = {"elastic": 16.0, "plastic": 12.0}
"""Divisor of pi d^3 in the torsion modulus of a round section."""


# --------------------------------------------------------------------------- results
@dataclass(frozen=True)
class Friction:
    """Friction of one lubricant state.

    Parameters
    ----------
    lubricant : key of the table ``friction``
    thread_low, thread, thread_high : friction coefficient in the thread
    head_low, head, head_high : friction coefficient under the head
    nut_factor : K where a source has one, otherwise None
    source, status, note : of the coefficients
    nut_factor_source, nut_factor_status : of K
    """

    lubricant: str
    thread_low: float = field("number")
    thread: float = field("number")
    thread_high: float = field("number")
    head_low: float = field("number")
    head: float = field("number")
    head_high: float = field("number")
    nut_factor: float | None = field("number")
    source: str = ""
    status: str = ""
    note: str = ""
    nut_factor_source: str = ""
    nut_factor_status: str = ""


@dataclass(frozen=True)
class TorqueSplit:
    """Where a tightening torque goes.

    Parameters
    ----------
    stretching : part that lifts the load up the thread, N*m
    thread : part lost to thread friction, N*m
    head : part lost under the head, N*m
    total : all three, N*m
    """

    stretching: Any = field("torque")
    thread: Any = field("torque")
    head: Any = field("torque")
    total: Any = field("torque")


@dataclass(frozen=True)
class PowerScrew:
    """Torques and stresses of a power screw.

    Parameters
    ----------
    mean_diameter, root_diameter, lead : m
    thread_torque, collar_torque : parts of the raising torque, N*m
    raise_torque, lower_torque : N*m; a negative thread part in lowering means not self-locking
    efficiency : useful over spent work when raising
    shear, axial : body shear and axial stress at the root, Pa (compression negative)
    bearing, bending : bearing and root bending stress of the first engaged thread, Pa
    equivalent : von Mises stress at the thread root, Pa
    """

    mean_diameter: Any = field("length")
    root_diameter: Any = field("length")
    lead: Any = field("length")
    thread_torque: Any = field("torque")
    collar_torque: Any = field("torque")
    raise_torque: Any = field("torque")
    lower_torque: Any = field("torque")
    efficiency: Any = field("fraction")
    shear: Any = field("stress")
    axial: Any = field("stress")
    bearing: Any = field("stress")
    bending: Any = field("stress")
    equivalent: Any = field("stress")


@dataclass(frozen=True)
class TighteningStress:
    """Stress in the thread while the wrench is turning.

    Parameters
    ----------
    tension, shear, equivalent : tension, torsional shear and von Mises stress, Pa
    """

    tension: Any = field("stress")
    shear: Any = field("stress")
    equivalent: Any = field("stress")


@dataclass(frozen=True)
class TorqueAngle:
    """Result of torque plus angle.

    Parameters
    ----------
    snug_preload : preload after the snug torque, N
    elastic_preload : preload the angle would give if the bolt never yielded, N
    preload : preload, held at the yield preload, N
    at_yield : True where the bolt has reached yield
    """

    snug_preload: Any = field("force")
    elastic_preload: Any = field("force")
    preload: Any = field("force")
    at_yield: Any = None


@dataclass(frozen=True)
class PreloadSample:
    """Statistics of measured preloads.

    Parameters
    ----------
    number : count of the sample
    mean : mean, N
    deviation : standard deviation with n - 1, N
    variation : deviation over mean
    spread : largest over smallest
    """

    number: int
    mean: Any = field("force")
    deviation: Any = field("force")
    variation: Any = field("fraction")
    spread: Any = field("number")


# --------------------------------------------------------------------------- friction
@with_units(returns="fields")
def friction(lubricant: str) -> Friction:
    """Friction coefficients of a lubricant state, with their range.

    Parameters
    ----------
    lubricant : key of the table ``friction``, such as "engine oil" or "moly paste"

    Returns
    -------
    Friction

    Raises
    ------
    InputError
        for an unknown state; the nearest is suggested.

    Notes
    -----
    Coefficients are from memory; nut factors carry their own source.
    """
    row = tables.load("friction").get(lubricant, "lubricant")
    return Friction(
        lubricant=row["lubricant"],
        thread_low=row["thread_low"],
        thread=row["thread_mean"],
        thread_high=row["thread_high"],
        head_low=row["head_low"],
        head=row["head_mean"],
        head_high=row["head_high"],
        nut_factor=row["nut_factor"],
        source=row["source"],
        status=row["status"],
        note=row["note"],
        nut_factor_source=row["nut_factor_source"],
        nut_factor_status=row["nut_factor_status"],
    )


# --------------------------------------------------------------------------- short form
@with_units(returns="torque", preload="force >= 0", nut_factor="number > 0", diameter="length > 0")
def torque_short(preload: Any, nut_factor: Any, diameter: Any) -> Any:
    """Tightening torque by the short form.

    T = K F d

    Parameters
    ----------
    preload : F, N
    nut_factor : K
    diameter : nominal diameter d, m

    Returns
    -------
    torque, N*m

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-27.
    """
    return preload * np.asarray(nut_factor)[()] * diameter


@with_units(returns="force", torque="torque >= 0", nut_factor="number > 0", diameter="length > 0")
def preload_short(torque: Any, nut_factor: Any, diameter: Any) -> Any:
    """Preload from torque by the short form.

    F = T/(K d)

    Parameters
    ----------
    torque : T, N*m
    nut_factor : K
    diameter : nominal diameter d, m

    Returns
    -------
    preload, N

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-27.
    """
    return torque / (np.asarray(nut_factor)[()] * diameter)


@with_units(returns="number", torque="torque >= 0", preload="force > 0", diameter="length > 0")
def nut_factor_from_test(torque: Any, preload: Any, diameter: Any) -> Any:
    """Nut factor from measured torque and preload.

    K = T/(F d)

    Parameters
    ----------
    torque : T, N*m
    preload : F, N
    diameter : nominal diameter d, m

    Returns
    -------
    nut factor K

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-27.
    """
    return torque / (np.asarray(preload)[()] * diameter)


def _screw_turn(mean_diameter: Any, lead: Any, mu: Any, half_angle: Any) -> Any:
    """tan(lead angle + friction angle), sharpened by the flank; mu < 0 for lowering."""
    slope = np.asarray(lead, dtype=float)[()] / (np.pi * mean_diameter)
    m = mu / np.cos(half_angle)
    return (slope + m) / (1 - m * slope)


@with_units(
    returns="number",
    diameter="length > 0",
    pitch="length > 0",
    root_diameter="length > 0",
    thread_friction="number 0..1",
    head_friction="number 0..1",
    half_angle="angle 0..1",
)
def nut_factor(
    diameter: Any,
    pitch: Any,
    root_diameter: Any,
    thread_friction: Any,
    head_friction: Any,
    half_angle: Any = _FLANK,
) -> Any:
    """Nut factor from friction.

    K = (dm/2d)(tan l + f sec a)/(1 - f tan l sec a) + 0.625 fc,  tan l = p/(pi dm),
    dm = (d + dr)/2

    Parameters
    ----------
    diameter, pitch : d, p, m
    root_diameter : minor diameter of the screw dr, m (`threads.Thread.root_diameter`)
    thread_friction, head_friction : f, fc
    half_angle : a, rad

    Returns
    -------
    nut factor K

    Notes
    -----
    dm is the mean of major and minor diameter, not the pitch diameter of the long form; for one
    friction the two forms lie 0.4 to 0.9 % apart. Collar of mean diameter 1.25 d.
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-26.
    """
    dm = (np.asarray(diameter, dtype=float)[()] + root_diameter) / 2
    turn = _screw_turn(dm, pitch, thread_friction, half_angle)
    return dm / (2 * diameter) * turn + 0.625 * np.asarray(head_friction)[()]


# --------------------------------------------------------------------------- long form
def _arms(
    diameter: Any,
    pitch: Any,
    pitch_diameter: Any,
    head_diameter: Any,
    inner_diameter: Any,
    half_angle: Any,
) -> tuple[Any, Any, Any]:
    """Lever arms of lead, thread friction and head friction, m."""
    p = np.asarray(pitch, dtype=float)[()]
    d2 = diameter - _PITCH_DROP * p if pitch_diameter is None else pitch_diameter
    outer = _FACE * diameter if head_diameter is None else head_diameter
    inner = diameter if inner_diameter is None else inner_diameter
    if np.any(np.asarray(outer) <= inner):
        raise fail("head_diameter", "a face not larger than the hole", "more than inner_diameter")
    return p / (2 * np.pi), d2 / (2 * np.cos(half_angle)), (inner + np.asarray(outer)) / 4


_LONG = {
    "diameter": "length > 0",
    "pitch": "length > 0",
    "thread_friction": "number 0..1",
    "head_friction": "number 0..1",
    "pitch_diameter": "length > 0",
    "head_diameter": "length > 0",
    "inner_diameter": "length > 0",
    "half_angle": "angle 0..1",
}


@with_units(returns="fields", preload="force >= 0", **_LONG)
def torque_split(
    preload: Any,
    diameter: Any,
    pitch: Any,
    thread_friction: Any,
    head_friction: Any,
    pitch_diameter: Any = None,
    head_diameter: Any = None,
    inner_diameter: Any = None,
    half_angle: Any = _FLANK,
) -> TorqueSplit:
    """Tightening torque by the long form, part by part.

    T = F [ p/(2 pi) + d2 mu1/(2 cos a) + (di + b) mu2/4 ]

    Parameters
    ----------
    preload : F, N
    diameter, pitch : d, p, m
    thread_friction, head_friction : mu1, mu2
    pitch_diameter : d2, m; basic d - 0.649519 p if not given
    head_diameter : outside of the bearing face b, m; 1.5 d if not given
    inner_diameter : inside of the bearing face di, m; d if not given
    half_angle : a, rad

    Returns
    -------
    TorqueSplit

    Raises
    ------
    InputError
        if the bearing face is not larger than its hole.

    Notes
    -----
    Machinery's Handbook, 31st ed., eq. 22; ISO 16047 and VDI 2230 have the same algebra (from
    memory).
    """
    lead, thread, head = _arms(
        diameter, pitch, pitch_diameter, head_diameter, inner_diameter, half_angle
    )
    force = np.asarray(preload, dtype=float)[()]
    mu1, mu2 = np.asarray(thread_friction)[()], np.asarray(head_friction)[()]
    parts = force * lead, force * mu1 * thread, force * mu2 * head
    return TorqueSplit(*parts, total=parts[0] + parts[1] + parts[2])


@with_units(returns="torque", preload="force >= 0", **_LONG)
def torque_long(
    preload: Any,
    diameter: Any,
    pitch: Any,
    thread_friction: Any,
    head_friction: Any,
    pitch_diameter: Any = None,
    head_diameter: Any = None,
    inner_diameter: Any = None,
    half_angle: Any = _FLANK,
) -> Any:
    """Tightening torque by the long form.

    T = F [ p/(2 pi) + d2 mu1/(2 cos a) + (di + b) mu2/4 ]

    Parameters
    ----------
    preload, diameter, pitch, thread_friction, head_friction : as in `torque_split`
    pitch_diameter, head_diameter, inner_diameter, half_angle : as in `torque_split`

    Returns
    -------
    torque, N*m

    Raises
    ------
    InputError
        if the bearing face is not larger than its hole.

    Notes
    -----
    Machinery's Handbook, 31st ed., eq. 22.
    """
    return torque_split.si(
        preload,
        diameter,
        pitch,
        thread_friction,
        head_friction,
        pitch_diameter,
        head_diameter,
        inner_diameter,
        half_angle,
    ).total


@with_units(returns="force", torque="torque >= 0", **_LONG)
def preload_long(
    torque: Any,
    diameter: Any,
    pitch: Any,
    thread_friction: Any,
    head_friction: Any,
    pitch_diameter: Any = None,
    head_diameter: Any = None,
    inner_diameter: Any = None,
    half_angle: Any = _FLANK,
) -> Any:
    """Preload from torque by the long form.

    F = T/[ p/(2 pi) + d2 mu1/(2 cos a) + (di + b) mu2/4 ]

    Parameters
    ----------
    torque : T, N*m
    diameter, pitch, thread_friction, head_friction : as in `torque_split`
    pitch_diameter, head_diameter, inner_diameter, half_angle : as in `torque_split`

    Returns
    -------
    preload, N

    Raises
    ------
    InputError
        if the bearing face is not larger than its hole.

    Notes
    -----
    Machinery's Handbook, 31st ed., eq. 22.
    """
    per_newton = torque_split.si(
        1.0,
        diameter,
        pitch,
        thread_friction,
        head_friction,
        pitch_diameter,
        head_diameter,
        inner_diameter,
        half_angle,
    ).total
    return torque / per_newton


@with_units(
    returns="number",
    torque="torque >= 0",
    preload="force > 0",
    diameter="length > 0",
    pitch="length > 0",
    pitch_diameter="length > 0",
    head_diameter="length > 0",
    inner_diameter="length > 0",
    half_angle="angle 0..1",
)
def friction_from_test(
    torque: Any,
    preload: Any,
    diameter: Any,
    pitch: Any,
    pitch_diameter: Any = None,
    head_diameter: Any = None,
    inner_diameter: Any = None,
    half_angle: Any = _FLANK,
) -> Any:
    """Friction coefficient from a torque-tension test, thread and head taken as equal.

    mu = (T/F - p/(2 pi))/[ d2/(2 cos a) + (di + b)/4 ]

    Parameters
    ----------
    torque : T, N*m
    preload : F, N
    diameter, pitch, pitch_diameter : as in `torque_split`
    head_diameter, inner_diameter, half_angle : as in `torque_split`

    Returns
    -------
    overall friction coefficient; negative if the torque is below what the lead alone needs

    Raises
    ------
    InputError
        if the bearing face is not larger than its hole.

    Notes
    -----
    ISO 16047 (from memory).
    """
    lead, thread, head = _arms(
        diameter, pitch, pitch_diameter, head_diameter, inner_diameter, half_angle
    )
    return (torque / np.asarray(preload)[()] - lead) / (thread + head)


# --------------------------------------------------------------------------- power screw
@with_units(
    returns="fields",
    force="force > 0",
    diameter="length > 0",
    pitch="length > 0",
    thread_friction="number 0..1",
    collar_friction="number 0..1",
    collar_diameter="length > 0",
    half_angle="angle 0..1",
    first_thread_share="fraction 0..1",
)
def power_screw(
    force: Any,
    diameter: Any,
    pitch: Any,
    thread_friction: Any,
    collar_friction: Any,
    collar_diameter: Any,
    starts: int = 1,
    half_angle: Any = 0.0,
    first_thread_share: Any = 0.38,
) -> PowerScrew:
    """Power screw with a collar: torques, efficiency, stresses.

    TR = (F dm/2)(l + pi f dm sec a)/(pi dm - f l sec a) + F fc dc/2;
    TL = (F dm/2)(pi f dm sec a - l)/(pi dm + f l sec a) + F fc dc/2;  e = F l/(2 pi TR);
    dm = d - p/2, dr = d - p, l = starts p

    Parameters
    ----------
    force : load F, N
    diameter, pitch : d, p, m
    thread_friction, collar_friction : f, fc
    collar_diameter : mean diameter of the collar dc, m
    starts : number of thread starts
    half_angle : a, rad; 0 for a square thread
    first_thread_share : share of the load on the first engaged thread

    Returns
    -------
    PowerScrew

    Raises
    ------
    InputError
        if the number of starts is not a whole number from 1, or the pitch is not below d.

    Notes
    -----
    Square thread stresses: tau = 16 TR/(pi dr^3), sigma = -4 F/(pi dr^2),
    bearing = -2 sF/(pi dm p), bending = 6 sF/(pi dr p).
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-1 to 8-12,
    ex. 8-1.
    """
    if isinstance(starts, bool) or int(starts) != starts or starts < 1:
        raise fail("starts", starts, "a whole number from 1")
    if np.any(np.asarray(pitch) >= diameter):
        raise fail("pitch", "a pitch not below the diameter", "a pitch below the diameter")
    p = np.asarray(pitch, dtype=float)[()]
    lead, dm, dr = starts * p, diameter - p / 2, diameter - p
    collar = force * collar_friction * np.asarray(collar_diameter)[()] / 2
    up = force * dm / 2 * _screw_turn(dm, lead, thread_friction, half_angle)
    down = -force * dm / 2 * _screw_turn(dm, lead, -np.asarray(thread_friction)[()], half_angle)
    total = up + collar
    shear = 16 * total / (np.pi * dr**3)
    axial = -4 * force / (np.pi * dr**2)
    share = first_thread_share * np.asarray(force)[()]
    bending = 6 * share / (np.pi * dr * p)
    squares = bending**2 + axial**2 + (bending - axial) ** 2 + 6 * shear**2
    return PowerScrew(
        mean_diameter=dm,
        root_diameter=dr,
        lead=lead,
        thread_torque=up,
        collar_torque=collar,
        raise_torque=total,
        lower_torque=down + collar,
        efficiency=force * lead / (2 * np.pi * total),
        shear=shear,
        axial=axial,
        bearing=-2 * share / (np.pi * dm * p),
        bending=bending,
        equivalent=np.sqrt(squares / 2),
    )


# --------------------------------------------------------------------------- stress
@with_units(returns="stress", tension="stress", shear="stress")
def equivalent_stress(tension: Any, shear: Any) -> Any:
    """Von Mises stress of tension with shear.

    s = sqrt(sigma^2 + 3 tau^2)

    Parameters
    ----------
    tension, shear : sigma, tau, Pa

    Returns
    -------
    equivalent stress, Pa

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 5-15.
    """
    return np.sqrt(np.asarray(tension)[()] ** 2 + 3 * np.asarray(shear)[()] ** 2)


def _torsion(torsion: str) -> float:
    if torsion not in TORSION:
        raise fail("torsion", torsion, '"elastic" or "plastic"')
    return TORSION[torsion]


@with_units(
    returns="fields", preload="force >= 0", thread_torque="torque >= 0", stress_area="area > 0"
)
def tightening_stress(
    preload: Any, thread_torque: Any, stress_area: Any, torsion: str = "elastic"
) -> TighteningStress:
    """Tension and torsion in the thread while tightening.

    sigma = F/At;  tau = TG/Wt,  Wt = pi d0^3/16 (elastic) or pi d0^3/12 (plastic),
    d0 = sqrt(4 At/pi)

    Parameters
    ----------
    preload : F, N
    thread_torque : torque carried by the thread TG, N*m (lead and thread parts of `torque_split`)
    stress_area : At, m^2
    torsion : "elastic" (first yield at the skin) or "plastic" (whole section at yield); for the
        same state the equivalent stress of the elastic modulus is some 8 % higher

    Returns
    -------
    TighteningStress

    Raises
    ------
    InputError
        for another word in `torsion`.

    Notes
    -----
    VDI 2230 uses the plastic modulus (from memory).
    """
    d0 = np.sqrt(4 * np.asarray(stress_area, dtype=float)[()] / np.pi)
    tension = preload / np.asarray(stress_area)[()]
    shear = thread_torque * _torsion(torsion) / (np.pi * d0**3)
    return TighteningStress(tension, shear, equivalent_stress.si(tension, shear))


@with_units(
    returns="force",
    yield_strength="stress > 0",
    utilisation="fraction 0..1",
    stress_area="area > 0",
    pitch="length > 0",
    pitch_diameter="length > 0",
    thread_friction="number 0..1",
    half_angle="angle 0..1",
)
def preload_at_utilisation(
    yield_strength: Any,
    utilisation: Any,
    stress_area: Any,
    pitch: Any,
    pitch_diameter: Any,
    thread_friction: Any,
    torsion: str = "plastic",
    half_angle: Any = _FLANK,
) -> Any:
    """Preload at which the equivalent stress while tightening is a given share of yield.

    F = v Sy At/sqrt(1 + 3 r^2),  r = tau/sigma = (p/(2 pi) + d2 mu/(2 cos a)) At/Wt

    Parameters
    ----------
    yield_strength : Sy, Pa
    utilisation : v; 0.9 is usual for torque, 1.0 is tightening to yield
    stress_area : At, m^2
    pitch, pitch_diameter : p, d2, m
    thread_friction : mu
    torsion : "plastic" (VDI 2230) or "elastic"
    half_angle : a, rad

    Returns
    -------
    preload, N

    Raises
    ------
    InputError
        for another word in `torsion`.

    Notes
    -----
    More friction in the thread means less preload at yield. VDI 2230 (from memory).
    """
    arm = np.asarray(pitch, dtype=float)[()] / (2 * np.pi)
    arm = arm + np.asarray(pitch_diameter)[()] * thread_friction / (2 * np.cos(half_angle))
    unit = tightening_stress.si(1.0, arm, stress_area, torsion)
    return utilisation * np.asarray(yield_strength)[()] / unit.equivalent


@with_units(returns="force", proof="stress > 0", stress_area="area > 0", share="fraction 0..1")
def preload_of_proof(proof: Any, stress_area: Any, share: Any = 0.75) -> Any:
    """Recommended preload as a share of the proof load.

    Fi = share Sp At;  0.75 for reused, 0.90 for permanent connections

    Parameters
    ----------
    proof : proof strength Sp, Pa
    stress_area : At, m^2
    share : of the proof load

    Returns
    -------
    preload, N

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-31.
    """
    return share * np.asarray(proof)[()] * stress_area


# --------------------------------------------------------------------------- stretch and angle
@with_lists(segments=(SECTION, "length > 0"))
@with_units(returns="length", preload="force >= 0", modulus="modulus > 0")
def stretch(preload: Any, segments: Any, modulus: Any) -> Any:
    """Stretch of a stepped shank under a force.

    delta = F/kb = F sum Li/(Ai E)

    Parameters
    ----------
    preload : F, N
    segments : list of (area in m^2 or diameter in m, length in m)
    modulus : Young's modulus E, Pa

    Returns
    -------
    stretch, m

    Notes
    -----
    Elastic. A gauge over the whole fastener also sees head and engaged thread.
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-17.
    """
    return preload / _bolt_stiffness.si(segments, modulus)


@with_lists(segments=(SECTION, "length > 0"))
@with_units(returns="force", stretch="length >= 0", modulus="modulus > 0")
def preload_from_stretch(stretch: Any, segments: Any, modulus: Any) -> Any:
    """Preload from a measured stretch.

    F = kb delta

    Parameters
    ----------
    stretch : delta, m
    segments : list of (area in m^2 or diameter in m, length in m)
    modulus : Young's modulus E, Pa

    Returns
    -------
    preload, N

    Notes
    -----
    Elastic only; above yield stretch says little about preload.
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-17.
    """
    return stretch * _bolt_stiffness.si(segments, modulus)


@with_units(
    returns="temperature difference",
    stretch="length >= 0",
    length="length > 0",
    expansion="expansion > 0",
)
def heating_for_stretch(stretch: Any, length: Any, expansion: Any) -> Any:
    """Temperature rise that stretches a free bolt by a given amount.

    dT = delta/(a L)

    Parameters
    ----------
    stretch : delta, m
    length : heated length L, m
    expansion : mean thermal expansion a, 1/K

    Returns
    -------
    temperature rise, K

    Notes
    -----
    T. H. Wentzell, Machine Design, ex. 6.3.
    """
    return stretch / (np.asarray(length)[()] * expansion)


def _joint_spring(bolt_stiffness: Any, member_stiffness: Any) -> Any:
    if member_stiffness is None:
        return bolt_stiffness
    return _series.si([bolt_stiffness, member_stiffness])


_TURN = {
    "pitch": "length > 0",
    "bolt_stiffness": "stiffness > 0",
    "member_stiffness": "stiffness > 0",
}


@with_units(returns="angle", preload="force >= 0", **_TURN)
def turn_angle(preload: Any, pitch: Any, bolt_stiffness: Any, member_stiffness: Any = None) -> Any:
    """Angle of the nut from snug that builds up a preload.

    p angle/(2 pi) = F (1/kb + 1/km)

    Parameters
    ----------
    preload : F, N
    pitch : p, m
    bolt_stiffness : kb, N/m
    member_stiffness : km, N/m; rigid members if not given

    Returns
    -------
    angle, rad

    Notes
    -----
    Counted from the point where the parts bear fully. Compatibility of bolt and members as in
    F. P. Beer, E. R. Johnston and J. T. DeWolf, Mechanics of Materials, sample problem 2.2.
    """
    k = _joint_spring(bolt_stiffness, member_stiffness)
    return 2 * np.pi * preload / (np.asarray(k)[()] * pitch)


@with_units(returns="force", angle="angle >= 0", **_TURN)
def preload_from_turn(
    angle: Any, pitch: Any, bolt_stiffness: Any, member_stiffness: Any = None
) -> Any:
    """Preload gained by turning the nut through an angle.

    F = (p angle/(2 pi))/(1/kb + 1/km)

    Parameters
    ----------
    angle : rad
    pitch : p, m
    bolt_stiffness : kb, N/m
    member_stiffness : km, N/m; rigid members if not given

    Returns
    -------
    preload, N

    Notes
    -----
    Elastic. Beer, Johnston and DeWolf, Mechanics of Materials, sample problem 2.2.
    """
    return (
        angle
        * np.asarray(pitch)[()]
        / (2 * np.pi)
        * _joint_spring(bolt_stiffness, member_stiffness)
    )


@with_units(
    returns="fields",
    snug_torque="torque >= 0",
    angle="angle >= 0",
    yield_preload="force > 0",
    bolt_stiffness="stiffness > 0",
    member_stiffness="stiffness > 0",
    **{k: v for k, v in _LONG.items() if k != "half_angle"},
)
def torque_angle(
    snug_torque: Any,
    angle: Any,
    yield_preload: Any,
    diameter: Any,
    pitch: Any,
    thread_friction: Any,
    head_friction: Any,
    bolt_stiffness: Any,
    member_stiffness: Any = None,
    pitch_diameter: Any = None,
    head_diameter: Any = None,
    inner_diameter: Any = None,
) -> TorqueAngle:
    """Preload after a snug torque and an angle.

    F = min(F_snug + (p angle/(2 pi))/(1/kb + 1/km), F_yield)

    Parameters
    ----------
    snug_torque : N*m
    angle : turned after snug, rad
    yield_preload : preload at yield, N (`preload_at_utilisation` at 1)
    bolt_stiffness, member_stiffness : kb, km, N/m; rigid members if km is not given
    diameter, pitch, thread_friction, head_friction : as in `torque_split`
    pitch_diameter, head_diameter, inner_diameter : as in `torque_split`

    Returns
    -------
    TorqueAngle

    Raises
    ------
    InputError
        if the bearing face is not larger than its hole.

    Notes
    -----
    Past yield the preload is held constant: strain hardening is left out, on the low side.
    Long form: Machinery's Handbook, 31st ed., eq. 22.
    """
    snug = preload_long.si(
        snug_torque,
        diameter,
        pitch,
        thread_friction,
        head_friction,
        pitch_diameter,
        head_diameter,
        inner_diameter,
    )
    elastic = snug + preload_from_turn.si(angle, pitch, bolt_stiffness, member_stiffness)
    return TorqueAngle(
        snug, elastic, np.minimum(elastic, yield_preload), np.asarray(elastic >= yield_preload)[()]
    )


# --------------------------------------------------------------------------- scatter
@with_units(returns=("fraction", "fraction"))
def preload_scatter(method: str) -> Any:
    """Scatter of preload of a tightening method, plus or minus, low and high of the row.

    Parameters
    ----------
    method : key of the table ``scatter``, such as "torque wrench"

    Returns
    -------
    low, high scatter as fractions of the mean preload

    Raises
    ------
    InputError
        for an unknown method; the nearest is suggested.

    Notes
    -----
    Machinery's Handbook, 31st ed., Table 2 of "Torque and tension in fasteners"; rows of other
    sources, which disagree, stand beside it.
    """
    row = tables.load("scatter").get(method, "method")
    return row["low"], row["high"]


@with_units(returns="number", scatter="fraction 0..0.999")
def tightening_factor(scatter: Any) -> Any:
    """Tightening factor, largest over smallest preload.

    alpha_A = (1 + s)/(1 - s)

    Parameters
    ----------
    scatter : s, plus or minus share of the mean preload

    Returns
    -------
    tightening factor

    Notes
    -----
    VDI 2230 (from memory).
    """
    s = np.asarray(scatter, dtype=float)[()]
    return (1 + s) / (1 - s)


@with_units(returns="fraction", factor="number 1..1000")
def scatter_from_factor(factor: Any) -> Any:
    """Scatter from the tightening factor.

    s = (alpha_A - 1)/(alpha_A + 1)

    Parameters
    ----------
    factor : alpha_A

    Returns
    -------
    scatter s, plus or minus share of the mean preload

    Notes
    -----
    VDI 2230 (from memory).
    """
    a = np.asarray(factor, dtype=float)[()]
    return (a - 1) / (a + 1)


@with_lists(preloads="force > 0")
@with_units(returns="fields")
def preload_sample(preloads: Any) -> PreloadSample:
    """Mean and standard deviation of measured preloads.

    s^2 = sum (Fi - mean)^2/(n - 1)

    Parameters
    ----------
    preloads : list of forces, N

    Returns
    -------
    PreloadSample

    Raises
    ------
    InputError
        for fewer than two preloads.

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., Tables 8-13 and 8-14.
    """
    f = np.asarray(preloads, dtype=float).ravel()
    if f.size < 2:
        raise fail("preloads", f"{f.size} value", "at least two forces")
    mean, deviation = float(f.mean()), float(f.std(ddof=1))
    return PreloadSample(f.size, mean, deviation, deviation / mean, float(f.max() / f.min()))
