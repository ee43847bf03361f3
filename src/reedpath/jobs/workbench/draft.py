"""The draft: all that was brought in and decided on a workbench, as it is kept and undone."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta, Struct, field

from reedpath.data import encode_json, read_json
from reedpath.data.numbers import Index
from reedpath.jobs.band_choices import BandChoice
from reedpath.jobs.instruments import HarpChoice, PlayerChoice
from reedpath.phrase import Phrase
from reedpath.shelf.kept_files import KEPT_NAME

# how moves are written in a draft and in commands, whatever notation is shown
NOTATION = "sign"
# characters of a source that is typed; a fret tab of an hour of music has fewer. Ours
MOST_TEXT = 400_000
# steps that can be undone; each is a draft of some 20 to 100 KB. Ours
MOST_STEPS = 100

Word = Annotated[str, Meta(max_length=200)]
KeptName = Annotated[str, Meta(pattern=KEPT_NAME)]
TypedText = Annotated[str, Meta(max_length=MOST_TEXT)]


class MovePin(Struct, frozen=True, omit_defaults=True):
    """A word on one event.

    event : its index in the performed phrase.
    move : the move it is about, in the notation "sign".
    avoid : whether it is not to be played so.
    """

    event: Index
    move: Word
    avoid: bool = False


class MarkedPart(Struct, frozen=True):
    """A part that a person has marked: its first and last event."""

    label: Word
    first: Index
    last: Index


class TypedTab(Struct, frozen=True):
    """What a harmonica tab says beside its notes: its harp, and the move of each event."""

    harp: str
    tuning: str
    notation: str
    moves: tuple[MovePin, ...]


class HeardSpan(Struct, frozen=True, omit_defaults=True):
    """The stretch of a recording that a phrase was heard in.

    sound : name of the kept file. name : of the recording, as it was brought in.
    start_seconds, end_seconds : the stretch; None for the recording's end.
    harp : key of the harp that plays in it, empty for another instrument.
    lead : whether the lead of a finished record was followed in it.
    chords : whether plucked strings may sound together in it. octaves : whether octaves on two strings are played.
    """

    sound: KeptName
    name: Word = ""
    start_seconds: float = 0.0
    end_seconds: float | None = None
    harp: Word = ""
    lead: bool = False
    chords: bool = False
    octaves: bool = False


class Draft(Struct, frozen=True, omit_defaults=True, kw_only=True):
    """A phrase on the workbench.

    title : the person's own; the phrase's where empty.
    text, format, name : a source that is typed or pasted, its format (empty: told from the text), its file's name.
    base : what the phrase is read from where it is not typed: a recording's notes, a file's, corrected.
    phrase : as it was last read without an error, its key and tempo as they are said.
    typed : where that is a harmonica tab.
    recording : where it was heard.
    key, bpm : said against the source; empty and None for the source's own.
    harp : key and tuning; without a key, the best of those owned is proposed.
    owned_only : whether only harps that are owned are surveyed, where any are.
    position, shift_semitones, any_key : as of `RouteRequest`.
    player : level and techniques.
    pins, parts : what is said of events and stretches.
    notation : in which the tab is shown.
    kept : uid of the phrase on the shelf that it was saved as, empty before.
    band : what was chosen of the band that plays along.
    """

    title: Word = ""
    text: TypedText = ""
    format: Word = ""
    name: Word = ""
    base: Phrase | None = None
    phrase: Phrase | None = None
    typed: TypedTab | None = None
    recording: HeardSpan | None = None
    key: Word = ""
    bpm: float | None = None
    harp: HarpChoice = field(default_factory=HarpChoice)
    owned_only: bool = True
    position: int | None = None
    shift_semitones: int | None = None
    any_key: bool = False
    player: PlayerChoice = field(default_factory=PlayerChoice)
    pins: tuple[MovePin, ...] = ()
    parts: tuple[MarkedPart, ...] = ()
    notation: Word = NOTATION
    kept: Word = ""
    band: BandChoice = field(default_factory=BandChoice)


class WorkbenchPast(Struct, frozen=True):
    """A draft with what can be undone and done again.

    before : earlier drafts, the oldest first. after : what was undone, the next first.
    """

    draft: Draft
    before: tuple[Draft, ...] = ()
    after: tuple[Draft, ...] = ()

    def changed(self, draft: Draft, *, in_place: bool = False) -> WorkbenchPast:
        """The past with another draft; ``in_place`` where it belongs to the same step as the last."""
        before = self.before if in_place else (*self.before, self.draft)[-MOST_STEPS:]
        return WorkbenchPast(draft, before)

    def undone(self) -> WorkbenchPast:
        """The past with its last step undone; itself where there is none."""
        if not self.before:
            return self
        return WorkbenchPast(self.before[-1], self.before[:-1], (self.draft, *self.after))

    def redone(self) -> WorkbenchPast:
        """The past with what was undone last done again; itself where there is none."""
        if not self.after:
            return self
        return WorkbenchPast(self.after[0], (*self.before, self.draft), self.after[1:])


def encode_draft(draft: Draft) -> str:
    """A draft as JSON text."""
    return encode_json(draft, indent=-1).decode().strip()


def read_draft(text: str) -> Draft:
    """A draft from JSON text; ReadError for what is none."""
    return read_json(text.encode(), Draft)
