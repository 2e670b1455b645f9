"""Plates on gaskets against handbook plates, beams on foundations, bolts at equal spacing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sealkit import checks
from sealkit.errors import InputError
from sealkit.sealing.deck import plates
from sealkit.sealing.joint import plate_stiffness
from sealkit.units import Q, to_si
from tests.validation import plate_theory
from tests.validation.plate_theory import holding, linear, moments

Array = Any


ROWS = {
    row.id: row
    for row in checks.read(Path(plate_theory.__file__).with_suffix(".csv"), "tests.validation")
}


def expected(id: str) -> float:
    return float(ROWS[id].want().magnitude)


def agrees(id: str, ours: float) -> bool:
    """Whether ours, in the unit of the row, is within the tolerance of the row."""
    row = ROWS[id]
    want = expected(id)
    if row.tolerance.endswith("%"):
        bound = 0.01 * float(row.tolerance.split()[0]) * abs(want)
    else:
        bound = float(row.tolerance.split()[0])
    return abs(ours - want) <= bound


# --------------------------------------------------------------------------- the plate alone
@pytest.mark.parametrize(
    "id", [r.id for r in ROWS.values() if r.id.startswith("roark") and not r.call]
)
def test_stress_of_supported_plates(id: str) -> None:
    row = ROWS[id]
    out = plate_theory.rectangular_plate(**row.arguments())
    assert agrees(id, 6.0 * out.moment_y.to("N").magnitude)


def test_shape_functions_are_those_of_the_library() -> None:
    from skfem import Basis, ElementQuadBFS, MeshQuad

    plate = plates.Plate([0.0, 0.3, 0.5, 1.0], [0.0, 0.2, 0.7], 1.0, 0.3)
    basis = Basis(MeshQuad.init_tensor(plate.x, plate.y), ElementQuadBFS(), intorder=6)
    points = np.array([[0.31, 0.11], [0.77, 0.52], [0.05, 0.69]])
    rng = np.random.default_rng(3)
    w = rng.normal(size=plate.size)
    theirs = np.zeros(plate.size)
    p = basis.mesh.p
    node = plate.node(np.searchsorted(plate.x, p[0]), np.searchsorted(plate.y, p[1]))
    for k, dofs in enumerate(basis.nodal_dofs):
        theirs[dofs] = w[4 * node + k]
    assert np.allclose(plate.patch(points).closure(w), basis.probes(points.T) @ theirs)


def test_plate_bends_only_by_curvature() -> None:
    """Moving and tilting cost nothing; a uniform curvature costs what plate theory says."""
    plate = plates.Plate(np.linspace(0, 2, 7), np.linspace(0, 1, 4), 5.0, 0.3)
    i, j = np.meshgrid(np.arange(7), np.arange(4), indexing="ij")
    node = plate.node(i, j).ravel()
    x, y = plate.x[i].ravel(), plate.y[j].ravel()
    w = np.zeros(plate.size)
    w[4 * node], w[4 * node + 1], w[4 * node + 2] = 3.0 + 2.0 * x - y, 2.0, -1.0
    assert np.max(np.abs(plate.matrix @ w)) < 1e-9
    w[4 * node], w[4 * node + 1], w[4 * node + 2] = 0.5 * x**2, x, 0.0
    assert w @ (plate.matrix @ w) == pytest.approx(5.0 * 2.0 * 1.0)
    assert moments(plate, w, (0.7, 0.4)) == pytest.approx((-5.0, -1.5))
    w[4 * node], w[4 * node + 1], w[4 * node + 2], w[4 * node + 3] = x * y, y, x, 1.0
    assert w @ (plate.matrix @ w) == pytest.approx(2 * 5.0 * 0.7 * 2.0)


def test_weights_are_areas_and_lengths() -> None:
    plate = plates.Plate(np.linspace(0, 0.2, 11), np.linspace(0, 0.1, 6), 1.0, 0.3)
    assert plate.area().weight.sum() == pytest.approx(0.02)
    ring = plate.ring((0.1, 0.05), 0.08, 60)
    assert ring.weight.sum() == pytest.approx(np.pi * 0.08)
    disc = plate.disc((0.1, 0.05), 0.04, 4, 24)
    assert disc.weight.sum() == pytest.approx(np.pi * 0.0016)
    r2 = np.sum((disc.points - [0.1, 0.05]) ** 2, axis=1)
    assert (disc.weight * r2).sum() == pytest.approx(np.pi * 0.04**4 / 2)


@pytest.mark.parametrize("last", [0.1, 0.09])
def test_points_of_elements_alike_count_as_single_ones(last: float) -> None:
    """On evenly spaced lines they are put together; on others no two elements need be alike."""
    x, y = np.linspace(0, 0.2, 11), np.array([0.0, 0.025, 0.05, 0.075, last])
    plate = plates.Plate(x, y, 1.0, 0.3, shear=1e3)
    area, rng = plate.area(), np.random.default_rng(5)
    single = plate.patch(area.points, area.weight)
    assert (area.group, single.group) == (9 if last == 0.1 else 1, 1)
    w, load = rng.random(plate.size), rng.random(len(area.points))
    assert area.closure(w) == pytest.approx(single.closure(w), rel=1e-12)
    assert area.forces(load, plate.size) == pytest.approx(single.forces(load, plate.size), rel=1e-9)
    one, other = (plate.tangent([patch])([load]).copy() for patch in (area, single))
    assert np.allclose(one, other, rtol=1e-10, atol=1e-12 * np.abs(one).max())


def test_plate_is_the_same_turned_round() -> None:
    long = plate_theory.rectangular_plate.si(2.0, 1.0, 1.0, 0.3, pressure=1.0)
    tall = plate_theory.rectangular_plate.si(1.0, 2.0, 1.0, 0.3, pressure=1.0)
    assert tall.deflection == pytest.approx(long.deflection, rel=1e-9)
    assert tall.moment_x == pytest.approx(long.moment_y, rel=1e-7)


def test_units_at_the_door_of_the_plate() -> None:
    d = Q(1.0, "N*m")
    inch = plate_theory.rectangular_plate(
        "39.37007874 in", Q(1, "m"), d, 0.3, pressure=Q(1, "Pa"), elements=8
    )
    plain = plate_theory.rectangular_plate.si(1.0, 1.0, 1.0, 0.3, pressure=1.0, elements=8)
    assert inch.deflection.to("m").magnitude == pytest.approx(plain.deflection)
    assert inch.moment_x.to("N").magnitude == pytest.approx(plain.moment_x, rel=1e-6)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"length": "2 kg"}, "length"),
        ({"poisson": 0.7}, "poisson"),
        ({"edges": "clampt"}, "edges"),
        ({"pressure": 3.0}, "pressure"),
    ],
)
def test_wrong_input_to_the_plate(changes: dict[str, Any], field: str) -> None:
    good: dict[str, Any] = {"length": "1 m", "width": "1 m", "plate": "1 N*m", "poisson": 0.3}
    with pytest.raises(InputError) as err:
        plate_theory.rectangular_plate(**(good | changes))
    assert [f.field for f in err.value.faults] == [field]


def test_points_beside_the_plate_are_refused() -> None:
    plate = plates.Plate([0.0, 1.0], [0.0, 1.0], 1.0, 0.3)
    with pytest.raises(InputError):
        plate.patch([[0.5, 1.2]])
    with pytest.raises(InputError):
        plates.Plate([0.0, 0.0], [0.0, 1.0], 1.0, 0.3)
    with pytest.raises(InputError):
        plates.Plate([0.0, 1.0], [0.0, 1.0], 0.0, 0.3)


def test_a_plate_that_nothing_holds_is_refused() -> None:
    plate = plates.Plate(np.linspace(0, 1, 5), np.linspace(0, 1, 5), 1.0, 0.3)
    push = plate.patch([[0.5, 0.5]]).forces(np.array([1.0]), plate.size)
    with pytest.raises(InputError):
        plate.solve([(plate.area(), one_sided(0.0))], push)


def test_no_row_is_left_untested() -> None:
    """Every row without a call of its own is named in this file."""
    text = Path(__file__).read_text(encoding="utf-8")
    for row in ROWS.values():
        if not row.call and not row.id.startswith(("roark", "infinite", "bolts")):
            name = row.id.replace("spread-", "{name}-").replace("endless-", "{name}-")
            assert f'"{name}"' in text, row.id


def test_circular_plate_in_other_units() -> None:
    inch = plate_theory.circular_plate("39.37007874 in", Q(1, "N*m"), 0.3, pressure=Q(1, "Pa"))
    plain = plate_theory.circular_plate.si(1.0, 1.0, 0.3, pressure=1.0)
    assert inch.deflection.to("m").magnitude == pytest.approx(plain.deflection)
    assert plain.edge_moment == 0.0
    twice = plate_theory.circular_plate.si(1.0, 2.0, 0.3, pressure=1.0)
    assert twice.deflection == pytest.approx(0.5 * plain.deflection, rel=1e-9)


def test_a_plate_cut_out_of_its_mesh_bends_as_if_drawn() -> None:
    """A rectangle that ends between the mesh lines against one whose edges are mesh lines."""
    out = []
    for far, edge in ((1.0, None), (1.1, lambda x, y: 1.0 - x)):
        plate = plates.Plate(np.linspace(0, far, 12), np.linspace(0, 0.6, 7), 2.0, 0.3, edge)
        push = plate.patch([[0.9, 0.3]]).forces(np.array([1.0]), plate.size)
        side = 4 * plate.node(0, np.arange(7))
        held = np.concatenate([side, side + 1, side + 2, side + 3])
        w, _ = plate.solve([holding(plate, held)], push)
        out.append(plate.patch([[0.9, 0.3]]).closure(w)[0])
    assert out[1] == pytest.approx(out[0], rel=2e-3)


# --------------------------------------------------------------------------- on a foundation
def test_infinite_plate_on_a_foundation() -> None:
    """A quarter of a plate wide enough that its edges are not felt; mirrors do not turn."""
    d = plate_stiffness.si(70e9, 0.015, 0.33)
    k, load = 500e9, 50e3
    length = (d / k) ** 0.25
    edge = length * np.concatenate([np.linspace(0, 7, 36)[:-1], np.linspace(7, 14, 16)])
    plate = plates.Plate(edge, edge, d, 0.33)
    push = plate.patch([[0.0, 0.0]]).forces(np.array([0.25 * load]), plate.size)
    area = plate.area()
    lines = np.arange(len(edge))
    left, low = 4 * plate.node(0, lines), 4 * plate.node(lines, 0)
    held = np.unique(np.concatenate([left + 1, left + 3, low + 2, low + 3]))
    w, _ = plate.solve([(area, linear(k)), holding(plate, held)], push)
    middle = plate.patch([[0.0, 0.0]]).closure(w)[0]
    assert agrees("infinite-deflection", 1e3 * middle)
    assert agrees("infinite-stress", 1e-6 * k * middle)
    assert area.weight @ (k * area.closure(w)) == pytest.approx(0.25 * load, rel=1e-8)
    for r in ("1", "2", "3", "3.9147", "5", "6"):
        place = plate.patch([[float(r) * length, 0.0]])
        assert agrees(f"infinite-{r}", place.closure(w)[0] / middle), r


# --------------------------------------------------------------------------- strips: beams
def strip(length: float, width: float, elements: int, rigidity: float) -> plates.Plate:
    """A beam of bending stiffness EI as a strip of plate without cross contraction."""
    return plates.Plate(np.linspace(0, length, elements + 1), [0.0, width], rigidity / width, 0.0)


def line_load(plate: plates.Plate, x: float, load: float) -> Array:
    """A load spread across a strip."""
    t, share = np.polynomial.legendre.leggauss(3)
    y = 0.5 * plate.y[-1] * (t + 1.0)
    patch = plate.patch(np.stack([np.full(3, x), y], axis=-1), 0.5 * share)
    return patch.forces(np.full(3, load), plate.size)


def one_sided(stiffness: float) -> plates.Law:
    def law(closure: Array) -> tuple[Array, Array]:
        return stiffness * np.maximum(closure, 0.0), stiffness * (closure > 0.0)

    return law


def test_rail_and_wheel() -> None:
    a = ROWS["rail-moment"].arguments()
    e, k, load = to_si(a["modulus"], "modulus"), to_si(a["foundation"], "stress"), 170e3
    inertia = 36.9e-6
    beta = (k / (4 * e * inertia)) ** 0.25
    half, width = 7.0 / beta, 0.02 / beta
    plate = strip(2 * half, width, 160, e * inertia)
    push = line_load(plate, half, load)
    w, _ = plate.solve([(plate.area(), linear(k / width))], push)
    assert agrees("rail-deflection", 1e3 * plate.patch([[half, width / 2]]).closure(w)[0])
    moment = width * moments(plate, w, (half, width / 2))[0]
    assert agrees("rail-moment", 1e-3 * moment)
    edge = to_si(ROWS["rail-stress"].arguments()["edge"], "length")
    assert agrees("rail-stress", 1e-6 * moment * edge / inertia)


def test_beam_on_springs_taken_as_spread() -> None:
    k, rigidity, load, spring = 0.1e6, 72e9 * 2.45e-6, 12e3, 110e3
    beta = (k / (4 * rigidity)) ** 0.25
    half, width = 7.0 / beta, 0.02 / beta
    plate = strip(2 * half, width, 160, rigidity)
    w, _ = plate.solve([(plate.area(), linear(k / width))], line_load(plate, half, load))
    middle = plate.patch([[half, width / 2]]).closure(w)[0]
    assert agrees("smeared-deflection", 1e3 * middle)
    assert agrees("smeared-moment", 1e-3 * width * moments(plate, w, (half, width / 2))[0])
    assert agrees("smeared-spring", 1e-3 * spring * middle)


def test_beam_on_separate_springs() -> None:
    spring, rigidity, load, pitch, width = 22.5, 29000.0 * 128.5, 40.0, 15.0, 2.0
    plate = strip(16 * pitch, width, 160, rigidity)
    t, share = np.polynomial.legendre.leggauss(3)
    x = np.repeat(pitch * np.arange(1, 16), 3)
    y = np.tile(0.5 * width * (t + 1.0), 15)
    springs = plate.patch(np.stack([x, y], axis=-1), np.tile(0.5 * share, 15))
    nodes = 4 * plate.node(np.array([0, 0, 160, 160]), np.array([0, 1, 0, 1]))
    held = np.concatenate([nodes, nodes + 2])
    w, _ = plate.solve(
        [(springs, linear(spring)), holding(plate, held)], line_load(plate, 8 * pitch, load)
    )
    middle = (8 * pitch, width / 2)
    assert agrees("springs-deflection", -plate.patch([middle]).closure(w)[0])
    assert agrees("springs-moment", width * moments(plate, w, middle)[0])
    assert agrees("springs-moment-printed", width * moments(plate, w, middle)[0])


@pytest.mark.parametrize(("name", "pitches"), [("spread", 16), ("endless", 64)])
def test_the_same_beam_on_spread_springs(name: str, pitches: int) -> None:
    spring, rigidity, load, pitch, width = 22.5, 29000.0 * 128.5, 40.0, 15.0, 2.0
    cells = 8 * pitches
    plate = strip(pitches * pitch, width, cells, rigidity)
    nodes = 4 * plate.node(np.array([0, 0, cells, cells]), np.array([0, 1, 0, 1]))
    held = np.concatenate([nodes, nodes + 2])
    x = 0.5 * pitches * pitch
    laws = [(plate.area(), linear(spring / pitch / width)), holding(plate, held)]
    w, _ = plate.solve(laws, line_load(plate, x, load))
    assert agrees(f"{name}-deflection", -plate.patch([(x, width / 2)]).closure(w)[0])
    assert agrees(f"{name}-moment", width * moments(plate, w, (x, width / 2))[0])


@pytest.mark.parametrize("spacing", ["0.5", "1.0", "1.5", "2.0", "2.5", "3.0", "pi", "4.0", "5.0"])
def test_bolts_at_equal_spacing(spacing: str) -> None:
    """Half a load at both ends of a strip whose ends do not turn (mirrors)."""
    s, width = (np.pi if spacing == "pi" else float(spacing)), 0.02
    plate = strip(s, width, 40, 0.25)  # k = 1, so beta = 1
    push = line_load(plate, 0.0, 0.5) + line_load(plate, s, 0.5)
    ends = 4 * plate.node(np.array([0, 0, 40, 40]), np.array([0, 1, 0, 1]))
    held = np.concatenate([ends + 1, ends + 3])
    w, _ = plate.solve([(plate.area(), linear(1.0 / width)), holding(plate, held)], push)
    bolt, middle = plate.patch([[0.0, width / 2], [s / 2, width / 2]]).closure(w)
    mean = 1.0 / s
    assert agrees(f"bolts-{spacing}-ratio", middle / bolt)
    assert agrees(f"bolts-{spacing}-bolt", bolt / mean)
    assert agrees(f"bolts-{spacing}-middle", middle / mean)


def test_beam_that_can_lift() -> None:
    """Contact half-length and deflection of a weightless beam on a foundation that cannot pull."""
    half, width, cells = 3.0, 0.02, 240
    plate = strip(2 * half, width, cells, 0.25)  # k = 1, so beta = 1
    w, steps = plate.solve(
        [(plate.area(), one_sided(1.0 / width))],
        line_load(plate, half, 1.0),
        start=0.1 * plate.unit,
    )
    x = np.linspace(half, 2 * half, 2001)
    c = plate.patch(np.stack([x, np.full(2001, width / 2)], axis=-1)).closure(w)
    first = int(np.argmax(c < 0.0))
    assert np.all(c[first:] < 0.0)
    assert agrees(
        "lift-half-length",
        float(np.interp(0.0, -c[first - 1 : first + 1], x[first - 1 : first + 1])) - half,
    )
    assert agrees("lift-deflection", c[0] / 0.5)
    assert agrees("lift-moment", width * moments(plate, w, (half, width / 2))[0] / 0.25)
    assert steps < 20


def test_twice_the_load_lifts_the_same_length() -> None:
    """A foundation that cannot pull scales with the load although it is not linear."""
    plate = strip(6.0, 0.02, 60, 0.25)
    out = [
        plate.solve(
            [(plate.area(), one_sided(50.0))], line_load(plate, 3.0, p), start=p * plate.unit
        )[0]
        for p in (1.0, 2.0)
    ]
    assert np.allclose(out[1][0 :: plate.per], 2.0 * out[0][0 :: plate.per], rtol=1e-7)
