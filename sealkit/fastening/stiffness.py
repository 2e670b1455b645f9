"""Springs of a bolted joint: bolt, members, who carries the load, threads in the part.

References
----------
[1] R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., ch. 8.
[2] J. H. Bickford and S. Nassar (eds.), Handbook of Bolts and Bolted Joints, worked example.
[3] Machinery's Handbook, 24th ed., "Stress areas and length of engagement" (seen second-hand).
[4] FED-STD-H28/2, Screw-Thread Standards for Federal Services (from memory).
[5] VDI 2230, Systematic calculation of highly stressed bolted joints (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail
from sealkit.fastening._lists import SECTION, lists
from sealkit.fastening.threads import MINOR_DROP, PITCH_DROP
from sealkit.units import field, with_units

FACE = 1.5
"""Bearing face over nominal diameter where none is given: hexagon heads ([1], from memory)."""


# --------------------------------------------------------------------------- springs
@with_units(returns="stiffness", stiffnesses=lists("stiffness > 0"))
def series(stiffnesses: Any) -> Any:
    """Stiffness of springs one behind the other, 1/k = sum 1/ki ([1], eq. 8-18).

    Parameters
    ----------
    stiffnesses : list of stiffnesses [N/m]

    >>> print(series(["300 kN/mm", "600 kN/mm"]).to("kN/mm").magnitude)
    200.0
    """
    return 1.0 / sum(1.0 / np.asarray(k, dtype=float)[()] for k in stiffnesses)


@with_units(returns="stiffness", segments=lists(SECTION, "length > 0"))
def bolt_stiffness(segments: Any, modulus: si.Modulus) -> Any:
    """Stiffness of a bolt or stud made of straight segments, 1/kb = sum Li / (Ai E).

    Without the head and the engaged thread, as in the examples of [1], eq. 8-16 to 8-18: those are
    `end_stiffness`, in series.

    Parameters
    ----------
    segments : list of (area [m**2] or diameter [m], length [m]), shank and free thread; the plain
        function takes areas
    modulus : Young's modulus E [Pa]

    >>> print(round(bolt_stiffness([("10 mm", "50 mm")], "207 GPa").to("kN/mm").magnitude))
    325
    """
    flex: Any = 0.0
    for area, length in segments:
        flex = flex + np.asarray(length, dtype=float)[()] / area
    return modulus / flex


@with_units(returns="stiffness")
def end_stiffness(
    end: str, diameter: si.Length, root_area: si.Area, modulus: si.Modulus, mate_modulus: si.Modulus
) -> Any:
    """Stiffness of one end of a fastener: its head, or a thread engaged in nut or block [5].

    1/k = lh d/(A E) + lt d/(Ad3 E) + lm d/(A Em),  A = pi d**2 / 4

    Raises InputError for another end.

    Parameters
    ----------
    end : "head", "nut" or "tapped part", of the table ``fastener_ends``, which has lh, lt, lm
    diameter : nominal diameter d [m]
    root_area : area at the root of the thread Ad3 [m**2]
    modulus, mate_modulus : of the fastener E, of nut or tapped part Em [Pa]
    """
    row = tables.load("fastener_ends").get(end, "end")
    area = np.pi / 4 * np.asarray(diameter) ** 2
    flex = row["head"] / (area * modulus) + row["thread"] / (np.asarray(root_area) * modulus)
    return 1 / (diameter * (flex + row["mate"] / (area * mate_modulus)))


# --------------------------------------------------------------------------- members
@with_units(
    returns="stiffness", layers=lists("modulus > 0", "length > 0"), half_angle="angle 0.01..1.5"
)
def member_stiffness(
    layers: Any,
    hole_diameter: si.Length,
    face_diameter: si.Length = None,
    half_angle: Any = np.pi / 6,
    outer_diameter: si.Length = None,
) -> Any:
    """Stiffness of the clamped members as cones that start at both faces and meet at mid-grip.

    1/km = sum 1/ki over the frusta ([1], eq. 8-19, 8-20),
    ki = pi E d tan a / ln{[(2 t tan a + D - d)(D + d)] / [(2 t tan a + D + d)(D - d)]}
    and, where a cone has grown to the outer diameter DA of the part, k = E pi (DA**2 - d**2)/(4 t)

    At 30 degrees 6 to 10 % stiffer than finite elements with a rigid head, 17 to 24 % stiffer than
    with even pressure under the head (steel, d/l 0.3 to 1); in a boss of at most 1.4 times the
    face, over a grip of 7 to 9 hole diameters, 0 to 4 %. The sleeve follows [5]. A gasket is no
    member of the cones: put it in series. Raises InputError if the face is not larger than the
    hole, or larger than the part.

    Parameters
    ----------
    layers : list of (Young's modulus E [Pa], thickness [m]) from the head down; of a tapped part,
        half its thickness or half the bolt diameter, whichever is less
    hole_diameter : d [m] (texts take the bolt diameter)
    face_diameter : diameter D of the cone under head and nut [m]; 1.5 d if not given
    half_angle : a of the cones [rad]; 30 degrees in [1], 45 degrees in other texts
    outer_diameter : DA of the part, such as a boss round the fastener [m]; not limited if not given
    """
    d = hole_diameter
    face = FACE * d if face_diameter is None else face_diameter
    if np.any(np.asarray(face) <= d):
        raise fail(
            "face_diameter", "a face not larger than the hole", "a diameter above hole_diameter"
        )
    if outer_diameter is not None and np.any(np.asarray(outer_diameter) < face):
        raise fail("outer_diameter", "less than the face", "at least face_diameter")
    rows = [(e, np.asarray(t, dtype=float)[()]) for e, t in layers]
    half = sum(t for _, t in rows) / 2
    slope = np.tan(half_angle)
    flex: Any = 0.0
    for side in (rows, rows[::-1]):
        depth: Any = 0.0
        for modulus, t in side:
            wide = face + 2 * slope * depth
            part = np.clip(half - depth, 0.0, t)
            if outer_diameter is not None:
                outer = np.asarray(outer_diameter)[()]
                wide = np.minimum(wide, outer)
                cone = np.minimum(part, (outer - wide) / (2 * slope))
                flex = flex + 4 * (part - cone) / (np.pi * modulus * (outer**2 - d**2))
                part = cone
            x = 2 * slope * part
            # log1p keeps thin frusta exact, and one of no thickness is rigid
            log = np.log1p(2 * x * d / ((x + wide + d) * (wide - d)))
            flex = flex + log / (np.pi * modulus * d * slope)
            depth = depth + t
    return 1 / flex


# --------------------------------------------------------------------------- load sharing
@with_units(returns="fraction")
def joint_constant(bolt_stiffness: si.Stiffness, member_stiffness: si.Stiffness) -> Any:
    """Share of an outside load that the bolt takes while the joint is closed, C = kb / (kb + km).

    From [1], sec. 8-7.

    Parameters
    ----------
    bolt_stiffness : kb [N/m]
    member_stiffness : km of the members, gasket in the stack included [N/m]

    >>> print(round(joint_constant("6.5 Mlbf/in", "13.8 Mlbf/in"), 3))
    0.32
    """
    return bolt_stiffness / (np.asarray(bolt_stiffness) + member_stiffness)


@with_units(returns="force")
def bolt_load(preload: si.Force0, constant: si.Share, load: si.Force0) -> Any:
    """Bolt load under an outside load: Fi + C P while closed, P once separated.

    Linear springs, no yielding; [1], eq. 8-24.

    Parameters
    ----------
    preload : Fi [N]
    constant : joint constant C, 0 to 1
    load : outside load per bolt P [N]
    """
    return np.maximum(preload + constant * np.asarray(load), load)


@with_units(returns="force")
def member_load(preload: si.Force0, constant: si.Share, load: si.Force0) -> Any:
    """Clamp force left between the members: Fi - (1 - C) P while closed, 0 once separated.

    From [1], eq. 8-25, there with the sign of compression.

    Parameters
    ----------
    preload, constant, load : Fi [N], C, P [N] as in `bolt_load`
    """
    return np.maximum(preload - (1 - np.asarray(constant)) * load, 0.0)


@with_units(returns="stress")
def bolt_stress(
    preload: si.Force0, constant: si.Share, load: si.Force0, stress_area: si.Area
) -> Any:
    """Tensile stress of the bolt under an outside load, Fb / At ([1], ex. 8-3).

    Parameters
    ----------
    preload, constant, load : Fi [N], C, P [N] as in `bolt_load`
    stress_area : At [m**2]
    """
    return bolt_load.si(preload, constant, load) / np.asarray(stress_area)[()]


@with_units(returns="force", constant="fraction 0..0.999999")
def separation_load(preload: si.Force0, constant: Any) -> Any:
    """Outside load per bolt at which the clamp force is gone, P0 = Fi / (1 - C) ([1], eq. 8-30).

    Parameters
    ----------
    preload : Fi [N]
    constant : joint constant C, below 1
    """
    return preload / (1 - np.asarray(constant))


# --------------------------------------------------------------------------- thread in the part
_60_DEG_FLANK = 1 / np.sqrt(3)


@with_units(returns="area")
def external_shear_area(
    engagement: si.Length, pitch: si.Length, nut_minor: si.Length, screw_pitch: si.Length
) -> Any:
    """Shear area of the screw thread, at the crest of the tapped thread, 60 degree threads.

    ASs = pi n Le Kn,max [1/(2n) + 0.57735 (Es,min - Kn,max)]

    Form from memory, consistent with the engagement formula of [3].

    Parameters
    ----------
    engagement : length of engagement Le [m]
    pitch : 1/n [m]
    nut_minor : largest minor diameter of the tapped thread Kn,max [m]
    screw_pitch : smallest pitch diameter of the screw Es,min [m]
    """
    depth = 0.5 * pitch + _60_DEG_FLANK * (np.asarray(screw_pitch) - nut_minor)
    return np.pi * engagement / pitch * nut_minor * np.maximum(depth, 0.0)


@with_units(returns="area")
def internal_shear_area(
    engagement: si.Length, pitch: si.Length, screw_major: si.Length, nut_pitch: si.Length
) -> Any:
    """Shear area of the tapped thread, at the crest of the screw thread, 60 degree threads.

    ASn = pi n Le Ds,min [1/(2n) + 0.57735 (Ds,min - En,max)]

    Form from memory; it reproduces the worked example in [2].

    Parameters
    ----------
    engagement : length of engagement Le [m]
    pitch : 1/n [m]
    screw_major : smallest major diameter of the screw Ds,min [m]
    nut_pitch : largest pitch diameter of the tapped thread En,max [m]
    """
    depth = 0.5 * pitch + _60_DEG_FLANK * (np.asarray(screw_major) - nut_pitch)
    return np.pi * engagement / pitch * screw_major * np.maximum(depth, 0.0)


@dataclass(frozen=True)
class Stripping:
    """Threads of screw and tapped part against stripping."""

    # external_load, internal_load: loads that strip screw thread and tapped thread [N]
    external_load: Any = field("force")
    internal_load: Any = field("force")
    load: Any = field("force")  # the smaller of the two [N]
    # engagement at which the weaker thread holds the load the screw breaks at [m]
    required: Any = field("length")


@with_units(returns="fields")
def stripping(
    engagement: si.Length,
    diameter: si.Length,
    pitch: si.Length,
    stress_area: si.Area,
    screw_tensile: si.Stress,
    part_shear: si.Stress,
) -> Stripping:
    """Both threads of a screw in a tapped part against stripping, load = shear area x strength.

    engagement needed: Sut At over the weaker thread per length [3, 4]

    Even load over the engaged threads of basic profile, which is 10 to 15 % better than the worst
    in tolerance.

    Parameters
    ----------
    engagement : length of engagement Le [m]
    diameter, pitch : nominal diameter and pitch [m]
    stress_area : At [m**2]
    screw_tensile : tensile strength Sut of the screw [Pa]; it shears at half of that
    part_shear : shear strength of the tapped part [Pa]
    """
    p = np.asarray(pitch)[()]
    middle, minor = diameter - PITCH_DROP * p, diameter - MINOR_DROP * p
    external = external_shear_area.si(engagement, pitch, minor, middle)
    internal = internal_shear_area.si(engagement, pitch, diameter, middle)
    screw = external * 0.5 * np.asarray(screw_tensile)[()]
    part = internal * part_shear
    load = np.minimum(screw, part)
    return Stripping(screw, part, load, screw_tensile * stress_area * engagement / load)
