"""A survey of many tunes as rows in words: for the terminal, for spreadsheets, and as a page that can be sorted."""

from __future__ import annotations

from collections.abc import Iterator

from reedpath.arrange import SurveyedTune, SurveyedTunes, TuneWay, level_names
from reedpath.page.csv_tables import encode_csv
from reedpath.page.web.table_page import TableCell, TableColumn, TableNotes, encode_table_page
from reedpath.wording import (
    Catalogue,
    capital,
    clock_words,
    error_words,
    full_harp_words,
    key_words,
    left_out_words,
    named_words,
    position_words,
    shift_words,
)

# kinds of what was not read of a source that are named in a cell; ours: what a cell holds
MOST_LEFT_OUT = 3
# columns of the table, in order, each with the key of its heading
_COLUMNS = {
    "tune": "tunes.tune",
    "harp": "survey.harp",
    "position": "survey.position",
    "moved": "survey.shift",
    "difficulty": "tunes.difficulty",
    "worst": "survey.worst",
    "truth": "survey.truth",
    "level": "tunes.level",
    "techniques": "index.techniques",
    "changes": "survey.changes",
    "others": "tunes.others",
    "key": "survey.key",
    "notes": "tunes.notes",
    "length": "index.length",
    "file": "tunes.file",
    "left_out": "tunes.left_out",
}
_NUMBERS = frozenset({"notes", "length", "position", "moved", "difficulty", "worst", "truth", "level"})
# columns whose numbers are written in words, so that they stand to the left
_IN_WORDS = frozenset({"position", "moved", "level"})
_LONG = frozenset({"techniques", "changes", "others", "left_out"})


def tune_columns(words: Catalogue) -> tuple[TableColumn, ...]:
    """The columns of the table."""
    return tuple(
        TableColumn(
            name,
            capital(words.say(key)),
            is_number=name in _NUMBERS,
            is_right=name in _NUMBERS - _IN_WORDS,
            is_long=name in _LONG,
        )
        for name, key in _COLUMNS.items()
    )


def _position(position: int | None, words: Catalogue) -> str:
    return "" if position is None else position_words(position, words)


def _other(way: TuneWay, best: TuneWay, found: SurveyedTunes, words: Catalogue) -> str:
    """Another way in short: "D harp, third position 1.4"; on the best harp "D harp, an octave down 1.4"."""
    differs = shift_words(way.shift_semitones, words) if way.harp == best.harp else _position(way.position, words)
    told = ", ".join(filter(None, (full_harp_words(found.harp_of(way), words), differs)))
    return f"{told} {words.number(way.difficulty, decimals=2)}"


def _changes(tune: SurveyedTune, words: Catalogue) -> str:
    return "; ".join(f"{words.say(f'change.{kind}')} {words.number(count)}" for kind, count in tune.changes)


def tune_cells(
    tune: SurveyedTune, found: SurveyedTunes, words: Catalogue, levels: tuple[str, ...]
) -> list[TableCell]:
    """The cells of a tune, one for each of the columns.

    levels : names of the levels, the first one first, by which they are sorted.
    """
    best = tune.best
    name = tune.file if tune.tune is None else words.say("tunes.in_book", file=tune.file, number=tune.tune)
    level = None if tune.level is None else levels.index(tune.level)
    techniques = [words.say(f"technique.{one}") for one in tune.techniques]
    left_out = [left_out_words(one, words) for one in tune.left_out[:MOST_LEFT_OUT]]
    cells = {
        "tune": TableCell(tune.title),
        "file": TableCell(name),
        "key": TableCell(key_words(tune.key, words)),
        "notes": TableCell(words.number(tune.notes), tune.notes),
        "length": TableCell(clock_words(tune.seconds), round(tune.seconds, 2)),
        "harp": TableCell(full_harp_words(found.harp_of(best), words)),
        "position": TableCell(_position(best.position, words), best.position),
        "moved": TableCell(shift_words(best.shift_semitones, words), best.shift_semitones),
        "difficulty": TableCell(words.number(best.difficulty, decimals=2), round(best.difficulty, 4)),
        "worst": TableCell(words.number(best.worst, decimals=1), round(best.worst, 4)),
        "truth": TableCell(words.number(best.truth, decimals=2), round(best.truth, 4)),
        "level": TableCell("" if tune.level is None else named_words("level", tune.level, words), level),
        "techniques": TableCell(words.join(techniques) if techniques else words.say("technique.single")),
        "changes": TableCell(_changes(tune, words)),
        "left_out": TableCell("; ".join(left_out) + ("; …" if len(tune.left_out) > MOST_LEFT_OUT else "")),
        "others": TableCell("; ".join(_other(way, best, found, words) for way in tune.ways[1:])),
    }
    return [cells[column] for column in _COLUMNS]


def tune_summary(found: SurveyedTunes, words: Catalogue) -> str:
    """Which harps play the tunes, the most used first: "A harp 12, C harp 3"."""
    told = [f"{full_harp_words(harp, words)} {words.number(count)}" for harp, count in found.best_harps()]
    return words.say("tunes.harps", harps=", ".join(told))


def encode_tune_csv(found: SurveyedTunes, words: Catalogue) -> bytes:
    """The table for spreadsheets, lengths in seconds."""
    columns = tune_columns(words)
    rows: list[list[str | float | None]] = [[column.heading for column in columns]]
    for cells in _rows(found, words):
        rows.append([
            cell.text if cell.sort is None or not column.is_right else float(cell.sort)
            for column, cell in zip(columns, cells, strict=True)
        ])  # fmt: skip
    return encode_csv(rows)


def _rows(found: SurveyedTunes, words: Catalogue) -> Iterator[list[TableCell]]:
    levels = level_names()
    for tune in found.tunes:
        yield tune_cells(tune, found, words, levels)


def encode_tune_page(found: SurveyedTunes, words: Catalogue) -> bytes:
    """The table as a page that can be sorted and searched; it needs no network."""
    return encode_table_page(
        tune_columns(words),
        list(_rows(found, words)),
        TableNotes(
            title=words.say("tunes.title", count=len(found.tunes)),
            before=(tune_summary(found, words),) if found.tunes else (),
            after=(words.say("tunes.legend"),),
            problems_title=words.say("tunes.unread", count=len(found.unread)),
            problems=tuple(error_words(error, words) for error in found.unread),
        ),
        words,
        sorted_by="difficulty",
    )
