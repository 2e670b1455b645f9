"""Varying on SI numbers, keeping the text of a sheet, and the JSON Schema."""

from __future__ import annotations

import dataclasses
import difflib
import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from sealkit import build as sheets
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.sealing.gaskets import Zone
from sealkit.units import Q, from_si
from tests.build.test_build import CHAMBER, DECK, LISTED, SHEET, ZONES, faults

FOUR = sheets.demo("boosted-four")
ALL = sheets.demos()

COMMENTED = (
    """# our engine, as taken apart
[sheet]
name = 'test four'      # single quotes

[gasket]   # sections in an order of our own
seal_diameter = "89.5 mm"
construction = "MLS"
bore   =   "8.75 cm"    # measured twice
body_area = "60 cm**2"
# thickness from the loading bench
compressed_thickness = "0.8 mm"  # +/- 0.02

[fuel]
name = "gasoline"
lambda = 0.830          # wide band

"""
    + SHEET[SHEET.index("[engine]") : SHEET.index("[fuel]")]
    + SHEET[SHEET.index("[burn]") : SHEET.index("[gasket]")]
)


def lines(old: str, new: str) -> list[str]:
    """Lines that differ, with their sign."""
    return [x for x in difflib.ndiff(old.splitlines(), new.splitlines()) if x[0] in "+-"]


# --------------------------------------------------------------------------- comments and spelling
@pytest.mark.parametrize("name", ALL)
def test_a_sheet_that_was_not_changed_stays_to_the_letter(name: str, tmp_path: Path) -> None:
    path = Path("data/builds") / f"{name}.toml"
    saved = sheets.load(path).save(tmp_path / "a.toml")
    assert saved.read_bytes() == path.read_bytes()


def test_only_the_changed_line_changes() -> None:
    build = sheets.loads(COMMENTED)
    assert build.vary({"charge.boost": "18 psi"}).dumps() == COMMENTED
    thin = build.vary({"gasket.compressed_thickness": Q(0.9, "mm")})
    assert lines(COMMENTED, thin.dumps()) == [
        '- compressed_thickness = "0.8 mm"  # +/- 0.02',
        '+ compressed_thickness = "0.9 mm"  # +/- 0.02',
    ]
    assert thin.vary({"gasket.compressed_thickness": "0.8 mm"}).dumps() == COMMENTED
    rich = build.vary({"fuel.equivalence_ratio": 1.2}).dumps()
    assert lines(COMMENTED, rich) == [
        "- lambda = 0.830          # wide band",
        "+ equivalence_ratio = 1.2",
    ]
    text = build.vary_si({"gasket.bore": 0.088}).dumps()
    assert 'bore   =   "88 mm"    # measured twice' in text


def test_sections_come_and_go(tmp_path: Path) -> None:
    build = sheets.loads(COMMENTED)
    more = build.vary({"deck": DECK, "heat.cold_soak": "-30 degC"})
    text = more.dumps()
    assert text.startswith(COMMENTED.rstrip()) and sheets.loads(text) == more
    back = sheets.loads(text).vary({"deck": None, "heat.cold_soak": None})
    assert back == build and back.dumps().startswith(COMMENTED.rstrip())
    parts = build.vary(CHAMBER)
    assert sheets.load(parts.save(tmp_path / "a.toml")) == parts
    assert "# our engine" in (tmp_path / "a.toml").read_text()


@pytest.mark.parametrize(
    "changes",
    [
        {"deck": LISTED},
        {"gasket.zones": ZONES, "gasket.construction": "own"},
        {"fasteners.shank": [{"diameter": "10 mm", "length": "60 mm"}]},
        {"fasteners.tightening": "stretch", "fasteners.torque": None, "fasteners.stretch": "1 mm"},
        {"fasteners.grade": None, "fasteners.proof_strength": "800 MPa",
         "fasteners.yield_strength": "900 MPa", "fasteners.tensile_strength": "1000 MPa"},
    ],
)  # fmt: skip
def test_every_change_reads_back_from_a_commented_sheet(changes: dict[str, Any]) -> None:
    build = sheets.loads(COMMENTED).vary(changes)
    text = build.dumps()
    assert sheets.loads(text) == build
    assert all(f"# {w}" in text for w in ("our engine", "single quotes", "measured twice"))
    assert sheets.loads(text).dumps() == text
    again = sheets.loads(text).vary({"engine.stroke": "87 mm"})
    assert sheets.loads(again.dumps()) == again


def test_line_ends_of_a_sheet_stay() -> None:
    build = sheets.loads(COMMENTED.replace("\n", "\r\n")).vary({"charge.boost": "20 psi"})
    text = build.dumps()
    assert text.count("\r\n") == text.count("\n")
    assert sheets.loads(text) == build


def test_a_sheet_written_in_another_form_of_toml() -> None:
    raw = tomllib.loads(COMMENTED)
    dotted = "".join(
        f"{name}.{key} = {json.dumps(value)}\n"
        for name, section in raw.items()
        for key, value in section.items()
    )
    build = sheets.loads(dotted)
    assert build == sheets.loads(COMMENTED)
    for changes in ({"charge.boost": "20 psi"}, {"deck": DECK}, {"heat.cold_soak": "-9 degC"}):
        new = build.vary(changes)
        assert sheets.loads(new.dumps()) == new


# --------------------------------------------------------------------------- SI numbers and arrays
def test_si_and_text_give_the_same_build() -> None:
    for path, spec in sheets.fields():
        value = FOUR._held(path)
        if value is not None and spec.kind not in ("rows", "text"):
            assert FOUR.vary_si({path: value}) == FOUR, path
    assert FOUR.vary_si({"charge.boost": 2e5}) == FOUR.vary({"charge.boost": "2 bar"})
    same = FOUR.vary({"charge.boost": from_si(2e5, "gauge pressure")})
    assert same == FOUR.vary_si({"charge.boost": 2e5})
    assert 'boost = "2 bar"' in FOUR.vary_si({"charge.boost": 2e5}).dumps().replace("barg", "bar")


def test_si_drives_out_what_it_replaces() -> None:
    rich = FOUR.vary_si({"fuel.equivalence_ratio": 1.2})
    assert rich == FOUR.vary({"fuel.equivalence_ratio": 1.2})
    high = FOUR.vary_si({"charge.altitude": 1000.0})
    assert high == FOUR.vary({"charge.altitude": "1000 m"})
    built = FOUR.vary(CHAMBER)
    ratio = built.vary_si({"engine.compression_ratio": 9.0})
    assert ratio == FOUR.vary({"engine.compression_ratio": 9.0})
    assert built.vary_si({"engine.chamber.piston_volume": 5e-6}) == built.vary(
        {"engine.chamber.piston_volume": "5 cc"}
    )


def test_arrays_stand_for_many_builds() -> None:
    many = FOUR.vary_si({"burn.ca50": np.array([0.1, 0.2]), "fasteners.torque": np.full(2, 90.0)})
    assert many.burn.ca50.tolist() == [0.1, 0.2]
    assert many.engine == FOUR.engine


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("charge.boost", -1.0, ["got -1 pascal_gauge;", "0 bar to 10 bar"]),
        ("burn.ca50", np.array([0.1, np.nan]), ["nan", "-20 deg to 60 deg"]),
        ("engine.compression_ratio", 1.0, ["above 1 to 25"]),
        ("charge.bost", 1.0, ['"charge.boost"']),
        ("engine.bore", None, ["nothing", "a length"]),
        ("burn.duration", None, ["nothing", "an angle"]),
        ("engine.chamber.piston_volume", 1e-6, ["nothing", "volumes"]),
    ],
)
def test_si_numbers_that_a_sheet_could_not_hold(path: str, value: Any, words: list[str]) -> None:
    (told,) = faults(FOUR.vary_si, {path: value}).values()
    for word in words:
        assert word in told


def test_every_wrong_si_number_is_told_at_once() -> None:
    found = faults(FOUR.vary_si, {"charge.boost": -1.0, "engine.bore": 5.0, "x": 1})
    assert set(found) == {"charge.boost", "engine.bore", "x"}


def test_a_bare_number_stays_refused_where_a_unit_is_needed() -> None:
    for path, spec in sheets.fields():
        held = FOUR._held(path)
        if isinstance(held, float) and spec.kind not in ("number", "fraction"):
            assert "without a unit" in faults(FOUR.vary, {path: held})[path]


def test_zones_put_in_past_the_sheet_are_written() -> None:
    zone = Zone("own", "seal", "length", np.array([0.0, 1e-4]), np.array([0.0, 5e4]),
                source="bench", crush=2e5)  # fmt: skip
    build = FOUR.vary_si({"gasket.zones": (zone,), "gasket.construction": "own"})
    again = sheets.loads(build.dumps())
    assert again == build and again.gasket.zones == (zone,)
    other = dataclasses.replace(zone, load=np.array([0.0, 6e4]))
    assert other != zone and hash(zone) == hash(again.gasket.zones[0])


def test_sections_read_quantities_by_their_unit() -> None:
    part = sheets.ShankPart(diameter=Q(10, "mm"), length="60 mm")
    assert part == sheets.ShankPart(diameter=0.01, length=0.06)
    with pytest.raises(InputError, match=r"length: .*a length"):
        sheets.ShankPart(diameter=0.01, length=Q(60, "N"))
    boosted = dataclasses.replace(FOUR.charge, boost="2 bar")
    assert boosted.boost == 2e5


# --------------------------------------------------------------------------- the schema
SCHEMA = jsonschema.Draft202012Validator(sheets.json_schema())


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(sheets.json_schema())
    assert json.loads(json.dumps(sheets.json_schema())) == sheets.json_schema()


@pytest.mark.parametrize("build", [*map(sheets.demo, ALL), FOUR.vary(CHAMBER),
                                   FOUR.vary({"gasket.zones": ZONES})])  # fmt: skip
def test_sheets_fit_the_schema(build: Build) -> None:
    SCHEMA.validate(tomllib.loads(build.dumps()))


@pytest.mark.parametrize(
    "changes",
    [
        {"engine.bore": 86},
        {"engine.bore": "mm"},
        {"engine.boar": "86 mm"},
        {"engine.cylinders": 17},
        {"engine.compression_ratio": 1},
        {"engine.compression_ratio": None},
        {"fuel.equivalence_ratio": 1.2},
        {"fasteners.torque": None},
        {"fasteners.proof_strength": "800 MPa"},
        {"fasteners.kind": "nail"},
        {"deck.holes": [{"name": "C1"}]},
        {"motor.bore": "86 mm"},
    ],
)
def test_what_the_schema_refuses_the_reader_refuses(changes: dict[str, Any]) -> None:
    sheet = tomllib.loads(FOUR.dumps())
    for path, value in changes.items():
        name, _, key = path.partition(".")
        sheet.setdefault(name, {})[key] = value
        if value is None:
            del sheet[name][key]
    assert list(SCHEMA.iter_errors(sheet))
    with pytest.raises(InputError):
        sheets.from_dict(sheet)
