"""Cutting the teacher's own films: what is proposed to stay, and the film of it with the strip in time."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from reedpath.errors import FilmError, ReedpathError
from reedpath.film import (
    FilmCut,
    Footage,
    TakeWishes,
    decode_cut,
    encode_cut,
    film_as_cut,
    film_seconds,
    loudness_in_tenths,
    proposed_cut,
)
from reedpath.jobs.answering import answer_recording
from reedpath.jobs.disk import read_bytes, with_file, write_file
from reedpath.jobs.films import ending_as, reporting_frames, words_of_lesson, write_title_picture, write_words
from reedpath.jobs.folder_plans import refuse_a_file
from reedpath.jobs.folders import Written, writing_into
from reedpath.jobs.hearing import line_up_take
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson
from reedpath.listen import PlayThrough

__all__ = ["CutProposal", "make_cut_film", "propose_cut", "read_cut", "write_cut"]

# bytes of a cut; that of a film of hours has a tenth
MOST_CUT_BYTES = 8_000_000


class CutProposal(Struct, frozen=True):
    """The cut that is proposed of raw footage, and what was found in it.

    plays : the play-throughs of each film. loudness_db : of each film, every tenth of a second.
    """

    cut: FilmCut
    plays: tuple[tuple[PlayThrough, ...], ...]
    loudness_db: tuple[tuple[float, ...], ...]


def propose_cut(lesson: Lesson, films: Sequence[Path], *, progress: Progress = silent) -> CutProposal:
    """Look for the play-throughs of a lesson in films that were taken of it, and say what of them should stay.

    films : shown one after the other.
    """
    footage = []
    for number, path in enumerate(films):
        progress(ProgressStep("listening", number, len(films), share=number / max(1, len(films))))
        answered = answer_recording(path, lesson, broken_off=True)
        plays = [(one.play, one.right_share) for one in answered.answer.plays]
        footage.append(Footage(path.name, film_seconds(path), plays, answered.curve.energy))
    found = tuple(tuple(play for play, _ in one.plays) for one in footage)
    loudness = tuple(loudness_in_tenths(one.loudness_db) for one in footage)
    return CutProposal(proposed_cut(footage, lesson.parts), found, loudness)


def read_cut(path: Path) -> FilmCut:
    """The cut in a file; ReedpathError, naming the file, for one that cannot be."""
    try:
        return decode_cut(read_bytes(path, most_bytes=MOST_CUT_BYTES))
    except ReedpathError as error:
        raise error if error.where.file else with_file(path, error) from None


def write_cut(cut: FilmCut, out: Path, *, replace: bool = False) -> None:
    """Write a cut into a file, to be corrected by hand; SettingsError where one is, unless ``replace``."""
    refuse_a_file(out, replace=replace)
    write_file(out, encode_cut(cut))


def make_cut_film(
    lesson: Lesson,
    films: Sequence[Path],
    wishes: TakeWishes,
    out: Path,
    *,
    cut: FilmCut | None = None,
    plays: Sequence[Sequence[PlayThrough]] | None = None,
    replace: bool = False,
    progress: Progress = silent,
) -> Written:
    """
    Cut the teacher's films, lay the strip over or beside what stays, and write what is published with it beside it.

    Parameters
    ----------
    films : those that the cut is of, in its order.
    out : the file of the new film, ending in ".mp4".
    cut : what stays; what is proposed where nothing is said. It is written beside the film, as "NAME.cut.json".
    plays : the play-throughs of each film, where they were found before.
    replace : whether files may be written over in a folder that is not a lesson's.
    """
    try:
        ending_as(out, "mp4")
        progress(ProgressStep("listening", 0, 1))
        if cut is None:
            proposed = propose_cut(lesson, films, progress=progress)
            cut, plays = proposed.cut, proposed.plays
        elif plays is None:
            plays = [line_up_take(film, lesson, broken_off=True).play_throughs for film in films]
        with writing_into(out.parent, command="film", replace=replace) as writing:
            made = writing.files / out.name
            timeline = film_as_cut(films, cut, lesson, plays, made, wishes, progress=reporting_frames(progress))
            (writing.files / f"{out.stem}.cut.json").write_bytes(encode_cut(cut))
            write_words(lesson, words_of_lesson(lesson, timeline), made)
            write_title_picture(
                lesson, made.with_suffix(".png"), language=wishes.language, screen=wishes.frame,
                palette=wishes.palette,
            )  # fmt: skip
    except FilmError as error:
        raise error if error.where.file else with_file(films[0], error) from None
    return writing.written
