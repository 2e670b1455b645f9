"""The crank turns: piston, rod and crank with pressure over volume and over crank angle.

One SVG that carries its own movement, as the section of the joint (`joint_section`); its time is
the crank angle. Bore, stroke and rod are to one scale.
"""

from __future__ import annotations

import html
from collections.abc import Iterable

import numpy as np

from sealkit.analysis import GasForce
from sealkit.arrays import Array
from sealkit.classroom.drawing.joint_section import run
from sealkit.drawing.svg import COLOURS
from sealkit.pressure import geometry
from sealkit.units import show

_ANGLES = np.arange(-180.0, 181.0, 5.0)
_MIDDLE, _TOP, _PIN, _BOTTOM = 52.0, 20.0, 16.0, 205.0  # of the cylinder; crown to piston pin
_VOLUME, _ANGLE = (122.0, 262.0), (284.0, 424.0)  # left and right of each chart
_HIGH, _FOOT = 28.0, 196.0  # top and foot of both


def _texts(values: Iterable[float]) -> list[str]:
    return [f"{v:.1f}" for v in values]


def _chart(title: str, ends: tuple[float, float], x: Array, y: Array, fill: str, on: slice) -> str:
    """A curve on axes, with a point that runs along this part of it."""
    left, right = ends
    points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))
    return (
        f"<text x='{left:g}' y='{_HIGH - 10:g}'>pressure</text>"
        f"<text x='{right:g}' y='{_FOOT + 16:g}' text-anchor='end'>{title}</text>"
        f"<path d='M{left:g},{_HIGH:g}V{_FOOT:g}H{right:g}' fill='none'/>"
        f"<polyline points='{points}' fill='{fill}' fill-opacity='0.25' stroke-width='2.5' "
        f"stroke='{COLOURS['pressure']}'/>"
        f"<circle r='5.5' cx='{x[on][0]:.1f}' cy='{y[on][0]:.1f}' fill='{COLOURS['gas load']}'>"
        f"{run('cx', _texts(x[on]), keys='')}{run('cy', _texts(y[on]), keys='')}</circle>"
    )


def crank(found: GasForce, system: str, still: bool = False) -> str:
    """The crank of a build as SVG, running or still at the peak, told in a sentence as well."""
    engine, cycle = found.build.engine, found.gas.cycle
    turn = np.degrees(np.asarray(cycle.crank_angle, dtype=float))
    at = np.array([int(np.argmin(np.abs(turn - angle))) for angle in _ANGLES])
    pressure, volume = (np.asarray(v, dtype=float)[at] for v in (cycle.pressure, cycle.volume))
    share = pressure / float(cycle.peak_pressure)
    top = int(np.argmax(pressure))
    on = slice(top, top + 1) if still else slice(None)  # the angles it is seen at
    pixel = (_BOTTOM - _TOP - _PIN) / (engine.rod_length + engine.stroke)
    throw, wide = 0.5 * pixel * engine.stroke, min(pixel * engine.bore, 94.0)
    angle = np.radians(_ANGLES)
    every = pixel * np.asarray(
        geometry.piston_position.si(angle, engine.stroke, engine.rod_length), dtype=float
    )
    down, angle = every[on], angle[on]
    pin = _TOP + _PIN + down
    centre = _TOP + _PIN + pixel * engine.rod_length + throw
    x, y = _MIDDLE + throw * np.sin(angle), centre - throw * np.cos(angle)
    left, dark = _MIDDLE - 0.5 * wide, _texts(0.06 + 0.94 * share[on])
    walls = f"v{every.max() + 40:.1f}"
    moved = [f"0 {v:.1f}" for v in down]

    high = _FOOT - (_FOOT - _HIGH) * share / 1.05
    wider = np.interp(volume, [0.0, volume.max()], [_VOLUME[0], _VOLUME[1] - 6.0])
    along = np.interp(_ANGLES, [-180.0, 180.0], _ANGLE)
    words = (
        "Piston, rod and crank over a turn, with the pressure over volume and over crank angle; "
        f"the average cycle peaks at {show(found.gas.mean_peak, 'pressure', system)}. The area "
        "inside the loop is the work of compression, burn and expansion."
    )
    return (
        f"<svg viewBox='0 0 430 218' role='img' aria-label='{html.escape(words, quote=True)}' "
        "style='max-width:560px' font-family='sans-serif' font-size='13' stroke-linejoin='round'>"
        "<style>text{fill:#111;stroke:none}</style><g stroke='#555'>"
        f"<rect x='{left:.1f}' y='12' width='{wide:.1f}' height='{every.max() + 20:.1f}' "
        f"stroke='none' fill='{COLOURS['gas load']}' opacity='{dark[0]}'>"
        f"{run('opacity', dark, keys='')}</rect>"
        f"<path d='M{left:.1f},12{walls}m{wide:.1f},0V12' fill='none' stroke-width='4'/>"
        f"<rect x='{left - 4:.1f}' y='4' width='{wide + 8:.1f}' height='9' fill='#e3e7ea'/>"
        f"<circle cx='{_MIDDLE:g}' cy='{centre:.1f}' r='{throw + 9:.1f}' fill='#eef0f2'/>"
        f"<g transform='translate({moved[0]})'>{run('transform', moved, 'translate', keys='')}"
        f"<rect x='{left + 2:.1f}' y='{_TOP:g}' width='{wide - 4:.1f}' height='36' fill='#aab2b9'/>"
        f"<path d='M{left + 2:.1f},{_TOP + 6:g}h{wide - 4:.1f}m0,5h{4 - wide:.1f}'/></g>"
        f"<line x1='{_MIDDLE:g}' y1='{pin[0]:.1f}' x2='{x[0]:.1f}' y2='{y[0]:.1f}' "
        "stroke='#7b848c' stroke-width='10' stroke-linecap='round'>"
        f"{run('y1', _texts(pin), keys='')}{run('x2', _texts(x), keys='')}"
        f"{run('y2', _texts(y), keys='')}</line>"
        f"<line x1='{_MIDDLE:g}' y1='{centre:.1f}' x2='{x[0]:.1f}' y2='{y[0]:.1f}' "
        "stroke='#333' stroke-width='5' stroke-linecap='round'>"
        f"{run('x2', _texts(x), keys='')}{run('y2', _texts(y), keys='')}</line>"
        f"<circle cx='{_MIDDLE:g}' cy='{centre:.1f}' r='6' fill='#333'/>"
        f"{_chart('volume', _VOLUME, wider, high, COLOURS['pressure'], on)}"
        f"{_chart('crank angle', _ANGLE, along, high, 'none', on)}"
        f"<path d='M{0.5 * sum(_ANGLE):g},{_HIGH:g}V{_FOOT:g}' stroke-dasharray='3 4' "
        "fill='none'/></g></svg>"
    )
