"""The constant-volume limit: the same charge burnt at once at top dead centre, no heat lost.

References
----------
[1] B. J. McBride and S. Gordon, NASA RP-1311 part II, 1996, problem "uv".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.arrays import Array
from sealkit.pressure import gas, geometry, grid
from sealkit.pressure.charge import Charge, plain
from sealkit.pressure.grid import SIZES, STEP, columns, crank_grid, running, stuck
from sealkit.units import field, with_units

CHUNK = 32


@dataclass(frozen=True)
class UpperBound:
    """The same charge burnt at once at top dead centre, no heat lost."""

    crank_angle: Any = field("angle")
    volume: Any = field("volume")
    pressure: Any = field("pressure")
    compression_pressure: Any = field("pressure")
    compression_temperature: Any = field("temperature")
    peak_pressure: Any = field("pressure")
    peak_temperature: Any = field("temperature")


@with_units(returns="fields")
def upper_bound(
    charge: Charge,
    bore: si.Length,
    stroke: si.Length,
    rod: si.Length,
    compression_ratio: si.Above1,
    step: si.Angle = STEP,
) -> UpperBound:
    """The same charge burnt at once at top dead centre without any heat lost.

    Isentropic compression of the unburnt charge; u_b(T3, p3) = u_u(T2) and p3 V = m R_b T3;
    isentropic expansion in equilibrium.

    Combustion in chemical equilibrium, [1]. Returns UpperBound. No burn centred at or after top
    dead centre reaches this peak; a burn that is over long before it can. Raises InputError for a
    gas outside the tables (4550 K, 2000 bar).

    Parameters
    ----------
    charge : from `sealkit.pressure.charge`
    bore, stroke, rod : [m]
    compression_ratio : [-]
    step : of the crank angle grid [rad]
    """
    charge = plain(charge, Charge)
    mixture = charge.mixture
    sizes = zip(SIZES, (bore, stroke, rod, compression_ratio), strict=True)
    shape, v = columns({**dict(sizes), **charge.state})
    theta = crank_grid(float(step))
    done = []
    for start in range(0, len(v["bore"]), CHUNK):
        part = {k: a[start : start + CHUNK] for k, a in v.items()}
        done.append(_bound(theta, gas.prepare_rows(mixture, part), part))
    volume, pressure, p2, t2, p3, t3 = (np.concatenate(x) for x in zip(*done, strict=True))

    def out(x: Array) -> Any:
        return x.reshape(shape)[()] if shape else float(x[0, 0])

    return UpperBound(
        crank_angle=theta,
        volume=volume.reshape(*shape, -1),
        pressure=pressure.reshape(*shape, -1),
        compression_pressure=out(p2),
        compression_temperature=out(t2),
        peak_pressure=out(p3),
        peak_temperature=out(t3),
    )


def _bound(theta: Array, c: gas.Charged, v: dict[str, Array]) -> tuple[Array, ...]:
    """Volume, pressure, state before and state after the burn, of some builds."""
    volume = geometry.cylinder_volume.si(
        theta, v["bore"], v["stroke"], v["rod"], v["compression_ratio"]
    )
    middle = len(theta) // 2
    p1, t1 = v["pressure"], v["temperature"]
    ru = c.gas_constant[c.row][:, None]
    mass = p1 * volume[:, :1] / (ru * t1)
    # compression: psi(T) - ln(p) constant, p = p1 (V1/V) T/T1
    psi1 = c.psi(t1[:, 0])[:, None]
    ratio = np.log(volume[:, :1] / volume[:, : middle + 1])
    t = t1 * np.exp(0.35 * ratio)
    for _ in range(60):
        new, uu = c.unburnt_at(psi1 + ratio + np.log(t / t1))
        done = np.max(np.abs(new / t - 1.0)) < 1e-11
        t = t * (new / t) ** (4.0 / 3.0)  # a step alone leaves R/cp, a quarter, of what is off
        if done:
            break
    before = p1 * (volume[:, :1] / volume[:, : middle + 1]) * t / t1
    uu = c.unburnt_at(psi1 + np.log(before / p1))[1]
    # burnt state at top dead centre
    per_mass = mass / volume[:, middle : middle + 1]
    target = uu[:, -1:]
    tb = np.full(p1.shape, 2900.0)
    lp = np.log(4.5 * before[:, -1:])
    for _ in range(200):
        z, slope = c.burnt_at(tb, lp)
        dt = np.clip((target - z.real) / slope.real, -400.0, 400.0)
        tb = np.clip(tb + dt, 300.0, 4599.0)
        new_lp = np.log(per_mass * (z.imag + slope.imag * dt))
        done = np.max(np.abs(dt)) < 1e-7 and np.max(np.abs(new_lp - lp)) < 1e-11
        lp = new_lp
        if done:
            break
    peak = np.exp(lp)
    gas.check_table(peak, tb, np.ones(tb.shape))
    # expansion: burnt gas, same sums as the cycle, started from the burnt state
    after = _expand(c, volume[:, middle:], mass, target, tb, peak)
    pressure = np.concatenate([before[:, :-1], after], axis=1)

    return volume, pressure, before[:, -1:], t[:, -1:], peak, tb


def _expand(
    c: gas.Charged, volume: Array, mass: Array, energy: Array, tb: Array, p: Array
) -> Array:
    """Pressure of burnt gas that expands without loss from a known state."""
    steps = np.diff(np.log(volume), axis=-1)
    z, _ = c.burnt_at(tb, np.log(p))
    datum = energy - z.imag / 0.24
    kappa = np.full(volume.shape, 0.24)
    t = tb * (volume[:, :1] / volume) ** 0.2
    last = np.zeros(volume.shape)
    for _ in range(grid.SWEEPS):
        us = mass * (energy - datum) / np.exp(running(kappa, 0.5 * steps))
        new = kappa * us / volume
        change = float(np.max(np.abs(new - last) / new))
        if 0.2 * change < 1e-6:
            return new
        last = new
        for _ in range(2):
            z, slope = c.burnt_at(t, np.log(new))
            dt = (us / mass + datum - z.real) / slope.real
            t = np.clip(t + dt, 300.0, 4599.0)
        kappa = mass * (z.imag + slope.imag * dt) / us
    raise stuck(change)
