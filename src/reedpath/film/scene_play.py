"""The scenes in which a phrase is played through: at a tempo of the ladder, or by the teacher."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from reedpath.arrange import Route
from reedpath.film.caption_groups import CaptionGroup, chosen_captions
from reedpath.film.timeline import Caption, CountedNumber, Glide, Highlight, Scene, SceneHeading, SceneKind, TurnCall
from reedpath.lesson import Lesson, Rung, StepKind
from reedpath.page import dark_times
from reedpath.phrase import Phrase, Timing, beat_times, metre_at, timing_of
from reedpath.sound import Click, PlayAlong, Turns, counted_in, lay_out

if TYPE_CHECKING:
    from reedpath.film.cut_plays import ToldPlay
    from reedpath.listen import PlayThrough

# seconds of a take's scene before its first note and after its last one; our choice
BEFORE_SECONDS, AFTER_SECONDS = 2.0, 1.0
# the same where it is counted in, at most: two slow bars; ours
LONGEST_COUNT_IN = 12.0
# seconds that the last beat of a count-in stays where there is nothing to measure it by: a beat at 60
LAST_COUNT_SECONDS = 1.0
# ratio to a rung's tempo up to which a play-through counts as played at that rung: half the way to a neighbour that
# is a quarter faster; our choice
NEAR_RATIO = 1.12


def highlights_of(route: Route, played: Iterable[Highlight]) -> tuple[Highlight, ...]:
    """What is lit, in order, from when each event begins and ends; silent events are left out."""
    moves = [one.choice.move for one in route.events]
    lit = sorted((one for one in played if moves[one.event] is not None), key=lambda one: one.start_seconds)
    dark = dark_times(
        [moves[one.event] for one in lit], [one.start_seconds for one in lit], [one.end_seconds for one in lit]
    )
    return tuple(Highlight(one.event, one.start_seconds, end) for one, end in zip(lit, dark, strict=True))


def heard_events(play: PlayThrough) -> tuple[Highlight, ...]:
    """When the events of a play-through were heard, as far as they can be shown: each later than the one before."""
    heard: list[Highlight] = []
    for one in play.events:
        after = not heard or one.start_seconds > heard[-1].start_seconds
        if one.played and after and one.end_seconds > one.start_seconds >= 0:
            heard.append(Highlight(one.event, one.start_seconds, one.end_seconds))
    return tuple(heard)


def nearest_rung(lesson: Lesson, factor: float) -> Rung | None:
    """The tempo of the ladder nearest to a share of the full tempo, None where none is near."""

    def distance(rung: Rung) -> float:
        return abs(math.log(factor / rung.factor))

    nearest = min(lesson.ladder, key=distance, default=None)
    return nearest if nearest is not None and distance(nearest) <= math.log(NEAR_RATIO) else None


def counts_of(heard: Iterable[Click], start: float, until: float) -> tuple[CountedNumber, ...]:
    """The beats counted before a moment, by the clicks of a sound that begins at ``start``."""
    counted = [(start + click.seconds, number) for click, number in counted_in(heard, until - start)]
    if not counted:
        return ()
    ends = [*(at for at, _ in counted[1:]), min(until, counted[-1][0] + LAST_COUNT_SECONDS)]
    return tuple(CountedNumber(number, at, end) for (at, number), end in zip(counted, ends, strict=True))


def call_over_count(
    counts: tuple[CountedNumber, ...], start: float, turn: float, bar_seconds: float
) -> tuple[TurnCall, ...]:
    """What says from a moment on that the student begins at another, and for a bar that it is so."""
    return (TurnCall(start, turn, turn + bar_seconds, counts),)


def bar_seconds_of(phrase: Phrase, timing: Timing) -> float:
    """Seconds that a phrase's first whole bar takes."""
    return timing.seconds_at(phrase.pickup + metre_at(phrase, phrase.pickup).bar) - timing.seconds_at(phrase.pickup)


def headings_of(lesson: Lesson, starts: dict[int, float], start: float, end: float) -> tuple[SceneHeading, ...]:
    """One heading for each part that is played, the first from the scene's start on."""
    begins = [(starts[part.first], index) for index, part in enumerate(lesson.parts) if part.first in starts]
    headings = []
    for place, (at, part) in enumerate(begins):
        until = begins[place + 1][0] if place + 1 < len(begins) else end
        headings.append(SceneHeading(at if place else start, until, part=part))
    return tuple(headings)


def tempo_captions(
    rung: Rung, lesson: Lesson, groups: Sequence[CaptionGroup], start: float, until: float
) -> list[Caption]:
    """The sentence that announces a tempo, over the count-in and as long as it needs."""
    spoken = [group for group in groups if group.kind is StepKind.LADDER]
    place = lesson.ladder.index(rung)
    if place >= len(spoken):
        return []
    page = spoken[place].pages[0]
    return [Caption(spoken[place].block, page.first, page.stop, start, max(until, start + page.seconds))]


def play_scene(
    lesson: Lesson,
    rung: Rung,
    groups: Sequence[CaptionGroup],
    *,
    start_seconds: float,
    options: PlayAlong | None = None,
) -> Scene:
    """The phrase at a rung, as `reedpath.sound.play_alongs` sounds it with the same options."""
    layout = lay_out(lesson, rung, options)
    zero = start_seconds + layout.zero_seconds
    end = start_seconds + layout.seconds
    played = [
        Highlight(index, zero + span.start_seconds, zero + span.end_seconds)
        for index, span in enumerate(layout.plan.spans)
    ]
    first = played[0].start_seconds if played else zero
    announced = tempo_captions(rung, lesson, groups, start_seconds, first)
    told_from = announced[-1].end_seconds if announced else start_seconds
    timing = timing_of(lesson.route.phrase).scaled(rung.factor)
    counts = counts_of(layout.clicks, start_seconds, first)
    calls: tuple[TurnCall, ...] = ()
    if options is not None and options.turns is Turns.YOURS:
        calls = call_over_count(counts, start_seconds, first, bar_seconds_of(lesson.route.phrase, timing))
    return Scene(
        kind=SceneKind.PLAY,
        start_seconds=start_seconds,
        end_seconds=end,
        bpm=rung.bpm,
        metre=metre_at(lesson.route.phrase, lesson.route.phrase.pickup),
        rung=rung,
        highlights=highlights_of(lesson.route, played),
        headings=headings_of(lesson, {one.event: one.start_seconds for one in played}, start_seconds, end),
        captions=(*announced, *captions_while_played(lesson, groups, played, told_from, end)),
        counts=counts,
        beat_times=timing.delayed(layout.zero_seconds),
        glide=Glide((start_seconds, end), (0.0, layout.seconds)),
        layout=layout,
        turn_calls=calls,
    )


def captions_while_played(
    lesson: Lesson, groups: Sequence[CaptionGroup], played: Iterable[Highlight], first: float, last: float
) -> tuple[Caption, ...]:
    """The steps told while notes are played, between two moments."""
    spans = {one.event: (one.start_seconds, one.end_seconds) for one in played}
    return chosen_captions(lesson.route, groups, spans.get, first_seconds=first, last_seconds=last)


def take_scene(
    lesson: Lesson,
    play: PlayThrough,
    groups: Sequence[CaptionGroup],
    *,
    earliest: float,
    latest: float,
    stretch: ToldPlay | None = None,
) -> Scene:
    """A play-through of the teacher's film, between two moments that it may not pass.

    stretch : of a film that was cut, where it lies: what is counted in before it is shown with it.
    """
    played = heard_events(play)
    first, last = played[0].start_seconds, max(one.end_seconds for one in played)
    begins = first if stretch is None else max(stretch.start_seconds, first - LONGEST_COUNT_IN)
    start, end = max(earliest, min(begins, first - BEFORE_SECONDS)), min(latest, last + AFTER_SECONDS)
    starts = {one.event: one.start_seconds for one in played}
    for part in lesson.parts:  # a part whose first note was missed begins with the first one heard of it
        inside = [one for one in played if part.first <= one.event <= part.last]
        if inside:
            starts.setdefault(part.first, inside[0].start_seconds)
    phrase = lesson.route.phrase
    onsets = [(phrase.events[one.event].onset, one.start_seconds) for one in played]
    return Scene(
        kind=SceneKind.TAKE,
        start_seconds=start,
        end_seconds=end,
        bpm=timing_of(phrase).bpm_at(0) * play.tempo_factor,
        metre=metre_at(phrase, phrase.pickup),
        rung=nearest_rung(lesson, play.tempo_factor),
        highlights=highlights_of(lesson.route, played),
        headings=headings_of(lesson, starts, start, end),
        captions=captions_while_played(lesson, groups, played, start, end),
        counts=(),
        beat_times=beat_times([*onsets, (phrase.events[played[-1].event].end, last)]),
        glide=Glide((start, end), (start, end)),
        told_from=None if stretch is None else stretch.told_from,
    )
