"""The phrase as a Standard MIDI File, as it is played on the harp.

As played, not as written: repeats unfolded, grace notes in their time, swung notes late, at the pitch the harp
sounds; so that any player makes the right sound. Notes keep their full written length (no gaps for the
breath), and every one stands on an exact tick, so that a notation program finds the rhythm again.
A note's number is the one that sounds, bends included. The pitch wheel carries what happens within notes:
attacks from below, falls and glides in one hole, at a range of 12 semitones. It leaves out what belongs to
single reeds (temperament) or to the player (vibrato): one channel has one wheel.
"""

from __future__ import annotations

import io
import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any

import numpy as np

from reedpath.arrange import Route
from reedpath.data import replace
from reedpath.harp import EQUAL, format_move, midi_of
from reedpath.lesson import Lesson
from reedpath.phrase import MOST_METRE_COUNT, Phrase, metres_of, timing_of
from reedpath.pitch import hz_to_midi
from reedpath.sound.plan import plan_route
from reedpath.sound.played_moves import PlayedMove, load_performance, played_moves_of
from reedpath.sound.tones import Contour

# General MIDI harmonica, counted from 0 (General MIDI System Level 1, MMA 1991)
HARMONICA_PROGRAM = 22
# ticks a quarter note: a customary number that most notes divide, and the most a file can hold (15 bits)
CUSTOMARY_TICKS, MOST_TICKS = 480, 32_767
# semitones up and down of the pitch wheel; the customary 2 is too little for a bend of three semitones
BEND_RANGE_SEMITONES = 12
# the wheel's middle is 0; 14 bits (MIDI 1.0, "Pitch Bend Change")
WHEEL_UNITS = 8192
# controllers and values that set the wheel's range: registered parameter 0,0 (MIDI 1.0, "RPN")
WHEEL_RANGE = ((101, 0), (100, 0), (6, BEND_RANGE_SEMITONES), (38, 0))
# key signatures by pitch class, with no more than six sharps or five flats
MAJOR_KEYS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
MINOR_KEYS = ("Cm", "C#m", "Dm", "D#m", "Em", "Fm", "F#m", "Gm", "G#m", "Am", "Bbm", "Bm")
# semitones; a smaller step of the wheel is not written
LEAST_BEND = 0.02
# steps of the wheel within one stretch of a glide
BEND_STEPS = 4


def _ticks_per_beat(times: Iterable[Fraction]) -> int:
    """The ticks a quarter note on which all times are whole, if a file can hold so many."""
    exact = math.lcm(*(time.denominator for time in times))
    customary = math.lcm(exact, CUSTOMARY_TICKS)
    if customary <= MOST_TICKS:
        return customary
    return exact if exact <= MOST_TICKS else MOST_TICKS


class _TickClock:
    """Beats and seconds of a performance, in ticks."""

    def __init__(self, phrase: Phrase) -> None:
        self.timing = timing_of(phrase)
        written = [time for event in phrase.events for time in (event.onset, event.end)]
        written += [tempo.onset for tempo in phrase.tempos] + [metre.onset for metre in phrase.metres]
        self.per_beat = _ticks_per_beat(map(self.timing.played_beats, written))

    def at(self, beats: Fraction) -> int:
        """Tick of a written beat."""
        return round(self.timing.played_beats(beats) * self.per_beat)

    def at_seconds(self, seconds: float) -> int:
        """Tick of a time in seconds, rounded."""
        return round(self.timing.played_beats_at(seconds) * self.per_beat)


def _metres(phrase: Phrase, clock: _TickClock) -> list[tuple[int, int, int]]:
    """Tick, count and unit of each time signature; a pickup is a short first bar of its own."""
    metres = metres_of(phrase)
    found = [(clock.at(metre.onset), metre.count, metre.unit) for metre in metres]
    if phrase.pickup > 0:
        pickup = phrase.pickup / 4
        unit = max(metres[0].unit, pickup.denominator)
        is_writable = (pickup * unit).denominator == 1 and unit & (unit - 1) == 0
        found[0] = (clock.at(phrase.pickup) if is_writable else 0, *found[0][1:])
        if is_writable:
            found.insert(0, (0, int(pickup * unit), unit))
    return found


def _note_ticks(played: PlayedMove, route: Route, clock: _TickClock) -> tuple[int, int]:
    """Ticks at which a played move starts and ends: exact where it shares its event's borders."""
    event, span = route.events[played.event].event, (played.start_seconds, played.end_seconds)
    borders = [clock.timing.seconds_at(event.onset), clock.timing.seconds_at(event.end)]
    exact = [clock.at(event.onset), clock.at(event.end)]
    ticks = [
        next((tick for border, tick in zip(borders, exact, strict=True) if abs(border - seconds) < 1e-9), None)
        for seconds in span
    ]
    start, end = (
        clock.at_seconds(seconds) if tick is None else tick for tick, seconds in zip(ticks, span, strict=True)
    )
    return start, max(end, start + 1)


def _notes(route: Route, moves: list[PlayedMove], clock: _TickClock) -> list[tuple[int, int, int, int]]:
    """Start and end tick, MIDI number and velocity of each note."""
    notes = []
    for played in moves:
        start, end = _note_ticks(played, route, clock)
        velocity = max(1, min(127, round(played.force * 127)))
        notes += [(start, end, midi, velocity) for midi in sorted(set(midi_of(route.harp, played.move)))]
    return notes


def _sampled(contour: Contour) -> tuple[np.ndarray, np.ndarray]:
    """Times and MIDI numbers along a contour, several to each of its stretches."""
    places = np.arange(BEND_STEPS * (len(contour.seconds) - 1) + 1) / BEND_STEPS
    known = np.arange(len(contour.seconds))
    seconds = np.interp(places, known, contour.seconds)
    midi = np.interp(seconds, contour.seconds, [hz_to_midi(hz) for hz in contour.hz])
    return seconds, midi


def _bends(route: Route, moves: list[PlayedMove], clock: _TickClock) -> list[tuple[int, int]]:
    """Tick and place of the pitch wheel, 0 wherever a note is simply itself."""
    equal = replace(route, harp=replace(route.harp, temperament=EQUAL, a4_hz=440.0, stretch_cents=0.0))
    tones = plan_route(equal, clock.timing).tones
    tone_starts = [tone.start_seconds for tone in tones]
    numbers = [min(midi_of(route.harp, played.move)) for played in moves]
    starts = [clock.at_seconds(played.start_seconds) for played in moves]
    wanted: dict[int, float] = {}
    for played, number, start in zip(moves, numbers, starts, strict=True):
        wanted[start] = 0.0
        if len(played.move.holes) > 1:
            continue
        carrier = tones[bisect_right(tone_starts, played.start_seconds + 1e-9) - 1]
        seconds, midi = _sampled(carrier.contour)
        here = np.interp(played.start_seconds, seconds, midi)
        wanted[start] = float(here) - number
        inside = (seconds > played.start_seconds) & (seconds < played.end_seconds)
        for when, value in zip(seconds[inside], midi[inside], strict=True):
            wanted[clock.at_seconds(float(when))] = float(value) - number
    bends: list[tuple[int, int]] = []
    current = 0.0
    for tick in sorted(wanted):
        settled = abs(wanted[tick]) < 1e-6 and current != 0.0
        if settled or abs(wanted[tick] - current) >= LEAST_BEND:
            current = 0.0 if settled else wanted[tick]
            place = round(current * WHEEL_UNITS / BEND_RANGE_SEMITONES)
            bends.append((tick, min(WHEEL_UNITS - 1, max(-WHEEL_UNITS, place))))
    return bends


def _messages(lesson: Lesson, clock: _TickClock) -> Iterator[tuple[int, Any]]:
    """Tick and message, kind after kind: of those of one tick the first stands first in the file."""
    from mido import Message, MetaMessage

    route, phrase = lesson.route, lesson.route.phrase
    for tick, count, unit in _metres(phrase, clock):
        if count <= MOST_METRE_COUNT:  # a longer bar of a phrase of one's own goes unsaid
            yield tick, MetaMessage("time_signature", numerator=count, denominator=unit)
    if phrase.key:
        names = MINOR_KEYS if phrase.key.third == "minor" else MAJOR_KEYS
        yield 0, MetaMessage("key_signature", key=names[phrase.key.tonic])
    for tempo in clock.timing.tempos:
        yield clock.at(tempo.onset), MetaMessage("set_tempo", tempo=round(60_000_000 / tempo.bpm))
    for part in lesson.parts if route.events else ():
        yield clock.at(route.events[part.first].event.onset), MetaMessage("marker", text=part.label)
    yield 0, MetaMessage("track_name", name=f"{route.harp.name} harp")
    yield 0, Message("program_change", program=HARMONICA_PROGRAM)
    moves = played_moves_of(route, clock.timing, load_performance())
    bends, notes = _bends(route, moves, clock), _notes(route, moves, clock)
    for number, value in WHEEL_RANGE if bends else ():
        yield 0, Message("control_change", control=number, value=value)
    for tick, place in bends:
        yield tick, Message("pitchwheel", pitch=place)
    for one in route.events:
        if one.choice.move is not None:
            text = format_move(one.choice.move, lesson.notation)
            yield clock.at(one.event.onset), MetaMessage("lyrics", text=text)
    for _, tick, midi, velocity in notes:
        yield tick, Message("note_off", note=midi, velocity=velocity)
    for tick, _, midi, velocity in notes:
        yield tick, Message("note_on", note=midi, velocity=velocity)


def encode_midi(lesson: Lesson) -> bytes:
    """The lesson's phrase as a Standard MIDI File, as it is played on the harp: tab as lyrics, parts as markers."""
    from mido import MidiFile, MidiTrack

    clock = _TickClock(lesson.route.phrase)
    track, at = MidiTrack(), 0
    for tick, message in sorted(_messages(lesson, clock), key=lambda pair: pair[0]):
        track.append(message.copy(time=tick - at))
        at = tick
    written = io.BytesIO()
    MidiFile(ticks_per_beat=clock.per_beat, charset="utf8", tracks=[track]).save(file=written)
    return written.getvalue()
