"""Sounds to practise with: play-alongs with or without a band, whole ladders, looped spots, and slowed recordings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from msgspec.structs import replace as replace_fields

from reedpath.errors import Place, SettingsError, SoundError
from reedpath.jobs.disk import write_file
from reedpath.jobs.folder_plans import refuse_a_file
from reedpath.jobs.folders import FolderWriting, Written, writing_into
from reedpath.jobs.kept_sounds import KeptSounds, practice_key
from reedpath.jobs.kept_wishes import kept_wishes
from reedpath.jobs.processes import JobPart, PartFunction, ShareReport, SideBySide
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Drill, Lesson, LessonOfPieces, Rung, rungs_named
from reedpath.phrase import metre_at
from reedpath.signal import ENCODINGS, BytesPut, Samples, concatenated, encode, rate_in, slowed, sound_file, span_of
from reedpath.sound import (
    SOUND_BITS,
    SOUND_RATE,
    Backing,
    Loop,
    PlayAlong,
    Turns,
    backing_blocks,
    encode_recording,
    ladder_name,
    lay_out,
    lay_out_backing,
    play_along_name,
    play_ladder,
    play_spot,
    sound_blocks,
    spot_name,
    tempo_number,
    with_band_name,
)

# seconds of a processor for a second of sound, without and with a band, coding included; measured on the machine of
# docs/performance.md
SOUND_SECONDS = (0.009, 0.015)
# share of the work on a sound with chapters that lies before its coding, about
CODED_SHARE = 0.6
# seconds; slowed to a third, stereo, so much takes 1 GB of memory
MOST_SLOWED_SECONDS = 20 * 60.0


@dataclass(frozen=True, slots=True)
class PractiseWishes:
    """Which sounds are wanted.

    play : how it is counted in and played, and who plays; a backing for a band to play too. Without a band, "call" is
        for the spots alone.
    as_one : the whole ladder in one file with chapters.
    spots : the lesson's spots too, looped.
    rungs : names of the tempos wanted ("slow", "full"), none for all.
    format : "wav", "flac", "mp3" or "opus".
    """

    play: PlayAlong = field(default_factory=PlayAlong)
    as_one: bool = False
    spots: bool = False
    rungs: tuple[str, ...] = ()
    format: str = "wav"


def _blocks(lesson: Lesson, rung: Rung, play: PlayAlong) -> tuple[float, Iterator[Samples]]:
    """Seconds of a rung's sound, and the sound block by block."""
    if isinstance(play, Backing):
        with_band = lay_out_backing(lesson, rung, play)
        return with_band.seconds, backing_blocks(with_band)
    layout = lay_out(lesson, rung, play)
    return layout.seconds, sound_blocks(layout, mute_voice=play.turns is Turns.YOURS)


def _work(lesson: Lesson, wishes: PractiseWishes, drill: Drill | None = None) -> float:
    """Seconds of a processor for a sound of a lesson's whole ladder, or of a drill's."""
    ladder = lesson.ladder if drill is None else drill.ladder
    seconds = sum(_blocks(lesson, rung, wishes.play)[0] for rung in ladder)
    if drill is not None:
        seconds *= drill.times * (drill.spot.last - drill.spot.first + 1) / max(1, len(lesson.route.events))
    return SOUND_SECONDS[isinstance(wishes.play, Backing) and drill is None] * seconds


def sound_practice_rung(
    lesson: Lesson, wishes: PractiseWishes, rung: Rung, *, put: BytesPut, report: ShareReport
) -> None:
    """A part of the making of practice sounds: one tempo of the ladder, in a file of its own."""
    seconds, blocks = _blocks(lesson, rung, wishes.play)
    tags, done = {"title": lesson.title}, 0.0
    if rate_in(wishes.format, SOUND_RATE) != SOUND_RATE:
        put(encode(concatenated(blocks), format=wishes.format, bits=SOUND_BITS, tags=tags))
        return
    with sound_file(put, rate=SOUND_RATE, channels=2, format=wishes.format, bits=SOUND_BITS, tags=tags) as write:
        for block in blocks:
            write(block)
            done += block.duration_seconds
            report(min(1.0, done / seconds))


def sound_practice_recording(
    lesson: Lesson, wishes: PractiseWishes, drill: Drill | None, *, put: BytesPut, report: ShareReport
) -> None:
    """A part of the making of practice sounds: the whole ladder, or a drill's spot looped, with chapters."""
    if drill is None:
        recording = play_ladder(lesson, wishes.play)
    else:
        loop = Loop(times=drill.times, turns=wishes.play.turns, slap_accents=wishes.play.slap_accents)
        recording = play_spot(lesson, drill, loop)
    report(CODED_SHARE)
    put(encode_recording(recording, format=wishes.format, tags={"title": lesson.title}))


@dataclass(frozen=True, slots=True)
class _PracticeSound:
    """A file that is wanted.

    part : what makes it.
    detail : what tells it apart while it is made.
    key : what it depends on (`practice_key`); empty for one that is made each time.
    """

    part: JobPart
    detail: str
    key: str = ""


def _sounds(lesson: Lesson, wishes: PractiseWishes, folder: Path) -> Iterator[_PracticeSound]:
    """The files that are wanted."""
    end, is_with_band = wishes.format, isinstance(wishes.play, Backing)
    turns = Turns.TOGETHER if wishes.play.turns is Turns.CALL and not is_with_band else wishes.play.turns
    if wishes.as_one:
        name = ladder_name(is_with_band=is_with_band, turns=turns, format=end)
        part = JobPart(sound_practice_recording, (wishes, None), folder / name, _work(lesson, wishes))
        yield _PracticeSound(part, name)
    else:
        named = with_band_name if is_with_band else play_along_name
        metre = metre_at(lesson.route.phrase, lesson.route.phrase.pickup)
        for rung in lesson.ladder:
            work = _work(replace_fields(lesson, ladder=(rung,)), wishes)
            file = folder / named(rung, metre=metre, turns=turns, format=end)
            key = practice_key(lesson, rung, wishes.play, wishes.format)
            yield _PracticeSound(
                JobPart(sound_practice_rung, (wishes, rung), file, work), tempo_number(rung, metre), key
            )
    for number, drill in enumerate(lesson.drills if wishes.spots else (), start=1):
        name = spot_name(number, turns=wishes.play.turns, format=end)
        part = JobPart(sound_practice_recording, (wishes, drill), folder / name, _work(lesson, wishes, drill))
        yield _PracticeSound(part, name)


def sound_of_piece(
    lessons: Sequence[Lesson], index: int, sounder: PartFunction, *arguments: Any, put: BytesPut, report: ShareReport
) -> Any:
    """A part of the making of sounds of several lessons: what ``sounder`` makes of one of them."""
    return sounder(lessons[index], *arguments, put=put, report=report)


def _make(
    common: Any, sounds: Sequence[_PracticeSound], kept: KeptSounds, writing: FolderWriting, progress: Progress
) -> tuple[str, ...]:
    """Make sounds side by side and tell of them; those that are kept are taken from there. The names of all."""
    left = [one for one in sounds if not one.key or not kept.take_file(one.key, one.part.file)]
    whole, done = sum(one.part.work for one in left), 0
    with SideBySide(common, [one.part for one in left]) as sounding:

        def tell(index: int) -> None:
            share = sounding.done_work / whole if whole else 0.0
            progress(ProgressStep("sound", done, len(left), left[index].detail, share))

        if left:
            tell(0)
        for _ in sounding.results(tell):
            done += 1
    names = {one.part.file.relative_to(writing.files).as_posix(): one.key for one in sounds}
    writing.sounds = {name: (key,) for name, key in names.items() if key}
    return tuple(names)


def make_practice_sounds(
    lesson: Lesson, wishes: PractiseWishes, out: Path, *, replace: bool = False, progress: Progress = silent
) -> Written:
    """Make sounds to practise a lesson with; all appear together or none.

    replace : whether sounds may be written over in a folder that is not a lesson's.
    """
    lesson = replace_fields(lesson, ladder=rungs_named(lesson.ladder, wishes.rungs))
    with writing_into(out, command="play-along", replace=replace, wishes=kept_wishes(wishes)) as writing:
        names = _make(lesson, [*_sounds(lesson, wishes, writing.files)], KeptSounds(out), writing, progress)
    return replace_fields(writing.written, files=names)


def pieces_without_band(lesson: LessonOfPieces, play: PlayAlong) -> dict[str, SoundError]:
    """The pieces that the band cannot play as it is asked, by their folder, and why; none where no band is asked."""
    found: dict[str, SoundError] = {}
    for piece in lesson.pieces if isinstance(play, Backing) else ():
        try:
            _blocks(piece.lesson, piece.lesson.ladder[-1], play)
        except SoundError as error:
            found[piece.folder] = error
    return found


def make_practice_sounds_of_pieces(
    lesson: LessonOfPieces, wishes: PractiseWishes, out: Path, *, replace: bool = False, progress: Progress = silent
) -> Written:
    """The same for all pieces of a lesson, each in a folder of its own; a tempo that a piece has not is left out, and
    so is a piece that the band cannot play (`pieces_without_band`).

    Raises `SettingsError` also for a tempo that no piece has; `SoundError` where the band can play none of them.
    """
    without = pieces_without_band(lesson, wishes.play)
    if len(without) == len(lesson.pieces):
        raise next(iter(without.values()))
    named = {rung.name: rung for piece in lesson.pieces for rung in piece.lesson.ladder}
    rungs_named(tuple(named.values()), wishes.rungs)
    lessons: list[Lesson] = []
    sounds: list[_PracticeSound] = []
    with writing_into(out, command="play-along", replace=replace, wishes=kept_wishes(wishes)) as writing:
        for index, piece in enumerate(lesson.pieces):
            ladder = piece.lesson.ladder
            wanted = tuple(rung for rung in ladder if not wishes.rungs or rung.name in wishes.rungs)
            lessons.append(replace_fields(piece.lesson, ladder=wanted))
            (writing.files / piece.folder).mkdir()
            has_sounds = wanted and piece.folder not in without
            for one in _sounds(lessons[-1], wishes, writing.files / piece.folder) if has_sounds else ():
                own = (index, one.part.function, *one.part.arguments)
                part = JobPart(sound_of_piece, own, one.part.file, one.part.work)
                sounds.append(_PracticeSound(part, one.detail, one.key))
        names = _make(lessons, sounds, KeptSounds(out), writing, progress)
    return replace_fields(writing.written, files=names)


def _span_in_memory(
    recording: Path, span: tuple[float, float | None], *, broken_off: bool, progress: Progress
) -> Samples:
    """The part of a recording between two times, which must not be longer than is slowed at once."""
    from reedpath.jobs.hearing import opened_take  # what only plays enters no room that hears

    kept: list[Samples] = []
    length = 0.0
    with opened_take(recording, broken_off=broken_off, progress=progress) as blocks:
        for part in span_of(blocks, *span):
            kept.append(part)
            length += part.duration_seconds
            if length > MOST_SLOWED_SECONDS:
                raise SettingsError(
                    "jobs.too_long_to_slow", where=Place(file=str(recording)), minutes=MOST_SLOWED_SECONDS / 60
                )
    if not kept:
        raise SettingsError("jobs.no_sound_after", where=Place(file=str(recording)), seconds=span[0])
    return concatenated(kept)


def slow_recording(
    recording: Path,
    factor: float,
    out: Path,
    *,
    start_seconds: float = 0.0,
    end_seconds: float | None = None,
    broken_off: bool = False,
    replace: bool = False,
    progress: Progress = silent,
) -> None:
    """Slow a recorded take or source, or a part of it, down (1/3 to 1.5 of its speed) without a change of pitch.

    Raises `SettingsError` for a part that is none, for more than 20 minutes, and for a file that is there already
    unless ``replace``.
    """
    refuse_a_file(out, replace=replace)
    if start_seconds < 0 or (end_seconds is not None and end_seconds <= start_seconds):
        raise SettingsError("jobs.no_span", start=start_seconds, end="" if end_seconds is None else end_seconds)
    end = out.suffix.lstrip(".").lower()
    if end not in ENCODINGS:
        raise SettingsError("jobs.unknown_sound_ending", ending=end, names=tuple(ENCODINGS))
    samples = _span_in_memory(recording, (start_seconds, end_seconds), broken_off=broken_off, progress=progress)
    progress(ProgressStep("slowing", 0, 2))
    slow = slowed(samples, factor)
    progress(ProgressStep("slowing", 1, 2))
    write_file(out, encode(slow, format=end))
