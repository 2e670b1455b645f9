"""What a report says about its combustion seal at one crank angle."""

from __future__ import annotations

from dataclasses import dataclass, replace
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
    crank_angle: Array  # the grid [rad]
    name: str  # the construction
    seal: Zone  # the zone that holds the gas
    kind: str  # of quantity of its load
    helpers: tuple[Zone, ...]  # other zones round the bore, such as a stopper
    # before firing: the largest closure that the seal has seen, that of now, and how far it springs
    # back from there [m]; its load
    top: float
    rest: float
    springback: float
    before: float
    used_thickness: float  # of the seal with the head off again [m]
    unseated: Limit | None  # the limit of seating, where the seal never reached it
    closures: Array  # from first touch to the largest it has seen [m]
    # pressed, let_go: load at these as the seal is pressed, and let go from the top
    pressed: Any
    let_go: Any
    helper: Any  # load of the zone beside it at the same places; empty without one
    farthest: float  # lift up to which the way back is shown: past where the seal is free [m]
    lifts: Array  # since before firing, up to that [m]
    on_the_pressing_curve: Any  # load at these if that were the way back, which it is not

    # -- under gas: at this crank angle, or at other places of the grid
    def lift(self) -> Any:
        """How far the head has lifted at the seal [m]."""
        return np.asarray(self.report.over_angle.seal_lift)[self.place]

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
    joint, stands, seal = report.joint, report.sealing, shown_seal(report)
    top, crept = (float(x[seal.name][0]) for x in (stands.zone_tops, stands.zone_sets))
    rest = float(joint.zone_closure(stands, seal)[0])
    back = float(joint.springback(stands, seal)[0])
    helpers = tuple(z for z in joint.gasket.seals if z.name != seal.name)
    closures, lifts = (np.linspace(0.0, x, _POINTS) for x in (top, max(1.25 * back, _LEAST_LIFT)))
    seating = (r for r in report.limits if r.key == f"seating/{seal.name}" and not r.holds)
    grid = np.asarray(report.gas.cycle.crank_angle, dtype=float)
    made = SealView(
        report,
        0.0,
        0,
        grid,
        report.build.gasket.construction,
        seal,
        seal.load_kind,
        helpers,
        top,
        rest,
        back,
        before=float(stands.zone_loads[seal.name][0]),
        used_thickness=seal.free_thickness - crept - (top - float(seal.recovery(top))),
        unseated=next(seating, None),
        closures=closures,
        pressed=seal.loading(closures),
        let_go=seal.carried(closures, np.full(_POINTS, top)),
        # counted from where each zone is touched
        helper=next(
            (z.loading(closures - (seal.stands_proud - z.stands_proud)) for z in helpers),
            np.empty(0),
        ),
        farthest=float(lifts[-1]),
        lifts=lifts,
        on_the_pressing_curve=seal.loading(rest - lifts),
    )
    place = made.worst if angle is None else int(np.argmin(np.abs(grid - angle)))
    return replace(made, angle=float(grid[place]), place=place)


def seal_on(build: Build, construction: str = "", angle: float | None = None) -> SealView:
    """The combustion seal of an engine, if wanted with another gasket construction."""
    return seal_view(
        kept_report(with_construction(build, construction or build.gasket.construction)), angle
    )
