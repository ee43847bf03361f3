"""Making the lesson page: the phrase sounded at each tempo, made small, and put into one HTML file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson, Rung
from reedpath.page import CountInBeat, PageSound, encode_lesson_page
from reedpath.phrase import bars, timing_of
from reedpath.signal import Samples, encode_steady
from reedpath.sound import PlayAlongLayout, lay_out, play_along

__all__ = ["lesson_page", "page_sound"]

# what every browser plays, those of telephones included (MPEG-1 layer III); "audio/mpeg" by RFC 3003
MEDIA_TYPE = "audio/mpeg"
# thousand bits a second; enough for one instrument on one channel
KBPS = 64


def _counts(layout: PlayAlongLayout) -> Iterator[CountInBeat]:
    """The clicks before the phrase, counted from 1 in each bar."""
    number = 0
    for click in layout.clicks:
        if click.seconds < layout.zero_seconds:
            number = 1 if click.first else number + 1
            yield CountInBeat(click.seconds, number)


def _bar_end_seconds(lesson: Lesson, rung: Rung, layout: PlayAlongLayout) -> float:
    """Where the phrase's last bar ends, in the sound."""
    phrase = lesson.route.phrase
    measures = bars(phrase)
    end = measures[-1].end if measures else phrase.end
    return layout.zero_seconds + timing_of(phrase).scaled(rung.factor).seconds_at(end)


def page_sound(lesson: Lesson, rung: Rung, samples: Samples | None = None) -> PageSound:
    """A rung of the lesson's ladder for its page.

    samples : what `play_along` gives for the rung with no options, where it was sounded before.
    """
    layout = lay_out(lesson, rung)
    bar_end = _bar_end_seconds(lesson, rung, layout)
    sound = (samples or play_along(lesson, rung)).mono()
    # a loop of the last part goes back when its bar is over, so the sound lasts so long
    sound = sound.padded(after_seconds=max(0.0, bar_end - sound.duration_seconds))
    spans = layout.plan.spans
    return PageSound(
        rung=rung,
        media_type=MEDIA_TYPE,
        data=encode_steady(sound, kbps=KBPS),
        starts=tuple(layout.zero_seconds + span.start_seconds for span in spans),
        ends=tuple(layout.zero_seconds + span.end_seconds for span in spans),
        bar_end_seconds=bar_end,
        counts=tuple(_counts(layout)),
    )


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
