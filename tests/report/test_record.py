"""The report as data: its JSON keeps to its schema, and says what text and page say."""

from __future__ import annotations

import html
import json
from collections.abc import Iterator, Mapping
from typing import Any

import jsonschema
import numpy as np
import pytest

from sealkit import build, paper, report
from sealkit.report import record
from sealkit.scatter.probability import Probability
from sealkit.sealing.limit import Condition, Limit
from sealkit.units import KINDS, show, show_value
from tests import sheets
from tests.sheets import without_map

DEMOS = build.demos()
CHECK = jsonschema.Draft202012Validator(record.schema(paper.TABLE))


def mapped(name: str) -> report.Report:
    """The report of a demo, with its map."""
    return sheets.printed(name).report


def as_json(name: str) -> Any:
    """What another program reads of a demo."""
    return json.loads(json.dumps(sheets.printed(name).to_dict(), allow_nan=False))


@pytest.mark.parametrize("name", DEMOS)
def test_json_keeps_to_its_schema(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(record.schema(paper.TABLE))
    CHECK.validate(as_json(name))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("version",), record.VERSION + 1),
        (("outcome",), "perhaps"),
        (("pressure", "mean_peak", "unit"), "bar"),
        (("pressure", "mean_peak"), 5e6),
        (("limits", 0, "margin"), "+5 %"),
        (("limits", 0, "more"), 1),
        (("order", 0, "pressure"), {"value": "high", "unit": "Pa"}),
        (("ranking", 0, "order", 0, "pressure"), 1e7),
        (("leak", 0, "failed"), 0.5),
        (("leak", 0, "of"), "any"),
    ],
)
def test_the_schema_refuses(path: tuple[Any, ...], value: Any) -> None:
    told = as_json("boosted-six")
    place = told
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        CHECK.validate(told)


def test_every_entry_is_told_what_it_is() -> None:
    def entries(part: Any) -> Iterator[Any]:
        if isinstance(part, Mapping):
            for inner in part.values():
                yield from entries(inner)
        else:
            yield part
            if isinstance(part, record.Rows):
                yield from entries(part.entries)

    found = list(entries(paper.TABLE))
    assert len(found) > 60 and all(e.help for e in found)
    kinds = {e.kind for e in found if isinstance(e, record.Entry)}
    assert kinds <= {*KINDS, "text", "whole"}


def numbers(part: Any, path: str = "") -> Iterator[tuple[str, float, str]]:
    """(path, number, kind) of the figures outside the rows."""
    for key, inner in part.items():
        here = f"{path}.{key}".removeprefix(".")
        if isinstance(inner, Mapping):
            yield from numbers(inner, here)
        elif isinstance(inner, record.Entry) and inner.kind not in ("text", "whole"):
            yield here, 0.0, inner.kind


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_text_page_and_json_agree_on_every_number(name: str, system: str) -> None:
    made = mapped(name)
    told, printed = as_json(name), sheets.printed(name)
    text, page = paper.text(printed, system), html.unescape(paper.page(printed, system))

    def both(words: str) -> None:
        assert words in text and words in page, words

    for path, _, kind in numbers(record.TABLE):
        found = told
        for key in path.split("."):
            found = found[key]
        if path == "reserve":
            both(report.percent(np.inf if found is None else found))
        elif path in ("pressure.power", "pressure.torque"):
            words = record.shown(made, path, system)  # an estimate: three figures
            both(words)
            exact = float(show_value(found["value"], kind, system))
            assert float(words.split()[0].replace(",", "")) == float(f"{exact:.3g}")
        elif path == "boost.knock_integral":
            assert ("the joint alone would take" in told["boost"]["words"]) is (found >= 1.0)
        elif path == "boost.knocks_from" and told["boost"]["knock_integral"] < 1.0:
            continue
        elif path.startswith("boost."):
            most = told["boost"]["held"]["value"]
            digits = record.decimals_of(most, kind, system, 2)
            number = "none" if found is None else show(found["value"], kind, system, digits)
            both(number.split()[0] if path.endswith("_low") else number)
        elif kind == "number":
            both(f"{found:g}" if path.endswith("one_cycle_in") else f"{found:.2f}")
        else:
            decimals = {"metric": 2, "inch": 1}[system] if "manifold_p" in path else None
            decimals = 0 if path == "engine.displacement" else decimals
            more = () if decimals is None else (decimals,)
            both(show(found["value"], kind, system, *more))
    kinds = {KINDS[k].si: k for k in ("force", "line load", "stress", "length")}
    for row, limit in zip(told["limits"], report.rows(made, system), strict=True):
        kind = next(r.kind for r in made.limits if r.key == row["key"])
        assert kinds.get(row["unit"], kind) and KINDS[kind].si == row["unit"]
        for said, key in (("needs", "demand"), ("has", "capacity")):
            assert limit[said] in [show(row[key], kind, system, d) for d in range(-2, 8)]
        assert limit["margin"] == report.percent(np.inf if row["margin"] is None else row["margin"])
        for key in ("limit", "needs", "has", "margin", "band", "state"):
            both(limit[key])
    for given in told["order"]:
        at = given["pressure"]
        both("without gas" if at is None else show(at["value"], "pressure", system))
    shown = printed.ranking_rows(system)
    assert len(shown) == len(told["ranking"]) + len(told["refused"])
    for kind_of, cells in zip((*told["ranking"], *told["refused"]), shown, strict=True):
        assert cells["construction"] == kind_of["construction"]
        both(cells["construction"])
        if "why" in kind_of:
            assert kind_of["why"] in cells["why"]
            continue
        margin, strength = (
            report.percent(np.inf if kind_of[k] is None else kind_of[k])
            for k in ("margin", "strength")
        )
        assert (cells["margin"], cells["strength"]) == (margin, strength)
        if kind_of["on_map"]:
            assert f"{kind_of['on_map']} (" in cells["why"]
            assert f"{report.percent(kind_of['map_margin'])})" in cells["why"]
        if kind_of["order"]:
            at = kind_of["order"][0]["pressure"]
            start = "without gas" if at is None else show(at["value"], "pressure", system)
            assert cells["fails first"].startswith(start)
        both(margin)
        both(strength)
    assert printed.chance(system) in html.unescape(paper.page(printed, system))
    for found in told["leak"]:
        counted = {k: found[k] for k in found if k != "of"}
        both(Probability(**counted).text())


def test_a_number_of_a_band_is_no_ratio_to_next_to_nothing() -> None:
    """Without any gas load on the fastener its swing is nothing: the top of fatigue has no end."""
    made = report.run(build.demo("methanol-drag"))
    (row,) = (x for x in made.to_dict()["limits"] if x["key"] == "fatigue")
    assert row["band_high"] is None and row["highest_by"] and row["margin"] < 10.0


def test_each_knock_integral_says_of_which_cycle() -> None:
    four = build.demo("boosted-four")
    for boost, cycle in (("18 psi", "cycle designed for"), ("1.5 bar", "mean cycle")):
        assert report.run(four.vary({"charge.boost": boost})).knock_integral.endswith(cycle)


def test_the_frame_holds_numbers() -> None:
    made = sheets.printed("boosted-six", False).report
    frame = made.frame()
    assert list(frame.index) == [r.key for r in sorted(made.banded, key=lambda r: r.margin)]
    asked = frame[frame["demand"] > 0]
    np.testing.assert_allclose(asked["capacity"] / asked["demand"] - 1, asked["margin"], rtol=1e-12)
    blown = frame.loc["blow-out", ["demand", "margin"]].to_numpy(float)
    assert blown[0] == 0.0 and np.isnan(blown[1])
    assert (frame["band_low"] <= frame["margin"]).sum() > 5


def test_weakest_is_the_least_in_any_state() -> None:
    made = mapped("na-iron-v8")
    for warmth in report.result.Temperature:
        assert sum(r.state.temperature is warmth for r in made.everywhere) > 5
    assert made.weakest.margin == min(r.margin for r in made.everywhere)


def test_standing_tells_the_reserve_in_words() -> None:
    base = build.loads(without_map())

    def standing(torque: str) -> tuple[report.Report, str]:
        made = report.run(base.vary({"fasteners.torque": torque}))
        return made, made.standing()

    for torque in ("60 N*m", "90 N*m", "110 N*m", "120 N*m", "140 N*m", "200 N*m"):
        made, words = standing(torque)
        least = min(r.margin for r in made.limits)
        named = made.close[0].title if made.close else ""
        assert words.startswith(
            {
                "holds": "Holds, with only a thin reserve of " if least < 0.1 else "Holds, with ",
                "too close to call": "Too close to call: "
                + ("holds only without knock (" if made.leaves_knock_out else f"{named}, "),
                "does not hold": "Does not hold: short by ",
            }[str(made.outcome)]
        )
        if "Too close" not in words:
            assert report.percent(abs(least)).lstrip("+") in words
    assert standing("60 N*m")[1].startswith("Does not") and standing("117 N*m")[1][:5] == "Too c"


@pytest.mark.parametrize("system", ["metric", "inch"])
@pytest.mark.parametrize(
    ("demand", "capacity", "kind"),
    [
        (0.2134e-3, 0.2145e-3, "length"),  # +0.5 %
        (0.2145e-3, 0.2134e-3, "length"),
        (41 * 6895.0, 12.7 * 6895.0, "stress"),  # 41 and 13 psi
        (41e3, 0.0, "line load"),
        (0.3e6, 90e6, "stress"),
    ],
)
def test_demand_and_capacity_shown_tell_the_margin(
    demand: float, capacity: float, kind: str, system: str
) -> None:
    row = Limit("crush", "a", demand, capacity, kind, Condition(), "", "invented")
    needs, has = (float(x.split()[0].replace(",", "")) for x in record.needs_has(row, system))
    assert np.sign(has - needs) == np.sign(row.margin)
    assert row.margin > 10.0 or has / needs == pytest.approx(1.0 + row.margin, rel=0.021)
