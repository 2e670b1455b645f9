"""Time of one full report against one cycle, and of the command against its libraries, in one run.

Run as ``python -m tests.benchmarks.bench_report``.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path
from statistics import median

from sealkit import build, report
from sealkit.pressure import burn, cycle
from tests.benchmarks._tools import Ratio, cpu_time, of_others, show

MOST = 20.0  # cycles that a report may take, so that a slider can afford it

# what a report on paper, scatter and map is usually made with; the yardstick stays as it is
LIBRARIES = (
    "import numpy, pint, scipy.interpolate, scipy.stats, scipy.optimize, scipy.linalg, skfem; "
    "pint.UnitRegistry()"
)
# the command over the import of those: at the default mesh or a coarser one, and at finer ones
MOST_COMMAND, MOST_FINE = 2.0, 4.0
MESHES = (12, 6, 4)  # mm, beside the default


def rows() -> list[Ratio]:
    return [*_reports(), *_commands()]


def _seconds(*command: str) -> float:
    """Processor time of a Python started with these arguments, s; a verdict of 1 is no failure."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, *command], capture_output=True, text=True, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stderr)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _commands() -> list[Ratio]:
    """`sealkit report` with map, text and page, over the import of its libraries, in turns."""
    out = []
    with tempfile.TemporaryDirectory() as folder:
        page = str(Path(folder) / "page.html")
        sheets = {}
        for name in build.demos():
            sheets[f"{name}, 8 mm"] = (name, MOST_COMMAND)
        for mesh in MESHES:
            fine = build.demo("boosted-four").vary({"deck.mesh": f"{mesh} mm"})
            where = Path(folder) / f"{mesh}.toml"
            fine.save(where)
            sheets[f"boosted-four, {mesh} mm"] = (
                str(where),
                MOST_FINE if mesh < 8 else MOST_COMMAND,
            )
        for name, (sheet, most) in sheets.items():
            base, ours = [], []
            for _ in range(3):
                base.append(_seconds("-c", LIBRARIES))
                ours.append(_seconds("-m", "sealkit", "report", sheet, "--page", page))
            a, b = median(base), median(ours)
            note = f"report {b:.2f} s, libraries {a:.2f} s"
            out.append(Ratio(f"command over its libraries, {name}", b / a, most, note=note))
    return out


def _reports() -> list[Ratio]:
    out = []
    for name in build.demos():
        sheet = build.demo(name)
        gas = report.run(sheet).gas
        e = sheet.engine
        timing = burn.burn_timing.si(sheet.burn.ca50, sheet.burn.duration)
        shape = (e.bore, e.stroke, e.rod_length, sheet.compression_ratio, e.speed)
        a, _ = cpu_time(partial(cycle.cycle.si, gas.charge, *shape, *timing), 40)
        b, _ = cpu_time(of_others(report.run, sheet, 40), 40)
        note = f"report {1e3 * b:.1f} ms, cycle {1e3 * a:.2f} ms"
        out.append(Ratio(f"report over cycle, {name}", b / a, MOST, note=note))
    return out


if __name__ == "__main__":
    show(rows())
