"""The lesson: a route made teachable. Data only; how it is drawn, spoken or heard is decided elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from itertools import groupby
from typing import Annotated, Literal

from msgspec import Meta, Struct, field
from msgspec.structs import force_setattr

from reedpath.arrange import Pin, Route, Spot
from reedpath.data.numbers import FASTEST_BPM, Index, Share
from reedpath.errors import clean_text

# names in JSON
IN_JSON = {"first": "first_event", "last": "last_event", "shared": "shared_events"}
# quarter notes a minute, of the slowest rung of the slowest phrase
SLOWEST_BPM = 0.001

BlockKind = Literal["intro", "part", "through", "spots", "tempos"]
RungName = Literal["slow", "faster", "faster-still", "nearly", "full"]


class LessonPart(Struct, frozen=True, rename=IN_JSON):
    """A stretch of the route taught at a time.

    label : the source's own label, or a letter found by the program.
    first, last : indexes of route events, inclusive.
    same_as : index of the earlier part that this one repeats move for move, None for a new one.
    like : index of the earlier part that this one begins as, with another ending; None for no such part.
    shared : how many of its first events are those of that part.
    found : whether the program found the part and named it, rather than the source.
    """

    label: str
    first: Index
    last: Index
    same_as: Index | None = None
    like: Index | None = None
    shared: Index = 0
    found: bool = False

    def __post_init__(self) -> None:
        force_setattr(self, "label", clean_text(self.label))


class Rung(Struct, frozen=True):
    """One tempo of the ladder.

    name : key of its name in the catalogues ("slow", "faster", ..., "full").
    factor : share of the full tempo, 0 to 1.
    bpm : quarter notes a minute at the start.
    """

    name: RungName
    factor: Share
    bpm: Annotated[float, Meta(ge=SLOWEST_BPM, le=FASTEST_BPM)]


class Drill(Struct, frozen=True):
    """A spot to practise apart.

    spot : where and why.
    times : how often to play it at each rung before going on.
    ladder : its own tempos.
    """

    spot: Spot
    times: Annotated[int, Meta(ge=1, le=100)]
    ladder: tuple[Rung, ...]


class WordsKind(StrEnum):
    """What a person's own words are."""

    SENTENCE = "sentence"  # in place of what the program says of an event or a few; empty for nothing
    HEADING = "heading"  # in place of the heading of a block
    NOTE = "note"  # beside what the program says, after it


class StepPlace(Struct, frozen=True, omit_defaults=True, rename=IN_JSON | {"part": "part_first_event"}):
    """Where something is said: in which block, and of which events there.

    block : kind of the block.
    part : index of the first event of the parts that the block is about; where it plays them in one go, of the last
        of them.
    first, last : indexes of the events that it speaks of, inclusive; None for the block itself and for what speaks of
        no event.
    number : the how-manieth of its block that speaks of these, from 1; 0 for the block itself.
    """

    block: BlockKind
    part: Index | None = None
    first: Index | None = None
    last: Index | None = None
    number: Index = 0


class OwnWords(Struct, frozen=True, omit_defaults=True):
    """What a person says in a lesson herself.

    language : name of the catalogue that she says it in.
    kind : what it is.
    place : where; a note stands after what is said there.
    text : her words.
    instead : what the program said there.
    moves : of the events that the words are about, as they were then, in signs.
    """

    language: str
    kind: WordsKind
    place: StepPlace
    text: str
    instead: str = ""
    moves: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        force_setattr(self, "text", clean_text(self.text))


class Lesson(Struct, frozen=True):
    """A route made teachable.

    title : the phrase's title, or one made from its key and position.
    route : what is to be played, as found by the search.
    parts : in order, covering every event once.
    ladder : slow to full.
    drills : spots to practise apart, the hardest first.
    notation : name of the tab notation to print.
    languages : catalogues to write steps in.
    paper : name of the hand-out's paper.
    pins : what was said of single events and is kept.
    own_words : what is said otherwise than the program says it.
    author, date : who made it and when, in their own words.
    part_names : what its parts are called, by language and label.
    """

    title: str
    route: Route
    parts: tuple[LessonPart, ...]
    ladder: Annotated[tuple[Rung, ...], Meta(min_length=1)]
    drills: tuple[Drill, ...]
    notation: str
    languages: Annotated[tuple[str, ...], Meta(min_length=1)]
    paper: str = "a4"
    pins: tuple[Pin, ...] = ()
    own_words: tuple[OwnWords, ...] = ()
    author: str = ""
    date: str = ""
    part_names: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in ("title", "author", "date"):
            force_setattr(self, name, clean_text(getattr(self, name)))
        if self.part_names:
            cleaned = {
                language: {label: clean_text(name) for label, name in names.items()}
                for language, names in self.part_names.items()
            }
            force_setattr(self, "part_names", cleaned)


class StepKind(StrEnum):
    """What a step is about."""

    INTRO = "intro"  # before playing
    MOVE = "move"  # an event, or several in a row that are the same
    FIGURE = "figure"  # a few events just played, again
    HOLD = "hold"  # how long the event sounds
    REST = "rest"  # silence before the event
    TIME = "time"  # a tempo or a metre that changes at the event
    SOUND = "sound"  # what several holes give together, and what is common to a row of notes
    ADVICE = "advice"  # what an overblow or overdraw asks of harp and player
    BREATH = "breath"  # air taken or let out before the event
    CHANGE = "change"  # what differs from the source
    REPEAT = "repeat"  # a part played before
    THROUGH = "through"  # parts in one go, mostly from the start
    SEAM = "seam"  # how a part joins on to the one before
    SPOT = "spot"  # something to practise apart
    LADDER = "ladder"  # a tempo
    NOTE = "note"  # a person's own, beside what the program says


# kinds of steps that are said together when they are of one event
_OF_AN_EVENT = frozenset(
    {
        StepKind.MOVE,
        StepKind.HOLD,
        StepKind.REST,
        StepKind.BREATH,
        StepKind.CHANGE,
        StepKind.TIME,
        StepKind.SOUND,
    }
)
# kinds of steps that play what they speak of
_PLAYED = frozenset({StepKind.MOVE, StepKind.FIGURE, StepKind.SPOT, StepKind.THROUGH, StepKind.SEAM})
# kinds of steps that say of events as they come how they are played
_OF_PLAYING = frozenset({StepKind.MOVE, StepKind.FIGURE, StepKind.REPEAT})
# kinds of steps that are said together when they are of the same events
_OF_A_STRETCH = frozenset({StepKind.SPOT, StepKind.ADVICE})


class Step(Struct, frozen=True, rename=IN_JSON):
    """One thing that the teacher says.

    text : a short sentence, or two; empty where a person has nothing said, or says it in another language alone.
    kind : what it is about.
    first, last : indexes of the route events that it speaks of, inclusive; None where it speaks of none.
    """

    text: str
    kind: StepKind
    first: Index | None = None
    last: Index | None = None


class StepGroup(Struct, frozen=True):
    """Steps said together: what is said before, of and after one event, of one spot, or in advice; any other alone.

    steps : at least one, in order.
    """

    steps: tuple[Step, ...]

    @property
    def text(self) -> str:
        """All of it, one sentence after the other."""
        return " ".join(step.text for step in self.steps if step.text)

    @property
    def kind(self) -> StepKind:
        """Kind of its first step."""
        return self.steps[0].kind

    @property
    def first(self) -> int | None:
        """Index of the first event that it speaks of, None where it speaks of none."""
        return min((step.first for step in self.steps if step.first is not None), default=None)

    @property
    def last(self) -> int | None:
        """Index of the last event that it speaks of, None where it speaks of none."""
        return max((step.last for step in self.steps if step.last is not None), default=None)

    @property
    def is_played(self) -> bool:
        """Whether it has the events that it speaks of played, rather than speak of what is around them."""
        return any(step.kind in _PLAYED for step in self.steps)

    @property
    def is_of_playing(self) -> bool:
        """Whether it says how its events are played, and not what is around them, of practice or of the harp."""
        return any(step.kind in _OF_PLAYING for step in self.steps)

    @property
    def moves(self) -> tuple[int, ...]:
        """Indexes of the events that it says how to play."""
        move = next((step for step in self.steps if step.kind is StepKind.MOVE), None)
        if move is None or move.first is None or move.last is None:
            return ()
        return tuple(range(move.first, move.last + 1))


class StepBlock(Struct, frozen=True):
    """What the teacher says in one go: of a part (or of several), or before and after the parts.

    title : heading.
    steps : in order.
    parts : indexes of the lesson's parts that it is about, none where it is about none.
    """

    title: str
    steps: tuple[Step, ...]
    parts: tuple[Index, ...] = ()

    @property
    def kind(self) -> StepKind:
        """Kind of the first step that is not a person's note."""
        return next((step.kind for step in self.steps if step.kind is not StepKind.NOTE), StepKind.INTRO)

    @property
    def is_through(self) -> bool:
        """Whether it joins parts by playing them in one go."""
        return self.kind is StepKind.THROUGH

    @property
    def groups(self) -> tuple[StepGroup, ...]:
        """Its steps in order, those in one group that are said together."""

        def said_with(pair: tuple[int, Step]) -> tuple[object, ...]:
            place, step = pair
            if step.kind in _OF_AN_EVENT:
                return ("event", step.first)
            return (step.kind, step.first, step.last) if step.kind in _OF_A_STRETCH else (place,)

        runs = groupby(enumerate(self.steps), key=said_with)
        return tuple(StepGroup(tuple(step for _, step in run)) for _, run in runs)
