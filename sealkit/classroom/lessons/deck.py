"""Lesson 05, where the clamp goes on the deck: its panel, its picture, questions and answers."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis
from sealkit.analysis import DeckLook
from sealkit.build import Build
from sealkit.classroom.drawing import deck_chart, draw
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.classroom.drawing.plot import ByHand, Values
from sealkit.classroom.drawing.shown import Shown, html_table, plain_table
from sealkit.classroom.homework.questions import Exercises, Figure, Solved
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Knob, Pick, Rows, Scene, Sentence
from sealkit.errors import fail
from sealkit.report import percent, ranking
from sealkit.sealing.deck import layout as places
from sealkit.units import from_si, parse, show, show_unit, show_value, to_si

Array = NDArray[np.float64]

CHECKS = {
    "deck": [
        "square-uniform",
        "square-centre",
        "clamped-centre-edge",
        "circle-clamped",
        "circle-supported",
        "foundation-100-centre",
        "foundation-10000-uniform",
    ]
}
NONE = "none, as assembled"
PRESSURE, LIFT = "pressure on the gasket body", "lift of the head since assembly"
_COAT = 30e-6  # m, the most that the knob adds or takes away
_RINGS = 5.0  # of the polar plot, over the mean load as assembled: room for what is wanted


@dataclass(frozen=True)
class Found(DeckLook):
    """What the panel shows: the deck in one state, and what the colours show (`field`)."""

    field: str = PRESSURE


def find(build: Build, coat: float = 0.0, fired: int | None = None, field: str = PRESSURE) -> Found:
    """The deck of a build as `sealkit.analysis.deck_look` finds it."""
    return Found(**vars(analysis.deck_look(build, coat, fired)), field=field)


# --------------------------------------------------------------------------- knobs and picks
def _knobs(build: Build) -> Sequence[Knob]:
    now = build.plate_thickness
    return (
        controls.tightening(build),
        controls.boost(build),
        controls.sheet(
            "deck.effective_thickness",
            "Head as a plate",
            "length",
            now,
            0.6 * now,
            1.6 * now,
        ),
        Knob("coat", "Extra coat at the patch", "lift", 0.0, -_COAT, _COAT),
    )


def _fires(number: int) -> str:
    return f"cylinder {number + 1} at its peak"


def _picks(build: Build) -> Sequence[Pick]:
    count = build.bores_per_head if build.deck is None else len(build.layout.bores)
    fires = (NONE, *(_fires(i) for i in range(count)))
    return (
        controls.gasket(build),
        Pick("fired", "Gas", fires, fires[min(2, count)]),
        Pick("field", "Colours show", (PRESSURE, LIFT), PRESSURE),
    )


def _work(build: Build, free: Free) -> Found:
    chosen = str(free["fired"])
    fired = None if chosen == NONE else int(chosen.split()[1]) - 1
    return find(build, float(free["coat"]), fired, str(free["field"]))


# --------------------------------------------------------------------------- the map
def _cells(found: Found, system: str) -> tuple[Array, Array, Array]:
    """Centres of the mesh cells along both sides, and the mean of the field on each of them."""
    deck = found.state.deck
    x, y = deck.plate.x, deck.plate.y
    i = np.clip(np.searchsorted(x, deck.points[:, 0], side="right") - 1, 0, len(x) - 2)
    j = np.clip(np.searchsorted(y, deck.points[:, 1], side="right") - 1, 0, len(y) - 2)
    flat = j * (len(x) - 1) + i
    size = (len(x) - 1) * (len(y) - 1)
    value = found.state.contact_pressure if found.field == PRESSURE else found.state.lift
    weight = deck.share
    total = np.bincount(flat, weight * value, size)
    part = np.bincount(flat, weight, size)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(part > 0.05 * part.max(), total / part, np.nan)
    kind = "stress" if found.field == PRESSURE else "lift"
    z = np.asarray(show_value(mean.reshape(len(y) - 1, len(x) - 1), kind, system), dtype=float)

    def centres(edges: Array) -> Array:
        return np.asarray(show_value(0.5 * (edges[1:] + edges[:-1]), "length", system), float)

    return centres(x), centres(y), _rounded(z)


def _open(z: Array) -> list[list[float | None]]:
    """The cells as they go to the browser: nothing where there is no gasket."""
    return [[None if np.isnan(v) else float(v) for v in row] for row in z]


def _rounded(values: Any) -> Array:
    """Five figures: what is left of the solver's start cannot be seen."""
    v = np.asarray(values, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = 10.0 ** (4 - np.floor(np.log10(np.nanmax(np.abs(v), initial=1e-12))))
    return np.asarray(np.round(v * scale) / scale)


def _loads(found: Found, system: str) -> dict[str, tuple[Array, Array]]:
    """Angle (degrees) and load of each line of the polar plot, closed."""
    bore, kind = found.bore, found.kind
    angle, now = found.state.line_load(bore)
    before = found.standing.line_load(bore)[1]

    def closed(load: Array) -> tuple[Array, Array]:
        shown = np.asarray(show_value(load, kind, system), dtype=float)
        return np.degrees(np.append(angle, 2.0 * np.pi)), _rounded(np.append(shown, shown[0]))

    return {
        "before": closed(before),
        "now": closed(now),
        "wanted": closed(np.full(len(angle), found.wanted)),
        "average": closed(np.full(len(angle), found.average)),
    }


_POLAR = {
    "before": ("as assembled", "seal load", "dot"),
    "now": ("left now", "seal load", "solid"),
    "wanted": ("wanted", "gas load", "dash"),
    "average": ("average joint", "clamp", "dashdot"),
}


def _weak_place(found: Found, system: str) -> tuple[float, float]:
    """Where the weakest angle of the shown bore lies on the map, in the shop's unit."""
    x, y = (float(show_value(v, "length", system)) for v in found.weak_place)
    return x, y


def _traces(found: Found, system: str) -> list[dict[str, Any]]:
    x, y, z = _cells(found, system)
    kind = "stress" if found.field == PRESSURE else "lift"
    top = float(np.nanmax(np.abs(z))) or 1.0
    most = 1.3 * top if found.field == PRESSURE else 2.0 * top
    unit = show_unit(kind, system)
    out: list[dict[str, Any]] = [
        {
            "type": "heatmap",
            "meta": "map",
            "name": f"{found.field}, {unit}",
            "x": x,
            "y": y,
            "z": _open(z),
            "zmin": 0.0,
            "zmax": most,
            "zsmooth": False,
            "colorscale": "Cividis",
            "xaxis": "x",
            "yaxis": "y",
            "hovertemplate": "%{z:.3g} " + unit + "<extra></extra>",
            "colorbar": {
                "orientation": "h",
                "x": 0.5,
                "xanchor": "center",
                "y": 1.0,
                "yanchor": "bottom",
                "thickness": 12,
                "len": 0.9,
                "title": {
                    "text": f"{found.field}, {unit}",
                    "side": "top",
                    "font": {"size": draw.FONT},
                },
            },
        },
        *deck_chart.outline_traces(found.build.layout, system, found.joint.seal_diameter),
    ]
    wx, wy = _weak_place(found, system)
    out.append(
        {
            "type": "scatter",
            "meta": "weakest",
            "name": "least load on this seal",
            "mode": "markers",
            "x": np.array([wx]),
            "y": np.array([wy]),
            "xaxis": "x",
            "yaxis": "y",
            "marker": {
                "symbol": "x",
                "size": 14,
                "color": COLOURS["gas load"],
                "line": {"color": "#fff", "width": 1.5},
            },
            "hovertemplate": "least load on this seal<extra></extra>",
            "showlegend": False,
        }
    )
    for key, (theta, r) in _loads(found, system).items():
        words, colour, dash = _POLAR[key]
        out.append(
            {
                "type": "scatterpolar",
                "meta": key,
                "name": words,
                "mode": "lines",
                "theta": theta,
                "r": r,
                "line": {"color": COLOURS[colour], "dash": dash, "width": 3},
                "hovertemplate": f"{words}: %{{r:.3g}} at %{{theta:.0f}}°<extra></extra>",
                "showlegend": True,
            }
        )
    return out


_POLAR_HEIGHT = 420
_BAR = 80  # pixels for the colour bar over the map


def _layout(all_found: Sequence[Found], system: str) -> dict[str, Any]:
    found = all_found[0]
    out = deck_chart.axes(found.build.layout, system)
    margin = out["margin"]
    above, below = margin["t"] + _BAR, 34
    map_height = out["height"] - margin["t"] - margin["b"]
    inner = map_height + margin["b"] + _POLAR_HEIGHT
    out["height"] = above + inner + below
    margin |= {"t": above, "b": below}
    share = _POLAR_HEIGHT / inner
    out["yaxis"]["domain"] = [share + margin["b"] / inner + 68.0 / inner, 1.0]
    for note in out["annotations"]:
        note |= {"yref": "paper", "y": 1.0, "yshift": _BAR}
    kind = found.kind
    loads = _loads(found, system)
    most = 1.6 * max(float(np.max(loads["before"][1])), float(np.max(loads["wanted"][1])))
    out["polar"] = {
        "domain": {"x": [0.06, 0.94], "y": [0.0, share - 74.0 / inner]},
        "radialaxis": {
            "range": [0.0, most],
            "angle": 45,
            "nticks": 4,
            "tickangle": 45,  # upright: it counts from the axis
            "tickfont": {"size": draw.FONT - 2},
        },
        "angularaxis": {"dtick": 45, "ticksuffix": "°", "tickfont": {"size": draw.FONT - 1}},
    }
    out["showlegend"] = True
    out["legend"] = {
        "orientation": "h",
        "x": 0.0,
        "xanchor": "left",
        "y": share - 4.0 / inner,
        "yanchor": "top",
        "font": {"size": draw.FONT - 1},
    }
    out["annotations"].append(
        {
            "text": f"<b>Load round the shown bore, {show_unit(kind, system)}</b>",
            "xref": "paper",
            "x": 0,
            "xanchor": "left",
            "yref": "paper",
            "y": share,
            "yanchor": "bottom",
            "showarrow": False,
            "font": {"size": draw.FONT},
        }
    )
    return out


def _values(found: Found, system: str) -> Values:
    wx, wy = _weak_place(found, system)
    out: dict[str, dict[str, Any]] = {
        "map": {"z": _open(_cells(found, system)[2])},
        "weakest": {"x": np.array([wx]), "y": np.array([wy])},
    }
    for key, (_, r) in _loads(found, system).items():
        out[key] = {"r": r}
    return out


# --------------------------------------------------------------------------- words
def _sentence(found: Found, system: str) -> Sentence:
    weak = found.state.weakest()
    kind = found.kind
    least = show(weak.load, kind, system)
    place = f"{show(weak.angle, 'angle', system, 0)} of bore {weak.bore + 1}"
    mean = show(found.average, kind, system)
    wanted = show(float(np.max(np.asarray(weak.limit.demand))), kind, system)
    good = bool(weak.limit.holds)
    if found.fired is None:
        words = (
            f"As assembled at the low end of the preload the seal has its least load at {place}: "
            f"{least}, where {wanted} are wanted to seat it. The average joint says {mean}."
        )
        return Sentence("SEATS" if good else "DOES NOT SEAT", words, good)
    words = (
        f"With cylinder {found.fired + 1} at {show(found.gas.design_peak, 'pressure', system)} the "
        f"seal has its least margin at {place}: {least} left, {wanted} wanted. The average joint "
        f"says {mean}. The head has risen by up to "
        f"{show(float(np.max(found.state.seal_lift(weak.bore)[1])), 'lift', system)} there since "
        "assembly."
    )
    return Sentence("SEALS ALL ROUND" if good else "GAS PASSES HERE", words, good)


_EVEN = 0.01  # share by which a load may differ round a bore before its least place says anything


def _where(angle: Array, load: Array, system: str) -> str:
    """At which angle a load is least; a load that hardly differs has no such place."""
    if float(np.max(load)) <= (1.0 + _EVEN) * float(np.min(load)):
        return "even all round"
    return show(float(angle[int(np.argmin(load))]), "angle", system, 0)


def bore_rows(found: Found, system: str) -> Rows:
    """Every bore: least load as assembled and now, and at which angle."""
    kind = found.kind
    rows = []
    for bore in range(len(found.build.layout.bores)):
        angle, before = found.standing.line_load(bore)
        now = found.state.line_load(bore)[1]
        i, j = int(np.argmin(before)), int(np.argmin(now))
        rows.append(
            {
                "bore": str(bore + 1),
                "least as assembled": show(float(before[i]), kind, system),
                "at": _where(angle, before, system),
                "most as assembled": show(float(np.max(before)), kind, system),
                "least now": show(float(now[j]), kind, system),
                "at angle": _where(angle, now, system),
                "lift here": show(float(np.max(found.state.seal_lift(bore)[1])), "lift", system),
            }
        )
    return rows


def _holes(found: Found, system: str) -> Rows:
    return [
        {
            "liquid hole": f"{h.name} ({h.fluid})",
            "least round it": show(h.least, h.kind, system),
            "mean round it": show(h.mean, h.kind, system),
            "of the zone's mean": show(h.share, "fraction", system),
        }
        for h in sorted(found.state.holes(), key=lambda h: h.share)
    ]


def _orders(found: Found, system: str) -> Rows:
    """What the clamp does to the shape of the bore, as a first estimate."""
    orders = found.standing.orders(found.bore)
    words = (
        "mean, pressed evenly",
        "pushed to one side",
        "oval",
        "three lobes",
        "four lobes",
    )
    return [
        {
            "order": f"{int(k)} ({words[int(k)]})",
            "clamp of the gasket": show(float(c), "line load", system),
            "pull of the fasteners": show(float(b), "line load", system),
        }
        for k, c, b in zip(orders.order, orders.contact, orders.bolts, strict=True)
    ]


def _tables(found: Found, system: str) -> Mapping[str, Rows]:
    return {
        f"Seal round every bore ({'no gas' if found.fired is None else _fires(found.fired)})": (
            bore_rows(found, system)
        ),
        "Liquid holes, least load first": _holes(found, system),
        f"What pulls bore {found.bore + 1} out of round, by the number of lobes (a first estimate: "
        "how far the block gives way is not known)": _orders(found, system),
    }


def every_cylinder(build: Build, coat: float, system: str) -> Rows:
    """Each cylinder at its peak in turn: where its seal has least."""
    rows = []
    for i in range(len(build.layout.bores)):
        found = find(build, coat, i)
        weak, kind = found.state.weakest(), found.kind
        rows.append(
            {
                "at its peak": f"cylinder {i + 1}",
                "least left": show(weak.load, kind, system),
                "at": show(weak.angle, "angle", system, 0),
                "wanted": show(found.wanted, kind, system),
                "margin": percent(weak.margin),
                "average joint": show(found.average, kind, system),
            }
        )
    return rows


def _numbers(found: Found, system: str) -> Mapping[str, Any]:
    """Load round every bore against the angle, as assembled and as shown."""
    kind = found.kind
    unit = show_unit(kind, system)
    out: dict[str, Any] = {"angle, °": np.degrees(found.state.angle)}
    for bore in range(len(found.build.layout.bores)):
        for words, state in (("as assembled", found.standing), ("now", found.state)):
            load = show_value(state.line_load(bore)[1], kind, system)
            out[f"bore {bore + 1} {words}, {unit}"] = np.asarray(load)
    return out


def _each(build: Build, found: Found, system: str) -> Mapping[str, Rows]:
    return {"Each cylinder at its peak in turn": every_cylinder(build, found.coat, system)}


# --------------------------------------------------------------------------- the idea
def picture(build: Build, system: str = "metric") -> Shown:
    """The deck from above, each fastener joined to the bores it stands round."""
    lay = build.layout
    x0, x1, y0, y1 = lay.extent
    wide = 620.0
    scale = (wide - 20.0) / (x1 - x0)
    high = (y1 - y0) * scale + 20.0

    def at(place: Any) -> tuple[float, float]:
        return 10.0 + (float(place[0]) - x0) * scale, high - 10.0 - (float(place[1]) - y0) * scale

    corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in map(at, lay.outline))
    parts = [f"<polygon points='{corners}' fill='#f0e2b6' stroke='#333' stroke-width='2'/>"]
    lines, shares = [], []
    for i, bore in enumerate(lay.bores):
        x, y = at(bore)
        r = 0.5 * lay.bore * scale
        around = places.around_bore(lay, i)
        for bolt in around.bolts:
            bx, by = at(lay.bolts[bolt])
            lines.append(
                f"<path d='M{x:.1f},{y:.1f} L{bx:.1f},{by:.1f}' stroke='{COLOURS['clamp']}' "
                "stroke-width='3'/>"
            )
        parts.append(
            f"<circle cx='{x:.1f}' cy='{y:.1f}' r='{r:.1f}' fill='#fff' stroke='#333' "
            "stroke-width='2'/>"
        )
        shares.append(f"bore {i + 1}: {len(around.bolts)} fasteners, worth {around.effective:.2f}")
    for bolt in lay.bolts:
        bx, by = at(bolt)
        lines.append(
            f"<circle cx='{bx:.1f}' cy='{by:.1f}' r='{0.5 * lay.bolt_hole * scale:.1f}' "
            f"fill='{COLOURS['clamp']}' stroke='#333'/>"
        )
    for i, bore in enumerate(lay.bores):
        x, y = at(bore)
        lines.append(
            f"<circle cx='{x:.1f}' cy='{y:.1f}' r='17' fill='#fff' stroke='#333'/>"
            f"<text x='{x:.1f}' y='{y + 8:.1f}' text-anchor='middle'>{i + 1}</text>"
        )
    alt = "Deck face from above; lines join each fastener to the bores round which it stands. "
    alt += "; ".join(shares) + "."
    told = (
        "Each line joins a fastener to a bore it stands round; one with two lines gives each bore "
        f"half. {'; '.join(shares)}."
    )
    svg = (
        "<figure style='margin:0;max-width:700px'>"
        f"<svg viewBox='0 0 {wide:.0f} {high:.0f}' role='img' style='width:100%;height:auto' "
        f"aria-label='{html.escape(alt, quote=True)}' font-family='sans-serif' font-size='24' "
        f"fill='#111'><title>{html.escape(alt)}</title>{''.join(parts)}{''.join(lines)}</svg>"
        f"<figcaption style='font-size:14px;line-height:1.35'>{html.escape(told)}</figcaption>"
        "</figure>"
    )
    return Shown(svg, told)


SCENE = Scene(
    name="deck-map",
    words="The deck face from above with the pressure on the gasket in colours, and the load round "
    "one bore against the angle",
    knobs=_knobs,
    picks=_picks,
    work=_work,
    plot=ByHand(_traces, _layout, _values),
    sentence=_sentence,
    tables=_tables,
    buttons={"Fire every cylinder in turn": _each},
    data=_numbers,
    ends=False,
)


# --------------------------------------------------------------------------- exercises
_THICKER = 1.2
_MISSING = 20e-6  # m


def told(build: Build, system: str = "metric") -> str:
    """How evenly the seals are pressed, as assembled and with gas, and why, in words."""
    bore, still = analysis.middle_bore(build), find(build)
    low, high = analysis.load_span(still.state)
    gas_low, gas_high = analysis.load_span(find(build, fired=bore).state)
    kind = still.kind
    first = f"As assembled, the seals of all bores carry {_between(low, high, kind, system)}"
    gas = f"With {_fires(bore)} they carry {_between(gas_low, gas_high, kind, system)}"
    if high > (1.0 + _NEARLY) * low:
        return (
            f"{first}. This seal is hard against the head, so the pattern of the fasteners shows "
            f"as soon as they are tight.\n{gas}."
        )
    shows = (
        "the head lifts more in one place than in another, most of all a thin one (move Head as a "
        "plate)"
        if gas_high - gas_low > 5.0 * (high - low)
        else "even gas hardly changes that"
    )
    return (
        f"{first}, nearly the same everywhere. This seal is soft against the head: pressed a "
        "little more or less, it carries nearly the same, and that hides the pattern of the "
        f"fasteners.\n{gas}: {shows}.\nA hard seal shows the pattern as assembled (choose the "
        f"gasket {_HARD}, and no gas)."
    )


_NEARLY = 0.05  # share by which a load may differ over the deck and still be told as even


def _between(low: float, high: float, kind: str, system: str) -> str:
    first, last = show(low, kind, system), show(high, kind, system)
    return f"{first} everywhere" if first == last else f"between {first} and {last}"


def sources(build: Build, system: str = "metric") -> Shown:
    """Where the numbers of the map come from, with their status."""
    found = find(build, fired=0)
    rows = [
        {
            "what": "plate on a one-sided foundation",
            "status": "computed",
            "source": "finite elements of a general library; checked in this lesson against "
            "handbook plates",
        },
        {
            "what": "effective thickness of the head",
            "status": build.sheet.status,
            "source": "the build sheet: an estimate, walls and roof stiffen a head, ports and "
            "jackets soften it",
        },
        {"what": "deck face", "status": build.sheet.status, "source": "the build sheet"},
    ]
    for zone in found.joint.gasket.zones:
        rows.append({"what": zone.name, "status": zone.status, "source": zone.source})
    return Shown(html_table("Sources of the deck map", rows), plain_table(rows))


EXERCISES = Exercises("05")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("sharing")
def _(build: Build, system: str) -> Solved:
    lay, bore = build.layout, analysis.middle_bore(build)
    every = [places.around_bore(lay, i) for i in range(len(lay.bores))]
    worth, count = float(every[bore].effective), len(every[bore].bolts)
    each = len(lay.bolts) / len(lay.bores)
    return Solved(
        worth,
        {
            "shared fasteners counted in full": count,
            "average over the head": each,
            "one fastener": worth / count,
        },
        {
            "bore": str(bore + 1),
            "count": str(count),
            "worth": (worth, "number", 2),
            "bolts": str(len(lay.bolts)),
            "bores": str(len(lay.bores)),
            "each": (each, "number", 2),
        },
        [
            {
                "bore": str(i),
                "fasteners round it": str(len(around.bolts)),
                "worth": (around.effective, "number", 2),
            }
            for i, around in enumerate(every, 1)
        ],
    )


def _as_shown(value: float, kind: str, system: str) -> float:
    """A number as the text gives it, in SI."""
    return float(to_si(parse(show(value, kind, system).replace(",", "")), kind, kind))


@EXERCISES.solver("even")
def _(build: Build, system: str) -> Solved:
    bore = analysis.middle_bore(build)
    clamp, joint = analysis.clamp_side(build, analysis.gasket_of(build))
    # as the text gives them, so that it and the answer agree to the last figure
    one = _as_shown(float(clamp.preload.low), "force", system)
    diameter = _as_shown(joint.seal_diameter, "length", system)
    worth = round(float(places.around_bore(build.layout, bore).effective), 2)
    length = np.pi * diameter
    return Solved(
        one * worth / length,
        {
            "radius for diameter": one * worth / (0.5 * length),
            "one fastener for the whole bore": one / length,
            "diameter for the way round": one * worth / diameter,
        },
        {
            "one": (one, "force"),
            "bore": str(bore + 1),
            "worth": (worth, "number", 2),
            "diameter": (diameter, "length"),
            "length": (length, "length"),
            "told": " ".join(told(build, system).splitlines()),
        },
    )


@EXERCISES.solver("stiffer")
def _(build: Build, system: str) -> Solved:
    now, fired = build.plate_thickness, analysis.middle_bore(build)
    more = _THICKER * now
    deck = find(build).standing.deck
    factor = deck.vary(thickness=more).plate.stiffness / deck.plate.stiffness

    def row(head: str, one: Build) -> dict[str, Figure]:
        found = find(one, fired=fired)
        angle, load = found.state.line_load(fired)
        return {
            "head": head,
            "thickness": (one.plate_thickness, "length"),
            "least load at peak": (float(load.min()), found.kind),
            "at": (float(angle[int(np.argmin(load))]), "angle", 0),
            "lift at the seal": (float(found.state.seal_lift(fired)[1].max()), "lift"),
        }

    return Solved(
        factor,
        {"in proportion": _THICKER, "squared": _THICKER**2},
        {
            "now": (now, "length"),
            "more": (more, "length"),
            "factor": (factor, "number", 2),
            "bore": str(fired + 1),
        },
        [
            row("as it stands", build),
            row("stiffer", build.vary({"deck.effective_thickness": from_si(more, "length")})),
        ],
    )


_HARD = "fibre body with steel ring"
_SIDE_BY_SIDE = ("multi-layer steel", _HARD, "copper sheet")


@EXERCISES.solver("coat")
def _(build: Build, system: str) -> Solved:
    if len(build.layout.bores) < 2:
        raise fail("deck.bores", "one bore", "a deck with two bores or more for this exercise")
    rows: list[dict[str, Figure]] = []
    here, far = 0.0, 0.0
    for name in _SIDE_BY_SIDE:
        one = ranking.with_construction(build, name)
        sound, bare = find(one), find(one, -_MISSING)
        before, after = (f.standing.line_load(0)[1] for f in (sound, bare))
        kind, half = sound.kind, len(before) // 2
        if name == _HARD:
            here, far = (float(after[i] / before[i] - 1.0) for i in (0, half))
        rows.append(
            {
                "gasket": name,
                "towards bore 2, coat all over": (float(before[0]), kind),
                "patch missing": (float(after[0]), kind),
                "far side, coat all over": (float(before[half]), kind),
                "far side, patch missing": (float(after[half]), kind),
            }
        )
    if here < -0.05 and abs(far) < 0.2 * abs(here):
        right = "between these bores"
    elif here > 0.05:
        right = "more load"
    else:
        right = "same torque" if abs(here) < 0.05 else "all round"
    return Solved(
        right,
        figures={
            "hard": _HARD,
            "missing": (_MISSING, "lift"),
            "here": f"{100 * here:+.0f} %",
            "far": f"{100 * far:+.1f} %",
        },
        rows=rows,
    )
