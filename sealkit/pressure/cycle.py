"""Cylinder pressure over the closed part of the cycle, bottom dead centre to bottom dead centre.

One pressure everywhere, energy in balance at every crank angle, burn rate given by the Wiebe
function. Two gases: `simple_cycle` takes a gas constant and a heat capacity ratio; `cycle` takes
gas tables, with unburnt gas and burnt gas each at its own temperature under the one pressure. The
one mean temperature of a plain single zone would put peak pressure 3.4 to 4.6 % too high, since
burnt gas, hotter than the mean, dissociates more.

Numerics: with kappa = pV/(U - U0) from the last sweep and E = exp(integral of kappa dlnV), the
energy balance is d((U - U0) E) = E (dQ_chemical - dQ_wall), running sums over the crank angle
grid; sweeps are repeated until the pressure stands still.
"""

from __future__ import annotations

import dataclasses
import functools
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit.errors import fail, near
from sealkit.pressure import gas, geometry
from sealkit.pressure.burn import wiebe
from sealkit.pressure.charge import Charge, plain
from sealkit.units import field, with_units

__all__ = [
    "WALL_HEAT",
    "Cycle",
    "UpperBound",
    "cycle",
    "hohenberg_heat_transfer",
    "simple_cycle",
    "upper_bound",
    "woschni_gas_speed",
    "woschni_heat_transfer",
]

Array = NDArray[Any]
WALL_HEAT = ("Woschni", "Hohenberg", "none")
TOLERANCE = 1e-6  # of the pressure, anywhere
NEXT = 0.2  # a sweep moves the pressure by less than this part of the move before it
AHEAD = 0.15
SWEEPS = 60
DAMPED = 14  # sweeps after which steps of burnt temperature or wall heat are halved
HOTTEST = 5000.0  # no heat capacity ratio over temperature reaches further
STEP = float(np.radians(0.5))
_HOT, _HOT_LOG_P = np.array([[2800.0, 1800.0]]), np.log(np.array([[60e5, 6e5]]))
CHUNK = 32
MOTORED_EXPONENT = 1.32
C1_CLOSED, C2_FIRED = 2.28, 3.24e-3
HOHENBERG_SPEED = 1.4
STEFAN_BOLTZMANN = 5.670374419e-8


@dataclass(frozen=True)
class Cycle:
    """Pressure and what goes with it over crank angle; arrays end in the crank angle axis."""

    crank_angle: Any = field("angle")
    volume: Any = field("volume")
    pressure: Any = field("pressure")
    temperature: Any = field("temperature")
    unburnt_temperature: Any = field("temperature")
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
    sweeps: int = 0


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


# --------------------------------------------------------------------------- wall heat
@with_units(
    returns="speed",
    mean_piston_speed="speed >= 0",
    c2="number >= 0",
    displacement="volume > 0",
    temperature="temperature > 0",
    reference_pressure="pressure > 0",
    reference_volume="volume > 0",
    pressure="pressure > 0",
    motored_pressure="pressure > 0",
)
def woschni_gas_speed(
    mean_piston_speed: Any,
    c2: Any,
    displacement: Any,
    temperature: Any,
    reference_pressure: Any,
    reference_volume: Any,
    pressure: Any,
    motored_pressure: Any,
) -> Any:
    """Gas speed in Woschni's correlation.

    w = 2.28 Sp + C2 Vd T1/(p1 V1) (p - pm), never below 2.28 Sp/100

    Parameters
    ----------
    mean_piston_speed : Sp [m/s]
    c2 : C2 [m/(s K)], 0 before the burn, 3.24e-3 from its start on
    displacement : Vd of one cylinder [m3]
    temperature, reference_pressure, reference_volume : T1 [K], p1 [Pa], V1 [m3] at one point
        before the burn
    pressure, motored_pressure : p, and pm without a burn [Pa]

    Returns
    -------
    w [m/s]

    Raises
    ------
    InputError
        for values that are not above 0.

    Notes
    -----
    G. Woschni, SAE 670931, 1967, as quoted in a public help page on cylinder pressure.
    """
    base = C1_CLOSED * np.asarray(mean_piston_speed, dtype=float)
    scale = c2 * displacement * temperature / (reference_pressure * reference_volume)
    return np.maximum(base + scale * (pressure - motored_pressure), 0.01 * base)[()]


@with_units(
    returns="heat transfer",
    bore="length > 0",
    pressure="pressure > 0",
    temperature="temperature > 0",
    gas_speed="speed > 0",
    temperature_exponent="number",
)
def woschni_heat_transfer(
    bore: Any, pressure: Any, temperature: Any, gas_speed: Any, temperature_exponent: Any = 0.53
) -> Any:
    """Heat transfer coefficient from gas to wall after Woschni.

    h = 3.26 B^-0.2 p^0.8 T^-n w^0.8 with p in kPa (the same as 129.8 with p in bar)

    Parameters
    ----------
    bore : B [m]
    pressure : p [Pa]
    temperature : mean gas temperature T [K]
    gas_speed : w [m/s], see `woschni_gas_speed`
    temperature_exponent : n [-], 0.53 in the original paper, 0.55 in text books

    Returns
    -------
    h [W/(m2 K)]

    Raises
    ------
    InputError
        for values that are not above 0.

    Notes
    -----
    G. Woschni, SAE 670931, 1967, as quoted in a public help page on cylinder pressure.
    """
    log = 0.8 * np.log(np.asarray(pressure, dtype=float) * gas_speed * 1e-3)
    log = log - temperature_exponent * np.log(temperature)
    return 3.26 * np.asarray(bore, dtype=float) ** -0.2 * np.exp(log)


@with_units(
    returns="heat transfer",
    volume="volume > 0",
    pressure="pressure > 0",
    temperature="temperature > 0",
    mean_piston_speed="speed >= 0",
)
def hohenberg_heat_transfer(
    volume: Any, pressure: Any, temperature: Any, mean_piston_speed: Any
) -> Any:
    """Heat transfer coefficient from gas to wall after Hohenberg.

    h = 130 V^-0.06 p^0.8 T^-0.4 (Sp + 1.4)^0.8 with p in bar

    Parameters
    ----------
    volume : cylinder volume V at this moment [m3]
    pressure : p [Pa]
    temperature : mean gas temperature T [K]
    mean_piston_speed : Sp [m/s]

    Returns
    -------
    h [W/(m2 K)]

    Raises
    ------
    InputError
        for values that are not above 0.

    Notes
    -----
    G. F. Hohenberg, SAE 790825, 1979, as quoted in a public help page on cylinder pressure.
    """
    log = 0.8 * np.log(np.asarray(pressure, dtype=float) * 1e-5)
    log = log - 0.4 * np.log(temperature) - 0.06 * np.log(volume)
    return (
        130.0 * np.exp(log) * (np.asarray(mean_piston_speed, dtype=float) + HOHENBERG_SPEED) ** 0.8
    )


@dataclass(frozen=True)
class _Wall:
    """Heat flow per radian of crank angle; constant parts worked out once."""

    kind: str
    speed: Array
    jump: Array
    motored: Array
    factor: Array
    exponent: float
    wall_temperature: Array

    def rate(self, pressure: Array, temperature: Array) -> Array:
        """dQ/dtheta [J/rad]. Formulas as in the functions above, powers taken in one step."""
        if self.kind == "Woschni":
            w = pressure - self.motored
            w *= self.jump
            w += self.speed
            np.maximum(w, 0.01 * self.speed, out=w)
            w *= pressure
            power = self.exponent
        else:
            w, power = pressure, 0.4
        log = np.log(w)
        log *= 0.8
        lt = np.log(temperature)
        lt *= power
        log -= lt
        out = np.exp(log)
        out *= self.factor
        out *= temperature - self.wall_temperature
        return out


def _wall(
    kind: str, setup: _Setup, p1: Array, t1: Array, wall_temperature: Array, exponent: float
) -> _Wall | None:
    if kind == "none":
        return None
    sp = geometry.mean_piston_speed.si(setup.stroke, setup.crank_speed)
    per_radian = setup.area / (2.0 * np.pi * setup.crank_speed)
    motored = p1 * (setup.volume[:, :1] / setup.volume) ** MOTORED_EXPONENT
    burning = setup.crank_angle >= setup.burn_start - 1e-12
    one = np.ones_like(p1)
    # each correlation at p = T = w = 1 gives its constant factor
    if kind == "Woschni":
        jump = woschni_gas_speed.si(
            0.0, C2_FIRED, setup.displacement, t1, p1, setup.volume[:, :1], 1.0, 0.0
        )
        factor = woschni_heat_transfer.si(setup.bore, one, one, one, exponent)
        return _Wall(
            kind,
            C1_CLOSED * sp * one,
            jump * burning,
            motored,
            factor * per_radian,
            exponent,
            wall_temperature,
        )
    factor = hohenberg_heat_transfer.si(setup.volume, one, one, sp)
    return _Wall(kind, sp, one, motored, factor * per_radian, exponent, wall_temperature)


# --------------------------------------------------------------------------- grid
@dataclass(frozen=True)
class _Setup:
    """Geometry and burn of some builds: arrays (builds, 1) or (builds, crank angles)."""

    crank_angle: Array
    volume: Array
    area: Array
    log_step: Array
    half_log_step: Array
    burnt: Array
    bore: Array
    stroke: Array
    displacement: Array
    crank_speed: Array
    burn_start: Array


def _grid(step: float) -> Array:
    count = round(2.0 * np.pi / step)
    if count < 90 or count > 20000:
        raise fail("step", f"{np.degrees(step):g} deg", '0.02 to 4 deg, such as "0.5 deg"')
    count += count % 2  # top dead centre is on the grid
    return np.linspace(-np.pi, np.pi, count + 1)


def _shape(v: dict[str, Array], step: float) -> tuple[Array, ...]:
    """Crank angles, volume, steps of ln V, chamber area."""
    theta = _grid(step)
    sizes = tuple(v[k] for k in ("bore", "stroke", "rod", "compression_ratio"))
    volume = geometry.cylinder_volume.si(theta, *sizes)
    area = geometry.chamber_area.si(theta, *sizes[:3])
    return theta, volume, np.diff(np.log(volume), axis=-1), area


@functools.lru_cache(maxsize=8)
def _one_shape(step: float, *sizes: float) -> tuple[Array, ...]:
    """The same for one engine; the last ones are kept."""
    keys = ("bore", "stroke", "rod", "compression_ratio")
    out = _shape({k: np.array([[x]]) for k, x in zip(keys, sizes, strict=True)}, step)
    for a in out:
        a.flags.writeable = False
    return out


def _setup(v: dict[str, Array], step: float) -> _Setup:
    early = np.abs(v["burn_start"]) >= np.pi
    if np.any(early):
        came = f"{np.degrees(v['burn_start'][early][0]):.1f} deg"
        raise fail("burn_start", came, "an angle between -180 deg and 180 deg")
    if len(v["bore"]) == 1:
        sizes = (float(v[k][0, 0]) for k in ("bore", "stroke", "rod", "compression_ratio"))
        theta, volume, log_step, area = _one_shape(step, *sizes)
    else:
        theta, volume, log_step, area = _shape(v, step)
    x = wiebe.si(theta, v["burn_start"], v["burn_duration"], v["wiebe_a"], v["wiebe_m"])
    return _Setup(
        crank_angle=theta,
        volume=volume,
        area=area,
        log_step=log_step,
        half_log_step=0.5 * log_step,
        burnt=x * v["released_share"],
        bore=v["bore"],
        stroke=v["stroke"],
        displacement=geometry.swept_volume.si(v["bore"], v["stroke"]),
        crank_speed=v["crank_speed"],
        burn_start=v["burn_start"],
    )


def _running(y: Array, half: Any, extra: Any = None) -> Array:
    """Running integral along the last axis, 0 at the start: trapezoid and `extra` of `_fine`.

    `half` is half the step of the variable of integration.
    """
    out = np.empty(y.shape)
    out[:, 0] = 0.0
    mean = out[:, 1:]
    np.add(y[:, 1:], y[:, :-1], out=mean)
    mean *= half
    if extra is not None:
        mean += extra
    np.add.accumulate(mean, axis=1, out=mean)
    return out


def _fine(y: Array, dx: Array) -> Array:
    """What the trapezoid of each interval misses: h^3/12 (y' x'' - y'' x'), from differences."""
    dy = y[..., 1:] - y[..., :-1]
    out = np.zeros(dy.shape)
    bend = dy[..., 2:] - dy[..., :-2]
    bend *= dx[..., 1:-1]
    turn = dx[..., 2:] - dx[..., :-2]
    turn *= dy[..., 1:-1]
    turn -= bend
    turn *= 1.0 / 24.0
    out[..., 1:-1] = turn
    return out


def _peak(theta: Array, p: Array) -> tuple[Array, Array]:
    """Peak and its angle: parabola through the largest grid value and its neighbours."""
    k = p.argmax(axis=-1)
    np.minimum(np.maximum(k, 1), p.shape[-1] - 2, out=k)
    row = np.arange(len(p))
    a, b, c = p[row, k - 1], p[row, k], p[row, k + 1]
    bend = a - 2.0 * b + c
    off = 0.5 * (a - c) / np.where(bend == 0.0, 1.0, bend)
    return b - 0.25 * (a - c) * off, theta[k] + off * (theta[1] - theta[0])


def _stuck(change: float) -> Any:
    return fail(
        "cycle",
        f"a pressure that still moves by {change:.1e} after {SWEEPS} sweeps",
        "a charge and burn inside the range of the gas model",
    )


# --------------------------------------------------------------------------- the two solvers
@np.errstate(over="ignore", divide="ignore", invalid="ignore")  # a wild sweep is caught below
def _sweep_simple(
    s: _Setup,
    p1: Array,
    t1: Array,
    heat: Array,
    gas_constant: Array,
    ratio: tuple[float, ...],
    wall: _Wall | None,
) -> tuple[Array, Array, Array, int]:
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
    for sweep in range(1, SWEEPS + 1):
        f = np.exp(_running(g, s.half_log_step, more))
        dq = released  # half of it
        if wall is not None:
            dq = lost[:, :-1] - lost[:, 1:]
            dq *= 0.5
            dq += released
        gf = g * f
        if more is None and change < 1e-2:
            more, more_f = _fine(g, s.log_step), _fine(gf, 2.0 * dq)
            change = np.inf
        new = _running(gf, dq, more_f)
        new += p1 * v[:, :1]
        new /= f * v
        if not new.min() > 0.0:
            # the first guess of the wall heat can take more than there is
            if wall is None or not np.all(np.isfinite(new)):
                raise _stuck(change)
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
            return p, t, lost, sweep
        if len(ratio) > 1:
            g = gas.gamma.si(np.minimum(t, HOTTEST), ratio) - 1.0
        if wall is not None:
            flow = _running(wall.rate(p, t), half_step)
            lost = flow if sweep <= DAMPED else 0.5 * (lost + flow)
    raise _stuck(change)


@np.errstate(over="ignore", divide="ignore", invalid="ignore")  # a wild sweep is caught below
def _sweep_gas(
    s: _Setup, c: gas.Charged, p1: Array, t1: Array, wall: _Wall | None
) -> tuple[Any, ...]:
    """Pressure, temperatures (mean, unburnt, burnt), heat lost, work, energy error, mass, sweeps.

    The energy error compares the energy of the gas at the end with work and heat: nothing in it
    comes from the sums that gave the pressure.
    """
    v = s.volume
    n = v.shape[1]
    ru = c.gas_constant[c.row][:, None]
    mass = p1 * v[:, :1] / (ru * t1)
    psi1 = c.psi(t1[:, 0])[:, None]
    mb = mass * s.burnt
    mu = mass - mb
    on: Array = np.any(s.burnt > 0.0, axis=0)
    first = int(on.argmax()) if on[-1] else n
    mb_on = mb[:, first:]
    mu_on = mu[:, first:]
    unburnt_r = mu * ru
    unburnt_r_on = unburnt_r[:, first:]
    safe = np.maximum(mb_on, 1e-12 * mass)
    # datums: kappa = pV/(U - U0) comes out alike at two states, cold and hot
    z, slope = c.burnt_at(_HOT + 0.0 * p1, _HOT_LOG_P + 0.0 * p1)
    u0b = _datum(z.real, z.imag)
    kappa_b = z.imag[:, :1] / (z.real[:, :1] - u0b)
    tu, uu = c.unburnt_at(psi1 + np.array([[0.0, 3.0]]))
    u1 = uu[:, :1]
    u0u = _datum(uu, ru * tu)
    kappa_u = ru * tu[:, :1] / (uu[:, :1] - u0u)
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
    for sweep in range(1, SWEEPS + 1):
        limit = TOLERANCE / NEXT if sweep <= DAMPED else TOLERANCE
        e = np.exp(_running(kappa, s.half_log_step, more))
        dq = released  # half of it
        if wall is not None:
            dq = lost[:, :-1] - lost[:, 1:]
            dq *= 0.5
            dq += released
        if more is None and change < 1e-2:
            more, more_e = _fine(kappa, s.log_step), _fine(e, 2.0 * dq)
            change = np.inf
        us = _running(e, dq, more_e)
        us += start
        us /= e
        pv = kappa * us
        new = pv / v
        if not new.min() > 0.0:
            # the first guess of the wall heat can take more than there is
            if wall is None or not np.all(np.isfinite(new)):
                raise _stuck(change)
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
            lost = _running(flow, half_step)
            flow /= pv
            lost_entropy = _running(flow, half_step)
        pv /= us
        push = pv - kappa
        push *= ahead
        kappa = pv + push
    else:
        raise _stuck(change)
    if first < n:
        _check_table(p, tb, s.burnt[:, first:])
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
    return p, tm, tu, burnt_t, lost, work, error, mass[:, 0], sweep


def _datum(u: Array, rt: Array) -> Array:
    """Energy datum that gives two states (columns) the same RT/(u - datum)."""
    return (u[:, :1] * rt[:, 1:] - u[:, 1:] * rt[:, :1]) / (rt[:, 1:] - rt[:, :1])


def _work(p: Array, v: Array) -> Array:
    """Work of the whole trace, integral p dV."""
    dv = np.diff(v, axis=-1)
    return np.sum(0.5 * (p[:, 1:] + p[:, :-1]) * dv + _fine(p, dv), axis=-1)


def _check_table(p: Array, tb: Array, burnt: Array) -> None:
    if tb.max() > 4550.0:
        hot = (tb > 4550.0) & (burnt > 0.01)
        if np.any(hot):
            raise fail("cycle", f"burnt gas at {float(tb[hot].max()):.0f} K", "up to 4550 K")
    if p.max() > 2000e5:
        raise fail("cycle", f"a pressure of {float(p.max()) / 1e5:.0f} bar", "up to 2000 bar")


# --------------------------------------------------------------------------- doors
def _columns(values: dict[str, Any]) -> tuple[tuple[int, ...], dict[str, Array]]:
    """Shape over builds, and every value as a column (builds, 1)."""
    if all(isinstance(v, (float, int)) for v in values.values()):  # np.float64 is a float
        return (), {k: np.array([[v]], dtype=float) for k, v in values.items()}
    arrays = {k: np.asarray(v, dtype=float) for k, v in values.items()}
    try:
        shape = np.broadcast_shapes(*(a.shape for a in arrays.values()))
    except ValueError as err:
        came = ", ".join(f"{k} {a.shape}" for k, a in arrays.items() if a.ndim)
        raise fail("arrays", came, "shapes that fit one another") from err
    return shape, {k: np.broadcast_to(a, shape).reshape(-1, 1) for k, a in arrays.items()}


def _choice(kind: str) -> str:
    for known in WALL_HEAT:
        if str(kind).lower() == known.lower():
            return known
    raise fail("wall_heat", str(kind), f"one of {', '.join(WALL_HEAT)}{near(str(kind), WALL_HEAT)}")


def _result(
    setup: _Setup, shape: tuple[int, ...], parts: dict[str, Array], fuel_energy: Array, sweeps: int
) -> Cycle:
    peak, angle = _peak(setup.crank_angle, parts["pressure"])
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
    return Cycle(crank_angle=setup.crank_angle, sweeps=sweeps, **out)


_KINDS = {
    "bore": "length > 0",
    "stroke": "length > 0",
    "rod": "length > 0",
    "compression_ratio": "number > 1",
    "crank_speed": "crank speed > 0",
    "burn_start": "angle",
    "burn_duration": "angle > 0",
    "wiebe_a": "number > 0",
    "wiebe_m": "number > -1",
    "released_share": "fraction 0..1",
    "wall_temperature": "temperature > 0",
    "temperature_exponent": "number",
    "step": "angle > 0",
}


@with_units(
    returns="fields",
    pressure="pressure > 0",
    temperature="temperature > 0",
    heat="energy >= 0",
    gas_constant="specific heat > 0",
    **_KINDS,
)
def simple_cycle(
    bore: Any,
    stroke: Any,
    rod: Any,
    compression_ratio: Any,
    crank_speed: Any,
    pressure: Any,
    temperature: Any,
    heat: Any,
    burn_start: Any,
    burn_duration: Any,
    wiebe_a: Any = 5.0,
    wiebe_m: Any = 2.0,
    released_share: Any = 1.0,
    gas_constant: Any = 287.0,
    gamma: Any = 1.30,
    wall_heat: str = "Woschni",
    wall_temperature: Any = 450.0,
    temperature_exponent: Any = 0.53,
    step: Any = STEP,
) -> Cycle:
    """Cylinder pressure with a simple gas: fixed gas constant, given heat capacity ratio.

    dp/dtheta = -gamma p/V dV/dtheta + (gamma - 1)/V (Q dx/dtheta - dQ_wall/dtheta)

    Parameters
    ----------
    bore, stroke, rod : [m]
    compression_ratio : [-]
    crank_speed : [rev/s]
    pressure, temperature : at bottom dead centre [Pa], [K]
    heat : Q, heat of the whole charge [J]
    burn_start, burn_duration : of the Wiebe curve [rad]
    wiebe_a, wiebe_m : its factors [-]
    released_share : part of the heat that is released [-]
    gas_constant : [J/(kg K)]
    gamma : heat capacity ratio [-], or (c0, c1, c2, ...) of gamma = c0 + c1 T + c2 T^2 + ...
    wall_heat : "Woschni", "Hohenberg" or "none"
    wall_temperature : [K]
    temperature_exponent : of Woschni's correlation [-], 0.53 or 0.55
    step : of the crank angle grid [rad]

    Returns
    -------
    Cycle

    Raises
    ------
    InputError
        for values out of range, a gas above 5000 K with a heat capacity ratio that varies, or if
        the sweeps do not come to rest.

    Notes
    -----
    First law for one zone; J. B. Heywood, Internal Combustion Engine Fundamentals, 1988,
    section 9.2.2.
    """
    shape, v = _columns(
        {
            "bore": bore,
            "stroke": stroke,
            "rod": rod,
            "compression_ratio": compression_ratio,
            "crank_speed": crank_speed,
            "pressure": pressure,
            "temperature": temperature,
            "heat": heat,
            "burn_start": burn_start,
            "burn_duration": burn_duration,
            "wiebe_a": wiebe_a,
            "wiebe_m": wiebe_m,
            "released_share": released_share,
            "gas_constant": gas_constant,
            "wall_temperature": wall_temperature,
        }
    )
    kind = _choice(wall_heat)
    s = _setup(v, float(step))
    ratio = tuple(float(g) for g in np.atleast_1d(gamma))
    p1, t1 = v["pressure"], v["temperature"]
    wall = _wall(kind, s, p1, t1, v["wall_temperature"], float(temperature_exponent))
    p, t, lost, sweeps = _sweep_simple(s, p1, t1, v["heat"], v["gas_constant"], ratio, wall)
    work = _work(p, s.volume)
    # stored energy by its own integral of cv dT, cv = R/(gamma(T) - 1)
    mass = (p1 * s.volume[:, :1] / (v["gas_constant"] * t1))[:, 0]
    kappa = gas.gamma.si(t, ratio) - 1.0 + np.zeros(t.shape)
    cv, dt = 1.0 / kappa, np.diff(t, axis=-1)
    stored = np.sum(0.5 * (cv[:, 1:] + cv[:, :-1]) * dt + _fine(cv, dt), axis=-1)
    stored *= mass * v["gas_constant"][:, 0]
    error = stored + work + lost[:, -1] - v["heat"][:, 0] * s.burnt[:, -1]
    parts = {
        "pressure": p,
        "temperature": t,
        "unburnt_temperature": np.full(t.shape, np.nan),
        "burnt_temperature": np.full(t.shape, np.nan),
        "wall_heat": lost,
        "work": work,
        "error": error,
        "mass": mass,
    }
    return _result(s, shape, parts, np.maximum(v["heat"][:, 0], 1e-300), sweeps)


@with_units(returns="fields", **_KINDS)
def cycle(
    charge: Charge,
    bore: Any,
    stroke: Any,
    rod: Any,
    compression_ratio: Any,
    crank_speed: Any,
    burn_start: Any,
    burn_duration: Any,
    wiebe_a: Any = 5.0,
    wiebe_m: Any = 2.0,
    released_share: Any = 1.0,
    wall_heat: str = "Woschni",
    wall_temperature: Any = 450.0,
    temperature_exponent: Any = 0.53,
    step: Any = STEP,
) -> Cycle:
    """Cylinder pressure of a real charge: gas tables with dissociation, burn rate, wall heat.

    d(m_u u_u + m_b u_b) = -p dV - dQ_wall; pV = m_u R_u T_u + m_b R_b T_b; unburnt gas along its
    isentrope but for its share of the wall heat, taken by volume; burnt gas in equilibrium.

    Parameters
    ----------
    charge : from `sealkit.pressure.charge`; its pressure and temperature hold at bottom dead
        centre, the mass follows from them
    bore, stroke, rod : [m]
    compression_ratio : [-]
    crank_speed : [rev/s]
    burn_start, burn_duration : of the Wiebe curve [rad], see `sealkit.pressure.burn.burn_timing`
    wiebe_a, wiebe_m : its factors [-]
    released_share : part of the charge that ever burns [-]; the rest stays unburnt gas
    wall_heat : "Woschni", "Hohenberg" or "none"
    wall_temperature : [K]
    temperature_exponent : of Woschni's correlation [-], 0.53 or 0.55
    step : of the crank angle grid [rad]

    Returns
    -------
    Cycle; ``temperature`` is the mean one, pV over mass and gas constant

    Raises
    ------
    InputError
        for values out of range, a gas outside the tables (4550 K, 2000 bar), or if the sweeps do
        not come to rest.

    Notes
    -----
    First law with two zones; J. B. Heywood, Internal Combustion Engine Fundamentals, 1988,
    section 9.2.3 and 14.4. Gas data: the note inside the gas table.
    """
    charge = plain(charge, Charge, "charge")
    mixture = charge.mixture
    shape, v = _columns(
        {
            "bore": bore,
            "stroke": stroke,
            "rod": rod,
            "compression_ratio": compression_ratio,
            "crank_speed": crank_speed,
            "burn_start": burn_start,
            "burn_duration": burn_duration,
            "wiebe_a": wiebe_a,
            "wiebe_m": wiebe_m,
            "released_share": released_share,
            "wall_temperature": wall_temperature,
            "pressure": charge.pressure,
            "temperature": charge.temperature,
            "residual_fraction": charge.residual_fraction,
            "share": mixture.share,
            "phi": mixture.equivalence_ratio,
            "evaporated": mixture.evaporated_share,
            "heating_value": mixture.lower_heating_value,
        }
    )
    kind = _choice(wall_heat)
    count = len(v["bore"])
    done: list[tuple[_Setup, tuple[Any, ...]]] = []
    fuels: list[Array] = []
    for start in range(0, count, CHUNK):
        rows = slice(start, min(start + CHUNK, count))
        part = {k: a[rows] for k, a in v.items()}
        s = _setup(part, float(step))
        p1, t1 = part["pressure"], part["temperature"]
        wall = _wall(kind, s, p1, t1, part["wall_temperature"], float(temperature_exponent))
        c = _prepared(mixture, part)
        fuels.append(c.fuel_share[c.row] + np.zeros(len(p1)))
        done.append((s, _sweep_gas(s, c, p1, t1, wall)))
    names = (
        "pressure",
        "temperature",
        "unburnt_temperature",
        "burnt_temperature",
        "wall_heat",
        "work",
        "error",
        "mass",
    )
    first = done[0][0]
    if len(done) == 1:
        setup, parts = first, dict(zip(names, done[0][1], strict=False))
    else:
        setup = dataclasses.replace(
            first,
            **{
                k: np.concatenate([getattr(s, k) for s, _ in done])
                for k in ("volume", "burnt", "displacement")
            },
        )
        parts = {k: np.concatenate([d[1][i] for d in done]) for i, k in enumerate(names)}
    fuel = parts["mass"] * np.concatenate(fuels) * v["heating_value"][:, 0]
    return _result(setup, shape, parts, fuel, max(d[1][-1] for d in done))


def _prepared(mixture: Any, v: dict[str, Array]) -> gas.Charged:
    """Gas properties, one row per build or one row for all builds where they share the charge."""
    keys = ("share", "phi", "evaporated", "residual_fraction")
    cols = [v[k][:, 0] for k in keys]
    if all(len(c) > 1 and np.all(c == c[0]) for c in cols):
        cols = [c[:1] for c in cols]
    plain_mixture = dataclasses.replace(
        mixture, share=cols[0], equivalence_ratio=cols[1], evaporated_share=cols[2]
    )
    return gas.prepare(plain_mixture, cols[3])


@with_units(
    returns="fields",
    bore="length > 0",
    stroke="length > 0",
    rod="length > 0",
    compression_ratio="number > 1",
    step="angle > 0",
)
def upper_bound(
    charge: Charge,
    bore: Any,
    stroke: Any,
    rod: Any,
    compression_ratio: Any,
    step: Any = STEP,
) -> UpperBound:
    """The same charge burnt at once at top dead centre without any heat lost.

    Isentropic compression of the unburnt charge; u_b(T3, p3) = u_u(T2) and p3 V = m R_b T3;
    isentropic expansion in equilibrium.

    Parameters
    ----------
    charge : from `sealkit.pressure.charge`
    bore, stroke, rod : [m]
    compression_ratio : [-]
    step : of the crank angle grid [rad]

    Returns
    -------
    UpperBound. No burn centred at or after top dead centre reaches this peak; a burn that is over
    long before it can.

    Raises
    ------
    InputError
        for values out of range or a gas outside the tables (4550 K, 2000 bar).

    Notes
    -----
    Constant-volume combustion in chemical equilibrium, as problem "uv" of B. J. McBride and
    S. Gordon, NASA RP-1311 part II, 1996.
    """
    charge = plain(charge, Charge, "charge")
    mixture = charge.mixture
    shape, v = _columns(
        {
            "bore": bore,
            "stroke": stroke,
            "rod": rod,
            "compression_ratio": compression_ratio,
            "pressure": charge.pressure,
            "temperature": charge.temperature,
            "residual_fraction": charge.residual_fraction,
            "share": mixture.share,
            "phi": mixture.equivalence_ratio,
            "evaporated": mixture.evaporated_share,
        }
    )
    theta = _grid(float(step))
    done = []
    for start in range(0, len(v["bore"]), CHUNK):
        part = {k: a[start : start + CHUNK] for k, a in v.items()}
        done.append(_bound(theta, _prepared(mixture, part), part))
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
        t = new
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
        z, _ = c.burnt_at(tb, lp)
        new_lp = np.log(per_mass * z.imag)
        done = np.max(np.abs(dt)) < 1e-7 and np.max(np.abs(new_lp - lp)) < 1e-11
        lp = new_lp
        if done:
            break
    peak = np.exp(lp)
    _check_table(peak, tb, np.ones(tb.shape))
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
    for _ in range(SWEEPS):
        us = mass * (energy - datum) / np.exp(_running(kappa, 0.5 * steps))
        new = kappa * us / volume
        change = float(np.max(np.abs(new - last) / new))
        if NEXT * change < TOLERANCE:
            return new
        last = new
        for _ in range(2):
            z, slope = c.burnt_at(t, np.log(new))
            dt = (us / mass + datum - z.real) / slope.real
            t = np.clip(t + dt, 300.0, 4599.0)
        kappa = mass * (z.imag + slope.imag * dt) / us
    raise _stuck(change)
