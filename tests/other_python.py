"""The package in another Python: installed, every module imported, reports as in this one.

    python -m tests.other_python PYTHON

It installs what the package needs, no compiled modules, into a new environment that goes again.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
SAID = """
import importlib, json, pkgutil, sys
import sealkit
for room in pkgutil.walk_packages(sealkit.__path__, "sealkit."):
    if not room.name.endswith("__main__"):  # it is the command
        importlib.import_module(room.name)
from sealkit import build, report
told = {name: report.run(build.demo(name)).to_dict() for name in build.demos()}
print(json.dumps([sys.version.split()[0], told]))
"""


def said(python: str, folder: str | Path) -> tuple[str, dict[str, Any]]:
    """Version of a Python, and what the reports of all demos tell there; `folder` on its path."""
    env = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    done = subprocess.run(
        [python, "-c", SAID], cwd=folder, env=env, check=True, stdout=subprocess.PIPE, text=True
    )
    version, told = json.loads(done.stdout)
    return version, told


def leaves(told: Any, place: str = "") -> Iterator[tuple[str, Any]]:
    """Every value of a report with its place in it."""
    if isinstance(told, dict | list):
        for key, one in told.items() if isinstance(told, dict) else enumerate(told):
            yield from leaves(one, f"{place}/{key}")
    else:
        yield place, told


def same(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    return bool(one == other)


def main(python: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([python, "-m", "venv", "--without-pip", folder], check=True)
        there = str(Path(folder, "Scripts" if os.name == "nt" else "bin", "python"))
        pip = [sys.executable, "-m", "pip", "--python", there]
        subprocess.run([*pip, "install", "--quiet", "--no-compile", str(ROOT)], check=True)
        subprocess.run([*pip, "check"], check=True)
        (here, ours), (version, theirs) = said(sys.executable, ROOT), said(there, folder)
    mine, other = dict(leaves(ours)), dict(leaves(theirs))
    assert mine.keys() == other.keys(), sorted(mine.keys() ^ other.keys())
    wrong = [f"{at}: {mine[at]} here, {other[at]}" for at in mine if not same(mine[at], other[at])]
    assert not wrong, "\n".join(wrong)
    print(f"Python {version}: all modules imported, {len(mine)} values of reports as in {here}")


if __name__ == "__main__":
    main(sys.argv[1])
