"""The rules of the house: floors, the top level, what the notebooks may hold."""

from __future__ import annotations

import ast
import subprocess
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sealkit import __version__
from sealkit.classroom.lessons import text

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "sealkit"

# a module imports only from rooms of an earlier line, or of its own room; imports inside functions
# and under TYPE_CHECKING count as much as those at the top
FLOORS: tuple[tuple[str, ...], ...] = (
    ("errors", "arrays", "kinds"),
    ("resources",),
    ("units",),
    ("words",),
    ("tables", "files"),
    ("pressure", "fastening", "sealing"),
    ("checks",),
    ("build",),
    ("analysis",),
    ("report",),
    ("scatter", "course"),
    ("evidence",),
    ("drawing",),
    ("paper",),
    ("classroom.drawing",),
    ("classroom.panel",),
    ("classroom.homework",),
    ("classroom.lessons",),
    ("cli",),
)
FLOOR = {name: i for i, names in enumerate(FLOORS) for name in names}


def modules() -> list[Path]:
    return [p for p in sorted(PACKAGE.rglob("*.py")) if "_course" not in p.parts]


def name_of(path: Path) -> str:
    """Dotted name without the package: "classroom.panel.live"."""
    return ".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix(".__init__")


MODULES = {name_of(p): p for p in modules()}


def room(name: str) -> str:
    """The room a module stands in: its first part, in the classroom the first two."""
    parts = name.split(".")
    return ".".join(parts[: 2 if parts[0] == "classroom" else 1])


def imported(path: Path) -> set[str]:
    """Modules of the package that a module names in any import, wherever in it that stands."""
    out = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("sealkit"):
            base = node.module.removeprefix("sealkit").removeprefix(".")
            for alias in node.names:
                full = f"{base}.{alias.name}".removeprefix(".")
                out.add(full if full in MODULES else base)
        elif isinstance(node, ast.Import):
            out |= {a.name.removeprefix("sealkit.") for a in node.names if "sealkit" in a.name}
    return out - {"", "__init__", name_of(path)}


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_a_floor_imports_only_from_below(path: Path) -> None:
    here = room(name_of(path))
    if here in ("__init__", "__main__", "classroom"):
        return
    assert here in FLOOR, f"{here} has no floor"
    for other in map(room, imported(path)):
        if other != here:
            assert FLOOR[other] < FLOOR[here], f"{here} imports {other}"


def test_no_circle_of_modules() -> None:
    arrows = {name: imported(path) for name, path in MODULES.items()}
    done: set[str] = set()

    def walk(name: str, way: tuple[str, ...]) -> None:
        assert name not in way, " -> ".join([*way[way.index(name) :], name])
        if name not in done:
            for other in sorted(arrows.get(name, ())):
                walk(other, (*way, name))
            done.add(name)

    for name in arrows:
        walk(name, ())


def test_the_rule_of_floors_can_fail() -> None:
    assert "analysis" in {room(n) for n in imported(MODULES["report.result"])}
    assert FLOOR["report"] > FLOOR["analysis"] > FLOOR["pressure"]


def test_nothing_below_the_classroom_knows_a_widget() -> None:
    for path in modules():
        if not room(name_of(path)).startswith("classroom"):
            text = path.read_text(encoding="utf-8")
            assert "ipywidgets" not in text and "plotly" not in text, path


def test_top_level() -> None:
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if done.returncode:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in done.stdout.splitlines()}
    wanted = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "CITATION.cff", "LICENSE"}
    wanted |= {"pyproject.toml"}
    wanted |= {"sealkit", "notebooks", "data", "tests", "binder"}
    assert {n for n in top if not n.startswith(".")} == wanted


def test_one_version() -> None:
    for name, line in (("CITATION.cff", "version: {}"), ("pyproject.toml", 'version = "{}"')):
        lines = (ROOT / name).read_text(encoding="utf-8").splitlines()
        assert line.format(__version__) in lines
    assert f"## {__version__}" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


def test_hosted_environment_is_pinned() -> None:
    lines = (ROOT / "binder" / "requirements.txt").read_text(encoding="utf-8").splitlines()
    names = [x for x in lines if x and not x.startswith("#")]
    assert len(names) > 50 and all("==" in x for x in names)


# ---------------------------------------------------------------- lessons compute nothing
# numpy and math as they shape, pick and show arrays
_SHAPES = {
    *("all", "any", "arange", "argmax", "argmin", "array", "asarray", "concatenate", "degrees"),
    *("empty", "float64", "full", "inf", "intp", "isfinite", "isnan", "linspace", "max", "maximum"),
    *("min", "minimum", "nan", "ndarray", "ones", "radians", "zeros"),
}


def worked_out(tree: ast.AST) -> list[str]:
    """What a lesson works out itself: products and powers of figures that it got from below,
    functions of numbers, integrals. Two figures may be compared (their difference or ratio).
    Answers and wrong routes of exercises are homework and left aside.
    """

    class Finder(ast.NodeVisitor):
        found: list[str] = []  # noqa: RUF012

        def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
            if not any("EXERCISES.solver" in ast.unparse(d) for d in node.decorator_list):
                self.generic_visit(node)

        def visit_BinOp(self, node: ast.BinOp) -> None:
            figures = [n for n in (node.left, node.right) if not fixed(n)]
            if isinstance(node.op, (ast.Mult, ast.Pow, ast.MatMult)) and len(figures) == 2:
                self.found.append(f"line {node.lineno}: {ast.unparse(node)}")
            self.generic_visit(node)

        def visit_Attribute(self, node: ast.Attribute) -> None:
            known = isinstance(node.value, ast.Name) and node.value.id in ("np", "math", "scipy")
            if known and node.attr not in _SHAPES:
                self.found.append(f"line {node.lineno}: {ast.unparse(node)}")
            self.generic_visit(node)

    def fixed(node: ast.AST) -> bool:
        """A number, or a name in capitals."""
        named = isinstance(node, ast.Name) and node.id == node.id.upper()
        if isinstance(node, ast.BinOp):
            return fixed(node.left) and fixed(node.right)
        if isinstance(node, ast.UnaryOp):
            return fixed(node.operand)
        return named or isinstance(node, (ast.Constant, ast.List, ast.Tuple))

    finder = Finder()
    finder.found = []
    finder.visit(tree)
    return finder.found


@pytest.mark.parametrize("path", sorted((PACKAGE / "classroom/lessons").glob("*.py")), ids=name_of)
def test_a_lesson_works_nothing_out(path: Path) -> None:
    assert worked_out(ast.parse(path.read_text(encoding="utf-8"))) == []
    assert len(path.read_text(encoding="utf-8").splitlines()) < 400


def formulas(data: Any) -> Iterator[str]:
    """All formulas of a lesson's texts, and the words that stand for themselves."""
    if isinstance(data, dict):
        data = [*data.values(), *(k for k in data if "{" in k)]
    for one in data if isinstance(data, list) else ():
        yield from formulas(one)
    if isinstance(data, str):
        inside = [data] if text.is_figure(data) else [i for _, i in text.parts(data)]
        yield from (i.rpartition(": ")[2] for i in inside if i and not i[0].isdigit())


@pytest.mark.parametrize(
    "path", sorted((PACKAGE / "classroom/lessons").glob("*.toml")), ids=name_of
)
def test_the_texts_of_a_lesson_work_nothing_out(path: Path) -> None:
    found = [*formulas(tomllib.loads(path.read_text(encoding="utf-8")))]
    assert len(found) > 10
    assert [worked_out(ast.parse(f)) for f in found if worked_out(ast.parse(f))] == []


BY_RESULT = {"thickness": {"tight", "wide"}}  # texts whose name is that of a result


@pytest.mark.parametrize(
    "path", sorted((PACKAGE / "classroom/lessons").glob("*.toml")), ids=name_of
)
def test_no_text_of_a_lesson_is_left_over(path: Path) -> None:
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    source = path.with_suffix(".py").read_text(encoding="utf-8")
    tables = {k for k, v in data.items() if isinstance(v, dict)} - {"text", "checks", "guess"}
    named = {"said", "number", "line", "question", "why", *data.get("tables", ())}
    named |= {t["like"] for t in data.values() if isinstance(t, dict) and "like" in t}
    left = {k for k in {*data["text"], *tables} - named if f'"{k}"' not in source}
    assert left == BY_RESULT.get(path.stem, set())
    assert set(data.get("tables", ())) <= tables


def test_the_rule_of_lessons_can_fail() -> None:
    assert worked_out(ast.parse(*formulas(["clamp {force: one.load * one.share}"])))
    for bad in ("def f(p, a): return p * a", "np.exp(x)", "def _(x): return x.force ** x.n"):
        assert worked_out(ast.parse(bad)), bad
    good = "@EXERCISES.solver('x')\ndef _(p, a): return p * a\ny = 100.0 * share\nz = _MORE * y"
    assert worked_out(ast.parse(good)) == []


def nameless(path: Path) -> list[str]:
    """Public functions and classes of a module that no docstring tells of."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    made = [n for n in tree.body if isinstance(n, (ast.FunctionDef, ast.ClassDef))]
    out = [n.name for n in made if not n.name.startswith("_") and not ast.get_docstring(n)]
    return out if ast.get_docstring(tree) else ["the module", *out]


def test_every_public_name_is_documented() -> None:
    assert {name: found for name, p in MODULES.items() if (found := nameless(p))} == {}


def test_no_module_is_longer_than_a_reader_bears() -> None:
    for path in modules():
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 900, path
