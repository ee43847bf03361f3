"""Making the lesson page: the phrase sounded at each tempo, made small, and put into one HTML file."""

from __future__ import annotations

import re
from base64 import b64decode, b64encode
from collections.abc import Iterator, Sequence

from reedpath.jobs.rung_sounds import bar_end_seconds, sound_rung
from reedpath.lesson import Lesson, LessonOfPieces, Rung
from reedpath.page import CountInBeat, PageSound, encode_lesson_page, encode_page_of_pieces
from reedpath.sound import PlayAlongLayout, counted_in, lay_out

# what every browser plays, those of telephones included (MPEG layer III); "audio/mpeg" by RFC 3003
MEDIA_TYPE = "audio/mpeg"


# a sound in a page, in base64 (RFC 4648, section 4); in words of the page such quotes are written otherwise
_IN_PAGE = re.compile(rb'src="data:' + re.escape(MEDIA_TYPE.encode()) + rb';base64,([A-Za-z0-9+/=]+)"')


# bytes of a page that is too large to be sent: as the text of a letter (RFC 4648, section 4) it has a third more, and
# services for mail take 20 to 25 million (common practice, no source)
LARGE_PAGE = 18_000_000


def too_many_megabytes(size: int) -> int:
    """The megabytes of a page of so many bytes that is too large for e-mail; 0 for one that may be sent."""
    return round(size / 1e6) if size > LARGE_PAGE else 0


def _timed(lesson: Lesson, rung: Rung, layout: PlayAlongLayout, data: bytes) -> PageSound:
    """A rung's sound for the page with all its times, which the layout tells."""
    spans = layout.plan.spans
    return PageSound(
        rung=rung,
        media_type=MEDIA_TYPE,
        data=data,
        starts=tuple(layout.zero_seconds + span.start_seconds for span in spans),
        ends=tuple(layout.zero_seconds + span.end_seconds for span in spans),
        bar_end_seconds=bar_end_seconds(lesson, rung, layout),
        counts=tuple(
            CountInBeat(click.seconds, number) for click, number in counted_in(layout.clicks, layout.zero_seconds)
        ),
    )


def _stand_in(number: int) -> bytes:
    """What stands in a page for a sound that is not made yet: in base64 text that is nowhere else, whole threes."""
    return f"sound {number:03} of a lesson page, not made yet".encode().ljust(48, b".")


def page_before_sounds(lesson: Lesson) -> bytes:
    """The lesson's page, all but its sounds, which `page_with_sounds` puts in: their times are known before."""
    return encode_lesson_page(lesson, sounds=timed_sounds(lesson))


def timed_sounds(lesson: Lesson, first: int = 0) -> list[PageSound]:
    """The sounds of a lesson's ladder with their times, not made yet, numbered from ``first`` on."""
    return [
        _timed(lesson, rung, lay_out(lesson, rung), _stand_in(number))
        for number, rung in enumerate(lesson.ladder, start=first)
    ]


def page_of_pieces_before_sounds(lesson: LessonOfPieces) -> bytes:
    """The page of a lesson of several pieces, all but its sounds: `page_with_sounds` puts them in, piece by piece."""
    timed: list[list[PageSound]] = []
    for piece in lesson.pieces:
        timed.append(timed_sounds(piece.lesson, sum(map(len, timed))))
    return encode_page_of_pieces(lesson, sounds=timed)


def page_with_sounds(page: bytes, sounds: Sequence[bytes]) -> bytes:
    """The page of `page_before_sounds` with the files of its sounds, in the order of the ladder (of all ladders)."""
    places: list[tuple[int, int, bytes]] = []
    for number, sound in enumerate(sounds):
        held = b64encode(_stand_in(number))
        at = page.find(held)
        if at < 0 or page.find(held, at + 1) >= 0:
            raise ValueError(f"the page has no place, or several, for sound {number}")
        places.append((at, at + len(held), sound))
    pieces, begun = [], 0
    for at, until, sound in sorted(places):  # a page is too large to be copied for each
        pieces += [page[begun:at], b64encode(sound)]
        begun = until
    return b"".join([*pieces, page[begun:]])


def sounds_in_page(page: bytes) -> list[bytes]:
    """The files of the sounds in a page, in the order in which they stand there."""
    return [b64decode(found) for found in _IN_PAGE.findall(page)]


def places_of_sounds(page: bytes, count: int) -> list[int]:
    """Which of the sounds that `page_with_sounds` puts into a page stands where in it, in the order there.

    count : of the sounds.
    """
    numbers = {_stand_in(number): number for number in range(count)}
    return [numbers[one] for one in sounds_in_page(page)]


def page_of_pieces(lesson: LessonOfPieces) -> bytes:
    """A lesson of several pieces as one HTML file with its sounds inside, made here and now."""
    return page_with_sounds(page_of_pieces_before_sounds(lesson), [*_sounds(*(one.lesson for one in lesson.pieces))])


def lesson_page(lesson: Lesson) -> bytes:
    """The lesson as one HTML file with its sounds inside, made here and now."""
    return page_with_sounds(page_before_sounds(lesson), [*_sounds(lesson)])


def _sounds(*lessons: Lesson) -> Iterator[bytes]:
    for lesson in lessons:
        for rung in lesson.ladder:
            yield sound_rung(lesson, rung)
