"""What stands under a count: a move with what a lesson's tab adds to it, a note that goes on, or a rest."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction

from reedpath.errors import NotationError, Place, ReadError
from reedpath.harp import Alteration, Harp, Move, Notation, check_move, midi_of, parse_move
from reedpath.phrase import Ornaments
from reedpath.readers.harmonica_tab.counted import HOLDS, SILENT, CountedBar, Moment
from reedpath.readers.harmonica_tab.lines import Slot, SlotKind

# between quick notes, those before the note itself and those after it, and between the depths of one breath
_RUN, _GLIDE = re.compile(r"(»|>>|«|<<)"), re.compile(r"[›>]")
_INTO = ("»", ">>")
# after a move: not the note asked for, vibrato, accent
_AFTER = re.compile(r"[*~>]+$")
# semitones of a shallow bend, for what a sound rises from; ours
_DIP = Fraction(1, 2)


def _depth(move: Move) -> Fraction:
    """Semitones by which a reed is pressed down."""
    if move.alteration is not Alteration.BEND:
        return Fraction(0)
    return Fraction(-move.semitones) or _DIP


class _MoveReader:
    """Reads moves of one notation on one harp."""

    def __init__(self, notation: Notation, harp: Harp) -> None:
        self.notation, self.harp = notation, harp

    def depths(self, text: str, place: Place) -> list[Move]:
        """The depths that one breath goes through: attacked bent, the note's own, pressed down."""
        try:
            return [parse_move(one, self.notation, tuning=self.harp.tuning) for one in _GLIDE.split(text)]
        except NotationError as error:
            raise ReadError.like(error).inside(place) from error

    def played(self, text: str, place: Place) -> tuple[Move, Ornaments]:
        """The move of a note among its depths, and how it glides."""
        depths = self.depths(_AFTER.sub("", text), place)
        falls = len(depths) == 2 and _depth(depths[1]) > _depth(depths[0])
        at = 0 if falls or len(depths) == 1 else 1
        move, own = depths[at], _depth(depths[at])
        try:
            check_move(move, self.harp.tuning)
        except NotationError as error:
            raise ReadError.like(error).inside(place) from error
        bend_in = max(Fraction(0), _depth(depths[0]) - own)
        release = max(Fraction(0), _depth(depths[-1]) - own)
        return move, Ornaments(bend_in=bend_in, release=release)

    def note(self, moment: Moment, beats: Fraction, metre: tuple[int, int]) -> Slot:
        """A note with the quick ones that run into it and out of it."""
        pieces = _RUN.split(moment.text)
        texts, signs = pieces[::2], pieces[1::2]
        own = max((index for index, sign in enumerate(signs, start=1) if sign in _INTO), default=0)
        if texts[own] in SILENT:
            return Slot(SlotKind.REST, moment.place, beats, metre=metre, part=moment.part)
        move, ornaments = self.played(texts[own], moment.place)
        before = [self._midi(text, moment.place) for text in texts[:own] if text not in SILENT]
        after = [self._midi(text, moment.place) for text in texts[own + 1 :] if text not in SILENT]
        marks = _AFTER.search(texts[own])
        told = Ornaments(
            bend_in=ornaments.bend_in,
            release=ornaments.release,
            slide_to=after[-1] if after else None,
            graces=tuple(before),
        )
        return Slot(
            SlotKind.NOTE, moment.place, beats, move,
            vibrato=marks is not None and "~" in marks[0],
            accent=marks is not None and ">" in marks[0],
            ornaments=told, metre=metre, part=moment.part,
        )  # fmt: skip

    def _midi(self, text: str, place: Place) -> int:
        return midi_of(self.harp, self.played(text, place)[0])[0]


def _slots(bar: CountedBar, reader: _MoveReader) -> Iterator[Slot]:
    for moment, beats in bar.timed():
        if not moment.text or moment.text in HOLDS:
            kind = SlotKind.HOLD if moment.text else SlotKind.REST
            yield Slot(kind, moment.place, beats, metre=bar.metre, part=moment.part)
        else:
            yield reader.note(moment, beats, bar.metre)


def counted_slots(bars: Sequence[CountedBar], notation: Notation, harp: Harp) -> list[Slot]:
    """The notes, rests and holds of bars under counts, a bar line after each.

    Raises `ReadError`, naming line and column of what is no move of the harp, or of a count that does not come after
    the one before.
    """
    reader = _MoveReader(notation, harp)
    slots: list[Slot] = []
    for bar in bars:
        slots += _slots(bar, reader)
        slots.append(Slot(SlotKind.BAR, slots[-1].place))
    return slots
