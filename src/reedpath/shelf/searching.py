"""Phrases found: by words, tags, techniques, difficulty, key, and by tune."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import msgspec
from msgspec import Struct

from reedpath.errors import SettingsError
from reedpath.shelf.melodies import Melody, TuneFound
from reedpath.shelf.opening import told_by_database
from reedpath.shelf.store import Shelf
from reedpath.shelf.words import folded

if TYPE_CHECKING:
    from reedpath.shelf.tune_search import TuneIndex

# phrases that are shown for a tune where nobody says how many
NEAREST = 10
# rows that are fetched by one statement; SQLite takes at least 999 values in one (limits, SQLITE_MAX_VARIABLE_NUMBER)
_ROWS = 900


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


class _Searched(NamedTuple):
    """What a phrase is looked for by: its folded words, and its tags and techniques, one on a line each."""

    number: int
    words: str
    tags: str
    techniques: str


def _conditions(query: PhraseQuery) -> tuple[list[str], list[Any]]:
    """What rows must fulfil that is no matter of words, and the values in it."""
    said: list[str] = []
    values: list[Any] = []
    for sign, bound in ((">=", query.easiest), ("<=", query.hardest)):
        if bound is not None:
            said.append(f"difficulty {sign} ?")
            values.append(bound)
    if query.key:
        said.append("key = ?")
        values.append(query.key)
    return said, values


class PhraseSearch:
    """The search of one shelf; words and melodies are kept in memory until something changes."""

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self._numbers: list[int] = []
        self._tunes: TuneIndex | None = None
        self._made_at = -1
        self._searched: list[_Searched] = []
        self._searched_made_at = -1

    def _index(self) -> TuneIndex:
        from reedpath.shelf.tune_search import TuneIndex  # arrays, which other searches do without

        if self._tunes is None or self._made_at != self._shelf.changes:
            rows = self._shelf.database.execute("SELECT number, melody FROM phrase ORDER BY number").fetchall()
            self._numbers = [row["number"] for row in rows]
            self._tunes = TuneIndex(msgspec.json.decode(row["melody"], type=Melody) for row in rows)
            self._made_at = self._shelf.changes
        return self._tunes

    def _by_title(self) -> list[_Searched]:
        """All phrases in the order of their titles, which is also the order that they are told in.

        They are kept in memory: to look through ten thousand takes a third of what the database's index takes.
        """
        if self._searched_made_at != self._shelf.changes:
            sql = (
                "SELECT number, title, coalesce(words, ''), coalesce(phrase_words.tags, ''), "
                "coalesce(phrase_words.techniques, '') "
                "FROM phrase LEFT JOIN phrase_words ON phrase_words.rowid = number"
            )
            rows = [
                (folded(title), _Searched(number, *texts))
                for number, title, *texts in self._shelf.database.execute(sql)
            ]
            self._searched = [one for _title, one in sorted(rows)]
            self._searched_made_at = self._shelf.changes
        return self._searched

    def _fulfilling(self, query: PhraseQuery) -> list[int]:
        """The numbers of the phrases that fulfil all but the tune, in the order of their titles."""
        found = self._by_title()
        for word in folded(query.words).split():
            found = [one for one in found if word in one.words]
        for tag in query.tags:
            line = f"\n{folded(tag)}\n"
            found = [one for one in found if line in one.tags]
        for technique in query.techniques:
            line = f"\n{folded(technique)}\n"
            found = [one for one in found if line in one.techniques]
        numbers = [one.number for one in found]
        said, values = _conditions(query)
        if said:
            sql = f"SELECT number FROM phrase WHERE {' AND '.join(said)}"
            allowed = {number for (number,) in self._shelf.database.execute(sql, values)}
            numbers = [number for number in numbers if number in allowed]
        return numbers

    def find(self, query: PhraseQuery) -> list[FoundPhrase]:
        """The phrases that fulfil all that is asked: by title, or the nearest to a tune first."""
        return self.find_some(query)[0]

    def find_some(self, query: PhraseQuery, *, skip: int = 0) -> tuple[list[FoundPhrase], int]:
        """Those of the phrases found that come after the first ones, and how many are found in all.

        skip : how many are left out at the start; without a tune only.
        """
        with told_by_database(self._shelf.path):
            numbers = self._fulfilling(query)
            if query.tune is not None:
                found = self._by_tune(query.tune, set(numbers), query.top)
                return found, len(found)
            wanted = numbers[skip : skip + query.top if query.top else None]
            rows = self._rows(wanted)
            return [rows[number] for number in wanted], len(numbers)

    def numbered(self, number: int) -> FoundPhrase:
        """The phrase of a number; SettingsError where there is none."""
        with told_by_database(self._shelf.path):
            found = self._rows([number])
        if number not in found:
            raise SettingsError("shelf.no_record", number=number)
        return found[number]

    def _rows(self, numbers: Sequence[int]) -> dict[int, FoundPhrase]:
        found = {}
        for first in range(0, len(numbers), _ROWS):
            some = numbers[first : first + _ROWS]
            sql = (
                "SELECT number, uid, title, key, tags, techniques, difficulty FROM phrase "
                f"WHERE number IN ({', '.join('?' * len(some))})"
            )
            found.update({row["number"]: _found(dict(row)) for row in self._shelf.database.execute(sql, some)})
        return found

    def _by_tune(self, tune: Melody, allowed: set[int], top: int) -> list[FoundPhrase]:
        index = self._index()
        among = None
        if len(allowed) < len(self._numbers):
            among = [place for place, number in enumerate(self._numbers) if number in allowed]
        nearest = index.find(tune, top=top or NEAREST, among=among)
        rows = self._rows([self._numbers[one.number] for one in nearest])
        return [msgspec.structs.replace(rows[self._numbers[one.number]], tune=one) for one in nearest]


def melodies_of(shelf: Shelf, numbers: Sequence[int]) -> dict[int, Melody]:
    """The melodies of phrases, by their numbers; at most 900."""
    sql = f"SELECT number, melody FROM phrase WHERE number IN ({', '.join('?' * len(numbers))})"
    with told_by_database(shelf.path):
        rows = shelf.database.execute(sql, list(numbers)).fetchall()
    return {row["number"]: msgspec.json.decode(row["melody"], type=Melody) for row in rows}


def _found(row: dict[str, Any]) -> FoundPhrase:
    for name in ("tags", "techniques"):
        row[name] = tuple(msgspec.json.decode(row[name]))
    return FoundPhrase(**row)
