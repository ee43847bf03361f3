"""The ladder: a lesson's phrase played at each of its tempos, with a count-in; whose turn it is, and file names."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from reedpath.errors import SoundError
from reedpath.lesson import Lesson, Rung
from reedpath.phrase import COMMON_TIME, Metre, Phrase, Timing, beat_of, counted_beats, metre_at, timing_of
from reedpath.signal import Samples
from reedpath.signal.blocks import LONGEST_SECONDS
from reedpath.sound.click import Click, render_clicks
from reedpath.sound.levelling import levelled
from reedpath.sound.mix import CLICK_DB, VOICE_DB, Track, mixed, placed_in_room
from reedpath.sound.plan import Plan, plan_route
from reedpath.sound.tones import Tone
from reedpath.sound.voice import render_tones
from reedpath.wording import counted_bpm


class Turns(StrEnum):
    """Who plays which round."""

    TOGETHER = "together"  # the harmonica plays every round
    CALL = "call"  # the harmonica plays a round, the student answers the next
    YOURS = "yours"  # the student plays alone

    def plays(self, turn: int) -> bool:
        """Whether the harmonica plays a round, counted from 0."""
        return self is Turns.TOGETHER or (self is Turns.CALL and turn % 2 == 0)


# frames a second, hertz; a rate that every player and lossy format takes
SOUND_RATE = 44_100
# seconds of silence before the first sound and after the last note (its tail in the room included)
HEAD_SECONDS, TAIL_SECONDS = 0.15, 1.2
# bars of count-in that may be asked for
MOST_COUNT_IN_BARS = 4
# beats that a count-in has at least, a pickup being played over its end; common practice, no source
LEAST_COUNTED = 2
# bits of a sample in files that keep every sample; what is under the steps of 16 lies 80 dB under a lesson's loudness
SOUND_BITS = 16


@dataclass(frozen=True, slots=True)
class PlayAlong:
    """What a play-along is to hold.

    count_in_bars : 0 to 4 bars of clicks first; a pickup is played over the end of the last one.
    click_through : whether the click goes on under the phrase.
    turns : who plays; with "yours" the harmonica is left out, "call" is for what goes round.
    slap_accents : whether accented single notes are tongue-slapped.
    """

    count_in_bars: int = 1
    click_through: bool = False
    turns: Turns = Turns.TOGETHER
    slap_accents: bool = False


def check_length(seconds: float) -> None:
    """SoundError for a sound that is longer than one that is held in memory (a tempo near nothing asks for one)."""
    if not seconds <= LONGEST_SECONDS:
        raise SoundError("sound.too_long", minutes=round(seconds / 60), most=round(LONGEST_SECONDS / 60))


@dataclass(frozen=True, slots=True)
class PlayAlongLayout:
    """Where everything lies in a play-along.

    plan : the performance, in seconds from beat 0 of the phrase.
    clicks : seconds from the start of the sound.
    zero_seconds : where beat 0 lies: event i sounds from ``zero_seconds + plan.spans[i].start_seconds`` on.
    seconds : length of the sound.
    """

    plan: Plan
    clicks: tuple[Click, ...]
    zero_seconds: float
    seconds: float

    def __post_init__(self) -> None:
        check_length(self.seconds)


def count_in_beats(phrase: Phrase, bars: int) -> Fraction:
    """Quarter notes counted before beat 0: full bars, less a pickup, but never fewer than two counted beats."""
    if not 0 <= bars <= MOST_COUNT_IN_BARS:
        raise SoundError("sound.count_in", bars=bars, most=MOST_COUNT_IN_BARS)
    if bars == 0:
        return Fraction(0)
    metre = metre_at(phrase, Fraction(0))
    counted = bars * metre.bar - phrase.pickup
    while counted < LEAST_COUNTED * beat_of(metre):
        counted += metre.bar
    return counted


def _zero_seconds(phrase: Phrase, timing: Timing, count_in_bars: int) -> float:
    """Where beat 0 lies: after the count-in."""
    return HEAD_SECONDS - timing.seconds_at(-count_in_beats(phrase, count_in_bars))


def play_along_seconds(lesson: Lesson, rung: Rung, options: PlayAlong | None = None) -> float:
    """How long the lesson at a rung sounds, its tones not laid out; SoundError where that is too long."""
    phrase, wanted = lesson.route.phrase, options or PlayAlong()
    timing = timing_of(phrase).scaled(rung.factor)
    seconds = _zero_seconds(phrase, timing, wanted.count_in_bars) + timing.seconds_at(phrase.end) + TAIL_SECONDS
    check_length(seconds)
    return seconds


def lay_out(lesson: Lesson, rung: Rung, options: PlayAlong | None = None) -> PlayAlongLayout:
    """Where everything lies when the lesson is played at a rung."""
    wanted = options or PlayAlong()
    phrase = lesson.route.phrase
    timing = timing_of(phrase).scaled(rung.factor)
    plan = plan_route(lesson.route, timing, slap_accents=wanted.slap_accents)
    counted = count_in_beats(phrase, wanted.count_in_bars)
    zero = _zero_seconds(phrase, timing, wanted.count_in_bars)
    until = phrase.end if wanted.click_through else Fraction(0)
    clicks = tuple(
        Click(zero + timing.seconds_at(beat.onset), beat.first) for beat in counted_beats(phrase, -counted, until)
    )
    return PlayAlongLayout(plan, clicks, zero, zero + plan.seconds + TAIL_SECONDS)


def sounded(
    tones: Sequence[Tone], clicks: Iterable[Click], *, seconds: float, rate: int, start_seconds: float = 0.0
) -> Samples:
    """Clicks, and the harmonica in a small room where it has tones, mixed; from a moment of their clock on.

    As loud as they come: `reedpath.sound.levelling` brings them to the loudness of all sounds.
    """
    later = [Click(click.seconds - start_seconds, click.first) for click in clicks]
    tracks = [Track(render_clicks(later, seconds=seconds, rate=rate), CLICK_DB)]
    if tones:
        dry = render_tones(tones, seconds=seconds, start_seconds=start_seconds, rate=rate)
        tracks.append(Track(placed_in_room(dry, rate=rate), VOICE_DB))
    return Samples(mixed(tracks, seconds=seconds, rate=rate).T, rate)


def play_along(lesson: Lesson, rung: Rung, options: PlayAlong | None = None, *, rate: int = SOUND_RATE) -> Samples:
    """
    The lesson's phrase at one tempo, stereo: count-in, then the harmonica in a small room.

    Events lie where `lay_out` with the same arguments says; no sample passes -1 dB full scale. The click alone, where
    the harmonica is left out, is as loud as it is under the harmonica.
    """
    wanted = options or PlayAlong()
    layout = lay_out(lesson, rung, wanted)
    played = sounded(layout.plan.delayed(layout.zero_seconds).tones, layout.clicks, seconds=layout.seconds, rate=rate)
    if wanted.turns is Turns.YOURS:
        return levelled(sounded((), layout.clicks, seconds=layout.seconds, rate=rate), by=played)
    return levelled(played)


# what is added to a name where the harmonica does not play all through
_WHOSE = {Turns.TOGETHER: "", Turns.CALL: "-call", Turns.YOURS: "-yours"}


def tempo_number(rung: Rung, metre: Metre) -> str:
    """A tempo as it is told: the beats a minute that are counted."""
    return f"{round(counted_bpm(rung.bpm, metre), 1):g}"


def play_along_name(
    rung: Rung, *, metre: Metre = COMMON_TIME, turns: Turns = Turns.TOGETHER, format: str = "wav"
) -> str:
    """
    File name of a rung's play-along.

    metre : in which the phrase begins: its tempo is named by the beats that are counted.

    >>> play_along_name(Rung("slow", 0.5, 52.5)), play_along_name(Rung("full", 1.0, 100.0), turns=Turns.YOURS)
    ('play-along-52.5.wav', 'play-along-100-yours.wav')
    >>> play_along_name(Rung("full", 1.0, 84.0), metre=Metre(Fraction(0), 12, 8))
    'play-along-56.wav'
    """
    return f"play-along-{tempo_number(rung, metre)}{_WHOSE[turns]}.{format}"


def with_band_name(
    rung: Rung, *, metre: Metre = COMMON_TIME, turns: Turns = Turns.TOGETHER, format: str = "wav"
) -> str:
    """
    File name of a rung played with the band.

    metre : as of `play_along_name`.

    >>> with_band_name(Rung("full", 1.0, 100.0), turns=Turns.CALL, format="opus")
    'with-band-100-call.opus'
    """
    return f"with-band-{tempo_number(rung, metre)}{_WHOSE[turns]}.{format}"


def ladder_name(*, is_with_band: bool = False, turns: Turns = Turns.TOGETHER, format: str = "wav") -> str:
    """
    File name of a whole ladder in one file.

    >>> ladder_name(is_with_band=True, format="mp3")
    'ladder-with-band.mp3'
    """
    return f"ladder{'-with-band' if is_with_band else ''}{_WHOSE[turns]}.{format}"


def spot_name(number: int, *, turns: Turns = Turns.TOGETHER, format: str = "wav") -> str:
    """
    File name of a looped spot, counted from 1.

    >>> spot_name(2), spot_name(2, turns=Turns.CALL)
    ('spot-2.wav', 'spot-2-call.wav')
    """
    return f"spot-{number}{_WHOSE[turns]}.{format}"
