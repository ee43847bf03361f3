"""Films: of a lesson alone, or the teacher's own with the strip in time, and what is published with them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from reedpath.errors import FilmError, Place
from reedpath.film import (
    Cue,
    FilmProgress,
    FilmWishes,
    TakeWishes,
    Timeline,
    caption_cues,
    chapter_cues,
    encode_pieces_title_picture,
    encode_title_picture,
    film_lesson,
    film_overlay,
    film_pieces,
    film_takes,
    film_text,
    format_srt,
    format_webvtt,
    overlay_format,
    pieces_caption_cues,
    pieces_chapter_cues,
    pieces_film_text,
    takes_format,
)
from reedpath.jobs.disk import with_file
from reedpath.jobs.folders import Written, writing_into
from reedpath.jobs.kept_wishes import kept_wishes
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson, LessonOfPieces, Taught, single_lesson
from reedpath.wording import Catalogue, load_catalogue

# endings of the kinds of film
_ENDINGS = {"mp4": ".mp4", "mov": ".mov", "matroska": ".mkv", "webm": ".webm"}
# frames from one report of progress to the next
REPORTED_FRAMES = 15


def ending_as(out: Path, format: str) -> None:
    """A FilmError for a file whose ending is not that of a kind of film."""
    wanted = _ENDINGS[format]
    if out.suffix.lower() != wanted:
        raise FilmError("film.ending", where=Place(file=str(out)), ending=wanted, name=f"{out.stem}{wanted}")


def reporting_frames(progress: Progress) -> FilmProgress:
    """Progress in frames as progress of a job."""

    def report(done: int, total: int) -> None:
        if done % REPORTED_FRAMES == 0 or done == total:
            progress(ProgressStep("film", done, total))

    return report


class _FilmWords(NamedTuple):
    """What a film says in a language: captions, chapters, the text to publish."""

    captions: tuple[Cue, ...]
    chapters: tuple[Cue, ...]
    text: str


def write_words(taught: Taught, say: Callable[[Catalogue], _FilmWords], film: Path) -> None:
    """Captions, chapters and the text to publish in every language of the lesson, beside the film."""
    for language in taught.languages:
        words = load_catalogue(language)
        said = say(words)
        files = {
            f"{film.stem}.{language}.vtt": format_webvtt(said.captions, title=taught.title, language=words.title),
            f"{film.stem}.{language}.srt": format_srt(said.captions),
            f"{film.stem}.{language}.chapters.vtt": format_webvtt(
                said.chapters, title=taught.title, language=words.title
            ),
            f"{film.stem}.{language}.txt": said.text,
        }
        for name, text in files.items():
            (film.parent / name).write_text(text, encoding="utf-8", newline="\n")


def words_of_lesson(lesson: Lesson, timeline: Timeline) -> Callable[[Catalogue], _FilmWords]:
    """What the film of a lesson of one phrase says, by language."""
    return lambda words: _FilmWords(
        caption_cues(lesson, timeline, words),
        chapter_cues(lesson, timeline, words),
        film_text(lesson, timeline, words),
    )


def _film_pieces(lesson: LessonOfPieces, wishes: FilmWishes, film: Path, progress: Progress) -> None:
    """The film of several pieces with its words and its title picture beside it."""
    timeline = film_pieces(lesson, film, wishes, progress=reporting_frames(progress))

    def say(words: Catalogue) -> _FilmWords:
        return _FilmWords(
            pieces_caption_cues(lesson, timeline, words),
            pieces_chapter_cues(lesson, timeline, words),
            pieces_film_text(lesson, timeline, words),
        )

    write_words(lesson, say, film)
    words = load_catalogue(wishes.language or lesson.languages[0])
    picture = encode_pieces_title_picture(lesson, words, screen=wishes.screen, palette=wishes.palette)
    film.with_suffix(".png").write_bytes(picture)


def _film_one(lesson: Lesson, wishes: FilmWishes, film: Path, progress: Progress) -> None:
    """The film of a lesson with its words and its title picture beside it."""
    timeline = film_lesson(lesson, film, wishes, progress=reporting_frames(progress))
    write_words(lesson, words_of_lesson(lesson, timeline), film)
    write_title_picture(
        lesson, film.with_suffix(".png"), language=wishes.language, screen=wishes.screen, palette=wishes.palette
    )


def write_title_picture(lesson: Lesson, path: Path, *, language: str, screen: str, palette: str) -> None:
    """The title picture, in the film's look and language."""
    words = load_catalogue(language or lesson.languages[0])
    path.write_bytes(encode_title_picture(lesson, words, screen=screen, palette=palette))


def make_film(
    lesson: Taught, wishes: FilmWishes, out: Path, *, replace: bool = False,
    progress: Progress = silent,
) -> Written:  # fmt: skip
    """
    Make the film of a lesson, of one phrase or of several pieces, with all that is published with it beside it; all
    appear together or none.

    Beside it stand captions, chapters and a text in each language of the lesson, and a title picture.

    out : the film's file, ending in ".mp4"; the others stand beside it.
    replace : whether files may be written over in a folder that is not a lesson's.
    """
    ending_as(out, "mp4")
    progress(ProgressStep("film", 0, 1))
    with writing_into(out.parent, command="film", replace=replace, wishes=kept_wishes(wishes)) as writing:
        film = writing.files / out.name
        one = lesson if isinstance(lesson, Lesson) else single_lesson(lesson)
        if one is not None:
            _film_one(one, wishes, film, progress)
        elif isinstance(lesson, LessonOfPieces):
            _film_pieces(lesson, wishes, film, progress)
    return writing.written


def make_take_film(
    lesson: Lesson,
    film: Path,
    wishes: TakeWishes,
    out: Path,
    *,
    overlay: str | None = None,
    replace: bool = False,
    progress: Progress = silent,
) -> Written:
    """
    Lay the strip over or beside the teacher's own film; what is published with it stands beside it (see `make_film`).

    film : the teacher's film, in which the play-throughs are found by their sound.
    out : the file of the new film; its kind is that of `takes_format`.
    overlay : a kind of transparent film (`overlay_kinds`) to be made as well, as "NAME.strip.mov" or ".webm".
    replace : whether files may be written over in a folder that is not a lesson's.
    """
    from reedpath.jobs.hearing import line_up_take  # a film of a lesson alone enters no room that hears

    try:
        ending_as(out, takes_format(film))
        strip = None if overlay is None else f"{out.stem}.strip{_ENDINGS[overlay_format(overlay)]}"
        progress(ProgressStep("listening", 0, 1))
        plays = line_up_take(film, lesson).play_throughs
        report = reporting_frames(progress)
        with writing_into(out.parent, command="film", replace=replace) as writing:
            timeline = film_takes(film, lesson, plays, writing.files / out.name, wishes, progress=report)
            if strip is not None and overlay is not None:
                film_overlay(film, lesson, plays, writing.files / strip, wishes, kind=overlay, progress=report)
            write_words(lesson, words_of_lesson(lesson, timeline), writing.files / out.name)
            write_title_picture(
                lesson, writing.files / f"{out.stem}.png", language=wishes.language, screen=wishes.frame,
                palette=wishes.palette,
            )  # fmt: skip
    except FilmError as error:
        raise error if str(out) in error.where.file else with_file(film, error) from None
    return writing.written
