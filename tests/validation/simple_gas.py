"""The cycle of a gas of one temperature, given heat capacity ratio and gas constant.

The equations are those of `tests.cycle_ode`, which the cycles of the package are held against; the
rows in the CSV file come from another program.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import cumulative_simpson

from sealkit import kinds as si
from sealkit.pressure.grid import peak_of
from sealkit.units import field, with_units
from tests import cycle_ode


@dataclass(frozen=True)
class SimpleCycle:
    """Over half degrees of crank angle, bottom dead centre to bottom dead centre."""

    pressure: Any = field("pressure")
    hottest: Any = field("temperature")
    wall_heat: Any = field("energy")
    peak_pressure: Any = field("pressure")
    peak_angle: Any = field("angle")
    imep: Any = field("pressure")


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
    gamma: Any,
    wall_heat: str,
    wall_temperature: si.Temperature,
    temperature_exponent: si.AnyNumber,
) -> SimpleCycle:
    """Cylinder pressure with Wiebe's burn (5, 2) and Woschni's heat to the walls, or none.

    dp/dtheta = -gamma p/V dV/dtheta + (gamma - 1)/V (Q dx/dtheta - dQ_wall/dtheta), with gamma a
    number or (c0, c1, c2) of its polynomial of temperature, and R = 287 J/(kg K).
    """
    given = locals()
    c = np.zeros(3)
    c[: np.size(gamma)] = gamma
    names = (
        *("bore", "stroke", "rod", "compression_ratio", "crank_speed"),
        *("burn_start", "burn_duration", "heat", "wall_temperature"),
    )
    e: dict[str, Any] = {k: float(given[k]) for k in names}
    e |= {"p1": pressure, "t1": temperature, "exponent": temperature_exponent}
    e |= {"gas_constant": 287.0, "c0": c[0], "c1": c[1], "c2": c[2], "loss": wall_heat != "none"}
    theta, p = cycle_ode.simple(e, rtol=1e-10, method="DOP853")
    engine = cycle_ode.Geometry(e)
    v, slope, area = (np.array(x) for x in zip(*map(engine.shape, theta), strict=True))
    t = temperature * p * v / (pressure * v[0])
    rows = zip(theta, v, area, p, t, strict=True)
    flow = np.array([engine.wall(*row, e) if e["loss"] else 0.0 for row in rows])
    lost = cumulative_simpson(flow, x=theta, initial=0.0)
    work = cumulative_simpson(p * slope, x=theta)[-1]
    peak, angle = peak_of(theta, p[None])
    return SimpleCycle(p, peak_of(theta, t[None])[0][0], lost, peak[0], angle[0], work / engine.vd)
