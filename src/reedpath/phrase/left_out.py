"""What a phrase does not hold of its source: kinds of a closed list, each with the values a sentence needs."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any

from msgspec import Meta, Struct
from msgspec.structs import force_setattr

from reedpath.data import read_toml, shipped_text
from reedpath.errors import NOWHERE, PhraseError, Place, SettingsError, plain_text
from reedpath.errors.english import ErrorMessage, fill_gaps

_FILE = "left_out.toml"
# how many of a kind a file may name; ours
MOST_COUNT = 10_000_000


class LeftOutKind(Struct, frozen=True):
    """One kind of thing that a phrase does not hold.

    text : in English, with a gap for each value.
    doubtful : whether it is not left out but guessed or not to be trusted.
    rank : place in the list, the weightiest 0.
    """

    text: str
    doubtful: bool
    rank: int

    @property
    def gaps(self) -> frozenset[str]:
        """Names of the values that go with it."""
        return ErrorMessage(self.text).gaps


class _KindsFile(Struct, frozen=True, forbid_unknown_fields=True):
    left_out: dict[str, Any] = {}
    doubtful: dict[str, Any] = {}


def _has_sound_gaps(words: str) -> bool:
    bare = fill_gaps(words, dict.fromkeys(ErrorMessage(words).gaps, ""), str)
    return bool(words.strip()) and not set("{}") & set(bare)


def parse_left_out_kinds(text: str) -> Mapping[str, LeftOutKind]:
    """The kinds of a file's text, by key; SettingsError names file, key and value."""
    tables = read_toml(text, _KindsFile, file=_FILE)
    kinds: dict[str, LeftOutKind] = {}
    for group, words_of in (("left_out", tables.left_out), ("doubtful", tables.doubtful)):
        for key, words in words_of.items():
            where = Place(file=_FILE, field=f"{group}.{key}")
            if not isinstance(words, str) or not _has_sound_gaps(words):
                raise SettingsError("phrase.no_text_with_gaps", where=where, text=str(words), sample="{name}")
            if key in kinds:
                raise SettingsError("phrase.kind_twice", where=where)
            kinds[key] = LeftOutKind(words, group == "doubtful", len(kinds))
    if "unlisted" not in kinds or kinds["unlisted"].gaps != {"what"}:
        raise SettingsError("phrase.no_unlisted_kind", where=Place(file=_FILE))
    return MappingProxyType(kinds)


@cache
def left_out_kinds() -> Mapping[str, LeftOutKind]:
    """The closed list of kinds, by key, the weightiest first."""
    return parse_left_out_kinds(shipped_text("reedpath.phrase", _FILE))


class LeftOut(Struct, frozen=True):
    """Something of the source that the phrase does not hold: what, where, how many.

    kind : a key of `left_out_kinds`.
    place : where the source has it first.
    count : how many, at least 1.
    values : name and text of each value that the kind's text has a gap for, sorted by name.
    what : what it is, in English; follows from kind and values.

    Raises PhraseError for a kind that is not in the list, and for other values than it takes.

    >>> LeftOut("voice", values=(("name", "alto"),)).what
    'voice alto'
    """

    kind: str
    place: Place = NOWHERE
    count: Annotated[int, Meta(ge=1, le=MOST_COUNT)] = 1
    values: tuple[tuple[str, str], ...] = ()
    what: str = ""

    def __post_init__(self) -> None:
        name, values = self.kind, self.values
        if name not in left_out_kinds() and self.what:  # of a file that a later version wrote
            name, values = "unlisted", (("what", self.what),)
        kind = left_out_kinds().get(name)
        if kind is None:
            raise PhraseError("phrase.no_such_kind", kind=name)
        gaps = [gap for gap, _ in values]
        if gaps != sorted(kind.gaps):
            raise PhraseError("phrase.other_values", kind=name, values=sorted(kind.gaps), given=gaps)
        given = {gap: plain_text(value) for gap, value in values}
        force_setattr(self, "kind", name)
        force_setattr(self, "values", tuple(given.items()))
        force_setattr(self, "what", fill_gaps(kind.text, given, str))

    @property
    def doubtful(self) -> bool:
        """Whether it is not left out but guessed or not to be trusted."""
        return left_out_kinds()[self.kind].doubtful
