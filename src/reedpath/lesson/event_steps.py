"""Event steps: the steps of a stretch of events, one after another: rests, breaths, moves, lengths and changes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import groupby
from typing import TypeAlias

from reedpath.arrange import OF_ORNAMENTS, Change, ChangeKind, RouteEvent
from reedpath.lesson.model import Step, StepKind
from reedpath.lesson.overbend_advice import advice_sentences
from reedpath.lesson.pauses import pause_steps, sign_steps
from reedpath.lesson.repeats import FIGURE_SIZES, tandem_at
from reedpath.lesson.sentences import Speaker, move_sentence
from reedpath.lesson.spoken_route import SAID_REST, SpokenRoute
from reedpath.lesson.together import together_sentences

# counted beats of the longest sound of several holes that is told to be short; common practice, no source
STAB_BEATS = Fraction(1, 2)
# notes in a row that are accented or shaken, from which it is said once for all of them; common practice, no source
SAID_FOR_ALL = 3
# ornaments of which it is said so; fields of `Ornaments`, keys of the catalogues under "row"
SAID_IN_ROWS = ("accent", "vibrato")

# of notes in a row: the row's first event, and how many it has
_Rows: TypeAlias = dict[int, tuple[int, int]]


def _straight_key(event: RouteEvent) -> str:
    ornaments = event.event.ornaments
    if ornaments.bend_in:
        return "differs.straight_bend"
    if ornaments.release:
        return "differs.straight_release"
    slides = ornaments.slide_from is not None or ornaments.slide_to is not None
    return "differs.straight_slide" if slides else "differs.straight"


def _change_words(speaker: Speaker, event: RouteEvent, change: Change, spelt: Sequence[int]) -> str | None:
    """What a change against the source is called, its notes as they are spelt; None where the step itself says it."""

    def notes(midis: Iterable[int]) -> str:
        named = [speaker.catalogue.note(midi, spelt=spelt) for midi in midis]
        return speaker.catalogue.join([speaker.catalogue.say("differs.note", note=one) for one in named])

    asked, given = change.asked_midi, change.given_midi
    if change.kind is ChangeKind.OCTAVE:
        octaves = (asked[-1] - given[-1]) // 12
        return speaker.sentence(f"differs.octave_{'lower' if octaves > 0 else 'higher'}", count=abs(octaves))
    if change.kind is ChangeKind.HARMONY:
        return speaker.sentence("differs.harmony", asked=notes(asked), given=notes(given))
    if change.kind is ChangeKind.MISSING:
        missing = [midi for midi in asked if midi not in given]
        return speaker.sentence("differs.missing", count=len(missing), notes=notes(missing))
    if change.kind is ChangeKind.ADDED:
        added = [midi for midi in given if midi not in asked]
        if len(asked) == 1 and all((midi - asked[0]) % 12 == 0 for midi in added):
            return speaker.sentence("differs.added_octave")
        return speaker.sentence("differs.added", asked=notes(asked), notes=notes(added))
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
        text = (
            spoken.speaker.sentence("differs.also")
            if also
            else _change_words(spoken.speaker, event, change, spoken.route.fifths(index))
        )
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


def _rows(spoken: SpokenRoute, first: int, last: int) -> dict[str, _Rows]:
    """Notes in a row that are all accented, or all shaken: for each its row's first event and how many it has.

    Only rows that are long enough to be said once for all.
    """
    rows: dict[str, _Rows] = {}
    for name in SAID_IN_ROWS:
        marked = [
            spoken.event(index).choice.move is not None and getattr(spoken.event(index).event.ornaments, name)
            for index in range(first, last + 1)
        ]
        found = rows[name] = {}
        start = first
        for has, run in groupby(marked):
            count = len(list(run))
            if has and count >= SAID_FOR_ALL:
                found |= {index: (start, count) for index in range(start, start + count)}
            start += count
    return rows


def _is_stab(spoken: SpokenRoute, index: int) -> bool:
    """Whether several holes sound short without an accent, with a rest after them."""
    one, after = spoken.event(index), index + 1
    if one.choice.move is None or len(one.choice.move.holes) < 2 or after == len(spoken.route.events):
        return False
    if one.event.ornaments.accent:
        return False  # told to be sharp
    return spoken.counted(index, one.event.duration) <= STAB_BEATS and spoken.silence(after) >= SAID_REST


def _sounds(spoken: SpokenRoute, index: int, last: int) -> Iterator[Step]:
    """What several holes give together, where they first do, and that they are short, where others were not."""
    move = spoken.event(index).choice.move
    if move is not None and _is_stab(spoken, last) and not (index and _is_stab(spoken, index - 1)):
        text = spoken.speaker.sentence("row.short", count=len(move.holes))
        yield Step(text, StepKind.SOUND, index, last)
    if index in spoken.together:
        for text in together_sentences(spoken.route, index, spoken.speaker):
            yield Step(text, StepKind.SOUND, index, last)


def _advice(spoken: SpokenRoute, index: int, last: int) -> Iterator[Step]:
    """What the first overblow or overdraw asks of harp and player, where it comes."""
    kinds = spoken.overbends.get(index, ())
    for place, kind in enumerate(kinds):
        is_first = place == 0 and index == min(spoken.overbends)
        for text in advice_sentences(spoken.route, kind, spoken.speaker, caution=is_first):
            yield Step(text, StepKind.ADVICE, index, last)


def _before(spoken: SpokenRoute, first: int, index: int, *, goes_on: bool) -> RouteEvent | None:
    """The event that an event is told from: the last one played since the first, or one left out where none was.

    goes_on : whether what was played before the first event counts.
    """
    earliest = 0 if goes_on else first
    if index == earliest:
        return None
    played = (one for one in range(index - 1, earliest - 1, -1) if spoken.event(one).choice.move is not None)
    return spoken.event(next(played, index - 1))


def _one(
    spoken: SpokenRoute, first: int, index: int, last: int, *, goes_on: bool, rows: Mapping[str, _Rows]
) -> Iterator[Step]:
    """The steps of one event, or of a run of equal ones up to ``last``."""
    event = spoken.event(index)
    # what follows on from a part that is known begins from its last note
    before = _before(spoken, first, index, goes_on=goes_on)
    opens = index == first and not goes_on
    yield from sign_steps(spoken, index, about=index)
    yield from pause_steps(spoken, index, opens=opens, about=index)
    joined = index > first and not spoken.paused(index) and spoken.event(index - 1).choice.move is not None
    times = last - index + 1
    in_row = {name: row[index] for name, row in rows.items() if index in row and row[index] != (index, times)}
    text = move_sentence(spoken.speaker, before, event, joined=joined, times=times, unsaid=frozenset(in_row))
    yield Step(text, StepKind.MOVE, index, last)
    for name, (start, count) in in_row.items():
        if start == index:
            yield Step(spoken.speaker.sentence(f"row.{name}", count=count), StepKind.SOUND, index, last)
    yield from _sounds(spoken, index, last)
    held = spoken.held(index)
    if held and event.choice.move is not None:
        beats = spoken.length_words(index, event.event.duration)
        yield Step(spoken.speaker.sentence("step.hold", beats=beats), StepKind.HOLD, index, last)
    yield from _changes(spoken, first, index, last)
    yield from _advice(spoken, index, last)


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


def event_steps(spoken: SpokenRoute, first: int, last: int, *, goes_on: bool = False) -> Iterator[Step]:
    """The steps of the events from one to another, inclusive.

    goes_on : whether they follow on from the event before the first one, which is known already.
    """
    index, rows = first, _rows(spoken, first, last)
    signed = sorted({sign.event for sign in spoken.signs if first < sign.event <= last})
    while index <= last:
        # what changes on the way is told where it does
        until = next((event - 1 for event in signed if event > index), last)
        size, times = _figure_at(spoken, index, until)
        if times > 1:
            at = index
            while at < index + size:
                end = _run_end(spoken, at, index + size - 1)
                yield from _one(spoken, first, at, end, goes_on=goes_on, rows=rows)
                at = end + 1
            yield _again(spoken, index, size, times)
            index += size * times
        else:
            end = _run_end(spoken, index, until)
            yield from _one(spoken, first, index, end, goes_on=goes_on, rows=rows)
            index = end + 1
