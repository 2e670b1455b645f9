"""Gasket thickness, cuts and clean-up: compression ratio, squish and piston-to-head clearance.

Compressed thickness counts, never the thickness in the box. Volumes come as arguments; the
piston is below the deck for a positive deck clearance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.units import field, with_units

SQUISH_USUAL = (0.035 * 0.0254, 0.045 * 0.0254)
"""Usual squish of street petrol engines [m]."""
SQUISH_TOUCH = 0.030 * 0.0254
"""Below about this squish there is a risk of touch [m]."""
SQUISH_STATUS = "from memory"
RING_MARK = 0.002 * 0.0254
"""Depth of ring marks in practice [m]."""
RING_MARK_STATUS = "common practice, no source"
# smallest change that a burette shows while filling the chamber [m**3], and a compression gauge
# [share of the pressure]; exponent of the compression: all from memory
BURETTE, GAUGE, EXPONENT = 0.5e-6, 0.03, 1.3


# --------------------------------------------------------------------------- volumes
@with_units(returns="volume")
def gasket_volume(gasket_bore: si.Length, thickness: si.AnyLength) -> Any:
    """Volume in the bore of the gasket [m**3], pi/4 Dg^2 t.

    Parameters
    ----------
    gasket_bore : Dg [m]
    thickness : t, compressed, or a change of it [m]

    >>> print(round(gasket_volume("87.5 mm", "0.30 mm").to("cm**3").magnitude, 3))
    1.804
    """
    return np.pi / 4.0 * np.square(gasket_bore) * np.asarray(thickness, dtype=float)


@with_units(returns="number")
def changed_compression_ratio(
    swept_volume: si.Volume, clearance_volume: si.Volume, volume_change: si.AnyVolume = 0.0
) -> Any:
    """Compression ratio after a change of clearance volume, 1 + Vs/(Vc + dVc).

    Raises InputError if no clearance volume is left.

    Parameters
    ----------
    swept_volume : Vs [m**3]
    clearance_volume : Vc before the change [m**3]
    volume_change : dVc [m**3]; negative for metal cut off the face
    """
    left = np.asarray(clearance_volume, dtype=float) + volume_change
    if np.any(left <= 0):
        raise fail(
            "volume_change",
            f"{1e6 * float(np.min(volume_change)):.4g} cm³",
            "a change that leaves some clearance volume",
        )
    return 1.0 + np.asarray(swept_volume, dtype=float) / left


def _clearance_volume(swept_volume: Any, compression_ratio: Any) -> Any:
    return np.asarray(swept_volume, dtype=float) / (
        np.asarray(compression_ratio, dtype=float) - 1.0
    )


@with_units(returns="number")
def ratio_at_thickness(
    swept_volume: si.Volume,
    compression_ratio: si.Above1,
    gasket_bore: si.Length,
    thickness_change: si.AnyLength,
) -> Any:
    """Compression ratio after a change of compressed gasket thickness.

    CR' = 1 + Vs/(Vc + pi/4 Dg^2 dt), Vc = Vs/(CR - 1)

    Raises InputError if no clearance volume is left.

    Parameters
    ----------
    swept_volume : Vs [m**3]
    compression_ratio : CR before
    gasket_bore : Dg [m]
    thickness_change : dt [m]; positive for a thicker gasket
    """
    return changed_compression_ratio.si(
        swept_volume,
        _clearance_volume(swept_volume, compression_ratio),
        gasket_volume.si(gasket_bore, thickness_change),
    )


@with_units(returns="length")
def thickness_for_ratio(
    swept_volume: si.Volume, compression_ratio: si.Above1, wanted: si.Above1, gasket_bore: si.Length
) -> Any:
    """Change of compressed thickness that brings the compression ratio wanted [m].

    dt = (Vs/(CR' - 1) - Vs/(CR - 1)) / (pi/4 Dg^2), positive for a thicker gasket

    Parameters
    ----------
    swept_volume : Vs [m**3]
    compression_ratio : CR now
    wanted : CR'
    gasket_bore : Dg [m]
    """
    change = _clearance_volume(swept_volume, wanted) - _clearance_volume(
        swept_volume, compression_ratio
    )
    return change / gasket_volume.si(gasket_bore, 1.0)


# --------------------------------------------------------------------------- clearance
@with_units(returns="length")
def squish(thickness: si.Length, deck_clearance: si.AnyLength = 0.0) -> Any:
    """Squish (quench) clearance, cold and at rest [m]: compressed thickness + deck clearance.

    Parameters
    ----------
    thickness : compressed gasket thickness [m]
    deck_clearance : flat of the piston below the deck at top dead centre [m]; negative above
    """
    return np.asarray(thickness, dtype=float) + deck_clearance


@dataclass(frozen=True)
class Clearance:
    """What stands between piston and head."""

    squish: Any = field("length")  # flat to flat, cold and at rest [m]
    running: Any = field("length")  # least gap while running, with rock and stretch taken off [m]
    touches: Any = False  # True where piston and head meet


@with_units(returns="fields")
def clearance(
    thickness: si.Length, deck_clearance: si.AnyLength = 0.0, stretch_allowance: si.Length0 = 0.0
) -> Clearance:
    """Squish clearance of a flat piston, at rest and running.

    squish = t + deck clearance; running = squish - allowance

    Parameters
    ----------
    thickness : compressed gasket thickness [m]
    deck_clearance : flat of the piston below the deck at top dead centre [m]; negative above
    stretch_allowance : rod stretch, bearing clearance and piston rock at the highest speed [m]:
        the engine builder's own figure
    """
    still = squish.si(thickness, deck_clearance)
    running = still - np.asarray(stretch_allowance, dtype=float)
    return Clearance(still, running, running <= 0.0)


# --------------------------------------------------------------------------- cuts
@dataclass(frozen=True)
class CleanUp:
    """A clean-up pass that takes ring marks off a face."""

    cut: Any = field("lift")  # metal taken off [m]
    volume_change: Any = field("volume")  # of the clearance volume [m**3]
    compression_ratio: Any = field("number")  # after the pass
    squish_change: Any = field("lift")  # [m]
    pressure_change: Any = field("fraction")  # share by which the compression pressure rises
    volume_seen: Any = False  # True where a burette shows the change of volume
    pressure_seen: Any = False  # True where a compression gauge shows the change of pressure


@with_units(returns="fields")
def clean_up(
    swept_volume: si.Volume,
    clearance_volume: si.Volume,
    bore: si.Length,
    cut: si.Length0 = RING_MARK,
    face: str = "head",
) -> CleanUp:
    """What a clean-up pass over ring marks does to compression, and whether it can be measured.

    dVc = -pi/4 B^2 cut; compression pressure goes as CR^1.3

    A cut on the head leaves the squish clearance alone: the face that moves is the squish face. For
    valve-to-piston clearance count head and deck cut both. Raises InputError for a negative cut, a
    face other than head and deck, or no volume left.

    Parameters
    ----------
    swept_volume, clearance_volume : Vs, Vc before [m**3]
    bore : B [m]; the chamber is taken as open as the bore, which is the most it can be
    cut : taken off: the depth of the marks [m]
    face : "head" or "deck"
    """
    if face not in ("head", "deck"):
        raise fail("face", face, '"head" or "deck"')
    off = np.asarray(cut, dtype=float)
    change = -gasket_volume.si(bore, off)
    before = changed_compression_ratio.si(swept_volume, clearance_volume)
    after = changed_compression_ratio.si(swept_volume, clearance_volume, change)
    rise = (after / before) ** EXPONENT - 1.0
    return CleanUp(
        off[()],
        change,
        after,
        0.0 * off[()] if face == "head" else -off[()],
        rise,
        np.abs(change) >= BURETTE,
        rise >= GAUGE,
    )
