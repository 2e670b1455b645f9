"""The command that runs all benchmarks; their times are not looked at here."""

from __future__ import annotations

import json
import sys
import types
from pathlib import Path

import pytest

from tests.benchmarks import __main__ as command
from tests.benchmarks._tools import Ratio, Skipped, cpu_time


def fake(monkeypatch: pytest.MonkeyPatch, name: str, **parts: object) -> None:
    module = types.ModuleType(f"tests.benchmarks.bench_{name}")
    vars(module).update(parts)
    monkeypatch.setitem(sys.modules, module.__name__, module)
    monkeypatch.setattr(command, "names", lambda: [name])


def test_every_benchmark_offers_rows() -> None:
    folder = Path(command.__file__).parent
    found = command.names()
    assert found == sorted(p.stem.removeprefix("bench_") for p in folder.glob("bench_*.py"))
    for name in found:
        text = (folder / f"bench_{name}.py").read_text(encoding="utf-8")
        assert "def rows() -> list[Ratio]" in text or "def rows(" in text, name


@pytest.mark.parametrize(
    ("ratio", "limit", "least", "ok"),
    [
        (1.0, 2.0, False, True),
        (3.0, 2.0, False, False),
        (3.0, 2.0, True, True),
        (1, 2, True, False),
    ],
)
def test_a_ratio_keeps_its_limit(ratio: float, limit: float, least: bool, ok: bool) -> None:
    row = Ratio("x over y", ratio, limit, least)
    assert row.ok is ok and ("NOT OK" in row.line()) is not ok


def test_table_json_and_exit_code(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "ratios.json"
    fake(monkeypatch, "mine", rows=lambda: [Ratio("a over b", 1.5, 2.0)])
    text = tmp_path / "ratios.md"
    assert command.main(["--json", str(file), "--page", str(text)]) == 0
    table = text.read_text(encoding="utf-8")
    assert "| a over b | 1.5 | at most 2 |" in table and "numpy" in table and "cores" in table
    kept = json.loads(file.read_text(encoding="utf-8"))
    assert {"date", "python", "libraries", "cpu_count"} <= kept.keys()
    assert kept["ratios"][0]["ratio"] == 1.5 and kept["ratios"][0]["ok"]
    assert "a over b" in capsys.readouterr().out
    fake(monkeypatch, "mine", rows=lambda: [Ratio("a over b", 2.5, 2.0)])
    assert command.main([]) == 1


def test_a_skipped_benchmark_passes_and_a_broken_one_does_not(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def absent() -> list[Ratio]:
        raise Skipped("a library is missing")

    fake(monkeypatch, "mine", rows=absent)
    assert command.main([]) == 0
    assert "skipped: a library is missing" in capsys.readouterr().out
    fake(monkeypatch, "mine", rows=lambda: 1 / 0)
    assert command.main([]) == 1
    fake(monkeypatch, "mine")
    assert command.main([]) == 1


def test_processor_time_gives_the_last_result() -> None:
    seconds, result = cpu_time(lambda: sum(range(1000)), 3)
    assert seconds >= 0.0 and result == 499500
