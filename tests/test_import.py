"""What `import sealkit` and the physics pull in."""

from __future__ import annotations

import subprocess
import sys

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
