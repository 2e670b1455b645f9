"""When a gasket seals: seating and residual stress, flange loads, assembly stress, blow-out.

Two questions stand behind all of it. Was the gasket once pressed hard enough to fill the faces
(seating)? Is enough contact stress left when the pressure pushes (residual)? The factors m and y
of vessel practice answer both; they were made for flanges, not for engines, and are not targets
for assembly. All pressures here are above the air outside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.errors import fail
from sealkit.units import KINDS, field, with_units

__all__ = [
    "AssemblyStress",
    "BlowOut",
    "EffectiveGasket",
    "GasketFactors",
    "GasketLoads",
    "SealCheck",
    "assembly_stress",
    "basic_width",
    "blow_out",
    "blow_out_width",
    "design_load",
    "effective_gasket",
    "effective_width",
    "gasket_area",
    "gasket_factors",
    "gasket_loads",
    "required_bolt_area",
    "residual_line_load",
    "seal_check",
    "seating_line_load",
]

INCH = 0.0254
CODE = "ASME BPVC VIII-1, Appendix 2"
FACINGS = {"flat": 2.0, "ring joint": 8.0}


# --------------------------------------------------------------------------- factors
@dataclass(frozen=True)
class GasketFactors:
    """m and y of a gasket.

    Parameters
    ----------
    gasket : name in the table
    factor : m, residual contact stress over pressure
    seating_stress : y, contact stress to seat the gasket, Pa
    conflict : what the texts disagree on, or ""
    source, status, note : where the numbers come from
    """

    gasket: str
    factor: Any = field("number")
    seating_stress: Any = field("stress")
    conflict: str = ""
    source: str = ""
    status: str = ""
    note: str = ""


def _gasket_factors(gasket: str) -> GasketFactors:
    row = tables.load("factors_m_y").get(gasket, "gasket")
    m = [row[k] for k in ("factor_a", "factor_b") if row[k] is not None]
    y = [row[k] for k in ("seating_a", "seating_b") if row[k] is not None]
    parts = [
        f"{word} {min(v):.4g} or {max(v):.4g}{unit}"
        for word, v, unit in (
            ("m", m, ""),
            ("y", [s / 6894.757293168361 for s in y], " psi"),
        )
        if not np.isclose(min(v), max(v), rtol=1e-12, atol=0)
    ]
    return GasketFactors(
        row["gasket"], max(m), max(y), "; ".join(parts), row["source"], row["status"], row["note"]
    )


@with_units(returns="fields")
def gasket_factors(gasket: str) -> GasketFactors:
    """Gasket factor m and seating stress y of a kind of gasket.

    Where two texts disagree the larger number is given and `conflict` says so.

    Parameters
    ----------
    gasket : a name of the table factors_m_y, such as "solid flat metal, copper"

    Returns
    -------
    GasketFactors

    Raises
    ------
    InputError
        if the table has no such gasket; the nearest name is suggested.

    Notes
    -----
    Numbers for vessel design. Working assembly stress is set higher.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, Table 2-5.1.
    """
    return _gasket_factors(gasket)


# --------------------------------------------------------------------------- widths and loads
@with_units(returns="length", contact_width="length > 0")
def basic_width(contact_width: Any, facing: str = "flat") -> Any:
    """Basic gasket seating width.

    b0 = N/2 for a flat ring in full contact, w/8 for a ring joint.

    Parameters
    ----------
    contact_width : N, or width w of the ring [m]
    facing : "flat" or "ring joint"

    Returns
    -------
    b0 [m]

    Raises
    ------
    InputError
        for another facing, or a width not above zero.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, Table 2-5.2, sketches 1a and 6.
    """
    if facing not in FACINGS:
        raise fail("facing", facing, " or ".join(f'"{f}"' for f in FACINGS))
    return contact_width / FACINGS[facing]


@with_units(returns="length", basic_width="length > 0")
def effective_width(basic_width: Any) -> Any:
    """Effective gasket seating width.

    b = b0 up to b0 = 1/4 in, b = 0.5 sqrt(b0) in inches above (2.52 sqrt(b0) in millimetres).

    Parameters
    ----------
    basic_width : b0 [m]

    Returns
    -------
    b [m]

    Raises
    ------
    InputError
        for a width not above zero.

    Notes
    -----
    The metric text changes over at 6 mm; at 1/4 in (6.35 mm), used here, both forms agree.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, Table 2-5.2.
    """
    b0 = np.asarray(basic_width, dtype=float) / INCH
    return (INCH * np.where(b0 <= 0.25, b0, 0.5 * np.sqrt(b0)))[()]


@dataclass(frozen=True)
class EffectiveGasket:
    """Where and on what width the code lets the gasket act.

    Parameters
    ----------
    basic_width : b0, m
    effective_width : b, m
    reaction_diameter : G, m
    """

    basic_width: Any = field("length")
    effective_width: Any = field("length")
    reaction_diameter: Any = field("length")


@with_units(returns="fields", inner_diameter="length > 0", outer_diameter="length > 0")
def effective_gasket(
    inner_diameter: Any, outer_diameter: Any, facing: str = "flat"
) -> EffectiveGasket:
    """Effective width and gasket reaction diameter of a ring.

    G = mean diameter of the contact up to b0 = 1/4 in, outside diameter - 2 b above.

    Parameters
    ----------
    inner_diameter, outer_diameter : of the contact [m]
    facing : as in `basic_width`

    Returns
    -------
    EffectiveGasket

    Raises
    ------
    InputError
        if the outer diameter is not the larger one, or the facing is unknown.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-3 and Table 2-5.2.
    """
    inner, outer = np.broadcast_arrays(
        np.asarray(inner_diameter, dtype=float), np.asarray(outer_diameter, dtype=float)
    )
    if np.any(outer <= inner):
        raise fail(
            "outer_diameter",
            f"{1000 * np.min(outer):.6g} mm",
            "a diameter above the inner diameter",
        )
    b0 = basic_width.si(0.5 * (outer - inner), facing)
    b = effective_width.si(b0)
    g = np.where(b0 <= 0.25 * INCH, 0.5 * (inner + outer), outer - 2.0 * b)
    return EffectiveGasket(b0[()], b, g[()])


@dataclass(frozen=True)
class GasketLoads:
    """Bolt loads that the gasket asks for.

    Parameters
    ----------
    pressure_force : H, what the pressure pushes on the reaction circle, N
    compression_force : Hp, what must stay on the gasket under pressure, N
    operating : Wm1 = H + Hp, N
    seating : Wm2, N
    """

    pressure_force: Any = field("force")
    compression_force: Any = field("force")
    operating: Any = field("force")
    seating: Any = field("force")


_PI = {"exact": (np.pi / 4.0, np.pi), "code": (0.785, 3.14)}


@with_units(
    returns="fields",
    pressure="gauge pressure >= 0",
    reaction_diameter="length > 0",
    effective_width="length > 0",
    factor="number >= 0",
    seating_stress="stress >= 0",
)
def gasket_loads(
    pressure: Any,
    reaction_diameter: Any,
    effective_width: Any,
    factor: Any,
    seating_stress: Any,
    constants: str = "exact",
) -> GasketLoads:
    """Operating and seating load of a gasket.

    Wm1 = pi/4 G^2 P + 2 b pi G m P (operating); Wm2 = pi b G y (seating).

    Parameters
    ----------
    pressure : P [Pa gauge]
    reaction_diameter : G [m]
    effective_width : b [m]
    factor : m
    seating_stress : y [Pa]
    constants : "exact", or "code" for the 0.785 and 3.14 that the code prints

    Returns
    -------
    GasketLoads

    Raises
    ------
    InputError
        for a negative pressure, factor or stress, or an unknown set of constants.

    Notes
    -----
    Some public texts print the names Wm1 and Wm2 the other way round: Wm1 is the operating load.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-5(c)(1), equations (1) and (2).
    """
    if constants not in _PI:
        raise fail("constants", constants, '"exact" or "code"')
    quarter, pi = _PI[constants]
    h = quarter * np.square(reaction_diameter) * pressure
    hp = residual_line_load.si(pressure, factor, effective_width) * pi * reaction_diameter
    wm2 = seating_line_load.si(seating_stress, effective_width) * pi * reaction_diameter
    return GasketLoads(h, hp, h + hp, wm2)


@with_units(
    returns="area",
    operating="force >= 0",
    seating="force >= 0",
    operating_stress="stress > 0",
    assembly_stress="stress > 0",
)
def required_bolt_area(
    operating: Any, seating: Any, operating_stress: Any, assembly_stress: Any
) -> Any:
    """Bolt area wanted: Am = max(Wm1/Sb, Wm2/Sa).

    Parameters
    ----------
    operating, seating : Wm1, Wm2 [N]
    operating_stress : Sb, allowable bolt stress at working temperature [Pa]
    assembly_stress : Sa, allowable bolt stress at assembly [Pa]

    Returns
    -------
    Am [m**2]

    Raises
    ------
    InputError
        for a negative load or a stress not above zero.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-5(d).
    """
    return np.maximum(
        np.asarray(operating, dtype=float) / operating_stress,
        np.asarray(seating, dtype=float) / assembly_stress,
    )[()]


@with_units(
    returns="force",
    required_area="area > 0",
    actual_area="area > 0",
    assembly_stress="stress > 0",
)
def design_load(required_area: Any, actual_area: Any, assembly_stress: Any) -> Any:
    """Design bolt load for seating: W = (Am + Ab) Sa / 2.

    Parameters
    ----------
    required_area : Am [m**2]
    actual_area : Ab, of the bolts that are there [m**2]
    assembly_stress : Sa [Pa]

    Returns
    -------
    W [N]

    Raises
    ------
    InputError
        for an area or stress not above zero.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-5(e), equation (5).
    """
    return 0.5 * (np.asarray(required_area, dtype=float) + actual_area) * assembly_stress


# --------------------------------------------------------------------------- line loads
@with_units(
    returns="line load",
    pressure="gauge pressure >= 0",
    factor="number >= 0",
    effective_width="length > 0",
)
def residual_line_load(pressure: Any, factor: Any, effective_width: Any) -> Any:
    """Line load that must stay on the seal while the pressure pushes: q = 2 b m p.

    Parameters
    ----------
    pressure : p [Pa gauge]
    factor : m
    effective_width : b, half of a narrow flat contact [m]

    Returns
    -------
    q [N/m]

    Raises
    ------
    InputError
        for a negative pressure or factor, or a width not above zero.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-5(c)(1): Hp over the length of the reaction circle.
    """
    return 2.0 * np.asarray(effective_width, dtype=float) * factor * pressure


@with_units(returns="line load", seating_stress="stress >= 0", effective_width="length > 0")
def seating_line_load(seating_stress: Any, effective_width: Any) -> Any:
    """Line load that seats the gasket: q = b y.

    Parameters
    ----------
    seating_stress : y [Pa]
    effective_width : b [m]

    Returns
    -------
    q [N/m]

    Raises
    ------
    InputError
        for a negative stress or a width not above zero.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-5(c)(2): Wm2 over the length of the reaction circle.
    """
    return np.asarray(seating_stress, dtype=float) * effective_width


@dataclass(frozen=True)
class SealCheck:
    """Seating and residual criterion of one seal.

    Parameters
    ----------
    seating_wanted, residual_wanted : line loads the criteria ask for, N/m
    seating_margin, residual_margin : line load there over line load wanted; inf if none is wanted
    holds : True where both margins reach 1
    weaker : "seating" or "residual", the criterion with the smaller margin
    """

    seating_wanted: Any = field("line load")
    residual_wanted: Any = field("line load")
    seating_margin: Any = field("number")
    residual_margin: Any = field("number")
    holds: Any = True
    weaker: Any = ""


def _over(have: Any, wanted: Any) -> Any:
    have, wanted = np.broadcast_arrays(
        np.asarray(have, dtype=float), np.asarray(wanted, dtype=float)
    )
    return np.where(wanted > 0, have / np.where(wanted > 0, wanted, 1.0), np.inf)[()]


@with_units(
    returns="fields",
    assembly_line_load="line load >= 0",
    residual="line load >= 0",
    pressure="gauge pressure >= 0",
    contact_width="length > 0",
    factor="number >= 0",
    seating_stress="stress >= 0",
)
def seal_check(
    assembly_line_load: Any,
    residual: Any,
    pressure: Any,
    contact_width: Any,
    factor: Any,
    seating_stress: Any,
) -> SealCheck:
    """Was the seal seated, and is enough left under pressure.

    Seating: q_assembly >= b y. Residual: q_left >= 2 b m p.

    Parameters
    ----------
    assembly_line_load : on the seal when the head was tightened [N/m]
    residual : left on the seal at this pressure [N/m]
    pressure : p [Pa gauge]
    contact_width : N, of a flat contact [m]
    factor : m
    seating_stress : y [Pa]

    Returns
    -------
    SealCheck

    Raises
    ------
    InputError
        for a negative load, pressure, factor or stress.

    References
    ----------
    ASME BPVC VIII-1, Appendix 2, 2-5, written per length of seal.
    """
    b = effective_width.si(basic_width.si(contact_width))
    seat = seating_line_load.si(seating_stress, b)
    keep = residual_line_load.si(pressure, factor, b)
    first, second = _over(assembly_line_load, seat), _over(residual, keep)
    weaker = np.where(first <= second, "seating", "residual")
    return SealCheck(
        seat, keep, first, second, (np.minimum(first, second) >= 1.0), weaker[()]
    )  # fmt: skip


# --------------------------------------------------------------------------- assembly stress
@with_units(
    returns="area",
    inner_diameter="length > 0",
    outer_diameter="length > 0",
    rib_area="area >= 0",
)
def gasket_area(inner_diameter: Any, outer_diameter: Any, rib_area: Any = 0.0) -> Any:
    """Gasket area that takes bolt load: Ag = pi/4 (OD^2 - ID^2) + half the rib area.

    Parameters
    ----------
    inner_diameter, outer_diameter : of the ring [m]
    rib_area : full area of a rib across the ring [m**2]; half of it counts

    Returns
    -------
    Ag [m**2]

    Raises
    ------
    InputError
        if the outer diameter is not the larger one.

    References
    ----------
    ASME PCC-1-2013, Appendix O.
    """
    if np.any(np.asarray(outer_diameter) <= inner_diameter):
        raise fail(
            "outer_diameter",
            f"{1000 * float(np.min(outer_diameter)):.6g} mm",
            "a diameter above the inner diameter",
        )
    ring = np.square(outer_diameter) - np.square(inner_diameter)
    return np.pi / 4.0 * ring + 0.5 * np.asarray(rib_area, dtype=float)


@dataclass(frozen=True)
class AssemblyStress:
    """Bolt stress at assembly and the limits it must stand between.

    Parameters
    ----------
    wanted : bolt stress that gives the gasket its target stress, Pa
    selected : the same held between the bolt's own limits, Pa
    gasket_stress : what the gasket then has, Pa
    seating_limit : least bolt stress to seat the gasket, Pa
    operating_limit : least bolt stress to hold under pressure, Pa
    crush_limit : bolt stress at which the gasket is crushed, Pa
    holds : True where the selected stress stands between the limits
    faults : what is wrong, in words
    """

    wanted: Any = field("stress")
    selected: Any = field("stress")
    gasket_stress: Any = field("stress")
    seating_limit: Any = field("stress")
    operating_limit: Any = field("stress")
    crush_limit: Any = field("stress")
    holds: Any = True
    faults: tuple[str, ...] = ()


@with_units(
    returns="fields",
    target_stress="stress > 0",
    gasket_area="area > 0",
    bolts="number > 0",
    bolt_area="area > 0",
    bolt_least="stress >= 0",
    bolt_most="stress > 0",
    seating_stress="stress >= 0",
    operating_stress="stress >= 0",
    crush_stress="stress > 0",
    pressure="gauge pressure >= 0",
    inner_diameter="length > 0",
    remaining="fraction > 0",
)
def assembly_stress(
    target_stress: Any,
    gasket_area: Any,
    bolts: Any,
    bolt_area: Any,
    bolt_least: Any,
    bolt_most: Any,
    seating_stress: Any,
    operating_stress: Any,
    crush_stress: Any,
    pressure: Any,
    inner_diameter: Any,
    remaining: Any = 1.0,
) -> AssemblyStress:
    """Bolt stress at assembly from what the gasket wants, needs and stands.

    S = SgT Ag/(nb Ab), held between the bolt limits; seating SgminS Ag/(nb Ab); operating
    (SgminO Ag + pi/4 P ID^2)/(phi nb Ab); crush Sgmax Ag/(nb Ab).

    Parameters
    ----------
    target_stress : SgT, wanted on the gasket [Pa]
    gasket_area : Ag [m**2]
    bolts : nb, number of bolts
    bolt_area : Ab, root area of one bolt [m**2]
    bolt_least, bolt_most : Sb,min and Sb,max, what the bolt may be given [Pa]
    seating_stress, operating_stress, crush_stress : SgminS, SgminO, Sgmax of the gasket [Pa]
    pressure : P [Pa gauge]
    inner_diameter : ID of the gasket, on which the pressure pushes [m]
    remaining : phi, share of the gasket stress left after relaxation

    Returns
    -------
    AssemblyStress

    Raises
    ------
    InputError
        for a number out of range, or bolt limits the wrong way round.

    Notes
    -----
    Usual ranges: Sb,max 40 to 70 % and Sb,min 20 to 40 % of bolt yield; phi 0.7 where no test
    exists. The flange's own limit is not part of this check.

    References
    ----------
    ASME PCC-1-2013, Appendix O.
    """
    if np.any(np.asarray(bolt_least) > bolt_most):
        raise fail("bolt_least", "more than bolt_most", "the lower of the two bolt limits")
    if np.any(np.asarray(remaining) > 1.0):
        raise fail("remaining", f"{float(np.max(remaining)):g}", "a share of at most 1")
    ag = np.asarray(gasket_area, dtype=float)
    steel = np.asarray(bolts, dtype=float) * bolt_area
    wanted = target_stress * ag / steel
    selected = np.clip(wanted, bolt_least, bolt_most)
    seat = seating_stress * ag / steel
    push = np.pi / 4.0 * np.asarray(pressure, dtype=float) * np.square(inner_diameter)
    operate = (operating_stress * ag + push) / (remaining * steel)
    crush = crush_stress * ag / steel
    # a stress equal to the limit, but for rounding, is at the limit and not beyond it
    tests = (
        (selected < seat * (1 - 1e-12), "the gasket is not seated"),
        (selected < operate * (1 - 1e-12), "too little is left under pressure"),
        (selected > crush * (1 + 1e-12), "the gasket is crushed"),
        (wanted > np.asarray(bolt_most), "the bolts may not give the stress wanted"),
        (wanted < np.asarray(bolt_least), "the bolts are given more than the gasket wants"),
    )
    holds = ~(tests[0][0] | tests[1][0] | tests[2][0])
    faults = tuple(words for bad, words in tests if np.any(bad))
    return AssemblyStress(
        wanted, selected[()], selected * steel / ag, seat, operate, crush, holds, faults
    )


# --------------------------------------------------------------------------- blow-out
@dataclass(frozen=True)
class BlowOut:
    """Can the pressure push an unbacked gasket edge out of the joint.

    Parameters
    ----------
    push : radial push of the pressure on the edge, N/m
    friction_hold : what friction on both faces holds, N/m
    web_hold : what the sheet holds as a hoop, N/m
    safety : hold over push; inf without pressure
    pressure : pressure at which the edge goes, Pa gauge
    """

    push: Any = field("line load")
    friction_hold: Any = field("line load")
    web_hold: Any = field("line load")
    safety: Any = field("number")
    pressure: Any = field("gauge pressure")


@with_units(
    returns="fields",
    pressure="gauge pressure >= 0",
    thickness="length > 0",
    width="length > 0",
    residual_stress="stress >= 0",
    friction="number >= 0",
    tensile_strength="stress >= 0",
    radius="length > 0",
)
def blow_out(
    pressure: Any,
    thickness: Any,
    width: Any,
    residual_stress: Any,
    friction: Any = 0.1,
    tensile_strength: Any = 0.0,
    radius: Any = None,
) -> BlowOut:
    """Friction and web strength of an edge against the push of the pressure.

    It stays while p t < 2 mu sigma_g w + sigma_t w t / r.

    Parameters
    ----------
    pressure : p [Pa gauge]
    thickness : t, compressed [m]
    width : w, from the pressure side to the next edge [m]
    residual_stress : sigma_g, left on the gasket at this pressure [Pa]
    friction : mu on each face; 0.1 is a safe general value
    tensile_strength : sigma_t of the sheet [Pa]; 0 leaves its strength out
    radius : r, mean radius of the ring [m]; wanted with a tensile strength

    Returns
    -------
    BlowOut

    Raises
    ------
    InputError
        for a number out of range, or a tensile strength without a radius.

    Notes
    -----
    The hoop term is written down from memory and wants a web that closes round the bore: a
    slit, a burnt or a cut edge has none. An armour or a solid ring backs the edge and is not part
    of this formula.

    References
    ----------
    Valve Selection Handbook, "Fundamentals", p. 19, eqs 2-3 to 2-5 (friction and
    the safe value of mu); hoop term from memory.
    """
    if np.any(np.asarray(tensile_strength) > 0) and radius is None:
        raise fail("radius", "nothing", KINDS["length"].words + ", the mean radius of the ring")
    t = np.asarray(thickness, dtype=float)
    push = np.asarray(pressure, dtype=float) * t
    friction_hold = 2.0 * np.asarray(friction, dtype=float) * residual_stress * width
    web = np.asarray(tensile_strength, dtype=float) * width * t
    web_hold = web / radius if radius is not None else web * 0.0
    hold = friction_hold + web_hold
    return BlowOut(push[()], friction_hold, web_hold, _over(hold, push), hold / t)


@with_units(returns="length", thickness="length > 0", friction="number > 0", factor="number > 0")
def blow_out_width(thickness: Any, friction: Any = 0.1, factor: Any = 1.0) -> Any:
    """Least width of a sheet that leaks before it blows out: w = t / (2 mu m).

    Parameters
    ----------
    thickness : t [m]
    friction : mu on each face
    factor : m, contact stress over pressure at which it starts to leak

    Returns
    -------
    w [m]; 5 t with mu = 0.1 and m = 1

    Raises
    ------
    InputError
        for a number not above zero.

    References
    ----------
    Valve Selection Handbook, "Fundamentals", p. 19, eqs 2-3 to 2-5.
    """
    return np.asarray(thickness, dtype=float) / (2.0 * np.asarray(friction, dtype=float) * factor)
