"""402 mixed files graded by the command: nothing lost, nothing run, the same after a kill.

    python -m tests.benchmarks.check_files

201 trainees each hand in a sound file, and 201 files are hostile, broken, late or copied. Exit code
1 if a sound file has not all its marks, another one counts, a planted command has run, an input was
touched, or a run that was killed and started again leaves anything else than one run.
"""

from __future__ import annotations

import csv
import io
import itertools
import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from sealkit.classroom.homework import cards, class_files
from sealkit.classroom.homework.class_files import Trainee
from tests.card_checks import CLASS_KEY
from tests.classroom.homework.test_gradebook import DUE, HOSTILE, file_of, right

COUNT = 201


def mixed(key: class_files.Key, trace: Path) -> tuple[list[bytes], list[bytes]]:
    """Sound files, one for each trainee, and as many bad ones."""
    sound = [file_of(c) for c in key.cards]
    code = f"__import__('pathlib').Path({str(trace)!r}).touch()"
    shell, stranger = f"$(touch {trace})", cards.draw(CLASS_KEY, "03", "t-000")

    def makers(i: int) -> list[bytes]:
        card, other = key.cards[i], key.cards[(i + 1) % COUNT]
        return [
            sound[i][:-200],
            file_of(card, trainee=other.trainee),  # somebody else's card
            file_of(card, saved="2026-12-02T00:00:00+00:00"),
            file_of(card, trainee=code[:100]),
            file_of(card, set=shell[:100]),
            file_of(card, saved=code[:100]),
            file_of(stranger),
            sound[i].replace(b'"answers": {', b'"answers":  {"x": "1", '),
            f"#!/bin/sh\ntouch {trace}\n".encode(),
            f"import os; {code}".encode(),
            # read and refused for its age: what it says is never worked out
            file_of(card, dict.fromkeys(right(card), code), saved="2026-12-03T00:00:00Z"),
        ]

    bad = [t.encode("utf-8", "surrogatepass") for t in HOSTILE]
    bad += itertools.chain.from_iterable(makers(i) for i in range(COUNT))
    return sound, bad[:COUNT]


def state(folder: Path) -> dict[str, bytes]:
    found = sorted(p for p in folder.rglob("*") if p.is_file() and not p.name.startswith("."))
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in found}


def main() -> int:
    people = [Trainee(f"t-{i:03}", f"=Trainee {i}", "metric") for i in range(COUNT)]
    key = class_files.make_key(CLASS_KEY, "02", people, DUE)
    with tempfile.TemporaryDirectory() as home:
        folder, trace = Path(home) / "in", Path(home) / "ran"
        folder.mkdir()
        (Path(home) / "key.json").write_text(key.dumps(), encoding="utf-8")
        sound, bad = mixed(key, trace)
        for i, content in enumerate(sound):
            (folder / f"{i:03} sound.json").write_bytes(content)
        for i, content in enumerate(bad):
            (folder / f"{i:03} bad;touch {trace.name};=1+1.json").write_bytes(content)
        before = state(folder)

        def command(out: str) -> list[str]:
            line = [sys.executable, "-m", "sealkit", "grade", str(folder), "--out"]
            return [*line, f"{home}/{out}", "--key", f"{home}/key.json"]

        code = subprocess.run(command("whole"), stdout=subprocess.DEVNULL).returncode
        took = os.times().children_user + os.times().children_system
        whole = state(Path(home) / "whole")
        rows = list(csv.DictReader(io.StringIO(whole["gradebook.csv"].decode("utf-8-sig"))))
        full = sum(r["marks"] == r["of"] for r in rows)
        told = list(csv.DictReader(io.StringIO(whole["files.csv"].decode("utf-8-sig"))))
        refused = sum(r["counted"] == "no" and bool(r["reason"]) for r in told)

        run = subprocess.Popen(command("killed"), stdout=subprocess.DEVNULL)
        while run.poll() is None and len(list(Path(home).glob("killed/**/*.html"))) < COUNT // 2:
            time.sleep(0.001)
        run.send_signal(signal.SIGKILL)
        killed = run.wait() == -signal.SIGKILL
        parts = state(Path(home) / "killed")
        pure = all(whole[name] == content for name, content in parts.items())
        subprocess.run(command("killed"), stdout=subprocess.DEVNULL, check=True)
        same = state(Path(home) / "killed") == whole
        clean = not trace.exists() and state(folder) == before
    print(f"{len(told)} files graded in {took:.2f} s of processor time, exit code {code}")
    print(f"{full} of {COUNT} sound files with all their marks, {refused} of {COUNT} bad ones told")
    print(f"nothing run and no input touched: {clean}")
    print(f"killed after {len(parts)} of {len(whole)} files: {killed}, each of them whole: {pure}")
    print(f"started again, the same as in one run: {same}")
    good = code == 0 and full == refused == COUNT and len(told) == 2 * COUNT
    return int(not (good and clean and killed and pure and same))


if __name__ == "__main__":
    sys.exit(main())
