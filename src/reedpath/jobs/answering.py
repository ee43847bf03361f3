"""Answering a student: what a take got right, what to mend, a picture of it, and drills from what failed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from msgspec.structs import replace as replace_fields

from reedpath.data import as_plain, encode_json
from reedpath.errors import Place, SettingsError
from reedpath.hear import PitchCurve
from reedpath.jobs.folders import Written, writing_into
from reedpath.jobs.hearing import TakeSeen, hear_take
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import (
    Lesson,
    LessonFile,
    Taught,
    drill_route,
    encode_lesson,
    lesson_file,
    make_lesson,
    phrases_taught,
)
from reedpath.listen import (
    Answer,
    AnswerFile,
    answer_of,
    format_answer,
    written_answer,
)
from reedpath.page import format_tab, format_take_svg
from reedpath.sound import encode_recording, play_ladder
from reedpath.wording import Catalogue

__all__ = [
    "Answered",
    "AnsweredFile",
    "answer_files",
    "answer_recording",
    "answered_as_data",
    "answered_file",
    "answered_json",
    "write_answer",
    "write_answer_files",
]


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer to a take.

    answer : what was heard, against what was to be played.
    curve : the take's pitch.
    drills : lessons made from the stretches that failed in the best play-through.
    piece : index of the piece that it is a take of.
    """

    answer: Answer
    curve: PitchCurve
    drills: tuple[Lesson, ...]
    piece: int = 0


def _drills(lesson: Lesson, answer: Answer) -> tuple[Lesson, ...]:
    spots = () if answer.best_play is None else answer.best_play.spots
    return tuple(
        make_lesson(
            drill_route(lesson.route, spot),
            title=f"{lesson.title} ({number})",
            notation=lesson.notation,
            languages=lesson.languages,
        )
        for number, spot in enumerate(spots, start=1)
    )


def answer_recording(
    take: Path | bytes,
    lesson: Taught,
    *,
    name: str = "",
    broken_off: bool = False,
    looked: TakeSeen | None = None,
    progress: Progress = silent,
) -> Answered:
    """The answer to a recorded take of a lesson; silence, drums and other music are answered, not refused.

    Of several pieces the one is answered of which most is heard.

    name : of a file that is given as its bytes. looked : what `see_take` has seen in it.
    """
    heard = hear_take(take, lesson, name=name, broken_off=broken_off, looked=looked, progress=progress)
    answer = answer_of(heard.lined_up, heard.condition, heard.again)
    taught = phrases_taught(lesson)[heard.piece]
    return Answered(answer, heard.lined_up.hearing.curve, _drills(taught, answer), heard.piece)


class AnsweredFile(AnswerFile, frozen=True, kw_only=True):
    """An answer and its drills as they are written.

    drills : lessons made from the stretches that failed.
    """

    drills: tuple[LessonFile, ...]


def answered_file(answered: Answered) -> AnsweredFile:
    """An answer and its drills as they are written."""
    drills = tuple(lesson_file(drill) for drill in answered.drills)
    return AnsweredFile(**written_answer(answered.answer), drills=drills)


def answered_as_data(answered: Answered) -> dict[str, Any]:
    """The answer as data, its drills with it."""
    data: dict[str, Any] = as_plain(answered_file(answered))
    return data


def answered_json(answered: Answered) -> bytes:
    """An answer and its drills as a JSON file."""
    return encode_json(answered_file(answered))


def answer_files(
    answered: Answered, catalogue: Catalogue, progress: Progress = silent, *, everything: bool = False
) -> dict[str, bytes]:
    """An answer's files by name: text, data, picture, and for every drill its tab, data and sound.

    everything : whether the text tells all that is not as asked, not one or two things only.
    """
    answer = answered.answer
    picture = format_take_svg(answer, answered.curve, catalogue=catalogue)
    files = {
        "answer.txt": format_answer(answer, catalogue, everything=everything).encode(),
        "answer.json": answered_json(answered),
        "take.svg": picture.encode(),
    }
    for number, drill in enumerate(answered.drills, start=1):
        progress(ProgressStep("sound", number - 1, len(answered.drills), str(number)))
        files[f"drill-{number}.txt"] = format_tab(drill, catalogue=catalogue).encode()
        files[f"drill-{number}.json"] = encode_lesson(drill)
        files[f"drill-{number}.mp3"] = encode_recording(play_ladder(drill), format="mp3", tags={"title": drill.title})
    return files


def write_answer_files(files: Mapping[str, bytes], out: Path, *, replace: bool = False) -> Written:
    """Write an answer's files into a folder.

    replace : whether an answer that is there may be replaced, or any file in a folder that is not ours.
    """

    def may_write(folder: Path) -> None:
        if (folder / "answer.json").exists() and not replace:
            raise SettingsError("jobs.answer_there", where=Place(file=str(folder)))

    with writing_into(out, command="listen", anew=True, replace=replace, may_write=may_write) as writing:
        for name, data in files.items():
            (writing.files / name).write_bytes(data)
    return replace_fields(writing.written, files=tuple(files))


def write_answer(
    answered: Answered,
    out: Path,
    catalogue: Catalogue,
    *,
    everything: bool = False,
    replace: bool = False,
    progress: Progress = silent,
) -> Written:
    """Write an answer into a folder; the choices are those of `answer_files` and `write_answer_files`."""
    return write_answer_files(
        answer_files(answered, catalogue, progress, everything=everything), out, replace=replace
    )
