"""How metals flow under a seal: flow curves, hardness, and the bite of a wire or ridge.

A seal of metal works by flow: copper fills what it is pressed against, a ridge bites, and the
softer of two faces gives way. Flow curves give the stress at a strain, hardness the pressure that
an indenter carries; Tabor's rule joins the two. Elastic recovery is small and comes from the
compression of the metal below the contact. Every function refuses numbers out of the range its
decorator states.

References
----------
[1] W. D. Callister, Fundamentals of Materials Science and Engineering, 2nd ed., p. 199.
[2] D. Tabor, The Hardness of Metals, Oxford, 1951 (constants from memory).
[3] ISO 6506 definition of HBW, as given in open hardness notes.
[4] K. L. Johnson, Contact Mechanics, eq. 5.58 (from memory).
[5] S. Timoshenko, Strength of Materials, part I: deflection by bending and shear (from memory).
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.arrays import Array
from sealkit.errors import Fault, InputError, fail
from sealkit.units import with_units
from sealkit.words import figure, note

KGF_PER_MM2 = 9.80665e6
"""Hardness number 1 as a pressure, Pa."""

PLANE_STRAIN = (2.0 + np.pi) / np.sqrt(3.0)
"""Indentation pressure over yield stress: slip lines under a flat punch, von Mises."""

REPRESENTATIVE_STRAIN = 0.08
"""Strain that a Vickers hardness stands for [2]."""

_CONSTRAINT = 3.0  # Vickers pressure over flow stress, 2.8 to 3.0 [2]
_BALL = 0.010
_SCALES = {"HB 10/500": 500.0, "HB 10/3000": 3000.0}


# --------------------------------------------------------------------------- flow and hardness
@with_units(returns="stress", exponent="number 0..1")
def flow_stress(
    strain: si.Number0, strength: si.Stress, exponent: Any, prestrain: si.Number0 = 0.0
) -> Any:
    """Flow stress by Hollomon's law, sigma = K (eps0 + eps)**n [Pa] [1].

    Parameters
    ----------
    strain : true strain eps
    strength : K [Pa]
    exponent : n
    prestrain : eps0, true strain from cold work before

    >>> round(flow_stress(0.10, "530 MPa", 0.44).to("MPa").magnitude)
    192
    """
    return strength * (np.asarray(prestrain, dtype=float) + strain) ** exponent


@with_units(returns="number", exponent="number 0.01..1")
def prestrain_of_hardness(hardness: si.Number, strength: si.Stress, exponent: Any) -> Any:
    """Cold work that brings a Hollomon metal to a Vickers hardness [2].

    eps0 = (HV 9.80665 MPa / (3 K))**(1/n) - 0.08, not below zero.

    Parameters
    ----------
    hardness : HV
    strength, exponent : K [Pa], n
    """
    stress = np.asarray(hardness, dtype=float) * KGF_PER_MM2 / _CONSTRAINT
    return np.maximum((stress / strength) ** (1.0 / exponent) - REPRESENTATIVE_STRAIN, 0.0)


@with_units(returns="length")
def brinell_dent(hardness: si.Number, load: si.Force, ball: si.Length) -> Any:
    """Diameter of the dent of a Brinell test, d = 2 sqrt(h (D - h)), h = F / (pi D HB) [m] [3].

    Raises InputError also for a metal so soft that the ball sinks in.

    Parameters
    ----------
    hardness : HB
    load : F [N]
    ball : diameter D [m]
    """
    depth = load / (np.pi * ball * np.asarray(hardness, dtype=float) * KGF_PER_MM2)
    if np.any(depth >= ball / 2.0):
        raise fail("hardness", f"{np.min(hardness):g}", "a hardness that stops the ball half-way")
    return 2.0 * np.sqrt(depth * (ball - depth))


@with_units(returns="stress")
def meyer(load: si.Force, dent: si.Length) -> Any:
    """Meyer hardness: mean pressure on the projected dent, 4 F / (pi d**2) [Pa] [2].

    Parameters
    ----------
    load : F [N]
    dent : diameter d [m]
    """
    return 4.0 * load / (np.pi * np.asarray(dent, dtype=float) ** 2)


@with_units(returns="stress")
@functools.cache
def indentation_pressure(material: str) -> float:
    """Mean pressure H that an indenter carries on a material of the flow table [Pa] [2].

    From the Brinell number by the dent of its test (Meyer), or from HV x 9.80665 MPa. Raises
    InputError for an unknown material, or one without a hardness.

    Parameters
    ----------
    material : row of the flow table, such as "A356-T6" or "grey iron"
    """
    row = tables.load("flow").get(material, "material")
    if row["hardness"] is None:
        raise fail("material", material, "a material with a hardness in the flow table")
    scale = row["hardness_scale"]
    if scale == "HV":
        return float(row["hardness"] * KGF_PER_MM2)
    load = _SCALES[scale] * 9.80665
    return float(meyer.si(load, brinell_dent.si(row["hardness"], load, _BALL)))


@dataclass(frozen=True)
class Copper:
    """A temper of copper as the flow table has it: flow curve, cold work, hardness, strength."""

    strength: float
    exponent: float
    prestrain: float
    hardness: float
    tensile: float

    @classmethod
    def of(cls, temper: str) -> Copper:
        """The row of this temper, such as "copper, annealed"."""
        row = tables.load("flow").get(temper, "temper")
        if row["strength"] is None or row["hardness_scale"] != "HV":
            raise fail("temper", temper, "a copper with flow curve and hardness in the flow table")
        k, n = float(row["strength"]), float(row["exponent"])
        cold = float(prestrain_of_hardness.si(row["hardness"], k, n))
        return cls(k, n, cold, indentation_pressure.si(temper), float(row["tensile"]))


# --------------------------------------------------------------------------- a wire or ridge
@with_units(returns="length")
def contact_half_width(depth: si.Length0, radius: si.Length) -> Any:
    """Half-width of a round wire or ridge pressed in, a = sqrt(2 R d - d**2) [m].

    Parameters
    ----------
    depth, radius : d, at most R; R [m]
    """
    d = np.asarray(depth, dtype=float)
    if np.any(d > np.asarray(radius) * (1.0 + 1e-12)):
        raise fail("depth", f"{np.max(d):g} m", f"at most the radius, {np.min(radius):g} m")
    return np.sqrt(np.maximum(2.0 * radius * d - d**2, 0.0))


@with_units(returns="area")
def displaced_area(depth: si.Length0, radius: si.Length) -> Any:
    """Cross-section pushed out by a round wire [m**2].

    R**2 acos(1 - d/R) - (R - d) sqrt(2 R d - d**2): plastic flow keeps the volume.

    Parameters
    ----------
    depth, radius : d, at most R; R [m]
    """
    a = contact_half_width.si(depth, radius)
    d = np.minimum(np.asarray(depth, dtype=float), radius)
    return radius**2 * np.arccos(1.0 - d / radius) - (radius - d) * a


@with_units(returns="line load", exponent="number 0..1")
def wire_line_load(
    depth: si.Length0,
    radius: si.Length,
    strength: si.Stress,
    exponent: Any,
    prestrain: si.Number0 = 0.0,
) -> Any:
    """Line load that presses a round wire into thick Hollomon metal [N/m].

    q = 2 a C K (eps0 + 0.2 a/R)**n with the slip-line constraint C = (2 + pi)/sqrt(3) and Tabor's
    strain 0.2 d/D [2].

    Plane strain, no elastic part; metal many times as thick as the contact is wide. A sheet between
    faces takes half to three quarters of it: `sheet_line_load`.

    Parameters
    ----------
    depth, radius : d, at most R; R of the wire [m]
    strength, exponent : K [Pa], n
    prestrain : eps0 from cold work before
    """
    a = contact_half_width.si(depth, radius)
    return 2.0 * a * PLANE_STRAIN * flow_stress.si(0.2 * a / radius, strength, exponent, prestrain)


@dataclass(frozen=True)
class Sheet:
    """The table of a wire pressed into a sheet, over cold work, thickness, gap below and depth."""

    # eps0; thickness, half the width of the gap, and depth, all three over the wire's radius
    axes: tuple[Array, ...]
    # line load over that of `wire_line_load`, and how far the sheet bulges into the gap, over the
    # depth
    values: Array

    @functools.cached_property
    def _corners(self) -> Any:
        """How far the corners of a cell lie behind its first one."""
        shape = self.values.shape[1:]
        return np.ravel_multi_index(np.indices([2] * len(shape)), shape).ravel()

    def at(self, *groups: Any) -> Array:
        """Both values between the nodes, by straight lines; beyond the ends those at the ends.

        `refuse` keeps thickness and gap within them; `sheet_line_load` tells of the other two.
        """
        first, shares = np.zeros((), dtype=int), []
        for group, axis in zip(groups, self.axes, strict=True):
            place = np.interp(group, axis, np.arange(float(len(axis))))
            below = np.minimum(place.astype(int), len(axis) - 2)
            first = len(axis) * first + below
            shares.append((place - below)[..., None])
        cells = first[..., None] + self._corners
        found: Array = self.values.reshape(len(self.values), -1).take(cells, axis=1)
        for share in shares:
            half = found.shape[-1] // 2
            found = (1.0 - share) * found[..., :half] + share * found[..., half:]
        return found[..., 0]

    def refuse(self, radius: Any, thickness: Any, half: Any) -> None:
        """Refuse a sheet too thin or thick, or a gap too wide, for a wire of this radius [m]."""
        least, most = self.axes[1][[0, -1]]
        widest = self.axes[2][-1]
        for name, size, low, high in (
            ("sheet_thickness", thickness, least, most),
            ("receiver_width", 2.0 * np.asarray(half), 0.0, 2.0 * widest),
        ):
            ratio = np.asarray(size) / radius
            out = (ratio < low * (1.0 - 1e-9)) | (ratio > high * (1.0 + 1e-9))
            if np.any(out):
                came, wire = (np.broadcast_to(x, out.shape)[out][0] for x in (size, radius))
                sizes = {"low": low * wire, "high": high * wire, "wire": 2.0 * wire}
                told = {k: (float(x), "length") for k, x in sizes.items()}
                wanted = note("{low} to {high} for a wire of {wire}", **told)
                raise InputError(Fault(name, figure(came, "length"), wanted))


@functools.cache
def sheet_table() -> Sheet:
    """The table of a wire pressed into a sheet."""
    rows = tables.load("wire_in_sheet").rows
    depths = [head.split()[1] for head in rows[0] if head.startswith("share ")]
    groups = (np.array(sorted({row[g] for row in rows})) for g in ("prestrain", "thickness", "gap"))
    axes = (*groups, np.array(depths, dtype=float))
    shape = [len(axis) for axis in axes]
    share, bulge = (
        np.array([[row[f"{what} {d}"] for d in depths] for row in rows]).reshape(shape)
        for what in ("share", "bulge")
    )
    return Sheet(axes, np.stack([share, bulge]))


@with_units(returns="line load", exponent="number 0..1")
def sheet_line_load(
    depth: si.Length0,
    radius: si.Length,
    strength: si.Stress,
    exponent: Any,
    prestrain: si.Number0,
    sheet_thickness: si.Length,
    receiver_width: si.Length0 = 0.0,
    receiver_depth: si.Length0 = 0.0,
) -> Any:
    """Line load that presses a round wire into a sheet, over a receiver or none [N/m].

    q = s q_thick, with q_thick of `wire_line_load` and s from a table. Over a receiver that the
    sheet does not fill, s is that of a sheet without backing there; once its bulge b would be
    deeper than the receiver, the load goes over to that of a flat face by 1 - depth/b.

    Table: plane-strain finite elements of copper, no friction, the mean of a sheet held sideways
    and one free to spread, which stand 8 to 20 per cent from it; a rough flat face adds 15. Against
    the same with a floor in the receiver the last rule is up to 8 per cent low. Deeper than 0.42 R
    and more cold-worked than half hard the share is held: elements to 0.8 R, and of hard copper,
    stand up to 12 per cent from it. It is held below 0.05 R too, which nothing has checked. Raises
    InputError also for a sheet or a receiver beyond the table.

    Parameters
    ----------
    depth, radius : d of the furrow, at most R; R of the wire [m]
    strength, exponent, prestrain : K [Pa], n, eps0 from cold work before
    sheet_thickness : t [m], 1.2 R to 4.5 R
    receiver_width, receiver_depth : of the groove opposite; 0 for none [m]; width up to 4.2 R
    """
    d = np.asarray(depth, dtype=float)
    thick = wire_line_load.si(d, radius, strength, exponent, prestrain)
    half = np.where(np.asarray(receiver_depth) > 0.0, receiver_width, 0.0) / 2.0
    table = sheet_table()
    table.refuse(radius, sheet_thickness, half)
    sheet = (prestrain, np.asarray(sheet_thickness) / radius)
    flat, _ = table.at(*sheet, 0.0, d / radius)
    opened, bulge = table.at(*sheet, half / radius, d / radius)
    backed = 1.0 - np.minimum(receiver_depth / np.maximum(d * bulge, 1e-12), 1.0)
    return thick * (opened + np.where(half > 0.0, backed, 1.0) * (flat - opened))


@with_units(returns="length")
def bite(line_load: si.LineLoad0, hardness: si.Stress, radius: si.Length) -> Any:
    """Depth to which a round wire or ridge bites into a face of constant hardness [m] [2].

    d = R - sqrt(R**2 - a**2) with a = q / (2 H); R once the full width is in.

    Parameters
    ----------
    line_load : q of one wire or ridge [N/m]
    hardness : H, mean indentation pressure [Pa]
    radius : R [m]

    >>> round(bite("200 N/mm", "800 MPa", "0.0205 in").to("um").magnitude)
    15
    """
    a = np.minimum(np.asarray(line_load, dtype=float) / (2.0 * np.asarray(hardness)), radius)
    return radius - np.sqrt(radius**2 - a**2)


@with_units(returns="length", poisson="number 0..0.49")
def elastic_approach(
    line_load: si.LineLoad0,
    half_width: si.Length,
    depth: si.Length,
    modulus: si.Modulus,
    poisson: Any,
) -> Any:
    """Elastic compression of a face under a narrow line contact [m] [4].

    w = q (1 - nu**2) / (pi E) (2 ln(2 t/a) - nu/(1 - nu)), between the surface and the depth t.

    Parameters
    ----------
    line_load : q [N/m]
    half_width : a of the contact [m]
    depth : t, well above a; held at least at 2 a [m]
    modulus, poisson : E [Pa], nu
    """
    deep = np.maximum(np.asarray(depth, dtype=float) / half_width, 2.0)
    shape = 2.0 * np.log(2.0 * deep) - poisson / (1.0 - poisson)
    return line_load * (1.0 - poisson**2) / (np.pi * modulus) * shape


@with_units(returns="length", poisson="number 0..0.49")
def bridge_approach(
    line_load: si.LineLoad0,
    width: si.Length0,
    thickness: si.Length,
    modulus: si.Modulus,
    poisson: Any,
) -> Any:
    """Elastic give of a sheet over a receiver, a short beam held at both ends [m] [5].

    w = q (L**3/(192 E' I) + L/(4 (5/6) G t)), E' = E/(1 - nu**2), I = t**3/12; middle load.

    Parameters
    ----------
    line_load : q [N/m]
    width, thickness : L of the receiver, t of the sheet [m]
    modulus, poisson : E [Pa], nu
    """
    slender = np.asarray(width, dtype=float) / thickness
    bending = slender**3 * (1.0 - poisson**2) / (16.0 * modulus)
    shear = slender * 0.3 * 2.0 * (1.0 + poisson) / modulus
    return line_load * (bending + shear)


@with_units(returns="modulus", poisson="number 0..0.49")
def confined_modulus(modulus: si.Modulus, poisson: Any) -> Any:
    """Modulus of a sheet that cannot spread sideways, E (1-nu) / ((1+nu) (1-2 nu)) [Pa].

    Hooke's law with both sideways strains zero.

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    """
    nu = np.asarray(poisson, dtype=float)
    return modulus * (1.0 - nu) / ((1.0 + nu) * (1.0 - 2.0 * nu))
