"""Lesson 09, how sure can you be: its panel, its picture, questions and answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from sealkit import analysis, scatter
from sealkit.build import Build
from sealkit.classroom.drawing.scatter_chart import PLOT, bell, hundred
from sealkit.classroom.drawing.shown import Shown, cells, html_table, plain_table
from sealkit.classroom.homework.questions import Exercises, Figure, Names
from sealkit.classroom.panel import controls
from sealkit.classroom.panel.scene import Free, Guess, Knob, Pick, Rows, Scene, Sentence, Tile
from sealkit.errors import fail
from sealkit.scatter import DAMAGE, GAS_LEAK, Scatter
from sealkit.units import from_si
from sealkit.words import Note, note

CHECKS = {
    "scatter": ["by-feel", "torque-wrench", "turn-of-nut", "elongation", "factor-0.35"],
    "variation": ["6.12-100", "6.12-1000", "6.12-10000"],
}
BUILDS = 1024  # of one step of the panel
ROUGH = 64  # while a slider moves
MANY = 131_072  # on demand
OWN = "as on the sheet"
SAFE = 0.01  # probability of failure that the verdict asks for
_MOST = 0.30  # largest scatter on the slider


def find(build: Build, count: int = BUILDS, **how: Any) -> Scatter:
    """Many builds of one sheet; `count` and `how` as `sealkit.scatter.run` takes them."""
    return scatter.run(build, scatter.one_cycle(build), count=count, **how)


# --------------------------------------------------------------------------- knobs and picks
def preload_scatter(build: Build) -> float:
    """Scatter of the preload, as the sheet states it or as its way of tightening has it."""
    return float(analysis.scatter_of(build)[0])


def _knobs(build: Build) -> Sequence[Knob]:
    now, k = preload_scatter(build), controls.sheet
    spread = float(analysis.kept_cycle(build).peak_variation)
    widest = max(0.12, 1.5 * spread)
    return (
        controls.tightening(build),
        controls.boost(build),
        k("fasteners.preload_scatter", "Preload scatter ±", "fraction", min(now, _MOST), 0.02,
          _MOST),
        k("burn.peak_variation", "Peak spread", "fraction", spread, 0.01, widest),
    )  # fmt: skip


def _picks(build: Build) -> Sequence[Pick]:
    def take(now: Build, way: str) -> Build:
        return build if way == OWN else scatter.by_method(build, way)

    return (Pick("way", "Tightened by", (OWN, *scatter.METHODS), OWN, take),)


Told = Callable[[scatter.Progress], None]
Stop = Callable[[], bool]


def _rough(build: Build, _: Free) -> Scatter:
    """A few builds, and of them what the charts show: no coolant and oil, no words."""
    dry = build.vary_si({"liquids.deck": "dry"})
    return scatter.run(dry, scatter.one_cycle(build), ROUGH, known={})


def _finer(build: Build, _: Free, told: Told, stop: Stop) -> Scatter:
    """In pieces small enough for the controls to stay alive."""
    return find(build, BUILDS, progress=told, cancel=stop, chunk=2 * ROUGH)


def _many(build: Build, _: Free, told: Told, stop: Stop) -> Scatter:
    return find(build, MANY, progress=told, cancel=stop, chunk=4096)


# --------------------------------------------------------------------------- words
_SENTENCE = (
    "Of {count} builds with full load{stopped}: gas passes a bore in {leak}{engine}; something is "
    "overstressed in {damage}. {nearest}."
)
_ROUGH = "Rough while a slider moves; {count} builds are worked out once it rests"


def _sentence(many: Scatter, system: str) -> Sentence:
    leak, damage = many.groups[GAS_LEAK], many.groups[DAMAGE]
    bores = 1 if many.build is None else many.build.engine.cylinders
    seal, strength = (many.nearest(group).limit for group in (GAS_LEAK, DAMAGE))
    stopped = " (stopped before all were done)" if many.stopped else ""
    engine = note(
        "; an engine of {bores}, all as the weakest one, leaks in {leaks}",
        bores=str(bores),
        leaks=leak.any_of(bores).text(),
    )
    if seal is None or strength is None:
        nearest = note(_ROUGH, count=f"{BUILDS:,}")
    else:
        nearest = note(
            "Nearest to leaking: {seal}; nearest to damage: {strength}",
            seal=seal.title,
            strength=strength.title,
        )
    words = note(
        _SENTENCE,
        count=f"{many.count:,}",
        stopped=stopped,
        leak=leak.text(),
        engine=engine if bores > 1 else "",
        damage=damage.text(),
        nearest=nearest,
    )
    both = [(leak.value, "leak"), (damage.value, "are damaged")]
    (most, what), (less, other) = sorted(both, key=lambda one: -one[0])  # the worse first
    line = note(
        "of {count} builds{stopped} {what}, {less} {other}; wanted: both surely below {safe}.",
        count=f"{many.count:,}",
        stopped=stopped,
        what=what,
        less=f"{100 * less:.1f} %",
        other=other,
        safe=(SAFE, "fraction", 0),
    ).text(system)
    rare, number = _rare(many).values(), f"{100 * most:.1f} %"
    good = False if False in rare else None if None in rare else True
    word = {True: "LEAK AND DAMAGE BOTH RARE", False: "NOT BOTH RARE", None: "NOT SURE"}[good]
    return Sentence(word, words.text(system), good, number, line)


def _rare(many: Scatter) -> dict[str, bool | None]:
    """Whether leak and damage are surely rare; None where so many builds cannot tell."""
    both = {group: many.groups[group] for group in (GAS_LEAK, DAMAGE)}
    return {g: None if p.low < SAFE <= p.high else p.high < SAFE for g, p in both.items()}


def _tiles(many: Scatter) -> Sequence[Tile]:
    (mean, spread), (peak, wide) = (many.watched[name] for name in _WATCHED)
    return (
        *((f"of builds: {group}", (many.groups[group].value, "fraction", 1), good)
          for group, good in _rare(many).items()),
        ("preload, mean", (mean, "force"), None),
        ("its standard deviation", (spread, "force", 2), None),
        ("highest peak, mean", (peak, "pressure", 0), None),
        ("its standard deviation", (wide, "pressure"), None),
    )  # fmt: skip


_WATCHED = {"preload": "force", "highest peak": "pressure"}


def _spread_rows(many: Scatter) -> list[dict[str, Figure]]:
    rows: list[dict[str, Figure]] = []
    for name, kind in _WATCHED.items():
        mean, deviation = many.watched[name]
        rows.append(
            {
                "what": f"{name} (mean, standard deviation)",
                "mean": (mean, kind),
                "standard deviation": (deviation, kind, 2),
                "of the mean": (deviation / mean, "fraction", 1) if mean else "",
            }
        )
    return rows


def _tables(many: Scatter, system: str) -> Mapping[str, Rows]:
    return {
        f"Limits over {many.count:,} builds, likeliest to fail first": many.rows(system),
        "What came out": cells(_spread_rows(many), system),
        "What was varied": [
            {"what": x.name, "status": x.status, "source": x.source} for x in many.inputs
        ],
    }


def _method_rows(ways: Mapping[str, Scatter]) -> list[dict[str, Figure]]:
    """The same mean preload by torque, by torque and angle, by stretch."""
    return [
        {
            "tightened by": name,
            "mean preload": (many.watched["preload"][0], "force"),
            "standard deviation": (many.watched["preload"][1], "force", 2),
            "gas leak": many.groups[GAS_LEAK].text(),
            "damage": many.groups[DAMAGE].text(),
        }
        for name, many in ways.items()
    ]


def _ways(build: Build, _: Scatter, system: str) -> Mapping[str, Rows]:
    rows = _method_rows(scatter.compare_methods(build, count=BUILDS))
    return {"Three ways of tightening": cells(rows, system)}


def _swept(build: Build, _: Scatter, system: str) -> Mapping[str, Rows]:
    """Probability of failure over the tightening, all with the same draws."""
    knob = controls.tightening(build)
    if not knob.path:
        raise fail("fasteners.tightening", "tightened to yield", "a way with a number to set")
    values = np.linspace(knob.low, knob.high, 7)
    swept = scatter.sweep(build, knob.path, [from_si(v, knob.kind) for v in values], count=512)
    rows = [
        {
            knob.words.lower(): (float(v), knob.kind),
            "gas leak": (groups[GAS_LEAK].value, "fraction", 1),
            "damage": (groups[DAMAGE].value, "fraction", 1),
        }
        for v, groups in zip(values, swept, strict=True)
    ]
    caption = "Probability of failure over the tightening, the same draws at each"
    return {caption: cells(rows, system)}


_ASKED = (
    "From build to build the seal has more or less in reserve. How much of the difference comes "
    "from the one cause that matters most?"
)


def _why(many: Scatter) -> Note:
    parts = many.parts(many.nearest(GAS_LEAK).key)
    return note("What matters most: {name}.", name=many.inputs[int(np.argmax(parts))].brief)


SCENE = Scene(
    name="scatter",
    words="How many builds out of a hundred have which margin, for seal and strength, and what the "
    "spread comes from",
    knobs=_knobs,
    picks=_picks,
    work=lambda build, _: find(build),
    plot=PLOT,
    sentence=_sentence,
    tables=_tables,
    buttons={"Three ways of tightening": _ways, "Probability over the tightening": _swept},
    more={f"Work out {MANY:,} builds": _many},
    scope="many builds of this sheet, by the average joint",
    tiles=_tiles,
    drawing=lambda many, _: hundred(many),
    rough=_rough,
    finer=_finer,
    ends=False,
    guess=Guess(
        lambda _: note(_ASKED), "seal share", "most", "fraction", ("strength share",), _why
    ),
)


# --------------------------------------------------------------------------- the idea
def picture(build: Build, system: str = "metric") -> Shown:
    """What the fasteners leave as a normal curve, and what the gas wants of it."""
    return Shown(*bell(scatter.room(build, BUILDS), system))


def sources(build: Build) -> Shown:
    """Where the spreads come from, with their status."""
    rows = [
        {"what": x.name, "status": x.status, "source": x.source, "note": x.note}
        for x in scatter.one_cycle(build)
    ]
    return Shown(html_table("Sources of the spreads", rows), plain_table(rows))


# --------------------------------------------------------------------------- exercises
EXERCISES = Exercises("09")
question, answer = EXERCISES.question, EXERCISES.answer


@EXERCISES.solver("deviations")
def _(build: Build, system: str) -> Names:
    one = scatter.room(build, BUILDS)
    return locals()


_LEAKS = 0.03  # of one bore; invented


@EXERCISES.solver("bores")
def _(build: Build, system: str) -> Names:
    bores = build.engine.cylinders
    if bores < 2:
        raise fail("engine.cylinders", bores, "an engine with two cylinders or more")
    leaks = _LEAKS
    engine = scatter.any_of(leaks, bores)
    return locals()


@EXERCISES.solver("matters")
def _(build: Build, system: str) -> Names:
    many = find(build)
    names = [one.brief for one in many.inputs]
    near = many.nearest(GAS_LEAK)
    seal, strength = many.parts(near.key), many.parts(many.nearest(DAMAGE).key)
    most, hard = np.argsort(-seal)[:4], int(np.argmax(strength))
    first = int(most[0])
    options = tuple(names[i] for i in sorted(most))
    title = near.title_in(system)
    rows = [
        {
            "what scatters": name,
            "part for the seal": (a, "fraction", 0),
            "part for strength": (b, "fraction", 0),
        }
        for name, a, b in zip(names, seal, strength, strict=True)
    ]
    wrong = {f"not the most: {name}": name for name in options if name != names[first]}
    return locals()


@EXERCISES.solver("methods")
def _(build: Build, system: str) -> Names:
    ways = scatter.compare_methods(build, count=BUILDS)
    torque, stretch = (ways[way].watched["preload"][1] for way in ("torque", "stretch"))
    ratio = torque / stretch
    rows = _method_rows(ways)
    return locals()
