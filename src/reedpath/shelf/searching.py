"""Phrases found: by words, tags, techniques, difficulty, key, and by tune."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import msgspec
from msgspec import Struct

from reedpath.errors import SettingsError
from reedpath.shelf.melodies import Melody, TuneFound
from reedpath.shelf.opening import told_by_database
from reedpath.shelf.store import Shelf
from reedpath.shelf.words import folded

if TYPE_CHECKING:
    from reedpath.shelf.tune_search import TuneIndex

__all__ = ["FoundPhrase", "PhraseQuery", "PhraseSearch"]

# characters under which the search by three letters finds nothing (SQLite, FTS5 trigram)
_THREE = 3
# phrases that are shown for a tune where nobody says how many
NEAREST = 10
# of a pattern of LIKE, what is to be met as it is
_PATTERN = str.maketrans({"\\": "\\\\", "%": "\\%", "_": "\\_"})


class PhraseQuery(Struct, frozen=True):
    """What is looked for; what is left out is not asked.

    words : each of them in title, key, tags or techniques.
    tags, techniques : all of them, whole.
    easiest, hardest : bounds of the difficulty, points of effort a note.
    key : of the phrase, as it is named: "E", "Am".
    tune : a few of its notes.
    top : how many at most; 0 for all, with a tune for the ten nearest.
    """

    words: str = ""
    tags: tuple[str, ...] = ()
    techniques: tuple[str, ...] = ()
    easiest: float | None = None
    hardest: float | None = None
    key: str = ""
    tune: Melody | None = None
    top: int = 0


class FoundPhrase(Struct, frozen=True):
    """A phrase that was found, without its notes.

    tune : how its melody holds the tune that was looked for, None where none was.
    """

    number: int
    uid: str
    title: str
    key: str
    tags: tuple[str, ...]
    techniques: tuple[str, ...]
    difficulty: float | None
    tune: TuneFound | None = None


def _conditions(query: PhraseQuery) -> tuple[list[str], list[Any]]:
    """What rows must fulfil, and the values in it."""
    said: list[str] = []
    values: list[Any] = []
    for word in folded(query.words).split():
        if len(word) < _THREE:
            said.append("words LIKE ? ESCAPE '\\'")
            values.append(f"%{word.translate(_PATTERN)}%")
        else:
            said.append("phrase.number IN (SELECT rowid FROM phrase_words WHERE phrase_words MATCH ?)")
            values.append('"' + word.replace('"', '""') + '"')
    for column, asked in (("tags", query.tags), ("techniques", query.techniques)):
        for one in asked:
            said.append(f"instr(phrase_words.{column}, ?)")
            values.append(f"\n{folded(one)}\n")
    for sign, bound in ((">=", query.easiest), ("<=", query.hardest)):
        if bound is not None:
            said.append(f"difficulty {sign} ?")
            values.append(bound)
    if query.key:
        said.append("key = ?")
        values.append(query.key)
    return said, values


class PhraseSearch:
    """The search of one shelf; melodies are kept in memory until a phrase changes."""

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self._numbers: list[int] = []
        self._tunes: TuneIndex | None = None
        self._made_at = -1

    def _index(self) -> TuneIndex:
        from reedpath.shelf.tune_search import TuneIndex  # arrays, which other searches do without

        if self._tunes is None or self._made_at != self._shelf.changes:
            rows = self._shelf.database.execute("SELECT number, melody FROM phrase ORDER BY number").fetchall()
            self._numbers = [row["number"] for row in rows]
            self._tunes = TuneIndex(msgspec.json.decode(row["melody"], type=Melody) for row in rows)
            self._made_at = self._shelf.changes
        return self._tunes

    def find(self, query: PhraseQuery) -> list[FoundPhrase]:
        """The phrases that fulfil all that is asked: by title, or the nearest to a tune first."""
        said, values = _conditions(query)
        with told_by_database(self._shelf.path):
            found = self._rows(" AND ".join(said) or "1", values)
            if query.tune is None:
                ordered = sorted(found.values(), key=lambda one: (folded(one.title), one.number))
                return ordered[: query.top or None]
            return self._by_tune(query.tune, found, query.top)

    def numbered(self, number: int) -> FoundPhrase:
        """The phrase of a number; SettingsError where there is none."""
        with told_by_database(self._shelf.path):
            found = self._rows("phrase.number = ?", [number])
        if number not in found:
            raise SettingsError("shelf.no_record", number=number)
        return found[number]

    def _rows(self, where: str, values: Sequence[Any]) -> dict[int, FoundPhrase]:
        sql = (
            "SELECT phrase.number, uid, title, key, phrase.tags, phrase.techniques, difficulty FROM phrase "
            f"JOIN phrase_words ON phrase_words.rowid = phrase.number WHERE {where}"
        )
        rows = self._shelf.database.execute(sql, values).fetchall()
        return {row["number"]: _found(dict(row)) for row in rows}

    def _by_tune(self, tune: Melody, found: dict[int, FoundPhrase], top: int) -> list[FoundPhrase]:
        index = self._index()
        among = None
        if len(found) < len(self._numbers):
            among = [place for place, number in enumerate(self._numbers) if number in found]
        return [
            msgspec.structs.replace(found[self._numbers[one.number]], tune=one)
            for one in index.find(tune, top=top or NEAREST, among=among)
        ]


def _found(row: dict[str, Any]) -> FoundPhrase:
    for name in ("tags", "techniques"):
        row[name] = tuple(msgspec.json.decode(row[name]))
    return FoundPhrase(**row)
