"""A block that gives way: columns in series with the gasket, against a solid and by hand."""

from __future__ import annotations

import functools
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from sealkit import InputError, analysis, build, tables
from sealkit.analysis import deck_look
from sealkit.sealing import constructions
from sealkit.sealing.deck import DeckMap
from sealkit.sealing.deck.block import RIGID, Block
from sealkit.sealing.deck.block import block as door
from sealkit.sealing.gaskets import Creep
from tests.sealing.forces import balance
from tests.sealing.test_deck import BOLT, HEAD, SEAL, assembled, four, four_map

IRON, ALUMINIUM = 105e9, 72e9
block = door.si


def barrel_squeeze(modulus: float, inner: float, wall: float, depth: float) -> float:
    """Mean squeeze per line load of a free-standing barrel, as an axisymmetric solid."""
    from skfem import (
        Basis,
        BilinearForm,
        ElementQuad2,
        ElementVector,
        LinearForm,
        MeshQuad,
        condense,
        solve,
    )
    from skfem.helpers import ddot, eye, sym_grad, trace

    nu = 0.211
    mesh = MeshQuad.init_tensor(np.linspace(inner, inner + wall, 7), np.linspace(0.0, depth, 41))
    basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=4)
    mu, lam = modulus / (2 * (1 + nu)), modulus * nu / ((1 + nu) * (1 - 2 * nu))

    @BilinearForm
    def stiffness(u: Any, v: Any, at: Any) -> Any:
        r = at.x[0]
        e, f, hoop, other = sym_grad(u), sym_grad(v), u[0] / r, v[0] / r
        spread = trace(e) + hoop
        stress = 2 * mu * e + lam * eye(spread, 2)
        return r * (ddot(stress, f) + (2 * mu * hoop + lam * spread) * other)

    top = basis.boundary(mesh.facets_satisfying(lambda x: np.isclose(x[1], depth)))

    @LinearForm
    def press(v: Any, at: Any) -> Any:
        return -at.x[0] * v[1] / wall  # a line load of one

    k, f = stiffness.assemble(basis), press.assemble(top)
    foot = basis.get_dofs(lambda x: np.isclose(x[1], 0.0))
    u = solve(*condense(k, f, D=foot))
    radius = inner + 0.5 * wall
    return float(-(f @ u) * -1.0 / radius)


def test_a_free_barrel_is_a_column() -> None:
    """Its foot held, its top free to widen: within 5 % of q L / (E w)."""
    row = tables.load("blocks")["open"]
    solid = barrel_squeeze(IRON, 0.043, row["wall"], row["depth"])
    assert block("open", IRON).line == pytest.approx(solid, rel=0.05)


def test_open_gives_way_most_and_aluminium_more_than_iron() -> None:
    rigid, closed, open_ = (block(k, IRON) for k in ("rigid", "closed", "open"))
    assert rigid == RIGID
    assert 0.0 < closed.line < open_.line and 0.0 < closed.face < open_.face
    for kind in ("closed", "open"):
        assert block(kind, ALUMINIUM).line == pytest.approx(
            block(kind, IRON).line * IRON / ALUMINIUM
        )
    # a liner is of its own iron, the deck beside it of the block
    assert block("wet liner", IRON).line == block("wet liner", ALUMINIUM).line
    assert block("wet liner", IRON).face < block("wet liner", ALUMINIUM).face
    assert door("open", "105 GPa") == block("open", IRON)
    with pytest.raises(InputError, match="kind"):
        block("half open", IRON)
    with pytest.raises(InputError, match="block"):
        four_map().vary(block="open")


@pytest.mark.parametrize("name", constructions.names())
def test_a_stiff_head_presses_gasket_and_columns_in_series(name: str) -> None:
    """Worked out by hand, one wall under all seal zones of a bore."""
    under = block("open", IRON)
    made = four_map(name).vary(modulus=72.4e9 * 1e6, block=under)
    state = made.assemble(50e3)
    proud = max(z.stands_proud for z in made.gasket.zones)
    length = np.pi * SEAL

    def settled(load: Any, level: float, compliance: float) -> float:
        """Load of zones above one column, at this closure of head to datum."""
        high = float(load(level))
        if high <= 0.0:
            return 0.0
        return float(brentq(lambda q: q - float(load(level - compliance * q)), 0.0, high))

    def of(zones: Any, compliance: float, level: float) -> float:
        def load(c: float) -> float:
            return sum(float(z.loading(c - proud + z.stands_proud)) for z in zones)

        return settled(load, level, compliance)

    def total(level: float) -> float:
        out = length * of(made.gasket.seals, under.line, level)
        for z in made.gasket.others:
            if z.role == "body":
                out += made.body_area * of([z], under.face, level)
            else:
                out += made.liquid_length * of([z], under.line, level)
        return 4 * out

    level = brentq(lambda x: total(x) - 500e3, 0.0, 5e-3)
    want = of(made.gasket.seals, under.line, level)
    assert state.line_load(1)[1].mean() == pytest.approx(want, rel=0.02)
    for z in made.gasket.seals:
        each = z.loading(level - under.line * want - proud + z.stands_proud)
        assert state.line_load(1, z.name)[1].mean() == pytest.approx(float(each), rel=0.02)


@pytest.mark.parametrize("name", ["multi-layer steel", "multi-layer steel with stopper"])
@pytest.mark.parametrize("kind", ["rigid", "closed", "open"])
def test_seals_side_by_side_share_the_wall_they_stand_on(name: str, kind: str) -> None:
    """At every point: the head has closed each seal and pressed the wall down under all of them.

    Of a seal the head may be lifted by what it springs back itself and what the wall comes up
    until then, and by no more than the wall is pressed down in all.
    """
    under = block(kind, ALUMINIUM)
    made = four_map(name).vary(block=under)
    low = made.assemble(50e3, 45e3)
    up = made.under_gas(low, [0.0, 80e5, 0.0, 0.0])
    for state in (low, up):
        total = sum(state.loads[i][1] for i in range(len(made.gasket.seals)))
        head = made.seals[0].closure(state.unknowns)
        sunk = under.line * np.asarray(total).reshape(4, -1)[0]
        for (c, load, _), top in zip(state.loads, state.tops, strict=False):
            if c.zone.role == "seal":
                own = next(z for z in made.gasket.zones if z.name == c.zone.name)
                count = len(head)
                want = own.carried(head - sunk - c.gap[:count], top[:count])
                most = float(np.max(load))
                assert load[:count] == pytest.approx(want, rel=1e-9, abs=1e-9 * most)
    sunk = under.line * low.line_load(1)[1]
    for z, top in zip(made.gasket.seals, up.tops, strict=False):
        most = z.recovery(top[96:192]) + sunk
        assert np.all(np.asarray(up.springback(1, z.name).capacity) <= most + 1e-12)


@pytest.mark.parametrize("name", ["fibre body with steel ring", "fibre composite"])
def test_the_block_does_not_creep(name: str) -> None:
    """Set of a sheet as its own relaxation test has it, whatever deck it lies on."""
    creep = Creep(0.2, 166e9)
    for under in (RIGID, block("closed", IRON), block("open", ALUMINIUM)):
        state = four_map(name).vary(block=under).assemble(50e3)
        for (c, load, top), closure in zip(state.loads, state.tops, strict=True):
            own = next(z for z in constructions.make(name).zones if z.name == c.zone.name)
            reached = np.interp(top, own.load, own.closure)
            want = creep.set_of(own.path(reached), load)
            assert c.set_of(creep, closure, load) == pytest.approx(want, rel=2e-3, abs=2e-8)


def test_a_softer_block_lets_the_head_rise_more_and_follows_it() -> None:
    """On a steel ring: less load as assembled, more lift, and a larger part of the load kept."""
    name, force, gas = "fibre body with steel ring", 50e3, [0.0, 80e5, 0.0, 0.0]
    found = []
    for under in (RIGID, block("closed", IRON), block("open", IRON), block("open", ALUMINIUM)):
        made = four_map(name).vary(block=under)
        low = made.assemble(force)
        up = made.under_gas(low, gas)
        for state in (low, up):
            assert abs(balance(state)[0]) < 1e-7 * np.sum(state.bolt_force)
        before, after = (s.line_load(1)[1].mean() for s in (low, up))
        found.append((up.seal_lift(1)[1].max(), -before, after / before))
    for figures in zip(*found, strict=True):
        assert list(figures) == sorted(figures)
    assert 1.5 * found[0][0] < found[2][0] < 4.0 * found[0][0]


def test_a_rigid_block_is_the_map_without_one() -> None:
    made = DeckMap(
        four(), constructions.make("multi-layer steel"), SEAL, **HEAD, **BOLT, block=Block()
    )
    assert np.array_equal(made.assemble(50e3, 45e3).unknowns, assembled().unknowns)


@functools.cache
def look(deck: str, material: str) -> analysis.DeckLook:
    changes = {"block.deck": deck, "block.material": material}
    return deck_look(build.demo("boosted-four").vary(changes), fired=1)


def test_the_kind_of_deck_on_the_sheet_decides() -> None:
    """Order of size of an outside estimate: lift 8.9 rigid, 10.6 and 17.4 um closed and open iron,
    11.4 and 19.4 um closed and open aluminium."""
    four_ = build.demo("boosted-four")
    assert four_.block.deck == "closed"
    lift = [
        float(look(*of).state.seal_lift(1)[1].max())
        for of in (
            ("rigid", "cast iron"),
            ("closed", "cast iron"),
            ("closed", "A356-T6"),
            ("open", "cast iron"),
            ("open", "A356-T6"),
        )
    ]
    assert lift == sorted(lift)
    for ours, theirs in zip(lift[1:], (10.6, 11.4, 17.4, 19.4), strict=True):
        assert 0.5 < (ours / lift[0]) / (theirs / 8.9) < 2.0
