"""Pressure over the cycle: against tight ODE solutions, two-zone and constant-volume references."""

import tracemalloc
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, Q, checks
from sealkit import build as sheets
from sealkit.analysis import gas_side
from sealkit.pressure import burn, charge, cycle, evaporation, fuels, gas, geometry, grid, wall_heat
from sealkit.pressure.bound import UpperBound, upper_bound
from sealkit.pressure.grid import peak_of
from tests import cycle_ode
from tests.charges import charge_at
from tests.validation import annand

SIZE = {"bore": 0.086, "stroke": 0.086, "rod": 0.143}
BURN = {"burn_start": float(np.radians(-20.0)), "burn_duration": float(np.radians(60.0))}
ENGINE = {**SIZE, **BURN, "compression_ratio": 9.5, "crank_speed": 50.0}
# asked of the solver: agreement with a tight ODE solution
ODE_AGREEMENT = 2e-5
# asked of the closure: first law over the fuel energy
ENERGY = 1e-4


def at_bdc(
    fuel: str,
    pressure: float,
    temperature: float,
    ratio: float,
    phi: float = 1.0,
    evaporated: float = 1.0,
    residual: float = 0.0,
) -> charge.Charge:
    m = fuels.mixture.si(fuel, phi, evaporated_share=evaporated)
    v = geometry.cylinder_volume.si(np.pi, 0.086, 0.086, 0.143, ratio)
    return charge_at(m, pressure, temperature, v, residual)


def from_row(row: checks.Check) -> tuple[charge.Charge, float]:
    a = row.arguments()
    ratio = float(a["compression_ratio"])
    return (
        at_bdc(
            a["fuel"],
            float(Q(a["pressure"]).to("Pa").magnitude),
            float(Q(a["temperature"]).to("K").magnitude),
            ratio,
            float(a.get("equivalence_ratio", 1.0)),
            float(a.get("evaporated_share", 1.0)),
            float(a.get("residual_fraction", 0.0)),
        ),
        ratio,
    )


def within(row: checks.Check, ours: float, unit: str) -> None:
    want = float(row.want().to(unit).magnitude)
    if "%" in row.tolerance:
        assert ours == pytest.approx(want, rel=float(row.tolerance.split()[0]) / 100.0)
    else:
        assert ours == pytest.approx(want, abs=float(Q(row.tolerance).to(unit).magnitude))


@cache
def two_zone(inputs: str) -> cycle.Cycle:
    row = next(r for r in checks.load("two-zone") if r.inputs == inputs)
    c, ratio = from_row(row)
    return cycle.cycle.si(c, **{**ENGINE, "compression_ratio": ratio}, wall_heat="none")


@pytest.mark.parametrize("row", checks.load("two-zone"), ids=lambda r: r.id)
def test_two_zone_reference(row: checks.Check) -> None:
    """Peak within 3 %, angle within 1.5 deg: nothing in the model knows the fuel by name."""
    r = two_zone(row.inputs)
    ours, unit = {
        "peak": (r.peak_pressure, "Pa"),
        "angle": (r.peak_angle, "radian"),
        "imep": (r.imep, "Pa"),
        "end": (r.pressure[-1], "Pa"),
    }[row.output]
    within(row, float(ours), unit)


@cache
def bound(inputs: str) -> UpperBound:
    row = next(r for r in checks.load("constant-volume") if r.inputs == inputs)
    c, ratio = from_row(row)
    return upper_bound.si(c, **SIZE, compression_ratio=ratio)


@pytest.mark.parametrize(
    "row", [r for r in checks.load("constant-volume") if r.inputs], ids=lambda r: r.id
)
def test_constant_volume_reference(row: checks.Check) -> None:
    b = bound(row.inputs)
    ours, unit = {
        "peak": (b.peak_pressure, "Pa"),
        "t2": (b.compression_temperature, "K"),
        "p2": (b.compression_pressure, "Pa"),
        "t3": (b.peak_temperature, "K"),
        "p4": (b.pressure[-1], "Pa"),
    }[row.output]
    within(row, float(ours), unit)


# --------------------------------------------------------------------------- numerics
def ode_engine(loss: bool, **more: float) -> dict[str, float]:
    e = {**ENGINE, "p1": 2e5, "t1": 330.0, "exponent": 0.53, "wall_temperature": 450.0}
    return {**e, "loss": float(loss), **more}


@pytest.mark.parametrize("loss", [False, True])
@pytest.mark.parametrize(
    "fuel, phi, evaporated, released",
    [("gasoline", 1.15, 1.0, 1.0), ("methanol", 1.6, 0.3, 0.95), ("nitromethane", 1.7, 0.1, 0.9)],
)
def test_agrees_with_a_tight_ode_solution(
    loss: bool, fuel: str, phi: float, evaporated: float, released: float
) -> None:
    c = at_bdc(fuel, 2e5, 330.0, 9.5, phi, evaporated)
    kind = "Woschni" if loss else "none"
    ours = cycle.cycle.si(c, **ENGINE, wall_heat=kind, released_share=released)
    prepared = gas.prepare(c.mixture, 0.0)
    _, p = cycle_ode.real(
        prepared, ode_engine(loss, released_share=released), rtol=1e-9, method="RK45"
    )
    peak = peak_of(ours.crank_angle, p[None])[0][0]
    assert ours.peak_pressure == pytest.approx(peak, rel=ODE_AGREEMENT)
    assert np.max(np.abs(ours.pressure / p - 1.0)) < ODE_AGREEMENT


def test_grid_hardly_matters() -> None:
    c = at_bdc("E85", 2e5, 330.0, 9.5, 1.1, 0.5, 0.05)
    peaks = [
        cycle.cycle.si(c, **ENGINE, step=float(np.radians(s))).peak_pressure
        for s in (0.25, 0.5, 1.0)
    ]
    assert peaks[1] == pytest.approx(peaks[0], rel=1e-5)
    assert peaks[2] == pytest.approx(peaks[0], rel=1e-4)


def test_motored_cycle_is_isentropic_and_comes_back() -> None:
    c = at_bdc("gasoline", 1e5, 320.0, 9.5)
    r = cycle.cycle.si(c, **ENGINE, released_share=0.0, wall_heat="none")
    assert r.pressure[-1] == pytest.approx(r.pressure[0], rel=1e-6)
    assert r.peak_angle == pytest.approx(0.0, abs=1e-6)
    b = upper_bound.si(c, **SIZE, compression_ratio=9.5)
    assert r.peak_pressure == pytest.approx(b.compression_pressure, rel=1e-5)
    assert np.all(np.isnan(r.burnt_temperature))


# --------------------------------------------------------------------------- physics
@settings(max_examples=40, deadline=None)
@given(
    fuel=st.sampled_from(["gasoline", "E85", "ethanol", "methanol", "nitromethane"]),
    phi=st.floats(0.7, 1.9),
    p=st.floats(0.6e5, 4e5),
    t=st.floats(290.0, 400.0),
    ratio=st.floats(6.5, 13.0),
    half=st.floats(0.0, 40.0),
    duration=st.floats(12.0, 60.0),
    evaporated=st.floats(0.0, 1.0),
    residual=st.floats(0.0, 0.15),
    released=st.floats(0.7, 1.0),
    later=st.floats(0.0, 1.0),
    wall=st.sampled_from(wall_heat.WALL_HEAT),
)
def test_never_above_the_bound_and_energy_closes(
    fuel: str,
    phi: float,
    p: float,
    t: float,
    ratio: float,
    half: float,
    duration: float,
    evaporated: float,
    residual: float,
    released: float,
    later: float,
    wall: str,
) -> None:
    """For burns centred at or after top dead centre."""
    c = at_bdc(fuel, p, t, ratio, phi, evaporated, residual)
    start, whole = burn.burn_timing.si(np.radians(half), np.radians(duration))
    engine = {**SIZE, "compression_ratio": ratio}
    r = cycle.cycle.si(
        c,
        **engine,
        crank_speed=80.0,
        burn_start=start,
        burn_duration=whole,
        released_share=released,
        evaporated=later,
        wall_heat=wall,
    )
    b = upper_bound.si(c, **engine)
    assert r.peak_pressure <= b.peak_pressure
    assert r.energy_residual < ENERGY
    assert np.all(r.pressure > 0.0)
    assert np.all(r.unburnt_temperature > 200.0)


@settings(max_examples=30, deadline=None)
@given(
    fuel=st.sampled_from(["gasoline", "E85", "methanol", "nitromethane"]),
    boost=st.floats(0.0, 2e5),
    more=st.floats(2e3, 1e5),
    half=st.floats(0.0, 25.0),
    cooler=st.floats(0.0, 1.0),
    wall=st.sampled_from(wall_heat.WALL_HEAT),
)
def test_more_boost_never_lowers_the_peak(
    fuel: str, boost: float, more: float, half: float, cooler: float, wall: str
) -> None:
    m = fuels.mixture.si(fuel, 1.1, evaporated_share=0.4)
    c = charge.charge.si(
        m,
        0.086,
        0.086,
        9.0,
        boost=np.array([boost, boost + more]),
        intercooler_effectiveness=cooler,
    )
    start, whole = burn.burn_timing.si(np.radians(half), np.radians(28.0))
    r = cycle.cycle.si(
        c,
        **SIZE,
        compression_ratio=9.0,
        crank_speed=100.0,
        burn_start=start,
        burn_duration=whole,
        wall_heat=wall,
    )
    assert r.peak_pressure[1] > r.peak_pressure[0]


def test_fast_burn_at_top_dead_centre_approaches_the_bound() -> None:
    c = at_bdc("gasoline", 2e5, 330.0, 9.5)
    engine = {**ENGINE, "wall_heat": "none", "step": float(np.radians(0.1))}
    b = upper_bound.si(c, **SIZE, compression_ratio=9.5).peak_pressure
    gaps = []
    for degrees in (16.0, 4.0):
        engine.update(
            burn_start=float(np.radians(-0.5 * degrees)),
            burn_duration=float(np.radians(degrees)),
        )
        gaps.append(1.0 - cycle.cycle.si(c, **engine, wiebe_a=9.0).peak_pressure / b)
    assert 0.0 < gaps[1] < gaps[0]
    # two zones end up a little below one well mixed zone
    assert gaps[1] < 0.02


@pytest.mark.parametrize(
    "name",
    [
        "8.13a-cantera",
        "8.11a-cantera",
        "8.9-cantera",
        "8c-liquid-iso-octane-1-a-cantera",
        "8c-liquid-ethanol-1-a-cantera",
        "8c-liquid-methanol-1-a-cantera",
        "8c-liquid-nitromethane-1-a-cantera",
    ],
)
def test_burn_in_an_instant_without_loss_reaches_the_constant_volume_rows(name: str) -> None:
    """Iso-octane, ethanol, methanol and nitromethane, burnt within half a degree at the top."""
    row = checks.row("constant-volume", name)
    c, ratio = from_row(row)
    engine = {**ENGINE, "compression_ratio": ratio, "wall_heat": "none"}
    engine.update(burn_start=float(np.radians(-0.25)), burn_duration=float(np.radians(0.5)))
    r = cycle.cycle.si(c, **engine, wiebe_a=9.0, step=float(np.radians(0.025)))
    want = float(row.want().to("Pa").magnitude)
    assert r.peak_pressure / want == pytest.approx(1.0, abs=0.05)
    assert r.peak_pressure / want == pytest.approx(1.0, abs=0.01), "well within the 5 % asked"


@pytest.mark.parametrize("degrees", [0.25, 0.5, 1.0, 2.0, 5.0, 8.0])
@pytest.mark.parametrize("shift", [0.0, 0.13, 0.25, 0.37])
def test_short_burn_is_right_or_refused(degrees: float, shift: float) -> None:
    """Never above the constant-volume limit, wherever the burn lies between two grid angles."""
    c = at_bdc("gasoline", 2e5, 330.0, 9.5)
    b = upper_bound.si(c, **SIZE, compression_ratio=9.5).peak_pressure
    engine = {**ENGINE, "wall_heat": "none", "burn_duration": float(np.radians(degrees))}
    engine["burn_start"] = float(np.radians(shift - 0.5 * degrees))
    fine = cycle.cycle.si(
        c, **engine, step=float(np.radians(max(0.02, degrees / 40.0)))
    ).peak_pressure
    assert fine <= b * (1.0 + 1e-5)
    if degrees < 4.0:
        with pytest.raises(InputError, match="smaller step"):
            cycle.cycle.si(c, **engine)
    else:
        assert cycle.cycle.si(c, **engine).peak_pressure == pytest.approx(fine, rel=1e-3)


def test_burn_that_runs_past_the_closed_part_is_refused() -> None:
    c = at_bdc("gasoline", 2e5, 330.0, 9.5)
    late = {**ENGINE, "burn_duration": float(np.radians(210.0))}
    with pytest.raises(InputError, match="bottom dead centre"):
        cycle.cycle.si(c, **late)


def test_unburnt_gas_outside_its_table_is_refused() -> None:
    with pytest.raises(InputError, match="unburnt gas at"):
        cycle.cycle.si(
            at_bdc("methane", 2e5, 1200.0, 22.0), **{**ENGINE, "compression_ratio": 22.0}
        )


def test_one_mean_temperature_would_miss_the_reference() -> None:
    """The reason for two temperatures: the limit of 3 % is missed with one, same gas, same burn."""
    row = checks.row("two-zone", "8.16-peak")
    c, ratio = from_row(row)
    r = two_zone(row.inputs)
    p = cycle_ode.one_zone(gas.prepare(c.mixture, 0.0), ode_engine(False, compression_ratio=ratio))
    want = float(row.want().to("Pa").magnitude)
    assert p.max() / want - 1.0 > 0.03
    assert abs(r.peak_pressure / want - 1.0) < 0.001
    k = 2 * 192  # 12 degrees after top dead centre
    assert r.burnt_temperature[k] > r.temperature[k] + 150.0 > r.unburnt_temperature[k] + 300.0


def test_wall_heat_and_released_share_lower_the_peak() -> None:
    c = at_bdc("gasoline", 2e5, 330.0, 9.5, 1.0, 1.0, 0.04)
    free = cycle.cycle.si(c, **ENGINE, wall_heat="none")
    for kind in ("Woschni", "Hohenberg"):
        r = cycle.cycle.si(c, **ENGINE, wall_heat=kind)
        assert 0.05 < r.wall_heat[-1] / r.fuel_energy < 0.2
        assert 0.96 < r.peak_pressure / free.peak_pressure < 1.0
        hot = cycle.cycle.si(c, **ENGINE, wall_heat=kind, wall_temperature=550.0)
        assert hot.wall_heat[-1] < r.wall_heat[-1]
    part = cycle.cycle.si(c, **ENGINE, wall_heat="none", released_share=0.95)
    assert part.peak_pressure < free.peak_pressure
    assert part.mass_fraction_burned[-1] < 0.95 + 1e-12


@pytest.mark.reference
@pytest.mark.parametrize("share", [0.0, 0.3])
def test_evaporation_while_compressed_against_cantera(share: float) -> None:
    """First law of air, vapour and liquid methanol, integrated with Cantera's enthalpies."""
    ct = pytest.importorskip("cantera")
    solve_ivp = pytest.importorskip("scipy.integrate").solve_ivp
    library = {s.name: s.thermo for s in ct.Species.list_from_file("nasa_gas.yaml")}
    air, fuel, r = ("O2", "N2"), library["CH3OH"], 8314.462618
    c = at_bdc("methanol", 2e5, 420.0, 9.5, 1.0, share)
    ours = cycle.cycle.si(c, **ENGINE, released_share=0.0, evaporated=1.0, wall_heat="none")
    assert ours.evaporated == 1.0
    o2 = c.air_mass / (31.998 + 3.76 * 28.014)
    n_air, n_fuel = {"O2": o2, "N2": 3.76 * o2}, c.fuel_mass / 32.042
    liquid = fuel.h(298.15) - 1176.6e3 * 32.042
    whole = BURN["burn_start"] + np.pi

    def vapour(theta: float) -> float:
        z = min((theta + np.pi) / whole, 1.0)
        return float(1.0 - (1.0 - share) * 0.5 * (1.0 + np.cos(np.pi * z * z)))

    def volume(theta: float) -> float:
        return float(geometry.cylinder_volume.si(theta, 0.086, 0.086, 0.143, 9.5))

    def energy(t: float, f: float) -> float:
        gas_part = sum(n_air[k] * (library[k].h(t) - r * t) for k in air)
        return gas_part + n_fuel * (f * (fuel.h(t) - r * t) + (1.0 - f) * liquid)

    def rate(theta: float, y: list[float]) -> list[float]:
        t, f, d = y[0], vapour(theta), 1e-4
        n = sum(n_air.values()) + f * n_fuel
        p = n * r * t / volume(theta)
        work = -p * (volume(theta + d) - volume(theta - d)) / (2.0 * d)
        fall = (vapour(theta + d) - vapour(theta - d)) / (2.0 * d)
        by_share = (energy(t, f + 1e-3) - energy(t, f - 1e-3)) / 2e-3
        return [(work - by_share * fall) / (energy(t + 0.5, f) - energy(t - 0.5, f))]

    at = np.radians([-120.0, -60.0, -30.0, -20.0, -5.0])
    s = solve_ivp(rate, (-np.pi, at[-1]), [420.0], rtol=1e-8, atol=1e-6, t_eval=at, max_step=0.05)
    for theta, t in zip(s.t, s.y[0], strict=True):
        k = int(np.argmin(np.abs(ours.crank_angle - theta)))
        n = sum(n_air.values()) + vapour(theta) * n_fuel
        assert ours.unburnt_temperature[k] == pytest.approx(t, abs=0.5)
        assert ours.pressure[k] == pytest.approx(n * r * t / volume(theta), rel=1e-3)


@pytest.mark.parametrize(
    "fuel, phi, p",
    [("nitromethane", 1.0, 0.6e5), ("nitromethane", 1.9, 4e5), ("methanol", 1.0, 2e5)],
)
def test_no_more_evaporates_than_the_compressed_gas_can_hold(
    fuel: str, phi: float, p: float
) -> None:
    """With the pressure and temperature of the cycle itself as the burn starts."""
    c = at_bdc(fuel, p, 300.0, 7.0, phi, 0.0)
    r = cycle.cycle.si(c, **{**ENGINE, "compression_ratio": 7.0}, evaporated=1.0)
    g = gas.prepare(c.mixture, 0.0)
    k = int(np.argmin(np.abs(r.crank_angle - BURN["burn_start"])))
    vapour = r.evaporated * g.vapour_moles
    held = evaporation.saturation(vapour)(r.unburnt_temperature[k : k + 1])[0]
    part = r.pressure[k] * vapour.sum() / (vapour.sum() + g.unburnt_moles.sum())
    assert 0.1 < r.evaporated < 1.0
    assert 0.4 * held < part <= held


def test_evaporation_before_the_burn_cools_the_end_gas() -> None:
    c = at_bdc("gasoline", 2e5, 330.0, 9.5, 1.1, 0.4, 0.04)
    runs = [cycle.cycle.si(c, **ENGINE, evaporated=e) for e in (0.0, 0.5, 1.0)]
    hottest = [float(np.max(r.unburnt_temperature)) for r in runs]
    assert hottest[0] > hottest[1] + 10.0 > hottest[2] + 20.0
    assert runs[0].peak_pressure > runs[2].peak_pressure > 0.97 * runs[0].peak_pressure
    assert all(r.energy_residual < ENERGY for r in runs)
    assert runs[0].mass == pytest.approx(runs[2].mass, rel=1e-12)
    # the core is hotter than the mean where walls or the spray cool, and is it without
    cold = cycle.cycle.si(c, **ENGINE, evaporated=1.0, wall_temperature=300.0)
    k = int(np.searchsorted(cold.mass_fraction_burned, 0.9))
    assert np.all(cold.core_temperature[1 : k + 1] > cold.unburnt_temperature[1 : k + 1])
    assert cold.core_temperature[k] > cold.unburnt_temperature[k] + 15.0
    free = cycle.cycle.si(c, **ENGINE, evaporated=0.0, wall_heat="none")
    assert free.core_temperature == pytest.approx(free.unburnt_temperature, abs=1e-3)
    # as hot as the textbook's polytropic compression of air and petrol vapour, 1.30 to 1.35
    rise = np.log(cold.core_temperature[k] / c.temperature) / np.log(cold.pressure[k] / c.pressure)
    assert 0.3 / 1.3 < rise < 0.35 / 1.35


@pytest.mark.reference
def test_annand_against_the_formula_in_its_own_numbers() -> None:
    """Density and viscosity of air by CoolProp; conductivity as the correlation takes it."""
    props = pytest.importorskip("CoolProp.CoolProp")
    for t, p in ((600.0, 10e5), (1000.0, 30e5), (1500.0, 40e5)):
        air = {k: props.PropsSI(k, "T", t, "P", p, "Air") for k in ("D", "V")}
        ratio = 1.338 - 6.0e-5 * t + 1.0e-8 * t * t
        conductivity = 287.0 * ratio / (ratio - 1.0) * air["V"] / 0.7
        book = annand.annand_heat_transfer.si(
            0.086, air["D"], 15.0, air["V"], conductivity, t, 450.0, radiation=0.0
        )
        ours = wall_heat.annand_heat_transfer.si(0.086, p, t, 15.0)
        assert ours == pytest.approx(book, rel=0.02)


def test_wall_heat_of_a_full_load_road_engine_is_in_the_published_range() -> None:
    """10 to 14 % of the fuel's heat in the closed part at full load and middle speeds."""
    build = sheets.demo("na-iron-v8")
    shares = [
        gas_side(build.vary({"engine.speed": f"{n} rpm"})).wall_share for n in (2500, 4500, 6000)
    ]
    assert shares == sorted(shares, reverse=True)
    assert 0.10 < shares[1] < 0.14
    more = gas_side(build.vary({"burn.wall_coefficient": 0.8}))
    assert more.wall_share > 1.4 * shares[1]
    assert more.mean_peak < gas_side(build).mean_peak


@pytest.mark.parametrize("name", ["boosted-four", "boosted-six", "methanol-drag"])
def test_a_boosted_engine_that_burns_all_its_fuel_is_in_that_range_too(name: str) -> None:
    """Rich, part of the fuel's heat is never set free, and the share of it all is smaller."""
    build = sheets.demo(name)
    whole = build.vary_si({"fuel.equivalence_ratio": 1.0})
    assert gas_side(build).wall_share < 0.10 < gas_side(whole).wall_share < 0.14


def test_more_wall_heat_moves_the_best_timing_later() -> None:
    build = sheets.demo("na-iron-v8")
    angles = np.arange(0.0, 14.0, 0.5)

    def best(**more: object) -> float:
        fields = {f"burn.{k}": v for k, v in more.items()}
        made = [
            gas_side(build.vary({**fields, "burn.ca50": f"{a} deg"})).brake_torque for a in angles
        ]
        return float(angles[int(np.argmax(made))])

    none, usual, much = (
        best(heat_transfer="none"),
        best(),
        best(wall_coefficient=0.8),
    )
    assert none < usual < much < 10.0


@pytest.mark.parametrize(
    "demo, changes",
    [
        ("na-iron-v8", {"engine.compression_ratio": 12.5}),
        ("boosted-four", {"engine.compression_ratio": 9.0, "charge.boost": "1 bar"}),
    ],
)
def test_pump_petrol_at_its_best_timing_knocks(demo: str, changes: dict[str, object]) -> None:
    """Above 12 to 1 unboosted, or at 9 to 1 with 1 bar (common practice, no source)."""
    early = {**changes, "burn.ca50": "9 deg"}
    build = sheets.demo(demo)
    assert gas_side(build.vary(early)).knock_integral > 1.0
    calmer = gas_side(build.vary({**early, "burn.ca50": "18 deg"}))
    assert calmer.knock_integral < gas_side(build.vary(early)).knock_integral


def test_upper_bound_trace() -> None:
    c = at_bdc("E85", 2e5, 330.0, 9.5)
    b = upper_bound.si(c, **SIZE, compression_ratio=9.5)
    assert b.pressure.shape == b.crank_angle.shape == b.volume.shape
    assert b.pressure.max() == pytest.approx(b.peak_pressure, rel=1e-6)
    assert b.pressure[0] == pytest.approx(2e5, rel=1e-6)
    assert np.all(np.diff(b.pressure[len(b.pressure) // 2 :]) < 0.0)


# --------------------------------------------------------------------------- doors
def test_many_builds_equal_single_ones() -> None:
    n = 70  # more than one chunk
    rng = np.random.default_rng(3)
    phi = rng.uniform(0.9, 1.4, n)
    m = fuels.mixture.si("gasoline", phi, ethanol_share=rng.uniform(0.0, 1.0, n))
    v = geometry.cylinder_volume.si(np.pi, 0.086, 0.086, 0.143, 9.5)
    p = rng.uniform(1e5, 3e5, n)
    many = charge_at(m, p, 330.0, v, 0.03)
    start = np.radians(rng.uniform(-30.0, -10.0, n))
    engine = {k: x for k, x in ENGINE.items() if k != "burn_start"}
    r = cycle.cycle.si(many, **engine, burn_start=start)
    assert r.pressure.shape == (n, 721)
    for k in (0, 31, 32, 69):
        mk = fuels.mixture.si("gasoline", phi[k])
        one = charge_at(
            fuels.Mixture(
                **{
                    **mk.__dict__,
                    "share": m.share[k],
                    "lower_heating_value": m.lower_heating_value[k],
                    "air_fuel_ratio": m.air_fuel_ratio[k],
                }
            ),
            p[k],
            330.0,
            v,
            0.03,
        )
        s = cycle.cycle.si(one, **engine, burn_start=start[k])
        assert isinstance(s.peak_pressure, float)
        assert r.peak_pressure[k] == pytest.approx(s.peak_pressure, rel=3e-6)
        assert r.fuel_energy[k] == pytest.approx(s.fuel_energy, rel=1e-9)
    b = upper_bound.si(many, **SIZE, compression_ratio=9.5)
    assert b.peak_pressure.shape == (n,)
    assert np.all(b.peak_pressure > r.peak_pressure)


def test_shapes_broadcast() -> None:
    c = at_bdc("gasoline", 2e5, 330.0, 9.5)
    engine = {**ENGINE, "crank_speed": np.array([[50.0], [100.0]])}
    engine["burn_duration"] = np.radians([50.0, 60.0, 70.0])
    r = cycle.cycle.si(c, **engine)
    assert r.peak_pressure.shape == (2, 3)
    assert r.pressure.shape == (2, 3, 721)
    assert np.all(np.diff(r.peak_pressure, axis=1) < 0.0)
    with pytest.raises(InputError, match="shapes"):
        cycle.cycle.si(c, **{**engine, "crank_speed": np.array([50.0, 100.0])})


def test_a_thousand_builds_in_little_memory() -> None:
    n = 1000
    v = geometry.cylinder_volume.si(np.pi, 0.086, 0.086, 0.143, 9.5)
    m = fuels.mixture.si("gasoline", np.linspace(0.9, 1.4, n))
    many = charge_at(m, np.linspace(1e5, 3e5, n), 330.0, v)
    tracemalloc.start()
    cycle.cycle.si(many, **ENGINE)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 400e6


def test_units_at_the_door() -> None:
    m = fuels.mixture("E85", 1.15, ethanol_share="75 %", evaporated_share="40 %")
    c = charge.charge(m, "86 mm", "86 mm", 9.5, boost="15 psig", intercooler_effectiveness=0.7)
    start, duration = burn.burn_timing("8 deg", "25 deg")
    words = {"rod": "143 mm", "compression_ratio": 9.5, "crank_speed": "6500 rpm"}
    timing = {"burn_start": start, "burn_duration": duration}
    r = cycle.cycle(c, "86 mm", "86 mm", **words, **timing, wall_temperature="350 degF")
    inch = cycle.cycle(
        c,
        Q(86 / 25.4, "in"),
        Q(86 / 25.4, "in"),
        **{**words, "rod": Q(143 / 25.4, "in")},
        **timing,
        wall_temperature="350 degF",
    )
    assert r.peak_pressure.check("[pressure]")
    assert r.peak_pressure.to("psi").magnitude == pytest.approx(
        inch.peak_pressure.to("psi").magnitude, rel=1e-9
    )
    assert 60.0 < r.peak_pressure.to("bar").magnitude < 130.0
    assert upper_bound(c, "86 mm", "86 mm", "143 mm", 9.5).peak_pressure > r.peak_pressure


def test_faults_are_named() -> None:
    c = at_bdc("gasoline", 2e5, 330.0, 9.5)
    with pytest.raises(InputError) as err:
        cycle.cycle(c, "86 bar", "86 mm", "143 mm", 0.9, "3000 Hz", "-20 deg", "60 deg")
    assert {f.field for f in err.value.faults} == {"bore", "compression_ratio", "crank_speed"}
    with pytest.raises(InputError, match="a charge"):
        cycle.cycle.si(fuels.mixture("gasoline"), **ENGINE)
    with pytest.raises(InputError, match="burn_start"):
        cycle.cycle.si(c, **{**ENGINE, "burn_start": -3.2})
    with pytest.raises(InputError, match='did you mean "Woschni"'):
        cycle.cycle.si(c, **ENGINE, wall_heat="Woschnie")
    with pytest.raises(InputError, match="step"):
        cycle.cycle.si(c, **ENGINE, step=1.0)
    with pytest.raises(InputError, match="2000 bar"):
        cycle.cycle.si(
            at_bdc("nitromethane", 40e5, 400.0, 14.0, 1.2), **{**ENGINE, "compression_ratio": 14.0}
        )


@pytest.mark.parametrize("which", ["gas", "bound"])
def test_sweeps_that_never_come_to_rest_are_named(
    which: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No result is better than one that still moves."""
    monkeypatch.setattr(grid, "SWEEPS", 2)
    c = at_bdc("gasoline", 2e5, 330.0, 9.5)
    with pytest.raises(InputError, match=r"still moves by .* after 2 sweeps") as err:
        if which == "gas":
            cycle.cycle.si(c, **ENGINE)
        else:
            upper_bound.si(c, **SIZE, compression_ratio=9.5)
    assert [f.field for f in err.value.faults] == ["cycle"]


def test_wall_heat_in_the_cycle_is_the_public_formula() -> None:
    """The sweep takes powers in one step; the public functions give the same flow."""
    c = at_bdc("gasoline", 2e5, 330.0, 9.5)
    for kind in ("Annand", "Woschni", "Hohenberg"):
        r = cycle.cycle.si(c, **ENGINE, wall_heat=kind)
        sp = geometry.mean_piston_speed.si(0.086, 50.0)
        if kind == "Woschni":
            w = wall_heat.woschni_gas_speed.si(
                sp,
                np.where(r.crank_angle >= BURN["burn_start"] - 1e-12, 3.24e-3, 0.0),
                geometry.swept_volume.si(0.086, 0.086),
                330.0,
                2e5,
                r.volume[0],
                r.pressure,
                2e5 * (r.volume[0] / r.volume) ** 1.32,
            )
            h = wall_heat.woschni_heat_transfer.si(0.086, r.pressure, r.temperature, w)
        elif kind == "Annand":
            r_gas = gas.prepare(c.mixture, 0.0).gas_constant[0]
            h = wall_heat.annand_heat_transfer.si(0.086, r.pressure, r.temperature, sp, r_gas)
            on = np.where(r.crank_angle >= BURN["burn_start"] - 1e-12, wall_heat.RADIATION, 0.0)
            h = h + on * (r.temperature**2 + 450.0**2) * (r.temperature + 450.0)
        else:
            h = wall_heat.hohenberg_heat_transfer.si(r.volume, r.pressure, r.temperature, sp)
        area = geometry.chamber_area.si(r.crank_angle, 0.086, 0.086, 0.143)
        flow = h * area * (r.temperature - 450.0) / (2 * np.pi * 50.0)
        total = np.trapezoid(flow, r.crank_angle)
        assert r.wall_heat[-1] == pytest.approx(total, rel=1e-5)
