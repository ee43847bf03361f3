"""Routes: one choice for each event of a phrase, what it costs and what it changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct, field

from reedpath.data.numbers import Index, Litres, Midi, Points, Semitones, Share
from reedpath.harp import Breath, Harp, Move, midi_of
from reedpath.phrase import Event, Phrase

# names in JSON
IN_JSON = {"first": "first_event", "last": "last_event", "comfortable": "comfortable_tempo"}
# times the written tempo; over any that `speed` finds, ours
MOST_COMFORTABLE = 1_000.0


class ChangeKind(StrEnum):
    """What a route does differently from the phrase as given."""

    OCTAVE = "octave"  # the note an octave or two away
    HARMONY = "harmony"  # a neighbouring note of the harmony or scale in its place
    MISSING = "missing"  # a note of a chord left out
    ADDED = "added"  # a note sounded beside it, such as its octave
    SHALLOW = "shallow"  # a bend or release that goes less far than asked
    STEPPED = "stepped"  # a bend played as two notes, with a turn of the breath between them
    STRAIGHT = "straight"  # a bend, release or slide played as a straight note
    SILENT = "silent"  # nothing that could stand for it: the event is not played


# changes to how a note is begun or ended; its pitch is as given
OF_ORNAMENTS = frozenset({ChangeKind.SHALLOW, ChangeKind.STEPPED, ChangeKind.STRAIGHT})


class Change(Struct, frozen=True):
    """One difference between the phrase as given and the route.

    kind : what was done.
    asked_midi, given_midi : MIDI numbers, the latter as they sound on the harp.
    loss : how much of this event's truth it costs, 0 to 1.
    """

    kind: ChangeKind
    asked_midi: tuple[Midi, ...]
    given_midi: tuple[Midi, ...]
    loss: Share


class Choice(Struct, frozen=True):
    """How one event is played.

    move : the move that sounds the event (or stands in for it); None only where a change is SILENT.
    attack_semitones : where the sound starts, relative to its pitch: 0, or -k where the note is attacked bent
        by k and let go (a string bend), or k where it is pressed down into a bend (a slide from above).
    fall_semitones : where the sound ends, relative to its pitch: 0, or -k where it is pressed down by k.
    lead_in, lead_out : moves run through just before or after, where a bend or slide crosses holes.
    changes : what differs from the event as given.
    """

    move: Move | None
    attack_semitones: Semitones = 0.0
    fall_semitones: Semitones = 0.0
    lead_in: tuple[Move, ...] = ()
    lead_out: tuple[Move, ...] = ()
    changes: tuple[Change, ...] = ()

    @property
    def is_plain(self) -> bool:
        """Whether the move is played without anything run through or bent on the way in or out."""
        return not (self.attack_semitones or self.fall_semitones or self.lead_in or self.lead_out)

    @property
    def moves(self) -> tuple[Move, ...]:
        """All that is played, in order: what is run through into the note, its own move, what it runs off into."""
        return (*self.lead_in, *(() if self.move is None else (self.move,)), *self.lead_out)


class Effort(Struct, frozen=True):
    """What something costs a player, in points.

    terms : points by the name of the term; they sum to the total.
    """

    terms: Mapping[str, Points] = field(default_factory=dict)

    @property
    def total(self) -> float:
        """Sum of all terms, points."""
        return sum(self.terms.values())

    @staticmethod
    def sum_of(efforts: Iterable[Effort]) -> Effort:
        """Several efforts added up, term by term."""
        terms: dict[str, float] = {}
        for effort in efforts:
            for name, points in effort.terms.items():
                terms[name] = terms.get(name, 0.0) + points
        return Effort(terms)


class RouteEvent(Struct, frozen=True):
    """One event of a route.

    event : the event asked for, at the pitch that the harp is to sound (after any shift).
    choice : how it is played.
    effort : what playing it costs, getting there included.
    breathe_before : whether a breath is taken before it.
    air_litres : air in the lungs after it, litres above the emptiest the player should be.
    """

    event: Event
    choice: Choice
    effort: Effort
    breathe_before: bool = False
    air_litres: Litres = 0.0


class Spot(Struct, frozen=True, rename=IN_JSON):
    """A stretch of a route that is hard enough to practise apart.

    first, last : indexes of events, inclusive.
    effort : points over the stretch.
    reasons : names of the terms that make it hard, the heaviest first.
    """

    first: Index
    last: Index
    effort: Points
    reasons: tuple[str, ...]


class Unlike(Struct, frozen=True, rename={"events": "event_indexes"}):
    """One place of a figure that is fingered differently where the figure comes again.

    events : indexes of the events, the first of them that of the figure as it comes first.
    adds : points that it would cost to have them alike, all else free.
    """

    events: tuple[Index, ...]
    adds: Points


class Route(Struct, frozen=True, rename=IN_JSON):
    """One way to play a phrase on a harp.

    phrase : the performed phrase at the pitch the harp is to sound (after the shift).
    harp : the instrument.
    position : 1 to 12, or None where the phrase's key is unknown.
    shift_semitones : how far the phrase was moved to be played here.
    events : one per event of the phrase.
    truth : 1 where every note is as given, 0 where none is.
    worst : the hardest spot, None for an empty route.
    spots : the spots to practise apart, in order.
    level : name of the player's level.
    comfortable : highest share of the phrase's tempo at which speed alone makes no event hard for this player (see
        `speed`); over 1 where there is room to spare.
    breathe_first : what to do before the first note: blow, to empty the lungs for what is drawn, or draw, to fill
        them; None where nothing is needed.
    unlike : places of figures that are fingered differently all the same, since alike they would cost too much.
    """

    phrase: Phrase
    harp: Harp
    position: Annotated[int, Meta(ge=1, le=12)] | None
    shift_semitones: Annotated[int, Meta(ge=-127, le=127)]
    events: tuple[RouteEvent, ...]
    truth: Share
    worst: Spot | None = None
    spots: tuple[Spot, ...] = ()
    level: str = ""
    comfortable: Annotated[float, Meta(gt=0.0, le=MOST_COMFORTABLE)] = 1.0
    breathe_first: Breath | None = None
    unlike: tuple[Unlike, ...] = ()

    @property
    def effort(self) -> Effort:
        """What the whole route costs, term by term."""
        return Effort.sum_of(event.effort for event in self.events)

    @property
    def changes(self) -> tuple[tuple[int, Change], ...]:
        """All differences from the phrase, with the index of their event."""
        return tuple((index, change) for index, one in enumerate(self.events) for change in one.choice.changes)

    def moves(self, first: int = 0, last: int | None = None) -> list[Move]:
        """The moves of the events from one to another, inclusive; all for none named."""
        events = self.events[first : None if last is None else last + 1]
        return [one.choice.move for one in events if one.choice.move is not None]

    def fifths(self, index: int, also: Iterable[int] = ()) -> tuple[int, ...]:
        """How the notes of an event are spelt: places on the line of fifths.

        Its notes are those asked for, those played, and ``also`` these MIDI numbers.
        """
        from reedpath.phrase import note_fifths

        event, changes = self.events[index].event, self.events[index].choice.changes
        after = self.sounding_midi(index + 1) if index + 1 < len(self.events) else ()
        changed = (midi for change in changes for midi in (*change.asked_midi, *change.given_midi))
        named = dict.fromkeys((*event.named_midi, *self.sounding_midi(index), *changed, *also))
        return tuple(
            note_fifths(midi, self.phrase.key, goes_up=bool(after) and min(after) > midi, written=event.fifths)
            for midi in named
        )

    def sounding_midi(self, index: int) -> tuple[int, ...]:
        """MIDI numbers that the event of that index sounds, empty where it is silent."""
        move = self.events[index].choice.move
        return () if move is None else midi_of(self.harp, move)
