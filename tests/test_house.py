"""The rules of the house: floors, the top level, what the notebooks may hold."""

from __future__ import annotations

import ast
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "sealkit"

# a module imports at its top only from modules of an earlier line, or of its own
FLOORS: tuple[tuple[str, ...], ...] = (
    ("errors",),
    ("units",),
    ("tables", "resources"),
    ("checks", "pressure", "fastening", "sealing"),
    ("build", "margins"),
    ("chain",),
    ("deckside",),
    ("report",),
    ("benchwork", "choice", "page", "scatter", "course"),
    ("classroom", "cli"),
)
FLOOR = {name: i for i, names in enumerate(FLOORS) for name in names}
APART = ("pressure", "fastening", "sealing")


def modules() -> list[Path]:
    return [p for p in sorted(PACKAGE.rglob("*.py")) if "_course" not in p.parts]


def part(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(path: Path) -> set[str]:
    """Parts of the package that a module imports when it is imported."""
    out = set()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.ImportFrom) and node.module:
            names = node.module.split(".")
            if names[0] == "sealkit":
                out |= {names[1]} if len(names) > 1 else {a.name for a in node.names}
        elif isinstance(node, ast.Import):
            out |= {a.name.split(".")[1] for a in node.names if a.name.startswith("sealkit.")}
    return out


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_floor_imports_only_from_below(path: Path) -> None:
    here = part(path)
    if here in ("__init__", "tables", "classroom") and path.name in ("__init__.py",):
        return
    assert here in FLOOR, f"{here} has no floor"
    for other in imported(path) - {"InputError", "Q", "__version__", here}:
        assert FLOOR[other] <= FLOOR[here], f"{here} imports {other}"
        assert not (here in APART and other in APART), f"{here} imports {other}"


def test_the_rule_of_floors_can_fail() -> None:
    assert imported(PACKAGE / "report.py") >= {"chain", "margins"}
    assert FLOOR["report"] > FLOOR["chain"] > FLOOR["pressure"]


def test_nothing_below_the_classroom_knows_a_widget() -> None:
    for path in modules():
        if part(path) != "classroom":
            text = path.read_text(encoding="utf-8")
            assert "ipywidgets" not in text and "plotly" not in text, path


def test_top_level() -> None:
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if done.returncode:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in done.stdout.splitlines()}
    wanted = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
    wanted |= {"sealkit", "notebooks", "data", "tests", "binder"}
    assert {n for n in top if not n.startswith(".")} == wanted


def test_hosted_environment_is_pinned() -> None:
    lines = (ROOT / "binder" / "requirements.txt").read_text(encoding="utf-8").splitlines()
    names = [x for x in lines if x and not x.startswith("#")]
    assert len(names) > 50 and all("==" in x for x in names)
