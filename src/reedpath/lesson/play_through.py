"""The last play-through: the pieces of a lesson one after the other, a bit faster each time."""

from __future__ import annotations

from msgspec import Struct

from reedpath.data import replace
from reedpath.lesson.model import Lesson, Rung, RungName
from reedpath.lesson.naming import with_note
from reedpath.lesson.pieces import LessonOfPieces
from reedpath.lesson.pieces_steps import PLAY_THROUGH_SHARES
from reedpath.phrase import metre_at, practice_beat


class PlayedPiece(Struct, frozen=True):
    """A piece played in a round of the last play-through: its index in the lesson, and at what tempo."""

    piece: int
    rung: Rung


# names of the rungs for the shares of the rounds, in order
_NAMES: tuple[RungName, ...] = ("slow", "faster", "full")


def _rung(lesson: Lesson, share: float, name: RungName) -> Rung:
    """A share of a piece's full tempo, in whole counted beats a minute, as a metronome can be set to."""
    full, phrase = lesson.ladder[-1], lesson.route.phrase
    beat = float(practice_beat(metre_at(phrase, phrase.pickup)))
    bpm = max(1, round(share * full.bpm / beat)) * beat
    return full if share == 1 or bpm >= full.bpm else Rung(name, bpm / full.bpm, bpm)


def play_through_rounds(lesson: LessonOfPieces) -> tuple[tuple[PlayedPiece, ...], ...]:
    """The rounds of the last play-through, slow to full, each piece at that share of its own tempo; none where the
    lesson has none.
    """
    if not lesson.play_through:
        return ()
    return tuple(
        tuple(PlayedPiece(piece, _rung(lesson.pieces[piece].lesson, share, name)) for piece in lesson.play_through)
        for share, name in zip(PLAY_THROUGH_SHARES, _NAMES, strict=True)
    )


def single_lesson(lesson: LessonOfPieces) -> Lesson | None:
    """The lesson of the only piece, with what is said of the whole; None where there are several."""
    if len(lesson.pieces) != 1:
        return None
    only = lesson.pieces[0].lesson
    said = {"title": lesson.title, "author": lesson.author, "date": lesson.date}
    only = replace(only, **{name: text for name, text in said.items() if text})
    return with_note(only, lesson.notes.items())
