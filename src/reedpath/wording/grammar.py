"""The grammar of a language, as data: its plurals, ordinals, numbers, lists, note names and typography."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Annotated, Any

from msgspec import Meta, Struct
from msgspec.structs import force_setattr

from reedpath.data import from_plain, from_tables
from reedpath.errors import Place, SettingsError
from reedpath.wording.plurals import PluralRules, parse_plural_rules

# tables of a catalogue that hold its grammar; all others hold messages
GRAMMAR_TABLES = (
    "language", "plural", "ordinals", "numbers", "lists", "notes", "typography", "contractions", "captions", "dates",
)  # fmt: skip

# space that does not break a line and is narrower than a word space; Unicode U+202F
NARROW_SPACE = "\u202f"


# twelve names, from C
Twelve = tuple[str, str, str, str, str, str, str, str, str, str, str, str]


class NoteNames(Struct, frozen=True, forbid_unknown_fields=True):
    """One way to name notes in a language.

    major : twelve names, from C; also the names of major keys and of single notes.
    minor : twelve names in the names of minor keys, where they differ ("a-Moll").
    spoken : twelve names as they are said ("B flat"), where they differ.
    harp : twelve names of harps, where they differ: a harp is stamped with a letter.
    octave_shift : what to add to the octave number of middle C = C4.
    octave_mark : how note and octave are put together, with the gaps {note} and {octave}; "{note}" where octaves are
        not told.
    octaves : where octaves have no numbers: each from that of MIDI number 0 up, with the gaps {note} and {small}, the
        note in small letters ("{small}′").
    """

    major: Twelve
    minor: Twelve = ()  # type: ignore[assignment]  # filled below
    spoken: Twelve = ()  # type: ignore[assignment]
    harp: Twelve = ()  # type: ignore[assignment]
    octave_shift: int = 0
    octave_mark: str = "{note}{octave}"
    octaves: Annotated[tuple[str, ...], Meta(min_length=11)] | None = None

    def __post_init__(self) -> None:
        for name in ("minor", "spoken", "harp"):
            if not getattr(self, name):
                force_setattr(self, name, self.major)


class ListPatterns(Struct, frozen=True, forbid_unknown_fields=True):
    """How things in a row are joined, with the gaps {a} and {b}."""

    two: str
    middle: str
    last: str


class Contraction(Struct, frozen=True, forbid_unknown_fields=True):
    """What becomes of words before what fills a gap: Italian "dal" and "8 soffiato" are "dall’8 soffiato".

    starts : how that begins, a regular expression.
    before : texts that end before the gap, and what they become; what fills the gap stays.
    merged : texts that end before the gap, and what they and that beginning become: "a" and "la" are "alla".
    """

    starts: str
    before: dict[str, str] = {}
    merged: dict[str, str] = {}

    def joined(self, text: str, value: str) -> str | None:
        """The text and what follows it, None where nothing is contracted."""
        match = re.match(self.starts, value)
        if match is None:
            return None
        for ends, rest in ((self.before, value), (self.merged, value[match.end() :])):
            for end, become in ends.items():
                start = len(text) - len(end)
                if text.endswith(end) and not text[max(0, start - 1) : start].isalnum():
                    return f"{text[:start]}{become}{rest}"
        return None


class CaptionShape(Struct, frozen=True, forbid_unknown_fields=True):
    """What those who read captions in a language are used to; where nothing is said, two lines of 37 at 15 a second.

    line : characters of the longest line.
    speed : characters read in a second while something else is watched.
    source : where the numbers are from.
    """

    line: Annotated[int, Meta(ge=20, le=80)] = 37
    speed: Annotated[float, Meta(ge=8, le=30)] = 15.0
    source: str = ""


class DateShape(Struct, frozen=True, forbid_unknown_fields=True):
    """How a day is written; where nothing is said, as ISO 8601 has it.

    months : their names in a date, January first.
    day : with the gaps {day}, {month} and {year}.
    first : the first of a month, where it is no bare number ("1er").
    """

    months: Twelve
    day: str
    first: str = "1"

    def written(self, day: date) -> str:
        """A day in words."""
        gaps = {"day": self.first if day.day == 1 else str(day.day), "month": self.months[day.month - 1]}
        text = self.day
        for gap, value in (gaps | {"year": str(day.year)}).items():
            text = text.replace(f"{{{gap}}}", value)
        return text


class Grammar(Struct, frozen=True):
    """What a language needs beside its messages.

    title : the language's name in itself.
    plural, ordinal : rules for the forms beside a number, and beside a number in a row.
    ordinal_marks : text of an ordinal by its form, with the gap {n} ("{n}th").
    ordinal_words : for a kind of thing, first to n-th in words ("the second part").
    ordinal_beyond : for a kind of thing, the text after those, with the gap {ordinal} or {n}.
    decimal : decimal sign.
    number_words : zero, one, two, ... as said.
    lists : for "and" and "or", texts with the gaps {a} and {b}: two things, the middle ones, the last ones.
    notes : ways to name notes, the customary one first.
    narrow_before, narrow_after : signs that take a narrow space in place of a space before, or after, them.
    apostrophe : the language's own sign.
    contractions : what becomes of words before what fills a gap.
    captions : of films.
    dates : how a day is written; None for ISO 8601.
    """

    title: str
    plural: PluralRules
    ordinal: PluralRules
    ordinal_marks: Mapping[str, str]
    ordinal_words: Mapping[str, tuple[str, ...]]
    ordinal_beyond: Mapping[str, str]
    decimal: str
    number_words: tuple[str, ...]
    lists: Mapping[str, ListPatterns]
    notes: Mapping[str, NoteNames]
    narrow_before: str = ""
    narrow_after: str = ""
    apostrophe: str = "’"
    contractions: tuple[Contraction, ...] = ()
    captions: CaptionShape = CaptionShape()
    dates: DateShape | None = None

    def joined(self, text: str, value: str) -> str:
        """A text and what fills the gap after it."""
        for one in self.contractions:
            if (contracted := one.joined(text, value)) is not None:
                return contracted
        return text + value

    def typeset(self, text: str) -> str:
        """The text with the language's own apostrophes and spaces."""
        text = text.replace("'", self.apostrophe)
        if self.narrow_before:
            text = re.sub(rf"[ \u00a0](?=[{re.escape(self.narrow_before)}])", NARROW_SPACE, text)
        if self.narrow_after:
            text = re.sub(rf"(?<=[{re.escape(self.narrow_after)}])[ \u00a0]", NARROW_SPACE, text)
        return text


class _Language(Struct, frozen=True, forbid_unknown_fields=True):
    title: str


class _Ordinals(Struct, frozen=True, forbid_unknown_fields=True):
    rules: dict[str, Any]
    marks: dict[str, str]
    words: dict[str, Annotated[tuple[str, ...], Meta(min_length=1)]]
    beyond: dict[str, str]


class _Numbers(Struct, frozen=True, forbid_unknown_fields=True):
    decimal: str
    words: Annotated[tuple[str, ...], Meta(min_length=1)]


class _Lists(Struct, frozen=True, forbid_unknown_fields=True, rename={"both": "and", "either": "or"}):
    both: ListPatterns
    either: ListPatterns


class _Typography(Struct, frozen=True, forbid_unknown_fields=True):
    narrow_before: str = ""
    narrow_after: str = ""
    apostrophe: str = "’"


class _GrammarFile(Struct, frozen=True):
    """A grammar as the tables of a catalogue say it."""

    language: _Language
    plural: dict[str, Any]
    ordinals: _Ordinals
    numbers: _Numbers
    lists: _Lists
    notes: Annotated[dict[str, dict[str, Any]], Meta(min_length=1)]
    typography: _Typography = _Typography()
    contractions: tuple[Contraction, ...] = ()
    captions: CaptionShape = CaptionShape()
    dates: DateShape | None = None


def _each(texts: Mapping[str, str], names: Iterable[str], field: str) -> dict[str, str]:
    """The texts of these names."""
    for name in names:
        if name not in texts:
            raise SettingsError("data.missing", where=Place(field=f"{field}.{name}"))
    return {name: texts[name] for name in names}


def _contraction(given: Contraction, apostrophe: str) -> Contraction:
    """A contraction with the language's own apostrophes, as they are in what it is held against."""
    try:
        re.compile(given.starts)
    except re.error as error:
        where = Place(field="contractions.starts")
        raise SettingsError("data.does_not_hold", where=where, problem=str(error)) from None
    before, merged = (
        {end.replace("'", apostrophe): become.replace("'", apostrophe) for end, become in table.items()}
        for table in (given.before, given.merged)
    )
    return Contraction(given.starts.replace("'", apostrophe), before, merged)


def parse_grammar(data: Mapping[str, Any]) -> Grammar:
    """Read a catalogue's grammar from its tables; errors name the field and the value."""
    file = from_plain(data, _GrammarFile, error=SettingsError)
    rules = parse_plural_rules(file.ordinals.rules, field="ordinals.rules")
    odd = sorted(set(file.ordinals.marks) - set(rules.forms))
    if odd:
        raise SettingsError(
            "wording.plural_form", where=Place(field="ordinals.marks"), form=odd[0], known=rules.forms
        )
    return Grammar(
        title=file.language.title,
        plural=parse_plural_rules(file.plural),
        ordinal=rules,
        ordinal_marks=_each(file.ordinals.marks, rules.forms, "ordinals.marks"),
        ordinal_words=file.ordinals.words,
        ordinal_beyond=_each(file.ordinals.beyond, file.ordinals.words, "ordinals.beyond"),
        decimal=file.numbers.decimal,
        number_words=file.numbers.words,
        lists={"and": file.lists.both, "or": file.lists.either},
        notes=from_tables(file.notes, NoteNames, error=SettingsError, where=Place(field="notes")),
        narrow_before=file.typography.narrow_before,
        narrow_after=file.typography.narrow_after,
        apostrophe=file.typography.apostrophe,
        contractions=tuple(_contraction(one, file.typography.apostrophe) for one in file.contractions),
        captions=file.captions,
        dates=file.dates,
    )
