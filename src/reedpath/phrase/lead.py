"""The lead line: one note at a time (or a few struck together) out of a source of several voices.

Method: the skyline, after Uitdenbogerd and Zobel, "Manipulation of music for melody matching" (ACM
Multimedia 1998; from memory), which keeps the highest note at each onset. It differs in two ways:

- there, a lower note that starts while a higher one sounds cuts it off and takes the line; here it is
  accompaniment and is left out, unless the higher one sounds for less than half of it;
- a short run of notes in a gap of the line, each more than an octave under both of the line's neighbours,
  is accompaniment too (a bass note between two phrases): leaps over an octave break a line apart (Huron,
  "Tone and voice", Music Perception 19, 2001; from memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from msgspec.structs import replace

from reedpath.errors import PhraseError, Place
from reedpath.phrase.events import Event, Phrase
from reedpath.phrase.left_out import LeftOut
from reedpath.phrase.metre import numbered_bars

# what the reduction leaves out, kinds of `LeftOut`
UNDER_LEAD = "under-lead"
FAR_UNDER_LEAD = "far-under-lead"
CUT_SHORT = "cut-short"

# semitones; an octave (Huron 2001, from memory)
FAR_SEMITONES = 12
# notes; a longer run in a gap is taken for a phrase of its own; common practice, no source
MOST_FAR_NOTES = 3
# share of its duration that a note keeps when it is not worth saying that the next one cut it; ours
LEAST_SHARE_KEPT = Fraction(3, 4)


@dataclass(slots=True)
class _Tally:
    """What was left out: kind -> beat of each note."""

    beats: list[tuple[str, Fraction]]

    def add(self, kind: str, beats: Fraction, count: int = 1) -> None:
        self.beats += [(kind, beats)] * count

    def left_out(self, phrase: Phrase) -> tuple[LeftOut, ...]:
        numbered = numbered_bars(phrase)
        ordered = sorted(self.beats, key=_beat)
        numbers = ((numbered.at(beats).number, kind) for kind, beats in ordered)
        counts = Counter(numbers)
        return tuple(LeftOut(kind, Place(bar=number), count) for (number, kind), count in counts.items())


def _beat(noted: tuple[str, Fraction]) -> Fraction:
    return noted[1]


def _struck_together(events: Iterable[Event]) -> list[list[Event]]:
    groups: list[list[Event]] = []
    for event in events:
        if groups and groups[-1][0].onset == event.onset:
            groups[-1].append(event)
        else:
            groups.append([event])
    return groups


def _kept(event: Event, midi: tuple[int, ...]) -> Event:
    if midi == event.midi:
        return event
    cents = tuple(c for pitch, c in zip(event.midi, event.cents, strict=False) if pitch in midi)
    return replace(event, midi=midi, cents=cents)


def _top(group: list[Event], most_notes: int) -> Event:
    """The highest note of those struck together, and under it as many more as may stay."""
    lead = max(group, key=lambda event: (event.midi[-1], event.duration))
    pitches = {midi for event in group for midi in event.midi if event.duration >= lead.duration}
    pitches |= set(lead.midi)
    midi = tuple(sorted(pitches)[-most_notes:])
    if set(midi) <= set(lead.midi):
        return _kept(lead, midi)
    fifths = tuple(dict.fromkeys(one for event in group for one in event.fifths))
    return replace(lead, midi=midi, cents=(), fifths=fifths)


def _skyline(phrase: Phrase, most_notes: int, tally: _Tally) -> list[Event]:
    line: list[Event] = []
    for group in _struck_together(phrase.events):
        struck = sum(len(event.midi) for event in group)
        event = _top(group, most_notes)
        if line and line[-1].end > event.onset:
            held = line[-1]
            if held.midi[-1] > event.midi[-1] and _covers(held, event):
                tally.add(UNDER_LEAD, event.onset, struck)
                continue
            line[-1] = replace(held, duration=event.onset - held.onset)
            if line[-1].duration < held.duration * LEAST_SHARE_KEPT:
                tally.add(CUT_SHORT, held.onset)
        tally.add(UNDER_LEAD, event.onset, struck - len(event.midi))
        line.append(event)
    return line


def _covers(held: Event, event: Event) -> bool:
    """Whether the higher, held note sounds for at least half of the lower one."""
    return 2 * (held.end - event.onset) >= event.duration


def _is_far(run: list[Event], before: Event, after: Event) -> bool:
    ceiling = min(before.midi[-1], after.midi[-1]) - FAR_SEMITONES
    return all(event.midi[-1] < ceiling for event in run)


def _without_far_notes(line: list[Event], tally: _Tally) -> list[Event]:
    kept: list[Event] = []
    index = 0
    while index < len(line):
        kept.append(line[index])
        for length in range(MOST_FAR_NOTES, 0, -1):
            run = line[index + 1 : index + 1 + length]
            after = index + 1 + length
            if after < len(line) and _is_far(run, line[index], line[after]):
                for event in run:
                    tally.add(FAR_UNDER_LEAD, event.onset, len(event.midi))
                index += length
                break
        index += 1
    return kept


def _is_line(phrase: Phrase, most_notes: int) -> bool:
    return all(len(event.midi) <= most_notes for event in phrase.events) and all(
        before.end <= after.onset for before, after in pairwise(phrase.events)
    )


def lead_line(phrase: Phrase, *, most_notes: int = 1) -> Phrase:
    """
    The phrase reduced to its lead, its highest voice; a phrase that is one already comes back unchanged.

    most_notes : notes struck together that may stay: 1 for a single line, 2 to keep double stops. Only
        notes that last as long as the lead note stay with it.

    Returns
    -------
    The phrase without overlaps; ``left_out`` gains one entry per bar and kind of note left out.

    Raises `PhraseError` when ``most_notes`` is under 1.
    """
    if most_notes < 1:
        raise PhraseError("phrase.lead_notes", count=most_notes)
    if _is_line(phrase, most_notes):
        return phrase
    tally = _Tally([])
    line = _without_far_notes(_skyline(phrase, most_notes, tally), tally)
    return replace(phrase, events=tuple(line), left_out=(*phrase.left_out, *tally.left_out(phrase)))
