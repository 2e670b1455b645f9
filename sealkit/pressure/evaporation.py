"""Fuel that turns to vapour: what air can hold, and what evaporates while it is compressed.

References
----------
[1] R. C. Reid, J. M. Prausnitz and B. E. Poling, The Properties of Gases and Liquids, 4th ed., 1987
    (Antoine's equation and Raoult's law; written from memory).
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import tables
from sealkit.pressure import gas, gas_data
from sealkit.pressure.grid import Setup, running

__all__ = ["Spray", "at_burn_start", "room", "saturation_pressure", "spray_of"]

Array = NDArray[Any]
MMHG = 133.322387415


def saturation_pressure(vapour: Array, temperature: Array) -> Array:
    """Pressure of the fuel's vapour over its liquid, Pa; infinite for a gas.

    p = sum of x_i p_i(T), log10(p_i/mmHg) = a - b/(t + c), t in degC

    Parameters
    ----------
    vapour : moles of each species of the fuel, last axis = species; x_i are their shares
    temperature : T [K], one for each row of `vapour`

    Notes
    -----
    [1]. The liquid keeps the make-up of the fuel. For gasoline, whose stand-in has no light ends,
    this is on the low side.
    """
    share = vapour / vapour.sum(axis=-1, keepdims=True)
    there = np.flatnonzero(np.any(share > 0.0, axis=tuple(range(share.ndim - 1))))
    a, b, c = (x[there] for x in _antoine())
    t = np.asarray(temperature, dtype=float)[..., None] - 273.15
    pressures: Array = MMHG * 10.0 ** (a - b / (t + c))
    out: Array = np.sum(share[..., there] * pressures, axis=-1)
    return np.where(np.isnan(out), np.inf, out)


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

    `liquid` is the part of the fuel still to evaporate and `falls` its rate [1/rad], over crank
    angle; `moles` of gas for each kg of charge, `vapour` of all fuel as vapour, `latent` the
    enthalpy of all fuel as liquid; `gas_heat` and `vapour_heat` the polynomials of cp/R.
    """

    liquid: Array
    falls: Array
    moles: Array
    vapour: Array
    latent: Array
    gas_heat: Array
    vapour_heat: Array
    vapour_datum: Array

    @property
    def gas_constant(self) -> Array:
        """R of the unburnt gas over crank angle."""
        return gas.R * (self.moles - self.liquid * self.vapour)

    def heat(self, t: Array) -> Array:
        """Enthalpy it takes to evaporate all fuel at T, J for each kg of charge."""
        out = self.vapour_heat[:, 4:] / 5.0 * t
        for k in (3, 2, 1, 0):
            out = (out + self.vapour_heat[:, k : k + 1] / (k + 1.0)) * t
        return gas.R * (out + self.vapour_datum) - self.latent

    def energy(self, t: Array) -> Array:
        """What the unburnt gas has less in energy while its liquid is not yet vapour, J/kg."""
        return self.liquid[:, :1] * (self.heat(t) - gas.R * self.vapour * t)

    def lost_entropy(self, t: Array, log_p: Array, wall: Any) -> Array:
        """What the isentrope of the gas with all this liquid as vapour loses, over its R.

        From dH = V dp - dQ of gas and liquid together; `wall` is dQ/(pV) over crank angle.
        """
        hot, wet = self.gas_heat[:, 4:], self.vapour_heat[:, 4:]
        for k in (3, 2, 1, 0):
            hot = hot * t + self.gas_heat[:, k : k + 1]
            wet = wet * t + self.vapour_heat[:, k : k + 1]
        steeper = hot / (hot - self.liquid * wet)
        share = steeper * (1.0 - self.liquid * self.vapour / self.moles)
        flow = share * wall + steeper * self.heat(t) * self.falls / (self.moles * gas.R * t)
        half = np.pi / (t.shape[1] - 1)
        return running(flow, half) + running(1.0 - share, 0.5 * np.diff(log_p, axis=-1))


def room(pressure: Any, vapour: Array, temperature: Array, others: Array) -> Array:
    """Share of the fuel that saturates `others` moles of gas with its vapour; may be above 1.

    f = y n/((1 - y) n_fuel), y = p_saturation/p
    """
    y = np.minimum(saturation_pressure(vapour, temperature) / pressure, 1.0)
    return y * others / np.maximum(vapour.sum(axis=-1) * (1.0 - y), 1e-12)


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

    def energy(t: Array, more: Array) -> Array:
        h = gas.molar_enthalpy(t) - gas.R * t[..., None]
        return np.sum((moles + more[:, None] * vapour) * h, axis=-1) - more * liquid

    def share(t: Array) -> tuple[Array, Array]:
        f = asked
        for _ in range(3):
            p = p1 * squeeze * (dry + f * all_fuel) * t / ((dry + now * all_fuel) * t1)
            f = np.minimum(asked, np.maximum(now, room(p, vapour, t, dry)))
        return f, p

    start = energy(t1, 0.0 * now)

    def over(t: Array) -> Array:
        f, p = share(t)
        rt = gas.R * (dry + f * all_fuel) * t
        work = (rt - gas.R * (dry + now * all_fuel) * t1) / (np.log(p / p1) / log_squeeze - 1.0)
        return start + work - energy(t, f - now)

    low, high = 0.5 * t1, t1 * squeeze**0.45
    for _ in range(40):
        t = 0.5 * (low + high)
        up = over(t) > 0.0
        low, high = np.where(up, t, low), np.where(up, high, t)
        if np.max(high - low) < 0.2:
            break
    return share(t)[0]


def spray_of(setup: Setup, charged: gas.Charged, share: Array) -> Spray | None:
    """The liquid that evaporates before the burn; `share` of the fuel, (builds, 1).

    It evaporates along half a cosine over the square of the crank angle from bottom dead centre
    to the start of the burn (a choice of this model: nothing published stands behind its shape).
    """
    if not np.any(share > 0.0):
        return None
    whole = setup.burn_start + np.pi
    z = np.minimum((setup.crank_angle + np.pi) / whole, 1.0)
    low = gas_data.data().low
    end, vapour = charged.unburnt_moles[charged.row], charged.vapour_moles[charged.row]
    return Spray(
        liquid=share * 0.5 * (1.0 + np.cos(np.pi * z * z)),
        falls=share * np.pi * z / whole * np.sin(np.pi * z * z),
        moles=end.sum(axis=1, keepdims=True),
        vapour=vapour.sum(axis=1, keepdims=True),
        latent=charged.liquid_enthalpy[charged.row, None],
        gas_heat=end @ low[:, :5],
        vapour_heat=vapour @ low[:, :5],
        vapour_datum=vapour @ low[:, 5:6],
    )
