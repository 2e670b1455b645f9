"""When a gasket seals: seating and residual stress, blow-out.

Two questions stand behind all of it. Was the gasket once pressed hard enough to fill the faces
(seating)? Is enough contact stress left when the pressure pushes (residual)? The factors m and y
of vessel practice answer both; they were made for flanges, not for engines, and are not targets
for assembly. All pressures here are above the air outside.

References
----------
[1] ASME BPVC VIII-1, Appendix 2, 2-5(c), Tables 2-5.1 and 2-5.2.
[2] Valve Selection Handbook, "Fundamentals", p. 19, eqs 2-3 to 2-5.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail
from sealkit.units import KINDS, field, with_units

FACINGS = {"flat": 2.0, "ring joint": 8.0}


# --------------------------------------------------------------------------- factors
@dataclass(frozen=True)
class Facing:
    """m and y of a gasket, or of what touches the deck at its liquid holes."""

    name: str  # in its table
    factor: Any = field("number")  # m, residual contact stress over pressure
    seating: Any = field("stress")  # y, contact stress that seats it [Pa]
    source: str = ""
    status: str = ""
    note: str = ""


@with_units(returns="fields")
def gasket_factors(gasket: str) -> Facing:
    """Gasket factor m and seating stress y of a kind of gasket ([1], Table 2-5.1).

    Where two texts disagree the larger number is given and the note says so.

    Numbers for vessel design. Working assembly stress is set higher. Raises InputError if the table
    has no such gasket; the nearest name is suggested.

    Parameters
    ----------
    gasket : a name of the table factors_m_y, such as "solid flat metal, copper"
    """
    row = tables.load("factors_m_y").get(gasket, "gasket")
    m = [row[k] for k in ("factor_a", "factor_b") if row[k] is not None]
    y = [row[k] for k in ("seating_a", "seating_b") if row[k] is not None]
    return Facing(row["gasket"], max(m), max(y), row["source"], row["status"], row["note"])


# --------------------------------------------------------------------------- widths, line loads
@with_units(returns="length")
def basic_width(contact_width: si.Length, facing: str = "flat") -> Any:
    """Basic gasket seating width b0 [m]: N/2 of a flat ring, w/8 of a ring joint [1].

    Raises InputError for another facing, or a width not above zero.

    Parameters
    ----------
    contact_width : N of full contact, or width w of the ring [m]
    facing : "flat" or "ring joint" ([1], Table 2-5.2, sketches 1a and 6)

    >>> print(basic_width("8 mm").to("mm").magnitude)
    4.0
    """
    if facing not in FACINGS:
        raise fail("facing", facing, " or ".join(f'"{f}"' for f in FACINGS))
    return contact_width / FACINGS[facing]


@with_units(returns="length")
def effective_width(basic_width: si.Length) -> Any:
    """Effective gasket seating width b [m] ([1], Table 2-5.2).

    b = b0 up to b0 = 1/4 in, b = 0.5 sqrt(b0) in inches above (2.52 sqrt(b0) in millimetres).

    The metric text changes over at 6 mm; at 1/4 in (6.35 mm), used here, both forms agree.

    Parameters
    ----------
    basic_width : b0 [m]
    """
    b0 = np.asarray(basic_width, dtype=float) / 0.0254
    return (0.0254 * np.where(b0 <= 0.25, b0, 0.5 * np.sqrt(b0)))[()]


@with_units(returns="line load")
def residual_line_load(
    pressure: si.GaugePressure0, factor: si.Number0, effective_width: si.Length
) -> Any:
    """Line load that must stay on the seal while the pressure pushes, q = 2 b m p [1].

    Parameters
    ----------
    pressure : p [Pa gauge]
    factor : m
    effective_width : b, half of a narrow flat contact [m]

    >>> print(round(residual_line_load("10 MPa", 4.75, "1.5 mm").to("N/mm").magnitude, 1))
    142.5
    """
    return 2.0 * np.asarray(effective_width, dtype=float) * factor * pressure


@with_units(returns="line load")
def seating_line_load(seating_stress: si.Stress0, effective_width: si.Length) -> Any:
    """Line load that seats the gasket, q = b y [1].

    Parameters
    ----------
    seating_stress : y [Pa]
    effective_width : b [m]
    """
    return np.asarray(seating_stress, dtype=float) * effective_width


# --------------------------------------------------------------------------- blow-out
@dataclass(frozen=True)
class BlowOut:
    """Can the pressure push an unbacked gasket edge out of the joint."""

    push: Any = field("line load")  # radial push of the pressure on the edge [N/m]
    friction_hold: Any = field("line load")  # what friction on both faces holds [N/m]
    web_hold: Any = field("line load")  # what the sheet holds as a hoop [N/m]
    pressure: Any = field("gauge pressure")  # pressure at which the edge goes [Pa gauge]


@with_units(returns="fields")
def blow_out(
    pressure: si.GaugePressure0,
    thickness: si.Length,
    width: si.Length,
    residual_stress: si.Stress0,
    friction: si.Number0 = 0.1,
    tensile_strength: si.Stress0 = 0.0,
    radius: si.Length = None,
) -> BlowOut:
    """Friction and web strength of an edge against the push of the pressure.

    It stays while p t < 2 mu sigma_g w + sigma_t w t / r.

    Friction after [2]. The hoop term is written down from memory and wants a web that closes round
    the bore: a slit, a burnt or a cut edge has none. An armour or a solid ring backs the edge and
    is not part of this formula. Raises InputError for a number out of range, or a tensile strength
    without a radius.

    Parameters
    ----------
    pressure : p [Pa gauge]
    thickness : t, compressed [m]
    width : w, from the pressure side to the next edge [m]
    residual_stress : sigma_g, left on the gasket at this pressure [Pa]
    friction : mu on each face; 0.1 is a safe general value [2]
    tensile_strength : sigma_t of the sheet [Pa]; 0 leaves its strength out
    radius : r, mean radius of the ring [m]; wanted with a tensile strength
    """
    if np.any(np.asarray(tensile_strength) > 0) and radius is None:
        raise fail("radius", "nothing", KINDS["length"].words + ", the mean radius of the ring")
    t = np.asarray(thickness, dtype=float)
    push = np.asarray(pressure, dtype=float) * t
    friction_hold = 2.0 * np.asarray(friction, dtype=float) * residual_stress * width
    web = np.asarray(tensile_strength, dtype=float) * width * t
    web_hold = web / radius if radius is not None else web * 0.0
    hold = friction_hold + web_hold
    return BlowOut(push[()], friction_hold, web_hold, hold / t)
