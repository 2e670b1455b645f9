"""A scene on one engine: which build, which picks, where the knobs stand, and the result there.

No widgets: the live panel and the plain figure both stand on it.
"""

from __future__ import annotations

import contextlib
import functools
import itertools
from collections.abc import Mapping
from typing import Any

from sealkit.build import Build
from sealkit.classroom.panel.scene import Free, Knob, Pick, Scene
from sealkit.errors import Fault, InputError, near
from sealkit.units import from_si, parse, show, show_unit, show_value, to_si

_ALL_CORNERS = 3  # with more knobs than this, each knob's ends alone


class Stage:
    """A scene on one engine.

    `sheet` is the build as it came, `build` the same with the picks set, `picked` the picks by
    path, `moved` the knobs that were moved (path -> SI), `result` what the scene works out there.
    """

    def __init__(self, scene: Scene, build: Build) -> None:
        self.scene = scene
        self.sheet: Build
        self.build: Build
        self.picks: tuple[Pick, ...]
        self.picked: dict[str, str]
        self.knobs: tuple[Knob, ...]
        self.moved: dict[str, float] = {}
        self.result: Any
        self._varied: tuple[Any, Build] | None = None
        self.adopt(build)

    # ------------------------------------------------------------------ which engine
    def adopt(self, build: Build) -> None:
        """Take another engine, everything as on its sheet; if it cannot be, nothing changes.

        Raises InputError as the scene raises it.
        """
        picks = tuple(self.scene.picks(build))
        self._set(build, build, picks, {p.path: p.value for p in picks}, {})

    def pick(self, path: str, option: str) -> None:
        """Choose from a list; knobs stay where they are as far as they can.

        The lesson's own stay also where they were not moved: a wish is no matter of the fuel.
        Raises InputError as the scene raises it; then nothing changes.
        """
        picked, build = {**self.picked, path: option}, self.sheet
        for one in self.picks:  # each on the sheet anew, so that what one puts away comes back
            if picked[one.path] != one.value:
                build = one.put(build, picked[one.path])
        own = {k.path: self.now(k) for k in self.knobs if k.path and not k.on_sheet}
        self._set(self.sheet, build, self.picks, picked, own | self.moved)

    def back(self) -> None:
        """Knobs as on the sheet; picks stay."""
        self.moved = {}

    def _set(
        self,
        sheet: Build,
        build: Build,
        picks: tuple[Pick, ...],
        picked: dict[str, str],
        moved: Mapping[str, float],
    ) -> None:
        knobs = tuple(self.scene.knobs(build))
        known = {k.path: k for k in knobs}
        kept = {
            p: v
            for p, v in moved.items()
            if (k := known.get(p)) is not None
            and v != k.value
            and min(k.low, k.high) * (1 - 1e-9) <= v <= max(k.low, k.high) * (1 + 1e-9)
        }
        first = self._at(build, knobs, picked, {})
        result = self._at(build, knobs, picked, kept) if kept else first
        self.sheet, self.build, self.picks, self.picked = sheet, build, picks, picked
        self.knobs, self.moved, self.result, self._first = knobs, kept, result, first
        self._varied = None
        self.__dict__.pop("found", None)

    @functools.cached_property
    def found(self) -> list[Any]:
        """The results that the ranges of the chart have to hold, worked out when it is drawn."""
        found = [self._first]
        for corner in _corners(self.knobs) if self.scene.ends else ():
            with contextlib.suppress(InputError):  # such as a corner the gas tables do not reach
                found.append(self._at(self.build, self.knobs, self.picked, corner))
        return found

    # ------------------------------------------------------------------ working it out
    def _at(
        self,
        build: Build,
        knobs: tuple[Knob, ...],
        picked: Mapping[str, str],
        moved: Mapping[str, float],
    ) -> Any:
        return self.scene.work(_vary(build, knobs, moved), _free(knobs, picked, moved))

    def varied(self) -> Build:
        """The build as the controls have it: the same object while no knob of the sheet moves."""
        sheet = tuple(sorted((p, v) for p, v in self.moved.items() if "." in p))
        if self._varied is None or self._varied[0] != sheet:
            self._varied = (sheet, _vary(self.build, self.knobs, self.moved))
        return self._varied[1]

    def work(self, rough: bool = False) -> Any:
        """The result where the controls stand now; rough, by the scene's faster way, if it has one.

        Raises InputError as the scene raises it; then `result` stays.
        """
        work = (self.scene.rough if rough else None) or self.scene.work
        self.result = work(self.varied(), self.free())
        return self.result

    def free(self) -> Free:
        """The lesson's own knobs (SI) and picks as they stand, by path."""
        return _free(self.knobs, self.picked, self.moved)

    # ------------------------------------------------------------------ one knob
    def knob(self, name: str) -> Knob:
        """A knob by its path or its words.

        Raises InputError if the scene has none of that name.
        """
        for knob in self.knobs:
            if name in (knob.path, knob.words):
                return knob
        words = [k.words for k in self.knobs]
        raise InputError(Fault(name, "no such control", f"one of {words}{near(name, words)}"))

    def now(self, knob: Knob) -> float:
        """Where a knob stands, plain SI."""
        return self.moved.get(knob.path, knob.value)

    def shown(self, knob: Knob, system: str) -> float:
        """Where a knob stands in the shop's unit, not rounded."""
        return float(show_value(self.now(knob), knob.kind, system))

    def move(self, knob: Knob, value: float) -> None:
        """Put a knob on a value, plain SI; `work` then works it out."""
        self.moved[knob.path] = value

    def take(self, knob: Knob, shown: float, system: str) -> None:
        """Put a knob on a value in the shop's unit.

        Raises InputError if it lies outside the slider's ends.
        """
        low, high = knob.ends(system)
        if not low <= shown <= high:
            unit = show_unit(knob.kind, system)
            wanted = f"from {low:g} to {high:g} {unit}".strip()
            raise InputError(Fault(knob.words, f"{shown:g} {unit}".strip(), wanted))
        self.move(knob, knob.si(shown, system))

    def put(self, settings: Mapping[str, Any]) -> None:
        """Set picks and knobs by path or words, as text, quantity or (plain kinds) number.

        Raises InputError for a name or a value that does not fit.
        """
        for name, value in settings.items():
            pick = next((p for p in self.picks if name in (p.path, p.words)), None)
            if pick is not None:
                self.pick(pick.path, str(value))
                continue
            knob = self.knob(name)
            number = float(
                to_si(parse(value) if isinstance(value, str) else value, knob.kind, name)
            )
            if not min(knob.low, knob.high) <= number <= max(knob.low, knob.high):
                ends = f"from {show(knob.low, knob.kind)} to {show(knob.high, knob.kind)}"
                raise InputError(Fault(name, show(number, knob.kind), ends))
            self.move(knob, number)
        self.work()


def _vary(build: Build, knobs: tuple[Knob, ...], moved: Mapping[str, float]) -> Build:
    changes = {k.path: from_si(moved[k.path], k.kind) for k in knobs if k.path in moved}
    changes = {path: value for path, value in changes.items() if "." in path}
    return build.vary(changes) if changes else build


def _free(knobs: tuple[Knob, ...], picked: Mapping[str, str], moved: Mapping[str, float]) -> Free:
    own: dict[str, Any] = {p: v for p, v in picked.items() if "." not in p}
    return own | {k.path: moved.get(k.path, k.value) for k in knobs if not k.on_sheet and k.path}


def _corners(knobs: tuple[Knob, ...]) -> list[dict[str, float]]:
    """All ends of the knobs together; of many knobs each one's ends, and all low, all high."""
    free = [k for k in knobs if k.path]
    if len(free) <= _ALL_CORNERS:
        return [
            {k.path: v for k, v in zip(free, corner, strict=True)}
            for corner in itertools.product(*((k.low, k.high) for k in free))
        ]
    alone = [{k.path: v} for k in free for v in (k.low, k.high)]
    return [*alone, {k.path: k.low for k in free}, {k.path: k.high for k in free}]
