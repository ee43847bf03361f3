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

__all__ = ["FoundPhrase", "PhraseQuery", "PhraseSearch", "melodies_of"]

# characters under which the search by three letters finds nothing (SQLite, FTS5 trigram)
_THREE = 3
# phrases that are shown for a tune where nobody says how many
NEAREST = 10
# rows that are fetched by one statement; SQLite takes at least 999 values in one (limits, SQLITE_MAX_VARIABLE_NUMBER)
_ROWS = 900
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
        self._order: dict[int, int] = {}
        self._order_made_at = -1

    def _index(self) -> TuneIndex:
        from reedpath.shelf.tune_search import TuneIndex  # arrays, which other searches do without

        if self._tunes is None or self._made_at != self._shelf.changes:
            rows = self._shelf.database.execute("SELECT number, melody FROM phrase ORDER BY number").fetchall()
            self._numbers = [row["number"] for row in rows]
            self._tunes = TuneIndex(msgspec.json.decode(row["melody"], type=Melody) for row in rows)
            self._made_at = self._shelf.changes
        return self._tunes

    def _by_title(self) -> dict[int, int]:
        """The place of each phrase in the order of their titles, which is also the order that they are told in."""
        if self._order_made_at != self._shelf.changes:
            rows = self._shelf.database.execute("SELECT number, title FROM phrase").fetchall()
            ordered = sorted((folded(row["title"]), row["number"]) for row in rows)
            self._order = {number: place for place, (_title, number) in enumerate(ordered)}
            self._order_made_at = self._shelf.changes
        return self._order

    def find(self, query: PhraseQuery) -> list[FoundPhrase]:
        """The phrases that fulfil all that is asked: by title, or the nearest to a tune first."""
        return self.find_some(query)[0]

    def find_some(self, query: PhraseQuery, *, skip: int = 0) -> tuple[list[FoundPhrase], int]:
        """Those of the phrases found that come after the first ones, and how many are found in all.

        skip : how many are left out at the start; without a tune only.
        """
        said, values = _conditions(query)
        sql = (
            "SELECT phrase.number FROM phrase JOIN phrase_words ON phrase_words.rowid = phrase.number "
            f"WHERE {' AND '.join(said) or '1'}"
        )
        with told_by_database(self._shelf.path):
            if not said and query.tune is None:
                numbers = list(self._by_title())  # all of them, which need not be asked for
            else:
                numbers = [number for (number,) in self._shelf.database.execute(sql, values)]
            if query.tune is not None:
                found = self._by_tune(query.tune, set(numbers), query.top)
                return found, len(found)
            if said:
                numbers.sort(key=self._by_title().__getitem__)
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
