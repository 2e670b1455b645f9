"""R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., ch. 8.

What the book works out round a bolted joint beyond what a head gasket needs: single frusta, factors
of safety, lengths of standard bolts, the nut factor from friction, the power screw, and what
measured preloads scatter by.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.fastening import stiffness, tightening
from sealkit.fastening._lists import lists
from sealkit.units import field, with_units


# --------------------------------------------------------------------------- members, Table 8-7
@with_units(
    returns="stiffness",
    modulus="modulus > 0",
    thickness="length > 0",
    hole_diameter="length > 0",
    face_diameter="length > 0",
    half_angle="angle 0.01..1.5",
)
def frustum_stiffness(
    modulus: Any,
    thickness: Any,
    hole_diameter: Any,
    face_diameter: Any,
    half_angle: Any = np.pi / 6,
) -> Any:
    """One cone frustum [N/m], eq. 8-19: two of them back to back are half as stiff."""
    pair = [(modulus, 2 * np.asarray(thickness, dtype=float))]
    return 2 * stiffness.member_stiffness.si(pair, hole_diameter, face_diameter, half_angle)


@with_units(returns="length", cover="length > 0", tapped="length > 0", diameter="length > 0")
def cap_screw_grip(cover: Any, tapped: Any, diameter: Any) -> Any:
    """Effective grip [m] of a cap screw: h + min(t2, d) / 2."""
    return cover + np.minimum(tapped, diameter) / 2


@dataclass(frozen=True)
class BoltLengths:
    """Threaded length LT of a standard bolt; shank ld and thread lt in the grip [m]."""

    threaded: Any = field("length")
    shank: Any = field("length")
    thread: Any = field("length")


@with_units(returns="fields", diameter="length > 0", grip="length > 0", length="length > 0")
def bolt_lengths(diameter: Any, grip: Any, length: Any, system: str = "metric") -> BoltLengths:
    """Where shank and thread of a standard bolt of this length under the head lie.

    metric (d <= 48 mm) LT = 2d + 6 mm (L <= 125), 2d + 12 (L <= 200), 2d + 25 above;
    unified LT = 2d + 1/4 in (L <= 6), 2d + 1/2 above;  ld = L - LT;  lt = l - ld
    """
    d, grip, length = (np.asarray(v, dtype=float) for v in (diameter, grip, length))
    if np.any(length <= grip):
        raise fail("length", "a bolt not longer than the grip", "a length above the grip")
    # limits widened by a nanometre, so that 6 in written in mm stays on its side
    steps: tuple[tuple[float, float], ...]
    if system == "metric":
        steps = ((0.125, 0.006), (0.2, 0.012), (np.inf, 0.025))
    else:
        steps = ((6 * 0.0254, 0.25 * 0.0254), (np.inf, 0.5 * 0.0254))
    extra = np.select([length <= top + 1e-9 for top, _ in steps], [more for _, more in steps])
    threaded = np.minimum(2 * d + extra, length)
    shank = np.minimum(length - threaded, grip)
    return BoltLengths(threaded[()], shank[()], (grip - shank)[()])


# --------------------------------------------------------------------------- factors of safety
_FACTORS = {
    "proof": "stress > 0",
    "stress_area": "area > 0",
    "constant": "fraction 0..1",
    "load": "force > 0",
    "preload": "force >= 0",
}


@with_units(returns="number", **_FACTORS)
def proof_factor(proof: Any, stress_area: Any, constant: Any, load: Any, preload: Any) -> Any:
    """Proof strength over bolt stress, np = Sp At / (C P + Fi), eq. 8-28."""
    return proof * stress_area / (constant * np.asarray(load) + preload)


@with_units(returns="number", **_FACTORS)
def load_factor(proof: Any, stress_area: Any, constant: Any, load: Any, preload: Any) -> Any:
    """Growth of the outside load up to proof, nL = (Sp At - Fi) / (C P), eq. 8-29."""
    return (np.asarray(proof) * stress_area - preload) / (constant * np.asarray(load))


@with_units(
    returns="number",
    proof="stress > 0",
    stress_area="area > 0",
    constant="fraction 0..1",
    total_load="force > 0",
    preload="force >= 0",
    factor="number > 0",
)
def bolts_needed(
    proof: Any, stress_area: Any, constant: Any, total_load: Any, preload: Any, factor: Any
) -> Any:
    """Bolts for a wanted load factor, not rounded, N = C nL P / (Sp At - Fi), ex. 8-4."""
    return factor / load_factor.si(proof, stress_area, constant, total_load, preload)


@with_units(
    returns="number", preload="force >= 0", constant="fraction 0..0.999999", load="force > 0"
)
def separation_factor(preload: Any, constant: Any, load: Any) -> Any:
    """Growth of the outside load until the joint opens, n0 = Fi / (P (1 - C)), eq. 8-30."""
    return stiffness.separation_load.si(preload, constant) / np.asarray(load)


# --------------------------------------------------------------------------- screws
def _turn(mean_diameter: Any, lead: Any, mu: Any, half_angle: Any) -> Any:
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
)
def nut_factor(
    diameter: Any, pitch: Any, root_diameter: Any, thread_friction: Any, head_friction: Any
) -> Any:
    """Nut factor from friction, eq. 8-26, collar of mean diameter 1.25 d.

    K = (dm / 2d) (tan l + f sec a) / (1 - f tan l sec a) + 0.625 fc,  dm = (d + dr) / 2: the mean
    of major and minor diameter, not the pitch diameter of the long form
    """
    dm = (np.asarray(diameter, dtype=float)[()] + root_diameter) / 2
    turn = _turn(dm, pitch, thread_friction, tightening.FLANK)
    return dm / (2 * diameter) * turn + 0.625 * np.asarray(head_friction)[()]


@dataclass(frozen=True)
class PowerScrew:
    """Sizes [m], torques [N m] and stresses [Pa, compression negative] of a power screw."""

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


@with_units(
    returns="fields",
    force="force > 0",
    diameter="length > 0",
    pitch="length > 0",
    thread_friction="number 0..1",
    collar_friction="number 0..1",
    collar_diameter="length > 0",
    half_angle="angle 0..1",
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
) -> PowerScrew:
    """Power screw with a collar, eq. 8-1 to 8-12; the first thread bears 0.38 of the load.

    TR = (F dm/2)(l + pi f dm sec a)/(pi dm - f l sec a) + F fc dc/2;  e = F l/(2 pi TR);
    dm = d - p/2, dr = d - p, l = starts p;  tau = 16 TR/(pi dr^3), sigma = -4 F/(pi dr^2),
    bearing = -2 s F/(pi dm p), bending = 6 s F/(pi dr p)
    """
    p = np.asarray(pitch, dtype=float)[()]
    lead, dm, dr = starts * p, diameter - p / 2, diameter - p
    collar = force * collar_friction * np.asarray(collar_diameter)[()] / 2
    up = force * dm / 2 * _turn(dm, lead, thread_friction, half_angle)
    down = -force * dm / 2 * _turn(dm, lead, -np.asarray(thread_friction)[()], half_angle)
    total = up + collar
    shear = 16 * total / (np.pi * dr**3)
    axial = -4 * force / (np.pi * dr**2)
    share = 0.38 * np.asarray(force)[()]
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


# --------------------------------------------------------------------------- Tables 8-13, 8-14
@dataclass(frozen=True)
class PreloadSample:
    """Statistics of measured preloads.

    Parameters
    ----------
    number : count of the sample
    mean : mean [N]
    deviation : standard deviation with n - 1 [N]
    variation : deviation over mean
    spread : largest over smallest
    """

    number: int
    mean: Any = field("force")
    deviation: Any = field("force")
    variation: Any = field("fraction")
    spread: Any = field("number")


@with_units(returns="fields", preloads=lists("force > 0"))
def preload_sample(preloads: Any) -> PreloadSample:
    """Mean and standard deviation of measured preloads, s^2 = sum (Fi - mean)^2 / (n - 1).

    Raises InputError for fewer than two preloads.

    Parameters
    ----------
    preloads : list of forces [N]
    """
    f = np.asarray(preloads, dtype=float).ravel()
    if f.size < 2:
        raise fail("preloads", f"{f.size} value", "at least two forces")
    mean, deviation = float(f.mean()), float(f.std(ddof=1))
    return PreloadSample(f.size, mean, deviation, deviation / mean, float(f.max() / f.min()))
