"""What each kind of measurement should read on a build: the functions that its row names.

Each takes a build and the evidence (`Rows`) and gives the reading; of a kind without a value the
pressure that passes the seal over that which there was, less 1; of one with a place on the deck
it takes the state of that and the places, and gives one for each. Other columns of the table
``measurements`` say what a kind ``moves``, what it ``tells`` where it has no value, whether
``each`` fastener differs, whether its builds come ``alone``, not as arrays, and what it ``needs``.

The joint is taken with fasteners alike, in the middle of what the tightening gives, and with all of
the creep that the sheet says. Builds may be arrays (`sealkit.analysis.with_numbers`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from sealkit import analysis, tables
from sealkit.analysis import Clamp, margins
from sealkit.analysis.carried import Carried
from sealkit.analysis.clamp import on_the_thread, poisson_of
from sealkit.analysis.deck_side import deck_of, pressed_hot, settled_and_crept
from sealkit.analysis.warm import Warm, across_head, warm_side
from sealkit.build import Build, Reading, held, readings
from sealkit.build.evidence import measured_fields, sample_of
from sealkit.errors import Fault, InputError, fail
from sealkit.evidence import turning
from sealkit.evidence.logs import Log, read
from sealkit.evidence.trace import CylinderPressure
from sealkit.fastening import tightening
from sealkit.report.band import taken
from sealkit.sealing import joint
from sealkit.sealing.deck import DeckMap
from sealkit.sealing.deck import State as DeckState
from sealkit.sealing.deck.layout import on_rim
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.sealing.joint import Joint

Array = NDArray[np.float64]


class Evidence(Protocol):
    """What the fit takes: any evidence that says how far a build is off.

    `kind` is its name in words, `moves` the fields of the sheet that it tells of and `values` how
    many numbers that are independent of each other it comes to.
    """

    @property
    def kind(self) -> str: ...

    @property
    def moves(self) -> tuple[str, ...]: ...

    @property
    def values(self) -> int: ...

    def residuals(self, build: Build) -> Array:
        """How far off a build is, each over its standard deviation, of shape (readings,)."""
        ...

    def together(self, rows: Array) -> Array:
        """Rows of residuals, or of their slopes, as independent ones: what goes one way as one."""
        ...


def _by_torque(build: Build, torque: float | None) -> Build:
    """The build tightened to a torque, if one is given; its scatter holds for its own way alone."""
    if torque is None:
        return build
    scatter = build.fasteners.preload_scatter if build.fasteners.tightening == "torque" else None
    new = {"tightening": "torque", "torque": torque, "preload_scatter": scatter}
    return build.vary_si({f"fasteners.{k}": v for k, v in new.items()})


def _clamped(build: Build, torque: float | None = None) -> tuple[Clamp, Joint]:
    """The joint with fasteners alike, as the sheet tightens it or at a torque."""
    return analysis.clamp_side(analysis.with_one_preload(_by_torque(build, torque)))


def sizing_peak(build: Build) -> Any:
    """Sizing pressure over the air outside, Pa."""
    mean = analysis.kept_cycle(build)
    return analysis.over_air(analysis.sized_on(build, mean).pressure, mean.ambient)


def _stretch(build: Build, _: Rows) -> Any:
    clamp, _made = _clamped(build)
    return clamp.ends[1] / clamp.own_stiffness + clamp.permanent_stretch


def _settled(build: Build, _: Rows) -> Any:
    clamp, _made = _clamped(build)
    return clamp.before_creep.preload / clamp.own_stiffness + clamp.permanent_stretch


def _run(build: Build) -> tuple[Clamp, Joint, Warm]:
    """How it is clamped, and the joint over the heat cycles of the sheet."""
    clamp, made = _clamped(build)
    warm = warm_side(analysis.with_one_preload(build), made, clamp, sizing_peak(build))
    return clamp, made, warm


def _permanent(build: Build, _: Rows) -> Any:
    clamp, _made, warm = _run(build)
    return clamp.permanent_stretch + warm.weak_stretch


def _after_heat(build: Build, _: Rows) -> Any:
    clamp, _made, warm = _run(build)
    gone = clamp.permanent_stretch + warm.weak_stretch
    return warm.low.cold.preload / clamp.own_stiffness + gone


def _preload(build: Build, one: Rows) -> Any:
    return _clamped(build, one.at)[0].ends[1]


def _end_torque(build: Build, _: Rows) -> Any:
    clamp, _made = _clamped(build)
    friction = clamp.friction_thread, clamp.friction_head
    sizes = on_the_thread(build, clamp.thread, *friction)
    return tightening.torque_split.si(clamp.ends[1], **sizes).total


def _turn(build: Build, one: Rows) -> Any:
    """Angle from half of a torque to all of it, other fasteners going along (rad)."""
    (half, _), (clamp, made) = _clamped(build, one.at / 2.0), _clamped(build, one.at)
    moved = made.advance(clamp.ends[1]) - made.advance(half.ends[1])
    return 2.0 * np.pi * moved / clamp.thread.pitch


def _seal_load(build: Build, one: Rows) -> Any:
    return _clamped(build, one.at)[0].high.seal_load


def _seal_share(build: Build, one: Rows) -> Any:
    clamp, made = _clamped(build, one.at)
    carried = clamp.high.seal_load * np.pi * made.seal_diameter
    return carried / (made.bolts * clamp.high.preload)


def _on_the_sheet(build: Build, one: Rows) -> Any:
    path = str(one.row["field"])
    found = held(build, path)
    if found is None:
        found = taken(build).get(path)
    if found is None and path == "heat.coolant_temperature":
        found = analysis.hot_state(build, analysis.FULL_LOAD).coolant
    if found is None:
        raise InputError(Fault(path, "nothing on this build", "a build that has it"))
    return found


def _fastener(build: Build, _: Rows) -> Any:
    return analysis.hot_state(build, analysis.FULL_LOAD).fastener


def _head_difference(build: Build, _: Rows) -> Any:
    return across_head(build, analysis.FULL_LOAD)


def _bare_head(build: Build, one: Rows) -> Any:
    """Rise of the head as a plate at a ring of load on the seal, over its support on the bolts."""
    b, s = build.fasteners.bolt_circle / 2.0, build.gasket.seal_diameter / 2.0
    poisson = poisson_of(build.head.material)
    modulus = tables.load("materials")[build.head.material]["modulus"]
    plate = joint.plate_stiffness.si(modulus, build.plate_thickness, poisson)
    return joint.bending_by_line_load.si(one.at / (2.0 * np.pi * s), s, b, plate, poisson)


def _map(state: DeckState) -> DeckMap:
    assert isinstance(state.deck, DeckMap)
    return state.deck


def _tight(
    build: Build, clamp: Clamp, made: Joint, share: float, like: DeckState | None
) -> DeckState:
    """The deck with all fasteners at a share of their preload."""
    deck = deck_of(build, made, _map(like) if like else None)
    force = min(float(clamp.ends[1]), deck.yield_force * (1.0 - 1e-9))
    return deck.assemble(share * force, start=like)


def _snug(build: Build, torque: float, like: DeckState | None) -> DeckState:
    """The head on a new gasket with all its fasteners run down."""
    return _tight(build, *_clamped(build, torque), _RUN_DOWN, like)


def _dips(snug: DeckState, spots: Sequence[tuple[float, ...]]) -> list[float]:
    """How far the head comes down at its rim beside a fastener as one is tightened alone."""
    deck, lay = _map(snug), snug.deck.layout
    for i, key in enumerate(("fastener", "beside")):
        _counted(key, [spot[i] for spot in spots], len(lay.bolts))
    full, still = float(snug.preload[0]) / _RUN_DOWN, snug.unknowns
    tight = {i: deck.tighten(snug, int(i) - 1, full) for i in {spot[0] for spot in spots}}
    rims = [deck.plate.patch(on_rim(lay, lay.bolts[int(j) - 1])[None]) for _, j in spots]
    moved = [tight[i].unknowns - still for i, _ in spots]
    return [float(rim.closure(w)[0]) for rim, w in zip(rims, moved, strict=True)]


def _used(build: Build, __: float, like: DeckState | None) -> DeckState:
    """The deck once it has been run, with what crept and what warm states press most."""
    clamp, made, warm = _run(build)
    fresh = _tight(build, clamp, made, 1.0, like)
    deck = _map(fresh)
    _, crept = settled_and_crept(build, deck, clamp, fresh)
    return pressed_hot(build, deck, crept, warm, like)


def _new(gasket: Gasket) -> tuple[int, Zone]:
    """The seal that a micrometer finds, by its place among all, and as it is new."""
    found = [(i, z) for i, z in enumerate(gasket.seals) if z.free_thickness > 0.0]
    if not found:
        raise fail("gasket", gasket.name, "a gasket that says how thick its seal is when new")
    return max(found, key=lambda x: x[1].free_thickness)


def _thicknesses(used: DeckState, spots: Sequence[tuple[float, ...]]) -> list[float]:
    """Thickness of the seal once taken out: new, less what it has crept and not sprung back."""
    i, zone = _new(used.deck.gasket)
    _counted("bore", [bore for bore, _ in spots], len(used.deck.layout.bores))
    left = zone.free_thickness - used.sets[i] - used.tops[i] + zone.recovery(used.tops[i])
    rows, turn = left.reshape(len(used.deck.layout.bores), -1), 2.0 * np.pi
    return [float(np.interp(at, used.angle, rows[int(n) - 1], period=turn)) for n, at in spots]


def _counted(key: str, numbers: Sequence[float], count: int) -> None:
    if wrong := [n for n in numbers if not 1 <= n <= count]:
        raise fail(key, f"{wrong[0]:g}", f"a number from 1 to {count}, as on the deck map")


def _beside_one(build: Build) -> list[tuple[float, ...]]:
    """The fastener nearest to the middle of the deck, the dial beside it and its two neighbours."""
    bolts = build.layout.bolts
    far = np.hypot(*(bolts - bolts.mean(axis=0)).T)
    one = int(np.argmin(np.round(far, 6)))
    near = np.argsort(np.round(np.hypot(*(bolts - bolts[one]).T), 6), kind="stable")[:3]
    return [(one + 1, int(j) + 1) for j in near]


def _all_round(build: Build) -> list[tuple[float, ...]]:
    """Eight places round every bore."""
    turns = np.arange(8) * np.pi / 4.0
    return [(n, float(x)) for n in range(1, len(build.layout.bores) + 1) for x in turns]


def _mean_peak(build: Build, _: Rows) -> Any:
    return analysis.mean_cycle(build).cycle.peak_pressure


def _brake_power(build: Build, _: Rows) -> Any:
    return analysis.gas_side(build).brake_power


def _passed(build: Build, carried: Carried | None, cold: bool = True) -> float:
    """Gas pressure over the air outside at which the seal is passed, in any state or in cold ones.

    At the weakest place of the map of the deck, where that is known. Between pressures of a list
    the load left over the load wanted is taken as straight; at its ends nothing more is told.
    """
    alike = analysis.with_one_preload(build)
    case = analysis.judged(alike, sizing_peak(alike), carried)[0]
    left = [
        np.asarray(r.margin, dtype=float)
        for r in margins.limits(case, _PRESSURES)
        if r.check == "residual" and not (cold and r.state.temperature is margins.HOT)
    ]
    if not left:
        raise fail("gasket", build.gasket.construction, "a gasket whose seal wants a load")
    over = np.min(left, axis=0) * _PRESSURES
    passed = int(np.argmax(over < 0.0)) if np.any(over < 0.0) else len(over) - 1
    if passed in (0, len(over) - 1):
        return float(_PRESSURES[passed])
    last, first = over[passed - 1], over[passed]
    step = _PRESSURES[passed] - _PRESSURES[passed - 1]
    return float(_PRESSURES[passed - 1] + step * last / (last - first))


def _opens(build: Build, one: Rows) -> float:
    return _passed(build, one.carried)


def _leak_down(build: Build, one: Rows) -> float:
    return _passed(build, one.carried) / one.at - 1.0


def _at_boost(build: Build, one: Rows) -> float:
    other = build.vary_si({"charge.boost": one.at})
    return _passed(other, one.carried, cold=False) / float(sizing_peak(other)) - 1.0


def _pressed_zone(build: Build, one: Rows) -> Any:
    """Load of a piece of the gasket between plates, pressed by a closure."""
    role, zones = one.row["part"], analysis.gasket_of(build).zones
    zone = next((z for z in zones if z.role == role), None)
    if zone is None:
        raise fail("gasket", build.gasket.construction, f"a gasket with a zone that is {role}")
    return np.interp(one.at, zone.closure, zone.load)


def usual(build: Build, row: Mapping[str, Any]) -> float | None:
    """What a kind is read at where nobody says, plain SI; None where there is nothing.

    The share ``usual`` of the torque on the sheet, how far the clamped joint presses the part of
    the gasket, or ``usual`` as it stands.
    """
    if row["at"] == "torque":
        f = build.fasteners
        return row["usual"] * f.torque if f.tightening in ("torque", "torque and angle") else None
    if not row["part"]:
        return float(row["usual"]) if row["usual"] else None
    zones = {z.role: z.name for z in analysis.gasket_of(build).zones}
    tops = _clamped(build)[0].high.zone_tops
    found = float(np.ravel(tops[zones[row["part"]]])[0]) if row["part"] in zones else 0.0
    return found if found >= _PRESSED else None


_SHARED = 0.5  # of a reading's variance, the same in all readings of its kind; invented
_RUN_DOWN = 0.2  # of the torque, to which all are run down first; invented
_PRESSED = 20e-6  # m, least closure that a dial on a press tells; invented
_PRESSURES = np.geomspace(1e5, 1e8, 48)  # Pa, at which a seal is looked at
_AGAIN = ("bolt stretch", "stretch after settling", "stretch after heat")  # of one fastener
_GROUPS = {
    "friction": "fasteners.friction_thread fasteners.friction_bearing",
    "wrench": "friction fasteners.preload_factor",
    "creep": "gasket.creep_relaxation gasket.seal_creep_relaxation fasteners.embedment",
    "burn": "charge.filling burn.ca50 burn.duration burn.wall_coefficient burn.released_share",
    "curves": "gasket.seal_load_factor gasket.body_load_factor",
    "plate": "head.thickness deck.effective_thickness",
    "cold": "wrench creep curves gasket.body_over_ring head.thickness head.load_introduction",
    "hot": "cold heat.rise_factor head.gradient",
}
"""Fields that many kinds tell of, by the word for them in the column ``moves``."""


def fields_of(words: str) -> Iterator[str]:
    """The fields that words of the column ``moves`` name."""
    for word in words.split():
        yield from fields_of(_GROUPS[word]) if word in _GROUPS else (word,)


_DECKS: Mapping[str, Callable[[Build, float, DeckState | None], DeckState]]
_DECKS = {"fastener": _snug, "bore": _used}
"""The deck as it stands where something is read on it, by the column ``place``; of a build, what it
is read at, and a state of much the same deck or None."""
SPOTS: Mapping[str, Callable[[Build], Sequence[tuple[float, ...]]]]
SPOTS = {"fastener": _beside_one, "bore": _all_round, "": lambda build: ((),)}
"""Where on a build a kind is read where nobody says, by the same column."""


@dataclass(frozen=True)
class Rows:
    """Readings of one kind at one condition, as evidence.

    Parameters
    ----------
    readings : all of one kind and one `at`
    carried : what the map of the deck says, where the sheet has one
    scatter : standard deviation from one fastener, or gasket, to the next, in the unit of the
        reading
    like : the deck of the sheet itself, where its state is read
    others : other readings of the same fasteners, in the same order
    """

    readings: tuple[Reading, ...]
    carried: Carried | None = None
    scatter: Any = 0.0
    like: DeckState | None = None
    others: tuple[Rows, ...] = ()

    @property
    def row(self) -> Mapping[str, Any]:
        """Of the table ``measurements``: what was measured."""
        return self.readings[0].row

    @property
    def kind(self) -> str:
        """The same in words."""
        return self.readings[0].kind

    @property
    def at(self) -> float:
        """What it was read at, plain SI; 0 of a kind that asks for nothing."""
        return self.readings[0].at or 0.0

    @property
    def moves(self) -> tuple[str, ...]:
        """Fields of the sheet that it tells of."""
        words = " ".join(one.row["moves"] for one in (self, *self.others))
        return tuple(dict.fromkeys(fields_of(words)))

    @property
    def values(self) -> int:
        """How many independent numbers it comes to."""
        return len(self.readings)

    def together(self, rows: Array) -> Array:
        """Its rows as they are: each reading is independent of the others."""
        return rows

    @property
    def files(self) -> tuple[str, ...]:
        """Names of the files that it came in."""
        return tuple(r.file for r in self.readings if r.file)

    @property
    def many(self) -> bool:
        """Whether `residuals` takes builds that are arrays."""
        return not self.row["alone"]

    def predicted(self, build: Build) -> Any:
        """What each of them should read."""
        read = globals()[f"_{self.row['by']}"]
        if place := self.row["place"]:
            state = _DECKS[place](build, self.at, self.like)
            return read(state, [r.spot for r in self.readings])
        return read(build, self)

    @property
    def valued(self) -> bool:
        """Whether the kind has a value; else on which side the seal was."""
        return bool(self.row["value"])

    def on(self, build: Build, carried: Carried | None, others: Sequence[Rows] = ()) -> Rows:
        """As it is judged on a sheet, after other readings that may be of the same fasteners."""
        here, torque = replace(self, carried=carried), self.readings[0].at
        if place := self.row["place"]:
            here = replace(here, like=_DECKS[place](build, self.at, None))
        if place == "bore":
            share = 0.5 * tables.load("spread")["thickness"]["share"]
            return replace(here, scatter=share * _new(analysis.gasket_of(build))[1].free_thickness)
        if not self.row["each"]:
            return here
        if sample := sample_of(self.readings):
            return replace(here, scatter=sample.scatter)
        share = analysis.scatter_of(_by_torque(build, torque))[0] / 2.0
        ways = [build.fasteners.preload_factor * (1.0 + x) for x in (-share, 0.0, share)]
        low, middle, high = (
            np.reshape(here.predicted(build.vary_si({"fasteners.preload_factor": x})), (-1, 1))
            for x in ways
        )
        wide = np.maximum(np.abs(low - middle), np.abs(high - middle))
        same = [o for o in others if o.kind in _AGAIN and len(o.readings) == len(self.readings)]
        own = tuple(same) if self.kind in _AGAIN else ()
        return replace(here, scatter=np.where(high < low, -wide, wide), others=own)

    def _off(self, build: Build) -> tuple[Array, Array]:
        """Model less reading, (readings, builds), and what the reading may be off, (readings, 1).

        Where the seal held or was passed, a share counts only on the side that this excludes.
        """
        shape = (-1, 1) if self.row["place"] else (1, -1)
        found = np.asarray(self.predicted(build), dtype=float).reshape(shape)
        wide = np.array([[r.deviation] for r in self.readings])
        if self.valued:
            return found - np.array([[r.value] for r in self.readings]), wide
        off = np.maximum(found, 0.0) if self.row["tells"] == "failed" else np.minimum(found, 0.0)
        return np.broadcast_to(off, (len(self.readings), off.shape[1])), wide

    def residuals(self, build: Build, alone: bool = False) -> Array:
        """How far off a build is, over the standard deviation: (readings,) or (readings, builds).

        A fastener stands as far off the mean of all as its scatter allows; what other readings of
        it say of that is taken off, so that the residuals are independent of theirs. A share of
        the variance of a reading is its instrument's and the same in all: over the root of the
        covariance; not so where each is looked at `alone`.
        """
        off, wide = self._off(build)
        known, far = np.ones_like(wide), np.zeros_like(off)
        for one in self.others:
            apart, by = one._off(build)
            known, far = known + (one.scatter / by) ** 2, far - one.scatter / by**2 * apart
        off, shared = off + self.scatter * far / known, 0.0 if alone else _SHARED
        own = np.sqrt((1.0 - shared) * wide**2 + self.scatter**2 / known)
        apart = shared * (wide / own) @ (wide / own).T
        if self.row["place"] and not alone:  # one fastener, or gasket, has its scatter in all
            first, each = np.array([r.spot[0] for r in self.readings]), self.scatter / own
            same = first[:, None] == first if self.row["each"] else np.ones_like(apart)
            apart = apart + (same - np.eye(len(own))) * (each @ each.T)
        square, turn = np.linalg.eigh(np.eye(len(own)) + apart)
        out = turn @ (turn.T @ (off / own) / np.sqrt(square)[:, None])
        return out if out.shape[1] > 1 else out[:, 0]


def evidence_of(readings: Sequence[Reading]) -> list[Rows]:
    """Readings as evidence, those of one kind and condition together."""
    groups: dict[tuple[str, float | None], list[Reading]] = {}
    for one in readings:
        groups.setdefault((one.kind, one.at), []).append(one)
    return [Rows(tuple(rows)) for rows in groups.values()]


def judged_on(
    build: Build, evidence: Sequence[Evidence], carried: Carried | None = None
) -> list[Evidence]:
    """Evidence as it is judged on a sheet: by its map, and with its scatter of the fasteners."""
    out: list[Evidence] = []
    for one in evidence:
        rows = [x for x in out if isinstance(x, Rows)]
        out.append(one.on(build, carried, rows) if isinstance(one, Rows) else one)
    return out


def gather(build: Build, folder: Path) -> list[Evidence]:
    """All evidence on a sheet.

    Raises InputError where some was fitted already, or naming every row that cannot be read or
    cannot be of this build.

    Parameters
    ----------
    folder : of the sheet, beside which the files of its readings lie
    """
    every = readings(build.evidence)
    if not every:
        return []
    if measured_fields(build) or (build.evidence and build.evidence.doubt):
        wanted = "the sheet from before the fit, with all readings: none may count twice"
        raise InputError(Fault("evidence.known", "what a fit has found already", wanted))
    for one in every:
        if one.file and not (folder / one.file).is_file():
            raise fail(f"{one.path}.file", one.file, "a file that lies beside the sheet")
    rows = evidence_of(
        [_filled(x, build, folder) for x in every if x.kind != CylinderPressure.kind]
    )
    if faults := [f for one in rows for f in _unfit(build, one)]:
        raise InputError(faults)
    logs = [x.file for x in every if x.kind == CylinderPressure.kind]
    return [*rows, *(_log(build, folder / name) for name in logs)]


def _filled(one: Reading, build: Build, folder: Path) -> Reading:
    """A reading with what its file holds, a log of torque and angle, if it has one."""
    if not one.file:
        return one
    full = build.fasteners.torque if build.fasteners.tightening == "torque" else None
    torque, angle = turning.read(folder / one.file, full)
    return replace(one, at=torque, value=angle, deviation=one.deviation * angle)


def _unfit(build: Build, one: Rows) -> Iterator[Fault]:
    """A fault for every reading that cannot be of this build."""
    needs, wanted = str(one.row["needs"]), []
    path, _, value = needs.partition(" = ")
    if needs and held(build, path) != value.strip('"'):
        wanted = [f"a build with {needs}"]
    else:
        try:
            one.predicted(build)
        except InputError as err:
            wanted = [f"a reading that this build can have; {fault}" for fault in err.faults]
    for row in one.readings:
        yield from (Fault(f"{row.path}.kind", row.said, words) for words in wanted)


def _log(build: Build, path: Path) -> CylinderPressure:
    """The evidence of a cylinder-pressure log, if nothing about it has to be put right first."""
    found = CylinderPressure(read(path))
    if wrong := [one for one in found.look(build).findings if one.wrong]:
        raise InputError(Fault(path.name, one.text, "a log that is put right") for one in wrong)
    return found


def made_log(build: Build) -> CylinderPressure:
    """The evidence that a perfect log of a build would be."""
    cycle = analysis.mean_cycle(build).cycle
    return CylinderPressure(
        Log("", cycle.crank_angle, np.atleast_2d(cycle.pressure), "absolute", "bar")
    )
