"""What somebody counts in before a take: words or taps on the beats that lead to its first note.

They belong to the take that they count in: they stay with it, at its tempo, and go with it. What is said before them
does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from reedpath.film import FoundPlay
from reedpath.hear import HOP_SECONDS, SoundCourse, runs_of
from reedpath.lesson import Lesson
from reedpath.phrase import metre_at, practice_beat, timing_of

# beats that make a count-in, and bars at most; ours: "three, four" may be two words of a sentence
FEWEST_BEATS, MOST_BARS = 3, 2
# share of a beat, and seconds where that is more, by which a word may begin beside its beat; and seconds by which it
# may be heard later still: the hiss that "three" and "two" begin with is too soft to be heard; ours
BESIDE_BEAT, BESIDE_SECONDS, HISS_SECONDS = 0.14, 0.1, 0.1
# times the take's beat that somebody counts at: few count as fast as they play; ours
COUNTED_TEMPOS = (1.0, 0.96, 1.04, 0.92, 1.08)
# beats of a pause before less than a bar that is counted: what follows something said at once is its end; ours
PAUSE_BEATS = 0.5
# share of a beat that one count may last; ours
LONGEST_COUNT = 0.92
# seconds of silence that part two counts: less is inside a word
SHORTEST_GAP = 0.05
# seconds by which what is told to be played may begin before its first note
NOTE_EARLY = 0.1


def _bursts(course: SoundCourse, until: float) -> list[tuple[float, float]]:
    """What sounds before a moment, the last first: from when to when, parted by silence."""
    last = max(0, round((until - NOTE_EARLY) / HOP_SECONDS))
    sounds = course.talk[:last] | course.tone[:last]
    found: list[tuple[int, int]] = []
    for first, stop in runs_of(sounds):
        if found and (first - found[-1][1]) * HOP_SECONDS < SHORTEST_GAP:
            found[-1] = (found[-1][0], stop)
        else:
            found.append((first, stop))
    return [(first * HOP_SECONDS, stop * HOP_SECONDS) for first, stop in reversed(found)]


def counted_from(course: SoundCourse, found: FoundPlay, lesson: Lesson) -> float | None:
    """When somebody begins to count in a play-through, seconds; None where nobody does."""
    phrase, play = lesson.route.phrase, found.play
    onset = phrase.events[play.first].onset
    metre = metre_at(phrase, onset)
    beats = practice_beat(metre)
    in_bar = max(FEWEST_BEATS, round(metre.count * Fraction(4, metre.unit) / beats))
    beat = float(beats) * 60.0 / (timing_of(phrase).bpm_at(onset) * play.tempo_factor)
    # the last beat before the first note, which may lie between two
    within = float((onset - phrase.pickup) % beats / beats) or 1.0
    bursts = _bursts(course, play.start_seconds)
    ways = (_counts(bursts, play.start_seconds, within, share * beat, MOST_BARS * in_bar) for share in COUNTED_TEMPOS)
    counts = max(ways, key=len)
    if len(counts) < FEWEST_BEATS:
        return None
    before = bursts[len(counts)][1] if len(counts) < len(bursts) else float("-inf")
    if len(counts) < in_bar and before > counts[-1] - PAUSE_BEATS * beat:
        return None
    if in_bar < len(counts) < MOST_BARS * in_bar:  # a word before it
        counts = counts[:in_bar]
    return counts[-1]


def _counts(
    bursts: Sequence[tuple[float, float]], start: float, within: float, beat: float, most: int
) -> list[float]:
    """When each of the bursts before a moment begins that stand on its beats, the last first.

    within : beats from the last one to that moment. beat : seconds.
    """
    slack = max(BESIDE_BEAT * beat, BESIDE_SECONDS)
    counts: list[float] = []
    for sounds, ends in bursts[:most]:
        late = sounds - (start - (within + len(counts)) * beat)
        if not -slack <= late <= slack + HISS_SECONDS or ends - sounds > LONGEST_COUNT * beat:
            break
        counts.append(sounds)
    return counts
