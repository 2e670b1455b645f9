"""Long work beside a panel: progress, cancel, and results that come too late."""

from __future__ import annotations

import asyncio
import dataclasses
import re
import threading
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from sealkit.classroom.lessons import scatter as scatter_lesson
from sealkit.classroom.panel import job as job_module
from sealkit.classroom.panel import panels
from sealkit.classroom.panel.job import Job
from sealkit.classroom.panel.live import Panel
from sealkit.errors import InputError, fail
from sealkit.scatter import GAS_LEAK


@dataclasses.dataclass(frozen=True)
class Gone:
    done: int
    count: int
    left: float


Told = Callable[[Gone], None]
Stop = Callable[[], bool]


def counting(pieces: int, go: threading.Event | None = None) -> Callable[[Told, Stop], int]:
    """Work of so many pieces that gives the number done; after the first it waits for `go`."""

    def work(told: Told, stop: Stop) -> int:
        for done in range(1, pieces + 1):
            told(Gone(done, pieces, 0.5 * (pieces - done)))
            if go is not None and done == 1:
                go.wait(20)
            if stop():
                return done
        return pieces

    return work


async def until(said: Callable[[], bool]) -> None:
    for _ in range(2000):
        if said():
            return
        await asyncio.sleep(0.01)
    raise AssertionError("waited in vain")


def test_without_a_loop_it_runs_at_once() -> None:
    job = Job()
    got: list[Any] = []
    job.start(counting(4), got.append, got.append)
    assert got == [4]
    assert job.bar.value == 1.0
    assert not job.running
    assert job.layout.display == "none"


def test_bar_and_time_left_move_and_cancel_keeps_what_is_done() -> None:
    job, go = Job(), threading.Event()
    got: list[Any] = []

    async def play() -> None:
        job.start(counting(400, go), got.append, got.append)
        assert job.running
        assert job.layout.display == ""
        await until(lambda: job.bar.value > 0)
        assert job.bar.value == pytest.approx(1 / 400)
        assert "1 of 400, about 3 min left" in job.words.value
        job.cancel.click()
        assert "Stopping" in job.words.value
        go.set()
        await until(lambda: not job.running)

    asyncio.run(play())
    assert got == [1]


def test_work_that_was_dropped_says_nothing_any_more() -> None:
    job, go = Job(), threading.Event()
    got: list[Any] = []

    async def play() -> None:
        job.start(counting(3, go), got.append, got.append)
        await until(lambda: job.bar.value > 0)
        job.start(counting(2), lambda n: got.append(10 * n), got.append)
        go.set()
        await until(lambda: not job.running)
        await asyncio.sleep(0.1)

    asyncio.run(play())
    assert got == [20]


def test_what_goes_wrong_is_handed_on() -> None:
    def work(*_: Any) -> None:
        raise fail("count", 0, "more")

    job = Job()
    got: list[Any] = []
    job.start(work, print, got.append)

    async def play() -> None:
        job.start(work, print, got.append)
        await until(lambda: not job.running)

    asyncio.run(play())
    assert [type(e) for e in got] == [InputError, InputError]


def no_threads(*_: Any) -> None:
    raise RuntimeError("can't start new thread")


@pytest.mark.parametrize(("seconds", "pieces"), [(60.0, 3), (-1.0, 1)])
def test_where_there_are_no_threads_it_runs_at_once_and_ends_by_itself(
    monkeypatch: pytest.MonkeyPatch, seconds: float, pieces: int
) -> None:
    monkeypatch.setattr(threading.Thread, "start", no_threads)
    monkeypatch.setattr(job_module, "ALONE", seconds)
    job = Job()
    got: list[Any] = []
    told: list[float] = []
    job.bar.observe(lambda change: told.append(change.new), "value")

    async def play() -> None:
        job.start(counting(3), got.append, got.append)

    asyncio.run(play())
    assert got == [pieces]
    assert told == [done / 3 for done in range(1, pieces + 1)]
    assert not job.running and job.layout.display == "none"


# --------------------------------------------------------------------------- in the panel
@pytest.fixture
def panel() -> Panel:
    return panels.panel("boosted-four", scatter_lesson.SCENE)


def count_of(panel: Panel) -> int:
    found = re.search(r"of ([\d,]+) builds", panel.result.value)
    assert found is not None
    return int(found[1].replace(",", ""))


def many(panel: Panel) -> Any:
    (button,) = panel.more.values()
    return button


def test_many_builds_take_the_place_of_the_few(panel: Panel, monkeypatch: Any) -> None:
    monkeypatch.setattr(scatter_lesson, "MANY", 4096)
    first = panel.outcome.groups["gas leak"]
    many(panel).click()
    assert count_of(panel) == panel.outcome.count == 4096
    after = panel.outcome.groups["gas leak"]
    assert after.high - after.low < first.high - first.low
    # a change goes back to the few
    panel.rows[0].slider.value += panel.rows[0].slider.step
    panel.settle()
    assert count_of(panel) == scatter_lesson.BUILDS


def test_stopped_half_way_it_shows_the_builds_that_are_done(panel: Panel) -> None:
    async def play() -> None:
        many(panel).click()
        await until(lambda: panel.job.bar.value > 0)
        assert "left" in panel.job.words.value
        panel.job.cancel.click()
        await until(lambda: not panel.job.running)

    asyncio.run(play())
    assert panel.outcome.stopped
    assert 4096 <= count_of(panel) < scatter_lesson.MANY
    assert "stopped before all were done" in panel.result.value
    shown = [t for t in panel.figure.data if t.meta == "seal"]
    # the builds of the seal's limit that most fail, some of them past the end of the axis
    seal = panel.outcome.nearest(GAS_LEAK).key
    within = float(panel.outcome.bars(seal, np.array([-0.5, 1.5])).sum())
    assert sum(shown[0].y) == pytest.approx(100.0 * within, rel=1e-4) and within > 0.0


def test_a_slider_that_moves_ends_the_work_on_the_old_build(panel: Panel) -> None:
    async def play() -> None:
        many(panel).click()
        await until(lambda: panel.job.bar.value > 0)
        panel.rows[1].slider.value += panel.rows[1].slider.step
        await until(lambda: not panel.busy)
        assert not panel.job.running
        await asyncio.sleep(0.3)

    asyncio.run(play())
    assert count_of(panel) == scatter_lesson.BUILDS


def test_while_a_slider_moves_the_chart_is_rough_and_then_full(panel: Panel) -> None:
    counts = []

    async def play() -> None:
        for _ in range(6):
            panel.rows[1].slider.value += panel.rows[1].slider.step
            await asyncio.sleep(0.1)
            counts.append(panel.outcome.count)
        await until(lambda: not panel.busy)

    asyncio.run(play())
    assert scatter_lesson.ROUGH in counts
    assert "sk-working" not in panel._dom_classes and "worked out" not in panel.result.value
    assert count_of(panel) == scatter_lesson.BUILDS
    assert "Nearest to leaking" in str(panel.scene.sentence(panel.outcome, "metric"))


def test_of_a_rough_result_verdict_and_tiles_agree_and_the_rest_is_marked(panel: Panel) -> None:
    async def play() -> None:
        panel.rows[0].slider.value = panel.rows[0].slider.max
        await until(lambda: panel._words is None and panel._timer is None)
        assert panel.outcome.count == scatter_lesson.ROUGH
        damaged = f"{100 * panel.outcome.groups['damage'].value:.1f}\u00a0%"
        assert f'"sk-number">{damaged}<' in panel.result.value and damaged in panel.tiles.value
        assert "Whole joint: being worked out" in panel.result.value
        assert "sk-working" in panel._dom_classes
        await until(lambda: not panel.busy)
        assert "being worked out" not in panel.result.value

    asyncio.run(play())


def test_a_pick_while_the_full_chart_is_on_its_way_is_not_undone_by_it(panel: Panel) -> None:
    box = panel.picks["way"]
    other = next(o for o in box.options if o != box.value)

    async def play() -> None:
        panel.rows[1].slider.value += panel.rows[1].slider.step
        await until(lambda: panel._finer.running)
        box.value = other
        assert not panel.busy
        picked = panel.outcome
        await asyncio.sleep(0.5)
        assert panel.outcome is picked

    asyncio.run(play())
