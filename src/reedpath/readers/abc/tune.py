"""A tune: its fields obeyed and its music code given to its voices (ABC 2.1, sections 3.2, 4.16 and 7)."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from reedpath.errors import Place, ReadError
from reedpath.readers.abc import fields
from reedpath.readers.abc.barlines import BarBook
from reedpath.readers.abc.code import Token, tokens_of
from reedpath.readers.abc.decorations import LETTERS
from reedpath.readers.abc.macros import Macros
from reedpath.readers.abc.pitches import AccidentalsInForce
from reedpath.readers.abc.tunebook import Line, Tune, Tunebook, decode_string, field_of, is_strict
from reedpath.readers.abc.voices import Voice
from reedpath.readers.limits import Limits
from reedpath.readers.omissions import Omissions
from reedpath.readers.swing_words import swing_of_words

# signs that mean something for each that does not; ours: with fewer of them the text is no ABC
_STRAY_SHARE = 10
# voices; ours: an orchestra has fewer
_MOST_VOICES = 100
# signs for each note that the limits allow: bar lines, decorations and the notes of other voices. Ours
_SIGNS_PER_NOTE = 10


@dataclass(slots=True)
class TuneReading:
    """What is known of a tune while it is read, and when it has been.

    voices : by identity, in order of appearance.
    order : parts in the order of playing, empty when the tune does not say.
    swing : ratio of the halves of a beat.
    strict : signs that mean nothing are errors; otherwise they are passed over, if they are few.
    """

    limits: Limits
    omissions: Omissions
    strict: bool
    voices: dict[str, Voice] = field(default_factory=dict)
    order: list[str] = field(default_factory=list)
    swing: Fraction = Fraction(1)
    key: fields.Signature = field(default_factory=fields.Signature)
    _metre: tuple[int, int] | None = None
    _unit: Fraction | None = None
    _shift: int = 0
    _bpm: float | None = None
    _spread: str = "pitch"
    _symbols: dict[str, str] = field(default_factory=lambda: dict(LETTERS))
    _macros: Macros = field(default_factory=Macros)
    _plus_decorations: bool = False
    _declared: dict[str, tuple[str, int | None]] = field(default_factory=dict)
    _voice: Voice | None = None
    _in_body: bool = False
    _signs: int = 0
    _strays: list[Token] = field(default_factory=list)

    # voices

    def voice(self) -> Voice:
        """The voice that the music code goes to."""
        if self._voice is None:
            self._voice = self._open_voice("")
        return self._voice

    def _open_voice(self, identity: str) -> Voice:
        if identity in self.voices:
            return self.voices[identity]
        title, shift = self._declared.get(identity, ("", None))
        accidentals = AccidentalsInForce(self.key.alterations, self._spread)
        book = BarBook(self._metre, self.limits)
        unit = self._unit or fields.default_unit(self._metre)
        own_shift = self._shift if shift is None else shift
        voice = Voice(identity, title, unit, own_shift, book, accidentals, self.omissions)
        if self._bpm is not None and not self.voices:
            book.change_tempo(self._bpm)
        if len(self.voices) >= _MOST_VOICES:
            raise ReadError("readers.too_many_voices", most=_MOST_VOICES)
        self.voices[identity] = voice
        return voice

    # fields

    def obey(self, letter: str, text: str, where: Place) -> None:
        """Take in a field of the header, the body or a line of music."""
        obey = _OBEY.get(letter)
        if obey is not None:
            obey(self, text, where)

    def _obey_key(self, text: str, where: Place) -> None:
        signature = fields.parse_signature(text, where=where)
        shift = fields.parse_shift(text)
        if not self._in_body:
            self.key = signature or fields.Signature()
            self._shift = shift or 0
            return
        voice = self.voice()
        if signature is not None:
            if signature.key != self.key.key:
                self.omissions.note("key-changes", where)
            voice.accidentals.signature = signature.alterations
        if shift is not None:
            voice.shift = shift

    def _obey_metre(self, text: str, where: Place) -> None:
        metre = fields.parse_metre(text, where=where)
        if self._in_body:
            self.voice().book.change_metre(metre)
        else:
            self._metre = metre

    def _obey_unit(self, text: str, where: Place) -> None:
        unit = fields.parse_unit(text, where=where)
        if self._in_body:
            self.voice().unit = unit
        else:
            self._unit = unit

    def _obey_tempo(self, text: str, where: Place) -> None:
        unit = self.voice().unit if self._in_body else self._unit or fields.default_unit(self._metre)
        bpm = fields.parse_tempo(text, unit=unit, where=where)
        self.swing = swing_of_words(text) or self.swing
        if bpm is None:
            self.omissions.note("tempo-words", where)
        elif self._in_body:
            self.voice().book.change_tempo(bpm)
        else:
            self._bpm = bpm

    def _obey_parts(self, text: str, where: Place) -> None:
        if not self._in_body:
            self.order = fields.parse_part_order(text, where=where)
        elif text:
            self.voice().book.begin_section(text)

    def _obey_title(self, text: str, where: Place) -> None:
        if self._in_body and text:
            self.voice().book.label(decode_string(text))

    def _obey_voice(self, text: str, where: Place) -> None:
        identity, title = fields.voice_properties(text)
        shift = fields.parse_shift(text)
        if not self._in_body:
            self._declared[identity] = (title, shift)
            return
        self._voice = self._open_voice(identity)
        if title:
            self._voice.title = title
        if shift is not None:
            self._voice.shift = shift

    def _obey_symbol(self, text: str, where: Place) -> None:
        match = re.fullmatch(r"([~.H-Wh-w])\s*=\s*(?:[!+]([^!+\s]+)[!+]|\".*\")", text)
        if match is None:
            self.omissions.note("symbol-definitions", where)
        else:
            self._symbols[match[1]] = match[2] or "annotations"

    def _obey_macro(self, text: str, where: Place) -> None:
        if not self._macros.define(text):
            self.omissions.note("macros", where)

    def _obey_instruction(self, text: str, where: Place) -> None:
        words = text.split()
        if words[:1] == ["propagate-accidentals"] and words[1:2] and words[1] in ("not", "octave", "pitch"):
            self._spread = words[1]
            for voice in self.voices.values():
                voice.accidentals.spread = words[1]
        elif words[:1] == ["abc-version"]:
            self.strict = is_strict(text)
        elif words[:1] == ["decoration"] or words == ["linebreak", "!"]:
            self._plus_decorations = words[-1] in ("+", "!") and words != ["decoration", "!"]

    def _obey_words(self, text: str, where: Place) -> None:
        if text:
            self.omissions.note("lyrics", where)

    def _obey_symbol_line(self, text: str, where: Place) -> None:
        self.omissions.note("symbol-lines", where)

    # music

    def begin_body(self) -> None:
        """The header is done."""
        self._in_body = True

    def sing(self, line: Line) -> None:
        """Take in a line of music code."""
        code = self._macros.expand(line.text, limits=self.limits, where=Place(line=line.number))
        options = {"strict": self.strict, "plus_decorations": self._plus_decorations}
        for token in tokens_of(code, line=line.number, **options):
            if token.kind == "field":
                self.obey(token.parts[0], token.parts[1].strip(), token.place)
                continue
            voice = self.voice()
            voice.book.line = line.number
            self._give(token, voice)
            self._signs += 1
            self.limits.check("events", self._signs // _SIGNS_PER_NOTE, what="notes-of-all-voices", where=token.place)

    def _give(self, token: Token, voice: Voice) -> None:
        if token.kind == "decoration":
            voice.decoration(token.parts[0], token)
        elif token.kind == "symbol":
            voice.decoration(self._symbols.get(token.text, "none"), token)
        elif token.kind == "text":
            is_annotation = token.parts[0][:1] in ("^", "_", "<", ">", "@")
            if is_annotation:
                self.omissions.note("annotations", token.place)
            else:
                self.omissions.note("chord-symbols", token.place)
        elif token.kind == "stray" or (token.kind == "grace_end" and not voice.in_graces and not self.strict):
            self._strays.append(token)
            self.omissions.note("stray-signs", token.place, sign=self._strays[0].text)
        elif token.kind == "slur":
            if "(" in token.text:
                self.omissions.note("slurs", token.place)
        else:
            _GIVE[token.kind](voice, token)

    def finish(self, place: Place) -> None:
        """The end of the tune."""
        if len(self._strays) * _STRAY_SHARE > self._signs:
            stray = self._strays[0]
            raise ReadError("readers.stray_sign", where=stray.place, sign=stray.text)
        for voice in self.voices.values():
            voice.finish(place)


_OBEY: dict[str, Callable[[TuneReading, str, Place], None]] = {
    "K": TuneReading._obey_key,
    "M": TuneReading._obey_metre,
    "L": TuneReading._obey_unit,
    "Q": TuneReading._obey_tempo,
    "P": TuneReading._obey_parts,
    "T": TuneReading._obey_title,
    "V": TuneReading._obey_voice,
    "U": TuneReading._obey_symbol,
    "m": TuneReading._obey_macro,
    "I": TuneReading._obey_instruction,
    "w": TuneReading._obey_words,
    "W": TuneReading._obey_words,
    "s": TuneReading._obey_symbol_line,
}

_GIVE: dict[str, Callable[[Voice, Token], None]] = {
    "ending": Voice.ending,
    "bar": Voice.bar,
    "chord": Voice.chord,
    "chord_end": Voice.chord_end,
    "grace": Voice.grace,
    "grace_end": Voice.grace_end,
    "tuplet": Voice.tuplet,
    "tie": Voice.tie,
    "broken": Voice.broken,
    "note": Voice.note,
    "rest": Voice.rest,
    "bars_rest": Voice.bars_rest,
    "overlay": Voice.overlay,
}


def _without_text_blocks(lines: Iterable[Line]) -> Iterable[Line]:
    """Lines outside %%begintext ... %%endtext (section 11.4.5)."""
    in_text = False
    for line in lines:
        if line.text.startswith("%%begintext"):
            in_text = True
        if not in_text:
            yield line
        if line.text.startswith("%%endtext"):
            in_text = False


def _obey_line(reading: TuneReading, line: Line, *, in_body: bool) -> bool:
    """Obey a field or directive line; False for a line of music."""
    if line.text.startswith("%%"):
        reading.obey("I", line.text[2:].strip(), Place(line=line.number))
        return True
    found = field_of(line, in_body=in_body)
    if found is None:
        return False
    reading.obey(*found, Place(line=line.number))
    return True


def read_tune(book: Tunebook, tune: Tune, *, limits: Limits, omissions: Omissions) -> TuneReading:
    """Read the whole of a tune of a book."""
    reading = TuneReading(limits, omissions, book.strict)
    for line in (*book.header, *tune.header):
        _obey_line(reading, line, in_body=False)
    reading.begin_body()
    last = tune.header[-1].number if tune.header else 0
    for line in _without_text_blocks(tune.body):
        last = line.number
        if not _obey_line(reading, line, in_body=True):
            reading.sing(line)
    reading.finish(Place(line=last))
    return reading
