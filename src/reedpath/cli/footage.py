"""Raw footage from the terminal: the cut that is proposed of it, and the film that is made by the list of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from reedpath.cli.printing import (
    catalogue_for,
    print_data,
    print_line,
    print_written,
    progress_display,
    written_as_data,
)
from reedpath.errors import SettingsError

if TYPE_CHECKING:
    from reedpath.film import CutPiece, FilmCut, TakeWishes
    from reedpath.jobs import CutProposal
    from reedpath.lesson import Lesson
    from reedpath.wording import Catalogue

# clocks that run apart are told by what comes of it in an hour: those of recorders by 0.4 s at most (`hear.clocks`)
HOUR_SECONDS = 3600.0
# notes of a take that are named; ours
MOST_NOTES = 5
# share of the notes of its parts under which what is played is told to be some of them alone; ours
PARTLY_SHARE = 0.8


def check_footage(raw: Sequence[Path], more: Sequence[Path], *, render: bool, others: bool) -> None:
    """A SettingsError for what does not go together; ``others`` is whether a film is asked for in another way."""
    if more and not raw:
        raise SettingsError("cli.films_without_from")
    if render and not raw:
        raise SettingsError("cli.render_without_from")
    if raw and others:
        raise SettingsError("cli.from_and_over")


def film_from_footage(
    folder: Path, films: Sequence[Path], wishes: TakeWishes, out: Path, *, render: bool, cut_as: Path | None,
    replace: bool, language: str | None, json: bool,
) -> None:  # fmt: skip
    """Propose a cut of raw footage and write its list; or make the film by the list.

    cut_as : the list, which is made a film of; None for the one beside the film, or, where none is, what is proposed.
    """
    from reedpath.jobs import read_lesson

    lesson = read_lesson(folder)
    if render or cut_as is not None:
        _render(lesson, films, wishes, out, cut_as=cut_as, replace=replace, language=language, json=json)
    else:
        _propose(lesson, films, out, replace=replace, language=language, json=json)


def _propose(
    lesson: Lesson, films: Sequence[Path], out: Path, *, replace: bool, language: str | None, json: bool
) -> None:
    from reedpath.data import as_plain
    from reedpath.film import CutOrder
    from reedpath.jobs import cut_beside, heard_beside, keep_heard, propose_cut, refuse_proposal, write_proposal

    catalogue = catalogue_for(language)
    refuse_proposal(out, replace=replace)
    with progress_display(catalogue) as progress:
        found = propose_cut(lesson, films, order=CutOrder.TAUGHT, progress=progress)
    cut = found.cut
    files = write_proposal(cut, films, out, title=lesson.title, replace=replace)
    has_timeline = len(files) > 1
    if keep_heard(out, lesson, films, found.plays):
        files += (heard_beside(out).name,)
    if json:
        print_data({"folder": str(out.parent), "files": list(files), "cut": as_plain(cut)})
        return
    for line in told_of_cut(cut, lesson, catalogue):
        print_line(line)
    for line in told_of_harps(found, lesson, catalogue):
        print_line(line)
    print_line(f"{out.parent}: {', '.join(files)}")
    if not has_timeline:
        print_line(catalogue.say("film_from.no_timeline"))
    if heard_beside(out).name in files:
        print_line(catalogue.say("film_from.heard", name=heard_beside(out).name))
    print_line(catalogue.say("film_from.correct", list=str(cut_beside(out))))


def told_of_cut(cut: FilmCut, lesson: Lesson, catalogue: Catalogue) -> Iterator[str]:
    """What was found and stays, line by line; what is played with when it is seen in the film."""
    from reedpath.film import chapter_lines

    for clock in cut.clocks:
        apart = round(abs(clock.rate - 1.0) * HOUR_SECONDS, 1)
        name, other = cut.films[clock.film], cut.films[clock.other]
        if apart:
            yield catalogue.say("film_from.drifts", name=name, other=other, seconds=catalogue.number(apart))
        else:
            yield catalogue.say("film_from.together", name=name, other=other)
    if cut.clocks:
        heard = sorted({piece.film for piece in cut.pieces if piece.keep})
        yield catalogue.say("film_from.sound", names=catalogue.join([cut.films[film] for film in heard]))
    for name, gain in zip(cut.films, cut.gains_db, strict=False):
        if gain:
            key = "film_from.raised" if gain > 0 else "film_from.lowered"
            yield catalogue.say(key, name=name, decibels=catalogue.number(abs(gain)))
    played = [piece for piece in cut.pieces if piece.first is not None]
    tries = Counter((piece.part, piece.tempo) for piece in played)
    at = 0.0
    for piece in cut.pieces:
        if piece.keep and piece.first is not None:
            told = _told_of_take(piece, tries[piece.part, piece.tempo], lesson, catalogue)
            yield from chapter_lines([(at, told)], cut.seconds)
            yield from _told_of_faults(piece, lesson, catalogue)
            tried, whole = len(_events(piece)), _whole(piece, lesson)
            if tried < PARTLY_SHARE * whole:
                part, tempo = _part(piece, lesson, catalogue), _tempo(piece, catalogue)
                yield catalogue.say("film_from.partly", count=tried, whole=whole, part=part, tempo=tempo)
        at += piece.seconds if piece.keep else 0.0
    kept = {index for piece in played if piece.keep for index in _events(piece)}
    left = [part.label for part in lesson.parts if part.same_as is None and part.last not in kept]
    if left:
        yield catalogue.say("film_from.unplayed", parts=", ".join(dict.fromkeys(left)))
    yield cut_line(cut, catalogue)


def _told_of_take(piece: CutPiece, tries: int, lesson: Lesson, catalogue: Catalogue) -> str:
    """What part a take plays, and that it is the best of so many, or the only one."""
    part, tempo = _part(piece, lesson, catalogue), _tempo(piece, catalogue)
    percent = round(100 * (piece.right or 0.0))
    if tries == 1:
        return catalogue.say("film_from.only", part=part, tempo=tempo, percent=percent)
    return catalogue.say("film_from.best", tries=tries, part=part, tempo=tempo, percent=percent)


def _told_of_faults(piece: CutPiece, lesson: Lesson, catalogue: Catalogue) -> Iterator[str]:
    """Which notes of a take are not right, so that she can hear whether she plays it again."""
    from reedpath.harp import format_move, load_notation
    from reedpath.listen import place_words

    notation, events = load_notation(lesson.notation), lesson.route.events
    notes = [
        f"{format_move(move, notation)} ({place_words(lesson.route, [event], catalogue)})"
        for event in piece.wrong
        if event < len(events) and (move := events[event].choice.move) is not None
    ]
    if len(notes) > MOST_NOTES:
        notes = [*notes[: MOST_NOTES - 1], catalogue.say("film_from.more_notes", count=len(notes) - MOST_NOTES + 1)]
    if notes:
        yield catalogue.say("film_from.wrong", notes=catalogue.join(notes))


def told_of_harps(found: CutProposal, lesson: Lesson, catalogue: Catalogue) -> Iterator[str]:
    """On which other harps it is played, and which of what stays."""
    from reedpath.listen import harp_heard_words
    from reedpath.wording import harp_words

    kept = [piece for piece in found.cut.pieces if piece.keep and piece.first is not None]
    elsewhere = [piece for piece in kept if piece.harp]
    if not elsewhere:
        return
    asked = harp_words(lesson.route.harp, catalogue)
    names = {piece.harp for piece in elsewhere}
    yield from (harp_heard_words(one, lesson.route, catalogue) for one in found.harps_heard if one.name in names)
    if len(elsewhere) < len(kept):
        for piece in elsewhere:
            part, tempo = _part(piece, lesson, catalogue), _tempo(piece, catalogue)
            yield catalogue.say("film_from.elsewhere", part=part, tempo=tempo, asked=asked)
    yield catalogue.say("film_from.other_harp", asked=asked)


def _events(piece: CutPiece) -> range:
    return range(piece.first or 0, (piece.last or 0) + 1)


def _whole(piece: CutPiece, lesson: Lesson) -> int:
    """How many events the parts have of which something is played."""
    played = _events(piece)
    parts = [part for part in lesson.parts if part.last in played or part.first <= played[-1] < part.last]
    return max((part.last for part in parts), default=-1) - min((part.first for part in parts), default=0) + 1


def _part(piece: CutPiece, lesson: Lesson, catalogue: Catalogue) -> str:
    played = _events(piece)
    labels = [part.label for part in lesson.parts if part.first <= played[-1] and part.last >= played[0]]
    labels = list(dict.fromkeys(labels))
    if len(labels) > 1 and " ".join(labels) == piece.part:
        return catalogue.say("tab.parts", labels=catalogue.join(labels))
    return catalogue.say("tab.part", label=piece.part)


def _tempo(piece: CutPiece, catalogue: Catalogue) -> str:
    if piece.tempo:
        return catalogue.say(f"rung.{piece.tempo}")
    return catalogue.say("film_from.tempo", percent=round(100 * (piece.tempo_factor or 0.0)))


def cut_line(cut: FilmCut, catalogue: Catalogue) -> str:
    """How much of the films stays."""
    gone = sum(not piece.keep for piece in cut.pieces)
    kept, whole = (catalogue.number(round(one, 1)) for one in (cut.seconds, cut.filmed_seconds))
    return catalogue.say("film.cut", count=gone, kept=kept, whole=whole)


def _render(
    lesson: Lesson, films: Sequence[Path], wishes: TakeWishes, out: Path, *, cut_as: Path | None, replace: bool,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    from reedpath.film import CutOrder
    from reedpath.jobs import (
        cut_beside,
        kept_plays,
        make_cut_film,
        propose_cut,
        read_cut,
        timeline_as_list,
        timeline_beside,
    )

    catalogue, listed = catalogue_for(language), cut_beside(out)
    obeyed = cut_as if cut_as is not None else listed if listed.exists() else None
    said = None if obeyed is None else read_cut(obeyed)
    plays = None if obeyed is None else kept_plays(obeyed, lesson, films, out)
    with progress_display(catalogue) as progress:
        cut = said
        if cut is None or plays is None:
            found = propose_cut(lesson, films, order=CutOrder.TAUGHT, progress=progress)
            cut, plays = said or found.cut, found.plays
        written = make_cut_film(lesson, films, wishes, out, cut=cut, plays=plays, replace=replace, progress=progress)
    as_list = said is None or timeline_as_list(cut, films, out, title=lesson.title)
    if json:
        print_data(written_as_data(out.parent, written))
        return
    print_written(out.parent, written, catalogue)
    if obeyed is not None:
        print_line(catalogue.say("film_from.obeyed", list=str(obeyed)))
        if not as_list:
            print_line(catalogue.say("film_from.other_timeline", name=timeline_beside(out).name))
    print_line(cut_line(cut, catalogue))
