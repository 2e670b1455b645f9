"""Cylinder-pressure logs: a CSV of crank angle and pressure, one cycle or many, read whole."""

from __future__ import annotations

import contextlib
import csv
import functools
import io
import itertools
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sealkit.errors import Fault, InputError, fail, short
from sealkit.pressure.grid import peak_of
from sealkit.units import to_si

Array = NDArray[np.float64]

_MOST_BYTES = 100_000_000
_MOST_FAULTS = 8
_TURN = 2.0 * np.pi
_NEEDS = np.radians([-100.0, 60.0])  # a log has to hold these angles
_COARSEST = np.radians(3.0)
_LEAST, _MOST = 3e5, 500e5  # Pa, of a peak
_SMALLEST = 10.0  # Pa, of the noise
_HEAD = re.compile(r"\s*(.*?)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*")
_NAMES = {
    "angle": re.compile(r"(crank[ _-]?)?angle|crank|theta|cad?|deg(rees?)?", re.I),
    "pressure": re.compile(r"(cyl\w*[ _-]?)?pressure\W*\d*|p([ _-]?cyl\w*)?\W*\d*", re.I),
    "cycle": re.compile(r"cycle\W*(no|number)?\W*", re.I),
}
_UNIT = re.compile(r"(bar|psi|[kM]?Pa|\w+)\s*\(?([ag]|abs|absolute|gauge)?\)?")
_LINE = "a crank angle and a pressure, such as -90,2.13"


@dataclass(frozen=True)
class Log:
    """A cylinder-pressure log.

    Parameters
    ----------
    name : of the file
    angle : as logged, from firing top dead centre, rising [rad]
    pressure : as logged [Pa], (cycles, angles)
    kind : what it counts from: "absolute" (nothing), "gauge" (the air outside), "relative" (no one
        knows what: a sensor that only feels changes), or "" where nobody says
    unit : of the file's pressure
    notes : what the reader took as it came
    """

    name: str
    angle: Array
    pressure: Array
    kind: str
    unit: str
    notes: tuple[str, ...] = ()

    @property
    def cycles(self) -> int:
        """How many."""
        return len(self.pressure)

    @property
    def step(self) -> float:
        """Between two angles [rad]."""
        return float(np.median(np.diff(self.angle)))

    @functools.cached_property
    def mean(self) -> Array:
        """Ensemble mean [Pa] over the angles."""
        return np.asarray(self.pressure.mean(axis=0))

    @functools.cached_property
    def noise(self) -> float:
        """Standard deviation of one sample's noise [Pa], the converter's steps included.

        From third differences over the compression, of which a smooth trace has hardly any.
        """
        low, high = np.searchsorted(self.angle, np.radians([-90.0, -20.0]))
        third = np.diff(self.pressure[:, low:high], 3, axis=-1)
        return max(float(np.sqrt(np.mean(np.square(third)) / 20.0)), _SMALLEST)

    @functools.cached_property
    def between(self) -> Array:
        """Standard deviation from cycle to cycle [Pa] over the angles, without the noise.

        Of the variance the mean over ten degrees, where it is more than noise leaves by chance.
        """
        from scipy.ndimage import uniform_filter1d

        free, near = max(self.cycles - 1, 1), round(np.radians(10.0) / self.step)
        spread = self.pressure.var(axis=0, ddof=min(self.cycles - 1, 1)) - self.noise**2
        spread, chance = uniform_filter1d(spread, near), np.sqrt(2.0 / (free * near))
        return np.sqrt(np.where(spread > 2.5 * chance * self.noise**2, spread, 0.0))

    @functools.cached_property
    def peaks(self) -> Array:
        """Peak of each cycle [Pa], of a cubic through 5 degrees: noise does not heighten it."""
        from scipy.signal import savgol_filter

        near = np.abs(self.angle) < np.pi / 3.0
        width = max(2 * round(np.radians(2.5) / self.step) + 1, 5)
        smooth = savgol_filter(self.pressure[:, near], width, 3, axis=-1)
        return np.asarray(peak_of(self.angle[near], smooth)[0])

    @property
    def peak_angle(self) -> float:
        """Where the mean is highest, by a parabola [rad]."""
        return float(peak_of(self.angle, self.mean[None])[1][0])

    @functools.cached_property
    def peak_variation(self) -> tuple[float, float] | None:
        """Standard deviation of the peaks over their mean, and its standard error.

        Nothing for fewer than ten cycles. Error COV/sqrt(2 (n - 1)), peaks taken as normal.
        """
        if self.cycles < 10:
            return None
        value = float(self.peaks.std(ddof=1) / self.peaks.mean())
        return value, value / np.sqrt(2.0 * (self.cycles - 1.0))


def read(source: str | Path) -> Log:
    """A log from a CSV file or its text.

    One column of angles and one of pressures, cycle after cycle, or one of pressures for each
    cycle; comma, semicolon or tab between them. The first line names the columns with their
    units: "crank angle [deg]", "pressure [bar]" ("bara", "psig", "bar abs" say what it counts
    from), "cycle". Angles run on or begin anew with each cycle; the multiple of 360 degrees at
    the peak is taken for firing top dead centre.

    Raises InputError that lists what is wrong, with its lines: nothing is left out, filled in or
    half read.

    Parameters
    ----------
    source : path, or the text itself (more than one line)
    """
    wanted = 'a column headed "crank angle [deg]" and one headed "pressure [bar]"'
    name, units, lines, table, left = columns(source, _NAMES, wanted)
    turn = _angle_factor(name, units["angle"][0])
    factor, kind, unit = _pressure_factor(name, units["pressure"][0])
    angle, pressure = table[:, 0] * turn, table[:, 1:] * factor
    marks = None
    if "cycle" in units:
        marks, pressure = table[:, -1], pressure[:, :-1]
    parts = _parts(angle, marks) if pressure.shape[1] == 1 else [slice(0, len(angle))]
    _even(name, lines, angle, parts)
    pressure = pressure.T if len(parts) == 1 else pressure.reshape(len(parts), -1)
    turns, angle, pressure = _from_firing(name, angle[parts[0]], pressure)
    _sound(name, angle, pressure, unit)
    notes = [f"firing top dead centre taken at {turns * 360} deg of the log"] if turns else []
    notes += [f"not read: {', '.join(left)}"] if left else []
    return Log(name, angle, pressure, kind, unit, tuple(notes))


def _text_of(source: str | Path) -> tuple[str, str]:
    """Name and text of a log."""
    if isinstance(source, str) and {"\n", "\r"} & set(source[:10_000]):
        return "log", source
    path = Path(source)
    try:
        size = path.stat().st_size
        if size <= _MOST_BYTES:
            return path.name, path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as err:
        raise fail("log", path, "a CSV file that can be read (UTF-8 text)") from err
    raise InputError(
        Fault(path.name, f"{size / 1e6:.0f} MB", f"at most {_MOST_BYTES / 1e6:.0f} MB")
    )


def _number(cell: str) -> float:
    """Of a cell; not a number where it holds none."""
    try:
        return float(cell)
    except ValueError:
        return np.nan


def _cells(name: str, text: str, mark: str, width: int) -> list[tuple[int, list[str]]]:
    """Lines that hold anything: their numbers and their cells, all of one width."""
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    try:
        found = [(rows.line_num, row) for row in rows if any(cell.strip() for cell in row)]
    except csv.Error as err:
        raise fail(f"{name} line {rows.line_num}", str(err), _LINE) from err
    hint = " (is a comma the decimal point?)" if mark == "," else ""
    faults = [
        Fault(f"{name} line {n}", f"{len(row)} cells", f"{width}, as above", hint)
        for n, row in found
        if len(row) != width
    ]
    if faults:
        raise InputError(faults[:_MOST_FAULTS])
    return found


class Columns(NamedTuple):
    """Columns of a log.

    Parameters
    ----------
    name : of the file
    units : of each kind of column the unit, and the heading as it stands
    lines : number of each, (lines,)
    table : their numbers, (lines, columns), kind by kind
    left : headings not known
    """

    name: str
    units: dict[str, tuple[str, str]]
    lines: NDArray[np.intp]
    table: Array
    left: list[str]


def columns(source: str | Path, names: Mapping[str, re.Pattern[str]], wanted: str) -> Columns:
    """Columns of a CSV file, or of its text, by the words of their headings.

    The first kind is there once, the second at least once, others at most once.

    Raises InputError that lists what is wrong, with its lines.

    Parameters
    ----------
    names : kind of column -> words that its heading has
    wanted : headings, in words
    """
    name, text = _text_of(source)
    first = next((x for x in text[:10_000].splitlines() if x.strip()), "")
    mark = next((m for m in "\t;," if m in first), "")
    if not mark or "\0" in text:
        raise fail(name, first or "an empty file", f"lines of {_LINE}")
    heads = [head.strip() for head in next(csv.reader([first], delimiter=mark))]
    said = [(match[1], match[2] or "") for match in map(_HEAD.fullmatch, heads) if match]
    kinds = [next((k for k, like in names.items() if like.fullmatch(x)), "") for x, _ in said]
    one, more, *others = (kinds.count(kind) for kind in names)
    if one != 1 or not more or max(others, default=0) > 1:
        raise fail(f"{name} line 1", ", ".join(heads), wanted)
    places = [i for kind in names for i, own in enumerate(kinds) if own == kind]
    units = {kinds[i]: (said[i][1], heads[i]) for i in reversed(places)}
    left = [head for head, kind in zip(heads, kinds, strict=True) if not kind]
    count = text.rstrip().count("\n") + 1
    with contextlib.suppress(ValueError):  # fast, where every line is numbers from end to end
        rows = text.splitlines()[1:] or ["no numbers"]
        table = np.loadtxt(rows, delimiter=mark, comments=None, ndmin=2)
        if table.shape == (count - 1, len(heads)) and np.all(np.isfinite(table)):
            return Columns(name, units, np.arange(2, count + 1), table[:, places], left)
    cells = _cells(name, text, mark, len(heads))[1:]
    if not cells:
        raise InputError(Fault(name, "a heading alone", f"lines of {_LINE}"))
    table = np.array([[_number(row[i]) for i in places] for _, row in cells])
    faults = []
    for k, i in np.argwhere(~np.isfinite(table))[:_MOST_FAULTS]:
        line, cell = cells[k][0], cells[k][1][places[i]]
        hint = " with a point, not a comma" if re.search(r"\d,\d", cell) else ""
        came = short(cell) if cell.strip() else "nothing"
        faults.append(Fault(f"{name} line {line}, column {places[i] + 1}", came, "a number", hint))
    if faults:
        raise InputError(faults)
    return Columns(name, units, np.array([line for line, _ in cells]), table, left)


def _angle_factor(name: str, unit: str) -> float:
    """Radians in the unit of the angles."""
    if unit.lower().startswith(("deg", "°", "ca")):
        return float(np.radians(1.0))
    if unit.lower().startswith("rad"):
        return 1.0
    wanted = 'the unit of the angle, "deg" or "rad", in the heading'
    raise InputError(Fault(f"{name} line 1", unit or "nothing", wanted))


def _pressure_factor(name: str, unit: str) -> tuple[float, str, str]:
    """Pascals in the unit of the pressures, what it counts from, and the unit alone."""
    if match := _UNIT.fullmatch(unit):
        said = {"a": "absolute", "g": "gauge"}.get((match[2] or "")[:1], "")
        with contextlib.suppress(InputError):
            return float(to_si(f"1 {match[1]}", "pressure")), said, match[1]
    wanted = 'a unit of pressure such as "bar" or "psig", in the heading'
    raise InputError(Fault(f"{name} line 1", unit or "nothing", wanted))


def _parts(angle: Array, marks: Array | None) -> list[slice]:
    """Where each cycle of a long column lies."""
    if marks is not None:
        cuts = np.diff(marks) != 0.0
    elif np.ptp(angle) > 1.001 * 2.0 * _TURN:  # angles that run on
        cuts = np.diff(np.floor((angle - angle[0]) / (2.0 * _TURN) + 1e-9)) != 0.0
    else:
        cuts = np.diff(angle) < -0.5 * _TURN
    edges = [0, *(np.flatnonzero(cuts) + 1).tolist(), len(angle)]
    return [slice(a, b) for a, b in itertools.pairwise(edges)]


def _even(name: str, lines: NDArray[np.intp], angle: Array, parts: list[slice]) -> None:
    """Raise InputError where angles do not rise by even steps, or differ from cycle to cycle."""
    step, at = np.diff(angle), np.arange(1, len(angle))
    within = ~np.isin(at, [p.start for p in parts])
    usual = float(np.median(step[within])) if np.any(within) else 0.0
    faults = []
    for i in at[within & ((step <= 0.0) | (step > 1.5 * usual))][:_MOST_FAULTS]:
        came = f"{np.degrees(angle[i]):.6g} after {np.degrees(angle[i - 1]):.6g} deg"
        even = (
            f"the next angle, about {np.degrees(usual):.3g} deg on: none is missing or twice there"
        )
        faults.append(Fault(f"{name} line {lines[i]}", came, even))
    if faults:
        raise InputError(faults)
    if not 0.0 < usual <= _COARSEST:
        wanted = f"one every {np.degrees(_COARSEST):.0f} deg or finer"
        raise InputError(Fault(name, f"a sample every {np.degrees(usual):.3g} deg", wanted))
    count = Counter(p.stop - p.start for p in parts).most_common(1)[0][0]
    grid = angle[next(p for p in parts if p.stop - p.start == count)]
    for k, p in enumerate(parts, start=1):
        where = f"{name} lines {lines[p.start]} to {lines[p.stop - 1]}"
        if p.stop - p.start != count:
            came = f"cycle {k} with {p.stop - p.start} samples"
            faults.append(Fault(where, came, f"{count}, as in the others; take out a cut cycle"))
        elif np.any(np.abs(np.sin((angle[p] - grid) / 4.0)) > 0.05 * usual):
            faults.append(Fault(where, f"cycle {k} at other angles", "the same in each cycle"))
    if faults:
        raise InputError(faults[:_MOST_FAULTS])


def _from_firing(name: str, angle: Array, pressure: Array) -> tuple[int, Array, Array]:
    """Turns up to firing top dead centre; angles from there, rising; pressures in that order."""
    peak = float(angle[int(np.argmax(pressure.mean(axis=0)))])
    turns = round(peak / _TURN)
    if abs(peak - turns * _TURN) > np.radians(60.0):
        wanted = "a peak within 60 deg of firing top dead centre, a multiple of 360 deg"
        raise InputError(Fault(f"{name}, angle", f"the peak at {np.degrees(peak):.0f} deg", wanted))
    angle = angle - turns * _TURN
    beyond = angle > _TURN + 1e-9
    if np.any(beyond):
        if (
            angle[-1] - angle[0] > 2.0 * _TURN - 1e-6
        ):  # first and last are one place: keep both as one
            pressure = np.column_stack(
                [(pressure[:, 0] + pressure[:, -1]) / 2.0, pressure[:, 1:-1]]
            )
            angle, beyond = angle[:-1], beyond[:-1]
        angle = np.where(beyond, angle - 2.0 * _TURN, angle)
    order = np.argsort(angle)
    return turns, angle[order], np.ascontiguousarray(pressure[:, order])


def _sound(name: str, angle: Array, pressure: Array, unit: str) -> None:
    """Raise InputError for a log that holds no cycle, or one that the sensor cut off."""
    reach = "{:.0f} to {:.0f} deg".format
    if angle[0] > _NEEDS[0] or angle[-1] < _NEEDS[1]:
        came, wanted = (reach(*np.degrees(x)) for x in (angle[[0, -1]], _NEEDS))
        raise InputError(Fault(f"{name}, angle", came, f"{wanted} at least"))
    bad: dict[bool, list[tuple[int, str]]] = {}
    tops = pressure.max(axis=1)
    for k, (row, top) in enumerate(zip(pressure, tops, strict=True), start=1):
        flat = np.flatnonzero(row == top)
        came = ""
        if top - row.min() < 0.5 * _LEAST:
            came = f"one that moves by {(top - row.min()) / 1e5:.3g} bar"
        elif len(flat) > 2 and np.ptp(flat) == len(flat) - 1 and flat[0]:
            # a round top that the converter's steps flatten is reached by a few of these steps
            small = float(np.diff(np.unique(row)).min())
            came = f"one cut flat at {top / 1e5:.4g} bar" * bool(top - row[flat[0] - 1] > 6 * small)
        if came:
            bad.setdefault("flat" in came, []).append((k, came))
    faults = [
        Fault(
            f"{name}, cycle {k}{f' and {len(more)} more' if more else ''}",
            came,
            "a signal that follows the cycle",
        )
        for (k, came), *more in bad.values()
    ]
    if not faults and not _LEAST < (top := float(np.median(tops))) < _MOST:
        wanted = f"{_LEAST / 1e5:.0f} to {_MOST / 1e5:.0f} bar; is the unit right?"
        psi = float(to_si("1 psi", "pressure")) / 1e5
        hint = " (are the numbers in psi?)" if unit == "bar" and top > _MOST > psi * top else ""
        faults = [Fault(f"{name}, pressure", f"peaks of {top / 1e5:.3g} bar", wanted, hint)]
    if faults:
        raise InputError(faults)
