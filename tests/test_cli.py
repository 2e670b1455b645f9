"""The command line: report, sheet, lab, cards, grade."""

from __future__ import annotations

import errno
import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from sealkit import build, cli, course, files, paper, report, resources, tables
from sealkit.classroom.homework import class_files, class_pages, gradebook
from sealkit.errors import InputError
from sealkit.report import record
from tests.sheets import complaint, printed_once, without_map  # noqa: F401 (fixture)


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A sheet that holds, whose report is there at once: it has no map."""
    path = tmp_path_factory.mktemp("sheets") / "plain.toml"
    path.write_text(without_map().replace('"18 psi"', '"15 psi"'), encoding="utf-8")
    return str(path)


def test_report_of_a_demo_holds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "out.html"
    assert cli.main(["report", "boosted-four", "--page", str(page)]) == 0
    out = capsys.readouterr().out
    lines = out.splitlines()
    assert lines[0].startswith("HOLDS, with ") and str(page) in out
    assert next(i for i, line in enumerate(lines[3:]) if not line) <= 10, "ten lines that matter"
    assert all(c.split()[0] in out for c in paper.CAUTIONS) and "--all" in out
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_a_command_is_printed_as_it_was_called(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, plain: str, capsys: pytest.CaptureFixture[str]
) -> None:
    on_path = tmp_path / "sealkit"
    monkeypatch.setattr("shutil.which", lambda name: str(on_path))
    for called, printed in {
        os.path.join(".venv", "bin", "sealkit"): os.path.join(".venv", "bin", "sealkit"),
        str(on_path): "sealkit",
        os.path.join("somewhere", "pytest"): "sealkit",
        os.path.join("sealkit", "__main__.py"): "python -m sealkit",
    }.items():
        monkeypatch.setattr(sys, "argv", [called])
        assert cli.main(["report", plain, "--page", str(tmp_path / "p.html")]) in (0, 1)
        assert f"holds: {printed} report {plain} --all\n" in capsys.readouterr().out


def test_report_of_a_build_that_fails(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = build.demo("boosted-four").vary({"fasteners.torque": "25 N*m", "deck": None})
    path = sheet.save(tmp_path / "weak.toml")
    assert cli.main(["report", str(path), "--no-page"]) == 1
    assert capsys.readouterr().out.startswith("DOES NOT HOLD: short by ")
    assert list(tmp_path.iterdir()) == [path]


def test_a_fine_mesh_is_told_to_take_its_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    told: list[str] = []

    def stop(what: str) -> None:
        told.append(what)
        raise SystemExit

    monkeypatch.setattr(cli, "_Progress", stop)
    for mesh in ("4 mm", "8 mm"):
        sheet = build.demo("boosted-four").vary({"deck.mesh": mesh})
        monkeypatch.setattr(cli, "_sheet_of", lambda _, sheet=sheet: sheet)
        with pytest.raises(SystemExit):
            cli.main(["report", "boosted-four"])
    assert ["minutes" in what for what in told] == [True, False]


def test_all_faults_of_a_bad_sheet_and_exit_code_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bad.toml"
    text = build.demo("boosted-four").dumps()
    text = text.replace('bore = "86 mm"', 'bore = "86 kg"').replace("grip_head", "grip_haed")
    path.write_text(text, encoding="utf-8")
    assert cli.main(["report", str(path)]) == 2
    err = capsys.readouterr().err
    assert "engine.bore" in err and "grip_haed" in err and "grip_head" in err
    assert "Traceback" not in err
    assert [p.name for p in tmp_path.iterdir()] == ["bad.toml"]


@pytest.mark.parametrize("name", ["no-such-file.toml", "boosted-fuor"])
def test_missing_file(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["report", name]) == 2
    assert name in capsys.readouterr().err


@pytest.mark.parametrize(
    "name", ["report", "compare", "fit", "lab", "sheet", "cards", "grade", "book"]
)
def test_every_command_tells_what_it_takes(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        cli.main([name, "--help"])
    assert stop.value.code == 0 and capsys.readouterr().out.startswith(f"usage: sealkit {name} ")


def test_units_option(plain: str, capsys: pytest.CaptureFixture[str]) -> None:
    cli.main(["report", plain, "--units", "inch", "--no-page"])
    assert " psi" in capsys.readouterr().out


def test_sheet_is_written_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    assert cli.main(["sheet", str(path), "--demo", "boosted-four"]) == 0
    assert build.load(path) == build.demo("boosted-four")
    before = path.read_bytes()
    assert cli.main(["sheet", str(path)]) == 2
    assert path.read_bytes() == before
    blank = tmp_path / "blank.toml"
    assert cli.main(["sheet", str(blank)]) == 0
    assert "[fasteners]" in blank.read_text(encoding="utf-8")


def test_all_of_the_report_as_text(plain: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["report", plain, "--all", "--no-page"]) == 0
    told = capsys.readouterr()
    made = report.run(build.load(plain))
    assert told.out.rstrip() == paper.text(paper.paper_of(made), made.build.system)
    with pytest.raises(SystemExit):
        cli.main(["report", plain, "--all", "--json"])


def test_report_as_json(
    plain: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert cli.main(["report", plain, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told == json.loads(json.dumps(paper.paper_of(report.run(build.load(plain))).to_dict()))
    assert list(tmp_path.iterdir()) == [], "JSON writes no page"
    weak = build.demo("boosted-four").vary({"fasteners.torque": "25 N*m", "deck": None})
    weak.save(tmp_path / "weak.toml")
    assert cli.main(["report", "weak.toml", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["outcome"] == "does not hold"


def told_at_last(capsys: pytest.CaptureFixture[str]) -> str:
    """What stands on stderr once something does."""
    while not (err := capsys.readouterr().err):
        time.sleep(0.01)
    return err


def test_progress_is_told_on_stderr_once_it_takes_a_second(
    plain: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    run, told = report.run, []

    def slow(*args: Any, **more: Any) -> report.Report:
        told.append(told_at_last(capsys))
        return run(*args, **more)

    monkeypatch.setattr(report, "run", slow)
    assert cli._Progress.soon == 1.0
    monkeypatch.setattr(cli._Progress, "soon", 0.1)
    assert cli.main(["report", plain, "--no-page"]) == 0
    assert told == ["working out the joint ...\n"] and "working" not in capsys.readouterr().out


def test_progress_tells_how_far_the_map_is(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(cli._Progress, "soon", 0.1)
    progress = cli._Progress("the map")
    assert progress.now == "the map"
    progress.at("cold, without gas")
    with progress:
        assert told_at_last(capsys) == "working out the map: cold, without gas ...\n"


def test_stopped_by_the_keyboard(
    plain: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ctrl-C anywhere, also while the page is written: words, an exit code, nothing half there."""
    monkeypatch.chdir(tmp_path)
    page = tmp_path / "page.html"
    page.write_text("as before", encoding="utf-8")

    def stop(*args: object, **more: object) -> None:
        raise KeyboardInterrupt

    for place in ("sealkit.report.run", "sealkit.paper.page", "os.replace"):
        with monkeypatch.context() as patch:
            patch.setattr(place, stop)
            assert cli.main(["report", plain, "--page", str(page)]) == cli.STOPPED == 130
        assert capsys.readouterr().err.endswith("sealkit: stopped before it was done\n")
        assert page.read_text(encoding="utf-8") == "as before" and list(tmp_path.iterdir()) == [
            page
        ]


def test_builds_side_by_side(
    plain: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tight = build.load(plain).vary({"fasteners.torque": "112 N*m"}).save(tmp_path / "b.toml")
    page = tmp_path / "both.html"
    assert cli.main(["compare", plain, str(tight), "--page", str(page)]) in (0, 1)
    out = capsys.readouterr().out
    assert "fasteners.torque  117.0 N·m  112.0 N·m" in out
    assert "112.0 N·m" in page.read_text(encoding="utf-8")
    cli.main(["compare", plain, str(tight), "--json", "--units", "inch"])
    assert json.loads(capsys.readouterr().out)["schema"] == "sealkit comparison"
    assert cli.main(["compare", plain, plain]) == cli.main(["report", plain, "--no-page"]) == 0
    weak = build.load(plain).vary({"fasteners.torque": "25 N*m"}).save(tmp_path / "weak.toml")
    assert cli.main(["compare", plain, str(weak)]) == 1
    capsys.readouterr()
    assert cli.main(["compare", plain]) == 2
    assert "two or three" in capsys.readouterr().err


def test_schema_of_the_report(tmp_path: Path) -> None:
    path = tmp_path / "report.json"
    assert cli.main(["sheet", str(path), "--report-schema"]) == 0
    assert json.loads(path.read_text(encoding="utf-8")) == record.schema(paper.TABLE)


def test_schema_of_the_sheet(tmp_path: Path) -> None:
    path = tmp_path / "sheet.json"
    assert cli.main(["sheet", str(path), "--schema"]) == 0
    assert json.loads(path.read_text(encoding="utf-8")) == build.json_schema()


def test_module_runs_as_a_command() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "sealkit", "--version"], capture_output=True, text=True
    )
    assert done.returncode == 0 and done.stdout.startswith("sealkit ")


# --------------------------------------------------------------------------- the course on disk
def test_unpacking_keeps_what_the_learner_changed(tmp_path: Path) -> None:
    first = course.unpack(tmp_path)
    assert "data/builds/boosted-four.toml" in first.written and not first.kept
    assert any(n.endswith(".ipynb") for n in first.written)
    assert course.unpack(tmp_path).written == ()

    mine = tmp_path / "data" / "builds" / "boosted-four.toml"
    mine.write_text("mine", encoding="utf-8")
    gone = tmp_path / "data" / "builds" / "na-iron-v8.toml"
    gone.unlink()
    again = course.unpack(tmp_path)
    assert again.kept == ("data/builds/boosted-four.toml",)
    assert mine.read_text(encoding="utf-8") == "mine"
    assert again.written == ("data/builds/na-iron-v8.toml",) and gone.is_file()


def test_a_file_not_changed_since_is_brought_up_to_date(tmp_path: Path) -> None:
    import hashlib
    import json

    course.unpack(tmp_path)
    name = "data/builds/boosted-four.toml"
    old = tmp_path / name
    old.write_text("an older edition", encoding="utf-8")
    record = tmp_path / ".course-files.json"
    entries = json.loads(record.read_text(encoding="utf-8"))
    entries[name] = hashlib.sha256(old.read_bytes()).hexdigest()
    record.write_text(json.dumps(entries), encoding="utf-8")
    assert course.unpack(tmp_path).written == (name,)
    record.write_text("{ broken", encoding="utf-8")
    old.write_text("touched", encoding="utf-8")
    assert name in course.unpack(tmp_path).kept


def test_linear_algebra_of_a_command_keeps_to_one_thread(tmp_path: Path) -> None:
    """Told before SciPy's is loaded; on busy cores two threads take many times as long."""
    code = (
        "import os, sys, sealkit.cli, sealkit.report, sealkit.paper\n"
        "assert 'scipy.linalg' not in sys.modules\n"
        f"sealkit.cli.main(['sheet', {str(tmp_path / 'own.toml')!r}])\n"
        "print(os.environ['OPENBLAS_NUM_THREADS'])"
    )
    env = {k: v for k, v in os.environ.items() if k != "OPENBLAS_NUM_THREADS"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env)
    assert done.stdout.split()[-1:] == ["1"], done.stderr


def test_lab_from_a_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls: list[list[str]] = []

    class Server:
        def __init__(self, command: list[str], env: dict[str, str]) -> None:
            calls.append(command)
            assert env["OPENBLAS_NUM_THREADS"] == os.environ.get("OPENBLAS_NUM_THREADS", "1")
            # the command is found in a terminal of JupyterLab
            assert env["PATH"] == os.pathsep.join(
                (str(Path(sys.executable).parent), os.environ["PATH"])
            )
            quiet = Path(env["JUPYTER_CONFIG_PATH"].split(os.pathsep)[0], "labconfig")
            assert "lineWrap" in (quiet / "default_setting_overrides.json").read_text()

        def wait(self) -> int:
            return 0

    monkeypatch.setattr(cli.subprocess, "Popen", Server)
    monkeypatch.setattr(cli.signal, "signal", lambda *_: None)
    folder = tmp_path / "course"
    assert cli.main(["lab", str(folder), "--no-browser", "--", "--allow-root"]) == 0
    assert calls and "jupyterlab" in calls[0]
    assert calls[0][-2:] == ["--no-browser", "--allow-root"]
    assert f"--ServerApp.root_dir={folder}" in calls[0]
    assert "--LabApp.default_url=/lab/tree/notebooks/00-the-whole-joint.ipynb" in calls[0]
    assert "files written" in capsys.readouterr().out
    monkeypatch.setattr(course, "have_lab", lambda: False)
    assert cli.main(["lab"]) == 2
    assert "JupyterLab" in capsys.readouterr().err


def test_a_stopped_lab_leaves_no_server_behind(tmp_path: Path) -> None:
    (tmp_path / "jupyterlab.py").write_text(
        "import os, time\nopen('pid', 'w').write(str(os.getpid()))\ntime.sleep(60)"
    )
    path = os.pathsep.join((str(tmp_path), str(Path(cli.__file__).parents[1])))
    command = [sys.executable, "-m", "sealkit", "lab", "course"]
    env = {**os.environ, "PYTHONPATH": path}
    with subprocess.Popen(command, cwd=tmp_path, env=env, stdout=subprocess.DEVNULL) as lab:
        while not ((tmp_path / "pid").exists() and (tmp_path / "pid").read_text()):
            assert lab.poll() is None
            time.sleep(0.05)
        lab.terminate()
        lab.wait(20)
    with pytest.raises(ProcessLookupError):
        os.kill(int((tmp_path / "pid").read_text()), 0)


def test_lab_unpacks_and_starts_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls: list[list[str]] = []
    monkeypatch.setattr(cli.subprocess, "call", calls.append)
    monkeypatch.setattr(course, "have_lab", lambda: False)  # nor does it want JupyterLab
    command = ["lab", "--unpack-only", str(tmp_path / "mine")]
    assert cli.main(command) == 0 and not calls
    lesson = tmp_path / "mine" / "notebooks" / "00-the-whole-joint.ipynb"
    assert lesson.is_file()
    lesson.write_text("changed", encoding="utf-8")
    assert cli.main(command) == 0
    assert lesson.read_text(encoding="utf-8") == "changed"
    assert "kept your changed" in capsys.readouterr().out


def test_a_trainees_copy_leaves_out_what_the_instructor_keeps(tmp_path: Path) -> None:
    whole, part = tmp_path / "whole", tmp_path / "part"
    for folder, more in ((whole, []), (part, ["--trainee"])):
        assert cli.main(["lab", "--unpack-only", str(folder), *more]) == 0

    def files(folder: Path) -> set[str]:
        return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}

    left_out = files(whole) - files(part)
    assert {"notebooks/gradebook.ipynb", "notebooks/instructors-guide.ipynb"} < left_out
    assert any("key" in name for name in left_out)
    assert "data/cards/02.toml" in left_out  # the formula of every answer
    assert all(name.startswith(course.INSTRUCTORS) for name in left_out)
    for lesson in (part / "notebooks").glob("*.ipynb"):
        assert not any(
            Path(name).name in lesson.read_text(encoding="utf-8") for name in course.INSTRUCTORS[:2]
        )


def test_folder_that_cannot_be_written(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    with pytest.raises(InputError, match="folder"):
        course.unpack(blocked / "below")


# --------------------------------------------------------------------------- the gradebook
def _sample(tmp_path: Path, key: str, *more: str) -> list[str]:
    answers = course.course_root() / "data" / "sample-class" / "answers"
    return ["grade", str(answers), "--key", key, "--out", str(tmp_path / "grades"), *more]


def test_the_command_in_the_sample_class_works_from_the_top_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    root = course.course_root()
    text = (root / "data" / "sample-class" / "README.txt").read_text(encoding="utf-8")
    line = next(x for x in text.splitlines() if x.strip().startswith(".venv/bin/sealkit grade"))
    words = line.split()[1:]
    assert words[-2:] == ["--out", "graded"]
    monkeypatch.chdir(root)
    assert cli.main([*words[:-1], str(tmp_path / "grades")]) == 0
    assert "5 of 8 trainees graded" in capsys.readouterr().out
    assert not (root / "graded").exists()


def test_a_key_of_another_class_grades_nobody_and_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    roster = course.course_root() / "data" / "sample-class" / "roster.csv"
    made = ["cards", str(roster), "--set", "02", "--key-file", str(tmp_path / "class-key.txt")]
    assert cli.main([*made, "--out", str(tmp_path / "cards")]) == 0
    assert cli.main(_sample(tmp_path, str(tmp_path / "cards" / "key-02.json"))) == 2
    told = capsys.readouterr()
    assert "0 of 8 trainees graded" in told.out and "copied" not in told.out
    assert told.err.startswith("sealkit: nobody could be graded: ")
    assert "another class's" in told.err and len(told.err.splitlines()) == 1
    assert (tmp_path / "grades" / "files.csv").is_file()


def test_what_cards_and_grade_write_is_ignored_and_the_sample_class_is_not(tmp_path: Path) -> None:
    root = course.course_root()
    if not (root / ".gitignore").is_file() or shutil.which("git") is None:
        pytest.skip("no checkout")
    subprocess.run(["git", "init", "-q", str(tmp_path)], check=True)
    shutil.copy(root / ".gitignore", tmp_path)
    key = class_files.make_key("5eed" * 8, "02", class_files.roster("id,name\nt-1,Ann\n"))
    graded = gradebook.grade([], key)
    secret = [f"cards-02/{n}" for n in class_pages.card_files(key)]
    secret += [f"grades-02/{n}" for n in class_pages.grade_files(graded)]
    secret += ["class-key.txt", "key-02.json", "answers-02-t-1.json", "graded/class.html"]
    kept = ["data/cards/02.toml", "notebooks/00-the-whole-joint.ipynb"]
    folder = root / "data" / "sample-class"
    kept += [p.relative_to(root).as_posix() for p in folder.rglob("*") if p.is_file()]
    done = subprocess.run(
        ["git", "-C", str(tmp_path), "check-ignore", "--stdin"],
        input="\n".join([*secret, *kept]),
        capture_output=True,
        text=True,
    )
    assert sorted(x.strip('"') for x in done.stdout.splitlines()) == sorted(secret)


# --------------------------------------------------------------------------- no such file, full d
SAMPLE = course.course_root() / "data" / "sample-class"
KEY, ANSWERS, ROSTER = (str(SAMPLE / n) for n in ("key-02.json", "answers", "roster.csv"))


def told(argv: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """What a command says that cannot be done; no more than one fault, and never a traceback."""
    capsys.readouterr()
    assert cli.main(argv) == 2
    err = complaint(capsys.readouterr().err)
    assert err.startswith("sealkit: ") and "Traceback" not in err
    assert len(err.splitlines()) <= 2, err
    return err


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["report", "{gone}"], "not there"),
        (["report", "{folder}"], "the folder"),
        (["report", "{latin}"], "not UTF-8"),
        (["report", "{plain}", "--page", "{folder}"], "that can be written"),
        (["report", "{plain}", "--page", "{gone}/a.html"], "page: got"),
        (["sheet", "{folder}"], "new file"),
        (["sheet", "{gone}/a.toml"], "that can be written"),
        (["sheet", "{file}/a.toml"], "Not a directory"),
        (["sheet", "{long}"], "too long"),
        (["sheet", "{gone}", "--demo", "boosted-forty"], "boosted-four"),
        (["lab", "--unpack-only", "{file}"], "that can be written"),
        (["lab", "--unpack-only", "~nobody-here/x"], "folder"),
        (["cards", "{gone}", "--set", "02"], "roster"),
        (["cards", "{folder}", "--set", "02"], "Is a directory"),
        (["cards", "{wide}", "--set", "02"], "roster"),
        (["cards", ROSTER, "--set", "02", "--key-file", "{folder}"], "Is a directory"),
        (["cards", ROSTER, "--set", "02", "--key-file", "{latin}"], "UTF-8"),
        (["cards", ROSTER, "--set", "02", "--key-file", "{gone}/k.txt"], "that can be written"),
        (["cards", ROSTER, "--set", "02", "--key-file", "{secret}", "--out", "{file}"], "folder"),
        (["grade", "{gone}", "--key", KEY], "a folder of answers files"),
        (["grade", "{file}", "--key", KEY], "a folder of answers files"),
        (["grade", ANSWERS, "--key", "{gone}"], "key file"),
        (["grade", ANSWERS, "--key", "{folder}"], "Is a directory"),
        (["grade", ANSWERS, "--key", "{latin}"], "key file"),
        (["grade", ANSWERS, "--key", KEY, "--out", "{file}"], "that can be written"),
        (["grade", ANSWERS, "--key", KEY, "--out", "{loop}/x"], ""),
    ],
)
def test_what_is_not_the_file_that_is_wanted_is_told_in_one_message(
    argv: list[str], words: str, plain: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    there: dict[str, Any] = {
        "plain": plain,
        "gone": tmp_path / "gone",
        "folder": tmp_path / "folder",
        "file": tmp_path / "file",
        "latin": tmp_path / "latin.toml",
        "wide": tmp_path / "wide.csv",
        "secret": tmp_path / "secret.txt",
        "long": tmp_path / ("x" * 400),
        "loop": tmp_path / "loop",
    }
    there["folder"].mkdir()
    there["file"].write_text("here", encoding="utf-8")
    there["latin"].write_bytes("id,name\nt-1,Zo\xeb\n".encode("latin-1"))
    there["wide"].write_text("id,name\nt-1," + "x" * 300_000, encoding="utf-8")
    there["secret"].write_text(f"{'5eed' * 8}\n", encoding="utf-8")
    os.symlink(there["loop"], there["loop"])
    assert words in told([a.format(**there) for a in argv], capsys)


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EDQUOT])
@pytest.mark.parametrize(
    "argv",
    [
        ["report", "PLAIN", "--page", "a.html"],
        ["sheet", "a.toml"],
        ["lab", "--unpack-only", "course"],
        ["cards", ROSTER, "--set", "02"],
        ["grade", ANSWERS, "--key", KEY, "--out", "marks"],
    ],
)
def test_a_disk_that_takes_nothing_is_told_in_one_message(
    argv: list[str],
    code: int,
    plain: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def full(*args: Any, **kwargs: Any) -> tuple[int, str]:
        raise OSError(code, os.strerror(code))

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(files.os, "fsync", full)
    assert os.strerror(code) in told([plain if a == "PLAIN" else a for a in argv], capsys)
    assert not [p for p in tmp_path.rglob("*") if p.is_file()]


@pytest.mark.parametrize(
    "argv",
    [
        ["report", "boosted-four", "--no-page"],
        ["sheet", "a.toml", "--demo", "boosted-four"],
        ["lab", "--unpack-only", "course"],
        ["cards", ROSTER, "--set", "02"],
    ],
)
def test_missing_course_files_are_told_in_one_message(
    argv: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from sealkit.classroom.homework import cards, questions

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(resources, "_PACKAGE", tmp_path / "elsewhere" / "sealkit")
    caches: list[Any] = [cards.set_titles, questions.read_data, build.demo]
    for cache in caches:
        cache.cache_clear()
    try:
        told(argv, capsys)
    finally:
        monkeypatch.undo()
        for cache in caches:
            cache.cache_clear()


def test_a_missing_table_is_told_in_one_message(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def gone(name: str) -> Any:
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), f"{name}.csv")

    monkeypatch.setattr(tables, "load", gone)
    err = told(["report", "boosted-four", "--no-page"], capsys)
    assert ".csv" in err and os.strerror(errno.ENOENT) in err


def _run(*argv: str, out: Any, **env: str) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "sealkit.cli", *argv]
    env = {**os.environ, **env}
    return subprocess.run(command, stdout=out, stderr=subprocess.PIPE, env=env, check=False)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_output_to_a_full_disk_is_told_in_one_message(plain: str) -> None:
    with open("/dev/full", "wb") as full:
        done = _run("report", plain, "--no-page", out=full)
    err = complaint(done.stderr.decode())
    assert done.returncode == 2 and err.startswith("sealkit: ")
    assert os.strerror(errno.ENOSPC) in err and len(err.splitlines()) == 1


def test_a_reader_that_leaves_early_gets_no_complaint(plain: str) -> None:
    read, write = os.pipe()
    os.close(read)
    done = _run("report", plain, "--no-page", out=write)
    os.close(write)
    assert done.returncode == cli.CUT_OFF == 141 and complaint(done.stderr.decode()) == ""


def test_a_terminal_without_our_letters_gets_the_report(plain: str) -> None:
    done = _run("report", plain, "--no-page", out=subprocess.PIPE, PYTHONIOENCODING="ascii")
    assert done.returncode == 0 and complaint(done.stderr.decode()) == ""
    assert done.stdout[:6] == b"HOLDS,"


def test_a_missing_quote_and_a_word_cut_short_are_told_in_words() -> None:
    text = build.demo("boosted-four").dumps()
    with pytest.raises(InputError, match="the quote that ends the value is missing"):
        build.loads(text.replace('four, turbocharged"', "four"))
    with pytest.raises(InputError, match='did you mean "aluminium"'):
        build.loads(text.replace('material = "A356-T6"', 'material = "alu"'))
