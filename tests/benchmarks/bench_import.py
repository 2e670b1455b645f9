"""Time of `import sealkit` against its three libraries with a fresh unit registry, in one run.

Run as ``python -m tests.benchmarks.bench_import``. Each import runs in a Python of its own; the
two sides take turns.
"""

from __future__ import annotations

import subprocess
import sys
from statistics import median

CODE = {
    "libraries": "import numpy, scipy.optimize, pint; pint.UnitRegistry()",
    "sealkit": "import sealkit",
}


def seconds(code: str) -> float:
    """Wall time of the import inside a new Python, s."""
    script = f"import time; t = time.perf_counter()\n{code}\nprint(time.perf_counter() - t)"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return float(done.stdout)


def main() -> None:
    times: dict[str, list[float]] = {k: [] for k in CODE}
    for _ in range(15):
        for name, code in CODE.items():
            times[name].append(seconds(code))
    base, ours = median(times["libraries"]), median(times["sealkit"])
    print(f"libraries {base:.3f} s, sealkit {ours:.3f} s, RATIO {ours / base:.2f}")


if __name__ == "__main__":
    main()
