"""Fields of an ABC tune that decide how it sounds: metre, unit, tempo, key, clef, parts (ABC 2.1, section 3)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from reedpath.data import replace
from reedpath.errors import Place, ReadError
from reedpath.phrase import MOST_METRE_COUNT
from reedpath.pitch import LETTER_SEMITONES, LETTERS_BY_FIFTHS, MODE_FIFTHS, Key, fifths_of
from reedpath.readers.abc.pitches import ALTERATIONS
from reedpath.readers.limits import FASTEST_BPM, SLOWEST_BPM

# modes by the first letters of their names (section 3.1.14)
_MODES = {
    "": "major", "maj": "major", "ion": "major", "m": "minor", "min": "minor", "aeo": "minor", "mix": "mixolydian",
    "dor": "dorian", "phr": "phrygian", "lyd": "lydian", "loc": "locrian", "exp": "major",
}  # fmt: skip

_TONIC = re.compile(r"([A-G])([#b♯♭]?)(?:\s*([A-Za-z]+))?")
_ACCIDENTAL = re.compile(r"(\^\^|\^|__|_|=)([A-Ga-g])(?![A-Za-z0-9])")
# what a K: field may say beside the key (section 4.6, and specifiers of applications)
_SPECIFIER = re.compile(r"(?<!\S)(?:clef|middle|m|octave|transpose|t|stafflines|[a-z]+:\w+)=\S*")
_CLEFS = re.compile(r"(treble|alto|tenor|bass|perc)", re.IGNORECASE)
# parts of a whole note that the standard goes down to (section 3.1.7)
SHORTEST = 512
# parts of an order written out; ours
_MOST_PARTS = 1000


@dataclass(frozen=True, slots=True)
class Signature:
    """A key signature.

    alterations : semitones for each letter that has any.
    key : tonic and mode; None when the field names none.
    """

    alterations: Mapping[str, int] = field(default_factory=dict)
    key: Key | None = None


def _fraction(count: str, unit: str, *, where: Place) -> Fraction:
    if max(len(count), len(unit)) > 3 or not 0 < int(unit) <= SHORTEST or int(count) == 0:
        raise ReadError("readers.no_length", where=where, text=f"{count}/{unit}", shortest=SHORTEST)
    return Fraction(int(count), int(unit))


def parse_metre(text: str, *, where: Place) -> tuple[int, int] | None:
    """Count and unit of an M: field; None for free metre (section 3.1.6).

    >>> parse_metre("C|", where=Place()), parse_metre("(2+3+2)/8", where=Place()), parse_metre("none", where=Place())
    ((2, 2), (7, 8), None)
    """
    text = "".join(text.split())
    if text.lower() == "none" or not text:
        return None
    if text in ("C", "C|"):
        return (4, 4) if text == "C" else (2, 2)
    match = re.fullmatch(r"\(?(\d{1,3}(?:\+\d{1,3})*)\)?/(\d{1,3})", text)
    counts = [int(count) for count in match[1].split("+")] if match else []
    if match is None or not all(counts) or int(match[2]) not in (1, 2, 4, 8, 16, 32, 64):
        raise ReadError("readers.no_metre_field", where=where, text=text)
    if sum(counts) > MOST_METRE_COUNT:
        raise ReadError("readers.no_bar_so_long", where=where)
    return sum(counts), int(match[2])


def parse_unit(text: str, *, where: Place) -> Fraction:
    """Beats (quarter notes) of the unit note length of an L: field (section 3.1.7)."""
    match = re.fullmatch(r"(\d+)(?:/(\d+))?", "".join(text.split()))
    if match is None:
        raise ReadError("readers.no_unit_length", where=where, text=text)
    return 4 * _fraction(match[1], match[2] or "1", where=where)


def default_unit(metre: tuple[int, int] | None) -> Fraction:
    """Beats of the unit where there is no L: a sixteenth under 3/4, else an eighth (section 3.1.7)."""
    short = metre is not None and Fraction(*metre) < Fraction(3, 4)
    return Fraction(1, 4) if short else Fraction(1, 2)


def parse_tempo(text: str, *, unit: Fraction, where: Place) -> float | None:
    """Quarter notes a minute of a Q: field; None when it holds words only (sections 3.1.8 and 10.1).

    >>> parse_tempo('"Slow" 3/8=40', unit=Fraction(1, 2), where=Place())
    60.0
    """
    bare = " ".join(re.sub(r'"[^"]*"', " ", text).split())
    if not bare:
        return None
    match = re.fullmatch(
        r"(?:(?P<lengths>(?:\d+/\d+\s+){0,7}\d+/\d+|[A-Ga-g]\s*(?P<many>\d{0,3}))\s*=\s*)?(?P<rate>\d+(?:\.\d+)?)",
        bare,
    )
    if match is None or len(match["rate"]) > 8:
        raise ReadError("readers.no_tempo_field", where=where, text=text)
    lengths = re.findall(r"(\d+)/(\d+)", match["lengths"] or "")
    if lengths:
        beat = sum((4 * _fraction(*length, where=where) for length in lengths), Fraction(0))
    else:
        beat = unit * int(match["many"] or 1)
    bpm = float(match["rate"]) * float(beat)
    if not SLOWEST_BPM <= bpm <= FASTEST_BPM:
        raise ReadError("readers.tempo_out_of_bounds", where=where, bpm=bpm, low=SLOWEST_BPM, high=FASTEST_BPM)
    return bpm


def _alterations(fifths: int) -> dict[str, int]:
    sharps = LETTERS_BY_FIFTHS if fifths > 0 else LETTERS_BY_FIFTHS[::-1]
    step = 1 if fifths > 0 else -1
    altered: dict[str, int] = {}
    for index in range(abs(fifths)):
        letter = sharps[index % 7]
        altered[letter] = altered.get(letter, 0) + step
    return altered


def _mode(word: str, *, where: Place) -> str:
    if _CLEFS.match(word):
        return ""
    mode = word[:3].lower()  # "capitalisation is ignored", so M is minor too
    if mode not in _MODES:
        raise ReadError("readers.no_mode", where=where, name=word)
    return mode


def _tonicless(text: str, changes: Mapping[str, int], *, where: Place) -> Signature | None:
    word = text.split()[0].lower() if text else "none"
    if word == "none" or (changes and not _CLEFS.match(word)):
        return Signature({letter: alter for letter, alter in changes.items() if alter})
    if _CLEFS.match(word):
        return None
    raise ReadError("readers.no_key_field", where=where, text=text)


def parse_signature(text: str, *, where: Place) -> Signature | None:
    """The signature of a K: field; None when it only says clef or transposition (section 3.1.14).

    >>> parse_signature("D Phr ^f", where=Place()).alterations
    {'B': -1, 'E': -1, 'F': 1}
    """
    is_specified = _SPECIFIER.search(text) is not None
    text = _SPECIFIER.sub("", text).strip()
    if is_specified and not text:
        return None
    if text in ("HP", "Hp"):
        return Signature({} if text == "HP" else {"F": 1, "C": 1})
    changes = {letter.upper(): ALTERATIONS[sign] for sign, letter in _ACCIDENTAL.findall(text)}
    match = _TONIC.match(text)
    if match is None:
        return _tonicless(text, changes, where=where)
    letter, accidental, word = match[1], match[2], match[3] or ""
    mode = _mode(word, where=where)
    alter = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[accidental]
    key = Key((LETTER_SEMITONES[letter] + alter) % 12, _MODES[mode])
    tonic = fifths_of(letter, alter)
    base = {} if mode == "exp" else _alterations(tonic + MODE_FIFTHS[key.mode])
    altered = {name: change for name, change in {**base, **changes}.items() if change}
    # accidentals beside the key may make another mode of it: D with a natural C is mixolydian
    alike = (other for other, fifths in MODE_FIFTHS.items() if _alterations(tonic + fifths) == altered)
    return Signature(altered, replace(key, mode=next(alike, key.mode)))


def parse_shift(text: str) -> int | None:
    """Semitones from written to sounding pitch that a K: or V: field asks for; None if it says nothing.

    Counted are ``octave=``, ``transpose=`` (``t=``) and clefs with +8 or -8 (section 4.6).

    >>> parse_shift("C clef=treble-8 transpose=-2"), parse_shift("Am")
    (-14, None)
    """
    shift = None
    for pattern, size in (
        (r"(?<!\S)octave=([+-]?\d{1,2})(?!\S)", 12),
        (r"(?<!\S)(?:transpose|t)=([+-]?\d{1,2})(?!\S)", 1),
        (r"(?<!\S)(?:clef=)?(?:treble|alto|tenor|bass|none)\d?([+-])8(?!\S)", 12),
    ):
        match = re.search(pattern, text)
        if match:
            amount = {"+": 1, "-": -1}.get(match[1]) or int(match[1])
            shift = (shift or 0) + size * amount
    return shift


def voice_properties(text: str) -> tuple[str, str]:
    """Identity and name of a V: field (section 7.1).

    >>> voice_properties('T1 clef=treble-8 name="Tenore I"')
    ('T1', 'Tenore I')
    """
    words = text.split(maxsplit=1)
    if not words:
        return "", ""
    name = re.search(r'(?<!\S)(?:name|nm)="([^"]*)"', text)
    return words[0][:20], name[1] if name else ""


def parse_part_order(text: str, *, where: Place) -> list[str]:
    """Letters of the parts in the order of playing (section 3.1.9).

    >>> "".join(parse_part_order("(AB)2.C", where=Place()))
    'ABABC'
    """
    stack: list[list[str]] = [[]]
    last: list[str] = []
    for sign, number in re.findall(r"([A-Za-z()])\s*(\d{0,3})", text.replace(".", " ")):
        times = int(number or 1)
        if sign == "(":
            stack.append([])
            continue
        if sign == ")":
            if len(stack) == 1:
                raise ReadError("readers.bracket_without_start", where=where, text=text)
            last = stack.pop()
        else:
            last = [sign]
        stack[-1] += last * times
        if len(stack[-1]) > _MOST_PARTS:
            raise ReadError("readers.order_too_long", where=where, most=_MOST_PARTS)
    if len(stack) > 1:
        raise ReadError("readers.bracket_without_end", where=where, text=text)
    return stack[0]
