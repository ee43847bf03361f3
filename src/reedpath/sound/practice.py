"""Practice: the whole ladder in one sound, and spots looped at each of their tempos, with chapters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from dataclasses import replace as replace_loop
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SoundError
from reedpath.lesson import Drill, Lesson, Rung
from reedpath.phrase import COMMON_TIME, Metre, Phrase, beat_of, counted_beats, metre_at, timing_of
from reedpath.signal import Chapter, Samples, concatenated, encode_chaptered
from reedpath.sound.backing import Backing, play_with_band
from reedpath.sound.click import Click
from reedpath.sound.levelling import levelled
from reedpath.sound.plan import plan_route
from reedpath.sound.play_alongs import (
    HEAD_SECONDS,
    SOUND_BITS,
    SOUND_RATE,
    TAIL_SECONDS,
    PlayAlong,
    Turns,
    check_length,
    count_in_beats,
    play_along,
    sounded,
    tempo_number,
)
from reedpath.sound.played_moves import SoundSpan
from reedpath.sound.tones import Tone
from reedpath.wording import tempo_sign

# times that a spot may be looped at one tempo
MOST_TIMES = 64


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A sound and its chapters.

    samples : the sound.
    chapters : where each tempo starts.
    """

    samples: Samples
    chapters: tuple[Chapter, ...]


def encode_recording(recording: Recording, *, format: str = "wav", tags: Mapping[str, str] | None = None) -> bytes:
    """The recording as a file with its chapters: "wav", "flac", "mp3" or "opus", and tags as `encode` takes them."""
    return encode_chaptered(recording.samples, recording.chapters, format=format, bits=SOUND_BITS, tags=tags)


def tempo_title(rung: Rung, metre: Metre = COMMON_TIME) -> str:
    """
    A tempo as a chapter's title, in signs every musician reads and the beats that are counted.

    >>> tempo_title(Rung("slow", 0.5, 52.5))
    '♩ = 52.5'
    """
    return f"{tempo_sign(metre)} = {tempo_number(rung, metre)}"


def _titles(lesson: Lesson, ladder: Sequence[Rung]) -> list[str]:
    metre = metre_at(lesson.route.phrase, lesson.route.phrase.pickup)
    return [tempo_title(rung, metre) for rung in ladder]


def _joined(sounds: Sequence[Samples], titles: Sequence[str]) -> Recording:
    chapters, at = [], 0.0
    for sound, title in zip(sounds, titles, strict=True):
        chapters.append(Chapter(at, title))
        at += sound.duration_seconds
    return Recording(concatenated(sounds), tuple(chapters))


def play_ladder(lesson: Lesson, options: PlayAlong | None = None) -> Recording:
    """Every rung of the lesson's ladder after the other, each with its count-in, a chapter to each rung.

    options : a play-along's; a backing for the band to play too.
    """
    if not lesson.ladder:
        raise SoundError("sound.no_tempo")
    if isinstance(options, Backing):
        sounds = [play_with_band(lesson, rung, options) for rung in lesson.ladder]
    else:
        sounds = [play_along(lesson, rung, options) for rung in lesson.ladder]
    return _joined(sounds, _titles(lesson, lesson.ladder))


@dataclass(frozen=True, slots=True)
class Loop:
    """How a spot is looped.

    times : at each tempo.
    turns : who plays which time.
    click_through : whether the click goes on under it.
    slap_accents : whether accented single notes are tongue-slapped.
    """

    times: int = 4
    turns: Turns = Turns.TOGETHER
    click_through: bool = True
    slap_accents: bool = False

    def __post_init__(self) -> None:
        if not 1 <= self.times <= MOST_TIMES:
            raise SoundError("sound.times", times=self.times, most=MOST_TIMES)


@dataclass(frozen=True, slots=True)
class LoopLayout:
    """Where everything lies in a looped spot, in seconds from the start of the sound.

    tones : of every time that the harmonica plays. spans : for each of these times, when each event sounds.
    clicks : knocks. starts : when each time begins, the student's included. seconds : length.
    """

    tones: tuple[Tone, ...]
    spans: tuple[tuple[SoundSpan, ...], ...]
    clicks: tuple[Click, ...]
    starts: tuple[float, ...]
    seconds: float

    def __post_init__(self) -> None:
        check_length(self.seconds)


def _window(phrase: Phrase, first: Fraction, last: Fraction) -> tuple[Fraction, Fraction]:
    """Beats that a loop goes through: from the counted beat a spot starts in, whole bars, a beat free at the end."""
    metre = metre_at(phrase, Fraction(0))
    beat = beat_of(metre)
    start = phrase.pickup + (first - phrase.pickup) // beat * beat
    wanted = last - start + beat
    return start, start + -(-wanted // metre.bar) * metre.bar


def _sub_route(route: Route, first: int, last: int) -> Route:
    if not 0 <= first <= last < len(route.events):
        raise SoundError("sound.no_events", first=first, last=last, most=len(route.events) - 1)
    return replace(route, events=route.events[first : last + 1])


def lay_out_spot(lesson: Lesson, first: int, last: int, rung: Rung, loop: Loop | None = None) -> LoopLayout:
    """Where everything lies when the events from ``first`` to ``last`` are looped at a rung.

    The loop starts on the counted beat that the spot starts in and lasts whole bars, with at least a beat of
    rest before it comes round. It keeps the tempo that the phrase has where the spot starts.
    """
    wanted = loop or Loop()
    route = _sub_route(lesson.route, first, last)
    phrase = route.phrase
    timing = timing_of(phrase).scaled(rung.factor)
    start, end = _window(phrase, route.events[0].event.onset, route.events[-1].event.end)
    counted = count_in_beats(replace(phrase, pickup=Fraction(0)), 1)
    beat_seconds = 60.0 / timing.bpm_at(start)
    begin, round_seconds = timing.seconds_at(start), timing.seconds_at(end) - timing.seconds_at(start)
    opening = HEAD_SECONDS + float(counted) * beat_seconds
    starts = tuple(opening + number * round_seconds for number in range(wanted.times))
    plan = plan_route(route, timing, slap_accents=wanted.slap_accents)
    played = [plan.delayed(at - begin) for time, at in enumerate(starts) if wanted.turns.plays(time)]
    still = replace(phrase, pickup=Fraction(0))
    clicks = [
        Click(opening + float(beat.onset) * beat_seconds, beat.first)
        for beat in counted_beats(still, -counted, Fraction(0))
    ]
    if wanted.click_through:
        beats = counted_beats(phrase, start, end)
        clicks += [Click(at - begin + timing.seconds_at(beat.onset), beat.first) for at in starts for beat in beats]
    return LoopLayout(
        tuple(tone for one in played for tone in one.tones),
        tuple(one.spans for one in played),
        tuple(clicks),
        starts,
        starts[-1] + round_seconds + TAIL_SECONDS,
    )


def play_spot(lesson: Lesson, drill: Drill, loop: Loop | None = None) -> Recording:
    """A drill's spot looped at each of its tempos, a chapter to each; as often as the drill says unless told."""
    if not drill.ladder:
        raise SoundError("sound.no_drill_tempo")
    wanted = loop or Loop(times=drill.times)

    def mixed_spot(rung: Rung, turns: Turns) -> Samples:
        layout = lay_out_spot(lesson, drill.spot.first, drill.spot.last, rung, replace_loop(wanted, turns=turns))
        return sounded(layout.tones, layout.clicks, seconds=layout.seconds, rate=SOUND_RATE)

    is_silent = wanted.turns is Turns.YOURS
    sounds = [
        levelled(mixed_spot(rung, wanted.turns), by=mixed_spot(rung, Turns.TOGETHER) if is_silent else None)
        for rung in drill.ladder
    ]
    return _joined(sounds, _titles(lesson, drill.ladder))
