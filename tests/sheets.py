"""Build sheets and reports for tests that want them soon and look at something else."""

from __future__ import annotations

import functools
import re
from pathlib import Path
from typing import Any

import pytest

from sealkit import analysis, build, paper, report, scatter, tables

TABLES = sorted(path.stem for path in Path(tables.__file__).parent.glob("*.csv"))
"""Names of all handbook tables."""

_paper_of = paper.paper_of
_printed: dict[tuple[build.Build, bool], paper.Paper] = {}


def without_map(name: str = "boosted-four") -> str:
    """The sheet of a demo without its deck: the report works out no map."""
    text = re.sub(r"(?ms)^\[deck\]\n.*?(?=^\[(?!deck\.)|\Z)", "", build.demo(name).dumps())
    assert build.loads(text).deck is None
    return text


def sample(found: scatter.Scatter, number: int) -> build.Build:
    """The sheet of one of the builds of a study that were kept."""
    assert found.build is not None
    numbers = {k: float(v[number]) for k, v in found.numbers.items()}
    return analysis.with_numbers(analysis.with_one_preload(found.build), numbers)


@functools.cache
def printed(name: str, deck: bool = True) -> paper.Paper:
    """What is printed of a demo as it stands, with its map or without; worked out once."""
    return _paper_of(report.run(build.demo(name), deck=deck))


LONG_RUN = {"head.gradient": "60 K", "gasket.compressed_thickness": "0.043 in"}
"""The drag engine on thinner copper, its head bowed twice as far: the wire loses touch by that."""


@functools.cache
def long_run() -> paper.Paper:
    """What is printed of the drag engine after such a run, with its map; worked out once."""
    return _paper_of(report.run(build.demo("methanol-drag").vary(LONG_RUN), deck=True))


@pytest.fixture(autouse=True)
def printed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where commands are looked at, what they print of one sheet is worked out once."""

    def found(made: Any) -> paper.Paper:
        if not isinstance(made, report.Report):
            return _paper_of(made)
        key = made.build, made.deck is not None
        if key not in _printed:
            _printed[key] = _paper_of(made)
        return _printed[key]

    monkeypatch.setattr(paper, "paper_of", found)


def complaint(err: str) -> str:
    """What stands on stderr beside the progress of a slow machine."""
    return "".join(x for x in err.splitlines(True) if not x.startswith("working out "))
