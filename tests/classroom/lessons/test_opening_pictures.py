"""The picture that opens each notebook is what the lesson draws of the demo engine today.

python -m tests.classroom.lessons.test_opening_pictures    draws them anew
"""

from __future__ import annotations

import importlib
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from playwright.sync_api import sync_playwright

from sealkit import build as builds
from sealkit import report as reports
from sealkit.classroom.drawing.crank import crank
from sealkit.classroom.drawing.joint_section import joint_section, lifts_most
from sealkit.classroom.lessons import gas
from tests.browser.drive import CHROMIUM, FLAGS

NOTEBOOKS = Path(__file__).resolve().parents[3] / "notebooks"
LESSONS = ("whole_joint", "gas", "wrench", "springs", "gaskets", "deck", "rings", "heat",
           "thickness", "scatter", "teardown", "capstone", "measure")  # fmt: skip

MIDDLE = "#767676"  # stands out from white as from black
ON_ANY_GROUND = {
    r"<rect width='\d+' height='\d+' fill='#fff'/>": "",
    r"(<rect[^>]*) fill='#fff' stroke": r"\1 fill='none' stroke",
    r"stroke=(['\"])(?:#111|#333|#555|currentColor)\b": rf"stroke=\1{MIDDLE}",
    r"(<path[^>]* fill=')#111'": rf"\1{MIDDLE}'",
    "currentColor": "#111",
}
# numbers of the black words that nothing drawn lies under
_BARE = """() => [...document.querySelectorAll('text')].flatMap((one, place) => {
  const box = one.getBoundingClientRect(), filled = e => /^rgb/.test(getComputedStyle(e).fill);
  const parts = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2)
    .filter(e => e.ownerSVGElement && !e.closest('text') && filled(e));
  const dark = /\\((17|34), /.test(getComputedStyle(one).fill);
  return box.width && !parts.length && dark ? [place] : [];
})"""

CALM = (
    ".stands{display:none}"
    "@media (prefers-reduced-motion:reduce){.moves{display:none}.stands{display:inline}}"
)


def calm(moving: str, still: str) -> str:
    """A picture that moves, and stands still where the reader asks for less motion."""
    (head, moves), (_, stands) = (
        one.removesuffix("</svg>").split(">", 1) for one in (moving, still)
    )
    both = f"<g class='moves'>{moves}</g><g class='stands'>{stands}</g>"
    return f"{head}><style>{CALM}</style>{both}</svg>"


def drawn(lesson: str) -> str:
    """The picture as a file of its own, of the engine that the notebook opens with.

    It does not learn of the theme: so it has no ground, and its lines stand out from any.
    """
    engine = re.search(r'engine = build.demo\(\\"(.+?)\\"\)', notebook(lesson))
    assert engine is not None
    build = builds.demo(engine[1])
    if lesson == "whole_joint":
        report = reports.kept_report(build)
        text = calm(joint_section(report), joint_section(report, still=lifts_most(report)))
    elif lesson == "gas":
        found = gas.find(build)
        text = calm(crank(found, "metric"), crank(found, "metric", still=True))
    else:
        module = importlib.import_module(f"sealkit.classroom.lessons.{lesson}")
        text = module.picture(build).html
    svg = re.search(r"<svg.*?</svg>", text, re.DOTALL)
    assert svg is not None
    inner = re.sub(r"^<svg([^>]*)>", lambda m: f"<svg{_bare(m[1])}>", svg[0])
    for old, new in ON_ANY_GROUND.items():
        inner = re.sub(old, new, inner)
    return inner.replace("<svg", "<svg xmlns='http://www.w3.org/2000/svg' width='520'", 1)


def _bare(attributes: str) -> str:
    return re.sub(r"\s(?:style|xmlns|width|height)=(?:'[^']*'|\"[^\"]*\")", "", attributes)


def shown(text: str) -> tuple[list[str], list[str], list[float]]:
    """Elements of a picture, its words and its numbers."""
    tree = ElementTree.fromstring(text)
    words = " ".join(t for t in tree.itertext() if t.strip())
    numbers = re.findall(r"\d[\d,]*\.?\d*", words)
    plain = re.sub(r"\d[\d,]*\.?\d*", "#", words).split()
    return [e.tag for e in tree.iter()], plain, [float(n.replace(",", "")) for n in numbers]


def notebook(lesson: str) -> str:
    """The text of its file."""
    return next(NOTEBOOKS.glob(f"{LESSONS.index(lesson):02d}-*.ipynb")).read_text(encoding="utf-8")


def file_of(lesson: str) -> Path:
    return NOTEBOOKS / "drawings" / f"{LESSONS.index(lesson):02d}.svg"


@pytest.mark.parametrize("lesson", LESSONS)
def test_the_opening_picture_is_todays(lesson: str) -> None:
    text = file_of(lesson).read_text(encoding="utf-8")
    assert len(text) < 40_000 and "background" not in text
    (tags, words, numbers), (tags_now, words_now, numbers_now) = shown(text), shown(drawn(lesson))
    assert tags == tags_now and words == words_now
    assert numbers == pytest.approx(numbers_now, rel=0.05, abs=0.5)
    first = notebook(lesson).split('"cell_type": "code"')[0]
    assert ("<animate" in text) == ("prefers-reduced-motion" in text)
    assert "<animate" not in text.partition("class='stands'")[2]
    assert f"drawings/{LESSONS.index(lesson):02d}.svg" in first, "before any code"


if __name__ == "__main__":
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page()
        for one in LESSONS:
            text = drawn(one)
            page.set_content(text)
            first, *words = text.split("<text")
            bare = set(page.evaluate(_BARE))
            page.emulate_media(reduced_motion="reduce")
            bare |= set(page.evaluate(_BARE))
            page.emulate_media(reduced_motion="no-preference")
            words = [f" style='fill:{MIDDLE}'{w}" if i in bare else w for i, w in enumerate(words)]
            file_of(one).write_text("<text".join([first, *words]), encoding="utf-8")
        browser.close()
