"""The sounds of a lesson's ladder as files: a WAV file of each rung, and a small one of it for the lesson's page.

They are made in processes of their own, which enter no room of pages: the page itself is made in `lesson_pages`.
"""

from __future__ import annotations

from contextlib import ExitStack
from typing import NamedTuple

from reedpath.jobs.processes import ShareReport
from reedpath.lesson import Lesson, Rung
from reedpath.phrase import bars, timing_of
from reedpath.signal import BytesPut, jumped_in_file, silence, wav_file
from reedpath.sound import SOUND_RATE, PlayAlongLayout, in_one_channel, lay_out, play_along_seconds, sound_blocks


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


def sound_rung(
    lesson: Lesson, rung: Rung, *, put: BytesPut = lambda _: None, report: ShareReport = lambda _: None
) -> bytes:
    """A part of a lesson's making: the play-along of a rung as a WAV file; its small file for the page comes back.

    It is sounded block by block, so that memory does not grow with it. What the two files depend on stands in one
    place, `kept_sounds.sound_key`.

    put : takes the bytes of the WAV file, of 16 bits, in stereo.
    report : told the share that is done.
    """
    layout = lay_out(lesson, rung)
    bar_end = bar_end_seconds(lesson, rung, layout)
    pieces: list[bytes] = []
    seconds = 0.0
    with ExitStack() as files:
        coding = page_coding(lesson)
        small = files.enter_context(
            jumped_in_file(pieces.append, rate_in=SOUND_RATE, rate=coding.rate, kbps=coding.kbps)
        )
        frames = round(layout.seconds * SOUND_RATE)
        large = files.enter_context(wav_file(put, rate=SOUND_RATE, channels=2, frames=frames))
        for block in sound_blocks(layout):
            small(in_one_channel(block))
            large(block)
            seconds += block.duration_seconds
            report(seconds / layout.seconds)
        # a loop of the last part goes back when its bar is over, so the sound lasts so long
        small(silence(max(0.0, bar_end - seconds), rate=SOUND_RATE))
    return b"".join(pieces)
