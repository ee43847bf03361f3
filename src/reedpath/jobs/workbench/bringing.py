"""Bringing in: a draft's source read again, with what was said of its notes staying with them; notes put right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher

from msgspec.structs import replace

from reedpath.errors import Place, ReedpathError, SettingsError
from reedpath.harp import format_move
from reedpath.jobs.sources import ReadPhrase, SourceChoice, read_source
from reedpath.jobs.workbench.commands import CorrectNote
from reedpath.jobs.workbench.draft import NOTATION, Draft, MarkedPart, MovePin, TypedTab
from reedpath.phrase import Event, Phrase, encode_phrase, performed
from reedpath.pitch import parse_key

# format of a phrase's own file
OWN_FORMAT = "phrase-json"
# errors of one text that are looked for: more would hide the text under marks
MOST_ERRORS = 8
# semitones
OCTAVE = 12
# kinds of what is said of events that are doubtful
DOUBTS = ("doubtful-notes", "doubtful-octaves")

# notes up to which every alignment is tried; longer phrases are compared from both ends, which an edit leaves alike
MOST_ALIGNED = 2_000


def _marks(phrase: Phrase) -> list[tuple[int, ...]]:
    return [event.midi for event in phrase.events]


def _alike(one: Sequence[tuple[int, ...]], other: Sequence[tuple[int, ...]]) -> int:
    return next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))


def followed(before: Phrase, after: Phrase) -> dict[int, int]:
    """Index of each event of a performed phrase that is still there in another one, by its index before.

    Events that were changed in place, as many as there were, are the same events.
    """
    old, new = _marks(before), _marks(after)
    head = _alike(old, new)
    tail = min(_alike(old[::-1], new[::-1]), len(old) - head, len(new) - head)
    found = {at: at for at in range(head)}
    found |= {len(old) - at: len(new) - at for at in range(1, tail + 1)}
    middle_old, middle_new = old[head : len(old) - tail], new[head : len(new) - tail]
    if len(middle_old) == len(middle_new):
        return found | {head + at: head + at for at in range(len(middle_old))}
    if max(len(middle_old), len(middle_new)) <= MOST_ALIGNED:
        for one in SequenceMatcher(None, middle_old, middle_new, autojunk=False).get_matching_blocks():
            found |= {head + one.a + at: head + one.b + at for at in range(one.size)}
    return found


def _pins_followed(pins: Sequence[MovePin], where: Mapping[int, int]) -> tuple[MovePin, ...]:
    """The pins of the events that are still there."""
    return tuple(replace(pin, event=where[pin.event]) for pin in pins if pin.event in where)


def _parts_followed(parts: Sequence[MarkedPart], where: Mapping[int, int]) -> tuple[MarkedPart, ...]:
    """The parts of which an event is still there, from the first such to the last."""
    kept = []
    for part in parts:
        there = [where[event] for event in range(part.first, part.last + 1) if event in where]
        if there:
            kept.append(MarkedPart(part.label, min(there), max(there)))
    return tuple(kept)


def _typed(read: ReadPhrase) -> TypedTab | None:
    if read.typed is None:
        return None
    places = ((one.place.line or 0, one.place.column or 0) for one in performed(read.phrase).events)
    moves = tuple(
        MovePin(index, format_move(read.typed.moves[place], NOTATION))
        for index, place in enumerate(places)
        if place in read.typed.moves
    )
    return TypedTab(read.typed.harp.name, read.typed.harp.tuning.name, read.typed.notation, moves)


def _read(draft: Draft) -> ReadPhrase:
    key = parse_key(draft.key) if draft.key else None
    if draft.base is not None:
        choice = SourceChoice(OWN_FORMAT, key=key, bpm=draft.bpm)
        return read_source(encode_phrase(draft.base), name="", choice=choice)
    return read_source(
        draft.text.encode(), name=draft.name, choice=SourceChoice(draft.format or None, key=key, bpm=draft.bpm)
    )


def read_again(draft: Draft) -> tuple[Draft, int, ReedpathError | None]:
    """A draft whose source, key or tempo was changed, with the phrase that it now gives.

    Returns the draft, how many pins went with their notes, and what keeps the source from being read: then the phrase
    stays as it was last.
    """
    if draft.base is None and not draft.text.strip():
        return replace(draft, phrase=None, typed=None, pins=(), parts=()), len(draft.pins), None
    try:
        read = _read(draft)
    except ReedpathError as error:
        return draft, 0, _without_file(error, draft)
    where = {} if draft.phrase is None else followed(performed(draft.phrase), performed(read.phrase))
    pins, parts = _pins_followed(draft.pins, where), _parts_followed(draft.parts, where)
    made = replace(draft, phrase=read.phrase, typed=_typed(read), pins=pins, parts=parts)
    return made, len(draft.pins) - len(pins), None


def word_at(text: str, line: int, column: int | None) -> tuple[int, int]:
    """Column and length of the word of a text that a place means: all of the line where no column is known."""
    lines = text.splitlines()
    there = lines[line - 1] if line <= len(lines) else ""
    if column is None:
        return 1, max(1, len(there))
    rest = there[column - 1 :]
    return column, max(1, len(rest.split()[0]) if rest.strip() and not rest[0].isspace() else 1)


def _word(text: str, error: ReedpathError) -> str:
    """The word of a text that an error means."""
    line = error.where.line or 1
    column, length = word_at(text, line, error.where.column)
    return "".join(text.splitlines()[line - 1 : line])[column - 1 : column - 1 + length]


def _blanked(text: str, line: int, column: int, length: int) -> str:
    lines = text.splitlines(keepends=True)
    there = lines[line - 1]
    lines[line - 1] = there[: column - 1] + " " * length + there[column - 1 + length :]
    return "".join(lines)


def later_errors(draft: Draft, first: ReedpathError) -> list[ReedpathError]:
    """What else can't be read in a typed text, in its order: each found by reading on without the words found before.

    It ends where a word says the same that was said last, for there one thing that is not closed is met again and
    again; and where no word of the text is meant.
    """
    found: list[ReedpathError] = []
    text, last = draft.text, first
    while len(found) < MOST_ERRORS - 1:
        line, column = last.where.line, last.where.column
        if line is None or column is None or line > len(text.splitlines()):
            break
        word, length = _word(text, last), word_at(text, line, column)[1]
        text = _blanked(text, line, column, length)
        try:
            _read(replace(draft, text=text))
            break
        except ReedpathError as error:
            later = _without_file(error, draft)
        if (later.where.line or 0, later.where.column or 0) <= (line, column):
            break
        if (later.key, _word(text, later)) == (last.key, word):
            break
        found.append(later)
        last = later
    return found


def _without_file(error: ReedpathError, draft: Draft) -> ReedpathError:
    """The error without the name of the file, which is no help beside its own text."""
    if error.where.file == draft.name:
        error.where = replace(error.where, file="")
    return error


# ----------------------------------------------------------------------------------------------- notes put right


def _joined(first: Event, second: Event) -> Event:
    return replace(first, duration=second.end - first.onset)


def _halves(event: Event) -> tuple[Event, Event]:
    half = event.duration / 2
    return replace(event, duration=half), replace(event, onset=event.onset + half, duration=half)


def _moved(event: Event, semitones: int) -> Event:
    return replace(event.moved(semitones), cents=())


def _doubled(event: Event) -> Event:
    """The event with the octave of its lowest pitch, of which no deviation is known."""
    octave = event.midi[0] + OCTAVE
    return replace(event, midi=tuple(sorted({*event.midi, octave})), cents=())


def _lowest_alone(event: Event) -> Event:
    return replace(event, midi=event.midi[:1], cents=event.cents[:1])


def _without_doubt(phrase: Phrase, at: int, count: int) -> Phrase:
    """A phrase of which somebody has compared so many events with the recording: they are doubtful no more."""
    compared = phrase.events[at : at + count]
    places = [one.place for one in compared if one.doubtful]
    kept = tuple(one for one in phrase.left_out if one.kind not in DOUBTS or one.place not in places)
    sure = (replace(one, doubtful=False) for one in compared)
    return replace(phrase, events=(*phrase.events[:at], *sure, *phrase.events[at + count :]), left_out=kept)


def corrected(phrase: Phrase, command: CorrectNote) -> Phrase:
    """A performed phrase with one of its notes put right, and doubtful no more.

    Raises `SettingsError` for an event that is not there, and where nothing comes after one that is to be joined with
    the next.
    """
    at, count = command.event, len(phrase.events)
    if at >= count:
        raise SettingsError("arrange.no_event", number=at + 1, count=count)
    if command.how == "join" and at + 1 >= count:
        raise SettingsError("jobs.nothing_to_join", where=Place(beat=float(phrase.events[at].onset + 1)))
    phrase = _without_doubt(phrase, at, 2 if command.how == "join" else 1)
    events = list(phrase.events)
    if command.how == "move":
        events[at] = _moved(events[at], command.semitones)
    elif command.how == "remove":
        del events[at]
    elif command.how == "split":
        events[at : at + 1] = _halves(events[at])
    elif command.how == "double":
        events[at] = _doubled(events[at])
    elif command.how == "single":
        events[at] = _lowest_alone(events[at])
    elif command.how == "join":
        events[at : at + 2] = [_joined(events[at], events[at + 1])]
    return replace(phrase, events=tuple(events))
