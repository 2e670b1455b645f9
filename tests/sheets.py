"""Build sheets for tests that want a report soon and look at something else."""

from __future__ import annotations

import re

from sealkit import build


def without_map(name: str = "boosted-four") -> str:
    """The sheet of a demo without its deck: the report works out no map."""
    text = re.sub(r"(?ms)^\[deck\]\n.*?(?=^\[(?!deck\.)|\Z)", "", build.demo(name).dumps())
    assert build.loads(text).deck is None
    return text


def complaint(err: str) -> str:
    """What stands on stderr beside the progress of a slow machine."""
    return "".join(x for x in err.splitlines(True) if not x.startswith("working out "))
