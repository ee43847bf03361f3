"""How often a tune is found by a few of its notes: ``python bench/tune_search.py [--queries 200] [--write]``.

The library is every melody of the ABC files in music21's installed corpus (read from there, never copied), as our own
reader gives them; two of the same intervals and lengths are one. A query is six to ten notes from a random place, up
to eleven semitones higher or lower, at half to twice the tempo, each length off by 20 % (standard deviation of its
logarithm), with no, one or two mistakes: a wrong note, one left out, one added, two of the same sung as one. Found is
the tune that it was taken from, no other, though others may hold the same notes; and, told apart, any that does hold
the notes that were meant, in a row.
"""

from __future__ import annotations

import argparse
import os
import re
import time
from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np

from reedpath.errors import ReedpathError
from reedpath.readers import read_phrase
from reedpath.shelf import Melody, TuneIndex, melody_of
from tables import put_between

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "shelf.md"
MARKS = ("<!-- tune search: made by bench/tune_search.py -->", "<!-- end of tune search -->")
# notes of a query, semitones and doublings that it is moved by, and how unevenly it is played
FEWEST, MOST, WIDEST, DOUBLINGS, UNEVEN = 6, 10, 11, 1.0, 0.2
# ranks that are counted
RANKS = (1, 5, 10)
KEPT = Path(".fuzz") / "tunes.npz"
SEED = 11


def _texts() -> list[str]:
    """Every tune of the ABC files that music21 ships."""
    import music21

    texts = []
    for path in sorted((Path(music21.__file__).parent / "corpus").rglob("*.abc")):
        tunes = re.split(r"(?m)^(?=X:)", path.read_text("utf-8", "replace"))
        texts += [tune for tune in tunes if tune.startswith("X:")]
    return texts


def melodies() -> list[Melody]:
    """The distinct melodies of the corpus; kept between runs, since reading them takes a minute."""
    kept = ROOT / KEPT
    if kept.is_file():
        with np.load(kept) as file:
            cuts = np.cumsum(file["sizes"])[:-1]
            lines = zip(np.split(file["midi"], cuts), np.split(file["lengths"], cuts), strict=True)
            return [Melody(tuple(map(int, midi)), tuple(map(float, lengths))) for midi, lengths in lines]
    found: dict[tuple[tuple[int, ...], tuple[float, ...]], Melody] = {}
    for text in _texts():
        try:
            melody = melody_of(read_phrase(text.encode(), name="tune.abc", format="abc"))
        except ReedpathError:
            continue
        if len(melody.midi) > MOST:
            intervals = tuple(after - before for before, after in pairwise(melody.midi))
            found.setdefault((intervals, melody.lengths), melody)
    library = list(found.values())
    kept.parent.mkdir(exist_ok=True)
    np.savez(
        kept,
        sizes=[len(one.midi) for one in library],
        midi=np.concatenate([one.midi for one in library]).astype(np.int16),
        lengths=np.concatenate([one.lengths for one in library]).astype(np.float32),
    )
    return library


def _mistaken(rng: np.random.Generator, midi: list[int], lengths: list[float]) -> None:
    """One mistake, made in place."""
    at = int(rng.integers(len(midi)))
    same = [place for place in range(1, len(midi)) if midi[place] == midi[place - 1]]
    kind = ("wrong", "left out", "added", "as one")[int(rng.integers(4))]
    if kind == "left out" or (kind == "as one" and same):
        at = int(rng.choice(same)) if kind == "as one" else max(1, at)
        lengths[at - 1] += lengths[at]
        del midi[at], lengths[at]
    elif kind == "added":
        lengths[at] /= 2
        midi.insert(at + 1, midi[at] + int(rng.choice([-2, -1, 1, 2])))
        lengths.insert(at + 1, lengths[at])
    else:
        midi[at] += int(rng.choice([-2, -1, 1, 2]))


def intervals_of(midi: Sequence[int]) -> bytes:
    """Intervals from note to note, one a byte."""
    return bytes(min(255, max(0, after - before + 128)) for before, after in pairwise(midi))


def query_from(
    rng: np.random.Generator, library: list[Melody], size: int, mistakes: int
) -> tuple[int, bytes, Melody]:
    """A query of so many notes, the number of the melody that it is from, and the intervals that were meant."""
    number = int(rng.integers(len(library)))
    while len(library[number].midi) < size + 2:
        number = int(rng.integers(len(library)))
    source = library[number]
    first = int(rng.integers(len(source.midi) - size - 1))
    meant = intervals_of(source.midi[first : first + size])
    midi, lengths = list(source.midi[first : first + size + 2]), list(source.lengths[first : first + size + 2])
    for _ in range(mistakes):
        _mistaken(rng, midi, lengths)
    higher, slower = int(rng.integers(-WIDEST, WIDEST + 1)), 2 ** rng.uniform(-DOUBLINGS, DOUBLINGS)
    uneven = np.exp(rng.normal(0, UNEVEN, size)) * slower
    moved = tuple(note + higher for note in midi[:size])
    return number, meant, Melody(moved, tuple(float(one) for one in np.array(lengths[:size]) * uneven))


def _shares(ranks: list[int]) -> str:
    return " / ".join(f"{sum(rank < most for rank in ranks) / len(ranks):.2f}" if ranks else "" for most in RANKS)


def _milliseconds(seconds: list[float]) -> str:
    return f"{1000 * np.median(seconds):.0f} ms in the median ({1000 * np.quantile(seconds, 0.95):.0f} for 95 of 100)"


def table(queries: int) -> list[str]:
    """The lines of the table."""
    library = melodies()
    index = TuneIndex(library)
    index.find(library[0])
    held = [intervals_of(one.midi) for one in library]
    rows, took, worked = [], [], []
    for mistakes in (0, 1, 2):
        rng, ranks = np.random.default_rng(SEED + mistakes), {size: [] for size in range(FEWEST, MOST + 1)}
        like: dict[int, list[int]] = {size: [] for size in ranks}
        for turn in range(queries):
            size = FEWEST + turn % (MOST - FEWEST + 1)
            number, meant, query = query_from(rng, library, size, mistakes)
            before, worked_before = time.perf_counter(), time.process_time()
            found = [one.number for one in index.find(query, top=max(RANKS))]
            took.append(time.perf_counter() - before)
            worked.append(time.process_time() - worked_before)
            ranks[size].append(found.index(number) if number in found else max(RANKS))
            alike = (rank for rank, one in enumerate(found) if one == number or meant in held[one])
            like[size].append(next(alike, max(RANKS)))
        for name, sizes in (("6 to 10", range(6, 11)), ("6", (6,)), ("7", (7,)), ("8", (8,)), ("9 and 10", (9, 10))):
            shares = (_shares([one for size in sizes for one in of[size]]) for of in (ranks, like))
            rows.append(f"| {mistakes} | {name} | {' | '.join(shares)} |")
    notes = sum(len(one.midi) for one in library)
    return [
        f"`python bench/tune_search.py --queries {queries}`, {date.today()}: {len(library):,} melodies of {notes:,}",
        f"notes. A query takes {_milliseconds(worked)} of one core,",
        f"{_milliseconds(took)} by the clock at a load of {os.getloadavg()[0]:.0f} on {os.cpu_count()} cores.",
        "",
        "| mistakes | notes | found first / in the first five / in the first ten | any tune with these notes |",
        "|---|---|---|---|",
        *rows,
    ]


def main() -> None:
    """Measure, print, and write the table where asked to."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--queries", type=int, default=200, help="for each number of mistakes")
    parser.add_argument("--write", action="store_true")
    wanted = parser.parse_args()
    lines = table(wanted.queries)
    print("\n".join(lines))
    if wanted.write:
        put_between(MARKS, "\n".join(lines), PAGE)


if __name__ == "__main__":
    main()
