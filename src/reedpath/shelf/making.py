"""Records made of the program's own values: a phrase, a version of a lesson, an answer."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from types import MappingProxyType

import msgspec

from reedpath.phrase import Phrase, encode_phrase
from reedpath.pitch import key_name
from reedpath.shelf.journal import now_text
from reedpath.shelf.melodies import melody_of
from reedpath.shelf.records import KeptLesson, KeptPhrase, LessonVersion, TaughtPhrase
from reedpath.shelf.store import Shelf

# decimals of the points of effort a note
_DECIMALS = 3


class PhrasePlayed(msgspec.Struct, frozen=True):
    """A phrase, and what its best route asks for.

    difficulty : points of effort a note, None where no route was looked for. techniques : names of techniques.
    """

    phrase: Phrase
    title: str
    difficulty: float | None = None
    techniques: tuple[str, ...] = ()
    source: str = ""


def digest_of_text(data: bytes) -> str:
    """SHA-256 of a phrase's file."""
    return hashlib.sha256(data).hexdigest()


def _pitches_of(phrase: Phrase) -> Phrase:
    """A phrase without how its notes are spelt and its mode, as shelves kept it that did not know of them."""
    events = tuple(msgspec.structs.replace(event, fifths=()) for event in phrase.events)
    return msgspec.structs.replace(phrase, events=events, key=phrase.key.plain if phrase.key else None)


def _alike(shelf: Shelf, phrase: Phrase, digest: str) -> KeptPhrase | None:
    """The same phrase on the shelf."""
    for one in dict.fromkeys((digest, digest_of_text(encode_phrase(_pitches_of(phrase))))):
        for there in shelf.all(KeptPhrase, digest=one):
            return there
    return None


def add_phrase(shelf: Shelf, played: PhrasePlayed, *, tags: Sequence[str] = ()) -> tuple[KeptPhrase, bool]:
    """Keep a phrase, within a `step`; and whether it was not there. Of one that is there, what is new is added."""
    data = encode_phrase(played.phrase)
    digest = digest_of_text(data)
    difficulty = None if played.difficulty is None else round(played.difficulty, _DECIMALS)
    there = _alike(shelf, played.phrase, digest)
    if there is not None:
        grown = msgspec.structs.replace(
            there,
            data=data.decode(),
            digest=digest,
            tags=tuple(dict.fromkeys([*there.tags, *tags])),
            techniques=there.techniques or played.techniques,
            difficulty=difficulty if there.difficulty is None else there.difficulty,
        )
        if grown != there:
            shelf.change(grown)
        return grown, False
    made = KeptPhrase(
        title=played.title,
        key=key_name(played.phrase.key.plain) if played.phrase.key else "",
        tags=tuple(dict.fromkeys(tags)),
        techniques=played.techniques,
        difficulty=difficulty,
        melody=melody_of(played.phrase),
        data=data.decode(),
        digest=digest,
        source=played.source,
        added=now_text(),
    )
    return shelf.add(made), True


class LessonToKeep(msgspec.Struct, frozen=True):
    """A lesson as it is put on the shelf.

    data : its ``lesson.json``. pieces : those of its pieces by their folders. taught : its phrases, kept too.
    """

    title: str
    data: bytes
    pieces: Mapping[str, bytes] = {}
    taught: tuple[PhrasePlayed, ...] = ()


def add_lesson_version(
    shelf: Shelf,
    made: LessonToKeep,
    *,
    files: Mapping[str, str] = MappingProxyType({}),
    tags: Sequence[str] = (),
    lesson: int | None = None,
) -> tuple[LessonVersion, bool]:
    """Keep a lesson, within a `step`; and whether this version was not there.

    A lesson of a title that is there is a new version of that one, unless its last version says the same.

    files : kept files by their names in the lesson's folder.
    lesson : number of the lesson that this is a version of; None for the one of that title, or a new one.
    """
    known = shelf.all(KeptLesson) if lesson is None else [shelf.get(KeptLesson, lesson)]
    of = next((one for one in known if lesson is not None or one.title == made.title), None)
    if of is None:
        of = shelf.add(KeptLesson(title=made.title, tags=tuple(dict.fromkeys(tags))))
    elif not set(tags) <= set(of.tags):
        shelf.change(msgspec.structs.replace(of, tags=tuple(dict.fromkeys([*of.tags, *tags]))))
    before = shelf.last(LessonVersion, lesson=of.number)
    version = LessonVersion(
        lesson=of.number,
        version=(before.version if before else 0) + 1,
        data=made.data.decode(),
        pieces={folder: text.decode() for folder, text in made.pieces.items()},
        files=dict(files),
        added=now_text(),
    )
    if before and (before.data, before.pieces, before.files) == (version.data, version.pieces, version.files):
        return before, False
    kept = shelf.add(version)
    for one in made.taught:
        phrase, _ = add_phrase(shelf, one, tags=tags)
        shelf.add(TaughtPhrase(version=kept.number, phrase=phrase.number))
    return kept, True
