"""Invented engines of the job cards: drawn from a seed, kept as the text they are printed with.

What they are drawn from, and what must be in proportion, stands in ``data/cards/engine.toml``. An
engine follows from its seed alone, on every machine.
"""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Mapping
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from sealkit.classroom.homework.answers import grouped
from sealkit.classroom.homework.formulas import evaluate, names_of
from sealkit.classroom.homework.pitfalls import scale
from sealkit.classroom.homework.questions import read_data
from sealkit.errors import fail
from sealkit.units import KINDS, show_unit, to_si

Numbers = SimpleNamespace  # of one engine, plain SI, whole numbers and names


def _engine() -> dict[str, Any]:
    return read_data("cards", "engine.toml", "numbers", "hidden", "sums", "derived", "sane")


# --------------------------------------------------------------------------- drawing
def _index(seed: str, name: str, count: int) -> int:
    """A whole number below `count` that follows from seed and name, and from nothing else."""
    digest = hashlib.sha256(f"{seed}\n{name}".encode()).digest()
    return int.from_bytes(digest, "big") % count


def drawn(seed: str, system: str) -> dict[str, str]:
    """Numbers of an engine as text."""
    engine = _engine()
    out: dict[str, str] = {}
    for name, what in (engine["numbers"] | engine["hidden"]).items():
        if system in what:
            low, high, step = (Decimal(str(v)) for v in what[system][:3])
            count = int((high - low) / step) + 1
            value = low + step * _index(seed, name, count)
            out[name] = _printed(value, step, what[system][3])
        else:
            options = what.get(f"pick_{system}") or what["pick"]
            out[name] = options[_index(seed, name, len(options))]
    for name, parts in engine["sums"].items():
        one, more = (out[p].split() for p in parts)
        out[name] = f"{Decimal(one[0]) + Decimal(more[0])} {one[1]}"
    return _derived(out, system)


def _printed(value: Decimal, step: Decimal, unit: str) -> str:
    exact = value if step == 1 else step  # a step of 1: whole numbers, or one value only
    places = max(0, -int(exact.normalize().as_tuple().exponent))
    return f"{value:.{places}f} {unit}".rstrip()


def _derived(out: dict[str, str], system: str) -> dict[str, str]:
    """Numbers that follow from those drawn, rounded to what the shop would print."""
    names = names_of(plain(out, system))
    for name, what in _engine()["derived"].items():
        names[name] = evaluate(what["formula"], names)
        step, unit = Decimal(str(what[system][0])), what[system][1]
        number = float(names[name]) * scale(what["kind"], unit)[0]
        out[name] = _printed(step * round(number / float(step)), step, unit)
    return out


def sane(n: Numbers) -> None:
    """Refuse an engine that nobody would build; the card is then drawn again.

    Raises InputError naming what is out of proportion.
    """
    names = names_of(n)
    for what, (formula, low, high) in _engine()["sane"].items():
        value = float(evaluate(formula, names))
        if not low <= value <= high:
            raise fail(what, f"{value:.3g}", f"{low:g} to {high:g}")


# --------------------------------------------------------------------------- reading and printing
def plain(numbers: Mapping[str, str], system: str) -> Numbers:
    """The numbers of an engine as plain SI, whole numbers and names.

    Raises InputError for a number that is missing, unknown or of another kind.
    """
    out: dict[str, Any] = {"system": system}
    for name, text in numbers.items():
        what = spec(name)
        if what is None or not isinstance(text, str):
            raise fail(f"numbers.{name}", text, "a number of the engine, as text")
        if "kind" in what:
            out[name] = _si(text, what["kind"], name)
        elif text in (what.get(f"pick_{system}") or what.get("pick", ())):
            out[name] = int(text) if text.isdecimal() else text
        else:
            raise fail(f"numbers.{name}", text, "one of its choices")
    if "layout" in out:
        counts = [int(x) for x in out["layout"].split("/")]
        out["cylinders"], out["on_head"], out["around"] = counts
    return Numbers(**out)


def spec(name: str) -> dict[str, Any] | None:
    """What a number of the engine is."""
    engine = _engine()
    if name in engine["sums"]:
        name = engine["sums"][name][0]
    found = (engine["numbers"] | engine["hidden"] | engine["derived"]).get(name)
    return None if found is None else dict(found)


@functools.lru_cache(maxsize=20_000)
def _si(text: str, kind: str, name: str) -> float:
    number, _, unit = text.partition(" ")
    if unit.startswith("1e-6/"):
        text = f"{number}e-6 1/{unit[5:]}"
    return float(to_si(text, kind, f"numbers.{name}"))


def _label(text: str, kind: str, system: str) -> str:
    """A number as it is printed in a question."""
    number, _, unit = text.partition(" ")
    number = grouped(number)
    if kind == "pressure":
        return f"{number} {unit}"
    if unit.startswith("1e-6/"):
        return f"{number}e-6/{'°F' if unit.endswith('degF') else unit[5:]}"
    shop = getattr(KINDS[kind], system)[0]
    label = show_unit(kind, system) if unit == shop else unit
    return f"{number}{'' if label in ('', '°') else ' '}{label}"


def printable(numbers: Mapping[str, str], system: str) -> dict[str, str]:
    """The numbers of an engine as a question prints them."""
    out = {}
    for name, text in numbers.items():
        what = spec(name)
        out[name] = _label(text, what["kind"], system) if what and "kind" in what else text
    counts = out["layout"].split("/")
    out["cylinders"], out["on_head"], out["around"] = counts
    return out
