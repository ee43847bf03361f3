"""Commands: what a person does on the workbench, as the page sends it."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from msgspec import UNSET, Meta, Struct, UnsetType

from reedpath.data import encode_json, read_json
from reedpath.data.numbers import Index
from reedpath.jobs.band_choices import BandChoice
from reedpath.jobs.workbench.draft import HeardSpan, TypedText, Word
from reedpath.phrase import Phrase

# semitones a note is corrected by at most: beyond ten octaves there is no pitch
Correction = Annotated[int, Meta(ge=-120, le=120)]


class _SaidToBench(Struct, frozen=True, tag_field="do", kw_only=True, omit_defaults=True, forbid_unknown_fields=True):
    """What every command has.

    id : told again in the view that answers it.
    """

    id: Annotated[int, Meta(ge=0)] = 0


class ShowAgain(_SaidToBench, frozen=True, tag="show"):
    """Show everything, in a layout of the ribbon ("sheet", "phone", "wide") and a language; empty: as before.

    notes : how the language names notes, empty for its custom.
    """

    layout: Word = ""
    language: Word = ""
    notes: Word = ""


class TypeSource(_SaidToBench, frozen=True, tag="type"):
    """The source is this text; its format is told from it where none is said."""

    text: TypedText
    format: Word = ""


class BringPhrase(_SaidToBench, frozen=True, tag="bring"):
    """The phrase is this one, read from a file or heard in a recording; none yet of a recording just brought in."""

    phrase: Phrase | None = None
    name: Word = ""
    recording: HeardSpan | None = None


class Choose(_SaidToBench, frozen=True, tag="choose"):
    """How the phrase is to be arranged, and what the band does; what is not said stays as it is."""

    harp: Word | UnsetType = UNSET
    tuning: Word | UnsetType = UNSET
    owned_only: bool | UnsetType = UNSET
    position: int | UnsetType | None = UNSET
    shift_semitones: int | UnsetType | None = UNSET
    any_key: bool | UnsetType = UNSET
    level: Word | UnsetType = UNSET
    draw_bends: int | UnsetType | None = UNSET
    blow_bends: int | UnsetType | None = UNSET
    overblows: bool | UnsetType | None = UNSET
    overdraws: bool | UnsetType | None = UNSET
    splits: bool | UnsetType | None = UNSET
    chords: bool | UnsetType | None = UNSET
    key: Word | UnsetType = UNSET
    bpm: float | UnsetType | None = UNSET
    notation: Word | UnsetType = UNSET
    title: Word | UnsetType = UNSET
    band: BandChoice | UnsetType = UNSET


class PinMove(_SaidToBench, frozen=True, tag="pin"):
    """An event is to be played by a move, or (``avoid``) not by it."""

    event: Index
    move: Word
    avoid: bool = False


class Unpin(_SaidToBench, frozen=True, tag="unpin"):
    """Nothing is said of an event any more; of none, for None."""

    event: Index | None = None


class MarkPart(_SaidToBench, frozen=True, tag="mark"):
    """The events from one to another are a part; parts that it covers go, others give way."""

    first: Index
    last: Index
    label: Word = ""


class NamePart(_SaidToBench, frozen=True, tag="name"):
    """A part is called so; without a name it is no part any more."""

    part: Index
    label: Word = ""


class CorrectNote(_SaidToBench, frozen=True, tag="correct"):
    """A note of a phrase that is not typed is put right.

    how : "move" by so many semitones, "remove", "join" with the next, "split" in halves; "double": its octave sounds
        with its lowest pitch; "single": its lowest pitch alone; "right": it is as heard.
    """

    event: Index
    how: Annotated[str, Meta(pattern=r"\A(move|remove|join|split|double|single|right)\Z")]
    semitones: Correction = 0


class LookAt(_SaidToBench, frozen=True, tag="look"):
    """The other ways of an event are wanted; of none, for None."""

    event: Index | None = None


class UndoStep(_SaidToBench, frozen=True, tag="undo"):
    """The last step is undone."""


class RedoStep(_SaidToBench, frozen=True, tag="redo"):
    """What was undone last is done again."""


class NoteKept(_SaidToBench, frozen=True, tag="kept"):
    """The phrase was put on the shelf, under this uid."""

    uid: Word


class GiveLesson(_SaidToBench, frozen=True, tag="lesson"):
    """The lesson of the route as it stands is wanted, in these languages."""

    languages: tuple[Word, ...] = ("en", "fr")


Command: TypeAlias = (
    ShowAgain
    | TypeSource
    | BringPhrase
    | Choose
    | PinMove
    | Unpin
    | MarkPart
    | NamePart
    | CorrectNote
    | LookAt
    | UndoStep
    | RedoStep
    | NoteKept
    | GiveLesson
)


def read_command(data: bytes) -> Command:
    """A command from JSON; ReadError names what does not hold."""
    return read_json(data, Command)  # type: ignore[arg-type]  # a union of Structs is a shape too


def encode_command(command: Command) -> bytes:
    """A command as JSON."""
    return encode_json(command, indent=-1)
