"""Sentences that quote quantities: made once, from data, in the units of the shop that reads them.

>>> low = note("the seal holds {left}; faces within {0.05 mm}", left=(52e3, "line load"))
>>> low.text()
'the seal holds 52.0 N/mm; faces within 0.05 mm'
>>> low.text("inch")
'the seal holds 297 lbf/in; faces within 0.0020 in'
"""

from __future__ import annotations

import functools
import math
import re
import string
from dataclasses import dataclass
from typing import Any

from sealkit.errors import fail
from sealkit.units import INCH_OF, KINDS, SYSTEMS, label, parse, show

_BETWEEN = (" to ", " and ", " or ", " / ")


@dataclass(frozen=True)
class Note:
    """Words with quantities in braces."""

    # words; "{0.5 mm}" and "{10 to 40 µm}" are quantities as a table writes them (metric), "{left}"
    # is one of `values`
    template: str
    # (name, what stands for it): a pair or triple (plain SI number, kind of quantity, decimals),
    # another `Note`, or plain text
    values: tuple[tuple[str, Any], ...] = ()

    def text(self, system: str = "metric") -> str:
        """The sentence in the units of this shop.

        Raises InputError for another system, or braces that hold neither a name nor a quantity.
        """
        if system not in SYSTEMS:
            raise fail("system", system, '"metric" or "inch"')
        known = dict(self.values)
        parts = []
        for words, name, _, _ in string.Formatter().parse(self.template):
            parts.append(words)
            if name in known:
                parts.append(figure_text(known[name], system))
            elif name is not None:
                parts.append(_quantity(name, system))
        return "".join(parts)

    def __str__(self) -> str:
        return self.text()

    def __bool__(self) -> bool:
        return bool(self.template)


def note(template: str, /, **values: Any) -> Note:
    """A `Note` with its values by name."""
    return Note(template, tuple(values.items()))


def minus(words: str) -> str:
    """Text with a true minus, not a hyphen, before its numbers: for eyes, not for reading back."""
    return re.sub(r"(?<![\w.)])-(?=\d)", "−", words)


def figure(value: Any, kind: str) -> Note:
    """A quantity (plain SI) as a sentence of its own, such as what came in an error."""
    return note("{it}", it=(float(value), kind))


def figure_text(value: Any, system: str = "metric") -> str:
    """A figure as text in the shop's units.

    Parameters
    ----------
    value : (plain SI number, kind of quantity[, decimals]), a `Note`, or plain text
    system : "metric" or "inch"
    """
    if isinstance(value, Note):
        return value.text(system)
    if isinstance(value, tuple):
        number, kind, *decimals = value
        return show(number, kind, system, *decimals)
    return str(value)


def apart(one: float, other: float, kind: str) -> list[tuple[Any, ...]]:
    """Two figures (plain SI) with as many decimals as tell them apart in the units of any shop."""
    places = max(getattr(KINDS[kind], system)[1] for system in SYSTEMS)
    for digits in ((), (places,), (places + 1,), (places + 2,)):
        both: list[tuple[Any, ...]] = [(x, kind, *digits) for x in (one, other)]
        if all(len({figure_text(x, system) for x in both}) == 2 for system in SYSTEMS):
            break
    return both


@functools.cache
def _quantity(written: str, system: str) -> str:
    """A metric quantity as a table writes it, in the units of this shop.

    As many figures are kept as were written, and two at least.
    """
    numbers, _, unit = written.rpartition(" ")
    if unit not in INCH_OF:
        raise fail("note", written, "a number and a metric unit, or a name that has a value")
    if system == "metric":
        return written
    apart = next((word for word in _BETWEEN if word in numbers), None)
    figures = [_inch_figure(n, unit) for n in (numbers.split(apart) if apart else [numbers])]
    return f"{(apart or '').join(figures)} {label(INCH_OF[unit])}"


def _inch_figure(text: str, unit: str) -> str:
    """A written number of a metric unit as the number of its inch unit (`INCH_OF`)."""
    figures = max(2, len(re.sub(r"^[+-]?0*\.?0*|\.", "", text)))
    number = float(parse(f"{text} {unit}").to(INCH_OF[unit]).magnitude)
    if number == 0.0:
        return "0"
    places = figures - 1 - math.floor(math.log10(abs(number)))
    return f"{round(number, places):,.{max(places, 0)}f}"
