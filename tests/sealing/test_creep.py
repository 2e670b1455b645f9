"""Creep of the zones of a gasket: who relaxes, who takes over, and what the fasteners lose.

Against springs in parallel, set up as one linear system and solved by numpy, and against the curves
of a shipped gasket in a force balance of its own, solved by scipy.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from sealkit import Q, build, scatter
from sealkit.analysis import clamp_side, deck_look, seal_creep_of
from sealkit.analysis.clamp import zone_creep
from sealkit.analysis.gasket import gasket_of
from sealkit.errors import InputError
from sealkit.report import run
from sealkit.sealing import constructions, heat
from sealkit.sealing.gaskets import Creep
from sealkit.sealing.joint import Joint
from tests.sealing.forces import balance
from tests.sealing.test_joint import BOLTS, KB, KM, real, springs

SIX = build.demo("boosted-six")
FRAME = 26.7e3 / 0.1246e-3 / 1290e-6  # Pa/m: load, stretch of bolt and specimen of ASTM F38 B


@pytest.mark.parametrize("share", [0.05, 0.2, 0.5])
@pytest.mark.parametrize("frame", [np.inf, FRAME])
def test_springs_in_parallel(share: float, frame: float) -> None:
    ring, body, preload = 2e9, 1e9, 50e3
    joint = springs(ring, body)
    area = joint.gasket.others[0].extent
    before = joint.assemble(preload)
    after = joint.relaxed(before, {"sheet": Creep(share, frame)})

    # unknowns: bolt force, ring force, body force, closure; nut advance a
    held = preload * BOLTS * body / (ring + body)
    creep = share * held / body + share * held / area / frame
    a = preload / KB + preload / KM + preload * BOLTS / (ring + body)
    system = np.array(
        [
            [1 / KB + 1 / KM, 0, 0, 1],
            [-BOLTS, 1, 1, 0],
            [0, 1, 0, -ring],
            [0, 0, 1, -body],
        ]
    )
    bolt, on_ring, on_body, closure = np.linalg.solve(system, [a, 0, 0, -body * creep])
    assert after.preload[0] == pytest.approx(bolt, rel=1e-9)
    assert after.closure[0] == pytest.approx(closure, rel=1e-9)
    length = joint.gasket.seals[0].extent
    assert length * after.zone_loads["ring"][0] == pytest.approx(on_ring, rel=1e-9)
    assert area * after.zone_loads["sheet"][0] == pytest.approx(on_body, rel=1e-9)
    assert on_ring > ring / body * held  # the ring takes over


@pytest.mark.parametrize("name", constructions.names())
def test_curves_of_a_gasket_in_a_balance_of_their_own(name: str) -> None:
    joint = real(name)
    before = joint.assemble(50e3, 47e3)
    creep = {z.name: Creep(0.1 + 0.1 * i) for i, z in enumerate(joint.gasket.zones)}
    after = joint.relaxed(before, creep)

    proud = max(z.stands_proud for z in joint.gasket.zones)
    sets, paths = {}, {}
    for z in joint.gasket.zones:
        x, f = (v[0] for v in z.path(before.zone_tops[z.name]))
        load, top = before.zone_loads[z.name][0], before.zone_tops[z.name][0]

        def at(c: float, x: Any = x, f: Any = f) -> float:
            return float(np.interp(c, x, f))

        def where(wanted: float, at: Any = at, top: float = top) -> float:
            return float(brentq(lambda c: at(c) - wanted, 0.0, top, xtol=1e-16, rtol=1e-15))

        sets[z.name], paths[z.name] = 0.0, at
        if load > 0:
            sets[z.name] = where(load) - where((1 - creep[z.name].share) * load)

    def seal_load(closure: float) -> float:
        return sum(
            paths[z.name](closure - proud + z.stands_proud - sets[z.name])
            for z in joint.gasket.seals
        )

    def short(c: float) -> float:
        """Bolt force less gasket force at this closure; the seal stands by its bend lower."""
        seal = brentq(lambda s: s + joint.bend_load * seal_load(s) - c, c - 1e-3, c, xtol=1e-16)
        force = joint.gasket.seals[0].extent * seal_load(seal)
        for z in joint.gasket.others:
            own = paths[z.name](c - proud + z.stands_proud - sets[z.name])
            force += z.extent * own
        return BOLTS * (float(joint.advance_of(before)[0]) - c) / (1 / KB + 1 / KM) - force

    c = float(brentq(short, 0.0, float(before.closure[0]) + 1e-3, xtol=1e-16))
    assert after.closure[0] == pytest.approx(c, abs=2e-10)
    for zone, by in sets.items():
        assert after.zone_sets[zone][0] == pytest.approx(by, abs=1e-10)


def test_the_relaxometer_of_the_standard_loses_the_share_of_the_sheet() -> None:
    """One zone alone under the bolt of ASTM F38 B: the joint loses r, as the test would print."""
    area = 1290e-6
    body = constructions.make("fibre composite").others[0]
    seal = constructions.make("fibre composite").seals[0]
    zones = (replace(seal, stands_proud=-1.0, extent=1e-6), replace(body, extent=area))
    gasket = replace(constructions.make("fibre composite"), zones=zones)
    joint = Joint(gasket, 1.0, FRAME * area, 1e15, 1e9, 0.04)
    before = joint.assemble(26.7e3)
    after = joint.relaxed(before, {body.name: Creep(0.2, FRAME)})
    assert after.preload[0] / 26.7e3 == pytest.approx(0.8, abs=1e-6)
    stretch = np.array([before.preload[0], after.preload[0]]) / (FRAME * area)
    printed = constructions.creep_relaxation.si(stretch[0], stretch[1])
    assert printed == pytest.approx(0.2, abs=1e-6)
    # the number of the table is that of the standard's bolt, to its three figures
    row = zone_creep(SIX, gasket_of(SIX))["fibre body"]
    assert row.frame == pytest.approx(FRAME, rel=0.005)


def test_a_ring_that_does_not_creep_takes_over() -> None:
    """Order and size from an independent solution of the same joint, body 20 to 50 % relaxed."""
    tight = SIX.vary({"fasteners.torque": "150 N*m", "fasteners.preload_scatter": "15 %"})
    clamp, joint = clamp_side(tight)
    peak = run(tight).gas.design_gauge
    rings, peaks, bolts = [], [], []
    for share in (0.0, 0.2, 0.35, 0.5):
        after = joint.relaxed(clamp.before_creep, {"fibre body": Creep(share)})
        rings.append(after.zone_loads["steel ring"][0])
        peaks.append(float(joint.under_gas(after, peak).zone_loads["steel ring"]))
        bolts.append(after.preload[0])
    assert np.all(np.diff(rings) > 0) and np.all(np.diff(peaks) > 0)
    assert np.all(np.diff(bolts) < 0)
    assert 380e3 < rings[1] < rings[3] < 405e3
    assert bolts[3] > 0.97 * bolts[0]


@pytest.mark.parametrize(
    ("field", "value", "ring", "bolt"),
    [
        ("gasket.creep_relaxation", "40 %", 1, -1),
        ("gasket.seal_creep_relaxation", "10 %", -1, -1),
        ("heat.cycles", 2000, 1, -1),
    ],
)
def test_directions_on_a_sheet(field: str, value: Any, ring: int, bolt: int) -> None:
    one, other = run(SIX), run(SIX.vary({field: value}))
    at_rest = [float(r.clamp.low.zone_loads["steel ring"][0]) for r in (one, other)]
    assert np.sign(at_rest[1] - at_rest[0]) == ring
    assert np.sign(other.clamp.preload.low - one.clamp.preload.low) == bolt


def test_loss_goes_with_the_logarithm_of_the_cycles() -> None:
    fibre = SIX.vary({"gasket.creep_relaxation": "10 %"})
    shares = [
        float(zone_creep(fibre.vary({"heat.cycles": n}), gasket_of(fibre))["fibre body"].share)
        for n in (22, 100, 1000, 10000)
    ]
    assert shares[0] == pytest.approx(0.1)
    assert shares[2] - shares[1] == pytest.approx(shares[3] - shares[2], rel=1e-3)
    hours = float(heat.relaxed_share(0.1, Q(1000, "hour")))
    assert shares[2] == pytest.approx(hours)


def test_many_builds_are_the_single_builds() -> None:
    joint = real("fibre composite")
    share = np.array([0.0, 0.1, 0.3])
    preload = np.array([40e3, 50e3, 60e3])
    many = joint.relaxed(joint.assemble(preload), {"fibre body": Creep(share, FRAME)})
    for i in range(3):
        one = joint.relaxed(
            joint.assemble(preload[i]), {"fibre body": Creep(float(share[i]), FRAME)}
        )
        assert many.preload[i] == pytest.approx(one.preload[0], rel=1e-9)
        assert many.zone_loads["armoured bore edge"][i] == pytest.approx(
            one.zone_loads["armoured bore edge"][0], rel=1e-9
        )


def test_the_ring_takes_over_on_the_deck_too() -> None:
    rings = []
    for share in ("0 %", "40 %"):
        look = deck_look(SIX.vary({"gasket.creep_relaxation": share, "deck.mesh": "16 mm"}))
        rings.append(float(look.standing.line_load(2, "steel ring")[1].mean()))
        assert rings[-1] == pytest.approx(look.average, rel=0.06)
        assert balance(look.standing)[0] == pytest.approx(0.0, abs=1.0)
    assert rings[1] > 1.05 * rings[0]


def test_zones_of_ones_own_creep_alike_unless_the_seal_is_told() -> None:
    zone = gasket_of(SIX).zones
    own = SIX.vary_si(
        {"gasket.construction": "own", "gasket.zones": zone, "gasket.creep_relaxation": 0.1}
    )
    assert seal_creep_of(own) == 0.1
    assert set(zone_creep(own, gasket_of(own))) == {z.name for z in zone}
    told = own.vary_si({"gasket.seal_creep_relaxation": 0.0})
    assert set(zone_creep(told, gasket_of(told))) == {"fibre body"}


# --------------------------------------------------------------------------- ring in body
def test_a_thinner_body_is_one_that_stands_less_proud() -> None:
    """Curves of the same body from further down: the zone moved by hand, and one made thinner."""
    clamp, joint = clamp_side(SIX)
    by = np.array([-50e-6, 0.0, 50e-6])
    many = replace(joint, thinner={"fibre body": by}).assemble(clamp.preload.assembly)
    for i, less in enumerate(by):
        zones = tuple(
            replace(z, stands_proud=z.stands_proud - less) if z.role == "body" else z
            for z in joint.gasket.zones
        )
        moved = replace(joint, gasket=replace(joint.gasket, zones=zones))
        one = moved.assemble(clamp.preload.assembly)
        for zone, load in one.zone_loads.items():
            assert many.zone_loads[zone][i] == pytest.approx(load[0], rel=1e-8)
        drawn = constructions.make(
            "fibre body with steel ring", ring_thickness=Q(1.25e-3 + less, "m")
        ).sized(*(z.extent for z in joint.gasket.zones))
        near = replace(joint, gasket=drawn).assemble(clamp.preload.assembly)
        assert near.zone_loads["steel ring"][0] == pytest.approx(
            one.zone_loads["steel ring"][0], rel=0.005
        )


def test_body_over_ring_decides_the_ring_and_scatters() -> None:
    """Within a tolerance of 0.05 mm the margin of the ring goes from near none to plenty."""
    margins, maps = [], []
    for over in ("0.05 mm", "0.10 mm", "0.15 mm"):
        sheet = SIX.vary({"gasket.body_over_ring": over, "deck.mesh": "16 mm"})
        rows = {r.key: r for r in run(sheet).limits}
        margins.append(float(rows["residual"].margin))
        maps.append(float(deck_look(sheet).standing.line_load(2, "steel ring")[1].mean()))
    assert margins[0] > margins[1] + 0.3 > margins[2] + 0.6
    assert maps[0] > maps[1] > maps[2]
    assert margins[1] == pytest.approx(
        float({r.key: r for r in run(SIX).limits}["residual"].margin)
    )
    spread = [
        scatter.run(SIX.vary({"gasket.body_tolerance": t}), count=2048).groups["gas leak"].value
        for t in ("0 mm", "0.05 mm", "0.10 mm")
    ]
    assert spread[0] < spread[1] < spread[2]


def test_only_a_ring_has_a_body_over_it() -> None:
    with pytest.raises(InputError, match="body_over_ring"):
        build.demo("boosted-four").vary({"gasket.body_over_ring": "0.1 mm"})


def test_creep_of_an_unknown_zone_is_refused() -> None:
    joint = springs()
    with pytest.raises(InputError, match="creep"):
        joint.relaxed(joint.assemble(50e3), {"wire": Creep(0.1)})
