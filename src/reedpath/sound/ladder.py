"""The ladder: a lesson's phrase played at each of its tempos, with a count-in."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from reedpath.errors import SoundError
from reedpath.lesson import Lesson, Rung
from reedpath.phrase import Phrase, beat_of, timing_of
from reedpath.signal import Samples
from reedpath.sound.click import Click, render_clicks
from reedpath.sound.metre_grid import counted_beats, first_metre
from reedpath.sound.mix import Track, mixed_down
from reedpath.sound.plan import Plan, plan_route
from reedpath.sound.room import placed_in_room
from reedpath.sound.voice import render_tones

__all__ = ["Layout", "PlayAlong", "count_in_beats", "lay_out", "play_along"]

# frames a second, hertz; a rate that every player and lossy format takes
RATE = 44_100
# seconds of silence before the first sound and after the last note (its tail in the room included)
HEAD_SECONDS, TAIL_SECONDS = 0.15, 1.2
# bars of count-in that may be asked for
MOST_COUNT_IN_BARS = 4
# beats that a count-in has at least, a pickup being played over its end; common practice, no source
LEAST_COUNTED = 2
# decibels by which the voice and the click stand in the mix: a lesson alone comes to about -18 LUFS
VOICE_DB, CLICK_DB = -1.0, 1.0


@dataclass(frozen=True, slots=True)
class PlayAlong:
    """What a play-along is to hold.

    count_in_bars : 0 to 4 bars of clicks first; a pickup is played over the end of the last one.
    click_through : whether the click goes on under the phrase.
    mute_voice : whether the harmonica is left out, for the student to play.
    slap_accents : whether accented single notes are tongue-slapped.
    """

    count_in_bars: int = 1
    click_through: bool = False
    mute_voice: bool = False
    slap_accents: bool = False


@dataclass(frozen=True, slots=True)
class Layout:
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


def count_in_beats(phrase: Phrase, bars: int) -> Fraction:
    """Quarter notes counted before beat 0: full bars, less a pickup, but never fewer than two counted beats."""
    if not 0 <= bars <= MOST_COUNT_IN_BARS:
        raise SoundError(f"a count-in of {bars} bars: 0 to {MOST_COUNT_IN_BARS}")
    if bars == 0:
        return Fraction(0)
    metre = first_metre(phrase)
    counted = bars * metre.bar - phrase.pickup
    while counted < LEAST_COUNTED * beat_of(metre):
        counted += metre.bar
    return counted


def lay_out(lesson: Lesson, rung: Rung, options: PlayAlong | None = None) -> Layout:
    """Where everything lies when the lesson is played at a rung."""
    wanted = options or PlayAlong()
    phrase = lesson.route.phrase
    timing = timing_of(phrase).scaled(rung.factor)
    plan = plan_route(lesson.route, timing, slap_accents=wanted.slap_accents)
    counted = count_in_beats(phrase, wanted.count_in_bars)
    zero = HEAD_SECONDS - timing.seconds_at(-counted)
    until = phrase.end if wanted.click_through else Fraction(0)
    clicks = tuple(
        Click(zero + timing.seconds_at(beat.onset), beat.first) for beat in counted_beats(phrase, -counted, until)
    )
    return Layout(plan, clicks, zero, zero + plan.seconds + TAIL_SECONDS)


def play_along(lesson: Lesson, rung: Rung, options: PlayAlong | None = None, *, rate: int = RATE) -> Samples:
    """
    The lesson's phrase at one tempo, stereo: count-in, then the harmonica in a small room.

    Events lie where `lay_out` with the same arguments says; no sample passes -1 dB full scale.
    """
    wanted = options or PlayAlong()
    layout = lay_out(lesson, rung, wanted)
    tracks = [Track(render_clicks(layout.clicks, seconds=layout.seconds, rate=rate), CLICK_DB)]
    if not wanted.mute_voice:
        shifted = layout.plan.delayed(layout.zero_seconds).tones
        dry = render_tones(shifted, seconds=layout.seconds, rate=rate)
        tracks.append(Track(placed_in_room(dry, rate=rate), VOICE_DB))
    return mixed_down(tracks, seconds=layout.seconds, rate=rate)
