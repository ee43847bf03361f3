"""How soon a shelf of many phrases answers: ``python bench/shelf_speed.py [--phrases 10000] [--write]``.

The phrases are melodies of music21's installed corpus (`tune_search.melodies`), each under an invented title. Times
are of one run: what a person waits for.
"""

from __future__ import annotations

import argparse
import io
import os
import tempfile
import time
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from pathlib import Path

from reedpath.phrase import Event, Phrase
from reedpath.shelf import (
    KeptPhrase,
    Melody,
    PhrasePlayed,
    PhraseQuery,
    PhraseSearch,
    Shelf,
    add_phrase,
    check_shelf,
    export_shelf,
    import_shelf,
)
from tables import put_between
from tune_search import PAGE, melodies

MARKS = ("<!-- shelf speed: made by bench/shelf_speed.py -->", "<!-- end of shelf speed -->")
# beats of a length are written as so many parts of one
GRID = 48
WORDS = ("stairs", "river", "morning", "lamp", "mill", "bridge", "garden", "harbour", "winter", "question")
TAGS = ("blues", "slow", "warm-up", "march")
KEYS = ("draw_bends", "overblows", "chords")


def phrase_from(melody: Melody) -> Phrase:
    """A phrase that has a melody."""
    onset, events = Fraction(0), []
    for midi, length in zip(melody.midi, melody.lengths, strict=True):
        beats = max(Fraction(1, GRID), Fraction(round(length * GRID), GRID))
        events.append(Event(onset, beats, (midi,)))
        onset += beats
    return Phrase(tuple(events))


def timed(rows: list[str], name: str, work: Callable[[], object]) -> None:
    """Do something and note how long it took."""
    before = time.perf_counter()
    work()
    rows.append(f"| {name} | {1000 * (time.perf_counter() - before):,.0f} |")


def fill(shelf: Shelf, count: int) -> None:
    """Put so many phrases on a shelf, in one step."""
    library = melodies()[:count]
    with shelf.step("add"):
        for number, melody in enumerate(library):
            title = f"{WORDS[number % 10].title()} {WORDS[number // 10 % 10]} {number} (invented)"
            one = PhrasePlayed(phrase_from(melody), title, number % 70 / 10, (KEYS[number % 3],))
            add_phrase(shelf, one, tags=(TAGS[number % 4],))


def rows_of(count: int, folder: Path) -> list[str]:
    """What takes how long."""
    rows: list[str] = []
    path = folder / "many.sqlite"
    with Shelf(path, make=True) as shelf:
        timed(rows, "put them on the shelf", lambda: fill(shelf, count))
    timed(rows, "open the shelf", lambda: Shelf(path).close())
    with Shelf(path) as shelf:
        search = PhraseSearch(shelf)
        tune = shelf.get(KeptPhrase, count // 2).melody
        query = Melody(tune.midi[:9], tune.lengths[:9])
        for name, asked in (
            ("list all", PhraseQuery()),
            ("find a word", PhraseQuery("harbour")),
            ("find two letters", PhraseQuery("ri")),
            ("find by tag, technique and difficulty", PhraseQuery("", ("slow",), ("chords",), 1.0, 3.0)),
            ("find by tune, the first time", PhraseQuery(tune=query)),
            ("find by tune again", PhraseQuery(tune=query)),
            ("find by tune among those of a tag", PhraseQuery(tags=("slow",), tune=query)),
        ):
            timed(rows, name, lambda asked=asked: search.find(asked))
        timed(rows, "undo the whole step", shelf.undo)
        timed(rows, "do it again", shelf.redo)
        timed(rows, "check", lambda: check_shelf(shelf))
        file = io.BytesIO()
        timed(rows, "export", lambda: export_shelf(shelf, file))
    with Shelf(folder / "other.sqlite", make=True) as other:
        timed(rows, "import", lambda: import_shelf(other, file))
    size = path.stat().st_size / 1e6
    return [
        f"`python bench/shelf_speed.py --phrases {count}`, {date.today()}: {count:,} phrases, a database of",
        f"{size:.0f} MB, a zip of {len(file.getvalue()) / 1e6:.0f} MB; load {os.getloadavg()[0]:.0f} on "
        f"{os.cpu_count()} cores.",
        "",
        "| | ms |",
        "|---|---|",
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
