"""A classroom on this machine: ``python tests/benchmark_classroom.py [--learners 5,10,20] [--seconds 30]``.

One Jupyter server, and so many learners, each with a kernel of their own. All run lesson 02 at the same moment, with
keys and a needle below it, then do as people do: drag a slider for about a second, and pause to look; or, in some of
the pauses, listen, while the picture follows what sounds, play a few chords on the keys, or sing to the needle.
Messages go the way a browser's go: over a websocket to the server and on to the kernel, the next value only when the
kernel has answered the last. Measured from a move of the hand until the picture that shows it, or a later one, has
arrived; from the news that other notes sound until they have lit up; and from a chord on the keys until it has been
named. The class is doubled until it breaks. The peer is the same lesson with `ipywidgets.interact` in place of the
panels.

What a browser takes to paint a picture is not in these figures; `benchmark_panel.py` has it.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import random
import statistics
import sys
import time
import urllib.request
import uuid
from array import array
from collections.abc import AsyncIterator, Iterator
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import nbformat
import psutil
from jupyter_server.services.kernels.connection.base import deserialize_msg_from_ws_v1, serialize_msg_to_ws_v1
from server import Server, running_server
from tornado.httpclient import HTTPRequest
from tornado.websocket import WebSocketClientConnection, websocket_connect

LESSONS = Path(__file__).resolve().parent.parent / "lessons"
LESSON = "02_overtones.ipynb"
SEED = 31
PEER_LEARNERS = 10
BROKEN_MS = 150  # a class in which the median move takes longer has broken
MOST_LEARNERS = 640  # where doubling ends
MIB = 1 << 20
_PROTOCOL = "v1.kernel.websocket.jupyter.org"
_POINTER_PER_SECOND = 60  # how often a browser reports a moving pointer
_DRAG_SECONDS = (0.7, 1.4)
_PAUSE_SECONDS = (2.0, 5.0)
_HEAR, _PLAY, _SING = 0.3, 0.2, 0.1  # the parts of pauses in which a learner listens, plays the keys, and sings
_LIVE = ["from tunelib.live import keys, needle", "keys(31)", 'needle(31, target="E4", drone="C4")']
_TELLS = {"flow": 0.066, "notes": 0.5, "": 5.0}  # seconds from one telling of what sounds to the next
_CHORDS = [[0, 10, 18], [0, 8, 18, 26], [5, 13, 23, 31]]  # steps of thirty-one
_SUNG_FRAMES = 500  # of an attempt at a note, 10 ms each
_PATIENCE = 600.0  # seconds, for a whole class to run a lesson
_LATE = 10.0  # seconds after a drag in which its last picture must have come
_SAMPLE_SECONDS = 5.0
_SETTLE_SECONDS = 2.0  # between running the lesson and moving sliders
_SLIDERS = {"IntSliderModel", "FloatSliderModel", "FloatLogSliderModel", "SelectionSliderModel"}

_PLAIN = """
from IPython.display import Image, display
from ipywidgets import interact
from tunelib.exhibits import find_exhibit
from tunelib.show.knob_widgets import knob_widget
from tunelib.show.still import picture

def panel(name, **values):
    exhibit = find_exhibit(name)
    settled = exhibit.settle(values)

    def show(**values):
        display(Image(picture(exhibit, size="panel", **values)))

    interact(show, **{knob.name: knob_widget(knob, settled[knob.name]) for knob in exhibit.knobs})
"""


def lesson_cells(plain: bool) -> list[str]:
    """The code of the lesson; with plain `interact` in place of its panels if asked."""
    cells = [str(cell.source) for cell in nbformat.read(LESSONS / LESSON, 4).cells if cell.cell_type == "code"]
    if not plain:
        return [*cells, *_LIVE]
    return [_PLAIN, *(cell.replace("from tunelib.show import panel", "pass") for cell in cells)]


# The server.


def new_kernel(server: Server) -> str:
    """Have a kernel started as for a notebook; its name."""
    session = {"path": f"{uuid.uuid4().hex}.ipynb", "name": "", "type": "notebook", "kernel": {"name": "python3"}}
    request = urllib.request.Request(
        f"{server.address}api/sessions", json.dumps(session).encode(), {"Authorization": f"token {server.token}"}
    )
    with urllib.request.urlopen(request, timeout=_PATIENCE) as answer:
        return str(json.loads(answer.read())["kernel"]["id"])


def kernel_process(server: Server, kernel: str) -> psutil.Process:
    """The process of a kernel."""
    return next(one for one in server.process.children() if any(kernel in word for word in one.cmdline()))


# A learner's page.


@dataclass
class Seen:
    """What was seen by all learners while they moved sliders."""

    delays: list[float] = field(default_factory=list)  # seconds, one for each move of a hand
    pictures: int = 0  # that came during drags
    drag_seconds: float = 0.0
    lost: int = 0  # moves whose picture never came
    heard: int = 0
    lit: list[float] = field(default_factory=list)  # seconds, one for each time that other notes sounded
    named: list[float] = field(default_factory=list)  # seconds, one for each chord on the keys
    sung: int = 0
    received: int = 0  # bytes


@dataclass
class Sent:
    """A message with a slider's value: when the hand made the moves that it carries."""

    name: str
    moved: list[float]
    answered: bool = False


class Page:
    """What the page in a learner's browser does: it keeps the models of the widgets, and sends the hand's moves."""

    def __init__(self, socket: WebSocketClientConnection, session: str, seen: Seen) -> None:
        self._socket = socket
        self._session = session
        self._seen = seen
        self.models: dict[str, dict[str, Any]] = {}
        self._running: dict[str, asyncio.Future[None]] = {}
        self._failed: dict[str, str] = {}
        self._slider: tuple[str, str] = ("", "")  # the one in the hand: its model and what of it moves
        self._picture = ""  # the model of the picture that shows it; none for plain output
        self._value: Any = None
        self._moved: list[float] = []  # by the hand, and not sent yet
        self._sent: list[Sent] = []  # and not seen yet
        self._awaited = ""  # the message with a value that the kernel has not answered yet
        self._dragging = False
        self._lighting: asyncio.Future[None] | None = None  # what sounds has been told, and is not lit up yet
        self._naming: asyncio.Future[None] | None = None  # a chord is held, and not named yet
        self._reader = asyncio.create_task(self._read())

    def close(self) -> None:
        self._reader.cancel()
        self._socket.close()

    def _send(self, kind: str, content: dict[str, Any], *buffers: bytes) -> str:
        name = uuid.uuid4().hex
        header = {
            "msg_id": name, "msg_type": kind, "session": self._session, "username": "", "version": "5.4",
            "date": time.strftime("%Y-%m-%dT%H:%M:%S.000000Z", time.gmtime()),
        }  # fmt: skip
        parts = {"header": header, "parent_header": {}, "metadata": {}, "content": content}
        packed = [json.dumps(parts[part]).encode() for part in ("header", "parent_header", "metadata", "content")]
        message = serialize_msg_to_ws_v1([*packed, *buffers], "shell")
        self._socket.write_message(message, binary=True)
        return name

    async def run(self, code: str) -> None:
        """Run a cell; RuntimeError if it fails."""
        content = {
            "code": code, "silent": False, "store_history": True, "user_expressions": {}, "allow_stdin": False,
            "stop_on_error": True,
        }  # fmt: skip
        name = self._send("execute_request", content)
        done = self._running[name] = asyncio.get_running_loop().create_future()
        await asyncio.wait_for(done, _PATIENCE)
        if name in self._failed:
            raise RuntimeError(f"a cell failed: {self._failed[name]}\n{code}")

    async def _read(self) -> None:
        while True:
            message = await self._socket.read_message()
            if message is None:
                return
            self._seen.received += len(message)
            _, parts = deserialize_msg_from_ws_v1(message)
            header, parent, _, content = (json.loads(part) for part in parts[:4])
            self._take(header["msg_type"], parent.get("msg_id", ""), content)

    def _take(self, kind: str, parent: str, content: dict[str, Any]) -> None:
        if kind == "status" and content["execution_state"] == "idle":
            if parent in self._running:
                self._running.pop(parent).set_result(None)
            self._answered(parent)
        elif kind == "error":
            self._failed[parent] = content["evalue"]
        elif kind == "comm_open":
            self.models[content["comm_id"]] = content["data"].get("state", {})
        elif kind == "comm_msg" and content["data"].get("method") == "update":
            self.models.setdefault(content["comm_id"], {}).update(content["data"]["state"])
            if content["comm_id"] == self._picture and ["value"] in content["data"].get("buffer_paths", []):
                self._shown(parent)
            if "reading" in content["data"]["state"] and self._naming and not self._naming.done():
                self._naming.set_result(None)
        elif kind == "comm_msg" and content["data"].get("content", {}).get("do") == "go on telling":
            if self._lighting and not self._lighting.done():
                self._lighting.set_result(None)
        elif kind == "display_data" and not self._picture and "image/png" in content["data"]:
            self._shown(parent)

    def panels(self) -> list[Panel]:
        """The panels on the page, or what is there instead."""
        found = []
        for model in self.models.values():
            if {"tunelib-panel", "widget-interact"} & set(model.get("_dom_classes", [])):
                inside = dict(self._inside(model))
                sliders = [one for one, state in inside.items() if state.get("_model_name") in _SLIDERS]
                picture = _of_class(inside, "tunelib-picture")
                found.append(Panel(sliders, picture, _of_class(inside, "tunelib-sound")))
        return found

    def _inside(self, model: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
        for child in model.get("children", []):
            name = child.removeprefix("IPY_MODEL_")
            yield name, self.models[name]
            yield from self._inside(self.models[name])

    async def drag(self, panel: Panel, chance: random.Random) -> None:
        """Drag one of a panel's sliders to another place, and wait until the last of its pictures is there."""
        slider = chance.choice(panel.sliders)
        model = self.models[slider]
        trait, places = _places(model)
        here = min(range(len(places)), key=lambda place: abs(places[place] - model[trait]))
        there = chance.choice([place for place in range(len(places)) if place != here])
        seconds = chance.uniform(*_DRAG_SECONDS)
        self._slider, self._picture = (slider, trait), panel.picture
        self._dragging = True
        began = time.perf_counter()
        while (part := min((time.perf_counter() - began) / seconds, 1.0)) < 1.0:
            await asyncio.sleep(1 / _POINTER_PER_SECOND)
            smooth = part * part * (3 - 2 * part)
            self._move(places[round(here + smooth * (there - here))])
        self._move(places[there])
        self._dragging = False
        self._seen.drag_seconds += time.perf_counter() - began
        ended = time.perf_counter()
        while (self._sent or self._moved) and time.perf_counter() - ended < _LATE:
            await asyncio.sleep(0.02)
        self._seen.lost += len(self._moved) + sum(len(sent.moved) for sent in self._sent)
        self._moved, self._sent, self._awaited = [], [], ""

    def _move(self, value: Any) -> None:
        slider, trait = self._slider
        if self.models[slider][trait] == value:
            return
        self.models[slider][trait] = value
        self._value = value
        self._moved.append(time.perf_counter())
        if not self._awaited:
            self._send_move()

    def _send_move(self) -> None:
        slider, trait = self._slider
        data = {"method": "update", "state": {trait: self._value}, "buffer_paths": []}
        self._awaited = self._send("comm_msg", {"comm_id": slider, "data": data})
        self._sent.append(Sent(self._awaited, self._moved))
        self._moved = []

    def _answered(self, parent: str) -> None:
        """The kernel has answered a message: if the hand has moved on, its newest value goes off."""
        for sent in self._sent:
            sent.answered |= sent.name == parent
        if parent == self._awaited:
            self._awaited = ""
            if self._moved:
                self._send_move()

    def _shown(self, parent: str) -> None:
        """A picture has come: it shows the message in answer to which it was drawn, and all answered before."""
        now = time.perf_counter()
        self._seen.pictures += self._dragging
        names = [sent.name for sent in self._sent]
        last = names.index(parent) if parent in names else -1
        shown = [sent for place, sent in enumerate(self._sent) if place <= last or sent.answered]
        self._sent = [sent for sent in self._sent if sent not in shown]
        self._seen.delays += [now - moved for sent in shown for moved in sent.moved]

    async def listen(self, panel: Panel, seconds: float) -> None:
        """Press "Hear it", and tell the kernel what sounds as a page does, until "Stop"."""
        self._seen.heard += 1
        self._update(panel.hear, playing=True)
        began = time.perf_counter()
        while (at := time.perf_counter() - began) < seconds:
            self._lighting = asyncio.get_running_loop().create_future()
            told = {"method": "custom", "content": {"at": at, "hold": False}}
            self._send("comm_msg", {"comm_id": panel.hear, "data": told})
            try:
                await asyncio.wait_for(self._lighting, _LATE)
                self._seen.lit.append(time.perf_counter() - began - at)
            except asyncio.TimeoutError:
                self._seen.lost += 1
            await asyncio.sleep(_TELLS[self.models[panel.hear].get("follow", "")])
        self._update(panel.hear, playing=False)

    async def play(self, seconds: float) -> None:
        """Play some chords on the keys, each until it has been named, and let go of them."""
        board = next(one for one, state in self.models.items() if "held" in state and "lit" in state)
        began = time.perf_counter()
        for number, chord in enumerate(_CHORDS):
            for place, step in enumerate(chord):
                note = {"id": 10 * number + place, "step": step, "seconds": time.perf_counter(), "velocity": 0.7}
                told = {"method": "custom", "content": {**note, "cents": 0.0}}
                self._send("comm_msg", {"comm_id": board, "data": told})
            self._naming = asyncio.get_running_loop().create_future()
            pressed = time.perf_counter()
            self._update(board, held=chord)
            try:
                await asyncio.wait_for(self._naming, _LATE)
                self._seen.named.append(time.perf_counter() - pressed)
            except asyncio.TimeoutError:
                self._seen.lost += 1
            await asyncio.sleep(max(0.0, seconds / len(_CHORDS) - (time.perf_counter() - pressed)))
            self._update(board, held=[])
        await asyncio.sleep(max(0.0, seconds - (time.perf_counter() - began)))

    async def sing(self, seconds: float) -> None:
        """Sing to the needle: nothing is asked of the kernel until the attempt is over."""
        found = next(one for one, state in self.models.items() if "listening" in state and "drone" in state)
        self._seen.sung += 1
        self._update(found, listening=True)
        await asyncio.sleep(seconds)
        at = [0.01 * frame for frame in range(_SUNG_FRAMES)]
        buffers = [array("d", values).tobytes() for values in (at, [329.6] * _SUNG_FRAMES)]
        told = {"method": "custom", "content": {"attempt": 329.6}}
        self._send("comm_msg", {"comm_id": found, "data": told}, *buffers)
        self._update(found, listening=False)

    def _update(self, model: str, **state: Any) -> None:
        data = {"method": "update", "state": state, "buffer_paths": []}
        self._send("comm_msg", {"comm_id": model, "data": data})


@dataclass
class Panel:
    """The models of a panel that matter here; no picture and no sound for plain `interact`."""

    sliders: list[str]
    picture: str
    hear: str


def _of_class(models: dict[str, dict[str, Any]], name: str) -> str:
    return next((model for model, state in models.items() if name in state.get("_dom_classes", [])), "")


def _places(slider: dict[str, Any]) -> tuple[str, list[Any]]:
    """What of a slider moves, and all the values that it can have."""
    if slider["_model_name"] == "SelectionSliderModel":
        return "index", list(range(len(slider["_options_labels"])))
    low, step = slider["min"], slider["step"]
    steps = round((slider["max"] - low) / step)
    if slider["_model_name"] == "IntSliderModel":
        return "value", [low + step * place for place in range(steps + 1)]
    if slider["_model_name"] == "FloatSliderModel":
        return "value", [round(low + step * place, 9) for place in range(steps + 1)]
    return "value", [slider["base"] ** (low + step * place) for place in range(steps + 1)]


@asynccontextmanager
async def open_page(server: Server, seen: Seen) -> AsyncIterator[tuple[Page, psutil.Process]]:
    """A page with a fresh kernel, and the process of that kernel."""
    kernel, session = await asyncio.to_thread(new_kernel, server), uuid.uuid4().hex
    channels = f"{server.address.replace('http', 'ws', 1)}api/kernels/{kernel}/channels?session_id={session}"
    request = HTTPRequest(channels, headers={"Authorization": f"token {server.token}"}, request_timeout=_PATIENCE)
    socket = await websocket_connect(request, subprotocols=[_PROTOCOL], max_message_size=1 << 28)
    page = Page(socket, session, seen)
    try:
        await page.run("pass")
        yield page, kernel_process(server, kernel)
    finally:
        page.close()


# A class.


@dataclass(frozen=True)
class Result:
    """What was measured of one class. Memory in bytes, times in seconds."""

    learners: int
    ready: float
    lesson_cpu: float  # processor seconds of one kernel for running the lesson
    over_bare: list[int]  # each learner's kernel at its largest, over a bare kernel
    bare: int
    resident: int  # the largest kernel, with all that it shares with others, as a container counts it
    server: int  # the same of the server
    cores: dict[str, float]
    seen: Seen
    seconds: float

    @property
    def median_ms(self) -> float:
        return 1000 * statistics.median(self.seen.delays)


async def measure(learners: int, seconds: float, plain: bool = False) -> Result:
    """Have a class run the lesson and move its sliders for so long."""
    with running_server(LESSONS) as server:
        seen = Seen()
        async with AsyncExitStack() as room:
            _, bare = await room.enter_async_context(open_page(server, Seen()))
            opened = [await room.enter_async_context(open_page(server, seen)) for _ in range(learners)]
            pages, kernels = zip(*opened, strict=True)
            cells = lesson_cells(plain)
            began, unused = time.perf_counter(), _cpu(kernels)
            await asyncio.gather(*(_run_lesson(page, cells) for page in pages))
            ready, lesson_cpu = time.perf_counter() - began, (_cpu(kernels) - unused) / learners
            await asyncio.sleep(_SETTLE_SECONDS)
            seen.received = 0
            sampler = Sampler([bare, server.process, *kernels])
            watching = asyncio.create_task(sampler.watch())
            groups = {"kernels": kernels, "server": (server.process,), "pages": (psutil.Process(),)}
            before = {name: _cpu(group) for name, group in groups.items()}
            began = time.perf_counter()
            await asyncio.gather(*(_learn(page, SEED + one, began + seconds) for one, page in enumerate(pages)))
            took = time.perf_counter() - began
            cores = {name: (_cpu(group) - before[name]) / took for name, group in groups.items()}
            watching.cancel()
            largest = await asyncio.to_thread(sampler.take)
        return Result(
            learners=learners,
            ready=ready,
            lesson_cpu=lesson_cpu,
            over_bare=[largest[one.pid] - largest[bare.pid] for one in kernels],
            bare=largest[bare.pid],
            resident=max(sampler.resident[one.pid] for one in kernels),
            server=sampler.resident[server.process.pid],
            cores=cores,
            seen=seen,
            seconds=took,
        )


async def _run_lesson(page: Page, cells: list[str]) -> None:
    for cell in cells:
        await page.run(cell)


async def _learn(page: Page, seed: int, until: float) -> None:
    """Move sliders, look and listen, until the time is over."""
    chance = random.Random(seed)
    panels = page.panels()
    await asyncio.sleep(chance.uniform(0, _PAUSE_SECONDS[1]))  # people do not start as one
    while time.perf_counter() < until:
        panel = chance.choice(panels)
        await page.drag(panel, chance)
        pause, does = chance.uniform(*_PAUSE_SECONDS), chance.random()
        if panel.hear and does < _HEAR:
            await page.listen(panel, pause)
        elif panel.hear and does < _HEAR + _PLAY:
            await page.play(pause)
        elif panel.hear and does < _HEAR + _PLAY + _SING:
            await page.sing(pause)
        else:
            await asyncio.sleep(pause)


class Sampler:
    """The largest memory of some processes: each one's own, and its part of what several share (PSS)."""

    def __init__(self, processes: list[psutil.Process]) -> None:
        self._processes = processes
        self.largest = dict.fromkeys((one.pid for one in processes), 0)
        self.resident = dict.fromkeys((one.pid for one in processes), 0)

    async def watch(self) -> None:
        while True:
            await asyncio.to_thread(self.take)
            await asyncio.sleep(_SAMPLE_SECONDS)

    def take(self) -> dict[int, int]:
        for one in self._processes:
            now = one.memory_full_info()
            self.largest[one.pid] = max(self.largest[one.pid], now.pss)
            self.resident[one.pid] = max(self.resident[one.pid], now.rss)
        return self.largest


def _cpu(processes: tuple[psutil.Process, ...]) -> float:
    """The processor seconds that some processes have taken so far."""
    times = [one.cpu_times() for one in processes]
    return float(sum(one.user + one.system for one in times))


def report(name: str, result: Result) -> None:
    """Print what was measured of one class."""
    seen, delays = result.seen, sorted(result.seen.delays)
    over = [size / MIB for size in result.over_bare]
    print(
        f"{name}, {result.learners} learners\n"
        f"  all had run the lesson {result.ready:.1f} s after starting together;"
        f" it takes a kernel {result.lesson_cpu:.1f} s of one core\n"
        f"  memory of a kernel over a bare one: mean {statistics.mean(over):.0f} MiB, largest {max(over):.0f} MiB"
        f" (bare: {result.bare / MIB:.0f} MiB)\n"
        f"  in a container of its own: largest kernel {result.resident / MIB:.0f} MiB,"
        f" server {result.server / MIB:.0f} MiB\n"
        f"  move to picture: median {result.median_ms:.0f} ms, 95 of 100 within"
        f" {1000 * delays[int(0.95 * (len(delays) - 1))]:.0f} ms, worst {1000 * delays[-1]:.0f} ms"
        f" ({len(delays)} moves, {seen.lost} never shown)\n"
        f"  pictures in a second of dragging: {seen.pictures / seen.drag_seconds:.1f}, of"
        f" {len(delays) / seen.drag_seconds:.1f} moves; a slider is dragged"
        f" {100 * seen.drag_seconds / result.seconds / result.learners:.0f} % of the time,"
        f" {seen.heard} times somebody listened, and {seen.sung} times somebody sang\n"
        f"{_live(seen)}"
        f"  each learner takes {result.cores['kernels'] / result.learners:.3f} cores in the kernel,"
        f" {result.cores['server'] / result.learners:.3f} in the server,"
        f" and {8 * seen.received / 1e6 / result.seconds / result.learners:.2f} Mbit/s on the way to the page\n"
        f"  (the pages took {result.cores['pages']:.2f} cores of this machine, which those of a class do not)",
        flush=True,
    )


def _live(seen: Seen) -> str:
    """What was measured of what sounds, and of the keys; nothing for plain `interact`."""
    if not seen.lit or not seen.named:
        return ""
    lit, named = (sorted(1000 * one for one in delays) for delays in (seen.lit, seen.named))
    return (
        f"  other notes to their light: median {statistics.median(lit):.0f} ms, worst {lit[-1]:.0f} ms"
        f" ({len(lit)} times);"
        f" a chord on the keys to its name: median {statistics.median(named):.0f} ms, worst {named[-1]:.0f} ms"
        f" ({len(named)} chords)\n"
    )


def main(arguments: list[str]) -> int:
    """The command; returns its exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--learners", default="5,10,20", help="sizes of class, with commas between")
    parser.add_argument("--seconds", type=float, default=30, help="how long each class moves sliders")
    given = parser.parse_args(arguments)
    sizes = sorted({int(size) for size in given.learners.split(",")})
    memory = psutil.virtual_memory()
    print(f"(load of this machine before: {os.getloadavg()[0]:.1f})")
    print(f"{os.cpu_count()} cores, {memory.total / MIB / 1024:.0f} GiB ({memory.available / MIB / 1024:.0f} GiB free)")
    while True:
        size = sizes.pop(0)
        result = asyncio.run(measure(size, given.seconds))
        report("panels", result)
        if size == PEER_LEARNERS:
            report("plain interact", asyncio.run(measure(size, given.seconds, plain=True)))
        if sizes:
            continue
        if result.median_ms > BROKEN_MS:
            print(f"breaks at {size}: the median move takes longer than {BROKEN_MS} ms")
            break
        needed = 2 * size * (result.bare + max(result.over_bare)) + result.server
        if needed > psutil.virtual_memory().available or 2 * size > MOST_LEARNERS:
            print(f"{size} learners have room; twice as many would need {needed / MIB / 1024:.0f} GiB")
            break
        sizes.append(2 * size)
    print(f"(load of this machine at the end: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores)")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
