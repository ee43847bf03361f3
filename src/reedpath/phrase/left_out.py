"""What a phrase does not hold of its source: kinds of a closed list, each with the values a sentence needs."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Annotated

from msgspec import Meta, Struct
from msgspec.structs import force_setattr

from reedpath.errors import PhraseError, SettingsError

__all__ = ["LeftOut", "LeftOutKind", "left_out_in_words", "left_out_kinds", "parse_left_out_kinds", "plain_text"]

_FILE = "left_out.toml"
_GAP = re.compile(r"\{([a-z]+)\}")
# characters of a foreign word or name that is told; ours
LONGEST_VALUE = 60
# characters of an English text of data that are looked at; ours
_LONGEST_TEXT = 200
# how many of a kind a file may name; ours
MOST_COUNT = 10_000_000
# categories of Unicode that print nothing, or turn the writing around: control, format, surrogates, private,
# unassigned, and the separators of lines
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


def plain_text(text: str, *, most: int = LONGEST_VALUE) -> str:
    r"""
    A foreign word on one line, without control characters, no longer than ``most`` characters.

    >>> plain_text("Lead\x1b[31m\n guitar"), plain_text("a long name", most=6)
    ('Lead [31m guitar', 'a lon…')
    """
    seen = "".join(" " if unicodedata.category(sign) in _UNSEEN else sign for sign in text[: 4 * most])
    seen = " ".join(seen.split())
    return seen if len(seen) <= most else seen[: most - 1].rstrip() + "…"


@dataclass(frozen=True, slots=True)
class LeftOutKind:
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
        return frozenset(_GAP.findall(self.text))


def parse_left_out_kinds(text: str, *, name: str = _FILE) -> Mapping[str, LeftOutKind]:
    """The kinds of a file's text, by key; SettingsError names file, key and value."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"not a TOML file: {error}", where=name) from error
    kinds: dict[str, LeftOutKind] = {}
    for group, table in data.items():
        if group not in ("left_out", "doubtful") or not isinstance(table, dict):
            raise SettingsError(f"{group!r} is none of the tables 'left_out' and 'doubtful'", where=name)
        for key, words in table.items():
            where = f"{name}, {group}.{key}"
            if not isinstance(words, str) or not words.strip() or set("{}") & set(_GAP.sub("", words)):
                raise SettingsError(f"{words!r} is no text with gaps such as {{name}}", where=where)
            if key in kinds:
                raise SettingsError("this kind stands here twice", where=where)
            kinds[key] = LeftOutKind(words, group == "doubtful", len(kinds))
    if "unlisted" not in kinds or kinds["unlisted"].gaps != {"what"}:
        raise SettingsError("the kind 'unlisted' takes the value {what}", where=name)
    return MappingProxyType(kinds)


@cache
def left_out_kinds() -> Mapping[str, LeftOutKind]:
    """The closed list of kinds, by key, the weightiest first."""
    return parse_left_out_kinds((files("reedpath.phrase") / _FILE).read_text(encoding="utf-8"))


class LeftOut(Struct, frozen=True):
    """Something of the source that the phrase does not hold: what, where, how many.

    kind : a key of `left_out_kinds`.
    place : where the source has it first ("bar 3", "line 2, column 14"), empty where it has no place.
    count : how many, at least 1.
    values : name and text of each value that the kind's text has a gap for, sorted by name.
    what : what it is, in English; follows from kind and values.

    Raises PhraseError for a kind that is not in the list, and for other values than it takes.

    >>> LeftOut("voice", values=(("name", "alto"),)).what
    'voice alto'
    """

    kind: str
    place: str = ""
    count: Annotated[int, Meta(ge=1, le=MOST_COUNT)] = 1
    values: tuple[tuple[str, str], ...] = ()
    what: str = ""

    def __post_init__(self) -> None:
        name, values = self.kind, self.values
        if name not in left_out_kinds() and self.what:  # of a file that a later version wrote
            name, values = "unlisted", (("what", self.what),)
        kind = left_out_kinds().get(name)
        if kind is None:
            raise PhraseError(f"nothing that is left out is of the kind {name!r}")
        if [gap for gap, _ in values] != sorted(kind.gaps):
            raise PhraseError(f"the kind {name!r} takes the values {sorted(kind.gaps)}, not {values}")
        given = {gap: plain_text(value) for gap, value in values}
        force_setattr(self, "kind", name)
        force_setattr(self, "values", tuple(given.items()))
        force_setattr(self, "what", _GAP.sub(lambda gap: given[gap[1]], kind.text))

    @property
    def doubtful(self) -> bool:
        """Whether it is not left out but guessed or not to be trusted."""
        return left_out_kinds()[self.kind].doubtful


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """A pattern for each kind's text, those that say most first."""
    kinds = {key: kind for key, kind in left_out_kinds().items() if key != "unlisted"}
    written = sorted(kinds, key=lambda key: -len(_GAP.sub("", kinds[key].text)))
    return tuple((key, _pattern(kinds[key].text)) for key in written)


def _pattern(text: str) -> re.Pattern[str]:
    pieces = _GAP.split(text)
    return re.compile("".join(f"(?P<{one}>.+)" if at % 2 else re.escape(one) for at, one in enumerate(pieces)))


def left_out_in_words(what: str, place: str = "", count: int = 1) -> LeftOut:
    """
    What an English text of data means: one of the kinds, or the kind ``unlisted`` with the text itself.

    >>> left_out_in_words("voice low", count=3)
    LeftOut(kind='voice', place='', count=3, values=(('name', 'low'),), what='voice low')
    >>> left_out_in_words("confetti").values
    (('what', 'confetti'),)
    """
    what = plain_text(what, most=_LONGEST_TEXT)
    for key, pattern in _patterns():
        match = pattern.fullmatch(what)
        if match:
            values = sorted((name, plain_text(value)) for name, value in match.groupdict().items())
            return LeftOut(key, place, count, tuple(values))
    return LeftOut("unlisted", place, count, (("what", plain_text(what)),))
