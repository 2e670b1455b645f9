"""All benchmarks, one table: ``python -m tests.benchmarks [--json file] [--page file] [name ...]``.

Exit code 1 if a limit is passed or a benchmark fails.
"""

from __future__ import annotations

import argparse
import datetime
import importlib
import importlib.metadata
import json
import os
import pkgutil
import platform
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests import benchmarks
from tests.benchmarks._tools import Ratio, Skipped

LIBRARIES = (
    "sealkit",
    "numpy",
    "scipy",
    "pandas",
    "pint",
    "plotly",
    "ipywidgets",
    "scikit-fem",
    "cantera",
)


def names() -> list[str]:
    """Benchmarks there are, by the name of their module."""
    found = (m.name for m in pkgutil.iter_modules(benchmarks.__path__))
    return sorted(n.removeprefix("bench_") for n in found if n.startswith("bench_"))


def run(name: str) -> tuple[list[Ratio], str]:
    """Ratios of one benchmark, and why there are none."""
    try:
        module = importlib.import_module(f"tests.benchmarks.bench_{name}")
        if not hasattr(module, "rows"):
            return [], "has no rows()"
        return list(module.rows()), ""
    except Skipped as why:
        return [], f"skipped: {why}"
    except Exception:
        traceback.print_exc()
        return [], "failed"


def machine() -> dict[str, Any]:
    """When, with what and on how many cores."""
    versions: dict[str, str | None] = {}
    for library in LIBRARIES:
        try:
            versions[library] = importlib.metadata.version(library)
        except importlib.metadata.PackageNotFoundError:
            versions[library] = None
    return {
        "date": datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds"),
        "python": platform.python_version(),
        "libraries": versions,
        "cpu_count": os.cpu_count(),
    }


def page(measured: dict[str, Any]) -> str:
    """The table for a page of text, with date and versions."""
    versions = ", ".join(f"{k} {v}" for k, v in measured["libraries"].items() if v)
    day = datetime.datetime.fromisoformat(measured["date"])
    lines = [
        f"Measured on {day.day} {day:%B %Y}, Python {measured['python']}, "
        f"{measured['cpu_count']} cores; {versions}.",
        "",
        "| ratio | measured | wanted |",
        "|---|---|---|",
    ]
    for row in measured["ratios"]:
        if "ratio" not in row:
            lines.append(f"| {row['benchmark']} | {row['note']} | |")
            continue
        sign = "at least" if row["least"] else "at most"
        lines.append(f"| {row['name']} | {row['ratio']:.3g} | {sign} {row['limit']:g} |")
    return "\n".join(lines) + "\n"


def main(argv: Sequence[str] | None = None) -> int:
    """Run the benchmarks named, or all; returns the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="name", help=f"of {', '.join(names())}")
    parser.add_argument("--json", help="file for the ratios and what they were measured with")
    parser.add_argument(
        "--page", help="file for the same as a table of text, with date and versions"
    )
    args = parser.parse_args(argv)
    unknown = sorted(set(args.names) - set(names()))
    if unknown:
        parser.error(f"no benchmark {', '.join(unknown)}; there are {', '.join(names())}")
    out, bad = [], False
    for name in args.names or names():
        ratios, why = run(name)
        for r in ratios:
            print(f"{name:<10} {r.line()}", flush=True)
            bad |= not r.ok
            out.append(
                {
                    "benchmark": name,
                    "name": r.name,
                    "ratio": r.ratio,
                    "limit": r.limit,
                    "least": r.least,
                    "ok": r.ok,
                    "note": r.note,
                }
            )
        if why:
            print(f"{name:<10} {why}", flush=True)
            bad |= not why.startswith("skipped")
            out.append(
                {"benchmark": name, "name": "", "ok": why.startswith("skipped"), "note": why}
            )
    measured = {**machine(), "ratios": out}
    whole = json.dumps(measured, indent=2, ensure_ascii=False) + "\n"
    for file, text in ((args.json, whole), (args.page, page(measured))):
        if file:
            Path(file).write_text(text, encoding="utf-8")
            print(f"written to {file}")
    return int(bad)


if __name__ == "__main__":
    sys.exit(main())
