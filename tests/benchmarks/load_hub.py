"""A class on one JupyterHub: memory of each trainee, and time from slider to figure.

    python -m tests.benchmarks.load_hub --trainees 1 5 10 --seconds 60 [--pause 0.5] [--json file]

Wants Linux, ``pip install jupyterhub`` beside sealkit[lab] and ``npm install -g
configurable-http-proxy``. For each number it starts a hub of its own (tests/hub) in a new folder on
free ports of this machine, and that many trainees log in, open lesson 00, run its cells, and once
all are there move its sliders, one step of one slider at a time: wait for the figure, pause, next.
There is no browser: the trainee sends what JupyterLab's widgets send (the slider's value) and takes
what they take, over the hub's proxy and the same websocket. So the time ends when the figure's new
values arrive, before they are painted, and trainees and hub share the machine.

Exit code 1 if a trainee did not get in or a slider was left without a new figure.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import importlib.metadata
import importlib.util
import itertools
import json
import math
import os
import random
import secrets
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from statistics import median
from typing import Any

import httpx
import numpy as np
from jupyter_server.services.kernels.connection.base import (
    deserialize_msg_from_ws_v1,
    serialize_msg_to_ws_v1,
)
from tornado.httpclient import HTTPRequest
from tornado.websocket import WebSocketClientConnection, websocket_connect

from tests.benchmarks.__main__ import machine
from tests.browser.drive import ROOT, _free_port

CONFIG = ROOT / "tests" / "hub" / "jupyterhub_config.py"
LESSON = "notebooks/00-the-whole-joint.ipynb"
PROTOCOL = "v1.kernel.websocket.jupyter.org"
MARK = "SEALKIT_HUB_RUN"
LATE = 30.0  # s without a new figure: the slider counts as lost
OPEN = 600.0  # s to get in
TICK = os.sysconf("SC_CLK_TCK") if hasattr(os, "sysconf") else 100


# ------------------------------------------------------------------ processes of one run
def environ(data: bytes) -> dict[str, str]:
    """A process's environment from the bytes of ``/proc/<pid>/environ``."""
    pairs = (part.partition(b"=") for part in data.split(b"\0") if b"=" in part)
    return {k.decode(errors="replace"): v.decode(errors="replace") for k, _, v in pairs}


def kilobytes(text: str) -> dict[str, int]:
    """Name -> kB from the lines of ``/proc/<pid>/smaps_rollup``."""
    out = {}
    for line in text.splitlines():
        words = line.split()
        if len(words) == 3 and words[2] == "kB":
            out[words[0].rstrip(":")] = int(words[1])
    return out


def ticks(text: str) -> int:
    """Clock ticks of processor time a process has used, from ``/proc/<pid>/stat``."""
    rest = text.rpartition(")")[2].split()  # the name before it may hold anything
    return int(rest[11]) + int(rest[12])


def processes(mark: str) -> dict[int, str]:
    """Process -> trainee ("" for hub and proxy) of all that carry the mark of this run."""
    out = {}
    for path in Path("/proc").glob("[0-9]*/environ"):
        with contextlib.suppress(OSError):  # gone, or not ours
            found = environ(path.read_bytes())
            if found.get(MARK) == mark:
                out[int(path.parent.name)] = found.get("JUPYTERHUB_USER", "")
    return out


@dataclass
class Use:
    """What the processes of one trainee (or of hub and proxy) hold and have used."""

    pss: float = 0.0  # MB; memory shared by processes is shared out among them
    rss: float = 0.0  # MB; memory shared by processes counts in each
    cpu: float = 0.0  # s
    number: int = 0


def uses(mark: str) -> dict[str, Use]:
    """Trainee -> what is used now."""
    out: dict[str, Use] = {}
    for pid, who in processes(mark).items():
        with contextlib.suppress(OSError, KeyError):
            found = kilobytes(Path(f"/proc/{pid}/smaps_rollup").read_text())
            used = ticks(Path(f"/proc/{pid}/stat").read_text()) / TICK
            one = out.setdefault(who, Use())
            one.pss += found["Pss"] * 1024 / 1e6
            one.rss += found["Rss"] * 1024 / 1e6
            one.cpu += used
            one.number += 1
    return out


# ------------------------------------------------------------------ the hub
@dataclass(frozen=True)
class Hub:
    """A hub that runs."""

    address: str
    password: str
    mark: str
    log: Path


def missing() -> list[str]:
    """What has to be installed first, as commands."""
    out = []
    if not sys.platform.startswith("linux"):
        out.append("Linux: memory is read from /proc")
    if importlib.util.find_spec("jupyterhub") is None:
        out.append(f"{sys.executable} -m pip install jupyterhub")
    if shutil.which("configurable-http-proxy") is None:
        out.append("npm install -g configurable-http-proxy")
    return out


@contextlib.contextmanager
def hub() -> Iterator[Hub]:
    """A hub in a new folder; all it started is ended on the way out."""
    with tempfile.TemporaryDirectory(prefix="sealkit-hub-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        ports = [_free_port() for _ in range(3)]
        mark, password = uuid.uuid4().hex, secrets.token_urlsafe(16)
        env = {
            **os.environ,
            MARK: mark,
            "SEALKIT_HUB_FOLDER": name,
            "SEALKIT_HUB_PORTS": " ".join(map(str, ports)),
            "SEALKIT_HUB_PASSWORD": password,
            # the trainees' servers come from the environment that runs this
            "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ.get('PATH', '')}",
        }
        one = Hub(f"http://127.0.0.1:{ports[0]}", password, mark, folder / "hub.log")
        with one.log.open("w") as log:
            # a session of its own: Ctrl-C comes here, and here the hub is ended
            server = subprocess.Popen(
                [sys.executable, "-m", "jupyterhub", "-f", str(CONFIG)],
                env=env,
                cwd=folder,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
            try:
                _wait_for(one, server)
                yield one
            finally:
                end(server, mark)


def _wait_for(one: Hub, server: subprocess.Popen[bytes]) -> None:
    end_by = time.monotonic() + 120
    while True:
        try:
            urllib.request.urlopen(f"{one.address}/hub/health", timeout=2).close()
            return
        except (urllib.error.URLError, OSError):
            if server.poll() is not None or time.monotonic() > end_by:
                raise RuntimeError(f"the hub did not start:\n{tail(one.log)}") from None
            time.sleep(0.3)


def tail(log: Path) -> str:
    """The end of the hub's log."""
    return log.read_text(errors="replace")[-4000:]


def end(server: subprocess.Popen[bytes], mark: str) -> None:
    """End the hub, and whatever is left of this run after that."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)  # no second Ctrl-C in here
    try:
        server.terminate()
        with contextlib.suppress(subprocess.TimeoutExpired):
            server.wait(30)
        for way in (signal.SIGTERM, signal.SIGKILL):
            for pid in processes(mark):
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, way)
            end_by = time.monotonic() + 10
            while processes(mark) and time.monotonic() < end_by:
                server.poll()
                time.sleep(0.2)
        server.wait(10)
    finally:
        signal.signal(signal.SIGINT, before)


# ------------------------------------------------------------------ a panel, as the browser has it
@dataclass
class Slider:
    """One slider of the panel."""

    comm: str
    low: float
    high: float
    step: float
    value: float

    def next(self, draw: random.Random) -> float:
        """One step up or down, never past the ends."""
        number = round((self.high - self.low) / self.step)
        place = round((self.value - self.low) / self.step)
        place += 1 if place <= 0 else -1 if place >= number else draw.choice((-1, 1))
        self.value = round(self.low + place * self.step, 9)
        return self.value


@dataclass
class Widgets:
    """Sliders and figure among the widgets that a kernel opened."""

    sliders: dict[str, Slider] = field(default_factory=dict)
    figure: str = ""
    received: int = 0

    def take(self, kind: str, content: dict[str, Any], buffers: Sequence[bytes]) -> Any:
        """Take one message; what the figure shows from now on if it is that, else None."""
        comm, data = content["comm_id"], content.get("data", {})
        state = data.get("state", {})
        if kind == "comm_open":
            if state.get("_model_name") == "FloatSliderModel" and not state.get("disabled"):
                values = (float(state[k]) for k in ("min", "max", "step", "value"))
                self.sliders[comm] = Slider(comm, *values)
            elif "_widget_data" in state:
                self.figure = comm
        elif kind == "comm_close":
            self.sliders.pop(comm, None)
        elif comm == self.figure and data.get("method") == "update":
            shown = state.get("_py2js_update")
            if shown and shown.get("style_data"):
                return shown, tuple(buffers)
        return None


class Kernel:
    """The websocket of one notebook."""

    def __init__(self, socket: WebSocketClientConnection) -> None:
        self.socket = socket
        self.session = uuid.uuid4().hex
        self.widgets = Widgets()
        self.replies: dict[str, asyncio.Future[str]] = {}
        self.shown: asyncio.Future[Any] | None = None
        self.reader = asyncio.create_task(self._read())

    def send(self, kind: str, content: dict[str, Any]) -> str:
        """Send one message on the shell channel; returns its name."""
        name = uuid.uuid4().hex
        head = {
            "msg_id": name,
            "msg_type": kind,
            "session": self.session,
            "username": "",
            "date": "",
            "version": "5.3",
        }
        parts = [json.dumps(x).encode() for x in (head, {}, {}, content)]
        self.socket.write_message(serialize_msg_to_ws_v1(parts, "shell"), binary=True)
        return name

    async def run(self, source: str) -> None:
        """Run one cell to its end."""
        content = {
            "code": source,
            "silent": False,
            "store_history": True,
            "user_expressions": {},
            "allow_stdin": False,
            "stop_on_error": True,
        }
        reply: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        self.replies[self.send("execute_request", content)] = reply
        fault = await reply
        if fault:
            raise RuntimeError(f"a cell of the lesson failed: {fault}\n{source}")

    async def move(self, slider: Slider, value: float) -> Any:
        """Put a slider there; what the figure then shows."""
        self.shown = asyncio.get_running_loop().create_future()
        data = {"method": "update", "state": {"value": value}, "buffer_paths": []}
        self.send("comm_msg", {"comm_id": slider.comm, "data": data})
        try:
            return await asyncio.wait_for(self.shown, LATE)
        finally:
            self.shown = None

    async def _read(self) -> None:
        while True:
            message = await self.socket.read_message()
            if message is None:
                break
            assert isinstance(message, bytes)
            _, parts = deserialize_msg_from_ws_v1(message)
            self.widgets.received += len(message)
            head, parent, _, content = (json.loads(part) for part in parts[:4])
            kind = head["msg_type"]
            if kind == "execute_reply":
                reply = self.replies.pop(parent.get("msg_id", ""), None)
                if reply is not None and not reply.done():
                    good = content["status"] == "ok"
                    reply.set_result("" if good else content.get("evalue", content["status"]))
            elif kind.startswith("comm_"):
                shown = self.widgets.take(kind, content, parts[4:])
                if shown is not None and self.shown is not None and not self.shown.done():
                    self.shown.set_result(shown)
        for reply in self.replies.values():
            if not reply.done():
                reply.set_exception(ConnectionError("the kernel's websocket was closed"))


class Trainee:
    """One trainee at the hub."""

    def __init__(self, hub: Hub, number: int) -> None:
        self.hub = hub
        self.name = f"trainee-{number:02d}"
        self.home = f"/user/{self.name}"
        self.draw = random.Random(number)
        self.client = httpx.AsyncClient(
            base_url=hub.address, follow_redirects=True, timeout=120, trust_env=False
        )
        self.kernel: Kernel | None = None
        self.opened = 0.0
        self.times: list[float] = []
        self.lost = 0
        self.same = 0

    def _token(self, path: str) -> str:
        """The token against forged requests that belongs to a path."""
        return next(
            (str(c.value) for c in self.client.cookies.jar if c.name == "_xsrf" and c.path == path),
            "",
        )

    async def open(self) -> None:
        """Log in, start the server, open the lesson and run all its cells."""
        start = time.perf_counter()
        await self.client.get("/hub/login")
        form = {"username": self.name, "password": self.hub.password, "_xsrf": self._token("/hub/")}
        (await self.client.post("/hub/login", data=form)).raise_for_status()
        await self.client.get("/hub/spawn")
        while True:
            page = await self.client.get(f"{self.home}/lab")
            if page.status_code == 200 and page.url.path.startswith(f"{self.home}/lab"):
                break
            if time.perf_counter() - start > OPEN:
                raise RuntimeError(f"{self.name} got no server: {page.status_code} {page.url}")
            await asyncio.sleep(0.5)
        book = (await self.client.get(f"{self.home}/api/contents/{LESSON}")).raise_for_status()
        session = await self.client.post(
            f"{self.home}/api/sessions",
            json={"path": LESSON, "name": LESSON, "type": "notebook", "kernel": {"name": ""}},
            headers={"X-XSRFToken": self._token(f"{self.home}/")},
        )
        session.raise_for_status()
        self.kernel = Kernel(await self._connect(session.json()["kernel"]["id"]))
        for cell in book.json()["content"]["cells"]:
            if cell["cell_type"] == "code":
                await asyncio.wait_for(self.kernel.run("".join(cell["source"])), OPEN)
        if not (self.kernel.widgets.figure and self.kernel.widgets.sliders):
            raise RuntimeError(f"{self.name} sees no figure with sliders in {LESSON}")
        self.opened = time.perf_counter() - start

    async def _connect(self, kernel: str) -> WebSocketClientConnection:
        path = f"{self.home}/api/kernels/{kernel}/channels"
        cookies = self.client.build_request("GET", path).headers.get("cookie", "")
        request = HTTPRequest(
            f"ws{self.hub.address.removeprefix('http')}{path}?session_id={uuid.uuid4().hex}",
            headers={
                "Cookie": cookies,
                "Origin": self.hub.address,
                "Sec-Fetch-Mode": "websocket",
                "Sec-Fetch-Site": "same-origin",
            },
            connect_timeout=120,
        )
        return await websocket_connect(
            request, subprotocols=[PROTOCOL], max_message_size=64 * 1024 * 1024
        )

    async def work(self, seconds: float, pause: float) -> None:
        """Move the sliders that long."""
        assert self.kernel is not None
        before = None
        end_by = time.perf_counter() + seconds
        await asyncio.sleep(self.draw.uniform(0, pause))  # nobody moves in step with the others
        while time.perf_counter() < end_by:
            sliders = list(self.kernel.widgets.sliders.values())
            slider = self.draw.choice(sliders)
            start = time.perf_counter()
            try:
                shown = await self.kernel.move(slider, slider.next(self.draw))
            except TimeoutError:
                self.lost += 1
                continue
            self.times.append(time.perf_counter() - start)
            now = json.dumps(shown[0]["style_data"], default=str, sort_keys=True), shown[1]
            self.same += now == before
            before = now
            await asyncio.sleep(pause)

    async def leave(self) -> None:
        """Let go of the connections; the hub ends the server."""
        if self.kernel is not None:
            self.kernel.socket.close()
            self.kernel.reader.cancel()
        await self.client.aclose()


# ------------------------------------------------------------------ a class
@dataclass
class Outcome:
    """One class: times in s, memory in MB for each trainee (server and kernel)."""

    trainees: int
    seconds: float
    pause: float
    load_before: float = 0.0  # of the machine, before the hub was started
    opened: list[float] = field(default_factory=list)
    received: float = 0.0  # MB through the websocket of one trainee, opening
    times: list[float] = field(default_factory=list)
    lost: int = 0
    same: int = 0  # figures that came but showed nothing new
    pss: list[float] = field(default_factory=list)
    rss: list[float] = field(default_factory=list)
    hub_pss: float = 0.0
    cores: float = 0.0  # kept busy by trainees, hub and proxy while sliders moved
    cores_driver: float = 0.0  # kept busy by this script meanwhile

    @property
    def ok(self) -> bool:
        """Whether every slider got its new figure."""
        return bool(self.times) and not self.lost and not self.same

    def line(self) -> str:
        """One line of the table."""
        p95 = percentile(self.times, 95) * 1e3
        return (
            f"{self.trainees:8d} {median(self.opened):6.1f} {max(self.opened):6.1f} "
            f"{len(self.times):6d} {percentile(self.times, 50) * 1e3:6.0f} {p95:6.0f} "
            f"{self.lost + self.same:5d} {sum(self.pss) / len(self.pss):6.0f} "
            f"{sum(self.rss) / len(self.rss):6.0f} {self.hub_pss:6.0f} "
            f"{self.cores:6.2f} {self.cores_driver:6.2f} {self.load_before:6.1f}"
        )


HEADING = """\
           open, s              slider, ms           MB a trainee  hub,  cores busy    load
trainees    mid.  worst  moves   mid.   95%  lost    PSS    RSS MB PSS   class script before"""


def percentile(values: Sequence[float], share: float) -> float:
    """That percentile; not a number where there are none."""
    return float(np.percentile(values, share)) if values else math.nan


async def _watch(mark: str, most: dict[str, Use]) -> None:
    """Keep the most that each trainee held."""
    while True:
        for who, now in (await asyncio.to_thread(uses, mark)).items():
            kept = most.setdefault(who, Use())
            kept.pss, kept.rss = max(kept.pss, now.pss), max(kept.rss, now.rss)
        await asyncio.sleep(10)


async def school(one: Hub, outcome: Outcome) -> None:
    """One class from the first login to the last slider."""
    everyone = [Trainee(one, i + 1) for i in range(outcome.trainees)]
    most: dict[str, Use] = {}
    watch: asyncio.Task[None] | None = None
    try:
        await asyncio.gather(*(t.open() for t in everyone))
        outcome.opened = [t.opened for t in everyone]
        outcome.received = max(t.kernel.widgets.received for t in everyone if t.kernel) / 1e6
        before, clock, own = uses(one.mark), time.perf_counter(), time.process_time()
        watch = asyncio.create_task(_watch(one.mark, most))
        await asyncio.gather(*(t.work(outcome.seconds, outcome.pause) for t in everyone))
        span = time.perf_counter() - clock
        after = uses(one.mark)
        # a process that ended meanwhile took its count with it
        used = (max(0.0, u.cpu - before.get(w, Use()).cpu) for w, u in after.items())
        outcome.cores = sum(used) / span
        outcome.cores_driver = (time.process_time() - own) / span
        for t in everyone:
            last, kept = after[t.name], most.get(t.name, Use())
            if last.number < 2:
                raise RuntimeError(f"{t.name} has {last.number} process; server and kernel wanted")
            outcome.pss.append(max(last.pss, kept.pss))
            outcome.rss.append(max(last.rss, kept.rss))
        outcome.hub_pss = after[""].pss
        outcome.times = list(itertools.chain.from_iterable(t.times for t in everyone))
        outcome.lost = sum(t.lost for t in everyone)
        outcome.same = sum(t.same for t in everyone)
    finally:
        if watch is not None:
            watch.cancel()
        for t in everyone:
            await t.leave()


def measure(trainees: int, seconds: float, pause: float) -> Outcome:
    """One class on a hub of its own."""
    outcome = Outcome(trainees, seconds, pause, load_before=os.getloadavg()[0])
    with hub() as one:
        try:
            asyncio.run(school(one, outcome))
        except Exception:
            print(tail(one.log), file=sys.stderr)
            raise
    return outcome


def _version(package: str) -> str | None:
    try:
        return importlib.metadata.version(package)
    except importlib.metadata.PackageNotFoundError:
        return None


def main(argv: Sequence[str] | None = None) -> int:
    """Measure each class; returns the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.load_hub")
    parser.add_argument("--trainees", type=int, nargs="+", default=[1, 5, 10])
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument(
        "--pause", type=float, default=0.5, help="s from a new figure to the next move"
    )
    parser.add_argument("--json", help="file for the figures")
    args = parser.parse_args(argv)
    if min(args.trainees) < 1 or args.seconds <= 0 or args.pause < 0:
        parser.error("at least one trainee, some seconds, and no pause below zero")
    wanted = missing()
    if wanted:
        parser.error("first: " + "; ".join(wanted))
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # so that the hub is ended
    libraries = ("jupyterhub", "jupyterlab", "jupyter-server", "ipykernel")
    head = {**machine(), "hub": {name: _version(name) for name in libraries}}
    done: list[Outcome] = []
    print(HEADING, flush=True)
    try:
        for number in args.trainees:
            done.append(measure(number, args.seconds, args.pause))
            print(done[-1].line(), flush=True)
            if args.json:
                rows = [{**asdict(o), "p95": percentile(o.times, 95)} for o in done]
                text = json.dumps({**head, "classes": rows}, indent=1)
                Path(args.json).write_text(text + "\n", encoding="utf-8")
    except KeyboardInterrupt:
        print("stopped; the hub is ended", file=sys.stderr)
        return 130
    return int(not all(o.ok for o in done))


if __name__ == "__main__":
    sys.exit(main())
