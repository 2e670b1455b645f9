"""What was measured on an engine: rows of the sheet as readings in SI, and what they narrow."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sealkit import tables
from sealkit.build.fields import FIELDS, TABLE, si
from sealkit.build.sections import Section
from sealkit.errors import Fault, InputError, fail, near
from sealkit.units import KINDS

NOT_MEASURED = "not measured"
"""Source of a half-width that says how sure a number is which nobody measured."""
_SAMPLE = 10  # fasteners from which their own scatter is taken for the table's; invented
_ONCE_IN = 0.01  # of samples has a preload as far off by chance

_SPOTS = {"fastener": ("fastener", "beside"), "bore": ("bore", "clock")}
"""What a row says of the place of its reading, by what the column ``place`` of its kind names."""


@dataclass(frozen=True)
class Reading:
    """One reading in plain SI.

    Parameters
    ----------
    row : of the table ``measurements``: what was measured
    value : what it read; None where the kind only says whether it held, or a file holds it
    at : torque, pressure, boost or force at which it was read; None where the kind asks for none
    deviation : one standard deviation of the value; of a kind without one a share of the pressure
    file : beside the sheet; empty where the row holds the value
    note : as on the sheet
    path, said : name of its row, and what that says
    spot : where on the deck it was read, as `_SPOTS`, by numbers from 1 and an angle; empty for a
        kind that asks for no place
    """

    row: Mapping[str, Any]
    value: float | None
    at: float | None
    deviation: float
    file: str = ""
    note: str = ""
    path: str = "evidence.measured"
    said: str = ""
    spot: tuple[float, ...] = ()

    @property
    def kind(self) -> str:
        """What was measured, in words."""
        return str(self.row["kind"])

    @property
    def unit(self) -> str:
        """SI unit of the value; empty where the kind has none, or a plain number."""
        return KINDS[self.row["value"]].si if self.row["value"] else ""


def step_of(kind: str) -> str:
    """The kind of quantity that a difference of two of this kind is."""
    return "temperature difference" if kind == "temperature" else kind


def deviation_of(text: str, value: float | None, kind: str, path: str) -> float:
    """One standard deviation of a reading from its uncertainty in words.

    In percent it is of the value; where there is none, of the gas pressure or of what a file holds.

    Raises InputError naming `path`.
    """
    share = text.rstrip().endswith("%")
    if not share and not kind:
        raise fail(path, text, 'a percentage, such as "10 %"')
    wide = si(text, "fraction" if share else step_of(kind), path)
    wide *= abs(value) if share and value is not None else 1.0
    if not 0.0 < wide < float("inf"):
        raise fail(path, text, "an uncertainty above zero")
    return float(wide) / 2.0


def reading(row: Any, path: str) -> Reading:
    """The reading of a row of the sheet.

    Raises InputError with every fault of the row, under its name `path`.
    """
    known = tables.load("measurements")
    if row.kind not in known:
        wanted = f"a kind of measurement: {', '.join(known)}"
        raise InputError(Fault(f"{path}.kind", f'"{row.kind}"', wanted, near(row.kind, known)))
    about = known[row.kind]
    faults: list[Fault] = []

    def number(key: str) -> float | None:
        text, kind, own = getattr(row, key), about[key], f"{path}.{key}"
        if text is None or not kind:
            if (text is None) == bool(kind) and not row.file:
                wanted = f"{KINDS[kind].words}, such as {KINDS[kind].example}" if kind else ""
                wanted = wanted or f'nothing: "{row.kind}" has none'
                faults.append(Fault(own, "nothing" if text is None else f'"{text}"', wanted))
            return None
        try:
            found = si(text, kind, own)
        except (InputError, OverflowError) as err:
            faults.extend(getattr(err, "faults", [Fault(own, "a number too large", "a number")]))
            return None
        spec = FIELDS.get(about["field" if key == "value" else "at_field"])
        if spec is not None and not spec.fits(found):
            faults.append(Fault(own, f'"{text}"', *spec.wanted_of(text, found)))
        elif spec is None and key == "at" and not found > 0.0:
            faults.append(Fault(own, f'"{text}"', f"{KINDS[kind].words} above zero"))
        elif spec is None and found < 0.0 and not about["sign"]:
            faults.append(Fault(own, f'"{text}"', f"{KINDS[kind].words} not below zero"))
        return float(found)

    filed = about["file"] == "yes"
    told_too = [x for x in (row.value, row.at) if x is not None]
    if filed != bool(row.file) or (filed and told_too):
        wanted = "the name of a file beside the sheet, which tells the rest" if filed else "no file"
        came = " and ".join(f'"{x}"' for x in (row.file, *told_too) if x) or "nothing"
        faults.append(Fault(f"{path}.file", came, wanted))
    elif filed and not _beside(row.file):
        wanted = "the name of a file beside the sheet or below it"
        faults.append(Fault(f"{path}.file", f'"{row.file}"', wanted))
    asked = _SPOTS.get(about["place"], ())
    for key in itertools.chain(*_SPOTS.values()):
        if (came := getattr(row, key)) is None and key in asked:
            faults.append(Fault(f"{path}.{key}", "nothing", TABLE["evidence.measured"][key].help))
        elif came is not None and key not in asked:
            faults.append(Fault(f"{path}.{key}", f"{came:g}", f'nothing: "{row.kind}" has none'))
    value, at = number("value"), number("at")
    deviation = 1.0
    try:
        told = row.uncertainty or about["uncertainty"]
        if value == 0.0 and told.rstrip().endswith("%"):
            wanted = f"{KINDS[about['value']].words} above zero"
            faults.append(Fault(f"{path}.value", f'"{row.value}"', wanted))
        kind = "" if filed else about["value"]
        deviation = deviation_of(told, value, kind, f"{path}.uncertainty")
    except InputError as err:
        if not faults:  # of a value that could not be read none is told
            faults.extend(err.faults)
    if faults:
        raise InputError(faults)
    spot = tuple(getattr(row, key) for key in asked)
    where = [
        f"{key} {np.degrees(x):.0f}°" if key == "clock" else f"{key} {x}"
        for key, x in zip(asked, spot, strict=True)
    ]
    told = (row.value, row.at and f"at {row.at}", *where, row.note)
    said = ", ".join([row.kind, *(x for x in told if x)])
    return Reading(about, value, at, deviation, row.file or "", row.note, path, said, spot)


class Sample(NamedTuple):
    """Preloads of some fasteners at one torque.

    Parameters
    ----------
    mean, deviation : of the preloads [N]; n - 1 counts
    share : of the mean, in which the next fastener lies 19 times of 20
    half : two standard deviations of that share
    """

    mean: float
    deviation: float
    share: float
    half: float

    @property
    def scatter(self) -> float:
        """Standard deviation from fastener to fastener [N], by that share."""
        return self.share * self.mean / 2.0


def _preloads(rows: Sequence[Reading]) -> NDArray[np.float64] | None:
    """Preloads at a torque of ten fasteners or more [N]; None of fewer, or of other readings."""
    if len(rows) < _SAMPLE or rows[0].kind != "preload at a torque":
        return None
    return np.array([row.value for row in rows], dtype=float)


def outlier_of(rows: Sequence[Reading]) -> Reading | None:
    """The preload furthest from the mean of ten or more, where chance hardly leaves it so far.

    Further than what one reading may be off, and than once in a hundred such samples.

    References
    ----------
    1. F. E. Grubbs, Procedures for detecting outlying observations in samples, Technometrics 11
       (1969) (from memory): t of n - 2 degrees of freedom at 1 - 0.01/(2n) gives the most standard
       deviations, (n - 1) sqrt(t²/(n (n - 2 + t²))).
    """
    from scipy.special import stdtrit

    if (values := _preloads(rows)) is None:
        return None
    n, off = len(values), np.abs(values - values.mean())
    t = float(stdtrit(n - 2, 1.0 - 0.5 * _ONCE_IN / n))
    most = (n - 1) * np.sqrt(t**2 / (n * (n - 2 + t**2))) * values.std(ddof=1)
    furthest = rows[int(np.argmax(off))]
    return furthest if off.max() > max(most, 2.0 * furthest.deviation) else None


def sample_of(rows: Sequence[Reading]) -> Sample | None:
    """What readings of ten fasteners or more tell of their scatter; None of fewer, or of others.

    None where one of them does not belong to the rest (`outlier_of`).

    Share t s sqrt(1 + 1/n) / mean with n - 1 degrees of freedom, preloads taken as normal, known to
    one part in sqrt(2 (n - 1)); s no less than what one reading may be off.
    """
    from scipy.special import stdtrit

    if (values := _preloads(rows)) is None or outlier_of(rows):
        return None
    n, mean, deviation = len(values), float(values.mean()), float(values.std(ddof=1))
    share = float(stdtrit(n - 1, 0.975)) * max(deviation, rows[0].deviation) / mean
    share *= float(np.sqrt(1.0 + 1.0 / n))
    return Sample(mean, deviation, share, 2.0 * share / float(np.sqrt(2.0 * (n - 1.0))))


def _beside(name: str) -> bool:
    """Whether a name is that of a file beside the sheet or below it, on any machine."""
    return not any(
        path.is_absolute() or path.anchor or ".." in path.parts
        for path in (PurePosixPath(name), PureWindowsPath(name))
    )


def readings(evidence: Section | None) -> tuple[Reading, ...]:
    """Every reading on the sheet."""
    rows = getattr(evidence, "measured", ())
    return tuple(reading(r, f"evidence.measured[{n}]") for n, r in enumerate(rows, start=1))


def known_width(row: Any, place: str) -> float:
    """Half the width, two standard deviations, to which a row of the sheet says a field is known.

    Raises InputError under its name `place`.
    """
    spec = FIELDS.get(row.field)
    if spec is None or spec.kind not in KINDS:
        numbers = [path for path, one in FIELDS.items() if one.kind in KINDS]
        wanted = 'the dotted name of a number on the sheet, such as "fasteners.embedment"'
        raise InputError(
            Fault(f"{place}.field", f'"{row.field}"', wanted, near(row.field, numbers))
        )
    path = f"{place}.half_width"
    wide = float(si(row.half_width, step_of(spec.kind), path))
    if not 0.0 <= wide < float("inf"):
        raise fail(path, row.half_width, "a width not below zero")
    return wide


def half_widths(evidence: Section | None) -> dict[str, float]:
    """Half-width to which each field is known, by its dotted name."""
    rows = getattr(evidence, "known", ())
    return {row.field: known_width(row, "evidence.known") for row in rows}


def _measured(evidence: Section | None) -> list[Any]:
    return [row for row in getattr(evidence, "known", ()) if row.source != NOT_MEASURED]


def measured_fields(build: Any) -> list[tuple[str, float, float, str]]:
    """Fields known by measurement: dotted name, value and half its width (plain SI), by what."""
    rows, half = _measured(build.evidence), half_widths(build.evidence)
    return [(one.field, float(held(build, one.field)), half[one.field], one.source) for one in rows]


def held(build: Any, path: str) -> Any:
    """The plain SI value of a field of a build that is no field of a section within another.

    None where the sheet has no such section.
    """
    section = path.partition(".")[0]
    return getattr(getattr(build, section), FIELDS[path].attribute, None)


def status_of(evidence: Section | None, path: str) -> str:
    """Status of a field that measurements have narrowed down; empty where none have."""
    return tables.MEASURED if any(row.field == path for row in _measured(evidence)) else ""
