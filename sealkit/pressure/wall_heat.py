"""Heat from the gas to the walls: correlations, and their rate along a cycle.

References
----------
[1] G. Woschni, SAE 670931, 1967, as quoted in a public help page on cylinder pressure.
[2] G. F. Hohenberg, SAE 790825, 1979, as quoted there.
[3] W. J. D. Annand, Proc. I.Mech.E. 177, 1963, as quoted there: a between 0.35 and 0.8, radiation
    0.075 sigma in spark-ignition engines; 0.49 for a four-stroke engine is from memory.
[4] J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 4.8 (from memory).
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.arrays import Array
from sealkit.errors import fail, near
from sealkit.pressure import geometry
from sealkit.pressure.gas import gamma
from sealkit.pressure.grid import Setup
from sealkit.units import with_units

Rate = Callable[[Array, Array], Array]
WALL_HEAT = ("Annand", "Woschni", "Hohenberg", "none")
MOTORED_EXPONENT = 1.32
C1_CLOSED, C2_FIRED = 2.28, 3.24e-3
HOHENBERG_SPEED = 1.4
ANNAND = 0.49
RADIATION = 0.075 * 5.670374419e-8  # [3], while burning and expanding, W/(m2 K4)


def choice(kind: str) -> str:
    """The correlation of this name, written in any case."""
    for known in WALL_HEAT:
        if str(kind).lower() == known.lower():
            return known
    raise fail("wall_heat", str(kind), f"one of {', '.join(WALL_HEAT)}{near(str(kind), WALL_HEAT)}")


@with_units(returns="speed")
def woschni_gas_speed(
    mean_piston_speed: si.Speed0,
    c2: si.Number0,
    displacement: si.Volume,
    temperature: si.Temperature,
    reference_pressure: si.Pressure,
    reference_volume: si.Volume,
    pressure: si.Pressure,
    motored_pressure: si.Pressure,
) -> Any:
    """Gas speed in Woschni's correlation [1].

    w = 2.28 Sp + C2 Vd T1/(p1 V1) (p - pm), never below 2.28 Sp/100

    Parameters
    ----------
    mean_piston_speed : Sp [m/s]
    c2 : C2 [m/(s K)], 0 before the burn, 3.24e-3 from its start on
    displacement : Vd of one cylinder [m3]
    temperature, reference_pressure, reference_volume : T1 [K], p1 [Pa], V1 [m3] at one point
        before the burn
    pressure, motored_pressure : p, and pm without a burn [Pa]
    """
    base = C1_CLOSED * np.asarray(mean_piston_speed, dtype=float)
    scale = c2 * displacement * temperature / (reference_pressure * reference_volume)
    return np.maximum(base + scale * (pressure - motored_pressure), 0.01 * base)[()]


@with_units(returns="heat transfer")
def woschni_heat_transfer(
    bore: si.Length,
    pressure: si.Pressure,
    temperature: si.Temperature,
    gas_speed: si.Speed,
    temperature_exponent: si.AnyNumber = 0.53,
) -> Any:
    """Heat transfer coefficient from gas to wall after Woschni [1].

    h = 3.26 B^-0.2 p^0.8 T^-n w^0.8 with p in kPa (the same as 129.8 with p in bar)

    Parameters
    ----------
    bore : B [m]
    pressure : p [Pa]
    temperature : mean gas temperature T [K]
    gas_speed : w [m/s], see `woschni_gas_speed`
    temperature_exponent : n [-], 0.53 in the original paper, 0.55 in text books
    """
    log = 0.8 * np.log(np.asarray(pressure, dtype=float) * gas_speed * 1e-3)
    log = log - temperature_exponent * np.log(temperature)
    return 3.26 * np.asarray(bore, dtype=float) ** -0.2 * np.exp(log)


@with_units(returns="heat transfer")
def hohenberg_heat_transfer(
    volume: si.Volume,
    pressure: si.Pressure,
    temperature: si.Temperature,
    mean_piston_speed: si.Speed0,
) -> Any:
    """Heat transfer coefficient from gas to wall after Hohenberg [2].

    h = 130 V^-0.06 p^0.8 T^-0.4 (Sp + 1.4)^0.8 with p in bar

    Parameters
    ----------
    volume : cylinder volume V at this moment [m3]
    pressure : p [Pa]
    temperature : mean gas temperature T [K]
    mean_piston_speed : Sp [m/s]
    """
    log = 0.8 * np.log(np.asarray(pressure, dtype=float) * 1e-5)
    log = log - 0.4 * np.log(temperature) - 0.06 * np.log(volume)
    return (
        130.0 * np.exp(log) * (np.asarray(mean_piston_speed, dtype=float) + HOHENBERG_SPEED) ** 0.8
    )


@with_units(returns="heat transfer")
def annand_heat_transfer(
    bore: si.Length,
    pressure: si.Pressure,
    temperature: si.Temperature,
    mean_piston_speed: si.Speed0,
    gas_constant: si.SpecificHeat = 287.0,
    coefficient: si.Number = ANNAND,
) -> Any:
    """Heat transfer coefficient from gas to wall after Annand, its convection.

    h = a (k/B) Re^0.7, Re = rho Sp B/mu, k = cp mu/0.7, mu = 3.3e-7 (T/K)^0.7 kg/(m s)

    From [3]; viscosity of [4].

    Parameters
    ----------
    bore : B [m]
    pressure, temperature : of the gas, mean [Pa], [K]; rho = p/(R T)
    mean_piston_speed : Sp [m/s]
    gas_constant : R [J/(kg K)]; cp = R gamma/(gamma - 1), gamma of `sealkit.pressure.gas.gamma`
    coefficient : a [-], 0.35 to 0.8
    """
    t = np.asarray(temperature, dtype=float)
    ratio = gamma.si(t)
    cp = gas_constant * ratio / (ratio - 1.0)
    flow = np.exp(0.7 * np.log(pressure * mean_piston_speed / (gas_constant * t)))
    sticky = np.exp(0.21 * np.log(t)) * 3.3e-7**0.3
    return coefficient / 0.7 * np.asarray(bore, dtype=float) ** -0.3 * cp * sticky * flow


def wall_of(
    kind: str, setup: Setup, v: dict[str, Array], exponent: float, gas_constant: Array
) -> Rate | None:
    """dQ/dtheta [J/rad] over pressure and temperature along the cycle; None without wall heat.

    Formulas as in the functions above, powers taken in one step, constant parts worked out once.
    """
    if kind == "none":
        return None
    p1, t1, walls = v["pressure"], v["temperature"], v["wall_temperature"]
    sp = geometry.mean_piston_speed.si(v["stroke"], v["crank_speed"])
    per_radian = setup.area / (2.0 * np.pi * v["crank_speed"])
    burning = setup.crank_angle >= setup.burn_start - 1e-12
    one = np.ones_like(p1)
    # each correlation at p = T = w = 1 gives its constant factor
    if kind == "Annand":
        ratio = gamma.si(1.0)
        to = (sp, gas_constant, v["wall_coefficient"])
        factor = annand_heat_transfer.si(v["bore"], one, one, *to)
        factor = factor * (ratio - 1.0) / ratio * per_radian
        return functools.partial(_annand, factor, RADIATION * burning * per_radian, walls)
    if kind == "Hohenberg":
        factor = hohenberg_heat_transfer.si(setup.volume, one, one, sp) * per_radian
        return lambda pressure, t: _powers(factor, pressure, t, 0.4, walls)
    speed = C1_CLOSED * (sp * one)
    motored = p1 * (setup.volume[:, :1] / setup.volume) ** MOTORED_EXPONENT
    jump = burning * woschni_gas_speed.si(
        0.0, C2_FIRED, setup.displacement, t1, p1, setup.volume[:, :1], 1.0, 0.0
    )
    factor = woschni_heat_transfer.si(v["bore"], one, one, one, exponent) * per_radian

    def woschni(pressure: Array, t: Array) -> Array:
        w = pressure - motored
        w *= jump
        w += speed
        np.maximum(w, 0.01 * speed, out=w)
        w *= pressure
        return _powers(factor, w, t, exponent, walls)

    return woschni


def _annand(factor: Array, radiation: Array, walls: Array, pressure: Array, t: Array) -> Array:
    h = np.log(pressure)
    h *= 0.7
    w = np.log(t)
    w *= 0.49
    h -= w
    np.exp(h, out=h)
    h *= factor
    ratio = gamma.si(t)
    h *= ratio
    ratio -= 1.0
    h /= ratio
    w = t + walls
    w *= t * t + walls * walls
    w *= radiation
    h += w
    h *= t - walls
    return h


def _powers(factor: Array, w: Array, t: Array, power: float, walls: Array) -> Array:
    """factor w^0.8 T^-power (T - Tw)."""
    log = np.log(w)
    log *= 0.8
    lt = np.log(t)
    lt *= power
    log -= lt
    out = np.exp(log)
    out *= factor
    out *= t - walls
    return out
