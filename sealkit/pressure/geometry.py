"""Slider-crank geometry, and the compression ratio from volumes or from parts.

No pin offset. Crank angles count from firing top dead centre.

References
----------
[1] J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import Fault, InputError, fail
from sealkit.units import with_units
from sealkit.words import figure, note


def _throw_to_rod(stroke: Any, rod: Any) -> Any:
    """Crank radius over rod length."""
    throw = 0.5 * np.asarray(stroke, dtype=float)
    length = np.asarray(rod, dtype=float)
    short = length <= throw
    if np.any(short):
        low, radius = (x[short].flat[0] for x in np.broadcast_arrays(length, throw))
        half = (float(radius), "length")
        wanted = note("a rod longer than the crank radius of {half} (half the stroke)", half=half)
        raise InputError(Fault("rod", figure(low, "length"), wanted))
    return (throw / length)[()]


def _area(bore: Any) -> Any:
    return 0.25 * np.pi * np.square(bore)


@with_units(returns="length")
def piston_position(crank_angle: si.AnyAngle, stroke: si.Length, rod: si.Length) -> Any:
    """Way of the piston down from top dead centre [1].

    x = a (1 - cos(theta)) + L - sqrt(L^2 - a^2 sin^2(theta)), a = stroke/2. Returns x [m], 0 to
    stroke. Raises InputError for a rod not longer than half the stroke.

    Parameters
    ----------
    crank_angle : theta [rad]
    stroke : [m]
    rod : L between centres [m]; as a plain number also inf

    >>> piston_position("90 deg", "86 mm", "143 mm").to("mm").round(2)
    <Quantity(49.62, 'millimeter')>
    """
    e = _throw_to_rod(stroke, rod)
    sin = np.sin(crank_angle)
    lean = e * sin**2 / (1.0 + np.sqrt(1.0 - np.square(e * sin)))
    return 0.5 * stroke * (1.0 - np.cos(crank_angle) + lean)


@with_units(returns="speed")
def mean_piston_speed(stroke: si.Length, crank_speed: si.CrankSpeed0) -> Any:
    """Mean piston speed, Sp = 2 S n [1].

    Parameters
    ----------
    stroke : S [m]
    crank_speed : n [rev/s]

    >>> mean_piston_speed("86 mm", "3000 rpm").to("m/s").round(2)
    <Quantity(8.6, 'meter / second')>
    """
    return 2.0 * stroke * crank_speed


@with_units(returns="volume")
def swept_volume(bore: si.Length, stroke: si.Length, cylinders: si.Number = 1) -> Any:
    """Swept volume of one cylinder, or of all of them, Vd = (pi/4) B^2 S times their number.

    Parameters
    ----------
    bore, stroke : B, S [m]
    cylinders : their number [-]

    >>> swept_volume("86 mm", "86 mm", 4).to("l").round(3)
    <Quantity(1.998, 'liter')>
    """
    return _area(bore) * stroke * cylinders


@with_units(returns="volume")
def clearance_volume(bore: si.Length, stroke: si.Length, compression_ratio: si.Above1) -> Any:
    """Volume left above the piston at top dead centre, Vc = Vd/(CR - 1), of one cylinder.

    Parameters
    ----------
    bore, stroke : [m]
    compression_ratio : CR [-]
    """
    return swept_volume.si(bore, stroke) / (compression_ratio - 1.0)


@with_units(returns="volume")
def cylinder_volume(
    crank_angle: si.AnyAngle,
    bore: si.Length,
    stroke: si.Length,
    rod: si.Length,
    compression_ratio: si.Above1,
) -> Any:
    """Volume of the cylinder at a crank angle, V = Vc + (pi/4) B^2 x(theta) [1].

    Raises InputError for a rod not longer than half the stroke.

    Parameters
    ----------
    crank_angle : theta [rad]
    bore, stroke, rod : as in `piston_position` [m]
    compression_ratio : [-]
    """
    head = clearance_volume.si(bore, stroke, compression_ratio)
    return head + _area(bore) * piston_position.si(crank_angle, stroke, rod)


@with_units(returns="area")
def chamber_area(
    crank_angle: si.AnyAngle, bore: si.Length, stroke: si.Length, rod: si.Length
) -> Any:
    """Wall that the gas touches: two flat crowns and the uncovered cylinder wall.

    A = 2 (pi/4) B^2 + pi B x(theta).

    From [1], with chamber and crown area put at the bore area; a real chamber has more wall. Raises
    InputError for a rod not longer than half the stroke.

    Parameters
    ----------
    crank_angle : theta [rad]
    bore, stroke, rod : as in `piston_position` [m]
    """
    return 2.0 * _area(bore) + np.pi * bore * piston_position.si(crank_angle, stroke, rod)


@with_units(returns="number")
def compression_ratio_from_volumes(swept: si.Volume, clearance: si.Volume) -> Any:
    """Compression ratio from the volumes of one cylinder, CR = (Vd + Vc)/Vc.

    Parameters
    ----------
    swept, clearance : Vd, Vc [m^3]
    """
    return (swept + clearance) / clearance


@with_units(returns="volume")
def clearance_volume_from_parts(
    bore: si.Length,
    chamber_volume: si.Volume0,
    gasket_bore: si.Length,
    gasket_thickness: si.Length0,
    deck_clearance: si.AnyLength = 0.0,
    piston_volume: si.AnyVolume = 0.0,
) -> Any:
    """Clearance volume added up from the parts.

    Vc = chamber + (pi/4) Bg^2 t + (pi/4) B^2 deck clearance + piston volume.

    The crevice above the top ring is left out. Raises InputError if the parts leave no volume.

    Parameters
    ----------
    bore : B [m]
    chamber_volume : chamber in the head [m^3]
    gasket_bore : Bg, bore of the gasket [m]
    gasket_thickness : t, compressed [m]
    deck_clearance : piston rim below the deck at top dead centre [m]; negative when it stands
        above the deck
    piston_volume : volume of a dish with valve pockets [m^3]; negative for a dome
    """
    volume = (
        chamber_volume
        + _area(gasket_bore) * gasket_thickness
        + _area(bore) * deck_clearance
        + piston_volume
    )
    low = float(np.min(volume))
    if low <= 0.0:
        raise fail(
            "chamber_volume, deck_clearance, piston_volume",
            f"parts that leave {1e6 * low:.4g} cm**3 above the piston",
            "parts that leave a clearance volume above 0",
        )
    return volume
