"""The answer to what was played along: that of `answer_recording`, with a picture, and the take made small."""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from reedpath.data import encode_json
from reedpath.jobs.answering import answer_recording, answered_file
from reedpath.jobs.disk import write_file
from reedpath.jobs.hearing import opened_take
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson
from reedpath.listen import PlaceToHear, format_answer, places_to_hear
from reedpath.page import format_take_svg
from reedpath.shelf import KeptAnswer, KeptTake, Shelf, Student, now_text
from reedpath.signal import concatenated, encode
from reedpath.wording import load_catalogue

# names in the answer's folder
ANSWER, PICTURE, TAKE = "answer.json", "take.svg", "take.flac"


class RehearsalAnswer(Struct, frozen=True):
    """What a page shows of an answer.

    title : of the lesson. text : the answer in words, as `reedpath.listen.format_answer` gives it; everything : with
        all that is not as asked.
    right, notes : events in which nothing is wrong, and events tried, of the best play-through; both 0 for none.
    places : where in the take one hears what is worth practising.
    """

    title: str
    text: str
    right: int
    notes: int
    everything: str = ""
    places: tuple[PlaceToHear, ...] = ()


def answer_rehearsal(
    folder: Path, take: Path, lesson: Lesson, language: str, notes: str = "", *, progress: Progress = silent
) -> RehearsalAnswer:
    """Answer a take that was recorded while playing along.

    Puts ``answer.json``, ``take.svg`` and ``take.flac`` (the take) into the folder.
    """
    catalogue = load_catalogue(language, notes=notes or None)
    answered = answer_recording(take, lesson, progress=progress)
    progress(ProgressStep("data", 0, 1))
    answer, curve = answered.answer, answered.pieces[0].curve
    write_file(folder / ANSWER, encode_json(answered_file(answered)))
    write_file(folder / PICTURE, format_take_svg(answer, curve, catalogue=catalogue).encode())
    with opened_take(take) as blocks:
        write_file(folder / TAKE, encode(concatenated(blocks), format="flac", tags={"title": lesson.title}))
    best = answer.best_play.heard_events if answer.best_play is not None else ()
    right = sum(one.is_right for one in best)
    told, everything = (format_answer(answer, catalogue, everything=one) for one in (False, True))
    return RehearsalAnswer(lesson.title, told, right, len(best), everything, places_to_hear(answer, catalogue))


def keep_rehearsal(shelf: Shelf, folder: Path, answer: RehearsalAnswer, student: int) -> str:
    """Put the take of an answer's folder, and the answer, on the shelf as a student's; the student's name."""
    who = shelf.get(Student, student)
    with (folder / TAKE).open("rb") as file:
        sound = shelf.files.keep(file, name=TAKE)
    with shelf.step("take"):
        take = shelf.add(KeptTake(student=who.number, name=answer.title, sound=sound, added=now_text()))
        text = (folder / ANSWER).read_text(encoding="utf-8")
        shelf.add(KeptAnswer(take=take.number, data=text, added=now_text()))
    return who.name
