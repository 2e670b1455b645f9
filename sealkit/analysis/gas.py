"""The gas side of a build: charge, mean cycle, upper bound and design peak pressure."""

from __future__ import annotations

import contextlib
import functools
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.arrays import Array
from sealkit.build import Build, fields
from sealkit.errors import Fault, InputError, fail
from sealkit.pressure import boost as _boost
from sealkit.pressure import burn, charge, cycle, fuels, gas, geometry, power, variation
from sealkit.pressure.bound import UpperBound, upper_bound
from sealkit.pressure.charge import Charge
from sealkit.pressure.cycle import Cycle
from sealkit.pressure.evaporation import root
from sealkit.units import show
from sealkit.words import figure


@dataclass(frozen=True)
class Gas:
    """The gas side of a build: charge, mean cycle, upper bound and the peaks the joint is sized on.

    `sizing` is the gas pressure above the air outside of the cycle the joint is sized on, over
    crank angle; `ca50` is that of the mean cycle, later than on the sheet where knock retards it;
    `mean_peak`, `rare_peak` and `design_peak` are absolute; `knock_integral` is that of the mean
    cycle, and `rare_of` works out what it is in the cycle with the rare peak; `drive_power` is
    what the compressor takes off the crankshaft, and so off the brake power;
    `volumetric_efficiency` is the fresh air over what manifold air would fill the swept volume,
    `wall_share` the heat to the walls over that of the fuel.
    """

    charge: Charge
    cycle: Cycle
    bound: UpperBound
    ambient: float
    ca50: float
    mean_peak: float
    peak_variation: float
    rare_peak: float
    design_peak: float
    design_gauge: float  # that above the air outside, Pa: what pushes the head up
    sizing: Array
    brake_power: float
    brake_torque: float
    drive_power: float
    knock_integral: float
    # knock_judged, knock_law: whether the law of the ignition delay says anything of the fuel, and
    # what it is good for with it, in words
    knock_judged: bool
    knock_law: str
    before_burn: float  # temperature of the unburnt gas as the flame starts, K
    rare_of: Callable[[], tuple[float | None, float | None]]
    volumetric_efficiency: float
    wall_share: float

    @functools.cached_property
    def _rare(self) -> tuple[float | None, float | None]:
        return self.rare_of()

    @property
    def rare_knock(self) -> float | None:
        """Knock integral of the cycle with the rare peak; None if the gas tables end before it."""
        return self._rare[0]

    @property
    def knock_rise(self) -> float | None:
        """What knock may add to that peak, Pa."""
        return self._rare[1]

    @property
    def knock_missing(self) -> float | None:
        """By how much that is more than what the sheet adds, Pa; None where it is not known.

        Nothing where the law of the ignition delay says nothing of the fuel.
        """
        if not self.knock_judged or self.knock_rise is None:
            return None if self.knock_judged else 0.0
        missing = self.knock_rise - (self.design_peak - self.rare_peak)
        return missing if missing > 1e-9 * self.design_peak else 0.0  # below it is rounding

    @property
    def leanest(self) -> float:
        """Equivalence ratio below which its vapour does not burn in air at room temperature."""
        return float(fuels.lean_limit.si(self.charge.mixture))


@dataclass(frozen=True)
class Mean:
    """Charge, CA50 and mean cycle of a build, the air outside, and the spread of the peaks."""

    charge: Charge
    cycle: Cycle
    ambient: float
    ca50: Any
    peak_variation: Any

    def knock_sum(self, speed: Any) -> Any:
        """Knock integral of the mean cycle up to each angle, at this crank speed [rev/s]."""
        c, octane = self.cycle, self.charge.mixture.octane_number
        state = (c.pressure, c.core_temperature, c.mass_fraction_burned)
        return variation.knock_sum(c.crank_angle, speed, octane, *state)

    def knock_integral(self, speed: Any) -> Any:
        """Knock integral of the mean cycle at this crank speed [rev/s]."""
        return self.knock_sum(speed)[..., -1]


def _charged(build: Build) -> tuple[Charge, float]:
    """Charge of a build, and the air outside."""
    e, c = build.engine, build.charge
    ratio = build.compression_ratio
    phi = build.fuel.equivalence_ratio
    if phi is None:
        phi = 1.0 / float(build.fuel.air_ratio)
    mixture = fuels.mixture.si(
        build.fuel.name,
        phi,
        build.fuel.ethanol_share,
        build.fuel.nitromethane_share,
        c.evaporated_share,
        build.fuel.octane_number,
    )
    ambient = c.ambient_pressure
    if ambient is None:
        ambient = float(_boost.standard_pressure.si(c.altitude))
    filled = charge.charge.si(
        mixture,
        e.bore,
        e.stroke,
        ratio,
        ambient,
        c.ambient_temperature,
        c.boost,
        c.compressor_efficiency,
        c.intercooler_effectiveness,
        c.filling,
        c.residual_fraction,
        c.residual_temperature,
        c.intake_heating,
    )
    return filled, float(ambient)


def mean_cycle(build: Build) -> Mean:
    """Charge and mean cycle (plain SI; arrays over builds where the sheet has arrays)."""
    b = build.burn
    at = functools.partial(_burning, build, *_charged(build))
    mean = _retarded(at, build) if b.timing == "knock limited" else at(b.ca50)
    if b.ca50_variation is None:
        return mean
    # two single cycles more: an early one, and one that burns fast
    early = at(mean.ca50 - variation.EARLY * b.ca50_variation)
    brief = at(mean.ca50, 1.0 - variation.EARLY * b.duration_variation)
    peaks = (one.cycle.peak_pressure for one in (mean, early, brief))
    return replace(mean, peak_variation=variation.peak_spread.si(*peaks))


def _burning(
    build: Build,
    filled: Charge,
    ambient: float,
    ca50: Any,
    share: Any = 1.0,
    step: float = cycle.STEP,
) -> Mean:
    """The cycle of a charge with this CA50 and this share of the sheet's burn duration.

    Raises InputError that names the speed where there would be a cycle but for the wall heat.
    """
    e, c, b = build.engine, build.charge, build.burn
    start, duration = burn.burn_timing.si(ca50, share * b.duration)
    at = functools.partial(
        cycle.cycle.si,
        filled,
        *(e.bore, e.stroke, e.rod_length, build.compression_ratio),
        *(e.speed, start, duration),
        released_share=b.released_share,
        evaporated=c.evaporated_in_compression,
        late_cooling=c.late_cooling,
        wall_temperature=b.wall_temperature,
        wall_coefficient=b.wall_coefficient,
        step=step,
    )
    try:
        made = at(wall_heat=b.heat_transfer)
    except InputError as err:
        at(wall_heat="none")  # raises what the walls do not do
        wanted = "a faster one, at which the walls take less heat"
        came = figure(np.min(e.speed), "crank speed")
        fault = Fault("engine.speed", came, wanted, reason=str(err.faults[0].came).strip('"'))
        raise InputError(fault) from err
    return Mean(filled, made, ambient, ca50, b.peak_variation)


_SINGLES = 5  # single cycles that are shown, each as likely as the others
_APART = [1, 4, 2, 0, 3]  # which duration goes with which CA50: without correlation
_STEP = np.radians(3.0)  # by which CA50 is moved to see what the peak does
_COARSE = np.radians(1.0)  # grid of single cycles: pressures within 1e-4 of the finer one's


def single_cycles(build: Build, mean: Gas) -> tuple[Array, Array]:
    """Single cycles beside the mean one, spread as the sheet says.

    Where it gives the spread of the peaks alone, all of that is laid on CA50. They lie on parabolas
    through the mean cycle and one to either side of it, at angles counted from CA50, within 0.3 %
    of the peak of cycles of their own (0.7 % where the peaks spread by 15 %). Returns (crank angle
    [rad], pressure of each cycle [Pa] over it).
    """
    from scipy.special import ndtri

    b, step = build.burn, build.burn.ca50_variation or _STEP
    brief = 0.0 if b.ca50_variation is None else b.duration_variation
    moved = np.array([[-step, step, 0.0, 0.0], [0.0, 0.0, -brief, brief]])[:, : 4 if brief else 2]
    at = mean.ca50 + moved[0], 1.0 + moved[1]
    found = _burning(build, mean.charge, mean.ambient, *at, step=_COARSE).cycle
    width = b.ca50_variation
    if width is None:
        rise = max(float(found.peak_pressure[0]) / mean.mean_peak - 1.0, 1e-3)
        width = mean.peak_variation * _STEP / rise
    turn = found.crank_angle
    middle = np.interp(turn, mean.cycle.crank_angle, mean.cycle.pressure)
    ends = [np.interp(turn + by, turn, p) for by, p in zip(moved[0], found.pressure, strict=True)]
    chance = ndtri((np.arange(_SINGLES) + 0.5) / _SINGLES)
    by, out = width * chance, middle
    # early ones are not the brief ones: the two are independent
    for x, less, more in zip((by / step, chance[_APART]), ends[::2], ends[1::2], strict=False):
        far = x[:, None]
        out = out + 0.5 * far * (more - less + far * (less + more - 2.0 * middle))
    return turn, np.stack([np.interp(turn - x, turn, p) for x, p in zip(by, out, strict=True)])


_QUIET = 0.998  # the integral that knock limited timing is set to, just below the warning at 1
_NEAR_ANGLE = 1e-4  # rad, of CA50


def _retarded(at: Callable[[Any], Mean], build: Build) -> Mean:
    """The mean cycle (`at` CA50) with the earliest that does not knock, or the latest allowed."""
    b, speed = build.burn, build.engine.speed

    def over(ca50: Array) -> Array:
        """How far knock is above its limit; falls as the burn comes later."""
        one = at(ca50 if many else float(ca50[0]))
        return np.atleast_1d(np.log(one.knock_integral(speed) / _QUIET))

    first = at(b.ca50)
    knock = np.asarray(first.knock_integral(speed))
    many = knock.ndim > 0
    loud = np.atleast_1d(knock) > 1.0
    if not np.any(loud):
        return first
    wanted = np.broadcast_to(np.asarray(b.ca50, dtype=float), loud.shape)
    latest = np.where(loud, b.latest_ca50, wanted)
    if np.any(latest < wanted):
        raise fail("burn.ca50", "a CA50 later than latest_ca50", "one no later than that")
    above, below = np.atleast_1d(np.log(knock / _QUIET)), over(latest)
    low = np.where(below > 0.0, latest, wanted)  # knocks however late
    share = np.clip(above / np.maximum(above - below, 1e-9), 0.0, 1.0)
    found = root(over, low + share * (latest - low), low, latest, _NEAR_ANGLE)
    return at(found if many else float(found[0]))


def sized_on(build: Build, mean: Mean) -> variation.DesignPeak:
    """The peaks a build is sized on (absolute), from its mean cycle and the spread of the peaks."""
    b = build.burn
    spread = mean.peak_variation if b.peak_variation is None else b.peak_variation
    return variation.design_peak.si(
        mean.cycle.peak_pressure, spread, b.one_cycle_in, b.knock_amplitude
    )


_EARLIER = 12  # steps of the grid by which CA50 comes earlier in a cycle beside the mean one


def _rare(
    build: Build, mean: Mean, bound: UpperBound, peak: float
) -> tuple[float | None, float | None]:
    """Knock integral of the cycle with the rare peak, taken for one that burns early.

    And what knock may add to that peak, Pa.

    It is drawn on the straight line through the mean cycle and one whose CA50 comes 6 degrees
    earlier, at angles counted from CA50; None for both if that one is outside the gas tables.
    """
    angle = mean.cycle.crank_angle
    earlier = angle[_EARLIER] - angle[0]
    try:
        one = _burning(build, mean.charge, mean.ambient, mean.ca50 - earlier)
    except InputError:
        return None, None
    here, there = mean.cycle, one.cycle
    low, high = float(here.peak_pressure), float(there.peak_pressure)
    part = (peak - low) / max(high - low, 1e-3 * low)

    def drawn(x: Array, y: Array) -> Array:
        return np.asarray((1.0 - part) * x[_EARLIER:] + part * y[:-_EARLIER])

    integral = drawn(mean.knock_sum(build.engine.speed), one.knock_sum(build.engine.speed))
    pressure = drawn(here.pressure, there.pressure)
    burned = drawn(here.mass_fraction_burned, there.mass_fraction_burned)
    volume = np.interp(angle[_EARLIER:] - part * earlier, angle, here.volume)
    at_once = float(bound.peak_pressure - bound.compression_pressure)
    most = variation.end_gas_peak.si(integral, pressure, volume, burned, at_once)
    return float(integral[-1]), float(most - np.max(pressure))


def over_air(peak: Any, ambient: float) -> Any:
    """A peak pressure over the air outside, Pa.

    Raises InputError if a peak does not rise above the air outside: then nothing pushes the head
    up.
    """
    if not np.all(np.asarray(peak) > ambient):
        raise fail(
            "engine.compression_ratio, charge, burn",
            f"a peak of {np.min(peak) / 1e5:.2f} bar, no more than the air outside",
            "a cycle whose pressure rises above the air outside",
        )
    return peak - ambient


def _cylinder(build: Build) -> Build:
    """A build as far as its gas goes; what is kept under it can depend on nothing else."""
    others: Any = dict.fromkeys(
        ("sheet", "fasteners", "head", "block", "gasket", "liquids", "heat", "deck", "evidence")
    )
    # the volumes of a chamber take in the gasket
    engine = replace(build.engine, compression_ratio=build.compression_ratio, chamber=None)
    return replace(build, engine=engine, _given={}, _source="", **others)


_kept_cycle = functools.lru_cache(maxsize=16)(mean_cycle)


def kept_cycle(build: Build) -> Mean:
    """`mean_cycle` of one build, kept for all that differ from it in other sections only.

    Of many builds at once it is worked out each time.
    """
    try:
        return _kept_cycle(_cylinder(build))
    except TypeError:  # arrays cannot be looked up
        return mean_cycle(build)


def gas_side(build: Build) -> Gas:
    """Charge, cycle, bound and peak pressures of one build (plain SI), kept like its cycle."""
    return _kept_gas(_cylinder(build))


@functools.lru_cache(maxsize=16)
def _kept_gas(build: Build) -> Gas:
    e = build.engine
    made = _kept_cycle(build)
    filled, mean, ambient = made.charge, made.cycle, made.ambient
    bound = upper_bound.si(filled, e.bore, e.stroke, e.rod_length, build.compression_ratio)
    over_air(np.max(mean.pressure), ambient)
    sized = sized_on(build, made)
    design_peak = float(sized.pressure)
    above = np.maximum(mean.pressure - ambient, 0.0)
    # the peak lies between two angles of the grid; the cycle shown reaches it on the grid
    sizing = above * (design_peak - ambient) / np.max(above)
    bmep, drive = _brake_mep(build, made)
    laws = [tables.load("octane")[part] for part in filled.mixture.parts]
    manifold_air = _boost.trapped_mass.si(
        filled.manifold_pressure,
        filled.manifold_temperature,
        _swept(build),
        gas_constant=gas.air_gas_constant(),
    )
    return Gas(
        charge=filled,
        cycle=mean,
        bound=bound,
        ambient=ambient,
        ca50=float(made.ca50),
        mean_peak=float(mean.peak_pressure),
        peak_variation=float(made.peak_variation),
        rare_peak=float(sized.rare),
        design_peak=design_peak,
        design_gauge=design_peak - ambient,
        sizing=sizing,
        brake_power=_power(build, bmep),
        brake_torque=float(power.torque_from_mep.si(bmep, _swept(build) * e.cylinders, e.strokes)),
        drive_power=_power(build, drive),
        knock_integral=float(made.knock_integral(e.speed)),
        knock_judged=all(law["knock_judged"] for law in laws),
        knock_law=str(laws[-1]["knock_law"]),
        before_burn=float(np.interp(0.01, mean.mass_fraction_burned, mean.core_temperature)),
        rare_of=lambda: _rare(build, made, bound, float(sized.rare)),
        volumetric_efficiency=float(filled.air_mass / manifold_air),
        wall_share=float(mean.wall_heat[-1] / mean.fuel_energy),
    )


def _swept(build: Build) -> float:
    """Swept volume of one cylinder, m**3."""
    return float(geometry.swept_volume.si(build.engine.bore, build.engine.stroke))


def _power(build: Build, mep: float) -> float:
    """Power of the engine at a mean effective pressure (Pa), W."""
    e = build.engine
    return float(power.power_from_mep.si(mep, _swept(build) * e.cylinders, e.speed, e.strokes))


def _brake_mep(build: Build, made: Mean) -> tuple[float, float]:
    """Brake mean effective pressure, and what the compressor takes off the crankshaft of it, Pa."""
    e, c = build.engine, build.charge
    piston_speed = float(geometry.mean_piston_speed.si(e.stroke, e.speed))
    peak, drive = float(made.cycle.peak_pressure), 0.0
    friction = float(power.friction_mep_chen_flynn.si(peak, piston_speed))
    if c.compressor_drive == "crankshaft":
        ratio = (made.ambient + c.boost) / made.ambient
        inlet = c.ambient_temperature
        outlet = _boost.compressor_outlet_temperature.si(inlet, ratio, c.compressor_efficiency)
        mass = made.charge.air_mass
        drive = float(_boost.compressor_mep.si(mass, inlet, outlet, _swept(build)))
    return float(made.cycle.imep) - friction - drive, drive


_NEAR_POWER, _NEAR_PEAK = 1e-3, 1e-3  # of that asked
_NEAR_BOOST = 200.0  # Pa


def _boost_with(
    figure: Callable[[float], float],
    wanted: float,
    near: float,
    known: tuple[float, float],
    guess: float,
    tries: int = 12,
) -> float:
    """The boost at which a figure that grows almost in proportion to it is as wanted, by secants.

    Where no boost of the sheet's range makes it that, another one.

    Parameters
    ----------
    figure : of boost [Pa over the air outside]
    wanted, near : of the figure, and how near as a share of it
    known : a boost and the figure there
    guess : the boost tried first
    """
    most = dict(fields())["charge.boost"].limits[1]
    (last, value), boost = known, guess
    for _ in range(tries):
        boost = min(max(boost, 0.0), most)
        if boost == last:
            break
        now = figure(boost)
        slope, last, value = (now - value) / (boost - last), boost, now
        if abs(wanted - now) <= near * wanted or slope <= 0.0:
            break
        boost = last + (wanted - now) / slope
    return last


def boost_for_power(build: Build, wanted: float) -> tuple[Build, Gas]:
    """The build with the boost that makes this `Gas.brake_power` [W], and its gas side.

    Returns (build, gas); without boost where the engine makes as much by itself. Raises InputError
    if no boost that the sheet and the gas tables allow makes it.
    """
    made: dict[float, tuple[Build, float]] = {}

    def power(boost: float) -> float:
        one = build.vary_si({"charge.boost": boost})
        made[boost] = one, _power(one, _brake_mep(one, kept_cycle(one))[0])
        return made[boost][1]

    boost = 0.0
    if (without := power(0.0)) < wanted:
        boost = guess = max(build.charge.boost, 0.3e5)
        known = [(0.0, without)]
        with contextlib.suppress(InputError):  # further than the gas tables reach
            known += [(guess, power(guess)), (1.5 * guess, power(1.5 * guess))]
        boosts, powers = zip(*known, strict=True)
        if len(known) == 3 and np.all(np.diff(powers) > 0.0):
            # those three serve any wish, and the parabola through them is near already
            boost = float(np.polyval(np.polyfit(powers, boosts, 2), wanted))
        boost = _boost_with(power, wanted, _NEAR_POWER, known[len(known) // 2], boost)
    one, found = made[boost]
    if boost > 0.0 and abs(found - wanted) > _NEAR_POWER * wanted:
        most = show(dict(fields())["charge.boost"].limits[1], "gauge pressure")
        wants = f"a power that boost up to {most} makes on this engine and fuel"
        raise fail("power", show(wanted, "power"), wants)
    return one, gas_side(one)


def boost_where(
    build: Build, made: dict[float, Gas], figure: Callable[[Gas], float], wanted: float
) -> float:
    """The boost [Pa over the air outside] with which a figure of the gas side is as wanted.

    -inf where it is more even without any, inf where none in reach makes it; where it jumps past
    that, as the pressure does where knock begins, the boost below.

    What is worked out at another boost is added to `made`.
    """
    if not 0.0 < wanted < np.inf:
        return np.inf if wanted > 0.0 else -np.inf

    def at(boost: float) -> float:
        if boost not in made:
            made[boost] = gas_side(build.vary_si({"charge.boost": boost}))
        return figure(made[boost])

    near = sorted((abs(wanted - figure(one)), boost) for boost, one in made.items())
    here, now = near[0][1], at(near[0][1])
    # without another cycle to go by as if no boost were none at all
    there, then = (near[1][1], at(near[1][1])) if near[1:] else (-made[here].ambient, 0.0)
    slope = (now - then) / (here - there)
    guess = here + (wanted - now) / slope if slope > 0.0 else here + 0.1e5
    try:
        boost = _boost_with(at, wanted, _NEAR_PEAK, (here, now), guess, tries=4)
    except InputError:  # beyond the tables of gas
        return np.inf
    if abs(at(boost) - wanted) <= _NEAR_PEAK * wanted:
        return boost
    less = [b for b in made if at(b) <= wanted]
    more = [b for b in made if at(b) > wanted]
    if not less or not more:
        return -np.inf if more else np.inf
    low, high = max(less), min(more)
    while high - low > _NEAR_BOOST:
        low, high = (mid, high) if at(mid := (low + high) / 2.0) <= wanted else (low, mid)
    return low
