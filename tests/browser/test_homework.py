"""Homework in JupyterLab: a trainee answers, saves and comes back; the instructor grades it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from sealkit.classroom.homework import cards, class_files, class_pages
from sealkit.classroom.homework.answers import CHOICE, written
from tests.browser.drive import (
    _MODEL,
    WAIT,
    Course,
    accessible,
    new_page,
    picture,
    resize,
    until_true,
)
from tests.card_checks import CLASS_KEY

LAST = {"trainee": "Draw a practice card", "gradebook": "Add up the term"}  # buttons


def open_desk(course: Course, name: str) -> Any:
    """A homework notebook with all cells run, its desk there to its end."""
    course.open(name, "desks.")
    course.page.locator(".sealkit-desk").get_by_role("button", name=LAST[name]).wait_for()
    return course.page


def give(page: Any, button: str, *files: Path) -> None:
    """Choose files with an upload button."""
    with page.expect_file_chooser() as chooser:
        page.locator(".sealkit-desk").get_by_role("button", name=button).click()
    chooser.value.set_files([str(f) for f in files])


def give_and_keep(page: Any, button: str, *files: Path) -> None:
    """The same, for one that names what it holds once the kernel has it."""
    give(page, button, *files)
    page.get_by_title(f"{button}: {', '.join(f.name for f in files)}", exact=True).wait_for()


def says(page: Any, words: str) -> None:
    page.locator(".sealkit-desk").get_by_role("status").filter(has_text=words).first.wait_for()


def fits(page: Any, width: int) -> None:
    """Nothing of the desk may be wider than its column."""
    resize(page, width)
    until_true(
        page,
        "width => { const d = document.querySelector('.sealkit-desk');"
        " return d.scrollWidth <= d.clientWidth + 1 && d.clientWidth <= width; }",
        arg=width,
    )


@pytest.fixture(scope="module")
def key() -> class_files.Key:
    people = [class_files.Trainee(f"t-{i}", n, "metric") for i, n in enumerate(("Ann", "Bob"))]
    return class_files.make_key(CLASS_KEY, "02", people)


def test_from_the_card_to_the_gradebook(
    course: Course, tmp_path: Path, screenshots: Path, key: class_files.Key
) -> None:
    card = key.cards[0]
    handed_out, mine, marking = (tmp_path / n for n in ("card.json", "mine.json", "key.json"))
    handed_out.write_text(card.dumps(), encoding="utf-8")
    marking.write_text(key.dumps(), encoding="utf-8")

    page = open_desk(course, "trainee")
    desk = page.locator(".sealkit-desk")
    give(page, "Open my card", handed_out)
    says(page, "Your card is open")
    desk.get_by_label(f"Answer to question {len(card.items)}", exact=True).wait_for()
    accessible(page, ".sealkit-desk")
    wrong = card.items[0].question
    for number, item in enumerate(card.items, 1):
        q = item.question
        box = desk.get_by_label(f"Answer to question {number}", exact=True)
        if q.kind == CHOICE:
            box.select_option(label=str(q.value))
        else:
            value = q.pitfalls[0].value if q is wrong else None
            box.focus()
            box.fill(written(q, value))
            page.keyboard.press("Enter")
        says(page, "READ AS")
    for width in (1400, 420):
        fits(page, width)
        picture(page, ".sealkit-desk", screenshots, "trainee", width)
    page.set_viewport_size({"width": 1400, "height": 1000})
    desk.get_by_role("button", name="Save my answers").click()
    says(page, "8 of 8 questions answered")
    expect(desk.get_by_text("READ AS")).to_have_count(len(card.items), timeout=WAIT)
    assert desk.get_by_text("NOT YET").count() == 0 and desk.get_by_text("RIGHT").count() == 0
    with page.expect_download() as download:
        desk.get_by_role("link", name=re.compile("Download answers-02-t-0")).click()
    download.value.save_as(mine)
    for cell in page.evaluate(_MODEL):
        assert all(o["output_type"] != "error" for o in cell.get("outputs", []))
    course.forget()

    # the service has forgotten everything
    page = open_desk(course, "trainee")
    give(page, "Open my card", mine, handed_out)
    says(page, "8 answers from your file")
    desk = page.locator(".sealkit-desk")
    first = desk.get_by_label("Answer to question 1", exact=True)
    expect(first).to_have_value(written(wrong, wrong.pitfalls[0].value), timeout=WAIT)

    page = open_desk(course, "gradebook")
    desk = page.locator(".sealkit-desk")
    accessible(page, ".sealkit-desk")
    broken = tmp_path / "broken.json"
    broken.write_text("{", encoding="utf-8")
    give_and_keep(page, "Key file", marking)
    give_and_keep(page, "Answers files", mine, broken)
    desk.get_by_role("button", name="Grade", exact=True).click()
    says(page, "1 of 2 trainees graded")
    rows = desk.get_by_role("row")
    whole = card.marks - wrong.marks
    rows.filter(has_text="Ann (t-0)").filter(has_text=f"{whole} of {card.marks}").wait_for()
    rows.filter(has_text=wrong.pitfalls[0].name).wait_for()
    rows.filter(has_text="broken.json").filter(has_text="cut off").wait_for()
    for width in (1400, 420):
        fits(page, width)
        picture(page, ".sealkit-desk", screenshots, "gradebook", width)


def test_a_practice_card_is_checked_by_keyboard(course: Course, screenshots: Path) -> None:
    page = open_desk(course, "trainee")
    desk = page.locator(".sealkit-desk")
    card = cards.practice("03", "Ann")
    desk.get_by_label("Name or id").fill("Ann")
    page.keyboard.press("Tab")
    desk.get_by_label("Set", exact=True).select_option(label=card.title)
    desk.get_by_role("button", name="Draw a practice card").press("Enter")
    says(page, "practice card is drawn")
    q = card.items[0].question
    box = desk.get_by_label("Answer to question 1", exact=True)
    box.focus()
    page.keyboard.type(written(q, q.pitfalls[0].value))
    page.keyboard.press("Enter")
    says(page, "NOT YET")
    box.focus()
    box.fill("")
    page.keyboard.type(written(q))
    page.keyboard.press("Tab")
    says(page, "RIGHT")
    desk.get_by_role("button", name="Check all answers").press("Enter")
    says(page, f"1 of {len(card.items)}")
    picture(page, ".sealkit-desk", screenshots, "practice", 1400)


def test_pages_to_print(
    browser: Any, tmp_path: Path, screenshots: Path, key: class_files.Key
) -> None:
    """The printed card, in a window and narrow; each trainee begins on a page."""
    files = class_pages.card_files(key)
    sheet = tmp_path / "cards.html"
    sheet.write_text(files["cards-02.html"], encoding="utf-8")
    page = new_page(browser)
    page.goto(sheet.as_uri())
    for width in (1400, 420):
        page.set_viewport_size({"width": width, "height": 1000})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        page.screenshot(path=screenshots / f"cards-{width}.png", full_page=True)
    pdf = page.pdf()
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
    assert 2 <= pages <= 6
    (screenshots / "cards.pdf").write_bytes(pdf)
    page.close()
