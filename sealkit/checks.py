"""Check values from outside the project, and ours worked out beside them.

Each file ``data/checks/*.csv`` has the columns

id, quantity, call, inputs, output, expected, tolerance, source, status, note

``call`` is a public function below ``sealkit`` (``fastening.threads.thread``), ``inputs`` its
arguments as ``name=value; name=value`` (values as the public function takes them; JSON for lists
and plain numbers), ``output`` the attribute (``stress_area``) or place (``[0]``) of the result, or
empty. ``expected`` is a number with unit; ``tolerance`` is relative (``0.5 %``) or absolute in a
unit (``0.05 mm``). Rows without ``call`` are inputs of a test or lesson that needs several steps.
"""

from __future__ import annotations

import importlib
import json
import math
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from sealkit.errors import broken, fail
from sealkit.resources import data_file
from sealkit.tables import read_csv
from sealkit.units import Q, parse


@dataclass(frozen=True)
class Check:
    """One outside value; `run` works out ours."""

    topic: str
    id: str
    quantity: str
    call: str
    inputs: str
    output: str
    expected: str
    tolerance: str
    source: str
    status: str
    note: str
    package: str = "sealkit"

    def arguments(self) -> dict[str, Any]:
        """The inputs as keyword arguments."""
        out: dict[str, Any] = {}
        for part in self.inputs.split(";"):
            if not part.strip():
                continue
            name, sign, value = part.partition("=")
            if not sign:
                raise fail(f"{self.topic}/{self.id} inputs", part, "name=value")
            text = value.strip()
            try:
                out[name.strip()] = json.loads(text)
            except ValueError:
                out[name.strip()] = text
        return out

    def run(self) -> Any:
        """Our value, as the public function gives it."""
        module, _, function = self.call.rpartition(".")
        result = getattr(importlib.import_module(f"{self.package}.{module}"), function)(
            **self.arguments()
        )
        for part in self.output.replace("[", ".[").split("."):
            if part.startswith("["):
                result = result[json.loads(part)[0]]
            elif part:
                result = getattr(result, part)
        return result

    def want(self) -> Any:
        """The outside value as a quantity."""
        return parse(self.expected, f"{self.topic}/{self.id} expected")

    def compare(self) -> tuple[Any, float, bool]:
        """Ours in the unit of the outside value, relative difference, whether it is within."""
        want = self.want()
        ours = self.run()
        ours = (ours if hasattr(ours, "units") else Q(float(ours))).to(want.units)
        off = abs(float(ours.magnitude) - float(want.magnitude))
        scale = abs(float(want.magnitude))
        limit = parse(self.tolerance, f"{self.topic}/{self.id} tolerance")
        if "%" in self.tolerance:
            bound = float(limit.to("dimensionless").magnitude) * scale
        elif str(want.units).startswith("degree_"):
            bound = float(limit.to("K").magnitude)
        else:
            bound = float(limit.to(want.units).magnitude)
        return ours, off / scale if scale else float(np.inf), bool(off <= bound * (1 + 1e-9))

    def told(self) -> dict[str, str]:
        """Book, and ours to as many figures (three at least), ✓ if within."""
        ours, _, within = self.compare()
        book, number = self.expected.split()[0], float(ours.magnitude)
        figures = 2 - math.floor(math.log10(abs(number))) if number else 2
        decimals = max(len(book.partition(".")[2]), figures, 0)
        return {
            "book": f"{book} {ours.units:~P}".strip(),
            "ours": f"{number:.{decimals}f} {'✓' if within else '✗'}",
        }


COLUMNS = tuple(f.name for f in fields(Check))[1:-1]
"""Of a file; its name is the topic."""


@cache
def load(topic: str) -> tuple[Check, ...]:
    """All rows of one check file.

    Raises InputError if a column, a source or a known status is missing.
    """
    return read(data_file("checks", f"{topic}.csv"))


def read(path: Path, package: str = "sealkit") -> tuple[Check, ...]:
    """All rows of one file of check values.

    Raises InputError if a column, a source or a known status is missing. The file's name is the
    topic; `call` names functions of `package`.
    """
    topic = path.stem
    try:
        rows = read_csv(path.read_text(encoding="utf-8"), f"checks/{topic}")
    except (OSError, UnicodeDecodeError) as err:
        raise broken(f"checks/{topic}", str(err)) from err
    heads = tuple(rows[0]) if rows else ()
    if heads != COLUMNS:
        raise fail(f"checks/{topic}", ", ".join(heads) or "nothing", ", ".join(COLUMNS))
    return tuple(Check(topic, **row, package=package) for row in rows)


def row(topic: str, id: str) -> Check:
    """One row by its id."""
    for r in load(topic):
        if r.id == id:
            return r
    raise fail(f"checks/{topic}", id, "the id of a row")
