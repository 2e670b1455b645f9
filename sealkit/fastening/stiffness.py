"""Springs of a bolted joint: bolt, members, who carries the load, threads in the part."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from sealkit import tables
from sealkit.errors import fail
from sealkit.fastening._lists import SECTION, with_lists
from sealkit.units import UnitFunction, field, quantify, with_units

__all__ = [
    "Frustum",
    "Stripping",
    "bearing_limit",
    "bolt_load",
    "bolt_spacing",
    "bolt_stiffness",
    "bolt_stiffness_standard",
    "bolt_stress",
    "bolts_needed",
    "engagement_rule",
    "external_shear_area",
    "frusta",
    "frustum_stiffness",
    "gasket_pressure",
    "head_pressure",
    "internal_shear_area",
    "joint_constant",
    "load_factor",
    "member_load",
    "member_stiffness",
    "member_stiffness_fit",
    "parallel",
    "proof_factor",
    "required_engagement",
    "required_engagement_external",
    "separation_factor",
    "separation_load",
    "series",
    "stripping",
    "stripping_load",
    "thermal_preload_change",
    "two_equal_members",
]

_30_DEG = np.pi / 6


@dataclass(frozen=True)
class Frustum:
    """One cone frustum of the clamped members.

    Parameters
    ----------
    modulus : E, Pa
    thickness : t, m
    diameter : small diameter D, m
    stiffness : k, N/m
    """

    modulus: Any = field("modulus")
    thickness: Any = field("length")
    diameter: Any = field("length")
    stiffness: Any = field("stiffness")


@dataclass(frozen=True)
class Stripping:
    """Threads of screw and tapped part against stripping.

    Parameters
    ----------
    external_area, internal_area : shear areas of screw thread and tapped thread, m^2
    external_load, internal_load : loads that strip screw thread and tapped thread, N
    load : the smaller of the two, N
    ratio : J, shear area times strength of the screw thread over that of the tapped thread
    required : engagement at which the weaker thread holds the load the screw breaks at, m
    """

    external_area: Any = field("area")
    internal_area: Any = field("area")
    external_load: Any = field("force")
    internal_load: Any = field("force")
    load: Any = field("force")
    ratio: Any = field("number")
    required: Any = field("length")


# --------------------------------------------------------------------------- springs
@with_lists(stiffnesses="stiffness > 0")
@with_units(returns="stiffness")
def series(stiffnesses: Any) -> Any:
    """Stiffness of springs one behind the other.

    1/k = sum 1/ki

    Parameters
    ----------
    stiffnesses : list of stiffnesses, N/m

    Returns
    -------
    stiffness, N/m

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-18.
    """
    return 1.0 / sum(1.0 / np.asarray(k, dtype=float)[()] for k in stiffnesses)


@with_lists(stiffnesses="stiffness > 0")
@with_units(returns="stiffness")
def parallel(stiffnesses: Any) -> Any:
    """Stiffness of springs side by side.

    k = sum ki

    Parameters
    ----------
    stiffnesses : list of stiffnesses, N/m

    Returns
    -------
    stiffness, N/m

    Notes
    -----
    Springs that share one closure, such as bolts around a bore.
    """
    return sum(np.asarray(k, dtype=float)[()] for k in stiffnesses)


# --------------------------------------------------------------------------- bolt
@with_lists(segments=(SECTION, "length > 0"))
@with_units(returns="stiffness", modulus="modulus > 0", diameter="length > 0", root_area="area > 0")
def bolt_stiffness(segments: Any, modulus: Any, diameter: Any = None, root_area: Any = None) -> Any:
    """Stiffness of a bolt or stud made of straight segments.

    1/kb = sum Li / (Ai E), with diameter and root area given also
    0.5 d/(A E) for the head, (0.5 d/Ad3 + 0.4 d/A)/E for the engaged thread, A = pi/4 d^2

    Parameters
    ----------
    segments : list of (area in m^2 or diameter in m, length in m), shank and free thread; the
        plain function takes areas
    modulus : Young's modulus E, Pa
    diameter : nominal diameter d, m, only for the head and thread allowance
    root_area : area at the root of the thread Ad3, m^2, only for the allowance

    Returns
    -------
    bolt stiffness kb, N/m

    Raises
    ------
    InputError
        if only one of `diameter` and `root_area` is given.

    Notes
    -----
    Textbook examples leave the allowance out, so it is off unless asked for. Its numbers (VDI 2230,
    hexagon head and nut) are from memory.
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-16, 8-18.
    """
    flex: Any = 0.0
    for area, length in segments:
        flex = flex + np.asarray(length, dtype=float)[()] / area
    if (diameter is None) != (root_area is None):
        missing = "diameter" if diameter is None else "root_area"
        raise fail(missing, "nothing", "both diameter and root_area, or neither")
    if diameter is not None:
        area = np.pi / 4 * diameter**2
        flex = flex + 0.9 * diameter / area + 0.5 * diameter / root_area
    return modulus / flex


@with_units(
    returns="stiffness",
    shank_area="area > 0",
    stress_area="area > 0",
    shank_length="length >= 0",
    thread_length="length >= 0",
    modulus="modulus > 0",
)
def bolt_stiffness_standard(
    shank_area: Any, stress_area: Any, shank_length: Any, thread_length: Any, modulus: Any
) -> Any:
    """Stiffness of a standard bolt in the grip.

    kb = Ad At E / (Ad lt + At ld)

    Parameters
    ----------
    shank_area : area of the unthreaded shank Ad, m^2
    stress_area : tensile stress area At, m^2
    shank_length, thread_length : lengths in the grip ld, lt, m
    modulus : Young's modulus E, Pa

    Returns
    -------
    bolt stiffness kb, N/m

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-17, Table 8-7.
    """
    return bolt_stiffness.si([(shank_area, shank_length), (stress_area, thread_length)], modulus)


# --------------------------------------------------------------------------- members
def _frustum_flex(modulus: Any, thickness: Any, d: Any, D: Any, half_angle: Any) -> Any:
    """1/k of a frustum; log1p keeps thin frusta exact, and one of no thickness is rigid."""
    slope = np.tan(half_angle)
    x = 2 * np.asarray(thickness, dtype=float)[()] * slope
    log = np.log1p(2 * x * d / ((x + D + d) * (D - d)))
    return log / (np.pi * modulus * d * slope)


def _check_faces(hole_diameter: Any, face_diameter: Any) -> None:
    if np.any(np.asarray(face_diameter) <= hole_diameter):
        raise fail(
            "face_diameter", "a face not larger than the hole", "a diameter above hole_diameter"
        )


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
    half_angle: Any = _30_DEG,
) -> Any:
    """Stiffness of a hollow cone frustum of clamped material.

    k = pi E d tan a / ln{ [(2 t tan a + D - d)(D + d)] / [(2 t tan a + D + d)(D - d)] }

    Parameters
    ----------
    modulus : Young's modulus E, Pa
    thickness : t, m
    hole_diameter : d, m (texts take the bolt diameter)
    face_diameter : small diameter of the cone D, m
    half_angle : a, rad; 30 degrees in Shigley, 45 degrees in other texts

    Returns
    -------
    stiffness, N/m

    Raises
    ------
    InputError
        if the face is not larger than the hole.

    Notes
    -----
    At 30 degrees 6 to 10 % stiffer than finite elements with a rigid head, 17 to 24 % stiffer than
    with even pressure under the head (steel, d/l 0.3 to 1).
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-19, 8-20.
    """
    _check_faces(hole_diameter, face_diameter)
    return 1 / _frustum_flex(modulus, thickness, hole_diameter, face_diameter, half_angle)


def _cones(
    layers: Any, face_diameter: Any, half_angle: Any, cap_screw: bool, hole_diameter: Any
) -> list[tuple[Any, Any, Any]]:
    """(E, t, D) of the cones from both faces to the middle of the grip, head side first."""
    rows = [(e, np.asarray(t, dtype=float)[()]) for e, t in layers]
    if cap_screw:
        if len(rows) < 2:
            raise fail("layers", "one layer", "the cover and the tapped part of a cap screw joint")
        modulus, tapped = rows[-1]
        rows[-1] = (modulus, np.minimum(tapped, hole_diameter) / 2)
    half = sum(t for _, t in rows) / 2
    slope = 2 * np.tan(half_angle)
    out: list[list[tuple[Any, Any, Any]]] = []
    for side in (rows, rows[::-1]):
        depth: Any = 0.0
        cones: list[tuple[Any, Any, Any]] = []
        for modulus, t in side:
            part = np.clip(half - depth, 0.0, t)
            cones.append((modulus, part, face_diameter + slope * depth))
            depth = depth + t
        out.append(cones)
    return out[0] + out[1][::-1]


@with_lists(layers=("modulus > 0", "length > 0"))
@with_units(
    returns="stiffness",
    hole_diameter="length > 0",
    face_diameter="length > 0",
    half_angle="angle 0.01..1.5",
    outer_diameter="length > 0",
)
def member_stiffness(
    layers: Any,
    hole_diameter: Any,
    face_diameter: Any = None,
    half_angle: Any = _30_DEG,
    cap_screw: bool = False,
    outer_diameter: Any = None,
) -> Any:
    """Stiffness of the clamped members as cones that start at both faces and meet at mid-grip.

    1/km = sum 1/ki over the frusta; in a cap screw joint the last layer counts min(t2, d)/2

    Parameters
    ----------
    layers : list of (Young's modulus in Pa, thickness in m) from the head down
    hole_diameter : d, m (texts take the bolt diameter)
    face_diameter : diameter D of the cone under head and nut, m; 1.5 d if not given
    half_angle : half-angle of the cones, rad
    cap_screw : True if the screw sits in the last layer, which is then given in full thickness
    outer_diameter : where the part ends, m: the cones go on as a sleeve of this diameter; not
        limited if not given

    Returns
    -------
    member stiffness km, N/m

    Raises
    ------
    InputError
        if the face is not larger than the hole, or larger than the part.

    Notes
    -----
    A gasket is no member of the cones: put it in series. The sleeve follows VDI 2230 (from memory).
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., sec. 8-5, Table 8-7.
    """
    D = 1.5 * hole_diameter if face_diameter is None else face_diameter
    _check_faces(hole_diameter, D)
    flex: Any = 0.0
    if outer_diameter is not None and np.any(np.asarray(outer_diameter) < D):
        raise fail("outer_diameter", "less than the face", "at least face_diameter")
    for modulus, t, small in _cones(layers, D, half_angle, cap_screw, hole_diameter):
        cone = t
        if outer_diameter is not None:
            room = np.maximum(outer_diameter - small, 0.0) / (2 * np.tan(half_angle))
            cone = np.minimum(t, room)
            sleeve = np.pi / 4 * (np.asarray(outer_diameter) ** 2 - hole_diameter**2)
            flex = flex + (t - cone) / (modulus * sleeve)
        flex = flex + _frustum_flex(modulus, cone, hole_diameter, small, half_angle)
    return 1 / flex


def _frusta_with_units(door: UnitFunction) -> UnitFunction:
    @functools.wraps(door)
    def outer(*args: Any, **kwargs: Any) -> tuple[Frustum, ...]:
        return tuple(quantify(f) for f in door(*args, **kwargs))

    return cast(UnitFunction, outer)


@_frusta_with_units
@with_lists(layers=("modulus > 0", "length > 0"))
@with_units(hole_diameter="length > 0", face_diameter="length > 0", half_angle="angle 0.01..1.5")
def frusta(
    layers: Any,
    hole_diameter: Any,
    face_diameter: Any = None,
    half_angle: Any = _30_DEG,
    cap_screw: bool = False,
) -> tuple[Frustum, ...]:
    """The frusta behind `member_stiffness`, one by one, head side first.

    Parameters
    ----------
    layers, hole_diameter, face_diameter, half_angle, cap_screw : as in `member_stiffness`, single
        numbers

    Returns
    -------
    tuple of Frustum

    Raises
    ------
    InputError
        if the face is not larger than the hole.

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., fig. 8-16.
    """
    D = 1.5 * hole_diameter if face_diameter is None else face_diameter
    _check_faces(hole_diameter, D)
    return tuple(
        Frustum(e, t, small, 1 / _frustum_flex(e, t, hole_diameter, small, half_angle))
        for e, t, small in _cones(layers, D, half_angle, cap_screw, hole_diameter)
        if t > 0
    )


@with_units(
    returns="stiffness",
    modulus="modulus > 0",
    grip="length > 0",
    hole_diameter="length > 0",
    face_diameter="length > 0",
    half_angle="angle 0.01..1.5",
)
def two_equal_members(
    modulus: Any,
    grip: Any,
    hole_diameter: Any,
    face_diameter: Any = None,
    half_angle: Any = _30_DEG,
) -> Any:
    """Member stiffness of two equal members in closed form.

    km = pi E d tan a / (2 ln{ [(l tan a + D - d)(D + d)] / [(l tan a + D + d)(D - d)] });
    with D = 1.5 d: ln[5 (l tan a + 0.5 d)/(l tan a + 2.5 d)]

    Parameters
    ----------
    modulus : Young's modulus E of both, Pa
    grip : l, m
    hole_diameter : d, m
    face_diameter : D, m; 1.5 d if not given
    half_angle : a, rad; 45 degrees makes the members about half as stiff again as 30 degrees

    Returns
    -------
    member stiffness km, N/m

    Raises
    ------
    InputError
        if the face is not larger than the hole.

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-21, 8-22.
    """
    D = 1.5 * hole_diameter if face_diameter is None else face_diameter
    _check_faces(hole_diameter, D)
    half = np.asarray(grip, dtype=float)[()] / 2
    return 1 / (2 * _frustum_flex(modulus, half, hole_diameter, D, half_angle))


@with_units(returns="stiffness", modulus="modulus > 0", diameter="length > 0", grip="length > 0")
def member_stiffness_fit(modulus: Any, diameter: Any, grip: Any, material: str = "general") -> Any:
    """Member stiffness of one material by the exponential fit to finite elements.

    km = E d A exp(B d/l)

    Parameters
    ----------
    modulus : Young's modulus E, Pa
    diameter : bolt diameter d, m
    grip : l, m
    material : row of the constants A and B: "steel", "aluminium", "copper", "grey iron", "general"

    Returns
    -------
    member stiffness km, N/m

    Raises
    ------
    InputError
        for an unknown material.

    Notes
    -----
    Face of 1.5 d, about d/l 0.1 to 2 (range from memory). Between -1 % and +12 % of finite
    elements with a rigid head, +12 to +24 % above those with even pressure under the head.
    J. Wileman, M. Choudhury and I. Green, Journal of Mechanical Design 113 (1991) 432; Budynas and
    Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-23, Table 8-8.
    """
    row = tables.load("stiffness_fit").get(material, "material")
    ratio = np.asarray(diameter, dtype=float)[()] / grip
    return modulus * diameter * row["a"] * np.exp(row["b"] * ratio)


# --------------------------------------------------------------------------- load sharing
@with_units(returns="fraction", bolt_stiffness="stiffness > 0", member_stiffness="stiffness > 0")
def joint_constant(bolt_stiffness: Any, member_stiffness: Any) -> Any:
    """Share of an outside load that the bolt takes up while the joint is closed.

    C = kb/(kb + km)

    Parameters
    ----------
    bolt_stiffness : kb, N/m
    member_stiffness : km of the members (gasket in the stack included), N/m

    Returns
    -------
    joint constant C

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., sec. 8-7.
    """
    return bolt_stiffness / (np.asarray(bolt_stiffness) + member_stiffness)


@with_units(returns="force", preload="force >= 0", constant="fraction 0..1", load="force >= 0")
def bolt_load(preload: Any, constant: Any, load: Any) -> Any:
    """Bolt load under an outside load.

    Fb = Fi + C P while closed;  Fb = P once separated

    Parameters
    ----------
    preload : Fi, N
    constant : joint constant C
    load : outside load per bolt P, N

    Returns
    -------
    bolt load, N

    Notes
    -----
    Linear springs, no yielding.
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-24.
    """
    return np.maximum(preload + constant * np.asarray(load), load)


@with_units(returns="force", preload="force >= 0", constant="fraction 0..1", load="force >= 0")
def member_load(preload: Any, constant: Any, load: Any) -> Any:
    """Clamp force left between the members under an outside load, as a positive number.

    Fi - (1 - C) P while closed;  0 once separated

    Parameters
    ----------
    preload : Fi, N
    constant : joint constant C
    load : outside load per bolt P, N

    Returns
    -------
    clamp force, N

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-25 (there with the
    sign of compression).
    """
    return np.maximum(preload - (1 - np.asarray(constant)) * load, 0.0)


@with_units(
    returns="stress",
    preload="force >= 0",
    constant="fraction 0..1",
    load="force >= 0",
    stress_area="area > 0",
)
def bolt_stress(preload: Any, constant: Any, load: Any, stress_area: Any) -> Any:
    """Tensile stress of the bolt under an outside load.

    sigma = Fb/At

    Parameters
    ----------
    preload : Fi, N
    constant : joint constant C
    load : outside load per bolt P, N
    stress_area : At, m^2

    Returns
    -------
    stress, Pa

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., ex. 8-3.
    """
    return bolt_load.si(preload, constant, load) / np.asarray(stress_area)[()]


_FACTORS = {
    "proof": "stress > 0",
    "stress_area": "area > 0",
    "constant": "fraction 0..1",
    "load": "force > 0",
    "preload": "force >= 0",
}


@with_units(returns="number", **_FACTORS)
def proof_factor(proof: Any, stress_area: Any, constant: Any, load: Any, preload: Any) -> Any:
    """Factor of the bolt stress against proof strength.

    np = Sp At/(C P + Fi)

    Parameters
    ----------
    proof : proof strength Sp, Pa
    stress_area : At, m^2
    constant : joint constant C
    load : outside load per bolt P, N
    preload : Fi, N

    Returns
    -------
    factor np

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-28.
    """
    return proof * stress_area / (constant * np.asarray(load) + preload)


@with_units(returns="number", **_FACTORS)
def load_factor(proof: Any, stress_area: Any, constant: Any, load: Any, preload: Any) -> Any:
    """Factor by which the outside load may grow until the bolt is at proof strength.

    nL = (Sp At - Fi)/(C P)

    Parameters
    ----------
    proof : proof strength Sp, Pa
    stress_area : At, m^2
    constant : joint constant C
    load : outside load per bolt P, N
    preload : Fi, N

    Returns
    -------
    load factor nL; negative if the preload alone is above proof

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-29.
    """
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
    """Number of bolts, not yet rounded up, for a wanted load factor.

    N = C nL P/(Sp At - Fi)

    Parameters
    ----------
    proof : proof strength Sp, Pa
    stress_area : At, m^2
    constant : joint constant C
    total_load : outside load of the whole joint, N
    preload : Fi per bolt, N
    factor : wanted load factor nL

    Returns
    -------
    number of bolts

    Raises
    ------
    InputError
        if the preload leaves nothing below proof.

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., ex. 8-4.
    """
    room = np.asarray(proof) * stress_area - preload
    if np.any(room <= 0):
        raise fail("preload", "a preload at or above the proof load", "less than Sp At")
    return constant * factor * np.asarray(total_load) / room


@with_units(
    returns="number", preload="force >= 0", constant="fraction 0..0.999999", load="force > 0"
)
def separation_factor(preload: Any, constant: Any, load: Any) -> Any:
    """Factor by which the outside load may grow until the joint opens.

    n0 = Fi/(P (1 - C))

    Parameters
    ----------
    preload : Fi, N
    constant : joint constant C
    load : outside load per bolt P, N

    Returns
    -------
    factor n0

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-30.
    """
    return separation_load.si(preload, constant) / np.asarray(load)


@with_units(returns="force", preload="force >= 0", constant="fraction 0..0.999999")
def separation_load(preload: Any, constant: Any) -> Any:
    """Outside load per bolt at which the clamp force is gone.

    P0 = Fi/(1 - C)

    Parameters
    ----------
    preload : Fi, N
    constant : joint constant C

    Returns
    -------
    outside load, N

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., eq. 8-30.
    """
    return preload / (1 - np.asarray(constant))


@with_units(
    returns="stress",
    preload="force >= 0",
    constant="fraction 0..1",
    load="force >= 0",
    bolts="number > 0",
    gasket_area="area > 0",
    factor="number > 0",
)
def gasket_pressure(
    preload: Any, constant: Any, load: Any, bolts: Any, gasket_area: Any, factor: Any = 1.0
) -> Any:
    """Mean pressure left on a full gasket.

    p = [Fi - n P (1 - C)] N/Ag, not below zero

    Parameters
    ----------
    preload : Fi per bolt, N
    constant : joint constant C
    load : outside load per bolt P, N
    bolts : number of bolts N
    gasket_area : Ag, m^2
    factor : load factor n

    Returns
    -------
    pressure, Pa

    Notes
    -----
    Even pressure, stiff flanges. Budynas and Nisbett, Shigley's Mechanical Engineering Design,
    9th ed., sec. 8-10 (from memory).
    """
    left = member_load.si(preload, constant, factor * np.asarray(load))
    return left * bolts / gasket_area


@with_units(returns="number", bolt_circle="length > 0", bolts="number > 0", diameter="length > 0")
def bolt_spacing(bolt_circle: Any, bolts: Any, diameter: Any) -> Any:
    """Bolt spacing in bolt diameters; 3 to 6 keeps wrench room and even gasket pressure.

    pi Db/(N d)

    Parameters
    ----------
    bolt_circle : diameter of the bolt circle Db, m
    bolts : number of bolts N
    diameter : bolt diameter d, m

    Returns
    -------
    spacing over diameter

    Notes
    -----
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., sec. 8-10 (from memory).
    """
    return np.pi * np.asarray(bolt_circle)[()] / (np.asarray(bolts) * diameter)


# --------------------------------------------------------------------------- heat
@with_lists(layers=("expansion", "length > 0", "temperature difference"))
@with_units(
    returns="force",
    bolt_expansion="expansion",
    bolt_length="length > 0",
    bolt_rise="temperature difference",
    bolt_stiffness="stiffness > 0",
    member_stiffness="stiffness > 0",
)
def thermal_preload_change(
    layers: Any,
    bolt_expansion: Any,
    bolt_length: Any,
    bolt_rise: Any,
    bolt_stiffness: Any,
    member_stiffness: Any,
) -> Any:
    """Change of preload by heat, gain positive.

    dF = (sum ai ti dTi - ab Lb dTb)/(1/kb + 1/km)

    Parameters
    ----------
    layers : list of (mean expansion in 1/K, thickness in m, temperature rise in K) of the members
    bolt_expansion : mean expansion of the bolt ab, 1/K
    bolt_length : Lb, m
    bolt_rise : temperature rise of the bolt dTb, K
    bolt_stiffness, member_stiffness : kb, km, N/m

    Returns
    -------
    change of preload, N

    Notes
    -----
    Elastic, and the joint stays closed. Mean expansions need the temperature range they hold for.
    M.-Z. Lee, "How internal loads affect bolt preload", Machine Design, 5 November 2010.
    """
    free: Any = 0.0
    for expansion, thickness, rise in layers:
        free = free + expansion * np.asarray(thickness, dtype=float)[()] * rise
    free = free - bolt_expansion * np.asarray(bolt_length, dtype=float)[()] * bolt_rise
    return free * series.si([bolt_stiffness, member_stiffness])


# --------------------------------------------------------------------------- thread in the part
_60_DEG_FLANK = 1 / np.sqrt(3)


@with_units(
    returns="area",
    engagement="length > 0",
    pitch="length > 0",
    nut_minor="length > 0",
    screw_pitch="length > 0",
)
def external_shear_area(engagement: Any, pitch: Any, nut_minor: Any, screw_pitch: Any) -> Any:
    """Shear area of the screw thread, at the crest of the tapped thread.

    ASs = pi n Le Kn,max [1/(2n) + 0.57735 (Es,min - Kn,max)]

    Parameters
    ----------
    engagement : length of engagement Le, m
    pitch : 1/n, m
    nut_minor : largest minor diameter of the tapped thread Kn,max, m
    screw_pitch : smallest pitch diameter of the screw Es,min, m

    Returns
    -------
    shear area, m^2

    Notes
    -----
    60 degree threads. Form from memory, consistent with the engagement formula of Machinery's
    Handbook, 24th ed. (seen second-hand).
    """
    depth = 0.5 * pitch + _60_DEG_FLANK * (np.asarray(screw_pitch) - nut_minor)
    return np.pi * engagement / pitch * nut_minor * np.maximum(depth, 0.0)


@with_units(
    returns="area",
    engagement="length > 0",
    pitch="length > 0",
    screw_major="length > 0",
    nut_pitch="length > 0",
)
def internal_shear_area(engagement: Any, pitch: Any, screw_major: Any, nut_pitch: Any) -> Any:
    """Shear area of the tapped thread, at the crest of the screw thread.

    ASn = pi n Le Ds,min [1/(2n) + 0.57735 (Ds,min - En,max)]

    Parameters
    ----------
    engagement : length of engagement Le, m
    pitch : 1/n, m
    screw_major : smallest major diameter of the screw Ds,min, m
    nut_pitch : largest pitch diameter of the tapped thread En,max, m

    Returns
    -------
    shear area, m^2

    Notes
    -----
    60 degree threads. Form from memory; it reproduces the worked example in Bickford and Nassar,
    Handbook of Bolts and Bolted Joints.
    """
    depth = 0.5 * pitch + _60_DEG_FLANK * (np.asarray(screw_major) - nut_pitch)
    return np.pi * engagement / pitch * screw_major * np.maximum(depth, 0.0)


@with_units(returns="force", shear_area="area > 0", shear_strength="stress > 0")
def stripping_load(shear_area: Any, shear_strength: Any) -> Any:
    """Load that strips a thread.

    F = As tau_B

    Parameters
    ----------
    shear_area : area of the thread in shear, m^2
    shear_strength : shear strength of its material, Pa

    Returns
    -------
    load, N

    Notes
    -----
    Even load over the engaged threads.
    """
    return shear_area * shear_strength


@with_units(
    returns="length",
    load="force > 0",
    shear_strength="stress > 0",
    pitch="length > 0",
    screw_major="length > 0",
    nut_pitch="length > 0",
)
def required_engagement(
    load: Any, shear_strength: Any, pitch: Any, screw_major: Any, nut_pitch: Any
) -> Any:
    """Engagement at which the tapped thread just holds a load.

    Le = F/(tau_B ASn per length)

    Parameters
    ----------
    load : load to hold, such as the breaking load of the screw, N
    shear_strength : shear strength of the tapped part, Pa
    pitch : m
    screw_major : smallest major diameter of the screw, m
    nut_pitch : largest pitch diameter of the tapped thread, m

    Returns
    -------
    length of engagement, m

    Notes
    -----
    J. H. Bickford and S. Nassar (eds.), Handbook of Bolts and Bolted Joints, worked example.
    """
    per_length = internal_shear_area.si(1.0, pitch, screw_major, nut_pitch)
    return load / (per_length * shear_strength)


@with_units(
    returns="length",
    stress_area="area > 0",
    pitch="length > 0",
    nut_minor="length > 0",
    screw_pitch="length > 0",
)
def required_engagement_external(
    stress_area: Any, pitch: Any, nut_minor: Any, screw_pitch: Any
) -> Any:
    """Engagement at which the screw breaks before its own thread strips.

    Le = 2 At / {pi Kn,max [1/2 + 0.57735 n (Es,min - Kn,max)]}

    Parameters
    ----------
    stress_area : At, m^2
    pitch : 1/n, m
    nut_minor : largest minor diameter of the tapped thread Kn,max, m
    screw_pitch : smallest pitch diameter of the screw Es,min, m

    Returns
    -------
    length of engagement, m

    Notes
    -----
    The 2 takes shear strength as half the tensile strength. Weaker tapped part: times J.
    Machinery's Handbook, 24th ed., "Stress areas and length of engagement" (seen second-hand).
    """
    return 2 * stress_area / external_shear_area.si(1.0, pitch, nut_minor, screw_pitch)


@with_units(
    returns="fields",
    engagement="length > 0",
    diameter="length > 0",
    pitch="length > 0",
    stress_area="area > 0",
    screw_tensile="stress > 0",
    part_shear="stress > 0",
    screw_shear="stress > 0",
    nut_minor="length > 0",
    screw_pitch="length > 0",
    screw_major="length > 0",
    nut_pitch="length > 0",
)
def stripping(
    engagement: Any,
    diameter: Any,
    pitch: Any,
    stress_area: Any,
    screw_tensile: Any,
    part_shear: Any,
    screw_shear: Any = None,
    nut_minor: Any = None,
    screw_pitch: Any = None,
    screw_major: Any = None,
    nut_pitch: Any = None,
) -> Stripping:
    """Both threads of a screw in a tapped part against stripping.

    J = (ASs tau_s)/(ASn tau_n);  engagement needed: Sut At over the weaker thread per length

    Parameters
    ----------
    engagement : length of engagement Le, m
    diameter, pitch : nominal diameter and pitch, m
    stress_area : At, m^2
    screw_tensile : tensile strength of the screw, Pa
    part_shear : shear strength of the tapped part, Pa
    screw_shear : shear strength of the screw, Pa; half its tensile strength if not given
    nut_minor, screw_pitch, screw_major, nut_pitch : limits of size of the threads, m; basic
        profile where not given, which is 10 to 15 % better than the worst in tolerance

    Returns
    -------
    Stripping

    Notes
    -----
    Shear areas as in `external_shear_area` and `internal_shear_area`; J after FED-STD-H28/2 (from
    memory), here with shear strengths, which is the same if both shear at one share of tensile.
    """
    shear = 0.5 * np.asarray(screw_tensile)[()] if screw_shear is None else screw_shear
    basic_pitch = diameter - 3 * np.sqrt(3) / 8 * np.asarray(pitch)[()]
    minor = (
        diameter - 5 * np.sqrt(3) / 8 * np.asarray(pitch)[()] if nut_minor is None else nut_minor
    )
    external = external_shear_area.si(
        engagement, pitch, minor, basic_pitch if screw_pitch is None else screw_pitch
    )
    internal = internal_shear_area.si(
        engagement,
        pitch,
        diameter if screw_major is None else screw_major,
        basic_pitch if nut_pitch is None else nut_pitch,
    )
    screw_load = stripping_load.si(external, shear)
    part_load = stripping_load.si(internal, part_shear)
    load = np.minimum(screw_load, part_load)
    return Stripping(
        external,
        internal,
        screw_load,
        part_load,
        load,
        screw_load / part_load,
        screw_tensile * stress_area * engagement / load,
    )


@with_units(returns=("length", "length"), diameter="length > 0")
def engagement_rule(material: str, diameter: Any) -> Any:
    """Engagement by rule of thumb for a tapped part.

    Le = factor x d, low and high end of the rule

    Parameters
    ----------
    material : "steel", "grey iron", "cast aluminium"
    diameter : nominal diameter d, m

    Returns
    -------
    low, high length of engagement, m

    Raises
    ------
    InputError
        for an unknown material.

    Notes
    -----
    Trade practice, no source.
    """
    row = tables.load("engagement").get(material, "material")
    return row["low"] * diameter, row["high"] * diameter


@with_units(
    returns="stress",
    force="force >= 0",
    outer_diameter="length > 0",
    inner_diameter="length > 0",
)
def head_pressure(force: Any, outer_diameter: Any, inner_diameter: Any) -> Any:
    """Mean bearing pressure under a head, nut or washer.

    p = F/[pi/4 (dw^2 - dh^2)]

    Parameters
    ----------
    force : bolt force, N
    outer_diameter : outside diameter of the bearing face dw, m
    inner_diameter : its inside diameter or the hole, whichever is larger, dh, m

    Returns
    -------
    pressure, Pa

    Raises
    ------
    InputError
        if the face is not larger than the hole.

    Notes
    -----
    Compare with `bearing_limit`. VDI 2230 (from memory).
    """
    if np.any(np.asarray(outer_diameter) <= inner_diameter):
        raise fail(
            "outer_diameter", "a face not larger than the hole", "a diameter above inner_diameter"
        )
    return force / (np.pi / 4 * (np.asarray(outer_diameter) ** 2 - inner_diameter**2))


@with_units(returns=("stress", "stress"))
def bearing_limit(material: str) -> Any:
    """Limiting pressure under the head, low and high of the values found.

    Parameters
    ----------
    material : key of the table ``bearing_limits``

    Returns
    -------
    low, high limiting pressure, Pa

    Raises
    ------
    InputError
        for an unknown material.

    Notes
    -----
    VDI 2230 (2003), Table A9, from memory.
    """
    row = tables.load("bearing_limits").get(material, "material")
    return row["low"], row["high"]
