"""The scene in which a band plays under the phrase, round after round."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from reedpath.film.caption_groups import CaptionGroup
from reedpath.film.scene_play import (
    bar_seconds_of,
    call_over_count,
    captions_while_played,
    counts_of,
    headings_of,
    highlights_of,
    tempo_captions,
)
from reedpath.film.timeline import (
    Caption,
    CountedNumber,
    Glide,
    Highlight,
    RoundSpan,
    Scene,
    SceneHeading,
    SceneKind,
    TurnCall,
)
from reedpath.lesson import Lesson, Rung
from reedpath.phrase import BeatTimes, Timing, beat_times, metre_at, timing_of
from reedpath.sound import Backing, BackingLayout, Click, Round, lay_out_backing

# seconds for which a part is still named when it is over, and for which at least no part is named; our choice
AFTER_SECONDS, LEAST_REST_SECONDS = 1.0, 2.0
# beats; the halves of a swung beat are even in themselves
HALF = Fraction(1, 2)


def _beat_times(layout: BackingLayout, timing: Timing) -> BeatTimes:
    """When the beats of all rounds fall: each round's beats follow those of the round before."""
    phrase = layout.route.phrase
    borders = {beat for event in phrase.events for beat in (event.onset, event.end)}
    borders |= {tempo.onset for tempo in phrase.tempos}
    points: dict[Fraction, float] = {}
    for place, one in enumerate(layout.rounds):
        # what the band plays before the first turn goes by that turn's time
        begin, end = Fraction(0) if place else -one.onset, one.beats
        count = int((end - begin + 1) / HALF) + 2
        halves = {phrase.pickup % 1 + begin.__floor__() + HALF * half for half in range(-1, count)}
        for beat in halves | borders:
            if begin <= beat < end:
                points[one.onset + beat] = one.zero_seconds + timing.seconds_at(beat)
    first, last = layout.rounds[0], layout.rounds[-1]
    points[Fraction(-1)] = first.zero_seconds + timing.seconds_at(-first.onset - 1)
    for more in (0, phrase.pickup + 1):
        points[last.onset + last.beats + more] = last.zero_seconds + timing.seconds_at(last.beats + more)
    return beat_times(sorted(points.items()))


def _played(layout: BackingLayout, start: float) -> list[list[Highlight]]:
    """For each round, when each event sounds, or is to be sounded by the student."""
    return [
        [
            Highlight(
                index, start + one.zero_seconds + span.start_seconds, start + one.zero_seconds + span.end_seconds
            )
            for index, span in enumerate(layout.plan.spans)
        ]
        for one in layout.rounds
    ]


def _rounds(layout: BackingLayout, played: Sequence[Sequence[Highlight]], start: float) -> tuple[RoundSpan, ...]:
    """The rounds, each from its first bar on, or from its first note where that comes before it."""
    begins = [
        min(start + one.start_seconds, notes[0].start_seconds)
        for one, notes in zip(layout.rounds, played, strict=True)
    ]
    ends = [*begins[1:], start + layout.seconds]
    bar = metre_at(layout.route.phrase, Fraction(0)).bar
    count = int(layout.beats / layout.round_beats)

    def span(place: int, one: Round, begin: float, end: float) -> RoundSpan:
        number, beats = divmod(one.onset, layout.round_beats)
        at_bar = int(beats / bar) + 1 if layout.is_placed else 0
        return RoundSpan(number + 1, count, not one.played, begin if place else start, end, at_bar)

    turns = zip(layout.rounds, begins, ends, strict=True)
    return tuple(span(place, one, begin, end) for place, (one, begin, end) in enumerate(turns))


def _headings(
    lesson: Lesson, played: Sequence[Sequence[Highlight]], start: float, end: float
) -> tuple[SceneHeading, ...]:
    """Those of each round one after the other; none of a part where only the band plays on."""
    begins = [start, *(notes[0].start_seconds for notes in played[1:]), end]
    found: list[SceneHeading] = []
    for notes, begin, until in zip(played, begins, begins[1:], strict=False):
        over = max(one.end_seconds for one in notes) + AFTER_SECONDS
        rest = until - over >= LEAST_REST_SECONDS
        starts = {one.event: one.start_seconds for one in notes}
        found += headings_of(lesson, starts, begin, over if rest else until)
        if rest:
            found.append(SceneHeading(over, until))
    return tuple(found)


def _turn_calls(
    layout: BackingLayout, rounds: Sequence[RoundSpan], counts: tuple[CountedNumber, ...], first: float, bar: float
) -> Iterator[TurnCall]:
    """What says that it is the student's turn: before the first round, and before each that is not played any more.

    first : when the first round's first note begins, film time. bar : seconds of a bar.
    """
    start = rounds[0].start_seconds
    if rounds[0].is_yours:
        yield from call_over_count(counts, start, min(first, start + layout.rounds[0].start_seconds), bar)
    for before, now in pairwise(rounds):
        if now.is_yours and not before.is_yours:
            cues = [one for one in layout.cues if before.start_seconds <= start + one.seconds < now.start_seconds]
            told = counts_of(cues, start, now.start_seconds)
            begins = told[0].start_seconds if told else now.start_seconds - bar
            yield from call_over_count(told, begins, now.start_seconds, bar)


def _captions(
    lesson: Lesson,
    groups: Sequence[CaptionGroup],
    rounds: Sequence[RoundSpan],
    played: Sequence[Sequence[Highlight]],
    told_from: float,
) -> tuple[Caption, ...]:
    told: list[Caption] = []
    for one, notes in zip(rounds, played, strict=True):
        first = max(told_from, one.start_seconds)
        told += captions_while_played(lesson, groups, notes, first, one.end_seconds)
    return tuple(told)


def _counted_in(layout: BackingLayout) -> list[Click]:
    """What is heard of a count before the first round: the clicks, and after an intro the bell."""
    first = layout.rounds[0].start_seconds
    heard = {round(one.seconds, 6): one for one in (*layout.cues, *layout.clicks) if one.seconds < first}
    return [heard[at] for at in sorted(heard)]


def band_scene(
    lesson: Lesson, rung: Rung, groups: Sequence[CaptionGroup], *, start_seconds: float, backing: Backing
) -> Scene:
    """The phrase at a rung, as `reedpath.sound.play_with_band` sounds it with the same backing.

    Raises `SoundError` or `SettingsError` as `lay_out_backing`.
    """
    layout = lay_out_backing(lesson, rung, backing)
    end = start_seconds + layout.seconds
    played = _played(layout, start_seconds)
    rounds = _rounds(layout, played, start_seconds)
    first = played[0][0].start_seconds
    counted_until = min(first, start_seconds + layout.rounds[0].start_seconds)
    announced = tempo_captions(rung, lesson, groups, start_seconds, first)
    told_from = announced[-1].end_seconds if announced else start_seconds
    timing = timing_of(layout.route.phrase).scaled(rung.factor)
    counts = counts_of(_counted_in(layout), start_seconds, counted_until)
    bar = bar_seconds_of(layout.route.phrase, timing)
    return Scene(
        kind=SceneKind.PLAY,
        start_seconds=start_seconds,
        end_seconds=end,
        bpm=rung.bpm,
        metre=metre_at(lesson.route.phrase, lesson.route.phrase.pickup),
        rung=rung,
        highlights=highlights_of(lesson.route, [one for notes in played for one in notes]),
        headings=_headings(lesson, played, start_seconds, end),
        captions=(*announced, *_captions(lesson, groups, rounds, played, told_from)),
        counts=counts,
        beat_times=_beat_times(layout, timing),
        glide=Glide((start_seconds, end), (0.0, layout.seconds)),
        backing=layout,
        rounds=rounds,
        turn_calls=tuple(_turn_calls(layout, rounds, counts, first, bar)),
    )
