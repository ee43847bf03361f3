"""Where one play-through of raw footage, as it was heard, is two: the player broke off and began again."""

from __future__ import annotations

from reedpath.lesson import Lesson
from reedpath.listen import PlayAnswer, PlayThrough
from reedpath.phrase import timing_of

__all__ = ["begun_after_strays", "begun_again"]

# events before a part that may be left over from what was broken off, and seconds of the pause after them beyond what
# is asked: nobody who joins two parts waits so long; ours
MOST_STRAYS, OVER_ASKED = 2, 0.9


def begun_again(play: PlayAnswer, lesson: Lesson) -> float | None:
    """When the player began again from where a part or the play-through begins, seconds; None for never."""
    firsts = {part.first for part in lesson.parts} | {play.play.first}
    return next((one.seconds for one in play.play.restarts if one.back_to in firsts), None)


def begun_after_strays(play: PlayThrough, lesson: Lesson) -> float | None:
    """When a part begins, seconds, where an event or two before it are of what was broken off; None for never.

    The last notes before a player breaks off may sound like those that lead to the part. Then a pause tells them:
    the part comes later than in the tempo that it is then played at.
    """
    timing, events = timing_of(lesson.route.phrase), lesson.route.phrase.events
    firsts = {part.first for part in lesson.parts}
    for before, one in zip(play.events, play.events[1 : MOST_STRAYS + 1], strict=False):
        if one.event not in firsts or not one.played:
            continue
        asked = timing.seconds_at(events[one.event].onset) - timing.seconds_at(events[before.event].onset)
        if one.start_seconds - before.start_seconds > asked / play.tempo_factor + OVER_ASKED:
            return one.start_seconds
    return None
