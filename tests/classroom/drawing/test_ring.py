"""The section of a wire ring."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from sealkit import InputError
from sealkit.drawing.ring import drawing
from sealkit.sealing.grooves import wire_ring
from tests.sealing.test_grooves import GOOD


def texts(text: str) -> list[str]:
    return ["".join(t.itertext()) for t in ET.fromstring(text).iter("text")]


def spans(text: str, index: int) -> np.ndarray:
    """Corner points of the path drawn as number `index`."""
    paths = list(ET.fromstring(text).iter("path"))
    body = paths[index].attrib["d"].strip("MZ ").replace("L", "")
    return np.array([[float(v) for v in p.split(",")] for p in body.split()])


def test_drawing_says_its_dimensions_in_the_shops_units() -> None:
    ring = wire_ring(**GOOD)
    inch, metric = texts(drawing(ring, "inch")), texts(drawing(ring, "metric"))
    for words in (("wire", "0.041 in"), ("proud", "0.006 in")):
        assert words in itertools.pairwise(inch)
    assert "receiver 0.060 in wide" in inch
    assert ("copper", "1.09 mm") in itertools.pairwise(metric)
    assert "head: A356-T6" in metric
    assert any(t.startswith("block: grey iron") for t in metric)


def test_drawing_is_to_scale() -> None:
    ring = wire_ring(**GOOD)
    text = drawing(ring)
    (circle,) = ET.fromstring(text).iter("circle")
    scale = 2 * float(circle.attrib["r"]) / ring.wire_diameter.to("mm").magnitude
    copper = spans(text, 0)
    top, bottom = copper[0, 1], copper[1, 1]
    assert (bottom - top) / scale == pytest.approx(0.043 * 25.4, abs=0.001)
    receiver = spans(text, 2)
    assert (receiver[0, 0] - receiver[-1, 0]) / scale == pytest.approx(0.060 * 25.4, abs=0.001)
    assert (receiver[0, 1] - receiver[1, 1]) / scale == pytest.approx(0.006 * 25.4, abs=0.001)
    # the wire stands proud into the copper by the protrusion
    low = float(circle.attrib["cy"]) + float(circle.attrib["r"])
    assert (low - top) / scale == pytest.approx(0.006 * 25.4, abs=0.001)


def test_drawing_turns_over_and_works_without_receiver() -> None:
    ring = wire_ring(**GOOD)
    text = drawing(ring, wire_in="block")
    (circle,) = ET.fromstring(text).iter("circle")
    assert float(circle.attrib["cy"]) > spans(text, 0)[:, 1].max()
    assert any(t.startswith("block: A356-T6") for t in texts(text))
    plain = {k: v for k, v in GOOD.items() if not k.startswith("receiver")}
    bare = drawing(wire_ring(**plain), "inch")
    assert not any("receiver" in t for t in texts(bare))
    assert "no receiver" in bare
    for bad in ({"system": "cubits"}, {"wire_in": "sump"}):
        with pytest.raises(InputError):
            drawing(ring, **bad)


def test_drawing_has_a_text_alternative_on_white() -> None:
    (svg,) = ET.fromstring(drawing(wire_ring(**GOOD))).iter("svg")
    assert svg.attrib["role"] == "img"
    assert "protrusion 0.15 mm" in svg.attrib["aria-label"]
    assert next(svg.iter("rect")).attrib["fill"] == "#fff"
