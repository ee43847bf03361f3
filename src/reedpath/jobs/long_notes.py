"""Long notes: one note or bend held in tune, what it sounds like, and what was held before."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Self

from msgspec import Struct

from reedpath.arrange import Choice, Effort, Route, RouteEvent
from reedpath.data import from_plain
from reedpath.errors import SettingsError
from reedpath.harp import Alteration, Harp, Move, check_move, format_move, midi_of, parse_move
from reedpath.jobs.disk import write_file
from reedpath.jobs.instruments import HarpChoice, known_tunings, one_harp
from reedpath.jobs.progress import Progress, ProgressStep
from reedpath.lesson import Rung, make_lesson
from reedpath.listen import BEND_TOLERANCES, HeldTime, LiveAsked
from reedpath.listen.expected import sounding_midi
from reedpath.phrase import Event, Phrase, Tempo
from reedpath.shelf import KeptHeldNote, Shelf, Student, now_text
from reedpath.signal import encode
from reedpath.sound import PlayAlong, play_along

# beats, at one a second, for which the note is sounded: longer than a breath lasts at ease; ours
TONE_BEATS = 8
# name of its file
TONE = "tone.wav"


class LongNote(Struct, frozen=True):
    """A note to be held.

    harp, move : what sounds it. tolerance_cents : off it, within which it counts as in tune.
    """

    harp: Harp
    move: Move
    tolerance_cents: float

    @classmethod
    def of(cls, key: str, tuning: str, move: str, tolerance: str) -> Self:
        """A note as a page names it: key and tuning of the harp, the move as tab, the tolerance in cents.

        Raises `ReedpathError` when one of them is none, or the harp has no such move of one hole.
        """
        if tuning not in known_tunings():
            raise SettingsError("harp.unknown_tuning", name=tuning[:40], known=known_tunings())
        harp = one_harp(HarpChoice(tunings=(tuning,)), key=key)
        wanted = parse_move(move, tuning=harp.tuning)
        check_move(wanted, harp.tuning)
        if len(wanted.holes) > 1:
            raise SettingsError("jobs.long_note_of_several", move=move)
        allowed = [f"{one:g}" for one in BEND_TOLERANCES]
        if tolerance not in allowed:
            raise SettingsError("jobs.long_note_tolerance", given=tolerance[:20], names=allowed)
        return cls(harp, wanted, float(tolerance))

    @property
    def asked(self) -> LiveAsked:
        """What a live session listens for; its rate is to be put in."""
        return LiveAsked(harp=self.harp, rate=0, held=self.move, tolerance_cents=self.tolerance_cents)

    @property
    def tab(self) -> str:
        """The move as tab."""
        return format_move(self.move)


def natural_cents(harp: Harp, move: Move) -> float | None:
    """Where the natural note of a hole lies from one that is bent or overbent, cents; None for a natural note."""
    if move.alteration is Alteration.NATURAL:
        return None
    (own,), (natural,) = sounding_midi(harp, move), sounding_midi(harp, Move(move.holes, move.breath))
    return round(100.0 * (natural - own), 1)


def sound_long_note(folder: Path, note: LongNote, *, progress: Progress) -> str:
    """Sound a note for as long as a breath into a folder; the name of the file."""
    progress(ProgressStep("sound", 0, 1, note.tab))
    event = Event(Fraction(0), Fraction(TONE_BEATS), tuple(sorted(set(midi_of(note.harp, note.move)))))
    phrase = Phrase((event,), tempos=(Tempo(Fraction(0), 60.0),))
    way = RouteEvent(event, Choice(note.move), Effort())
    lesson = make_lesson(Route(phrase, note.harp, 1, 0, (way,), 1.0), title=note.tab)
    sound = play_along(lesson, Rung("full", 1.0, 60.0), PlayAlong(count_in_bars=0))
    write_file(folder / TONE, encode(sound, format="wav"))
    return TONE


def keep_held_note(shelf: Shelf, note: LongNote, held: HeldTime, student: int | None) -> KeptHeldNote:
    """Keep a note that was held, for a student, or for the teacher where there is none.

    Raises `ReedpathError` when there is no such student, or nobody can hold a note so.
    """
    if student is not None:
        shelf.get(Student, student)
    record = from_plain(
        {
            "student": student,
            "key": note.harp.name,
            "tuning": note.harp.tuning.name,
            "move": note.tab,
            "seconds": held.seconds,
            "cents": held.cents,
            "unsteady_cents": held.unsteady_cents,
            "tolerance_cents": note.tolerance_cents,
            "added": now_text(),
        },
        KeptHeldNote,
        error=SettingsError,
    )
    with shelf.step("held_note"):
        return shelf.add(record)


def held_until_now(shelf: Shelf, note: LongNote, student: int | None) -> list[KeptHeldNote]:
    """What was held of a note by a student, or by the teacher, the first first."""
    return shelf.all(KeptHeldNote, student=student, key=note.harp.name, tuning=note.harp.tuning.name, move=note.tab)
