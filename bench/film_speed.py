"""How fast films are made, and how much memory they take.

    python bench/film_speed.py [--seconds 60] [--only "lesson; takes, over"] [--write]

Each film is made in a process of its own. "real time" is the film's length over the time that passed, which other
work on the machine makes worse; "two cores" is the film's length over half of the processor time that was spent,
which says what two free cores could do at best; "load" is how many processes wanted to run on average over the minute
before. With --write the table goes into docs/film.md, in place of the one that is there.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tables import put_between

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

PAGE = ROOT / "docs" / "film.md"
MARKS = ("<!-- table: start -->", "<!-- table: end -->")
HEAD = (
    "| film | seconds | real time | two cores | MB a minute | memory MB | load |",
    "|---|---|---|---|---|---|---|",
)
LICK = "2d'':1/2! 2d 3d' 4b:1 4d:1 r:1/2 4d:1/2^1 4d 4b 3d' 2d 2d:2~ 5d 6b 6bo 6b 5d (4 5)d:1 [1 4]b:1 "


def _lesson(seconds: float):
    """A lesson about that long at its one tempo."""
    from support.built_routes import built_lesson, built_route

    times = max(1, round(seconds / 9.5))
    return built_lesson(built_route(LICK * times, key="A", bpm=96.0), factors=(1.0,))


def _lesson_film(screen: str, seconds: float, folder: Path) -> float:
    from reedpath.film import FilmWishes, film_lesson

    wishes = FilmWishes(screen=screen, with_steps=False)
    return film_lesson(_lesson(seconds), folder / "film.mp4", wishes).seconds


def _steps_film(seconds: float, folder: Path) -> float:
    from reedpath.film import FilmWishes, film_lesson

    return film_lesson(_lesson(seconds / 4), folder / "film.mp4", FilmWishes()).seconds


def _band_film(seconds: float, folder: Path) -> float:
    from msgspec.structs import replace

    from reedpath.film import FilmWishes, film_lesson
    from reedpath.pitch import Key
    from reedpath.sound import Backing

    lesson = _lesson(9.5)
    lesson = replace(lesson, route=replace(lesson.route, phrase=replace(lesson.route.phrase, key=Key(4))))
    # twelve bars at 96 last half a minute
    wishes = FilmWishes(with_steps=False, play=Backing(form="twelve-bar", rounds=max(1, round(seconds / 30))))
    return film_lesson(lesson, folder / "film.mp4", wishes).seconds


def _teacher(folder: Path, seconds: float, size: tuple[int, int], **kind: object):
    """A teacher's film, made in a process of its own so that its memory is not counted here."""
    import multiprocessing

    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_teacher_here, (folder, seconds, size, kind))


def _teacher_here(folder: Path, seconds: float, size: tuple[int, int], kind: dict):
    from support.teacher_films import teacher_film

    lesson = _lesson(seconds / 2 - 2)
    return lesson, teacher_film(folder / "teacher.mp4", lesson, size=size, **kind)


def _takes(place: str, frame: str, size: tuple[int, int], seconds: float, folder: Path, **kind: object) -> float:
    from reedpath.film import TakeWishes, film_takes

    lesson, film = _teacher(folder, seconds, size, **kind)
    _start()
    return film_takes(film.path, lesson, film.plays, folder / "out.mp4", TakeWishes(place, frame)).seconds


def _overlay(kind: str, seconds: float, folder: Path) -> float:
    from reedpath.film import film_overlay

    lesson, film = _teacher(folder, seconds, (1280, 720))
    _start()
    return film_overlay(film.path, lesson, film.plays, folder / "out.film", kind=kind).seconds


_began = [0.0, 0.0]


def _start() -> None:
    _began[:] = time.perf_counter(), time.process_time()


HD, FULL_HD = (1280, 720), (1920, 1080)

CASES: dict[str, Callable[[float, Path], float]] = {
    "lesson, landscape": lambda s, f: _lesson_film("landscape", s, f),
    "lesson, upright": lambda s, f: _lesson_film("upright", s, f),
    "lesson, step by step": _steps_film,
    "lesson, with a band": _band_film,
    "takes, over 720p, plain": lambda s, f: _takes("over", "landscape", HD, s, f),
    "takes, over 720p, grainy": lambda s, f: _takes("over", "landscape", HD, s, f, grainy=True),
    "takes, over 720p, grainy and turned": lambda s, f: _takes(
        "over", "landscape", HD, s, f, grainy=True, turned=-90
    ),
    "takes, beside 720p, plain": lambda s, f: _takes("beside", "landscape", HD, s, f),
    "takes, beside 720p, grainy": lambda s, f: _takes("beside", "landscape", HD, s, f, grainy=True),
    "takes, beside upright, grainy": lambda s, f: _takes("beside", "upright", HD, s, f, grainy=True),
    "takes, over 1080p, plain": lambda s, f: _takes("over", "landscape", FULL_HD, s, f),
    "takes, over 1080p, grainy": lambda s, f: _takes("over", "landscape", FULL_HD, s, f, grainy=True),
    "overlay, runs": lambda s, f: _overlay("runs", s, f),
    "overlay, vp9": lambda s, f: _overlay("vp9", s, f),
    "overlay, prores": lambda s, f: _overlay("prores", s, f),
    "memory, 15 s": lambda s, f: _lesson_film("landscape", 15, f),
    "memory, 60 s": lambda s, f: _lesson_film("landscape", 60, f),
    "memory, 240 s": lambda s, f: _lesson_film("landscape", 240, f),
    "memory, band 240 s": lambda s, f: _band_film(240, f),
    "memory, over 15 s": lambda s, f: _takes("over", "landscape", HD, 15, f),
    "memory, over 240 s": lambda s, f: _takes("over", "landscape", HD, 240, f),
}


def _measure(case: str, seconds: float) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        load = os.getloadavg()[0]
        _start()
        made = CASES[case](seconds, folder)
        passed, spent = time.perf_counter() - _began[0], time.process_time() - _began[1]
        files = [path for path in folder.iterdir() if path.name != "teacher.mp4"]
        size = sum(path.stat().st_size for path in files)
    return {
        "seconds": made,
        "real_time": made / passed,
        "two_cores": 2 * made / spent,
        "megabytes_a_minute": size / 1e6 / made * 60,
        "memory_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "load": load,
    }


def _rows(wanted: tuple[str, ...], seconds: float) -> Iterator[str]:
    """A row of the table for each case asked for."""
    for case in CASES:
        if not case.startswith(wanted):
            continue
        command = [sys.executable, __file__, "--case", case, "--seconds", str(seconds)]
        run = subprocess.run(command, capture_output=True, text=True, check=False)
        if run.returncode:
            raise SystemExit(f"{case}: {run.stderr}")
        one = json.loads(run.stdout.splitlines()[-1])
        yield (
            f"| {case} | {one['seconds']:.0f} | {one['real_time']:.1f}x | {one['two_cores']:.1f}x "
            f"| {one['megabytes_a_minute']:.1f} | {one['memory_mb']:.0f} | {one['load']:.1f} |"
        )


def _write(lines: list[str]) -> None:
    measured = f"Measured with {os.cpu_count()} cores, Python {platform.python_version()}, {platform.machine()}."
    table = "\n".join([*HEAD, *lines, "", measured])
    put_between(MARKS, table, PAGE)


def main() -> None:
    """Measure, and say or write it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=60.0, help="length of a film, about")
    parser.add_argument("--only", default="", help="beginnings of the cases' names, with semicolons between")
    parser.add_argument("--write", action="store_true", help="write the table into docs/film.md")
    parser.add_argument("--case", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.case:
        print(json.dumps(_measure(asked.case, asked.seconds)))
        return
    if asked.write and asked.only:
        parser.error("a table in which films are missing is not written")
    print("\n".join(HEAD), flush=True)
    lines = []
    wanted = tuple(part.strip() for part in asked.only.split(";") if part.strip()) or ("",)
    for row in _rows(wanted, asked.seconds):
        print(row, flush=True)
        lines.append(row)
    if asked.write:
        _write(lines)


if __name__ == "__main__":
    main()
