"""Sections: a stretch of a phrase as a phrase of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction

from msgspec.structs import replace

from reedpath.errors import PhraseError
from reedpath.phrase.events import Event, Metre, Part, Phrase, Repeat, Tempo
from reedpath.phrase.left_out import LeftOut
from reedpath.phrase.metre import Bar, PrintedBar, bars, printed_bars
from reedpath.phrase.timing import timing_of

# what a section leaves out, kinds of `LeftOut`
HELD_OVER = "held-over"
OPEN_REPEAT = "open-repeat"


def _events(phrase: Phrase, onset: Fraction, end: Fraction) -> tuple[Event, ...]:
    return tuple(
        replace(event, onset=event.onset - onset, duration=min(event.end, end) - event.onset)
        for event in phrase.events
        if onset <= event.onset < end
    )


def _parts(phrase: Phrase, onset: Fraction, end: Fraction) -> tuple[Part, ...]:
    cut = [Part(one.label, max(one.onset, onset), min(one.end, end)) for one in phrase.parts]
    return tuple(Part(one.label, one.onset - onset, one.end - onset) for one in cut if one.end > one.onset)


def _metres(bars_inside: list[Bar], onset: Fraction) -> tuple[Metre, ...]:
    """The metre at the start, then one wherever the signature changes or a bar is cut short."""
    metres: list[Metre] = []
    expected: Fraction | None = None
    for bar in bars_inside:
        at = max(bar.onset - onset, Fraction(0))
        last = metres[-1] if metres else None
        if last is None:
            metres.append(replace(bar.metre, onset=Fraction(0)))
        elif bar.metre.signature != last.signature or at != expected:
            metres.append(replace(bar.metre, onset=at))
        expected = bar.end - onset if bar.number == 0 or bar.onset < onset else at + bar.metre.bar
    return tuple(metres)


def _tempos(phrase: Phrase, onset: Fraction, end: Fraction) -> tuple[Tempo, ...]:
    start = Tempo(Fraction(0), timing_of(phrase).bpm_at(onset))
    later = [replace(one, onset=one.onset - onset) for one in phrase.tempos if onset < one.onset < end]
    return (start, *later)


def _straight(phrase: Phrase, cut: Phrase, onset: Fraction) -> tuple[Fraction, ...]:
    """Beats of a cut stretch that are straight in the whole phrase for a triplet that the stretch does not hold."""
    if phrase.swing == 1:
        return ()
    whole, own = timing_of(phrase), timing_of(cut)
    onsets = (beat + whole.phase - onset for beat in sorted(whole.straight_beats))
    inside = (start for start in onsets if -1 < start < cut.end)
    return tuple(start for start in inside if (start - own.phase).__floor__() not in own.straight_beats)


def _left_out(phrase: Phrase, onset: Fraction, end: Fraction) -> list[LeftOut]:
    held = Counter(event.place for event in phrase.events if event.onset < onset < event.end)
    left_out = [LeftOut(HELD_OVER, place, count) for place, count in held.items()]
    broken = sum(
        1
        for repeat in phrase.repeats
        if repeat.onset < end and repeat.end > onset and not onset <= repeat.onset < repeat.end <= end
    )
    return [*left_out, LeftOut(OPEN_REPEAT, count=broken)] if broken else left_out


def _met_inside(phrase: Phrase, end: Fraction) -> tuple[LeftOut, ...]:
    """What was left out of the phrase, without what was first met in a bar after the stretch's last note."""
    numbers = [event.place.bar for event in phrase.events if event.onset < end]
    last = max((number for number in numbers if isinstance(number, int)), default=None)
    if last is None:
        return phrase.left_out
    return tuple(one for one in phrase.left_out if not isinstance(one.place.bar, int) or one.place.bar <= last)


def trimmed(phrase: Phrase, onset: Fraction, end: Fraction) -> Phrase:
    """The stretch from beat ``onset`` to beat ``end`` as a phrase that starts at beat 0.

    A note that sounds over the end is cut there; one held over from before the onset is left out and listed,
    as is a repeat that reaches outside. What the source has only in bars after the end is no longer listed. A
    stretch that begins inside a bar begins with a pickup.

    Raises `PhraseError` when the stretch is empty or begins before beat 0.
    """
    if not 0 <= onset < end:
        raise PhraseError("phrase.no_stretch", onset=onset, end=end)
    inside = [bar for bar in bars(phrase, until=end) if bar.end > onset]
    first = inside[0] if inside else None
    whole = first is None or (first.onset == onset and first.number > 0)
    repeats = (one for one in phrase.repeats if onset <= one.onset < one.end <= end)
    cut = replace(
        phrase,
        events=_events(phrase, onset, end),
        metres=_metres(inside, onset) if phrase.metres else (),
        tempos=_tempos(phrase, onset, end) if phrase.tempos else (),
        pickup=Fraction(0) if whole or first is None else first.end - onset,
        parts=_parts(phrase, onset, end),
        repeats=tuple(Repeat(one.onset - onset, one.end - onset, one.times) for one in repeats),
        left_out=(*_met_inside(phrase, end), *_left_out(phrase, onset, end)),
        straight=(),
    )
    return replace(cut, straight=_straight(phrase, cut, onset))


def section(phrase: Phrase, first_bar: int, last_bar: int) -> Phrase:
    """
    Bars ``first_bar`` to ``last_bar`` of the source, both included, as a phrase of its own; bar 0 is the pickup.

    Bars are counted as the source numbers them. Where repeats are written out, a bar is played several times: the
    first time is taken that goes through to the last bar asked for.

    Raises `PhraseError` when there are no such bars: the message names those that there are.
    """
    found = bars(phrase)
    printed = printed_bars(phrase, found)
    if not printed:
        raise PhraseError("phrase.no_bars")
    lowest, highest = min(bar.number for bar in printed), max(bar.number for bar in printed)
    if lowest == highest and not first_bar == last_bar == lowest:
        raise PhraseError("phrase.one_bar", first=first_bar, last=last_bar, only=lowest)
    if not lowest <= first_bar <= last_bar <= highest:
        raise PhraseError("phrase.bars", first=first_bar, last=last_bar, lowest=lowest, highest=highest)
    if not any(first_bar <= bar.number <= last_bar for bar in printed):
        before = max(bar.number for bar in printed if bar.number < first_bar)
        after = min(bar.number for bar in printed if bar.number > last_bar)
        raise PhraseError("phrase.bars_between", first=first_bar, last=last_bar, before=before, after=after)
    start, stop = _best_run(printed, first_bar, last_bar)
    return trimmed(phrase, found[start].onset, found[stop - 1].end)


def _best_run(printed: Sequence[PrintedBar], first: int, last: int) -> tuple[int, int]:
    """Where the run of ascending numbers within bounds begins and ends that holds both bounds, or else is longest."""
    runs: list[tuple[int, int]] = []
    for index, bar in enumerate(printed):
        if not first <= bar.number <= last:
            continue
        before = printed[index - 1]
        if runs and runs[-1][1] == index and (before.number < bar.number or before == bar):
            runs[-1] = (runs[-1][0], index + 1)
        else:
            runs.append((index, index + 1))
    ends = ((run, printed[run[0]].number, printed[run[1] - 1].number) for run in runs)
    return max(ends, key=lambda run: (run[1] == first, run[2] == last, run[0][1] - run[0][0]))[0]
