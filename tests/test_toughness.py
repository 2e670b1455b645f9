"""Absurd input that can be read ends in a named error or in a report, never in anything else."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sealkit import build, paper, report, scatter, tables
from sealkit.errors import InputError
from sealkit.report import workshop
from sealkit.sealing import constructions
from sealkit.units import KINDS
from tests.sheet_zones import read_zones

DEMOS = build.demos()
NO_NUMBER = re.compile(r"(?<![a-z])(nan|-?inf)(?![a-z])", re.IGNORECASE)
CALM = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def judge(changes: dict[str, Any], demo: str = "boosted-four", whole: bool = False) -> str:
    """The words of the report, or of the error; anything else fails."""
    try:
        result = report.run(build.demo(demo).vary(changes))
    except InputError as err:
        assert err.faults and all(f.field and f.came and f.wanted for f in err.faults)
        return "error: " + str(err)
    numbers = [x for row in result.limits for x in (row.demand, row.capacity, row.margin)]
    assert not any(math.isnan(x) for x in numbers)
    assert result.weakest.margin == min(r.margin for r in result.limits)
    words = [
        result.verdict(),
        *map(str, (report.rows(result), report.facts(result), report.order_rows(result))),
    ]
    words += [str(workshop.facts(result)), *map(str, result.warnings)]
    if whole:
        printed = paper.paper_of(result)
        for show in (paper.text, paper.page):
            words += [show(printed), show(printed, "inch")]
    text = "\n".join(words)
    assert not (found := NO_NUMBER.search(text)), text[max(found.start() - 60, 0) :][:120]
    return text


# --------------------------------------------------------------------------- what cannot be
# so little charge that its pressure never comes up to that of the air outside
EMPTY: dict[str, Any] = {
    "engine.compression_ratio": 1.001,
    "charge.boost": "0 bar",
    "charge.filling": 0.3,
    "charge.residual_fraction": 0.2,
    "burn.released_share": 0.3,
    "burn.ca50": "60 deg",
}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"engine.bore": "0 mm"}, "engine.bore"),
        ({"engine.stroke": "-86 mm"}, "engine.stroke"),
        ({"charge.boost": "100 bar"}, "charge.boost"),
        ({"engine.rod_length": "30 mm"}, "engine.rod_length"),
        ({"engine.rod_length": "43 mm"}, "engine.rod_length"),
        ({"engine.compression_ratio": 1}, "engine.compression_ratio"),
        ({"engine.compression_ratio": math.nan}, "engine.compression_ratio"),
        ({"engine.compression_ratio": math.inf}, "engine.compression_ratio"),
        ({"engine.bore": math.nan}, "engine.bore"),
        ({"engine.bore": "nan mm"}, "engine.bore"),
        ({"engine.bore": "1e999 mm"}, "engine.bore"),
        ({"engine.cylinders": 0}, "engine.cylinders"),
        ({"engine.cylinders": 2.5}, "engine.cylinders"),
        ({"fasteners.hole_diameter": "5 mm"}, "fasteners.hole_diameter"),
        ({"fasteners.bearing_diameter": "12 mm"}, "fasteners.bearing_diameter"),
        ({"fasteners.bolt_circle": "60 mm"}, "fasteners.bolt_circle"),
        ({"fasteners.preload_factor": 0}, "fasteners.preload_factor"),
        ({"fasteners.embedment": "-1 um"}, "fasteners.embedment"),
        ({"heat.rise_factor": -1}, "heat.rise_factor"),
        ({"gasket.seal_diameter": "40 mm"}, "gasket.seal_diameter"),
        (EMPTY, "engine.compression_ratio"),
        ({"burn.released_share": 0}, "burn.released_share"),
    ],
)
def test_what_cannot_be_is_named(changes: dict[str, Any], field: str) -> None:
    assert field in judge(changes).removeprefix("error: ")
    assert judge(changes).startswith("error: ")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        # bolts far weaker than the gas
        ({"fasteners.thread": "M6x1", "fasteners.torque": "5 N*m"}, "Does not hold"),
        ({"fasteners.torque": "0.5 N*m"}, "xceeded already without gas"),
        ({"fasteners.torque": "3000 N*m"}, "breaks on the wrench"),
        ({"charge.boost": "10 bar"}, "Does not hold"),
        ({"burn.knock_amplitude": "300 bar"}, "Does not hold"),
        (
            {"fasteners.embedment": "200 um", "fasteners.torque": "20 N*m"},
            "Embedment and creep eat up the whole preload",
        ),
        ({"gasket.seal_creep_relaxation": 0.9, "fasteners.preload_scatter": 0.9}, "Does not hold"),
        ({"head.thickness": "3 mm"}, "Does not hold"),
        ({"deck": None, "fasteners.around_bore": 2, "fasteners.on_head": 5}, "Does not hold"),
        ({"fasteners.engagement": "1 mm"}, "Does not hold"),
        ({"gasket.liquid_length": "5000 mm", "fasteners.torque": "20 N*m"}, "Does not hold"),
    ],
)
def test_what_cannot_hold_is_told(changes: dict[str, Any], words: str) -> None:
    assert words.lower() in judge(changes).lower()


@pytest.mark.parametrize("demo", ["boosted-four", "na-iron-v8"])
@pytest.mark.parametrize(
    "changes",
    [
        {"fasteners.torque": "0.5 N*m", "fasteners.tightening": "torque"},
        {"charge.boost": "10 bar", "burn.knock_amplitude": "300 bar"},
        {"fasteners.preload_factor": 0.1, "heat.rise_factor": 3},
    ],
    ids=["hardly tightened", "far too much pressure", "loose and hot"],
)
def test_whole_text_and_page_of_builds_far_out(demo: str, changes: dict[str, Any]) -> None:
    text = judge(changes, demo, whole=True)
    assert text.startswith("error: ") or paper.LEAK in text


@pytest.mark.parametrize(
    ("head", "block"),
    [
        ("301 full hard", "301 full hard"),
        ("301 full hard", "A356-T6"),
        ("304", "301 full hard"),
        ("steel", "304"),
        ("compacted graphite iron", "ductile iron"),
    ],
)
def test_faces_no_gasket_is_known_for_leave_the_report_whole(head: str, block: str) -> None:
    text = judge({"head.material": head, "block.material": block}, whole=True)
    if "301 full hard" in (head, block) and not text.startswith("error"):
        assert "not worked out: head.material or block.material" in text
    one = judge({"head.material": head, "gasket.construction": "fibre body with steel ring"})
    assert not one.startswith("error") or "head.material" in one


def test_scatter_of_builds_far_out_is_told_or_named() -> None:
    far = build.demo("boosted-four").vary({"charge.ambient_temperature": "-50 degC"})
    wide = {
        "charge.ambient_temperature": scatter.Uniform(223.15, 333.15),
        "charge.boost": scatter.Uniform(0.0, 1e6),
    }
    drawn = [scatter.Input(path, {path: law}, "test", "invented") for path, law in wide.items()]
    try:
        out = scatter.run(far, drawn, 64)
    except InputError as err:
        assert all(f.field for f in err.faults)
    else:
        assert not any(np.isnan(m).any() for m in out.margins.values())


def test_a_cycle_that_never_rises_over_the_air_is_named() -> None:
    words = judge(EMPTY)
    assert "air outside" in words and words.startswith("error: ")


# --------------------------------------------------------------------------- gaskets of one's own
ZONE: dict[str, Any] = {
    "name": "bead",
    "role": "seal",
    "per": "length",
    "width": "1.2 mm",
    "closure_unit": "um",
    "load_unit": "N/mm",
    "closure": [0, 100, 200],
    "load": [0, 60, 150],
    "unloading": [{"closure": [200, 190, 180], "load": [150, 60, 0]}],
    "seating": 40,
    "factor": 2.0,
}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"closure": [], "load": []}, "closure"),
        ({"closure": None}, "closure"),
        ({"closure": [0, math.nan, 200]}, "closure"),
        ({"closure": [0, math.inf, 200]}, "closure"),
        ({"closure": [0, 200, 100]}, "closure"),
        ({"load": [0, -5, 10]}, "load"),
        ({"load": [0, 60]}, "load"),
        ({"load": "flat"}, "load"),
        ({"unloading": [{"closure": [], "load": []}]}, "unloading"),
        ({"unloading": [{"closure": [200, 190, 180], "load": [150, 60, math.nan]}]}, "unloading"),
        ({"unloading": 3}, "unloading"),
        ({"width": "0 mm"}, "width"),
        ({"width": "nan mm"}, "width"),
        ({"seating": -1}, "seating"),
        ({"factor": math.nan}, "factor"),
        ({"closure_unit": "kg"}, "closure_unit"),
        ({"role": "body"}, "per"),
        ({"role": "bead"}, "role"),
        ({"load": [0, 0, 0], "unloading": []}, "load"),
    ],
)
def test_absurd_gasket_curves_are_named(changes: dict[str, Any], field: str) -> None:
    zones, faults = read_zones([{**ZONE, **changes}], "gasket.zones")
    assert faults and any(field in str(f) for f in faults), (zones, faults)


@pytest.mark.parametrize(
    "changes",
    [
        {"load": [0, 0, 1e-9], "unloading": []},
        {"closure": [0, 1e-9, 2e-9], "load": [0, 60, 150], "unloading": []},
        {"closure": [0, 1e6, 2e6], "load": [0, 60, 150], "unloading": []},
        {"load": [0, 1e9, 2e9], "unloading": []},
        {"crush": 0},
        {"seating": 1e9},
        {"factor": 1e6},
        {"stands_proud": "5 mm"},
        {"width": "1 m"},
    ],
)
def test_gaskets_no_joint_can_live_with_are_told(changes: dict[str, Any]) -> None:
    text = judge(own(changes))
    assert "old" in text  # "holds", "does not hold" or the load a fault speaks of


def own(changes: dict[str, Any]) -> dict[str, Any]:
    """A sheet with a gasket of one bead."""
    return {
        "gasket.construction": "my own",
        "gasket.zones": [{**ZONE, **changes}],
        "gasket.creep_relaxation": 0.05,
        "liquids.deck": "dry",
    }


@pytest.mark.parametrize("load", [[0, 60, 60], [0, 0.1, 0.1]])
def test_a_curve_that_ends_level_below_the_clamp_is_named(load: list[float]) -> None:
    text = judge(own({"load": load, "unloading": []}))
    assert text.startswith("error: ") and "never carries" in text and "my own" in text


numbers_ = st.floats(allow_nan=True, allow_infinity=True) | st.integers(-3, 400)


@CALM
@given(
    st.dictionaries(
        st.sampled_from(sorted(ZONE)),
        st.lists(numbers_, max_size=4) | numbers_ | st.text(max_size=4) | st.none(),
        max_size=3,
    )
)
def test_any_zone_is_read_or_named(changes: dict[str, Any]) -> None:
    zones, faults = read_zones([{**ZONE, **changes}], "gasket.zones")
    assert faults or len(zones) == 1
    if not faults:
        judge(own(changes))


# --------------------------------------------------------------------------- any sheet
def _numbers() -> dict[str, build.Spec]:
    plain = {p: s for p, s in build.fields() if s.kind in KINDS or s.kind == "whole"}
    return {p: s for p, s in plain.items() if not p.startswith("engine.chamber")}


NUMBERS = _numbers()
WORDS = {
    "fasteners.tightening": ("torque", "torque and angle", "stretch", "yield"),
    "fasteners.thread": ("M6x1", "M8x1.25", "M14x1.5", "7/16-20 UNF", "M20x2.5"),
    "fasteners.grade": ("8.8", "12.9", "SAE 8"),
    "fasteners.lubricant": tuple(tables.load("friction")),
    "gasket.construction": tuple(constructions.names()),
    "head.material": tuple(tables.load("materials")),
    "block.material": tuple(tables.load("materials")),
    "fuel.name": ("gasoline", "methanol", "ethanol", "nitromethane", "methane", "E85"),
    "heat.hot_state": ("warm-up", "warm idle", "hot full load"),
    "liquids.deck": ("wet", "dry"),
}
NEEDS = {
    "torque": {"fasteners.torque": "90 N*m"},
    "torque and angle": {"fasteners.torque": "40 N*m", "fasteners.angle": "90 deg"},
    "stretch": {"fasteners.stretch": "0.2 mm"},
    "yield": {},
}


@st.composite
def wild(draw: st.DrawFn) -> dict[str, Any]:
    """A few fields anywhere in what the sheet allows, mostly at its ends."""
    out: dict[str, Any] = {}
    for path in draw(st.lists(st.sampled_from([*NUMBERS, *WORDS]), min_size=1, max_size=7)):
        if path in WORDS:
            out[path] = draw(st.sampled_from(WORDS[path]))
            continue
        spec = NUMBERS[path]
        if spec.choices:
            out[path] = draw(st.sampled_from(spec.choices))
            continue
        low, high = (x if math.isfinite(x) else 1e3 for x in spec.limits)
        place = draw(st.sampled_from([0.0, 1e-6, 1e-3, 0.03, 0.3, 0.5, 0.999, 1.0]))
        value = low + (high - low) * place
        if spec.kind == "whole":
            out[path] = round(value)
        else:
            unit = KINDS[spec.kind].si
            out[path] = f"{value!r} {unit}" if unit else value
    way = out.get("fasteners.tightening")
    return {**NEEDS[way], **out} if way else out


@settings(CALM, max_examples=60)
@given(st.sampled_from(DEMOS), wild())
def test_any_sheet_ends_in_a_report_or_a_named_error(demo: str, changes: dict[str, Any]) -> None:
    judge(changes, demo)


@settings(CALM, max_examples=8)
@given(st.sampled_from(DEMOS), wild())
def test_the_chance_of_any_sheet_is_told_or_named(demo: str, changes: dict[str, Any]) -> None:
    try:
        result = report.run(build.demo(demo).vary(changes))
    except InputError:
        return
    for what, words in paper.paper_of(result).leak_rows():
        assert what and words and not NO_NUMBER.search(words)


# --------------------------------------------------------------------------- tables
@CALM
@given(st.text(max_size=80), st.sampled_from(["low [um]", "share []", "word", "source", "status"]))
def test_any_table_is_read_or_named(cell: str, head: str) -> None:
    rows = {"name": "a", "low [um]": "3", "share []": "3", "word": "x", "source": "s"}
    row = {**rows, "status": "invented", head: cell}
    quoted = ",".join('"' + v.replace('"', '""') + '"' for v in row.values())
    text = ",".join(row) + "\n" + quoted + "\n"
    try:
        found = tables.read_csv(text, "mine")
    except InputError as err:
        assert all("mine line 2" in f.field for f in err.faults)
    else:
        assert len(found) == 1
        assert found[0]["status"] in tables.STATUSES
