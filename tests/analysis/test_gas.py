"""The gas side of a build: what the crankshaft gives away."""

from __future__ import annotations

import pytest

from sealkit import build as builds
from sealkit import report
from sealkit.analysis import gas_side
from sealkit.units import show

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
