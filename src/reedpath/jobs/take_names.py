"""Names of recordings: whose a take is and when it was made, told from the names of its file and of its folders.

What a telephone or a computer calls a recording, dates, numbers and the words of the lessons' titles are left out;
what is left is the student's name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from functools import cache

from msgspec import Struct

from reedpath.data import read_toml, shipped_text
from reedpath.errors import clean_text
from reedpath.jobs.take_matching import LEAST_LETTERS, words_of_name
from reedpath.shelf.words import folded

FILE = "take_names.toml"
# a word as it is typed, its digits with it; a possessive end is none of it
_TYPED = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*", re.UNICODE)
_POSSESSIVE = re.compile(r"['’]s$")
# letters that are left of a word with digits for it to say anything: "Anna2" does, "WA0003" and "T10" do not
LEAST_BESIDE_DIGITS = 3
# year, month, day with or without signs between (ISO 8601), and day, month, year with points, as is written in Europe
_DATES = (
    re.compile(r"(?<!\d)(?P<year>20\d\d)(?P<sign>[-_. ]?)(?P<month>\d\d)(?P=sign)(?P<day>\d\d)(?!\d)"),
    re.compile(r"(?<!\d)(?P<day>\d{1,2})[.](?P<month>\d{1,2})[.](?P<year>20\d\d)(?!\d)"),
)


class _WordsFile(Struct, frozen=True, forbid_unknown_fields=True):
    words: frozenset[str]
    small: frozenset[str]


@cache
def _known_words() -> _WordsFile:
    return read_toml(shipped_text("reedpath.jobs", FILE), _WordsFile, file=FILE)


def date_named(*texts: str) -> date | None:
    """The day that the first of some names says, None where none says any.

    >>> date_named("Anna 2026-11-25"), date_named("AUD-20261125-0003"), date_named("Take 3", "25.11.2026")
    (datetime.date(2026, 11, 25), datetime.date(2026, 11, 25), datetime.date(2026, 11, 25))
    """
    for text in texts:
        for pattern in _DATES:
            for found in pattern.finditer(text):
                try:
                    return date(int(found["year"]), int(found["month"]), int(found["day"]))
                except ValueError:
                    continue
    return None


def _without_dates(text: str) -> str:
    for pattern in _DATES:
        text = pattern.sub(" ", text)
    return text


def _typed_words(text: str) -> Iterator[str]:
    """The words of a name as they are typed, without digits; empty for one that only numbers something."""
    for word in _TYPED.findall(_without_dates(text)):
        letters = _POSSESSIVE.sub("", word.strip("0123456789"))
        has_digits = any(sign.isdigit() for sign in word)
        too_few = len(letters) < (LEAST_BESIDE_DIGITS if has_digits else 1)
        yield "" if too_few or any(sign.isdigit() for sign in letters) else letters


def _titled(typed: Sequence[str], titles: Sequence[str]) -> frozenset[str]:
    """Which words of a name are of a lesson's title: two that are half of it, or all; or one behind others."""
    known = _known_words()
    of_titles = [words_of_name(title) for title in titles]
    said = [word for one in typed for word in words_of_name(one)]
    titled: set[str] = set()
    for title, text in zip(of_titles, titles, strict=True):
        shared = title & set(said)
        if shared and (shared == title or 2 * len(shared) >= max(4, len(title))):
            # "A", of "Boxcar in A", says nothing by itself
            titled |= shared | {folded(one) for one in _TYPED.findall(text) if len(one) < LEAST_LETTERS}
    every = frozenset().union(*of_titles)
    if set(said) - every - known.words - known.small:
        titled |= set(said[1:]) & every
    return frozenset(titled)


def _name_in(text: str, titles: Sequence[str]) -> str:
    """The student's name in the name of a file or folder; empty where there is none."""
    typed, known = list(_typed_words(clean_text(text))), _known_words()
    titled = _titled(typed, titles)
    kept: list[str] = []
    for word in typed:
        plain = folded(word)
        is_other = not word or plain in known.words or (words_of_name(word) or {plain}) <= titled
        follows_other = kept and not kept[-1]
        # "recording of Anna", but "Lena von Arx"
        kept.append("" if is_other or (follows_other and plain in known.small) else word)
    name = [word for word in kept if word]
    while len(name) > 1 and folded(name[-1]) in known.small:
        name.pop()
    is_small = all(folded(word) in known.small for word in name)
    # "Di" alone may be a name, "of the" is none
    if is_small and not (len(kept) == 1 and len(name) == 1 and name[0].istitle()):
        return ""
    said = " ".join(name)
    return said.title() if said == said.lower() or (said == said.upper() and len(said) > 3) else said


def student_named(folders: Sequence[str], stem: str, titles: Sequence[str] = ()) -> str:
    """The student's name that the nearest folder of a take says, or its file; empty where neither says any.

    folders : names of those between the folder that was given and the file, the nearest last.
    stem : name of the file without its ending. titles : of the lessons, which are no names.

    >>> student_named(["Anna"], "Recording 7"), student_named([], "bo_lind week3"), student_named(["2026"], "T03")
    ('Anna', 'Bo Lind', '')
    """
    for text in (*reversed(folders), stem):
        name = _name_in(text, titles)
        if name:
            return name
    return ""


def same_student(name: str, known: Sequence[str]) -> str:
    """The one of some known students that a name means: the same, or the only one of which it is a part or a whole.

    >>> same_student("anna", ["Anna Berg", "Bo"]), same_student("Anna", ["Anna Berg", "Anna Holm"])
    ('Anna Berg', 'Anna')
    """
    same = [one for one in known if folded(one) == folded(name)]
    if same:
        return same[0]
    words = words_of_name(name)
    others = {one: words_of_name(one) for one in known}
    likely = [one for one, its in others.items() if words and its and (its <= words or words <= its)]
    return likely[0] if len(likely) == 1 else name
