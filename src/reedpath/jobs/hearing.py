"""Hearing recordings: a phrase written down, a take lined up with its lesson."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path

from msgspec.structs import replace

from reedpath.arrange import Route, find_route, load_player
from reedpath.harp import Harp
from reedpath.hear import (
    Condition,
    KnownRhythm,
    Observations,
    SourceTally,
    Transcription,
    condition_of,
    heard_sound,
    observe,
)
from reedpath.hear.lead import RecordHeard
from reedpath.jobs.disk import naming_file, write_file
from reedpath.jobs.folder_plans import refuse_a_file
from reedpath.jobs.instruments import HarpChoice, one_harp
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson, Taught, phrases_taught
from reedpath.listen import LinedUp, PieceLinedUp, ReadAgain, line_up_with_pieces, lined_up_again, pitch_prior
from reedpath.phrase import Phrase, encode_phrase
from reedpath.pitch import Key
from reedpath.readers.audio import transcribe, transcribe_lead
from reedpath.signal import Samples, SoundAside, SoundBlocks, open_blocks

# level of a player of whom everything may be heard
ANYBODY = "advanced"


@dataclass(frozen=True, slots=True)
class HearingChoice:
    """What of a recording is wanted, and what is known of it.

    from_seconds, until_seconds : the span.
    bpm : tempo in quarter notes a minute, None to find it.
    chords : whether plucked strings may sound together.
    key : of the music, None to guess it.
    harp : of a harmonica recording; without a key, the recording is of another instrument.
    broken_off : whether a file that breaks off is heard as far as it goes.
    lead : whether it is a finished record whose lead is to be followed through its band.
    octaves : whether plucked strings are known to sound in octaves here and there; they may sound together then.
    """

    from_seconds: float = 0.0
    until_seconds: float | None = None
    bpm: float | None = None
    chords: bool = False
    key: Key | None = None
    harp: HarpChoice | None = None
    broken_off: bool = False
    lead: bool = False
    octaves: bool = False


@dataclass(frozen=True, slots=True)
class TranscribedRecording:
    """A recording written down.

    transcription : the phrase, the notes as heard, beats and key.
    phrase : the phrase, in the key that was given or guessed.
    route : how it was played, for a harmonica recording.
    record : what else was heard of a finished record, where its lead was followed.
    """

    transcription: Transcription
    phrase: Phrase
    route: Route | None
    record: RecordHeard | None = None


def _reported(blocks: SoundBlocks, progress: Progress) -> Iterator[Samples]:
    """The blocks as they are read, telling how many seconds have gone by."""
    passed, total = 0.0, round(blocks.promised_seconds or 0)
    for block in blocks:
        progress(ProgressStep("hearing", int(passed), max(total, int(passed))))
        passed += block.duration_seconds
        yield block


def _named(take: Path | bytes, name: str) -> str:
    """What errors call a take."""
    return name or str(take if isinstance(take, Path) else "")


@contextmanager
def opened_take(
    take: Path | bytes, *, name: str = "", broken_off: bool = False, progress: Progress = silent
) -> Iterator[Iterable[Samples]]:
    """The sound of a file, block by block; errors name the file as it was asked for.

    name : what errors call it, else its path.
    broken_off : whether a file that breaks off is heard as far as it goes, in place of an error.
    """
    with open_blocks(take, name=_named(take, name), allow_truncated=broken_off) as blocks:
        yield _reported(blocks, progress)


def _following(progress: Progress) -> Callable[[float], None]:
    """What tells how far a lead is followed, in percent."""
    return lambda share: progress(ProgressStep("following_lead", round(100 * share), 100, share=share))


def _written_down(
    blocks: Iterable[Samples], choice: HearingChoice, harp: Harp | None, *, title: str, progress: Progress
) -> tuple[Transcription, RecordHeard | None]:
    known = KnownRhythm(bpm=choice.bpm)
    start, end = choice.from_seconds, choice.until_seconds
    if choice.lead:
        told = _following(progress)
        return transcribe_lead(blocks, start_seconds=start, end_seconds=end, known=known, title=title, told=told)
    prior = None if harp is None else pitch_prior(harp)
    written = transcribe(
        blocks,
        start_seconds=start,
        end_seconds=end,
        prior=prior,
        chords=choice.chords or choice.octaves,
        octaves=choice.octaves,
        known=known,
        title=title,
    )
    return written, None


def write_down_recording(path: Path, choice: HearingChoice, *, progress: Progress = silent) -> TranscribedRecording:
    """Write down what a recording plays."""
    harp: Harp | None = None
    if choice.harp is not None and choice.harp.key is not None:
        harp = one_harp(choice.harp, key=choice.harp.key)
    reading = silent if choice.lead else progress  # reading a record takes next to no time beside following its lead
    with opened_take(path, broken_off=choice.broken_off, progress=reading) as blocks, naming_file(path):
        written, record = _written_down(blocks, choice, harp, title=path.stem, progress=progress)
    phrase = written.phrase if choice.key is None else replace(written.phrase, key=choice.key)
    route = None if harp is None else find_route(phrase, harp, player=load_player(ANYBODY))
    return TranscribedRecording(written, phrase, route, record)


def write_phrase(phrase: Phrase, out: Path, *, replace: bool = False) -> None:
    """Keep a phrase in a JSON file that every command reads; SettingsError where one is, unless ``replace``."""
    refuse_a_file(out, replace=replace)
    write_file(out, encode_phrase(phrase))


@dataclass(frozen=True, slots=True, eq=False)
class TakeSeen:
    """What was seen in a take's sound, before it is known what it plays.

    condition : of the recording.
    """

    seen: Observations
    condition: Condition


@dataclass(frozen=True, slots=True, eq=False)
class PieceHeard:
    """A take lined up with one of the phrases that a lesson teaches, and read again.

    piece : index of the phrase. again : what the last reading heard.
    """

    piece: int
    lined_up: LinedUp
    again: ReadAgain


@dataclass(frozen=True, slots=True, eq=False)
class TakeHeard:
    """A take lined up with what is taught.

    pieces : the phrases that are heard in it, in their order; where none is, one without a play-through.
    condition : of the recording.
    """

    pieces: tuple[PieceHeard, ...]
    condition: Condition


def _heard(
    take: Path | bytes, tally: SourceTally, *, name: str, broken_off: bool, progress: Progress
) -> Iterator[Samples]:
    """A take's sound as it is heard, while the tally counts what the file holds."""
    with open_blocks(take, name=_named(take, name), allow_truncated=broken_off) as blocks:
        yield from heard_sound(tally.passing(_reported(blocks, progress)))
        tally.broken_off = blocks.breaks_off


def _seen(sound: Iterable[Samples], tally: SourceTally) -> TakeSeen:
    seen = observe(sound, low_strings=False)
    return TakeSeen(seen, condition_of(seen, tally))


def see_take(
    take: Path | bytes, *, name: str = "", broken_off: bool = False, progress: Progress = silent
) -> TakeSeen:
    """Look at a take's sound once; ``name`` is what errors call it, else its path."""
    tally = SourceTally()
    return _seen(_heard(take, tally, name=name, broken_off=broken_off, progress=progress), tally)


def hear_take(
    take: Path | bytes,
    lesson: Taught,
    *,
    name: str = "",
    broken_off: bool = False,
    looked: TakeSeen | None = None,
    progress: Progress = silent,
) -> TakeHeard:
    """Line a take up with its lesson, without what only others play in it.

    Of several pieces with each that is heard in it.

    looked : what `see_take` has seen in it, where it was looked at already.
    """
    routes = [one.route for one in phrases_taught(lesson)]
    tally = SourceTally()
    with SoundAside(lambda: _heard(take, tally, name=name, broken_off=broken_off, progress=progress)) as sound:
        looked = looked or _seen(sound(), tally)
        pieces = tuple(
            PieceHeard(piece, *lined_up_again(lined_up, lambda: nullcontext(sound())))
            for piece, lined_up in line_up_with_pieces(looked.seen, routes)
        )
    return TakeHeard(pieces, looked.condition)


def line_up_pieces(
    path: Path, lesson: Taught, *, broken_off: bool = False, progress: Progress = silent
) -> tuple[PieceLinedUp, ...]:
    """Where each phrase of a lesson is played in a take: the play-throughs that `hear_take` finds."""
    heard = hear_take(path, lesson, broken_off=broken_off, progress=progress)
    return tuple(PieceLinedUp(one.piece, one.lined_up) for one in heard.pieces)


def line_up_take(path: Path, lesson: Lesson, *, broken_off: bool = False, progress: Progress = silent) -> LinedUp:
    """Where a lesson of one phrase is played in a take: the play-throughs that `hear_take` finds."""
    return line_up_pieces(path, lesson, broken_off=broken_off, progress=progress)[0].lined_up
