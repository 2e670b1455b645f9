"""A text as a number with a unit, by a closed grammar.

A text is never evaluated. Its length is capped before anything looks at it, and every pattern
below reads it once from left to right.

A comma stands between thousands, as the kit prints them, and a point before decimals. A comma that
may stand for a point is asked about, never guessed: here where no thousands follow it, and in
`answers.check` where "3,778" is far too large and 3.778 would not be.

>>> number_and_unit("1 3/8 in"), number_and_unit("F = 12,800 lbf"), number_and_unit("6.59·10³ N")
((1.375, 'in'), (12800.0, 'lbf'), (6590.0, 'N'))
"""

from __future__ import annotations

import math
import re
import unicodedata

LONGEST = 200  # characters of an answer; more is not looked at
FORM = 'Write one number and its unit, such as "12.3" and then the unit.'

ONLY_THOUSANDS = "A comma stands between thousands only."

_SPACES = "\u00a0\u2009\u202f\u2007\t"
_SIGNS = str.maketrans(
    {"−": "-", "–": "-", "’": "'", "⁄": "/", "″": '"', "”": '"', **dict.fromkeys(_SPACES, " ")}
)
_VULGAR = {c: f" {n}/{d} " for c, n, d in (
    *(("½", 1, 2), ("¼", 1, 4), ("¾", 3, 4), ("⅛", 1, 8), ("⅜", 3, 8), ("⅝", 5, 8), ("⅞", 7, 8)),
)}  # fmt: skip
_SUPER = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_MIXED = re.compile(r"([+-]?)(?:([0-9]{1,6})(?: |-| - ))?([0-9]{1,4}) ?/ ?([0-9]{1,4})(?![0-9.,])")
_DIGITS = re.compile(
    r"([+-]?) ?((?:[0-9]|[.,](?=[0-9]))(?:[0-9]|[.,'](?=[0-9])| (?=[0-9]{3}))*[.,]?)"
)
_POWER = re.compile(
    r"[eE]([+-]?[0-9]{1,3})(?![0-9])"
    r"| ?[x×*·] ?10 ?(?:\^|\*\*) ?([+-]?[0-9]{1,3})(?![0-9])"
    r"| ?[x×*·] ?10([⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3})"
)
_GROUPS = {s: re.compile(rf"[0-9]{{1,3}}(?:{re.escape(s)}[0-9]{{3}})+\Z") for s in ".,' "}
# "F = 50 kN", "preload: 50 kN"
_NAMED = re.compile(r"[A-Za-zΔ][A-Za-z0-9_ ]{0,20}[=:≈] ?(?=[0-9.+-])")
_MORE = re.compile(
    r"\s*(?!1 ?/ ?[A-Za-z])(?:to\b|-|\.\.|~|/ ?[0-9]|[0-9.,+=(]|'(?!'))|.*(?:±|\+/-)"
)


class Unread(Exception):
    """The text is no number with a unit; what to say about it."""


def tidy(text: str) -> str:
    """The text without the marks that only lay it out; refused where it hides anything."""
    if len(text) > LONGEST:
        raise Unread(f"That is longer than an answer can be. {FORM}")
    text = text.strip(" \r\n\t" + _SPACES).translate(_SIGNS)
    # an own test: letters that run right to left, joiners and control marks have no place here
    if not all(c.isprintable() and unicodedata.bidirectional(c) not in _BACK for c in text):
        raise Unread(f"There are hidden marks in this text; type it again by hand. {FORM}")
    for mark, plain in _VULGAR.items():
        text = text.replace(mark, plain)
    return text.strip().removeprefix("=").removeprefix("≈").removeprefix("~").strip()


_BACK = frozenset(("R", "AL", "AN", "RLE", "RLO", "RLI", "LRE", "LRO", "LRI", "PDF", "PDI", "FSI"))


def number_and_unit(text: str) -> tuple[float, str]:
    """Number and text of the unit of a tidy text.

    Raises Unread with what to say about it.
    """
    if named := _NAMED.match(text):
        text = text[named.end() :]
    number, rest = _fraction(text) or _decimal(text)
    if not math.isfinite(number):
        raise Unread("That number is too large to be an answer.")
    if _MORE.match(rest):
        raise Unread("Give one number only: no range, no tolerance, no sum. " + FORM)
    return number, rest.strip()


def _fraction(text: str) -> tuple[float, str] | None:
    """A number such as 3/8 or 1 3/8."""
    match = _MIXED.match(text)
    if match is None:
        return None
    sign, whole, above, below = match[1], int(match[2] or 0), int(match[3]), int(match[4])
    if below == 0:
        raise Unread("That fraction is divided by zero.")
    if match[2] and above >= below:
        raise Unread('Write a mixed number with a fraction below one, such as "1 3/8".')
    return (-1.0 if sign == "-" else 1.0) * (whole + above / below), text[match.end() :]


def _decimal(text: str) -> tuple[float, str]:
    match = _DIGITS.match(text)
    if match is None:
        known = "NaN and infinity are no answers. " if _NO_NUMBER.match(text) else ""
        raise Unread(f"There is no number at the beginning. {known}{FORM}")
    sign, digits = match[1], match[2]
    rest = text[match.end() :]
    plain = _without_groups(digits)
    power = _POWER.match(rest)
    exponent = 0
    if power is not None:
        exponent = int((power[1] or power[2] or power[3]).translate(_SUPER))
        rest = rest[power.end() :]
    return float(f"{sign}{plain}e{exponent}"), rest


_NO_NUMBER = re.compile(r"[+-]?(?:nan|inf|∞)", re.IGNORECASE)


def _without_groups(digits: str) -> str:
    """The digits with a point for the decimals and nothing between thousands."""
    marks = [c for c in digits if c in ".,' "]
    kinds = sorted(set(marks), key=digits.rindex)
    if not marks:
        return digits
    if len(kinds) == 1 and kinds[0] in ".," and len(marks) == 1:
        before, after = digits.split(kinds[0])
        if kinds[0] == ".":
            return f"{before or '0'}.{after or '0'}"
        if not _GROUPS[","].match(digits) or before.startswith("0"):
            raise Unread(comma_asked(digits, f"{before or '0'}.{after or '0'}"))
        return before + after
    if len(kinds) == 1:
        groups, last = digits, ""
    elif len(kinds) == 2 and kinds[1] in ".," and marks.count(kinds[1]) == 1:
        groups, last = digits.rsplit(kinds[1], 1)
    else:
        groups, last = "", ""
    if groups and _GROUPS[kinds[0]].match(groups) and not groups.startswith("0"):
        return groups.replace(kinds[0], "") + f".{last or '0'}"
    raise Unread(
        f'"{digits}" cannot be read as a number: thousands stand in groups of three, and the '
        "decimals have one point."
    )


def comma_asked(came: str, meant: str) -> str:
    """What is said about a comma that may stand before decimals."""
    asked = f'Does the comma in "{came}" stand before decimals?'
    return f"{asked} Then write a point: {meant}. {ONLY_THOUSANDS}"


def plain(text: str) -> str:
    """The text of an option as it is compared."""
    text = unicodedata.normalize("NFC", text.translate(_SIGNS))
    return " ".join(text.casefold().split()).rstrip(".)")


# --------------------------------------------------------------------------- units of the shop
_INCH, _FOOT = "in|inch|inches", "ft|foot|feet"
_ARM, _PULL = rf"({_INCH}|{_FOOT})", r"(?:lbf|lbs?|pounds?)"
_JOINT = r"[ .*·-]{0,3}"
_FOOT_POUNDS = re.compile(rf"{_ARM}{_JOINT}{_PULL}|{_PULL}{_JOINT}{_ARM}", re.IGNORECASE)
_NEWTON_METRES = re.compile(rf"(k?N){_JOINT}(mm|m)", re.IGNORECASE)
_ABBREVIATED = re.compile(r"(?i)(?<![a-z])(sq|cu|in|ft|lbs?)\.")
_POWERS = tuple(
    (re.compile(rf"(?i)(?<![a-z])(?:{words}) ?({_INCH}|{_FOOT}|mm|cm|m)(?![a-z0-9])"), power)
    for words, power in (("sq|square", 2), ("cu|cubic", 3))
)
_INCH_POWER = re.compile(r"(?i)(?<![a-z])inch(?:es)?(?=[23²³^*])")
_PERCENT = re.compile(r"(?i)(?:pct|per ?cent)\.?")
TIMES = re.compile(r"(?i)times|[x×]|: ?1")  # behind a plain number
_POUND = re.compile(r"(?i)(?<![a-z])(?:pounds?|lbs?)(?:[ -]?force|[ -]?f)?(?![a-z0-9])")


def shop_unit(unit: str, force: bool) -> str:
    """A unit as the shop writes it, in words that `sealkit.units.parse` reads.

    A pound is one of force where `force` is part of what is asked.
    """
    unit = _ABBREVIATED.sub(r"\1", " ".join(unit.split()))
    if _PERCENT.fullmatch(unit):
        return "%"
    if force:
        if match := _FOOT_POUNDS.fullmatch(unit):
            arm = (match[1] or match[2]).lower()
            return "lbf*in" if arm.startswith("in") else "lbf*ft"
        if match := _NEWTON_METRES.fullmatch(unit):
            return f"{'kN' if len(match[1]) > 1 else 'N'}*{match[2].lower()}"
    unit = re.sub(r"(?i) ?(?<![a-z])per(?![a-z]) ?", "/", unit)
    for pattern, power in _POWERS:
        unit = pattern.sub(rf"\1**{power}", unit)
    unit = _INCH_POWER.sub("in", unit)
    return _POUND.sub("lbf", unit) if force else unit
