"""The shelf: where phrases, lessons, students and takes are kept, and how a tune is found again by a few notes."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.shelf.drafts import (
        DraftChange,
        KeptDraftSteps,
        all_drafts,
        draft_steps,
        keep_draft,
        new_draft,
        put_away,
    )
    from reedpath.shelf.exporting import export_shelf
    from reedpath.shelf.importing import CheckedTexts, Imported, check_zip, import_shelf
    from reedpath.shelf.journal import now_text
    from reedpath.shelf.keeping import check_shelf, erase_student, students_called, used_files
    from reedpath.shelf.kept_files import KeptFiles
    from reedpath.shelf.making import LessonToKeep, PhrasePlayed, add_lesson_version, add_phrase
    from reedpath.shelf.melodies import FEWEST_NOTES, MOST_NOTES, Melody, melody_of, more_notes_wanted, typed_melody
    from reedpath.shelf.records import (
        KeptAnswer,
        KeptHeldNote,
        KeptLesson,
        KeptLetter,
        KeptPhrase,
        KeptTake,
        LessonVersion,
        OwnedHarp,
        Student,
        TaughtPhrase,
    )
    from reedpath.shelf.searching import FoundPhrase, PhraseQuery, PhraseSearch, melodies_of
    from reedpath.shelf.store import Shelf
    from reedpath.shelf.tune_search import TuneIndex
    from reedpath.shelf.versions import (
        LessonDifference,
        differences,
        last_version,
        two_versions,
        version_list,
        version_numbered,
    )
    from reedpath.shelf.waiting_takes import (
        WaitingTake,
        add_waiting_take,
        all_waiting_takes,
        end_waiting,
        keep_findings,
        remove_waiting_take,
        say_of_waiting_take,
        waiting_take,
    )
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "FEWEST_NOTES",
    "MOST_NOTES",
    "CheckedTexts",
    "DraftChange",
    "FoundPhrase",
    "Imported",
    "KeptAnswer",
    "KeptDraftSteps",
    "KeptFiles",
    "KeptHeldNote",
    "KeptLesson",
    "KeptLetter",
    "KeptPhrase",
    "KeptTake",
    "LessonDifference",
    "LessonToKeep",
    "LessonVersion",
    "Melody",
    "OwnedHarp",
    "PhrasePlayed",
    "PhraseQuery",
    "PhraseSearch",
    "Shelf",
    "Student",
    "TaughtPhrase",
    "TuneIndex",
    "WaitingTake",
    "add_lesson_version",
    "add_phrase",
    "add_waiting_take",
    "all_drafts",
    "all_waiting_takes",
    "check_shelf",
    "check_zip",
    "differences",
    "draft_steps",
    "end_waiting",
    "erase_student",
    "export_shelf",
    "import_shelf",
    "keep_draft",
    "keep_findings",
    "last_version",
    "melodies_of",
    "melody_of",
    "more_notes_wanted",
    "new_draft",
    "now_text",
    "put_away",
    "remove_waiting_take",
    "say_of_waiting_take",
    "students_called",
    "two_versions",
    "typed_melody",
    "used_files",
    "version_list",
    "version_numbered",
    "waiting_take",
]
