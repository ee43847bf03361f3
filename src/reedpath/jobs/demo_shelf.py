"""The demo's shelf: invented phrases, lessons, students, and takes with known faults, answered as any other."""

from __future__ import annotations

import dataclasses
from datetime import datetime, timedelta
from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct
from msgspec.structs import replace

from reedpath.data import encode_json, read_toml, shipped_folder, shipped_text
from reedpath.jobs.answering import answer_recording, answered_file
from reedpath.jobs.arranging import RouteRequest
from reedpath.jobs.lessons import LessonWishes, lesson_from
from reedpath.jobs.own_harps import own_harps
from reedpath.jobs.progress import Progress, ProgressStep
from reedpath.jobs.shelf_lessons import lesson_to_keep
from reedpath.jobs.sources import ReadPhrase, SourceChoice, demo_source, read_source
from reedpath.lesson import Lesson, decode_lesson
from reedpath.listen import BEND_TOLERANCES
from reedpath.pitch import cents_to_ratio
from reedpath.shelf import (
    KeptAnswer,
    KeptHeldNote,
    KeptTake,
    LessonToKeep,
    LessonVersion,
    OwnedHarp,
    PhrasePlayed,
    Shelf,
    Student,
    add_lesson_version,
    add_phrase,
    now_text,
)
from reedpath.signal import encode
from reedpath.sound import SOUND_RATE, Contour, PlayAlong, Tone, lay_out, levelled, sounded

# tunes of the book of phrases
TUNES = 8
# of a take that a student sends; it is what telephones record in
FORMAT = "flac"

Share = Annotated[float, Meta(gt=0, le=1)]
Count = Annotated[int, Meta(ge=0)]


class TakeFault(Struct, frozen=True, forbid_unknown_fields=True):
    """What goes wrong at an event of a take.

    event : its index. cents, semitones : added to its pitch. seconds : added to its start. missed : it is not played.
    """

    event: Count
    cents: float = 0.0
    semitones: int = 0
    seconds: float = 0.0
    missed: bool = False


class _DemoTake(Struct, frozen=True, forbid_unknown_fields=True):
    lesson: str
    weeks: Count
    factor: Share
    faults: tuple[TakeFault, ...] = ()


class _DemoHeldNote(Struct, frozen=True, forbid_unknown_fields=True):
    harp: str
    move: str
    weeks: Count
    seconds: float
    cents: float
    unsteady_cents: float


class _DemoStudent(Struct, frozen=True, forbid_unknown_fields=True):
    name: str
    level: str
    harps: tuple[str, ...]
    techniques: tuple[str, ...]
    note: str
    takes: tuple[_DemoTake, ...]
    held: tuple[_DemoHeldNote, ...] = ()


class _DemoLesson(Struct, frozen=True, forbid_unknown_fields=True):
    phrase: str
    tags: tuple[str, ...]


class _DemoData(Struct, frozen=True, forbid_unknown_fields=True):
    harps: tuple[str, ...]
    lessons: tuple[_DemoLesson, ...]
    students: tuple[_DemoStudent, ...]


class AnsweredDemoTake(Struct, frozen=True):
    """A take of the demo: whose, of which lesson, how long ago, its sound and the answer to it."""

    student: str
    lesson: str
    weeks: int
    sound: Path
    answer: bytes


class DemoLessons(Struct, frozen=True):
    """The phrases and lessons that are put on the demo's shelf, and the tags of each lesson by its title."""

    phrases: tuple[PhrasePlayed, ...]
    lessons: tuple[LessonToKeep, ...]
    tags: dict[str, tuple[str, ...]]


def _data() -> _DemoData:
    text = shipped_text("reedpath.jobs", "demo/shelf.toml")
    return read_toml(text, _DemoData, file="shelf.toml")


def _read(name: str, choice: SourceChoice | None = None) -> ReadPhrase:
    return read_source((shipped_folder("reedpath.jobs") / "demo" / name).read_bytes(), name=name, choice=choice)


def _phrases() -> dict[str, ReadPhrase]:
    tunes = [_read("licks.abc", SourceChoice(options={"tune": number})) for number in range(1, TUNES + 1)]
    return {one.phrase.title: one for one in tunes} | {
        "octaves.txt": _read("octaves.txt"),
        "two-questions.txt": demo_source(),
    }


def _faulty(tone: Tone, fault: TakeFault) -> Tone:
    ratio = cents_to_ratio(fault.cents + 100.0 * fault.semitones)
    contour = Contour(tone.contour.seconds, tuple(hz * ratio for hz in tone.contour.hz))
    reed_hz = tone.reed_hz * cents_to_ratio(100.0 * fault.semitones)
    return dataclasses.replace(tone, contour=contour, reed_hz=reed_hz).delayed(fault.seconds)


def played_with_faults(lesson: Lesson, factor: float, faults: tuple[TakeFault, ...]) -> bytes:
    """A recording of a lesson played alone at a share of its tempo, with faults, as FLAC."""
    rung = replace(lesson.ladder[-1], factor=factor, bpm=lesson.ladder[-1].bpm * factor)
    layout = lay_out(lesson, rung, PlayAlong(count_in_bars=0))
    by_event = {one.event: one for one in faults}
    tones = [
        _faulty(tone, by_event[tone.event]) if tone.event in by_event else tone
        for tone in layout.plan.delayed(layout.zero_seconds).tones
        if not (tone.event in by_event and by_event[tone.event].missed)
    ]
    return encode(levelled(sounded(tones, (), seconds=layout.seconds, rate=SOUND_RATE)), format=FORMAT)


def demo_lessons(*, progress: Progress) -> DemoLessons:
    """Read the demo's phrases and make its lessons."""
    data, read = _data(), _phrases()
    tags = {read[one.phrase].phrase.title: one.tags for one in data.lessons}
    phrases: list[PhrasePlayed] = []
    lessons: list[LessonToKeep] = []
    for done, one in enumerate(read.values()):
        progress(ProgressStep("lesson", done, len(read), share=done / len(read)))
        kept = lesson_to_keep(lesson_from(one, RouteRequest(), LessonWishes()))
        phrases += kept.taught
        if kept.title in tags:
            lessons.append(kept)
    return DemoLessons(tuple(phrases), tuple(lessons), tags)


def demo_takes(folder: Path, kept: tuple[LessonToKeep, ...], *, progress: Progress) -> tuple[AnsweredDemoTake, ...]:
    """Play the demo's takes and answer them; their sounds lie in the folder."""
    lessons = {one.title: decode_lesson(one.data) for one in kept}
    takes = [(one, number, take) for one in _data().students for number, take in enumerate(one.takes, start=1)]
    answered = []
    for done, (student, number, take) in enumerate(takes):
        progress(ProgressStep("hearing", done, len(takes), share=done / len(takes)))
        lesson = lessons[take.lesson]
        sound = folder / f"{student.name.lower()}-{number}.{FORMAT}"
        sound.write_bytes(played_with_faults(lesson, take.factor, take.faults))
        answer = encode_json(answered_file(answer_recording(sound, lesson)))
        answered.append(AnsweredDemoTake(student.name, take.lesson, take.weeks, sound, answer))
    return tuple(answered)


def _weeks_ago(now: datetime, weeks: int) -> str:
    return (now - timedelta(weeks=weeks)).isoformat(timespec="seconds")


def put_demo_lessons(shelf: Shelf, made: DemoLessons) -> dict[str, LessonVersion]:
    """Put the demo's phrases and lessons on a shelf, all or none: the lessons' versions by their titles."""
    versions: dict[str, LessonVersion] = {}
    with shelf.step("add", undoable=False):
        for phrase in made.phrases:
            add_phrase(shelf, phrase, tags=("demo",))
        for lesson in made.lessons:
            versions[lesson.title], _ = add_lesson_version(shelf, lesson, tags=(*made.tags[lesson.title], "demo"))
    return versions


def put_demo_students(shelf: Shelf, takes: tuple[AnsweredDemoTake, ...], versions: dict[str, LessonVersion]) -> None:
    """Put the demo's students on a shelf with their takes and answers, and the teacher's own harps."""
    data, now = _data(), datetime.fromisoformat(now_text())
    with shelf.step("add", undoable=False):
        for one in data.students:
            student = shelf.add(
                Student(name=one.name, level=one.level, techniques=one.techniques, note=one.note, added=now_text())
            )
            for key in one.harps:
                shelf.add(OwnedHarp(student=student.number, key=key))
            for take in takes:
                if take.student == one.name:
                    _keep_take(shelf, take, student, versions[take.lesson], _weeks_ago(now, take.weeks))
            for held in one.held:
                shelf.add(_held_note(held, student, _weeks_ago(now, held.weeks)))
        if not own_harps(shelf):
            for key in data.harps:
                shelf.add(OwnedHarp(key=key))


def _held_note(held: _DemoHeldNote, student: Student, added: str) -> KeptHeldNote:
    return KeptHeldNote(
        student=student.number,
        key=held.harp,
        move=held.move,
        seconds=held.seconds,
        cents=held.cents,
        unsteady_cents=held.unsteady_cents,
        tolerance_cents=BEND_TOLERANCES[1],
        added=added,
    )


def _keep_take(shelf: Shelf, take: AnsweredDemoTake, student: Student, version: LessonVersion, added: str) -> None:
    with take.sound.open("rb") as file:
        sound = shelf.files.keep(file, name=take.sound.name)
    kept = shelf.add(
        KeptTake(student=student.number, version=version.number, name=take.sound.name, sound=sound, added=added)
    )
    shelf.add(KeptAnswer(take=kept.number, data=take.answer.decode(), added=added))
