"""Files as they come on a bad day: cut, mixed up, of another encoding, on disks that take nothing.

Each ends in a named error or is read; nothing is half written, and nobody else is affected.
"""

from __future__ import annotations

import contextlib
import functools
import io
import json
import math
import os
import re
import shutil
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sealkit import build, cli, paper, report
from sealkit.classroom.homework import class_files, class_pages, gradebook
from sealkit.classroom.homework.class_files import Key, Trainee
from sealkit.errors import InputError
from tests.classroom.homework.test_gradebook import CLASS_KEY, file_of, killed
from tests.sheets import printed_once, without_map  # noqa: F401 (fixture)
from tests.test_toughness import NO_NUMBER

ROOT = Path(__file__).resolve().parents[1]
SHEETS = {name: build.demo(name).dumps() for name in build.demos()}
CALM = settings(
    max_examples=50, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)

CEILING = 300  # seconds; a hundred times what any test here takes


@pytest.fixture(autouse=True)
def no_hang() -> Iterator[None]:
    """A test that never ends fails here instead of standing still."""
    if not hasattr(signal, "SIGALRM"):
        yield
        return

    def stop(*_: Any) -> None:
        raise TimeoutError(f"no end after {CEILING} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(CEILING)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def named(err: InputError) -> None:
    assert err.faults
    for fault in err.faults:
        assert fault.field and fault.came and fault.wanted
        assert not NO_NUMBER.search(str(fault.wanted))


# --------------------------------------------------------------------------- build sheets
VALUES = st.sampled_from(
    [
        '"nan mm"', '"-3 bar"', '"1e300 m"', '"86"', '"86 kg"', '"mm"', "0", "-1", "1e308", "nan",
        "-inf", "true", "[]", "[[]]", "{}", '""', '"\\u202e86 mm"', '"86 mm # 3"', "1979-05-27",
        '[{name = "C1"}]', '["1 mm", "2 mm"]', '"' + "9" * 400 + ' mm"',
    ]
)  # fmt: skip


@st.composite
def sheets(draw: st.DrawFn) -> str:
    """A demo sheet with a few lines lost, doubled, moved, or of another value."""
    lines = SHEETS[draw(st.sampled_from(sorted(SHEETS)))].splitlines()
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(lines) - 1))
        deed = draw(st.sampled_from(["lose", "double", "move", "value", "value", "cut"]))
        line = lines[place]
        if deed == "value" and "=" in line:
            lines[place] = f"{line.split('=')[0]}= {draw(VALUES)}"
        elif deed == "double":
            lines.insert(place, line)
        elif deed == "cut":
            lines[place] = line[: draw(st.integers(0, len(line)))]
        else:
            lines.pop(place)
            if deed == "move":
                lines.insert(draw(st.integers(0, len(lines))), line)
    return "\n".join(lines)


@settings(CALM, max_examples=20)
@given(sheets())
def test_any_sheet_is_worked_out_or_its_faults_are_named(text: str) -> None:
    try:
        made = build.loads(text)
        result = report.run(made)
    except InputError as err:
        named(err)
        return
    printed = paper.paper_of(result)
    words = paper.text(printed) + paper.page(printed, "inch")
    assert not NO_NUMBER.search(re.sub(r"<[^>]*>", " ", words))
    assert build.loads(made.dumps()) == made


@CALM
@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda t: t.encode("utf-16")))
def test_any_bytes_as_a_sheet_are_named(data: bytes) -> None:
    text = data.decode("utf-8", "replace")
    with pytest.raises(InputError) as caught:
        build.loads(text)
    named(caught.value)


# --------------------------------------------------------------------------- layouts
LENGTHS = [
    math.nan, math.inf, -1e9, -0.3, -1e-3, 0.0, 1e-6, 1e-3, 8e-3, 0.03, 0.093, 0.4, 10.0, 1e9,
]  # fmt: skip
LENGTH = st.sampled_from(LENGTHS).map(lambda v: f"{v!r} m")
PLACE = st.lists(LENGTH, min_size=0, max_size=3)
ODD: st.SearchStrategy[Any] = (
    st.none() | st.text(max_size=3) | st.integers(-3, 9) | st.booleans() | st.just({})
)
DECK: dict[str, st.SearchStrategy[Any]] = {
    "pattern": st.sampled_from(["inline", "vee bank", "Inline", ""]) | ODD,
    "bolts_per_bore": st.integers(-1, 8) | ODD,
    "shared_rows": st.integers(-1, 4) | ODD,
    "coolant_per_gap": st.integers(-1, 5) | ODD,
    "bores": st.lists(PLACE, max_size=6) | ODD,
    "bolts": st.lists(PLACE, max_size=14) | ODD,
    "outline": st.lists(PLACE, max_size=8) | ODD,
    "holes": st.lists(
        st.fixed_dictionaries(
            {},
            optional={
                "name": st.sampled_from(["C1", "C1", "", "O"]) | ODD,
                "fluid": st.sampled_from(["coolant", "oil", "petrol"]) | ODD,
                "place": PLACE | ODD,
                "diameter": LENGTH | ODD,
            },
        ),
        max_size=4,
    )
    | ODD,
    "thickness": st.lists(
        st.fixed_dictionaries(
            {},
            optional={
                "place": PLACE | ODD,
                "extra": LENGTH | ODD,
                "diameter": LENGTH | ODD,
                "size": PLACE | ODD,
            },
        ),
        max_size=3,
    )
    | ODD,
}
for _name in (
    "pitch", "row_distance", "end_margin", "side_margin", "corner_cut", "front_distance",
    "rear_distance", "coolant_diameter", "coolant_distance", "oil_diameter", "oil_distance",
    "effective_thickness", "mesh", "lengthwise_bow", "across_bow", "bank_offset", "no_such",
):  # fmt: skip
    DECK[_name] = LENGTH | ODD


@settings(CALM, max_examples=300)
@given(
    st.sampled_from(sorted(SHEETS)),
    st.fixed_dictionaries({}, optional=DECK).filter(len),
    st.booleans(),
)
def test_any_layout_is_taken_or_its_faults_are_named(
    demo: str, deck: dict[str, Any], alone: bool
) -> None:
    """A [deck] of wild values, alone or on top of the demo's own."""
    changes = {"deck": deck} if alone else {f"deck.{k}": v for k, v in deck.items()}
    try:
        made = build.demo(demo).vary(changes)
    except InputError as err:
        named(err)
        return
    lay = made.layout
    assert len(lay.bolts) == made.fasteners.on_head
    assert all(math.isfinite(x) for place in (*lay.bores, *lay.bolts, *lay.outline) for x in place)


def test_a_layout_of_small_changes_is_still_worked_out() -> None:
    """The fuzz above refuses most; moved a little, all are taken."""
    four = build.demo("boosted-four")
    for path, value in (("deck.pitch", "93.5 mm"), ("deck.end_margin", "16 mm")):
        assert four.vary({path: value}).layout != four.layout


# --------------------------------------------------------------------------- rosters
CELL = st.sampled_from(
    ["", " ", "t-1", "t-1 ", "T-1", "Zoë", "李雷", "أحمد", "=1+1", "@SUM(A1)", "metric", "inch",
     "INCH", "furlong", '"', "'", "a" * 90, "\u202e", "\x00", "../x", "con", "1;2", "<b>"]
)  # fmt: skip


@settings(CALM, max_examples=200)
@given(
    st.lists(st.lists(CELL, max_size=4), max_size=6),
    st.sampled_from(["id,name,units", "ID;Name", "name,id", "id\tname", "id", "", "\ufeffid,name"]),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["\n", "\r\n", "\r", "\n\n"]),
)
def test_any_roster_is_read_or_its_lines_are_named(
    rows: list[list[str]], head: str, comma: str, end: str
) -> None:
    text = end.join([head, *(comma.join(row) for row in rows)])
    try:
        people = class_files.roster(text)
    except InputError as err:
        named(err)
        assert all("roster" in f.field for f in err.faults)
        return
    ids = [p.id for p in people]
    assert ids and len(set(ids)) == len(ids)
    for one in people:
        name = class_files.file_name(one.id)
        assert re.fullmatch(r"[\w.-]+", name) and not name.startswith(".")
        assert one.system in ("metric", "inch") and one.name.isprintable()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1", "cp1252"])
def test_rosters_of_other_encodings(encoding: str, tmp_path: Path) -> None:
    """Read as they are meant, or refused by name; never with letters mixed up."""
    file = tmp_path / "roster.csv"
    file.write_bytes("id,name\nt-1,Zoë\n".encode(encoding))
    done = command("cards", str(file), "--set", "02", "--out", "out", cwd=tmp_path)
    pages = "".join(p.read_text(encoding="utf-8") for p in tmp_path.glob("out/**/*.html"))
    if done.returncode == 0:
        assert "Zoë" in pages
    else:
        assert done.returncode == 2 and "roster" in done.stderr and not pages


# --------------------------------------------------------------------------- answers files
@pytest.fixture(scope="module")
def key() -> Key:
    people = [Trainee(f"t-{i}", f"Trainee {i}", ("metric", "inch")[i % 2]) for i in range(3)]
    return class_files.make_key(CLASS_KEY, "02", people)


@functools.cache
def key_of(count: int) -> Key:
    people = [Trainee(f"t-{i}", f"Trainee {i}", "metric") for i in range(count)]
    return class_files.make_key(CLASS_KEY, "02", people)


def marks(grades: gradebook.Grades) -> list[float]:
    return [r.total for r in grades.results]


def test_an_answers_file_cut_anywhere_is_listed_and_changes_nobodys_marks(key: Key) -> None:
    good = [(f"{c.trainee}.json", file_of(c)) for c in key.cards]
    whole = marks(gradebook.grade(good, key))
    (name, data), *others = good
    assert whole[0] > 0
    for end in range(0, len(data), 7):
        found = gradebook.grade([(name, data[:end]), *others], key)
        assert marks(found) == [0.0, *whole[1:]]
        assert next(f for f in found.files if f.file == name).reason


@settings(CALM, max_examples=60)
@given(st.integers(0, 10**6), st.binary(min_size=1, max_size=4))
def test_an_answers_file_with_other_bytes_gains_nothing(place: int, new: bytes) -> None:
    one = key_of(1)
    data = bytearray(file_of(one.cards[0], {}))
    place %= len(data)
    data[place : place + len(new)] = new
    found = gradebook.grade([("a.json", bytes(data))], one)
    assert marks(found) == [0.0]
    assert found.files[0].counted or found.files[0].reason


@CALM
@given(
    st.dictionaries(
        st.sampled_from(["format", "version", "set", "card", "trainee", "saved", "answers", "x"]),
        st.recursive(
            st.none() | st.booleans() | st.floats() | st.text(max_size=8),
            lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner),
            max_leaves=6,
        ),
    )
)
def test_any_json_as_answers_is_listed(change: dict[str, Any]) -> None:
    one = key_of(1)
    data = json.loads(file_of(one.cards[0])) | change
    found = gradebook.grade([("a.json", json.dumps(data).encode())], one)
    assert len(found.files) == 1
    assert found.files[0].counted or found.files[0].reason
    assert "Traceback" not in class_pages.class_page(found)


# --------------------------------------------------------------------------- commands
def command(*argv: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """A command run in this folder, with what it says."""
    out, err = io.StringIO(), io.StringIO()
    there = contextlib.chdir(cwd), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err)
    with there[0], there[1], there[2]:
        code = cli.main(argv)
    return subprocess.CompletedProcess(argv, code, out.getvalue(), err.getvalue())


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        ("engine.bore", "0 mm", 2),
        ("engine.stroke", "-86 mm", 2),
        ("charge.boost", "100 bar", 2),
        ("engine.rod_length", "30 mm", 2),
        ("engine.compression_ratio", "1", 2),
        ("fasteners.torque", "1 N*m", 1),
        ("fasteners.torque", "2900 N*m", 1),
        ("head.thickness", "400 mm", 0),
    ],
)
def test_an_absurd_sheet_ends_in_a_report_or_one_message(
    path: str, value: str, code: int, tmp_path: Path
) -> None:
    sheet = without_map()
    section, _, name = path.rpartition(".")
    text, count = re.subn(
        rf"(\[{section}\](?:\n(?!\[).*)*?\n){name} = .*",
        lambda m: f'{m[1]}{name} = "{value}"' if " " in value else f"{m[1]}{name} = {value}",
        sheet,
    )
    if not count:
        text = sheet.replace(f"[{section}]", f'[{section}]\n{name} = "{value}"')
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    done = command("report", "mine.toml", "--no-page", cwd=tmp_path)
    assert done.returncode == code
    said = done.stdout + done.stderr
    assert "Traceback" not in said and not NO_NUMBER.search(said)
    if code == 2:
        assert path in done.stderr and not done.stdout


def test_cards_killed_half_way_leave_whole_files_or_none(tmp_path: Path) -> None:
    lines = ["id,name", *(f"t-{i:03},Trainee {i}" for i in range(16))]
    (tmp_path / "roster.csv").write_text("\n".join(lines), encoding="utf-8")
    (tmp_path / "class-key.txt").write_text(f"{'5eed' * 8}\n", encoding="utf-8")
    argv = ["cards", "roster.csv", "--set", "02", "--key-file", "class-key.txt", "--out"]
    assert command(*argv, "whole", cwd=tmp_path).returncode == 0
    wanted = {p.name: p.read_bytes() for p in (tmp_path / "whole").rglob("*") if p.is_file()}
    assert len(wanted) > 16
    for written in (1, 8):
        out = tmp_path / f"out-{written}"
        killed(written, *argv, out.name, cwd=tmp_path)
        for path in out.rglob("*"):
            if path.is_file() and not path.name.startswith("."):
                assert path.read_bytes() == wanted[path.name], path.name
        # and the same command makes it whole
        assert command(*argv, out.name, cwd=tmp_path).returncode == 0
        after = {p.name: p.read_bytes() for p in out.rglob("*") if p.is_file()}
        assert {k: v for k, v in after.items() if not k.startswith(".")} == wanted


@pytest.fixture(params=["full", "read-only"])
def bad_disk(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[Path, str]]:
    """A small file system that is full, or takes nothing; skipped where none can be mounted."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount, umount = shutil.which("mount"), shutil.which("umount")
    if not mount or not umount or not hasattr(os, "geteuid") or os.geteuid() != 0:
        pytest.skip("only root mounts a file system")
    made = subprocess.run([mount, "-t", "tmpfs", "-o", "size=16k", "none", str(folder)])
    if made.returncode != 0:
        pytest.skip("no file system can be mounted here")
    try:
        if request.param == "full":
            out = os.open(folder / "filler", os.O_WRONLY | os.O_CREAT)
            with pytest.raises(OSError, match="No space"):
                while True:
                    os.write(out, b"x" * 4096)
            os.close(out)
        else:
            subprocess.run([mount, "-o", "remount,ro", str(folder)], check=True)
        yield folder, {"full": "No space left", "read-only": "Read-only"}[str(request.param)]
    finally:
        subprocess.run([umount, str(folder)], check=True)


@pytest.mark.parametrize(
    "argv",
    [
        ["report", "mine.toml", "--page", "DISK/page.html"],
        ["sheet", "DISK/mine.toml", "--demo", "boosted-four"],
        ["lab", "--unpack-only", "DISK/course"],
        ["cards", "ROOT/data/sample-class/roster.csv", "--set", "02", "--out", "DISK/cards"],
        ["grade", "ROOT/data/sample-class/answers", "--key",
         "ROOT/data/sample-class/key-02.json", "--out", "DISK/marks"],
    ],
    ids=lambda argv: argv[0],
)  # fmt: skip
def test_a_disk_that_is_full_or_read_only_is_told_in_one_message(
    argv: list[str], bad_disk: tuple[Path, str], tmp_path: Path
) -> None:
    disk, words = bad_disk
    before = {p: p.stat().st_size for p in disk.rglob("*")}
    (tmp_path / "mine.toml").write_text(without_map(), encoding="utf-8")
    given = [a.replace("DISK", str(disk)).replace("ROOT", str(ROOT)) for a in argv]
    done = command(*given, cwd=tmp_path)
    assert done.returncode == 2, done.stdout
    assert words in done.stderr and "Traceback" not in done.stderr
    assert "1 thing to put right" in done.stderr or done.stderr.count("\n") == 1
    files = {p: p.stat().st_size for p in disk.rglob("*") if p.is_file()}
    assert files == {p: size for p, size in before.items() if p.is_file()}, "half written"
