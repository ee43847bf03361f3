"""Event steps: the steps of a stretch of events, one after another: rests, breaths, moves, lengths and changes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from reedpath.arrange import OF_ORNAMENTS, Change, ChangeKind, Route, RouteEvent
from reedpath.harp import Breath
from reedpath.lesson.model import Step, StepKind
from reedpath.lesson.repeats import tandem_at
from reedpath.lesson.sentences import Speaker, move_sentence
from reedpath.phrase import metre_at, practice_beat

__all__ = ["SpokenRoute", "event_steps"]

# counted beats from which a length is said; common practice, no source
HELD_BEATS = 2
# counted beats from which a rest is counted, and from which it is said at all; common practice, no source
COUNTED_REST, SAID_REST = Fraction(1), Fraction(1, 2)
# events of a figure that is said once and then only again; common practice, no source
FIGURE_SIZES = range(2, 7)


@dataclass(frozen=True, slots=True)
class SpokenRoute:
    """A route as it is told: its events, their lengths in counted beats, the words.

    route : whose events.
    tokens : its notes and silences as numbers (see `repeats`).
    speaker : in which words.
    """

    route: Route
    tokens: tuple[int, ...]
    speaker: Speaker

    def event(self, index: int) -> RouteEvent:
        """The route's event of that index."""
        return self.route.events[index]

    def counted(self, index: int, length: Fraction) -> Fraction:
        """A length in counted beats at an event, to the nearest half."""
        beat = practice_beat(metre_at(self.route.phrase, self.event(index).event.onset))
        return Fraction(round(2 * length / beat), 2)

    def beats_words(self, counted: Fraction) -> str:
        """A number of counted beats in words: "two beats", "a beat and a half"."""
        whole = int(counted)
        return self.speaker.say("beats.whole" if counted == whole else "beats.half", count=whole)

    def silence(self, index: int) -> Fraction:
        """Silence before an event in counted beats; 0 before the first."""
        if index == 0:
            return Fraction(0)
        gap = self.event(index).event.onset - self.event(index - 1).event.end
        return self.counted(index, max(Fraction(0), gap))

    def held(self, index: int) -> Fraction:
        """Length of an event in counted beats where it is long enough to be said, else 0."""
        counted = self.counted(index, self.event(index).event.duration)
        return counted if counted >= HELD_BEATS else Fraction(0)

    def paused(self, index: int) -> bool:
        """Whether something is said between the event before and this one."""
        return self.event(index).breathe_before or self.silence(index) >= SAID_REST


def _breath_key(spoken: SpokenRoute, index: int) -> str:
    """Which way the air goes in the breath before an event, as far as the air left tells."""
    if index == 0:
        return "step.breathe"
    event, before = spoken.event(index), spoken.event(index - 1)
    rises = event.air_litres > before.air_litres
    if event.choice.move is None or event.air_litres == before.air_litres:
        return "step.breathe"
    if event.choice.move.breath is Breath.DRAW:
        return "step.breathe" if rises else "step.breathe_out"
    return "step.breathe_in" if rises else "step.breathe"


def _pause(spoken: SpokenRoute, index: int, *, rests: bool) -> Iterator[Step]:
    """Rest and breath before an event; rests only where the stretch already runs."""
    speaker, event, silence = spoken.speaker, spoken.event(index), spoken.silence(index)
    if index == 0 and spoken.route.breathe_first is not None:
        key = "step.first_out" if spoken.route.breathe_first is Breath.BLOW else "step.first_in"
        yield Step(speaker.sentence(key), StepKind.BREATH, index, index)
    if rests and silence >= COUNTED_REST:
        key = "step.rest_breathe" if event.breathe_before else "step.rest"
        kind = StepKind.BREATH if event.breathe_before else StepKind.REST
        yield Step(speaker.sentence(key, beats=spoken.beats_words(silence)), kind, index, index)
    elif event.breathe_before:
        yield Step(speaker.sentence(_breath_key(spoken, index)), StepKind.BREATH, index, index)
    elif rests and silence >= SAID_REST:
        yield Step(speaker.sentence("step.rest_short"), StepKind.REST, index, index)


def _straight_key(event: RouteEvent) -> str:
    ornaments = event.event.ornaments
    if ornaments.bend_in:
        return "differs.straight_bend"
    if ornaments.release:
        return "differs.straight_release"
    slides = ornaments.slide_from is not None or ornaments.slide_to is not None
    return "differs.straight_slide" if slides else "differs.straight"


def _change_words(speaker: Speaker, event: RouteEvent, change: Change) -> str | None:
    """What a change against the source is called; None where the step itself says it."""
    note = speaker.catalogue.note
    asked, given = change.asked_midi, change.given_midi
    if change.kind is ChangeKind.OCTAVE:
        octaves = (asked[-1] - given[-1]) // 12
        return speaker.sentence(f"differs.octave_{'lower' if octaves > 0 else 'higher'}", count=abs(octaves))
    if change.kind is ChangeKind.HARMONY:
        names = [speaker.catalogue.join([note(midi) for midi in notes]) for notes in (asked, given)]
        return speaker.sentence("differs.harmony", asked=names[0], given=names[1])
    if change.kind is ChangeKind.MISSING:
        missing = [midi for midi in asked if midi not in given]
        names_missing = speaker.catalogue.join([note(midi) for midi in missing])
        return speaker.sentence("differs.missing", count=len(missing), notes=names_missing)
    if change.kind is ChangeKind.ADDED:
        added = [midi for midi in given if midi not in asked]
        if len(asked) == 1 and all((midi - asked[0]) % 12 == 0 for midi in added):
            return speaker.sentence("differs.added_octave")
        names_added = [speaker.catalogue.join([note(midi) for midi in notes]) for notes in (asked, added)]
        return speaker.sentence("differs.added", asked=names_added[0], notes=names_added[1])
    if change.kind is ChangeKind.STRAIGHT:
        return speaker.sentence(_straight_key(event))
    return speaker.sentence(f"differs.{change.kind}") if change.kind in OF_ORNAMENTS else None


def _same_change(event: RouteEvent, before: RouteEvent, change: Change) -> bool:
    """Whether the event before was changed in the same way, so that "here too" says it."""
    if change.kind not in (ChangeKind.OCTAVE, ChangeKind.ADDED, *OF_ORNAMENTS):
        return False

    def way(one: RouteEvent, kind: Change) -> tuple[object, ...]:
        return kind.kind, kind.asked_midi[-1] - kind.given_midi[-1], _straight_key(one)

    return any(one.kind is change.kind and way(before, one) == way(event, change) for one in before.choice.changes)


def _changes(spoken: SpokenRoute, first: int, index: int, last: int) -> Iterator[Step]:
    """What differs from the source, and from the same figure before, at events that are played alike."""
    event = spoken.event(index)
    unlike = {again for one in spoken.route.unlike for again in one.events[1:]}
    if index in unlike and index - 1 not in unlike:
        yield Step(spoken.speaker.sentence("differs.unlike"), StepKind.CHANGE, index, last)
    for change in event.choice.changes:
        also = index > first and _same_change(event, spoken.event(index - 1), change)
        text = spoken.speaker.sentence("differs.also") if also else _change_words(spoken.speaker, event, change)
        if text is not None:
            yield Step(text, StepKind.CHANGE, index, last)


def _run_end(spoken: SpokenRoute, index: int, last: int) -> int:
    """Last of the events from one on that are played alike without a pause between."""
    event, end = spoken.event(index), index
    while end < last:
        following = spoken.event(end + 1)
        alike = (
            following.choice == event.choice
            and following.event.ornaments == event.event.ornaments
            and following.event.grace == event.event.grace
            and spoken.held(end + 1) == spoken.held(index)
            and not spoken.paused(end + 1)
        )
        if not alike or event.choice.move is None:
            break
        end += 1
    return end


def _one(spoken: SpokenRoute, first: int, index: int, last: int, opening: str) -> Iterator[Step]:
    """The steps of one event, or of a run of equal ones up to ``last``."""
    event = spoken.event(index)
    before = spoken.event(index - 1) if index > first else None
    yield from _pause(spoken, index, rests=index > first)
    joined = before is not None and not spoken.paused(index)
    text = move_sentence(spoken.speaker, before, event, joined=joined, times=last - index + 1, opening=opening)
    yield Step(text, StepKind.MOVE, index, last)
    held = spoken.held(index)
    if held and event.choice.move is not None:
        yield Step(spoken.speaker.sentence("step.hold", beats=spoken.beats_words(held)), StepKind.HOLD, index, last)
    yield from _changes(spoken, first, index, last)


def _again(spoken: SpokenRoute, start: int, size: int, times: int) -> Step:
    """The step that says a figure again: its first playing starts at an event."""
    speaker = spoken.speaker
    figure = speaker.say("step.figure", count=size)
    if times == 2:
        text = speaker.sentence("step.figure_again", figure=figure)
    else:
        text = speaker.sentence("step.figure_more", figure=figure, count=times - 1)
    return Step(text, StepKind.FIGURE, start + size, start + size * times - 1)


def _figure_at(spoken: SpokenRoute, index: int, last: int) -> tuple[int, int]:
    """The figure that begins at an event and is played again at once, where it is more than one event's run."""
    size, times = tandem_at(spoken.tokens, index, last, sizes=FIGURE_SIZES)
    notes = {spoken.tokens[2 * place] for place in range(index, index + size)}
    return (size, times) if len(notes) > 1 else (0, 1)


def event_steps(spoken: SpokenRoute, first: int, last: int, *, opening: str = "lead.start") -> Iterator[Step]:
    """The steps of the events from one to another, inclusive."""
    index = first
    while index <= last:
        size, times = _figure_at(spoken, index, last)
        if times > 1:
            at = index
            while at < index + size:
                end = _run_end(spoken, at, index + size - 1)
                yield from _one(spoken, first, at, end, opening)
                at = end + 1
            yield _again(spoken, index, size, times)
            index += size * times
        else:
            end = _run_end(spoken, index, last)
            yield from _one(spoken, first, index, end, opening)
            index = end + 1
