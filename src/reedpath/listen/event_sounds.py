"""Which sound is whose: each event of a play-through is given one stretch of sound or none, and the rest is extra.

An event has the sound that lining up gives it, unless that is only the sound of the event before held on, or none of
its own. Where an event has none, one of these was played in its place, the first that holds:

    the sound of the next event, where that comes too early, and again when it is due, or goes on until then
    a note that belongs to no event
    a soft second strike of the note before, which is held until then
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from reedpath.hear import HeardNote
from reedpath.listen.answer import Extra
from reedpath.listen.answer_kinds import Verdict
from reedpath.listen.company import Company
from reedpath.listen.evidence import AFTER_START, Evidence, PlayEvidence, SoundRead, read_sound
from reedpath.listen.moves_heard import heard_move, is_within_reach
from reedpath.listen.reeds import ReedState

# seconds off an event's time within which a sound is what was played in its place: early or late, but not the next
IN_PLACE_SECONDS = 0.1
# seconds and confidence that a sound must have to be told as a note too many, and decibels by which it may lie
# under the events' level; found by trial on glued takes
LEAST_SECONDS, LEAST_CONFIDENCE, SOFTER_DB = 0.08, 0.5, 18.0
# share of a sound that may lie in events; more is theirs
SHARED = 0.4
# beats and seconds from the end of a note to the first event up to which it leads into that, and beats that it lasts:
# after more it is a tone to listen to, or to warm up. Seconds before it in which nothing is played, and after the
# recording begins from which it is known whole; cents off a reed within which it is a note; ours
LEADS_BEATS, LEADS_SECONDS, LEADS_LONG_BEATS = 0.5, 0.35, 1.5
LEADS_ALONE_SECONDS, LEADS_WHOLE_SECONDS, LEADS_CENTS = 1.5, 0.1, 40.0
# seconds between two sounds up to which one goes on in the other: tongues and breath leave a reed silent for longer
JOINED_SECONDS = 0.03
# semitones within which a sound is an event's own note
SAME = 0.6


@dataclass(frozen=True, slots=True)
class EventSound:
    """The sound of one event.

    start_seconds, end_seconds : when it sounds. read : what it is.
    whole_seconds : its length with what is struck again after it.
    """

    start_seconds: float
    end_seconds: float
    read: SoundRead
    whole_seconds: float

    def until(self, end_seconds: float) -> EventSound:
        """The sound, cut off at a time."""
        return replace(self, end_seconds=end_seconds)


def _own_sounds(known: PlayEvidence) -> tuple[list[EventSound | None], list[Extra]]:
    """The sound that each event has by itself, up to where it is struck again, and those strikes."""
    sounds: list[EventSound | None] = []
    strikes: list[list[float]] = []
    sounding: int | None = None
    for number, one in enumerate(known.events):
        sounds.append(None)
        strikes.append([])
        start, end = one.placed.start_seconds, one.placed.end_seconds
        before = None if sounding is None else sounds[sounding]
        if one.holds_on and sounding == number - 1 and before is not None:
            sounds[sounding] = replace(before, end_seconds=end, whole_seconds=end - before.start_seconds)
        elif one.read.verdict is not Verdict.MISSED:
            sounds[number] = EventSound(start, end, one.read, end - start)
            strikes[number] += one.strikes
            sounding = number
    again: list[Extra] = []
    for number, times in enumerate(strikes):
        sound = sounds[number]
        if sound is not None and times:
            ends = pairwise([*times, sound.end_seconds])
            again += [_struck_again(known.events[number], sound, start, end) for start, end in ends]
            sounds[number] = sound.until(times[0])
    return sounds, again


def _struck_again(one: Evidence, sound: EventSound, start_seconds: float, end_seconds: float) -> Extra:
    move, cents = one.expected.move, sound.read.cents or 0.0
    return Extra(start_seconds, end_seconds, one.placed.event, again=True, move=move, cents=cents)


def _shared_seconds(note: HeardNote, spans: Sequence[tuple[float, float]]) -> float:
    """Seconds of a note that lie in some spans: their starts and ends."""
    begin, end = note.start_seconds, note.end_seconds
    return sum(min(end, last) - max(begin, first) for first, last in spans if first < end and last > begin)


def _begins(one: Evidence, sound: EventSound | None) -> float:
    """When an event begins, or was due."""
    return one.placed.due_seconds if sound is None else sound.start_seconds


def _note_too_many(known: PlayEvidence, note: HeardNote, one: Evidence) -> Extra:
    times, event = (note.start_seconds, note.end_seconds), one.placed.event
    off = min((note.pitch_midi - midi for midi in one.expected.midi), key=abs)
    if abs(off) < SAME:
        return Extra(*times, event, again=True, move=one.expected.move, cents=100.0 * off)
    midi = note.pitch_midi - known.score.tuned_cents / 100.0
    guess = heard_move(known.score.harp, midi, near=(one.expected.move,))
    return Extra(*times, event, again=False, move=guess.move, cents=guess.cents)


def _sounds_along(extra: Extra, known: PlayEvidence, sounds: Sequence[EventSound | None]) -> bool:
    """Whether a note is only an event's own reeds, or a hole that sounds along with it, as long as it should last: of
    two reeds now one is followed, now the other.
    """
    return any(
        extra.start_seconds < max(sound.end_seconds, sound.start_seconds + one.wanted_seconds)
        and sound.start_seconds < extra.end_seconds
        and set(extra.move.holes) <= {reed.hole for reed in sound.read.reeds if reed.state is ReedState.SOUNDS}
        for one, sound in zip(known.events, sounds, strict=True)
        if sound is not None and len(sound.read.reeds) > 1
    )


def _notes_too_many(known: PlayEvidence, sounds: Sequence[EventSound | None], company: Company) -> Iterator[Extra]:
    """Notes between the first and the last event that belong to none, and that only the harp can have sounded."""
    spans = [(one.start_seconds, one.end_seconds) for one in sounds if one is not None]
    shares = [_shared_seconds(note, spans) > SHARED * note.duration_seconds for note in known.notes]
    owned = [note.level_db for note, is_shared in zip(known.notes, shares, strict=True) if is_shared]
    usual_db = float(np.median(owned)) if owned else 0.0
    least_db = usual_db - SOFTER_DB
    for note, is_shared in zip(known.notes, shares, strict=True):
        is_note = note.duration_seconds >= LEAST_SECONDS and note.confidence >= LEAST_CONFIDENCE
        is_harp = is_within_reach(known.score.harp, note.pitch_midi - known.score.tuned_cents / 100.0)
        if (
            is_shared
            or not (is_note and is_harp)
            or note.level_db <= least_db
            or company.may_play(note.level_db - usual_db)
        ):
            continue
        begun = [
            one for one, sound in zip(known.events, sounds, strict=True) if _begins(one, sound) <= note.start_seconds
        ]
        extra = _note_too_many(known, note, begun[-1] if begun else known.events[0])
        if extra.again or not _sounds_along(extra, known, sounds):
            yield extra


def _leads(known: PlayEvidence, first: EventSound, one: Evidence) -> HeardNote | None:
    """The note by itself right before the first event of the route, None where there is none."""
    notes = known.lined_up.hearing.notes
    before = [note for note in notes if note.end_seconds < first.start_seconds + AFTER_START]
    before = [note for note in before if note.end_seconds > first.start_seconds - LEADS_ALONE_SECONDS]
    beat = one.expected.beat_seconds * one.placed.pace
    if len(before) != 1 or one.expected.lead_in or one.asked.choice.attack_semitones:
        return None
    (note,), gap = before, first.start_seconds - before[0].end_seconds
    is_near = gap < min(LEADS_BEATS * beat, LEADS_SECONDS) and note.duration_seconds < LEADS_LONG_BEATS * beat
    return note if is_near and note.start_seconds > LEADS_WHOLE_SECONDS else None


def _begun_before(known: PlayEvidence, sounds: Sequence[EventSound | None], company: Company) -> Extra | None:
    """A note of the harp's right before the route's first event, where the player did not begin with that."""
    one, first = known.events[0], sounds[0]
    if first is None or one.placed.event != known.score.events[0].index or company.is_heard:
        return None
    note = _leads(known, first, one)
    if note is None or note.duration_seconds < LEAST_SECONDS or note.confidence < LEAST_CONFIDENCE:
        return None
    midi = note.pitch_midi - known.score.tuned_cents / 100.0
    guess, asked = heard_move(known.score.harp, midi, near=(one.expected.move,)), one.expected.move
    # the same reeds without a gap are the note's own beginning: a bend is slid into
    is_joined = first.start_seconds - note.end_seconds < AFTER_START
    if is_joined and guess.move.holes == asked.holes and guess.move.breath is asked.breath:
        return None
    if abs(guess.cents) > LEADS_CENTS or note.level_db < known.usual_db - SOFTER_DB:
        return None
    times = note.start_seconds, note.end_seconds
    return Extra(*times, one.placed.event, again=False, move=guess.move, cents=guess.cents, leads=True)


def _overlap(one: Extra, other: Extra) -> bool:
    return one.start_seconds < other.end_seconds and other.start_seconds < one.end_seconds


def _is_near(at_seconds: float, due_seconds: float) -> bool:
    return abs(at_seconds - due_seconds) < IN_PLACE_SECONDS


class _Giving:
    """Events without a sound being given what was played in their place, in order."""

    def __init__(self, known: PlayEvidence, sounds: list[EventSound | None], extras: list[Extra]) -> None:
        self.known, self.sounds, self.extras = known, sounds, extras

    def give(self, number: int) -> None:
        """Give an event without a sound what was played in its place, if anything was."""
        if not self._takes_next(number) and len(self.known.events[number].expected.move.holes) == 1:
            self._takes_extra(number) or self._takes_strike(number)

    def _take(self, number: int, start_seconds: float, end_seconds: float) -> None:
        known = self.known
        read = read_sound(
            known.events[number], known.lined_up, known.score, known.usual_db, start_seconds, end_seconds
        )
        found = EventSound(start_seconds, end_seconds, read, end_seconds - start_seconds)
        self.sounds[number] = None if read.verdict is Verdict.MISSED else found

    def _takes_next(self, number: int) -> bool:
        """The sound of the next event, which sounds again when it is due, or is held on from before until then: the
        missing one was played at its pitch.
        """
        if number + 1 == len(self.sounds):
            return False
        following, sound = self.known.events[number + 1].placed, self.sounds[number + 1]
        due = self.known.events[number].placed.due_seconds
        if sound is None or sound.start_seconds - following.due_seconds > -IN_PLACE_SECONDS:
            return False
        if not _is_near(sound.start_seconds, due):
            return False
        own = [one for one in self.extras if one.again and one.after == following.event]
        own = [one for one in own if _is_near(one.start_seconds, following.due_seconds)]
        if not own:
            return self._takes_held(number, sound, following.due_seconds)
        self.extras.remove(own[0])
        self._take(number, sound.start_seconds, sound.end_seconds)
        self._take(number + 1, own[0].start_seconds, own[0].end_seconds)
        return True

    def _takes_held(self, number: int, sound: EventSound, due_seconds: float) -> bool:
        """The sound of the next event as far as that is due, if it is held on through it.

        due_seconds : when the next event is.
        """
        if sound.read.verdict is not Verdict.PLAYED or sound.end_seconds < due_seconds + AFTER_START:
            return False
        self._take(number, sound.start_seconds, due_seconds)
        if self.sounds[number] is None:
            return False
        whole = sound.whole_seconds - (due_seconds - sound.start_seconds)
        self.sounds[number + 1] = replace(sound, start_seconds=due_seconds, whole_seconds=whole)
        return True

    def _takes_extra(self, number: int) -> bool:
        """A note that belongs to no event."""
        due = self.known.events[number].placed.due_seconds
        near = [one for one in self.extras if _is_near(one.start_seconds, due)]
        if not near:
            return False
        nearest = min(near, key=lambda one: abs(one.start_seconds - due))
        self.extras.remove(nearest)
        self._take(number, nearest.start_seconds, nearest.end_seconds)
        return True

    def _takes_strike(self, number: int) -> bool:
        """A soft strike when the event is due, while the one before is still held: that note once more."""
        due = self.known.events[number].placed.due_seconds
        before = self.sounds[number - 1] if number else None
        if before is None or before.end_seconds < due + AFTER_START:
            return False
        strikes = self.known.lined_up.hearing.soft_strikes
        near = strikes[(np.abs(strikes - due) < IN_PLACE_SECONDS) & (strikes > before.start_seconds + AFTER_START)]
        if not len(near):
            return False
        start = float(near[np.abs(near - due).argmin()])
        self.sounds[number - 1] = before.until(start)
        self._take(number, start, before.end_seconds)
        return True


def _with_the_same_note(
    known: PlayEvidence, sounds: Sequence[EventSound | None], extras: list[Extra]
) -> list[EventSound | None]:
    """The sounds of events, of another note in place of one all of it, which then is extra no more.

    A long note may seem to begin anew in its middle; of the asked one its own partials tell whether it does.
    """
    whole: list[EventSound | None] = []
    for one, sound in zip(known.events, sounds, strict=True):
        if sound is not None and sound.read.verdict is Verdict.ANOTHER:
            for extra in [extra for extra in extras if extra.after == one.placed.event and not extra.again]:
                is_joined = abs(extra.start_seconds - sound.end_seconds) < JOINED_SECONDS
                if is_joined and extra.move == sound.read.heard:
                    extras.remove(extra)
                    length = extra.end_seconds - sound.start_seconds
                    sound = replace(sound, end_seconds=extra.end_seconds, whole_seconds=length)
        whole.append(sound)
    return whole


def sounds_of(known: PlayEvidence, *, company: Company) -> tuple[list[EventSound | None], list[Extra]]:
    """
    The sound of each event, and what belongs to none, in order of time.

    Parameters
    ----------
    company : what others play, so that a note that belongs to no event need not be the player's.
    """
    sounds, extras = _own_sounds(known)
    free = _notes_too_many(known, sounds, company)
    extras += [one for one in list(free) if not any(_overlap(one, strike) for strike in extras)]
    before = _begun_before(known, sounds, company)
    extras += [] if before is None else [before]
    extras.sort(key=lambda one: one.start_seconds)
    giving = _Giving(known, sounds, extras)
    for number in range(len(sounds)):
        if sounds[number] is None:
            giving.give(number)
    return _with_the_same_note(known, sounds, extras), extras
