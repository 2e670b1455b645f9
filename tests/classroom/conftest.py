"""Panels open on the same engines again and again: what a lesson finds there is kept."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import Any

import pytest

from sealkit import report
from sealkit.build import Build
from sealkit.classroom.panel import stage

_work: dict[Any, Any] = {}
_whole_joint = functools.cache(report.run)


def _at(
    self: stage.Stage,
    build: Build,
    knobs: tuple[Any, ...],
    picked: Mapping[str, str],
    moved: Mapping[str, float],
) -> Any:
    """As the stage does, each once."""
    varied, free = stage._vary(build, knobs, moved), stage._free(knobs, picked, moved)
    key = self.scene.work, varied, tuple(sorted(free.items()))
    if key not in _work:
        _work[key] = self.scene.work(varied, free)
    return _work[key]


@pytest.fixture(autouse=True)
def worked_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ends of charts and the joint beside them; what a moved slider gives is worked out anew."""
    monkeypatch.setattr(stage.Stage, "_at", _at)
    monkeypatch.setattr(report, "kept_report", _whole_joint)
