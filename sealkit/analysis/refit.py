"""A build with another gasket and with cuts off head and deck, beside the build on its sheet."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit.analysis.gas import Gas, gas_side, mean_cycle, over_air, sized_on
from sealkit.analysis.gas_force import GasForce, gas_force
from sealkit.analysis.many import with_numbers
from sealkit.arrays import Array
from sealkit.build import Build
from sealkit.pressure import geometry
from sealkit.sealing import clearances
from sealkit.sealing.clearances import Clearance
from sealkit.units import from_si


@dataclass(frozen=True)
class Fit:
    """Gasket and faces of a build."""

    thickness: float  # of the gasket, compressed [m]
    cut: float  # taken off the face of the head [m]
    deck: float  # deck clearance, piston below the deck at top dead centre [m]; negative above
    opening: float  # diameter of the gasket's opening [m]


@dataclass(frozen=True)
class Volumes:
    """Swept by one piston, left above it, and of that in the opening of the gasket [m**3]."""

    swept: float
    clearance: float
    gasket: float


def fit_of(build: Build) -> Fit:
    """As the sheet has it; the piston flush where the sheet gives a ratio and no volumes."""
    g, c = build.gasket, build.engine.chamber
    return Fit(g.compressed_thickness, 0.0, 0.0 if c is None else c.deck_clearance, g.bore)


def volumes_of(build: Build) -> Volumes:
    """Volumes of one cylinder of a build."""
    e, g = build.engine, build.gasket
    return Volumes(
        float(geometry.swept_volume.si(e.bore, e.stroke)),
        float(geometry.clearance_volume.si(e.bore, e.stroke, build.compression_ratio)),
        float(clearances.gasket_volume.si(g.bore, g.compressed_thickness)),
    )


def ratio_of(build: Build, fit: Fit) -> float:
    """Compression ratio of a build made so.

    1 + Vs/(Vc + dVc), where dVc = dVg + pi/4 B^2 (ddeck - cut): the chamber is taken as wide as the
    bore at the face, the most that a cut can take.
    """
    known, disc = volumes_of(build), clearances.gasket_volume.si
    change = (
        disc(fit.opening, fit.thickness)
        - known.gasket
        + disc(build.engine.bore, fit.deck - fit_of(build).deck - fit.cut)
    )
    ratio = clearances.changed_compression_ratio.si(known.swept, known.clearance, change)
    return float(ratio)


def refitted(build: Build, fit: Fit) -> Build:
    """The build made so, on its volumes where the sheet has them.

    Raises InputError where no volume is left, or the sheet cannot take it.
    """
    changes: dict[str, Any] = {
        "gasket.compressed_thickness": from_si(fit.thickness, "length"),
        "gasket.bore": from_si(fit.opening, "length"),
    }
    c = build.engine.chamber
    if c is not None:
        less = float(clearances.gasket_volume.si(build.engine.bore, fit.cut))
        changes |= {
            "engine.chamber.chamber_volume": from_si(c.chamber_volume - less, "volume"),
            "engine.chamber.deck_clearance": from_si(fit.deck, "length"),
        }
    else:
        changes["engine.compression_ratio"] = ratio_of(build, fit)
    return build.vary(changes)


@dataclass(frozen=True)
class Refit:
    """A build made otherwise, beside the build on its sheet. Plain SI."""

    before: GasForce  # the build on its sheet, its gas side and gas force
    # build, after: as it is made now, and its gas side
    build: Build
    after: Gas
    fit: Fit  # gasket and faces now
    allowance: float  # for stretch, play and rock at speed, m
    # thickness, ratio, design_peak: compression ratio and design peak pressure over compressed
    # thickness, all else as now; the thickness that is set is among them
    thickness: Array
    ratio: Array
    design_peak: Array

    force: float  # of the gas on the head now, N
    # gap, gap_before: between piston and head at top dead centre, now and on the sheet, with the
    # same allowance
    gap: Clearance
    gap_before: Clearance
    deck_known: bool  # whether the sheet says where the piston stands; else it is taken flush

    @property
    def sheet(self) -> Build:
        """The build as its sheet has it."""
        return self.before.build

    def gaps(self, crank_angle: ArrayLike) -> Clearance:
        """Between the flats of piston and head at these crank angles (rad), now."""
        e = self.build.engine
        down = geometry.piston_position.si(crank_angle, e.stroke, e.rod_length)
        return clearances.clearance.si(self.fit.thickness, self.fit.deck + down, self.allowance)

    @property
    def squish_is(self) -> str:
        """How the squish stands to the usual one: "risk" (of touch), "tight", "usual" or "wide"."""
        low, high = clearances.SQUISH_USUAL
        squish = float(self.gap.squish)
        if squish < clearances.SQUISH_TOUCH:
            return "risk"
        return "tight" if squish < low else "usual" if squish <= high else "wide"

    @property
    def sides(self) -> dict[str, tuple[str, float, float]]:
        """By name: kind of quantity, what it is on the sheet, and what it is now."""
        (sheet, old), (build, new) = (self.sheet, self.before.gas), (self.build, self.after)
        was, now = volumes_of(sheet), volumes_of(build)
        still, gap = self.gap_before, self.gap
        return {
            "clearance": ("volume", was.clearance, now.clearance),
            "gasket": ("volume", was.gasket, now.gasket),
            "ratio": ("number", sheet.compression_ratio, build.compression_ratio),
            "squish": ("length", float(still.squish), float(gap.squish)),
            "running": ("length", float(still.running), float(gap.running)),
            "boost": ("gauge pressure", sheet.charge.boost, build.charge.boost),
            "mean peak": ("pressure", old.mean_peak, new.mean_peak),
            "design peak": ("pressure", old.design_peak, new.design_peak),
            "force": ("force", self.before.force, self.force),
            "knock": ("number", old.knock_integral, new.knock_integral),
            "power": ("power", old.brake_power, new.brake_power),
        }


def refit(build: Build, fit: Fit, allowance: float, over: Sequence[float] | Array) -> Refit:
    """A build made otherwise, beside the one on its sheet.

    Raises InputError where no volume is left, or naming what cannot be worked out. Lines go over
    the compressed thicknesses `over`, rising; all lengths in m.
    """
    before, now = gas_force(build), refitted(build, fit)
    after = gas_side(now)
    line = np.asarray(over, dtype=float)
    ratio = np.array([ratio_of(build, dataclasses.replace(fit, thickness=t)) for t in line])
    place = int(np.searchsorted(line, fit.thickness))
    gap, still = (
        clearances.clearance.si(x.thickness, x.deck, allowance) for x in (fit, fit_of(build))
    )
    return Refit(
        before,
        now,
        after,
        fit,
        allowance,
        np.insert(line, place, fit.thickness),
        np.insert(ratio, place, now.compression_ratio),
        np.insert(_design_peaks(build, ratio), place, after.design_peak),
        after.design_gauge * before.joint.gas_area,
        gap,
        still,
        build.engine.chamber is not None,
    )


def _design_peaks(build: Build, ratios: Array) -> Array:
    """Design peak pressures of a build at other compression ratios, all in one pass."""
    plain = dataclasses.replace(build.engine, compression_ratio=float(ratios[0]), chamber=None)
    many = {"engine.compression_ratio": ratios}
    mean = mean_cycle(with_numbers(dataclasses.replace(build, engine=plain), many))
    peaks = np.asarray(sized_on(build, mean).pressure, dtype=float)
    over_air(peaks, mean.ambient)
    return peaks
