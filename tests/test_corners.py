"""Corners of the physics that no other test walks into: each ends in its named error or number."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sealkit import analysis, build, report
from sealkit.analysis import margins
from sealkit.errors import InputError
from sealkit.fastening import tightening
from sealkit.pressure import charge, cycle, fuels, geometry
from sealkit.sealing import constructions
from tests.charges import charge_at

SHAPE = (0.086, 0.086, 0.143, 9.0)


# --------------------------------------------------------------------------- cycle and charge
def filled(pressure: float = 2e5, temperature: float = 330.0, phi: float = 1.0) -> Any:
    mixture = fuels.mixture.si("gasoline", phi)
    volume = geometry.cylinder_volume.si(np.pi, *SHAPE)
    return charge_at(mixture, pressure, temperature, volume)


def test_pressure_beyond_the_gas_tables_is_named() -> None:
    with pytest.raises(InputError, match="2000 bar"):
        cycle.cycle.si(filled(6e6), *SHAPE, 50.0, float(np.radians(-20)), float(np.radians(50)))


def test_a_charge_hotter_than_the_tables_is_named() -> None:
    mixture = fuels.mixture.si("gasoline", 1.0)
    with pytest.raises(InputError, match=r"charge: got .* 220 to 700 K"):
        charge.charge.si(mixture, 0.086, 0.086, 9.0, 1e5, 900.0, 0.0, 0.7, 0.0, 0.9, 0.04)


def test_a_very_cold_charge_evaporates_only_what_its_heat_pays_for() -> None:
    """The mixture asks for all fuel evaporated; methanol in cold air cannot."""
    mixture = fuels.mixture.si("methanol", 1.0, evaporated_share=1.0)
    size = (0.086, 0.086, 9.0)
    warm, cold = (
        charge.charge.si(mixture, *size, 1e5, t, 0.0, 0.7, 0.0, 0.9, 0.0) for t in (330.0, 240.0)
    )
    shares = [float(c.mixture.evaporated_share) for c in (warm, cold)]
    assert 0.0 <= shares[1] < shares[0] <= 1.0
    assert float(cold.temperature) < float(warm.temperature)


# --------------------------------------------------------------------------- fastening
def test_every_fault_of_a_list_and_of_its_neighbours_is_told_at_once() -> None:
    with pytest.raises(InputError) as err:
        tightening.stretch("10 N*m", [("58 mm**2", "-1 mm")], "207 GPa")
    fields = [f.field for f in err.value.faults]
    assert "preload" in fields and any(f.startswith("segments") for f in fields)


# --------------------------------------------------------------------------- sheets and points
@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: constructions.recovery("1 mm", "1 mm", "1 mm"), "loaded"),
        (lambda: constructions.recovery("1 mm", "1.1 mm", "0.9 mm"), "loaded|recovered"),
        (lambda: points("0,0\na,1"), "line 3"),
        (lambda: points("0,0\n1,1", "load [kg]"), "load"),
        (lambda: points("0,0\n1,1", "load [nonsense]"), "load"),
        (lambda: points("0,0\n100,50\n100,50,unloading\n90,49,unloading"), "unloading"),
        (lambda: constructions.measured("no such file.csv"), "points"),
        (lambda: constructions.measured("closure [um],load [N/mm]\n0,0\n"), "closure"),
    ],
)
def test_measured_points_that_are_no_curve_are_named(call: Any, field: str) -> None:
    with pytest.raises(InputError, match=field):
        call()


def points(rows: str, load: str = "load [N/mm]") -> Any:
    named = {"name": "mine", "width": "1 mm"}
    rows = "".join(f"{row}{',' * (2 - row.count(','))}\n" for row in rows.splitlines())
    return constructions.measured(f"closure [um],{load},branch\n{rows}", **named)


def test_measured_points_in_units_of_their_own() -> None:
    own = constructions.measured("closure [mm],load [N/mm]\n0,0\n0.1,50\n")
    plain = points("0,0\n100,50")
    assert own.closure == pytest.approx(plain.closure) and own.load == pytest.approx(plain.load)


def test_a_branch_that_ends_above_no_load_goes_on_straight_to_it() -> None:
    zone = points("0,0\n100,50\n100,50,unloading\n90,30,unloading\n80,10,unloading")
    # 20 N/mm in 10 um; the last 10 N/mm go in 5 um more
    assert float(zone.recovery(1e-4)) == pytest.approx(25e-6, rel=1e-6)


def test_a_file_of_points_too_large_is_not_read(tmp_path: Path) -> None:
    large = tmp_path / "points.csv"
    large.write_text("closure [um],load [N/mm]\n" + "0,0\n" * 1_000_000, encoding="utf-8")
    with pytest.raises(InputError, match="points: got"):
        constructions.measured(large)
    many = "closure [um],load [N/mm]\n" + "1,1\n" * 100_000
    with pytest.raises(InputError, match="points: got"):
        constructions.measured(many)


# --------------------------------------------------------------------------- many builds
def test_one_pressure_for_many_builds_or_one_for_each() -> None:
    b = build.demo("boosted-four")
    torque = {"fasteners.torque": np.array([100.0, 110.0, 120.0])}
    case, _ = analysis.judged(analysis.with_numbers(b, torque), 9e6)
    each = margins.worse(margins.limits(case, np.full(3, 9e6)))
    for one, many in zip(margins.worse(margins.limits(case, 9e6)), each, strict=True):
        assert np.asarray(one.margin) == pytest.approx(np.asarray(many.margin), rel=1e-12)
    for place, value in enumerate(torque["fasteners.torque"]):
        single = report.run(b.vary({"fasteners.torque": f"{value} N*m"}))
        alone = margins.worse(margins.limits(single.case, 9e6))
        want = next(r for r in alone if r.key == "fastener").margin
        got = next(r for r in each if r.key == "fastener").margin
        # heat was judged at the sizing pressure there, which the fastener hardly feels below yield
        assert np.asarray(got)[place] == pytest.approx(want, rel=1e-6)
    with pytest.raises(InputError, match="one for each of 3 builds"):
        margins.limits(case, np.full(2, 9e6))


def test_volumes_can_vary_only_where_the_sheet_gives_them() -> None:
    volumes = {"chamber_volume": "52 cc", "deck_clearance": "0.3 mm", "piston_volume": "6 cc"}
    b = build.demo("boosted-four").vary({"engine.chamber": volumes})
    many = analysis.with_numbers(b, {"engine.chamber.chamber_volume": np.array([50e-6, 52e-6])})
    assert many.compression_ratio[0] > many.compression_ratio[1]  # type: ignore[index]
    assert many.compression_ratio[1] == pytest.approx(b.compression_ratio)  # type: ignore[index]
    assert analysis.moves_the_cycle(b, ["gasket.compressed_thickness"])
    assert not analysis.moves_the_cycle(build.demo("boosted-four"), ["gasket.compressed_thickness"])
