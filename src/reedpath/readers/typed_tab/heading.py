"""The heading of typed tab: lines such as ``title: ...``, ``tempo: 96``, ``key: E``, ``swing: shuffle``.

A heading line is a known word, a colon or an equals sign, and a value; several may stand in a line, two blanks
apart. Lines with other words are for people
and passed over. A value that means nothing is an error with its line, for the phrase would be played wrong.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from fractions import Fraction
from functools import cache
from typing import Literal, TypeAlias

from msgspec import Struct, field
from msgspec.structs import replace

from reedpath.data import read_toml, shipped_text
from reedpath.errors import NOWHERE, PitchError, Place, ReadError
from reedpath.phrase import COMMON_TIME, Metre
from reedpath.pitch import Key, is_german, parse_key
from reedpath.readers.omissions import Omissions
from reedpath.readers.registry import Option
from reedpath.readers.swing_words import swing_of_words

_FILE = "heading.toml"
FieldName: TypeAlias = Literal[
    "title", "tempo", "key", "metre", "swing", "pickup", "tuning", "capo", "harp", "notation", "names"
]
# quarter notes a minute; wider than any metronome's range (common practice, no source)
_SLOWEST_BPM, _FASTEST_BPM = 20, 400
# beats in a bar and notes that can count them; common practice, no source
_MOST_COUNT, _UNITS = 32, (1, 2, 4, 8, 16, 32)
# ratio of the halves of a beat; over the hardest that was measured (Friberg and Sundstrom 2002, from memory)
_MOST_SWING = Fraction(4)
# beats; more is no pickup
_MOST_PICKUP = Fraction(16)

_LINE = re.compile(r"\s*([^\W\d_][^:=]{0,30}?)\s*[:=]\s*(\S.*?)\s*")
# columns of a line of which fields are read; ours, far over any
_LONGEST = 2000
# one number, without a sign, that no second one follows
_BPM = re.compile(
    r"[^\d]*?(?P<dotted>q\.|♩\.|dotted quarter)?[^\d]*(?<![-+])(?P<bpm>\d{1,3}(?:\.\d{1,3})?)\b"
    r"(?!(?:\.\d+)?\s*(?:-|to|bis|à)\s*\d{2}).*"
)
_LONE_BPM = re.compile(r"\s*(?=tempo\s|.*bpm)(?:tempo\s+)?(\d{2,3}(?:\s*-\s*\d{2,3})?)\s*(?:bpm)?\s*", re.IGNORECASE)
_LONE_CAPO = re.compile(r"\s*capo\w*\s+(?:on|at|in)?\s*(?:fret\s+)?(\d{1,2})(?:st|nd|rd|th)?\b.*", re.IGNORECASE)
_APART = re.compile(r"\s{2,}")
_NAME = re.compile(r"[^\W\d_]+")
_METRE = re.compile(r"(\d{1,2})\s*/\s*(\d{1,2})")


class TypedHeading(Struct, frozen=True):
    """What a heading says; None or an empty text where it says nothing.

    title : of the phrase.
    bpm : quarter notes a minute.
    key : of the music.
    swing : ratio of the two halves of a beat.
    pickup : beats before the first full bar.
    german : whether names of notes are German, by the heading's words or by other names in it: then B is B flat.
    texts : all fields as they stand, by name, those of a tab's own (tuning, capo, harp, notation, names) too.
    lines : line numbers by field, for messages.
    """

    title: str = ""
    bpm: float | None = None
    key: Key | None = None
    metre: Metre | None = None
    swing: Fraction | None = None
    pickup: Fraction | None = None
    german: bool = False
    texts: dict[str, str] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)

    @property
    def common_metre(self) -> Metre:
        """The metre, 4/4 where nothing is said."""
        return self.metre or COMMON_TIME

    def with_options(self, **options: Option | None) -> TypedHeading:
        """The heading with texts that the user gives for fields instead; None leaves a field as it is."""
        given = {name: str(text) for name, text in options.items() if text is not None}
        lines = {name: line for name, line in self.lines.items() if name not in given}
        return replace(self, texts={**self.texts, **given}, lines=lines)

    def where(self, name: FieldName) -> Place:
        """Place of a field, for messages."""
        return Place(line=self.lines[name]) if name in self.lines else NOWHERE


@cache
def _fields() -> dict[Literal[FieldName, "german"], tuple[str, ...]]:
    text = shipped_text("reedpath.readers.typed_tab", _FILE)
    return read_toml(text, dict[Literal[FieldName, "german"], tuple[str, ...]], file=_FILE)


@cache
def _words() -> dict[str, str]:
    return {word: name for name, words in _fields().items() if name != "german" for word in words}


def _word_of(line: str) -> str:
    """The word before the colon, in small letters; nothing where there is none."""
    match = _LINE.fullmatch(line[:300])
    return match[1].lower() if match else ""


def _field_of(line: str) -> tuple[str, str] | None:
    """Name and value of a heading line, None for any other line."""
    match = _LINE.fullmatch(line[:300])
    if match is not None and match[1].lower() in _words():
        word, value = match[1].lower(), match[2]
        if word != "time" or _METRE.fullmatch(value):  # "time: 3:45" is how long it lasts
            return _words()[word], value
    for name, pattern in (("tempo", _LONE_BPM), ("capo", _LONE_CAPO)):
        lone = pattern.fullmatch(line[:300])
        if lone is not None:
            return name, lone[1]
    return None


def _fields_of(line: str) -> tuple[tuple[str, str, str], ...]:
    """Each field of a heading line: its name and value, and the text of both; none for any other line."""
    texts = _APART.split(line.strip())
    several = [(found, text) for text in texts if (found := _field_of(text)) is not None]
    if len(texts) > 1 and len(several) == len(texts):
        return tuple((*found, text) for found, text in several)
    found = _field_of(line)
    return () if found is None else ((*found, line),)


def _read_bpm(text: str) -> float:
    match = _BPM.fullmatch(text)
    bpm = float(match["bpm"]) * (1.5 if match["dotted"] else 1.0) if match else 0.0
    if not _SLOWEST_BPM <= bpm <= _FASTEST_BPM:
        raise ReadError("tab.tempo", tempo=text, least=_SLOWEST_BPM, most=_FASTEST_BPM)
    return bpm


def _read_key(text: str) -> Key:
    words = re.sub(r"\b(blues|pentatonic)\b.*", "", text, flags=re.IGNORECASE).strip()
    try:
        return parse_key(words)
    except PitchError as error:
        raise ReadError("tab.key", key_name=text) from error


def _read_metre(text: str) -> Metre:
    plain = {"C": "4/4", "C|": "2/2"}.get(text, text)
    match = _METRE.fullmatch(plain)
    count, unit = (int(match[1]), int(match[2])) if match else (0, 0)
    if not 1 <= count <= _MOST_COUNT or unit not in _UNITS:
        raise ReadError("tab.metre", metre=text)
    return Metre(Fraction(0), count, unit)


def _fraction(text: str) -> Fraction | None:
    match = re.fullmatch(r"(\d{1,3})(?:\s*[/:]\s*(\d{1,3})|\.(\d{1,4}))?", text)
    if match is None or match[2] == "0":
        return None
    if match[3]:
        return Fraction(f"{match[1]}.{match[3]}").limit_denominator(12)
    return Fraction(int(match[1]), int(match[2] or 1))


def _read_swing(text: str) -> Fraction:
    percent = re.fullmatch(r"(\d{2})\s*%", text)
    if percent:
        first = int(percent[1])
        ratio = None if first >= 100 else Fraction(first, 100 - first).limit_denominator(6)
    else:
        ratio = _fraction(text) or swing_of_words(text)
        if ratio is None and re.search(r"\b(triplet|ternaire|triolisch)", text, re.IGNORECASE):
            ratio = Fraction(2)
    if ratio is None or not 1 <= ratio <= _MOST_SWING:
        raise ReadError("tab.swing", swing=text)
    return ratio


def _read_pickup(text: str) -> Fraction:
    beats = _fraction(re.sub(r"\s*(quarter )?(beat|note|temps|schl[aä]g|viertel)\w*$", "", text))
    if beats is None or not 0 <= beats <= _MOST_PICKUP:
        raise ReadError("tab.pickup", pickup=text)
    return beats


_READ: dict[str, tuple[str, Callable[[str], object]]] = {
    "title": ("title", str),
    "tempo": ("bpm", _read_bpm),
    "key": ("key", _read_key),
    "metre": ("metre", _read_metre),
    "swing": ("swing", _read_swing),
    "pickup": ("pickup", _read_pickup),
}

# fields that may change in the course of a tab
_CHANGES = ("tempo", "key", "swing")


def _note_change(name: str, value: object, place: Place, omissions: Omissions) -> None:
    """Tell of a field that a later line gives another value, which is not carried over."""
    if name == "tempo":
        omissions.note("strange-tempo", place, bpm=f"{value:g}")
    elif name in ("key", "swing"):
        omissions.note(f"{name}-changes", place)


def _alike(text: str) -> str:
    """A value without what does not change it: capitals and blanks."""
    return "".join(text.lower().split())


def read_heading(lines: Iterable[tuple[int, str]], omissions: Omissions) -> tuple[TypedHeading, frozenset[int]]:
    """The heading among numbered lines, and the numbers of its lines; the first of each field counts.

    ``omissions`` is told of a later line that says a field otherwise.

    Raises `ReadError`, naming the line, for a value that means nothing.
    """
    known: dict[str, object] = {}
    texts: dict[str, str] = {}
    numbers: dict[str, int] = {}
    said: set[str] = set()
    taken: set[int] = set()
    for number, name, value, line in (
        (number, *found) for number, whole in lines for found in _fields_of(whole[:_LONGEST])
    ):
        taken.add(number)
        said.add(_word_of(line))
        again = name in numbers
        if again and name not in _CHANGES and _alike(value) != _alike(texts[name]):
            omissions.note("said-before", Place(line=number), line=line.strip())
        numbers.setdefault(name, number)
        texts.setdefault(name, value)
        if name not in _READ or (again and name not in _CHANGES):
            continue
        attribute, read = _READ[name]
        try:
            meant = read(value)
        except ReadError as error:
            raise error.inside(Place(line=number)) from error
        if known.setdefault(attribute, meant) != meant:
            _note_change(name, meant, Place(line=number), omissions)
    german = bool(said.intersection(_fields()["german"])) or any(
        is_german(name) for field in ("harp", "key") for name in _NAME.findall(texts.get(field, "")[:80])
    )
    heading = TypedHeading(**known, german=german, texts=texts, lines=numbers)  # type: ignore[arg-type]
    return heading, frozenset(taken)
