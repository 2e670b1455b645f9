"""The joint of one bore against the textbook joint, hand-solved springs and a plate solution.

Textbook joint: Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed.,
eqs. 8-23 to 8-30. Plates: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed.,
and the axisymmetric plate equation solved numerically.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit import checks
from sealkit.errors import InputError
from sealkit.sealing import constructions
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.joint import (
    Joint,
    bending_by_line_load,
    bending_by_pressure,
    plate_stiffness,
)
from sealkit.units import Q, parse, quantify, to_si
from tests.sealing.forces import out_of_balance

BALANCE = 1e-9  # of the fastener force
BOLTS, KB, KM, YIELD, BORE = 4.0, 3.5e8, 1.2e9, 85e3, 0.088


def straight(name: str, role: str, slope: float, proud: float = 0.0, extent: float = 1.0) -> Zone:
    """A zone that is a straight spring."""
    return Zone(
        name,
        role,
        "area" if role == "body" else "length",
        np.array([0.0, 1e-3]),
        np.array([0.0, slope * 1e-3]),
        stands_proud=proud,
        extent=extent,
    )


def springs(seal: float = 2e9, body: float = 1e9, **bend: Any) -> Joint:
    """A joint on straight springs: `seal` is N/m over all its length, `body` N/m."""
    length, area = 0.276, 4e-3
    zones = (
        straight("ring", "seal", seal / length, extent=length),
        straight("sheet", "body", body / area, extent=area),
    )
    return Joint(Gasket("springs", zones), BOLTS, KB, KM, 1e9, BORE, **bend)


def real(name: str, rigid: bool = False, **changes: Any) -> Joint:
    """A shipped construction on an 86 mm bore under an aluminium head."""
    gasket = constructions.make(name).sized(np.pi * 0.088, 4e-3, 0.25)
    plate = plate_stiffness.si(70e9, 0.035, 0.33)
    bend = {
        "bend_pressure": 0.0 if rigid else bending_by_pressure.si(1.0, 0.044, 0.055, plate, 0.33),
        "bend_load": 0.0 if rigid else bending_by_line_load.si(1.0, 0.044, 0.055, plate, 0.33),
    }
    kwargs: dict[str, Any] = dict(
        bolts=BOLTS,
        bolt_stiffness=KB,
        member_stiffness=KM,
        yield_force=YIELD,
        seal_diameter=BORE,
        **bend,
    )
    return Joint(gasket, **(kwargs | changes))


names = st.sampled_from(constructions.names())
each_construction = pytest.mark.parametrize("name", constructions.names())


# --------------------------------------------------------------------------- the textbook joint
def textbook(joint: Joint, gasket_stiffness: float) -> float:
    """C, with members and gasket in series."""
    members = 1.0 / (1.0 / joint.member_stiffness + joint.bolts / gasket_stiffness)
    return joint.bolt_stiffness / (joint.bolt_stiffness + members)


def test_straight_springs_are_the_textbook_joint() -> None:
    joint, preload = springs(), 50e3
    share = textbook(joint, 3e9)
    p = np.linspace(0.0, 1.2 * BOLTS * preload / (1 - share) / joint.gas_area, 41)
    gas = p * joint.gas_area
    state = joint.under_gas(joint.assemble(preload), p)
    separation = BOLTS * preload / (1.0 - share)
    closed = gas < separation
    assert 5 < closed.sum() < 40
    bolt = np.where(closed, preload + share * gas / BOLTS, gas / BOLTS)
    clamp = np.where(closed, BOLTS * preload - (1 - share) * gas, 0.0)
    assert state.bolt_force == pytest.approx(bolt, rel=1e-9)
    assert state.clamp == pytest.approx(clamp, rel=1e-9, abs=1e-9 * BOLTS * preload)
    assert np.array_equal(state.clamp <= 0.0, ~closed)
    assert state.seal_load == pytest.approx(clamp * 2 / 3 / 0.276, rel=1e-9, abs=1e-3)
    assert state.closure[closed] == pytest.approx(clamp[closed] / 3e9, rel=1e-9)
    # separated, the faces part by what the fasteners stretch over their free length
    lost = (gas[~closed] / BOLTS - preload) / KB - preload * (1 / KM + BOLTS / 3e9)
    assert -state.closure[~closed] == pytest.approx(lost, rel=1e-9)
    assert state.seal_lift == pytest.approx(state.seal_closure[0] - state.seal_closure)


def test_separation_is_where_the_textbook_says() -> None:
    joint, preload = springs(), 50e3
    at = BOLTS * preload / (1.0 - textbook(joint, 3e9)) / joint.gas_area
    assembly = joint.assemble(preload)
    assert joint.under_gas(assembly, at * (1 - 1e-9)).clamp > 0.0
    assert joint.under_gas(assembly, at * (1 + 1e-9)).clamp <= 0.0


# --------------------------------------------------------------------------- the load plane
def chain(share: float, seal: float, body: float, preload: float, gas: float) -> tuple[float, Any]:
    """Tension of one fastener and clamp of one bore, by the stiffness matrix of a chain of springs.

    Nodes: nut, load plane in the head, under side of the head; the block is held. The fastener runs
    from nut to block, the members above the load plane from nut to load plane, those below it and
    the gasket from there to the block; gas lifts the load plane.
    """
    upper = np.inf if share == 1.0 else BOLTS * KM / (1.0 - share)
    lower = np.inf if share == 0.0 else BOLTS * KM / share
    upper, lower = min(upper, 1e18), min(lower, 1e18)  # nearly rigid
    fastener, gasket = BOLTS * KB, seal + body
    ends = [(0, None, fastener), (0, 1, upper), (1, 2, lower), (2, None, gasket)]
    matrix, force = np.zeros((3, 3)), np.zeros(3)
    for i, j, k in ends:
        matrix[i, i] += k
        if j is not None:
            matrix[j, j] += k
            matrix[i, j] -= k
            matrix[j, i] -= k
    force[1] = gas
    rise = np.linalg.solve(matrix, force)
    return preload + KB * float(rise[0]), BOLTS * preload - gasket * float(rise[2])


@pytest.mark.parametrize("share", [0.0, 0.1, 0.3, 0.5, 0.7, 1.0])
def test_the_load_plane_against_a_chain_of_springs(share: float) -> None:
    joint, preload, gas = replace(springs(), load_introduction=share), 50e3, 30e3
    state = joint.under_gas(joint.assemble(preload), gas / joint.gas_area)
    tension, clamp = chain(share, 2e9, 1e9, preload, gas)
    assert state.bolt_force == pytest.approx(tension, rel=1e-7)
    assert state.clamp == pytest.approx(clamp, rel=1e-7)
    give = 1 / KB + 1 / KM + BOLTS / 3e9
    phi = (share / KM + BOLTS / 3e9) / give
    assert state.bolt_force == pytest.approx(preload + phi * gas / BOLTS, rel=1e-9)
    if share == 1.0:
        assert phi == pytest.approx(textbook(joint, 3e9))


def test_without_a_soft_gasket_the_load_factor_is_the_share_of_the_textbook() -> None:
    hard = springs(seal=1e16, body=1e16)
    for share in (0.0, 0.3, 1.0):
        joint = replace(hard, load_introduction=share)
        low, high = joint.under_gas(
            joint.assemble(50e3), np.array([0.0, 20e3]) / joint.gas_area
        ).bolt_force
        assert (high - low) / (20e3 / BOLTS) == pytest.approx(share * KB / (KB + KM), abs=1e-5)


@each_construction
def test_a_load_nearer_the_gasket_spares_the_fastener_and_robs_the_clamp(name: str) -> None:
    p = np.linspace(0.0, 90e5, 7)
    states, offs = [], []
    for share in (1.0, 0.5, 0.0):
        joint = real(name, load_introduction=share)
        assembly = joint.assemble(45e3, 40e3)
        states.append(joint.under_gas(assembly, p))
        offs.append(out_of_balance(joint, assembly, states[-1]))
        assert joint.advance_of(assembly) == pytest.approx(real(name).advance_of(assembly))
    for far, near in itertools.pairwise(states):
        assert np.all(near.bolt_force[1:] < far.bolt_force[1:])
        assert np.all(near.clamp[1:] < far.clamp[1:])
        assert near.bolt_force[0] == pytest.approx(far.bolt_force[0])
    for off, state in zip(offs, states, strict=True):
        assert np.max(np.abs(off)) < BALANCE * np.max(state.bolt_force) * BOLTS


def test_yield_and_separation_with_the_load_at_the_fire_deck_by_hand() -> None:
    share, preload = 0.3, 50e3
    joint = replace(springs(), load_introduction=share, yield_force=51e3)
    assembly = joint.assemble(preload)
    kg, gas = 3e9 / BOLTS, 100e3
    force = gas / BOLTS
    upper = 1 / (1 / KB + (1 - share) / KM)
    # one fastener: held at its yield force, the gasket keeps what that leaves over the gas
    left = 51e3 - force
    stretch = (
        preload / KB + preload / KM + preload / kg - left / kg - share * left / KM - 51e3 / upper
    )
    state = joint.under_gas(assembly, gas / joint.gas_area)
    assert state.clamp == pytest.approx(BOLTS * left, rel=1e-9)
    assert state.plastic_stretch[0] == pytest.approx(stretch, rel=1e-9)
    free = replace(joint, yield_force=1e9)
    phi = (share / KM + 1 / kg) / (1 / KB + 1 / KM + 1 / kg)
    parting = BOLTS * preload / (1 - phi) / joint.gas_area
    assert free.separation(assembly)[0] == pytest.approx(parting, rel=1e-9)
    assert free.under_gas(assembly, parting * (1 - 1e-9)).clamp > 0.0
    assert free.under_gas(assembly, parting * (1 + 1e-9)).clamp <= 0.0


@pytest.mark.parametrize("share", [-0.1, 1.1, np.nan])
def test_a_load_introduction_is_a_share(share: float) -> None:
    with pytest.raises(InputError, match="load_introduction"):
        replace(springs(), load_introduction=share)


SHIGLEY = checks.read(Path(__file__).parents[1] / "validation" / "shigley.csv", "tests.validation")
SHARING = [
    "L1-nL",
    "L1-np",
    "L1-n0",
    "L2-nL",
    "L2-np",
    "L2-n0",
    "L5-nL",
    "L6-nL",
    "L7-nL",
    "L7-n0",
    "L9-bolts",
    "L9-clamp",
    "T2-stress",
]


@pytest.mark.parametrize("id", SHARING)
def test_published_load_sharing(id: str) -> None:
    """Book examples that state C; half of the members' give is put into the gasket."""
    row = {r.id: r for r in (*SHIGLEY, *checks.load("load-sharing"))}[id]
    book = row.arguments()
    preload, load = (to_si(book[k], "force") for k in ("preload", "load"))
    area = to_si(book.get("stress_area", "1 m**2"), "area")
    proof = to_si(book.get("proof", "0 MPa"), "stress") * area
    kb = 1e9
    km = kb * (1.0 / float(book["constant"]) - 1.0)
    zone = straight("gasket", "seal", 2 * km)
    joint = Joint(Gasket("spring", (zone,)), 1.0, kb, 2 * km, 1e9, 0.1)
    state = joint.under_gas(joint.assemble(preload), load / joint.gas_area)
    ours = {
        "np": Q(proof / state.bolt_force),
        "nL": Q((proof - preload) / (state.bolt_force - preload)),
        "n0": Q(preload / (preload - state.clamp)),
        "bolts": Q(state.bolt_force, "N"),
        "clamp": Q(state.clamp, "N"),
        "stress": Q(state.bolt_force / area, "Pa"),
    }[id.partition("-")[2]]
    want = row.want()
    tolerance = parse(row.tolerance).to(want.units).magnitude
    assert ours.to(want.units).magnitude == pytest.approx(want.magnitude, abs=tolerance)


def test_hard_members_without_springback_open_at_the_textbook_load() -> None:
    seal = Zone(
        "lead",
        "seal",
        "length",
        np.array([0.0, 1e-3]),
        np.array([0.0, 1e6]),
        ((np.array([1e-3, 1e-3 - 1e-12]), np.array([1e6, 0.0])),),
        extent=0.276,
    )
    joint = Joint(Gasket("no springback", (seal,)), BOLTS, KB, 1e17, 1e9, BORE)
    preload = 50e3
    at = BOLTS * preload / joint.gas_area  # C is nil
    state = joint.under_gas(joint.assemble(preload), at * np.array([0.999, 0.9999, 1.0001]))
    assert (state.clamp <= 0.0).tolist() == [False, False, True]
    assert state.bolt_force[:2] == pytest.approx(preload, rel=1e-6)
    assert np.all(np.abs(state.seal_lift[:2]) < 1e-11)


# --------------------------------------------------------------------------- bending of the head
def test_bending_shifts_the_seal_as_two_springs_solved_by_hand() -> None:
    bend = {"bend_pressure": 0.9e-12, "bend_load": 2.5e-11}
    seal, body, preload = 2e9, 1e9, 50e3
    joint = springs(seal, body, **bend)
    length = 0.276
    # s = c - wp p - wq q and q = seal/length s, so the seal is a softer spring that starts later
    soft = seal / (1.0 + bend["bend_load"] * seal / length)
    c0 = BOLTS * preload / (soft + body)
    assembly = joint.assemble(preload)
    assert assembly.closure[0] == pytest.approx(c0, rel=1e-9)
    assert assembly.seal_load[0] == pytest.approx(soft * c0 / length, rel=1e-9)
    assert assembly.seal_closure[0] == pytest.approx(soft * c0 / seal, rel=1e-9)
    p = np.linspace(0.0, 150e5, 16)
    state = joint.under_gas(assembly, p)
    shift, gas = bend["bend_pressure"] * p, p * joint.gas_area
    advance = c0 + preload / KM + preload / KB
    ratio = 1.0 + KB / KM
    # n kb (a - c) = ratio (soft (c - shift) + body c) + P
    c = (BOLTS * KB * advance + ratio * soft * shift - gas) / (BOLTS * KB + ratio * (soft + body))
    assert np.all(c - shift > 0)
    q = soft * (c - shift) / length
    assert state.closure == pytest.approx(c, rel=1e-9)
    assert state.seal_load == pytest.approx(q, rel=1e-9)
    assert state.seal_closure == pytest.approx(c - shift - bend["bend_load"] * q, rel=1e-9)
    assert state.clamp == pytest.approx(length * q + body * c, rel=1e-9)


def test_a_head_that_bows_down_as_springs_solved_by_hand() -> None:
    """x = c + w - b q at the seal, c at the bolts, and the same nut advance as without the bow."""
    ring, sheet, give, bow, gas = 2e9, 1e9, 3e-11, 8e-6, 6e6
    joint = springs(ring, sheet, bend_load=give, bend_pressure=1e-12)
    flat = joint.assemble(50e3)
    advance = joint.advance_of(flat)
    length = joint.gasket.seals[0].extent
    for pressure in (0.0, gas):
        # (1 + kb/km) (ring x + sheet c) + P = n kb (a - c) and x (1 + b ring/L) - c = w - bend p
        lever = 1.0 + KB / KM
        left = np.array(
            [[lever * ring, lever * sheet + BOLTS * KB], [1.0 + give * ring / length, -1.0]]
        )
        force = pressure * joint.gas_area
        right = [BOLTS * KB * float(advance[0]) - force, bow - 1e-12 * pressure]
        x, _ = np.linalg.solve(left, right)
        bowed = joint.moved(flat, advance, bow)
        state = joint.under_gas(bowed, pressure)
        assert float(state.zone_loads["ring"]) == pytest.approx(ring / length * x, rel=1e-9)
        assert abs(out_of_balance(joint, bowed, state)) < BALANCE * 50e3


@each_construction
def test_what_a_bow_presses_hot_is_missing_cold(name: str) -> None:
    joint = real(name)
    flat = joint.assemble(50e3)
    advance = joint.advance_of(flat)
    peak, zone = 8e6, joint.gasket.seals[-1]
    left, hot = [], []
    for bow in (0.0, 2e-6, 5e-6, 10e-6):
        pressed = joint.moved(flat, advance, bow)
        cold = joint.moved(pressed, advance)
        hot.append(float(pressed.zone_loads[zone.name][0]))
        left.append(float(joint.under_gas(cold, peak).zone_loads[zone.name]))
        assert float(joint.under_gas(pressed, 0.0).seal_lift) == pytest.approx(0.0, abs=1e-12)
        assert cold.zone_tops[zone.name][0] >= flat.zone_tops[zone.name][0]
    assert np.all(np.diff(hot) >= 0.0) and hot[-1] > hot[0]
    assert np.all(np.diff(left) <= 1e-6) and left[-1] <= left[0]


@each_construction
def test_an_open_seal_stands_off_by_joint_and_bending(name: str) -> None:
    joint = real(name, yield_force=1e9)
    p = np.linspace(0.0, 4000e5, 81)
    assembly = joint.assemble(60e3, 55e3)
    state = joint.under_gas(assembly, p)
    open_ = (state.seal_load == 0.0) & (p * joint.gas_area <= BOLTS * 1e9)
    assert open_.sum() > 5
    assert state.seal_closure[open_] == pytest.approx(
        (state.closure - joint.bend_pressure * p)[open_], rel=1e-9
    )
    proud = max(z.stands_proud for z in joint.gasket.zones)
    for zone in joint.gasket.seals:  # further apart than the zone springs back
        top = assembly.zone_tops[zone.name]
        end = proud - zone.stands_proud + top - zone.recovery(top)
        assert np.all(state.seal_closure[open_] <= end + 1e-12)
    assert np.all(np.diff(state.seal_lift) > 0.0)


@each_construction
def test_bending_opens_the_seal_earlier(name: str) -> None:
    p = np.linspace(0.0, 110e5, 23)
    lift = {}
    for rigid in (True, False):
        joint = real(name, rigid)
        lift[rigid] = joint.under_gas(joint.assemble(60e3, 52e3), p).seal_lift
    assert np.all(lift[False][1:] > lift[True][1:])


def plate_rise(a: float, b: float, d: float, nu: float, p: float, q: float) -> float:
    """Rise at radius b of a plate held at a, from the plate equation, both parts at once."""
    from scipy.integrate import solve_bvp

    e = 1e-6 * a

    def slopes(t: Any, y: Any) -> Any:
        r1, r2 = e + (b - e) * t, b + (a - b) * t
        _, u1, m1, _, u2, m2 = y
        inner, outer = np.pi * r1**2 * p, np.pi * b**2 * p + 2 * np.pi * b * q
        return np.array(
            [
                (b - e) * u1,
                (b - e) * (m1 - u1 / r1),
                (b - e) * inner / (2 * np.pi * d * r1),
                (a - b) * u2,
                (a - b) * (m2 - u2 / r2),
                (a - b) * outer / (2 * np.pi * d * r2),
            ]
        )

    def ends(s: Any, f: Any) -> Any:
        return np.array(
            [
                s[1] - s[2] * e / 2,  # smooth in the middle
                f[0] - s[3],
                f[1] - s[4],
                f[2] - s[5],
                f[3],  # supported at a
                f[5] - (1 - nu) * f[4] / a,  # no moment there
            ]
        )

    t = np.linspace(0, 1, 201)
    out = solve_bvp(slopes, ends, t, np.zeros((6, t.size)), tol=1e-8, max_nodes=100_000)
    assert out.success
    return float(out.y[3, 0])


@pytest.mark.parametrize("seal", [0.020, 0.043, 0.054])
@pytest.mark.parametrize("poisson", [0.0, 0.33])
def test_bending_against_the_plate_equation(seal: float, poisson: float) -> None:
    d, bolt = 2.8e5, 0.055
    by_pressure = plate_rise(bolt, seal, d, poisson, 110e5, 0.0)
    by_load = plate_rise(bolt, seal, d, poisson, 0.0, 1e5)
    assert bending_by_pressure.si(110e5, seal, bolt, d, poisson) == pytest.approx(
        by_pressure, rel=1e-4
    )
    assert bending_by_line_load.si(1e5, seal, bolt, d, poisson) == pytest.approx(by_load, rel=1e-4)


@pytest.mark.parametrize("poisson", [0.0, 0.3, 0.5])
def test_limits_of_bending(poisson: float) -> None:
    a, b, d, load = 0.055, 0.055e-4, 2.8e5, 50e3
    centre = (3 + poisson) / (1 + poisson) * load * a**2 / (16 * np.pi * d)
    assert bending_by_line_load.si(load / (2 * np.pi * b), b, a, d, poisson) == pytest.approx(
        centre, rel=1e-6
    )
    assert bending_by_pressure.si(load / (np.pi * b**2), b, a, d, poisson) == pytest.approx(
        centre, rel=1e-6
    )
    assert bending_by_pressure.si(110e5, a, a, d, poisson) == pytest.approx(0.0, abs=1e-18)
    assert bending_by_line_load.si(1e5, a, a, d, poisson) == pytest.approx(0.0, abs=1e-18)


def test_units_at_the_door_of_bending() -> None:
    d = plate_stiffness("70 GPa", "35 mm", 0.33)
    newton_metre = d.to("N*m").magnitude
    assert newton_metre == pytest.approx(70e9 * 0.035**3 / 12 / (1 - 0.33**2))
    inch_made = plate_stiffness("10.1526e6 psi", "1.377953 in", 0.33).to("N*m").magnitude
    assert inch_made == pytest.approx(newton_metre, rel=1e-5)
    metric = bending_by_pressure("110 bar", "43 mm", "55 mm", d, 0.33)
    inch = bending_by_pressure(
        Q(110e5 / 6894.757293168361, "psi"), Q(43 / 25.4, "in"), Q(55 / 25.4, "in"), d, 0.33
    )
    assert metric.to("um").magnitude == pytest.approx(inch.to("um").magnitude)
    assert metric.to("m").magnitude == pytest.approx(
        bending_by_pressure.si(110e5, 0.043, 0.055, d, 0.33), rel=1e-12
    )
    ring = bending_by_line_load("100 N/mm", "43 mm", "55 mm", d, 0.33)
    assert ring.check("[length]")
    many = bending_by_pressure(Q([0, 55, 110], "bar"), "43 mm", "55 mm", d, 0.33)
    assert many.to("um").magnitude == pytest.approx(metric.to("um").magnitude * np.arange(3) / 2)


@pytest.mark.parametrize(
    ("args", "bad"),
    [
        (("5 kN", "43 mm", "55 mm", Q(1e5, "N*m"), 0.33), "pressure"),
        ((110e5, "43 mm", "55 mm", Q(1e5, "N*m"), 0.33), "pressure"),
        (("12 barg", "43 mm", "55 mm", Q(1e5, "N*m"), 0.33), "pressure"),
        (("110 bar", "43 mm**2", "55 mm", Q(1e5, "N*m"), 0.33), "seal_radius"),
        (("110 bar", "43 mm", "-55 mm", Q(1e5, "N*m"), 0.33), "bolt_radius"),
        (("110 bar", "43 mm", "55 mm", Q(0.0, "N*m"), 0.33), "plate"),
        (("110 bar", "43 mm", "55 mm", Q(1e5, "N*m"), 0.7), "poisson"),
        (("110 bar", "43 mm", "55 mm", 1e5, 0.33), "plate"),
        (("110 bar", "58 mm", "55 mm", Q(1e5, "N*m"), 0.33), "seal_radius"),
    ],
)
def test_wrong_input_to_bending(args: tuple[Any, ...], bad: str) -> None:
    with pytest.raises(InputError) as err:
        bending_by_pressure(*args)
    assert [f.field for f in err.value.faults] == [bad]
    with pytest.raises(InputError):
        bending_by_line_load("100 N", "43 mm", "55 mm", Q(1e5, "N*m"), 0.33)
    with pytest.raises(InputError):
        bending_by_line_load("100 N/mm", "58 mm", "55 mm", Q(1e5, "N*m"), 0.33)


# --------------------------------------------------------------------------- real gaskets
@each_construction
def test_zones_share_the_clamp(name: str) -> None:
    joint = real(name)
    assembly = joint.assemble([40e3, 70e3], [36e3, 60e3])
    zones = joint.gasket.zones
    for loads, preload in (
        (assembly.zone_loads, assembly.preload),
        (assembly.seated_loads, assembly.assembly_preload),
    ):
        total = sum(loads[z.name] * z.extent for z in zones)
        assert total == pytest.approx(BOLTS * preload, rel=1e-9)
    state = joint.under_gas(assembly, np.linspace(0, 200e5, 9))
    total = sum(state.zone_loads[z.name] * z.extent for z in zones)
    assert total == pytest.approx(state.clamp, rel=1e-9, abs=1e-4)
    seal = sum(state.zone_loads[z.name] for z in joint.gasket.seals)
    assert seal == pytest.approx(state.seal_load, rel=1e-9, abs=1e-4)


@each_construction
def test_under_no_gas_the_joint_stands_as_assembled(name: str) -> None:
    joint = real(name)
    assembly = joint.assemble(60e3, 51e3)
    state = joint.under_gas(assembly, 0.0)
    assert state.bolt_force == pytest.approx(51e3, rel=1e-9)
    assert state.clamp == pytest.approx(BOLTS * 51e3, rel=1e-9)
    assert state.seal_load == pytest.approx(float(assembly.seal_load[0]), rel=1e-9)
    assert abs(state.seal_lift) < 1e-13


@settings(max_examples=60, deadline=None)
@given(
    name=names,
    first=st.floats(0.5e3, 100e3),
    left=st.floats(0.3, 1.0),
    rigid=st.booleans(),
    peak=st.floats(1e5, 800e5),
)
def test_forces_balance(name: str, first: float, left: float, rigid: bool, peak: float) -> None:
    joint = real(name, rigid)
    p = np.linspace(0.0, peak, 33)
    assembly = joint.assemble(first, left * first)
    state = joint.under_gas(assembly, p)
    ones, off = np.ones_like(p), out_of_balance(joint, assembly, state)
    assert np.all(np.abs(off) <= BALANCE * BOLTS * np.maximum(state.bolt_force, 1.0))
    held = p * joint.gas_area <= BOLTS * YIELD
    assert (BOLTS * state.bolt_force - state.clamp)[held] == pytest.approx(
        state.gas_force[held], rel=1e-9, abs=1e-6
    )
    assert np.all(state.bolt_force <= YIELD * (1 + 1e-9))
    assert np.all(state.clamp >= 0.0)
    assert np.all(state.seal_load >= 0.0)
    assert np.all(np.diff(state.clamp) <= 1e-9 * BOLTS * first)  # more gas, no more clamp
    assert np.all(np.diff(state.bolt_force) >= -1e-9 * first)
    for f in ("bolt_force", "clamp", "seal_load", "seal_lift", "closure"):
        assert np.shape(getattr(state, f)) == ones.shape
        assert np.all(np.isfinite(getattr(state, f)))


@each_construction
@pytest.mark.parametrize("rigid", [True, False])
def test_more_preload_never_leaves_less_clamp(name: str, rigid: bool) -> None:
    joint = real(name, rigid, yield_force=1e9)
    preload = np.linspace(5e3, 90e3, 60)
    state = joint.under_gas(joint.assemble(preload, 0.9 * preload), np.linspace(0, 150e5, 12))
    assert state.clamp.shape == (60, 12)
    assert np.all(np.diff(state.clamp, axis=0) >= -1e-9 * BOLTS * 90e3)
    assert np.all(np.diff(state.bolt_force, axis=0) >= -1e-9 * 90e3)


# --------------------------------------------------------------------------- yield
def test_yield_of_straight_springs_by_hand() -> None:
    joint = springs()
    joint = Joint(joint.gasket, BOLTS, KB, KM, 60e3, BORE)
    preload = 58e3
    share = textbook(joint, 3e9)
    # yield at C P/n = 2 kN; go on to twice that gas force
    at = 2e3 * BOLTS / share / joint.gas_area
    state = joint.under_gas(joint.assemble(preload), at * np.array([0.0, 0.5, 1.0, 2.0, 1.0, 0.0]))
    assert state.bolt_force[3] == pytest.approx(60e3, rel=1e-9)
    assert state.clamp[3] == pytest.approx(BOLTS * 60e3 - 2 * at * joint.gas_area, rel=1e-9)
    # what the clamped parts gave back while the fastener stayed at its yield force
    give = at * joint.gas_area / BOLTS * (1 / KM + BOLTS / 3e9)
    assert state.plastic_stretch == pytest.approx([give], rel=1e-9)
    lost = give / (1 / KB + 1 / KM + BOLTS / 3e9)
    assert state.bolt_force[[0, 5]] == pytest.approx(preload - lost, rel=1e-9)


@each_construction
def test_yielded_fasteners_leave_less_clamp(name: str) -> None:
    joint = real(name)
    assembly = joint.assemble(0.98 * YIELD)
    low = joint.under_gas(assembly, np.array([0.0, 10e5]))
    high = joint.under_gas(assembly, np.array([0.0, 10e5, 500e5]))
    assert low.plastic_stretch[0] == 0.0
    assert high.plastic_stretch[0] > 0.0
    assert np.all(high.clamp[:2] < low.clamp)
    assert np.max(high.bolt_force) <= YIELD * (1 + 1e-9)
    assert high.bolt_force[2] == pytest.approx(YIELD, rel=1e-9)


def test_gas_that_overcomes_the_fasteners_leaves_no_clamp() -> None:
    joint = real("multi-layer steel")
    limit = BOLTS * YIELD / joint.gas_area
    state = joint.under_gas(joint.assemble(60e3), limit * np.array([0.5, 0.999, 1.001, 3.0]))
    assert state.clamp.tolist()[2:] == [0.0, 0.0]
    assert state.bolt_force[2:] == pytest.approx(YIELD, rel=1e-9)
    assert state.gas_force[3] == pytest.approx(3 * BOLTS * YIELD)
    assert np.all(np.isfinite(state.seal_lift))


# --------------------------------------------------------------------------- losses
@each_construction
def test_losses_come_off_the_unloading_path(name: str) -> None:
    joint = real(name)
    full, lost, fresh = joint.assemble(60e3), joint.assemble(60e3, 50e3), joint.assemble(50e3)
    # less closure is given back than was needed for the last 10 kN
    back = full.closure - lost.closure
    there = full.closure - fresh.closure
    assert 0.0 < back[0] < there[0]
    assert lost.preload[0] == 50e3
    assert lost.assembly_preload[0] == 60e3
    for zone in joint.gasket.zones:
        assert lost.seated_loads[zone.name] == pytest.approx(full.zone_loads[zone.name])
        assert lost.zone_tops[zone.name] == pytest.approx(full.zone_tops[zone.name])
        assert np.all(lost.zone_loads[zone.name] <= full.zone_loads[zone.name] * (1 + 1e-12))


def test_a_zone_that_stands_proud_is_loaded_first() -> None:
    length, area = 0.276, 4e-3
    zones = (
        straight("ring", "seal", 1e9 / length, proud=50e-6, extent=length),
        straight("sheet", "body", 4e9 / area, extent=area),
    )
    joint = Joint(Gasket("proud", zones), BOLTS, KB, KM, YIELD, BORE)
    # 1e9 N/m over 50 um carry 50 kN before the sheet is touched
    low, high = joint.assemble(10e3), joint.assemble(50e3)
    assert low.zone_loads["sheet"][0] == 0.0
    assert low.zone_loads["ring"][0] * length == pytest.approx(40e3)
    assert high.closure[0] == pytest.approx(50e-6 + 150e3 / 5e9)
    assert high.zone_loads["sheet"][0] * area == pytest.approx(120e3)


# --------------------------------------------------------------------------- turning, stiffness
def test_turn_of_straight_springs_by_hand() -> None:
    give = 1 / KB + 1 / KM + BOLTS / 3e9
    assert springs().turned(10e3, 0.2e-3) == pytest.approx(10e3 + 0.2e-3 / give, rel=1e-9)
    assert springs().turned(10e3, 0.0) == pytest.approx(10e3, rel=1e-9)


@each_construction
def test_turn_goes_back_and_forth(name: str) -> None:
    joint = real(name)
    low, high = joint.assemble(15e3), joint.assemble(60e3)
    advance = (high.closure - low.closure)[0] + 45e3 / KB + 45e3 / KM
    assert joint.turned(15e3, float(advance)) == pytest.approx(60e3, rel=1e-9)


def test_stiffness_of_straight_springs() -> None:
    joint = springs()
    assert joint.gasket_stiffness(joint.assemble(50e3)) == pytest.approx(3e9, rel=1e-9)


@each_construction
def test_gasket_comes_back_stiffer_than_it_went(name: str) -> None:
    joint = real(name)
    near, full = joint.assemble(0.99 * 60e3), joint.assemble(60e3)
    went = BOLTS * 0.01 * 60e3 / (full.closure - near.closure)[0]
    assert joint.gasket_stiffness(full) > went


# --------------------------------------------------------------------------- shapes and doors
@each_construction
def test_many_builds_equal_single_calls(name: str) -> None:
    joint = real(name)
    rng = np.random.default_rng(7)
    first = rng.uniform(10e3, 84e3, 6)
    second = first * rng.uniform(0.7, 1.0, 6)
    p = rng.uniform(0, 400e5, (6, 9))
    many = joint.under_gas(joint.assemble(first, second), p)
    for i in range(6):
        one = joint.under_gas(joint.assemble(first[i], second[i]), p[i])
        for f in ("bolt_force", "clamp", "seal_load", "seal_closure", "closure", "seal_lift"):
            assert getattr(one, f).shape == (9,)
            assert getattr(one, f) == pytest.approx(getattr(many, f)[i], rel=1e-9, abs=1e-9)
        assert one.plastic_stretch == pytest.approx(many.plastic_stretch[i : i + 1], abs=1e-15)
        for zone in joint.gasket.zones:
            assert one.zone_loads[zone.name] == pytest.approx(
                many.zone_loads[zone.name][i], rel=1e-9, abs=1e-3
            )


def test_shapes() -> None:
    joint = real("multi-layer steel")
    one = joint.assemble(60e3)
    assert isinstance(joint.under_gas(one, 50e5).bolt_force, float)
    assert joint.under_gas(one, [50e5]).bolt_force.shape == (1,)
    # one build, several histories of one load each: none of them feels another's yielding
    apart = joint.under_gas(joint.assemble(84e3), np.array([[10e5], [500e5], [10e5]]))
    assert apart.bolt_force.shape == (3, 1)
    assert apart.bolt_force[0, 0] == apart.bolt_force[2, 0]
    assert apart.plastic_stretch[0] == 0.0 < apart.plastic_stretch[1]
    three = joint.assemble([50e3, 60e3, 70e3])
    assert joint.under_gas(three, 50e5).bolt_force.shape == (3, 1)
    assert joint.under_gas(three, [0, 50e5]).zone_loads["combustion bead"].shape == (3, 2)


def test_order_of_pressures_does_not_matter() -> None:
    joint = real("fibre composite")
    p = np.linspace(0, 300e5, 15)
    assembly = joint.assemble(80e3, 70e3)
    up, down = joint.under_gas(assembly, p), joint.under_gas(assembly, p[::-1])
    assert up.bolt_force == pytest.approx(down.bolt_force[::-1], rel=1e-10)


def test_units_of_the_results() -> None:
    joint = real("multi-layer steel")
    assembly = joint.assemble(60e3, 55e3)
    assert quantify(assembly).preload.to("kN").magnitude == pytest.approx([55.0])
    state = joint.under_gas(assembly, 100e5)
    shown = quantify(state)
    assert shown.pressure.to("barg").magnitude == pytest.approx(100.0)
    assert shown.gas_force.to("kN").magnitude == pytest.approx(1e4 * np.pi / 4 * 0.088**2)
    assert shown.seal_load.check("[force] / [length]")
    assert shown.seal_lift.to("m").magnitude == state.seal_lift


@pytest.mark.parametrize(
    "field", ["bolts", "bolt_stiffness", "member_stiffness", "yield_force", "seal_diameter"]
)
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan")])
def test_a_joint_wants_positive_numbers(field: str, value: float) -> None:
    with pytest.raises(InputError) as err:
        real("multi-layer steel", rigid=True, **{field: value})
    assert [f.field for f in err.value.faults] == [field]


@pytest.mark.parametrize("field", ["bend_pressure", "bend_load"])
@pytest.mark.parametrize("value", [-1e-12, float("nan")])
def test_a_head_does_not_bend_the_wrong_way(field: str, value: float) -> None:
    with pytest.raises(InputError) as err:
        real("multi-layer steel", rigid=True, **{field: value})
    assert [f.field for f in err.value.faults] == [field]


def test_a_joint_wants_a_seal() -> None:
    body = Gasket("sheet", (straight("sheet", "body", 1e12),))
    with pytest.raises(InputError, match="combustion seal"):
        Joint(body, BOLTS, KB, KM, YIELD, BORE)


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (0.0, None, "above zero"),
        (-5e3, None, "above zero"),
        (float("nan"), None, "above zero"),
        (float("inf"), None, "above zero"),
        (50e3, 0.0, "above zero"),
        (50e3, float("nan"), "above zero"),
        (50e3, 51e3, "at most the assembly preload"),
        ([[50e3, 60e3]], None, "one preload per build"),
    ],
)
def test_wrong_preload(first: Any, second: Any, words: str) -> None:
    with pytest.raises(InputError, match=words) as err:
        real("multi-layer steel").assemble(first, second)
    assert err.value.faults[0].field == "preload"


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_wrong_pressure(value: float) -> None:
    joint = real("multi-layer steel")
    with pytest.raises(InputError) as err:
        joint.under_gas(joint.assemble(60e3), [10e5, value])
    assert err.value.faults[0].field == "pressure"


# --------------------------------------------------------------------------- quantities at the door
def test_a_joint_of_quantities_is_the_joint_of_plain_numbers() -> None:
    gasket = constructions.make("multi-layer steel")
    sized = gasket.sized(np.pi * 0.088, 4e-3, 0.25)
    inch = gasket.sized(Q(np.pi * 0.088 / 0.0254, "in"), "40 cm**2", Q(250, "mm"))
    assert [z.extent for z in inch.zones] == pytest.approx([z.extent for z in sized.zones])
    plain = Joint(sized, 2.5, 350e6, 1.2e9, 90e3, 0.089)
    sizes: list[Any] = [Q(350, "kN/mm"), "1200 kN/mm", Q(90, "kN"), Q(89, "mm")]
    joint = Joint(inch, 2.5, *sizes)
    assert joint.yield_force == pytest.approx(90e3)
    want = plain.assemble(60e3, 48e3)
    for first, then in ((Q(60, "kN"), Q(48, "kN")), ("60 kN", "48 kN"), (60e3, Q(48, "kN"))):
        got = joint.assemble(first, then)
        assert got.preload == pytest.approx(want.preload)
        assert got.closure == pytest.approx(want.closure)
    under = plain.under_gas(want, 80e5).seal_lift
    assert joint.under_gas(want, Q(80, "bar")).seal_lift == pytest.approx(under)
    assert joint.under_gas(want, "80 barg").seal_lift == pytest.approx(under)
    assert joint.advance("60 kN") == pytest.approx(plain.advance(60e3))
    assert joint.turned("20 kN", Q(0.1, "mm")) == pytest.approx(plain.turned(20e3, 1e-4))
    assert joint.closure_at(want, Q([40.0], "kN")) == pytest.approx(
        plain.closure_at(want, np.array([40e3]))
    )


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda j, a: j.assemble(Q(48, "bar")), "assembly_preload"),
        (lambda j, a: j.assemble(60e3, "48 mm"), "preload"),
        (lambda j, a: j.assemble([Q(48, "kN"), Q(50, "kN")]), "assembly_preload"),
        (lambda j, a: j.under_gas(a, Q(80, "kN")), "pressure"),
        (lambda j, a: j.under_gas(a, "80 bara"), "pressure"),
        (lambda j, a: j.advance(Q(1, "mm")), "preload"),
        (lambda j, a: j.turned(20e3, Q(1, "kN")), "advance"),
        (lambda j, a: j.moved(a, Q([1.0], "kN")), "advance"),
        (lambda j, a: j.tightened_again(a, Q([1.0], "mm")), "preload"),
        (lambda j, a: replace(j, yield_force=Q(5, "MPa")), "yield_force"),
        (lambda j, a: replace(j, bend_load=Q(5, "mm")), "bend_load"),
        (lambda j, a: j.gasket.sized(Q(5, "kN"), 1.0), "seal_length"),
        (lambda j, a: j.gasket.zones[0].loading(Q(5, "kN")), "closure"),
        (lambda j, a: j.gasket.zones[0].required(Q(5, "kN")), "pressure"),
        (lambda j, a: replace(j.gasket.zones[0], width=Q(5, "kN")), "width"),
        (lambda j, a: replace(j.gasket.zones[0], load=Q([0.0, 1.0], "bar")), "load"),
    ],
)
def test_other_quantities_are_refused_by_name(call: Any, field: str) -> None:
    joint = real("multi-layer steel")
    with pytest.raises(InputError) as err:
        call(joint, joint.assemble(60e3, 48e3))
    assert [f.field for f in err.value.faults] == [field]


def test_a_zone_reads_quantities() -> None:
    zone = real("multi-layer steel").gasket.zones[0]
    own: dict[str, Any] = {
        "width": Q(zone.width / 0.0254, "in"),
        "load": Q(zone.load / 1e3, "N/mm"),
    }
    inch = replace(zone, **own)
    assert inch.width == pytest.approx(zone.width)
    assert inch.load == pytest.approx(zone.load)
    at = 0.5 * zone.closure[-1]
    written: list[Any] = [Q(at * 1e3, "mm"), f"{at * 1e3} mm"]
    for closure in written:
        assert zone.loading(closure) == pytest.approx(zone.loading(at))
        assert zone.recovery(closure) == pytest.approx(zone.recovery(at))
        assert zone.carried(closure, at) == pytest.approx(zone.carried(at, at))
    assert zone.required("10 bar") == pytest.approx(zone.required(1e6))
