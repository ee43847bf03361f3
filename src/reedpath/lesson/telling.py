"""Telling: the steps of a stretch of events, one after another: rests, breaths, moves, lengths and changes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from reedpath.arrange import Change, ChangeKind, Route, RouteEvent
from reedpath.harp import Breath
from reedpath.lesson.model import Step, StepKind
from reedpath.lesson.repeats import tandem_at
from reedpath.lesson.saying import Voice, move_sentence
from reedpath.phrase import metre_at, practice_beat

__all__ = ["Telling", "tell"]

# counted beats from which a length is said; common practice, no source
HELD_BEATS = 2
# counted beats from which a rest is counted, and from which it is said at all; common practice, no source
COUNTED_REST, SAID_REST = Fraction(1), Fraction(1, 2)
# events of a figure that is said once and then only again; common practice, no source
FIGURE_SIZES = range(2, 7)


@dataclass(frozen=True, slots=True)
class Telling:
    """What is told, and to whom.

    route : whose events.
    tokens : its notes and silences as numbers (see `repeats`).
    voice : in which words.
    """

    route: Route
    tokens: tuple[int, ...]
    voice: Voice

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
        return self.voice.say("beats.whole" if counted == whole else "beats.half", count=whole)

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


def _breath_key(telling: Telling, index: int) -> str:
    """Which way the air goes in the breath before an event, as far as the air left tells."""
    if index == 0:
        return "step.breathe"
    event, before = telling.event(index), telling.event(index - 1)
    rises = event.air_litres > before.air_litres
    if event.choice.move is None or event.air_litres == before.air_litres:
        return "step.breathe"
    if event.choice.move.breath is Breath.DRAW:
        return "step.breathe" if rises else "step.breathe_out"
    return "step.breathe_in" if rises else "step.breathe"


def _pause(telling: Telling, index: int, *, rests: bool) -> Iterator[Step]:
    """Rest and breath before an event; rests only where the stretch already runs."""
    voice, event, silence = telling.voice, telling.event(index), telling.silence(index)
    if rests and silence >= COUNTED_REST:
        key = "step.rest_breathe" if event.breathe_before else "step.rest"
        kind = StepKind.BREATH if event.breathe_before else StepKind.REST
        yield Step(voice.sentence(key, beats=telling.beats_words(silence)), kind, index, index)
    elif event.breathe_before:
        yield Step(voice.sentence(_breath_key(telling, index)), StepKind.BREATH, index, index)
    elif rests and silence >= SAID_REST:
        yield Step(voice.sentence("step.rest_short"), StepKind.REST, index, index)


def _straight_key(event: RouteEvent) -> str:
    ornaments = event.event.ornaments
    if ornaments.bend_in:
        return "differs.straight_bend"
    if ornaments.release:
        return "differs.straight_release"
    slides = ornaments.slide_from is not None or ornaments.slide_to is not None
    return "differs.straight_slide" if slides else "differs.straight"


def _change_words(voice: Voice, event: RouteEvent, change: Change) -> str | None:
    """What a change against the source is called; None where the step itself says it."""
    note = voice.catalogue.note
    asked, given = change.asked_midi, change.given_midi
    if change.kind is ChangeKind.OCTAVE:
        octaves = (asked[-1] - given[-1]) // 12
        return voice.sentence(f"differs.octave_{'lower' if octaves > 0 else 'higher'}", count=abs(octaves))
    if change.kind is ChangeKind.HARMONY:
        names = [voice.catalogue.join([note(midi) for midi in notes]) for notes in (asked, given)]
        return voice.sentence("differs.harmony", asked=names[0], given=names[1])
    if change.kind is ChangeKind.MISSING:
        missing = [midi for midi in asked if midi not in given]
        names_missing = voice.catalogue.join([note(midi) for midi in missing])
        return voice.sentence("differs.missing", count=len(missing), notes=names_missing)
    return voice.sentence(_straight_key(event)) if change.kind is ChangeKind.STRAIGHT else None


def _same_change(event: RouteEvent, before: RouteEvent, change: Change) -> bool:
    """Whether the event before was changed in the same way, so that "here too" says it."""
    if change.kind not in (ChangeKind.OCTAVE, ChangeKind.STRAIGHT):
        return False

    def way(one: RouteEvent, kind: Change) -> tuple[object, ...]:
        return kind.kind, kind.asked_midi[-1] - kind.given_midi[-1], _straight_key(one)

    return any(one.kind is change.kind and way(before, one) == way(event, change) for one in before.choice.changes)


def _changes(telling: Telling, first: int, index: int, last: int) -> Iterator[Step]:
    """What differs from the source at the events from ``index`` to ``last``, which are played alike."""
    event = telling.event(index)
    for change in event.choice.changes:
        also = index > first and _same_change(event, telling.event(index - 1), change)
        text = telling.voice.sentence("differs.also") if also else _change_words(telling.voice, event, change)
        if text is not None:
            yield Step(text, StepKind.CHANGE, index, last)


def _run_end(telling: Telling, index: int, last: int) -> int:
    """Last of the events from one on that are played alike without a pause between."""
    event, end = telling.event(index), index
    while end < last:
        following = telling.event(end + 1)
        alike = (
            following.choice == event.choice
            and following.event.ornaments == event.event.ornaments
            and following.event.grace == event.event.grace
            and telling.held(end + 1) == telling.held(index)
            and not telling.paused(end + 1)
        )
        if not alike or event.choice.move is None:
            break
        end += 1
    return end


def _one(telling: Telling, first: int, index: int, last: int, opening: str) -> Iterator[Step]:
    """The steps of one event, or of a run of equal ones up to ``last``."""
    event = telling.event(index)
    before = telling.event(index - 1) if index > first else None
    if index > first or index > 0:
        yield from _pause(telling, index, rests=index > first)
    joined = before is not None and not telling.paused(index)
    text = move_sentence(telling.voice, before, event, joined=joined, times=last - index + 1, opening=opening)
    yield Step(text, StepKind.MOVE, index, last)
    held = telling.held(index)
    if held and event.choice.move is not None:
        yield Step(telling.voice.sentence("step.hold", beats=telling.beats_words(held)), StepKind.HOLD, index, last)
    yield from _changes(telling, first, index, last)


def _again(telling: Telling, start: int, size: int, times: int) -> Step:
    """The step that says a figure again: its first playing starts at an event."""
    voice = telling.voice
    figure = voice.say("step.figure", count=size)
    if times == 2:
        text = voice.sentence("step.figure_again", figure=figure)
    else:
        text = voice.sentence("step.figure_more", figure=figure, count=times - 1)
    return Step(text, StepKind.FIGURE, start + size, start + size * times - 1)


def _figure_at(telling: Telling, index: int, last: int) -> tuple[int, int]:
    """The figure that begins at an event and is played again at once, where it is more than one event's run."""
    size, times = tandem_at(telling.tokens, index, last, sizes=FIGURE_SIZES)
    notes = {telling.tokens[2 * place] for place in range(index, index + size)}
    return (size, times) if len(notes) > 1 else (0, 1)


def tell(telling: Telling, first: int, last: int, *, opening: str = "lead.start") -> Iterator[Step]:
    """The steps of the events from one to another, inclusive."""
    index = first
    while index <= last:
        size, times = _figure_at(telling, index, last)
        if times > 1:
            at = index
            while at < index + size:
                end = _run_end(telling, at, index + size - 1)
                yield from _one(telling, first, at, end, opening)
                at = end + 1
            yield _again(telling, index, size, times)
            index += size * times
        else:
            end = _run_end(telling, index, last)
            yield from _one(telling, first, index, end, opening)
            index = end + 1
