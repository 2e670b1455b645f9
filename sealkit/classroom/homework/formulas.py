"""Formulas of the job cards: answers and wrong routes as they stand in the data.

    let = { left = "stiffness.member_load(bore_clamp, 0, bore_gas)" }
    answer = "left / circumference(seal)"

A formula is arithmetic, comparisons, lists, and calls of the package's public functions by module
and name, in plain SI. Nothing else is understood, and nothing is handed to the interpreter. Names
are the numbers of the engine, the functions and numbers below, those of ``let`` (worked out in
turn), and ``answer`` in what comes after it.

>>> volume = evaluate("geometry.swept_volume(bore, 2 * bore)", {"bore": 0.1})
>>> f"{volume:.6f}"
'0.001571'
"""

from __future__ import annotations

import ast
import functools
import math
import operator
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from sealkit import analysis
from sealkit.errors import broken, fail
from sealkit.fastening import stiffness, tightening
from sealkit.fastening.threads import thread
from sealkit.pressure import boost, burn, geometry, ideal, variation
from sealkit.sealing import (
    clearances,
    constructions,
    criteria,
    flow,
    grooves,
    heat,
    joint,
    liquids,
    surfaces,
)
from sealkit.units import Q

Names = Mapping[str, Any]


# --------------------------------------------------------------------------- names
def gas_force(pressure: Any, diameter: float) -> Any:
    """Force of a gauge pressure on a circle."""
    return pressure * (math.pi / 4.0 * diameter**2)


def normal(deviations: Any) -> Any:
    """Share of a normal spread that lies below the mean and so many deviations."""
    from scipy.special import ndtr

    return ndtr(deviations)


def pressed(construction: str, role: str, top: float, opened: Any) -> tuple[Any, Any]:
    """Load on a zone of usual sizes as the joint opens from `top`: by first loading, and left."""
    zone = next(z for z in constructions.make(construction).zones if z.role == role)
    reached = float(np.interp(top, zone.load, zone.closure))
    closure, load = (a[0] for a in zone.path(np.array([reached])))
    on, at = closure <= reached, reached - opened
    return zone.loading(at), np.interp(at, closure[on], load[on])


def burning(bore: float, stroke: float, ratio: float, start: float, peak: float, at: Any) -> Any:
    """Pressure at crank angles, of a charge that burns and of one that does not.

    The burn is timed so that the peak is that of the other questions. Raises InputError for a peak
    that the charge, from this pressure on, does not reach.
    """
    full = geometry.swept_volume.si(bore, stroke) * ratio / (ratio - 1.0)
    energy = 2.3e6 * float(boost.trapped_mass.si(start, 340.0, full))
    theta = np.radians(np.linspace(-180.0, 180.0, 721))
    volume = geometry.cylinder_volume.si(theta, bore, stroke, 1.65 * stroke, ratio)

    def cylinder(heat: float, begins: Any) -> Any:
        """d(p V**k) = (k - 1) V**(k - 1) dQ, k = 1.3: no heat to the walls."""
        grown = volume**0.3
        heats = np.diff(heat * burn.wiebe.si(theta, begins, math.radians(60.0)), axis=-1)
        added = np.cumsum(0.15 * (grown[1:] + grown[:-1]) * heats, axis=-1)
        return (start * volume[0] ** 1.3 + added) / volume[1:] ** 1.3

    times = np.radians(np.linspace(-40.0, 2.0, 8))
    peaks = cylinder(energy, times[:, None]).max(axis=-1)
    if not peaks.min() < peak < peaks.max():
        raise fail("peak", f"{peak:.4g} Pa", "one that this charge reaches")
    begins = float(np.interp(-peak, -peaks, times))
    return [np.interp(at, theta[1:], cylinder(heat, begins)) for heat in (energy, 0.0)]


# "boost" is a number of the engine
_MODULES = {"charging": boost} | {
    module.__name__.rpartition(".")[2]: module
    for module in (
        *(geometry, ideal, variation, stiffness, tightening, clearances, constructions),
        *(criteria, flow, grooves, heat, joint, liquids, surfaces),
    )
}
COMMON: dict[str, Any] = {
    "pi": math.pi,
    "clamp_rule": analysis.CLAMP_RULE[0],
    "gas_force": gas_force,
    "normal": normal,
    "pressed": pressed,
    "burning": burning,
    "when": lambda holds, value: value if holds else None,
    "circle": lambda diameter: math.pi / 4.0 * diameter**2,
    "circumference": lambda diameter: math.pi * diameter,
    "span": np.linspace,
    **{f.__name__: f for f in (abs, len, max, min, math.hypot)},
    **{f.__name__: f for f in (np.array, np.interp, np.mean, np.std)},
}


def names_of(engine: Any) -> dict[str, Any]:
    """What a formula may name: the plain SI numbers of an engine, and what follows from them.

    There are also ``bolt`` (its thread), ``least_share`` and ``mean_share`` (bolts of a bore),
    ``copper`` (usual thickness of the sheet that takes a wire), ``torque_slip`` (what a torque in
    the wrong unit is taken for) and ``zero`` (absolute temperature at which the shop's thermometer
    reads nothing).
    """
    metric = engine.system == "metric"
    least, mean = analysis.fastener_shares(engine.cylinders, engine.around, engine.on_head)
    return {
        **COMMON,
        **vars(engine),
        "bolt": thread.si(engine.thread),
        "copper": constructions.CopperWireRing.from_table().sheet_thickness,
        "least_share": least,
        "mean_share": mean,
        # pound-feet for newton metres, feet for inches
        "torque_slip": float(Q(1.0, "lbf*ft").to("N*m").magnitude) if metric else 1.0 / 12.0,
        "zero": float(Q(0.0, "degC" if metric else "degF").to("K").magnitude),
    }


# --------------------------------------------------------------------------- the grammar
_OPERATORS: dict[type, Callable[..., Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
    ast.Lt: operator.lt,
    ast.Gt: operator.gt,
}


class _Unknown(Exception):
    """A part of a formula that is not understood."""


@functools.cache
def _parsed(formula: str) -> ast.expr:
    return ast.parse(formula, mode="eval").body


def _value(node: ast.expr, names: Names) -> Any:
    match node:
        case ast.Constant(value=int() | float() | str() as value):
            return value
        case ast.Name(id=name) if name in names:
            return names[name]
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
            return _OPERATORS[type(op)](_value(left, names), _value(right, names))
        case ast.UnaryOp(op=op, operand=one) if type(op) in _OPERATORS:
            return _OPERATORS[type(op)](_value(one, names))
        case ast.Compare(left=left, ops=[op], comparators=[right]) if type(op) in _OPERATORS:
            return _OPERATORS[type(op)](_value(left, names), _value(right, names))
        case ast.List(elts=parts):
            return [_value(p, names) for p in parts]
        case ast.Tuple(elts=parts):
            return tuple(_value(p, names) for p in parts)
        case ast.Call(func=function, args=given, keywords=[]):
            return _function(function, names)(*(_value(a, names) for a in given))
        case ast.Attribute(value=of, attr=part) if not part.startswith("_"):
            return getattr(_value(of, names), part)
        case ast.Subscript(value=of, slice=place):
            return _value(of, names)[_value(place, names)]
    raise _Unknown(ast.unparse(node))


def _function(node: ast.expr, names: Names) -> Callable[..., Any]:
    """A function of a module in plain SI, or one of the common names."""
    match node:
        case ast.Attribute(value=ast.Name(id=module), attr=name) if module in _MODULES:
            found: Callable[..., Any] = getattr(_MODULES[module], name).si
            return found
        case ast.Name(id=name) if callable(COMMON.get(name)):
            common: Callable[..., Any] = COMMON[name]
            return common
    raise _Unknown(ast.unparse(node))


def evaluate(formula: str, names: Names) -> Any:
    """What a formula gives.

    Raises InputError if it is none, or names what there is not.
    """
    try:
        return _value(_parsed(formula), names)
    except (_Unknown, SyntaxError, AttributeError, TypeError, LookupError) as err:
        raise broken(f"formula {formula}", str(err)) from err


def worked_out(entry: Mapping[str, Any], names: Names) -> dict[str, Any]:
    """What the formulas of an entry's wrong routes may name: ``let`` and ``answer`` too."""
    known = dict(names)
    for name, formula in entry.get("let", {}).items():
        known[name] = evaluate(formula, known)
    if "answer" in entry:
        known["answer"] = evaluate(entry["answer"], known)
    return known


def wrong_routes(entry: Mapping[str, Any], known: Names) -> dict[str, Any]:
    """What each wrong route gives; one that comes to nothing on this engine is left out."""
    found = {name: evaluate(f, known) for name, f in entry.get("wrong", {}).items()}
    return {name: value for name, value in found.items() if value is not None}


def refused(entry: Mapping[str, Any], known: Names) -> None:
    """Refuse an engine that is unfit for the question."""
    if "refuse" in entry and evaluate(entry["refuse"], known):
        raise fail(entry["key"], entry["refuse"], "an engine that can be asked about")
