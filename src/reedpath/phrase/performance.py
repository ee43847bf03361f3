"""What sounds: repeats unfolded, grace notes given their time.

Grace notes are played on the beat, out of the time of their main note (an appoggiatura's custom; the other
custom, before the beat, would need time that the note before may not have). A jump back restores the metre
and tempo that were in force where it lands. A note held over the end of a repeat stops at the jump.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from fractions import Fraction

from msgspec import Struct

from reedpath.data import replace
from reedpath.errors import PhraseError, Place
from reedpath.phrase.events import Event, Metre, Part, Phrase, Repeat, Tempo
from reedpath.phrase.metre import bars, metres_of, numbered_bars
from reedpath.phrase.timing import Timing, timing_of

# seconds that a quick grace note takes; from memory
GRACE_SECONDS = 0.08
# parts of a beat; grace notes are rounded to one of these so that beats stay readable fractions
GRACE_GRID = 64
# bounds on what repeats inside repeats unfold to; not musical ones
MOST_SPANS = 10_000
MOST_EVENTS = 200_000
DEEPEST_REPEATS = 16


class _Span(Struct, frozen=True):
    """A stretch of the written phrase (``start`` to ``end``) and the beat ``at`` which it is played."""

    start: Fraction
    end: Fraction
    at: Fraction

    def holds(self, beats: Fraction) -> bool:
        return self.start <= beats < self.end

    def reaches(self, onset: Fraction) -> bool:
        """Whether it holds some of the beat that begins there."""
        return self.start - 1 < onset < self.end

    def played(self, beats: Fraction) -> Fraction:
        return beats - self.start + self.at


def _with_graces(event: Event, bpm: float) -> list[Event]:
    graces = event.ornaments.graces
    if not graces:
        return [event]
    wanted = Fraction(round(GRACE_SECONDS * bpm / 60 * GRACE_GRID) or 1, GRACE_GRID)
    each = min(wanted, event.duration / (2 * len(graces)))
    played = [
        Event(event.onset + index * each, each, (midi,), fifths=event.fifths, place=event.place, grace=True)
        for index, midi in enumerate(graces)
    ]
    taken = each * len(graces)
    main = replace(
        event,
        onset=event.onset + taken,
        duration=event.duration - taken,
        ornaments=replace(event.ornaments, graces=()),
    )
    return [*played, main]


def _checked(repeats: Iterable[Repeat]) -> list[Repeat]:
    """The repeats, outer before inner; PhraseError where they cross or mean nothing."""
    ordered = sorted(repeats, key=lambda one: (one.onset, -one.end))
    open_ends: list[Fraction] = []
    for repeat in ordered:
        if repeat.onset < 0 or repeat.end <= repeat.onset or repeat.times < 1:
            raise PhraseError("phrase.repeat", onset=repeat.onset, end=repeat.end, times=repeat.times)
        while open_ends and open_ends[-1] <= repeat.onset:
            open_ends.pop()
        if open_ends and repeat.end > open_ends[-1]:
            raise PhraseError("phrase.repeats_cross", onset=repeat.onset, end=repeat.end, other=open_ends[-1])
        open_ends.append(repeat.end)
        if len(open_ends) > DEEPEST_REPEATS:
            raise PhraseError("phrase.repeats_deep", most=DEEPEST_REPEATS)
    return ordered


def _stretches(start: Fraction, end: Fraction, repeats: list[Repeat]) -> Iterator[tuple[Fraction, Fraction]]:
    """Written stretches in the order played, from start to end; ``repeats`` are those inside."""
    reached = start
    index = 0
    while index < len(repeats):
        repeat = repeats[index]
        inner = index + 1
        while inner < len(repeats) and repeats[inner].onset < repeat.end:
            inner += 1
        yield reached, repeat.onset
        for _ in range(repeat.times):
            yield from _stretches(repeat.onset, repeat.end, repeats[index + 1 : inner])
        reached, index = repeat.end, inner
    yield reached, end


def _spans(phrase: Phrase) -> list[_Span]:
    """Stretches in the order played, those that follow on in the source joined."""
    ends = [phrase.end, *(repeat.end for repeat in phrase.repeats), *(part.end for part in phrase.parts)]
    spans: list[_Span] = []
    for start, end in _stretches(Fraction(0), max(ends), _checked(phrase.repeats)):
        if end <= start:
            continue
        if spans and spans[-1].end == start:
            spans[-1] = replace(spans[-1], end=end)
            continue
        at = spans[-1].at + spans[-1].end - spans[-1].start if spans else Fraction(0)
        spans.append(_Span(start, end, at))
        if len(spans) > MOST_SPANS:
            raise PhraseError("phrase.repeats_stretches", most=MOST_SPANS)
    return spans


def _played_events(phrase: Phrase, spans: list[_Span], timing: Timing) -> list[Event]:
    onsets = [event.onset for event in phrase.events]
    numbered = numbered_bars(phrase) if phrase.repeats else None
    played: list[Event] = []
    for span in spans:
        for event in phrase.events[bisect_left(onsets, span.start) : bisect_left(onsets, span.end)]:
            duration = min(event.duration, span.end - event.onset)
            place = event.place
            if numbered and place.bar is None:  # played again, it is no longer told by its onset
                place = place.inside(Place(bar=numbered.at(event.onset).number))
            moved = replace(event, onset=span.played(event.onset), duration=duration, place=place)
            played += _with_graces(moved, timing.bpm_at(event.onset))
        if len(played) > MOST_EVENTS:
            raise PhraseError("phrase.repeats_notes", most=MOST_EVENTS)
    return sorted(played, key=lambda event: event.onset)


def _played_tempos(spans: list[_Span], timing: Timing) -> Iterator[Tempo]:
    bpm = None
    for span in spans:
        inside = [tempo.onset for tempo in timing.tempos if span.holds(tempo.onset)]
        for onset in sorted({span.start, *inside}):
            if timing.bpm_at(onset) != bpm:
                bpm = timing.bpm_at(onset)
                yield Tempo(span.played(onset), bpm)


def _played_metres(phrase: Phrase, spans: list[_Span]) -> tuple[Metre, ...]:
    """Metres, told anew wherever a bar does not begin where the one before leads to expect it."""
    given = replace(metres_of(phrase)[0], onset=Fraction(0))
    written = [bar for bar in bars(phrase, until=max(span.end for span in spans)) if bar.number > 0]
    onsets = [bar.onset for bar in written]
    changes: list[Metre] = []
    expected, signature = phrase.pickup, given.signature
    for span in spans:
        for bar in written[bisect_left(onsets, span.start) : bisect_left(onsets, span.end)]:
            onset = span.played(bar.onset)
            if onset != expected or bar.metre.signature != signature:
                changes.append(replace(bar.metre, onset=onset))
            expected, signature = onset + bar.metre.bar, bar.metre.signature
    return (given, *changes) if phrase.metres or changes else ()


def _played_part(part: Part, spans: list[_Span]) -> list[Part]:
    """A part each time it is begun; what a jump back inside it plays again belongs to it."""
    played: list[Part] = []
    whole = False
    for span in spans:
        start, end = max(part.onset, span.start), min(part.end, span.end)
        if end <= start:
            continue
        piece = Part(part.label, span.played(start), span.played(end))
        follows_on = bool(played) and played[-1].end == piece.onset
        if follows_on and not (whole and start == part.onset):
            played[-1] = replace(played[-1], end=piece.end)
        else:
            played.append(piece)
        whole = end == part.end
    return played


def performed(phrase: Phrase) -> Phrase:
    """The phrase as it sounds: no repeats, no hanging grace notes.

    Parts, metres and tempos move with their beats; a part that is repeated appears once for each time.
    Swung notes stay straight: `timing_of` swings them.

    Raises `PhraseError` when repeats cross one another or mean nothing, or tempos and metres cannot be.
    """
    spans = _spans(phrase)
    if not spans:
        return replace(phrase, repeats=())
    timing = timing_of(phrase)
    events = _played_events(phrase, spans, timing)
    parts = [piece for part in phrase.parts for piece in _played_part(part, spans)]
    end = max([Fraction(0), *(event.end for event in events), *(part.end for part in parts)])
    tempos = _played_tempos(spans, timing) if phrase.tempos else ()
    return replace(
        phrase,
        events=tuple(events),
        metres=tuple(one for one in _played_metres(phrase, spans) if one.onset < end or not one.onset),
        tempos=tuple(one for one in tempos if one.onset < end or not one.onset),
        parts=tuple(sorted(parts, key=lambda part: (part.onset, -part.end))),
        straight=tuple(span.played(onset) for span in spans for onset in phrase.straight if span.reaches(onset)),
        repeats=(),
    )
