"""The page of every demo as Chromium lays it out: on a phone, and printed on A4 and Letter."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from sealkit import build, paper
from tests.browser.drive import new_page
from tests.sheets import printed

MARGINS = (26.0, 29.0)  # mm: left and right, top and bottom of a printed page
SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
PIXELS = 96.0 / 25.4


@pytest.mark.parametrize("name", build.demos())
def test_page_fits_phone_and_paper(
    name: str, browser: Any, tmp_path: Path, screenshots: Path
) -> None:
    made = printed(name)
    path = tmp_path / "page.html"
    longest = name == "boosted-six"  # words on its tightening
    path.write_text(paper.page(made, made.report.build.system, longest), encoding="utf-8")
    seen = new_page(browser, 420, 900)
    asked: list[str] = []
    seen.on("request", lambda request: asked.append(request.url))
    seen.goto(path.as_uri())
    assert seen.evaluate("document.documentElement.scrollWidth") <= 420
    assert asked == [path.as_uri()], "the page needs something outside"
    seen.emulate_media(media="print")
    for size, (wide, high) in SIZES.items():
        room = int((wide - MARGINS[0]) * PIXELS), (high - MARGINS[1]) * PIXELS
        seen.set_viewport_size({"width": room[0], "height": 900})
        heights = seen.evaluate(
            "[...document.querySelectorAll('.sheet')].map(e => e.getBoundingClientRect().height)"
        )
        assert max(heights[:2]) <= room[1], f"{size}: the first two sheets are one page each"
        # nothing that stays in one piece is taller than a page
        whole = seen.evaluate(
            "Math.max(...[...document.querySelectorAll('.keep,figure,tr,.verdict')]"
            ".map(e => e.getBoundingClientRect().height))"
        )
        assert whole <= room[1]
        assert seen.evaluate("document.documentElement.scrollWidth") <= room[0]
        pdf = seen.pdf(path=str(screenshots / f"{name}-{size}.pdf"), format=size)
        assert pdf.startswith(b"%PDF")
    seen.close()
