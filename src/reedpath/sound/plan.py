"""The plan of a performance: a route and its timing, turned into tones.

Moves bound to one another by one breath are slurred; a turn of the breath or a note repeated leaves a short
gap; moves of one hole that follow without a rest and differ only by their bend are one tone that glides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from reedpath.arrange import Route
from reedpath.harp import Harp, Move, reed_hz, sound_of
from reedpath.phrase import Timing
from reedpath.pitch import cents_to_ratio
from reedpath.sound.played_moves import (
    PerformanceData,
    PlayedMove,
    SoundSpan,
    load_performance,
    played_moves_of,
    span_of,
)
from reedpath.sound.tones import Attack, Contour, Tone, glide


def sounding_hz(harp: Harp, move: Move) -> tuple[float, ...]:
    """Hertz of each sounding hole of a move, in the order of the holes."""
    return sound_of(harp, move).hz


def unbent_hz(harp: Harp, move: Move) -> tuple[float, ...]:
    """Hertz of each hole's own reed; of an overbend its sounding pitch, since another reed speaks."""
    if move.alteration.is_overbend:
        return sounding_hz(harp, move)
    return tuple(reed_hz(harp, hole, move.breath) for hole in move.holes)


# holes that a tongue slap sounds beside the note, on its lower side; common practice, no source
SLAP_HOLES = 3


@dataclass(frozen=True, slots=True)
class Plan:
    """What sounds and when.

    tones : every reed's doing, in order of start.
    spans : one per route event: when it starts and ends, seconds from beat 0; of silent events too.
    seconds : when the last event ends.
    """

    tones: tuple[Tone, ...]
    spans: tuple[SoundSpan, ...]

    @property
    def seconds(self) -> float:
        """When the last event ends, 0 for an empty route."""
        return max((span.end_seconds for span in self.spans), default=0.0)

    def delayed(self, seconds: float) -> Plan:
        """The same performance so much later."""
        return Plan(
            tuple(tone.delayed(seconds) for tone in self.tones),
            tuple(SoundSpan(span.start_seconds + seconds, span.end_seconds + seconds) for span in self.spans),
        )


def _glides_into(first: PlayedMove, second: PlayedMove, data: PerformanceData) -> bool:
    """Whether the second is the first's hole bent otherwise, reached without a break."""
    one, other = first.move, second.move
    return (
        len(one.holes) == 1
        and one.holes == other.holes
        and one.breath is other.breath
        and one != other
        and not (one.alteration.is_overbend or other.alteration.is_overbend)
        and not second.accented
        and second.starts_bent == 0
        and first.ends_bent == 0
        and second.start_seconds - first.end_seconds < data.time.bound_within
    )


def _carried(moves: list[PlayedMove], data: PerformanceData) -> list[list[PlayedMove]]:
    """Played moves grouped into stretches that one tone carries."""
    runs: list[list[PlayedMove]] = []
    for played in moves:
        if runs and _glides_into(runs[-1][-1], played, data):
            runs[-1].append(played)
        else:
            runs.append([played])
    return runs


def _start_after(before: PlayedMove | None, played: PlayedMove, data: PerformanceData) -> Attack:
    if played.slapped:
        return Attack.SLAPPED
    if before is None or played.start_seconds - before.end_seconds >= data.time.bound_within:
        return Attack.TONGUED
    if before.move.breath is not played.move.breath:
        return Attack.TURNED
    if played.accented or set(before.move.holes) & set(played.move.holes):
        return Attack.TONGUED
    return Attack.SLURRED


def _end_before(run: list[PlayedMove], following: PlayedMove | None, attack: Attack, data: PerformanceData) -> float:
    """When the breath of a run stops, given how the next one starts."""
    end = run[-1].end_seconds
    if following is None or following.start_seconds - end >= data.time.bound_within:
        return end
    if attack is Attack.SLURRED:
        return following.start_seconds + data.time.slurred_overlap
    gap = data.time.turned_gap if attack is Attack.TURNED else data.time.tongued_gap
    gap = min(gap, data.time.most_gap_share * run[-1].duration_seconds)
    return min(end, following.start_seconds - gap)


def _contour_alone(played: PlayedMove, hz: float, end: float, data: PerformanceData) -> Contour:
    """Pitch of one played move alone, its bent start and pressed-down end included."""
    most = data.time.most_bend_share * (end - played.start_seconds)
    contour = Contour((played.start_seconds,), (hz,))
    if played.starts_bent:
        share = min(1.0, most / (data.time.attack_hold + data.time.attack_glide))
        held = played.start_seconds + share * data.time.attack_hold
        contour = glide(
            held, held + share * data.time.attack_glide, hz * cents_to_ratio(100.0 * played.starts_bent), hz
        )
    if played.ends_bent:
        share = min(1.0, most / (data.time.fall_hold + data.time.fall_glide))
        down = end - share * data.time.fall_hold
        contour = contour.joined(
            glide(down - share * data.time.fall_glide, down, hz, hz * cents_to_ratio(100.0 * played.ends_bent))
        )
    return contour


def _run_contour(run: list[PlayedMove], pitches: list[float], end: float, data: PerformanceData) -> Contour:
    """Pitch of a run: its first move, then a glide about each border."""
    contour = _contour_alone(run[0], pitches[0], end if len(run) == 1 else run[0].end_seconds, data)
    for (first, second), (from_hz, to_hz) in zip(pairwise(run), pairwise(pitches), strict=True):
        shorter = min(first.duration_seconds, second.duration_seconds)
        half = min(data.time.hole_glide, data.time.most_glide_share * shorter) / 2.0
        border = second.start_seconds
        contour = contour.joined(glide(border - half, border + half, from_hz, to_hz))
    last = run[-1]
    if len(run) > 1 and last.ends_bent:
        fall = _contour_alone(last, pitches[-1], end, data)
        contour = contour.joined(Contour(fall.seconds[1:], fall.hz[1:]))
    return contour


def _slap_tones(harp: Harp, played: PlayedMove, data: PerformanceData) -> list[Tone]:
    """The chord of the neighbouring lower holes that a slap sounds for a moment."""
    hole = played.move.holes[0]
    holes = tuple(range(max(1, hole - SLAP_HOLES), hole))
    move = Move(holes, played.move.breath)
    end = played.start_seconds + min(data.time.slap, 0.4 * played.duration_seconds)
    return [
        Tone(
            played.start_seconds,
            end,
            Contour((played.start_seconds,), (hz,)),
            hz,
            move.breath,
            force=max(0.0, played.force + data.force.slap),
            attack=Attack.SLAPPED,
            seed=played.event,
            event=played.event,
        )
        for hz in sounding_hz(harp, move)
    ]


def _tones_of(harp: Harp, run: list[PlayedMove], attack: Attack, end: float, data: PerformanceData) -> list[Tone]:
    head = run[0]
    count = len(head.move.holes)
    softer = -data.force.chord_db * math.log2(count)
    shaken = next((played for played in run if played.vibrato), None)
    tones = _slap_tones(harp, head, data) if head.slapped else []
    for reed, hz in enumerate(unbent_hz(harp, head.move)):
        pitches = [sounding_hz(harp, played.move)[reed] for played in run]
        tones.append(
            Tone(
                head.start_seconds,
                end,
                _run_contour(run, pitches, end, data),
                hz,
                head.move.breath,
                force=head.force,
                level_db=softer,
                attack=attack,
                vibrato=shaken.vibrato if shaken else None,
                vibrato_from_seconds=shaken.start_seconds if shaken else None,
                overbend=head.move.alteration.is_overbend,
                seed=head.event,
                event=head.event,
            )
        )
    return tones


def plan_route(
    route: Route,
    timing: Timing,
    *,
    slap_accents: bool = False,
) -> Plan:
    """The performance of a route at a timing, in seconds from beat 0 of its phrase."""
    numbers = load_performance()
    runs = _carried(played_moves_of(route, timing, numbers, slap_accents=slap_accents), numbers)
    befores = [None, *(run[-1] for run in runs)]
    attacks = [_start_after(before, run[0], numbers) for before, run in zip(befores, runs, strict=False)]
    tones: list[Tone] = []
    for index, run in enumerate(runs):
        last = index == len(runs) - 1
        following = None if last else runs[index + 1][0]
        end = _end_before(run, following, attacks[index if last else index + 1], numbers)
        tones += _tones_of(route.harp, run, attacks[index], end, numbers)
    return Plan(tuple(tones), tuple(span_of(one.event, timing) for one in route.events))
