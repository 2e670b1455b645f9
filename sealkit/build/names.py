"""Words on the sheet that are names of something: what each stands for, and all that are known."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Callable
from typing import Any

from sealkit import tables
from sealkit.build.fields import FIELDS
from sealkit.errors import Fault, InputError, fail, near, quoted
from sealkit.fastening import grades, threads
from sealkit.pressure import fuels
from sealkit.resources import beside
from sealkit.sealing import constructions

_TRADE = beside(__file__)
# what the trade calls the constructions, without spaces and hyphens
TRADE_WORDS = {word: name for name, words in _TRADE.items() for word in words}


def _squeezed(word: str) -> str:
    return "".join(word.casefold().split())


def _row_of(table: str) -> Callable[[str, str], str]:
    """Looks up the table's own name for a word."""

    def look(word: str, path: str) -> str:
        found = tables.load(table)
        return str(found.get(word, path)[found.key])

    return look


def _names_in(table: str) -> Callable[[], list[str]]:
    return lambda: list(tables.load(table))


@functools.lru_cache(maxsize=64)
def thread(designation: str, path: str = "fasteners.thread") -> threads.Thread:
    """The thread of a designation; faults under the name `path`."""
    try:
        return threads.thread.si(designation)
    except InputError as err:
        raise err.under(path) from err


def strength(grade: str, diameter: float) -> grades.Strength:
    """The strength of a grade at a thread diameter (m); faults under the name of the field."""
    path = "fasteners.grade"
    plain = _squeezed(grade)
    other: dict[str, list[str]] = {}
    for row in tables.load("grades").rows:
        every = (row["grade"], *(w.strip() for w in row["also"].split(";") if w.strip()))
        other.setdefault(row["grade"], []).extend(every)
    if not any(plain == _squeezed(w) for words in other.values() for w in words):
        # "8" is the last word of "SAE 8" and the first number of "8.8"
        last = {name: name.split()[-1].casefold() for name in other}
        hits = [n for n in other if last[n] == plain]
        hits += [n for n in other if last[n].startswith(f"{plain}.")]
        hints = [f'"{min(other[n], key=len)}"' for n in hits]
        hint = f" (did you mean {' or '.join(hints)}?)" if hints else near(grade, other)
        raise fail(path, grade, f"one of {quoted(other)}", hint)
    try:
        return grades.strength.si(grade, diameter)
    except InputError as err:
        raise err.under(path) from err


def _fuel(word: str, path: str) -> str:
    for blend in fuels.BLENDS:
        if blend.casefold() == word.casefold():
            return blend
    known = tables.load("fuels")
    if word in known:
        return str(known[word]["fuel"])
    if _squeezed(word) in ("alcohol", "racealcohol", "racingalcohol"):
        raise fail(path, word, 'the name of the alcohol: "methanol" or "ethanol"')
    names = fuels.fuel_names()
    share = re.fullmatch(r"e(\d{1,2})", word.casefold())
    hint = f' (write "gasoline" with ethanol_share = {int(share[1]) / 100:g})' if share else ""
    raise fail(path, word, f"one of {quoted(names)}", hint or near(word, names))


def check_mixture(
    fuel: str, ratio: float, ethanol: float | None, nitromethane: float | None, ratio_path: str
) -> None:
    """Tells a mixture strength or a share that the fuel does not take."""
    try:
        fuels.mixture.si(fuel, ratio, ethanol, nitromethane)
    except InputError as err:
        faults = []
        for f in err.faults:
            if f.limits and ratio_path == "fuel.lambda":
                # rounded inwards, so that what is told is allowed
                low, high = math.ceil(1000 / f.limits[1]), math.floor(1000 / f.limits[0])
                wanted = f"a lambda from {low / 1000:g} to {high / 1000:g} for {fuel}"
                faults.append(Fault(ratio_path, f"{1 / ratio:.6g}", wanted))
            elif f.limits:
                ratios = f"an equivalence ratio of {f.came}", f"an equivalence ratio of {f.wanted}"
                faults.append(Fault(ratio_path, *ratios))
            else:
                faults += InputError(f).under(f"fuel.{f.field}").faults
        raise InputError(faults) from err


def trade_word(word: str) -> str:
    """A word as `TRADE_WORDS` has it."""
    return _squeezed(word).replace("-", "")


def construction(word: str, path: str) -> str:
    """The construction of this name or trade word; faults under the name `path`."""
    known = constructions.names()
    for name in known:
        if name.casefold() == word.casefold():
            return name
    trade = TRADE_WORDS.get(trade_word(word))
    if trade in known:
        return trade
    raise fail(path, word, f"one of {quoted(known)}, or zones of your own", near(word, known))


LOOK_UPS: dict[str, Callable[[str, str], str]] = {
    "fuel.name": _fuel,
    "fasteners.thread": lambda word, path: str(thread(word, path).designation),
    **{path: _row_of(spec.table) for path, spec in FIELDS.items() if spec.table},
}
"""Fields whose words are looked up -> what gives the name that is held."""

KNOWN: dict[str, Callable[[], Any]] = {
    "fuel.name": fuels.fuel_names,
    "fasteners.grade": grades.grades,
    "gasket.construction": constructions.names,
    **{path: _names_in(spec.table) for path, spec in FIELDS.items() if spec.table},
}
"""Fields whose words are names -> all that are known."""
