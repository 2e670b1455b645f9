"""The gas side of a build: what the crankshaft gives away."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from sealkit import build as builds
from sealkit import report
from sealkit.analysis import Gas, gas, gas_side, kept_cycle, mean_cycle
from sealkit.errors import InputError
from sealkit.units import KINDS, show

DRAG = builds.demo("methanol-drag")


def test_a_blower_on_the_crankshaft_takes_power_and_no_pressure() -> None:
    blown = gas_side(DRAG)
    by_exhaust = gas_side(DRAG.vary({"charge.compressor_drive": "exhaust turbine"}))
    assert blown.design_peak == by_exhaust.design_peak
    # first law on the air of all cylinders: m cp (T2 - T1)
    air = float(blown.charge.air_mass) * 8 * DRAG.engine.speed / 2
    ratio = (blown.ambient + DRAG.charge.boost) / blown.ambient
    rise = DRAG.charge.ambient_temperature * (ratio ** (0.4 / 1.4) - 1) / 0.68
    assert blown.drive_power == pytest.approx(by_exhaust.brake_power - blown.brake_power)
    assert by_exhaust.drive_power == 0.0
    assert blown.drive_power == pytest.approx(air * 1005 * rise, rel=2e-3)


def test_more_boost_costs_more_of_the_power() -> None:
    def lost(boost: str) -> float:
        one = DRAG.vary({"charge.boost": boost})
        free = one.vary({"charge.compressor_drive": "exhaust turbine"})
        return 1.0 - gas_side(one).brake_power / gas_side(free).brake_power

    assert lost("0 psi") == 0.0 < lost("15 psi") < lost("35 psi") < 0.3


def test_what_drives_the_compressor_is_told() -> None:
    def told(changes: dict[str, str]) -> str:
        notes = report.run(DRAG.vary(changes)).warnings
        return " ".join(n.text() for n in notes)

    lost = show(gas_side(DRAG).drive_power, "power")
    assert f"The compressor takes {lost} off the crankshaft" in told({})
    by_exhaust = told({"charge.compressor_drive": "exhaust turbine"})
    assert "A turbine drives the compressor" in by_exhaust and "crankshaft" not in by_exhaust
    assert "compressor" not in told({"charge.boost": "0 psi"})


@pytest.mark.parametrize(("walls", "speed"), [("Hohenberg", "50 rpm"), ("Woschni", "60 rpm")])
def test_walls_that_leave_no_cycle_name_the_speed(walls: str, speed: str) -> None:
    slow = builds.demo("boosted-four").vary({"engine.speed": speed, "burn.heat_transfer": walls})
    with pytest.raises(InputError, match="a faster one") as err:
        mean_cycle(slow)
    assert [f.field for f in err.value.faults] == ["engine.speed"]
    assert mean_cycle(slow.vary({"burn.heat_transfer": "none"})).cycle.peak_pressure > 0


NUMBERS = ("design_peak", "rare_peak", "brake_power", "brake_torque", "drive_power", "ambient",
           "knock_integral", "volumetric_efficiency", "wall_share", "ca50")  # fmt: skip


def moved_a_little(build: builds.Build) -> Iterator[tuple[str, builds.Build]]:
    """Each number of the sheet, and the sheet with that a little up or down."""
    for path, spec in builds.fields():
        value = build._held(path)
        if spec.kind not in KINDS or not isinstance(value, float):
            continue
        low, high = spec.limits
        other = 1.004 * value or 1e-3 * min(high, 1.0)
        yield path, build.vary_si({path: other if low <= other <= high else 0.996 * value})


@pytest.mark.parametrize("name", ["na-iron-v8", "methanol-drag"])
def test_what_is_kept_of_the_gas_goes_by_every_field_it_depends_on(name: str) -> None:
    """Each number of the sheet a little up or down: kept and worked out afresh alike."""
    build, changed = builds.demo(name), []
    first = gas_side(build)

    def told(one: Gas) -> list[float]:
        return [float(getattr(one, k)) for k in NUMBERS] + [float(one.bound.peak_pressure)]

    for path, one in moved_a_little(build):
        kept, cycle = gas_side(one), kept_cycle(one).cycle
        assert cycle.peak_pressure == mean_cycle(one).cycle.peak_pressure, path
        gas._kept_gas.cache_clear()
        gas._kept_cycle.cache_clear()
        assert told(gas_side(one)) == told(kept), path
        changed += [path] if told(kept) != told(first) else []
    assert {"engine.bore", "engine.speed", "charge.residual_fraction"} <= set(changed)
    assert ("gasket.compressed_thickness" in changed) == (build.engine.chamber is not None)
    assert not any(path.startswith(("fasteners", "head", "liquids", "heat")) for path in changed)
    assert gas_side(build.vary({"fasteners.preload_factor": 0.9})) is gas_side(build)


def test_single_cycles_are_near_to_cycles_of_their_own() -> None:
    """Drawn on parabolas: worked out one by one they are the same within 0.2 % of the peak."""
    spread = {"burn.ca50_variation": "2 deg", "burn.duration_variation": 0.06}
    four = builds.demo("boosted-four").vary(spread)
    turn, pressure = gas.single_cycles(four, gas_side(four))
    for i, (later, longer) in enumerate([(-1.2816, -0.5244), (-0.5244, 1.2816), (0.0, 0.0)]):
        burn = four.burn
        own = {"burn.ca50": burn.ca50 + later * burn.ca50_variation}
        own["burn.duration"] = burn.duration * (1.0 + longer * burn.duration_variation)
        one = mean_cycle(four.vary_si(own)).cycle
        there = np.interp(turn, one.crank_angle, one.pressure)
        drawn = np.abs(np.degrees(turn) - 30.0) <= 60.0
        assert pressure[i][drawn] == pytest.approx(there[drawn], abs=2e-3 * one.peak_pressure)
