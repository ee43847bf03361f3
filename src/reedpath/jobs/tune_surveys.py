"""Many tunes surveyed, side by side: which harp plays each best, as a table that can be sorted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path, PurePath

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import (
    Player,
    Ranked,
    SurveyedTune,
    SurveyedTunes,
    TuneWay,
    level_asked,
    survey,
)
from reedpath.errors import NoRoute, Place, ReadError, ReedpathError, SettingsError, clean_text
from reedpath.harp import Harp, position_between, position_tonic
from reedpath.jobs.arranging import RouteRequest, shifts_asked
from reedpath.jobs.conversations import told_error
from reedpath.jobs.disk import read_bytes, with_file
from reedpath.jobs.folders import Written, writing_into
from reedpath.jobs.instruments import chosen_harps, chosen_player, one_harp
from reedpath.jobs.many_lessons import lesson_folders
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.sources import TUNE, SourceChoice, is_book, read_source, sources_in, tune_choices
from reedpath.jobs.task_pool import TaskPool, run_tasks
from reedpath.lesson import techniques_of
from reedpath.page import encode_tune_csv, encode_tune_page
from reedpath.phrase import Phrase, timing_of
from reedpath.pitch import Key
from reedpath.readers import DEFAULT_LIMITS
from reedpath.wording import load_catalogue

# ways that are kept of each tune; ours: what a teacher looks at before asking for one tune alone
WAYS = 3
# seconds of a processor for a file of one tune; measured
SECONDS_EACH = 0.05
# bytes from which a book of tunes is shared out, and tunes of it that are surveyed together; ours: a
# tune has about a thousand, and twenty take about a second
BOOK_BYTES, TOGETHER = 20_000, 20
# what a reader says of the tunes of a book that it was not asked for
OTHER_TUNES = "other-tunes"
PAGE, TABLE = "survey.html", "survey.csv"


class SurveyGround(Struct, frozen=True):
    """What all tunes of a survey have in common, as values: it may go to another machine.

    harps : to choose from. position : in which they are to be played, None for any.
    shifts : semitones by which a tune may be moved.
    choice : what of each source is read.
    """

    harps: tuple[Harp, ...]
    position: int | None
    shifts: tuple[int, ...]
    player: Player
    choice: SourceChoice


class SourceSurveyed(Struct, frozen=True):
    """What came of a source: its tunes, and what says why one of them could not be read or played."""

    tunes: tuple[SurveyedTune, ...]
    unread: tuple[ReedpathError, ...]


def ground_of(request: RouteRequest, choice: SourceChoice | None = None) -> SurveyGround:
    """What is asked, with files of tunings, temperaments and levels read.

    Raises `ReedpathError` for a harp, a shift or a player that cannot be had.
    """
    if request.harp.key is not None and request.position is not None:
        raise SettingsError("jobs.harp_and_position")
    if request.harp.key is not None:
        harps: tuple[Harp, ...] = (one_harp(request.harp, key=request.harp.key),)
    else:
        harps = chosen_harps(request.harp, owned=() if request.position is not None else request.owned)
    if request.position is not None:
        position_tonic(0, request.position)  # which says where there is no such position
    player = chosen_player(request.player)
    return SurveyGround(harps, request.position, shifts_asked(request), player, choice or SourceChoice())


def _harps_for(key: Key | None, ground: SurveyGround) -> Sequence[Harp]:
    if ground.position is None:
        return ground.harps
    if key is None:
        raise SettingsError("jobs.position_needs_key")
    return [harp for harp in ground.harps if position_between(harp.key_midi, key.tonic) == ground.position]


def _way(line: Ranked, notes: int, ground: SurveyGround) -> TuneWay:
    harp = next(index for index, one in enumerate(ground.harps) if one is line.harp)
    difficulty = line.effort.total / notes
    return TuneWay(harp, line.position, line.shift_semitones, difficulty, line.worst, line.truth)


def _seconds(phrase: Phrase) -> float:
    return timing_of(phrase).seconds_at(phrase.end)


def _surveyed(phrase: Phrase, ground: SurveyGround, *, file: str, tune: int | str | None) -> SurveyedTune:
    harps = _harps_for(phrase.key, ground)
    lines = survey(phrase, harps, shifts=ground.shifts, player=ground.player, top=WAYS).ranked
    if not lines:
        raise NoRoute("jobs.no_notes")
    route = lines[0].route()
    notes = max(1, sum(one.choice.move is not None for one in route.events))
    return SurveyedTune(
        file=file,
        tune=tune,
        title=phrase.title or clean_text(PurePath(file).stem),
        key=phrase.key,
        notes=len(route.events),
        seconds=_seconds(phrase),
        ways=tuple(_way(line, notes, ground) for line in lines),
        level=level_asked(route),
        techniques=tuple(one.technique.value for one in techniques_of(route)),
        changes=tuple(Counter(change.kind.value for _, change in route.changes).most_common()),
        left_out=tuple(one for one in phrase.left_out if tune is None or one.kind != OTHER_TUNES),
    )


def _in_tune(error: ReedpathError, name: str, tune: int | str | None) -> ReedpathError:
    """The error with its file, and the number of its tune in a book of tunes, before the place inside it."""
    number = tune if not isinstance(tune, str) else int(tune.partition("-")[0] or 0) or None
    if error.where.tune is None and number is not None:
        error.where = error.where.inside(Place(tune=number))
    return with_file(Path(name), error)


def survey_source(ground: SurveyGround, source: tuple[str, bytes, tuple[int | str, ...]]) -> SourceSurveyed:
    """The tunes of a source surveyed, from its name, its bytes, and what its tunes are chosen by, nothing for all.

    Raises `ReedpathError` when it cannot be read at all.
    """
    name, data, numbers = source
    tunes: list[SurveyedTune] = []
    unread: list[ReedpathError] = []
    if numbers:
        choices = [replace(ground.choice, options={**ground.choice.options, TUNE: one}) for one in numbers]
    else:
        choices = tune_choices(data, name=name, choice=ground.choice)
    is_in_book = bool(numbers) or len(choices) > 1
    for choice in choices:
        tune = choice.options[TUNE] if is_in_book else None
        try:
            phrase = read_source(data, name=name, choice=choice).phrase
            tunes.append(_surveyed(phrase, ground, file=name, tune=tune))
        except ReedpathError as error:
            unread.append(_in_tune(error, name, tune))
    return SourceSurveyed(tuple(tunes), tuple(unread))


class _Source(Struct, frozen=True):
    """A file, and what it is called in the table.

    tunes : what those of a book of tunes are chosen by that are meant, nothing for all that there is.
    """

    path: Path
    name: str
    tunes: tuple[int | str, ...] = ()


def _sources(paths: Sequence[Path]) -> list[_Source]:
    """Files that are named, or lie in folders that are, each once."""
    found: dict[Path, _Source] = {}
    for path in paths:
        if not path.exists():
            raise ReadError("jobs.no_file", where=Place(file=str(path)))
        if path.is_dir():
            for one in sources_in(path, list(lesson_folders(path))):
                inside = one.relative_to(path).as_posix()
                name = inside if len(paths) == 1 else f"{path.as_posix().rstrip('/')}/{inside}"
                found.setdefault(one.resolve(), _Source(one, clean_text(name)))
        else:
            found.setdefault(path.resolve(), _Source(path, clean_text(path.as_posix())))
    return list(found.values())


def _bytes(source: _Source) -> bytes:
    return read_bytes(source.path, most_bytes=DEFAULT_LIMITS.source_bytes)


def _shared_out(source: _Source, choice: SourceChoice) -> Iterator[_Source]:
    """The source, or some of its tunes at a time where it is a large book of tunes."""
    try:
        if is_book(source.name, choice) and source.path.stat().st_size >= BOOK_BYTES:
            choices = tune_choices(_bytes(source), name=source.name, choice=choice)
            numbers = tuple(one.options[TUNE] for one in choices if len(choices) > 1)
            for first in range(0, len(numbers), TOGETHER):
                yield replace(source, tunes=numbers[first : first + TOGETHER])
            if numbers:
                return
    except (OSError, ReedpathError):
        pass  # what is wrong with it is found again, and told, when it is read
    yield source


def _loaded(source: _Source) -> tuple[str, bytes, tuple[int | str, ...]]:
    return source.name, _bytes(source), source.tunes


def _told(fault: Exception, source: _Source) -> ReedpathError:
    """Why a source has no line, with its name as in the table."""
    error = told_error(fault)
    if error.where.file == str(source.path):
        error.where = replace(error.where, file=source.name)
    return with_file(Path(source.name), error)


def survey_tunes(
    paths: Sequence[Path],
    request: RouteRequest,
    *,
    choice: SourceChoice | None = None,
    pool: TaskPool | None = None,
    progress: Progress = silent,
) -> SurveyedTunes:
    """Survey many tunes: of files, and of all that lie in folders, at any depth; each tune of a book of tunes.

    request : how they are arranged.
    choice : what of each source is read.
    pool : who does it, the processors of this machine for None.

    Raises `ReedpathError` when a path is not there, no file is in a folder, what is asked cannot be had, or the
    cluster is of no use.
    """
    ground = ground_of(request, choice)
    sources = [part for one in _sources(paths) for part in _shared_out(one, ground.choice)]
    if not sources:
        raise ReadError("jobs.no_tunes_there", where=Place(file=", ".join(map(str, paths))))
    tunes: list[tuple[int, SurveyedTune]] = []
    unread: list[tuple[int, ReedpathError]] = []
    answers = run_tasks(
        partial(survey_source, ground),
        sources,
        pool=pool,
        load=_loaded,
        returns=SourceSurveyed,
        seconds_each=SECONDS_EACH,
    )
    for done, answer in enumerate(answers):
        progress(ProgressStep("surveying", done, len(sources), share=done / len(sources)))
        if answer.result is None:
            unread.append((answer.index, _told(answer.error or TypeError(), sources[answer.index])))
        else:
            tunes += [(answer.index, one) for one in answer.result.tunes]
            unread += [(answer.index, one) for one in answer.result.unread]
    tunes.sort(key=lambda it: (round(it[1].best.difficulty, 6), it[0]))
    unread.sort(key=lambda it: it[0])
    return SurveyedTunes(ground.harps, tuple(one for _, one in tunes), tuple(one for _, one in unread))


def write_tune_survey(
    found: SurveyedTunes, folder: Path, *, language: str | None = None, over: bool = False
) -> Written:
    """Write a survey as a page (``survey.html``) and as a table for spreadsheets (``survey.csv``).

    language : of both, English for None.
    over : whether files of these names may be written over in a folder that is not ours.
    """
    words = load_catalogue(language or "en")
    with writing_into(folder, command="survey", anew=True, replace=over) as writing:
        (writing.files / PAGE).write_bytes(encode_tune_page(found, words))
        (writing.files / TABLE).write_bytes(encode_tune_csv(found, words))
    return writing.written
