"""Words that have to stand where the work can hurt someone, and words that stand nowhere."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from sealkit import build, paper
from tests import sheets

ROOT = Path(__file__).resolve().parents[1]


@pytest.mark.parametrize("name", build.demos())
def test_every_report_and_page_carries_the_cautions(name: str) -> None:
    printed = sheets.printed(name, False)
    text, page = paper.text(printed), paper.page(printed)
    for caution in paper.CAUTIONS:
        assert caution in text
        assert caution.replace("'", "&#x27;") in page
    assert paper.SCOPE in text and paper.SCOPE in page


def test_readme_and_lessons_carry_the_cautions() -> None:
    readme = " ".join((ROOT / "README.md").read_text(encoding="utf-8").replace(">", "").split())
    assert "For teaching and first estimates only." in readme
    assert "licensed practice come first" in readme
    for lesson in (ROOT / "notebooks").glob("*.ipynb"):
        text = lesson.read_text(encoding="utf-8")
        assert "lesson.cautions()" in text or '"code"' not in text, lesson.name


def tracked() -> list[Path]:
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if done.returncode:
        pytest.skip("not a git checkout")
    kinds = {".py", ".md", ".toml", ".csv", ".ipynb", ".txt", ""}
    return [ROOT / n for n in done.stdout.splitlines() if Path(n).suffix in kinds]


def test_no_path_of_a_machine_and_no_trade_mark_sign() -> None:
    """A path of somebody's machine, or a trade mark sign, has no place in the repository."""
    machine = re.compile(r"(?<![\w.])/(?:home|root|Users|work)/\w+|[®™]")
    for path in tracked():
        if path != Path(__file__) and path.is_file():
            found = machine.search(path.read_text(encoding="utf-8"))
            assert found is None, f"{path}: {found and found.group(0)}"
