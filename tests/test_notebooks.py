"""What every lesson keeps to, read from the files; nbval runs the cells."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Any

import nbformat
import pytest

FOLDER = Path(__file__).resolve().parents[1] / "notebooks"
LESSONS = sorted(FOLDER.glob("[0-9][0-9]-*.ipynb"))
MARK = "# NBVAL_CHECK_OUTPUT"
LARGEST = 150_000

# a number with a unit in prose has to be printed by code; minutes of reading time may stand
_UNIT = (
    r"bar|psi|[kMG]?Pa|k?N|N·?m|N/mm|mm|cm|um|µm|m|thou|in|inch(?:es)?|lbf(?:[·*/]\w+)?|ft|ksi|"
    r"rpm|hp|kW|cc|litres?|degrees?|deg|°C|°F|°|K|kg|lb|per cent|percent|%"
)
NUMBER_WITH_UNIT = re.compile(rf"(?<![\w.])\d[\d.,]*\s?(?:{_UNIT})(?![\w])")


def cells(notebook: Any, kind: str) -> list[Any]:
    return [c for c in notebook.cells if c.cell_type == kind]


@pytest.fixture(params=LESSONS, ids=lambda p: p.stem)
def path(request: pytest.FixtureRequest) -> Path:
    return Path(request.param)


@pytest.fixture
def notebook(path: Path) -> Any:
    return nbformat.read(path, as_version=4)


def test_there_are_lessons() -> None:
    assert LESSONS and LESSONS[0].stem == "00-the-whole-joint"


def test_small_valid_and_with_its_kernel(path: Path, notebook: Any) -> None:
    assert path.stat().st_size < LARGEST
    nbformat.validate(notebook)
    assert notebook.metadata.kernelspec.name == "python3"
    assert "widgets" not in notebook.metadata
    assert 10 <= len(notebook.cells) <= 25


def test_only_marked_cells_carry_outputs(notebook: Any) -> None:
    marked = [c for c in cells(notebook, "code") if c.source.startswith(MARK)]
    assert marked, "a lesson has a check cell"
    for cell in cells(notebook, "code"):
        if cell not in marked:
            assert cell.outputs == [] and cell.execution_count is None
    for cell in marked:
        assert cell.outputs and cell.execution_count is not None
        # a table, also as plain text
        (output,) = cell.outputs
        assert output.output_type == "execute_result"
        assert set(output.data) == {"text/html", "text/plain"}
        assert re.search(r"\d", output.data["text/plain"])


def test_every_check_is_marked(notebook: Any) -> None:
    """A check table in an unmarked cell would be printed and never compared."""
    checks = [c for c in cells(notebook, "code") if "check_table(" in c.source]
    assert checks and all(c.source.startswith(MARK) for c in checks)


def test_checks_stored_are_within(notebook: Any) -> None:
    for cell in cells(notebook, "code"):
        for output in cell.outputs:
            assert "✓" in output.data["text/plain"] and "✗" not in output.data["text/plain"]


def test_cells_are_short_and_hold_no_workings(notebook: Any) -> None:
    for cell in cells(notebook, "code"):
        lines = [x for x in cell.source.splitlines() if x.strip() and not x.startswith("#")]
        imports = [x for x in lines if re.match(r"(from|import)\s", x)]
        assert len(lines) <= 3 or lines == imports, cell.source
        assert all(len(x) <= 100 for x in lines), cell.source
        assert not re.search(r"^\s*(def|class|for|while)\s|ipywidgets|plotly|numpy", cell.source)


def test_no_number_with_unit_in_prose(notebook: Any) -> None:
    for cell in cells(notebook, "markdown"):
        found = NUMBER_WITH_UNIT.findall(re.sub(r"\$\$.*?\$\$", "", cell.source, flags=re.DOTALL))
        assert not found, f"{found} in: {cell.source[:80]}"


@pytest.mark.parametrize(
    ("text", "hit"),
    [
        ("boost of 18 psi", True),
        ("at 122.5 bar peak", True),
        ("±25 % scatter", True),
        ("10 µm lift", True),
        ("turn 90° more", True),
        ("About 40 minutes", False),
        ("lesson 01 is next", False),
        ("1 more bore", False),
        ("K = 0.2", False),
    ],
)
def test_the_rule_for_prose_can_fail(text: str, hit: bool) -> None:
    assert bool(NUMBER_WITH_UNIT.search(text)) is hit


def test_every_exercise_has_its_answer(notebook: Any) -> None:
    titles = []
    for place, cell in enumerate(notebook.cells):
        found = re.findall(r"^### (Exercise \d+): \S.*$", cell.source, flags=re.MULTILINE)
        if cell.cell_type != "markdown" or not found:
            continue
        assert len(found) == 1
        titles += found
        number = found[0].split()[1]
        after = notebook.cells[place + 1]
        assert after.cell_type == "code" and f".answer({number}," in after.source
    assert titles == [f"Exercise {i + 1}" for i in range(len(titles))]
    assert 3 <= len(titles) <= 5


def test_the_parts_of_a_lesson_are_there(notebook: Any) -> None:
    code = "\n".join(c.source for c in cells(notebook, "code"))
    prose = "\n".join(c.source for c in cells(notebook, "markdown"))
    for call in ("panels.panel(", "lesson.cautions(", "lesson.check_table(", "lesson.sources("):
        assert call in code
    assert code.count("panels.panel(") == 1, "one live figure for each lesson"
    for words in (
        "After this lesson you can",
        "minutes",
        "Run all cells",
        "by hand",
        "*ours*",
        "At the bench",
        "Next, ",
    ):
        assert words in prose


def read_words(source: str) -> int:
    """Words a reader meets: no pictures' descriptions, no formulas, no addresses of links."""
    plain = re.sub(r"!\[.*?\]\(.*?\)|\$\$.*?\$\$|(?<=\])\(.*?\)", "", source, flags=re.DOTALL)
    return len(re.findall(r"\w[\w'’-]*", plain))


def test_the_panel_comes_early_and_the_words_are_few(notebook: Any) -> None:
    panel = next(i for i, c in enumerate(notebook.cells) if "panels.panel(" in c.source)
    early = [c.source for c in notebook.cells[:panel] if c.cell_type == "markdown"]
    assert sum(map(read_words, early)) <= 80
    assert sum(read_words(c.source) for c in cells(notebook, "markdown")) <= 470


def test_words_are_counted_as_they_are_read() -> None:
    assert read_words("![a, b](c.svg) **Two** words $$x = y$$ [and three](d.ipynb)") == 4


def test_links_resolve(path: Path, notebook: Any) -> None:
    headings = {
        re.sub(r"\s", "-", h.strip())
        for c in cells(notebook, "markdown")
        for h in re.findall(r"^#+ (.*)$", c.source, flags=re.MULTILINE)
    }
    for cell in cells(notebook, "markdown"):
        for target in re.findall(r"\]\(([^)\s]+)", cell.source):
            assert not target.startswith(("http", "/")), f"{target}: lessons cite books"
            file, _, anchor = target.partition("#")
            if file:
                assert (path.parent / file).exists(), target
            else:
                assert anchor in headings, target


# --------------------------------------------------------------------------- the homework notebooks
@pytest.fixture(params=("trainee", "gradebook"))
def desk(request: pytest.FixtureRequest) -> Path:
    return FOLDER / f"{request.param}.ipynb"


def test_homework_notebooks_are_small_stripped_and_plain(desk: Path) -> None:
    notebook = nbformat.read(desk, as_version=4)
    assert desk.stat().st_size < LARGEST
    nbformat.validate(notebook)
    assert notebook.metadata.kernelspec.name == "python3" and "widgets" not in notebook.metadata
    code = cells(notebook, "code")
    assert [c.source for c in code if c.source.startswith("desks.")] == [
        {"trainee": "desks.trainee()", "gradebook": "desks.instructor()"}[desk.stem]
    ]
    assert "lesson.cautions()" in [c.source for c in code]
    assert all(c.outputs == [] and c.execution_count is None for c in code)
    test_cells_are_short_and_hold_no_workings(notebook)
    test_no_number_with_unit_in_prose(notebook)
    test_links_resolve(desk, notebook)


@pytest.mark.parametrize(
    ("lesson", "following"), list(itertools.pairwise(LESSONS)), ids=lambda p: p.stem[:2]
)
def test_each_lesson_leads_to_the_next(lesson: Path, following: Path) -> None:
    told = [c.source for c in nbformat.read(lesson, as_version=4).cells if "Next, " in c.source]
    assert any(f"({following.name})" in text for text in told)
