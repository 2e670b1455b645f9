"""Time of `import sealkit` against its three libraries with a fresh unit registry, in one run.

Run as ``python -m tests.benchmarks.bench_import``. Each import runs in a Python of its own; the
two sides take turns.
"""

from __future__ import annotations

import subprocess
import sys
from statistics import median

from tests.benchmarks._tools import Ratio, show

CODE = {
    "libraries": "import numpy, scipy.optimize, pint; pint.UnitRegistry()",
    "sealkit": "import sealkit",
}


def seconds(code: str) -> float:
    """Processor time of the import inside a new Python, s."""
    script = f"import time; t = time.process_time()\n{code}\nprint(time.process_time() - t)"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return float(done.stdout)


def rows() -> list[Ratio]:
    times: dict[str, list[float]] = {k: [] for k in CODE}
    for _ in range(11):
        for name, code in CODE.items():
            times[name].append(seconds(code))
    base, ours = median(times["libraries"]), median(times["sealkit"])
    note = f"sealkit {ours:.3f} s, libraries {base:.3f} s"
    return [Ratio("import over import of its libraries", ours / base, 1.5, note=note)]


if __name__ == "__main__":
    show(rows())
