"""The course in a browser tab: what the site holds, and what runs in one tab by one kernel."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sealkit import build
from sealkit.classroom.homework import answers, class_files, gradebook
from tests.browser import drive
from tests.browser.test_homework import give, says
from tests.card_checks import CLASS_KEY
from tests.test_fuzz import command

WAIT = 240_000  # ms: Python and its packages start in the browser
LESSONS = sorted(p.name for p in (drive.ROOT / "notebooks").glob("[0-9]*.ipynb"))
MOVED = ("05", "09", "11")  # beside 00: the map, many builds, the longest
DESKS = ("gradebook.ipynb", "trainee.ipynb")
WHOLE = os.environ.get("SEALKIT_SITE") == "whole"
OTHERS = [n for n in (*LESSONS[1:], *DESKS) if WHOLE or n[:2] in MOVED or n == DESKS[-1]]

# another notebook in the place of the open one, so that its kernel serves all
_PUT = """async (name) => {
  const found = await (await fetch('/files/notebooks/' + name)).json();
  window.jupyterapp.shell.currentWidget.content.model.fromJSON(found);
}"""
_DONE = """() => window.jupyterapp.shell.currentWidget.content.model.toJSON().cells
  .every(c => c.cell_type !== 'code' || c.execution_count !== null)"""
_PRINTED = """async (code) => {
  const tab = window.jupyterapp.shell.currentWidget;
  const asked = tab.sessionContext.session.kernel.requestExecute({code});
  let said = '';
  asked.onIOPub = (m) => { said += m.content.text || (m.content.traceback || []).join('\\n'); };
  await asked.done;
  return said;
}"""


def test_it_holds_the_course_and_no_more(site: Path) -> None:
    ours = sorted((drive.ROOT / "notebooks").glob("*.ipynb"))
    for one in ours:
        shown = site / "files" / "notebooks" / one.name
        assert json.loads(shown.read_text("utf-8")) == json.loads(one.read_text("utf-8"))
    assert (site / "files" / "notebooks" / "in-the-browser.md").is_file()  # in the list that opens
    files = [p for p in site.rglob("*") if p.is_file()]
    assert not [p for p in files if p.suffix == ".map"]
    assert sum(p.stat().st_size for p in files) < 100e6
    # nothing is asked of another address
    held = json.loads((site / "jupyter-lite.json").read_text("utf-8"))["jupyter-config-data"]
    kernel = held["litePluginSettings"]["@jupyterlite/pyodide-kernel-extension:kernel"]
    assert kernel["pyodideUrl"].startswith("./") and kernel["disablePyPIFallback"]
    lock = json.loads((site / "static/pyodide/pyodide-lock.json").read_text("utf-8"))["packages"]
    for package in lock.values():
        assert (site / "static/pyodide" / package["file_name"]).is_file()


@pytest.fixture(scope="module")
def page(browser: Any, address: str) -> Iterator[Any]:
    """The site as its address opens it, with Python started."""
    size = {"width": 1400, "height": 1000}
    page = browser.new_page(viewport=size, accept_downloads=True, reduced_motion="reduce")
    page.add_init_script(drive._STILL)
    page.set_default_timeout(WAIT)
    page.goto(address)
    drive.until_true(page, drive._READY, timeout=WAIT)
    yield page
    page.close()


def run(page: Any, name: str = "") -> None:
    """All cells of the open notebook, or of another in its place; none may fail or warn."""
    if name:
        page.evaluate(drive.EXECUTE, "import ipywidgets\nipywidgets.Widget.close_all()\n%reset -f")
        page.evaluate(_PUT, name)
    drive.run(page, "desks." if name in DESKS else "panels.panel(")
    drive.until_true(page, _DONE, timeout=WAIT)
    for cell in page.evaluate(drive._MODEL):
        for out in cell.get("outputs", []):
            assert out["output_type"] != "error" and out.get("name") != "stderr", out


def panel_moves(page: Any, folder: Path, name: str) -> None:
    """The panel is there, and its figure and words follow the first slider."""
    lesson = drive.Lesson(page)
    before = lesson.settled()
    page.locator(".sealkit-panel .noUi-handle").first.focus()
    page.keyboard.press("ArrowRight")
    assert lesson.settled()["lines"] != before["lines"]
    page.keyboard.press("End")  # one step may leave every rounded number of the words as it was
    assert lesson.settled()["status"] != before["status"]
    page.screenshot(path=folder / f"site-{name}.png")


def test_lesson_00_opens_and_runs(page: Any, screenshots: Path) -> None:
    path = page.evaluate("() => window.jupyterapp.shell.currentWidget.context.path")
    assert path == f"notebooks/{LESSONS[0]}"
    broken: list[str] = []
    page.on("pageerror", lambda error: broken.append(str(error)))
    run(page)
    panel_moves(page, screenshots, "00")
    assert not broken  # such as a drawing that stops at a value the kernel leaves out
    lesson = drive.Lesson(page)
    before = lesson.settled()
    box = lesson.panel.get_by_role("spinbutton", name="Bolt torque").first
    box.fill("90")
    page.keyboard.press("Tab")
    lesson.until(lambda s: s["lines"]["clamp"] != before["lines"]["clamp"], "a typed torque")


@pytest.mark.parametrize("demo", build.demos() if WHOLE else ["methanol-drag"])
def test_a_report_reads_as_here(page: Any, demo: str, tmp_path: Path) -> None:
    words = ["report", demo, "--no-page", *(["--all"] if WHOLE else [])]
    here = command(*words, cwd=tmp_path)
    code = f"from sealkit import cli\nassert cli.main({words}) == {here.returncode}"
    assert here.stdout.strip()
    assert page.evaluate(_PRINTED, code).splitlines() == here.stdout.splitlines()


@pytest.mark.parametrize("name", OTHERS)
def test_another_notebook_runs(page: Any, screenshots: Path, name: str) -> None:
    run(page, name)
    if name[:2] in MOVED:
        panel_moves(page, screenshots, name[:2])


def test_answers_saved_in_the_tab_are_read_here(
    page: Any, screenshots: Path, tmp_path: Path
) -> None:
    key = class_files.make_key(CLASS_KEY, "02", [class_files.Trainee("t-0", "Ann", "metric")])
    (card,) = key.cards
    handed_out, mine = tmp_path / "card.json", tmp_path / "mine.json"
    handed_out.write_text(card.dumps(), encoding="utf-8")

    if not page.locator(".sealkit-desk").count():  # the notebook that ran last
        run(page, DESKS[-1])
    page.wait_for_selector(".sealkit-desk", state="attached")
    give(page, "Open my card", handed_out)
    says(page, "Your card is open")
    desk = page.locator(".sealkit-desk")
    first = card.items[0].question
    box = desk.get_by_label("Answer to question 1", exact=True)
    if first.kind == answers.CHOICE:
        box.select_option(label=str(first.value))
    else:
        box.fill(answers.written(first))
        page.keyboard.press("Tab")  # Enter does nothing in this JupyterLab
    says(page, "READ AS")
    desk.get_by_role("button", name="Save my answers").click()
    says(page, "1 of 8 questions answered")
    with page.expect_download() as download:
        desk.get_by_role("link", name=re.compile("Download answers-02-t-0")).click()
    download.value.save_as(mine)
    page.screenshot(path=screenshots / "site-desk.png")

    give(page, "Open my card", mine, handed_out)
    says(page, "1 answer from your file")
    (result,) = gradebook.grade([(mine.name, mine.read_bytes())], key).results
    assert result.total == first.marks
