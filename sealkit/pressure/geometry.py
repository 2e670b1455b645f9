"""Slider-crank geometry, and the compression ratio from volumes or from parts."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.errors import InputError, fail
from sealkit.units import check_range, with_units

__all__ = [
    "chamber_area",
    "clearance_volume",
    "clearance_volume_from_parts",
    "compression_ratio_from_parts",
    "compression_ratio_from_volumes",
    "cylinder_volume",
    "mean_piston_speed",
    "piston_position",
    "piston_speed",
    "swept_volume",
    "volume_derivative",
]

_RATIO = "number > 1"


def _throw_to_rod(stroke: Any, rod: Any) -> Any:
    """Crank radius over rod length; 0 for the infinitely long rod (None or inf)."""
    if rod is None:
        return 0.0
    throw = 0.5 * np.asarray(stroke, dtype=float)
    length = np.asarray(rod, dtype=float)
    short = length <= throw
    if np.any(short):
        low, radius = (x[short].flat[0] for x in np.broadcast_arrays(length, throw))
        raise fail(
            "rod",
            f"{1000 * low:.6g} mm",
            f"a rod longer than the crank radius of {1000 * radius:.6g} mm (half the stroke)",
        )
    return (throw / length)[()]


def _ratio(compression_ratio: Any) -> Any:
    """The compression ratio, checked: it has no default, though it stands behind the rod."""
    if compression_ratio is None:
        raise fail("compression_ratio", "nothing", "a plain number that is above 1")
    fault = check_range(compression_ratio, _RATIO, "compression_ratio")
    if fault is not None:
        raise InputError(fault)
    return compression_ratio


def _area(bore: Any) -> Any:
    return 0.25 * np.pi * np.square(bore)


@with_units(returns="length", crank_angle="angle", stroke="length > 0", rod="length > 0")
def piston_position(crank_angle: Any, stroke: Any, rod: Any = None) -> Any:
    """Way of the piston down from top dead centre.

    x = a (1 - cos(theta)) + L - sqrt(L^2 - a^2 sin^2(theta)), a = stroke/2.

    Parameters
    ----------
    crank_angle : [rad], 0 at top dead centre
    stroke : [m]
    rod : length of the connecting rod between centres [m]; None (or, as a plain number, inf)
        for the infinitely long rod

    Returns
    -------
    distance from top dead centre [m], 0..stroke

    Raises
    ------
    InputError
        for a stroke that is not above 0, or a rod not longer than half the stroke.

    Notes
    -----
    No pin offset. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2.
    """
    e = _throw_to_rod(stroke, rod)
    sin = np.sin(crank_angle)
    lean = e * sin**2 / (1.0 + np.sqrt(1.0 - np.square(e * sin)))
    return 0.5 * stroke * (1.0 - np.cos(crank_angle) + lean)


def _slope(crank_angle: Any, stroke: Any, rod: Any) -> Any:
    """Derivative of the piston position over crank angle [m/rad]."""
    e = _throw_to_rod(stroke, rod)
    sin = np.sin(crank_angle)
    return 0.5 * stroke * sin * (1.0 + e * np.cos(crank_angle) / np.sqrt(1.0 - np.square(e * sin)))


@with_units(
    returns="speed",
    crank_angle="angle",
    stroke="length > 0",
    crank_speed="crank speed > 0",
    rod="length > 0",
)
def piston_speed(crank_angle: Any, stroke: Any, crank_speed: Any, rod: Any = None) -> Any:
    """Momentary piston speed, positive downwards.

    v = 2 pi n (S/2) sin(theta) (1 + cos(theta)/sqrt(lambda^2 - sin^2(theta))), lambda = 2 L/S.

    Parameters
    ----------
    crank_angle : [rad], 0 at top dead centre
    stroke : [m]
    crank_speed : [rev/s]
    rod : [m]; None for the infinitely long rod

    Returns
    -------
    piston speed [m/s]

    Raises
    ------
    InputError
        for a stroke or crank speed that is not above 0, or a rod not longer than half the stroke.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2.
    """
    return 2.0 * np.pi * crank_speed * _slope(crank_angle, stroke, rod)


@with_units(returns="speed", stroke="length > 0", crank_speed="crank speed >= 0")
def mean_piston_speed(stroke: Any, crank_speed: Any) -> Any:
    """Mean piston speed.

    Sp = 2 S n.

    Parameters
    ----------
    stroke : [m]
    crank_speed : [rev/s]

    Returns
    -------
    mean piston speed [m/s]

    Raises
    ------
    InputError
        for a stroke that is not above 0 or a negative crank speed.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2.
    """
    return 2.0 * stroke * crank_speed


@with_units(returns="volume", bore="length > 0", stroke="length > 0", cylinders="number > 0")
def swept_volume(bore: Any, stroke: Any, cylinders: Any = 1) -> Any:
    """Swept volume of one cylinder, or of all of them.

    Vd = (pi/4) B^2 S times the number of cylinders.

    Parameters
    ----------
    bore, stroke : [m]
    cylinders : number of cylinders [-]

    Returns
    -------
    swept volume [m^3]

    Raises
    ------
    InputError
        for a bore, stroke or number that is not above 0.

    Notes
    -----
    Cylinder of bore B and height S; definition.
    """
    return _area(bore) * stroke * cylinders


@with_units(
    returns="volume", bore="length > 0", stroke="length > 0", compression_ratio="number > 1"
)
def clearance_volume(bore: Any, stroke: Any, compression_ratio: Any) -> Any:
    """Volume left above the piston at top dead centre.

    Vc = Vd/(CR - 1).

    Parameters
    ----------
    bore, stroke : [m]
    compression_ratio : [-], above 1

    Returns
    -------
    clearance volume of one cylinder [m^3]

    Raises
    ------
    InputError
        for a bore or stroke that is not above 0, or a compression ratio not above 1.

    Notes
    -----
    Definition of the compression ratio; see `compression_ratio_from_volumes`.
    """
    return swept_volume.si(bore, stroke) / (compression_ratio - 1.0)


@with_units(
    returns="volume",
    crank_angle="angle",
    bore="length > 0",
    stroke="length > 0",
    rod="length > 0",
    compression_ratio=_RATIO,
)
def cylinder_volume(
    crank_angle: Any, bore: Any, stroke: Any, rod: Any = None, compression_ratio: Any = None
) -> Any:
    """Volume of the cylinder at a crank angle.

    V = Vc + (pi/4) B^2 x(theta), Vc = Vd/(CR - 1).

    Parameters
    ----------
    crank_angle : [rad], 0 at top dead centre
    bore, stroke : [m]
    rod : [m]; None (or, as a plain number, inf) for the infinitely long rod
    compression_ratio : [-], above 1; must be given

    Returns
    -------
    volume [m^3]

    Raises
    ------
    InputError
        for a length that is not above 0, a rod not longer than half the stroke, or a compression
        ratio not above 1.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2.
    """
    head = clearance_volume.si(bore, stroke, _ratio(compression_ratio))
    return head + _area(bore) * piston_position.si(crank_angle, stroke, rod)


@with_units(
    returns="volume",
    crank_angle="angle",
    bore="length > 0",
    stroke="length > 0",
    rod="length > 0",
)
def volume_derivative(crank_angle: Any, bore: Any, stroke: Any, rod: Any = None) -> Any:
    """Slope of the cylinder volume over crank angle.

    dV/dtheta = (Vd/2) sin(theta) (1 + cos(theta)/sqrt(lambda^2 - sin^2(theta))), lambda = 2 L/S.

    Parameters
    ----------
    crank_angle : [rad], 0 at top dead centre
    bore, stroke : [m]
    rod : [m]; None for the infinitely long rod

    Returns
    -------
    volume per radian [m^3]

    Raises
    ------
    InputError
        for a length that is not above 0, or a rod not longer than half the stroke.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.2.
    """
    return _area(bore) * _slope(crank_angle, stroke, rod)


@with_units(
    returns="area",
    crank_angle="angle",
    bore="length > 0",
    stroke="length > 0",
    rod="length > 0",
)
def chamber_area(crank_angle: Any, bore: Any, stroke: Any, rod: Any = None) -> Any:
    """Wall that the gas touches: two flat crowns and the uncovered cylinder wall.

    A = 2 (pi/4) B^2 + pi B x(theta).

    Parameters
    ----------
    crank_angle : [rad], 0 at top dead centre
    bore, stroke : [m]
    rod : [m]; None for the infinitely long rod

    Returns
    -------
    area [m^2]

    Raises
    ------
    InputError
        for a length that is not above 0, or a rod not longer than half the stroke.

    Notes
    -----
    Head and piston count as flat discs; a real chamber has more wall. J. B. Heywood, Internal
    Combustion Engine Fundamentals, 1988, section 2.2, with chamber and crown area put at the
    bore area.
    """
    return 2.0 * _area(bore) + np.pi * bore * piston_position.si(crank_angle, stroke, rod)


@with_units(returns="number", swept="volume > 0", clearance="volume > 0")
def compression_ratio_from_volumes(swept: Any, clearance: Any) -> Any:
    """Compression ratio from swept and clearance volume of one cylinder.

    CR = (Vd + Vc)/Vc.

    Parameters
    ----------
    swept, clearance : [m^3]

    Returns
    -------
    compression ratio [-]

    Raises
    ------
    InputError
        for a volume that is not above 0.

    Notes
    -----
    Definition.
    """
    return (swept + clearance) / clearance


@with_units(
    returns="volume",
    bore="length > 0",
    chamber_volume="volume >= 0",
    gasket_bore="length > 0",
    gasket_thickness="length >= 0",
    deck_clearance="length",
    piston_volume="volume",
)
def clearance_volume_from_parts(
    bore: Any,
    chamber_volume: Any,
    gasket_bore: Any,
    gasket_thickness: Any,
    deck_clearance: Any = 0.0,
    piston_volume: Any = 0.0,
) -> Any:
    """Clearance volume added up from the parts.

    Vc = chamber + (pi/4) Bg^2 t + (pi/4) B^2 deck clearance + piston volume.

    Parameters
    ----------
    bore : [m]
    chamber_volume : chamber in the head [m^3]
    gasket_bore : bore of the gasket [m]
    gasket_thickness : compressed thickness [m]
    deck_clearance : piston rim below the deck at top dead centre [m]; negative when it stands
        above the deck
    piston_volume : volume of a dish with valve pockets [m^3]; negative for a dome

    Returns
    -------
    clearance volume [m^3]

    Raises
    ------
    InputError
        if the parts leave no volume.

    Notes
    -----
    Sum of volumes. The crevice above the top ring is left out.
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


@with_units(
    returns="number",
    bore="length > 0",
    stroke="length > 0",
    chamber_volume="volume >= 0",
    gasket_bore="length > 0",
    gasket_thickness="length >= 0",
    deck_clearance="length",
    piston_volume="volume",
)
def compression_ratio_from_parts(
    bore: Any,
    stroke: Any,
    chamber_volume: Any,
    gasket_bore: Any,
    gasket_thickness: Any,
    deck_clearance: Any = 0.0,
    piston_volume: Any = 0.0,
) -> Any:
    """Compression ratio built up from chamber, gasket, deck and piston.

    CR = (Vd + Vc)/Vc, Vc as in `clearance_volume_from_parts`.

    Parameters
    ----------
    bore, stroke : [m]
    chamber_volume : chamber in the head [m^3]
    gasket_bore : bore of the gasket [m]
    gasket_thickness : compressed thickness [m]
    deck_clearance : piston rim below the deck at top dead centre [m]; negative above the deck
    piston_volume : dish positive, dome negative [m^3]

    Returns
    -------
    compression ratio [-]

    Raises
    ------
    InputError
        if the parts leave no volume.

    Notes
    -----
    Definition of the compression ratio and sum of volumes.
    """
    clearance = clearance_volume_from_parts.si(
        bore, chamber_volume, gasket_bore, gasket_thickness, deck_clearance, piston_volume
    )
    return compression_ratio_from_volumes.si(swept_volume.si(bore, stroke), clearance)
