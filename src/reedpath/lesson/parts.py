"""Parts: the stretches in which a route is taught.

The source's own labels make parts; what they do not cover, and what is too long to be taught in one go, the
program cuts itself: of all ways to cut, the one of least cost, found by dynamic programming. A part costs by its
number of notes (in long music by what is held in mind of them, see `held_in_mind`) and its seconds where these are
not teachable, and each cut costs a little; a cut at a strong boundary, at a bar line or at the end of a repeat earns,
and so does a part that comes again (see `repeats`), since it need not be taught twice.

How strongly a route falls apart between one event and the next is told by the Local Boundary Detection Model
(Cambouropoulos, "The Local Boundary Detection Model and its application in the study of expressive timing", ICMC
2001; from memory): a boundary is likely where an interval differs from its neighbours, and the more so the larger it
is. For each profile of intervals x (time between onsets, silence, pitch), the strength at x_i is
x_i (r_{i-1,i} + r_{i,i+1}) with the degree of change r_{i,j} = |x_i - x_j| / (x_i + x_j); each profile is scaled to
0..1, and they are weighed 2 : 1 : 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise

from msgspec.structs import replace

from reedpath.arrange import Route, RouteEvent
from reedpath.lesson.held_in_mind import thing_ends, things_between
from reedpath.lesson.model import LessonPart
from reedpath.lesson.repeats import Repeated, common_length, copy_lengths, maximal_repeats, tokens_of
from reedpath.phrase import Phrase, bar_place, bars, timing_of

# events, and in long music things; what a student holds in mind at once (common practice, no source)
FEWEST, MOST = 4, 12
# events of a part of long music, whatever they are to the mind: two bars of eight (common practice, no source)
LONG_MOST = 16
# events; no part is longer
LONGEST = 24
# events; a part that the source labels is cut only when longer
LABEL_MOST = 16
# seconds at full tempo; shorter or longer parts are hard to teach (common practice, no source)
SHORTEST_SECONDS, LONGEST_SECONDS = 1.5, 8.0
# bars; what is taught at a time where its notes can be held in mind, in music of more bars than LONG_BARS: what is
# shorter is taught line by line, however short these are (common practice, no source)
FEWEST_BARS, MOST_BARS, LONG_BARS = 2, 4, 16
# costs, on the scale of boundary strengths, which run from 0 to 1; chosen by ear on our own phrases and ten tunes
# as docs/lesson.md tells
CUT_COST = 0.5
FEW_COST, MANY_COST, SECONDS_COST = 0.5, 0.3, 0.25
# for a part of fewer bars, for each bar too many, and for a part of too many notes besides what each of them costs
FEW_BARS_COST, MANY_BARS_COST, TOO_MANY_COST = 0.4, 0.3, 0.3
# bars by which a part may be shorter and count as whole: a last note cut off, a rest before the first
BARS_SLACK = 0.25
REPEAT_GAIN, COPY_NOTE_GAIN = 0.4, 0.05
# a cut at a bar line, or where the pickup would begin; more for every second bar; less between two beats, and in long
# music anywhere inside a bar but after a rest
BAR_GAIN, PAIR_GAIN, OFF_BEAT_GAIN, INSIDE_GAIN = 0.3, 0.15, -0.25, -0.5
# share of the gain that the end of a repeat earns where nothing else parts the music there
BARE_EDGE = 0.25
# share of a part's events that must be those of an earlier one for it to be told as that one with another end,
# and the fewest of them; common practice, no source
LIKE_SHARE, LIKE_FEWEST = 0.5, 3
# weights of the profiles; Cambouropoulos 2001, from memory
ONSET_WEIGHT, SILENCE_WEIGHT, PITCH_WEIGHT = 0.5, 0.25, 0.25


def _change(one: float, other: float) -> float:
    return abs(one - other) / (one + other) if one + other > 0 else 0.0


def _profile_strengths(profile: Sequence[float]) -> list[float]:
    """Strength of each interval of a profile, scaled so that the strongest is 1."""
    if not profile:
        return []
    # the ends have one neighbour only
    changes = [0.0, *(_change(one, other) for one, other in pairwise(profile)), 0.0]
    strengths = [x * (before + after) for x, before, after in zip(profile, changes, changes[1:], strict=False)]
    most = max(strengths)
    return [strength / most for strength in strengths] if most > 0 else strengths


def _pitch(event: RouteEvent) -> int:
    return event.event.midi[-1]


def boundary_strengths(events: Sequence[RouteEvent]) -> list[float]:
    """For each event but the first, how strongly a new part may begin with it, 0 to 1."""
    pairs = list(pairwise(events))
    onsets = [float(now.event.onset - before.event.onset) for before, now in pairs]
    silences = [max(0.0, float(now.event.onset - before.event.end)) for before, now in pairs]
    pitches = [float(abs(_pitch(now) - _pitch(before))) for before, now in pairs]
    profiles = zip(*map(_profile_strengths, (onsets, silences, pitches)), strict=True)
    return [ONSET_WEIGHT * a + SILENCE_WEIGHT * b + PITCH_WEIGHT * c for a, b, c in profiles]


@dataclass(frozen=True, slots=True)
class _Costs:
    """What cutting costs: strength and copies at each event, seconds and bars at each onset and after the last event.

    bars : None where the music is not long.
    things : where what is held in mind ends that begins with each event.
    """

    seconds: Sequence[float]
    bars: Sequence[float] | None
    strengths: Sequence[float]
    copies: Sequence[int]
    things: Sequence[int]

    def of_part(self, first: int, end: int, most: int = MOST) -> float:
        """Cost of a part from an event up to, not with, another.

        most : events, or in long music things, that it may have at no cost.
        """
        notes, seconds = end - first, self.seconds[end] - self.seconds[first]
        over = notes - most if self.bars is None else self._over(first, end, most)
        cost = CUT_COST - self.strengths[first]
        cost += FEW_COST * max(0, FEWEST - notes) + MANY_COST * max(0, over)
        cost += SECONDS_COST * (max(0.0, SHORTEST_SECONDS - seconds) + max(0.0, seconds - LONGEST_SECONDS))
        if self.bars is not None:
            length = self.bars[end] - self.bars[first]
            cost += FEW_BARS_COST * (length < FEWEST_BARS - BARS_SLACK)
            cost += MANY_BARS_COST * max(0.0, length - MOST_BARS) + TOO_MANY_COST * (over > 0)
        if notes >= FEWEST and self.copies[first] >= notes:
            cost -= COPY_NOTE_GAIN * notes
        return cost

    def _over(self, first: int, end: int, most: int) -> int:
        """By how many things or notes a part of long music has too many, not above 0 for none."""
        return max(things_between(self.things, first, end) - most, end - first - LONG_MOST)


def _metre_gains(phrase: Phrase) -> list[float]:
    """What the place in the bar adds to a cut before each event."""
    measures = bars(phrase)
    is_long = len(measures) > LONG_BARS
    gains, reached = [], Fraction(0)
    for event in phrase.events:
        place = bar_place(measures, event.onset)
        length = measures[0].metre.bar if not place.number else measures[place.number - (not phrase.pickup)].metre.bar
        to_next = length - place.beats
        if place.beats == 0 or (phrase.pickup and to_next == phrase.pickup):
            number = place.number + (place.beats > 0)
            gains.append(BAR_GAIN + PAIR_GAIN * (number % 2 == 1))
        else:
            gain = OFF_BEAT_GAIN if place.beats.denominator > 1 else 0.0
            gains.append(gain + INSIDE_GAIN if is_long and event.onset <= reached else gain)
        reached = max(reached, event.end)
    return gains


def _bars_at(phrase: Phrase) -> list[float] | None:
    """Bars from the beginning to each event, and to the end; None where the music is not long."""
    measures = bars(phrase)
    if len(measures) <= LONG_BARS:
        return None
    at = []
    for onset in (*(event.onset for event in phrase.events), phrase.end):
        place = bar_place(measures, onset)
        bar = measures[min(max(0, place.number - (not phrase.pickup)), len(measures) - 1)]
        at.append(place.number + float(place.beats / bar.metre.bar))
    return at


def _apart(repeat: Repeated) -> list[int]:
    """Places of a repeat that do not overlap, from the first on."""
    starts = [repeat.starts[0]]
    for start in repeat.starts[1:]:
        if start - starts[-1] >= repeat.length:
            starts.append(start)
    return starts


def _strengths(route: Route, tokens: Sequence[int]) -> list[float]:
    """Strength of a cut before each event; what comes again is cut alike."""
    heard = [0.0, *boundary_strengths(route.events)]
    strengths = [one + gain for one, gain in zip(heard, _metre_gains(route.phrase), strict=True)]
    repeats = maximal_repeats(tokens, least=FEWEST)
    edges = {edge for one in repeats for start in one.starts for edge in (start, start + one.length)}
    for edge in edges - {len(strengths)}:
        strengths[edge] += REPEAT_GAIN * (BARE_EDGE + (1 - BARE_EDGE) * heard[edge])
    settled: set[int] = set()
    for repeat in repeats:
        starts = _apart(repeat)
        for offset in range(1, repeat.length):
            places = [start + offset for start in starts]
            if settled.isdisjoint(places):
                settled.update(places)
                mean = sum(strengths[place] for place in places) / len(places)
                for place in places:
                    strengths[place] = mean
    return strengths


def _costs(route: Route, tokens: Sequence[int]) -> _Costs:
    timing = timing_of(route.phrase)
    seconds = [timing.seconds_at(event.event.onset) for event in route.events]
    seconds.append(timing.seconds_at(route.phrase.end))
    measures, copies = _bars_at(route.phrase), copy_lengths(tokens, most=LONGEST)
    return _Costs(seconds, measures, _strengths(route, tokens), copies, thing_ends(route, tokens))


def _cut(costs: _Costs, first: int, end: int, most: int) -> list[int]:
    """Starts of the parts of least cost between two events; of equal ones the longest first part."""
    best = {end: (0.0, end)}
    for start in range(end - 1, first - 1, -1):
        ends = range(start + 1, min(end, start + LONGEST) + 1)
        best[start] = min(
            ((costs.of_part(start, stop, most) + best[stop][0], stop) for stop in ends),
            key=lambda pair: (round(pair[0], 9), -pair[1]),
        )
    starts, at = [], first
    while at < end:
        starts.append(at)
        at = best[at][1]
    return starts


def _labels(phrase: Phrase) -> list[int | None]:
    """For each event, the index of the innermost labelled part that it begins in."""
    labels: list[int | None] = []
    for event in phrase.events:
        inside = [index for index, part in enumerate(phrase.parts) if part.onset <= event.onset < part.end]
        labels.append(max(inside, key=lambda index: phrase.parts[index].onset) if inside else None)
    return labels


def _pieces(route: Route, costs: _Costs) -> list[LessonPart]:
    """Parts in order, those that the program found still without a name."""
    pieces: list[LessonPart] = []
    labels = _labels(route.phrase)
    for label_index, group in groupby(range(len(labels)), key=labels.__getitem__):
        indexes = list(group)
        first, end = indexes[0], indexes[-1] + 1
        whole = label_index is not None and end - first <= LABEL_MOST
        most = MOST if label_index is None or costs.bars is None else LABEL_MOST
        starts = [first] if whole else _cut(costs, first, end, most)
        label = "" if label_index is None else route.phrase.parts[label_index].label
        for number, (start, stop) in enumerate(zip(starts, [*starts[1:], end], strict=True), start=1):
            named = f"{label} ({number})" if label and len(starts) > 1 else label
            pieces.append(LessonPart(named, start, stop - 1, found=not label))
    return pieces


def _related(tokens: Sequence[int], parts: Sequence[LessonPart], part: LessonPart) -> LessonPart:
    """The part, saying which earlier one it repeats or begins as."""
    size = part.last - part.first + 1
    best = part
    for index, earlier in enumerate(parts):
        if earlier.same_as is not None:
            continue
        room = earlier.last - earlier.first + 1
        shared = common_length(tokens, earlier.first, part.first, most=min(size, room))
        if shared == size == room:
            return replace(part, same_as=index, like=None, shared=0)
        enough = shared >= max(LIKE_FEWEST, LIKE_SHARE * size)
        if enough and earlier.like is None and shared > best.shared:
            best = replace(part, like=index, shared=shared)
    return best


def _letter(number: int) -> str:
    """A, B, ... Z, AA, AB, ... for 0, 1, ...

    >>> [_letter(number) for number in (0, 25, 26)]
    ['A', 'Z', 'AA']
    """
    letters = ""
    number += 1
    while number:
        number, place = divmod(number - 1, 26)
        letters = chr(ord("A") + place) + letters
    return letters


def _named(parts: Sequence[LessonPart]) -> tuple[LessonPart, ...]:
    """The parts with a letter for each new one that the program found, a stroke for each other ending."""
    taken = {part.label for part in parts if not part.found}
    letters = (letter for letter in map(_letter, range(len(parts) + len(taken) + 1)) if letter not in taken)
    named: list[LessonPart] = []
    endings: dict[int, int] = {}
    for part in parts:
        if not part.found:
            label = part.label
        elif part.same_as is not None:
            label = named[part.same_as].label
        elif part.like is not None:
            endings[part.like] = endings.get(part.like, 0) + 1
            label = named[part.like].label + "′" * endings[part.like]
        else:
            label = next(letters)
        named.append(replace(part, label=label))
    return tuple(named)


def parts_again(route: Route, parts: Sequence[LessonPart]) -> tuple[LessonPart, ...]:
    """Parts of a route that begin and end where others did, with what they repeat found anew."""
    tokens = tokens_of(route.events)
    again: list[LessonPart] = []
    for part in parts:
        plain = LessonPart(part.label, part.first, part.last, found=part.found)
        again.append(_related(tokens, again, plain))
    return _named(again)


def parts_of(route: Route) -> tuple[LessonPart, ...]:
    """The parts of a route in order, covering every event once; none for an empty route."""
    if not route.events:
        return ()
    tokens = tokens_of(route.events)
    parts: list[LessonPart] = []
    for piece in _pieces(route, _costs(route, tokens)):
        parts.append(_related(tokens, parts, piece))
    return _named(parts)
