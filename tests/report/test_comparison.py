"""Builds side by side: what is different on the sheets, and what that does to each limit."""

from __future__ import annotations

import html
import json

import jsonschema
import pytest

from sealkit import InputError, build, paper, report
from sealkit.report import comparison, record
from sealkit.report.comparison import compare
from sealkit.report.result import outcome_words
from sealkit.sealing.limit import Outcome
from tests.sheets import without_map

BASE = build.loads(without_map())


def test_only_what_is_different_is_told() -> None:
    other = BASE.vary({"charge.boost": "1.6 bar", "fasteners.lubricant": "moly paste"})
    made = compare([BASE, other])
    assert [c.path for c in made.changes] == ["charge.boost", "fasteners.lubricant"]
    assert [list(r.values())[1:] for r in made.change_rows("metric")] == [
        ["1.24 bar gauge", "1.60 bar gauge"],
        ["engine oil", "moly paste"],
    ]
    assert compare([BASE, BASE]).changes == []
    named = BASE.vary({"sheet.name": "another", "sheet.customer": "somebody"})
    assert compare([BASE, named]).changes == [], "a name does nothing to the joint"
    assert "nothing" in paper.side_by_side(compare([BASE, named]))


def test_a_small_difference_is_shown_with_the_decimals_it_takes() -> None:
    thick = BASE.gasket.compressed_thickness
    other = BASE.vary_si({"gasket.compressed_thickness": thick + 4e-7})
    (change,) = compare([BASE, other]).changes
    assert change.texts("metric") == ["0.8000 mm", "0.8004 mm"]
    assert len(set(change.texts("inch"))) == 2


def test_what_a_sheet_leaves_out_stands_with_what_is_taken_for_it() -> None:
    """Ambient pressure, which neither sheet gives, differs because of the altitude: told once."""
    high = {"charge.altitude": "500 m", "heat.rise_factor": 1.1, "liquids.facing": "elastomer coat"}
    rows = {c.path: c.texts("inch") for c in compare([BASE, BASE.vary(high)]).changes}
    assert rows == {
        "charge.altitude": ["left out", "1,640 ft"],
        "liquids.facing": ["left out", "elastomer coat"],
        "heat.rise_factor": ["left out (1 taken)", "1.1"],
    }
    drag = build.demo("methanol-drag")
    other = {"fasteners.stretch": "0.0218 in", "charge.ambient_pressure": "14.2 psi"}
    rows = {c.path: c.texts("inch") for c in compare([drag, drag.vary(other)], False).changes}
    assert rows["fasteners.stretch"] == ["0.0200 in", "0.0218 in"]
    assert rows["charge.ambient_pressure"] == ["left out (14.7 psi taken)", "14.2 psi"]


def test_rows_and_places_stand_in_the_words_of_the_sheet() -> None:
    waist = BASE.vary({"fasteners.shank": [{"diameter": "11 mm", "length": "75 mm"}]})
    (shank,) = compare([BASE, waist]).changes
    assert shank.texts() == [f"diameter {d}.00 mm, length 75.00 mm" for d in (12, 11)]
    iron = build.demo("na-iron-v8")
    moved = [[f"{x} in" for x in p] for p in iron.get("deck.bolts").to("in").magnitude.tolist()]
    moved[0][0] = "-2.25 in"
    (bolts,) = compare([iron, iron.vary({"deck.bolts": moved})], False).changes
    assert bolts.texts("inch") == ["17: -2.200 in 1.850 in", "17: -2.250 in 1.850 in"]


def test_a_sheet_in_inches_is_the_same_sheet() -> None:
    again = build.loads(BASE.dumps().replace('"86 mm"', '"3.38582677165354 in"'))
    assert again.system == "inch" and compare([BASE, again]).changes == []


def test_margins_are_those_of_the_reports_and_points_are_their_difference() -> None:
    other = BASE.vary({"charge.boost": "1.6 bar"})
    made = compare([BASE, other])
    left, right = ({r.key: r for r in report.run(b).limits} for b in (BASE, other))
    for row, (a, b) in zip(made.limit_rows(), made.limits, strict=True):
        assert a is not None and b is not None
        assert a.margin == left[a.key].margin and b.margin == right[a.key].margin
        for letter, x in (("A", a), ("B", b)):
            assert row[letter] == f"{report.percent(x.margin)}, {outcome_words(x.outcome)}"
        if row["B less A"]:
            points = float(row["B less A"].split()[0])
            told = 100 * (min(b.margin, 10.0) - min(a.margin, 10.0))
            assert points == pytest.approx(told, abs=0.51)
    moved = [abs(min(b.margin, 10) - min(a.margin, 10)) for a, b in made.limits if a and b]
    assert moved == sorted(moved, reverse=True)
    # more boost loads the seal more
    seal = next(r for r in made.limit_rows() if "load left to hold the gas" in r["limit"])
    assert seal["B less A"].startswith("-")


def test_a_limit_that_turns_is_told_in_capitals() -> None:
    weak = BASE.vary({"fasteners.torque": "25 N*m"})

    def moved(*builds: build.Build) -> list[str]:
        return [r["B less A"] for r in compare(builds).limit_rows()]

    turned = [t for t in moved(BASE, weak) if "NOW" in t]
    assert turned and all("NOW FAILS" in t or "NOW TOO CLOSE" in t for t in turned)
    back = [
        r["B less A"] for r in compare([weak, BASE]).limit_rows() if "now" in r["B less A"].lower()
    ]
    assert len(back) == len(turned)
    # its band counts: what is too close to call does not hold, and has not failed
    tight = compare([BASE, BASE.vary({"fasteners.torque": "133 N*m"})])
    for (a, b), row in zip(tight.limits, tight.limit_rows(), strict=True):
        if a and b and b.outcome is Outcome.CLOSE:
            assert a.outcome is b.outcome or row["B less A"].endswith("NOW TOO CLOSE TO CALL")
    assert any("NOW TOO CLOSE" in row["B less A"] for row in tight.limit_rows())


def test_the_seal_of_two_gaskets_is_one_limit() -> None:
    """Gas passes one or the other: the very question of a comparison stands in one row."""
    made = compare([BASE, BASE.vary({"gasket.construction": "fibre composite"})])
    seal = next(r for r in made.limit_rows() if "load left to hold the gas" in r["limit"])
    assert " / " in seal["limit"] and "not there" not in seal.values() and seal["B less A"]


def test_three_builds_with_limits_of_their_own_and_their_json() -> None:
    fibre = BASE.vary({"gasket.construction": "fibre composite"})
    made = compare([BASE, BASE.vary({"fasteners.torque": "110 N*m"}), fibre])
    rows = made.limit_rows("inch")
    assert {"A", "B", "C", "B less A", "C less A"} < set(rows[0])
    assert any(r["C"] == "not there" for r in rows) and any(r["A"] == "not there" for r in rows)
    told = json.loads(json.dumps(made.to_dict(), allow_nan=False))
    form = record.schema(comparison.TABLE, comparison.NAME)
    jsonschema.Draft202012Validator.check_schema(form)
    jsonschema.validate(told, form)
    assert [len(x["margins"]) for x in told["limits"]] == [3] * len(rows)
    assert told["reports"][1] == json.loads(json.dumps(made.reports[1].to_dict()))
    text, page = paper.side_by_side(made, "inch"), html.unescape(paper.compared(made, "inch"))
    for row in made.change_rows("inch"):
        assert all(v in page for v in row.values())
    for words in ("A  ", "C less A", "What is different on the sheets"):
        assert words in text
    assert "<script" not in page and page.count("<section") == 1
    assert all(c in page for c in paper.CAUTIONS)


@pytest.mark.parametrize("count", [0, 1, 4])
def test_two_or_three(count: int) -> None:
    with pytest.raises(InputError, match="two or three"):
        compare([BASE] * count)


def test_builds_of_one_name_are_told_apart_by_their_files() -> None:
    weak = BASE.vary({"fasteners.torque": "90 N*m", "charge.altitude": "1500 m"})
    made = compare([BASE, weak], deck=False, files=["one.toml", "two.toml"])
    name = BASE.sheet.name
    assert made.names == [f"{name} (one.toml)", f"{name} (two.toml)"]
    assert f"B  {name} (two.toml)" in paper.side_by_side(made)
    assert f"{name} (two.toml)" in paper.compared(made)
    assert compare([BASE, weak.vary({"sheet.name": "x"})], False, ["a", "b"]).names == [name, "x"]
    for system, told in (("metric", "1,500 m"), ("inch", "4,921 ft")):
        high = next(r for r in made.change_rows(system) if r["on the sheet"] == "charge.altitude")
        assert high["B"] == told
