"""The fastening side of a build: preload range of one fastener, and the joint of one bore."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from sealkit import tables
from sealkit.analysis.gasket import gasket_of, made_thinner
from sealkit.arrays import per_build
from sealkit.build import Build, status_of
from sealkit.errors import InputError, fail
from sealkit.fastening import grades, losses, stiffness, threads, tightening, yielding
from sealkit.sealing import gaskets, heat, joint
from sealkit.sealing.gaskets import Creep
from sealkit.sealing.joint import Assembly, Joint
from sealkit.words import Note, note

# trade rule for the clamp of one bore over the gas force on it
CLAMP_RULE = (2.5, 3.5)
CREEP = "gasket creep relaxation"
_ROUGHNESS = {"fine": "below 10 um", "medium": "10 to 40 um", "rough": "40 to 160 um"}
_SCATTER_OF = {
    "torque": "torque wrench",
    "torque and angle": "turn of nut",
    "stretch": "elongation",
    "yield": "yield",
}
_DRY = "torque wrench, dry, NASA-STD-5020B"
_BOSS = 1.4  # boss over the contact under the head (common practice, no source)

Sourced = tuple[Any, str, str]  # value, source, status
# of the creep of the table, largest at the low end of the preload (invented)
CREEP_PARTS = (1.0, 0.75, 0.5)


@dataclass(frozen=True)
class Clamp:
    """The fastening side of a build, per fastener; numbers may be arrays over builds.

    `own_stiffness` is that of the fastener by itself, as a gauge over its ends reads its stretch.
    `yield_preload` is the preload at which the weakest fastener of its grade yields on the wrench,
    `strongest_yield` that of the strongest. `weak_high` and `permanent_stretch` are the preload of
    the weakest and what it stretches for good at the high end of the tightening, where the
    strongest takes `preload.assembly_high`; `breaks` says whether it breaks there. `ends` are the
    preloads as tightened, low end first, and `settled` works out `preload` and `nominal`.
    `judged_by_stretch` tells ways of tightening that may go past yield, so that not the proof
    strength counts but the stretch.

    `warmed` keeps what the heat makes of it (`sealkit.analysis.warm`), and what is judged then.

    `low` and `nominal` are the joint after its losses, `before_creep` is the low end after
    embedment alone, `high` the high end as tightened, of the joint with the strongest fasteners,
    `strong`.
    """

    thread: threads.Thread
    strength: grades.Strength
    friction_thread: Any
    friction_head: Any
    own_stiffness: float
    yield_preload: Any
    strongest_yield: Any
    scatter: Any
    scatter_source: tuple[str, str]
    ends: tuple[Any, Any, Any]
    settled: Callable[[], tuple[losses.PreloadRange, Assembly]]
    capped: Any
    asked_high: Any
    weakest_area: float
    weakest_section: Note
    yielding_length: Any
    hardening: Any
    weak_high: Any
    permanent_stretch: Any
    breaks: Any
    shares: tuple[float, float]
    judged_by_stretch: bool
    strong: Joint
    before_creep: Assembly
    low: Assembly
    high: Assembly
    by_yield: bool = False
    warmed: dict[Any, Any] = dataclasses.field(
        init=False, repr=False, compare=False, default_factory=dict
    )

    @functools.cached_property
    def preload(self) -> losses.PreloadRange:
        """Its whole range, as tightened and after losses; of many builds worked out when asked."""
        return self.settled()[0]

    @functools.cached_property
    def nominal(self) -> Assembly:
        """The joint after its losses, in the middle of that range."""
        return self.settled()[1]

    @property
    def scatter_words(self) -> str:
        """Scatter of the method; what is tightened to yield goes as far as its strongest."""
        less, p = f"{100.0 * self.scatter:.0f}", self.preload
        if not self.by_yield:
            return f"±{less} %"
        more = 100.0 * (float(np.ravel(p.assembly_high / p.assembly)[0]) - 1.0)
        return f"-{less} to +{more:.0f} %, the strongest of the grade"

    @property
    def yields_on_purpose(self) -> Any:
        """Whether the way of tightening may take the fastener to yield, and its high end does."""
        return self.judged_by_stretch & ((self.permanent_stretch > 0.0) | self.by_yield)


def _segments(build: Build, thread: threads.Thread) -> list[tuple[float, float]]:
    """(area, length) of the shank, once for each diameter, and last of the free thread."""
    f = build.fasteners
    shank: dict[float, float] = {}
    for part in f.shank:
        shank[part.diameter] = shank.get(part.diameter, 0.0) + part.length
    rest = max(f.grip_head + f.grip_block - sum(shank.values()), 0.0)
    return [*((np.pi / 4 * d**2, x) for d, x in shank.items()), (thread.stress_area, rest)]


def _bolt_stiffness(build: Build, thread: threads.Thread, mated: bool = True) -> float:
    """Stiffness of shank, free thread and both ends of the fastener.

    With the give of nut and tapped part; or without it, as a gauge over its own ends sees it.
    """
    materials = tables.load("materials")
    own, block = (materials[x.material]["modulus"] for x in (build.fasteners, build.block))
    mates = {"nut" if build.fasteners.kind == "stud" else "head": own, "tapped part": block}
    springs = [stiffness.bolt_stiffness.si(_segments(build, thread), own)]
    for end, mate in mates.items():
        size = (thread.diameter, thread.root_area)
        springs.append(stiffness.end_stiffness.si(end, *size, own, mate if mated else np.inf))
    return float(stiffness.series.si(springs))


def poisson_of(material: str) -> float:
    """Poisson's ratio of a material; 0.30 where the table has none (from memory)."""
    known = tables.load("materials")[material]["poisson"]
    return 0.30 if known is None else float(known)


def boss_diameter(build: Build) -> Any:
    """Outer diameter of the metal that a fastener squeezes (m)."""
    f = build.fasteners
    return _BOSS * build.contact_diameter if f.boss_diameter is None else f.boss_diameter


def on_the_wrench(build: Build, made: Joint, elastic: Any, at_yield: Any, hardening: Any) -> Any:
    """Preload of a fastener that yields, for the one it would have if it did not (N).

    By angle the whole joint is turned on, by stretch the fastener is drawn on, and either hardens;
    by torque or to the yield point it is held where it yields.
    """
    way, least = build.fasteners.tightening, np.minimum(elastic, at_yield)
    if way == "stretch":
        own = _bolt_stiffness(build, threads.thread.si(build.fasteners.thread), mated=False)
        return yielding.stretched.si(elastic, at_yield, own, hardening)
    if way != "torque and angle" or not np.any(elastic > at_yield):
        return least
    over = np.maximum(made.advance(elastic) - made.advance(at_yield), 0.0)
    for one in np.unique(hardening):
        soft = float(stiffness.series.si([made.bolt_stiffness, one]))
        past = dataclasses.replace(made, bolt_stiffness=soft).turned(at_yield, over)
        least = np.where((elastic > at_yield) & (hardening == one), past, least)
    return least


def on_the_thread(build: Build, thread: threads.Thread, *friction: Any) -> dict[str, Any]:
    """What the long form of the torque takes of a fastener; friction of thread and head."""
    f = build.fasteners
    return {
        "diameter": thread.diameter,
        "pitch": thread.pitch,
        "thread_friction": friction[0],
        "head_friction": friction[1],
        "pitch_diameter": thread.pitch_diameter,
        "head_diameter": f.bearing_diameter,
        "inner_diameter": f.hole_diameter,
    }


def yields_at(strength: grades.Strength, area: float, thread: threads.Thread, friction: Any) -> Any:
    """Preload at which a section yields while it is twisted, friction in the thread (N)."""
    pitches = (thread.pitch, thread.pitch_diameter)
    return tightening.preload_at_utilisation.si(
        strength.yield_strength, 1.0, area, *pitches, friction
    )


def asked(
    build: Build,
    made: Joint,
    thread: threads.Thread,
    thread_friction: Any,
    head_friction: Any,
    at_yield: Any,
) -> Any:
    """Preload that the tightening on the sheet asks for, as if nothing yielded but by yield (N)."""
    f = build.fasteners
    wanted = at_yield
    if f.tightening == "stretch":
        drawn = 0.0 if f.stretch is None else f.stretch
        wanted = _bolt_stiffness(build, thread, mated=False) * drawn
    elif f.tightening != "yield":
        torque = 0.0 if f.torque is None else f.torque
        sizes = on_the_thread(build, thread, thread_friction, head_friction)
        wanted = per_build(torque / tightening.torque_split.si(1.0, **sizes).total)
    if f.tightening == "torque and angle":
        turn = thread.pitch * (0.0 if f.angle is None else f.angle) / (2 * np.pi)
        wanted = made.turned(per_build(np.minimum(wanted, at_yield)), turn)
    return wanted * f.preload_factor


def fastener_shares(cylinders: int, around: int, on_head: int) -> tuple[float, float]:
    """Fasteners that count for the bore with the fewest, and on average.

    In a row of n bores with m fasteners round each and N on the head, g = (n m - N)/(n - 1) of them
    stand between two neighbours and serve both. A bore inside the row then has m - g to itself, one
    at the end m - g/2; no bore has more than stand round it.
    """
    mean = on_head / cylinders
    if cylinders == 1:
        return float(min(on_head, around)), float(min(on_head, around))
    between = (cylinders * around - on_head) / (cylinders - 1)
    least = around - between if cylinders > 2 else around - between / 2
    return float(min(least, around)), float(min(mean, around))


def trade_count(build: Build, clamp: Clamp, gas_force: float) -> float:
    """Clamp over gas force as the trade counts it.

    All fasteners round the bore in full, at the preload they are tightened to: sharing between
    bores, scatter and losses are left to the rule's own margin.
    """
    return float(build.fasteners.around_bore * clamp.preload.assembly / gas_force)


class _Cycles(NamedTuple):
    """Of the heat of a build its cycles."""

    cycles: float


def clamp_side(build: Build) -> tuple[Clamp, Joint]:
    """Preload range of one fastener and the joint of one bore (plain SI).

    Kept for builds that differ in other sections only, and in temperatures; of many builds at once
    it is worked out each time.
    """
    # nothing else is there to be read
    others: Any = dict.fromkeys(("charge", "fuel", "burn", "liquids", "deck"))
    others["heat"] = _Cycles(build.heat.cycles)
    part = dataclasses.replace(build, _given={}, _source="", **others)
    try:
        return _kept_side(part)
    except TypeError:  # arrays cannot be looked up
        return _clamp_side(part)
    except InputError as err:
        raise InputError(f.told_in(build.system) for f in err.faults) from err


def _clamp_side(build: Build) -> tuple[Clamp, Joint]:
    f, sized = build.fasteners, gasket_of(build)
    thread = threads.thread.si(f.thread)
    if f.grade is not None:
        strength = grades.strength.si(f.grade, thread.diameter)
    else:
        own = (f.yield_strength, f.tensile_strength, f.proof_strength)
        trust = {"source": "the build sheet", "status": sheet_status(build)}
        strength = grades.custom_strength.si(*own, **trust)
    friction = tightening.friction.si(f.lubricant)
    mu_thread = friction.thread if f.friction_thread is None else f.friction_thread
    mu_head = friction.head if f.friction_bearing is None else f.friction_bearing
    materials = tables.load("materials")
    head, block = materials[build.head.material], materials[build.block.material]

    segments = _segments(build, thread)
    cuts = [(float(thread.stress_area), note("stress area of {t}", t=f.thread))]
    for d in (part.diameter for part in f.shank):
        cuts.append((float(np.pi / 4 * d**2), Note(f"shank of {{{d * 1e3:.1f} mm}}")))
    area, section = min(cuts, key=lambda cut: cut[0])
    kb = _bolt_stiffness(build, thread)
    # what the engaged thread squeezes of the block counts with that end of the fastener
    layers = [(head["modulus"], f.grip_head), (block["modulus"], f.grip_block)]
    sizes = (f.hole_diameter, build.contact_diameter)
    boss = boss_diameter(build)
    km = per_build(stiffness.member_stiffness.si(layers, *sizes, outer_diameter=boss))
    yield_preload = per_build(yields_at(strength, area, thread, mu_thread))
    b = build.fasteners.bolt_circle / 2.0
    s = build.gasket.seal_diameter / 2.0
    poisson = poisson_of(build.head.material)
    plate = joint.plate_stiffness.si(head["modulus"], build.head.thickness, poisson)
    shares = fastener_shares(build.bores_per_head, f.around_bore, f.on_head)
    share = shares[0]
    made = Joint(
        gasket=sized,
        bolts=share,
        bolt_stiffness=kb,
        member_stiffness=km,
        yield_force=float(strength.yield_strength * area),
        seal_diameter=build.gasket.seal_diameter,
        bend_pressure=float(joint.bending_by_pressure.si(1.0, s, b, plate, poisson)),
        bend_load=float(joint.bending_by_line_load.si(1.0, s, b, plate, poisson)),
        load_introduction=build.head.load_introduction,
        thinner=made_thinner(build, sized),
    )

    wanted = asked(build, made, thread, mu_thread, mu_head, yield_preload)
    scatter, *origin = scatter_of(build)
    # whoever tightens to yield goes on until the fastener in hand yields, the strongest too
    more = np.maximum(scatter, f.yield_spread) if f.tightening == "yield" else scatter
    asked_high = wanted * (1.0 + more)
    strain = tables.load("strain_limits")
    uniform = float(strain["uniform strain"]["share"])
    allowed = float(strain["permanent stretch while tightening"]["share"])
    stress = (strength.yield_strength, strength.tensile)
    engaged = float(tables.load("fastener_ends")["tapped part"]["thread"]) * thread.diameter
    free = (thread.stress_area, segments[-1][1] + engaged)
    length = yielding.of_one_cut(
        sorted(segments[:-1]),
        lambda shank: yielding.yielding_length.si(
            [*shank, free], *stress, allowed / uniform, f.section_tolerance
        ),
    )
    length = per_build(length)
    hardening = per_build(yielding.hardening_stiffness.si(*stress, area, length, uniform))

    def end(elastic: Any, at_yield: Any) -> Any:
        return per_build(on_the_wrench(build, made, elastic, at_yield, hardening))

    # friction takes the yield of the weakest down, the grade's spread that of the strongest up
    at_yield = np.minimum(scatter, tables.load("scatter")["yield"]["high"])
    strongest = yield_preload * (1.0 + f.yield_spread)
    ends = (
        end(wanted * (1.0 - scatter), yield_preload * (1.0 - at_yield)),
        end(wanted, yield_preload),
        end(asked_high, strongest),
    )
    weak_high = end(asked_high, yield_preload)
    permanent = per_build(np.maximum(weak_high - yield_preload, 0.0) / hardening)
    most = yield_preload * float(strength.tensile / strength.yield_strength)
    by_torque = f.tightening == "torque"
    breaks = asked_high > most if by_torque else permanent > uniform * length
    depth, *where = embedment_of(build)
    creeps = [zone_creep(build, made.gasket, part) for part in CREEP_PARTS]
    each = [made.load_introduction, made.member_stiffness, *made.thinner.values()]
    lost = [c.share for creep in creeps for c in creep.values()]
    (rows,) = np.broadcast_shapes((1,), *map(np.shape, (*ends, depth, *each, *lost)))
    tightened = _tightened(made, ends, rows)
    gasket_stiffness = per_build(made.gasket_stiffness(tightened(1, 2))) / share
    stack = 1.0 / (1.0 / km + 1.0 / gasket_stiffness)
    settling = losses.embedment_loss.si(depth, kb, stack)
    # the limits of many builds ask for the low end alone
    eager = len(ends) if rows == 1 else 1
    stands = _settled(made, tightened(0, eager), settling, creeps[:eager])

    @functools.cache
    def settled() -> tuple[losses.PreloadRange, Assembly]:
        rest = creeps[eager:]
        more = _settled(made, tightened(eager, len(ends)), settling, rest) if rest else []
        every = [*stands, *more]
        return _range(ends, settling, where, every, creep_of(build)[1:]), every[1][1]

    strong = dataclasses.replace(made, yield_force=made.yield_force * (1.0 + f.yield_spread))
    return (
        Clamp(
            thread=thread,
            strength=strength,
            friction_thread=per_build(mu_thread),
            friction_head=per_build(mu_head),
            own_stiffness=_bolt_stiffness(build, thread, mated=False),
            yield_preload=yield_preload,
            strongest_yield=strongest,
            scatter=per_build(scatter),
            scatter_source=(origin[0], origin[1]),
            ends=ends,
            settled=settled,
            capped=wanted > yield_preload * (1 + 1e-12),
            asked_high=per_build(asked_high),
            weakest_area=area,
            weakest_section=section,
            yielding_length=length,
            hardening=hardening,
            weak_high=weak_high,
            permanent_stretch=permanent,
            breaks=breaks,
            shares=shares,
            judged_by_stretch=f.tightening in ("torque and angle", "yield"),
            strong=strong,
            before_creep=stands[0][0],
            low=stands[0][1],
            high=tightened(2, 3),
            by_yield=f.tightening == "yield",
        ),
        made,
    )


_kept_side = functools.lru_cache(maxsize=8)(_clamp_side)


def scatter_row(build: Build) -> Mapping[str, Any]:
    """The row of the table of scatter for the sheet's way of tightening."""
    f = build.fasteners
    method = _SCATTER_OF[f.tightening]
    if f.tightening == "torque" and any(w in f.lubricant for w in ("dry", "gritty")):
        method = _DRY
    return tables.load("scatter")[method]


def scatter_of(build: Build) -> Sourced:
    """Preload up or down from its mean, a share, and where that comes from."""
    value, source = build.fasteners.preload_scatter, "the build sheet"
    status = sheet_status(build, "fasteners.preload_scatter")
    if value is None:
        value, source, status = (scatter_row(build)[k] for k in ("high", "source", "status"))
    if build.fasteners.tightening == "yield":
        source += "; at the high end the strongest of the grade, at its own yield"
    return value, source, status


def thread_pairs(build: Build) -> int:
    """Engaged threads of one fastener: a stud has one in the block and one in its nut."""
    return 2 if build.fasteners.kind == "stud" else 1


def embedment_of(build: Build) -> Sourced:
    """How far thread and faces settle (m), and where that comes from."""
    f = build.fasteners
    if f.embedment is not None:
        return f.embedment, "the build sheet", sheet_status(build, "fasteners.embedment")
    rough = _ROUGHNESS[f.roughness]
    depth = losses.embedment_depth.si(rough, interfaces=2, faces=1, threads=thread_pairs(build))
    return depth, "VDI 2230 embedment values", "from memory"


def _tightened(made: Joint, ends: Sequence[Any], rows: int) -> Callable[[int, int], Assembly]:
    """The joint as the wrench leaves it, from one of the ends up to another, side by side.

    All are worked out as builds of one array, or as one where they are alike.
    """
    alike = all(np.array_equal(end, ends[0]) for end in ends)
    first = np.concatenate([np.full(rows, end) for end in (ends[:1] if alike else ends)])
    every = made.of(np.arange(len(first)) % rows).assemble(first)

    def between(i: int, j: int) -> Assembly:
        if not alike:
            return every.of(slice(i * rows, j * rows))
        return every if j - i == 1 else every.of(np.tile(np.arange(rows), j - i))

    return between


def _settled(
    made: Joint, pressed: Assembly, settling: Any, creeps: Sequence[Mapping[str, Creep]]
) -> list[tuple[Assembly, Assembly]]:
    """The joint tightened to each end: after embedment, and after its creep on top."""
    first = pressed.assembly_preload
    rows = len(first) // len(creeps)
    wide = made.of(np.arange(len(first)) % rows)
    settles = np.tile(np.full(rows, settling), len(creeps))
    before = wide.eased(pressed, np.atleast_1d(kept(first - settles, first)))
    creep = {
        name: Creep(np.concatenate([np.full(rows, c[name].share) for c in creeps]), of_first.frame)
        for name, of_first in creeps[0].items()
    }
    after = wide.relaxed(before, creep)
    parts = [slice(i * rows, (i + 1) * rows) for i in range(len(creeps))]
    return [(before.of(part), after.of(part)) for part in parts]


def _range(
    ends: tuple[Any, Any, Any],
    settling: Any,
    where: Sequence[str],
    stands: list[tuple[Assembly, Assembly]],
    trust: Sequence[str],
) -> losses.PreloadRange:
    """Preload with scatter and losses, low end first; no end is more than a fastener yields at.

    `settling` is what embedment takes (N), `where` and `trust` are source and status of embedment
    and of creep.
    """
    gone = [per_build(before.preload - after.preload) for before, after in stands]
    left = [
        per_build(np.maximum(end - settling - crept, 0.0))
        for end, crept in zip(ends, gone, strict=True)
    ]
    settled = per_build(np.broadcast_to(settling, np.shape(gone[0])))
    terms = (
        losses.LossTerm("embedment", settled, settled, settled, *where),
        losses.LossTerm(CREEP, gone[0], gone[1], gone[2], *trust),
    )
    return losses.PreloadRange(*ends, left[0], left[1], left[2], terms)


def sheet_status(build: Build, path: str = "") -> str:
    """Status of a number that stands on the sheet: the sheet's own, never better than memory.

    Of a field that measurements have narrowed down it is theirs.
    """
    status = status_of(build.evidence, path) or build.sheet.status
    return status if status in tables.STATUSES else "from memory"


def creep_of(build: Build) -> Sourced:
    """Creep relaxation of the soft parts of the gasket, and where that comes from."""
    if build.gasket.creep_relaxation is not None:
        status = sheet_status(build, "gasket.creep_relaxation")
        return build.gasket.creep_relaxation, "the build sheet", status
    known = tables.load("creep")
    name = build.gasket.construction
    if name not in known:
        raise fail(
            "gasket.creep_relaxation",
            f"nothing, with zones of your own ({name})",
            'the part of its load that the gasket loses as it settles, such as "5 %"',
        )
    row = known[name]
    return row["share"], row["source"], row["status"]


def seal_creep_of(build: Build) -> Any:
    """Creep relaxation of the combustion seal; of zones of one's own that of the rest."""
    if build.gasket.seal_creep_relaxation is not None:
        return build.gasket.seal_creep_relaxation
    known, name = tables.load("creep"), build.gasket.construction
    return known[name]["seal_share"] if name in known else creep_of(build)[0]


def zone_creep(build: Build, gasket: gaskets.Gasket, part: float = 1.0) -> dict[str, Creep]:
    """Creep of each zone after the heat cycles of the sheet, or of this part of it.

    A share measured in a frame that gives way is that of the body; beads and seals are small
    beside it and held still by what stands around them.
    """
    known, name = tables.load("creep"), build.gasket.construction
    frame = (known[name]["frame"] if name in known else None) or np.inf
    time = build.heat.cycles * heat.HOUR
    out: dict[str, Creep] = {}
    for role, share in (
        ("seal", seal_creep_of(build)),
        ("body", creep_of(build)[0]),
        ("liquid", creep_of(build)[0]),
    ):
        lost = heat.relaxed_share.si(part * np.asarray(share, dtype=float), time)
        if np.any(lost > 0.0):
            of_frame = frame if role == "body" else np.inf
            out |= {z.name: Creep(lost, of_frame) for z in gasket.zones if z.role == role}
    return out


def kept(end: Any, first: Any) -> Any:
    """A preload after its losses; one eaten up whole leaves a trace, so that the limits say so."""
    return per_build(np.minimum(np.maximum(end, 1e-3 * first), first))
