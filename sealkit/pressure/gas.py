"""The gas in the cylinder: unburnt charge of frozen composition, burnt gas in equilibrium.

Energies carry the heats of formation, so that burning needs no heating value: the same mass simply
changes from unburnt to burnt. Below 1500 K the burnt gas keeps its composition.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import kinds as si
from sealkit import tables
from sealkit.errors import fail
from sealkit.pressure.fuels import Mixture
from sealkit.pressure.gas_data import Family, data
from sealkit.units import with_units

Array = NDArray[Any]
R = 8.31446261815324
AIR_N2 = 3.76
_N_PRODUCTS = 13
GASOLINE = {"iso-octane": 0.75, "toluene": 0.25}

# fine grids the cycle reads from
T_LOW, T_STEP, T_COUNT = 200.0, 50.0, 89
P_PER_NODE = 3
U_TEMPERATURES = np.linspace(200.0, 1800.0, 321)
PSI_COUNT = 640
_PLACES = np.arange(float(PSI_COUNT))
_LOG_T = np.log(U_TEMPERATURES)


def molar_enthalpy(temperature: Any) -> Array:
    """Molar enthalpy of every species, formation included [J/mol], last axis = species."""
    d = data()
    t = np.asarray(temperature, dtype=float)[..., None]
    powers = t[..., None] ** np.arange(1, 6) / np.arange(1, 6)
    low = np.sum(powers * d.low[:, :5], axis=-1) + d.low[:, 5]
    high = np.sum(powers * d.high[:, :5], axis=-1) + d.high[:, 5]
    return R * np.where(t < 1000.0, low, high)


def molar_entropy(temperature: Any) -> Array:
    """Molar entropy of every species at 1 bar [J/(mol K)], last axis = species."""
    d = data()
    t = np.asarray(temperature, dtype=float)[..., None]
    powers = t[..., None] ** np.arange(1, 5) / np.arange(1, 5)
    log = np.log(t)
    low = d.low[:, 0] * log + np.sum(powers * d.low[:, 1:5], axis=-1) + d.low[:, 6]
    high = d.high[:, 0] * log + np.sum(powers * d.high[:, 1:5], axis=-1) + d.high[:, 6]
    return R * np.where(t < 1000.0, low, high)


@functools.cache
def _unburnt_tables() -> tuple[Array, Array]:
    """Molar energy and entropy of every species on the fine temperature grid."""
    t = U_TEMPERATURES
    return molar_enthalpy(t) - R * t[:, None], molar_entropy(t)


def air_gas_constant() -> float:
    """Gas constant of O2 + 3.76 N2 [J/(kg K)]."""
    d = data()
    mass = d.molar_mass[d.index("O2")] + AIR_N2 * d.molar_mass[d.index("N2")]
    return float(R * (1.0 + AIR_N2) / mass)


def fuel_moles(family: str, share: Array) -> tuple[Array, Array]:
    """Moles of each species per kg of fuel, and latent heat of the blend [J/kg]."""
    d = data()
    fuels = [row for row in tables.load("fuels").rows if row["family"] == family]
    names = [row["fuel"] for row in sorted(fuels, key=lambda row: row["share"])]
    out = np.zeros((*share.shape, len(d.species)))
    latent = np.zeros(share.shape)
    for name, w in zip(names, (1.0 - share, share), strict=False):
        for part, by_mass in (GASOLINE if name == "gasoline" else {name: 1.0}).items():
            k = d.index(part)
            out[..., k] += w * by_mass / d.molar_mass[k]
        latent += w * tables.load("fuels")[name]["latent_heat"]
    return out, latent


def _weights(nodes: Array, x: Array) -> tuple[Array, Array]:
    """Four-point Lagrange weights on sorted nodes, never reaching across the node 1."""
    count = min(4, len(nodes))
    start = np.clip(np.searchsorted(nodes, x, side="left") - count // 2, 0, len(nodes) - count)
    if 1.0 in nodes and nodes[-1] > 1.0:  # equivalence ratio: a kink at 1
        one = int(np.flatnonzero(nodes == 1.0)[0])
        start = np.where(x <= 1.0, np.minimum(start, one + 1 - count), np.maximum(start, one))
    index = start[..., None] + np.arange(count)
    xn = nodes[index]
    w = np.ones_like(xn)
    for i in range(count):
        for j in range(count):
            if i != j:
                w[..., i] *= (x - xn[..., j]) / (xn[..., i] - xn[..., j])
    return index, w


def _spline(nodes: Array, at: Array) -> Array:
    """Matrix from values at even nodes to their cubic spline (third derivative runs through the
    second node from each end) at other places.
    """
    n, eye = len(nodes), np.eye(len(nodes))
    rows, change = np.zeros((n, n)), np.zeros((n, n))
    rows[0, :3] = rows[-1, -3:] = 1.0, -2.0, 1.0
    rows[1:-1] = (eye[:-2] + 4.0 * eye[1:-1] + eye[2:]) / 6.0
    change[1:-1] = eye[:-2] - 2.0 * eye[1:-1] + eye[2:]
    bend = np.linalg.solve(rows, change) / 6.0
    place = (at - nodes[0]) / (nodes[-1] - nodes[0]) * (n - 1)
    i = np.clip(place.astype(int), 0, n - 2)
    t = (place - i)[:, None]
    straight = (1.0 - t) * eye[i] + t * eye[i + 1]
    return straight + ((1.0 - t) ** 3 - (1.0 - t)) * bend[i] + (t**3 - t) * bend[i + 1]


@functools.cache
def _refine() -> tuple[Array, Array, Array]:
    """Matrices that take table nodes to the fine temperature and ln p grids, and ln p itself."""
    d = data()
    fine_t = T_LOW + T_STEP * np.arange(T_COUNT)
    fine_t = fine_t[fine_t >= d.temperature[0]]
    lp = np.log(d.pressure)
    fine_p = np.linspace(lp[0], lp[-1], P_PER_NODE * (len(lp) - 1) + 1)
    return _spline(d.temperature, fine_t), _spline(lp, fine_p), fine_p


@dataclass(frozen=True)
class Charged:
    """Gas properties of K distinct charges, ready for the cycle; `row` maps builds to them.

    psi is the entropy of the unburnt gas over its gas constant; along an isentrope it moves with
    ln p. `unburnt` holds T + i u over psi, `burnt` u + i R T over T and ln p, `cells` the same as
    the four coefficients of each cell, z = c0 + wp c1 + wt (c2 + wp c3). For each kg of charge
    `unburnt_moles` are those of the unburnt gas, `vapour_moles` and `liquid_enthalpy` those of all
    its fuel as vapour, and as liquid at 298.15 K.
    """

    row: Array
    gas_constant: Array
    psi_low: Array
    psi_step: Array
    unburnt: Array
    family: str
    share: Array
    phi: Array
    frozen_moles: Array
    unburnt_moles: Array
    vapour_moles: Array
    liquid_enthalpy: Array
    fuel_share: Array

    @functools.cached_property
    def burnt(self) -> Array:
        """u + i R T of the burnt gas over charges, temperature and ln p."""
        f = data().families[self.family]
        at, ap, _ = _refine()
        grid_t = T_LOW + T_STEP * np.arange(T_COUNT)
        u = np.repeat((self.frozen_moles @ _grid_energy().T)[:, :, None], ap.shape[0], axis=2)
        n = np.broadcast_to(self.frozen_moles.sum(axis=1)[:, None, None], u.shape).copy()
        hot = T_COUNT - at.shape[0]
        u[:, hot:] += at @ _between(f, f.u, self.share, self.phi) @ ap.T
        n[:, hot:] += 1000.0 * (at @ _between(f, f.n, self.share, self.phi) @ ap.T)
        return u + 1j * (n * R * grid_t[:, None])

    @functools.cached_property
    def cells(self) -> Array:
        """Four coefficients of each cell of `burnt`."""
        b = self.burnt
        out = np.empty((len(b), b.shape[1] - 1, b.shape[2] - 1, 4), dtype=complex)
        out[..., 0] = b[:, :-1, :-1]
        out[..., 1] = b[:, :-1, 1:] - b[:, :-1, :-1]
        out[..., 2] = b[:, 1:, :-1] - b[:, :-1, :-1]
        out[..., 3] = b[:, 1:, 1:] - b[:, 1:, :-1] - out[..., 1]
        return out

    def psi(self, temperature: Array) -> Array:
        """psi of the unburnt gas at 1 bar and one temperature for each build."""
        out = np.empty(len(temperature))
        for k, t in enumerate(temperature):
            r = self.row[k] if len(self.row) > 1 else 0
            place = np.interp(t, self.unburnt[r].real, _PLACES)
            out[k] = self.psi_low[r] + self.psi_step[r] * place
        return out

    def unburnt_at(self, psi: Array) -> tuple[Array, Array]:
        """Temperature and energy of the unburnt gas; psi has one row per build."""
        f = psi - self.psi_low[self.row, None]
        f *= 1.0 / self.psi_step[self.row, None]
        i = f.astype(np.intp)
        np.maximum(i, 0, out=i)
        np.minimum(i, PSI_COUNT - 2, out=i)
        w = f - i
        if len(self.unburnt) > 1:
            i += (self.row * PSI_COUNT)[:, None]
        flat = self.unburnt.reshape(-1)
        z = flat.take(i)
        z = z + w * (flat.take(i + 1) - z)
        return z.real, z.imag

    def burnt_at(self, temperature: Array, log_pressure: Array) -> tuple[Array, Array]:
        """u + i R T of the burnt gas, and its slope over temperature; one row per build."""
        grid = _refine()[2]
        count = len(grid)
        f = log_pressure - grid[0]
        f *= (count - 1) / (grid[-1] - grid[0])
        ip = f.astype(np.intp)
        np.maximum(ip, 0, out=ip)
        np.minimum(ip, count - 2, out=ip)
        wp = f - ip
        f = temperature - T_LOW
        f *= 1.0 / T_STEP
        it = f.astype(np.intp)
        np.maximum(it, 0, out=it)
        np.minimum(it, T_COUNT - 2, out=it)
        wt = f - it
        it *= count - 1
        ip += it
        if len(self.cells) > 1:
            ip += (self.row * ((T_COUNT - 1) * (count - 1)))[:, None]
        cell = self.cells.reshape(-1, 4).take(ip, axis=0)
        slope = wp * cell[..., 3]
        slope += cell[..., 2]
        z = wt * slope
        z += cell[..., 0]
        wp = wp * cell[..., 1]
        z += wp
        slope *= 1.0 / T_STEP
        return z, slope


def prepare(mixture: Mixture, residual_fraction: Any) -> Charged:
    """Gas properties of a mixture with residual gas.

    Parameters
    ----------
    mixture : plain SI mixture, numbers or 1-D arrays over builds
    residual_fraction : mass of residual gas over all mass in the cylinder [-]
    """
    of_fuel = (mixture.share, mixture.equivalence_ratio, mixture.evaporated_share)
    return _distinct(mixture.family, *of_fuel, residual_fraction)


def prepare_rows(mixture: Mixture, v: dict[str, Array]) -> Charged:
    """Gas properties, one row per build or one row for all builds where they share the charge."""
    keys = ("share", "phi", "evaporated", "residual_fraction")
    cols = [v[k][:, 0] for k in keys]
    alike = all(np.all(c == c[0]) for c in cols)
    return _distinct(mixture.family, *(c[:1] if alike else c for c in cols))


def _distinct(family: str, *numbers: Any) -> Charged:
    each = (np.atleast_1d(np.asarray(x, dtype=float)) for x in numbers)
    cols = np.broadcast_arrays(*each)
    if len(cols[0]) == 1:
        return _one(family, *(float(c[0]) for c in cols))
    rows, row = np.unique(np.stack(cols, axis=1), axis=0, return_inverse=True)
    return _prepare(family, rows, row.reshape(-1).astype(np.intp))


def check_unburnt(t: Array) -> None:
    """Unburnt gas within its table, beyond which it would be carried on as a straight line."""
    low, high = float(U_TEMPERATURES[0]), float(U_TEMPERATURES[-1])
    worst = float(t.max()) if t.max() > high else float(t.min())
    if not low <= worst <= high:
        raise fail("cycle", f"unburnt gas at {worst:.0f} K", f"{low:.0f} to {high:.0f} K")


def check_table(p: Array, tb: Array, burnt: Array) -> None:
    """Refuse a state that the gas table does not reach."""
    if tb.max() > 4550.0:
        hot = (tb > 4550.0) & (burnt > 0.01)
        if np.any(hot):
            raise fail("cycle", f"burnt gas at {float(tb[hot].max()):.0f} K", "up to 4550 K")
    if p.max() > 2000e5:
        raise fail("cycle", f"a pressure of {float(p.max()) / 1e5:.0f} bar", "up to 2000 bar")


@functools.lru_cache(maxsize=64)
def _one(family: str, *numbers: float) -> Charged:
    """A single charge; the last ones are kept, for a slider that moves something else."""
    return _prepare(family, np.array([numbers]), np.zeros(1, dtype=np.intp))


@functools.cache
def _grid_energy() -> Array:
    """Molar energy of the products on the fine temperature grid."""
    t = T_LOW + T_STEP * np.arange(T_COUNT)
    return (molar_enthalpy(t) - R * t[:, None])[:, :_N_PRODUCTS]


def _between(family: Family, table: Array, share: Array, phi: Array) -> Array:
    """A table of the family between its nodes of share and equivalence ratio."""
    js, ws = _weights(family.share, share)
    jp, wp = _weights(family.phi, phi)
    w = (ws[:, :, None] * wp[:, None, :]).reshape(len(share), 1, -1)
    pick = (js[:, :, None] * len(family.phi) + jp[:, None, :]).reshape(len(share), -1)
    shape = table.shape[2:]
    flat = table.reshape(-1, int(np.prod(shape)))
    return (w @ flat[pick])[:, 0, :].reshape(len(share), *shape)


def _prepare(name: str, rows: Array, row: Array) -> Charged:
    d = data()
    family = d.families[name]
    share, phi, evaporated, residual = rows.T
    count = len(rows)

    frozen = 1000.0 * _between(family, family.frozen, share, phi)  # mol per kg

    # unburnt gas
    per_kg_fuel, latent = fuel_moles(name, share)
    elements = per_kg_fuel @ d.atoms
    need = elements[:, 0] + elements[:, 1] / 4 - elements[:, 2] / 2
    io, inn = d.index("O2"), d.index("N2")
    air_mass = need / phi * (d.molar_mass[io] + AIR_N2 * d.molar_mass[inn])
    fuel_share = (1.0 - residual) / (1.0 + air_mass)
    vapour = per_kg_fuel * fuel_share[:, None]
    moles = vapour * evaporated[:, None]
    moles[:, io] += need / phi * fuel_share
    moles[:, inn] += AIR_N2 * need / phi * fuel_share
    moles[:, :_N_PRODUCTS] += residual[:, None] * frozen
    # enthalpy of the liquid at 298.15 K: that of the vapour less the latent heat
    liquid = (per_kg_fuel @ molar_enthalpy(298.15) - latent) * fuel_share
    energy, entropy = _unburnt_tables()
    gas_constant = R * moles.sum(axis=1)
    uu = moles @ energy.T + (liquid * (1.0 - evaporated))[:, None]
    psi = (moles @ entropy.T) / gas_constant[:, None]
    low, high = psi[:, 0], psi[:, -1]
    step = (high - low) / (PSI_COUNT - 1)
    even = low[:, None] + step[:, None] * np.arange(PSI_COUNT)
    unburnt = np.empty((count, PSI_COUNT), dtype=complex)
    for k in range(count):
        # ln T is almost straight over psi
        t = np.exp(np.interp(even[k], psi[k], _LOG_T))
        unburnt[k] = t + 1j * np.interp(t, U_TEMPERATURES, uu[k])
    return Charged(
        row=row,
        gas_constant=gas_constant,
        psi_low=low,
        psi_step=step,
        unburnt=unburnt,
        family=name,
        share=share,
        phi=phi,
        frozen_moles=frozen,
        unburnt_moles=moles,
        vapour_moles=vapour,
        liquid_enthalpy=liquid,
        fuel_share=fuel_share,
    )


@with_units(returns="number")
def gamma(temperature: si.Temperature) -> Any:
    """Heat capacity ratio of the gas in a petrol engine, 1.338 - 6e-5 T + 1e-8 T^2.

    Coefficients of M. F. J. Brunt and co-workers, as quoted in a public help page on cylinder
    pressure.

    Parameters
    ----------
    temperature : T [K]
    """
    return (1.0e-8 * temperature - 6.0e-5) * temperature + 1.338
