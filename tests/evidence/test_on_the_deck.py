"""Readings at places of the deck: a dial under one fastener, the thickness of a used gasket."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import least_squares

from sealkit import analysis, evidence, report, tables
from sealkit import build as sheets
from sealkit.build import Build
from sealkit.drawing import readings as drawing
from sealkit.errors import InputError
from sealkit.evidence import Rows, evidence_of, fit, predict
from sealkit.evidence.fitting import residuals
from sealkit.evidence.priors import at
from sealkit.report.seal_view import seal_view
from sealkit.sealing.deck.layout import on_rim
from tests.sealing.test_sequence import AT, FULL, SIDE, SPRING, rigid

SIX = sheets.demo("boosted-six")  # fibre body with steel ring, invented
DRAG = sheets.demo("methanol-drag")  # copper with wire ring, both sides of the deck alike, invented
BARE = SIX.vary({"deck": None})
DIAL, USED = "dial under one fastener", "thickness of the used gasket"
TORQUE = {"at": "122 N*m"}


def rows(build: Build, kind: str) -> tuple[Build, Rows]:
    """A sheet with readings where they are usual, which read nothing yet."""
    spots = predict.SPOTS[tables.load("measurements")[kind]["place"]](build)
    if kind == DIAL:
        made = [{"value": "0 um", "fastener": i, "beside": j, **TORQUE} for i, j in spots]
    else:
        made = [{"value": "1 mm", "bore": i, "clock": f"{x} rad"} for i, x in spots]
    sheet = build.vary({"evidence.measured": [{"kind": kind, **row} for row in made]})
    (one,) = evidence_of(sheets.readings(sheet.evidence))
    return sheet, one


# --------------------------------------------------------------------------- by hand
def test_a_rigid_head_sinks_and_tips_as_statics_say() -> None:
    """Three bolts on an even elastic bed: of two whose nuts are held one lets go altogether."""
    bed = 3e9
    snug = rigid(bed).assemble(predict._RUN_DOWN * FULL)
    sink = (1.0 + 12.0 * AT @ AT.T / SIDE**2) / (bed * SIDE**2)
    before = np.full(3, predict._RUN_DOWN * FULL)
    advance = before / SPRING + sink @ before
    held = np.array([False, True, False])
    matrix = np.eye(3) + SPRING * sink * held[:, None]
    force = np.linalg.solve(matrix, [FULL, SPRING * advance[1], 0.0])
    assert force[1] > 0.0 > SPRING * (advance[2] - sink[2] @ force)  # the third has nothing left
    rim = np.array([on_rim(snug.deck.layout, b) for b in AT])
    assert np.abs(rim).max(axis=1) == pytest.approx(0.5 * SIDE)
    want = (1.0 + 12.0 * rim @ AT.T / SIDE**2) @ (force - before) / (bed * SIDE**2)
    got = predict._dips(snug, [(1, 1), (1, 2), (1, 3)])
    assert got == pytest.approx(want, rel=2e-3)


def test_mirrored_places_read_the_same() -> None:
    bolts = DRAG.layout.bolts
    snug = predict._snug(DRAG, 60.0, None)
    other = [1 + int(np.argmin(np.hypot(*(bolts - m).T))) for m in bolts * [1.0, -1.0]]
    spots = [(1, 1), (1, 2), (2, 7)]
    there = [(other[i - 1], other[j - 1]) for i, j in spots]
    assert predict._dips(snug, spots) == pytest.approx(predict._dips(snug, there), abs=2e-8)


def test_under_a_head_that_does_not_bend_a_gasket_is_used_as_the_average_joint_says() -> None:
    one = {"engine.cylinders": 1, "fasteners.on_head": 4, "block.deck": "rigid"}
    stiff = SIX.vary({**one, "head.thickness": "400 mm", "head.gradient": "0 K"})
    flat = predict._thicknesses(predict._used(stiff, 0.0, None), predict._all_round(stiff))
    average = seal_view(report.run(analysis.with_one_preload(stiff)))
    gone = average.seal.free_thickness - average.used_thickness
    assert average.seal.free_thickness - np.mean(flat) == pytest.approx(gone, rel=0.02)
    bent = predict._thicknesses(predict._used(SIX, 0.0, None), predict._all_round(SIX))
    assert np.ptp(flat) < 0.1 * np.ptp(bent)


# --------------------------------------------------------------------------- made data
@pytest.mark.parametrize("kind", [DIAL, USED])
def test_made_readings_give_back_a_thinner_head(kind: str) -> None:
    """Two standard deviations thinner, and each of all else half a one off; read with noise.

    Half of its variance is the instrument's, the same in all readings.
    """
    sheet, one = rows(SIX.vary({"deck.mesh": "16 mm"}), kind)
    (own,) = predict.judged_on(sheet, [one])
    every = evidence.parameters(sheet, set(one.moves))
    (head,) = (i for i, p in enumerate(every) if "head.thickness" in p.middle)
    random = np.random.default_rng(5)
    truth = 0.5 * random.choice([-1.0, 1.0], len(every))
    truth[head] = -2.0
    read = np.ravel(own.predicted(at(sheet, every, truth)))  # type: ignore[attr-defined]
    width = 2e-6
    noise = random.standard_normal(len(read)) + random.standard_normal()  # of one instrument
    read = read + width * np.sqrt(0.5) * noise
    made = tuple(
        dataclasses.replace(r, value=float(x), deviation=width)
        for r, x in zip(one.readings, read, strict=True)
    )
    found = fit(sheet, [Rows(made)])
    assert head in found.learnt and found.z[head] < -0.8
    off = np.abs(found.z - truth)[found.learnt] / found.deviation[found.learnt]
    assert np.all(off < 2.5) and all(m.fits for m in found.misfits)


def test_readings_of_one_fastener_have_its_scatter_together() -> None:
    """Dials that all read as its one end of the scatter gives say next to nothing."""
    sheet, one = rows(SIX, DIAL)
    (own,) = predict.judged_on(sheet, [one])
    more = {"fasteners.preload_factor": sheet.fasteners.preload_factor * 1.04}  # of 8 %
    reads = np.ravel(one.predicted(sheet.vary_si(more)))
    made = [
        dataclasses.replace(r, value=float(x)) for r, x in zip(one.readings, reads, strict=True)
    ]
    moved = dataclasses.replace(own, readings=tuple(made))  # type: ignore[type-var]
    assert np.sum(np.square(moved.residuals(sheet))) < 1.2  # one deviation of one fastener


def test_the_fit_comes_to_where_the_sum_of_squares_is_least() -> None:
    row = {"kind": "opens at a pressure", "value": "150 bar", "uncertainty": "5 %"}
    sheet = SIX.vary({"evidence.measured": [row]})
    found = fit(sheet, evidence_of(sheets.readings(sheet.evidence)))

    def total(z: Any) -> Any:
        off = residuals(at(sheet, list(found.parameters), z), found.evidence)
        return np.concatenate([*off, z])

    bounds = tuple(np.transpose([p.limits for p in found.parameters]))
    start = np.full(len(found.z), 0.1)
    whole = least_squares(total, start, "3-point", bounds, xtol=1e-5, ftol=1e-7)
    assert np.all(np.abs(found.z - whole.x) < 0.1 * found.deviation)


# --------------------------------------------------------------------------- what is refused
@pytest.mark.parametrize(
    ("row", "field", "wanted"),
    [
        ({"kind": DIAL, "value": "30 um", **TORQUE, "beside": 2}, "fastener", "nothing"),
        ({"kind": DIAL, "value": "30 um", **TORQUE, "fastener": 2}, "beside", "nothing"),
        ({"kind": USED, "value": "1.2 mm", "bore": 1}, "clock", "nothing"),
        ({"kind": USED, "value": "1.2 mm", "clock": "90 deg"}, "bore", "nothing"),
        ({"kind": USED, "value": "1.2 mm", "bore": 1, "clock": "900 deg"}, "clock", "360"),
        ({"kind": USED, "value": "-1.2 mm", "bore": 1, "clock": "0 deg"}, "value", "below zero"),
        (
            {"kind": DIAL, "value": "-9 um", "at": "0 N*m", "fastener": 1, "beside": 2},
            "at",
            "above",
        ),
        ({"kind": "bolt stretch", "value": "0.3 mm", "bore": 1}, "bore", "has none"),
    ],
    ids=lambda x: x.get("kind") if isinstance(x, dict) else x,
)
def test_a_place_that_is_none_is_named(row: dict[str, Any], field: str, wanted: str) -> None:
    with pytest.raises(InputError, match=rf"measured\[1\]\.{field}") as told:
        SIX.vary({"evidence.measured": [row]})
    assert wanted in str(told.value)


@pytest.mark.parametrize(
    ("build", "row", "wanted"),
    [
        (SIX, {"kind": DIAL, "value": "30 um", **TORQUE, "fastener": 15, "beside": 1}, "1 to 14"),
        (SIX, {"kind": DIAL, "value": "30 um", **TORQUE, "fastener": 1, "beside": 15}, "1 to 14"),
        (SIX, {"kind": USED, "value": "1.2 mm", "bore": 7, "clock": "0 deg"}, "1 to 6"),
        (BARE, {"kind": USED, "value": "1.2 mm", "bore": 1, "clock": "0 deg"}, "the section"),
        (BARE, {"kind": DIAL, "value": "9 um", **TORQUE, "fastener": 1, "beside": 1}, "deck"),
    ],
    ids=["fastener", "beside", "bore", "no deck, used", "no deck, dial"],
)  # fmt: skip
def test_a_place_that_the_deck_has_not_is_refused(
    build: Build, row: dict[str, Any], wanted: str, tmp_path: Path
) -> None:
    sheet = build.vary({"evidence.measured": [row]})
    with pytest.raises(InputError, match=rf"measured\[1\]\.kind: got .*{wanted}"):
        evidence.gather(sheet, tmp_path)


def test_a_head_that_comes_up_is_read_below_zero() -> None:
    row = {"kind": DIAL, "value": "-3 um", **TORQUE, "fastener": 7, "beside": 8}
    sheet = SIX.vary({"evidence.measured": [row]})
    (read,) = sheets.readings(sheet.evidence)
    assert read.value == pytest.approx(-3e-6) and read.spot == (7, 8)
    assert sheets.loads(sheet.dumps()) == sheet


def test_readings_at_many_spots_are_drawn_each_beside_its_own_number() -> None:
    sheet, one = rows(SIX.vary({"deck.mesh": "16 mm"}), USED)
    before = np.ravel(one.on(sheet, None).predicted(sheet))
    read = zip(one.readings, before, strict=True)
    found = fit(sheet, [Rows(tuple(dataclasses.replace(r, value=float(x)) for r, x in read))])
    assert [x.before for x in found.read] == pytest.approx(before.tolist()) and np.ptp(before) > 0
    first, second = drawing.pictures(found)
    assert first.count("<circle") == second.count("<circle") == len(before)
