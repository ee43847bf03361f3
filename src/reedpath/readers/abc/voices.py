"""Voices of an ABC tune: notes, chords, graces, tuplets, broken rhythm and ties (ABC 2.1, section 4)."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from reedpath.data import replace
from reedpath.errors import NOWHERE, Place, ReadError
from reedpath.phrase import Ornaments
from reedpath.pitch import fifths_of, nearest_fifths
from reedpath.readers.abc.barlines import BarBook
from reedpath.readers.abc.code import Token
from reedpath.readers.abc.decorations import ACCENTS, END_SIGNS, LEFT_OUT
from reedpath.readers.abc.fields import SHORTEST
from reedpath.readers.abc.pitches import AccidentalsInForce, Spelling
from reedpath.readers.bars import Note
from reedpath.readers.omissions import Omissions

# semitones by which a slide begins under its note, which ABC does not say; common practice, no source
_SLIDE_DEPTH = 2
# notes of a tuplet and the time they take (section 4.13); None is 3 in compound metre, else 2
_TUPLET_TIMES: dict[int, int | None] = {2: 3, 3: 2, 4: 3, 5: None, 6: 2, 7: None, 8: 3, 9: None}
# metres (count, unit) that are compound (section 4.13)
_COMPOUND = frozenset({(6, 8), (9, 8), (12, 8)})
# digits and slashes of a note length; ours: longer ones are slips of the pen
_MOST_DIGITS = 3
_MOST_SLASHES = 8


@dataclass(frozen=True, slots=True)
class _NoteHead:
    """A note head: sounding MIDI number and spelling, line on the staff, alteration, whether it is tied on."""

    midi: int
    fifths: int
    line: tuple[str, int]
    alter: int
    tied: bool = False


@dataclass(slots=True)
class _Struck:
    """What was struck last: its notes in the bar, when, how long, and in which bar."""

    indexes: range
    heads: tuple[_NoteHead, ...]
    onset: Fraction
    duration: Fraction
    bar: int


@dataclass(slots=True)
class _Chord:
    """A chord being read; its length is that of its first note (section 4.17)."""

    place: Place
    heads: list[_NoteHead] = field(default_factory=list)
    length: Fraction | None = None


def parse_length(parts: tuple[str, ...], place: Place) -> Fraction:
    """Multiple of the unit note length, of digits, slashes and digits (section 4.3).

    >>> [str(parse_length(parts, Place())) for parts in (("3", "/", "2"), ("", "//", ""), ("", "", ""))]
    ['3/2', '1/4', '1']
    """
    count, slashes, divisor = parts
    fits = max(len(count), len(divisor)) <= _MOST_DIGITS and len(slashes) <= _MOST_SLASHES
    above = int(count or 1) if fits else 0
    below = (int(divisor) if divisor else 2 ** len(slashes)) if fits else 0
    if not above or not 0 < below <= SHORTEST or (divisor and len(slashes) != 1):
        raise ReadError("readers.no_note_length", where=place, text="".join(parts))
    return Fraction(above, below)


@dataclass(slots=True)
class Voice:
    """One voice while it is read.

    name : its identity.
    unit : beats of the unit note length.
    shift : semitones from written to sounding pitch.
    """

    name: str
    title: str
    unit: Fraction
    shift: int
    book: BarBook
    accidentals: AccidentalsInForce
    omissions: Omissions
    _overlay: int = 0
    _chord: _Chord | None = None
    _graces_from: Place = NOWHERE
    _graces: list[_NoteHead] = field(default_factory=list)
    _decorations: set[str] = field(default_factory=set)
    _tuplet: tuple[Fraction, int] = (Fraction(1), 0)
    _broken: Fraction = Fraction(1)
    _last: _Struck | None = None

    @property
    def in_graces(self) -> bool:
        """Whether grace notes are being read."""
        return bool(self._graces_from)

    @property
    def _struck(self) -> _Struck | None:
        """What was struck last, if that was in this bar."""
        last = self._last
        return last if last is not None and last.bar == len(self.book.bars) else None

    # what stands between notes

    def bar(self, token: Token) -> None:
        """A bar line, with the number of an ending if it has one."""
        signs, ending = token.parts
        if "|" in signs or "::" in signs:
            self._leave_bar(token)
            self.accidentals.new_bar()
            self.book.bar_line(signs)
        if ending:
            self.book.begin_ending(ending, token.place)

    def ending(self, token: Token) -> None:
        """An ending that begins apart from a bar line."""
        self._leave_bar(token)
        self.book.begin_ending(token.parts[0], token.place)

    def bars_rest(self, token: Token) -> None:
        """A rest of whole bars."""
        digits, metre = token.parts[0], self.book.metre
        limits = self.book.limits
        count = int(digits or 1) if len(digits) <= _MOST_DIGITS else limits.bars + 1
        limits.check("bars", count, what="bars-of-rest", where=token.place)
        if metre is None:
            raise ReadError("readers.bar_rest_in_free_metre", where=token.place)
        for index in range(count):
            if index:
                self.book.close()
            self.book.lay((), Fraction(4 * metre[0], metre[1]))
        self._last = None

    def overlay(self, token: Token) -> None:
        """Back to the start of the bar, for notes that sound with those before."""
        self._leave_bar(token)
        self._overlay += 1
        self.book.begin_layer()

    def finish(self, place: Place) -> None:
        """The end of the tune."""
        if self._graces_from or self._chord is not None:
            opened = self._graces_from or (self._chord.place if self._chord else place)
            sign = "{" if self._graces_from else "["
            raise ReadError("readers.never_closed", where=opened, sign=sign)
        self._drop_graces(place)
        self.book.close()

    def _leave_bar(self, token: Token) -> None:
        if self._chord is not None:
            raise ReadError("readers.bar_ends_in_chord", where=token.place)
        self._last = None
        self._overlay = 0 if token.kind != "overlay" else self._overlay

    def _drop_graces(self, place: Place) -> None:
        if self._graces:
            self.omissions.note("graces-before-nothing", place, count=len(self._graces))
            self._graces = []

    # notes

    def note(self, token: Token) -> None:
        """A note, alone or in a chord or among grace notes."""
        sign, letter, marks, *length = token.parts
        spelling = Spelling.of(sign, letter, marks)
        midi, alter = self.accidentals.midi(spelling)
        fifths = fifths_of(spelling.letter, alter) + nearest_fifths(self.shift)
        head = _NoteHead(midi + self.shift, fifths, spelling.line, alter)
        if self._graces_from:
            self._graces.append(head)
            return
        multiple = parse_length(tuple(length), token.place)
        if self._chord is None:
            self._strike((head,), multiple * self.unit)
            return
        self._chord.heads.append(head)
        self._chord.length = self._chord.length or multiple

    def rest(self, token: Token) -> None:
        """A rest."""
        if self._graces_from or self._chord is not None:
            return
        self._strike((), parse_length(token.parts, token.place) * self.unit)

    def chord(self, token: Token) -> None:
        """A chord begins."""
        if self._chord is not None or self._graces_from:
            if self._graces_from:  # a chord among grace notes: its notes follow one another
                return
            raise ReadError("readers.chord_in_chord", where=token.place)
        self._chord = _Chord(token.place)

    def chord_end(self, token: Token) -> None:
        """A chord ends; its own length multiplies that of its notes."""
        if self._graces_from:
            return
        if self._chord is None:
            raise ReadError("readers.closes_no_chord", where=token.place)
        chord, self._chord = self._chord, None
        if chord.heads:
            outer = parse_length(token.parts, token.place)
            self._strike(tuple(chord.heads), (chord.length or Fraction(1)) * outer * self.unit)

    def grace(self, token: Token) -> None:
        """Grace notes begin."""
        if self._graces_from:
            raise ReadError("readers.graces_in_graces", where=token.place)
        self._graces_from = token.place

    def grace_end(self, token: Token) -> None:
        """Grace notes end."""
        if not self._graces_from:
            raise ReadError("readers.closes_no_graces", where=token.place)
        self._graces_from = NOWHERE

    def _strike(self, heads: tuple[_NoteHead, ...], duration: Fraction) -> None:
        factor, left = self._tuplet
        if left:
            duration *= factor
            self._tuplet = (factor, left - 1)
        duration *= self._broken
        self._broken = Fraction(1)
        onset = self.book.at
        indexes = self.book.lay([self._written(head, duration) for head in heads], duration)
        self._last = _Struck(indexes, heads, onset, duration, len(self.book.bars))
        self.accidentals.tie({head.line: head.alter for head in heads if head.tied})
        if heads:
            self._graces, self._decorations = [], set()

    def _written(self, head: _NoteHead, duration: Fraction) -> Note:
        ornaments = Ornaments()
        if self._decorations or self._graces:
            ornaments = Ornaments(
                slide_from=head.midi - _SLIDE_DEPTH if "slide" in self._decorations else None,
                accent=bool(self._decorations & ACCENTS),
                graces=tuple(grace.midi for grace in self._graces),
            )
        voice = f"{self.name} {self._overlay}"
        fifths = tuple(each.fifths for each in (head, *self._graces))
        return Note(
            self.book.at, duration, head.midi, fifths=fifths, ornaments=ornaments, tied_on=head.tied, voice=voice
        )

    # what changes notes

    def tie(self, token: Token) -> None:
        """The note or chord before goes on in the next."""
        if self._chord is not None and self._chord.heads:
            self._chord.heads[-1] = replace(self._chord.heads[-1], tied=True)
        elif (last := self._struck) is not None:
            notes = self.book.notes
            for index in last.indexes:
                notes[index] = replace(notes[index], tied_on=True)
            self.accidentals.tie({head.line: head.alter for head in last.heads})
        else:
            self.omissions.note("ties-after-nothing", token.place)

    def broken(self, token: Token) -> None:
        """Broken rhythm: the note before longer and the next shorter, or the other way round (section 4.4)."""
        if self._graces_from:
            return
        last = self._struck
        if last is None:
            raise ReadError("readers.no_note_before", where=token.place, sign=token.text)
        steps = len(token.text)
        if steps > _MOST_SLASHES:
            raise ReadError("readers.broken_rhythm_too_long", where=token.place, count=steps, most=_MOST_SLASHES)
        short = Fraction(1, 2**steps)
        first, self._broken = (2 - short, short) if token.text[0] == ">" else (short, 2 - short)
        last.duration *= first
        notes = self.book.notes
        for index in last.indexes:
            notes[index] = replace(notes[index], duration=last.duration)
        self.book.shorten_to(last.onset + last.duration)

    def tuplet(self, token: Token) -> None:
        """So many notes in the time of so many (section 4.13)."""
        first, second, third = token.parts
        if max(len(second), len(third)) > 2:
            raise ReadError("readers.no_tuplet", where=token.place, text=token.text)
        played = int(first)
        usual = _TUPLET_TIMES[played] or (3 if self.book.metre in _COMPOUND else 2)
        self._tuplet = (Fraction(int(second or 0) or usual, played), int(third or 0) or played)

    def decoration(self, name: str, token: Token) -> None:
        """A decoration of the note to come, or a sign for the order of playing."""
        if name in ("segno", "coda"):
            self.book.sign_at_start(name)
        elif name in END_SIGNS:
            self.book.sign_at_end(END_SIGNS[name])
        elif name == "slide" or name in ACCENTS:
            self._decorations.add(name)
        elif name not in ("nil", "none"):
            self._leave_out(name.rstrip("()"), token.place)

    def _leave_out(self, name: str, place: Place) -> None:
        """Count a decoration among what is left out; one that the standard does not name is told by its own name."""
        if name in LEFT_OUT:
            self.omissions.note(LEFT_OUT[name], place)
        else:
            self.omissions.note("decoration", place, name=name)
