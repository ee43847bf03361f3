"""Sounds: what a lesson page is given to play, and the times it takes from it.

All times that the page goes by are worked out here; its script only compares them with the sound's clock.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from reedpath.arrange import Route
from reedpath.errors import PageError
from reedpath.lesson import Rung
from reedpath.page.badges import dark_times

# seconds; how long before an event a jump to it lands, so that its attack is heard
LANDING = 0.02
# decimals of a second that are written: a tenth of a millisecond
DECIMALS = 4

_MEDIA_TYPE = re.compile(r"audio/[a-z0-9.+-]+")


@dataclass(frozen=True, slots=True)
class CountInBeat:
    """A counted beat before the phrase.

    seconds : from the start of the sound.
    number : as it is counted, from 1 in each bar.
    """

    seconds: float
    number: int


@dataclass(frozen=True, slots=True)
class PageSound:
    """One tempo of a lesson as a sound file, and when everything in it happens, in seconds from its start.

    rung : the tempo.
    media_type : of the file ("audio/mpeg").
    data : the file.
    starts, ends : when each event of the route begins and ends; of silent ones too.
    bar_end_seconds : where the last bar ends, and a loop of the phrase's end goes back.
    counts : the count-in, which begins at the start of the sound; none for none.
    """

    rung: Rung
    media_type: str
    data: bytes
    starts: tuple[float, ...]
    ends: tuple[float, ...]
    bar_end_seconds: float
    counts: tuple[CountInBeat, ...] = ()


def check_sounds(sounds: Sequence[PageSound], route: Route) -> None:
    """Raise PageError for sounds that do not fit the route."""
    events = len(route.events)
    for sound in sounds:
        if not _MEDIA_TYPE.fullmatch(sound.media_type):
            raise PageError("page.no_media_type", bpm=sound.rung.bpm, found=sound.media_type)
        starts, ends = len(sound.starts), len(sound.ends)
        if starts != events or ends != events:
            raise PageError("page.other_events", bpm=sound.rung.bpm, starts=starts, ends=ends, events=events)
        for index, (one, other) in enumerate(pairwise(sound.starts)):
            if other < one:
                raise PageError("page.sound_goes_back", bpm=sound.rung.bpm, event=index + 1, seconds=other)


def _rounded(seconds: float) -> float:
    return round(seconds, DECIMALS)


def _course(sound: PageSound, places: Sequence[tuple[float, float]]) -> list[list[float]]:
    """Where the ribbon is, in rows, at times of the sound: at each event's start, and at the last one's end."""
    points: list[list[float]] = []
    for seconds, (left, _) in zip(sound.starts, places, strict=True):
        if not points or (seconds > points[-1][0] and left > points[-1][1]):
            points.append([_rounded(seconds), round(left, 3)])
    if places and sound.ends[-1] > points[-1][0]:
        points.append([_rounded(sound.ends[-1]), round(places[-1][1], 3)])
    return points


def _counted(sound: PageSound) -> float:
    """When the count-in is over: a beat after its last count, but before the first event."""
    counts = [one.seconds for one in sound.counts]
    if not counts or not sound.starts:
        return 0.0
    beat = counts[-1] - counts[-2] if len(counts) > 1 else 0.0
    return max(0.0, min(counts[-1] + beat, sound.starts[0]) - LANDING)


def sound_times(sound: PageSound, route: Route, places: Sequence[tuple[float, float]]) -> dict[str, Any]:
    """The times of a sound as the page's script reads them.

    starts, dark : when each event lights up and goes dark.
    from, until : where a stretch that begins, and one that ends, with each event is played from and to.
    course : points of [seconds, rows along the ribbon].
    counts : [seconds, number]. counted : when the count-in is over.

    places : x of each event's left and right edge along the ribbon, rows.
    """
    landings = [max(0.0, start - LANDING) for start in sound.starts]
    until = [*landings[1:], sound.bar_end_seconds][: len(landings)]
    dark = dark_times([one.choice.move for one in route.events], sound.starts, sound.ends)
    return {
        "starts": [_rounded(one) for one in sound.starts],
        "dark": [_rounded(one) for one in dark],
        "from": [_rounded(one) for one in landings],
        "until": [_rounded(one) for one in until],
        "course": _course(sound, places),
        "counts": [[_rounded(one.seconds), one.number] for one in sound.counts],
        "counted": _rounded(_counted(sound)),
    }
