"""Many tunes surveyed: how many a second, by all processors and in a plain loop, and how much memory.

    python bench/survey_tunes.py --tunes 10000

The tunes are those of music21's corpus in ABC (Essen folksongs, Ryan's collection, and others), read as a teacher's
folder of books and single tunes would be; where there are not enough they come again. Each book is read in whole.
"""

from __future__ import annotations

import argparse
import resource
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from reedpath.jobs import LocalPool, RouteRequest, survey_tunes
from reedpath.jobs.processes import process_count

# collections of the corpus that hold melodies
COLLECTIONS = ("ryansMammoth", "oneills1850", "airdsAirs", "essenFolksong")


def corpus_books() -> Iterator[tuple[Path, int]]:
    """Files of the collections and how many tunes each has, the single ones first."""
    from music21 import corpus

    found = [Path(str(path)) for path in corpus.getCorePaths() if Path(str(path)).parent.name in COLLECTIONS]
    books = [(path, path.read_text(encoding="utf-8", errors="replace").count("\nX:") + 1) for path in found]
    yield from sorted(
        ((path, count) for path, count in books if path.suffix == ".abc"), key=lambda it: (it[1], it[0])
    )


def fill(folder: Path, tunes: int) -> None:
    """A folder with about so many tunes."""
    books, held, round_ = list(corpus_books()), 0, 0
    while held < tunes:
        for path, count in books:
            if held >= tunes:
                break
            to = folder / f"{round_}" / path.parent.name
            to.mkdir(parents=True, exist_ok=True)
            shutil.copy(path, to / path.name)
            held += count
        round_ += 1


def processor_seconds() -> float:
    own, others = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def measured(name: str, folder: Path, pool: LocalPool) -> float:
    """Survey a folder and print what it took; tunes a second."""
    before, began = processor_seconds(), time.perf_counter()
    found = survey_tunes([folder], RouteRequest(), pool=pool)
    seconds, work = time.perf_counter() - began, processor_seconds() - before
    count = len(found.tunes)
    own, others = (
        resource.getrusage(who).ru_maxrss / 1024 for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    print(
        f"{name}: {count} tunes ({len(found.unread)} not read), {seconds:.0f} s, {count / seconds:.1f} a second; "
        f"{work:.0f} processor seconds, {1000 * work / count:.0f} ms a tune; "
        f"memory at most {own:.0f} MB here, {others:.0f} MB in each process",
        flush=True,
    )
    return count / seconds


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tunes", type=int, default=10_000)
    parser.add_argument("--loop-tunes", type=int, default=500, help="for the plain loop")
    said = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        few, many = Path(folder) / "few", Path(folder) / "many"
        fill(few, said.loop_tunes)
        fill(many, said.tunes)
        print(f"{process_count()} processes")
        loop = measured("plain loop", few, LocalPool(1))
        same = measured("the same, all processors", few, LocalPool())
        measured("all processors", many, LocalPool())
        print(f"{same / loop:.2f} times the plain loop")


if __name__ == "__main__":
    main()
