"""What `import sealkit` and the physics pull in."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("plotly", "ipywidgets", "anywidget", "skfem", "pandas", "IPython", "cantera", "CoolProp")
MODULES = (
    *("sealkit", "sealkit.build", "sealkit.report", "sealkit.cli", "sealkit.sealing.deck.plates"),
    *("sealkit.classroom.homework.gradebook", "sealkit.classroom.panel.panels"),
    *("sealkit.classroom.lessons.lesson", "sealkit.classroom.lessons.whole_joint"),
)


def test_heavy_libraries_stay_out() -> None:
    """Neither the kit nor the classroom loads them on import, nor a sheet the writer of TOML."""
    code = (
        f"import sys, {', '.join(MODULES)}; sealkit.build.demo('boosted-four').vary().dumps(); "
        f"print(*[m for m in {(*HEAVY, 'tomlkit')!r} if m in sys.modules])"
    )
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
