"""Cylinder pressure over the closed part of the cycle, bottom dead centre to bottom dead centre.

One pressure everywhere, energy in balance at every crank angle, burn rate given by the Wiebe
function. Two gases: `simple_cycle` takes a gas constant and a heat capacity ratio; `cycle` takes
gas tables, with unburnt gas and burnt gas each at its own temperature under the one pressure. The
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

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.pressure import gas, geometry, grid
from sealkit.pressure.charge import Charge, plain
from sealkit.pressure.evaporation import Spray, at_burn_start, spray_of
from sealkit.pressure.grid import (
    SIZES,
    STEP,
    Setup,
    columns,
    fine,
    grid_of,
    peak_of,
    running,
    stuck,
)
from sealkit.pressure.wall_heat import ANNAND, Wall, choice, wall_of
from sealkit.units import field, with_units

Array = NDArray[Any]
TOLERANCE = 1e-6  # of the pressure, anywhere
NEXT = 0.2  # a sweep moves the pressure by less than this part of the move before it
AHEAD = 0.15
STEADY = 1e-3  # a smaller move of the pressure leaves the rates of evaporation as they are
DAMPED = 14  # sweeps after which steps of burnt temperature or wall heat are halved
HOTTEST = 5000.0  # no heat capacity ratio over temperature reaches further
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


# --------------------------------------------------------------------------- the two solvers
@np.errstate(over="ignore", divide="ignore", invalid="ignore")  # a wild sweep is caught below
def _sweep_simple(
    s: Setup,
    p1: Array,
    t1: Array,
    heat: Array,
    gas_constant: Array,
    ratio: tuple[float, ...],
    wall: Wall | None,
) -> tuple[Array, Array, Array]:
    """Pressure, temperature, heat lost; d(pE) = (gamma - 1) E/V dQ, E = exp(int gamma dlnV)."""
    mass = p1 * s.volume[:, :1] / (gas_constant * t1)
    per_t = s.volume / (mass * gas_constant)
    released = 0.5 * np.diff(heat * s.burnt, axis=-1)
    v = s.volume
    # d(pV F) = (gamma - 1) F dQ with F = exp(int (gamma - 1) dlnV)
    g = np.full(v.shape, gas.gamma.si(1200.0, ratio) - 1.0)
    lost = np.zeros(v.shape)
    p = np.zeros(v.shape)
    half_step = 0.5 * float(s.crank_angle[1] - s.crank_angle[0])
    change = np.inf
    more: Any = None
    more_f: Any = None
    for sweep in range(1, grid.SWEEPS + 1):
        f = np.exp(running(g, s.half_log_step, more))
        dq = released  # half of it
        if wall is not None:
            dq = lost[:, :-1] - lost[:, 1:]
            dq *= 0.5
            dq += released
        gf = g * f
        if more is None and change < 1e-2:
            more, more_f = fine(g, s.log_step), fine(gf, 2.0 * dq)
            change = np.inf
        new = running(gf, dq, more_f)
        new += p1 * v[:, :1]
        new /= f * v
        if not new.min() > 0.0:
            # the first guess of the wall heat can take more than there is
            if wall is None or not np.all(np.isfinite(new)):
                raise stuck(change)
            lost *= 0.5
            continue
        p -= new
        p /= new
        change = max(float(p.max()), -float(p.min()))
        p = new
        t = p * per_t
        if NEXT * change < TOLERANCE and more is not None:
            if len(ratio) > 1 and t.max() > HOTTEST:
                raise fail("heat", f"gas at {float(t.max()):.0f} K", f"gas up to {HOTTEST:.0f} K")
            return p, t, lost
        if len(ratio) > 1:
            g = gas.gamma.si(np.minimum(t, HOTTEST), ratio) - 1.0
        if wall is not None:
            flow = running(wall.rate(p, t), half_step)
            lost = flow if sweep <= DAMPED else 0.5 * (lost + flow)
    raise stuck(change)


@np.errstate(over="ignore", divide="ignore", invalid="ignore")  # a wild sweep is caught below
def _sweep_gas(
    s: Setup, c: gas.Charged, p1: Array, t1: Array, wall: Wall | None, spray: Spray | None
) -> tuple[Any, ...]:
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
        e = np.exp(running(kappa, s.half_log_step, more))
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
            flow = wall.rate(p, tm)
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
    work = _work(p, v)
    end = mu[:, -1] * uu[:, -1]
    if first < n:
        final, _ = c.burnt_at(tb[:, -1:], log_p[:, -1:])
        end = end + mb[:, -1] * final.real[:, -1]
        zone = mu_on * ru
        zone += mb_on * (z.imag + slope.imag * dt) / tb
        np.divide(pv[:, first:], zone, out=tm[:, first:])
        np.copyto(burnt_t[:, first:], tb, where=s.burnt[:, first:] > 0.01)
    error = end - mass[:, 0] * u1[:, 0] + work + lost[:, -1]
    return p, tm, tu, burnt_t, lost, work, error, mass[:, 0]


def _datum(u: Array, rt: Array) -> Array:
    """Energy datum that gives two states (columns) the same RT/(u - datum)."""
    return (u[:, :1] * rt[:, 1:] - u[:, 1:] * rt[:, :1]) / (rt[:, 1:] - rt[:, :1])


def _work(p: Array, v: Array) -> Array:
    """Work of the whole trace, integral p dV."""
    dv = np.diff(v, axis=-1)
    return np.sum(0.5 * (p[:, 1:] + p[:, :-1]) * dv + fine(p, dv), axis=-1)


# --------------------------------------------------------------------------- doors


def _result(
    setup: Setup, shape: tuple[int, ...], parts: dict[str, Array], fuel_energy: Array
) -> Cycle:
    peak, angle = peak_of(setup.crank_angle, parts["pressure"])
    error = parts.pop("error")
    parts = {
        **parts,
        "volume": setup.volume,
        "mass_fraction_burned": setup.burnt,
        "peak_pressure": peak,
        "peak_angle": angle,
        "imep": parts["work"] / setup.displacement[:, 0],
        "fuel_energy": fuel_energy,
        "energy_residual": np.abs(error) / fuel_energy,
    }
    out: dict[str, Any] = {}
    for key, value in parts.items():
        tail = value.shape[1:]
        out[key] = value.reshape(*shape, *tail)[()] if shape or tail else float(value[0])
    return Cycle(crank_angle=setup.crank_angle, **out)


_OF_ANY = (
    *(*SIZES, "crank_speed", "burn_start", "burn_duration"),
    *("wall_temperature", "wall_coefficient"),
)
"""Arguments of either cycle that may be arrays over builds."""


@with_units(returns="fields")
def simple_cycle(
    bore: si.Length,
    stroke: si.Length,
    rod: si.Length,
    compression_ratio: si.Above1,
    crank_speed: si.CrankSpeed,
    pressure: si.Pressure,
    temperature: si.Temperature,
    heat: si.Energy0,
    burn_start: si.AnyAngle,
    burn_duration: si.Angle,
    gas_constant: si.SpecificHeat = 287.0,
    gamma: Any = 1.30,
    wall_heat: str = "Woschni",
    wall_temperature: si.Temperature = 450.0,
    temperature_exponent: si.AnyNumber = 0.53,
    wall_coefficient: si.Number = ANNAND,
    step: si.Angle = STEP,
) -> Cycle:
    """Cylinder pressure with a simple gas: fixed gas constant, given heat capacity ratio.

    dp/dtheta = -gamma p/V dV/dtheta + (gamma - 1)/V (Q dx/dtheta - dQ_wall/dtheta)

    First law for one zone; [1], section 9.2.2. Raises InputError for a gas above 5000 K with a heat
    capacity ratio that varies, a burn too short for the grid or not over by bottom dead centre, or
    if the sweeps do not come to rest.

    Parameters
    ----------
    pressure, temperature : at bottom dead centre [Pa], [K]
    heat : Q, heat of the whole charge [J]
    gas_constant : [J/(kg K)]
    gamma : heat capacity ratio [-], or (c0, c1, c2, ...) of gamma = c0 + c1 T + c2 T^2 + ...
    bore, stroke, rod, compression_ratio, crank_speed, burn_start, burn_duration, wall_heat,
        wall_temperature, temperature_exponent, wall_coefficient, step : as of `cycle`
    """
    given = locals()
    own = {k: given[k] for k in (*_OF_ANY, "pressure", "temperature", "heat", "gas_constant")}
    shape, v = columns({**own, "wiebe_a": 5.0, "released_share": 1.0})
    kind = choice(wall_heat)
    s = grid_of(v, float(step))
    ratio = tuple(float(g) for g in np.atleast_1d(gamma))
    p1, t1 = v["pressure"], v["temperature"]
    wall = wall_of(kind, s, v, float(temperature_exponent), v["gas_constant"])
    p, t, lost = _sweep_simple(s, p1, t1, v["heat"], v["gas_constant"], ratio, wall)
    work = _work(p, s.volume)
    # stored energy by its own integral of cv dT, cv = R/(gamma(T) - 1)
    mass = (p1 * s.volume[:, :1] / (v["gas_constant"] * t1))[:, 0]
    kappa = gas.gamma.si(t, ratio) - 1.0 + np.zeros(t.shape)
    cv, dt = 1.0 / kappa, np.diff(t, axis=-1)
    stored = np.sum(0.5 * (cv[:, 1:] + cv[:, :-1]) * dt + fine(cv, dt), axis=-1)
    stored *= mass * v["gas_constant"][:, 0]
    error = stored + work + lost[:, -1] - v["heat"][:, 0] * s.burnt[:, -1]
    parts = {
        "pressure": p,
        "temperature": t,
        "unburnt_temperature": np.full(t.shape, np.nan),
        "core_temperature": np.full(t.shape, np.nan),
        "burnt_temperature": np.full(t.shape, np.nan),
        "wall_heat": lost,
        "work": work,
        "error": error,
        "mass": mass,
        "evaporated": np.full(mass.shape, np.nan),
    }
    return _result(s, shape, parts, np.maximum(v["heat"][:, 0], 1e-300))


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
    charge = plain(charge, Charge, "charge")
    mixture = charge.mixture
    own = {k: given[k] for k in (*_OF_ANY, "wiebe_a", "released_share", "late_cooling")}
    more = {"in_compression": evaporated, "heating_value": mixture.lower_heating_value}
    shape, v = columns({**own, **charge.state, **more})
    kind = choice(wall_heat)
    count = len(v["bore"])
    done: list[tuple[Setup, tuple[Any, ...]]] = []
    fuels: list[Array] = []
    vapours: list[Array] = []
    cores: list[Array] = []
    for start in range(0, count, CHUNK):
        rows = slice(start, min(start + CHUNK, count))
        part = {k: a[rows] for k, a in v.items()}
        s = grid_of(part, float(step))
        p1, t1, now = part["pressure"], part["temperature"], part["evaporated"]
        vapour = now + part["in_compression"] * (1.0 - now)
        at_bdc = c = gas.prepare_rows(mixture, part)
        if np.any(vapour > now):
            low = geometry.cylinder_volume.si(s.burn_start, *(part[k] for k in SIZES))
            squeeze = s.volume[:, :1] / low
            state = (x[:, 0] for x in (p1, t1, squeeze, now, vapour))
            vapour = at_burn_start(at_bdc, *state)[:, None]
            c = gas.prepare_rows(mixture, {**part, "evaporated": vapour})
        vapours.append(vapour[:, 0])
        constant = c.gas_constant[c.row][:, None]
        wall = wall_of(kind, s, part, float(temperature_exponent), constant)
        fuels.append(c.fuel_share[c.row] + np.zeros(len(p1)))
        spray = spray_of(s, c, vapour - now)
        done.append((s, _sweep_gas(s, c, p1, t1, wall, spray)))
        rise = np.log(done[-1][1][0] / p1)
        core = at_bdc.unburnt_at(at_bdc.psi(t1[:, 0])[:, None] + rise)[0]
        if spray is not None and np.any(part["late_cooling"]):
            lost = spray.lost_entropy(spray.rates(done[-1][1][2]), rise, None)
            cooled = c.unburnt_at(c.psi(t1[:, 0])[:, None] + rise - lost)[0]
            core += part["late_cooling"] * (cooled - core)
        cores.append(core)
    names = (
        *("pressure", "temperature", "unburnt_temperature", "burnt_temperature"),
        *("wall_heat", "work", "error", "mass"),
    )
    per_build = ("volume", "burnt", "displacement")
    joined = {k: np.concatenate([getattr(s, k) for s, _ in done]) for k in per_build}
    setup = dataclasses.replace(done[0][0], **joined)
    parts = {k: np.concatenate([d[1][i] for d in done]) for i, k in enumerate(names)}
    parts["evaporated"] = np.concatenate(vapours)
    parts["core_temperature"] = np.concatenate(cores)
    fuel = parts["mass"] * np.concatenate(fuels) * v["heating_value"][:, 0]
    return _result(setup, shape, parts, fuel)
