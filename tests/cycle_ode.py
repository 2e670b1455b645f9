"""The equations of the two cycles as ordinary differential equations, for SciPy's solvers.

Written for speed in plain Python: scalars, `math`, tables as flat lists. The only things shared
with the package are the gas tables and plain constants.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from sealkit.pressure import gas, gas_data

Engine = dict[str, float]


class Geometry:
    """Sizes, burn and wall heat of one engine."""

    def __init__(self, e: Engine):
        self.__dict__.update(e)
        b, s = e["bore"], e["stroke"]
        self.a, self.ab, self.pb = 0.5 * s, 0.25 * math.pi * b * b, math.pi * b
        self.vc = self.ab * s / (e["compression_ratio"] - 1.0)
        self.rod = e["rod"]
        self.start, self.duration = e["burn_start"], e["burn_duration"]
        self.released = e.get("released_share", 1.0)
        self.sp = 2.0 * s * e["crank_speed"]
        self.per_radian = 1.0 / (2.0 * math.pi * e["crank_speed"])
        self.bore = b
        self.v1 = self.shape(-math.pi)[0]
        self.vd = self.ab * s

    def shape(self, th: float) -> tuple[float, float, float]:
        """Volume, its slope, wall area."""
        sin, cos = math.sin(th), math.cos(th)
        root = math.sqrt(self.rod * self.rod - self.a * self.a * sin * sin)
        x = self.a * (1.0 - cos) + self.rod - root
        slope = self.a * sin * (1.0 + self.a * cos / root)
        return self.vc + self.ab * x, self.ab * slope, 2.0 * self.ab + self.pb * x

    def burn(self, th: float) -> tuple[float, float]:
        """Burnt share and its slope, Wiebe 5 and 2."""
        if th <= self.start:
            return 0.0, 0.0
        z = (th - self.start) / self.duration
        left = math.exp(-5.0 * z * z * z)
        return self.released * (1.0 - left), self.released * 15.0 * z * z * left / self.duration

    def wall(self, th: float, v: float, area: float, p: float, t: float, e: Engine) -> float:
        """Woschni heat flow per radian."""
        w = 2.28 * self.sp
        if th >= self.start:
            pm = e["p1"] * (self.v1 / v) ** 1.32
            w += 3.24e-3 * self.vd * e["t1"] / (e["p1"] * self.v1) * (p - pm)
        w = max(w, 0.0228 * self.sp)
        h = 3.26 * self.bore**-0.2 * (p * 1e-3 * w) ** 0.8 * t ** -e["exponent"]
        return h * area * (t - e["wall_temperature"]) * self.per_radian


def _solve(rhs: Any, e: Engine, y0: list[float], rtol: float, method: Any, count: int) -> Any:
    """Two legs, so that no solver has to find the start of the burn."""
    theta = np.linspace(-math.pi, math.pi, count)
    start = e["burn_start"]
    legs = []
    for lo, hi in ((-math.pi, start), (start, math.pi)):
        inside = theta[(theta > lo + 1e-12) & (theta < hi - 1e-12)]
        at = np.concatenate([[lo], inside, [hi]])
        s = solve_ivp(
            rhs, (lo, hi), y0, method=method, rtol=rtol, atol=[rtol * 1e-3] * len(y0), t_eval=at
        )
        assert s.success, s.message
        y0 = list(s.y[:, -1])
        legs.append((at, s.y))
    th = np.concatenate([legs[0][0], legs[1][0][1:]])
    y = np.concatenate([legs[0][1], legs[1][1][:, 1:]], axis=1)
    return th, y


def simple(e: Engine, rtol: float = 1e-6, method: str = "LSODA", count: int = 721) -> Any:
    """Crank angle and pressure of the simple gas; `e` holds heat, gas_constant and c0, c1, c2."""
    g = Geometry(e)
    mass = e["p1"] * g.v1 / (e["gas_constant"] * e["t1"])
    c0, c1, c2 = e["c0"], e["c1"], e["c2"]

    def rhs(th: float, y: Any) -> list[float]:
        p = y[0] * 1e5
        v, dv, area = g.shape(th)
        t = p * v / (mass * e["gas_constant"])
        gamma = c0 + t * (c1 + t * c2)
        q = e["heat"] * g.burn(th)[1]
        if e["loss"]:
            q -= g.wall(th, v, area, p, t, e)
        return [(-gamma * p * dv + (gamma - 1.0) * q) / v * 1e-5]

    th, y = _solve(rhs, e, [e["p1"] / 1e5], rtol, method, count)
    return th, y[0] * 1e5


def real(
    c: gas.Charged, e: Engine, rtol: float = 1e-6, method: str = "LSODA", count: int = 721
) -> Any:
    """Crank angle and pressure of the gas tables; energy is the state, pressure follows from it."""
    g = Geometry(e)
    ru = float(c.gas_constant[0])
    mass = e["p1"] * g.v1 / (ru * e["t1"])
    psi1 = float(c.psi(np.array([e["t1"]]))[0])
    u1 = float(c.unburnt_at(np.array([[psi1]]))[1][0, 0])
    lo, step = float(c.psi_low[0]), float(c.psi_step[0])
    tu_list, uu_list = c.unburnt[0].real.tolist(), c.unburnt[0].imag.tolist()
    u_list = c.burnt[0].real.ravel().tolist()
    r_list = c.burnt[0].imag.ravel().tolist()
    rows = c.burnt.shape[2]
    lp = np.log(gas_data.data().pressure)
    lp0, lps = float(lp[0]), float((rows - 1) / (lp[-1] - lp[0]))
    log_p1 = math.log(e["p1"])
    last = {"p": e["p1"], "tb": 2400.0}

    def gas_state(v: float, x: float, energy: float, q: float) -> tuple[float, float]:
        """Pressure and gas constant of all, by repeated substitution with a Newton step in T_b."""
        p, tb = last["p"], last["tb"]
        mb = mass * x
        mu = mass - mb
        rb = ru
        for _ in range(60):
            log_p = math.log(p)
            f = (psi1 + log_p - log_p1 - q - lo) / step
            i = int(f)
            w = f - i
            tu = tu_list[i] + w * (tu_list[i + 1] - tu_list[i])
            pv = mu * ru * tu
            moved = 0.0
            if x > 1e-12:
                uu = uu_list[i] + w * (uu_list[i + 1] - uu_list[i])
                target = (energy - mu * uu) / mb
                f = (log_p - lp0) * lps
                ip = int(f)
                wp = f - ip
                f = (tb - 200.0) * 0.02
                it = int(f)
                wt = f - it
                k = it * rows + ip
                a = u_list[k] + wp * (u_list[k + 1] - u_list[k])
                ra = r_list[k] + wp * (r_list[k + 1] - r_list[k])
                k += rows
                b = u_list[k] + wp * (u_list[k + 1] - u_list[k])
                rd = r_list[k] + wp * (r_list[k + 1] - r_list[k]) - ra
                moved = (target - a - wt * (b - a)) / ((b - a) * 0.02)
                new = min(max(tb + moved, 300.0), 4590.0)
                rt = ra + rd * (wt + (new - tb) * 0.02)
                moved = new - tb
                tb = new
                rb = rt / tb
                pv += mb * rt
            new_p = pv / v
            done = abs(new_p - p) < 1e-9 * p and abs(moved) < 1e-6
            p = new_p
            if done:
                break
        last["p"], last["tb"] = p, tb
        return p, mu * ru + mb * rb

    def rhs(th: float, y: Any) -> list[float]:
        v, dv, area = g.shape(th)
        x = g.burn(th)[0]
        p, mr = gas_state(v, x, mass * (u1 + 1e6 * y[0]), y[1])
        q = g.wall(th, v, area, p, p * v / mr, e) if e["loss"] else 0.0
        return [(-p * dv - q) / (mass * 1e6), q / (p * v)]

    th, y = _solve(rhs, e, [0.0, 0.0], rtol, method, count)
    last.update(p=e["p1"], tb=2400.0)
    out = []
    for angle, energy, q in zip(th.tolist(), y[0].tolist(), y[1].tolist(), strict=True):
        v = g.shape(angle)[0]
        out.append(gas_state(v, g.burn(angle)[0], mass * (u1 + 1e6 * energy), q)[0])
    return th, np.array(out)


def one_zone(c: gas.Charged, e: Engine, count: int = 721) -> Any:
    """Pressure if unburnt and burnt gas had one temperature; no wall heat, steps of the grid."""
    g = Geometry(e)
    ru = float(c.gas_constant[0])
    mass = e["p1"] * g.v1 / (ru * e["t1"])
    t_list, u_list = c.unburnt[0].real, c.unburnt[0].imag
    t, p = e["t1"], e["p1"]
    energy = mass * float(np.interp(t, t_list, u_list))
    v_old = g.v1
    out = [p]
    slope_u = np.gradient(u_list, t_list)
    for th in np.linspace(-math.pi, math.pi, count)[1:]:
        v, x = g.shape(th)[0], g.burn(th)[0]
        new = p
        for _ in range(40):
            now = energy - 0.5 * (p + new) * (v - v_old)
            z, slope = c.burnt_at(np.array([[t]]), np.array([[math.log(new)]]))
            # the table of unburnt gas ends at 1800 K: straight on beyond it
            k = min(t, 1790.0)
            cu = float(np.interp(k, t_list, slope_u))
            uu = float(np.interp(k, t_list, u_list)) + cu * (t - k)
            off = now / mass - (1.0 - x) * uu - x * z.real[0, 0]
            move = off / ((1.0 - x) * cu + x * slope.real[0, 0])
            t += move
            rt = (1.0 - x) * ru * t + x * (z.imag[0, 0] + slope.imag[0, 0] * move)
            new = mass * rt / v
            if abs(move) < 1e-7:
                break
        energy -= 0.5 * (p + new) * (v - v_old)
        p, v_old = new, v
        out.append(p)
    return np.array(out)
