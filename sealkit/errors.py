"""The one kind of error a user meets: every fault names the field, what came, what was wanted."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import Any


@dataclass(frozen=True)
class Fault:
    """One bad input."""

    field: str  # name of the argument, or dotted path of the build-sheet field
    came: Any  # what was given, in words
    wanted: Any  # what is accepted, in words, with an example where it helps; both may be a `Note`
    # what the input may have been meant as, shown after `wanted`: ' (did you mean "bore"?)'
    hint: str = ""
    # what is wrong with what came, shown in brackets after it: "an energy, not a torque"
    reason: str = ""
    # least and largest number that is accepted, plain SI, where a range is what was missed
    limits: tuple[float, float] | None = None
    broken: bool = False  # whether a file of the course is at fault, not what the reader wrote

    @property
    def told(self) -> str:
        """What is wrong, without the name of the field."""
        reason = f" ({self.reason})" if self.reason else ""
        return f"got {self.came}{reason}; wanted {self.wanted}{self.hint}"

    def __str__(self) -> str:
        return f"{self.field}: {self.told}"

    def told_in(self, system: str) -> Fault:
        """The same with its quantities in the units of this shop."""
        came, wanted = self.came, self.wanted
        came = came if isinstance(came, str) else came.text(system)
        return replace(
            self, came=came, wanted=wanted if isinstance(wanted, str) else wanted.text(system)
        )


AS_IT_CAME = "the file as it came with sealkit"


class InputError(ValueError):
    """Bad input. `faults` holds every fault found, `str()` prints one line for each."""

    def __init__(self, faults: Fault | Iterable[Fault]):
        every = (faults,) if isinstance(faults, Fault) else faults
        self.faults: tuple[Fault, ...] = tuple(dict.fromkeys(every))  # the same is told once
        super().__init__("\n".join(str(f) for f in self.faults))

    def under(self, name: str) -> InputError:
        """The same faults under the name of a field, but for those of a file of the course."""
        return InputError(f if f.broken else replace(f, field=name) for f in self.faults)


def fail(field: str, came: object, wanted: str, hint: str = "") -> InputError:
    """An `InputError` with one fault, ready to raise. `came` is shown shortened."""
    return InputError(Fault(field, short(came), wanted, hint))


def broken(file: str, came: object) -> InputError:
    """An `InputError` about a file of the course that is damaged or missing, ready to raise."""
    return InputError(Fault(file, short(came), AS_IT_CAME, broken=True))


def short(value: object, limit: int = 60) -> str:
    """A value in words, cut to `limit` characters and free of line breaks and control marks.

    A long path loses its beginning, so that the name of the file is told.
    """
    if isinstance(value, PurePath):
        return short_path(str(value), limit)
    try:
        text = value[: limit + 1] if isinstance(value, str) else str(value)
    except ValueError:  # a whole number of thousands of digits
        return "a number too long to show"
    text = "".join(c if c.isprintable() else " " for c in text)
    text = text if isinstance(value, str) else " ".join(text.split())
    if len(text) > limit:
        text = text[: limit - 3] + "..."
    return f'"{text}"' if isinstance(value, str) else text


def short_path(path: str, limit: int = 60) -> str:
    """A path in quotes, cut at its beginning."""
    text = "".join(c if c.isprintable() else " " for c in path)
    return f'"{text}"' if len(text) <= limit else f'"...{text[3 - limit :]}"'


def quoted(names: Iterable[object], limit: int | None = None) -> str:
    """Names for a message, each in quotes, since a name may hold a comma; cut after `limit`."""
    every = [f'"{n}"' for n in names]
    shown = every if limit is None else every[:limit]
    return ", ".join([*shown, "..."] if len(shown) < len(every) else shown)


def near(word: str, known: Iterable[str]) -> str:
    """' (did you mean "x"?)' for the nearest known word, or ''."""
    hit = nearest(word, known)
    return f' (did you mean "{hit}"?)' if hit else ""


def nearest(word: str, known: Iterable[str]) -> str:
    """The nearest known word in any case, else the first that begins like it, or ''."""
    lower = {n.lower(): n for n in known}
    hit = difflib.get_close_matches(word[:200].lower(), list(lower), n=1, cutoff=0.6)
    begun = (n for n in lower if len(word) > 2 and n.startswith(word.lower()))
    return lower[hit[0]] if hit else lower.get(next(begun, ""), "")
