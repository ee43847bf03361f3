"""Making the lesson page: the phrase sounded at each tempo, made small, and put into one HTML file."""

from __future__ import annotations

import re
from base64 import b64decode, b64encode
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from typing import NamedTuple

from reedpath.jobs.processes import ShareReport
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson, LessonOfPieces, Rung
from reedpath.page import CountInBeat, PageSound, encode_lesson_page, encode_page_of_pieces
from reedpath.phrase import bars, timing_of
from reedpath.signal import BytesPut, Samples, jumped_in_file, silence, wav_file
from reedpath.sound import SOUND_RATE, PlayAlongLayout, in_one_channel, lay_out, play_along_seconds, sound_blocks

__all__ = [
    "bar_end_seconds",
    "lesson_page",
    "page_before_sounds",
    "page_coding",
    "page_of_pieces",
    "page_of_pieces_before_sounds",
    "page_sound",
    "page_with_sounds",
    "places_of_sounds",
    "sound_rung",
    "sounds_in_page",
]

# what every browser plays, those of telephones included (MPEG layer III); "audio/mpeg" by RFC 3003
MEDIA_TYPE = "audio/mpeg"


class PageCoding(NamedTuple):
    """How the sounds of a page are made small: hertz, thousand bits a second."""

    rate: int
    kbps: int


# enough for one instrument on one channel: all that the voice has, up to 14,000 Hz
CODING = PageCoding(44_100, 64)
# of a page that would be too large for e-mail: what is coded has no more noise, what lies over 11,000 Hz, 27 dB under
# the rest, is left out (docs/lesson-page.md)
LONG_CODING = PageCoding(24_000, 48)
# seconds of sound from which on it is: they are 12 MB, 16 as text in the page, 22 as the text of a letter that holds
# it (RFC 4648, section 4), and services for mail take 20 to 25 (common practice, no source)
LONG_SECONDS = 25 * 60.0
# a sound in a page, in base64 (RFC 4648, section 4); in words of the page such quotes are written otherwise
_IN_PAGE = re.compile(rb'src="data:' + re.escape(MEDIA_TYPE.encode()) + rb';base64,([A-Za-z0-9+/=]+)"')


def _counts(layout: PlayAlongLayout) -> Iterator[CountInBeat]:
    """The clicks before the phrase, counted from 1 in each bar."""
    number = 0
    for click in layout.clicks:
        if click.seconds < layout.zero_seconds:
            number = 1 if click.first else number + 1
            yield CountInBeat(click.seconds, number)


def bar_end_seconds(lesson: Lesson, rung: Rung, layout: PlayAlongLayout) -> float:
    """Where the phrase's last bar ends, in the sound."""
    phrase = lesson.route.phrase
    measures = bars(phrase)
    end = measures[-1].end if measures else phrase.end
    return layout.zero_seconds + timing_of(phrase).scaled(rung.factor).seconds_at(end)


def page_coding(lesson: Lesson) -> PageCoding:
    """How the sounds of a lesson's ladder are made small: by how long they are together."""
    seconds = sum(play_along_seconds(lesson, rung) for rung in lesson.ladder)
    return CODING if seconds < LONG_SECONDS else LONG_CODING


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
        counts=tuple(_counts(layout)),
    )


def page_sound(
    lesson: Lesson,
    rung: Rung,
    samples: Samples | None = None,
    *,
    wav: BytesPut | None = None,
    report: ShareReport = lambda share: None,
) -> PageSound:
    """A rung of the lesson's ladder for its page, sounded block by block, so that memory does not grow with it.

    Parameters
    ----------
    samples : what `play_along` gives for the rung with no options, where it was sounded before.
    wav : takes the bytes of the same sound as a WAV file of 16 bits, in stereo.
    report : told the share that is done.
    """
    layout = lay_out(lesson, rung)
    bar_end = bar_end_seconds(lesson, rung, layout)
    blocks = sound_blocks(layout) if samples is None else iter([samples])
    pieces: list[bytes] = []
    seconds = 0.0
    with ExitStack() as files:
        coding = page_coding(lesson)
        small = files.enter_context(
            jumped_in_file(pieces.append, rate_in=SOUND_RATE, rate=coding.rate, kbps=coding.kbps)
        )
        large = None
        if wav is not None:
            frames = round(layout.seconds * SOUND_RATE) if samples is None else samples.frames
            large = files.enter_context(wav_file(wav, rate=SOUND_RATE, channels=2, frames=frames))
        for block in blocks:
            small(in_one_channel(block))
            if large is not None:
                large(block)
            seconds += block.duration_seconds
            report(seconds / layout.seconds)
        # a loop of the last part goes back when its bar is over, so the sound lasts so long
        small(silence(max(0.0, bar_end - seconds), rate=SOUND_RATE))
    return _timed(lesson, rung, layout, b"".join(pieces))


def sound_rung(lesson: Lesson, rung: Rung, *, put: BytesPut, report: ShareReport) -> bytes:
    """A part of a lesson's making: the play-along of a rung as a WAV file; its small file for the page comes back.

    What the two depend on stands in one place, `kept_sounds.sound_key`.
    """
    return page_sound(lesson, rung, wav=put, report=report).data


def _stand_in(number: int) -> bytes:
    """What stands in a page for a sound that is not made yet: in base64 text that is nowhere else, whole threes."""
    return f"sound {number:03} of a lesson page, not made yet".encode().ljust(48, b".")


def page_before_sounds(lesson: Lesson) -> bytes:
    """The lesson's page, all but its sounds, which `page_with_sounds` puts in: their times are known before."""
    return lesson_page(lesson, sounds=_stand_ins(lesson, 0))


def _stand_ins(lesson: Lesson, first: int) -> list[PageSound]:
    """The sounds of a lesson's ladder with their times, not made yet, numbered from ``first`` on."""
    return [
        _timed(lesson, rung, lay_out(lesson, rung), _stand_in(number))
        for number, rung in enumerate(lesson.ladder, start=first)
    ]


def page_of_pieces_before_sounds(lesson: LessonOfPieces) -> bytes:
    """The page of a lesson of several pieces, all but its sounds: `page_with_sounds` puts them in, piece by piece."""
    timed: list[list[PageSound]] = []
    for piece in lesson.pieces:
        timed.append(_stand_ins(piece.lesson, sum(map(len, timed))))
    return encode_page_of_pieces(lesson, sounds=timed)


def page_with_sounds(page: bytes, sounds: Sequence[bytes]) -> bytes:
    """The page of `page_before_sounds` with the files of its sounds, in the order of the ladder (of all ladders)."""
    for number, sound in enumerate(sounds):
        before, between, after = page.partition(b64encode(_stand_in(number)))
        if not between or b64encode(_stand_in(number)) in after:
            raise ValueError(f"the page has no place, or several, for sound {number}")
        page = before + b64encode(sound) + after
    return page


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
    sounds = [[page_sound(piece.lesson, rung) for rung in piece.lesson.ladder] for piece in lesson.pieces]
    return encode_page_of_pieces(lesson, sounds=sounds)


def lesson_page(lesson: Lesson, *, sounds: Sequence[PageSound] | None = None, progress: Progress = silent) -> bytes:
    """The lesson as one HTML file with its sounds inside, for students to open in a browser.

    sounds : those of the ladder's rungs, where they were made before; else they are made here.
    """
    made: list[PageSound] = list(sounds or ())
    if sounds is None:
        for done, rung in enumerate(lesson.ladder):
            progress(ProgressStep("sound", done, len(lesson.ladder) + 1, f"{rung.bpm:g}"))
            made.append(page_sound(lesson, rung))
    return encode_lesson_page(lesson, sounds=made)
