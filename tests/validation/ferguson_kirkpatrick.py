"""C. R. Ferguson and A. T. Kirkpatrick, Internal Combustion Engines, 3rd ed.

Heat released over crank angle at a constant heat capacity ratio, with wall heat and blow-by
(equation 2.34); the slope of the Wiebe function and its angles (section 2.5).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.pressure import burn, geometry
from sealkit.units import field, with_units
from tests.validation.cengel import otto_efficiency


@with_units(
    returns="number",
    crank_angle="angle",
    start="angle",
    duration="angle > 0",
    a="number > 0",
    m="number >= 0",
)
def wiebe_rate(crank_angle: Any, start: Any, duration: Any, a: Any = 5.0, m: Any = 2.0) -> Any:
    """Burn rate, the slope of the burnt share over crank angle.

    dx/dtheta = a (m+1)/duration z^m exp(-a z^(m+1)); 0 before the start.
    """
    z = (np.asarray(crank_angle, dtype=float) - start) / duration
    on = z >= 0.0
    z = np.where(on, z, 0.0)
    return np.where(on, a * (m + 1.0) / duration * z**m * np.exp(-a * z ** (m + 1.0)), 0.0)[()]


@with_units(
    returns=("angle", "angle"), start="angle", duration="angle > 0", a="number > 0", m="number > -1"
)
def burn_points(start: Any, duration: Any, a: Any = 5.0, m: Any = 2.0) -> Any:
    """Half-burnt angle and 10-90 % duration of a Wiebe burn; the inverse of `burn_timing`.

    ca50 = start + z(0.5) duration; duration_10_90 = (z(0.9) - z(0.1)) duration.
    """
    return start + burn.share_place(0.5, a, m) * duration, (
        burn.share_place(0.9, a, m) - burn.share_place(0.1, a, m)
    ) * duration


@dataclass(frozen=True)
class FiniteHeatRelease:
    """Result of `finite_heat_release`; pressure, volume and work are told in p1, V1 and p1 V1.

    Parameters
    ----------
    peak_pressure_ratio : largest p/p1 [-]
    peak_angle : crank angle of it [rad]
    work : W/(p1 V1) [-]
    efficiency : work/heat [-]
    efficiency_ratio : efficiency over that of the Otto cycle [-]
    imep_ratio : imep/p1 [-]
    heat_loss : heat to the wall over p1 V1 [-]
    mass_left : mass at the end over mass at the start [-]
    crank_angle, volume, pressure : the course of the cycle; last axis runs over crank angle
    """

    peak_pressure_ratio: Any = field("number")
    peak_angle: Any = field("angle")
    work: Any = field("number")
    efficiency: Any = field("fraction")
    efficiency_ratio: Any = field("number")
    imep_ratio: Any = field("number")
    heat_loss: Any = field("number")
    mass_left: Any = field("number")
    crank_angle: Any = field("angle")
    volume: Any = field("number")
    pressure: Any = field("number")


def _running_sum(f: Any, step: Any) -> Any:
    """Running integral over an even grid along the last axis, by cubics (fourth order)."""
    inner = -f[..., :-3] + 13.0 * f[..., 1:-2] + 13.0 * f[..., 2:-1] - f[..., 3:]
    first = 9.0 * f[..., :1] + 19.0 * f[..., 1:2] - 5.0 * f[..., 2:3] + f[..., 3:4]
    last = 9.0 * f[..., -1:] + 19.0 * f[..., -2:-1] - 5.0 * f[..., -3:-2] + f[..., -4:-3]
    parts = np.concatenate([np.zeros_like(first), first, inner, last], axis=-1)
    return np.cumsum(parts, axis=-1) * step / 24.0


@with_units(
    returns="fields",
    compression_ratio="number > 1",
    heat="number > 0",
    start="angle",
    duration="angle > 0",
    gamma="number > 1",
    a="number > 0",
    m="number >= 0",
    heat_transfer="number >= 0",
    wall_temperature="number > 0",
    area_ratio="number >= 0",
    blow_by="frequency >= 0",
    crank_speed="crank speed > 0",
    points="number >= 100",
)
def finite_heat_release(
    compression_ratio: Any,
    heat: Any,
    start: Any,
    duration: Any,
    gamma: Any = 1.4,
    a: Any = 5.0,
    m: Any = 2.0,
    heat_transfer: Any = 0.0,
    wall_temperature: Any = 1.2,
    area_ratio: Any = 1.5,
    blow_by: Any = 0.0,
    crank_speed: Any = 2000.0 / 60.0,
    points: int = 2000,
) -> FiniteHeatRelease:
    """Cycle with a Wiebe burn, wall heat and blow-by at constant heat-capacity ratio.

    dp/dtheta = -gamma p/V dV/dtheta + (gamma-1)/V [Q dx/dtheta - h (1 + beta V)(p V/M - Tw)]
    - gamma (c/omega) p, dM/dtheta = -(c/omega) M; p, V, M, T in those of bottom dead centre,
    Q in p1 V1; V = [1 + (r-1)/2 (1 - cos(theta))]/r (infinitely long rod).

    Parameters
    ----------
    compression_ratio : r [-]
    heat : Q, heat over p1 V1 [-]
    start, duration : of the Wiebe burn [rad]; the start lies within a turn, -pi..pi
    gamma : heat-capacity ratio [-]
    a, m : Wiebe factors, see `sealkit.pressure.burn.wiebe` [-]
    heat_transfer : h, heat transfer coefficient made dimensionless [-]
    wall_temperature : Tw over T1 [-]
    area_ratio : beta, part of the wall area that goes with the volume [-]
    blow_by : c, share of the mass that leaks each second [1/s]
    crank_speed : omega/(2 pi) [rev/s]
    points : number of steps on either side of the start of the burn

    Returns
    -------
    FiniteHeatRelease

    Notes
    -----
    C. R. Ferguson and A. T. Kirkpatrick, Internal Combustion Engines: Applied Thermosciences,
    3rd ed., equation 2.34. The equation is linear in p, so E p with
    E = V^gamma exp(gamma (c/omega) theta + (gamma-1) integral of h (1 + beta V)/M) is a plain
    integral; no iteration is needed. The burn is not cut at the end of its duration.
    """
    args = (
        compression_ratio, heat, start, duration, gamma, a, m,
        heat_transfer, wall_temperature, area_ratio, blow_by, crank_speed,
    )  # fmt: skip
    arrays = [np.asarray(x, dtype=float)[..., None] for x in args]
    r, q, begin, span, g, a_, m_, h, wall, beta, leak, speed = np.broadcast_arrays(*arrays)
    if np.any(np.abs(begin) >= np.pi):
        worst = np.degrees(begin[np.abs(begin) >= np.pi].flat[0])
        raise fail("start", f"{worst:.4g} deg", '-180 to 180 deg, such as "-20 deg"')
    n = int(points)
    unit = np.linspace(0.0, 1.0, n + 1)
    halves = [(-np.pi + 0.0 * begin, begin), (begin, np.pi + 0.0 * begin)]
    leak = leak / (2.0 * np.pi * speed)

    done: list[tuple[Any, ...]] = []
    p0, work0, loss0 = np.ones_like(r), np.zeros_like(r), np.zeros_like(r)
    for low, high in halves:
        angle = low + (high - low) * unit
        step = (high - low) / n
        volume = (1.0 + (r - 1.0) * geometry.piston_position.si(angle, 1.0, np.inf)) / r
        slope = 0.5 * (r - 1.0) * np.sin(angle) / r
        mass = np.exp(-leak * (angle + np.pi))
        wetted = h * (1.0 + beta * volume)
        growth = (g - 1.0) * _running_sum(wetted / mass, step) + g * leak * (angle - low)
        factor = (volume / volume[..., :1]) ** g * np.exp(growth)
        rate = q * wiebe_rate.si(angle, begin, span, a_, m_) if low is begin else 0.0
        gain = _running_sum(factor * (g - 1.0) / volume * (rate + wetted * wall), step)
        pressure = (p0 + gain) / factor
        work = work0 + _running_sum(pressure * slope, step)
        loss = loss0 + _running_sum(wetted * (pressure * volume / mass - wall), step)
        p0, work0, loss0 = pressure[..., -1:], work[..., -1:], loss[..., -1:]
        done.append((angle, volume, pressure, mass))

    angle, volume, pressure, mass = (
        np.concatenate([one, two[..., 1:]], axis=-1) for one, two in zip(*done, strict=True)
    )
    at = np.clip(np.argmax(pressure, axis=-1), 1, pressure.shape[-1] - 2)[..., None]
    (x0, y0), (x1, y1), (x2, y2) = (
        tuple(np.take_along_axis(z, at + k, axis=-1) for z in (angle, pressure)) for k in (-1, 0, 1)
    )
    # top of the parabola through the three highest points
    s01, s12 = (y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1)
    bend = (s12 - s01) / (x2 - x0)
    with np.errstate(divide="ignore", invalid="ignore"):
        top = np.where(bend < 0.0, 0.5 * (x0 + x1) - 0.5 * s01 / bend, x1)
    top = np.clip(top, x0, x2)
    peak = y0 + s01 * (top - x0) + bend * (top - x0) * (top - x1)

    r1, q1 = r[..., 0], q[..., 0]
    total = work0[..., 0]
    efficiency = total / q1
    return FiniteHeatRelease(
        peak_pressure_ratio=peak[..., 0],
        peak_angle=top[..., 0],
        work=total,
        efficiency=efficiency,
        efficiency_ratio=efficiency / otto_efficiency.si(r1, g[..., 0]),
        imep_ratio=total / (1.0 - 1.0 / r1),
        heat_loss=loss0[..., 0],
        mass_left=mass[..., -1],
        crank_angle=angle,
        volume=volume,
        pressure=pressure,
    )
