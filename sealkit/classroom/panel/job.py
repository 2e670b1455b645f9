"""A long piece of work beside a panel: how far it is, the time left, and a cancel.

The work runs in a thread of its own where an event loop runs, so that the cancel can be pressed;
widgets are touched by the loop's thread alone. Without a loop it runs at once; so it does in a
browser's kernel, which has no threads: there nothing can be pressed meanwhile, and the work ends by
itself after `ALONE` seconds with what is done by then.
"""

from __future__ import annotations

import asyncio
import html
import threading
import time
from collections.abc import Callable
from typing import Any, Protocol

import ipywidgets as widgets


class Gone(Protocol):
    """How far a piece of work is: pieces done and wanted, and seconds left (about)."""

    @property
    def done(self) -> int: ...
    @property
    def count(self) -> int: ...
    @property
    def left(self) -> float: ...


Work = Callable[[Callable[[Gone], None], Callable[[], bool]], Any]


ALONE = 20.0  # seconds


class Background:
    """One piece of work at a time, in a thread of its own where an event loop runs.

    `running` says whether work is on.
    """

    def __init__(self) -> None:
        self.running = False
        self._number = 0
        self._stop = threading.Event()

    def stop(self) -> None:
        """Ask the work to end; what is done so far becomes its result."""
        self._stop.set()

    def drop(self) -> None:
        """Ask the work to end, and take no notice of its result."""
        self._number += 1
        self._end()

    def _end(self) -> None:
        self._stop.set()
        self.running = False

    def start(
        self,
        work: Work,
        done: Callable[[Any], None],
        failed: Callable[[Exception], None],
        told: Callable[[Gone], None] = lambda _: None,
    ) -> None:
        """Begin; work that is on already is dropped. All but `work` is called by this thread.

        Parameters
        ----------
        work : takes a function to tell progress to, and one that says True once it is to stop
        done : gets the result
        failed : gets what went wrong
        told : gets the progress
        """
        self.drop()
        number, stop = self._number, threading.Event()
        self._stop, self.running = stop, True

        def ended(then: Callable[[Any], None], value: Any) -> None:
            if number == self._number:
                self._end()
                then(value)

        def gone(far: Gone) -> None:
            if number == self._number and not stop.is_set():
                told(far)

        def run(hand: Callable[..., None], ends: Callable[[], bool]) -> None:
            """The work itself; `hand` has a function called where widgets may be touched."""
            try:
                result = work(lambda far: hand(gone, far), ends)
            except Exception as err:
                hand(ended, failed, err)
            else:
                hand(ended, done, result)

        def at_once(call: Callable[..., None], *given: Any) -> None:
            call(*given)

        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            run(at_once, stop.is_set)
            return

        def later(call: Callable[..., None], *given: Any) -> None:
            if not loop.is_closed():
                loop.call_soon_threadsafe(call, *given)

        try:
            threading.Thread(target=run, args=(later, stop.is_set), daemon=True).start()
        except RuntimeError:
            end = time.monotonic() + ALONE
            run(at_once, lambda: stop.is_set() or time.monotonic() > end)


class Job(widgets.VBox):
    """Bar, words and cancel of one piece of work at a time; hidden while there is none.

    Shown: `bar`, `words`, `cancel`. `running` says whether work is on.
    """

    def __init__(self) -> None:
        wide = widgets.Layout(width="auto", min_width="0")
        self.bar = widgets.FloatProgress(value=0.0, min=0.0, max=1.0, layout=wide)
        self.bar.tooltip = "How much of the work is done"
        self.words = widgets.HTML()
        self.cancel = widgets.Button(description="Stop and keep what is done", layout=wide)
        self.cancel.on_click(lambda _: self.stop())
        self._behind = Background()
        super().__init__([self.bar, self.words, self.cancel])
        self.layout.display = "none"

    @property
    def running(self) -> bool:
        """Whether the work goes on."""
        return self._behind.running

    def stop(self) -> None:
        """Ask the work to end; what is done so far becomes its result."""
        self._behind.stop()
        if self.running:
            self._say("Stopping after this piece.")

    def drop(self) -> None:
        """Ask the work to end, and take no notice of its result."""
        self._behind.drop()
        self._hide()

    def _hide(self) -> None:
        """Nothing of finished work is left to be read aloud after its result."""
        self.words.value = ""
        self.layout.display = "none"

    def start(
        self, work: Work, done: Callable[[Any], None], failed: Callable[[Exception], None]
    ) -> None:
        """Begin, as `Background.start`; work that is on already is dropped."""
        self.bar.value = 0.0
        self._say("Begun.")
        self.layout.display = ""

        def ended(then: Callable[[Any], None]) -> Callable[[Any], None]:
            def end(value: Any) -> None:
                self._hide()
                then(value)

            return end

        self._behind.start(work, ended(done), ended(failed), self._tell)

    def _tell(self, gone: Gone) -> None:
        self.bar.value = gone.done / gone.count
        self._say(f"{gone.done:,} of {gone.count:,}, {_left(gone.left)} left", "off")

    def _say(self, words: str, live: str = "polite") -> None:
        """Progress is not read aloud piece by piece."""
        self.words.value = (
            f'<div role="status" aria-live="{live}" style="font-size:15px">{html.escape(words)}'
            "</div>"
        )


def _left(seconds: float) -> str:
    if seconds < 1.0:
        return "under a second"
    return f"about {seconds:.0f} s" if seconds < 100 else f"about {seconds / 60:.0f} min"
