"""Gasket zones: curves, history, reading and its faults.

Data set: loading curve and three unloading curves of a graphite-composite gasket out of an open
finite-element input file (units not stated; read as psi and inch). Used for shape and history
only, not as the stiffness of a head gasket.
"""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sealkit import checks
from sealkit.errors import InputError
from sealkit.sealing import constructions
from sealkit.sealing.gaskets import Zone
from sealkit.tables import STATUSES
from sealkit.units import to_si
from tests.sheet_zones import read_zones

PSI = 6894.757293168361
THOU = 25.4e-6

GRAPHITE: dict[str, Any] = {
    "name": "graphite composite",
    "role": "body",
    "per": "area",
    "closure_unit": "thou",
    "load_unit": "psi",
    "closure": [0, 0.020, 0.040, 0.060, 0.078, 0.120, 0.190, 0.286, 0.358, 0.432, 0.505],
    "load": [0, 540, 1515, 2490, 3000, 3720, 4740, 5850, 6735, 7800, 8955],
    "unloading": [
        {"closure": [0.078, 0.0669, 0.0631, 0.0541, 0], "load": [3000, 247.5, 82.5, 15, 0]},
        {"closure": [0.286, 0.264, 0.261, 0.256, 0], "load": [5850, 223.5, 90, 15, 0]},
        {"closure": [0.505, 0.478, 0.475, 0.468, 0], "load": [8955, 339, 135, 15, 0]},
    ],
    "source": "open finite-element input file",
    "status": "published",
}
SEAL: dict[str, Any] = {
    "name": "ring",
    "role": "seal",
    "per": "length",
    "width": "1.2 mm",
    "closure_unit": "um",
    "load_unit": "N/mm",
    "closure": [0, 50, 100, 200],
    "load": [0, 20, 60, 200],
    "unloading": [
        {"closure": [100, 90, 80], "load": [60, 20, 0]},
        {"closure": [200, 180, 150], "load": [200, 50, 0]},
    ],
    "seating": 20.0,
    "factor": 2.0,
    "crush": 250.0,
}
ZONES = {
    f"{name}, {zone.name}": zone
    for name in constructions.names()
    for zone in constructions.make(name).zones
}


def graphite() -> Zone:
    zones, faults = read_zones([GRAPHITE, SEAL], "gasket.zones")
    assert not faults
    return zones[0]


ZONES["graphite composite"] = graphite()
# of full load: below its first start the path of the data set is drawn smaller; as it comes back
# to closure 0 and the loading curve bends upwards there, the small paths cross by a hair
CROSSING = dict.fromkeys(ZONES, 1e-9) | {"graphite composite": 1e-4}
each_zone = pytest.mark.parametrize("zone", ZONES.values(), ids=ZONES.keys())


def work(zone: Zone, start: float, end: float, top: float) -> float:
    """Work done on the zone from one closure to another, exact for straight-line paths."""
    x, y = zone.path(top)
    low, high = min(start, end), max(start, end)
    q = np.concatenate([[low], x[(x > low) & (x < high)], [high]])
    # past the last node the loading curve goes on
    f = np.where(q >= top, zone.loading(q), np.interp(q, x, y))
    return float(np.trapezoid(f, q)) * (1.0 if end > start else -1.0)


# --------------------------------------------------------------------------- the data set
@pytest.mark.parametrize(("id", "closure"), [("G1-load-100", 0.100), ("G1-load-400", 0.400)])
def test_loading_curve_of_the_data_set(id: str, closure: float) -> None:
    row = checks.row("joint", id)
    ours = float(graphite().loading(closure * THOU)) / PSI
    assert ours == pytest.approx(
        float(row.want().to("psi").magnitude), abs=float(row.tolerance.split()[0])
    )


def test_loading_goes_through_every_published_point() -> None:
    zone = graphite()
    assert zone.loading(np.array(GRAPHITE["closure"]) * THOU) / PSI == pytest.approx(
        np.array(GRAPHITE["load"])
    )


def test_unloading_goes_through_every_published_point() -> None:
    zone = graphite()
    for curve in GRAPHITE["unloading"]:
        c = np.array(curve["closure"]) * THOU
        assert zone.carried(c, c[0]) / PSI == pytest.approx(np.array(curve["load"]), abs=1e-6)


def test_recovery_of_the_data_set() -> None:
    zone = graphite()
    top = 0.505 * THOU
    x, y = zone.path(top)
    down = x <= top
    at = np.interp(0.04 * float(zone.loading(top)), y[down], x[down])
    want = checks.row("joint", "G1-recovery")
    assert (top - at) / THOU == pytest.approx(float(want.expected.split()[0]), abs=0.0005)
    assert (top - at) / top == pytest.approx(0.053, abs=0.0005)


def test_slopes_of_the_data_set() -> None:
    zone = graphite()
    top, step = 0.505 * THOU, 0.001 * THOU
    back = (zone.loading(top) - zone.carried(top - step, top)) / step
    on = (zone.loading(top) - zone.loading(top - step)) / step
    want = checks.row("joint", "G1-slopes")
    assert back / on == pytest.approx(float(want.expected), abs=0.05)


def test_work_of_the_data_set() -> None:
    zone = graphite()
    top = 0.505 * THOU
    spent = work(zone, 0.0, top, 0.0) / (PSI * THOU)
    returned = -work(zone, top, 0.0, top) / (PSI * THOU)
    assert spent == pytest.approx(float(checks.row("joint", "G1-work-in").expected), abs=0.05)
    assert returned == pytest.approx(float(checks.row("joint", "G1-work-out").expected), abs=0.05)
    assert 1.0 - returned / spent == pytest.approx(0.95, abs=0.005)


# --------------------------------------------------------------------------- history
def test_between_two_starts_the_path_lies_between_theirs() -> None:
    zone = graphite()
    load = 15.0 * PSI
    ends = []
    for start in (0.286, 0.3955, 0.505):  # the middle one is half-way
        x, y = zone.path(start * THOU)
        down = x <= start * THOU
        ends.append(np.interp(load, y[down], x[down]) / THOU)
    assert ends[0] == pytest.approx(0.256)
    assert ends[2] == pytest.approx(0.468)
    assert ends[1] == pytest.approx(0.5 * (ends[0] + ends[2]))


def test_below_the_first_start_the_first_path_is_drawn_smaller() -> None:
    zone = read_zones([SEAL], "z")[0][0]
    # half of closure 100 um; the path of 100 um is at 90 um with a third of the load at the top
    assert float(zone.loading(50e-6)) == pytest.approx(20e3)
    assert float(zone.carried(45e-6, 50e-6)) == pytest.approx(20e3 / 3.0)
    assert float(zone.recovery(50e-6)) == pytest.approx(10e-6)


def test_past_the_last_start_the_last_path_moves_along() -> None:
    zone = read_zones([SEAL], "z")[0][0]
    top = 220e-6  # 28 N/mm more on the last slope of 1.4 N/mm per um
    assert float(zone.loading(top)) == pytest.approx(228e3)
    # 28 N/mm come off with the first slope of the last path, 7.5 N/mm per um
    back = 28.0 / 7.5 * 1e-6
    assert float(zone.carried(top - back, top)) == pytest.approx(200e3)
    assert float(zone.carried(top - back - 20e-6, top)) == pytest.approx(50e3)
    assert float(zone.recovery(top)) == pytest.approx(50e-6 + back)
    assert float(zone.carried(230e-6, top)) == pytest.approx(float(zone.loading(230e-6)))


@each_zone
def test_reloading_follows_the_path_back_then_the_loading_curve(zone: Zone) -> None:
    for top in np.linspace(0.1, 1.0, 7) * zone.closure[-1]:
        down = np.linspace(top, 0.3 * top, 30)
        out = zone.carried(down, top)
        again = zone.carried(down[::-1], top)
        assert np.array_equal(out, again[::-1])
        on = np.linspace(top, 1.3 * zone.closure[-1], 30)
        assert zone.carried(on, top) == pytest.approx(zone.loading(on), rel=1e-9)


@each_zone
def test_no_tension(zone: Zone) -> None:
    top = 0.8 * zone.closure[-1]
    apart = np.array([-1e-3, -1e-6, 0.0])
    assert np.all(zone.carried(apart, top) == 0.0)
    end = top - zone.recovery(top)
    assert float(zone.carried(end, top)) == pytest.approx(0.0, abs=1e-9 * zone.load[-1])


def test_elastic_zone_comes_back_the_way_it_went() -> None:
    zone = read_zones([{k: v for k, v in SEAL.items() if k != "unloading"}], "z")[0][0]
    c = np.linspace(-50e-6, 200e-6, 50)
    assert zone.carried(c, 200e-6) == pytest.approx(zone.loading(c), abs=1e-9)
    assert float(zone.recovery(120e-6)) == 120e-6


def test_arrays_equal_single_values() -> None:
    zone = graphite()
    c = np.linspace(0, 0.6, 13)[:, None] * THOU
    top = np.linspace(0, 0.6, 7) * THOU
    many = zone.carried(c, top)
    assert many.shape == (13, 7)
    for i in range(13):
        for k in range(7):
            assert many[i, k] == pytest.approx(float(zone.carried(c[i, 0], top[k])), rel=1e-12)
    x, y = zone.path(top.reshape(7, 1))
    assert x.shape == y.shape == (7, 1, x.shape[-1])


@each_zone
def test_path_keeps_to_the_loading_curve_and_to_the_right_order(zone: Zone) -> None:
    tops = np.linspace(0.0, 1.25, 60) * zone.closure[-1]
    c = np.linspace(-0.05, 1.25, 400) * zone.closure[-1]
    load = zone.carried(c[None, :], tops[:, None])
    scale = zone.load[-1]
    assert np.all(load >= 0.0)
    assert np.all(load <= zone.loading(c) + 1e-9 * scale)
    assert np.all(np.diff(load, axis=1) >= -1e-9 * scale)
    # pressed further, it carries less at the same closure
    name = next(k for k, z in ZONES.items() if z is zone)
    assert np.all(np.diff(load, axis=0) <= CROSSING[name] * scale)
    x, y = zone.path(tops)
    assert np.all(np.diff(x, axis=1) >= 0.0)
    assert np.all(np.diff(y, axis=1) >= -1e-9 * scale)


@each_zone
def test_paths_of_many_builds_are_those_of_each(zone: Zone) -> None:
    """Of many no node is looked up that no path needs."""
    tops = np.linspace(0.0, 1.25, 30) * zone.closure[-1]
    x, y = zone.path(tops)
    for i, top in enumerate(tops):
        one, load = zone.path(top)
        assert np.interp(one, x[i], y[i]) == pytest.approx(load, abs=1e-9 * zone.load[-1])


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from(sorted(ZONES)),
    stops=st.lists(st.floats(0.0, 1.2), min_size=2, max_size=8),
    before=st.floats(0.0, 1.2),
)
def test_no_load_cycle_gives_work(name: str, stops: list[float], before: float) -> None:
    zone = ZONES[name]
    here = start = stops[0] * zone.closure[-1]
    top = max(start, before * zone.closure[-1])
    spent = 0.0
    for stop in [s * zone.closure[-1] for s in stops[1:]] + [start]:
        spent += work(zone, here, stop, top)
        here, top = stop, max(top, stop)
    assert spent >= -CROSSING[name] * zone.load[-1] * zone.closure[-1]


fraction = st.floats(0.02, 0.98)


@settings(max_examples=80, deadline=None)
@given(
    steps=st.lists(st.tuples(st.floats(1, 50), st.floats(0, 100)), min_size=1, max_size=6),
    curves=st.lists(st.tuples(fraction, fraction, fraction, fraction), min_size=1, max_size=3),
    top=st.floats(0.0, 1.5),
)
def test_any_zone_that_can_be_read(
    steps: list[tuple[float, float]], curves: list[tuple[float, float, float, float]], top: float
) -> None:
    closure = np.concatenate([[0.0], np.cumsum([s[0] for s in steps])])
    load = np.concatenate([[0.0], np.cumsum([s[1] for s in steps])])
    assume(load[-1] > 1.0)
    unloading = []
    for where, end, knee, drop in curves:
        start = where * closure[-1]
        first = float(np.interp(start, closure, load))
        mid = start * (end + (1 - end) * knee)
        unloading.append(
            {"closure": [start, mid, start * end], "load": [first, first * knee * drop, 0.0]}
        )
    raw = {
        "role": "seal",
        "per": "length",
        "closure_unit": "um",
        "load_unit": "N/mm",
        "closure": closure.tolist(),
        "load": load.tolist(),
        "unloading": unloading,
    }
    zones, faults = read_zones([raw], "z")
    assume(not faults)
    zone = zones[0]
    reached = top * zone.closure[-1]
    c = np.linspace(-0.1, 1.6, 300) * zone.closure[-1]
    out = zone.carried(c, reached)
    scale = float(zone.loading(1.6 * zone.closure[-1]))
    assert np.all(out >= 0.0)
    assert np.all(out <= zone.loading(c) + 1e-9 * scale)
    assert np.all(np.diff(out) >= -1e-9 * scale)
    lost = work(zone, 0.0, reached, 0.0) + work(zone, reached, 0.0, reached)
    assert lost >= -1e-9 * scale * zone.closure[-1]
    assert -1e-15 <= float(zone.recovery(reached)) <= reached * (1 + 1e-12)


# --------------------------------------------------------------------------- shipped constructions
def test_constructions_load_with_source_and_status() -> None:
    names = constructions.names()
    assert len(names) == 6
    for name in names:
        gasket = constructions.make(name)
        assert gasket.seals
        assert len({z.name for z in gasket.zones}) == len(gasket.zones)
        for zone in gasket.zones:
            assert zone.source
            assert zone.status in STATUSES
            if zone.factor:
                assert zone.width > 0.0
            assert zone.crush > zone.seating


def test_unknown_construction_suggests_the_nearest() -> None:
    with pytest.raises(InputError, match='did you mean "multi-layer steel"'):
        constructions.make("multi layer steel")


def test_sized_gives_each_role_its_extent() -> None:
    gasket = constructions.make("multi-layer steel").sized(0.27, 4e-3, 0.3)
    assert {z.role: z.extent for z in gasket.zones} == {"seal": 0.27, "body": 4e-3, "liquid": 0.3}
    assert [z.role for z in constructions.make("multi-layer steel").sized(0.27, 4e-3).zones] == [
        "seal",
        "body",
    ]
    assert [z.role for z in gasket.seals] == ["seal"]
    assert [z.role for z in gasket.others] == ["body", "liquid"]


def test_required_load() -> None:
    zone = read_zones([SEAL], "z")[0][0]
    assert float(zone.required(10e6)) == pytest.approx(2.0 * 10e6 * 1.2e-3)
    assert graphite().required(np.array([1e6, 2e6])) == pytest.approx(np.zeros(2))


# --------------------------------------------------------------------------- reading
def test_units_of_a_zone() -> None:
    zone = read_zones([SEAL], "z")[0][0]
    assert zone.closure == pytest.approx([0, 50e-6, 100e-6, 200e-6])
    assert zone.load == pytest.approx([0, 20e3, 60e3, 200e3])
    assert (zone.seating, zone.crush) == pytest.approx((20e3, 250e3))
    assert zone.width == pytest.approx(1.2e-3)
    inch = SEAL | {
        "closure_unit": "in",
        "load_unit": "lbf/in",
        "closure": [c * 1e-3 / 25.4 for c in SEAL["closure"]],
        "load": [f / to_si("1 lbf/in", "line load") * 1e3 for f in SEAL["load"]],
    }
    del inch["unloading"]
    again = read_zones([inch], "z")[0][0]
    assert again.closure == pytest.approx(zone.closure)
    assert again.load == pytest.approx(zone.load)


def changed(**new: Any) -> dict[str, Any]:
    raw = copy.deepcopy(SEAL)
    for key, value in new.items():
        if value is None:
            raw.pop(key)
        else:
            raw[key] = value
    return raw


def unloading(*points: tuple[list[float], list[float]]) -> list[dict[str, Any]]:
    return [{"closure": c, "load": f} for c, f in points]


BAD: dict[str, tuple[Any, str, str]] = {
    "unknown key": (changed(seatng=3.0), "z[1].seatng", 'did you mean "seating"'),
    "wrong closure unit": (changed(closure_unit="MPa"), "z[1].closure_unit", "a length"),
    "wrong load unit": (changed(load_unit="MPa"), "z[1].load_unit", "a line load"),
    "no unit": (changed(load_unit=None), "z[1].load_unit", "nothing"),
    "closure not rising": (changed(closure=[0, 50, 50, 200]), "z[1].closure", "rise"),
    "load falls": (changed(load=[0, 20, 15, 200]), "z[1].load", "falls"),
    "unequal lengths": (changed(load=[0, 20, 60]), "z[1].load", "4 points"),
    "start not at zero": (changed(load=[5, 20, 60, 200]), "z[1].closure", "start at 0, 0"),
    "one point": (changed(closure=[0]), "z[1].closure", "two or more"),
    "not a number": (
        changed(load=[0, 20, float("nan"), 200]),
        "z[1].load",
        "two or more numbers",
    ),
    "words for numbers": (changed(load="steep"), "z[1].load", "two or more numbers"),
    "no role": (changed(role=None), "z[1].role", 'one of "seal", "body", "liquid"'),
    "unknown role": (changed(role="ring"), "z[1].role", 'one of "seal", "body", "liquid"'),
    "unknown per": (changed(per="bore"), "z[1].per", 'one of "length", "area"'),
    "seal per area": (changed(per="area", load_unit="MPa"), "z[1].per", '"length" for a seal'),
    "unknown status": (changed(status="measured"), "z[1].status", "published"),
    "width without unit": (changed(width=1.2), "z[1].width", "a length"),
    "negative width": (changed(width="-1.2 mm"), "z[1].width", "not below 0"),
    "seating in words": (changed(seating="firm"), "z[1].seating", "number"),
    "seating list": (changed(seating=[1.0, 2.0]), "z[1].seating", "number"),
    "crush nan": (changed(crush=float("nan")), "z[1].crush", "not below 0"),
    "not a zone": ("ring", "z[1]", "a table"),
    "unloading a number": (changed(unloading=3), "z[1].unloading", "list"),
    "unloading a list of numbers": (
        changed(unloading=[3]),
        "z[1].unloading[1]",
        "closure and load",
    ),
    "unloading one point": (
        changed(unloading=unloading(([100], [60, 0]))),
        "z[1].unloading[1].closure",
        "two or more",
    ),
    "unloading unequal": (
        changed(unloading=unloading(([100, 80], [60, 10, 0]))),
        "z[1].unloading[1]",
        "as many",
    ),
    "unloading off the curve": (
        changed(unloading=unloading(([100, 80], [70, 0]))),
        "z[1].unloading[1]",
        "a start on the loading curve, 60",
    ),
    "unloading above the curve": (
        changed(unloading=unloading(([100, 60, 20], [60, 40, 0]))),
        "z[1].unloading[1]",
        "on or below the loading curve",
    ),
    "unloading not to zero": (
        changed(unloading=unloading(([100, 80], [60, 10]))),
        "z[1].unloading[1]",
        "down to load 0",
    ),
    "unloading turns back": (
        changed(unloading=unloading(([100, 80, 85], [60, 10, 0]))),
        "z[1].unloading[1]",
        "falling points",
    ),
    "unloading with a step": (
        changed(unloading=unloading(([100, 90, 85, 80], [60, 30, 30, 0]))),
        "z[1].unloading[1]",
        "falling points",
    ),
    "unloading past zero": (
        changed(unloading=unloading(([100, 50, -5], [60, 10, 0]))),
        "z[1].unloading[1]",
        "falling points",
    ),
    "same start twice": (
        changed(unloading=unloading(([100, 80], [60, 0]), ([100, 70], [60, 0]))),
        "z[1].unloading[2]",
        "a start of its own",
    ),
    "paths that cross": (
        changed(unloading=unloading(([100, 90], [60, 0]), ([200, 60], [200, 0]))),
        "z[1].unloading[2]",
        "crosses unloading[1]",
    ),
}


@pytest.mark.parametrize(("raw", "name", "words"), BAD.values(), ids=BAD.keys())
def test_one_fault_for_one_mistake(raw: Any, name: str, words: str) -> None:
    _, faults = read_zones([raw], "z")
    assert len(faults) == 1, [str(f) for f in faults]
    assert faults[0].field == name
    assert words in str(faults[0])


def test_a_gasket_needs_a_seal() -> None:
    _, faults = read_zones([GRAPHITE], "gasket.zones")
    assert [f.field for f in faults] == ["gasket.zones"]
    assert "seal" in str(faults[0])


@pytest.mark.parametrize("raw", [3, "ring", {"name": "ring"}])
def test_zones_have_to_be_a_list(raw: Any) -> None:
    _, faults = read_zones(raw, "gasket.zones")
    assert [f.field for f in faults] == ["gasket.zones"]


def test_two_zones_need_two_names() -> None:
    _, faults = read_zones([SEAL, SEAL], "z")
    assert [f.field for f in faults] == ["z[2].name"]


def test_every_fault_is_found_at_once() -> None:
    first = changed(seatng=3.0, closure_unit="MPa", width=1.2)
    second = changed(name="other", role=None, load=[0, 20, 60])
    _, faults = read_zones([first, second], "z")
    assert {f.field for f in faults} == {
        "z[1].seatng",
        "z[1].closure_unit",
        "z[1].width",
        "z[2].role",
        "z[2].load",
    }
