"""The plan of a performance: a route and its timing, turned into tones.

Pieces bound to one another by one breath are slurred; a turn of the breath or a note repeated leaves a short
gap; pieces of one hole that follow without a rest and differ only by their bend are one tone that glides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from reedpath.arrange import Route
from reedpath.harp import Harp, Move
from reedpath.phrase import Timing
from reedpath.pitch import cents_to_ratio
from reedpath.sound.performance_data import PerformanceData, load_performance
from reedpath.sound.pieces import Piece, Span, pieces_of, span_of
from reedpath.sound.pitches import sounding_hz, unbent_hz
from reedpath.sound.tones import Attack, Contour, Tone, glide

__all__ = ["Plan", "plan_route"]

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
    spans: tuple[Span, ...]

    @property
    def seconds(self) -> float:
        """When the last event ends, 0 for an empty route."""
        return max((span.end_seconds for span in self.spans), default=0.0)

    def delayed(self, seconds: float) -> Plan:
        """The same performance so much later."""
        return Plan(
            tuple(tone.delayed(seconds) for tone in self.tones),
            tuple(Span(span.start_seconds + seconds, span.end_seconds + seconds) for span in self.spans),
        )


def _glides_into(first: Piece, second: Piece, data: PerformanceData) -> bool:
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


def _runs(pieces: list[Piece], data: PerformanceData) -> list[list[Piece]]:
    """Pieces grouped into stretches that one tone carries."""
    runs: list[list[Piece]] = []
    for piece in pieces:
        if runs and _glides_into(runs[-1][-1], piece, data):
            runs[-1].append(piece)
        else:
            runs.append([piece])
    return runs


def _start_after(before: Piece | None, piece: Piece, data: PerformanceData) -> Attack:
    if piece.slapped:
        return Attack.SLAPPED
    if before is None or piece.start_seconds - before.end_seconds >= data.time.bound_within:
        return Attack.TONGUED
    if before.move.breath is not piece.move.breath:
        return Attack.TURNED
    if piece.accented or set(before.move.holes) & set(piece.move.holes):
        return Attack.TONGUED
    return Attack.SLURRED


def _end_before(run: list[Piece], following: Piece | None, attack: Attack, data: PerformanceData) -> float:
    """When the breath of a run stops, given how the next one starts."""
    end = run[-1].end_seconds
    if following is None or following.start_seconds - end >= data.time.bound_within:
        return end
    if attack is Attack.SLURRED:
        return following.start_seconds + data.time.slurred_overlap
    gap = data.time.turned_gap if attack is Attack.TURNED else data.time.tongued_gap
    gap = min(gap, data.time.most_gap_share * run[-1].duration_seconds)
    return min(end, following.start_seconds - gap)


def _piece_contour(piece: Piece, hz: float, end: float, data: PerformanceData) -> Contour:
    """Pitch of one piece alone, its bent start and pressed-down end included."""
    most = data.time.most_bend_share * (end - piece.start_seconds)
    contour = Contour((piece.start_seconds,), (hz,))
    if piece.starts_bent:
        share = min(1.0, most / (data.time.attack_hold + data.time.attack_glide))
        held = piece.start_seconds + share * data.time.attack_hold
        contour = glide(
            held, held + share * data.time.attack_glide, hz * cents_to_ratio(100.0 * piece.starts_bent), hz
        )
    if piece.ends_bent:
        share = min(1.0, most / (data.time.fall_hold + data.time.fall_glide))
        down = end - share * data.time.fall_hold
        contour = contour.joined(
            glide(down - share * data.time.fall_glide, down, hz, hz * cents_to_ratio(100.0 * piece.ends_bent))
        )
    return contour


def _run_contour(run: list[Piece], pitches: list[float], end: float, data: PerformanceData) -> Contour:
    """Pitch of a run: its first piece, then a glide about each border."""
    contour = _piece_contour(run[0], pitches[0], end if len(run) == 1 else run[0].end_seconds, data)
    for (first, second), (from_hz, to_hz) in zip(pairwise(run), pairwise(pitches), strict=True):
        shorter = min(first.duration_seconds, second.duration_seconds)
        half = min(data.time.hole_glide, data.time.most_glide_share * shorter) / 2.0
        border = second.start_seconds
        contour = contour.joined(glide(border - half, border + half, from_hz, to_hz))
    last = run[-1]
    if len(run) > 1 and last.ends_bent:
        fall = _piece_contour(last, pitches[-1], end, data)
        contour = contour.joined(Contour(fall.seconds[1:], fall.hz[1:]))
    return contour


def _slap_tones(harp: Harp, piece: Piece, data: PerformanceData) -> list[Tone]:
    """The chord of the neighbouring lower holes that a slap sounds for a moment."""
    hole = piece.move.holes[0]
    holes = tuple(range(max(1, hole - SLAP_HOLES), hole))
    move = Move(holes, piece.move.breath)
    end = piece.start_seconds + min(data.time.slap, 0.4 * piece.duration_seconds)
    return [
        Tone(
            piece.start_seconds,
            end,
            Contour((piece.start_seconds,), (hz,)),
            hz,
            move.breath,
            force=max(0.0, piece.force + data.force.slap),
            attack=Attack.SLAPPED,
            seed=piece.event,
            event=piece.event,
        )
        for hz in sounding_hz(harp, move)
    ]


def _tones_of(harp: Harp, run: list[Piece], attack: Attack, end: float, data: PerformanceData) -> list[Tone]:
    head = run[0]
    count = len(head.move.holes)
    softer = -data.force.chord_db * math.log2(count)
    shaken = next((piece for piece in run if piece.vibrato), None)
    tones = _slap_tones(harp, head, data) if head.slapped else []
    for reed, hz in enumerate(unbent_hz(harp, head.move)):
        pitches = [sounding_hz(harp, piece.move)[reed] for piece in run]
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
    data: PerformanceData | None = None,
) -> Plan:
    """The performance of a route at a timing, in seconds from beat 0 of its phrase."""
    numbers = data or load_performance()
    runs = _runs(pieces_of(route, timing, numbers, slap_accents=slap_accents), numbers)
    befores = [None, *(run[-1] for run in runs)]
    attacks = [_start_after(before, run[0], numbers) for before, run in zip(befores, runs, strict=False)]
    tones: list[Tone] = []
    for index, run in enumerate(runs):
        last = index == len(runs) - 1
        following = None if last else runs[index + 1][0]
        end = _end_before(run, following, attacks[index if last else index + 1], numbers)
        tones += _tones_of(route.harp, run, attacks[index], end, numbers)
    return Plan(tuple(tones), tuple(span_of(one.event, timing) for one in route.events))
