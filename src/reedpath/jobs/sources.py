"""Sources: from a file to a phrase that can be arranged, with its key found and its voices sorted; the demo's too.

And which files in a folder are sources, and which tunes are in a file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from reedpath.data import shipped_folder
from reedpath.errors import PhraseError, Place, ReadError
from reedpath.jobs.disk import read_bytes
from reedpath.phrase import KeyGuess, Phrase, Tempo, find_key, lead_line, section
from reedpath.pitch import Key
from reedpath.readers import DEFAULT_LIMITS, Option, find_reader, read_phrase, reader_names, reader_of

if TYPE_CHECKING:
    from reedpath.readers.harmonica_tab import TypedMoves

# a phrase of our own invention
DEMO_FILE = "two-questions.txt"

# quarter notes a minute between which a tempo is believed; common practice, no source
SLOWEST_BPM, FASTEST_BPM = 10.0, 500.0
# the reader whose sources say how they are played
TYPED_FORMAT = "harmonica-tab"
# the reader whose files hold several tunes, and its choice of one
BOOK_FORMAT, TUNE = "abc", "tune"
# notes struck together that are kept where voices overlap: a double stop
DOUBLE_STOP = 2


class SourceChoice(Struct, frozen=True):
    """What of a source is wanted.

    format : reader's name, None to tell it from the content.
    options : choices that the reader offers (a part, a track, a tune).
    bars : first and last bar, None for all.
    lead : whether to reduce the source to a single line.
    key : the phrase's key where the source says nothing or is wrong.
    bpm : quarter notes a minute where the source says nothing or is wrong.
    """

    format: str | None = None
    options: Mapping[str, Option] = field(default_factory=dict)
    bars: tuple[int, int] | None = None
    lead: bool = False
    key: Key | None = None
    bpm: float | None = None


class ReadPhrase(Struct, frozen=True):
    """A phrase as read.

    phrase : with a key wherever one could be found.
    key_guess : how the key was found, None where the source or the user gave it.
    typed : harp and moves of a harmonica tab, None for any other source and for one reduced to its lead.
    """

    phrase: Phrase
    key_guess: KeyGuess | None
    typed: TypedMoves | None = None


def _overlaps(phrase: Phrase) -> bool:
    return any(after.onset < before.end for before, after in pairwise(phrase.events))


def _at_tempo(phrase: Phrase, bpm: float | None) -> Phrase:
    if bpm is None:
        return phrase
    if not SLOWEST_BPM <= bpm <= FASTEST_BPM:
        raise PhraseError("jobs.tempo_out_of_range", bpm=bpm, slowest=SLOWEST_BPM, fastest=FASTEST_BPM)
    if not phrase.tempos:
        return replace(phrase, tempos=(Tempo(Fraction(0), bpm),))
    factor = bpm / phrase.tempos[0].bpm
    return replace(phrase, tempos=tuple(replace(tempo, bpm=tempo.bpm * factor) for tempo in phrase.tempos))


def read_source(data: bytes, *, name: str, choice: SourceChoice | None = None) -> ReadPhrase:
    """The phrase of a source, ready to be arranged.

    Voices that overlap are reduced to their lead, double stops kept; ``phrase.left_out`` says what went. A missing
    key is found from the notes.

    data : the source's bytes.
    name : its file name, for telling formats apart and for messages.
    """
    choice = choice or SourceChoice()
    try:
        DEFAULT_LIMITS.check_size(data)
        format = choice.format or find_reader(data, name=name).name
        phrase = read_phrase(data, name=name, format=format, options=choice.options)
        if choice.bars is not None:
            phrase = section(phrase, *choice.bars)
        phrase = _at_tempo(phrase, choice.bpm)
    except (ReadError, PhraseError) as error:
        raise error.inside(Place(file=name)) from None
    if not phrase.events:
        raise ReadError("jobs.no_notes", where=Place(file=name))
    typed = None
    if choice.lead or _overlaps(phrase):
        phrase = lead_line(phrase, most_notes=1 if choice.lead else DOUBLE_STOP)
    elif format == TYPED_FORMAT:
        from reedpath.readers.harmonica_tab import typed_moves  # for a source of that format alone

        typed = typed_moves(data, limits=DEFAULT_LIMITS, **choice.options)
    if choice.key is not None:
        return ReadPhrase(replace(phrase, key=choice.key), None, typed)
    if phrase.key is not None:
        return ReadPhrase(phrase, None, typed)
    guess = find_key(phrase)
    return ReadPhrase(replace(phrase, key=guess.key), guess, typed)


def read_source_file(path: Path, choice: SourceChoice | None = None) -> ReadPhrase:
    """The phrase of a file, ready to be arranged."""
    return read_source(read_bytes(path, most_bytes=DEFAULT_LIMITS.source_bytes), name=str(path), choice=choice)


def demo_source() -> ReadPhrase:
    """The shipped phrase."""
    return read_source((shipped_folder("reedpath.jobs") / "demo" / DEMO_FILE).read_bytes(), name=DEMO_FILE)


# ----------------------------------------------------------------------------------------- files and tunes


def sources_in(folder: Path, lessons: Sequence[Path]) -> Iterator[Path]:
    """Files in a folder that a reader may know by their endings; those in lesson folders and hidden ones left out."""
    endings = {ending for name in reader_names() for ending in reader_of(name).suffixes}
    for path in sorted(folder.rglob("*")):
        is_hidden = any(part.startswith(".") for part in path.relative_to(folder).parts)
        is_in_lesson = any(path.is_relative_to(one) for one in lessons)
        if path.suffix.lower() in endings and path.is_file() and not is_hidden and not is_in_lesson:
            yield path


def is_book(name: str, choice: SourceChoice) -> bool:
    """Whether a file of that name may hold several tunes of which all are wanted."""
    if TUNE in choice.options:
        return False
    is_named = Path(name).suffix.lower() in reader_of(BOOK_FORMAT).suffixes
    return is_named if choice.format is None else choice.format == BOOK_FORMAT


def tune_choices(data: bytes, *, name: str, choice: SourceChoice) -> list[SourceChoice]:
    """The choice for a source, or one for each of its tunes where it holds several and none of them is chosen.

    Raises `ReadError` when it is of no known format.
    """
    if not data or TUNE in choice.options:
        return [choice]
    if (choice.format or find_reader(data, name=name).name) != BOOK_FORMAT:
        return [choice]
    from reedpath.readers.abc import tune_names  # for a source of that format alone

    names = tune_names(data, limits=DEFAULT_LIMITS)
    if len(names) < 2:
        return [choice]
    return [replace(choice, options={**choice.options, TUNE: one}) for one in names]
