"""Judging: what became of an event, from its sound and all that is known of it, decided once."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from reedpath.harp import Alteration, sound_of
from reedpath.listen.answer import BendHeard, EventAnswer, Fault, GlideHeard
from reedpath.listen.answer_kinds import FaultKind, Verdict
from reedpath.listen.event_sounds import EventSound
from reedpath.listen.evidence import Evidence, PlayEvidence, SoundRead, natural_midi
from reedpath.listen.expected import Score
from reedpath.listen.reeds import ReedState, holes_heard
from reedpath.listen.swaying_tempo import SWAYS

# cents off the target that are told: listeners hear about 10 (Hill & Summers, JASA 121, 2007), hear measures to
# about 3 (docs/accuracy.md); a short note is over before its reed has settled. Seconds up to which, and cents:
OFF_CENTS = ((0.1, 45.0), (0.14, 25.0), (float("inf"), 15.0))
# seconds off that are told: the order of two onsets is near certain from 0.06 (mazurka.org.uk/experiments, a table
# of hearing tests); grace notes have no time of their own
LATE_SECONDS, GRACE_LATE_SECONDS = 0.06, 0.12
# standard deviations of the play-through's own onsets that it must be too, up to so many seconds: what one note is
# late by must stand out from how the player plays; common practice, no source
LATE_SPREADS, LATE_AT_MOST = 3.5, 0.1
# standard deviation of a normal distribution in median absolute deviations
MAD_TO_DEVIATION = 1.4826
# times the length of a note too many by which the next may be late for it
LATE_FOR_EXTRA = 1.4
# standard deviation, cents, from which a held note is told to be unsteady, and seconds it must be held; a player's
# waver, common practice, no source
UNSTEADY_CENTS, UNSTEADY_SECONDS = 18.0, 0.3
# share of its length under which a note is told to be short, and seconds that it must lack; common practice
SHORT_SHARE, LACKING_SECONDS = 0.45, 0.15
# share of an asked glide that must be made, and semitones in which half a note's measure can be off
GLIDE_SHARE, GLIDE_SLACK = 0.5, 0.3
# weights of faults against a wrong note, and the amounts at which they weigh half of it; ours
WEIGHTS = {
    FaultKind.MISSED: 1.0,
    FaultKind.ANOTHER: 1.0,
    FaultKind.SWAPPED: 1.0,
    FaultKind.HOLE_WRONG: 0.8,
    FaultKind.HOLE_MISSING: 0.7,
    FaultKind.HOLE_TOO_MANY: 0.6,
    FaultKind.RESTART: 0.8,
    FaultKind.PAUSE: 0.5,
}
HALF_AT = {
    FaultKind.FLAT: 40.0,
    FaultKind.SHARP: 40.0,
    FaultKind.LATE: 200.0,
    FaultKind.EARLY: 200.0,
    FaultKind.UNSTEADY: 40.0,
    FaultKind.GLIDE: 1.0,
}
OTHER_WEIGHT = 0.3
# faults that only the end of a note tells
ENDS_LATER = {FaultKind.SHORT, FaultKind.GLIDE}


def cents_told(seconds: float) -> float:
    """How many cents off are told of a note of so many seconds.

    >>> cents_told(0.05), cents_told(2.0)
    (45.0, 15.0)
    """
    return next(cents for longest, cents in OFF_CENTS if seconds < longest)


def fault_of(kind: FaultKind, amount: float = 0.0) -> Fault:
    """A fault of so much, with its weight: half a wrong note's at a middling amount, never as much as it."""
    if kind in HALF_AT:
        return Fault(kind, amount, amount / (amount + HALF_AT[kind]))
    return Fault(kind, amount, WEIGHTS.get(kind, OTHER_WEIGHT))


def _bend(score: Score, about: Evidence, read: SoundRead) -> BendHeard | None:
    move, pitch = about.expected.move, read.pitch
    if move.alteration is not Alteration.BEND or pitch is None:
        return None
    natural = natural_midi(score, move)
    return BendHeard(natural - about.expected.midi[0], natural - pitch.midi, pitch.glide_seconds, pitch.shape)


def _glides(about: Evidence, read: SoundRead) -> tuple[GlideHeard | None, GlideHeard | None]:
    choice, pitch = about.asked.choice, read.pitch
    attack, fall = float(choice.attack_semitones), float(choice.fall_semitones)
    if pitch is None:
        return None, None
    return (
        GlideHeard(attack, pitch.start_midi - pitch.midi) if attack else None,
        GlideHeard(fall, pitch.end_midi - pitch.midi) if fall else None,
    )


def swaps_of(known: PlayEvidence, sounds: Sequence[EventSound | None]) -> dict[int, int]:
    """Places of events that are played each in the other's place, those of each pair under one another."""
    harp, found = known.score.harp, dict[int, int]()
    asked = [sound_of(harp, one.expected.move).midi for one in known.events]
    heard = [
        sound_of(harp, sound.read.heard).midi
        if sound is not None and sound.read.verdict is Verdict.ANOTHER and sound.read.heard is not None
        else None
        for sound in sounds
    ]
    for first, second in pairwise(range(len(asked))):
        if first not in found and heard[first] == asked[second] and heard[second] == asked[first]:
            found[first], found[second] = second, first
    return found


def _pitch_faults(about: Evidence, sound: EventSound, *, is_swapped: bool) -> list[Fault]:
    read = sound.read
    if read.verdict is Verdict.ANOTHER:
        return [fault_of(FaultKind.SWAPPED if is_swapped else FaultKind.ANOTHER, abs(read.cents or 0.0))]
    faults: list[Fault] = []
    is_told = read.follows or len(about.expected.move.holes) > 1
    if is_told and read.cents is not None and abs(read.cents) > cents_told(sound.whole_seconds):
        faults.append(fault_of(FaultKind.FLAT if read.cents < 0 else FaultKind.SHARP, abs(read.cents)))
    if not read.follows or read.pitch is None:
        return faults
    glides = [glide for glide in _glides(about, read) if glide is not None]
    for glide in glides:
        lacking = abs(glide.wanted_semitones) - abs(glide.heard_semitones)
        if lacking > GLIDE_SHARE * abs(glide.wanted_semitones) + GLIDE_SLACK:
            faults.append(fault_of(FaultKind.GLIDE, lacking))
    unsteady = read.pitch.unsteady_cents
    if unsteady > UNSTEADY_CENTS and sound.whole_seconds > UNSTEADY_SECONDS and not glides:
        faults.append(fault_of(FaultKind.UNSTEADY, unsteady))
    return faults


def _late_seconds(about: Evidence, sound: EventSound) -> float:
    """By how much an event is late, negative for early; not at all where it is due while it is slid into.

    One that comes up slowly is no later than it begins to.
    """
    late, slide = sound.start_seconds - about.placed.due_seconds, about.slide
    if late > 0.0 and about.rise is not None:
        return float(np.clip(about.rise[0] - about.placed.due_seconds, 0.0, late))
    if late >= 0.0 or slide is None or slide.start_seconds != sound.start_seconds:
        return late
    return min(0.0, slide.arrives_seconds - about.placed.due_seconds)


def _time_faults(about: Evidence, sound: EventSound, limit_seconds: float, lost_seconds: float) -> list[Fault]:
    late = _late_seconds(about, sound)
    if abs(late) > (GRACE_LATE_SECONDS if about.asked.event.grace else limit_seconds):
        if 0.0 < late < LATE_FOR_EXTRA * lost_seconds:  # it only comes after a note too many took its time
            return []
        if late > 0.0 and about.is_swallowed:  # its beginning was swallowed
            return []
        return [fault_of(FaultKind.LATE if late > 0 else FaultKind.EARLY, 1000.0 * abs(late))]
    if holes_heard(sound.read.reeds).too_many:  # a hole beside may be followed in its place before it ends
        return []
    share = sound.whole_seconds / about.wanted_seconds
    if share < SHORT_SHARE and (1.0 - share) * about.wanted_seconds > LACKING_SECONDS:
        return [fault_of(FaultKind.SHORT, share)]
    return []


def _hole_faults(read: SoundRead) -> list[Fault]:
    asked = [reed.state for reed in read.reeds if reed.asked]
    if read.verdict is not Verdict.PLAYED or all(state is ReedState.SILENT for state in asked):
        return []  # where all reeds are silent and the pitch is there, the reeds are mistaken
    heard = holes_heard(read.reeds)
    amounts = {
        FaultKind.HOLE_MISSING: len(heard.missing),
        FaultKind.HOLE_WRONG: len(heard.wrong),
        FaultKind.HOLE_TOO_MANY: len(heard.too_many),
    }
    return [fault_of(kind, float(count)) for kind, count in amounts.items() if count]


def late_limit(known: PlayEvidence) -> float:
    """Seconds off that are told in a play-through; the most where its tempo sways: who knows when a note was due?"""
    if known.play.tempo_sway >= SWAYS:
        return LATE_AT_MOST
    played = [one.placed for one in known.events if one.placed.played and not one.holds_on]
    if not played:
        return LATE_SECONDS
    off = np.abs([one.start_seconds - one.due_seconds for one in played])
    spread = MAD_TO_DEVIATION * float(np.median(off))
    return float(np.clip(LATE_SPREADS * spread, LATE_SECONDS, LATE_AT_MOST))


def judged(
    about: Evidence,
    sound: EventSound | None,
    *,
    score: Score,
    limit_seconds: float,
    lost_seconds: float = 0.0,
    is_cut_short: bool = False,
    swapped_with: int | None = None,
    after: Sequence[Fault] = (),
) -> EventAnswer:
    """
    What became of an event.

    Parameters
    ----------
    sound : None where it has none.
    score : with the tuning of the player's own harp.
    limit_seconds : seconds off that are told in this play-through.
    lost_seconds : length of a note too many before it.
    is_cut_short : whether the recording ends in it, so that nobody knows how it ends.
    swapped_with : index of the event with which it was swapped.
    after : faults that lie between it and the next one, told of it.
    """
    placed, move = about.placed, about.expected.move
    if sound is None:
        read, start, end = SoundRead(Verdict.MISSED), placed.due_seconds, placed.due_seconds + about.wanted_seconds
        faults, late = [fault_of(FaultKind.MISSED)], None
    else:
        read, start, end = sound.read, sound.start_seconds, sound.end_seconds
        late = _late_seconds(about, sound)
        faults = _pitch_faults(about, sound, is_swapped=swapped_with is not None)
        faults += _time_faults(about, sound, limit_seconds, lost_seconds)
        faults += _hole_faults(read)
        if read.is_covered:
            faults, after = [], ()
        if any(fault.kind is FaultKind.EXTRA for fault in after):  # a note too many is in its time
            faults = [fault for fault in faults if fault.kind is not FaultKind.SHORT]
        if is_cut_short:
            faults = [fault for fault in faults if fault.kind not in ENDS_LATER]
    attack, fall = _glides(about, read)
    return EventAnswer(
        event=placed.event,
        move=move,
        verdict=read.verdict,
        heard=read.heard,
        start_seconds=start,
        end_seconds=end,
        cents=read.cents,
        heard_cents=read.heard_cents,
        bend=_bend(score, about, read),
        attack=attack,
        fall=fall,
        unsteady_cents=read.pitch.unsteady_cents if read.pitch else None,
        vibrato=read.pitch.vibrato if read.pitch else None,
        late_seconds=late,
        late_beats=None if late is None else late / (about.expected.beat_seconds * placed.pace),
        held_share=None if late is None else (end - start) / about.wanted_seconds,
        confidence=placed.confidence,
        faults=tuple(sorted((*faults, *after), key=lambda fault: -fault.weight)),
        reeds=read.reeds,
        covered=read.is_covered,
        swapped_with=swapped_with,
        rings_share=about.rings_share,
    )
