"""How long it takes from a sound to its mark on the screen of a rehearsal, in a real Chromium.

    python bench/live_delay.py                 the table of docs/performance.md
    python bench/live_delay.py --seconds 20 --only quiet

The studio is served as a user has it (`reedpath studio`), in a process of its own. The browser's microphone is a file
of recorded harmonica notes with pauses between them. Each block of 256 values carries the moment at which the
browser's audio thread handed it over; the page says when the frame is through in which what was heard in it is
drawn. What microphone, sound card and screen take is not in it.

mark: from the sound of a block to the frame that draws what was heard in it, every block.
named: from the block in which a note begins to the frame that first names a move: the tracker's own time to be sure
is in it (docs/accuracy.md).
beside an encoder: while `reedpath film` encodes again and again, in a session of its own that stands back by 10, as
every job of the studio does; a busy loop stands at nice 0.

On a machine that others use too, `chrt -r 5 python bench/live_delay.py` lets studio, tracker and browser go before
all else, as they would on one of their own; encoder and loop are taken out of that class again.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from playwright.sync_api import Page, sync_playwright

from reedpath.arrange import Route
from reedpath.signal import encode
from support.browsers import CHROMIUM, FLAGS
from support.built_routes import built_route
from support.glued_takes import Manner, glue, perform
from tables import put_between

MARKS = ("<!-- live delay: made by bench/live_delay.py -->", "<!-- end of live delay -->")
REPEATS = 12
TUNE = (
    "X:1\nT:Long stairs (invented)\nM:4/4\nL:1/4\nQ:1/4=100\nK:G\n"
    + "D G B d | e d B G | A F D z | G3 z |\n" * REPEATS
)
# notes with pauses of half a second between them, so that each begins out of silence
ROUTE = "2d:1 r:1 3d:1 r:1 4d:1 r:1 3d':1 r:1 4b:1 r:1 5b:1 r:1 2d'':1 r:1 6b:1 r:1"
BUSY = ("quiet", "beside an encoder", "beside an encoder and a busy loop")
COLLECT = """() => {
  globalThis.collected = [];
  document.addEventListener("drawn", (event) => collected.push([event.detail.delay, event.detail.named]));
}"""


def microphone_file(folder: Path) -> Path:
    """Recorded notes with pauses, as the browser's microphone."""
    route: Route = built_route(ROUTE, key="C", bpm=120)
    deeds = perform(route, np.random.default_rng(5), manner=Manner(jitter=0.0, slur=0.0))
    file = folder / "microphone.wav"
    file.write_bytes(encode(glue(route, deeds, rng=np.random.default_rng(6)).samples, bits=16))
    return file


def is_before_others() -> bool:
    """Whether this process goes before all usual ones."""
    return os.sched_getscheduler(0) != os.SCHED_OTHER


def usual() -> list[str]:
    """What lets a command be as usual processes are, where this one goes before all."""
    return ["chrt", "-o", "0"] if is_before_others() else []


# a command that stands back as a job of the studio does, and whose session is its own
AS_A_JOB = """
import sys
from reedpath.cli import main
from reedpath.jobs.conversations import stand_back
stand_back(10)
main()
"""


def reedpath(*arguments: object) -> list[str]:
    """A command of the program."""
    return [sys.executable, "-m", "reedpath", *map(str, arguments)]


@contextlib.contextmanager
def served(folder: Path) -> Iterator[str]:
    """A studio with one phrase and one lesson; the address that lets a browser in."""
    tune, shelf = folder / "stairs.abc", folder / "shelf.sqlite"
    tune.write_text(TUNE)
    subprocess.run(reedpath("shelf", "add", tune, "--shelf", shelf), check=True, capture_output=True)
    command = reedpath("studio", "--shelf", shelf, "--no-browser", "--port", "52761")
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as studio:
        assert studio.stdout is not None
        try:
            while "token=" not in (line := studio.stdout.readline()):
                if not line:
                    raise SystemExit("the studio did not start")
            yield next(word for word in line.split() if "token=" in word)
        finally:
            studio.terminate()


@contextlib.contextmanager
def encoding(folder: Path, *, loops: int = 0) -> Iterator[None]:
    """A film that is encoded as a job, again and again, and so many loops that do nothing but take time."""
    lesson, over = folder / "lesson", threading.Event()
    if not lesson.exists():
        subprocess.run(reedpath("lesson", folder / "stairs.abc", "--out", lesson), check=True, capture_output=True)
    running: list[subprocess.Popen[bytes]] = []

    def encode() -> None:
        while not over.is_set():
            film = ["film", str(lesson), "--out", str(folder / "film.mp4"), "--replace"]
            command, nothing = [*usual(), sys.executable, "-c", AS_A_JOB, *film], subprocess.DEVNULL
            running.append(subprocess.Popen(command, stdout=nothing, stderr=nothing, start_new_session=True))
            running[-1].wait()

    thread = threading.Thread(target=encode)
    thread.start()
    busy = [subprocess.Popen([*usual(), sys.executable, "-c", "while True: pass"]) for _ in range(loops)]
    try:
        yield
    finally:
        over.set()
        for one in (*running, *busy):
            one.terminate()
        thread.join()
        for one in busy:
            one.wait()


def measured(page: Page, address: str, seconds: float) -> tuple[list[list[float | None]], int]:
    """What the page says of each block while the phrase is played along with, and how many it dropped in all."""
    page.goto(f"{address}/rehearse/phrases/1?harp=C&rung=slow")
    page.wait_for_selector("#begin", timeout=120_000)
    page.evaluate(COLLECT)
    page.click("#begin")
    page.wait_for_selector("#stop:not([hidden])", timeout=60_000)
    page.wait_for_timeout(2_000)  # until all that happens once is over
    page.evaluate("collected.length = 0")
    page.wait_for_timeout(1000 * seconds)
    found: list[list[float | None]] = page.evaluate("collected")
    dropped = int(page.get_attribute("#delay", "data-dropped") or 0)
    page.reload()
    return found, dropped


def told(values: list[float]) -> str:
    """Median, and what 95 and 99 of 100 do not pass."""
    return " / ".join(f"{np.percentile(values, share):.0f}" for share in (50, 95, 99)) if values else "-"


def row(name: str, found: list[list[float | None]], dropped: int) -> str:
    """A row of the table."""
    marks = [one[0] for one in found if one[0] is not None]
    named = [one[1] for one in found if one[1] is not None]
    return f"| {name} | {told(marks)} | {told(named)} | {len(named)} | {len(marks):,} | {dropped:,} |"


def main() -> None:
    """Measure, and write the table where everything was measured."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--seconds", type=float, default=40.0)
    options.add_argument("--only", choices=BUSY)
    asked = options.parse_args()
    rows = []
    with tempfile.TemporaryDirectory() as name, served(Path(name)) as way_in, sync_playwright() as driver:
        folder = Path(name)
        fake = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"]
        file = f"--use-file-for-fake-audio-capture={microphone_file(folder)}"
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=[*FLAGS, *fake, file])
        page = browser.new_page()
        page.goto(way_in)
        address = way_in.split("/?")[0]
        page.wait_for_url(address + "/")
        for busy in BUSY if asked.only is None else (asked.only,):
            with encoding(folder, loops="loop" in busy) if busy != "quiet" else contextlib.nullcontext():
                rows.append(row(busy, *measured(page, address, asked.seconds)))
            print(rows[-1], file=sys.stderr)
        version = browser.version
        browser.close()
    load, today = os.getloadavg()[0], datetime.now(UTC).date().isoformat()
    first = ", studio, tracker and browser before all else (`chrt -r 5`)" if is_before_others() else ""
    head = [
        f"`python bench/live_delay.py`, {today}, Chromium {version}, {os.cpu_count()} cores, load {load:.0f}{first}; "
        f"{asked.seconds:.0f} seconds each. Milliseconds, median / 95 / 99 of 100.",
        "",
        "| | mark | named | notes begun | blocks drawn | dropped |",
        "|---|---|---|---|---|---|",
    ]
    print("\n".join([*head, *rows]))
    if asked.only is None:
        put_between(MARKS, "\n".join([*head, *rows]), Path("docs/performance.md"))


if __name__ == "__main__":
    shutil.which("chromium") or sys.exit("no chromium")
    main()
