"""A part of a phrase on the workbench at any tempo: by harp, band and click, or the recording itself slowed."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SettingsError
from reedpath.jobs.band_choices import BandChoice, PlaceWish, backing_of
from reedpath.jobs.disk import write_file
from reedpath.jobs.practising import slow_recording
from reedpath.jobs.progress import Progress, ProgressStep
from reedpath.lesson import Rung, decode_lesson, make_lesson
from reedpath.phrase import timing_of, trimmed
from reedpath.signal import encode
from reedpath.sound import SOUND_BITS, PlayAlong, Turns, lay_out, lay_out_backing, play_along, play_with_band

# quarter notes a minute, as a source may be played; common practice, no source
SLOWEST_BPM, FASTEST_BPM = 10.0, 500.0


class PartSound(Struct, frozen=True):
    """What is to be played.

    first, last : events. bpm : quarter notes a minute at the start, None for the phrase's own.
    harp, band, click : who plays.
    chosen : what was chosen of the band; its place in the form and introduction are for the whole phrase alone.
    """

    first: int
    last: int
    bpm: float | None = None
    harp: bool = True
    band: bool = False
    click: bool = True
    chosen: BandChoice = BandChoice()


class SoundedNote(Struct, frozen=True):
    """When an event sounds, seconds from the start of the sound."""

    event: int
    start_seconds: float
    end_seconds: float


class PartPlayed(Struct, frozen=True):
    """A sound, the file's name in the folder of its job, and when each event sounds in it."""

    file: str
    notes: tuple[SoundedNote, ...]


def part_of_route(route: Route, first: int, last: int) -> Route:
    """The events from one to another as a route of its own, from the first one's onset on.

    Raises `SettingsError` for events that are not there.
    """
    if not 0 <= first <= last < len(route.events):
        raise SettingsError("arrange.no_event", number=last + 1, count=len(route.events))
    onset = route.events[first].event.onset
    end = max(one.event.end for one in route.events[first : last + 1])
    inside = [one for one in route.events if onset <= one.event.onset < end]
    phrase = trimmed(route.phrase, onset, end)
    events = tuple(replace(one, event=event) for one, event in zip(inside, phrase.events, strict=True))
    return replace(route, phrase=phrase, events=events, spots=(), worst=None, unlike=())


def sound_of_part(folder: Path, lesson_file: bytes, wanted: PartSound, *, progress: Progress) -> PartPlayed:
    """The sound of some events of a lesson's route, a job of its own."""
    whole = decode_lesson(lesson_file).route
    route = part_of_route(whole, wanted.first, wanted.last)
    own = timing_of(route.phrase).tempos[0].bpm
    bpm = own if wanted.bpm is None else wanted.bpm
    if not SLOWEST_BPM <= bpm <= FASTEST_BPM:
        raise SettingsError("jobs.tempo_out_of_range", bpm=bpm, slowest=SLOWEST_BPM, fastest=FASTEST_BPM)
    progress(ProgressStep("sound", 0, 1, f"{bpm:g}"))
    lesson, rung = make_lesson(route, languages=("en",)), Rung("full", bpm / own, bpm)
    turns = Turns.TOGETHER if wanted.harp else Turns.YOURS
    if wanted.band:
        is_whole = (wanted.first, wanted.last) == (0, len(whole.events) - 1)
        chosen = wanted.chosen if is_whole else replace(wanted.chosen, place=PlaceWish.START, intro=0)
        backing = backing_of(chosen, route, click_through=wanted.click, turns=turns, rounds=1)
        layout = lay_out_backing(lesson, rung, backing)
        plan, samples = layout.plan, play_with_band(lesson, rung, backing)
        zeros = tuple(one.zero_seconds for one in layout.rounds)
    else:
        options = PlayAlong(count_in_bars=1 if wanted.click else 0, click_through=wanted.click, turns=turns)
        alone = lay_out(lesson, rung, options)
        plan, zeros, samples = alone.plan, (alone.zero_seconds,), play_along(lesson, rung, options)
    write_file(folder / "part.wav", encode(samples, format="wav", bits=SOUND_BITS))
    notes = tuple(
        SoundedNote(wanted.first + index, round(zero + span.start_seconds, 3), round(zero + span.end_seconds, 3))
        for zero in zeros
        for index, span in enumerate(plan.spans)
    )
    return PartPlayed("part.wav", notes)


def sound_of_source(
    folder: Path,
    recording: Path,
    start_seconds: float,
    end_seconds: float | None,
    factor: float,
    *,
    progress: Progress,
) -> PartPlayed:
    """A stretch of a recording at a share of its speed, a job of its own."""
    slow_recording(
        recording,
        factor,
        folder / "source.wav",
        start_seconds=start_seconds,
        end_seconds=end_seconds,
        broken_off=True,
        progress=progress,
    )
    return PartPlayed("source.wav", ())
