"""Build sheets and reports for tests that want them soon and look at something else."""

from __future__ import annotations

import functools
import re

from sealkit import build, paper, report


def without_map(name: str = "boosted-four") -> str:
    """The sheet of a demo without its deck: the report works out no map."""
    text = re.sub(r"(?ms)^\[deck\]\n.*?(?=^\[(?!deck\.)|\Z)", "", build.demo(name).dumps())
    assert build.loads(text).deck is None
    return text


@functools.cache
def printed(name: str, deck: bool = True) -> paper.Paper:
    """What is printed of a demo as it stands, with its map or without; worked out once."""
    return paper.paper_of(report.run(build.demo(name), deck=deck))


def complaint(err: str) -> str:
    """What stands on stderr beside the progress of a slow machine."""
    return "".join(x for x in err.splitlines(True) if not x.startswith("working out "))
