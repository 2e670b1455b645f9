"""Embossed beads: formed and pressed flat between plates, from a table worked out beforehand.

Every function refuses numbers out of the range its decorator states.

References
----------
[1] Beam theory: a strip of plane-strain modulus E' = E / (1 - nu**2), one end held against
    turning, the other free to turn; checked with a general numerical library.
[2] Plastic hinge in plane strain, Mp = 2/sqrt(3) Sy t**2 / 4 (from memory).
[3] What makes the table, ``tests/validation/make_beads.py``: model and assumptions.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.arrays import Array
from sealkit.errors import fail
from sealkit.units import with_units

FULL_BEAD_LEGS = 2
HALF_BEAD_LEGS = 1


def strip_modulus(modulus: Any, poisson: Any) -> Any:
    """Plane-strain modulus E' = E / (1 - nu**2) [Pa]."""
    return modulus / (1.0 - np.asarray(poisson, dtype=float) ** 2)


@with_units(returns="modulus", poisson="number 0..0.49")
def bead_stiffness(
    modulus: si.Modulus, poisson: Any, thickness: si.Length, span: si.Length, legs: si.Number = 2
) -> Any:
    """Line load of a bead per first deflection, k = legs E' t**3 / (4 L**3) [N/m per m] [1].

    Each leg is held against turning at its crest, by symmetry, and free to turn at its foot.

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    thickness, span : t of the sheet, L of one leg [m]
    legs : 2 for a full bead, 1 for a half bead
    """
    slender = np.asarray(thickness, dtype=float) / span
    return legs * strip_modulus(modulus, poisson) * slender**3 / 4.0


@with_units(returns="line load")
def bead_plastic_load(
    thickness: si.Length, span: si.Length, yield_strength: si.Stress, legs: si.Number = 2
) -> Any:
    """Line load at which the crest yields through while the feet are free to turn [N/m] [2].

    legs Mp / L, Mp = Sy t**2 / (2 sqrt 3). Feet and flats that come to bear add to it later.

    Parameters
    ----------
    thickness, span : t, L [m]
    yield_strength : Sy [Pa]
    legs : 2 for a full bead, 1 for a half bead
    """
    moment = 2.0 / np.sqrt(3.0) * yield_strength * np.asarray(thickness, dtype=float) ** 2 / 4.0
    return legs * moment / span


@with_units(returns="length", poisson="number 0..0.49")
def bead_springback(
    modulus: si.Modulus,
    poisson: Any,
    thickness: si.Length,
    span: si.Length,
    yield_strength: si.Stress,
    layers: si.Number = 1,
) -> Any:
    """Elastic return from the plastic line load, layers (Mp / L) / (E' t**3 / (4 L**3)) [m].

    `bead_plastic_load` over `bead_stiffness`; the number of legs cancels.

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    thickness, span : t, L [m]
    yield_strength : Sy [Pa]
    layers : active layers in series
    """
    load = bead_plastic_load.si(thickness, span, yield_strength, 1)
    return layers * load / bead_stiffness.si(modulus, poisson, thickness, span, 1)


@with_units(returns="fraction")
def hardening_share(
    modulus: si.Modulus,
    yield_strength: si.Stress,
    tensile_strength: si.Stress,
    elongation: si.Fraction,
) -> Any:
    """Slope of the stress-strain curve past yield over the modulus, (Su - Sy) / (e E).

    Straight line from proof to tensile strength; engineering values, so a low estimate. Returns the
    share of the modulus, not below 0.0001. Raises InputError also for a tensile strength below the
    yield strength.

    Parameters
    ----------
    modulus : E [Pa]
    yield_strength, tensile_strength : Sy, Su [Pa]
    elongation : e
    """
    if np.any(np.asarray(tensile_strength) < yield_strength):
        raise fail(
            "tensile_strength", f"{np.min(tensile_strength):g} Pa", "at least the yield strength"
        )
    rise = (np.asarray(tensile_strength, dtype=float) - yield_strength) / (elongation * modulus)
    return np.maximum(rise, 1e-4)


# --------------------------------------------------------------------------- the table
@dataclass(frozen=True)
class Legs:
    """The table of one leg over the groups yielding, hardening, slope; see the script beside it."""

    groups: tuple[Array, Array, Array]  # grid of yielding, hardening, slope
    # parts of the height, and `load` there in E' t**3 h / L**3, shape (groups, closed)
    closed: Array
    load: Array
    # parts of the height where opening begins, `left` parts of the load there, `springback` in
    # heights, shape (groups, tops, left)
    tops: Array
    left: Array
    springback: Array
    source: str
    status: str

    def at(self, groups: tuple[float, float, float]) -> tuple[Array, Array]:
        """Loads and springback at these groups; a group below its grid is read at the lowest.

        There a leg stays elastic, does not harden or turns little, so that nothing changes any
        more. Yielding is read on its logarithm, and so are the loads.
        """
        load, back = np.log(np.maximum(self.load, 1e-9)), self.springback
        for axis, (grid, value) in enumerate(zip(self.groups, groups, strict=True)):
            x, at = (np.log(grid), np.log(value)) if axis == 0 else (grid, value)
            i = int(np.clip(np.searchsorted(x, at) - 1, 0, len(x) - 2))
            share = float(np.clip((at - x[i]) / (x[i + 1] - x[i]), 0.0, 1.0))
            load = load[i] + share * (load[i + 1] - load[i])
            back = back[i] + share * (back[i + 1] - back[i])
        return np.exp(load), back


@functools.cache
def table() -> Legs:
    """The table of legs.

    Raises InputError if it is not there or damaged.
    """
    return tables.arrays("beads/legs", _made)


def _made(z: Any) -> Legs:
    names = ("closed", "load", "tops", "left", "springback")
    numbers = {k: z[k].astype(float) for k in names}
    groups = tuple(z[k].astype(float) for k in ("yielding", "hardening", "slope"))
    return Legs(groups, **numbers, source=str(z["source"]), status=str(z["status"]))


_LEFT_OUT = (0.02, 0.15, 0.3, 0.7, 0.8)
"""Parts closed of the table that lie on the line between their neighbours but for some per cent."""
_BEYOND = np.array([1.0, 1.25, 2.2, 10.0, 30.0])


@dataclass(frozen=True)
class Bead:
    """A bead embossed in one layer of sheet, SI.

    Raises InputError for a bead beyond the table: too steep, too thick for its span, or hardening
    too much.
    """

    # 2 for a full bead, 1 for a half bead (whose other end the gasket beside it holds flat)
    legs: int
    # thickness, span, height: of the sheet, of one leg, of the bead above the sheet [m]
    thickness: float
    span: float
    height: float
    # modulus, poisson, yield_strength: E [Pa], nu, Sy [Pa] of the sheet before it is embossed
    modulus: float
    poisson: float
    yield_strength: float
    hardening: float  # slope past yield over the modulus

    def __post_init__(self) -> None:
        yielding, hardening, slope = (float(g[-1]) for g in table().groups)
        by = self.groups
        if by[2] > slope * (1.0 + 1e-9):
            most = slope * self.span
            raise fail("bead_height", f"{self.height:g} m", f"at most {most:g} m for this span")
        if by[0] > yielding * (1.0 + 1e-9):
            most = self.thickness * yielding / by[0]
            wanted = f"at most {most:.3g} m for this bead and yield strength"
            raise fail("layer_thickness", f"{self.thickness:g} m", wanted)
        if by[1] > hardening * (1.0 + 1e-9):
            came = f"a slope past yield of {by[1]:.3g} of the modulus"
            raise fail("elongation", came, f"one of at most {hardening:g}")

    @property
    def groups(self) -> tuple[float, float, float]:
        """Yielding h t E' / (L**2 S) with S = 2/sqrt(3) Sy, hardening, slope h / L [3].

        In plane strain stress is 2/sqrt(3) times, plastic strain sqrt(3)/2 times that of a tensile
        test: the slope past yield over E' is 4/3 (1 - nu**2) of the share [2].
        """
        elastic = float(strip_modulus(self.modulus, self.poisson))
        strain = 2.0 / np.sqrt(3.0) * self.yield_strength / elastic
        yielding = self.height * self.thickness / self.span**2 / strain
        hardening = 4.0 / 3.0 * (1.0 - self.poisson**2) * self.hardening
        return float(yielding), float(hardening), self.height / self.span

    @property
    def stiffness(self) -> float:
        """Line load per first deflection [N/m per m]."""
        sheet = (self.modulus, self.poisson, self.thickness, self.span)
        return float(bead_stiffness.si(*sheet, self.legs))

    @property
    def plastic_load(self) -> float:
        """Line load at which the crest yields through while the feet are free to turn [N/m]."""
        sheet = (self.thickness, self.span, self.yield_strength)
        return float(bead_plastic_load.si(*sheet, self.legs))

    @functools.cached_property
    def _table(self) -> tuple[Array, Array]:
        return table().at(self.groups)

    @functools.cached_property
    def way(self) -> tuple[Array, Array]:
        """Deflections [m] and line loads [N/m], from rest to nearly flat and on.

        Past a hundredth of the height the arch that is left goes down with the power of the load
        that the last two numbers of the table have, an assumption.
        """
        scale = 4.0 * self.stiffness * self.height
        kept = ~np.isin(np.round(table().closed, 6), _LEFT_OUT)
        v = np.concatenate([[0.0], np.maximum.accumulate(scale * self._table[0][kept])])
        w = np.concatenate([[0.0], table().closed[kept] * self.height])
        v += np.arange(len(v)) * 1e-9 * v[-1]
        beyond, left = _BEYOND[1:], 1.0 - table().closed[-2:]
        power = np.log(left[0] / left[1]) / np.log(v[-1] / v[-2])
        gap = (self.height - w[-1]) / beyond**power
        return np.append(w, self.height - gap), np.append(v, v[-1] * beyond)

    @property
    def flat_load(self) -> float:
        """Line load that presses the bead flat but for a hundredth of its height [N/m]."""
        return float(self.way[1][-len(_BEYOND)])

    @functools.cached_property
    def paths(self) -> Array:
        """Deflections [m] on the way back from each load of `way` (rows), at those loads up to it.

        A bead that was pressed further stands further in at every load; past the last number of the
        table it comes back along `way` down to there. The other places of a row hold no meaning.
        """
        w, v = self.way
        data, n = table(), len(v) - len(_BEYOND) + 1  # n: down to a hundredth, and with rest
        tops = np.concatenate([[0.0], data.tops])
        rows = np.concatenate([np.zeros((1, len(data.left))), self._table[1]])
        out = np.tile(w, (len(v), 1))
        for i in range(1, n):
            at = w[i] / self.height
            k = int(np.clip(np.searchsorted(tops, at) - 1, 0, len(tops) - 2))
            row = rows[k] + (at - tops[k]) / (tops[k + 1] - tops[k]) * (rows[k + 1] - rows[k])
            sprung = np.interp(v[:i] / v[i], data.left[::-1], row[::-1]) * self.height
            out[i, :i] = np.maximum(w[i] - sprung, out[i - 1, :i])
        out[n:, : n - 1] = out[n - 1, : n - 1]
        return out

    @property
    def springback(self) -> float:
        """Return from flat until the bead carries nothing [m]."""
        flat = len(self.way[0]) - len(_BEYOND)
        return float(self.way[0][flat] - self.paths[flat, 0])
