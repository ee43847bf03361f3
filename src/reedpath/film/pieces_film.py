"""Making the film of a lesson of several pieces: one file, drawn stretch by stretch, encoded in one go."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from reedpath.film.encode import FilmProgress, encode_film
from reedpath.film.frames import FramePainter
from reedpath.film.lesson_film import RATE, FilmWishes, check_frame_rate, film_lesson, frames_of, shape_of, sound_of
from reedpath.film.pieces_timeline import FilmCard, FilmStretch, PiecesTimeline, lay_out_pieces
from reedpath.film.pieces_words import card_picture, pieces_chapter_cues, shown_lesson
from reedpath.film.planes import Bytes, Frame, planes_of
from reedpath.film.screens import Screen, load_screen
from reedpath.lesson import LessonOfPieces, single_lesson
from reedpath.page import load_palette
from reedpath.signal import Samples, silence
from reedpath.sound import Turns
from reedpath.wording import Catalogue, load_catalogue


class PiecesPainter:
    """Draws the frames of a film of several pieces, fastest forwards; only what is on the screen is held in memory.

    lesson, timeline : what is filmed.
    screen : what stands where.
    words : the language of headings, cards and captions.
    palette : "night", "paper" or "ink".
    frames_per_second : at which the ribbon glides by whole pixels.
    """

    def __init__(
        self,
        lesson: LessonOfPieces,
        timeline: PiecesTimeline,
        screen: Screen,
        words: Catalogue,
        *,
        palette: str = "night",
        frames_per_second: int = 30,
    ) -> None:
        self.timeline = timeline
        self._lesson, self._screen, self._words = lesson, screen, words
        self._palette, self._rate = palette, frames_per_second
        self._card = Frame(screen.width, screen.height)
        self._shown: FilmCard | FilmStretch | None = None
        self._painter: FramePainter | None = None

    def draw(self, seconds: float) -> Bytes:
        """The frame of a moment as `Frame.array`; it may be drawn over by the next call."""
        stretch = self.timeline.at(seconds)
        if stretch is not self._shown:
            self._shown, self._painter = stretch, None
            if isinstance(stretch, FilmCard):
                self._draw_card(stretch)
            else:
                self._painter = self._painter_of(stretch)
        return self._card.array if self._painter is None else self._painter.draw(seconds)

    def _draw_card(self, card: FilmCard) -> None:
        picture = card_picture(self._lesson, card, self._screen, load_palette(self._palette), self._words)
        self._card.put(planes_of(picture), 0, 0)

    def _painter_of(self, stretch: FilmStretch) -> FramePainter:
        return FramePainter(
            shown_lesson(self._lesson, stretch, self._words),
            stretch.timeline,
            self._screen,
            self._words,
            palette=self._palette,
            frames_per_second=self._rate,
        )


def _sound(timeline: PiecesTimeline, *, mute_voice: bool) -> Iterator[Samples]:
    """The sound of the whole in blocks; cards are silent."""
    heard = 0
    for stretch in timeline.stretches:
        if isinstance(stretch, FilmCard):
            # up to where the card ends, so that what scenes were rounded by is made up for
            blocks: Iterator[Samples] = iter([silence(stretch.end_seconds - heard / RATE, rate=RATE)])
        else:
            blocks = sound_of(stretch.timeline, mute_voice=mute_voice)
        for block in blocks:
            heard += block.frames
            yield block


def film_pieces(
    lesson: LessonOfPieces, path: Path, wishes: FilmWishes | None = None, *, progress: FilmProgress | None = None
) -> PiecesTimeline:
    """
    Write the film of a lesson of several pieces as an MP4 file, and give its timeline, which captions are made from.

    Whatever goes wrong, interruption included, leaves no file. Memory does not grow with the film's length. A lesson
    of one piece alone is filmed as that piece's lesson.

    path : of the file, which is written over.
    wishes : as for `film_lesson`; a tempo that some pieces have not is left out there.
    progress : called with the frames done and the frames in all.

    Raises `FilmError` for nothing to film, wishes that cannot be, a file that cannot be written. Raises `SoundError`
    or `SettingsError` for a band that cannot play this, a tempo that no piece has.
    """
    wanted = wishes or FilmWishes()
    only = single_lesson(lesson)
    if only is not None:
        return PiecesTimeline((FilmStretch(film_lesson(only, path, wanted, progress=progress), 0),))
    rate = wanted.frames_per_second
    check_frame_rate(rate)
    words = load_catalogue(wanted.language or lesson.languages[0])
    timeline = lay_out_pieces(lesson, rungs=wanted.rungs, with_steps=wanted.with_steps, play=wanted.play)
    screen = load_screen(wanted.screen)
    painter = PiecesPainter(lesson, timeline, screen, words, palette=wanted.palette, frames_per_second=rate)
    chapters = pieces_chapter_cues(lesson, timeline, words)
    shape = shape_of(painter, screen, wanted, title=lesson.title, language=words.name, chapters=chapters)
    sound = _sound(timeline, mute_voice=wanted.play.turns is Turns.YOURS)
    encode_film(path, shape, frames_of(painter, rate), sound, rate=RATE, progress=progress)
    return timeline
