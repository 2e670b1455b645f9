"""The command line: report, sheet, lab."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from sealkit import build, cli, course


def test_report_of_a_demo_holds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "out.html"
    assert cli.main(["report", "boosted-four", "--page", str(page)]) == 0
    out = capsys.readouterr().out
    assert "Verdict" in out and "Holds." in out and str(page) in out
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_report_of_a_build_that_fails(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = build.demo("boosted-four").vary({"fasteners.torque": "25 N*m"})
    path = sheet.save(tmp_path / "weak.toml")
    assert cli.main(["report", str(path), "--no-page"]) == 1
    assert "Does not hold" in capsys.readouterr().out
    assert list(tmp_path.iterdir()) == [path]


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


def test_page_that_cannot_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "no" / "such" / "folder.html"
    assert cli.main(["report", "boosted-four", "--page", str(page)]) == 2
    assert "page" in capsys.readouterr().err


def test_units_option(capsys: pytest.CaptureFixture[str]) -> None:
    cli.main(["report", "boosted-four", "--units", "inch", "--no-page"])
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


def test_module_runs_as_a_command() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "sealkit.cli", "--version"], capture_output=True, text=True
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


def test_lab_from_a_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls: list[list[str]] = []

    def call(command: list[str], env: dict[str, str]) -> int:
        calls.append(command)
        assert env["OPENBLAS_NUM_THREADS"] == os.environ.get("OPENBLAS_NUM_THREADS", "1")
        assert env["PATH"] == os.environ["PATH"]
        return 0

    monkeypatch.setattr(cli.subprocess, "call", call)
    folder = tmp_path / "course"
    assert cli.main(["lab", "--folder", str(folder), "--no-browser"]) == 0
    assert calls and "jupyterlab" in calls[0] and "--no-browser" in calls[0]
    assert calls[0][3].startswith(str(folder))
    assert "files written" in capsys.readouterr().out
    monkeypatch.setattr(course, "have_lab", lambda: False)
    assert cli.main(["lab"]) == 2
    assert "JupyterLab" in capsys.readouterr().err


def test_lab_unpacks_and_starts_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls: list[list[str]] = []
    monkeypatch.setattr(cli.subprocess, "call", calls.append)
    monkeypatch.setattr(course, "have_lab", lambda: False)  # nor does it want JupyterLab
    command = ["lab", "--unpack-only", "--folder", str(tmp_path / "mine")]
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
        assert cli.main(["lab", "--unpack-only", "--folder", str(folder), *more]) == 0

    def files(folder: Path) -> set[str]:
        return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}

    left_out = files(whole) - files(part)
    assert {"notebooks/gradebook.ipynb", "notebooks/instructors-guide.md"} < left_out
    assert any("key" in name for name in left_out)
    assert all(name.startswith(course.INSTRUCTORS) for name in left_out)
    for lesson in (part / "notebooks").glob("*.ipynb"):
        assert not any(
            Path(name).name in lesson.read_text(encoding="utf-8") for name in course.INSTRUCTORS[:2]
        )


def test_folder_that_cannot_be_written(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    with pytest.raises(build.InputError, match="folder"):
        course.unpack(blocked / "below")
