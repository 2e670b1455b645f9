"""How the tests are shared out over the processor's cores.

Everything of one file runs in one process, so that what a module sets up is set up once and a
notebook keeps its kernel; the browser tests share one JupyterLab. The longest files come first, so
that no core waits for another at the end.
"""

from __future__ import annotations

import os
from typing import Any

# two processes share the cores: threads of linear algebra that wait for each other would double
# and redouble the time of a deck map
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from xdist.scheduler import LoadFileScheduling

# what takes longest, longest first; what is not named comes after
LONGEST = (
    "tests/browser",
    "tests/site",
    "tests/classroom/panel/test_scenes.py",
    "tests/test_fuzz.py",
)


def pytest_xdist_auto_num_workers() -> int:
    """One process more than there are cores: the browser waits a lot."""
    return 1 + (len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1)


def _part(nodeid: str) -> str:
    path = nodeid.partition("::")[0]
    return "tests/browser" if path.startswith("tests/browser/") else path


class ByPart(LoadFileScheduling):
    """One file to one process, and all browser tests to one."""

    def _split_scope(self, nodeid: str) -> str:
        return _part(nodeid)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> ByPart:
    return ByPart(config, log)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    rank = {part: place for place, part in enumerate(LONGEST)}
    items.sort(key=lambda item: rank.get(_part(item.nodeid), len(rank)))
