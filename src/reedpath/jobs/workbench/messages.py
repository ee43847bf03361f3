"""Messages: what the workbench shows, each of one state. Sentences in them are in the user's language."""

from __future__ import annotations

from typing import TypeAlias

from msgspec import Struct

from reedpath.data import encode_json, read_json
from reedpath.jobs.band_choices import BandChoice, SaidPlaces
from reedpath.jobs.workbench.draft import HeardSpan, MarkedPart
from reedpath.shelf import DraftChange


class _ToldOfState(Struct, frozen=True, tag_field="shows", kw_only=True, omit_defaults=True):
    """What every message has.

    number : of the state it is about; a state that another follows has a lower one.
    """

    number: int


class ProblemShown(Struct, frozen=True, omit_defaults=True):
    """What is wrong, and where.

    of : "text" (the typed source), or "choice" (what was asked for, which is left as it was).
    line, column : in the text, from 1, where that is known; ``length`` characters are meant.
    """

    of: str
    says: str
    hint: str = ""
    line: int | None = None
    column: int | None = None
    length: int = 1


class NoteShown(Struct, frozen=True, omit_defaults=True):
    """An event as it is played.

    bar : as it is numbered. tab : in the notation shown. move : in the notation of commands.
    words : in words, its bar first.
    onset, end : beats. midi : as it sounds. seconds : where it begins in the recording it was heard in.
    points : what it costs.
    held : "pin" where a person said so, "typed" where the tab says so.
    avoids : moves that it is not to be played by.
    differs : what is not as given, in words.
    changed : whether the last command changed how it is played.
    doubtful : whether it may have been misheard, and nobody has put it right or said that it is right.
    """

    bar: str
    tab: str
    move: str
    words: str
    onset: float
    end: float
    midi: tuple[int, ...]
    points: float
    seconds: float | None = None
    held: str = ""
    avoids: tuple[str, ...] = ()
    differs: str = ""
    changed: bool = False
    doubtful: bool = False


class PartShown(Struct, frozen=True):
    """A part: hers where a person marked it or the source has it, else as the program would cut."""

    label: str
    first: int
    last: int
    hers: bool


class RibbonShown(Struct, frozen=True):
    """The ribbon's systems: how many, and the pictures of those that changed, by their index."""

    count: int
    systems: tuple[tuple[int, str], ...]


class FactsShown(Struct, frozen=True, omit_defaults=True):
    """What a route is and costs.

    harp, position, key, shift : in words.
    harp_key, tuning, position_number, shift_semitones : the same as they are chosen.
    proposed : whether the program chose the harp.
    effort, effort_before : points, now and before the last command where that can be compared.
    truth : share. comfortable_bpm : quarter notes a minute up to which speed makes nothing hard.
    spots : stretches worth practising apart.
    sits, sits_why : in which form and at which bars of it the phrase sits best, and why, in words; empty for none.
    places : the same for the form that is chosen for the band, and where the phrase now stands in it.
    """

    harp: str
    position: str
    key: str
    shift: str
    harp_key: str
    tuning: str
    position_number: int | None
    shift_semitones: int
    proposed: bool
    effort: float
    truth: float
    comfortable_bpm: float
    bpm: float
    spots: int
    effort_before: float | None = None
    sits: str = ""
    sits_why: str = ""
    places: SaidPlaces = SaidPlaces()


class ChoiceShown(Struct, frozen=True):
    """What is chosen, as `Choose` says it; None and empty where it is left to the program.

    allowed : what the player may do with it all, by technique: depths in semitones, or 0 and 1.
    """

    harp: str
    tuning: str
    owned_only: bool
    position: int | None
    shift_semitones: int | None
    any_key: bool
    level: str
    key: str
    bpm: float | None
    notation: str
    title: str
    allowed: dict[str, int]


class WorkbenchView(_ToldOfState, frozen=True, tag="view"):
    """Everything that is seen at once, of one state.

    answers : id of the command that led to it.
    text, format, name : the typed source. source : "text", "notes" or "" where nothing was brought in yet.
    more_problems : what else can't be read in the text, in its order.
    left_out : what was left out or guessed in reading, in sentences.
    changed : how many events are played otherwise than before the command.
    gone : how many pins went with their notes. band : what is chosen of the band.
    ribbon : None where it is as it was. staff, parts : None where only moves changed since: the tab under the staff
        is that of the notes, and what parts there are is told at rest.
    settling : whether figures are still being compared, after which some notes may be played otherwise.
    """

    answers: int
    title: str
    text: str
    format: str
    name: str
    source: str
    problem: ProblemShown | None
    left_out: tuple[str, ...]
    notes: tuple[NoteShown, ...]
    parts: tuple[PartShown, ...] | None
    marked: tuple[MarkedPart, ...]
    facts: FactsShown | None
    choice: ChoiceShown
    changed: int
    gone: int
    can_undo: bool
    can_redo: bool
    settling: bool
    kept: str
    recording: HeardSpan | None
    band: BandChoice
    ribbon: RibbonShown | None
    staff: str | None
    more_problems: tuple[ProblemShown, ...] = ()


class WrittenShown(_ToldOfState, frozen=True, tag="written"):
    """What is written out at rest: the staff engraved for its tab, the tab as text to copy, the parts.

    staff : None where it is as it was.
    """

    tab: str
    parts: tuple[PartShown, ...]
    staff: str | None


class WayShown(Struct, frozen=True, omit_defaults=True):
    """Another way for an event: what the best route through it adds, in points."""

    move: str
    tab: str
    words: str
    adds: float
    differs: str = ""
    beyond_level: bool = False


class WaysShown(_ToldOfState, frozen=True, tag="ways"):
    """The other ways of an event, least added first."""

    event: int
    ways: tuple[WayShown, ...]


class SurveyLine(Struct, frozen=True):
    """One line of the survey; ``unbeaten``: no other line is both easier and truer; ``chosen``: it is the route's."""

    harp: str
    harp_key: str
    tuning: str
    position: int | None
    shift_semitones: int
    score: float
    effort: float
    worst: float
    truth: float
    unbeaten: bool
    chosen: bool


class SurveyShown(_ToldOfState, frozen=True, tag="survey"):
    """The survey; ``owned``: over the harps that are owned."""

    lines: tuple[SurveyLine, ...]
    owned: bool


class Price(Struct, frozen=True, omit_defaults=True):
    """What a level or a technique would cost or save.

    name : of the level, or the technique as `Choose` names it. value : what to choose for it.
    on : whether the technique may be used now; for a level, whether it is the one chosen.
    adds : points that the route would cost more, lost truth's price included; None for levels, which weigh otherwise.
    truth : of the route then. others : events that would be played otherwise. not_as_given : events that differ from
        the phrase. comfortable_bpm : as of `FactsShown`.
    """

    name: str
    value: str | int | bool
    on: bool
    adds: float | None
    truth: float
    others: int
    not_as_given: int
    comfortable_bpm: float


class PricesShown(_ToldOfState, frozen=True, tag="prices"):
    """Prices found so far; ``done`` when they are all there."""

    levels: tuple[Price, ...]
    techniques: tuple[Price, ...]
    done: bool


class TradeOffPoint(Struct, frozen=True):
    """A route of the chosen harp that no other beats: its effort, its truth, and events not as given."""

    effort: float
    truth: float
    not_as_given: int


class TradeOffShown(_ToldOfState, frozen=True, tag="trade-off"):
    """The trade-off on the chosen harp, the truest first."""

    points: tuple[TradeOffPoint, ...]


class DraftKept(_ToldOfState, frozen=True, tag="kept"):
    """The draft as it is to be kept, told before anything else of it is shown.

    draft : as JSON text, which who keeps it need not read. title : what it is called. sound : the kept recording that
        it was heard in, empty for none.
    how : "step" after the one before, "same" in its place, "undo" or "redo" where it is one that was kept already.
    """

    draft: str
    title: str
    sound: str
    how: DraftChange


class LessonGiven(_ToldOfState, frozen=True, tag="lesson"):
    """The lesson of the route as ``lesson.json``, or what keeps it from being made."""

    answers: int
    title: str
    lesson: str
    problem: ProblemShown | None = None


class WorkRested(_ToldOfState, frozen=True, tag="rested"):
    """Nothing is left to find out about this state."""


WorkbenchMessage: TypeAlias = (
    WorkbenchView
    | WrittenShown
    | WaysShown
    | SurveyShown
    | PricesShown
    | TradeOffShown
    | DraftKept
    | LessonGiven
    | WorkRested
)


def encode_message(message: WorkbenchMessage) -> bytes:
    """A message as JSON."""
    return encode_json(message, indent=-1)


def read_message(data: bytes) -> WorkbenchMessage:
    """A message from JSON."""
    return read_json(data, WorkbenchMessage)  # type: ignore[arg-type]  # a union of Structs is a shape too
