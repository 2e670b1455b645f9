"""What a report says about its combustion seal at one crank angle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.analysis import margins
from sealkit.analysis.margins import Limit
from sealkit.arrays import Array
from sealkit.build import Build
from sealkit.report.ranking import with_construction
from sealkit.report.result import Report, kept_report
from sealkit.report.seal import shown_seal
from sealkit.sealing.criteria import BlowOut
from sealkit.sealing.gaskets import Zone

WHOLE_CYCLE = slice(None)
_POINTS = 61
_LEAST_LIFT = 12e-6  # m


@dataclass(frozen=True)
class SealView:
    """The seal of a report at one crank angle, low end of the preload (plain SI).

    Loads are in N/m, or in Pa where the seal is an area (`kind`).
    """

    report: Report  # of the build
    angle: float  # crank angle [rad]
    place: int  # of that angle on the report's grid
    seal: Zone  # the zone that holds the gas

    @property
    def name(self) -> str:
        """The construction."""
        return self.report.build.gasket.construction

    @property
    def kind(self) -> str:
        """Kind of quantity of the seal's load."""
        return self.seal.load_kind

    @property
    def helpers(self) -> tuple[Zone, ...]:
        """Other zones round the bore, such as a stopper."""
        return tuple(z for z in self.report.joint.gasket.seals if z.name != self.seal.name)

    # -- before firing
    @property
    def top(self) -> float:
        """The largest closure that the seal has seen [m]."""
        return float(self.report.sealing.zone_tops[self.seal.name][0])

    @property
    def rest(self) -> float:
        """Closure of the seal before firing [m]."""
        return float(self.report.joint.zone_closure(self.report.sealing, self.seal)[0])

    @property
    def before(self) -> float:
        """Load of the seal before firing."""
        return float(self.report.sealing.zone_loads[self.seal.name][0])

    @property
    def springback(self) -> float:
        """How far the seal springs back from where it stands before firing [m]."""
        return float(self.report.joint.springback(self.report.sealing, self.seal)[0])

    @property
    def used_thickness(self) -> float:
        """Thickness of the seal with the head off again [m]."""
        crept = float(self.report.sealing.zone_sets[self.seal.name][0])
        return self.seal.free_thickness - crept - (self.top - float(self.seal.recovery(self.top)))

    @property
    def unseated(self) -> Limit | None:
        """The limit of seating, where the seal never reached it."""
        rows = [r for r in self.report.limits if r.key == f"seating/{self.seal.name}"]
        return next((r for r in rows if not r.holds), None)

    # -- under gas: at this crank angle, or at other places of the grid
    def lift(self, place: Any = None) -> Any:
        """How far the head has lifted at the seal [m]."""
        return np.asarray(self.report.over_angle.seal_lift)[self.place if place is None else place]

    def left(self, place: Any = None) -> Any:
        """Load left on the seal."""
        loads = np.asarray(self.report.over_angle.zone_loads[self.seal.name])
        return loads[self.place if place is None else place]

    def gas(self, place: Any = None) -> Any:
        """Gas pressure over the air outside [Pa]."""
        return np.asarray(self.report.over_angle.pressure)[self.place if place is None else place]

    def wanted(self, place: Any = None) -> Any:
        """Load the seal wants at the gas pressure."""
        return self.seal.required(self.gas(place))

    @property
    def crank_angle(self) -> Array:
        """The grid [rad]."""
        return np.asarray(self.report.gas.cycle.crank_angle, dtype=float)

    @property
    def worst(self) -> int:
        """Place on the grid where the seal has least over what it wants."""
        return int(np.argmin(self.left(WHOLE_CYCLE) - self.wanted(WHOLE_CYCLE)))

    @property
    def share_kept(self) -> float:
        """Share of its load before firing that the seal keeps here."""
        return float(self.left()) / self.before if self.before > 0.0 else 0.0

    def holds(self, place: Any = None) -> bool:
        """Whether the load left is what the seal wants."""
        return bool(self.left(place) >= self.wanted(place))

    @property
    def touches(self) -> bool:
        """Whether the seal still reaches the lifted head."""
        return float(self.lift()) <= self.springback

    # -- curves
    @property
    def closures(self) -> Array:
        """Closures of the seal from first touch to the largest it has seen [m]."""
        return np.linspace(0.0, self.top, _POINTS)

    @property
    def pressed(self) -> Any:
        """Load at `closures` as the seal is pressed."""
        return self.seal.loading(self.closures)

    @property
    def let_go(self) -> Any:
        """Load at `closures` as it is let go from the top."""
        return self.seal.carried(self.closures, np.full(_POINTS, self.top))

    @property
    def helper(self) -> Any:
        """Load of the zone beside it, such as a stopper, at the same places; empty without one."""
        if not self.helpers:
            return np.empty(0)
        zone = self.helpers[0]
        # counted from where this zone is touched
        return zone.loading(self.closures - (self.seal.stands_proud - zone.stands_proud))

    @property
    def farthest(self) -> float:
        """Lift up to which the way back is shown: past where the seal is free [m]."""
        return max(1.25 * self.springback, _LEAST_LIFT)

    @property
    def lifts(self) -> Array:
        """Lifts since before firing, up to that [m]."""
        return np.linspace(0.0, self.farthest, _POINTS)

    @property
    def on_the_pressing_curve(self) -> Any:
        """Load at `lifts` if the way back were the pressing curve, which it is not."""
        return self.seal.loading(self.rest - self.lifts)

    # -- the bare edge of a soft body
    @property
    def at_peak(self) -> int:
        """Place of the highest gas pressure."""
        return int(np.argmax(self.gas(WHOLE_CYCLE)))

    @property
    def body_left(self) -> float:
        """Stress left on the body at the highest gas pressure [Pa]."""
        gasket = self.report.joint.gasket
        body = next(z for z in gasket.zones if z.role == "body")
        return float(np.asarray(self.report.over_angle.zone_loads[body.name])[self.at_peak])

    def blow_out(self) -> BlowOut:
        """Gas against the bare edge of the body, at the highest gas pressure."""
        return margins.edge_hold(self.report.case, float(self.gas(self.at_peak)), self.body_left)

    def back(self, lift: Any) -> Any:
        """Load on the way back, the head lifted by this much [m] since before firing."""
        lift = np.asarray(lift, dtype=float)
        closure = np.maximum(self.rest - lift, 0.0)
        return self.seal.carried(closure, np.full(lift.shape, self.top))


def seal_view(report: Report, angle: float | None = None) -> SealView:
    """The combustion seal at a crank angle (rad, nearest of the grid), or where least is left.

    Of several seals the one with the least margin of load left is looked at.
    """
    seal = shown_seal(report)
    made = SealView(report, 0.0, 0, seal)
    grid = made.crank_angle
    place = made.worst if angle is None else int(np.argmin(np.abs(grid - angle)))
    return SealView(report, float(grid[place]), place, seal)


def seal_on(build: Build, construction: str = "", angle: float | None = None) -> SealView:
    """The combustion seal of an engine, if wanted with another gasket construction."""
    return seal_view(
        kept_report(with_construction(build, construction or build.gasket.construction)), angle
    )
