"""Heat in the joint: differential thermal expansion, hot and cold clamp, relaxation, retorque.

When the engine warms up the clamped stack grows by another amount than the fasteners do. The
difference, the differential thermal expansion, acts on the joint as if the nut had been turned on
by that length: the clamp rises, the gasket is pressed further along its loading curves, and what
it has been pressed to it keeps. Cooled down again it stands on its unloading paths, thinner than
at assembly, so the cold clamp is lower than the wrench left it. Relaxation of the hot gasket and
yield of hot fasteners take away more. For straight gasket lines the change is the textbook's
dF = u/(1/kb + sum 1/ki), with u that expansion [1].

Loss of modulus with temperature comes in by way of the expansion; how far the hot head bows down at
the seal is told beside it. Left out: sliding of head on block, gradients along the deck.

References
----------
[1] M.-Z. Lee, "How internal loads affect bolt preload", Machine Design, 5 November 2010.
[2] ASTM F38-95, Method A, section 3.2: relaxation is plotted over log time. The form near time
    zero and t0 are from memory.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit import tables
from sealkit.arrays import Array
from sealkit.errors import fail
from sealkit.sealing.joint import Assembly, Joint
from sealkit.units import field, plain, plain_fields, with_units

ASSEMBLED_AT = 293.15  # K, temperature of the workshop
HOUR = 3600.0
TEST_TIME = 22 * HOUR  # of the relaxation test, ASTM F38
FIRST_READING = 60.0  # s; from here relaxation is straight over log time (from memory)


# --------------------------------------------------------------------------- temperatures
@dataclass(frozen=True)
class ThermalState:
    """Temperatures of the joint in one state of the engine [K].

    `head` and `block` are means over the clamped length at the fasteners, `gasket` is that of the
    body, `bore_edge` that of the gasket at the gas; `across` is how much hotter than its top the
    head is on the fire side.
    """

    name: str
    coolant: Any = field("temperature")
    head: Any = field("temperature")
    block: Any = field("temperature")
    fastener: Any = field("temperature")
    gasket: Any = field("temperature")
    bore_edge: Any = field("temperature")
    across: Any = field("temperature difference")
    source: str = "the build sheet"
    status: str = "invented"
    note: str = ""

    def __post_init__(self) -> None:
        plain_fields(self)


@with_units()
def temperatures(
    state: str,
    coolant: si.Temperature = None,
    rise_factor: si.Number0 = 1.0,
    followed: si.Fraction = None,
) -> ThermalState:
    """Temperatures of the joint in a state of the engine; parts follow the coolant.

    The rises over the coolant stand in the table of temperatures, each row with its status, and of
    the fasteners the share of the head's rise since assembly that they have made. The warm states
    are from memory or invented; measured temperatures are better. Returns ThermalState, SI. Raises
    InputError if the state is unknown.

    Parameters
    ----------
    state : "cold start", "cold soak", "warm-up", "warm idle", "hot full load" or "heat soak"
    coolant : its temperature; as in the table where none is given [K]
    rise_factor : rise of the parts over the coolant, over that of the table
    followed : share of the head's rise since assembly that the fasteners have made, instead of the
        table's
    """
    row = tables.load("temperatures").get(state, "state")
    base = row["coolant"] if coolant is None else np.asarray(coolant, dtype=float)[()]
    parts = ("head", "block", "gasket", "bore_edge")
    at = {part: base + rise_factor * row[part] for part in parts}
    share = row["fastener"] if followed is None else followed
    return ThermalState(
        name=str(row["state"]),
        coolant=base,
        **at,
        across=rise_factor * row["across"],
        fastener=ASSEMBLED_AT + share * (at["head"] - ASSEMBLED_AT),
        source=row["source"],
        status=row["status"],
        note=row["note"],
    )


# --------------------------------------------------------------------------- growth
@with_units(returns="length")
def differential_expansion(
    head_length: si.Length0,
    head_expansion: si.AnyExpansion,
    head_rise: si.AnyTemperatureDifference,
    block_length: si.Length0,
    block_expansion: si.AnyExpansion,
    block_rise: si.AnyTemperatureDifference,
    bolt_length: si.Length0,
    bolt_expansion: si.AnyExpansion,
    bolt_rise: si.AnyTemperatureDifference,
    gasket_thickness: si.Length0 = 0.0,
    gasket_expansion: si.AnyExpansion = 0.0,
    gasket_rise: si.AnyTemperatureDifference = 0.0,
) -> Any:
    """Growth of the stack less that of the fastener, u = sum(ai Li dTi) - ab Lb dTb [m] [1].

    Returns u; above zero where the clamp rises.

    Parameters
    ----------
    head_length, block_length, gasket_thickness : clamped lengths Li [m]
    bolt_length : free length of the fastener Lb [m]
    head_expansion, block_expansion, gasket_expansion, bolt_expansion : mean expansions [1/K], which
        hold for a temperature range; see the materials table
    head_rise, block_rise, gasket_rise, bolt_rise : temperature rises since assembly [K]
    """
    return (
        head_expansion * head_length * head_rise
        + block_expansion * block_length * block_rise
        + gasket_expansion * gasket_thickness * gasket_rise
        - bolt_expansion * bolt_length * bolt_rise
    )


@dataclass(frozen=True)
class Stack:
    """What the fasteners clamp: lengths [m] and mean expansions [1/K]."""

    head_length: Any = field("length")
    head_expansion: Any = field("expansion")
    block_length: Any = field("length")
    block_expansion: Any = field("expansion")
    bolt_length: Any = field("length")
    bolt_expansion: Any = field("expansion")
    gasket_thickness: Any = field("length")
    gasket_expansion: Any = field("expansion")

    def __post_init__(self) -> None:
        plain_fields(self)

    def differential_expansion(self, state: ThermalState, assembled_at: Any = ASSEMBLED_AT) -> Any:
        """Stack's growth less the fastener's [m] in this state, assembled at `assembled_at` [K]."""
        then = plain(assembled_at, "temperature", "assembled_at")
        rises = {
            f"{part}_rise": getattr(state, part) - then for part in ("head", "block", "gasket")
        }
        return differential_expansion.si(**vars(self), **rises, bolt_rise=state.fastener - then)


@with_units()
def stack(
    head: str,
    head_length: si.Length0,
    block: str,
    block_length: si.Length0,
    bolt: str,
    bolt_length: si.Length = None,
    gasket_thickness: si.Length0 = 0.0,
    gasket: str = "301 full hard",
) -> Stack:
    """The clamped stack from materials of the table.

    Returns Stack, SI. Raises InputError if a material is unknown.

    Parameters
    ----------
    head, block, bolt, gasket : materials, such as "A356-T6", "grey iron", "alloy steel"
    head_length, block_length : clamped length in head and block [m]
    bolt_length : free length of the fastener; the whole stack where none is given [m]
    gasket_thickness : compressed thickness [m]
    """
    if bolt_length is None:
        bolt_length = head_length + gasket_thickness + block_length

    def expansion(material: str, argument: str) -> float:
        return float(tables.load("materials").get(material, argument)["expansion"])

    return Stack(
        head_length,
        expansion(head, "head"),
        block_length,
        expansion(block, "block"),
        bolt_length,
        expansion(bolt, "bolt"),
        gasket_thickness,
        expansion(gasket, "gasket"),
    )


# --------------------------------------------------------------------------- relaxation
@with_units(returns="fraction")
def relaxed_share(share: si.Share, time: si.Time0) -> Any:
    """Share of the gasket load lost to creep relaxation after some time hot [2].

    s(t) = s_ref ln(1 + t/t0)/ln(1 + t_ref/t0), straight over log time from t0, a minute, on; t_ref
    is that of the test, 22 hours.

    Raises InputError if nothing would be left: the law does not reach so far.

    Parameters
    ----------
    share : lost in the test, s_ref; typical ones stand in the table of creep
    time : time hot t [s]
    """
    lost = share * np.log1p(np.asarray(time) / FIRST_READING) / np.log1p(TEST_TIME / FIRST_READING)
    if np.any(np.asarray(lost) >= 1.0):
        raise fail("time", f"{np.max(time):g} s", "a time after which some load is left")
    return lost


# --------------------------------------------------------------------------- heat cycles
@dataclass(frozen=True)
class HotJoint:
    """The joint before and while it is hot, SI; the states can be put under gas."""

    # before, hot, worked: as assembled, the first time hot, hot after what the fasteners have
    # stretched for good
    before: Assembly
    hot: Assembly
    worked: Assembly
    plastic_stretch: Any = field("length")  # of the fasteners by yield
    # greatest force of one fastener hot, as if it did not yield
    hot_bolt_force: Any = field("force")
    hot_yield_force: Any = field("force")  # force it yields at hot

    def of(self, builds: slice) -> HotJoint:
        """That of some of the builds."""
        return HotJoint(
            self.before.of(builds),
            self.hot.of(builds),
            self.worked.of(builds),
            self.plastic_stretch[builds],
            self.hot_bolt_force[builds],
            np.broadcast_to(self.hot_yield_force, self.hot_bolt_force.shape)[builds],
        )


@dataclass(frozen=True, kw_only=True)
class HeatCycle(HotJoint):
    """The joint over its heat cycles: as `HotJoint`, and cold afterwards."""

    cold: Assembly


@with_units()
def heated(
    joint: Joint,
    assembly: Assembly,
    expansion: si.AnyLength,
    gas_pressure: si.GaugePressure0 = 0.0,
    hot_yield: si.Share = 1.0,
    warmed: Assembly | None = None,
    bow: si.AnyLength = 0.0,
) -> HotJoint:
    """Hot clamp of a joint with load history.

    n kb (a + u - e - c) = (1 + kb/km) G(c, p), with u the differential expansion and e the stretch
    of the fasteners by yield. Returns HotJoint, SI; arrays over builds.

    Parameters
    ----------
    joint, assembly : the joint, and how it stands before it is heated (SI)
    expansion : differential thermal expansion hot [m]
    gas_pressure : peak hot over the air outside, for the yield of the fasteners [Pa gauge]
    hot_yield : yield force of a hot fastener as a share of that at room temperature; one, or
        one per build
    warmed : how the joint stands at that expansion as long as no fastener yields, if it is known
    bow : how far the hot head bows down at the seal, as of `Joint.moved` [m]
    """
    if not np.all(np.asarray(hot_yield) > 0):
        raise fail("hot_yield", np.min(hot_yield), "a share above zero")
    before, (u, gas) = _rows(assembly, expansion=expansion, gas_pressure=gas_pressure)
    kb, km = joint.bolt_stiffness, joint.member_stiffness
    limit = joint.yield_force * np.asarray(hot_yield, dtype=float)[()]
    start = joint.advance_of(before)

    hot = joint.moved(before, start + u, bow) if warmed is None else warmed
    demand = hot.preload
    if np.any(gas > 0):
        no_yield = replace(joint, yield_force=np.inf)
        demand = np.maximum(demand, _under(no_yield, hot, gas).bolt_force[:, 0])
    # a fastener taken past yield by heat alone keeps its yield force, the rest is stretch
    stretch = np.zeros_like(start)
    over = hot.preload > limit
    if np.any(over):
        held = np.minimum(hot.preload, limit)
        c = joint.closure_at(before, held, bow)
        stretch = np.where(over, start + u - (c + held / km + held / kb), 0.0)
        hot = joint.moved(before, start + u - stretch, bow)
    # and so does one taken past yield by the gas on top
    if np.any((demand > limit) & (gas > 0)):
        each: Any = np.reshape(limit, (-1, 1))
        state = _under(replace(joint, yield_force=each), hot, gas)
        stretch = stretch + np.where(gas > 0, state.plastic_stretch, 0.0)
    worked = joint.moved(hot, start + u - stretch, bow) if np.any(stretch > 0) else hot
    return HotJoint(before, hot, worked, stretch, demand, limit)


@with_units()
def after_heat(
    joint: Joint,
    assembly: Assembly,
    expansion_hot: si.AnyLength,
    expansion_cold: si.AnyLength = 0.0,
    gas_pressure: si.GaugePressure0 = 0.0,
    hot_yield: si.Share = 1.0,
    bow: si.AnyLength = 0.0,
) -> HeatCycle:
    """Hot and cold clamp of a joint with load history, after heat cycles.

    A gasket pressed once stays on the same path, so that the second cycle repeats the first. What
    creeps in many cycles comes before this: `relaxed_share` and `Joint.relaxed`. Returns HeatCycle,
    SI; arrays over builds.

    Parameters
    ----------
    joint, assembly, gas_pressure, hot_yield, bow : as of `heated`
    expansion_hot, expansion_cold : differential thermal expansion hot, and cold afterwards [m]
    """
    wide, (u_cold, _) = _rows(assembly, expansion_cold=expansion_cold, expansion_hot=expansion_hot)
    once = heated.si(joint, wide, expansion_hot, gas_pressure, hot_yield, bow=bow)
    advance = joint.advance_of(once.before) + u_cold - once.plastic_stretch
    return HeatCycle(**vars(once), cold=joint.moved(once.worked, advance))


def retorque(joint: Joint, assembly: Assembly) -> Assembly:
    """The joint tightened again to its preload at assembly, on the gasket as it has become.

    Only on a cold engine (common practice, no source), and only where the instructions for gasket
    and fastener allow it: a fastener tightened to yield is not tightened again. The gasket goes up
    its own path and on along the loading curve.
    """
    return joint.tightened_again(assembly, assembly.assembly_preload)


# --------------------------------------------------------------------------- equilibrium
def _rows(assembly: Assembly, **values: Any) -> tuple[Assembly, list[Array]]:
    """Assembly and values with one row per build."""
    given = [np.atleast_1d(np.asarray(v, dtype=float)) for v in values.values()]
    try:
        (rows,) = np.broadcast_shapes(assembly.preload.shape, *(v.shape for v in given))
    except ValueError as err:
        shapes = ", ".join(str(v.shape) for v in given)
        raise fail(" or ".join(values), f"shapes {shapes}", "one value, or one per build") from err

    def wide(x: Any) -> Array:
        return np.full(rows, x, dtype=float)

    same = assembly.preload.shape == (rows,)
    return assembly if same else assembly.each(wide), [wide(v) for v in given]


def _under(joint: Joint, assembly: Assembly, gas: Array) -> Any:
    """Under one gas pressure per build; fields of shape (rows, 1)."""
    state = joint.under_gas(assembly, gas[:, None])
    shape = (len(gas), 1)
    return replace(state, bolt_force=np.reshape(state.bolt_force, shape))
