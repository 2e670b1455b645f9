"""How the tests are shared out over the processor's cores.

Everything of one file runs in one process, so that what a module sets up is set up once and a
notebook keeps its kernel; so do files that stand on the same: the browser tests on one JupyterLab,
others on the reports of the demos with their maps. The longest come first, so that no core waits
for another at the end.
"""

from __future__ import annotations

import contextlib
import functools
import gc
import importlib
import os
from pathlib import Path
from typing import Any

# two processes share the cores: threads of linear algebra that wait for each other would double
# and redouble the time of a deck map
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from xdist.scheduler import LoadFileScheduling

from sealkit import build

# asked for thousands of times; a build never changes
build.demo = functools.cache(build.demo)

HERE = Path(__file__).parent
# files that look at the same reports and maps of the demos
PRINTED = (
    "tests/analysis/test_deck_side.py",
    "tests/browser/test_page.py",
    "tests/paper/test_page.py",
    "tests/report/",
    "tests/scatter/test_scatter.py",
    "tests/test_cautions.py",
    "tests/test_wording.py",
)
# what takes longest, longest first; what is not named comes after
LONGEST = (
    "tests/browser/",
    PRINTED[0],
    "tests/evidence/test_evidence.py",
    "tests/classroom/panel/test_scenes.py",
    "tests/site/test_site.py",
    "tests/test_toughness.py",
    "tests/classroom/lessons/test_exercises.py",
    "tests/test_cli.py",
    "tests/evidence/test_on_the_deck.py",
    "tests/test_fuzz_files.py",
    "tests/sealing/test_beads.py",
    "tests/classroom/panel/test_panels.py",
    "tests/classroom/homework/test_cards.py",
    "tests/classroom/lessons/test_lesson_11.py",
    "tests/test_fuzz.py",
    "tests/sealing/test_deck.py",
    "tests/pressure/",
    "tests/validation/test_real_bolts.py",
    "tests/classroom/panel/test_job.py",
    "tests/sealing/test_thick_plates.py",
    "tests/classroom/lessons/test_lesson_09.py",
    "tests/test_checks.py",
    "tests/validation/test_peak_spread.py",
    "notebooks/",  # each waits for a kernel
)


def pytest_xdist_auto_num_workers() -> int:
    """One process more than there are cores: the browser waits a lot."""
    return 1 + (len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1)


def pytest_configure_node(node: Any) -> None:
    """A process that starts leaves out what jsonschema builds for addresses in all scripts."""
    node.gateway.remote_exec("import sys; sys.modules['rfc3987_syntax'] = None").waitclose()


def pytest_sessionstart(session: pytest.Session) -> None:
    """Before all tests are collected: each process compiles other ones first, and finds the rest
    compiled by the others."""
    given = getattr(session.config, "workerinput", None)
    if given is None or session.config.args_source is not pytest.Config.ArgsSource.TESTPATHS:
        return
    gc.disable()  # nothing of what is collected is thrown away
    files = sorted(HERE.glob("**/test_*.py"))
    names = [".".join(p.relative_to(HERE.parent).with_suffix("").parts) for p in files]
    first = len(names) * int(given["workerid"].removeprefix("gw")) // given["workercount"]
    for name in (*names[first:], *names[:first]):
        with contextlib.suppress(Exception):  # told when it is collected
            importlib.import_module(name)


def _part(nodeid: str) -> str:
    path = nodeid.partition("::")[0]
    if path.startswith(PRINTED):
        return PRINTED[0]
    # the references of the gas are libraries that take long to load
    return next((p for p in ("tests/browser/", "tests/pressure/") if path.startswith(p)), path)


class ByPart(LoadFileScheduling):
    """What stands together to one process."""

    def _split_scope(self, nodeid: str) -> str:
        return _part(nodeid)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> ByPart:
    return ByPart(config, log)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    def place(item: pytest.Item) -> int:
        part = _part(item.nodeid)
        return next((i for i, one in enumerate(LONGEST) if part.startswith(one)), len(LONGEST))

    items.sort(key=place)


def pytest_collection_finish() -> None:
    """What stays to the end, half a million objects, is not looked through again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000)
    gc.enable()
