"""Gasket thickness, cuts and clean-up: compression ratio, squish and piston-to-head clearance.

Compressed thickness counts, never the thickness in the box. Volumes come as arguments; the
piston is below the deck for a positive deck clearance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.errors import Fault, InputError, fail
from sealkit.units import field, show, with_units

__all__ = [
    "CleanUp",
    "Clearance",
    "Cuts",
    "changed_compression_ratio",
    "clean_up",
    "clearance",
    "cuts",
    "gasket_volume",
    "ratio_at_thickness",
    "squish",
    "thickness_for_ratio",
]

SQUISH_USUAL = (0.035 * 0.0254, 0.045 * 0.0254)
SQUISH_TOUCH = 0.030 * 0.0254
SQUISH_STATUS = "from memory"
RING_MARK = 0.002 * 0.0254
RING_MARK_STATUS = "common practice, no source"


# --------------------------------------------------------------------------- volumes
@with_units(returns="volume", gasket_bore="length > 0", thickness="length")
def gasket_volume(gasket_bore: Any, thickness: Any) -> Any:
    """Volume in the bore of the gasket: V = pi/4 Dg^2 t.

    Parameters
    ----------
    gasket_bore : Dg [m]
    thickness : t, compressed, or a change of it [m]

    Returns
    -------
    V [m**3]

    Raises
    ------
    InputError
        for a bore not above zero.
    """
    return np.pi / 4.0 * np.square(gasket_bore) * np.asarray(thickness, dtype=float)


@with_units(
    returns="number",
    swept_volume="volume > 0",
    clearance_volume="volume > 0",
    volume_change="volume",
)
def changed_compression_ratio(
    swept_volume: Any, clearance_volume: Any, volume_change: Any = 0.0
) -> Any:
    """Compression ratio after a change of clearance volume: CR' = 1 + Vs/(Vc + dVc).

    Parameters
    ----------
    swept_volume : Vs [m**3]
    clearance_volume : Vc before the change [m**3]
    volume_change : dVc [m**3]; negative for metal cut off the face

    Returns
    -------
    CR'

    Raises
    ------
    InputError
        if no clearance volume is left.
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


@with_units(
    returns="number",
    swept_volume="volume > 0",
    compression_ratio="number > 1",
    gasket_bore="length > 0",
    thickness_change="length",
)
def ratio_at_thickness(
    swept_volume: Any, compression_ratio: Any, gasket_bore: Any, thickness_change: Any
) -> Any:
    """Compression ratio after a change of compressed gasket thickness.

    CR' = 1 + Vs/(Vc + pi/4 Dg^2 dt), Vc = Vs/(CR - 1).

    Parameters
    ----------
    swept_volume : Vs [m**3]
    compression_ratio : CR before
    gasket_bore : Dg [m]
    thickness_change : dt [m]; positive for a thicker gasket

    Returns
    -------
    CR'

    Raises
    ------
    InputError
        if no clearance volume is left.
    """
    return changed_compression_ratio.si(
        swept_volume,
        _clearance_volume(swept_volume, compression_ratio),
        gasket_volume.si(gasket_bore, thickness_change),
    )


@with_units(
    returns="length",
    swept_volume="volume > 0",
    compression_ratio="number > 1",
    wanted="number > 1",
    gasket_bore="length > 0",
)
def thickness_for_ratio(
    swept_volume: Any, compression_ratio: Any, wanted: Any, gasket_bore: Any
) -> Any:
    """Change of compressed thickness that brings the compression ratio wanted.

    dt = (Vs/(CR' - 1) - Vs/(CR - 1)) / (pi/4 Dg^2).

    Parameters
    ----------
    swept_volume : Vs [m**3]
    compression_ratio : CR now
    wanted : CR'
    gasket_bore : Dg [m]

    Returns
    -------
    dt [m]; positive for a thicker gasket

    Raises
    ------
    InputError
        for a ratio not above 1.
    """
    change = _clearance_volume(swept_volume, wanted) - _clearance_volume(
        swept_volume, compression_ratio
    )
    return change / gasket_volume.si(gasket_bore, 1.0)


# --------------------------------------------------------------------------- clearance
@with_units(returns="length", thickness="length > 0", deck_clearance="length")
def squish(thickness: Any, deck_clearance: Any = 0.0) -> Any:
    """Squish (quench) clearance, cold and at rest: compressed thickness + deck clearance.

    Parameters
    ----------
    thickness : compressed gasket thickness [m]
    deck_clearance : flat of the piston below the deck at top dead centre [m]; negative above

    Returns
    -------
    squish clearance [m]

    Raises
    ------
    InputError
        for a thickness not above zero.
    """
    return np.asarray(thickness, dtype=float) + deck_clearance


@dataclass(frozen=True)
class Clearance:
    """What stands between piston and head.

    Parameters
    ----------
    squish : flat to flat, cold and at rest, m
    running : least gap while running, with rock and stretch taken off, m
    piston_to_head : the same for the highest point of the piston, m
    touches : True where piston and head meet
    words : verdict in words
    status : of the usual figures in the verdict
    """

    squish: Any = field("length")
    running: Any = field("length")
    piston_to_head: Any = field("length")
    touches: Any = False
    words: str = ""
    status: str = SQUISH_STATUS


@with_units(
    returns="fields",
    thickness="length > 0",
    deck_clearance="length",
    stretch_allowance="length >= 0",
    rise="length",
    recess="length",
)
def clearance(
    thickness: Any,
    deck_clearance: Any = 0.0,
    stretch_allowance: Any = 0.0,
    rise: Any = 0.0,
    recess: Any = None,
) -> Clearance:
    """Squish and piston-to-head clearance, at rest and running.

    squish = t + deck clearance; running = squish - allowance; at the highest point of the piston
    running - rise + recess of the head above that point.

    Parameters
    ----------
    thickness : compressed gasket thickness [m]
    deck_clearance : flat of the piston below the deck at top dead centre [m]; negative above
    stretch_allowance : rod stretch, bearing clearance and piston rock at the highest speed [m]:
        the engine builder's own figure
    rise : highest point of the piston above its flat [m]
    recess : depth of the head over that point, from the head face [m]; None for a flat piston

    Returns
    -------
    Clearance

    Raises
    ------
    InputError
        for a negative allowance, or a rise without a recess.

    Notes
    -----
    Usual squish for street petrol 0.035 to 0.045 in (0.9 to 1.15 mm), below about 0.030 in
    (0.76 mm) risk of touch: from memory.
    """
    if recess is None:
        if np.any(np.asarray(rise) > 0):
            raise fail("recess", "nothing", "the depth of the head over the piston's highest point")
        recess = 0.0
    still = squish.si(thickness, deck_clearance)
    running = still - np.asarray(stretch_allowance, dtype=float)
    over = running - rise + recess
    worst = np.minimum(running, over)
    touches = worst <= 0.0
    low, high = SQUISH_USUAL
    # a shop figure is read to a thousandth of an inch; rounding must not decide
    slack = 1e-9
    tests = (
        (touches, "piston and head touch"),
        (~touches & (still < SQUISH_TOUCH - slack),
         "squish below 0.030 in (0.76 mm): risk of touch"),
        ((still >= SQUISH_TOUCH - slack) & (still < low - slack),
         "squish tighter than the usual 0.035 to 0.045 in (0.9 to 1.15 mm)"),
        ((still >= low - slack) & (still <= high + slack),
         "squish within the usual 0.035 to 0.045 in (0.9 to 1.15 mm)"),
        (still > high + slack,
         "squish wider than the usual 0.035 to 0.045 in (0.9 to 1.15 mm): little mixing"),
    )  # fmt: skip
    words = "; ".join(text for bad, text in tests if np.any(bad))
    return Clearance(still, running, worst, touches, words)


# --------------------------------------------------------------------------- cuts
@dataclass(frozen=True)
class Cuts:
    """What cuts on head and deck, and a change of gasket, do.

    Parameters
    ----------
    volume_change : of the clearance volume, m**3
    compression_ratio : after the cuts
    ratio_change : after less before
    squish_change : of the squish clearance, m
    """

    volume_change: Any = field("volume")
    compression_ratio: Any = field("number")
    ratio_change: Any = field("number")
    squish_change: Any = field("length")


@with_units(
    returns="fields",
    swept_volume="volume > 0",
    clearance_volume="volume > 0",
    bore="length > 0",
    head_cut="length >= 0",
    deck_cut="length >= 0",
    thickness_change="length",
    chamber_area="area > 0",
    gasket_bore="length > 0",
)
def cuts(
    swept_volume: Any,
    clearance_volume: Any,
    bore: Any,
    head_cut: Any = 0.0,
    deck_cut: Any = 0.0,
    thickness_change: Any = 0.0,
    chamber_area: Any = None,
    gasket_bore: Any = None,
) -> Cuts:
    """Cuts on head and deck and a change of gasket, in volume, compression ratio and squish.

    dVc = -Ach head - pi/4 B^2 deck + pi/4 Dg^2 dt; squish changes by -deck + dt.

    Parameters
    ----------
    swept_volume, clearance_volume : Vs, Vc before [m**3]
    bore : B [m]
    head_cut, deck_cut : metal taken off [m]
    thickness_change : dt of the compressed gasket [m]
    chamber_area : open area of the chamber in the head face [m**2]; the bore area if not given,
        which is the most it can be
    gasket_bore : Dg [m]; the bore if not given

    Returns
    -------
    Cuts

    Raises
    ------
    InputError
        for a negative cut, a chamber larger than the gasket bore, or no volume left.

    Notes
    -----
    A cut on the head leaves the squish clearance alone: the face that moves is the squish face.
    For valve-to-piston clearance count head and deck cut both. A chamber that narrows upwards
    loses a little less with each cut.
    """
    area = np.pi / 4.0 * np.square(np.asarray(bore, dtype=float))
    chamber = area if chamber_area is None else np.asarray(chamber_area, dtype=float)
    ring = bore if gasket_bore is None else gasket_bore
    faults = []
    if np.any(np.asarray(ring) < np.asarray(bore) * (1 - 1e-12)):
        faults.append(Fault("gasket_bore", "less than the bore", "at least the bore"))
    elif np.any(chamber > gasket_volume.si(ring, 1.0) * (1 + 1e-9)):
        faults.append(
            Fault(
                "chamber_area", "more than the gasket bore", "at most the area of the gasket bore"
            )
        )
    if faults:
        raise InputError(faults)
    change = (
        -chamber * head_cut
        - area * np.asarray(deck_cut, dtype=float)
        + gasket_volume.si(ring, thickness_change)
    )
    before = changed_compression_ratio.si(swept_volume, clearance_volume)
    after = changed_compression_ratio.si(swept_volume, clearance_volume, change)
    return Cuts(change, after, after - before, np.asarray(thickness_change, dtype=float) - deck_cut)


@dataclass(frozen=True)
class CleanUp:
    """A clean-up pass that takes ring marks off a face.

    Parameters
    ----------
    cut : metal taken off, m
    volume_change : of the clearance volume, m**3
    compression_ratio, ratio_change : after the pass, and after less before
    squish_change : m
    pressure_change : share by which the compression pressure rises
    volume_seen : True where a burette shows the change of volume
    pressure_seen : True where a compression gauge shows the change of pressure
    words : in words
    status : of the readings behind the verdict
    """

    cut: Any = field("lift")
    volume_change: Any = field("volume")
    compression_ratio: Any = field("number")
    ratio_change: Any = field("number")
    squish_change: Any = field("lift")
    pressure_change: Any = field("fraction")
    volume_seen: Any = False
    pressure_seen: Any = False
    words: str = ""
    status: str = "from memory"


@with_units(
    returns="fields",
    swept_volume="volume > 0",
    clearance_volume="volume > 0",
    bore="length > 0",
    mark_depth="length >= 0",
    extra="length >= 0",
    chamber_area="area > 0",
    burette="volume > 0",
    gauge="fraction > 0",
    exponent="number 1..1.67",
)
def clean_up(
    swept_volume: Any,
    clearance_volume: Any,
    bore: Any,
    mark_depth: Any = RING_MARK,
    extra: Any = 0.0,
    face: str = "head",
    chamber_area: Any = None,
    burette: Any = 0.5e-6,
    gauge: Any = 0.03,
    exponent: Any = 1.3,
) -> CleanUp:
    """What a clean-up pass over ring marks does to compression, and whether it can be measured.

    Cut = mark depth + extra; compression pressure goes as CR^n.

    Parameters
    ----------
    swept_volume, clearance_volume : Vs, Vc before [m**3]
    bore : [m]
    mark_depth : depth of the marks [m]; about 0.002 in (0.05 mm) in practice
    extra : taken off beyond the marks to get a true face [m]
    face : "head" or "deck"
    chamber_area : open area of the chamber in the head face [m**2]; the bore area if not given
    burette : smallest volume change that filling the chamber shows [m**3]
    gauge : smallest share of pressure that a compression gauge shows
    exponent : n of the compression

    Returns
    -------
    CleanUp

    Raises
    ------
    InputError
        for a negative cut, or a face other than head and deck.

    Notes
    -----
    Readings of 0.5 cm**3 and 3 % and the exponent 1.3 are from memory.
    """
    if face not in ("head", "deck"):
        raise fail("face", face, '"head" or "deck"')
    cut = np.asarray(mark_depth, dtype=float) + extra
    named = {"head_cut" if face == "head" else "deck_cut": cut}
    out = cuts.si(swept_volume, clearance_volume, bore, chamber_area=chamber_area, **named)
    before = out.compression_ratio - out.ratio_change
    rise = (out.compression_ratio / before) ** exponent - 1.0
    volume_seen = np.abs(out.volume_change) >= burette
    pressure_seen = rise >= gauge
    if np.ndim(rise) == 0:
        seen = [n for n, s in (("burette", volume_seen), ("gauge", pressure_seen)) if s]
        words = (
            f"{show(cut, 'length', decimals=3)} ({show(cut, 'length', 'inch')}) off the {face}: "
            f"{1e6 * out.volume_change:+.2f} cm³, compression ratio {before:.2f} to "
            f"{out.compression_ratio:.2f}, compression pressure {100 * rise:+.1f} %; "
            + (f"shown by the {' and the '.join(seen)}" if seen else "too little to measure")
        )
    else:
        words = f"{int(np.sum(volume_seen | pressure_seen))} of {np.size(rise)} can be measured"
    return CleanUp(
        cut[()],
        out.volume_change,
        out.compression_ratio,
        out.ratio_change,
        out.squish_change,
        rise,
        volume_seen,
        pressure_seen,
        words,
    )
