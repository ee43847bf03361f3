"""What sounds: repeats unfolded, grace notes given their time, beats turned into seconds.

Grace notes are played on the beat, out of the time of their main note (an appoggiatura's custom; the other
custom, before the beat, would need time that the note before may not have).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from reedpath.phrase.events import Event, Metre, Part, Phrase, Repeat, Tempo

__all__ = ["Timing", "performed", "timing_of"]

# quarter notes a minute, where a source says nothing; common practice, no source
DEFAULT_BPM = 100.0
# seconds that a quick grace note takes; from memory
GRACE_SECONDS = 0.08
# beats; grace notes are rounded to this so that beats stay readable fractions
GRACE_GRID = 48


def _with_graces(event: Event, bpm: float) -> list[Event]:
    graces = event.ornaments.graces
    if not graces:
        return [event]
    wanted = Fraction(round(GRACE_SECONDS * bpm / 60 * GRACE_GRID) or 1, GRACE_GRID)
    each = min(wanted, event.duration / (2 * len(graces)))
    played = [
        Event(event.onset + index * each, each, (midi,), place=event.place, grace=True)
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


def _unfolded_spans(end: Fraction, repeats: Iterable[Repeat]) -> list[tuple[Fraction, Fraction]]:
    spans, reached = [], Fraction(0)
    for repeat in sorted(repeats, key=lambda one: one.onset):
        spans.append((reached, repeat.end))
        spans += [(repeat.onset, repeat.end)] * (repeat.times - 1)
        reached = repeat.end
    spans.append((reached, end))
    return [span for span in spans if span[1] > span[0]]


def performed(phrase: Phrase) -> Phrase:
    """The phrase as it sounds: no repeats, no hanging grace notes.

    Parts, metres and tempos move with their beats; a part that is repeated appears once for each time.
    """
    shift = Fraction(0)
    timing = timing_of(phrase)
    events: list[Event] = []
    metres: list[Metre] = []
    tempos: list[Tempo] = []
    parts: list[Part] = []
    ends = [phrase.end, *(repeat.end for repeat in phrase.repeats), *(part.end for part in phrase.parts)]
    for start, end in _unfolded_spans(max(ends), phrase.repeats):
        move = shift - start
        for event in phrase.events:
            if start <= event.onset < end:
                moved = replace(event, onset=event.onset + move)
                events += _with_graces(moved, timing.bpm_at(event.onset))
        metres += [replace(m, onset=m.onset + move) for m in phrase.metres if start <= m.onset < end]
        tempos += [replace(t, onset=t.onset + move) for t in phrase.tempos if start <= t.onset < end]
        parts += [
            replace(p, onset=p.onset + move, end=p.end + move) for p in phrase.parts if start <= p.onset < end
        ]
        shift += end - start
    return replace(
        phrase,
        events=tuple(events),
        metres=tuple(metres),
        tempos=tuple(tempos),
        parts=tuple(parts),
        repeats=(),
    )


@dataclass(frozen=True, slots=True)
class Timing:
    """Turns beats of a performed phrase into seconds.

    tempos : changes in order, the first at beat 0.
    starts : seconds at each change.
    swing : ratio of the two halves of a beat.
    """

    tempos: tuple[Tempo, ...]
    starts: tuple[float, ...]
    swing: Fraction = Fraction(1)

    def _swung(self, beats: Fraction | float) -> float:
        whole, part = divmod(float(beats), 1.0)
        first = float(self.swing) / (1.0 + float(self.swing))
        return whole + (part * 2 * first if part < 0.5 else first + (part - 0.5) * 2 * (1 - first))

    def bpm_at(self, beats: Fraction | float) -> float:
        """Quarter notes a minute at a beat."""
        return self.tempos[max(0, bisect_right([float(t.onset) for t in self.tempos], float(beats)) - 1)].bpm

    def seconds_at(self, beats: Fraction | float) -> float:
        """Seconds from beat 0 to a beat, swung halves included."""
        index = max(0, bisect_right([float(t.onset) for t in self.tempos], float(beats)) - 1)
        tempo = self.tempos[index]
        return self.starts[index] + (self._swung(beats) - self._swung(tempo.onset)) * 60.0 / tempo.bpm

    def scaled(self, factor: float) -> Timing:
        """The same timing at ``factor`` times the speed."""
        tempos = tuple(Tempo(tempo.onset, tempo.bpm * factor) for tempo in self.tempos)
        return Timing(tempos, tuple(start / factor for start in self.starts), self.swing)


def timing_of(phrase: Phrase) -> Timing:
    """The timing of a phrase, from its tempos and swing."""
    tempos = list(phrase.tempos)
    if not tempos or tempos[0].onset > 0:
        tempos.insert(0, Tempo(Fraction(0), tempos[0].bpm if tempos else DEFAULT_BPM))
    timing = Timing((tempos[0],), (0.0,), phrase.swing)
    for tempo in tempos[1:]:
        start = timing.seconds_at(tempo.onset)
        timing = Timing((*timing.tempos, tempo), (*timing.starts, start), phrase.swing)
    return timing
