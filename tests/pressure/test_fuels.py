"""Fuels, mixtures and the gas table."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import InputError, Q, checks, tables
from sealkit.pressure import fuels, gas, gas_data
from tests import validation
from tests.validation import nasa_gas

PURE = ["gasoline", "ethanol", "methanol", "nitromethane", "iso-octane", "methane"]


def test_every_row_of_the_fuel_table_agrees_with_the_gas_table() -> None:
    for name in PURE:
        row = fuels.fuel_data(name)
        ours = nasa_gas.lower_heating_value.si(name)
        # the table of methane is from memory; the others differ by their heats of formation
        assert ours == pytest.approx(row["lower_heating_value"], rel=3e-3), name
        ratio = nasa_gas.stoichiometric_ratio.si(name)
        assert ratio == pytest.approx(row["stoichiometric_air_fuel_ratio"], rel=2e-4), name


def test_lower_heating_value_is_below_the_higher_one() -> None:
    for name in PURE:
        row = fuels.fuel_data(name)
        assert row["lower_heating_value"] < row["higher_heating_value"]
    nitro = fuels.fuel_data("nitromethane")
    assert nitro["lower_heating_value"] < 11.2e6 < nitro["higher_heating_value"]
    assert "higher heating value" in nitro["note"]


def test_lean_limit_of_every_fuel_by_hand() -> None:
    """Fuel burnt with all the air over fuel at the limit, by moles; richer mixtures burn."""
    air = 0.21 * 31.998 + 0.79 * 28.014
    for name in PURE:
        row, mixed = tables.load("flammability")[name], fuels.mixture.si(name)
        fuel = fuels.fuel_data(name)["molar_mass"] * 1e3
        burnt = air / (fuel * mixed.stoichiometric_air_fuel_ratio)
        at = row["lower_limit"] / (1.0 - row["lower_limit"])
        assert fuels.lean_limit.si(mixed) == pytest.approx(at / burnt, rel=2e-3), name
    # the richest mixture of the gas tables burns: upper limits of the table's notes
    for name, upper in (("gasoline", 0.07), ("ethanol", 0.19), ("methanol", 0.36)):
        mixed = fuels.mixture.si(name)
        most = gas_data.data().families[mixed.family].phi[-1]
        richest = upper / (1.0 - upper) / tables.load("flammability")[name]["lower_limit"]
        assert most < richest * fuels.lean_limit.si(mixed) * 0.98


def test_lean_limit_falls_with_heat_and_lies_between_the_parts_of_a_blend() -> None:
    hot = np.array([280.0, 298.15, 500.0, 700.0])
    assert np.all(np.diff(fuels.lean_limit.si(fuels.mixture.si("gasoline"), hot)) < 0.0)
    blends = fuels.mixture.si("gasoline", ethanol_share=np.array([0.0, 0.2, 0.5, 0.85, 1.0]))
    limits = fuels.lean_limit.si(blends)
    assert np.all(np.diff(limits) < 0.0)
    ends = [fuels.lean_limit.si(fuels.mixture.si(x)) for x in ("gasoline", "ethanol")]
    assert limits[[0, -1]] == pytest.approx(ends)
    # 0.000721 for each kelvin of the share by volume
    cold, warm = (fuels.lean_limit.si(fuels.mixture.si("methane"), t) for t in (298.15, 398.15))
    assert warm / cold == pytest.approx((1 - 0.0721) * 0.95 / (1 - 0.05 * 0.9279), rel=1e-9)


def test_mixture_through_quantities_text_and_arrays() -> None:
    m = fuels.mixture("E85", 1.1, ethanol_share="70 %")
    plain = fuels.mixture.si("gasoline", 1.1, ethanol_share=0.7)
    assert m.lower_heating_value.to("J/kg").magnitude == pytest.approx(plain.lower_heating_value)
    many = fuels.mixture.si("gasoline", np.array([0.9, 1.1]), ethanol_share=np.array([0.0, 0.7]))
    assert many.share.shape == (2,)
    assert many.lower_heating_value[1] == pytest.approx(plain.lower_heating_value)
    assert many.air_fuel_ratio[0] == pytest.approx(14.624 / 0.9)


def test_mass_share_of_85_percent_ethanol() -> None:
    # 85 vol % with 0.789 and 0.745 kg/l is 85.7 mass %
    assert fuels.mixture.si("E85").share == pytest.approx(0.857, abs=5e-4)


def test_ends_of_a_blend_are_the_pure_fuels() -> None:
    for base, argument, other in (
        ("gasoline", "ethanol_share", "ethanol"),
        ("methanol", "nitromethane_share", "nitromethane"),
    ):
        for share, name in ((0.0, base), (1.0, other)):
            blend = fuels.mixture.si(base, **{argument: share})
            pure = fuels.mixture.si(name)
            for key in ("share", "lower_heating_value", "air_fuel_ratio", "octane_number"):
                assert getattr(blend, key) == pytest.approx(getattr(pure, key)), (base, key)


def test_faults_are_named() -> None:
    with pytest.raises(InputError, match='did you mean "methanol"'):
        fuels.mixture("methanl")
    with pytest.raises(InputError, match="goes with methanol"):
        fuels.mixture("gasoline", nitromethane_share=0.2)
    with pytest.raises(InputError, match=r"0\.5 to 2 for gasoline"):
        fuels.mixture("gasoline", 2.4)
    with pytest.raises(InputError) as err:
        fuels.mixture("gasoline", "2 bar", ethanol_share=1.4)
    assert {f.field for f in err.value.faults} == {"equivalence_ratio", "ethanol_share"}
    with pytest.raises(InputError, match="fuel"):
        fuels.density("diesel")


def test_density_and_best_power() -> None:
    assert fuels.density("E100") == Q(789.0, "kg/m**3")
    path = Path(validation.__file__).parent / "tables" / "best-power.csv"
    for row in tables.read_csv(path.read_text(encoding="utf-8"), path.name):
        assert 1.0 < row["equivalence_ratio"] < 2.0
        fuels.mixture.si(row["fuel"], row["equivalence_ratio"])


@pytest.mark.parametrize("row", [r for r in checks.load("fuels") if r.id.startswith("3.29")])
def test_heat_capacity_ratio_of_burnt_gas(row: checks.Check) -> None:
    """Rows 3.29: from the slopes of the table at 50 bar, as our cycle sees them."""
    t = float(row.arguments()["temperature"])
    c = gas.prepare(fuels.mixture.si("iso-octane"), 0.0)
    lp, d_t, d_p = np.log(50e5), 50.0, 0.3

    def z(temperature: float, log_p: float) -> complex:
        return complex(c.burnt_at(np.array([[temperature]]), np.array([[log_p]]))[0][0, 0])

    if row.output == "frozen":
        moles = c.frozen_moles[0]
        names = gas_data.data().species[: len(moles)]
        cp = sum(n * nasa_gas.heat_capacity.si(s, t) for n, s in zip(moles, names, strict=True))
        ours = cp / (cp - moles.sum())
    else:
        # cv = du/dT at constant volume, cp = dh/dT at constant pressure, along the table
        u_t = (z(t + d_t, lp) - z(t - d_t, lp)) / (2 * d_t)
        u_p = (z(t, lp + d_p) - z(t, lp - d_p)) / (2 * d_p)
        rt = z(t, lp).imag
        cp = u_t.real + u_t.imag
        # at constant volume: dlnp = d(RT)/RT
        slope = u_t.imag / rt / (1 - u_p.imag / rt)
        ours = cp / (u_t.real + u_p.real * slope)
    assert ours == pytest.approx(row.want().magnitude, abs=float(row.tolerance))


def test_burnt_gas_between_the_nodes() -> None:
    """Energy and gas constant vary smoothly over share and equivalence ratio."""
    t, lp = np.full((1, 1), 2500.0), np.full((1, 1), np.log(80e5))
    phi = np.linspace(0.5, 2.0, 301)
    u = np.array(
        [gas.prepare(fuels.mixture.si("gasoline", p), 0.0).burnt_at(t, lp)[0][0, 0] for p in phi]
    )
    share = np.linspace(0.0, 1.0, 301)
    v = np.array(
        [
            gas.prepare(fuels.mixture.si("methanol", nitromethane_share=s), 0.0).burnt_at(t, lp)
            for s in share
        ]
    )[:, 0, 0, 0]
    for line in (u.imag, u.real, v.imag, v.real):
        # no step between nodes: each point lies between its neighbours' straight line and a bend
        # that is small against the whole range
        assert np.abs(np.diff(line, 2)).max() < 2e-3 * np.ptp(line)


@settings(max_examples=40, deadline=None)
@given(
    share=st.floats(0.0, 1.0),
    phi=st.floats(0.5, 2.0),
    t=st.floats(320.0, 4400.0),
    p=st.floats(1e5, 1500e5),
)
def test_energy_of_burnt_gas_rises_with_temperature(
    share: float, phi: float, t: float, p: float
) -> None:
    c = gas.prepare(fuels.mixture.si("gasoline", phi, ethanol_share=share), 0.05)
    z, slope = c.burnt_at(np.array([[t]]), np.array([[np.log(p)]]))
    assert 600.0 < slope.real[0, 0] < 30000.0
    # Cantera 3.2.0, GRI-Mech 3.0, over these corners: 287.2 to 502.5 J/(kg K), the highest for
    # ethanol at twice the stoichiometric fuel, 4400 K and 1 bar
    assert 287.0 < z.imag[0, 0] / t < 503.0


def test_unknown_species() -> None:
    with pytest.raises(InputError, match="species"):
        nasa_gas.heat_capacity("argon", "300 K")
    assert gas_data.data().status == "computed"
    assert "Cantera" in gas_data.data().source


def test_every_liquid_has_a_vapour_pressure() -> None:
    """Without a row a species counts as a gas, which is all vapour at once."""
    rows = tables.load("vapour-pressure")
    for fuel in tables.load("fuels").rows:
        parts = gas.GASOLINE if fuel["fuel"] == "gasoline" else (fuel["fuel"],)
        if fuel["latent_heat"] > 0.0:
            assert set(parts) <= set(rows), fuel["fuel"]
