"""A build with another gasket and cuts: volumes added up anew, one build at a time, and at rest."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from sealkit import InputError, analysis
from sealkit import build as builds
from sealkit.analysis.refit import ratio_of
from sealkit.build import Build
from sealkit.sealing import clearances

FOUR = builds.demo("boosted-four")
V8 = builds.demo("na-iron-v8")  # a sheet with its volumes
OVER = (0.5e-3, 1.0e-3, 1.5e-3)


def made(build: Build, allowance: float = 0.25e-3, **own: float) -> analysis.Refit:
    fit = dataclasses.replace(analysis.fit_of(build), **own)
    found: analysis.Refit = analysis.refit(build, fit, allowance, OVER)
    return found


def test_ratio_is_that_of_the_volumes_added_up() -> None:
    own = {"thickness": 1.4e-3, "cut": 0.3e-3, "deck": 0.4e-3, "opening": 0.1055}
    found = made(V8, **own)
    c = V8.engine.chamber
    assert c is not None
    area = np.pi / 4 * V8.engine.bore**2
    whole = (
        c.chamber_volume
        - area * own["cut"]
        + np.pi / 4 * own["opening"] ** 2 * own["thickness"]
        + area * own["deck"]
        + c.piston_volume
    )
    expected = 1 + area * V8.engine.stroke / whole
    assert found.build.compression_ratio == pytest.approx(expected, rel=1e-9)
    assert ratio_of(V8, found.fit) == pytest.approx(expected, rel=1e-9)
    assert analysis.volumes_of(found.build).clearance == pytest.approx(whole, rel=1e-9)
    # the same engine with its ratio alone on the sheet
    plain = V8.vary({"engine.compression_ratio": V8.compression_ratio})
    own["deck"] -= c.deck_clearance
    assert made(plain, **own).build.compression_ratio == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("build", [FOUR, V8], ids=["four", "v8"])
def test_nothing_changed_is_the_sheet(build: Build) -> None:
    found = made(build)
    assert found.build == build and found.deck_known == (build is V8)
    assert found.force == found.before.force == analysis.gas_force(build).force
    assert all(before == now for _, before, now in found.sides.values())


@pytest.mark.parametrize("build", [FOUR, V8], ids=["four", "v8"])
def test_lines_are_the_builds_one_by_one(build: Build) -> None:
    found = made(build, thickness=1.2e-3, cut=0.2e-3)
    assert found.thickness == pytest.approx([0.5e-3, 1.0e-3, 1.2e-3, 1.5e-3])
    for thick, ratio, peak in zip(found.thickness, found.ratio, found.design_peak, strict=True):
        one = made(build, thickness=float(thick), cut=0.2e-3)
        assert one.build.compression_ratio == pytest.approx(ratio, rel=1e-9)
        assert one.after.design_peak == pytest.approx(peak, rel=1e-6)


def test_gap_opens_as_the_piston_goes_down() -> None:
    found = made(FOUR, deck=0.1e-3)
    turn = np.radians([-90.0, -10.0, 0.0, 10.0, 90.0])
    gaps = found.gaps(turn)
    np.testing.assert_allclose(gaps.squish, gaps.squish[::-1], rtol=1e-9)
    np.testing.assert_allclose(gaps.squish - gaps.running, 0.25e-3)
    assert gaps.squish[2] == pytest.approx(FOUR.gasket.compressed_thickness + 0.1e-3)
    throw, rod = FOUR.engine.stroke / 2, FOUR.engine.rod_length
    down = throw + rod - np.sqrt(rod**2 - throw**2)  # crank at a right angle
    assert gaps.squish[-1] - gaps.squish[2] == pytest.approx(down)


def test_squish_stands_where_its_limits_say() -> None:
    low, high = clearances.SQUISH_USUAL
    steps = {
        "risk": 0.9 * clearances.SQUISH_TOUCH,
        "tight": 0.5 * (clearances.SQUISH_TOUCH + low),
        "usual": 0.5 * (low + high),
        "wide": 1.1 * high,
    }
    assert {k: made(FOUR, thickness=t).squish_is for k, t in steps.items()} == {k: k for k in steps}
    assert made(FOUR, thickness=0.4e-3, deck=-0.2e-3).gap.touches
    assert not made(FOUR, thickness=0.4e-3, deck=-0.2e-3, allowance=0.1e-3).gap.touches


def test_no_room_left_is_refused() -> None:
    with pytest.raises(InputError, match="clearance volume"):
        made(FOUR, cut=20e-3)
