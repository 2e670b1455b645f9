"""The crank angle grid of the cycles, sums along it, and arrays over builds as columns."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.arrays import Array
from sealkit.errors import fail
from sealkit.pressure import geometry
from sealkit.pressure.burn import share_place, wiebe

SIZES = ("bore", "stroke", "rod", "compression_ratio")
STEP = float(np.radians(0.5))
SWEEPS = 60
LEAST = 4.0  # steps of the grid from 10 % to 90 % burned; with fewer the peak comes out wrong


@dataclass(frozen=True)
class Setup:
    """Geometry and burn of some builds: arrays (builds, 1) or (builds, crank angles)."""

    crank_angle: Array
    volume: Array
    area: Array
    log_step: Array
    burnt: Array
    displacement: Array
    burn_start: Array


def crank_grid(step: float) -> Array:
    """Crank angles [rad] of the closed cycle, with top dead centre among them."""
    count = round(2.0 * np.pi / step)
    if count < 90 or count > 20000:
        raise fail("step", f"{np.degrees(step):g} deg", '0.02 to 4 deg, such as "0.5 deg"')
    count += count % 2  # top dead centre is on the grid
    return np.linspace(-np.pi, np.pi, count + 1)


def _shape(v: dict[str, Array], step: float) -> tuple[Array, ...]:
    """Crank angles, volume, steps of ln V, chamber area."""
    theta = crank_grid(step)
    sizes = tuple(v[k] for k in SIZES)
    volume = geometry.cylinder_volume.si(theta, *sizes)
    area = geometry.chamber_area.si(theta, *sizes[:3])
    return theta, volume, np.diff(np.log(volume), axis=-1), area


@functools.lru_cache(maxsize=8)
def _one_shape(step: float, *sizes: float) -> tuple[Array, ...]:
    """The same for one engine; the last ones are kept."""
    out = _shape({k: np.array([[x]]) for k, x in zip(SIZES, sizes, strict=True)}, step)
    for a in out:
        a.flags.writeable = False
    return out


def grid_of(v: dict[str, Array], step: float) -> Setup:
    """Crank angles of the closed cycle with volume, area and burnt share there."""
    early = np.abs(v["burn_start"]) >= np.pi
    if np.any(early):
        came = f"{np.degrees(v['burn_start'][early][0]):.1f} deg"
        raise fail("burn_start", came, "an angle between -180 deg and 180 deg")
    width = v["burn_duration"] * (
        share_place(0.9, v["wiebe_a"], 2.0) - share_place(0.1, v["wiebe_a"], 2.0)
    )
    if np.any(width < LEAST * step):
        came = f"{np.degrees(width.min()):.3g} deg from 10 % to 90 % burned"
        least = f"{np.degrees(LEAST * step):.3g} deg"
        raise fail("burn_duration", came, f"at least {least}, or a smaller step of the crank angle")
    end = v["burn_start"] + v["burn_duration"]
    if np.any(end > np.pi):
        came = f"a burn to {np.degrees(end.max()):.0f} deg"
        raise fail("burn_duration", came, "a burn that ends by bottom dead centre, 180 deg")
    if len(v["bore"]) == 1:
        sizes = (float(v[k][0, 0]) for k in SIZES)
        theta, volume, log_step, area = _one_shape(step, *sizes)
    else:
        theta, volume, log_step, area = _shape(v, step)
    x = wiebe.si(theta, v["burn_start"], v["burn_duration"], v["wiebe_a"])
    return Setup(
        crank_angle=theta,
        volume=volume,
        area=area,
        log_step=log_step,
        burnt=x * v["released_share"],
        displacement=geometry.swept_volume.si(v["bore"], v["stroke"]),
        burn_start=v["burn_start"],
    )


def running(y: Array, half: Any, extra: Any = None) -> Array:
    """Running integral along the last axis, 0 at the start: trapezoid and `extra` of `fine`.

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


def fine(y: Array, dx: Array) -> Array:
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


def peak_of(theta: Array, p: Array) -> tuple[Array, Array]:
    """Peak and its angle: parabola through the largest grid value and its neighbours."""
    k = p.argmax(axis=-1)
    np.minimum(np.maximum(k, 1), p.shape[-1] - 2, out=k)
    row = np.arange(len(p))
    a, b, c = p[row, k - 1], p[row, k], p[row, k + 1]
    bend = a - 2.0 * b + c
    off = 0.5 * (a - c) / np.where(bend == 0.0, 1.0, bend)
    return b - 0.25 * (a - c) * off, theta[k] + off * (theta[1] - theta[0])


def stuck(change: float) -> Any:
    """The error of a cycle that does not come to rest."""
    return fail(
        "cycle",
        f"a pressure that still moves by {change:.1e} after {SWEEPS} sweeps",
        "a charge and burn inside the range of the gas model",
    )


def columns(values: dict[str, Any]) -> tuple[tuple[int, ...], dict[str, Array]]:
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
