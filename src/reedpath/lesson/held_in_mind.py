"""What is held in mind of a stretch of notes: things, of which one may be many notes.

Who learns by heart holds things rather than notes: what hangs together is one, and how many things it can be is
bounded, not how many notes they are (Miller, "The magical number seven, plus or minus two", Psychological Review 63,
1956; from memory). Which notes hang together on this instrument is ours:

- a note that is repeated, however often ("4 draw, three times");
- a run: three notes or more that go one way by step of the scale, or hole by hole on one breath, evenly or long and
  short in turns;
- a figure of two to six notes that is played again at once, as often as it is, or once a step higher or lower;
- a figure of four notes or more that came earlier in the music, since it is known by then.

All else is one thing for each note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from reedpath.arrange import Route
from reedpath.harp import Alteration, Move
from reedpath.lesson.repeats import FIGURE_SIZES, common_length, known_from

# notes of the shortest run, and of the shortest figure that is known from earlier; ours
RUN_FEWEST, KNOWN_FEWEST = 3, 4
# notes from which what came earlier is a passage rather than a figure: two bars of eight; ours
PASSAGE = 16
# half steps of the longest step of a scale, the augmented second left out; common practice, no source
STEP_SEMITONES = 2


@dataclass(frozen=True, slots=True)
class _PlayedLine:
    """The notes of a route as one hears and plays them.

    pitches : MIDI number of each event, None where nothing or more than one note sounds.
    moves : how each is played.
    steps : beats from each event's onset to the next one's.
    """

    pitches: Sequence[int | None]
    moves: Sequence[Move | None]
    steps: Sequence[Fraction]

    def rise(self, before: int, now: int) -> int:
        """Half steps from one event up to another; 0 where either is no single note."""
        low, high = self.pitches[before], self.pitches[now]
        return 0 if low is None or high is None else high - low

    def are_neighbours(self, index: int) -> bool:
        """Whether an event and the next one are plain notes of neighbouring holes on one breath."""
        one, other = self.moves[index], self.moves[index + 1]
        if one is None or other is None or one.breath is not other.breath:
            return False
        plain = one.alteration is other.alteration is Alteration.NATURAL
        return plain and abs(other.holes[0] - one.holes[0]) == 1


def _line_of(route: Route) -> _PlayedLine:
    sounding = [route.sounding_midi(index) for index in range(len(route.events))]
    return _PlayedLine(
        pitches=[midi[0] if len(midi) == 1 else None for midi in sounding],
        moves=[one.choice.move for one in route.events],
        steps=[after.event.onset - before.event.onset for before, after in pairwise(route.events)],
    )


def _run_length(line: _PlayedLine, first: int, ways: Sequence[int]) -> int:
    """How many events the run has that begins with an event; 1 for none."""
    last = first
    while last < len(ways) and ways[first] and ways[last] == ways[first]:
        if last >= first + 2 and line.steps[last] != line.steps[last - 2]:
            break
        last += 1
    length = last - first + 1
    return length if length >= RUN_FEWEST else 1


def _ways(line: _PlayedLine) -> list[int]:
    """Between each event and the next whether a run may go on up (1) or down (-1); 0 where it may not."""
    ways = []
    for index in range(len(line.steps)):
        rise = line.rise(index, index + 1)
        goes_on = abs(rise) <= STEP_SEMITONES or line.are_neighbours(index)
        ways.append((rise > 0) - (rise < 0) if goes_on else 0)
    return ways


def _is_moved(line: _PlayedLine, index: int, size: int) -> bool:
    """Whether the figure before an event comes again from it on, every note a step higher or every one lower."""
    rises = [line.rise(one - size, one) for one in range(index, index + size)]
    steps = line.steps
    return (
        all(0 < rise <= STEP_SEMITONES for rise in rises) or all(0 < -rise <= STEP_SEMITONES for rise in rises)
    ) and steps[index - size : index - 1] == steps[index : index + size - 1]


def _figure_length(line: _PlayedLine, tokens: Sequence[int], index: int) -> int:
    """How many events from one on are figures that were played just before, or one of them moved by a step."""
    longest = 1
    for size in FIGURE_SIZES:
        if size > index:
            break
        again = common_length(tokens, index - size, index)
        if again >= size:
            longest = max(longest, again)
        elif index + size <= len(line.pitches) and _is_moved(line, index, size):
            longest = max(longest, size)
    return longest


def thing_ends(route: Route, tokens: Sequence[int]) -> list[int]:
    """For each event of a route, the index after the last event of the longest thing that begins with it.

    What is known as a whole passage is counted as it was the first time, so that it is cut alike.

    tokens : of the route's events (see `repeats`).
    """
    line, ends = _line_of(route), list[int]()
    ways, passage_end, back = _ways(line), 0, 0
    for index, (known, place) in enumerate(known_from(tokens)):
        if known >= PASSAGE and index + known > passage_end:
            passage_end, back = index + known, index - place
        if index < passage_end:
            ends.append(ends[index - back] + back)
            continue
        repeated = 1 + (common_length(tokens, index, index + 1) if index + 1 < len(route.events) else 0)
        earlier = known if known >= KNOWN_FEWEST else 1
        figure = _figure_length(line, tokens, index)
        ends.append(index + max(repeated, _run_length(line, index, ways), earlier, figure))
    # what went on the first time may be over with the last note
    return [min(end, len(ends)) for end in ends]


def things_between(ends: Sequence[int], first: int, end: int) -> int:
    """How many things are held in mind of the events from one up to, not with, another.

    ends : as `thing_ends` gives them.
    """
    count, at = 0, first
    while at < end:
        at = ends[at]
        count += 1
    return count
