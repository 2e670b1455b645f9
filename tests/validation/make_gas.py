"""Makes ``sealkit/tables/gas/burnt.npz``: properties of burnt gas in equilibrium, for the cycle.

Run as ``python -m tests.validation.make_gas`` with Cantera and `chemicals` installed. Neither is
needed to use the table. The unburnt gas and the frozen burnt gas are held as NASA-7 coefficients
and a composition; the equilibrium burnt gas as its departure from the frozen one.

Air is O2 + 3.76 N2. A blend's share is a mass share of the second fuel of the family.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cantera as ct
import chemicals
import numpy as np
from numpy.typing import NDArray

R = ct.gas_constant / 1000.0
AIR_N2 = 3.76
FREEZE_T, FREEZE_P = 1500.0, 30e5
TEMPERATURES = np.arange(FREEZE_T, 4601.0, 100.0)
PRESSURES = np.geomspace(0.5e5, 2000e5, 10)

PRODUCTS = ("CO2", "CO", "H2O", "H2", "O2", "N2", "OH", "H", "O", "NO", "N", "NO2", "HO2")
FUELS: dict[str, tuple[Any, ...]] = {  # name here: (name in the library's file, C, H, O, N)
    "iso-octane": ("C8H18,isooctane", 8, 18, 0, 0),
    "toluene": ("C7H8", 7, 8, 0, 0),
    "ethanol": ("C2H5OH", 2, 6, 1, 0),
    "methanol": ("CH3OH", 1, 4, 1, 0),
    "nitromethane": ("", 1, 3, 2, 1),
    "methane": ("CH4", 1, 4, 0, 0),
}
GASOLINE = {"iso-octane": 0.75, "toluene": 0.25}  # by mass
SHARES = {
    "gasoline-ethanol": (0.0, 0.25, 0.5, 0.75, 1.0),
    # nitromethane needs a quarter of methanol's air: closer steps
    "methanol-nitromethane": (0.0, 0.15, 0.3, 0.45, 0.6, 0.7, 0.8, 0.9, 1.0),
}
LEAN = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 1.0)
RICH = (1.02, 1.05, 1.1, 1.2, 1.3, 1.4, 1.6, 1.8, 2.0)
VERY_RICH = (2.3, 2.6, 3.0)
# the hydrocarbon families end at 2: richer, solid carbon would form, which the gas has no room for
FAMILIES: dict[str, tuple[dict[str, float], dict[str, float] | None, tuple[float, ...]]] = {
    "gasoline-ethanol": (GASOLINE, {"ethanol": 1.0}, LEAN + RICH),
    "methanol-nitromethane": ({"methanol": 1.0}, {"nitromethane": 1.0}, LEAN + RICH + VERY_RICH),
    "iso-octane": ({"iso-octane": 1.0}, None, LEAN + RICH),
    "methane": ({"methane": 1.0}, None, LEAN + RICH),
}


def nitromethane() -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    """Molar mass and NASA-7 coefficients of the vapour, fitted to a heat capacity correlation."""
    cas = "75-52-5"
    row: Any = chemicals.heat_capacity.TRC_gas_data.loc[cas]
    t = np.linspace(270.0, 1500.0, 124)
    a = [float(row[f"a{i}"]) for i in range(8)]
    cp = np.array([chemicals.heat_capacity.TRCCp(x, *a) for x in t])
    fit = np.polynomial.polynomial.polyfit(t, cp / R, 4)
    if np.max(np.abs(np.polynomial.polynomial.polyval(t, fit) * R / cp - 1)) > 0.02:
        raise RuntimeError("the fit to the heat capacity of nitromethane is poor")
    t0 = 298.15
    k = np.arange(5)
    # vapour = liquid (-112.6 kJ/mol, CRC) + heat of evaporation (38.27 kJ/mol, CRC)
    h = (-112.6e3 + 38.27e3) / R - np.sum(fit * t0 ** (k + 1) / (k + 1))
    s = 275.0 / R - fit[0] * np.log(t0) - np.sum(fit[1:] * t0 ** k[1:] / k[1:])
    c = np.concatenate([fit, [h, s]])
    return 61.0400, c, c


def main() -> None:
    """Make the tables of gas properties anew."""
    library = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    gas = ct.Solution(thermo="ideal-gas", species=[library[n] for n in PRODUCTS])
    names = list(PRODUCTS) + list(FUELS)
    mass, low, high = [], [], []
    for name in names:
        if name == "nitromethane":
            m, a, b = nitromethane()
        else:
            s = library[FUELS[name][0] if name in FUELS else name]
            m = s.molecular_weight
            if not isinstance(s.thermo, ct.NasaPoly2) or s.thermo.coeffs[0] != 1000.0:
                raise RuntimeError(f"{name}: expected two ranges that meet at 1000 K")
            b, a = s.thermo.coeffs[1:8], s.thermo.coeffs[8:15]
        mass.append(m)
        low.append(a)
        high.append(b)
    molar = dict(zip(names, mass, strict=True))
    out: dict[str, object] = {
        "source": f"Cantera {ct.__version__}, nasa_gas.yaml, equilibrium at T and p; vapour of "
        f"nitromethane fitted to chemicals {chemicals.__version__} (TRC), enthalpy CRC",
        "status": "computed",
        "species": np.array(names),
        "atoms": np.array([[0] * 4] * len(PRODUCTS) + [f[1:] for f in FUELS.values()]),
        "molar_mass": np.array(mass) / 1000.0,
        "low": np.array(low),
        "high": np.array(high),
        "temperature": TEMPERATURES,
        "pressure": PRESSURES,
    }

    def blend(
        share: float, one: dict[str, float], two: dict[str, float] | None
    ) -> dict[str, float]:
        kg = {n: (1 - share) * w for n, w in one.items()}
        for n, w in (two or {}).items():
            kg[n] = kg.get(n, 0.0) + share * w
        return {n: w / molar[n] for n, w in kg.items()}  # kmol per kg of fuel

    for family, (one, two, phis) in FAMILIES.items():
        shares = SHARES.get(family, (0.0,))
        frozen = np.zeros((len(shares), len(phis), len(PRODUCTS)))
        u = np.zeros((*frozen.shape[:2], len(TEMPERATURES), len(PRESSURES)))
        n = np.zeros_like(u)
        for i, share in enumerate(shares):
            kmol = blend(share, one, two)
            c, h, o, nn = (sum(k * FUELS[f][1 + j] for f, k in kmol.items()) for j in range(4))
            need = c + h / 4 - o / 2
            for j, phi in enumerate(phis):
                air = need / phi
                total = 1.0 + air * (molar["O2"] + AIR_N2 * molar["N2"])
                # any composition with the right atoms will do to start from
                start = {"CO": c, "H": h, "N2": air * AIR_N2 + nn / 2, "O": o + 2 * air - c}
                if start["O"] < 0:
                    raise RuntimeError(f"{family} at {phi}: solid carbon")
                gas.TPX = 3000.0, FREEZE_P, start
                gas.equilibrate("TP", rtol=1e-11)
                gas.TP = FREEZE_T, FREEZE_P
                gas.equilibrate("TP", rtol=1e-11)
                # the library's atomic masses and ours differ in the last digits: per kg of its gas
                frozen[i, j] = gas.X / gas.mean_molecular_weight
                if (
                    abs(
                        sum(start[s] * gas.molecular_weights[gas.species_index(s)] for s in start)
                        / total
                        - 1
                    )
                    > 2e-5
                ):
                    raise RuntimeError("mass balance")
                for p, pressure in enumerate(PRESSURES):
                    gas.TPY = 4600.0, pressure, gas.Y
                    for t in range(len(TEMPERATURES) - 1, -1, -1):
                        gas.TP = TEMPERATURES[t], pressure
                        gas.equilibrate("TP", rtol=1e-11)
                        y = gas.Y
                        u[i, j, t, p] = gas.int_energy_mass
                        n[i, j, t, p] = 1.0 / gas.mean_molecular_weight
                        gas.TPX = TEMPERATURES[t], pressure, frozen[i, j]
                        u[i, j, t, p] -= gas.int_energy_mass
                        n[i, j, t, p] -= 1.0 / gas.mean_molecular_weight
                        gas.TPY = TEMPERATURES[t], pressure, y
        out[f"{family}/share"] = np.array(shares)
        out[f"{family}/phi"] = np.array(phis)
        out[f"{family}/frozen"] = frozen.astype(np.float32)  # kmol of each product per kg
        for key, value in (("u", u), ("n", n)):
            # 16-bit steps of the largest departure: 1/65535 of it
            lo, hi = float(value.min()), float(value.max())
            step = (hi - lo) / 65535.0
            out[f"{family}/{key}"] = np.round((value - lo) / step).astype(np.uint16)
            out[f"{family}/{key}_scale"] = np.array([lo, step])
        print(family, "departure of u up to", u.max(), "of n up to", n.max())
    path = Path(__file__).parents[2] / "sealkit" / "tables" / "gas" / "burnt.npz"
    np.savez_compressed(path, **out)  # type: ignore[arg-type]
    print(path.name, path.stat().st_size, "bytes")


if __name__ == "__main__":
    main()
