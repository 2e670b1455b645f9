"""The deck face drawn from above: to scale, named, equal axes, both shop systems."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from sealkit import build
from sealkit.classroom.drawing import deck_chart
from sealkit.sealing.deck.layout import Hole

DEMOS = ["boosted-four", "boosted-six", "methanol-drag", "na-iron-v8"]


def traces(name: str, system: str = "metric", **more: Any) -> dict[str, dict[str, Any]]:
    made = deck_chart.outline_traces(build.demo(name).layout, system, **more)
    out = {t["meta"]: t for t in made}
    assert len(out) == len(made)
    return out


def rings(trace: dict[str, Any]) -> list[Any]:
    """The closed rings of a trace."""
    places = np.stack([trace["x"], trace["y"]], axis=-1)
    cuts = np.nonzero(np.isnan(places[:, 0]))[0]
    return [p[~np.isnan(p[:, 0])] for p in np.split(places, cuts) if not np.all(np.isnan(p))]


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize(("system", "unit"), [("metric", 1e-3), ("inch", 0.0254)])
def test_rings_are_drawn_to_scale_where_they_stand(name: str, system: str, unit: float) -> None:
    deck, drawn = build.demo(name).layout, traces(name, system)
    for meta, centres, sizes in (
        ("bores", deck.bores, [deck.bore] * len(deck.bores)),
        ("fasteners", deck.bolts, [deck.bolt_hole] * len(deck.bolts)),
    ):
        found = rings(drawn[meta])
        assert len(found) == len(centres)
        for ring, centre, size in zip(found, centres, sizes, strict=True):
            far = np.linalg.norm(ring * unit - centre, axis=1)
            assert far == pytest.approx(0.5 * size, rel=1e-9)
            assert ring[0] == pytest.approx(ring[-1]), "closed"
    assert drawn["outline"]["x"][0] == drawn["outline"]["x"][-1]
    assert np.ptp(drawn["outline"]["x"]) * unit == pytest.approx(deck.extent[1] - deck.extent[0])


@pytest.mark.parametrize("name", DEMOS)
def test_everything_has_a_name_that_is_not_only_a_colour(name: str) -> None:
    deck, drawn = build.demo(name).layout, traces(name)
    assert drawn["bores names"]["text"] == [f"<b>{i + 1}</b>" for i in range(len(deck.bores))]
    assert drawn["fasteners names"]["text"] == [str(i + 1) for i in range(len(deck.bolts))]
    for fluid in ("coolant", "oil"):
        names = [h.name for h in deck.holes if h.fluid == fluid]
        assert (f"{fluid} names" in drawn) == bool(names)
        if names:
            text = drawn[f"{fluid} names"]
            assert text["text"] == names
            assert all(fluid in told for told in text["hovertext"])
            assert len(rings(drawn[fluid])) == len(names)
    if deck.holes:
        assert drawn["coolant"]["fillcolor"] != drawn["oil"]["fillcolor"], "ring and disc"


def test_names_stand_beyond_the_edge_or_at_the_right_of_the_hole() -> None:
    deck = build.demo("boosted-four").layout
    middle = Hole("C9", 0.0465, 0.0, 0.004, "coolant")
    more = dataclasses.replace(deck, holes=(*deck.holes, middle))
    drawn = {t["meta"]: t for t in deck_chart.outline_traces(more)}["coolant names"]
    y0, y1 = (1e3 * v for v in deck.extent[2:])
    assert drawn["textposition"][-1] == "middle right"
    assert (drawn["x"][-1], drawn["y"][-1]) == pytest.approx((48.5, 0.0))
    for side, y in zip(drawn["textposition"][:-1], drawn["y"][:-1], strict=True):
        assert (side == "top center" and y >= y1) or (side == "bottom center" and y < y0)


def test_seal_is_drawn_where_it_is_told() -> None:
    assert "seals" not in traces("boosted-four")
    seal = rings(traces("boosted-four", seal_diameter=0.0895)["seals"])
    assert np.ptp(seal[0][:, 0]) == pytest.approx(89.5, rel=1e-6)


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_equal_axes_hold_the_deck_and_all_names(name: str, system: str) -> None:
    deck = build.demo(name).layout
    page = deck_chart.axes(deck, system)
    assert page["yaxis"]["scaleanchor"] == "x" and page["yaxis"]["scaleratio"] == 1
    (x0, x1), (y0, y1) = page["xaxis"]["range"], page["yaxis"]["range"]
    for trace in traces(name, system).values():
        assert np.nanmin(trace["x"]) > x0 and np.nanmax(trace["x"]) < x1
        assert np.nanmin(trace["y"]) > y0 and np.nanmax(trace["y"]) < y1
    words = page["annotations"][0]["text"] + page["xaxis"]["title"]["text"]
    assert ("mm" if system == "metric" else ", in") in words
    assert ("oil" in words) == bool(deck.holes)


def test_plotly_takes_the_dicts() -> None:
    go = pytest.importorskip("plotly.graph_objects")
    deck = build.demo("na-iron-v8").layout
    figure = go.Figure(data=deck_chart.outline_traces(deck, "inch"), layout=deck_chart.axes(deck))
    assert len(figure.data) == 9
