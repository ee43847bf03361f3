"""The scenes in which a phrase is played through: at a tempo of the ladder, or by the teacher."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reedpath.film.chosen_steps import chosen_sayings
from reedpath.film.courses import course_of, heard_course
from reedpath.film.knots import Knots
from reedpath.film.playings import Playing, nearest_rung, playing_bpm
from reedpath.film.soundings import soundings_of
from reedpath.film.timeline import Count, Heading, Saying, Scene, SceneKind, Sounding
from reedpath.film.told import Told
from reedpath.lesson import Lesson, Rung, StepKind
from reedpath.phrase import timing_of
from reedpath.sound import Click, PlayAlong, lay_out

__all__ = ["counts_of", "headings_of", "play_scene", "take_scene", "tempo_sayings", "told_while_played"]

# seconds of a take's scene before its first note and after its last one; our choice
BEFORE_SECONDS, AFTER_SECONDS = 2.0, 1.0
# seconds that the last beat of a count-in stays where there is nothing to measure it by: a beat at 60
LAST_COUNT_SECONDS = 1.0


def counts_of(heard: Iterable[Click], start: float, until: float) -> tuple[Count, ...]:
    """The beats counted before a moment, by the clicks of a sound that begins at ``start``."""
    clicks = [click for click in heard if start + click.seconds < until - 1e-6]
    counts: list[Count] = []
    number = 0
    for index, click in enumerate(clicks):
        number = 1 if click.first else number + 1
        at = start + click.seconds
        after = start + clicks[index + 1].seconds if index + 1 < len(clicks) else min(until, at + LAST_COUNT_SECONDS)
        counts.append(Count(number, at, after))
    return tuple(counts)


def headings_of(lesson: Lesson, starts: dict[int, float], start: float, end: float) -> tuple[Heading, ...]:
    """One heading for each part that is played, the first from the scene's start on."""
    begins = [(starts[part.first], index) for index, part in enumerate(lesson.parts) if part.first in starts]
    headings = []
    for place, (at, part) in enumerate(begins):
        until = begins[place + 1][0] if place + 1 < len(begins) else end
        headings.append(Heading(at if place else start, until, part=part))
    return tuple(headings)


def tempo_sayings(rung: Rung, lesson: Lesson, groups: Sequence[Told], start: float, until: float) -> list[Saying]:
    """The sentence that announces a tempo, over the count-in and as long as it needs."""
    spoken = [group for group in groups if group.kind is StepKind.LADDER]
    place = lesson.ladder.index(rung)
    if place >= len(spoken):
        return []
    page = spoken[place].pages[0]
    return [Saying(spoken[place].block, page.first, page.stop, start, max(until, start + page.seconds))]


def play_scene(
    lesson: Lesson, rung: Rung, groups: Sequence[Told], *, start_seconds: float, options: PlayAlong | None = None
) -> Scene:
    """The phrase at a rung, as `reedpath.sound.play_along` sounds it with the same options."""
    layout = lay_out(lesson, rung, options)
    zero = start_seconds + layout.zero_seconds
    end = start_seconds + layout.seconds
    played = [
        Sounding(index, zero + span.start_seconds, zero + span.end_seconds)
        for index, span in enumerate(layout.plan.spans)
    ]
    first = played[0].start_seconds if played else zero
    announced = tempo_sayings(rung, lesson, groups, start_seconds, first)
    told_from = announced[-1].end_seconds if announced else start_seconds
    timing = timing_of(lesson.route.phrase).scaled(rung.factor)
    return Scene(
        kind=SceneKind.PLAY,
        start_seconds=start_seconds,
        end_seconds=end,
        bpm=rung.bpm,
        rung=rung,
        soundings=soundings_of(lesson.route, played),
        headings=headings_of(lesson, {one.event: one.start_seconds for one in played}, start_seconds, end),
        sayings=(*announced, *told_while_played(lesson, groups, played, told_from, end)),
        counts=counts_of(layout.clicks, start_seconds, first),
        course=course_of(lesson.route.phrase, timing, zero_seconds=layout.zero_seconds),
        glide=Knots((start_seconds, end), (0.0, layout.seconds)),
        layout=layout,
    )


def told_while_played(
    lesson: Lesson, groups: Sequence[Told], played: Iterable[Sounding], first: float, last: float
) -> tuple[Saying, ...]:
    """The steps told while notes are played, between two moments."""
    spans = {one.event: (one.start_seconds, one.end_seconds) for one in played}
    return chosen_sayings(lesson.route, groups, spans.get, first_seconds=first, last_seconds=last)


def take_scene(lesson: Lesson, playing: Playing, groups: Sequence[Told], *, earliest: float, latest: float) -> Scene:
    """A play-through of the teacher's film, between two moments that it may not pass."""
    played = [Sounding(one.event, one.start_seconds, one.end_seconds) for one in playing.heard]
    first, last = played[0].start_seconds, max(one.end_seconds for one in played)
    start, end = max(earliest, first - BEFORE_SECONDS), min(latest, last + AFTER_SECONDS)
    onsets = [(one.event, one.start_seconds) for one in played]
    starts = dict(onsets)
    for part in lesson.parts:  # a part whose first note was missed begins with the first one heard of it
        inside = [one for one in played if part.first <= one.event <= part.last]
        if inside:
            starts.setdefault(part.first, inside[0].start_seconds)
    return Scene(
        kind=SceneKind.TAKE,
        start_seconds=start,
        end_seconds=end,
        bpm=playing_bpm(lesson.route.phrase, playing),
        rung=nearest_rung(lesson, playing),
        soundings=soundings_of(lesson.route, played),
        headings=headings_of(lesson, starts, start, end),
        sayings=told_while_played(lesson, groups, played, start, end),
        counts=(),
        course=heard_course(lesson.route.phrase, onsets, end_seconds=last),
        glide=Knots((start, end), (start, end)),
    )
