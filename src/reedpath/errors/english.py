"""What errors and places say in English, from the files in ``messages``; other languages are the catalogues' matter.

One TOML file for each room. A message is a text with gaps, ``"there is no tuning named '{name}'"``, or, with a word
on what to do, a table of two: ``{ says = "...", hint = "..." }``. The file ``place`` says places, ``word`` the terms
that messages put into one another's gaps.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

from reedpath.errors.places import Place

_GAP = re.compile(r"\{([a-z][a-z_0-9]*)\}")
# characters of a foreign word or name that is told; ours
LONGEST_VALUE = 60
# categories of Unicode that print nothing, or turn the writing around: control, format, surrogates, private,
# unassigned, and the separators of lines
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


# zero width joiners, which letters of some scripts and composed pictures need; Unicode 15, section 23.2
_JOINERS = "\u200c\u200d"
# what terminals obey: control sequences, control strings, and other escapes; ECMA-48, 5th edition 1991, section 5
_ESCAPES = re.compile(r"(?:\x1b\[|\x9b)[0-?]*[ -/]*[@-~]|\x1b[\]PX^_][^\x07\x1b\x9c]*(?:\x07|\x9c|\x1b\\|$)|\x1b.?")


class Term(str):
    """A word of the program's own that stands in a message's gap: a key of the messages of ``word``."""

    __slots__ = ()


class Clause:
    """A message that stands in the gap of another one, with values of its own: what a hole can do, say."""

    __slots__ = ("key", "values")

    def __init__(self, key: str, **values: Value) -> None:
        self.key, self.values = key, values


# what the system calls its errors (POSIX, errno.h), and our messages for them
_OF_THE_SYSTEM = {
    "ENOSPC": "system.no_space",
    "EDQUOT": "system.no_space",
    "EACCES": "system.denied",
    "EPERM": "system.denied",
    "EROFS": "system.read_only",
    "ENAMETOOLONG": "system.name_too_long",
    "ENOTDIR": "system.no_folder",
    "EISDIR": "system.is_folder",
    "ENOENT": "system.not_there",
    "EIO": "system.input_output",
    "EMFILE": "system.too_many_open",
    "ENFILE": "system.too_many_open",
    "EFBIG": "system.too_large",
    "EBUSY": "system.in_use",
    "ETXTBSY": "system.in_use",
    "ELOOP": "system.links_in_circle",
}


def system_words(error: BaseException) -> Clause | str:
    """What the system says of a file or disk, to stand in a message's gap; its own words where we have none."""
    import errno

    key = _OF_THE_SYSTEM.get(errno.errorcode.get(getattr(error, "errno", None) or 0, ""))
    if type(error).__name__ == "InvalidDataError":  # of the library that reads films
        key = "system.no_media"
    return Clause(key) if key else str(getattr(error, "strerror", None) or error)


# what closes a gap; a row is told with commas
Value = str | int | float | Fraction | Place | Clause | Sequence[str | Clause] | Sequence[int] | Sequence[float]


@dataclass(frozen=True, slots=True)
class ErrorMessage:
    """What an error says, and what to do about it ("" for nothing), gaps still open."""

    says: str
    hint: str = ""

    @property
    def gaps(self) -> frozenset[str]:
        """Names of the values that it takes."""
        return frozenset(_GAP.findall(self.says + self.hint))


def plain_text(text: str, *, most: int = LONGEST_VALUE) -> str:
    r"""
    A foreign word on one line, without control characters, no longer than ``most`` characters.

    >>> plain_text("Lead\x1b[31m\n guitar"), plain_text("a long name", most=6)
    ('Lead [31m guitar', 'a lon…')
    """
    seen = "".join(" " if unicodedata.category(sign) in _UNSEEN else sign for sign in text[: 4 * most])
    seen = " ".join(seen.split())
    return seen if len(seen) <= most else seen[: most - 1].rstrip() + "…"


def clean_text(text: str) -> str:
    r"""
    A foreign text as it can be shown and written anywhere: on one line, without escape codes and control characters.

    Bytes that the system's encoding could not read are read as UTF-8.

    >>> clean_text("Lead\x1b[31m\n guitar"), clean_text("\udcc3\udc89t\udcc3\udca9"), clean_text("Été")
    ('Lead guitar', 'Été', 'Été')
    """
    if text.isprintable():
        return text
    with suppress(UnicodeError):
        text = text.encode("utf-8", "surrogateescape").decode("utf-8")
    bare = _ESCAPES.sub("", text)
    seen = "".join(" " if unicodedata.category(sign) in _UNSEEN and sign not in _JOINERS else sign for sign in bare)
    return text if seen == text else " ".join(seen.split())


def parse_messages(text: str) -> Mapping[str, ErrorMessage]:
    """The messages of a file's text, by name."""
    found = {}
    for name, entry in tomllib.loads(text).items():
        found[name] = ErrorMessage(**entry) if isinstance(entry, dict) else ErrorMessage(entry)
    return found


@cache
def _messages(room: str) -> Mapping[str, ErrorMessage]:
    path = Path(__file__).parent / "messages" / f"{room}.toml"
    return parse_messages(path.read_text(encoding="utf-8")) if path.is_file() else {}


def english_message(key: str) -> ErrorMessage:
    """The message of a key such as "harp.unknown_tuning"; KeyError where there is none."""
    room, _, name = key.partition(".")
    return _messages(room)[name]


def fill_gaps(text: str, values: Mapping[str, Value], write: Callable[[Value], str]) -> str:
    """The text with each gap closed by its value as ``write`` writes it."""
    return _GAP.sub(lambda gap: write(values[gap[1]]), text)


def in_english(value: Value) -> str:
    """A value as it stands in a sentence: foreign text on one line, a row with commas, a term or a place in words."""
    if isinstance(value, Term):
        return english_message(f"word.{value}").says
    if isinstance(value, Clause):
        return fill_gaps(english_message(value.key).says, value.values, in_english)
    if isinstance(value, Place):
        return ", ".join(
            fill_gaps(english_message(key).says, values, in_english) for key, values in place_pieces(value)
        )
    if isinstance(value, str):
        return plain_text(value, most=4 * LONGEST_VALUE)
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, Fraction):
        return in_english(value.numerator) + (f"/{in_english(value.denominator)}" if value.denominator > 1 else "")
    if isinstance(value, int):
        # Python refuses to write out integers of over 4,300 digits, and nobody would read them
        return f"{value:,}" if abs(value) < 10**15 else f"10^{int(value.bit_length() * 0.30103)}"
    return ", ".join(in_english(one) for one in value) or english_message("word.none").says


def place_pieces(place: Place) -> list[tuple[str, dict[str, Value]]]:
    """The messages that say a place, the widest first: each one's key and values."""
    pieces: list[tuple[str, dict[str, Value]]] = []
    known = dict(place.known)
    last = known.pop("last_tune", None)
    for name, value in known.items():
        if name == "tune" and last is not None and last != value:
            pieces.append(("place.tunes", {"first": value, "last": last}))
        elif name == "bar" and value == 0:
            pieces.append(("place.pickup", {}))
        else:
            pieces.append((f"place.{name}", {"number": value}))
    return pieces
