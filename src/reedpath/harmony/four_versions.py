"""A phrase for the IV chord: moved to it, or with the third of its key lowered.

A lick over the I chord comes back over the IV chord of bar 5 in one of two ways (common practice, no source): all of
it is moved a fourth up, or a fifth down, so that each note is over IV what it was over I; or it stays where it is and
the major third of the key, which lies a half step above the seventh of the IV chord ("Twelve-bar blues", Wikipedia:
that seventh contradicts the third of the tonic chord), gives way to the minor third, which is that seventh.

A phrase that fills a line of four bars outlasts the IV chord, which gives way to I in bar 7. Such a line is a call of
about two bars and an answer of two (same article): where the phrase pauses between them, the call alone is moved or
lowered, and the answer, which sounds over I again, stays. Where it goes on without a pause it stays whole, since a
part that moves alone would tear it.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction

from msgspec.structs import replace

from reedpath.harmony.bar_pieces import PAUSE
from reedpath.harmony.chords import NoteKind
from reedpath.harmony.forms import load_form
from reedpath.harmony.placing import LINE_BARS, FormPlace, Rating, core_bars, placed
from reedpath.phrase import Event, Phrase, bars
from reedpath.pitch import Key

# the forms whose bar 5 is judged, by the mode of the key, that bar, and how many bars the IV chord lasts there
FOUR_FORMS, FOUR_BAR, FOUR_BARS = {"major": "twelve-bar", "minor": "minor-twelve-bar"}, 5, 2
# semitones: a fourth up, a fifth down, and the major third that gives way; definitions
FOURTH_UP, FIFTH_DOWN, MAJOR_THIRD = 5, -7, 4
# per cent by which another form must suit a phrase better to be taken before the usual one; our choice
CLEARLY_BETTER = 5
# per cent by which a version must sit better to be worth learning beside the phrase; our choice
LEAST_GAIN = 5


class FourVersion(StrEnum):
    """How a version for the IV chord comes of the phrase."""

    FOURTH_UP = "fourth_up"
    FIFTH_DOWN = "fifth_down"
    THIRD_LOWERED = "third_lowered"


def form_worth(form: str, total: Fraction, key: Key) -> Fraction:
    """What forms are chosen by: how well a phrase sits there, per cent, and more for the usual one of the mode."""
    return total + (CLEARLY_BETTER if form == FOUR_FORMS[key.third] else 0)


def _call_events(phrase: Phrase) -> int | None:
    """How many events of a phrase of a line are its call, over the IV chord; None where it does not pause after it.

    The answer begins with bar 7 of the form or with a pickup of up to half a bar before; the call has ended by then.
    """
    answer_bar = next((bar for bar in bars(phrase) if bar.number == FOUR_BARS + 1), None)
    if answer_bar is None:
        return None
    earliest = answer_bar.onset - answer_bar.metre.bar / 2
    events, end = phrase.events, Fraction(0)
    for index, event in enumerate(events[:-1]):
        end = max(end, event.end)
        begins = events[index + 1].onset
        if end <= answer_bar.onset and begins >= max(earliest, end + PAUSE):
            return index + 1
    return None


def moves_in_part(phrase: Phrase) -> bool:
    """Whether the call alone of a phrase is adapted to the IV chord: it fills a line, and then pauses."""
    return FOUR_BARS < core_bars(phrase) <= LINE_BARS and _call_events(phrase) is not None


def is_too_long_for_the_four(phrase: Phrase) -> bool:
    """Whether a phrase lasts longer than the IV chord does in bar 5, with no call that could be adapted alone."""
    return core_bars(phrase) > FOUR_BARS and not moves_in_part(phrase)


def needs_no_version(place: FormPlace) -> bool:
    """Whether a phrase sits well over the IV chord, with nothing that rubs but blue notes."""
    rubs = place.rubbing is not None and place.rubbing.over.kind is NoteKind.AVOID
    return place.rating is Rating.GOOD and not rubs


def over_the_four(phrase: Phrase, key: Key) -> FormPlace:
    """The phrase in bar 5 of the twelve-bar blues of the key's mode, over its IV chord."""
    return placed(phrase, load_form(FOUR_FORMS[key.third]), key, FOUR_BAR)


def _lowered(event: Event, tonic: int) -> Event:
    thirds = {midi for midi in event.midi if (midi - tonic) % 12 == MAJOR_THIRD}
    midi = tuple(sorted({one - (one in thirds) for one in event.midi}))
    return replace(event, midi=midi, cents=()) if thirds else event


def _with_third_lowered(phrase: Phrase, key: Key) -> Phrase:
    return replace(phrase, events=tuple(_lowered(event, key.tonic) for event in phrase.events))


def versions_for_the_four(phrase: Phrase, key: Key) -> dict[FourVersion, Phrase]:
    """
    The versions that sit over the IV chord well, and clearly better than the phrase does; its key stays.

    None for a phrase that sits there well itself with nothing that rubs but blue notes, and for one that lasts longer
    than the IV chord does in bar 5 and does not pause where that chord ends. Of one that does its call is adapted.

    phrase : as it sounds, at the pitch at which it is played.
    """
    as_it_is = over_the_four(phrase, key)
    if is_too_long_for_the_four(phrase) or needs_no_version(as_it_is):
        return {}
    moves = {FourVersion.FOURTH_UP: FOURTH_UP, FourVersion.FIFTH_DOWN: FIFTH_DOWN}
    versions = {
        version: replace(phrase.moved(semitones), key=phrase.key)
        for version, semitones in moves.items()
        if phrase.can_move(semitones)
    }
    if key.third == "major":
        versions[FourVersion.THIRD_LOWERED] = _with_third_lowered(phrase, key)
    if moves_in_part(phrase):
        call = _call_events(phrase)
        versions = {
            version: replace(phrase, events=(*one.events[:call], *phrase.events[call:]))
            for version, one in versions.items()
        }
    places = {version: over_the_four(one, key) for version, one in versions.items()}
    return {
        version: one
        for version, one in versions.items()
        if places[version].rating is Rating.GOOD and places[version].total >= as_it_is.total + LEAST_GAIN
    }
