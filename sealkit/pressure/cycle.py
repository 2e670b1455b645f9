"""Cylinder pressure over the closed part of the cycle, bottom dead centre to bottom dead centre.

One pressure everywhere, energy in balance at every crank angle, burn rate given by the Wiebe
function. Unburnt gas and burnt gas each have a temperature of their own, read from gas tables. The
one mean temperature of a plain single zone would put peak pressure 3.4 to 4.6 % too high, since
burnt gas, hotter than the mean, dissociates more.

Numerics: with kappa = pV/(U - U0) from the last sweep and E = exp(integral of kappa dlnV), the
energy balance is d((U - U0) E) = E (dQ_chemical - dQ_wall), running sums over the crank angle
grid; sweeps are repeated until the pressure stands still.

References
----------
[1] J. B. Heywood, Internal Combustion Engine Fundamentals, 1988.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.arrays import Array
from sealkit.pressure import gas, geometry, grid
from sealkit.pressure.charge import Charge, plain
from sealkit.pressure.evaporation import Spray, at_burn_start, spray_of
from sealkit.pressure.fuels import Mixture
from sealkit.pressure.grid import (
    SIZES,
    STEP,
    Setup,
    columns,
    crank_grid,
    fine,
    grid_of,
    peak_of,
    running,
    stuck,
)
from sealkit.pressure.wall_heat import ANNAND, Rate, choice, wall_of
from sealkit.units import field, with_units

TOLERANCE = 1e-6  # of the pressure, anywhere
NEXT = 0.2  # a sweep moves the pressure by less than this part of the move before it
AHEAD = 0.15
STEADY = 1e-3  # a smaller move of the pressure leaves the rates of evaporation as they are
DAMPED = 14  # sweeps after which steps of burnt temperature or wall heat are halved
_HOT, _HOT_LOG_P = np.array([[2800.0, 1800.0]]), np.log(np.array([[60e5, 6e5]]))
CHUNK = 32


@dataclass(frozen=True)
class Cycle:
    """Pressure and what goes with it over crank angle; arrays end in the crank angle axis."""

    crank_angle: Any = field("angle")
    volume: Any = field("volume")
    pressure: Any = field("pressure")
    temperature: Any = field("temperature")
    unburnt_temperature: Any = field("temperature")
    core_temperature: Any = field("temperature")
    burnt_temperature: Any = field("temperature")
    mass_fraction_burned: Any = field("fraction")
    wall_heat: Any = field("energy")
    peak_pressure: Any = field("pressure")
    peak_angle: Any = field("angle")
    work: Any = field("energy")
    imep: Any = field("pressure")
    fuel_energy: Any = field("energy")
    energy_residual: Any = field("number")
    mass: Any = field("mass")
    evaporated: Any = field("fraction")


# --------------------------------------------------------------------------- the sweeps
@np.errstate(over="ignore", divide="ignore", invalid="ignore")  # a wild sweep is caught below
def _sweep_gas(
    s: Setup, c: gas.Charged, p1: Array, t1: Array, wall: Rate | None, spray: Spray | None
) -> dict[str, Array]:
    """Pressure, temperatures (mean, unburnt, burnt), heat lost, work, energy error, mass.

    The energy error compares the energy of the gas at the end with work and heat: nothing in it
    comes from the sums that gave the pressure.
    """
    v = s.volume
    n = v.shape[1]
    ru = c.gas_constant[c.row][:, None]
    rs = ru if spray is None else spray.gas_constant
    mass = p1 * v[:, :1] / (rs[:, :1] * t1)
    psi1 = c.psi(t1[:, 0])[:, None]
    mb = mass * s.burnt
    mu = mass - mb
    on: Array = np.any(s.burnt > 0.0, axis=0)
    first = int(on.argmax()) if on[-1] else n
    mb_on = mb[:, first:]
    mu_on = mu[:, first:]
    unburnt_r = mu * rs
    unburnt_r_on = unburnt_r[:, first:]
    safe = np.maximum(mb_on, 1e-12 * mass)
    # datums: kappa = pV/(U - U0) comes out alike at two states, cold and hot
    z, slope = c.burnt_at(_HOT + 0.0 * p1, _HOT_LOG_P + 0.0 * p1)
    u0b = _datum(z.real, z.imag)
    kappa_b = z.imag[:, :1] / (z.real[:, :1] - u0b)
    tu, uu = c.unburnt_at(psi1 + np.array([[0.0, 3.0]]))
    u1 = uu[:, :1] if spray is None else uu[:, :1] - spray.energy(t1)
    u0u = _datum(uu, ru * tu)
    kappa_u = rs[:, :1] * tu[:, :1] / (u1 - u0u)
    u0 = mu * u0u + mb * u0b
    released = -0.5 * np.diff(u0, axis=-1)
    start = mass * (u1 - u0u)
    # first guess: the two kappas weighted with their energies
    more_b = (z.real[:, :1] - u0b) / (uu[:, 1:] - u0u) - 1.0
    kappa = kappa_u + (kappa_b - kappa_u) * (s.burnt * (1.0 + more_b) / (1.0 + more_b * s.burnt))
    half_step = 0.5 * float(s.crank_angle[1] - s.crank_angle[0])
    half_log_step = 0.5 * s.log_step
    psi0 = psi1 - np.log(p1)
    p = np.zeros(v.shape)
    lost = np.zeros(v.shape)
    lost_entropy: Any = 0.0
    # at given U, pV moves by this part of a change of p; the sweep makes up for it in advance
    ahead = AHEAD * (mu / mass)
    tb = np.full(mb_on.shape, 2400.0)
    change = np.inf
    more: Any = None
    more_e: Any = None
    for sweep in range(1, grid.SWEEPS + 1):
        limit = TOLERANCE / NEXT if sweep <= DAMPED else TOLERANCE
        e = np.exp(running(kappa, half_log_step, more))
        dq = released  # half of it
        if wall is not None:
            dq = lost[:, :-1] - lost[:, 1:]
            dq *= 0.5
            dq += released
        if more is None and change < 1e-2:
            more, more_e = fine(kappa, s.log_step), fine(e, 2.0 * dq)
            change = np.inf
        us = running(e, dq, more_e)
        us += start
        us /= e
        pv = kappa * us
        new = pv / v
        if not new.min() > 0.0:
            # the first guess of the wall heat can take more than there is
            if wall is None or not np.all(np.isfinite(new)):
                raise stuck(change)
            lost *= 0.5
            lost_entropy = 0.5 * lost_entropy
            continue
        if sweep > 1:
            p /= new
            p -= 1.0
            change = max(float(p.max()), -float(p.min()))
        p = new
        log_p = np.log(p)
        tu, uu = c.unburnt_at(psi0 + log_p - lost_entropy)
        pv = unburnt_r * tu
        if first < n:
            energy = us[:, first:] + u0[:, first:]
            energy -= mu_on * uu[:, first:]
            energy /= safe
            for _ in range(2 if sweep == 1 else 1):
                z, slope = c.burnt_at(tb, log_p[:, first:])
                dt = (energy - z.real) / slope.real
                new_tb = tb + dt
                np.maximum(new_tb, 300.0, out=new_tb)
                np.minimum(new_tb, 4590.0, out=new_tb)
                dt = new_tb - tb
                if sweep > DAMPED:  # where next to nothing is burnt the step can swing
                    dt *= 0.5
                    new_tb = tb + dt
                tb = new_tb
            pv[:, first:] += mb_on * (z.imag + slope.imag * dt)
        if change < limit and more is not None:
            break
        if wall is not None:
            if first < n:
                zone = mb_on * z.imag
                zone /= tb
                zone += unburnt_r_on
                np.divide(pv[:, first:], zone, out=zone)
                tm = np.concatenate([tu[:, :first], zone], axis=1)
            else:
                tm = tu
            flow = wall(p, tm)
            lost = running(flow, half_step)
            flow /= pv
            lost_entropy = running(flow, half_step) if spray is None else 0.0
        if spray is not None:
            if change > STEADY:
                rates = spray.rates(tu)
            lost_entropy = spray.lost_entropy(rates, log_p, None if wall is None else flow)
        pv /= us
        push = pv - kappa
        push *= ahead
        kappa = pv + push
    else:
        raise stuck(change)
    gas.check_unburnt(tu)
    if first < n:
        gas.check_table(p, tb, s.burnt[:, first:])
    burnt_t = np.full(v.shape, np.nan)
    tm = tu.copy()
    dv = np.diff(v, axis=-1)
    work = np.sum(0.5 * (p[:, 1:] + p[:, :-1]) * dv + fine(p, dv), axis=-1)
    end = mu[:, -1] * uu[:, -1]
    if first < n:
        final, _ = c.burnt_at(tb[:, -1:], log_p[:, -1:])
        end = end + mb[:, -1] * final.real[:, -1]
        zone = mu_on * ru
        zone += mb_on * (z.imag + slope.imag * dt) / tb
        np.divide(pv[:, first:], zone, out=tm[:, first:])
        np.copyto(burnt_t[:, first:], tb, where=s.burnt[:, first:] > 0.01)
    error = end - mass[:, 0] * u1[:, 0] + work + lost[:, -1]
    return {
        "pressure": p,
        "temperature": tm,
        "unburnt_temperature": tu,
        "burnt_temperature": burnt_t,
        "wall_heat": lost,
        "work": work,
        "error": error,
        "mass": mass[:, 0],
    }


def _datum(u: Array, rt: Array) -> Array:
    """Energy datum that gives two states (columns) the same RT/(u - datum)."""
    return (u[:, :1] * rt[:, 1:] - u[:, 1:] * rt[:, :1]) / (rt[:, 1:] - rt[:, :1])


@with_units(returns="fields")
def cycle(
    charge: Charge,
    bore: si.Length,
    stroke: si.Length,
    rod: si.Length,
    compression_ratio: si.Above1,
    crank_speed: si.CrankSpeed,
    burn_start: si.AnyAngle,
    burn_duration: si.Angle,
    wiebe_a: si.Number = 5.0,
    released_share: si.Share = 1.0,
    evaporated: si.Share = 0.0,
    late_cooling: si.Share = 0.0,
    wall_heat: str = "Woschni",
    wall_temperature: si.Temperature = 450.0,
    temperature_exponent: si.AnyNumber = 0.53,
    wall_coefficient: si.Number = ANNAND,
    step: si.Angle = STEP,
) -> Cycle:
    """Cylinder pressure of a real charge: gas tables with dissociation, burn rate, wall heat.

    d(m_u u_u + m_b u_b) = -p dV - dQ_wall; pV = m_u R_u T_u + m_b R_b T_b; unburnt gas along its
    isentrope but for its share of the wall heat, taken by volume; burnt gas in equilibrium.

    First law with two zones; [1], sections 9.2.3 and 14.4. Gas data: the note inside the gas table.
    Returns Cycle; ``temperature`` is the mean one, pV over mass and gas constant;
    ``core_temperature`` that of unburnt gas compressed without heat from bottom dead centre, the
    hottest there is: walls do not cool it, liquid that evaporates later only by ``late_cooling``;
    ``evaporated`` the part of all fuel that is vapour as the burn starts. Raises InputError for a
    gas outside the tables (burnt 4550 K, unburnt 200 to 1800 K, 2000 bar), a burn too short for the
    grid or not over by bottom dead centre, or if the sweeps do not come to rest.

    Parameters
    ----------
    charge : from `sealkit.pressure.charge`; its pressure and temperature hold at bottom dead
        centre, the mass follows from them
    bore, stroke, rod : [m]
    compression_ratio : [-]
    crank_speed : [rev/s]
    burn_start, burn_duration : of the Wiebe curve [rad], see `sealkit.pressure.burn.burn_timing`
    wiebe_a : its efficiency factor [-]
    released_share : part of the charge that ever burns [-]; the rest stays unburnt gas
    evaporated : part of the fuel still liquid at bottom dead centre that turns to vapour before
        the burn starts [-], as far as the gas can hold it; the rest stays liquid until it burns
    late_cooling : part of the cooling by that fuel which the core of the unburnt gas gets [-]
    wall_heat : "Annand", "Woschni", "Hohenberg" or "none"
    wall_temperature : [K]
    temperature_exponent : of Woschni's correlation [-], 0.53 or 0.55
    wall_coefficient : of Annand's correlation [-], 0.35 to 0.8
    step : of the crank angle grid [rad], 0.02 to 4 deg, made a whole part of the turn
    """
    given = locals()
    charge = plain(charge, Charge)
    mixture = charge.mixture
    numbers = (
        *(*SIZES, "crank_speed", "burn_start", "burn_duration", "wiebe_a", "released_share"),
        *("late_cooling", "wall_temperature", "wall_coefficient"),
    )
    own = {k: given[k] for k in numbers}
    more = {"in_compression": evaporated, "heating_value": mixture.lower_heating_value}
    shape, v = columns({**own, **charge.state, **more})
    kind, exponent, done = choice(wall_heat), float(temperature_exponent), []
    for start in range(0, len(v["bore"]), CHUNK):
        part = {k: a[start : start + CHUNK] for k, a in v.items()}
        done.append(_of_some(grid_of(part, float(step)), mixture, part, kind, exponent))
    found = {k: np.concatenate([d[k] for d in done]) for k in done[0]}
    angles = crank_grid(float(step))
    found["peak_pressure"], found["peak_angle"] = peak_of(angles, found["pressure"])
    found["imep"] = found["work"] / found.pop("displacement")
    found["energy_residual"] = np.abs(found.pop("error")) / found["fuel_energy"]
    out: dict[str, Any] = {}
    for key, value in found.items():
        tail = value.shape[1:]
        out[key] = value.reshape(*shape, *tail)[()] if shape or tail else float(value[0])
    return Cycle(crank_angle=angles, **out)


def _of_some(
    s: Setup, mixture: Mixture, v: dict[str, Array], kind: str, exponent: float
) -> dict[str, Array]:
    """What `cycle` gives for some of the builds, and what it needs to work out the rest."""
    p1, t1, now = v["pressure"], v["temperature"], v["evaporated"]
    vapour = now + v["in_compression"] * (1.0 - now)
    at_bdc = c = gas.prepare_rows(mixture, v)
    if np.any(vapour > now):
        low = geometry.cylinder_volume.si(s.burn_start, *(v[k] for k in SIZES))
        state = (x[:, 0] for x in (p1, t1, s.volume[:, :1] / low, now, vapour))
        vapour = at_burn_start(at_bdc, *state)[:, None]
        c = gas.prepare_rows(mixture, {**v, "evaporated": vapour})
    wall = wall_of(kind, s, v, exponent, c.gas_constant[c.row][:, None])
    spray = spray_of(s, c, vapour - now)
    out = _sweep_gas(s, c, p1, t1, wall, spray)
    rise = np.log(out["pressure"] / p1)
    core = at_bdc.unburnt_at(at_bdc.psi(t1[:, 0])[:, None] + rise)[0]
    if spray is not None and np.any(v["late_cooling"]):
        lost = spray.lost_entropy(spray.rates(out["unburnt_temperature"]), rise, None)
        cooled = c.unburnt_at(c.psi(t1[:, 0])[:, None] + rise - lost)[0]
        core += v["late_cooling"] * (cooled - core)
    return {
        **out,
        "core_temperature": core,
        "evaporated": vapour[:, 0],
        "fuel_energy": out["mass"] * c.fuel_share[c.row] * v["heating_value"][:, 0],
        "volume": s.volume,
        "mass_fraction_burned": s.burnt,
        "displacement": s.displacement[:, 0],
    }
