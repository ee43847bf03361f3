"""How soon the studio answers: ``python bench/studio_speed.py [--phrases 10000] [--write]``.

The studio is started as a user starts it, on a shelf of many phrases (`shelf_speed.fill`), and asked over sockets.
Then the same while a film is encoded in another process at the niceness of the studio's jobs. Milliseconds from the
request to the last byte of the page.
"""

from __future__ import annotations

import argparse
import http.client
import os
import re
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path
from urllib.parse import quote

import numpy as np

from reedpath.shelf import Shelf
from shelf_speed import fill
from tables import put_between

PAGE = Path(__file__).resolve().parents[1] / "docs" / "performance.md"
MARKS = ("<!-- studio speed: made by bench/studio_speed.py -->", "<!-- end of studio speed -->")
# how often each page is asked for
TIMES = 60
PAGES = {
    "the shelf, first page of all": "/",
    "a phrase": "/phrases/50",
    "a word looked for": "/?words=harbour",
    "a tag and a technique": "/?tags=slow&technique=chords",
    "at work": "/work",
}
TUNE = "/?tune=" + quote("E G A Bb A G E D E")


class Asked:
    """A studio that runs, and who was let in."""

    def __init__(self, shelf: Path) -> None:
        self.begun = time.perf_counter()
        command = [
            sys.executable,
            "-m",
            "reedpath",
            "studio",
            "--no-browser",
            "--language",
            "en",
            "--shelf",
            str(shelf),
        ]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        found = re.search(r"http://([\d.:]+)(/\?token=\S+)", self.process.stdout.readline())
        assert found is not None
        self.host, self.cookie = found[1], ""
        self.line = http.client.HTTPConnection(self.host)
        self.cookie = self.get(found[2]).partition(";")[0]
        self.get("/")
        self.first_page_seconds = time.perf_counter() - self.begun

    def get(self, path: str) -> str:
        """Ask for a page; the cookie that it gave."""
        self.line.request("GET", path, headers={"cookie": self.cookie})
        answer = self.line.getresponse()
        answer.read()
        assert answer.status == 200, (path, answer.status)
        return answer.headers.get("set-cookie", "")

    def milliseconds(self, path: str, times: int) -> np.ndarray:
        """How long a page takes, so many times."""
        took = []
        for _ in range(times):
            before = time.perf_counter()
            self.get(path)
            took.append(1000 * (time.perf_counter() - before))
        return np.array(took)

    def megabytes(self) -> float:
        """Of memory that the server holds."""
        text = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", text)[1]) / 1000  # type: ignore[index]

    def end(self) -> None:
        """Close it as a user does."""
        self.process.send_signal(2)
        self.process.wait()


def encoder(lesson: Path, out: Path) -> subprocess.Popen[bytes]:
    """A film being encoded over and over, as far back as the studio's jobs stand."""
    command = f"while true; do {sys.executable} -m reedpath film {lesson} --out {out} --replace; done"
    return subprocess.Popen(
        ["nice", "-n", "10", "sh", "-c", command],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        process_group=0,
    )


def row(name: str, took: np.ndarray) -> str:
    """A line of the table."""
    return f"| {name} | {np.median(took):.0f} | {np.percentile(took, 95):.0f} | {took.max():.0f} |"


def rows_of(phrases: int, folder: Path) -> list[str]:
    """What takes how long."""
    with Shelf(folder / "many.sqlite", make=True) as shelf:
        fill(shelf, phrases)
    lesson = folder / "lesson"
    subprocess.run([sys.executable, "-m", "reedpath", "demo", "--out", str(lesson)], check=True, capture_output=True)
    load = os.getloadavg()[0]
    studio = Asked(folder / "many.sqlite")
    rows = []
    try:
        for name, path in PAGES.items():
            rows.append(row(name, studio.milliseconds(path, TIMES)))
        rows.append(row("a tune looked for", studio.milliseconds(TUNE, 10)))
        film = encoder(lesson, folder / "film.mp4")
        try:
            time.sleep(3)
            for name, path in PAGES.items():
                rows.append(row(f"{name}, while a film is encoded", studio.milliseconds(path, TIMES)))
        finally:
            os.killpg(film.pid, 9)
        held = studio.megabytes()
    finally:
        studio.end()
    return [
        f"`python bench/studio_speed.py --phrases {phrases}`, {date.today()}: {phrases:,} phrases; to the first page",
        f"{1000 * studio.first_page_seconds:,.0f} ms from the command on; the server holds {held:.0f} MB; load",
        f"{load:.0f} on {os.cpu_count()} cores.",
        "",
        "| page | median ms | 95 of 100 | longest |",
        "|---|---|---|---|",
        *rows,
    ]


def main() -> None:
    """Measure, print, and write the table where asked to."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--phrases", type=int, default=10_000)
    parser.add_argument("--write", action="store_true")
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        lines = rows_of(wanted.phrases, Path(folder))
    print("\n".join(lines))
    if wanted.write:
        put_between(MARKS, "\n".join(lines), PAGE)


if __name__ == "__main__":
    main()
