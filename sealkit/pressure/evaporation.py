"""Fuel that turns to vapour: what air can hold, and what evaporates while it is compressed.

References
----------
[1] R. C. Reid, J. M. Prausnitz and B. E. Poling, The Properties of Gases and Liquids, 4th ed., 1987
    (Antoine's equation and Raoult's law; written from memory).
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.arrays import Array
from sealkit.pressure import gas, gas_data
from sealkit.pressure.grid import Setup

MMHG = 133.322387415


def saturation(vapour: Array) -> Callable[[Array], Array]:
    """Pressure of the fuel's vapour over its liquid, Pa, as a function of T; infinite for a gas.

    p = sum of x_i p_i(T), log10(p_i/mmHg) = a - b/(t + c), t in degC

    From [1]. The liquid keeps the make-up of the fuel. For gasoline, whose stand-in has no light
    ends, this is on the low side. Returns a function of T [K], one for each row of `vapour`.

    Parameters
    ----------
    vapour : moles of each species of the fuel, last axis = species; x_i are their shares
    """
    share = vapour / vapour.sum(axis=-1, keepdims=True)
    there = np.flatnonzero(np.any(share > 0.0, axis=tuple(range(share.ndim - 1))))
    share = MMHG * share[..., there]
    a, b, c = (x[there] for x in _antoine())
    a, b, c = a * np.log(10.0), b * np.log(10.0), c - 273.15

    def pressure(temperature: Array) -> Array:
        t = np.asarray(temperature, dtype=float)[..., None]
        out: Array = np.sum(share * np.exp(a - b / (t + c)), axis=-1)
        return np.where(np.isnan(out), np.inf, out)

    return pressure


@functools.cache
def _antoine() -> tuple[Array, Array, Array]:
    """a, b, c of every species; none for a gas."""
    a, b, c = np.full((3, len(gas_data.data().species)), np.nan)
    table = tables.load("vapour-pressure")
    for name in table:
        k, row = gas_data.data().index(name), table[name]
        a[k], b[k], c[k] = row["a"], row["b"], row["c"]
    return a, b, c


@dataclass(frozen=True)
class Spray:
    """Liquid that evaporates between bottom dead centre and the start of the burn.

    `liquid` is the part of the fuel still to evaporate, `falls` its rate [1/rad] over the moles of
    gas and R, `gas_share` the part of those moles that is gas already, all over the first crank
    angles of the cycle's `angles`; `moles` of gas for each kg of charge, `vapour` of all fuel as
    vapour, `latent` the enthalpy of all fuel as liquid; `gas_heat` and `vapour_heat` the
    polynomials of cp/R.
    """

    liquid: Array
    falls: Array
    gas_share: Array
    angles: int
    moles: Array
    vapour: Array
    latent: Array
    gas_heat: Array
    vapour_heat: Array
    vapour_datum: Array

    @property
    def gas_constant(self) -> Array:
        """R of the unburnt gas over crank angle."""
        out = np.ones((len(self.liquid), self.angles))
        out[:, : self.liquid.shape[1]] = self.gas_share
        out *= gas.R * self.moles
        return out

    def heat(self, t: Array) -> Array:
        """Enthalpy it takes to evaporate all fuel at T, J for each kg of charge."""
        out = _polynomial(self.vapour_heat / np.arange(1.0, 6.0), t)
        out *= t
        out += self.vapour_datum
        out *= gas.R
        out -= self.latent
        return out

    def energy(self, t: Array) -> Array:
        """What the unburnt gas has less in energy while its liquid is not yet vapour, J/kg."""
        return self.liquid[:, :1] * (self.heat(t) - gas.R * self.vapour * t)

    def rates(self, t: Array) -> tuple[Array, Array]:
        """Two parts of the entropy lost over crank angle, at T: as a share of ln p, and by heat.

        They change so little that late sweeps need not work them out again.
        """
        t = t[:, : self.liquid.shape[1]]
        hot, wet = _polynomial(self.gas_heat, t), _polynomial(self.vapour_heat, t)
        wet *= self.liquid
        np.subtract(hot, wet, out=wet)
        hot /= wet
        flow = self.heat(t)
        flow *= self.falls
        flow *= hot
        flow /= t
        hot *= self.gas_share
        np.subtract(1.0, hot, out=hot)
        return hot, flow

    def lost_entropy(self, rates: tuple[Array, Array], log_p: Array, wall: Array | None) -> Array:
        """What the isentrope of the gas with all this liquid as vapour loses, over its R.

        From dH = V dp - dQ of gas and liquid together; `rates` of this class, `wall` is dQ/(pV)
        over crank angle.
        """
        less, flow = rates
        n = less.shape[1]
        half = np.pi / (log_p.shape[1] - 1)
        out = np.zeros(log_p.shape)
        rise = out[:, 1:]
        if wall is not None:
            np.add(wall[:, 1:], wall[:, :-1], out=rise)
            rise *= half
            flow = flow - less * wall[:, :n]
        early = flow[:, 1:] + flow[:, :-1]
        early *= half
        share = less[:, 1:] + less[:, :-1]
        share *= 0.5
        share *= log_p[:, 1:n] - log_p[:, : n - 1]
        early += share
        rise[:, : n - 1] += early
        np.add.accumulate(rise, axis=1, out=rise)
        return out


def _polynomial(rows: Array, t: Array) -> Array:
    """c0 + c1 T + ... + c4 T^4, one row of five coefficients for each row of T."""
    out: Array = rows[:, 4:5] * t
    for k in (3, 2, 1):
        out += rows[:, k : k + 1]
        out *= t
    out += rows[:, :1]
    return out


def room(pressure: Any, saturated: Array, fuel: Array, others: Array) -> Array:
    """Share of the fuel that saturates `others` moles of gas with its vapour; may be above 1.

    f = y n/((1 - y) n_fuel), y = p_saturation/p
    """
    y = np.minimum(saturated / pressure, 1.0)
    return y * others / np.maximum(fuel * (1.0 - y), 1e-12)


def root(over: Callable[[Array], Array], t: Array, low: Array, high: Array, near: float) -> Array:
    """Where `over`, which falls with temperature, is zero: secants, halving where they leave."""
    now = over(t)
    new = t + 1.0
    for _ in range(60):
        low, high = np.where(now > 0.0, t, low), np.where(now > 0.0, high, t)
        new = np.where((new > low) & (new < high), new, 0.5 * (low + high))
        then, last, t = now, t, new
        if np.max(np.abs(t - last)) < near:
            break
        now = over(t)
        run = now - then
        new = t - now * (t - last) / np.where(run == 0.0, np.nan, run)
    return t


def at_burn_start(
    charged: gas.Charged, p1: Array, t1: Array, squeeze: Array, now: Array, asked: Array
) -> Array:
    """Share of the fuel that is vapour as the burn starts: as asked, or what saturates the gas.

    First law of a polytropic compression without wall heat, u2 - u1 = (p2 v2 - p1 v1)/(n - 1), n
    from both states. What evaporates late takes in more work than that: the share that saturates
    comes out on the low side.

    Parameters
    ----------
    charged : gas whose `now` share of the fuel is vapour at bottom dead centre
    p1, t1 : there [Pa, K]
    squeeze : volume there over that at the start of the burn [-]
    now, asked : shares of the fuel [-]; all arrays over builds
    """
    moles, vapour = (x[charged.row] for x in (charged.unburnt_moles, charged.vapour_moles))
    all_fuel, liquid = vapour.sum(axis=-1), charged.liquid_enthalpy[charged.row]
    dry = moles.sum(axis=-1) - now * all_fuel
    log_squeeze = np.log(squeeze)
    saturated = saturation(vapour)
    start_moles = dry + now * all_fuel

    def energy(t: Array, more: Array) -> Array:
        h = gas.molar_enthalpy(t) - gas.R * t[..., None]
        return np.sum((moles + more[:, None] * vapour) * h, axis=-1) - more * liquid

    def share(t: Array) -> tuple[Array, Array]:
        """Of the fuel as vapour, whose part of the pressure is n R T/V at most saturation."""
        per_mole = p1 * squeeze * t / (start_moles * t1)
        f = np.minimum(asked, np.maximum(now, saturated(t) / (per_mole * all_fuel)))
        return f, per_mole * (dry + f * all_fuel)

    start = energy(t1, 0.0 * now)

    def over(t: Array) -> Array:
        f, p = share(t)
        work = gas.R * ((dry + f * all_fuel) * t - start_moles * t1)
        work /= np.log(p / p1) / log_squeeze - 1.0
        return start + work - energy(t, f - now)

    return share(root(over, t1 * squeeze**0.3, 0.5 * t1, t1 * squeeze**0.45, 0.05))[0]


def spray_of(setup: Setup, charged: gas.Charged, share: Array) -> Spray | None:
    """The liquid that evaporates before the burn; `share` of the fuel, (builds, 1).

    It evaporates along half a cosine over the square of the crank angle from bottom dead centre
    to the start of the burn (a choice of this model: nothing published stands behind its shape).
    """
    if not np.any(share > 0.0):
        return None
    whole = setup.burn_start + np.pi
    n = int(np.searchsorted(setup.crank_angle, float(np.max(setup.burn_start)))) + 1
    z = np.minimum((setup.crank_angle[:n] + np.pi) / whole, 1.0)
    low = gas_data.data().low
    end, fuel = charged.unburnt_moles[charged.row], charged.vapour_moles[charged.row]
    moles, vapour = end.sum(axis=1, keepdims=True), fuel.sum(axis=1, keepdims=True)
    liquid = share * 0.5 * (1.0 + np.cos(np.pi * z * z))
    return Spray(
        liquid=liquid,
        falls=share * np.pi * z / whole * np.sin(np.pi * z * z) / (moles * gas.R),
        gas_share=1.0 - liquid * vapour / moles,
        angles=len(setup.crank_angle),
        moles=moles,
        vapour=vapour,
        latent=charged.liquid_enthalpy[charged.row, None],
        gas_heat=end @ low[:, :5],
        vapour_heat=fuel @ low[:, :5],
        vapour_datum=fuel @ low[:, 5:6],
    )
