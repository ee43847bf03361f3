"""Making things from the terminal: lessons, sounds to practise with, films; and saying which files were made."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reedpath.cli.printing import (
    catalogue_for,
    print_data,
    print_left_out,
    print_line,
    print_written,
    progress_display,
    written_as_data,
)
from reedpath.data import as_plain
from reedpath.errors import SettingsError
from reedpath.harp import format_move
from reedpath.wording import harp_words, position_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from reedpath.film import FilmWishes, TakeWishes
    from reedpath.harp import Move
    from reedpath.jobs import (
        AskedPiece,
        LessonWishes,
        MadeLesson,
        PractiseWishes,
        ReadPhrase,
        Revised,
        RouteRequest,
        SaidOfLesson,
        WholeWishes,
        Written,
    )
    from reedpath.jobs.revising import RevisedPiece
    from reedpath.lesson import Lesson, LessonOfPieces, OwnWords
    from reedpath.wording import Catalogue


def _tell_written(folder: Path, written: Written, language: str | None, *, json: bool) -> None:
    if json:
        print_data(written_as_data(folder, written))
    else:
        print_written(folder, written, catalogue_for(language))


def _tell_lesson(made: MadeLesson[Lesson], out: Path, catalogue: Catalogue) -> None:
    route = made.lesson.route
    place = "" if route.position is None else ", " + position_words(route.position, catalogue)
    harp = harp_words(route.harp, catalogue)
    print_line(catalogue.say("route.title", title=made.lesson.title, harp=harp) + place)
    print_written(out, made.written, catalogue)
    print_left_out(route.phrase.left_out, catalogue)


def make_from(
    read: ReadPhrase, request: RouteRequest, wishes: LessonWishes, out: Path, *, replace: bool, json: bool,
    language: str | None = None,
) -> None:  # fmt: skip
    """Make a lesson from a phrase that was read; what is told of it is in the language given, else the system's."""
    from reedpath.jobs import make_lesson_folder

    catalogue = catalogue_for(language)
    with progress_display(catalogue) as progress:
        made = make_lesson_folder(read, request, wishes, out, replace=replace, progress=progress)
    if json:
        route = made.lesson.route
        left_out = as_plain(route.phrase.left_out)
        print_data(
            written_as_data(out, made.written)
            | {"harp": route.harp.name, "position": route.position, "left_out": left_out}
        )
    else:
        _tell_lesson(made, out, catalogue)


def _piece_lines(made: MadeLesson[LessonOfPieces], catalogue: Catalogue) -> Iterator[str]:
    """Title, and each piece with its harp."""
    from reedpath.lesson import piece_heading

    lesson = made.lesson
    yield lesson.title
    for index, piece in enumerate(lesson.pieces):
        route = piece.lesson.route
        place = "" if route.position is None else ", " + position_words(route.position, catalogue)
        heading = piece_heading(lesson, index, catalogue)
        yield "  " + catalogue.say("route.title", title=heading, harp=harp_words(route.harp, catalogue)) + place


def _pieces_as_data(made: MadeLesson[LessonOfPieces]) -> list[dict[str, object]]:
    return [
        {
            "folder": piece.folder,
            "title": piece.lesson.title,
            "harp": piece.harp.name,
            "position": piece.lesson.route.position,
            "level": piece.level,
            "variant_of": piece.variant_of,
            "variant": piece.variant,
            "left_out": as_plain(piece.lesson.route.phrase.left_out),
        }
        for piece in made.lesson.pieces
    ]


def make_from_several(
    pieces: Sequence[AskedPiece], wishes: WholeWishes, out: Path, *, replace: bool, json: bool,
    language: str | None = None,
) -> None:  # fmt: skip
    """Make a lesson of several pieces; what is told of it is in the language given, else the system's."""
    from reedpath.jobs import make_lesson_of_pieces_folder
    from reedpath.lesson import piece_heading

    catalogue = catalogue_for(language)
    with progress_display(catalogue) as progress:
        made = make_lesson_of_pieces_folder(pieces, wishes, out, replace=replace, progress=progress)
    if json:
        print_data(written_as_data(out, made.written) | {"title": made.lesson.title, "pieces": _pieces_as_data(made)})
        return
    for line in _piece_lines(made, catalogue):
        print_line(line)
    print_written(out, made.written, catalogue)
    for index, piece in enumerate(made.lesson.pieces):
        left_out = piece.lesson.route.phrase.left_out
        if left_out:
            print_line()
            print_line(piece_heading(made.lesson, index, catalogue))
            print_left_out(left_out, catalogue)


def _changed_lines(moves: Mapping[int, Move], new: int, notation: str, catalogue: Catalogue) -> Iterator[str]:
    """What was changed by hand in the tab and the steps."""
    for index, move in sorted(moves.items()):
        yield catalogue.say("revise.move", number=index + 1, move=format_move(move, notation))
    if new:
        yield catalogue.say("revise.words", count=new)


def _unfit_lines(unfit: Iterable[OwnWords], catalogue: Catalogue) -> Iterator[str]:
    """Words that no longer fit what is played."""
    for words in unfit:
        where = words.place.first
        said = words.text or catalogue.say("revise.left_unsaid")
        if where is None:
            yield catalogue.say("revise.unfit", text=said, language=words.language)
        else:
            yield catalogue.say("revise.unfit_at", text=said, language=words.language, number=where + 1)


def _other_lines(revised: Revised, catalogue: Catalogue, *, all_again: bool) -> Iterator[str]:
    """What became of what other commands had made of the lesson."""
    if revised.again:
        yield catalogue.say("revise.again", files=catalogue.join(list(revised.again)))
    if revised.older:
        key = "revise.still_older" if all_again else "revise.older"
        yield catalogue.say(key, files=catalogue.join(list(revised.older)))


def _revised_lines(revised: Revised, catalogue: Catalogue) -> Iterator[str]:
    """What became of what was changed by hand: first in the whole of several pieces, then under each one's title."""
    from reedpath.lesson import LessonOfPieces, phrases_taught, piece_heading

    lesson = revised.lesson
    if revised.new_words:
        yield catalogue.say("revise.words", count=len(revised.new_words))
    for words in revised.unfit:
        said = words.text or catalogue.say("revise.left_unsaid")
        yield catalogue.say("revise.unfit", text=said, language=words.language)
    if not revised.new_words and not any(one.moves or one.new_words for one in revised.pieces):
        yield catalogue.say("revise.nothing")
    for index, (phrase, one) in enumerate(zip(phrases_taught(lesson), revised.pieces, strict=True)):
        lines = [*_changed_lines(one.moves, len(one.new_words), phrase.notation, catalogue)]
        lines += _unfit_lines(one.unfit, catalogue)
        if lines and isinstance(lesson, LessonOfPieces):
            yield piece_heading(lesson, index, catalogue)
            lines = [f"  {line}" for line in lines]
        yield from lines


def _changed_as_data(one: RevisedPiece) -> dict[str, object]:
    return {
        "changed_moves": [{"event": index, "move": as_plain(move)} for index, move in sorted(one.moves.items())],
        "new_words": as_plain(one.new_words),
        "no_longer_fits": as_plain(one.unfit),
    }


def _revised_as_data(revised: Revised) -> dict[str, object]:
    """What became of what was changed: of the only phrase, or of each piece and of the words about the whole."""
    from reedpath.lesson import Lesson

    if isinstance(revised.lesson, Lesson):
        return _changed_as_data(revised.pieces[0])
    pieces = zip(revised.lesson.pieces, revised.pieces, strict=True)
    return {
        "pieces": [{"folder": piece.folder} | _changed_as_data(one) for piece, one in pieces],
        "new_words": as_plain(revised.new_words),
        "no_longer_fits": as_plain(revised.unfit),
    }


def revise_folder(folder: Path, said: SaidOfLesson, *, all_again: bool, language: str | None, json: bool) -> None:
    """Make a lesson again from its folder and say what became of what was changed."""
    from reedpath.jobs import revise_lesson

    catalogue = catalogue_for(language)
    with progress_display(catalogue) as progress:
        revised = revise_lesson(folder, said, all_again=all_again, progress=progress)
    if json:
        others = {"made_before": list(revised.older), "made_again": list(revised.again)}
        print_data(written_as_data(folder, revised.written) | _revised_as_data(revised) | others)
        return
    for line in (*_revised_lines(revised, catalogue), *_other_lines(revised, catalogue, all_again=all_again)):
        print_line(line)
    print_written(folder, revised.written, catalogue)


def make_demo(out: Path, *, replace: bool, language: str | None) -> None:
    """Make the demo's lesson."""
    from reedpath.jobs import LessonWishes, RouteRequest, demo_source

    make_from(demo_source(), RouteRequest(), LessonWishes(), out, replace=replace, json=False, language=language)


def slow_down(
    recording: Path, out: Path, share: float, span: tuple[float, float | None], *, broken_off: bool, replace: bool,
    language: str | None,
) -> None:  # fmt: skip
    """Slow a recording, or a part of it."""
    from reedpath.jobs import slow_recording

    with progress_display(catalogue_for(language)) as progress:
        slow_recording(
            recording, share, out, start_seconds=span[0], end_seconds=span[1], broken_off=broken_off,
            replace=replace, progress=progress,
        )  # fmt: skip
    print_line(str(out))


def make_sounds(
    folder: Path, wishes: PractiseWishes, out: Path, *, replace: bool, language: str | None, json: bool
) -> None:
    """Make the sounds of a lesson folder and say which."""
    from reedpath.jobs import make_practice_sounds, make_practice_sounds_of_pieces, read_taught
    from reedpath.lesson import Lesson
    from reedpath.sound import Backing, Turns

    if wishes.play.turns is Turns.CALL and not isinstance(wishes.play, Backing) and not wishes.spots:
        raise SettingsError("cli.call_needs_rounds_or_spots")
    with progress_display(catalogue_for(language)) as progress:
        lesson = read_taught(folder)
        if isinstance(lesson, Lesson):
            written = make_practice_sounds(lesson, wishes, out, replace=replace, progress=progress)
        else:
            written = make_practice_sounds_of_pieces(lesson, wishes, out, replace=replace, progress=progress)
    if not isinstance(wishes.play, Backing):
        _tell_written(out, written, language, json=json)
        return
    from reedpath.cli.form_places import every_proposal_as_data, every_proposal_lines

    if json:
        print_data(written_as_data(out, written) | every_proposal_as_data(lesson, wishes.play))
        return
    catalogue = catalogue_for(language)
    print_written(out, written, catalogue)
    for line in every_proposal_lines(lesson, wishes.play, catalogue):
        print_line(line)


def lesson_wishes(
    heard: PractiseWishes, *, screen: str, palette: str, steps: bool, language: str | None
) -> FilmWishes:
    """How the film of a lesson is to be; it sounds as a play-along does."""
    from reedpath.film import FilmWishes
    from reedpath.sound import Backing, Turns

    if heard.play.turns is Turns.CALL and not isinstance(heard.play, Backing):
        raise SettingsError("cli.call_needs_rounds")
    return FilmWishes(screen, palette, language or "", heard.rungs, steps, play=heard.play)


def film_of_lesson(
    folder: Path, out: Path, wishes: FilmWishes, *, replace: bool, language: str | None, json: bool
) -> None:
    """Make the film of a lesson and say what was made."""
    from reedpath.jobs import make_film, read_taught

    with progress_display(catalogue_for(language)) as progress:
        written = make_film(read_taught(folder), wishes, out, replace=replace, progress=progress)
    _tell_written(out.parent, written, language, json=json)


def take_wishes(heard: PractiseWishes, side: str, *, screen: str, palette: str, language: str | None) -> TakeWishes:
    """How a teacher's own film is to be; a SettingsError where something is asked of its sound, which it keeps."""
    from reedpath.film import TakeWishes
    from reedpath.sound import PlayAlong

    if heard.play != PlayAlong():
        raise SettingsError("cli.film_keeps_its_sound")
    if heard.rungs:
        raise SettingsError("cli.film_keeps_its_tempos")
    return TakeWishes(side, screen, palette, language or "")


def film_of_takes(
    folder: Path, film: Path, wishes: TakeWishes, out: Path, *, strip: str | None, replace: bool,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Lay a lesson's strip over or beside a teacher's film and say what was made."""
    from reedpath.jobs import make_take_film, read_lesson

    with progress_display(catalogue_for(language)) as progress:
        lesson = read_lesson(folder)
        written = make_take_film(lesson, film, wishes, out, overlay=strip, replace=replace, progress=progress)
    _tell_written(out.parent, written, language, json=json)


def film_of_cut(
    folder: Path, film: Path, wishes: TakeWishes, out: Path, *, cut: Path | None, replace: bool,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Cut a teacher's film and lay a lesson's strip over or beside it; say what was made, and what stays.

    cut : file of the cut, corrected by hand; None for the one that is proposed.
    """
    from reedpath.cli.footage import cut_line
    from reedpath.jobs import make_cut_film, read_cut, read_lesson

    catalogue = catalogue_for(language)
    with progress_display(catalogue) as progress:
        lesson = read_lesson(folder)
        said = None if cut is None else read_cut(cut)
        written = make_cut_film(lesson, [film], wishes, out, cut=said, replace=replace, progress=progress)
    _tell_written(out.parent, written, language, json=json)
    if not json:
        print_line(cut_line(read_cut(out.with_name(f"{out.stem}.cut.json")), catalogue))
