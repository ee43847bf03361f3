"""Cutting the teacher's own films: what is proposed to stay, and the film of it with the strip in time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from reedpath.errors import FilmError, Place, ReedpathError
from reedpath.film import (
    CutOrder,
    FilmCut,
    Footage,
    TakeWishes,
    decode_cut,
    encode_cut,
    encode_timeline,
    film_as_cut,
    footage_facts,
    loudness_in_tenths,
    picture_rates,
    proposed_cut,
)
from reedpath.jobs.disk import read_bytes, with_file, write_file
from reedpath.jobs.films import ending_as, reporting_frames, words_of_lesson, write_title_picture, write_words
from reedpath.jobs.folder_plans import refuse_a_file
from reedpath.jobs.folders import Written, writing_into
from reedpath.jobs.footage_hearing import hear_films
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson
from reedpath.listen import HarpHeard, PlayThrough

# bytes of a cut; that of a film of hours has a tenth
MOST_CUT_BYTES = 8_000_000


class CutProposal(Struct, frozen=True):
    """The cut that is proposed of raw footage, and what was found in it.

    plays : the play-throughs of each film. loudness_db : of each film, every tenth of a second.
    harps_heard : those that are played and are not the lesson's, each once, the one of most play-throughs first.
    """

    cut: FilmCut
    plays: tuple[tuple[PlayThrough, ...], ...]
    loudness_db: tuple[tuple[float, ...], ...]
    harps_heard: tuple[HarpHeard, ...] = ()


def _harps_heard(footage: Sequence[Footage]) -> tuple[HarpHeard, ...]:
    heard = [play.harp_heard for one in footage for play in one.plays if play.harp_heard is not None]
    count = Counter(one.name for one in heard)
    first = {one.name: one for one in reversed(heard)}
    return tuple(first[name] for name, _ in count.most_common())


def propose_cut(
    lesson: Lesson, films: Sequence[Path], *, order: CutOrder = CutOrder.FILMED, progress: Progress = silent
) -> CutProposal:
    """Look for the play-throughs of a lesson in films that were taken of it, and say what of them should stay.

    films : shown one after the other; those that were taken together, by several cameras, are found by their sound.
    order : in which what stays is shown; as taught, a FilmError tells that nothing of the lesson is played.

    Raises `FilmError` also for a film that is given twice.
    """
    resolved = [film.resolve() for film in films]
    for place, film in enumerate(films):
        if resolved[place] in resolved[:place]:
            raise FilmError("film.same_twice", name=film.name)
    heard = hear_films(lesson, films, progress=progress)
    if order is CutOrder.TAUGHT and not any(each.plays for each in heard.footage):
        raise FilmError("film.no_play_through", where=Place(file=str(films[0])))
    found = tuple(tuple(one.play for one in each.plays) for each in heard.footage)
    loudness = tuple(loudness_in_tenths(each.course.level_db) for each in heard.footage)
    cut = proposed_cut(heard.footage, lesson, order=order, clocks=heard.clocks)
    return CutProposal(cut, found, loudness, _harps_heard(heard.footage))


def read_cut(path: Path) -> FilmCut:
    """The cut in a file; ReedpathError, naming the file, for one that cannot be."""
    try:
        return decode_cut(read_bytes(path, most_bytes=MOST_CUT_BYTES))
    except ReedpathError as error:
        raise error if error.where.file else with_file(path, error) from None


def _says(path: Path, cut: FilmCut) -> bool:
    """Whether a file holds a cut."""
    try:
        return path.is_file() and read_cut(path) == cut
    except ReedpathError:
        return False


def write_cut(cut: FilmCut, out: Path, *, replace: bool = False) -> None:
    """Write a cut into a file, to be corrected by hand; SettingsError where one is, unless ``replace``."""
    refuse_a_file(out, replace=replace)
    write_file(out, encode_cut(cut))


def cut_beside(out: Path) -> Path:
    """The list of a film's cut, as it stands beside the film."""
    return out.with_name(f"{out.stem}.cut.json")


def timeline_beside(out: Path) -> Path:
    """The OpenTimelineIO file of a film's cut, as it stands beside the film."""
    return out.with_suffix(".otio")


def refuse_proposal(out: Path, *, replace: bool) -> None:
    """A SettingsError where the list of a film's cut is there already, for it may have been corrected by hand."""
    for path in (cut_beside(out), timeline_beside(out)):
        refuse_a_file(path, replace=replace)


def write_proposal(
    cut: FilmCut, films: Sequence[Path], out: Path, *, title: str, replace: bool = False
) -> tuple[str, ...]:
    """Write a cut's list beside the film that is to be made, and, where its library is installed, an OpenTimelineIO
    file for programs that edit films. Names of the files.

    SettingsError where they are there already, unless ``replace``.
    """
    refuse_proposal(out, replace=replace)
    write_cut(cut, cut_beside(out), replace=replace)
    timeline = _timeline_of(cut, films, title)
    if timeline is None:
        return (cut_beside(out).name,)
    write_file(timeline_beside(out), timeline)
    return (cut_beside(out).name, timeline_beside(out).name)


def _timeline_of(cut: FilmCut, films: Sequence[Path], title: str) -> bytes | None:
    """The OpenTimelineIO file of a cut; None where its library is not installed."""
    try:
        facts = [footage_facts(film) for film in films]
        filmed = [one.has_pictures for one in facts]
        return encode_timeline(cut, films, picture_rates(facts), title=title, filmed=filmed)
    except FilmError as error:
        if error.key != "film.no_timeline_library":
            raise
        return None


def timeline_as_list(cut: FilmCut, films: Sequence[Path], out: Path, *, title: str) -> bool:
    """Let the OpenTimelineIO file beside a film say what the list of its cut says, and whether it does.

    Where there is none it is written; one that says something else may be the person's own by now, and is left alone.
    """
    path, timeline = timeline_beside(out), _timeline_of(cut, films, title)
    if timeline is not None and not path.exists():
        write_file(path, timeline)
    return timeline is None or path.read_bytes() == timeline


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
            plays = propose_cut(lesson, films, progress=progress).plays
        with writing_into(out.parent, command="film", replace=replace) as writing:
            made = writing.files / out.name
            timeline = film_as_cut(films, cut, lesson, plays, made, wishes, progress=reporting_frames(progress))
            # a list that says this already is hers, and left alone
            if not _says(cut_beside(out), cut):
                cut_beside(made).write_bytes(encode_cut(cut))
            write_words(lesson, words_of_lesson(lesson, timeline), made)
            write_title_picture(
                lesson, made.with_suffix(".png"), language=wishes.language, screen=wishes.frame,
                palette=wishes.palette,
            )  # fmt: skip
    except FilmError as error:
        raise error if error.where.file else with_file(films[0], error) from None
    return writing.written
