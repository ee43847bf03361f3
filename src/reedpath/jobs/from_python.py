"""Jobs from Python: what ``import reedpath`` shows, asked with plain words and names of files.

Each function imports what it needs when it is called, so that reading a phrase loads no engraver.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias

from msgspec.structs import replace

if TYPE_CHECKING:
    from reedpath.arrange import Route, Settled, Survey, SurveyedTunes
    from reedpath.jobs.answering import AnsweredTake
    from reedpath.jobs.arranging import RouteRequest
    from reedpath.jobs.folders import Written
    from reedpath.lesson import Lesson, LessonOfPieces, Taught
    from reedpath.phrase import Phrase

File: TypeAlias = str | PathLike[str]


def read(
    source: File | bytes,
    *,
    name: str = "",
    format: str | None = None,
    choose: Mapping[str, str | int | bool] | None = None,
    bars: tuple[int, int] | None = None,
    lead: bool = False,
    key: str | None = None,
    bpm: float | None = None,
) -> Phrase:
    """The phrase of a file, or of a source's bytes: MusicXML, MIDI, ABC, fret tab, harmonica tab, a kept phrase.

    name : of the source where its bytes are given, for telling its format and for messages.
    format : name of the reader, where the format is not told right.
    choose : what of the source to read: {"part": 2}, {"track": 1}, {"tune": 3}.
    bars : first and last bar, None for all.
    lead : whether to reduce the source to its lead line.
    key : of the phrase ("E", "Am") where the source says nothing or is wrong.
    bpm : quarter notes a minute, likewise.

    Raises `ReedpathError` when the source cannot be read, with the place in it.
    """
    from reedpath.jobs.sources import SourceChoice, read_source, read_source_file
    from reedpath.pitch import parse_key

    choice = SourceChoice(format, choose or {}, bars, lead, parse_key(key) if key else None, bpm)
    if isinstance(source, bytes):
        return read_source(source, name=name, choice=choice).phrase
    return read_source_file(Path(source), choice).phrase


def _request(
    harp: str | None, tunings: Sequence[str], owned: Sequence[str], position: int | None, shift: int | None,
    level: str | None, *, any_key: bool,
) -> RouteRequest:  # fmt: skip
    from reedpath.jobs.arranging import RouteRequest
    from reedpath.jobs.instruments import HarpChoice, PlayerChoice

    return RouteRequest(HarpChoice(harp, tuple(tunings)), tuple(owned), position, shift, any_key, PlayerChoice(level))


def survey(
    phrase: Phrase,
    *,
    tunings: Sequence[str] = ("standard",),
    owned: Sequence[str] = (),
    position: int | None = None,
    shift_semitones: int | None = None,
    any_key: bool = False,
    level: str | None = None,
    top: int = 12,
) -> Survey:
    """Rank the harps, positions and octaves that play a phrase best.

    tunings : names of tunings, or TOML files.
    owned : keys of the harps to choose from ("A", "Low F"); none for all twelve.
    position : choose the harp by its position, 1 to 12.
    shift_semitones : how far to move the phrase, None for the best octave.
    any_key : whether the phrase may be moved to any key.
    level : of the player: "first-months", "easy", "steady", "strong" or "advanced".
    top : how many lines, at least 1.
    """
    from reedpath.jobs.arranging import survey_phrase

    request = _request(None, tunings, owned, position, shift_semitones, level, any_key=any_key)
    return survey_phrase(phrase, request, top=top)


def survey_tunes(
    paths: Sequence[File],
    *,
    tunings: Sequence[str] = ("standard",),
    owned: Sequence[str] = (),
    position: int | None = None,
    shift_semitones: int | None = None,
    any_key: bool = False,
    level: str | None = None,
    cluster: str | None = None,
) -> SurveyedTunes:
    """Survey many tunes: of files, and of all that lie in folders; the easiest first, what could not be read beside.

    Parameters are those of `survey`, and

    cluster : address of a Dask cluster that is to do it ("192.168.1.20:8786"); None for this machine's processors.

    Raises `ReedpathError` when a path is not there, no tune is in a folder, or the cluster is of no use.
    """
    from reedpath.jobs.task_pool import pool_at
    from reedpath.jobs.tune_surveys import survey_tunes as survey_all

    request = _request(None, tunings, owned, position, shift_semitones, level, any_key=any_key)
    return survey_all([Path(one) for one in paths], request, pool=pool_at(cluster))


def find_route(
    phrase: Phrase,
    *,
    harp: str | None = None,
    tuning: str = "standard",
    owned: Sequence[str] = (),
    position: int | None = None,
    shift_semitones: int | None = None,
    any_key: bool = False,
    level: str | None = None,
) -> Route:
    """The best way to play a phrase: on the harp of a key, or on the one that plays it best.

    Parameters are those of `survey`; ``harp`` is a key: "A", "Bb", "Low F".

    Raises `ReedpathError` when nothing that the player may do plays the phrase.
    """
    from reedpath.jobs.arranging import best_route

    request = _request(harp, (tuning,), owned, position, shift_semitones, level, any_key=any_key)
    return best_route(phrase, request)


def typed_route(source: File | bytes, *, name: str = "", level: str | None = None) -> Route:
    """The route of a harmonica tab as it is typed: its own harp and its own moves, priced as any other.

    Parameters are those of `read` and `find_route`.

    Raises `ReedpathError` when the source cannot be read, or is no harmonica tab.
    """
    from reedpath.jobs.arranging import RouteRequest, best_route
    from reedpath.jobs.instruments import PlayerChoice
    from reedpath.jobs.sources import TYPED_FORMAT, SourceChoice, read_source, read_source_file

    choice = SourceChoice(TYPED_FORMAT)
    if isinstance(source, bytes):
        found = read_source(source, name=name, choice=choice)
    else:
        found = read_source_file(Path(source), choice)
    return best_route(found.phrase, RouteRequest(player=PlayerChoice(level)), found.typed)


def settle(
    phrase: Phrase,
    *,
    harp: str | None = None,
    tuning: str = "standard",
    shift_semitones: int | None = None,
    level: str | None = None,
    pin: Sequence[str] = (),
    avoid: Sequence[str] = (),
    techniques: Sequence[str] = (),
) -> Settled:
    """The best way to play a phrase that keeps what is said of its events, and what every other move would add.

    Parameters are those of `find_route`, and

    pin : moves of events by number from 1, or by bar and beat: "7=-3'", "2:3=-3'".
    avoid : moves that events are not to be played by, likewise.
    techniques : how whole parts are to be played: "B=octaves", "B=plain".

    Raises `ReedpathError` for something said that no route can keep, with the reason.
    """
    from reedpath.jobs.arranging import best_route, settled_like
    from reedpath.jobs.pinning import said_of_event, said_of_part

    request = _request(harp, (tuning,), (), None, shift_semitones, level, any_key=False)
    route = best_route(phrase, request)
    said = (said_of_event(text, avoid=not kept) for kept, texts in ((True, pin), (False, avoid)) for text in texts)
    request = replace(request, said=tuple(said), techniques=tuple(map(said_of_part, techniques)))
    return settled_like(phrase, route, request)


def format_tab(source: Route | Lesson, *, notation: str | None = None, language: str = "en") -> str:
    """A route or a lesson as tab to print, in the words of a language ("en", "fr").

    notation : "sign", "arrow", "letters-en", "letters-fr", "letters-de" or "bracket"; the lesson's own for None.
    """
    from reedpath.page import format_tab as format_tab_page
    from reedpath.wording import load_catalogue

    return format_tab_page(source, notation=notation, catalogue=load_catalogue(language))


def make_lesson(
    route: Route, *, title: str = "", notation: str = "sign", languages: Sequence[str] = ("en", "fr")
) -> Lesson:
    """The lesson of a route: parts, steps, tempos and drills.

    title : the phrase's own where empty, else one made from key and harp.
    notation : of the tab.
    languages : of the steps; the first is the hand-out's.
    """
    from reedpath.lesson import make_lesson as lesson_of

    return lesson_of(route, title=title, notation=notation, languages=languages)


def join_lessons(
    lessons: Sequence[Lesson],
    *,
    title: str = "",
    levels: Mapping[int, int] | None = None,
    fillers: Mapping[int, int] | None = None,
    in_a_row: bool = True,
) -> LessonOfPieces:
    """Lessons of single phrases as one lesson of several pieces, in the order in which they are taught.

    title : of the whole; the titles of the pieces where empty.
    levels, fillers : by index of a lesson the index of an earlier one that it is another level of, or a filler for.
    in_a_row : whether all are played one after the other at the end.

    Raises `SettingsError` for lessons in different languages or for different papers, and for a variant of no earlier
    piece.
    """
    from reedpath.jobs.lessons_of_pieces import joined

    return joined(lessons, title=title, levels=levels or {}, fillers=fillers or {}, in_a_row=in_a_row)


def transcribe(
    recording: File,
    *,
    start_seconds: float = 0.0,
    end_seconds: float | None = None,
    harp: str | None = None,
    chords: bool | Literal["octaves"] = False,
    key: str | None = None,
    bpm: float | None = None,
    lead: bool = False,
) -> Phrase:
    """The phrase that a recording plays, from its sound.

    start_seconds, end_seconds : the part of the recording, to its end for None.
    harp : key of the harp, where the recording is of one.
    chords : whether plucked strings may sound together; "octaves" where they are known to play octaves.
    lead : whether it is a finished record whose lead is to be followed through its band.
    """
    from reedpath.jobs.hearing import HearingChoice, write_down_recording
    from reedpath.jobs.instruments import HarpChoice
    from reedpath.pitch import parse_key

    choice = HearingChoice(
        start_seconds,
        end_seconds,
        bpm,
        bool(chords),
        parse_key(key) if key else None,
        HarpChoice(harp) if harp else None,
        lead=lead,
        octaves=chords == "octaves",
    )
    return write_down_recording(Path(recording), choice).phrase


def answer_take(take: File, lesson: Taught) -> AnsweredTake:
    """The answer to a student's recorded take of a lesson: what to mend, and drills for it."""
    from reedpath.jobs.answering import answer_recording

    return answer_recording(Path(take), lesson)


def write_answer(answered: AnsweredTake, folder: File, *, language: str = "en", replace: bool = False) -> Written:
    """Write an answer's files: text, data, a picture, and each drill's tab, data and sound.

    replace : whether an answer that is there is written over.
    """
    from reedpath.jobs.answering import write_answer as write_answer_files
    from reedpath.wording import load_catalogue

    return write_answer_files(answered, Path(folder), load_catalogue(language), replace=replace)


def make_film(
    lesson: Taught,
    out: File,
    *,
    screen: Literal["landscape", "upright"] = "landscape",
    palette: Literal["night", "paper", "ink"] = "night",
    language: str = "",
    tempos: Sequence[str] | None = None,
    steps: bool = True,
    replace: bool = False,
) -> Written:
    """Make the film of a lesson, of one phrase or of several pieces, captions and chapters beside it.

    out : the film, ending in ".mp4".
    language : of headings and captions in the picture; the lesson's first where empty.
    tempos : names of the ladder's tempos ("slow", "full"), None for all.
    steps : whether the phrase is gone through step by step first.
    replace : whether files that are there are written over.
    """
    from reedpath.film import FilmWishes
    from reedpath.jobs.films import make_film as make_film_files

    wishes = FilmWishes(screen, palette, language, tuple(tempos or ()), with_steps=steps)
    return make_film_files(lesson, wishes, Path(out), replace=replace)
