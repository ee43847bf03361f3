"""Answering a student: what a take got right, what to mend, a picture of it, and drills from what failed."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from msgspec import Meta, Struct
from msgspec.structs import replace as replace_fields

from reedpath.data import as_plain, encode_json
from reedpath.data.numbers import Index
from reedpath.errors import Place, SettingsError
from reedpath.hear import PitchCurve
from reedpath.jobs.folders import Written, writing_into
from reedpath.jobs.hearing import TakeSeen, hear_take
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import (
    Lesson,
    LessonFile,
    LessonOfPieces,
    Taught,
    VariantKind,
    drill_route,
    encode_lesson,
    lesson_file,
    make_lesson,
    phrases_taught,
    piece_heading,
)
from reedpath.listen import (
    Answer,
    AnswerFile,
    PieceTold,
    answer_of,
    format_answer,
    format_pieces,
    written_answer,
)
from reedpath.page import format_tab, format_take_svg, stacked_pictures
from reedpath.sound import encode_recording, play_ladder
from reedpath.wording import Catalogue


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer to a take of one phrase, or to one piece in a take of several.

    answer : what was heard, against what was to be played.
    curve : the take's pitch.
    drills : lessons made from the stretches that failed in the best play-through.
    piece : index of the piece that it is a take of.
    """

    answer: Answer
    curve: PitchCurve
    drills: tuple[Lesson, ...]
    piece: int = 0


@dataclass(frozen=True, slots=True)
class AnsweredTake:
    """The answer to a take of a lesson.

    pieces : the phrases that are heard in it, in the lesson's order; where none is, one that says so.
    """

    lesson: Taught
    pieces: tuple[Answered, ...]

    @property
    def answer(self) -> Answer:
        """The answer to the phrase of the lesson; of several pieces that to the first that is heard."""
        return self.pieces[0].answer

    @property
    def drills(self) -> tuple[Lesson, ...]:
        """The drills of all pieces."""
        return tuple(drill for one in self.pieces for drill in one.drills)

    @property
    def right_share(self) -> float | None:
        """Share of the notes that are right in the best play-through of each piece; None where none is heard."""
        plays = [play for one in self.pieces if (play := one.answer.best_play) is not None]
        notes = sum(len(play.heard_events) for play in plays)
        return sum(play.right for play in plays) / max(1, notes) if plays else None

    @property
    def unheard(self) -> tuple[int, ...]:
        """Indexes of the pieces of the lesson that are not heard, nor any variant of theirs."""
        if isinstance(self.lesson, Lesson):
            return ()
        return pieces_unheard(self.lesson, [one.piece for one in self.pieces if one.answer.best is not None])


def pieces_unheard(lesson: LessonOfPieces, heard: Collection[int]) -> tuple[int, ...]:
    """Indexes of the pieces of a lesson that are not heard, nor at another level; fillers are nobody's duty.

    heard : indexes of those that are.
    """
    pieces = lesson.pieces
    alike = {pieces[index].variant_of for index in heard if pieces[index].variant is VariantKind.LEVEL}
    return tuple(
        index
        for index, piece in enumerate(pieces)
        if piece.variant_of is None and index not in heard and index not in alike
    )  # fmt: skip


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
) -> AnsweredTake:
    """The answer to a recorded take of a lesson; silence, drums and other music are answered, not refused.

    Of several pieces each is answered that is heard.

    name : of a file that is given as its bytes. looked : what `see_take` has seen in it.
    """
    heard = hear_take(take, lesson, name=name, broken_off=broken_off, looked=looked, progress=progress)
    taught, answered = phrases_taught(lesson), []
    for one in heard.pieces:
        answer = answer_of(one.lined_up, heard.condition, one.again)
        curve = one.lined_up.hearing.curve
        answered.append(Answered(answer, curve, _drills(taught[one.piece], answer), one.piece))
    return AnsweredTake(lesson, tuple(answered))


class AnsweredFile(AnswerFile, frozen=True, kw_only=True):
    """An answer and its drills as they are written.

    drills : lessons made from the stretches that failed.
    """

    drills: tuple[LessonFile, ...]


class AnsweredPiece(Struct, frozen=True):
    """The answer to one piece of a lesson, as it is written.

    piece : its index in the lesson. folder : its own. title : of its phrase.
    """

    piece: Index
    folder: str
    title: str
    answer: AnsweredFile


class AnswerOfPiecesFile(Struct, frozen=True, tag_field="schema", tag="reedpath/answer-of-pieces"):
    """The answer to a take of a lesson of several pieces, as it is written.

    version : of the shape of the file.
    pieces : those that are heard, in the lesson's order; where none is, one that says so.
    unheard : folders of the pieces that are not heard, nor any variant of theirs.
    """

    version: Literal[1]
    pieces: Annotated[tuple[AnsweredPiece, ...], Meta(min_length=1)]
    unheard: tuple[str, ...] = ()


def _one_file(answered: Answered) -> AnsweredFile:
    drills = tuple(lesson_file(drill) for drill in answered.drills)
    return AnsweredFile(**written_answer(answered.answer), drills=drills)


def answered_file(answered: AnsweredTake) -> AnsweredFile | AnswerOfPiecesFile:
    """An answer and its drills as they are written."""
    lesson = answered.lesson
    if isinstance(lesson, Lesson):
        return _one_file(answered.pieces[0])
    written = tuple(
        AnsweredPiece(
            one.piece, lesson.pieces[one.piece].folder, lesson.pieces[one.piece].lesson.title, _one_file(one)
        )
        for one in answered.pieces
    )
    return AnswerOfPiecesFile(1, written, tuple(lesson.pieces[index].folder for index in answered.unheard))


def answered_as_data(answered: AnsweredTake) -> dict[str, Any]:
    """The answer as data, its drills with it."""
    data: dict[str, Any] = as_plain(answered_file(answered))
    return data


def answered_json(answered: AnsweredTake) -> bytes:
    """An answer and its drills as a JSON file."""
    return encode_json(answered_file(answered))


def answer_in_words(answered: AnsweredTake, catalogue: Catalogue, *, everything: bool = False) -> str:
    """An answer as text.

    everything : whether it tells all that is not as asked, not one or two things only.
    """
    lesson = answered.lesson
    if isinstance(lesson, Lesson):
        return format_answer(answered.pieces[0].answer, catalogue, everything=everything)
    told = [piece_told(lesson, one.piece, one.answer, catalogue) for one in answered.pieces]
    unheard = [piece_name(lesson, index, catalogue) for index in answered.unheard]
    return format_pieces(lesson.title, told, unheard, catalogue, everything=everything)


def piece_told(lesson: LessonOfPieces, index: int, answer: Answer, catalogue: Catalogue) -> PieceTold:
    """The answer to a piece with the words by which it is called."""
    heading, name = piece_heading(lesson, index, catalogue), piece_name(lesson, index, catalogue)
    return PieceTold(heading, name, answer)


def piece_name(lesson: LessonOfPieces, index: int, catalogue: Catalogue) -> str:
    """What a piece is called in a sentence: its title, and its heading where that says too little."""
    titles = [one.lesson.title for one in lesson.pieces]
    title = titles[index]
    label = title if title and titles.count(title) == 1 else piece_heading(lesson, index, catalogue)
    return catalogue.say("part.named", label=label)


def answer_files(
    answered: AnsweredTake, catalogue: Catalogue, progress: Progress = silent, *, everything: bool = False
) -> dict[str, bytes]:
    """An answer's files by name: text, data, picture, and for every drill its tab, data and sound.

    everything : whether the text tells all that is not as asked, not one or two things only.
    """
    files = {
        "answer.txt": answer_in_words(answered, catalogue, everything=everything).encode(),
        "answer.json": answered_json(answered),
        "take.svg": answer_picture(answered, catalogue).encode(),
    }
    for number, drill in enumerate(answered.drills, start=1):
        progress(ProgressStep("sound", number - 1, len(answered.drills), str(number)))
        files[f"drill-{number}.txt"] = format_tab(drill, catalogue=catalogue).encode()
        files[f"drill-{number}.json"] = encode_lesson(drill)
        files[f"drill-{number}.mp3"] = encode_recording(play_ladder(drill), format="mp3", tags={"title": drill.title})
    return files


def answer_picture(answered: AnsweredTake, catalogue: Catalogue) -> str:
    """The picture of a take: each piece that is heard over its ribbon, one under the other."""
    return stacked_pictures([format_take_svg(one.answer, one.curve, catalogue=catalogue) for one in answered.pieces])


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
    answered: AnsweredTake,
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
