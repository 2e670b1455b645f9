"""How metals flow under a seal: flow curves, hardness, and the bite of a wire or ridge.

A seal of metal works by flow: copper fills what it is pressed against, a ridge bites, and the
softer of two faces gives way. Flow curves give the stress at a strain, hardness the pressure that
an indenter carries; Tabor's rule joins the two. Elastic recovery is small and comes from the
compression of the metal below the contact.
"""

from __future__ import annotations

import functools
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.errors import fail
from sealkit.units import with_units

KGF_PER_MM2 = 9.80665e6
"""Hardness number 1 as a pressure, Pa."""

PLANE_STRAIN = (2.0 + np.pi) / np.sqrt(3.0)
"""Indentation pressure over yield stress: slip lines under a flat punch, von Mises."""

REPRESENTATIVE_STRAIN = 0.08
"""Strain that a Vickers hardness stands for (Tabor)."""

_BALL = 0.010
_SCALES = {"HB 10/500": 500.0, "HB 10/3000": 3000.0}


# --------------------------------------------------------------------------- flow curves
@with_units(
    returns="stress",
    strain="number >= 0",
    strength="stress > 0",
    exponent="number 0..1",
    prestrain="number >= 0",
)
def flow_stress(strain: Any, strength: Any, exponent: Any, prestrain: Any = 0.0) -> Any:
    """Flow stress by Hollomon's law, sigma = K (eps0 + eps)**n.

    Parameters
    ----------
    strain : true strain eps
    strength : K [Pa]
    exponent : n
    prestrain : eps0, true strain from cold work before

    Returns
    -------
    sigma [Pa]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    W. D. Callister, Fundamentals of Materials Science and Engineering, 2nd ed., p. 199.
    """
    return strength * (np.asarray(prestrain, dtype=float) + strain) ** exponent


@with_units(returns="stress", strength="stress > 0", exponent="number 0..1")
def considere_strength(strength: Any, exponent: Any) -> Any:
    """Tensile strength at which a Hollomon metal necks, K n**n exp(-n).

    Parameters
    ----------
    strength : K [Pa]
    exponent : n, which is also the true strain at necking

    Returns
    -------
    engineering tensile strength [Pa]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Considere's rule, d sigma / d eps = sigma, put into Hollomon's law.
    """
    n = np.asarray(exponent, dtype=float)
    return strength * n**n * np.exp(-n)


@with_units(
    returns="stress",
    strain="number >= 0",
    initial="stress >= 0",
    strength="stress > 0",
    exponent="number 0..1",
    rate_factor="number >= 0",
    rate_ratio="number > 0",
    softening="number > 0",
    temperature="temperature > 0",
    reference_temperature="temperature > 0",
    melting="temperature > 0",
)
def johnson_cook(
    strain: Any,
    initial: Any,
    strength: Any,
    exponent: Any,
    rate_factor: Any = 0.0,
    rate_ratio: Any = 1.0,
    softening: Any = 1.0,
    temperature: Any = 298.0,
    reference_temperature: Any = 298.0,
    melting: Any = 1356.0,
) -> Any:
    """Flow stress by Johnson and Cook, (A + B eps**n) (1 + C ln(rate ratio)) (1 - T***m).

    T* = (T - T_ref) / (T_melt - T_ref), held between 0 and 1.

    Parameters
    ----------
    strain : true plastic strain eps
    initial, strength : A, B [Pa]
    exponent : n
    rate_factor : C
    rate_ratio : strain rate over reference rate
    softening : m
    temperature, reference_temperature, melting : T, T_ref, T_melt [K]

    Returns
    -------
    sigma [Pa]

    Raises
    ------
    InputError
        for a number out of range, or a melting point not above the reference temperature.

    References
    ----------
    Johnson-Cook law with the constants of OFHC copper in an open lecture note. Too high below
    5 % strain for annealed copper.
    """
    span = np.asarray(melting, dtype=float) - reference_temperature
    if np.any(span <= 0):
        raise fail("melting", f"{np.min(melting):g} K", "a temperature above the reference")
    warm = np.clip((np.asarray(temperature, dtype=float) - reference_temperature) / span, 0.0, 1.0)
    static = initial + strength * np.asarray(strain, dtype=float) ** exponent
    return static * (1.0 + rate_factor * np.log(rate_ratio)) * (1.0 - warm**softening)


@with_units(
    returns=("number", "stress"),
    initial="stress >= 0",
    strength="stress > 0",
    exponent="number 0.01..1",
)
def johnson_cook_necking(initial: Any, strength: Any, exponent: Any) -> Any:
    """True strain at necking and tensile strength of the static Johnson-Cook law.

    Necking where B n eps**(n-1) = A + B eps**n; tensile strength (A + B eps**n) exp(-eps).

    Parameters
    ----------
    initial, strength : A, B [Pa]
    exponent : n

    Returns
    -------
    strain, engineering tensile strength [Pa]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Considere's rule, d sigma / d eps = sigma.
    """
    a, b, n = (np.asarray(v, dtype=float) for v in (initial, strength, exponent))
    low, high = np.full(np.broadcast(a, b, n).shape, 1e-12), n + np.zeros(np.broadcast(a, b).shape)
    for _ in range(200):
        mid = 0.5 * (low + high)
        hardens = b * n * mid ** (n - 1.0) > a + b * mid**n
        low, high = np.where(hardens, mid, low), np.where(hardens, high, mid)
    strain = (0.5 * (low + high))[()]
    return strain, (a + b * strain**n) * np.exp(-strain)


# --------------------------------------------------------------------------- hardness
@with_units(
    returns="number",
    stress="stress > 0",
    constraint="number > 0",
)
def tabor_hardness(stress: Any, constraint: Any = 3.0) -> Any:
    """Hardness number of a metal from its flow stress, HV = C sigma(8 %) / 9.80665 MPa.

    Parameters
    ----------
    stress : flow stress at the representative strain, 8 % for Vickers [Pa]
    constraint : C, 2.8 to 3.0

    Returns
    -------
    HV, kgf/mm**2

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    D. Tabor, The Hardness of Metals, Oxford, 1951 (constants from memory).
    """
    return constraint * np.asarray(stress, dtype=float) / KGF_PER_MM2


@with_units(
    returns="number",
    hardness="number > 0",
    strength="stress > 0",
    exponent="number 0.01..1",
    constraint="number > 0",
)
def prestrain_of_hardness(
    hardness: Any, strength: Any, exponent: Any, constraint: Any = 3.0
) -> Any:
    """Cold work that brings a Hollomon metal to a Vickers hardness.

    eps0 = (HV 9.80665 MPa / (C K))**(1/n) - 0.08, not below zero.

    Parameters
    ----------
    hardness : HV
    strength : K [Pa]
    exponent : n
    constraint : C, 2.8 to 3.0

    Returns
    -------
    true strain eps0

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    D. Tabor, The Hardness of Metals, Oxford, 1951 (constants from memory).
    """
    stress = np.asarray(hardness, dtype=float) * KGF_PER_MM2 / constraint
    return np.maximum((stress / strength) ** (1.0 / exponent) - REPRESENTATIVE_STRAIN, 0.0)


def _inside_ball(dent: Any, ball: Any, name: str) -> None:
    if np.any(np.asarray(dent) >= ball):
        raise fail(name, f"{np.max(dent):g} m", "a dent smaller than the ball")


@with_units(returns="number", load="force > 0", ball="length > 0", dent="length > 0")
def brinell(load: Any, ball: Any, dent: Any) -> Any:
    """Brinell hardness, 2 F / (pi D (D - sqrt(D**2 - d**2))) in kgf/mm**2.

    Parameters
    ----------
    load : F [N]
    ball : diameter D [m]
    dent : diameter d [m]; the number holds for d/D of 0.24 to 0.60

    Returns
    -------
    HB, kgf/mm**2

    Raises
    ------
    InputError
        for a number not above zero, or a dent as large as the ball.

    References
    ----------
    ISO 6506 definition of HBW, as given in open hardness notes.
    """
    _inside_ball(dent, ball, "dent")
    depth = (ball - np.sqrt(np.asarray(ball, dtype=float) ** 2 - np.asarray(dent) ** 2)) / 2.0
    return load / (np.pi * ball * depth) / KGF_PER_MM2


@with_units(returns="length", hardness="number > 0", load="force > 0", ball="length > 0")
def brinell_dent(hardness: Any, load: Any, ball: Any) -> Any:
    """Diameter of the dent of a Brinell test, d = 2 sqrt(h (D - h)), h = F / (pi D HB).

    Parameters
    ----------
    hardness : HB
    load : F [N]
    ball : diameter D [m]

    Returns
    -------
    d [m]

    Raises
    ------
    InputError
        for a number not above zero, or a metal so soft that the ball sinks in.

    References
    ----------
    `brinell`, solved for the dent.
    """
    depth = load / (np.pi * ball * np.asarray(hardness, dtype=float) * KGF_PER_MM2)
    if np.any(depth >= ball / 2.0):
        raise fail("hardness", f"{np.min(hardness):g}", "a hardness that stops the ball half-way")
    return 2.0 * np.sqrt(depth * (ball - depth))


@with_units(returns="stress", load="force > 0", dent="length > 0")
def meyer(load: Any, dent: Any) -> Any:
    """Meyer hardness: mean pressure on the projected dent, 4 F / (pi d**2).

    Parameters
    ----------
    load : F [N]
    dent : diameter d [m]

    Returns
    -------
    p [Pa]

    Raises
    ------
    InputError
        for a number not above zero.

    References
    ----------
    D. Tabor, The Hardness of Metals, Oxford, 1951.
    """
    return 4.0 * load / (np.pi * np.asarray(dent, dtype=float) ** 2)


@functools.cache
def _indentation_pressure(material: str) -> float:
    row = tables.load("flow").get(material, "material")
    if row["hardness"] is None:
        raise fail("material", material, "a material with a hardness in the flow table")
    scale = row["hardness_scale"]
    if scale == "HV":
        return float(row["hardness"] * KGF_PER_MM2)
    load = _SCALES[scale] * 9.80665
    return float(meyer.si(load, brinell_dent.si(row["hardness"], load, _BALL)))


@with_units(returns="stress")
def indentation_pressure(material: str) -> Any:
    """Mean pressure that an indenter carries on a material of the flow table.

    From the Brinell number by the dent of its test (Meyer), or from HV x 9.80665 MPa.

    Parameters
    ----------
    material : row of the flow table, such as "A356-T6" or "grey iron"

    Returns
    -------
    H [Pa]

    Raises
    ------
    InputError
        for an unknown material, or one without a hardness.

    References
    ----------
    D. Tabor, The Hardness of Metals, Oxford, 1951; hardness as in the table.
    """
    return _indentation_pressure(material)


# --------------------------------------------------------------------------- a wire or ridge
@with_units(returns="length", depth="length >= 0", radius="length > 0")
def contact_half_width(depth: Any, radius: Any) -> Any:
    """Half-width of a round wire or ridge pressed in, a = sqrt(2 R d - d**2).

    Parameters
    ----------
    depth : d, at most R [m]
    radius : R [m]

    Returns
    -------
    a [m]

    Raises
    ------
    InputError
        for a number out of range, or a depth above the radius.

    References
    ----------
    Geometry.
    """
    d = np.asarray(depth, dtype=float)
    if np.any(d > np.asarray(radius) * (1.0 + 1e-12)):
        raise fail("depth", f"{np.max(d):g} m", f"at most the radius, {np.min(radius):g} m")
    return np.sqrt(np.maximum(2.0 * radius * d - d**2, 0.0))


@with_units(returns="area", depth="length >= 0", radius="length > 0")
def displaced_area(depth: Any, radius: Any) -> Any:
    """Cross-section pushed out by a round wire, R**2 acos(1 - d/R) - (R - d) sqrt(2 R d - d**2).

    Parameters
    ----------
    depth : d, at most R [m]
    radius : R [m]

    Returns
    -------
    A [m**2]

    Raises
    ------
    InputError
        for a number out of range, or a depth above the radius.

    References
    ----------
    Circular segment; plastic flow keeps the volume.
    """
    a = contact_half_width.si(depth, radius)
    d = np.minimum(np.asarray(depth, dtype=float), radius)
    return radius**2 * np.arccos(1.0 - d / radius) - (radius - d) * a


@with_units(
    returns="line load",
    depth="length >= 0",
    radius="length > 0",
    strength="stress > 0",
    exponent="number 0..1",
    prestrain="number >= 0",
)
def wire_line_load(
    depth: Any, radius: Any, strength: Any, exponent: Any, prestrain: Any = 0.0
) -> Any:
    """Line load that presses a round wire into a Hollomon metal, q = 2 a C K (eps0 + 0.2 a/R)**n.

    Parameters
    ----------
    depth : d, at most R [m]
    radius : R of the wire [m]
    strength : K [Pa]
    exponent : n
    prestrain : eps0 from cold work before

    Returns
    -------
    q [N/m]

    Raises
    ------
    InputError
        for a number out of range, or a depth above the radius.

    Notes
    -----
    C = (2 + pi)/sqrt(3), plane strain; flat backing, no elastic part. Good to a factor of about
    1.5 against the line load of a knife-edge seal in copper.

    References
    ----------
    Slip-line pressure and Tabor's strain 0.2 d/D (D. Tabor, The Hardness of Metals, Oxford, 1951,
    from memory) with Hollomon's law.
    """
    a = contact_half_width.si(depth, radius)
    return 2.0 * a * PLANE_STRAIN * flow_stress.si(0.2 * a / radius, strength, exponent, prestrain)


@with_units(
    returns="length", line_load="line load >= 0", hardness="stress > 0", radius="length > 0"
)
def bite(line_load: Any, hardness: Any, radius: Any) -> Any:
    """Depth to which a round wire or ridge bites into a face of constant hardness.

    d = R - sqrt(R**2 - a**2) with a = q / (2 H); R once the full width is in.

    Parameters
    ----------
    line_load : q of one wire or ridge [N/m]
    hardness : H, mean indentation pressure [Pa]
    radius : R [m]

    Returns
    -------
    d [m]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Meyer hardness taken as constant; D. Tabor, The Hardness of Metals, Oxford, 1951.
    """
    a = np.minimum(np.asarray(line_load, dtype=float) / (2.0 * np.asarray(hardness)), radius)
    return radius - np.sqrt(radius**2 - a**2)


@with_units(
    returns="length",
    line_load="line load >= 0",
    half_width="length > 0",
    depth="length > 0",
    modulus="modulus > 0",
    poisson="number 0..0.49",
)
def elastic_approach(
    line_load: Any, half_width: Any, depth: Any, modulus: Any, poisson: Any
) -> Any:
    """Elastic compression of a face under a narrow line contact.

    w = q (1 - nu**2) / (pi E) (2 ln(2 t/a) - nu/(1 - nu)), between the surface and the depth t.

    Parameters
    ----------
    line_load : q [N/m]
    half_width : a of the contact [m]
    depth : t, well above a; held at least at 2 a [m]
    modulus : E [Pa]
    poisson : nu

    Returns
    -------
    w [m]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    K. L. Johnson, Contact Mechanics, eq. 5.58 (from memory).
    """
    deep = np.maximum(np.asarray(depth, dtype=float) / half_width, 2.0)
    shape = 2.0 * np.log(2.0 * deep) - poisson / (1.0 - poisson)
    return line_load * (1.0 - poisson**2) / (np.pi * modulus) * shape


@with_units(returns="modulus", modulus="modulus > 0", poisson="number 0..0.49")
def confined_modulus(modulus: Any, poisson: Any) -> Any:
    """Modulus of a sheet that cannot spread sideways, E (1-nu) / ((1+nu) (1-2 nu)).

    Parameters
    ----------
    modulus : E [Pa]
    poisson : nu

    Returns
    -------
    M [Pa]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    Hooke's law with both sideways strains zero.
    """
    nu = np.asarray(poisson, dtype=float)
    return modulus * (1.0 - nu) / ((1.0 + nu) * (1.0 - 2.0 * nu))


@with_units(
    returns="length",
    stress="stress >= 0",
    thickness="length > 0",
    modulus="modulus > 0",
    poisson="number 0..0.49",
)
def sheet_springback(stress: Any, thickness: Any, modulus: Any, poisson: Any) -> Any:
    """How far a solid sheet between two faces comes back from a stress, sigma t / M.

    Parameters
    ----------
    stress : sigma [Pa]
    thickness : t [m]
    modulus : E [Pa]
    poisson : nu

    Returns
    -------
    springback [m]

    Raises
    ------
    InputError
        for a number out of range.

    References
    ----------
    `confined_modulus`.
    """
    return stress * thickness / confined_modulus.si(modulus, poisson)
