"""The build sheet: reading, faults, changing, writing back, the demonstration builds."""

from __future__ import annotations

import ast
import copy
import dataclasses
import math
import os
import stat
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sealkit import build as sheets
from sealkit import files
from sealkit.build import Build, names
from sealkit.build.fields import OPTIONAL, OWN_TABLES, TABLE, TOP, si
from sealkit.build.values import read, written
from sealkit.errors import InputError
from sealkit.sealing.deck import layout as layouts
from sealkit.units import KINDS, Q, to_si
from tests.sealing.faces import gasket_area

SHEET = """
[sheet]
name = "test four"

[engine]
cylinders = 4
bore = "86 mm"
stroke = "86 mm"
rod_length = "143 mm"
speed = "6500 rpm"
compression_ratio = 9.0

[charge]
boost = "18 psi"

[fuel]
name = "gasoline"
lambda = 0.83

[burn]
ca50 = "8 deg"
duration = "25 deg"

[fasteners]
kind = "bolt"
thread = "M11x1.5"
grade = "10.9"
around_bore = 4
on_head = 10
grip_head = "95 mm"
engagement = "22 mm"
hole_diameter = "12 mm"
bearing_diameter = "20 mm"
bolt_circle = "126 mm"
lubricant = "engine oil"
tightening = "torque"
torque = "90 N*m"

[head]
material = "A356-T6"
thickness = "40 mm"

[block]
material = "cast iron"

[gasket]
construction = "multi-layer steel"
bore = "87.5 mm"
seal_diameter = "89.5 mm"
body_area = "60 cm**2"
compressed_thickness = "0.8 mm"
"""
CHAMBER = {
    "engine.chamber.chamber_volume": "50 cc",
    "engine.chamber.deck_clearance": "0.25 mm",
    "engine.chamber.piston_volume": "4 cc",
}
ZONES = [
    {
        "name": "bead",
        "role": "seal",
        "per": "length",
        "width": "2 mm",
        "closure": [0, 0.1, 0.2],
        "load": [0, 40, 60.5],
        "closure_unit": "mm",
        "load_unit": "N/mm",
        "unloading": [{"closure": [0.2, 0.15], "load": [60.5, 0]}],
        "source": "own bench",
        "status": "from memory",
    }
]


@pytest.fixture(scope="module")
def four() -> Build:
    return sheets.loads(SHEET)


def faults(call: Any, *args: Any) -> dict[str, str]:
    """Field -> whole line of every fault that `call` raises."""
    with pytest.raises(InputError) as caught:
        call(*args)
    lines = str(caught.value).splitlines()
    assert len(lines) == len(caught.value.faults), "one line for each fault"
    return {f.field: str(f) for f in caught.value.faults}


def raw() -> dict[str, Any]:
    return copy.deepcopy(tomllib.loads(SHEET))


def changed(path: str, value: Any) -> dict[str, Any]:
    """The test sheet as nested values with one of them replaced (or taken away with None)."""
    out = raw()
    *steps, key = path.split(".")
    place = out
    for step in steps:
        place = place.setdefault(step, {})
    if value is None:
        place.pop(key)
    else:
        place[key] = value
    return out


# --------------------------------------------------------------------------- reading
def test_values_are_plain_si(four: Build) -> None:
    assert four.engine.bore == 0.086
    assert four.engine.speed == pytest.approx(6500 / 60, rel=1e-14)
    assert four.charge.boost == pytest.approx(18 * 6894.757293168361, rel=1e-14)
    assert four.burn.ca50 == pytest.approx(math.radians(8), rel=1e-14)
    assert four.gasket.body_area == pytest.approx(60e-4, rel=1e-14)
    assert four.fasteners.torque == 90.0
    assert four.fuel.air_ratio == 0.83
    assert four.fuel.equivalence_ratio is None
    assert isinstance(four.engine.cylinders, int)


def test_defaults(four: Build) -> None:
    assert four.engine.heads == 1
    assert four.engine.strokes == 4
    assert four.charge.ambient_pressure == 101325.0
    assert four.charge.altitude is None
    assert four.charge.ambient_temperature == pytest.approx(293.15, abs=1e-9)
    assert four.charge.compressor_efficiency == 0.70
    assert four.charge.intercooler_effectiveness == 0.0
    assert four.burn.wall_temperature == 450.0
    assert four.burn.heat_transfer == "Annand"
    assert four.burn.one_cycle_in == 1000
    assert four.burn.knock_amplitude == 0.0
    assert four.fasteners.shank == ()
    assert four.fasteners.grip_block == 0.0
    assert four.fasteners.roughness == "medium"
    assert four.block.thickness is None
    assert four.sheet.status == "own build"
    assert four.bores_per_head == 4


def test_what_is_left_out_holds_the_default_of_the_table(four: Build) -> None:
    given = tomllib.loads(SHEET)
    for path, spec in sheets.fields():
        name, _, key = path.rpartition(".")
        if spec.required or key in given.get(name, {}) or name in OPTIONAL:
            continue
        held = four._held(path)
        if spec.kind in KINDS and spec.default is not None:
            assert held == pytest.approx(to_si(spec.default, spec.kind), rel=1e-14), path
        else:
            assert held == (() if spec.kind == "rows" else spec.default), path


def test_defaults_that_are_claims_name_their_source() -> None:
    for path, spec in sheets.fields():
        if spec.kind in KINDS and spec.default is not None:
            neutral = to_si(spec.default, spec.kind) in (0.0, 1.0)
            assert neutral or spec.source, path


def test_sections_show_kinds_and_ranges() -> None:
    words = "bore : length in m, from 20 mm to 400 mm; cylinder bore"
    assert words in (sheets.SECTIONS["engine"].__doc__ or "")
    for name, section in sheets.SECTIONS.items():
        have = {f.name for f in dataclasses.fields(section)} - {"chamber"}
        assert have == {s.attribute for s in TABLE[name].values()}, name


def test_modules_name_only_fields_of_the_sheet() -> None:
    """`build.head.gradient`, or `f.torque` after `f = build.fasteners`; no type checker sees it."""
    attributes = {
        name: {f.name for f in dataclasses.fields(section)}
        | {"__class__", *(k for k, v in vars(section).items() if isinstance(v, property))}
        for name, section in sheets.SECTIONS.items()
        if "." not in name
    }
    seen, wrong = 0, []

    def section_of(node: ast.AST, known: dict[str, str]) -> str:
        if isinstance(node, ast.Name):
            return known.get(node.id, "")
        if not isinstance(node, ast.Attribute) or node.attr not in attributes:
            return ""
        return node.attr if ast.unparse(node.value).rpartition(".")[2] == "build" else ""

    for path in sorted((Path(sheets.__file__).parents[1]).rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for scope in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
            known: dict[str, str] = {}
            for node in (n for n in ast.walk(scope) if isinstance(n, ast.Assign)):
                (target, value), pairs = (node.targets[0], node.value), []
                if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
                    pairs = list(zip(target.elts, value.elts, strict=False))
                for one, of in pairs or [(target, value)]:
                    if isinstance(one, ast.Name):
                        known[one.id] = section_of(of, known)
            for named in (n for n in ast.walk(scope) if isinstance(n, ast.Attribute)):
                if name := section_of(named.value, known):
                    seen += 1
                    if named.attr not in attributes[name]:
                        wrong.append(f"{path.name}:{named.lineno} {name}.{named.attr}")
    assert wrong == [] and seen > 300


def test_a_build_cannot_be_changed(four: Build) -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        four.engine = four.engine  # type: ignore[misc]
    with pytest.raises(dataclasses.FrozenInstanceError):
        four.engine.bore = 0.09  # type: ignore[attr-defined]


def test_equal_by_values_and_not_by_text(four: Build) -> None:
    other = sheets.loads(SHEET.replace('stroke = "86 mm"', 'stroke = "8.6 cm"'))
    assert other.engine.stroke == four.engine.stroke
    assert other == four
    assert hash(other) == hash(four)
    assert four.vary({"engine.stroke": "87 mm"}) != four
    assert four.vary({"engine.stroke": "0.086 m", "burn.wall_temperature": "176.85 degC"}) == four


def test_words_are_read_in_any_case_and_by_their_other_names(four: Build) -> None:
    other = four.vary(
        {
            "fuel.name": "Petrol",
            "burn.heat_transfer": "ANNAND",
            "fasteners.thread": "m11 x 1.5",
            "block.material": "Grey Iron",
        }
    )
    assert other == four
    assert four.block.material == "grey iron"
    assert 'material = "cast iron"' in four.dumps()
    assert 'name = "Petrol"' in other.dumps()
    assert four.vary({"fuel.name": "e85"}).fuel.name == "E85"


def test_percentages_and_plain_numbers(four: Build) -> None:
    percent = four.vary({"charge.intercooler_effectiveness": "70 %"})
    assert percent == four.vary({"charge.intercooler_effectiveness": 0.7})
    assert '"70 %"' in percent.dumps()


def test_mark_at_the_start_and_windows_line_ends(four: Build, tmp_path: Path) -> None:
    path = tmp_path / "four.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SHEET.replace("\n", "\r\n").encode())
    assert sheets.load(path) == four


# --------------------------------------------------------------------------- compression ratio
def test_compression_ratio_given(four: Build) -> None:
    assert four.compression_ratio == 9.0


def test_compression_ratio_from_volumes(four: Build) -> None:
    built = four.vary(CHAMBER)
    assert built.engine.compression_ratio is None
    swept = math.pi / 4 * 8.6**2 * 8.6
    left = 50 + math.pi / 4 * 8.75**2 * 0.08 + math.pi / 4 * 8.6**2 * 0.025 + 4
    assert built.compression_ratio == pytest.approx((swept + left) / left, rel=1e-12)
    dome = built.vary({"engine.chamber.piston_volume": "-4 cc"})
    assert dome.compression_ratio > built.compression_ratio
    proud = built.vary({"engine.chamber.deck_clearance": "-0.1 mm"})
    assert proud.compression_ratio > built.compression_ratio
    assert built.vary({"engine.compression_ratio": 9.0}) == four


def test_exactly_one_way_to_the_compression_ratio() -> None:
    nothing = faults(sheets.from_dict, changed("engine.compression_ratio", None))
    assert list(nothing) == ["engine.compression_ratio"]
    chamber = {k.rpartition(".")[2]: v for k, v in CHAMBER.items()}
    both = faults(sheets.from_dict, changed("engine.chamber", chamber))
    assert "both" in both["engine.compression_ratio"]


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("engine.chamber.deck_clearance", "-0.9 mm", "engine.chamber.deck_clearance"),
        ("engine.chamber.piston_volume", "-60 cc", "engine.chamber"),
        ("engine.chamber.chamber_volume", "8 cc", "engine.chamber"),
        ("engine.chamber.chamber_volume", "400 cc", "engine.chamber"),
        ("engine.chamber.chamber_volume", "0 cc", "engine.chamber.chamber_volume"),
    ],
)
def test_volumes_that_do_not_fit(four: Build, path: str, value: str, field: str) -> None:
    assert list(faults(four.vary, {**CHAMBER, path: value})) == [field]


# --------------------------------------------------------------------------- faults
@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("engine.bore", 86, ["got 86 without a unit;", "a length", '"86 mm"']),
        ("engine.bore", "86 N*m", ["86", "a length"]),
        ("engine.bore", "86", ["a length"]),
        ("engine.bore", "mm", ['"mm"', "a length"]),
        ("engine.bore", "nan mm", ["a length"]),
        ("engine.bore", "1e999 mm", ["20 mm to 400 mm"]),
        ("engine.bore", math.inf, ["a length"]),
        ("engine.bore", True, ["True", "a length"]),
        ("engine.bore", ["86 mm"], ["a list"]),
        ("engine.bore", {"mm": 86}, ["a table"]),
        ("engine.bore", "860 mm", ['"860 mm"', "from 20 mm to 400 mm"]),
        ("engine.bore", "3386 mil", ["thou"]),
        ("engine.bore", Q([86.0, 87.0], "mm"), ["one value"]),
        ("engine.bore", "", ['""', "a length"]),
        ("engine.compression_ratio", math.nan, ["nan", "above 1 to 25"]),
        ("engine.compression_ratio", math.inf, ["inf", "above 1 to 25"]),
        ("engine.compression_ratio", 1, ["above 1 to 25"]),
        ("engine.compression_ratio", 10**400, ["too large"]),
        ("engine.compression_ratio", "9 bar", ["a plain number"]),
        ("engine.cylinders", 4.5, ["4.5", "a whole number from 1 to 16"]),
        ("engine.cylinders", 0, ["0", "1 to 16"]),
        ("engine.cylinders", "four", ['"four"']),
        ("engine.strokes", 2, ["2", "4 (", "two-stroke engines", "not worked out"]),
        ("engine.heads", 3, ["divides the 4 cylinders"]),
        ("engine.rod_length", "80 mm", ["more than the stroke", "86.00 mm"]),
        ("engine.speed", "108 Hz", ["a crank speed"]),
        ("charge.boost", "-1 psi", ['"-1 psi"', "0 bar to 10 bar"]),
        ("charge.boost", "32 psia", ["absolute pressure came"]),
        ("charge.ambient_pressure", "1 barg", ["gauge pressure came"]),
        ("charge.ambient_temperature", "20 K", ["-50 degC to 60 degC"]),
        ("charge.filling", 90, ["90", "0.3 to 1.3"]),
        ("fuel.name", "gasolene", ["gasolene", "gasoline"]),
        ("fuel.name", 5, ["5", "a text"]),
        ("fuel.lambda", 4.0, ["got 4;", "a lambda from", "for gasoline"]),
        ("fuel.lambda", 12.5, ["a lambda from 0.2 to 5", "not an air-fuel ratio"]),
        ("fuel.lambda", 0.1, ["a lambda from 0.2 to 5"]),
        ("fuel.nitromethane_share", 0.2, ["methanol"]),
        ("burn.ca50", 8, ["without a unit", '"8 deg"']),
        ("burn.heat_transfer", "Woschny", ["Hohenberg", 'did you mean "Woschni"']),
        ("burn.one_cycle_in", 1, ["2 to 1000000000"]),
        ("fasteners.torque", "90 J", ["energy came"]),
        ("fasteners.torque", "66 ft*lb", ["lbf*ft"]),
        ("fasteners.torque", None, ["nothing", "a torque"]),
        ("fasteners.thread", "M11x15", ["M11x15"]),
        ("fasteners.grade", "99.9", ["99.9"]),
        ("fasteners.grade", None, ["nothing", "proof_strength"]),
        ("fasteners.material", "unobtainable", ["unobtainable"]),
        ("fasteners.lubricant", "unobtainable", ["unobtainable"]),
        ("fasteners.around_bore", 11, ["11", "on_head, 10"]),
        ("fasteners.hole_diameter", "10.9 mm", ["the thread", "11.00 mm"]),
        ("fasteners.bearing_diameter", "12 mm", ["the hole"]),
        ("fasteners.washer_diameter", "19 mm", ["not less than the face on it"]),
        ("fasteners.bolt_circle", "101 mm", ["seal diameter and a hole", "101.50 mm"]),
        ("fasteners.shank", "10 mm", ["a list of tables"]),
        ("gasket.bore", "85.9 mm", ["not less than the cylinder bore"]),
        ("gasket.construction", "multilayer steel", ['did you mean "multi-layer steel"']),
        ("gasket.body_area", "60 mm", ["an area"]),
        ("sheet.name", "  ", ["a text"]),
        ("sheet.name", "x" * 3000, ["at most 2000"]),
        ("sheet.name", "\ud800", ["broken characters"]),
        ("sheet.status", "proven", ["own build", "invented"]),
    ],
)
def test_one_fault_is_one_clear_line(path: str, value: Any, words: list[str]) -> None:
    found = faults(sheets.from_dict, changed(path, value))
    assert list(found) == [path]
    for word in words:
        assert word in found[path]


def test_seal_inside_the_opening() -> None:
    found = faults(sheets.from_dict, changed("gasket.seal_diameter", "87 mm"))
    assert "opening of the gasket" in found["gasket.seal_diameter"]


def test_limits_shown_in_inches_on_an_inch_sheet(four: Build) -> None:
    found = faults(four.vary, {"engine.bore": "3.386 in", "engine.rod_length": "1 in"})
    assert "3.386 in" in found["engine.rod_length"]


@pytest.mark.parametrize(
    ("path", "suggestion"),
    [
        ("engine.boar", "bore"),
        ("fuel.air_ratio", "lambda"),
        ("fasteners.tourque", "torque"),
        ("gasket.seal_dia", "seal_diameter"),
    ],
)
def test_unknown_field_suggests_the_near_one(path: str, suggestion: str) -> None:
    found = faults(sheets.from_dict, changed(path, "86 mm"))
    assert list(found) == [path]
    assert f'did you mean "{suggestion}"?' in found[path]


def test_unknown_section_and_section_that_is_none() -> None:
    sheet = raw()
    sheet["fastners"] = sheet.pop("fasteners")
    sheet["burn"] = 5
    found = faults(sheets.from_dict, sheet)
    assert 'did you mean "fasteners"?' in found["fastners"]
    assert "torque" not in found["fasteners"]
    assert "kind" in found["fasteners"]
    assert "[burn]" in found["burn"]
    assert set(found) == {"fastners", "fasteners", "burn"}


def test_control_marks_in_a_key_do_not_reach_the_message() -> None:
    found = faults(sheets.loads, SHEET + '\n["a\\u001b\\nb"]\nx = 1\n')
    assert all(line.isprintable() for line in found.values())


def test_all_faults_of_a_sheet_at_once() -> None:
    text = (
        SHEET.replace('bore = "86 mm"', 'bore = "86 bar"', 1)
        .replace("around_bore = 4", "around_bore = 12")
        .replace('torque = "90 N*m"', "")
        .replace('thickness = "40 mm"', 'thicknes = "40 mm"')
        .replace('name = "gasoline"', 'name = "coal"')
    )
    found = faults(sheets.loads, text)
    assert set(found) == {
        "engine.bore",
        "fasteners.around_bore",
        "fasteners.torque",
        "head.thicknes",
        "fuel.name",
    }


def test_empty_sheet_names_every_section_it_needs() -> None:
    needed = {"sheet", "engine", "fuel", "burn", "fasteners", "head", "block", "gasket"}
    assert set(faults(sheets.loads, "")) == needed


@pytest.mark.parametrize("value", [None, 5, "engine", []])
def test_not_a_mapping(value: Any) -> None:
    assert faults(sheets.from_dict, value)


def test_air_and_ratio_exclude_each_other() -> None:
    sheet = changed("fuel.equivalence_ratio", 1.2)
    assert list(faults(sheets.from_dict, sheet)) == ["fuel.equivalence_ratio"]
    assert list(faults(sheets.from_dict, changed("fuel.lambda", None))) == [
        "fuel.equivalence_ratio"
    ]
    sheet = changed("charge.altitude", "300 m")
    sheet["charge"]["ambient_pressure"] = "1 bar"
    assert list(faults(sheets.from_dict, sheet)) == ["charge.altitude"]


def test_a_bad_lambda_is_not_also_called_missing() -> None:
    assert list(faults(sheets.from_dict, changed("fuel.lambda", "rich"))) == ["fuel.lambda"]


def test_altitude_stands_for_the_ambient_pressure(four: Build) -> None:
    high = four.vary({"charge.altitude": "5000 ft"})
    assert high.charge.altitude == pytest.approx(1524.0)
    assert high.charge.ambient_pressure is None
    assert high.vary({"charge.altitude": None}) == four
    assert high.vary({"charge.ambient_pressure": "101325 Pa"}) == four


def test_strengths_instead_of_a_grade(four: Build) -> None:
    own = {
        "fasteners.proof_strength": "120 ksi",
        "fasteners.yield_strength": "130 ksi",
        "fasteners.tensile_strength": "150 ksi",
    }
    build = four.vary(own)
    assert build.fasteners.grade is None
    assert build.vary({"fasteners.grade": "10.9"}) == four
    one = faults(four.vary, {"fasteners.proof_strength": "120 ksi"})
    assert set(one) == {"fasteners.yield_strength", "fasteners.tensile_strength"}
    found = faults(four.vary, {**own, "fasteners.yield_strength": "160 ksi"})
    assert "tensile_strength" in found["fasteners.yield_strength"]
    sheet = changed("fasteners.proof_strength", "120 ksi")
    assert "both" in faults(sheets.from_dict, sheet)["fasteners.grade"]


@pytest.mark.parametrize(
    ("method", "needed"),
    [
        ("torque", {"torque"}),
        ("torque and angle", {"torque", "angle"}),
        ("stretch", {"stretch"}),
        ("yield", set()),
    ],
)
def test_each_method_asks_for_what_it_needs(four: Build, method: str, needed: set[str]) -> None:
    values = {"torque": "40 N*m", "angle": "90 deg", "stretch": "0.2 mm"}
    bare = {"fasteners.tightening": method, "fasteners.torque": None}
    if needed:
        assert set(faults(four.vary, bare)) == {f"fasteners.{n}" for n in needed}
    full = four.vary({**bare, **{f"fasteners.{n}": values[n] for n in needed}})
    assert full.fasteners.tightening == method


def test_shank(four: Build) -> None:
    parts = [{"diameter": "10 mm", "length": "60 mm"}, {"diameter": "0.4 in", "length": "1 in"}]
    build = four.vary({"fasteners.shank": parts})
    assert [p.length for p in build.fasteners.shank] == pytest.approx([0.06, 0.0254])
    assert '{ diameter = "0.4 in", length = "1 in" }' in build.dumps()
    assert sheets.loads(build.dumps()) == build
    assert build.vary({"fasteners.shank": []}) == four
    long = faults(four.vary, {"fasteners.shank": [{"diameter": "10 mm", "length": "95.1 mm"}]})
    assert "95.10 mm in all" in long["fasteners.shank"]
    exact = {"fasteners.shank": [{"diameter": "10 mm", "length": "95 mm"}]}
    assert four.vary(exact).fasteners.shank[0].length == 0.095
    thick = faults(four.vary, {"fasteners.shank": [{"diameter": "12 mm", "length": "9 mm"}]})
    assert list(thick) == ["fasteners.shank[1].diameter"]
    bad = [
        {"diameter": "10 mm", "length": 60},
        {"dia": "9 mm", "length": "2 mm"},
        {"length": "2 mm"},
    ]
    assert set(faults(four.vary, {"fasteners.shank": bad})) == {
        "fasteners.shank[1].length",
        "fasteners.shank[2].dia",
        "fasteners.shank[3].diameter",
    }


# --------------------------------------------------------------------------- zones
def test_zones_are_kept_and_written_back_unchanged(four: Build) -> None:
    build = four.vary({"gasket.zones": ZONES, "gasket.construction": "our own"})
    text = build.dumps()
    assert tomllib.loads(text)["gasket"]["zones"] == ZONES
    again = sheets.loads(text)
    assert again == build
    assert again.gasket.zones == build.gasket.zones
    bead = build.gasket.zones[0]
    assert (bead.name, bead.role, bead.width) == ("bead", "seal", 0.002)
    assert bead.closure.tolist() == [0, 1e-4, 2e-4] and bead.load.tolist() == [0, 40e3, 60.5e3]
    assert build.vary({"gasket.zones": None, "gasket.construction": "multi-layer steel"}) == four


def test_zones_compare_by_value(four: Build) -> None:
    build = four.vary({"gasket.zones": ZONES})
    same = [{**ZONES[0], "width": "0.2 cm"}]
    other = [{**ZONES[0], "width": "0.3 cm"}]
    assert four.vary({"gasket.zones": same}) == build
    assert four.vary({"gasket.zones": other}) != build


def test_zones_given_do_not_follow_later_changes(four: Build) -> None:
    own = copy.deepcopy(ZONES)
    build = four.vary({"gasket.zones": own})
    own[0]["name"] = "other"
    assert build.gasket.zones[0].name == "bead"


def test_zones_may_hold_quantities_and_arrays(four: Build) -> None:
    own = [{**ZONES[0], "width": Q(2.0, "mm"), "load": np.array([0.0, 40.0, 60.5]), "note": None}]
    build = four.vary({"gasket.zones": own})
    assert build == four.vary({"gasket.zones": ZONES})
    assert sheets.loads(build.dumps()) == build
    found = faults(four.vary, {"gasket.zones": [{**ZONES[0], "width": object()}]})
    assert list(found) == ["gasket.zones[1].width"]


def test_faults_of_zones_are_told_with_their_place(four: Build) -> None:
    bad = [{**ZONES[0], "role": "sael"}]
    assert any(f.startswith("gasket.zones[1]") for f in faults(four.vary, {"gasket.zones": bad}))
    assert list(faults(four.vary, {"gasket.zones": "bead"})) == ["gasket.zones"]


# --------------------------------------------------------------------------- deck
DECK = {
    "pattern": "inline", "pitch": "93 mm", "end_margin": "16 mm", "side_margin": "22 mm",
    "coolant_diameter": "10 mm", "oil_diameter": "8 mm",
}  # fmt: skip
LISTED: dict[str, Any] = {
    "bores": [["0 mm", "0 mm"], ["93 mm", "0 mm"], ["186 mm", "0 mm"], ["279 mm", "0 mm"]],
    "bolts": [[f"{x} mm", f"{y} mm"] for y in (42.5, -42.5)
              for x in (-46.5, 46.5, 139.5, 232.5, 325.5)],
    "outline": [["-62 mm", "-64 mm"], ["341 mm", "-64 mm"], ["341 mm", "2.5 in"],
                ["-62 mm", "2.5 in"]],
    "holes": [{"name": "C1", "fluid": "coolant", "place": ["0 mm", "53 mm"], "diameter": "10 mm"}],
    "thickness": [
        {"place": ["0 mm", "53 mm"], "extra": "-25 um", "diameter": "30 mm"},
        {"place": ["93 mm", "-53 mm"], "extra": "1 thou", "size": ["30 mm", "12 mm"]},
    ],
}  # fmt: skip


def with_deck(four: Build, deck: dict[str, Any] = DECK, **more: Any) -> Build:
    wishes = {k: v for k, v in {**deck, **more}.items() if v is not None}
    return four.vary({"deck": wishes})


def deck_faults(four: Build, deck: dict[str, Any] = DECK, **more: Any) -> dict[str, str]:
    return faults(lambda: with_deck(four, deck, **more))


def test_a_sheet_may_have_no_deck(four: Build) -> None:
    assert four.deck is None
    assert four.get("deck.pitch") is None
    assert "deck" not in four.dumps() and "deck" not in four.to_dict()
    assert four.plate_thickness == four.head.thickness
    assert list(faults(lambda: four.layout)) == ["deck"]
    build = with_deck(four)
    assert build != four
    assert build.vary({"deck": None}) == four


def test_pattern_takes_what_the_rest_of_the_sheet_tells(four: Build) -> None:
    build = with_deck(four)
    deck = build.layout
    assert deck is build.layout, "made once"
    assert deck.bore == four.engine.bore
    assert deck.bolt_hole == four.fasteners.hole_diameter
    assert layouts.counts(deck) == (4, 4, 4, 4) and len(deck.bolts) == 10
    assert layouts.bolt_circle(deck, 1) == pytest.approx(four.fasteners.bolt_circle)
    assert build.vary({"engine.bore": "85 mm"}).layout.bore == 0.085
    five = build.vary({"fasteners.around_bore": 5, "fasteners.on_head": 17, "deck.pair_distance":
                       "28 mm", "deck.coolant_diameter": "6 mm"})  # fmt: skip
    assert layouts.counts(five.layout) == (5, 5, 5, 5) and len(five.layout.bolts) == 17
    two = build.vary({"engine.cylinders": 2, "fasteners.on_head": 6})
    assert len(two.layout.bores) == 2
    own = build.vary({"deck.effective_thickness": "30 mm"})
    assert own.plate_thickness == pytest.approx(0.030)


def test_listed_places_are_taken_as_they_stand(four: Build) -> None:
    build = with_deck(four, LISTED)
    deck = build.layout
    assert deck.bores[:, 0].tolist() == pytest.approx([0, 0.093, 0.186, 0.279])
    assert deck.extent == pytest.approx((-0.062, 0.341, -0.064, 0.0635))
    assert deck.holes[0].name == "C1" and deck.holes[0].y == pytest.approx(0.053)
    assert build.deck is not None
    assert build.deck.thickness[0].extra == pytest.approx(-25e-6)
    assert build.deck.thickness[1].size == pytest.approx((0.030, 0.012))
    extra = layouts.extra_thickness(build.gasket_steps, [(0, 0.06), (0.1, -0.05), (0.2, 0)])
    assert extra == pytest.approx([-25e-6, 25.4e-6, 0.0])
    assert build.get("deck.bolts").to("mm").magnitude[0].tolist() == pytest.approx([-46.5, 42.5])
    shown = build.to_dict("metric")["deck"]
    assert shown["outline"][2] == ["341.00 mm", "63.50 mm"]
    assert shown["thickness"][1] == {
        "place": ["93.00 mm", "-53.00 mm"], "extra": "25.4 µm", "size": ["30.00 mm", "12.00 mm"],
    }  # fmt: skip


def test_a_listed_part_replaces_that_of_the_pattern(four: Build) -> None:
    build = with_deck(four, bolts=LISTED["bolts"], holes=LISTED["holes"])
    assert len(build.layout.holes) == 1
    same = with_deck(four)
    assert build.layout.extent == pytest.approx(same.layout.extent, abs=2e-5)
    bare = with_deck(four, outline=LISTED["outline"], end_margin=None, side_margin=None,
                     oil_distance="56 mm")  # fmt: skip
    assert bare.layout.extent == pytest.approx((-0.062, 0.341, -0.064, 0.0635))


def test_deck_is_written_as_it_came(four: Build, tmp_path: Path) -> None:
    for build in (with_deck(four), with_deck(four, LISTED, lengthwise_bow="-1.5 thou")):
        text = build.dumps()
        again = sheets.load(build.save(tmp_path / "a.toml"))
        assert again == build and again.dumps() == text
        assert hash(again) == hash(build)
    assert '\n  ["341 mm", "2.5 in"],\n' in text
    assert '\n[[deck.thickness]]\nplace = ["0 mm", "53 mm"]\nextra = "-25 um"\n' in text
    assert 'lengthwise_bow = "-1.5 thou"' in text
    moved = build.vary({"deck.bolts": [*LISTED["bolts"][:9], Q([325.0, -43.0], "mm")]})
    assert moved.layout.bolts[9].tolist() == pytest.approx([0.325, -0.043])
    assert sheets.loads(moved.dumps()) == moved
    inch = {**LISTED, "bores": Q(build.layout.bores / 0.0254, "in")}
    assert with_deck(four, inch).layout.bores == pytest.approx(build.layout.bores)
    other = [dict(LISTED["bolts"] and row) for row in LISTED["thickness"]]
    other[1]["size"] = ["3 cm", "12 mm"]
    assert build.vary({"deck.thickness": other}) == build


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"pattern": "vee"}, "pattern", ['got "vee"', '"inline", "vee bank"']),
        ({"pattern": None, "pitch": None}, "pattern", ["or the lists bores, bolts and outline"]),
        ({"pitch": None}, "pitch", ["nothing"]),
        ({"end_margin": None}, "end_margin", ["nothing"]),
        ({"pitch": 93}, "pitch", ["without a unit"]),
        ({"pitch": "nan mm"}, "pitch", ["a length"]),
        ({"pitch": "89 mm"}, "pitch", ["89.00 mm from bore 1", "at least 89.50 mm"]),
        ({"pitch": "127 mm"}, "row_distance", ["bolt_circle, 126.00 mm"]),
        ({"bank_offset": "20 mm"}, "bank_offset", ['"vee bank"']),
        ({"bolts_per_bore": 5}, "bolts_per_bore", ["around_bore of [fasteners], 4"]),
        ({"bolts_per_bore": 7}, "bolts_per_bore", ["one of 4, 5, 6"]),
        ({"shared_rows": 1}, "shared_rows", ["makes 13 bolts", "on_head of [fasteners], 10"]),
        (
            {"row_distance": "60 mm", "coolant_diameter": None},
            "row_distance",
            ["mean bolt circle of 110.68 mm", "10 %"],
        ),
        ({"side_margin": "5 mm"}, "side_margin", ["1.00 mm over the outline", "at least 6.1"]),
        ({"coolant_distance": "90 mm"}, "side_margin", ["over the outline", "coolant_distance"]),
        ({"coolant_distance": "48 mm"}, "coolant_distance", ['"C1"', "combustion seal"]),
        ({"oil_distance": "50 mm"}, "oil_distance", ['"O1"', "from bolt 1"]),
        (
            {"outline": LISTED["outline"], "side_margin": None},
            "oil_distance",
            ["nothing", "a length"],
        ),
        ({"mesh": "1 mm"}, "mesh", ["2 mm to 50 mm"]),
        ({"pich": "93 mm"}, "pich", ['did you mean "pitch"']),
        ({"bolts": LISTED["bolts"][:9]}, "bolts", ["9 bolts", "on_head of [fasteners], 10"]),
        ({"bolts": [*LISTED["bolts"][:9], ["240 mm", "-45 mm"]]}, "bolts[10]", ["from bolt 9"]),
        (
            {"bolts": [*LISTED["bolts"][:9], ["310 mm", "0 mm"]]},
            "bolts[10]",
            ["31.00 mm from the centre of bore 4"],
        ),
        ({"bolts": LISTED["bolts"][:2]}, "bolts", ["2 bolts"]),
        ({"bolts": [["1 mm"]]}, "bolts[1]", ["a list of 1", "two lengths"]),
        ({"bolts": ["1 mm", ["0 mm", "2 mm"]]}, "bolts[1]", ["1 mm", "two lengths"]),
        ({"bolts": "1 mm"}, "bolts", ["a list of places"]),
        ({"bolts": [["1 mm", 2]]}, "bolts[1].y", ["without a unit"]),
        ({"bolts": [["nan mm", "2 mm"]]}, "bolts[1].x", ["nan", "-3 m to 3 m"]),
        ({"bolts": [["1 mm", "2 bar"]]}, "bolts[1].y", ["-3 m to 3 m"]),
        ({"bolts": [["1 mm", "2 mm"]] * 401}, "bolts", ["401 places"]),
        ({"bores": LISTED["bores"][:3]}, "bores", ["3 bores", "4, the bores under one head"]),
        ({"outline": LISTED["outline"][:2]}, "outline", ["2 corners"]),
        (
            {"outline": [LISTED["outline"][i] for i in (0, 2, 1, 3)]},
            "outline",
            ["edges that meet"],
        ),
        ({"holes": [{**LISTED["holes"][0], "fluid": "water"}]}, "holes[1].fluid", ['"coolant"']),
        ({"holes": [{**LISTED["holes"][0], "place": "x"}]}, "holes[1].place", ["two lengths"]),
        ({"holes": [{**LISTED["holes"][0], "dia": "1 mm"}]}, "holes[1].dia", ["diameter"]),
        ({"holes": LISTED["holes"] * 2}, "holes[2].name", ["the name of hole 1"]),
        ({"thickness": [{"place": ["0 mm", "9 mm"], "extra": "5 um"}]}, "thickness[1]", ["size"]),
        (
            {"thickness": [{"place": ["0 m", "1 m"], "extra": "5 um", "diameter": "9 mm"}]},
            "thickness[1].place",
            ["beside the deck face"],
        ),
        (
            {"thickness": [{"place": ["0 m", "0 m"], "extra": "-0.8 mm", "diameter": "9 mm"}]},
            "thickness[1].extra",
            ["compressed thickness, 0.80 mm"],
        ),
    ],
)
def test_one_fault_of_the_deck_is_one_clear_line(
    four: Build, changes: dict[str, Any], field: str, words: list[str]
) -> None:
    found = deck_faults(four, **changes)
    assert list(found) == [f"deck.{field}"]
    for word in words:
        assert word in found[f"deck.{field}"]


def test_listed_decks_need_all_their_lists_and_nothing_of_a_pattern(four: Build) -> None:
    assert list(deck_faults(four, LISTED, outline=None)) == ["deck.outline"]
    found = deck_faults(four, LISTED, pitch="93 mm", oil_diameter="8 mm")
    assert list(found) == ["deck.pitch", "deck.oil_diameter"]
    assert list(deck_faults(four, {})) == ["deck.pattern"]
    assert list(faults(four.vary, {"deck": 5})) == ["deck"]
    assert list(faults(four.vary, {"deck.pitch": "93 mm"})) == ["deck.pattern"]


def test_counts_that_make_no_pattern(four: Build) -> None:
    build = with_deck(four)
    found = faults(build.vary, {"fasteners.on_head": 12})
    assert "10, 13 or 16 in a pattern" in found["deck.pattern"]
    many = {"fasteners.around_bore": 8, "fasteners.on_head": 20}
    assert "4, 5 or 6" in faults(build.vary, many)["deck.pattern"]
    listed = with_deck(four, LISTED)
    five = {"fasteners.around_bore": 5, "fasteners.on_head": 14}
    assert "14" in faults(listed.vary, five)["deck.bolts"]
    three = {"fasteners.around_bore": 3, "fasteners.on_head": 10}
    assert "4, 4, 4, 4 round the bores" in faults(listed.vary, three)["deck.bolts"]


def test_all_faults_of_a_deck_come_with_those_of_the_sheet(four: Build) -> None:
    bad = {"pitch": "93 bar", "mesh": "1 mm", "bolts": [["0 mm", "x"], ["1 mm"]]}
    found = faults(four.vary, {"deck": {**DECK, **bad}, "engine.bore": "86 bar"})
    assert set(found) == {
        "engine.bore", "deck.pitch", "deck.mesh", "deck.bolts[1].y", "deck.bolts[2]",
    }  # fmt: skip
    # a fault elsewhere is not told again by the deck that follows from it
    found = faults(with_deck(four).vary, {"fasteners.on_head": 30})
    assert list(found) == ["fasteners.on_head"]


def test_faults_of_the_deck_on_an_inch_sheet(four: Build) -> None:
    inch = four.vary({"engine.bore": "3.386 in"})
    assert "3.524 in" in deck_faults(inch, pitch="89 mm")["deck.pitch"]


def test_mesh_is_bounded_by_the_size_of_the_deck(four: Build) -> None:
    wide: dict[str, Any] = {"side_margin": "300 mm", "end_margin": "300 mm", "mesh": "2 mm"}
    assert "20000 elements" in deck_faults(four, **wide)["deck.mesh"]


_LENGTH = st.sampled_from(["5 mm", "-5 mm", "53 mm", "3 in", "nan mm", "8", "2 bar", 7, None])
_HOLE = st.fixed_dictionaries(
    {},
    optional={
        "name": st.sampled_from(["C1", "C2", "", 3]),
        "fluid": st.sampled_from(["oil", "Coolant", "air"]),
        "place": st.lists(_LENGTH, max_size=3) | _LENGTH,
        "diameter": _LENGTH,
        "extra": st.sampled_from(["-25 um", "1 thou", "-9 mm"]),
        "size": st.lists(_LENGTH, max_size=3),
    },
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(key=st.sampled_from(["holes", "thickness"]), rows=st.lists(_HOLE, max_size=3))
def test_any_rows_of_a_deck_are_a_build_or_named_faults(
    four: Build, key: str, rows: list[dict[str, Any]]
) -> None:
    try:
        build = with_deck(four, {**LISTED, key: rows})
    except InputError as err:
        assert all(f.field.startswith(f"deck.{key}[") for f in err.faults)
    else:
        assert sheets.loads(build.dumps()) == build


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    bolts=st.lists(
        st.tuples(st.floats(-70, 350), st.floats(-70, 70) | st.just(math.nan)), max_size=12
    ),
    unit=st.sampled_from(["mm", "mm", "in", "bar", ""]),
)
def test_any_deck_is_a_build_or_named_faults(
    four: Build, bolts: list[tuple[float, float]], unit: str
) -> None:
    own = [*LISTED["bolts"][len(bolts) :], *([f"{x} {unit}", f"{y} {unit}"] for x, y in bolts)]
    try:
        build = with_deck(four, {**LISTED, "bolts": own})
    except InputError as err:
        assert all(f.field.startswith(("deck.bolts", "deck.holes")) for f in err.faults)
        assert len(str(err).splitlines()) == len(err.faults)
    else:
        assert sheets.loads(build.dumps()) == build


# --------------------------------------------------------------------------- files and syntax
@pytest.mark.parametrize(
    ("line", "field", "words"),
    [
        ("[engine\ncylinders = 4", "line 1", ["[engine", "TOML"]),
        ("[engine]\nbore = 86 mm\n", "line 2", ["bore = 86 mm", "in quotes"]),
        ('[engine]\nbore = "86 mm', "sheet", ["in quotes"]),
        ("[engine]\nbore = 1\nbore = 2\n", "line 3", ["bore stands here twice", "in line 2"]),
        ("[head]\nbore = 1\n[engine]\nbore = 1\n\n'bore' = 2\n", "line 6", ["in line 4"]),
        ("[engine]\n[engine]\n", "line 2", ["[engine] stands here twice"]),
        ("x = { a = 1, a = 2 }\n", "line 1", ["a stands here twice"]),
        ("[engine]\nbore = “86 mm”\n", "line 2", ["use straight quotes"]),
        ("[engine]\nbore = ‘86 mm’\n", "line 2", ["use straight quotes"]),
        ('[engine]\nbore = ”86 mm"\n', "line 2", ["use straight quotes"]),
        ("x = " + "[" * 5000 + "]" * 5000, "sheet", ["nested"]),
        ("x = " + "9" * 5000, "sheet", ["number too long"]),
        ("x = 2026-13-45", "line 1", ["TOML"]),
        ("\x00", "line 1", ["TOML"]),
    ],
)
def test_syntax_fault_names_the_line(line: str, field: str, words: list[str]) -> None:
    found = faults(sheets.loads, line)
    assert list(found) == [field]
    assert found[field].isprintable()
    for word in words:
        assert word in found[field]


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    assert "not there" in faults(sheets.load, tmp_path / "none.toml")["file"]
    assert "folder" in faults(sheets.load, tmp_path)["file"]
    (tmp_path / "latin.toml").write_bytes('[sheet]\nname = "Zünder"\n'.encode("latin-1"))
    assert "not UTF-8 text (line 2)" in faults(sheets.load, tmp_path / "latin.toml")["file"]
    (tmp_path / "picture.toml").write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff")
    assert "UTF-8" in faults(sheets.load, tmp_path / "picture.toml")["file"]
    (tmp_path / "huge.toml").write_bytes(b"#" * 1_000_001)
    assert "million" in faults(sheets.load, tmp_path / "huge.toml")["file"]
    assert faults(sheets.load, "a\0b")["file"]
    assert faults(sheets.load, None)["file"]
    assert faults(sheets.loads, SHEET.encode())["sheet"]


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="rights do not bind this user")
def test_file_without_the_right_to_read(tmp_path: Path) -> None:
    path = tmp_path / "shut.toml"
    path.write_text(SHEET)
    path.chmod(0)
    assert "ermission" in faults(sheets.load, path)["file"]


# --------------------------------------------------------------------------- changing
def test_vary_takes_text_quantities_and_plain_numbers(four: Build) -> None:
    text = four.vary({"charge.boost": "22 psi"})
    assert text.charge.boost == pytest.approx(22 * 6894.757293168361)
    assert four.vary({"charge.boost": Q(22, "psi")}) == text
    assert four.vary(**{"charge.boost": Q(22, "psig")}) == text
    assert four.vary({"engine.compression_ratio": 10}).engine.compression_ratio == 10.0
    assert four.charge.boost == pytest.approx(18 * 6894.757293168361)
    assert four.vary() == four


def test_vary_drives_out_the_field_it_replaces(four: Build) -> None:
    rich = four.vary({"fuel.equivalence_ratio": 1.2})
    assert rich.fuel.air_ratio is None
    assert rich.vary({"fuel.lambda": 0.83}) == four
    with pytest.raises(InputError):
        four.vary({"fuel.equivalence_ratio": 1.2, "fuel.lambda": 0.83})


@pytest.mark.parametrize("path", ["boost", "charge.bost", "charge.boost.x", "x.y", "engine.bore."])
def test_vary_with_an_unknown_name(four: Build, path: str) -> None:
    assert len(faults(four.vary, {path: "1 psi"})) == 1


def test_vary_suggests_the_whole_name(four: Build) -> None:
    assert 'did you mean "charge.boost"?' in faults(four.vary, {"boost": "22 psi"})["boost"]


def test_vary_tells_all_faults(four: Build) -> None:
    changes = {"charge.boost": "22", "engine.bore": "0 mm", "nothing": 1}
    assert set(faults(four.vary, changes)) == {"charge.boost", "engine.bore", "nothing"}


def test_get(four: Build) -> None:
    assert four.get("engine.bore").to("mm").magnitude == pytest.approx(86.0)
    assert four.get("fuel.lambda") == 0.83
    assert four.get("engine.chamber.chamber_volume") is None
    assert "charge.boost" in faults(four.get, "boost")["boost"]


# --------------------------------------------------------------------------- writing
def test_own_text_stays(four: Build, tmp_path: Path) -> None:
    saved = sheets.load(four.vary({"charge.boost": "18.0  psi"}).save(tmp_path / "a.toml"))
    assert saved == four
    assert 'boost = "18.0  psi"' in saved.dumps()
    assert 'bore = "86 mm"' in saved.vary({"engine.stroke": "90 mm"}).dumps()


def test_defaults_that_were_not_given_are_not_written(four: Build) -> None:
    text = four.dumps()
    assert "ambient_temperature" not in text
    assert "strokes" not in text
    given = four.vary({"charge.ambient_temperature": "20 degC"})
    assert given == four
    assert 'ambient_temperature = "20 degC"' in given.dumps()


def test_values_put_in_past_the_sheet_are_written(four: Build) -> None:
    wide = dataclasses.replace(four, engine=dataclasses.replace(four.engine, bore=0.0871))
    assert 'bore = "87.1 mm"' in wide.dumps()
    assert sheets.loads(wide.dumps()) == wide


def test_writing_is_deterministic(four: Build) -> None:
    text = four.dumps()
    assert sheets.loads(text).dumps() == text
    shuffled = {k: dict(reversed(v.items())) for k, v in reversed(raw().items())}
    assert sheets.from_dict(shuffled).dumps() == text.lstrip() == sheets.from_dict(raw()).dumps()


@pytest.mark.parametrize(
    "note",
    [
        'say "18"',
        "back\\slash",
        "two\nlines\tand a tab",
        "\x01\x7f",
        "Zündkerze 火",
        "'''",
        '"""',
        "#",
    ],
)
def test_any_text_comes_back(four: Build, note: str) -> None:
    build = four.vary({"sheet.note": note})
    assert sheets.loads(build.dumps()).sheet.note == note


def test_save_replaces_whole_and_leaves_nothing_behind(
    four: Build, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "four.toml"
    four.save(path)
    path.chmod(0o640)
    other = four.vary({"charge.boost": "22 psi"})

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(files.os, "replace", broken)
        assert "No space left" in faults(other.save, path)["file"]
    assert sheets.load(path) == four
    other.save(str(path))
    assert sheets.load(path) == other
    assert [p.name for p in tmp_path.iterdir()] == ["four.toml"]
    if os.name != "nt":
        assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_save_follows_a_link(four: Build, tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    target = tmp_path / "real" / "four.toml"
    four.save(target)
    link = tmp_path / "link.toml"
    link.symlink_to(target)
    other = four.vary({"charge.boost": "22 psi"})
    other.save(link)
    assert link.is_symlink()
    assert sheets.load(target) == other


def test_save_where_nothing_can_be_written(four: Build, tmp_path: Path) -> None:
    assert "file" in faults(four.save, tmp_path / "none" / "four.toml")
    assert "folder" in faults(four.save, tmp_path)["file"]


# random valid builds: every number is drawn in SI or as text within its allowed range
def _texts() -> st.SearchStrategy[str]:
    return st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30).filter(
        lambda t: bool(t.strip())
    )


_FREE = {
    path: spec
    for path, spec in sheets.fields()
    if path.split(".")[0] in ("charge", "burn", "fasteners", "engine", "head", "block", "gasket")
    and spec.kind in KINDS
    and path
    not in {
        # those bound to one another keep to narrower ranges
        "charge.altitude",
        "engine.bore",
        "engine.stroke",
        "engine.rod_length",
        "fasteners.grip_head",
        "fasteners.hole_diameter",
        "fasteners.bearing_diameter",
        "fasteners.bolt_circle",
        "fasteners.proof_strength",
        "fasteners.yield_strength",
        "fasteners.tensile_strength",
        "gasket.bore",
        "gasket.seal_diameter",
        # only beside a steel ring
        "gasket.body_over_ring",
        # instead of the spread of the peaks
        "burn.ca50_variation",
    }
    and not path.startswith("engine.chamber")
}
_BOUND = {
    "engine.bore": (0.05, 0.086),
    "engine.stroke": (0.05, 0.109),
    "engine.rod_length": (0.11, 0.4),
    "fasteners.grip_head": (0.01, 0.3),
    "fasteners.hole_diameter": (0.0111, 0.018),
    "fasteners.bearing_diameter": (0.0181, 0.04),
    "fasteners.washer_diameter": (0.04, 0.05),
    "fasteners.boss_diameter": (0.05, 0.4),
    "fasteners.bolt_circle": (0.12, 0.3),
    "gasket.bore": (0.087, 0.0894),
    "gasket.seal_diameter": (0.091, 0.11),
}


@st.composite
def changes(draw: st.DrawFn) -> dict[str, Any]:
    out: dict[str, Any] = {"sheet.name": draw(_texts()), "sheet.note": draw(_texts())}
    for path in draw(
        st.lists(st.sampled_from(sorted({*_FREE, *_BOUND})), unique=True, max_size=12)
    ):
        spec = dict(sheets.fields())[path]
        low, high = _BOUND.get(path, spec.limits)
        value = draw(st.floats(low, high, exclude_min=spec.low_open))
        unit = KINDS[spec.kind].si
        out[path] = Q(value, unit) if unit else value
    out["engine.cylinders"] = draw(st.sampled_from([2, 4, 6, 8]))
    out["engine.heads"] = draw(st.sampled_from([1, 2]))
    bores = out["engine.cylinders"] // out["engine.heads"]
    around = out["fasteners.around_bore"] = draw(st.integers(2, 8))
    shared = (bores - 1) * (around // 2)
    out["fasteners.on_head"] = bores * around - draw(st.integers(0, shared))
    return out


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(wishes=changes())
def test_what_is_written_reads_back_exactly(four: Build, wishes: dict[str, Any]) -> None:
    build = four.vary(wishes)
    for path, value in wishes.items():
        held = build._held(path)
        plain = value.magnitude if hasattr(value, "magnitude") else value
        assert held == (plain.strip() if isinstance(plain, str) else plain), path
    text = build.dumps()
    again = sheets.loads(text)
    assert again == build
    assert again.dumps() == text


@settings(max_examples=200, deadline=None)
@given(
    kind=st.sampled_from(sorted({s.kind for _, s in sheets.fields() if s.kind in KINDS})),
    value=st.floats(-1e12, 1e12),
)
def test_any_number_is_written_exactly(kind: str, value: float) -> None:
    assert si(written(value, kind), kind) == value


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=60))
def test_any_text_as_a_sheet_is_a_build_or_an_input_error(text: str) -> None:
    with pytest.raises(InputError):
        sheets.loads(text)


_ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    path=st.sampled_from([*dict(sheets.fields()), *sheets.SECTIONS]),
    value=_ANY,
    deck=st.sampled_from([{}, {"deck": DECK}, {"deck": LISTED}]),
)
def test_any_value_anywhere_is_a_build_or_an_input_error(
    path: str, value: Any, deck: dict[str, Any]
) -> None:
    sheet = raw() | copy.deepcopy(deck)
    *steps, key = path.split(".")
    place = sheet
    for step in steps:
        place = place.setdefault(step, {})
    place[key] = value
    try:
        build = sheets.from_dict(sheet)
    except InputError as err:
        assert all(line.isprintable() for line in str(err).splitlines())
        assert len(str(err).splitlines()) == len(err.faults)
    else:
        assert sheets.loads(build.dumps()) == build


# --------------------------------------------------------------------------- showing
def test_to_dict_in_both_shop_systems(four: Build) -> None:
    metric, inch = four.to_dict(), four.to_dict("inch")
    assert metric["engine"]["bore"] == "86.00 mm"
    assert inch["engine"]["bore"] == "3.386 in"
    assert metric["fasteners"]["torque"] == "90.0 N·m"
    assert inch["fasteners"]["torque"] == "66.4 lbf·ft"
    assert inch["charge"]["boost"] == "18.0 psi gauge"
    assert metric["charge"]["ambient_temperature"] == "20.0 °C"
    assert metric["engine"]["compression_ratio"] == "9"
    assert "chamber" not in metric["engine"]
    assert four.vary(CHAMBER).to_dict()["engine"]["chamber"]["piston_volume"] == "4.00 cm³"
    with pytest.raises(InputError):
        four.to_dict("imperial")


def test_html_escapes_and_follows_the_sheet(four: Build) -> None:
    page = four.vary({"sheet.name": '<script>"x"</script>', "sheet.note": "a & b"})._repr_html_()
    assert "<script>" not in page
    assert "&lt;script&gt;" in page
    assert "a &amp; b" in page
    assert "86.00 mm" in page
    assert "color" not in page
    assert "3.386 in" in four.html("inch")
    inch = four.vary({"engine.bore": "3.386 in"})
    assert inch.system == "inch"
    assert "3.386 in" in inch._repr_html_()
    assert "86.00 mm" in inch.html("metric")


# --------------------------------------------------------------------------- template and docs
def test_template_lists_every_field_and_is_toml() -> None:
    text = sheets.template()
    assert set(tomllib.loads(text)) == {s for s in TOP if s not in OPTIONAL}
    assert "\n# [deck]\n" in text
    for path, spec in sheets.fields():
        key = path.rpartition(".")[2]
        assert (f"\n# [[{path}]]" if path in OWN_TABLES else f"\n# {key} = ") in text
        assert spec.help in text


def test_the_empty_template_asks_for_every_required_field() -> None:
    found = faults(sheets.loads, sheets.template())
    required = {p for p, s in sheets.fields() if s.required and not p.startswith("engine.chamber")}
    choices = {"engine.compression_ratio", "fuel.equivalence_ratio", "fasteners.grade"}
    assert set(found) == required | choices


def test_the_examples_of_the_required_fields_make_a_valid_sheet() -> None:
    sheet: dict[str, Any] = {s: {} for s in TOP if s not in OPTIONAL}
    for path, spec in sheets.fields():
        name, _, key = path.rpartition(".")
        if name != "engine.chamber" and (spec.required or key in ("grade", "lambda", "torque")):
            sheet[name][key] = spec.example
    sheet["engine"]["compression_ratio"] = 9.0
    assert sheets.from_dict(sheet).engine.bore == 0.086


def test_every_example_and_default_lies_in_its_range() -> None:
    for path, spec in sheets.fields():
        assert spec.help and spec.help[-1] != ".", path
        if spec.kind in ("text", "rows"):
            continue
        for value in (spec.example, spec.default):
            if value is not None and not spec.required:
                assert read(spec, value, path) is not None
        low, high = spec.limits
        assert low < high, path


# --------------------------------------------------------------------------- demonstration builds
def test_four_demonstration_builds() -> None:
    assert sheets.demos() == ["boosted-four", "boosted-six", "methanol-drag", "na-iron-v8"]


@pytest.mark.parametrize("name", ["boosted-four", "boosted-six", "methanol-drag", "na-iron-v8"])
def test_demonstration_build(name: str) -> None:
    build = sheets.demo(name)
    assert build.sheet.status == "invented"
    assert "nvented" in build.sheet.note
    assert sheets.loads(build.dumps()) == build
    assert 8 < build.compression_ratio < 13
    assert build._repr_html_()


@pytest.mark.parametrize("name", ["boosted-four", "boosted-six", "methanol-drag", "na-iron-v8"])
def test_deck_of_a_demonstration_build(name: str) -> None:
    build = sheets.demo(name)
    deck = build.layout
    assert layouts.counts(deck) == (build.fasteners.around_bore,) * build.bores_per_head
    assert len(deck.bolts) == build.fasteners.on_head
    assert bool(deck.holes) == (build.liquids.deck == "wet")
    # gasket and deck face speak of the same engine
    area = gasket_area(deck, build.gasket.bore) / build.bores_per_head
    assert area == pytest.approx(build.gasket.body_area, rel=0.15)
    gap = np.min(np.abs(layouts.edge_distance(deck, deck.bolts)))
    assert gap > 0.5 * build.fasteners.bearing_diameter, "the washers stand on the head"


@pytest.mark.parametrize("name", ["boosted-for", "../checks/x", "", "BOOSTED-FOUR"])
def test_unknown_demonstration_build(name: str) -> None:
    assert "boosted-four" in faults(sheets.demo, name)["demo"]


# --------------------------------------------------------------------------- words of newcomers
@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("engine.bore", "3.81", ['"3.81" without a unit', "a length", '"86 mm"']),
        ("engine.speed", "6500", ['"6500" without a unit', "a crank speed"]),
        ("engine.bore", "3.81 mm", ["from 20 mm to 400 mm, such", "(did you mean 3.81 in?)"]),
        ("engine.bore", Q(3.81, "mm"), ["got 3.81 mm;", "(did you mean 3.81 in?)"]),
        (
            "engine.bore",
            "86 in",
            [
                '20 mm to 400 mm (0.787 in to 15.748 in), such as "3.386 in"',
                "(did you mean 86 mm?)",
            ],
        ),
        ("engine.bore", "900 cm", ["20 mm to 400 mm (2 cm to 40 cm)"]),
        ("engine.speed", "900 Hz*turn", ["50 rpm to 20000 rpm (0.83333 Hz"]),
        ("charge.boost", "18 bar", ["0 bar to 10 bar, such", "(did you mean 18 psi?)"]),
        ("charge.boost", "200 psi", ["0 bar to 10 bar (0 psi to 145.04 psi)"]),
        ("charge.ambient_temperature", "300 degF", ["60 degC (-58.0 °F to 140.0 °F)"]),
        ("charge.boost", "14 lbs", ['got "14 lbs"', ': write "psi"']),
        ("charge.boost", "14 pounds", [': write "psi"']),
        ("charge.ambient_pressure", "14 lb", [': write "psi"']),
        ("fasteners.proof_strength", "120 lb", [': write "psi"']),
        ("fasteners.torque", "65 lbft", ['got "65 lbft"', ': write "lbf*ft" for a torque']),
        ("fasteners.torque", "65 ft.lbs", [': write "lbf*ft" for a torque']),
        ("fasteners.torque", "65 foot pounds", [': write "lbf*ft" for a torque']),
        ("fasteners.grade", "8", ['(did you mean "SAE 8" or "8.8"?)', '"4140, 425 C temper"']),
        ("fasteners.grade", "10", ['(did you mean "10.9"?)']),
        ("fasteners.grade", "SAE 7", ['did you mean "SAE']),
        ("fasteners.lubricant", "dri", ['"dry, as received", "dry, cleaned"']),
        ("gasket.construction", "paper", ['"copper sheet", "copper with wire ring"']),
        ("fuel.name", "alcohol", ['"methanol" or "ethanol"']),
        ("fuel.name", "Alcohol", ['"methanol" or "ethanol"']),
        ("fuel.name", "coal", ['one of "gasoline", "ethanol"']),
    ],
)
def test_what_newcomers_write(path: str, value: Any, words: list[str]) -> None:
    sheet = changed(path, value)
    if path == "fasteners.proof_strength":
        sheet["fasteners"].pop("grade")
        sheet["fasteners"] |= {"yield_strength": "940 MPa", "tensile_strength": "1040 MPa"}
    found = faults(sheets.from_dict, sheet)
    assert list(found) == [path]
    for word in words:
        assert word in found[path]


def test_the_other_unit_is_only_offered_where_it_fits() -> None:
    for value in ("860 mm", "0 mm", "1000 in", "900 cm"):
        found = faults(sheets.from_dict, changed("engine.bore", value))
        assert "did you mean" not in found["engine.bore"], value


def test_the_range_of_lambda_that_is_told_is_allowed(four: Build) -> None:
    for name in ("gasoline", "methanol"):
        told = faults(four.vary, {"fuel.name": name, "fuel.lambda": 4.9})["fuel.lambda"]
        low, high = told.partition("from ")[2].split(" for ")[0].split(" to ")
        for value in (low, high):
            wishes = {"fuel.name": name, "fuel.lambda": float(value)}
            assert four.vary(wishes).fuel.air_ratio == float(value)
        beyond = {"fuel.name": name, "fuel.lambda": float(high) + 0.002}
        assert "fuel.lambda" in faults(four.vary, beyond)


def test_capitals_of_shop_units(four: Build) -> None:
    capitals = {
        "engine.bore": "86 MM",
        "engine.speed": "6500 RPM",
        "charge.boost": "18 PSI",
        "burn.ca50": "8 DEG",
        "charge.ambient_pressure": "1.01325 BAR",
    }
    assert four.vary(capitals) == four
    assert four.vary({"engine.stroke": "3.4 IN"}).engine.stroke == pytest.approx(0.08636)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"fasteners.hole_diameter": "0.43 in"}, "hole_diameter", "the thread, 0.433 in"),
        ({"fasteners.hole_diameter": "1.09 cm"}, "hole_diameter", "the thread, 1.1 cm"),
        ({"fasteners.bearing_diameter": "0.45 in"}, "bearing_diameter", "the hole, 0.472 in"),
        (
            {"fasteners.bolt_circle": "3.4 in"},
            "bolt_circle",
            "seal diameter and a hole together, 3.996 in",
        ),
        ({"engine.rod_length": "3.3 in"}, "rod_length", "more than the stroke, 3.386 in"),
        ({"gasket.seal_diameter": "3.4 in"}, "seal_diameter", "opening of the gasket, 3.445 in"),
        ({"gasket.bore": "3.3 in"}, "bore", "the cylinder bore, 3.386 in"),
        (
            {"fasteners.shank": [{"diameter": "0.4 in", "length": "4 in"}]},
            "shank",
            "got 4.000 in in all; wanted not more than grip_head and grip_block together, 3.740 in",
        ),
        (
            {"fasteners.shank": [{"diameter": "0.5 in", "length": "9 mm"}]},
            "shank[1].diameter",
            "got 0.500 in; wanted less than the hole, 0.472 in",
        ),
        (
            {
                "fasteners.proof_strength": "200 ksi",
                "fasteners.yield_strength": "940 MPa",
                "fasteners.tensile_strength": "1040 MPa",
            },
            "proof_strength",
            "yield_strength, 136.34 ksi",
        ),
    ],
)
def test_limits_stand_in_the_unit_of_the_field(
    four: Build, changes: dict[str, Any], field: str, words: str
) -> None:
    found = faults(four.vary, changes)
    assert [p for p in found if p.endswith(field)]
    assert any(words in line for p, line in found.items() if p.endswith(field))


def test_a_piston_proud_of_the_gasket_in_its_own_unit(four: Build) -> None:
    found = faults(four.vary, {**CHAMBER, "engine.chamber.deck_clearance": "-0.04 in"})
    assert "the gasket, 0.031 in" in found["engine.chamber.deck_clearance"]


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("MLS", "multi-layer steel"),
        ("mls", "multi-layer steel"),
        ("Multi-Layer Steel", "multi-layer steel"),
        ("Composite", "fibre composite"),
        ("copper o-ring", "copper with wire ring"),
        ("Copper with O-rings", "copper with wire ring"),
        ("copper O ring", "copper with wire ring"),
        ("fire ring", "fibre body with steel ring"),
    ],
)
def test_trade_words_of_constructions(four: Build, word: str, name: str) -> None:
    build = four.vary({"gasket.construction": word})
    assert build.gasket.construction == name
    assert f'construction = "{word}"' in build.dumps()
    assert build == four.vary({"gasket.construction": name})
    again = sheets.loads(build.dumps()).vary({"charge.boost": "20 psi"})
    assert again.gasket.construction == name
    assert again.dumps() == sheets.loads(again.dumps()).dumps()


def test_every_trade_word_leads_to_a_construction() -> None:
    assert set(names.TRADE_WORDS.values()) <= set(names.KNOWN["gasket.construction"]())
    assert all(names.trade_word(w) == w for w in names.TRADE_WORDS)


def test_a_trade_word_names_an_own_gasket_as_it_stands(four: Build) -> None:
    own = four.vary({"gasket.zones": ZONES, "gasket.construction": "MLS"})
    assert own.gasket.construction == "MLS"
    assert sheets.loads(own.dumps()) == own
    assert own.vary({"gasket.zones": None}).gasket.construction == "multi-layer steel"


@pytest.mark.parametrize("word", ["pump gas", "Pump Fuel", "petrol", "pump gasoline"])
def test_trade_words_of_gasoline(four: Build, word: str) -> None:
    assert four.vary({"fuel.name": word}) == four


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        ("head.thickness", "thicknes"),
        ("engine.bore", "boar"),
        ("engine.compression_ratio", "compresion_ratio"),
        ("fuel.lambda", "lamda"),
        ("fuel.lambda", "air_ratio"),
        ("fasteners.grade", "grad"),
        ("fasteners.torque", "tourque"),
    ],
)
def test_a_misspelt_field_is_told_once(path: str, wrong: str) -> None:
    sheet = raw()
    name, _, key = path.partition(".")
    sheet[name][wrong] = sheet[name].pop(key)
    found = faults(sheets.from_dict, sheet)
    assert list(found) == [f"{name}.{wrong}"]
    assert f'did you mean "{key}"?' in found[f"{name}.{wrong}"]


def test_misspelt_fields_hide_no_other_fault() -> None:
    sheet = raw()
    sheet["engine"]["boar"] = "86 mm"
    del sheet["engine"]["stroke"]
    sheet["fuel"]["equivalence"] = 1.2
    sheet["fasteners"]["shank"] = [{"diamter": "10 mm", "length": "20 mm"}, {"length": "20 mm"}]
    assert set(faults(sheets.from_dict, sheet)) == {
        "engine.boar",
        "engine.stroke",
        "fuel.equivalence",
        "fasteners.shank[1].diamter",
        "fasteners.shank[2].diameter",
    }


def test_a_file_that_is_not_there_may_be_a_demonstration_build(tmp_path: Path) -> None:
    for path in ("bosted-four", "bosted-four.toml", tmp_path / "bosted-four.toml"):
        found = faults(sheets.load, path)["file"]
        assert 'did you mean "boosted-four"?' in found
        for name in sheets.demos():
            assert f'"{name}"' in found
    assert "did you mean" not in faults(sheets.load, "xyz.toml")["file"]


@pytest.mark.parametrize("thread", ["M13x1.5", "7/16-15"])
def test_threads_of_no_table_are_accepted(four: Build, thread: str) -> None:
    wishes = {"fasteners.hole_diameter": "14 mm", "fasteners.thread": thread}
    odd = four.vary(wishes)
    assert odd.fasteners.thread == thread
    assert sheets.loads(odd.dumps()) == odd


def test_template_lists_the_names_and_a_whole_zone(four: Build) -> None:
    text = sheets.template()
    for path, known in names.KNOWN.items():
        part = text[text.index(f"[{path.partition('.')[0]}]") :]
        for name in known():
            assert f'"{name}"' in part, path
    for word in ("cast iron", "billet aluminium"):
        assert names.LOOK_UPS["head.material"](word, "x") and text.count(word) == 2, "head, block"
    assert all(len(line) <= 90 for line in text.splitlines() if line.startswith("# known"))
    start = text.index("# [[gasket.zones]]")
    block = text[start : text.index("\n\n", start)]
    zone = "\n".join(line.removeprefix("# ") for line in block.splitlines())
    assert "  # width of the contact that seals" in zone
    rows = tomllib.loads(zone)["gasket"]["zones"]
    build = four.vary({"gasket.zones": rows, "gasket.construction": "our own"})
    assert build.gasket.zones[0].role == "seal"
