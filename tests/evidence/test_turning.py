"""Torque and angle logs: what the reader makes of them, and what they tell."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from sealkit import analysis, demo, evidence
from sealkit.build import Build
from sealkit.errors import InputError
from sealkit.evidence import turning

FOUR = demo("boosted-four")  # invented
HEAD = "angle [deg],torque [N*m]"
TURNED = np.arange(0.0, 90.0)
RISING = np.where(TURNED < 20.0, 0.5 * TURNED, 10.0 + 1.6 * (TURNED - 20.0))  # 1.6 N m to a degree


def written(
    folder: Path,
    torque: NDArray[np.float64],
    head: str = HEAD,
    angle: NDArray[np.float64] = TURNED,
    mark: str = ",",
) -> Path:
    path = folder / "turn.csv"
    rows = [f"{a:.4f}{mark}{t:.4f}" for a, t in zip(angle, torque, strict=True)]
    path.write_text("\n".join([head, *rows]), encoding="utf-8")
    return path


def test_the_straight_part_from_half_torque_on(tmp_path: Path) -> None:
    torque, angle = turning.read(written(tmp_path, RISING))
    assert torque == pytest.approx(RISING[-1])
    assert np.degrees(angle) == pytest.approx(0.5 * RISING[-1] / 1.6, rel=1e-3)


def test_where_the_angle_begins_and_in_which_units_is_all_one(tmp_path: Path) -> None:
    plain = turning.read(written(tmp_path, RISING))
    shifted = turning.read(written(tmp_path, RISING, angle=TURNED + 200.0))
    feet = written(tmp_path, RISING / 1.3558179, "Angle (deg);Torque (lbf*ft)", mark=";")
    assert shifted == pytest.approx(plain)
    assert turning.read(feet) == pytest.approx(plain, rel=1e-4)


def test_past_yield_the_torque_stops_to_rise_and_is_left_out(tmp_path: Path) -> None:
    torque, angle = turning.read(written(tmp_path, np.minimum(RISING, 90.0)))
    assert 84.0 <= torque <= 90.1
    assert np.degrees(angle) == pytest.approx(0.5 * torque / 1.6, rel=0.02)


@pytest.mark.parametrize(
    ("torque", "head", "named"),
    [
        (RISING, "a,b", "line 1"),
        (RISING, "angle,torque", "unit of angle"),
        (RISING, "angle [deg],torque [bar]", "unit of torque"),
        (RISING, "angle [deg],torque [ft*lb]", 'write "lbf*ft"'),
        (-RISING, HEAD, "a torque that rises"),
        (RISING * np.nan, HEAD, "line 2, column 2"),
        (np.full(90, 5.0), HEAD, "from half torque on"),
    ],
)
def test_a_broken_log_is_named(
    tmp_path: Path, torque: NDArray[np.float64], head: str, named: str
) -> None:
    with pytest.raises(InputError) as err:
        turning.read(written(tmp_path, torque, head))
    assert named in str(err.value)


def test_an_angle_that_turns_back_is_named_by_its_line(tmp_path: Path) -> None:
    angle = TURNED.copy()
    angle[40] = 10.0
    with pytest.raises(InputError, match=r"line 42, angle: got 10 after 39"):
        turning.read(written(tmp_path, RISING, angle=angle))


@pytest.mark.parametrize(
    ("share", "told"),
    [
        (1.05, ""),
        (1.2, "up to the 117.0 N·m of the sheet"),
        (1.356, "in N*m?"),
        (0.74, "in lbf*ft?"),
    ],
)
def test_a_log_stops_at_the_torque_of_the_sheet(tmp_path: Path, share: float, told: str) -> None:
    written(tmp_path, RISING * share * FOUR.fasteners.torque / RISING[-1])
    sheet = FOUR.vary({"evidence.measured": [{"kind": "torque and angle log", "file": "turn.csv"}]})
    try:
        evidence.gather(sheet, tmp_path)
        assert not told
    except InputError as err:
        assert told and told in str(err) and "turn.csv, torque: got up to" in str(err)


def logged(true: Build) -> NDArray[np.float64]:
    """Torque of a fastener over `TURNED`: nut advance by the joint, torque by friction."""
    clamp, made = analysis.clamp_side(analysis.with_one_preload(true))
    preload = np.linspace(1e3, clamp.ends[1], 60)
    turn = [360.0 * float(made.advance(p)) / clamp.thread.pitch for p in preload]
    most = true.fasteners.torque * preload / clamp.ends[1]
    return np.asarray(np.interp(TURNED * turn[-1] / TURNED[-1], turn, most))


def test_a_log_gives_its_friction_back(tmp_path: Path) -> None:
    """Log of the same joint with 20 % less friction; boss and curves are as on the sheet."""
    oiled = {"fasteners.friction_thread": 0.104, "fasteners.friction_bearing": 0.104}
    true = FOUR.vary_si(oiled)
    clamp, made = analysis.clamp_side(analysis.with_one_preload(true))
    last = 360.0 * float(made.advance(clamp.ends[1])) / clamp.thread.pitch
    written(tmp_path, logged(true), angle=TURNED * last / TURNED[-1])
    rows = [{"kind": "torque and angle log", "file": "turn.csv"}]
    sheet = FOUR.vary({"evidence.measured": rows, "fasteners.preload_scatter": "1 %"})
    gathered = evidence.gather(sheet, tmp_path)
    (one,) = [x for x in gathered if isinstance(x, evidence.Rows)]
    assert float(np.ravel(one.predicted(true))[0]) == pytest.approx(one.readings[0].value, rel=0.01)
    found = evidence.fit(sheet, gathered)
    friction = next(p for p in found.parameters if "fasteners.friction_thread" in p.middle)
    assert found.z[found.parameters.index(friction)] < -0.5


@pytest.mark.parametrize("more", [{"value": "30 deg"}, {"at": "60 N*m"}, {"uncertainty": "2 deg"}])
def test_a_file_tells_the_rest(tmp_path: Path, more: dict[str, str]) -> None:
    written(tmp_path, RISING)
    row = {"kind": "torque and angle log", "file": "turn.csv", **more}
    with pytest.raises(InputError) as err:
        evidence.gather(FOUR.vary({"evidence.measured": [row]}), tmp_path)
    assert "evidence.measured[1]" in str(err.value)
