"""Damaged data files, disks that fill up half way, and input that is nearly right.

Each ends soon in one named error or in a report; what is on the disk is whole or not there.
"""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sealkit import build, checks, cli, paper, report, tables
from sealkit.classroom.homework import cards, class_files, class_pages, desks, gradebook, questions
from sealkit.classroom.homework.class_files import Key, Trainee
from sealkit.errors import AS_IT_CAME, Fault, InputError
from sealkit.pressure import gas_data
from sealkit.sealing import constructions
from tests.classroom.homework.test_gradebook import CLASS_KEY, file_of, killed
from tests.sheets import TABLES, complaint, printed_once, without_map  # noqa: F401 (fixture)
from tests.test_fuzz import ROOT, SHEETS, command, key_of, marks, named, no_hang  # noqa: F401
from tests.test_toughness import NO_NUMBER

CALM = settings(
    max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)


def told(result: report.Report) -> None:
    """No screen of the report shows something that is no number, or a word of the language."""
    printed = paper.paper_of(result)
    page = re.sub(r"<style.*?</style>|<[^>]*>", " ", paper.page(printed), flags=re.DOTALL)
    for words in (paper.text(printed), paper.text(printed, "inch"), page):
        assert not NO_NUMBER.search(words)
        assert not re.search(r"\bNone\b|\bTrue\b|\bFalse\b|array\(", words)


# --------------------------------------------------------------------------- data that came damaged
def damaged(whole: bytes) -> dict[str, bytes | None]:
    """A file gone, empty, cut off, or of another kind."""
    cut = whole[: len(whole) * 2 // 3 + 1].rstrip()[:-1]  # not at the end of a line
    return {"gone": None, "empty": b"", "cut": cut, "other": b"\xff\xfe\x00P" + whole[:200]}


def table_text(name: str) -> str:
    return (resources.files("sealkit.tables") / f"{name}.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize("how", ["gone", "empty", "other"])
@pytest.mark.parametrize("name", TABLES)
def test_a_damaged_table_is_named(
    name: str, how: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = damaged(table_text(name).encode())[how]
    if data is not None:
        (tmp_path / f"{name}.csv").write_bytes(data)
    monkeypatch.setattr(tables.resources, "files", lambda _: tmp_path)
    with pytest.raises(InputError, match=f"table {name}.csv: .*{AS_IT_CAME}"):
        tables.load.__wrapped__(name)


@pytest.mark.parametrize("name", TABLES)
def test_a_table_cut_anywhere_is_read_as_far_as_it_goes_or_named(name: str) -> None:
    text = table_text(name)
    whole = tables.read_csv(text, name)
    for end in range(0, len(text), max(len(text) // 25, 1)):
        try:
            rows = tables.read_csv(text[:end], name)
        except InputError as err:
            assert all(name in f.field for f in err.faults)
        else:  # cut inside its last cell, a note, at most
            assert rows[:-1] == whole[: max(len(rows) - 1, 0)]


@CALM
@given(
    st.sampled_from(TABLES),
    st.integers(0, 10**6),
    st.sampled_from(
        ["nan", "inf", "-1e999", "1e400", "", '"', ",", "x", "\x00", "\n", "[furl", "µ"]
    ),
)
def test_a_table_with_another_cell_is_read_or_named(name: str, place: int, new: str) -> None:
    """Whatever stands in a cell, what comes out are finite numbers and known statuses."""
    rows = list(csv.reader(io.StringIO(table_text(name))))
    row = rows[place % len(rows)]
    row[place % len(row)] = new
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    try:
        found = tables.read_csv(out.getvalue(), name)
    except InputError as err:
        assert all(name in f.field for f in err.faults)
        return
    for one in found:
        assert one["status"] in tables.STATUSES and one["source"]
        numbers = [v for v in one.values() if isinstance(v, float)]
        assert all(abs(v) < float("inf") for v in numbers)


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("name,a [furlongwurst],source,status\nx,1,s,invented\n", "mine line 1, a"),
        ("name,a [(],source,status\nx,1,s,invented\n", "mine line 1, a"),
        ("name,a [mm],source,status\nx,nan,s,invented\n", "mine line 2, a"),
        ("name,a [mm],source,status\nx,1e999,s,invented\n", "mine line 2, a"),
        ("name,a [mm],a [m],source,status\nx,1,2,s,invented\n", "mine line 1"),
        ("name,source,status\n" + "x" * 200_000 + ",s,invented\n", "mine line"),
    ],
)
def test_a_table_of_no_use_is_named(text: str, field: str) -> None:
    with pytest.raises(InputError) as caught:
        tables.read_csv(text, "mine")
    assert caught.value.faults[0].field.startswith(field)


@pytest.mark.parametrize("how", ["empty", "cut", "other"])
@pytest.mark.parametrize("name", ["engine", "pitfalls", "00", "02", "11"])
def test_damaged_card_data_are_named(
    name: str, how: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(ROOT / "data" / "cards", tmp_path / "cards")
    file = tmp_path / "cards" / f"{name}.toml"
    file.write_bytes(damaged(file.read_bytes())[how] or b"")
    monkeypatch.setattr(cards.resources, "data_file", lambda *p: tmp_path.joinpath(*p))
    cached = (questions.read_data, cards.set_titles, cards._used)
    try:
        for one in cached:
            one.cache_clear()
        with pytest.raises(InputError, match=AS_IT_CAME) as caught:
            cards.draw(CLASS_KEY, name if name.isdigit() else "02", "t-01")
        assert len(caught.value.faults) == 1
        assert caught.value.faults[0].field == f"data file cards/{name}.toml"
    finally:
        for one in cached:
            one.cache_clear()


@pytest.mark.parametrize("how", ["gone", "empty", "cut", "other"])
def test_damaged_gas_data_and_checks_are_named(
    how: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = ROOT / "sealkit" / "tables" / "gas" / "burnt.npz"
    data = damaged(whole.read_bytes())[how]
    rows = damaged((ROOT / "data" / "checks" / "threads.csv").read_bytes())[how]
    (tmp_path / "gas").mkdir()
    if data is not None and rows is not None:
        (tmp_path / "gas" / "burnt.npz").write_bytes(data)
        (tmp_path / "threads.csv").write_bytes(rows)
    monkeypatch.setattr(tables.resources, "files", lambda _: tmp_path)
    with pytest.raises(InputError, match=f"gas/burnt.npz: .*{AS_IT_CAME}"):
        gas_data.data.__wrapped__()
    monkeypatch.setattr(checks, "data_file", lambda *p: tmp_path / p[-1])
    with pytest.raises(InputError, match="checks/threads"):
        checks.load.__wrapped__("threads")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of package and data that may be damaged."""
    folder = tmp_path_factory.mktemp("copy")
    for part in ("sealkit", "data"):
        ignored = shutil.ignore_patterns("__pycache__", "_course")
        shutil.copytree(ROOT / part, folder / part, ignore=ignored)
    (folder / "notebooks").mkdir()
    return folder


@pytest.mark.parametrize(
    ("file", "how", "field"),
    [
        ("sealkit/tables/threads.csv", "empty", "table threads.csv"),
        ("sealkit/tables/gas/burnt.npz", "cut", "table gas/burnt.npz"),
        ("data/builds/boosted-four.toml", "cut", "sheet"),
        ("data/cards/pitfalls.toml", "cut", "cards/pitfalls.toml"),
    ],
)
def test_a_command_tells_a_damaged_file_in_one_message(
    file: str, how: str, field: str, copy: Path, tmp_path: Path
) -> None:
    place = copy / file
    whole = place.read_bytes()
    data = damaged(whole)[how]
    place.unlink()
    if data is not None:
        place.write_bytes(data)
    argv = ["report", "boosted-four"]
    if "cards" in file:
        argv = ["cards", str(ROOT / "data/sample-class/roster.csv"), "--set", "02"]
    try:
        done = subprocess.run(
            [sys.executable, "-m", "sealkit.cli", *argv],
            capture_output=True, text=True, cwd=tmp_path, timeout=240,
            env={**os.environ, "PYTHONPATH": str(copy)},
        )  # fmt: skip
    finally:
        place.write_bytes(whole)
    assert done.returncode == 2 and not done.stdout.replace(
        "made a class key in class-key.txt: keep it, and keep it to yourself\n", ""
    )
    assert field in done.stderr and "Traceback" not in done.stderr
    assert "1 thing to put right" in done.stderr and complaint(done.stderr).count("\n") == 2
    assert not [p for p in tmp_path.rglob("*") if p.name != "class-key.txt"]


def test_the_same_fault_is_told_once() -> None:
    one, two = Fault("a", "b", "c"), Fault("a", "b", "d")
    assert InputError([one, two, one]).faults == (one, two)


# --------------------------------------------------------------------------- points of a gasket
@CALM
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["0", "1", "50", "100", "200", "nan", "inf", "-1", "1e308", "", "x"]),
            st.sampled_from(["0", "10", "60", "150", "nan", "-inf", "1e308", "", "µ"]),
            st.sampled_from(["loading", "unloading", "unloading 2", "", "back", "Loading "]),
        ),
        max_size=7,
    ),
    st.sampled_from(
        ["closure [um],load [N/mm],branch", "closure [um],load [MPa]", "load [N/mm],closure [um]",
         "closure [bar],load [N/mm]", "closure [um],load [furlong]", "closure,load", "closure []",
         "closure [um],closure [mm],load [N/mm]", ""]
    ),
    st.sampled_from(["\n", "\r\n", "\r"]),
)  # fmt: skip
def test_any_points_are_a_gasket_or_named(
    rows: list[tuple[str, str, str]], head: str, end: str
) -> None:
    text = end.join([head, *(",".join(r) for r in rows)]) + "\n"
    try:
        zone = constructions.measured(text, width="1.2 mm")
    except InputError as err:
        named(err)
        return
    assert not NO_NUMBER.search(repr(zone))


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_points_of_any_line_end(end: str) -> None:
    """The fuzz above refuses most; points as they should be are taken."""
    text = end.join(["closure [um],load [N/mm]", "0,0", "100,60", "200,150", ""])
    assert constructions.measured(text, width="1.2 mm").role == "seal"


# --------------------------------------------------------------------------- nearly right sheets
OTHER_UNITS = {
    "mm": ("in", "um", "m", "cm"),
    "bar": ("psi", "MPa", "Pa", "kPa"),
    "N*m": ("lbf*ft", "N*mm", "kN*m"),
    "degC": ("degF", "K"),
    "deg": ("rad",),
    "um": ("mm", "thou"),
    "MPa": ("psi", "GPa"),
}
WITH_UNIT = re.compile(r'"(-?[\d.]+(?:e-?\d+)?) ([^\s"]+)"')


@st.composite
def nearly(draw: st.DrawFn) -> str:
    """A demo sheet with a unit mixed up, or a number somewhat or a power of ten off."""
    lines = SHEETS[draw(st.sampled_from(sorted(SHEETS)))].splitlines()
    places = [i for i, line in enumerate(lines) if WITH_UNIT.search(line)]
    for place in draw(st.lists(st.sampled_from(places), min_size=1, max_size=3, unique=True)):
        match = WITH_UNIT.search(lines[place])
        assert match is not None
        value, unit = float(match[1]), match[2]
        if unit in OTHER_UNITS and draw(st.booleans()):
            unit = draw(st.sampled_from(OTHER_UNITS[unit]))
        else:
            value *= draw(st.sampled_from([0.1, 0.5, 0.9, 0.98, 1.02, 1.1, 2.0, 10.0, -1.0]))
        lines[place] = lines[place].replace(match[0], f'"{value!r} {unit}"', 1)
    return "\n".join(lines)


@settings(CALM, max_examples=16)
@given(nearly())
def test_units_mixed_up_end_in_a_report_or_are_named(text: str) -> None:
    try:
        result = report.run(build.loads(text))
    except InputError as err:
        named(err)
        return
    told(result)


@settings(CALM, max_examples=4)
@given(
    st.sampled_from(sorted(SHEETS)),
    st.sampled_from([0.85, 0.97, 1.03, 1.2]),
    st.sampled_from(["pitch", "row_distance", "end_margin", "side_margin", "mesh", "bow"]),
    st.sampled_from(["2 N*m", "60 N*m", "90 N*m", "300 N*m"]),
)
def test_decks_moved_end_in_a_map_or_are_named(
    demo: str, factor: float, what: str, torque: str
) -> None:
    """The whole report with the map of the deck, of layouts that mostly have room."""
    four = build.demo(demo)
    now = four.layout.extent
    lengths = {
        "pitch": f"{(four.layout.bores[1][0] - four.layout.bores[0][0]) * factor!r} m",
        "row_distance": f"{(now[3] - now[2]) * 0.6 * factor!r} m",
        "mesh": f"{0.02 * factor!r} m",
    }
    changes: dict[str, Any] = {"deck.mesh": "14 mm"}  # coarse, since no number is looked at
    changes[f"deck.{what}"] = lengths.get(what, f"{0.02 * factor!r} m")
    if what == "bow":
        changes = {"deck.mesh": "14 mm", "deck.lengthwise_bow": f"{0.2 * (factor - 1)!r} mm"}
    if four.fasteners.tightening == "torque":
        changes["fasteners.torque"] = torque
    try:
        result = report.run(four.vary(changes), deck=True)
    except InputError as err:
        named(err)
        return
    assert result.deck is not None
    told(result)


# --------------------------------------------------------------------------- rosters, answers
@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        ('id,name\nt-1,"Ann\nt-2,Bob\nt-3,Cy\n', "roster, line 2", "ends with one"),
        ('id,name\nt-1,"Ann\nt-2,"Bob"\nt-3,Cy\n', "roster, line 2", "ends with one"),
        ("id,name,id\nt-1,Ann,t-2\n", "roster", "each column once"),
        ("id,name\nt-1," + "x" * 200_000, "roster, line 2", "CSV"),
        ("id,name\n" * 200_000, "roster", "a list of names"),
        ("id,name\n\n\nt-1,a\n,b\n", "roster, line 5", "an id"),
    ],
)
def test_a_roster_that_would_lose_somebody_is_named(text: str, field: str, words: str) -> None:
    """A quote that does not end swallows the lines below it: nobody may go missing unseen."""
    with pytest.raises(InputError) as caught:
        class_files.roster(text)
    assert [f.field for f in caught.value.faults] == [field]
    assert words in str(caught.value.faults[0].wanted)


def test_a_roster_with_quotes_line_breaks_and_formulas_keeps_everybody() -> None:
    text = 'id,name\r\n"t-1","Smith, ""Jr""\r\n(late)"\r\n\r\nt-2,=HYPERLINK(1)\r\nt-3,李雷\r\n'
    people = class_files.roster("\ufeff" + text)
    assert [p.name for p in people] == ['Smith, "Jr" (late)', "=HYPERLINK(1)", "李雷"]
    with pytest.raises(InputError, match="line 5"):  # counted in lines of the file
        class_files.roster(text.replace("t-2", "t-1"))


@pytest.fixture(scope="module")
def key() -> Key:
    people = [Trainee(f"t-{i}", f"Trainee {i}", ("metric", "inch")[i % 2]) for i in range(3)]
    return class_files.make_key(CLASS_KEY, "02", people)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-32", "latin-1", "cp037"])
def test_answers_of_other_encodings_count_or_are_listed(encoding: str, key: Key) -> None:
    text = file_of(key.cards[0]).decode()
    found = gradebook.grade([("a.json", text.encode(encoding))], key)
    whole = gradebook.grade([("a.json", text.encode())], key)
    if encoding in ("utf-8-sig", "utf-16", "latin-1"):  # what is in it is plain
        assert marks(found) == marks(whole) and marks(whole)[0] > 0
    else:
        assert not found.files[0].counted and found.files[0].reason and marks(found)[0] == 0


@CALM
@given(st.integers(0, 1), st.lists(st.sampled_from(["set", "trainee", "card", "answers", "check"])))
def test_parts_swapped_between_two_files_give_nobody_the_others_marks(
    whose: int, parts: list[str]
) -> None:
    one = key_of(2)
    both = [json.loads(file_of(c, {} if i else None)) for i, c in enumerate(one.cards)]
    for part in parts:
        both[0][part], both[1][part] = both[1][part], both[0][part]
    files = [(f"{i}.json", json.dumps(d).encode()) for i, d in enumerate(both)]
    found = gradebook.grade([files[whose]], one)
    best = gradebook.grade([("0.json", file_of(one.cards[0]))], one).results[0].total
    assert best > 0 and found.results[1].total == 0
    assert found.results[0].total in (0, best)
    if found.results[0].total:  # then it is the first trainee's own file, swapped back and forth
        assert class_files.read_answers(files[whose][1]).card == one.cards[0].tag


# --------------------------------------------------------------------------- disks
@contextlib.contextmanager
def disk(folder: Path, size: str) -> Iterator[Path]:
    """A file system of this size; skipped where none can be mounted."""
    mount, umount = shutil.which("mount"), shutil.which("umount")
    if not mount or not umount or not hasattr(os, "geteuid") or os.geteuid() != 0:
        pytest.skip("only root mounts a file system")
    folder.mkdir()
    made = subprocess.run([mount, "-t", "tmpfs", "-o", f"size={size}", "none", str(folder)])
    if made.returncode != 0:
        pytest.skip("no file system can be mounted here")
    try:
        yield folder
    finally:
        subprocess.run([umount, str(folder)], check=True)


def contents(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()
    }


@pytest.mark.parametrize("what", ["cards", "grade", "lab"])
def test_a_disk_that_fills_up_half_way_holds_whole_files_only(what: str, tmp_path: Path) -> None:
    sample = ROOT / "data" / "sample-class"
    argv, size = {
        "cards": (["cards", str(sample / "roster.csv"), "--set", "02", "--out"], "68k"),
        "grade": (["grade", str(sample / "answers"), "--key", str(sample / "key-02.json"),
                   "--out"], "32k"),
        "lab": (["lab", "--unpack-only"], "256k"),
    }[what]  # fmt: skip
    (tmp_path / "class-key.txt").write_text(f"{'5eed' * 8}\n", encoding="utf-8")
    assert command(*argv, "whole", cwd=tmp_path).returncode == 0
    wanted = contents(tmp_path / "whole")
    with disk(tmp_path / "small", size) as small:
        done = command(*argv, str(small / "out"), cwd=tmp_path)
        assert done.returncode == 2 and "No space left" in done.stderr
        # a long path is cut at its beginning
        assert str(small / "out")[-40:] in done.stderr and "1 thing to put right" in done.stderr
        found = contents(small)
        assert found and len(found) < len(wanted)
        assert {k.removeprefix("out/"): v for k, v in found.items()}.items() <= wanted.items()
        # and with room, the same command makes it whole
        subprocess.run(["mount", "-o", "remount,size=16m", str(small)], check=True)
        assert command(*argv, str(small / "out"), cwd=tmp_path).returncode == 0
        after = contents(small / "out")
        after.pop(".course-files.json", None), wanted.pop(".course-files.json", None)
        assert after == wanted


def test_a_trainees_answers_on_a_full_or_read_only_disk_can_still_be_downloaded(
    tmp_path: Path,
) -> None:
    card = cards.draw(CLASS_KEY, "02", "t-01")
    with disk(tmp_path / "small", "8k") as small:
        desk = desks.trainee(small)
        desk.take(card.dumps())
        desk.save.click()
        file = next(small.glob("answers-02-*.json"))
        saved = file.read_bytes()
        with contextlib.suppress(OSError), (small / "filler").open("wb", buffering=0) as filler:
            while True:
                filler.write(b"x" * 1024)
        desk.boxes[card.items[0].question.key].entry.value = "50 kN"
        desk.save.click()
        assert "could not be written" in desk.links.value and "No space" in desk.links.value
        assert "download=" in desk.links.value
        subprocess.run(["mount", "-o", "remount,ro", str(small)], check=True)
        desk.save.click()
        assert "could not be written" in desk.links.value and "Read-only" in desk.links.value
        assert set(contents(small)) == {file.name, "filler"} and file.read_bytes() == saved


def test_working_in_a_read_only_folder_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where no place to write to is named: the page beside, the key file, the course."""
    roster, plain = str(ROOT / "data" / "sample-class" / "roster.csv"), tmp_path / "plain.toml"
    plain.write_text(without_map(), encoding="utf-8")
    with disk(tmp_path / "shut", "64k") as shut:
        subprocess.run(["mount", "-o", "remount,ro", str(shut)], check=True)
        monkeypatch.chdir(shut)
        try:
            for argv, file in (
                (["report", str(plain)], "plain-report.html"),
                (["cards", roster, "--set", "02"], "class-key.txt"),
                (["sheet", "mine.toml"], "mine.toml"),
                (["lab", "--unpack-only"], "sealkit-course"),
            ):
                assert cli.main(argv) == cli.BAD_INPUT
                err = complaint(capsys.readouterr().err)
                assert file in err and "Read-only" in err and err.count("\n") == 2
        finally:
            monkeypatch.chdir(tmp_path)


# --------------------------------------------------------------------------- killed
def test_grades_killed_over_older_ones_leave_each_file_old_or_new(tmp_path: Path) -> None:
    people = [Trainee(f"t-{i:03}", f"Trainee {i}", "metric") for i in range(14)]
    made = class_files.make_key(CLASS_KEY, "02", people)
    folder = tmp_path / "in"
    folder.mkdir()
    (tmp_path / "key.json").write_text(made.dumps(), encoding="utf-8")
    for card in made.cards:
        (folder / f"{card.trainee}.json").write_bytes(file_of(card, {}))
    argv = ["grade", "in", "--key", "key.json", "--out", "out"]
    assert command(*argv, cwd=tmp_path).returncode == 0
    old = contents(tmp_path / "out")
    for card in made.cards:
        (folder / f"{card.trainee}.json").write_bytes(file_of(card))
    grades = gradebook.grade(class_files.read_folder(folder), made)
    new = {k: v.encode() for k, v in class_pages.grade_files(grades).items()}
    same = ("files.csv", "not-named.csv")
    assert set(old) == set(new) and all(old[k] != new[k] for k in new if k not in same)
    for changed in (1, 3, 8):
        shutil.rmtree(tmp_path / "out")
        class_files.write_files(tmp_path / "out", {k: v.decode() for k, v in old.items()})
        killed(changed, *argv, cwd=tmp_path)
        left = {k: v for k, v in contents(tmp_path / "out").items() if k in new}
        assert set(left) == set(new)
        assert all(v in (old[k], new[k]) for k, v in left.items())
        assert 1 <= sum(v == new[k] != old[k] for k, v in left.items()) <= changed
