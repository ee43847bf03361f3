"""Reading again: a take is read once more, and the reeds of every event are looked for where it was placed.

Where an octave's upper reed seems silent, since the lower one's partials keep step, their levels are compared with
those of the same reed's single notes elsewhere in the take: two reeds in perfect tune keep step too, but are louder
where they share partials. Where all reeds of a take are in perfect tune, as those of a computed sound are, keeping
step tells nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median

import numpy as np
import numpy.typing as npt

from reedpath.data import replace
from reedpath.harp import Alteration, Breath, Harp
from reedpath.hear import HOP_SECONDS, HeardNote, course_of, low_sound, runs_of
from reedpath.hear.frames import RATE, heard_blocks
from reedpath.hear.middles import middle_of
from reedpath.listen.company import NO_COMPANY, BesideOthers, Company, OthersHeard, alone_in, company_of, others_db
from reedpath.listen.expected import Expected
from reedpath.listen.moves_heard import single_pitches
from reedpath.listen.own_partials import OwnLevel, own_level
from reedpath.listen.play_through import LinedUp, PlacedEvent, PlayThrough
from reedpath.listen.reed_spectrum import ReedSpectrum
from reedpath.listen.reeds import Lift, ReedHeard, ReedState, hear_reeds, lifts_of, reed_pitches
from reedpath.listen.ringing import OVER_SHARE, Ringing, is_pure, rings_along, spans_of
from reedpath.signal.samples import Samples

Float32 = npt.NDArray[np.float32]

# seconds at the start and end of an event that are left out (reeds settle, rooms ring), and the most and the least
# that is looked at
START_SECONDS, END_SECONDS, MOST_SECONDS, LEAST_SECONDS = 0.06, 0.02, 1.2, 0.09
# share of a short event that is left out at its start
START_SHARE = 0.2
# semitones round a single note's pitch within which it is steady, and off what was asked within which it is that
STEADY_SEMITONES, OWN_SEMITONES = 0.35, 0.8
# cents off within which natural notes tell how the harp is tuned, and how many must
TUNED_CENTS, TUNED_NOTES = 50.0, 4
# decibels by which shared partials must stand higher than in single notes for a silent reed to be doubted
LIFTED_DB = 3.5
# where that reed is not played alone: decibels by which they must stand higher than in the take's other single notes,
# and than the partials that are not shared; glued takes (tuning half): 11 and 2.7 for all octaves in perfect tune, 8
# and 0.9 at most for silent reeds (in a room; by telephone over both for one in twenty)
LIFTED_OVER_OTHERS_DB, LIFTED_OVER_UNSHARED_DB = 9.0, 2.5
# reeds that must be heard, share of them, and cents off the temperament within which that share lies, for a harp to
# be in perfect tune; reeds tuned by hand scatter by 2 or so, our own voice's notes come out within 0.5
EXACT_REEDS, EXACT_SHARE, EXACT_CENTS = 5, 0.8, 0.7
# seconds that a note in no event must last to be looked at; two windows of hearing
FREE_SECONDS = 0.08
# seconds that one must last to be a ring or a beep: a vowel of a word, or a squeak, may be as pure for a moment; ours
RING_SECONDS = 0.2
# seconds that somebody talks at least, and share of what is heard, where there is nothing but talk; ours
TALK_SECONDS, TALK_SHARE = 1.0, 0.85
# share of it that may sound without a break: consonants break speech several times a second (syllables last 0.1 to
# 0.4 s; from memory), but not a slide over strings, which moves as speech does
UNBROKEN_SHARE = 0.5
# seconds before and after an event over which the level of its partials is followed
BEFORE_SECONDS, AFTER_SECONDS = 0.2, 0.12


@dataclass(frozen=True, slots=True, eq=False)
class ReadAgain:
    """What a second reading of a take tells, by play-through and index of the event.

    reeds : that sound in it. levels : of its own partials, from a little before it to a little after.
    company : what other instruments play too, so that what sounds along need not be the harmonica's.
    alone : stretches, seconds, in which only these are heard, though they were likened to the route.
    covered : levels of the own partials of single notes that were not heard, from a little before they were due.
    instead : of single notes in whose place another pitch sounds, levels of its partials.
    ringing : stretches, seconds, in which something rings that is no instrument.
    only_talk : whether somebody talks in it, and plays nothing; asked where the route is not played.
    """

    reeds: Mapping[tuple[int, int], tuple[ReedHeard, ...]]
    levels: Mapping[tuple[int, int], OwnLevel]
    company: Company = NO_COMPANY
    alone: tuple[tuple[float, float], ...] = ()
    covered: Mapping[tuple[int, int], OwnLevel] = field(default_factory=dict)
    instead: Mapping[tuple[int, int], OwnLevel] = field(default_factory=dict)
    ringing: tuple[tuple[float, float], ...] = ()
    only_talk: bool = False


# for a take that is not read again
NOT_READ_AGAIN = ReadAgain({}, {})


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an event is looked at: its play-through, what is expected, from when to when, and at what pitch.

    span : where it was placed. whole : with a little before and after. steady : None where it is too short.
    is_covered : whether it stands for a single note that was not heard, where that was due.
    instead : the pitch that sounds in place of a single note, MIDI number.
    """

    play: int
    expected: Expected
    span: tuple[float, float]
    whole: tuple[float, float]
    steady: tuple[float, float] | None
    midi: float | None
    is_covered: bool = False
    instead: float | None = None

    @property
    def key(self) -> tuple[int, int]:
        """Play-through and index of the event."""
        return self.play, self.expected.index

    @property
    def is_itself(self) -> bool:
        """Whether what sounds is what was asked, as far as one pitch can tell."""
        return self.midi is not None or len(self.expected.move.holes) > 1

    def pitches_hz(self) -> list[float]:
        """Of its reeds, as far as they are known."""
        midi = self.expected.midi if self.midi is None else (self.midi,)
        return [_hertz(one) for one in midi]


def steady_of(lined_up: LinedUp, placed: PlacedEvent, expected: Expected) -> tuple[tuple[float, float], float | None]:
    """The steady stretch of an event, and the pitch of a single note there."""
    length = placed.end_seconds - placed.start_seconds
    start = placed.start_seconds + min(START_SECONDS, START_SHARE * length)
    end = min(placed.end_seconds - END_SECONDS, start + MOST_SECONDS)
    if len(expected.move.holes) > 1:
        return (start, end), None
    part = lined_up.hearing.curve.span(start, end)
    midi = part.midi
    own = np.abs(midi - expected.midi[0]) < OWN_SEMITONES
    if not own.any():
        return (start, end), None
    level = middle_of(midi[own])
    inside = np.concatenate([[False], np.abs(midi - level) < STEADY_SEMITONES, [False]])
    edges = np.flatnonzero(np.diff(inside.astype(np.int8)))
    begins, ends = edges[::2], edges[1::2]
    longest = int((ends - begins).argmax())
    if part.seconds[ends[longest] - 1] - part.seconds[begins[longest]] < LEAST_SECONDS and 2 * own.sum() < len(own):
        return (start, end), level  # a hole beside may be louder, so that its pitch is followed
    at = part.seconds[begins[longest]], part.seconds[ends[longest] - 1]
    return (max(start, float(at[0])), min(end, float(at[1]))), level


def _places(lined_up: LinedUp) -> list[_Place]:
    by_index = {expected.index: expected for expected in lined_up.score.events}
    found = []
    for number, play in enumerate(lined_up.play_throughs):
        for placed in play.events:
            expected = by_index[placed.event]
            if not placed.played:
                found += _covered(number, placed, expected)
                continue
            inner, midi = steady_of(lined_up, placed, expected)
            steady = inner if inner[1] - inner[0] >= LEAST_SECONDS else None
            span = placed.start_seconds, placed.end_seconds
            whole = max(0.0, span[0] - BEFORE_SECONDS), span[1] + AFTER_SECONDS
            instead = _sounding_midi(lined_up, span) if midi is None and len(expected.move.holes) == 1 else None
            found.append(_Place(number, expected, span, whole, steady, midi, instead=instead))
            if not found[-1].is_itself:
                found += _covered(number, placed, expected)
    return found


def _sounding_midi(lined_up: LinedUp, span: tuple[float, float]) -> float | None:
    """The pitch that sounds between two times, in the middle."""
    part = lined_up.hearing.curve.span(*span)
    return middle_of(part.midi[part.voiced]) if part.voiced.any() else None


def _covered(number: int, placed: PlacedEvent, expected: Expected) -> list[_Place]:
    """Where a single note that was not heard was due."""
    if len(expected.move.holes) > 1:
        return []
    span = placed.due_seconds, placed.due_seconds + placed.pace * (expected.end_seconds - expected.start_seconds)
    whole = max(0.0, span[0] - BEFORE_SECONDS), span[1] + AFTER_SECONDS
    return [_Place(number, expected, span, whole, None, None, is_covered=True)]


def _shift_cents(places: Sequence[_Place]) -> float:
    """By how much the player's harp lies over the lesson's, by its natural single notes."""
    off = [
        100.0 * (one.midi - one.expected.midi[0])
        for one in places
        if one.midi is not None and one.expected.move.alteration is Alteration.NATURAL
    ]
    near = [cents for cents in off if abs(cents) < TUNED_CENTS]
    return float(median(near)) if len(near) >= TUNED_NOTES else 0.0


def _hertz(midi: float) -> float:
    return float(440.0 * 2.0 ** ((midi - 69.0) / 12.0))


def _is_exact(places: Sequence[_Place], reeds: Mapping[tuple[int, int], Sequence[ReedHeard]]) -> bool:
    """Whether all reeds are so well in tune that two an octave apart keep step as one does."""
    off: dict[tuple[int, Breath], list[float]] = defaultdict(list)
    for place in places:
        move = place.expected.move
        for reed in reeds.get(place.key, ()) if move.alteration is Alteration.NATURAL else ():
            if reed.asked and reed.state is ReedState.SOUNDS and reed.lift is None and reed.cents is not None:
                off[reed.hole, move.breath].append(reed.cents)
    if len(off) < EXACT_REEDS:
        return False
    cents = np.array([median(one) for one in off.values()])
    return bool(np.quantile(np.abs(cents - np.median(cents)), EXACT_SHARE) < EXACT_CENTS)


def _doubted(
    reed: ReedHeard, breath: Breath, alone: Mapping[tuple[int, Breath, int], Sequence[float]], *, exact: bool
) -> ReedHeard:
    """A silent reed, unless what it would share stands higher than the other reed makes it alone.

    exact : whether two reeds keep step on this harp anyway.
    """
    if reed.state is not ReedState.SILENT or reed.lift is None:
        return reed
    if exact:
        return ReedHeard(reed.hole, reed.asked, ReedState.UNSURE)
    if _is_lifted(reed.lift, breath, alone):
        return ReedHeard(reed.hole, reed.asked, ReedState.UNSURE)
    return reed


def _is_lifted(lift: Lift, breath: Breath, alone: Mapping[tuple[int, Breath, int], Sequence[float]]) -> bool:
    """Whether what a reed would share stands higher than the other makes it alone, there or in single notes."""
    usual = alone.get((lift.hole, breath, lift.times))
    if usual:
        return lift.decibels - median(usual) > LIFTED_DB
    others = [decibels for (_, _, times), found in alone.items() if times == lift.times for decibels in found]
    over_others = lift.decibels - median(others) if others else np.inf
    return lift.decibels > LIFTED_OVER_UNSHARED_DB and over_others > LIFTED_OVER_OTHERS_DB


def only_talk(sound: Samples | Iterable[Samples], harp: Harp) -> bool:
    """Whether somebody talks in a recording, and hardly anything is played.

    harp : that is asked for: what stands still below its reeds is a voice.
    """
    lowest = min(midi for _, midi in single_pitches(harp))
    course = course_of(low_sound([sound] if isinstance(sound, Samples) else sound), lowest_hz=_hertz(lowest))
    talked, played = int(course.talk.sum()), int(course.tone.sum())
    longest = max((stop - first for first, stop in runs_of(course.talk)), default=0)
    is_broken = longest <= UNBROKEN_SHARE * talked
    return is_broken and talked * HOP_SECONDS >= TALK_SECONDS and talked >= TALK_SHARE * (talked + played)


def read_again(lined_up: LinedUp, sound: Samples | Iterable[Samples]) -> ReadAgain:
    """
    Read a take once more, knowing where each event lies.

    Parameters
    ----------
    sound : of the take, whole or in blocks from its start.
    """
    places = _places(lined_up)
    shift = _shift_cents(places)
    reeds: dict[tuple[int, int], tuple[ReedHeard, ...]] = {}
    levels: dict[tuple[int, int], OwnLevel] = {}
    covered: dict[tuple[int, int], OwnLevel] = {}
    instead: dict[tuple[int, int], OwnLevel] = {}
    alone: dict[tuple[int, Breath, int], list[float]] = defaultdict(list)
    hides = any(len(one.expected.move.holes) > 1 for one in places)
    others: list[OthersHeard] = []
    beside: dict[tuple[int, int], BesideOthers] = {}
    notes, rings, loudest = _free_notes(lined_up), list[Ringing](), list[float]()
    spans = [*(one.whole for one in places), *((one.start_seconds, one.end_seconds) for one in notes)]
    for number, part in steady_parts(heard_blocks(sound), spans):
        if number >= len(places):
            rings += _pure(notes[number - len(places)], part)
            continue
        place = places[number]
        if place.is_itself:
            level = levels[place.key] = own_level(part, RATE, place.pitches_hz(), place.whole[0])
            beside[place.key] = BesideOthers(*place.span, _median_db(level, place.steady or place.span))
        elif place.is_covered:
            covered[place.key] = own_level(part, RATE, place.pitches_hz(), place.whole[0])
        elif place.instead is not None:
            instead[place.key] = own_level(part, RATE, [_hertz(place.instead)], place.whole[0])
        if place.steady is None:
            continue
        first, last = (max(0, round((edge - place.whole[0]) * RATE)) for edge in place.steady)
        steady = part[first:last]
        if len(steady) < LEAST_SECONDS * RATE:
            continue
        spectrum = ReedSpectrum(steady, RATE)
        heard = reeds[place.key] = _heard(place, steady, lined_up.score.harp, shift, spectrum)
        move = place.expected.move
        loudest.append(float(spectrum.loudest))
        rings += _ringing_in(number, places, spectrum, lined_up.score.harp, heard, shift)
        if place.is_itself:
            before = places[number - 1] if number else None
            others.append(_others(place, before, spectrum, lined_up.score.harp, heard, shift))
            beside[place.key] = replace(beside[place.key], others_db=others[-1].level_db)
        is_alone = move.alteration is Alteration.NATURAL and len(reeds[place.key]) == 1 and place.midi is not None
        if is_alone and hides:
            for lift in lifts_of(spectrum, move.holes[0], place.pitches_hz()[0]):
                alone[lift.hole, move.breath, lift.times].append(lift.decibels)
    breaths = {one.key: one.expected.move.breath for one in places}
    company = company_of(others)
    exact = _is_exact(places, reeds)
    told = {}
    for key, found in reeds.items():
        sure = tuple(reed for reed in found if reed.asked or not company.may_sound(reed.level_db))
        told[key] = tuple(moved(_doubted(reed, breaths[key], alone, exact=exact), shift) for reed in sure)
    plays = [
        _beside_others(play, {event: one for (which, event), one in beside.items() if which == number})
        for number, play in enumerate(lined_up.play_throughs)
    ]
    ringing = () if company.is_heard else spans_of(rings, loudest)
    return ReadAgain(told, levels, company, alone_in(plays, company), covered, instead, ringing)


def _free_notes(lined_up: LinedUp) -> list[HeardNote]:
    """The notes that lie in no event."""
    spans = [
        (one.start_seconds, one.end_seconds) for play in lined_up.play_throughs for one in play.events if one.played
    ]
    notes = [note for note in lined_up.hearing.notes if note.duration_seconds >= FREE_SECONDS]
    if not spans or not notes:
        return notes
    starts, ends = np.array(spans).T
    begins, overs = np.array([(note.start_seconds, note.end_seconds) for note in notes]).T
    shared = np.minimum(overs[:, np.newaxis], ends) - np.maximum(begins[:, np.newaxis], starts)
    is_free = np.maximum(shared, 0.0).sum(axis=1) <= OVER_SHARE * (overs - begins)
    return [notes[number] for number in np.flatnonzero(is_free)]


def _pure(note: HeardNote, sound: Float32) -> list[Ringing]:
    """When a note sounds that is no reed's; nothing for a reed's, or for one too short to tell."""
    if note.duration_seconds < RING_SECONDS:
        return []
    spectrum = ReedSpectrum(sound, RATE)
    is_none = is_pure(spectrum, _hertz(note.pitch_midi))
    return [Ringing(note.start_seconds, note.end_seconds, float(spectrum.loudest))] if is_none else []


def _ringing_in(
    number: int,
    places: Sequence[_Place],
    spectrum: ReedSpectrum,
    harp: Harp,
    heard: Sequence[ReedHeard],
    shift_cents: float,
) -> list[Ringing]:
    """When something rings in an event, beside its reeds and the notes before and after, or in its place."""
    place = places[number]
    found = [Ringing(*place.span, float(spectrum.loudest))]
    if place.instead is not None and is_pure(spectrum, _hertz(place.instead)):
        return found
    own = [*place.pitches_hz(), *([] if place.instead is None else [_hertz(place.instead)])]
    if not rings_along(spectrum, own):  # mostly all is said by its own pitch
        return []
    pitches = reed_pitches(harp, place.expected.move, shift_cents)
    own += [pitches[reed.hole] for reed in heard if reed.state is not ReedState.SILENT]
    own += [hz for one in places[max(0, number - 1) : number + 2] for hz in one.pitches_hz()]
    return found if rings_along(spectrum, own) else []


def _beside_others(play: PlayThrough, itself: Mapping[int, BesideOthers]) -> list[BesideOthers]:
    """The events of a play-through beside the others' tones, from those that are what was asked."""
    pauses = {pause.before for pause in play.pauses}
    events = [itself.get(one.event, BesideOthers(one.start_seconds, one.end_seconds)) for one in play.events]
    return [replace(beside, after_pause=one.event in pauses) for one, beside in zip(play.events, events, strict=True)]


def _median_db(level: OwnLevel, span: tuple[float, float]) -> float | None:
    inside = level.between(*span)
    return middle_of(inside) if len(inside) else None


def _heard(
    place: _Place, steady: Float32, harp: Harp, shift_cents: float, spectrum: ReedSpectrum
) -> tuple[ReedHeard, ...]:
    heard_hz = None if place.midi is None else _hertz(place.midi)
    move = place.expected.move
    return hear_reeds(steady, RATE, harp, move, shift_cents=shift_cents, heard_hz=heard_hz, spectrum=spectrum)


def _others(
    place: _Place,
    before: _Place | None,
    spectrum: ReedSpectrum,
    harp: Harp,
    heard: Sequence[ReedHeard],
    shift_cents: float,
) -> OthersHeard:
    """What sounds in an event beside the harp; what rings on from the event before is not others'."""
    move = place.expected.move
    pitches = reed_pitches(harp, move, shift_cents)
    beside = [pitches[reed.hole] for reed in heard if not reed.asked]
    ringing = [] if before is None else before.pitches_hz()
    sounding = [*place.pitches_hz(), *beside]
    level = others_db(spectrum, harp, move, sounding, ringing_hz=ringing, shift_cents=shift_cents)
    return OthersHeard(level, bool(beside))


def moved(reed: ReedHeard, cents: float) -> ReedHeard:
    """The reed with so many cents added to its own."""
    return reed if reed.cents is None else replace(reed, cents=reed.cents + cents)


def steady_parts(blocks: Iterable[Float32], spans: Sequence[tuple[float, float]]) -> Iterator[tuple[int, Float32]]:
    """
    The sound of some stretches, read in one go; no more is kept of it than the stretches that are still open.

    Parameters
    ----------
    blocks : of the sound at `RATE`, from its start, as `reedpath.hear.frames.heard_blocks` gives them.
    spans : start and end of each stretch in seconds, in any order.

    Yields
    ------
    Number of the stretch, and its frames; cut short where the sound ends.
    """
    order = sorted(range(len(spans)), key=lambda one: spans[one][1])
    starts = np.minimum.accumulate([spans[one][0] for one in reversed(order)])[::-1]
    kept, begins, at = np.zeros(0, dtype=np.float32), 0, 0
    for block in blocks:
        if at == len(order):
            return
        kept = np.concatenate([kept, block])
        while at < len(order) and round(spans[order[at]][1] * RATE) <= begins + len(kept):
            first, last = (max(0, round(edge * RATE) - begins) for edge in spans[order[at]])
            yield order[at], kept[first:last]
            at += 1
        needless = min(len(kept), max(0, round(starts[at] * RATE) - begins)) if at < len(order) else len(kept)
        kept, begins = kept[needless:], begins + needless
    for number in order[at:]:
        first, last = (max(0, round(edge * RATE) - begins) for edge in spans[number])
        yield number, kept[first:last]
