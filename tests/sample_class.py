"""The sample class in ``data/sample-class``, drawn from its roster and the mistakes told here.

Cards whose draw has changed make ``python -m tests.sample_class`` due, which writes it anew;
``test_homework.py`` tells when.
"""

from __future__ import annotations

import datetime

from sealkit import resources
from sealkit.classroom.homework import class_files
from sealkit.classroom.homework.answers import Question, written

FOLDER = resources.data_file("sample-class", "roster.csv").parent
CLASS_KEY = b"riverbend sample".hex()
DUE = "2026-12-01T18:00+01:00"

# trainee -> when the file was saved, and question -> a pitfall, or a text as it was typed; all else
# is right
ROUTES: dict[str, tuple[str, dict[str, str]]] = {
    "rc-01": ("2026-11-28T16:10", {}),
    "rc-02": (
        "2026-11-29T16:11",
        {
            "preload": "torque unit",
            "stress": "nominal diameter for stress area",
            "chart": "line of the copper paste",
        },
    ),
    "rc-03": (
        "2026-11-28T16:12",
        {
            "preload": "nut factor left out",
            "torque": "thread friction forgotten",
            "useful-share": "",
            "turn": "parts taken as rigid",
        },
    ),
    "rc-04": (
        "2026-11-29T16:13",
        {
            "preload": "torque unit",
            "torque": "thread friction forgotten",
            "oiled": "torque taken for preload",
        },
    ),
    "rc-05": (
        "2026-11-28T16:14",
        {
            "stress-area": "84.3",
            "stress": "nominal diameter for stress area",
            "torque": "head friction forgotten",
            "chart": "about 40 to 50 kN",
        },
    ),
    "rc-06": ("2026-11-30T09:05", {}),  # cut off
    "rc-07": ("2026-12-03T07:40", {}),  # late
    "rc-08": ("2026-11-30T20:00", {}),  # changed after it was saved
}
CUT_AT = 320  # characters


def typed(question: Question, routes: dict[str, str]) -> str:
    """What a trainee typed in."""
    route = routes.get(question.key.partition("/")[2])
    if route is None:
        return written(question)
    wrong = [p.value for p in question.pitfalls if p.name == route]
    return written(question, wrong[0]) if wrong else route


def files() -> dict[str, str]:
    """Key and answers by the names of their files."""
    people = class_files.roster((FOLDER / "roster.csv").read_text(encoding="utf-8"))
    key = class_files.make_key(CLASS_KEY, "02", people, DUE)
    out = {"key-02.json": key.dumps()}
    for card in key.cards:
        at, routes = ROUTES[card.trainee]
        saved = datetime.datetime.fromisoformat(f"{at}+00:00")
        given = {i.question.key: typed(i.question, routes) for i in card.items}
        given = {k: text for k, text in given.items() if text}
        text = class_files.answers_of(card, given, saved).dumps()
        if card.trainee == "rc-06":
            text = text[:CUT_AT]
        if card.trainee == "rc-08":
            text = text.replace(given["02/preload"], "50 kN")
        out[f"answers/answers-02-{card.trainee}.json"] = text
    out["answers/answers-02-rc-03 (1).json"] = out["answers/answers-02-rc-03.json"]
    other = class_files.make_key(CLASS_KEY, "03", people[:1], DUE).cards[0]
    noon = datetime.datetime(2026, 11, 29, 12, tzinfo=datetime.UTC)
    out["answers/answers-03-rc-01.json"] = class_files.answers_of(other, {}, noon).dumps()
    return out


if __name__ == "__main__":
    for place, content in files().items():
        (FOLDER / place).write_text(content, encoding="utf-8")
