"""What `import sealkit` and the physics pull in."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = ("plotly", "ipywidgets", "anywidget", "skfem", "pandas", "IPython", "cantera", "CoolProp")


@pytest.mark.parametrize(
    "module",
    [
        "sealkit",
        "sealkit.build",
        "sealkit.report",
        "sealkit.cli",
        "sealkit.classroom.homework.gradebook",
    ],
)
def test_heavy_libraries_stay_out(module: str) -> None:
    code = f"import sys, {module}; print(*[m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def test_the_formulas_of_the_cards_name_what_there_is() -> None:
    from sealkit.classroom.homework import cards

    for name in cards.set_titles():
        assert cards.draw("5eed" * 8, name, "t-01").items


def test_the_face_is_what_it_lists() -> None:
    import sealkit

    assert all(getattr(sealkit, name) is not None for name in sealkit.__all__)
    assert set(sealkit.__all__) <= set(dir(sealkit))
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        sealkit.nothing  # noqa: B018


def test_the_package_is_a_command() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "sealkit", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("sealkit ")


@pytest.mark.skipif(sys.platform != "linux", reason="the folder is named as on Linux")
def test_units_are_read_where_what_is_kept_of_them_is_damaged_or_cannot_be(tmp_path: Path) -> None:
    code = [sys.executable, "-c", "from sealkit import Q; print(Q('2 bar').to('kPa').magnitude)"]

    def read(folder: Path) -> str:
        env = os.environ | {"XDG_CACHE_HOME": str(folder)}
        return subprocess.run(code, capture_output=True, text=True, check=True, env=env).stdout

    first = read(tmp_path)
    kept = list(tmp_path.rglob("*.pickle"))
    assert kept and read(tmp_path) == first
    for file in kept:
        file.write_bytes(file.read_bytes()[:300])
    assert read(tmp_path) == first
    assert read(kept[0]) == first
